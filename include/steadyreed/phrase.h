// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file phrase.h
   The phrase to practise: read from ABC notation 2.1, with repeats and endings expanded, ties
   merged into one note, and cuts and air marks attached to their notes.
*/

#ifndef STEADYREED_PHRASE_H
#define STEADYREED_PHRASE_H

#include <steadyreed/declarations.h>
#include <steadyreed/ornament.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// An exact duration or position in whole notes, in lowest terms, denominator over 0.
typedef struct {
  int64_t numerator;
  int64_t denominator;
} SrFraction;

/// A fraction as a floating-point number.
double sr_fraction_value(SrFraction fraction);

/// A bellows direction requested by "_press" or "_draw".
typedef enum {
  SR_DIRECTION_FREE,  ///< The player's choice
  SR_DIRECTION_PRESS, ///< Bellows closing
  SR_DIRECTION_DRAW,  ///< Bellows opening
} SrDirection;

/// Most notes of one chord that are kept besides its top note.
#define SR_CHORD_SIZE 8
/// Most notes of one played ornament that are kept.
#define SR_ORNAMENT_SIZE 8

/**
   One melody note of the phrase after repeats are expanded.

   Grace notes stand before the note they belong to; ornament.h tells what they are. One note alone,
   `{c}A`, `{G}A` or `{/c}A`, is a cut or a strike. `~A` and `!roll!A` ask for a roll, whatever
   graces come with it. A grace before a chord belongs to its top note, one before a bar line to the
   first note after it. A grace before a rest is dropped, like an annotation there. A grace between
   two tied notes splits them into two notes. An accidental in a grace holds for its bar like any
   other.
*/
typedef struct {
  int bar;             ///< Written bar number: the first whole bar is 1, a pickup 0
  int midi;            ///< MIDI note number 0 to 127, A4 = 69
  char name[8];        ///< Name to show to the player: "A", "F♯", "B♭"
  SrFraction start;    ///< From the start of the phrase, whole notes
  SrFraction length;   ///< Over 0, with ties added up, whole notes
  SrFraction in_bar;   ///< Position inside its bar (a pickup is placed at the end of its bar)
  SrOrnament ornament; ///< Ornament requested before or on it
  int cut_midi;        ///< MIDI number of the written cut or strike before it, -1 without one
  int ornament_count;  ///< Graces of any other ornament: 0, or 1 to SR_ORNAMENT_SIZE
  int ornament_midi[SR_ORNAMENT_SIZE]; ///< Their MIDI numbers in order; for a roll also the likely
                                       ///< ones, after those written: the third above and the note
                                       ///< below in the key
  int chord_count;                     ///< Chord notes allowed below it, 0 to SR_CHORD_SIZE
  int chord_midi[SR_CHORD_SIZE];       ///< Their MIDI numbers
  bool air;                            ///< "^air" stands over it
  SrDirection direction;               ///< "_press" or "_draw", otherwise free
  unsigned line;                       ///< Line of the ABC text, from 1
  unsigned column;                     ///< Character in that line, from 1
} SrPhraseNote;

/// One bar as played; a repeated bar is listed again.
typedef struct {
  int number;        ///< As written; 0 for a pickup
  SrFraction start;  ///< From the start of the phrase, whole notes
  SrFraction length; ///< As played, whole notes
  int meter_beats;   ///< Upper figure of the meter in force
  int meter_unit;    ///< Lower figure
  SrFraction pulse;  ///< The foot's beat: 3/8 in 6/8, 9/8, 12/8; 1/4 in 2/4, 3/4, 4/4; 1/2 in 2/2
} SrPhraseBar;

