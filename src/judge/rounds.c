// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rounds.c
   A repeated note without a sound of its own is joined if the one before lasted to its middle
   (lasted_through()), and missed if not. A grace on the other side of its note than written is
   reported as absent, with the pitch heard.
*/

#include "rounds.h"

#include "cut.h"
#include "median.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool
sr_note_repeats(const SrPhrase* const phrase, const size_t note)
{
  return note > 0 && sr_phrase_note(phrase, note)->midi == sr_phrase_note(phrase, note - 1)->midi;
}

SrNoteVerdict
sr_note_missed(const SrPhrase* const phrase, const size_t note)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, note);
  return (SrNoteVerdict){.index = note,
                         .bar = written->bar,
                         .midi = written->midi,
                         .status = SR_NOTE_MISSED,
                         .heard_midi = -1,
                         .due_s = (double)NAN,
                         .onset_s = (double)NAN,
                         .end_s = (double)NAN,
                         .offset_ms = (double)NAN,
                         .cents = (double)NAN,
                         .level_db = (double)NAN,
                         .ornament = written->ornament,
                         .speaks_s = (double)NAN,
                         .joined = sr_note_repeats(phrase, note) ? SR_NO : SR_NOT_ASKED};
}

bool
sr_round_is_behind_stop(const SrRound* const round, const size_t note)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == SR_SLIP_STOPPED && round->slips[i].note_index < note) {
      return true;
    }
  }
  return false;
}

/// Whether at least half of the notes of a note's bar lie in a stretch.
static bool
is_bar_inside(const SrRound* const round, const SrSlip* const stretch, const size_t note)
{
  const int bar = round->notes[note].bar;
  size_t from = note;
  size_t to = note + 1;
  while (from > 0 && round->notes[from - 1].bar == bar) {
    --from;
  }
  while (to < round->note_count && round->notes[to].bar == bar) {
    ++to;
  }
  const size_t first = stretch->note_index > from ? stretch->note_index : from;
  const size_t behind = stretch->until < to ? stretch->until : to;
  return behind > first && 2 * (behind - first) >= to - from;
}

void
sr_round_stretch_bars(const SrRound* const round, const SrSlip* const slip, int* const first,
                      int* const last)
{
  *first = *last = slip->bar;
  bool any = false;
  for (size_t i = slip->note_index; i < slip->until && i < round->note_count; ++i) {
    if (is_bar_inside(round, slip, i)) {
      *first = any ? *first : round->notes[i].bar;
      *last = round->notes[i].bar;
      any = true;
    }
  }
}

bool
sr_round_add_slip(SrRound* const round, const SrSlip slip)
{
  SrSlip* const more = (SrSlip*)realloc(round->slips, (round->slip_count + 1) * sizeof(SrSlip));
  if (!more) {
    return false;
  }
  round->slips = more;
  round->slips[round->slip_count++] = slip;
  return true;
}

/// The sounds of a round's notes, while it is gathered.
typedef struct {
  long* main; ///< Index of each note's sound, -1 if none
  long* cut;
  long* grace;    ///< The first of several graces, -1 if none
  size_t* graces; ///< Number of graces
  bool* on_top;
  long last; ///< Last note begun, -1 before the first
  size_t filled;
  size_t first_sound;
  size_t last_sound;
  bool going_on; ///< The last note may still sound
} Gathering;

/// Forget the sounds of a note.
static void
clear_note(Gathering* const g, const size_t i)
{
  g->main[i] = -1;
  g->cut[i] = -1;
  g->grace[i] = -1;
  g->graces[i] = 0;
  g->on_top[i] = false;
}

static void
clear(Gathering* const g, const size_t notes, const size_t first_sound)
{
  for (size_t i = 0; i < notes; ++i) {
    clear_note(g, i);
  }
  g->last = -1;
  g->filled = 0;
  g->first_sound = first_sound;
  g->last_sound = first_sound;
}

