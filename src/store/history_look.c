// SPDX-License-Identifier: GPL-3.0-or-later

// Opening a history that may only be read: on a read-only medium, too, and one of an older version.

#include "history_database.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// The path as SQLite's URI of a file that nothing changes; NULL without memory.
static char*
unchanging(const char* const path)
{
  static const char start[] = "file:";
  static const char end[] = "?immutable=1";
  char* const uri = (char*)malloc(sizeof(start) + 3 * strlen(path) + sizeof(end));
  if (!uri) {
    return NULL;
  }
  char* at = stpcpy(uri, start);
  for (const char* from = path; *from; ++from) {
    const unsigned char byte = (unsigned char)*from;
    const bool plain = (byte < 128 && isalnum(byte)) || strchr("/-_.", byte);
    at += sprintf(at, plain ? "%c" : "%%%02X", byte);
  }
  (void)stpcpy(at, end);
  return uri;
}

/// Whether rounds may be in the log beside the file and not yet in it.
static bool
has_log(const char* const path)
{
  char log[4096];
  struct stat status;
  return snprintf(log, sizeof(log), "%s-wal", path) >= (int)sizeof(log) ||
         (!stat(log, &status) && status.st_size > 0);
}

static int
open_by_name(const char* const name, const int flags, sqlite3** const database)
{
  int code = sqlite3_open_v2(name, database, SQLITE_OPEN_NOMUTEX | flags, NULL);
  // Only reading shows whether it can be read
  code = code == SQLITE_OK ? sr_history_run(*database, "SELECT count(*) FROM sqlite_schema") : code;
  if (code != SQLITE_OK) {
    sqlite3_close_v2(*database);
    *database = NULL;
  }
  return code;
}

/// Replace a database by a copy in memory, and bring that up to date.
static int
bring_up_copy(sqlite3** const database)
{
  sqlite3* copy = NULL;
  int code = open_by_name(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, &copy);
  if (code == SQLITE_OK) {
    sqlite3_backup* const backup = sqlite3_backup_init(copy, "main", *database, "main");
    if (backup) {
      (void)sqlite3_backup_step(backup, -1);
    }
    code = backup ? sqlite3_backup_finish(backup) : sqlite3_errcode(copy);
  }
  if (code == SQLITE_OK) {
    code = sr_history_schema_update(copy);
  }
  // A change of the copy would be lost
  if (code == SQLITE_OK) {
    code = sr_history_run(copy, "PRAGMA query_only = ON");
  }
  sqlite3_close_v2(*database);
  *database = copy;
  return code;
}

int
sr_history_open_to_look(const char* const path, sqlite3** const database)
{
  int code = open_by_name(path, SQLITE_OPEN_READONLY, database);
  const int kind = code & 0xFF;
  if ((kind == SQLITE_CANTOPEN || kind == SQLITE_READONLY) && !has_log(path)) {
    // SQLite would make files beside it
    char* const uri = unchanging(path);
    code = uri ? open_by_name(uri, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, database) : SQLITE_NOMEM;
    free(uri);
  }
  if (code == SQLITE_OK) {
    int version = 0;
    code = sr_history_schema_version(*database, &version);
    code = code == SQLITE_OK && version < SR_HISTORY_VERSION ? bring_up_copy(database) : code;
  }
  return code;
}
