// SPDX-License-Identifier: GPL-3.0-or-later

// Draws rounds on a thread of its own, so that the window never waits for a picture.

#ifndef SR_WINDOW_PAINTER_H
#define SR_WINDOW_PAINTER_H

#include "chosen.h"

#include <steadyreed/round_picture.h>

#include <gdk/gdk.h>

/// A judged round that several may hold.
typedef struct SrHeldRound {
  gatomicrefcount references;
  SrChosen* chosen; ///< What was played
  SrAssessment* assessment;
  const SrRound* round;
  unsigned number;            ///< In its row, from 1
  unsigned session;           ///< Which session heard it, from 1
  unsigned in_session;        ///< Its number there, from 1
  bool click_unknown;         ///< Nothing is known of ahead and behind
  struct SrHeldRound* holder; ///< Holds the assessment; NULL for itself
} SrHeldRound;

/// Takes the assessment; its numbers are still to be set.
SrHeldRound* sr_held_round_new(SrChosen* chosen, SrAssessment* assessment);
/// A round of the same assessment, by its index; its number is set.
SrHeldRound* sr_held_round_of(SrHeldRound* held, size_t index);
SrHeldRound* sr_held_round_ref(SrHeldRound* held);
void sr_held_round_unref(SrHeldRound* held);

/// What is to be drawn.
typedef struct {
  SrChosen* chosen;
  SrHeldRound* held;    ///< NULL for one that goes on
  SrNoteVerdict* notes; ///< Of one that goes on: one for each note of the phrase
  size_t reached;       ///< Of these
  size_t first_bar;     ///< As in SrPicturedRound
  size_t bar_count;
  SrRoundStyle style;
  int width; ///< Units of the window
  int height;
  int scale; ///< Pixels of one
} SrPainting;

/// A copy with references of its own.
SrPainting sr_painting_copy(const SrPainting* painting);
void sr_painting_clear(SrPainting* painting);

/// A picture.
typedef struct {
  GdkTexture* texture;
  SrRoundPicture* picture; ///< For asking where things are
} SrPainted;

void sr_painted_free(SrPainted* painted);

/// Called on the main thread with the picture, which is the receiver's; NULL if it could not be
/// drawn.
typedef void (*SrPaintedTake)(void* context, SrPainted* painted);

/**
   Draw it, after what was asked for before.

   @param painting Taken.
   @param context  Given to `take`; whoever may be gone before must keep a reference in it.
*/
void sr_painter_draw(SrPainting* painting, SrPaintedTake take, void* context);

#endif // SR_WINDOW_PAINTER_H
