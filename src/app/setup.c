// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "device_names.h"
#include "guard.h"
#include "hands_free.h"
#include "help.h"
#include "option_values.h"
#include "say.h"
#include "session_run.h"
#include "setup_show.h"
#include "terminal_view.h"

#include <steadyreed/layout.h>
#include <steadyreed/plan.h>
#include <steadyreed/plan_wish.h>
#include <steadyreed/preferences.h>
#include <steadyreed/session.h>

#include <getopt.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static const char name[] = "setup";

/// Time for listening to the room and to the player, s.
#define ROOM_S 3.0
#define LOUD_S 5.0
/// Number of round-trip measurements.
#define TIMES 3u
/// If round trips differ by more than this, s, ahead and behind cannot be judged.
#define MOST_SPREAD_S 0.010
/// A silence of this length ends listening to the reeds, s; before the first reed, of this length.
#define REEDS_SILENCE_S 12.0
#define REEDS_FIRST_S 60.0
/// Levels that deserve a remark, dBFS (common practice, no source).
#define FLOOR_HIGH_DB (-45.0)
#define PEAK_HIGH_DB (-3.0)
#define PEAK_LOW_DB (-30.0)

typedef enum { EVERYTHING, ROOM_ONLY, LATENCY_ONLY, REEDS_ONLY, BELLOWS_ONLY } Part;

typedef struct {
  SrStreamSettings stream;
  Part part;
  bool show;
  bool forget;
} Request;

enum { INPUT = 256, OUTPUT, CHANNEL, ONLY, SHOW, FORGET };

static const struct option options[] = {
    {"input", required_argument, NULL, INPUT},
    {"output", required_argument, NULL, OUTPUT},
    {"channel", required_argument, NULL, CHANNEL},
    {"only", required_argument, NULL, ONLY},
    {"show", no_argument, NULL, SHOW},
    {"forget", no_argument, NULL, FORGET},
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
  return sr_say_usage(name, "--only takes room, latency, reeds or bellows, not \"%s\".", text);
}

/// Read options. 0 to continue, -1 if help was shown, otherwise an exit status.
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
        trouble =
            sr_say_usage(name, "--channel takes a whole number from 1 to 256, not \"%s\".", optarg);
      }
      break;
    case ONLY:
      trouble = read_part(optarg, &request->part);
      break;
    case SHOW:
      request->show = true;
      break;
    case FORGET:
      request->forget = true;
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
    trouble = sr_say_usage(name, "this command takes no files.");
  }
  if (!trouble && request->forget && (request->show || request->part != EVERYTHING)) {
    trouble = sr_say_usage(name, "--forget stands alone: it measures and shows nothing.");
  }
  return trouble;
}

/// Wait for Return if there is a terminal; false if an end was requested.
static bool
wait_for_return(const char* const words)
{
  sr_say_paragraph(stdout, 3, words);
  if (!isatty(STDIN_FILENO)) {
    return !sr_hands_free_asked();
  }
  sr_say_text(stdout, "   Press Return to start.\n");
  fflush(stdout);
  tcflush(STDIN_FILENO, TCIFLUSH); // discard earlier input
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

/// A step of the setup: exit status of an error, which was reported.
typedef int Step(const Request* request, SrTerminalView* terminal, SrSetup* setup);

/// Listen without a phrase; events go to `show`.
static int
listen(const Request* const request, const SrSetup* const setup, SrEventView* const show,
       void* const view, SrProfile** const profile)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.stream = request->stream;
  settings.setup = setup;
  settings.silence_s = REEDS_SILENCE_S;
  settings.first_wait_s = REEDS_FIRST_S;
  return sr_session_run(NULL, &settings, false, show, view, profile);
}

// The room and the level -------------------------------------------------------------------

/// Measurements of a stretch of sound.
typedef struct {
  double energy;
  uint64_t samples;
  float peak;
  bool overdriven;
} Loudness;

typedef struct {
  SrTerminalView* terminal;
  SrSetup* setup;
  char input[SR_DEVICE_NAME_SIZE];
  Loudness room;
  Loudness loud;
  double room_until_s; ///< 0 while the room is measured
  bool done;
} RoomView;

static double
dbfs(const float peak)
{
  return 20.0 * log10((double)peak + 1e-9);
}

static void
add_level(Loudness* const loudness, const SrSessionEvent* const event)
{
  loudness->energy += event->level.energy;
  loudness->samples += event->level.samples;
  loudness->peak = fmaxf(loudness->peak, event->level.peak);
  loudness->overdriven = loudness->overdriven || event->level.overdriven;
}

