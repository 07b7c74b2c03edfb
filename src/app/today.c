// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "device_options.h"
#include "help.h"
#include "option_values.h"
#include "say.h"
#include "today_items.h"
#include "today_run.h"

#include <getopt.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char name[] = "today";

/// Files that are not there and are named.
#define MOST_NAMED 3u

typedef struct {
  SrTodayOptions options;
  bool list;
  bool without[SR_TODAY_MOST]; ///< Items that were taken out
  bool only[SR_TODAY_MOST];    ///< … and that alone are wanted, if any
} Request;

/// The items of today, and what is to be done with each.
typedef struct {
  SrTodayItem items[SR_TODAY_MOST];
  size_t count;
  SrTodayPlayed today[SR_TODAY_MOST]; ///< Played today already
  bool shown[SR_TODAY_MOST];
  bool played[SR_TODAY_MOST];
  bool some_done; ///< Of what is shown, and left out
  bool all_done;  ///< Of what is shown, and played again
} Day;

enum { LIST = 256, WITHOUT, ONLY, READY, WAIT, SIGNAL, SPEAK, TONES, CLICK_VOLUME, NO_KEEP };

static const struct option options[] = {
    {"list", no_argument, NULL, LIST},
    {"without", required_argument, NULL, WITHOUT},
    {"only", required_argument, NULL, ONLY},
    {"ready", required_argument, NULL, READY},
    {"wait", required_argument, NULL, WAIT},
    {"signal", required_argument, NULL, SIGNAL},
    {"speak", no_argument, NULL, SPEAK},
    {"tones", no_argument, NULL, TONES},
    {"click-volume", required_argument, NULL, CLICK_VOLUME},
    {"input", required_argument, NULL, SR_OPTION_INPUT},
    {"output", required_argument, NULL, SR_OPTION_OUTPUT},
    {"channel", required_argument, NULL, SR_OPTION_CHANNEL},
    {"no-keep", no_argument, NULL, NO_KEEP},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/// Mark the item of a number.
static int
read_item(const char* const option, const char* const text, bool* const items)
{
  unsigned number = 0;
  const int trouble = sr_option_count(name, option, 1, SR_TODAY_MOST, text, &number);
  if (!trouble) {
    items[number - 1] = true;
  }
  return trouble;
}

static int
read_option(const int option, Request* const request)
{
  SrSessionSettings* const session = &request->options.session;
  switch (option) {
  case LIST:
    request->list = true;
    break;
  case WITHOUT:
    return read_item("--without", optarg, request->without);
  case ONLY:
    return read_item("--only", optarg, request->only);
  case READY:
    return sr_option_note(name, "--ready", optarg, &session->ready_midi);
  case WAIT:
    return sr_option_number(name, "--wait", "seconds", optarg, 0.0, 600.0, &session->start_wait_s);
  case SIGNAL:
    return sr_option_note(name, "--signal", optarg, &session->signal_midi);
  case SPEAK:
    return sr_option_speak(name, &request->options.speak);
  case TONES:
    session->tones = true;
    break;
  case CLICK_VOLUME:
    return sr_option_click_volume(name, optarg, &session->click_volume);
  case SR_OPTION_INPUT:
  case SR_OPTION_OUTPUT:
  case SR_OPTION_CHANNEL:
    return sr_device_option(name, option, optarg, &session->stream);
  case NO_KEEP:
    session->keeping = SR_KEEP_NOTHING;
    break;
  default:
    break;
  }
  return 0;
}

/// Read options. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  *request = (Request){
      .options = {.session = sr_session_settings_default(), .plan = sr_plan_options_none()}};
  sr_today_settings(&request->options.session);
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":h", options, NULL)) != -1) {
    switch (option) {
    case 'h':
      sr_say_help(stdout, sr_help_today);
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
  if (!trouble && optind < count) {
    return sr_say_usage(name, "this command takes no files; `steadyreed practise PHRASE` practises "
                              "one.");
  }
  return trouble;
}

static void
say_gone(const SrTodaySources* const sources)
{
  for (size_t i = 0; i < sources->gone_count && i < MOST_NAMED; ++i) {
    sr_say_indented(stderr, 2,
                    "Note: left out, since it is not there any more, or not readable: %s",
                    sources->gone[i]);
  }
  if (sources->gone_count > MOST_NAMED) {
    sr_say_indented(stderr, 2, "Note: and so are %zu more.", sources->gone_count - MOST_NAMED);
  }
}

static double
pause_min(const Request* const request)
{
  return request->options.session.start_wait_s / 60.0;
}

/// "3", or "2.5".
static const char*
minutes_words(const double minutes, char words[16])
{
  const double halves = round(2.0 * minutes) / 2.0;
  snprintf(words, 16, floor(halves) == halves ? "%.0f" : "%.1f", halves);
  return words;
}

static void
say_item(const SrTodaySources* const sources, const Day* const day, const size_t index)
{
  const SrTodayItem* const item = &day->items[index];
  const SrTodayPlayed* const today = &day->today[index];
  const SrLadderTempo tempo = sr_today_tempo(sources, item);
  char title[SR_TODAY_NAME_SIZE];
  char why[SR_TODAY_WHY_SIZE];
  char task[SR_TODAY_TASK_SIZE];
  char time[16];
  sr_say_indented(stdout, 12, "%3zu  %3s min  %s: %s", index + 1,
                  minutes_words(item->minutes, time), sr_today_name(sources, item, title),
                  sr_today_task(item->kind, &tempo, task));
  if (today->rounds == 0 || item->reason != SR_TODAY_NEW) {
    sr_say_indented(stdout, 14, "              %s", sr_today_why(item, why));
  }
  if (today->rounds > 0) {
    sr_say_indented(stdout, 14, "              %s today, %u round%s",
                    today->done ? "done" : "begun", today->rounds, today->rounds == 1 ? "" : "s");
  }
}

static void
list_items(const Request* const request, const SrTodaySources* const sources, const Day* const day)
{
  double minutes = 0.0;
  for (size_t i = 0; i < day->count; ++i) {
    minutes += day->played[i] ? day->items[i].minutes + pause_min(request) : 0.0;
  }
  char time[16];
  sr_say_indented(stdout, 2,
                  day->all_done    ? "All of today is done; once more, %s minutes with the pauses:"
                  : day->some_done ? "For today, %s minutes are left, with the pauses:"
                                   : "For today, %s minutes with the pauses:",
                  minutes_words(minutes, time));
  for (size_t i = 0; i < day->count; ++i) {
    if (day->shown[i]) {
      say_item(sources, day, i);
    }
  }
}

static bool
names_items(const Request* const request)
{
  bool any = false;
  for (size_t i = 0; i < SR_TODAY_MOST; ++i) {
    any = any || request->only[i];
  }
  return any;
}

/// Decide what is shown and played of the items: what is done is left out, unless it was named, or
/// all of it is done. Whether anything is left.
static bool
sort_out(const Request* const request, const SrTodaySources* const sources, const int today,
         Day* const day)
{
  const bool named = names_items(request);
  size_t shown = 0;
  size_t done = 0;
  for (size_t i = 0; i < day->count; ++i) {
    day->today[i] = sr_today_played(sources, &day->items[i], today);
    day->items[i].today = sr_today_in_longer(sources, &day->items[i], today);
    day->shown[i] = !request->without[i] && (!named || request->only[i]);
    shown += day->shown[i] ? 1 : 0;
    done += day->shown[i] && day->today[i].done ? 1 : 0;
  }
  day->all_done = !named && done == shown;
  day->some_done = !named && done > 0 && done < shown;
  for (size_t i = 0; i < day->count; ++i) {
    day->played[i] = day->shown[i] && !(day->some_done && day->today[i].done);
  }
  return shown > 0;
}

/// Report a number that no item has. 0, or an exit status.
static int
check_numbers(const Request* const request, const size_t count)
{
  for (size_t i = count; i < SR_TODAY_MOST; ++i) {
    if (request->only[i] || request->without[i]) {
      return sr_say_usage(name, "there is no item %zu today; --list shows them.", i + 1);
    }
  }
  return 0;
}

/// List or play what is wanted of the items.
static int
go(Request* const request, const SrTodaySources* const sources, const int today, Day* const day)
{
  if (!sort_out(request, sources, today, day)) {
    sr_say_line("steadyreed: That leaves nothing to practise.");
    return SR_EXIT_NOT_JUDGED;
  }
  list_items(request, sources, day);
  if (request->list) {
    return SR_EXIT_DONE;
  }
  SrTodayItem chosen[SR_TODAY_MOST];
  size_t chosen_count = 0;
  for (size_t i = 0; i < day->count; ++i) {
    if (day->played[i]) {
      chosen[chosen_count++] = day->items[i];
    }
  }
  sr_say_text(stdout, "\n");
  sr_plan_options_recall(&request->options.plan);
  return sr_today_play(sources, chosen, chosen_count, &request->options);
}

int
sr_command_today(const int count, char** const arguments)
{
  Request request;
  int status = read_request(count, arguments, &request);
  if (status) {
    sr_plan_options_clear(&request.options.plan);
    return status < 0 ? sr_say_flush(stdout, "standard output") : status;
  }
  const int today = sr_moment_day(sr_moment_now());
  SrTodaySources sources;
  Day day = {.count = 0};
  SrError error = {0};
  status = SR_EXIT_NOT_JUDGED;
  if (sr_today_sources_gather(today, &sources, &error) != SR_OK ||
      sr_today_choose(sources.sources, sources.count, today, day.items, &day.count, &error) !=
          SR_OK) {
    sr_say_error(&error);
  } else {
    if (sources.trouble.status != SR_OK) {
      sr_say_error(&sources.trouble);
    }
    say_gone(&sources);
    status = check_numbers(&request, day.count);
    status = status ? status : go(&request, &sources, today, &day);
  }
  sr_today_sources_clear(&sources);
  sr_plan_options_clear(&request.options.plan);
  const int written = sr_say_flush(stdout, "standard output");
  return status ? status : written;
}
