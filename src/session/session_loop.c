// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_state.h"

#include "../full_scale.h"

#include <math.h>
#include <string.h>

/// Most chunks processed before commands are checked again.
#define MOST_CHUNKS 32u
/// Longest single wait for samples, s.
#define WAIT_S 0.02
/// The click starts after the stream has run for this long, s.
#define CLICK_AFTER_S 0.4
/// Interval between level reports, s.
#define LEVEL_EVERY_S 0.1
/// Input is ignored while the phrase is played to the player, and for this long after it, s.
#define ECHO_S 0.6
/// Length of the last sound that is in memory, and most of a round in progress, s.
#define LAST_SOUND_S 10.0
#define LONGEST_ROUND_S 300.0
/// One step at 24 bits.
#define DEAF_LEVEL 1.2e-7f

static void
report_note(SrSession* const session, const SrSessionEventKind kind, const SrNews* const news)
{
  sr_session_report(session, (SrSessionEvent){.kind = kind, .note = {news->note, news->round}});
}

static void
report_round(SrSession* const session, SrNews* const news)
{
  const SrAssessment* const assessment = news->assessment;
  const SrRound* const round = &assessment->rounds[assessment->round_count - 1];
  const double end_s = round->end_s; // the assessment is the front end's once it is reported
  sr_keeping_round(session, round);
  sr_kept_sound_round(session->sound, round->start_s, round->end_s);
  ++session->rounds;
  sr_between_round(session, round);
  const bool clicks = session->click.running && session->click.began;
  sr_session_report(
      session,
      (SrSessionEvent){.kind = SR_SESSION_ROUND,
                       .round = {.assessment = news->assessment,
                                 .number = news->round,
                                 .click_unknown = clicks && !isfinite(sr_click_heard_s(session))}});
  sr_wait_round(session, end_s);
}

/// What was played was no round. At the end it may be an unfinished one.
static void
report_nothing(SrSession* const session)
{
  SrSessionEvent event = {.kind = SR_SESSION_NOTHING,
                          .nothing = {.start_s = (double)NAN, .end_s = (double)NAN}};
  if (session->broken_off >= SR_UNFINISHED_NOTES && session->take.recording) {
    const double end_s = sr_live_last_note_s(session->live);
    sr_keeping_unfinished(session, session->broken_off_s, end_s);
    event.nothing.notes = session->broken_off;
    event.nothing.start_s = session->broken_off_s;
    event.nothing.end_s = end_s;
  }
  sr_session_report(session, event);
}

static void
report_news(SrSession* const session)
{
  SrNews news;
  while (sr_live_pull(session->live, &news)) {
    switch (news.kind) {
    case SR_NEWS_NOTE:
      report_note(session, SR_SESSION_NOTE, &news);
      break;
    case SR_NEWS_AMENDED:
      report_note(session, SR_SESSION_AMENDED, &news);
      break;
    case SR_NEWS_AGAIN:
      sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_AGAIN});
      break;
    case SR_NEWS_ROUND:
      report_round(session, &news);
      break;
    case SR_NEWS_NOTHING:
      report_nothing(session);
      break;
    case SR_NEWS_SIGNAL:
      sr_low_note_take(session, &news);
      break;
    }
  }
}

static void
report_free(SrSession* const session)
{
  SrSessionEvent event = {.kind = SR_SESSION_HEARD};
  while (sr_free_pull(session->listener, &event.heard)) {
    session->any_note = true;
    sr_session_report(session, event);
  }
  event = (SrSessionEvent){.kind = SR_SESSION_AIR};
  while (sr_free_pull_air(session->listener, &event.air)) {
    sr_session_report(session, event);
  }
  if (sr_free_sounds(session->listener)) {
    session->last_note_s = sr_session_now_s(session);
  }
}

/// Whether the input is what we play to the player, from the loudspeaker.
static bool
is_deaf(SrSession* const session)
{
  if (session->settings.silent) {
    return false;
  }
  const bool tone = sr_between_tone_sounds(session) || sr_held_signal_tone_sounds(session);
  const bool unplayed = sr_stream_unplayed(session->stream) > 0 && !tone;
  if (session->playing.active || unplayed) {
    session->deaf_until_s = sr_session_now_s(session) + ECHO_S;
  }
  return sr_session_now_s(session) < session->deaf_until_s;
}

void
sr_session_silence(float* const samples, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    samples[i] = i % 2 ? DEAF_LEVEL : -DEAF_LEVEL;
  }
}

