// SPDX-License-Identifier: GPL-3.0-or-later

// How much sooner a class of twenty takes is judged by two workers than by one, and what the worker
// processes cost: one worker beside `assess`, which judges the same takes in its own process.
//
// usage: bench_class STEADYREED PHRASE

#include "bench.h"

#include "run_program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TAKES 20
#define SECONDS 30.0
#define TIMES 5
/// Two cores cannot do better than 2; reading and the last take are not shared out.
#define AIM 1.8

static char* folder;
static char names[TAKES][1024];

/// Remove what a run wrote.
static void
clear_results(const char* const results)
{
  char path[1100];
  for (int i = 0; i < TAKES; ++i) {
    snprintf(path, sizeof(path), "%s/pupil-%02d.pdf", results, i);
    unlink(path);
  }
  snprintf(path, sizeof(path), "%s/class.csv", results);
  unlink(path);
  rmdir(results);
}

/// Processor time of a run, of all cores together, s.
static double
cpu_of(const ProgramRun* const run)
{
  const struct timeval* const user = &run->usage.ru_utime;
  const struct timeval* const system = &run->usage.ru_stime;
  return (double)(user->tv_sec + system->tv_sec) + 1e-6 * (double)(user->tv_usec + system->tv_usec);
}

/// Seconds of the class with a number of workers; `cpu_s` receives its processor time.
static double
run_class(const char* const program, const char* const phrase, const char* const takes,
          const char* const workers, double* const cpu_s)
{
  char* const results = folder_path(folder, "results");
  ProgramRun run = run_program((const char* const[]){program, "class", phrase, takes, "-o", results,
                                                     "--workers", workers, NULL});
  if (run.status != 0) {
    bench_give_up(run.trouble);
  }
  const double seconds = run.seconds;
  *cpu_s = cpu_of(&run);
  run_clear(&run);
  clear_results(results);
  free(results);
  return seconds;
}

/// Processor time of assess, with a page for each take, s.
static double
run_assess(const char* const program, const char* const phrase)
{
  char* const pages = folder_path(folder, "all.pdf");
  const char* arguments[TAKES + 8] = {program, "assess", phrase};
  for (int i = 0; i < TAKES; ++i) {
    arguments[3 + i] = names[i];
  }
  arguments[3 + TAKES] = "--csv";
  arguments[4 + TAKES] = "--page";
  arguments[5 + TAKES] = pages;
  ProgramRun run = run_program(arguments);
  if (run.status != 0) {
    bench_give_up(run.trouble);
  }
  const double cpu_s = cpu_of(&run);
  run_clear(&run);
  unlink(pages);
  free(pages);
  return cpu_s;
}

int
main(const int argc, char** const argv)
{
  if (argc != 3) {
    fprintf(stderr, "usage: %s STEADYREED PHRASE\n", argv[0]);
    return 2;
  }
  double ratios[TIMES];
  double costs[TIMES];
  double cpu[TIMES];
  double last_s[2] = {0.0, 0.0};
  folder = folder_make();
  char* const takes = folder_path(folder, "takes");
  if (mkdir(takes, 0777) != 0) {
    bench_give_up("There is no room for the takes.");
  }
  for (int i = 0; i < TAKES; ++i) {
    snprintf(names[i], sizeof(names[i]), "%s/pupil-%02d.wav", takes, i);
    bench_write_take(argv[2], names[i], SECONDS);
  }
  // One after another, so that what else the machine does meets all of them
  for (int t = 0; t < TIMES; ++t) {
    double one_cpu_s;
    double two_cpu_s;
    const double assess_cpu_s = run_assess(argv[1], argv[2]);
    const double one_s = run_class(argv[1], argv[2], takes, "1", &one_cpu_s);
    const double two_s = run_class(argv[1], argv[2], takes, "2", &two_cpu_s);
    ratios[t] = one_s / two_s;
    costs[t] = one_cpu_s / assess_cpu_s;
    cpu[t] = two_cpu_s / one_cpu_s;
    last_s[0] = one_s;
    last_s[1] = two_s;
  }
  const double ratio = bench_median(ratios, TIMES);
  printf("%d takes of %.0f s each, pages included, %ld cores; the last run: one worker %.2f s, two "
         "%.2f s\n",
         TAKES, SECONDS, sysconf(_SC_NPROCESSORS_ONLN), last_s[0], last_s[1]);
  printf("two workers against one: %.2f times as fast; aim %.1f: %s\n", ratio, AIM,
         bench_verdict(ratio >= AIM));
  printf("processor time: two workers against one %.2f; one against assess in one process %.2f\n",
         bench_median(cpu, TIMES), bench_median(costs, TIMES));
  for (int i = 0; i < TAKES; ++i) {
    unlink(names[i]);
  }
  rmdir(takes);
  folder_remove(folder);
  free(takes);
  free(folder);
  return 0;
}
