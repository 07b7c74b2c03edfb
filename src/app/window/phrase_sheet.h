// SPDX-License-Identifier: GPL-3.0-or-later

// The sheet where a player chooses what to practise: from which file, which tune and bars of it, on
// which buttons, at what tempo. It changes nothing itself: what is chosen is given to whoever
// opened it.

#ifndef SR_WINDOW_PHRASE_SHEET_H
#define SR_WINDOW_PHRASE_SHEET_H

#include "chosen.h"

#include <steadyreed/session.h>

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_PHRASE_SHEET (sr_phrase_sheet_get_type())
G_DECLARE_FINAL_TYPE(SrPhraseSheet, sr_phrase_sheet, SR, PHRASE_SHEET, AdwWindow)

/// What is chosen: at first, and in the end. Whoever receives it copies what it keeps.
typedef struct {
  const SrChoice* choice;     ///< Its path may be NULL at first
  SrChosen* chosen;           ///< The phrase as it was read; NULL at first
  SrSessionSettings settings; ///< Of these the sheet changes `judge.target_bpm`, `click_bars`,
                              ///< `on_bars`, `off_bars`, `ready_midi`, `start_wait_s` and
                              ///< `count_in_each`
  gboolean click;             ///< Whether there is a click at all
  gboolean ladder;            ///< The file asks for the tempo ladder; FALSE at first
} SrPhraseSheetState;

/// Signals: "chosen" (const SrPhraseSheetState*), the player wants to practise this; "recording"
/// (char* path, NULL for none yet), the player wants to learn from a recording. The sheet closes
/// after either.

/**
   Open it over a window.

   @param state  What is practised now; copied.
   @param recent Paths of recent phrases, the last first; NULL for none.
*/
SrPhraseSheet* sr_phrase_sheet_open(GtkWindow* parent, const SrPhraseSheetState* state,
                                    const char* const* recent);
/// Show a file, as if the player had picked it.
void sr_phrase_sheet_take_file(SrPhraseSheet* sheet, const char* path);

G_END_DECLS

#endif // SR_WINDOW_PHRASE_SHEET_H
