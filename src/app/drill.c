// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "help.h"
#include "option_values.h"
#include "plan_options.h"
#include "say.h"
#include "spare_inputs.h"

#include <steadyreed/drill.h>
#include <steadyreed/instrument.h>
#include <steadyreed/layout.h>
#include <steadyreed/output.h>

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char name[] = "drill";

typedef struct {
  SrDrillPlan plan;
  const char* note; ///< As given; NULL for the default
  const char* cut;
  int run;                  ///< Notes in the run of an air drill
  SrPlanOptions instrument; ///< Layout for an air drill
  const char* output;
  bool force; ///< Write over it
} Request;

enum { NOTE = 256, CUT, TWOS, THREES, BETWEEN, BARS, TEMPO, KEY, RUN, PRESS, DRAW, CLICK, FORCE };

static const struct option options[] = {
    {"note", required_argument, NULL, NOTE},
    {"cut", required_argument, NULL, CUT},
    {"twos", no_argument, NULL, TWOS},
    {"threes", no_argument, NULL, THREES},
    {"between", no_argument, NULL, BETWEEN},
    {"bars", required_argument, NULL, BARS},
    {"tempo", required_argument, NULL, TEMPO},
    {"key", required_argument, NULL, KEY},
    {"run", required_argument, NULL, RUN},
    {"press", no_argument, NULL, PRESS},
    {"draw", no_argument, NULL, DRAW},
    {"instrument", required_argument, NULL, SR_OPTION_INSTRUMENT},
    {"silent-bars", required_argument, NULL, CLICK},
    {"output", required_argument, NULL, 'o'},
    {"force", no_argument, NULL, FORCE},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/// Drill kinds an option applies to, as bits by SrDrillKind.
static unsigned
kinds_of(const int option)
{
  switch (option) {
  case NOTE:
    return 1u << SR_DRILL_CUTS | 1u << SR_DRILL_STEADY;
  case CUT:
  case TWOS:
  case THREES:
  case BETWEEN:
    return 1u << SR_DRILL_CUTS;
  case RUN:
  case PRESS:
  case DRAW:
  case SR_OPTION_INSTRUMENT:
    return 1u << SR_DRILL_AIR;
  case CLICK:
    return 1u << SR_DRILL_STEADY;
  default:
    return ~0u;
  }
}

static int
read_whole(const char* const option, const char* const text, const int least, const int most,
           int* const value)
{
  if (!sr_value_integer(text, least, most, value)) {
    return sr_say_usage(name, "%s takes a whole number from %d to %d, not \"%s\".", option, least,
                        most, text);
  }
  return 0;
}

/// Parse a note in ABC, with the key's accidentals, using the phrase reader.
static int
read_note(const char* const option, const char* const text, const char* const key, int* const midi)
{
  char abc[64];
  SrPhrase* phrase = NULL;
  const bool one = strlen(text) < 8 && strspn(text, "^_=ABCDEFGabcdefg',") == strlen(text);
  snprintf(abc, sizeof(abc), "X:1\nT:n\nM:4/4\nL:1/4\nK:%s\n%s|]\n", key, one ? text : "?");
  if (!one || sr_phrase_read_text(abc, strlen(abc), "note", NULL, &phrase, NULL) != SR_OK ||
      sr_phrase_note_count(phrase) != 1) {
    sr_phrase_del(phrase);
    return sr_say_usage(
        name,
        "%s takes one note in ABC, such as A, c or ^F, not \"%s\". Small letters are an octave up.",
        option, text);
  }
  *midi = sr_phrase_note(phrase, 0)->midi;
  sr_phrase_del(phrase);
  return 0;
}

static int
read_click(const char* const text, SrDrillPlan* const plan)
{
  char on[8] = "";
  const char* const colon = strchr(text, ':');
  const size_t length = colon ? (size_t)(colon - text) : 0;
  if (!colon || length >= sizeof(on)) {
    return sr_say_usage(
        name, "--silent-bars takes bars with and without the click, such as 4:4, not \"%s\".",
        text);
  }
  memcpy(on, text, length);
  if (!sr_value_integer(on, 1, 16, &plan->with_click) ||
      !sr_value_integer(colon + 1, 0, 16, &plan->without_click)) {
    return sr_say_usage(name,
                        "--silent-bars takes 1 to 16 bars with the click and 0 to 16 without, such "
                        "as 4:4, not \"%s\".",
                        text);
  }
  return 0;
}

static int
read_kind(const char* const text, SrDrillKind* const kind)
{
  static const char* const kinds[] = {"cuts", "air", "steady"};
  for (int i = 0; i < 3; ++i) {
    if (!strcmp(text, kinds[i])) {
      *kind = (SrDrillKind)i;
      return 0;
    }
  }
  return sr_say_usage(name, "there is no drill \"%s\"; there are cuts, air and steady.", text);
}

static int
take_option(const int option, const int given, Request* const request)
{
  SrDrillPlan* const plan = &request->plan;
  switch (option) {
  case NOTE:
    request->note = optarg;
    return 0;
  case CUT:
    request->cut = optarg;
    return 0;
  case TWOS:
  case THREES:
    plan->count = option == TWOS ? 2 : 3;
    return 0;
  case BETWEEN:
    plan->between = true;
    return 0;
  case BARS:
    return read_whole("--bars", optarg, 1, 32, &plan->bars);
  case TEMPO:
    return sr_option_number(name, "--tempo", "pulses a minute", optarg, SR_LOWEST_TEMPO,
                            SR_HIGHEST_TEMPO, &plan->bpm);
  case KEY:
    if (strlen(optarg) >= sizeof(plan->key) ||
        !sr_drill_in_key(optarg, 0) == !sr_drill_in_key(optarg, 1)) {
      return sr_say_usage(name, "--key takes C, G, D, A, F or Bb, not \"%s\".", optarg);
    }
    memset(plan->key, 0, sizeof(plan->key));
    memcpy(plan->key, optarg, strlen(optarg));
    return 0;
  case RUN:
    return read_whole("--run", optarg, 3, SR_DRILL_RUN, &request->run);
  case PRESS:
  case DRAW:
    plan->direction = option == PRESS ? SR_DIRECTION_PRESS : SR_DIRECTION_DRAW;
    return 0;
  case SR_OPTION_INSTRUMENT:
    return sr_plan_option(name, option, optarg, &request->instrument);
  case CLICK:
    return read_click(optarg, plan);
  case 'o':
    request->output = optarg;
    return 0;
  case FORCE:
    request->force = true;
    return 0;
  default:
    return sr_say_bad_option(name, given, optopt, NULL);
  }
}

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  memset(request, 0, sizeof(*request));
  request->run = 8;
  request->instrument = sr_plan_options_none();
  if (count > 1 && (!strcmp(arguments[1], "-h") || !strcmp(arguments[1], "--help"))) {
    sr_say_help(stdout, sr_help_drill);
    return -1;
  }
  if (count < 2 || arguments[1][0] == '-') {
    return sr_say_usage(name, "name a drill first: cuts, air or steady.");
  }
  SrDrillKind kind = SR_DRILL_CUTS;
  int trouble = read_kind(arguments[1], &kind);
  request->plan = sr_drill_plan_default(kind);
  opterr = 0;
  optind = 2;
  int option;
  while (!trouble && (option = getopt_long(count, arguments, ":ho:", options, NULL)) != -1) {
    if (option == 'h') {
      sr_say_help(stdout, sr_help_drill);
      return -1;
    }
    if (option == '?' || option == ':') {
      return sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
    }
    if (!(kinds_of(option) >> kind & 1u)) {
      return sr_say_usage(name, "%s does not go with `drill %s`.",
                          arguments[optind - 1][0] == '-' ? arguments[optind - 1]
                                                          : arguments[optind - 2],
                          arguments[1]);
    }
    trouble = take_option(option, option, request);
  }
  if (trouble) {
    return trouble;
  }
  if (optind < count) {
    return sr_say_usage(name, "\"%s\" is one word too many.", arguments[optind]);
  }
  if (request->force && !request->output) {
    return sr_say_usage(name, "--force goes with -o.");
  }
  if (request->note) {
    trouble = read_note("--note", request->note, request->plan.key, &request->plan.midi);
  }
  if (!trouble && request->cut) {
    trouble = read_note("--cut", request->cut, request->plan.key, &request->plan.cut_midi);
  }
  return trouble;
}

