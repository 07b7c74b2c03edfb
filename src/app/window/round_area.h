// SPDX-License-Identifier: GPL-3.0-or-later

// A round, judged or going on, as a widget: the bellows line, a marker where the player is, and
// bars that can be chosen by dragging over them.

#ifndef SR_WINDOW_ROUND_AREA_H
#define SR_WINDOW_ROUND_AREA_H

#include "painter.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_ROUND_AREA (sr_round_area_get_type())
G_DECLARE_FINAL_TYPE(SrRoundArea, sr_round_area, SR, ROUND_AREA, GtkWidget)

/// Signal "bars-chosen": first and last bar (guint, indexes of sr_phrase_bar()) were dragged over.

GtkWidget* sr_round_area_new(void);
/// Show a phrase of which nothing is played; NULL for nothing.
void sr_round_area_show_phrase(SrRoundArea* area, SrChosen* chosen);
/// Show a judged round; some bars of it, or all if `bar_count` is 0.
void sr_round_area_show_round(SrRoundArea* area, SrChosen* chosen, SrHeldRound* held,
                              size_t first_bar, size_t bar_count);
/// Show a round that goes on; the notes are copied.
void sr_round_area_show_notes(SrRoundArea* area, SrChosen* chosen, const SrNoteVerdict* notes,
                              size_t reached, size_t first_bar, size_t bar_count);
/// Move the marker to a time, whole notes from the start of the phrase; NAN for none.
void sr_round_area_mark(SrRoundArea* area, double time);
/// Whether bars may be chosen in it.
void sr_round_area_let_choose(SrRoundArea* area, gboolean choosable);
/// Whether notes stand close together, and offsets are left out.
void sr_round_area_set_style(SrRoundArea* area, gboolean close, gboolean offsets);
/// Size of the notes' names now, pixels of the window; 0 before it is drawn.
double sr_round_area_letters(SrRoundArea* area);

G_END_DECLS

#endif // SR_WINDOW_ROUND_AREA_H
