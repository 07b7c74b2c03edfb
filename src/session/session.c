// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_state.h"

#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A longer wait than this, s, is unlimited.
#define LONGEST_WAIT_S 1e6

SrSessionSettings
sr_session_settings_default(void)
{
  return (SrSessionSettings){.judge = sr_judge_settings_default(),
                             .click_volume = 0.15,
                             .silence_s = 20.0,
                             .first_wait_s = 300.0,
                             .signal_midi = sr_live_settings_default().signal_midi,
                             .ready_midi = -1};
}

void
sr_session_event_clear(SrSessionEvent* const event)
{
  if (event->kind == SR_SESSION_ROUND) {
    sr_assessment_del(event->round.assessment);
    event->round.assessment = NULL;
  }
}

double
sr_session_now_s(const SrSession* const session)
{
  return (double)session->read / session->rate_hz;
}

void
sr_session_report(SrSession* const session, SrSessionEvent event)
{
  event.at_s = sr_session_now_s(session);
  session->out_of_memory = !sr_event_queue_push(&session->events, event) || session->out_of_memory;
}

void
sr_session_end(SrSession* const session, const SrEndReason reason)
{
  session->reason = session->over ? session->reason : reason;
  session->over = true;
}

/// Open the devices and create everything that listens to them.
static SrStatus
open_devices(SrSession* const session, const SrProfile* const profile)
{
  SrError* const error = &session->error;
  SrSessionSettings* const settings = &session->settings;
  settings->stream.with_output = !settings->silent;
  SrStatus status = sr_stream_new(&settings->stream, &session->stream, error);
  if (status != SR_OK) {
    return status;
  }
  session->rate_hz = sr_stream_rate_hz(session->stream);
  snprintf(session->input, sizeof(session->input), "%s", sr_stream_input_name(session->stream));
  snprintf(session->output, sizeof(session->output), "%s", sr_stream_output_name(session->stream));
  session->reference_hz = profile ? sr_profile_reference_hz(profile) : 440.0;
  if (session->phrase ? settings->ready_midi >= 0 : settings->pitch) {
    status = sr_pitch_track_new(session->rate_hz, &session->track, error);
  }
  if (status == SR_OK && session->track && !session->phrase) {
    session->tuner.fine = sr_fine_pitch_new(session->rate_hz);
    status = session->tuner.fine ? SR_OK
                                 : sr_error_set(error, SR_NO_MEMORY,
                                                "There is not enough memory to track the pitch.");
  }
  if (status != SR_OK || !session->phrase) {
    return status != SR_OK ? status
                           : sr_free_new(session->rate_hz, profile, &session->listener, error);
  }
  sr_click_prepare(session);
  session->sound = sr_kept_sound_new(session->rate_hz, SR_SESSION_SOUND_BYTES);
  if (!sr_between_begin(session) || !session->sound) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to practise.");
  }
  SrLiveSettings live = sr_live_settings_default();
  live.rate_hz = session->rate_hz;
  live.judge = settings->judge;
  live.profile = profile;
  live.signal_midi = settings->signal_midi;
  status = sr_live_new(session->phrase, &live, &session->live, error);
  if (status == SR_OK) {
    sr_wait_begin(session);
  }
  if (status == SR_OK && settings->keeping != SR_KEEP_NOTHING) {
    status = sr_keeping_begin(session);
    // To callers SR_NOT_FOUND means a device
    status = status == SR_NOT_FOUND ? SR_WRITE_FAILED : status;
    error->status = status;
  }
  return status;
}

/// Free everything except the queues.
static void
close_devices(SrSession* const session)
{
  sr_stream_del(session->stream);
  sr_recording_discard(session->take.recording);
  sr_between_clear(session);
  sr_live_del(session->live);
  sr_free_del(session->listener);
  sr_click_remover_del(session->click.remover);
  sr_sound_del(session->playing.sound);
  free(session->playing.samples);
  sr_kept_sound_del(session->sound);
  sr_pitch_track_del(session->track);
  sr_fine_pitch_del(session->tuner.fine);
  free(session->take.rounds);
  free(session->take.path);
}

static double
tempo_of(const SrPhrase* const phrase, const SrJudgeSettings* const judge)
{
  return isfinite(judge->target_bpm) ? judge->target_bpm : sr_sound_tempo(phrase);
}

