// SPDX-License-Identifier: GPL-3.0-or-later

#include "reed_source.h"

#include <aubio/aubio.h>
#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define HARMONICS 39
#define LOWEST 40
#define HIGHEST 100
#define PITCHES (HIGHEST - LOWEST + 1)
/// Seconds that fluidsynth holds each pitch, and from one to the next.
#define HOLD_S 3.0
#define APART_S 3.5
#define FLUIDSYNTH                                                                                 \
  "fluidsynth -ni -R 0 -C 0 -g 0.6 -r 44100 -F tones.wav "                                         \
  "/usr/share/sounds/sf2/FluidR3_GM.sf2 tones.mid"
#define TIMIDITY                                                                                   \
  "timidity -c /etc/timidity/freepats.cfg -Ow --output-24bit -s 44100 "                            \
  "-EFreverb=d -EFchorus=d -EFdelay=d -o tones.wav tones.mid"

const char* const REED_NAMES[REED_KINDS] = {
    [REEDS_MADE] = "made",
    [REEDS_ACCORDION] = "accordion",
    [REEDS_HARMONICA] = "harmonica",
    [REEDS_BANDONEON] = "bandoneon",
    [REEDS_ORGAN] = "organ",
    [REEDS_PATCH_ACCORDION] = "patch-accordion",
    [REEDS_PATCH_TANGO] = "patch-tango",
};

/// One recorded tone.
typedef struct {
  float* samples;
  size_t count;
  double onset;     ///< Sample at which it passes a quarter
  double frequency; ///< As aubio measures it
  double level;     ///< RMS of its steady part
} Tone;

struct ReedSourceImpl {
  ReedKind kind;
  Random random;
  double attack_ms;
  double comb; ///< How much of the tone is added half a period later
  bool known[128];
  float strength[128][HARMONICS];
  const Tone* tones;    ///< Recorded ones, by MIDI number from LOWEST
  Tone combed[PITCHES]; ///< The same with its even harmonics raised, once it has been asked for
};

/// Who plays a kind, and which program, from 0. It turns tones.mid into tones.wav.
static const struct {
  int program;
  const char* command;
} PLAYERS[REED_KINDS] = {
    [REEDS_ACCORDION] = {21, FLUIDSYNTH},     [REEDS_HARMONICA] = {22, FLUIDSYNTH},
    [REEDS_BANDONEON] = {23, FLUIDSYNTH},     [REEDS_ORGAN] = {20, FLUIDSYNTH},
    [REEDS_PATCH_ACCORDION] = {21, TIMIDITY}, [REEDS_PATCH_TANGO] = {23, TIMIDITY},
};

/// Recorded tones stay for the whole run: one rendering a kind.
static Tone recorded[REED_KINDS][PITCHES];
static bool rendered[REED_KINDS];

static void
put_length(unsigned char** const at, unsigned long value)
{
  unsigned char bytes[5];
  size_t count = 0;
  do {
    bytes[count++] = (unsigned char)(value & 0x7Fu);
    value >>= 7u;
  } while (value);
  while (count > 0) {
    --count;
    *(*at)++ = (unsigned char)(bytes[count] | (count ? 0x80u : 0u));
  }
}

bool
reed_beats(const ReedKind kind)
{
  return kind == REEDS_ACCORDION || kind == REEDS_BANDONEON;
}

