// SPDX-License-Identifier: GPL-3.0-or-later

#include "beside_sound.h"

#include "command.h"
#include "guard.h"
#include "say.h"
#include "take_part.h"

#include <steadyreed/audio.h>
#include <steadyreed/in_turn.h>
#include <steadyreed/slow.h>
#include <steadyreed/two_takes.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// What is heard of both takes.
typedef struct {
  SrSpan* spans[2];
  size_t count;
  SrTakePart parts[2];
  double speeds[2];
} Heard;

/// Samples to be written or played.
typedef struct {
  const SrInTurn* sound;
  size_t at;
} Source;

static size_t
give(void* const context, float* const samples, const size_t count)
{
  Source* const source = (Source*)context;
  const size_t left = source->sound->count - source->at;
  const size_t given = count < left ? count : left;
  memcpy(samples, source->sound->samples + source->at, given * sizeof(float));
  source->at += given;
  return given;
}

static bool
is_wanted(const SrBesideSound* const asked, const int bar)
{
  return (!asked->first_bar && !asked->last_bar) ||
         (bar >= asked->first_bar && bar <= asked->last_bar);
}

/// Find the bars that were heard in both takes; the others are named.
static SrStatus
find_spans(const SrBesideSound* const asked, const SrPhrase* const phrase,
           const SrBesideHeard takes[2], Heard* const heard, SrError* const error)
{
  const size_t bars = sr_phrase_bar_count(phrase);
  heard->spans[0] = (SrSpan*)calloc(bars + 1, sizeof(SrSpan));
  heard->spans[1] = (SrSpan*)calloc(bars + 1, sizeof(SrSpan));
  if (!heard->spans[0] || !heard->spans[1]) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to find the bars.");
  }
  for (size_t bar = 0; bar < bars; ++bar) {
    SrSpan found[2];
    bool both = is_wanted(asked, sr_phrase_bar(phrase, bar)->number);
    for (size_t t = 0; t < 2 && both; ++t) {
      both = sr_round_bar_times(phrase, takes[t].round, bar, &found[t].from_s, &found[t].to_s);
      if (!both) {
        sr_say_format(stderr, "Bar %d is left out: it was not heard in the %s take.\n",
                      sr_phrase_bar(phrase, bar)->number, t ? "second" : "first");
      }
    }
    if (both) {
      heard->spans[0][heard->count] = found[0];
      heard->spans[1][heard->count++] = found[1];
    }
  }
  if (!heard->count) {
    return sr_error_set(error, SR_NOT_FOUND, "None of these bars was heard in both takes.");
  }
  if (asked->whole) {
    heard->spans[0][0].to_s = heard->spans[0][heard->count - 1].to_s;
    heard->spans[1][0].to_s = heard->spans[1][heard->count - 1].to_s;
    heard->count = 1;
  }
  return SR_OK;
}

/// Choose the speeds: both 1, or those that bring the takes to the slower tempo.
static SrStatus
find_speeds(const SrBesideSound* const asked, const SrBesideHeard takes[2], Heard* const heard,
            SrError* const error)
{
  heard->speeds[0] = 1.0;
  heard->speeds[1] = 1.0;
  if (!asked->same_tempo) {
    return SR_OK;
  }
  const double bpm[] = {takes[0].round->pulse.played_bpm, takes[1].round->pulse.played_bpm};
  if (!sr_in_turn_speeds(bpm, heard->speeds)) {
    return sr_error_set(error, SR_NOT_FOUND,
                        "The two takes cannot be brought to one tempo: %s. Leave out "
                        "--same-tempo.",
                        isfinite(bpm[0]) && isfinite(bpm[1]) ? "they are too far apart"
                                                             : "that of one is not known");
  }
  return SR_OK;
}

static SrStatus
read_parts(const SrBesideHeard takes[2], Heard* const heard, SrError* const error)
{
  SrStatus status = SR_OK;
  for (size_t t = 0; t < 2 && status == SR_OK; ++t) {
    status = sr_take_part_read(takes[t].path, heard->spans[t][0].from_s - SR_IN_TURN_BEFORE_S,
                               heard->spans[t][heard->count - 1].to_s, &heard->parts[t], error);
  }
  return status;
}

static SrStatus
prepare(const SrBesideSound* const asked, const SrPhrase* const phrase,
        const SrBesideHeard takes[2], const double rate_hz, SrInTurn* const sound,
        SrError* const error)
{
  Heard heard = {.count = 0};
  SrStatus status = find_spans(asked, phrase, takes, &heard, error);
  if (status == SR_OK) {
    status = find_speeds(asked, takes, &heard, error);
  }
  if (status == SR_OK) {
    status = read_parts(takes, &heard, error);
  }
  if (status == SR_OK) {
    SrTurn turns[2];
    for (size_t t = 0; t < 2; ++t) {
      turns[t] = (SrTurn){.samples = heard.parts[t].samples,
                          .count = heard.parts[t].count,
                          .rate_hz = heard.parts[t].rate_hz,
                          .start_s = heard.parts[t].start_s,
                          .spans = heard.spans[t],
                          .speed = heard.speeds[t]};
    }
    status = sr_in_turn_make(turns, 2, heard.count, isnan(rate_hz) ? turns[0].rate_hz : rate_hz,
                             sound, error);
  }
  sr_take_part_clear(&heard.parts[0]);
  sr_take_part_clear(&heard.parts[1]);
  free(heard.spans[0]);
  free(heard.spans[1]);
  return status;
}

static void
report(const SrBesideSound* const asked, const SrInTurn* const sound)
{
  sr_say_format(stderr, "%s the first take, then the second, %s, %.1f s%s%s\n",
                asked->output ? "Writing" : "Playing",
                asked->whole ? "all bars of each" : "bar by bar",
                (double)sound->count / sound->rate_hz, asked->output ? ": " : "",
                asked->output ? asked->output : ". Ctrl-C stops. Start with the volume low.");
}

int
sr_beside_sound(const SrBesideSound* const asked, const SrPhrase* const phrase,
                const SrBesideHeard takes[2])
{
  SrError error = {0};
  SrPlayer* player = NULL;
  SrInTurn sound = {.samples = NULL};
  SrStatus status = SR_OK;
  double rate_hz = (double)NAN;
  if (!asked->output) {
    sr_guard_begin("steadyreed: The sound system of this computer is not set up (ALSA lists no "
                   "device).\nUse --sound OUT.wav to write the sound to a file instead.\n",
                   SR_EXIT_DEVICE);
    status = sr_player_new(NULL, &player, &error);
    sr_guard_end();
    rate_hz = status == SR_OK ? sr_player_rate_hz(player) : (double)NAN;
  }
  if (status == SR_OK) {
    status = prepare(asked, phrase, takes, rate_hz, &sound, &error);
  }
  if (status == SR_OK) {
    Source source = {&sound, 0};
    report(asked, &sound);
    status = asked->output ? sr_audio_write(asked->output, sound.rate_hz, SR_SAMPLES_24_BIT, give,
                                            &source, &error)
                           : sr_player_play(player, give, &source, &error);
  }
  sr_in_turn_clear(&sound);
  sr_player_del(player);
  if (status == SR_OK) {
    return SR_EXIT_DONE;
  }
  sr_say_error(&error);
  return status == SR_DEVICE_TROUBLE ? SR_EXIT_DEVICE : SR_EXIT_NOT_JUDGED;
}
