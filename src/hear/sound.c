// SPDX-License-Identifier: GPL-3.0-or-later

#include "sound.h"

#include "hindsight.h"
#include "onset.h"
#include "stride.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// Between one pitch's and the next, so that a frame's amounts do not fall on the same cache lines.
#define MEMORY_APART 16u
/// Frames after which an attack is looked at; it is complete so many after it was half way up, and
/// not waited for longer than that.
#define ATTACK 26
#define AFTER_HALF 18
#define MOST_ATTACK 46
/// There it had certainly begun; when it was noticed depends on what else sounds. Where the two are
/// further apart than so many frames, it is taken to be so far from where it was noticed.
#define MOST_APART 8
/// Updates that do to see how far a rise goes.
#define ROUGH_UPDATES 1
/// Frames that are looked back over for its start.
#define LOOK_BACK 40
/// A cut takes at most so many frames.
#define MOST_CUT ((int64_t)(SR_GRACE_MOST_S / SR_FRAME_HOP_S + 0.5))
/// How long after a cut's end the note under it is looked at: 30 ms.
#define CHECK_AFTER 15
/// What sounds of a written cut while its note is silent is that cut, if it grows by this share of
/// the note's level. In over 600 gaps between two notes of the takes with known truth it grew by at
/// least 0.24, and at most 0.05 where none was played.
#define BETWEEN_SHARE 0.15f
/// … and if that level is this share of the loudest of late.
#define LOUD_SHARE 0.3f
/// A cut that was not noticed is followed back to this share of its most.
#define LEAST_SHOWN 0.25f
/// Frames before the note let go that tell what was there before.
#define BETWEEN_BEFORE 10
#define BETWEEN_FROM 3
/// A cut that leads into a note which did not sound before begins at most so many frames before it.
/// It is looked for when the note has proven to be one by this fit: words are none.
#define LED_IN 30
#define LED_IN_FIT 0.6
/// Phases over a cut that agree by less than this part the note.
#define CUT_BROKEN 0.6
/// What is quieter than this share of the loudest about it is the shadow of something else.
#define WRITTEN_SHARE 0.16f
#define OTHER_SHARE 0.22f
/// What a reed and its neighbours explain less of is speech, or something else that moves.
#define WRITTEN_FIT 0.62
#define OTHER_FIT 0.76
/// Two reeds at once beat, and fit their common template less.
#define DOUBLED_FIT 0.8
/// Where other reeds were learnt, one that was not yet may fit less; where none was, what fits may
/// be but noise.
#define UNKNOWN_FIT 0.7
/// … and so much less without a phrase.
#define FREE_UNKNOWN_FIT 0.85
/// A cut is mostly attack, which fits its template less.
#define SHORT_S 0.1
#define SHORT_FIT 0.57
/// … and so is what has been noticed for less than this, s, and may be told live.
#define STARTING_S 0.05
#define STARTING_FIT 0.50
/// … and less, for so long, s, where it may be told with a doubt: recorded low reeds are bent and
/// hardly more than their fundamental for a tenth of a second.
#define DOUBTFUL_S 0.12
#define DOUBTFUL_FIT 0.20
/// A reed under this share of the loudest of late is left out when a rise is looked at again.
#define LEAST_OTHER 0.02f
/// … and under this one if it is not written: most often a shadow, there in one frame and not in
/// the next.
#define UNWRITTEN_OTHER 0.10f
/// … but not all at once: from this part of it on to this one it counts more and more.
#define HARDLY_OTHER 0.7f
#define SURE_OTHER 1.4f
/// A reed's pitch does not stray further than this from where it was learnt.
#define MOST_CENTS 60.0
/// "About it" reaches so many frames back.
#define ABOUT 25
/// A start out of less than this share of its level is out of silence.
#define CLEAN_BASE 0.06
/// … and over so much more than that, its foot cannot be seen.
#define HIDDEN_BASE 0.12
/// Starts that are remembered of a reed's time from onset to half level.
#define MOST_LAGS 8.0
/// How far its own time from onset to half level may be from what is usual for the reed.
#define LAG_LEAST 0.5
#define LAG_MOST 2.0
/// A note whose fall is less than this is not split in two: seen, and with the room's tail taken
/// off, dB.
#define LEAST_SEEN_DB 2.5
#define LEAST_SPLIT_DB 6.3
/// A sound that leaps to so many times its level begins only there.
#define LEAP 1.7f
/// What is beside a reed is all its bend if before and after there is no more than this share of
/// it, and not at all from the second on.
#define BEND_ALL 0.2f
#define BEND_NONE 0.6f
/// What is under this share of the reed tells nothing of what is beside it.
#define FAINT_BEND 0.04f
/// What begins at most so many frames before a reed may be its bend: 30 ms.
#define WITH_IT 15
/// A doubled note has at least this share of what an octave above it takes up of its own.
#define BESIDE_SHARE 0.3f
/// Of a doubled octave, the upper reed has at least this share of the lower.
#define BOTH_SHARE 0.2f
/// An octave below is told where it has this share.
#define LEAST_BELOW 0.1f
/// Loud is at least so many times what is no noise.
#define LOUD_OVER_FLOOR 10.0f
/// A shorter dip, frames, is a beat with what sounds beside it.
#define LEAST_SPLIT_FRAMES 7
/// A dip of fewer frames than this is no release.
#define LEAST_DIP 8
/// A short dip, frames, is deeper by this factor, dB for dB, than the window shows it.
#define SHORT_DIP 20
#define SMEARED 1.8
/// A reed that is softer but sounds on has this share of its level, and this of what it had so many
/// frames ago, 60 ms.
#define SOFTER_SHARE 0.25f
#define SOFTER_STEADY 0.85f
#define SOFTER_FRAMES 30
/// What a full release must show at least, dB, for a share of it to mean something.
#define LEAST_FULL_DB 2.0
/// Most that a reed that has let go can be taken to show, as power against its level.
#define MOST_SHOWN 0.6
/// A reed that ended of late speaks anew at so many times what it fell to and this share of its
/// last level; at less of that if it rose by more.
#define RISEN 1.6f
#define RISEN_SHARE 0.5f
#define MUCH_RISEN 6.0f
#define MUCH_RISEN_SHARE 0.25f
/// A note returns from under its cut at so many times the least it fell to and this share of the
/// level it had.
#define RETURN_RISEN 1.5f
#define RETURN_SHARE 0.25f
/// How long a reed may be silent and its fall still be told, frames: 0.4 s.
#define RECENT 200
/// Frequencies are measured from one stride to the next.
#define LAG SR_STRIDE_FRAMES
/// Harmonics that are measured.
#define MEASURED 3u
/// Reeds start flat: the first frames of a sound, 80 ms, count for little in its pitch.
#define BENT_FRAMES 40.0
#define BENT_WEIGHT 0.05
/// Harmonics whose phase is compared over a dip.
#define PHASES 6u
/// Marks of the phase that are kept, one a stride, so that one before the dip is at hand.
#define MARKS 4u
/// Marks that are kept to see a reed speak anew while its level hardly tells, one a stride.
#define TRAIL 20u
/// They are compared over at least and at most so many frames.
#define TRAIL_LEAST 20
#define TRAIL_MOST 75
/// None is taken while the reed and the room about it still settle: 50 ms.
#define TRAIL_FROM 25
/// A mark is clear where the reed has this share of all that sounds.
#define CLEAR_SHARE 0.55f
/// Phases agree by less than this, so many times in a row, and the level fell by this, dB.
#define BROKEN 0.4
#define BREAKS 3
#define LEAST_BREAK_DB 2.2
/// A harmonic is compared if its product is this share of the strongest one's.
#define PHASE_SHARE 0.01
/// The pitch may have bent by so much meanwhile, cents.
#define PHASE_CENTS 1.5
/// A mark is taken while the reed is at this share of its level.
#define STEADY_MARK 0.8f
/// The mark after a dip is the last one up to so many frames behind it: 60 ms.
#define MARK_AFTER 30
/// Against the sum of the room's noise, a sound must have this.
#define OVER_FLOOR 0.4f

typedef enum { SILENT, SOUNDING, DIPPING } State;

/// The harmonics of a reed at one moment.
typedef struct {
  int64_t frame;
  float value[PHASES][2];
} Mark;

