// SPDX-License-Identifier: GPL-3.0-or-later

// Words as large as their place allows, to be read at two metres. To a screen reader they are a
// status.

#ifndef SR_WINDOW_BIG_LABEL_H
#define SR_WINDOW_BIG_LABEL_H

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_BIG_LABEL (sr_big_label_get_type())
G_DECLARE_FINAL_TYPE(SrBigLabel, sr_big_label, SR, BIG_LABEL, GtkWidget)

GtkWidget* sr_big_label_new(void);
/// Text in UTF-8; NULL for "".
void sr_big_label_say(SrBigLabel* label, const char* text);
const char* sr_big_label_text(SrBigLabel* label);
/// Largest size of letters, pixels of the window.
void sr_big_label_limit(SrBigLabel* label, double most);
/// Whether the words tell of a fault.
void sr_big_label_set_fault(SrBigLabel* label, gboolean fault);
void sr_big_label_set_bold(SrBigLabel* label, gboolean bold);
void sr_big_label_centre(SrBigLabel* label, gboolean centred);
/// Height the text takes at a size of letters and a width, pixels of the window.
double sr_big_label_height(SrBigLabel* label, double size, int width);
/// Size of letters as drawn now.
double sr_big_label_size(SrBigLabel* label);

G_END_DECLS

#endif // SR_WINDOW_BIG_LABEL_H
