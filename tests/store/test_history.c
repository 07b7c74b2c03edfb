// SPDX-License-Identifier: GPL-3.0-or-later

// What goes into the history comes out of it, from every version.
//
// usage: test_history VERSION-1.sql

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "history_home.h"
#include "made_history.h"
#include "run_program.h"

#include <steadyreed/kept_takes.h>

#include <glib.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* fixture_path;
static MadeHome home;

static int
prepare(void** const state)
{
  (void)state;
  home = made_home();
  return home.folder ? 0 : 1;
}

static int
clean_up(void** const state)
{
  (void)state;
  made_home_remove(&home);
  return 0;
}

static void
only_the_owner_can_read(void** const state)
{
  (void)state;
  SrHistory* history = NULL;
  SrError error = {0};
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_LOOK, &history, &error), SR_NOT_FOUND);
  assert_null(history);
  struct stat status;
  // Looking makes nothing
  assert_int_equal(stat(home.folder, &status), -1);
  const mode_t before = umask(0);
  history = made_history_open();
  umask(before);
  assert_int_equal(stat(home.folder, &status), 0);
  assert_int_equal(status.st_mode & 07777, 0700);
  static const char* const names[] = {"history.sqlite", "history.sqlite-wal", "history.sqlite-shm"};
  for (size_t i = 0; i < 3; ++i) {
    char* const file = folder_path(home.folder, names[i]);
    assert_int_equal(stat(file, &status), 0);
    assert_int_equal(status.st_mode & 07777, 0600);
    free(file);
  }
  assert_null(sr_history_remark(history));
  sr_history_close(history);
  // One that is open to others is closed to them
  assert_int_equal(chmod(home.path, 0644), 0);
  sr_history_close(made_history_open());
  assert_int_equal(stat(home.path, &status), 0);
  assert_int_equal(status.st_mode & 07777, 0600);
}