/**
   A phrase. It owns everything its functions return.

   What is read is the melody of ABC 2.1: one voice, with repeats and endings expanded, and in the
   order of the P: field if the tune has P: labels. If that order plays a part several times and the
   part has numbered endings, each time takes the next ending; otherwise a part is played with its
   own repeats. A repeat without |: goes back to the last double bar or repeat sign. The unit note
   length is fixed at the end of the tune header. Accidentals hold to the end of the bar in all
   octaves, unless the directive propagate-accidentals says otherwise. `U: p = "_press"` makes a
   letter a mark. Overlays with &, macros and tuplets inside tuplets are refused with
   SR_UNSUPPORTED. Words, other decorations and chord symbols are ignored; so are voices after the
   first, with a remark (sr_phrase_remark()). Without M: the meter is that of the dance named in R:,
   also with a remark.
*/
typedef struct SrPhraseImpl SrPhrase;

/// Largest transposition, semitones.
#define SR_MOST_TRANSPOSED 24

/**
   Selects what to practise from a file; all zero means its first tune, whole.

   Bars are counted as written: a repeated bar keeps its number, each ending counts on, and a short
   bar at the start of the tune or of a part is a pickup with number 0. The selected bars are taken
   from their first playing, in playing order, so 1 to 8 of a repeated part is one time through it.
   A pickup is included if the bars on both sides of it are selected; the tune's own if `first_bar`
   is 0.

   A part is what follows its P: label; without labels the parts are the stretches between double
   bars and repeat signs, A, B, C and so on. It is played once with its repeats.
*/
typedef struct {
  int tune;          ///< The X: number wanted; 0 for the first tune of the file
  int first_bar;     ///< First bar as written; both this and last_bar 0 for all
  int last_bar;      ///< Last bar as written, included
  char part;         ///< 'A' to 'Z', 0 for all parts
  const char* title; ///< Title of the tune or a part of it, in any case; NULL for any
  int transpose;     ///< Semitones to transpose up, -SR_MOST_TRANSPOSED to SR_MOST_TRANSPOSED
} SrPhraseChoice;

/// Limits; a text beyond them is refused with SR_TOO_LARGE and a message that names the limit.
#define SR_PHRASE_MOST_BYTES (16u << 20) ///< Size of a file
#define SR_PHRASE_MOST_NOTES 4096u       ///< Notes of a tune as written, and of an expanded phrase
#define SR_PHRASE_MOST_BARS 4096u        ///< Bars of a tune as written
#define SR_PHRASE_MOST_PLAYED 16384u     ///< Bars of a tune with its repeats expanded

/**
   Read a phrase from an ABC file.

   @param path   File to read.
   @param choice What to select; NULL for the first tune, whole.
   @param phrase Receives the phrase; free it with sr_phrase_del(). NULL on error.
   @param error  Filled on error; may be NULL.
   @return SR_OK, SR_NOT_FOUND (file, tune, part or bar; or several tunes with that title),
           SR_NO_PERMISSION, SR_BAD_SYNTAX, SR_UNSUPPORTED (also a note transposed out of MIDI's
           range), SR_TOO_LARGE or SR_NO_MEMORY.
*/
SrStatus sr_phrase_read_file(const char* path, const SrPhraseChoice* choice, SrPhrase** phrase,
                             SrError* error);

/// A place in a text, as in notes and errors.
typedef struct {
  unsigned line;   ///< From 1
  unsigned column; ///< From 1, in characters; each byte of invalid UTF-8 counts as one
  size_t at;       ///< Output: byte offset; SIZE_MAX if the text has no such place
} SrTextPlace;

/**
   Find the byte offsets of places in a text.

   @param text   Any bytes; need not end in NUL.
   @param size   Number of bytes.
   @param places In order of the text; `at` is filled.
   @param count  Number of places.
*/
void sr_text_places(const char* text, size_t size, SrTextPlace* places, size_t count);

/**
   Read a phrase from ABC text in memory.

   @param text   Any bytes; need not end in NUL.
   @param size   Number of bytes.
   @param name   Name of the text in errors, such as a path.
   @param choice, phrase, error As for sr_phrase_read_file().
*/
SrStatus sr_phrase_read_text(const char* text, size_t size, const char* name,
                             const SrPhraseChoice* choice, SrPhrase** phrase, SrError* error);

