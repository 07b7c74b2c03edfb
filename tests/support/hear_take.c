// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hear_take.c
   Prints what is heard in a take, with no judge in between.

   usage: hear_take TAKE [MIDI…]   the numbers are the phrase's notes and cuts
*/

#include <steadyreed/hear.h>

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static int
by_onset(const void* const a, const void* const b)
{
  const double x = ((const SrEvent*)a)->onset_s;
  const double y = ((const SrEvent*)b)->onset_s;
  return (x > y) - (x < y);
}

static void
print_profile(const SrProfile* const profile)
{
  printf("A4 %.2f Hz; reeds learnt:", sr_profile_reference_hz(profile));
  for (int midi = SR_LOWEST_MIDI; midi <= SR_HIGHEST_MIDI; ++midi) {
    double cents = 0.0;
    if (sr_profile_reed(profile, midi, &cents)) {
      printf(" %d (%+.1f)", midi, cents);
    }
  }
  printf("\n");
}

int
main(const int argc, char** const argv)
{
  SF_INFO info = {0};
  SNDFILE* const file = argc > 1 ? sf_open(argv[1], SFM_READ, &info) : NULL;
  if (!file || info.channels != 1) {
    fprintf(stderr, "usage: hear_take TAKE [MIDI...]   (a mono recording)\n");
    return 2;
  }
  SrExpected expected = {0};
  for (int i = 2; i < argc; ++i) {
    const int midi = (int)strtol(argv[i], NULL, 10);
    if (midi >= 0 && midi < 128) {
      expected.any = true;
      expected.expected[midi] = 1;
    }
  }
  const size_t count = (size_t)info.frames;
  float* const samples = (float*)malloc((count + 1) * sizeof(float));
  const size_t read = (size_t)sf_readf_float(file, samples, info.frames);
  sf_close(file);
  SrCalibration* calibration = NULL;
  SrProfile* profile = NULL;
  SrHear* hear = NULL;
  if (sr_calibration_new(info.samplerate, &expected, &calibration, NULL) != SR_OK) {
    free(samples);
    return 1;
  }
  sr_calibration_push(calibration, samples, read);
  sr_calibration_finish(calibration, SR_READ_SINGLE, &profile, NULL);
  sr_calibration_del(calibration);
  print_profile(profile);
  sr_hear_new(info.samplerate, profile, &expected, &hear, NULL);
  sr_hear_push(hear, samples, read);
  sr_hear_finish(hear);
  SrEvent* events = NULL;
  SrEvent event;
  size_t heard = 0;
  while (sr_hear_pull(hear, &event)) {
    events = (SrEvent*)realloc(events, (heard + 1) * sizeof(SrEvent));
    events[heard++] = event;
  }
  if (heard) {
    qsort(events, heard, sizeof(SrEvent), by_onset);
  }
  for (size_t i = 0; i < heard; ++i) {
    const SrEvent* const e = &events[i];
    printf(
        "%9.4f %9.4f  %4.0f ms  %s %3d  %8.2f Hz  %6.1f dB  fell %5.1f dB  phase %5.2f  fit %.2f\n",
        e->onset_s, e->end_s, 1e3 * (e->end_s - e->onset_s),
        e->kind == SR_EVENT_SOUND ? "sound  " : "unheard", e->midi, e->frequency_hz, e->level_db,
        e->fall_db, e->phase_kept, e->fit);
  }
  free(events);
  free(samples);
  sr_profile_del(profile);
  sr_hear_del(hear);
  return 0;
}
