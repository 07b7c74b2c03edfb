// SPDX-License-Identifier: GPL-3.0-or-later

#include "chosen_phrase.h"
#include "command.h"
#include "help.h"
#include "option_values.h"
#include "plan_abc.h"
#include "plan_joins.h"
#include "plan_json.h"
#include "plan_table.h"
#include "say.h"
#include "spare_inputs.h"

#include <steadyreed/layout.h>
#include <steadyreed/output.h>
#include <steadyreed/page.h>
#include <steadyreed/plan.h>
#include <steadyreed/setup.h>
#include <steadyreed/sound.h>

#include <getopt.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char name[] = "plan";

typedef enum { AS_TABLE, AS_JSON, AS_ABC, AS_JOINS } Form;

typedef struct {
  SrPhraseChoice choice;
  SrPlanSettings settings;
  Form form;
  bool list;
  bool more_cuts;
  bool in_place; ///< Overwrite the phrase itself
  const char* layout;
  const char* style;
  const char* page;
  const char* after; ///< Path of an assessment; NULL without
  const char* output;
  const char* phrase_path;
  char** pins; ///< Arguments of --pin
  SrPin* pins_read;
  size_t pin_count;
} Request;

enum {
  BARS = 256,
  PART,
  TUNE,
  TRANSPOSE,
  TEMPO,
  INSTRUMENT,
  STYLE,
  PIN,
  PLANS,
  START,
  JSON,
  ABC,
  MORE_CUTS,
  IN_PLACE,
  JOINS,
  AFTER,
  PAGE,
  LIST
};

static const struct option options[] = {
    {"bars", required_argument, NULL, BARS},
    {"part", required_argument, NULL, PART},
    {"tune", required_argument, NULL, TUNE},
    {"transpose", required_argument, NULL, TRANSPOSE},
    {"tempo", required_argument, NULL, TEMPO},
    {"instrument", required_argument, NULL, INSTRUMENT},
    {"style", required_argument, NULL, STYLE},
    {"pin", required_argument, NULL, PIN},
    {"plans", required_argument, NULL, PLANS},
    {"open", required_argument, NULL, START},
    {"json", no_argument, NULL, JSON},
    {"abc", no_argument, NULL, ABC},
    {"more-cuts", no_argument, NULL, MORE_CUTS},
    {"in-place", no_argument, NULL, IN_PLACE},
    {"joins", no_argument, NULL, JOINS},
    {"after", required_argument, NULL, AFTER},
    {"page", required_argument, NULL, PAGE},
    {"list", no_argument, NULL, LIST},
    {"output", required_argument, NULL, 'o'},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

static int
read_plans(const char* const text, size_t* const plans)
{
  int value = 0;
  if (!sr_value_integer(text, 1, SR_MOST_PLANS, &value)) {
    return sr_say_usage(name, "--plans takes a whole number from 1 to %d, not \"%s\".",
                        SR_MOST_PLANS, text);
  }
  *plans = (size_t)value;
  return 0;
}

static int
add_pin(Request* const request, char* const text)
{
  char** const more = (char**)realloc(request->pins, (request->pin_count + 1) * sizeof(char*));
  if (!more) {
    return SR_EXIT_NOT_JUDGED;
  }
  request->pins = more;
  request->pins[request->pin_count++] = text;
  return 0;
}

static int
choose_form(Request* const request, const Form form)
{
  if (request->form != AS_TABLE && request->form != form) {
    return sr_say_usage(name, "choose one of --json, --abc and --joins.");
  }
  request->form = form;
  return 0;
}

/// Read one option specific to this command. 0, or an exit status.
static int
read_option(const int option, Request* const request)
{
  double percent = 0.0;
  int trouble = 0;
  switch (option) {
  case INSTRUMENT:
    request->layout = optarg;
    break;
  case STYLE:
    request->style = optarg;
    break;
  case PIN:
    return add_pin(request, optarg);
  case PLANS:
    return read_plans(optarg, &request->settings.plans);
  case START:
    trouble = sr_option_number(name, "--open", "percent", optarg, 0.0, 100.0, &percent);
    request->settings.bellows.start = percent / 100.0;
    return trouble;
  case JSON:
    return choose_form(request, AS_JSON);
  case ABC:
    return choose_form(request, AS_ABC);
  case MORE_CUTS:
    request->more_cuts = true;
    break;
  case IN_PLACE:
    request->in_place = true;
    break;
  case JOINS:
    return choose_form(request, AS_JOINS);
  case AFTER:
    request->after = optarg;
    break;
  case PAGE:
    request->page = optarg;
    break;
  case LIST:
    request->list = true;
    break;
  case 'o':
    request->output = optarg;
    break;
  default:
    break;
  }
  return 0;
}

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  memset(request, 0, sizeof(*request));
  request->settings.bellows = sr_bellows_default();
  SrSetup setup;
  sr_setup_read_or_say(&setup);
  if (isfinite(setup.bellows_at_a4) && isfinite(setup.bellows_power)) {
    request->settings.bellows.at_a4 = setup.bellows_at_a4;
    request->settings.bellows.octave_power = setup.bellows_power;
  }
  sr_setup_clear(&setup);
  request->settings.style = sr_plan_style(0);
  request->settings.bpm = (double)NAN;
  request->settings.plans = SR_MOST_PLANS;
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
                                 SR_HIGHEST_TEMPO, &request->settings.bpm);
      break;
    case 'h':
      sr_say_help(stdout, sr_help_plan);
      return -1;
    case '?':
    case ':':
      trouble = sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
      break;
    default:
      trouble = read_option(option, request);
      break;
    }
  }
  if (trouble || request->list) {
    return trouble;
  }
  if (count == optind && request->page) {
    return 0; // only the layout
  }
  if (count - optind != 1) {
    return sr_say_usage(name, "name %s, such as `steadyreed plan jig.abc --bars 1-4`.",
                        count == optind ? "the phrase" : "one phrase only");
  }
  if (request->after && request->form != AS_JOINS) {
    return sr_say_usage(name, "--after only goes with --joins.");
  }
  if (request->more_cuts && request->form != AS_ABC) {
    return sr_say_usage(name, "--more-cuts only goes with --abc.");
  }
  if (request->in_place && (request->form != AS_ABC || request->output)) {
    return sr_say_usage(
        name, "--in-place goes with --abc and without -o: it writes over the phrase itself.");
  }
  if (request->choice.transpose != 0 && request->form == AS_ABC) {
    return sr_say_usage(
        name, "--abc writes into the music as it is, so it does not go with --transpose.");
  }
  request->phrase_path = arguments[optind];
  return 0;
}

