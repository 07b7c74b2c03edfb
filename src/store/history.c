// SPDX-License-Identifier: GPL-3.0-or-later

// Opening and closing the history, and setting aside a file that cannot be used.

#include "history_database.h"

#include "data_folder.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/// How long to wait for another program, ms.
#define WAIT_MS 5000

int
sr_history_run(sqlite3* const database, const char* const sql)
{
  return sqlite3_exec(database, sql, NULL, NULL, NULL);
}

int
sr_history_end(sqlite3* const database, const int code)
{
  int end = code == SQLITE_OK ? sr_history_run(database, "COMMIT") : code;
  // A full disk may have rolled it back already
  if (end != SQLITE_OK && !sqlite3_get_autocommit(database)) {
    (void)sr_history_run(database, "ROLLBACK");
  }
  return end;
}

bool
sr_history_is_damage(const int code)
{
  const int kind = code & 0xFF;
  return kind == SQLITE_CORRUPT || kind == SQLITE_NOTADB || kind == SQLITE_READONLY;
}

SrStatus
sr_history_refuse(const SrHistory* const history, const int code, SrError* const error)
{
  SrStatus status;
  switch (code & 0xFF) {
  case SQLITE_NOMEM:
    status = sr_error_set(error, SR_NO_MEMORY,
                          "There is not enough memory for the history of your practice.");
    break;
  case SQLITE_FULL:
    status = sr_error_set(error, SR_WRITE_FAILED,
                          "The disk is full, so the history of your practice is not written. Make "
                          "some room on it.");
    break;
  case SQLITE_BUSY:
  case SQLITE_LOCKED:
    status = sr_error_set(error, SR_WRITE_FAILED,
                          "Another program has kept the history of your practice in use for too "
                          "long. End that program.");
    break;
  case SQLITE_MISMATCH:
    status = sr_error_set(error, SR_UNSUPPORTED,
                          "This history of practice was written by a newer Steadyreed; install "
                          "that one. The file is left as it is.");
    break;
  case SQLITE_PERM:
  case SQLITE_CANTOPEN:
  case SQLITE_READONLY:
  case SQLITE_AUTH:
    status = sr_error_set(error, SR_NO_PERMISSION,
                          "You are not allowed to write the history of your practice here. Change "
                          "the permissions of the file and its folder.");
    break;
  case SQLITE_NOTADB:
  case SQLITE_CORRUPT:
    status = sr_error_set(error, SR_BAD_SYNTAX,
                          "The history of your practice is damaged. The next practice moves it "
                          "aside and begins a new one; `sqlite3` can often recover an old one.");
    break;
  default:
    status =
        sr_error_set(error, SR_WRITE_FAILED, "The history of your practice could not be used: %s.",
                     sqlite3_errstr(code));
    break;
  }
  sr_error_place(error, history->path, 0, 0);
  return status;
}

/// Make the file itself, so that nobody else can read it at any moment. SQLITE_OK also if it is
/// there.
static int
make_private(const char* const path, const bool make)
{
  const int flags = O_RDWR | O_CLOEXEC | (make ? O_CREAT : 0);
  const int descriptor = open(path, flags, 0600);
  if (descriptor < 0) {
    return errno == ENOENT                      ? SQLITE_CANTOPEN
           : errno == ENOSPC || errno == EDQUOT ? SQLITE_FULL
           : errno == EISDIR                    ? SQLITE_NOTADB
                                                : SQLITE_READONLY;
  }
  struct stat status;
  const bool regular = !fstat(descriptor, &status) && S_ISREG(status.st_mode);
  if (regular && (status.st_mode & 0177)) {
    (void)fchmod(descriptor, 0600);
  }
  close(descriptor);
  return regular ? SQLITE_OK : SQLITE_NOTADB;
}