/// One reed's state.
typedef struct {
  State state;
  int64_t begin;    ///< Frame at which it was noticed
  int64_t complete; ///< Frame by which its attack may be complete, once it was looked at
  bool settled;     ///< Its onset is known
  double onset;     ///< In frames
  double own_lag;   ///< From there to half its level, as its rise shows it, frames
  double silent;    ///< How silent it was before, 0 to 1
  bool guessed;     ///< Somebody looked before it was settled, and found `guess`
  double guess;
  double fall_db;
  float hold; ///< Level it has
  float peak;
  int64_t dip; ///< Frame at which it began to fall
  float dip_least;
  int64_t dip_frame; ///< Where it is least
  int64_t last_end;  ///< Frame at which it last ended
  bool refused;      ///< What ended then was no sound
  bool between;      ///< It is a written cut that began while its note was silent
  float last_hold;
  double amount_sum; ///< Over its frames
  double lower_sum;  ///< Of the strongest reed whose harmonics include it
  double beside_sum; ///< Of the strongest reed within two semitones
  double below_sum;  ///< Of the octave below that counts as this reed
  double misfit_sum;
  double noise_sum;
  double total_sum;
  double power_sum;
  double frames;
  Mark marks[MARKS]; ///< The last ones while it was steady
  size_t mark_count;
  Mark trail[TRAIL]; ///< Clear moments since it began
  size_t trail_count;
  int breaks;         ///< Comparisons in a row that did not agree
  Mark check;         ///< From before a cut on top of it; frame 0 without
  int64_t check_from; ///< Where that cut began
  int64_t check_at;   ///< When to look
  Mark before;        ///< From before the dip it came out of; frame 0 without
  Mark after;         ///< The last one taken since
  double before_hz;
  double turn[MEASURED][2];         ///< Sum of each harmonic's turn over LAG frames
  double settled_turn[MEASURED][2]; ///< The same, mostly from when its pitch had settled
} Reed;

/// A sound that has ended.
typedef struct {
  SrEvent event;
  double amount;
  double share; ///< Of all that was heard meanwhile
  double lower;
  double beside;
  float peak;
  float loudest; ///< Of all reeds about it
} Ended;

_Static_assert(SR_HIGHEST_MIDI - SR_LOWEST_MIDI < 64, "a bit for each pitch");

struct SrSoundFinderImpl {
  SrFrameGrid grid;
  const SrProfile* profile;
  bool any_learnt; ///< Any of its reeds
  SrExpected expected;
  SrHindsight* hindsight;
  int64_t frame; ///< Frames taken
  float history[SR_PITCHES][SR_SOUND_MEMORY + MEMORY_APART];
  uint64_t sounding[SR_SOUND_MEMORY]; ///< A bit for each pitch that has an amount there
  uint64_t active;                    ///< A bit for each reed that is not silent
  float loudest[SR_SOUND_MEMORY];     ///< Of all reeds
  Reed reeds[SR_PITCHES];
  float own_tail_db[SR_PITCHES][SR_TAIL_FRAMES]; ///< The same for one reed
  float own_tail_count[SR_PITCHES];
  double tail_db[SR_TAIL_FRAMES]; ///< How far a reed that let go has fallen, by frames since
  double tail_count;
  float below[SR_PITCHES];          ///< Share of the last frame's amount that was an octave below
  int64_t octave_below[SR_PITCHES]; ///< Frame at which it last sounded with its octave below
  double lag[SR_PITCHES];           ///< From onset to half level, frames
  double lag_count[SR_PITCHES];
  float follow;                 ///< Loudness that is remembered
  float unit_power[SR_PITCHES]; ///< Mean square of a sound for an activation of 1
  size_t harmonic_bin[SR_PITCHES][PHASES];
  float past[SR_PITCHES][MEASURED][2]; ///< Each harmonic at the end of the last stride
  float quiet;                         ///< Least activation that is no noise
  SrEvent* queue;                      ///< Sounds not yet pulled
  size_t queue_size;
  size_t queued;
  bool lost; ///< One did not find room
};

SrSoundFinder*
sr_sound_finder_new(const SrProfile* const profile, const SrFrameGrid* const grid,
                    const SrExpected* const expected)
{
  SrSoundFinder* const f = (SrSoundFinder*)calloc(1, sizeof(SrSoundFinder));
  float* const templates = (float*)malloc(SR_PITCHES * grid->padded * sizeof(float));
  if (f) {
    f->hindsight = sr_hindsight_new(profile, grid, expected);
  }
  if (!f || !f->hindsight || !templates) {
    sr_sound_finder_del(f);
    free(templates);
    return NULL;
  }
  f->grid = *grid;
  f->profile = profile;
  if (expected) {
    f->expected = *expected;
  }
  sr_profile_templates(profile, grid, templates);
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    // The lobes of a sine of amplitude A have squares that add up to 1.5 A^2
    float squares = 0.0f;
    for (size_t b = 0; b < grid->bins; ++b) {
      const float value = templates[p * grid->padded + b];
      squares += value * value;
    }
    f->unit_power[p] = squares / 1.5f / 2.0f;
    for (size_t k = 0; k < PHASES; ++k) {
      const double hz = sr_profile_frequency_hz(profile, p) * (double)(k + 1);
      const double place = hz / grid->bin_hz - (double)grid->first_bin;
      f->harmonic_bin[p][k] = (size_t)fmin(fmax(round(place), 0.0), (double)grid->bins - 1.0);
    }
    f->reeds[p].last_end = INT64_MIN / 2;
    f->octave_below[p] = INT64_MIN / 2;
  }
  sr_profile_floor(profile, grid, templates);
  for (size_t b = 0; b < grid->bins; ++b) {
    f->quiet += OVER_FLOOR * templates[b];
  }
  free(templates);
  memcpy(f->tail_db, profile->tail_db, sizeof(f->tail_db));
  memcpy(f->own_tail_db, profile->own_tail_db, sizeof(f->own_tail_db));
  f->tail_count = profile->tail_count;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    f->own_tail_count[p] = profile->own_tail_count[p];
    f->any_learnt = f->any_learnt || profile->reeds[p].learnt;
    f->lag[p] = profile->reeds[p].lag_frames;
    f->lag_count[p] = profile->reeds[p].lag_count;
  }
  return f;
}

void
sr_sound_finder_del(SrSoundFinder* const f)
{
  if (f) {
    sr_hindsight_del(f->hindsight);
    free(f->queue);
    free(f);
  }
}

static bool
is_kept(const SrSoundFinder* const f, const int64_t frame)
{
  return frame >= 0 && frame > f->frame - (int64_t)SR_SOUND_MEMORY;
}

static float
at(const SrSoundFinder* const f, const size_t p, const int64_t frame)
{
  return is_kept(f, frame) ? f->history[p][(uint64_t)frame % SR_SOUND_MEMORY] : 0.0f;
}

static bool
is_written(const SrSoundFinder* const f, const size_t p)
{
  return f->expected.any && f->expected.expected[p + SR_LOWEST_MIDI];
}

static double
frame_time(const SrSoundFinder* const f, const double frame)
{
  return frame * (double)f->grid.hop / f->grid.rate_hz;
}

/// Learn how long a reed takes from its onset to half its level, from a start out of silence, which
/// counts the more the deeper that was.
static void
learn_lag(SrSoundFinder* const f, const size_t p, const double frames, const double weight)
{
  f->lag_count[p] = fmin(MOST_LAGS, f->lag_count[p] + weight);
  f->lag[p] += weight * (frames - f->lag[p]) / f->lag_count[p];
}

/// That time for a reed, from its own starts or its neighbours'; `else_frames` if nothing is known.
static double
lag_of(const SrSoundFinder* const f, const size_t p, const double else_frames)
{
  double sum = 0.2 * else_frames;
  double weights = 0.2;
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    const double apart = fabs((double)p - (double)q);
    const double weight = f->lag_count[q] * exp2(-2.0 * apart);
    sum += weight * f->lag[q];
    weights += weight;
  }
  return sum / weights;
}

