// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file played_notes.c
   The take is heard for all pitches; what was found there is a draft, and the take is heard again
   for the pitches of that, in octaves if it is doubled. The judge's rules for tidying sounds ask
   the draft what is written.
*/

#include "draft.h"
#include "heard_take.h"
#include "joined_sounds.h"
#include "roles.h"
#include "tuning.h"

#include "judge/tidy_sounds.h"
#include "live/free_roles.h"

#include <steadyreed/live.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

void
sr_played_notes_clear(SrPlayedNotes* const played)
{
  free(played->notes);
  memset(played, 0, sizeof(*played));
}

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to hear the take.");
}

/// Tell the notes of what was heard, tidied by what a draft has.
static SrStatus
tell_notes(const SrHeardTake* const heard, const SrPhrase* const draft, SrPlayedNotes* const played)
{
  SrEvent* const sounds = (SrEvent*)calloc(heard->sound_count + 1, sizeof(SrEvent));
  double* const scratch = (double*)calloc(heard->sound_count + 1, sizeof(double));
  SrStatus status = sounds && scratch ? SR_OK : SR_NO_MEMORY;
  if (status == SR_OK) {
    size_t count = heard->sound_count;
    if (count) {
      memcpy(sounds, heard->sounds, count * sizeof(SrEvent));
    }
    if (draft) {
      count = sr_sounds_tidy(draft, sounds, count, heard->air, heard->air_count, scratch);
    } else {
      sr_events_sort(sounds, count);
    }
    status = sr_roles_tell(sounds, count, played);
  }
  free(sounds);
  free(scratch);
  return status;
}

/// Whether every note is doubled by the octave below, whose name it then got. No spectrum tells
/// (src/hear/reading_evidence.h), but melodies seldom lie so low, and graces, which are not
/// doubled, lie more than an octave above their notes.
static bool
is_doubled(const SrHeardTake* const heard)
{
  double pitches = 0.0;
  double seconds = 1e-9;
  size_t near = 0;
  size_t above = 0;
  for (size_t i = 0; i < heard->sound_count; ++i) {
    const SrEvent* const grace = &heard->sounds[i];
    const double length_s = sr_event_length_s(grace);
    if (length_s > SHORT_S) {
      pitches += length_s * grace->midi;
      seconds += length_s;
      continue;
    }
    for (size_t n = 0; n < heard->sound_count; ++n) {
      const SrEvent* const note = &heard->sounds[n];
      const int step = grace->midi - note->midi;
      if (sr_event_length_s(note) > SURE_NOTE_S && fabs(note->onset_s - grace->end_s) < GAP_S) {
        near += step > 0 && step <= SR_GRACE_MOST_STEP;
        above += step > 12 && step <= 12 + SR_GRACE_MOST_STEP;
      }
    }
  }
  return pitches / seconds < (above > near ? LOW_WITH_GRACES : LOW_MELODY);
}

/// Raise all notes by an octave, and with them the graces that were heard an octave too low too.
static void
raise_notes(SrPlayedNotes* const played)
{
  for (size_t i = 0; i < played->count; ++i) {
    SrPlayedNote* const note = &played->notes[i];
    note->midi += note->midi + 12 <= SR_HIGHEST_MIDI ? 12 : 0;
    for (int k = 0; k < note->grace_count; ++k) {
      note->grace_midi[k] += note->grace_midi[k] < note->midi ? 12 : 0;
    }
  }
}

/// Leave out of what is listened for the pitches that were hardly heard.
static void
drop_rare(SrExpected* const expected, const SrPlayedNotes* const played)
{
  double seconds[128] = {0.0};
  unsigned graces[128] = {0};
  for (size_t i = 0; i < played->count; ++i) {
    const SrPlayedNote* const note = &played->notes[i];
    seconds[note->midi & 127] += note->end_s - note->onset_s;
    for (int k = 0; k < note->grace_count; ++k) {
      ++graces[note->grace_midi[k] & 127];
    }
  }
  for (int midi = 0; midi < 128; ++midi) {
    if (seconds[midi] < RARE_S && graces[midi] < RARE_GRACES) {
      expected->expected[midi] = 0;
      expected->share[midi] = 0.0f;
      expected->cuts[midi] = 0;
      expected->strikes[midi] = 0;
    }
  }
}