/// A shipped style by its name, or one from a file.
static SrStatus
find_style(Request* const request, SrError* const error)
{
  if (!request->style) {
    return SR_OK;
  }
  static const char* const names[SR_PLAN_STYLES] = {"along", "across"};
  for (size_t i = 0; i < SR_PLAN_STYLES; ++i) {
    if (!strcmp(request->style, names[i])) {
      request->settings.style = sr_plan_style(i);
      return SR_OK;
    }
  }
  const SrStatus status = sr_plan_style_read(request->style, &request->settings.style, error);
  if (status == SR_NOT_FOUND) {
    sr_error_set(error, status,
                 "There is no such style. Choose along, across or a file of your own.");
    sr_error_place(error, request->style, 0, 0);
  }
  return status;
}

/// Note `number` from 1 of the first playing of a bar; the note count if there is none.
static size_t
note_in_bar(const SrPhrase* const phrase, const int bar, const int number)
{
  int seen = 0;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    if (sr_phrase_note(phrase, i)->bar == bar && ++seen == number) {
      return i;
    }
  }
  return sr_phrase_note_count(phrase);
}

/// Read "BAR:NOTE=BUTTON".
static SrStatus
read_pin(const char* const text, const SrPhrase* const phrase, const SrInstrument* const instrument,
         SrPin* const pin, SrError* const error)
{
  int bar = 0;
  int number = 0;
  char copy[48];
  snprintf(copy, sizeof(copy), "%s", text);
  char* const colon = strchr(copy, ':');
  char* const equals = colon ? strchr(colon, '=') : NULL;
  if (equals) {
    *colon = '\0';
    *equals = '\0';
  }
  if (!equals || !sr_value_integer(copy, 0, 100000, &bar) ||
      !sr_value_integer(colon + 1, 1, 100000, &number) || !equals[1]) {
    return sr_error_set(
        error, SR_BAD_ARGUMENT,
        "--pin takes a bar, a note of it and a button, such as 2:3=L1-4, not \"%s\".", text);
  }
  const char* const button = equals + 1;
  pin->note = note_in_bar(phrase, bar, number);
  pin->button = sr_instrument_find(instrument, button);
  if (pin->note == sr_phrase_note_count(phrase)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "--pin %s: bar %d has no note %d here.", text, bar,
                        number);
  }
  if (pin->button == sr_instrument_button_count(instrument)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "--pin %s: %s has no button %s.", text,
                        sr_instrument_title(instrument), button);
  }
  return SR_OK;
}

