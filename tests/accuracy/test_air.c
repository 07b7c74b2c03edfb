// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_air.c
   How well air is heard on takes with known truth, made reeds and recorded ones.

   usage: test_air notes|octaves|tunes|levels|none ACCURACY.abc [FIRST]

   With FIRST, such as 100, other takes of the same kind, that nothing was tuned on; then only
   the figures count, not the limits.

   With STEADYREED_TAKES set, every release is reported.
*/

#include "heard.h"
#include "plans.h"

#include <steadyreed/mask.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Lowest and highest note: A2 to C6.
#define LOWEST 45
#define HIGHEST 84
#define SPAN (HIGHEST - LOWEST + 1)
/// Share of a true release that what is found must cover.
#define COVER 0.4

typedef struct {
  size_t takes;
  double minutes;
  size_t releases;
  size_t found;
  size_t others;  ///< Found where none was
  size_t audible; ///< Called audible in a round
  size_t notes;   ///< All were played
  size_t played;  ///< … and reported so
  double level_sum;
  double level_abs;
  double length_abs;
  double dip_abs;
  size_t dips;
  size_t deep;      ///< Dips of 2 dB and more
  size_t deep_seen; ///< … seen as 1 dB and more
  double bend_abs;
  size_t bends;
  size_t bent;      ///< Bends of 5 cents and more
  size_t bent_seen; ///< … seen as half of it and more
} Sums;

static bool
is_verbose(void)
{
  return getenv("STEADYREED_TAKES") != NULL;
}

static void
add_found(Sums* const sums, const TruthAir* const truth, const SrAirHeard* const heard)
{
  const double error = 10.0 * log10(heard->hiss_power / heard->note_power) - truth->level_db;
  ++sums->found;
  sums->level_sum += error;
  sums->level_abs += fabs(error);
  sums->length_abs += fabs((heard->end_s - heard->start_s) - (truth->end_s - truth->start_s));
  // A window of 85 ms cannot show what a shorter dip does
  if (truth->plan.length_s < 0.2) {
    return;
  }
  if (isfinite(heard->dip_db)) {
    sums->dip_abs += fabs(heard->dip_db - truth->plan.dip_db);
    ++sums->dips;
    sums->deep += truth->plan.dip_db >= 2.0;
    sums->deep_seen += truth->plan.dip_db >= 2.0 && heard->dip_db >= 1.0;
  }
  if (isfinite(heard->bend_cents)) {
    sums->bend_abs += fabs(heard->bend_cents - truth->plan.bend_cents);
    ++sums->bends;
    sums->bent += truth->plan.bend_cents <= -5.0;
    sums->bent_seen +=
        truth->plan.bend_cents <= -5.0 && heard->bend_cents <= 0.5 * truth->plan.bend_cents;
  }
}

static void
compare(Sums* const sums, const Take* const take, const HeardTake* const heard)
{
  bool* const used = (bool*)calloc(heard->air_count + 1, sizeof(bool));
  for (size_t i = 0; i < take->air_count; ++i) {
    const TruthAir* const truth = &take->air[i];
    const double least_s = COVER * (truth->end_s - truth->start_s);
    size_t match = heard->air_count;
    for (size_t j = 0; j < heard->air_count && match == heard->air_count; ++j) {
      const double shared =
          fmin(truth->end_s, heard->airs[j].end_s) - fmax(truth->start_s, heard->airs[j].start_s);
      match = !used[j] && shared > least_s ? j : match;
    }
    ++sums->releases;
    if (match < heard->air_count) {
      used[match] = true;
      add_found(sums, truth, &heard->airs[match]);
    } else if (is_verbose()) {
      printf("    missed: %.3f to %.3f, MIDI %d, %.1f dB, colour %d, course %d\n", truth->start_s,
             truth->end_s, truth->midi, truth->level_db, (int)truth->plan.colour,
             (int)truth->plan.course);
    }
  }
  for (size_t j = 0; j < heard->air_count; ++j) {
    const SrAirHeard* const air = &heard->airs[j];
    const double over_db = sr_mask_over_db(air);
    if (!used[j]) {
      ++sums->others;
      if (is_verbose()) {
        printf("    not there: %.3f to %.3f, MIDI %d, %.1f dB, %+.1f over the mask\n", air->start_s,
               air->end_s, air->midi, 10.0 * log10(air->hiss_power / air->note_power), over_db);
      }
    }
  }
  for (size_t r = 0; heard->assessment && r < heard->assessment->round_count; ++r) {
    const SrRound* const round = &heard->assessment->rounds[r];
    for (size_t i = 0; i < round->air_count; ++i) {
      sums->audible += round->air[i].audible;
    }
    for (size_t i = 0; i < round->note_count; ++i) {
      sums->played += round->notes[i].status == SR_NOTE_PLAYED;
    }
  }
  sums->notes += take->round_count * take->note_count;
  free(used);
}

