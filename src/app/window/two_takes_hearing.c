// SPDX-License-Identifier: GPL-3.0-or-later

#include "two_takes_hearing.h"

#include "../take_part.h"
#include "owned_task.h"

#include <steadyreed/audio.h>
#include <steadyreed/slow.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Something that is being prepared and played.
typedef struct {
  SrComparedTake* takes[2];
  size_t count; ///< Takes heard, 1 or 2
  SrSpan spans[2];
  double speeds[2];
  SrTakePart parts[2]; ///< Of a recording, read when it is prepared
  double rate_hz;      ///< Of the sitting that plays; NAN for the loudspeaker
  char* output;        ///< That loudspeaker; NULL for the usual one
  SrInTurn sound;
  size_t read;
  GCancellable* stop;
  SrHearingOver over;
  void* context;
  SrError error;
} Job;

static void
free_job(void* const data)
{
  Job* const job = (Job*)data;
  for (size_t t = 0; t < job->count; ++t) {
    sr_compared_take_unref(job->takes[t]);
    sr_take_part_clear(&job->parts[t]);
  }
  sr_in_turn_clear(&job->sound);
  g_object_unref(job->stop);
  g_free(job->output);
  g_free(job);
}

/// When some bars of a round sound; false if they were not heard.
static bool
find_span(const SrComparedTake* const take, const size_t bar, SrSpan* const span)
{
  const SrPhrase* const phrase = take->held->chosen->phrase;
  const size_t bars = sr_phrase_bar_count(phrase);
  const size_t first = bar < bars ? bar : 0;
  const size_t last = bar < bars ? bar : bars - 1;
  bool found = false;
  for (size_t i = first; i <= last; ++i) {
    SrSpan one;
    if (sr_round_bar_times(phrase, take->held->round, i, &one.from_s, &one.to_s)) {
      *span = (SrSpan){found ? span->from_s : one.from_s, one.to_s};
      found = true;
    }
  }
  return found;
}

/// Copy the sound of a round that the sitting has in memory.
static bool
copy_of_sitting(SrSitting* const sitting, const SrComparedTake* const take,
                const SrSpan* const span, SrTakePart* const part, SrError* const error)
{
  SrSession* const session = sr_sitting_session(sitting);
  if (!session || take->held->session != sr_sitting_session_number(sitting)) {
    (void)sr_error_set(error, SR_NOT_FOUND,
                       "%s was played before the last break. Its sound is in the kept take only.",
                       take->name);
    return false;
  }
  const double from_s = fmax(0.0, span->from_s - SR_IN_TURN_BEFORE_S);
  *part = (SrTakePart){.rate_hz = sr_sitting_rate_hz(sitting), .start_s = from_s};
  return sr_session_copy(session, from_s, span->to_s, &part->samples, &part->count, error) == SR_OK;
}

/// Choose the speeds that bring both to the slower tempo.
static bool
find_speeds(Job* const job, const bool same_tempo, SrError* const error)
{
  job->speeds[0] = 1.0;
  job->speeds[1] = 1.0;
  if (!same_tempo || job->count < 2) {
    return true;
  }
  const double bpm[] = {job->takes[0]->held->round->pulse.played_bpm,
                        job->takes[1]->held->round->pulse.played_bpm};
  if (!sr_in_turn_speeds(bpm, job->speeds)) {
    (void)sr_error_set(error, SR_NOT_FOUND, "The two cannot be brought to one tempo.");
    return false;
  }
  return true;
}

static SrStatus
prepare(Job* const job, const double rate_hz)
{
  SrTurn turns[2];
  for (size_t t = 0; t < job->count; ++t) {
    SrTakePart* const part = &job->parts[t];
    const SrStatus status =
        part->samples
            ? SR_OK
            : sr_take_part_read(job->takes[t]->path, job->spans[t].from_s - SR_IN_TURN_BEFORE_S,
                                job->spans[t].to_s, part, &job->error);
    if (status != SR_OK) {
      return status;
    }
    turns[t] = (SrTurn){part->samples, part->count,    part->rate_hz,
                        part->start_s, &job->spans[t], job->speeds[t]};
  }
  return sr_in_turn_make(turns, job->count, 1, rate_hz, &job->sound, &job->error);
}

