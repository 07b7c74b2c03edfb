// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file align_moves.c
   What a sound can be in each state of an alignment, and what that costs.
*/

#include "align_states.h"

#include "cut.h"
#include "rounds.h"
#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdlib.h>

static void
offer(SrAligner* const a, const size_t event, const size_t from, const size_t to, const float cost,
      const SrAlignCell* const cell, const SrRole role, const bool on_top)
{
  if (cost < a->next[to].cost) {
    a->next[to] = *cell;
    a->next[to].cost = cost;
    a->steps[event * a->states + to] = (SrAlignStep){(uint16_t)from, (uint8_t)role, on_top};
  }
}

static float
extra_cost(const SrEvent* const event)
{
  const float length = (float)fmin(1.0, (event->end_s - event->onset_s) / SLOW_CUT_S);
  return COST_EXTRA_SHORT + (COST_EXTRA_LONG - COST_EXTRA_SHORT) * length;
}

/// The cost of a step in time, and the tempo after it.
static float
time_cost(const SrAligner* const a, const SrAlignCell* const cell, const int note,
          const double onset, SrAlignCell* const to)
{
  const double score = a->places[note].start - a->places[cell->from_note].start;
  const double seconds = onset - cell->onset;
  if (score <= 0.0 || seconds <= 0.0) {
    return MOST_TIME;
  }
  const float played = logf((float)(seconds / score));
  if (cell->steps == 0) {
    const double bpm = 60.0 / (seconds / score * a->pulse);
    to->log_spw = played;
    to->odd_steps = 0;
    to->steps = 1;
    const float octaves = (float)log2(bpm / a->likely_bpm);
    return fminf(MOST_TIME, COST_UNLIKELY * octaves * octaves);
  }
  // Several steps that agree are a new tempo
  const bool alike = cell->odd_steps > 0 && fabsf(played - cell->log_odd) < ALIGN_SAME_TEMPO;
  const bool other = alike && cell->odd_steps + 1 >= OTHER_TEMPO_STEPS;
  to->log_spw = other ? cell->log_odd : cell->log_spw;
  const float apart = played - to->log_spw;
  const float off = fabsf(apart);
  // A hesitation does not change the tempo; the first steps are not yet certain of it
  const bool odd = off >= ALIGN_SAME_TEMPO && cell->steps >= SURE_STEPS;
  to->log_odd = played;
  to->odd_steps = odd ? (alike ? cell->odd_steps : 0) + 1 : 0;
  if (!odd) {
    const float weight =
        cell->steps < SURE_STEPS ? 1.0f / (float)(cell->steps + 1) : (float)fmin(0.5, 0.15 + score);
    to->log_spw += weight * apart;
  }
  to->steps = cell->steps + 1;
  const float sure = fminf(1.0f, (float)cell->steps / (float)SURE_STEPS);
  return fminf(MOST_TIME, COST_TIME * off * off) * sure;
}

float
sr_align_pitch_cost(const SrPhraseNote* const note, const SrEvent* const event)
{
  if (event->midi == note->midi) {
    return 0.0f;
  }
  for (int i = 0; i < note->chord_count; ++i) {
    if (event->midi == note->chord_midi[i]) {
      return 0.6f;
    }
  }
  const int apart = abs(event->midi - note->midi);
  return COST_WRONG + 0.04f * (float)(apart < 12 ? apart : 12);
}

/// Whether a note repeats the one before it and has a cut of this pitch.
static bool
is_cut_of_repeat(const SrAligner* const a, const int note, const int cut_midi)
{
  return note < (int)a->notes && a->places[note].repeats &&
         a->places[note].written->cut_midi == cut_midi;
}

/// The cost of a grace longer than a cut; a note, if one fits, is more likely.
static float
slow_cost(const double length_s)
{
  return 2.0f * (float)fmax(0.0, length_s - 0.1);
}

/// The pitch and length cost of a sound as the cut or strike before a note; negative if impossible.
static float
cut_cost(const SrPhraseNote* const written, const SrEvent* const event)
{
  const double length_s = event->end_s - event->onset_s;
  if (length_s > SR_GRACE_MOST_S ||
      !sr_ornament_may_be_grace(written->midi, written->cut_midi, event->midi)) {
    return -1.0f;
  }
  // Fragments of neighbouring pitches appear as a note starts
  if (length_s < FLICKER_S && abs(event->midi - written->midi) == 1 &&
      sr_ornament_is_other_side(written->midi, written->cut_midi, event->midi)) {
    return -1.0f;
  }
  const float slow = slow_cost(length_s);
  return written->cut_midi >= 0
             ? slow + 0.03f * (float)abs(event->midi - written->cut_midi)
             : slow + COST_STRAY + COST_SLOW_STRAY * (float)fmax(0.0, length_s - SLOW_CUT_S);
}