/**
   A transposed copy of a phrase.

   @param phrase    The original.
   @param semitones Semitones up; negative for down.
   @param other     Receives a new phrase; NULL on error.
   @return SR_OK, SR_UNSUPPORTED (a note outside MIDI's 0 to 127) or SR_NO_MEMORY.
*/
SrStatus sr_phrase_transpose(const SrPhrase* phrase, int semitones, SrPhrase** other,
                             SrError* error);

/// Free a phrase; NULL does nothing.
void sr_phrase_del(SrPhrase* phrase);

/// Title, UTF-8, "" without one.
const char* sr_phrase_title(const SrPhrase* phrase);
/// The X: number of the tune.
int sr_phrase_tune(const SrPhrase* phrase);
/// Name of the key as written, such as "Dmix".
const char* sr_phrase_key(const SrPhrase* phrase);
/// Total transposition, semitones.
int sr_phrase_transposed(const SrPhrase* phrase);
/// Number of remarks on what was assumed, or not read as written.
size_t sr_phrase_remark_count(const SrPhrase* phrase);
/// Remark `index` from 0, a sentence in UTF-8.
const char* sr_phrase_remark(const SrPhrase* phrase, size_t index);
/// Number of melody notes, at least 1.
size_t sr_phrase_note_count(const SrPhrase* phrase);
/// Note `index` from 0.
const SrPhraseNote* sr_phrase_note(const SrPhrase* phrase, size_t index);
/// Ask for air at a note, like "^air" over it.
void sr_phrase_ask_air(SrPhrase* phrase, size_t index);
/// Number of bars as played, at least 1.
size_t sr_phrase_bar_count(const SrPhrase* phrase);
/// Bar `index` from 0.
const SrPhraseBar* sr_phrase_bar(const SrPhrase* phrase, size_t index);
/// Length from the start to the end of the last note or rest, whole notes.
SrFraction sr_phrase_length(const SrPhrase* phrase);
/// Tempo written in Q:, in pulses a minute; 0 without one.
double sr_phrase_tempo(const SrPhrase* phrase);

/// A part of a tune as written.
typedef struct {
  char letter;   ///< 'A' to 'Z', as in SrPhraseChoice
  int first_bar; ///< Lowest bar number in it, without pickups; 0 if it has none but a pickup
  int last_bar;  ///< Highest
} SrTunePart;

/// What can be chosen of a tune: its bars and parts as written, see SrPhraseChoice.
typedef struct {
  int first_bar;        ///< 0 if it begins with a pickup
  int last_bar;         ///< Highest bar number
  SrTunePart parts[26]; ///< In order of their letters
  size_t part_count;    ///< Up to 26
} SrTuneOutline;

/**
   Read what can be chosen of a tune. Its repeats are not expanded, so that this also works for one
   that is too long to be practised whole.

   @param path    File to read.
   @param choice  Only `tune` and `title` count; NULL for the first tune.
   @param outline Receives it; empty on error.
   @param error   Filled on error; may be NULL.
   @return As sr_phrase_read_file().
*/
SrStatus sr_tune_outline_read(const char* path, const SrPhraseChoice* choice,
                              SrTuneOutline* outline, SrError* error);

/// One tune of a file.
typedef struct {
  int number;         ///< X:
  const char* title;  ///< First T:, "" without one
  const char* rhythm; ///< R:, "" without one
  unsigned line;      ///< Line of its X:
} SrTuneEntry;

/// The tunes of a file, for a list.
typedef struct SrTuneListImpl SrTuneList;

/// List the tunes of a file without reading their notes; arguments and errors as for
/// sr_phrase_read_file().
SrStatus sr_tune_list_read(const char* path, SrTuneList** list, SrError* error);
/// Number of tunes.
size_t sr_tune_list_count(const SrTuneList* list);
/// Tune `index` from 0.
const SrTuneEntry* sr_tune_list_entry(const SrTuneList* list, size_t index);
/// Free a list; NULL does nothing.
void sr_tune_list_del(SrTuneList* list);

SR_END_DECLARATIONS

#endif // STEADYREED_PHRASE_H
