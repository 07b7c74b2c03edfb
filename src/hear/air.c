// SPDX-License-Identifier: GPL-3.0-or-later

#include "air.h"

#include "between.h"
#include "lanes.h"
#include "own_noise.h"

#include <math.h>
#include <stdint.h>

/// A note has sounded for so long before a window, s.
#define SETTLE_S 0.045
/// Windows to the length of one.
#define OVERLAP 3u
/// Samples are kept for so long, s.
#define KEPT_S 0.5
/// Sounds are looked at every so many of their frames.
#define STEP INT64_C(4)
/// A note has this share of the loudest in its window, and keeps this share of its own level;
/// what has more, and does not keep it, is one that begins or ends.
#define NOTE_SHARE 0.3f
#define STEADY_SHARE 0.45f
#define GONE_SHARE 0.15f
/// … or changes by this share of itself from one look to the next.
#define STEP_SHARE 0.2f
#define CHANGE_SHARE 0.45f
/// What is under this share of the loudest of late is no note.
#define GAP_SHARE 0.10f
/// What is over this share of it, or was in the last so many frames, has harmonics.
#define TAIL_SHARE 0.15f
#define TAIL_FRAMES 175
/// What leaps by this share of the loudest from one look to the next begins or ends, if from so
/// many frames before to so many behind it comes to this share.
#define LEAP_SHARE 0.08f
#define BEFORE_FRAMES 75
#define BEHIND_FRAMES 30
#define NOTE_LEVEL 0.5f
/// Looks that are averaged at each end.
#define ENDS 3
/// How much later a window is measured, s, so that what begins is known.
#define LATER_S 0.07
/// Pitches so many semitones from a stronger one are its shadows.
#define NEAR 2u
/// Groups of critical bands, and how far over what is expected two of three must be, dB, and the
/// second against the first.
#define GROUPS 3u
#define LEAST_EXCESS_DB 2.2f
#define ALIKE 0.13f
/// Least noise added against the note, as power.
#define LEAST_LEVEL 2.5e-4
/// … and least of a whole release.
#define LEAST_MEAN 3.2e-4
/// Noise this peaky has other tones in it: talk, a creak.
#define PEAKY 2.5
/// Air between notes is told for so long after one, s.
#define MOST_GAP_S 1.0
/// What else sounds spoils this much before and behind it, s.
#define SPOILT_S 0.17
/// A release goes on over a stretch that cannot be measured for so long, s.
#define BRIDGE_S 0.30
/// … and over so many windows that hold nothing.
#define MOST_MISSED 3u
/// What is seen in one window only must be so strong against the note.
#define LEAST_ALONE 1e-2
/// Other tones than the reeds' spoil a stretch from this power on, against the note.
#define LEAST_OTHER 4e-4
/// It is over when this share of the most it had is left, or, before notes change, that,
#define DEAD 0.12
#define DYING 0.3
/// and another begins where there is so many times as much again.
#define ANEW 1.6
/// What is added from 200 to 500 Hz spoils it from this power on, against the note, and if it is so
/// many times as dense as from 1 to 2.3 kHz.
#define LEAST_LOW 2e-4
#define LOW_OVER_MIDDLE 8.0
/// … and grows by so much from one window to the next.
#define RISING 2.0
/// Windows that show it cover this share of it.
#define LEAST_COVER 0.35
/// After a stretch that cannot be measured, so many times as much or as little is another.
#define UNLIKE 3.0
/// What a note was before and behind a release is looked for so near to it, s.
#define NEAR_S 0.13
/// It takes at least and at most so long, s.
#define LEAST_S 0.045
#define MOST_S 1.6
/// Noise that is smooth has a kurtosis of 3, what crackles more.
#define CRACKLING 3.15
/// Fewer windows than this tell little: then noise must be smoother, and this many times what is
/// expected; else this many.
#define ENOUGH 3u
#define BRIEF_CRACKLING 3.12
#define BRIEF_EVIDENCE 7.0
#define GAP_EVIDENCE 4.0
#define LEAST_EVIDENCE 2.5
#define MANY 6u
#define MANY_EVIDENCE 1.6
/// Air has this share over 4.4 kHz.
#define LEAST_HIGH 0.065
/// Its course is kept in steps of this, s.
#define BLOCK_S 0.008
#define BLOCKS 256u
/// It begins and ends at this share of its usual power.
#define EDGE_SHARE 0.35f
/// Its course may stray from its mean by this share of it.
#define ROUGH 0.57f
/// Windows remembered, for what a note did before.
#define WINDOWS 64u
/// Releases waiting.
#define QUEUE 32u

