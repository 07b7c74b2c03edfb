// SPDX-License-Identifier: GPL-3.0-or-later

#include "beside_takes.h"

#include "assess_page.h"
#include "beside_others.h"
#include "command.h"
#include "option_values.h"
#include "say.h"

#include <steadyreed/kept_takes.h>
#include <steadyreed/recording.h>
#include <steadyreed/show_progress.h>

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// The kept takes of a phrase.
typedef struct {
  SrHistory* history;
  SrTakeEntry* takes; ///< Those of the phrase that are there and have whole rounds, the oldest
                      ///< first; then the others
  size_t count;       ///< Of the phrase
  size_t all;
} Kept;

static void
close_kept(Kept* const kept)
{
  sr_take_entries_del(kept->takes, kept->all);
  sr_history_close(kept->history);
}

/// Id of a phrase in the history; -1 if it has none.
static SrStatus
find_phrase(SrHistory* const history, const SrPhrase* const phrase, int64_t* const id,
            SrError* const error)
{
  char identity[SR_IDENTITY_SIZE];
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  *id = -1;
  sr_phrase_identity(phrase, identity);
  const SrStatus status = sr_history_phrases(history, &phrases, &count, error);
  for (size_t i = 0; status == SR_OK && i < count; ++i) {
    if (!strcmp(phrases[i].identity, identity)) {
      *id = phrases[i].id;
    }
  }
  sr_history_phrases_del(phrases, count);
  return status;
}

/// Open the history and collect the takes. Without a history there are none.
static SrStatus
open_kept(const SrPhrase* const phrase, Kept* const kept, SrError* const error)
{
  *kept = (Kept){.history = NULL};
  SrStatus status = sr_history_open(NULL, SR_HISTORY_LOOK, &kept->history, error);
  int64_t id = -1;
  if (status == SR_NOT_FOUND) {
    return SR_OK;
  }
  if (status == SR_OK) {
    status = find_phrase(kept->history, phrase, &id, error);
  }
  if (status != SR_OK) {
    return status;
  }
  status = sr_take_entries(kept->history, NULL, &kept->takes, &kept->all, error);
  for (size_t i = 0; status == SR_OK && i < kept->all; ++i) {
    // One of unfinished rounds alone cannot be judged
    if (kept->takes[i].phrase == id && kept->takes[i].there && kept->takes[i].rounds > 0) {
      const SrTakeEntry found = kept->takes[i];
      kept->takes[i] = kept->takes[kept->count];
      kept->takes[kept->count++] = found;
    }
  }
  if (kept->count > 0) {
    kept->takes[kept->count - 1].latest = true;
  }
  return status == SR_NOT_FOUND ? SR_OK : status;
}

/// The words of a kept take: "29 November 2026, best".
static void
name_kept(const SrTakeEntry* const take, char name[SR_BESIDE_NAME_SIZE])
{
  char day[SR_DAY_WORDS_SIZE];
  snprintf(name, SR_BESIDE_NAME_SIZE, "%s%s%s", sr_show_day(sr_moment_day(take->last), true, day),
           take->best ? ", best" : "", take->latest ? ", latest" : "");
}

static bool
use_kept(const SrTakeEntry* const entry, SrBesideTake* const take)
{
  char* folder = NULL;
  SrError error = {0};
  if (sr_takes_folder(&folder, &error) != SR_OK) {
    sr_say_error(&error);
    return false;
  }
  if (asprintf(&take->path, "%s/%s", folder, entry->name) < 0) {
    take->path = NULL;
  }
  free(folder);
  name_kept(entry, take->name);
  return take->path != NULL;
}

/// Use a recording; false if there is no such file.
static bool
use_file(const char* const path, SrBesideTake* const take)
{
  struct stat status;
  if (stat(path, &status) || !S_ISREG(status.st_mode)) {
    return false;
  }
  const char* const slash = strrchr(path, '/');
  char date[SR_PAGE_DATE_SIZE];
  sr_page_date(status.st_mtime, date);
  snprintf(take->name, sizeof(take->name), "%.140s, %s", slash ? slash + 1 : path, date);
  take->path = strdup(path);
  return take->path != NULL;
}

static bool
is_named(const SrTakeEntry* const entry, const char* const name)
{
  const size_t length = strlen(name);
  return !strncmp(entry->name, name, length) &&
         (!entry->name[length] || !strcmp(entry->name + length, ".flac"));
}

/// The kept take that is asked for; NULL if there is none.
static const SrTakeEntry*
find_kept(const Kept* const kept, const char* const asked)
{
  int number = 0;
  if (sr_value_integer(asked, 1, INT_MAX, &number)) {
    return (size_t)number <= kept->count ? &kept->takes[number - 1] : NULL;
  }
  for (size_t i = 0; i < kept->count; ++i) {
    const SrTakeEntry* const take = &kept->takes[i];
    if ((!strcmp(asked, "best") && take->best) || (!strcmp(asked, "latest") && take->latest) ||
        is_named(take, asked)) {
      return take;
    }
  }
  return NULL;
}

