// SPDX-License-Identifier: GPL-3.0-or-later

// What is known of an instrument, written down and read again.

#include "scene.h"

#include "bits.h"
#include "played.h"

#include <steadyreed/live.h>

#include <jansson.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_EVENTS 512u

static const char jig[] = "X:1\nT:Before the Session\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";
static const char low[] = "X:1\nT:Lower\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A,3 D3|G,3 C3|E,3 F,3|A,3 D3|]\n";

static SrPhrase* phrase;
static Take* take;
static SrProfile* profile;
static char* text;

static SrProfile*
learn(const SrPhrase* const from, const Take* const heard)
{
  const SrExpected expected = sr_live_expected(from);
  SrCalibration* calibration = NULL;
  SrProfile* learnt = NULL;
  assert_int_equal(sr_calibration_new(heard->rate_hz, &expected, &calibration, NULL), SR_OK);
  sr_calibration_push(calibration, heard->samples, heard->count);
  assert_int_equal(sr_calibration_finish(calibration,
                                         sr_calibration_doubled_nats(calibration) > 0.0
                                             ? SR_READ_DOUBLED
                                             : SR_READ_SINGLE,
                                         &learnt, NULL),
                   SR_OK);
  sr_calibration_del(calibration);
  return learnt;
}

/// A take on an instrument tuned to `reference_hz`.
static Take*
play(const SrPhrase* const what, const double reference_hz, const bool octave)
{
  TakePlan plan = take_plan_default();
  plan.seed = 11;
  plan.rt60_s = 0.4;
  plan.direct_db = 10.0;
  plan.floor_db = -58.0;
  plan.reference_hz = reference_hz;
  plan.detune_cents = 5.0;
  plan.octave = octave;
  plan.p_on_top = 0.15;
  plan.p_long = 0.15;
  Take* const made = take_make(what, &plan);
  assert_non_null(made);
  return made;
}

static int
begin(void** const state)
{
  (void)state;
  phrase = played_phrase(jig);
  take = play(phrase, 446.0, false);
  profile = learn(phrase, take);
  text = sr_profile_text(profile);
  return text ? 0 : -1;
}

static int
end(void** const state)
{
  (void)state;
  free(text);
  sr_profile_del(profile);
  take_del(take);
  sr_phrase_del(phrase);
  return 0;
}

