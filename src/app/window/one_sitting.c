// SPDX-License-Identifier: GPL-3.0-or-later

#include "one_sitting.h"

#include "../practice_log.h"
#include "session_opening.h"

#include <steadyreed/layout.h>

#include <glib-unix.h>
#include <math.h>

/// The marker goes on for this long after the last note should have ended, notes.
#define BEYOND 1.0
/// A count-in is over this long after its last click, s.
#define COUNTED_S 4.0
/// Notes of a playing that ends as no round and is worth a word.
#define UNFINISHED 4u
/// Notes over which the pace is measured.
#define PACE_NOTES 6u

struct _SrSitting {
  GObject parent_instance;
  SrSittingPhase phase;
  SrChosen* chosen;
  SrSessionSettings settings;
  char* input_name; ///< As in the settings
  char* output_name;
  SrSetup setup;
  SrPracticeLog log; ///< Of the session that runs
  SrSession* session;
  unsigned session_number; ///< From 1
  guint source;
  bool ending; ///< The end was asked for
  bool again;  ///< Begin again once it has ended
  SrChosen* next;
  SrSessionSettings next_settings;
  SrNoteVerdict* notes;
  size_t reached;
  GPtrArray* rounds;
  unsigned counted;
  double counted_s; ///< When the last click of the count-in was heard
  unsigned count;
  double bpm;
  double rate_hz;
  char input[SR_DEVICE_NAME_SIZE];
  char trouble[SR_ERROR_FILE_SIZE + SR_ERROR_MESSAGE_SIZE]; ///< "" for none
  SrSittingWait wait;
  SrPlayingKind played_kind; ///< What is played to the player
  double held_s;             ///< Of the low note
  SrSignalMeaning held_meaning;
  double at_s; ///< Time of the last event, and when it came
  gint64 at_us;
};

G_DEFINE_FINAL_TYPE(SrSitting, sr_sitting, G_TYPE_OBJECT)

enum { CHANGED, NOTE, ROUND, HEARD, SAID, SIGNALS };
static guint signals[SIGNALS];

static void
enter(SrSitting* const sitting, const SrSittingPhase phase)
{
  sitting->phase = phase;
  g_signal_emit(sitting, signals[CHANGED], 0);
}

static void
say(SrSitting* const sitting, const char* const words)
{
  g_signal_emit(sitting, signals[SAID], 0, words);
}

static void
say_of_log(void* const sitting, const char* const words)
{
  say(SR_SITTING(sitting), words);
}

/// Forget the round that goes on.
static void
forget_notes(SrSitting* const sitting)
{
  sitting->reached = 0;
  const size_t count = sitting->chosen ? sr_phrase_note_count(sitting->chosen->phrase) : 0;
  for (size_t i = 0; i < count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(sitting->chosen->phrase, i);
    // A note that was passed over is judged at the end of the round
    sitting->notes[i] = (SrNoteVerdict){.index = i,
                                        .bar = note->bar,
                                        .midi = note->midi,
                                        .heard_midi = -1,
                                        .status = SR_NOTE_UNHEARD,
                                        .due_s = (double)NAN,
                                        .onset_s = (double)NAN,
                                        .end_s = (double)NAN,
                                        .offset_ms = (double)NAN};
  }
}

static void
take_note(SrSitting* const sitting, const SrSessionEvent* const event)
{
  const size_t index = event->note.verdict.index;
  sitting->notes[index] = event->note.verdict;
  // It may still sound; when it ended is known at the end of the round
  sitting->notes[index].end_s = (double)NAN;
  sitting->reached = MAX(sitting->reached, index + 1);
  if (sitting->phase != SR_SITTING_PLAYING) {
    enter(sitting, SR_SITTING_PLAYING);
  }
  g_signal_emit(sitting, signals[NOTE], 0, (guint)index, event->kind == SR_SESSION_AMENDED);
}

