// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_series.h"

#include "hands_free.h"

#include <math.h>

/// The voice is waited for no longer than this, s.
#define MOST_WAIT_S 10.0
/// A tone after a round may sound for this long, s.
#define TONE_S 1.0

static void
end(SrSeries* const series, SrSession* const session, const SrSeriesEnd why)
{
  if (!series->ending) {
    series->ending = true;
    series->ended = why;
    sr_session_send(session, (SrCommand){.kind = SR_COMMAND_END});
  }
}

/// A round is over: say what comes next, and take that step as soon as it was said.
static void
take_round(SrSeries* const series, SrTerminalView* const terminal, SrVerdictVoice* const voice,
           const SrSessionSettings* const settings, const SrSessionEvent* const event)
{
  const SrAssessment* const assessment = event->round.assessment;
  const SrRound* const round = &assessment->rounds[assessment->round_count - 1];
  ++series->rounds;
  series->clean += round->clean ? 1 : 0;
  series->played_s += round->end_s - round->start_s;
  if (!series->after_round || isfinite(series->step_due_s)) {
    return;
  }
  series->step = series->after_round(series->context, round);
  if (series->step.words[0]) {
    sr_view_say(terminal, "  %s", series->step.words);
    if (!series->step.quietly) {
      sr_verdict_voice_add(voice, series->step.words);
    }
  }
  if (series->step.leave || isfinite(series->step.bpm)) {
    series->step_due_s = event->at_s + MOST_WAIT_S;
    series->tone_s = event->at_s + (settings->tones && !settings->silent ? TONE_S : 0.0);
  }
}

/// A count-in, or the end, would cut short what is said, so that is waited for.
static void
take_step(SrSeries* const series, const SrVerdictVoice* const voice, SrSession* const session,
          const double now_s)
{
  const bool sounds = sr_verdict_voice_sounds(voice) || now_s < series->tone_s;
  if (!isfinite(series->step_due_s) || (sounds && now_s < series->step_due_s)) {
    return;
  }
  series->step_due_s = (double)NAN;
  if (series->step.leave) {
    end(series, session, SR_SERIES_LEFT);
  } else {
    sr_session_send(session, (SrCommand){SR_COMMAND_TEMPO, series->step.bpm});
  }
}

static SrSeriesEnd
end_of(const SrEndReason reason)
{
  switch (reason) {
  case SR_END_SIGNAL:
    return SR_SERIES_SIGNAL;
  case SR_END_ROUNDS:
    return SR_SERIES_ROUNDS;
  case SR_END_SILENCE:
    return SR_SERIES_SILENCE;
  case SR_END_TROUBLE:
    return SR_SERIES_TROUBLE;
  case SR_END_COMMAND:
    break;
  }
  return SR_SERIES_QUIT;
}

static void
begin(SrSeries* const series, SrVerdictVoice* const voice, SrSession* const session)
{
  series->step_due_s = (double)NAN;
  series->clock = (SrItemClock){.most_s = series->most_s};
  series->ending = false;
  if (series->announcement) {
    sr_verdict_voice_announce(voice, session, series->announcement);
  }
}

void
sr_series_event(SrSeries* const series, SrTerminalView* const terminal, SrVerdictVoice* const voice,
                const SrSessionSettings* const settings, SrSession* const session,
                const SrSessionEvent* const event)
{
  switch (event->kind) {
  case SR_SESSION_READY:
    begin(series, voice, session);
    break;
  case SR_SESSION_ROUND:
    take_round(series, terminal, voice, settings, event);
    break;
  case SR_SESSION_STOPPED:
    if (!series->ending || event->stopped.reason != SR_END_COMMAND) {
      series->ended = end_of(event->stopped.reason);
    }
    series->ending = true;
    series->length_s = event->at_s;
    break;
  case SR_SESSION_LEVEL:
  case SR_SESSION_NOTE:
  case SR_SESSION_AMENDED:
  case SR_SESSION_AGAIN:
  case SR_SESSION_NOTHING:
  case SR_SESSION_COUNT_IN:
  case SR_SESSION_SIGNAL:
  case SR_SESSION_PLAYING:
  case SR_SESSION_TEMPO:
  case SR_SESSION_HUSH:
  case SR_SESSION_DROPOUT:
  case SR_SESSION_HEARD:
  case SR_SESSION_AIR:
  case SR_SESSION_SAVED:
  case SR_SESSION_TROUBLE:
  case SR_SESSION_END:
  case SR_SESSION_PLAYED:
  case SR_SESSION_WAITING:
  case SR_SESSION_SIGNAL_HELD:
  case SR_SESSION_PITCH:
    break;
  }
  if (sr_item_clock_event(&series->clock, event, sr_verdict_voice_sounds(voice))) {
    end(series, session, SR_SERIES_TIME);
  }
  if (!series->ending) {
    take_step(series, voice, session, event->at_s);
  }
  if (series->skips && sr_hands_free_next()) {
    end(series, session, SR_SERIES_SKIPPED);
  }
}
