// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rounds.c
   Where rounds begin and end, and the slips on the way: restarts, false starts and stops.
*/

#include "rounds.h"

#include "gathering.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>

/// Forget the sounds of a note.
static void
clear_note(SrGathering* const g, const size_t i)
{
  g->main[i] = -1;
  g->cut[i] = -1;
  g->grace[i] = -1;
  g->graces[i] = 0;
  g->on_top[i] = false;
}

static void
clear(SrGathering* const g, const size_t notes, const size_t first_sound)
{
  for (size_t i = 0; i < notes; ++i) {
    clear_note(g, i);
  }
  g->last = -1;
  g->filled = 0;
  g->first_sound = first_sound;
  g->last_sound = first_sound;
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

/// Whether enough was gathered for a round of its own.
static bool
is_round(const SrGathering* const g, const size_t notes)
{
  return g->filled >= 2 && (double)g->filled >= LEAST_SHARE * (double)notes;
}

static bool
was_false_start(const SrGathering* const g, const size_t notes)
{
  return g->last + 1 <= FALSE_START_NOTES && (size_t)(g->last + 1) < notes;
}

static void
put(const SrTake* const take, SrGathering* const g, const SrAlignedSound* const sound)
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
close_gathering(const SrTake* const take, const SrAlignedSound* const aligned, SrGathering* const g,
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
  if (!sr_round_finish(take, aligned, g, assessment)) {
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
see_through(const SrTake* const take, SrGathering* const g)
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
  SrGathering g = {(long*)calloc(notes, sizeof(long)),
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
    enough = g.last < 0 || (sr_round_finish(take, aligned, &g, assessment) &&
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
