// SPDX-License-Identifier: GPL-3.0-or-later

#include "tidy_sounds.h"

#include "air.h"
#include "cut.h"
#include "median.h"
#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/// By onset, then pitch and end, so that the input order does not matter.
static int
compare_events(const void* const a, const void* const b)
{
  const SrEvent* const x = (const SrEvent*)a;
  const SrEvent* const y = (const SrEvent*)b;
  if (x->onset_s < y->onset_s || x->onset_s > y->onset_s) {
    return x->onset_s < y->onset_s ? -1 : 1;
  }
  if (x->midi != y->midi) {
    return x->midi < y->midi ? -1 : 1;
  }
  return (x->end_s > y->end_s) - (x->end_s < y->end_s);
}

void
sr_events_sort(SrEvent* const events, const size_t count)
{
  qsort(events, count, sizeof(SrEvent), compare_events);
}

/**
   Drop sounds far below the usual level of the take: the room, before its noise was known.

   @return Number left.
*/
static size_t
drop_faint(SrEvent* const sounds, const size_t count, double* const scratch)
{
  size_t longs = 0;
  for (size_t i = 0; i < count; ++i) {
    if (sounds[i].end_s - sounds[i].onset_s >= LONG_SOUND_S) {
      scratch[longs++] = sounds[i].level_db;
    }
  }
  if (longs < 3) {
    return count;
  }
  const double usual_db = sr_median(scratch, longs);
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    const double length_s = fmax(1e-3, sounds[i].end_s - sounds[i].onset_s);
    const double brief_db = 10.0 * log10(fmin(1.0, length_s / EAR_S));
    if (sounds[i].level_db + brief_db >= usual_db - FAINT_DB) {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

/// Whether a sound is long, or short and near a long one.
static bool
stands(const SrEvent* const sounds, const size_t count, const size_t index,
       const double last_long_end)
{
  bool near = sounds[index].end_s - sounds[index].onset_s >= LONG_SOUND_S ||
              sounds[index].onset_s - last_long_end < BY_S;
  for (size_t j = index + 1; !near && j < count && sounds[j].onset_s - sounds[index].end_s < BY_S;
       ++j) {
    near = sounds[j].end_s - sounds[j].onset_s >= LONG_SOUND_S;
  }
  return near;
}

/// Whether adjacent sounds on one side lead to one that stands; `standing` is positive for those.
static bool
leads_to_standing(const SrEvent* const sounds, const size_t count, const size_t index,
                  const bool later, const double* const standing)
{
  size_t at = index;
  for (;;) {
    size_t next = at;
    for (size_t step = 1; step <= FLICKER_REACH && next == at; ++step) {
      if ((later && at + step >= count) || (!later && step > at)) {
        break;
      }
      const size_t other = later ? at + step : at - step;
      const double gap_s = later ? sounds[other].onset_s - sounds[at].end_s
                                 : sounds[at].onset_s - sounds[other].end_s;
      next = fabs(gap_s) < HEAD_GAP_S ? other : next;
    }
    if (next == at || standing[next] > 0.0) {
      return next != at;
    }
    at = next;
  }
}

/**
   Drop short sounds with no long one nearby: remains of speech and knocks. A cut or a clipped note
   always has its neighbours, and a run of quick notes leads from one to another.

   @param scratch `count` doubles.
   @return Number left.
*/
static size_t
drop_flickers(SrEvent* const sounds, const size_t count, double* const scratch)
{
  double last_long_end = -1.0;
  for (size_t i = 0; i < count; ++i) {
    scratch[i] = stands(sounds, count, i, last_long_end);
    if (sounds[i].end_s - sounds[i].onset_s >= LONG_SOUND_S) {
      last_long_end = fmax(last_long_end, sounds[i].end_s);
    }
  }
  // The marks of stands() are not changed by runs
  for (size_t i = 0; i < count; ++i) {
    const bool run = !(scratch[i] > 0.0) && leads_to_standing(sounds, count, i, false, scratch) &&
                     leads_to_standing(sounds, count, i, true, scratch);
    sounds[i].midi = run || scratch[i] > 0.0 ? sounds[i].midi : -1;
  }
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    if (sounds[i].midi >= 0) {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

/// The last sound of a pitch that ends near a time; count if none.
static size_t
sound_to(const SrEvent* const sounds, const size_t count, const int midi, const double at_s)
{
  size_t found = count;
  for (size_t i = 0; i < count && sounds[i].onset_s < at_s + HEAD_GAP_S; ++i) {
    if (sounds[i].midi == midi && fabs(sounds[i].end_s - at_s) < HEAD_GAP_S) {
      found = i;
    }
  }
  return found;
}

/// The note an octave below a stray octave, at least as loud, that starts in or just after it and
/// outlasts it; count if none.
static size_t
note_of_head(const SrEvent* const sounds, const size_t count, const SrEvent* const head)
{
  for (size_t i = 0; i < count && sounds[i].onset_s < head->end_s + HEAD_GAP_S; ++i) {
    if (sounds[i].midi == head->midi - 12 && sounds[i].onset_s > head->onset_s &&
        sounds[i].end_s > head->end_s && sounds[i].level_db >= head->level_db) {
      return i;
    }
  }
  return count;
}

static size_t
drop_sound(SrEvent* const sounds, const size_t count, const size_t index)
{
  memmove(&sounds[index], &sounds[index + 1], (count - index - 1) * sizeof(SrEvent));
  return count - 1;
}

/// Whether a cut lies between a stray octave and the note below: the octave then belongs to the cut
/// or to the previous note.
static bool
cut_between(const SrEvent* const sounds, const size_t count, const SrEvent* const head,
            const SrEvent* const note)
{
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const cut = &sounds[i];
    if (cut->midi > note->midi && cut->midi < head->midi &&
        cut->onset_s > head->onset_s - HEAD_GAP_S && cut->onset_s < note->onset_s &&
        cut->end_s < note->end_s) {
      return true;
    }
  }
  return false;
}

/// Whether the phrase has a note followed by the one an octave below.
static bool
is_octave_leap(const SrPhrase* const phrase, const int midi)
{
  for (size_t i = 1; i < sr_phrase_note_count(phrase); ++i) {
    if (sr_phrase_note(phrase, i - 1)->midi == midi &&
        sr_phrase_note(phrase, i)->midi == midi - 12) {
      return true;
    }
  }
  return false;
}

/**
   Give a note back what was heard as its octave at the start. Where notes are doubled the upper
   reed speaks first and may look like the lower one of the octave above; a single reed may start
   with its second harmonic.

   @return Number left.
*/
static size_t
join_octave_heads(const SrPhrase* const phrase, SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count;) {
    const SrEvent head = sounds[i];
    const size_t note =
        head.end_s - head.onset_s > HEAD_S ? count : note_of_head(sounds, count, &head);
    const bool leap = note < count && sounds[note].onset_s > head.end_s - HEAD_GAP_S &&
                      is_octave_leap(phrase, head.midi);
    if (note == count || leap) {
      ++i;
      continue;
    }
    const size_t before = sound_to(sounds, i, head.midi - 12, head.onset_s);
    SrEvent* const joined = &sounds[note];
    if (cut_between(sounds, count, &head, joined)) {
      count = drop_sound(sounds, count, i);
      continue;
    }
    joined->onset_s = head.onset_s;
    if (before < i) {
      SrEvent* const first = &sounds[before];
      if (first->end_s - first->onset_s < FIRST_PART_S || joined->phase_kept > SAME_PHASE) {
        first->end_s = joined->end_s;
        first->level_db = joined->level_db;
        first->frequency_hz = joined->frequency_hz;
        count = drop_sound(sounds, count, note);
      }
    }
    count = drop_sound(sounds, count, i);
  }
  sr_events_sort(sounds, count);
  return count;
}

/// Whether a third sound starts between the starts of these two.
static bool
other_between(const SrEvent* const sounds, const size_t count, const size_t one, const size_t two)
{
  for (size_t i = 0; i < count; ++i) {
    if (i != one && i != two && sounds[i].onset_s > sounds[one].onset_s &&
        sounds[i].onset_s < sounds[two].onset_s + 0.005) {
      return true;
    }
  }
  return false;
}

/// Whether the lengths of two sounds of a pitch have the ratio of two notes written in succession
/// without a cut.
static bool
are_two_notes(const SrPhrase* const phrase, const SrEvent* const first, const SrEvent* const second)
{
  const double heard = (second->end_s - second->onset_s) / (second->onset_s - first->onset_s);
  for (size_t i = 0; i + 1 < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const SrPhraseNote* const next = sr_phrase_note(phrase, i + 1);
    const double written = sr_fraction_value(next->length) / sr_fraction_value(note->length);
    if (note->midi == first->midi && next->midi == first->midi && next->cut_midi < 0 &&
        heard > written / ALIKE_LENGTHS && heard < written * ALIKE_LENGTHS) {
      return true;
    }
  }
  return false;
}

/**
   Join a note's short start to the rest of it: slow reeds waver as they start, and the first
   reflections of a room can interrupt a note. Hardly any tune repeats such short notes without a
   cut.

   @return Number left.
*/
static size_t
join_wavering_starts(const SrPhrase* const phrase, SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const first = &sounds[i];
    size_t rest = first->end_s - first->onset_s < WAVER_S ? i + 1 : count;
    while (rest < count && sounds[rest].midi != first->midi) {
      ++rest;
    }
    if (rest < count && sounds[rest].onset_s - first->end_s < WAVER_GAP_S &&
        (!isfinite(first->fall_db) || sounds[rest].fall_db < WAVER_DB) &&
        sounds[rest].end_s - sounds[rest].onset_s > first->end_s - first->onset_s &&
        !other_between(sounds, count, i, rest) && !are_two_notes(phrase, first, &sounds[rest])) {
      const double fall_db = first->fall_db;
      const double phase_kept = first->phase_kept;
      const double onset_s = first->onset_s;
      sounds[i] = sounds[rest];
      sounds[i].onset_s = onset_s;
      sounds[i].fall_db = fall_db;
      sounds[i].phase_kept = phase_kept;
      count = drop_sound(sounds, count, rest);
    }
  }
  return count;
}

/// Whether a short higher sound, a cut, starts where a sound is interrupted.
static bool
higher_between(const SrEvent* const sounds, const size_t count, const SrEvent* const first,
               const SrEvent* const rest)
{
  for (size_t i = 0; i < count && sounds[i].onset_s < rest->onset_s + EARLY_S; ++i) {
    if (sounds[i].midi > first->midi && sounds[i].onset_s > first->end_s - BEAT_S &&
        sounds[i].end_s - sounds[i].onset_s < SR_GRACE_MOST_S) {
      return true;
    }
  }
  return false;
}

/// Whether a lower sound is present where a sound is interrupted.
static bool
lower_about(const SrEvent* const sounds, const size_t count, const SrEvent* const first,
            const SrEvent* const rest)
{
  for (size_t i = 0; i < count && sounds[i].onset_s < first->end_s + SOUNDS_AT_ONCE_S; ++i) {
    // A strike would be over by then
    if (sounds[i].midi < first->midi && sounds[i].end_s > rest->onset_s + BEAT_S) {
      return true;
    }
  }
  return false;
}

/**
   Join a note that was interrupted only by its harmonics beating with those of lower sounds: the
   phase is kept, or the gap is too short for a finger.

   @return Number left.
*/
static size_t
join_over_lower(SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count;) {
    SrEvent* const first = &sounds[i];
    size_t rest = i + 1;
    while (rest < count && sounds[rest].midi != first->midi) {
      ++rest;
    }
    const SrEvent* const next = rest < count ? &sounds[rest] : NULL;
    const double gap_s = next ? next->onset_s - first->end_s : (double)INFINITY;
    const bool kept = next && next->phase_kept > SAME_PHASE && next->fall_db < WAVER_DB;
    const bool one = gap_s < SOUNDS_AT_ONCE_S || (kept && gap_s < BEAT_S);
    // Of two short sounds, as in a group of graces, neither is a note
    const bool is_note =
        next && fmax(first->end_s - first->onset_s, next->end_s - next->onset_s) >= LONG_SOUND_S;
    if (one && is_note && lower_about(sounds, count, first, next) &&
        !higher_between(sounds, count, first, next)) {
      if (next->end_s - next->onset_s > first->end_s - first->onset_s) {
        first->level_db = next->level_db;
        first->frequency_hz = next->frequency_hz;
      }
      first->end_s = fmax(first->end_s, next->end_s);
      first->sounding = first->sounding || next->sounding;
      count = drop_sound(sounds, count, rest);
    } else {
      ++i;
    }
  }
  return count;
}

