// SPDX-License-Identifier: GPL-3.0-or-later

#include "places_pane.h"

#include "place_row.h"

struct _SrPlacesPane {
  AdwBin parent_instance;
  AdwPreferencesGroup* recent;
  AdwPreferencesGroup* exercises;
};

G_DEFINE_FINAL_TYPE(SrPlacesPane, sr_places_pane, ADW_TYPE_BIN)

enum { PICKED, OPEN_ASKED, RECORDING_ASKED, SIGNALS };
static guint signals[SIGNALS];

static void
pick(SrPlaceRow* const row, SrPlacesPane* const pane)
{
  g_signal_emit(pane, signals[PICKED], 0, sr_place_row_path(row));
}

static void
ask_open(SrPlacesPane* const pane)
{
  g_signal_emit(pane, signals[OPEN_ASKED], 0);
}

static void
ask_recording(SrPlacesPane* const pane)
{
  g_signal_emit(pane, signals[RECORDING_ASKED], 0);
}

static void
add_row(SrPlacesPane* const pane, AdwPreferencesGroup* const group,
        const SrPhrasePlace* const place)
{
  GtkWidget* const row = sr_place_row_new(place);
  g_signal_connect(row, "activated", G_CALLBACK(pick), pane);
  adw_preferences_group_add(group, row);
}

void
sr_places_pane_show(SrPlacesPane* const pane, const SrPhrasePlaces* const places)
{
  for (guint i = 0; i < places->recent->len; ++i) {
    add_row(pane, pane->recent, (const SrPhrasePlace*)g_ptr_array_index(places->recent, i));
  }
  for (guint i = 0; i < places->exercises->len; ++i) {
    add_row(pane, pane->exercises, (const SrPhrasePlace*)g_ptr_array_index(places->exercises, i));
  }
  gtk_widget_set_visible(GTK_WIDGET(pane->recent), places->recent->len > 0);
  gtk_widget_set_visible(GTK_WIDGET(pane->exercises), places->exercises->len > 0);
}

static void
sr_places_pane_class_init(SrPlacesPaneClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  signals[PICKED] = g_signal_new("picked", SR_TYPE_PLACES_PANE, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  signals[OPEN_ASKED] = g_signal_new("open-asked", SR_TYPE_PLACES_PANE, G_SIGNAL_RUN_LAST, 0, NULL,
                                     NULL, NULL, G_TYPE_NONE, 0);
  signals[RECORDING_ASKED] = g_signal_new("recording-asked", SR_TYPE_PLACES_PANE, G_SIGNAL_RUN_LAST,
                                          0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/places_pane.ui");
  gtk_widget_class_bind_template_child(widget, SrPlacesPane, recent);
  gtk_widget_class_bind_template_child(widget, SrPlacesPane, exercises);
  gtk_widget_class_bind_template_callback(widget, ask_open);
  gtk_widget_class_bind_template_callback(widget, ask_recording);
}

static void
sr_places_pane_init(SrPlacesPane* const pane)
{
  gtk_widget_init_template(GTK_WIDGET(pane));
}
