// SPDX-License-Identifier: GPL-3.0-or-later

#include "free_view.h"

#include "command.h"
#include "say.h"
#include "session_run.h"
#include "terminal_view.h"

#include <steadyreed/free.h>
#include <steadyreed/setup.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// A longer pause, s, is not an inter-onset interval.
#define MOST_STEP_S 2.0

/// Statistics for the summary.
typedef struct {
  size_t notes;
  size_t cuts;
  size_t long_cuts;
  size_t held;
  double cut_ms; ///< Total
  size_t air;
  size_t air_audible;
  double last_onset_s;
  double* steps; ///< Inter-onset intervals, s
  size_t step_count;
} Reported;

/// A note's name padded to five columns; a sharp sign takes one.
static const char*
note_column(const int midi, const SrShowStyle* const style, char column[24])
{
  char name[SR_MIDI_NAME_SIZE];
  sr_show_midi_name(midi, style, name);
  const int bytes = strstr(name, "♯") ? 5 + (int)strlen("♯") - 1 : 5;
  snprintf(column, 24, "%-*s", bytes, name);
  return column;
}

static void
report_note(SrTerminalView* const view, const SrFreeNote* const note, Reported* const reported,
            const double long_cut_ms)
{
  char name[24];
  char cents[24] = "";
  char cut[96] = "";
  if (isfinite(note->cents)) {
    const long whole = lround(note->cents);
    snprintf(cents, sizeof(cents), whole ? "%+4ld cents" : "%4ld cents", whole);
  }
  if (note->cut_midi >= 0) {
    char cut_name[SR_MIDI_NAME_SIZE];
    const bool is_long = !note->held && note->cut_ms > long_cut_ms;
    snprintf(cut, sizeof(cut), ", cut by %s: %.0f ms%s",
             sr_show_midi_name(note->cut_midi, &view->style, cut_name), note->cut_ms,
             note->held ? ", joined: you held on to the note"
             : is_long  ? ", long: it sounds like a note"
                        : "");
    ++reported->cuts;
    reported->long_cuts += is_long;
    reported->held += note->held;
    reported->cut_ms += note->cut_ms;
  }
  if (note->goes_on) {
    sr_view_say(view, "  %s %5.2f s  still going", note_column(note->midi, &view->style, name),
                note->end_s - note->onset_s);
    return;
  }
  sr_view_say(view, "  %s %5.2f s  %s%s", note_column(note->midi, &view->style, name),
              note->end_s - note->onset_s, cents, cut);
  const double step_s = note->onset_s - reported->last_onset_s;
  if (reported->notes > 0 && step_s > 0.0 && step_s < MOST_STEP_S) {
    double* const more =
        (double*)realloc(reported->steps, (reported->step_count + 1) * sizeof(double));
    if (more) {
      reported->steps = more;
      reported->steps[reported->step_count++] = step_s;
    }
  }
  reported->last_onset_s = note->onset_s;
  ++reported->notes;
}

static void
report_air(SrTerminalView* const view, const SrFreeAir* const air, Reported* const reported)
{
  ++reported->air;
  if (air->over_mask_db > 0.0) {
    ++reported->air_audible;
    sr_view_say(view, "  air   %5.2f s  heard, %.0f dB louder than the note can hide",
                air->end_s - air->start_s, air->over_mask_db);
  } else {
    sr_view_say(view, "  air   %5.2f s  hidden, by %.0f dB", air->end_s - air->start_s,
                -air->over_mask_db);
  }
}

static void
sum_up(SrTerminalView* const view, const Reported* const reported, const double reference_hz)
{
  if (reported->notes == 0) {
    sr_view_say(view, "\nNo note was heard.");
  } else if (isfinite(reference_hz)) {
    sr_view_say(view, "\n%zu note%s heard; the box's A is %.1f Hz.", reported->notes,
                reported->notes == 1 ? "" : "s", reference_hz);
  }
  if (reported->cuts) {
    sr_view_say(view, "%zu cut%s, %.0f ms on average; %zu long, %zu joined.", reported->cuts,
                reported->cuts == 1 ? "" : "s", reported->cut_ms / (double)reported->cuts,
                reported->long_cuts, reported->held);
  }
  const SrIntervals steps = sr_judge_intervals(reported->steps, reported->step_count);
  if (isfinite(steps.unit_s)) {
    sr_view_say(view, "Notes came every %.2f s or a multiple of it, within %.0f ms on average.",
                steps.unit_s, steps.stray_ms);
  }
  if (reported->air) {
    sr_view_say(view, "Air %zu time%s, %zu of them heard.", reported->air,
                reported->air == 1 ? "" : "s", reported->air_audible);
  }
}

typedef struct {
  const SrSessionSettings* settings;
  SrTerminalView terminal;
  char input[SR_DEVICE_NAME_SIZE];
  Reported reported;
} View;

static bool
show(void* const data, SrSession* const session, const SrSessionEvent* const event)
{
  (void)session;
  View* const v = (View*)data;
  switch (event->kind) {
  case SR_SESSION_READY:
    snprintf(v->input, sizeof(v->input), "%s", event->ready.input);
    sr_view_say(&v->terminal, "Listening to %s; nothing is recorded. Ctrl-C, q or Escape ends it.",
                v->input);
    sr_view_say(&v->terminal,
                "Once you have played, %.0f s without a note ends it too, even if you talk.",
                v->settings->silence_s);
    break;
  case SR_SESSION_LEVEL:
    sr_view_watch_input(&v->terminal, event->level.peak, event->at_s, v->input);
    if (event->level.idle) {
      sr_view_level(&v->terminal, 20.0 * log10((double)event->level.peak + 1e-9));
    }
    break;
  case SR_SESSION_HEARD:
    report_note(&v->terminal, &event->heard, &v->reported, v->settings->judge.long_cut_ms);
    break;
  case SR_SESSION_AIR:
    report_air(&v->terminal, &event->air, &v->reported);
    break;
  case SR_SESSION_TROUBLE:
    sr_say_error(&event->trouble.error);
    break;
  case SR_SESSION_STOPPED:
    sum_up(&v->terminal, &v->reported, event->stopped.reference_hz);
    break;
  case SR_SESSION_COUNT_IN:
  case SR_SESSION_NOTE:
  case SR_SESSION_AMENDED:
  case SR_SESSION_AGAIN:
  case SR_SESSION_ROUND:
  case SR_SESSION_NOTHING:
  case SR_SESSION_SIGNAL:
  case SR_SESSION_PLAYING:
  case SR_SESSION_TEMPO:
  case SR_SESSION_DROPOUT:
  case SR_SESSION_HUSH:
  case SR_SESSION_PLAYED:
  case SR_SESSION_WAITING:
  case SR_SESSION_SIGNAL_HELD:
  case SR_SESSION_PITCH:
  case SR_SESSION_SAVED:
  case SR_SESSION_END:
    break;
  }
  return !ferror(v->terminal.stream);
}

int
sr_listen_freely(const SrSessionSettings* const settings)
{
  View view = {.settings = settings, .terminal = sr_terminal_view(stdout, NULL, false, false)};
  SrSetup setup;
  sr_setup_read_or_say(&setup);
  SrSessionSettings own = *settings;
  own.setup = &setup;
  own.first_wait_s = (double)INFINITY; // never end before the first note
  const int status = sr_session_run(NULL, &own, true, show, &view, NULL);
  sr_view_clear(&view.terminal);
  sr_setup_clear(&setup);
  free(view.reported.steps);
  const int written = sr_say_flush(stdout, "standard output");
  return status ? status : written;
}