/**
   What share of a template beside a starting reed is a part of it: its pitch bends while
   it starts, often by more than a semitone. A neighbour that sounded before, or goes
   on to sound, keeps what is its own.
*/
static float
bent_share(const SrSoundFinder* const f, const size_t p, const size_t q)
{
  const int64_t begin = f->reeds[p].begin;
  const Reed* const beside = &f->reeds[q];
  const bool of_late = beside->state != SILENT || begin - beside->last_end <= LOOK_BACK + ATTACK;
  if (q > p && (is_written(f, q) || of_late)) {
    return 0.0f; // a cut that is just over
  }
  float before = 0.0f;
  float during = FAINT_BEND * f->reeds[p].hold + 1e-12f;
  for (int64_t i = begin - LOOK_BACK; i <= f->frame; ++i) {
    float* const most = i < begin - WITH_IT ? &before : &during;
    const float amount = at(f, q, i);
    *most = amount > *most ? amount : *most;
  }
  const float other = q < p ? fmaxf(before, at(f, q, f->frame)) : before;
  return fminf(1.0f, fmaxf(0.0f, (BEND_NONE - other / during) / (BEND_NONE - BEND_ALL)));
}

/// Reeds that sound about a rise and are no part of it.
typedef struct {
  float strength[SR_PITCHES]; ///< Against the least that counts; 0 for the rising reed's own
  float amount[SR_PITCHES];
} Others;

static Others
find_others(const SrSoundFinder* const f, const size_t p, const int64_t first, const int64_t last)
{
  Others others = {{0.0f}, {0.0f}};
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    const bool own = q + 2 >= p && q <= p + 2;
    const bool shadow = f->expected.any && !is_written(f, q);
    float most = 0.0f;
    for (int64_t i = first; i <= last && !own; ++i) {
      const float amount = at(f, q, i);
      most = amount > most ? amount : most;
    }
    others.amount[q] = most;
    others.strength[q] = most / ((shadow ? UNWRITTEN_OTHER : LEAST_OTHER) * f->follow);
  }
  return others;
}

/// Add those of at least a strength, the loudest first.
static void
add_others(const Others* const others, const float least, SrRows* const rows)
{
  float amount[SR_PITCHES];
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    amount[q] = others->strength[q] > least ? others->amount[q] : 0.0f;
  }
  while (rows->count < SR_ROWS) {
    size_t best = 0;
    for (size_t q = 1; q < SR_PITCHES; ++q) {
      best = amount[q] > amount[best] ? q : best;
    }
    if (!(amount[best] > 0.0f)) {
      return;
    }
    rows->row[rows->count++] = best;
    amount[best] = 0.0f;
  }
}

/// How a sound began.
typedef struct {
  double half;    ///< Where it was half way up, frames
  double own_lag; ///< From its onset to there, as its rise shows it
  double base;    ///< What was there before, against its level
  double silent;  ///< How silent it was before, 0 to 1: so much can be learnt from it of its reed
} Start;

/// What is looked at of a rise.
typedef struct {
  int64_t sure; ///< Frame at which it had certainly begun
  int64_t last; ///< As far as this one,
  double part;  ///< of which so much counts, 0 to 1
} Stretch;

/// All of it that was heard so far.
static Stretch
so_far(const SrSoundFinder* const f, const size_t p)
{
  return (Stretch){f->reeds[p].begin, f->frame, 1.0};
}

/**
   Look at a rise again with the reeds that sound about it.

   One that sounds hardly enough to count would change what is seen at a stroke when
   the frames come to lie elsewhere: with it and without it are then weighed.
*/
static void
look_again(SrSoundFinder* const f, const size_t p, const Stretch* const stretch,
           const SrRows* const own, const int updates, float* const values)
{
  const int64_t first = stretch->sure - LOOK_BACK;
  const size_t back = (size_t)(f->frame - first);
  const size_t count = (size_t)(stretch->last - first + 1);
  const Others others = find_others(f, p, first, stretch->last);
  float weight = 0.0f;
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    if (others.strength[q] < SURE_OTHER) {
      weight = fmaxf(weight, (others.strength[q] - HARDLY_OTHER) / (SURE_OTHER - HARDLY_OTHER));
    }
  }
  SrRows rows = *own;
  add_others(&others, SURE_OTHER, &rows);
  sr_hindsight_rise(f->hindsight, p, &rows, back, count, LOOK_BACK, updates, values);
  if (weight > 0.0f) {
    float with[MOST_ATTACK + LOOK_BACK + 2];
    rows = *own;
    add_others(&others, HARDLY_OTHER, &rows);
    sr_hindsight_rise(f->hindsight, p, &rows, back, count, LOOK_BACK, updates, with);
    for (size_t i = 0; i < count; ++i) {
      values[i] += weight * (with[i] - values[i]);
    }
  }
}

/// Measure a sound's rise; nothing is changed.
static Start
measure_start(SrSoundFinder* const f, const size_t p, const Stretch* const asked, const int updates)
{
  float values[MOST_ATTACK + LOOK_BACK + 2];
  Stretch stretch = *asked;
  if (stretch.last > stretch.sure + MOST_ATTACK) {
    stretch.last = stretch.sure + MOST_ATTACK;
    stretch.part = 1.0;
  }
  SrRows rows = {.count = 0};
  for (size_t q = p > 2 ? p - 2 : 0; q <= p + 2 && q < SR_PITCHES; ++q) {
    if (q != p) {
      rows.share[rows.count] = bent_share(f, p, q);
      rows.row[rows.count++] = q;
    }
  }
  rows.own = rows.count;
  look_again(f, p, &stretch, &rows, updates, values);
  const int64_t first = stretch.sure - LOOK_BACK;
  const size_t count = (size_t)(stretch.last - first + 1);
  const double frame_ms = 1e3 * frame_time(f, 1.0);
  SrRise rise = sr_onset_measure(values, count, LOOK_BACK, frame_ms);
  if (stretch.part < 1.0 && LOOK_BACK + 2 < count) {
    const SrRise shorter = sr_onset_measure(values, count - 1, LOOK_BACK, frame_ms);
    rise.half += (1.0 - stretch.part) * (shorter.half - rise.half);
    rise.onset += (1.0 - stretch.part) * (shorter.onset - rise.onset);
    rise.base += (1.0 - stretch.part) * (shorter.base - rise.base);
  }
  const double own = rise.half - rise.onset;
  const bool whole = rise.onset > 1.0 && first >= 0;
  const double silent = whole ? fmax(0.0, 1.0 - rise.base / CLEAN_BASE) : 0.0;
  return (Start){(double)first + rise.half, own, rise.base, silent};
}

/// When a sound began, frames.
static double
onset_of(const SrSoundFinder* const f, const size_t p, const Start* const start)
{
  // The more its foot lies under what sounded before, the more what this reed usually takes counts
  const double trust = fmax(0.0, 1.0 - fmax(0.0, start->base - CLEAN_BASE) / HIDDEN_BASE);
  const double own = start->own_lag;
  const double usual = lag_of(f, p, own);
  const double bounded = fmin(fmax(own, LAG_LEAST * usual), LAG_MOST * usual);
  return start->half - (trust * bounded + (1.0 - trust) * usual);
}

/// When a sound had certainly begun that was half way up at a frame.
static int64_t
certainly(const SrSoundFinder* const f, const size_t p, const double half)
{
  const int64_t noticed = f->reeds[p].begin;
  const int64_t sure = (int64_t)round(half);
  if (sure < noticed - MOST_APART) {
    return noticed - MOST_APART;
  }
  return sure > noticed + MOST_APART ? noticed + MOST_APART : sure;
}

/// Fix when a sound began.
static void
settle(SrSoundFinder* const f, const size_t p, const Stretch* const stretch)
{
  Reed* const reed = &f->reeds[p];
  const Start start = measure_start(f, p, stretch, SR_REFINE_UPDATES);
  reed->own_lag = start.own_lag;
  reed->silent = start.silent;
  reed->onset = onset_of(f, p, &start);
  reed->settled = true;
}

/// Fix when a sound began, or say how long to wait with it. The same stretch of the rise is
/// measured whenever it was noticed, for that moment depends on where the frames lie.
static void
settle_if_complete(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  Stretch stretch = so_far(f, p);
  const double half = measure_start(f, p, &stretch, ROUGH_UPDATES).half;
  const int64_t complete = (int64_t)ceil(half) + AFTER_HALF;
  if (f->frame < complete && f->frame < reed->begin + MOST_ATTACK) {
    reed->complete = complete;
    return;
  }
  if (complete <= f->frame && complete > reed->begin + 2) {
    stretch.last = complete;
    stretch.part = 1.0 - (ceil(half) - half);
    stretch.sure = certainly(f, p, half);
  }
  settle(f, p, &stretch);
}