SrStatus
sr_session_new(const SrPhrase* const phrase, const SrSessionSettings* const settings,
               SrSession** const session, SrError* const error)
{
  *session = NULL;
  SrSession* const new = (SrSession*)calloc(1, sizeof(SrSession));
  if (!new) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to practise.");
  }
  new->phrase = phrase;
  new->settings = settings ? *settings : sr_session_settings_default();
  new->settings.silent = new->settings.silent || !phrase;
  new->signal_s = (double)NAN;
  new->click.round_trip_s = (double)NAN;
  new->click.bpm = phrase ? tempo_of(phrase, &new->settings.judge) : (double)NAN;
  if (phrase && !sr_click_tempo_fits(new->click.bpm)) {
    const double bpm = new->click.bpm;
    free(new);
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The phrase asks for %.0f pulses a minute; give another tempo.", bpm);
  }
  SrStatus status = sr_event_queue_init(&new->events, error);
  if (status != SR_OK) {
    free(new);
    return status;
  }
  pthread_mutex_init(&new->command_lock, NULL);
  const SrSetup* const setup = new->settings.setup;
  new->setup.round_trip_s = (double)NAN;
  if (setup) {
    new->setup = *setup;
    new->setup.profile = NULL;
  }
  new->settings.setup = NULL;
  status = open_devices(new, setup ? setup->profile : NULL);
  // The names belong to the caller
  new->settings.stream.input = NULL;
  new->settings.stream.output = NULL;
  if (status != SR_OK) {
    if (error) {
      *error = new->error;
    }
    sr_session_finish(new);
    return status;
  }
  *session = new;
  return SR_OK;
}

/**
   Report a failure. Names the folder instead of the take if the take will be gone by the time it is
   read.
*/
static void
report_trouble(SrSession* const session)
{
  char* const path = session->take.path ? strdup(session->take.path) : NULL;
  char* const slash = path ? strrchr(path, '/') : NULL;
  if (slash && session->trouble == SR_WRITE_FAILED && !sr_keeping_stays(session)) {
    *slash = '\0';
    sr_error_place(&session->error, path, 0, 0);
  }
  free(path);
  sr_session_report(
      session, (SrSessionEvent){.kind = SR_SESSION_TROUBLE, .trouble = {session->error, false}});
  sr_session_end(session, SR_END_TROUBLE);
}

static double
reference_hz(const SrSession* const session)
{
  SrProfile* const profile =
      session->listener ? sr_free_profile(session->listener) : sr_live_profile(session->live);
  const double reference = profile ? sr_profile_reference_hz(profile) : (double)NAN;
  sr_profile_del(profile);
  return reference;
}

static void*
run(void* const argument)
{
  SrSession* const session = (SrSession*)argument;
  while (session->trouble == SR_OK && !session->over) {
    session->trouble = sr_listening_turn(session);
    if (session->trouble == SR_OK && session->out_of_memory) {
      session->trouble = sr_error_set(&session->error, SR_NO_MEMORY,
                                      "There is not enough memory to go on practising.");
    }
  }
  sr_playing_stop(session);
  sr_listening_finish(session);
  // Close before reporting more: PortAudio writes to standard error, or redirects it for a moment,
  // when a device is closed
  sr_stream_del(session->stream);
  session->stream = NULL;
  if (session->trouble != SR_OK) {
    report_trouble(session);
  }
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_STOPPED,
                                              .stopped = {.reason = session->reason,
                                                          .rounds = session->rounds,
                                                          .reference_hz = reference_hz(session)}});
  sr_keeping_finish(session);
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_END});
  return NULL;
}

SrStatus
sr_session_start(SrSession* const session, SrError* const error)
{
  const SrStatus status = sr_stream_start(session->stream, error);
  if (status != SR_OK) {
    return status;
  }
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_READY,
                                              .ready = {.input = session->input,
                                                        .output = session->output,
                                                        .rate_hz = session->rate_hz,
                                                        .bpm = session->click.bpm,
                                                        .path = session->take.path}});
  sigset_t all;
  sigset_t before;
  sigfillset(&all);
  // Leave these unblocked, so that faults on this thread reach their handlers
  static const int faults[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGTRAP, SIGSYS};
  for (size_t i = 0; i < sizeof(faults) / sizeof(faults[0]); ++i) {
    sigdelset(&all, faults[i]);
  }
  pthread_sigmask(SIG_SETMASK, &all, &before);
  session->started = pthread_create(&session->thread, NULL, run, session) == 0;
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  return session->started
             ? SR_OK
             : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to practise.");
}

