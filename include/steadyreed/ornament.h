// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file ornament.h
   Definitions of cut, strike, roll, cran and group, shared by all rooms. Needs no other header of
   ours. Common practice, no source.
*/

#ifndef STEADYREED_ORNAMENT_H
#define STEADYREED_ORNAMENT_H

#include <steadyreed/declarations.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// What the graces before a note, or a sign over it, ask for.
typedef enum {
  SR_ORNAMENT_NONE,
  SR_ORNAMENT_CUT,    ///< One grace above the note
  SR_ORNAMENT_STRIKE, ///< One grace below it, also called a tap
  SR_ORNAMENT_ROLL,   ///< Note, cut, note, strike, note; a plain long note is also correct
  SR_ORNAMENT_CRAN,   ///< Several cuts on one held note, with the note between them
  SR_ORNAMENT_GROUP,  ///< Two or more graces of any other kind, or one at the note's own pitch
} SrOrnament;

/// Largest interval between a note and an unwritten cut or strike, semitones.
#define SR_GRACE_MOST_STEP 9
/// Maximum length of any grace, s.
#define SR_GRACE_MOST_S 0.18
/// Typical length of one of several graces, s.
#define SR_GRACE_USUAL_S 0.045
/// Number of SrOrnament values, including none.
#define SR_ORNAMENTS 6

/// Whether an ornament is judged: cuts and strikes are; the others are only detected and listed.
static inline bool
sr_ornament_is_judged(const SrOrnament ornament)
{
  return ornament == SR_ORNAMENT_CUT || ornament == SR_ORNAMENT_STRIKE;
}

/// Graces of a roll, and fewest of a cran.
#define SR_ROLL_GRACES 2

/**
   Whether an ornament that is not judged was heard at least in part, that is, with at least one
   grace.
*/
static inline bool
sr_ornament_is_heard(const size_t graces)
{
  return graces > 0;
}

/// Whether it was heard whole: the cut and the strike of a roll, two cuts of a cran, any grace of a
/// group.
static inline bool
sr_ornament_is_whole(const SrOrnament ornament, const size_t graces)
{
  const bool parts = ornament == SR_ORNAMENT_ROLL || ornament == SR_ORNAMENT_CRAN;
  return graces >= (parts ? SR_ROLL_GRACES : 1);
}

/**
   Classify the graces before a note.

   @param midi   MIDI number of the note.
   @param graces MIDI numbers of its graces, in order.
   @param count  Number of graces, 0 or more.
*/
static inline SrOrnament
sr_ornament_of_graces(const int midi, const int* const graces, const int count)
{
  if (count == 0) {
    return SR_ORNAMENT_NONE;
  }
  if (count == 1 && graces[0] != midi) {
    return graces[0] > midi ? SR_ORNAMENT_CUT : SR_ORNAMENT_STRIKE;
  }
  int cuts = 0;
  bool cran = true;
  for (int i = 0; i < count; ++i) {
    // Cut, note, cut, or note, cut, note, cut: before each cut comes the note or nothing
    const bool cut = graces[i] > midi;
    const bool parted = i == 0 || (graces[i - 1] > midi) != cut;
    cran = cran && graces[i] >= midi && parted;
    cuts += cut;
  }
  return cran && cuts > 1 ? SR_ORNAMENT_CRAN : SR_ORNAMENT_GROUP;
}

/// Whether a grace heard is on the opposite side of its note from the written one: a strike for a
/// cut, or a cut for a strike.
static inline bool
sr_ornament_is_other_side(const int midi, const int written, const int heard)
{
  return written >= 0 && heard != written && (written > midi) != (heard > midi);
}

/**
   Whether a pitch may be the cut or strike before a note: the written one, at any interval, or an
   unwritten one above within SR_GRACE_MOST_STEP; below as well if a grace is written.

   @param midi    MIDI number of the note.
   @param written MIDI number of its written grace, -1 without one.
   @param heard   MIDI number of the pitch.
*/
static inline bool
sr_ornament_may_be_grace(const int midi, const int written, const int heard)
{
  const int step = heard - midi;
  return heard == written || (step > 0 && step <= SR_GRACE_MOST_STEP) ||
         (written >= 0 && step < 0 && step >= -SR_GRACE_MOST_STEP);
}

SR_END_DECLARATIONS

#endif // STEADYREED_ORNAMENT_H
