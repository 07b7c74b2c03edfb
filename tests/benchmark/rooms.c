// SPDX-License-Identifier: GPL-3.0-or-later

// Where the time of one minute goes: reading, calibration, hearing, judging.

#include "bench.h"

#include "run_program.h"

#include <steadyreed/audio.h>
#include <steadyreed/hear.h>
#include <steadyreed/judge.h>
#include <steadyreed/live.h>
#include <steadyreed/phrase.h>

#include <stdio.h>
#include <stdlib.h>

#define TURNS 9
#define MINUTE_S 60.0
#define SAMPLES ((size_t)60 * 44100)
#define CHUNK 65536u

static size_t
chunk_at(const size_t at)
{
  return SAMPLES - at < CHUNK ? SAMPLES - at : CHUNK;
}

int
main(const int count, char** const arguments)
{
  if (count < 2) {
    bench_give_up("usage: rooms PHRASE");
  }
  char* const folder = folder_make();
  char* const path = folder_path(folder, "minute.wav");
  bench_write_take(arguments[1], path, MINUTE_S);
  SrPhrase* phrase = NULL;
  SrError error = {0};
  float* const samples = malloc(SAMPLES * sizeof(float));
  SrEvent* const events = malloc(100000 * sizeof(SrEvent));
  if (!samples || !events || sr_phrase_read_file(arguments[1], NULL, &phrase, &error) != SR_OK) {
    bench_give_up("no memory or no phrase");
  }
  const SrExpected expected = sr_live_expected(phrase);

  double read_ms[TURNS];
  double calibration_ms[TURNS];
  double hear_ms[TURNS];
  double deaf_ms[TURNS];
  double judge_ms[TURNS];
  size_t event_count = 0;
  for (size_t turn = 0; turn < TURNS; ++turn) {
    double begun = bench_now_s();
    SrTakeReader* reader = NULL;
    if (sr_take_reader_new(path, &reader, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    size_t read = 0;
    size_t got = 0;
    while (read < SAMPLES && (got = sr_take_reader_read(reader, samples + read, chunk_at(read)))) {
      read += got;
    }
    sr_take_reader_del(reader);
    read_ms[turn] = 1000.0 * (bench_now_s() - begun);

    begun = bench_now_s();
    SrCalibration* calibration = NULL;
    SrProfile* profile = NULL;
    if (sr_calibration_new(44100.0, &expected, &calibration, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    for (size_t at = 0; at < SAMPLES; at += chunk_at(at)) {
      sr_calibration_push(calibration, samples + at, chunk_at(at));
    }
    if (sr_calibration_finish(calibration, SR_READ_SINGLE, &profile, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    sr_calibration_del(calibration);
    calibration_ms[turn] = 1000.0 * (bench_now_s() - begun);

    begun = bench_now_s();
    SrHear* hear = NULL;
    if (sr_hear_new(44100.0, profile, &expected, &hear, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    sr_hear_without_air(hear);
    for (size_t at = 0; at < SAMPLES; at += chunk_at(at)) {
      SrEvent event;
      sr_hear_push(hear, samples + at, chunk_at(at));
      while (sr_hear_pull(hear, &event)) {
      }
    }
    sr_hear_finish(hear);
    sr_hear_del(hear);
    deaf_ms[turn] = 1000.0 * (bench_now_s() - begun);

    begun = bench_now_s();
    hear = NULL;
    event_count = 0;
    if (sr_hear_new(44100.0, profile, &expected, &hear, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    for (size_t at = 0; at < SAMPLES; at += chunk_at(at)) {
      sr_hear_push(hear, samples + at, chunk_at(at));
      while (event_count < 100000 && sr_hear_pull(hear, &events[event_count])) {
        ++event_count;
      }
    }
    sr_hear_finish(hear);
    while (event_count < 100000 && sr_hear_pull(hear, &events[event_count])) {
      ++event_count;
    }
    sr_hear_del(hear);
    sr_profile_del(profile);
    hear_ms[turn] = 1000.0 * (bench_now_s() - begun);

    begun = bench_now_s();
    const SrTakeFacts facts = {path, MINUTE_S, 44100.0, -6.0, 0};
    SrAssessment* assessment = NULL;
    const SrHeard heard = {.events = events, .event_count = event_count};
    if (sr_judge_take(phrase, &heard, &facts, NULL, &assessment, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    sr_assessment_del(assessment);
    judge_ms[turn] = 1000.0 * (bench_now_s() - begun);
  }
  const double read = bench_median(read_ms, TURNS);
  const double calibration = bench_median(calibration_ms, TURNS);
  const double hear = bench_median(hear_ms, TURNS);
  const double judge = bench_median(judge_ms, TURNS);
  printf("one minute of take, %zu events, median of %d\n", event_count, TURNS);
  printf("  read once  %6.2f ms\n  calibration %5.2f ms\n  hear       %6.2f ms\n"
         "  judge      %6.2f ms\n",
         read, calibration, hear, judge);
  const double deaf = bench_median(deaf_ms, TURNS);
  const double others = 2.0 * read + calibration + deaf + judge;
  printf("  of hearing, air %.2f ms: %.2f of all the rest of `assess` (at most 0.25): %s\n",
         hear - deaf, (hear - deaf) / others, bench_verdict((hear - deaf) / others <= 0.25));
  printf("  calibration and hearing together: %.0f times real time (at least 200 for hearing "
         "live): %s\n",
         1000.0 * MINUTE_S / (calibration + hear),
         bench_verdict(1000.0 * MINUTE_S / (calibration + hear) >= 200.0));
  sr_phrase_del(phrase);
  free(samples);
  free(events);
  folder_remove(folder);
  free(folder);
  free(path);
  return 0;
}
