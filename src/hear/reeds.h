// SPDX-License-Identifier: GPL-3.0-or-later

// Internals of the sound finder, shared by its parts.

#ifndef SR_HEAR_REEDS_H
#define SR_HEAR_REEDS_H

#include "attack_fit.h"
#include "block.h"
#include "onset.h"
#include "sound_finder.h"
#include "tuning.h"

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

/// State of one reed.
typedef struct {
  State state;
  int64_t begin;    ///< Frame at which it was detected
  int64_t complete; ///< Frame by which its attack may be complete, once estimated
  bool settled;     ///< Its onset is final
  double onset;     ///< In frames
  double own_lag;   ///< Time from there to half its level in its own rise, frames
  double silent;    ///< How silent it was before, 0 to 1
  bool guessed;     ///< `guess` was computed for a look before it was settled
  double guess;
  double fall_db;
  float hold; ///< Its level
  float peak;
  int64_t dip; ///< Frame at which it began to fall
  float dip_least;
  int64_t dip_frame; ///< Frame of its minimum
  int64_t last_end;  ///< Frame at which it last ended
  bool refused;      ///< What ended then was not a sound
  bool between;      ///< It is a written cut that began while its note was silent
  float last_hold;
  double amount_sum; ///< Over its frames
  double lower_sum;  ///< Of the strongest reed that has it as a harmonic
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
  int breaks;         ///< Consecutive comparisons with disagreeing phases
  Mark check;         ///< From before a cut on top of it; frame 0 if none
  int64_t check_from; ///< Start of that cut
  int64_t check_at;   ///< When to compare
  Mark before;        ///< From before the dip that preceded it; frame 0 if none
  Mark after;         ///< The last one taken shortly after its start
  double before_hz;
  double turn[MEASURED][2];         ///< Sum of each harmonic's phase advance over LAG frames
  double settled_turn[MEASURED][2]; ///< The same, mostly from after its pitch had settled
} Reed;

/// A sound that has ended.
typedef struct {
  SrEvent event;
  double amount;
  double lower;
  double beside;
  float peak;
  float loudest; ///< Of all reeds around it
} Ended;

_Static_assert(SR_HIGHEST_MIDI - SR_LOWEST_MIDI < 64, "a bit for each pitch");

struct SrSoundFinderImpl {
  SrFrameGrid grid;
  const SrProfile* profile;
  bool any_learnt; ///< Of its reeds
  SrExpected expected;
  SrAttackFit* attack_fit;
  int64_t frame; ///< Frames processed
  float history[SR_PITCHES][SR_SOUND_MEMORY + MEMORY_APART];
  uint64_t sounding[SR_SOUND_MEMORY]; ///< One bit for each pitch with an amount in that frame
  uint64_t active;                    ///< One bit for each reed that is not silent
  float loudest[SR_SOUND_MEMORY];     ///< Of all reeds
  Reed reeds[SR_PITCHES];
  float own_tail_db[SR_PITCHES][SR_TAIL_FRAMES]; ///< As `tail_db`, for each reed
  float own_tail_count[SR_PITCHES];
  double tail_db[SR_TAIL_FRAMES]; ///< Fall of a released reed, by frames since the release
  double tail_count;
  float below[SR_PITCHES]; ///< Share of the last frame's amount that came from the octave below
  int64_t octave_below[SR_PITCHES]; ///< Frame at which it last sounded with its octave below
  double lag[SR_PITCHES];           ///< From onset to half level, frames
  double lag_count[SR_PITCHES];
  float follow;                 ///< Decaying maximum of the loudness
  float unit_power[SR_PITCHES]; ///< Mean square of a sound for an activation of 1
  size_t harmonic_bin[SR_PITCHES][PHASES];
  float past[SR_PITCHES][MEASURED][2]; ///< Each harmonic at the end of the last block
  float quiet;                         ///< Smallest activation above the noise
  SrEvent* queue;                      ///< Sounds not yet pulled
  size_t queue_size;
  size_t queued;
  bool lost; ///< One was lost for want of memory
};

/// Start of a sound.
typedef struct {
  double half;    ///< Where it was half way up, frames
  double own_lag; ///< Time from its onset to there in its own rise
  double base;    ///< Earlier sound relative to its level
  double silent;  ///< How silent it was before, 0 to 1: the weight for learning from it
} Start;

