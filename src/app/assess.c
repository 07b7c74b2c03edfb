// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "help.h"
#include "judging.h"
#include "plan_places.h"
#include "say.h"
#include "values.h"

#include <steadyreed/show.h>

#include <errno.h>
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
  bool all_notes;
  const char* output; ///< NULL for standard output
  const char* phrase_path;
  const char* layout; ///< NULL without a plan
  char** takes;
  size_t take_count;
} Request;

enum { BARS = 256, PART, TUNE, TEMPO, REFERENCE, LONG_CUT, INSTRUMENT, ALL, JSON, CSV };

static const struct option options[] = {
    {"bars", required_argument, NULL, BARS},
    {"part", required_argument, NULL, PART},
    {"tune", required_argument, NULL, TUNE},
    {"tempo", required_argument, NULL, TEMPO},
    {"reference", required_argument, NULL, REFERENCE},
    {"long-cut", required_argument, NULL, LONG_CUT},
    {"instrument", required_argument, NULL, INSTRUMENT},
    {"all", no_argument, NULL, ALL},
    {"json", no_argument, NULL, JSON},
    {"csv", no_argument, NULL, CSV},
    {"output", required_argument, NULL, 'o'},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/// Whether a name ends as recordings do.
static bool
names_recording(const char* const path)
{
  static const char* const ends[] = {".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".aiff"};
  const char* const dot = strrchr(path, '.');
  for (size_t i = 0; dot && i < sizeof(ends) / sizeof(ends[0]); ++i) {
    if (!strcasecmp(dot, ends[i])) {
      return true;
    }
  }
  return false;
}

/// Whether two names lead to one file.
static bool
same_file(const char* const one, const char* const two)
{
  struct stat first;
  struct stat second;
  return !stat(one, &first) && !stat(two, &second) && S_ISREG(first.st_mode) &&
         first.st_dev == second.st_dev && first.st_ino == second.st_ino;
}

/// Refuse to write over what is to be read. 0 or an exit status.
static int
check_output(const Request* const request)
{
  bool same = request->output && same_file(request->output, request->phrase_path);
  for (size_t i = 0; request->output && i < request->take_count; ++i) {
    same = same || same_file(request->output, request->takes[i]);
  }
  return same
             ? sr_say_usage(name, "-o %s would write over the phrase or a take; name another file.",
                            request->output)
             : 0;
}

/// Read options and operands. 0 to go on, -1 if help was given, else an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  memset(request, 0, sizeof(*request));
  request->settings = sr_judge_settings_default();
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
    case TEMPO:
      trouble = sr_option_number(name, "--tempo", "pulses a minute", optarg, SR_LOWEST_TEMPO,
                                 SR_HIGHEST_TEMPO, &request->settings.target_bpm);
      break;
    case REFERENCE:
      trouble = sr_option_number(name, "--reference", "Hz", optarg, 400.0, 480.0,
                                 &request->settings.reference_hz);
      break;
    case LONG_CUT:
      trouble = sr_option_number(name, "--long-cut", "milliseconds", optarg, 20.0, 200.0,
                                 &request->settings.long_cut_ms);
      break;
    case INSTRUMENT:
      request->layout = optarg;
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
    case 'o':
      request->output = optarg;
      break;
    case 'h':
      fputs(sr_help_assess, stdout);
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
                        "name a take to be judged as well, such as `steadyreed assess %s "
                        "tuesday.wav`.",
                        request->phrase_path);
  }
  for (int i = optind + 1; i < count; ++i) {
    const char* const dot = strrchr(arguments[i], '.');
    if (dot && !strcasecmp(dot, ".abc")) {
      return sr_say_usage(name, "%s is a phrase too; name one phrase, then its takes.",
                          arguments[i]);
    }
  }
  request->takes = arguments + optind + 1;
  request->take_count = (size_t)(count - optind - 1);
  return check_output(request);
}

/// Where to write: standard output, or a file opened once there is something to write.
static FILE*
open_output(const Request* const request)
{
  if (!request->output) {
    return stdout;
  }
  FILE* const stream = fopen(request->output, "w");
  if (!stream) {
    SrError error;
    sr_error_set(&error, SR_WRITE_FAILED, "This file could not be written: %s. Name another place.",
                 strerror(errno));
    sr_error_place(&error, request->output, 0, 0);
    sr_say_error(&error);
  }
  return stream;
}

