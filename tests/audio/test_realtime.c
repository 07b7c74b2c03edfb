// SPDX-License-Identifier: GPL-3.0-or-later

// The callbacks are real-time code: the kernel ends a process that makes any system call while they
// run a hundred thousand times (seccomp(2), strict mode), and this program's own malloc() and
// pthread_mutex_lock() end it if they are called.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "audio/callback.h"

#include <dlfcn.h>
#include <linux/seccomp.h>
#include <math.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#if defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define SANITIZED 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define SANITIZED 1
#endif
#ifndef SANITIZED
#define SANITIZED 0
#endif

#define CALLS 100000u
#define RATE_HZ 48000.0
#define MOST_FRAMES 1024ul

/// How the child left.
enum { LEFT_WELL = 0, LEFT_ALLOCATING = 41, LEFT_LOCKING = 42, LEFT_WRONG = 43 };

// Of the child, which has one thread. The interposed functions have no argument of ours.
static volatile int watching;

static void
leave(const int status)
{
  if (SANITIZED) {
    // A sanitizer has a thread of its own, which must end too.
    _exit(status);
  }
  // What _exit() calls, exit_group, is not permitted; this is.
  syscall(SYS_exit, status);
}

#if !SANITIZED
// Sanitizers have their own of these, so there they are left alone.

static void
mind(const int status)
{
  if (watching) {
    leave(status);
  }
}

// NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)
extern void* __libc_malloc(size_t size);
extern void* __libc_calloc(size_t count, size_t size);
extern void* __libc_realloc(void* memory, size_t size);
extern void __libc_free(void* memory);
// NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)

typedef int (*Lock)(pthread_mutex_t* mutex);

void*
malloc(const size_t size)
{
  mind(LEFT_ALLOCATING);
  return __libc_malloc(size);
}

void*
calloc(const size_t count, const size_t size)
{
  mind(LEFT_ALLOCATING);
  return __libc_calloc(count, size);
}

void*
realloc(void* const memory, const size_t size)
{
  mind(LEFT_ALLOCATING);
  return __libc_realloc(memory, size);
}

void
free(void* const memory)
{
  mind(LEFT_ALLOCATING);
  __libc_free(memory);
}

int
pthread_mutex_lock(pthread_mutex_t* const mutex)
{
  mind(LEFT_LOCKING);
  static Lock next;
  if (!next) {
    void* const found = dlsym(RTLD_NEXT, "pthread_mutex_lock");
    memcpy(&next, &found, sizeof(next));
  }
  return next(mutex);
}
#endif

/// Both callbacks once, and something bad.
typedef void (*Vice)(void);

static void
no_vice(void)
{
}

static void
allocate(void)
{
  // Small, so that no system call is needed; and kept from the compiler, which would leave it out.
  void* volatile memory = malloc(16);
  free(memory);
}

static void
lock(void)
{
  static pthread_mutex_t mutex = PTHREAD_MUTEX_INITIALIZER;
  pthread_mutex_lock(&mutex);
  pthread_mutex_unlock(&mutex);
}

static void
call_the_system(void)
{
  syscall(SYS_getpid);
}

/// What went on, so that the test knows that all of it did.
typedef struct {
  uint64_t read;
  uint64_t missing;
  uint64_t loud;
} Tally;