static SrStatus
read_pins(Request* const request, const SrPhrase* const phrase,
          const SrInstrument* const instrument, SrError* const error)
{
  SrPin* const pins = (SrPin*)calloc(request->pin_count + 1, sizeof(SrPin));
  if (!pins) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for that many pins.");
  }
  SrStatus status = SR_OK;
  for (size_t i = 0; status == SR_OK && i < request->pin_count; ++i) {
    status = read_pin(request->pins[i], phrase, instrument, &pins[i], error);
  }
  request->pins_read = pins;
  request->settings.pins = pins;
  request->settings.pin_count = request->pin_count;
  return status;
}

static SrStatus
write_plans(const Request* const request, const SrPhrase* const phrase,
            const SrInstrument* const instrument, const SrPlans* const plans, FILE* const stream,
            SrError* const error)
{
  switch (request->form) {
  case AS_JSON:
    return sr_plan_write_json(stream, phrase, instrument, &request->settings, plans, error);
  case AS_ABC:
    return sr_plan_write_abc(stream, request->phrase_path, &request->choice, phrase, instrument,
                             sr_plans_get(plans, 0), request->more_cuts, error);
  case AS_JOINS:
    return sr_plan_write_joins(stream, phrase, instrument, &request->settings, plans,
                               request->after, error);
  case AS_TABLE:
    break;
  }
  SrShowStyle style = sr_say_style(stdout);
  style.columns = request->output ? 0 : style.columns;
  sr_plan_write_table(stream, phrase, instrument, &request->settings, plans, &style);
  return SR_OK;
}

/// Check that no input would be overwritten, except the phrase with --in-place.
static SrStatus
check_outputs(const Request* const request, SrError* const error)
{
  const char* const read[] = {request->phrase_path, request->style, request->after};
  const size_t count = sizeof(read) / sizeof(read[0]);
  const char* const layout = request->layout ? request->layout : SR_USUAL_LAYOUT;
  const char* const written[] = {request->output, request->page};
  SrStatus status = SR_OK;
  for (size_t i = 0; i < 2 && status == SR_OK; ++i) {
    status = sr_spare_inputs(written[i], layout, read, count, error);
  }
  if (status == SR_OK && request->page && request->output &&
      !strcmp(request->page, request->output)) {
    status = sr_error_set(error, SR_BAD_ARGUMENT,
                          "--page and -o name the same file. Choose another for one of them.");
    sr_error_place(error, request->output, 0, 0);
  }
  if (status == SR_BAD_ARGUMENT && request->form == AS_ABC &&
      sr_spare_inputs(request->output, NULL, &request->phrase_path, 1, NULL) != SR_OK) {
    sr_error_set(error, status,
                 "This is the phrase itself. To write over it, use --in-place instead of -o.");
    sr_error_place(error, request->output, 0, 0);
  }
  return status;
}

