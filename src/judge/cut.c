// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file cut.c
   Two measures of a cut's length: its own end, and the onset of its note. Alone, the first is wrong
   by 3.0 and 2.4 ms (recorded and modelled reeds), the second by 4.5 and 2.6; sr_cut_length_ms()
   combines them, and is wrong by 2.4 and 1.8.
*/

#include "cut.h"

#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>

bool
sr_sound_held(const SrJudgeSettings* const settings, const SrEvent* const sound)
{
  // In a live room the fall of a released note may be hidden; a new phase shows the release
  const bool reattacked = isfinite(sound->phase_kept) && sound->phase_kept < NEW_PHASE;
  return isfinite(sound->fall_db) && sound->fall_db < settings->joined_fall_db && !reattacked;
}

// The cut's own end and the note's onset both mark the moment when the note took over; where the
// note is slow to speak the cut's end is the better one
double
sr_cut_length_ms(const SrEvent* const cut, const SrEvent* const sound)
{
  const double own_s = fmax(0.0, cut->end_s - RELEASE_S - cut->onset_s);
  const double until_s = sound ? sound->onset_s - cut->onset_s : 0.0;
  if (cut->sounding && until_s > 0.0) {
    return 1e3 * until_s;
  }
  return 1e3 * (until_s > 0.0 ? OWN_SHARE * own_s + (1.0 - OWN_SHARE) * until_s : own_s);
}

void
sr_cut_weigh(const SrJudgeSettings* const settings, const double end_s, SrNoteVerdict* const note)
{
  if (!note->has_cut || (note->cut.verdict != SR_CUT_CLEAN && note->cut.verdict != SR_CUT_LONG)) {
    return;
  }
  // Long enough to be heard as a note of its own
  const double whole_ms = 1e3 * (end_s - note->cut.onset_s);
  const bool is_long = note->cut.length_ms > settings->long_cut_ms ||
                       note->cut.length_ms > settings->long_cut_share * whole_ms;
  note->cut.verdict = is_long ? SR_CUT_LONG : SR_CUT_CLEAN;
}

void
sr_cut_judge(const SrTake* const take, const size_t index, const SrEvent* const cut,
             const SrEvent* const sound, SrNoteVerdict* const note)
{
  const int cut_midi = sr_phrase_note(take->phrase, index)->cut_midi;
  const bool written = cut_midi >= 0;
  const bool repeats = sr_note_repeats(take->phrase, index);
  const bool held =
      repeats && note->status == SR_NOTE_PLAYED && (!sound || sr_sound_held(take->settings, sound));
  if (held) {
    note->joined = SR_YES;
    note->onset_s = (double)NAN;
  }
  if (note->status != SR_NOTE_PLAYED || (!written && !cut)) {
    return;
  }
  note->has_cut = true;
  note->cut = (SrCut){.verdict = written ? SR_CUT_ABSENT : SR_CUT_STRAY,
                      .onset_s = (double)NAN,
                      .length_ms = (double)NAN,
                      .midi = -1,
                      .fall_db = repeats && sound ? sound->fall_db : (double)NAN};
  if (cut) {
    note->cut.onset_s = cut->onset_s;
    note->cut.length_ms = sr_cut_length_ms(cut, sound);
    note->cut.midi = cut->midi;
  }
  if (!written) {
    return;
  }
  if (held) {
    note->cut.verdict = SR_CUT_JOINED;
    note->cut.fall_db = sound ? sound->fall_db : 0.0;
  } else if (cut && sound && !sr_ornament_is_other_side(note->midi, cut_midi, cut->midi)) {
    note->cut.verdict = SR_CUT_CLEAN;
  }
  if (take->settings->accompanied && note->cut.verdict != SR_CUT_CLEAN) {
    // An accompaniment may hide a cut, or the silence before it
    note->has_cut = false;
    note->joined = repeats ? SR_NOT_ASKED : note->joined;
  }
}
