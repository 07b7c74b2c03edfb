// SPDX-License-Identifier: GPL-3.0-or-later

// What is played to the player: the phrase, samples, and rounds again; begun and stopped from any
// thread.

#include "room.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>

/// Four notes, 2 s.
static const char tune[] = "X:1\nT:Four Notes\nM:2/4\nL:1/4\nQ:1/4=120\nK:D\nAB|AB|]\n";
#define PI 3.14159265358979323846
static const RoomNote four[] = {{440.0, 0.5}, {493.88, 0.5}, {440.0, 0.5}, {493.88, 0.5}};
#define FOUR (sizeof(four) / sizeof(four[0]))

static int
begin(void** const state)
{
  static Room room;
  *state = &room;
  return room_begin(&room, tune);
}

static int
end(void** const state)
{
  return room_end((Room*)*state);
}

static void
open_it(Room* const room, const bool silent)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.keeping = SR_KEEP_NOTHING;
  settings.silent = silent;
  room_open(room, room->phrase, &settings);
}

/// A note of the phrase, as the front end may have recorded it.
static float*
note_of(const double seconds, size_t* const count)
{
  *count = (size_t)(seconds * ROOM_RATE_HZ);
  float* const samples = (float*)malloc(*count * sizeof(float));
  assert_non_null(samples);
  for (size_t i = 0; i < *count; ++i) {
    double sum = 0.0;
    for (int h = 1; h <= 6; ++h) {
      sum += sin(2.0 * PI * 440.0 * h * (double)i / ROOM_RATE_HZ) / h;
    }
    samples[i] = (float)(0.15 * sum);
  }
  return samples;
}

static void
play(const Room* const room, const double seconds)
{
  size_t count;
  float* const samples = note_of(seconds, &count);
  assert_int_equal(sr_session_play(room->session, samples, count, NULL), SR_OK);
}

/// They are heard, and not judged; the click is silent meanwhile and counts in again.
static void
samples_are_played(void** const state)
{
  Room* const room = (Room*)*state;
  open_it(room, false);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  play(room, 1.5);
  const SrSessionEvent playing = room_wait_for(room, SR_SESSION_PLAYING);
  assert_int_equal(playing.playing.kind, SR_PLAYING_SAMPLES);
  assert_true(isnan(playing.playing.bpm));
  assert_true(fabs(playing.playing.length_s - 1.5) < 0.001);
  const double began_s = room->last_s;
  float loudest = 0.0f;
  for (int i = 0; i < 10; ++i) {
    loudest = fmaxf(loudest, room_wait_for(room, SR_SESSION_LEVEL).level.peak);
  }
  assert_true(loudest > 0.2f && loudest < 0.5f);
  const SrSessionEvent played = room_wait_for(room, SR_SESSION_PLAYED);
  assert_int_equal(played.played.kind, SR_PLAYING_SAMPLES);
  assert_int_equal(played.played.outcome, SR_PLAYED_WHOLE);
  assert_true(!KEEPS_UP || (room->last_s - began_s > 1.2 && room->last_s - began_s < 2.0));
  assert_int_equal(room->counts[SR_SESSION_COUNT_IN], 2);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
  assert_true(room->last_s - began_s > 2.0);
  assert_int_equal(room->counts[SR_SESSION_NOTE], 0);
  assert_int_equal(room->counts[SR_SESSION_PLAYED], 1);
}

