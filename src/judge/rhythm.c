// SPDX-License-Identifier: GPL-3.0-or-later

#include "rhythm.h"

#include "median.h"
#include "score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Columns of the model: start, pulse, bend, places, waits.
#define FIXED 3u
#define MOST_WAITS 12u
#define COLUMNS (FIXED + SR_LILT_SIZE + MOST_WAITS)
/// Onsets from which on a drift is fitted.
#define DRIFT_ONSETS 8u
/// A wait is longer than due by this, s, and by this share of the step or, if that is less, the
/// pulse.
#define LEAST_WAIT_S 0.15
#define LEAST_WAIT_SHARE 0.5
/// A shorter one is told from unevenness by this, s, and by so many times the scatter of the steps;
/// by less where a note too many took the time.
#define LEAST_SMALL_WAIT_S 0.06
#define SMALL_WAIT_SCATTER 6.0
#define LEAST_MENDED_WAIT_S 0.04
#define MENDED_WAIT_SCATTER 3.0
/// Notes that are not there were left out if so much of their time is not there either.
#define LEAST_LEFT_OUT_SHARE 0.45
/// The same if the note before may have sounded through one of them.
#define LEAST_JOINED_SHARE 0.8
/// An onset before its time by at least LEAST_WAIT_S and this share of the phrase's usual step
/// moves all that follows.
#define LEAST_HURRY_SHARE 0.6
/// … and of the step itself, for the tempo may be on its way.
#define LEAST_HURRY_STEP 0.2
/// One note that strayed moves nothing: the next step makes up for it but for this share.
#define MADE_UP 0.4
/// The pulse about an onset is that of so many before it and, with it, behind, if so many whole
/// ones can be told.
#define ABOUT_ONSETS 12u
#define LEAST_WHOLE_PULSES 4u
/// Robust deviations beyond which an onset is left out.
#define FAR_OUT 4.0
#define MOST_LEFT_OUT 0.1

/// Onsets whose mean direction about the click is shorter stand in no relation to it.
#define LEAST_RELATION 0.7

/// One onset of the fit.
typedef struct {
  size_t note;
  double pulses; ///< Place in the phrase
  double onset_s;
  size_t place; ///< In the pulse
  size_t waits; ///< Waits that came before it or with it
  bool out;
  double whole_s; ///< For a pulse, from here to the same place in a later one; NAN if none comes
  double usual_s; ///< … as it was usual about here; NAN if nothing tells
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
  bool drift;
  double solution[COLUMNS];
  size_t told;
} Fit;

static double
place_in_pulse(const Fit* const f, const SrPhraseNote* const note)
{
  const double pulses = sr_fraction_value(note->in_bar) / f->pulse;
  return pulses - floor(pulses + 1e-9);
}

/// The fewest even places that all notes of the phrase lie on, 0 if there are too many.
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
  row[2] = f->drift ? onset->pulses * onset->pulses : 0.0;
  if (onset->place > 0 && f->place_count[onset->place] >= 2) {
    row[FIXED + onset->place] = 1.0;
  }
  for (size_t w = 0; w < onset->waits && w < MOST_WAITS; ++w) {
    row[FIXED + SR_LILT_SIZE + w] = 1.0;
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
  return sum;
}

static bool
solve(Fit* const f)
{
  double* const matrix = (double*)malloc(f->count * COLUMNS * sizeof(double));
  double* const values = (double*)malloc(f->count * sizeof(double));
  if (matrix && values) {
    size_t rows = 0;
    for (size_t i = 0; i < f->count; ++i) {
      if (!f->onsets[i].out) {
        fill_row(f, &f->onsets[i], matrix + rows * COLUMNS);
        values[rows++] = f->onsets[i].onset_s;
      }
    }
    f->told = sr_least_squares(rows, COLUMNS, matrix, values, f->solution);
  }
  const bool enough = matrix && values;
  free(matrix);
  free(values);
  return enough;
}

/// Tell of each onset how long a pulse takes from there to the same place in a later one, so that
/// lilt does not enter.
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

/// The median of single steps, s for a pulse; NAN without any. `scratch` has room for one value an
/// onset.
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

/// The whole pulses about an onset, in order.
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

/// Tell of each onset how many seconds a pulse takes about it: the median over whole pulses; over
/// single steps if there are too few. `scratch` as for usual_step().
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

/// How much later than due after the one before it an onset came, s; 0 for the first.
static double
over_due(const Fit* const f, const size_t onset, const double usual)
{
  if (onset == 0 || onset >= f->count) {
    return 0.0;
  }
  const Onset* const a = &f->onsets[onset - 1];
  const Onset* const b = &f->onsets[onset];
  return b->onset_s - a->onset_s - (b->pulses - a->pulses) * usual;
}

