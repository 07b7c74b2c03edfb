// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file accompaniment.h
   What a player's left hand adds below the melody, by a simple rule of our own.
*/

#ifndef TEST_ACCOMPANIMENT_H
#define TEST_ACCOMPANIMENT_H

#include "random.h"

#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// What is added.
typedef enum {
  ACCOMPANY_NONE,
  ACCOMPANY_BASS,     ///< The chord's root, below C4, on each pulse
  ACCOMPANY_FIFTH,    ///< The scale's fifth below, with each melody note
  ACCOMPANY_VAMP,     ///< A chord of three notes on each pulse
  ACCOMPANY_OFF_BEAT, ///< The root on each pulse, the chord off it
  ACCOMPANY_OCTAVE,   ///< The octave below, with each melody note
  ACCOMPANY_KINDS
} AccompanimentKind;

/// How.
typedef struct {
  AccompanimentKind kind;
  double under_db;   ///< Each of its notes is so much softer than a melody note
  double length;     ///< Roots and chords: of the time to the next one or, of a chord off the beat,
                     ///< to the next pulse; each is up to a quarter longer or shorter
  double scatter_ms; ///< Standard deviation of its onsets about those of the melody
  double p_with_note; ///< Octaves and fifths: chance of each melody note to have one
} AccompanimentPlan;

/// One of its notes.
typedef struct {
  int midi;
  double onset_s;
  double end_s;
} AccompanimentNote;

/// Most notes for each note of the phrase.
#define MOST_ACCOMPANIMENT 8u

/**
   The accompaniment of one round.

   The chord on a pulse is the first of the key's three main ones that has the melody note there.
   Octaves and fifths are held through notes that repeat one another, or played with each, by
   chance. What would not lie below the melody all the time is left out, and what would begin with a
   note that was not played.

   @param starts  When each note of the phrase begins, its cut included, s; one more for the end of
                  the last.
   @param heard   MIDI number that each note is played with; -1 for none.
   @param stop    Notes that are played.
   @param notes   Receives them, in no order; room for MOST_ACCOMPANIMENT a note.
   @return How many.
*/
size_t accompany(const SrPhrase* phrase, const AccompanimentPlan* plan, const double* starts,
                 const int* heard, size_t stop, Random* random, AccompanimentNote* notes);

#endif // TEST_ACCOMPANIMENT_H
