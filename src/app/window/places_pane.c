// SPDX-License-Identifier: GPL-3.0-or-later

#include "places_pane.h"

struct _SrPlacesPane {
  AdwBin parent_instance;
  AdwPreferencesGroup* recent;
  AdwPreferencesGroup* exercises;
};

G_DEFINE_FINAL_TYPE(SrPlacesPane, sr_places_pane, ADW_TYPE_BIN)

enum { PICKED, OPEN_ASKED, SIGNALS };
static guint signals[SIGNALS];

static void
pick(AdwActionRow* const row, SrPlacesPane* const pane)
{
  g_signal_emit(pane, signals[PICKED], 0, g_object_get_data(G_OBJECT(row), "path"));
}

static void
ask_open(SrPlacesPane* const pane)
{
  g_signal_emit(pane, signals[OPEN_ASKED], 0);
}

static void
add_row(SrPlacesPane* const pane, AdwPreferencesGroup* const group,
        const SrPhrasePlace* const place)
{
  GtkWidget* const row = adw_action_row_new();
  const char* const about = place->about ? place->about : "";
  adw_preferences_row_set_use_markup(ADW_PREFERENCES_ROW(row), FALSE);
  adw_preferences_row_set_title(ADW_PREFERENCES_ROW(row), place->title);
  adw_action_row_set_subtitle(ADW_ACTION_ROW(row), about);
  gtk_list_box_row_set_activatable(GTK_LIST_BOX_ROW(row), TRUE);
  g_object_set_data_full(G_OBJECT(row), "path", g_strdup(place->path), g_free);
  g_signal_connect(row, "activated", G_CALLBACK(pick), pane);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_LABEL, place->title,
                                 GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, about, -1);
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
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/places_pane.ui");
  gtk_widget_class_bind_template_child(widget, SrPlacesPane, recent);
  gtk_widget_class_bind_template_child(widget, SrPlacesPane, exercises);
  gtk_widget_class_bind_template_callback(widget, ask_open);
}

static void
sr_places_pane_init(SrPlacesPane* const pane)
{
  gtk_widget_init_template(GTK_WIDGET(pane));
}
