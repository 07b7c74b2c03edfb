// SPDX-License-Identifier: GPL-3.0-or-later

#include "tune.h"

#include <steadyreed/input.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define MOST_REMARKS 4u
/// Upper limit of X: numbers.
#define MOST_TUNE_NUMBER 1000000000

struct SrPhraseImpl {
  char title[SR_TUNE_TEXT_SIZE];
  char key[SR_TUNE_TEXT_SIZE];
  int tune;
  double tempo;
  int sharps; ///< Of its key as it sounds
  int transposed;
  char remarks[MOST_REMARKS][SR_TUNE_TEXT_SIZE];
  size_t remark_count;
  SrFraction length;
  SrPhraseNote* notes;
  size_t note_count;
  SrPhraseBar* bars;
  size_t bar_count;
};

struct SrTuneListImpl {
  SrTuneEntry* entries;
  char** titles; ///< Strings the entries point to: each title followed by its rhythm
  size_t count;
  size_t size;
};

void
sr_phrase_del(SrPhrase* const phrase)
{
  if (phrase) {
    free(phrase->notes);
    free(phrase->bars);
    free(phrase);
  }
}

const char*
sr_phrase_title(const SrPhrase* const phrase)
{
  return phrase->title;
}

int
sr_phrase_tune(const SrPhrase* const phrase)
{
  return phrase->tune;
}

const char*
sr_phrase_key(const SrPhrase* const phrase)
{
  return phrase->key;
}

int
sr_phrase_transposed(const SrPhrase* const phrase)
{
  return phrase->transposed;
}

size_t
sr_phrase_remark_count(const SrPhrase* const phrase)
{
  return phrase->remark_count;
}

const char*
sr_phrase_remark(const SrPhrase* const phrase, const size_t index)
{
  return phrase->remarks[index];
}

size_t
sr_phrase_note_count(const SrPhrase* const phrase)
{
  return phrase->note_count;
}

const SrPhraseNote*
sr_phrase_note(const SrPhrase* const phrase, const size_t index)
{
  return &phrase->notes[index];
}

void
sr_phrase_ask_air(SrPhrase* const phrase, const size_t index)
{
  if (index < phrase->note_count) {
    phrase->notes[index].air = true;
  }
}

size_t
sr_phrase_bar_count(const SrPhrase* const phrase)
{
  return phrase->bar_count;
}

const SrPhraseBar*
sr_phrase_bar(const SrPhrase* const phrase, const size_t index)
{
  return &phrase->bars[index];
}

SrFraction
sr_phrase_length(const SrPhrase* const phrase)
{
  return phrase->length;
}

double
sr_phrase_tempo(const SrPhrase* const phrase)
{
  return phrase->tempo;
}

static SrStatus
read_file(const char* const path, char** const text, size_t* const size, SrError* const error)
{
  static const SrInputKind kind = {"tune file", SR_PHRASE_MOST_BYTES, false};
  return sr_input_read(path, &kind, text, size, error);
}

/// Parse the number of an X: line; false if the line is not one.
static bool
is_tune_start(const SrLine* const line, int* const number)
{
  if (line->size < 2 || line->text[0] != 'X' || line->text[1] != ':') {
    return false;
  }
  size_t at = 2;
  while (at < line->size && (line->text[at] == ' ' || line->text[at] == '\t')) {
    ++at;
  }
  // An empty X: is allowed and counts as 0 (ABC 2.1, section 3.1.1)
  *number = 0;
  for (; at < line->size && line->text[at] >= '0' && line->text[at] <= '9'; ++at) {
    *number =
        *number < MOST_TUNE_NUMBER / 10 ? 10 * *number + (line->text[at] - '0') : MOST_TUNE_NUMBER;
  }
  return true;
}

