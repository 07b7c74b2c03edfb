// SPDX-License-Identifier: GPL-3.0-or-later

// What the two audio callbacks cost, beside memcpy() of the same buffers in the same run: 256
// frames in and out, mono in, stereo out, with a click and something played. Target: the median at
// most a hundredth of the buffer's own duration.

#include "bench.h"

#include "audio/callback.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#define CALLS 200000u
#define FRAMES 256ul
#define RATE_HZ 48000.0
#define CLICK_FRAMES 2400u

/// How often the system took this thread's processor away so far.
static long
interruptions(void)
{
  struct rusage usage;
  getrusage(RUSAGE_THREAD, &usage);
  return usage.ru_nivcsw;
}

int
main(void)
{
  static SrCallback callback;
  static float click[CLICK_FRAMES];
  static float input[FRAMES];
  static float output[2 * FRAMES];
  static float copied_input[FRAMES];
  static float copied_output[2 * FRAMES];
  static float samples[4 * FRAMES];
  double* const ours_us = (double*)calloc(CALLS, sizeof(double));
  double* const copy_us = (double*)calloc(CALLS, sizeof(double));
  if (!ours_us || !copy_us || !sr_callback_begin(&callback, RATE_HZ, 1, 2, 0, 10.0, 2.0)) {
    bench_give_up("no memory");
  }
  for (size_t i = 0; i < CLICK_FRAMES; ++i) {
    click[i] = 0.5f * sinf(0.2f * (float)i);
  }
  for (size_t i = 0; i < FRAMES; ++i) {
    input[i] = 0.1f * sinf(0.1f * (float)i);
  }
  const SrClickPlan plan = {.plain = click,
                            .plain_count = CLICK_FRAMES,
                            .accent = click,
                            .accent_count = CLICK_FRAMES,
                            .period = 12000.5,
                            .bar_clicks = 4,
                            .volume = 1.0f};
  SrError error = {0};
  if (sr_clicker_start(&callback.clicker, &plan, RATE_HZ, &error) != SR_OK) {
    bench_give_up(error.message);
  }
  double sum = 0.0;
  unsigned interrupted = 0;
  for (size_t i = 0, call = 0; i < CALLS; ++i, ++call) {
    const double clock_s = 1.0 + (double)call * (double)FRAMES / RATE_HZ;
    const PaStreamCallbackTimeInfo time = {0.0, clock_s, 0.0};
    sr_callback_play(&callback, input, FRAMES);
    const long before = interruptions();
    const double begun_s = bench_now_s();
    sr_callback_hear(input, NULL, FRAMES, &time, 0, &callback);
    sr_callback_sound(NULL, output, FRAMES, &time, 0, &callback);
    const double between_s = bench_now_s();
    memcpy(copied_input, input, sizeof(input));
    memcpy(copied_output, output, sizeof(output));
    const double ended_s = bench_now_s();
    if (interruptions() != before) {
      // What another program took is not the callback's; reported by its count below.
      ++interrupted;
      --i;
      sr_callback_read(&callback, samples, 4 * FRAMES);
      continue;
    }
    ours_us[i] = 1e6 * (between_s - begun_s);
    copy_us[i] = 1e6 * (ended_s - between_s);
    sum += (double)copied_output[i % FRAMES] + (double)copied_input[i % FRAMES];
    sr_callback_read(&callback, samples, 4 * FRAMES);
  }
  uint64_t began = 0;
  if (!sr_clicker_began(&callback.clicker, &began) || sum == 0.0) {
    bench_give_up("the click did not run");
  }
  const double buffer_us = 1e6 * (double)FRAMES / RATE_HZ;
  const double ours = bench_median(ours_us, CALLS);
  const double copy = bench_median(copy_us, CALLS);
  // Sorted by the median.
  const double worst = ours_us[CALLS - 1];
  const double rare = ours_us[CALLS - CALLS / 1000];
  printf("both audio callbacks, %lu frames at %.0f Hz (%.0f us), %u calls, and %u more that were "
         "interrupted\n",
         FRAMES, RATE_HZ, buffer_us, CALLS, interrupted);
  printf(
      "  callbacks  median %.2f us (%.3f %% of the buffer), 99.9 %% under %.2f us, worst %.1f us "
      "(%.2f %%)\n",
      ours, 100.0 * ours / buffer_us, rare, worst, 100.0 * worst / buffer_us);
  printf("  memcpy     median %.2f us (%.3f %%), worst %.1f us (%.2f %%)\n", copy,
         100.0 * copy / buffer_us, copy_us[CALLS - 1], 100.0 * copy_us[CALLS - 1] / buffer_us);
  printf("  median against memcpy: %.1f times; at most 1 %% of the buffer: %s\n", ours / copy,
         bench_verdict(ours <= 0.01 * buffer_us));
  sr_callback_end(&callback);
  free(ours_us);
  free(copy_us);
  return 0;
}
