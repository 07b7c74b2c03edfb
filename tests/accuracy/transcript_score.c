// SPDX-License-Identifier: GPL-3.0-or-later

#include "transcript_score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A note that was played is none that is written further from it, s.
#define WITHIN_S 0.08
/// An extra note of the take is near one that is written, s.
#define EXTRA_S 0.05
/// Cost of a note of another pitch: more than one left out, less than one left out and one
/// inserted.
#define OTHER_PITCH 1.2
/// What was joined goes on at most this long, s.
#define JOINED_S 1.5

#define NO_CUT (-1)
#define ANY_CUT (-2)

/// A note as a listener without the phrase can tell it.
typedef struct {
  const TruthNote* truth;
  int cut_midi; ///< The cut that sounded, NO_CUT, or ANY_CUT where it does not count
  size_t round;
  size_t matched; ///< Index of its note in the score; SIZE_MAX for none
} Due;

/// Whether two notes ran into one another without a cut: nobody can tell that there are two.
static bool
is_bare(const TruthNote* const note)
{
  return note->joined == SR_YES && !isfinite(note->cut_length_ms);
}

static size_t
list_due(const SrPhrase* const phrase, const Take* const take, Due* const due)
{
  size_t count = 0;
  for (size_t r = 0; r < take->round_count; ++r) {
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const note = &take->rounds[r].notes[i];
      if (note->status == SR_NOTE_MISSED || is_bare(note)) {
        continue;
      }
      const int cut = note->status == SR_NOTE_WRONG   ? ANY_CUT
                      : isfinite(note->cut_length_ms) ? sr_phrase_note(phrase, i)->cut_midi
                                                      : NO_CUT;
      due[count++] = (Due){note, cut, r, SIZE_MAX};
    }
  }
  return count;
}

/// Whether a written note is the rest of one that ran into the next, or an extra one of the take.
static bool
is_excused(const Take* const take, const SrScoreNote* const note)
{
  const double at_s = note->played.onset_s;
  for (size_t i = 0; i < take->insertion_count; ++i) {
    if (fabs(take->extra_s[i] - at_s) < EXTRA_S) {
      return true;
    }
  }
  for (size_t r = 0; r < take->round_count; ++r) {
    double begun_s = -INFINITY;
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const truth = &take->rounds[r].notes[i];
      begun_s = isfinite(truth->onset_s) ? truth->onset_s : begun_s;
      if (is_bare(truth) && truth->midi == note->played.midi && at_s > begun_s &&
          at_s < begun_s + JOINED_S) {
        return true;
      }
    }
  }
  return at_s <= take->false_start_end_s;
}

/// Cost of taking a written note for one that was played; INFINITY if it cannot be.
static double
cost_of(const Due* const due, const SrScoreNote* const note)
{
  const double off_s =
      isfinite(due->truth->onset_s) ? fabs(due->truth->onset_s - note->played.onset_s) : 0.01;
  return off_s > WITHIN_S
             ? (double)INFINITY
             : off_s + (due->truth->heard_midi == note->played.midi ? 0.0 : OTHER_PITCH);
}

/// Match notes in order, with the fewest left out and inserted.
static void
match(Due* const due, const size_t count, const SrScore* const score)
{
  const size_t width = score->count + 1;
  double* const costs = (double*)malloc((count + 1) * width * sizeof(double));
  for (size_t i = 0; i <= count; ++i) {
    for (size_t j = 0; j <= score->count; ++j) {
      double best = i == 0 && j == 0 ? 0.0 : (double)INFINITY;
      best = i > 0 ? fmin(best, costs[(i - 1) * width + j] + 1.0) : best;
      best = j > 0 ? fmin(best, costs[i * width + j - 1] + 1.0) : best;
      if (i > 0 && j > 0) {
        best =
            fmin(best, costs[(i - 1) * width + j - 1] + cost_of(&due[i - 1], &score->notes[j - 1]));
      }
      costs[i * width + j] = best;
    }
  }
  for (size_t i = count, j = score->count; i > 0 && j > 0;) {
    const double here = costs[i * width + j];
    const double both = costs[(i - 1) * width + j - 1] + cost_of(&due[i - 1], &score->notes[j - 1]);
    if (!(here < both) && !(here > both)) {
      --i;
      --j;
      due[i].matched = j;
    } else if (here > costs[(i - 1) * width + j] + 0.5) {
      --i;
    } else {
      --j;
    }
  }
  free(costs);
}