/// Stopping ends it at once, other playing ends it, and so does the end of the session.
static void
playing_is_stopped(void** const state)
{
  Room* const room = (Room*)*state;
  open_it(room, false);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  // So that nothing else sounds
  room_send(room, SR_COMMAND_CLICK, 0.0);
  play(room, 20.0);
  room_wait_for(room, SR_SESSION_PLAYING);
  assert_false(room_comes_within(room, SR_SESSION_PLAYED, 1.0));
  room_send(room, SR_COMMAND_PLAY_STOP, 0.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYED).played.outcome, SR_PLAYED_STOPPED);
  assert_true(room->last_s < 10.0);
  // Soon nothing is heard any more
  float peak = 1.0f;
  for (const double until_s = room->last_s + 5.0; peak >= 1e-4f && room->last_s < until_s;) {
    peak = room_wait_for(room, SR_SESSION_LEVEL).level.peak;
  }
  assert_true(peak < 1e-4f);
  room_send(room, SR_COMMAND_CLICK, 1.0);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  assert_int_equal(room->counts[SR_SESSION_NOTE], 0);
  // Nothing to stop
  room_send(room, SR_COMMAND_PLAY_STOP, 0.0);
  // In the order in which they were sent
  room_send(room, SR_COMMAND_PLAY_PHRASE, 0.0);
  room_send(room, SR_COMMAND_PLAY_PHRASE, 0.0);
  play(room, 20.0);
  play(room, 10.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYING).playing.kind, SR_PLAYING_PHRASE);
  const SrSessionEvent first = room_wait_for(room, SR_SESSION_PLAYED);
  assert_int_equal(first.played.kind, SR_PLAYING_PHRASE);
  assert_int_equal(first.played.outcome, SR_PLAYED_STOPPED);
  assert_true(room_wait_for(room, SR_SESSION_PLAYING).playing.length_s > 19.9);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYED).played.outcome, SR_PLAYED_STOPPED);
  assert_true(room_wait_for(room, SR_SESSION_PLAYING).playing.length_s < 10.1);
  assert_false(room_comes_within(room, SR_SESSION_PLAYED, 0.5));
  // A pedal's count-in ends it too
  room_send(room, SR_COMMAND_COUNT_IN, 0.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYED).played.outcome, SR_PLAYED_STOPPED);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
  play(room, 5.0);
  room_wait_for(room, SR_SESSION_PLAYING);
  room_send(room, SR_COMMAND_END, 0.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYED).played.outcome, SR_PLAYED_STOPPED);
  room_wait_for(room, SR_SESSION_STOPPED);
  assert_int_equal(room->counts[SR_SESSION_PLAYING], room->counts[SR_SESSION_PLAYED]);
  // It is over: this does nothing, and is freed
  play(room, 1.0);
}

/// Without an output it is refused, and a phrase that was asked for is told as not played.
static void
nothing_to_play_on(void** const state)
{
  Room* const room = (Room*)*state;
  open_it(room, true);
  room_wait_for(room, SR_SESSION_READY);
  size_t count;
  float* samples = note_of(1.0, &count);
  SrError error = {0};
  assert_int_equal(sr_session_play(room->session, samples, count, &error), SR_UNSUPPORTED);
  assert_non_null(error.message);
  samples = note_of(1.0, &count);
  assert_int_equal(sr_session_play(room->session, samples, 0, &error), SR_BAD_ARGUMENT);
  assert_int_equal(sr_session_play(room->session, NULL, 5, &error), SR_BAD_ARGUMENT);
  room_send(room, SR_COMMAND_PLAY_PHRASE, 0.0);
  const SrSessionEvent played = room_wait_for(room, SR_SESSION_PLAYED);
  assert_int_equal(played.played.kind, SR_PLAYING_PHRASE);
  assert_int_equal(played.played.outcome, SR_PLAYED_NOTHING);
  assert_int_equal(room->counts[SR_SESSION_PLAYING], 0);
}

static double
power_of(const float* const samples, const size_t from, const size_t to)
{
  double sum = 0.0;
  for (size_t i = from; i < to; ++i) {
    sum += (double)samples[i] * (double)samples[i];
  }
  return sum / (double)(to - from);
}