/// A Standard MIDI File, format 0, 1000 ticks a second: each pitch held in turn.
static bool
write_midi(const char* const path, const int program)
{
  static unsigned char data[PITCHES * 16 + 64];
  unsigned char* at = data;
  const unsigned char start[] = {0x00, 0xFF, 0x51, 0x03, 0x0F, 0x42, 0x40, 0x00, 0xC0};
  memcpy(at, start, sizeof(start));
  at += sizeof(start);
  *at++ = (unsigned char)program;
  for (int i = 0; i < PITCHES; ++i) {
    put_length(&at, i ? (unsigned long)(1000.0 * (APART_S - HOLD_S)) : 0);
    *at++ = 0x90;
    *at++ = (unsigned char)(LOWEST + i);
    *at++ = 100;
    put_length(&at, (unsigned long)(1000.0 * HOLD_S));
    *at++ = 0x80;
    *at++ = (unsigned char)(LOWEST + i);
    *at++ = 0;
  }
  const unsigned char end[] = {0x00, 0xFF, 0x2F, 0x00};
  memcpy(at, end, sizeof(end));
  at += sizeof(end);
  const unsigned long size = (unsigned long)(at - data);
  const unsigned char head[] = {'M',
                                'T',
                                'h',
                                'd',
                                0,
                                0,
                                0,
                                6,
                                0,
                                0,
                                0,
                                1,
                                0x03,
                                0xE8,
                                'M',
                                'T',
                                'r',
                                'k',
                                (unsigned char)(size >> 24u),
                                (unsigned char)(size >> 16u),
                                (unsigned char)(size >> 8u),
                                (unsigned char)size};
  FILE* const file = fopen(path, "wb");
  if (!file) {
    return false;
  }
  const bool written = fwrite(head, sizeof(head), 1, file) == 1 && fwrite(data, size, 1, file) == 1;
  return fclose(file) == 0 && written;
}

static double
measure_frequency(const float* const samples, const size_t count)
{
  const uint_t window = 2048;
  aubio_pitch_t* const pitch = new_aubio_pitch("yin", window, window, (uint_t)SOURCE_RATE_HZ);
  fvec_t* const input = new_fvec(window);
  fvec_t* const output = new_fvec(1);
  double values[256];
  size_t found = 0;
  for (size_t at = 0; at + window <= count && found < 256; at += window) {
    memcpy(input->data, samples + at, window * sizeof(float));
    aubio_pitch_do(pitch, input, output);
    if (fvec_get_sample(output, 0) > 20.0f) {
      values[found++] = (double)fvec_get_sample(output, 0);
    }
  }
  del_aubio_pitch(pitch);
  del_fvec(input);
  del_fvec(output);
  for (size_t i = 1; i < found; ++i) {
    for (size_t j = i; j > 0 && values[j] < values[j - 1]; --j) {
      const double swap = values[j];
      values[j] = values[j - 1];
      values[j - 1] = swap;
    }
  }
  return found ? values[found / 2] : 0.0;
}

/// Fill a tone's level and onset.
static void
measure_tone(Tone* const tone, const int midi)
{
  const size_t rate = (size_t)SOURCE_RATE_HZ;
  const double nominal = 440.0 * exp2((midi - 69) / 12.0);
  const size_t period = (size_t)(2.0 * SOURCE_RATE_HZ / nominal);
  double square = 0.0;
  for (size_t i = rate / 4; i < (6 * rate) / 10; ++i) {
    square += (double)(tone->samples[i] * tone->samples[i]);
  }
  tone->level = sqrt(square / (0.35 * SOURCE_RATE_HZ));
  // Its level over two periods, seen from their middle: as short as a level can be reported. It
  // starts where it passes a quarter of what it comes to in a short note.
  double most = 0.0;
  size_t at = 0;
  for (size_t pass = 0; pass < 2; ++pass) {
    double power = 0.0;
    for (size_t i = 0; i < period; ++i) {
      power += (double)(tone->samples[i] * tone->samples[i]);
    }
    for (at = 0; at + period < rate / 4 && (pass == 0 || power < 0.0625 * most); ++at) {
      most = pass == 0 ? fmax(most, power) : most;
      power += (double)(tone->samples[at + period] * tone->samples[at + period]) -
               (double)(tone->samples[at] * tone->samples[at]);
    }
  }
  tone->onset = (double)at + 0.5 * (double)period;
}

