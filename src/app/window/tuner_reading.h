// SPDX-License-Identifier: GPL-3.0-or-later

// A pitch as a tuner reads it: the nearest note, and how far off it is.

#ifndef SR_WINDOW_TUNER_READING_H
#define SR_WINDOW_TUNER_READING_H

#include <glib.h>

/// A note within this is just right, cents (common practice, no source).
#define SR_TUNER_JUST_CENTS 5.0
/// The reference that can be chosen, Hz.
#define SR_TUNER_LEAST_HZ 380.0
#define SR_TUNER_MOST_HZ 500.0

typedef struct {
  int midi;     ///< The nearest note in equal temperament; -1 if nothing sounds
  double cents; ///< Over it, -50 to 50
  double hz;
} SrTunerReading;

/**
   Read a pitch.

   @param hz           Over 0; anything else is silence.
   @param reference_hz A4, over 0.
*/
SrTunerReading sr_tuner_read(double hz, double reference_hz);
/// "A4, 3 cents sharp", "A4, in tune"; g_free() it.
char* sr_tuner_words(const SrTunerReading* reading);
/// Whether two look the same on a tuner: the same note and whole cents, and a tenth of a hertz.
gboolean sr_tuner_same(const SrTunerReading* a, const SrTunerReading* b);

#endif // SR_WINDOW_TUNER_READING_H
