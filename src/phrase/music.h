// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music.h
   The state of the parser of music code, and what its files share: see music.c.
*/

#ifndef SR_PHRASE_MUSIC_H
#define SR_PHRASE_MUSIC_H

#include "tune.h"

/// Letters in all octaves.
#define HELD 77
/// Value for no written accidental.
#define NOT_WRITTEN 99

/// A pitch as written.
typedef struct {
  int letter; ///< Index from C
  int octave; ///< MIDI octave, to be multiplied by 12: C is 5, c is 6
  int accidental;
  int midi;
} SrPitch;

/// Marks waiting for the note they precede.
typedef struct {
  int grace_count;
  int grace_midi[SR_ORNAMENT_SIZE];
  bool roll;
  bool air;
  SrDirection direction;
} SrWaiting;

struct SrMusicImpl {
  SrTuneReader* reader;
  const SrLine* line;
  size_t at;
  size_t counted; ///< Bytes of the line already counted in `column`
  unsigned column;
  SrWrittenBar bar; ///< The bar being read
  SrFraction time;  ///< Position in that bar
  int held[HELD];   ///< Accidental in force until the end of the bar, by letter and octave;
                    ///< NOT_WRITTEN for none
  SrWaiting waiting;
  SrFraction broken; ///< Length factor for the next note after > or <, otherwise 1
  bool broken_open;  ///< Whether such a note is still missing
  int tuplet_left;   ///< Remaining notes of the tuplet
  SrFraction tuplet; ///< Its factor
  bool last_is_note; ///< The last note, chord or rest of this bar can take > or <
  SrFraction last_length;
  size_t last_note; ///< Index of that note; SIZE_MAX for a rest
  bool tie_open;    ///< A tie is waiting for its second note
  SrPitch tie_pitch;
  char part;          ///< P: label for the next bar
  bool section_start; ///< A double bar or repeat sign precedes
};

// music.c

/// Fail with a message about what stands at byte `at` of the line; returns `status`.
SrStatus sr_music_fail(const SrMusic* m, SrStatus status, size_t at, const char* what);
/// The character `ahead` bytes on; 0 at the end of the line.
char sr_music_peek(const SrMusic* m, size_t ahead);

// music_pitch.c

/// Semitones of C D E F G A B above C.
extern const int SR_NATURAL[7];

/// Forget the accidentals of the bar.
void sr_music_forget_accidentals(SrMusic* m);
/**
   Parse an accidental and a letter with its octave marks; the caller has checked that one starts
   here.
*/
SrStatus sr_music_take_pitch(SrMusic* m, bool grace, SrPitch* pitch);
/// Whether a character starts a pitch.
bool sr_music_starts_pitch(char c);
/// MIDI number of the note `steps` scale steps above a pitch, or below if negative.
int sr_music_step_from(const SrMusic* m, const SrPitch* pitch, int steps);
/// The name of a note, such as F♯.
void sr_music_name_note(const SrPitch* pitch, char* name, size_t size);

// music_length.c

/**
   Parse digits; false if there are none. Above the largest length the value stops growing, for the
   caller to refuse.
*/
bool sr_music_take_number(SrMusic* m, int* number);
/// Parse a length such as 3, 3/2, /, //, /4; 1 if there is none.
SrStatus sr_music_take_length(SrMusic* m, SrFraction* length);
/// The length of a note after broken rhythm and tuplets; counts the tuplet down.
SrStatus sr_music_sounding_length(SrMusic* m, size_t at, SrFraction written, SrFraction* length);
/// Move on by a note or, with SIZE_MAX, a rest.
void sr_music_advance(SrMusic* m, SrFraction length, size_t note);
/// Parse broken rhythm, > or <.
SrStatus sr_music_read_broken(SrMusic* m);
/// Parse a tuplet, (p:q:r (ABC 2.1, section 4.13).
SrStatus sr_music_read_tuplet(SrMusic* m);

// music_notes.c

/// Parse a single note.
SrStatus sr_music_read_note(SrMusic* m);
/// Parse a rest, also of whole bars.
SrStatus sr_music_read_rest(SrMusic* m);
/// Parse a chord, [CEG]; its highest note is the melody's.
SrStatus sr_music_read_chord(SrMusic* m);
/// Parse a tie after a note.
SrStatus sr_music_read_tie(SrMusic* m);

// music_marks.c

/// Forget the marks that wait for a note.
void sr_music_forget_waiting(SrMusic* m);
/// Keep a mark for the next note.
void sr_music_keep_mark(SrMusic* m, SrMark mark);
/// Set a note's ornament from the graces and signs before it.
void sr_music_give_ornament(const SrMusic* m, const SrPitch* pitch, SrPhraseNote* note);
/// Parse the graces before a note, {…}.
SrStatus sr_music_read_graces(SrMusic* m);
/// Parse quoted text: a chord symbol, or an annotation that may be one of ours.
SrStatus sr_music_read_quoted(SrMusic* m);
/// Parse a decoration between two marks; a lone mark breaks the printed line and is ignored.
void sr_music_read_decoration(SrMusic* m, char mark);

// music_bars.c

/// Start an empty bar.
void sr_music_open_bar(SrMusic* m);
/// Close the bar being read and open the next.
SrStatus sr_music_add_bar(SrMusic* m, size_t at);
/// Whether a '[' starts a bar sign or an ending rather than a chord or field.
bool sr_music_bracket_is_bar(const SrMusic* m, size_t ahead);
/**
   Parse a bar line in any form: a run of | : [ ], then perhaps an ending number. Colons before the
   line end a repeat, colons after it start one.
*/
SrStatus sr_music_read_bar_line(SrMusic* m);
/**
   Number the bars. A short bar at the start of the tune or after a double bar or repeat sign is a
   pickup: it has number 0 and is placed at the end of its bar. An ending is not a pickup, nor is
   the only bar of a tune.
*/
void sr_music_number_bars(SrTune* tune);

#endif // SR_PHRASE_MUSIC_H
