// SPDX-License-Identifier: GPL-3.0-or-later

#include "class_run.h"

#include "class_lines.h"
#include "class_page.h"
#include "class_progress.h"
#include "command.h"
#include "hands_free.h"
#include "say.h"
#include "workers.h"

#include <steadyreed/output.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

/// A take may be judged for this long, s, and for this much longer for each byte of its file: half
/// a minute and more for a minute of music as phones code it, which takes three seconds.
#define LEAST_LIMIT_S 120.0
#define LIMIT_OF_A_BYTE_S 60e-6

/// A sentence about what failed.
typedef struct {
  char words[sizeof(((SrError*)0)->message)]; ///< "" for nothing
} Reason;

/// What a worker tells of a take, before its row of the table.
typedef struct {
  SrTakeFigures figures;
  Reason reason; ///< Why it was not judged
  size_t row_size;
} TakeReport;

/// What a worker tells of a pupil's pages.
typedef struct {
  bool written;
  Reason reason;
} PageReport;

/// What came of a take.
typedef struct {
  bool over;
  TakeReport report;
  char* row; ///< From the take's path on; NULL without memory
} Outcome;

typedef struct {
  const SrClassRun* run;
  Outcome* takes;
  SrTakeFigures* figures; ///< Of each take, once it is over
  PageReport* pages;      ///< Of each pupil
  size_t* drawn;          ///< Pupils whose pages are drawn after all takes
  size_t drawn_count;
  SrClassProgress progress;
} Class;

static void
copy_reason(Reason* const reason, const char* const words)
{
  snprintf(reason->words, sizeof(reason->words), "%s", words);
}

/// "RESULTS/NAME.pdf"; free it. NULL without memory.
static char*
results_path(const SrClassRun* const run, const char* const name, const char* const extension)
{
  char* path = NULL;
  return asprintf(&path, "%s/%s%s", run->results, name, extension) < 0 ? NULL : path;
}

/// When a take was recorded: as its file says, or else when that was last changed.
static SrRecordedDate
date_of(const char* const path, const bool readable)
{
  SrTakeReader* reader = NULL;
  SrRecordedDate date = {.known = false};
  struct stat about;
  if (readable && sr_take_reader_new(path, &reader, NULL) == SR_OK) {
    date = sr_take_reader_date(reader);
    sr_take_reader_del(reader);
  }
  // The clock of the recorder may never have been set
  if (date.known && date.utc_s > (int64_t)time(NULL) + INT64_C(86400)) {
    date.known = false;
  }
  if (!date.known && stat(path, &about) == 0) {
    date = (SrRecordedDate){.known = true, .has_time = true, .utc_s = (int64_t)about.st_mtime};
  }
  return date;
}

/// Judge takes and write the pages of their pupil. The first was judged already if `first` is not
/// NULL, and is empty afterwards.
static void
draw_pupil(const Class* const class, const size_t index, SrJudgedTake* const first, FILE* const out)
{
  const SrClassRun* const run = class->run;
  const SrPupil* const pupil = &run->list->pupils[index];
  const SrTakeFigures* const figures = class->figures + pupil->first;
  const SrPupilTakes chosen = sr_pupil_takes(figures, pupil->count);
  SrPupilPages pages = {.player = pupil->name, .judged = chosen.judged};
  SrJudgedTake takes[2];
  memset(takes, 0, sizeof(takes));
  const size_t indices[] = {chosen.best, chosen.latest};
  PageReport report = {.written = false};
  SrError error = {0};
  SrStatus status = SR_OK;
  for (size_t i = 0; i < (chosen.latest == chosen.best ? 1u : 2u); ++i) {
    pages.paths[i] = run->list->takes[pupil->first + indices[i]].path;
    pages.dates[i] = figures[indices[i]].date;
    if (first) {
      takes[i] = *first;
      memset(first, 0, sizeof(*first));
    } else if (status == SR_OK) {
      status = sr_judged_take_make(run->phrase, pages.paths[i], run->settings, run->find_click,
                                   &takes[i]);
      error = takes[i].error;
    }
  }
  char* const path = results_path(run, pupil->name, ".pdf");
  if (!path) {
    status = sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory to draw the pages.");
  }
  if (status == SR_OK) {
    status = sr_pupil_pages_write(run->pages, run->phrase, path, &pages, takes, &error);
  }
  sr_judged_take_clear(&takes[0]);
  sr_judged_take_clear(&takes[1]);
  free(path);
  report.written = status == SR_OK;
  copy_reason(&report.reason, status == SR_OK ? "" : error.message);
  fwrite(&report, sizeof(report), 1, out);
}

