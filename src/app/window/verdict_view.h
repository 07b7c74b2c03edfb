// SPDX-License-Identifier: GPL-3.0-or-later

// Puts a judged round on the stage: the words, the bar they are about, the figures and the rest.

#ifndef SR_WINDOW_VERDICT_VIEW_H
#define SR_WINDOW_VERDICT_VIEW_H

#include "pages.h"
#include "stage.h"

/// The bar of a note, with the one before if the note is its first; none beyond the last note.
SrBarRange sr_bars_about(const SrPhrase* phrase, size_t note);
/// Show a round; `about` receives the bars that the verdict is about, or none.
void sr_verdict_view_show(SrStage* stage, SrChosen* chosen, SrHeldRound* held, SrBarRange* about);

#endif // SR_WINDOW_VERDICT_VIEW_H
