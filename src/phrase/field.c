// SPDX-License-Identifier: GPL-3.0-or-later

#include "assignment_directive.h"
#include "tune.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Fastest tempo, units a minute.
#define MOST_TEMPO 2000

/// Position in a text being parsed.
typedef struct {
  const char* text;
  size_t size;
  size_t at;
} Walk;

static void
skip(Walk* const w)
{
  while (w->at < w->size && isspace((unsigned char)w->text[w->at])) {
    ++w->at;
  }
}

static bool
take(Walk* const w, const char c)
{
  skip(w);
  if (w->at < w->size && w->text[w->at] == c) {
    ++w->at;
    return true;
  }
  return false;
}

static bool
take_number(Walk* const w, int* const number)
{
  skip(w);
  const size_t start = w->at;
  int value = 0;
  while (w->at < w->size && isdigit((unsigned char)w->text[w->at]) && value < 100000) {
    value = value * 10 + (w->text[w->at++] - '0');
  }
  *number = value;
  return w->at > start && value < 100000;
}

static bool
ends(Walk* const w)
{
  skip(w);
  return w->at == w->size;
}

static bool
take_fraction(Walk* const w, SrFraction* const fraction)
{
  int numerator = 0;
  int denominator = 1;
  if (!take_number(w, &numerator)) {
    return false;
  }
  if (take(w, '/') && !take_number(w, &denominator)) {
    return false;
  }
  if (numerator < 1 || denominator < 1 || numerator > 1024 || denominator > 1024) {
    return false;
  }
  *fraction = sr_fraction(numerator, denominator);
  return true;
}

bool
sr_meter_read(const char* const text, const size_t size, SrMeter* const meter)
{
  Walk w = {text, size, 0};
  skip(&w);
  const size_t rest = w.size - w.at;
  if (rest >= 4 && !strncmp(w.text + w.at, "none", 4)) {
    w.at += 4;
    *meter = (SrMeter){4, 4, true};
    return ends(&w);
  }
  if (take(&w, 'C')) {
    *meter = take(&w, '|') ? (SrMeter){2, 2, false} : (SrMeter){4, 4, false};
    return ends(&w);
  }
  // 6/8, 2+3/8, (2+2+3)/8
  const bool group = take(&w, '(');
  int beats = 0;
  do {
    int more = 0;
    if (!take_number(&w, &more)) {
      return false;
    }
    beats += more;
  } while (take(&w, '+'));
  int unit = 0;
  if ((group && !take(&w, ')')) || !take(&w, '/') || !take_number(&w, &unit) || !ends(&w)) {
    return false;
  }
  if (beats < 1 || beats > 64 || unit < 1 || unit > 64 || (unit & (unit - 1))) {
    return false;
  }
  *meter = (SrMeter){beats, unit, false};
  return true;
}

bool
sr_meter_of_rhythm(const char* const rhythm, SrMeter* const meter)
{
  // Names that contain another one come first
  static const struct {
    const char* name;
    SrMeter meter;
  } dances[] = {
      {"slip jig", {9, 8, false}},   {"hop jig", {9, 8, false}},     {"jig", {6, 8, false}},
      {"slide", {12, 8, false}},     {"reel", {4, 4, false}},        {"hornpipe", {4, 4, false}},
      {"strathspey", {4, 4, false}}, {"schottische", {4, 4, false}}, {"barndance", {4, 4, false}},
      {"barn dance", {4, 4, false}}, {"fling", {4, 4, false}},       {"highland", {4, 4, false}},
      {"march", {4, 4, false}},      {"polka", {2, 4, false}},       {"three-two", {3, 2, false}},
      {"waltz", {3, 4, false}},      {"mazurka", {3, 4, false}},     {"varsovienne", {3, 4, false}},
  };
  for (size_t i = 0; i < sizeof(dances) / sizeof(dances[0]); ++i) {
    if (strcasestr(rhythm, dances[i].name)) {
      *meter = dances[i].meter;
      return true;
    }
  }
  return false;
}

SrFraction
sr_meter_pulse(const SrMeter* const meter)
{
  if (meter->unit >= 8 && meter->beats % 3 == 0) {
    return sr_fraction(3, meter->unit);
  }
  return sr_fraction(1, meter->unit);
}

SrFraction
sr_meter_length(const SrMeter* const meter)
{
  return meter->none ? sr_fraction(0, 1) : sr_fraction(meter->beats, meter->unit);
}

SrFraction
sr_meter_unit(const SrMeter* const meter)
{
  const bool short_bar = !meter->none && 4 * meter->beats < 3 * meter->unit;
  return sr_fraction(1, short_bar ? 16 : 8);
}