/// The last grace of a written note.
static int
cut_of(const SrPlayedNote* const note)
{
  return note->grace_count > 0 ? note->grace_midi[note->grace_count - 1] : NO_CUT;
}

static void
add_note(TranscriptFigures* const f, const SrPhrase* const phrase, const Due* const due,
         const SrScore* const score, const bool verbose)
{
  const SrScoreNote* const note = due->matched < score->count ? &score->notes[due->matched] : NULL;
  const int heard_cut = note ? cut_of(&note->played) : NO_CUT;
  const bool right = note && note->played.midi == due->truth->heard_midi;
  ++f->notes;
  f->notes_right += right;
  const bool cut_due = due->truth->has_cut && due->cut_midi != ANY_CUT;
  const bool cut_right = note && heard_cut == due->cut_midi;
  f->cuts += cut_due;
  f->cuts_right += cut_due && cut_right;
  const bool cut_inserted = !cut_due && due->cut_midi != ANY_CUT && heard_cut != NO_CUT;
  f->cuts_inserted += cut_inserted;
  if (note) {
    const double in_bar = sr_fraction_value(sr_phrase_note(phrase, due->truth->index)->in_bar);
    const long bar = (long)SR_SCORE_PLACES * 8 * score->meter_beats / score->meter_unit;
    ++f->places;
    f->places_right += fabs(8.0 * SR_SCORE_PLACES * in_bar - (double)(note->start % bar)) < 0.5;
  }
  if (verbose && (!right || (cut_due && !cut_right) || cut_inserted)) {
    printf("   %7.3f s: %d with cut %d (%.0f ms), written %d with cut %d\n", due->truth->onset_s,
           due->truth->heard_midi, due->cut_midi, due->truth->cut_length_ms,
           note ? note->played.midi : -1, heard_cut);
  }
}

/// From each note to the next of its round, in quavers; none over a place where the player waited.
static void
add_lengths(TranscriptFigures* const f, const SrPhrase* const phrase, const TakePlan* const plan,
            const Due* const due, const size_t count, const SrScore* const score,
            const bool verbose)
{
  const size_t middle = sr_phrase_note_count(phrase) / 2;
  for (size_t k = 0; k + 1 < count; ++k) {
    const size_t from = due[k].truth->index;
    const size_t to = due[k + 1].truth->index;
    if (due[k].round != due[k + 1].round || (plan->hesitate && from < middle && to >= middle)) {
      continue;
    }
    const double written = 8.0 * SR_SCORE_PLACES *
                           (sr_fraction_value(sr_phrase_note(phrase, to)->start) -
                            sr_fraction_value(sr_phrase_note(phrase, from)->start));
    ++f->lengths;
    if (due[k].matched == SIZE_MAX || due[k + 1].matched == SIZE_MAX) {
      continue;
    }
    const long heard = score->notes[due[k + 1].matched].start - score->notes[due[k].matched].start;
    const bool right = fabs((double)heard - written) < 0.5;
    f->lengths_right += right;
    if (verbose && !right) {
      printf("   %7.3f s: %.2f quavers, written %.2f\n", due[k].truth->onset_s,
             written / SR_SCORE_PLACES, (double)heard / SR_SCORE_PLACES);
    }
  }
}