static SrRound*
add_round(const SrTake* const take, SrAssessment* const assessment)
{
  SrRound* const more =
      (SrRound*)realloc(assessment->rounds, (assessment->round_count + 1) * sizeof(SrRound));
  if (!more) {
    return NULL;
  }
  assessment->rounds = more;
  SrRound* const round = &more[assessment->round_count];
  memset(round, 0, sizeof(*round));
  round->note_count = sr_phrase_note_count(take->phrase);
  round->notes = (SrNoteVerdict*)calloc(round->note_count, sizeof(SrNoteVerdict));
  if (!round->notes) {
    return NULL;
  }
  ++assessment->round_count;
  return round;
}

/// Whether the microphone delivered nothing at some point between two times.
static bool
is_unheard(const SrTake* const take, const double from_s, const double to_s)
{
  for (size_t i = 0; i < take->unheard_count; ++i) {
    const SrEvent* const lost = &take->unheard[i];
    const double late_s = lost->end_s - lost->onset_s >= LONG_LOSS_S ? FOUND_LATE_S : 0.0;
    if (lost->onset_s - late_s <= to_s && lost->end_s >= from_s) {
      return true;
    }
  }
  return false;
}

/// Median seconds per whole note over the notes before one, so that a wait among them does not
/// count; NAN if there are too few.
static double
whole_s_before(const SrTake* const take, const SrRound* const round, const size_t i)
{
  double paces[PACE_NOTES];
  size_t count = 0;
  long later = -1;
  for (size_t k = i; k-- > 0 && count < PACE_NOTES;) {
    if (!isfinite(round->notes[k].onset_s)) {
      continue;
    }
    if (later >= 0) {
      const double apart = sr_fraction_value(sr_phrase_note(take->phrase, (size_t)later)->start) -
                           sr_fraction_value(sr_phrase_note(take->phrase, k)->start);
      if (apart > 0.0) {
        paces[count++] = (round->notes[later].onset_s - round->notes[k].onset_s) / apart;
      }
    }
    later = (long)k;
  }
  return count ? sr_median(paces, count) : (double)NAN;
}

/// Seconds per whole note from note `last` to the one after note `i`; NAN if that was not heard.
static double
whole_s_across(const SrTake* const take, const Gathering* const g, const SrRound* const round,
               const size_t last, const size_t i)
{
  if (i + 1 >= round->note_count || g->main[i + 1] < 0) {
    return (double)NAN;
  }
  const long first = g->cut[i + 1] >= 0 ? g->cut[i + 1] : g->main[i + 1];
  const double apart = sr_fraction_value(sr_phrase_note(take->phrase, i + 1)->start) -
                       sr_fraction_value(sr_phrase_note(take->phrase, last)->start);
  return apart > 0.0 ? (take->sounds[first].onset_s - round->notes[last].onset_s) / apart
                     : (double)NAN;
}

/// Whether a sound that ended at a time lasted to the middle of a note, at the pace of the notes
/// before or of the one after. If neither is known, whether it ended after the onset of the
/// previous note.
static bool
lasted_through(const SrTake* const take, const Gathering* const g, const SrRound* const round,
               const size_t i, const double end_s)
{
  size_t last = i - 1;
  while (last > 0 && !isfinite(round->notes[last].onset_s)) {
    --last;
  }
  // A wait before the next note does not lengthen this one; fmin() ignores an unknown value
  const double whole_s =
      fmin(whole_s_before(take, round, i), whole_s_across(take, g, round, last, i));
  if (!isfinite(whole_s)) {
    return end_s > round->notes[i - 1].onset_s;
  }
  const SrPhraseNote* const note = sr_phrase_note(take->phrase, i);
  const double start = sr_fraction_value(sr_phrase_note(take->phrase, last)->start);
  const double middle = sr_fraction_value(note->start) + 0.5 * sr_fraction_value(note->length);
  return end_s > round->notes[last].onset_s + whole_s * (middle - start);
}