static void
take_round(SrSitting* const sitting, SrSessionEvent* const event)
{
  SrHeldRound* const held = sr_held_round_new(sitting->chosen, event->round.assessment);
  held->number = sitting->rounds->len + 1;
  held->session = sitting->session_number;
  held->in_session = event->round.number;
  held->click_unknown = event->round.click_unknown;
  event->round.assessment = NULL;
  g_ptr_array_add(sitting->rounds, held);
  forget_notes(sitting);
  sitting->phase = SR_SITTING_READY;
  g_signal_emit(sitting, signals[ROUND], 0, held);
  enter(sitting, sitting->phase);
}

/// Keep the first trouble of a session, and say it.
static void
take_trouble(SrSitting* const sitting, const SrError* const error)
{
  char words[sizeof(sitting->trouble)];
  (void)sr_error_print(error, words, sizeof(words));
  if (!sitting->trouble[0]) {
    g_strlcpy(sitting->trouble, words, sizeof(sitting->trouble));
  }
  say(sitting, words);
}

/// Nobody plays after the count-in.
static void
give_up_counting(SrSitting* const sitting)
{
  if (sitting->phase == SR_SITTING_COUNTING && sitting->at_s - sitting->counted_s > COUNTED_S) {
    enter(sitting, SR_SITTING_READY);
  }
}

/// Keep what an event reports. False at the last one.
static bool
take_event(SrSitting* const sitting, SrSessionEvent* const event)
{
  sitting->at_s = event->at_s;
  sitting->at_us = g_get_monotonic_time();
  g_signal_emit(sitting, signals[HEARD], 0, event);
  switch (event->kind) {
  case SR_SESSION_READY:
    sitting->bpm = event->ready.bpm;
    sitting->rate_hz = event->ready.rate_hz;
    g_strlcpy(sitting->input, event->ready.input, sizeof(sitting->input));
    enter(sitting, SR_SITTING_READY);
    break;
  case SR_SESSION_COUNT_IN:
    sitting->counted = event->count_in.number;
    sitting->counted_s = event->at_s;
    sitting->count = event->count_in.total;
    enter(sitting, SR_SITTING_COUNTING);
    break;
  case SR_SESSION_NOTE:
  case SR_SESSION_AMENDED:
    take_note(sitting, event);
    break;
  case SR_SESSION_AGAIN:
    forget_notes(sitting);
    enter(sitting, SR_SITTING_PLAYING);
    break;
  case SR_SESSION_ROUND:
    take_round(sitting, event);
    break;
  case SR_SESSION_NOTHING:
    if (sitting->ending && sitting->reached >= UNFINISHED) {
      say(sitting, "What you played last was not a whole round, so it is not kept.");
    }
    forget_notes(sitting);
    enter(sitting, SR_SITTING_READY);
    break;
  case SR_SESSION_PLAYING:
    sitting->played_kind = event->playing.kind;
    enter(sitting, SR_SITTING_SHOWING);
    break;
  case SR_SESSION_PLAYED:
    enter(sitting, sitting->phase == SR_SITTING_SHOWING ? SR_SITTING_READY : sitting->phase);
    break;
  case SR_SESSION_WAITING:
    sitting->wait =
        (SrSittingWait){!event->waiting.over, event->waiting.midi, event->waiting.left_s};
    g_signal_emit(sitting, signals[CHANGED], 0);
    break;
  case SR_SESSION_SIGNAL_HELD:
    sitting->held_s = event->signal_held.held_s;
    sitting->held_meaning = event->signal_held.meaning;
    g_signal_emit(sitting, signals[CHANGED], 0);
    break;
  case SR_SESSION_TEMPO:
    sitting->bpm = event->bpm;
    enter(sitting, sitting->phase);
    break;
  case SR_SESSION_TROUBLE:
    take_trouble(sitting, &event->trouble.error);
    break;
  case SR_SESSION_STOPPED:
    enter(sitting, SR_SITTING_ENDING);
    break;
  case SR_SESSION_END:
    return false;
  case SR_SESSION_LEVEL:
    give_up_counting(sitting);
    break;
  case SR_SESSION_SIGNAL:
  case SR_SESSION_HUSH:
  case SR_SESSION_DROPOUT:
  case SR_SESSION_HEARD:
  case SR_SESSION_AIR:
  case SR_SESSION_SAVED:
  case SR_SESSION_PITCH:
    break;
  }
  return true;
}

