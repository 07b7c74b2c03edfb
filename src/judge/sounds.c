// SPDX-License-Identifier: GPL-3.0-or-later

#include "sounds.h"

#include "median.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/// A sound of this length stands by itself; a shorter one must be this near to one,
#define LONG_SOUND_S 0.07
#define BY_S 0.12
/// or be in a run that leads to one on either side; so many sounds are looked at for the next of
/// it.
#define FLICKER_REACH 4u
/// A sound so far below the usual long one, dB, is none. The ear adds up what it gets: one shorter
/// than this, s, is so much softer to it.
#define FAINT_DB 20.0
#define EAR_S 0.06

/// A note's octave above is a stray part of its beginning if it is no longer than this,
#define HEAD_S 0.1
/// the note begins in it, or within this of its end,
#define HEAD_GAP_S 0.02
/// and a part of the note before it, if this short, is its beginning.
#define FIRST_PART_S 0.06
/// A later part goes on in the phase of the one before by at least this.
#define SAME_PHASE 0.85

/// Two notes are as long to each other as written within this factor.
#define ALIKE_LENGTHS 1.5

/// The beginning of a note that wavered: no longer than this, with the rest so soon behind it,
#define WAVER_S 0.08
#define WAVER_GAP_S 0.025
/// which fell by less than this in between: else, where the reed had sounded shortly before, it may
/// be the end of that.
#define WAVER_DB 12.0

/// What beats with lower sounds breaks for less than this, s; what comes again sooner than this was
/// not let go.
#define BEAT_S 0.06
#define AT_ONCE_S 0.01

/// A note whose first part ended so soon after its cut began, s, spoke again behind that, even if
/// it seems to have done so at most so long before it, s, or in its first half.
#define LET_GO_S 0.03
#define NEAR_STEP 2
#define EARLY_S 0.008
/// A reed that starts flat sounds like its neighbour below for a moment, so much softer at least,
/// dB: of all takes with ornaments, no strike that led in from another note was as soft and heard
/// to begin with its note.
#define FLAT_DB 10.0

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
    const double length_s = fmax(1e-3, sounds[i].end_s - sounds[i].onset_s);
    const double brief_db = 10.0 * log10(fmin(1.0, length_s / EAR_S));
    if (sounds[i].level_db + brief_db >= usual_db - FAINT_DB) {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

/// Whether a sound is long, or short and near to a long one.
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

/// Whether the nearest sounds on one side, each beginning as another ends, lead to one that stands.
/// `standing` tells of each whether it does.
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
   Drop short sounds that no longer one stands by: what is left of speech and knocks. A cut or a
   clipped note always has its neighbours, and a run of quick notes leads from one to another.

   @param scratch `count` doubles.
   @return How many are left.
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
  // What is found here says nothing of the others
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

/// The last sound of a pitch that ends about a time; count if none does.
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

/// The note an octave below a head, and no softer, that begins in it or so soon behind it and
/// outlasts it; count if there is none.
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

/// Whether a cut lies between a stray octave's beginning and the note below it: what the octave was
/// a part of then is the cut, or the note before.
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

/// Whether a note of the phrase is followed by the one an octave below it.
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
   Give a note back what was heard as its octave above: where a note is doubled, the
   upper reed speaks first, and for that while it may look like the octave's lower one; a
   single reed may begin with its second harmonic.

   @return How many are left.
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

/// Whether two sounds of a pitch are to each other as two notes that are written one after the
/// other, with nothing between.
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
   Join a note's short beginning to the rest of it: slow reeds waver as they start, and a
   room takes off from a note as its first reflections arrive. Hardly a tune has notes so short
   that repeat with nothing between.

   @return How many are left.
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

/// Whether a short higher sound begins where a sound is broken: a cut.
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

/// Whether a lower sound is there where a sound is broken.
static bool
lower_about(const SrEvent* const sounds, const size_t count, const SrEvent* const first,
            const SrEvent* const rest)
{
  for (size_t i = 0; i < count && sounds[i].onset_s < first->end_s + AT_ONCE_S; ++i) {
    // A strike would be over
    if (sounds[i].midi < first->midi && sounds[i].end_s > rest->onset_s + BEAT_S) {
      return true;
    }
  }
  return false;
}

/**
   Join a note to what goes on behind a break that only the beating of its harmonics with those of
   lower sounds makes: in its old phase, or sooner than a finger comes back.

   @return How many are left.
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
    const bool one = gap_s < AT_ONCE_S || (kept && gap_s < BEAT_S);
    // Of two short ones, as in a group of graces, neither is a note
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

/// What is written more than so many times shorter than the note behind it is like a grace.
#define GRACE_SHARE 8.0

/// Whether a pitch leads into a higher note from below: as its strike, or as a note before it that
/// is written no longer beside it than a grace. Else it is the higher reed itself, which starts
/// flat.
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

/// A note that let go for a cut or a strike, or into which one leads from another note, speaks when
/// that is over, and not as it begins: its level was least there, and told no more. `scratch` has
/// room for as many doubles.
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
      // No reed sounds again before it has let go
      const double onset_s = first < n ? fmax(note->onset_s, sounds[first].end_s) : note->onset_s;
      const bool early =
          onset_s > cut->onset_s - EARLY_S && onset_s < cut->onset_s + 0.5 * length_s;
      if (cut->sounding || length_s > SR_GRACE_MOST_S || step < 1 || step > SR_GRACE_MOST_STEP ||
          !early || !(note->end_s > cut->end_s + LET_GO_S) ||
          (cut->midi < note->midi && !leads_from_below(phrase, cut->midi, note->midi))) {
        continue;
      }
      const bool spoke = first < n && fabs(sounds[first].end_s - cut->onset_s) < LET_GO_S;
      // A reed so near takes up some of the start of the cut that leads into it
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

/// Whether a sound is the flat start of a higher reed: it begins with one that did not sound just
/// before and is clearly louder.
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
   Drop what is the start of another reed.

   @return How many are left.
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
