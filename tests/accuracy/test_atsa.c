// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_atsa.c
   The split of a note into its harmonics and its noise, against a peer: atsa of Csound
   (analysis, transformation and synthesis, ATS), which follows partials and tells what they
   leave in 25 critical bands. Its scale is its own, so steps of level are compared.

   Exits 77 where atsa is not installed.
*/

#include "heard.h"
#include "hiss.h"
#include "reed_source.h"

#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define LENGTH_S 3.0
#define AIR_START_S 1.0
#define AIR_LENGTH_S 1.0
/// Levels of the hiss, dB, and the step between them.
#define FIRST_DB (-10.0)
#define STEP_DB 6.0
#define STEPS 3
/// Critical bands, from 1, of 0.5 to 9.5 kHz.
#define FIRST_BAND 5
#define LAST_BAND 21

/// Mean of what the partials leave, in its own unit, by atsa; negative if it cannot be had.
static double
peer_noise(const char* const folder, const float* const samples, const size_t count,
           const double frequency_hz)
{
  char wave[96];
  char ats[96];
  char command[400];
  snprintf(wave, sizeof(wave), "%s/note.wav", folder);
  snprintf(ats, sizeof(ats), "%s/note.ats", folder);
  SF_INFO info = {
      .samplerate = (int)SOURCE_RATE_HZ, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  SNDFILE* const file = sf_open(wave, SFM_WRITE, &info);
  const bool written =
      file && sf_writef_float(file, samples, (sf_count_t)count) == (sf_count_t)count;
  if (file) {
    sf_close(file);
  }
  snprintf(command, sizeof(command),
           "atsa '%s' '%s' -b 1.1 -e 0.8 -l %.0f -H 12000 >/dev/null 2>&1", wave, ats,
           0.8 * frequency_hz);
  double mean = -1.0;
  // The system's answer is not asked: atsa's is not always 0 when it worked
  const int ran = written ? system(command) : -1;
  FILE* const result = ran >= 0 ? fopen(ats, "rb") : NULL;
  double head[10];
  if (result && fread(head, sizeof(double), 10, result) == 10 && fabs(head[0] - 123.0) < 0.5 &&
      fabs(head[9] - 4.0) < 0.5) {
    const size_t partials = (size_t)head[4];
    const size_t frames = (size_t)head[5];
    const size_t size = 1 + 3 * partials + 25;
    double* const frame = (double*)malloc(size * sizeof(double));
    double sum = 0.0;
    size_t used = 0;
    for (size_t i = 0; i < frames && fread(frame, sizeof(double), size, result) == size; ++i) {
      // Its first and last frames reach over the ends
      if (i >= frames / 8 && i < frames - frames / 8) {
        for (size_t b = FIRST_BAND; b <= LAST_BAND; ++b) {
          sum += frame[1 + 3 * partials + b];
        }
        ++used;
      }
    }
    free(frame);
    mean = used ? sum / (double)used : -1.0;
  }
  if (result) {
    fclose(result);
  }
  remove(wave);
  remove(ats);
  return mean;
}

static double
own_level_db(const int midi, const float* const samples, const size_t count)
{
  static const char* const names[] = {"A,", "^C", "E", "A", "^c", "e"};
  static const int midis[] = {57, 61, 64, 69, 73, 76};
  char abc[64];
  for (size_t i = 0; i < 6; ++i) {
    if (midis[i] == midi) {
      snprintf(abc, sizeof(abc), "X:1\nT:One\nM:4/4\nL:1/4\nK:C\n%s4|]\n", names[i]);
    }
  }
  SrPhrase* phrase = NULL;
  sr_phrase_read_text(abc, strlen(abc), "one", NULL, &phrase, NULL);
  float* const copy = (float*)malloc(count * sizeof(float));
  memcpy(copy, samples, count * sizeof(float));
  const Take take = {.samples = copy, .count = count, .rate_hz = SOURCE_RATE_HZ};
  HeardTake heard = heard_take(phrase, &take);
  double level_db = (double)NAN;
  for (size_t i = 0; i < heard.air_count; ++i) {
    if (fabs(heard.airs[i].start_s - AIR_START_S) < 0.1) {
      level_db = 10.0 * log10(heard.airs[i].hiss_power / heard.airs[i].note_power);
    }
  }
  heard_free(&heard);
  sr_phrase_del(phrase);
  free(copy);
  return level_db;
}

int
main(void)
{
  char folder[] = "/tmp/steadyreed-atsa-XXXXXX";
  if (system("command -v atsa >/dev/null 2>&1") != 0) {
    printf("atsa is not installed (Debian's csound-utils)\n");
    return 77;
  }
  if (!mkdtemp(folder)) {
    return 1;
  }
  static const int pitches[] = {57, 61, 64, 69, 73, 76};
  double apart_sum = 0.0;
  double own_sum = 0.0;
  double peer_sum = 0.0;
  size_t steps = 0;
  bool all = true;
  for (size_t p = 0; p < 6; ++p) {
    const size_t count = (size_t)(LENGTH_S * SOURCE_RATE_HZ);
    ReedSource* const source = reed_source_new(REEDS_MADE, 3 + p, 12.0);
    const double hz = 440.0 * exp2((pitches[p] - 69) / 12.0);
    double own_before = (double)NAN;
    double peer_before = (double)NAN;
    for (int step = 0; step < STEPS; ++step) {
      float* const samples = (float*)calloc(count, sizeof(float));
      Random random = {17};
      reed_source_add(source, samples, count, pitches[p], hz, 0.2, 2.8, 0.01, 0.1, NULL);
      hiss_add(samples, count, SOURCE_RATE_HZ, AIR_START_S, AIR_LENGTH_S,
               0.1 * pow(10.0, (FIRST_DB - STEP_DB * step) / 20.0), HISS_WHITE, HISS_EVEN, &random);
      const double own = own_level_db(pitches[p], samples, count);
      const double noise = peer_noise(folder, samples, count, hz);
      const double peer = noise > 0.0 ? 10.0 * log10(noise) : (double)NAN;
      if (step) {
        printf("  MIDI %d, %.0f to %.0f dB: ours %.2f dB down, atsa's %.2f\n", pitches[p],
               FIRST_DB - STEP_DB * (step - 1), FIRST_DB - STEP_DB * step, own_before - own,
               peer_before - peer);
        all = all && isfinite(own_before - own) && isfinite(peer_before - peer);
        apart_sum += fabs((own_before - own) - (peer_before - peer));
        own_sum += fabs(own_before - own - STEP_DB);
        peer_sum += fabs(peer_before - peer - STEP_DB);
        ++steps;
      }
      own_before = own;
      peer_before = peer;
      free(samples);
    }
    reed_source_del(source);
  }
  rmdir(folder);
  const double count = (double)steps;
  printf("steps of %.0f dB: apart %.2f dB on the mean; from the truth ours %.2f dB, atsa's %.2f\n",
         STEP_DB, apart_sum / count, own_sum / count, peer_sum / count);
  return all && apart_sum / count < 1.0 && own_sum / count < 0.5 ? 0 : 1;
}
