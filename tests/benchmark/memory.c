// SPDX-License-Identifier: GPL-3.0-or-later

// Peak memory of `steadyreed assess` on a take of ten minutes. Target: 40 MB.

#include "bench.h"

#include "run_program.h"

#include <stdio.h>
#include <stdlib.h>

int
main(const int count, char** const arguments)
{
  if (count < 3) {
    bench_give_up("usage: memory STEADYREED PHRASE");
  }
  char* const folder = folder_make();
  char* const take = folder_path(folder, "ten.wav");
  bench_write_take(arguments[2], take, 600.0);
  const char* const assess[] = {arguments[1], "assess", arguments[2], take, "--json", NULL};
  const char* const nothing[] = {arguments[1], "--version", NULL};
  ProgramRun run = run_program(assess);
  ProgramRun bare = run_program(nothing);
  if (run.status != 0 || bare.status != 0) {
    bench_give_up(run.trouble);
  }
  // Linux tells kilobytes of 1024 bytes.
  const double megabytes = (double)run.usage.ru_maxrss * 1024e-6;
  printf("ten minutes of take, as JSON (its largest form)\n");
  printf("  peak memory   %.1f MB (at most 40): %s\n", megabytes, bench_verdict(megabytes <= 40.0));
  printf("  of that, the program and its libraries alone: %.1f MB\n",
         (double)bare.usage.ru_maxrss * 1024e-6);
  printf("  time          %.3f s, %.0f times real time\n", run.seconds, 600.0 / run.seconds);
  run_clear(&run);
  run_clear(&bare);
  folder_remove(folder);
  free(folder);
  free(take);
  return 0;
}