static size_t
give(void* const context, float* const samples, const size_t count)
{
  Job* const job = (Job*)context;
  const size_t left = job->sound.count - job->read;
  const size_t given = g_cancellable_is_cancelled(job->stop) ? 0 : MIN(count, left);
  memcpy(samples, job->sound.samples + job->read, given * sizeof(float));
  job->read += given;
  return given;
}

/// Prepare it, and play it unless the sitting will.
static void
work(GTask* const task, void* const source, void* const data, GCancellable* const cancellable)
{
  (void)source;
  (void)cancellable;
  Job* const job = (Job*)data;
  SrPlayer* player = NULL;
  SrStatus status = SR_OK;
  if (isnan(job->rate_hz)) {
    status = sr_player_new(job->output, &player, &job->error);
  }
  if (status == SR_OK) {
    status = prepare(job, player ? sr_player_rate_hz(player) : job->rate_hz);
  }
  if (status == SR_OK && player) {
    status = sr_player_play(player, give, job, &job->error);
  }
  sr_player_del(player);
  g_task_return_boolean(task, status == SR_OK);
}

static void
finish(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrSitting* const sitting = SR_SITTING(object);
  Job* const job = (Job*)g_task_get_task_data(G_TASK(result));
  SrSession* const session = sr_sitting_session(sitting);
  bool done = g_task_propagate_boolean(G_TASK(result), NULL);
  if (done && !isnan(job->rate_hz) && session && !g_cancellable_is_cancelled(job->stop)) {
    done = sr_session_play(session, g_steal_pointer(&job->sound.samples), job->sound.count,
                           &job->error) == SR_OK;
  }
  job->over(job->context, done ? NULL : job->error.message);
}

/// Whether a session plays, or nothing has the devices. A rest, which does, is ended.
static bool
has_loudspeaker(SrSitting* const sitting, SrError* const error)
{
  if (sr_sitting_session(sitting) || !sr_sitting_is_open(sitting)) {
    return true;
  }
  if (sr_sitting_phase(sitting) == SR_SITTING_RESTING) {
    // It listens for playing, and would take what is played here for that
    sr_sitting_end(sitting);
  }
  (void)sr_error_set(error, SR_DEVICE_TROUBLE,
                     "The microphone is being opened or closed. Try again in a moment.");
  return false;
}

bool
sr_two_takes_hear(SrSitting* const sitting, const SrTwoTakesHearing* const hearing,
                  GCancellable* const stop, const SrHearingOver over, void* const context,
                  SrError* const error)
{
  if (!has_loudspeaker(sitting, error)) {
    return false;
  }
  Job* const job = g_new0(Job, 1);
  job->stop = (GCancellable*)g_object_ref(stop);
  job->over = over;
  job->context = context;
  job->output = g_strdup(sr_sitting_output(sitting));
  job->rate_hz = sr_sitting_session(sitting) ? sr_sitting_rate_hz(sitting) : (double)NAN;
  bool good = true;
  for (size_t t = 0; t < 2 && good; ++t) {
    if (hearing->which != SR_HEARING_BOTH && hearing->which != (SrHearing)t) {
      continue;
    }
    SrComparedTake* const take = hearing->takes[t];
    SrSpan* const span = &job->spans[job->count];
    SrTakePart* const part = &job->parts[job->count];
    job->takes[job->count++] = sr_compared_take_ref(take);
    good = find_span(take, hearing->bar, span);
    if (!good) {
      (void)sr_error_set(error, SR_NOT_FOUND, "%s: nothing was heard in that bar.", take->name);
    } else if (!take->path) {
      good = copy_of_sitting(sitting, take, span, part, error);
    }
  }
  if (!good || !find_speeds(job, hearing->same_tempo, error)) {
    free_job(job);
    return false;
  }
  GTask* const task = sr_owned_task_new(G_OBJECT(sitting), NULL, finish);
  g_task_set_task_data(task, job, free_job);
  g_task_run_in_thread(task, work);
  g_object_unref(task);
  return true;
}
