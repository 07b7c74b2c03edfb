// SPDX-License-Identifier: GPL-3.0-or-later

#include "history_queue.h"

#include <pthread.h>

typedef enum { BEGIN, EVENT, CLICK, END, STOP } JobKind;

typedef struct {
  JobKind kind;
  SrPracticeLog log;    ///< BEGIN
  SrSessionEvent event; ///< EVENT
  char* path;           ///< … of its take; NULL without one
  SrPlayedClick click;  ///< CLICK
  void* kept;
  GDestroyNotify let_go;
} Job;

struct SrHistoryQueueImpl {
  SrPracticeSay* say;
  void* context;
  bool begun; ///< A session has
  bool runs;  ///< There is a thread
  pthread_t thread;
  // Not GLib's, which ThreadSanitizer does not know
  pthread_mutex_t lock; ///< Of the next four
  pthread_cond_t more;  ///< There are jobs
  GQueue jobs;
  GQueue words;
  guint source;

  // The thread's own
  SrPracticeLog log;
  bool open;  ///< It has begun
  char* take; ///< Path that the log refers to
  void* kept;
  GDestroyNotify let_go;
};

/// In the main loop: say what the thread had to say.
static gboolean
say_all(void* const data)
{
  SrHistoryQueue* const queue = (SrHistoryQueue*)data;
  pthread_mutex_lock(&queue->lock);
  GQueue words = queue->words;
  g_queue_init(&queue->words);
  queue->source = 0;
  pthread_mutex_unlock(&queue->lock);
  char* text;
  while ((text = (char*)g_queue_pop_head(&words))) {
    queue->say(queue->context, text);
    g_free(text);
  }
  return G_SOURCE_REMOVE;
}

static void
hand_over(void* const data, const char* const text)
{
  SrHistoryQueue* const queue = (SrHistoryQueue*)data;
  pthread_mutex_lock(&queue->lock);
  g_queue_push_tail(&queue->words, g_strdup(text));
  if (!queue->source) {
    queue->source = g_idle_add_full(G_PRIORITY_DEFAULT, say_all, queue, NULL);
  }
  pthread_mutex_unlock(&queue->lock);
}

/// Print what can no longer be said in the window. The thread has ended.
static void
print_rest(SrHistoryQueue* const queue)
{
  char* text;
  while ((text = (char*)g_queue_pop_head(&queue->words))) {
    g_printerr("%s\n", text);
    g_free(text);
  }
}

static void
let_go(void* const kept, const GDestroyNotify notify)
{
  if (kept && notify) {
    notify(kept);
  }
}

static void
end_log(SrHistoryQueue* const queue)
{
  if (queue->open) {
    sr_practice_log_end(&queue->log);
    queue->open = false;
  }
  g_clear_pointer(&queue->take, g_free);
  let_go(queue->kept, queue->let_go);
  queue->kept = NULL;
}

static void
begin_log(SrHistoryQueue* const queue, Job* const job)
{
  end_log(queue);
  queue->log = job->log;
  queue->open = true;
  queue->kept = g_steal_pointer(&job->kept);
  queue->let_go = job->let_go;
}

static void
log_event(SrHistoryQueue* const queue, Job* const job)
{
  if (job->event.kind == SR_SESSION_READY) {
    g_free(queue->take);
    queue->take = g_steal_pointer(&job->path);
    job->event.ready.path = queue->take;
  } else if (job->event.kind == SR_SESSION_SAVED) {
    job->event.saved.path = job->path;
  }
  sr_practice_log_event(&queue->log, &job->event);
}

/// Do a job and free it. False for the last one.
static bool
do_job(SrHistoryQueue* const queue, Job* const job)
{
  const bool goes_on = job->kind != STOP;
  switch (job->kind) {
  case BEGIN:
    begin_log(queue, job);
    break;
  case EVENT:
    if (queue->open) {
      log_event(queue, job);
    }
    break;
  case CLICK:
    queue->log.practice.click = job->click;
    break;
  case END:
    end_log(queue);
    break;
  case STOP:
    break;
  }
  let_go(job->kept, job->let_go);
  g_free(job->path);
  g_free(job);
  return goes_on;
}