static int
refuse(const char* const asked)
{
  SrError error = {0};
  sr_error_set(&error, SR_NOT_FOUND,
               "\"%.200s\" is neither a recording nor a kept take of this phrase. `steadyreed "
               "beside PHRASE --list` lists these.",
               asked);
  sr_say_error(&error);
  return SR_EXIT_NOT_JUDGED;
}

/// The best and the latest, the older one first.
static int
find_usual(const Kept* const kept, const SrPhrase* const phrase, SrBesideTake takes[2])
{
  if (kept->count < 2) {
    SrError error = {0};
    sr_error_set(&error, SR_NOT_FOUND,
                 "%s take of this phrase is kept. Practise it again, or name two recordings.",
                 kept->count ? "Only one" : "No");
    sr_say_error(&error);
    sr_beside_say_others(stderr, phrase, kept->history, kept->takes, kept->all);
    return SR_EXIT_NOT_JUDGED;
  }
  const SrTakeEntry* const latest = find_kept(kept, "latest");
  const SrTakeEntry* other = find_kept(kept, "best");
  if (!latest || !other) {
    return refuse("best");
  }
  if (other == latest) {
    sr_say_indented(stderr, 2,
                    "Note: The latest take is the best as well, so the one before it is "
                    "set beside it.");
    for (size_t i = 0; i < kept->count; ++i) {
      other = &kept->takes[i] == latest ? other : &kept->takes[i];
    }
  }
  return use_kept(other, &takes[0]) && use_kept(latest, &takes[1]) ? SR_EXIT_DONE
                                                                   : SR_EXIT_NOT_JUDGED;
}

static int
find_asked(const Kept* const kept, const char* const asked[2], SrBesideTake takes[2])
{
  for (size_t t = 0; t < 2; ++t) {
    if (use_file(asked[t], &takes[t])) {
      continue;
    }
    const SrTakeEntry* const entry = find_kept(kept, asked[t]);
    if (!entry) {
      return refuse(asked[t]);
    }
    if (!use_kept(entry, &takes[t])) {
      return SR_EXIT_NOT_JUDGED;
    }
  }
  return SR_EXIT_DONE;
}

int
sr_beside_find(const SrPhrase* const phrase, const char* const asked[2], SrBesideTake takes[2])
{
  Kept kept;
  SrError error = {0};
  int status = SR_EXIT_NOT_JUDGED;
  takes[0] = (SrBesideTake){.path = NULL};
  takes[1] = (SrBesideTake){.path = NULL};
  if (open_kept(phrase, &kept, &error) == SR_OK) {
    status = asked[0] ? find_asked(&kept, asked, takes) : find_usual(&kept, phrase, takes);
  } else {
    sr_say_error(&error);
  }
  close_kept(&kept);
  return status;
}

size_t
sr_beside_kept(const SrPhrase* const phrase, SrBesideTake takes[2])
{
  Kept kept;
  const SrTakeEntry* chosen[2] = {NULL, NULL}; // Best, latest
  size_t count = 0;
  takes[0] = (SrBesideTake){.path = NULL};
  takes[1] = (SrBesideTake){.path = NULL};
  if (open_kept(phrase, &kept, NULL) == SR_OK) {
    for (size_t i = 0; i < kept.count; ++i) {
      // One that is being recorded is not as it was saved
      chosen[0] = kept.takes[i].ours && kept.takes[i].best ? &kept.takes[i] : chosen[0];
      chosen[1] = kept.takes[i].ours ? &kept.takes[i] : chosen[1];
    }
    for (size_t t = 0; t < 2; ++t) {
      if (chosen[t] && (t == 0 || chosen[t] != chosen[0]) && use_kept(chosen[t], &takes[count])) {
        ++count;
      }
    }
  }
  close_kept(&kept);
  return count;
}

int
sr_beside_list(const SrPhrase* const phrase)
{
  Kept kept;
  SrError error = {0};
  const SrStatus status = open_kept(phrase, &kept, &error);
  if (status != SR_OK) {
    sr_say_error(&error);
  } else if (!kept.count) {
    sr_say_text(stdout, "No take of this phrase is kept.\n");
    sr_beside_say_others(stdout, phrase, kept.history, kept.takes, kept.all);
  }
  for (size_t i = 0; i < kept.count; ++i) {
    char name[SR_BESIDE_NAME_SIZE];
    const SrTakeEntry* const take = &kept.takes[i];
    name_kept(take, name);
    sr_say_indented(stdout, 5, "%3zu  %s: %zu round%s, %s", i + 1, name, take->rounds,
                    take->rounds == 1 ? "" : "s", take->name);
  }
  close_kept(&kept);
  return status == SR_OK ? SR_EXIT_DONE : SR_EXIT_NOT_JUDGED;
}

void
sr_beside_take_clear(SrBesideTake* const take)
{
  free(take->path);
  *take = (SrBesideTake){.path = NULL};
}
