// SPDX-License-Identifier: GPL-3.0-or-later

#include "made_progress.h"

#include "../support/random.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DAYS_A_YEAR 365

/// How many days a time has, from the first to the last.
static int
span_of(const MadeTime time)
{
  return time == MADE_ONE_DAY       ? 1
         : time == MADE_THREE_YEARS ? 3 * DAYS_A_YEAR
         : time == MADE_TEN_YEARS   ? 10 * DAYS_A_YEAR
                                    : 30;
}

/// Whether a day, counted from the first, was practised.
static bool
is_practised(const MadeTime time, const int i, const int span, Random* const random)
{
  if (i == 0 || i == span - 1) {
    return true;
  }
  if (time <= MADE_PLAIN) {
    // A week away, and a day off now and then
    return (i < 11 || i > 17) && i % 5 != 3;
  }
  // A summer off, and four days of seven else
  const int of_year = i % DAYS_A_YEAR;
  return !(i > DAYS_A_YEAR && of_year > 230 && of_year < 290) && random_unit(random) < 0.57;
}

/// A day of practice, `done` of the way, 0 to 1.
static SrPracticeDay
make_day(const MadeTime time, const double done, Random* const random)
{
  const double form = random_normal(random);
  SrPracticeDay day = {.rounds = (unsigned)(12.0 + 6.0 * random_unit(random)),
                       .clean_bpm = (double)NAN,
                       .best_clean_bpm = (double)NAN,
                       .offset_ms = (double)NAN,
                       .abs_offset_ms = (double)NAN,
                       .alone_ms = (double)NAN};
  const double share = fmin(0.97, 0.45 + 0.45 * done + 0.06 * form);
  day.notes = 24 * day.rounds;
  day.notes_right = day.notes - day.rounds;
  day.cuts = 6 * day.rounds;
  day.cuts_clean = (unsigned)(share * day.cuts);
  day.spread_ms = 19.0 - 9.0 * done - 1.2 * form;
  day.seconds = 14.0 * day.rounds + 120.0 * random_unit(random);
  // A day without a clean round now and then
  if (random_unit(random) < 0.85) {
    day.clean_rounds = 1 + (unsigned)(share * 6.0);
    day.clean_bpm = 76.0 + 18.0 * done + 1.5 * form;
    day.best_clean_bpm = day.clean_bpm + 4.0 * random_unit(random);
  }
  if (time != MADE_PLAIN) {
    day.offset_ms = -9.0 + 7.0 * done + 3.0 * random_normal(random);
    day.abs_offset_ms = fabs(day.offset_ms) + 2.0;
    day.alone_ms = random_unit(random) < 0.6 ? 24.0 - 6.0 * done + 4.0 * form : (double)NAN;
    day.air = 2 * day.rounds;
    day.air_heard = (unsigned)(day.air * fmax(0.05, 0.4 - 0.3 * done + 0.08 * form));
  }
  return day;
}

void
made_progress_make(const MadeTime time, MadeProgress* const made)
{
  const int span = span_of(time);
  Random random = {1};
  memset(made, 0, sizeof(*made));
  made->days = (SrPracticeDay*)calloc((size_t)span, sizeof(SrPracticeDay));
  made->every = (SrPracticeDay*)calloc((size_t)span, sizeof(SrPracticeDay));
  for (int i = 0; i < span && made->days && made->every; ++i) {
    const bool practised = is_practised(time, i, span, &random);
    SrPracticeDay day = make_day(time, span > 1 ? (double)i / (span - 1) : 1.0, &random);
    const double others = random_unit(&random) < 0.7 ? 600.0 * random_unit(&random) : 0.0;
    day.day = MADE_TODAY - span + 1 + i;
    if (practised) {
      made->days[made->day_count++] = day;
    }
    if (practised || (others > 0.0 && (i < 12 || i > 17))) {
      made->every[made->every_count++] = (SrPracticeDay){
          .day = day.day, .rounds = 1, .seconds = others + (practised ? day.seconds : 0.0)};
    }
  }
}

void
made_progress_clear(MadeProgress* const made)
{
  free(made->days);
  free(made->every);
  memset(made, 0, sizeof(*made));
}

SrPhraseProgress
made_progress_phrase(const MadeProgress* const made, char* const title)
{
  return (SrPhraseProgress){.phrase = {.title = title, .first_bar = 1, .last_bar = 4, .part = 'A'},
                            .days = made->days,
                            .day_count = made->day_count,
                            .trends = sr_phrase_trends(made->days, made->day_count)};
}

SrPicturedProgress
made_progress_pictured(const MadeProgress* const made)
{
  return (SrPicturedProgress){.days = made->days,
                              .day_count = made->day_count,
                              .every = made->every,
                              .every_count = made->every_count,
                              .last_day = MADE_TODAY};
}
