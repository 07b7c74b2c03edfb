// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file align.h
   Which sound is which written note.
*/

#ifndef SR_JUDGE_ALIGN_H
#define SR_JUDGE_ALIGN_H

#include <steadyreed/judge.h>

/// A note is put right so soon behind the end of another in its place, s (common practice, no
/// source).
#define SR_MENDED_S 0.25

/// What a sound is taken for.
typedef enum {
  SR_ROLE_EXTRA, ///< Nothing written
  SR_ROLE_UNDER, ///< An octave or chord sound of a note
  SR_ROLE_TAIL,  ///< The note before, sounding on
  SR_ROLE_NOTE,  ///< The note `note`
  SR_ROLE_CUT,   ///< The cut or strike before the note `note`
  SR_ROLE_GRACE, ///< One of several graces before the note `note`, or on it
} SrRole;

/// One sound with its role.
typedef struct {
  size_t event; ///< Index into the sorted sounds
  SrRole role;
  int note;    ///< Index in the phrase; -1 without one
  bool on_top; ///< A cut that came while the note before sounded on: its note is joined; a grace
               ///< on its own note
} SrAlignedSound;

/// What is kept of an alignment, so that the next one does only what is new.
typedef struct SrAlignMemoryImpl SrAlignMemory;

/// An empty one; NULL without memory.
SrAlignMemory* sr_align_memory_new(void);
/// Free; NULL does nothing.
void sr_align_memory_del(SrAlignMemory* memory);

/**
   Align sounds to the phrase by dynamic programming over sounds and notes.

   @param phrase  What was to be played.
   @param events  Sounds only, by onset.
   @param count   Number of them.
   @param settings Thresholds.
   @param going_on The player goes on: that the end has not come yet speaks for no explanation.
   @param memory  Of earlier alignments to the same phrase, which lives as long; NULL for none. It
                  changes no result.
   @param aligned Receives `count` roles in the order of the sounds.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_align(const SrPhrase* phrase, const SrEvent* events, size_t count,
                  const SrJudgeSettings* settings, bool going_on, SrAlignMemory* memory,
                  SrAlignedSound* aligned);

#endif // SR_JUDGE_ALIGN_H