/// Take the next job, which may have to be waited for.
static Job*
next_job(SrHistoryQueue* const queue)
{
  pthread_mutex_lock(&queue->lock);
  while (g_queue_is_empty(&queue->jobs)) {
    pthread_cond_wait(&queue->more, &queue->lock);
  }
  Job* const job = (Job*)g_queue_pop_head(&queue->jobs);
  pthread_mutex_unlock(&queue->lock);
  return job;
}

static void*
work(void* const data)
{
  SrHistoryQueue* const queue = (SrHistoryQueue*)data;
  while (do_job(queue, next_job(queue))) {
  }
  return NULL;
}

static void
add(SrHistoryQueue* const queue, const Job* const job)
{
  Job* const copy = g_memdup2(job, sizeof(*job));
  queue->runs = queue->runs || pthread_create(&queue->thread, NULL, work, queue) == 0;
  if (queue->runs) {
    pthread_mutex_lock(&queue->lock);
    g_queue_push_tail(&queue->jobs, copy);
    pthread_cond_signal(&queue->more);
    pthread_mutex_unlock(&queue->lock);
  } else {
    // Late is better than lost
    (void)do_job(queue, copy);
  }
}

SrHistoryQueue*
sr_history_queue_new(SrPracticeSay* const say, void* const context)
{
  SrHistoryQueue* const queue = g_new0(SrHistoryQueue, 1);
  queue->say = say;
  queue->context = context;
  pthread_mutex_init(&queue->lock, NULL);
  pthread_cond_init(&queue->more, NULL);
  g_queue_init(&queue->jobs);
  g_queue_init(&queue->words);
  return queue;
}

void
sr_history_queue_del(SrHistoryQueue* const queue)
{
  if (queue) {
    sr_history_queue_end(queue);
    sr_history_queue_finish(queue);
    g_clear_handle_id(&queue->source, g_source_remove);
    print_rest(queue);
    pthread_cond_destroy(&queue->more);
    pthread_mutex_destroy(&queue->lock);
    g_free(queue);
  }
}

void
sr_history_queue_begin(SrHistoryQueue* const queue, const SrPhrase* const phrase,
                       const SrSessionSettings* const settings, const SrPractice* const origin,
                       void* const kept, const GDestroyNotify notify)
{
  queue->begun = true;
  add(queue, &(Job){.kind = BEGIN,
                    .log = sr_practice_log_begin(phrase, settings, origin, hand_over, queue),
                    .kept = kept,
                    .let_go = notify});
}

void
sr_history_queue_event(SrHistoryQueue* const queue, const SrSessionEvent* const event,
                       void* const kept, const GDestroyNotify notify)
{
  const SrSessionEventKind kind = event->kind;
  const bool first = kind == SR_SESSION_READY;
  const bool saved = kind == SR_SESSION_SAVED;
  const bool others = kind == SR_SESSION_ROUND || kind == SR_SESSION_NOTHING ||
                      kind == SR_SESSION_TEMPO || kind == SR_SESSION_END;
  if (!queue->begun || !(first || saved || others)) {
    // Nothing of it goes into the history
    let_go(kept, notify);
    return;
  }
  Job job = {.kind = EVENT, .event = *event, .kept = kept, .let_go = notify};
  if (first) {
    job.event.ready.input = NULL;
    job.event.ready.output = NULL;
  }
  job.path = first ? g_strdup(event->ready.path) : saved ? g_strdup(event->saved.path) : NULL;
  add(queue, &job);
}

void
sr_history_queue_click(SrHistoryQueue* const queue, const SrPlayedClick click)
{
  if (queue->begun) {
    add(queue, &(Job){.kind = CLICK, .click = click});
  }
}

void
sr_history_queue_end(SrHistoryQueue* const queue)
{
  if (queue->begun) {
    add(queue, &(Job){.kind = END});
    queue->begun = false;
  }
}

void
sr_history_queue_finish(SrHistoryQueue* const queue)
{
  if (queue->runs) {
    add(queue, &(Job){.kind = STOP});
    pthread_join(queue->thread, NULL);
    queue->runs = false;
  }
}
