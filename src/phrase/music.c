// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music.c
   Parsing the music code of the tune body (ABC 2.1, section 4) into notes and bars.
*/

#include "tune.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Largest number in a written length.
#define MOST_LENGTH 1024
/// Most times a repeat is played; one bit of an unsigned for each.
#define MOST_TIMES 30
/// Semitones of C D E F G A B above C.
static const int NATURAL[7] = {0, 2, 4, 5, 7, 9, 11};
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
} Pitch;

/// Marks waiting for the note they precede.
typedef struct {
  int grace_count;
  int grace_midi[SR_ORNAMENT_SIZE];
  bool roll;
  bool air;
  SrDirection direction;
} Waiting;

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
  Waiting waiting;
  SrFraction broken; ///< Length factor for the next note after > or <, otherwise 1
  bool broken_open;  ///< Whether such a note is still missing
  int tuplet_left;   ///< Remaining notes of the tuplet
  SrFraction tuplet; ///< Its factor
  bool last_is_note; ///< The last note, chord or rest of this bar can take > or <
  SrFraction last_length;
  size_t last_note; ///< Index of that note; SIZE_MAX for a rest
  bool tie_open;    ///< A tie is waiting for its second note
  Pitch tie_pitch;
  char part;          ///< P: label for the next bar
  bool section_start; ///< A double bar or repeat sign precedes
};

static void
forget_accidentals(SrMusic* const m)
{
  for (size_t i = 0; i < HELD; ++i) {
    m->held[i] = NOT_WRITTEN;
  }
}

static void
forget_waiting(SrMusic* const m)
{
  m->waiting = (Waiting){0, {0}, false, false, SR_DIRECTION_FREE};
}

static void
open_bar(SrMusic* const m)
{
  m->bar = (SrWrittenBar){0};
  m->bar.first = m->reader->tune->note_count;
  m->time = sr_fraction(0, 1);
  m->last_is_note = false;
}

SrMusic*
sr_music_new(SrTuneReader* const reader)
{
  SrMusic* const m = (SrMusic*)calloc(1, sizeof(SrMusic));
  if (m) {
    m->reader = reader;
    m->broken = sr_fraction(1, 1);
    m->tuplet = sr_fraction(1, 1);
    m->section_start = true;
    forget_accidentals(m);
    forget_waiting(m);
    open_bar(m);
  }
  return m;
}

void
sr_music_del(SrMusic* const m)
{
  free(m);
}

void
sr_music_part(SrMusic* const m, const char part)
{
  m->part = part;
}

static SrStatus
fail(const SrMusic* const m, const SrStatus status, const size_t at, const char* const what)
{
  return sr_tune_fail(m->reader, status, m->line, at, what);
}

static char
peek(const SrMusic* const m, const size_t ahead)
{
  return m->at + ahead < m->line->size ? m->line->text[m->at + ahead] : '\0';
}

/**
   Parse digits; false if there are none. Above MOST_LENGTH the value stops growing, for the caller
   to refuse.
*/
static bool
take_number(SrMusic* const m, int* const number)
{
  const size_t start = m->at;
  int value = 0;
  while (isdigit((unsigned char)peek(m, 0))) {
    value = value > MOST_LENGTH ? value : value * 10 + (peek(m, 0) - '0');
    ++m->at;
  }
  *number = value;
  return m->at > start;
}

/// Parse a length such as 3, 3/2, /, //, /4; 1 if there is none.
static SrStatus
take_length(SrMusic* const m, SrFraction* const length)
{
  const size_t start = m->at;
  int numerator = 1;
  int denominator = 1;
  take_number(m, &numerator);
  if (m->at == start) {
    numerator = 1;
  }
  if (peek(m, 0) == '/') {
    ++m->at;
    if (!take_number(m, &denominator)) {
      denominator = 2;
      while (peek(m, 0) == '/' && denominator <= MOST_LENGTH) {
        denominator *= 2;
        ++m->at;
      }
    }
  }
  if (numerator < 1 || denominator < 1) {
    return fail(m, SR_BAD_SYNTAX, start, "A note cannot have length zero");
  }
  if (numerator > MOST_LENGTH || denominator > MOST_LENGTH) {
    return fail(m, SR_TOO_LARGE, start, "Lengths go up to 1024 and down to 1/1024 of the unit");
  }
  *length = sr_fraction(numerator, denominator);
  return SR_OK;
}

