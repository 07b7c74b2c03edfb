// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/kept_takes.h>

#include "history_database.h"
#include "history_rows.h"

#include <steadyreed/recording.h>

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// An entry, and what decides which take is the best.
typedef struct {
  SrTakeEntry entry;
  double quality; ///< Of its best round, 0 to 100
  double bpm;     ///< Of that round
  int64_t bytes;  ///< As it was saved; -1 if it was not
  int64_t changed_ms;
} Known;

static void
clear_entry(SrTakeEntry* const entry)
{
  free(entry->name);
  free(entry->title);
  *entry = (SrTakeEntry){.name = NULL};
}

void
sr_take_entries_del(SrTakeEntry* const entries, const size_t count)
{
  for (size_t i = 0; entries && i < count; ++i) {
    clear_entry(&entries[i]);
  }
  free(entries);
}

static int64_t
changed_ms(const struct stat* const status)
{
  return (int64_t)status->st_mtim.tv_sec * 1000 + status->st_mtim.tv_nsec / 1000000;
}

/// See what lies in the folder now. Only a plain name can be ours.
static void
look_at_file(const int folder, Known* const known)
{
  SrTakeEntry* const entry = &known->entry;
  struct stat status;
  entry->there = !strchr(entry->name, '/') &&
                 !fstatat(folder, entry->name, &status, AT_SYMLINK_NOFOLLOW) &&
                 S_ISREG(status.st_mode);
  if (entry->there) {
    entry->bytes = (uint64_t)status.st_size;
    entry->ours = status.st_nlink == 1 && status.st_size == known->bytes &&
                  changed_ms(&status) == known->changed_ms;
  }
}

/// Whether one take of a phrase is better than another, later ones winning a tie.
static bool
is_better(const Known* const one, const Known* const other)
{
  if (one->quality != other->quality) {
    return one->quality > other->quality;
  }
  // Hundredths of a pulse make nobody faster
  const double faster = round(one->bpm) - round(other->bpm);
  return faster != 0.0 ? faster > 0.0 : one->entry.last.utc_ms > other->entry.last.utc_ms;
}

/// Find the best and the latest take of each phrase among those there. The takes are in order of
/// phrase.
static void
choose(Known* const takes, const size_t count)
{
  for (size_t begin = 0; begin < count;) {
    Known* best = NULL;
    Known* latest = NULL;
    size_t i = begin;
    for (; i < count && takes[i].entry.phrase == takes[begin].entry.phrase; ++i) {
      if (!takes[i].entry.there) {
        continue;
      }
      best = !best || is_better(&takes[i], best) ? &takes[i] : best;
      latest =
          !latest || takes[i].entry.last.utc_ms >= latest->entry.last.utc_ms ? &takes[i] : latest;
    }
    if (best && latest) {
      best->entry.best = true;
      latest->entry.latest = true;
    }
    begin = i;
  }
}

static int
by_age(const void* const one, const void* const other)
{
  const SrTakeEntry* const a = (const SrTakeEntry*)one;
  const SrTakeEntry* const b = (const SrTakeEntry*)other;
  return a->last.utc_ms != b->last.utc_ms
             ? (a->last.utc_ms > b->last.utc_ms) - (a->last.utc_ms < b->last.utc_ms)
             : strcmp(a->name, b->name);
}

static bool
take_known(sqlite3_stmt* const query, void* const element)
{
  Known* const known = (Known*)element;
  *known = (Known){
      .entry = {.name = sr_history_text(query, 0),
                .phrase = sqlite3_column_int64(query, 1),
                .title = sr_history_text(query, 2),
                .first_bar = sqlite3_column_int(query, 3),
                .last_bar = sqlite3_column_int(query, 4),
                .last = {sqlite3_column_int64(query, 5), sqlite3_column_int(query, 6)},
                .rounds = sr_history_count(query, 7),
                .unfinished = sr_history_count(query, 13),
                .marked = sqlite3_column_int(query, 8) != 0},
      .bytes = sqlite3_column_type(query, 9) == SQLITE_NULL ? -1 : sqlite3_column_int64(query, 9),
      .changed_ms = sqlite3_column_int64(query, 10),
      .quality = sqlite3_column_double(query, 11),
      .bpm = sqlite3_column_double(query, 12)};
  return known->entry.name && known->entry.title;
}

