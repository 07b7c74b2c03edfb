// SPDX-License-Identifier: GPL-3.0-or-later

// What is reported of the sounds: notes with their cuts, and air, each once.

#include "free_listener.h"
#include "free_roles.h"
#include "tuning.h"

#include "judge/air.h"
#include "judge/cut.h"

#include <steadyreed/mask.h>
#include <steadyreed/ornament.h>

#include <math.h>
#include <stdlib.h>

static int
by_onset(const void* const a, const void* const b)
{
  const SrEvent* const x = (const SrEvent*)a;
  const SrEvent* const y = (const SrEvent*)b;
  if (x->onset_s < y->onset_s || x->onset_s > y->onset_s) {
    return x->onset_s < y->onset_s ? -1 : 1;
  }
  return (x->midi > y->midi) - (x->midi < y->midi);
}

bool
sr_free_is_reported(const SrFree* const f, const SrEvent* const sound)
{
  for (size_t i = 0; i < RECENT; ++i) {
    const Recent* const reported = &f->recent[i];
    const bool within =
        sound->onset_s > reported->onset_s && sound->end_s < reported->end_s + SAME_ONSET_S;
    if (reported->midi == sound->midi &&
        (within || fabs(reported->onset_s - sound->onset_s) < SAME_ONSET_S)) {
      return true;
    }
  }
  return false;
}

/// Whether a sound continues one that was never released and seems to restart.
static bool
goes_on_from(const SrEvent* const before, const SrEvent* const sound)
{
  const SrJudgeSettings settings = sr_judge_settings_default();
  return before->midi == sound->midi && before->onset_s < sound->onset_s &&
         fabs(sound->onset_s - before->end_s) < SR_GRACE_MOST_S && sr_sound_held(&settings, sound);
}

/// Join two sounds; the longer one gives the measurements.
static void
put_to(SrEvent* const before, const SrEvent* const sound)
{
  const SrEvent first = *before;
  if (sr_event_length_s(sound) > sr_event_length_s(before)) {
    *before = *sound;
    before->onset_s = first.onset_s;
    before->fall_db = first.fall_db;
    before->phase_kept = first.phase_kept;
  }
  before->end_s = fmax(first.end_s, sound->end_s);
}

