// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file round_finish.c
   A round from what was gathered: its notes, insertions and graces.
*/

#include "cut.h"
#include "gathering.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

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

bool
sr_round_finish(const SrTake* const take, const SrAlignedSound* const aligned,
                const SrGathering* const g, SrAssessment* const assessment)
{
  SrRound* const round = add_round(take, assessment);
  if (!round) {
    return false;
  }
  round->start_s = take->sounds[g->first_sound].onset_s;
  round->end_s = round->start_s;
  for (size_t i = 0; i < round->note_count; ++i) {
    sr_round_fill_note(take, g, round, i);
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
