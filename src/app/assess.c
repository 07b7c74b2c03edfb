// SPDX-License-Identifier: GPL-3.0-or-later

#include "assess_page.h"
#include "chosen_phrase.h"
#include "command.h"
#include "help.h"
#include "judge_options.h"
#include "recording_names.h"
#include "say.h"
#include "spare_inputs.h"

#include <steadyreed/judged_take.h>
#include <steadyreed/layout.h>
#include <steadyreed/output.h>
#include <steadyreed/planned_places.h>
#include <steadyreed/show.h>

#include <getopt.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const char name[] = "assess";

typedef enum { AS_TEXT, AS_JSON, AS_CSV } Form;

typedef struct {
  SrJudgeOptions judge;
  Form form;
  bool all_notes;
  const char* output; ///< NULL for standard output
  const char* phrase_path;
  SrAssessPages pages;
  char** takes;
  size_t take_count;
} Request;

enum { ALL = 256, JSON, CSV, PAGE };

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
    {"all", no_argument, NULL, ALL},
    {"json", no_argument, NULL, JSON},
    {"csv", no_argument, NULL, CSV},
    {"page", required_argument, NULL, PAGE},
    {"output", required_argument, NULL, 'o'},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

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
    case ALL:
      request->all_notes = true;
      break;
    case JSON:
    case CSV: {
      const Form form = option == JSON ? AS_JSON : AS_CSV;
      if (request->form != AS_TEXT && request->form != form) {
        trouble = sr_say_usage(name, "choose one of --json and --csv.");
      }
      request->form = form;
      break;
    }
    case PAGE:
      request->pages.path = optarg;
      break;
    case 'o':
      request->output = optarg;
      break;
    case 'h':
      sr_say_help(stdout, sr_help_assess);
      return -1;
    default:
      trouble = sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
      break;
    }
  }
  if (trouble) {
    return trouble;
  }
  if (count - optind < 1) {
    return sr_say_usage(name, "name the phrase and one take or more, such as `steadyreed assess "
                              "jig.abc tuesday.wav`.");
  }
  request->phrase_path = arguments[optind];
  if (sr_names_recording(request->phrase_path)) {
    return sr_say_usage(name, "the phrase comes first, then the takes; %s looks like a take.",
                        request->phrase_path);
  }
  if (count - optind < 2) {
    return sr_say_usage(name,
                        "name a take to judge as well, such as `steadyreed assess %s tuesday.wav`.",
                        request->phrase_path);
  }
  for (int i = optind + 1; i < count; ++i) {
    const char* const dot = strrchr(arguments[i], '.');
    if (dot && !strcasecmp(dot, ".abc")) {
      return sr_say_usage(name, "%s is a phrase too; name one phrase, then its takes.",
                          arguments[i]);
    }
  }
  // With `-o *.wav` the shell makes the first take the output
  if (request->output && sr_names_recording(request->output)) {
    return sr_say_usage(name, "-o %s looks like a take; name a file for the report.",
                        request->output);
  }
  request->takes = arguments + optind + 1;
  request->take_count = (size_t)(count - optind - 1);
  return 0;
}

/// Check that no input would be overwritten. An exit status.
static int
check_inputs(const Request* const request)
{
  const char* const* const takes = (const char* const*)request->takes;
  const char* const read[] = {request->phrase_path,
                              sr_plan_options_style_file(&request->judge.plan)};
  const int refused =
      sr_spare_inputs_or_say(request->output, request->judge.plan.wish.layout, read, 2);
  if (refused) {
    return refused;
  }
  const int spared = sr_spare_inputs_or_say(request->output, NULL, takes, request->take_count);
  return spared ? spared
                : sr_assess_pages_check(request->pages.path, request->output,
                                        request->judge.plan.wish.layout, read, 2, request->takes,
                                        request->take_count);
}

/// Judge the takes, writing each as soon as it is judged. Returns an exit status.
static int
write_one_by_one(Request* const request, const SrPhrase* const phrase, FILE* const stream,
                 size_t* const judged)
{
  int status = SR_EXIT_DONE;
  SrShowStyle style = sr_say_style(stream);
  style.all_notes = request->all_notes;
  if (request->form == AS_CSV) {
    sr_show_csv_header(stream);
  }
  bool written = false;
  for (size_t i = 0; i < request->take_count && !sr_say_reader_left(stream); ++i) {
    SrJudgedTake take;
    sr_judged_take_make(phrase, request->takes[i], &request->judge.settings,
                        !request->judge.no_click, &take);
    const SrShownTake show = sr_assess_shown(phrase, request->takes[i], &take);
    if (request->form == AS_CSV) {
      sr_show_csv_row(stream, &show);
    } else if (take.assessment) {
      if (written) {
        fputc('\n', stream);
      }
      sr_show_text(stream, &show, &style);
      written = true;
    }
    *judged += take.assessment != NULL;
    if (!take.assessment) {
      sr_say_refusal(&show);
      status = SR_EXIT_NOT_JUDGED;
    }
    sr_assess_pages_keep(&request->pages, request->takes[i], i + 1, &take);
    sr_judged_take_clear(&take);
  }
  return status;
}