/// A sound of the preceding chord that has the note's pitch and lasts through it; NULL if none.
static const SrEvent*
held_from_chord(const SrTake* const take, const Gathering* const g, const SrRound* const round,
                const size_t i)
{
  const SrPhraseNote* const chord = sr_phrase_note(take->phrase, i - 1);
  const int midi = sr_phrase_note(take->phrase, i)->midi;
  bool in_chord = false;
  for (int c = 0; c < chord->chord_count; ++c) {
    in_chord = in_chord || chord->chord_midi[c] == midi;
  }
  if (!in_chord || g->main[i - 1] < 0) {
    return NULL;
  }
  const size_t top = (size_t)g->main[i - 1];
  const size_t first = top > NEIGHBOURS ? top - NEIGHBOURS : 0;
  for (size_t e = first; e < take->sound_count && e <= top + NEIGHBOURS; ++e) {
    const SrEvent* const sound = &take->sounds[e];
    if (sound->midi == midi && sound->onset_s < take->sounds[top].end_s &&
        lasted_through(take, g, round, i, sound->end_s)) {
      return sound;
    }
  }
  return NULL;
}

/// Fill one note from its sounds.
static void
fill_note(const SrTake* const take, const Gathering* const g, SrRound* const round, const size_t i)
{
  const SrPhraseNote* const written = sr_phrase_note(take->phrase, i);
  SrNoteVerdict* const note = &round->notes[i];
  const bool repeats = sr_note_repeats(take->phrase, i);
  *note = sr_note_missed(take->phrase, i);
  const SrEvent* const cut = g->cut[i] >= 0 ? &take->sounds[g->cut[i]] : NULL;
  if (g->main[i] < 0) {
    // The previous note may have sounded through it
    const SrNoteVerdict* const before = i ? &round->notes[i - 1] : NULL;
    const bool may = before && repeats && before->status == SR_NOTE_PLAYED;
    const SrEvent* const held = before && !repeats ? held_from_chord(take, g, round, i) : NULL;
    if (held) {
      note->status = SR_NOTE_PLAYED;
      note->heard_midi = written->midi;
      note->end_s = held->end_s;
      note->level_db = held->level_db;
    } else if (may && (g->on_top[i] || lasted_through(take, g, round, i, before->end_s))) {
      note->status = SR_NOTE_PLAYED;
      note->heard_midi = written->midi;
      note->joined = SR_YES;
      note->end_s = before->end_s;
      note->level_db = before->level_db;
      note->cents = before->cents;
      sr_cut_judge(take, i, cut, NULL, note);
    }
    return;
  }
  const SrEvent* const sound = &take->sounds[g->main[i]];
  note->status = sound->midi == written->midi ? SR_NOTE_PLAYED : SR_NOTE_WRONG;
  for (int c = 0; c < written->chord_count; ++c) {
    if (sound->midi == written->chord_midi[c]) {
      note->status = SR_NOTE_PLAYED;
    }
  }
  note->heard_midi = note->status == SR_NOTE_PLAYED ? sound->midi : sr_event_own_midi(sound);
  note->onset_s = sound->onset_s;
  note->end_s = sound->end_s;
  note->level_db = sound->level_db;
  note->cents = isfinite(sound->frequency_hz)
                    ? 1200.0 * log2(sound->frequency_hz / 440.0) - 100.0 * (sound->midi - 69)
                    : (double)NAN;
  note->graces = g->graces[i];
  note->speaks_s = sound->onset_s;
  const SrEvent* const first = cut ? cut : g->grace[i] >= 0 ? &take->sounds[g->grace[i]] : NULL;
  if (first && first->onset_s < sound->onset_s + 0.005) {
    note->onset_s = first->onset_s;
  }
  sr_cut_judge(take, i, cut, sound, note);
}

/// Whether a sound lies under a clearly louder one for most of its time (the room, or a rattle);
/// under any other in an accompanied take.
static bool
is_shadow(const SrTake* const take, const size_t index)
{
  const SrEvent* const sound = &take->sounds[index];
  const size_t first = index > NEIGHBOURS ? index - NEIGHBOURS : 0;
  for (size_t i = first; i < take->sound_count && i <= index + NEIGHBOURS; ++i) {
    const SrEvent* const other = &take->sounds[i];
    const double overlap = fmin(sound->end_s, other->end_s) - fmax(sound->onset_s, other->onset_s);
    if (i != index && overlap > SHADOW_SHARE * (sound->end_s - sound->onset_s) &&
        (take->settings->accompanied || other->level_db > sound->level_db + SHADOW_DB)) {
      return true;
    }
  }
  return false;
}

