// SPDX-License-Identifier: GPL-3.0-or-later

#include "assess_page.h"
#include "beside_sound.h"
#include "beside_takes.h"
#include "chosen_phrase.h"
#include "command.h"
#include "help.h"
#include "judge_options.h"
#include "option_values.h"
#include "recording_names.h"
#include "say.h"
#include "spare_inputs.h"

#include <steadyreed/planned_places.h>
#include <steadyreed/show_two_takes.h>
#include <steadyreed/take_page.h>
#include <steadyreed/two_takes_page.h>

#include <getopt.h>
#include <string.h>

static const char name[] = "beside";

typedef struct {
  SrJudgeOptions judge;
  bool list;
  const char* page; ///< NULL for none
  bool heard;       ///< Something is to be heard
  bool play;
  const char* how; ///< An option that goes with what is heard; NULL for none
  SrBesideSound sound;
  const char* phrase_path;
  const char* asked[2]; ///< Takes; both NULL for the usual ones
} Request;

enum { LIST = 256, PAGE, SOUND, PLAY, HEAR, WHOLE, SAME_TEMPO };

static const struct option options[] = {
    {"bars", required_argument, NULL, SR_OPTION_BARS},
    {"part", required_argument, NULL, SR_OPTION_PART},
    {"tune", required_argument, NULL, SR_OPTION_TUNE},
    {"transpose", required_argument, NULL, SR_OPTION_TRANSPOSE},
    {"tempo", required_argument, NULL, SR_OPTION_TEMPO},
    {"no-click", no_argument, NULL, SR_OPTION_NO_CLICK},
    {"long-cut", required_argument, NULL, SR_OPTION_LONG_CUT},
    {"instrument", required_argument, NULL, SR_OPTION_INSTRUMENT},
    {"style", required_argument, NULL, SR_OPTION_STYLE},
    {"list", no_argument, NULL, LIST},
    {"page", required_argument, NULL, PAGE},
    {"sound", required_argument, NULL, SOUND},
    {"play", no_argument, NULL, PLAY},
    {"hear", required_argument, NULL, HEAR},
    {"whole", no_argument, NULL, WHOLE},
    {"same-tempo", no_argument, NULL, SAME_TEMPO},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/// Read an option of this command alone. 0, or an exit status.
static int
read_option(const int option, const char* const argument, Request* const request)
{
  SrBesideSound* const sound = &request->sound;
  switch (option) {
  case LIST:
    request->list = true;
    return 0;
  case PAGE:
    request->page = optarg;
    return 0;
  case SOUND:
    request->heard = true;
    sound->output = optarg;
    return 0;
  case PLAY:
    request->heard = true;
    request->play = true;
    return 0;
  case HEAR:
    request->how = "--hear";
    return sr_value_bars(optarg, &sound->first_bar, &sound->last_bar)
               ? 0
               : sr_say_usage(name, "--hear takes a bar or bars such as 3 or 1-4, not \"%s\".",
                              optarg);
  case WHOLE:
    request->how = "--whole";
    sound->whole = true;
    return 0;
  case SAME_TEMPO:
    request->how = "--same-tempo";
    sound->same_tempo = true;
    return 0;
  default:
    return sr_say_bad_option(name, option, optopt, argument);
  }
}

/// Read what stands after the options. 0, or an exit status.
static int
read_operands(const int count, char** const arguments, Request* const request)
{
  if (optind == count) {
    return sr_say_usage(name, "name the phrase, such as `steadyreed beside jig.abc`.");
  }
  request->phrase_path = arguments[optind];
  if (sr_names_recording(request->phrase_path)) {
    return sr_say_usage(name, "the phrase comes first, then the takes; %s looks like a take.",
                        request->phrase_path);
  }
  if (count - optind != 1 && count - optind != 3) {
    return sr_say_usage(name, "name two takes, or none for the best and the latest.");
  }
  if (count - optind == 3) {
    request->asked[0] = arguments[optind + 1];
    request->asked[1] = arguments[optind + 2];
  }
  if (request->list && (request->asked[0] || request->page || request->heard)) {
    return sr_say_usage(name, "--list goes with a phrase alone.");
  }
  if (request->sound.output && request->play) {
    return sr_say_usage(name, "choose one of --sound and --play.");
  }
  return request->how && !request->heard
             ? sr_say_usage(name, "%s says what is heard; add --play or --sound OUT.wav.",
                            request->how)
             : 0;
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
  while (!trouble && (option = getopt_long(count, arguments, ":h", options, NULL)) != -1) {
    if (sr_judge_option(name, option, optarg, &request->judge, &trouble)) {
      continue;
    }
    if (option == 'h') {
      sr_say_help(stdout, sr_help_beside);
      return -1;
    }
    trouble = read_option(option, arguments[optind - 1], request);
  }
  return trouble ? trouble : read_operands(count, arguments, request);
}

/// Check that what is written has a format, and nothing that is read is written over. An exit
/// status.
static int
check_outputs(const Request* const request, const SrBesideTake takes[2])
{
  const char* const read[] = {request->phrase_path, takes[0].path, takes[1].path,
                              sr_plan_options_style_file(&request->judge.plan)};
  const char* const layout = request->judge.plan.wish.layout;
  SrError error = {0};
  if (request->page && sr_page_check(request->page, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  if (request->page && request->sound.output && !strcmp(request->page, request->sound.output)) {
    return sr_say_usage(name, "--page and --sound name the same file.");
  }
  int status = request->page ? sr_spare_inputs_or_say(request->page, layout, read, 4) : 0;
  if (!status && request->sound.output) {
    status = sr_spare_inputs_or_say(request->sound.output, layout, read, 4);
  }
  return status;
}

/// Show two judged takes. An exit status.
static int
show(const Request* const request, const SrPhrase* const phrase, const SrAssessPages* const plans,
     const SrBesideTake takes[2], const SrJudgedTake judged[2])
{
  SrError error = {0};
  SrTwoTakes two;
  SrTwoTakesPage page = {.plan = NULL};
  SrShownTwo* const shown = &page.shown;
  SrBesideHeard heard[2];
  shown->two = &two;
  for (size_t t = 0; t < 2; ++t) {
    const SrAssessment* const assessment = judged[t].assessment;
    shown->phrases[t] = judged[t].phrase ? judged[t].phrase : phrase;
    shown->names[t] = takes[t].name;
    shown->played[t] = (SrPlayedRounds){assessment->rounds, assessment->round_count};
  }
  SrStatus status = sr_two_takes_compare(phrase, shown->played, &two, &error);
  if (status == SR_OK) {
    const SrShowStyle style = sr_say_style(stdout);
    status = sr_show_two_takes(stdout, shown, &style, &error);
  }
  if (status == SR_OK && request->page) {
    // Buttons' names do not fit another key
    const bool planned = plans->plans && !judged[0].phrase && !judged[1].phrase;
    page.plan = planned ? sr_plans_get(plans->plans, 0) : NULL;
    page.instrument = planned ? plans->wished.instrument : NULL;
    status = sr_page_two_takes(request->page, &page, &error);
  }
  if (status != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  for (size_t t = 0; t < 2; ++t) {
    heard[t] = (SrBesideHeard){takes[t].path, &judged[t].assessment->rounds[two.best[t]]};
  }
  const int written = sr_say_flush(stdout, "standard output");
  return written || !request->heard ? written : sr_beside_sound(&request->sound, phrase, heard);
}

/// Judge two takes and show them. An exit status.
static int
judge(const Request* const request, const SrPhrase* const phrase, const SrAssessPages* const plans,
      const SrBesideTake takes[2])
{
  SrJudgedTake judged[2];
  int status = SR_EXIT_DONE;
  for (size_t t = 0; t < 2; ++t) {
    sr_judged_take_make(phrase, takes[t].path, &request->judge.settings, !request->judge.no_click,
                        &judged[t]);
    if (!judged[t].assessment) {
      const SrShownTake refused = sr_assess_shown(phrase, takes[t].path, &judged[t]);
      sr_say_refusal(&refused);
      status = SR_EXIT_NOT_JUDGED;
    }
  }
  status = status ? status : show(request, phrase, plans, takes, judged);
  sr_judged_take_clear(&judged[0]);
  sr_judged_take_clear(&judged[1]);
  return status;
}

/// Plan the phrase if that is wanted, find the takes and compare them. An exit status.
static int
compare(Request* const request, SrPhrase* const phrase)
{
  SrBesideTake takes[2];
  SrAssessPages plans = {.path = request->page};
  SrPlanOptions* const plan = &request->judge.plan;
  const double bpm = request->judge.settings.target_bpm;
  char** places = NULL;
  int status = sr_beside_find(phrase, request->asked, takes);
  if (!status) {
    status = check_outputs(request, takes);
  }
  if (!status) {
    status = sr_assess_pages_begin(&plans, plan, &request->judge.choice, bpm, phrase, 2);
  }
  if (!status) {
    status = sr_plan_options_places(plan, name, false, bpm, phrase, &places);
  }
  if (!status) {
    request->judge.settings.places = (const char* const*)places;
    status = judge(request, phrase, &plans, takes);
  }
  sr_assess_pages_clear(&plans);
  sr_plan_places_del(phrase, places);
  sr_beside_take_clear(&takes[0]);
  sr_beside_take_clear(&takes[1]);
  return status;
}

int
sr_command_beside(const int count, char** const arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status) {
    status = status < 0 ? sr_say_flush(stdout, "standard output") : status;
  } else {
    sr_plan_options_recall(&request.judge.plan);
    sr_judge_options_use_file(&request.judge, request.phrase_path);
    SrPhrase* const phrase = sr_chosen_phrase_read(request.phrase_path, &request.judge.choice);
    status = !phrase        ? SR_EXIT_NOT_JUDGED
             : request.list ? sr_beside_list(phrase)
                            : compare(&request, phrase);
    const int written = sr_say_flush(stdout, "standard output");
    status = status ? status : written;
    sr_phrase_del(phrase);
  }
  sr_judge_options_clear(&request.judge);
  return status;
}