/// The cost of a sound as a cut before a note or, where that is joined, before one that repeats it;
/// negative if impossible.
static float
pending_cut_cost(const SrAligner* const a, const int note, const SrEvent* const event)
{
  float cost = cut_cost(a->places[note].written, event);
  for (int n = note + 1;
       cost < 0.0f && n < (int)a->notes && n <= note + MOST_CUT_SKIP && a->places[n - 1].repeats;
       ++n) {
    // Not this note's cut, but it may be a later note's if this one is joined
    const SrPhraseNote* const later = a->places[n].written;
    cost = later->cut_midi == event->midi ? cut_cost(later, event) : cost;
  }
  return cost;
}

/// What a heard cut costs more or less if it is that of a later note, which is the sound after it:
/// it came before the number of missed notes was known. If the later note repeats the next one, the
/// cut costs what it costs there, and what was paid for a stray one is given back; otherwise a cut
/// and its note were told as the note that was missed and a joined one.
static float
later_cut_cost(const SrAligner* const a, const SrAlignCell* const cell, const int next,
               const int later, const SrEvent* const event)
{
  const SrPhraseNote* const written = a->places[later].written;
  if (written->cut_midi < 0 || event->midi != written->midi) {
    return COST_STRAY;
  }
  if (later != next + 1 || !a->places[later].repeats ||
      a->places[next].written->ornament_count > 0) {
    return 0.05f;
  }
  const SrEvent cut = {.onset_s = cell->cut_s, .end_s = cell->cut_end_s, .midi = cell->cut_midi};
  const float own = cut_cost(written, &cut);
  return own < 0.0f ? 0.05f : 0.05f + (own - pending_cut_cost(a, next, &cut));
}

/// Take the sound for the next note or a later one.
static void
try_notes(SrAligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const SrAlignCell* const cell = &a->now[state];
  const int last = (int)(state / 2) - 1;
  const int furthest = last + 1 + MOST_SKIP;
  const double gap_s = state % 2 ? event->onset_s - cell->cut_end_s : 0.0;
  const bool cut = state % 2 && gap_s < FAR_CUT_S;
  const float loose = gap_s > LOOSE_CUT_S ? COST_LOOSE : 0.0f;
  // Cost of the notes between, which have no sound of their own
  float skipped = 0.0f;
  bool joined = cell->event < a->count && a->events[cell->event].end_s > event->onset_s - COVERS_S;
  for (int note = last + 1; note < (int)a->notes && note <= furthest; ++note) {
    const SrAlignPlace* const place = &a->places[note];
    const SrPhraseNote* const written = place->written;
    const size_t into = 2 * ((size_t)note + 1);
    float cost = cell->cost + place->pitch + skipped;
    joined = joined && place->repeats;
    skipped += joined ? COST_JOINED : COST_MISSED;
    if (cut && note != last + 1) {
      cost += later_cut_cost(a, cell, last + 1, note, event);
    }
    if (!(cost < a->next[into].cost)) {
      continue; // the other terms only add
    }
    if (cut && written->cut_midi < 0 && is_cut_of_repeat(a, note + 1, cell->cut_midi)) {
      cost += COST_OTHERS_CUT;
    }
    if (!cut && written->cut_midi >= 0) {
      cost += COST_ABSENT;
    }
    cost += loose;
    if (event->end_s - event->onset_s < FLICKER_S) {
      cost += COST_FLICKER;
    }
    if (!(cost < a->next[into].cost)) {
      continue; // the time cost only adds
    }
    SrAlignCell to = *cell;
    double onset_s = cut ? cell->cut_s : event->onset_s;
    if (cell->from_note >= 0) {
      float late = time_cost(a, cell, note, onset_s, &to);
      if (cut && written->ornament_count > 0) {
        // Its graces may come before the beat
        SrAlignCell behind = *cell;
        const float later = time_cost(a, cell, note, event->onset_s, &behind);
        onset_s = later < late ? event->onset_s : onset_s;
        to = later < late ? behind : to;
        late = fminf(late, later);
      }
      cost += late;
    }
    to.onset = onset_s;
    to.event = e;
    to.from_note = note;
    offer(a, e, state, into, cost, &to, SR_ROLE_NOTE, false);
  }
}