/// A pitch in ABC, in C.
static void
append_pitch(char* const abc, const int midi)
{
  static const char* const names[] = {"=C", "^C", "=D", "^D", "=E", "=F",
                                      "^F", "=G", "^G", "=A", "^A", "=B"};
  char name[12] = "";
  const int octave = midi / 12 - 1;
  strcat(name, names[midi % 12]);
  for (char* c = name; octave >= 5 && *c; ++c) {
    *c = (char)(*c >= 'A' && *c <= 'G' ? *c + 32 : *c);
  }
  for (int i = 5; i < octave; ++i) {
    strcat(name, "'");
  }
  for (int i = octave; i < 4; ++i) {
    strcat(name, ",");
  }
  strcat(abc, name);
}

/// All notes from A2 to C6 once, a second each, in an order of their own.
static SrPhrase*
all_notes(const size_t index)
{
  char abc[1024] = "X:1\nT:All of Them\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\n";
  const int step = index % 2 ? 7 : 11; // no divisors of SPAN
  for (int i = 0; i < SPAN; ++i) {
    append_pitch(abc, LOWEST + (i * step + (int)index * 3) % SPAN);
    strcat(abc, i % 4 == 3 ? "|" : "");
  }
  strcat(abc, "]\n");
  SrPhrase* phrase = NULL;
  sr_phrase_read_text(abc, strlen(abc), "notes", NULL, &phrase, NULL);
  return phrase;
}

/// A plan without slips; floors under -50 dBFS.
static TakePlan
plain_plan(const size_t index, int* const tune)
{
  TakePlan plan = plan_of(index, index % 2 ? TAKES_RECORDED : TAKES_MADE, tune);
  plan.p_long = plan.p_on_top = plan.p_bare = plan.p_absent = 0.0;
  plan.p_missed = plan.p_wrong = plan.p_extra = 0.0;
  plan.octave = plan.speech = plan.false_start = plan.stop_early = plan.hesitate = false;
  plan.metronome_db = 0.0;
  plan.rounds = 1;
  plan.floor_db = -65.0 + 0.75 * (double)(index % 20);
  return plan;
}

static bool
add_take(Sums* const sums, const SrPhrase* const phrase, const TakePlan* const plan)
{
  Take* const take = take_make(phrase, plan);
  if (!take) {
    return false;
  }
  if (is_verbose()) {
    printf("  take %zu: kind %d, floor %.0f dBFS, rt %.2f s\n", sums->takes, (int)plan->kind,
           plan->floor_db, plan->rt60_s);
  }
  HeardTake heard = heard_take(phrase, take);
  ++sums->takes;
  sums->minutes += (double)take->count / take->rate_hz / 60.0;
  compare(sums, take, &heard);
  heard_free(&heard);
  take_del(take);
  return true;
}

static bool
check_one(const char* const what, const double value, const double limit, const double aim,
          const bool most)
{
  const bool held = most ? value <= limit : value >= limit;
  const bool met = most ? value <= aim : value >= aim;
  printf("  %-40s %8.3f  %s%-6g aim %s %g\n", what, value, held ? "holds, limit " : "FAILS, limit ",
         limit, met ? "met:" : "not met:", aim);
  return held;
}

static double
mean(const double sum, const size_t count)
{
  return count ? sum / (double)count : 0.0;
}

/// What must hold; the aims are those of all sets.
typedef struct {
  double found_percent;
  double others; ///< A minute
  double level_db;
  double dip_percent;
  double bend_percent;
  double notes_percent; ///< Of the notes, all of which were played, reported so
} Limits;