/// Join sounds, sorted by onset, to those they continue, unless these were reported.
static size_t
put_together(const SrFree* const f, SrEvent* const sounds, const size_t count)
{
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    size_t from = kept;
    while (from > 0 && !goes_on_from(&sounds[from - 1], &sounds[i])) {
      --from;
    }
    if (from > 0 && !sr_free_is_reported(f, &sounds[from - 1])) {
      put_to(&sounds[from - 1], &sounds[i]);
    } else {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

static bool
add_note(SrFree* const f, const SrFreeNote* const note)
{
  if (f->note_count == f->note_room) {
    const size_t room = 2 * f->note_room + 16;
    SrFreeNote* const more = (SrFreeNote*)realloc(f->notes, room * sizeof(SrFreeNote));
    if (!more) {
      return false;
    }
    f->notes = more;
    f->note_room = room;
  }
  f->notes[f->note_count++] = *note;
  return true;
}

static bool
add_air(SrFree* const f, const SrAirHeard* const heard)
{
  if (f->air_count == f->air_room) {
    const size_t room = 2 * f->air_room + 16;
    SrFreeAir* const more = (SrFreeAir*)realloc(f->air, room * sizeof(SrFreeAir));
    if (!more) {
      return false;
    }
    f->air = more;
    f->air_room = room;
  }
  const double level_db =
      heard->note_power > 0.0 ? 10.0 * log10(heard->hiss_power / heard->note_power) : (double)NAN;
  f->air[f->air_count++] =
      (SrFreeAir){heard->start_s, heard->end_s, level_db, sr_mask_over_db(heard)};
  return true;
}

/// Whether a sound is the last reported note, emerging again from under air.
static bool
goes_on_under_air(const SrFree* const f, const SrHeard* const heard, const SrEvent* const sound)
{
  if (sound->midi != f->last_midi || sound->onset_s - f->last_end_s > MOST_HIDDEN_S) {
    return false;
  }
  for (size_t i = 0; i < heard->air_count; ++i) {
    const SrAirHeard* const air = &heard->air[i];
    if (f->last_end_s > air->start_s - SR_ABOUT_AIR_S &&
        sound->onset_s < air->end_s + SR_ABOUT_AIR_S) {
      return true;
    }
  }
  return false;
}

bool
sr_free_report_until(SrFree* const f, const double until_s)
{
  SrHeard heard;
  if (sr_window_heard(f->window, f->open, f->open_count, INFINITY, &heard) != SR_OK) {
    return false;
  }
  SrEvent* const sounds = (SrEvent*)calloc(heard.event_count + 1, sizeof(SrEvent));
  if (!sounds) {
    return false;
  }
  size_t count = 0;
  for (size_t i = 0; i < heard.event_count; ++i) {
    if (heard.events[i].kind == SR_EVENT_SOUND) {
      sounds[count++] = heard.events[i];
    }
  }
  qsort(sounds, count, sizeof(SrEvent), by_onset);
  count = put_together(f, sounds, count);
  const double reference_hz = sr_profile_reference_hz(f->profile);
  bool enough = true;
  f->unreported_s = until_s;
  for (size_t i = 0; enough && i < count; ++i) {
    const SrEvent* const sound = &sounds[i];
    if (!(sound->end_s < until_s)) {
      f->unreported_s = fmin(f->unreported_s, sound->onset_s);
      continue;
    }
    // A listener without a profile may have missed the note of this cut; one with a profile hears
    // it again
    const bool known = f->learnt || f->given || !isfinite(until_s);
    const bool clear =
        sr_event_length_s(sound) >= SHORT_NOTE_S ||
        (known && sound->fit >= SHORT_NOTE_FIT && !sr_free_is_flicker(sounds, count, sound));
    if (sr_event_length_s(sound) < LEAST_NOTE_S || !clear || sound->level_db < LEAST_LEVEL_DB ||
        sr_free_is_reported(f, sound) || sr_free_is_cut(sounds, count, i) ||
        sr_free_is_under(sounds, count, i)) {
      continue;
    }
    bool held = false;
    const size_t cut = sr_free_cut_of(sounds, count, i, &held);
    SrFreeNote note = {.onset_s = sound->onset_s,
                       .end_s = sound->end_s,
                       .midi = sound->midi,
                       .cents = isfinite(sound->frequency_hz)
                                    ? 1200.0 * log2(sound->frequency_hz / reference_hz) -
                                          100.0 * (sound->midi - 69)
                                    : (double)NAN,
                       .level_db = sound->level_db,
                       .cut_ms = (double)NAN,
                       .cut_midi = -1};
    if (cut < count) {
      note.cut_ms = sr_cut_length_ms(&sounds[cut], held ? NULL : sound);
      note.cut_midi = sounds[cut].midi;
      note.held = held;
      note.onset_s = fmin(note.onset_s, sounds[cut].onset_s);
    }
    note.goes_on = goes_on_under_air(f, &heard, sound);
    enough = add_note(f, &note);
    f->recent[f->recent_next] = (Recent){sound->midi, sound->onset_s, sound->end_s};
    f->recent_next = (f->recent_next + 1) % RECENT;
    f->last_midi = note.midi;
    f->last_end_s = note.end_s;
  }
  for (size_t i = 0; enough && i < heard.air_count; ++i) {
    if (heard.air[i].start_s > f->air_reported_s) {
      enough = add_air(f, &heard.air[i]);
      f->air_reported_s = heard.air[i].start_s;
    }
  }
  free(sounds);
  // A reported sound is needed while a cut may belong to it, a held one until it ends
  const double held_s = fmax(f->unreported_s - SR_GRACE_MOST_S - CUT_GAP_S, until_s - MOST_HELD_S);
  sr_window_drop(f->window, fmin(until_s - FREE_PAST_S, held_s));
  return enough;
}
