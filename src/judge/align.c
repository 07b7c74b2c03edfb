// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file align.c
   The cheapest explanation of all sounds in order. A state is the last note begun and whether a cut
   for the next one has been heard. Costs are in units of "one note gone wrong"; they only choose
   between explanations.

   From the cheapest state the player may leap back, to the first note, or ahead, onto a note or its
   cut (sr_align_try_leaping()); when the take is over, a round may also begin with a later bar.
   During play it costs next to nothing that the end has not come yet, and the second time of a bar
   costs more than its first: otherwise a part that is played once looks like its repeat as soon as
   it ends, and all of it is reported twice.

   A note missed and an insertion in its place are one wrong note (take_for_wrong()). A wrong note
   that is corrected at once delays the rest by one note, so each would be wrong as the one before;
   the right pitch that followed shows it (is_corrected()). A cut is that of the next note or, where
   notes were missed, of a later one (cut_time_cost()); a cut on top of a note that sounds on may be
   that of any of the repeats after it. With accompaniment, is_under() decides what lies below the
   melody.

   During play a wrong note is reported as soon as it is no flicker, though it may still turn out a
   stray cut or an insertion (COST_NO_STRAY_END, ends_with_unlikely_extra()): otherwise the player
   would learn of it only with the next note. One a third or more above a note without a cut waits
   until it is too long for a cut, or every cut that a player adds would flash as a wrong note.

   One grace is a cut or a strike and has a verdict. Several graces before a note are one state,
   like a cut (try_graces()): the first sets the time, and the beat may lie anywhere from there to
   the note (sr_beat_place_graces()). What follows on the note of a roll or a cran is part of it
   (try_roll()); a plain note costs the same. A long plain note may be rolled, or played as several,
   until its time is up (try_long_note()).
*/

#include "align_states.h"

#include "cut.h"
#include "rounds.h"
#include "score.h"
#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdlib.h>

/// Whether a sound may be accompaniment: it starts with a higher one, or lies under higher ones for
/// most of its time.
static bool
is_under(const SrAligner* const a, const size_t i)
{
  const SrEvent* const low = &a->events[i];
  const double length_s = low->end_s - low->onset_s;
  const size_t first = i > NEIGHBOURS ? i - NEIGHBOURS : 0;
  double covered_s = 0.0;
  double reached_s = low->onset_s;
  for (size_t j = first; j < a->count && j <= i + NEIGHBOURS; ++j) {
    const SrEvent* const other = &a->events[j];
    const double end_s = fmin(low->end_s, other->end_s);
    if (other->midi < low->midi + THIRD || other->end_s - other->onset_s < SR_OWN_NOTE_S) {
      continue;
    }
    const double overlap_s = end_s - fmax(low->onset_s, other->onset_s);
    const double shorter_s = fmin(length_s, other->end_s - other->onset_s);
    if (fabs(other->onset_s - low->onset_s) < WITH_S && overlap_s > UNDER_SHARE * shorter_s) {
      return true;
    }
    // Sorted by onset, so only the part after `reached_s` is new
    covered_s += fmax(0.0, end_s - fmax(reached_s, other->onset_s));
    reached_s = fmax(reached_s, end_s);
  }
  return covered_s > UNDER_SHARE * length_s;
}

/// Whether the pending cut of a state is too long or too close in pitch to its note to be a stray
/// cut.
static bool
is_no_stray(const SrAlignCell* const cell, const SrPhraseNote* const written)
{
  const double length_s = cell->cut_end_s - cell->cut_s;
  return length_s > NO_STRAY_S ||
         (length_s > SURE_NOTE_S && cell->cut_midi - written->midi <= NEXT_STEP);
}

/// Whether a state takes the last sound for an insertion that is more likely a wrong note: it still
/// sounds, is long, came alone or after its cut, and is neither a new start of the phrase nor at a
/// place where a repeat may have been skipped.
static bool
ends_with_unlikely_extra(const SrAligner* const a, const size_t state)
{
  const SrEvent* const event = a->count > 0 ? &a->events[a->count - 1] : NULL;
  const SrEvent* const before = a->count > 1 ? event - 1 : NULL;
  if (!event || !event->sounding || event->end_s - event->onset_s < SURE_NOTE_S ||
      a->steps[(a->count - 1) * a->states + state].role != SR_ROLE_INSERTION) {
    return false;
  }
  const bool its_cut = before && state % 2 && a->now[state].cut_s >= before->onset_s;
  const bool alone = !before || its_cut || event->onset_s - before->onset_s >= SR_OWN_NOTE_S;
  return alone && event->midi != a->places[0].written->midi && !sr_align_is_repeat(a, state / 2);
}

