// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rhythm.c
   Notes that are not there and whose time is missing too were left out, a longer step is a
   hesitation, and one too short with nothing missing was hurried. Each shifts all that follows, so
   that nothing after it counts as late or early for it.

   A tempo that changes is no other tune. When a round is over, turns of the beat are added one by
   one, each the one that makes the Bayesian information criterion least; after each, those before
   are searched again (look_again()). The fits with and without the waits that single steps showed,
   and with and without a drift, are compared in the same way. Where the jumps cut the round into
   pieces, the tempo of three fifths of it is its own (course.h).
*/

#include "rhythm.h"

#include "course.h"
#include "median.h"
#include "score.h"
#include "tuning.h"
#include "turns.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// One onset of the fit.
typedef struct {
  size_t note;
  double pulses; ///< Place in the phrase
  double onset_s;
  double first_s; ///< Earliest time its beat may lie at
  double last_s;  ///< and the latest: with several graces before a note the player chooses
  size_t place;   ///< In the pulse
  size_t waits;   ///< Waits before it or at it
  double moved_s; ///< Sum of the waits that exceed the model's columns
  bool out;
  double whole_s; ///< Seconds per pulse from here to the same place in a later pulse; NAN if none
  double usual_s; ///< The usual value around here; NAN if unknown
} Onset;

typedef struct {
  const SrTake* take;
  SrRound* round;
  double pulse; ///< In whole notes
  size_t places;
  size_t place_count[SR_LILT_SIZE];
  Onset* onsets;
  size_t count;
  size_t wait_count;
  SrTurn turns[SR_MOST_TURNS];
  size_t turn_count;
  bool drift; ///< There are enough onsets to fit one
  bool bends; ///< It is fitted
  double solution[COLUMNS];
  size_t reported;
} Fit;

static double
place_in_pulse(const Fit* const f, const SrPhraseNote* const note)
{
  const double pulses = sr_fraction_value(note->in_bar) / f->pulse;
  return pulses - floor(pulses + 1e-9);
}

/// The fewest even divisions of the pulse that all notes lie on, 0 if more than SR_LILT_SIZE.
static size_t
find_places(const Fit* const f)
{
  const size_t notes = sr_phrase_note_count(f->take->phrase);
  for (size_t places = 1; places <= SR_LILT_SIZE; ++places) {
    bool all = true;
    for (size_t i = 0; all && i < notes; ++i) {
      const double at = place_in_pulse(f, sr_phrase_note(f->take->phrase, i)) * (double)places;
      all = fabs(at - round(at)) < 1e-6;
    }
    if (all) {
      return places;
    }
  }
  return 0;
}

static void
fill_row(const Fit* const f, const Onset* const onset, double* const row)
{
  memset(row, 0, COLUMNS * sizeof(double));
  row[0] = 1.0;
  row[1] = onset->pulses;
  row[2] = f->bends ? onset->pulses * onset->pulses : 0.0;
  if (onset->place > 0 && f->place_count[onset->place] >= 2) {
    row[FIXED + onset->place] = 1.0;
  }
  for (size_t w = 0; w < onset->waits && w < MOST_WAITS; ++w) {
    row[FIXED + SR_LILT_SIZE + w] = 1.0;
  }
  for (size_t t = 0; t < f->turn_count; ++t) {
    row[FIRST_TURN + t] = sr_turn_column(&f->turns[t], onset->pulses);
  }
}

static double
predicted(const Fit* const f, const Onset* const onset)
{
  double row[COLUMNS];
  fill_row(f, onset, row);
  double sum = 0.0;
  for (size_t i = 0; i < COLUMNS; ++i) {
    sum += row[i] * f->solution[i];
  }
  return sum + onset->moved_s;
}

/// The model's rows and observations for the onsets that are not left out; returns their number.
static size_t
fill_matrix(const Fit* const f, double* const matrix, double* const values, double* const pulses)
{
  size_t rows = 0;
  for (size_t i = 0; i < f->count; ++i) {
    if (!f->onsets[i].out) {
      fill_row(f, &f->onsets[i], matrix + rows * COLUMNS);
      pulses[rows] = f->onsets[i].pulses;
      values[rows++] = f->onsets[i].onset_s - f->onsets[i].moved_s;
    }
  }
  return rows;
}

static bool
solve(Fit* const f)
{
  assert(f->count > 0);
  double* const matrix = (double*)malloc(f->count * (COLUMNS + 2) * sizeof(double));
  if (!matrix) {
    return false;
  }
  double* const values = matrix + f->count * COLUMNS;
  const size_t rows = fill_matrix(f, matrix, values, values + f->count);
  f->reported = sr_least_squares(rows, COLUMNS, matrix, values, f->solution);
  free(matrix);
  return true;
}

/// Set each onset's seconds per pulse from the same place in a later pulse, so that lilt cancels.
static void
find_whole_pulses(const Fit* const f)
{
  for (size_t i = 0; i < f->count; ++i) {
    Onset* const from = &f->onsets[i];
    size_t j = i + 1;
    while (j < f->count &&
           (f->onsets[j].place != from->place || f->onsets[j].pulses - from->pulses < 1.0 - 1e-9)) {
      ++j;
    }
    from->whole_s =
        j < f->count ? (f->onsets[j].onset_s - from->onset_s) / (f->onsets[j].pulses - from->pulses)
                     : (double)NAN;
  }
}