/// Whether two steps next to one another are too long and too short by much the same.
static bool
is_made_up(const double over, const double other)
{
  return over * other < 0.0 && fabs(over + other) < MADE_UP * fabs(over);
}

/// How many of the notes before an onset, which have none, were left out with their time.
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
  // The step before them may be a long one, and the tempo on its way
  const double other_s = (here->pulses - before->pulses - pulses) * usual;
  return over < -share * pulses * usual - LEAST_HURRY_STEP * other_s ? here->note - first : 0;
}

/// What never came is nobody's joined note.
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

/// How far steps are off what was usual about them, s: robust, as a standard deviation. `scratch`
/// as for usual_step().
static double
step_scatter(const Fit* const f, double* const scratch)
{
  size_t steps = 0;
  for (size_t i = 1; i < f->count; ++i) {
    scratch[steps++] = fabs(over_due(f, i, f->onsets[i].usual_s));
  }
  return 1.4826 * sr_median(scratch, steps);
}

/// Whether a note that is not written came between an onset and the one before it.
static bool
is_behind_extra(const Fit* const f, const size_t onset)
{
  for (size_t i = 0; i < f->round->extra_count; ++i) {
    const double extra_s = f->round->extra[i].onset_s;
    if (extra_s > f->onsets[onset - 1].onset_s && extra_s < f->onsets[onset].onset_s) {
      return true;
    }
  }
  return false;
}

/// By how much an onset must be late to have been waited for, s.
static double
least_wait(const Fit* const f, const size_t onset, const double due, const double scatter)
{
  const double usual = f->onsets[onset].usual_s;
  const double sure = fmax(LEAST_WAIT_S, LEAST_WAIT_SHARE * fmin(due, usual));
  const double small = is_behind_extra(f, onset)
                           ? fmax(LEAST_MENDED_WAIT_S, MENDED_WAIT_SCATTER * scatter)
                           : fmax(LEAST_SMALL_WAIT_S, SMALL_WAIT_SCATTER * scatter);
  return f->count < DRIFT_ONSETS ? sure : fmin(sure, small);
}

/// Find where the player waited, hurried, or went on further ahead; such a place moves all that
/// follows. `scratch` as for usual_step().
static bool
find_waits(Fit* const f, double* const scratch)
{
  const double step = sr_score_step(f->take->phrase);
  const double scatter = step_scatter(f, scratch);
  bool enough = true;
  f->wait_count = 0;
  for (size_t i = 0; i < f->count; ++i) {
    if (i > 0 && f->wait_count < MOST_WAITS) {
      const size_t note = f->onsets[i].note;
      const double usual = f->onsets[i].usual_s;
      const double due = (f->onsets[i].pulses - f->onsets[i - 1].pulses) * usual;
      const double over = over_due(f, i, usual);
      const size_t left_out = count_left_out(f, i, over, usual);
      const bool strayed = is_made_up(over, over_due(f, i + 1, usual)) ||
                           is_made_up(over, over_due(f, i - 1, usual));
      const bool waited = over > least_wait(f, i, due, scatter) && !strayed;
      const double least = fmax(LEAST_WAIT_S, LEAST_HURRY_SHARE * step * usual);
      const bool hurried = over < -fmax(least, LEAST_HURRY_STEP * due) && !strayed;
      if (left_out > 0 || waited || hurried) {
        ++f->wait_count;
        const SrSlipKind kind = left_out > 0 ? SR_SLIP_LEFT_OUT
                                : waited     ? SR_SLIP_HESITATION
                                             : SR_SLIP_HURRIED;
        const SrSlip slip = {kind,
                             f->onsets[i].onset_s,
                             note,
                             f->round->notes[note].bar,
                             left_out > 0 ? (double)NAN : over,
                             left_out};
        if (!(waited && went_back_to(f->round, note))) {
          enough = enough && sr_round_add_slip(f->round, slip);
        }
        leave_out_notes(f, note - left_out, left_out);
      }
    }
    f->onsets[i].waits = f->wait_count;
  }
  return enough;
}