static void begin_next(SrSitting* sitting);

static void
finish_session(SrSitting* const sitting)
{
  sr_session_finish(sitting->session);
  sitting->session = NULL;
  sr_practice_log_end(&sitting->log);
  sr_setup_clear(&sitting->setup);
  enter(sitting, SR_SITTING_RESTING);
}

static gboolean
take_events(const int descriptor, const GIOCondition condition, void* const data)
{
  (void)descriptor;
  (void)condition;
  SrSitting* const sitting = SR_SITTING(data);
  g_object_ref(sitting);
  SrSessionEvent event;
  bool goes_on = true;
  while (goes_on && sitting->session && sr_session_next(sitting->session, &event)) {
    sr_practice_log_event(&sitting->log, &event);
    goes_on = take_event(sitting, &event);
    sr_session_event_clear(&event);
  }
  if (!goes_on) {
    sitting->source = 0;
    // Its thread has nothing more to do
    finish_session(sitting);
    begin_next(sitting);
  }
  g_object_unref(sitting);
  return goes_on ? G_SOURCE_CONTINUE : G_SOURCE_REMOVE;
}

static void
take_session(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrSitting* const sitting = SR_SITTING(object);
  SrError error = {0};
  sitting->session = sr_session_opening_finish(result, &error);
  if (!sitting->session) {
    sr_setup_clear(&sitting->setup);
    take_trouble(sitting, &error);
    enter(sitting, SR_SITTING_RESTING);
    begin_next(sitting);
    return;
  }
  sitting->source =
      g_unix_fd_add(sr_session_descriptor(sitting->session), G_IO_IN, take_events, sitting);
  if (sitting->ending) {
    sr_session_send(sitting->session, (SrCommand){.kind = SR_COMMAND_END});
  }
}

/// What is played goes into the history.
static void
begin_log(SrSitting* const sitting)
{
  if (!sitting->chosen) {
    sitting->log = (SrPracticeLog){.writes = false};
    return;
  }
  const SrChoice* const choice = &sitting->chosen->choice;
  const bool planned = sitting->chosen->plan != NULL;
  const char* const layout = choice->layout ? choice->layout : SR_USUAL_LAYOUT;
  const char* const style = choice->style ? choice->style : sr_plan_wish_style_name(0);
  const SrPractice origin = {.file = choice->path,
                             .choice = {.tune = choice->tune,
                                        .title = choice->title,
                                        .first_bar = choice->first_bar,
                                        .last_bar = choice->last_bar,
                                        .part = choice->part,
                                        .transpose = choice->transpose},
                             .layout = planned ? layout : NULL,
                             .style = planned ? style : NULL};
  sitting->log = sr_practice_log_begin(sitting->chosen->phrase, &sitting->settings, &origin,
                                       say_of_log, sitting);
}

static void
begin_next(SrSitting* const sitting)
{
  if (!sitting->again) {
    return;
  }
  sitting->again = false;
  sitting->ending = false;
  ++sitting->session_number;
  g_clear_pointer(&sitting->chosen, sr_chosen_unref);
  sitting->chosen = g_steal_pointer(&sitting->next);
  sitting->settings = sitting->next_settings;
  g_free(sitting->notes);
  SrChosen* const chosen = sitting->chosen;
  sitting->notes = g_new0(SrNoteVerdict, chosen ? sr_phrase_note_count(chosen->phrase) : 0);
  forget_notes(sitting);
  const bool measured = sr_setup_read(&sitting->setup, NULL) == SR_OK;
  sitting->settings.setup = measured ? &sitting->setup : NULL;
  sitting->settings.judge.places = chosen ? (const char* const*)chosen->places : NULL;
  sitting->settings.stream.input = sitting->input_name;
  sitting->settings.stream.output = sitting->output_name;
  // The tempo before was another phrase's
  sitting->bpm = (double)NAN;
  sitting->trouble[0] = '\0';
  begin_log(sitting);
  sitting->wait = (SrSittingWait){false, -1, (double)NAN};
  sitting->held_s = 0.0;
  enter(sitting, SR_SITTING_OPENING);
  sr_session_opening_begin(G_OBJECT(sitting), chosen, &sitting->settings, take_session);
}

