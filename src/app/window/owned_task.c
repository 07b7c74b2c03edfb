// SPDX-License-Identifier: GPL-3.0-or-later

#include "owned_task.h"

typedef struct {
  GObject* owner;
  GAsyncReadyCallback done;
} Owned;

static void
finish(GObject* const none, GAsyncResult* const result, void* const data)
{
  (void)none;
  Owned* const owned = (Owned*)data;
  owned->done(owned->owner, result, NULL);
  g_object_unref(owned->owner);
  g_free(owned);
}

GTask*
sr_owned_task_new(GObject* const owner, GCancellable* const cancellable,
                  const GAsyncReadyCallback done)
{
  Owned* const owned = g_new0(Owned, 1);
  owned->owner = (GObject*)g_object_ref(owner);
  owned->done = done;
  return g_task_new(NULL, cancellable, finish, owned);
}
