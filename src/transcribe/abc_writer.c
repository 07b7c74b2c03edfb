// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file abc_writer.c
   A score as ABC 2.1. Programs differ on whether an accidental holds in other octaves of its bar,
   so a letter that had one gets one each time until the bar ends.
*/

#include "phrase/key.h"

#include <steadyreed/transcribe.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Bars in a line.
#define BARS_A_LINE 4

typedef struct {
  FILE* stream;
  const SrScore* score;
  SrKey key;
  bool altered[7]; ///< Letters that had an accidental in this bar
  long bar;        ///< A bar's length, places
  long pulse;      ///< A pulse's
  long at;         ///< What has been written up to
  long bars;       ///< Bars in this line
  bool spaced;     ///< Nothing need part the next note from the last
} Writer;

static const int semitones[7] = {0, 2, 4, 5, 7, 9, 11};

/// The letter, 0 for C, that a pitch is written with, and its accidental.
static int
spell(const SrKey* const key, const int midi, int* const accidental)
{
  int flats = 0;
  for (int letter = 0; letter < 7; ++letter) {
    if ((semitones[letter] + key->accidental[letter] + 12) % 12 == midi % 12) {
      *accidental = key->accidental[letter];
      return letter;
    }
    flats += key->accidental[letter] < 0;
  }
  for (int letter = 0; letter < 7; ++letter) {
    if (semitones[letter] == midi % 12) {
      *accidental = 0;
      return letter;
    }
  }
  const int sign = flats > 0 ? -1 : 1;
  for (int letter = 0; letter < 7; ++letter) {
    if ((semitones[letter] + sign + 12) % 12 == midi % 12) {
      *accidental = sign;
      return letter;
    }
  }
  return 0;
}

static void
write_pitch(Writer* const w, const int midi)
{
  int accidental = 0;
  const int letter = spell(&w->key, midi, &accidental);
  if (accidental != w->key.accidental[letter] || w->altered[letter]) {
    static const char* const signs[] = {"__", "_", "=", "^", "^^"};
    fputs(signs[accidental + 2], w->stream);
    w->altered[letter] = true;
  }
  const int octave = (midi - accidental) / 12;
  fputc((octave >= 6 ? "cdefgab" : "CDEFGAB")[letter], w->stream);
  for (int k = octave; k < 5; ++k) {
    fputc(',', w->stream);
  }
  for (int k = octave; k > 6; --k) {
    fputc('\'', w->stream);
  }
}

/// A length in quavers, as ABC writes it.
static void
write_length(FILE* const stream, const long places)
{
  long above = places;
  long below = SR_SCORE_PLACES;
  for (long k = 6; k > 1; --k) {
    if (above % k == 0 && below % k == 0) {
      above /= k;
      below /= k;
    }
  }
  if (above != 1) {
    fprintf(stream, "%ld", above);
  }
  if (below == 2) {
    fputc('/', stream);
  } else if (below > 1) {
    fprintf(stream, "/%ld", below);
  }
}

static void
end_bar(Writer* const w, const bool last)
{
  memset(w->altered, 0, sizeof(w->altered));
  fputs(last ? "|]\n" : "|", w->stream);
  ++w->bars;
  if (!last && w->bars % BARS_A_LINE == 0) {
    fputc('\n', w->stream);
  }
  w->spaced = true;
}

/// Part groups of notes at each pulse, as beams do.
static void
space(Writer* const w)
{
  if (!w->spaced && w->at % w->pulse == 0) {
    fputc(' ', w->stream);
  }
  w->spaced = false;
}

/// Write a rest up to a place; a bar that ends there gets no bar line yet.
static void
rest_until(Writer* const w, const long until)
{
  while (w->at < until) {
    const long bar_end = (w->at / w->bar + 1) * w->bar;
    const long to = until < bar_end ? until : bar_end;
    space(w);
    fputc('z', w->stream);
    write_length(w->stream, to - w->at);
    w->at = to;
    if (to == bar_end && to < until) {
      end_bar(w, false);
    }
  }
}

