// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file roles.c
   A grace is a short sound that leads into a longer one near it in pitch. One that is longer may be
   a grace or a note of a run; its place in time will tell (beam.c), and how likely it is before
   that is told by the brief graces of the take, since fingers have habits. What leads in from below
   is the flat start of a reed unless it parts two notes of one pitch.

   A sound is a note by its reed's spectrum, or as a link of a chain of sounds, each beginning as
   another ends: talk has no such chains.
*/

#include "roles.h"

#include "joined_sounds.h"
#include "live/free_roles.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// What a sound is.
typedef enum { ROLE_NOTE, ROLE_GRACE, ROLE_START, ROLE_NOTHING } Role;

typedef struct {
  SrEvent* sounds;
  size_t count;
  bool doubled; ///< Notes are doubled by the octave below
  Role* roles;
  size_t* owners; ///< Of each grace, the sound it leads into
  bool* over;     ///< Of each grace, whether its note sounded on below it
  bool* clear;    ///< Of each note, whether it clearly is one
  unsigned habits[128][SR_GRACE_MOST_STEP + 1]; ///< Of each pitch, brief graces so far above it
  double usual_s;                               ///< From one usual note to the next
  double usual_db;                              ///< Level of a usual note
} Sounds;

static int
compare_numbers(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// From one note to the next, the median over sounds that are surely no graces.
static double
find_usual_s(const Sounds* const s, double* const scratch)
{
  size_t found = 0;
  double last_s = (double)NAN;
  for (size_t i = 0; i < s->count; ++i) {
    const SrEvent* const sound = &s->sounds[i];
    if (s->roles[i] == ROLE_NOTE && sr_event_length_s(sound) >= SURE_NOTE_S) {
      const double step_s = sound->onset_s - last_s;
      if (step_s > SHORTEST_STEP_S && step_s < LONGEST_STEP_S) {
        scratch[found++] = step_s;
      }
      last_s = sound->onset_s;
    }
  }
  qsort(scratch, found, sizeof(double), compare_numbers);
  return found ? scratch[found / 2] : USUAL_STEP_S;
}

/// How far a grace lies above a note, semitones. Where notes are doubled by the octave below, a
/// grace, which is not, may be heard an octave too low.
static int
step_of(const Sounds* const s, const SrEvent* const grace, const SrEvent* const note)
{
  const int step = grace->midi - note->midi;
  return s->doubled && step < 0 && step + 12 <= SR_GRACE_MOST_STEP ? step + 12 : step;
}

/// The sound that a short one leads into; `count` if none. `over` receives whether that sounded
/// before already.
static size_t
note_of(const Sounds* const s, const size_t index, bool* const over)
{
  const SrEvent* const grace = &s->sounds[index];
  size_t best = s->count;
  for (size_t i = index > REACH ? index - REACH : 0; i < s->count && i <= index + REACH; ++i) {
    const SrEvent* const note = &s->sounds[i];
    const int step = step_of(s, grace, note);
    if (i == index || s->roles[i] == ROLE_NOTHING || step == 0 || abs(step) > SR_GRACE_MOST_STEP ||
        sr_event_length_s(note) < LEAST_OWNER * sr_event_length_s(grace)) {
      continue;
    }
    const bool lies_over =
        note->onset_s < grace->onset_s - GAP_S && note->end_s > grace->end_s + GAP_S;
    const bool leads = fabs(note->onset_s - grace->end_s) < GAP_S ||
                       (note->onset_s > grace->onset_s - GAP_S && note->onset_s < grace->end_s &&
                        note->end_s > grace->end_s + GAP_S);
    if (leads) {
      *over = false;
      return i;
    }
    if (lies_over) {
      *over = true;
      best = i;
    }
  }
  return best;
}

/// Whether the pitch of a note sounded until its grace began.
static bool
parts_notes(const Sounds* const s, const size_t index, const size_t note)
{
  const SrEvent* const grace = &s->sounds[index];
  for (size_t i = index > REACH ? index - REACH : 0; i < s->count && i <= index + REACH; ++i) {
    if (i != note && i != index && s->sounds[i].midi == s->sounds[note].midi &&
        s->sounds[i].onset_s < grace->onset_s &&
        fabs(s->sounds[i].end_s - grace->onset_s) < NEAR_GRACE_S) {
      return true;
    }
  }
  return false;
}

/// Whether a short sound was itself begun by a cut: its pitch sounded before that too.
static bool
is_cut_itself(const Sounds* const s, const size_t index)
{
  const SrEvent* const note = &s->sounds[index];
  for (size_t i = index > REACH ? index - REACH : 0; i < index; ++i) {
    const SrEvent* const cut = &s->sounds[i];
    const int step = cut->midi - note->midi;
    if (s->roles[i] != ROLE_NOTHING && step > NEXT_STEP && step <= SR_GRACE_MOST_STEP &&
        sr_event_length_s(cut) < SR_GRACE_MOST_S && fabs(note->onset_s - cut->end_s) < GAP_S &&
        parts_notes(s, i, index)) {
      return true;
    }
  }
  return false;
}

/// What a short sound is that leads into a note, or lies over it.
static Role
role_of(const Sounds* const s, const size_t index, const size_t note, const bool over)
{
  const SrEvent* const grace = &s->sounds[index];
  const double length_s = sr_event_length_s(grace);
  const bool parts = over || parts_notes(s, index, note);
  const bool below = step_of(s, grace, &s->sounds[note]) < 0;
  if (below) {
    const bool faint = grace->level_db < s->sounds[note].level_db - STRIKE_DB;
    if (!parts || (faint && s->sounds[note].midi - grace->midi <= FLAT_STEP)) {
      return length_s < FLAT_START_S ? ROLE_START : ROLE_NOTE;
    }
  }
  if ((!parts || (over && below)) && sr_free_is_flicker(s->sounds, s->count, grace)) {
    return ROLE_NOTHING;
  }
  if (over) {
    return ROLE_GRACE;
  }
  return length_s < fmin(BRIEF_S, BRIEF_SHARE * s->usual_s) && !is_cut_itself(s, index) ? ROLE_GRACE
                                                                                        : ROLE_NOTE;
}

/// Count the graces that are too brief for notes.
static void
find_habits(Sounds* const s)
{
  for (size_t i = 0; i < s->count; ++i) {
    if (s->roles[i] != ROLE_GRACE) {
      continue;
    }
    const int step = step_of(s, &s->sounds[i], &s->sounds[s->owners[i]]);
    if (step > 0 && step <= SR_GRACE_MOST_STEP) {
      ++s->habits[s->sounds[s->owners[i]].midi & 127][step];
    }
  }
}

/// Log odds of a grace so far above a note against any other: a finger has its habits, at each note
/// and at all. A cut needs the bellows direction of its note, which the next note of the scale
/// mostly lacks.
static double
habit_nats(const Sounds* const s, const int midi, const int step)
{
  double here = 0.0;
  double all = 0.0;
  double alike = 0.0;
  for (int k = 1; k <= SR_GRACE_MOST_STEP; ++k) {
    here += s->habits[midi & 127][k];
    for (int m = 0; m < 128; ++m) {
      all += s->habits[m][k];
      alike += k == step ? s->habits[m][k] : 0.0;
    }
  }
  const double few = step <= NEXT_STEP
                         ? NEXT_SHARE
                         : (1.0 - NEXT_STEP * NEXT_SHARE) / (SR_GRACE_MOST_STEP - NEXT_STEP);
  const double usual = (alike + few) / (all + 1.0);
  return log((s->habits[midi & 127][step] + usual) / (here + 1.0) * SR_GRACE_MOST_STEP);
}

/// Log odds that a note is a long grace of the next one; NAN if it is none.
static double
grace_nats(const Sounds* const s, const size_t index, int* const own_midi)
{
  bool over = false;
  const SrEvent* const grace = &s->sounds[index];
  const size_t note = note_of(s, index, &over);
  if (note == s->count || over || sr_event_length_s(grace) > SR_GRACE_MOST_S ||
      step_of(s, grace, &s->sounds[note]) < 0 || (is_cut_itself(s, index))) {
    return (double)NAN;
  }
  const int step = step_of(s, grace, &s->sounds[note]);
  *own_midi = s->sounds[note].midi + step;
  return (parts_notes(s, index, note) ? PARTING_NATS : LEADING_NATS) +
         habit_nats(s, s->sounds[note].midi, step) +
         LENGTH_NATS * log(USUAL_GRACE_S / sr_event_length_s(grace));
}

static void
tell_graces(Sounds* const s)
{
  for (size_t i = 0; i < s->count; ++i) {
    bool over = false;
    if (s->roles[i] == ROLE_NOTHING || sr_event_length_s(&s->sounds[i]) > SR_GRACE_MOST_S) {
      continue;
    }
    const size_t note = note_of(s, i, &over);
    const Role role = note < s->count ? role_of(s, i, note, over) : ROLE_NOTE;
    if (role != ROLE_NOTE) {
      s->roles[i] = role;
      s->owners[i] = note;
      s->over[i] = over;
    }
  }
  // A grace of a grace leads to the note of that
  for (size_t i = s->count; i-- > 0;) {
    for (int steps = 0;
         steps < SR_PLAYED_GRACES && s->roles[i] == ROLE_GRACE &&
         (s->roles[s->owners[i]] == ROLE_GRACE || s->roles[s->owners[i]] == ROLE_START);
         ++steps) {
      s->over[i] = s->over[s->owners[i]];
      s->owners[i] = s->owners[s->owners[i]];
    }
    if (s->roles[i] == ROLE_GRACE && s->roles[s->owners[i]] != ROLE_NOTE) {
      s->roles[i] = ROLE_NOTHING;
    }
  }
}

static void
add_grace(SrPlayedNote* const note, const SrEvent* const grace, const int step)
{
  if (note->grace_count < SR_PLAYED_GRACES) {
    note->grace_midi[note->grace_count++] = note->midi + step;
  }
  note->onset_s = fmin(note->onset_s, grace->onset_s);
}

/// Of several graces the last may be the note's own reed, which begins flat or sharp.
static void
drop_flat_grace(SrPlayedNote* const note)
{
  const int count = note->grace_count;
  if (count > 1 && abs(note->grace_midi[count - 1] - note->midi) <= NEXT_STEP &&
      abs(note->grace_midi[count - 2] - note->midi) > NEXT_STEP) {
    --note->grace_count;
  }
}

/// Add a note with the graces that lead into it, and one more for each grace that lies over it.
static void
add_notes(const Sounds* const s, const size_t index, SrPlayedNotes* const played)
{
  const SrEvent* const sound = &s->sounds[index];
  SrPlayedNote note = {.onset_s = sound->onset_s,
                       .end_s = sound->end_s,
                       .midi = sound->midi,
                       .grace_pitch = 0,
                       .grace_nats = (double)NAN};
  note.grace_nats = grace_nats(s, index, &note.grace_pitch);
  for (size_t i = index > REACH ? index - REACH : 0; i < s->count && i <= index + REACH; ++i) {
    if (s->roles[i] == ROLE_GRACE && s->owners[i] == index && !s->over[i]) {
      add_grace(&note, &s->sounds[i], step_of(s, &s->sounds[i], sound));
    } else if (s->roles[i] == ROLE_START && s->owners[i] == index) {
      note.onset_s = fmin(note.onset_s, s->sounds[i].onset_s);
    }
  }
  drop_flat_grace(&note);
  double last_s = note.onset_s;
  for (size_t i = index + 1; i < s->count && s->sounds[i].onset_s < sound->end_s; ++i) {
    const SrEvent* const grace = &s->sounds[i];
    if (s->roles[i] != ROLE_GRACE || s->owners[i] != index || !s->over[i]) {
      continue;
    }
    if (grace->onset_s - last_s > LEAST_PART_S) {
      SrPlayedNote first = note;
      first.end_s = grace->onset_s;
      first.grace_nats = (double)NAN;
      played->notes[played->count++] = first;
      note = (SrPlayedNote){.onset_s = grace->onset_s,
                            .end_s = sound->end_s,
                            .midi = sound->midi,
                            .grace_nats = (double)NAN};
    }
    add_grace(&note, grace, step_of(s, grace, sound));
    last_s = grace->onset_s;
  }
  played->notes[played->count++] = note;
}

static int
compare_notes(const void* const a, const void* const b)
{
  const SrPlayedNote* const x = (const SrPlayedNote*)a;
  const SrPlayedNote* const y = (const SrPlayedNote*)b;
  if (x->onset_s < y->onset_s || x->onset_s > y->onset_s) {
    return x->onset_s < y->onset_s ? -1 : 1;
  }
  return x->midi - y->midi;
}

/// Whether a brief sound is the harmonic of a longer one as it begins.
static bool
is_harmonic(const Sounds* const s, const size_t index)
{
  const SrEvent* const high = &s->sounds[index];
  for (size_t i = index > REACH ? index - REACH : 0; i < s->count && i <= index + REACH; ++i) {
    const SrEvent* const low = &s->sounds[i];
    const int step = high->midi - low->midi;
    if ((step == 12 || step == 19 || step == 24) &&
        sr_event_length_s(low) > sr_event_length_s(high) && low->onset_s < high->onset_s + GAP_S &&
        low->end_s > high->end_s && low->level_db > high->level_db) {
      return true;
    }
  }
  return false;
}

/// Whether a short sound is what the room keeps of the note before, under the next one.
static bool
is_reflection(const Sounds* const s, const size_t index)
{
  const SrEvent* const late = &s->sounds[index];
  bool follows = false;
  bool under = false;
  if (sr_event_length_s(late) >= REFLECTION_S) {
    return false; // Most sounds are longer, and all before are looked at below
  }
  for (size_t i = 0; i < index; ++i) {
    const SrEvent* const other = &s->sounds[i];
    follows = follows || (other->midi == late->midi && other->level_db > late->level_db &&
                          other->onset_s < late->onset_s && other->end_s < late->onset_s &&
                          late->onset_s - other->end_s < REFLECTED_S);
    under = under || (other->midi != late->midi && other->onset_s < late->onset_s &&
                      other->onset_s > late->onset_s - REFLECTED_S &&
                      other->end_s > late->end_s + GAP_S && other->level_db > late->level_db);
  }
  return follows && under;
}

/// Whether a sound begins and ends with a louder one: a chord's, or a part of that one's spectrum.
static bool
is_companion(const Sounds* const s, const size_t index)
{
  const SrEvent* const soft = &s->sounds[index];
  for (size_t i = index > REACH ? index - REACH : 0; i < s->count && i <= index + REACH; ++i) {
    const SrEvent* const loud = &s->sounds[i];
    if (loud->level_db > soft->level_db && fabs(loud->onset_s - soft->onset_s) < GAP_S &&
        fabs(loud->end_s - soft->end_s) < GAP_S) {
      return true;
    }
  }
  return false;
}

/// Whether a sound is no note: under another one, or too faint.
static bool
is_nothing(const Sounds* const s, const size_t index)
{
  return is_reflection(s, index) || is_companion(s, index) ||
         s->sounds[index].level_db < LEAST_LEVEL_DB || sr_free_is_under(s->sounds, s->count, index);
}

/// The usual level of a note, dBFS.
static double
find_usual_db(const Sounds* const s, double* const scratch)
{
  size_t found = 0;
  for (size_t i = 0; i < s->count; ++i) {
    if (s->roles[i] == ROLE_NOTE && sr_event_length_s(&s->sounds[i]) >= SURE_NOTE_S) {
      scratch[found++] = s->sounds[i].level_db;
    }
  }
  qsort(scratch, found, sizeof(double), compare_numbers);
  return found ? scratch[found / 2] : LEAST_LEVEL_DB;
}

/// Whether a sound may be a note by its length and level, not a knock or a flicker beside a note.
static bool
may_be_note(const Sounds* const s, const size_t index)
{
  const SrEvent* const sound = &s->sounds[index];
  const double length_s = sr_event_length_s(sound);
  const bool brief = length_s < CLEAR_NOTE_S;
  // What a long cut leaves of a note is short
  const double least_s = is_cut_itself(s, index) ? LEAST_CUT_NOTE_S : LEAST_NOTE_S;
  return s->roles[index] == ROLE_NOTE && length_s >= least_s &&
         sound->level_db >= s->usual_db - (brief ? BRIEF_DB : FAINT_DB) &&
         !sr_free_is_flicker(s->sounds, s->count, sound) && !(brief && is_harmonic(s, index));
}

/// Whether a sound goes on where a clear one ended, or leads to one that is clear.
static bool
touches_clear(const Sounds* const s, const size_t index, const bool* const clear, const bool later)
{
  const SrEvent* const sound = &s->sounds[index];
  for (size_t i = index > REACH ? index - REACH : 0; i < s->count && i <= index + REACH; ++i) {
    const SrEvent* const other = &s->sounds[i];
    const double gap_s = later ? other->onset_s - sound->end_s : sound->onset_s - other->end_s;
    if (i != index && clear[i] && fabs(gap_s) < GAP_S) {
      return true;
    }
  }
  return false;
}

/// Find the sounds that clearly are notes, not syllables: by their reed's spectrum, or as links of
/// a chain of sounds, each beginning as another ends, from one such note to another.
static void
find_clear(Sounds* const s, bool* const before, bool* const after)
{
  for (size_t i = 0; i < s->count; ++i) {
    const SrEvent* const sound = &s->sounds[i];
    const bool brief = sr_event_length_s(sound) < CLEAR_NOTE_S;
    const double fit = brief ? BRIEF_FIT : LEAST_FIT;
    s->clear[i] = may_be_note(s, i) && sound->fit >= fit;
    before[i] = s->clear[i];
    after[i] = s->clear[i];
  }
  for (size_t i = 0; i < s->count; ++i) {
    before[i] = before[i] || ((may_be_note(s, i) || s->roles[i] == ROLE_GRACE) &&
                              touches_clear(s, i, before, false));
  }
  for (size_t i = s->count; i-- > 0;) {
    after[i] = after[i] || ((may_be_note(s, i) || s->roles[i] == ROLE_GRACE) &&
                            touches_clear(s, i, after, true));
  }
  for (size_t i = 0; i < s->count; ++i) {
    s->clear[i] = s->clear[i] || (before[i] && after[i] && may_be_note(s, i));
  }
}

/// Drop brief notes with no other near.
static void
drop_alone(SrPlayedNotes* const played)
{
  size_t kept = 0;
  double last_s = (double)-INFINITY;
  for (size_t i = 0; i < played->count; ++i) {
    const SrPlayedNote* const note = &played->notes[i];
    const double next_s = i + 1 < played->count ? played->notes[i + 1].onset_s : (double)INFINITY;
    const bool alone = note->end_s - note->onset_s < ALONE_NOTE_S &&
                       note->onset_s - last_s > ALONE_S && next_s - note->end_s > ALONE_S;
    last_s = fmax(last_s, note->end_s);
    if (!alone) {
      played->notes[kept++] = *note;
    }
  }
  played->count = kept;
}

SrStatus
sr_roles_tell(SrEvent* const sounds, const size_t all, SrPlayedNotes* const played)
{
  if (played->doubled) {
    sr_sounds_join_octaves(sounds, all);
  }
  const size_t count = sr_sounds_join_held(sounds, all);
  Sounds s = {.sounds = sounds,
              .count = count,
              .doubled = played->doubled,
              .roles = (Role*)calloc(count + 1, sizeof(Role)),
              .owners = (size_t*)calloc(count + 1, sizeof(size_t)),
              .over = (bool*)calloc(count + 1, sizeof(bool)),
              .clear = (bool*)calloc(3 * count + 1, sizeof(bool))};
  double* const scratch = (double*)calloc(count + 1, sizeof(double));
  // Each grace that lies over a note makes one more
  played->notes = (SrPlayedNote*)calloc(2 * count + 1, sizeof(SrPlayedNote));
  played->count = 0;
  const bool enough = s.roles && s.owners && s.over && s.clear && scratch && played->notes;
  if (enough) {
    for (size_t i = 0; i < count; ++i) {
      s.roles[i] = is_nothing(&s, i) ? ROLE_NOTHING : ROLE_NOTE;
    }
    s.usual_s = find_usual_s(&s, scratch);
    s.usual_db = find_usual_db(&s, scratch);
    tell_graces(&s);
    find_habits(&s);
    find_clear(&s, s.clear + count, s.clear + 2 * count);
    for (size_t i = 0; i < count; ++i) {
      if (s.clear[i]) {
        add_notes(&s, i, played);
      }
    }
    qsort(played->notes, played->count, sizeof(SrPlayedNote), compare_notes);
    drop_alone(played);
  }
  free(s.roles);
  free(s.owners);
  free(s.over);
  free(s.clear);
  free(scratch);
  return enough ? SR_OK : SR_NO_MEMORY;
}