static bool
report(const Sums* const s, const char* const title, const Limits* const limits)
{
  printf("%s: %zu takes, %.1f minutes, %zu releases of air\n", title, s->takes, s->minutes,
         s->releases);
  printf("  level bias %+.2f dB; length error %.0f ms; dip error %.2f dB of %zu; bend error %.2f "
         "cents of %zu\n",
         mean(s->level_sum, s->found), 1e3 * mean(s->length_abs, s->found),
         mean(s->dip_abs, s->dips), s->dips, mean(s->bend_abs, s->bends), s->bends);
  bool held = check_one("found, %", 100.0 * mean((double)s->found, s->releases),
                        limits->found_percent, 100.0, false);
  held &= check_one("others a minute", (double)s->others / s->minutes, limits->others, 0.1, true);
  held &= check_one("level error, dB", mean(s->level_abs, s->found), limits->level_db, 2.0, true);
  held &= check_one("dips of 2 dB seen, %", 100.0 * mean((double)s->deep_seen, s->deep),
                    limits->dip_percent, 100.0, false);
  held &= check_one("bends of 5 cents seen, %", 100.0 * mean((double)s->bent_seen, s->bent),
                    limits->bend_percent, 100.0, false);
  held &= check_one("bend error, mean, cents", mean(s->bend_abs, s->bends), 2.0, 2.0, true);
  held &= check_one("notes told as played, %", 100.0 * mean((double)s->played, s->notes),
                    limits->notes_percent, 99.0, false);
  return held;
}

static int
test_found(const char* const abc, const char* const set, const size_t offset)
{
  static const Limits notes = {96.0, 0.4, 2.0, 95.0, 95.0, 99.0};
  static const Limits octaves = {92.0, 0.6, 2.0, 93.0, 95.0, 98.0};
  static const Limits tunes = {82.0, 0.6, 2.0, 88.0, 90.0, 99.0};
  Sums sums = {0};
  const bool in_tunes = !strcmp(set, "tunes");
  for (size_t i = offset; i < offset + 20; ++i) {
    SrPhraseChoice choice = {0};
    TakePlan plan = plain_plan(i, &choice.tune);
    plan.octave = !strcmp(set, "octaves");
    plan.key_clicks = i % 4 >= 2;
    plan.p_air = in_tunes ? 0.25 : 0.5;
    plan.air_least_db = -30.0;
    plan.air_most_db = -10.0;
    plan.air_most_s = 0.6;
    plan.air_dip_db = 4.0;
    SrPhrase* phrase = NULL;
    if (in_tunes) {
      plan.bpm = 60.0 + 2.0 * (double)(i % 20);
      sr_phrase_read_file(abc, &choice, &phrase, NULL);
    } else {
      // Where all twelve notes are written, a semitone up and down is the same music
      plan.reference_hz = 430.0 + fmod(7.3 * (double)i, 20.0);
      plan.bpm = 60.0;
      phrase = all_notes(i);
    }
    const bool made = phrase && add_take(&sums, phrase, &plan);
    sr_phrase_del(phrase);
    if (!made) {
      return 77;
    }
  }
  const bool octave = !strcmp(set, "octaves");
  return report(&sums, set, in_tunes ? &tunes : octave ? &octaves : &notes) ? 0 : 1;
}

