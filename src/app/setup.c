// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "device_names.h"
#include "device_options.h"
#include "guard.h"
#include "hands_free.h"
#include "help.h"
#include "option_values.h"
#include "quiet.h"
#include "say.h"
#include "setup_show.h"
#include "terminal_view.h"

#include <steadyreed/layout.h>
#include <steadyreed/plan_wish.h>
#include <steadyreed/preferences.h>
#include <steadyreed/setup_steps.h>

#include <getopt.h>
#include <math.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

static const char name[] = "setup";

typedef enum { EVERYTHING, ROOM_ONLY, LATENCY_ONLY, REEDS_ONLY, BELLOWS_ONLY } Part;

typedef struct {
  SrStreamSettings stream;
  Part part;
  bool show;
  bool forget;
} Request;

enum { ONLY = 256, SHOW, FORGET };

static const struct option options[] = {
    {"input", required_argument, NULL, SR_OPTION_INPUT},
    {"output", required_argument, NULL, SR_OPTION_OUTPUT},
    {"channel", required_argument, NULL, SR_OPTION_CHANNEL},
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
    case SR_OPTION_INPUT:
    case SR_OPTION_OUTPUT:
    case SR_OPTION_CHANNEL:
      trouble = sr_device_option(name, option, optarg, &request->stream);
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

/// What is seen of a step.
typedef struct {
  SrTerminalView* terminal;
  bool guarded; ///< The devices are being opened
  bool levels;  ///< The level is shown
} StepView;

/// Name of a note with sharps as "#", for aligned columns.
static const char*
note_name(const int midi, char text[SR_MIDI_NAME_SIZE])
{
  return sr_show_midi_name(midi, &(SrShowStyle){0}, text);
}

static void
say_floor(SrTerminalView* const terminal, const double dbfs, const bool high)
{
  sr_view_say(terminal, "   It is %.0f dB below full scale%s", -dbfs,
              high ? ": noisy. A fan, an open window, the gain too high?" : ", quiet enough.");
  sr_view_say(terminal, "   Now play as loud as you ever do, for five seconds.");
}

static void
say_loudest(SrTerminalView* const terminal, const double dbfs, const SrSetupLoudness loudness)
{
  static const char* const words[] = {
      [SR_SETUP_LOUD_GOOD] = ", good.",
      [SR_SETUP_OVERDRIVEN] =
          ": overdriven.\n   Turn the input down, or move away from the microphone.",
      [SR_SETUP_NOT_HEARD] = ": hardly louder\n   than the room. Is this the right input?",
      [SR_SETUP_SOFT] = ": quiet.\n   Turn the input up, or move closer, to about 30 cm.",
  };
  sr_view_say(terminal, "   The loudest moment was %.0f dB below full scale%s", fabs(dbfs),
              words[loudness]);
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

static void
unguard(StepView* const v)
{
  if (v->guarded) {
    sr_guard_end();
    v->guarded = false;
  }
}

static void
show_progress(void* const context, const SrSetupProgress* const progress)
{
  StepView* const v = (StepView*)context;
  char text[SR_MIDI_NAME_SIZE];
  switch (progress->kind) {
  case SR_SETUP_OPENED:
    unguard(v);
    sr_quiet_begin();
    break;
  case SR_SETUP_LEVEL:
    if (v->levels) {
      sr_view_level(v->terminal, 20.0 * log10((double)progress->level.peak + 1e-9));
    }
    break;
  case SR_SETUP_DEAD:
    sr_view_dead_input(v->terminal, progress->input);
    break;
  case SR_SETUP_FLOOR:
    say_floor(v->terminal, progress->floor.dbfs, progress->floor.high);
    break;
  case SR_SETUP_LOUDEST:
    say_loudest(v->terminal, progress->loudest.dbfs, progress->loudest.loudness);
    break;
  case SR_SETUP_TIMED:
    if (isfinite(progress->timed.seconds)) {
      sr_view_say(v->terminal, "   %zu: %.1f ms", progress->timed.number,
                  1e3 * progress->timed.seconds);
    } else {
      sr_view_say(v->terminal, "   %zu: not heard in the microphone", progress->timed.number);
    }
    break;
  case SR_SETUP_REED:
    say_reed(v->terminal, &progress->note);
    break;
  case SR_SETUP_STROKE:
    sr_view_say(v->terminal, "   %-4s %5.1f s", note_name(progress->note.midi, text),
                progress->note.end_s - progress->note.onset_s);
    break;
  }
}

static SrSetupWish
wish(void* const context)
{
  (void)context;
  return sr_hands_free_asked() ? SR_SETUP_CANCEL : SR_SETUP_GO_ON;
}

static void
say_round_trip(SrTerminalView* const terminal, const SrSetupFound* const found)
{
  if (found->outcome != SR_SETUP_MEASURED) {
    sr_view_paragraph(terminal, 3,
                      "   So it cannot tell how late you hear the click, or say whether you are "
                      "ahead of it or behind. Try closer, or a little louder.");
    return;
  }
  sr_view_say(terminal,
              "   The click takes %.1f ms to reach the microphone; the three differ by %.1f.",
              1e3 * found->round_trip_s, 1e3 * found->round_trip_spread_s);
  if (!found->round_trip_steady) {
    sr_view_paragraph(terminal, 3,
                      "   That is too much to say whether you are ahead or behind; your spread is "
                      "still measured.");
  }
}

/// Say what a step has found, where its progress has not.
static void
say_found(SrTerminalView* const terminal, const SrSetupFound* const found)
{
  switch (found->step) {
  case SR_SETUP_ROOM:
    break;
  case SR_SETUP_ROUND_TRIP:
    say_round_trip(terminal, found);
    break;
  case SR_SETUP_REEDS:
    if (found->outcome != SR_SETUP_MEASURED) {
      sr_view_say(terminal, "   No note was heard; what was known of the reeds is kept.");
    }
    break;
  case SR_SETUP_BELLOWS:
    if (found->outcome != SR_SETUP_MEASURED) {
      sr_view_say(terminal, "   No note was held for %.0f s, so the bellows stay as they were.",
                  SR_SETUP_STROKE_S);
    }
    break;
  }
}

/// Do a step; exit status of an error, which was reported.
static int
do_step(const SrSetupStep step, const Request* const request, SrTerminalView* const terminal,
        SrSetup* const setup)
{
  static const char* const words[SR_SETUP_STEPS] = {
      [SR_SETUP_ROOM] = "1. The room: leave the box alone and be quiet for three seconds.",
      [SR_SETUP_ROUND_TRIP] =
          "2. The headphones: hold one side to the microphone, at the volume you "
          "practise with, no louder. You will hear four ticks, three times.",
      [SR_SETUP_REEDS] =
          "3. The reeds: play each note once, on its own, for about a second, from the lowest to "
          "the highest, press or draw as you like. Then 12 s of silence ends it.",
      [SR_SETUP_BELLOWS] =
          "4. The bellows: start shut and draw one note until they are full, as loud "
          "as you play; then press the same note, or another, until they are shut. Do "
          "this on a low, a middle and a high note. Then 12 s of silence ends it.",
  };
  if (!wait_for_return(words[step])) {
    return SR_EXIT_DONE;
  }
  StepView view = {.terminal = terminal, .guarded = true, .levels = step == SR_SETUP_ROOM};
  const SrSetupWatch watch = {show_progress, wish, &view};
  SrSetupFound found;
  SrError error = {0};
  sr_guard_begin(
      "steadyreed: The sound system of this computer is not set up (ALSA lists no device).\n",
      SR_EXIT_DEVICE);
  const SrStatus status = sr_setup_measure(step, &request->stream, setup, &watch, &found, &error);
  unguard(&view);
  sr_quiet_end();
  if (status == SR_NOT_FOUND) {
    sr_name_devices(&error);
  }
  if (status != SR_OK) {
    sr_say_error(&error);
  } else if (found.outcome != SR_SETUP_CANCELLED) {
    say_found(terminal, &found);
    (void)sr_setup_take_over(setup, &found);
  }
  sr_setup_found_clear(&found);
  return status == SR_OK                                       ? SR_EXIT_DONE
         : status == SR_NO_MEMORY || status == SR_BAD_ARGUMENT ? SR_EXIT_NOT_JUDGED
                                                               : SR_EXIT_DEVICE;
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
    sr_signals_begin();
    sr_say_text(stdout, "Keep the volume low to start with, above all on headphones.\n");
    for (size_t i = 0; i < SR_SETUP_STEPS && status == SR_EXIT_DONE && !sr_hands_free_asked();
         ++i) {
      if (request.part == EVERYTHING || (size_t)request.part == i + 1) {
        status = do_step((SrSetupStep)i, &request, &terminal, &setup);
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
