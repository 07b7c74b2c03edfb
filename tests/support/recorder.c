// SPDX-License-Identifier: GPL-3.0-or-later

#include "recorder.h"

#include "room.h"

#include <fftw3.h>
#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Reeds' own hiss lies so far about its mean, dB.
#define HISS_SPREAD_DB 4.0
/// A note is followed for so long if no other comes, s.
#define LAST_NOTE_S 1.5
/// Time of the level that hiss follows, s.
#define LEVEL_S 0.010
/// The gate stays open so long before and behind what is loud, s.
#define GATE_BEFORE_S 0.005
#define GATE_BEHIND_S 0.15
/// What is muted keeps so far from the rounds, s.
#define MUTE_S 0.2
/// Gain control: the level it wants, dBFS RMS, most gain, dB, and how fast it falls and rises,
/// dB/s.
#define WANTED_DBFS (-18.0)
#define MOST_GAIN_DB 24.0
#define GAIN_FALL_DB_S 200.0
#define GAIN_RISE_DB_S 12.0

/// The level of a take about each sample, RMS; free() it.
static float*
level_of(const Take* const take)
{
  float* const level = (float*)malloc(take->count * sizeof(float));
  const double share = 1.0 - exp(-1.0 / (0.5 * LEVEL_S * take->rate_hz));
  double mean = 0.0;
  for (size_t i = 0; i < take->count; ++i) {
    mean += share * ((double)(take->samples[i] * take->samples[i]) - mean);
    level[i] = (float)mean;
  }
  // Once more from behind, so that it lies in time with the sound
  mean = 0.0;
  for (size_t i = take->count; i-- > 0;) {
    mean += share * ((double)level[i] - mean);
    level[i] = (float)sqrt(mean);
  }
  return level;
}

/// One sounding note of a take.
typedef struct {
  int midi;
  double start_s;
  double end_s; ///< Where the next one begins
} Played;

/// The notes of a take in order; free() them.
static Played*
played_in(const Take* const take, size_t* const count)
{
  Played* const played =
      (Played*)malloc((take->round_count * take->note_count + 1) * sizeof(Played));
  *count = 0;
  for (size_t r = 0; r < take->round_count; ++r) {
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const note = &take->rounds[r].notes[i];
      if (isfinite(note->onset_s)) {
        if (*count > 0) {
          played[*count - 1].end_s = fmin(played[*count - 1].end_s, note->onset_s);
        }
        played[(*count)++] = (Played){note->heard_midi, note->onset_s, note->onset_s + LAST_NOTE_S};
      }
    }
  }
  return played;
}

void
recorder_hiss(Take* const take, const double level_db, Random* const random)
{
  double gain[128];
  HissColour colour[128];
  for (int midi = 0; midi < 128; ++midi) {
    const double apart_db = random_between(random, -HISS_SPREAD_DB, HISS_SPREAD_DB);
    gain[midi] = pow(10.0, (level_db + apart_db) / 20.0);
    colour[midi] = (HissColour)(random_next(random) % HISS_COLOURS);
  }
  float* const level = level_of(take);
  float* const hiss = (float*)calloc(take->count, sizeof(float));
  size_t count = 0;
  Played* const played = played_in(take, &count);
  for (size_t i = 0; i < count; ++i) {
    hiss_add(hiss, take->count, take->rate_hz, played[i].start_s,
             played[i].end_s - played[i].start_s, gain[played[i].midi], colour[played[i].midi],
             HISS_EVEN, random);
  }
  for (size_t i = 0; i < take->count; ++i) {
    take->samples[i] += hiss[i] * level[i];
  }
  free(played);
  free(hiss);
  free(level);
}

void
recorder_breath(Take* const take, const double level_db, Random* const random)
{
  float* const level = level_of(take);
  size_t count = 0;
  Played* const played = played_in(take, &count);
  for (size_t i = 0; i < count; ++i) {
    const double length_s = played[i].end_s - played[i].start_s;
    const size_t middle = (size_t)((played[i].start_s + 0.5 * fmin(length_s, 0.5)) * take->rate_hz);
    const double note = middle < take->count ? (double)level[middle] : 0.0;
    hiss_add(take->samples, take->count, take->rate_hz, played[i].start_s, length_s,
             note * pow(10.0, level_db / 20.0), HISS_PINK, HISS_SWELL, random);
  }
  free(played);
  free(level);
}

void
recorder_step(Take* const take, const double level_db, const bool in_round, Random* const random)
{
  const double end_s = (double)take->count / take->rate_hz;
  const double next_s = take->round_count > 1 ? take->rounds[1].start_s : end_s;
  const double round_s = take->rounds[0].end_s - take->rounds[0].start_s;
  const double at_s = in_round ? next_s + 0.5 * fmin(round_s, end_s - next_s)
                               : 0.5 * (take->rounds[0].end_s + next_s);
  float* const noise = (float*)calloc(take->count, sizeof(float));
  room_noise(noise, take->count, take->rate_hz, level_db, random);
  const double rise_s = 0.3;
  for (size_t i = (size_t)(at_s * take->rate_hz); i < take->count; ++i) {
    const double since_s = (double)i / take->rate_hz - at_s;
    take->samples[i] += (float)fmin(1.0, since_s / rise_s) * noise[i];
  }
  free(noise);
}

