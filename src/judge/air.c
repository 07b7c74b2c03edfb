// SPDX-License-Identifier: GPL-3.0-or-later

#include "air.h"

#include "tuning.h"

#include <steadyreed/mask.h>

#include <math.h>
#include <stdlib.h>

/// The onset of a note if it was heard, otherwise its due time.
static double
begin_of(const SrNoteVerdict* const note)
{
  return isfinite(note->onset_s) ? note->onset_s : note->due_s;
}

/// The played note that a release overlaps most, otherwise the one before it; the note count if
/// none.
static size_t
note_under(const SrRound* const round, const SrAirHeard* const air)
{
  size_t best = round->note_count;
  size_t before = round->note_count;
  double most = 0.0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    const double begin_s = begin_of(note);
    if (note->status == SR_NOTE_MISSED || note->status == SR_NOTE_UNHEARD || !isfinite(begin_s)) {
      continue;
    }
    double end_s = isfinite(note->end_s) ? note->end_s : begin_s;
    for (size_t next = i + 1; next < round->note_count; ++next) {
      const double next_s = begin_of(&round->notes[next]);
      if (isfinite(next_s) && round->notes[next].status != SR_NOTE_MISSED) {
        // A note joined to it shares its sound
        end_s = fmax(begin_s, fmin(fmax(end_s, note->end_s), next_s));
        break;
      }
    }
    const double shared = fmin(end_s, air->end_s) - fmax(begin_s, air->start_s);
    if (shared > most) {
      most = shared;
      best = i;
    }
    if (begin_s < air->end_s) {
      before = i;
    }
  }
  return best < round->note_count ? best : before;
}

/// What happened to notes that were due during a release.
static void
see_beginnings(const SrRound* const round, SrAirRelease* const release)
{
  release->late_ms = (double)NAN;
  release->failed = false;
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    const bool due_in = note->due_s > release->start_s && note->due_s < release->end_s;
    if (note->status == SR_NOTE_MISSED) {
      release->failed = release->failed || due_in;
    } else if (due_in && note->offset_ms > LATE_MS &&
               note->onset_s < release->end_s + JUST_AFTER_S) {
      release->late_ms = note->offset_ms;
    }
  }
}

const char*
sr_judge_air_unreported(const SrAirCarriage carriage)
{
  switch (carriage) {
  case SR_AIR_REWRITTEN:
    return "air is not judged: this recording was compressed for speech, which adds noise between "
           "the notes' harmonics and may break up whole notes. Record as WAV or FLAC, or at 96 "
           "kbit/s or more.";
  case SR_AIR_BAND_MISSING:
    return "air is not judged: this recording has none of the high frequencies that air is heard "
           "by. Record at 44.1 kHz, and not with an app for calls.";
  case SR_AIR_CARRIED:
  default:
    return NULL;
  }
}

SrStatus
sr_air_gather(const SrTake* const take, SrRound* const round)
{
  if (take->air_carriage != SR_AIR_CARRIED) {
    return SR_OK;
  }
  for (size_t i = 0; i < round->note_count; ++i) {
    round->notes[i].air_asked =
        !take->settings->accompanied && sr_phrase_note(take->phrase, round->notes[i].index)->air;
  }
  round->air = (SrAirRelease*)calloc(take->air_count + 1, sizeof(SrAirRelease));
  if (!round->air) {
    return SR_NO_MEMORY;
  }
  // Harmonics of an accompaniment lie where the hiss is measured
  for (size_t i = 0; i < take->air_count && !take->settings->accompanied; ++i) {
    const SrAirHeard* const heard = &take->air[i];
    if (heard->end_s < round->start_s - ABOUT_S || heard->start_s > round->end_s + ABOUT_S) {
      continue;
    }
    const size_t note = note_under(round, heard);
    if (note == round->note_count || !(heard->note_power > 0.0)) {
      continue;
    }
    SrAirRelease* const release = &round->air[round->air_count++];
    *release = (SrAirRelease){.start_s = heard->start_s,
                              .end_s = heard->end_s,
                              .level_db = 10.0 * log10(heard->hiss_power / heard->note_power),
                              .over_mask_db = sr_mask_over_db(heard),
                              .note_index = note,
                              .between = heard->midi < 0,
                              .asked = round->notes[note].air_asked,
                              .note_dip_db = heard->dip_db,
                              .note_bend_cents = heard->bend_cents};
    release->audible = release->over_mask_db > 0.0;
    see_beginnings(round, release);
  }
  return SR_OK;
}