/// Half an hour without air, of everything else that a microphone hears.
static int
test_none(const char* const abc, const size_t offset)
{
  Sums sums = {0};
  for (size_t i = offset; sums.minutes < 30.0; ++i) {
    SrPhraseChoice choice = {0};
    TakePlan plan = plain_plan(i, &choice.tune);
    plan.octave = i % 10 == 2;
    plan.key_clicks = i % 2;
    plan.metronome_db = i % 6 == 4 ? -20.0 : 0.0;
    plan.speech = i % 6 == 1;
    // All at once, then one of the eight that need no talker, then talk with the rest
    const unsigned quiet = DISTURB_ALL & ~(unsigned)DISTURB_TALK;
    plan.disturbances = i % 3 == 0 ? quiet : i % 3 == 1 ? 1u << (i / 3 % 8) : DISTURB_ALL;
    SrPhrase* phrase = NULL;
    if (i % 2) {
      plan.rounds = 2;
      sr_phrase_read_file(abc, &choice, &phrase, NULL);
    } else {
      plan.bpm = 60.0 + (double)(i % 7) * 10.0;
      plan.reference_hz = 430.0 + fmod(7.3 * (double)i, 20.0);
      phrase = all_notes(i);
    }
    const bool made = phrase && add_take(&sums, phrase, &plan);
    sr_phrase_del(phrase);
    if (!made) {
      return 77;
    }
  }
  printf("without air: %zu takes, %.1f minutes\n", sums.takes, sums.minutes);
  const bool held = check_one("called audible", (double)sums.audible, 0.0, 0.0, true);
  return check_one("found, a minute", (double)sums.others / sums.minutes, 0.3, 0.1, true) && held
             ? 0
             : 1;
}

// Where it becomes audible -------------------------------------------------------------------

#define LONG_S 3.0
#define AIR_START_S 1.4
#define AIR_LENGTH_S 0.4
/// Over this the two ways of measuring are compared no more: all is far over the mask.
#define LOUD_DB (-16)

/// Power of samples from `low_hz` to `high_hz`, as a mean square, by a plain transform.
static double
band_power(const float* const samples, const size_t count, const double low_hz,
           const double high_hz, double* const mean_hz)
{
  double sum = 0.0;
  double place = 0.0;
  const double step_hz = SOURCE_RATE_HZ / (double)count;
  for (double hz = ceil(low_hz / step_hz) * step_hz; hz < high_hz; hz += step_hz) {
    // Goertzel (1958)
    const double turn = 2.0 * cos(2.0 * M_PI * hz / SOURCE_RATE_HZ);
    double before = 0.0;
    double now = 0.0;
    for (size_t n = 0; n < count; ++n) {
      const double next = (double)samples[n] + turn * now - before;
      before = now;
      now = next;
    }
    const double power = now * now + before * before - turn * now * before;
    sum += power;
    place += power * hz;
  }
  if (mean_hz) {
    *mean_hz = sum > 0.0 ? place / sum : 0.0;
  }
  return 2.0 * sum / ((double)count * (double)count);
}

/// Power that a masker of `x` dB masks at a distance, Bark; `offset_db` at none.
static double
masked(const double x, const double offset_db, const double dz)
{
  if (dz < -3.0 || dz >= 8.0 || x < 0.0) {
    return 0.0;
  }
  const double vf = dz < -1.0  ? 17.0 * (dz + 1.0) - (0.4 * x + 6.0)
                    : dz < 0.0 ? (0.4 * x + 6.0) * dz
                    : dz < 1.0 ? -17.0 * dz
                               : -(dz - 1.0) * (17.0 - 0.15 * x) - 17.0;
  return pow(10.0, 0.1 * (x + offset_db + vf));
}

