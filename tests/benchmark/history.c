// SPDX-License-Identifier: GPL-3.0-or-later

// A history of ten years: how long it takes to open it and read what `progress` shows, beside a
// plain select of the sqlite3 shell on the same file, and how many bytes a round takes as it grows.
//
// usage: history STEADYREED [SQLITE3]

#include "bench.h"

#include "../store/made_history.h"
#include "run_program.h"

#include "store/history_record.h"

#include <steadyreed/history.h>
#include <steadyreed/progress.h>
#include <steadyreed/show.h>

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TIMES 9
#define DAYS 3650
#define PHRASES 240
#define TARGET_MS 100.0

static char* path;

/// A JSON of the size that a round of twelve notes has.
static char*
real_json(void)
{
  SrPhrase* const phrase = made_phrase("The Lamp in the Porch", 0);
  const MadeRound made = {
      .bpm = 100.0, .joined = 1, .spread_ms = 11.2, .offset_ms = 4.8, .alone_ms = 21.0, .air = 2};
  SrAssessment* const assessment = made_assessment(phrase, &made);
  SrRound* const round = &assessment->rounds[0];
  for (size_t i = 0; i < round->note_count; ++i) {
    SrNoteVerdict* const note = &round->notes[i];
    note->due_s = 1.0 + 0.2131 * (double)i;
    note->onset_s = note->due_s + 0.0123;
    note->end_s = note->due_s + 0.2013;
    note->offset_ms = 12.31;
    note->cents = -3.27;
    note->level_db = -23.41;
    note->cut.onset_s = note->onset_s;
    note->cut.length_ms = 43.21;
    note->cut.fall_db = 31.27;
  }
  const SrShownTake shown = {.path = "", .phrase = phrase, .assessment = assessment};
  char* const json = sr_show_take_json(&shown);
  made_assessment_del(assessment);
  sr_phrase_del(phrase);
  return json;
}

/// Fill a new history with rounds, evenly over ten years: six phrases at a time, three of them a
/// day.
static void
fill(const size_t rounds, const char* const json)
{
  unlink(path);
  SrHistory* history = NULL;
  if (sr_history_open(path, SR_HISTORY_RECORD, &history, NULL) != SR_OK ||
      sr_history_run(history->database, "BEGIN IMMEDIATE") != SQLITE_OK) {
    bench_give_up("no history could be made");
  }
  const int today = sr_moment_day(sr_moment_now());
  for (size_t i = 0; i < rounds; ++i) {
    const int since = (int)(i * DAYS / rounds);
    const size_t phrase = (size_t)since * (PHRASES - 6) / DAYS + ((size_t)since + i) % 3 * 2;
    char uid[48];
    char identity[48];
    char title[48];
    char take[48];
    snprintf(uid, sizeof(uid), "00000000-0000-4000-8000-%012zu", i);
    snprintf(identity, sizeof(identity), "%032zu", phrase);
    snprintf(title, sizeof(title), "Phrase %zu", phrase);
    snprintf(take, sizeof(take), "2020-01-01-000000-take-%zu.flac", i / 9);
    SrHistoryRecord record = sr_record_none();
    char pulses[] = "pulses";
    char none[] = "";
    char layout[] = "30-c-g";
    char bars[] = "[{\"bar\":1,\"notes\":6,\"wrong\":0,\"joined\":0,\"cuts\":2,\"cuts_faulty\":1,"
                  "\"inserted\":0,\"slips\":0,\"air_heard\":0},{\"bar\":2,\"notes\":6,\"wrong\":0,"
                  "\"joined\":0,\"cuts\":2,\"cuts_faulty\":0,\"inserted\":0,\"slips\":0,"
                  "\"air_heard\":1}]";
    char* const copy = strdup(json);
    record.uid = uid;
    record.identity = identity;
    record.title = title;
    record.take = take;
    record.click = pulses;
    record.part = none;
    record.layout = layout;
    record.bars = bars;
    record.assessment = copy;
    record.take_marked = 0.0;
    record.utc_ms = ((int64_t)(today - DAYS + 1 + since) * 1440 + 600) * 60000 + (int64_t)i % 1000;
    record.first_bar = 1;
    record.last_bar = 2;
    record.chosen_bars = 1;
    record.phrase_notes = record.notes = 12;
    record.asked_bpm = 100.0;
    record.played_bpm = 99.873;
    record.score_cuts = 75.0;
    record.score_evenness = 91.233;
    record.clean = i % 4 == 0;
    record.notes_right = 11;
    record.cuts = 4;
    record.cuts_clean = (int64_t)i % 5;
    record.spread_ms = 9.0 + (double)(i % 41) / 7.0;
    record.offset_ms = (double)(i % 29) - 14.333;
    record.seconds = 7.213;
    if (sr_history_insert(history, &record, NULL) != SQLITE_OK) {
      bench_give_up(sqlite3_errmsg(history->database));
    }
    free(copy);
  }
  if (sr_history_end(history->database, SQLITE_OK) != SQLITE_OK) {
    bench_give_up("the history could not be written");
  }
  sr_history_close(history);
}