static bool
playable(const SrDrillPlan* const plan, const SrInstrument* const instrument, const int midi,
         const SrDirection direction)
{
  return sr_drill_in_key(plan->key, midi) && sr_instrument_has(instrument, midi, direction);
}

/**
   Choose a run up and down in one direction, and the nearest note to its end in the other
   direction.
*/
static int
choose_air(SrDrillPlan* const plan, const SrInstrument* const instrument, const int wanted)
{
  const SrDirection run = plan->direction;
  const SrDirection other = run == SR_DIRECTION_PRESS ? SR_DIRECTION_DRAW : SR_DIRECTION_PRESS;
  int pitches[24];
  size_t count = 0;
  for (int midi = 60; midi <= 81; ++midi) {
    if (playable(plan, instrument, midi, run)) {
      pitches[count++] = midi;
    }
  }
  if (count < 3) {
    return sr_say_usage(name, "in %s there are too few notes on the %s; choose another key.",
                        plan->key, run == SR_DIRECTION_PRESS ? "press" : "draw");
  }
  const size_t top = (size_t)wanted / 2 < count - 1 ? (size_t)wanted / 2 : count - 1;
  plan->run_count = (size_t)wanted;
  for (size_t i = 0; i < plan->run_count; ++i) {
    const size_t place = i % (2 * top);
    plan->run[i] = pitches[place <= top ? place : 2 * top - place];
    plan->both[i] = sr_instrument_has(instrument, plan->run[i], other);
  }
  const int last = plan->run[plan->run_count - 1];
  for (int distance = 1; distance < 24; ++distance) {
    for (int sign = -1; sign <= 1; sign += 2) {
      const int midi = last + sign * distance;
      if (midi >= 60 && midi <= 81 && playable(plan, instrument, midi, other)) {
        plan->answer = midi;
        plan->answer_both = sr_instrument_has(instrument, midi, run);
        return 0;
      }
    }
  }
  return sr_say_usage(name, "in %s there is no note in the other direction; choose another key.",
                      plan->key);
}