/// Judge all takes, then write one JSON text. Returns an exit status.
static int
write_together(Request* const request, const SrPhrase* const phrase, FILE* const stream,
               size_t* const judged)
{
  int status = SR_EXIT_DONE;
  // One extra, so that the size is never zero
  SrJudgedTake* const takes = calloc(request->take_count + 1, sizeof(SrJudgedTake));
  SrShownTake* const shows = calloc(request->take_count + 1, sizeof(SrShownTake));
  SrError error = {0};
  if (takes && shows) {
    for (size_t i = 0; i < request->take_count; ++i) {
      sr_judged_take_make(phrase, request->takes[i], &request->judge.settings,
                          !request->judge.no_click, &takes[i]);
      shows[i] = sr_assess_shown(phrase, request->takes[i], &takes[i]);
      *judged += takes[i].assessment != NULL;
      if (!takes[i].assessment) {
        sr_say_refusal(&shows[i]);
        status = SR_EXIT_NOT_JUDGED;
      }
    }
    if (sr_show_json(stream, shows, request->take_count, &error) != SR_OK) {
      sr_say_error(&error);
      status = SR_EXIT_NOT_JUDGED;
      *judged = 0;
    }
    for (size_t i = 0; i < request->take_count; ++i) {
      sr_assess_pages_keep(&request->pages, request->takes[i], i + 1, &takes[i]);
      sr_judged_take_clear(&takes[i]);
    }
  } else {
    sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory for that many takes.");
    sr_say_error(&error);
    status = SR_EXIT_NOT_JUDGED;
  }
  free(takes);
  free(shows);
  return status;
}

/// Judge all takes and write to a stream. `judged` receives how many could be judged, 0 if nothing
/// was written. An exit status.
static int
write_takes(Request* const request, const SrPhrase* const phrase, FILE* const stream,
            size_t* const judged)
{
  *judged = 0;
  return request->form == AS_JSON ? write_together(request, phrase, stream, judged)
                                  : write_one_by_one(request, phrase, stream, judged);
}

/// Write to standard output. An exit status.
static int
write_out(Request* const request, const SrPhrase* const phrase)
{
  size_t judged;
  const int status = write_takes(request, phrase, stdout, &judged);
  const int written = sr_say_flush(stdout, "standard output");
  return status ? status : written;
}

/// Write to a file, which is left unchanged if no take could be judged. An exit status.
static int
write_file(Request* const request, const SrPhrase* const phrase)
{
  SrError error = {0};
  SrOutput* output = NULL;
  SrStatus written = sr_output_new(request->output, &output, &error);
  FILE* const stream = written == SR_OK ? sr_output_stream(output) : NULL;
  if (written == SR_OK && !stream) {
    written = sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory to write.");
  }
  int status = SR_EXIT_NOT_JUDGED;
  if (stream) {
    size_t judged;
    status = write_takes(request, phrase, stream, &judged);
    written = judged > 0 ? sr_output_finish(output, &error) : SR_OK;
  }
  sr_output_del(output);
  if (written != SR_OK) {
    sr_say_error(&error);
    status = SR_EXIT_NOT_JUDGED;
  }
  return status;
}

/// Plan the phrase if that is wanted, and judge the takes. Returns an exit status.
static int
assess_phrase(Request* const request, SrPhrase* const phrase)
{
  char** places = NULL;
  const double bpm = request->judge.settings.target_bpm;
  int status = sr_assess_pages_begin(&request->pages, &request->judge.plan, &request->judge.choice,
                                     bpm, phrase, request->take_count);
  if (!status) {
    status = sr_plan_options_places(&request->judge.plan, name, false, bpm, phrase, &places);
  }
  if (!status) {
    request->judge.settings.places = (const char* const*)places;
    status = request->output ? write_file(request, phrase) : write_out(request, phrase);
    const int pages = sr_assess_pages_write(&request->pages, phrase);
    status = pages ? pages : status;
  }
  sr_assess_pages_clear(&request->pages);
  sr_plan_places_del(phrase, places);
  return status;
}

int
sr_command_assess(const int count, char** arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status) {
    status = status < 0 ? sr_say_flush(stdout, "standard output") : status;
  } else {
    sr_plan_options_recall(&request.judge.plan);
    status = check_inputs(&request);
    if (!status) {
      sr_judge_options_use_file(&request.judge, request.phrase_path);
    }
    SrPhrase* const phrase =
        status ? NULL : sr_chosen_phrase_read(request.phrase_path, &request.judge.choice);
    if (!status) {
      status = phrase ? assess_phrase(&request, phrase) : SR_EXIT_NOT_JUDGED;
    }
    sr_phrase_del(phrase);
  }
  sr_judge_options_clear(&request.judge);
  return status;
}
