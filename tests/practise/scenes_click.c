// SPDX-License-Identifier: GPL-3.0-or-later

#include "scenes.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "course.h"

#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#define RATE_HZ 44100
/// The tempo in the phrase, pulses a minute, and the quavers of a pulse.
#define BPM 66.0
#define PLACES 3u
/// A click is over after so long, with what it may come before or after its place, s; see stream.h.
#define CLICK_S 0.018
#define RISE_S 0.004
#define MOST_CLICKS 64u
/// Clicks are told from music at most so far from where they begin, ms. A step of the clocks, which
/// is over 3 ms, is worth a second try.
#define MOST_UNEVEN_MS 2.0
/// Of the music, so that it has room beside the click.
#define GAIN 0.4f
/// What is neither music nor click is less.
#define LEAST_REST 0.004f
/// Onsets with a click taken out against the file's: single ones and on the mean, ms.
#define MOST_MS 1.0
#define MEAN_MS 0.5
/// How well the distance from the click must be told, ms.
#define OFFSET_MS 2.0

/// What a recorder beside the program heard.
typedef struct {
  Tape tape;
  long shift;       ///< The music is so many samples later there than on the tape
  double click;     ///< Sample of the first click
  size_t clicks;    ///< Clicks found
  size_t off_grid;  ///< Samples that neither tape nor click explains
  double uneven_ms; ///< Farthest that a click but the first is from its place
  double period;    ///< Samples from click to click
} Witness;

/// What a sample of the witness holds beside the music.
static float
rest_of(const Witness* const w, const Tape* const tape, const size_t i)
{
  const long at = (long)i - w->shift;
  const float played = at >= 0 && at < (long)tape->count ? tape->samples[at] : 0.0f;
  return fabsf(w->tape.samples[i] - played);
}

static int
compare_numbers(const void* const one, const void* const two)
{
  const double a = *(const double*)one;
  const double b = *(const double*)two;
  return a < b ? -1 : a > b;
}

/// Find the music and the clicks in what the witness heard.
static bool
examine(Witness* const w, const Tape* const tape)
{
  w->period = 60.0 / BPM * RATE_HZ;
  const size_t size = 8192;
  bool found = false;
  // Somewhere between two clicks, a stretch is heard as it was played
  for (size_t at = 0; !found && at + size < tape->count; at += 3000) {
    float peak = 0.0f;
    for (size_t i = 0; i < size; ++i) {
      peak = fmaxf(peak, fabsf(tape->samples[at + i]));
    }
    found = peak > 0.1f && tape_find(tape, at, at + size, &w->tape, &w->shift);
  }
  if (!found) {
    return false;
  }
  double starts[MOST_CLICKS];
  for (size_t i = 0; i < w->tape.count && w->clicks < MOST_CLICKS; ++i) {
    if (rest_of(w, tape, i) >= LEAST_REST) {
      starts[w->clicks++] = (double)i;
      i += (size_t)(0.5 * w->period);
    }
  }
  // What a player gives first may come too late for the monitor, so the first click's start may be
  // missing: the grid is that of most of them
  double places[MOST_CLICKS] = {0.0};
  for (size_t n = 0; n < w->clicks; ++n) {
    places[n] = starts[n] - round((starts[n] - starts[0]) / w->period) * w->period;
  }
  double sorted[MOST_CLICKS];
  memcpy(sorted, places, sizeof(sorted));
  qsort(sorted, w->clicks, sizeof(double), compare_numbers);
  w->click = w->clicks ? sorted[w->clicks / 2] : 0.0;
  for (size_t n = 1; n < w->clicks; ++n) {
    w->uneven_ms = fmax(w->uneven_ms, 1e3 * fabs(places[n] - w->click) / RATE_HZ);
  }
  for (size_t i = 0; i < w->tape.count; ++i) {
    const double since =
        fmod((double)i - w->click + RISE_S * RATE_HZ + 100.0 * w->period, w->period);
    w->off_grid += since > CLICK_S * RATE_HZ && rest_of(w, tape, i) >= LEAST_REST ? 1 : 0;
  }
  return true;
}

/// By how much two distances differ on a circle of one period, ms.
static double
turn_apart_ms(const double one_ms, const double two_ms, const double period_ms)
{
  return fabs(remainder(one_ms - two_ms, period_ms));
}

/**
   How far the file's onsets lie behind the clicks that the witness heard, ms, with the lilt taken
   off that the round tells: its place p begins later by the sum of what the places before it are
   longer.
*/
static double
behind_ms(const json_t* const file, const json_t* const round, const Witness* const w)
{
  const json_t* const pulse = json_object_get(round, "pulse");
  const json_t* const lilt = json_object_get(pulse, "lilt");
  assert_int_equal(json_array_size(lilt), PLACES);
  const double even_s = 60.0 / verdicts_number(pulse, "played_bpm") / PLACES;
  double late_s[PLACES] = {0.0};
  for (size_t p = 1; p < PLACES; ++p) {
    late_s[p] = late_s[p - 1] + (json_number_value(json_array_get(lilt, p - 1)) - 1.0) * even_s;
  }
  const double period_s = w->period / RATE_HZ;
  double real = 0.0;
  double imaginary = 0.0;
  size_t i;
  const json_t* note;
  json_array_foreach(json_object_get(file, "notes"), i, note)
  {
    // All are quavers but for the last, so that their number is their place
    const double onset_s = verdicts_number(note, "onset_s");
    if (isfinite(onset_s)) {
      const double in_s = onset_s + ((double)w->shift - w->click) / RATE_HZ;
      const double beat_s = in_s - late_s[i % PLACES] - (double)(i % PLACES) * period_s / PLACES;
      real += cos(2.0 * M_PI * beat_s / period_s);
      imaginary += sin(2.0 * M_PI * beat_s / period_s);
    }
  }
  return 1e3 * atan2(imaginary, real) / (2.0 * M_PI) * period_s;
}