/// Handle a comment, which may be a directive, %%….
static SrStatus
use_comment(SrTuneReader* const reader, const SrLine* const line)
{
  if (line->comment_size < 2 || line->comment[1] != '%') {
    return SR_OK;
  }
  return sr_directive_use(reader, line, line->comment + 2, line->comment_size - 2);
}

/// Read the fields before the first tune, which apply to all tunes.
static SrStatus
read_file_header(SrTuneReader* const reader, const char* const text, const size_t size)
{
  SrTune unused = {0};
  SrTune* const tune = reader->tune;
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  SrLine line;
  SrStatus status = SR_OK;
  reader->tune = &unused;
  while (status == SR_OK && sr_line_next(text, size, &at, &number, &line) &&
         !is_tune_start(&line, &index) && !sr_line_is_empty(&line)) {
    const char name = line.size ? line.text[0] : '\0';
    if (sr_line_is_comment(&line)) {
      status = use_comment(reader, &line);
    } else if (sr_line_is_field(&line, false) && strchr("MLQRmUI", name)) {
      status = sr_field_use(reader, &line, 0, name, line.text + 2, line.size - 2, false);
    }
  }
  reader->tune = tune;
  tune->tempo = unused.tempo;
  tune->tempo_unit = unused.tempo_unit;
  memcpy(tune->rhythm, unused.rhythm, sizeof(tune->rhythm));
  return status;
}

/// Handle a field on a line of the body.
static SrStatus
body_field(SrTuneReader* const reader, SrMusic* const music, const SrLine* const line)
{
  const char name = line->text[0];
  if (reader->skips && name != 'V') {
    return SR_OK;
  }
  if (name == 'P') {
    for (size_t i = 2; i < line->size; ++i) {
      if (line->text[i] >= 'A' && line->text[i] <= 'Z') {
        sr_music_part(music, line->text[i]);
        break;
      }
    }
    return SR_OK;
  }
  return sr_field_use(reader, line, 0, name, line->text + 2, line->size - 2, true);
}

/// Read the lines of one tune after its X: line.
static SrStatus
read_tune(SrTuneReader* const reader, const char* const text, const size_t size, size_t at,
          unsigned number, const SrLine* const start)
{
  SrMusic* const music = sr_music_new(reader);
  if (!music) {
    return sr_error_set(reader->error, SR_NO_MEMORY, "There is not enough memory.");
  }
  SrLine line = *start;
  SrLine last = *start;
  bool in_body = false;
  int index = 0;
  SrStatus status = SR_OK;
  while (status == SR_OK && sr_line_next(text, size, &at, &number, &line)) {
    if (sr_line_is_comment(&line)) {
      status = use_comment(reader, &line);
      continue;
    }
    if (sr_line_is_empty(&line) || is_tune_start(&line, &index)) {
      break;
    }
    last = line;
    if (in_body) {
      status = sr_line_is_field(&line, true) ? body_field(reader, music, &line)
                                             : sr_music_line(music, &line);
    } else if (sr_line_is_field(&line, false)) {
      const char name = line.text[0];
      status = sr_field_use(reader, &line, 0, name, line.text + 2, line.size - 2, false);
      if (name == 'K') {
        in_body = true;
        SrMeter* const meter = &reader->fields.meter;
        if (!reader->fields.meter_given && sr_meter_of_rhythm(reader->tune->rhythm, meter)) {
          reader->tune->meter_assumed = true;
          reader->tune->assumed = *meter;
        }
        // From here on M: no longer changes the unit (ABC 2.1, section 3.1.7)
        SrFields* const fields = &reader->fields;
        fields->unit = fields->unit_given ? fields->unit : sr_meter_unit(&fields->meter);
        fields->unit_given = true;
      }
    } else {
      status = sr_tune_fail(reader, SR_BAD_SYNTAX, &line, 0,
                            "There is music before the tune's K: field");
    }
  }
  if (status == SR_OK && !in_body) {
    status = sr_tune_fail(reader, SR_BAD_SYNTAX, &last, last.size,
                          "This tune has no K: field, which must end its header");
  }
  if (status == SR_OK) {
    status = sr_music_finish(music, &last);
  }
  sr_music_del(music);
  return status;
}

