// SPDX-License-Identifier: GPL-3.0-or-later

#include "assess_page.h"

#include "command.h"
#include "say.h"
#include "spare_inputs.h"
#include "take_levels.h"

#include <steadyreed/setup.h>
#include <steadyreed/take_page.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

/// What a page shows, with what it points to.
typedef struct {
  char date[SR_PAGE_DATE_SIZE];
  char remark[240];
  SrLevelCurve curves[SR_PAGE_MOST_CURVES];
} Details;

SrShownTake
sr_assess_shown(const SrPhrase* const phrase, const char* const path,
                const SrJudgedTake* const take)
{
  const SrShownTake shown = {
      path,         take->phrase ? take->phrase : phrase, take->assessment,
      &take->error, (const char* const*)take->remarks,    take->remark_count};
  return shown;
}

static int
refuse(const SrError* const error, const int status)
{
  sr_say_error(error);
  return status;
}

/// Check one file that will be written. Returns an exit status.
static int
check_file(const char* const written, const char* const output, const char* const layout,
           const char* const* const read, const size_t count, char* const* const takes,
           const size_t take_count)
{
  if (output && !strcmp(written, output)) {
    SrError error = {0};
    sr_error_set(&error, SR_BAD_ARGUMENT,
                 "--page and -o name the same file. Choose another for one of them.");
    sr_error_place(&error, output, 0, 0);
    return refuse(&error, SR_EXIT_WRONG_USAGE);
  }
  const int refused = sr_spare_inputs_or_say(written, layout, read, count);
  return refused ? refused
                 : sr_spare_inputs_or_say(written, NULL, (const char* const*)takes, take_count);
}

int
sr_assess_pages_check(const char* const out, const char* const output, const char* const layout,
                      const char* const* const read, const size_t count, char* const* const takes,
                      const size_t take_count)
{
  SrError error = {0};
  int status = SR_EXIT_DONE;
  if (out && sr_page_check(out, &error) != SR_OK) {
    return refuse(&error, SR_EXIT_NOT_JUDGED);
  }
  for (size_t i = 0; out && i < take_count && !status; ++i) {
    char* const written = sr_page_take_path(out, take_count > 1 ? i + 1 : 0);
    if (!written) {
      sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory for that many takes.");
      return refuse(&error, SR_EXIT_NOT_JUDGED);
    }
    status = check_file(written, output, layout, read, count, takes, take_count);
    free(written);
  }
  return status;
}

/// Plan the phrase if that is wished; without a plan, the pages follow the pitch.
static void
make_plan(SrAssessPages* const pages, const SrPlanOptions* const options, const double bpm,
          const SrPhrase* const phrase)
{
  if (!options->named && !options->wish.layout && !options->wish.style) {
    return;
  }
  SrSetup setup;
  sr_setup_read_or_say(&setup);
  if (sr_plan_wish_read(&options->wish, &setup, bpm, phrase, &pages->wished, NULL) == SR_OK) {
    // What is wrong with a plan is told where the places for judging are planned
    (void)sr_plan(phrase, pages->wished.instrument, &pages->wished.settings, &pages->plans, NULL);
  }
  sr_setup_clear(&setup);
}

int
sr_assess_pages_begin(SrAssessPages* const pages, const SrPlanOptions* const options,
                      const SrPhraseChoice* const choice, const double bpm,
                      const SrPhrase* const phrase, const size_t take_count)
{
  if (!pages->path) {
    return SR_EXIT_DONE;
  }
  pages->named = take_count;
  pages->kept = calloc(take_count + 1, sizeof(SrKeptTake));
  if (!pages->kept) {
    SrError error = {0};
    sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory for that many takes.");
    return refuse(&error, SR_EXIT_NOT_JUDGED);
  }
  make_plan(pages, options, bpm, phrase);
  if (choice->part) {
    snprintf(pages->part, sizeof(pages->part), "part %c", choice->part);
  }
  return SR_EXIT_DONE;
}

void
sr_assess_pages_keep(SrAssessPages* const pages, const char* const path, const size_t number,
                     SrJudgedTake* const take)
{
  if (pages->path && take->assessment && pages->count < pages->named) {
    const SrKeptTake kept = {.take = *take, .path = path, .number = number};
    pages->kept[pages->count++] = kept;
    memset(take, 0, sizeof(*take));
  }
}

