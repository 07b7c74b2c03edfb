// SPDX-License-Identifier: GPL-3.0-or-later

#include "byte_words.h"
#include "command.h"
#include "help.h"
#include "option_values.h"
#include "progress_page.h"
#include "progress_takes.h"
#include "say.h"

#include <steadyreed/history_file.h>
#include <steadyreed/preferences.h>
#include <steadyreed/show_progress.h>

#include <getopt.h>
#include <limits.h>
#include <string.h>

static const char name[] = "progress";

/// Days of a phrase that are shown.
#define USUAL_DAYS 5
/// Phrases not played for this long are left out.
#define RECENT_DAYS 30

enum { ALL = 256, DAYS, PAGE, TAKES, MARK, UNMARK, LIMIT, LET_GO, EXPORT, IMPORT };

static const struct option options[] = {
    {"all", no_argument, NULL, ALL},
    {"days", required_argument, NULL, DAYS},
    {"page", required_argument, NULL, PAGE},
    {"takes", no_argument, NULL, TAKES},
    {"mark", required_argument, NULL, MARK},
    {"unmark", required_argument, NULL, UNMARK},
    {"limit", required_argument, NULL, LIMIT},
    {"let-go", no_argument, NULL, LET_GO},
    {"export", required_argument, NULL, EXPORT},
    {"import", required_argument, NULL, IMPORT},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

typedef struct {
  int task; ///< One of the options from TAKES on; 0 to show progress
  const char* value;
  uint64_t limit;
  bool let_go;
  bool all;
  int days; ///< 0 if it was not given
  const char* title;
  const char* page; ///< File for the pages; NULL for none
} Request;

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  *request = (Request){0};
  opterr = 0;
  optind = 1;
  int option;
  while ((option = getopt_long(count, arguments, ":h", options, NULL)) != -1) {
    switch (option) {
    case 'h':
      sr_say_help(stdout, sr_help_progress);
      return -1;
    case '?':
    case ':':
      return sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
    case ALL:
      request->all = true;
      break;
    case DAYS:
      if (!sr_value_integer(optarg, 1, RECENT_DAYS, &request->days)) {
        return sr_say_usage(name, "--days takes a whole number from 1 to %d, not \"%s\".",
                            RECENT_DAYS, optarg);
      }
      break;
    case PAGE:
      request->page = optarg;
      break;
    case LET_GO:
      request->let_go = true;
      break;
    default:
      if (request->task) {
        return sr_say_usage(name, "--takes, --mark, --unmark, --limit, --export and --import stand "
                                  "alone, each once.");
      }
      request->task = option;
      request->value = optarg;
      break;
    }
  }
  if (request->task == LIMIT &&
      !sr_value_bytes(request->value, SR_LEAST_TAKES_LIMIT, SR_MOST_TAKES_LIMIT, &request->limit)) {
    return sr_say_usage(
        name, "--limit takes a size with its unit, such as 2G or 500M, 100M or more, not \"%s\".",
        request->value);
  }
  if (request->let_go && request->task != LIMIT) {
    return sr_say_usage(name, "--let-go goes with --limit.");
  }
  request->title = optind < count ? arguments[optind] : NULL;
  if (count - optind > 1) {
    return sr_say_usage(name, "give one part of a title only; put quotes around several words.");
  }
  if (request->task && (request->title || request->all || request->days || request->page)) {
    return sr_say_usage(name, "TITLE, --all, --days and --page say what of your progress is shown, "
                              "and go with no other option.");
  }
  return request->page ? sr_progress_page_check(request->page) : 0;
}

static int
show(SrHistory* const history, const Request* const request)
{
  const int today = sr_moment_day(sr_moment_now());
  SrPhraseProgress* progress = NULL;
  size_t count = 0;
  SrError error = {0};
  if (sr_progress_read(history, request->all ? INT_MIN : today - RECENT_DAYS + 1, request->title,
                       &progress, &count, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  const SrShowStyle style = sr_say_style(stdout);
  for (size_t i = 0; i < count; ++i) {
    fputs(i ? "\n" : "", stdout);
    sr_show_progress(stdout, &progress[i], (size_t)(request->days ? request->days : USUAL_DAYS),
                     &style);
  }
  if (!count) {
    sr_say_indented(stdout, 2, "No %sphrase%s was practised%s.", request->title ? "such " : "", "",
                    request->all ? "" : " in the last 30 days; --all shows older ones");
  }
  sr_progress_del(progress, count);
  return request->page
             ? sr_progress_page_write(history, request->page, request->title,
                                      request->all ? INT_MIN : today - RECENT_DAYS + 1, today)
             : SR_EXIT_DONE;
}

static int
export_history(SrHistory* const history, const char* const path)
{
  size_t count = 0;
  SrError error = {0};
  if (sr_history_export(history, path, &count, &error) != SR_OK) {
    sr_say_error(&error);
    return error.status == SR_BAD_ARGUMENT ? SR_EXIT_WRONG_USAGE : SR_EXIT_NOT_JUDGED;
  }
  sr_say_indented(stdout, 2, "%zu round%s written to %s.", count, count == 1 ? "" : "s", path);
  return SR_EXIT_DONE;
}

static int
import_history(SrHistory* const history, const char* const path)
{
  SrImported imported;
  SrError error = {0};
  if (sr_history_import(history, path, &imported, &error) != SR_OK) {
    sr_say_error(&error);
    sr_say_line("Nothing was added.");
    return error.status == SR_BAD_ARGUMENT ? SR_EXIT_WRONG_USAGE : SR_EXIT_NOT_JUDGED;
  }
  sr_say_indented(stdout, 2, "%zu round%s added, %zu known already.", imported.added,
                  imported.added == 1 ? "" : "s", imported.known);
  return SR_EXIT_DONE;
}

static int
carry_out(SrHistory* const history, const Request* const request)
{
  switch (request->task) {
  case TAKES:
    return sr_progress_list_takes(history);
  case MARK:
  case UNMARK:
    return sr_progress_mark(history, request->value, request->task == MARK);
  case LIMIT:
    return sr_progress_set_limit(history, request->limit, request->let_go);
  case EXPORT:
    return export_history(history, request->value);
  case IMPORT:
    return import_history(history, request->value);
  default:
    return show(history, request);
  }
}

int
sr_command_progress(const int count, char** const arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status) {
    return status < 0 ? sr_say_flush(stdout, "standard output") : status;
  }
  SrHistory* history = NULL;
  SrError error = {0};
  // Only what is imported may begin a history
  const SrHistoryUse use = request.task == IMPORT ? SR_HISTORY_RECORD : SR_HISTORY_LOOK;
  const SrStatus opened = sr_history_open(NULL, use, &history, &error);
  const char* const remark = history ? sr_history_remark(history) : NULL;
  if (remark) {
    sr_say_line(remark);
  }
  if (opened == SR_OK || (opened == SR_NOT_FOUND && request.task == LIMIT)) {
    status = carry_out(history, &request);
  } else if (opened == SR_NOT_FOUND && error.file[0] && request.task != MARK &&
             request.task != UNMARK) {
    sr_say_text(stdout,
                "Nothing has been practised yet. `steadyreed practise` keeps every round.\n");
    status = request.page ? sr_progress_page_none(request.page) : SR_EXIT_DONE;
  } else {
    sr_say_error(&error);
    status = SR_EXIT_NOT_JUDGED;
  }
  sr_history_close(history);
  const int written = sr_say_flush(stdout, "standard output");
  return status ? status : written;
}