/**
   Parse an accidental and a letter with its octave marks; the caller has checked that one starts
   here.
*/
static SrStatus
take_pitch(SrMusic* const m, const bool grace, Pitch* const pitch)
{
  const size_t start = m->at;
  pitch->accidental = NOT_WRITTEN;
  if (peek(m, 0) == '^' || peek(m, 0) == '_' || peek(m, 0) == '=') {
    const char sign = peek(m, 0);
    ++m->at;
    pitch->accidental = sign == '=' ? 0 : sign == '^' ? 1 : -1;
    if (sign != '=' && peek(m, 0) == sign) {
      pitch->accidental *= 2;
      ++m->at;
    }
  }
  const char c = peek(m, 0);
  static const char letters[] = "CDEFGABcdefgab";
  const char* const found = c ? strchr(letters, c) : NULL;
  if (!found) {
    return fail(m, SR_BAD_SYNTAX, start, "An accidental needs a note after it");
  }
  ++m->at;
  pitch->letter = (int)(found - letters) % 7;
  pitch->octave = found - letters < 7 ? 5 : 6;
  for (; peek(m, 0) == '\'' || peek(m, 0) == ','; ++m->at) {
    pitch->octave += peek(m, 0) == '\'' ? 1 : -1;
  }
  if (pitch->octave < 0 || pitch->octave > 10) {
    return fail(m, SR_BAD_SYNTAX, start, "This note is out of range");
  }
  const SrKey* const key = &m->reader->fields.key;
  const size_t slot = (size_t)pitch->octave * 7 + (size_t)pitch->letter;
  if (pitch->accidental != NOT_WRITTEN) {
    // Also in a grace, as abc2midi does; the standard does not say
    const SrReach reach = m->reader->fields.reach;
    for (size_t octave = 0; octave < 11 && reach != SR_REACH_NOT; ++octave) {
      if (reach == SR_REACH_PITCH || octave == (size_t)pitch->octave) {
        m->held[octave * 7 + (size_t)pitch->letter] = pitch->accidental;
      }
    }
  } else if (m->tie_open && !grace && pitch->letter == m->tie_pitch.letter &&
             pitch->octave == m->tie_pitch.octave) {
    pitch->accidental = m->tie_pitch.accidental;
  } else if (m->held[slot] != NOT_WRITTEN) {
    pitch->accidental = m->held[slot];
  } else {
    pitch->accidental = key->accidental[pitch->letter];
  }
  pitch->midi = 12 * pitch->octave + NATURAL[pitch->letter] + pitch->accidental + sr_key_shift(key);
  if (pitch->midi < 0 || pitch->midi > 127) {
    return fail(m, SR_BAD_SYNTAX, start, "This note is out of range");
  }
  return SR_OK;
}

static void
name_note(const Pitch* const pitch, char* const name, const size_t size)
{
  static const char* const signs[5] = {"♭♭", "♭", "", "♯", "♯♯"};
  snprintf(name, size, "%c%s", "CDEFGAB"[pitch->letter], signs[pitch->accidental + 2]);
}

/// The length of a note after broken rhythm and tuplets; counts the tuplet down.
static SrStatus
sounding_length(SrMusic* const m, const size_t at, const SrFraction written,
                SrFraction* const length)
{
  SrFraction value = sr_fraction_multiply(written, m->reader->fields.unit);
  value = sr_fraction_multiply(value, m->broken);
  if (m->tuplet_left > 0) {
    value = sr_fraction_multiply(value, m->tuplet);
    --m->tuplet_left;
  }
  m->broken = sr_fraction(1, 1);
  m->broken_open = false;
  const SrFraction end = sr_fraction_add(m->time, value);
  if (!sr_fraction_valid(end) || value.numerator <= 0) {
    return fail(m, SR_TOO_LARGE, at, "The lengths of this bar do not add up to a usable fraction");
  }
  *length = value;
  return SR_OK;
}

static void
advance(SrMusic* const m, const SrFraction length, const size_t note)
{
  m->time = sr_fraction_add(m->time, length);
  m->last_is_note = true;
  m->last_length = length;
  m->last_note = note;
}

