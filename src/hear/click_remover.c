// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_remover.c
   Takes a click out of what the microphone hears, as the path from loudspeaker to microphone is
   learnt.

   The echo canceller of speexdsp was measured in its place, on the takes with a click, 12800 notes
   at clicks from -20 to +10 dB: notes 98.4 to 98.7 % right (here 99.6; click left in 97.8), cuts
   97.0 to 97.8 % (99.4; 95.9), air that was not there 210 times (once; 162). Heard twice, as a
   file can be, 99.3 and 99.1 %, but 98.2 and 98.1 where the clocks drift by 100 ppm. It lowers a
   click between notes by 2 dB in the first ten seconds, this by 31 to 36, and takes six to twelve
   times as long.
*/

#include "click_arrival.h"
#include "click_path.h"
#include "tuning.h"

#include <steadyreed/click.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Stage of the removal.
typedef enum {
  SEARCHING, ///< The delay is unknown
  LEARNING,  ///< The delay is known, the response not yet
  REMOVING,
} Stage;

/// Clock drift: arrival of the clicks against when they are due, and its rate of change (Kalman
/// 1960).
typedef struct {
  double place;       ///< Samples
  double pace;        ///< Samples per click
  double variance[3]; ///< Of place, of both together, of pace
  uint64_t click;     ///< At which this holds
} Clock;

struct SrClickRemoverImpl {
  SrClickSetting setting; ///< Its arrays are not used
  Stage stage;
  SrClickArrival* arrival;
  SrClickPath* path;
  float* ring; ///< The output
  size_t mask;
  float* stretch;
  uint64_t at; ///< Samples processed
  uint64_t searched;
  uint64_t learnt; ///< `searched`, `learnt`, `removed`: the next click of each stage
  uint64_t removed;
  const float* predicted; ///< Being subtracted, NULL if none
  uint64_t predicted_click;
  uint64_t predicted_start;
  double lag; ///< Delay by the matched filter
  Clock clock;
  double proof;
  unsigned lessons;
  double square; ///< Sum over arrivals of the squared deviation from the clock
  unsigned arrivals;
  float level;
};

void
sr_click_remover_del(SrClickRemover* const r)
{
  if (r) {
    sr_click_arrival_del(r->arrival);
    sr_click_path_del(r->path);
    free(r->ring);
    free(r->stretch);
    free(r);
  }
}

static bool
sound_fits(const float* const sound, const size_t count, const double rate_hz)
{
  bool any = false;
  for (size_t i = 0; sound && i < count; ++i) {
    if (!isfinite(sound[i])) {
      return false;
    }
    any = any || sound[i] != 0.0f;
  }
  return any && (double)count < 0.06 * rate_hz + 1.0;
}

static SrStatus
check(const SrClickSetting* const s, SrError* const error)
{
  if (!(s->rate_hz >= 16000.0 && s->rate_hz <= 192000.0)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The sample rate must be between 16000 and 192000 Hz.");
  }
  if (!(s->period >= CLICK_REMOVER_LEAST_PERIOD_S * s->rate_hz && s->period < 1e9) ||
      !isfinite(s->began) || fabs(s->began) > 1e15) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "Clicks must be at least a tenth of a second apart.");
  }
  if (!sound_fits(s->plain, s->plain_count, s->rate_hz) ||
      !sound_fits(s->accent, s->accent_count, s->rate_hz)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The sound of a click must be 60 ms at most, and must sound.");
  }
  if (s->on_bars > 0 && s->off_bars > 0 && s->bar_clicks == 0) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "Silent bars need to know how long a bar is.");
  }
  return SR_OK;
}

SrStatus
sr_click_remover_new(const SrClickSetting* const setting, SrClickRemover** const remover,
                     SrError* const error)
{
  *remover = NULL;
  const SrStatus status = check(setting, error);
  if (status != SR_OK) {
    return status;
  }
  SrClickRemover* const r = (SrClickRemover*)calloc(1, sizeof(SrClickRemover));
  if (r) {
    r->setting = *setting;
    r->setting.plain = NULL;
    r->setting.accent = NULL;
    const float* const sounds[2] = {setting->plain, setting->accent};
    const size_t counts[2] = {setting->plain_count, setting->accent_count};
    const size_t lags = (size_t)(SR_MOST_ROUND_TRIP_S * setting->rate_hz);
    r->arrival = sr_click_arrival_new(setting->rate_hz, sounds, counts, lags, setting->period);
    r->path = sr_click_path_new(setting->rate_hz, sounds, counts, setting->period);
    size_t size = 1;
    while ((double)size < (SR_MOST_ROUND_TRIP_S + CLICK_REMOVER_KEPT_S) * setting->rate_hz) {
      size *= 2;
    }
    r->mask = size - 1;
    r->ring = (float*)calloc(size, sizeof(float));
    r->stretch = (float*)malloc(size * sizeof(float));
  }
  if (!r || !r->arrival || !r->path || !r->ring || !r->stretch) {
    sr_click_remover_del(r);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to take out the clicks.");
  }
  *remover = r;
  return SR_OK;
}