static void
trace_back(const SrAligner* const a, const bool going_on, SrAlignedSound* const aligned)
{
  size_t state = 0;
  float least = INFINITY;
  for (size_t s = 0; s < a->states; ++s) {
    if (!(a->now[s].cost < least)) {
      continue; // the other terms only add; unreached cells hold no valid data
    }
    // The unplayed rest of the phrase costs at most COST_UNFINISHED, however long
    const size_t note = s / 2;
    float rest = sr_align_unfinished_cost(a, note);
    if (going_on) {
      // A note whose cut is heard counts as begun, the last one too
      rest = fminf(COST_NOT_FINISHED_YET, sr_align_unfinished_cost(a, note + s % 2));
    }
    if (going_on && note < a->notes && ends_with_unlikely_extra(a, s)) {
      rest += COST_EXTRA_END;
    }
    if (s % 2 && note < a->notes && a->places[note].written->ornament == SR_ORNAMENT_NONE) {
      // A next note is more likely than an unwritten cut before a note that never came
      rest += is_no_stray(&a->now[s], a->places[note].written) ? COST_NO_STRAY_END : COST_STRAY_END;
    }
    if (a->now[s].cost + rest < least) {
      least = a->now[s].cost + rest;
      state = s;
    }
  }
  int into = -1; // the note that a cut led into
  double into_s = (double)NAN;
  int corrected = -1; // the note that corrected another
  for (size_t e = a->count; e-- > 0;) {
    const SrAlignStep step = a->steps[e * a->states + state];
    SrAlignedSound* const sound = &aligned[e];
    sound->event = e;
    sound->role = (SrRole)step.role;
    sound->on_top = step.on_top;
    sound->note = -1;
    if (sound->role == SR_ROLE_NOTE && step.on_top) {
      sound->note = (int)(state / 2) - 1;
      sound->on_top = false;
      corrected = sound->note;
      into_s = a->events[e].onset_s;
    } else if (sound->role == SR_ROLE_NOTE && (int)(state / 2) - 1 == corrected) {
      // A cut before it belongs to the note unless too far away
      sound->role = SR_ROLE_INSERTION;
      into = step.state % 2 ? corrected : -1;
      corrected = -1;
    } else if (sound->role == SR_ROLE_NOTE) {
      sound->note = (int)(state / 2) - 1;
      into = step.state % 2 ? sound->note : -1;
      into_s = a->events[e].onset_s;
    } else if (sound->role == SR_ROLE_CUT && !step.on_top && into >= 0 &&
               !(into_s - a->events[e].end_s < FAR_CUT_S)) {
      sound->role = SR_ROLE_INSERTION;
    } else if (sound->role == SR_ROLE_CUT) {
      const int next = into >= 0 ? into : (int)(state / 2);
      sound->note = step.on_top ? (int)(state / 2) - 1 : next;
      into = step.on_top ? into : -1;
    } else if (sound->role == SR_ROLE_TAIL || (sound->role == SR_ROLE_GRACE && step.on_top)) {
      sound->note = (int)(state / 2) - 1;
    } else if (sound->role == SR_ROLE_GRACE) {
      sound->note = into >= 0 ? into : (int)(state / 2);
      into = step.state % 2 ? into : -1;
    }
    state = step.state;
  }
}

/// Whether a sound is a note in its own right between two others: as loud, and clear of both in
/// time.
static bool
stands_between(const SrAligner* const a, const size_t e, const SrEvent* const one,
               const SrEvent* const two)
{
  const SrEvent* const event = &a->events[e];
  const bool loud = event->level_db > fmin(one->level_db, two->level_db) - STANDS_DB;
  return loud && !a->under[e] && event->end_s - event->onset_s >= SR_OWN_NOTE_S &&
         event->onset_s > one->onset_s + SR_OWN_NOTE_S &&
         event->onset_s > one->end_s - SR_OWN_NOTE_S &&
         event->onset_s < two->onset_s - SR_OWN_NOTE_S &&
         event->end_s < two->onset_s + SR_OWN_NOTE_S;
}

/// Turn a missed note and a single insertion in its place into a wrong note, however far off the
/// beat.
static void
take_for_wrong(const SrAligner* const a, SrAlignedSound* const aligned)
{
  const SrAlignedSound* before = NULL;
  SrAlignedSound* other = NULL;
  size_t others = 0;
  for (size_t e = 0; e < a->count; ++e) {
    SrAlignedSound* const sound = &aligned[e];
    if (sound->role == SR_ROLE_INSERTION &&
        a->events[e].end_s - a->events[e].onset_s >= SR_OWN_NOTE_S) {
      other = sound;
      ++others;
    } else if (sound->role == SR_ROLE_CUT && sound->on_top) {
      before = NULL;
    } else if (sound->role == SR_ROLE_NOTE) {
      if (before && others == 1 && other && sound->note == before->note + 2 &&
          !a->places[before->note + 1].repeats &&
          stands_between(a, other->event, &a->events[before->event], &a->events[e])) {
        other->role = SR_ROLE_NOTE;
        other->note = before->note + 1;
      }
      before = sound;
      other = NULL;
      others = 0;
    }
  }
}