/// The median of single steps, s per pulse; NAN if there are none. `scratch` has room for one value
/// per onset.
static double
usual_step(const Fit* const f, double* const scratch)
{
  size_t steps = 0;
  for (size_t i = 1; i < f->count; ++i) {
    const double pulses = f->onsets[i].pulses - f->onsets[i - 1].pulses;
    if (pulses > 1e-9) {
      scratch[steps++] = (f->onsets[i].onset_s - f->onsets[i - 1].onset_s) / pulses;
    }
  }
  return steps ? sr_median(scratch, steps) : (double)NAN;
}

/// The whole pulses around an onset, sorted.
typedef struct {
  double value[2 * ABOUT_ONSETS];
  size_t count;
} Pulses;

static void
add_pulse(Pulses* const pulses, const double value)
{
  if (isfinite(value)) {
    size_t i = pulses->count++;
    for (; i > 0 && pulses->value[i - 1] > value; --i) {
      pulses->value[i] = pulses->value[i - 1];
    }
    pulses->value[i] = value;
  }
}

static void
remove_pulse(Pulses* const pulses, const double value)
{
  if (isfinite(value)) {
    size_t i = 0;
    while (pulses->value[i] < value) {
      ++i;
    }
    --pulses->count;
    memmove(&pulses->value[i], &pulses->value[i + 1], (pulses->count - i) * sizeof(double));
  }
}

/// Set each onset's local seconds per pulse: the median of whole pulses, or of single steps if
/// there are too few. `scratch` as for usual_step().
static void
find_usual_pulses(const Fit* const f, double* const scratch)
{
  const double step_s = usual_step(f, scratch);
  Pulses about = {.count = 0};
  for (size_t i = 0; i < f->count && i + 1 < ABOUT_ONSETS; ++i) {
    add_pulse(&about, f->onsets[i].whole_s);
  }
  for (size_t i = 0; i < f->count; ++i) {
    if (i > ABOUT_ONSETS) {
      remove_pulse(&about, f->onsets[i - ABOUT_ONSETS - 1].whole_s);
    }
    if (i + ABOUT_ONSETS <= f->count) {
      add_pulse(&about, f->onsets[i + ABOUT_ONSETS - 1].whole_s);
    }
    const size_t half = about.count / 2;
    f->onsets[i].usual_s = about.count < LEAST_WHOLE_PULSES ? step_s
                           : about.count % 2                ? about.value[half]
                                             : 0.5 * (about.value[half - 1] + about.value[half]);
  }
}

/// How much later than due after the previous one an onset came, s; 0 for the first.
static double
over_due(const Fit* const f, const size_t onset, const double usual)
{
  if (onset == 0 || onset >= f->count) {
    return 0.0;
  }
  const Onset* const a = &f->onsets[onset - 1];
  const Onset* const b = &f->onsets[onset];
  const double due_s = (b->pulses - a->pulses) * usual;
  // The beat may lie anywhere among several graces
  const double least = b->first_s - a->last_s - due_s;
  const double most = b->last_s - a->first_s - due_s;
  return least > 0.0 ? least : fmin(most, 0.0);
}

/// Whether two neighbouring steps are off by nearly the same amount in opposite directions.
static bool
is_made_up(const double over, const double other)
{
  return over * other < 0.0 && fabs(over + other) < MADE_UP * fabs(over);
}

/// Number of notes just before an onset that were left out together with their time.
static size_t
count_left_out(const Fit* const f, const size_t onset, const double over, const double usual)
{
  const Onset* const before = &f->onsets[onset - 1];
  const Onset* const here = &f->onsets[onset];
  const size_t first = before->note + 1;
  double share = LEAST_LEFT_OUT_SHARE;
  for (size_t i = first; i < here->note; ++i) {
    share = f->round->notes[i].joined == SR_YES ? LEAST_JOINED_SHARE : share;
    const SrNoteVerdict* const note = &f->round->notes[i];
    const bool its_cut = note->has_cut && isfinite(note->cut.onset_s);
    if (note->status == SR_NOTE_UNHEARD || its_cut) {
      return 0;
    }
  }
  if (first >= here->note) {
    return 0;
  }
  const SrPhraseNote* const written = sr_phrase_note(f->take->phrase, first);
  const double pulses = here->pulses - sr_fraction_value(written->start) / f->pulse;
  // The step before them may be long, and the tempo changing
  const double other_s = (here->pulses - before->pulses - pulses) * usual;
  return over < -share * pulses * usual - LEAST_HURRY_STEP * other_s ? here->note - first : 0;
}

/// A note left out was not joined to anything.
static void
leave_out_notes(const Fit* const f, const size_t first, const size_t count)
{
  for (size_t i = first; i < first + count; ++i) {
    f->round->notes[i] = sr_note_missed(f->take->phrase, i);
    f->round->notes[i].left_out = true;
  }
}