static const size_t GROUP_EDGES[GROUPS + 1] = {9, 14, 18, 22};

/// One window measured.
typedef struct {
  double time_s;
  int64_t frame; ///< Of the sound finder, at its centre
  bool note;     ///< A note sounds in it, else nothing does
  size_t pitch;  ///< The lowest of its notes
  double power;
  double frequency_hz;
} Window;

/// A release that may still go on.
typedef struct {
  bool open;
  double first_s; ///< Block 0 begins here
  double last_flagged_s;
  unsigned missed; ///< Windows in a row that were measured and had nothing
  bool spoilt;
  size_t windows;
  size_t pitch_windows[SR_PITCHES + 1]; ///< By pitch; the last: between notes
  double reference;                     ///< Sum of the notes' powers
  double most;                          ///< Most noise over what is expected, of its windows
  double last;                          ///< … of the last one
  float hiss[SR_BANDS];                 ///< Sums over windows
  float noise[SR_BANDS];
  float tone[SR_BANDS];
  float place[SR_BANDS]; ///< Weighted by `tone`
  double squares;        ///< Of its samples, Hann's window taken off
  double peaked;         ///< … times the kurtosis of the piece they are in
  float course[BLOCKS];  ///< Power over what is expected, weighted
  float weight[BLOCKS];
} Run;

struct SrAirFinderImpl {
  double rate_hz;
  const SrProfile* profile;
  SrBetween* between;
  SrOwnNoise* own;
  size_t window;
  size_t hop;
  float* samples; ///< A ring
  size_t size;
  uint64_t pushed;
  uint64_t next;     ///< First sample of the next window
  float* linear;     ///< One window
  double last_power; ///< Of the last note measured
  double last_power_s;
  double spoilt_until_s;
  double last_low; ///< What the last window had low down
  bool low_gap;    ///< The last window, between notes, had something low
  double dying;    ///< What is left of the last release; what does not rise over it is no new one
  Window windows[WINDOWS];
  size_t window_count;
  Run run;
  SrAirHeard queue[QUEUE];
  size_t queued;
  bool finished;
};

SrAirFinder*
sr_air_finder_new(const double rate_hz, const SrProfile* const profile)
{
  SrAirFinder* const a = (SrAirFinder*)calloc(1, sizeof(SrAirFinder));
  if (!a) {
    return NULL;
  }
  a->rate_hz = rate_hz;
  a->profile = profile;
  a->between = sr_between_new(rate_hz);
  a->own = sr_own_noise_new();
  if (a->between && a->own) {
    a->window = sr_between_size(a->between);
    a->hop = a->window / OVERLAP;
    a->size = (size_t)(KEPT_S * rate_hz);
    a->samples = sr_lanes_new(a->size);
    a->linear = sr_lanes_new(a->window);
  }
  if (!a->samples || !a->linear) {
    sr_air_finder_del(a);
    return NULL;
  }
  a->spoilt_until_s = -1.0;
  a->last_power_s = -10.0;
  return a;
}

void
sr_air_finder_del(SrAirFinder* const a)
{
  if (a) {
    sr_between_del(a->between);
    sr_own_noise_del(a->own);
    free(a->samples);
    free(a->linear);
    free(a);
  }
}

void
sr_air_finder_push(SrAirFinder* const a, const float* const samples, const size_t count)
{
  for (size_t done = 0; done < count;) {
    const size_t at = (size_t)(a->pushed % a->size);
    const size_t room = a->size - at;
    const size_t step = count - done < room ? count - done : room;
    memcpy(a->samples + at, samples + done, step * sizeof(float));
    a->pushed += step;
    done += step;
  }
}

