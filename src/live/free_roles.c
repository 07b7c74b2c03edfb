// SPDX-License-Identifier: GPL-3.0-or-later

#include "free_roles.h"

#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>

bool
sr_free_is_under(const SrEvent* const sounds, const size_t count, const size_t index)
{
  const SrEvent* const low = &sounds[index];
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const other = &sounds[i];
    const double overlap = fmin(low->end_s, other->end_s) - fmax(low->onset_s, other->onset_s);
    const int above = other->midi - low->midi;
    const bool chord = above == 12 || above == 24 || (above >= 7 && low->midi < 60);
    if (i != index && chord && overlap > UNDER_SHARE * sr_event_length_s(low)) {
      return true;
    }
  }
  return false;
}

bool
sr_free_is_flicker(const SrEvent* const sounds, const size_t count, const SrEvent* const sound)
{
  for (size_t i = 0; sr_event_length_s(sound) < SHORT_NOTE_S && i < count; ++i) {
    const SrEvent* const other = &sounds[i];
    if (sr_event_length_s(other) > sr_event_length_s(sound) &&
        other->level_db > sound->level_db + FLICKER_DB &&
        fmin(other->end_s, sound->end_s) - fmax(other->onset_s, sound->onset_s) >
            UNDER_SHARE * sr_event_length_s(sound)) {
      return true;
    }
  }
  return false;
}

/// Whether a sound's length and pitch allow a cut of another, and its place too. `held` receives
/// whether the note sounds through it.
static bool
lies_as_cut(const SrEvent* const cut, const SrEvent* const note, bool* const held)
{
  if (!sr_ornament_may_be_grace(note->midi, -1, cut->midi) ||
      sr_event_length_s(cut) > SR_GRACE_MOST_S ||
      sr_event_length_s(cut) > MOST_CUT_SHARE * sr_event_length_s(note)) {
    return false;
  }
  *held = cut->onset_s > note->onset_s + CUT_GAP_S && cut->end_s < note->end_s - CUT_GAP_S;
  return *held || fabs(note->onset_s - cut->end_s) < CUT_GAP_S;
}

/// Whether the sound that ended at a cut has the pitch of the cut's note.
static bool
parts_notes(const SrEvent* const sounds, const size_t count, const SrEvent* const cut,
            const SrEvent* const note)
{
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const other = &sounds[i];
    if (other != note && other->midi == note->midi && other->onset_s < cut->onset_s &&
        fabs(other->end_s - cut->onset_s) < NEAR_CUT_S) {
      return true;
    }
  }
  return false;
}

/// Whether a note began with a cut.
static bool
begins_with_cut(const SrEvent* const sounds, const size_t count, const size_t index)
{
  bool held;
  for (size_t i = 0; i < count; ++i) {
    if (i != index && lies_as_cut(&sounds[i], &sounds[index], &held) && !held) {
      return true;
    }
  }
  return false;
}

/// Whether a sound is the cut of a note; a short note that has a cut itself is not.
static bool
is_cut_of(const SrEvent* const sounds, const size_t count, const size_t cut, const size_t note,
          bool* const held)
{
  if (cut == note || !lies_as_cut(&sounds[cut], &sounds[note], held)) {
    return false;
  }
  const bool brief = sr_event_length_s(&sounds[cut]) < MOST_LONE_CUT_S;
  return *held || ((brief || parts_notes(sounds, count, &sounds[cut], &sounds[note])) &&
                   !begins_with_cut(sounds, count, cut));
}

size_t
sr_free_cut_of(const SrEvent* const sounds, const size_t count, const size_t index,
               bool* const held)
{
  size_t first = count;
  size_t on_top = count;
  for (size_t i = 0; i < count; ++i) {
    bool lies_on = false;
    if (is_cut_of(sounds, count, i, index, &lies_on)) {
      size_t* const best = lies_on ? &on_top : &first;
      *best = *best == count || sr_event_length_s(&sounds[i]) > sr_event_length_s(&sounds[*best])
                  ? i
                  : *best;
    }
  }
  *held = first == count && on_top < count;
  return first < count ? first : on_top;
}

bool
sr_free_is_cut(const SrEvent* const sounds, const size_t count, const size_t index)
{
  bool held;
  for (size_t i = 0; i < count; ++i) {
    if (is_cut_of(sounds, count, index, i, &held)) {
      return true;
    }
  }
  return false;
}