static void
write_graces(Writer* const w, const SrPlayedNote* const note)
{
  if (note->grace_count > 0) {
    fputc('{', w->stream);
    for (int k = 0; k < note->grace_count; ++k) {
      write_pitch(w, note->grace_midi[k]);
    }
    fputc('}', w->stream);
  }
}

/// Whether a note is the first of three in the time of two.
static bool
begins_triplet(const SrScore* const score, const size_t index)
{
  const long third = 2L * SR_SCORE_PLACES / 3;
  if (index + 2 >= score->count || score->notes[index].start % SR_SCORE_PLACES) {
    return false;
  }
  for (size_t k = 0; k < 3; ++k) {
    const SrScoreNote* const note = &score->notes[index + k];
    if (note->length != third || note->start != score->notes[index].start + (long)k * third) {
      return false;
    }
  }
  return true;
}

/// Write a note, tied over bar lines.
static void
write_note(Writer* const w, const SrScoreNote* const note, const bool in_triplet)
{
  if (note->played.air) {
    fputs("\"^air\"", w->stream);
  }
  write_graces(w, &note->played);
  const long end = note->start + note->length;
  while (w->at < end) {
    const long bar_end = (w->at / w->bar + 1) * w->bar;
    const long to = end < bar_end ? end : bar_end;
    write_pitch(w, note->played.midi);
    write_length(w->stream, in_triplet ? SR_SCORE_PLACES : to - w->at);
    w->at = to;
    if (to < end) {
      fputc('-', w->stream);
      end_bar(w, false);
      w->spaced = true;
    }
  }
}

/// The notes, with rests, bar lines and breaks between.
static void
write_music(Writer* const w)
{
  const SrScore* const score = w->score;
  size_t triplet = 0;
  w->at = score->count ? score->notes[0].start : 0;
  w->spaced = true;
  if (w->at % w->bar) {
    // A pickup is no bar of the line
    w->bars = -1;
  }
  for (size_t i = 0; i < score->count; ++i) {
    const SrScoreNote* const note = &score->notes[i];
    if (note->breaks) {
      rest_until(w, (w->at + w->bar - 1) / w->bar * w->bar);
      end_bar(w, false);
      fputs(w->bars % BARS_A_LINE ? "\n" : "", w->stream);
      w->bars = 0;
    } else if (i > 0 && w->at % w->bar == 0) {
      end_bar(w, false);
    }
    rest_until(w, note->start);
    if (w->at % w->bar == 0 && note->start > 0 && !w->spaced) {
      end_bar(w, false);
    }
    space(w);
    if (triplet == 0 && begins_triplet(score, i)) {
      fputs("(3", w->stream);
      triplet = 3;
    }
    write_note(w, note, triplet > 0);
    triplet -= triplet > 0;
  }
  rest_until(w, (w->at + w->bar - 1) / w->bar * w->bar);
  end_bar(w, true);
}

/// Say which graces may be notes.
static void
write_doubts(Writer* const w)
{
  for (size_t i = 0; i < w->score->count; ++i) {
    const SrScoreNote* const note = &w->score->notes[i];
    if (note->doubtful) {
      fprintf(w->stream, "%% bar %ld: cut before ", note->start / w->bar + (w->score->upbeat == 0));
      memset(w->altered, 0, sizeof(w->altered));
      write_pitch(w, note->played.midi);
      fputs(" doubtful\n", w->stream);
    }
  }
}

void
sr_score_write(FILE* const stream, const SrScore* const score, const char* const title)
{
  Writer w = {.stream = stream,
              .score = score,
              .bar = (long)SR_SCORE_PLACES * 8 * score->meter_beats / score->meter_unit,
              .pulse = (long)SR_SCORE_PLACES * score->pulse_quavers};
  size_t wrong = 0;
  sr_key_read(score->key, strlen(score->key), &w.key, &wrong);
  fprintf(stream, "%%abc-2.1\nX:1\nT:%s\nM:%d/%d\nL:1/8\nQ:%s=%.0f\nK:%s\n", title,
          score->meter_beats, score->meter_unit,
          score->pulse_quavers == 3   ? "3/8"
          : score->pulse_quavers == 4 ? "1/2"
                                      : "1/4",
          score->tempo_bpm, score->key);
  write_music(&w);
  write_doubts(&w);
}