/// The time cost of a cut. It may be that of a later note if some were missed, but not across a
/// repeated note: that one is more likely joined.
static float
cut_time_cost(const SrAligner* const a, const SrAlignCell* const cell, const int note,
              const SrEvent* const event)
{
  SrAlignCell unused = *cell;
  float least = time_cost(a, cell, note, event->onset_s, &unused);
  for (int n = note + 1;
       n < (int)a->notes && n <= note + MOST_CUT_SKIP && !a->places[n - 1].repeats; ++n) {
    if (a->places[n].written->cut_midi == event->midi) {
      unused = *cell;
      const float later = COST_LATER_CUT + time_cost(a, cell, n, event->onset_s, &unused);
      least = fminf(least, later);
    }
  }
  return least;
}

/// The cost of taking a sound for one of a note's several graces; negative if impossible.
static float
grace_cost(const SrPhraseNote* const written, const SrEvent* const event)
{
  const double length_s = event->end_s - event->onset_s;
  const int step = abs(event->midi - written->midi);
  if (written->ornament_count == 0 || length_s > SR_GRACE_MOST_S) {
    return -1.0f;
  }
  bool listed = false;
  for (int i = 0; i < written->ornament_count; ++i) {
    listed = listed || written->ornament_midi[i] == event->midi;
  }
  if (!listed && (step == 0 || step > SR_GRACE_MOST_STEP)) {
    return -1.0f;
  }
  return (listed ? COST_GRACE : COST_STRAY) + slow_cost(length_s);
}

/// Take the sound for one of several graces before the next note. Like a cut, the first one sets
/// its time.
static void
try_graces(SrAligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const SrAlignCell* const cell = &a->now[state];
  const int note = (int)(state / 2);
  const float grace = grace_cost(a->places[note].written, event);
  if (grace < 0.0f || (state % 2 && event->onset_s - cell->cut_end_s > ROLL_GAP_S)) {
    return;
  }
  float cost = cell->cost + grace;
  SrAlignCell to = *cell;
  if (state % 2 == 0) {
    // The first grace is on the beat, or early enough for the note to be
    SrEvent ahead = *event;
    ahead.onset_s += SR_GRACE_USUAL_S * a->places[note].written->ornament_count;
    to.cut_s = event->onset_s;
    cost += cell->from_note >= 0 ? 0.5f * fminf(cut_time_cost(a, cell, note, event),
                                                cut_time_cost(a, cell, note, &ahead))
                                 : 0.0f;
  }
  to.cut_end_s = event->end_s;
  to.cut_midi = event->midi;
  offer(a, e, state, state | 1u, cost, &to, SR_ROLE_GRACE, false);
}

/// Take the sound for the cut or strike before the next note.
static void
try_cut(SrAligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const SrAlignCell* const cell = &a->now[state];
  const int note = (int)(state / 2);
  if (note >= (int)a->notes) {
    return;
  }
  if (a->places[note].written->ornament_count > 0) {
    try_graces(a, e, state);
    return;
  }
  const float cost = state % 2 ? 0.0f : pending_cut_cost(a, note, event);
  if (state % 2 || cost < 0.0f) {
    return;
  }
  const bool placed = cell->from_note >= 0;
  const float late = placed ? 0.3f * cut_time_cost(a, cell, note, event) : 0.0f;
  SrAlignCell to = *cell;
  to.cut_s = event->onset_s;
  to.cut_end_s = event->end_s;
  to.cut_midi = event->midi;
  offer(a, e, state, state + 1, cell->cost + cost + late, &to, SR_ROLE_CUT, false);
  // The previous note still sounds: this note is joined and already over, as are the repeats up to
  // the cut's note
  if (!placed || note == 0 || cell->event >= e ||
      !(a->events[cell->event].end_s > event->end_s + THROUGH_S)) {
    return;
  }
  for (int n = note; n < (int)a->notes && n <= note + MOST_SKIP && a->places[n].repeats; ++n) {
    const float here = cut_cost(a->places[n].written, event);
    to = *cell;
    const float off =
        0.3f * cut_time_cost(a, cell, n, event) + 0.5f * time_cost(a, cell, n, event->onset_s, &to);
    to.onset = event->onset_s;
    to.from_note = n;
    if (here >= 0.0f) {
      offer(a, e, state, 2 * ((size_t)n + 1),
            cell->cost + here + off + COST_JOINED * (float)(n - note), &to, SR_ROLE_CUT, true);
    }
  }
}

