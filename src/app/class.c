// SPDX-License-Identifier: GPL-3.0-or-later

#include "chosen_phrase.h"
#include "class_list.h"
#include "class_run.h"
#include "command.h"
#include "help.h"
#include "judge_options.h"
#include "option_values.h"
#include "recording_names.h"
#include "say.h"
#include "workers.h"

#include <steadyreed/planned_places.h>

#include <errno.h>
#include <getopt.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char name[] = "class";

typedef struct {
  SrJudgeOptions judge;
  int workers; ///< 0 for one for each core
  const char* results;
  const char* phrase_path;
  const char* folder;
} Request;

enum { WORKERS = 256 };

static const struct option options[] = {
    {"bars", required_argument, NULL, SR_OPTION_BARS},
    {"part", required_argument, NULL, SR_OPTION_PART},
    {"tune", required_argument, NULL, SR_OPTION_TUNE},
    {"transpose", required_argument, NULL, SR_OPTION_TRANSPOSE},
    {"tempo", required_argument, NULL, SR_OPTION_TEMPO},
    {"no-click", no_argument, NULL, SR_OPTION_NO_CLICK},
    {"reference", required_argument, NULL, SR_OPTION_REFERENCE},
    {"long-cut", required_argument, NULL, SR_OPTION_LONG_CUT},
    {"instrument", required_argument, NULL, SR_OPTION_INSTRUMENT},
    {"style", required_argument, NULL, SR_OPTION_STYLE},
    {"open", required_argument, NULL, SR_OPTION_OPEN},
    {"pin", required_argument, NULL, SR_OPTION_PIN},
    {"workers", required_argument, NULL, WORKERS},
    {"output", required_argument, NULL, 'o'},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/// Check what was named besides options. 0, or an exit status.
static int
read_operands(const int count, char** const arguments, Request* const request)
{
  static const char example[] = "such as `steadyreed class jig.abc monday -o monday-results`";
  if (count < 2) {
    return sr_say_usage(name, "name the phrase and the folder of recordings, %s.", example);
  }
  if (count > 2) {
    return sr_say_usage(name, "name one phrase and one folder of recordings, %s.", example);
  }
  request->phrase_path = arguments[0];
  request->folder = arguments[1];
  if (sr_names_recording(request->phrase_path)) {
    return sr_say_usage(name, "the phrase comes first, then the folder; %s looks like a take.",
                        request->phrase_path);
  }
  if (!request->results) {
    return sr_say_usage(name, "name a new folder for the results with -o, %s.", example);
  }
  return 0;
}

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  memset(request, 0, sizeof(*request));
  request->judge = sr_judge_options_none();
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":ho:", options, NULL)) != -1) {
    if (sr_judge_option(name, option, optarg, &request->judge, &trouble)) {
      continue;
    }
    switch (option) {
    case WORKERS:
      if (!sr_value_integer(optarg, 1, SR_MOST_WORKERS, &request->workers)) {
        trouble = sr_say_usage(name, "--workers takes a whole number from 1 to %d, not \"%s\".",
                               SR_MOST_WORKERS, optarg);
      }
      break;
    case 'o':
      request->results = optarg;
      break;
    case 'h':
      sr_say_help(stdout, sr_help_class);
      return -1;
    default:
      trouble = sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
      break;
    }
  }
  return trouble ? trouble : read_operands(count - optind, arguments + optind, request);
}

/// Make the folder of results, which must not be there yet. An exit status.
static int
make_results(const char* const path)
{
  if (mkdir(path, 0777) == 0) {
    return SR_EXIT_DONE;
  }
  const int code = errno;
  SrError error = {0};
  if (code == EEXIST) {
    sr_error_set(&error, SR_EXISTS,
                 "There is something of this name already, and nothing is written over. Name a new "
                 "folder with -o.");
  } else {
    sr_error_set(&error, SR_WRITE_FAILED, "This folder for the results cannot be made: %s.",
                 strerror(code));
  }
  sr_error_place(&error, path, 0, 0);
  sr_say_error(&error);
  return code == EEXIST ? SR_EXIT_WRONG_USAGE : SR_EXIT_NOT_JUDGED;
}

/// Judge a class whose recordings were found. An exit status.
static int
judge_class(Request* const request, SrPhrase* const phrase, const SrClassList* const list)
{
  SrJudgeOptions* const judge = &request->judge;
  SrAssessPages pages = {.path = request->results};
  char** places = NULL;
  const double bpm = judge->settings.target_bpm;
  int status = sr_assess_pages_begin(&pages, &judge->plan, &judge->choice, bpm, phrase, 1);
  if (!status) {
    status = sr_plan_options_places(&judge->plan, name, false, bpm, phrase, &places);
  }
  if (!status) {
    status = make_results(request->results);
  }
  if (!status) {
    judge->settings.places = (const char* const*)places;
    const SrClassRun run = {.list = list,
                            .phrase = phrase,
                            .settings = &judge->settings,
                            .find_click = !judge->no_click,
                            .pages = &pages,
                            .results = request->results,
                            .workers =
                                request->workers ? (size_t)request->workers : sr_work_cores()};
    status = sr_class_run(&run);
  }
  sr_assess_pages_clear(&pages);
  sr_plan_places_del(phrase, places);
  return status;
}

/// Read the phrase and find the recordings. An exit status.
static int
answer(Request* const request)
{
  SrClassList list;
  SrError error = {0};
  sr_plan_options_recall(&request->judge.plan);
  sr_judge_options_use_file(&request->judge, request->phrase_path);
  SrPhrase* const phrase = sr_chosen_phrase_read(request->phrase_path, &request->judge.choice);
  if (!phrase) {
    return SR_EXIT_NOT_JUDGED;
  }
  int status = SR_EXIT_NOT_JUDGED;
  if (sr_class_list_read(request->folder, &list, &error) == SR_OK) {
    status = judge_class(request, phrase, &list);
  } else {
    sr_say_error(&error);
  }
  sr_class_list_clear(&list);
  sr_phrase_del(phrase);
  return status;
}

int
sr_command_class(const int count, char** arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status < 0) {
    status = sr_say_flush(stdout, "standard output");
  } else if (!status) {
    status = answer(&request);
  }
  sr_judge_options_clear(&request.judge);
  return status;
}