/// MIDI number of the note `steps` scale steps above a pitch, or below if negative.
static int
step_from(const SrMusic* const m, const Pitch* const pitch, const int steps)
{
  const SrKey* const key = &m->reader->fields.key;
  const int place = 7 * pitch->octave + pitch->letter + steps;
  if (place < 0 || place >= HELD) {
    return -1;
  }
  const int held = m->held[place];
  const int accidental = held != NOT_WRITTEN ? held : key->accidental[place % 7];
  return 12 * (place / 7) + NATURAL[place % 7] + accidental + sr_key_shift(key);
}

/// Set a note's ornament from the graces and signs before it.
static void
give_ornament(const SrMusic* const m, const Pitch* const pitch, SrPhraseNote* const note)
{
  const Waiting* const waiting = &m->waiting;
  note->cut_midi = -1;
  note->ornament =
      waiting->roll ? SR_ORNAMENT_ROLL
                    : sr_ornament_of_graces(note->midi, waiting->grace_midi, waiting->grace_count);
  if (sr_ornament_is_judged(note->ornament)) {
    note->cut_midi = waiting->grace_midi[0];
    return;
  }
  note->ornament_count = waiting->grace_count;
  memcpy(note->ornament_midi, waiting->grace_midi, sizeof(note->ornament_midi));
  const int likely[2] = {step_from(m, pitch, 2), step_from(m, pitch, -1)};
  for (int i = 0; note->ornament == SR_ORNAMENT_ROLL && i < 2; ++i) {
    if (likely[i] >= 0 && likely[i] <= 127 && note->ornament_count < (int)SR_ORNAMENT_SIZE) {
      note->ornament_midi[note->ornament_count++] = likely[i];
    }
  }
}

static SrStatus
add_note(SrMusic* const m, const size_t at, const Pitch* const pitch, const SrFraction length,
         const SrPhraseNote* const chord)
{
  SrTune* const tune = m->reader->tune;
  if (tune->note_count == SR_PHRASE_MOST_NOTES) {
    return fail(m, SR_TOO_LARGE, at, "A tune may have 4096 notes at most");
  }
  if (tune->note_count == tune->note_size) {
    const size_t size = tune->note_size ? 2 * tune->note_size : 64;
    SrWrittenNote* const more = (SrWrittenNote*)realloc(tune->notes, size * sizeof(SrWrittenNote));
    if (!more) {
      return sr_error_set(m->reader->error, SR_NO_MEMORY, "There is not enough memory.");
    }
    tune->notes = more;
    tune->note_size = size;
  }
  SrWrittenNote* const written = &tune->notes[tune->note_count];
  memset(written, 0, sizeof(*written));
  SrPhraseNote* const note = &written->note;
  if (chord) {
    note->chord_count = chord->chord_count;
    memcpy(note->chord_midi, chord->chord_midi, sizeof(note->chord_midi));
  }
  note->midi = pitch->midi;
  name_note(pitch, note->name, sizeof(note->name));
  note->start = m->time;
  note->length = length;
  give_ornament(m, pitch, note);
  note->air = m->waiting.air;
  note->direction = m->waiting.direction;
  note->line = m->line->number;
  m->column += sr_line_characters(m->line, m->counted, at);
  m->counted = at;
  note->column = m->column;
  forget_waiting(m);
  m->tie_open = false;
  advance(m, length, tune->note_count);
  ++tune->note_count;
  ++m->bar.count;
  return SR_OK;
}

static SrStatus
read_note(SrMusic* const m)
{
  const size_t at = m->at;
  Pitch pitch;
  SrFraction written = {0, 1};
  SrFraction length = {0, 1};
  SrStatus status = take_pitch(m, false, &pitch);
  if (status == SR_OK) {
    status = take_length(m, &written);
  }
  if (status == SR_OK) {
    status = sounding_length(m, at, written, &length);
  }
  return status == SR_OK ? add_note(m, at, &pitch, length, NULL) : status;
}

static SrStatus add_bar(SrMusic* m, size_t at);