static bool
render(const ReedKind kind)
{
  char folder[] = "/tmp/steadyreed-reeds-XXXXXX";
  if (!mkdtemp(folder)) {
    return false;
  }
  char midi[64];
  char wave[64];
  char command[512];
  snprintf(midi, sizeof(midi), "%s/tones.mid", folder);
  snprintf(wave, sizeof(wave), "%s/tones.wav", folder);
  snprintf(command, sizeof(command), "cd '%s' && %s >/dev/null 2>&1", folder,
           PLAYERS[kind].command);
  bool done = write_midi(midi, PLAYERS[kind].program) && system(command) == 0;
  SF_INFO info = {0};
  SNDFILE* const file = done ? sf_open(wave, SFM_READ, &info) : NULL;
  done = file != NULL && info.channels == 2;
  const size_t count = (size_t)(HOLD_S * SOURCE_RATE_HZ);
  const size_t apart = (size_t)(APART_S * SOURCE_RATE_HZ);
  float* const stereo = (float*)malloc(2 * apart * sizeof(float));
  for (int i = 0; done && i < PITCHES; ++i) {
    Tone* const tone = &recorded[kind][i];
    const sf_count_t read = sf_readf_float(file, stereo, (sf_count_t)apart);
    tone->samples = (float*)calloc(count, sizeof(float));
    tone->count = count;
    for (size_t n = 0; n < count && (sf_count_t)n < read; ++n) {
      tone->samples[n] = 0.5f * (stereo[2 * n] + stereo[2 * n + 1]);
    }
    tone->frequency =
        measure_frequency(tone->samples + (size_t)SOURCE_RATE_HZ / 4, (size_t)SOURCE_RATE_HZ);
    measure_tone(tone, LOWEST + i);
  }
  free(stereo);
  if (file) {
    sf_close(file);
  }
  remove(midi);
  remove(wave);
  rmdir(folder);
  rendered[kind] = done;
  return done;
}

ReedSource*
reed_source_new(const ReedKind kind, const uint64_t seed, const double attack_ms)
{
  ReedSource* const source = (ReedSource*)calloc(1, sizeof(ReedSource));
  source->kind = kind;
  source->random.state = seed;
  source->attack_ms = attack_ms;
  if (kind != REEDS_MADE) {
    if (!rendered[kind] && !render(kind)) {
      printf("recorded reeds need fluidsynth, fluid-soundfont-gm, timidity and freepats\n");
      free(source);
      return NULL;
    }
    source->tones = recorded[kind];
  }
  return source;
}

void
reed_source_del(ReedSource* const source)
{
  for (int i = 0; source && i < PITCHES; ++i) {
    free(source->combed[i].samples);
  }
  free(source);
}

void
reed_source_raise_even(ReedSource* const source, const double even_db)
{
  const double ratio = pow(10.0, even_db / 20.0);
  source->comb = (ratio - 1.0) / (ratio + 1.0);
}

static void
learn_strengths(ReedSource* const source, const int midi)
{
  const double slope = random_between(&source->random, 0.7, 1.2);
  const double corner = random_between(&source->random, 6.0, 14.0);
  double square = 0.0;
  for (int k = 0; k < HARMONICS; ++k) {
    const double number = k + 1;
    const double value = pow(number, -slope) / (1.0 + pow(number / corner, 2.0)) *
                         exp(0.35 * random_normal(&source->random)) *
                         (k % 2 ? 1.0 + source->comb : 1.0 - source->comb);
    source->strength[midi][k] = (float)value;
    square += 0.5 * value * value;
  }
  for (int k = 0; k < HARMONICS; ++k) {
    source->strength[midi][k] /= (float)sqrt(square);
  }
  source->known[midi] = true;
}

/// Falling to a tenth in `release_s` once it is let go.
static double
fall_at(const double after_s, const double release_s)
{
  return after_s <= 0.0 ? 1.0 : pow(0.1, after_s / release_s);
}

/// How much of a sag there is at a moment, 0 to 1.
static double
sag_at(const Sag* const sag, const double at_s)
{
  if (!sag || at_s <= sag->start_s || at_s >= sag->end_s) {
    return 0.0;
  }
  const double edge_s = 0.25 * (sag->end_s - sag->start_s);
  const double near = fmin(1.0, fmin(at_s - sag->start_s, sag->end_s - at_s) / edge_s);
  return 0.5 - 0.5 * cos(M_PI * near);
}

/// Samples whose partials are added up together: the sum of one need not wait for that of another.
#define TOGETHER 8u