static void
what_goes_in_comes_out(void** const state)
{
  (void)state;
  SrHistory* const history = made_history_open();
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  char* const takes = folder_path(home.folder, "takes");
  char* const take = folder_path(takes, "2026-01-02-the-wet-gate.flac");
  const MadeRound first = {.bpm = 90.0,
                           .joined = 2,
                           .missed = 1,
                           .spread_ms = 14.0,
                           .offset_ms = -20.0,
                           .alone_ms = -33.0,
                           .air = 3,
                           .heard = 1};
  const MadeRound second = {
      .bpm = 100.0, .spread_ms = 8.0, .offset_ms = 10.0, .alone_ms = 11.0, .air = 3};
  const MadeRound third = {.bpm = 104.0, .spread_ms = 6.0, .offset_ms = (double)NAN};
  made_round_add(history, phrase, &first, 20000, 0, take);
  made_round_add(history, phrase, &second, 20000, 1, take);
  made_round_add(history, phrase, &third, 20003, 0, "/elsewhere/mine.flac");

  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  assert_int_equal(sr_history_phrases(history, &phrases, &count, NULL), SR_OK);
  assert_int_equal(count, 1);
  assert_string_equal(phrases->title, "The Wet Gate");
  assert_int_equal(phrases->first_bar, 1);
  assert_int_equal(phrases->last_bar, 3);
  assert_false(phrases->chosen_bars);
  assert_int_equal(phrases->notes, 12);
  assert_int_equal(sr_moment_day(phrases->last), 20003);

  SrHistoryRound* rounds = NULL;
  assert_int_equal(sr_history_rounds(history, phrases->id, 20000, 20000, &rounds, &count, NULL),
                   SR_OK);
  assert_int_equal(count, 2);
  assert_float_equal(rounds[0].played_bpm, 90.0, 1e-9);
  assert_int_equal(rounds[0].click, SR_CLICK_PULSES);
  assert_int_equal(rounds[0].figures.notes_right, 11);
  // The missed note bears a cut as well
  assert_int_equal(rounds[0].figures.cuts_clean, 3);
  assert_int_equal(rounds[0].figures.cuts, 6);
  assert_int_equal(rounds[0].figures.air, 3);
  assert_int_equal(rounds[0].figures.air_heard, 1);
  assert_float_equal(rounds[0].figures.alone_ms, 33.0, 1e-9);
  assert_float_equal(rounds[0].figures.seconds, 8.0, 1e-9);
  assert_string_equal(rounds[0].take, "2026-01-02-the-wet-gate.flac");
  assert_false(rounds[0].clean);
  assert_true(rounds[1].clean);
  char* json = NULL;
  assert_int_equal(sr_history_assessment(history, rounds[0].id, &json, NULL), SR_OK);
  assert_string_equal(json, "{\"made\":true}");
  free(json);
  SrError error = {0};
  assert_int_equal(sr_history_assessment(history, 999, &json, &error), SR_NOT_FOUND);
  assert_null(json);
  sr_history_rounds_del(rounds, count);
  assert_int_equal(sr_history_rounds(history, phrases->id, 20003, INT_MAX, &rounds, &count, NULL),
                   SR_OK);
  assert_int_equal(count, 1);
  // Not in our folder
  assert_null(rounds->take);
  assert_true(isnan(rounds->figures.offset_ms));
  sr_history_rounds_del(rounds, count);

  SrPracticeDay* days = NULL;
  assert_int_equal(sr_history_days(history, phrases->id, INT_MIN, &days, &count, NULL), SR_OK);
  assert_int_equal(count, 2);
  assert_int_equal(days[0].day, 20000);
  assert_int_equal(days[0].rounds, 2);
  assert_int_equal(days[0].clean_rounds, 1);
  assert_float_equal(days[0].clean_bpm, 100.0, 1e-9);
  assert_int_equal(days[0].cuts_clean, 9);
  assert_int_equal(days[0].cuts, 12);
  assert_float_equal(days[0].spread_ms, 11.0, 1e-9);
  assert_float_equal(days[0].offset_ms, -5.0, 1e-9);
  assert_float_equal(days[0].abs_offset_ms, 15.0, 1e-9);
  assert_float_equal(days[0].alone_ms, 22.0, 1e-9);
  assert_int_equal(days[0].air, 6);
  assert_int_equal(days[0].air_heard, 1);
  assert_float_equal(days[0].seconds, 15.2, 1e-9);
  assert_true(isnan(days[1].offset_ms));
  assert_true(isnan(days[1].alone_ms));
  free(days);

  // Of the last two rounds nothing was wrong; of all three, bar 1 had two faulty cuts and air
  SrBarFigures* bars = NULL;
  assert_int_equal(sr_history_worst_bars(history, phrases->id, 3, &bars, &count, NULL), SR_OK);
  assert_int_equal(count, 3);
  assert_int_equal(bars[0].bar, 1);
  assert_int_equal(bars[0].rounds, 3);
  assert_int_equal(bars[0].cuts_faulty, 2);
  assert_int_equal(bars[0].air_heard, 1);
  assert_int_equal(bars[0].faults, 3);
  assert_int_equal(bars[1].bar, 3);
  assert_int_equal(bars[1].wrong, 1);
  free(bars);
  assert_int_equal(sr_history_worst_bars(history, phrases->id, 2, &bars, &count, NULL), SR_OK);
  assert_int_equal(bars[0].faults, 0);
  free(bars);
  double bpm = 0.0;
  assert_int_equal(sr_history_last_clean_bpm(history, phrases->id, &bpm, NULL), SR_OK);
  assert_float_equal(bpm, 104.0, 1e-9);
  assert_int_equal(sr_history_last_clean_bpm(history, 999, &bpm, NULL), SR_OK);
  assert_true(isnan(bpm));

  sr_history_phrases_del(phrases, 1);
  sr_phrase_del(phrase);
  sr_history_close(history);
  free(take);
  free(takes);
  unlink(home.path);
}

