// SPDX-License-Identifier: GPL-3.0-or-later

#include "one_sitting.h"

#include "session_opening.h"
#include "sitting_state.h"

#include <steadyreed/layout.h>

#include <glib-unix.h>
#include <math.h>

G_DEFINE_FINAL_TYPE(SrSitting, sr_sitting, G_TYPE_OBJECT)

enum { CHANGED, NOTE, ROUND, HEARD, SAID, WOKEN, SIGNALS };
static guint signals[SIGNALS];

void
sr_sitting_enter(SrSitting* const sitting, const SrSittingPhase phase)
{
  sitting->phase = phase;
  g_signal_emit(sitting, signals[CHANGED], 0);
}

void
sr_sitting_say(SrSitting* const sitting, const char* const words)
{
  g_signal_emit(sitting, signals[SAID], 0, words);
}

static void
say_of_history(void* const sitting, const char* const words)
{
  sr_sitting_say(SR_SITTING(sitting), words);
}

static void begin_next(SrSitting* sitting);

static void
finish_session(SrSitting* const sitting)
{
  sr_session_finish(sitting->session);
  sitting->session = NULL;
  sitting->rest_listens = false;
  sr_history_queue_end(sitting->history);
  sr_setup_clear(&sitting->setup);
  sr_sitting_enter(sitting, SR_SITTING_RESTING);
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
    goes_on = sitting->rest_listens ? sr_sitting_take_rest_event(sitting, &event)
                                    : sr_sitting_take_event(sitting, &event);
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
    if (!sitting->rest_listens) {
      sr_sitting_take_trouble(sitting, &error);
    }
    sitting->rest_listens = false;
    sr_sitting_enter(sitting, SR_SITTING_RESTING);
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
  sr_history_queue_begin(sitting->history, sitting->chosen->phrase, &sitting->settings, &origin,
                         sr_chosen_ref(sitting->chosen), (GDestroyNotify)sr_chosen_unref);
}

static void
begin_next(SrSitting* const sitting)
{
  if (!sitting->again) {
    return;
  }
  sitting->again = false;
  sitting->ending = false;
  sitting->rest_tried = false;
  ++sitting->session_number;
  g_clear_pointer(&sitting->chosen, sr_chosen_unref);
  sitting->chosen = g_steal_pointer(&sitting->next);
  sitting->settings = sitting->next_settings;
  g_free(sitting->notes);
  SrChosen* const chosen = sitting->chosen;
  sitting->notes = g_new0(SrNoteVerdict, chosen ? sr_phrase_note_count(chosen->phrase) : 0);
  sr_sitting_forget_notes(sitting);
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
  sr_sitting_enter(sitting, SR_SITTING_OPENING);
  sr_sitting_open(sitting, chosen, &sitting->settings);
}

void
sr_sitting_open(SrSitting* const sitting, SrChosen* const chosen,
                const SrSessionSettings* const settings)
{
  sr_session_opening_begin(G_OBJECT(sitting), chosen, settings, take_session);
}

/// The session that is open, whoever it belongs to, is to end.
static void
send_end(SrSitting* const sitting)
{
  sitting->ending = true;
  if (sitting->session) {
    sr_session_send(sitting->session, (SrCommand){.kind = SR_COMMAND_END});
  }
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
  if (sr_sitting_is_open(sitting)) {
    send_end(sitting);
  } else {
    begin_next(sitting);
  }
}

void
sr_sitting_end(SrSitting* const sitting)
{
  sitting->again = false;
  send_end(sitting);
}

/// An event that nobody is shown goes into the history.
static void
log_event(SrSitting* const sitting, const SrSessionEvent* const event)
{
  SrAssessment* const owned = event->kind == SR_SESSION_ROUND ? event->round.assessment : NULL;
  sr_history_queue_event(sitting->history, event, owned, (GDestroyNotify)sr_assessment_del);
}

/// Wait for the end.
static void
log_rest(SrSitting* const sitting)
{
  bool over = false;
  while (!over) {
    SrSessionEvent event;
    while (!over && sr_session_next(sitting->session, &event)) {
      over = event.kind == SR_SESSION_END;
      log_event(sitting, &event);
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
  sr_history_queue_finish(sitting->history);
}

void
sr_sitting_send(SrSitting* const sitting, const SrCommand command)
{
  SrSession* const session = sr_sitting_session(sitting);
  if (session) {
    sr_session_send(session, command);
  }
  if (session && command.kind == SR_COMMAND_CLICK) {
    sr_history_queue_click(sitting->history, command.value == 0.0           ? SR_CLICK_NONE
                                             : sitting->settings.click_bars ? SR_CLICK_BARS
                                                                            : SR_CLICK_PULSES);
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
  return sitting->rest_listens ? NULL : sitting->session;
}

bool
sr_sitting_is_open(SrSitting* const sitting)
{
  return sitting->phase != SR_SITTING_RESTING || sitting->rest_listens;
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

const char*
sr_sitting_output(SrSitting* const sitting)
{
  return sitting->output_name;
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
  g_clear_pointer(&sitting->history, sr_history_queue_del);
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
  signals[WOKEN] =
      g_signal_new("woken", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[SAID] = g_signal_new("said", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1,
                               G_TYPE_STRING);
}

static void
sr_sitting_init(SrSitting* const sitting)
{
  sitting->rounds = g_ptr_array_new_with_free_func((GDestroyNotify)sr_held_round_unref);
  sitting->history = sr_history_queue_new(say_of_history, sitting);
  sitting->bpm = (double)NAN;
  sitting->wait.left_s = (double)NAN;
}

SrSitting*
sr_sitting_new(void)
{
  return SR_SITTING(g_object_new(SR_TYPE_SITTING, NULL));
}
