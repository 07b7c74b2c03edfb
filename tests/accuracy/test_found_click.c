// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_found_click.c
   A metronome's click in a recording made elsewhere, whatever it sounds like: found, taken as the
   beat, and how late the notes are is reported; found as well where the notes do not go with it;
   and none is found where there is none.

   usage: test_found_click there|apart|none ACCURACY.abc FIRST LAST

   With STEADYREED_TAKES set, every take has its line.
*/

#include "plans.h"
#include "random.h"
#include "room.h"

#include <steadyreed/audio.h>
#include <steadyreed/judged_take.h>

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// The player is so late, s; reported within so much, ms.
#define LATE_S 0.040
#define TOLD_WITHIN_MS 5.0
/// The tempo of a click is reported within this, clicks a minute.
#define TEMPO_WITHIN_BPM 0.2
#define SOUND_SIZE 3000u
#define TIMBRES 6u
/// Clicks softer than this, dB of the notes, are at the edge of what can be found.
#define SOFT_DB (-18.0)
/// Of fewer soft takes no share is reported.
#define LEAST_SOFT 8u
/// RMS of a take's notes against its largest sample.
#define LOUD 0.02f

/// What clicks are like: a beep, a short square wave, a wood block, a tick, a high ping, a cowbell.
/// The largest sample is 1.
static void
make_sound(const size_t timbre, const double rate_hz, float* const sound)
{
  Random random = {77};
  double state[4] = {0.0, 0.0, 0.0, 0.0};
  float most = 0.0f;
  for (size_t i = 0; i < SOUND_SIZE; ++i) {
    const double t = (double)i / rate_hz;
    const double push = i < 8 ? 1.0 : 0.0;
    double value = 0.0;
    switch (timbre) {
    case 0:
      value = sin(2.0 * M_PI * 1000.0 * t) * fmin(1.0, t / 0.001) *
              (t < 0.03 ? 1.0 : exp((0.03 - t) / 0.002));
      break;
    case 1:
      value = (sin(2.0 * M_PI * 880.0 * t) > 0.0 ? 1.0 : -1.0) * exp(-t / 0.012);
      break;
    case 2: {
      // Two resonances of wood, struck
      const double radius[2] = {0.9975, 0.996};
      const double hz[2] = {1150.0, 2900.0};
      for (size_t k = 0; k < 2; ++k) {
        const double next = push +
                            2.0 * radius[k] * cos(2.0 * M_PI * hz[k] / rate_hz) * state[2 * k] -
                            radius[k] * radius[k] * state[2 * k + 1];
        state[2 * k + 1] = state[2 * k];
        state[2 * k] = next;
        value += next / (double)(k + 1);
      }
      break;
    }
    case 3:
      value = random_normal(&random) * exp(-t / 0.004);
      break;
    case 4:
      value = sin(2.0 * M_PI * 2600.0 * t) * exp(-t / 0.010);
      break;
    default:
      value = (sin(2.0 * M_PI * 845.0 * t) + sin(2.0 * M_PI * 587.0 * t)) * exp(-t / 0.020);
      break;
    }
    sound[i] = (float)value;
    most = fmaxf(most, fabsf(sound[i]));
  }
  for (size_t i = 0; i < SOUND_SIZE; ++i) {
    sound[i] /= most;
  }
}

/// RMS of what is loud in a take.
static double
level_of(const Take* const take)
{
  double squares = 0.0;
  double count = 1.0;
  for (size_t i = 0; i < take->count; ++i) {
    if (fabsf(take->samples[i]) > LOUD) {
      squares += (double)(take->samples[i] * take->samples[i]);
      count += 1.0;
    }
  }
  return sqrt(squares / count);
}

/// Add clicks from the first that fits, through a room, every `accented`th of another sound.
static void
add_clicks(Take* const take, const double at_s, const double period_s, const size_t timbre,
           const unsigned accented, const double db, const double rt60_s)
{
  static float sounds[2][SOUND_SIZE];
  make_sound(timbre, take->rate_hz, sounds[0]);
  make_sound((timbre + 1) % TIMBRES, take->rate_hz, sounds[1]);
  float* const clicks = (float*)calloc(take->count, sizeof(float));
  // As large as a sine of so much more or less RMS than the notes
  const double peak = sqrt(2.0) * level_of(take) * pow(10.0, db / 20.0);
  unsigned number = 0;
  for (double s = fmod(at_s, period_s); s * take->rate_hz + SOUND_SIZE + 1.0 < (double)take->count;
       s += period_s) {
    const double at = s * take->rate_hz;
    const size_t whole = (size_t)at;
    const float part = (float)(at - (double)whole);
    const float* const sound = sounds[accented > 0 && number++ % accented == 0];
    for (size_t i = 0; i < SOUND_SIZE; ++i) {
      clicks[whole + i] += (1.0f - part) * (float)peak * sound[i];
      clicks[whole + i + 1] += part * (float)peak * sound[i];
    }
  }
  Random random = {5};
  if (rt60_s > 0.0) {
    room_apply(clicks, take->count, take->rate_hz, rt60_s, 8.0, &random);
  }
  for (size_t i = 0; i < take->count; ++i) {
    take->samples[i] += clicks[i];
  }
  free(clicks);
}