/// Open the file and bring it up to date. SQLITE_OK or SQLite's code; on error there is no
/// database.
static int
open_file(SrHistory* const history)
{
  const bool record = history->use == SR_HISTORY_RECORD;
  int code = make_private(history->path, record);
  // What may only be read can be looked at
  const int flags =
      code == SQLITE_READONLY && !record ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE;
  if (flags == SQLITE_OPEN_READONLY) {
    code = sr_history_open_to_look(history->path, &history->database);
  } else if (code == SQLITE_OK) {
    code = sqlite3_open_v2(history->path, &history->database, flags | SQLITE_OPEN_NOMUTEX, NULL);
  }
  sqlite3* const database = history->database;
  if (code == SQLITE_OK) {
    sqlite3_extended_result_codes(database, 1);
    sqlite3_busy_timeout(database, WAIT_MS);
    code = sr_history_run(database, "PRAGMA foreign_keys = ON; PRAGMA trusted_schema = OFF");
  }
  // FULL: a round that was acknowledged survives a power failure, too
  if (code == SQLITE_OK && flags == SQLITE_OPEN_READWRITE) {
    code = sr_history_run(database, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; "
                                    "PRAGMA wal_autocheckpoint = 200");
  }
  if (code == SQLITE_OK) {
    code = sr_history_schema_update(database);
  }
  // The newest round, so that most damage shows now rather than at the end of a round
  if (code == SQLITE_OK) {
    code = sr_history_run(database, "SELECT * FROM round JOIN phrase ON phrase.id = round.phrase "
                                    "LEFT JOIN bar ON bar.round = round.id "
                                    "WHERE round.id = (SELECT max(id) FROM round); "
                                    "SELECT max(day) FROM practice_day");
  }
  struct stat status;
  if (code == SQLITE_OK && !stat(history->path, &status)) {
    history->device = status.st_dev;
    history->inode = status.st_ino;
  }
  if (code != SQLITE_OK) {
    sqlite3_close_v2(database);
    history->database = NULL;
  }
  return code;
}

static void
close_file(SrHistory* const history)
{
  for (size_t i = 0; i < SR_STATEMENT_COUNT; ++i) {
    sqlite3_finalize(history->statements[i]);
    history->statements[i] = NULL;
  }
  sqlite3_close_v2(history->database);
  history->database = NULL;
}