static void
check_round(const char* const what, const json_t* const file, const json_t* const round,
            const Witness* const w)
{
  const Difference d = verdicts_compare(what, file, round);
  assert_int_equal(d.different, 0);
  assert_int_equal(d.other_air, 0);
  assert_int_equal(d.other_extra, 0);
  assert_true(d.worst_ms <= MOST_MS && d.mean_ms <= MEAN_MS);
  const double told_ms = verdicts_number(round, "pulse.mean_offset_ms");
  const double wanted_ms = behind_ms(file, round, w);
  print_message("    behind the click by %.1f ms, told %.1f ms\n", wanted_ms, told_ms);
  assert_true(isfinite(told_ms));
  assert_true(turn_apart_ms(told_ms, wanted_ms, 1e3 * w->period / RATE_HZ) < OFFSET_MS);
}

/// One sitting; false if the machine was too busy for the clicks or the music.
static bool
play_once(Sitting* const s, const char* const phrase, const char* const* const options,
          const char* const path, const Tape* const tape, Witness* const w)
{
  char* const record = sitting_path(s, "witness.wav");
  remove(record);
  sitting_witness(s, record, RATE_HZ);
  sitting_practise(s, phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, path);
  assert_int_equal(sitting_end(s, (double)tape->count / RATE_HZ + 15.0), 0);
  // Before the music stops
  sitting_witness_end(s);
  kill(s->player, SIGTERM);
  waitpid(s->player, NULL, 0);
  s->player = 0;
  *w = (Witness){.tape = tape_read(record)};
  free(record);
  const bool good = examine(w, tape) && !w->off_grid && w->clicks > 3 &&
                    w->uneven_ms < MOST_UNEVEN_MS && !course_has_lost(s);
  print_message("  %zu clicks, even to %.2f ms, %zu samples neither click nor music%s\n", w->clicks,
                w->uneven_ms, w->off_grid, good ? "" : ": once more");
  return good;
}

/// Play the demo's take beside a click that is heard in the microphone.
static void
play_with_click(Sitting* const s, const char* const volume, const char* const silent)
{
  sitting_begin(s, RATE_HZ);
  char* const phrase = test_phrase("three-as");
  char* const take = test_take("demo");
  Tape tape = {.rate_hz = RATE_HZ};
  // The count-in comes first; a click and a note together must not be overdriven
  tape_silence(&tape, 4.5);
  tape_file(&tape, take, 0.0, INFINITY);
  tape_silence(&tape, 1.0);
  for (size_t i = 0; i < tape.count; ++i) {
    tape.samples[i] *= GAIN;
  }
  char* const path = sitting_path(s, "tape.wav");
  tape_write(&tape, path);
  json_t* const file = verdicts_assess(phrase, path, NULL);
  const char* const options[] = {"--json",         "--rounds", "2",
                                 "--click-volume", volume,     silent ? "--silent-bars" : NULL,
                                 silent,           NULL};
  Witness w = {0};
  bool good = false;
  for (int i = 0; !good && i < TRIES; ++i) {
    char* const kept = sitting_kept(s);
    if (kept) {
      remove(kept);
    }
    free(kept);
    tape_clear(&w.tape);
    good = play_once(s, phrase, options, path, &tape, &w);
  }
  assert_true(good);
  // Of 22 or so, those of every other bar behind the count-in are silent
  assert_true(silent ? w.clicks < 15 : w.clicks > 18);
  char* const said = sitting_said(s);
  json_t* const all = verdicts_read(said);
  assert_int_equal(json_array_size(all), 3);
  const json_t* const end = json_array_get(all, 2);
  assert_int_equal(verdicts_rounds(end), 2);
  for (size_t r = 0; r < 2; ++r) {
    const json_t* const wanted = verdicts_round(file, r);
    check_round("told at once", wanted, verdicts_round(json_array_get(all, r), 0), &w);
    check_round("at the end", wanted, verdicts_round(end, r), &w);
  }
  course_check_kept(s, phrase, end);
  json_decref(all);
  json_decref(file);
  tape_clear(&tape);
  tape_clear(&w.tape);
  free(said);
  free(path);
  free(phrase);
  free(take);
}

static void
click_of_20(void** const state)
{
  play_with_click((Sitting*)*state, "20", NULL);
}

static void
click_of_60(void** const state)
{
  play_with_click((Sitting*)*state, "60", NULL);
}

static void
silent_bars(void** const state)
{
  play_with_click((Sitting*)*state, "40", "1:1");
}

const Scene scenes_click[] = {
    {"with a click of 20 percent", click_of_20, false, true},
    {"with a click of 60 percent", click_of_60, false, false},
    {"with a click in every other bar", silent_bars, false, false},
};
const size_t scenes_click_count = sizeof(scenes_click) / sizeof(scenes_click[0]);