/// Whether a stretch lies under a release of air, or close to one.
static bool
is_under_air(const SrAirHeard* const air, const size_t air_count, const double from_s,
             const double to_s)
{
  for (size_t i = 0; i < air_count; ++i) {
    if (from_s > air[i].start_s - SR_ABOUT_AIR_S && to_s < air[i].end_s + SR_ABOUT_AIR_S) {
      return true;
    }
  }
  return false;
}

/**
   Join a note that sagged or bent under air: its level fell, its phase drifted or the air hid it,
   but it was not released.

   @return Number left.
*/
static size_t
join_under_air(SrEvent* const sounds, size_t count, const SrAirHeard* const air,
               const size_t air_count)
{
  for (size_t i = 0; i < count;) {
    SrEvent* const first = &sounds[i];
    size_t rest = air_count > 0 ? i + 1 : count;
    while (rest < count && sounds[rest].midi != first->midi) {
      ++rest;
    }
    const bool follows = rest < count &&
                         is_under_air(air, air_count, first->end_s, sounds[rest].onset_s) &&
                         !(sounds[rest].fall_db > SAG_DB) && !other_between(sounds, count, i, rest);
    if (follows) {
      first->end_s = fmax(first->end_s, sounds[rest].end_s);
      count = drop_sound(sounds, count, rest);
    } else {
      ++i;
    }
  }
  return count;
}

