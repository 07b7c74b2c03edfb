// SPDX-License-Identifier: GPL-3.0-or-later

#include "callback.h"

#include <math.h>
#include <string.h>

/// Block size for processing on the stack, frames.
#define BLOCK 256u
/// Clock distances that differ by less than this from one half-second to the next, s, are steady.
#define STEADY_S 0.003
/**
   Maximum lateness, s, of a click whose frame was skipped by a clock step; older clicks are
   dropped.
*/
#define GRACE_S 0.02

bool
sr_callback_begin(SrCallback* const callback, const double rate_hz, const unsigned inputs,
                  const unsigned outputs, const unsigned channel, const double heard_s,
                  const double given_s)
{
  memset(callback, 0, sizeof(*callback));
  callback->rate_hz = rate_hz;
  callback->inputs = inputs;
  callback->outputs = outputs;
  callback->channel = channel;
  sr_clock_drift_begin(&callback->pace, rate_hz);
  sr_clock_drift_begin(&callback->put_pace, rate_hz);
  sr_clock_link_begin(&callback->link, rate_hz);
  atomic_init(&callback->heard_zero_s, (double)NAN);
  const size_t given = outputs ? (size_t)(given_s * rate_hz) : 1;
  if (!sr_ring_begin(&callback->heard, (size_t)(heard_s * rate_hz)) ||
      !sr_ring_begin(&callback->given, given)) {
    sr_callback_end(callback);
    return false;
  }
  return true;
}

void
sr_callback_end(SrCallback* const callback)
{
  sr_ring_end(&callback->heard);
  sr_ring_end(&callback->given);
  sr_clicker_end(&callback->clicker);
}

// Real-time code from here to the mark below

static void
count_up(_Atomic uint64_t* const counter, const uint64_t more)
{
  // There is only one writer, so no read-modify-write is needed
  atomic_store_explicit(counter, atomic_load_explicit(counter, memory_order_relaxed) + more,
                        memory_order_relaxed);
}

/// Count the next `frames` frames as lost.
static void
lose(SrCallback* const callback, const uint64_t frames)
{
  if (!callback->held) {
    count_up(&callback->overruns, 1);
  }
  count_up(&callback->lost, frames);
  callback->held += frames;
  callback->position += frames;
}

/// Queue the pending loss; this must happen before the samples after it are written.
static bool
hand_on_loss(SrCallback* const callback)
{
  if (callback->held) {
    const SrLoss loss = {atomic_load_explicit(&callback->heard.written, memory_order_relaxed),
                         callback->held};
    if (!sr_loss_write(&callback->losses, loss)) {
      return false;
    }
    callback->held = 0;
  }
  return true;
}

/// Store samples in the ring; those without room are lost.
static void
keep(SrCallback* const callback, const float* const samples, const size_t count)
{
  // After a loss wait for room for a block, so that there is not a loss for each sample of room
  const bool room =
      callback->heard.size - sr_ring_readable(&callback->heard) >= (callback->held ? BLOCK : 1);
  const size_t kept =
      room && hand_on_loss(callback) ? sr_ring_write(&callback->heard, samples, count) : 0;
  callback->position += kept;
  if (kept < count) {
    lose(callback, count - kept);
  }
}

/// Select one channel, or the mean of the first two.
static void
choose(const SrCallback* const callback, const float* const input, const size_t frames,
       float* const samples)
{
  const size_t step = callback->inputs;
  if (callback->channel || step < 2) {
    const size_t channel = callback->channel ? callback->channel - 1 : 0;
    for (size_t i = 0; i < frames; ++i) {
      samples[i] = input[i * step + channel];
    }
  } else {
    for (size_t i = 0; i < frames; ++i) {
      samples[i] = 0.5f * (input[i * step] + input[i * step + 1]);
    }
  }
}

static void
take_in(SrCallback* const callback, const float* const input, const size_t frames)
{
  float samples[BLOCK];
  for (size_t done = 0; done < frames; done += BLOCK) {
    const size_t count = frames - done < BLOCK ? frames - done : BLOCK;
    choose(callback, input + done * callback->inputs, count, samples);
    keep(callback, samples, count);
  }
}