void
sr_sitting_begin(SrSitting* const sitting, SrChosen* const chosen,
                 const SrSessionSettings* const settings)
{
  SrChosen* const next = chosen ? sr_chosen_ref(chosen) : NULL;
  g_clear_pointer(&sitting->next, sr_chosen_unref);
  sitting->next = next;
  sitting->next_settings = *settings;
  g_free(sitting->input_name);
  g_free(sitting->output_name);
  sitting->input_name = g_strdup(settings->stream.input);
  sitting->output_name = g_strdup(settings->stream.output);
  sitting->again = true;
  if (sitting->phase == SR_SITTING_RESTING) {
    begin_next(sitting);
  } else {
    sitting->ending = true;
    sr_sitting_send(sitting, (SrCommand){.kind = SR_COMMAND_END});
  }
}

void
sr_sitting_end(SrSitting* const sitting)
{
  sitting->ending = true;
  sitting->again = false;
  sr_sitting_send(sitting, (SrCommand){.kind = SR_COMMAND_END});
}

static void
say_nothing(void* const sitting, const char* const words)
{
  (void)sitting;
  (void)words;
}

/// Wait for the end; what comes until then goes into the history, and nobody is there to be told.
static void
log_rest(SrSitting* const sitting)
{
  sitting->log.say = say_nothing;
  bool over = false;
  while (!over) {
    SrSessionEvent event;
    while (!over && sr_session_next(sitting->session, &event)) {
      over = event.kind == SR_SESSION_END;
      sr_practice_log_event(&sitting->log, &event);
      sr_session_event_clear(&event);
    }
    if (!over) {
      (void)sr_session_wait(sitting->session, (double)INFINITY);
    }
  }
}

void
sr_sitting_close(SrSitting* const sitting)
{
  sr_sitting_end(sitting);
  if (sitting->source) {
    g_source_remove(sitting->source);
    sitting->source = 0;
  }
  if (sitting->session) {
    log_rest(sitting);
    finish_session(sitting);
  }
}

void
sr_sitting_send(SrSitting* const sitting, const SrCommand command)
{
  if (sitting->session) {
    sr_session_send(sitting->session, command);
  }
  if (sitting->session && command.kind == SR_COMMAND_CLICK) {
    sitting->log.practice.click = command.value == 0.0           ? SR_CLICK_NONE
                                  : sitting->settings.click_bars ? SR_CLICK_BARS
                                                                 : SR_CLICK_PULSES;
  }
}

SrSittingPhase
sr_sitting_phase(SrSitting* const sitting)
{
  return sitting->phase;
}

SrSession*
sr_sitting_session(SrSitting* const sitting)
{
  return sitting->session;
}

SrChosen*
sr_sitting_chosen(SrSitting* const sitting)
{
  return sitting->chosen;
}

const SrNoteVerdict*
sr_sitting_notes(SrSitting* const sitting, size_t* const reached)
{
  *reached = sitting->reached;
  return sitting->notes;
}

const GPtrArray*
sr_sitting_rounds(SrSitting* const sitting)
{
  return sitting->rounds;
}

static double
start_of(const SrSitting* const sitting, const size_t note)
{
  return sr_fraction_value(sr_phrase_note(sitting->chosen->phrase, note)->start);
}