static void
begin(SrSoundFinder* const f, const size_t p, const double fall_db)
{
  Reed* const reed = &f->reeds[p];
  const int64_t last_end = reed->last_end;
  const float last_hold = reed->last_hold;
  const double before_hz = reed->before_hz;
  // Not the very last one, which may have seen the fall begin
  const size_t marks = reed->mark_count;
  const Mark before = marks ? reed->marks[(marks - (marks > 1 ? 2 : 1)) % MARKS] : (Mark){0};
  memset(reed, 0, sizeof(*reed));
  if (isfinite(fall_db)) {
    reed->before = before;
    reed->before_hz = before_hz;
  }
  reed->state = SOUNDING;
  reed->begin = f->frame;
  reed->fall_db = fall_db;
  reed->last_end = last_end;
  reed->last_hold = last_hold;
}

static double
decibels(const double ratio)
{
  return 20.0 * log10(ratio);
}

/// How far a reed fell from `hold` to `least`, as seen.
static double
seen_fall(const float hold, const float least)
{
  const double ratio = (double)least / (double)hold;
  return ratio < 1e-3 ? 60.0 : fmax(0.0, -decibels(ratio));
}

/**
   How far a reed's own sound fell, when in a dip of `frames` it was at `least`.

   What a reed that has let go would still show there is taken off, as power: in the
   middle of the dip the room's tail and the window's smear of the fall, and as much
   again of the rise behind it.
*/
static double
own_fall(const SrSoundFinder* const f, const size_t p, const float hold, const float least,
         const int64_t frames)
{
  if (!(hold > 0.0f)) {
    return (double)NAN;
  }
  // The window fills a dip not much longer than itself: what is seen of it is a part
  const double deeper = SMEARED * seen_fall(hold, least);
  if (frames < LEAST_DIP) {
    return deeper;
  }
  const int64_t half = frames / 2;
  const size_t place = (size_t)(half < SR_TAIL_FRAMES ? half : SR_TAIL_FRAMES - 1);
  // A steady tone meets its own reflections: how much is left of it differs from pitch to pitch
  const double own_weight = (double)f->own_tail_count[p];
  const double tail_db =
      (f->tail_db[place] + own_weight * (double)f->own_tail_db[p][place]) / (1.0 + own_weight);
  const double shown = 2.0 * pow(10.0, -tail_db / 10.0);
  const double ratio = (double)least / (double)hold;
  const double own = ratio * ratio - fmin(shown, MOST_SHOWN);
  const double taken_off = own > 1e-6 ? fmin(60.0, fmax(0.0, -10.0 * log10(own))) : 60.0;
  // In a live room all but nothing may be left to take off: then what share it fell of what
  // a full release would show there counts, on a scale on which that is 20 dB
  const double full = -10.0 * log10(fmin(shown, 0.9));
  const double share = full > LEAST_FULL_DB ? seen_fall(hold, least) / full : 0.0;
  const double least_own = frames < SHORT_DIP ? deeper : 0.0;
  return fmax(fmax(taken_off, least_own), fmin(20.0, 20.0 * share));
}

/// Learn the room's tail from a reed that has fallen and stayed down.
static void
learn_tail(SrSoundFinder* const f, const size_t p)
{
  const Reed* const reed = &f->reeds[p];
  f->tail_count += f->tail_count < 12.0 ? 1.0 : 0.0;
  f->own_tail_count[p] += f->own_tail_count[p] < 6.0f ? 1.0f : 0.0f;
  double lowest = 0.0;
  for (size_t i = 0; i < SR_TAIL_FRAMES && reed->dip + (int64_t)i < f->frame; ++i) {
    lowest = fmax(lowest, seen_fall(reed->hold, at(f, p, reed->dip + (int64_t)i)));
    const double fall = fmin(lowest, 40.0);
    f->tail_db[i] += (fall - f->tail_db[i]) / f->tail_count;
    f->own_tail_db[p][i] += ((float)fall - f->own_tail_db[p][i]) / f->own_tail_count[p];
  }
}

/// Frequency that the turns of a reed's harmonics tell.
static double
frequency_of(const SrSoundFinder* const f, const size_t p, const double turns[MEASURED][2])
{
  const Reed* const reed = &f->reeds[p];
  if (reed->frames < 8.0) {
    return NAN;
  }
  const double nominal = sr_profile_frequency_hz(f->profile, p);
  const double lag_s = frame_time(f, (double)LAG);
  double sum = 0.0;
  double weights = 0.0;
  for (size_t k = 0; k < MEASURED; ++k) {
    const double real = turns[k][0];
    const double imaginary = turns[k][1];
    const double number = (double)(k + 1);
    const double expected = 2.0 * M_PI * nominal * number * lag_s;
    const double turned = atan2(imaginary, real);
    const double off = remainder(turned - expected, 2.0 * M_PI);
    const double hz = off / (2.0 * M_PI * lag_s) / number;
    const double weight = hypot(real, imaginary) * number * number;
    sum += weight * hz;
    weights += weight;
  }
  return weights > 0.0 ? nominal + sum / weights : (double)NAN;
}

/// … over all that has been heard of it, as phases have gone on.
static double
mean_frequency(const SrSoundFinder* const f, const size_t p)
{
  return frequency_of(f, p, f->reeds[p].turn);
}

/// … or the one its pitch has, as long as too little has been heard of it.
static double
mean_or_nominal(const SrSoundFinder* const f, const size_t p)
{
  const double mean = mean_frequency(f, p);
  return isfinite(mean) ? mean : sr_profile_frequency_hz(f->profile, p);
}

/// How well a sound must fit its reed, if a written one must fit it by `fit`.
static double
least_fit(const SrSoundFinder* const f, const size_t p, const double length_s, const double fit)
{
  const bool unknown = f->any_learnt && !f->profile->reeds[p].learnt;
  const bool free_play = !f->expected.any;
  // Where nothing is written, what is short may be a cut
  if (is_written(f, p) || (free_play && length_s < SHORT_S)) {
    return fit * (f->profile->doubled ? DOUBLED_FIT : 1.0) * (unknown ? UNKNOWN_FIT : 1.0);
  }
  return OTHER_FIT * (free_play && unknown ? FREE_UNKNOWN_FIT : 1.0);
}

/// Whether what ended, or only starts, is a reed, not the shadow of another or of something else.
/// `fit` is how well a written one must fit its template.
static bool
is_sound(const SrSoundFinder* const f, const Ended* const ended, const double fit)
{
  const size_t p = (size_t)(ended->event.midi - SR_LOWEST_MIDI);
  const double length_s = ended->event.end_s - ended->event.onset_s;
  const bool written = is_written(f, p);
  if (length_s < 0.008) {
    return false;
  }
  if (ended->peak < (written ? WRITTEN_SHARE : OTHER_SHARE) * ended->loudest) {
    return false;
  }
  if (ended->lower > (written ? 2.5 : 0.8) * ended->amount) {
    return false;
  }
  if (ended->beside > 2.5 * ended->amount) {
    return false;
  }
  const double frequency = ended->event.frequency_hz;
  const double nominal = sr_profile_frequency_hz(f->profile, p);
  if (isfinite(frequency) && fabs(1200.0 * log2(frequency / nominal)) > MOST_CENTS) {
    return false;
  }
  return ended->event.fit > least_fit(f, p, length_s, fit);
}

/// Keep a sound until it is pulled.
static void
put(SrSoundFinder* const f, const SrEvent* const event)
{
  if (f->queued == f->queue_size) {
    const size_t size = f->queue_size ? 2 * f->queue_size : 64;
    SrEvent* const more = (SrEvent*)realloc(f->queue, size * sizeof(SrEvent));
    if (!more) {
      f->lost = true;
      return;
    }
    f->queue = more;
    f->queue_size = size;
  }
  f->queue[f->queued++] = *event;
}

/// Whether q is a cut or a strike that is written at p.
static bool
is_grace_of(const SrSoundFinder* const f, const size_t q, const size_t p)
{
  const unsigned* const graces = q > p ? f->expected.cuts : f->expected.strikes;
  const size_t step = q > p ? q - p : p - q;
  // Not an octave: its note's own start may look like it
  return step > 0 && step < 16 && step != 12 && ((graces[p + SR_LOWEST_MIDI] >> step) & 1u);
}

