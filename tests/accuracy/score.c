// SPDX-License-Identifier: GPL-3.0-or-later

#include "score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COLUMNS 20

static const char* const VERDICTS[] = {"clean", "long", "joined", "absent", "stray", "none"};

Figures*
figures_new(void)
{
  Figures* const f = (Figures*)calloc(1, sizeof(Figures));
  f->errors_ms = (double*)calloc(MOST_ERRORS, sizeof(double));
  return f;
}

void
figures_del(Figures* const f)
{
  free(f->errors_ms);
  free(f);
}

/// The assessment's round nearest in time to a true one.
static const SrRound*
find_round(const SrAssessment* const assessment, const TruthRound* const truth)
{
  const SrRound* best = NULL;
  double most = 0.0;
  for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
    const SrRound* const round = &assessment->rounds[r];
    const double overlap = fmin(round->end_s, truth->end_s) - fmax(round->start_s, truth->start_s);
    if (overlap > most) {
      most = overlap;
      best = round;
    }
  }
  return best && most > 0.4 * (truth->end_s - truth->start_s) ? best : NULL;
}

/// Solve a small system by elimination; an implementation apart from the one under test.
static void
eliminate(double matrix[COLUMNS][COLUMNS + 1], const size_t size)
{
  for (size_t c = 0; c < size; ++c) {
    size_t pivot = c;
    for (size_t r = c + 1; r < size; ++r) {
      pivot = fabs(matrix[r][c]) > fabs(matrix[pivot][c]) ? r : pivot;
    }
    if (fabs(matrix[pivot][c]) < 1e-12) {
      continue;
    }
    for (size_t k = 0; k <= size; ++k) {
      const double swap = matrix[c][k];
      matrix[c][k] = matrix[pivot][k];
      matrix[pivot][k] = swap;
    }
    for (size_t r = 0; r < size; ++r) {
      const double factor = r == c ? 0.0 : matrix[r][c] / matrix[c][c];
      for (size_t k = c; k <= size; ++k) {
        matrix[r][k] -= factor * matrix[c][k];
      }
    }
  }
}

/// Spread of the true onsets about the best tempo, drift, lilt and one wait, by plain least
/// squares.
static double
true_spread_ms(const SrPhrase* const phrase, const TakePlan* const plan,
               const TruthRound* const truth)
{
  const size_t notes = sr_phrase_note_count(phrase);
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  double matrix[COLUMNS][COLUMNS + 1] = {{0}};
  size_t rows = 0;
  const size_t size = 16; // start, pulse, bend, wait, twelve places
  double(*const row)[COLUMNS] = (double(*)[COLUMNS])calloc(notes, sizeof(*row));
  double* const value = (double*)calloc(notes, sizeof(double));
  for (size_t i = 0; i < notes; ++i) {
    if (!isfinite(truth->notes[i].onset_s)) {
      continue;
    }
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const double x = sr_fraction_value(note->start) / pulse;
    const double in_pulse = sr_fraction_value(note->in_bar) / pulse;
    const size_t place = (size_t)lround((in_pulse - floor(in_pulse + 1e-9)) * 12.0) % 12;
    row[rows][0] = 1.0;
    row[rows][1] = x;
    row[rows][2] = x * x;
    row[rows][3] = plan->hesitate && i >= notes / 2 ? 1.0 : 0.0;
    if (place > 0) {
      row[rows][4 + place] = 1.0;
    }
    value[rows++] = truth->notes[i].onset_s - truth->start_s;
  }
  size_t reported = 0;
  for (size_t r = 0; r < rows; ++r) {
    for (size_t a = 0; a < size; ++a) {
      for (size_t b = 0; b < size; ++b) {
        matrix[a][b] += row[r][a] * row[r][b];
      }
      matrix[a][size] += row[r][a] * value[r];
    }
  }
  for (size_t a = 0; a < size; ++a) {
    reported += matrix[a][a] > 0.0;
    if (!(matrix[a][a] > 0.0)) {
      matrix[a][a] = 1.0;
    }
  }
  eliminate(matrix, size);
  double squares = 0.0;
  for (size_t r = 0; r < rows; ++r) {
    double fit = 0.0;
    for (size_t a = 0; a < size; ++a) {
      fit += row[r][a] * matrix[a][size] / matrix[a][a];
    }
    squares += (value[r] - fit) * (value[r] - fit);
  }
  free(row);
  free(value);
  return rows > reported ? 1e3 * sqrt(squares / (double)(rows - reported)) : (double)NAN;
}

static void
add_error(Figures* const f, const double error_ms)
{
  if (f->error_count < MOST_ERRORS) {
    f->errors_ms[f->error_count++] = error_ms;
  }
}

static size_t
verdict_column(const SrNoteVerdict* const note)
{
  return note->has_cut ? (size_t)note->cut.verdict : 5;
}

