// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tune.h
   A tune as written: bars with their signs, before repeats are expanded.
*/

#ifndef SR_PHRASE_TUNE_H
#define SR_PHRASE_TUNE_H

#include "fraction.h"
#include "key.h"

#include <steadyreed/assignment.h>
#include <steadyreed/phrase.h>

/// Size of a title, a key name or the order of parts, bytes.
#define SR_TUNE_TEXT_SIZE 256u

/// A melody note as written; `start` is relative to its bar.
typedef struct {
  SrPhraseNote note;
  bool tied; ///< Tied to the next one
} SrWrittenNote;

typedef struct {
  int beats;
  int unit;
  bool none; ///< M:none
} SrMeter;

/// One bar as written.
typedef struct {
  size_t first; ///< Index of its first note
  size_t count;
  SrFraction length;
  SrMeter meter;
  int number;
  SrFraction offset;  ///< Start within a full bar: over 0 for a pickup
  bool start_repeat;  ///< A repeat starts here
  int end_repeats;    ///< Number of repeats that end here: 1 for :|, 2 for ::|
  unsigned endings;   ///< Bit n: the ending for time n starts here
  bool section_end;   ///< A double bar or a repeat sign follows
  bool section_start; ///< A double bar or a repeat sign precedes
  char part;          ///< P: label before it, otherwise 0
} SrWrittenBar;

/// A tune as written, before repeats are expanded.
typedef struct {
  int number;
  unsigned line; ///< Line of its X:, from 1
  char title[SR_TUNE_TEXT_SIZE];
  char key_name[SR_TUNE_TEXT_SIZE];
  char part_order[SR_TUNE_TEXT_SIZE]; ///< P: of the header, "" without one
  char rhythm[SR_TUNE_TEXT_SIZE];     ///< R: "" without one
  int sharps;                         ///< Sharps of the header's key, negative for flats
  bool meter_assumed;                 ///< Taken from R:, since there is no M:
  SrMeter assumed;
  bool has_voices;       ///< Voices after the first were skipped
  SrFraction tempo_unit; ///< Of Q:, zero numerator without one
  double tempo;          ///< In these units a minute
  SrAssignment assignment;
  SrWrittenNote* notes;
  size_t note_count;
  size_t note_size;
  SrWrittenBar* bars;
  size_t bar_count;
  size_t bar_size;
} SrTune;

/// One line of the text, without its line end and comment.
typedef struct {
  const char* text;
  size_t size;
  unsigned number;     ///< From 1
  const char* comment; ///< From the % on; NULL without one
  size_t comment_size;
} SrLine;

/// Scope of an accidental within its bar (ABC 2.1, section 11.3).
typedef enum {
  SR_REACH_PITCH,  ///< All octaves: the standard's default
  SR_REACH_OCTAVE, ///< Only its own octave
  SR_REACH_NOT,    ///< Only its own note
} SrReach;

/// Annotations and decorations that are used.
typedef enum {
  SR_MARK_NONE,
  SR_MARK_AIR,
  SR_MARK_PRESS,
  SR_MARK_DRAW,
  SR_MARK_ROLL, ///< !roll!
} SrMark;

/// Current values of the fields.
typedef struct {
  SrKey key;
  SrMeter meter;
  SrFraction unit; ///< L:, or the default for M: at the end of the header
  bool unit_given;
  bool meter_given;
  SrReach reach;            ///< Scope of accidentals
  signed char symbols[128]; ///< Symbol defined by U: for each letter: an SrMark
} SrFields;

/// State of the reader.
typedef struct {
  const char* name; ///< Name of the text in errors
  SrError* error;
  SrTune* tune;
  SrFields fields;
  char voice[32]; ///< Name of the first voice, "" if there is none yet
  bool skips;     ///< Another voice is being skipped
} SrTuneReader;

