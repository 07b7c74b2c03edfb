// SPDX-License-Identifier: GPL-3.0-or-later

// How long a tune of 64 bars takes to be laid out three ways on 38 buttons, and how that grows with
// its length. The peer is reading the same tune, in the same run.

#include "bench.h"

#include <steadyreed/plan.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define TIMES 9

static double
now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/// A reel of this many bars without repeats.
static char*
make_tune(const int bars)
{
  static const char* const bar[] = {"D{F}DFA d{f}dAF", "G{B}GBd gdBG", "E{G}EGB e{g}eBG",
                                    "A{c}Ace a2ec",    "dfaf dAFA",    "B{d}BdB A{c}AcA",
                                    "GBdB GFED",       "F{A}FDE F2D2"};
  char* const text = (char*)malloc(64 + (size_t)bars * 24);
  if (!text) {
    exit(1);
  }
  strcpy(text, "X:1\nM:4/4\nL:1/8\nQ:1/4=180\nK:D\n");
  char* at = text + strlen(text);
  for (int i = 0; i < bars; ++i) {
    at += sprintf(at, "%s%s", bar[(i + i / 8) % 8],
                  i + 1 == bars ? "|]\n"
                  : i % 4 == 3  ? "|\n"
                                : "|");
  }
  return text;
}

static int
compare(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// Median seconds of planning, and of reading, a tune of that many bars.
static void
measure(const int bars, const SrInstrument* const instrument, double* const plan_s,
        double* const read_s)
{
  double plans[TIMES];
  double reads[TIMES];
  char* const text = make_tune(bars);
  for (int t = 0; t < TIMES; ++t) {
    SrPhrase* phrase = NULL;
    double from = now_s();
    if (sr_phrase_read_text(text, strlen(text), "tune", NULL, &phrase, NULL) != SR_OK) {
      exit(1);
    }
    reads[t] = now_s() - from;
    const SrPlanSettings settings = {.bpm = 180.0,
                                     .bellows = sr_bellows_default(),
                                     .style = sr_plan_style(SR_STYLE_ACROSS),
                                     .plans = SR_MOST_PLANS};
    SrPlans* found = NULL;
    SrError error = {0};
    from = now_s();
    if (sr_plan(phrase, instrument, &settings, &found, &error) != SR_OK) {
      printf("%s\n", error.message);
      exit(1);
    }
    plans[t] = now_s() - from;
    if (t == 0) {
      printf("%4d bars, %4zu notes: %zu plans\n", bars, sr_phrase_note_count(phrase),
             sr_plans_count(found));
    }
    sr_plans_del(found);
    sr_phrase_del(phrase);
  }
  free(text);
  qsort(plans, TIMES, sizeof(double), compare);
  qsort(reads, TIMES, sizeof(double), compare);
  *plan_s = plans[TIMES / 2];
  *read_s = reads[TIMES / 2];
}

int
main(const int argc, char** const argv)
{
  SrInstrument* instrument = NULL;
  if (argc < 2 || sr_instrument_read_file(argv[1], &instrument, NULL) != SR_OK) {
    return 2;
  }
  static const int bars[] = {16, 32, 64, 128};
  double a_bar = 0.0;
  for (size_t i = 0; i < sizeof(bars) / sizeof(bars[0]); ++i) {
    double plan_s;
    double read_s;
    measure(bars[i], instrument, &plan_s, &read_s);
    printf("  three plans %6.1f ms (reading it %.2f ms), %.3f ms a bar%s\n", 1e3 * plan_s,
           1e3 * read_s, 1e3 * plan_s / bars[i],
           bars[i] == 64 ? "; target for 64 bars: under 100 ms" : "");
    if (i == 0) {
      a_bar = plan_s / bars[i];
    } else {
      printf("  a bar takes %.2f of what it takes at 16 bars; target: 1, growth linear\n",
             plan_s / bars[i] / a_bar);
    }
  }
  sr_instrument_del(instrument);
  return 0;
}