void
recorder_gate(Take* const take, const double level_db)
{
  float* const level = level_of(take);
  const float least = (float)pow(10.0, level_db / 20.0);
  const size_t before = (size_t)(GATE_BEFORE_S * take->rate_hz);
  const size_t behind = (size_t)(GATE_BEHIND_S * take->rate_hz);
  size_t open_until = 0;
  size_t ahead = 0; // The next loud sample
  for (size_t i = 0; i < take->count; ++i) {
    ahead = ahead < i ? i : ahead;
    while (ahead < take->count && ahead <= i + before && level[ahead] < least) {
      ++ahead;
    }
    if (ahead < take->count && ahead <= i + before) {
      open_until = ahead + behind;
    }
    take->samples[i] = i < open_until ? take->samples[i] : 0.0f;
  }
  free(level);
}

void
recorder_mute(Take* const take)
{
  double from_s = 0.0;
  for (size_t r = 0; r < take->round_count; ++r) {
    const double until_s = take->rounds[r].start_s - MUTE_S;
    for (size_t i = (size_t)(from_s * take->rate_hz); (double)i < until_s * take->rate_hz; ++i) {
      take->samples[i] = 0.0f;
    }
    from_s = take->rounds[r].end_s + MUTE_S;
  }
}

void
recorder_gain_control(Take* const take)
{
  float* const level = level_of(take);
  double gain_db = 0.0;
  for (size_t i = 0; i < take->count; ++i) {
    const double wanted_db =
        fmin(MOST_GAIN_DB, WANTED_DBFS - 20.0 * log10((double)level[i] + 1e-9));
    const double fall_db = GAIN_FALL_DB_S / take->rate_hz;
    const double rise_db = GAIN_RISE_DB_S / take->rate_hz;
    gain_db += fmin(rise_db, fmax(-fall_db, wanted_db - gain_db));
    const double value = (double)take->samples[i] * pow(10.0, gain_db / 20.0);
    take->samples[i] = (float)fmin(0.99, fmax(-0.99, value));
  }
  free(level);
}

void
recorder_narrow(Take* const take, const double top_hz, Random* const random)
{
  size_t size = 1024;
  while (size < take->count) {
    size *= 2;
  }
  float* const sound = fftwf_alloc_real(size);
  fftwf_complex* const bins = fftwf_alloc_complex(size / 2 + 1);
  memset(sound, 0, size * sizeof(float));
  memcpy(sound, take->samples, take->count * sizeof(float));
  fftwf_plan forward = fftwf_plan_dft_r2c_1d((int)size, sound, bins, FFTW_ESTIMATE);
  fftwf_plan back = fftwf_plan_dft_c2r_1d((int)size, bins, sound, FFTW_ESTIMATE);
  fftwf_execute(forward);
  for (size_t i = 0; i <= size / 2; ++i) {
    const double hz = (double)i * take->rate_hz / (double)size;
    const float scale = hz < top_hz ? 1.0f / (float)size : 0.0f;
    bins[i][0] *= scale;
    bins[i][1] *= scale;
  }
  fftwf_execute(back);
  for (size_t i = 0; i < take->count; ++i) {
    const double dither = random_unit(random) - 0.5;
    take->samples[i] = (float)(round((double)sound[i] * 32768.0 + dither) / 32768.0);
  }
  fftwf_destroy_plan(forward);
  fftwf_destroy_plan(back);
  fftwf_free(sound);
  fftwf_free(bins);
}

/// Write or read mono samples at a path.
static bool
move_samples(const char* const path, Take* const take, const bool write)
{
  SF_INFO info = {
      .samplerate = (int)take->rate_hz, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  SNDFILE* const file = sf_open(path, write ? SFM_WRITE : SFM_READ, &info);
  if (!file) {
    return false;
  }
  const sf_count_t count = (sf_count_t)take->count;
  bool done = info.channels == 1 && info.samplerate == (int)take->rate_hz;
  if (write) {
    done = done && sf_writef_float(file, take->samples, count) == count;
  } else if (done) {
    const sf_count_t read = sf_readf_float(file, take->samples, count);
    done = read > count / 2;
    for (sf_count_t i = done ? read : count; i < count; ++i) {
      take->samples[i] = 0.0f;
    }
  }
  return sf_close(file) == 0 && done;
}

bool
recorder_opus(Take* const take, const unsigned kbit_s, const bool speech)
{
  char folder[] = "/tmp/steadyreed-opus-XXXXXX";
  if (!mkdtemp(folder)) {
    return false;
  }
  char wave[64];
  char opus[64];
  char command[512];
  snprintf(wave, sizeof(wave), "%s/take.wav", folder);
  snprintf(opus, sizeof(opus), "%s/take.opus", folder);
  snprintf(command, sizeof(command),
           "ffmpeg -nostdin -v error -y -i '%s' -c:a libopus -application %s -b:a %uk '%s' && "
           "ffmpeg -nostdin -v error -y -i '%s' -ar %.0f -c:a pcm_s16le '%s'",
           wave, speech ? "voip" : "audio", kbit_s, opus, opus, take->rate_hz, wave);
  const bool done =
      move_samples(wave, take, true) && system(command) == 0 && move_samples(wave, take, false);
  remove(wave);
  remove(opus);
  rmdir(folder);
  return done;
}
