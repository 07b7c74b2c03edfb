// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file scene.h
   An evening in front of the microphone: takes, single notes, speech and noise laid into one
   stream of samples.
*/

#ifndef TEST_SCENE_H
#define TEST_SCENE_H

#include "take_maker.h"

/// A stream; its rate is SOURCE_RATE_HZ until it is changed.
typedef struct {
  double rate_hz;
  size_t count;
  float* samples;
  ReedSource* reeds; ///< Of its single notes
} Scene;

/// A quiet room: noise at -60 dBFS.
Scene scene_make(double seconds);
/// The samples of a take alone.
Scene scene_of_take(const Take* take);
/// The samples of a mono recording; the test fails if it cannot be read.
Scene scene_read(const char* path);
/// Free what it holds.
void scene_free(Scene* scene);
/// Play a phrase after a plan, from a time on; gives when it ends. The test fails if it cannot.
double scene_play(Scene* scene, const SrPhrase* phrase, const TakePlan* plan, double at_s);
/// Play one note, at -15 dBFS.
void scene_add_note(Scene* scene, int midi, double from_s, double to_s);
/// Somebody talks, over and over (espeak-ng); false if it is not there.
bool scene_add_speech(Scene* scene, double from_s, double to_s);
/// More noise, dBFS.
void scene_add_noise(Scene* scene, double level_db);
/// Samples that were lost.
void scene_lose(Scene* scene, double from_s, double to_s);
/// The same at another rate (windowed sinc).
Scene scene_at_rate(const Scene* scene, double rate_hz);

#endif // TEST_SCENE_H