static SrProfile*
read(const char* const from)
{
  SrProfile* got = NULL;
  SrError error = {0};
  if (sr_profile_read_text(from, &got, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  assert_non_null(got);
  return got;
}

static size_t
listen(const SrProfile* const with, SrEvent* const events)
{
  const SrExpected expected = sr_live_expected(phrase);
  SrHear* hear = NULL;
  size_t count = 0;
  assert_int_equal(sr_hear_new(take->rate_hz, with, &expected, &hear, NULL), SR_OK);
  assert_int_equal(sr_hear_push(hear, take->samples, take->count), SR_OK);
  assert_int_equal(sr_hear_finish(hear), SR_OK);
  while (count < MOST_EVENTS && sr_hear_pull(hear, &events[count])) {
    ++count;
  }
  sr_hear_del(hear);
  return count;
}

static void
round_trip(void** const state)
{
  (void)state;
  SrProfile* const got = read(text);
  // Six digits are kept
  assert_true(fabs(sr_profile_reference_hz(got) - sr_profile_reference_hz(profile)) < 1e-3);
  size_t learnt = 0;
  for (int midi = 0; midi < 128; ++midi) {
    double cents = 0.0;
    double kept = 0.0;
    const bool known = sr_profile_reed(profile, midi, &cents);
    assert_int_equal(sr_profile_reed(got, midi, &kept), known);
    assert_true(!known || fabs(kept - cents) < 1e-3);
    learnt += known;
  }
  assert_true(learnt >= 6);
  // What was dropped once is dropped for good
  char* const again = sr_profile_text(got);
  SrProfile* const second = read(again);
  char* const third = sr_profile_text(second);
  assert_string_equal(again, third);
  free(again);
  free(third);
  sr_profile_del(got);
  sr_profile_del(second);
}

/// What is played is learnt from alike, whether somebody began at once or waited for long.
static void
after_a_long_wait(void** const state)
{
  (void)state;
  const SrExpected expected = sr_live_expected(phrase);
  double heard_s[2];
  for (size_t waits = 0; waits < 2; ++waits) {
    SrCalibration* calibration = NULL;
    assert_int_equal(sr_calibration_new(take->rate_hz, &expected, &calibration, NULL), SR_OK);
    Scene room = scene_make(10.0);
    for (size_t i = 0; i < (waits ? 6u : 1u); ++i) {
      sr_calibration_push(calibration, room.samples, room.count);
    }
    sr_calibration_push(calibration, take->samples, take->count);
    heard_s[waits] = sr_calibration_heard_s(calibration);
    scene_free(&room);
    sr_calibration_del(calibration);
  }
  printf("learnt from %.2f s of reeds, after a minute's wait from %.2f s\n", heard_s[0],
         heard_s[1]);
  assert_true(heard_s[0] > 1.0);
  assert_true(fabs(heard_s[1] - heard_s[0]) < 0.1 * heard_s[0]);
}

static void
generic(void** const state)
{
  (void)state;
  SrProfile* const plain = sr_profile_new(441.5);
  char* const written = sr_profile_text(plain);
  SrProfile* const got = read(written);
  assert_true(fabs(sr_profile_reference_hz(got) - 441.5) < 1e-9);
  for (int midi = 0; midi < 128; ++midi) {
    assert_false(sr_profile_reed(got, midi, NULL));
  }
  free(written);
  sr_profile_del(plain);
  sr_profile_del(got);
}

/// A note of the truth, or a cut, is heard with the one as with the other: only how the room dies
/// away under single reeds has to be learnt again.
static void
hears_the_same(void** const state)
{
  (void)state;
  static SrEvent with[MOST_EVENTS];
  static SrEvent without[MOST_EVENTS];
  SrProfile* const got = read(text);
  const size_t count = listen(profile, with);
  assert_int_equal(listen(got, without), count);
  assert_true(count >= 20 && count < MOST_EVENTS);
  double worst_s = 0.0;
  for (size_t i = 0; i < count; ++i) {
    assert_int_equal(with[i].kind, without[i].kind);
    assert_int_equal(with[i].midi, without[i].midi);
    worst_s = fmax(worst_s, fabs(with[i].onset_s - without[i].onset_s));
    assert_true(fabs(with[i].end_s - without[i].end_s) < 0.01);
    assert_true(fabs(with[i].level_db - without[i].level_db) < 0.5);
    assert_true(fabs(with[i].fit - without[i].fit) < 0.01);
  }
  print_message("%zu events, onsets at most %.3f ms apart\n", count, 1e3 * worst_s);
  assert_true(worst_s < 0.002);
  // Twice read is the same to the last bit
  SrProfile* const other = read(text);
  assert_int_equal(listen(other, with), count);
  for (size_t i = 0; i < count; ++i) {
    assert_true(same_bits(with[i].onset_s, without[i].onset_s));
    assert_true(same_bits(with[i].level_db, without[i].level_db));
  }
  sr_profile_del(other);
  sr_profile_del(got);
}

static SrStatus
read_bad(const char* const from)
{
  SrProfile* got = NULL;
  SrError error = {0};
  const SrStatus status = sr_profile_read_text(from, &got, &error);
  assert_true((status == SR_OK) == (got != NULL));
  assert_true(status == SR_OK || error.message[0]);
  sr_profile_del(got);
  return status;
}

static void
truncated(void** const state)
{
  (void)state;
  const size_t length = strlen(text);
  char* const part = (char*)malloc(length + 1);
  assert_non_null(part);
  for (size_t i = 0; i < length; ++i) {
    // To the byte, so that reading behind its end is seen
    char* const exact = (char*)malloc(i + 1);
    assert_non_null(exact);
    memcpy(exact, text, i);
    exact[i] = '\0';
    assert_int_equal(read_bad(exact), SR_BAD_SYNTAX);
    free(exact);
  }
  free(part);
}

static void
not_ours(void** const state)
{
  (void)state;
  static const char* const texts[] = {
      "",
      " ",
      "null",
      "[]",
      "{}",
      "{\"format\": \"steadyreed-profile\"}",
      "{\"format\": \"steadyreed-profile\", \"version\": 1}",
      "{\"format\": \"other\", \"version\": 1, \"reference_hz\": 440}",
      "{\"format\": \"steadyreed-profile\", \"version\": 2, \"reference_hz\": 440, \"reeds\": []}",
      "{\"format\": \"steadyreed-profile\", \"version\": 1, \"reference_hz\": NaN, \"reeds\": []}",
      "{\"format\": \"steadyreed-profile\", \"version\": 1, \"reference_hz\": 1e999}",
      "\xff\xfe{}"};
  for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); ++i) {
    if (read_bad(texts[i]) != SR_BAD_SYNTAX) {
      fail_msg("taken: %s", texts[i]);
    }
  }
  assert_int_equal(read_bad("{\"format\": \"steadyreed-profile\", \"version\": 1, "
                            "\"reference_hz\": 440, \"doubled\": false, \"reeds\": []}"),
                   SR_OK);
}