/// Whether the player went back to a note; the time that took is no hesitation.
static bool
went_back_to(const SrRound* const round, const size_t note)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == SR_SLIP_RESTART && round->slips[i].note_index == note) {
      return true;
    }
  }
  return false;
}

/// Robust standard deviation of the steps from their usual length, s. `scratch` as for
/// usual_step().
static double
step_scatter(const Fit* const f, double* const scratch)
{
  size_t steps = 0;
  for (size_t i = 1; i < f->count; ++i) {
    scratch[steps++] = fabs(over_due(f, i, f->onsets[i].usual_s));
  }
  return 1.4826 * sr_median(scratch, steps);
}

/// Whether an insertion lies between an onset and the one before it.
static bool
is_behind_extra(const Fit* const f, const size_t onset)
{
  for (size_t i = 0; i < f->round->insertion_count; ++i) {
    const double extra_s = f->round->insertions[i].onset_s;
    if (extra_s > f->onsets[onset - 1].onset_s && extra_s < f->onsets[onset].onset_s) {
      return true;
    }
  }
  return false;
}

/// How late an onset must be to count as a wait, s.
static double
least_wait(const Fit* const f, const size_t onset, const double due, const double scatter)
{
  const double usual = f->onsets[onset].usual_s;
  const double sure = fmax(SURE_WAIT_S, SURE_WAIT_SHARE * fmin(due, usual));
  const double small = is_behind_extra(f, onset)
                           ? fmax(LEAST_CORRECTED_WAIT_S, CORRECTED_WAIT_SCATTER * scatter)
                           : fmax(LEAST_WAIT_S, SMALL_WAIT_SCATTER * scatter);
  return f->count < DRIFT_ONSETS ? sure : fmin(sure, small);
}

/// A round that begins with a later bar has left out what comes before. False if out of memory.
static bool
find_beginning(const Fit* const f)
{
  const size_t first = f->onsets[0].note;
  bool missed = first >= LEAST_UNBEGUN &&
                sr_fraction_value(sr_phrase_note(f->take->phrase, first)->in_bar) < 1e-9;
  for (size_t i = 0; i < first; ++i) {
    missed = missed && f->round->notes[i].status == SR_NOTE_MISSED;
  }
  if (!missed) {
    return true;
  }
  const SrSlip slip = {.kind = SR_SLIP_LEFT_OUT,
                       .at_s = f->onsets[0].onset_s,
                       .note_index = first,
                       .bar = f->round->notes[first].bar,
                       .wait_s = (double)NAN,
                       .left_out = first};
  leave_out_notes(f, 0, first);
  return sr_round_add_slip(f->round, slip);
}

/// Find where the player waited, hurried or skipped ahead; each shifts all that follows. `scratch`
/// as for usual_step().
static bool
find_waits(Fit* const f, double* const scratch)
{
  const double step = sr_score_step(f->take->phrase);
  const double scatter = step_scatter(f, scratch);
  double moved_s = 0.0;
  bool enough = true;
  f->wait_count = 0;
  for (size_t i = 0; i < f->count; ++i) {
    if (i > 0) {
      const size_t note = f->onsets[i].note;
      const double usual = f->onsets[i].usual_s;
      const double due = (f->onsets[i].pulses - f->onsets[i - 1].pulses) * usual;
      const double over = over_due(f, i, usual);
      const size_t left_out = count_left_out(f, i, over, usual);
      const bool strayed = is_made_up(over, over_due(f, i + 1, usual)) ||
                           is_made_up(over, over_due(f, i - 1, usual));
      const bool waited = over > least_wait(f, i, due, scatter) && !strayed;
      const double least = fmax(SURE_WAIT_S, LEAST_HURRY_SHARE * step * usual);
      const bool hurried = over < -fmax(least, LEAST_HURRY_STEP * due) && !strayed;
      if (left_out > 0 || waited || hurried) {
        // The model has columns for the first ones; the others use the measured value
        moved_s += f->wait_count < MOST_WAITS ? 0.0 : over;
        ++f->wait_count;
        const SrSlipKind kind = left_out > 0 ? SR_SLIP_LEFT_OUT
                                : waited     ? SR_SLIP_HESITATION
                                             : SR_SLIP_HURRIED;
        const SrSlip slip = {.kind = kind,
                             .at_s = f->onsets[i].onset_s,
                             .note_index = note,
                             .bar = f->round->notes[note].bar,
                             .wait_s = left_out > 0 ? (double)NAN : over,
                             .left_out = left_out};
        if (!(waited && went_back_to(f->round, note))) {
          enough = enough && sr_round_add_slip(f->round, slip);
        }
        leave_out_notes(f, note - left_out, left_out);
      }
    }
    f->onsets[i].waits = f->wait_count;
    f->onsets[i].moved_s = moved_s;
  }
  return enough;
}