/// Hear a take once more, for the pitches of a draft.
static SrStatus
hear_again(const SrTakeSource* const source, const int64_t loudest, const double rate_hz,
           const SrPlayedNotes* const played, SrHeardTake* const heard, SrError* const error)
{
  SrPhrase* const draft = sr_draft_make(played);
  SrStatus status = draft ? source->rewind(source->from, error) : SR_OK;
  if (draft && status == SR_OK) {
    SrExpected expected = sr_live_expected(draft);
    drop_rare(&expected, played);
    sr_heard_take_clear(heard);
    status = sr_heard_take_make(source, loudest, rate_hz, &expected,
                                played->doubled ? SR_READ_DOUBLED : SR_READ_SINGLE, heard, error);
    if (played->doubled && status == SR_OK) {
      sr_events_sort(heard->sounds, heard->sound_count);
      sr_sounds_settle_octaves(heard->sounds, heard->sound_count, played);
    }
  }
  sr_phrase_del(draft);
  return status;
}

/// Tell the notes of what was heard: a draft, and with it the notes.
static SrStatus
tell_twice(const SrHeardTake* const heard, const bool doubled, SrPlayedNotes* const played)
{
  sr_played_notes_clear(played);
  played->doubled = doubled;
  SrStatus status = tell_notes(heard, NULL, played);
  SrPhrase* const draft = status == SR_OK ? sr_draft_make(played) : NULL;
  if (draft) {
    sr_played_notes_clear(played);
    played->doubled = doubled;
    status = tell_notes(heard, draft, played);
  }
  sr_phrase_del(draft);
  return status;
}

/// Mark the notes under which air was released.
static void
mark_air(const SrHeardTake* const heard, SrPlayedNotes* const played)
{
  for (size_t a = 0; a < heard->air_count && heard->air_carriage == SR_AIR_CARRIED; ++a) {
    SrPlayedNote* under = NULL;
    double most_s = 0.0;
    for (size_t i = 0; i < played->count; ++i) {
      SrPlayedNote* const note = &played->notes[i];
      const double both_s =
          fmin(note->end_s, heard->air[a].end_s) - fmax(note->onset_s, heard->air[a].start_s);
      if (both_s > most_s) {
        most_s = both_s;
        under = note;
      }
    }
    if (under) {
      under->air = true;
    }
  }
}

SrStatus
sr_played_notes_make(const SrTakeSource* const source, const int64_t loudest, const double rate_hz,
                     const SrOctaves octaves, SrPlayedNotes* const played, SrError* const error)
{
  memset(played, 0, sizeof(*played));
  SrHeardTake heard = {.sounds = NULL};
  SrStatus status =
      sr_heard_take_make(source, loudest, rate_hz, NULL, SR_READ_SINGLE, &heard, error);
  if (status == SR_OK && tell_twice(&heard, false, played) != SR_OK) {
    status = no_memory(error);
  }
  if (status == SR_OK && played->count > 0) {
    const bool doubled =
        octaves == SR_OCTAVES_GUESS ? is_doubled(&heard) : octaves == SR_OCTAVES_DOUBLED;
    played->doubled = doubled;
    if (doubled) {
      raise_notes(played);
    }
    status = hear_again(source, loudest, rate_hz, played, &heard, error);
    if (status == SR_OK && tell_twice(&heard, doubled, played) != SR_OK) {
      status = no_memory(error);
    }
  }
  mark_air(&heard, played);
  played->reference_hz = heard.reference_hz;
  sr_heard_take_clear(&heard);
  if (status != SR_OK) {
    sr_played_notes_clear(played);
  }
  return status;
}
