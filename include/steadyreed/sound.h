// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file sound.h
   Synthesis of a phrase: a single-reed voice with its cuts; a click; a verdict as a tone.
*/

#ifndef STEADYREED_SOUND_H
#define STEADYREED_SOUND_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Slowest and fastest tempo, pulses a minute.
#define SR_SLOWEST_BPM 10.0
#define SR_FASTEST_BPM 400.0

/// How to render a phrase; fill with sr_sound_settings_default().
typedef struct {
  double rate_hz;   ///< 16000 to 192000
  double tempo_bpm; ///< Pulses a minute, SR_SLOWEST_BPM to SR_FASTEST_BPM; NAN for the phrase's own
  double reference_hz; ///< A4, 300 to 600
  double cut_ms;       ///< Length of a cut, 5 to 200; never over 30 % of its note
  unsigned rounds;     ///< Times the phrase is played, 1 to 10000, one bar apart
  bool click;          ///< Click on each pulse, accented on the bar
  bool count_in;       ///< One bar of clicks before the first note
} SrSoundSettings;

/// 44.1 kHz, the phrase's tempo, A4 = 440 Hz, cuts of 35 ms, once, no click.
SrSoundSettings sr_sound_settings_default(void);

/// The default tempo of a phrase: its Q:, or 90 pulses a minute (80 where the pulse is a minim).
double sr_sound_tempo(const SrPhrase* phrase);

/// A phrase being rendered.
typedef struct SrSoundImpl SrSound;

/**
   Prepare a phrase for rendering.

   @param phrase   The data needed is copied.
   @param settings NULL for the defaults.
   @param sound    Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT (a setting out of range) or SR_NO_MEMORY.
*/
SrStatus sr_sound_new(const SrPhrase* phrase, const SrSoundSettings* settings, SrSound** sound,
                      SrError* error);
/// Free; NULL does nothing.
void sr_sound_del(SrSound* sound);
/// Total number of samples, including half a second of silence at the end.
uint64_t sr_sound_length(const SrSound* sound);
/**
   Render the next samples: mono, at most half of full scale. The output does not depend on the
   chunk size.

   @return Samples written; fewer than `count` only at the end.
*/
size_t sr_sound_read(SrSound* sound, float* samples, size_t count);

/**
   The sound of a click: a tick, under 60 ms, largest sample about half of full scale. It is
   broadband (1.2 to 5.2 kHz, accented 2 to 7.2 kHz) with a sharp autocorrelation peak, so that it
   can be located in a recording; the accented one is brighter.

   @param rate_hz 16000 to 192000.
   @param samples Receives up to `room` samples; NULL to query the length.
   @return Samples written, or the length.
*/
size_t sr_sound_click(double rate_hz, bool accent, float* samples, size_t room);

/**
   A verdict without words: two rising notes (about E5 and B5) for a clean round, a single low one
   (about B3) for a faulty one. Nearly pure tones, under 0.3 s, largest sample at most half of full
   scale like that of the click.

   @param rate_hz 16000 to 192000.
   @param clean   Which of the two.
   @param samples Receives up to `room` samples; NULL to query the length.
   @return Samples written, or the length.
*/
size_t sr_sound_verdict(double rate_hz, bool clean, float* samples, size_t room);

/**
   While a low note is held as a signal: it has been held for long enough (one short high note,
   about E6), or for so long that it ends the session (two, falling to about A5). Under 0.25 s,
   otherwise like sr_sound_verdict(), from whose tones they differ in pitch and length.

   @param rate_hz 16000 to 192000.
   @param ends    Which of the two.
   @param samples Receives up to `room` samples; NULL to query the length.
   @return Samples written, or the length.
*/
size_t sr_sound_signal(double rate_hz, bool ends, float* samples, size_t room);

SR_END_DECLARATIONS

#endif // STEADYREED_SOUND_H