/// Values that no key of a profile may have.
static json_t*
wrong_value(const size_t which)
{
  switch (which) {
  case 0:
    return json_null();
  case 1:
    return json_string("sixty");
  case 2:
    return json_real(1e300);
  case 3:
    return json_real(-1e300);
  case 4:
    return json_integer(INT64_MAX);
  case 5:
    return json_integer(INT64_MIN);
  case 6:
    return json_pack("{s:i}", "a", 1);
  case 7:
    return json_pack("[s, n]", "a");
  default:
    return NULL;
  }
}

/// Put a wrong value for one of an object's keys, or for a member of an array: all must be refused.
static void
put_wrong(json_t* const whole, json_t* const inside, const char* const key, const size_t index)
{
  json_t* const kept =
      json_deep_copy(key ? json_object_get(inside, key) : json_array_get(inside, index));
  assert_non_null(kept);
  json_t* wrong;
  for (size_t w = 0; (wrong = wrong_value(w)); ++w) {
    if (key) {
      json_object_set_new(inside, key, wrong);
    } else {
      json_array_set_new(inside, index, wrong);
    }
    char* const bad = json_dumps(whole, 0);
    if (read_bad(bad) != SR_BAD_SYNTAX) {
      fail_msg("%s, number %zu, was taken with wrong value %zu", key ? key : "a member", index, w);
    }
    free(bad);
  }
  if (key) {
    json_object_set_new(inside, key, kept);
  } else {
    json_array_set_new(inside, index, kept);
  }
}

static void
wrong_values(void** const state)
{
  (void)state;
  json_t* const whole = json_loads(text, 0, NULL);
  assert_non_null(whole);
  static const char* const keys[] = {"format", "version", "reference_hz", "doubled",
                                     "reeds",  "tail_db", "tail_count",   "floor"};
  for (size_t k = 0; k < sizeof(keys) / sizeof(keys[0]); ++k) {
    put_wrong(whole, whole, keys[k], 0);
  }
  json_t* const reeds = json_object_get(whole, "reeds");
  assert_true(json_array_size(reeds) >= 6);
  json_t* const reed = json_array_get(reeds, 2);
  static const char* const reed_keys[] = {"midi",       "doubled",   "cents",    "heard_s",
                                          "lag_frames", "lag_count", "harmonics"};
  for (size_t k = 0; k < sizeof(reed_keys) / sizeof(reed_keys[0]); ++k) {
    put_wrong(whole, reed, reed_keys[k], 0);
  }
  put_wrong(whole, reeds, NULL, 1);
  put_wrong(whole, json_object_get(reed, "harmonics"), NULL, 3);
  put_wrong(whole, json_object_get(whole, "tail_db"), NULL, 7);
  put_wrong(whole, json_object_get(whole, "floor"), NULL, 9);
  // Put right again, it can be read
  char* const good = json_dumps(whole, 0);
  assert_int_equal(read_bad(good), SR_OK);
  free(good);
  json_decref(whole);
}

