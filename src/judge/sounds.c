// SPDX-License-Identifier: GPL-3.0-or-later

#include "sounds.h"

#include "median.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/// A sound of this length stands by itself; a shorter one must be this near to one.
#define LONG_SOUND_S 0.07
#define BY_S 0.12
/// A sound so far below the usual long one, dB, is none.
#define FAINT_DB 20.0
/// … or, since the ear adds up what it gets over some tenths of a second, a sound of this length so
/// far below it.
#define BRIEF_S 0.012
#define BRIEF_DB 14.0

/// A doubled note's octave above is a stray part of it if it is no longer than this,
#define HEAD_S 0.1
/// the note begins within this of its end,
#define HEAD_GAP_S 0.02
/// and a part of the note before it, if this short, is its beginning.
#define FIRST_PART_S 0.06
/// A later part goes on in the phase of the one before by at least this.
#define SAME_PHASE 0.85

/// The beginning of a note that wavered: no longer than this, with the rest so soon behind it,
#define WAVER_S 0.08
#define WAVER_GAP_S 0.025
/// which fell by less than this in between.
#define WAVER_DB 12.0

/// A cut is no longer than this, s, and at most so many semitones above its note.
#define MOST_CUT_S 0.18
#define MOST_CUT_STEP 9
/// A note whose first part ended so soon after its cut began, s, spoke anew behind that, even if it
/// seems to have done so at most so long before it, s, or in its first half.
#define LET_GO_S 0.03
#define NEAR_STEP 2
#define EARLY_S 0.008

/// A note that sagged fell by less than this, dB, if that is known: loud air may hide all of it for
/// a moment. Air reaches so far about what is heard of it, s.
#define SAG_DB 25.0
#define ABOUT_AIR_S 0.12

