// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_gauge.h"

#include <string.h>

/// Percent at either end of the bellows that count as near it.
#define NEAR 20
/// Least part of the bellows that a scale shows, percent.
#define LEAST_SPAN 20

SrGauge
sr_gauge_make(const SrPlan* const plan, const int columns)
{
  int least = SR_BELLOWS_UNITS;
  int most = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    const int low = note->before < note->after ? note->before : note->after;
    const int high = note->before < note->after ? note->after : note->before;
    least = low < least ? low : least;
    most = high > most ? high : most;
  }
  const bool near_shut = 100 * least <= NEAR * SR_BELLOWS_UNITS;
  const bool near_full = 100 * most >= (100 - NEAR) * SR_BELLOWS_UNITS;
  SrGauge gauge = {.low = near_shut ? 0 : least * 10 / SR_BELLOWS_UNITS * 10,
                   .high =
                       near_full ? 100 : (most * 10 + SR_BELLOWS_UNITS - 1) / SR_BELLOWS_UNITS * 10,
                   .columns = columns};
  if (gauge.high - gauge.low < LEAST_SPAN) {
    gauge.high += gauge.high < 100 ? 10 : 0;
    gauge.low -= gauge.high - gauge.low < LEAST_SPAN ? 10 : 0;
  }
  return gauge;
}

static void
name_end(const int percent, char name[16])
{
  if (percent <= 0 || percent >= 100) {
    snprintf(name, 16, "%s", percent <= 0 ? "shut" : "full");
  } else {
    snprintf(name, 16, "%d%%", percent);
  }
}

void
sr_gauge_write_ends(FILE* const stream, const SrGauge* const gauge)
{
  char low[16];
  char high[16];
  name_end(gauge->low, low);
  name_end(gauge->high, high);
  fprintf(stream, "%s%*s", low, gauge->columns + 2 - (int)strlen(low), high);
}

/// The column of an opening.
static int
column_of(const SrGauge* const gauge, const int units)
{
  const int over = 100 * units - gauge->low * SR_BELLOWS_UNITS;
  const int whole = (gauge->high - gauge->low) * SR_BELLOWS_UNITS;
  const int column = over * gauge->columns / whole;
  return column < 0 ? 0 : column < gauge->columns ? column : gauge->columns - 1;
}

void
sr_gauge_write(FILE* const stream, const SrGauge* const gauge, const SrPlannedNote* const note)
{
  const int from = column_of(gauge, note->before);
  const int to = column_of(gauge, note->after);
  fputc(gauge->low <= 0 ? '|' : ':', stream);
  for (int i = 0; i < gauge->columns; ++i) {
    const bool passed = from < to ? i >= from && i < to : i > to && i <= from;
    const char head = note->direction == SR_DIRECTION_PRESS ? '<' : '>';
    fputc(i == to ? head : passed ? '-' : ' ', stream);
  }
  fputc(gauge->high >= 100 ? '|' : ':', stream);
}
