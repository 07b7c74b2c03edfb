// SPDX-License-Identifier: GPL-3.0-or-later

// Which takes are kept: every rule, over an invented month of practice.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_history.h"
#include "run_program.h"

#include <steadyreed/kept_takes.h>

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define DAYS 30
#define BYTES 1000u

static char* data;
static char* folder;
static char* takes;
static char* path;
static SrHistory* history;
static SrPhrase* jig;
static SrPhrase* reel;

static char*
take_of(const char* const phrase, const int day)
{
  char name[64];
  snprintf(name, sizeof(name), "2026-11-%02d-%s.flac", day, phrase);
  return folder_path(takes, name);
}

static void
put_file(const char* const file, const size_t bytes)
{
  FILE* const stream = fopen(file, "w");
  assert_non_null(stream);
  for (size_t i = 0; i < bytes; ++i) {
    fputc('x', stream);
  }
  assert_int_equal(fclose(stream), 0);
}

/// A practice of a phrase that was kept.
static void
practise(const SrPhrase* const phrase, const char* const name, const int day,
         const MadeRound* const best)
{
  char* const take = take_of(name, day);
  const MadeRound poor = {.bpm = 80.0, .joined = 5, .spread_ms = 30.0};
  made_round_add(history, phrase, &poor, 20000 + day, 0, take);
  made_round_add(history, phrase, best, 20000 + day, 1, take);
  put_file(take, BYTES);
  assert_int_equal(sr_history_take_saved(history, take, NULL), SR_OK);
  free(take);
}

/// The jig each day, best on day 11; the reel every fifth day, equally good on days 5 and 10, on 10
/// faster.
static int
prepare(void** const state)
{
  (void)state;
  data = folder_make();
  folder = folder_path(data, "steadyreed");
  takes = folder_path(folder, "takes");
  path = folder_path(folder, "history.sqlite");
  setenv("XDG_DATA_HOME", data, 1);
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  assert_int_equal(mkdir(takes, 0700), 0);
  jig = made_phrase("Jig", 0);
  reel = made_phrase("Reel", 3);
  for (int day = 1; day <= DAYS; ++day) {
    const MadeRound round = {
        .bpm = 90.0, .joined = day != 11 ? 1 : 0, .spread_ms = 10.0, .offset_ms = (double)NAN};
    practise(jig, "jig", day, &round);
    if (day % 5 == 0) {
      const MadeRound other = {
          .bpm = day == 10 ? 100.0 : 95.0, .joined = day > 10, .spread_ms = 9.0};
      practise(reel, "reel", day, &other);
    }
  }
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  sr_history_close(history);
  history = NULL;
  folder_remove(takes);
  folder_remove(folder);
  folder_remove(data);
  sr_phrase_del(jig);
  sr_phrase_del(reel);
  free(path);
  free(takes);
  free(folder);
  free(data);
  return 0;
}

static bool
is_there(const char* const phrase, const int day)
{
  char* const take = take_of(phrase, day);
  struct stat status;
  const bool there = !lstat(take, &status);
  free(take);
  return there;
}

