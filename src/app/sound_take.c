// SPDX-License-Identifier: GPL-3.0-or-later

#include "sound_take.h"

#include "command.h"
#include "guard.h"
#include "say.h"

#include <steadyreed/audio.h>
#include <steadyreed/slow.h>

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

/// Samples read at a time.
#define BLOCK 4096u

/// Where samples come from while they are played.
typedef struct {
  SrTakeReader* reader;
  size_t before; ///< Samples still to be passed over
  size_t left;   ///< Samples still to be read
  SrSlow* slow;  ///< NULL if nothing is to be changed
} Source;

bool
sr_sound_take_is(const char* const path)
{
  const char* const dot = strrchr(path, '.');
  if (dot && !strcasecmp(dot, ".abc")) {
    return false;
  }
  struct stat status;
  char bytes[4096];
  FILE* const file = !stat(path, &status) && S_ISREG(status.st_mode) ? fopen(path, "rb") : NULL;
  if (!file) {
    return false;
  }
  const size_t size = fread(bytes, 1, sizeof(bytes), file);
  fclose(file);
  return size > 0 && memchr(bytes, 0, size) != NULL;
}

/// The next samples of the stretch.
static size_t
read_take(void* const context, float* const samples, const size_t count)
{
  Source* const source = (Source*)context;
  float passed[BLOCK];
  while (source->before > 0) {
    const size_t got = sr_take_reader_read(source->reader, passed,
                                           source->before < BLOCK ? source->before : BLOCK);
    if (got == 0) {
      return 0;
    }
    source->before -= got;
  }
  const size_t wanted = count < source->left ? count : source->left;
  const size_t got = wanted ? sr_take_reader_read(source->reader, samples, wanted) : 0;
  source->left -= got;
  for (size_t i = 0; i < got; ++i) {
    samples[i] = isfinite(samples[i]) ? samples[i] : 0.0f;
  }
  return got;
}

static size_t
read_slowly(void* const context, float* const samples, const size_t count)
{
  return sr_slow_read((SrSlow*)context, samples, count);
}

/// Seconds in the recording, which is read to its end for it and then rewound.
static SrStatus
measure(SrTakeReader* const reader, double* const seconds, SrError* const error)
{
  float samples[BLOCK];
  while (sr_take_reader_read(reader, samples, BLOCK) > 0) {
  }
  *seconds = sr_take_reader_reading(reader).seconds;
  return sr_take_reader_rewind(reader, error);
}

static void
report(const SrTakeSound* const asked, const double from_s, const double to_s)
{
  sr_say_format(stderr, "%s %s from %d:%04.1f to %d:%04.1f at %.0f %% of its speed, %.1f s%s%s\n",
                asked->output ? "Writing" : "Playing", asked->path, (int)(from_s / 60.0),
                fmod(from_s, 60.0), (int)(to_s / 60.0), fmod(to_s, 60.0), 100.0 * asked->speed,
                (to_s - from_s) / asked->speed, asked->output ? ": " : "",
                asked->output ? asked->output : ". Ctrl-C stops.");
}

/// Open the loudspeaker, if there is no file to write.
static SrStatus
open_player(const SrTakeSound* const asked, SrPlayer** const player, SrError* const error)
{
  if (asked->output) {
    return SR_OK;
  }
  sr_guard_begin("steadyreed: The sound system of this computer is not set up (ALSA lists no "
                 "device).\nUse -o FILE.wav to write the sound to a file instead.\n",
                 SR_EXIT_DEVICE);
  const SrStatus outcome = sr_player_new(NULL, player, error);
  sr_guard_end();
  return outcome;
}

static SrStatus
let_hear(const SrTakeSound* const asked, Source* const source, SrPlayer* const player,
         SrError* const error)
{
  const double recorded_hz = sr_take_reader_rate_hz(source->reader);
  const double rate_hz = player                  ? sr_player_rate_hz(player)
                         : isnan(asked->rate_hz) ? recorded_hz
                                                 : asked->rate_hz;
  double seconds = 0.0;
  SrStatus outcome = measure(source->reader, &seconds, error);
  const double to_s = asked->times.to_s < seconds ? asked->times.to_s : seconds;
  if (outcome == SR_OK && asked->times.from_s >= seconds) {
    outcome = sr_error_set(error, SR_NOT_FOUND, "The recording is only %.1f s long.", seconds);
    sr_error_place(error, asked->path, 0, 0);
  }
  if (outcome != SR_OK) {
    return outcome;
  }
  source->before = (size_t)llround(asked->times.from_s * recorded_hz);
  source->left = (size_t)llround((to_s - asked->times.from_s) * recorded_hz);
  if (asked->speed < 1.0 || rate_hz < recorded_hz || rate_hz > recorded_hz) {
    outcome = sr_slow_new(recorded_hz, rate_hz, asked->speed, source->left, read_take, source,
                          &source->slow, error);
  }
  if (outcome == SR_OK) {
    report(asked, asked->times.from_s, to_s);
    const SrAudioSource read = source->slow ? read_slowly : read_take;
    void* const from = source->slow ? (void*)source->slow : (void*)source;
    outcome = asked->output
                  ? sr_audio_write(asked->output, rate_hz, SR_SAMPLES_24_BIT, read, from, error)
                  : sr_player_play(player, read, from, error);
  }
  return outcome;
}

int
sr_sound_take(const SrTakeSound* const asked)
{
  SrError error = {0};
  Source source = {NULL, 0, 0, NULL};
  SrPlayer* player = NULL;
  SrStatus outcome = sr_take_reader_new(asked->path, &source.reader, &error);
  if (outcome == SR_OK) {
    outcome = open_player(asked, &player, &error);
  }
  if (outcome == SR_OK) {
    outcome = let_hear(asked, &source, player, &error);
  }
  sr_slow_del(source.slow);
  sr_player_del(player);
  sr_take_reader_del(source.reader);
  if (outcome == SR_OK) {
    return SR_EXIT_DONE;
  }
  sr_say_error(&error);
  if (outcome == SR_DEVICE_TROUBLE) {
    sr_say_line("Use -o FILE.wav to write the sound to a file instead.");
    return SR_EXIT_DEVICE;
  }
  return SR_EXIT_NOT_JUDGED;
}
