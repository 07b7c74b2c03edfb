// SPDX-License-Identifier: GPL-3.0-or-later

// What went wrong in two takes, bar by bar.

#include <steadyreed/show_two_takes.h>

#include "fault_list.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/// Where the lines of a list go.
typedef struct {
  SrTwoBar* bars;
  size_t count;
  size_t take;
  bool failed;
} Bars;

/// Number of a line about the whole round.
#define WHOLE (-1)

/// Its place in the list: what is about the whole round comes last.
static int
place_of(const int bar)
{
  return bar == WHOLE ? INT_MAX : bar;
}

static SrTwoBar*
entry_of(Bars* const bars, const int bar)
{
  size_t at = 0;
  while (at < bars->count && place_of(bars->bars[at].bar) < place_of(bar)) {
    ++at;
  }
  if (at < bars->count && bars->bars[at].bar == bar) {
    return &bars->bars[at];
  }
  SrTwoBar* const more = (SrTwoBar*)realloc(bars->bars, (bars->count + 1) * sizeof(SrTwoBar));
  if (!more) {
    return NULL;
  }
  bars->bars = more;
  memmove(&more[at + 1], &more[at], (bars->count - at) * sizeof(SrTwoBar));
  ++bars->count;
  more[at] = (SrTwoBar){bar, {strdup(""), strdup("")}};
  return more[at].words[0] && more[at].words[1] ? &more[at] : NULL;
}

static void
take_line(void* const context, const SrFaultLine* const line)
{
  Bars* const bars = (Bars*)context;
  SrTwoBar* const entry = bars->failed ? NULL : entry_of(bars, line->name ? line->bar : WHOLE);
  if (!entry) {
    bars->failed = true;
    return;
  }
  char words[SR_WORDS_SIZE] = "";
  char** const text = &entry->words[bars->take];
  sr_words_add(words, "%s%s%s%s%s", *text, **text ? "; " : "", line->name ? line->name : "",
               line->name ? ": " : "", line->words);
  char* const longer = strdup(words);
  if (!longer) {
    bars->failed = true;
    return;
  }
  free(*text);
  *text = longer;
}

SrStatus
sr_two_bars(const SrShownTwo* const shown, SrTwoBar** const list, size_t* const count,
            SrError* const error)
{
  Bars bars = {NULL, 0, 0, false};
  for (size_t t = 0; t < 2; ++t) {
    const SrNaming naming = sr_naming_of(shown->phrases[t]);
    bars.take = t;
    const SrFaultList faults = {&naming, &shown->played[t].rounds[shown->two->best[t]], take_line,
                                &bars};
    (void)sr_faults(&faults);
  }
  *list = bars.bars;
  *count = bars.count;
  return bars.failed
             ? sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to list the bars.")
             : SR_OK;
}

void
sr_two_bars_del(SrTwoBar* const bars, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    free(bars[i].words[0]);
    free(bars[i].words[1]);
  }
  free(bars);
}