/// The pitches among which the graces of one lie: from the first to before the last.
static size_t
first_grace(const size_t p)
{
  return p > 15 ? p - 15 : 0;
}

static size_t
last_grace(const size_t p)
{
  return p + 16 < SR_PITCHES ? p + 16 : SR_PITCHES;
}

static float
loudest_between(const SrSoundFinder* const f, const int64_t first, const int64_t last)
{
  float most = 0.0f;
  const int64_t oldest = last - (int64_t)SR_SOUND_MEMORY + 2;
  for (int64_t i = last; i >= 0 && i >= first && i >= oldest; --i) {
    const float loudest = f->loudest[(uint64_t)i % SR_SOUND_MEMORY];
    most = loudest > most ? loudest : most;
  }
  return most;
}

/**
   Agreement of phases after a step in time at a frequency: the mean cosine over the
   harmonics that are strong enough. All count alike, since a reed that starts anew
   somewhere else in its period turns each harmonic by another angle.
*/
static double
agreement(const SrSoundFinder* const f, const Mark* const a, const Mark* const b, const double hz)
{
  const double step_s = frame_time(f, (double)(b->frame - a->frame));
  double real[PHASES];
  double imaginary[PHASES];
  double most = 0.0;
  for (size_t k = 0; k < PHASES; ++k) {
    real[k] = (double)(b->value[k][0] * a->value[k][0] + b->value[k][1] * a->value[k][1]);
    imaginary[k] = (double)(b->value[k][1] * a->value[k][0] - b->value[k][0] * a->value[k][1]);
    most = fmax(most, hypot(real[k], imaginary[k]));
  }
  double sum = 0.0;
  double count = 0.0;
  for (size_t k = 0; k < PHASES; ++k) {
    const double strength = hypot(real[k], imaginary[k]);
    if (strength > PHASE_SHARE * most) {
      const double turn = 2.0 * M_PI * hz * (double)(k + 1) * step_s;
      sum += (real[k] * cos(turn) + imaginary[k] * sin(turn)) / strength;
      count += 1.0;
    }
  }
  return count > 0.0 ? sum / count : (double)NAN;
}

/// The best agreement over a small bend of pitch.
static double
best_agreement(const SrSoundFinder* const f, const Mark* const a, const Mark* const b,
               const double hz)
{
  double best = -1.0;
  for (int step = -3; step <= 3; ++step) {
    const double bent = hz * exp2(PHASE_CENTS * step / 3.0 / 1200.0);
    best = fmax(best, agreement(f, a, b, bent));
  }
  return best;
}

/// Whether a reed sounds on in its old phase.
static double
phase_kept(const SrSoundFinder* const f, const Reed* const reed, const double after_hz)
{
  if (reed->before.frame == 0 || reed->after.frame == 0 || !isfinite(after_hz)) {
    return (double)NAN;
  }
  const bool known = isfinite(reed->before_hz) && reed->before_hz > 0.0;
  const double hz = known ? 0.5 * (reed->before_hz + after_hz) : after_hz;
  return best_agreement(f, &reed->before, &reed->after, hz);
}

/// A short sound has ended on top of others: have them looked at, whether they let go under it.
static void
ask_for_checks(SrSoundFinder* const f, const size_t cut, const int64_t from, const int64_t end)
{
  if (end - from > MOST_CUT) {
    return;
  }
  for (size_t p = first_grace(cut); p < last_grace(cut); ++p) {
    Reed* const reed = &f->reeds[p];
    const size_t kept = reed->trail_count < TRAIL ? reed->trail_count : TRAIL;
    const bool above = p < cut && cut - p <= SR_GRACE_MOST_STEP;
    if (reed->state == SILENT || reed->begin > from - TRAIL_FROM ||
        !(above || is_grace_of(f, cut, p))) {
      continue;
    }
    for (size_t i = 1; i <= kept; ++i) {
      const Mark* const mark = &reed->trail[(reed->trail_count - i) % TRAIL];
      if (mark->frame < from - 2) {
        reed->check = *mark;
        reed->check_from = from;
        reed->check_at = end + CHECK_AFTER;
        break;
      }
    }
  }
}

static double
fit_so_far(const Reed* const reed)
{
  return fmax(0.0, 1.0 - (reed->misfit_sum + reed->noise_sum) / reed->total_sum);
}

/// What a reed's sound would be if it ended at a frame.
static Ended
describe(const SrSoundFinder* const f, const size_t p, const double onset, const int64_t end_frame)
{
  const Reed* const reed = &f->reeds[p];
  Ended ended = {0};
  ended.peak = reed->peak;
  ended.loudest = loudest_between(f, reed->begin - ABOUT, f->frame);
  ended.amount = reed->amount_sum / reed->frames;
  ended.share = reed->amount_sum / reed->total_sum;
  ended.lower = reed->lower_sum / reed->frames;
  ended.beside = reed->beside_sum / reed->frames;
  SrEvent* const event = &ended.event;
  event->kind = SR_EVENT_SOUND;
  event->onset_s = frame_time(f, onset);
  event->end_s = frame_time(f, fmax((double)end_frame, onset + 1.0));
  event->midi = SR_LOWEST_MIDI + (int)p;
  event->frequency_hz = frequency_of(f, p, reed->settled_turn);
  event->level_db = 10.0 * log10(reed->power_sum / reed->frames + 1e-12);
  event->fall_db = reed->fall_db;
  event->phase_kept = phase_kept(f, reed, mean_frequency(f, p));
  event->fit = fit_so_far(reed);
  event->octave_below = f->profile->doubled ? 0.0 : reed->below_sum / (reed->amount_sum + 1e-12);
  return ended;
}

static void
end_sound(SrSoundFinder* const f, const size_t p, const int64_t end_frame)
{
  Reed* const reed = &f->reeds[p];
  if (!reed->settled) {
    const Stretch stretch = {reed->begin, end_frame, 1.0};
    settle(f, p, &stretch);
  }
  reed->last_end = end_frame;
  reed->last_hold = reed->hold;
  reed->state = SILENT;
  if (!(reed->frames > 0.0)) {
    return;
  }
  const Ended ended = describe(f, p, reed->onset, end_frame);
  reed->before_hz = mean_frequency(f, p);
  const bool cut = reed->between && end_frame - reed->begin <= MOST_CUT;
  const bool brief = ended.event.end_s - ended.event.onset_s < SHORT_S;
  reed->refused = !cut && !is_sound(f, &ended, brief ? SHORT_FIT : WRITTEN_FIT);
  if (!reed->refused) {
    if (reed->silent > 0.0 && !brief) {
      learn_lag(f, p, reed->own_lag, reed->silent);
    }
    put(f, &ended.event);
    ask_for_checks(f, p, reed->begin, end_frame);
  }
}

/// Tell of a cut that was not noticed when it sounded: it was softer than a reed that sounded of
/// late must be to have spoken anew.
static void
put_unnoticed(SrSoundFinder* const f, const size_t q, const int64_t from, const int64_t top)
{
  Reed* const reed = &f->reeds[q];
  const float most = at(f, q, top);
  int64_t first = top;
  while (first > from && at(f, q, first - 1) > LEAST_SHOWN * most) {
    --first;
  }
  int64_t last = top;
  while (last < f->frame && at(f, q, last + 1) > 0.5f * most) {
    ++last;
  }
  memset(reed, 0, sizeof(*reed));
  reed->begin = first;
  reed->hold = most;
  reed->peak = most;
  reed->fall_db = (double)NAN;
  for (int64_t i = first; i <= last; ++i) {
    const double amount = (double)at(f, q, i);
    reed->frames += 1.0;
    reed->amount_sum += amount;
    reed->total_sum += amount;
    reed->misfit_sum += (1.0 - SHORT_FIT) * amount;
    reed->power_sum += amount * amount * (double)f->unit_power[q];
  }
  const Stretch stretch = so_far(f, q);
  const Start start = measure_start(f, q, &stretch, SR_REFINE_UPDATES);
  const Ended ended = describe(f, q, onset_of(f, q, &start), last);
  reed->last_end = last;
  reed->last_hold = most;
  put(f, &ended.event);
}

