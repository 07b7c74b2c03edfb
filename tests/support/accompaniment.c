// SPDX-License-Identifier: GPL-3.0-or-later

#include "accompaniment.h"

#include <math.h>
#include <string.h>

/// The lowest reed there is, and the highest that plays a root.
#define LOWEST 43
#define HIGHEST_ROOT 59
/// … or any note of a chord.
#define HIGHEST_CHORD 66
/// It lies at least so many semitones below the melody.
#define BELOW 3
/// The shortest note, s.
#define SHORTEST_S 0.06

/// A key: its scale's steps from the tonic, and its three main chords as steps of that scale.
typedef struct {
  int tonic; ///< Pitch class
  int steps[7];
  int chords[3];
} Key;

typedef struct {
  const SrPhrase* phrase;
  const AccompanimentPlan* plan;
  const double* starts;
  const int* heard;
  size_t stop;
  Random* random;
  AccompanimentNote* notes;
  size_t count;
  size_t room;
  Key key;
} Hand;

static Key
read_key(const char* const name)
{
  static const int letters[] = {9, 11, 0, 2, 4, 5, 7}; // A to G
  static const struct {
    const char* name;
    int steps[7];
    int chords[3];
  } modes[] = {{"", {0, 2, 4, 5, 7, 9, 11}, {0, 3, 4}},
               {"dor", {0, 2, 3, 5, 7, 9, 10}, {0, 6, 3}},
               {"mix", {0, 2, 4, 5, 7, 9, 10}, {0, 6, 3}},
               {"m", {0, 2, 3, 5, 7, 8, 10}, {0, 6, 2}}};
  Key key = {.tonic = 0};
  const char* at = name;
  if (*at >= 'A' && *at <= 'G') {
    key.tonic = letters[*at++ - 'A'];
  }
  if (*at == '#' || *at == 'b') {
    key.tonic += *at++ == '#' ? 1 : 11;
  }
  size_t mode = 0;
  for (size_t m = 1; m < sizeof(modes) / sizeof(modes[0]) && mode == 0; ++m) {
    mode = strncmp(at, modes[m].name, strlen(modes[m].name)) == 0 ? m : 0;
  }
  memcpy(key.steps, modes[mode].steps, sizeof(key.steps));
  memcpy(key.chords, modes[mode].chords, sizeof(key.chords));
  return key;
}

/// Pitch class of a step of the scale.
static int
step_class(const Key* const key, const int step)
{
  return (key->tonic + key->steps[step % 7]) % 12;
}

/// Root, as a step of the scale, of the chord that has a melody note.
static int
chord_with(const Key* const key, const int midi)
{
  for (int c = 0; c < 3; ++c) {
    for (int third = 0; third <= 4; third += 2) {
      if (midi % 12 == step_class(key, key->chords[c] + third)) {
        return key->chords[c];
      }
    }
  }
  return key->chords[0];
}

/// The scale's fifth below a note; seven semitones for one that is not in the scale.
static int
fifth_below(const Key* const key, const int midi)
{
  for (int step = 0; step < 7; ++step) {
    if (midi % 12 == step_class(key, step)) {
      const int below = step_class(key, step + 3);
      return midi - (midi % 12 - below + 12) % 12;
    }
  }
  return midi - 7;
}

/// The highest note of a pitch class up to a limit.
static int
highest(const int pitch_class, const int most)
{
  return most - ((most - pitch_class) % 12 + 12) % 12;
}

/// The note of the phrase that sounds at a place in whole notes; -1 before the first.
static long
note_at(const Hand* const h, const double place)
{
  long found = -1;
  for (size_t i = 0; i < h->stop; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(h->phrase, i);
    if (sr_fraction_value(note->start) <= place + 1e-9) {
      found = (long)i;
    }
  }
  return found;
}

/// When a place of the phrase is reached.
static double
time_at(const Hand* const h, const double place)
{
  const long i = note_at(h, place);
  if (i < 0) {
    return h->starts[0];
  }
  const SrPhraseNote* const note = sr_phrase_note(h->phrase, (size_t)i);
  const double start = sr_fraction_value(note->start);
  const size_t next = (size_t)i + 1;
  const double end = next < h->stop ? sr_fraction_value(sr_phrase_note(h->phrase, next)->start)
                                    : start + sr_fraction_value(note->length);
  const double part = fmin(1.0, (place - start) / (end - start));
  return h->starts[i] + part * (h->starts[next] - h->starts[i]);
}

/// The lowest that the melody, as written and as played, comes to in a stretch.
static int
lowest_melody(const Hand* const h, const double from_s, const double to_s)
{
  int lowest = 127;
  for (size_t i = 0; i < h->stop; ++i) {
    if (h->starts[i] < to_s && h->starts[i + 1] > from_s) {
      const int written = sr_phrase_note(h->phrase, i)->midi;
      lowest = written < lowest ? written : lowest;
      lowest = h->heard[i] >= 0 && h->heard[i] < lowest ? h->heard[i] : lowest;
    }
  }
  return lowest;
}

