// SPDX-License-Identifier: GPL-3.0-or-later

#include "chosen_phrase.h"
#include "command.h"
#include "help.h"
#include "option_values.h"
#include "phrase_options.h"
#include "plan_abc.h"
#include "plan_joins.h"
#include "plan_json.h"
#include "plan_missing.h"
#include "plan_options.h"
#include "plan_table.h"
#include "say.h"
#include "spare_inputs.h"

#include <steadyreed/layout.h>
#include <steadyreed/output.h>
#include <steadyreed/page.h>
#include <steadyreed/plan.h>
#include <steadyreed/setup.h>

#include <getopt.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char name[] = "plan";

typedef enum { AS_TABLE, AS_JSON, AS_ABC, AS_JOINS } Form;

typedef struct {
  SrPhraseChoice choice;
  SrPlanOptions plan;
  double bpm;   ///< NAN for the phrase's own
  size_t plans; ///< Most plans wanted
  Form form;
  bool list;
  bool more_cuts;
  bool in_place; ///< Overwrite the phrase itself
  const char* page;
  const char* after; ///< Path of an assessment; NULL without
  const char* output;
  const char* phrase_path;
} Request;

enum { PLANS = 256, JSON, ABC, MORE_CUTS, IN_PLACE, JOINS, AFTER, PAGE, LIST };

