// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_row.h"

#include "../take_standing.h"

#include <steadyreed/show_progress.h>

#include <math.h>

struct _SrTakeRow {
  AdwActionRow parent_instance;
  size_t index;
  char* date;
  GtkWidget* keep;
  GtkWidget* others; ///< Box of the other buttons
  GtkWidget* hear;
  gboolean setting; ///< We change its button
};

G_DEFINE_FINAL_TYPE(SrTakeRow, sr_take_row, ADW_TYPE_ACTION_ROW)

enum { MARK, HEAR, SHOW, SIGNALS };
static guint signals[SIGNALS];

char*
sr_take_row_date(const SrTakeEntry* const take)
{
  char day[SR_DAY_WORDS_SIZE];
  const gint64 day_s = 86400;
  const gint64 local_s = take->last.utc_ms / 1000 + take->last.offset_s;
  const gint64 minutes = (local_s % day_s + day_s) % day_s / 60;
  return g_strdup_printf("%s, %02d:%02d", sr_show_day(sr_moment_day(take->last), true, day),
                         (int)(minutes / 60), (int)(minutes % 60));
}

static void
name_button(GtkWidget* const button, const char* const what, const char* const date)
{
  char* const name = g_strdup_printf("%s: %s", what, date);
  gtk_widget_set_tooltip_text(button, what);
  gtk_accessible_update_property(GTK_ACCESSIBLE(button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_free(name);
}

/// How it went in a few words, and how it stands.
static char*
about(const SrTakeEntry* const take, const SrTakeFigures* const figures)
{
  GString* const words = g_string_new(NULL);
  char standing[SR_TAKE_STANDING_SIZE];
  g_string_printf(words, "%u round%s", figures->rounds, figures->rounds == 1 ? "" : "s");
  if (take->unfinished > 0) {
    g_string_append(words, " and an unfinished one");
  }
  if (figures->clean > 0) {
    g_string_append_printf(words, ", %u without a fault", figures->clean);
  }
  if (isfinite(figures->least_bpm) && round(figures->least_bpm) < round(figures->most_bpm)) {
    g_string_append_printf(words, " · %.0f to %.0f pulses a minute", figures->least_bpm,
                           figures->most_bpm);
  } else if (isfinite(figures->least_bpm)) {
    g_string_append_printf(words, " · %.0f pulses a minute", figures->least_bpm);
  }
  g_string_append_printf(words, "\nNotes %u of %u right", figures->notes_right, figures->notes);
  if (figures->cuts > 0) {
    g_string_append_printf(words, ", cuts %u of %u clean", figures->cuts_clean, figures->cuts);
  }
  if (sr_take_standing(take, standing)[0]) {
    g_string_append_printf(words, "\n%c%s", g_ascii_toupper(standing[2]), standing + 3);
  }
  return g_string_free(words, FALSE);
}

void
sr_take_row_update(SrTakeRow* const row, const SrKeptTakes* const kept)
{
  const SrTakeEntry* const take = &kept->takes[row->index];
  char* const words = about(take, &kept->figures[row->index]);
  adw_action_row_set_subtitle(ADW_ACTION_ROW(row), words);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, words,
                                 -1);
  g_free(words);
  row->setting = TRUE;
  gtk_toggle_button_set_active(GTK_TOGGLE_BUTTON(row->keep), take->marked);
  row->setting = FALSE;
  gtk_button_set_label(GTK_BUTTON(row->keep), take->marked ? "Kept for good" : "Keep for good");
  name_button(row->keep, "Keep for good", row->date);
}

void
sr_take_row_set_playing(SrTakeRow* const row, const gboolean playing, const gboolean may)
{
  gtk_button_set_icon_name(GTK_BUTTON(row->hear), playing ? "media-playback-stop-symbolic"
                                                          : "media-playback-start-symbolic");
  name_button(row->hear, playing ? "Stop" : "Hear it", row->date);
  gtk_widget_set_sensitive(row->hear, playing || may);
}

static void
toggle_keep(GtkToggleButton* const button, SrTakeRow* const row)
{
  if (!row->setting) {
    g_signal_emit(row, signals[MARK], 0, gtk_toggle_button_get_active(button));
  }
}

static void
ask_hear(SrTakeRow* const row)
{
  g_signal_emit(row, signals[HEAR], 0);
}

static void
ask_show(SrTakeRow* const row)
{
  g_signal_emit(row, signals[SHOW], 0);
}

static void
row_finalize(GObject* const object)
{
  g_free(SR_TAKE_ROW(object)->date);
  G_OBJECT_CLASS(sr_take_row_parent_class)->finalize(object);
}

static void
sr_take_row_class_init(SrTakeRowClass* const class)
{
  const GType type = G_TYPE_FROM_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = row_finalize;
  signals[MARK] = g_signal_new("mark", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1,
                               G_TYPE_BOOLEAN);
  signals[HEAR] =
      g_signal_new("hear", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[SHOW] = g_signal_new("see", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
add_button(SrTakeRow* const row, GtkWidget* const button)
{
  gtk_widget_set_valign(button, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class(button, "flat");
  gtk_box_append(GTK_BOX(row->others), button);
}

static void
sr_take_row_init(SrTakeRow* const row)
{
  // Under one another, so that a narrow row has room for its words
  GtkWidget* const buttons = gtk_box_new(GTK_ORIENTATION_VERTICAL, 0);
  gtk_widget_set_valign(buttons, GTK_ALIGN_CENTER);
  row->keep = gtk_toggle_button_new();
  gtk_widget_add_css_class(row->keep, "flat");
  g_signal_connect(row->keep, "toggled", G_CALLBACK(toggle_keep), row);
  gtk_box_append(GTK_BOX(buttons), row->keep);
  row->others = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 0);
  gtk_widget_set_halign(row->others, GTK_ALIGN_END);
  gtk_box_append(GTK_BOX(buttons), row->others);
  adw_action_row_add_suffix(ADW_ACTION_ROW(row), buttons);
  row->hear = gtk_button_new();
  g_signal_connect_swapped(row->hear, "clicked", G_CALLBACK(ask_hear), row);
  add_button(row, row->hear);
  // The buttons take the focus
  gtk_widget_set_focusable(GTK_WIDGET(row), FALSE);
}

GtkWidget*
sr_take_row_new(const SrKeptTakes* const kept, const size_t index)
{
  SrTakeRow* const row = SR_TAKE_ROW(g_object_new(SR_TYPE_TAKE_ROW, NULL));
  row->index = index;
  row->date = sr_take_row_date(&kept->takes[index]);
  adw_preferences_row_set_use_markup(ADW_PREFERENCES_ROW(row), FALSE);
  adw_preferences_row_set_title(ADW_PREFERENCES_ROW(row), row->date);
  adw_action_row_set_title_lines(ADW_ACTION_ROW(row), 0);
  gtk_widget_add_css_class(GTK_WIDGET(row), "reading-row");
  GtkWidget* const show = gtk_button_new_from_icon_name("go-next-symbolic");
  name_button(show, "See how it was judged", row->date);
  g_signal_connect_swapped(show, "clicked", G_CALLBACK(ask_show), row);
  add_button(row, show);
  sr_take_row_update(row, kept);
  sr_take_row_set_playing(row, FALSE, TRUE);
  return GTK_WIDGET(row);
}

size_t
sr_take_row_index(const SrTakeRow* const row)
{
  return row->index;
}