static void
put(Hand* const h, const int midi, const double at_s, const double end_s)
{
  const double onset_s =
      at_s + 1e-3 * h->plan->scatter_ms * fmin(2.0, fmax(-2.0, random_normal(h->random)));
  if (midi >= LOWEST && end_s - onset_s >= SHORTEST_S && h->count < h->room) {
    h->notes[h->count++] = (AccompanimentNote){midi, onset_s, end_s};
  }
}

/// Whether nothing was played at a place where something is written.
static bool
is_silent(const Hand* const h, const double place)
{
  const long note = note_at(h, place);
  return note < 0 || h->heard[note] < 0;
}

/// A root, or a chord of three, at a place of the phrase.
static void
put_chord(Hand* const h, const double place, const double until, const int root, const bool whole)
{
  if (is_silent(h, place)) {
    return;
  }
  const double at_s = time_at(h, place);
  const double length = h->plan->length * random_between(h->random, 0.75, 1.25);
  const double end_s = at_s + fmin(0.97, length) * (time_at(h, until) - at_s);
  const int most = lowest_melody(h, at_s - 0.02, end_s + 0.02) - BELOW;
  if (!whole) {
    put(h, highest(step_class(&h->key, root), most < HIGHEST_ROOT ? most : HIGHEST_ROOT), at_s,
        end_s);
    return;
  }
  int limit = most < HIGHEST_CHORD ? most : HIGHEST_CHORD;
  for (int n = 0; n < 3; ++n) {
    // The highest note of the chord below the one before
    int best = 0;
    for (int third = 0; third <= 4; third += 2) {
      const int midi = highest(step_class(&h->key, root + third), limit);
      best = midi > best ? midi : best;
    }
    put(h, best, at_s, end_s);
    limit = best - 1;
  }
}

static void
play_pulses(Hand* const h)
{
  const AccompanimentKind kind = h->plan->kind;
  for (size_t b = 0; b < sr_phrase_bar_count(h->phrase); ++b) {
    const SrPhraseBar* const bar = sr_phrase_bar(h->phrase, b);
    const double pulse = sr_fraction_value(bar->pulse);
    const double start = sr_fraction_value(bar->start);
    const double off = bar->meter_unit == 8 ? 2.0 / 3.0 : 0.5;
    for (double at = start; at < start + sr_fraction_value(bar->length) - 1e-9; at += pulse) {
      const long note = note_at(h, at);
      if (note < 0 || (size_t)note >= h->stop) {
        continue;
      }
      const int root = chord_with(&h->key, sr_phrase_note(h->phrase, (size_t)note)->midi);
      put_chord(h, at, at + pulse, root, kind == ACCOMPANY_VAMP);
      if (kind == ACCOMPANY_OFF_BEAT) {
        put_chord(h, at + off * pulse, at + pulse, root, true);
      }
    }
  }
}

static void
play_along(Hand* const h)
{
  for (size_t i = 0; i < h->stop;) {
    const int midi = sr_phrase_note(h->phrase, i)->midi;
    size_t next = i + 1;
    const bool held = random_unit(h->random) < 0.5;
    while (held && next < h->stop && sr_phrase_note(h->phrase, next)->midi == midi) {
      ++next;
    }
    const int low = h->plan->kind == ACCOMPANY_OCTAVE ? midi - 12 : fifth_below(&h->key, midi);
    const double to_s = h->starts[next] - random_between(h->random, 0.01, 0.04);
    const bool with = random_unit(h->random) < h->plan->p_with_note;
    if (with && h->heard[i] >= 0 && low <= h->heard[i] - BELOW) {
      put(h, low, h->starts[i], to_s);
    }
    i = next;
  }
}

size_t
accompany(const SrPhrase* const phrase, const AccompanimentPlan* const plan,
          const double* const starts, const int* const heard, const size_t stop,
          Random* const random, AccompanimentNote* const notes)
{
  Hand hand = {.phrase = phrase,
               .plan = plan,
               .starts = starts,
               .heard = heard,
               .stop = stop,
               .random = random,
               .notes = notes,
               .room = MOST_ACCOMPANIMENT * sr_phrase_note_count(phrase),
               .key = read_key(sr_phrase_key(phrase))};
  if (plan->kind == ACCOMPANY_OCTAVE || plan->kind == ACCOMPANY_FIFTH) {
    play_along(&hand);
  } else if (plan->kind != ACCOMPANY_NONE) {
    play_pulses(&hand);
  }
  return hand.count;
}