static void
measure_level(SrLevel* const level, const float* const samples, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    const float size = isfinite(samples[i]) ? fabsf(samples[i]) : 0.0f;
    level->peak = fmaxf(level->peak, size);
    level->energy += (double)size * (double)size;
    level->full = size >= SR_FULL_SCALE ? level->full + 1 : 0;
    level->overdriven = level->overdriven || level->full >= SR_CLIPPED_RUN;
  }
  level->samples += count;
}

/// Keep the sound of what may become a round, in memory.
static void
keep_sound(SrSession* const session, const float* const samples, const size_t count)
{
  const double now_s = sr_session_now_s(session);
  const double start_s = fmin(now_s, sr_live_round_start_s(session->live)) - LAST_SOUND_S;
  sr_kept_sound_add(session->sound, samples, count, fmax(start_s, now_s - LONGEST_ROUND_S));
}

static SrStatus
take_samples(SrSession* const session, float* const samples, const size_t count)
{
  measure_level(&session->level, samples, count);
  if (session->listener) {
    if (session->track) {
      sr_tuner_listen(session, samples, count);
    }
    session->read += count;
    return sr_free_push(session->listener, samples, count, &session->error);
  }
  if (is_deaf(session)) {
    sr_session_silence(samples, count);
  }
  if (session->click.remover) {
    sr_click_remover_do(session->click.remover, samples, count);
  }
  // Behind the remover, for which a click that is suddenly gone would be another one
  sr_between_silence(session, samples, count);
  sr_held_signal_silence(session, samples, count);
  sr_losses_find(&session->losses, session->read, samples, count);
  SrStatus status = SR_OK;
  if (session->take.recording) {
    status = sr_recording_write(session->take.recording, samples, count, &session->error);
  }
  keep_sound(session, samples, count);
  sr_wait_listen(session, samples, count);
  session->read += count;
  const SrStatus heard =
      sr_live_push(session->live, samples, count, status == SR_OK ? &session->error : NULL);
  return status == SR_OK ? heard : status;
}

/// Read the available input and report what is heard in it.
static SrStatus
listen(SrSession* const session)
{
  float samples[SR_SESSION_CHUNK];
  SrStatus status = sr_stream_wait(session->stream, WAIT_S, &session->error);
  size_t count;
  for (size_t i = 0;
       i < MOST_CHUNKS && status == SR_OK && (count = sr_between_read(session, samples)) > 0; ++i) {
    status = session->live ? sr_click_begin_removing(session) : SR_OK;
    if (status == SR_OK) {
      status = take_samples(session, samples, count);
    }
    if (status == SR_OK && session->live) {
      sr_click_follow(session);
      report_news(session);
      // By the session's clock, however many chunks there are at once
      sr_held_signal_follow(session);
      sr_wait_follow(session);
    } else if (status == SR_OK) {
      report_free(session);
    }
  }
  return status;
}

/// Whether nothing sounds now and no count-in is in progress.
static bool
is_idle(const SrSession* const session)
{
  if (session->listener) {
    return !sr_free_sounds(session->listener);
  }
  const SrClickTrack* const click = &session->click;
  return !sr_live_in_round(session->live) && (!click->running || click->counted >= click->count_in);
}

static void
report_level(SrSession* const session)
{
  SrLevel* const level = &session->level;
  const double now_s = sr_session_now_s(session);
  if (now_s - level->reported_s < LEVEL_EVERY_S) {
    return;
  }
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_LEVEL,
                                              .level = {.peak = level->peak,
                                                        .energy = level->energy,
                                                        .samples = level->samples,
                                                        .overdriven = level->overdriven,
                                                        .idle = is_idle(session)}});
  *level = (SrLevel){.full = level->full, .reported_s = now_s};
}

static void
report_dropouts(SrSession* const session)
{
  const SrStreamTrouble trouble = sr_stream_trouble(session->stream);
  if (trouble.overruns > session->overruns) {
    session->overruns = trouble.overruns;
    sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_DROPOUT,
                                                .dropout = {trouble.lost, (double)trouble.lost /
                                                                              session->rate_hz}});
  }
}

/// Whether nobody has played for long. Talk may look like the first notes of a round for as long as
/// it goes on, so what counts is the time of the last note, not whether a round is in progress.
static bool
is_silent_long(const SrSession* const session)
{
  if (session->live && sr_wait_is_delay(session)) {
    return false;
  }
  const double own_s =
      fmax(fmax(session->deaf_until_s, session->between.last_s), session->wait.over_s);
  const double note_s =
      session->live ? fmax(sr_live_last_note_s(session->live), own_s) : session->last_note_s;
  const bool played = session->live ? session->rounds > 0 : session->any_note;
  const double most_s = played ? session->settings.silence_s : session->settings.first_wait_s;
  return !isfinite(session->signal_s) && sr_session_now_s(session) - note_s > most_s;
}

