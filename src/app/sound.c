// SPDX-License-Identifier: GPL-3.0-or-later

#include "chosen_phrase.h"
#include "command.h"
#include "guard.h"
#include "help.h"
#include "option_values.h"
#include "phrase_options.h"
#include "say.h"
#include "sound_take.h"
#include "spare_inputs.h"

#include <steadyreed/audio.h>
#include <steadyreed/output.h>
#include <steadyreed/slow.h>
#include <steadyreed/sound.h>

#include <getopt.h>
#include <math.h>
#include <string.h>

static const char name[] = "sound";

/// Default sample rate of a file.
#define FILE_RATE_HZ 48000.0

typedef struct {
  SrPhraseChoice choice;
  SrSoundSettings settings;
  bool rate_asked;
  double speed;           ///< 1 as written or recorded
  SrTimes times;          ///< Of a recording
  const char* for_phrase; ///< The last option that goes with a phrase alone; NULL for none
  const char* output;     ///< NULL for the loudspeaker
  const char* phrase_path;
} Request;

enum { CLICK = 256, ROUNDS, RATE, SPEED, FROM, TO };

static const struct option options[] = {
    {"bars", required_argument, NULL, SR_OPTION_BARS},
    {"part", required_argument, NULL, SR_OPTION_PART},
    {"tune", required_argument, NULL, SR_OPTION_TUNE},
    {"transpose", required_argument, NULL, SR_OPTION_TRANSPOSE},
    {"tempo", required_argument, NULL, SR_OPTION_TEMPO},
    {"reference", required_argument, NULL, SR_OPTION_REFERENCE},
    {"click", no_argument, NULL, CLICK},
    {"rounds", required_argument, NULL, ROUNDS},
    {"rate", required_argument, NULL, RATE},
    {"speed", required_argument, NULL, SPEED},
    {"from", required_argument, NULL, FROM},
    {"to", required_argument, NULL, TO},
    {"output", required_argument, NULL, 'o'},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/// Whether an option goes with a phrase alone.
static bool
goes_with_phrase(const int option)
{
  return option == CLICK || option == ROUNDS || option >= SR_OPTION_BARS;
}

static int
read_rounds(const char* const text, unsigned* const rounds)
{
  int value = 0;
  if (!sr_value_integer(text, 1, 100, &value)) {
    return sr_say_usage(name, "--rounds takes a whole number from 1 to 100, not \"%s\".", text);
  }
  *rounds = (unsigned)value;
  return 0;
}

static int
read_rate(const char* const text, double* const rate_hz)
{
  int value = 0;
  if (!sr_value_integer(text, 16000, 192000, &value)) {
    return sr_say_usage(name,
                        "--rate takes a whole number of samples a second from 16000 to 192000, "
                        "such as 44100, not \"%s\".",
                        text);
  }
  *rate_hz = (double)value;
  return 0;
}

static int
read_speed(const char* const text, double* const speed)
{
  const size_t length = strlen(text);
  char number[16] = "";
  double percent = 0.0;
  if (length < sizeof(number)) {
    memcpy(number, text, length - (length > 0 && text[length - 1] == '%'));
  }
  if (!sr_value_number(number, 100.0 * SR_SLOWEST_SPEED, 100.0 * SR_FASTEST_SPEED, &percent)) {
    return sr_say_usage(name, "--speed takes percent from %g to %g, not \"%s\".",
                        100.0 * SR_SLOWEST_SPEED, 100.0 * SR_FASTEST_SPEED, text);
  }
  *speed = percent / 100.0;
  return 0;
}

/// What does not go together. 0, or an exit status.
static int
check_request(const Request* const request, const bool is_take)
{
  const SrTimes* const times = &request->times;
  if (times->to_s <= times->from_s) {
    return sr_say_usage(name, "--to must come after --from.");
  }
  if (is_take && request->for_phrase) {
    return sr_say_usage(name, "--%s is for a phrase, and this is a recording.",
                        request->for_phrase);
  }
  if (!is_take && (times->from_s > 0.0 || isfinite(times->to_s))) {
    return sr_say_usage(name,
                        "--from and --to are for a recording; of a phrase choose --bars A-B.");
  }
  if (!is_take && request->speed < 1.0 && !isnan(request->settings.tempo_bpm)) {
    return sr_say_usage(name, "give --tempo or --speed, not both.");
  }
  return 0;
}

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  memset(request, 0, sizeof(*request));
  SrSoundSettings* const settings = &request->settings;
  *settings = sr_sound_settings_default();
  settings->rate_hz = FILE_RATE_HZ;
  request->speed = 1.0;
  request->times.to_s = INFINITY;
  const SrPhraseOptions of_phrase = {&request->choice, &settings->tempo_bpm,
                                     &settings->reference_hz};
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  int place = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":ho:", options, &place)) != -1) {
    if (goes_with_phrase(option)) {
      request->for_phrase = options[place].name;
    }
    if (sr_phrase_option(name, option, optarg, &of_phrase, &trouble)) {
      continue;
    }
    switch (option) {
    case CLICK:
      settings->click = true;
      settings->count_in = true;
      break;
    case ROUNDS:
      trouble = read_rounds(optarg, &settings->rounds);
      break;
    case RATE:
      trouble = read_rate(optarg, &settings->rate_hz);
      request->rate_asked = true;
      break;
    case SPEED:
      trouble = read_speed(optarg, &request->speed);
      break;
    case FROM:
    case TO:
      trouble = sr_option_time(name, option == TO, optarg, &request->times);
      break;
    case 'o':
      request->output = optarg;
      break;
    case 'h':
      sr_say_help(stdout, sr_help_sound);
      return -1;
    default:
      trouble = sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
      break;
    }
  }
  if (trouble) {
    return trouble;
  }
  if (count - optind != 1) {
    return sr_say_usage(name, "name %s, such as `steadyreed sound jig.abc --bars 1-2`.",
                        count == optind ? "the phrase" : "one phrase only");
  }
  if (request->rate_asked && !request->output) {
    return sr_say_usage(
        name, "--rate is only for a file; the loudspeaker has its own rate. Add -o FILE.");
  }
  request->phrase_path = arguments[optind];
  return 0;
}