/**
   How far a hiss is over what a tone hides, from both by themselves: the same standard, worked
   out here again from its text (ISO/IEC 11172-3:1993, D.1, steps 3 to 7), each harmonic
   a masker of its own.
*/
static double
true_over_db(const float* const tone, const float* const hiss, const size_t count,
             const double frequency_hz)
{
  double rests[SR_BANDS] = {0.0};
  // Through Hann's window: without it what leaks from the harmonics is more than a quiet reed has
  // between them
  float* const shaped = (float*)malloc(count * sizeof(float));
  for (size_t n = 0; n < count; ++n) {
    const double turn = 2.0 * M_PI * ((double)n + 0.5) / (double)count;
    shaped[n] = (float)(sqrt(2.0 / 3.0) * (1.0 - cos(turn))) * tone[n];
  }
  for (size_t m = 2; m < SR_BANDS; ++m) {
    const double low_hz = SR_BAND_EDGES_HZ[m];
    const double high_hz = SR_BAND_EDGES_HZ[m + 1];
    double free_hz = 0.0;
    for (double hz = floor(low_hz / frequency_hz) * frequency_hz; hz < high_hz;
         hz += frequency_hz) {
      const double from_hz = fmax(low_hz, hz + 0.35 * frequency_hz);
      const double to_hz = fmin(high_hz, hz + 0.65 * frequency_hz);
      if (to_hz > from_hz) {
        rests[m] += band_power(shaped, count, from_hz, to_hz, NULL);
        free_hz += to_hz - from_hz;
      }
    }
    rests[m] *= free_hz > 0.0 ? (high_hz - low_hz) / free_hz : 0.0;
  }
  free(shaped);
  double most = -300.0;
  double ratio_before = 0.0;
  for (size_t b = SR_AIR_FIRST_BAND; b < SR_AIR_LAST_BAND; ++b) {
    const double low_hz = SR_BAND_EDGES_HZ[b];
    const double high_hz = SR_BAND_EDGES_HZ[b + 1];
    const double k = sqrt(low_hz * high_hz) / 1000.0;
    const double z = 13.0 * atan(0.76 * k) + 3.5 * atan(k * k / 56.25);
    double threshold =
        pow(10.0, 0.1 * (3.64 * pow(k, -0.8) - 6.5 * exp(-0.6 * (k - 3.3) * (k - 3.3)) +
                         0.001 * k * k * k * k));
    for (double hz = frequency_hz; hz < 14000.0; hz += frequency_hz) {
      const double power = band_power(tone, count, hz - 15.0, hz + 15.0, NULL);
      const double x = 96.0 + 10.0 * log10(2.0 * power + 1e-20);
      const double at = 13.0 * atan(0.00076 * hz) + 3.5 * atan(hz * hz / 56.25e6);
      threshold += masked(x, -6.025 - 0.275 * at, z - at);
    }
    // What the reed has between its harmonics is noise, a masker for each critical band
    for (size_t m = 2; m < SR_BANDS; ++m) {
      const double middle = sqrt(SR_BAND_EDGES_HZ[m] * SR_BAND_EDGES_HZ[m + 1]);
      const double at = 13.0 * atan(0.00076 * middle) + 3.5 * atan(middle * middle / 56.25e6);
      const double x = 96.0 + 10.0 * log10(2.0 * rests[m] + 1e-20);
      threshold += masked(x, -2.025 - 0.175 * at, z - at);
    }
    const double level =
        96.0 + 10.0 * log10(2.0 * band_power(hiss, count, low_hz, high_hz, NULL) + 1e-20);
    // Of two neighbouring bands the mean, as the engine defines it
    const double ratio = pow(10.0, 0.1 * level) / threshold;
    most = b > SR_AIR_FIRST_BAND ? fmax(most, 10.0 * log10(0.5 * (ratio + ratio_before))) : most;
    ratio_before = ratio;
  }
  return most;
}

/// One note with one release at a level; what is found of it, else false. `true_db` is reported if
/// NAN.
static bool
hear_level(const ReedKind kind, const int midi, const HissColour colour, const double level_db,
           SrAirHeard* const found, double* const true_db)
{
  const size_t count = (size_t)(LONG_S * SOURCE_RATE_HZ);
  float* const tone = (float*)calloc(count, sizeof(float));
  float* const hiss = (float*)calloc(count, sizeof(float));
  ReedSource* const source = reed_source_new(kind, 5, 12.0);
  if (!source) {
    exit(77);
  }
  const double hz = 440.0 * exp2((midi - 69) / 12.0);
  Random random = {99};
  reed_source_add(source, tone, count, midi, hz, 0.5, 2.7, 0.01, 0.1, NULL);
  hiss_add(hiss, count, SOURCE_RATE_HZ, AIR_START_S, AIR_LENGTH_S, 0.1 * pow(10.0, level_db / 20.0),
           colour, HISS_EVEN, &random);
  const size_t from = (size_t)((AIR_START_S + 0.1) * SOURCE_RATE_HZ);
  // The same noise at every level, so once is enough
  if (isnan(*true_db)) {
    *true_db = true_over_db(tone + from, hiss + from, (size_t)(0.2 * SOURCE_RATE_HZ), hz);
  }
  for (size_t i = 0; i < count; ++i) {
    tone[i] += hiss[i] + (float)(1e-4 * random_normal(&random));
  }
  char abc[64] = "X:1\nT:One\nM:4/4\nL:1/4\nK:C\n";
  append_pitch(abc, midi);
  strcat(abc, "4|]\n");
  SrPhrase* phrase = NULL;
  sr_phrase_read_text(abc, strlen(abc), "one", NULL, &phrase, NULL);
  const Take take = {.samples = tone, .count = count, .rate_hz = SOURCE_RATE_HZ};
  HeardTake heard = heard_take(phrase, &take);
  bool any = false;
  for (size_t i = 0; i < heard.air_count; ++i) {
    if (heard.airs[i].start_s < AIR_START_S + AIR_LENGTH_S && heard.airs[i].end_s > AIR_START_S) {
      *found = heard.airs[i];
      any = true;
    }
  }
  heard_free(&heard);
  reed_source_del(source);
  sr_phrase_del(phrase);
  free(tone);
  free(hiss);
  return any;
}

