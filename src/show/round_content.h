// SPDX-License-Identifier: GPL-3.0-or-later

// A judged round as plain values for drawing: the phrase as written, and what was heard of it.

#ifndef SR_SHOW_ROUND_CONTENT_H
#define SR_SHOW_ROUND_CONTENT_H

#include "drawing.h"
#include "page_words.h"

#include <steadyreed/round_picture.h>

/// What became of a note.
typedef enum {
  SR_SEEN_TODO, ///< Not played yet, or after the player stopped
  SR_SEEN_HEARD,
  SR_SEEN_MISSED,
  SR_SEEN_WRONG,
  SR_SEEN_UNHEARD, ///< Lost by the recording
} SrSeen;

/// What became of a cut.
typedef enum {
  SR_SEEN_NO_CUT,
  SR_SEEN_CUT_TODO, ///< Written, and nothing to say of it
  SR_SEEN_CUT_CLEAN,
  SR_SEEN_CUT_LONG,
  SR_SEEN_CUT_ABSENT,
  SR_SEEN_CUT_STRAY,
} SrSeenCut;

/// What was heard at a note. Times are in whole notes from the start of the phrase.
typedef struct {
  SrSeen seen;
  SrSeenCut cut;
  double from; ///< Where the sound began, by the beat; meaningful if it was heard
  double to;   ///< Where it ended
  double cut_length;
  bool joined;      ///< It ran together with the note before
  bool air_heard;   ///< Audible air under it or after it
  bool fault;       ///< Anything went wrong with it
  bool off_pulse;   ///< Clearly early or late
  double offset_ms; ///< NAN if there is none
  double band_ms;   ///< What is just noticeable; NAN if unknown
} SrSeenNote;

/// A sign above the line.
typedef struct {
  SrSlipKind kind;
  double at;    ///< Whole notes
  double until; ///< End of a stretch; `at` without one
  const char* words;
} SrSeenSlip;

typedef struct {
  bool planned; ///< The line is that of the bellows
  SrDrawnPhrase phrase;
  SrSeenNote* notes; ///< One for each stroke
  SrSeenSlip* slips; ///< In order of time
  size_t slip_count;
  double* extras; ///< Where there was an extra note, whole notes
  size_t extra_count;
  SrDrawnStroke* strokes;
  SrDrawnBar* bars;
  SrDrawnPart part;
  SrPageWords words;
} SrRoundContent;

/**
   Collect the values to draw.

   @param content Receives them; clear with sr_round_content_clear(), also on error. Must not be
                  moved.
   @return SR_OK, SR_BAD_ARGUMENT (a round or plan of another phrase) or SR_NO_MEMORY.
*/
SrStatus sr_round_content_make(const SrPicturedRound* pictured, SrRoundContent* content);
/// Free what it holds.
void sr_round_content_clear(SrRoundContent* content);

/// Whether anything went wrong at a note; what is left out or comes after a stop counts too.
bool sr_round_is_fault(const SrRound* round, size_t note);

#endif // SR_SHOW_ROUND_CONTENT_H