/// Whether a pitch leads into a higher note from below: as its strike, or as a preceding note as
/// short as a grace. Otherwise it is the higher reed starting flat.
static bool
leads_from_below(const SrPhrase* const phrase, const int low, const int midi)
{
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const SrPhraseNote* const before = i > 0 ? sr_phrase_note(phrase, i - 1) : NULL;
    const bool brief =
        before && before->midi == low &&
        GRACE_SHARE * sr_fraction_value(before->length) < sr_fraction_value(note->length);
    if (note->midi == midi && (note->cut_midi == low || brief)) {
      return true;
    }
  }
  return false;
}

/// A note released for a cut or strike, or entered through one, speaks when that is over, though it
/// seems to start with it, where its level was lowest. `scratch` has room for `count` doubles.
static void
speak_after_cuts(const SrPhrase* const phrase, SrEvent* const sounds, const size_t count,
                 double* const scratch)
{
  for (size_t i = 0; i < count; ++i) {
    scratch[i] = sounds[i].onset_s;
  }
  for (size_t c = 0; c < count; ++c) {
    const SrEvent* const cut = &sounds[c];
    const double length_s = cut->end_s - cut->onset_s;
    for (size_t n = c > 3 ? c - 3 : 0; n < count && n <= c + 3; ++n) {
      const SrEvent* const note = &sounds[n];
      const int step = abs(cut->midi - note->midi);
      const size_t first = sound_to(sounds, n, note->midi, cut->onset_s);
      // A reed cannot sound again before its release
      const double onset_s = first < n ? fmax(note->onset_s, sounds[first].end_s) : note->onset_s;
      const bool early =
          onset_s > cut->onset_s - EARLY_S && onset_s < cut->onset_s + 0.5 * length_s;
      if (cut->sounding || length_s > SR_GRACE_MOST_S || step < 1 || step > SR_GRACE_MOST_STEP ||
          !early || !(note->end_s > cut->end_s + LET_GO_S) ||
          (cut->midi < note->midi && !leads_from_below(phrase, cut->midi, note->midi))) {
        continue;
      }
      const bool spoke = first < n && fabs(sounds[first].end_s - cut->onset_s) < LET_GO_S;
      // A near reed picks up part of the start of the cut that leads into it
      const bool sounded = first < n && sounds[first].end_s > cut->onset_s - SR_GRACE_MOST_S;
      if (spoke || (step <= NEAR_STEP && !sounded)) {
        scratch[n] = cut->end_s;
      }
    }
  }
  for (size_t i = 0; i < count; ++i) {
    sounds[i].onset_s = scratch[i];
  }
  sr_events_sort(sounds, count);
}