/// The frame at which a falling reed crossed half way to its least.
static int64_t
end_of_fall(const SrSoundFinder* const f, const size_t p)
{
  const Reed* const reed = &f->reeds[p];
  const float half = 0.5f * (reed->hold + reed->dip_least);
  int64_t frame = reed->dip_frame;
  while (frame > reed->begin && at(f, p, frame) < half) {
    --frame;
  }
  return frame;
}

/// A note speaks that let go at a frame, or that another one went before: see to it that its cut is
/// told, which is little else than attack and may fit its template less than a reed must elsewhere.
/// It began by the frame `until`; `hold` is the level against which it counts.
static void
look_between(SrSoundFinder* const f, const size_t p, const int64_t from, const int64_t until,
             const float hold)
{
  if (f->reeds[p].refused || f->frame - from > MOST_CUT || hold < LOUD_SHARE * f->follow) {
    return;
  }
  for (size_t q = first_grace(p); q < last_grace(p); ++q) {
    Reed* const reed = &f->reeds[q];
    if (!is_grace_of(f, q, p)) {
      continue;
    }
    // What counts is how far it rises
    int64_t least = from - BETWEEN_FROM;
    int64_t bottom = least;
    int64_t top = least;
    for (int64_t i = least; i <= until; ++i) {
      least = at(f, q, i) < at(f, q, least) ? i : least;
      if (at(f, q, i) - at(f, q, least) > at(f, q, top) - at(f, q, bottom)) {
        bottom = least;
        top = i;
      }
    }
    // … and how far it does so again, where it leads into another note and rings on from before
    const bool rings = until < f->frame && reed->state == DIPPING;
    float before = at(f, q, bottom);
    for (int64_t i = from - BETWEEN_BEFORE; !rings && i < from - BETWEEN_FROM; ++i) {
      before = fmaxf(before, at(f, q, i));
    }
    if (!(at(f, q, top) - before > BETWEEN_SHARE * hold)) {
      continue;
    }
    const bool over = at(f, q, f->frame) < 0.5f * at(f, q, top);
    if (rings && reed->dip < bottom && over) {
      end_sound(f, q, end_of_fall(f, q));
    }
    if (reed->state != SILENT) {
      reed->between = reed->begin >= from - BETWEEN_BEFORE;
    } else if (reed->refused || reed->last_end <= bottom) {
      put_unnoticed(f, q, bottom, top);
    }
  }
}

/// Add one frame to a sounding reed's sums.
static void
add_frame(SrSoundFinder* const f, const size_t p, const SrActivationFrame* const frame,
          const SrFramer* const framer)
{
  Reed* const reed = &f->reeds[p];
  const float amount = at(f, p, f->frame);
  float lower = 0.0f;
  float beside = 0.0f;
  for (size_t j = 0; j < frame->count; ++j) {
    const size_t q = frame->pitch[j] % SR_PITCHES;
    if (q < p) {
      const size_t above = p - q;
      if (above == 12 || above == 19 || above == 24 || above == 28 || above == 31 || above == 34 ||
          above == 36) {
        lower = fmaxf(lower, frame->amount[j]);
      }
    }
    if (q != p && q + 2 >= p && q <= p + 2) {
      beside = fmaxf(beside, frame->amount[j]);
    }
  }
  reed->amount_sum += (double)amount;
  reed->lower_sum += (double)lower;
  reed->beside_sum += (double)beside;
  reed->below_sum += (double)(f->below[p] * amount);
  reed->misfit_sum += (double)(frame->misfit * frame->total);
  reed->noise_sum += (double)(frame->noise[0] + frame->noise[1]);
  reed->total_sum += (double)frame->total + 1e-12;
  reed->power_sum += (double)(amount * amount * f->unit_power[p]);
  reed->frames += 1.0;
  for (size_t k = 0; framer && k < MEASURED; ++k) {
    float now[2];
    sr_framer_bin(framer, f->harmonic_bin[p][k], &now[0], &now[1]);
    float* const past = f->past[p][k];
    if (reed->frames > (double)LAG) {
      const double weight = reed->frames < BENT_FRAMES ? BENT_WEIGHT : 1.0;
      const double real = (double)(now[0] * past[0] + now[1] * past[1]);
      const double imaginary = (double)(now[1] * past[0] - now[0] * past[1]);
      reed->turn[k][0] += real;
      reed->turn[k][1] += imaginary;
      reed->settled_turn[k][0] += weight * real;
      reed->settled_turn[k][1] += weight * imaginary;
    }
    past[0] = now[0];
    past[1] = now[1];
  }
  if (framer && amount > STEADY_MARK * reed->hold) {
    Mark mark = {.frame = f->frame};
    for (size_t k = 0; k < PHASES; ++k) {
      sr_framer_bin(framer, f->harmonic_bin[p][k], &mark.value[k][0], &mark.value[k][1]);
    }
    reed->marks[reed->mark_count++ % MARKS] = mark;
    if (amount > CLEAR_SHARE * frame->total && f->frame - reed->begin >= TRAIL_FROM) {
      reed->trail[reed->trail_count++ % TRAIL] = mark;
    }
    if (f->frame - reed->begin <= MARK_AFTER) {
      reed->after = mark;
    }
  }
}

/// The clear moment nearest to the least distance from the last one; NULL if there is none.
static const Mark*
earlier_mark(const Reed* const reed)
{
  const Mark* const last = &reed->trail[(reed->trail_count - 1) % TRAIL];
  const size_t kept = reed->trail_count < TRAIL ? reed->trail_count : TRAIL;
  for (size_t i = 2; i <= kept; ++i) {
    const Mark* const mark = &reed->trail[(reed->trail_count - i) % TRAIL];
    if (last->frame - mark->frame >= TRAIL_LEAST) {
      return last->frame - mark->frame <= TRAIL_MOST ? mark : NULL;
    }
  }
  return NULL;
}

/**
   See whether a sounding reed has spoken anew: its phases no longer agree with those
   of a moment ago, and there is a dip between, however slight. In a live room the
   dip alone proves nothing.
*/
static bool
has_broken(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  const Mark* const last = reed->trail_count ? &reed->trail[(reed->trail_count - 1) % TRAIL] : NULL;
  if (!last || last->frame != f->frame) {
    return false;
  }
  const Mark* const earlier = earlier_mark(reed);
  if (!earlier) {
    reed->breaks = 0;
    return false;
  }
  const double hz = mean_or_nominal(f, p);
  reed->breaks = best_agreement(f, earlier, last, hz) < BROKEN ? reed->breaks + 1 : 0;
  return reed->breaks >= BREAKS;
}

/// End a sound at a frame gone by and begin it anew there.
static void
part_at(SrSoundFinder* const f, const size_t p, const int64_t frame, const double fall_db,
        const Mark* const before, const Mark* const after)
{
  Reed* const reed = &f->reeds[p];
  const Mark old_mark = *before;
  const Mark new_mark = *after;
  end_sound(f, p, frame);
  begin(f, p, fall_db);
  reed->begin = frame + 1;
  reed->before = old_mark;
  reed->after = new_mark;
  for (int64_t i = frame; i <= f->frame; ++i) {
    reed->hold = fmaxf(reed->hold, at(f, p, i));
  }
  reed->peak = reed->hold;
}

/// Part a sound where its phase broke.
static void
part_at_break(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  const Mark after = reed->trail[(reed->trail_count - 1) % TRAIL];
  const Mark* const earlier = earlier_mark(reed);
  const Mark before = earlier ? *earlier : after;
  int64_t lowest = before.frame;
  float top = 0.0f;
  for (int64_t i = before.frame; i <= after.frame; ++i) {
    lowest = at(f, p, i) < at(f, p, lowest) ? i : lowest;
  }
  for (int64_t i = before.frame; i <= lowest; ++i) {
    top = fmaxf(top, at(f, p, i));
  }
  const double fall = top > 0.0f ? seen_fall(top, at(f, p, lowest)) : 0.0;
  reed->breaks = 0;
  if (fall < LEAST_BREAK_DB || lowest <= reed->begin + TRAIL_FROM) {
    return;
  }
  part_at(f, p, lowest, fall, &before, &after);
}

