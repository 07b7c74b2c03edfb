// SPDX-License-Identifier: GPL-3.0-or-later

// What is practised is remembered, and trouble with that stops nobody.

#include "scenes.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "course.h"
#include "made_history.h"
#include "run_program.h"

#include <steadyreed/kept_takes.h>
#include <steadyreed/preferences.h>
#include <steadyreed/recording.h>

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// How soon it must be over, s.
#define END_S 20.0

/// Practise the short tune for so many rounds, without a click.
static void
practise(Sitting* const s, const Short* const tune, const char* const rounds)
{
  const char* const options[] = {"--silent", "--rounds", rounds, NULL};
  sitting_practise(s, tune->phrase, options);
  sitting_wait_for(s, "Recording to", 20.0);
  test_nap(0.5);
  sitting_play(s, tune->path);
  assert_int_equal(sitting_end(s, 30.0 + END_S), 0);
  sitting_wait_played(s);
}

/// Two old takes of the phrase, the second of them better, in a history of before.
static void
add_old_takes(const Sitting* const s, const SrPhrase* const phrase)
{
  SrHistory* history = NULL;
  char* folder = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  assert_int_equal(sr_takes_folder(&folder, NULL), SR_OK);
  assert_string_equal(folder, s->takes);
  for (int i = 0; i < 2; ++i) {
    const MadeRound round = {.bpm = 300.0, .joined = i ? 0 : 3, .spread_ms = i ? 0.0 : 20.0};
    char* const take = folder_path(folder, i ? "best.flac" : "old.flac");
    made_round_add(history, phrase, &round, 20000 + i, 0, take);
    file_put(take, "as if it were one");
    assert_int_equal(sr_history_take_saved(history, take, NULL), SR_OK);
    free(take);
  }
  sr_history_close(history);
  free(folder);
  assert_int_equal(sr_preferences_keep_takes_limit(1000, NULL), SR_OK);
}

static void
rounds_are_remembered(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 2);
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_file(tune.phrase, NULL, &phrase, NULL), SR_OK);
  add_old_takes(s, phrase);
  practise(s, &tune, "2");

  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_LOOK, &history, NULL), SR_OK);
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  assert_int_equal(sr_history_phrases(history, &phrases, &count, NULL), SR_OK);
  assert_int_equal(count, 1);
  char* const real = realpath(tune.phrase, NULL);
  assert_string_equal(phrases->file, real);
  free(real);
  SrHistoryRound* rounds = NULL;
  const int today = sr_moment_day(sr_moment_now());
  assert_int_equal(
      sr_history_rounds(history, phrases->id, today - 1, today + 1, &rounds, &count, NULL), SR_OK);
  assert_int_equal(count, 2);
  for (size_t i = 0; i < 2; ++i) {
    assert_int_equal(rounds[i].figures.notes, SHORT_NOTES);
    assert_int_equal(rounds[i].figures.notes_right, SHORT_NOTES);
    assert_true(fabs(rounds[i].figures.seconds - SHORT_S) < 0.5);
    assert_true(fabs(rounds[i].played_bpm - 100.0) < 2.0);
    assert_true(isnan(rounds[i].asked_bpm));
    assert_int_equal(rounds[i].click, SR_CLICK_NONE);
    char* const take = folder_path(s->takes, rounds[i].take);
    assert_int_equal(access(take, F_OK), 0);
    free(take);
    char* json = NULL;
    assert_int_equal(sr_history_assessment(history, rounds[i].id, &json, NULL), SR_OK);
    json_t* const assessment = json_loads(json, 0, NULL);
    assert_int_equal(verdicts_rounds(assessment), 1);
    assert_int_equal(json_array_size(json_object_get(verdicts_round(assessment, 0), "notes")),
                     SHORT_NOTES);
    json_decref(assessment);
    free(json);
  }
  // The take was finished, so it may go one day; the oldest has gone, the best stays
  SrTakeEntry* takes = NULL;
  size_t take_count = 0;
  assert_int_equal(sr_take_entries(history, NULL, &takes, &take_count, NULL), SR_OK);
  assert_int_equal(take_count, 3);
  assert_false(takes[0].there);
  assert_true(takes[1].there);
  assert_true(takes[2].there && takes[2].ours && takes[2].latest && takes[2].rounds == 2);
  assert_int_equal(sitting_kept_count(s), 2);
  char* const said = sitting_said(s);
  text_squeeze(said);
  if (!strstr(said,
              "To keep your takes within 1.0 kB, 1 old one was removed, 17 bytes: old.flac.")) {
    fail_msg("%s", said);
  }
  free(said);
  sr_take_entries_del(takes, take_count);
  sr_history_rounds_del(rounds, count);
  sr_history_phrases_del(phrases, 1);
  sr_history_close(history);
  sr_phrase_del(phrase);
  short_clear(&tune);
}

static void
trouble_with_the_history_stops_nobody(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  sr_history_close(history);
  char* const path = sitting_path(s, "data/steadyreed/history.sqlite");
  // Of a newer program: it is left alone, and practice goes on without
  made_sql(path, "PRAGMA user_version = 99");
  practise(s, &tune, "1");
  char* said = sitting_said(s);
  text_squeeze(said);
  assert_non_null(strstr(said, "This practice will not be in your progress."));
  assert_non_null(strstr(said, "Round 1:"));
  assert_non_null(strstr(said, "Kept, for your eyes only, in"));
  assert_int_equal(made_sql_number(path, "SELECT count(*) FROM round"), 0);
  free(said);
  // Damaged: it is set aside, and this practice is remembered
  unlink(path);
  file_put(path, "It was a history once, and is long enough to be no empty file.");
  practise(s, &tune, "1");
  said = sitting_said(s);
  text_squeeze(said);
  assert_non_null(strstr(said, "moved to history.sqlite.damaged-1"));
  assert_non_null(strstr(said, "Round 1:"));
  assert_int_equal(made_sql_number(path, "SELECT count(*) FROM round"), 1);
  free(said);
  free(path);
  short_clear(&tune);
}

const Scene scenes_history[] = {
    {"rounds are remembered", rounds_are_remembered, false, true},
    {"trouble with the history stops nobody", trouble_with_the_history_stops_nobody, false, false},
};
const size_t scenes_history_count = sizeof(scenes_history) / sizeof(scenes_history[0]);