static SrStatus
read_rest(SrMusic* const m)
{
  const size_t at = m->at;
  const char kind = m->line->text[m->at++];
  SrFraction written = {0, 1};
  SrFraction length = {0, 1};
  SrStatus status = take_length(m, &written);
  m->tie_open = false;
  // A cut or mark before a rest belongs to no note
  forget_waiting(m);
  if (status != SR_OK) {
    return status;
  }
  if (kind == 'z' || kind == 'x') {
    status = sounding_length(m, at, written, &length);
    if (status == SR_OK) {
      advance(m, length, SIZE_MAX);
    }
    return status;
  }
  // Whole-bar rests
  const SrFraction bar = sr_meter_length(&m->reader->fields.meter);
  if (written.denominator != 1 || bar.numerator == 0) {
    return fail(m, SR_BAD_SYNTAX, at, "A rest of whole bars needs a whole number and a meter");
  }
  for (int64_t i = 0; i < written.numerator && status == SR_OK; ++i) {
    m->time = sr_fraction_add(m->time, bar);
    if (i + 1 < written.numerator) {
      status = add_bar(m, at);
    }
  }
  return status;
}

static bool
starts_pitch(const char c)
{
  return c && strchr("^_=ABCDEFGabcdefg", c) != NULL;
}

static SrStatus
read_graces(SrMusic* const m)
{
  const size_t at = m->at++;
  int count = 0;
  int midi[SR_ORNAMENT_SIZE] = {0};
  if (peek(m, 0) == '/') {
    ++m->at;
  }
  while (peek(m, 0) && peek(m, 0) != '}') {
    if (starts_pitch(peek(m, 0))) {
      Pitch pitch;
      SrFraction length = {0, 1};
      SrStatus status = take_pitch(m, true, &pitch);
      if (status == SR_OK) {
        status = take_length(m, &length);
      }
      if (status != SR_OK) {
        return status;
      }
      if (count < (int)SR_ORNAMENT_SIZE) {
        midi[count] = pitch.midi;
      }
      ++count;
    } else if (strchr(" \t()><-~.[]", peek(m, 0))) {
      ++m->at;
    } else {
      return fail(m, SR_BAD_SYNTAX, m->at, "Only notes can be in a grace");
    }
  }
  if (peek(m, 0) != '}') {
    return fail(m, SR_BAD_SYNTAX, at, "This grace is not closed with }");
  }
  ++m->at;
  if (count > (int)SR_ORNAMENT_SIZE) {
    return fail(m, SR_TOO_LARGE, at, "A grace may have 8 notes at most");
  }
  m->waiting.grace_count = count;
  memcpy(m->waiting.grace_midi, midi, sizeof(midi));
  return SR_OK;
}

static void
keep_mark(SrMusic* const m, const SrMark mark)
{
  if (mark == SR_MARK_AIR) {
    m->waiting.air = true;
  } else if (mark == SR_MARK_ROLL) {
    m->waiting.roll = true;
  } else if (mark != SR_MARK_NONE) {
    m->waiting.direction = mark == SR_MARK_PRESS ? SR_DIRECTION_PRESS : SR_DIRECTION_DRAW;
  }
}