/// Once all ends are known, except that of the note `sounding`: whether each cut took more than its
/// share of the note.
static void
weigh_cuts(const SrTake* const take, const size_t sounding, SrRound* const round)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    SrNoteVerdict* const note = &round->notes[i];
    if (!note->has_cut) {
      continue;
    }
    double end_s = note->end_s;
    for (size_t j = i + 1; j < round->note_count; ++j) {
      if (isfinite(round->notes[j].onset_s)) {
        // A rest after it does not belong to it
        const bool next = round->notes[j].onset_s < note->end_s + ROUNDS_AT_ONCE_S;
        end_s = next || j == i + 1
                    ? fmax(end_s, fmin(round->notes[j].onset_s, end_s + ROUNDS_AT_ONCE_S))
                    : end_s;
        break;
      }
    }
    sr_cut_weigh(take->settings, i == sounding ? (double)INFINITY : end_s, note);
  }
}

/// Whether a grace lies inside a note; one at the note's very start or end is the room, or a
/// neighbour's.
static bool
is_on_note(const SrEvent* const grace, const SrNoteVerdict* const note)
{
  const double least_s = note->ornament == SR_ORNAMENT_ROLL ? LEAST_ON_NOTE_S : 0.0;
  return grace->onset_s > note->speaks_s + least_s && grace->end_s < note->end_s;
}

static bool
finish_round(const SrTake* const take, const SrAlignedSound* const aligned,
             const Gathering* const g, SrAssessment* const assessment)
{
  SrRound* const round = add_round(take, assessment);
  if (!round) {
    return false;
  }
  round->start_s = take->sounds[g->first_sound].onset_s;
  round->end_s = round->start_s;
  for (size_t i = 0; i < round->note_count; ++i) {
    fill_note(take, g, round, i);
    if (round->notes[i].end_s > round->end_s) {
      round->end_s = round->notes[i].end_s;
    }
  }
  for (size_t s = g->first_sound; s <= g->last_sound; ++s) {
    const SrEvent* const sound = &take->sounds[s];
    if (aligned[s].role == SR_ROLE_TAIL && aligned[s].note >= 0 &&
        sound->end_s > round->notes[aligned[s].note].end_s) {
      round->notes[aligned[s].note].end_s = sound->end_s;
    }
    if (aligned[s].role == SR_ROLE_INSERTION && sound->end_s - sound->onset_s >= SR_OWN_NOTE_S &&
        !is_shadow(take, s)) {
      SrInsertion* const more = (SrInsertion*)realloc(
          round->insertions, (round->insertion_count + 1) * sizeof(SrInsertion));
      if (!more) {
        return false;
      }
      round->insertions = more;
      round->insertions[round->insertion_count++] =
          (SrInsertion){sound->onset_s, sound->end_s, sr_event_own_midi(sound)};
    }
  }
  for (size_t s = g->first_sound; s <= g->last_sound; ++s) {
    if (aligned[s].role == SR_ROLE_GRACE && aligned[s].on_top) {
      SrNoteVerdict* const note = &round->notes[aligned[s].note];
      note->graces += note->ornament != SR_ORNAMENT_NONE && is_on_note(&take->sounds[s], note);
    }
  }
  weigh_cuts(take, g->going_on ? (size_t)g->last : round->note_count, round);
  return true;
}

/// Whether enough was gathered for a round of its own.
static bool
is_round(const Gathering* const g, const size_t notes)
{
  return g->filled >= 2 && (double)g->filled >= LEAST_SHARE * (double)notes;
}

static bool
was_false_start(const Gathering* const g, const size_t notes)
{
  return g->last + 1 <= FALSE_START_NOTES && (size_t)(g->last + 1) < notes;
}

