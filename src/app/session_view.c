// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_view.h"

#include "command.h"
#include "event_lines.h"
#include "hands_free.h"
#include "practice_log.h"
#include "say.h"
#include "session_run.h"
#include "sitting_clock.h"
#include "terminal_view.h"
#include "today_items.h"
#include "verdict_voice.h"

#include <math.h>
#include <stdlib.h>
#include <steadyreed/judged_take.h>

typedef struct {
  const SrPhrase* phrase;
  const SrSessionSettings* settings;
  SrTerminalView terminal;
  SrVerdictVoice voice;
  SrPracticeLog log;
  SrSeries* series; ///< NULL if it is the only session
  SrSittingClock sitting;
  char input[SR_DEVICE_NAME_SIZE];
  double bpm;
  bool unfinished;  ///< The last round was broken off, and is kept
  SrRoundRow* rows; ///< Rounds played, for a table if nothing is kept
  size_t row_count;
  bool waits;                   ///< The click waits, and that was said
  bool reported_unmeasured;     ///< Explained why ahead and behind are not reported
  bool reported_air_unreported; ///< Explained why air is not reported
  SrEndReason reason;
  size_t rounds;
  int status;       ///< Of judging the kept take
  bool failed;      ///< Listening failed
  bool disk_failed; ///< Listening failed because the disk is full
} View;

/// Say how it ends.
static void
say_ends(View* const v)
{
  SrTerminalView* const terminal = &v->terminal;
  if (v->series && v->series->skips) {
    sr_view_say(terminal, "N or Return goes on to the next; so does %.0f s without a note.",
                v->settings->silence_s);
  } else {
    sr_view_say(terminal, "so does %.0f s without a note after a round, even if you talk.",
                v->settings->silence_s);
  }
}

static void
greet(View* const v, const SrSessionEvent* const event)
{
  SrTerminalView* const terminal = &v->terminal;
  const SrSessionSettings* const settings = v->settings;
  snprintf(v->input, sizeof(v->input), "%s", event->ready.input);
  v->bpm = event->ready.bpm;
  if (v->series && v->series->greeted) {
    return;
  }
  sr_view_say(terminal, "Listening to %s at %.0f Hz. Ctrl-C, q or Escape ends it;", v->input,
              event->ready.rate_hz);
  say_ends(v);
  if (!settings->silent) {
    sr_view_say(terminal, "The click plays on %s, %.0f pulses a minute: start with the volume low.",
                event->ready.output, v->bpm);
  }
  if (settings->signal_midi >= 0) {
    sr_view_signals(terminal, settings->signal_midi, settings->silent);
  }
  if (v->series) {
    v->series->greeted = true;
    sr_view_say(terminal, event->ready.path
                              ? "It is recorded; `steadyreed progress --takes` lists the takes."
                              : "Nothing is recorded.");
  } else if (event->ready.path) {
    // The path on a line of its own, since few would fit after words
    sr_view_say(terminal, "Recording to");
    sr_view_say(terminal, "%s", event->ready.path);
  } else {
    sr_view_say(terminal, "Nothing is recorded.");
  }
}

static void
show_level(View* const v, const SrSessionEvent* const event)
{
  sr_view_watch_input(&v->terminal, event->level.peak, event->at_s, v->input);
  if (event->level.idle) {
    sr_view_level(&v->terminal, 20.0 * log10((double)event->level.peak + 1e-9));
  }
}

static void
show_round(View* const v, const SrSessionEvent* const event)
{
  const SrAssessment* const assessment = event->round.assessment;
  sr_view_heard(&v->terminal, event);
  SrRoundRow* const more = (SrRoundRow*)realloc(v->rows, (v->row_count + 1) * sizeof(SrRoundRow));
  if (more) {
    v->rows = more;
    v->rows[v->row_count++] = sr_round_row(&assessment->rounds[assessment->round_count - 1]);
  }
  if (event->round.click_unknown && !v->reported_unmeasured) {
    v->reported_unmeasured = true;
    sr_view_paragraph(&v->terminal, 2,
                      "  Ahead of the click or behind it? The microphone does not hear it, so that "
                      "is not known. `steadyreed setup` measures your headphones.");
  }
  const char* const unreported = sr_judge_air_unreported(assessment->air_carriage);
  if (unreported && !v->reported_air_unreported) {
    v->reported_air_unreported = true;
    sr_view_remark(&v->terminal, unreported);
  }
}

static void
show_signal(View* const v, const SrSessionEvent* const event)
{
  if (event->signal.meaning == SR_SIGNAL_END) {
    sr_view_say(&v->terminal, "  You held the low note for %.1f s: finished.",
                event->signal.held_s);
  } else if (event->signal.meaning == SR_SIGNAL_NONE) {
    sr_view_say(&v->terminal, "  Low note heard, but with --silent there is no sound to play.");
  }
}