/// Look at a note that a cut lay on top of; part it if it let go there.
static bool
check_under_cut(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  const Mark* const last = reed->trail_count ? &reed->trail[(reed->trail_count - 1) % TRAIL] : NULL;
  if (reed->check.frame == 0 || f->frame < reed->check_at || !last || last->frame != f->frame) {
    return false;
  }
  const Mark before = reed->check;
  const Mark after = *last;
  const int64_t from = reed->check_from;
  const int64_t to = reed->check_at - CHECK_AFTER + 8;
  reed->check.frame = 0;
  if (after.frame - before.frame > 2 * (int64_t)TRAIL_MOST) {
    return false;
  }
  const double hz = mean_or_nominal(f, p);
  if (best_agreement(f, &before, &after, hz) > CUT_BROKEN) {
    return false;
  }
  int64_t lowest = from;
  float top = at(f, p, before.frame);
  for (int64_t i = from; i <= to && i <= f->frame; ++i) {
    lowest = at(f, p, i) < at(f, p, lowest) ? i : lowest;
  }
  const double fall = top > 0.0f ? seen_fall(top, at(f, p, lowest)) : 0.0;
  if (fall < LEAST_BREAK_DB) {
    return false;
  }
  part_at(f, p, lowest, fall, &before, &after);
  return true;
}

/// Whether a reed that fell goes on at what it fell to: loud at first, or played softer, but not
/// let go, for then it would be gone, or fall with the room.
static bool
sounds_on(const SrSoundFinder* const f, const size_t p)
{
  const Reed* const reed = &f->reeds[p];
  const float now = at(f, p, f->frame);
  const float earlier = at(f, p, f->frame - SOFTER_FRAMES);
  return reed->dip_least > SOFTER_SHARE * reed->hold && now > SOFTER_STEADY * earlier &&
         earlier > SOFTER_STEADY * now;
}

static void
follow_reed(SrSoundFinder* const f, const size_t p, const SrActivationFrame* const frame,
            const SrFramer* const framer)
{
  Reed* const reed = &f->reeds[p];
  const float now = f->history[p][(uint64_t)f->frame % SR_SOUND_MEMORY];
  if (reed->state == SILENT && !(now > f->quiet)) {
    return; // most of them, most of the time
  }
  const float enough = fmaxf(f->quiet, (is_written(f, p) ? 0.10f : 0.16f) * f->follow);

  if (reed->state == SILENT) {
    if (now > enough) {
      double fall_db = NAN;
      if (f->frame - reed->last_end < RECENT) {
        float least = now;
        for (int64_t i = reed->last_end; i < f->frame; ++i) {
          least = fminf(least, at(f, p, i));
        }
        // A tail that still rings is no new sound
        const float risen = now > MUCH_RISEN * least ? MUCH_RISEN_SHARE : RISEN_SHARE;
        if (now < RISEN * least || now < risen * reed->last_hold) {
          return;
        }
        fall_db = own_fall(f, p, reed->last_hold, least, RECENT);
        look_between(f, p, reed->last_end, f->frame, reed->last_hold);
      }
      begin(f, p, fall_db);
    } else {
      return;
    }
  }

  if (reed->state == SOUNDING) {
    if (f->frame - reed->begin > ATTACK / 2 && now > LEAP * reed->hold) {
      // What was there before was a shadow; the reed speaks only now
      const bool between = reed->between;
      begin(f, p, reed->fall_db);
      reed->between = between;
    }
    add_frame(f, p, frame, framer);
    reed->peak = fmaxf(reed->peak, now);
    if (!reed->settled && f->frame >= reed->begin + ATTACK && f->frame >= reed->complete) {
      settle_if_complete(f, p);
      const bool led_in = reed->begin - reed->last_end > MOST_CUT;
      if (reed->settled && led_in && fit_so_far(reed) > LED_IN_FIT) {
        look_between(f, p, reed->begin - LED_IN, reed->begin + BETWEEN_FROM, f->follow);
      }
    }
    if (now > reed->hold) {
      reed->hold += (f->frame - reed->begin < ATTACK ? 1.0f : 0.1f) * (now - reed->hold);
    } else if (now > 0.75f * reed->hold) {
      reed->hold += 0.02f * (now - reed->hold);
    }
    if (framer && check_under_cut(f, p)) {
      return;
    }
    if (framer && has_broken(f, p)) {
      part_at_break(f, p);
      return;
    }
    if (now < 0.7f * reed->hold) {
      reed->state = DIPPING;
      reed->dip = f->frame;
      reed->dip_least = now;
      reed->dip_frame = f->frame;
    }
    return;
  }

  // DIPPING
  if (now < reed->dip_least) {
    reed->dip_least = now;
    reed->dip_frame = f->frame;
  }
  const bool back = now > 0.85f * reed->hold;
  const double seen = seen_fall(reed->hold, reed->dip_least);
  const double own = own_fall(f, p, reed->hold, reed->dip_least, reed->dip_frame - reed->dip);
  const bool rises = now > 1.25f * reed->dip_least && now > 0.5f * reed->hold && now > enough;
  const bool lasts = f->frame - reed->dip >= LEAST_SPLIT_FRAMES;
  const bool parted = lasts && seen >= LEAST_SEEN_DB && own >= LEAST_SPLIT_DB;
  if (parted && rises) {
    const int64_t end = end_of_fall(f, p);
    end_sound(f, p, end);
    look_between(f, p, end, f->frame, reed->hold);
    begin(f, p, own);
    add_frame(f, p, frame, framer);
    reed->hold = now;
    reed->peak = now;
  } else if (parted && back && !(now > enough)) {
    end_sound(f, p, end_of_fall(f, p)); // what comes again is too soft to be a sound
  } else if (back) {
    reed->state = SOUNDING;
  } else if (f->frame - reed->dip > SR_TAIL_FRAMES) {
    if (sounds_on(f, p)) {
      reed->state = SOUNDING;
      reed->hold = now;
    } else {
      learn_tail(f, p);
      end_sound(f, p, end_of_fall(f, p));
    }
  }
}

/**
   Count an octave below a written note, itself not written, as that note: it is
   doubled, and which of the two takes up the harmonics they share wavers.
*/
static void
fold_octaves(SrSoundFinder* const f, const size_t slot)
{
  memset(f->below, 0, sizeof(f->below));
  if (f->profile->accompanied) {
    return;
  }
  // From the top, so that what is folded up is not folded again
  for (size_t p = SR_PITCHES; f->expected.any && p-- > 12;) {
    // Where the lower one is written too: only if this take doubles, and both sound
    const bool both =
        f->profile->doubled && f->history[p][slot] > BOTH_SHARE * f->history[p - 12][slot];
    if (is_written(f, p) && (both || !is_written(f, p - 12))) {
      if (f->history[p - 12][slot] > LEAST_BELOW * f->history[p][slot]) {
        f->octave_below[p] = f->frame;
      }
      f->history[p][slot] += f->history[p - 12][slot];
      f->below[p] = f->history[p - 12][slot] / (f->history[p][slot] + 1e-12f);
      f->history[p - 12][slot] = 0.0f;
    }
  }
  // Where notes are doubled, the harmonics both reeds share beat, and an octave above takes up
  // what the pair's mean template lacks
  for (size_t p = 0; f->profile->doubled && p + 12 < SR_PITCHES; ++p) {
    const bool beside = f->history[p][slot] > BESIDE_SHARE * f->history[p + 12][slot];
    if (is_written(f, p) && f->profile->reeds[p].doubled && (beside || !is_written(f, p + 12))) {
      f->history[p][slot] += f->history[p + 12][slot];
      f->history[p + 12][slot] = 0.0f;
    }
  }
}

