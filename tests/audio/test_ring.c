// SPDX-License-Identifier: GPL-3.0-or-later

// The ring between two threads: every sample arrives, once and in order.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "audio/ring.h"

#include <pthread.h>
#include <sched.h>
#include <stdlib.h>

#define SAMPLES 3000000u
#define LARGEST_CHUNK 700u
/// Samples are counted modulo this, so that a float holds them exactly.
#define TURN 16000000u

typedef struct {
  SrRing ring;
  uint32_t random;
} Line;

/// Numerical Recipes' linear congruential generator, its upper bits.
static uint32_t
random_to(uint32_t* const state, const uint32_t most)
{
  *state = *state * 1664525u + 1013904223u;
  return (*state >> 8) % (most + 1);
}

static void*
write_all(void* const context)
{
  Line* const line = (Line*)context;
  float chunk[LARGEST_CHUNK];
  uint32_t done = 0;
  while (done < SAMPLES) {
    const uint32_t asked = random_to(&line->random, LARGEST_CHUNK);
    const uint32_t count = asked < SAMPLES - done ? asked : SAMPLES - done;
    for (uint32_t i = 0; i < count; ++i) {
      chunk[i] = (float)((done + i) % TURN);
    }
    const uint32_t given = (uint32_t)sr_ring_write(&line->ring, chunk, count);
    done += given;
    if (given < count) {
      sched_yield();
    }
  }
  return NULL;
}

static void
pass_in_order(const size_t size)
{
  Line line = {.random = 7};
  assert_true(sr_ring_begin(&line.ring, size));
  pthread_t writer;
  assert_int_equal(pthread_create(&writer, NULL, write_all, &line), 0);
  float chunk[LARGEST_CHUNK];
  uint32_t random = 1;
  uint32_t done = 0;
  uint32_t wrong = 0;
  while (done < SAMPLES) {
    const size_t ready = sr_ring_readable(&line.ring);
    const size_t room = random_to(&random, LARGEST_CHUNK);
    const size_t count = sr_ring_read(&line.ring, chunk, room);
    // What was ready stays so until it is read.
    wrong += count > room || count < (ready < room ? ready : room) || ready > size;
    for (size_t i = 0; i < count; ++i) {
      wrong += !(chunk[i] == (float)((done + i) % TURN));
    }
    done += (uint32_t)count;
    if (!count) {
      sched_yield();
    }
  }
  pthread_join(writer, NULL);
  assert_int_equal(wrong, 0);
  assert_int_equal(done, SAMPLES);
  assert_int_equal(sr_ring_readable(&line.ring), 0);
  sr_ring_end(&line.ring);
}

static void
two_threads_keep_order(void** const state)
{
  (void)state;
  pass_in_order(64);
  pass_in_order(4096);
}

static void
room_is_kept(void** const state)
{
  (void)state;
  SrRing ring;
  assert_true(sr_ring_begin(&ring, 100));
  assert_int_equal(ring.size, 128);
  float samples[200];
  for (size_t i = 0; i < 200; ++i) {
    samples[i] = (float)i;
  }
  assert_int_equal(sr_ring_write(&ring, samples, 200), 128);
  assert_int_equal(sr_ring_write(&ring, samples, 1), 0);
  sr_ring_pass(&ring, 100);
  // Back is no way.
  sr_ring_pass(&ring, 50);
  assert_int_equal(sr_ring_readable(&ring), 28);
  float out[200];
  assert_int_equal(sr_ring_read(&ring, out, 200), 28);
  assert_true(out[0] == 100.0f && out[27] == 127.0f);
  assert_int_equal(sr_ring_read(&ring, out, 200), 0);
  sr_ring_end(&ring);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(two_threads_keep_order),
      cmocka_unit_test(room_is_kept),
  };
  return cmocka_run_group_tests_name("ring", tests, NULL, NULL);
}