/// Keep other programs from opening and setting aside at the same time: a lock on the folder. -1 if
/// it cannot be had.
static int
lock_folder(const char* const path)
{
  char* const folder = strdup(path);
  char* const slash = folder ? strrchr(folder, '/') : NULL;
  if (slash) {
    slash[slash == folder] = '\0';
  }
  const int descriptor =
      folder ? open(slash ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
  free(folder);
  while (descriptor >= 0 && flock(descriptor, LOCK_EX) && errno == EINTR) {
  }
  return descriptor;
}

static void
unlock_folder(const int descriptor)
{
  if (descriptor >= 0) {
    close(descriptor);
  }
}

/// Rename the file with its log, so that SQLite can still recover it. False on failure; `aside`
/// receives the new name.
static bool
rename_aside(const char* const path, char** const aside)
{
  static const char* const with[] = {"-wal", "-shm"};
  for (unsigned i = 1; i < 1000; ++i) {
    if (asprintf(aside, "%s.damaged-%u", path, i) < 0) {
      *aside = NULL;
      return false;
    }
    struct stat status;
    const bool taken = !lstat(*aside, &status);
    // No other program of ours does so now: the folder is locked
    if (!taken && !rename(path, *aside)) {
      for (size_t w = 0; w < sizeof(with) / sizeof(with[0]); ++w) {
        char* from = NULL;
        char* to = NULL;
        if (asprintf(&from, "%s%s", path, with[w]) >= 0 &&
            asprintf(&to, "%s%s", *aside, with[w]) >= 0) {
          (void)rename(from, to);
        }
        free(from);
        free(to);
      }
      return true;
    }
    free(*aside);
    *aside = NULL;
    if (!taken) {
      return false;
    }
  }
  return false;
}

/// Set the file aside for a code of SQLite, and open a new one. The folder is locked.
static int
begin_again(SrHistory* const history, const int code)
{
  const bool read_only = (code & 0xFF) == SQLITE_READONLY;
  char* aside = NULL;
  if (!rename_aside(history->path, &aside)) {
    return code;
  }
  const char* const name = strrchr(aside, '/');
  snprintf(history->remark, sizeof(history->remark),
           "The history of your practice %s. It was moved to %.200s, beside the old place, and a "
           "new history begins.",
           read_only ? "may not be written" : "was damaged, or was no history",
           name ? name + 1 : aside);
  free(aside);
  return open_file(history);
}

/// Open; an unusable file is set aside first if rounds are to be recorded. The folder is locked.
static int
open_or_begin_again(SrHistory* const history)
{
  const int code = open_file(history);
  return history->use == SR_HISTORY_RECORD && sr_history_is_damage(code)
             ? begin_again(history, code)
             : code;
}

bool
sr_history_set_aside(SrHistory* const history, const int damage, SrError* const error)
{
  close_file(history);
  const int lock = lock_folder(history->path);
  struct stat status;
  const bool same = !stat(history->path, &status) && status.st_dev == history->device &&
                    status.st_ino == history->inode;
  const int code = same ? begin_again(history, damage) : open_or_begin_again(history);
  unlock_folder(lock);
  if (code != SQLITE_OK) {
    (void)sr_history_refuse(history, code, error);
  }
  return code == SQLITE_OK;
}

/// The usual path; NULL on error.
static char*
usual_path(const SrHistoryUse use, SrError* const error)
{
  char* folder = NULL;
  char* path = NULL;
  if (sr_data_folder(NULL, "data", use == SR_HISTORY_RECORD, &folder, error) == SR_OK &&
      asprintf(&path, "%s/history.sqlite", folder) < 0) {
    path = NULL;
    sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for the history.");
  }
  free(folder);
  return path;
}

SrStatus
sr_history_open(const char* const path, const SrHistoryUse use, SrHistory** const history,
                SrError* const error)
{
  *history = NULL;
  SrError why = {0};
  SrHistory* const self = (SrHistory*)calloc(1, sizeof(SrHistory));
  char* const place = path ? strdup(path) : usual_path(use, &why);
  if (!self || !place) {
    const SrStatus status =
        why.status ? why.status : sr_error_set(&why, SR_NO_MEMORY, "There is not enough memory.");
    if (error) {
      *error = why;
    }
    free(self);
    free(place);
    return status;
  }
  self->path = place;
  self->use = use;
  SrStatus status = SR_OK;
  if (use == SR_HISTORY_LOOK && access(place, F_OK) && (errno == ENOENT || errno == ENOTDIR)) {
    status = sr_error_set(error, SR_NOT_FOUND, "There is no history of practice yet.");
    sr_error_place(error, place, 0, 0);
  } else {
    const int lock = lock_folder(place);
    const int code = open_or_begin_again(self);
    unlock_folder(lock);
    status = code == SQLITE_OK ? SR_OK : sr_history_refuse(self, code, error);
  }
  if (status != SR_OK) {
    sr_history_close(self);
    return status;
  }
  *history = self;
  return SR_OK;
}

const char*
sr_history_remark(SrHistory* const history)
{
  if (!history->remark[0]) {
    return NULL;
  }
  memcpy(history->said, history->remark, sizeof(history->said));
  history->remark[0] = '\0';
  return history->said;
}

const char*
sr_history_path(const SrHistory* const history)
{
  return history->path;
}

void
sr_history_close(SrHistory* const history)
{
  if (history) {
    close_file(history);
    free(history->path);
    free(history);
  }
}

sqlite3_stmt*
sr_history_query(SrHistory* const history, const char* const sql, SrError* const error)
{
  sqlite3_stmt* query = NULL;
  const int code = history->database ? sqlite3_prepare_v2(history->database, sql, -1, &query, NULL)
                                     : SQLITE_CANTOPEN;
  if (code != SQLITE_OK) {
    (void)sr_history_refuse(history, code, error);
  }
  return query;
}

SrStatus
sr_history_query_end(SrHistory* const history, sqlite3_stmt* const query, const int code,
                     SrError* const error)
{
  sqlite3_finalize(query);
  return code == SQLITE_DONE ? SR_OK : sr_history_refuse(history, code, error);
}

double
sr_history_real(sqlite3_stmt* const query, const int column)
{
  return sqlite3_column_type(query, column) == SQLITE_NULL ? (double)NAN
                                                           : sqlite3_column_double(query, column);
}

unsigned
sr_history_count(sqlite3_stmt* const query, const int column)
{
  const int64_t value = sqlite3_column_int64(query, column);
  return value < 0 ? 0 : value > UINT32_MAX ? UINT32_MAX : (unsigned)value;
}

char*
sr_history_text(sqlite3_stmt* const query, const int column)
{
  const unsigned char* const text = sqlite3_column_text(query, column);
  return text ? strdup((const char*)text) : NULL;
}
