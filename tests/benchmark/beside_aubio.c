// SPDX-License-Identifier: GPL-3.0-or-later

// One minute of take: `steadyreed assess` as a whole process beside `aubionotes`
// of aubio-tools, in turns. Target: at most half its wall time.

#include "bench.h"

#include "run_program.h"

#include <stdio.h>
#include <stdlib.h>

#define TURNS 15

int
main(const int count, char** const arguments)
{
  if (count < 4) {
    bench_give_up("usage: beside_aubio STEADYREED PHRASE AUBIONOTES");
  }
  char* const folder = folder_make();
  char* const take = folder_path(folder, "minute.wav");
  bench_write_take(arguments[2], take, 60.0);
  const char* const ours[] = {arguments[1], "assess", arguments[2], take, NULL};
  const char* const theirs[] = {arguments[3], "-i", take, NULL};
  double our_s[TURNS];
  double their_s[TURNS];
  // The first turn only warms the caches.
  for (int turn = -1; turn < TURNS; ++turn) {
    ProgramRun our = run_program(ours);
    ProgramRun their = run_program(theirs);
    if (our.status != 0 || their.status != 0) {
      bench_give_up(our.status ? our.trouble : their.trouble);
    }
    if (turn >= 0) {
      our_s[turn] = our.seconds;
      their_s[turn] = their.seconds;
    }
    run_clear(&our);
    run_clear(&their);
  }
  const double our_median = bench_median(our_s, TURNS);
  const double their_median = bench_median(their_s, TURNS);
  const double ratio = our_median / their_median;
  printf("one minute of take, whole process, median of %d turns (fastest to slowest)\n", TURNS);
  printf("  steadyreed assess  %.3f s (%.3f to %.3f)\n", our_median, our_s[0], our_s[TURNS - 1]);
  printf("  aubionotes         %.3f s (%.3f to %.3f)\n", their_median, their_s[0],
         their_s[TURNS - 1]);
  printf("  ratio              %.2f (at most 0.50): %s\n", ratio, bench_verdict(ratio <= 0.5));
  folder_remove(folder);
  free(folder);
  free(take);
  return 0;
}