/// Write the output. Returns an exit status.
static int
put_out(const Request* const request, const char* const text, const size_t size)
{
  const char* const path = request->in_place ? request->phrase_path : request->output;
  if (!path) {
    const bool notation = request->form == AS_ABC || request->form == AS_JOINS;
    if (notation && sr_say_columns(stdout)) {
      sr_say_abc(stdout, text, 0);
    } else {
      fwrite(text, 1, size, stdout);
    }
    return sr_say_flush(stdout, "standard output");
  }
  SrError error = {0};
  if (sr_output_write(path, text, size, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  return SR_EXIT_DONE;
}

/// Write the page, with the style and what of the tune was chosen in its head.
static SrStatus
write_page(const Request* const request, const SrPhrase* const phrase,
           const SrInstrument* const instrument, const SrPlan* const plan, SrError* const error)
{
  const SrPhraseChoice* const choice = &request->choice;
  char chosen[64] = "";
  if (choice->part) {
    snprintf(chosen, sizeof(chosen), ", part %c", choice->part);
  } else if (choice->first_bar != choice->last_bar) {
    snprintf(chosen, sizeof(chosen), ", bars %d to %d", choice->first_bar, choice->last_bar);
  } else if (choice->last_bar) {
    snprintf(chosen, sizeof(chosen), ", bar %d", choice->last_bar);
  }
  char remark[128];
  snprintf(remark, sizeof(remark), "%s%s", request->settings.style.name, chosen);
  const SrPageStyle style = {.remark = remark, .bpm = request->settings.bpm};
  return sr_page_plan(request->page, phrase, instrument, plan, &style, error);
}

/// Plan and write. Returns an exit status.
static int
plan_phrase(Request* const request, const SrPhrase* const phrase,
            const SrInstrument* const instrument)
{
  SrError error = {0};
  SrPlans* plans = NULL;
  if (isnan(request->settings.bpm)) {
    request->settings.bpm = sr_sound_tempo(phrase);
  }
  SrStatus status = find_style(request, &error);
  if (status == SR_OK) {
    status = read_pins(request, phrase, instrument, &error);
  }
  if (status == SR_BAD_ARGUMENT) {
    return sr_say_usage(name, "%s", error.message);
  }
  if (status == SR_OK) {
    status = sr_plan(phrase, instrument, &request->settings, &plans, &error);
    if (status != SR_OK) {
      sr_error_place(&error, request->phrase_path, 0, 0);
    }
  }
  if (status == SR_OK && request->page) {
    status = write_page(request, phrase, instrument, sr_plans_get(plans, 0), &error);
  }
  char* text = NULL;
  size_t size = 0;
  FILE* const memory = status == SR_OK ? open_memstream(&text, &size) : NULL;
  if (status == SR_OK && !memory) {
    status = sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory to write the plan.");
  }
  if (memory) {
    status = write_plans(request, phrase, instrument, plans, memory, &error);
    if (fclose(memory) && status == SR_OK) {
      status = sr_error_set(&error, SR_NO_MEMORY, "There is not enough memory to write the plan.");
    }
  }
  int exit_status = SR_EXIT_NOT_JUDGED;
  if (status == SR_OK) {
    exit_status = put_out(request, text, size);
  } else {
    sr_say_error(&error);
  }
  free(text);
  sr_plans_del(plans);
  return exit_status;
}

/// List the layouts that can be named. Returns an exit status.
static int
list_layouts(void)
{
  SrLayoutEntry* entries = NULL;
  size_t count = 0;
  SrError error = {0};
  if (sr_layout_list(&entries, &count, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  for (size_t i = 0; i < count; ++i) {
    SrInstrument* instrument = NULL;
    const bool read = sr_instrument_read_file(entries[i].path, &instrument, NULL) == SR_OK;
    sr_say_indented(stdout, 21, "%-20s %s%s", entries[i].name,
                    read ? sr_instrument_title(instrument) : "(cannot be read)",
                    entries[i].own ? " (your own)" : "");
    sr_instrument_del(instrument);
  }
  sr_layout_list_del(entries, count);
  return sr_say_flush(stdout, "standard output");
}

int
sr_command_plan(const int count, char** arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status || request.list) {
    status = status ? status : list_layouts();
    free(request.pins);
    return status < 0 ? sr_say_flush(stdout, "standard output") : status;
  }
  SrError error = {0};
  SrPhrase* phrase = NULL;
  SrInstrument* instrument = NULL;
  if (check_outputs(&request, &error) != SR_OK) {
    sr_say_error(&error);
    status = SR_EXIT_WRONG_USAGE;
  } else if (!request.phrase_path) {
    if (sr_layout_read(request.layout, &instrument, &error) != SR_OK ||
        sr_page_layout(request.page, instrument, NULL, &error) != SR_OK) {
      sr_say_error(&error);
      status = SR_EXIT_NOT_JUDGED;
    }
  } else if (!(phrase = sr_chosen_phrase_read(request.phrase_path, &request.choice))) {
    status = SR_EXIT_NOT_JUDGED;
  } else if (sr_layout_read(request.layout, &instrument, &error) == SR_OK) {
    status = plan_phrase(&request, phrase, instrument);
  } else {
    sr_say_error(&error);
    status = SR_EXIT_NOT_JUDGED;
  }
  sr_instrument_del(instrument);
  sr_phrase_del(phrase);
  free(request.pins_read);
  free(request.pins);
  return status;
}
