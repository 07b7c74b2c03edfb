// SPDX-License-Identifier: GPL-3.0-or-later

#include "joined_sounds.h"

#include "live/free_roles.h"
#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static int
compare_sounds(const void* const a, const void* const b)
{
  const SrEvent* const x = (const SrEvent*)a;
  const SrEvent* const y = (const SrEvent*)b;
  if (x->onset_s < y->onset_s || x->onset_s > y->onset_s) {
    return x->onset_s < y->onset_s ? -1 : 1;
  }
  return x->midi - y->midi;
}

/// How long a sound lies over longer ones a number of semitones above it.
static double
over_longer_s(const SrEvent* const sounds, const size_t count, const size_t index, const int step)
{
  const SrEvent* const sound = &sounds[index];
  double both_s = 0.0;
  for (size_t k = index > REACH ? index - REACH : 0; k < count && k <= index + REACH; ++k) {
    const SrEvent* const other = &sounds[k];
    if (other->midi == sound->midi + step && sr_event_length_s(other) > sr_event_length_s(sound)) {
      both_s += fmax(0.0, fmin(other->end_s, sound->end_s) - fmax(other->onset_s, sound->onset_s));
    }
  }
  return both_s;
}

void
sr_sounds_join_octaves(SrEvent* const sounds, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    const double least_s = SHADOW_SHARE * sr_event_length_s(&sounds[i]);
    if (over_longer_s(sounds, count, i, 12) > least_s) {
      sounds[i].midi += 12;
    } else if (over_longer_s(sounds, count, i, -12) > least_s) {
      sounds[i].midi -= 12;
    }
  }
  qsort(sounds, count, sizeof(SrEvent), compare_sounds);
}

/// How long a draft's notes of a pitch lie over a sound.
static double
drafted_s(const SrPlayedNotes* const draft, const SrEvent* const sound, const int midi)
{
  double both_s = 0.0;
  for (size_t i = 0; i < draft->count; ++i) {
    const SrPlayedNote* const note = &draft->notes[i];
    if (note->midi == midi) {
      both_s += fmax(0.0, fmin(note->end_s, sound->end_s) - fmax(note->onset_s, sound->onset_s));
    }
  }
  return both_s;
}

/// The pitch that a draft has at the time of a sound, where it is an octave away; else the sound's.
static int
drafted_midi(const SrPlayedNotes* const draft, const SrEvent* const sound)
{
  const double least_s =
      fmax(SHADOW_SHARE * sr_event_length_s(sound), drafted_s(draft, sound, sound->midi));
  return drafted_s(draft, sound, sound->midi + 12) > least_s   ? sound->midi + 12
         : drafted_s(draft, sound, sound->midi - 12) > least_s ? sound->midi - 12
                                                               : sound->midi;
}

/// How much further than its drafted octave a sound lies from the next sure note on one side.
static int
further_by(const SrEvent* const sounds, const size_t count, const size_t index, const int midi,
           const bool later, const SrPlayedNotes* const draft)
{
  for (size_t k = index; later ? ++k < count : k-- > 0;) {
    const SrEvent* const note = &sounds[k];
    if (sr_event_length_s(note) >= SURE_NOTE_S && drafted_midi(draft, note) == note->midi) {
      return abs(sounds[index].midi - note->midi) - abs(midi - note->midi);
    }
  }
  return 0;
}

void
sr_sounds_settle_octaves(SrEvent* const sounds, const size_t count,
                         const SrPlayedNotes* const draft)
{
  for (size_t i = 0; i < count; ++i) {
    const bool sure = sr_event_length_s(&sounds[i]) >= SURE_NOTE_S;
    const int midi = sure ? drafted_midi(draft, &sounds[i]) : sounds[i].midi;
    if (midi != sounds[i].midi && further_by(sounds, count, i, midi, false, draft) +
                                          further_by(sounds, count, i, midi, true, draft) >
                                      0) {
      sounds[i].midi = midi;
    }
  }
}

size_t
sr_sounds_join_held(SrEvent* const sounds, const size_t count)
{
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    size_t before = kept;
    while (before > 0 && kept - before < REACH && sounds[before - 1].midi != sounds[i].midi) {
      --before;
    }
    SrEvent* const first = before > 0 ? &sounds[before - 1] : NULL;
    const double gap_s = first && first->midi == sounds[i].midi ? sounds[i].onset_s - first->end_s
                                                                : (double)INFINITY;
    const bool near =
        first && gap_s < HELD_GAP_S &&
        sounds[i].fall_db < (sr_event_length_s(first) < WAVER_PART_S ? HELD_FALL_DB : SURE_FALL_DB);
    bool between = false;
    for (size_t k = before; near && k < kept; ++k) {
      between = between ||
                (sounds[k].onset_s > first->onset_s + HELD_GAP_S && sounds[k].midi > first->midi);
    }
    for (size_t k = i + 1; near && k < count && sounds[k].onset_s < sounds[i].onset_s + HELD_GAP_S;
         ++k) {
      between = between ||
                (sounds[k].midi > first->midi && sr_event_length_s(&sounds[k]) < SR_GRACE_MOST_S);
    }
    if (first && (gap_s < 0.0 || (near && !between))) {
      first->level_db = fmax(first->level_db, sounds[i].level_db);
      first->end_s = fmax(first->end_s, sounds[i].end_s);
      first->fit = fmax(first->fit, sounds[i].fit);
    } else {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}
