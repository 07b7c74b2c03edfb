// SPDX-License-Identifier: GPL-3.0-or-later

#include "bars_group.h"

struct _SrBarsGroup {
  AdwPreferencesGroup parent_instance;
  AdwComboRow* part;
  AdwActionRow* first_row;
  GtkStringList* part_names;
  GtkSpinButton* first;
  GtkSpinButton* last;
  GtkSpinButton* transpose;
  GtkWidget* whole;
  SrTuneOutline outline;
  gboolean showing; ///< The program changes it, not the player
};

G_DEFINE_FINAL_TYPE(SrBarsGroup, sr_bars_group, ADW_TYPE_PREFERENCES_GROUP)

enum { CHANGED, SIGNALS };
static guint signals[SIGNALS];

/// The part that is chosen; NULL for all.
static const SrTunePart*
part_of(const SrBarsGroup* const group)
{
  const guint selected = adw_combo_row_get_selected(group->part);
  return selected > 0 && selected <= group->outline.part_count ? &group->outline.parts[selected - 1]
                                                               : NULL;
}

static int
lowest(const SrBarsGroup* const group)
{
  const SrTunePart* const part = part_of(group);
  return part ? part->first_bar : group->outline.first_bar;
}

static int
highest(const SrBarsGroup* const group)
{
  const SrTunePart* const part = part_of(group);
  return part ? part->last_bar : group->outline.last_bar;
}

static bool
is_whole(const SrBarsGroup* const group)
{
  return gtk_spin_button_get_value_as_int(group->first) <= lowest(group) &&
         gtk_spin_button_get_value_as_int(group->last) >= highest(group);
}

/// Show a range of bars, as far as the part has them; all if `last` is 0.
static void
show_bars(SrBarsGroup* const group, const int first, const int last)
{
  const int least = lowest(group);
  const int most = highest(group);
  group->showing = TRUE;
  gtk_spin_button_set_range(group->first, least, most);
  gtk_spin_button_set_range(group->last, MAX(least, MIN(1, most)), most);
  gtk_spin_button_set_value(group->first, last ? first : least);
  gtk_spin_button_set_value(group->last, last ? last : most);
  adw_action_row_set_subtitle(group->first_row, least == 0 ? "0 is the pickup" : "");
  gtk_widget_set_sensitive(group->whole, !is_whole(group));
  group->showing = FALSE;
}

static void
tell(SrBarsGroup* const group)
{
  gtk_widget_set_sensitive(group->whole, !is_whole(group));
  g_signal_emit(group, signals[CHANGED], 0);
}

static void
part_changed(SrBarsGroup* const group)
{
  if (!group->showing) {
    show_bars(group, 0, 0);
    tell(group);
  }
}

/// The range never ends before it begins: the other end moves with the one that is changed.
static void
first_changed(SrBarsGroup* const group)
{
  if (!group->showing) {
    const int first = gtk_spin_button_get_value_as_int(group->first);
    show_bars(group, first, MAX(gtk_spin_button_get_value_as_int(group->last), MAX(first, 1)));
    tell(group);
  }
}

static void
last_changed(SrBarsGroup* const group)
{
  if (!group->showing) {
    const int last = gtk_spin_button_get_value_as_int(group->last);
    show_bars(group, MIN(gtk_spin_button_get_value_as_int(group->first), last), last);
    tell(group);
  }
}

static void
choose_whole(SrBarsGroup* const group)
{
  show_bars(group, 0, 0);
  tell(group);
}

static void
transpose_changed(SrBarsGroup* const group)
{
  if (!group->showing) {
    tell(group);
  }
}

void
sr_bars_group_show(SrBarsGroup* const group, const SrTuneOutline* const outline,
                   const SrChoice* const choice)
{
  guint selected = 0;
  group->showing = TRUE;
  group->outline = *outline;
  gtk_string_list_splice(group->part_names, 0,
                         g_list_model_get_n_items(G_LIST_MODEL(group->part_names)), NULL);
  gtk_string_list_append(group->part_names, "All");
  for (size_t i = 0; i < outline->part_count; ++i) {
    const SrTunePart* const part = &outline->parts[i];
    char* const name =
        part->first_bar == part->last_bar
            ? g_strdup_printf("%c, bar %d", part->letter, part->last_bar)
            : g_strdup_printf("%c, bars %d to %d", part->letter, part->first_bar, part->last_bar);
    gtk_string_list_append(group->part_names, name);
    g_free(name);
    selected = part->letter == choice->part ? (guint)i + 1 : selected;
  }
  adw_combo_row_set_selected(group->part, selected);
  gtk_widget_set_visible(GTK_WIDGET(group->part), outline->part_count > 1);
  gtk_spin_button_set_value(group->transpose, choice->transpose);
  group->showing = FALSE;
  show_bars(group, choice->first_bar, choice->last_bar);
  // What the tune does not have is shown otherwise than chosen: one press chooses what there is
  SrChoice shown = *choice;
  sr_bars_group_get(group, &shown);
  if (shown.part != choice->part || shown.first_bar != choice->first_bar ||
      shown.last_bar != choice->last_bar) {
    gtk_widget_set_sensitive(group->whole, TRUE);
  }
}

void
sr_bars_group_commit(SrBarsGroup* const group)
{
  gtk_spin_button_update(group->first);
  gtk_spin_button_update(group->last);
  gtk_spin_button_update(group->transpose);
}

void
sr_bars_group_get(SrBarsGroup* const group, SrChoice* const choice)
{
  const SrTunePart* const part = part_of(group);
  const bool whole = is_whole(group);
  choice->part = (char)(part ? part->letter : '\0');
  choice->first_bar = whole ? 0 : gtk_spin_button_get_value_as_int(group->first);
  choice->last_bar = whole ? 0 : gtk_spin_button_get_value_as_int(group->last);
  choice->transpose = gtk_spin_button_get_value_as_int(group->transpose);
}

static void
sr_bars_group_class_init(SrBarsGroupClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  signals[CHANGED] = g_signal_new("changed", SR_TYPE_BARS_GROUP, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                  NULL, G_TYPE_NONE, 0);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/bars_group.ui");
  gtk_widget_class_bind_template_child(widget, SrBarsGroup, part);
  gtk_widget_class_bind_template_child(widget, SrBarsGroup, first_row);
  gtk_widget_class_bind_template_child(widget, SrBarsGroup, part_names);
  gtk_widget_class_bind_template_child(widget, SrBarsGroup, first);
  gtk_widget_class_bind_template_child(widget, SrBarsGroup, last);
  gtk_widget_class_bind_template_child(widget, SrBarsGroup, transpose);
  gtk_widget_class_bind_template_child(widget, SrBarsGroup, whole);
  gtk_widget_class_bind_template_callback(widget, part_changed);
  gtk_widget_class_bind_template_callback(widget, first_changed);
  gtk_widget_class_bind_template_callback(widget, last_changed);
  gtk_widget_class_bind_template_callback(widget, transpose_changed);
  gtk_widget_class_bind_template_callback(widget, choose_whole);
}

static void
sr_bars_group_init(SrBarsGroup* const group)
{
  group->showing = TRUE;
  gtk_widget_init_template(GTK_WIDGET(group));
  group->showing = FALSE;
}
