// SPDX-License-Identifier: GPL-3.0-or-later

#include "clicker.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_PERIOD 1000.0

static void
empty_slot(SrClickSlot* const slot)
{
  free(slot->plain);
  free(slot->accent);
  free(slot->voices);
  slot->plain = NULL;
  slot->accent = NULL;
  slot->voices = NULL;
}

/// Free the slots the callback has finished.
static void
collect(SrClicker* const clicker)
{
  for (size_t i = 0; i < SR_CLICK_SLOTS; ++i) {
    SrClickSlot* const slot = &clicker->slots[i];
    if (atomic_load_explicit(&slot->state, memory_order_acquire) == SR_CLICK_DONE) {
      empty_slot(slot);
      atomic_store_explicit(&slot->state, SR_CLICK_FREE, memory_order_relaxed);
    }
  }
}

static SrClickSlot*
find_slot(SrClicker* const clicker, const SrClickState state)
{
  for (size_t i = 0; i < SR_CLICK_SLOTS; ++i) {
    if (atomic_load_explicit(&clicker->slots[i].state, memory_order_relaxed) == (int)state) {
      return &clicker->slots[i];
    }
  }
  return NULL;
}

static SrStatus
check(const SrClickPlan* const plan, const double rate_hz, SrError* const error)
{
  const double second = rate_hz + 0.5;
  if ((plan->plain_count && !plan->plain) || (plan->accent_count && !plan->accent) ||
      (double)plan->plain_count > second || (double)plan->accent_count > second) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "The sound of a click is at most a second long.");
  }
  if (!isfinite(plan->period) || plan->period < LEAST_PERIOD || plan->period > 1e9) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "A click cannot be that fast or that slow.");
  }
  if (!(plan->volume >= 0.0f && plan->volume <= 1.0f)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "The volume of a click is from 0 to 1.");
  }
  if (plan->on_bars && plan->off_bars && !plan->bar_clicks) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "For silent bars, the number of clicks in a bar must be given.");
  }
  return SR_OK;
}

/// Copy a sound; an empty one becomes one sample of silence.
static float*
copy_sound(const float* const sound, const size_t count)
{
  float* const copy = (float*)calloc(count + 1, sizeof(float));
  if (copy && count) {
    memcpy(copy, sound, count * sizeof(float));
  }
  return copy;
}

SrStatus
sr_clicker_start(SrClicker* const clicker, const SrClickPlan* const plan, const double rate_hz,
                 SrError* const error)
{
  const SrStatus outcome = check(plan, rate_hz, error);
  if (outcome != SR_OK) {
    return outcome;
  }
  collect(clicker);
  if (find_slot(clicker, SR_CLICK_PLAYING)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "A click is running already.");
  }
  SrClickSlot* const slot = find_slot(clicker, SR_CLICK_FREE);
  if (!slot) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The last clicks are still sounding; wait a moment.");
  }
  const size_t longest =
      plan->plain_count > plan->accent_count ? plan->plain_count : plan->accent_count;
  slot->plan = *plan;
  slot->plain = copy_sound(plan->plain, plan->plain_count);
  slot->accent = copy_sound(plan->accent, plan->accent_count);
  slot->plan.plain = slot->plain;
  slot->plan.accent = slot->accent;
  // Rounded to whole frames, one more click may overlap than the period says; and one is beginning
  slot->voice_room = (size_t)((double)longest / plan->period) + 3;
  slot->voices = (SrClickVoice*)calloc(slot->voice_room, sizeof(SrClickVoice));
  if (!slot->plain || !slot->accent || !slot->voices) {
    empty_slot(slot);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for the click.");
  }
  slot->voice_count = 0;
  slot->first = 0;
  slot->next = 0;
  atomic_store_explicit(&slot->began, 0, memory_order_relaxed);
  atomic_store_explicit(&clicker->volume, plan->volume, memory_order_relaxed);
  clicker->latest = slot;
  atomic_store_explicit(&slot->state, SR_CLICK_PLAYING, memory_order_release);
  return SR_OK;
}

void
sr_clicker_stop(SrClicker* const clicker)
{
  SrClickSlot* const slot = find_slot(clicker, SR_CLICK_PLAYING);
  if (slot) {
    atomic_store_explicit(&slot->state, SR_CLICK_STOPPING, memory_order_release);
  }
}

bool
sr_clicker_began(const SrClicker* const clicker, uint64_t* const frame)
{
  const uint64_t began =
      clicker->latest ? atomic_load_explicit(&clicker->latest->began, memory_order_acquire) : 0;
  if (began) {
    *frame = began - 1;
  }
  return began != 0;
}

void
sr_clicker_volume(SrClicker* const clicker, const float volume)
{
  // NaN counts as 0
  const float bounded = volume >= 0.0f ? (volume <= 1.0f ? volume : 1.0f) : 0.0f;
  atomic_store_explicit(&clicker->volume, bounded, memory_order_relaxed);
}