/// Add a pitch whose harmonics are in the window, and its octave below where it is doubled.
static void
add_pitch(SrBetweenPitches* const pitches, const SrSoundFinder* const sounds, const size_t p,
          const int64_t frame)
{
  if (pitches->count < SR_BETWEEN_PITCHES) {
    pitches->pitch[pitches->count++] = p;
  }
  if (p >= 12 && sr_sound_finder_octave_below(sounds, p, frame) &&
      pitches->count < SR_BETWEEN_PITCHES) {
    pitches->pitch[pitches->count++] = p - 12;
  }
}

/// Add what dies away, or did a moment ago.
static void
add_tails(SrBetweenPitches* const pitches, const SrSoundFinder* const sounds, const int64_t first,
          const int64_t last, const float loud)
{
  const size_t mains = pitches->count;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    bool main = false;
    for (size_t i = 0; i < mains; ++i) {
      main = main || pitches->pitch[i] == p;
    }
    float most = 0.0f;
    for (int64_t i = first - TAIL_FRAMES; i <= last && !main; i += 2 * STEP) {
      const float amount = sr_sound_finder_amount(sounds, p, i);
      most = amount > most ? amount : most;
    }
    if (most > TAIL_SHARE * loud) {
      add_pitch(pitches, sounds, p, last);
    }
  }
}

typedef enum { UNSTEADY, NOTE, GAP } Kind;

/// Whether a pitch that leaps is a note, not what a hiss happens to look like: about the window it
/// is as strong as one, and in the window it does not last.
static bool
comes_or_goes(const SrSoundFinder* const sounds, const size_t p, const int64_t first,
              const int64_t last, const float top, const float least, const float leap)
{
  float most = 0.0f;
  for (int64_t i = first - BEFORE_FRAMES; i <= last + BEHIND_FRAMES; i += STEP) {
    most = fmaxf(most, sr_sound_finder_amount(sounds, p, i));
  }
  float at_first = 0.0f;
  float at_last = 0.0f;
  for (int64_t i = 0; i < ENDS; ++i) {
    at_first += sr_sound_finder_amount(sounds, p, first + i * STEP) / (float)ENDS;
    at_last += sr_sound_finder_amount(sounds, p, last - i * STEP) / (float)ENDS;
  }
  // Under air a note may seem to sink far, but slowly, and it comes back
  const float end = fminf(at_first, at_last);
  return most > NOTE_LEVEL * top &&
         (end < GONE_SHARE * most || (least < STEADY_SHARE * most && leap > STEP_SHARE * most));
}

/// Whether a stronger pitch is so near that short windows cannot part the two, low down above all:
/// then this one is its shadow.
static bool
is_shadow(const float most[SR_PITCHES], const size_t p)
{
  for (size_t q = p > NEAR ? p - NEAR : 0; q <= p + NEAR && q < SR_PITCHES; ++q) {
    if (q != p && (most[q] > most[p] || (!(most[q] < most[p]) && q < p))) {
      return true;
    }
  }
  return false;
}