/// Record where playing of given samples begins.
static void
note_play(SrCallback* const callback, const uint64_t first, const uint64_t frame)
{
  const uint32_t turn = atomic_load_explicit(&callback->play_turn, memory_order_relaxed);
  atomic_store_explicit(&callback->play_turn, turn + 1, memory_order_relaxed);
  atomic_store_explicit(&callback->play_first, first, memory_order_release);
  atomic_store_explicit(&callback->play_frame, frame, memory_order_release);
  atomic_store_explicit(&callback->play_turn, turn + 2, memory_order_release);
}

/// Fill a block with the given samples, followed by zeros.
static void
play_given(SrCallback* const callback, float* const mix, const size_t frames,
           const uint64_t position)
{
  SrRing* const ring = &callback->given;
  // Only what is there now: later samples wait for the next block
  size_t ready = sr_ring_readable(ring);
  uint64_t first = atomic_load_explicit(&ring->taken, memory_order_relaxed);
  // Read after `ready`, so that a sample given after a hush is not seen without the hush
  const uint64_t hushed = atomic_load_explicit(&callback->hushed, memory_order_acquire);
  if (hushed > first) {
    const uint64_t passed = hushed - first;
    ready = ready > passed ? ready - (size_t)passed : 0;
    first = hushed;
    sr_ring_pass(ring, hushed);
    callback->playing = false;
  }
  const size_t count = sr_ring_read(ring, mix, ready < frames ? ready : frames);
  memset(mix + count, 0, (frames - count) * sizeof(float));
  if (count && !callback->playing) {
    note_play(callback, first, position);
  }
  callback->playing = count < ready;
}

static void
put_out(SrCallback* const callback, float* const output, const size_t frames,
        const uint64_t position)
{
  const uint64_t grace = (uint64_t)(GRACE_S * callback->rate_hz);
  const size_t step = callback->outputs;
  float mix[BLOCK];
  for (size_t done = 0; done < frames; done += BLOCK) {
    const size_t count = frames - done < BLOCK ? frames - done : BLOCK;
    play_given(callback, mix, count, position + done);
    sr_clicker_mix(&callback->clicker, mix, count, position + done, grace);
    for (size_t i = 0; i < count; ++i) {
      const float limited = mix[i] > 1.0f ? 1.0f : mix[i] < -1.0f ? -1.0f : mix[i];
      // NaN fails both comparisons and becomes silence
      const float sample = limited >= -1.0f ? limited : 0.0f;
      for (size_t channel = 0; channel < step; ++channel) {
        output[(done + i) * step + channel] = sample;
      }
    }
  }
}

/// Map output frames to the input's clock.
static void
link_clocks(SrCallback* const callback)
{
  const SrClocks clocks = {
      .put_zero_s = sr_clock_drift_zero_s(&callback->put_pace, STEADY_S),
      .heard_zero_s = atomic_load_explicit(&callback->heard_zero_s, memory_order_relaxed),
      .put = callback->put,
      .heard = atomic_load_explicit(&callback->heard_frames, memory_order_relaxed),
      .restarted = callback->restarted};
  if (sr_clock_link_compare(&callback->link, &clocks)) {
    callback->restarted = false;
  }
}

int
sr_callback_hear(const void* const input, void* const output, const unsigned long frames,
                 const PaStreamCallbackTimeInfo* const time, const PaStreamCallbackFlags flags,
                 void* const context)
{
  (void)output;
  SrCallback* const callback = (SrCallback*)context;
  if (!input) {
    return paContinue;
  }
  const double now_s = time ? time->currentTime : 0.0;
  if (flags & paInputOverflow) {
    lose(callback, sr_clock_drift_lost(&callback->pace, now_s, callback->position + frames));
  }
  take_in(callback, (const float*)input, frames);
  sr_clock_drift_note(&callback->pace, now_s, callback->position);
  const uint64_t missing = sr_clock_drift_missing(&callback->pace);
  if (missing) {
    lose(callback, missing);
  }
  const double zero_s = sr_clock_drift_zero_s(&callback->pace, STEADY_S);
  if (isfinite(zero_s)) {
    atomic_store_explicit(&callback->heard_zero_s, zero_s, memory_order_relaxed);
  }
  atomic_store_explicit(&callback->heard_frames, callback->position, memory_order_relaxed);
  return paContinue;
}