/// Take the sound for a part of the last note's roll or cran: a grace on it, or the note again
/// after a grace.
static void
try_roll(SrAligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const SrAlignCell* const cell = &a->now[state];
  const SrPhraseNote* const written = state >= 2 ? a->places[state / 2 - 1].written : NULL;
  const bool roll =
      written && (written->ornament == SR_ORNAMENT_ROLL || written->ornament == SR_ORNAMENT_CRAN);
  if (!roll || state % 2 || cell->event >= a->count ||
      event->onset_s - a->last_end_s > ROLL_GAP_S) {
    return;
  }
  if (event->midi == written->midi) {
    SrAlignCell to = *cell;
    to.event = e;
    offer(a, e, state, state, cell->cost + COST_GRACE, &to, SR_ROLE_TAIL, false);
  } else {
    // If it fits as a grace of the next note, that is cheaper
    const float grace = grace_cost(written, event);
    if (grace >= 0.0f) {
      offer(a, e, state, state, cell->cost + grace + COST_GRACE, cell, SR_ROLE_GRACE, true);
    }
  }
}

/// Whether a sound comes while the last note, long and without an ornament, should still sound.
static bool
is_in_long_note(const SrAligner* const a, const SrAlignCell* const cell, const int last,
                const SrEvent* const event)
{
  if (last < 0 || cell->event >= a->count || cell->from_note != last) {
    return false;
  }
  const SrPhraseNote* const written = a->places[last].written;
  const double length = sr_fraction_value(written->length);
  const double whole_s =
      cell->steps > 0 ? exp((double)cell->log_spw) : 60.0 / a->likely_bpm / a->pulse;
  return written->ornament_count == 0 && length >= a->long_note &&
         event->onset_s - cell->onset < MOST_GONE * length * whole_s;
}

/// A long plain note may be played as a roll or as several notes: its beat is the first sound.
static void
try_long_note(SrAligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const SrAlignCell* const cell = &a->now[state];
  const int last = (int)(state / 2) - 1;
  if (state % 2 || !is_in_long_note(a, cell, last, event)) {
    return;
  }
  const int step = abs(event->midi - a->places[last].written->midi);
  if (step == 0) {
    SrAlignCell to = *cell;
    to.event = e;
    offer(a, e, state, state, cell->cost + COST_REATTACK, &to, SR_ROLE_TAIL, false);
  } else if (step <= SR_GRACE_MOST_STEP && event->end_s - event->onset_s < SLOW_CUT_S) {
    const float slow = slow_cost(event->end_s - event->onset_s);
    offer(a, e, state, state, cell->cost + COST_STRAY + COST_GRACE + slow, cell, SR_ROLE_GRACE,
          true);
  }
}

/// Whether a sound is the last note, played just after another one in its place.
static bool
is_corrected(const SrAligner* const a, const SrAlignCell* const cell, const int last,
             const SrEvent* const event)
{
  if (last < 0 || cell->event >= a->count || event->midi != a->places[last].written->midi ||
      event->end_s - event->onset_s < DUE_S) {
    return false;
  }
  const SrEvent* const other = &a->events[cell->event];
  return other->midi != event->midi && event->onset_s > other->onset_s + DUE_S &&
         event->onset_s < other->end_s + SR_CORRECTED_S;
}

/// Keep the state: an insertion, a sound under the melody, the last note again, or its correction.
static void
try_staying(SrAligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const SrAlignCell* const cell = &a->now[state];
  const int last = (int)(state / 2) - 1;
  if (last >= 0 && !(state % 2) && event->midi == a->places[last].written->midi &&
      event->fall_db < a->settings->joined_fall_db && cell->event < a->count &&
      event->onset_s - a->events[cell->event].end_s < ROLL_GAP_S) {
    SrAlignCell to = *cell;
    to.event = e;
    const float cost = sr_sound_held(a->settings, event) ? COST_HELD : COST_REATTACK;
    offer(a, e, state, state, cell->cost + cost, &to, SR_ROLE_TAIL, false);
  }
  if (!(state % 2) && is_corrected(a, cell, last, event)) {
    // The tempo is kept; the note is late by the length of the other
    SrAlignCell to = *cell;
    to.event = e;
    to.onset = event->onset_s;
    offer(a, e, state, state, cell->cost + COST_CORRECTED, &to, SR_ROLE_NOTE, true);
  }
  // The pitch of the next cut or note is unlikely by chance
  const size_t next = state / 2;
  const SrPhraseNote* const written = next < a->notes ? a->places[next].written : NULL;
  const double length_s = event->end_s - event->onset_s;
  const bool due = written && ((state % 2 && written->midi == event->midi && length_s > DUE_S) ||
                               (written->cut_midi == event->midi && length_s < SR_GRACE_MOST_S));
  if (a->under[e]) {
    offer(a, e, state, state, cell->cost + (due ? COST_DUE : 0.0f), cell, SR_ROLE_UNDER, false);
  }
  const float cost = extra_cost(event) + (due ? COST_DUE : 0.0f);
  offer(a, e, state, state, cell->cost + cost, cell, SR_ROLE_INSERTION, false);
}