/// Line of the X: of the tune with a title, or else of one whose title contains it; 0 if there is
/// none. `count` receives the number of matches.
static unsigned
find_title(const char* const text, const size_t size, const char* const wanted, size_t* const count)
{
  size_t at = 0;
  unsigned number = 0;
  unsigned start = 0;
  unsigned found = 0;
  bool found_whole = false;
  int index = 0;
  SrLine line;
  *count = 0;
  while (sr_line_next(text, size, &at, &number, &line)) {
    char title[SR_TUNE_TEXT_SIZE];
    if (is_tune_start(&line, &index)) {
      start = number;
    } else if (start && line.size > 2 && line.text[0] == 'T' && line.text[1] == ':') {
      sr_line_copy(line.text + 2, line.size - 2, title, sizeof(title));
      const bool whole = !strcasecmp(title, wanted);
      if (whole && !found_whole) {
        // A whole match is preferred to all partial ones
        found_whole = true;
        found = 0;
        *count = 0;
      }
      if (start != found && (found_whole ? whole : strcasestr(title, wanted) != NULL)) {
        found = *count ? found : start;
        ++*count;
      }
    }
  }
  return found;
}

/// Report that there is no such tune, or more than one.
static SrStatus
no_such_tune(const SrTuneReader* const reader, const SrPhraseChoice* const choice, const bool any,
             const size_t count)
{
  const SrStatus status = any ? SR_NOT_FOUND : SR_BAD_SYNTAX;
  if (!any) {
    sr_error_set(reader->error, status,
                 "There is no tune here: no line starts with X: (is this an ABC file?).");
  } else if (count > 1) {
    sr_error_set(reader->error, status,
                 "%zu tunes have \"%s\" in their title; type more of it, or the number of one.",
                 count, choice->title);
  } else if (choice->title) {
    sr_error_set(reader->error, status, "No tune in this file has \"%s\" in its title.",
                 choice->title);
  } else {
    sr_error_set(reader->error, status, "There is no tune with X:%d in this file.", choice->tune);
  }
  sr_error_place(reader->error, reader->name, 0, 0);
  return status;
}

/// Find a tune by title or number, or the first one, and read it.
static SrStatus
find_tune(SrTuneReader* const reader, const char* const text, const size_t size,
          const SrPhraseChoice* const choice)
{
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  bool any = false;
  size_t titled = 0;
  const char* const title = choice ? choice->title : NULL;
  const unsigned start = title ? find_title(text, size, title, &titled) : 0;
  const int wanted = choice ? choice->tune : 0;
  SrLine line;
  while (sr_line_next(text, size, &at, &number, &line)) {
    if (is_tune_start(&line, &index)) {
      any = true;
      if (title ? titled == 1 && number == start : wanted == 0 || index == wanted) {
        reader->tune->number = index;
        return read_tune(reader, text, size, at, number, &line);
      }
    }
  }
  return no_such_tune(reader, choice, any, titled);
}

static bool
joins(const SrPhraseNote* const before, const bool tied, const SrPhraseNote* const note)
{
  const SrFraction end = sr_fraction_add(before->start, before->length);
  // A note with a grace is re-attacked, tied or not
  return note->ornament == SR_ORNAMENT_NONE && tied && before->midi == note->midi &&
         sr_fraction_compare(end, note->start) == 0;
}