/// A round that was played is copied, also after the end, and can be played to the player.
static void
a_round_again(void** const state)
{
  Room* const room = (Room*)*state;
  open_it(room, false);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  float* samples = NULL;
  size_t count = 0;
  double start_s = 0.0;
  assert_int_equal(sr_session_copy_round(room->session, 1, &samples, &count, &start_s, NULL),
                   SR_NOT_FOUND);
  const pid_t player = room_play(room, four, FOUR);
  room_wait_for(room, SR_SESSION_ROUND);
  room_wait_played(player);
  assert_false(room_comes_within(room, SR_SESSION_ROUND, 1.0));
  assert_int_equal(sr_session_copy_round(room->session, 1, &samples, &count, &start_s, NULL),
                   SR_OK);
  // Four notes of half a second, and a second around them
  const double length_s = (double)count / ROOM_RATE_HZ;
  print_message("round copied: %.3f s from %.3f s\n", length_s, start_s);
  assert_true(fabs(length_s - 3.0) < 0.1);
  const size_t tenth = (size_t)(0.1 * ROOM_RATE_HZ);
  // There is little before the first note, and after the last: what is left of a click. Its notes
  // are where they should be
  assert_true(power_of(samples, 0, 2 * tenth) < 3e-4);
  for (size_t i = 0; i < FOUR; ++i) {
    const size_t at = (size_t)((0.3 + 0.5 * (double)i) * ROOM_RATE_HZ) + tenth;
    assert_true(power_of(samples, at, at + 2 * tenth) > 1e-3);
  }
  print_message("power before %.2g, after %.2g\n", power_of(samples, 0, 2 * tenth),
                power_of(samples, count - 4 * tenth, count));
  assert_true(power_of(samples, count - 4 * tenth, count) < 3e-4);
  // The same stretch by its times
  float* again = NULL;
  size_t again_count = 0;
  assert_int_equal(
      sr_session_copy(room->session, start_s, start_s + length_s, &again, &again_count, NULL),
      SR_OK);
  assert_int_equal(again_count, count);
  for (size_t i = 0; i < count; ++i) {
    assert_true(fabsf(samples[i] - again[i]) < 1e-9f);
  }
  free(again);
  assert_int_equal(sr_session_play(room->session, samples, count, NULL), SR_OK);
  assert_true(fabs(room_wait_for(room, SR_SESSION_PLAYING).playing.length_s - length_s) < 0.001);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYED).played.outcome, SR_PLAYED_WHOLE);
  assert_int_equal(room->counts[SR_SESSION_ROUND], 1);
  room_send(room, SR_COMMAND_END, 0.0);
  room_wait_for(room, SR_SESSION_END);
  assert_int_equal(sr_session_copy_round(room->session, 1, &samples, &count, NULL, NULL), SR_OK);
  free(samples);
}

typedef struct {
  SrSession* session;
  size_t accepted;
  size_t copied;
} Asker;

/// Ask for everything, as quickly as it can.
static void*
ask_much(void* const context)
{
  Asker* const asker = (Asker*)context;
  for (int i = 0; i < 60; ++i) {
    size_t count;
    float* const samples = note_of(0.05, &count);
    asker->accepted += sr_session_play(asker->session, samples, count, NULL) == SR_OK;
    sr_session_send(asker->session, (SrCommand){.kind = SR_COMMAND_PLAY_STOP});
    float* copy = NULL;
    if (sr_session_copy(asker->session, 0.0, 1.0, &copy, &count, NULL) == SR_OK) {
      ++asker->copied;
      free(copy);
    }
    sr_session_send(asker->session, (SrCommand){.kind = SR_COMMAND_COUNT_IN});
    const struct timespec nap = {0, 20000000L};
    nanosleep(&nap, NULL);
  }
  return NULL;
}

/// Two threads ask at the same time; each playing that began has an end.
static void
asked_from_other_threads(void** const state)
{
  Room* const room = (Room*)*state;
  open_it(room, false);
  room_wait_for(room, SR_SESSION_READY);
  assert_false(room_comes_within(room, SR_SESSION_NOTE, 1.2));
  Asker askers[2] = {{.session = room->session}, {.session = room->session}};
  pthread_t threads[2];
  for (size_t i = 0; i < 2; ++i) {
    assert_int_equal(pthread_create(&threads[i], NULL, ask_much, &askers[i]), 0);
  }
  for (size_t i = 0; i < 2; ++i) {
    pthread_join(threads[i], NULL);
    assert_true(askers[i].accepted > 0 && askers[i].copied > 0);
  }
  room_send(room, SR_COMMAND_END, 0.0);
  room_wait_for(room, SR_SESSION_STOPPED);
  print_message("%zu times played\n", room->counts[SR_SESSION_PLAYED]);
  assert_true(room->counts[SR_SESSION_PLAYING] > 0);
  assert_int_equal(room->counts[SR_SESSION_PLAYING], room->counts[SR_SESSION_PLAYED]);
  assert_true(room->counts[SR_SESSION_PLAYED] <= askers[0].accepted + askers[1].accepted);
}

int
main(void)
{
  if (!has_program("pulseaudio") || !has_program("paplay")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(samples_are_played, begin, end),
      cmocka_unit_test_setup_teardown(playing_is_stopped, begin, end),
      cmocka_unit_test_setup_teardown(nothing_to_play_on, begin, end),
      cmocka_unit_test_setup_teardown(a_round_again, begin, end),
      cmocka_unit_test_setup_teardown(asked_from_other_threads, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
