// SPDX-License-Identifier: GPL-3.0-or-later

#include "tuner_reading.h"

#include <steadyreed/show.h>

#include <math.h>
#include <stdlib.h>

/// MIDI number of A4, notes of an octave, cents of a note (MIDI 1.0; ISO 16 for the A).
#define A4_MIDI 69.0
#define NOTES 12.0
#define CENTS 100.0
/// Tenths of a hertz are shown.
#define HZ_SHOWN 10.0

SrTunerReading
sr_tuner_read(const double hz, const double reference_hz)
{
  const double midi = hz > 0.0 ? A4_MIDI + NOTES * log2(hz / reference_hz) : (double)NAN;
  if (!isfinite(midi) || midi < 0.0 || midi > 127.0) {
    return (SrTunerReading){-1, 0.0, 0.0};
  }
  return (SrTunerReading){(int)lround(midi), CENTS * (midi - round(midi)), hz};
}

char*
sr_tuner_words(const SrTunerReading* const reading)
{
  const SrShowStyle style = {.unicode = true};
  const long cents = lround(reading->cents);
  char name[SR_MIDI_NAME_SIZE];
  if (reading->midi < 0) {
    return g_strdup("Hold a note");
  }
  sr_show_midi_name(reading->midi, &style, name);
  return cents == 0 ? g_strdup_printf("%s, in tune", name)
                    : g_strdup_printf(labs(cents) == 1 ? "%s, %ld cent %s" : "%s, %ld cents %s",
                                      name, labs(cents), cents > 0 ? "sharp" : "flat");
}

gboolean
sr_tuner_same(const SrTunerReading* const a, const SrTunerReading* const b)
{
  return a->midi == b->midi && lround(a->cents) == lround(b->cents) &&
         lround(HZ_SHOWN * a->hz) == lround(HZ_SHOWN * b->hz);
}
