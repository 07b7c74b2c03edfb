// SPDX-License-Identifier: GPL-3.0-or-later

// What a session says without words: a verdict, two notes that rise or a low one; a signal that was
// held, a high note or two that fall. Sines with hardly a harmonic, which no reed has.

#include <steadyreed/sound.h>

#include <math.h>

/// Largest sample, that of the click.
#define PEAK 0.5
/// Time in which a note rises and falls, s.
#define RAMP_S 0.012

/// One note.
typedef struct {
  double frequency_hz;
  double start_s;
  double length_s;
} Beep;

static const Beep CLEAN[] = {{659.3, 0.0, 0.11}, {987.8, 0.13, 0.16}};
static const Beep FAULTY[] = {{246.9, 0.0, 0.28}};
static const Beep HELD[] = {{1318.5, 0.0, 0.10}};
static const Beep HELD_ON[] = {{1318.5, 0.0, 0.09}, {880.0, 0.11, 0.12}};
#define COUNT(beeps) (sizeof(beeps) / sizeof((beeps)[0]))

static double
beep_at(const Beep* const beep, const double at_s)
{
  const double age_s = at_s - beep->start_s;
  const double left_s = beep->length_s - age_s;
  if (age_s < 0.0 || left_s < 0.0) {
    return 0.0;
  }
  const double ramp = fmin(1.0, fmin(age_s, left_s) / RAMP_S);
  const double phase = 2.0 * M_PI * beep->frequency_hz * age_s;
  // The octave lets small loudspeakers sound the low one
  return (0.5 - 0.5 * cos(M_PI * ramp)) * (0.8 * sin(phase) + 0.2 * sin(2.0 * phase));
}

static size_t
sound_of(const Beep* const beeps, const size_t beep_count, const double rate_hz,
         float* const samples, const size_t room)
{
  const Beep* const last = &beeps[beep_count - 1];
  const size_t count = (size_t)ceil((last->start_s + last->length_s) * rate_hz);
  if (!samples) {
    return count;
  }
  const size_t written = count < room ? count : room;
  for (size_t i = 0; i < written; ++i) {
    double sum = 0.0;
    for (size_t k = 0; k < beep_count; ++k) {
      sum += beep_at(&beeps[k], (double)i / rate_hz);
    }
    samples[i] = (float)(PEAK * sum);
  }
  return written;
}

size_t
sr_sound_verdict(const double rate_hz, const bool clean, float* const samples, const size_t room)
{
  return clean ? sound_of(CLEAN, COUNT(CLEAN), rate_hz, samples, room)
               : sound_of(FAULTY, COUNT(FAULTY), rate_hz, samples, room);
}

size_t
sr_sound_signal(const double rate_hz, const bool ends, float* const samples, const size_t room)
{
  return ends ? sound_of(HELD_ON, COUNT(HELD_ON), rate_hz, samples, room)
              : sound_of(HELD, COUNT(HELD), rate_hz, samples, room);
}
