// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file other_key.c
   A shift of a semitone is not found: calibration takes it for another reference pitch.
*/

#include "other_key.h"

#include <steadyreed/audio.h>
#include <steadyreed/free.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/// Samples read at once.
#define CHUNK_SAMPLES 65536u

/// Share of the total time for each MIDI note; the sum is 1.
typedef struct {
  double share[128];
} Pitches;

static void
normalize(Pitches* const pitches)
{
  double sum = 0.0;
  for (size_t i = 0; i < 128; ++i) {
    sum += pitches->share[i];
  }
  for (size_t i = 0; i < 128 && sum > 0.0; ++i) {
    pitches->share[i] /= sum;
  }
}

static void
pull(SrFree* const listener, Pitches* const pitches)
{
  SrFreeNote note;
  while (sr_free_pull(listener, &note)) {
    pitches->share[note.midi & 127] += note.end_s - note.onset_s;
  }
}

/// Pitches heard in a take; all 0 if it cannot be read.
static Pitches
heard_pitches(const char* const path)
{
  Pitches pitches = {{0.0}};
  SrTakeReader* reader = NULL;
  SrFree* listener = NULL;
  float* const chunk = (float*)malloc(CHUNK_SAMPLES * sizeof(float));
  if (chunk && sr_take_reader_new(path, &reader, NULL) == SR_OK &&
      sr_free_new(sr_take_reader_rate_hz(reader), NULL, &listener, NULL) == SR_OK) {
    size_t count;
    while ((count = sr_take_reader_read(reader, chunk, CHUNK_SAMPLES)) > 0 &&
           sr_free_push(listener, chunk, count, NULL) == SR_OK) {
      pull(listener, &pitches);
    }
    sr_free_finish(listener, NULL);
    pull(listener, &pitches);
  }
  sr_free_del(listener);
  sr_take_reader_del(reader);
  free(chunk);
  normalize(&pitches);
  return pitches;
}

int
sr_other_key(const SrPhrase* const phrase, const char* const path)
{
  const Pitches heard = heard_pitches(path);
  Pitches written = {{0.0}};
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    written.share[note->midi] += sr_fraction_value(note->length);
  }
  normalize(&written);
  double most = 0.0;
  int best = 0;
  // Smallest shift first, so that it wins a tie
  for (int n = 0; n <= 2 * SR_MOST_TRANSPOSED; ++n) {
    const int shift = n % 2 ? (n + 1) / 2 : -n / 2;
    double common = 0.0;
    for (int i = 0; i < 128; ++i) {
      const int to = i + shift;
      common += to >= 0 && to < 128 ? fmin(written.share[i], heard.share[to]) : 0.0;
    }
    if (common > most + 1e-9) {
      most = common;
      best = shift;
    }
  }
  return best;
}

const char*
sr_interval_name(const int semitones, char name[48])
{
  static const char* const names[] = {"",
                                      "a semitone",
                                      "a tone",
                                      "a minor third",
                                      "a major third",
                                      "a fourth",
                                      "a tritone",
                                      "a fifth",
                                      "a minor sixth",
                                      "a major sixth",
                                      "a minor seventh",
                                      "a major seventh",
                                      "an octave"};
  const int size = abs(semitones);
  const char* const way = semitones > 0 ? "higher" : "lower";
  if (size <= 12) {
    snprintf(name, 48, "%s %s", names[size], way);
  } else {
    snprintf(name, 48, "%d semitones %s", size, way);
  }
  return name;
}