void
sr_clicker_end(SrClicker* const clicker)
{
  for (size_t i = 0; i < SR_CLICK_SLOTS; ++i) {
    empty_slot(&clicker->slots[i]);
  }
}

// Real-time code from here on

/// Frame of a click, always calculated from the first one, so that rounding errors do not add up.
static uint64_t
due(const SrClickSlot* const slot, const uint64_t click)
{
  const double frames = (double)click * slot->plan.period;
  const uint64_t whole = (uint64_t)frames;
  return slot->first + whole + (frames - (double)whole >= 0.5 ? 1 : 0);
}

/// Whether a click is the first of its bar; bars extend back into the count-in.
static bool
is_accented(const SrClickPlan* const plan, const uint64_t click)
{
  if (!plan->bar_clicks) {
    return false;
  }
  // A count-in that is not a whole number of bars begins inside a bar
  const uint64_t ahead = (plan->bar_clicks - plan->count_in % plan->bar_clicks) % plan->bar_clicks;
  return (click + ahead) % plan->bar_clicks == 0;
}

static bool
is_silent(const SrClickPlan* const plan, const uint64_t click)
{
  if (click < plan->count_in || !plan->bar_clicks || !plan->on_bars || !plan->off_bars) {
    return false;
  }
  const uint64_t bar = (click - plan->count_in) / plan->bar_clicks;
  return bar % ((uint64_t)plan->on_bars + plan->off_bars) >= plan->on_bars;
}

static void
begin_click(SrClickSlot* const slot, const size_t wait, const float volume)
{
  const SrClickPlan* const plan = &slot->plan;
  if (is_silent(plan, slot->next) || slot->voice_count >= slot->voice_room) {
    return;
  }
  const bool accented = is_accented(plan, slot->next);
  SrClickVoice* const voice = &slot->voices[slot->voice_count];
  voice->next = accented ? plan->accent : plan->plain;
  voice->left = accented ? plan->accent_count : plan->plain_count;
  voice->wait = wait;
  voice->volume = volume;
  ++slot->voice_count;
}

/// Skip the clicks passed by a step of the clock, however long.
static void
skip_to(SrClickSlot* const slot, const uint64_t frame)
{
  if (frame > slot->first) {
    // Possibly one too low because of rounding
    const uint64_t click = (uint64_t)((double)(frame - slot->first) / slot->plan.period);
    slot->next = click > slot->next ? click : slot->next;
  }
}

/// Begin the clicks that are due in this buffer.
static void
begin_due(SrClickSlot* const slot, const uint64_t position, const size_t frames, const float volume,
          const uint64_t grace)
{
  if (!atomic_load_explicit(&slot->began, memory_order_relaxed)) {
    slot->first = position;
    atomic_store_explicit(&slot->began, position + 1, memory_order_release);
  }
  skip_to(slot, position > grace ? position - grace : 0);
  uint64_t frame;
  while ((frame = due(slot, slot->next)) < position + frames) {
    if (frame + grace >= position) {
      begin_click(slot, frame > position ? (size_t)(frame - position) : 0, volume);
    }
    ++slot->next;
  }
}

static void
mix_voices(SrClickSlot* const slot, float* const mix, const size_t frames)
{
  size_t i = 0;
  while (i < slot->voice_count) {
    SrClickVoice* const voice = &slot->voices[i];
    const size_t room = frames - voice->wait;
    const size_t count = voice->left < room ? voice->left : room;
    float* const to = mix + voice->wait;
    for (size_t k = 0; k < count; ++k) {
      to[k] += voice->volume * voice->next[k];
    }
    voice->next += count;
    voice->left -= count;
    voice->wait = 0;
    if (voice->left) {
      ++i;
    } else {
      --slot->voice_count;
      *voice = slot->voices[slot->voice_count];
    }
  }
}

void
sr_clicker_mix(SrClicker* const clicker, float* const mix, const size_t frames,
               const uint64_t position, const uint64_t grace)
{
  const float volume = atomic_load_explicit(&clicker->volume, memory_order_relaxed);
  for (size_t i = 0; i < SR_CLICK_SLOTS; ++i) {
    SrClickSlot* const slot = &clicker->slots[i];
    const int state = atomic_load_explicit(&slot->state, memory_order_acquire);
    if (state != SR_CLICK_PLAYING && state != SR_CLICK_STOPPING) {
      continue;
    }
    if (state == SR_CLICK_PLAYING) {
      begin_due(slot, position, frames, volume, grace);
    }
    mix_voices(slot, mix, frames);
    if (state == SR_CLICK_STOPPING && !slot->voice_count) {
      atomic_store_explicit(&slot->state, SR_CLICK_DONE, memory_order_release);
    }
  }
}
