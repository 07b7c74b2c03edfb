// SPDX-License-Identifier: GPL-3.0-or-later

// A stream through a sound server of our own: what is played there is what we hear, the click comes
// when it should, and a server that dies or hangs is reported and does not hold us.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/audio.h>
#include <steadyreed/stream.h>

#include "sound_server.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define RATE_HZ 44100ul
#define TAKE_FRAMES (2ul * RATE_HZ)
/// A machine that others use may be late; only what was free of trouble is judged.
#define TRIES 8
/// It takes 2 s, and none of the machine's time; more is a stream that never tells.
#define MOST_TOLD_S 20.0

static double
now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int
begin(void** const state)
{
  static SoundServer server;
  *state = &server;
  return server_begin(&server) ? 0 : -1;
}

static int
end(void** const state)
{
  server_end((SoundServer*)*state, SIGTERM);
  return 0;
}

static SrStream*
stream_begin(const bool with_output)
{
  const SrStreamSettings settings = {.with_output = with_output};
  SrStream* stream = NULL;
  SrError error = {0};
  if (sr_stream_new(&settings, &stream, &error) != SR_OK ||
      sr_stream_start(stream, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  assert_int_equal((size_t)sr_stream_rate_hz(stream), RATE_HZ);
  assert_true(strlen(sr_stream_input_name(stream)) > 0);
  assert_int_equal(strlen(sr_stream_output_name(stream)) > 0, with_output);
  return stream;
}

/// Read until there are `count` samples in all.
static size_t
listen_on(SrStream* const stream, float* const samples, size_t done, const size_t count)
{
  SrError error = {0};
  while (done < count) {
    if (sr_stream_wait(stream, 0.5, &error) != SR_OK) {
      fail_msg("%s", error.message);
    }
    done += sr_stream_read(stream, samples + done, count - done);
  }
  return done;
}

static bool
is_free_of_trouble(const SrStream* const stream)
{
  const SrStreamTrouble trouble = sr_stream_trouble(stream);
  return !trouble.overruns && !trouble.underruns;
}

/// Silence before a take in a file: what a player gives first, PulseAudio mixes into a part of the
/// monitor that may have been recorded already.
#define LEAD_FRAMES RATE_HZ

typedef struct {
  float samples[TAKE_FRAMES];
  size_t at;
} Take;

static size_t
read_take(void* const context, float* const samples, const size_t count)
{
  Take* const take = (Take*)context;
  const size_t left = LEAD_FRAMES + TAKE_FRAMES - take->at;
  const size_t given = count < left ? count : left;
  for (size_t i = 0; i < given; ++i, ++take->at) {
    samples[i] = take->at < LEAD_FRAMES ? 0.0f : take->samples[take->at - LEAD_FRAMES];
  }
  return given;
}

/// Noise of 16 bits, so that the sink of 16 bits changes nothing.
static void
make_take(Take* const take)
{
  uint32_t random = 1;
  for (size_t i = 0; i < TAKE_FRAMES; ++i) {
    random = random * 1664525u + 1013904223u;
    take->samples[i] = (float)((int)(random >> 18) - 8192) / 32768.0f;
  }
  take->samples[0] = 0.5f;
  take->at = 0;
}

static void
what_is_played_is_heard(void** const state)
{
  const SoundServer* const server = (const SoundServer*)*state;
  Take* const take = (Take*)calloc(1, sizeof(Take));
  assert_non_null(take);
  make_take(take);
  char* path = NULL;
  assert_true(asprintf(&path, "%s/take.wav", server->folder) > 0);
  assert_int_equal(sr_audio_write(path, (double)RATE_HZ, SR_SAMPLES_16_BIT, read_take, take, NULL),
                   SR_OK);
  const size_t room = LEAD_FRAMES + TAKE_FRAMES + 3 * (size_t)RATE_HZ;
  float* const heard = (float*)calloc(room, sizeof(float));
  assert_non_null(heard);

  bool done = false;
  for (int i = 0; i < TRIES && !done; ++i) {
    SrStream* const stream = stream_begin(false);
    const size_t count = listen_on(stream, heard, 0, 4410);
    // The other program is Debian's pulseaudio-utils'.
    const char* const arguments[] = {"paplay", path, NULL};
    const pid_t player = program_begin(arguments);
    listen_on(stream, heard, count, room);
    int status = -1;
    assert_int_equal(waitpid(player, &status, 0), player);
    assert_int_equal(status, 0);
    size_t wrong = 0;
    size_t shift = 0;
    while (shift < room - TAKE_FRAMES && fabsf(heard[shift]) < 0.4f) {
      wrong += fabsf(heard[shift]) > 0.0f ? 1 : 0;
      ++shift;
    }
    for (size_t k = 0; k < TAKE_FRAMES; ++k) {
      wrong += fabsf(heard[shift + k] - take->samples[k]) <= 1.01f / 32768.0f ? 0 : 1;
    }
    // A server that gets no time leaves out what was played, and nobody is reported
    done = is_free_of_trouble(stream) && !wrong;
    print_message("%zu samples are not what was played\n", wrong);
    sr_stream_del(stream);
  }
  assert_true(done);
  free(heard);
  free(path);
  free(take);
}

/// Frames of the clicks in what was heard, by the one loud sample each begins with.
static size_t
find_clicks(const float* const heard, const size_t count, uint64_t* const clicks, const size_t room)
{
  size_t found = 0;
  for (size_t i = 0; i < count && found < room; ++i) {
    if (heard[i] > 0.4f) {
      clicks[found++] = i;
    }
  }
  return found;
}

static void
the_click_comes_through_the_monitor(void** const state)
{
  (void)state;
  enum { COUNT = 8 * RATE_HZ, MOST = 32 };
  float sound[200];
  for (size_t i = 0; i < 200; ++i) {
    sound[i] = i ? 0.2f : 0.5f;
  }
  const SrClickPlan plan = {
      .plain = sound, .plain_count = 200, .period = 12345.678, .volume = 1.0f};
  float* const heard = (float*)calloc(COUNT, sizeof(float));
  assert_non_null(heard);
  bool done = false;
  for (int i = 0; i < TRIES && !done; ++i) {
    SrStream* const stream = stream_begin(true);
    assert_int_equal(sr_stream_click(stream, &plan, NULL), SR_OK);
    assert_int_equal(sr_stream_click(stream, &plan, NULL), SR_BAD_ARGUMENT);
    listen_on(stream, heard, 0, COUNT);
    uint64_t began = 0;
    assert_true(sr_stream_click_began(stream, &began));
    const SrStreamTrouble trouble = sr_stream_trouble(stream);
    uint64_t clicks[MOST];
    const size_t found = find_clicks(heard, COUNT, clicks, MOST);
    done = is_free_of_trouble(stream) && found >= 4;
    // Each as long behind its time on the clock of the capture as the first.
    for (size_t n = 0; done && n < found; ++n) {
      const double off =
          (double)clicks[n] - (double)clicks[0] - (double)llround((double)n * plan.period);
      done = fabs(off) < 0.5;
    }
    const double trip_s = found ? ((double)clicks[0] - (double)began) / RATE_HZ : -1.0;
    print_message("%zu clicks, the first heard %.1f ms after it was handed over; %u overruns, %u "
                  "underruns\n",
                  found, 1000.0 * trip_s, (unsigned)trouble.overruns, (unsigned)trouble.underruns);
    done = done && trip_s > 0.0;
    sr_stream_del(stream);
  }
  assert_true(done);
  free(heard);
}

static void
what_is_given_comes_through_the_monitor(void** const state)
{
  (void)state;
  enum { COUNT = 6 * RATE_HZ };
  Take* const take = (Take*)calloc(1, sizeof(Take));
  float* const heard = (float*)calloc(COUNT, sizeof(float));
  assert_non_null(take);
  assert_non_null(heard);
  make_take(take);
  bool done = false;
  for (int i = 0; i < TRIES && !done; ++i) {
    SrStream* const stream = stream_begin(true);
    size_t given = 0;
    size_t count = 0;
    while (count < COUNT) {
      given += sr_stream_play(stream, take->samples + given, TAKE_FRAMES - given);
      count = listen_on(stream, heard, count, count + 441 < COUNT ? count + 441 : COUNT);
    }
    assert_int_equal(given, TAKE_FRAMES);
    assert_int_equal(sr_stream_unplayed(stream), 0);
    uint64_t began = 0;
    assert_true(sr_stream_play_began(stream, &began));
    size_t shift = 0;
    while (shift < COUNT - TAKE_FRAMES && fabsf(heard[shift]) < 0.4f) {
      ++shift;
    }
    size_t wrong = 0;
    for (size_t k = 0; k < TAKE_FRAMES; ++k) {
      wrong += fabsf(heard[shift + k] - take->samples[k]) <= 1.01f / 32768.0f ? 0 : 1;
    }
    done = is_free_of_trouble(stream) && !wrong && shift > began;
    sr_stream_del(stream);
  }
  assert_true(done);
  free(take);
  free(heard);
}

static void
devices_are_listed_and_chosen(void** const state)
{
  (void)state;
  SrDevice* devices = NULL;
  size_t count = 0;
  assert_int_equal(sr_devices_list(&devices, &count, NULL), SR_OK);
  assert_true(count > 0);
  size_t usual = 0;
  for (size_t i = 0; i < count; ++i) {
    usual += devices[i].usual_input ? 1 : 0;
    assert_true(devices[i].name[0] && devices[i].system[0]);
  }
  assert_int_equal(usual, 1);
  free(devices);
  SrError error = {0};
  SrStream* stream = NULL;
  SrStreamSettings settings = {.input = "no such thing"};
  assert_int_equal(sr_stream_new(&settings, &stream, &error), SR_NOT_FOUND);
  assert_null(stream);
  settings.input = NULL;
  settings.channel = 1000;
  assert_int_equal(sr_stream_new(&settings, &stream, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "no channel 1000"));
  settings.input = "PULSE";
  settings.channel = 2;
  assert_int_equal(sr_stream_new(&settings, &stream, &error), SR_OK);
  assert_string_equal(sr_stream_input_name(stream), "pulse");
  const float nothing = 0.0f;
  const SrClickPlan plan = {.plain = &nothing, .plain_count = 1, .period = 5000.0};
  assert_int_equal(sr_stream_click(stream, &plan, &error), SR_BAD_ARGUMENT);
  assert_int_equal(sr_stream_play(stream, &nothing, 1), 0);
  sr_stream_del(stream);
  sr_stream_del(NULL);
}

/// Hurt the server of a running stream; it must be reported, and the stream go.
static void
lose_server(SoundServer* const server, const bool with_output, const int signal_number)
{
  SrStream* const stream = stream_begin(with_output);
  static float samples[RATE_HZ];
  listen_on(stream, samples, 0, RATE_HZ);
  kill(server->process, signal_number);
  const double hurt_s = now_s();
  SrError error = {0};
  SrStatus status;
  do {
    status = sr_stream_wait(stream, 0.1, &error);
    sr_stream_read(stream, samples, RATE_HZ);
  } while (status == SR_OK && now_s() - hurt_s < MOST_TOLD_S);
  const double reported_s = now_s() - hurt_s;
  assert_int_equal(status, SR_DEVICE_TROUBLE);
  assert_true(strlen(error.message) > 0);
  // A hang would be ended by this.
  alarm(20);
  sr_stream_del(stream);
  alarm(0);
  print_message("signal %d, output %d: told after %.2f s (\"%s\"), gone after %.2f s more\n",
                signal_number, with_output, reported_s, error.message,
                now_s() - hurt_s - reported_s);
}

static void
a_killed_server_is_reported(void** const state)
{
  SoundServer* const server = (SoundServer*)*state;
  lose_server(server, false, SIGKILL);
  server_end(server, SIGKILL);
  assert_true(server_begin(server));
  lose_server(server, true, SIGKILL);
  server_end(server, SIGKILL);
  // Without a server; a card of this machine may still be there.
  SrStream* stream = NULL;
  SrError error = {0};
  const SrStatus status = sr_stream_new(NULL, &stream, &error);
  if (status == SR_OK) {
    sr_stream_del(stream);
  } else {
    assert_int_equal(status, SR_DEVICE_TROUBLE);
    assert_non_null(strstr(error.message, "sound"));
  }
  assert_true(server_begin(server));
}

/// The last test: the stream stays behind in this process, since its device never lets go.
static void
a_server_that_hangs_is_reported(void** const state)
{
  SoundServer* const server = (SoundServer*)*state;
  lose_server(server, true, SIGSTOP);
  server_end(server, SIGKILL);
}

/// Whether ALSA knows a device that leads to the server.
static bool
leads_to_server(void)
{
  SoundServer server;
  if (!server_begin(&server)) {
    return false;
  }
  SrDevice* devices = NULL;
  size_t count = 0;
  bool found = false;
  if (sr_devices_list(&devices, &count, NULL) == SR_OK) {
    for (size_t i = 0; i < count; ++i) {
      found = found || (strcmp(devices[i].name, "default") == 0 && devices[i].usual_input);
    }
  }
  free(devices);
  server_end(&server, SIGTERM);
  return found;
}

int
main(void)
{
  if (!has_program("pulseaudio") || !has_program("paplay") || !has_program("pactl")) {
    printf("skipped: needs Debian's pulseaudio\n");
    return 77;
  }
  if (!leads_to_server()) {
    printf("skipped: ALSA's default does not lead to PulseAudio (Debian's libasound2-plugins)\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(devices_are_listed_and_chosen),
      cmocka_unit_test(what_is_played_is_heard),
      cmocka_unit_test(the_click_comes_through_the_monitor),
      cmocka_unit_test(what_is_given_comes_through_the_monitor),
      cmocka_unit_test(a_killed_server_is_reported),
      cmocka_unit_test(a_server_that_hangs_is_reported),
  };
  return cmocka_run_group_tests_name("stream", tests, begin, end);
}