static void
show_playing(View* const v, const SrSessionEvent* const event)
{
  if (event->playing.kind == SR_PLAYING_PHRASE) {
    sr_view_say(&v->terminal, "  Listen: this is how it goes, at %.0f.", event->playing.bpm);
  }
}

/// Say once what the click waits for; the seconds of a delay are not counted down.
static void
show_waiting(View* const v, const SrSessionEvent* const event)
{
  const bool waits = !event->waiting.over;
  if (waits == v->waits) {
    return;
  }
  v->waits = waits;
  if (!waits) {
    return;
  }
  char name[SR_MIDI_NAME_SIZE];
  char when[64] = "";
  if (isfinite(event->waiting.left_s)) {
    snprintf(when, sizeof(when), "in %.0f s", ceil(event->waiting.left_s));
  }
  if (event->waiting.midi < 0) {
    sr_view_say(&v->terminal, "  The count-in begins %s; or just play.", when);
    return;
  }
  sr_show_midi_name(event->waiting.midi, &v->terminal.style, name);
  // In any octave
  sr_show_drop_octave(name);
  sr_view_say(&v->terminal,
              "  Ready? Hold any %s for a moment and let go: the count-in begins%s%s.", name,
              when[0] ? ", or by itself " : "", when);
}

static void
show_tempo(View* const v, const SrSessionEvent* const event)
{
  // A step that a round called for was said already
  if (!v->series || !v->series->step.words[0] || fabs(event->bpm - v->series->step.bpm) > 0.5) {
    sr_view_say(&v->terminal, "  %s: %.0f pulses a minute.",
                event->bpm > v->bpm ? "Faster" : "Slower", event->bpm);
  }
  v->bpm = event->bpm;
}

static void
show_trouble(View* const v, const SrSessionEvent* const event)
{
  if (!event->trouble.saving) {
    v->failed = true;
    v->disk_failed = event->trouble.error.status == SR_WRITE_FAILED;
    if (event->at_s > 0.0) {
      sr_view_say(&v->terminal, "  Practice ends here.");
    }
  }
  sr_say_error(&event->trouble.error);
}

static void
say_kept(View* const v, const char* const path)
{
  sr_view_say(&v->terminal, "Kept, for your eyes only, in");
  sr_view_say(&v->terminal, "%s", path);
}

/// Judge the kept take like `assess`, and show all rounds.
static void
sum_up(View* const v, const char* const path)
{
  SrJudgedTake take;
  SrJudgeSettings settings = v->settings->judge;
  settings.target_bpm = (double)NAN;
  if (sr_judged_take_make(v->phrase, path, &settings, true, &take) == SR_OK) {
    const SrShownTake shown = {.path = path,
                               .phrase = v->phrase,
                               .assessment = take.assessment,
                               .remarks = (const char* const*)take.remarks,
                               .remark_count = take.remark_count};
    if (v->terminal.json) {
      sr_event_line_judged(v->terminal.stream, &shown);
    } else {
      sr_view_sum_up(&v->terminal, &shown);
    }
    for (size_t i = 0; i < take.remark_count; ++i) {
      sr_view_remark(&v->terminal, take.remarks[i]);
    }
    say_kept(v, path);
  } else {
    sr_say_error(&take.error);
    v->status = SR_EXIT_NOT_JUDGED;
  }
  sr_judged_take_clear(&take);
}

static void
show_stopped(View* const v, const SrSessionEvent* const event)
{
  v->reason = event->stopped.reason;
  v->rounds = event->stopped.rounds;
  if (v->reason == SR_END_SILENCE) {
    sr_view_say(&v->terminal, "  Nothing played for a while: finished.");
  }
}

static void
show_end(View* const v)
{
  if (v->series) {
    return;
  }
  if (v->settings->keeping == SR_KEEP_NOTHING && v->row_count) {
    sr_view_table_begin(&v->terminal, v->row_count);
    for (size_t r = 0; r < v->row_count; ++r) {
      sr_view_table_row(&v->terminal, r + 1, &v->rows[r]);
    }
  }
  if (v->rounds == 0 && (!v->failed || v->disk_failed)) {
    sr_view_warn(&v->terminal, "No %sround was heard%s.", v->unfinished ? "whole " : "",
                 v->settings->keeping == SR_KEEP_ROUNDS && !v->unfinished ? ", so nothing is kept"
                                                                          : "");
    const bool asked = v->reason == SR_END_COMMAND || v->reason == SR_END_SIGNAL;
    v->status = asked ? v->status : SR_EXIT_NOT_JUDGED;
  }
}

/// After each hour of playing it is time to rest.
static void
follow_sitting(View* const v, const SrSessionEvent* const event)
{
  if (sr_sitting_clock_event(&v->sitting, event)) {
    sr_view_paragraph(&v->terminal, 2, sr_today_rest_words);
    sr_verdict_voice_add(&v->voice, sr_today_rest_spoken);
  }
}