/// Whether a sound is the flat start of a higher reed: it starts with a clearly louder one that did
/// not sound just before.
static bool
is_flat_start(const SrEvent* const sounds, const size_t count, const size_t index)
{
  const SrEvent* const low = &sounds[index];
  const double length_s = low->end_s - low->onset_s;
  for (size_t n = index > 3 ? index - 3 : 0; n < count && n <= index + 3; ++n) {
    const SrEvent* const note = &sounds[n];
    const size_t before = sound_to(sounds, n, note->midi, note->onset_s);
    if (low->midi < note->midi && note->midi - low->midi <= NEAR_STEP &&
        note->level_db > low->level_db + FLAT_DB && note->end_s > low->end_s &&
        note->onset_s > low->onset_s - EARLY_S && note->onset_s < low->onset_s + 0.5 * length_s &&
        before >= n) {
      return true;
    }
  }
  return false;
}

/**
   Drop flat starts of other reeds.

   @return Number left.
*/
static size_t
drop_flat_starts(SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count;) {
    const bool brief = !sounds[i].sounding && sounds[i].end_s - sounds[i].onset_s < HEAD_S;
    if (brief && is_flat_start(sounds, count, i)) {
      count = drop_sound(sounds, count, i);
    } else {
      ++i;
    }
  }
  return count;
}

size_t
sr_sounds_tidy(const SrPhrase* const phrase, SrEvent* const sounds, const size_t count,
               const SrAirHeard* const air, const size_t air_count, double* const scratch)
{
  sr_events_sort(sounds, count);
  size_t kept = drop_faint(sounds, count, scratch);
  kept = drop_flickers(sounds, kept, scratch);
  kept = join_octave_heads(phrase, sounds, kept);
  kept = join_over_lower(sounds, kept);
  kept = join_wavering_starts(phrase, sounds, kept);
  kept = join_under_air(sounds, kept, air, air_count);
  kept = drop_flat_starts(sounds, kept);
  speak_after_cuts(phrase, sounds, kept, scratch);
  return kept;
}
