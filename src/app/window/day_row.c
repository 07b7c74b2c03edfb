// SPDX-License-Identifier: GPL-3.0-or-later

#include "day_row.h"

#include <math.h>

struct _SrDayRow {
  AdwActionRow parent_instance;
  GtkWidget* check;
  GtkWidget* state;
  gboolean done;
};

G_DEFINE_FINAL_TYPE(SrDayRow, sr_day_row, ADW_TYPE_ACTION_ROW)

enum { CHANGED, ALONE, SIGNALS };
static guint signals[SIGNALS];

static void
sr_day_row_class_init(SrDayRowClass* const class)
{
  const GType type = G_TYPE_FROM_CLASS(class);
  signals[CHANGED] =
      g_signal_new("changed", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[ALONE] =
      g_signal_new("alone", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
sr_day_row_init(SrDayRow* const row)
{
  (void)row;
}

static void
change(SrDayRow* const row)
{
  g_signal_emit(row, signals[CHANGED], 0);
}

static void
play_alone(SrDayRow* const row)
{
  g_signal_emit(row, signals[ALONE], 0);
}

static void
name_button(GtkWidget* const widget, const char* const title)
{
  char* const name = g_strdup_printf("Only this: %s", title);
  gtk_accessible_update_property(GTK_ACCESSIBLE(widget), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  gtk_widget_set_tooltip_text(widget, "Only this");
  g_free(name);
}

/// What is to be done, why, and how often that was done today.
static char*
about(const SrDay* const day, const size_t index)
{
  const SrTodayItem* const item = &day->items[index];
  const SrTodayPlayed* const today = &day->today[index];
  char why[SR_TODAY_WHY_SIZE];
  char task[SR_TODAY_TASK_SIZE];
  GString* const words = g_string_new(NULL);
  g_string_printf(words, "%.0f minutes: %s", ceil(item->minutes),
                  sr_today_task(item->kind, &day->tempo[index], task));
  if (today->rounds == 0 || item->reason != SR_TODAY_NEW) {
    (void)sr_today_why(item, why);
    g_string_append_printf(words, "\n%c%s", g_ascii_toupper(why[0]), why + 1);
  }
  if (today->rounds > 0) {
    g_string_append_printf(words, "\n%s today, %u round%s", today->done ? "Done" : "Begun",
                           today->rounds, today->rounds == 1 ? "" : "s");
  }
  return g_string_free(words, FALSE);
}

GtkWidget*
sr_day_row_new(const SrDay* const day, const size_t index, const gboolean wanted)
{
  SrDayRow* const row = SR_DAY_ROW(g_object_new(SR_TYPE_DAY_ROW, NULL));
  char title[SR_TODAY_NAME_SIZE];
  (void)sr_today_name(&day->sources, &day->items[index], title);
  char* const words = about(day, index);
  row->done = day->today[index].done;
  adw_preferences_row_set_use_markup(ADW_PREFERENCES_ROW(row), FALSE);
  adw_preferences_row_set_title(ADW_PREFERENCES_ROW(row), title);
  gtk_widget_add_css_class(GTK_WIDGET(row), "reading-row");
  adw_action_row_set_title_lines(ADW_ACTION_ROW(row), 0);
  adw_action_row_set_subtitle(ADW_ACTION_ROW(row), words);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, words,
                                 -1);
  g_free(words);
  // The check button takes the focus; a row around it would be a stop more
  gtk_widget_set_focusable(GTK_WIDGET(row), FALSE);
  row->check = gtk_check_button_new();
  gtk_widget_set_valign(row->check, GTK_ALIGN_CENTER);
  gtk_check_button_set_active(GTK_CHECK_BUTTON(row->check), wanted);
  // Its name is the row's title
  gtk_widget_set_tooltip_text(row->check, "Practise it today");
  g_signal_connect_swapped(row->check, "toggled", G_CALLBACK(change), row);
  adw_action_row_add_prefix(ADW_ACTION_ROW(row), row->check);
  adw_action_row_set_activatable_widget(ADW_ACTION_ROW(row), row->check);
  row->state = gtk_label_new(NULL);
  adw_action_row_add_suffix(ADW_ACTION_ROW(row), row->state);
  GtkWidget* const alone = gtk_button_new_from_icon_name("media-playback-start-symbolic");
  gtk_widget_set_valign(alone, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class(alone, "flat");
  name_button(alone, title);
  g_signal_connect_swapped(alone, "clicked", G_CALLBACK(play_alone), row);
  adw_action_row_add_suffix(ADW_ACTION_ROW(row), alone);
  return GTK_WIDGET(row);
}

gboolean
sr_day_row_is_wanted(SrDayRow* const row)
{
  return gtk_check_button_get_active(GTK_CHECK_BUTTON(row->check));
}

void
sr_day_row_set_next(SrDayRow* const row, const gboolean next)
{
  const gboolean wanted = sr_day_row_is_wanted(row);
  const char* const words = next ? "Next" : row->done ? "Done" : !wanted ? "Left out" : "";
  gtk_label_set_label(GTK_LABEL(row->state), words);
  gtk_widget_set_visible(row->state, words[0] != '\0');
  if (next) {
    gtk_widget_remove_css_class(row->state, "dim-label");
  } else {
    gtk_widget_add_css_class(row->state, "dim-label");
  }
}
