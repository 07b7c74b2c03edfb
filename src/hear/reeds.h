// SPDX-License-Identifier: GPL-3.0-or-later

// What the finder of sounds is made of, and what its parts do for one another.

#ifndef SR_HEAR_REEDS_H
#define SR_HEAR_REEDS_H

#include "hindsight.h"
#include "onset.h"
#include "sound.h"
#include "sound_tuning.h"
#include "stride.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

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

static inline bool
sr_reed_is_kept(const SrSoundFinder* const f, const int64_t frame)
{
  return frame >= 0 && frame > f->frame - (int64_t)SR_SOUND_MEMORY;
}

static inline float
sr_reed_at(const SrSoundFinder* const f, const size_t p, const int64_t frame)
{
  return sr_reed_is_kept(f, frame) ? f->history[p][(uint64_t)frame % SR_SOUND_MEMORY] : 0.0f;
}

static inline bool
sr_reed_is_written(const SrSoundFinder* const f, const size_t p)
{
  return f->expected.any && f->expected.expected[p + SR_LOWEST_MIDI];
}

static inline double
sr_reed_frame_time(const SrSoundFinder* const f, const double frame)
{
  return frame * (double)f->grid.hop / f->grid.rate_hz;
}

static inline double
sr_reed_decibels(const double ratio)
{
  return 20.0 * log10(ratio);
}

// sound.c

void sr_reed_begin(SrSoundFinder* f, size_t p, double fall_db);

// attack.c

/// Learn how long a reed takes from its onset to half its level, from a start out of silence, which
/// counts the more the deeper that was.
void sr_reed_learn_lag(SrSoundFinder* f, size_t p, double frames, double weight);
/// All of it that was heard so far.
Stretch sr_reed_so_far(const SrSoundFinder* f, size_t p);
/// Measure a sound's rise; nothing is changed.
Start sr_reed_measure_start(SrSoundFinder* f, size_t p, const Stretch* asked, int updates);
/// When a sound began, frames.
double sr_reed_onset_of(const SrSoundFinder* f, size_t p, const Start* start);
/// When a sound had certainly begun that was half way up at a frame.
int64_t sr_reed_certainly(const SrSoundFinder* f, size_t p, double half);
/// Fix when a sound began.
void sr_reed_settle(SrSoundFinder* f, size_t p, const Stretch* stretch);
/// Fix when a sound began, or say how long to wait with it. The same stretch of the rise is
/// measured whenever it was noticed, for that moment depends on where the frames lie.
void sr_reed_settle_if_complete(SrSoundFinder* f, size_t p);

// release.c

/// How far a reed fell from `hold` to `least`, as seen.
double sr_reed_seen_fall(float hold, float least);
/**
   How far a reed's own sound fell, when in a dip of `frames` it was at `least`.

   What a reed that has let go would still show there is taken off, as power: in the
   middle of the dip the room's tail and the window's smear of the fall, and as much
   again of the rise behind it.
*/
double sr_reed_own_fall(const SrSoundFinder* f, size_t p, float hold, float least, int64_t frames);
/// Learn the room's tail from a reed that has fallen and stayed down.
void sr_reed_learn_tail(SrSoundFinder* f, size_t p);

// phase.c

/// Frequency that the turns of a reed's harmonics tell.
double sr_reed_frequency_of(const SrSoundFinder* f, size_t p, const double turns[MEASURED][2]);
/// … over all that has been heard of it, as phases have gone on.
double sr_reed_mean_frequency(const SrSoundFinder* f, size_t p);
/// Whether a reed sounds on in its old phase.
double sr_reed_phase_kept(const SrSoundFinder* f, const Reed* reed, double after_hz);
/// A short sound has ended on top of others: have them looked at, whether they let go under it.
void sr_reed_ask_for_checks(SrSoundFinder* f, size_t cut, int64_t from, int64_t end);
/**
   See whether a sounding reed has spoken again: its phases no longer agree with those
   of a moment ago, and there is a dip between, however slight. In a live room the
   dip alone proves nothing.
*/
bool sr_reed_has_broken(SrSoundFinder* f, size_t p);
/// Part a sound where its phase broke.
void sr_reed_part_at_break(SrSoundFinder* f, size_t p);
/// Look at a note that a cut lay on top of; part it if it let go there.
bool sr_reed_check_under_cut(SrSoundFinder* f, size_t p);

// between_notes.c

/// Whether q is a cut or a strike that is written at p.
bool sr_reed_is_grace_of(const SrSoundFinder* f, size_t q, size_t p);
/// The pitches among which the graces of one lie: from the first to before the last.
size_t sr_reed_first_grace(size_t p);
size_t sr_reed_last_grace(size_t p);
float sr_reed_loudest_between(const SrSoundFinder* f, int64_t first, int64_t last);
/// The frame at which a falling reed crossed half way to its least.
int64_t sr_reed_end_of_fall(const SrSoundFinder* f, size_t p);
/// A note speaks that let go at a frame, or that another one went before: see to it that its cut is
/// told, which is little else than attack and may fit its template less than a reed must elsewhere.
/// It began by the frame `until`; `hold` is the level against which it counts.
void sr_reed_look_between(SrSoundFinder* f, size_t p, int64_t from, int64_t until, float hold);

// ended_sound.c

/// Whether what ended, or only starts, is a reed, not the shadow of another or of something else.
/// `fit` is how well a written one must fit its template.
bool sr_reed_is_sound(const SrSoundFinder* f, const Ended* ended, double fit);
/// Keep a sound until it is pulled.
void sr_reed_put(SrSoundFinder* f, const SrEvent* event);
double sr_reed_fit_so_far(const Reed* reed);
/// What a reed's sound would be if it ended at a frame.
Ended sr_reed_describe(const SrSoundFinder* f, size_t p, double onset, int64_t end_frame);
void sr_reed_end_sound(SrSoundFinder* f, size_t p, int64_t end_frame);

// open_sound.c

/// Whether a reed that fell goes on at what it fell to: loud at first, or played softer, but not
/// let go, for then it would be gone, or fall with the room.
bool sr_reed_sounds_on(const SrSoundFinder* f, size_t p);

#endif // SR_HEAR_REEDS_H
