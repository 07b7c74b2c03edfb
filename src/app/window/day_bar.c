// SPDX-License-Identifier: GPL-3.0-or-later

#include "day_bar.h"

struct _SrDayBar {
  GtkBox parent_instance;
  GtkWidget* label;
};

G_DEFINE_FINAL_TYPE(SrDayBar, sr_day_bar, GTK_TYPE_BOX)

static void
sr_day_bar_class_init(SrDayBarClass* const class)
{
  (void)class;
}

static void
add_button(SrDayBar* const bar, const char* const label, const char* const action,
           const char* const hint)
{
  GtkWidget* const button = gtk_button_new_with_label(label);
  gtk_widget_set_focus_on_click(button, FALSE);
  gtk_actionable_set_action_name(GTK_ACTIONABLE(button), action);
  gtk_widget_set_tooltip_text(button, hint);
  gtk_box_append(GTK_BOX(bar), button);
}

static void
sr_day_bar_init(SrDayBar* const bar)
{
  gtk_box_set_spacing(GTK_BOX(bar), 6);
  gtk_widget_set_margin_start(GTK_WIDGET(bar), 12);
  gtk_widget_set_margin_end(GTK_WIDGET(bar), 12);
  gtk_widget_set_margin_top(GTK_WIDGET(bar), 6);
  bar->label = gtk_label_new(NULL);
  gtk_label_set_xalign(GTK_LABEL(bar->label), 0.0f);
  gtk_label_set_ellipsize(GTK_LABEL(bar->label), PANGO_ELLIPSIZE_END);
  gtk_widget_set_hexpand(bar->label, TRUE);
  gtk_widget_add_css_class(bar->label, "hint");
  gtk_box_append(GTK_BOX(bar), bar->label);
  add_button(bar, "Next", "win.next-item", "Go on to the next item (N)");
  add_button(bar, "End", "win.end-today", "End, and sum up what was played");
}

void
sr_day_bar_say(SrDayBar* const bar, const char* const words)
{
  gtk_label_set_label(GTK_LABEL(bar->label), words);
}