static int
write_text(const char* const text, const char* const path)
{
  if (!path) {
    sr_say_abc(stdout, text, 0);
    return sr_say_flush(stdout, "standard output");
  }
  SrError error = {0};
  if (sr_output_write(path, text, strlen(text), &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  sr_say_indented(stdout, 2, "Wrote %s.", path);
  return sr_say_flush(stdout, "standard output");
}

/// Choose the notes of an air drill from what the instrument has.
static int
plan_air(Request* const request)
{
  SrInstrument* instrument = NULL;
  SrError error = {0};
  if (sr_layout_read(request->instrument.wish.layout, &instrument, &error) != SR_OK) {
    sr_say_error(&error);
    sr_plan_options_say_layout(&request->instrument);
    return SR_EXIT_NOT_JUDGED;
  }
  sr_plan_options_say_layout(&request->instrument);
  const int trouble = choose_air(&request->plan, instrument, request->run);
  sr_instrument_del(instrument);
  return trouble;
}

/// Write the drill that was asked for. Returns an exit status.
static int
answer(Request* const request)
{
  const bool air = request->plan.kind == SR_DRILL_AIR;
  if (air) {
    sr_plan_options_recall(&request->instrument);
  }
  const char* const layout = request->instrument.wish.layout;
  int trouble = sr_spare_inputs_or_say(request->output, layout ? layout : SR_USUAL_LAYOUT, NULL, 0);
  if (!trouble) {
    trouble = sr_new_file_or_say(request->output, request->force);
  }
  if (!trouble && air) {
    trouble = plan_air(request);
  }
  if (trouble) {
    return trouble;
  }
  SrError error = {0};
  char* text = NULL;
  if (sr_drill_write(&request->plan, &text, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_WRONG_USAGE;
  }
  const int status = write_text(text, request->output);
  free(text);
  return status;
}

int
sr_command_drill(const int count, char** arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status < 0) {
    status = sr_say_flush(stdout, "standard output");
  } else if (!status) {
    status = answer(&request);
  }
  sr_plan_options_clear(&request.instrument);
  return status;
}