/// Move the beat of each note with several graces to its best fit; returns whether any moved enough
/// to matter.
static bool
place_graces(const Fit* const f)
{
  bool any = false;
  for (size_t i = 0; i < f->count; ++i) {
    Onset* const onset = &f->onsets[i];
    if (onset->last_s > onset->first_s) {
      const double was_s = onset->onset_s;
      onset->onset_s = fmin(fmax(predicted(f, onset), onset->first_s), onset->last_s);
      any = any || fabs(onset->onset_s - was_s) > PLACED_S;
    }
  }
  return any;
}

/// Number of onsets that may be left out of the fit.
static size_t
most_out(const Fit* const f)
{
  return (size_t)(MOST_LEFT_OUT * (double)f->count);
}

/// Leave out extreme outliers, so that one slip does not bend the fit.
static bool
leave_out(Fit* const f, double* const scratch)
{
  for (size_t i = 0; i < f->count; ++i) {
    scratch[i] = fabs(f->onsets[i].onset_s - predicted(f, &f->onsets[i]));
  }
  double* const sorted = scratch + f->count;
  memcpy(sorted, scratch, f->count * sizeof(double));
  // 1.4826 scales the median deviation to the standard deviation of a normal distribution
  const double limit = fmax(FAR_OUT * 1.4826 * sr_median(sorted, f->count), 0.02);
  size_t left = 0;
  const size_t most = most_out(f);
  bool any = false;
  while (left < most) {
    size_t worst = f->count;
    for (size_t i = 0; i < f->count; ++i) {
      if (!f->onsets[i].out && scratch[i] > limit &&
          (worst == f->count || scratch[i] > scratch[worst])) {
        worst = i;
      }
    }
    if (worst == f->count) {
      break;
    }
    f->onsets[worst].out = true;
    any = true;
    ++left;
  }
  return any;
}

static void
tell_lilt(const Fit* const f, SrPulse* const pulse, const double pulse_s)
{
  pulse->lilt_count = 0;
  for (size_t p = 0; p < f->places; ++p) {
    if (f->place_count[p] < 2) {
      return;
    }
  }
  if (f->places < 2) {
    return;
  }
  pulse->lilt_count = f->places;
  const double even = pulse_s / (double)f->places;
  for (size_t p = 0; p < f->places; ++p) {
    const double here = p ? f->solution[FIXED + p] : 0.0;
    const double there = p + 1 < f->places ? f->solution[FIXED + p + 1] : 0.0;
    pulse->lilt[p] = (even + there - here) / even;
  }
}

/// Seconds per pulse at a place; at a turn, those after it.
static double
slope_at(const Fit* const f, const double pulses)
{
  double slope = f->solution[1] + 2.0 * f->solution[2] * pulses;
  for (size_t t = 0; t < f->turn_count; ++t) {
    const SrTurn* const turn = &f->turns[t];
    const double size = f->solution[FIRST_TURN + t];
    if (sr_turn_is_of_tempo(turn) && pulses >= turn->from && pulses < turn->to) {
      slope += turn->kind == SR_TURN_BEND ? 2.0 * size * (pulses - turn->from) : size;
    }
  }
  return slope;
}

/// The just noticeable displacement, s.
static double
noticeable_s(const Fit* const f)
{
  const double pulse_s = fmax(0.0, f->onsets[f->count / 2].usual_s);
  return 1e-3 * sr_judge_just_noticeable_ms(1e3 * sr_score_step(f->take->phrase) * pulse_s);
}

/// The onset nearest to a place.
static size_t
onset_near(const Fit* const f, const double pulses)
{
  size_t nearest = 0;
  for (size_t i = 1; i < f->count; ++i) {
    const double apart = fabs(f->onsets[i].pulses - pulses);
    nearest = apart < fabs(f->onsets[nearest].pulses - pulses) ? i : nearest;
  }
  return nearest;
}

/// Find the turn that explains most of the residual, and add it. False if out of memory.
static bool
find_turn(Fit* const f, bool* const found)
{
  double* const matrix = (double*)malloc(f->count * (COLUMNS + 2) * sizeof(double));
  SrTurn turn;
  *found = false;
  if (!matrix) {
    return false;
  }
  double* const values = matrix + f->count * COLUMNS;
  double* const pulses = values + f->count;
  const SrTurnSearch search = {.rows = fill_matrix(f, matrix, values, pulses),
                               .columns = COLUMNS,
                               .matrix = matrix,
                               .values = values,
                               .pulses = pulses,
                               .pulse_s = f->onsets[f->count / 2].usual_s,
                               .noticeable_s = noticeable_s(f),
                               .turns = f->turns,
                               .turn_count = f->turn_count,
                               .most_strays = most_out(f)};
  bool enough = sr_turn_find(&search, &turn, found);
  if (enough && *found) {
    f->turns[f->turn_count++] = turn;
    enough = solve(f);
  }
  free(matrix);
  return enough;
}

static void
remove_turn(Fit* const f, const size_t turn)
{
  --f->turn_count;
  memmove(&f->turns[turn], &f->turns[turn + 1], (f->turn_count - turn) * sizeof(SrTurn));
}