/// Whatever byte is changed, it is read or refused; the sanitizers tell the rest.
static void
damaged(void** const state)
{
  (void)state;
  Random random = {99};
  const size_t length = strlen(text);
  char* const bad = (char*)malloc(length + 1);
  assert_non_null(bad);
  for (size_t i = 0; i < 3000; ++i) {
    memcpy(bad, text, length + 1);
    for (size_t k = 0; k < 1 + i % 4; ++k) {
      bad[random_next(&random) % length] = (char)(1 + random_next(&random) % 255u);
    }
    const SrStatus status = read_bad(bad);
    assert_true(status == SR_OK || status == SR_BAD_SYNTAX);
  }
  free(bad);
}

static void
completed(void** const state)
{
  (void)state;
  SrPhrase* const other = played_phrase(low);
  Take* const low_take = play(other, 444.0, false);
  SrProfile* const earlier = learn(other, low_take);
  SrProfile* const whole = sr_profile_copy(profile);
  sr_profile_complete(whole, earlier);
  size_t taken = 0;
  for (int midi = SR_LOWEST_MIDI; midi <= SR_HIGHEST_MIDI; ++midi) {
    double cents = 0.0;
    double before = 0.0;
    double then = 0.0;
    const bool known = sr_profile_reed(whole, midi, &cents);
    const bool own = sr_profile_reed(profile, midi, &before);
    const bool had = sr_profile_reed(earlier, midi, &then);
    assert_int_equal(known, own || had);
    if (had && !own) {
      // The reed is as high as it was, whatever the reference
      const double was_hz = sr_profile_reference_hz(earlier) * exp2(then / 1200.0);
      const double is_hz = sr_profile_reference_hz(whole) * exp2(cents / 1200.0);
      assert_true(fabs(1200.0 * log2(is_hz / was_hz)) < 0.01);
      ++taken;
    }
  }
  assert_true(taken >= 4);
  assert_true(fabs(sr_profile_reference_hz(whole) - sr_profile_reference_hz(profile)) < 1e-12);
  sr_profile_del(whole);

  // Another instrument has nothing to say, nor has one played in octaves of one that is not
  static const double references_hz[] = {455.0, 430.0, 433.0, 446.0};
  for (size_t i = 0; i < 4; ++i) {
    Take* const far_take = play(other, references_hz[i], i == 3);
    SrProfile* const far = learn(other, far_take);
    SrProfile* const alone = sr_profile_copy(profile);
    sr_profile_complete(alone, far);
    char* const unchanged = sr_profile_text(alone);
    assert_string_equal(unchanged, text);
    free(unchanged);
    sr_profile_del(alone);
    sr_profile_del(far);
    take_del(far_take);
  }
  sr_profile_del(earlier);
  take_del(low_take);
  sr_phrase_del(other);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(round_trip),   cmocka_unit_test(after_a_long_wait),
      cmocka_unit_test(generic),      cmocka_unit_test(hears_the_same),
      cmocka_unit_test(truncated),    cmocka_unit_test(not_ours),
      cmocka_unit_test(wrong_values), cmocka_unit_test(damaged),
      cmocka_unit_test(completed)};
  return cmocka_run_group_tests(tests, begin, end);
}
