// SPDX-License-Identifier: GPL-3.0-or-later

#include "playback.h"

#include "owned_task.h"

#include <steadyreed/slow.h>
#include <steadyreed/sound.h>

#include <gio/gio.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Sound kept before the first note of some bars, and after the last, s.
#define BEFORE_S 0.1
#define AFTER_S 0.25

/// Samples from malloc().
typedef struct {
  float* samples;
  size_t count;
} Samples;

/// Something that is being prepared.
typedef struct {
  SrPlaybackKind kind;
  SrChosen* chosen;
  SrBarRange bars;
  double rate_hz;
  double bpm;
  Samples recorded; ///< What was played, at its own speed
  Samples made;
  size_t read; ///< Of what was recorded
} Job;

static void
free_job(void* const data)
{
  Job* const job = (Job*)data;
  sr_chosen_unref(job->chosen);
  free(job->recorded.samples);
  free(job->made.samples);
  g_free(job);
}

/// Times of the first and the last note of some bars in a round; false if none of them was heard.
static bool
find_times(const SrChosen* const chosen, const SrRound* const round, const SrBarRange bars,
           double* const from_s, double* const to_s)
{
  const double from = sr_fraction_value(sr_phrase_bar(chosen->phrase, bars.first)->start);
  const SrPhraseBar* const last = sr_phrase_bar(chosen->phrase, bars.first + bars.count - 1);
  const double to = sr_fraction_value(last->start) + sr_fraction_value(last->length);
  *from_s = (double)INFINITY;
  *to_s = (double)-INFINITY;
  for (size_t i = 0; i < round->note_count; ++i) {
    const double start = sr_fraction_value(sr_phrase_note(chosen->phrase, i)->start);
    const SrNoteVerdict* const note = &round->notes[i];
    if (start < from - 1e-9 || start >= to - 1e-9) {
      continue;
    }
    const double onset_s = isfinite(note->onset_s) ? note->onset_s : note->due_s;
    *from_s = isfinite(onset_s) ? fmin(*from_s, onset_s) : *from_s;
    *to_s = isfinite(note->end_s) ? fmax(*to_s, note->end_s) : *to_s;
  }
  return *to_s > *from_s;
}

static size_t
give_recorded(void* const context, float* const samples, const size_t count)
{
  Job* const job = (Job*)context;
  const size_t left = job->recorded.count - job->read;
  const size_t given = MIN(count, left);
  memcpy(samples, job->recorded.samples + job->read, given * sizeof(float));
  job->read += given;
  return given;
}

/// What was recorded, slowly.
static void
slow_down(Job* const job)
{
  SrSlow* slow = NULL;
  if (sr_slow_new(job->rate_hz, job->rate_hz, SR_PLAYBACK_SPEED, job->recorded.count, give_recorded,
                  job, &slow, NULL) == SR_OK) {
    const size_t length = sr_slow_length(slow);
    job->made.samples = (float*)malloc(length * sizeof(float));
    job->made.count = job->made.samples ? sr_slow_read(slow, job->made.samples, length) : 0;
  }
  sr_slow_del(slow);
}

/// The bars as written, at a slow tempo.
static void
render(Job* const job)
{
  const SrChosen* const chosen = job->chosen;
  const SrPhraseBar* const first = sr_phrase_bar(chosen->phrase, job->bars.first);
  const SrPhraseBar* const last =
      sr_phrase_bar(chosen->phrase, job->bars.first + job->bars.count - 1);
  const SrPhraseChoice choice = {.tune = chosen->choice.tune,
                                 .part = chosen->choice.part,
                                 .first_bar = MIN(first->number, last->number),
                                 .last_bar = MAX(first->number, last->number),
                                 .transpose = chosen->choice.transpose};
  SrPhrase* phrase = NULL;
  SrSound* sound = NULL;
  SrSoundSettings settings = sr_sound_settings_default();
  settings.rate_hz = job->rate_hz;
  settings.tempo_bpm = fmax(SR_SLOWEST_BPM, SR_PLAYBACK_SPEED * job->bpm);
  if (sr_phrase_read_file(chosen->choice.path, &choice, &phrase, NULL) == SR_OK &&
      sr_sound_new(phrase, &settings, &sound, NULL) == SR_OK) {
    const size_t length = (size_t)sr_sound_length(sound);
    job->made.samples = (float*)malloc(length * sizeof(float));
    job->made.count = job->made.samples ? sr_sound_read(sound, job->made.samples, length) : 0;
  }
  sr_sound_del(sound);
  sr_phrase_del(phrase);
}