/// How late the notes of a round truly are against its clicks, ms.
static double
true_lateness(const SrPhrase* const phrase, const Take* const take, const double bpm)
{
  const TruthRound* const round = &take->rounds[0];
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  double sum = 0.0;
  double count = 0.0;
  for (size_t i = 0; i < take->note_count; ++i) {
    if (isfinite(round->notes[i].onset_s)) {
      const double at = sr_fraction_value(sr_phrase_note(phrase, i)->start) / pulse * 60.0 / bpm;
      sum += round->notes[i].onset_s - round->start_s - at;
      count += 1.0;
    }
  }
  return 1e3 * (LATE_S + sum / count);
}

/// Judge a take as `assess` does.
static bool
judge(const SrPhrase* const phrase, const Take* const take, SrJudgedTake* const judged)
{
  char path[] = "/tmp/steadyreed-click-XXXXXX";
  const int descriptor = mkstemp(path);
  if (descriptor < 0) {
    return false;
  }
  close(descriptor);
  SF_INFO info = {
      .samplerate = (int)take->rate_hz, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_24};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  const bool written = file && sf_writef_float(file, take->samples, (sf_count_t)take->count) ==
                                   (sf_count_t)take->count;
  if (file) {
    sf_close(file);
  }
  if (written) {
    sr_judged_take_make(phrase, path, NULL, true, judged);
  }
  remove(path);
  return written;
}

/// Whether the player plays with a click, beside one, or there is none.
typedef enum { CLICK_THERE, CLICK_APART, CLICK_NONE } Set;

/// The click's tempo against the player's where they have nothing to do with each other.
static const double apart[] = {0.63, 0.74, 0.83, 0.93, 1.07, 1.21, 1.37};
#define APARTS (sizeof(apart) / sizeof(apart[0]))

typedef struct {
  size_t takes;
  size_t found;
  size_t soft;        ///< Takes with the softest clicks
  size_t soft_missed; ///< … not found, or reported wrong
  size_t soft_wrong;  ///< … of these found, and reported wrong
  size_t soft_found;  ///< Found among the softest
  size_t other_tempo; ///< Found at a tempo that the click did not have
  size_t in_parts;    ///< Every second or third click was found
  size_t refused;
  double worst_ms;
  double seconds;
} Figures;

static void
count_take(const size_t index, const Set set, const SrPhrase* const phrase, const TakePlan* plan,
           Take* const take, Figures* const figures)
{
  const bool there = set == CLICK_THERE;
  const double clicks_bpm = plan->bpm * (set == CLICK_APART ? apart[index % APARTS] : 1.0);
  const size_t timbre = index % TIMBRES;
  const double db = -20.0 + 5.0 * (double)(index % 5);
  // Of two sounds that take turns each has half of the evidence
  const unsigned accented = index % 3 == 2 && db > SOFT_DB ? 2 : 0;
  if (set != CLICK_NONE) {
    add_clicks(take, take->rounds[0].start_s - LATE_S, 60.0 / clicks_bpm, timbre, accented, db,
               plan->rt60_s);
  }
  SrJudgedTake judged;
  memset(&judged, 0, sizeof(judged));
  if (!judge(phrase, take, &judged)) {
    return;
  }
  ++figures->takes;
  figures->seconds += (double)take->count / take->rate_hz;
  bool found = false;
  for (size_t i = 0; i < judged.remark_count; ++i) {
    const char* const said = strstr(judged.remarks[i], "click in the recording, ");
    found = found || said;
    if (set == CLICK_APART && said) {
      const double reported_bpm = strtod(strpbrk(said, "0123456789"), NULL);
      // Of two sounds, or of soft ones, every second or third may be what was found
      const double parts = fmin(3.0, fmax(1.0, round(clicks_bpm / reported_bpm)));
      const bool other = fabs(reported_bpm - clicks_bpm / parts) > TEMPO_WITHIN_BPM;
      figures->in_parts += parts > 1.0;
      figures->other_tempo += other;
      if (other) {
        printf("take %zu: told %.1f clicks a minute, true %.1f\n", index, reported_bpm, clicks_bpm);
      }
    }
  }
  figures->found += found;
  figures->soft += db < SOFT_DB;
  figures->soft_found += found && db < SOFT_DB;
  figures->refused += !judged.assessment;
  double off_ms = (double)NAN;
  if (there && judged.assessment && judged.assessment->round_count > 0) {
    off_ms =
        judged.assessment->rounds[0].pulse.mean_offset_ms - true_lateness(phrase, take, plan->bpm);
    // What is not reported is as wrong as can be
    const double error_ms = isfinite(off_ms) ? fabs(off_ms) : 1e3;
    if (db < SOFT_DB) {
      figures->soft_missed += error_ms > TOLD_WITHIN_MS;
      figures->soft_wrong += isfinite(off_ms) && error_ms > TOLD_WITHIN_MS;
    } else {
      figures->worst_ms = fmax(figures->worst_ms, error_ms);
    }
  }
  if (getenv("STEADYREED_TAKES") || (there && !(fabs(off_ms) <= TOLD_WITHIN_MS)) ||
      found != (set != CLICK_NONE)) {
    printf("take %zu: kind %d, %.0f bpm, rt %.2f, jitter %.0f, timbre %zu%s, %.0f dB: %s, lateness "
           "off by %.1f ms, %.1f s\n",
           index, (int)plan->kind, plan->bpm, plan->rt60_s, plan->jitter_ms, timbre,
           accented ? " accented" : "", db, found ? "found" : "none", off_ms,
           (double)take->count / take->rate_hz);
  }
  sr_judged_take_clear(&judged);
}