bool
sr_unit_read(const char* const text, const size_t size, SrFraction* const unit)
{
  Walk w = {text, size, 0};
  return take_fraction(&w, unit) && ends(&w);
}

static void
skip_quoted(Walk* const w)
{
  if (take(w, '"')) {
    while (w->at < w->size && w->text[w->at] != '"') {
      ++w->at;
    }
    w->at += w->at < w->size;
  }
}

bool
sr_tempo_read(const char* const text, const size_t size, const SrFraction* const unit,
              SrTune* const tune)
{
  Walk w = {text, size, 0};
  skip_quoted(&w);
  if (ends(&w)) {
    return true; // text without a tempo
  }
  SrFraction beat = {0, 1};
  int tempo = 0;
  const size_t start = w.at;
  int units = 1;
  if (take(&w, 'C') && (take_number(&w, &units) || w.at > start) && take(&w, '=')) {
    // Old forms, Q:C=120 and Q:C3=120 (ABC 2.1, outdated field syntax)
    beat = sr_fraction_multiply(*unit, sr_fraction(units ? units : 1, 1));
  } else {
    w.at = start;
    if (take_number(&w, &tempo) && !take(&w, '/')) {
      beat = *unit; // the old form, Q:120
    } else {
      w.at = start;
      tempo = 0;
      SrFraction more;
      while (take_fraction(&w, &more)) {
        beat = sr_fraction_add(beat, more);
      }
      if (beat.numerator <= 0 || !take(&w, '=')) {
        return false;
      }
    }
  }
  if (!tempo && !take_number(&w, &tempo)) {
    return false;
  }
  skip_quoted(&w);
  if (!ends(&w) || tempo < 1 || tempo > MOST_TEMPO || !sr_fraction_valid(beat)) {
    return false;
  }
  tune->tempo_unit = beat;
  tune->tempo = tempo;
  return true;
}

/// Handle the voice in a V: field: the first one is read, others are skipped.
static SrStatus
use_voice(SrTuneReader* const reader, const SrLine* const line, const size_t at, const char* value,
          size_t size, const bool in_body)
{
  while (size && isspace((unsigned char)value[0])) {
    ++value;
    --size;
  }
  size_t length = 0;
  while (length < size && !isspace((unsigned char)value[length])) {
    ++length;
  }
  char name[sizeof(reader->voice)] = "";
  sr_line_copy(value, length, name, sizeof(name));
  if (!name[0]) {
    return sr_tune_fail(reader, SR_BAD_SYNTAX, line, at, "This V: field does not name a voice");
  }
  if (!reader->voice[0]) {
    memcpy(reader->voice, name, sizeof(name));
  }
  const bool other = strcmp(reader->voice, name) != 0;
  // In the header, V: only declares voices
  reader->skips = in_body && other;
  reader->tune->has_voices = reader->tune->has_voices || reader->skips;
  if (!other) {
    sr_key_read_voice(value + length, size - length, &reader->fields.key);
  }
  return SR_OK;
}

SrMark
sr_mark_read(const char* const text, const size_t size)
{
  static const struct {
    const char* text;
    SrMark mark;
  } marks[] = {{"^air", SR_MARK_AIR}, {"_press", SR_MARK_PRESS}, {"_draw", SR_MARK_DRAW}};
  for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); ++i) {
    if (size == strlen(marks[i].text) && !memcmp(text, marks[i].text, size)) {
      return marks[i].mark;
    }
  }
  return SR_MARK_NONE;
}

SrMark
sr_decoration_read(const char* const text, const size_t size)
{
  return size == 4 && !memcmp(text, "roll", 4) ? SR_MARK_ROLL : SR_MARK_NONE;
}

/// Handle a user-defined symbol, U: p = "_press" or U: R = !roll!; other decorations are ignored.
static SrStatus
use_symbol(SrTuneReader* const reader, const SrLine* const line, const size_t at,
           const char* const value, const size_t size)
{
  Walk w = {value, size, 0};
  skip(&w);
  const char letter = w.at < size ? value[w.at++] : '\0';
  const bool usable =
      (letter >= 'H' && letter <= 'W') || (letter >= 'h' && letter <= 'w') || letter == '~';
  if (!usable || !take(&w, '=')) {
    return sr_tune_fail(reader, SR_BAD_SYNTAX, line, at,
                        "A symbol is defined as in U: p = \"_press\", with a letter from H to W");
  }
  SrMark mark = SR_MARK_NONE;
  if (take(&w, '"')) {
    const char* const close = (const char*)memchr(value + w.at, '"', size - w.at);
    const size_t length = close ? (size_t)(close - value) - w.at : size - w.at;
    mark = sr_mark_read(value + w.at, length);
  } else if (take(&w, '!')) {
    const char* const close = (const char*)memchr(value + w.at, '!', size - w.at);
    mark = close ? sr_decoration_read(value + w.at, (size_t)(close - value) - w.at) : SR_MARK_NONE;
  }
  reader->fields.symbols[(unsigned char)letter] = (signed char)mark;
  return SR_OK;
}

