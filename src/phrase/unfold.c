// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file unfold.c
   Expands the repeats, endings and parts of a tune into one sequence of bars.
*/

#include "tune.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

/// Most parts in an expanded order.
#define MOST_PARTS 256u

typedef struct {
  const SrTune* tune;
  const char* name;
  SrError* error;
  SrPlayedBar* played;
  size_t count;
  size_t size;
} Unfolder;

static SrStatus
play(Unfolder* const u, const size_t bar, const size_t time)
{
  if (u->count == SR_PHRASE_MOST_PLAYED) {
    sr_error_set(u->error, SR_TOO_LARGE,
                 "With its repeats written out, this tune has more than %u bars.",
                 SR_PHRASE_MOST_PLAYED);
    sr_error_place(u->error, u->name, 0, 0);
    return SR_TOO_LARGE;
  }
  if (u->count == u->size) {
    const size_t size = u->size ? 2 * u->size : 64;
    SrPlayedBar* const more = (SrPlayedBar*)realloc(u->played, size * sizeof(SrPlayedBar));
    if (!more) {
      return sr_error_set(u->error, SR_NO_MEMORY, "There is not enough memory.");
    }
    u->played = more;
    u->size = size;
  }
  u->played[u->count++] = (SrPlayedBar){bar, time};
  return SR_OK;
}

/// Number of times the repeat from `start` is played, by its signs and endings up to `end`.
static size_t
times_of(const SrTune* const tune, const size_t start, const size_t end)
{
  size_t times = 1;
  bool in_endings = false;
  for (size_t i = start; i < end; ++i) {
    const SrWrittenBar* const bar = &tune->bars[i];
    if (i > start && bar->start_repeat) {
      break;
    }
    for (size_t n = 1; n < 31; ++n) {
      if (bar->endings & (1u << n)) {
        times = n > times ? n : times;
        in_endings = true;
      }
    }
    if (bar->end_repeats) {
      const size_t back = (size_t)bar->end_repeats + 1;
      times = back > times ? back : times;
      // An ending that follows belongs to the same repeat
      if (i + 1 >= end || !tune->bars[i + 1].endings) {
        break;
      }
    } else if (in_endings && bar->section_end) {
      break;
    }
  }
  return times;
}

/// Skip an ending that is not for this time: the first bar after it.
static size_t
skip_ending(const SrTune* const tune, size_t i, const size_t end)
{
  for (; i < end; ++i) {
    const SrWrittenBar* const bar = &tune->bars[i];
    if (bar->end_repeats || bar->section_end || (i + 1 < end && tune->bars[i + 1].endings)) {
      return i + 1;
    }
  }
  return end;
}

/// Play bars `first` to before `end` with their repeats.
static SrStatus
play_range(Unfolder* const u, const size_t first, const size_t end)
{
  const SrTune* const tune = u->tune;
  size_t start = first;
  size_t time = 1;
  size_t times = times_of(tune, start, end);
  bool marked = tune->bars[first].start_repeat; // A |: is open
  bool in_ending = false;
  size_t i = first;
  while (i < end) {
    const SrWrittenBar* const bar = &tune->bars[i];
    const bool double_bar = bar->section_start && !bar->endings && !marked;
    if (i != start && time == 1 && (bar->start_repeat || double_bar)) {
      // Without |: a repeat goes back to the last double bar (ABC 2.1, section 4.8)
      start = i;
      times = times_of(tune, start, end);
      marked = bar->start_repeat;
    }
    in_ending = in_ending || bar->endings;
    if (bar->endings && !(bar->endings & (1u << time))) {
      i = skip_ending(tune, i, end);
      continue;
    }
    const SrStatus status = play(u, i, time);
    if (status != SR_OK) {
      return status;
    }
    const bool back = bar->end_repeats > 0 && time < times;
    const bool over = (bar->end_repeats > 0 && !back) ||
                      (time > 1 && in_ending && bar->section_end && !bar->end_repeats);
    ++i;
    if (back) {
      ++time;
      i = start;
      in_ending = false;
    } else if (over && !(i < end && tune->bars[i].endings)) {
      time = 1;
      start = i;
      times = i < end ? times_of(tune, start, end) : 1;
      marked = i < end && tune->bars[i].start_repeat;
      in_ending = false;
    }
  }
  return SR_OK;
}