static SrStatus
read_chord(SrMusic* const m)
{
  const size_t at = m->at++;
  SrPhraseNote sounds = {0};
  Pitch top = {0, 0, 0, -1};
  SrFraction inner = sr_fraction(1, 1);
  bool first = true;
  int latest = -1;
  int tied_midi = -2; // Highest tied pitch inside the brackets
  while (peek(m, 0) && peek(m, 0) != ']') {
    const char c = peek(m, 0);
    if (starts_pitch(c)) {
      Pitch pitch;
      SrFraction length = {0, 1};
      SrStatus status = take_pitch(m, false, &pitch);
      if (status == SR_OK) {
        status = take_length(m, &length);
      }
      if (status != SR_OK) {
        return status;
      }
      // The first note's length is the chord's (ABC 2.1, section 4.17)
      inner = first ? length : inner;
      first = false;
      latest = pitch.midi;
      int below = pitch.midi;
      if (pitch.midi > top.midi) {
        below = top.midi;
        top = pitch;
      }
      if (below >= 0 && below != top.midi) {
        if (sounds.chord_count == (int)SR_CHORD_SIZE) {
          return fail(m, SR_TOO_LARGE, at, "A chord may have 9 notes at most");
        }
        sounds.chord_midi[sounds.chord_count++] = below;
      }
    } else if (c == '-') {
      tied_midi = latest > tied_midi ? latest : tied_midi;
      ++m->at;
    } else if (c == '!' || c == '"') {
      const char* const rest = m->line->text + m->at + 1;
      const char* const close = (const char*)memchr(rest, c, m->line->size - m->at - 1);
      if (!close) {
        return fail(m, SR_BAD_SYNTAX, m->at, "This mark is not closed");
      }
      m->at = (size_t)(close - m->line->text) + 1;
    } else if (strchr(" \t().~HLMOPSTuv", c)) {
      keep_mark(m, c == '~' ? (SrMark)m->reader->fields.symbols['~'] : SR_MARK_NONE);
      ++m->at;
    } else {
      return fail(m, SR_BAD_SYNTAX, m->at, "Only notes can be in a chord");
    }
  }
  if (peek(m, 0) != ']') {
    return fail(m, SR_BAD_SYNTAX, at, "This chord is not closed with ]");
  }
  ++m->at;
  if (first) {
    return fail(m, SR_BAD_SYNTAX, at, "This chord is empty");
  }
  SrFraction outer;
  SrFraction length = {0, 1};
  SrStatus status = take_length(m, &outer);
  if (status == SR_OK) {
    status = sounding_length(m, at, sr_fraction_multiply(inner, outer), &length);
  }
  if (status == SR_OK) {
    status = add_note(m, at, &top, length, &sounds);
  }
  if (status == SR_OK && tied_midi == top.midi) {
    m->reader->tune->notes[m->last_note].tied = true;
    m->tie_open = true;
    m->tie_pitch = top;
  }
  return status;
}

static SrStatus
read_tie(SrMusic* const m)
{
  const size_t at = m->at++;
  SrTune* const tune = m->reader->tune;
  if (!m->last_is_note || m->last_note == SIZE_MAX) {
    return fail(m, SR_BAD_SYNTAX, at, "A tie needs a note before it");
  }
  SrWrittenNote* const last = &tune->notes[m->last_note];
  last->tied = true;
  m->tie_open = true;
  // The sounding pitch, so that the accidental carries to the second note across the bar line
  const int natural = last->note.midi - sr_key_shift(&m->reader->fields.key);
  static const char letters[] = "CDEFGAB";
  m->tie_pitch.letter = (int)(strchr(letters, last->note.name[0]) - letters);
  for (int accidental = -2; accidental <= 2; ++accidental) {
    const int rest = natural - NATURAL[m->tie_pitch.letter] - accidental;
    if (rest % 12 == 0 && rest >= 0) {
      char name[8];
      m->tie_pitch.accidental = accidental;
      m->tie_pitch.octave = rest / 12;
      name_note(&m->tie_pitch, name, sizeof(name));
      if (!strcmp(name, last->note.name)) {
        break;
      }
    }
  }
  return SR_OK;
}

static SrStatus
read_broken(SrMusic* const m)
{
  const size_t at = m->at;
  const char sign = peek(m, 0);
  int count = 0;
  while (peek(m, 0) == sign) {
    ++count;
    ++m->at;
  }
  if (!m->last_is_note || m->broken_open) {
    return fail(m, SR_BAD_SYNTAX, at, "Broken rhythm needs a note on either side");
  }
  if (count > 3) {
    return fail(m, SR_TOO_LARGE, at, "Broken rhythm can have at most three signs");
  }
  const SrFraction small = sr_fraction(1, 1 << count);
  const SrFraction large = sr_fraction_subtract(sr_fraction(2, 1), small);
  const SrFraction before = sign == '>' ? large : small;
  m->broken = sign == '>' ? small : large;
  m->broken_open = true;
  const SrFraction length = sr_fraction_multiply(m->last_length, before);
  m->time = sr_fraction_add(sr_fraction_subtract(m->time, m->last_length), length);
  m->last_length = length;
  if (m->last_note != SIZE_MAX) {
    m->reader->tune->notes[m->last_note].note.length = length;
  }
  return sr_fraction_valid(m->time) ? SR_OK : fail(m, SR_TOO_LARGE, at, "This length is too fine");
}

