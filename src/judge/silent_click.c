// SPDX-License-Identifier: GPL-3.0-or-later

#include "silent_click.h"

#include "tuning.h"

#include <math.h>
#include <stdlib.h>

/// Sums for a line fit.
typedef struct {
  double n;
  double t;
  double r;
  double tt;
  double tr;
  double first_s;
  double last_s;
} Line;

static void
add(Line* const line, const double t, const double at_s, const double r)
{
  line->first_s = line->n > 0.0 ? line->first_s : at_s;
  line->last_s = at_s;
  line->n += 1.0;
  line->t += t;
  line->r += r;
  line->tt += t * t;
  line->tr += t * r;
}

/// Displacement of a note by lilt, s: earlier places in the pulse that are longer or shorter than
/// even.
static double
lilt_of(const SrPulse* const pulse, const double pulses, const double pulse_s)
{
  const double places = (double)pulse->lilt_count;
  const double in_pulse = pulses - floor(pulses + 1e-9);
  double moved = 0.0;
  for (size_t p = 0; p < pulse->lilt_count && (double)p < in_pulse * places - 0.5; ++p) {
    moved += (pulse->lilt[p] - 1.0) * pulse_s / places;
  }
  return moved;
}

/// Whether the player waited, hurried or jumped within a stretch, so that no line fits it. At its
/// very end that is how the click was found again.
static bool
is_broken(const SrRound* const round, const SrSilence* const silence, const double pulse_s)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    if (slip->kind != SR_SLIP_FALSE_START && slip->kind != SR_SLIP_STOPPED &&
        slip->kind != SR_SLIP_OTHER_TEMPO && slip->at_s > silence->start_s &&
        slip->at_s < silence->end_s - 0.5 * pulse_s) {
      return true;
    }
  }
  return false;
}

/// Measure one stretch; false if it has too few notes.
static bool
report(const SrTake* const take, const SrRound* const round, const double from_s,
       const SrSilence* const silence, SrAlone* const alone)
{
  const SrJudgeSettings* const settings = take->settings;
  const double period_s = settings->click_period_s;
  const double pulse_s = period_s / settings->click_pulses;
  const bool known = isfinite(settings->click_s);
  const double click_s = known ? settings->click_s : 0.0;
  const double unit = sr_fraction_value(round->pulse.unit);
  const double pickup = sr_fraction_value(sr_phrase_note(take->phrase, 0)->in_bar);
  Line inside = {0};
  Line before = {0};
  double last = (double)NAN;
  for (size_t i = 0; i < round->note_count; ++i) {
    const double onset_s = round->notes[i].onset_s;
    if (!isfinite(onset_s) || !isfinite(round->notes[i].offset_ms)) {
      continue;
    }
    const double start = sr_fraction_value(sr_phrase_note(take->phrase, i)->start);
    const double pulses = (pickup + start) / unit;
    double r = onset_s - lilt_of(&round->pulse, pulses, pulse_s) - pulses * pulse_s - click_s;
    // Unwrapped: no jump by more than half a period from one note to the next
    r -= period_s * rint((r - (isfinite(last) ? last : 0.0)) / period_s);
    last = r;
    if (onset_s >= silence->start_s && onset_s < silence->end_s) {
      add(&inside, onset_s - r - silence->end_s, onset_s, r);
    } else if (onset_s >= from_s && onset_s < silence->start_s) {
      add(&before, onset_s - r - silence->end_s, onset_s, r);
    }
  }
  const double length_s = silence->end_s - silence->start_s;
  const double spread = inside.n * inside.tt - inside.t * inside.t;
  if (inside.n < (double)ALONE_LEAST_NOTES ||
      inside.last_s - inside.first_s < LEAST_SPAN * length_s ||
      silence->end_s - inside.last_s > LAST_SHARE * length_s || !(spread > 0.0)) {
    return false;
  }
  const double slope = (inside.n * inside.tr - inside.t * inside.r) / spread;
  const double met = (inside.r - slope * inside.t) / inside.n;
  const double was =
      before.n >= (double)LEAST_BEFORE ? before.r / before.n : met - slope * length_s;
  *alone = (SrAlone){.silence = *silence,
                     .offset_ms = known ? 1e3 * met : (double)NAN,
                     .change_ms = 1e3 * (met - was),
                     .tempo_percent = 100.0 * (1.0 / (1.0 + slope) - 1.0)};
  return true;
}

SrStatus
sr_alone_gather(const SrTake* const take, SrRound* const round)
{
  const SrJudgeSettings* const settings = take->settings;
  if (!(settings->click_period_s > 0.0) || !(settings->click_pulses > 0.0) ||
      settings->silence_count == 0 || isfinite(round->pulse.left_pulses)) {
    return SR_OK;
  }
  round->alone = (SrAlone*)calloc(settings->silence_count, sizeof(SrAlone));
  if (!round->alone) {
    return SR_NO_MEMORY;
  }
  double from_s = 0.0;
  for (size_t i = 0; i < settings->silence_count; ++i) {
    const SrSilence* const silence = &settings->silences[i];
    if (silence->start_s < round->end_s && silence->end_s > round->start_s &&
        !is_broken(round, silence, settings->click_period_s / settings->click_pulses) &&
        report(take, round, from_s, silence, &round->alone[round->alone_count])) {
      ++round->alone_count;
    }
    from_s = silence->end_s;
  }
  return SR_OK;
}