/// Whole notes a second over the last notes before `last`; 0 if unknown.
static double
pace_at(const SrSitting* const sitting, const size_t last)
{
  const SrNoteVerdict* const notes = sitting->notes;
  double pace = 0.0;
  for (size_t i = last; i-- > 0 && last - i <= PACE_NOTES;) {
    const double seconds = notes[last].onset_s - notes[i].onset_s;
    pace = isfinite(seconds) && seconds > 0.0
               ? (start_of(sitting, last) - start_of(sitting, i)) / seconds
               : pace;
  }
  return pace;
}

double
sr_sitting_position(SrSitting* const sitting)
{
  if (sitting->phase != SR_SITTING_PLAYING || sitting->reached == 0) {
    return (double)NAN;
  }
  size_t last = sitting->reached - 1;
  while (last > 0 && !isfinite(sitting->notes[last].onset_s)) {
    --last;
  }
  const double onset_s = sitting->notes[last].onset_s;
  const double now_s = sitting->at_s + (double)(g_get_monotonic_time() - sitting->at_us) / 1e6;
  const double start = start_of(sitting, last);
  const double length = sr_fraction_value(sr_phrase_note(sitting->chosen->phrase, last)->length);
  const double pace = pace_at(sitting, last);
  const double gone = isfinite(onset_s) && pace > 0.0 ? pace * (now_s - onset_s) : 0.0;
  return start + CLAMP(gone, 0.0, (1.0 + BEYOND) * length);
}

void
sr_sitting_count_in(SrSitting* const sitting, unsigned* const number, unsigned* const total)
{
  *number = sitting->counted;
  *total = sitting->count;
}

double
sr_sitting_bpm(SrSitting* const sitting)
{
  return sitting->bpm;
}

const char*
sr_sitting_input(SrSitting* const sitting)
{
  return sitting->input;
}

unsigned
sr_sitting_session_number(SrSitting* const sitting)
{
  return sitting->session_number;
}

const char*
sr_sitting_trouble(SrSitting* const sitting)
{
  return sitting->trouble;
}

double
sr_sitting_rate_hz(SrSitting* const sitting)
{
  return sitting->rate_hz;
}

SrSittingWait
sr_sitting_wait(SrSitting* const sitting)
{
  return sitting->wait;
}

double
sr_sitting_held_s(SrSitting* const sitting, SrSignalMeaning* const meaning)
{
  *meaning = sitting->held_meaning;
  return sitting->held_s;
}

SrPlayingKind
sr_sitting_plays(SrSitting* const sitting)
{
  return sitting->played_kind;
}

static void
sitting_finalize(GObject* const object)
{
  SrSitting* const sitting = SR_SITTING(object);
  sr_sitting_close(sitting);
  g_clear_pointer(&sitting->chosen, sr_chosen_unref);
  g_clear_pointer(&sitting->next, sr_chosen_unref);
  g_ptr_array_unref(sitting->rounds);
  g_free(sitting->notes);
  g_free(sitting->input_name);
  g_free(sitting->output_name);
  G_OBJECT_CLASS(sr_sitting_parent_class)->finalize(object);
}

static void
sr_sitting_class_init(SrSittingClass* const class)
{
  G_OBJECT_CLASS(class)->finalize = sitting_finalize;
  const GType type = SR_TYPE_SITTING;
  signals[CHANGED] =
      g_signal_new("changed", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[NOTE] = g_signal_new("note", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 2,
                               G_TYPE_UINT, G_TYPE_BOOLEAN);
  signals[ROUND] = g_signal_new("round", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE,
                                1, G_TYPE_POINTER);
  signals[HEARD] = g_signal_new("heard", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE,
                                1, G_TYPE_POINTER);
  signals[SAID] = g_signal_new("said", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1,
                               G_TYPE_STRING);
}

static void
sr_sitting_init(SrSitting* const sitting)
{
  sitting->rounds = g_ptr_array_new_with_free_func((GDestroyNotify)sr_held_round_unref);
  sitting->bpm = (double)NAN;
  sitting->wait.left_s = (double)NAN;
}

SrSitting*
sr_sitting_new(void)
{
  return SR_SITTING(g_object_new(SR_TYPE_SITTING, NULL));
}