/// Carry out a command other than a tempo.
static void
do_command(SrSession* const session, const SrCommand* const command)
{
  const bool clicks = session->live && !session->settings.silent;
  switch (command->kind) {
  case SR_COMMAND_END:
    sr_session_end(session, SR_END_COMMAND);
    break;
  case SR_COMMAND_PLAY_PHRASE:
    sr_playing_phrase(session);
    break;
  case SR_COMMAND_PLAY_STOP:
    sr_playing_stop(session);
    break;
  case SR_COMMAND_COUNT_IN:
    sr_wait_skip(session);
    break;
  case SR_COMMAND_CLICK:
    if (clicks) {
      sr_click_turn(session, command->value > 0.0);
    }
    break;
  case SR_COMMAND_VOLUME:
    if (clicks) {
      sr_click_set_volume(session, command->value);
    }
    break;
  case SR_COMMAND_HUSH_BEGIN:
    sr_between_ask(session);
    break;
  case SR_COMMAND_HUSH_END:
    sr_between_end(session);
    break;
  case SR_COMMAND_TEMPO:
    break;
  }
}

/// Carry out the front end's commands.
static void
do_commands(SrSession* const session)
{
  SrRequest requests[SR_MOST_COMMANDS];
  pthread_mutex_lock(&session->command_lock);
  const size_t count = session->request_count;
  memcpy(requests, session->requests, count * sizeof(SrRequest));
  session->request_count = 0;
  pthread_mutex_unlock(&session->command_lock);
  double bpm = (double)NAN;
  for (size_t i = 0; i < count; ++i) {
    if (requests[i].samples) {
      sr_playing_samples(session, requests[i].samples, requests[i].count);
    } else if (requests[i].command.kind == SR_COMMAND_TEMPO) {
      const double value = requests[i].command.value;
      bpm = sr_click_tempo_fits(value) ? value : bpm;
    } else {
      do_command(session, &requests[i].command);
    }
  }
  // Only the last of several tempo changes counts
  if (session->live && isfinite(bpm)) {
    sr_click_change_tempo(session, bpm);
  }
}

/// Start the click once the stream runs steadily and the player is waited for no longer, and again
/// after something was played.
static void
begin_click(SrSession* const session)
{
  const double now_s = sr_session_now_s(session);
  const bool wanted = !session->settings.silent && !session->click.off && !session->click.running &&
                      !session->wait.waits && !session->playing.active && now_s > CLICK_AFTER_S &&
                      now_s >= session->deaf_until_s;
  if (wanted) {
    sr_click_start(session);
  }
}

SrStatus
sr_listening_turn(SrSession* const session)
{
  const SrStatus status = listen(session);
  if (status != SR_OK) {
    return status;
  }
  do_commands(session);
  report_dropouts(session);
  report_level(session);
  if (session->live) {
    sr_keeping_renew_note(session);
    sr_playing_feed(session);
    sr_low_note_answer(session);
    begin_click(session);
  }
  sr_between_follow(session);
  const unsigned rounds = session->settings.rounds;
  if (rounds && session->rounds >= rounds && !sr_between_tone_sounds(session)) {
    sr_session_end(session, SR_END_ROUNDS);
  }
  if (is_silent_long(session)) {
    sr_session_end(session, SR_END_SILENCE);
  }
  return status;
}

/**
   The device is gone: push a second of lost samples, so that the rest of the round counts as
   unheard and not as missed.
*/
static void
lose_the_rest(SrSession* const session)
{
  float samples[SR_SESSION_CHUNK];
  for (size_t i = 0; i < SR_SESSION_CHUNK; ++i) {
    samples[i] = NAN;
  }
  for (uint64_t lost = 0; lost < (uint64_t)session->rate_hz; lost += SR_SESSION_CHUNK) {
    sr_live_push(session->live, samples, SR_SESSION_CHUNK, NULL);
    sr_losses_find(&session->losses, session->read + lost, samples, SR_SESSION_CHUNK);
  }
}

void
sr_listening_finish(SrSession* const session)
{
  if (session->listener) {
    sr_free_finish(session->listener, NULL);
    report_free(session);
    return;
  }
  if (session->trouble == SR_DEVICE_TROUBLE) {
    lose_the_rest(session);
  }
  // News from before are of rounds that nobody broke off
  report_news(session);
  session->broken_off = (unsigned)sr_live_reached(session->live);
  session->broken_off_s = sr_live_round_start_s(session->live);
  if (sr_live_finish(session->live, NULL) != SR_OK || session->trouble == SR_NO_MEMORY) {
    session->take.forgot_round = true;
  }
  report_news(session);
}