/// In a worker: judge a take, and tell; then write the pages, if it is the pupil's only take.
static void
judge_take(void* const context, const size_t index, FILE* const out)
{
  Class* const class = (Class*)context;
  const SrClassRun* const run = class->run;
  const SrClassTake* const take = &run->list->takes[index];
  SrJudgedTake judged;
  TakeReport report = {.row_size = 0};
  char* row = NULL;
  sr_judged_take_make(run->phrase, take->path, run->settings, run->find_click, &judged);
  if (judged.assessment) {
    report.figures = sr_take_figures(judged.assessment);
  } else {
    copy_reason(&report.reason, judged.error.message);
  }
  report.figures.date = date_of(take->path, judged.assessment != NULL);
  const SrShownTake shown = sr_assess_shown(run->phrase, take->path, &judged);
  FILE* const stream = open_memstream(&row, &report.row_size);
  if (stream) {
    sr_show_csv_row(stream, &shown);
  }
  if (stream && fclose(stream) == 0) {
    fwrite(&report, sizeof(report), 1, out);
    fwrite(row, 1, report.row_size, out);
    // What comes now may fail without loss of this
    fflush(out);
    const SrPupil* const pupil = &run->list->pupils[take->pupil];
    if (judged.assessment && pupil->count == 1) {
      class->figures[index] = report.figures;
      draw_pupil(class, take->pupil, &judged, out);
    }
  }
  free(row);
  sr_judged_take_clear(&judged);
}

/// Why a worker told nothing.
static void
say_end(const SrJobEnd* const end, Reason* const reason)
{
  char words[sizeof(reason->words)];
  if (end->late) {
    snprintf(words, sizeof(words),
             "It took too long to judge and was given up. Play it: it may be damaged. If it is "
             "not, cut it to what was to be played.");
  } else if (!end->started) {
    snprintf(words, sizeof(words),
             "The system could not start another process for it. Close other programs, or give "
             "fewer --workers.");
  } else if (end->signal) {
    snprintf(words, sizeof(words),
             "The process that judged it was ended by signal %d (%s). Keep the recording: it may "
             "show a fault of Steadyreed.",
             end->signal, strsignal(end->signal));
  } else {
    snprintf(words, sizeof(words),
             "The process that judged it ended without a result. There may not be enough memory "
             "for that many --workers.");
  }
  copy_reason(reason, words);
}

/// The row of a take of which nothing was told.
static char*
write_lost_row(const SrClassRun* const run, const char* const path, const Reason* const reason,
               size_t* const size)
{
  SrError error = {0};
  sr_error_set(&error, SR_BAD_AUDIO, "%s", reason->words);
  const SrShownTake shown = {.path = path, .phrase = run->phrase, .error = &error};
  char* row = NULL;
  FILE* const stream = open_memstream(&row, size);
  if (stream) {
    sr_show_csv_row(stream, &shown);
    fclose(stream);
  }
  return row;
}

/// Read what a worker tells of pages; if that was cut short, say why.
static void
read_page(const char* const bytes, const size_t size, const SrJobEnd* const end,
          PageReport* const report)
{
  if (size >= sizeof(*report)) {
    memcpy(report, bytes, sizeof(*report));
  } else {
    say_end(end, &report->reason);
  }
}

static void
take_over(void* const context, const size_t index, const SrJobEnd* const end)
{
  Class* const class = (Class*)context;
  const SrClassTake* const take = &class->run->list->takes[index];
  Outcome* const outcome = &class->takes[index];
  TakeReport* const report = &outcome->report;
  const char* rest = end->output;
  size_t left = end->size;
  if (left >= sizeof(*report)) {
    memcpy(report, rest, sizeof(*report));
    rest += sizeof(*report);
    left -= sizeof(*report);
  }
  if (rest > end->output && left >= report->row_size) {
    outcome->row = strndup(rest, report->row_size);
    rest += report->row_size;
    left -= report->row_size;
    if (report->figures.judged && class->run->list->pupils[take->pupil].count == 1) {
      read_page(rest, left, end, &class->pages[take->pupil]);
    }
  } else {
    memset(report, 0, sizeof(*report));
    say_end(end, &report->reason);
    report->figures.date = date_of(take->path, false);
    outcome->row = write_lost_row(class->run, take->path, &report->reason, &report->row_size);
  }
  outcome->over = true;
  class->figures[index] = report->figures;
  sr_class_progress_step(&class->progress, take->path,
                         report->figures.judged ? NULL : report->reason.words);
}