/// What sounds from one frame to another, and whether it is steady.
static Kind
look_at_sounds(const SrSoundFinder* const sounds, const int64_t first, const int64_t last,
               SrBetweenPitches* const pitches)
{
  float least[SR_PITCHES];
  float most[SR_PITCHES];
  float leap[SR_PITCHES];
  float top = 0.0f;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    float before = sr_sound_finder_amount(sounds, p, first);
    least[p] = most[p] = before;
    leap[p] = 0.0f;
    for (int64_t i = first + STEP; i <= last; i += STEP) {
      const float amount = sr_sound_finder_amount(sounds, p, i);
      // No calls of fminf() and fmaxf() here: a thousand of them a window are felt
      const float step = amount > before ? amount - before : before - amount;
      least[p] = amount < least[p] ? amount : least[p];
      most[p] = amount > most[p] ? amount : most[p];
      leap[p] = step > leap[p] ? step : leap[p];
      before = amount;
    }
    top = most[p] > top ? most[p] : top;
  }
  const float loud = sr_sound_finder_loudness(sounds);
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (leap[p] > LEAP_SHARE * fmaxf(top, GAP_SHARE * loud) &&
        comes_or_goes(sounds, p, first, last, fmaxf(top, 0.5f * loud), least[p], leap[p])) {
      return UNSTEADY;
    }
  }
  pitches->count = 0;
  pitches->main_count = 0;
  if (top < GAP_SHARE * loud) {
    add_tails(pitches, sounds, first, last, loud);
    return GAP;
  }
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (most[p] > NOTE_SHARE * top && least[p] > GONE_SHARE * most[p]) {
      if (is_shadow(most, p)) {
        continue;
      }
      add_pitch(pitches, sounds, p, last);
    } else if (most[p] > CHANGE_SHARE * top) {
      return UNSTEADY;
    }
  }
  if (pitches->count == 0) {
    return UNSTEADY;
  }
  pitches->main_count = pitches->count;
  add_tails(pitches, sounds, first, last, loud);
  return NOTE;
}

static const float*
window_samples(SrAirFinder* const a)
{
  const size_t at = (size_t)(a->next % a->size);
  const size_t first = a->size - at < a->window ? a->size - at : a->window;
  memcpy(a->linear, a->samples + at, first * sizeof(float));
  memcpy(a->linear + first, a->samples, (a->window - first) * sizeof(float));
  return a->linear;
}

/// Whether at least two groups of bands hold more than is expected, and alike: what is dense in one
/// of them only is a tone.
static bool
is_broad(const float* const noise, const float* const expected)
{
  const float least = powf(10.0f, LEAST_EXCESS_DB / 10.0f);
  float first = 0.0f;
  float second = 0.0f;
  for (size_t g = 0; g < GROUPS; ++g) {
    float heard = 0.0f;
    float usual = 0.0f;
    for (size_t b = GROUP_EDGES[g]; b < GROUP_EDGES[g + 1]; ++b) {
      heard += noise[b];
      usual += expected[b];
    }
    const float ratio = heard / (usual + 1e-20f);
    second = fmaxf(second, fminf(ratio, first));
    first = fmaxf(first, ratio);
  }
  return second > least && second > ALIKE * first;
}

/// Sum over the bands in which air is told: 0.5 to 10 kHz.
static double
told(const float* const bands)
{
  double sum = 0.0;
  for (size_t b = SR_AIR_FIRST_BAND; b < SR_AIR_LAST_BAND; ++b) {
    sum += (double)bands[b];
  }
  // Of the last critical band only what is under 10 kHz
  return sum + 0.2 * (double)bands[SR_AIR_LAST_BAND];
}

static void
open_run(SrAirFinder* const a, const double time_s)
{
  memset(&a->run, 0, sizeof(a->run));
  a->run.open = true;
  a->run.first_s = time_s - 0.5 * SR_BETWEEN_WINDOW_S;
  a->run.spoilt = time_s < a->spoilt_until_s;
}

/// Add the course of the noise in a window.
static void
add_course(SrAirFinder* const a, const double start_s, const double noise, const double expected)
{
  Run* const run = &a->run;
  const float* const rest = sr_between_rest(a->between);
  float all = 0.0f;
  float shape = 0.0f;
  for (size_t n = 0; n < a->window; ++n) {
    const float w = sr_between_window(a->between, n);
    all += rest[n] * rest[n];
    shape += w * w;
  }
  if (!(all > 0.0f)) {
    return;
  }
  const float scale = (float)noise * shape / all;
  const float piece = (float)(BLOCK_S * a->rate_hz);
  float squares = 0.0f;
  float fourths = 0.0f;
  float samples = 0.0f;
  // Hann's window tells little at its ends
  for (size_t n = a->window / 5; n < a->window - a->window / 5; ++n) {
    const double at = (start_s + (double)n / a->rate_hz - run->first_s) / BLOCK_S;
    if (at >= 0.0 && at < (double)BLOCKS) {
      const float w = sr_between_window(a->between, n);
      run->course[(size_t)at] += scale * rest[n] * rest[n] - w * w * (float)expected;
      run->weight[(size_t)at] += w * w;
      const float x = rest[n] * rest[n] / (w * w);
      squares += x;
      fourths += x * x;
      samples += 1.0f;
      if (samples >= piece) {
        // Weighted by its power, so that what is loud tells most
        run->peaked += (double)(fourths * piece / (squares + 1e-20f));
        run->squares += (double)squares;
        squares = 0.0f;
        fourths = 0.0f;
        samples = 0.0f;
      }
    }
  }
}

