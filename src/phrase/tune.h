// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tune.h
   A tune as written: bars with their signs, before repeats are played out.
*/

#ifndef SR_PHRASE_TUNE_H
#define SR_PHRASE_TUNE_H

#include "fraction.h"
#include "key.h"

#include <steadyreed/phrase.h>

/// Most bytes of a title, a key or the order of parts.
#define SR_TUNE_TEXT_SIZE 256u

/// A melody note as written; its `start` counts from its bar.
typedef struct {
  SrPhraseNote note;
  bool tied; ///< To the next one
} SrWrittenNote;

/// A meter.
typedef struct {
  int beats;
  int unit;
  bool none; ///< M:none
} SrMeter;

/// One bar as written.
typedef struct {
  size_t first; ///< Of its notes
  size_t count;
  SrFraction length;
  SrMeter meter;
  int number;
  SrFraction offset;  ///< Where in its bar it starts: over 0 for a pickup
  bool start_repeat;  ///< A repeat begins with it
  int end_repeats;    ///< Times it sends back: 1 for :|, 2 for ::|
  unsigned endings;   ///< Bit n: it begins the ending for time n
  bool section_end;   ///< A double bar or a repeat sign follows
  bool section_start; ///< One precedes
  char part;          ///< P: label that stands before it, else 0
} SrWrittenBar;

/// A tune as written.
typedef struct {
  int number;
  char title[SR_TUNE_TEXT_SIZE];
  char key_name[SR_TUNE_TEXT_SIZE];
  char part_order[SR_TUNE_TEXT_SIZE]; ///< P: of the header, "" without one
  char rhythm[SR_TUNE_TEXT_SIZE];     ///< R: "" without one
  int sharps;                         ///< Of the key of the header, negative for flats
  bool meter_assumed;                 ///< From R:, since there is no M:
  SrMeter assumed;
  bool has_voices;       ///< Voices behind the first were passed over
  SrFraction tempo_unit; ///< Of Q:, zero numerator without one
  double tempo;          ///< Such units a minute
  SrWrittenNote* notes;
  size_t note_count;
  size_t note_size;
  SrWrittenBar* bars;
  size_t bar_count;
  size_t bar_size;
} SrTune;

/// One line of the text, without its end and comment.
typedef struct {
  const char* text;
  size_t size;
  unsigned number;     ///< From 1
  const char* comment; ///< From its % on; NULL without one
  size_t comment_size;
} SrLine;

/// How far an accidental reaches inside its bar (ABC 2.1, section 11.3).
typedef enum {
  SR_REACH_PITCH,  ///< All octaves: the standard's default
  SR_REACH_OCTAVE, ///< Only its own octave
  SR_REACH_NOT,    ///< Only its own note
} SrReach;

/// An annotation or a decoration that means something here.
typedef enum {
  SR_MARK_NONE,
  SR_MARK_AIR,
  SR_MARK_PRESS,
  SR_MARK_DRAW,
  SR_MARK_ROLL, ///< !roll!
} SrMark;

/// The fields in force.
typedef struct {
  SrKey key;
  SrMeter meter;
  SrFraction unit; ///< L:, or what M: made of it when the head ended
  bool unit_given;
  bool meter_given;
  SrReach reach;            ///< Of accidentals
  signed char symbols[128]; ///< What U: made of a letter: an SrMark
} SrFields;

/// What a reader carries.
typedef struct {
  const char* name; ///< Of the text, for errors
  SrError* error;
  SrTune* tune;
  SrFields fields;
  char voice[32]; ///< The first voice's name, "" while there is none
  bool skips;     ///< Another voice is being passed over
} SrTuneReader;

/// Next line of a text; false at its end. `*at` and `*number` start at 0.
bool sr_line_next(const char* text, size_t size, size_t* at, unsigned* number, SrLine* line);
/// Whether a line is a field "X:…"; in the body "A:|" is music.
bool sr_line_is_field(const SrLine* line, bool in_body);
/// Whether nothing but space is on it, not even a comment.
bool sr_line_is_empty(const SrLine* line);
/// Whether a comment is all there is on it.
bool sr_line_is_comment(const SrLine* line);
/// Characters from byte `from` to before byte `to`; a byte that is no UTF-8 counts as one.
unsigned sr_line_characters(const SrLine* line, size_t from, size_t to);
/// Copy without surrounding space, as valid UTF-8 (other bytes are read as Latin-1), cut to size.
void sr_line_copy(const char* text, size_t size, char* copy, size_t copy_size);

/**
   Fill the error: what, at which byte of the line, with the offending text behind it.

   @return `status`.
*/
SrStatus sr_tune_fail(const SrTuneReader* reader, SrStatus status, const SrLine* line, size_t at,
                      const char* what);

/// Meter of the dance that an R: value names (common practice, no source); false if it is not
/// known.
bool sr_meter_of_rhythm(const char* rhythm, SrMeter* meter);
/// Meter of an M: value; false if it is none.
bool sr_meter_read(const char* text, size_t size, SrMeter* meter);
/// What the foot taps.
SrFraction sr_meter_pulse(const SrMeter* meter);
/// Length of a whole bar, zero for M:none.
SrFraction sr_meter_length(const SrMeter* meter);
/// Unit note length where L: is not given (ABC 2.1, section 3.1.7).
SrFraction sr_meter_unit(const SrMeter* meter);
/// Length of an L: value such as 1/8; false if it is none.
bool sr_unit_read(const char* text, size_t size, SrFraction* unit);
/// The mark that an annotation such as ^air is; SR_MARK_NONE for any other text.
SrMark sr_mark_read(const char* text, size_t size);
/// The mark that a decoration such as roll is; SR_MARK_NONE for any other.
SrMark sr_decoration_read(const char* text, size_t size);
/// Use a directive, with %% or I: taken off, if it bears on what sounds.
SrStatus sr_directive_use(SrTuneReader* reader, const SrLine* line, const char* text, size_t size);
/// Tempo of a Q: value; false if it is none.
bool sr_tempo_read(const char* text, size_t size, const SrFraction* unit, SrTune* tune);
/// Use a field of the header or the body that bears on what sounds.
SrStatus sr_field_use(SrTuneReader* reader, const SrLine* line, size_t at, char name,
                      const char* value, size_t size, bool in_body);

typedef struct SrMusicImpl SrMusic;

/// Start reading music; NULL without memory.
SrMusic* sr_music_new(SrTuneReader* reader);
/// Free; NULL does nothing.
void sr_music_del(SrMusic* music);
/// Read one line of music.
SrStatus sr_music_line(SrMusic* music, const SrLine* line);
/// A P: label on a line of its own.
void sr_music_part(SrMusic* music, char part);
/// The tune is over: close its last bar and number all bars.
SrStatus sr_music_finish(SrMusic* music, const SrLine* last);

/// A bar of the playing order.
typedef struct {
  size_t bar;
  size_t time; ///< Which time a bar is played, from 1, inside its repeat
} SrPlayedBar;

/**
   Order in which the bars are played.

   @param tune   As written.
   @param choice What of it; may be NULL.
   @param played Receives an array to be freed.
   @param count  Receives its length.
*/
SrStatus sr_tune_unfold(const SrTune* tune, const SrPhraseChoice* choice, const char* name,
                        SrPlayedBar** played, size_t* count, SrError* error);

#endif // SR_PHRASE_TUNE_H