static const struct option options[] = {
    {"bars", required_argument, NULL, SR_OPTION_BARS},
    {"part", required_argument, NULL, SR_OPTION_PART},
    {"tune", required_argument, NULL, SR_OPTION_TUNE},
    {"transpose", required_argument, NULL, SR_OPTION_TRANSPOSE},
    {"tempo", required_argument, NULL, SR_OPTION_TEMPO},
    {"instrument", required_argument, NULL, SR_OPTION_INSTRUMENT},
    {"style", required_argument, NULL, SR_OPTION_STYLE},
    {"open", required_argument, NULL, SR_OPTION_OPEN},
    {"pin", required_argument, NULL, SR_OPTION_PIN},
    {"cut", required_argument, NULL, SR_OPTION_CUT},
    {"plans", required_argument, NULL, PLANS},
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
  switch (option) {
  case SR_OPTION_INSTRUMENT:
  case SR_OPTION_STYLE:
  case SR_OPTION_OPEN:
  case SR_OPTION_PIN:
  case SR_OPTION_CUT:
    return sr_plan_option(name, option, optarg, &request->plan);
  case PLANS:
    return read_plans(optarg, &request->plans);
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
  request->plan = sr_plan_options_none();
  request->bpm = (double)NAN;
  request->plans = SR_MOST_PLANS;
  const SrPhraseOptions of_phrase = {&request->choice, &request->bpm, NULL};
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":ho:", options, NULL)) != -1) {
    if (sr_phrase_option(name, option, optarg, &of_phrase, &trouble)) {
      continue;
    }
    switch (option) {
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

static SrStatus
write_plans(const Request* const request, const SrPhrase* const phrase,
            const SrWishedPlan* const wished, const SrPlans* const plans, FILE* const stream,
            SrError* const error)
{
  const SrInstrument* const instrument = wished->instrument;
  switch (request->form) {
  case AS_JSON:
    return sr_plan_write_json(stream, phrase, instrument, &wished->settings, plans, error);
  case AS_ABC:
    return sr_plan_write_abc(stream, request->phrase_path, &request->choice, phrase, instrument,
                             sr_plans_get(plans, 0),
                             request->more_cuts ? &wished->settings.style : NULL, error);
  case AS_JOINS:
    return sr_plan_write_joins(stream, phrase, instrument, &wished->settings, plans, request->after,
                               error);
  case AS_TABLE:
    break;
  }
  SrShowStyle style = sr_say_style(stdout);
  style.columns = request->output ? 0 : style.columns;
  sr_plan_write_table(stream, phrase, instrument, &wished->settings, plans, &style);
  sr_plan_write_missing(stream, phrase, sr_plans_get(plans, 0), &style);
  return SR_OK;
}

/// Check that no input would be overwritten, except the phrase with --in-place.
static SrStatus
check_outputs(const Request* const request, SrError* const error)
{
  const char* const read[] = {request->phrase_path, sr_plan_options_style_file(&request->plan),
                              request->after};
  const size_t count = sizeof(read) / sizeof(read[0]);
  const char* const named = request->plan.wish.layout;
  const char* const layout = named ? named : SR_USUAL_LAYOUT;
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

/// Plan a phrase for what is wished. `plans` receives the plans; NULL on error.
static SrStatus
make_plans(const Request* const request, const SrPhrase* const phrase, SrWishedPlan* const wished,
           SrPlans** const plans, SrError* const error)
{
  SrSetup setup;
  sr_setup_read_or_say(&setup);
  SrStatus status =
      sr_plan_wish_read(&request->plan.wish, &setup, request->bpm, phrase, wished, error);
  sr_setup_clear(&setup);
  *plans = NULL;
  if (status == SR_OK) {
    wished->settings.plans = request->plans;
    status = sr_plan(phrase, wished->instrument, &wished->settings, plans, error);
    if (status != SR_OK) {
      sr_error_place(error, request->phrase_path, 0, 0);
    }
  }
  return status;
}

/// Write plans into memory. `text` receives them; free it.
static SrStatus
write_text(const Request* const request, const SrPhrase* const phrase,
           const SrWishedPlan* const wished, const SrPlans* const plans, char** const text,
           size_t* const size, SrError* const error)
{
  FILE* const memory = open_memstream(text, size);
  SrStatus status =
      memory ? write_plans(request, phrase, wished, plans, memory, error) : SR_NO_MEMORY;
  if (memory && fclose(memory) && status == SR_OK) {
    status = SR_NO_MEMORY;
  }
  return status == SR_NO_MEMORY
             ? sr_error_set(error, status, "There is not enough memory to write the plan.")
             : status;
}

/// Write the page, with the style and what of the tune was chosen in its head.
static SrStatus
write_page(const Request* const request, const SrPhrase* const phrase,
           const SrWishedPlan* const wished, const SrPlan* const plan, SrError* const error)
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
  snprintf(remark, sizeof(remark), "%s%s", wished->settings.style.name, chosen);
  const SrPageStyle style = {.remark = remark, .bpm = wished->settings.bpm};
  return sr_page_plan(request->page, phrase, wished->instrument, plan, &style, error);
}

/// Write out the plans that were made, and what there is to say about them. Returns an exit status.
static int
show_plans(const Request* const request, const SrPhrase* const phrase,
           const SrWishedPlan* const wished, const SrPlans* const plans)
{
  SrError error = {0};
  char* text = NULL;
  size_t size = 0;
  const SrPlan* const first = sr_plans_get(plans, 0);
  SrStatus status = SR_OK;
  if (request->page) {
    status = write_page(request, phrase, wished, first, &error);
  }
  if (status == SR_OK) {
    status = write_text(request, phrase, wished, plans, &text, &size, &error);
  }
  int exit_status = SR_EXIT_NOT_JUDGED;
  if (status == SR_OK) {
    sr_plan_options_say(&request->plan, false);
    if (request->form == AS_ABC) {
      sr_plan_say_missing(phrase, first);
    }
    exit_status = put_out(request, text, size);
  } else {
    sr_say_error(&error);
  }
  free(text);
  return exit_status;
}

/// Plan and write. Returns an exit status.
static int
plan_phrase(const Request* const request, const SrPhrase* const phrase)
{
  SrError error = {0};
  SrPlans* plans = NULL;
  SrWishedPlan wished;
  int status;
  if (make_plans(request, phrase, &wished, &plans, &error) == SR_OK) {
    status = show_plans(request, phrase, &wished, plans);
  } else {
    status = sr_plan_options_refuse(&request->plan, name, &error);
  }
  if (status == SR_EXIT_DONE) {
    sr_plan_options_remember(&request->plan);
  }
  sr_plans_del(plans);
  sr_wished_plan_clear(&wished);
  return status;
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

/// Draw the layout alone. Returns an exit status.
static int
draw_layout(const Request* const request)
{
  SrError error = {0};
  SrInstrument* instrument = NULL;
  if (sr_layout_read(request->plan.wish.layout, &instrument, &error) != SR_OK) {
    return sr_plan_options_refuse(&request->plan, name, &error);
  }
  const SrStatus status = sr_page_layout(request->page, instrument, NULL, &error);
  sr_instrument_del(instrument);
  if (status != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  sr_plan_options_say_layout(&request->plan);
  return SR_EXIT_DONE;
}

/// Do what was asked for, once the outputs are known to overwrite no input. Returns an exit status.
static int
answer(const Request* const request)
{
  SrError error = {0};
  if (check_outputs(request, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_WRONG_USAGE;
  }
  if (!request->phrase_path) {
    return draw_layout(request);
  }
  SrPhrase* const phrase = sr_chosen_phrase_read(request->phrase_path, &request->choice);
  const int status = phrase ? plan_phrase(request, phrase) : SR_EXIT_NOT_JUDGED;
  sr_phrase_del(phrase);
  return status;
}

int
sr_command_plan(const int count, char** arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status < 0) {
    status = sr_say_flush(stdout, "standard output");
  } else if (!status && request.list) {
    status = list_layouts();
  } else if (!status) {
    sr_plan_options_recall(&request.plan);
    status = answer(&request);
  }
  sr_plan_options_clear(&request.plan);
  return status;
}
