// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file align.c
   The cheapest explanation of all sounds in order. A state is the last note begun and whether a cut
   for the next one has been heard. Costs are in units of "one note gone wrong"; they only choose
   between explanations.

   From the cheapest state the player may leap back, to the first note, or ahead, onto a note or its
   cut (try_leaping()); when the take is over, a round may also begin with a later bar. During play
   it costs next to nothing that the end has not come yet, and the second time of a bar costs more
   than its first: otherwise a part that is played once looks like its repeat as soon as it ends,
   and all of it is reported twice.

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
   the note (place_graces() in rhythm.c). What follows on the note of a roll or a cran is part of it
   (try_roll()); a plain note costs the same. A long plain note may be rolled, or played as several,
   until its time is up (try_long_note()).
*/

#include "align.h"

#include "cut.h"
#include "rounds.h"
#include "score.h"
#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

/// The best way into a state.
typedef struct {
  float cost;
  float log_spw; ///< Logarithm of the seconds per whole note
  float log_odd; ///< The same of the last step
  int odd_steps; ///< Number of last steps that agree on another tempo
  int steps;     ///< Number of steps behind `log_spw`; 0 if unknown
  double onset;  ///< Of the last note begun, its cut included
  size_t event;  ///< Its main sound; NO_EVENT if none
  double cut_s;  ///< Onset of the cut heard for the next note, if the state has one
  double cut_end_s;
  int from_note; ///< The note that `onset` stands for; -1 if none
  int cut_midi;  ///< Of the cut heard for the next note
} Cell;

/// How one sound led into a state.
typedef struct {
  uint16_t state; ///< Before the sound
  uint8_t role;
  uint8_t on_top; ///< A cut on the previous note, or a note that corrects another
} Step;

/// A note of the phrase, cached.
typedef struct {
  const SrPhraseNote* written;
  double start; ///< Whole notes
  float pitch;  ///< Pitch cost of the current sound in its place
  bool repeats; ///< As sr_note_repeats()
} Place;

typedef struct {
  const SrPhrase* phrase;
  const SrEvent* events;
  size_t count;
  const SrJudgeSettings* settings;
  size_t notes;
  size_t states; ///< 2 * (notes + 1): (last note begun + 1) * 2, plus 1 if a cut is heard
  Cell* now;
  Cell* next;
  Step* steps;
  bool below;    ///< There may be sounds below the melody
  bool going_on; ///< The phrase is still being played
  unsigned char* under;
  Place* places;          ///< One per note
  const int* first_times; ///< As in the memory
  double likely_bpm;
  double pulse;      ///< Of the first bar, whole notes
  double long_note;  ///< Shortest long note, whole notes
  double last_end_s; ///< Of all sounds so far
} Aligner;

/// The alignment of some sounds, and its state after the last of them.
struct SrAlignMemoryImpl {
  const SrPhrase* phrase;
  double likely_bpm;
  double joined_fall_db; ///< The setting that alignment depends on besides the tempo
  bool below;            ///< As in Aligner
  size_t states;
  size_t count; ///< Sounds
  size_t room;
  SrEvent* events;
  unsigned char* under;
  Step* steps;
  int* first_times; ///< From find_first_times()
  Cell* rows;       ///< Ring of ROWS: the cells after each number of sounds
  size_t oldest;    ///< The oldest row still in the ring
};

/// Whether a sound may be accompaniment: it starts with a higher one, or lies under higher ones for
/// most of its time.
static bool
is_under(const Aligner* const a, const size_t i)
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