/// Report the room's level; false if there is no input at all.
static bool
report_room(RoomView* const v)
{
  if (v->room.peak < SR_DEAD_LEVEL) {
    sr_view_dead_input(v->terminal, v->input);
    return false;
  }
  const double rms_dbfs = 10.0 * log10(v->room.energy / fmax(1.0, (double)v->room.samples) + 1e-12);
  v->setup->floor_dbfs = rms_dbfs;
  sr_view_say(v->terminal, "   It is %.0f dB below full scale%s", -rms_dbfs,
              rms_dbfs > FLOOR_HIGH_DB ? ": noisy. A fan, an open window, the gain too high?"
                                       : ", quiet enough.");
  sr_view_say(v->terminal, "   Now play as loud as you ever do, for five seconds.");
  return true;
}

static void
report_loudest(const RoomView* const v)
{
  const double loudest_dbfs = dbfs(v->loud.peak);
  const char* words = ", good.";
  if (v->loud.overdriven || loudest_dbfs > PEAK_HIGH_DB) {
    words = ": overdriven.\n   Turn the input down, or move away from the microphone.";
  } else if (loudest_dbfs < dbfs(v->room.peak) + 6.0) {
    words = ": hardly louder\n   than the room. Is this the right input?";
  } else if (loudest_dbfs < PEAK_LOW_DB) {
    words = ": quiet.\n   Turn the input up, or move closer, to about 30 cm.";
  }
  sr_view_say(v->terminal, "   The loudest moment was %.0f dB below full scale%s",
              fabs(loudest_dbfs), words);
}

static bool
show_room(void* const data, SrSession* const session, const SrSessionEvent* const event)
{
  (void)session;
  RoomView* const v = (RoomView*)data;
  if (event->kind == SR_SESSION_TROUBLE) {
    sr_say_error(&event->trouble.error);
  } else if (event->kind == SR_SESSION_READY) {
    snprintf(v->input, sizeof(v->input), "%s", event->ready.input);
  } else if (event->kind == SR_SESSION_LEVEL && !v->done) {
    add_level(v->room_until_s > 0.0 ? &v->loud : &v->room, event);
    sr_view_level(v->terminal, dbfs(event->level.peak));
    if (v->room_until_s > 0.0) {
      v->done = event->at_s >= v->room_until_s + LOUD_S;
    } else if (event->at_s >= ROOM_S) {
      v->room_until_s = event->at_s;
      v->done = !report_room(v);
      return !v->done;
    }
    if (v->done) {
      report_loudest(v);
    }
  }
  return !v->done;
}

static int
measure_room(const Request* const request, SrTerminalView* const terminal, SrSetup* const setup)
{
  if (!wait_for_return("1. The room: leave the box alone and be quiet for three seconds.")) {
    return SR_EXIT_DONE;
  }
  RoomView view = {.terminal = terminal, .setup = setup};
  return listen(request, NULL, show_room, &view, NULL);
}

// The round trip -----------------------------------------------------------------------------

static bool
asked(void* const context)
{
  (void)context;
  return sr_hands_free_asked();
}

