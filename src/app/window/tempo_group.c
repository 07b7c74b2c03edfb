// SPDX-License-Identifier: GPL-3.0-or-later

#include "tempo_group.h"

#include <steadyreed/sound.h>

#include <math.h>

/// Bars with and without the click that are offered first.
#define USUAL_BARS 4

struct _SrTempoGroup {
  AdwPreferencesGroup parent_instance;
  GtkSpinButton* tempo;
  AdwActionRow* tempo_row;
  GtkWidget* reset;
  AdwComboRow* click;
  AdwExpanderRow* silent_bars;
  GtkSpinButton* on_bars;
  GtkSpinButton* off_bars;
  double own;   ///< The phrase's own tempo; NAN if unknown
  double asked; ///< Set by the player; NAN for the phrase's own
  gboolean showing;
};

G_DEFINE_FINAL_TYPE(SrTempoGroup, sr_tempo_group, ADW_TYPE_PREFERENCES_GROUP)

/// Rows of the click, in the order of the template.
enum { EVERY_PULSE, FIRST_PULSE, NO_CLICK };

static void
show_tempo(SrTempoGroup* const group)
{
  const double bpm = isfinite(group->asked) ? group->asked : group->own;
  char* const words = isfinite(group->own)
                          ? g_strdup_printf("Pulses a minute; its own is %.0f", group->own)
                          : g_strdup("Pulses a minute");
  group->showing = TRUE;
  if (isfinite(bpm)) {
    // As it is displayed, or what was not touched would count as changed
    gtk_spin_button_set_value(group->tempo, round(bpm));
  }
  adw_action_row_set_subtitle(group->tempo_row, words);
  gtk_widget_set_sensitive(group->reset, isfinite(group->asked));
  group->showing = FALSE;
  g_free(words);
}

static void
tempo_changed(SrTempoGroup* const group)
{
  if (!group->showing) {
    group->asked = gtk_spin_button_get_value(group->tempo);
    gtk_widget_set_sensitive(group->reset, TRUE);
  }
}

void
sr_tempo_group_reset(SrTempoGroup* const group)
{
  group->asked = (double)NAN;
  show_tempo(group);
}

void
sr_tempo_group_set_own(SrTempoGroup* const group, const double bpm)
{
  group->own = bpm;
  show_tempo(group);
}

static void
click_changed(SrTempoGroup* const group)
{
  gtk_widget_set_sensitive(GTK_WIDGET(group->silent_bars),
                           adw_combo_row_get_selected(group->click) != NO_CLICK);
}

void
sr_tempo_group_show(SrTempoGroup* const group, const SrSessionSettings* const settings,
                    const gboolean click)
{
  const bool silences = settings->on_bars > 0 && settings->off_bars > 0;
  adw_combo_row_set_selected(group->click, !click                 ? NO_CLICK
                                           : settings->click_bars ? FIRST_PULSE
                                                                  : EVERY_PULSE);
  gtk_spin_button_set_value(group->on_bars, silences ? settings->on_bars : USUAL_BARS);
  gtk_spin_button_set_value(group->off_bars, silences ? settings->off_bars : USUAL_BARS);
  adw_expander_row_set_enable_expansion(group->silent_bars, silences);
  group->asked = settings->judge.target_bpm;
  show_tempo(group);
  click_changed(group);
}

gboolean
sr_tempo_group_get(SrTempoGroup* const group, SrSessionSettings* const settings)
{
  const guint click = adw_combo_row_get_selected(group->click);
  const bool silences = adw_expander_row_get_enable_expansion(group->silent_bars);
  // What is being typed counts
  gtk_spin_button_update(group->tempo);
  gtk_spin_button_update(group->on_bars);
  gtk_spin_button_update(group->off_bars);
  settings->judge.target_bpm = group->asked;
  settings->click_bars = click == FIRST_PULSE;
  settings->on_bars = silences ? (unsigned)gtk_spin_button_get_value_as_int(group->on_bars) : 0;
  settings->off_bars = silences ? (unsigned)gtk_spin_button_get_value_as_int(group->off_bars) : 0;
  return click != NO_CLICK;
}

static void
sr_tempo_group_class_init(SrTempoGroupClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/tempo_group.ui");
  gtk_widget_class_bind_template_child(widget, SrTempoGroup, tempo);
  gtk_widget_class_bind_template_child(widget, SrTempoGroup, tempo_row);
  gtk_widget_class_bind_template_child(widget, SrTempoGroup, reset);
  gtk_widget_class_bind_template_child(widget, SrTempoGroup, click);
  gtk_widget_class_bind_template_child(widget, SrTempoGroup, silent_bars);
  gtk_widget_class_bind_template_child(widget, SrTempoGroup, on_bars);
  gtk_widget_class_bind_template_child(widget, SrTempoGroup, off_bars);
  gtk_widget_class_bind_template_callback(widget, tempo_changed);
  gtk_widget_class_bind_template_callback(widget, click_changed);
  gtk_widget_class_bind_template_callback_full(widget, "reset_tempo",
                                               G_CALLBACK(sr_tempo_group_reset));
}

static void
sr_tempo_group_init(SrTempoGroup* const group)
{
  group->own = (double)NAN;
  group->asked = (double)NAN;
  group->showing = TRUE;
  gtk_widget_init_template(GTK_WIDGET(group));
  gtk_spin_button_set_range(group->tempo, SR_SLOWEST_BPM, SR_FASTEST_BPM);
  group->showing = FALSE;
}