/// Louder and louder: it becomes audible once, and where the standard says.
static int
test_levels(void)
{
  static const int pitches[] = {50, 57, 62, 67, 72, 79};
  size_t series = 0;
  size_t once = 0;
  size_t hidden = 0; // series in which it is found before it is audible
  double flip_sum = 0.0;
  double worst = 0.0;
  double apart_sum = 0.0;
  size_t apart = 0;
  for (int kind = 0; kind < 2; ++kind) {
    for (size_t p = 0; p < sizeof(pitches) / sizeof(pitches[0]); ++p) {
      const HissColour colour = (HissColour)((p + 2 * (size_t)kind) % HISS_COLOURS);
      size_t flips = 0;
      bool before = false;
      bool found_hidden = false;
      double at_flip_db = (double)NAN;
      double true_before_db = (double)NAN;
      double true_db = (double)NAN;
      for (int level = -54; level <= -10; level += 2) {
        SrAirHeard found;
        true_db += 2.0;
        const bool any = hear_level(kind ? REEDS_HARMONICA : REEDS_MADE, pitches[p], colour, level,
                                    &found, &true_db);
        const bool audible = any && sr_mask_over_db(&found) > 0.0;
        if (is_verbose()) {
          printf("    MIDI %d at %d dB: %s, over %.1f dB, truly %.1f dB\n", pitches[p], level,
                 any ? "found" : "not found", any ? sr_mask_over_db(&found) : 0.0, true_db);
        }
        if (any && level < LOUD_DB) {
          apart_sum += fabs(sr_mask_over_db(&found) - true_db);
          ++apart;
        }
        found_hidden = found_hidden || (any && !audible);
        if (audible != before) {
          ++flips;
          at_flip_db = 0.5 * (true_db + true_before_db);
        }
        before = audible;
        true_before_db = true_db;
      }
      ++series;
      once += flips == 1;
      printf("  %s MIDI %d, colour %d: %zu flip%s, at %+.1f dB over the mask%s\n",
             kind ? "recorded" : "made", pitches[p], (int)colour, flips, flips == 1 ? "" : "s",
             at_flip_db, found_hidden ? "" : ", as soon as it is found");
      if (found_hidden) {
        ++hidden;
        flip_sum += fabs(at_flip_db);
        worst = fmax(worst, fabs(at_flip_db));
      }
    }
  }
  bool held =
      check_one("flips once, %", 100.0 * (double)once / (double)series, 100.0, 100.0, false);
  held &= check_one("series with a hidden level", (double)hidden, 3.0, 6.0, false);
  held &=
      check_one("flip from 0 dB over mask, mean, dB", flip_sum / (double)hidden, 3.0, 3.0, true);
  held &= check_one("… worst", worst, 5.0, 3.0, true);
  held &=
      check_one("over mask, apart from the truth, dB", apart_sum / (double)apart, 3.0, 3.0, true);
  return held ? 0 : 1;
}

int
main(const int argc, char** const argv)
{
  if (argc < 3) {
    return 2;
  }
  if (!strcmp(argv[1], "levels")) {
    return test_levels();
  }
  const size_t offset = argc > 3 ? strtoul(argv[3], NULL, 10) : 0;
  const int status =
      !strcmp(argv[1], "none") ? test_none(argv[2], offset) : test_found(argv[2], argv[1], offset);
  return offset && status != 77 ? 0 : status;
}