static bool
show(void* const data, SrSession* const session, const SrSessionEvent* const event)
{
  View* const v = (View*)data;
  if (v->terminal.json) {
    sr_event_line(v->terminal.stream, v->phrase, event);
  }
  switch (event->kind) {
  case SR_SESSION_READY:
    greet(v, event);
    break;
  case SR_SESSION_LEVEL:
    show_level(v, event);
    break;
  case SR_SESSION_COUNT_IN:
    sr_view_count_in(&v->terminal, event->count_in.number, event->count_in.total);
    break;
  case SR_SESSION_NOTE:
  case SR_SESSION_AMENDED:
  case SR_SESSION_AGAIN:
  case SR_SESSION_NOTHING:
    v->unfinished = v->unfinished || (event->kind == SR_SESSION_NOTHING && event->nothing.notes);
    sr_view_heard(&v->terminal, event);
    break;
  case SR_SESSION_ROUND:
    show_round(v, event);
    break;
  case SR_SESSION_SIGNAL:
    show_signal(v, event);
    break;
  case SR_SESSION_PLAYING:
    show_playing(v, event);
    break;
  case SR_SESSION_PLAYED:
    if (event->played.outcome == SR_PLAYED_NOTHING) {
      sr_view_say(&v->terminal, "  With --silent there is no sound to play the phrase on.");
    }
    break;
  case SR_SESSION_WAITING:
    show_waiting(v, event);
    break;
  case SR_SESSION_TEMPO:
    show_tempo(v, event);
    break;
  case SR_SESSION_DROPOUT:
    sr_view_warn(&v->terminal,
                 "  The computer could not keep up for a moment (%.2f s lost in this "
                 "sitting so far, rests included); what was played there is not judged.",
                 event->dropout.seconds);
    break;
  case SR_SESSION_HEARD:
  case SR_SESSION_AIR:
  case SR_SESSION_HUSH:
  case SR_SESSION_SIGNAL_HELD:
  case SR_SESSION_PITCH:
    break;
  case SR_SESSION_STOPPED:
    show_stopped(v, event);
    break;
  case SR_SESSION_SAVED:
    if (v->series) {
      break;
    }
    if (v->row_count) {
      sum_up(v, event->saved.path);
    } else {
      say_kept(v, event->saved.path);
    }
    break;
  case SR_SESSION_TROUBLE:
    show_trouble(v, event);
    break;
  case SR_SESSION_END:
    show_end(v);
    break;
  }
  sr_practice_log_event(&v->log, event);
  if (sr_verdict_voice_hear(&v->voice, session, event)) {
    sr_view_warn(&v->terminal, "  The voice does not answer; verdicts are only shown. Does "
                               "`spd-say hello` speak?");
  }
  follow_sitting(v, event);
  if (v->series) {
    sr_series_event(v->series, &v->terminal, &v->voice, v->settings, session, event);
  }
  return !ferror(v->terminal.stream);
}

/// A sentence of the practice log.
static void
say_of_log(void* const data, const char* const text)
{
  View* const v = (View*)data;
  sr_view_warn(&v->terminal, "%s", text);
}

int
sr_practise(const SrPhrase* const phrase, const SrSessionSettings* const settings,
            const SrPractice* const origin, const SrPractiseShow* const how, SrSeries* const series)
{
  View view = {.phrase = phrase,
               .settings = settings,
               .series = series,
               .sitting =
                   series && series->sitting_begun ? series->sitting : sr_sitting_clock_begin(),
               .reported_unmeasured = series && series->reported_unmeasured,
               .reported_air_unreported = series && series->reported_air_unreported,
               .terminal = sr_terminal_view(stdout, phrase, how->json, how->all_notes)};
  SrSetup setup;
  sr_setup_read_or_say(&setup);
  SrSessionSettings own = *settings;
  own.setup = &setup;
  view.log = sr_practice_log_begin(phrase, &own, origin, say_of_log, &view);
  if (how->speak && !sr_verdict_voice_begin(&view.voice)) {
    sr_view_warn(&view.terminal, "There is not enough memory to speak; verdicts are only shown.");
  }
  if (series) {
    series->ended = SR_SERIES_TROUBLE; // until it began
  }
  const int status = sr_session_run(phrase, &own, show, &view);
  if (series) {
    // A key may have come while it was ending for another reason
    series->ended = sr_hands_free_asked() ? SR_SERIES_QUIT : series->ended;
    series->sitting = view.sitting;
    series->sitting_begun = true;
    series->reported_unmeasured = view.reported_unmeasured;
    series->reported_air_unreported = view.reported_air_unreported;
  }
  sr_practice_log_end(&view.log);
  sr_verdict_voice_end(&view.voice);
  sr_view_clear(&view.terminal);
  sr_setup_clear(&setup);
  free(view.rows);
  return status ? status : view.status;
}