/// Expand the played bars into one sequence of notes.
static SrStatus
write_out(SrPhrase* const phrase, const SrTune* const tune, const SrPlayedBar* const played,
          const size_t count, const char* const name, SrError* const error)
{
  size_t most = 0;
  for (size_t i = 0; i < count; ++i) {
    most += tune->bars[played[i].bar].count;
  }
  if (most > SR_PHRASE_MOST_NOTES) {
    sr_error_set(
        error, SR_TOO_LARGE,
        "With its repeats written out, this has more than %u notes; choose some bars or a part.",
        SR_PHRASE_MOST_NOTES);
    sr_error_place(error, name, 0, 0);
    return SR_TOO_LARGE;
  }
  phrase->notes = (SrPhraseNote*)calloc(most ? most : 1, sizeof(SrPhraseNote));
  phrase->bars = (SrPhraseBar*)calloc(count ? count : 1, sizeof(SrPhraseBar));
  if (!phrase->notes || !phrase->bars) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  SrFraction time = sr_fraction(0, 1);
  bool tied = false;
  for (size_t i = 0; i < count; ++i) {
    const SrWrittenBar* const bar = &tune->bars[played[i].bar];
    phrase->bars[phrase->bar_count++] = (SrPhraseBar){bar->number,     time,
                                                      bar->length,     bar->meter.beats,
                                                      bar->meter.unit, sr_meter_pulse(&bar->meter)};
    for (size_t j = bar->first; j < bar->first + bar->count; ++j) {
      SrPhraseNote note = tune->notes[j].note;
      note.bar = bar->number;
      note.in_bar = sr_fraction_add(bar->offset, note.start);
      note.start = sr_fraction_add(time, note.start);
      SrPhraseNote* const before =
          phrase->note_count ? &phrase->notes[phrase->note_count - 1] : NULL;
      if (before && joins(before, tied, &note)) {
        before->length = sr_fraction_add(before->length, note.length);
        before->air = before->air || note.air;
      } else {
        phrase->notes[phrase->note_count++] = note;
      }
      tied = tune->notes[j].tied;
    }
    time = sr_fraction_add(time, bar->length);
  }
  phrase->length = time;
  if (phrase->note_count == 0 || !sr_fraction_valid(time)) {
    sr_error_set(error, phrase->note_count ? SR_TOO_LARGE : SR_NOT_FOUND,
                 phrase->note_count ? "The lengths do not add up to a usable fraction."
                                    : "There are no notes in what you chose.");
    sr_error_place(error, name, 0, 0);
    return phrase->note_count ? SR_TOO_LARGE : SR_NOT_FOUND;
  }
  return SR_OK;
}

/// Spell a transposed note for a key with `sharps`.
static void
name_transposed(SrPhraseNote* const note, const int sharps)
{
  static const char* const with_sharps[] = {"C",  "C♯", "D",  "D♯", "E",  "F",
                                            "F♯", "G",  "G♯", "A",  "A♯", "B"};
  static const char* const with_flats[] = {"C",  "D♭", "D",  "E♭", "E",  "F",
                                           "G♭", "G",  "A♭", "A",  "B♭", "B"};
  const char* const* const names = sharps < 0 ? with_flats : with_sharps;
  snprintf(note->name, sizeof(note->name), "%s", names[note->midi % 12]);
}

/// Transpose all pitches; SR_UNSUPPORTED with a message if one would leave MIDI's range.
static SrStatus
transpose(SrPhrase* const phrase, const int semitones, SrError* const error)
{
  // A semitone is seven fifths; of enharmonic keys use the one with the fewest accidentals
  const int sharps = ((phrase->sharps + 7 * semitones + 5) % 12 + 12) % 12 - 5;
  for (size_t i = 0; semitones != 0 && i < phrase->note_count; ++i) {
    SrPhraseNote* const note = &phrase->notes[i];
    int lowest = note->midi;
    int highest = note->midi;
    int* pitches[2 + SR_ORNAMENT_SIZE + SR_CHORD_SIZE] = {&note->midi};
    size_t count = 1;
    if (note->cut_midi >= 0) {
      pitches[count++] = &note->cut_midi;
    }
    for (int j = 0; j < note->ornament_count; ++j) {
      pitches[count++] = &note->ornament_midi[j];
    }
    for (int j = 0; j < note->chord_count; ++j) {
      pitches[count++] = &note->chord_midi[j];
    }
    for (size_t j = 0; j < count; ++j) {
      *pitches[j] += semitones;
      lowest = *pitches[j] < lowest ? *pitches[j] : lowest;
      highest = *pitches[j] > highest ? *pitches[j] : highest;
    }
    if (lowest < 0 || highest > 127) {
      return sr_error_set(error, SR_UNSUPPORTED,
                          "Transposed by %d semitones, a note in bar %d is out of range.",
                          semitones, note->bar);
    }
    name_transposed(note, sharps);
  }
  if (semitones != 0) {
    phrase->sharps = sharps;
    phrase->transposed += semitones;
  }
  return SR_OK;
}