/// Part of a rise to measure.
typedef struct {
  int64_t sure; ///< Frame at which it had certainly begun
  int64_t last; ///< Last frame
  double part;  ///< Weight of the last frame, 0 to 1
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

// sound_finder.c

void sr_reed_begin(SrSoundFinder* f, size_t p, double fall_db);

// onset_refinement.c

/// Learn the time from a reed's onset to half its level, from a start after silence; the deeper the
/// silence, the larger the weight.
void sr_reed_learn_lag(SrSoundFinder* f, size_t p, double frames, double weight);
/// The rise so far.
Stretch sr_reed_so_far(const SrSoundFinder* f, size_t p);
/// Measure a sound's rise without changing any state.
Start sr_reed_measure_start(SrSoundFinder* f, size_t p, const Stretch* asked, int updates);
/// Onset of a sound, frames.
double sr_reed_onset_of(const SrSoundFinder* f, size_t p, const Start* start);
/// When a sound that was half way up at a frame had certainly begun.
int64_t sr_reed_certainly(const SrSoundFinder* f, size_t p, double half);
/// Settle the onset of a sound.
void sr_reed_settle(SrSoundFinder* f, size_t p, const Stretch* stretch);
/// Settle the onset of a sound, or set how long to wait for that. The same part of the rise is
/// measured whenever the sound was detected, since that moment depends on the frame grid.
void sr_reed_settle_if_complete(SrSoundFinder* f, size_t p);

// release.c

/// Fall of a reed from `hold` to `least` as seen, dB.
double sr_reed_seen_fall(float hold, float least);
/**
   Fall of a reed's own sound, dB, that was at `least` in a dip of `frames`.

   What a released reed would still show there is subtracted as power: in the middle of the dip, the
   room's tail and the window's smear of the fall, and the same again for the rise after it.
*/
double sr_reed_own_fall(const SrSoundFinder* f, size_t p, float hold, float least, int64_t frames);
/// Learn the room's tail from a reed that has fallen and stayed down.
void sr_reed_learn_tail(SrSoundFinder* f, size_t p);

// phase.c

/// Frequency from the phase advances of a reed's harmonics.
double sr_reed_frequency_of(const SrSoundFinder* f, size_t p, const double turns[MEASURED][2]);
/// The same over all of the sound, from unweighted phases.
double sr_reed_mean_frequency(const SrSoundFinder* f, size_t p);
/// Phase continuity of a reed across its last dip.
double sr_reed_phase_kept(const SrSoundFinder* f, const Reed* reed, double after_hz);
/// After a short sound on top of others: have these checked for a release under it.
void sr_reed_ask_for_checks(SrSoundFinder* f, size_t cut, int64_t from, int64_t end);
/**
   Detect a re-attack of a sounding reed: its phases no longer agree with those of a moment ago. In
   a live room a dip in level alone proves nothing.
*/
bool sr_reed_has_broken(SrSoundFinder* f, size_t p);
/// Split a sound where its phase broke, if there is a dip, however slight.
void sr_reed_part_at_break(SrSoundFinder* f, size_t p);
/// Check a note under a cut; split it if it was released there.
bool sr_reed_check_under_cut(SrSoundFinder* f, size_t p);

// between_notes.c

/// Whether q is a cut or a strike that is written at p.
bool sr_reed_is_grace_of(const SrSoundFinder* f, size_t q, size_t p);
/// Range of pitches of a note's graces: the first, and one past the last.
size_t sr_reed_first_grace(size_t p);
size_t sr_reed_last_grace(size_t p);
float sr_reed_loudest_between(const SrSoundFinder* f, int64_t first, int64_t last);
/// The frame at which a falling reed crossed half way to its minimum.
int64_t sr_reed_end_of_fall(const SrSoundFinder* f, size_t p);
/// A note that was released at frame `from`, or that followed another one, speaks again: make sure
/// that its cut is reported, which is mostly attack and may fit its template less than other sounds
/// must. The cut began by frame `until`; `hold` is the level it is compared with.
void sr_reed_look_between(SrSoundFinder* f, size_t p, int64_t from, int64_t until, float hold);

// ended_sound.c

/// Whether a sound that ended, or has just started, is a reed and not the shadow of another or of
/// something else. `fit` is the fit required of a written one.
bool sr_reed_is_sound(const SrSoundFinder* f, const Ended* ended, double fit);
/// Keep a sound until it is pulled.
void sr_reed_put(SrSoundFinder* f, const SrEvent* event);
double sr_reed_fit_so_far(const Reed* reed);
/// The sound of a reed if it ended at a frame.
Ended sr_reed_describe(const SrSoundFinder* f, size_t p, double onset, int64_t end_frame);
void sr_reed_end_sound(SrSoundFinder* f, size_t p, int64_t end_frame);

// open_sound.c

/// Whether a reed that fell continues at its new level: loud at first, or played softer, but not
/// released, since it would be gone or fall with the room.
bool sr_reed_sounds_on(const SrSoundFinder* f, size_t p);

#endif // SR_HEAR_REEDS_H
