// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "guesses.h"
#include "help.h"
#include "option_values.h"
#include "say.h"
#include "spare_inputs.h"

#include <steadyreed/output.h>
#include <steadyreed/transcribed_take.h>

#include <getopt.h>
#include <glib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char name[] = "transcribe";

typedef struct {
  SrScoreWish wish;
  SrTimes times;
  SrOctaves octaves;
  bool no_click;
  bool force;
  const char* title;
  const char* output; ///< NULL for standard output
  const char* take;
} Request;

enum { FROM = 256, TO, METER, KEY, TEMPO, UPBEAT, REFERENCE, OCTAVES, NO_CLICK, TITLE, FORCE };

static const struct option options[] = {
    {"from", required_argument, NULL, FROM},
    {"to", required_argument, NULL, TO},
    {"meter", required_argument, NULL, METER},
    {"key", required_argument, NULL, KEY},
    {"tempo", required_argument, NULL, TEMPO},
    {"upbeat", required_argument, NULL, UPBEAT},
    {"reference", required_argument, NULL, REFERENCE},
    {"octaves", required_argument, NULL, OCTAVES},
    {"no-click", no_argument, NULL, NO_CLICK},
    {"title", required_argument, NULL, TITLE},
    {"force", no_argument, NULL, FORCE},
    {"output", required_argument, NULL, 'o'},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

static int
read_meter(const char* const text, SrScoreWish* const wish)
{
  static const char* const meters[] = {"6/8", "9/8", "12/8", "2/4", "3/4", "4/4", "2/2"};
  for (size_t i = 0; i < sizeof(meters) / sizeof(meters[0]); ++i) {
    if (!strcmp(text, meters[i])) {
      wish->meter_beats = (int)strtol(text, NULL, 10);
      wish->meter_unit = (int)strtol(strchr(text, '/') + 1, NULL, 10);
      return 0;
    }
  }
  return sr_say_usage(name, "--meter takes 6/8, 9/8, 12/8, 2/4, 3/4, 4/4 or 2/2, not \"%s\".",
                      text);
}

static int
read_octaves(const char* const text, SrOctaves* const octaves)
{
  const bool yes = !strcmp(text, "yes");
  if (!yes && strcmp(text, "no") != 0) {
    return sr_say_usage(name, "--octaves takes yes or no, not \"%s\".", text);
  }
  *octaves = yes ? SR_OCTAVES_DOUBLED : SR_OCTAVES_SINGLE;
  return 0;
}

static int
read_upbeat(const char* const text, double* const quavers)
{
  const int trouble =
      sr_option_number(name, "--upbeat", "quavers", text, 0.0, SR_MOST_UPBEAT, quavers);
  if (!trouble && fabs(2.0 * *quavers - round(2.0 * *quavers)) > 1e-9) {
    return sr_say_usage(
        name, "--upbeat takes whole and half quavers, such as 1, 2 or 0.5, not \"%s\".", text);
  }
  return trouble;
}

static int
take_option(const int option, Request* const request)
{
  switch (option) {
  case FROM:
  case TO:
    return sr_option_time(name, option == TO, optarg, &request->times);
  case METER:
    return read_meter(optarg, &request->wish);
  case KEY:
    request->wish.key = optarg;
    return 0;
  case TEMPO:
    return sr_option_number(name, "--tempo", "pulses a minute", optarg, SR_LOWEST_TEMPO,
                            SR_HIGHEST_TEMPO, &request->wish.tempo_bpm);
  case UPBEAT:
    return read_upbeat(optarg, &request->wish.upbeat_quavers);
  case REFERENCE:
    return sr_option_number(name, "--reference", "Hz", optarg, 400.0, 480.0,
                            &request->wish.reference_hz);
  case OCTAVES:
    return read_octaves(optarg, &request->octaves);
  case NO_CLICK:
    request->no_click = true;
    return 0;
  case TITLE:
    request->title = optarg;
    return 0;
  case FORCE:
    request->force = true;
    return 0;
  default:
    request->output = strcmp(optarg, "-") ? optarg : NULL;
    return 0;
  }
}

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  *request = (Request){.wish = sr_score_wish_none(), .times = {0.0, INFINITY}};
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":ho:", options, NULL)) != -1) {
    if (option == 'h') {
      sr_say_help(stdout, sr_help_transcribe);
      return -1;
    }
    trouble = option == '?' || option == ':'
                  ? sr_say_bad_option(name, option, optopt, arguments[optind - 1])
                  : take_option(option, request);
  }
  if (trouble) {
    return trouble;
  }
  if (count - optind != 1) {
    return sr_say_usage(name, "name %s, such as `steadyreed transcribe lesson.wav`.",
                        count == optind ? "the recording" : "one recording only");
  }
  if (request->times.to_s <= request->times.from_s) {
    return sr_say_usage(name, "--to must come after --from.");
  }
  request->take = arguments[optind];
  return 0;
}

/// Whether the output may be written. 0, or an exit status.
static int
check_output(const Request* const request)
{
  const int refused = sr_spare_inputs_or_say(request->output, NULL, &request->take, 1);
  return refused ? refused : sr_new_file_or_say(request->output, request->force);
}

/// The title: as asked, or the file's name without its folder and ending. Free it with g_free().
static char*
title_of(const Request* const request)
{
  char* const base = request->title               ? g_strdup(request->title)
                     : strcmp(request->take, "-") ? g_path_get_basename(request->take)
                                                  : g_strdup("By Ear");
  char* const dot = request->title ? NULL : strrchr(base, '.');
  if (dot && dot > base) {
    *dot = '\0';
  }
  char* const title = g_utf8_make_valid(base, -1);
  g_free(base);
  for (char* at = title; *at; ++at) {
    // A field ends with its line, and a comment begins with %
    *at = (unsigned char)*at < ' ' || *at == '%' || *at == '\\' ? ' ' : *at;
  }
  return title;
}

/// Write the score. An exit status.
static int
write_score(const Request* const request, const SrScore* const score)
{
  char* text = NULL;
  size_t size = 0;
  FILE* const stream = open_memstream(&text, &size);
  char* const title = title_of(request);
  SrError error = {0};
  SrStatus status = SR_NO_MEMORY;
  if (stream) {
    sr_score_write(stream, score, title);
    status = fclose(stream) ? SR_NO_MEMORY : SR_OK;
  }
  g_free(title);
  if (status != SR_OK) {
    sr_error_set(&error, status, "There is not enough memory to write the notes.");
  } else if (request->output) {
    status = sr_output_write(request->output, text, size, &error);
  } else {
    sr_say_abc(stdout, text, 0);
  }
  free(text);
  if (status != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  return request->output ? SR_EXIT_DONE : sr_say_flush(stdout, "standard output");
}

int
sr_command_transcribe(const int count, char** arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status) {
    return status < 0 ? sr_say_flush(stdout, "standard output") : status;
  }
  status = check_output(&request);
  if (status) {
    return status;
  }
  SrScore score;
  SrError error = {0};
  const SrStatus outcome =
      sr_transcribed_take_make(request.take, request.times.from_s, request.times.to_s,
                               &request.wish, request.octaves, !request.no_click, &score, &error);
  if (outcome != SR_OK) {
    if (outcome == SR_BAD_ARGUMENT) {
      return sr_say_usage(name, "%s", error.message);
    }
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  sr_say_guesses(&(SrGuessesAsked){&request.wish, request.octaves}, &score);
  status = write_score(&request, &score);
  sr_score_clear(&score);
  return status;
}