/// All takes known, with what lies in an open folder, the oldest first.
static SrStatus
list_takes(SrHistory* const history, const int folder, SrTakeEntry** const entries,
           size_t* const count, SrError* const error)
{
  *entries = NULL;
  *count = 0;
  sqlite3_stmt* const query = sr_history_query(
      history,
      "WITH rated AS (SELECT take, utc_ms, utc_offset_s, coalesce(played_bpm, 0.0) AS bpm,"
      // Mean of the scores there are, by the share of notes right
      "  coalesce((coalesce(score_cuts, 0.0) + coalesce(score_evenness, 0.0)"
      "   + coalesce(score_air, 0.0)) / nullif((score_cuts IS NOT NULL)"
      "   + (score_evenness IS NOT NULL) + (score_air IS NOT NULL), 0), 0.0)"
      "   * notes_right / max(notes, 1) AS quality"
      "  , 1 AS finished FROM round WHERE take IS NOT NULL"
      // Worse than any round
      "  UNION ALL SELECT take, utc_ms, utc_offset_s, 0.0, -1.0, 0 FROM unfinished"
      "  WHERE take IS NOT NULL),"
      " ranked AS (SELECT *, row_number() OVER (PARTITION BY take"
      "  ORDER BY quality DESC, bpm DESC) AS rank FROM rated),"
      " last AS (SELECT take, max(utc_ms) AS utc_ms, utc_offset_s, sum(finished) AS rounds,"
      "  sum(NOT finished) AS unfinished FROM rated GROUP BY take)"
      " SELECT take.take, take.phrase, title, first_bar, last_bar, last.utc_ms, last.utc_offset_s,"
      " rounds, take_marked, take_bytes, take_changed_ms, quality, bpm,"
      " unfinished FROM take JOIN phrase ON phrase.id = take.phrase JOIN last ON last.take = "
      "take.id"
      " JOIN ranked ON ranked.take = take.id AND rank = 1 ORDER BY take.phrase, last.utc_ms",
      error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  void* rows = NULL;
  size_t number = 0;
  const int code = sr_history_rows(query, sizeof(Known), take_known, &rows, &number);
  Known* const takes = (Known*)rows;
  SrStatus status = sr_history_query_end(history, query, code, error);
  SrTakeEntry* const list =
      status == SR_OK ? (SrTakeEntry*)calloc(number + 1, sizeof(SrTakeEntry)) : NULL;
  if (status == SR_OK && !list) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to list the takes.");
  }
  for (size_t i = 0; status == SR_OK && i < number; ++i) {
    look_at_file(folder, &takes[i]);
  }
  if (status == SR_OK) {
    choose(takes, number);
  }
  for (size_t i = 0; i < number; ++i) {
    if (list) {
      list[i] = takes[i].entry;
    } else {
      clear_entry(&takes[i].entry);
    }
  }
  free(takes);
  if (list) {
    qsort(list, number, sizeof(*list), by_age);
    *entries = list;
    *count = number;
  }
  return status;
}

/// Open the takes folder. -1 on error, which is filled.
static int
open_folder(const char* const folder, SrError* const error)
{
  char* usual = NULL;
  if (!folder && sr_takes_folder(&usual, error) != SR_OK) {
    return -1;
  }
  const char* const path = folder ? folder : usual;
  const int descriptor = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) {
    sr_error_set(error, errno == ENOENT ? SR_NOT_FOUND : SR_NO_PERMISSION,
                 "The takes folder cannot be read: %s.", strerror(errno));
    sr_error_place(error, path, 0, 0);
  }
  free(usual);
  return descriptor;
}

SrStatus
sr_take_entries(SrHistory* const history, const char* const folder, SrTakeEntry** const entries,
                size_t* const count, SrError* const error)
{
  *entries = NULL;
  *count = 0;
  SrError why = {0};
  const int descriptor = open_folder(folder, &why);
  if (descriptor >= 0) {
    (void)list_takes(history, descriptor, entries, count, &why);
    close(descriptor);
  }
  if (error && why.status != SR_OK) {
    *error = why;
  }
  return why.status;
}

/// Run a statement on the take of a name. SR_NOT_FOUND if there is none.
static SrStatus
change_take(SrHistory* const history, const char* const sql, const char* const name,
            const int64_t first, const int64_t second, SrError* const error)
{
  sqlite3_stmt* const statement = sr_history_query(history, sql, error);
  if (!statement) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  sqlite3_bind_text(statement, 1, name, -1, SQLITE_STATIC);
  sqlite3_bind_int64(statement, 2, first);
  if (sqlite3_bind_parameter_count(statement) > 2) {
    sqlite3_bind_int64(statement, 3, second);
  }
  const int code = sqlite3_step(statement);
  const int changed = sqlite3_changes(history->database);
  const SrStatus status = sr_history_query_end(history, statement, code, error);
  return status == SR_OK && changed == 0
             ? sr_error_set(error, SR_NOT_FOUND,
                            "The history knows no take \"%.200s\". `steadyreed progress --takes` "
                            "lists them.",
                            name)
             : status;
}

