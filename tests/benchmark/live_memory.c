// SPDX-License-Identifier: GPL-3.0-or-later

// An hour of practice, heard as fast as it can be: memory at its end against that after ten
// minutes, when all that is kept has been kept. Target: no more than 1 MB.

#include "bench.h"
#include "evening.h"

#include <steadyreed/live.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define RATE_HZ 48000.0
#define CHUNK 240u
#define SECONDS 3600
#define SETTLED_S 600
#define MOST_MB 1.0

/// Resident memory by Linux's account, MB.
static double
resident_mb(void)
{
  char line[256] = "";
  FILE* const file = fopen("/proc/self/statm", "r");
  const char* const got = file ? fgets(line, sizeof(line), file) : NULL;
  if (file) {
    fclose(file);
  }
  // Pages in all, then those resident
  const char* const resident = got ? strchr(line, ' ') : NULL;
  if (!resident) {
    bench_give_up("/proc/self/statm cannot be read");
    return 0.0;
  }
  return 1e-6 * (double)strtoul(resident, NULL, 10) * (double)sysconf(_SC_PAGESIZE);
}

int
main(const int count, char** const arguments)
{
  if (count < 2) {
    bench_give_up("usage: live_memory PHRASE");
  }
  SrPhrase* phrase = NULL;
  SrLive* live = NULL;
  SrError error = {0};
  if (sr_phrase_read_file(arguments[1], NULL, &phrase, &error) != SR_OK) {
    bench_give_up(error.message);
  }
  Evening* const evening = evening_new(phrase, RATE_HZ);
  const double before_mb = resident_mb();
  if (sr_live_new(phrase, NULL, &live, &error) != SR_OK) {
    bench_give_up(error.message);
  }
  size_t rounds = 0;
  double settled_mb = 0.0;
  double most_mb = 0.0;
  for (int second = 0; second < SECONDS; ++second) {
    for (size_t at = 0; at < (size_t)RATE_HZ; at += CHUNK) {
      float samples[CHUNK];
      evening_read(evening, samples, CHUNK);
      if (sr_live_push(live, samples, CHUNK, &error) != SR_OK) {
        bench_give_up(error.message);
      }
      SrNews news;
      while (sr_live_pull(live, &news)) {
        rounds += news.kind == SR_NEWS_ROUND;
        sr_assessment_del(news.assessment);
      }
    }
    if (second + 1 == SETTLED_S) {
      settled_mb = resident_mb();
    } else if (second >= SETTLED_S && resident_mb() > most_mb) {
      most_mb = resident_mb();
    }
  }
  const double end_mb = resident_mb();
  printf("an hour of \"%s\" at 48 kHz, %zu rounds\n", sr_phrase_title(phrase), rounds);
  printf("  memory after %d minutes  %.2f MB, of which listening %.2f MB\n", SETTLED_S / 60,
         settled_mb, settled_mb - before_mb);
  printf("  ... at the end           %.2f MB, grown by %.2f MB (at most %.0f): %s\n", end_mb,
         end_mb - settled_mb, MOST_MB, bench_verdict(end_mb - settled_mb <= MOST_MB));
  printf("  ... at most in between   %.2f MB\n", most_mb);
  evening_del(evening);
  sr_live_del(live);
  sr_phrase_del(phrase);
  return 0;
}