/// A take of the accuracy test's kind; with a click, of a player who keeps to one.
static TakePlan
plan_for(const size_t index, const Set set, int* const tune)
{
  TakePlan plan = plan_of(index / 2, index % 2 ? TAKES_RECORDED : TAKES_MADE, tune);
  plan.metronome_db = 0.0;
  if (set != CLICK_NONE) {
    plan.rounds = 3;
    plan.pause_s = 1.0;
    plan.speech = false;
    plan.drift_percent = 0.0;
    plan.lilt = 0.0;
    plan.jitter_ms *= 0.15;
    plan.rt60_s = 0.15 + 0.3 * (plan.rt60_s - 0.2) / 0.6;
    plan.false_start = false;
    plan.stop_early = false;
    plan.hesitate = false;
  } else {
    plan.disturbances = index % 4 == 3 ? 0 : DISTURB_ALL;
    // The worst that a player can do: as even as a machine
    plan.jitter_ms = index % 5 == 4 ? 0.0 : plan.jitter_ms;
    plan.lilt = index % 5 == 4 ? 0.0 : plan.lilt;
    plan.drift_percent = index % 5 == 4 ? 0.0 : plan.drift_percent;
  }
  return plan;
}

/// Whether a third at most of the soft takes were missed; of a handful no share can be reported.
static bool
are_few(const size_t missed, const size_t soft)
{
  return soft < LEAST_SOFT || 3 * missed <= soft;
}

int
main(const int argc, char** const argv)
{
  if (argc < 5) {
    return 2;
  }
  const Set set = !strcmp(argv[1], "there")   ? CLICK_THERE
                  : !strcmp(argv[1], "apart") ? CLICK_APART
                                              : CLICK_NONE;
  Figures figures = {0};
  for (size_t i = strtoul(argv[3], NULL, 10); i <= strtoul(argv[4], NULL, 10); ++i) {
    int tune = 0;
    const TakePlan plan = plan_for(i, set, &tune);
    SrPhrase* phrase = NULL;
    Take* take = NULL;
    const int trouble = take_of_plan(argv[2], tune, &plan, &phrase, &take);
    if (trouble) {
      return trouble;
    }
    count_take(i, set, phrase, &plan, take, &figures);
    take_del(take);
    sr_phrase_del(phrase);
  }
  printf("%zu takes, %.1f minutes: a click found in %zu, %zu refused\n", figures.takes,
         figures.seconds / 60.0, figures.found, figures.refused);
  if (figures.refused > 0 || figures.takes == 0) {
    printf("  a take that was refused tells nothing\n");
    return 1;
  }
  if (set == CLICK_APART) {
    const size_t loud = figures.takes - figures.soft;
    const size_t loud_found = figures.found - figures.soft_found;
    printf("  not found from -15 dB on  %zu of %zu, at another tempo %zu, must: 0\n",
           loud - loud_found, loud, figures.other_tempo);
    printf("  not found at -20 dB  %zu of %zu, limit: a third, aim: 0\n",
           figures.soft - figures.soft_found, figures.soft);
    printf("  told as every second or third of its clicks  %zu, aim: 0\n", figures.in_parts);
    return are_few(figures.soft - figures.soft_found, figures.soft) && loud == loud_found &&
                   figures.other_tempo == 0
               ? 0
               : 1;
  }
  if (set == CLICK_NONE) {
    printf("  found where there is none  %8zu  must: 0\n", figures.found);
    return figures.found == 0 ? 0 : 1;
  }
  printf("  from -15 dB on: lateness, worst error, ms  %8.2f  must: %g\n", figures.worst_ms,
         TOLD_WITHIN_MS);
  printf("  at -20 dB: not told within that  %zu of %zu, limit: a third, aim: 0; told wrong %zu\n",
         figures.soft_missed, figures.soft, figures.soft_wrong);
  return figures.worst_ms <= TOLD_WITHIN_MS && are_few(figures.soft_missed, figures.soft) ? 0 : 1;
}
