// SPDX-License-Identifier: GPL-3.0-or-later

#include "scene.h"

#include "room.h"

#include <sndfile.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FLOOR_DB (-60.0)
#define NOTE_GAIN 0.18
/// Zero crossings of the sinc on either side.
#define REACH 24.0

Scene
scene_make(const double seconds)
{
  Scene scene = {SOURCE_RATE_HZ, (size_t)(seconds * SOURCE_RATE_HZ), NULL, NULL};
  scene.samples = (float*)calloc(scene.count, sizeof(float));
  assert_non_null(scene.samples);
  scene_add_noise(&scene, FLOOR_DB);
  return scene;
}

Scene
scene_of_take(const Take* const take)
{
  Scene scene = {take->rate_hz, take->count, NULL, NULL};
  scene.samples = (float*)malloc(take->count * sizeof(float));
  assert_non_null(scene.samples);
  memcpy(scene.samples, take->samples, take->count * sizeof(float));
  return scene;
}

Scene
scene_read(const char* const path)
{
  SF_INFO info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  assert_non_null(file);
  assert_int_equal(info.channels, 1);
  Scene scene = {info.samplerate, (size_t)info.frames, NULL, NULL};
  scene.samples = (float*)malloc(scene.count * sizeof(float));
  assert_non_null(scene.samples);
  assert_int_equal(sf_readf_float(file, scene.samples, info.frames), info.frames);
  sf_close(file);
  return scene;
}

void
scene_free(Scene* const scene)
{
  free(scene->samples);
  reed_source_del(scene->reeds);
}

static void
mix(const Scene* const scene, const float* const samples, const size_t count, const double at_s)
{
  const size_t from = (size_t)(at_s * scene->rate_hz);
  for (size_t i = 0; i < count && from + i < scene->count; ++i) {
    scene->samples[from + i] += samples[i];
  }
}

double
scene_play(Scene* const scene, const SrPhrase* const phrase, const TakePlan* const plan,
           const double at_s)
{
  Take* const take = take_make(phrase, plan);
  assert_non_null(take);
  mix(scene, take->samples, take->count, at_s);
  const double end_s = at_s + take->rounds[take->round_count - 1].end_s;
  take_del(take);
  return end_s;
}

void
scene_add_note(Scene* const scene, const int midi, const double from_s, const double to_s)
{
  if (!scene->reeds) {
    scene->reeds = reed_source_new(REEDS_MADE, 7, 15.0);
    assert_non_null(scene->reeds);
  }
  reed_source_add(scene->reeds, scene->samples, scene->count, midi,
                  440.0 * exp2((midi - 69) / 12.0), from_s, to_s, 0.012, NOTE_GAIN, NULL);
}

/// What espeak-ng says, at the scene's rate; `count` 0 without it.
static float*
speak(const double rate_hz, size_t* const count)
{
  char path[] = "/tmp/steadyreed-speech-XXXXXX";
  *count = 0;
  const int descriptor = mkstemp(path);
  if (descriptor < 0) {
    return NULL;
  }
  close(descriptor);
  char command[512];
  snprintf(command, sizeof(command),
           "espeak-ng -v en -s 160 -w '%s' 'Where did I put the list? Slower now, and listen to "
           "the low notes. One, two, three, four. All right, we will go on all evening like this.' "
           ">/dev/null 2>&1",
           path);
  SF_INFO info = {0};
  SNDFILE* const file = system(command) == 0 ? sf_open(path, SFM_READ, &info) : NULL;
  Scene voice = {0};
  if (file && info.channels == 1 && info.frames > 0) {
    voice = (Scene){info.samplerate, (size_t)info.frames, NULL, NULL};
    voice.samples = (float*)calloc(voice.count, sizeof(float));
    assert_non_null(voice.samples);
    voice.count = (size_t)sf_readf_float(file, voice.samples, info.frames);
  }
  if (file) {
    sf_close(file);
  }
  remove(path);
  if (voice.count == 0) {
    free(voice.samples);
    return NULL;
  }
  const Scene right = scene_at_rate(&voice, rate_hz);
  free(voice.samples);
  *count = right.count;
  return right.samples;
}

bool
scene_add_speech(Scene* const scene, const double from_s, const double to_s)
{
  size_t count;
  float* const voice = speak(scene->rate_hz, &count);
  const double length_s = (double)count / scene->rate_hz;
  double at_s = from_s;
  while (voice && at_s < to_s) {
    const size_t most = (size_t)((to_s - at_s) * scene->rate_hz);
    mix(scene, voice, count < most ? count : most, at_s);
    at_s += length_s;
  }
  free(voice);
  return voice != NULL;
}

void
scene_add_noise(Scene* const scene, const double level_db)
{
  Random random = {4711};
  room_noise(scene->samples, scene->count, scene->rate_hz, level_db, &random);
}

void
scene_lose(Scene* const scene, const double from_s, const double to_s)
{
  const size_t to = (size_t)(to_s * scene->rate_hz);
  for (size_t i = (size_t)(from_s * scene->rate_hz); i < to && i < scene->count; ++i) {
    scene->samples[i] = NAN;
  }
}

Scene
scene_at_rate(const Scene* const scene, const double rate_hz)
{
  const double ratio = scene->rate_hz / rate_hz;
  Scene other = {rate_hz, (size_t)((double)scene->count / ratio), NULL, NULL};
  other.samples = (float*)calloc(other.count, sizeof(float));
  assert_non_null(other.samples);
  const double band = fmin(1.0, 1.0 / ratio);
  for (size_t i = 0; i < other.count; ++i) {
    const double at = (double)i * ratio;
    const long first = lround(ceil(at - REACH / band));
    const long last = lround(floor(at + REACH / band));
    double sum = 0.0;
    for (long k = first < 0 ? 0 : first; k <= last && k < (long)scene->count; ++k) {
      const double x = M_PI * band * (at - (double)k);
      const double sinc = fabs(x) < 1e-9 ? 1.0 : sin(x) / x;
      const double hann = 0.5 + 0.5 * cos(x / REACH);
      sum += band * sinc * hann * (double)scene->samples[k];
    }
    other.samples[i] = (float)sum;
  }
  return other;
}
