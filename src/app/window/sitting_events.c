// SPDX-License-Identifier: GPL-3.0-or-later

// What a session reports, kept and passed on.

#include "sitting_state.h"

#include <math.h>

/// A count-in is over this long after its last click, s.
#define COUNTED_S 4.0

void
sr_sitting_forget_notes(SrSitting* const sitting)
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
    sr_sitting_enter(sitting, SR_SITTING_PLAYING);
  }
  g_signal_emit_by_name(sitting, "note", (guint)index, event->kind == SR_SESSION_AMENDED);
}

static void
take_round(SrSitting* const sitting, SrSessionEvent* const event)
{
  SrHeldRound* const held = sr_held_round_new(sitting->chosen, event->round.assessment);
  held->number = sitting->rounds->len + 1;
  held->session = sitting->session_number;
  held->in_session = event->round.number;
  held->click_unknown = event->round.click_unknown;
  sr_history_queue_event(sitting->history, event, sr_held_round_ref(held),
                         (GDestroyNotify)sr_held_round_unref);
  event->round.assessment = NULL;
  g_ptr_array_add(sitting->rounds, held);
  sr_sitting_forget_notes(sitting);
  sitting->phase = SR_SITTING_READY;
  g_signal_emit_by_name(sitting, "round", held);
  sr_sitting_enter(sitting, sitting->phase);
}

void
sr_sitting_take_trouble(SrSitting* const sitting, const SrError* const error)
{
  char words[sizeof(sitting->trouble)];
  (void)sr_error_print(error, words, sizeof(words));
  if (!sitting->trouble[0]) {
    g_strlcpy(sitting->trouble, words, sizeof(sitting->trouble));
  }
  sr_sitting_say(sitting, words);
}

/// Nobody plays after the count-in.
static void
give_up_counting(SrSitting* const sitting)
{
  if (sitting->phase == SR_SITTING_COUNTING && sitting->at_s - sitting->counted_s > COUNTED_S) {
    sr_sitting_enter(sitting, SR_SITTING_READY);
  }
}

bool
sr_sitting_take_event(SrSitting* const sitting, SrSessionEvent* const event)
{
  sitting->at_s = event->at_s;
  sitting->at_us = g_get_monotonic_time();
  if (event->kind != SR_SESSION_ROUND) {
    sr_history_queue_event(sitting->history, event, NULL, NULL);
  }
  g_signal_emit_by_name(sitting, "heard", event);
  switch (event->kind) {
  case SR_SESSION_READY:
    sitting->bpm = event->ready.bpm;
    sitting->rate_hz = event->ready.rate_hz;
    g_strlcpy(sitting->input, event->ready.input, sizeof(sitting->input));
    sr_sitting_enter(sitting, SR_SITTING_READY);
    break;
  case SR_SESSION_COUNT_IN:
    sitting->counted = event->count_in.number;
    sitting->counted_s = event->at_s;
    sitting->count = event->count_in.total;
    sr_sitting_enter(sitting, SR_SITTING_COUNTING);
    break;
  case SR_SESSION_NOTE:
  case SR_SESSION_AMENDED:
    take_note(sitting, event);
    break;
  case SR_SESSION_AGAIN:
    sr_sitting_forget_notes(sitting);
    sr_sitting_enter(sitting, SR_SITTING_PLAYING);
    break;
  case SR_SESSION_ROUND:
    take_round(sitting, event);
    break;
  case SR_SESSION_NOTHING:
    if (event->nothing.notes) {
      sr_sitting_say(sitting, "Your last round was not finished. The take has it, and it does not "
                              "count.");
    } else if (sitting->ending && sitting->reached >= SR_UNFINISHED_NOTES) {
      sr_sitting_say(sitting, "What you played last was not a whole round, so it is not kept.");
    }
    sr_sitting_forget_notes(sitting);
    sr_sitting_enter(sitting, SR_SITTING_READY);
    break;
  case SR_SESSION_PLAYING:
    sitting->played_kind = event->playing.kind;
    sr_sitting_enter(sitting, SR_SITTING_SHOWING);
    break;
  case SR_SESSION_PLAYED:
    sr_sitting_enter(sitting,
                     sitting->phase == SR_SITTING_SHOWING ? SR_SITTING_READY : sitting->phase);
    break;
  case SR_SESSION_WAITING:
    sitting->wait =
        (SrSittingWait){!event->waiting.over, event->waiting.midi, event->waiting.left_s};
    g_signal_emit_by_name(sitting, "changed");
    break;
  case SR_SESSION_SIGNAL_HELD:
    sitting->held_s = event->signal_held.held_s;
    sitting->held_meaning = event->signal_held.meaning;
    g_signal_emit_by_name(sitting, "changed");
    break;
  case SR_SESSION_TEMPO:
    sitting->bpm = event->bpm;
    sr_sitting_enter(sitting, sitting->phase);
    break;
  case SR_SESSION_TROUBLE:
    sr_sitting_take_trouble(sitting, &event->trouble.error);
    break;
  case SR_SESSION_STOPPED:
    sr_sitting_enter(sitting, SR_SITTING_ENDING);
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