SrStatus
sr_phrase_transpose(const SrPhrase* const phrase, const int semitones, SrPhrase** const other,
                    SrError* const error)
{
  *other = NULL;
  SrPhrase* const copy = (SrPhrase*)malloc(sizeof(SrPhrase));
  if (copy) {
    *copy = *phrase;
    copy->notes = (SrPhraseNote*)malloc(phrase->note_count * sizeof(SrPhraseNote));
    copy->bars = (SrPhraseBar*)malloc(phrase->bar_count * sizeof(SrPhraseBar));
  }
  if (!copy || !copy->notes || !copy->bars) {
    sr_phrase_del(copy);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  memcpy(copy->notes, phrase->notes, phrase->note_count * sizeof(SrPhraseNote));
  memcpy(copy->bars, phrase->bars, phrase->bar_count * sizeof(SrPhraseBar));
  const SrStatus status = transpose(copy, semitones, error);
  if (status != SR_OK) {
    sr_phrase_del(copy);
    return status;
  }
  *other = copy;
  return SR_OK;
}

/// Write the remarks on what was assumed and what was ignored.
static void
make_remarks(SrPhrase* const phrase, const SrTune* const tune)
{
  if (tune->meter_assumed) {
    snprintf(phrase->remarks[phrase->remark_count++], sizeof(phrase->remarks[0]),
             "There is no M: field; this %.60s is taken to be in %d/%d.", tune->rhythm,
             tune->assumed.beats, tune->assumed.unit);
  }
  if (tune->has_voices) {
    snprintf(phrase->remarks[phrase->remark_count++], sizeof(phrase->remarks[0]),
             "Only the first voice is practised; the others named by V: fields are ignored.");
  }
}

SrStatus
sr_phrase_read_text(const char* const text, const size_t size, const char* const name,
                    const SrPhraseChoice* const choice, SrPhrase** const phrase,
                    SrError* const error)
{
  *phrase = NULL;
  if (size > SR_PHRASE_MOST_BYTES) {
    sr_error_set(error, SR_TOO_LARGE, "A tune file may be at most %u bytes.", SR_PHRASE_MOST_BYTES);
    sr_error_place(error, name, 0, 0);
    return SR_TOO_LARGE;
  }
  SrTune tune = {0};
  SrTuneReader reader = {.name = name, .error = error, .tune = &tune};
  reader.fields.meter = (SrMeter){4, 4, true};
  // ABC 2.1, section 4.16: ~ is an Irish roll, unless U: redefines it
  reader.fields.symbols['~'] = SR_MARK_ROLL;
  SrPlayedBar* played = NULL;
  size_t count = 0;
  SrPhrase* result = NULL;
  SrStatus status = read_file_header(&reader, text, size);
  if (status == SR_OK) {
    status = find_tune(&reader, text, size, choice);
  }
  if (status == SR_OK) {
    status = sr_tune_unfold(&tune, choice, name, &played, &count, error);
  }
  if (status == SR_OK) {
    result = (SrPhrase*)calloc(1, sizeof(SrPhrase));
    status = result ? write_out(result, &tune, played, count, name, error)
                    : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  if (status == SR_OK && result) {
    memcpy(result->title, tune.title, sizeof(tune.title));
    memcpy(result->key, tune.key_name, sizeof(tune.key_name));
    result->tune = tune.number;
    result->sharps = tune.sharps;
    make_remarks(result, &tune);
    if (tune.tempo > 0.0) {
      const double pulse = sr_fraction_value(result->bars[0].pulse);
      result->tempo = tune.tempo * sr_fraction_value(tune.tempo_unit) / pulse;
    }
    status = transpose(result, choice ? choice->transpose : 0, error);
    if (status != SR_OK) {
      sr_error_place(error, name, 0, 0);
    }
  }
  if (status == SR_OK) {
    *phrase = result;
  } else {
    sr_phrase_del(result);
  }
  free(played);
  free(tune.notes);
  free(tune.bars);
  return status;
}

SrStatus
sr_phrase_read_file(const char* const path, const SrPhraseChoice* const choice,
                    SrPhrase** const phrase, SrError* const error)
{
  char* text = NULL;
  size_t size = 0;
  *phrase = NULL;
  SrStatus status = read_file(path, &text, &size, error);
  if (status == SR_OK) {
    status = sr_phrase_read_text(text, size, path, choice, phrase, error);
    free(text);
  }
  return status;
}

void
sr_tune_list_del(SrTuneList* const list)
{
  if (list) {
    for (size_t i = 0; i < list->count; ++i) {
      free(list->titles[i]);
    }
    free(list->titles);
    free(list->entries);
    free(list);
  }
}

size_t
sr_tune_list_count(const SrTuneList* const list)
{
  return list->count;
}

const SrTuneEntry*
sr_tune_list_entry(const SrTuneList* const list, const size_t index)
{
  return &list->entries[index];
}

static bool
add_entry(SrTuneList* const list, const int number, const unsigned line)
{
  if (list->count == list->size) {
    const size_t size = list->size ? 2 * list->size : 64;
    SrTuneEntry* const more = (SrTuneEntry*)realloc(list->entries, size * sizeof(SrTuneEntry));
    if (!more) {
      return false;
    }
    list->entries = more;
    char** const titles = (char**)realloc(list->titles, size * sizeof(char*));
    if (!titles) {
      return false;
    }
    list->titles = titles;
    list->size = size;
  }
  char* const title = (char*)calloc(2, SR_TUNE_TEXT_SIZE);
  if (!title) {
    return false;
  }
  list->titles[list->count] = title;
  list->entries[list->count++] = (SrTuneEntry){number, title, title + SR_TUNE_TEXT_SIZE, line};
  return true;
}

SrStatus
sr_tune_list_read(const char* const path, SrTuneList** const list, SrError* const error)
{
  char* text = NULL;
  size_t size = 0;
  *list = NULL;
  const SrStatus status = read_file(path, &text, &size, error);
  if (status != SR_OK) {
    return status;
  }
  SrTuneList* const result = (SrTuneList*)calloc(1, sizeof(SrTuneList));
  bool enough = result != NULL;
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  SrLine line;
  while (enough && sr_line_next(text, size, &at, &number, &line)) {
    if (is_tune_start(&line, &index)) {
      enough = add_entry(result, index, number);
    } else if (result->count && line.size > 2 && line.text[1] == ':') {
      char* const title = result->titles[result->count - 1];
      char* const into = line.text[0] == 'T'   ? title
                         : line.text[0] == 'R' ? title + SR_TUNE_TEXT_SIZE
                                               : NULL;
      if (into && !into[0]) {
        sr_line_copy(line.text + 2, line.size - 2, into, SR_TUNE_TEXT_SIZE);
      }
    }
  }
  free(text);
  if (!enough) {
    sr_tune_list_del(result);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  *list = result;
  return SR_OK;
}