int
sr_callback_sound(const void* const input, void* const output, const unsigned long frames,
                  const PaStreamCallbackTimeInfo* const time, const PaStreamCallbackFlags flags,
                  void* const context)
{
  (void)input;
  SrCallback* const callback = (SrCallback*)context;
  if (!output) {
    return paContinue;
  }
  if (flags & paOutputUnderflow) {
    // The device has restarted, so learn its pace again and trust it at once
    count_up(&callback->underruns, 1);
    callback->restarted = true;
    sr_clock_drift_begin(&callback->put_pace, callback->rate_hz);
  }
  sr_clock_drift_note(&callback->put_pace, time ? time->currentTime : 0.0, callback->put);
  link_clocks(callback);
  if (callback->link.linked) {
    const int64_t position = (int64_t)callback->put + callback->link.shift;
    put_out(callback, (float*)output, frames, position > 0 ? (uint64_t)position : 0);
  } else {
    memset(output, 0, frames * callback->outputs * sizeof(float));
  }
  callback->put += frames;
  return paContinue;
}

// End of real-time code: the owner's side

size_t
sr_callback_read(SrCallback* const callback, float* const samples, const size_t room)
{
  size_t done = 0;
  while (done < room) {
    // Samples first: a loss before them was queued before they were written
    size_t ready = sr_ring_readable(&callback->heard);
    const SrLoss* const loss = sr_loss_peek(&callback->losses);
    if (loss && loss->place == callback->handed) {
      const uint64_t left = loss->lost - callback->part;
      const size_t count = left < room - done ? (size_t)left : room - done;
      for (size_t i = 0; i < count; ++i) {
        samples[done + i] = NAN;
      }
      done += count;
      callback->part += count;
      if (callback->part == loss->lost) {
        callback->part = 0;
        sr_loss_take(&callback->losses);
      }
      continue;
    }
    if (loss && loss->place - callback->handed < ready) {
      ready = (size_t)(loss->place - callback->handed);
    }
    const size_t wanted = ready < room - done ? ready : room - done;
    if (!wanted) {
      break;
    }
    const size_t count = sr_ring_read(&callback->heard, samples + done, wanted);
    done += count;
    callback->handed += count;
  }
  return done;
}

bool
sr_callback_is_ready(SrCallback* const callback)
{
  return sr_ring_readable(&callback->heard) || sr_loss_peek(&callback->losses);
}

SrStreamTrouble
sr_callback_trouble(const SrCallback* const callback)
{
  return (SrStreamTrouble){
      .overruns = atomic_load_explicit(&callback->overruns, memory_order_relaxed),
      .lost = atomic_load_explicit(&callback->lost, memory_order_relaxed),
      .underruns = atomic_load_explicit(&callback->underruns, memory_order_relaxed),
  };
}

size_t
sr_callback_play(SrCallback* const callback, const float* const samples, const size_t count)
{
  if (!callback->outputs || !count) {
    return 0;
  }
  const bool silent = !sr_callback_unplayed(callback);
  const uint64_t first = atomic_load_explicit(&callback->given.written, memory_order_relaxed);
  const size_t taken = sr_ring_write(&callback->given, samples, count);
  if (silent && taken) {
    callback->play_asked = true;
    callback->play_count = first;
  }
  return taken;
}

size_t
sr_callback_unplayed(const SrCallback* const callback)
{
  const uint64_t written = atomic_load_explicit(&callback->given.written, memory_order_relaxed);
  const uint64_t taken = atomic_load_explicit(&callback->given.taken, memory_order_acquire);
  const uint64_t hushed = atomic_load_explicit(&callback->hushed, memory_order_relaxed);
  return (size_t)(written - (taken > hushed ? taken : hushed));
}

void
sr_callback_hush(SrCallback* const callback)
{
  const uint64_t written = atomic_load_explicit(&callback->given.written, memory_order_relaxed);
  atomic_store_explicit(&callback->hushed, written, memory_order_release);
}

bool
sr_callback_play_began(const SrCallback* const callback, uint64_t* const frame)
{
  if (!callback->play_asked) {
    return false;
  }
  uint32_t turn;
  uint64_t first;
  uint64_t began;
  // The callback needs only a few instructions between the two increments
  do {
    turn = atomic_load_explicit(&callback->play_turn, memory_order_acquire);
    first = atomic_load_explicit(&callback->play_first, memory_order_acquire);
    began = atomic_load_explicit(&callback->play_frame, memory_order_acquire);
  } while ((turn & 1u) || turn != atomic_load_explicit(&callback->play_turn, memory_order_acquire));
  if (!turn || first < callback->play_count) {
    return false;
  }
  *frame = began;
  return true;
}