/// What sha256sum of coreutils makes of a text, 32 digits; "" if there is none.
static void
digest_from_outside(const char* const text, char digest[SR_IDENTITY_SIZE])
{
  char* const file = folder_path(home.data, "notes");
  file_put(file, text);
  const char* const arguments[] = {"/usr/bin/sha256sum", file, NULL};
  ProgramRun run = run_program(arguments);
  snprintf(digest, SR_IDENTITY_SIZE, "%.32s", run.status == 0 ? run.output : "");
  run_clear(&run);
  unlink(file);
  free(file);
}

static SrPhrase*
phrase_of(const char* const text)
{
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_text(text, strlen(text), "text", NULL, &phrase, NULL), SR_OK);
  return phrase;
}

static void
a_phrase_is_known_by_its_notes(void** const state)
{
  (void)state;
  static const char plain[] = "X:1\nT:One\nM:6/8\nL:1/8\nK:D\nA3{c}A3|\n";
  SrPhrase* const phrase = phrase_of(plain);
  char identity[SR_IDENTITY_SIZE];
  char outside[SR_IDENTITY_SIZE];
  sr_phrase_identity(phrase, identity);
  // The text as history.h defines it: the digest of a C♯5 cut between two As
  digest_from_outside("1\n| 0/1 3/8\n0/1 3/8 69 0 -1\n3/8 3/8 69 1 73\n", outside);
  assert_string_equal(identity, outside);

  static const struct {
    const char* text;
    bool same;
  } others[] = {
      {"X:7\nT:Another Name\nM:6/8\nL:1/16\nK:Bm\nA6{c}A6|\n", true},
      {"X:1\nT:One\nM:6/8\nL:1/8\nK:D\n\"^air\"A3{c}\"_draw\"A3|\n", true},
      {"X:1\nT:One\nM:6/8\nL:1/8\nK:D\nA3A3|\n", false},
      {"X:1\nT:One\nM:6/8\nL:1/8\nK:D\nA3{B}A3|\n", false},
      {"X:1\nT:One\nM:6/8\nL:1/8\nK:D\nA2z{c}A3|\n", false},
      {"X:1\nT:One\nM:3/4\nL:1/8\nK:D\nA3{c}A3|\n", false},
      {"X:1\nT:One\nM:6/8\nL:1/8\nK:D\nA3{c}A3|A3{c}A3|\n", false},
  };
  for (size_t i = 0; i < sizeof(others) / sizeof(others[0]); ++i) {
    SrPhrase* const other = phrase_of(others[i].text);
    sr_phrase_identity(other, outside);
    assert_int_equal(!strcmp(identity, outside), others[i].same);
    sr_phrase_del(other);
  }
  // What a plan asks for is no other phrase
  sr_phrase_ask_air(phrase, 0);
  sr_phrase_identity(phrase, outside);
  assert_string_equal(identity, outside);
  sr_phrase_del(phrase);

  // Under another title it is the same entry, and the newest title is shown
  SrHistory* const history = made_history_open();
  SrPhrase* const one = made_phrase("Old Name", 0);
  SrPhrase* const two = made_phrase("New Name", 0);
  SrPhrase* const three = made_phrase("New Name", 2);
  const MadeRound round = {.bpm = 90.0};
  made_round_add(history, one, &round, 20000, 0, NULL);
  made_round_add(history, two, &round, 20001, 0, NULL);
  made_round_add(history, one, &round, 19990, 0, NULL);
  made_round_add(history, three, &round, 20002, 0, NULL);
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  assert_int_equal(sr_history_phrases(history, &phrases, &count, NULL), SR_OK);
  assert_int_equal(count, 2);
  assert_int_equal(phrases[0].transposed, 2);
  assert_string_equal(phrases[1].title, "New Name");
  sr_history_phrases_del(phrases, count);
  sr_history_close(history);
  sr_phrase_del(one);
  sr_phrase_del(two);
  sr_phrase_del(three);
  unlink(home.path);
}

