// SPDX-License-Identifier: GPL-3.0-or-later

#include "disturbance.h"

#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

typedef struct {
  float* out;
  size_t count;
  double rate_hz;
  double level;
  Random* random;
} Place;

static double
decibels(const double db)
{
  return pow(10.0, db / 20.0);
}

/// A resonance: two poles.
typedef struct {
  double a;
  double b;
  double state[2];
} Resonance;

static Resonance
resonance(const double hz, const double radius, const double rate_hz)
{
  return (Resonance){2.0 * radius * cos(2.0 * M_PI * hz / rate_hz), radius * radius, {0.0, 0.0}};
}

static double
resound(Resonance* const r, const double x)
{
  const double y = x + r->a * r->state[0] - r->b * r->state[1];
  r->state[1] = r->state[0];
  r->state[0] = y;
  return y;
}

/// Noise under a corner, steady or breathing.
static void
add_low_noise(const Place* const p, const double corner_hz, const double db, const double breath_hz)
{
  const double share = 1.0 - exp(-2.0 * M_PI * corner_hz / p->rate_hz);
  const double scale = p->level * decibels(db) / sqrt(share / (2.0 - share)) / sqrt(share);
  double low[2] = {0.0, 0.0};
  for (size_t i = 0; i < p->count; ++i) {
    low[0] += share * (random_normal(p->random) - low[0]);
    low[1] += share * (low[0] - low[1]);
    const double breath = 1.0 + 0.7 * sin(2.0 * M_PI * breath_hz * (double)i / p->rate_hz);
    p->out[i] += (float)(scale * sqrt(share) * breath * low[1]);
  }
}

/// Of a hum, at most.
#define MOST_HARMONICS 9

static void
add_sines(const Place* const p, const double hz, const int harmonics, const double db)
{
  // sin(x + d) = 2 cos(d) sin(x) - sin(x - d), begun again so often that no error grows
  double step[MOST_HARMONICS] = {0.0};
  double now[MOST_HARMONICS] = {0.0};
  double before[MOST_HARMONICS] = {0.0};
  for (size_t i = 0; i < p->count; ++i) {
    double sum = 0.0;
    for (int k = 1; k <= harmonics; ++k) {
      const double turn = 2.0 * M_PI * hz * k / p->rate_hz;
      if (i % 4096 == 0) {
        step[k - 1] = 2.0 * cos(turn);
        now[k - 1] = sin(turn * (double)i + k);
        before[k - 1] = sin(turn * ((double)i - 1.0) + k);
      }
      sum += now[k - 1] / k;
      const double next = step[k - 1] * now[k - 1] - before[k - 1];
      before[k - 1] = now[k - 1];
      now[k - 1] = next;
    }
    p->out[i] += (float)(p->level * decibels(db) * sum);
  }
}

static void
add_creak(const Place* const p, const double at_s)
{
  const double length_s = random_between(p->random, 0.1, 0.4);
  Resonance body[2] = {resonance(random_between(p->random, 400.0, 900.0), 0.985, p->rate_hz),
                       resonance(random_between(p->random, 1200.0, 2800.0), 0.97, p->rate_hz)};
  const double scale = p->level * decibels(random_between(p->random, -32.0, -18.0));
  double next = 0.0;
  double rate = random_between(p->random, 30.0, 90.0);
  const size_t from = (size_t)(at_s * p->rate_hz);
  for (size_t i = 0; from + i < p->count && (double)i < (length_s + 0.05) * p->rate_hz; ++i) {
    const double t = (double)i / p->rate_hz;
    double x = 0.0;
    if (t >= next && t < length_s) {
      x = random_between(p->random, 0.4, 1.0);
      rate *= random_between(p->random, 0.94, 1.09);
      next = t + random_between(p->random, 0.7, 1.3) / rate;
    }
    p->out[from + i] += (float)(scale * (resound(&body[0], x) + resound(&body[1], x)));
  }
}

static void
add_rustle(const Place* const p, const double at_s)
{
  const double length_s = random_between(p->random, 0.15, 0.5);
  const double scale = p->level * decibels(random_between(p->random, -30.0, -14.0));
  const size_t grains = (size_t)(length_s * random_between(p->random, 25.0, 90.0)) + 2;
  for (size_t g = 0; g < grains; ++g) {
    const double start_s = at_s + length_s * random_unit(p->random);
    const double decay_s = random_between(p->random, 0.0006, 0.004);
    const double gain = scale * pow(random_unit(p->random), 2.0);
    Resonance cloth = resonance(random_between(p->random, 800.0, 6000.0), 0.8, p->rate_hz);
    const size_t from = (size_t)(start_s * p->rate_hz);
    for (size_t i = 0; from + i < p->count && (double)i < 6.0 * decay_s * p->rate_hz; ++i) {
      const double t = (double)i / p->rate_hz;
      p->out[from + i] +=
          (float)(gain * resound(&cloth, random_normal(p->random) * exp(-t / decay_s)));
    }
  }
}

