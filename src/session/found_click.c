// SPDX-License-Identifier: GPL-3.0-or-later

#include "found_click.h"

#include "take_remarks.h"

#include <math.h>
#include <stdlib.h>

/// A round was meant to go with a click if its tempo is one of a few multiples of it within this
/// share; the round's own verdict says whether it stayed with it.
#define SAME_TEMPO 0.15
/// If a note begins or ends within this, s, of more than this share of the clicks, the clicks are
/// sounds of the notes: among many notes some recur with a period. A metronome is also heard in
/// rests and during long notes. Tuned on groups of takes: even playing without a click, and
/// recordings with one.
#define BY_NOTES_S 0.03
#define BY_NOTES 0.9
/// … or if that share has the same distance from an onset within this, s: no player is so exact.
#define EXACTLY_S 0.003
/// The click's sound is looked for from this long before its found start, s.
#define CLICK_EARLY_S 0.02

void
sr_found_click_clear(SrRecordedClick* const click)
{
  sr_click_remover_del(click->remover);
  sr_click_finder_del(click->finder);
  *click = (SrRecordedClick){.finder = NULL};
}

SrStatus
sr_found_click_settle(SrRecordedClick* const click, const double rate_hz, SrError* const error)
{
  if (!click->finder) {
    return SR_OK;
  }
  if (sr_click_finder_finish(click->finder, &click->found) != SR_OK) {
    return sr_take_no_memory(error);
  }
  if (click->found.count == 0) {
    return SR_OK;
  }
  const SrClickSetting setting = {.rate_hz = rate_hz,
                                  .plain = click->found.plain,
                                  .plain_count = click->found.sound_count,
                                  .accent = click->found.accent,
                                  .accent_count = click->found.sound_count,
                                  .period = click->found.period,
                                  .bar_clicks = click->found.bar_clicks,
                                  .began = click->found.first - click->found.lead -
                                           CLICK_EARLY_S * rate_hz};
  return sr_click_remover_new(&setting, &click->remover, error);
}

/// Pulses from click to click at the tempo of the take; NAN if the tempo does not fit the click.
static double
pulses_of(const SrAssessment* const assessment, const double period_s)
{
  static const double usual[] = {1.0, 2.0, 1.0 / 2.0, 1.0 / 3.0, 3.0, 4.0, 1.0 / 4.0, 1.0 / 6.0};
  for (size_t r = 0; r < assessment->round_count; ++r) {
    const double pulses = period_s * assessment->rounds[r].pulse.played_bpm / 60.0;
    for (size_t i = 0; i < sizeof(usual) / sizeof(usual[0]); ++i) {
      if (fabs(pulses / usual[i] - 1.0) < SAME_TEMPO) {
        return usual[i];
      }
    }
  }
  return (double)NAN;
}

/// Distance from the nearest onset, s.
static double
from_onset_s(const SrListened* const heard, const double at_s)
{
  double nearest_s = (double)INFINITY;
  for (size_t i = 0; i < heard->event_count; ++i) {
    const double from_s = at_s - heard->events[i].onset_s;
    nearest_s = fabs(from_s) < fabs(nearest_s) ? from_s : nearest_s;
  }
  return nearest_s;
}

static bool
is_by_note(const SrListened* const heard, const double at_s)
{
  bool near = fabs(from_onset_s(heard, at_s)) < BY_NOTES_S;
  for (size_t i = 0; !near && i < heard->event_count; ++i) {
    near = fabs(heard->events[i].end_s - at_s) < BY_NOTES_S;
  }
  return near;
}

static int
compare_numbers(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// Largest number of values within a window of twice EXACTLY_S; sorts them.
static size_t
most_alike(double* const from_s, const size_t count)
{
  qsort(from_s, count, sizeof(double), compare_numbers);
  size_t most = 0;
  size_t first = 0;
  for (size_t i = 0; i < count; ++i) {
    while (from_s[i] - from_s[first] > 2.0 * EXACTLY_S) {
      ++first;
    }
    most = i + 1 - first > most ? i + 1 - first : most;
  }
  return most;
}

SrStatus
sr_found_click_ask_notes(const SrListened* const heard, const SrClickFound* const click,
                         const double rate_hz, bool* const are_notes)
{
  double* const from_s = (double*)calloc(click->time_count + 1, sizeof(double));
  if (!from_s) {
    return SR_NO_MEMORY;
  }
  size_t by_notes = 0;
  for (size_t k = 0; k < click->time_count; ++k) {
    const double at_s = click->times[k] / rate_hz;
    by_notes += is_by_note(heard, at_s);
    from_s[k] = from_onset_s(heard, at_s);
  }
  const size_t alike = most_alike(from_s, click->time_count);
  *are_notes = (double)(alike > by_notes ? alike : by_notes) > BY_NOTES * (double)click->time_count;
  free(from_s);
  return SR_OK;
}

SrStatus
sr_found_click_judge(const SrPhrase* const phrase, const SrListened* const listened,
                     const SrTakeFacts* const facts, const SrJudgeSettings* const asked,
                     SrClickFound* const click, SrJudgedTake* const take)
{
  bool are_notes;
  if (sr_found_click_ask_notes(listened, click, facts->rate_hz, &are_notes) != SR_OK) {
    return SR_NO_MEMORY;
  }
  if (are_notes) {
    click->count = 0;
    return SR_OK;
  }
  const double period_s = click->period / facts->rate_hz;
  const double pulses = pulses_of(take->assessment, period_s);
  if (!isfinite(pulses)) {
    sr_take_remark(
        take,
        "there is a metronome's click in the recording, at %.1f a minute, but the notes do not "
        "fit it, so they are judged by your own tempo.",
        60.0 / period_s);
    return SR_OK;
  }
  SrJudgeSettings settings = *asked;
  // With several pulses to a click it is unknown which of them has it
  settings.click_s = click->first / facts->rate_hz;
  settings.click_period_s = period_s / fmax(1.0, pulses);
  settings.click_pulses = fmin(1.0, pulses);
  settings.target_bpm =
      isfinite(settings.target_bpm) ? settings.target_bpm : 60.0 * pulses / period_s;
  const SrHeard heard = {listened->events, listened->event_count, listened->air,
                         listened->air_count, listened->air_carriage};
  SrAssessment* beaten = NULL;
  SrError ignored;
  const SrStatus outcome = sr_judge_take(phrase, &heard, facts, &settings, &beaten, &ignored);
  if (outcome == SR_OK) {
    beaten->doubled = take->assessment->doubled;
    sr_assessment_del(take->assessment);
    take->assessment = beaten;
    sr_take_remark(
        take,
        "there is a metronome's click in the recording, at %.1f a minute; it is used as the "
        "beat and removed before judging. --no-click ignores it.",
        60.0 / period_s);
  }
  return outcome == SR_NO_MEMORY ? outcome : SR_OK;
}