static void
prepare(GTask* const task, void* const source, void* const data, GCancellable* const cancellable)
{
  (void)source;
  (void)cancellable;
  Job* const job = (Job*)data;
  switch (job->kind) {
  case SR_PLAYBACK_ROUND:
    job->made = job->recorded;
    job->recorded = (Samples){NULL, 0};
    break;
  case SR_PLAYBACK_ROUND_BARS:
    slow_down(job);
    break;
  case SR_PLAYBACK_BARS:
    render(job);
    break;
  }
  g_task_return_boolean(task, job->made.count > 0);
}

static void
play(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrSitting* const sitting = SR_SITTING(object);
  Job* const job = (Job*)g_task_get_task_data(G_TASK(result));
  SrSession* const session = sr_sitting_session(sitting);
  if (g_task_propagate_boolean(G_TASK(result), NULL) && session) {
    (void)sr_session_play(session, g_steal_pointer(&job->made.samples), job->made.count, NULL);
  }
}

/// Copy what was recorded of a round.
static bool
copy(SrSession* const session, Job* const job, const SrHeldRound* const held, SrError* const error)
{
  Samples* const recorded = &job->recorded;
  double from_s = 0.0;
  double to_s = 0.0;
  if (job->kind == SR_PLAYBACK_ROUND) {
    return sr_session_copy_round(session, held->in_session, &recorded->samples, &recorded->count,
                                 NULL, error) == SR_OK;
  }
  if (!find_times(job->chosen, held->round, job->bars, &from_s, &to_s)) {
    (void)sr_error_set(error, SR_NOT_FOUND, "Nothing was heard in that bar.");
    return false;
  }
  return sr_session_copy(session, from_s - BEFORE_S, to_s + AFTER_S, &recorded->samples,
                         &recorded->count, error) == SR_OK;
}

bool
sr_playback_begin(SrSitting* const sitting, const SrPlaybackKind kind, SrHeldRound* const held,
                  const SrBarRange bars, SrError* const error)
{
  SrSession* const session = sr_sitting_session(sitting);
  if (!session) {
    (void)sr_error_set(error, SR_NOT_FOUND, "Begin again to hear it: nothing is open now.");
    return false;
  }
  if (kind == SR_PLAYBACK_ROUND_BARS && !sr_slow_is_built()) {
    (void)sr_error_set(
        error, SR_UNSUPPORTED,
        "This build cannot play slowly: it was made without the Rubber Band library.");
    return false;
  }
  if (kind != SR_PLAYBACK_BARS && held->session != sr_sitting_session_number(sitting)) {
    (void)sr_error_set(
        error, SR_NOT_FOUND,
        "That round was played before the last break. Its sound is in the kept take only.");
    return false;
  }
  Job* const job = g_new0(Job, 1);
  job->kind = kind;
  job->chosen = sr_chosen_ref(held ? held->chosen : sr_sitting_chosen(sitting));
  job->bars = bars.count ? bars : (SrBarRange){0, sr_phrase_bar_count(job->chosen->phrase)};
  job->rate_hz = sr_sitting_rate_hz(sitting);
  job->bpm = sr_sitting_bpm(sitting);
  if (kind != SR_PLAYBACK_BARS && !copy(session, job, held, error)) {
    free_job(job);
    return false;
  }
  GTask* const task = sr_owned_task_new(G_OBJECT(sitting), NULL, play);
  g_task_set_task_data(task, job, free_job);
  g_task_run_in_thread(task, prepare);
  g_object_unref(task);
  return true;
}
