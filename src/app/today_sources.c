// SPDX-License-Identifier: GPL-3.0-or-later

#include "today_sources.h"

#include "sitting_clock.h"

#include <steadyreed/data_place.h>
#include <steadyreed/history.h>

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Last rounds whose faults count.
#define FAULT_ROUNDS 8u

/// A shipped exercise.
typedef struct {
  const char* file;
  SrTodayKind kind;
} Shipped;

/// Drills, those of each kind from easy to hard; and a tune for those who have none yet.
static const Shipped shipped[] = {
    {"even-sixes", SR_TODAY_STEADY},    {"click-goes-away", SR_TODAY_STEADY},
    {"first-cuts", SR_TODAY_CUTS},      {"three-as", SR_TODAY_CUTS},
    {"pairs-that-move", SR_TODAY_CUTS}, {"twos", SR_TODAY_CUTS},
    {"quick-threes", SR_TODAY_CUTS},    {"first-sip", SR_TODAY_AIR},
    {"eight-pressed", SR_TODAY_AIR},    {"eight-drawn", SR_TODAY_AIR},
    {"session-jig", SR_TODAY_BARS},
};
#define SHIPPED_COUNT (sizeof(shipped) / sizeof(shipped[0]))

/// A shipped exercise that is there.
typedef struct {
  char* path;                      ///< NULL if it is not there
  char identity[SR_IDENTITY_SIZE]; ///< Of all of it
} Found;

typedef struct {
  SrTodaySources* sources;
  SrHistory* history; ///< NULL without one
  int day;
  SrHistoryPhrase* phrases;
  size_t phrase_count;
  Found found[SHIPPED_COUNT];
} Gathering;

/// Make room in a list for one more. NULL without memory; the list then stays.
static void*
room(void* const list, const size_t count, const size_t size)
{
  return count & (count - 1) ? list : realloc(list, (count ? 2 * count : 1) * size);
}

/// Note a file that is not there, once.
static bool
add_gone(SrTodaySources* const sources, const char* const path)
{
  for (size_t i = 0; i < sources->gone_count; ++i) {
    if (!strcmp(sources->gone[i], path)) {
      return true;
    }
  }
  char** const more =
      (char**)room((void*)sources->gone, sources->gone_count, sizeof(*sources->gone));
  if (!more) {
    return false;
  }
  sources->gone = more;
  more[sources->gone_count] = strdup(path);
  return more[sources->gone_count] && ++sources->gone_count;
}

/// Add a place; the texts are copied. NULL without memory.
static SrTodayPlace*
add_place(SrTodaySources* const sources, const SrTodayPlace* const place, const char* const path,
          const char* const title)
{
  SrTodayPlace* const more =
      (SrTodayPlace*)room(sources->places, sources->count, sizeof(*sources->places));
  if (!more) {
    return NULL;
  }
  sources->places = more;
  SrTodayPlace* const added = &more[sources->count++];
  *added = *place;
  added->path = strdup(path);
  added->title = strdup(title);
  const size_t size = strlen(path) + 40;
  added->tune = (char*)malloc(size);
  if (!added->path || !added->title || !added->tune) {
    return NULL;
  }
  snprintf(added->tune, size, "%s:%d:%d", path, place->number, place->transposed);
  return added;
}

/// Read the past of a phrase into a place. False if the history cannot be read.
static bool
read_past(const Gathering* const g, const SrHistoryPhrase* const phrase, SrTodayPlace* const place,
          SrError* const error)
{
  return sr_history_days(g->history, phrase->id, INT_MIN, &place->days, &place->day_count, error) ==
             SR_OK &&
         sr_history_worst_bars_before(g->history, phrase->id, g->day, FAULT_ROUNDS, &place->bars,
                                      &place->bar_count, error) == SR_OK;
}

/// Look for the shipped exercises.
static bool
find_shipped(Gathering* const g)
{
  for (size_t i = 0; i < SHIPPED_COUNT; ++i) {
    char name[64];
    SrError error = {0};
    SrPhrase* phrase = NULL;
    snprintf(name, sizeof(name), "exercises/%s.abc", shipped[i].file);
    if (sr_data_place(name, &g->found[i].path, &error) != SR_OK || !g->found[i].path ||
        sr_phrase_read_file(g->found[i].path, NULL, &phrase, &error) != SR_OK) {
      free(g->found[i].path);
      g->found[i].path = NULL;
      if (!add_gone(g->sources, name)) {
        return false;
      }
      continue;
    }
    sr_phrase_identity(phrase, g->found[i].identity);
    sr_phrase_del(phrase);
  }
  return true;
}

/// Whether a phrase of the history is a shipped drill, or a part of one.
static bool
is_drill(const Gathering* const g, const SrHistoryPhrase* const phrase)
{
  for (size_t i = 0; i < SHIPPED_COUNT; ++i) {
    const Found* const found = &g->found[i];
    char* const real = found->path ? realpath(found->path, NULL) : NULL;
    const bool same = found->path && shipped[i].kind != SR_TODAY_BARS &&
                      (!strcmp(found->identity, phrase->identity) ||
                       (real && phrase->file && !strcmp(real, phrase->file)));
    free(real);
    if (same) {
      return true;
    }
  }
  return false;
}