/// Samples that wait for their partials.
typedef struct {
  const float* strength;
  size_t count;
  size_t waiting;
  float* out[TOGETHER];
  double turn[TOGETHER];
  double level[TOGETHER];
  double breath[TOGETHER];
} Partials;

static void
partials_play(Partials* const p)
{
  // Chebyshev's recurrence for sin(k x)
  double c[TOGETHER] = {0.0};
  double before[TOGETHER] = {0.0};
  double now[TOGETHER] = {0.0};
  double sum[TOGETHER] = {0.0};
  for (size_t n = 0; n < p->waiting; ++n) {
    c[n] = 2.0 * cos(p->turn[n]);
    now[n] = sin(p->turn[n]);
  }
  for (size_t k = 0; k < p->count; ++k) {
    for (size_t n = 0; n < TOGETHER; ++n) {
      sum[n] += (double)p->strength[k] * now[n];
      const double next = c[n] * now[n] - before[n];
      before[n] = now[n];
      now[n] = next;
    }
  }
  for (size_t n = 0; n < p->waiting; ++n) {
    *p->out[n] += (float)(p->level[n] * (sum[n] + p->breath[n]));
  }
  p->waiting = 0;
}

static void
partials_put(Partials* const p, float* const out, const double turn, const double level,
             const double breath)
{
  p->out[p->waiting] = out;
  p->turn[p->waiting] = turn;
  p->level[p->waiting] = level;
  p->breath[p->waiting] = breath;
  if (++p->waiting == TOGETHER) {
    partials_play(p);
  }
}

static void
add_made(ReedSource* const source, float* const out, const size_t out_count, const int midi,
         const double frequency_hz, const double onset_s, const double end_s,
         const double release_s, const double gain, const Sag* const sag)
{
  if (!source->known[midi]) {
    learn_strengths(source, midi);
  }
  const double slower = exp2((76 - midi) / 14.0);
  const double attack_s = 1e-3 * fmin(40.0, fmax(8.0, source->attack_ms * slower));
  const double rate = log(81.0) / attack_s;
  const double phase = random_between(&source->random, 0.0, 2.0 * M_PI);
  const double wobble_hz = random_between(&source->random, 2.0, 5.0);
  // The pitch starts a few cents flat and settles with the attack
  const double flat = random_between(&source->random, 0.0, 4.0) / 1200.0;
  const double from_s = onset_s - 1.5 * attack_s;
  const double to_s = end_s + 2.5 * release_s;
  Partials partials = {.strength = source->strength[midi]};
  while (partials.count < HARMONICS && frequency_hz * (double)(partials.count + 1) < 14000.0) {
    ++partials.count;
  }
  double turn = phase;
  for (double i = floor(from_s * SOURCE_RATE_HZ); i < to_s * SOURCE_RATE_HZ; i += 1.0) {
    const double t = i / SOURCE_RATE_HZ - onset_s;
    const double rise = 1.0 / (1.0 + 3.0 * exp(-rate * t));
    const double bend = exp2(-flat * (1.0 - rise));
    const double sagged = sag_at(sag, t + onset_s);
    const double bent = sagged > 0.0 ? exp2(sagged * sag->bend_cents / 1200.0) : 1.0;
    const double fallen = sagged > 0.0 ? pow(10.0, -sagged * sag->dip_db / 20.0) : 1.0;
    turn += 2.0 * M_PI * frequency_hz * bend * bent / SOURCE_RATE_HZ;
    if (i < 0.0 || i >= (double)out_count) {
      continue;
    }
    const double wobble = 1.0 + 0.015 * sin(2.0 * M_PI * wobble_hz * t + phase);
    const double breath = 0.01 * random_normal(&source->random);
    const double level = gain * fallen * rise * wobble * fall_at(t + onset_s - end_s, release_s);
    partials_put(&partials, out + (size_t)i, turn, level, breath);
  }
  partials_play(&partials);
}

