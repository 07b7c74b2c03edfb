// SPDX-License-Identifier: GPL-3.0-or-later

// Sentences about a note, a slip or an insertion in a player's words, without place, layout or
// colour, for a terminal, a page or a window.

#ifndef SR_SHOW_VERDICT_WORDS_H
#define SR_SHOW_VERDICT_WORDS_H

#include <steadyreed/show.h>

#include <stdbool.h>
#include <stddef.h>

/// Size of all words, bytes.
#define SR_WORDS_SIZE 2048u
/// Size of a note's name with its place in the bar, bytes.
#define SR_NOTE_NAME_SIZE 48u

/// How notes are named.
typedef struct {
  const SrPhrase* phrase; ///< NULL if unknown
  bool flats; ///< The phrase is written with flats, so notes heard are named with flats too
} SrNaming;

SrNaming sr_naming_of(const SrPhrase* phrase);

/// Append to words of SR_WORDS_SIZE bytes.
void sr_words_add(char* words, const char* format, ...) SR_PRINTF(2, 3);
/// "" for one, otherwise "s".
const char* sr_words_plural(size_t count);
/**
   Name of note `index`, with its position among those of the same name if its bar has several: "3rd
   A".

   @param name Receives it, SR_NOTE_NAME_SIZE bytes.
   @return `name`.
*/
const char* sr_words_note_name(const SrNaming* naming, const SrRound* round, size_t index,
                               char* name);

// All of these append to `words`

/// Whether a note has an ornament that is listed but not judged.
bool sr_words_is_listed(const SrNoteVerdict* note);
/// The ornament of a note that was played.
void sr_words_ornament(const SrNoteVerdict* note, char* words);
/// What went wrong with a note, except its timing; `words` stays "" if nothing did.
void sr_words_fault(const SrNaming* naming, const SrNoteVerdict* note, char* words);
/// Air releases at a note: the audible ones, with `all` also the hidden ones.
void sr_words_air(const SrRound* round, size_t index, bool all, char* words);
/// "23 ms late".
void sr_words_offset(double offset_ms, char* words);
/// A slip: a false start, a hesitation, a stretch at another tempo…
void sr_words_slip(const SrNaming* naming, const SrRound* round, const SrSlip* slip, char* words);
/// An insertion that belongs to note `note` and to no slip; false if it does not.
bool sr_words_extra(const SrNaming* naming, const SrRound* round, size_t extra, size_t note,
                    char* words);

/// What a round was like: "80 pulses a minute, 23 of 24 notes played, ..."
void sr_words_round(const SrRound* round, char* words);
/// Size of what sr_words_round_head() writes, bytes.
#define SR_ROUND_HEAD_SIZE 96u
/**
   "Round 2 of 3, from 0:09.6".

   @param number From 1.
   @param total  Rounds of the take; 0 while it goes on.
   @param head   Receives it, SR_ROUND_HEAD_SIZE bytes.
   @return `head`.
*/
const char* sr_words_round_head(const SrRound* round, size_t number, size_t total, char* head);

/// Just noticeable displacement at a note, ms; NAN without a fitted pulse.
double sr_words_noticeable_ms(const SrRound* round, size_t index);
/// Whether a note is clearly off the pulse.
bool sr_words_is_off_pulse(const SrRound* round, size_t index);
/// Whether a round's tempo changed more than a little.
bool sr_words_is_other_tempo(const SrRound* round);

#endif // SR_SHOW_VERDICT_WORDS_H