static SrShownTake
shown(const SrPhrase* const phrase, const char* const path, const SrJudgedTake* const take)
{
  const SrShownTake shown = {path,
                             phrase,
                             take->assessment,
                             &take->error,
                             (const char* const*)take->remarks,
                             take->remark_count};
  return shown;
}

/// Judge each take and write it at once. Returns an exit status.
static int
write_one_by_one(const Request* const request, const SrPhrase* const phrase, FILE* const stream)
{
  int status = SR_EXIT_DONE;
  SrShowStyle style = sr_say_style(stream);
  style.all_notes = request->all_notes;
  if (request->form == AS_CSV) {
    sr_show_csv_header(stream);
  }
  bool written = false;
  for (size_t i = 0; i < request->take_count; ++i) {
    SrJudgedTake take;
    sr_judged_take_make(phrase, request->takes[i], &request->settings, &take);
    const SrShownTake show = shown(phrase, request->takes[i], &take);
    if (request->form == AS_CSV) {
      sr_show_csv_row(stream, &show);
    } else if (take.assessment) {
      if (written) {
        fputc('\n', stream);
      }
      sr_show_text(stream, &show, &style);
      written = true;
    }
    if (!take.assessment) {
      sr_say_refusal(&show);
      status = SR_EXIT_NOT_JUDGED;
    }
    sr_judged_take_clear(&take);
  }
  return status;
}

/// Judge all takes, then write one JSON text. Returns an exit status.
static int
write_together(const Request* const request, const SrPhrase* const phrase, FILE* const stream)
{
  int status = SR_EXIT_DONE;
  // One more than needed, so that it is never nothing.
  SrJudgedTake* const takes = calloc(request->take_count + 1, sizeof(SrJudgedTake));
  SrShownTake* const shows = calloc(request->take_count + 1, sizeof(SrShownTake));
  SrError error = {0};
  if (takes && shows) {
    for (size_t i = 0; i < request->take_count; ++i) {
      sr_judged_take_make(phrase, request->takes[i], &request->settings, &takes[i]);
      shows[i] = shown(phrase, request->takes[i], &takes[i]);
      if (!takes[i].assessment) {
        sr_say_refusal(&shows[i]);
        status = SR_EXIT_NOT_JUDGED;
      }
    }
    if (sr_show_json(stream, shows, request->take_count, &error) != SR_OK) {
      sr_say_error(&error);
      status = SR_EXIT_NOT_JUDGED;
    }
    for (size_t i = 0; i < request->take_count; ++i) {
      sr_judged_take_clear(&takes[i]);
    }
  } else {
    sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory for so many takes.");
    sr_say_error(&error);
    status = SR_EXIT_NOT_JUDGED;
  }
  free(takes);
  free(shows);
  return status;
}

int
sr_command_assess(const int count, char** const arguments)
{
  Request request;
  const int trouble = read_request(count, arguments, &request);
  if (trouble) {
    return trouble < 0 ? sr_say_flush(stdout, "standard output") : trouble;
  }
  SrError error = {0};
  SrPhrase* phrase = NULL;
  if (sr_phrase_read_file(request.phrase_path, &request.choice, &phrase, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  char** places = NULL;
  if (request.layout && sr_plan_places(request.layout, request.settings.target_bpm, phrase, &places,
                                       &error) != SR_OK) {
    sr_say_error(&error);
    sr_phrase_del(phrase);
    return SR_EXIT_NOT_JUDGED;
  }
  request.settings.places = (const char* const*)places;
  FILE* const stream = open_output(&request);
  int status = SR_EXIT_NOT_JUDGED;
  if (stream) {
    status = request.form == AS_JSON ? write_together(&request, phrase, stream)
                                     : write_one_by_one(&request, phrase, stream);
    const int written = sr_say_flush(stream, request.output ? request.output : "standard output");
    status = status ? status : written;
    if (stream != stdout && fclose(stream) && !status) {
      status = SR_EXIT_NOT_JUDGED;
    }
  }
  sr_plan_places_del(phrase, places);
  sr_phrase_del(phrase);
  return status;
}
