// SPDX-License-Identifier: GPL-3.0-or-later

#include "stretch_sound.h"

#include <steadyreed/audio.h>
#include <steadyreed/slow.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <string.h>

/// Most seconds of a stretch that are kept in memory, so that it begins again at once.
#define MOST_KEPT_S 120.0
/// Fades in and out of the stretch, so that it does not begin or end with a click, s.
#define FADE_S 0.005

typedef enum { RECORDED, PAUSE_AFTER_RECORDED, WRITTEN, PAUSE_AFTER_WRITTEN, PARTS } Part;

struct SrStretchSoundImpl {
  SrStretchOrder order;
  double rate_hz; ///< Of what comes out
  SrTakeReader* reader;
  double recorded_hz;
  size_t length; ///< Of the stretch, samples of the recording
  size_t at;     ///< Read of it in this turn
  float* kept;   ///< NULL if it is too long
  size_t kept_count;
  SrSlow* slow;
  SrSound* written;
  uint64_t written_length;
  Part part;
  size_t done;    ///< Samples of this part that came out
  size_t in_turn; ///< Likewise of this turn
  SrStatus status;
};

static size_t
part_length(const SrStretchSound* const sound, const Part part)
{
  const SrStretchTurn turn = sr_stretch_sound_turn(sound);
  const bool both = turn.recorded_s > 0.0 && turn.written_s > 0.0;
  const size_t pause = (size_t)llround(turn.pause_s * sound->rate_hz);
  switch (part) {
  case RECORDED:
    return (size_t)llround(turn.recorded_s * sound->rate_hz);
  case PAUSE_AFTER_RECORDED:
    return turn.recorded_s > 0.0 && (both || sound->order.again) ? pause : 0;
  case WRITTEN:
    return (size_t)sound->written_length;
  case PAUSE_AFTER_WRITTEN:
    return turn.written_s > 0.0 && sound->order.again ? pause : 0;
  case PARTS:
    break;
  }
  return 0;
}

/// Samples of the recording, from the start of the stretch on.
static size_t
read_recorded(void* const context, float* const samples, const size_t count)
{
  SrStretchSound* const sound = (SrStretchSound*)context;
  const size_t left = sound->length - sound->at;
  size_t wanted = MIN(count, left);
  if (sound->at < sound->kept_count) {
    wanted = MIN(wanted, sound->kept_count - sound->at);
    memcpy(samples, sound->kept + sound->at, wanted * sizeof(float));
    sound->at += wanted;
    return wanted;
  }
  const size_t got = wanted ? sr_take_reader_read(sound->reader, samples, wanted) : 0;
  const double fade = FADE_S * sound->recorded_hz;
  for (size_t i = 0; i < got; ++i) {
    const double from_end = fmin((double)(sound->at + i), (double)(sound->length - sound->at - i));
    const float gain = (float)fmin(1.0, from_end / fade);
    samples[i] = isfinite(samples[i]) ? gain * samples[i] : 0.0f;
  }
  if (sound->kept) {
    memcpy(sound->kept + sound->at, samples, got * sizeof(float));
    sound->kept_count += got;
  }
  sound->at += got;
  return got;
}

/// Go to the start of the stretch.
static SrStatus
begin_recorded(SrStretchSound* const sound, SrError* const error)
{
  const bool changes = sound->order.speed < 1.0 || sound->rate_hz < sound->recorded_hz ||
                       sound->rate_hz > sound->recorded_hz;
  SrStatus status = SR_OK;
  sound->at = 0;
  if (sound->kept_count < sound->length) {
    sound->kept_count = 0;
    status = sr_take_reader_rewind(sound->reader, error);
    if (status == SR_OK) {
      (void)sr_take_reader_skip(sound->reader,
                                (size_t)llround(sound->order.from_s * sound->recorded_hz));
    }
  }
  sr_slow_del(sound->slow);
  sound->slow = NULL;
  if (status == SR_OK && changes) {
    status = sr_slow_new(sound->recorded_hz, sound->rate_hz, sound->order.speed, sound->length,
                         read_recorded, sound, &sound->slow, error);
  }
  return status;
}

static SrStatus
begin_written(SrStretchSound* const sound, SrError* const error)
{
  const SrPhrase* const phrase = sound->order.written->phrase;
  SrSoundSettings settings = sr_sound_settings_default();
  settings.rate_hz = sound->rate_hz;
  settings.tempo_bpm = fmax(SR_SLOWEST_BPM, sound->order.speed * sr_sound_tempo(phrase));
  if (sound->order.reference_hz >= 300.0 && sound->order.reference_hz <= 600.0) {
    settings.reference_hz = sound->order.reference_hz;
  }
  sr_sound_del(sound->written);
  sound->written = NULL;
  const SrStatus status = sr_sound_new(phrase, &settings, &sound->written, error);
  sound->written_length = status == SR_OK ? sr_sound_length(sound->written) : 0;
  return status;
}