/// Highest ending number in bars `first` to before `end`, 0 without one.
static size_t
last_ending(const SrTune* const tune, const size_t first, const size_t end)
{
  unsigned endings = 0;
  for (size_t i = first; i < end; ++i) {
    endings |= tune->bars[i].endings;
  }
  size_t last = 0;
  for (size_t n = 1; n < 31; ++n) {
    last = endings & (1u << n) ? n : last;
  }
  return last;
}

/// Play bars `first` to before `end` once, with the ending for `time`.
static SrStatus
play_time(Unfolder* const u, const size_t first, const size_t end, const size_t time)
{
  SrStatus status = SR_OK;
  for (size_t i = first; i < end && status == SR_OK;) {
    const unsigned endings = u->tune->bars[i].endings;
    if (endings && !(endings & (1u << time))) {
      i = skip_ending(u->tune, i, end);
    } else {
      status = play(u, i++, time);
    }
  }
  return status;
}

/// Expand an order such as (AB)2C or A2B2, one letter per part; false if invalid.
static bool
write_out_order(const char* const text, size_t* const at, const bool inside, char* const order,
                size_t* const count)
{
  while (text[*at] && text[*at] != ')') {
    const char c = text[*at];
    const size_t from = *count;
    ++*at;
    if (c >= 'A' && c <= 'Z') {
      if (*count == MOST_PARTS) {
        return false;
      }
      order[(*count)++] = c;
    } else if (c == '(') {
      if (!write_out_order(text, at, true, order, count) || text[*at] != ')') {
        return false;
      }
      ++*at;
    } else if (c == '.' || isspace((unsigned char)c)) {
      continue;
    } else {
      return false;
    }
    if (isdigit((unsigned char)text[*at])) {
      size_t times = 0;
      while (isdigit((unsigned char)text[*at]) && times < 1000) {
        times = times * 10 + (size_t)(text[(*at)++] - '0');
      }
      const size_t length = *count - from;
      if (times < 1 || from + length * times > MOST_PARTS) {
        return false;
      }
      for (size_t n = 1; n < times; ++n) {
        memcpy(order + *count, order + from, length);
        *count += length;
      }
    }
  }
  return inside || !text[*at];
}

/// Find the bars of a labelled part; false if there is no such label.
static bool
find_part(const SrTune* const tune, const char part, size_t* const first, size_t* const end)
{
  size_t i = 0;
  while (i < tune->bar_count && tune->bars[i].part != part) {
    ++i;
  }
  *first = i;
  *end = i + 1;
  while (*end < tune->bar_count && !tune->bars[*end].part) {
    ++*end;
  }
  return i < tune->bar_count;
}

static bool
has_labels(const SrTune* const tune)
{
  for (size_t i = 0; i < tune->bar_count; ++i) {
    if (tune->bars[i].part) {
      return true;
    }
  }
  return false;
}

/// Without labels: find section A, B, C … between double bars and repeat signs.
static bool
find_section(const SrTune* const tune, const char part, size_t* const first, size_t* const end)
{
  char label = 'A' - 1;
  for (size_t i = 0; i < tune->bar_count; ++i) {
    const SrWrittenBar* const bar = &tune->bars[i];
    // A second ending belongs to the section before it, a pickup before |: to the one after it
    const bool after_pickup = i > 0 && bar[-1].section_start && bar[-1].number == 0;
    if (i == 0 || (bar->section_start && !bar->endings && !after_pickup)) {
      if (label == part) {
        *end = i;
        return true;
      }
      if (label < 'Z') {
        ++label;
      }
      *first = i;
    }
  }
  *end = tune->bar_count;
  return label == part;
}

bool
sr_tune_find_part(const SrTune* const tune, const char part, size_t* const first, size_t* const end)
{
  return has_labels(tune) ? find_part(tune, part, first, end)
                          : find_section(tune, part, first, end);
}

