// SPDX-License-Identifier: GPL-3.0-or-later

// What keys do during practice.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "keys.h"

#include <math.h>
#include <string.h>

static SrJob
job_of(const char* const bytes)
{
  return sr_key_job(sr_key_of_bytes(bytes, strlen(bytes)));
}

/// Sequences of xterm, and of the VT220 in both modes of its cursor keys.
static void
keys_do_their_jobs(void** const state)
{
  (void)state;
  static const struct {
    const char* bytes;
    SrJob job;
  } keys[] = {
      {" ", SR_JOB_BEGIN},       {"\033[6~", SR_JOB_BEGIN}, {"\033[C", SR_JOB_BEGIN},
      {"\033OC", SR_JOB_BEGIN},  {"\033[5~", SR_JOB_HEAR},  {"\033[D", SR_JOB_HEAR},
      {"\033[A", SR_JOB_FASTER}, {"\033OA", SR_JOB_FASTER}, {"\033[B", SR_JOB_SLOWER},
      {"n", SR_JOB_NEXT},        {"N", SR_JOB_NEXT},        {"\n", SR_JOB_NEXT},
      {"\r", SR_JOB_NEXT},       {"nn", SR_JOB_NONE},       {"\033n", SR_JOB_NONE},
      {"q", SR_JOB_END},         {"Q", SR_JOB_END},         {"\033", SR_JOB_END},
      {"", SR_JOB_NONE},         {"x", SR_JOB_NONE},        {"\033[1;5C", SR_JOB_NONE},
      {"\033[3~", SR_JOB_NONE},  {"\033 ", SR_JOB_NONE},    {"\033[", SR_JOB_NONE},
      {"\033[2~", SR_JOB_NONE},  {"\033[AA", SR_JOB_NONE},  {"qq", SR_JOB_NONE},
  };
  for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]); ++i) {
    if (job_of(keys[i].bytes) != keys[i].job) {
      fail_msg("key %zu does job %d", i, (int)job_of(keys[i].bytes));
    }
  }
}

/// The state follows what a session reports.
static void
state_follows_events(void** const state)
{
  (void)state;
  SrJobState jobs = {.bpm = (double)NAN};
  sr_job_hear(&jobs, &(SrSessionEvent){.kind = SR_SESSION_READY, .ready = {.bpm = 90.0}});
  assert_true(fabs(jobs.bpm - 90.0) < 1e-9 && !jobs.playing);
  sr_job_hear(&jobs, &(SrSessionEvent){.kind = SR_SESSION_PLAYING, .playing = {.bpm = 50.0}});
  assert_true(fabs(jobs.bpm - 90.0) < 1e-9 && jobs.playing);
  sr_job_hear(&jobs, &(SrSessionEvent){.kind = SR_SESSION_TEMPO, .bpm = 100.0});
  assert_true(fabs(jobs.bpm - 100.0) < 1e-9 && jobs.playing);
  sr_job_hear(&jobs, &(SrSessionEvent){.kind = SR_SESSION_PLAYED});
  assert_false(jobs.playing);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(keys_do_their_jobs),
                                     cmocka_unit_test(state_follows_events)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
