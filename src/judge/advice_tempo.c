// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file advice_tempo.c
   Advice on the beat: evenness, the tempo, and the click.
*/

#include "adviser.h"
#include "score.h"
#include "tuning.h"

#include <math.h>

void
sr_advise_on_rhythm(SrAdviser* const a)
{
  const SrPulse* const pulse = &a->round->pulse;
  if (!isfinite(pulse->spread_ms) || !isfinite(pulse->played_bpm)) {
    return;
  }
  const double step_ms = sr_score_step(a->take->phrase) * 60e3 / pulse->played_bpm;
  const double noticeable = sr_judge_just_noticeable_ms(step_ms);
  size_t worst = 0;
  double most = 0.0;
  for (size_t i = 0; i < a->round->note_count; ++i) {
    const double off = fabs(a->round->notes[i].offset_ms);
    if (off > most) {
      most = off;
      worst = i;
    }
  }
  if (pulse->spread_ms > 1.5 * noticeable || most > 4.0 * noticeable) {
    char name[NAME_SIZE];
    sr_adviser_name_note(a, worst, name, sizeof(name));
    const double offset = a->round->notes[worst].offset_ms;
    sr_adviser_say(
        a, (100.0 - a->round->scores.evenness) / 25.0,
        "%s: %s was %.0f ms %s, the furthest off in this round; tap the pulse through that bar",
        sr_adviser_place(a, worst), name, fabs(offset), offset > 0.0 ? "late" : "early");
  }
}

void
sr_advise_on_tempo(SrAdviser* const a)
{
  const SrPulse* const pulse = &a->round->pulse;
  const double weight = TEMPO_WEIGHT * (1.0 - sr_round_steadiness(a->round));
  const double drift = pulse->drift_percent;
  if (!(pulse->change_percent > ADVISED_CHANGE)) {
    return;
  }
  if (pulse->jump_note < a->round->note_count) {
    char name[NAME_SIZE];
    sr_adviser_name_note(a, pulse->jump_note, name, sizeof(name));
    sr_adviser_say(
        a, weight,
        "%s: your tempo changed at %s, from %.0f to %.0f pulses a minute; practise that join with "
        "a click",
        sr_adviser_place(a, pulse->jump_note), name, pulse->first_bpm, pulse->last_bpm);
  } else if (2.0 * fabs(drift) > pulse->change_percent) {
    sr_adviser_say(a, weight, "you %s by %.0f %% from start to finish; practise it with a click",
                   drift > 0.0 ? "sped up" : "slowed down", fabs(drift));
  } else {
    sr_adviser_say(a, weight, "your tempo went up and down by %.0f %%; practise it with a click",
                   pulse->change_percent);
  }
}

bool
sr_round_is_off_click(const SrRound* const round)
{
  return isfinite(round->pulse.mean_offset_ms) && fabs(round->pulse.mean_offset_ms) > OFF_CLICK_MS;
}

void
sr_advise_on_click(SrAdviser* const a)
{
  const SrPulse* const pulse = &a->round->pulse;
  if (isfinite(pulse->left_pulses)) {
    sr_adviser_say(
        a, (double)INFINITY,
        "you did not stay with the click: you got %.1f beats %s it, %.1f %% %s; listen to it for a "
        "bar, tap it with your foot, and only then play",
        fabs(pulse->left_pulses), pulse->left_pulses > 0.0 ? "ahead of" : "behind",
        fabs(pulse->left_percent), pulse->left_percent > 0.0 ? "faster" : "slower");
  } else if (sr_round_is_off_click(a->round)) {
    const double pulses = fabs(pulse->mean_offset_ms) * pulse->played_bpm / 60e3;
    const bool early = pulse->mean_offset_ms < 0.0;
    sr_adviser_say(a, OFF_CLICK_WEIGHT * (isfinite(pulses) ? pulses : 0.2),
                   "you were %.0f ms %s the click on average; %s the click",
                   fabs(pulse->mean_offset_ms), early ? "ahead of" : "behind",
                   early ? "wait for" : "keep up with");
  }
}

void
sr_advise_on_alone(SrAdviser* const a)
{
  const SrAlone* worst = NULL;
  double most = 0.0;
  for (size_t i = 0; i < a->round->alone_count; ++i) {
    const SrAlone* const alone = &a->round->alone[i];
    const double off_ms = isfinite(alone->offset_ms) ? alone->offset_ms : alone->change_ms;
    worst = fabs(off_ms) > fabs(most) ? alone : worst;
    most = fabs(off_ms) > fabs(most) ? off_ms : most;
  }
  const double pulse_ms = 60e3 / a->round->pulse.played_bpm;
  if (!worst || !(fabs(most) > 2.0 * sr_judge_just_noticeable_ms(pulse_ms))) {
    return;
  }
  sr_adviser_say(
      a, ALONE_WEIGHT * fabs(most) / pulse_ms,
      "after %u bar%s on your own you were %.0f ms %s for the click, %.1f %% too %s; play them "
      "again and keep the click going in your head",
      worst->silence.bars, worst->silence.bars == 1 ? "" : "s", fabs(most),
      most > 0.0 ? "late" : "early", fabs(worst->tempo_percent),
      worst->tempo_percent > 0.0 ? "fast" : "slow");
}
