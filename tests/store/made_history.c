// SPDX-License-Identifier: GPL-3.0-or-later

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_history.h"

#include <sqlite3.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

SrPhrase*
made_phrase(const char* const title, const int transpose)
{
  char text[512];
  snprintf(text, sizeof(text),
           "X:1\nT:%s\nM:4/4\nL:1/4\nQ:1/4=100\nK:D\nA{c}AB{d}B|G{B}GF{A}F|E{G}ED{F}D|]\n", title);
  const SrPhraseChoice choice = {.transpose = transpose};
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_text(text, strlen(text), "made", &choice, &phrase, NULL), SR_OK);
  assert_int_equal(sr_phrase_note_count(phrase), 12);
  return phrase;
}

static void
fill_notes(const SrPhrase* const phrase, const MadeRound* const made, SrRound* const round)
{
  unsigned cut = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    SrNoteVerdict* const note = &round->notes[i];
    *note = (SrNoteVerdict){.index = i,
                            .bar = written->bar,
                            .midi = written->midi,
                            .heard_midi = -1,
                            .ornament = written->ornament,
                            .joined = SR_NOT_ASKED,
                            .air_asked = i < made->air};
    if (i >= round->note_count - made->missed) {
      note->status = SR_NOTE_MISSED;
      cut += written->cut_midi >= 0;
    } else if (written->cut_midi >= 0) {
      const bool joined = cut++ < made->joined;
      note->has_cut = true;
      note->cut.verdict = joined ? SR_CUT_JOINED : SR_CUT_CLEAN;
      note->joined = joined ? SR_YES : SR_NO;
    }
    if (i < made->heard) {
      round->air[round->air_count++] =
          (SrAirRelease){.audible = true, .asked = true, .note_index = i};
    }
  }
}

SrAssessment*
made_assessment(const SrPhrase* const phrase, const MadeRound* const made)
{
  SrAssessment* const assessment = (SrAssessment*)calloc(1, sizeof(SrAssessment));
  SrRound* const round = (SrRound*)calloc(1, sizeof(SrRound));
  assert_true(assessment && round);
  assessment->title = strdup(sr_phrase_title(phrase));
  assessment->first_bar = 1;
  assessment->last_bar = 3;
  assessment->rounds = round;
  assessment->round_count = 1;
  round->note_count = sr_phrase_note_count(phrase);
  round->notes = (SrNoteVerdict*)calloc(round->note_count, sizeof(SrNoteVerdict));
  round->air = (SrAirRelease*)calloc(round->note_count, sizeof(SrAirRelease));
  assert_true(round->notes && round->air);
  fill_notes(phrase, made, round);
  round->start_s = 1.0;
  round->end_s = 1.0 + 12.0 * 60.0 / made->bpm;
  round->pulse = (SrPulse){.unit = {1, 4},
                           .played_bpm = made->bpm,
                           .spread_ms = made->spread_ms,
                           .mean_offset_ms = made->offset_ms};
  round->asked = (SrAmounts){round->note_count, 6, made->air};
  if (isfinite(made->alone_ms) && made->alone_ms != 0.0) {
    round->alone = (SrAlone*)calloc(1, sizeof(SrAlone));
    assert_non_null(round->alone);
    round->alone[0].change_ms = made->alone_ms;
    round->alone_count = 1;
  }
  const unsigned lost = made->joined + made->missed / 2;
  round->scores.cuts = 100.0 * (6.0 - (lost > 6 ? 6 : lost)) / 6.0;
  round->scores.evenness = fmax(0.0, 100.0 - made->spread_ms);
  round->scores.air =
      made->air ? 100.0 * (made->air - made->heard) / (double)made->air : (double)NAN;
  round->clean = !made->joined && !made->missed && !made->heard;
  return assessment;
}

void
made_assessment_del(SrAssessment* const assessment)
{
  free(assessment->rounds->notes);
  free(assessment->rounds->air);
  free(assessment->rounds->alone);
  free(assessment->rounds);
  free(assessment->title);
  free(assessment);
}

static void
add_round(SrHistory* const history, const SrPhrase* const phrase, const MadeRound* const made,
          const int day, const int minute, const SrPractice* const practice)
{
  SrAssessment* const assessment = made_assessment(phrase, made);
  const SrMoment moment = {((int64_t)day * 1440 + 720 + minute) * 60000, 0};
  SrError error = {0};
  const SrStatus status = sr_history_add_round(history, phrase, assessment, 0, practice,
                                               "{\"made\":true}", &moment, &error);
  if (status != SR_OK) {
    fail_msg("the round was not added: %s", error.message);
  }
  made_assessment_del(assessment);
}

void
made_round_add(SrHistory* const history, const SrPhrase* const phrase, const MadeRound* const made,
               const int day, const int minute, const char* const take)
{
  const SrPractice practice = {
      .asked_bpm = made->bpm, .click = SR_CLICK_PULSES, .take = take, .layout = "30-c-g"};
  add_round(history, phrase, made, day, minute, &practice);
}

void
made_round_add_of(SrHistory* const history, const SrPhrase* const phrase,
                  const MadeRound* const made, const int day, const int minute,
                  const char* const file)
{
  const SrPractice practice = {.asked_bpm = made->bpm, .click = SR_CLICK_PULSES, .file = file};
  add_round(history, phrase, made, day, minute, &practice);
}

/// Open a database of SQLite's own.
static sqlite3*
open_database(const char* const path)
{
  sqlite3* database = NULL;
  assert_int_equal(sqlite3_open(path, &database), SQLITE_OK);
  sqlite3_busy_timeout(database, 5000);
  return database;
}

void
made_sql(const char* const path, const char* const sql)
{
  sqlite3* const database = open_database(path);
  char* why = NULL;
  if (sqlite3_exec(database, sql, NULL, NULL, &why) != SQLITE_OK) {
    fail_msg("%s", why);
  }
  sqlite3_close(database);
}

long long
made_sql_number(const char* const path, const char* const sql)
{
  sqlite3* const database = open_database(path);
  sqlite3_stmt* query = NULL;
  assert_int_equal(sqlite3_prepare_v2(database, sql, -1, &query, NULL), SQLITE_OK);
  const long long number = sqlite3_step(query) == SQLITE_ROW ? sqlite3_column_int64(query, 0) : -1;
  sqlite3_finalize(query);
  sqlite3_close(database);
  return number;
}

bool
made_sql_is_whole(const char* const path)
{
  sqlite3* const database = open_database(path);
  sqlite3_stmt* query = NULL;
  assert_int_equal(sqlite3_prepare_v2(database, "PRAGMA integrity_check", -1, &query, NULL),
                   SQLITE_OK);
  bool whole = sqlite3_step(query) == SQLITE_ROW &&
               !strcmp((const char*)sqlite3_column_text(query, 0), "ok");
  sqlite3_finalize(query);
  assert_int_equal(sqlite3_prepare_v2(database, "PRAGMA foreign_key_check", -1, &query, NULL),
                   SQLITE_OK);
  whole = whole && sqlite3_step(query) == SQLITE_DONE;
  sqlite3_finalize(query);
  sqlite3_close(database);
  return whole;
}
