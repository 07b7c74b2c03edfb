// SPDX-License-Identifier: GPL-3.0-or-later

#include "setup_run.h"

#include <gio/gio.h>

struct _SrSetupRun {
  GObject parent_instance;
  SrSetupStep step;
  SrStreamSettings stream;
  char* input;
  char* output;
  const SrSetup* known;
  int wish; ///< SrSetupWish, atomic
  SrSetupFound found;
  SrStatus status;
  SrError error;
};

G_DEFINE_FINAL_TYPE(SrSetupRun, sr_setup_run, G_TYPE_OBJECT)

enum { PROGRESS, DONE, SIGNALS };
static guint signals[SIGNALS];

/// A report on its way to the main thread.
typedef struct {
  SrSetupRun* run;
  SrSetupProgress progress;
  char input[SR_DEVICE_NAME_SIZE];
} Report;

static gboolean
deliver(void* const data)
{
  Report* const report = (Report*)data;
  g_signal_emit(report->run, signals[PROGRESS], 0, &report->progress);
  return G_SOURCE_REMOVE;
}

static void
free_report(void* const data)
{
  Report* const report = (Report*)data;
  g_object_unref(report->run);
  g_free(report);
}

static void
send(void* const context, const SrSetupProgress* const progress)
{
  Report* const report = g_new0(Report, 1);
  report->run = SR_SETUP_RUN(g_object_ref(context));
  report->progress = *progress;
  if (progress->kind == SR_SETUP_OPENED || progress->kind == SR_SETUP_DEAD) {
    g_strlcpy(report->input, progress->input, sizeof(report->input));
    report->progress.input = report->input;
  }
  // In order with each other, and before the task's own end
  g_idle_add_full(G_PRIORITY_DEFAULT, deliver, report, free_report);
}

static SrSetupWish
wish(void* const context)
{
  return (SrSetupWish)g_atomic_int_get(&SR_SETUP_RUN(context)->wish);
}

static void
measure(GTask* const task, void* const source, void* const data, GCancellable* const cancellable)
{
  (void)data;
  (void)cancellable;
  SrSetupRun* const run = SR_SETUP_RUN(source);
  const SrSetupWatch watch = {send, wish, run};
  run->status =
      sr_setup_measure(run->step, &run->stream, run->known, &watch, &run->found, &run->error);
  g_task_return_boolean(task, TRUE);
}

static void
finish(GObject* const source, GAsyncResult* const result, void* const data)
{
  (void)data;
  (void)g_task_propagate_boolean(G_TASK(result), NULL);
  g_signal_emit(source, signals[DONE], 0);
}

void
sr_setup_run_wish(SrSetupRun* const run, const SrSetupWish wished)
{
  g_atomic_int_set(&run->wish, (int)wished);
}

SrSetupFound*
sr_setup_run_found(SrSetupRun* const run)
{
  return &run->found;
}

const SrError*
sr_setup_run_error(SrSetupRun* const run)
{
  return run->status == SR_OK ? NULL : &run->error;
}

static void
run_finalize(GObject* const object)
{
  SrSetupRun* const run = SR_SETUP_RUN(object);
  sr_setup_found_clear(&run->found);
  g_free(run->input);
  g_free(run->output);
  G_OBJECT_CLASS(sr_setup_run_parent_class)->finalize(object);
}

static void
sr_setup_run_class_init(SrSetupRunClass* const class)
{
  G_OBJECT_CLASS(class)->finalize = run_finalize;
  signals[PROGRESS] = g_signal_new("progress", SR_TYPE_SETUP_RUN, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                   NULL, G_TYPE_NONE, 1, G_TYPE_POINTER);
  signals[DONE] = g_signal_new("done", SR_TYPE_SETUP_RUN, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 0);
}

static void
sr_setup_run_init(SrSetupRun* const run)
{
  (void)run;
}

SrSetupRun*
sr_setup_run_new(const SrSetupStep step, const SrStreamSettings* const stream,
                 const SrSetup* const known)
{
  SrSetupRun* const run = SR_SETUP_RUN(g_object_new(SR_TYPE_SETUP_RUN, NULL));
  run->step = step;
  run->input = g_strdup(stream->input);
  run->output = g_strdup(stream->output);
  run->stream = *stream;
  run->stream.input = run->input;
  run->stream.output = run->output;
  run->known = known;
  GTask* const task = g_task_new(run, NULL, finish, NULL);
  g_task_run_in_thread(task, measure);
  g_object_unref(task);
  return run;
}
