// SPDX-License-Identifier: GPL-3.0-or-later

#include "score_words.h"

#include <glib.h>
#include <stdlib.h>
#include <string.h>

/// Guesses are called sure and likely from here up, as in the terminal.
#define SURE 0.95
#define LIKELY 0.75

typedef struct {
  const char* key;
  const char* words;
} Key;

// Those of tunes on boxes in the usual keys, by the row of fifths; common practice, no source
static const Key keys[] = {
    {"C", "C major"},         {"G", "G major"},         {"D", "D major"},
    {"A", "A major"},         {"E", "E major"},         {"F", "F major"},
    {"Bb", "B♭ major"},       {"Eb", "E♭ major"},       {"Am", "A minor"},
    {"Em", "E minor"},        {"Bm", "B minor"},        {"F#m", "F♯ minor"},
    {"Dm", "D minor"},        {"Gm", "G minor"},        {"Cm", "C minor"},
    {"Ador", "A Dorian"},     {"Edor", "E Dorian"},     {"Bdor", "B Dorian"},
    {"Ddor", "D Dorian"},     {"Gdor", "G Dorian"},     {"Amix", "A Mixolydian"},
    {"Dmix", "D Mixolydian"}, {"Gmix", "G Mixolydian"}, {"Emix", "E Mixolydian"},
    {"Cmix", "C Mixolydian"},
};

typedef struct {
  const char* words;
  int beats;
  int unit;
} Meter;

static const Meter meters[] = {{"6/8", 6, 8}, {"9/8", 9, 8}, {"12/8", 12, 8}, {"2/4", 2, 4},
                               {"3/4", 3, 4}, {"4/4", 4, 4}, {"2/2", 2, 2}};

size_t
sr_key_choices(void)
{
  return sizeof(keys) / sizeof(keys[0]);
}

const char*
sr_key_choice(const size_t index)
{
  return keys[index].key;
}

const char*
sr_key_words(const char* const key)
{
  for (size_t i = 0; i < sr_key_choices(); ++i) {
    if (!strcmp(keys[i].key, key)) {
      return keys[i].words;
    }
  }
  return key;
}

size_t
sr_meter_choices(void)
{
  return sizeof(meters) / sizeof(meters[0]);
}

const char*
sr_meter_choice(const size_t index, int* const beats, int* const unit)
{
  *beats = meters[index].beats;
  *unit = meters[index].unit;
  return meters[index].words;
}

const char*
sr_sure_words(const double sure)
{
  return sure > SURE ? "sure" : sure > LIKELY ? "likely" : "unsure";
}

char*
sr_score_words(const SrScore* const score)
{
  size_t graced = 0;
  for (size_t i = 0; i < score->count; ++i) {
    graced += score->notes[i].played.grace_count > 0;
  }
  const char* const ending = score->count == 1 ? "" : "s";
  return graced == 0
             ? g_strdup_printf("%zu note%s, within %.0f ms of the beat", score->count, ending,
                               1e3 * score->off_s)
             : g_strdup_printf("%zu note%s, %zu with a cut or a strike, within %.0f ms of the beat",
                               score->count, ending, graced, 1e3 * score->off_s);
}