void
sr_sound_finder_do(SrSoundFinder* const f, const SrActivationFrame* const frame,
                   const float* const magnitudes, const SrFramer* const framer)
{
  sr_hindsight_put(f->hindsight, magnitudes);
  const size_t slot = (size_t)((uint64_t)f->frame % SR_SOUND_MEMORY);
  float loudest = 0.0f;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (f->sounding[slot] >> p & 1u) {
      f->history[p][slot] = 0.0f; // of long ago
    }
  }
  for (size_t j = 0; j < frame->count; ++j) {
    float* const amount = &f->history[frame->pitch[j] % SR_PITCHES][slot];
    *amount += frame->amount[j];
    loudest = *amount > loudest ? *amount : loudest;
  }
  fold_octaves(f, slot);
  f->sounding[slot] = 0;
  for (size_t j = 0; j < frame->count; ++j) {
    // An octave's amount may have been given to the pitch above or below
    for (size_t p = frame->pitch[j] % SR_PITCHES % 12; p < SR_PITCHES; p += 12) {
      f->sounding[slot] |= f->history[p][slot] > 0.0f ? UINT64_C(1) << p : 0;
    }
  }
  f->loudest[slot] = loudest;
  // Falls by 20 dB in a second, so that quiet playing after loud is heard
  f->follow = fmaxf(loudest, f->follow * 0.9954f);
  f->follow = fmaxf(f->follow, 0.01f);
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    const uint64_t bit = UINT64_C(1) << p;
    if ((f->sounding[slot] | f->active) & bit) {
      follow_reed(f, p, frame, framer);
      f->active = f->reeds[p].state == SILENT ? f->active & ~bit : f->active | bit;
    }
  }
  ++f->frame;
}

/// Whether a cut of a reed began when that let go, and lets go itself by now.
static bool
cut_lets_go(const SrSoundFinder* const f, const size_t p, const int64_t from)
{
  for (size_t q = first_grace(p); q < last_grace(p); ++q) {
    const Reed* const cut = &f->reeds[q];
    if (is_grace_of(f, q, p) && cut->begin >= from - BETWEEN_BEFORE && cut->state != SOUNDING &&
        !(cut->state == SILENT && cut->refused)) {
      return true;
    }
  }
  return false;
}

/// A sound that is not over, as it looks at the last frame; false if it is none yet.
static bool
look_at(SrSoundFinder* const f, const size_t p, const int64_t least_seen, SrOpenSound* const open)
{
  Reed* const reed = &f->reeds[p];
  if (reed->state == SILENT || !(reed->frames > 0.0)) {
    return false;
  }
  // What returned from under its cut has been seen while it rose
  const bool returned = isfinite(reed->fall_db) && cut_lets_go(f, p, reed->last_end);
  const int64_t since = f->frame - reed->begin;
  const int64_t seen = returned && since < least_seen ? least_seen : since;
  if (seen < least_seen) {
    return false;
  }
  if (!reed->settled && !reed->guessed) {
    Stretch stretch = so_far(f, p);
    const double half = measure_start(f, p, &stretch, ROUGH_UPDATES).half;
    stretch.sure = certainly(f, p, half);
    const Start start = measure_start(f, p, &stretch, SR_REFINE_UPDATES);
    reed->guess = onset_of(f, p, &start);
    reed->guessed = true;
  }
  const double onset = reed->settled ? reed->onset : reed->guess;
  const bool falling = reed->state == DIPPING;
  const Ended ended = describe(f, p, onset, falling ? end_of_fall(f, p) : f->frame);
  open->event = ended.event;
  open->seen_s = frame_time(f, (double)seen);
  open->falling_s = falling ? frame_time(f, (double)(f->frame - reed->dip)) : 0.0;
  open->fallen_db = falling ? seen_fall(reed->hold, at(f, p, f->frame)) : 0.0;
  // Its length is not told yet, so that it is no reason to drop it
  Ended longer = ended;
  longer.event.end_s = fmax(ended.event.end_s, ended.event.onset_s + 2.0 * SHORT_S);
  open->doubtful = !reed->between &&
                   !is_sound(f, &longer, open->seen_s < STARTING_S ? STARTING_FIT : WRITTEN_FIT);
  return !open->doubtful || (open->seen_s < DOUBTFUL_S && is_sound(f, &longer, DOUBTFUL_FIT));
}

/// A note that let go for its cut and rises again, while it is not as loud yet as it must be to
/// have spoken for sure; false if there is none.
static bool
look_at_return(const SrSoundFinder* const f, const size_t p, const int64_t least_seen,
               SrOpenSound* const open)
{
  const Reed* const reed = &f->reeds[p];
  const bool dips = reed->state == DIPPING;
  const int64_t from = dips ? reed->dip : reed->last_end;
  const float hold = dips ? reed->hold : reed->last_hold;
  const bool was_none = !dips && reed->refused;
  if (reed->state == SOUNDING || was_none || !(reed->frames > 0.0) || f->frame - from > MOST_CUT ||
      hold < LOUD_SHARE * f->follow || !cut_lets_go(f, p, from)) {
    return false;
  }
  int64_t lowest = f->frame;
  while (lowest > from && at(f, p, lowest - 1) < at(f, p, lowest)) {
    --lowest;
  }
  const float now = at(f, p, f->frame);
  const float least = at(f, p, lowest);
  if (f->frame - lowest < least_seen + 1 || now < RETURN_RISEN * least ||
      now < RETURN_SHARE * hold) {
    return false;
  }
  int64_t onset = f->frame;
  while (onset > lowest && at(f, p, onset) * at(f, p, onset) > least * now) {
    --onset;
  }
  Ended ended = describe(f, p, (double)onset, f->frame);
  ended.event.fall_db = own_fall(f, p, hold, least, lowest - from);
  ended.event.phase_kept = (double)NAN;
  *open = (SrOpenSound){
      .event = ended.event, .seen_s = frame_time(f, (double)(f->frame - lowest)), .doubtful = true};
  return ended.event.fall_db >= LEAST_SPLIT_DB;
}

size_t
sr_sound_finder_open(SrSoundFinder* const f, const double least_seen_s, SrOpenSound* const open,
                     const size_t room)
{
  const int64_t least_seen = (int64_t)ceil(least_seen_s / frame_time(f, 1.0) - 1e-6);
  size_t count = 0;
  if (f->frame == 0) {
    return 0;
  }
  // As it was when the last frame was done
  --f->frame;
  for (size_t p = 0; p < SR_PITCHES && count < room; ++p) {
    count += look_at(f, p, least_seen, &open[count]);
    count += count < room && look_at_return(f, p, least_seen, &open[count]);
  }
  ++f->frame;
  return count;
}

void
sr_sound_finder_finish(SrSoundFinder* const f)
{
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    Reed* const reed = &f->reeds[p];
    if (reed->state == DIPPING) {
      end_sound(f, p, end_of_fall(f, p));
    } else if (reed->state == SOUNDING) {
      end_sound(f, p, f->frame);
    }
  }
}

void
sr_sound_finder_learnt(const SrSoundFinder* const f, SrProfile* const profile)
{
  memcpy(profile->tail_db, f->tail_db, sizeof(f->tail_db));
  memcpy(profile->own_tail_db, f->own_tail_db, sizeof(f->own_tail_db));
  profile->tail_count = f->tail_count;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    profile->own_tail_count[p] = f->own_tail_count[p];
    profile->reeds[p].lag_frames = f->lag[p];
    profile->reeds[p].lag_count = f->lag_count[p];
  }
}

bool
sr_sound_finder_lost(const SrSoundFinder* const f)
{
  return f->lost;
}

bool
sr_sound_finder_pull(SrSoundFinder* const f, SrEvent* const event)
{
  if (f->queued == 0) {
    return false;
  }
  *event = f->queue[0];
  --f->queued;
  memmove(f->queue, f->queue + 1, f->queued * sizeof(SrEvent));
  return true;
}

int64_t
sr_sound_finder_frames(const SrSoundFinder* const f)
{
  return f->frame;
}

double
sr_sound_finder_frame_s(const SrSoundFinder* const f)
{
  return frame_time(f, 1.0);
}

const float*
sr_sound_finder_amounts(const SrSoundFinder* const f, const size_t pitch)
{
  return f->history[pitch];
}

uint64_t
sr_sound_finder_sounding(const SrSoundFinder* const f, const int64_t frame)
{
  return is_kept(f, frame) ? f->sounding[(uint64_t)frame % SR_SOUND_MEMORY] : 0;
}

float
sr_sound_finder_loudness(const SrSoundFinder* const f)
{
  return fmaxf(f->follow, LOUD_OVER_FLOOR * f->quiet);
}

bool
sr_sound_finder_octave_below(const SrSoundFinder* const f, const size_t pitch, const int64_t frame)
{
  return f->profile->reeds[pitch].doubled ||
         frame - f->octave_below[pitch] < (int64_t)SR_SOUND_MEMORY / 2;
}