/// Search again for each turn with all the others in place. False if out of memory.
static bool
look_again(Fit* const f)
{
  bool enough = true;
  bool moved = f->turn_count > 1;
  for (int look = 0; enough && moved && look < MOST_LOOKS; ++look) {
    moved = false;
    for (size_t t = f->turn_count; enough && t > 0 && f->turn_count > 0; --t) {
      const SrTurn was = f->turns[0];
      bool found = false;
      remove_turn(f, 0);
      enough = solve(f) && find_turn(f, &found);
      const SrTurn* const last = found ? &f->turns[f->turn_count - 1] : NULL;
      moved = moved || !last || last->kind != was.kind || fabs(last->from - was.from) > 1e-9 ||
              sr_turn_places(last) != sr_turn_places(&was) ||
              (isfinite(was.to) && fabs(last->to - was.to) > 1e-9);
    }
  }
  return enough;
}

/// Add the turns that explain the round better. False if out of memory.
static bool
find_turns(Fit* const f)
{
  bool enough = true;
  bool found = true;
  while (enough && found && f->turn_count < SR_MOST_TURNS) {
    const size_t before = f->turn_count;
    enough = find_turn(f, &found) && (!found || look_again(f));
    found = found && f->turn_count > before;
  }
  // Strays are left out like other outliers
  for (size_t t = f->turn_count; t-- > 0;) {
    if (f->turns[t].kind == SR_TURN_STRAY) {
      f->onsets[onset_near(f, f->turns[t].from)].out = true;
      remove_turn(f, t);
    }
  }
  enough = enough && solve(f);
  for (size_t i = 0; enough && i < f->count; ++i) {
    if (!(slope_at(f, f->onsets[i].pulses) > 0.0)) {
      f->turn_count = 0; // time does not run backwards
      enough = solve(f);
    }
  }
  return enough;
}

static bool
is_wait_between(const Fit* const f, const Onset* const a, const Onset* const b)
{
  bool waited = a->waits != b->waits;
  for (size_t t = 0; t < f->turn_count; ++t) {
    const SrTurn* const turn = &f->turns[t];
    waited = waited || (turn->kind == SR_TURN_WAIT && turn->from > a->pulses + 1e-9 &&
                        turn->from < b->pulses + 1e-9);
  }
  return waited;
}

/// nPVI of the steps, each divided by its written length, so that even playing gives 0.
static double
npvi_of(const Fit* const f, double* const scratch)
{
  size_t count = 0;
  for (size_t i = 1; i < f->count; ++i) {
    const Onset* const a = &f->onsets[i - 1];
    const Onset* const b = &f->onsets[i];
    const double pulses = b->pulses - a->pulses;
    if (pulses > 1e-9 && b->onset_s > a->onset_s && !is_wait_between(f, a, b)) {
      scratch[count++] = (b->onset_s - a->onset_s) / pulses;
    }
  }
  return sr_judge_npvi(scratch, count);
}

/**
   Mean delay of the onsets after the click, ms; NAN without a click, or if they are unrelated to
   it.

   Each onset is compared with its own click modulo whole periods, so that a player who lost the
   beat and found it again is compared with where it was found. The mean is that of directions on a
   circle (Mardia and Jupp 2000, from memory), whose length shows whether there is a relation.
*/
static double
behind_click_ms(const Fit* const f)
{
  const SrJudgeSettings* const settings = f->take->settings;
  const double period_s = settings->click_period_s;
  if (!isfinite(settings->click_s) || !(period_s > 0.0) || !(settings->click_pulses > 0.0)) {
    return (double)NAN;
  }
  const double pulse_s = period_s / settings->click_pulses;
  const SrPhraseNote* const first = sr_phrase_note(f->take->phrase, 0);
  // An inaudible lilt may be the scatter of a few notes
  const double noticeable_ms =
      sr_judge_just_noticeable_ms(1e3 * sr_score_step(f->take->phrase) * pulse_s);
  double real = 0.0;
  double imaginary = 0.0;
  double count = 0.0;
  for (size_t i = 0; i < f->count; ++i) {
    const Onset* const onset = &f->onsets[i];
    if (onset->out) {
      continue;
    }
    const SrPhraseNote* const note = sr_phrase_note(f->take->phrase, onset->note);
    // A bar may be short of a beat, but time goes on
    const double from_bar = sr_fraction_value(first->in_bar) + sr_fraction_value(note->start);
    const double in_bar_s = from_bar / f->pulse * pulse_s;
    const double lilt_s = onset->place > 0 ? f->solution[FIXED + onset->place] : 0.0;
    const bool has_lilt = fabs(1e3 * lilt_s) > noticeable_ms;
    const double turn =
        2.0 * M_PI * (onset->onset_s - (has_lilt ? lilt_s : 0.0) - in_bar_s - settings->click_s) /
        period_s;
    real += cos(turn);
    imaginary += sin(turn);
    count += 1.0;
  }
  if (!(hypot(real, imaginary) > LEAST_RELATION * count)) {
    return (double)NAN;
  }
  return 1e3 * atan2(imaginary, real) / (2.0 * M_PI) * period_s;
}