/// Parse a tuplet, (p:q:r (ABC 2.1, section 4.13).
static SrStatus
read_tuplet(SrMusic* const m)
{
  const size_t at = m->at++;
  int p = 0;
  int q = 0;
  int r = 0;
  take_number(m, &p);
  if (peek(m, 0) == ':') {
    ++m->at;
    take_number(m, &q);
    if (peek(m, 0) == ':') {
      ++m->at;
      take_number(m, &r);
    }
  }
  const SrMeter* const meter = &m->reader->fields.meter;
  const bool compound =
      meter->unit == 8 && (meter->beats == 6 || meter->beats == 9 || meter->beats == 12);
  static const int usual[10] = {0, 0, 3, 2, 3, 0, 2, 0, 3, 0};
  if (p < 2 || p > 9 || q > 64 || r > 64) {
    return fail(m, SR_BAD_SYNTAX, at, "Tuplets have 2 to 9 notes");
  }
  if (m->tuplet_left > 0) {
    return fail(m, SR_UNSUPPORTED, at, "A tuplet inside a tuplet is not read");
  }
  if (q == 0) {
    q = usual[p] ? usual[p] : compound ? 3 : 2;
  }
  m->tuplet = sr_fraction(q, p);
  m->tuplet_left = r ? r : p;
  return SR_OK;
}

/// Parse quoted text: a chord symbol, or an annotation that may be one of ours.
static SrStatus
read_quoted(SrMusic* const m)
{
  const size_t at = m->at++;
  const char* const text = m->line->text + m->at;
  const char* const close = (const char*)memchr(text, '"', m->line->size - m->at);
  if (!close) {
    return fail(m, SR_BAD_SYNTAX, at, "This text is not closed with a quotation mark");
  }
  const size_t size = (size_t)(close - text);
  m->at += size + 1;
  keep_mark(m, sr_mark_read(text, size));
  return SR_OK;
}

/// Close the bar being read and open the next.
static SrStatus
add_bar(SrMusic* const m, const size_t at)
{
  SrTune* const tune = m->reader->tune;
  if (tune->bar_count == SR_PHRASE_MOST_BARS) {
    return fail(m, SR_TOO_LARGE, at, "A tune may have 4096 bars at most");
  }
  if (tune->bar_count == tune->bar_size) {
    const size_t size = tune->bar_size ? 2 * tune->bar_size : 32;
    SrWrittenBar* const more = (SrWrittenBar*)realloc(tune->bars, size * sizeof(SrWrittenBar));
    if (!more) {
      return sr_error_set(m->reader->error, SR_NO_MEMORY, "There is not enough memory.");
    }
    tune->bars = more;
    tune->bar_size = size;
  }
  m->bar.length = m->time;
  m->bar.meter = m->reader->fields.meter;
  m->bar.section_start = m->section_start;
  m->bar.part = m->part;
  m->section_start = false;
  m->part = 0;
  tune->bars[tune->bar_count++] = m->bar;
  open_bar(m);
  return SR_OK;
}

/// Handle a bar line: close the bar unless it is empty.
static SrStatus
end_bar(SrMusic* const m, const size_t at)
{
  forget_accidentals(m);
  return m->time.numerator > 0 ? add_bar(m, at) : SR_OK;
}

/// Parse the numbers of an ending: 1, 1,3 or 1-3.
static bool
take_endings(SrMusic* const m, unsigned* const endings)
{
  *endings = 0;
  do {
    int first = 0;
    int last = 0;
    if (!take_number(m, &first)) {
      return *endings != 0;
    }
    last = first;
    if (peek(m, 0) == '-' && isdigit((unsigned char)peek(m, 1))) {
      ++m->at;
      take_number(m, &last);
    }
    if (first < 1 || last > MOST_TIMES || last < first) {
      return false;
    }
    for (int i = first; i <= last; ++i) {
      *endings |= 1u << (unsigned)i;
    }
  } while (peek(m, 0) == ',' && isdigit((unsigned char)peek(m, 1)) && ++m->at);
  return true;
}

/// Whether a '[' starts a bar sign or an ending rather than a chord or field.
static bool
bracket_is_bar(const SrMusic* const m, const size_t ahead)
{
  const char next = peek(m, ahead + 1);
  return next == '|' || isdigit((unsigned char)next);
}