static SrStatus
play_order(Unfolder* const u)
{
  const SrTune* const tune = u->tune;
  char order[MOST_PARTS];
  size_t count = 0;
  size_t at = 0;
  if (!tune->part_order[0] || !has_labels(tune)) {
    return play_range(u, 0, tune->bar_count);
  }
  if (!write_out_order(tune->part_order, &at, false, order, &count)) {
    sr_error_set(u->error, SR_BAD_SYNTAX,
                 "The order of parts \"%s\" cannot be read; write it like A2B2 or (AB)2.",
                 tune->part_order);
    sr_error_place(u->error, u->name, 0, 0);
    return SR_BAD_SYNTAX;
  }
  // Bars before the first label are played first
  size_t lead = 0;
  while (lead < tune->bar_count && !tune->bars[lead].part) {
    ++lead;
  }
  SrStatus status = lead ? play_range(u, 0, lead) : SR_OK;
  size_t total['Z' + 1] = {0};
  size_t played['Z' + 1] = {0};
  for (size_t i = 0; i < count; ++i) {
    ++total[(unsigned char)order[i]];
  }
  for (size_t i = 0; i < count && status == SR_OK; ++i) {
    size_t first = 0;
    size_t end = 0;
    if (!find_part(tune, order[i], &first, &end)) {
      sr_error_set(u->error, SR_NOT_FOUND,
                   "The order of parts \"%s\" names part %c, which the tune does not have.",
                   tune->part_order, order[i]);
      sr_error_place(u->error, u->name, 0, 0);
      return SR_NOT_FOUND;
    }
    // If the order plays a part several times, each time has its own ending (ABC 2.1, section 4.10)
    const size_t endings = last_ending(tune, first, end);
    const size_t time = played[(unsigned char)order[i]]++;
    status = endings && total[(unsigned char)order[i]] > 1
                 ? play_time(u, first, end, time % endings + 1)
                 : play_range(u, first, end);
  }
  return status;
}

/**
   Mark the selected bars as written. A pickup is selected if the whole bars on both sides of it
   are; the tune's own counts as bar 0.
*/
static void
choose_bars(const SrTune* const tune, const SrPhraseChoice* const choice, bool* const chosen)
{
  bool before = choice->first_bar == 0;
  for (size_t i = 0; i < tune->bar_count; ++i) {
    const int number = tune->bars[i].number;
    if (number > 0) {
      before = number >= choice->first_bar && number <= choice->last_bar;
    }
    chosen[i] = before;
  }
  bool behind = false;
  for (size_t i = tune->bar_count; i-- > 0;) {
    if (tune->bars[i].number > 0) {
      behind = chosen[i];
    }
    chosen[i] = chosen[i] && behind;
  }
}

/// Keep the first playing of the selected bars, in order.
static SrStatus
keep_bars(Unfolder* const u, const SrPhraseChoice* const choice)
{
  const SrTune* const tune = u->tune;
  int last = 0;
  for (size_t i = 0; i < tune->bar_count; ++i) {
    last = tune->bars[i].number > last ? tune->bars[i].number : last;
  }
  bool* const wanted = (bool*)calloc(tune->bar_count + 1, sizeof(bool));
  if (!wanted) {
    return sr_error_set(u->error, SR_NO_MEMORY, "There is not enough memory.");
  }
  choose_bars(tune, choice, wanted);
  size_t kept = 0;
  for (size_t i = 0; i < u->count; ++i) {
    const size_t bar = u->played[i].bar;
    if (wanted[bar]) {
      u->played[kept++] = u->played[i];
    }
    wanted[bar] = false;
  }
  free(wanted);
  u->count = kept;
  if (!kept || choice->first_bar < 0 || choice->last_bar < choice->first_bar ||
      choice->last_bar > last) {
    sr_error_set(u->error, SR_NOT_FOUND,
                 "Bars %d to %d are not all in this %s; the tune has bars %d to %d.",
                 choice->first_bar, choice->last_bar, choice->part ? "part" : "tune",
                 tune->bars[0].number, last);
    sr_error_place(u->error, u->name, 0, 0);
    return SR_NOT_FOUND;
  }
  return SR_OK;
}

SrStatus
sr_tune_unfold(const SrTune* const tune, const SrPhraseChoice* const choice, const char* const name,
               SrPlayedBar** const played, size_t* const count, SrError* const error)
{
  Unfolder u = {tune, name, error, NULL, 0, 0};
  SrStatus status = SR_OK;
  if (choice && choice->part) {
    size_t first = 0;
    size_t end = 0;
    if (sr_tune_find_part(tune, choice->part, &first, &end)) {
      status = play_range(&u, first, end);
    } else {
      status = sr_error_set(error, SR_NOT_FOUND, "This tune has no part %c.", choice->part);
      sr_error_place(error, name, 0, 0);
    }
  } else {
    status = play_order(&u);
  }
  if (status == SR_OK && choice && (choice->first_bar || choice->last_bar)) {
    status = keep_bars(&u, choice);
  }
  if (status != SR_OK) {
    free(u.played);
    return status;
  }
  *played = u.played;
  *count = u.count;
  return SR_OK;
}