static bool
sounds(const SrClickRemover* const r, const uint64_t click)
{
  const SrClickSetting* const s = &r->setting;
  if (click < s->count_in || s->on_bars == 0 || s->off_bars == 0) {
    return true;
  }
  const uint64_t bar = (click - s->count_in) / s->bar_clicks;
  return bar % ((uint64_t)s->on_bars + s->off_bars) < s->on_bars;
}

static bool
is_accent(const SrClickRemover* const r, const uint64_t click)
{
  return r->setting.bar_clicks > 0 && click % r->setting.bar_clicks == 0;
}

static uint64_t
next_sounding(const SrClickRemover* const r, uint64_t click)
{
  while (!sounds(r, click)) {
    // A silent stretch may be long: skip to the next bar
    const uint64_t in_bar = (click - r->setting.count_in) % r->setting.bar_clicks;
    click += r->setting.bar_clicks - in_bar;
  }
  return click;
}

static double
leaves(const SrClickRemover* const r, const uint64_t click)
{
  return r->setting.began + (double)click * r->setting.period;
}

static double
arrives(const SrClickRemover* const r, const uint64_t click)
{
  const double since = (double)click - (double)r->clock.click;
  return leaves(r, click) + r->lag + r->clock.place + r->clock.pace * since;
}

static uint64_t
sample_of(const double at)
{
  return at > 0.0 ? (uint64_t)llround(at) : 0;
}

/// First sample of the window around a click's arrival, and the expected arrival in it.
static uint64_t
window_start(const SrClickRemover* const r, const uint64_t click, double* const fraction)
{
  const double lead = (double)sr_click_path_lead(r->path);
  const double arrival = arrives(r, click);
  const uint64_t start = sample_of(arrival - lead);
  *fraction = arrival - lead - (double)start;
  return start;
}

/// The next sounding click whose window does not start before the first sample.
static uint64_t
next_whole(const SrClickRemover* const r, uint64_t click)
{
  click = next_sounding(r, click);
  while (arrives(r, click) < (double)sr_click_path_lead(r->path)) {
    click = next_sounding(r, click + 1);
  }
  return click;
}

static uint64_t
search_end(const SrClickRemover* const r)
{
  const double lead = (double)sr_click_arrival_lead(r->arrival);
  return sample_of(leaves(r, r->searched) - lead + (double)sr_click_arrival_window(r->arrival));
}

static uint64_t
learn_end(const SrClickRemover* const r)
{
  double fraction = 0.0;
  return window_start(r, r->learnt, &fraction) + sr_click_path_window(r->path);
}

/// Copy the output up to `end`, with zeros before the first sample. False if some is not finite or
/// no longer kept.
static bool
copy_back(SrClickRemover* const r, const uint64_t end, const size_t count)
{
  if (end > r->at || r->at - end + count > r->mask) {
    return false;
  }
  bool finite = true;
  for (size_t i = 0; i < count; ++i) {
    const uint64_t back = count - i;
    r->stretch[i] = back > end ? 0.0f : r->ring[(end - back) & r->mask];
    finite = finite && isfinite(r->stretch[i]);
  }
  return finite;
}

/// Search again from the next click to be emitted.
static void
start_over(SrClickRemover* const r)
{
  r->stage = SEARCHING;
  r->predicted = NULL;
  sr_click_path_reset(r->path);
  while (leaves(r, r->searched) < (double)r->at) {
    r->searched = next_sounding(r, r->searched + 1);
  }
}

