// SPDX-License-Identifier: GPL-3.0-or-later

#include "begin_group.h"

/// The ready note counts in any octave: this is the one that is kept, C4 to B4.
#define LOWEST_READY 60
#define USUAL_READY 62
#define USUAL_WAIT_S 8.0

struct _SrBeginGroup {
  AdwPreferencesGroup parent_instance;
  AdwComboRow* when;
  AdwComboRow* note;
  GtkWidget* wait_row;
  GtkSpinButton* wait;
  GtkSwitch* each;
};

G_DEFINE_FINAL_TYPE(SrBeginGroup, sr_begin_group, ADW_TYPE_PREFERENCES_GROUP)

/// Rows of `when`, in the order of the template.
enum { AT_ONCE, ON_NOTE, AFTER_WAIT, NOTE_OR_WAIT };

static gboolean
has_note(const guint when)
{
  return when == ON_NOTE || when == NOTE_OR_WAIT;
}

static gboolean
has_wait(const guint when)
{
  return when == AFTER_WAIT || when == NOTE_OR_WAIT;
}

static void
when_changed(SrBeginGroup* const group)
{
  const guint when = adw_combo_row_get_selected(group->when);
  gtk_widget_set_visible(GTK_WIDGET(group->note), has_note(when));
  gtk_widget_set_visible(group->wait_row, has_wait(when));
}

void
sr_begin_group_show(SrBeginGroup* const group, const SrSessionSettings* const settings)
{
  const gboolean note = settings->ready_midi >= 0;
  const gboolean wait = settings->start_wait_s > 0.0;
  const int midi = note ? settings->ready_midi : USUAL_READY;
  adw_combo_row_set_selected(group->when, note && wait ? NOTE_OR_WAIT
                                          : note       ? ON_NOTE
                                          : wait       ? AFTER_WAIT
                                                       : AT_ONCE);
  adw_combo_row_set_selected(group->note, (guint)(midi % 12));
  gtk_spin_button_set_value(group->wait, wait ? settings->start_wait_s : USUAL_WAIT_S);
  gtk_switch_set_active(group->each, settings->count_in_each);
  when_changed(group);
}

void
sr_begin_group_get(SrBeginGroup* const group, SrSessionSettings* const settings)
{
  const guint when = adw_combo_row_get_selected(group->when);
  gtk_spin_button_update(group->wait);
  settings->ready_midi =
      has_note(when) ? LOWEST_READY + (int)adw_combo_row_get_selected(group->note) : -1;
  settings->start_wait_s = has_wait(when) ? gtk_spin_button_get_value(group->wait) : 0.0;
  settings->count_in_each = gtk_switch_get_active(group->each);
}

static void
sr_begin_group_class_init(SrBeginGroupClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/begin_group.ui");
  gtk_widget_class_bind_template_child(widget, SrBeginGroup, when);
  gtk_widget_class_bind_template_child(widget, SrBeginGroup, note);
  gtk_widget_class_bind_template_child(widget, SrBeginGroup, wait_row);
  gtk_widget_class_bind_template_child(widget, SrBeginGroup, wait);
  gtk_widget_class_bind_template_child(widget, SrBeginGroup, each);
  gtk_widget_class_bind_template_callback(widget, when_changed);
}

static void
sr_begin_group_init(SrBeginGroup* const group)
{
  gtk_widget_init_template(GTK_WIDGET(group));
}
