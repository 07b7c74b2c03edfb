// SPDX-License-Identifier: GPL-3.0-or-later

#include "practise_options.h"

#include "device_options.h"
#include "help.h"
#include "option_values.h"
#include "phrase_options.h"
#include "say.h"

#include <getopt.h>
#include <math.h>
#include <string.h>

static const char name[] = "practise";

enum {
  LONG_CUT = 256,
  SILENT,
  CLICK_ON,
  CLICK_VOLUME,
  SILENT_BARS,
  ROUNDS,
  UNTIL_SILENCE,
  SIGNAL,
  DEVICES,
  NO_KEEP,
  KEEP_ALL,
  ALL,
  JSON,
  PLAIN,
  SPEAK,
  TONES,
  READY,
  WAIT,
  COUNT_IN,
  LADDER,
  LADDER_FROM,
  NO_LADDER,
  WRITE_DRILL,
  FORCE,
};

static const struct option options[] = {
    {"bars", required_argument, NULL, SR_OPTION_BARS},
    {"part", required_argument, NULL, SR_OPTION_PART},
    {"tune", required_argument, NULL, SR_OPTION_TUNE},
    {"transpose", required_argument, NULL, SR_OPTION_TRANSPOSE},
    {"tempo", required_argument, NULL, SR_OPTION_TEMPO},
    {"reference", required_argument, NULL, SR_OPTION_REFERENCE},
    {"long-cut", required_argument, NULL, LONG_CUT},
    {"silent", no_argument, NULL, SILENT},
    {"click-on", required_argument, NULL, CLICK_ON},
    {"click-volume", required_argument, NULL, CLICK_VOLUME},
    {"silent-bars", required_argument, NULL, SILENT_BARS},
    {"rounds", required_argument, NULL, ROUNDS},
    {"until-silence", required_argument, NULL, UNTIL_SILENCE},
    {"signal", required_argument, NULL, SIGNAL},
    {"instrument", required_argument, NULL, SR_OPTION_INSTRUMENT},
    {"style", required_argument, NULL, SR_OPTION_STYLE},
    {"open", required_argument, NULL, SR_OPTION_OPEN},
    {"pin", required_argument, NULL, SR_OPTION_PIN},
    {"input", required_argument, NULL, SR_OPTION_INPUT},
    {"output", required_argument, NULL, SR_OPTION_OUTPUT},
    {"channel", required_argument, NULL, SR_OPTION_CHANNEL},
    {"devices", no_argument, NULL, DEVICES},
    {"no-keep", no_argument, NULL, NO_KEEP},
    {"keep-all", no_argument, NULL, KEEP_ALL},
    {"all", no_argument, NULL, ALL},
    {"json", no_argument, NULL, JSON},
    {"plain", no_argument, NULL, PLAIN},
    {"speak", no_argument, NULL, SPEAK},
    {"tones", no_argument, NULL, TONES},
    {"ready", required_argument, NULL, READY},
    {"wait", required_argument, NULL, WAIT},
    {"count-in", required_argument, NULL, COUNT_IN},
    {"ladder", no_argument, NULL, LADDER},
    {"ladder-from", required_argument, NULL, LADDER_FROM},
    {"no-ladder", no_argument, NULL, NO_LADDER},
    {"write-drill", required_argument, NULL, WRITE_DRILL},
    {"force", no_argument, NULL, FORCE},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

static int
read_click_on(const char* const text, SrSessionSettings* const session)
{
  if (strcmp(text, "pulses") != 0 && strcmp(text, "bars") != 0) {
    return sr_say_usage(name, "--click-on takes pulses or bars, not \"%s\".", text);
  }
  session->click_bars = !strcmp(text, "bars");
  return 0;
}

static int
read_silent_bars(const char* const text, SrSessionSettings* const session)
{
  char first[16];
  const char* const colon = strchr(text, ':');
  const size_t length = colon ? (size_t)(colon - text) : 0;
  int on = 0;
  int off = 0;
  if (!strcmp(text, "none")) {
    session->on_bars = 0;
    session->off_bars = 0;
    return 0;
  }
  if (length > 0 && length < sizeof(first)) {
    memcpy(first, text, length);
    first[length] = '\0';
    if (sr_value_integer(first, 1, 64, &on) && sr_value_integer(colon + 1, 1, 64, &off)) {
      session->on_bars = (unsigned)on;
      session->off_bars = (unsigned)off;
      return 0;
    }
  }
  return sr_say_usage(
      name, "--silent-bars takes bars with the click and bars without, such as 4:4, not \"%s\".",
      text);
}

static int
read_ladder(const SrAssignedLadder wanted, SrNamed* const named)
{
  if (named->ladder && named->ladder != wanted) {
    return sr_say_usage(name, "choose one of --ladder and --no-ladder.");
  }
  named->ladder = wanted;
  return 0;
}

static int
read_count_in(const char* const text, SrSessionSettings* const session)
{
  if (strcmp(text, "once") != 0 && strcmp(text, "each") != 0) {
    return sr_say_usage(name, "--count-in takes once or each, not \"%s\".", text);
  }
  session->count_in_each = !strcmp(text, "each");
  return 0;
}

static int
read_keeping(const SrKeeping keeping, SrSessionSettings* const session)
{
  if (session->keeping != SR_KEEP_ROUNDS && session->keeping != keeping) {
    return sr_say_usage(name, "choose one of --no-keep and --keep-all.");
  }
  session->keeping = keeping;
  return 0;
}

/// Read one option specific to this command. 0, or an exit status.
static int
read_option(const int option, SrPractiseRequest* const request)
{
  SrSessionSettings* const session = &request->session;
  switch (option) {
  case SILENT:
    session->silent = true;
    break;
  case CLICK_ON:
    request->named.click_on = true;
    return read_click_on(optarg, session);
  case CLICK_VOLUME:
    return sr_option_click_volume(name, optarg, &session->click_volume);
  case SILENT_BARS:
    request->named.silent_bars = true;
    return read_silent_bars(optarg, session);
  case LADDER:
    return read_ladder(SR_ASSIGNED_LADDER_YES, &request->named);
  case NO_LADDER:
    return read_ladder(SR_ASSIGNED_LADDER_NO, &request->named);
  case WRITE_DRILL:
    request->write_drill = optarg;
    break;
  case FORCE:
    request->force = true;
    break;
  case ROUNDS:
    return sr_option_count(name, "--rounds", 1, 10000, optarg, &session->rounds);
  case UNTIL_SILENCE:
    request->until_silence = true;
    return sr_option_number(name, "--until-silence", "seconds", optarg, 3.0, 3600.0,
                            &session->silence_s);
  case SIGNAL:
    return sr_option_note(name, "--signal", optarg, &session->signal_midi);
  case READY:
    return sr_option_note(name, "--ready", optarg, &session->ready_midi);
  case WAIT:
    return sr_option_number(name, "--wait", "seconds", optarg, 0.0, 600.0, &session->start_wait_s);
  case COUNT_IN:
    return read_count_in(optarg, session);
  case LADDER_FROM:
    return sr_option_number(name, "--ladder-from", "pulses a minute", optarg, SR_LOWEST_TEMPO,
                            SR_HIGHEST_TEMPO, &request->ladder_from_bpm);
  case SR_OPTION_INSTRUMENT:
  case SR_OPTION_STYLE:
  case SR_OPTION_OPEN:
  case SR_OPTION_PIN:
    return sr_plan_option(name, option, optarg, &request->plan);
  case SR_OPTION_INPUT:
  case SR_OPTION_OUTPUT:
  case SR_OPTION_CHANNEL:
    return sr_device_option(name, option, optarg, &session->stream);
  case DEVICES:
    request->list_devices = true;
    break;
  case NO_KEEP:
    return read_keeping(SR_KEEP_NOTHING, session);
  case KEEP_ALL:
    return read_keeping(SR_KEEP_ALL, session);
  case ALL:
    request->all_notes = true;
    break;
  case JSON:
    request->json = true;
    break;
  case PLAIN:
    request->plain = true;
    break;
  case SPEAK:
    return sr_option_speak(name, &request->speak);
  case TONES:
    session->tones = true;
    break;
  default:
    break;
  }
  return 0;
}

static SrPractiseRequest
usual_request(void)
{
  return (SrPractiseRequest){.session = sr_session_settings_default(),
                             .plan = sr_plan_options_none(),
                             .ladder_from_bpm = (double)NAN};
}

/// Whether an option is meaningful only with a phrase.
static bool
needs_phrase(const int option)
{
  static const int of_phrase[] = {SR_OPTION_BARS,
                                  SR_OPTION_PART,
                                  SR_OPTION_TUNE,
                                  SR_OPTION_TRANSPOSE,
                                  SR_OPTION_TEMPO,
                                  CLICK_ON,
                                  CLICK_VOLUME,
                                  ROUNDS,
                                  SIGNAL,
                                  SR_OPTION_INSTRUMENT,
                                  SR_OPTION_STYLE,
                                  SR_OPTION_OPEN,
                                  SR_OPTION_PIN,
                                  KEEP_ALL,
                                  ALL,
                                  JSON,
                                  SILENT_BARS,
                                  SR_OPTION_REFERENCE,
                                  SPEAK,
                                  TONES,
                                  READY,
                                  WAIT,
                                  COUNT_IN,
                                  LADDER,
                                  LADDER_FROM,
                                  NO_LADDER,
                                  WRITE_DRILL};
  for (size_t i = 0; i < sizeof(of_phrase) / sizeof(of_phrase[0]); ++i) {
    if (option == of_phrase[i]) {
      return true;
    }
  }
  return false;
}

/// Whether an option says what --write-drill puts into a file.
static bool
goes_into_file(const int option)
{
  static const int of_file[] = {SR_OPTION_BARS, SR_OPTION_PART, SR_OPTION_TUNE, SR_OPTION_TEMPO,
                                SILENT,         CLICK_ON,       SILENT_BARS,    LADDER,
                                NO_LADDER,      WRITE_DRILL,    FORCE};
  for (size_t i = 0; i < sizeof(of_file) / sizeof(of_file[0]); ++i) {
    if (option == of_file[i]) {
      return true;
    }
  }
  return false;
}

/// Check what --write-drill can write. 0, or an exit status.
static int
check_write_drill(const SrPractiseRequest* const request)
{
  if (request->force && !request->write_drill) {
    return sr_say_usage(name, "--force goes with --write-drill.");
  }
  if (request->write_drill && request->not_in_file) {
    return sr_say_usage(name,
                        "--write-drill writes the tune, its bars or part, tempo, click and ladder; "
                        "--%s is for each player to choose.",
                        request->not_in_file);
  }
  const double bpm = request->session.judge.target_bpm;
  if (request->write_drill && isfinite(bpm) && bpm != floor(bpm)) {
    return sr_say_usage(name, "--write-drill takes a whole number of pulses a minute, not %g.",
                        bpm);
  }
  return 0;
}

bool
sr_practise_has_ladder(const SrPractiseRequest* const request)
{
  return request->named.ladder == SR_ASSIGNED_LADDER_YES;
}

int
sr_practise_options_read(const int count, char** const arguments, SrPractiseRequest* const request)
{
  *request = usual_request();
  SrJudgeSettings* const judge = &request->session.judge;
  const SrPhraseOptions of_phrase = {&request->choice, &judge->target_bpm, &judge->reference_hz};
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  int place = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":h", options, &place)) != -1) {
    request->of_phrase = needs_phrase(option) ? options[place].name : request->of_phrase;
    if (option >= LONG_CUT && !goes_into_file(option)) {
      request->not_in_file = options[place].name;
    }
    if (sr_phrase_option(name, option, optarg, &of_phrase, &trouble)) {
      request->named.place = request->named.place || sr_phrase_option_is_place(option);
      continue;
    }
    switch (option) {
    case LONG_CUT:
      trouble = sr_option_number(name, "--long-cut", "milliseconds", optarg, 20.0, 200.0,
                                 &judge->long_cut_ms);
      break;
    case 'h':
      sr_say_help(stdout, sr_help_practise);
      sr_say_help(stdout, sr_help_practise_more);
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
  if (trouble) {
    return trouble;
  }
  if (count - optind > 1) {
    return sr_say_usage(name, "name one phrase only.");
  }
  const SrSessionSettings* const session = &request->session;
  if (session->silent && (session->on_bars || session->stream.output)) {
    return sr_say_usage(name, "--silent has no click, so --silent-bars and --output do nothing.");
  }
  if (session->silent && session->tones) {
    return sr_say_usage(name, "--silent has no sound, so --tones does nothing.");
  }
  if (session->silent &&
      (session->ready_midi >= 0 || session->start_wait_s > 0.0 || session->count_in_each)) {
    return sr_say_usage(name, "--silent has no click, so --ready, --wait and --count-in each do "
                              "nothing.");
  }
  request->phrase_path = optind < count ? arguments[optind] : NULL;
  if (!request->phrase_path && !request->list_devices && request->of_phrase) {
    return sr_say_usage(name, "without a phrase --%s does nothing; name the phrase too.",
                        request->of_phrase);
  }
  if (isfinite(request->ladder_from_bpm) && !sr_practise_has_ladder(request)) {
    return sr_say_usage(name, "--ladder-from does nothing without --ladder.");
  }
  return check_write_drill(request);
}