/**
   Parse a bar line in any form: a run of | : [ ], then perhaps an ending number. Colons before the
   line end a repeat, colons after it start one.
*/
static SrStatus
read_bar_line(SrMusic* const m)
{
  const size_t at = m->at;
  if (peek(m, 0) == '[' && peek(m, 1) == '|' && peek(m, 2) == ']') {
    // An invisible bar line counts like any other
    m->at += 3;
    return end_bar(m, at);
  }
  size_t lines = 0;
  int colons_before = 0;
  int colons_behind = 0;
  bool thick = false;
  for (;; ++m->at) {
    const char c = peek(m, 0);
    if (c == '|') {
      ++lines;
    } else if (c == ':') {
      if (lines) {
        ++colons_behind;
      } else {
        ++colons_before;
      }
    } else if ((c == ']' && lines) || (c == '[' && peek(m, 1) == '|')) {
      thick = true;
    } else {
      break;
    }
  }
  if (!lines && colons_before >= 2) {
    // :: is the same as :||:
    colons_behind = colons_before / 2;
    colons_before = (colons_before + 1) / 2;
    lines = 1;
  }
  if (colons_before >= MOST_TIMES) {
    return fail(m, SR_TOO_LARGE, at, "A repeat is played 30 times at most");
  }
  if (!lines && colons_before) {
    return fail(m, SR_BAD_SYNTAX, at, "A colon needs a bar line beside it");
  }
  // |1 and [1 and | [1
  unsigned endings = 0;
  const size_t spaces_from = m->at;
  while (peek(m, 0) == ' ' || peek(m, 0) == '\t') {
    ++m->at;
  }
  const bool bracket = peek(m, 0) == '[' && isdigit((unsigned char)peek(m, 1));
  if (bracket || (m->at == spaces_from && isdigit((unsigned char)peek(m, 0)))) {
    m->at += bracket;
    if (!take_endings(m, &endings)) {
      return fail(m, SR_BAD_SYNTAX, at, "Endings are numbered from 1 to 30");
    }
  } else {
    m->at = spaces_from;
  }
  const bool section = colons_before || colons_behind || thick || lines > 1;
  SrTune* const tune = m->reader->tune;
  const SrStatus status = end_bar(m, at);
  if (status == SR_OK && tune->bar_count > 0) {
    SrWrittenBar* const before = &tune->bars[tune->bar_count - 1];
    before->end_repeats = colons_before ? colons_before : before->end_repeats;
    before->section_end = before->section_end || section;
  }
  m->bar.start_repeat = m->bar.start_repeat || colons_behind > 0;
  if (endings) {
    m->bar.endings = endings;
  }
  m->section_start = m->section_start || section;
  return status;
}

static SrStatus
read_inline_field(SrMusic* const m)
{
  const size_t at = m->at;
  const char* const text = m->line->text + m->at;
  const char* const close = (const char*)memchr(text, ']', m->line->size - m->at);
  if (!close) {
    return fail(m, SR_BAD_SYNTAX, at, "This field is not closed with ]");
  }
  const size_t size = (size_t)(close - text);
  m->at += size + 1;
  if (text[1] == 'P') {
    for (size_t i = 3; i < size; ++i) {
      if (text[i] >= 'A' && text[i] <= 'Z') {
        m->part = text[i];
        break;
      }
    }
    return SR_OK;
  }
  return sr_field_use(m->reader, m->line, at, text[1], text + 3, size - 3, true);
}

/// Parse a decoration between two marks; a lone mark breaks the printed line and is ignored.
static void
read_decoration(SrMusic* const m, const char mark)
{
  const char* const text = m->line->text + m->at + 1;
  const char* const close = (const char*)memchr(text, mark, m->line->size - m->at - 1);
  bool decoration = close != NULL;
  for (const char* c = text; decoration && c < close; ++c) {
    // Characters not allowed in a symbol's name (ABC 2.1, section 4.14)
    decoration = !isspace((unsigned char)*c) && !strchr("[]|:", *c);
  }
  if (decoration) {
    keep_mark(m, sr_decoration_read(text, (size_t)(close - text)));
  }
  m->at = decoration ? (size_t)(close - m->line->text) + 1 : m->at + 1;
}

/// Skip to the next voice change, or to the end of the line.
static void
skip_voice(SrMusic* const m)
{
  const SrLine* const line = m->line;
  while (m->at < line->size &&
         !(line->size - m->at >= 3 && !memcmp(line->text + m->at, "[V:", 3))) {
    ++m->at;
  }
}