/// Whether two keys have one signature.
static bool
same_signature(const char* const one, const char* const other)
{
  // The sharps of each, by the note that the major scale with them begins on
  static const struct {
    const char* key;
    int sharps;
  } keys[] = {{"D", 2},  {"G", 1},    {"Edor", 2}, {"Em", 1},   {"Amix", 2},
              {"Bm", 2}, {"A", 3},    {"C", 0},    {"Ador", 1}, {"Dmix", 1},
              {"Am", 0}, {"Gmix", 0}, {"F", -1},   {"Ddor", 0}, {"Emix", 3}};
  int sharps[2] = {99, 98};
  for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]); ++i) {
    sharps[0] = strcmp(keys[i].key, one) ? sharps[0] : keys[i].sharps;
    sharps[1] = strcmp(keys[i].key, other) ? sharps[1] : keys[i].sharps;
  }
  return sharps[0] == sharps[1];
}

/// What is called sure, as the program does.
#define SURE 0.95

/// The tempo and the first bar, and whether they are called sure.
static void
add_certainty(TranscriptFigures* const f, const SrPhrase* const phrase, const TakePlan* const plan,
              const Due* const due, const SrScore* const score, const bool meter_right,
              const bool verbose)
{
  const double quaver_s = 60.0 / (score->tempo_bpm * score->pulse_quavers);
  const SrPhraseBar* const bar = sr_phrase_bar(phrase, 0);
  const double pulse_quavers = bar->meter_unit == 8 ? 3.0 : 8.0 / bar->meter_unit;
  const double ratio = quaver_s * plan->bpm * pulse_quavers / 60.0;
  const bool right = fabs(log(ratio)) < 0.25 || fabs(log(ratio)) > 5.0;
  f->tempos_right += right;
  f->tempos_sure += score->sure_tempo > SURE;
  f->tempos_sure_right += right && score->sure_tempo > SURE;
  bool placed = false;
  if (right && meter_right && due->matched < score->count) {
    const double in_bar = sr_fraction_value(sr_phrase_note(phrase, due->truth->index)->in_bar);
    const SrScoreNote* const note = &score->notes[due->matched];
    const long length = (long)SR_SCORE_PLACES * 8 * score->meter_beats / score->meter_unit;
    placed = fabs(8.0 * SR_SCORE_PLACES * in_bar - (double)(note->start % length)) < 0.5;
    ++f->first_bars;
    f->first_bars_right += placed;
    f->first_bars_sure += score->sure_upbeat > SURE;
    f->first_bars_sure_right += placed && score->sure_upbeat > SURE;
  }
  if (verbose) {
    printf("   tempo x %.2f, sure %.3f; first bar %s, sure %.3f\n", ratio, score->sure_tempo,
           placed ? "right" : "wrong", score->sure_upbeat);
  }
}

void
transcript_figures_add(TranscriptFigures* const f, const SrPhrase* const phrase,
                       const TakePlan* const plan, const Take* const take,
                       const SrScore* const score, const bool verbose)
{
  Due* const due = (Due*)calloc(take->round_count * take->note_count + 1, sizeof(Due));
  bool* const used = (bool*)calloc(score->count + 1, sizeof(bool));
  const size_t count = list_due(phrase, take, due);
  match(due, count, score);
  for (size_t k = 0; k < count; ++k) {
    add_note(f, phrase, &due[k], score, verbose);
    if (due[k].matched < score->count) {
      used[due[k].matched] = true;
    }
  }
  for (size_t j = 0; j < score->count; ++j) {
    if (!used[j] && !is_excused(take, &score->notes[j])) {
      ++f->notes_inserted;
      if (verbose) {
        printf("   %7.3f s: nothing, written %d\n", score->notes[j].played.onset_s,
               score->notes[j].played.midi);
      }
    }
  }
  add_lengths(f, phrase, plan, due, count, score, verbose);
  const SrPhraseBar* const bar = sr_phrase_bar(phrase, 0);
  ++f->meters;
  const bool meter_right =
      bar->meter_beats * score->meter_unit == score->meter_beats * bar->meter_unit &&
      (bar->meter_unit == 8) == (score->meter_unit == 8);
  f->meters_right += meter_right;
  if (count > 0) {
    add_certainty(f, phrase, plan, &due[0], score, meter_right, verbose);
  }
  f->keys_right += same_signature(sr_phrase_key(phrase), score->key);
  free(due);
  free(used);
}
