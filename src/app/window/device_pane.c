// SPDX-License-Identifier: GPL-3.0-or-later

#include "device_pane.h"

#include "owned_task.h"

#include <steadyreed/stream.h>

#include <stdlib.h>

/// A list and what each of its places stands for.
typedef struct {
  GtkDropDown* list;
  GPtrArray* values; ///< As in SrStreamSettings; NULL first, for the usual one
  char* current;
} Choice;

struct _SrDevicePane {
  GtkBox parent_instance;
  Choice input;
  Choice output;
  GtkLabel* trouble;
  gboolean busy;
};

G_DEFINE_FINAL_TYPE(SrDevicePane, sr_device_pane, GTK_TYPE_BOX)

enum { LISTED, SIGNALS };
static guint signals[SIGNALS];

/// What the other thread found.
typedef struct {
  SrDevice* devices;
  size_t count;
  SrStatus status;
  SrError error;
} Listed;

static void
free_listed(void* const data)
{
  Listed* const listed = (Listed*)data;
  free(listed->devices);
  g_free(listed);
}

static void
list_devices(GTask* const task, void* const source, void* const data,
             GCancellable* const cancellable)
{
  (void)source;
  (void)cancellable;
  Listed* const listed = (Listed*)data;
  listed->status = sr_devices_list(&listed->devices, &listed->count, &listed->error);
  g_task_return_boolean(task, TRUE);
}

/// Whether a name stands for one device of its direction only.
static bool
is_unique(const Listed* const listed, const size_t index, const bool input)
{
  for (size_t i = 0; i < listed->count; ++i) {
    const SrDevice* const other = &listed->devices[i];
    if (i != index && (input ? other->inputs : other->outputs) > 0 &&
        g_str_equal(other->name, listed->devices[index].name)) {
      return false;
    }
  }
  return true;
}

/// Offer another one; `value` is taken.
static void
offer(Choice* const choice, GtkStringList* const words, const char* const name, char* const value)
{
  gtk_string_list_append(words, name);
  g_ptr_array_add(choice->values, value);
}

static void
fill(Choice* const choice, const Listed* const listed, const bool input)
{
  GtkStringList* const words = gtk_string_list_new(NULL);
  guint selected = choice->current ? G_MAXUINT : 0;
  g_ptr_array_set_size(choice->values, 0);
  offer(choice, words, "The usual one", NULL);
  for (size_t i = 0; i < listed->count; ++i) {
    const SrDevice* const device = &listed->devices[i];
    if ((input ? device->inputs : device->outputs) <= 0) {
      continue;
    }
    // Two of one name are told apart by their number and their sound system
    const bool unique = is_unique(listed, i, input);
    char* const name =
        unique ? g_strdup(device->name) : g_strdup_printf("%s (%s)", device->name, device->system);
    char* const value = unique ? g_strdup(device->name) : g_strdup_printf("%d", device->number);
    offer(choice, words, name, value);
    selected = g_strcmp0(choice->current, value) == 0 ? choice->values->len - 1 : selected;
    g_free(name);
  }
  if (selected == G_MAXUINT) {
    offer(choice, words, choice->current, g_strdup(choice->current));
    selected = choice->values->len - 1;
  }
  gtk_drop_down_set_model(choice->list, G_LIST_MODEL(words));
  gtk_drop_down_set_selected(choice->list, selected);
  g_object_unref(words);
}

static void
take_list(GObject* const object, GAsyncResult* const result, void* const data)
{
  (void)data;
  SrDevicePane* const pane = SR_DEVICE_PANE(object);
  const Listed* const listed = (const Listed*)g_task_get_task_data(G_TASK(result));
  (void)g_task_propagate_boolean(G_TASK(result), NULL);
  fill(&pane->input, listed, true);
  fill(&pane->output, listed, false);
  gtk_label_set_label(pane->trouble, listed->status == SR_OK ? "" : listed->error.message);
  gtk_widget_set_visible(GTK_WIDGET(pane->trouble), listed->status != SR_OK);
  gtk_widget_set_sensitive(GTK_WIDGET(pane), TRUE);
  pane->busy = FALSE;
  g_signal_emit(pane, signals[LISTED], 0);
}