/// In a worker: write the pages of a pupil with several takes.
static void
draw_later(void* const context, const size_t index, FILE* const out)
{
  const Class* const class = (const Class*)context;
  draw_pupil(class, class->drawn[index], NULL, out);
}

static void
pages_over(void* const context, const size_t index, const SrJobEnd* const end)
{
  Class* const class = (Class*)context;
  read_page(end->output, end->size, end, &class->pages[class->drawn[index]]);
}

/// How long judging takes of a pupil may take, s.
static double
limit_of(const SrClassRun* const run, const size_t first, const size_t count)
{
  // Tests have no time to wait; what is no number is not meant
  const char* const asked = getenv("STEADYREED_TAKE_LIMIT");
  char* end = NULL;
  const double asked_s = asked ? strtod(asked, &end) : (double)NAN;
  if (asked && end != asked && !*end && asked_s >= 0.0) {
    return asked_s;
  }
  const double shared = (double)run->workers / (double)sr_work_cores();
  double limit = LEAST_LIMIT_S;
  for (size_t i = first; i < first + count; ++i) {
    struct stat about;
    const bool there = stat(run->list->takes[i].path, &about) == 0;
    limit += there ? LIMIT_OF_A_BYTE_S * (double)about.st_size : 0.0;
  }
  return fmax(1.0, shared) * limit;
}

static double
take_limit(void* const context, const size_t index)
{
  const Class* const class = (const Class*)context;
  return limit_of(class->run, index, 1);
}

static double
pages_limit(void* const context, const size_t index)
{
  const Class* const class = (const Class*)context;
  const SrPupil* const pupil = &class->run->list->pupils[class->drawn[index]];
  return limit_of(class->run, pupil->first, pupil->count);
}

static bool
stop(void* const context)
{
  (void)context;
  return sr_hands_free_asked();
}

/// Judge all takes, then write the pages of those who have several. False if it was stopped.
static bool
do_all(Class* const class)
{
  const SrClassRun* const run = class->run;
  const SrClassList* const list = run->list;
  const SrWork takes = {class, list->take_count, run->workers, judge_take, take_over,
                        stop,  take_limit};
  class->progress = sr_class_progress_begin(stderr, list->take_count);
  bool whole = sr_work(&takes);
  for (size_t i = 0; i < list->pupil_count; ++i) {
    const SrPupil* const pupil = &list->pupils[i];
    if (pupil->count > 1 && sr_pupil_takes(class->figures + pupil->first, pupil->count).judged) {
      class->drawn[class->drawn_count++] = i;
    }
  }
  if (whole) {
    const SrWork pages = {class, class->drawn_count, run->workers, draw_later, pages_over,
                          stop,  pages_limit};
    whole = sr_work(&pages);
  }
  sr_class_progress_end(&class->progress);
  return whole;
}

/// "2026-11-29 18:05", or without the time if that is not known; "" without a date.
static void
write_date(const SrRecordedDate* const date, char words[24])
{
  const time_t at = (time_t)date->utc_s;
  struct tm day;
  words[0] = '\0';
  if (date->known && localtime_r(&at, &day)) {
    strftime(words, 24, date->has_time ? "%Y-%m-%d %H:%M" : "%Y-%m-%d", &day);
  }
}

/// Write the table of the takes that are over.
static SrStatus
write_table(const Class* const class, const char* const path, SrError* const error)
{
  const SrClassList* const list = class->run->list;
  SrOutput* output = NULL;
  SrStatus status = sr_output_new(path, &output, error);
  FILE* const stream = status == SR_OK ? sr_output_stream(output) : NULL;
  if (status == SR_OK && !stream) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write.");
  }
  if (stream) {
    fputs("pupil,date,", stream);
    sr_show_csv_header(stream);
    for (size_t i = 0; i < list->take_count; ++i) {
      const Outcome* const outcome = &class->takes[i];
      char date[24];
      if (outcome->over && outcome->row) {
        write_date(&outcome->report.figures.date, date);
        sr_show_csv_text(stream, list->pupils[list->takes[i].pupil].name);
        fprintf(stream, ",%s,", date);
        fwrite(outcome->row, 1, outcome->report.row_size, stream);
      }
    }
    status = sr_output_finish(output, error);
  }
  sr_output_del(output);
  return status;
}

