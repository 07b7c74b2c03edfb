// SPDX-License-Identifier: GPL-3.0-or-later

#include "buttons_group.h"

#include <steadyreed/layout.h>

struct _SrButtonsGroup {
  AdwPreferencesGroup parent_instance;
  GtkSwitch* planned;
  AdwComboRow* layout;
  AdwComboRow* style;
  GtkStringList* layout_titles;
  GtkStringList* style_titles;
  GPtrArray* layouts; ///< Names as in SrChoice, in the order of the rows
  GPtrArray* styles;
  gboolean showing; ///< The program changes it, not the player
};

G_DEFINE_FINAL_TYPE(SrButtonsGroup, sr_buttons_group, ADW_TYPE_PREFERENCES_GROUP)

enum { CHANGED, SIGNALS };
static guint signals[SIGNALS];

static void
changed(SrButtonsGroup* const group)
{
  if (!group->showing) {
    g_signal_emit(group, signals[CHANGED], 0);
  }
}

/// A row for a value under a title, unless there is one for it; its index.
static guint
add_value(GPtrArray* const values, GtkStringList* const titles, const char* const value,
          const char* const title)
{
  guint index = 0;
  if (!g_ptr_array_find_with_equal_func(values, value, g_str_equal, &index)) {
    index = values->len;
    g_ptr_array_add(values, g_strdup(value));
    gtk_string_list_append(titles, title);
  }
  return index;
}

/// A row for the value that is chosen though it is not one of the usual ones: a file, say.
static guint
add_chosen(GPtrArray* const values, GtkStringList* const titles, const char* const value)
{
  char* const name = g_filename_display_basename(value);
  const guint index = add_value(values, titles, value, name);
  g_free(name);
  return index;
}

static void
clear(GPtrArray* const values, GtkStringList* const titles)
{
  g_ptr_array_set_size(values, 0);
  gtk_string_list_splice(titles, 0, g_list_model_get_n_items(G_LIST_MODEL(titles)), NULL);
}

static void
list_layouts(SrButtonsGroup* const group)
{
  SrLayoutEntry* entries = NULL;
  size_t count = 0;
  // Without the shipped ones the chosen one is left
  (void)sr_layout_list(&entries, &count, NULL);
  for (size_t i = 0; i < count; ++i) {
    SrInstrument* instrument = NULL;
    const char* title = "";
    if (sr_layout_read(entries[i].name, &instrument, NULL) == SR_OK) {
      title = sr_instrument_title(instrument);
    }
    char* const words = !title[0]        ? g_strdup(entries[i].name)
                        : entries[i].own ? g_strdup_printf("%s (your own)", title)
                                         : g_strdup(title);
    (void)add_value(group->layouts, group->layout_titles, entries[i].name, words);
    g_free(words);
    sr_instrument_del(instrument);
  }
  sr_layout_list_del(entries, count);
}

static void
list_styles(SrButtonsGroup* const group)
{
  const char* name = NULL;
  for (size_t i = 0; (name = sr_plan_wish_style_name(i)); ++i) {
    char* const words = g_strdup_printf("%s the rows", name);
    words[0] = g_ascii_toupper(words[0]);
    (void)add_value(group->styles, group->style_titles, name, words);
    g_free(words);
  }
}

void
sr_buttons_group_show(SrButtonsGroup* const group, const SrChoice* const choice)
{
  group->showing = TRUE;
  clear(group->layouts, group->layout_titles);
  clear(group->styles, group->style_titles);
  list_layouts(group);
  list_styles(group);
  const char* const layout = choice->layout ? choice->layout : SR_USUAL_LAYOUT;
  const char* const style = choice->style ? choice->style : sr_plan_wish_style_name(0);
  adw_combo_row_set_selected(group->layout,
                             add_chosen(group->layouts, group->layout_titles, layout));
  adw_combo_row_set_selected(group->style, add_chosen(group->styles, group->style_titles, style));
  gtk_switch_set_active(group->planned, !choice->unplanned);
  group->showing = FALSE;
}

/// Replace a name, unless it stands for the usual one and none was named.
static void
take_name(char** const name, const GPtrArray* const values, const guint selected,
          const char* const usual)
{
  const char* const value =
      selected < values->len ? (const char*)g_ptr_array_index(values, selected) : usual;
  if (!g_str_equal(value, *name ? *name : usual)) {
    g_free(*name);
    *name = g_strdup(value);
  }
}

void
sr_buttons_group_get(SrButtonsGroup* const group, SrChoice* const choice)
{
  take_name(&choice->layout, group->layouts, adw_combo_row_get_selected(group->layout),
            SR_USUAL_LAYOUT);
  take_name(&choice->style, group->styles, adw_combo_row_get_selected(group->style),
            sr_plan_wish_style_name(0));
  choice->unplanned = !gtk_switch_get_active(group->planned);
}

static void
group_dispose(GObject* const object)
{
  SrButtonsGroup* const group = SR_BUTTONS_GROUP(object);
  group->showing = TRUE;
  g_clear_pointer(&group->layouts, g_ptr_array_unref);
  g_clear_pointer(&group->styles, g_ptr_array_unref);
  G_OBJECT_CLASS(sr_buttons_group_parent_class)->dispose(object);
}

static void
sr_buttons_group_class_init(SrButtonsGroupClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = group_dispose;
  signals[CHANGED] = g_signal_new("changed", SR_TYPE_BUTTONS_GROUP, G_SIGNAL_RUN_LAST, 0, NULL,
                                  NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_set_template_from_resource(widget,
                                              "/org/steadyreed/Steadyreed/buttons_group.ui");
  gtk_widget_class_bind_template_child(widget, SrButtonsGroup, planned);
  gtk_widget_class_bind_template_child(widget, SrButtonsGroup, layout);
  gtk_widget_class_bind_template_child(widget, SrButtonsGroup, style);
  gtk_widget_class_bind_template_child(widget, SrButtonsGroup, layout_titles);
  gtk_widget_class_bind_template_child(widget, SrButtonsGroup, style_titles);
  gtk_widget_class_bind_template_callback(widget, changed);
}

static void
sr_buttons_group_init(SrButtonsGroup* const group)
{
  group->showing = TRUE;
  group->layouts = g_ptr_array_new_with_free_func(g_free);
  group->styles = g_ptr_array_new_with_free_func(g_free);
  gtk_widget_init_template(GTK_WIDGET(group));
  group->showing = FALSE;
}