static void
add_to_run(SrAirFinder* const a, const Window* const window, const SrBetweenMeasure* const measure,
           const float* const expected)
{
  Run* const run = &a->run;
  ++run->windows;
  ++run->pitch_windows[window->note ? window->pitch : SR_PITCHES];
  run->reference += window->note ? window->power : a->last_power;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    run->hiss[b] += measure->noise[b] - expected[b];
    run->noise[b] += expected[b];
    run->tone[b] += measure->tone[b];
    run->place[b] += measure->tone[b] * measure->place[b];
  }
  run->last_flagged_s = window->time_s;
  run->last = told(measure->noise) - told(expected);
  run->most = fmax(run->most, run->last);
  run->missed = 0;
  const double start_s = (double)a->next / a->rate_hz;
  add_course(a, start_s, told(measure->noise), told(expected));
}

static float
course_at(const Run* const run, const size_t block)
{
  return run->weight[block] > 0.0f ? run->course[block] / run->weight[block] : -1.0f;
}

static int
by_value(const void* const a, const void* const b)
{
  const float x = *(const float*)a;
  const float y = *(const float*)b;
  return (x > y) - (x < y);
}

/// Where a run begins and ends, its mean power and how rough its course is; false for none.
static bool
measure_course(const Run* const run, double* const start_s, double* const end_s,
               double* const power, double* const rough)
{
  float smooth[BLOCKS];
  float sorted[BLOCKS];
  size_t place[BLOCKS];
  size_t count = 0;
  for (size_t i = 0; i < BLOCKS; ++i) {
    if (run->weight[i] > 0.0f) {
      float sum = 0.0f;
      float blocks = 0.0f;
      for (size_t j = i > 0 ? i - 1 : 0; j <= i + 1 && j < BLOCKS; ++j) {
        sum += run->weight[j] > 0.0f ? course_at(run, j) : 0.0f;
        blocks += run->weight[j] > 0.0f ? 1.0f : 0.0f;
      }
      smooth[count] = sum / blocks;
      place[count] = i;
      sorted[count] = smooth[count];
      ++count;
    }
  }
  if (count < 3) {
    return false;
  }
  qsort(sorted, count, sizeof(*sorted), by_value);
  const float edge = EDGE_SHARE * sorted[count - 1 - count / 5];
  size_t first = 0;
  size_t last = count - 1;
  while (first < last && smooth[first] < edge) {
    ++first;
  }
  while (last > first && smooth[last] < edge) {
    --last;
  }
  *start_s = run->first_s + BLOCK_S * (double)place[first];
  *end_s = run->first_s + BLOCK_S * (double)(place[last] + 1);
  double sum = 0.0;
  double squares = 0.0;
  for (size_t i = first; i <= last; ++i) {
    sum += (double)smooth[i];
    squares += (double)(smooth[i] * smooth[i]);
  }
  const double mean = sum / (double)(last - first + 1);
  *power = mean;
  *rough = mean > 0.0 ? sqrt(fmax(0.0, squares / (double)(last - first + 1) - mean * mean)) / mean
                      : (double)INFINITY;
  return mean > 0.0;
}