/// Whether the click was silent at a time.
static bool
is_silent(const SrJudgeSettings* const settings, const double at_s)
{
  bool silent = false;
  for (size_t i = 0; i < settings->silence_count; ++i) {
    silent =
        silent || (at_s >= settings->silences[i].start_s && at_s < settings->silences[i].end_s);
  }
  return silent;
}

/// Whether, between two onsets, a player may have met the click again or could not hear it.
static bool
is_free_of_click(const Fit* const f, const SrCourse* const course, const Onset* const a,
                 const Onset* const b)
{
  const SrJudgeSettings* const settings = f->take->settings;
  return is_wait_between(f, a, b) || sr_course_is_aside(course, 0.5 * (a->pulses + b->pulses)) ||
         is_silent(settings, a->onset_s) || is_silent(settings, b->onset_s);
}

/**
   Whether the player stayed with the click, by the fitted tempo. Waits, stretches at another tempo
   and silences of the click, after which the player may have met the click again, separate the
   stretches that are tested. A player who ends one off the click by half of the shortest common
   step, or by half a click, has notes nearer to another's place than to their own.
*/
static void
tell_left(const Fit* const f, const SrCourse* const course, SrPulse* const pulse)
{
  const SrJudgeSettings* const settings = f->take->settings;
  const double period_s = settings->click_period_s;
  if (!(period_s > 0.0) || !(settings->click_pulses > 0.0)) {
    return;
  }
  const double pulse_s = period_s / settings->click_pulses;
  const double step = fmin(1.0, sr_score_step(f->take->phrase));
  double most_s = 0.5 * fmin(period_s, step * pulse_s);
  double ahead_s = 0.0;
  double played_s = 0.0;
  for (size_t i = 1; i < f->count; ++i) {
    const Onset* const a = &f->onsets[i - 1];
    const Onset* const b = &f->onsets[i];
    const bool with_click = !is_free_of_click(f, course, a, b);
    if (with_click) {
      const double pulses = b->pulses - a->pulses;
      const double step_s = pulses * slope_at(f, 0.5 * (a->pulses + b->pulses));
      ahead_s += pulses * pulse_s - step_s;
      played_s += step_s;
    }
    if (!with_click || i + 1 == f->count) {
      if (fabs(ahead_s) > most_s && played_s > 0.0) {
        most_s = fabs(ahead_s);
        pulse->left_pulses = ahead_s / pulse_s;
        pulse->left_percent = 100.0 * ahead_s / played_s;
      }
      ahead_s = 0.0;
      played_s = 0.0;
    }
  }
}

static SrCourse
find_course(const Fit* const f)
{
  const Onset* const last = &f->onsets[f->count - 1];
  const double length = sr_fraction_value(sr_phrase_note(f->take->phrase, last->note)->length);
  return sr_course_find(f->turns, f->solution + FIRST_TURN, f->turn_count, f->onsets[0].pulses,
                        last->pulses + length / f->pulse, f->onsets[f->count / 2].usual_s);
}

/// Seconds per pulse at a place, at the main tempo if there is one.
static double
course_at(const Fit* const f, const SrCourse* const course, const double pulses)
{
  return slope_at(f, pulses) - sr_course_aside(course, pulses);
}

/// Add a wait that was found with the turns to the slips. False if out of memory.
static bool
tell_wait(const Fit* const f, const size_t turn)
{
  const Onset* const onset = &f->onsets[onset_near(f, f->turns[turn].from)];
  const double wait_s = f->solution[FIRST_TURN + turn];
  const SrSlip slip = {.kind = wait_s > 0.0 ? SR_SLIP_HESITATION : SR_SLIP_HURRIED,
                       .at_s = onset->onset_s,
                       .note_index = onset->note,
                       .bar = f->round->notes[onset->note].bar,
                       .wait_s = wait_s};
  return went_back_to(f->round, onset->note) || sr_round_add_slip(f->round, slip);
}

/// Add a stretch at another tempo to the slips. False if out of memory.
static bool
tell_aside(const Fit* const f, const SrCourse* const course, const SrPiece* const piece)
{
  const Onset* const first = &f->onsets[onset_near(f, piece->from)];
  const double last = f->onsets[f->count - 1].pulses;
  const double longer_s = piece->more_s - course->own_s;
  const double own_s = course_at(f, course, 0.5 * (piece->from + piece->to));
  const SrSlip slip = {.kind = SR_SLIP_OTHER_TEMPO,
                       .at_s = first->onset_s,
                       .note_index = first->note,
                       .bar = f->round->notes[first->note].bar,
                       .wait_s = longer_s * (fmin(piece->to, last) - piece->from),
                       .until = piece->to > last ? f->round->note_count
                                                 : f->onsets[onset_near(f, piece->to)].note,
                       .longer_percent = 100.0 * longer_s / own_s};
  return sr_round_add_slip(f->round, slip);
}

