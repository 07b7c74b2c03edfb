// SPDX-License-Identifier: GPL-3.0-or-later

// Cost against length: 1, 2, 4 and 8 minutes. Target: in proportion, so that a
// minute of the longest take costs at most a quarter more than one of the shortest.

#include "bench.h"

#include "run_program.h"

#include <stdio.h>
#include <stdlib.h>

#define LENGTHS 4
#define TURNS 5

int
main(const int count, char** const arguments)
{
  if (count < 3) {
    bench_give_up("usage: growth STEADYREED PHRASE");
  }
  static const double minutes[LENGTHS] = {1.0, 2.0, 4.0, 8.0};
  static const char* const names[LENGTHS] = {"1.wav", "2.wav", "4.wav", "8.wav"};
  char* const folder = folder_make();
  double per_minute[LENGTHS];
  double memory_mb[LENGTHS];
  for (size_t i = 0; i < LENGTHS; ++i) {
    char* const take = folder_path(folder, names[i]);
    bench_write_take(arguments[2], take, 60.0 * minutes[i]);
    const char* const assess[] = {arguments[1], "assess", arguments[2], take, NULL};
    double seconds[TURNS];
    for (size_t turn = 0; turn < TURNS; ++turn) {
      ProgramRun run = run_program(assess);
      if (run.status != 0) {
        bench_give_up(run.trouble);
      }
      seconds[turn] = run.seconds;
      memory_mb[i] = (double)run.usage.ru_maxrss * 1024e-6;
      run_clear(&run);
    }
    per_minute[i] = bench_median(seconds, TURNS) / minutes[i];
    free(take);
  }
  printf("cost of a minute, by length of take (median of %d)\n", TURNS);
  for (size_t i = 0; i < LENGTHS; ++i) {
    printf("  %.0f min  %.1f ms a minute, ratio %.2f, peak memory %.1f MB\n", minutes[i],
           1000.0 * per_minute[i], per_minute[i] / per_minute[0], memory_mb[i]);
  }
  const double ratio = per_minute[LENGTHS - 1] / per_minute[0];
  printf("  8 min against 1 min: %.2f (at most 1.25): %s\n", ratio, bench_verdict(ratio <= 1.25));
  folder_remove(folder);
  free(folder);
  return 0;
}