/// Add a shipped exercise with its past, if it has one.
static bool
add_shipped(const Gathering* const g, const size_t index, SrError* const error)
{
  const Found* const found = &g->found[index];
  SrPhrase* phrase = NULL;
  SrTuneOutline outline = {0};
  if (!found->path || sr_phrase_read_file(found->path, NULL, &phrase, error) != SR_OK ||
      sr_tune_outline_read(found->path, NULL, &outline, error) != SR_OK) {
    sr_phrase_del(phrase);
    return true;
  }
  const SrTodayPlace place = {.number = sr_phrase_tune(phrase),
                              .kind = shipped[index].kind,
                              .first_bar = outline.first_bar,
                              .last_bar = outline.last_bar};
  SrTodayPlace* const added = add_place(g->sources, &place, found->path, sr_phrase_title(phrase));
  sr_phrase_del(phrase);
  bool good = added != NULL;
  // A tune with a past is among the player's own
  for (size_t i = 0; good && place.kind != SR_TODAY_BARS && i < g->phrase_count; ++i) {
    if (!strcmp(g->phrases[i].identity, found->identity)) {
      good = read_past(g, &g->phrases[i], added, error);
    }
  }
  return good;
}

/// Add a phrase of the player's own, if its file is there.
static bool
add_own(const Gathering* const g, const SrHistoryPhrase* const phrase, SrError* const error)
{
  const SrPhraseChoice choice = {.tune = phrase->tune};
  SrTuneOutline outline = {0};
  if (!phrase->file || is_drill(g, phrase)) {
    return true;
  }
  SrTodayPlace place = {
      .number = phrase->tune, .transposed = phrase->transposed, .kind = SR_TODAY_BARS};
  if (sr_tune_outline_read(phrase->file, &choice, &outline, NULL) != SR_OK) {
    return add_gone(g->sources, phrase->file);
  }
  place.first_bar = outline.first_bar;
  place.last_bar = outline.last_bar;
  place.practised_first = phrase->first_bar;
  place.practised_last = phrase->last_bar;
  SrTodayPlace* const added = add_place(g->sources, &place, phrase->file, phrase->title);
  return added && read_past(g, phrase, added, error);
}

static int
compare_ids(const void* const one, const void* const other)
{
  const int64_t a = ((const SrHistoryPhrase*)one)->id;
  const int64_t b = ((const SrHistoryPhrase*)other)->id;
  return (a > b) - (a < b);
}

/// Open the history; one that is not there is none, and one that cannot be read is noted.
static void
open_history(Gathering* const g)
{
  SrError* const trouble = &g->sources->trouble;
  SrStatus status = sr_history_open(NULL, SR_HISTORY_LOOK, &g->history, trouble);
  if (status == SR_NOT_FOUND) {
    *trouble = (SrError){0};
  }
  if (status != SR_OK) {
    g->history = NULL;
    return;
  }
  (void)sr_history_phrases(g->history, &g->phrases, &g->phrase_count, trouble);
  // In an order that practice does not change
  if (g->phrase_count > 0) {
    qsort(g->phrases, g->phrase_count, sizeof(*g->phrases), compare_ids);
  }
}

/// The list for the choice.
static bool
list_sources(SrTodaySources* const sources)
{
  sources->sources = (SrTodaySource*)calloc(sources->count + 1, sizeof(SrTodaySource));
  for (size_t i = 0; sources->sources && i < sources->count; ++i) {
    const SrTodayPlace* const place = &sources->places[i];
    sources->sources[i] = (SrTodaySource){.kind = place->kind,
                                          .tune = place->tune,
                                          .first_bar = place->first_bar,
                                          .last_bar = place->last_bar,
                                          .days = place->days,
                                          .day_count = place->day_count,
                                          .bars = place->bars,
                                          .bar_count = place->bar_count};
  }
  return sources->sources != NULL;
}

SrStatus
sr_today_sources_gather(const int day, SrTodaySources* const sources, SrError* const error)
{
  *sources = (SrTodaySources){0};
  Gathering g = {.sources = sources, .day = day};
  SrError trouble = {0};
  open_history(&g);
  bool good = find_shipped(&g);
  for (size_t i = 0; good && i < SHIPPED_COUNT; ++i) {
    good = add_shipped(&g, i, &trouble);
  }
  for (size_t i = 0; good && i < g.phrase_count; ++i) {
    good = add_own(&g, &g.phrases[i], &trouble);
  }
  sources->played_s = g.history ? sr_sitting_day_s(g.history, g.phrases, g.phrase_count, day) : 0.0;
  good = list_sources(sources) && good;
  for (size_t i = 0; i < SHIPPED_COUNT; ++i) {
    free(g.found[i].path);
  }
  sr_history_phrases_del(g.phrases, g.phrase_count);
  sr_history_close(g.history);
  if (good) {
    return SR_OK;
  }
  if (trouble.status == SR_OK) {
    return sr_error_set(error, SR_NO_MEMORY,
                        "There is not enough memory to choose what to practise.");
  }
  if (error) {
    *error = trouble;
  }
  return trouble.status;
}

void
sr_today_sources_clear(SrTodaySources* const sources)
{
  for (size_t i = 0; i < sources->count; ++i) {
    free(sources->places[i].path);
    free(sources->places[i].title);
    free(sources->places[i].tune);
    free(sources->places[i].days);
    free(sources->places[i].bars);
  }
  for (size_t i = 0; i < sources->gone_count; ++i) {
    free(sources->gone[i]);
  }
  free(sources->places);
  free(sources->sources);
  free((void*)sources->gone);
  *sources = (SrTodaySources){0};
}
