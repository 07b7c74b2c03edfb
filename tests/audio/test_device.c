// SPDX-License-Identifier: GPL-3.0-or-later

// Choosing a device by number, name or part of a name, from a made list.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "audio/device.h"

#include <string.h>

static const SrDevice devices[] = {
    {48000.0, 0, 2, 2, "Onboard: Analog (hw:0,0)", "ALSA", false, false},
    {48000.0, 1, 0, 8, "Onboard: Digital (hw:0,3)", "ALSA", false, false},
    {44100.0, 2, 1, 0, "Little Box: USB Audio (hw:1,0)", "ALSA", false, false},
    {44100.0, 3, 1, 0, "Little Box: USB Audio (hw:2,0)", "ALSA", false, false},
    {44100.0, 5, 32, 32, "default", "ALSA", true, true},
    {44100.0, 6, 0, 2, "default speakers", "ALSA", false, false},
    {44100.0, 7, 1, 1, "42", "ALSA", false, false},
    {44100.0, 8, 1, 0, "twin", "ALSA", false, false},
    {44100.0, 9, 1, 0, "twin", "JACK", false, false},
};
#define COUNT (sizeof(devices) / sizeof(devices[0]))

static int
choose(const char* const words, const bool output)
{
  const SrDevice* chosen = NULL;
  SrError error;
  assert_int_equal(sr_device_choose(devices, COUNT, words, output, &chosen, &error), SR_OK);
  assert_non_null(chosen);
  return chosen->number;
}

static void
refuse(const char* const words, const bool output, const char* const part)
{
  const SrDevice* chosen = &devices[0];
  SrError error;
  assert_int_equal(sr_device_choose(devices, COUNT, words, output, &chosen, &error), SR_NOT_FOUND);
  assert_null(chosen);
  if (!strstr(error.message, part)) {
    fail_msg("%s", error.message);
  }
}

static void
a_device_is_found(void** const state)
{
  (void)state;
  assert_int_equal(choose(NULL, false), 5);
  assert_int_equal(choose("", true), 5);
  assert_int_equal(choose("0", false), 0);
  assert_int_equal(choose("2", false), 2);
  assert_int_equal(choose("hw:2,0", false), 3);
  assert_int_equal(choose("ANALOG", false), 0);
  assert_int_equal(choose("digital", true), 1);
  // All of a name goes before part of another.
  assert_int_equal(choose("Default", true), 5);
  assert_int_equal(choose("speakers", true), 6);
  // A number that is in no list may be a name.
  assert_int_equal(choose("42", false), 7);
  // Only those that can hear are asked.
  assert_int_equal(choose("onboard", false), 0);
}

static void
no_device_is_guessed(void** const state)
{
  (void)state;
  refuse("little", false, "2 Little Box: USB Audio (hw:1,0), 3 Little Box: USB Audio (hw:2,0)");
  refuse("twin", false, "8 twin, 9 twin");
  refuse("onboard", true, "several loudspeakers");
  refuse("Kazoo", false, "No microphone is called \"Kazoo\"");
  refuse("4", false, "No microphone is called \"4\"");
  refuse("1", false, "\"Onboard: Digital (hw:0,3)\" has no microphone");
  refuse("2", true, "has no output");
  refuse("99999999999999999999", false, "No microphone");
}

static void
where_there_is_none_it_is_said(void** const state)
{
  (void)state;
  const SrDevice* chosen = NULL;
  SrError error;
  assert_int_equal(sr_device_choose(NULL, 0, NULL, false, &chosen, &error), SR_DEVICE_TROUBLE);
  assert_true(strlen(error.message) > 20);
  assert_int_equal(sr_device_choose(&devices[2], 2, NULL, true, &chosen, &error),
                   SR_DEVICE_TROUBLE);
  assert_int_equal(sr_device_choose(&devices[2], 2, NULL, false, &chosen, &error),
                   SR_DEVICE_TROUBLE);
  assert_non_null(strstr(error.message, "Choose one"));
}

static void
refusals_are_in_words(void** const state)
{
  (void)state;
  SrError error;
  assert_int_equal(sr_device_refuse(paDeviceUnavailable, "Little Box", &error), SR_DEVICE_TROUBLE);
  assert_non_null(strstr(error.message, "Another program is using the Little Box"));
  assert_int_equal(sr_device_refuse(paInvalidSampleRate, "Little Box", &error), SR_DEVICE_TROUBLE);
  assert_non_null(strstr(error.message, "sample rate"));
  assert_int_equal(sr_device_refuse(paInternalError, NULL, &error), SR_DEVICE_TROUBLE);
  assert_non_null(strstr(error.message, "sound system cannot be used"));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_device_is_found),
      cmocka_unit_test(no_device_is_guessed),
      cmocka_unit_test(where_there_is_none_it_is_said),
      cmocka_unit_test(refusals_are_in_words),
  };
  return cmocka_run_group_tests_name("device", tests, NULL, NULL);
}