/// The last part of a path.
static const char*
last_name(const char* const path)
{
  const char* const slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

SrStatus
sr_history_take_saved(SrHistory* const history, const char* const path, SrError* const error)
{
  struct stat status;
  if (lstat(path, &status)) {
    sr_error_set(error, SR_NOT_FOUND, "The take is not there any more.");
    sr_error_place(error, path, 0, 0);
    return SR_NOT_FOUND;
  }
  return change_take(history,
                     "UPDATE take SET take_bytes = ?2, take_changed_ms = ?3 WHERE take = ?1",
                     last_name(path), status.st_size, changed_ms(&status), error);
}

SrStatus
sr_history_take_mark(SrHistory* const history, const char* const name, const bool marked,
                     SrError* const error)
{
  return change_take(history,
                     "UPDATE take SET take_marked = ?2 WHERE take = ?1 OR take = ?1 || '.flac'",
                     last_name(name), marked, 0, error);
}

/// Bytes of all that count.
static uint64_t
bytes_of(const SrTakeEntry* const takes, const size_t count)
{
  uint64_t bytes = 0;
  for (size_t i = 0; i < count; ++i) {
    bytes += takes[i].ours ? takes[i].bytes : 0;
  }
  return bytes;
}

static bool
may_go(const SrTakeEntry* const take)
{
  return take->ours && !take->marked && !take->best && !take->latest;
}

size_t
sr_takes_over(const SrTakeEntry* const entries, const size_t count, const uint64_t limit,
              uint64_t* const bytes)
{
  uint64_t left = bytes_of(entries, count);
  size_t over = 0;
  *bytes = 0;
  for (size_t i = 0; i < count && left > limit; ++i) {
    if (may_go(&entries[i])) {
      left -= entries[i].bytes;
      *bytes += entries[i].bytes;
      ++over;
    }
  }
  return over;
}

/// Remove the oldest takes until the rest fits. What was removed comes first in the list then.
static SrStatus
remove_oldest(SrHistory* const history, const int folder, const uint64_t limit,
              SrTakeEntry* const takes, const size_t count, size_t* const removed,
              uint64_t* const left, SrError* const error)
{
  *left = bytes_of(takes, count);
  SrStatus status = SR_OK;
  for (size_t i = 0; i<count&& * left> limit && status == SR_OK; ++i) {
    const SrTakeEntry take = takes[i];
    if (!may_go(&take)) {
      continue;
    }
    if (unlinkat(folder, take.name, 0) && errno != ENOENT) {
      status = sr_error_set(error,
                            errno == EACCES || errno == EPERM ? SR_NO_PERMISSION : SR_WRITE_FAILED,
                            "An old take could not be removed: %s.", strerror(errno));
      sr_error_place(error, take.name, 0, 0);
      break;
    }
    *left -= take.bytes;
    // Before the others, so that those removed stand together
    memmove(&takes[*removed + 1], &takes[*removed], (i - *removed) * sizeof(*takes));
    takes[(*removed)++] = take;
    status = change_take(history,
                         "UPDATE take SET take_bytes = NULL, take_changed_ms = NULL "
                         "WHERE take = ?1 AND ?2",
                         take.name, 1, 0, error);
  }
  return status;
}

SrStatus
sr_take_prune(SrHistory* const history, const char* const folder, const uint64_t limit,
              SrTakeEntry** const removed, size_t* const count, uint64_t* const left,
              SrError* const error)
{
  *removed = NULL;
  *count = 0;
  SrError why = {0};
  uint64_t rest = 0;
  size_t known = 0;
  size_t gone = 0;
  const int descriptor = open_folder(folder, &why);
  if (descriptor >= 0) {
    // From here on nobody else can mark a take before it is removed
    int code =
        history->database ? sr_history_run(history->database, "BEGIN IMMEDIATE") : SQLITE_CANTOPEN;
    if (code != SQLITE_OK) {
      (void)sr_history_refuse(history, code, &why);
    } else {
      if (list_takes(history, descriptor, removed, &known, &why) == SR_OK) {
        (void)remove_oldest(history, descriptor, limit, *removed, known, &gone, &rest, &why);
      }
      // What was removed stays removed
      code = sr_history_end(history->database, SQLITE_OK);
      if (code != SQLITE_OK && why.status == SR_OK) {
        (void)sr_history_refuse(history, code, &why);
      }
    }
    close(descriptor);
  }
  for (size_t i = gone; *removed && i < known; ++i) {
    clear_entry(&(*removed)[i]);
  }
  *count = gone;
  if (left) {
    *left = rest;
  }
  if (error && why.status != SR_OK) {
    *error = why;
  }
  return why.status;
}