static size_t
read_sound(void* const context, float* const samples, const size_t count)
{
  return sr_sound_read(context, samples, count);
}

/// Describe in one line what will be heard. On standard error, to keep it separate from results.
static void
report(const Request* const request, const SrPhrase* const phrase, const double seconds)
{
  const double tempo =
      isnan(request->settings.tempo_bpm) ? sr_sound_tempo(phrase) : request->settings.tempo_bpm;
  sr_say_format(stderr, "%s %zu notes at %.0f pulses a minute, A = %.0f Hz, %.1f s%s%s\n",
                request->output ? "Writing" : "Playing", sr_phrase_note_count(phrase), tempo,
                request->settings.reference_hz, seconds, request->output ? ": " : "",
                request->output ? request->output : ". Ctrl-C stops.");
}

/// Render and write or play. Returns an exit status.
static int
let_hear(Request* const request, const SrPhrase* const phrase)
{
  SrError error = {0};
  SrPlayer* player = NULL;
  SrSound* sound = NULL;
  SrStatus outcome = SR_OK;
  if (!request->output) {
    sr_guard_begin("steadyreed: The sound system of this computer is not set up (ALSA lists no "
                   "device).\nUse -o FILE.wav to write the sound to a file instead.\n",
                   SR_EXIT_DEVICE);
    outcome = sr_player_new(NULL, &player, &error);
    sr_guard_end();
    if (outcome == SR_OK) {
      request->settings.rate_hz = sr_player_rate_hz(player);
    }
  }
  if (outcome == SR_OK) {
    outcome = sr_sound_new(phrase, &request->settings, &sound, &error);
  }
  if (outcome == SR_OK) {
    report(request, phrase, (double)sr_sound_length(sound) / request->settings.rate_hz);
    outcome = request->output ? sr_audio_write(request->output, request->settings.rate_hz,
                                               SR_SAMPLES_24_BIT, read_sound, sound, &error)
                              : sr_player_play(player, read_sound, sound, &error);
  }
  sr_sound_del(sound);
  sr_player_del(player);
  if (outcome == SR_OK) {
    return SR_EXIT_DONE;
  }
  sr_say_error(&error);
  if (outcome == SR_DEVICE_TROUBLE) {
    sr_say_line("Use -o FILE.wav to write the sound to a file instead.");
    return SR_EXIT_DEVICE;
  }
  return SR_EXIT_NOT_JUDGED;
}

int
sr_command_sound(const int count, char** arguments)
{
  Request request;
  const int trouble = read_request(count, arguments, &request);
  if (trouble) {
    return trouble < 0 ? sr_say_flush(stdout, "standard output") : trouble;
  }
  const int refused = sr_spare_inputs_or_say(request.output, NULL, &request.phrase_path, 1);
  if (refused) {
    return refused;
  }
  const bool is_take = sr_sound_take_is(request.phrase_path);
  const int mixed = check_request(&request, is_take);
  if (mixed) {
    return mixed;
  }
  if (is_take) {
    const SrTakeSound take = {request.phrase_path, request.times, request.speed,
                              request.rate_asked ? request.settings.rate_hz : (double)NAN,
                              request.output};
    return sr_sound_take(&take);
  }
  SrPhrase* const phrase = sr_chosen_phrase_read(request.phrase_path, &request.choice);
  if (!phrase) {
    return SR_EXIT_NOT_JUDGED;
  }
  if (request.speed < 1.0) {
    const double tempo = request.speed * sr_sound_tempo(phrase);
    request.settings.tempo_bpm = tempo < SR_SLOWEST_BPM ? SR_SLOWEST_BPM : tempo;
  }
  const int status = let_hear(&request, phrase);
  sr_phrase_del(phrase);
  return status;
}
