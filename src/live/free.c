// SPDX-License-Identifier: GPL-3.0-or-later

#include "free_listener.h"
#include "free_roles.h"
#include "tuning.h"

#include <steadyreed/ornament.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

SrStatus
sr_free_new(const double rate_hz, const SrProfile* const profile, SrFree** const free_listener,
            SrError* const error)
{
  *free_listener = NULL;
  SrFree* const f = (SrFree*)calloc(1, sizeof(SrFree));
  if (!f) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  f->rate_hz = rate_hz;
  f->given = profile != NULL;
  f->profile = profile ? sr_profile_copy(profile) : sr_profile_new(440.0);
  f->learn_at_s = FREE_LEARN_FIRST_S;
  f->air_reported_s = -1.0;
  SrStatus status = sr_calibration_new(rate_hz, NULL, &f->calibration, error);
  if (status == SR_OK) {
    status = sr_window_new(rate_hz, f->profile, NULL, 0, 0.0, &f->window, error);
  }
  if (status == SR_OK) {
    f->step_size = (size_t)lround(FREE_STEP_S * rate_hz);
    f->step = (float*)malloc(f->step_size * sizeof(float));
    f->history = sr_history_ring_new((size_t)(FIRST_PAST_S * rate_hz));
    if (!f->profile || !f->step || !f->history) {
      status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
    }
  }
  if (status != SR_OK) {
    sr_free_del(f);
    return status;
  }
  *free_listener = f;
  return SR_OK;
}

void
sr_free_del(SrFree* const f)
{
  if (f) {
    sr_window_del(f->window);
    sr_history_ring_del(f->history);
    sr_calibration_del(f->calibration);
    sr_profile_del(f->profile);
    free(f->step);
    free(f->notes);
    free(f->air);
    free(f);
  }
}

/// Whether a listener heard a sound for most of its time.
static bool
hears(const SrHeard* const heard, const SrEvent* const sound)
{
  for (size_t i = 0; i < heard->event_count; ++i) {
    const SrEvent* const other = &heard->events[i];
    const double overlap = fmin(other->end_s, sound->end_s) - fmax(other->onset_s, sound->onset_s);
    if (other->kind == SR_EVENT_SOUND && other->midi == sound->midi &&
        overlap > 0.5 * sr_event_length_s(sound)) {
      return true;
    }
  }
  return false;
}

/// Whether another listener heard everything still to be reported.
static bool
hears_unreported(const SrFree* const f, SrWindow* const window)
{
  SrHeard old;
  SrHeard new;
  if (sr_window_heard(f->window, NULL, 0, INFINITY, &old) != SR_OK ||
      sr_window_heard(window, NULL, 0, INFINITY, &new) != SR_OK) {
    return false;
  }
  for (size_t i = 0; i < old.event_count; ++i) {
    const SrEvent* const sound = &old.events[i];
    if (sound->kind == SR_EVENT_SOUND && sound->onset_s >= f->unreported_s &&
        sr_event_length_s(sound) >= LEAST_NOTE_S && !sr_free_is_reported(f, sound) &&
        !hears(&new, sound)) {
      return false;
    }
  }
  return true;
}

/// Estimate the instrument and go on with a listener that uses it, unless that lost a note still to
/// be reported, which is then reported first.
static SrStatus
learn(SrFree* const f, SrError* const error)
{
  SrProfile* profile = NULL;
  SrStatus status = sr_calibration_finish(f->calibration, SR_READ_SINGLE, &profile, error);
  if (status != SR_OK) {
    return status;
  }
  sr_profile_complete(profile, f->profile);
  SrWindow* window = NULL;
  uint64_t at = sr_history_ring_start(f->history);
  // A listener without a profile may have missed notes: start over. Otherwise start at what is
  // unreported, with its cut
  const double since_s = f->learnt ? f->unreported_s - SR_GRACE_MOST_S - CUT_GAP_S : 0.0;
  status = sr_window_new(f->rate_hz, profile, NULL, at, since_s, &window, error);
  while (status == SR_OK && at < sr_history_ring_end(f->history)) {
    size_t count;
    const float* const samples = sr_history_ring_at(f->history, at, &count);
    status = sr_window_push(window, samples, count);
    at += count;
  }
  if (status != SR_OK) {
    sr_profile_del(profile);
    sr_window_del(window);
    return status;
  }
  const double moved =
      fabs(1200.0 * log2(sr_profile_reference_hz(profile) / sr_profile_reference_hz(f->profile)));
  const bool known = f->learnt || f->given;
  const bool elsewhere = known && moved > MOST_MOVED_CENTS && ++f->times_moved < TIMES_MOVED;
  if (elsewhere) {
    // Only after more has been heard
    f->learn_at_s *= FREE_LEARN_FACTOR;
  }
  const bool loses = !elsewhere && f->learnt && !hears_unreported(f, window);
  if (loses) {
    f->wait_until_s = (double)f->pushed / f->rate_hz + SETTLE_S;
  }
  if (elsewhere || loses) {
    sr_profile_del(profile);
    sr_window_del(window);
    return SR_OK;
  }
  sr_profile_del(f->profile);
  sr_window_del(f->window);
  f->profile = profile;
  f->window = window;
  f->learnt = true;
  f->times_moved = 0;
  // Once, however much was heard since the last time
  while (f->learn_at_s <= sr_calibration_heard_s(f->calibration)) {
    f->learn_at_s *= FREE_LEARN_FACTOR;
  }
  return SR_OK;
}

