// SPDX-License-Identifier: GPL-3.0-or-later

// What is said of a note, a slip or an insertion, in a player's words: sentences without place,
// layout or colour, for a terminal, a page or a window.

#ifndef SR_SHOW_VERDICT_WORDS_H
#define SR_SHOW_VERDICT_WORDS_H

#include <steadyreed/show.h>

#include <stdbool.h>
#include <stddef.h>

/// Bytes of all words.
#define SR_WORDS_SIZE 2048u
/// Bytes for the name of a note with its place in the bar.
#define SR_NOTE_NAME_SIZE 48u

/// How notes are named.
typedef struct {
  const SrPhrase* phrase; ///< NULL if it is not known
  bool flats;             ///< It is written with flats, so what was heard is named with flats too
} SrNaming;

SrNaming sr_naming_of(const SrPhrase* phrase);

/// Append to words being put together, of SR_WORDS_SIZE bytes.
void sr_words_add(char* words, const char* format, ...) SR_PRINTF(2, 3);
/// "" for one, else "s".
const char* sr_words_plural(size_t count);
/**
   Name of note `index`, with its place among those of one name if its bar has more: "3rd A".

   @param name Receives it, SR_NOTE_NAME_SIZE bytes.
   @return `name`.
*/
const char* sr_words_note_name(const SrNaming* naming, const SrRound* round, size_t index,
                               char* name);

// All of these append to `words`.

/// Whether a note has an ornament that is listed and not judged.
bool sr_words_is_listed(const SrNoteVerdict* note);
/// The ornament of a note that was played.
void sr_words_ornament(const SrNoteVerdict* note, char* words);
/// What went wrong with a note, its place in time apart; `words` are "" if nothing did.
void sr_words_fault(const SrNaming* naming, const SrNoteVerdict* note, char* words);
/// The releases of air at a note: the audible ones, or with `all` also what hid.
void sr_words_air(const SrRound* round, size_t index, bool all, char* words);
/// "23 ms late".
void sr_words_offset(double offset_ms, char* words);
/// A slip: a false start, a wait, a stretch at another tempo…
void sr_words_slip(const SrNaming* naming, const SrRound* round, const SrSlip* slip, char* words);
/// An insertion that belongs to note `note` and to no slip; false if it does not.
bool sr_words_extra(const SrNaming* naming, const SrRound* round, size_t extra, size_t note,
                    char* words);

/// Whether a note is clearly off the pulse.
bool sr_words_is_off_pulse(const SrRound* round, size_t index);
/// Whether a round's tempo changed by more than a little.
bool sr_words_is_other_tempo(const SrRound* round);

#endif // SR_SHOW_VERDICT_WORDS_H
