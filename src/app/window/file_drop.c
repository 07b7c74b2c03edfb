// SPDX-License-Identifier: GPL-3.0-or-later

#include "file_drop.h"

typedef struct {
  GtkWidget* widget;
  SrFileDropTake take;
} Receiver;

static gboolean
drop(GtkDropTarget* const target, const GValue* const value, const double x, const double y,
     const Receiver* const receiver)
{
  (void)target;
  (void)x;
  (void)y;
  char* const path =
      G_VALUE_HOLDS(value, G_TYPE_FILE) ? g_file_get_path(G_FILE(g_value_get_object(value))) : NULL;
  if (path) {
    receiver->take(receiver->widget, path);
  }
  g_free(path);
  return path != NULL;
}

static void
free_receiver(void* const receiver, GClosure* const closure)
{
  (void)closure;
  g_free(receiver);
}

void
sr_file_drop_let(GtkWidget* const widget, const SrFileDropTake take)
{
  Receiver* const receiver = g_new0(Receiver, 1);
  receiver->widget = widget;
  receiver->take = take;
  GtkDropTarget* const target = gtk_drop_target_new(G_TYPE_FILE, GDK_ACTION_COPY);
  g_signal_connect_data(target, "drop", G_CALLBACK(drop), receiver, free_receiver, 0);
  gtk_widget_add_controller(widget, GTK_EVENT_CONTROLLER(target));
}
