// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "guard.h"
#include "hands_free.h"
#include "help.h"
#include "say.h"
#include "terminal_view.h"
#include "values.h"

#include <steadyreed/click.h>
#include <steadyreed/free.h>
#include <steadyreed/plan.h>
#include <steadyreed/setup.h>
#include <steadyreed/sound.h>
#include <steadyreed/stream.h>

#include <getopt.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static const char name[] = "setup";

#define CHUNK 1024u
#define WAIT_S 0.05
/// How long the room and the player are listened to, s.
#define ROOM_S 3.0
#define LOUD_S 5.0
/// The sound that is timed: so many clicks, so far apart, s. Their pattern comes only once.
#define PROBE_CLICKS 4u
static const double probe_at_s[PROBE_CLICKS] = {0.0, 0.11, 0.29, 0.37};
#define PROBE_S 0.5
#define PROBE_LEVEL 0.3f
/// It is waited for so long, s.
#define PROBE_WAIT_S (PROBE_S + SR_MOST_ROUND_TRIP_S + 2.5)
#define TIMES 3u
/// A peak so many times the next one is an arrival.
#define SURE 1.5
/// Round trips that differ by more than this, s, say nothing of ahead and behind.
#define MOST_SPREAD_S 0.010
/// Reeds are listened to until so long a silence, s; before the first one so long.
#define REEDS_SILENCE_S 12.0
#define REEDS_FIRST_S 60.0
/// Levels worth a word, dBFS (common practice, no source).
#define FLOOR_HIGH_DB (-45.0)
#define PEAK_HIGH_DB (-3.0)
#define PEAK_LOW_DB (-30.0)

typedef enum { EVERYTHING, ROOM_ONLY, LATENCY_ONLY, REEDS_ONLY, BELLOWS_ONLY } Part;

typedef struct {
  SrStreamSettings stream;
  Part part;
  bool show;
} Request;

enum { INPUT = 256, OUTPUT, CHANNEL, ONLY, SHOW };