static void
add_knock(const Place* const p, const double at_s)
{
  Resonance wood = resonance(random_between(p->random, 150.0, 1500.0), 0.99, p->rate_hz);
  const double scale = 0.1 * p->level * decibels(random_between(p->random, -25.0, 0.0));
  const double decay_s = random_between(p->random, 0.002, 0.008);
  const size_t from = (size_t)(at_s * p->rate_hz);
  for (size_t i = 0; from + i < p->count && (double)i < 0.15 * p->rate_hz; ++i) {
    const double t = (double)i / p->rate_hz;
    p->out[from + i] +=
        (float)(scale * resound(&wood, random_normal(p->random) * exp(-t / decay_s)));
  }
}

/// Folded card that moves: dull noise, about as long as a turn takes.
static void
add_turn(const Place* const p, const double at_s)
{
  const double length_s = random_between(p->random, 0.05, 0.1);
  const double scale = p->level * decibels(random_between(p->random, -42.0, -28.0));
  Resonance card = resonance(random_between(p->random, 300.0, 1000.0), 0.93, p->rate_hz);
  const double from = (at_s - 0.5 * length_s) * p->rate_hz;
  for (size_t i = 0; (double)i < length_s * p->rate_hz; ++i) {
    const double at = from + (double)i;
    if (at >= 0.0 && at < (double)p->count) {
      const double window = sin(M_PI * (double)i / (length_s * p->rate_hz));
      p->out[(size_t)at] +=
          (float)(0.25 * scale * window * window * resound(&card, random_normal(p->random)));
    }
  }
}

static bool
add_talk(const Place* const p)
{
  char path[] = "/tmp/steadyreed-talk-XXXXXX";
  const int descriptor = mkstemp(path);
  if (descriptor < 0) {
    return false;
  }
  close(descriptor);
  char command[512];
  snprintf(command, sizeof(command),
           "espeak-ng -v en-us -s 150 -w '%s' 'So I told her the kettle was on, and she said that "
           "six of them would be here by seven, with the boxes and the fiddles, just as it was "
           "last month, and somebody should sweep the step.' >/dev/null 2>&1",
           path);
  SF_INFO info = {0};
  SNDFILE* const file = system(command) == 0 ? sf_open(path, SFM_READ, &info) : NULL;
  const bool there = file && info.channels == 1 && info.frames > 0;
  if (there) {
    float* const voice = (float*)malloc((size_t)info.frames * sizeof(float));
    const sf_count_t read = sf_readf_float(file, voice, info.frames);
    const double ratio = (double)info.samplerate / p->rate_hz;
    const double scale = p->level * decibels(random_between(p->random, -20.0, -8.0)) / 0.1;
    for (size_t i = 0; i < p->count; ++i) {
      const double at = fmod((double)i * ratio, (double)read - 2.0);
      const size_t index = (size_t)at;
      const double part = at - (double)index;
      p->out[i] += (float)(scale * 0.5 *
                           ((1.0 - part) * (double)voice[index] + part * (double)voice[index + 1]));
    }
    free(voice);
  }
  if (file) {
    sf_close(file);
  }
  remove(path);
  return there;
}

bool
disturb(float* const out, const size_t out_count, const double rate_hz, const double level,
        const unsigned kinds, const double* const turns_s, const size_t turns, Random* const random)
{
  const Place place = {out, out_count, rate_hz, level, random};
  const double length_s = (double)out_count / rate_hz;
  if (kinds & DISTURB_FAN) {
    add_low_noise(&place, 400.0, -32.0, 0.05);
    add_sines(&place, random_between(random, 180.0, 260.0), 2, -48.0);
  }
  if (kinds & DISTURB_HUM) {
    add_sines(&place, 50.0, 9, -38.0);
  }
  if (kinds & DISTURB_HISS) {
    for (size_t i = 0; i < out_count; ++i) {
      out[i] += (float)(level * decibels(-32.0) * random_normal(random));
    }
  }
  if (kinds & DISTURB_RUMBLE) {
    add_low_noise(&place, 50.0, -18.0, 0.2);
  }
  for (double at = random_between(random, 0.3, 2.0); at < length_s;
       at += random_between(random, 0.8, 3.5)) {
    if ((kinds & DISTURB_CREAK) && random_unit(random) < 0.4) {
      add_creak(&place, at);
    }
    if ((kinds & DISTURB_CLOTHES) && random_unit(random) < 0.5) {
      add_rustle(&place, at + 0.3);
    }
    if ((kinds & DISTURB_KNOCKS) && random_unit(random) < 0.6) {
      add_knock(&place, at + 0.6);
    }
  }
  for (size_t i = 0; (kinds & DISTURB_TURNS) && i < turns; ++i) {
    if (random_unit(random) < 0.5) {
      add_turn(&place, turns_s[i]);
    }
  }
  return !(kinds & DISTURB_TALK) || add_talk(&place);
}
