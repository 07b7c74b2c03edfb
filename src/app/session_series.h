// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session_series.h
   A session that is one of several in a row, in a terminal: what comes next is said after a round,
   and when this one is over.
*/

#ifndef SR_APP_SESSION_SERIES_H
#define SR_APP_SESSION_SERIES_H

#include "item_clock.h"
#include "sitting_clock.h"
#include "terminal_view.h"
#include "verdict_voice.h"

#include <steadyreed/ladder.h>
#include <steadyreed/session.h>

#include <stdbool.h>

/// What a round calls for.
typedef struct {
  char words[SR_LADDER_WORDS_SIZE]; ///< What comes next, a sentence; "" for nothing to say
  double bpm;                       ///< Go on at another tempo; NAN for the same
  bool leave;                       ///< This session is over
  bool quietly;                     ///< The words are shown, but not spoken
} SrNextStep;

typedef SrNextStep SrAfterRound(void* context, const SrRound* round);

/// Why a session of a series ended.
typedef enum {
  SR_SERIES_LEFT,    ///< After a round, as that called for
  SR_SERIES_TIME,    ///< Its time was over
  SR_SERIES_SKIPPED, ///< A key asked for the next
  SR_SERIES_SIGNAL,  ///< The low note was held
  SR_SERIES_ROUNDS,  ///< All rounds were played
  SR_SERIES_SILENCE, ///< Nothing was played for too long
  SR_SERIES_QUIT,    ///< The player wants to end all
  SR_SERIES_TROUBLE, ///< Listening failed
} SrSeriesEnd;

/// A series. Zero but `most_s`, which may be INFINITY, to begin with; then pass it on from session
/// to session.
typedef struct {
  // For the next session
  SrAfterRound* after_round; ///< NULL for none
  void* context;
  const char* announcement; ///< Spoken at its beginning; NULL for nothing
  double most_s; ///< Time for it, s: it ends at the next pause in the playing, or a minute later
  bool skips;    ///< N or Return ends it
  // Of the last one
  SrSeriesEnd ended;
  double length_s; ///< Of all of it
  // Of all
  bool greeted;                 ///< What is the same for all was said
  bool reported_unmeasured;     ///< … and why ahead and behind are not reported
  bool reported_air_unreported; ///< … and why air is not
  size_t rounds;
  size_t clean;    ///< Rounds without a fault
  double played_s; ///< In rounds
  SrSittingClock sitting;
  bool sitting_begun; ///< … which was asked of the history
  // Within a session
  SrNextStep step;
  double step_due_s; ///< When it is taken at the latest; NAN if there is none
  double tone_s;     ///< Until then the tone after the round sounds
  SrItemClock clock;
  bool ending; ///< An end was asked for
} SrSeries;

/// Follow an event, after the voice has heard it.
void sr_series_event(SrSeries* series, SrTerminalView* terminal, SrVerdictVoice* voice,
                     const SrSessionSettings* settings, SrSession* session,
                     const SrSessionEvent* event);

#endif // SR_APP_SESSION_SERIES_H