void
sr_session_send(SrSession* const session, const SrCommand command)
{
  pthread_mutex_lock(&session->command_lock);
  // An end command is never dropped
  if (session->request_count == SR_MOST_COMMANDS && command.kind == SR_COMMAND_END) {
    free(session->requests[--session->request_count].samples);
  }
  if (session->request_count < SR_MOST_COMMANDS) {
    session->requests[session->request_count++] = (SrRequest){.command = command};
  }
  pthread_mutex_unlock(&session->command_lock);
}

SrStatus
sr_session_play(SrSession* const session, float* const samples, const size_t count,
                SrError* const error)
{
  SrStatus status = SR_OK;
  if (!samples || count == 0) {
    status = sr_error_set(error, SR_BAD_ARGUMENT, "There is nothing to play.");
  } else if (!session->output[0]) {
    status = sr_error_set(error, SR_UNSUPPORTED,
                          "There is no loudspeaker open, so nothing can be played.");
  } else {
    pthread_mutex_lock(&session->command_lock);
    if (session->request_count < SR_MOST_COMMANDS) {
      session->requests[session->request_count++] = (SrRequest){.samples = samples, .count = count};
    } else {
      status = sr_error_set(error, SR_TOO_LARGE,
                            "Too many commands are waiting; try again in a moment.");
    }
    pthread_mutex_unlock(&session->command_lock);
  }
  if (status != SR_OK) {
    free(samples);
  }
  return status;
}

SrStatus
sr_session_copy(const SrSession* const session, const double from_s, const double to_s,
                float** const samples, size_t* const count, SrError* const error)
{
  *samples = NULL;
  *count = 0;
  return session->sound ? sr_kept_sound_copy(session->sound, from_s, to_s, samples, count, error)
                        : sr_error_set(error, SR_NOT_FOUND, "Without a phrase no sound is kept.");
}

SrStatus
sr_session_copy_round(const SrSession* const session, const unsigned round, float** const samples,
                      size_t* const count, double* const start_s, SrError* const error)
{
  *samples = NULL;
  *count = 0;
  return session->sound
             ? sr_kept_sound_copy_round(session->sound, round, samples, count, start_s, error)
             : sr_error_set(error, SR_NOT_FOUND, "Without a phrase no sound is kept.");
}

bool
sr_session_next(SrSession* const session, SrSessionEvent* const event)
{
  const bool any = sr_event_queue_pull(&session->events, event);
  session->ended = session->ended || (any && event->kind == SR_SESSION_END);
  return any;
}

bool
sr_session_wait(SrSession* const session, const double most_s)
{
  struct pollfd descriptor = {session->events.descriptor, POLLIN, 0};
  const int most_ms = most_s > LONGEST_WAIT_S ? -1 : most_s > 0.0 ? (int)ceil(1000.0 * most_s) : 0;
  return poll(&descriptor, 1, most_ms) > 0;
}

int
sr_session_descriptor(const SrSession* const session)
{
  return session->events.descriptor;
}

SrProfile*
sr_session_profile(const SrSession* const session, const bool whole)
{
  if (!session->ended) {
    return NULL;
  }
  SrProfile* profile = NULL;
  if (session->listener && whole) {
    sr_free_learn(session->listener, &profile, NULL);
    return profile;
  }
  return session->listener ? sr_free_profile(session->listener) : sr_live_profile(session->live);
}

void
sr_session_finish(SrSession* const session)
{
  if (!session) {
    return;
  }
  if (session->started) {
    sr_session_send(session, (SrCommand){.kind = SR_COMMAND_END});
    pthread_join(session->thread, NULL);
  }
  close_devices(session);
  for (size_t i = 0; i < session->request_count; ++i) {
    free(session->requests[i].samples);
  }
  sr_event_queue_clear(&session->events);
  pthread_mutex_destroy(&session->command_lock);
  free(session);
}