/// Windowed sinc interpolation, 16 samples wide.
static double
interpolate(const Tone* const tone, const double at)
{
  const long base = (long)floor(at);
  const double part = at - (double)base;
  // Angles only differ by whole steps from sample to sample
  const double step = M_PI / 8.5;
  const double turn[2] = {cos(step), sin(step)};
  double window[2] = {cos(step * (part + 7.0)), sin(step * (part + 7.0))};
  double sine = -sin(M_PI * part);
  double sum = 0.0;
  for (long i = base - 7; i <= base + 8; ++i) {
    const double x = part + (double)(base - i);
    if (i >= 0 && i < (long)tone->count) {
      const double sinc = fabs(x) < 1e-9 ? 1.0 : sine / (M_PI * x);
      sum += (double)tone->samples[i] * sinc * (0.5 + 0.5 * window[0]);
    }
    sine = -sine;
    const double next = window[0] * turn[0] + window[1] * turn[1];
    window[1] = window[1] * turn[0] - window[0] * turn[1];
    window[0] = next;
  }
  return sum;
}

/// The nearest pitch that an instrument has to one that is asked for: beyond its range nothing
/// sounds.
static int
nearest_tone(const ReedSource* const source, const int midi)
{
  const int wanted = midi < LOWEST ? 0 : midi > HIGHEST ? PITCHES - 1 : midi - LOWEST;
  for (int off = 0; off < PITCHES; ++off) {
    if (wanted >= off && source->tones[wanted - off].level > 0.0) {
      return wanted - off;
    }
    if (wanted + off < PITCHES && source->tones[wanted + off].level > 0.0) {
      return wanted + off;
    }
  }
  return wanted;
}

/// A recorded tone as the source has it.
static const Tone*
tone_of(ReedSource* const source, const int midi)
{
  const int slot = nearest_tone(source, midi);
  const Tone* const tone = &source->tones[slot];
  Tone* const combed = &source->combed[slot];
  if (source->comb == 0.0 || tone->frequency <= 0.0) {
    return tone;
  }
  if (!combed->samples) {
    const double half = 0.5 * SOURCE_RATE_HZ / tone->frequency;
    *combed = *tone;
    combed->samples = (float*)malloc(tone->count * sizeof(float));
    for (size_t i = 0; i < tone->count; ++i) {
      combed->samples[i] =
          tone->samples[i] + (float)(source->comb * interpolate(tone, (double)i - half));
    }
    measure_tone(combed, LOWEST + slot);
  }
  return combed;
}

static void
add_recorded(ReedSource* const source, float* const out, const size_t out_count, const int midi,
             const double frequency_hz, const double onset_s, const double end_s,
             const double release_s, const double gain, const Sag* const sag)
{
  const Tone* const tone = tone_of(source, midi);
  const double ratio = tone->frequency > 0.0 ? frequency_hz / tone->frequency : 1.0;
  const double from_s = onset_s - tone->onset / ratio / SOURCE_RATE_HZ;
  const double to_s = end_s + 2.5 * release_s;
  double strayed = 0.0; // samples of the tone that its bends have gained or lost
  for (double i = floor(from_s * SOURCE_RATE_HZ); i < to_s * SOURCE_RATE_HZ; i += 1.0) {
    const double t = i / SOURCE_RATE_HZ;
    const double sagged = sag_at(sag, t);
    double level = gain / tone->level * fall_at(t - end_s, release_s);
    if (sagged > 0.0) {
      strayed += ratio * (exp2(sagged * sag->bend_cents / 1200.0) - 1.0);
      level *= pow(10.0, -sagged * sag->dip_db / 20.0);
    }
    if (i < 0.0 || i >= (double)out_count) {
      continue;
    }
    const double at = tone->onset + (t - onset_s) * SOURCE_RATE_HZ * ratio + strayed;
    out[(size_t)i] += (float)(level * interpolate(tone, at));
  }
}

void
reed_source_add(ReedSource* const source, float* const out, const size_t out_count, const int midi,
                const double frequency_hz, const double onset_s, const double end_s,
                const double release_s, const double gain, const Sag* const sag)
{
  if (source->kind == REEDS_MADE) {
    add_made(source, out, out_count, midi, frequency_hz, onset_s, end_s, release_s, gain, sag);
  } else {
    add_recorded(source, out, out_count, midi, frequency_hz, onset_s, end_s, release_s, gain, sag);
  }
}
