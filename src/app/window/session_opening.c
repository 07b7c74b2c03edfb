// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_opening.h"

#include "owned_task.h"

typedef struct {
  SrChosen* chosen;
  SrSessionSettings settings;
  char* input; ///< Own copies: others may be chosen while these are being opened
  char* output;
  SrSession* session;
  SrError error;
} Opening;

static void
free_opening(void* const data)
{
  Opening* const opening = (Opening*)data;
  sr_session_finish(opening->session);
  sr_chosen_unref(opening->chosen);
  g_free(opening->input);
  g_free(opening->output);
  g_free(opening);
}

static void
open_session(GTask* const task, void* const owner, void* const data,
             GCancellable* const cancellable)
{
  (void)owner;
  (void)cancellable;
  Opening* const opening = (Opening*)data;
  const SrPhrase* const phrase = opening->chosen ? opening->chosen->phrase : NULL;
  SrStatus status = sr_session_new(phrase, &opening->settings, &opening->session, &opening->error);
  if (status == SR_OK) {
    status = sr_session_start(opening->session, &opening->error);
  }
  g_task_return_boolean(task, status == SR_OK);
}

void
sr_session_opening_begin(GObject* const owner, SrChosen* const chosen,
                         const SrSessionSettings* const settings, const GAsyncReadyCallback done)
{
  Opening* const opening = g_new0(Opening, 1);
  opening->chosen = chosen ? sr_chosen_ref(chosen) : NULL;
  opening->settings = *settings;
  opening->input = g_strdup(settings->stream.input);
  opening->output = g_strdup(settings->stream.output);
  opening->settings.stream.input = opening->input;
  opening->settings.stream.output = opening->output;
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_set_task_data(task, opening, free_opening);
  g_task_run_in_thread(task, open_session);
  g_object_unref(task);
}

SrSession*
sr_session_opening_finish(GAsyncResult* const result, SrError* const error)
{
  Opening* const opening = (Opening*)g_task_get_task_data(G_TASK(result));
  if (!g_task_propagate_boolean(G_TASK(result), NULL)) {
    *error = opening->error;
    return NULL;
  }
  return (SrSession*)g_steal_pointer(&opening->session);
}