/// By onset, then by all else that is told, so that any order of events gives one result.
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
   Drop sounds far below what is usual in this take: the room, heard before it was known.

   @return How many are left.
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
    const bool brief = sounds[i].end_s - sounds[i].onset_s < BRIEF_S;
    if (sounds[i].level_db >= usual_db - (brief ? BRIEF_DB : FAINT_DB)) {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

/**
   Drop short sounds that no longer one stands by: what is left of speech and knocks. A
   cut or a clipped note always has its neighbours.

   @return How many are left.
*/
static size_t
drop_flickers(SrEvent* const sounds, const size_t count)
{
  size_t kept = 0;
  double last_long_end = -1.0;
  for (size_t i = 0; i < count; ++i) {
    bool stands = sounds[i].end_s - sounds[i].onset_s >= LONG_SOUND_S ||
                  sounds[i].onset_s - last_long_end < BY_S;
    for (size_t j = i + 1; !stands && j < count && sounds[j].onset_s - sounds[i].end_s < BY_S;
         ++j) {
      stands = sounds[j].end_s - sounds[j].onset_s >= LONG_SOUND_S;
    }
    if (sounds[i].end_s - sounds[i].onset_s >= LONG_SOUND_S && sounds[i].end_s > last_long_end) {
      last_long_end = sounds[i].end_s;
    }
    if (stands) {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

/// The first sound of a pitch that begins, or the last that ends, about a time; count if none does.
static size_t
sound_about(const SrEvent* const sounds, const size_t count, const int midi, const double at_s,
            const bool ends)
{
  size_t found = count;
  for (size_t i = 0; i < count && sounds[i].onset_s < at_s + HEAD_GAP_S; ++i) {
    const double time_s = ends ? sounds[i].end_s : sounds[i].onset_s;
    if (sounds[i].midi == midi && fabs(time_s - at_s) < HEAD_GAP_S) {
      if (!ends) {
        return i;
      }
      found = i;
    }
  }
  return found;
}

static size_t
drop_sound(SrEvent* const sounds, const size_t count, const size_t index)
{
  memmove(&sounds[index], &sounds[index + 1], (count - index - 1) * sizeof(SrEvent));
  return count - 1;
}

/// Whether a cut lies between a stray octave's beginning and the note below it: what the octave was
/// a part of then is the cut, or the note before.
static bool
cut_between(const SrEvent* const sounds, const size_t count, const SrEvent* const head,
            const SrEvent* const note)
{
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const cut = &sounds[i];
    if (cut->midi > note->midi && cut->midi < head->midi &&
        cut->onset_s > head->onset_s - HEAD_GAP_S && cut->end_s < note->onset_s + HEAD_GAP_S) {
      return true;
    }
  }
  return false;
}

/**
   Give a note back what was heard as its octave above: where a note is doubled, the
   upper reed speaks first, and for that while it may look like the octave's lower one.

   @return How many are left.
*/
static size_t
join_octave_heads(SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count;) {
    const SrEvent head = sounds[i];
    const size_t note = head.end_s - head.onset_s > HEAD_S
                            ? count
                            : sound_about(sounds, count, head.midi - 12, head.end_s, false);
    if (note <= i || note == count) {
      ++i;
      continue;
    }
    const size_t before = sound_about(sounds, i, head.midi - 12, head.onset_s, true);
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

/// Whether any sound but these two begins about the place where they meet.
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

/**
   Join a note's short beginning to the rest of it: slow reeds waver as they start. No
   tune has notes so short that repeat with nothing between.

   @return How many are left.
*/
static size_t
join_wavering_starts(SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const first = &sounds[i];
    size_t rest = first->end_s - first->onset_s < WAVER_S ? i + 1 : count;
    while (rest < count && sounds[rest].midi != first->midi) {
      ++rest;
    }
    if (rest < count && sounds[rest].onset_s - first->end_s < WAVER_GAP_S &&
        sounds[rest].fall_db < WAVER_DB &&
        sounds[rest].end_s - sounds[rest].onset_s > first->end_s - first->onset_s &&
        !other_between(sounds, count, i, rest)) {
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

/// Whether a stretch lies under a release of air, or just about it.
static bool
is_under_air(const SrAirHeard* const air, const size_t air_count, const double from_s,
             const double to_s)
{
  for (size_t i = 0; i < air_count; ++i) {
    if (from_s > air[i].start_s - ABOUT_AIR_S && to_s < air[i].end_s + ABOUT_AIR_S) {
      return true;
    }
  }
  return false;
}

/**
   Join a note that sagged or bent under air to what went on behind it: its level sank, its
   phase strayed, or the air hid it, but nobody let it go.

   @return How many are left.
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

/// A note that let go for a cut, or into which one leads from another note, speaks when that is
/// over, and not as it begins: its level was least there, and told no more. `scratch` has room for
/// as many doubles.
static void
speak_after_cuts(SrEvent* const sounds, const size_t count, double* const scratch)
{
  for (size_t i = 0; i < count; ++i) {
    scratch[i] = sounds[i].onset_s;
  }
  for (size_t c = 0; c < count; ++c) {
    const SrEvent* const cut = &sounds[c];
    const double length_s = cut->end_s - cut->onset_s;
    for (size_t n = c > 3 ? c - 3 : 0; n < count && n <= c + 3; ++n) {
      const SrEvent* const note = &sounds[n];
      const int step = cut->midi - note->midi;
      const bool early =
          note->onset_s > cut->onset_s - EARLY_S && note->onset_s < cut->onset_s + 0.5 * length_s;
      if (cut->sounding || length_s > MOST_CUT_S || step < 1 || step > MOST_CUT_STEP || !early ||
          !(note->end_s > cut->end_s + LET_GO_S)) {
        continue;
      }
      const size_t first = sound_about(sounds, n, note->midi, note->onset_s, true);
      const bool spoke = first < n && fabs(sounds[first].end_s - cut->onset_s) < LET_GO_S;
      // A reed so near takes up some of the start of the cut that leads into it
      const bool sounded = first < n && sounds[first].end_s > cut->onset_s - MOST_CUT_S;
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

size_t
sr_sounds_tidy(SrEvent* const sounds, const size_t count, const SrAirHeard* const air,
               const size_t air_count, double* const scratch)
{
  sr_events_sort(sounds, count);
  size_t kept = drop_faint(sounds, count, scratch);
  kept = drop_flickers(sounds, kept);
  kept = join_octave_heads(sounds, kept);
  kept = join_wavering_starts(sounds, kept);
  kept = join_under_air(sounds, kept, air, air_count);
  speak_after_cuts(sounds, kept, scratch);
  return kept;
}