static void
put(const SrTake* const take, Gathering* const g, const SrAlignedSound* const sound)
{
  const size_t note = (size_t)sound->note;
  if (sound->role == SR_ROLE_NOTE) {
    g->filled += g->main[note] < 0;
    g->main[note] = (long)sound->event;
    g->last = (long)note;
  } else if (sound->role == SR_ROLE_GRACE) {
    g->grace[note] = g->grace[note] < 0 ? (long)sound->event : g->grace[note];
    // The note between its graces is not a grace; those of a roll come on the note
    const SrPhraseNote* const written = sr_phrase_note(take->phrase, note);
    g->graces[note] += !sound->on_top && written->ornament != SR_ORNAMENT_ROLL &&
                       take->sounds[sound->event].midi != written->midi;
  } else if (sound->role == SR_ROLE_CUT) {
    g->cut[note] = (long)sound->event;
    g->on_top[note] = sound->on_top;
    if (sound->on_top) {
      g->filled += 1;
      g->last = (long)note;
    }
  }
}

/// Slips that belong to the next round.
typedef struct {
  SrSlip* slips;
  size_t count;
  size_t room;
} Pending;

/// Keep a slip; false if out of memory.
static bool
remember(Pending* const pending, const SrSlip slip)
{
  if (pending->count == pending->room) {
    const size_t room = 2 * pending->room + 16;
    SrSlip* const more = (SrSlip*)realloc(pending->slips, room * sizeof(SrSlip));
    if (!more) {
      return false;
    }
    pending->slips = more;
    pending->room = room;
  }
  pending->slips[pending->count++] = slip;
  return true;
}

static SrSlip
slip_at(const SrTake* const take, const SrSlipKind kind, const double at_s, const long note)
{
  const size_t index = note < 0 ? 0 : (size_t)note;
  return (SrSlip){.kind = kind,
                  .at_s = at_s,
                  .note_index = index,
                  .bar = sr_phrase_note(take->phrase, index)->bar,
                  .wait_s = (double)NAN};
}

static bool
give_slips(Pending* const pending, SrRound* const round)
{
  bool enough = true;
  for (size_t i = 0; i < pending->count; ++i) {
    enough = enough && sr_round_add_slip(round, pending->slips[i]);
  }
  pending->count = 0;
  return enough;
}

/// Close what was gathered: as a round, a false start, or nothing.
static bool
close_gathering(const SrTake* const take, const SrAlignedSound* const aligned, Gathering* const g,
                Pending* const pending, const bool more_follow, SrAssessment* const assessment)
{
  const size_t notes = sr_phrase_note_count(take->phrase);
  if (g->last < 0) {
    return true;
  }
  const double at_s = take->sounds[g->last_sound].end_s;
  if (more_follow && was_false_start(g, notes)) {
    return remember(pending, slip_at(take, SR_SLIP_FALSE_START, at_s, g->last));
  }
  if (!is_round(g, notes)) {
    return true;
  }
  if (!finish_round(take, aligned, g, assessment)) {
    return false;
  }
  SrRound* const round = &assessment->rounds[assessment->round_count - 1];
  bool enough = give_slips(pending, round);
  const bool broken_off = is_unheard(take, round->end_s, round->end_s + BROKEN_OFF_S);
  if (!broken_off &&
      ((size_t)(g->last + 3) < notes || ((size_t)(g->last + 1) < notes && notes <= 6))) {
    enough = enough && sr_round_add_slip(round, slip_at(take, SR_SLIP_STOPPED, at_s, g->last));
  }
  return enough;
}

/**
   If a cut for the next note is over and the previous note still sounds, the next one is joined,
   unless more is heard of it later.
*/
static void
see_through(const SrTake* const take, Gathering* const g)
{
  const size_t next = (size_t)(g->last + 1);
  if (g->last < 0 || next >= sr_phrase_note_count(take->phrase) || g->cut[next] < 0 ||
      g->main[g->last] < 0 || !sr_note_repeats(take->phrase, next)) {
    return;
  }
  const SrEvent* const before = &take->sounds[g->main[g->last]];
  if (before->end_s > take->sounds[g->cut[next]].end_s + THROUGH_S) {
    g->on_top[next] = true;
    g->last = (long)next;
  }
}