static const struct option options[] = {
    {"input", required_argument, NULL, INPUT},
    {"output", required_argument, NULL, OUTPUT},
    {"channel", required_argument, NULL, CHANNEL},
    {"only", required_argument, NULL, ONLY},
    {"show", no_argument, NULL, SHOW},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

static int
read_part(const char* const text, Part* const part)
{
  static const char* const names[] = {"", "room", "latency", "reeds", "bellows"};
  for (int i = 1; i < 5; ++i) {
    if (!strcmp(text, names[i])) {
      *part = (Part)i;
      return 0;
    }
  }
  return sr_say_usage(
      name, "--only takes room, latency, reeds or bellows; \"%s\" is none of these.", text);
}

/// Read options. 0 to go on, -1 if help was given, else an exit status.
static int
read_request(const int count, char** const arguments, Request* const request)
{
  memset(request, 0, sizeof(*request));
  opterr = 0;
  optind = 1;
  int option;
  int trouble = 0;
  while (!trouble && (option = getopt_long(count, arguments, ":h", options, NULL)) != -1) {
    switch (option) {
    case INPUT:
      request->stream.input = optarg;
      break;
    case OUTPUT:
      request->stream.output = optarg;
      break;
    case CHANNEL:
      if (!sr_value_integer(optarg, 1, 256, &request->stream.channel)) {
        trouble = sr_say_usage(
            name, "--channel takes a whole number from 1 to 256; \"%s\" is none.", optarg);
      }
      break;
    case ONLY:
      trouble = read_part(optarg, &request->part);
      break;
    case SHOW:
      request->show = true;
      break;
    case 'h':
      sr_say_help(stdout, sr_help_setup);
      return -1;
    default:
      trouble = sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
      break;
    }
  }
  if (!trouble && optind < count) {
    trouble = sr_say_usage(name, "it takes no files.");
  }
  return trouble;
}

/// Wait for Return, if somebody sits there; false if an end was asked for.
static bool
wait_for_return(const char* const words)
{
  sr_say_paragraph(stdout, 3, words);
  if (!isatty(STDIN_FILENO)) {
    return !sr_hands_free_asked();
  }
  sr_say_text(stdout, "   Press Return to begin.\n");
  fflush(stdout);
  tcflush(STDIN_FILENO, TCIFLUSH); // what was typed before was not meant for this
  char line[64];
  if (!fgets(line, sizeof(line), stdin)) {
    return false;
  }
  bool ends = line[0] == 'q' && (line[1] == '\n' || !line[1]);
  while (!strchr(line, '\n') && fgets(line, sizeof(line), stdin)) {
    ends = false;
  }
  if (ends) {
    sr_hands_free_ask();
  }
  return !sr_hands_free_asked();
}

static SrStatus
open_stream(const SrStreamSettings* const settings, const bool with_output, SrStream** const stream,
            SrError* const error)
{
  SrStreamSettings own = *settings;
  own.with_output = with_output;
  sr_guard_begin("steadyreed: The sound system of this computer is not set up (ALSA names no "
                 "device).\n",
                 SR_EXIT_DEVICE);
  SrStatus status = sr_stream_new(&own, stream, error);
  sr_guard_end();
  if (status == SR_OK) {
    status = sr_stream_start(*stream, error);
  }
  return status;
}

// The room and the level -------------------------------------------------------------------

/// What is measured of a stretch of sound.
typedef struct {
  double rms_dbfs;
  double peak_dbfs;
  bool overdriven;
} Loudness;

static SrStatus
measure_loudness(SrStream* const stream, SrTerminalView* const view, const double seconds,
                 Loudness* const loudness, SrError* const error)
{
  float samples[CHUNK];
  const uint64_t wanted = (uint64_t)(seconds * sr_stream_rate_hz(stream));
  uint64_t read = 0;
  double squares = 0.0;
  float peak = 0.0f;
  float moment = 0.0f;
  unsigned full = 0;
  memset(loudness, 0, sizeof(*loudness));
  SrStatus status = SR_OK;
  while (status == SR_OK && read < wanted && !sr_hands_free_asked()) {
    status = sr_stream_wait(stream, WAIT_S, error);
    const size_t count = status == SR_OK ? sr_stream_read(stream, samples, CHUNK) : 0;
    for (size_t i = 0; i < count; ++i) {
      const float x = isfinite(samples[i]) ? fabsf(samples[i]) : 0.0f;
      squares += (double)(x * x);
      moment = fmaxf(moment, x);
      full = x > 0.999f ? full + 1 : 0;
      loudness->overdriven = loudness->overdriven || full >= 3;
    }
    read += count;
    peak = fmaxf(peak, moment);
    if (count) {
      sr_view_level(view, 20.0 * log10((double)moment + 1e-9));
      moment *= 0.8f;
    }
  }
  loudness->rms_dbfs = 10.0 * log10(squares / fmax(1.0, (double)read) + 1e-12);
  loudness->peak_dbfs = 20.0 * log10((double)peak + 1e-9);
  return status;
}

static SrStatus
measure_room(const Request* const request, SrTerminalView* const view, SrSetup* const setup,
             SrError* const error)
{
  if (!wait_for_return("1. The room: leave the box alone and be quiet for three seconds.")) {
    return SR_OK;
  }
  SrStream* stream = NULL;
  Loudness room = {0};
  Loudness loud = {0};
  SrStatus status = open_stream(&request->stream, false, &stream, error);
  if (status == SR_OK) {
    status = measure_loudness(stream, view, ROOM_S, &room, error);
  }
  if (status == SR_OK && sr_hands_free_asked()) {
    sr_stream_del(stream);
    return status;
  }
  if (status == SR_OK && room.peak_dbfs < 20.0 * log10((double)SR_DEAD_LEVEL)) {
    sr_view_dead_input(view, sr_stream_input_name(stream));
    sr_stream_del(stream);
    return status;
  }
  if (status == SR_OK) {
    setup->floor_dbfs = room.rms_dbfs;
    sr_view_say(view, "   It lies at %.0f dB under full scale%s", -room.rms_dbfs,
                room.rms_dbfs > FLOOR_HIGH_DB
                    ? ": a noisy place or input. A fan, an open window, a gain too high?"
                    : ", quiet enough.");
    sr_view_say(view, "   Now play as loud as you ever will, for five seconds.");
    status = measure_loudness(stream, view, LOUD_S, &loud, error);
  }
  if (status == SR_OK) {
    const char* words = ", good.";
    if (loud.overdriven || loud.peak_dbfs > PEAK_HIGH_DB) {
      words = ": overdriven.\n   Turn the input down, or go further from the microphone.";
    } else if (loud.peak_dbfs < room.peak_dbfs + 6.0) {
      words = ": nothing stands out\n   of the room. Is this the right input?";
    } else if (loud.peak_dbfs < PEAK_LOW_DB) {
      words = ": quiet.\n   Turn the input up, or go nearer, to some 30 cm.";
    }
    sr_view_say(view, "   The loudest moment was %.0f dB under full scale%s", fabs(loud.peak_dbfs),
                words);
  }
  sr_stream_del(stream);
  return status;
}

// The round trip -----------------------------------------------------------------------------

/// The sound that is timed; free() it. NULL without memory.
static float*
make_probe(const double rate_hz, size_t* const count)
{
  *count = (size_t)(PROBE_S * rate_hz);
  const size_t click_count = sr_sound_click(rate_hz, true, NULL, 0);
  float* const probe = (float*)calloc(*count, sizeof(float));
  float* const click = (float*)calloc(click_count + 1, sizeof(float));
  if (probe && click) {
    sr_sound_click(rate_hz, true, click, click_count);
    for (size_t c = 0; c < PROBE_CLICKS; ++c) {
      const size_t at = (size_t)(probe_at_s[c] * rate_hz);
      for (size_t i = 0; i < click_count && at + i < *count; ++i) {
        probe[at + i] += 2.0f * PROBE_LEVEL * click[i];
      }
    }
  }
  free(click);
  return probe;
}

/// Play the probe once on a stream opened anew; `seconds` stays NAN if it was not heard.
static SrStatus
time_once(const Request* const request, double* const seconds, SrSetup* const setup,
          SrError* const error)
{
  *seconds = (double)NAN;
  SrStream* stream = NULL;
  SrStatus status = open_stream(&request->stream, true, &stream, error);
  if (status != SR_OK) {
    sr_stream_del(stream);
    return status;
  }
  const double rate_hz = sr_stream_rate_hz(stream);
  snprintf(setup->input, sizeof(setup->input), "%s", sr_stream_input_name(stream));
  snprintf(setup->output, sizeof(setup->output), "%s", sr_stream_output_name(stream));
  size_t probe_count = 0;
  float* const probe = make_probe(rate_hz, &probe_count);
  const size_t most = (size_t)(PROBE_WAIT_S * rate_hz);
  float* const recorded = (float*)calloc(most, sizeof(float));
  if (!probe || !recorded) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to measure.");
  } else {
    sr_stream_play(stream, probe, probe_count);
  }
  size_t read = 0;
  while (status == SR_OK && read < most && !sr_hands_free_asked()) {
    status = sr_stream_wait(stream, WAIT_S, error);
    read += status == SR_OK ? sr_stream_read(stream, recorded + read, most - read) : 0;
  }
  for (size_t i = 0; recorded && i < read; ++i) {
    recorded[i] = isfinite(recorded[i]) ? recorded[i] : 0.0f;
  }
  uint64_t began = 0;
  double samples = (double)NAN;
  double sureness = 0.0;
  if (status == SR_OK && sr_stream_play_began(stream, &began) && began < read) {
    status = sr_round_trip_measure(recorded + began, read - (size_t)began, probe, probe_count,
                                   &samples, &sureness, error);
  }
  if (status == SR_OK && sureness >= SURE) {
    *seconds = samples / rate_hz;
  }
  free(probe);
  free(recorded);
  sr_stream_del(stream);
  return status;
}

