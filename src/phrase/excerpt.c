// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/excerpt.h>

#include <math.h>
#include <stdbool.h>
#include <string.h>

/// Resolution of lengths: parts of a whole note, which divides all common note lengths.
#define PARTS 13440

typedef struct {
  FILE* stream;
  long bar;   ///< Length of a bar, parts
  long at;    ///< Position in the bar, parts
  bool flats; ///< The phrase is written with flats
  char
      reported[128]; ///< Accidental written in this bar for each staff position: 0, '^', '_' or '='
  int bars;
  bool line_due; ///< A bar line is due before the next note or rest
} Writer;

static long
parts_of(const SrFraction fraction)
{
  return lround(sr_fraction_value(fraction) * PARTS);
}

/// Write a length as a multiple of a quaver.
static void
write_length(FILE* const stream, const long parts)
{
  long upper = parts;
  long lower = PARTS / 8;
  for (long a = upper, b = lower; b;) {
    const long rest = a % b;
    a = b;
    b = rest;
    if (!b) {
      upper /= a;
      lower /= a;
    }
  }
  if (upper != 1) {
    fprintf(stream, "%ld", upper);
  }
  if (lower != 1) {
    fprintf(stream, "/%ld", lower);
  }
}

/// Write a pitch with its accidental, unless it is already in force in the bar.
static void
write_pitch(Writer* const w, const int midi)
{
  static const char sharp_letters[] = "CCDDEFFGGAAB";
  static const char flat_letters[] = "CDDEEFGGAABB";
  static const bool black[] = {false, true,  false, true,  false, false,
                               true,  false, true,  false, true,  false};
  const int step = midi % 12;
  const char letter = (w->flats ? flat_letters : sharp_letters)[step];
  const char wanted = !black[step] ? '=' : w->flats ? '_' : '^';
  const int octave = midi / 12 - 1;
  const size_t place = (size_t)(letter - 'A') + 8 * (size_t)(octave + 1);
  char* const reported = &w->reported[place % sizeof(w->reported)];
  const bool plain = wanted == '=' && *reported == 0;
  if (!plain && *reported != wanted) {
    fputc(wanted, w->stream);
    *reported = wanted;
  }
  // C4 is C, C5 is c
  fputc(octave >= 5 ? letter + ('a' - 'A') : letter, w->stream);
  for (int o = octave; o > 5; --o) {
    fputc('\'', w->stream);
  }
  for (int o = octave; o < 4; ++o) {
    fputc(',', w->stream);
  }
}

/// End a bar; its bar line is written when more follows.
static void
end_bar(Writer* const w)
{
  memset(w->reported, 0, sizeof(w->reported));
  w->at = 0;
  ++w->bars;
  w->line_due = true;
}

static void
write_bar_line(Writer* const w)
{
  if (w->line_due) {
    fputs(w->bars % 4 ? "|" : "|\n", w->stream);
    w->line_due = false;
  }
}

/// Write a note, or a rest if `midi` is negative, with ties across bar lines.
static void
write_sound(Writer* const w, const int midi, long parts)
{
  while (parts > 0) {
    write_bar_line(w);
    const long room = w->bar - w->at;
    const long now = parts < room ? parts : room;
    if (midi >= 0) {
      write_pitch(w, midi);
    } else {
      fputc('z', w->stream);
    }
    write_length(w->stream, now);
    parts -= now;
    w->at += now;
    if (midi >= 0 && parts > 0) {
      fputc('-', w->stream);
    }
    if (w->at == w->bar) {
      end_bar(w);
    } else {
      fputc(' ', w->stream);
    }
  }
}

static void
write_note(Writer* const w, const SrPhraseNote* const note, const char* const annotation)
{
  write_bar_line(w);
  const bool roll = note->ornament == SR_ORNAMENT_ROLL;
  const bool single = sr_ornament_is_judged(note->ornament);
  const int* const graces = single ? &note->cut_midi : note->ornament_midi;
  const int count = single ? 1 : roll ? 0 : note->ornament_count;
  fputs(count ? "{" : "", w->stream);
  for (int i = 0; i < count; ++i) {
    write_pitch(w, graces[i]);
  }
  fputs(count ? "}" : "", w->stream);
  fputs(annotation ? annotation : "", w->stream);
  fputs(note->air ? "\"^air\"" : "", w->stream);
  fputs(roll ? "~" : "", w->stream);
  write_sound(w, note->midi, parts_of(note->length));
}

SrStatus
sr_excerpt_write(FILE* const stream, const SrPhrase* const phrase, const SrExcerpt* const excerpt,
                 SrError* const error)
{
  const size_t count = sr_phrase_note_count(phrase);
  if (excerpt->first > excerpt->last || excerpt->last >= count || excerpt->times < 1 ||
      excerpt->times > 64) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "An excerpt lies inside its phrase.");
  }
  const SrPhraseNote* const first = sr_phrase_note(phrase, excerpt->first);
  const SrPhraseBar* bar = sr_phrase_bar(phrase, 0);
  for (size_t b = 0; b < sr_phrase_bar_count(phrase); ++b) {
    const SrPhraseBar* const next = sr_phrase_bar(phrase, b);
    bar = sr_fraction_value(next->start) <= sr_fraction_value(first->start) + 1e-9 ? next : bar;
  }
  Writer w = {.stream = stream};
  w.bar = (long)bar->meter_beats * PARTS / bar->meter_unit;
  for (size_t i = 0; i < count; ++i) {
    w.flats = w.flats || strstr(sr_phrase_note(phrase, i)->name, "♭");
  }
  fprintf(stream,
          "X:%d\nT:%s\nR:drill\nN:%s\nN:Play it, rest as long and listen back, and again.\n"
          "M:%d/%d\nL:1/8\nQ:%ld/%ld=%.0f\nK:C\n",
          excerpt->number, excerpt->title, excerpt->purpose, bar->meter_beats, bar->meter_unit,
          (long)bar->pulse.numerator, (long)bar->pulse.denominator, excerpt->bpm);
  for (int time = 0; time < excerpt->times; ++time) {
    long played = 0;
    for (size_t i = excerpt->first; i <= excerpt->last; ++i) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      const char* const annotation =
          excerpt->annotations ? excerpt->annotations[i - excerpt->first] : NULL;
      write_note(&w, note, annotation);
      played += parts_of(note->length);
      if (i < excerpt->last) {
        const SrPhraseNote* const next = sr_phrase_note(phrase, i + 1);
        const long rest = parts_of(next->start) - parts_of(note->start) - parts_of(note->length);
        write_sound(&w, -1, rest > 0 ? rest : 0);
        played += rest > 0 ? rest : 0;
      }
    }
    // A rest of at least the same length, to the end of a bar
    const long left = w.at ? w.bar - w.at : 0;
    const long more = played > left ? (played - left + w.bar - 1) / w.bar * w.bar : 0;
    write_sound(&w, -1, left + more);
  }
  fputs("|]\n", stream);
  return SR_OK;
}