static void
add_note(Figures* const f, const TakePlan* const plan, const TruthNote* const truth,
         const SrNoteVerdict* const heard, const bool verbose)
{
  ++f->notes;
  const bool same_status = heard && heard->status == truth->status;
  f->notes_right += same_status;
  if (same_status && truth->status == SR_NOTE_WRONG) {
    ++f->wrong;
    f->wrong_named += heard->heard_midi == truth->heard_midi;
  }
  if (verbose && !same_status) {
    printf("    note %zu (MIDI %d) at %.3f: status %d heard %d (heard MIDI %d at %.3f)\n",
           truth->index, truth->midi, truth->onset_s, truth->status,
           heard ? (int)heard->status : -1, heard ? heard->heard_midi : -1,
           heard ? heard->onset_s : 0.0);
  }
  if (isfinite(truth->onset_s)) {
    ++f->onsets;
    const double error = heard ? heard->onset_s - truth->onset_s : (double)NAN;
    if (fabs(error) <= TOLERANCE_S) {
      ++f->matched;
      add_error(f, 1e3 * error);
    } else if (verbose) {
      printf("    note %zu (MIDI %d) at %.3f: onset %s by %.1f ms\n", truth->index, truth->midi,
             truth->onset_s, isfinite(error) ? "off" : "not heard", 1e3 * error);
    }
    if (heard && isfinite(heard->onset_s) && !(fabs(error) <= TOLERANCE_S)) {
      ++f->false_onsets;
    }
  } else if (heard && isfinite(heard->onset_s)) {
    ++f->false_onsets;
  }
  if (!truth->has_cut) {
    return;
  }
  ++f->cuts;
  const size_t column = heard ? verdict_column(heard) : 5;
  ++f->confusion[truth->verdict][column];
  f->cuts_right += column == (size_t)truth->verdict;
  const bool swap = (truth->verdict == SR_CUT_JOINED && column == SR_CUT_CLEAN) ||
                    (truth->verdict == SR_CUT_CLEAN && column == SR_CUT_JOINED);
  f->quiet_swaps += swap && plan->floor_db < -50.0;
  if (verbose && column != (size_t)truth->verdict) {
    printf("    note %zu (MIDI %d) at %.3f: cut %s heard %s, true length %.0f, heard %.0f, fall "
           "%.1f\n",
           truth->index, truth->midi, truth->onset_s, VERDICTS[truth->verdict], VERDICTS[column],
           truth->cut_length_ms, heard && heard->has_cut ? heard->cut.length_ms : 0.0,
           heard && heard->has_cut ? heard->cut.fall_db : 0.0);
  }
  if (heard && heard->has_cut && isfinite(heard->cut.length_ms) && isfinite(truth->cut_length_ms) &&
      (truth->verdict == SR_CUT_CLEAN || truth->verdict == SR_CUT_LONG) &&
      column == (size_t)truth->verdict) {
    f->length_error_ms += fabs(heard->cut.length_ms - truth->cut_length_ms);
    ++f->lengths;
  }
}

/// Whether a true extra note begins here.
static bool
is_true_extra(const Take* const take, const double onset_s)
{
  for (size_t i = 0; i < take->insertion_count; ++i) {
    if (fabs(take->extra_s[i] - onset_s) <= TOLERANCE_S) {
      return true;
    }
  }
  return false;
}

static bool
in_pause(const Take* const take, const double at_s)
{
  for (size_t i = 0; i < take->pause_count; ++i) {
    if (at_s > take->pauses[i].start_s && at_s < take->pauses[i].end_s) {
      return true;
    }
  }
  return false;
}

static void
add_ghosts(Figures* const f, const Take* const take, const SrAssessment* const assessment,
           const bool verbose)
{
  for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
    const SrRound* const round = &assessment->rounds[r];
    for (size_t i = 0; i < round->note_count; ++i) {
      if (in_pause(take, round->notes[i].onset_s)) {
        ++f->ghosts;
        if (verbose) {
          printf("    ghost: a note at %.3f\n", round->notes[i].onset_s);
        }
      }
    }
    for (size_t i = 0; i < round->insertion_count; ++i) {
      const double at = round->insertions[i].onset_s;
      if (in_pause(take, at)) {
        ++f->ghosts;
      } else if (!is_true_extra(take, at) && at > take->false_start_end_s) {
        ++f->false_onsets;
      } else {
        continue;
      }
      if (verbose) {
        printf("    extra: MIDI %d at %.3f to %.3f\n", round->insertions[i].midi, at,
               round->insertions[i].end_s);
      }
    }
  }
}