/// How far the note fell and bent from `start_s` to `end_s`, against just before and behind.
static void
measure_note(const SrAirFinder* const a, SrAirHeard* const heard, const size_t pitch)
{
  heard->dip_db = (double)NAN;
  heard->bend_cents = (double)NAN;
  if (pitch >= SR_PITCHES) {
    return;
  }
  double outside = 0.0;
  double outside_count = 0.0;
  double inside = INFINITY;
  const size_t kept = a->window_count < WINDOWS ? a->window_count : WINDOWS;
  double outside_hz = 0.0;
  double outside_hz_count = 0.0;
  double bend = 0.0;
  bool bent = false;
  for (size_t i = 0; i < kept; ++i) {
    const Window* const w = &a->windows[i];
    if (!w->note || w->pitch != pitch || !isfinite(w->frequency_hz)) {
      continue;
    }
    const bool before = w->time_s < heard->start_s - 0.25 * SR_BETWEEN_WINDOW_S;
    const bool behind = w->time_s > heard->end_s + 0.25 * SR_BETWEEN_WINDOW_S;
    const double apart = fmax(heard->start_s - w->time_s, w->time_s - heard->end_s);
    if ((before || behind) && apart < 0.4) {
      outside_hz += w->frequency_hz;
      outside_hz_count += 1.0;
      // A reed may be louder when it has just spoken: only what is near
      const double near = apart < NEAR_S ? 1.0 : 0.0;
      outside += near * w->power;
      outside_count += near;
    }
  }
  for (size_t i = 0; i < kept && outside_hz_count > 0.0; ++i) {
    const Window* const w = &a->windows[i];
    if (w->note && w->pitch == pitch && isfinite(w->frequency_hz) && w->time_s >= heard->start_s &&
        w->time_s <= heard->end_s) {
      const double cents = 1200.0 * log2(w->frequency_hz / (outside_hz / outside_hz_count));
      bend = !bent || fabs(cents) > fabs(bend) ? cents : bend;
      bent = true;
      inside = fmin(inside, w->power);
    }
  }
  heard->bend_cents = bent ? bend : (double)NAN;
  if (outside_count > 0.0 && isfinite(inside)) {
    heard->dip_db = fmax(0.0, 10.0 * log10(outside / outside_count / inside));
  }
}

/// How far a run is over what is expected in all its windows together, as a ratio: in the second
/// best of the groups of bands.
static double
evidence(const Run* const run)
{
  double first = 0.0;
  double second = 0.0;
  for (size_t g = 0; g < GROUPS; ++g) {
    double hiss = 0.0;
    double noise = 1e-20;
    for (size_t b = GROUP_EDGES[g]; b < GROUP_EDGES[g + 1]; ++b) {
      hiss += (double)run->hiss[b];
      noise += (double)run->noise[b];
    }
    const double ratio = hiss / noise;
    second = fmax(second, fmin(ratio, first));
    first = fmax(first, ratio);
  }
  return second;
}