/// The delay is known: learn from all clicks that are still kept.
static void
start_learning(SrClickRemover* const r, const double lag)
{
  const double pace = PACE_FIRST * r->setting.period;
  const size_t needed = sr_click_path_window(r->path) + sr_click_path_before(r->path);
  r->stage = LEARNING;
  sr_click_path_reset(r->path);
  r->lag = lag;
  r->clock =
      (Clock){.variance = {PLACE_FIRST * PLACE_FIRST, 0.0, pace * pace}, .click = r->searched};
  r->proof = 0.0;
  r->lessons = 0;
  r->square = 0.0;
  r->arrivals = 0;
  r->level = 0.0f;
  r->learnt = next_whole(r, 0);
  while (learn_end(r) + r->mask < r->at + needed + sr_click_path_lead(r->path)) {
    r->learnt = next_sounding(r, r->learnt + 1);
  }
  r->clock.click = r->learnt;
}

/// Search the input after one more click. Until the delay is confirmed, better evidence may move
/// it.
static void
search(SrClickRemover* const r)
{
  double lag = 0.0;
  const bool whole = copy_back(r, search_end(r), sr_click_arrival_window(r->arrival));
  if (whole && sr_click_arrival_add(r->arrival, r->stretch, is_accent(r, r->searched), &lag)) {
    const double known = r->lag + r->clock.place;
    if (r->stage == SEARCHING || fabs(lag - known) > SAME_PLACE_S * r->setting.rate_hz) {
      start_learning(r, lag);
    }
  }
  r->searched = next_sounding(r, r->searched + 1);
}

/// Predict the clock at a click.
static void
clock_to(const SrClickRemover* const r, Clock* const c, const uint64_t click)
{
  const double n = (double)(click - c->click);
  const double pace_moves = PACE_MOVES * r->setting.period;
  c->place += n * c->pace;
  c->variance[0] +=
      2.0 * n * c->variance[1] + n * n * c->variance[2] + n * PLACE_MOVES * PLACE_MOVES;
  c->variance[1] += n * c->variance[2];
  c->variance[2] += n * pace_moves * pace_moves;
  c->click = click;
}

static void
clock_learn(Clock* const c, const double shift, const double deviation)
{
  const double sum = c->variance[0] + deviation * deviation;
  const double place = c->variance[0] / sum;
  const double pace = c->variance[1] / sum;
  c->place += place * shift;
  c->pace += pace * shift;
  c->variance[2] -= pace * c->variance[1];
  c->variance[1] *= 1.0 - place;
  c->variance[0] *= 1.0 - place;
}

static void
report_level(SrClickRemover* const r, const float* const predicted)
{
  r->level = 0.0f;
  for (size_t i = 0; i < sr_click_path_window(r->path); ++i) {
    r->level = fmaxf(r->level, fabsf(predicted[i]));
  }
}

static void
take_lesson(SrClickRemover* const r, const SrClickLesson* const lesson)
{
  if (r->lessons++ == 0) {
    r->arrivals = 1;
    report_level(r, sr_click_path_predict(r->path, false, 0.0));
    return;
  }
  if (isfinite(lesson->deviation)) {
    clock_learn(&r->clock, lesson->shift, lesson->deviation);
    r->square += r->lessons > 2 ? lesson->shift * lesson->shift : 0.0;
    ++r->arrivals;
  }
  r->proof += lesson->sureness;
  if (r->stage == LEARNING) {
    const double proof = r->proof / sqrt((double)(r->lessons - 1));
    if (proof > LEAST_PROOF) {
      r->stage = REMOVING;
      r->removed = r->learnt;
    } else if (r->lessons > PATIENCE && proof < 0.5 * LEAST_PROOF) {
      start_over(r);
    }
  } else if (sr_click_path_gain(r->path) < GONE) {
    sr_click_arrival_reset(r->arrival);
    start_over(r);
  }
}

/// Whether a stretch is not all zeros: from silence, such as a closed input, no response can be
/// learnt.
static bool
sounds_at_all(const float* const samples, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    if (samples[i] < 0.0f || samples[i] > 0.0f) {
      return true;
    }
  }
  return false;
}