static int
compare(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

static SrStatus
measure_latency(const Request* const request, SrTerminalView* const view, SrSetup* const setup,
                SrError* const error)
{
  if (!wait_for_return("2. The headphones: hold one side to the microphone, the volume as you "
                       "practise "
                       "with, not louder. Four ticks come, three times.")) {
    return SR_OK;
  }
  double times[TIMES];
  size_t heard = 0;
  for (size_t i = 0; i < TIMES && !sr_hands_free_asked(); ++i) {
    double seconds;
    const SrStatus status = time_once(request, &seconds, setup, error);
    if (status != SR_OK) {
      return status;
    }
    if (isfinite(seconds)) {
      sr_view_say(view, "   %zu: %.1f ms", i + 1, 1e3 * seconds);
      times[heard++] = seconds;
    } else {
      sr_view_say(view, "   %zu: not heard in the microphone", i + 1);
    }
  }
  if (sr_hands_free_asked()) {
    return SR_OK;
  }
  setup->round_trip_s = (double)NAN;
  setup->round_trip_spread_s = (double)NAN;
  if (heard < TIMES) {
    sr_view_paragraph(view, 3,
                      "   So it is not known how late you hear the click, and nothing will be said "
                      "of ahead and behind. Nearer, or a little louder?");
    return SR_OK;
  }
  qsort(times, heard, sizeof(double), compare);
  setup->round_trip_s = times[TIMES / 2];
  setup->round_trip_spread_s = times[TIMES - 1] - times[0];
  sr_view_say(view,
              "   From the click to the microphone it takes %.1f ms; the three differ by %.1f.",
              1e3 * setup->round_trip_s, 1e3 * setup->round_trip_spread_s);
  if (setup->round_trip_spread_s > MOST_SPREAD_S) {
    sr_view_paragraph(view, 3,
                      "   That is too much to say whether you are ahead or behind; how far you "
                      "scatter is told all the same.");
    setup->round_trip_s = (double)NAN;
  }
  return SR_OK;
}

// The reeds ----------------------------------------------------------------------------------

/// Name of a note, sharps as "#", so that columns stand under one another.
static const char*
note_name(const int midi, char text[SR_MIDI_NAME_SIZE])
{
  return sr_show_midi_name(midi, &(SrShowStyle){0}, text);
}

/// Tell a note that was played: how long, and how far it is from equal temperament on the A known
/// by now.
static void
say_reed(SrTerminalView* const view, const SrFreeNote* const note)
{
  char text[SR_MIDI_NAME_SIZE];
  char cents[32] = "";
  if (isfinite(note->cents)) {
    const long whole = lround(note->cents);
    snprintf(cents, sizeof(cents), whole ? "  %+3ld cents" : "  %3ld cents", whole);
  }
  sr_view_say(view, "   %-4s %5.2f s%s", note_name(note->midi, text), note->end_s - note->onset_s,
              cents);
}

static SrStatus
learn_reeds(const Request* const request, SrTerminalView* const view, SrSetup* const setup,
            SrError* const error)
{
  if (!wait_for_return("3. The reeds: play each note once, alone, for about a second, from the "
                       "lowest to the "
                       "highest; press or draw, as it comes. A silence of 12 s "
                       "after one ends it.")) {
    return SR_OK;
  }
  SrStream* stream = NULL;
  SrFree* listener = NULL;
  SrStatus status = open_stream(&request->stream, false, &stream, error);
  const double rate_hz = status == SR_OK ? sr_stream_rate_hz(stream) : 48000.0;
  if (status == SR_OK) {
    status = sr_free_new(rate_hz, NULL, &listener, error);
  }
  float samples[CHUNK];
  uint64_t read = 0;
  double last_s = 0.0;
  bool any = false;
  while (status == SR_OK && !sr_hands_free_asked()) {
    status = sr_stream_wait(stream, WAIT_S, error);
    size_t count;
    while (status == SR_OK && (count = sr_stream_read(stream, samples, CHUNK)) > 0 &&
           !sr_hands_free_asked()) {
      status = sr_free_push(listener, samples, count, error);
      read += count;
    }
    SrFreeNote note;
    while (status == SR_OK && sr_free_pull(listener, &note)) {
      any = true;
      say_reed(view, &note);
    }
    const double now_s = (double)read / rate_hz;
    last_s = listener && sr_free_sounds(listener) ? now_s : last_s;
    if (now_s - last_s > (any ? REEDS_SILENCE_S : REEDS_FIRST_S)) {
      break;
    }
  }
  if (status == SR_OK && !any && !sr_hands_free_asked()) {
    sr_view_say(view, "   No note was heard; what is known of the reeds stays as it was.");
  }
  if (status == SR_OK && any && !sr_hands_free_asked()) {
    SrProfile* learnt = NULL;
    status = sr_free_learn(listener, &learnt, error);
    if (status == SR_OK) {
      sr_profile_del(setup->profile);
      setup->profile = learnt;
    }
  }
  sr_free_del(listener);
  sr_stream_del(stream);
  return status;
}

// The bellows --------------------------------------------------------------------------------

/// Shorter than this, s, no note is a whole stroke of the bellows.
#define LEAST_STROKE_S 3.0
#define MOST_STROKES 12u

static SrStatus
measure_bellows(const Request* const request, SrTerminalView* const view, SrSetup* const setup,
                SrError* const error)
{
  if (!wait_for_return(
          "4. The bellows: from shut, draw one note until they are full, as loud as you "
          "play; "
          "then press the same note, or another, until they are shut. Do so on "
          "a low, a "
          "middle and a high note. A silence of 12 s after one ends it.")) {
    return SR_OK;
  }
  SrStroke strokes[MOST_STROKES];
  size_t count = 0;
  SrStream* stream = NULL;
  SrFree* listener = NULL;
  SrStatus status = open_stream(&request->stream, false, &stream, error);
  const double rate_hz = status == SR_OK ? sr_stream_rate_hz(stream) : 48000.0;
  if (status == SR_OK) {
    status = sr_free_new(rate_hz, setup->profile, &listener, error);
  }
  float samples[CHUNK];
  uint64_t read = 0;
  double last_s = 0.0;
  while (status == SR_OK && count < MOST_STROKES && !sr_hands_free_asked()) {
    status = sr_stream_wait(stream, WAIT_S, error);
    size_t got;
    while (status == SR_OK && (got = sr_stream_read(stream, samples, CHUNK)) > 0 &&
           !sr_hands_free_asked()) {
      status = sr_free_push(listener, samples, got, error);
      read += got;
    }
    SrFreeNote note;
    while (status == SR_OK && sr_free_pull(listener, &note) && count < MOST_STROKES) {
      char text[SR_MIDI_NAME_SIZE];
      const double seconds = note.end_s - note.onset_s;
      if (seconds >= LEAST_STROKE_S) {
        sr_view_say(view, "   %-4s %5.1f s", note_name(note.midi, text), seconds);
        strokes[count++] = (SrStroke){note.midi, seconds};
      }
    }
    const double now_s = (double)read / rate_hz;
    last_s = listener && sr_free_sounds(listener) ? now_s : last_s;
    if (now_s - last_s > (count ? REEDS_SILENCE_S : REEDS_FIRST_S)) {
      break;
    }
  }
  SrBellows bellows = sr_bellows_default();
  double uncertainty;
  if (status == SR_OK && sr_hands_free_asked()) {
    count = 0;
  }
  if (status == SR_OK && count && sr_bellows_fit(strokes, count, &bellows, &uncertainty) == SR_OK) {
    setup->bellows_at_a4 = bellows.at_a4;
    setup->bellows_power = bellows.octave_power;
    setup->bellows_uncertainty = uncertainty;
  } else if (status == SR_OK) {
    sr_view_say(view, "   No note was held for %.0f s, so the bellows stay as they were.",
                LEAST_STROKE_S);
  }
  sr_free_del(listener);
  sr_stream_del(stream);
  return status;
}

/// Columns of a reed in the table, and most of them on a line.
#define REED_COLUMNS 10
#define REEDS_BESIDE 7

static void
show_reeds(const SrProfile* const profile)
{
  const size_t columns = sr_say_columns(stdout);
  const size_t fitting = columns / REED_COLUMNS;
  const size_t most = columns && fitting < REEDS_BESIDE ? fitting : REEDS_BESIDE;
  size_t shown = 0;
  for (int midi = SR_LOWEST_MIDI; midi <= SR_HIGHEST_MIDI; ++midi) {
    double cents;
    char text[SR_MIDI_NAME_SIZE];
    if (sr_profile_reed(profile, midi, &cents)) {
      printf("%s%4s %+3.0f", shown % most == 0 ? (shown ? "\n  " : "  ") : "  ",
             sr_show_midi_name(midi, &(SrShowStyle){0}, text), cents);
      ++shown;
    }
  }
  putchar('\n');
}

static void
show_bellows(const SrSetup* const setup)
{
  if (!isfinite(setup->bellows_at_a4)) {
    sr_say_text(stdout, "Bellows: not measured; plans go by 15 s from shut to full for an A4.\n");
    return;
  }
  char differ[64] = "";
  if (isfinite(setup->bellows_uncertainty)) {
    snprintf(differ, sizeof(differ), ", single strokes differ by %.0f %%",
             100.0 * setup->bellows_uncertainty);
  }
  sr_say_format(stdout, "Bellows: an A4 lasts %.1f s from shut to full%s.\n",
                SR_BELLOWS_UNITS / setup->bellows_at_a4, differ);
}

static void
show(const SrSetup* const setup)
{
  if (isfinite(setup->floor_dbfs)) {
    sr_say_format(stdout, "Room: %.0f dB under full scale.\n", -setup->floor_dbfs);
  }
  if (isfinite(setup->round_trip_s)) {
    sr_say_format(stdout, "Click to microphone: %.1f ms, sure within %.1f (%s and %s).\n",
                  1e3 * setup->round_trip_s, 1e3 * setup->round_trip_spread_s, setup->output,
                  setup->input);
  } else {
    sr_say_paragraph(stdout, 2,
                     "Click to microphone: not measured; on headphones nothing is said of ahead "
                     "and behind.");
  }
  show_bellows(setup);
  if (!setup->profile) {
    sr_say_text(stdout, "Reeds: not known yet; each practice learns them as it goes.\n");
    return;
  }
  sr_say_format(stdout, "Reeds: A is %.1f Hz. Cents off equal temperament:\n",
                sr_profile_reference_hz(setup->profile));
  show_reeds(setup->profile);
}

int
sr_command_setup(const int count, char** arguments)
{
  Request request;
  const int trouble = read_request(count, arguments, &request);
  if (trouble) {
    return trouble < 0 ? sr_say_flush(stdout, "standard output") : trouble;
  }
  SrSetup setup;
  sr_say_setup(&setup);
  SrError error = {0};
  SrStatus status = SR_OK;
  SrTerminalView view = sr_terminal_view(stdout, NULL, false, false);
  if (!request.show) {
    typedef SrStatus (*Step)(const Request*, SrTerminalView*, SrSetup*, SrError*);
    static const Step steps[] = {measure_room, measure_latency, learn_reeds, measure_bellows};
    sr_signals_begin();
    sr_say_text(stdout, "Keep the volume low to begin with, above all on headphones.\n");
    for (size_t i = 0; i < 4 && status == SR_OK && !sr_hands_free_asked(); ++i) {
      if (request.part == EVERYTHING || (size_t)request.part == i + 1) {
        status = steps[i](&request, &view, &setup, &error);
        if (status == SR_OK && !sr_hands_free_asked()) {
          status = sr_setup_write(&setup, &error);
        }
      }
    }
    sr_hands_free_end();
    putchar('\n');
  }
  if (status == SR_OK) {
    show(&setup);
  } else {
    sr_say_error(&error);
  }
  sr_setup_clear(&setup);
  const int written = sr_say_flush(stdout, "standard output");
  if (status != SR_OK) {
    return status == SR_NO_MEMORY ? SR_EXIT_NOT_JUDGED : SR_EXIT_DEVICE;
  }
  return written;
}