static void
close_run(SrAirFinder* const a)
{
  Run* const run = &a->run;
  run->open = false;
  double start_s = 0.0;
  double end_s = 0.0;
  double power = 0.0;
  double rough = 0.0;
  if (run->windows == 0 || !measure_course(run, &start_s, &end_s, &power, &rough)) {
    return;
  }
  const double length_s = end_s - start_s;
  const double hop_s = (double)a->hop / a->rate_hz;
  if ((double)run->windows * hop_s < LEAST_COVER * length_s) {
    return;
  }
  const bool gap = 2 * run->pitch_windows[SR_PITCHES] > run->windows;
  if (power * (double)run->windows < LEAST_MEAN * run->reference || (gap && run->windows < 3)) {
    return;
  }
  if (run->windows == 1 && power < LEAST_ALONE * run->reference) {
    return;
  }
  const bool brief = run->windows < ENOUGH;
  const double usual = run->windows < MANY ? LEAST_EVIDENCE : MANY_EVIDENCE;
  const double least = brief ? BRIEF_EVIDENCE : gap ? GAP_EVIDENCE : usual;
  if (evidence(run) < least) {
    return;
  }
  const double kurtosis = run->peaked / (run->squares + 1e-20);
  float high = 0.0f;
  for (size_t b = GROUP_EDGES[GROUPS - 1]; b < GROUP_EDGES[GROUPS]; ++b) {
    high += run->hiss[b];
  }
  if (kurtosis > (brief ? BRIEF_CRACKLING : CRACKLING) ||
      (double)high < LEAST_HIGH * told(run->hiss)) {
    return;
  }
  if (run->spoilt || length_s < LEAST_S || length_s > MOST_S || rough > (double)ROUGH ||
      a->queued == QUEUE) {
    return;
  }
  size_t pitch = 0;
  for (size_t p = 1; p <= SR_PITCHES; ++p) {
    pitch = run->pitch_windows[p] > run->pitch_windows[pitch] ? p : pitch;
  }
  const double sum = told(run->hiss) / (double)run->windows;
  if (!(sum > 0.0)) {
    return;
  }
  SrAirHeard* const heard = &a->queue[a->queued++];
  memset(heard, 0, sizeof(*heard));
  heard->start_s = start_s;
  heard->end_s = end_s;
  heard->midi = pitch < SR_PITCHES ? (int)pitch + SR_LOWEST_MIDI : -1;
  heard->note_power = run->reference / (double)run->windows;
  heard->hiss_power = power;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    const double windows = (double)run->windows;
    heard->hiss[b] = fmax(0.0, (double)run->hiss[b]) / windows * power / sum;
    heard->noise[b] = (double)run->noise[b] / windows;
    heard->tone[b] = (double)run->tone[b] / windows;
    heard->place_hz[b] = run->tone[b] > 0.0f ? (double)(run->place[b] / run->tone[b]) : 0.0;
  }
  measure_note(a, heard, pitch);
}

/**
   What is added low down, where it is far denser than higher up: a voice, a thump, a card
   that bends; air is not like that.

   @return Its power, 0 if it is not so.
*/
static double
low_power(const float* const noise, const float* const expected, const double reference)
{
  double low = 0.0;
  double middle = 0.0;
  for (size_t b = 2; b < SR_AIR_FIRST_BAND; ++b) {
    low += (double)fmaxf(0.0f, noise[b] - 2.0f * expected[b]);
  }
  for (size_t b = GROUP_EDGES[0]; b < GROUP_EDGES[1]; ++b) {
    middle += (double)fmaxf(0.0f, noise[b] - expected[b]);
  }
  const double low_hz = SR_BAND_EDGES_HZ[SR_AIR_FIRST_BAND] - SR_BAND_EDGES_HZ[2];
  const double middle_hz = SR_BAND_EDGES_HZ[GROUP_EDGES[1]] - SR_BAND_EDGES_HZ[GROUP_EDGES[0]];
  const bool is_low =
      low > LEAST_LOW * reference && low / low_hz > LOW_OVER_MIDDLE * middle / middle_hz;
  return is_low ? low : 0.0;
}

/// Nothing about this moment is air.
static void
spoil(SrAirFinder* const a, const double time_s)
{
  a->spoilt_until_s = time_s + SPOILT_S;
  a->run.spoilt = a->run.spoilt || (a->run.open && time_s - a->run.last_flagged_s < SPOILT_S);
  while (a->queued > 0 && a->queue[a->queued - 1].end_s > time_s - SPOILT_S) {
    --a->queued;
  }
}

/// Whether noise after a stretch that could not be measured is too unlike a run to go on from it.
static bool
is_another(const Run* const run, const double hiss, const double time_s)
{
  return time_s - run->last_flagged_s > 0.5 * SR_BETWEEN_WINDOW_S &&
         (hiss > UNLIKE * run->most || UNLIKE * hiss < run->most);
}