static void
learn(SrClickRemover* const r)
{
  double fraction = 0.0;
  const uint64_t click = r->learnt;
  const uint64_t start = window_start(r, click, &fraction);
  const size_t window = sr_click_path_window(r->path);
  const size_t before = sr_click_path_before(r->path);
  const bool whole = copy_back(r, start + window, before + window);
  if (r->predicted && r->predicted_click == click) {
    // The input is the output plus what was subtracted
    for (size_t i = 0; i < window; ++i) {
      r->stretch[before + i] += r->predicted[i];
    }
    r->predicted = NULL;
  }
  if (whole && (r->lessons > 0 || sounds_at_all(r->stretch + before, window))) {
    clock_to(r, &r->clock, click);
    const SrClickLesson lesson = sr_click_path_learn(r->path, r->stretch, is_accent(r, click),
                                                     fraction, sqrt(r->clock.variance[0]));
    take_lesson(r, &lesson);
  }
  r->learnt = next_sounding(r, click + 1);
}

/// The next click to be removed that has not begun to arrive.
static uint64_t
removal_start(SrClickRemover* const r)
{
  double fraction = 0.0;
  r->removed = next_whole(r, r->removed);
  uint64_t start = window_start(r, r->removed, &fraction);
  while (start < r->at) {
    r->removed = next_sounding(r, r->removed + 1);
    start = window_start(r, r->removed, &fraction);
  }
  return start;
}

static void
begin_removal(SrClickRemover* const r)
{
  double fraction = 0.0;
  const bool accent = is_accent(r, r->removed);
  r->predicted_start = window_start(r, r->removed, &fraction);
  r->predicted = sr_click_path_predict(r->path, accent, fraction);
  r->predicted_click = r->removed;
  if (!accent) {
    report_level(r, r->predicted);
  }
  ++r->removed;
}

/// Do everything due at this sample; returns the sample of the next task.
static uint64_t
attend(SrClickRemover* const r)
{
  for (;;) {
    const uint64_t searched = r->stage == REMOVING ? UINT64_MAX : search_end(r);
    const uint64_t learnt = r->stage == SEARCHING ? UINT64_MAX : learn_end(r);
    const bool free_to_remove = r->stage == REMOVING && !r->predicted;
    const uint64_t removed = free_to_remove ? removal_start(r) : UINT64_MAX;
    if (learnt <= r->at) {
      learn(r);
    } else if (searched <= r->at) {
      search(r);
    } else if (removed <= r->at) {
      begin_removal(r);
    } else {
      const uint64_t first = learnt < searched ? learnt : searched;
      return removed < first ? removed : first;
    }
  }
}

void
sr_click_remover_do(SrClickRemover* const r, float* const samples, const size_t count)
{
  const size_t window = sr_click_path_window(r->path);
  size_t done = 0;
  while (done < count) {
    const uint64_t due = attend(r);
    const size_t step = due - r->at < count - done ? (size_t)(due - r->at) : count - done;
    for (size_t i = 0; i < step; ++i) {
      const uint64_t at = r->at + i;
      if (r->predicted && at - r->predicted_start < window) {
        samples[done + i] -= r->predicted[at - r->predicted_start];
      }
      r->ring[at & r->mask] = samples[done + i];
    }
    r->at += step;
    done += step;
  }
}

void
sr_click_remover_rewind(SrClickRemover* const r)
{
  memset(r->ring, 0, (r->mask + 1) * sizeof(float));
  r->at = 0;
  r->predicted = NULL;
  r->searched = 0;
  r->learnt = 0;
  r->removed = 0;
  if (r->stage == SEARCHING) {
    sr_click_arrival_reset(r->arrival);
    return;
  }
  r->clock.place -= r->clock.pace * (double)r->clock.click;
  r->clock.variance[0] = PLACE_FIRST * PLACE_FIRST;
  r->clock.variance[1] = 0.0;
  r->clock.click = 0;
  r->learnt = next_whole(r, 0);
}

SrClickHeard
sr_click_remover_heard(const SrClickRemover* const r)
{
  SrClickHeard heard = {.heard = r->stage != SEARCHING,
                        .round_trip = (double)NAN,
                        .level_db = (double)NAN,
                        .left_db = (double)NAN};
  if (heard.heard) {
    heard.round_trip = r->lag + r->clock.place;
    heard.arrivals = r->arrivals;
    heard.spread = r->arrivals > 2 ? sqrt(r->square / (double)(r->arrivals - 2)) : 0.0;
    heard.level_db = r->level > 0.0f ? 20.0 * log10((double)r->level) : (double)NAN;
    heard.left_db = r->stage == REMOVING ? 10.0 * log10(sr_click_path_left(r->path)) : (double)NAN;
  }
  return heard;
}