static SrStatus
begin_part(SrStretchSound* const sound, SrError* const error)
{
  sound->done = 0;
  if (sound->part == RECORDED && sound->order.recorded) {
    return begin_recorded(sound, error);
  }
  return sound->part == WRITTEN && sound->order.written ? begin_written(sound, error) : SR_OK;
}

/// Open the recording and find out how long the stretch is.
static SrStatus
open_recorded(SrStretchSound* const sound, SrError* const error)
{
  const SrStretchOrder* const order = &sound->order;
  const SrStatus status = sr_take_reader_new(order->path, &sound->reader, error);
  if (status == SR_OK) {
    sound->recorded_hz = sr_take_reader_rate_hz(sound->reader);
    sound->length = (size_t)llround((order->to_s - order->from_s) * sound->recorded_hz);
    if (order->again && order->to_s - order->from_s <= MOST_KEPT_S) {
      sound->kept = g_new(float, sound->length + 1);
    }
  }
  return status;
}

SrStretchSound*
sr_stretch_sound_new(const SrStretchOrder* const order, const double rate_hz, SrError* const error)
{
  SrStretchSound* const sound = g_new0(SrStretchSound, 1);
  sound->order = *order;
  sound->rate_hz = rate_hz;
  SrStatus status = SR_OK;
  if (order->recorded) {
    status = open_recorded(sound, error);
  }
  if (status == SR_OK && order->written) {
    status = begin_written(sound, error);
  }
  if (status == SR_OK) {
    status = begin_part(sound, error);
  }
  if (status != SR_OK) {
    sr_stretch_sound_free(sound);
    return NULL;
  }
  return sound;
}

void
sr_stretch_sound_free(SrStretchSound* const sound)
{
  if (sound) {
    sr_slow_del(sound->slow);
    sr_sound_del(sound->written);
    sr_take_reader_del(sound->reader);
    g_free(sound->kept);
    g_free(sound);
  }
}

SrStretchTurn
sr_stretch_sound_turn(const SrStretchSound* const sound)
{
  const SrStretchOrder* const order = &sound->order;
  return (SrStretchTurn){.recorded_s = order->recorded ? (double)sound->length /
                                                             sound->recorded_hz / order->speed
                                                       : 0.0,
                         .written_s = (double)sound->written_length / sound->rate_hz,
                         .pause_s = order->pause_s};
}

/// Samples of the part that is played; 0 if they end early.
static size_t
read_part(SrStretchSound* const sound, float* const samples, const size_t count)
{
  if (sound->part == RECORDED) {
    return sound->slow ? sr_slow_read(sound->slow, samples, count)
                       : read_recorded(sound, samples, count);
  }
  if (sound->part == WRITTEN) {
    return sr_sound_read(sound->written, samples, count);
  }
  memset(samples, 0, count * sizeof(float));
  return count;
}

size_t
sr_stretch_sound_read(SrStretchSound* const sound, float* const samples, const size_t count)
{
  size_t given = 0;
  while (given < count && sound->status == SR_OK && sound->part < PARTS) {
    const size_t left = part_length(sound, sound->part) - sound->done;
    const size_t wanted = MIN(count - given, left);
    const size_t got = wanted ? read_part(sound, samples + given, wanted) : 0;
    given += got;
    sound->done += got;
    sound->in_turn += got;
    if (got < wanted || left == got) {
      ++sound->part;
      if (sound->part == PARTS && sound->order.again && sound->in_turn > 0) {
        sound->part = RECORDED;
        sound->in_turn = 0;
      }
      sound->status = begin_part(sound, NULL);
    }
  }
  return given;
}

SrStretchPlace
sr_stretch_turn_place(const SrStretchTurn* const turn, const double at_s,
                      const SrStretchOrder* const order, const double bpm, const double pulse)
{
  SrStretchPlace place = {false, (double)NAN, (double)NAN};
  const bool both = turn->recorded_s > 0.0 && turn->written_s > 0.0;
  const double gap_s = both || order->again ? turn->pause_s : 0.0;
  const double recorded_s = turn->recorded_s > 0.0 ? turn->recorded_s + gap_s : 0.0;
  const double written_s =
      turn->written_s > 0.0 ? turn->written_s + (order->again ? turn->pause_s : 0.0) : 0.0;
  const double whole_s = recorded_s + written_s;
  if (!(at_s >= 0.0) || !(whole_s > 0.0) || (at_s >= whole_s && !order->again)) {
    return place;
  }
  const double in_turn_s = fmod(at_s, whole_s);
  if (in_turn_s < turn->recorded_s) {
    place.sounds = true;
    place.recording_s = order->from_s + in_turn_s * order->speed;
  } else if (in_turn_s >= recorded_s && in_turn_s < recorded_s + turn->written_s) {
    const double slow_bpm = fmax(SR_SLOWEST_BPM, order->speed * bpm);
    place.sounds = true;
    place.written = (in_turn_s - recorded_s) * slow_bpm / 60.0 * pulse;
  }
  return place;
}