static int
compare(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// One measurement; exit status of an error, which was reported.
static int
time_once(const Request* const request, SrRoundTrip* const round_trip)
{
  SrError error = {0};
  sr_guard_begin(
      "steadyreed: The sound system of this computer is not set up (ALSA lists no device).\n",
      SR_EXIT_DEVICE);
  const SrStatus status = sr_round_trip_time(&request->stream, asked, NULL, round_trip, &error);
  sr_guard_end();
  if (status == SR_NOT_FOUND) {
    sr_name_devices(&error);
  }
  if (status == SR_OK) {
    return SR_EXIT_DONE;
  }
  sr_say_error(&error);
  return status == SR_NO_MEMORY ? SR_EXIT_NOT_JUDGED : SR_EXIT_DEVICE;
}

static int
measure_latency(const Request* const request, SrTerminalView* const terminal, SrSetup* const setup)
{
  if (!wait_for_return("2. The headphones: hold one side to the microphone, at the volume you "
                       "practise with, no louder. You will hear four ticks, three times.")) {
    return SR_EXIT_DONE;
  }
  double times[TIMES];
  size_t heard = 0;
  SrRoundTrip round_trip = {0};
  for (size_t i = 0; i < TIMES && !sr_hands_free_asked(); ++i) {
    const int status = time_once(request, &round_trip);
    if (status != SR_EXIT_DONE) {
      return status;
    }
    if (isfinite(round_trip.seconds)) {
      sr_view_say(terminal, "   %zu: %.1f ms", i + 1, 1e3 * round_trip.seconds);
      times[heard++] = round_trip.seconds;
    } else if (!sr_hands_free_asked()) {
      sr_view_say(terminal, "   %zu: not heard in the microphone", i + 1);
    }
  }
  if (sr_hands_free_asked()) {
    return SR_EXIT_DONE;
  }
  memcpy(setup->input, round_trip.input, sizeof(setup->input));
  memcpy(setup->output, round_trip.output, sizeof(setup->output));
  setup->round_trip_s = (double)NAN;
  setup->round_trip_spread_s = (double)NAN;
  if (heard < TIMES) {
    sr_view_paragraph(terminal, 3,
                      "   So it cannot tell how late you hear the click, or say whether you are "
                      "ahead of it or behind. Try closer, or a little louder.");
    return SR_EXIT_DONE;
  }
  qsort(times, heard, sizeof(double), compare);
  setup->round_trip_s = times[TIMES / 2];
  setup->round_trip_spread_s = times[TIMES - 1] - times[0];
  sr_view_say(terminal,
              "   The click takes %.1f ms to reach the microphone; the three differ by %.1f.",
              1e3 * setup->round_trip_s, 1e3 * setup->round_trip_spread_s);
  if (setup->round_trip_spread_s > MOST_SPREAD_S) {
    sr_view_paragraph(terminal, 3,
                      "   That is too much to say whether you are ahead or behind; your spread is "
                      "still measured.");
    setup->round_trip_s = (double)NAN;
  }
  return SR_EXIT_DONE;
}

// The reeds ----------------------------------------------------------------------------------

typedef struct {
  SrTerminalView* terminal;
  bool any;
} ReedsView;

/// Name of a note with sharps as "#", for aligned columns.
static const char*
note_name(const int midi, char text[SR_MIDI_NAME_SIZE])
{
  return sr_show_midi_name(midi, &(SrShowStyle){0}, text);
}

/// Report a note: its length, and its deviation from equal temperament on the current estimate of
/// A.
static void
say_reed(SrTerminalView* const terminal, const SrFreeNote* const note)
{
  char text[SR_MIDI_NAME_SIZE];
  char cents[32] = "";
  if (isfinite(note->cents)) {
    const long whole = lround(note->cents);
    snprintf(cents, sizeof(cents), whole ? "  %+3ld cents" : "  %3ld cents", whole);
  }
  sr_view_say(terminal, "   %-4s %5.2f s%s", note_name(note->midi, text),
              note->end_s - note->onset_s, cents);
}

static bool
show_reeds_heard(void* const data, SrSession* const session, const SrSessionEvent* const event)
{
  (void)session;
  ReedsView* const v = (ReedsView*)data;
  if (event->kind == SR_SESSION_TROUBLE) {
    sr_say_error(&event->trouble.error);
  } else if (event->kind == SR_SESSION_HEARD) {
    v->any = true;
    say_reed(v->terminal, &event->heard);
  }
  return true;
}

static int
learn_reeds(const Request* const request, SrTerminalView* const terminal, SrSetup* const setup)
{
  if (!wait_for_return(
          "3. The reeds: play each note once, on its own, for about a second, from the lowest to "
          "the highest, press or draw as you like. Then 12 s of silence ends it.")) {
    return SR_EXIT_DONE;
  }
  ReedsView view = {terminal, false};
  SrProfile* learnt = NULL;
  // The stored profile of the reeds is not used
  int status = listen(request, NULL, show_reeds_heard, &view, &learnt);
  if (status == SR_EXIT_DONE && !sr_hands_free_asked()) {
    if (!view.any) {
      sr_view_say(terminal, "   No note was heard; what was known of the reeds is kept.");
    } else if (learnt) {
      sr_profile_del(setup->profile);
      setup->profile = learnt;
      learnt = NULL;
    } else {
      sr_say_text(stderr, "steadyreed: There is not enough memory to learn the reeds.\n");
      status = SR_EXIT_NOT_JUDGED;
    }
  }
  sr_profile_del(learnt);
  return status;
}

// The bellows --------------------------------------------------------------------------------

/// A shorter note, s, is not a whole stroke of the bellows.
#define LEAST_STROKE_S 3.0
#define MOST_STROKES 12u

typedef struct {
  SrTerminalView* terminal;
  SrStroke strokes[MOST_STROKES];
  size_t count;
} BellowsView;

static bool
show_strokes(void* const data, SrSession* const session, const SrSessionEvent* const event)
{
  (void)session;
  BellowsView* const v = (BellowsView*)data;
  if (event->kind == SR_SESSION_TROUBLE) {
    sr_say_error(&event->trouble.error);
  } else if (event->kind == SR_SESSION_HEARD && v->count < MOST_STROKES) {
    char text[SR_MIDI_NAME_SIZE];
    const double seconds = event->heard.end_s - event->heard.onset_s;
    if (seconds >= LEAST_STROKE_S) {
      sr_view_say(v->terminal, "   %-4s %5.1f s", note_name(event->heard.midi, text), seconds);
      v->strokes[v->count++] = (SrStroke){event->heard.midi, seconds};
    }
  }
  return v->count < MOST_STROKES;
}

static int
measure_bellows(const Request* const request, SrTerminalView* const terminal, SrSetup* const setup)
{
  if (!wait_for_return("4. The bellows: start shut and draw one note until they are full, as loud "
                       "as you play; then press the same note, or another, until they are shut. Do "
                       "this on a low, a middle and a high note. Then 12 s of silence ends it.")) {
    return SR_EXIT_DONE;
  }
  BellowsView view = {.terminal = terminal};
  const int status = listen(request, setup, show_strokes, &view, NULL);
  if (status != SR_EXIT_DONE || sr_hands_free_asked()) {
    return status;
  }
  SrBellows bellows = sr_bellows_default();
  double uncertainty;
  if (view.count && sr_bellows_fit(view.strokes, view.count, &bellows, &uncertainty) == SR_OK) {
    setup->bellows_at_a4 = bellows.at_a4;
    setup->bellows_power = bellows.octave_power;
    setup->bellows_uncertainty = uncertainty;
  } else {
    sr_view_say(terminal, "   No note was held for %.0f s, so the bellows stay as they were.",
                LEAST_STROKE_S);
  }
  return status;
}

/// Write the measurements; exit status of an error, which was reported.
static int
keep(const SrSetup* const setup)
{
  SrError error = {0};
  const SrStatus status = sr_setup_write(setup, &error);
  if (status != SR_OK) {
    sr_say_error(&error);
  }
  return status == SR_OK          ? SR_EXIT_DONE
         : status == SR_NO_MEMORY ? SR_EXIT_NOT_JUDGED
                                  : SR_EXIT_DEVICE;
}

/// Forget the instrument and style chosen before. Returns an exit status.
static int
forget(void)
{
  SrError error = {0};
  if (sr_preferences_forget(&error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_DEVICE;
  }
  sr_say_format(stdout, "Forgotten. Plans are for %s, %s the rows, until you choose again.\n",
                SR_USUAL_LAYOUT, sr_plan_wish_style_name(0));
  return sr_say_flush(stdout, "standard output");
}

int
sr_command_setup(const int count, char** arguments)
{
  Request request;
  const int trouble = read_request(count, arguments, &request);
  if (trouble) {
    return trouble < 0 ? sr_say_flush(stdout, "standard output") : trouble;
  }
  if (request.forget) {
    return forget();
  }
  SrSetup setup;
  sr_setup_read_or_say(&setup);
  int status = SR_EXIT_DONE;
  SrTerminalView terminal = sr_terminal_view(stdout, NULL, false, false);
  if (!request.show) {
    static Step* const steps[] = {measure_room, measure_latency, learn_reeds, measure_bellows};
    sr_signals_begin();
    sr_say_text(stdout, "Keep the volume low to start with, above all on headphones.\n");
    for (size_t i = 0; i < 4 && status == SR_EXIT_DONE && !sr_hands_free_asked(); ++i) {
      if (request.part == EVERYTHING || (size_t)request.part == i + 1) {
        status = steps[i](&request, &terminal, &setup);
        if (status == SR_EXIT_DONE && !sr_hands_free_asked()) {
          status = keep(&setup);
        }
      }
    }
    sr_hands_free_end();
    putchar('\n');
  }
  if (status == SR_EXIT_DONE) {
    sr_setup_show(&setup);
  }
  sr_view_clear(&terminal);
  sr_setup_clear(&setup);
  const int written = sr_say_flush(stdout, "standard output");
  return status ? status : written;
}