void
figures_add(Figures* const f, const SrPhrase* const phrase, const TakePlan* const plan,
            const Take* const take, const HeardTake* const heard, const bool verbose)
{
  const size_t first_error = f->error_count;
  ++f->takes;
  if (!heard->assessment) {
    ++f->refused;
    if (verbose) {
      printf("    refused: %s\n", heard->error.message);
    }
  }
  for (size_t r = 0; r < take->round_count; ++r) {
    const TruthRound* const truth = &take->rounds[r];
    const SrRound* const round = find_round(heard->assessment, truth);
    ++f->rounds;
    f->rounds_lost += round == NULL;
    if (verbose && !round) {
      printf("    round at %.3f was not found\n", truth->start_s);
    }
    for (size_t i = 0; i < take->note_count; ++i) {
      add_note(f, plan, &truth->notes[i], round ? &round->notes[i] : NULL, verbose);
    }
    if (round && isfinite(round->pulse.spread_ms)) {
      const double spread = true_spread_ms(phrase, plan, truth);
      const double error = fabs(round->pulse.spread_ms - spread);
      if (verbose && error > 1.0) {
        printf("    spread %.2f ms, true %.2f ms\n", round->pulse.spread_ms, spread);
      }
      f->worst_spread_ms = fmax(f->worst_spread_ms, error);
      f->spread_error_sum_ms += error;
      ++f->spreads;
    }
  }
  add_ghosts(f, take, heard->assessment, verbose);
  if (verbose && f->error_count > first_error) {
    double sum = 0.0;
    for (size_t i = first_error; i < f->error_count; ++i) {
      sum += f->errors_ms[i];
    }
    printf("    onset bias %+.2f ms over %zu\n", sum / (double)(f->error_count - first_error),
           f->error_count - first_error);
  }
  if (heard->assessment) {
    const double cents = fabs(1200.0 * log2(heard->assessment->reference_hz / take->reference_hz));
    if (verbose && cents > 3.0) {
      printf("    reference %.2f Hz, true %.2f Hz\n", heard->assessment->reference_hz,
             take->reference_hz);
    }
    f->worst_reference_cents = fmax(f->worst_reference_cents, cents);
  }
}

double
figures_f(const Figures* const f)
{
  const double heard = (double)(f->matched + f->false_onsets);
  const double precision = heard > 0.0 ? (double)f->matched / heard : 0.0;
  const double recall = f->onsets ? (double)f->matched / (double)f->onsets : 0.0;
  return precision + recall > 0.0 ? 2.0 * precision * recall / (precision + recall) : 0.0;
}

double
figures_bias_ms(const Figures* const f)
{
  double sum = 0.0;
  for (size_t i = 0; i < f->error_count; ++i) {
    sum += f->errors_ms[i];
  }
  return f->error_count ? sum / (double)f->error_count : 0.0;
}

double
figures_deviation_ms(const Figures* const f)
{
  const double bias = figures_bias_ms(f);
  double sum = 0.0;
  for (size_t i = 0; i < f->error_count; ++i) {
    sum += fabs(f->errors_ms[i] - bias);
  }
  return f->error_count ? sum / (double)f->error_count : 0.0;
}

double
figures_spread_error_ms(const Figures* const f)
{
  return f->spread_error_sum_ms / (double)(f->spreads ? f->spreads : 1);
}

void
figures_print(const Figures* const f, const char* const title)
{
  printf("%s: %zu takes, %zu rounds (%zu not found), %zu refused\n", title, f->takes, f->rounds,
         f->rounds_lost, f->refused);
  printf("  onsets: %zu, F %.4f (%zu matched, %zu false), bias %+.2f ms, deviation %.2f ms\n",
         f->onsets, figures_f(f), f->matched, f->false_onsets, figures_bias_ms(f),
         figures_deviation_ms(f));
  printf(
      "  cuts: %zu, %.2f %% right; joined/clean swaps under -50 dBFS: %zu; length error %.2f ms\n",
      f->cuts, 100.0 * (double)f->cuts_right / (double)(f->cuts ? f->cuts : 1), f->quiet_swaps,
      f->length_error_ms / (double)(f->lengths ? f->lengths : 1));
  printf("  %-8s", "true");
  for (size_t c = 0; c < 6; ++c) {
    printf("%8s", VERDICTS[c]);
  }
  printf("  heard\n");
  for (size_t v = 0; v < 4; ++v) {
    printf("  %-8s", VERDICTS[v]);
    for (size_t c = 0; c < 6; ++c) {
      printf("%8zu", f->confusion[v][c]);
    }
    printf("\n");
  }
  printf("  notes: %zu, %.2f %% right; heard in pauses: %zu\n", f->notes,
         100.0 * (double)f->notes_right / (double)(f->notes ? f->notes : 1), f->ghosts);
  printf("  wrong notes: %zu, %zu of them with their pitch\n", f->wrong, f->wrong_named);
  printf("  reference: worst %.2f cents; spread: mean error %.2f ms, worst %.2f ms\n",
         f->worst_reference_cents, figures_spread_error_ms(f), f->worst_spread_ms);
}