/// A hundred thousand buffers, of any size, with losses, clicks that overlap, stops, playing,
/// hushes and a reader that is often too late.
static int
work(SrCallback* const callback, float* const input, float* const output, float* const samples,
     const Vice vice)
{
  Tally tally = {0};
  uint32_t random = 11;
  double clock_s = 100.0;
  for (uint32_t i = 0; i < CALLS; ++i) {
    random = random * 1664525u + 1013904223u;
    const unsigned long frames = 1 + (random >> 8) % MOST_FRAMES;
    clock_s += (double)frames / RATE_HZ;
    const PaStreamCallbackTimeInfo time = {0.0, clock_s, 0.0};
    const PaStreamCallbackFlags heard = i % 997 == 3 ? paInputOverflow : 0;
    const PaStreamCallbackFlags sounded = i % 1999 == 5 ? paOutputUnderflow : 0;
    watching = 1;
    sr_callback_hear(input, NULL, frames, &time, heard, callback);
    sr_callback_sound(NULL, output, frames, &time, sounded, callback);
    if (i == CALLS / 2) {
      vice();
    }
    watching = 0;
    for (unsigned long k = 0; k < 2 * frames; ++k) {
      tally.loud += output[k] > 0.01f;
    }
    if (i % 5 == 0) {
      sr_callback_play(callback, samples, 700);
    }
    if (i % 501 == 0) {
      sr_callback_hush(callback);
    }
    sr_clicker_volume(&callback->clicker, 0.5f + 0.001f * (float)(i % 100));
    if (i == CALLS / 2) {
      sr_clicker_stop(&callback->clicker);
    }
    if (i % 1000 < 800) {
      const size_t count = sr_callback_read(callback, samples, MOST_FRAMES * 8);
      for (size_t k = 0; k < count; ++k) {
        tally.missing += isnan(samples[k]) ? 1 : 0;
        samples[k] = 0.1f;
      }
      tally.read += count;
    }
  }
  const SrStreamTrouble trouble = sr_callback_trouble(callback);
  // That reader is 200 buffers late a hundred times, and each 997th buffer tells of a loss.
  const int all = tally.loud > 1000000 && tally.read > 10000000 && tally.missing > 1000000 &&
                  trouble.overruns >= 150 && trouble.underruns >= 50 && callback->link.linked;
  return all ? LEFT_WELL : LEFT_WRONG;
}

/// Run it in a child; its wait status.
static int
run_child(const Vice vice)
{
  SrCallback* const callback = (SrCallback*)calloc(1, sizeof(SrCallback));
  float* const buffers = (float*)calloc((size_t)MOST_FRAMES * 12, sizeof(float));
  float* const sound = (float*)calloc(48000, sizeof(float));
  assert_non_null(callback);
  assert_non_null(buffers);
  assert_non_null(sound);
  for (size_t i = 0; i < 48000; ++i) {
    sound[i] = 0.02f;
  }
  assert_true(sr_callback_begin(callback, RATE_HZ, 2, 2, 0, 0.5, 0.5));
  // One that stops at once, one that runs, with forty-eight sounding at a time.
  const SrClickPlan plan = {.plain = sound,
                            .plain_count = 48000,
                            .accent = sound,
                            .accent_count = 48000,
                            .period = 1000.7,
                            .bar_clicks = 4,
                            .on_bars = 2,
                            .off_bars = 1,
                            .count_in = 4,
                            .volume = 1.0f};
  assert_int_equal(sr_clicker_start(&callback->clicker, &plan, RATE_HZ, NULL), SR_OK);
  sr_clicker_stop(&callback->clicker);
  assert_int_equal(sr_clicker_start(&callback->clicker, &plan, RATE_HZ, NULL), SR_OK);
  fflush(NULL);
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    if (!SANITIZED && prctl(PR_SET_SECCOMP, SECCOMP_MODE_STRICT) != 0) {
      leave(LEFT_WRONG);
    }
    const int outcome = work(callback, buffers, buffers + (size_t)MOST_FRAMES * 2,
                             buffers + (size_t)MOST_FRAMES * 4, vice);
    leave(outcome);
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  sr_callback_end(callback);
  free(callback);
  free(buffers);
  free(sound);
  return status;
}

static void
the_callbacks_call_nobody(void** const state)
{
  (void)state;
  if (SANITIZED) {
    print_message("with a sanitizer: run, but neither seccomp nor malloc() watched\n");
  }
  const int status = run_child(no_vice);
  if (WIFSIGNALED(status)) {
    fail_msg("ended by signal %d: a system call", WTERMSIG(status));
  }
  assert_int_equal(WEXITSTATUS(status), LEFT_WELL);
}

static void
the_watch_catches_what_is_bad(void** const state)
{
  (void)state;
  if (SANITIZED) {
    skip();
  }
  const int allocating = run_child(allocate);
  assert_true(WIFEXITED(allocating));
  assert_int_equal(WEXITSTATUS(allocating), LEFT_ALLOCATING);
  const int locking = run_child(lock);
  assert_true(WIFEXITED(locking));
  assert_int_equal(WEXITSTATUS(locking), LEFT_LOCKING);
  const int calling = run_child(call_the_system);
  assert_true(WIFSIGNALED(calling));
  assert_int_equal(WTERMSIG(calling), SIGKILL);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_callbacks_call_nobody),
      cmocka_unit_test(the_watch_catches_what_is_bad),
  };
  return cmocka_run_group_tests_name("realtime", tests, NULL, NULL);
}
