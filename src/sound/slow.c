// SPDX-License-Identifier: GPL-3.0-or-later

// Its offline mode begins without a delay and ends where it should. Its finer engine needs no first
// pass over the samples, so that a take of any length goes through in blocks.

#include <steadyreed/slow.h>

#include <rubberband/rubberband-c.h>

#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

/// Samples handed over at a time.
#define BLOCK 1024u

struct SrSlowImpl {
  RubberBandState stretcher;
  size_t length; ///< Samples that go in
  size_t pushed; ///< Of these, handed over
  size_t out_length;
  size_t pulled;
  SrSlowSource source;
  void* context;
};

bool
sr_slow_is_built(void)
{
  return true;
}

static bool
is_rate(const double rate_hz)
{
  return rate_hz >= 8000.0 && rate_hz <= 192000.0 && rate_hz == floor(rate_hz);
}

SrStatus
sr_slow_new(const double in_rate_hz, const double out_rate_hz, const double speed,
            const size_t length, const SrSlowSource source, void* const context,
            SrSlow** const slow, SrError* const error)
{
  *slow = NULL;
  if (!is_rate(in_rate_hz) || !is_rate(out_rate_hz) ||
      !(speed >= SR_SLOWEST_SPEED && speed <= SR_FASTEST_SPEED)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "A speed is from %g to %g, a sample rate a whole number from 8000 to "
                        "192000.",
                        SR_SLOWEST_SPEED, SR_FASTEST_SPEED);
  }
  const double ratio = out_rate_hz / in_rate_hz / speed;
  const double out_length = round((double)length * ratio);
  if (length > INT_MAX || out_length > INT_MAX) {
    return sr_error_set(error, SR_TOO_LARGE,
                        "This is too long to slow down. Choose a shorter stretch.");
  }
  SrSlow* const made = (SrSlow*)calloc(1, sizeof(SrSlow));
  if (!made) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  // Read at another rate, the pitch would be another: it is shifted back
  made->stretcher = rubberband_new((unsigned)in_rate_hz, 1,
                                   RubberBandOptionProcessOffline | RubberBandOptionEngineFiner |
                                       RubberBandOptionThreadingNever,
                                   ratio, in_rate_hz / out_rate_hz);
  if (!made->stretcher) {
    free(made);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  rubberband_set_expected_input_duration(made->stretcher, (unsigned)length);
  rubberband_set_max_process_size(made->stretcher, BLOCK);
  rubberband_set_debug_level(made->stretcher, -1);
  made->source = source;
  made->context = context;
  made->length = length;
  made->out_length = (size_t)out_length;
  *slow = made;
  return SR_OK;
}

size_t
sr_slow_length(const SrSlow* const slow)
{
  return slow->out_length;
}

/// Hand over the next block.
static void
push_block(SrSlow* const slow)
{
  float block[BLOCK];
  const float* const blocks[1] = {block};
  const size_t missing = slow->length - slow->pushed;
  const size_t size = missing < BLOCK ? missing : BLOCK;
  size_t got = 0;
  size_t more = 0;
  while (got < size && (more = slow->source(slow->context, block + got, size - got)) > 0) {
    got += more;
  }
  for (size_t i = 0; i < size; ++i) {
    block[i] = i < got && isfinite(block[i]) ? block[i] : 0.0f;
  }
  slow->pushed += size;
  rubberband_process(slow->stretcher, blocks, (unsigned)size, slow->pushed == slow->length);
}

size_t
sr_slow_read(SrSlow* const slow, float* const samples, const size_t count)
{
  const size_t missing = slow->out_length - slow->pulled;
  const size_t wanted = count < missing ? count : missing;
  size_t done = 0;
  while (done < wanted) {
    const int ready = rubberband_available(slow->stretcher);
    if (ready > 0) {
      float* const outputs[1] = {samples + done};
      const size_t most = wanted - done < (size_t)ready ? wanted - done : (size_t)ready;
      done += rubberband_retrieve(slow->stretcher, outputs, (unsigned)most);
    } else if (slow->pushed < slow->length) {
      push_block(slow);
    } else {
      // What rounding left out
      samples[done++] = 0.0f;
    }
  }
  slow->pulled += done;
  return done;
}

void
sr_slow_del(SrSlow* const slow)
{
  if (slow) {
    rubberband_delete(slow->stretcher);
    free(slow);
  }
}
