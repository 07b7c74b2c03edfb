// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file align.h
   Alignment of sounds to written notes.
*/

#ifndef SR_JUDGE_ALIGN_H
#define SR_JUDGE_ALIGN_H

#include <steadyreed/judge.h>

/// A note counts as self-corrected if it starts within this time of the end of another sound in its
/// place, s (common practice, no source).
#define SR_CORRECTED_S 0.25

/// What a sound is taken for.
typedef enum {
  SR_ROLE_INSERTION, ///< Insertion: nothing written
  SR_ROLE_UNDER,     ///< An octave or chord sound below a note
  SR_ROLE_TAIL,      ///< The previous note, still sounding
  SR_ROLE_NOTE,      ///< The note `note`
  SR_ROLE_CUT,       ///< The cut or strike before the note `note`
  SR_ROLE_GRACE,     ///< One of several graces before or on the note `note`
} SrRole;

/// One sound with its role.
typedef struct {
  size_t event; ///< Index into the sorted sounds
  SrRole role;
  int note;    ///< Index in the phrase; -1 if none
  bool on_top; ///< A cut while the previous note still sounded, so its note is joined; or a grace
               ///< on its own note
} SrAlignedSound;

/// What is kept of an alignment so that the next one computes only what is new.
typedef struct SrAlignMemoryImpl SrAlignMemory;

/// An empty memory; NULL if out of memory.
SrAlignMemory* sr_align_memory_new(void);
/// Free; NULL is allowed.
void sr_align_memory_del(SrAlignMemory* memory);

/**
   Align sounds to the phrase by dynamic programming over sounds and notes.

   @param phrase   What was to be played.
   @param events   Sounds only, by onset.
   @param count    Number of them.
   @param settings Thresholds.
   @param going_on The player is still playing, so a missing end of the phrase costs little.
   @param memory   Of earlier alignments to the same phrase, which must outlive it; NULL for none.
                   It changes no result.
   @param aligned  Receives `count` roles in the order of the sounds.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_align(const SrPhrase* phrase, const SrEvent* events, size_t count,
                  const SrJudgeSettings* settings, bool going_on, SrAlignMemory* memory,
                  SrAlignedSound* aligned);

#endif // SR_JUDGE_ALIGN_H