/// Open the history and read all that `progress` shows, ms. `days` receives how many days that is.
static double
read_progress(const int first_day, size_t* const phrases, size_t* const days)
{
  double ms[TIMES];
  for (int t = 0; t < TIMES; ++t) {
    const double from_s = bench_now_s();
    SrHistory* history = NULL;
    SrPhraseProgress* progress = NULL;
    if (sr_history_open(path, SR_HISTORY_LOOK, &history, NULL) != SR_OK ||
        sr_progress_read(history, first_day, NULL, &progress, phrases, NULL) != SR_OK) {
      bench_give_up("the history could not be read");
    }
    *days = 0;
    for (size_t i = 0; i < *phrases; ++i) {
      *days += progress[i].day_count;
    }
    sr_progress_del(progress, *phrases);
    sr_history_close(history);
    ms[t] = 1e3 * (bench_now_s() - from_s);
  }
  return bench_median(ms, TIMES);
}

/// A program from its start to its end, ms.
static double
time_program(const char* const* const arguments)
{
  double ms[TIMES];
  for (int t = 0; t < TIMES; ++t) {
    ProgramRun run = run_program(arguments);
    if (run.status) {
      bench_give_up(run.trouble);
    }
    ms[t] = 1e3 * run.seconds;
    run_clear(&run);
  }
  return bench_median(ms, TIMES);
}

/// What a plain select of the sums takes, without a table of days.
static const char plain_select[] =
    "SELECT title, day, count(*), sum(clean), avg(CASE WHEN clean THEN played_bpm END),"
    " sum(notes_right), sum(notes), sum(cuts_clean), sum(cuts), sum(air_heard), sum(air),"
    " avg(spread_ms), avg(offset_ms), avg(alone_ms), sum(seconds)"
    " FROM round JOIN phrase ON phrase.id = round.phrase GROUP BY phrase, day";

int
main(const int argc, char** const argv)
{
  if (argc < 2) {
    return 2;
  }
  char* const data = folder_make();
  char* const folder = folder_path(data, "steadyreed");
  path = folder_path(folder, "history.sqlite");
  setenv("XDG_DATA_HOME", data, 1);
  mkdir(folder, 0700);
  char* const json = real_json();
  printf("a round of 12 notes has %zu bytes of JSON\n", json ? strlen(json) : 0);
  static const size_t sizes[] = {1000, 10000, 100000};
  for (size_t s = 0; json && s < 3; ++s) {
    fill(sizes[s], json);
    struct stat status;
    if (stat(path, &status)) {
      bench_give_up("the history is not there");
    }
    size_t phrases = 0;
    size_t days = 0;
    const int recent = sr_moment_day(sr_moment_now()) - 29;
    const double recent_ms = read_progress(recent, &phrases, &days);
    printf("%6zu rounds: %.0f bytes each; open and read the %zu phrases of the last 30 days: %.1f "
           "ms",
           sizes[s], (double)status.st_size / (double)sizes[s], phrases, recent_ms);
    const double all_ms = read_progress(INT_MIN, &phrases, &days);
    printf("; all %zu with %zu days: %.1f ms (target %.0f ms: %s)\n", phrases, days, all_ms,
           TARGET_MS, bench_verdict(all_ms < TARGET_MS));
    const char* const ours[] = {argv[1], "progress", NULL};
    const char* const theirs[] = {argc > 2 ? argv[2] : "", path, plain_select, NULL};
    const double our_ms = time_program(ours);
    printf("%6zu rounds: `steadyreed progress` %.1f ms", sizes[s], our_ms);
    if (argc > 2) {
      const double their_ms = time_program(theirs);
      printf(", a plain select of sqlite3 %.1f ms, ratio %.2f", their_ms, our_ms / their_ms);
    }
    putchar('\n');
    fflush(stdout);
  }
  free(json);
  folder_remove(folder);
  folder_remove(data);
  free(path);
  free(folder);
  free(data);
  return 0;
}
