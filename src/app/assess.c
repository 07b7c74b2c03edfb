// SPDX-License-Identifier: GPL-3.0-or-later

#include "assess_page.h"
#include "chosen_phrase.h"
#include "command.h"
#include "help.h"
#include "option_values.h"
#include "plan_options.h"
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
#include <sys/stat.h>

static const char name[] = "assess";

typedef enum { AS_TEXT, AS_JSON, AS_CSV } Form;

typedef struct {
  SrPhraseChoice choice;
  SrJudgeSettings settings;
  Form form;
  bool no_click;
  bool all_notes;
  const char* output; ///< NULL for standard output
  const char* phrase_path;
  SrPlanOptions plan;
  SrAssessPages pages;
  char** takes;
  size_t take_count;
} Request;

enum {
  BARS = 256,
  PART,
  TUNE,
  TRANSPOSE,
  TEMPO,
  NO_CLICK,
  REFERENCE,
  LONG_CUT,
  ALL,
  JSON,
  CSV,
  PAGE
};

static const struct option options[] = {
    {"bars", required_argument, NULL, BARS},
    {"part", required_argument, NULL, PART},
    {"tune", required_argument, NULL, TUNE},
    {"transpose", required_argument, NULL, TRANSPOSE},
    {"tempo", required_argument, NULL, TEMPO},
    {"no-click", no_argument, NULL, NO_CLICK},
    {"reference", required_argument, NULL, REFERENCE},
    {"long-cut", required_argument, NULL, LONG_CUT},
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

/// Whether a name has the extension of a recording.
static bool
names_recording(const char* const path)
{
  static const char* const ends[] = {".wav",  ".flac", ".ogg", ".oga", ".opus", ".mp3",
                                     ".aiff", ".m4a",  ".mp4", ".3gp", ".webm", ".wma",
                                     ".amr",  ".caf",  ".mov", ".aac"};
  const char* const dot = strrchr(path, '.');
  for (size_t i = 0; dot && i < sizeof(ends) / sizeof(ends[0]); ++i) {
    if (!strcasecmp(dot, ends[i])) {
      return true;
    }
  }
  return false;
}

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  memset(request, 0, sizeof(*request));
  request->settings = sr_judge_settings_default();
  request->plan = sr_plan_options_none();
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":ho:", options, NULL)) != -1) {
    switch (option) {
    case BARS:
      trouble = sr_option_bars(name, optarg, &request->choice);
      break;
    case PART:
      trouble = sr_option_part(name, optarg, &request->choice);
      break;
    case TUNE:
      trouble = sr_option_tune(name, optarg, &request->choice);
      break;
    case TRANSPOSE:
      trouble = sr_option_transpose(name, optarg, &request->choice);
      break;
    case TEMPO:
      trouble = sr_option_number(name, "--tempo", "pulses a minute", optarg, SR_LOWEST_TEMPO,
                                 SR_HIGHEST_TEMPO, &request->settings.target_bpm);
      break;
    case NO_CLICK:
      request->no_click = true;
      break;
    case REFERENCE:
      trouble = sr_option_number(name, "--reference", "Hz", optarg, 400.0, 480.0,
                                 &request->settings.reference_hz);
      break;
    case LONG_CUT:
      trouble = sr_option_number(name, "--long-cut", "milliseconds", optarg, 20.0, 200.0,
                                 &request->settings.long_cut_ms);
      break;
    case SR_OPTION_INSTRUMENT:
    case SR_OPTION_STYLE:
    case SR_OPTION_OPEN:
    case SR_OPTION_PIN:
      trouble = sr_plan_option(name, option, optarg, &request->plan);
      break;
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
  if (names_recording(request->phrase_path)) {
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
  if (request->output && names_recording(request->output)) {
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
  const char* const read[] = {request->phrase_path, sr_plan_options_style_file(&request->plan)};
  const int refused = sr_spare_inputs_or_say(request->output, request->plan.wish.layout, read, 2);
  if (refused) {
    return refused;
  }
  const int spared = sr_spare_inputs_or_say(request->output, NULL, takes, request->take_count);
  return spared ? spared
                : sr_assess_pages_check(request->pages.path, request->output,
                                        request->plan.wish.layout, read, 2, request->takes,
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
    sr_judged_take_make(phrase, request->takes[i], &request->settings, !request->no_click, &take);
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
      sr_judged_take_make(phrase, request->takes[i], &request->settings, !request->no_click,
                          &takes[i]);
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
  const double bpm = request->settings.target_bpm;
  int status = sr_assess_pages_begin(&request->pages, &request->plan, &request->choice, bpm, phrase,
                                     request->take_count);
  if (!status) {
    status = sr_plan_options_places(&request->plan, name, false, bpm, phrase, &places);
  }
  if (!status) {
    request->settings.places = (const char* const*)places;
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
    sr_plan_options_recall(&request.plan);
    status = check_inputs(&request);
    SrPhrase* const phrase =
        status ? NULL : sr_chosen_phrase_read(request.phrase_path, &request.choice);
    if (!status) {
      status = phrase ? assess_phrase(&request, phrase) : SR_EXIT_NOT_JUDGED;
    }
    sr_phrase_del(phrase);
  }
  sr_plan_options_clear(&request.plan);
  return status;
}