static SrStatus
do_step(SrFree* const f, SrError* const error)
{
  sr_calibration_push(f->calibration, f->step, f->step_size);
  SrStatus status = sr_window_push(f->window, f->step, f->step_size);
  if (!sr_history_ring_add(f->history, f->step, f->step_size)) {
    status = SR_NO_MEMORY;
  }
  f->pushed += f->step_size;
  const uint64_t kept = (uint64_t)(FREE_PAST_S * f->rate_hz);
  if (f->learnt && f->pushed > kept) {
    sr_history_ring_forget(f->history, f->pushed - kept);
  }
  f->step_fill = 0;
  const size_t open = sr_window_open(f->window, 0.05, f->open);
  f->open_count = 0;
  for (size_t i = 0; i < open; ++i) {
    if (!f->open[i].doubtful) {
      f->open[f->open_count++] = f->open[i];
    }
  }
  f->sounds = f->open_count > 0;
  if (status == SR_OK && !sr_free_report_until(f, (double)f->pushed / f->rate_hz - SETTLE_S)) {
    status = SR_NO_MEMORY;
  }
  // Not during a long note whose start is no longer in the history
  const double past_s = (double)sr_history_ring_start(f->history) / f->rate_hz;
  const bool whole = past_s <= 0.0 || f->unreported_s > past_s + FREE_RUN_UP_S;
  const bool waits = (double)f->pushed / f->rate_hz < f->wait_until_s;
  if (status == SR_OK && f->learn_at_s < FREE_LEARN_LAST_S && !f->sounds && whole && !waits &&
      sr_calibration_heard_s(f->calibration) > f->learn_at_s) {
    status = learn(f, error);
  }
  return status == SR_OK
             ? SR_OK
             : sr_error_set(error, status, "There is not enough memory to keep listening.");
}

SrStatus
sr_free_push(SrFree* const f, const float* const samples, const size_t count, SrError* const error)
{
  SrStatus status = SR_OK;
  for (size_t done = 0; status == SR_OK && done < count;) {
    const size_t room = f->step_size - f->step_fill;
    const size_t part = count - done < room ? count - done : room;
    memcpy(f->step + f->step_fill, samples + done, part * sizeof(float));
    f->step_fill += part;
    done += part;
    if (f->step_fill == f->step_size) {
      status = do_step(f, error);
    }
  }
  return status;
}

SrStatus
sr_free_finish(SrFree* const f, SrError* const error)
{
  f->open_count = 0;
  f->sounds = false;
  const bool enough = sr_window_finish(f->window) == SR_OK && sr_free_report_until(f, INFINITY);
  return enough
             ? SR_OK
             : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep listening.");
}

bool
sr_free_pull(SrFree* const f, SrFreeNote* const note)
{
  if (f->note_count == 0) {
    return false;
  }
  *note = f->notes[0];
  --f->note_count;
  memmove(f->notes, f->notes + 1, f->note_count * sizeof(SrFreeNote));
  return true;
}

bool
sr_free_pull_air(SrFree* const f, SrFreeAir* const air)
{
  if (f->air_count == 0) {
    return false;
  }
  *air = f->air[0];
  --f->air_count;
  memmove(f->air, f->air + 1, f->air_count * sizeof(SrFreeAir));
  return true;
}

bool
sr_free_sounds(const SrFree* const f)
{
  return f->sounds;
}

SrStatus
sr_free_learn(SrFree* const f, SrProfile** const profile, SrError* const error)
{
  const SrStatus status = sr_calibration_finish(f->calibration, SR_READ_SINGLE, profile, error);
  if (status == SR_OK) {
    sr_profile_complete(*profile, f->profile);
  }
  return status;
}

SrProfile*
sr_free_profile(const SrFree* const f)
{
  return sr_profile_copy(f->profile);
}
