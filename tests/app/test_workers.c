// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_workers.c
   Jobs in processes of their own: each is over once, whatever the number of workers, and one that
   is killed or ends badly stops no other.
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <app/workers.h>

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define JOBS 24u
#define LARGE 300000u
#define KILLED 5u
#define STATUS 7u
#define HALF 11u
#define LARGER 13u

typedef struct {
  pid_t parent;
  unsigned over[JOBS];
  SrJobEnd ends[JOBS];
  unsigned sum[JOBS]; ///< Of the bytes it wrote
  unsigned finished;
  unsigned stop_after;
} Seen;

static void
do_job(void* const context, const size_t index, FILE* const out)
{
  const Seen* const seen = context;
  if (getpid() == seen->parent) {
    abort();
  }
  fprintf(out, "job %zu", index);
  if (index == KILLED) {
    kill(getpid(), SIGKILL);
  } else if (index == STATUS) {
    _exit(3);
  } else if (index == HALF) {
    fflush(out);
    kill(getpid(), SIGKILL);
  } else if (index == LARGER) {
    for (size_t i = 0; i < LARGE; ++i) {
      fputc((int)(i % 251), out);
    }
  }
}

static void
take_end(void* const context, const size_t index, const SrJobEnd* const end)
{
  Seen* const seen = context;
  ++seen->over[index];
  ++seen->finished;
  seen->ends[index] = *end;
  seen->sum[index] = 0;
  for (size_t i = 0; i < end->size; ++i) {
    seen->sum[index] += (unsigned char)end->output[i];
  }
}

static bool
never(void* const context)
{
  (void)context;
  return false;
}

static bool
after_some(void* const context)
{
  const Seen* const seen = context;
  return seen->finished >= seen->stop_after;
}

static unsigned
sum_of(const char* const text)
{
  unsigned sum = 0;
  for (const char* c = text; *c; ++c) {
    sum += (unsigned char)*c;
  }
  return sum;
}

static void
each_job_is_over_once(void** const state)
{
  (void)state;
  static const size_t workers[] = {1, 2, 5, SR_MOST_WORKERS};
  for (size_t w = 0; w < sizeof(workers) / sizeof(workers[0]); ++w) {
    Seen seen = {.parent = getpid()};
    const SrWork work = {&seen, JOBS, workers[w], do_job, take_end, never, NULL};
    assert_true(sr_work(&work));
    for (size_t i = 0; i < JOBS; ++i) {
      char wanted[16];
      snprintf(wanted, sizeof(wanted), "job %zu", i);
      const SrJobEnd* const end = &seen.ends[i];
      assert_int_equal(seen.over[i], 1);
      assert_true(end->started);
      assert_int_equal(end->signal, i == KILLED || i == HALF ? SIGKILL : 0);
      if (i == KILLED || i == STATUS) {
        assert_int_equal(end->size, 0);
      } else if (i == LARGER) {
        unsigned sum = sum_of(wanted);
        for (size_t n = 0; n < LARGE; ++n) {
          sum += (unsigned)(n % 251);
        }
        assert_int_equal(end->size, strlen(wanted) + LARGE);
        assert_int_equal(seen.sum[i], sum);
      } else {
        assert_int_equal(end->size, strlen(wanted));
        assert_int_equal(seen.sum[i], sum_of(wanted));
      }
      if (i != KILLED && i != HALF) {
        assert_int_equal(end->status, i == STATUS ? 3 : 0);
      }
    }
  }
}

static void
it_stops_when_asked(void** const state)
{
  (void)state;
  Seen seen = {.parent = getpid(), .stop_after = 3};
  const SrWork work = {&seen, JOBS, 2, do_job, take_end, after_some, NULL};
  assert_false(sr_work(&work));
  unsigned over = 0;
  for (size_t i = 0; i < JOBS; ++i) {
    assert_true(seen.over[i] <= 1);
    over += seen.over[i];
  }
  // Both workers may end between two looks
  assert_in_range(over, 3, 4);
}

static void
wait_for_ever(void* const context, const size_t index, FILE* const out)
{
  if (index == KILLED || index == HALF) {
    fputs("begun", out);
    fflush(out);
    for (;;) {
      pause();
    }
  }
  do_job(context, index, out);
}

static double
short_for_some(void* const context, const size_t index)
{
  (void)context;
  return index == KILLED || index == HALF ? 0.05 : 600.0;
}

/// A job that does not end is killed once it takes longer than it may; what it told is kept, and
/// the others are done.
static void
one_that_hangs_is_given_up(void** const state)
{
  (void)state;
  Seen seen = {.parent = getpid()};
  const SrWork work = {&seen, JOBS, 2, wait_for_ever, take_end, never, short_for_some};
  assert_true(sr_work(&work));
  for (size_t i = 0; i < JOBS; ++i) {
    const bool hangs = i == KILLED || i == HALF;
    assert_int_equal(seen.over[i], 1);
    assert_int_equal(seen.ends[i].late, hangs);
    assert_int_equal(seen.ends[i].signal, hangs ? SIGKILL : 0);
  }
}

static void
no_jobs_are_done_at_once(void** const state)
{
  (void)state;
  Seen seen = {.parent = getpid()};
  const SrWork work = {&seen, 0, 4, do_job, take_end, never, NULL};
  assert_true(sr_work(&work));
  assert_int_equal(seen.finished, 0);
  assert_in_range(sr_work_cores(), 1, SR_MOST_WORKERS);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_job_is_over_once),
      cmocka_unit_test(it_stops_when_asked),
      cmocka_unit_test(one_that_hangs_is_given_up),
      cmocka_unit_test(no_jobs_are_done_at_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