static const char*
plural(const size_t count)
{
  return count == 1 ? "" : "s";
}

/// Say what came of it. An exit status.
static int
summarise(const Class* const class, const bool whole, const char* const table)
{
  const SrClassRun* const run = class->run;
  const SrClassList* const list = run->list;
  size_t judged = 0;
  size_t over = 0;
  size_t pages = 0;
  size_t without = 0;
  for (size_t i = 0; i < list->take_count; ++i) {
    over += class->takes[i].over;
    judged += class->takes[i].over && class->takes[i].report.figures.judged;
  }
  for (size_t i = 0; i < list->pupil_count; ++i) {
    pages += class->pages[i].written;
    without += *class->pages[i].reason.words != '\0';
  }
  sr_say_format(stdout, "%zu of %zu take%s judged, of %zu pupil%s.\n", judged, list->take_count,
                plural(list->take_count), list->pupil_count, plural(list->pupil_count));
  sr_say_format(stdout, "The table is %s; the pages of %zu pupil%s lie beside it.\n", table, pages,
                plural(pages));
  sr_class_say_pupils(list, class->figures);
  if (over > judged) {
    sr_say_text(stdout, "Not judged:\n");
  }
  for (size_t i = 0; i < list->take_count; ++i) {
    if (class->takes[i].over && !class->takes[i].report.figures.judged) {
      sr_say_indented(stdout, 4, "  %s: %s", list->takes[i].path,
                      class->takes[i].report.reason.words);
    }
  }
  if (without) {
    sr_say_text(stdout, "Judged, but without a page:\n");
  }
  for (size_t i = 0; i < list->pupil_count; ++i) {
    if (*class->pages[i].reason.words) {
      sr_say_indented(stdout, 4, "  %s: %s", list->pupils[i].name, class->pages[i].reason.words);
    }
  }
  if (!whole && over < list->take_count) {
    sr_say_format(stdout, "It was stopped: %zu take%s not in the table.\n", list->take_count - over,
                  list->take_count - over == 1 ? " is" : "s are");
  } else if (!whole) {
    sr_say_text(stdout, "It was stopped: the table is whole, but some pages are missing.\n");
  }
  return whole && judged == list->take_count && !without ? SR_EXIT_DONE : SR_EXIT_NOT_JUDGED;
}

/// With memory for all: judge, write and say. An exit status.
static int
run_class(Class* const class)
{
  SrError error = {0};
  char* const table = results_path(class->run, "class", ".csv");
  if (!table) {
    sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory for that many recordings.");
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  sr_signals_begin();
  const bool whole = do_all(class);
  int status = SR_EXIT_NOT_JUDGED;
  if (write_table(class, table, &error) == SR_OK) {
    status = summarise(class, whole, table);
  } else {
    sr_say_error(&error);
  }
  sr_hands_free_end();
  free(table);
  const int written = sr_say_flush(stdout, "standard output");
  return status ? status : written;
}

int
sr_class_run(const SrClassRun* const run)
{
  const SrClassList* const list = run->list;
  Class class = {.run = run,
                 .takes = (Outcome*)calloc(list->take_count, sizeof(Outcome)),
                 .figures = (SrTakeFigures*)calloc(list->take_count, sizeof(SrTakeFigures)),
                 .pages = (PageReport*)calloc(list->pupil_count, sizeof(PageReport)),
                 .drawn = (size_t*)calloc(list->pupil_count, sizeof(size_t))};
  int status = SR_EXIT_NOT_JUDGED;
  if (class.takes && class.figures && class.pages && class.drawn) {
    status = run_class(&class);
  } else {
    SrError error = {0};
    sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory for that many recordings.");
    sr_say_error(&error);
  }
  for (size_t i = 0; class.takes && i < list->take_count; ++i) {
    free(class.takes[i].row);
  }
  free(class.takes);
  free(class.figures);
  free(class.pages);
  free(class.drawn);
  return status;
}
