// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/sound.h>

#include <math.h>

/// Largest sample.
#define PEAK 0.5
/// A frequency sweep: as short as a tick on wood, with a sharp autocorrelation peak.
typedef struct {
  double from_hz;
  double to_hz;
  double length_s;
  double attack_s; ///< Rise time; it then falls to zero by its end
  bool ratios;     ///< Logarithmic sweep, otherwise linear
} Sweep;

/// A falling one with more energy in its lower part, for a pleasant sound; and a brighter, rising
/// one that correlates little with the first.
static const Sweep PLAIN = {5200.0, 1200.0, 0.010, 0.001, true};
static const Sweep ACCENT = {2000.0, 7200.0, 0.008, 0.002, false};

static double
sweep_at(const Sweep* const sweep, const double age_s)
{
  double turns = 0.0;
  if (sweep->ratios) {
    const double rate = log(sweep->to_hz / sweep->from_hz) / sweep->length_s;
    turns = sweep->from_hz * (exp(rate * age_s) - 1.0) / rate;
  } else {
    const double rate = (sweep->to_hz - sweep->from_hz) / sweep->length_s;
    turns = (sweep->from_hz + 0.5 * rate * age_s) * age_s;
  }
  const double fall = (age_s - sweep->attack_s) / (sweep->length_s - sweep->attack_s);
  const double envelope = age_s < sweep->attack_s ? 0.5 - 0.5 * cos(M_PI * age_s / sweep->attack_s)
                                                  : fmax(0.0, cos(0.5 * M_PI * fall));
  return envelope * sin(2.0 * M_PI * turns);
}

size_t
sr_sound_click(const double rate_hz, const bool accent, float* const samples, const size_t room)
{
  const Sweep* const sweep = accent ? &ACCENT : &PLAIN;
  const size_t count = (size_t)ceil(sweep->length_s * rate_hz);
  if (!samples) {
    return count;
  }
  const size_t written = count < room ? count : room;
  for (size_t i = 0; i < written; ++i) {
    samples[i] = (float)(PEAK * sweep_at(sweep, (double)i / rate_hz));
  }
  return written;
}