static void
do_window(SrAirFinder* const a, const SrSoundFinder* const sounds)
{
  const double frames_s = sr_sound_finder_frame_s(sounds);
  const double start_s = (double)a->next / a->rate_hz;
  const double length_s = (double)a->window / a->rate_hz;
  const int64_t first = (int64_t)((start_s - SETTLE_S) / frames_s);
  const int64_t last = (int64_t)((start_s + length_s) / frames_s);
  const double time_s = start_s + 0.5 * length_s;
  SrBetweenPitches pitches;
  SrBetweenMeasure measure;
  const Kind kind = look_at_sounds(sounds, first, last, &pitches);
  const bool measured = kind != UNSTEADY && sr_between_measure(a->between, window_samples(a),
                                                               a->profile, &pitches, &measure);
  if (measured) {
    Window* const window = &a->windows[a->window_count++ % WINDOWS];
    *window = (Window){.time_s = time_s,
                       .frame = (first + last) / 2,
                       .note = kind == NOTE,
                       .pitch = kind == NOTE ? pitches.pitch[0] : 0,
                       .power = measure.power,
                       .frequency_hz = measure.frequency_hz};
    if (window->note) {
      a->last_power = measure.power;
      a->last_power_s = time_s;
    }
    const double reference = window->note ? measure.power : a->last_power;
    float expected[SR_BANDS];
    sr_own_noise_expect(a->own, window->note ? window->pitch : SR_PITCHES, measure.power, expected);
    // What dies away only sinks; a voice comes up
    const double low = low_power(measure.noise, expected, reference);
    if ((measure.peak_ratio > PEAKY && measure.other_power > LEAST_OTHER * reference) ||
        (window->note && low > RISING * a->last_low)) {
      spoil(a, time_s);
    }
    a->last_low = fmax(low, LEAST_LOW * reference);
    // Just before a note it may be its first trace
    if (kind == GAP && a->low_gap) {
      spoil(a, time_s);
    }
    a->low_gap = kind == GAP && low > 0.0;
    const bool over = is_broad(measure.noise, expected) &&
                      told(measure.noise) - told(expected) > LEAST_LEVEL * reference &&
                      (window->note ||
                       (time_s - a->last_power_s < MOST_GAP_S && sr_own_noise_knows_floor(a->own)));
    const double hiss = told(measure.noise) - told(expected);
    if (over && a->run.open && is_another(&a->run, hiss, time_s)) {
      close_run(a);
    }
    if (over && !a->run.open && hiss > ANEW * a->dying) {
      open_run(a, time_s);
    }
    a->dying = over ? fmin(a->dying, hiss) : 0.0;
    if (over && a->run.open) {
      add_to_run(a, window, &measure, expected);
    } else {
      ++a->run.missed;
    }
    sr_own_noise_learn(a->own, window->note ? window->pitch : SR_PITCHES, measure.power,
                       measure.noise, over);
  }
  // Dying away in the room, or before what cannot be measured
  const bool dies = a->run.last < (measured ? DEAD : DYING) * a->run.most;
  const bool over = a->run.open && (dies || time_s - a->run.last_flagged_s > BRIDGE_S ||
                                    a->run.missed >= MOST_MISSED || time_s - a->run.first_s > 1.9);
  if (!measured) {
    a->low_gap = false;
    a->last_low = (double)INFINITY;
  }
  if (over) {
    a->dying = a->run.missed ? 0.0 : a->run.last;
    close_run(a);
  }
}

void
sr_air_finder_do(SrAirFinder* const a, const SrSoundFinder* const sounds)
{
  const double heard_s = sr_sound_finder_frame_s(sounds) * (double)sr_sound_finder_frames(sounds);
  while (a->next + a->window <= a->pushed &&
         (double)(a->next + a->window) / a->rate_hz < heard_s - LATER_S) {
    do_window(a, sounds);
    a->next += a->hop;
  }
}

void
sr_air_finder_finish(SrAirFinder* const a, const SrSoundFinder* const sounds)
{
  sr_air_finder_do(a, sounds);
  a->finished = true;
  if (a->run.open) {
    close_run(a);
  }
}

bool
sr_air_finder_pull(SrAirFinder* const a, SrAirHeard* const heard)
{
  // Not before what is behind it is known
  const double done_s = (double)a->next / a->rate_hz;
  if (a->queued == 0 || (!a->finished && a->queue[0].end_s > done_s - SPOILT_S)) {
    return false;
  }
  *heard = a->queue[0];
  --a->queued;
  memmove(a->queue, a->queue + 1, a->queued * sizeof(SrAirHeard));
  return true;
}
