// SPDX-License-Identifier: GPL-3.0-or-later

#include "place_row.h"

struct _SrPlaceRow {
  AdwActionRow parent_instance;
  char* path;
};

G_DEFINE_FINAL_TYPE(SrPlaceRow, sr_place_row, ADW_TYPE_ACTION_ROW)

static void
pick(GtkWidget* const widget, const char* const name, GVariant* const parameter)
{
  (void)name;
  (void)parameter;
  adw_action_row_activate(ADW_ACTION_ROW(widget));
}

static void
row_finalize(GObject* const object)
{
  g_free(SR_PLACE_ROW(object)->path);
  G_OBJECT_CLASS(sr_place_row_parent_class)->finalize(object);
}

static void
sr_place_row_class_init(SrPlaceRowClass* const class)
{
  G_OBJECT_CLASS(class)->finalize = row_finalize;
  gtk_widget_class_install_action(GTK_WIDGET_CLASS(class), "place.pick", NULL, pick);
}

static void
sr_place_row_init(SrPlaceRow* const row)
{
  (void)row;
}

GtkWidget*
sr_place_row_new(const SrPhrasePlace* const place)
{
  SrPlaceRow* const row = SR_PLACE_ROW(g_object_new(SR_TYPE_PLACE_ROW, NULL));
  const char* const about = place->about ? place->about : "";
  row->path = g_strdup(place->path);
  adw_preferences_row_set_use_markup(ADW_PREFERENCES_ROW(row), FALSE);
  adw_preferences_row_set_title(ADW_PREFERENCES_ROW(row), place->title);
  adw_action_row_set_subtitle(ADW_ACTION_ROW(row), about);
  gtk_list_box_row_set_activatable(GTK_LIST_BOX_ROW(row), TRUE);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, about,
                                 -1);
  return GTK_WIDGET(row);
}

const char*
sr_place_row_path(SrPlaceRow* const row)
{
  return row->path;
}