static void
days_are_those_of_the_wall(void** const state)
{
  (void)state;
  static const struct {
    SrMoment moment;
    int day;
  } cases[] = {{{0, 0}, 0},           {{-1, 0}, -1},    {{86399999, 0}, 0},
               {{86399999, 3600}, 1}, {{0, -3600}, -1}, {{INT64_C(1790967600000), -18000}, 20728}};
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    assert_int_equal(sr_moment_day(cases[i].moment), cases[i].day);
  }
  // Against the C library, in a zone that is never UTC
  setenv("TZ", "XXX-05:45", 1);
  tzset();
  const SrMoment now = sr_moment_now();
  assert_int_equal(now.offset_s, 20700);
  const time_t seconds = (time_t)(now.utc_ms / 1000);
  struct tm local;
  localtime_r(&seconds, &local);
  const time_t local_seconds = timegm(&local);
  assert_int_equal(sr_moment_day(now), (int)(local_seconds / 86400));
  unsetenv("TZ");
  tzset();
}

/// A round that was broken off is known with its take, and counts nowhere.
static void
an_unfinished_round_counts_nowhere(void** const state)
{
  (void)state;
  unlink(home.path);
  SrHistory* const history = made_history_open();
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  SrPhrase* const other = made_phrase("The Dry Gate", 2);
  char* const takes = folder_path(home.folder, "takes");
  mkdir(takes, 0700);
  char* const take = folder_path(takes, "2026-01-02-the-wet-gate.flac");
  const MadeRound round = {.bpm = 90.0};
  made_round_add(history, phrase, &round, 20000, 0, take);
  const SrUnfinishedRound unfinished = {7, 5.5};
  const SrPractice practice = {.asked_bpm = 100.0, .take = take};
  const SrPractice elsewhere = {.asked_bpm = (double)NAN};
  const SrMoment moment = {INT64_C(86400000) * 20001, 0};
  assert_int_equal(
      sr_history_add_unfinished(history, phrase, &unfinished, &practice, &moment, NULL), SR_OK);
  assert_int_equal(
      sr_history_add_unfinished(history, other, &unfinished, &elsewhere, &moment, NULL), SR_OK);
  assert_int_equal(made_round_count(history), 1);
  assert_int_equal(made_sql_number(home.path, "SELECT sum(rounds) FROM practice_day"), 1);
  assert_int_equal(made_sql_number(home.path, "SELECT max(day) FROM practice_day"), 20000);
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  assert_int_equal(sr_history_phrases(history, &phrases, &count, NULL), SR_OK);
  assert_int_equal(count, 1);
  assert_int_equal(sr_moment_day(phrases->last), 20000);
  sr_history_phrases_del(phrases, count);
  SrTakeEntry* entries = NULL;
  assert_int_equal(sr_take_entries(history, NULL, &entries, &count, NULL), SR_OK);
  assert_int_equal(count, 1);
  assert_int_equal(entries->rounds, 1);
  assert_int_equal(entries->unfinished, 1);
  assert_int_equal(sr_moment_day(entries->last), 20001);
  sr_take_entries_del(entries, count);
  assert_int_equal(
      made_sql_number(home.path, "SELECT count(*) FROM unfinished WHERE notes = 7 AND seconds = 5.5"
                                 " AND day = 20001"),
      2);
  assert_int_equal(made_sql_number(home.path,
                                   "SELECT count(*) FROM unfinished WHERE take IS NOT NULL AND "
                                   "asked_bpm = 100.0"),
                   1);
  free(take);
  free(takes);
  sr_phrase_del(phrase);
  sr_phrase_del(other);
  sr_history_close(history);
  unlink(home.path);
}