void
sr_page_date(const time_t at, char date[SR_PAGE_DATE_SIZE])
{
  static const char* const MONTHS[] = {"January",   "February", "March",    "April",
                                       "May",       "June",     "July",     "August",
                                       "September", "October",  "November", "December"};
  struct tm day;
  date[0] = '\0';
  if (localtime_r(&at, &day)) {
    snprintf(date, SR_PAGE_DATE_SIZE, "%d %s %d", day.tm_mday, MONTHS[day.tm_mon % 12],
             day.tm_year + 1900);
  }
}

/// The date of a file; "" if it has none.
static void
write_date(const char* const path, char date[SR_PAGE_DATE_SIZE])
{
  struct stat status;
  date[0] = '\0';
  if (strcmp(path, "-") != 0 && stat(path, &status) == 0 && S_ISREG(status.st_mode)) {
    sr_page_date(status.st_mtime, date);
  }
}

/// Add a remark to others.
static void
add_remark(Details* const details, const char* const remark)
{
  const size_t length = strlen(details->remark);
  if (remark && *remark) {
    snprintf(details->remark + length, sizeof(details->remark) - length, "%s%s", length ? ", " : "",
             remark);
  }
}

/// Read the levels about the faulty cuts of a take. Returns how many there are.
static size_t
read_curves(const SrKeptTake* const kept, SrLevelCurve curves[SR_PAGE_MOST_CURVES])
{
  const SrAssessment* const assessment = kept->take.assessment;
  const SrRound* const round = &assessment->rounds[sr_page_round(assessment)];
  size_t notes[SR_PAGE_MOST_CURVES];
  double middle_s[SR_PAGE_MOST_CURVES];
  const size_t count = sr_page_faulty_cuts(round, notes);
  for (size_t i = 0; i < count; ++i) {
    middle_s[i] = sr_page_curve_middle_s(&round->notes[notes[i]]);
  }
  return count && sr_take_levels_read(kept->path, middle_s, count, curves) ? count : 0;
}

static void
fill_page(const SrAssessPages* const pages, const SrPhrase* const phrase, const size_t index,
          Details* const details, SrTakePage* const page)
{
  const SrKeptTake* const kept = &pages->kept[index];
  // Buttons' names do not fit another key
  const bool planned = pages->plans && !kept->take.phrase;
  const char* const style = planned ? pages->wished.settings.style.name : "";
  write_date(kept->path, details->date);
  add_remark(details, kept->remark);
  add_remark(details, pages->part);
  add_remark(details, style);
  page->take = sr_assess_shown(phrase, kept->path, &kept->take);
  page->plan = planned ? sr_plans_get(pages->plans, 0) : NULL;
  page->instrument = planned ? pages->wished.instrument : NULL;
  page->player = kept->player;
  page->date = kept->date ? kept->date : details->date;
  page->remark = details->remark;
  page->curve_count = read_curves(kept, details->curves);
  page->curves = details->curves;
  page->number = pages->named > 1 ? kept->number : 0;
}

SrStatus
sr_assess_pages_draw(const SrAssessPages* const pages, const SrPhrase* const phrase,
                     SrError* const error)
{
  SrTakePage* const shown = calloc(pages->count, sizeof(SrTakePage));
  Details* const details = calloc(pages->count, sizeof(Details));
  SrStatus status = SR_OK;
  if (shown && details) {
    for (size_t i = 0; i < pages->count; ++i) {
      fill_page(pages, phrase, i, &details[i], &shown[i]);
    }
    status = sr_page_takes(pages->path, shown, pages->count, error);
  } else {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
  }
  for (size_t i = 0; details && i < pages->count; ++i) {
    for (size_t c = 0; c < SR_PAGE_MOST_CURVES; ++c) {
      sr_level_curve_clear(&details[i].curves[c]);
    }
  }
  free(shown);
  free(details);
  return status;
}

int
sr_assess_pages_write(const SrAssessPages* const pages, const SrPhrase* const phrase)
{
  SrError error = {0};
  if (!pages->path || !pages->count || sr_assess_pages_draw(pages, phrase, &error) == SR_OK) {
    return SR_EXIT_DONE;
  }
  return refuse(&error, SR_EXIT_NOT_JUDGED);
}

void
sr_assess_pages_clear(SrAssessPages* const pages)
{
  for (size_t i = 0; i < pages->count; ++i) {
    sr_judged_take_clear(&pages->kept[i].take);
  }
  free(pages->kept);
  sr_plans_del(pages->plans);
  sr_wished_plan_clear(&pages->wished);
  memset(pages, 0, sizeof(*pages));
}