size_t
sr_align_cheapest(const SrAligner* const a)
{
  size_t best = 0;
  for (size_t s = 1; s < a->states; ++s) {
    best = a->now[s].cost < a->now[best].cost ? s : best;
  }
  return best;
}

float
sr_align_unfinished_cost(const SrAligner* const a, const size_t begun)
{
  return begun < a->notes ? fminf(COST_UNFINISHED, COST_MISSED * (float)(a->notes - begun)) : 0.0f;
}

bool
sr_align_is_repeat(const SrAligner* const a, const size_t note)
{
  return note > 0 && note < a->notes &&
         a->places[note].written->bar < a->places[note - 1].written->bar;
}

/// The cost of a leap from a state straight to a note; negative if impossible.
static float
leap_cost(const SrAligner* const a, const size_t e, const size_t state, const size_t note)
{
  const size_t place = state / 2;
  if (note == 0 && place > 0) {
    const bool paused = e > 0 && a->events[e].onset_s - a->last_end_s > PAUSE_S;
    return paused ? COST_AFTER_PAUSE : COST_FIRST_AGAIN;
  }
  if (note < place) {
    return COST_LEAP;
  }
  const bool bar = sr_fraction_value(a->places[note].written->in_bar) < 1e-9;
  // A finished round may begin with any bar
  if ((place > 0 || (bar && state == 0 && !a->going_on)) && note > place) {
    // Being nearer to the end must not pay for the leap
    return (bar ? COST_LEAP_TO_BAR : COST_LEAP) -
           (sr_align_is_repeat(a, place) ? COST_UNREPEATED : 0.0f) +
           (a->first_times[note] >= (int)place ? COST_SECOND_TIME : 0.0f) + COST_UNFINISHED -
           sr_align_unfinished_cost(a, note + 1);
  }
  return -1.0f;
}

void
sr_align_try_leaping(SrAligner* const a, const size_t e)
{
  const SrEvent* const event = &a->events[e];
  const double length_s = event->end_s - event->onset_s;
  const size_t best = sr_align_cheapest(a);
  for (size_t n = 0; n < a->notes; ++n) {
    const SrPhraseNote* const written = a->places[n].written;
    const bool group = written->ornament_count > 0 && written->ornament != SR_ORNAMENT_ROLL &&
                       event->midi == written->ornament_midi[0];
    const bool cut = (group || event->midi == written->cut_midi) && length_s <= SR_GRACE_MOST_S;
    const float pitch = cut ? 0.0f : a->places[n].pitch;
    if ((n > 0 && pitch > 0.0f) || (!cut && length_s < FLICKER_S)) {
      continue;
    }
    const float absent = !cut && written->cut_midi >= 0 ? COST_ABSENT : 0.0f;
    const SrRole role = !cut ? SR_ROLE_NOTE : group ? SR_ROLE_GRACE : SR_ROLE_CUT;
    const size_t into = 2 * (n + 1) - cut;
    SrAlignCell to = {.onset = event->onset_s,
                      .cut_s = event->onset_s,
                      .cut_end_s = event->end_s,
                      .cut_midi = event->midi,
                      .event = cut ? NO_EVENT : e,
                      .from_note = cut ? -1 : (int)n};
    if (n == 0) {
      for (size_t missing = 0; missing <= 3 && missing < a->notes; ++missing) {
        const size_t end = 2 * (a->notes - missing);
        const float cost =
            a->now[end].cost + COST_NEXT_ROUND + (float)missing * COST_MISSED + pitch + absent;
        offer(a, e, end, into, cost, &to, role, false);
      }
    }
    const float leap = leap_cost(a, e, best, n);
    if (leap >= 0.0f) {
      // The tempo is kept, except on a new start
      to.log_spw = a->now[best].log_spw;
      to.steps = n == 0 ? 0 : a->now[best].steps;
      const float stray = best % 2 ? COST_STRAY : 0.0f; // a cut that led nowhere
      offer(a, e, best, into, a->now[best].cost + leap + pitch + absent + stray, &to, role, false);
    }
  }
}

void
sr_align_try_moves(SrAligner* const a, const size_t e, const size_t state)
{
  try_staying(a, e, state);
  try_cut(a, e, state);
  try_roll(a, e, state);
  try_long_note(a, e, state);
  try_notes(a, e, state);
}
