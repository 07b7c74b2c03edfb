// SPDX-License-Identifier: GPL-3.0-or-later

#include "ready_note.h"

#include <math.h>
#include <stdbool.h>

// All of these: common practice, no source

/// Held at least, s; a note of a run is shorter.
#define HELD_S 0.5
/// Silence after it, s, beyond any written rest.
#define SILENCE_S 0.4
/// It is this close to its pitch, cents: the instrument's own pitch may be unknown.
#define PITCH_CENTS 60.0
/// It stays this close to its mean, cents: a reed does, a voice does not.
#define STEADY_CENTS 25.0
/// Points that do not fit, for as long as this, s, do not end it.
#define GAP_S 0.06
/// It is over when it has fallen by this, dB; another note begins when it rises by RISE_DB.
#define FALL_DB 12.0
#define RISE_DB 10.0
/// The softest note, dBFS.
#define LEAST_DB (-55.0)
/// It is remembered for this long, s: what may have begun before it may not be known to be over
/// yet.
#define REMEMBERED_S 4.0
/// A4, octaves over MIDI note 0.
#define A4_OCTAVES (69.0 / 12.0)

SrReadyNote
sr_ready_note(const int midi, const double reference_hz, const double most_s, const double rest_s)
{
  return (SrReadyNote){.midi = midi,
                       .reference_hz = reference_hz,
                       .most_s = most_s,
                       .silence_s = SILENCE_S + rest_s,
                       .onset_s = (double)NAN};
}

/// How far two pitches are apart, cents, whatever their octaves.
static double
cents_apart(const double a_octaves, const double b_octaves)
{
  const double apart = a_octaves - b_octaves;
  return 1200.0 * fabs(apart - round(apart));
}

/// Whether a point sounds like the ready note, and like what sounded of it so far.
static bool
fits(const SrReadyNote* const r, const double octaves, const bool sounds)
{
  return cents_apart(octaves, (double)r->midi / 12.0) < PITCH_CENTS &&
         (!sounds || cents_apart(octaves, r->octaves) < STEADY_CENTS);
}

static void
begin(SrReadyNote* const r, const SrPitchPoint* const point, const double octaves)
{
  r->onset_s = point->at_s;
  r->octaves = octaves;
  r->level_db = point->level_db;
  r->count = 1;
}

static void
go_on(SrReadyNote* const r, const SrPitchPoint* const point, const double octaves)
{
  ++r->count;
  const double apart = octaves - r->octaves;
  r->octaves += (apart - round(apart)) / (double)r->count;
  r->level_db = fmax(r->level_db, point->level_db);
}

double
sr_ready_note_push(SrReadyNote* const r, const SrPitchPoint* const point)
{
  const bool has_pitch = point->frequency_hz > 0.0 && point->level_db > LEAST_DB;
  const double octaves =
      has_pitch ? A4_OCTAVES + log2(point->frequency_hz / r->reference_hz) : (double)NAN;
  const bool begun = isfinite(r->onset_s);
  // A note must not be louder than it began by much; what swells slowly is the same one
  const bool louder = begun && r->count > 0 && point->level_db > r->level_db + RISE_DB;
  const bool fallen = begun && point->level_db < r->level_db - FALL_DB;
  const bool sounds = begun && !louder && !fallen && point->at_s - r->fits_s <= GAP_S;
  if (has_pitch && !fallen && fits(r, octaves, sounds)) {
    if (sounds) {
      go_on(r, point, octaves);
    } else {
      begin(r, point, octaves);
    }
    r->fits_s = point->at_s;
    r->last_s = point->at_s;
    return (double)NAN;
  }
  if (!begun) {
    return (double)NAN;
  }
  if (!fallen) {
    r->last_s = point->at_s;
    // Something else sounds
    if (point->at_s - r->fits_s > GAP_S) {
      r->onset_s = (double)NAN;
    }
    return (double)NAN;
  }
  const double held_s = r->fits_s - r->onset_s;
  const bool given = held_s >= HELD_S && held_s < r->most_s;
  const double silent_s = point->at_s - r->last_s;
  if (silent_s < r->silence_s) {
    return (double)NAN;
  }
  if (!given || silent_s > r->silence_s + REMEMBERED_S) {
    r->onset_s = (double)NAN; // the next note may be softer
  }
  return r->onset_s;
}