/// Prune; how many were removed. `left` receives the bytes.
static size_t
prune(const uint64_t limit, uint64_t* const left)
{
  SrTakeEntry* removed = NULL;
  size_t count = 0;
  SrError error = {0};
  if (sr_take_prune(history, NULL, limit, &removed, &count, left, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  for (size_t i = 0; i < count; ++i) {
    char* const file = folder_path(takes, removed[i].name);
    struct stat status;
    assert_int_equal(lstat(file, &status), -1);
    assert_false(removed[i].marked || removed[i].best || removed[i].latest);
    assert_true(i == 0 || removed[i].last.utc_ms >= removed[i - 1].last.utc_ms);
    free(file);
  }
  sr_take_entries_del(removed, count);
  return count;
}

static SrTakeEntry
entry_of(const SrTakeEntry* const entries, const size_t count, const char* const name)
{
  for (size_t i = 0; i < count; ++i) {
    if (!strcmp(entries[i].name, name)) {
      return entries[i];
    }
  }
  fail_msg("%s is not listed", name);
  return (SrTakeEntry){.name = NULL};
}

static void
the_list_knows_the_best_and_the_latest(void** const state)
{
  (void)state;
  SrTakeEntry* entries = NULL;
  size_t count = 0;
  assert_int_equal(sr_take_entries(history, NULL, &entries, &count, NULL), SR_OK);
  assert_int_equal(count, 36);
  size_t best = 0;
  size_t latest = 0;
  for (size_t i = 0; i < count; ++i) {
    assert_true(entries[i].there && entries[i].ours && !entries[i].marked);
    assert_int_equal(entries[i].bytes, BYTES);
    assert_int_equal(entries[i].rounds, 2);
    best += entries[i].best;
    latest += entries[i].latest;
  }
  assert_int_equal(best, 2);
  assert_int_equal(latest, 2);
  assert_true(entry_of(entries, count, "2026-11-11-jig.flac").best);
  assert_true(entry_of(entries, count, "2026-11-10-reel.flac").best);
  assert_true(entry_of(entries, count, "2026-11-30-jig.flac").latest);
  assert_true(entry_of(entries, count, "2026-11-30-reel.flac").latest);
  assert_string_equal(entry_of(entries, count, "2026-11-30-reel.flac").title, "Reel");
  sr_take_entries_del(entries, count);
}

static void
within_the_limit_all_stay(void** const state)
{
  (void)state;
  uint64_t left = 0;
  assert_int_equal(prune(SR_USUAL_TAKES_LIMIT, &left), 0);
  assert_int_equal(left, 36 * BYTES);
  assert_int_equal(prune(36 * BYTES, &left), 0);
}

static void
the_oldest_go_first_and_no_more_than_needed(void** const state)
{
  (void)state;
  uint64_t left = 0;
  assert_int_equal(prune(36 * BYTES - 1, &left), 1);
  assert_int_equal(left, 35 * BYTES);
  assert_false(is_there("jig", 1));
  assert_true(is_there("jig", 2));
  assert_int_equal(prune(30 * BYTES + 1, &left), 5);
  assert_int_equal(left, 30 * BYTES);
  // Of the jig those of days 2 to 5, and the reel of day 5
  assert_false(is_there("jig", 5) || is_there("reel", 5));
  assert_true(is_there("jig", 6));
}

static void
best_latest_and_marked_always_stay(void** const state)
{
  (void)state;
  SrError error = {0};
  assert_int_equal(sr_history_take_mark(history, "2026-11-03-jig", true, &error), SR_OK);
  assert_int_equal(sr_history_take_mark(history, "/any/where/2026-11-15-reel.flac", true, &error),
                   SR_OK);
  assert_int_equal(sr_history_take_mark(history, "2026-11-04-jig.flac", true, &error), SR_OK);
  assert_int_equal(sr_history_take_mark(history, "2026-11-04-jig.flac", false, &error), SR_OK);
  assert_int_equal(sr_history_take_mark(history, "no-such-take", true, &error), SR_NOT_FOUND);
  assert_int_equal(sr_history_take_mark(history, "2026-11-0%-jig", true, &error), SR_NOT_FOUND);
  uint64_t left = 0;
  assert_int_equal(prune(0, &left), 36 - 6);
  assert_int_equal(left, 6 * BYTES);
  assert_true(is_there("jig", 3) && is_there("jig", 11) && is_there("jig", 30));
  assert_true(is_there("reel", 10) && is_there("reel", 15) && is_there("reel", 30));
  assert_false(is_there("jig", 4));
  // Once the mark is off, it goes
  assert_int_equal(sr_history_take_mark(history, "2026-11-03-jig", false, &error), SR_OK);
  assert_int_equal(prune(0, &left), 1);
  assert_false(is_there("jig", 3));
  assert_int_equal(prune(0, &left), 0);
}

/// When the best one was taken away by the player, the next best stays.
static void
only_takes_that_are_there_count(void** const state)
{
  (void)state;
  char* const best = take_of("reel", 10);
  char* const latest = take_of("reel", 30);
  unlink(best);
  unlink(latest);
  uint64_t left = 0;
  assert_int_equal(prune(0, &left), 36 - 2 - 4);
  assert_true(is_there("reel", 5) && is_there("reel", 25));
  free(best);
  free(latest);
}

static void
what_is_not_ours_is_never_touched(void** const state)
{
  (void)state;
  // A take of another program, or of before there was a history
  char* const strange = folder_path(takes, "2020-01-01-old.flac");
  put_file(strange, 50 * BYTES);
  // Another file under the name of a take; one that was edited; one touched; a link; a second name;
  // a folder
  char* const other = take_of("jig", 1);
  put_file(other, BYTES + 1);
  char* const edited = take_of("jig", 2);
  const int descriptor = open(edited, O_WRONLY | O_CLOEXEC);
  assert_int_equal(pwrite(descriptor, "y", 1, 0), 1);
  const struct timespec later[] = {{2000000000, 0}, {2000000000, 0}};
  assert_int_equal(futimens(descriptor, later), 0);
  close(descriptor);
  char* const linked = take_of("jig", 3);
  char* const target = folder_path(folder, "target.flac");
  assert_int_equal(rename(linked, target), 0);
  assert_int_equal(symlink(target, linked), 0);
  char* const twice = take_of("jig", 4);
  char* const second = folder_path(folder, "second.flac");
  assert_int_equal(link(twice, second), 0);
  char* const inner = take_of("jig", 5);
  unlink(inner);
  assert_int_equal(mkdir(inner, 0700), 0);
  // A name that leads out of the folder, as a forged history might hold
  char* const outside = folder_path(folder, "outside.flac");
  char* const moved = take_of("jig", 6);
  assert_int_equal(rename(moved, outside), 0);
  free(moved);
  made_sql(path, "UPDATE take SET take = '../outside.flac' WHERE take = '2026-11-06-jig.flac'");
  // A take that was never finished, perhaps being recorded right now
  made_sql(path, "UPDATE take SET take_bytes = NULL WHERE take = '2026-11-07-jig.flac'");

  uint64_t left = 0;
  const size_t removed = prune(0, &left);
  assert_int_equal(removed, 36 - 7 - 4);
  assert_true(is_there("jig", 1) && is_there("jig", 2) && is_there("jig", 3));
  assert_true(is_there("jig", 4) && is_there("jig", 5) && is_there("jig", 7));
  struct stat status;
  assert_int_equal(stat(strange, &status), 0);
  assert_int_equal(stat(target, &status), 0);
  assert_int_equal(stat(outside, &status), 0);
  // They do not count either
  assert_int_equal(left, 4 * BYTES);
  rmdir(inner);
  free(strange);
  free(other);
  free(edited);
  free(linked);
  free(target);
  free(twice);
  free(second);
  free(inner);
  free(outside);
}

static void
a_take_that_is_not_known_cannot_be_saved(void** const state)
{
  (void)state;
  SrError error = {0};
  char* const strange = folder_path(takes, "strange.flac");
  assert_int_equal(sr_history_take_saved(history, strange, &error), SR_NOT_FOUND);
  put_file(strange, BYTES);
  assert_int_equal(sr_history_take_saved(history, strange, &error), SR_NOT_FOUND);
  free(strange);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(the_list_knows_the_best_and_the_latest, prepare, clean_up),
      cmocka_unit_test_setup_teardown(within_the_limit_all_stay, prepare, clean_up),
      cmocka_unit_test_setup_teardown(the_oldest_go_first_and_no_more_than_needed, prepare,
                                      clean_up),
      cmocka_unit_test_setup_teardown(best_latest_and_marked_always_stay, prepare, clean_up),
      cmocka_unit_test_setup_teardown(only_takes_that_are_there_count, prepare, clean_up),
      cmocka_unit_test_setup_teardown(what_is_not_ours_is_never_touched, prepare, clean_up),
      cmocka_unit_test_setup_teardown(a_take_that_is_not_known_cannot_be_saved, prepare, clean_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