/// A take without a whole round is one of its phrase, too.
static void
phrases_with_takes_are_listed(void** const state)
{
  (void)state;
  unlink(home.path);
  SrHistory* const history = made_history_open();
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  SrPhrase* const other = made_phrase("The Dry Gate", 2);
  char* const takes = folder_path(home.folder, "takes");
  mkdir(takes, 0700);
  char* const wet = folder_path(takes, "wet.flac");
  char* const dry = folder_path(takes, "dry.flac");
  const MadeRound round = {.bpm = 90.0};
  made_round_add(history, phrase, &round, 20000, 0, wet);
  made_round_add(history, other, &round, 20003, 0, NULL);
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  assert_int_equal(sr_history_phrases_with_takes(history, &phrases, &count, NULL), SR_OK);
  assert_int_equal(count, 1);
  assert_string_equal(phrases->title, "The Wet Gate");
  assert_int_equal(sr_moment_day(phrases->last), 20000);
  sr_history_phrases_del(phrases, count);
  const SrUnfinishedRound unfinished = {7, 5.5};
  const SrPractice practice = {.asked_bpm = (double)NAN, .take = dry};
  const SrMoment moment = {INT64_C(86400000) * 20002, 0};
  assert_int_equal(sr_history_add_unfinished(history, other, &unfinished, &practice, &moment, NULL),
                   SR_OK);
  assert_int_equal(sr_history_phrases_with_takes(history, &phrases, &count, NULL), SR_OK);
  assert_int_equal(count, 2);
  assert_string_equal(phrases[0].title, "The Dry Gate");
  assert_int_equal(sr_moment_day(phrases[0].last), 20002);
  sr_history_phrases_del(phrases, count);
  free(wet);
  free(dry);
  free(takes);
  sr_phrase_del(phrase);
  sr_phrase_del(other);
  sr_history_close(history);
  unlink(home.path);
}

/// Version 2 had no table of unfinished rounds.
static void
version_2_is_brought_up_to_date(void** const state)
{
  (void)state;
  unlink(home.path);
  SrHistory* history = made_history_open();
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  const MadeRound round = {.bpm = 90.0};
  made_round_add(history, phrase, &round, 20000, 0, NULL);
  sr_history_close(history);
  made_sql(home.path, "DROP TABLE unfinished; PRAGMA user_version = 2");
  history = made_history_open();
  assert_null(sr_history_remark(history));
  assert_int_equal(made_sql_number(home.path, "PRAGMA user_version"), SR_HISTORY_VERSION);
  assert_int_equal(made_round_count(history), 1);
  const SrUnfinishedRound unfinished = {7, 5.5};
  const SrPractice practice = {.asked_bpm = 100.0};
  assert_int_equal(sr_history_add_unfinished(history, phrase, &unfinished, &practice, NULL, NULL),
                   SR_OK);
  assert_int_equal(made_sql_number(home.path, "SELECT count(*) FROM unfinished"), 1);
  sr_phrase_del(phrase);
  sr_history_close(history);
  unlink(home.path);
}

static char*
fixture(void)
{
  char* text = NULL;
  assert_true(g_file_get_contents(fixture_path, &text, NULL, NULL));
  return text;
}

static void
version_1_is_brought_up_to_date(void** const state)
{
  (void)state;
  mkdir(home.folder, 0700);
  char* const sql = fixture();
  made_sql(home.path, sql);
  assert_int_equal(made_sql_number(home.path, "PRAGMA user_version"), 1);
  SrHistory* const history = made_history_open();
  assert_null(sr_history_remark(history));
  assert_int_equal(made_sql_number(home.path, "PRAGMA user_version"), SR_HISTORY_VERSION);
  assert_int_equal(made_round_count(history), 3);

  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  assert_int_equal(sr_history_phrases(history, &phrases, &count, NULL), SR_OK);
  assert_int_equal(count, 2);
  assert_string_equal(phrases[0].title, "First Sip");
  assert_int_equal(phrases[0].part, 'A');
  assert_int_equal(phrases[0].last.offset_s, -18000);
  assert_string_equal(phrases[1].file, "/music/lamp.abc");
  SrPracticeDay* days = NULL;
  assert_int_equal(sr_history_days(history, phrases[1].id, INT_MIN, &days, &count, NULL), SR_OK);
  assert_int_equal(count, 1);
  // Worked out by hand from the fixture's two rounds of that day
  assert_int_equal(days->day, 20727);
  assert_int_equal(days->rounds, 2);
  assert_int_equal(days->clean_rounds, 1);
  assert_float_equal(days->clean_bpm, 100.25, 1e-9);
  assert_float_equal(days->best_clean_bpm, 100.25, 1e-9);
  assert_int_equal(days->cuts_clean, 6);
  assert_float_equal(days->spread_ms, 10.0, 1e-9);
  assert_float_equal(days->offset_ms, -2.0, 1e-9);
  assert_float_equal(days->abs_offset_ms, 6.0, 1e-9);
  assert_float_equal(days->alone_ms, 17.0, 1e-9);
  assert_float_equal(days->seconds, 14.25, 1e-9);
  free(days);
  assert_int_equal(sr_history_days(history, phrases[0].id, INT_MIN, &days, &count, NULL), SR_OK);
  assert_int_equal(count, 1);
  assert_true(isnan(days->clean_bpm) && isnan(days->spread_ms) && isnan(days->alone_ms));
  free(days);
  sr_history_phrases_del(phrases, 2);

  // What comes later is counted, too
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  const MadeRound round = {.bpm = 90.0};
  made_round_add(history, phrase, &round, 20730, 0, NULL);
  assert_int_equal(made_round_count(history), 4);
  sr_phrase_del(phrase);
  sr_history_close(history);
  assert_int_equal(made_sql_number(home.path, "SELECT sum(rounds) FROM practice_day"), 4);
  assert_true(made_sql_is_whole(home.path));
  g_free(sql);
  unlink(home.path);
}