/// Add the waits and the stretches at another tempo to the slips. False if out of memory.
static bool
tell_turns(const Fit* const f)
{
  bool enough = true;
  for (size_t t = 0; enough && t < f->turn_count; ++t) {
    enough = f->turns[t].kind != SR_TURN_WAIT || tell_wait(f, t);
  }
  const SrCourse course = find_course(f);
  for (size_t p = 0; enough && p < course.count; ++p) {
    enough = !course.pieces[p].aside || tell_aside(f, &course, &course.pieces[p]);
  }
  return enough;
}

/// Fill the course of the tempo.
static void
tell_course(const Fit* const f, const SrCourse* const course)
{
  SrPulse* const pulse = &f->round->pulse;
  const double from = course_at(f, course, f->onsets[0].pulses);
  const double to = course_at(f, course, f->onsets[f->count - 1].pulses);
  if (!f->drift || !(from > 0.0) || !(to > 0.0)) {
    return;
  }
  double longest = fmax(from, to);
  double shortest = fmin(from, to);
  for (size_t i = 0; i < f->count; ++i) {
    const double slope = course_at(f, course, f->onsets[i].pulses);
    longest = fmax(longest, slope);
    shortest = slope > 0.0 ? fmin(shortest, slope) : shortest;
  }
  pulse->first_bpm = 60.0 / from;
  pulse->last_bpm = 60.0 / to;
  pulse->change_percent = 100.0 * (longest / shortest - 1.0);
  double most = 0.0;
  for (size_t t = 0; t < f->turn_count; ++t) {
    const double size = fabs(f->solution[FIRST_TURN + t]);
    pulse->turns += sr_turn_is_of_tempo(&f->turns[t]);
    if (f->turns[t].kind == SR_TURN_JUMP && !isfinite(course->own_s) && size > most) {
      most = size;
      pulse->jump_note = f->onsets[onset_near(f, f->turns[t].from)].note;
    }
  }
}

static void
tell(Fit* const f, double* const scratch)
{
  SrPulse* const pulse = &f->round->pulse;
  const double first = f->onsets[0].pulses;
  const double last = f->onsets[f->count - 1].pulses;
  const SrCourse course = find_course(f);
  const double middle_s = course_at(f, &course, 0.5 * (first + last));
  double squares = 0.0;
  size_t kept = 0;
  for (size_t i = 0; i < f->count; ++i) {
    SrNoteVerdict* const note = &f->round->notes[f->onsets[i].note];
    note->due_s = predicted(f, &f->onsets[i]);
    note->offset_ms = 1e3 * (f->onsets[i].onset_s - note->due_s);
    if (!f->onsets[i].out) {
      squares += note->offset_ms * note->offset_ms;
      ++kept;
    }
  }
  if (middle_s > 0.0) {
    pulse->played_bpm = 60.0 / middle_s;
    pulse->drift_percent =
        f->drift ? 100.0 * (course_at(f, &course, first) / course_at(f, &course, last) - 1.0)
                 : (double)NAN;
    tell_lilt(f, pulse, middle_s);
  }
  if (kept > f->reported) {
    pulse->spread_ms = sqrt(squares / (double)(kept - f->reported));
  }
  pulse->npvi = npvi_of(f, scratch);
  tell_left(f, &course, pulse);
  pulse->mean_offset_ms = isfinite(pulse->left_pulses) ? (double)NAN : behind_click_ms(f);
  tell_course(f, &course);
}

/// Due times of the notes without an onset.
static void
tell_due(const Fit* const f)
{
  size_t next = 0;
  for (size_t i = 0; i < f->round->note_count; ++i) {
    SrNoteVerdict* const note = &f->round->notes[i];
    while (next < f->count && f->onsets[next].note < i) {
      ++next;
    }
    if (isfinite(note->due_s) || note->left_out) {
      continue;
    }
    const SrPhraseNote* const written = sr_phrase_note(f->take->phrase, i);
    const size_t before = next ? next - 1 : 0;
    Onset onset = f->onsets[before < f->count ? before : f->count - 1];
    onset.pulses = sr_fraction_value(written->start) / f->pulse;
    onset.place =
        f->places ? (size_t)lround(place_in_pulse(f, written) * (double)f->places) % f->places : 0;
    note->due_s = predicted(f, &onset);
  }
}

/// Fit the model to the onsets, with or without turns of the tempo. False if out of memory.
static bool
fit(Fit* const f, const bool turning, double* const scratch)
{
  f->turn_count = 0;
  for (size_t i = 0; i < f->count; ++i) {
    f->onsets[i].out = false;
  }
  return solve(f) && (turning ? find_turns(f) : !leave_out(f, scratch) || solve(f));
}

/// Badness of fit: each wait, each turn and each onset left out counts its place as well as its
/// size.
static double
badness(const Fit* const f)
{
  size_t places = f->count > 0 ? f->onsets[f->count - 1].waits : 0;
  for (size_t t = 0; t < f->turn_count; ++t) {
    places += sr_turn_places(&f->turns[t]);
  }
  double squares = 0.0;
  size_t out = 0;
  for (size_t i = 0; i < f->count; ++i) {
    const double off = f->onsets[i].onset_s - predicted(f, &f->onsets[i]);
    squares += f->onsets[i].out ? 0.0 : off * off;
    out += f->onsets[i].out;
  }
  return sr_model_badness(squares, f->count, f->reported + out, places + out, noticeable_s(f));
}