SrStatus
sr_rounds_gather(const SrTake* const take, const SrAlignedSound* const aligned,
                 SrGoingOn* const going_on, SrAssessment* const assessment)
{
  const size_t notes = sr_phrase_note_count(take->phrase);
  Gathering g = {(long*)calloc(notes, sizeof(long)),
                 (long*)calloc(notes, sizeof(long)),
                 (long*)calloc(notes, sizeof(long)),
                 (size_t*)calloc(notes, sizeof(size_t)),
                 (bool*)calloc(notes, sizeof(bool)),
                 -1,
                 0,
                 0,
                 0,
                 false};
  Pending pending = {NULL, 0, 0};
  bool enough = g.main && g.cut && g.grace && g.graces && g.on_top;
  if (enough) {
    clear(&g, notes, 0);
  }
  for (size_t s = 0; enough && s < take->sound_count; ++s) {
    const SrAlignedSound* const sound = &aligned[s];
    if (sound->role == SR_ROLE_TAIL && g.last >= 0 && sound->note == g.last) {
      g.last_sound = s; // the last note still sounds
    }
    if (sound->role != SR_ROLE_NOTE && sound->role != SR_ROLE_CUT && sound->role != SR_ROLE_GRACE) {
      continue;
    }
    if (!sound->on_top && sound->note <= g.last) {
      if (sound->note == 0 || was_false_start(&g, notes)) {
        enough = close_gathering(take, aligned, &g, &pending, true, assessment);
        clear(&g, notes, s);
      } else {
        enough = remember(&pending,
                          slip_at(take, SR_SLIP_RESTART, take->sounds[s].onset_s, sound->note));
        for (size_t i = (size_t)sound->note; i < notes; ++i) {
          g.filled -= g.main[i] >= 0;
          clear_note(&g, i);
        }
      }
      // After a cut the note itself is still to come
      g.last = (long)sound->note - 1;
    }
    if (g.last < 0 && g.filled == 0) {
      const long its_cut = g.cut[sound->note] >= 0 ? g.cut[sound->note] : g.grace[sound->note];
      g.first_sound = its_cut >= 0 ? (size_t)its_cut : s;
    }
    put(take, &g, sound);
    g.last_sound = s;
  }
  if (enough && going_on) {
    see_through(take, &g);
    g.going_on = true;
    *going_on =
        (SrGoingOn){.rounds_before = assessment->round_count,
                    .reached = (size_t)(g.last + 1),
                    .start_s = g.last >= 0 ? take->sounds[g.first_sound].onset_s : (double)NAN};
    enough = g.last < 0 || (finish_round(take, aligned, &g, assessment) &&
                            give_slips(&pending, &assessment->rounds[assessment->round_count - 1]));
  } else if (enough) {
    // The last round includes the tails and insertions after its last note
    enough = close_gathering(take, aligned, &g, &pending, false, assessment);
  }
  free(g.main);
  free(g.cut);
  free(g.grace);
  free(g.graces);
  free(g.on_top);
  free(pending.slips);
  const bool all_heard = take->unheard_count == 0;
  for (size_t r = 0; enough && !all_heard && r < assessment->round_count; ++r) {
    SrRound* const round = &assessment->rounds[r];
    for (size_t i = 0; i < round->note_count; ++i) {
      // Search between the heard neighbours of a missed note
      double from = round->start_s;
      double to = round->end_s + BROKEN_OFF_S;
      if (round->notes[i].status != SR_NOTE_MISSED) {
        continue;
      }
      for (size_t j = i; j-- > 0;) {
        if (isfinite(round->notes[j].end_s)) {
          from = round->notes[j].end_s;
          break;
        }
      }
      for (size_t j = i + 1; j < round->note_count; ++j) {
        if (isfinite(round->notes[j].onset_s)) {
          to = round->notes[j].onset_s;
          break;
        }
      }
      if (is_unheard(take, fmin(from, to), fmax(from, to))) {
        round->notes[i].status = SR_NOTE_UNHEARD;
        round->notes[i].joined = SR_NOT_ASKED;
      }
    }
  }
  return enough ? SR_OK : SR_NO_MEMORY;
}