/// Next line of a text; false at its end. `*at` and `*number` start at 0.
bool sr_line_next(const char* text, size_t size, size_t* at, unsigned* number, SrLine* line);
/// Whether a line is a field "X:…"; in the body "A:|" is music.
bool sr_line_is_field(const SrLine* line, bool in_body);
/// Whether it contains only white space, not even a comment.
bool sr_line_is_empty(const SrLine* line);
/// Whether it contains only a comment.
bool sr_line_is_comment(const SrLine* line);
/**
   Number of characters from byte `from` to before byte `to`; each byte of invalid UTF-8 counts as
   one.
*/
unsigned sr_line_characters(const SrLine* line, size_t from, size_t to);
/**
   Copy without surrounding space, as valid UTF-8 (other bytes are read as Latin-1), truncated to
   size.
*/
void sr_line_copy(const char* text, size_t size, char* copy, size_t copy_size);

/**
   Fill the error: what, at which byte of the line, followed by a quotation of the text there.

   @return `status`.
*/
SrStatus sr_tune_fail(const SrTuneReader* reader, SrStatus status, const SrLine* line, size_t at,
                      const char* what);

/// Meter of the dance named in an R: value (common practice, no source); false if it is unknown.
bool sr_meter_of_rhythm(const char* rhythm, SrMeter* meter);
/// Parse the meter of an M: value; false if invalid.
bool sr_meter_read(const char* text, size_t size, SrMeter* meter);
/// The beat the foot taps.
SrFraction sr_meter_pulse(const SrMeter* meter);
/// Length of a whole bar, zero for M:none.
SrFraction sr_meter_length(const SrMeter* meter);
/// Default unit note length without L: (ABC 2.1, section 3.1.7).
SrFraction sr_meter_unit(const SrMeter* meter);
/// Parse an L: value such as 1/8; false if invalid.
bool sr_unit_read(const char* text, size_t size, SrFraction* unit);
/// The mark of an annotation such as ^air; SR_MARK_NONE for any other text.
SrMark sr_mark_read(const char* text, size_t size);
/// The mark of a decoration such as roll; SR_MARK_NONE for any other.
SrMark sr_decoration_read(const char* text, size_t size);
/// Use a directive, without its %% or I:, if it affects the sound.
SrStatus sr_directive_use(SrTuneReader* reader, const SrLine* line, const char* text, size_t size);
/// Parse the tempo of a Q: value; false if invalid.
bool sr_tempo_read(const char* text, size_t size, const SrFraction* unit, SrTune* tune);
/// Use a field of the header or the body that affects the sound.
SrStatus sr_field_use(SrTuneReader* reader, const SrLine* line, size_t at, char name,
                      const char* value, size_t size, bool in_body);

typedef struct SrMusicImpl SrMusic;

/// Start reading music; NULL without memory.
SrMusic* sr_music_new(SrTuneReader* reader);
/// Free; NULL does nothing.
void sr_music_del(SrMusic* music);
SrStatus sr_music_line(SrMusic* music, const SrLine* line);
/// Handle a P: label on a line of its own.
void sr_music_part(SrMusic* music, char part);
/// End of the tune: close its last bar and number all bars.
SrStatus sr_music_finish(SrMusic* music, const SrLine* last);

/// A bar of the playing order.
typedef struct {
  size_t bar;
  size_t time; ///< Which time the bar is played within its repeat, from 1
} SrPlayedBar;

/**
   Expand a tune to the order in which its bars are played.

   @param tune   As written.
   @param choice What to select; may be NULL.
   @param played Receives an array; free() it.
   @param count  Receives its length.
*/
SrStatus sr_tune_unfold(const SrTune* tune, const SrPhraseChoice* choice, const char* name,
                        SrPlayedBar** played, size_t* count, SrError* error);
/// Find the written bars of a part, from `first` to before `end`, by its label or else among the
/// stretches between double bars and repeat signs. False if there is no such part.
bool sr_tune_find_part(const SrTune* tune, char part, size_t* first, size_t* end);

#endif // SR_PHRASE_TUNE_H