SrStatus
sr_directive_use(SrTuneReader* const reader, const SrLine* const line, const char* const text,
                 const size_t size)
{
  static const char name[] = "propagate-accidentals";
  Walk w = {text, size, 0};
  skip(&w);
  if (sr_assignment_is_directive(text + w.at, size - w.at)) {
    return sr_assignment_directive_use(reader, line, text + w.at, size - w.at);
  }
  if (size - w.at < sizeof(name) - 1 || memcmp(text + w.at, name, sizeof(name) - 1) != 0) {
    return SR_OK;
  }
  w.at += sizeof(name) - 1;
  skip(&w);
  char value[16] = "";
  sr_line_copy(text + w.at, size - w.at, value, sizeof(value));
  static const char* const values[] = {"pitch", "octave", "not"};
  for (int i = 0; i < 3; ++i) {
    if (!strcmp(value, values[i])) {
      reader->fields.reach = (SrReach)i;
      return SR_OK;
    }
  }
  return sr_tune_fail(reader, SR_BAD_SYNTAX, line, 0,
                      "Accidentals can be propagated by \"not\", \"octave\" or \"pitch\"");
}

SrStatus
sr_field_use(SrTuneReader* const reader, const SrLine* const line, const size_t at, const char name,
             const char* const value, const size_t size, const bool in_body)
{
  SrTune* const tune = reader->tune;
  SrFields* const fields = &reader->fields;
  size_t wrong = 0;
  switch (name) {
  case 'K':
    if (!sr_key_read(value, size, &fields->key, &wrong)) {
      const size_t place = (size_t)(value - line->text) + wrong;
      return sr_tune_fail(reader, SR_BAD_SYNTAX, line, place, "This is not a key");
    }
    if (!in_body) {
      sr_line_copy(value, size, tune->key_name, sizeof(tune->key_name));
      tune->sharps = 0;
      for (size_t i = 0; i < 7; ++i) {
        tune->sharps += fields->key.accidental[i];
      }
    }
    return SR_OK;
  case 'R':
    if (!in_body) {
      sr_line_copy(value, size, tune->rhythm, sizeof(tune->rhythm));
    }
    return SR_OK;
  case 'M':
    if (!sr_meter_read(value, size, &fields->meter)) {
      return sr_tune_fail(reader, SR_BAD_SYNTAX, line, at, "This is not a meter");
    }
    fields->meter_given = true;
    // Before the first note a field counts as part of the header
    tune->meter_assumed = tune->meter_assumed && tune->note_count > 0;
    return SR_OK;
  case 'L':
    if (!sr_unit_read(value, size, &fields->unit)) {
      return sr_tune_fail(reader, SR_BAD_SYNTAX, line, at, "This is not a note length");
    }
    fields->unit_given = true;
    return SR_OK;
  case 'Q': {
    // A tempo in the body counts if the header has none
    SrTune other = {0};
    const SrFraction unit = fields->unit_given ? fields->unit : sr_meter_unit(&fields->meter);
    SrTune* const into = in_body && tune->tempo > 0.0 ? &other : tune;
    if (!sr_tempo_read(value, size, &unit, into)) {
      return sr_tune_fail(reader, SR_BAD_SYNTAX, line, at, "This is not a tempo");
    }
    return SR_OK;
  }
  case 'T':
    if (!tune->title[0] && !in_body) {
      sr_line_copy(value, size, tune->title, sizeof(tune->title));
    }
    return SR_OK;
  case 'P':
    if (!in_body) {
      sr_line_copy(value, size, tune->part_order, sizeof(tune->part_order));
    }
    return SR_OK;
  case 'V':
    return use_voice(reader, line, at, value, size, in_body);
  case 'm':
    return sr_tune_fail(reader, SR_UNSUPPORTED, line, at,
                        "Macros are not read; write the notes out instead of");
  case 'U':
    return use_symbol(reader, line, at, value, size);
  case 'I':
    return sr_directive_use(reader, line, value, size);
  default:
    return SR_OK;
  }
}
