// SPDX-License-Identifier: GPL-3.0-or-later

// Commands by holding the low note alone: once, play the phrase; twice, go on slower; long, end the
// session.

#include "session_state.h"

#include <math.h>

/// A signal that begins within this of the end of the first makes it a double, s.
#define SECOND_WITHIN_S 3.0
/// Tempo factor of a double signal, and the slowest tempo, pulses a minute.
#define SLOWER 0.9
#define SLOWEST_BPM 20.0

SrSignalMeaning
sr_low_note_meaning(const SrSession* const session, const double began_s, const double held_s)
{
  if (held_s >= SR_SIGNAL_END_S) {
    return SR_SIGNAL_END;
  }
  if (held_s < sr_live_settings_default().signal_held_s) {
    return SR_SIGNAL_SHORT;
  }
  if (session->settings.silent) {
    return SR_SIGNAL_NONE;
  }
  const bool second = isfinite(session->signal_s) && began_s - session->signal_s < SECOND_WITHIN_S;
  return second ? SR_SIGNAL_SLOWER : SR_SIGNAL_PLAY;
}

void
sr_low_note_take(SrSession* const session, const SrNews* const news)
{
  const SrSignalMeaning meaning =
      sr_low_note_meaning(session, news->at_s - news->held_s, news->held_s);
  if (meaning == SR_SIGNAL_SHORT || meaning == SR_SIGNAL_PLAY) {
    // Another may follow, or a round; see sr_low_note_answer()
    session->signal_s = news->at_s;
    session->signal_rounds = session->rounds;
    return;
  }
  sr_session_report(session,
                    (SrSessionEvent){.kind = SR_SESSION_SIGNAL, .signal = {meaning, news->held_s}});
  if (meaning == SR_SIGNAL_END) {
    sr_session_end(session, SR_END_SIGNAL);
  } else if (meaning == SR_SIGNAL_SLOWER) {
    session->signal_s = (double)NAN;
    const double bpm = session->click.bpm;
    sr_click_change_tempo(session, fmin(bpm, fmax(SLOWEST_BPM, SLOWER * bpm)));
  }
}

void
sr_low_note_answer(SrSession* const session)
{
  const double waited_s = sr_session_now_s(session) - session->signal_s;
  if (!isfinite(session->signal_s) || waited_s <= SECOND_WITHIN_S) {
    return;
  }
  const bool in_round = sr_live_in_round(session->live);
  const bool is_late = waited_s > 2.0 * SECOND_WITHIN_S;
  if (sr_live_signal_sounds(session->live) || (in_round && !is_late)) {
    return; // a second signal may be under way, and a round that has begun may yet come to nothing
  }
  // A player who has played on is not waiting for the phrase; other sounds, such as talk, are
  // ignored
  const bool waits = !in_round && session->rounds == session->signal_rounds;
  session->signal_s = (double)NAN;
  if (waits) {
    sr_playing_phrase(session);
  }
}