static bool
has_chords(const SrPhrase* const phrase)
{
  const size_t notes = sr_phrase_note_count(phrase);
  size_t i = 0;
  while (i < notes && sr_phrase_note(phrase, i)->chord_count == 0) {
    ++i;
  }
  return i < notes;
}

/// Find the sounds under others, and the number of leading sounds whose alignment can be reused.
static size_t
go_on_from(const SrAlignMemory* const m, const SrAligner* const a)
{
  size_t as_before = 0;
  while (as_before < m->count && as_before < a->count &&
         sr_align_same_event(&m->events[as_before], &a->events[as_before])) {
    ++as_before;
  }
  size_t kept = 0;
  for (size_t i = 0; i < a->count; ++i) {
    // All its neighbours are unchanged
    const bool known = i + NEIGHBOURS < as_before;
    a->under[i] = known ? m->under[i] : a->below && is_under(a, i);
    kept += kept == i && i < as_before && m->under[i] == a->under[i];
  }
  return kept >= m->oldest ? kept : 0;
}

static void
align_from(SrAligner* const a, SrAlignMemory* const m, const size_t start)
{
  if (start == 0) {
    m->oldest = 0;
  }
  if (a->count + 1 > ROWS && m->oldest < a->count + 1 - ROWS) {
    m->oldest = a->count + 1 - ROWS;
  }
  if (start == 0) {
    SrAlignCell* const first = sr_align_row_after(m, 0);
    for (size_t s = 0; s < a->states; ++s) {
      first[s] =
          (SrAlignCell){.cost = s == 0 ? 0.0f : INFINITY, .event = NO_EVENT, .from_note = -1};
    }
  }
  for (size_t e = 0; e < start; ++e) {
    a->last_end_s = fmax(a->last_end_s, a->events[e].end_s);
  }
  for (size_t e = start; e < a->count; ++e) {
    a->now = sr_align_row_after(m, e);
    a->next = sr_align_row_after(m, e + 1);
    for (size_t s = 0; s < a->states; ++s) {
      a->next[s].cost = INFINITY;
    }
    for (size_t n = 0; n < a->notes; ++n) {
      a->places[n].pitch = sr_align_pitch_cost(a->places[n].written, &a->events[e]);
    }
    const float most = a->now[sr_align_cheapest(a)].cost + HOPELESS;
    for (size_t s = 0; s < a->states; ++s) {
      if (a->now[s].cost < most) {
        sr_align_try_moves(a, e, s);
      }
    }
    sr_align_try_leaping(a, e);
    a->last_end_s = fmax(a->last_end_s, a->events[e].end_s);
    m->events[e] = a->events[e];
    m->under[e] = a->under[e];
  }
  a->now = sr_align_row_after(m, a->count);
  m->count = a->count;
}

SrStatus
sr_align(const SrPhrase* const phrase, const SrEvent* const events, const size_t count,
         const SrJudgeSettings* const settings, const bool going_on, SrAlignMemory* const memory,
         SrAlignedSound* const aligned)
{
  SrAlignMemory own = {0};
  SrAlignMemory* const m = memory ? memory : &own;
  SrAligner a = {.phrase = phrase, .events = events, .count = count, .settings = settings};
  a.notes = sr_phrase_note_count(phrase);
  a.states = 2 * (a.notes + 1);
  a.likely_bpm = sr_judge_likely_bpm(phrase, settings);
  a.pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  a.long_note = LONG_STEPS * sr_score_step(phrase) * a.pulse - 1e-9;
  // A note that starts while the previous one dies away must not be delayed until that is over
  a.going_on = going_on;
  a.below = !going_on || settings->accompanied || has_chords(phrase);
  a.under = (unsigned char*)calloc(count + 1, 1);
  a.places = (SrAlignPlace*)calloc(a.notes + 1, sizeof(SrAlignPlace));
  SrStatus status = SR_NO_MEMORY;
  if (a.under && a.places && a.states > 0 && sr_align_memory_open(m, &a)) {
    for (size_t n = 0; n < a.notes; ++n) {
      a.places[n].written = sr_phrase_note(phrase, n);
      a.places[n].start = sr_fraction_value(a.places[n].written->start);
      a.places[n].repeats = sr_note_repeats(phrase, n);
    }
    a.steps = m->steps;
    a.first_times = m->first_times;
    align_from(&a, m, go_on_from(m, &a));
    trace_back(&a, going_on, aligned);
    take_for_wrong(&a, aligned);
    status = SR_OK;
  }
  free(a.under);
  free(a.places);
  sr_align_memory_clear(&own);
  return status;
}