/// Parse the construct that starts here.
static SrStatus
read_construct(SrMusic* const m)
{
  const char c = peek(m, 0);
  if (starts_pitch(c)) {
    return read_note(m);
  }
  switch (c) {
  case 'z':
  case 'x':
  case 'Z':
  case 'X':
    return read_rest(m);
  case '{':
    return read_graces(m);
  case '"':
    return read_quoted(m);
  case '>':
  case '<':
    return read_broken(m);
  case '|':
  case ':':
    return read_bar_line(m);
  case '-':
    return read_tie(m);
  case '(':
    if (isdigit((unsigned char)peek(m, 1))) {
      return read_tuplet(m);
    }
    ++m->at;
    return SR_OK;
  case '[':
    if (bracket_is_bar(m, 0)) {
      return read_bar_line(m);
    }
    return isalpha((unsigned char)peek(m, 1)) && peek(m, 2) == ':' ? read_inline_field(m)
                                                                   : read_chord(m);
  case '!':
  case '+':
    read_decoration(m, c);
    return SR_OK;
  case '&':
    return fail(m, SR_UNSUPPORTED, m->at, "Voice overlays are not read");
  case 'y': {
    int number = 0;
    ++m->at;
    take_number(m, &number);
    return SR_OK;
  }
  default:
    break;
  }
  // Decoration letters, slurs, spaces, beams, and reserved characters
  const bool letter = (c >= 'H' && c <= 'W') || (c >= 'h' && c <= 'w');
  if (letter || strchr(" \t.~)\\`$*;?@#]", c)) {
    keep_mark(m, (SrMark)m->reader->fields.symbols[(unsigned char)c]);
    ++m->at;
    return SR_OK;
  }
  return fail(m, SR_BAD_SYNTAX, m->at, "This is not music in ABC");
}

SrStatus
sr_music_line(SrMusic* const m, const SrLine* const line)
{
  m->line = line;
  m->at = 0;
  m->counted = 0;
  m->column = 1;
  SrStatus status = SR_OK;
  while (status == SR_OK && m->at < line->size) {
    if (m->reader->skips) {
      skip_voice(m);
      if (m->at == line->size) {
        break;
      }
    }
    if (!line->text[m->at]) {
      return fail(m, SR_BAD_SYNTAX, m->at, "A zero byte is not text");
    }
    status = read_construct(m);
  }
  return status;
}

/**
   Number the bars. A short bar at the start of the tune or after a double bar or repeat sign is a
   pickup: it has number 0 and is placed at the end of its bar. An ending is not a pickup, nor is
   the only bar of a tune.
*/
static void
number_bars(SrTune* const tune)
{
  int number = 0;
  for (size_t i = 0; i < tune->bar_count; ++i) {
    SrWrittenBar* const bar = &tune->bars[i];
    const SrFraction whole = sr_meter_length(&bar->meter);
    const bool is_short = whole.numerator > 0 && sr_fraction_compare(bar->length, whole) < 0;
    const bool pickup = is_short && bar->section_start && !bar->endings && i + 1 < tune->bar_count;
    bar->offset = pickup ? sr_fraction_subtract(whole, bar->length) : sr_fraction(0, 1);
    bar->number = pickup ? 0 : ++number;
  }
}

SrStatus
sr_music_finish(SrMusic* const m, const SrLine* const last)
{
  m->line = last;
  m->at = last->size;
  if (m->broken_open) {
    return fail(m, SR_BAD_SYNTAX, m->at, "Broken rhythm without a note after it");
  }
  if (m->tuplet_left > 0) {
    return fail(m, SR_BAD_SYNTAX, m->at, "The last tuplet has too few notes");
  }
  SrStatus status = SR_OK;
  if (m->time.numerator > 0) {
    status = add_bar(m, m->at);
  }
  if (status == SR_OK && m->reader->tune->note_count == 0) {
    return fail(m, SR_BAD_SYNTAX, m->at, "This tune has no notes");
  }
  if (status == SR_OK) {
    m->reader->tune->bars[m->reader->tune->bar_count - 1].section_end = true;
    number_bars(m->reader->tune);
  }
  return status;
}