void
sr_device_pane_list(SrDevicePane* const pane, const char* const input, const char* const output)
{
  g_free(pane->input.current);
  g_free(pane->output.current);
  pane->input.current = g_strdup(input && input[0] ? input : NULL);
  pane->output.current = g_strdup(output && output[0] ? output : NULL);
  pane->busy = TRUE;
  gtk_widget_set_sensitive(GTK_WIDGET(pane), FALSE);
  GTask* const task = sr_owned_task_new(G_OBJECT(pane), NULL, take_list);
  g_task_set_task_data(task, g_new0(Listed, 1), free_listed);
  g_task_run_in_thread(task, list_devices);
  g_object_unref(task);
}

gboolean
sr_device_pane_busy(SrDevicePane* const pane)
{
  return pane->busy;
}

static const char*
value_of(const Choice* const choice)
{
  const guint selected = gtk_drop_down_get_selected(choice->list);
  return selected < choice->values->len ? (const char*)g_ptr_array_index(choice->values, selected)
                                        : choice->current;
}

const char*
sr_device_pane_input(SrDevicePane* const pane)
{
  return value_of(&pane->input);
}

const char*
sr_device_pane_output(SrDevicePane* const pane)
{
  return value_of(&pane->output);
}

static void
set_up_item(GtkListItemFactory* const factory, GtkListItem* const item, void* const data)
{
  (void)factory;
  (void)data;
  // Names of devices are long
  GtkWidget* const label = gtk_label_new("");
  gtk_label_set_ellipsize(GTK_LABEL(label), PANGO_ELLIPSIZE_END);
  gtk_label_set_xalign(GTK_LABEL(label), 0.0f);
  gtk_list_item_set_child(item, label);
}

static void
bind_item(GtkListItemFactory* const factory, GtkListItem* const item, void* const data)
{
  (void)factory;
  (void)data;
  GtkStringObject* const string = GTK_STRING_OBJECT(gtk_list_item_get_item(item));
  GtkWidget* const label = gtk_list_item_get_child(item);
  gtk_label_set_label(GTK_LABEL(label), gtk_string_object_get_string(string));
}

static void
add_choice(SrDevicePane* const pane, Choice* const choice, const char* const title)
{
  GtkWidget* const label = gtk_label_new_with_mnemonic(title);
  GtkWidget* const list = gtk_drop_down_new(NULL, NULL);
  GtkListItemFactory* const factory = gtk_signal_list_item_factory_new();
  g_signal_connect(factory, "setup", G_CALLBACK(set_up_item), NULL);
  g_signal_connect(factory, "bind", G_CALLBACK(bind_item), NULL);
  gtk_drop_down_set_factory(GTK_DROP_DOWN(list), factory);
  g_object_unref(factory);
  choice->list = GTK_DROP_DOWN(list);
  choice->values = g_ptr_array_new_with_free_func(g_free);
  gtk_label_set_xalign(GTK_LABEL(label), 0.0f);
  gtk_label_set_mnemonic_widget(GTK_LABEL(label), list);
  gtk_accessible_update_relation(GTK_ACCESSIBLE(list), GTK_ACCESSIBLE_RELATION_LABELLED_BY, label,
                                 NULL, -1);
  gtk_widget_add_css_class(label, "figure-name");
  gtk_box_append(GTK_BOX(pane), label);
  gtk_box_append(GTK_BOX(pane), list);
}

static void
pane_finalize(GObject* const object)
{
  SrDevicePane* const pane = SR_DEVICE_PANE(object);
  g_ptr_array_unref(pane->input.values);
  g_ptr_array_unref(pane->output.values);
  g_free(pane->input.current);
  g_free(pane->output.current);
  G_OBJECT_CLASS(sr_device_pane_parent_class)->finalize(object);
}

static void
sr_device_pane_class_init(SrDevicePaneClass* const class)
{
  G_OBJECT_CLASS(class)->finalize = pane_finalize;
  signals[LISTED] = g_signal_new("listed", SR_TYPE_DEVICE_PANE, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 0);
}

static void
sr_device_pane_init(SrDevicePane* const pane)
{
  gtk_orientable_set_orientation(GTK_ORIENTABLE(pane), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing(GTK_BOX(pane), 6);
  add_choice(pane, &pane->input, "_Microphone");
  add_choice(pane, &pane->output, "_Click and phrase come from");
  pane->trouble = GTK_LABEL(gtk_label_new(""));
  gtk_label_set_wrap(pane->trouble, TRUE);
  gtk_label_set_xalign(pane->trouble, 0.0f);
  gtk_widget_set_visible(GTK_WIDGET(pane->trouble), FALSE);
  gtk_box_append(GTK_BOX(pane), GTK_WIDGET(pane->trouble));
}
