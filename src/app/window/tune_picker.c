// SPDX-License-Identifier: GPL-3.0-or-later

#include "tune_picker.h"

/// Tunes that are searched at once; more are searched while the window goes on.
#define MOST_AT_ONCE 10000u

struct _SrTunePicker {
  GtkBox parent_instance;
  GtkSearchEntry* search;
  GtkListView* list;
  GtkStack* stack;
  GtkFilterListModel* filtered;
  GtkCustomFilter* filter;
  char* words; ///< Folded
};

G_DEFINE_FINAL_TYPE(SrTunePicker, sr_tune_picker, GTK_TYPE_BOX)

enum { PICKED, SIGNALS };
static guint signals[SIGNALS];

static gboolean
matches(void* const item, void* const data)
{
  const SrTunePicker* const picker = SR_TUNE_PICKER(data);
  return sr_tune_item_matches(SR_TUNE_ITEM(item), picker->words);
}

static void
show_found(SrTunePicker* const picker)
{
  const bool any = g_list_model_get_n_items(G_LIST_MODEL(picker->filtered)) > 0;
  gtk_stack_set_visible_child_name(picker->stack, any ? "list" : "nothing");
}

static void
search_changed(SrTunePicker* const picker)
{
  char* const words = g_strstrip(g_strdup(gtk_editable_get_text(GTK_EDITABLE(picker->search))));
  char* const folded = g_utf8_casefold(words, -1);
  const GtkFilterChange change = g_str_has_prefix(folded, picker->words)
                                     ? GTK_FILTER_CHANGE_MORE_STRICT
                                     : GTK_FILTER_CHANGE_DIFFERENT;
  const bool filters = gtk_filter_list_model_get_filter(picker->filtered) != NULL;
  g_free(words);
  g_free(picker->words);
  picker->words = folded;
  // Without words no item need be made to be looked at
  if (folded[0] && filters) {
    gtk_filter_changed(GTK_FILTER(picker->filter), change);
  } else if (filters || folded[0]) {
    gtk_filter_list_model_set_filter(picker->filtered,
                                     folded[0] ? GTK_FILTER(picker->filter) : NULL);
  }
}

static void
pick(SrTunePicker* const picker, const guint index)
{
  SrTuneItem* const item =
      SR_TUNE_ITEM(g_list_model_get_item(G_LIST_MODEL(picker->filtered), index));
  if (item) {
    g_signal_emit(picker, signals[PICKED], 0, item);
    g_object_unref(item);
  }
}

/// Enter in the search field takes the first that is found for what is typed by then.
static void
pick_first(SrTunePicker* const picker)
{
  search_changed(picker);
  pick(picker, 0);
}

static GtkWidget*
add_label(GtkWidget* const box, const char* const class)
{
  GtkWidget* const label = gtk_label_new("");
  gtk_label_set_xalign(GTK_LABEL(label), 0.0f);
  gtk_label_set_ellipsize(GTK_LABEL(label), PANGO_ELLIPSIZE_END);
  gtk_widget_add_css_class(label, class);
  gtk_box_append(GTK_BOX(box), label);
  return label;
}

static void
make_row(GtkSignalListItemFactory* const factory, GtkListItem* const row)
{
  (void)factory;
  GtkWidget* const box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 2);
  gtk_widget_set_margin_top(box, 6);
  gtk_widget_set_margin_bottom(box, 6);
  (void)add_label(box, "tune-title");
  (void)add_label(box, "dim-label");
  gtk_list_item_set_child(row, box);
}

static void
fill_row(GtkSignalListItemFactory* const factory, GtkListItem* const row)
{
  (void)factory;
  GtkWidget* const box = gtk_list_item_get_child(row);
  GtkWidget* const title = gtk_widget_get_first_child(box);
  GtkWidget* const under = gtk_widget_get_next_sibling(title);
  const SrTuneEntry* const entry = sr_tune_item_entry(SR_TUNE_ITEM(gtk_list_item_get_item(row)));
  const char* const name = entry->title[0] ? entry->title : "Untitled";
  char* const more =
      g_strdup_printf("X:%d%s%s", entry->number, entry->rhythm[0] ? " · " : "", entry->rhythm);
  char* const spoken = g_strdup_printf("%s, %s", name, more);
  gtk_label_set_label(GTK_LABEL(title), name);
  gtk_label_set_label(GTK_LABEL(under), more);
  // The row itself is what a screen reader comes to
  gtk_accessible_update_property(GTK_ACCESSIBLE(gtk_widget_get_parent(box)),
                                 GTK_ACCESSIBLE_PROPERTY_LABEL, spoken, -1);
  g_free(more);
  g_free(spoken);
}

void
sr_tune_picker_show(SrTunePicker* const picker, SrTuneModel* const model)
{
  const guint count = model ? g_list_model_get_n_items(G_LIST_MODEL(model)) : 0;
  gtk_editable_set_text(GTK_EDITABLE(picker->search), "");
  search_changed(picker);
  gtk_filter_list_model_set_incremental(picker->filtered, count > MOST_AT_ONCE);
  gtk_filter_list_model_set_model(picker->filtered, G_LIST_MODEL(model));
  show_found(picker);
}

void
sr_tune_picker_focus(SrTunePicker* const picker)
{
  gtk_widget_grab_focus(GTK_WIDGET(picker->search));
}

static void
picker_dispose(GObject* const object)
{
  SrTunePicker* const picker = SR_TUNE_PICKER(object);
  if (picker->filtered) {
    g_signal_handlers_disconnect_by_data(picker->filtered, picker);
    gtk_filter_list_model_set_filter(picker->filtered, NULL);
  }
  g_clear_object(&picker->filtered);
  g_clear_object(&picker->filter);
  g_clear_pointer(&picker->words, g_free);
  G_OBJECT_CLASS(sr_tune_picker_parent_class)->dispose(object);
}

static void
sr_tune_picker_class_init(SrTunePickerClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = picker_dispose;
  signals[PICKED] = g_signal_new("picked", SR_TYPE_TUNE_PICKER, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 1, SR_TYPE_TUNE_ITEM);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/tune_picker.ui");
  gtk_widget_class_bind_template_child(widget, SrTunePicker, search);
  gtk_widget_class_bind_template_child(widget, SrTunePicker, list);
  gtk_widget_class_bind_template_child(widget, SrTunePicker, stack);
  gtk_widget_class_bind_template_callback(widget, search_changed);
  gtk_widget_class_bind_template_callback(widget, pick_first);
  gtk_widget_class_bind_template_callback(widget, pick);
}

static void
sr_tune_picker_init(SrTunePicker* const picker)
{
  picker->words = g_strdup("");
  gtk_widget_init_template(GTK_WIDGET(picker));
  picker->filter = gtk_custom_filter_new(matches, picker, NULL);
  picker->filtered = gtk_filter_list_model_new(NULL, NULL);
  g_signal_connect_swapped(picker->filtered, "items-changed", G_CALLBACK(show_found), picker);
  GtkListItemFactory* const factory = gtk_signal_list_item_factory_new();
  g_signal_connect(factory, "setup", G_CALLBACK(make_row), NULL);
  g_signal_connect(factory, "bind", G_CALLBACK(fill_row), NULL);
  gtk_list_view_set_factory(picker->list, factory);
  g_object_unref(factory);
  GtkSingleSelection* const selection =
      gtk_single_selection_new(G_LIST_MODEL(g_object_ref(picker->filtered)));
  gtk_list_view_set_model(picker->list, GTK_SELECTION_MODEL(selection));
  g_object_unref(selection);
}