static void
offer(Aligner* const a, const size_t event, const size_t from, const size_t to, const float cost,
      const Cell* const cell, const SrRole role, const bool on_top)
{
  if (cost < a->next[to].cost) {
    a->next[to] = *cell;
    a->next[to].cost = cost;
    a->steps[event * a->states + to] = (Step){(uint16_t)from, (uint8_t)role, on_top};
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
time_cost(const Aligner* const a, const Cell* const cell, const int note, const double onset,
          Cell* const to)
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

static float
pitch_cost(const SrPhraseNote* const note, const SrEvent* const event)
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
is_cut_of_repeat(const Aligner* const a, const int note, const int cut_midi)
{
  return note < (int)a->notes && a->places[note].repeats &&
         a->places[note].written->cut_midi == cut_midi;
}

/// Take the sound for the next note or a later one.
static void
try_notes(Aligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const Cell* const cell = &a->now[state];
  const int last = (int)(state / 2) - 1;
  const int furthest = last < 0 ? MOST_SKIP_FIRST : last + 1 + MOST_SKIP;
  const double gap_s = state % 2 ? event->onset_s - cell->cut_end_s : 0.0;
  const bool cut = state % 2 && gap_s < FAR_CUT_S;
  const float loose = gap_s > LOOSE_CUT_S ? COST_LOOSE : 0.0f;
  // Cost of the notes between, which have no sound of their own
  float skipped = 0.0f;
  bool joined = cell->event < a->count && a->events[cell->event].end_s > event->onset_s - COVERS_S;
  for (int note = last + 1; note < (int)a->notes && note <= furthest; ++note) {
    const Place* const place = &a->places[note];
    const SrPhraseNote* const written = place->written;
    const size_t into = 2 * ((size_t)note + 1);
    float cost = cell->cost + place->pitch + skipped;
    joined = joined && place->repeats;
    skipped += joined ? COST_JOINED : COST_MISSED;
    if (!(cost < a->next[into].cost)) {
      continue; // the other terms only add
    }
    if (cut && note != last + 1) {
      // The cut came before the number of missed notes was known: it is this note's
      cost += written->cut_midi >= 0 && event->midi == written->midi ? 0.05f : COST_STRAY;
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
    Cell to = *cell;
    double onset_s = cut ? cell->cut_s : event->onset_s;
    if (cell->from_note >= 0) {
      float late = time_cost(a, cell, note, onset_s, &to);
      if (cut && written->ornament_count > 0) {
        // Its graces may come before the beat
        Cell behind = *cell;
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
cut_time_cost(const Aligner* const a, const Cell* const cell, const int note,
              const SrEvent* const event)
{
  Cell unused = *cell;
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

/// The cost of a grace longer than a cut; a note, if one fits, is more likely.
static float
slow_cost(const double length_s)
{
  return 2.0f * (float)fmax(0.0, length_s - 0.1);
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
try_graces(Aligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const Cell* const cell = &a->now[state];
  const int note = (int)(state / 2);
  const float grace = grace_cost(a->places[note].written, event);
  if (grace < 0.0f || (state % 2 && event->onset_s - cell->cut_end_s > ROLL_GAP_S)) {
    return;
  }
  float cost = cell->cost + grace;
  Cell to = *cell;
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

/// Take the sound for the cut or strike before the next note.
static void
try_cut(Aligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const Cell* const cell = &a->now[state];
  const int note = (int)(state / 2);
  if (note >= (int)a->notes) {
    return;
  }
  if (a->places[note].written->ornament_count > 0) {
    try_graces(a, e, state);
    return;
  }
  float cost = state % 2 ? 0.0f : cut_cost(a->places[note].written, event);
  for (int n = note + 1;
       cost < 0.0f && n < (int)a->notes && n <= note + MOST_CUT_SKIP && a->places[n - 1].repeats;
       ++n) {
    // Not this note's cut, but it may be a later note's if this one is joined
    const SrPhraseNote* const later = a->places[n].written;
    cost = later->cut_midi == event->midi ? cut_cost(later, event) : cost;
  }
  if (state % 2 || cost < 0.0f) {
    return;
  }
  const bool placed = cell->from_note >= 0;
  const float late = placed ? 0.3f * cut_time_cost(a, cell, note, event) : 0.0f;
  Cell to = *cell;
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
try_roll(Aligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const Cell* const cell = &a->now[state];
  const SrPhraseNote* const written = state >= 2 ? a->places[state / 2 - 1].written : NULL;
  const bool roll =
      written && (written->ornament == SR_ORNAMENT_ROLL || written->ornament == SR_ORNAMENT_CRAN);
  if (!roll || state % 2 || cell->event >= a->count ||
      event->onset_s - a->last_end_s > ROLL_GAP_S) {
    return;
  }
  if (event->midi == written->midi) {
    Cell to = *cell;
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
is_in_long_note(const Aligner* const a, const Cell* const cell, const int last,
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
try_long_note(Aligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const Cell* const cell = &a->now[state];
  const int last = (int)(state / 2) - 1;
  if (state % 2 || !is_in_long_note(a, cell, last, event)) {
    return;
  }
  const int step = abs(event->midi - a->places[last].written->midi);
  if (step == 0) {
    Cell to = *cell;
    to.event = e;
    offer(a, e, state, state, cell->cost + COST_ANEW, &to, SR_ROLE_TAIL, false);
  } else if (step <= SR_GRACE_MOST_STEP && event->end_s - event->onset_s < SLOW_CUT_S) {
    const float slow = slow_cost(event->end_s - event->onset_s);
    offer(a, e, state, state, cell->cost + COST_STRAY + COST_GRACE + slow, cell, SR_ROLE_GRACE,
          true);
  }
}

/// Whether a sound is the last note, played just after another one in its place.
static bool
is_corrected(const Aligner* const a, const Cell* const cell, const int last,
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
try_staying(Aligner* const a, const size_t e, const size_t state)
{
  const SrEvent* const event = &a->events[e];
  const Cell* const cell = &a->now[state];
  const int last = (int)(state / 2) - 1;
  if (last >= 0 && !(state % 2) && event->midi == a->places[last].written->midi &&
      event->fall_db < a->settings->joined_fall_db && cell->event < a->count &&
      event->onset_s - a->events[cell->event].end_s < ROLL_GAP_S) {
    Cell to = *cell;
    to.event = e;
    const float cost = sr_sound_held(a->settings, event) ? COST_HELD : COST_ANEW;
    offer(a, e, state, state, cell->cost + cost, &to, SR_ROLE_TAIL, false);
  }
  if (!(state % 2) && is_corrected(a, cell, last, event)) {
    // The tempo is kept; the note is late by the length of the other
    Cell to = *cell;
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
    offer(a, e, state, state, cell->cost + COST_UNDER + (due ? COST_DUE : 0.0f), cell,
          SR_ROLE_UNDER, false);
  }
  const float cost = extra_cost(event) + (due ? COST_DUE : 0.0f);
  offer(a, e, state, state, cell->cost + cost, cell, SR_ROLE_INSERTION, false);
}

/// The cheapest state.
static size_t
cheapest(const Aligner* const a)
{
  size_t best = 0;
  for (size_t s = 1; s < a->states; ++s) {
    best = a->now[s].cost < a->now[best].cost ? s : best;
  }
  return best;
}

/// The cost of having stopped after `begun` notes.
static float
unfinished_cost(const Aligner* const a, const size_t begun)
{
  return begun < a->notes ? fminf(COST_UNFINISHED, COST_MISSED * (float)(a->notes - begun)) : 0.0f;
}

/// Whether a note's bar has a lower number than the one before it: a repeat.
static bool
is_repeated_there(const Aligner* const a, const size_t note)
{
  return note > 0 && note < a->notes &&
         a->places[note].written->bar < a->places[note - 1].written->bar;
}

/// The cost of a leap from a state straight to a note; negative if impossible.
static float
leap_cost(const Aligner* const a, const size_t e, const size_t state, const size_t note)
{
  const size_t place = state / 2;
  if (note == 0 && place > 0) {
    const bool paused = e > 0 && a->events[e].onset_s - a->last_end_s > PAUSE_S;
    return paused ? COST_AFTER_PAUSE : COST_FIRST_AGAIN;
  }
  if (note < place) {
    return COST_BACK;
  }
  const bool bar = sr_fraction_value(a->places[note].written->in_bar) < 1e-9;
  // A finished round may begin with any bar
  if ((place > 0 || (bar && state == 0 && !a->going_on)) && note > place) {
    // Being nearer to the end must not pay for the leap
    return (bar ? COST_AHEAD_TO_BAR : COST_AHEAD) -
           (is_repeated_there(a, place) ? COST_UNREPEATED : 0.0f) +
           (a->first_times[note] >= (int)place ? COST_SECOND_TIME : 0.0f) + COST_UNFINISHED -
           unfinished_cost(a, note + 1);
  }
  return -1.0f;
}

/// Begin the phrase again, go back, or skip ahead: to the sound as a note, or as the cut that leads
/// into it.
static void
try_leaping(Aligner* const a, const size_t e)
{
  const SrEvent* const event = &a->events[e];
  const double length_s = event->end_s - event->onset_s;
  const size_t best = cheapest(a);
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
    Cell to = {.onset = event->onset_s,
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

/// Whether a state takes the last sound for an insertion that is more likely a wrong note: it still
/// sounds, is long, came alone or after its cut, and is neither a new start of the phrase nor at a
/// place where a repeat may have been skipped.
static bool
ends_with_unlikely_extra(const Aligner* const a, const size_t state)
{
  const SrEvent* const event = a->count > 0 ? &a->events[a->count - 1] : NULL;
  const SrEvent* const before = a->count > 1 ? event - 1 : NULL;
  if (!event || !event->sounding || event->end_s - event->onset_s < SLOW_CUT_S ||
      a->steps[(a->count - 1) * a->states + state].role != SR_ROLE_INSERTION) {
    return false;
  }
  const bool its_cut = before && state % 2 && a->now[state].cut_s >= before->onset_s;
  const bool alone = !before || its_cut || event->onset_s - before->onset_s >= SR_OWN_NOTE_S;
  return alone && event->midi != a->places[0].written->midi && !is_repeated_there(a, state / 2);
}

static void
trace_back(const Aligner* const a, const bool going_on, SrAlignedSound* const aligned)
{
  size_t state = 0;
  float least = INFINITY;
  for (size_t s = 0; s < a->states; ++s) {
    if (!(a->now[s].cost < least)) {
      continue; // the other terms only add; unreached cells hold no valid data
    }
    // The unplayed rest of the phrase costs at most COST_UNFINISHED, however long
    const size_t note = s / 2;
    float rest = unfinished_cost(a, note);
    if (going_on) {
      // A note whose cut is heard counts as begun, the last one too
      rest = fminf(COST_NOT_FINISHED_YET, unfinished_cost(a, note + s % 2));
    }
    if (going_on && note < a->notes && ends_with_unlikely_extra(a, s)) {
      rest += COST_EXTRA_END;
    }
    if (s % 2 && note < a->notes && a->places[note].written->ornament == SR_ORNAMENT_NONE) {
      // A next note is more likely than an unwritten cut before a note that never came
      rest +=
          a->now[s].cut_end_s - a->now[s].cut_s > SLOW_CUT_S ? COST_NO_STRAY_END : COST_STRAY_END;
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
    const Step step = a->steps[e * a->states + state];
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
stands_between(const Aligner* const a, const size_t e, const SrEvent* const one,
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
take_for_wrong(const Aligner* const a, SrAlignedSound* const aligned)
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
same(const double one, const double other)
{
  return isnan(one) ? isnan(other) : one <= other && one >= other;
}

/// Whether two sounds are identical in every field that alignment reads.
static bool
same_event(const SrEvent* const one, const SrEvent* const other)
{
  return one->kind == other->kind && one->midi == other->midi &&
         same(one->onset_s, other->onset_s) && same(one->end_s, other->end_s) &&
         same(one->frequency_hz, other->frequency_hz) && same(one->level_db, other->level_db) &&
         same(one->fall_db, other->fall_db) && same(one->phase_kept, other->phase_kept) &&
         same(one->fit, other->fit) && one->sounding == other->sounding;
}

SrAlignMemory*
sr_align_memory_new(void)
{
  return (SrAlignMemory*)calloc(1, sizeof(SrAlignMemory));
}

static void
clear_memory(SrAlignMemory* const memory)
{
  free(memory->events);
  free(memory->under);
  free(memory->steps);
  free(memory->rows);
  free(memory->first_times);
  memory->first_times = NULL;
  memory->events = NULL;
  memory->under = NULL;
  memory->steps = NULL;
  memory->rows = NULL;
  memory->room = 0;
  memory->count = 0;
  memory->oldest = 0;
}

void
sr_align_memory_del(SrAlignMemory* const memory)
{
  if (memory) {
    clear_memory(memory);
    free(memory);
  }
}

/// For each note the last one before it at the same place in a bar of the same number, -1 if none;
/// NULL if out of memory.
static int*
find_first_times(const Aligner* const a)
{
  int* const first_times = (int*)malloc(a->notes * sizeof(int));
  for (size_t n = 0; first_times && n < a->notes; ++n) {
    const SrPhraseNote* const note = sr_phrase_note(a->phrase, n);
    const double place = sr_fraction_value(note->in_bar);
    first_times[n] = (int)n - 1;
    while (first_times[n] >= 0) {
      const SrPhraseNote* const other = sr_phrase_note(a->phrase, (size_t)first_times[n]);
      if (other->bar == note->bar && fabs(sr_fraction_value(other->in_bar) - place) < 1e-9) {
        break;
      }
      --first_times[n];
    }
  }
  return first_times;
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

/// Make room for an alignment, and discard what belongs to another phrase or setting.
static bool
open_memory(SrAlignMemory* const m, const Aligner* const a)
{
  const double held_db = a->settings->joined_fall_db;
  if (m->phrase != a->phrase || m->states != a->states || !same(m->likely_bpm, a->likely_bpm) ||
      !same(m->joined_fall_db, held_db) || m->below != a->below) {
    clear_memory(m);
    m->phrase = a->phrase;
    m->below = a->below;
    m->likely_bpm = a->likely_bpm;
    m->joined_fall_db = held_db;
    m->states = a->states;
  }
  if (!m->rows) {
    m->rows = (Cell*)malloc(ROWS * a->states * sizeof(Cell));
  }
  if (!m->first_times) {
    m->first_times = find_first_times(a);
  }
  if (a->count > m->room) {
    const size_t room = a->count + a->count / 2 + 16;
    SrEvent* const events = (SrEvent*)realloc(m->events, room * sizeof(SrEvent));
    m->events = events ? events : m->events;
    unsigned char* const under = (unsigned char*)realloc(m->under, room);
    m->under = under ? under : m->under;
    Step* const steps = (Step*)realloc(m->steps, room * a->states * sizeof(Step));
    m->steps = steps ? steps : m->steps;
    if (!events || !under || !steps) {
      return false;
    }
    m->room = room;
  }
  return m->rows && m->first_times;
}

/// Find the sounds under others, and the number of leading sounds whose alignment can be reused.
static size_t
go_on_from(const SrAlignMemory* const m, const Aligner* const a)
{
  size_t as_before = 0;
  while (as_before < m->count && as_before < a->count &&
         same_event(&m->events[as_before], &a->events[as_before])) {
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

static Cell*
row_after(const SrAlignMemory* const m, const size_t sounds)
{
  return m->rows + sounds % ROWS * m->states;
}

static void
align_from(Aligner* const a, SrAlignMemory* const m, const size_t start)
{
  if (start == 0) {
    m->oldest = 0;
  }
  if (a->count + 1 > ROWS && m->oldest < a->count + 1 - ROWS) {
    m->oldest = a->count + 1 - ROWS;
  }
  if (start == 0) {
    Cell* const first = row_after(m, 0);
    for (size_t s = 0; s < a->states; ++s) {
      first[s] = (Cell){.cost = s == 0 ? 0.0f : INFINITY, .event = NO_EVENT, .from_note = -1};
    }
  }
  for (size_t e = 0; e < start; ++e) {
    a->last_end_s = fmax(a->last_end_s, a->events[e].end_s);
  }
  for (size_t e = start; e < a->count; ++e) {
    a->now = row_after(m, e);
    a->next = row_after(m, e + 1);
    for (size_t s = 0; s < a->states; ++s) {
      a->next[s].cost = INFINITY;
    }
    for (size_t n = 0; n < a->notes; ++n) {
      a->places[n].pitch = pitch_cost(a->places[n].written, &a->events[e]);
    }
    const float most = a->now[cheapest(a)].cost + HOPELESS;
    for (size_t s = 0; s < a->states; ++s) {
      if (a->now[s].cost < most) {
        try_staying(a, e, s);
        try_cut(a, e, s);
        try_roll(a, e, s);
        try_long_note(a, e, s);
        try_notes(a, e, s);
      }
    }
    try_leaping(a, e);
    a->last_end_s = fmax(a->last_end_s, a->events[e].end_s);
    m->events[e] = a->events[e];
    m->under[e] = a->under[e];
  }
  a->now = row_after(m, a->count);
  m->count = a->count;
}

SrStatus
sr_align(const SrPhrase* const phrase, const SrEvent* const events, const size_t count,
         const SrJudgeSettings* const settings, const bool going_on, SrAlignMemory* const memory,
         SrAlignedSound* const aligned)
{
  SrAlignMemory own = {0};
  SrAlignMemory* const m = memory ? memory : &own;
  Aligner a = {.phrase = phrase, .events = events, .count = count, .settings = settings};
  a.notes = sr_phrase_note_count(phrase);
  a.states = 2 * (a.notes + 1);
  a.likely_bpm = sr_judge_likely_bpm(phrase, settings);
  a.pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  a.long_note = LONG_STEPS * sr_score_step(phrase) * a.pulse - 1e-9;
  // A note that starts while the previous one dies away must not be delayed until that is over
  a.going_on = going_on;
  a.below = !going_on || settings->accompanied || has_chords(phrase);
  a.under = (unsigned char*)calloc(count + 1, 1);
  a.places = (Place*)calloc(a.notes + 1, sizeof(Place));
  SrStatus status = SR_NO_MEMORY;
  if (a.under && a.places && a.states > 0 && open_memory(m, &a)) {
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
  clear_memory(&own);
  return status;
}