/// Sums of a day are what the rounds say, however they came in.
static void
sums_of_days_agree_with_the_rounds(void** const state)
{
  (void)state;
  SrHistory* const history = made_history_open();
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  for (int i = 0; i < 60; ++i) {
    const MadeRound round = {.bpm = 80.0 + i % 7,
                             .joined = (unsigned)i % 3,
                             .missed = i % 11 == 0,
                             .spread_ms = 10.0 + i % 5,
                             .offset_ms = i % 4 ? i % 9 - 4.0 : (double)NAN,
                             .alone_ms = i % 6 ? (double)NAN : 10.0 + i,
                             .air = (unsigned)i % 4,
                             .heard = i % 4 == 3};
    made_round_add(history, phrase, &round, 20000 + (i * 7) % 10, i, NULL);
  }
  sr_history_close(history);
  assert_int_equal(
      made_sql_number(
          home.path,
          "SELECT count(*) FROM practice_day AS d JOIN (SELECT phrase, day, count(*) AS rounds,"
          " sum(clean) AS clean, max(CASE WHEN clean THEN played_bpm END) AS best,"
          " sum(cuts_clean) AS cuts_clean, sum(air_heard) AS air_heard,"
          " total(spread_ms) AS spread, count(offset_ms) AS offsets, total(abs(offset_ms)) AS off,"
          " total(alone * alone_ms) AS alone, total(seconds) AS seconds, max(utc_ms) AS last"
          " FROM round GROUP BY phrase, day) AS r USING (phrase, day)"
          " WHERE d.rounds = r.rounds AND clean_rounds = clean AND clean_bpm_best IS best"
          " AND d.cuts_clean = r.cuts_clean AND d.air_heard = r.air_heard"
          " AND abs(spread_sum - spread) < 1e-6 AND offset_count = offsets"
          " AND abs(offset_abs_sum - off) < 1e-6 AND abs(alone_sum - r.alone) < 1e-6"
          " AND abs(d.seconds - r.seconds) < 1e-6 AND last_utc_ms = last"),
      10);
  assert_int_equal(made_sql_number(home.path, "SELECT count(*) FROM practice_day"), 10);
  sr_phrase_del(phrase);
  unlink(home.path);
}

int
main(const int argc, char** const argv)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(only_the_owner_can_read),
      cmocka_unit_test(what_goes_in_comes_out),
      cmocka_unit_test(a_phrase_is_known_by_its_notes),
      cmocka_unit_test(days_are_those_of_the_wall),
      cmocka_unit_test(phrases_with_takes_are_listed),
      cmocka_unit_test(version_1_is_brought_up_to_date),
      cmocka_unit_test(sums_of_days_agree_with_the_rounds),
      cmocka_unit_test(version_2_is_brought_up_to_date),
      cmocka_unit_test(an_unfinished_round_counts_nowhere),
  };
  if (argc < 2) {
    return 2;
  }
  fixture_path = argv[1];
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