/// Leave out onsets far beyond the others, so that one slip does not bend the fit.
static bool
leave_out(Fit* const f, double* const scratch)
{
  for (size_t i = 0; i < f->count; ++i) {
    scratch[i] = fabs(f->onsets[i].onset_s - predicted(f, &f->onsets[i]));
  }
  double* const sorted = scratch + f->count;
  memcpy(sorted, scratch, f->count * sizeof(double));
  // 1.4826 makes the median deviation that of a normal distribution
  const double limit = fmax(FAR_OUT * 1.4826 * sr_median(sorted, f->count), 0.02);
  size_t left = 0;
  const size_t most = (size_t)(MOST_LEFT_OUT * (double)f->count);
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

static double
slope_at(const Fit* const f, const double pulses)
{
  return f->solution[1] + 2.0 * f->solution[2] * pulses;
}

/// Unevenness of the steps, each over its written length, so that an even player has 0.
static double
npvi_of(const Fit* const f, double* const scratch)
{
  size_t count = 0;
  for (size_t i = 1; i < f->count; ++i) {
    const Onset* const a = &f->onsets[i - 1];
    const Onset* const b = &f->onsets[i];
    const double pulses = b->pulses - a->pulses;
    if (pulses > 1e-9 && b->onset_s > a->onset_s && b->waits == a->waits) {
      scratch[count++] = (b->onset_s - a->onset_s) / pulses;
    }
  }
  return sr_judge_npvi(scratch, count);
}

/**
   How far behind the click the onsets lie on the mean, ms; NAN without a click, or if they stand
   in no relation to it.

   Each onset is compared with the click it should go with, whole periods left out, so that who
   lost the beat for a while and found it again is compared with where it was found. The mean is
   that of directions on a circle (Mardia and Jupp 2000, from memory), whose length tells
   whether there is any.
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
  double real = 0.0;
  double imaginary = 0.0;
  double count = 0.0;
  for (size_t i = 0; i < f->count; ++i) {
    const Onset* const onset = &f->onsets[i];
    if (onset->out) {
      continue;
    }
    const SrPhraseNote* const note = sr_phrase_note(f->take->phrase, onset->note);
    const double in_bar_s = sr_fraction_value(note->in_bar) / f->pulse * pulse_s;
    const double lilt_s = onset->place > 0 ? f->solution[FIXED + onset->place] : 0.0;
    const double turn =
        2.0 * M_PI * (onset->onset_s - lilt_s - in_bar_s - settings->click_s) / period_s;
    real += cos(turn);
    imaginary += sin(turn);
    count += 1.0;
  }
  if (!(hypot(real, imaginary) > LEAST_RELATION * count)) {
    return (double)NAN;
  }
  return 1e3 * atan2(imaginary, real) / (2.0 * M_PI) * period_s;
}

static void
tell(Fit* const f, double* const scratch)
{
  SrPulse* const pulse = &f->round->pulse;
  const double first = f->onsets[0].pulses;
  const double last = f->onsets[f->count - 1].pulses;
  const double middle_s = slope_at(f, 0.5 * (first + last));
  double squares = 0.0;
  size_t kept = 0;
  for (size_t i = 0; i < f->count; ++i) {
    SrNoteVerdict* const note = &f->round->notes[f->onsets[i].note];
    note->due_s = predicted(f, &f->onsets[i]);
    note->offset_ms = 1e3 * (note->onset_s - note->due_s);
    if (!f->onsets[i].out) {
      squares += note->offset_ms * note->offset_ms;
      ++kept;
    }
  }
  if (middle_s > 0.0) {
    pulse->played_bpm = 60.0 / middle_s;
    pulse->drift_percent =
        f->drift ? 100.0 * (slope_at(f, first) / slope_at(f, last) - 1.0) : (double)NAN;
    tell_lilt(f, pulse, middle_s);
  }
  if (kept > f->told) {
    pulse->spread_ms = sqrt(squares / (double)(kept - f->told));
  }
  pulse->npvi = npvi_of(f, scratch);
  pulse->mean_offset_ms = behind_click_ms(f);
}

/// Where the notes without an onset were due.
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

SrStatus
sr_rhythm_fit(const SrTake* const take, SrRound* const round)
{
  SrPulse* const pulse = &round->pulse;
  *pulse = (SrPulse){.unit = sr_phrase_bar(take->phrase, 0)->pulse,
                     .target_bpm = take->settings->target_bpm,
                     .played_bpm = (double)NAN,
                     .drift_percent = (double)NAN,
                     .mean_offset_ms = (double)NAN,
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
        onset->place =
            f.places ? (size_t)lround(place_in_pulse(&f, written) * (double)f.places) % f.places
                     : 0;
        ++f.place_count[onset->place];
      }
    }
    f.drift = f.count >= DRIFT_ONSETS;
  }
  if (enough && f.count >= 3) {
    find_whole_pulses(&f);
    find_usual_pulses(&f, scratch);
    enough = find_waits(&f, scratch) && solve(&f);
    if (enough && leave_out(&f, scratch)) {
      enough = solve(&f);
    }
    if (enough) {
      tell(&f, scratch);
      tell_due(&f);
    }
  }
  free(f.onsets);
  free(scratch);
  return enough ? SR_OK : SR_NO_MEMORY;
}