static bool
has_left_out(const SrRound* const round, const size_t from)
{
  for (size_t i = from; i < round->slip_count; ++i) {
    if (round->slips[i].kind == SR_SLIP_LEFT_OUT) {
      return true;
    }
  }
  return false;
}

/// A fit with its onsets, to go back to.
typedef struct {
  Fit fit;
  Onset* onsets;
} Kept;

static void
keep(const Fit* const f, Kept* const kept)
{
  kept->fit = *f;
  memcpy(kept->onsets, f->onsets, f->count * sizeof(Onset));
}

static void
go_back(const Kept* const kept, Fit* const f)
{
  Onset* const onsets = f->onsets;
  *f = kept->fit;
  f->onsets = onsets;
  memcpy(onsets, kept->onsets, f->count * sizeof(Onset));
}

/**
   What looks like waits or hurries may be turns of the tempo, or both may occur, each with or
   without a drift. The reading that explains the round best is kept.

   @param slips Number of the round's slips before the waits were found.
   @return False if out of memory.
*/
static bool
try_turns(Fit* const f, const size_t slips, double* const scratch)
{
  Kept best = {.onsets = (Onset*)malloc(f->count * sizeof(Onset))};
  if (!best.onsets) {
    return false;
  }
  keep(f, &best);
  double least = badness(f);
  bool enough = true;
  const bool waited = f->wait_count > 0;
  const int readings = f->wait_count > 0 && !has_left_out(f->round, slips) ? 4 : 2;
  for (int reading = 0; enough && reading < readings; ++reading) {
    f->bends = reading % 2 == 0;
    for (size_t i = 0; reading == 2 && i < f->count; ++i) {
      f->onsets[i].waits = 0;
      f->onsets[i].moved_s = 0.0;
      f->wait_count = 0;
    }
    enough = fit(f, true, scratch);
    const double here = badness(f);
    if (enough && f->turn_count > 0 && here < least) {
      least = here;
      keep(f, &best);
    }
  }
  go_back(&best, f);
  if (waited && f->wait_count == 0) {
    f->round->slip_count = slips;
  }
  free(best.onsets);
  return enough;
}

SrStatus
sr_rhythm_fit(const SrTake* const take, const bool over, SrRound* const round)
{
  SrPulse* const pulse = &round->pulse;
  *pulse = (SrPulse){.unit = sr_phrase_bar(take->phrase, 0)->pulse,
                     .target_bpm = take->settings->target_bpm,
                     .played_bpm = (double)NAN,
                     .drift_percent = (double)NAN,
                     .first_bpm = (double)NAN,
                     .last_bpm = (double)NAN,
                     .change_percent = (double)NAN,
                     .jump_note = round->note_count,
                     .mean_offset_ms = (double)NAN,
                     .left_pulses = (double)NAN,
                     .left_percent = (double)NAN,
                     .spread_ms = (double)NAN,
                     .npvi = (double)NAN};
  Fit f = {.take = take, .round = round, .pulse = sr_fraction_value(pulse->unit)};
  f.onsets = (Onset*)calloc(round->note_count, sizeof(Onset));
  double* const scratch = (double*)malloc((2 * round->note_count + 2) * sizeof(double));
  bool enough = f.onsets && scratch;
  if (enough) {
    f.places = find_places(&f);
    for (size_t i = 0; i < round->note_count; ++i) {
      const SrPhraseNote* const written = sr_phrase_note(take->phrase, i);
      if (isfinite(round->notes[i].onset_s)) {
        Onset* const onset = &f.onsets[f.count++];
        onset->note = i;
        onset->pulses = sr_fraction_value(written->start) / f.pulse;
        onset->onset_s = round->notes[i].onset_s;
        onset->first_s = onset->onset_s;
        onset->last_s = round->notes[i].graces > 0 ? round->notes[i].speaks_s : onset->onset_s;
        onset->place =
            f.places ? (size_t)lround(place_in_pulse(&f, written) * (double)f.places) % f.places
                     : 0;
        ++f.place_count[onset->place];
      }
    }
    f.drift = f.count >= DRIFT_ONSETS;
    f.bends = f.drift;
  }
  if (enough && f.count >= 3) {
    find_whole_pulses(&f);
    find_usual_pulses(&f, scratch);
    enough = find_beginning(&f);
    const size_t slips = round->slip_count;
    enough = enough && find_waits(&f, scratch) && solve(&f);
    for (int i = 0; enough && i < MOST_PLACINGS && place_graces(&f); ++i) {
      enough = solve(&f);
    }
    enough = enough && fit(&f, false, scratch);
    if (enough && over && f.drift) {
      enough = try_turns(&f, slips, scratch);
    }
    if (enough) {
      tell(&f, scratch);
      tell_due(&f);
      enough = tell_turns(&f);
    }
  }
  free(f.onsets);
  free(scratch);
  return enough ? SR_OK : SR_NO_MEMORY;
}
