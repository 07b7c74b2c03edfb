// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/transcribed_take.h>

#include "found_click.h"
#include "take_remarks.h"

#include <steadyreed/audio.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// Samples read at once.
#define CHUNK_SAMPLES 65536u
/// The notes go with a click if a simple number of pulses within this share falls between two.
#define SAME_TEMPO 0.08

/// The stretch of the recording that is heard.
typedef struct {
  SrTakeReader* reader;
  SrClickRemover* remover; ///< NULL without a click to remove
  uint64_t from;           ///< First sample
  uint64_t until;          ///< One past the last
  uint64_t at;
} Stretch;

static size_t
read_stretch(void* const from, float* const samples, const size_t count)
{
  Stretch* const stretch = (Stretch*)from;
  size_t done = 0;
  while (stretch->at < stretch->from) {
    const uint64_t before = stretch->from - stretch->at;
    done = sr_take_reader_skip(stretch->reader, before < SIZE_MAX ? (size_t)before : SIZE_MAX);
    if (done == 0) {
      return 0;
    }
    stretch->at += done;
  }
  const uint64_t left = stretch->until - stretch->at;
  done =
      left ? sr_take_reader_read(stretch->reader, samples, left < count ? (size_t)left : count) : 0;
  if (stretch->remover) {
    sr_click_remover_do(stretch->remover, samples, done);
  }
  stretch->at += done;
  return done;
}

static SrStatus
rewind_stretch(void* const from, SrError* const error)
{
  Stretch* const stretch = (Stretch*)from;
  stretch->at = 0;
  if (stretch->remover) {
    sr_click_remover_rewind(stretch->remover);
  }
  return sr_take_reader_rewind(stretch->reader, error);
}

/// Read the stretch once: its loudest sample, and any click.
static SrStatus
look_through(Stretch* const stretch, SrClickFinder* const finder, int64_t* const loudest,
             SrError* const error)
{
  float* const chunk = (float*)malloc(CHUNK_SAMPLES * sizeof(float));
  SrStatus status = chunk ? SR_OK : sr_take_no_memory(error);
  float most = -1.0f;
  int64_t at = 0;
  size_t count;
  *loudest = 0;
  while (chunk && status == SR_OK && (count = read_stretch(stretch, chunk, CHUNK_SAMPLES)) > 0) {
    if (finder) {
      sr_click_finder_push(finder, chunk, count);
    }
    for (size_t i = 0; i < count; ++i) {
      if (fabsf(chunk[i]) > most) {
        most = fabsf(chunk[i]);
        *loudest = at + (int64_t)i;
      }
    }
    at += (int64_t)count;
  }
  free(chunk);
  if (status == SR_OK && at == 0) {
    status = sr_error_set(error, SR_NOT_FOUND, "The recording ends before that.");
  }
  return status;
}

/// Whether notes of a tempo go with a click.
static bool
goes_with(const SrScore* const score, const double period_s)
{
  static const double usual[] = {1.0, 2.0, 1.0 / 2.0, 1.0 / 3.0, 4.0};
  const double pulses = period_s * score->tempo_bpm / 60.0;
  for (size_t i = 0; i < sizeof(usual) / sizeof(usual[0]); ++i) {
    if (fabs(pulses / usual[i] - 1.0) < SAME_TEMPO) {
      return true;
    }
  }
  return false;
}

/// Lay out what was played by the click, if the notes go with it.
static void
try_click(SrPlayedNotes* const played, const SrScoreWish* const wish,
          const SrClickFound* const click, const double rate_hz, SrScore* const score)
{
  const double period_s = click->period / rate_hz;
  if (!goes_with(score, period_s)) {
    return;
  }
  SrScoreWish clicked = *wish;
  clicked.click_s = click->first / rate_hz;
  clicked.click_period_s = period_s;
  // The notes have their names already
  clicked.reference_hz = score->reference_hz;
  SrScore other;
  if (sr_score_make(played, &clicked, &other, NULL) == SR_OK) {
    other.renamed = score->renamed;
    sr_score_clear(score);
    *score = other;
  }
}

/// Whether the clicks found are sounds of the notes.
static SrStatus
are_notes(const SrPlayedNotes* const played, const SrClickFound* const click, const double rate_hz,
          bool* const notes)
{
  SrEvent* const events = (SrEvent*)calloc(played->count + 1, sizeof(SrEvent));
  if (!events) {
    return SR_NO_MEMORY;
  }
  for (size_t i = 0; i < played->count; ++i) {
    events[i].onset_s = played->notes[i].onset_s;
    events[i].end_s = played->notes[i].end_s;
  }
  const SrListened listened = {.events = events, .event_count = played->count};
  const SrStatus status = sr_found_click_ask_notes(&listened, click, rate_hz, notes);
  free(events);
  return status;
}

/// Times of the recording, not of the stretch.
static void
move_notes(SrScore* const score, const double by_s)
{
  for (size_t i = 0; i < score->count; ++i) {
    score->notes[i].played.onset_s += by_s;
    score->notes[i].played.end_s += by_s;
  }
}

/// Hear the stretch and write it down. `again` receives whether the clicks removed were notes.
static SrStatus
write_down(Stretch* const stretch, const SrScoreWish* const wish, const SrOctaves octaves,
           SrRecordedClick* const click, const int64_t loudest, SrScore* const score,
           bool* const again, SrError* const error)
{
  const double rate_hz = sr_take_reader_rate_hz(stretch->reader);
  const SrTakeSource source = {read_stretch, rewind_stretch, stretch};
  SrPlayedNotes played = {.notes = NULL};
  stretch->remover = click->remover;
  SrStatus status = rewind_stretch(stretch, error);
  if (status == SR_OK) {
    status = sr_played_notes_make(&source, loudest, rate_hz, octaves, &played, error);
  }
  if (status == SR_OK) {
    status = sr_score_make(&played, wish, score, error);
  }
  if (status == SR_OK && click->found.count > 0) {
    status = are_notes(&played, &click->found, rate_hz, again);
    if (status == SR_OK && !*again) {
      try_click(&played, wish, &click->found, rate_hz, score);
    }
  }
  *again = *again || (click->found.count > 0 && status == SR_NOTHING_HEARD);
  sr_played_notes_clear(&played);
  return status;
}

SrStatus
sr_transcribed_take_make(const char* const path, const double from_s, const double to_s,
                         const SrScoreWish* const asked, const SrOctaves octaves,
                         const bool find_click, SrScore* const score, SrError* const error)
{
  memset(score, 0, sizeof(*score));
  SrScoreWish wish = asked ? *asked : sr_score_wish_none();
  wish.click_s = (double)NAN;
  SrRecordedClick click = {.finder = NULL};
  Stretch stretch = {.reader = NULL};
  int64_t loudest = 0;
  SrStatus status = sr_take_reader_new(path, &stretch.reader, error);
  const double rate_hz = status == SR_OK ? sr_take_reader_rate_hz(stretch.reader) : 0.0;
  if (status == SR_OK && find_click) {
    status = sr_click_finder_new(rate_hz, &click.finder, error);
  }
  if (status == SR_OK) {
    stretch.from = (uint64_t)llround(from_s * rate_hz);
    stretch.until = isfinite(to_s) ? (uint64_t)llround(to_s * rate_hz) : UINT64_MAX;
    status = look_through(&stretch, click.finder, &loudest, error);
  }
  if (status == SR_OK) {
    const SrTakeReading reading = sr_take_reader_reading(stretch.reader);
    status = sr_take_check(&reading, error);
  }
  status = status == SR_OK ? sr_found_click_settle(&click, rate_hz, error) : status;
  bool again = false;
  if (status == SR_OK) {
    status = write_down(&stretch, &wish, octaves, &click, loudest, score, &again, error);
  }
  if (again) {
    // Notes were taken for clicks, and removed
    sr_score_clear(score);
    sr_found_click_clear(&click);
    status = write_down(&stretch, &wish, octaves, &click, loudest, score, &again, error);
  }
  if (status == SR_OK) {
    move_notes(score, from_s);
  } else {
    sr_score_clear(score);
    sr_error_place(error, strcmp(path, "-") ? path : "standard input", 0, 0);
  }
  sr_found_click_clear(&click);
  sr_take_reader_del(stretch.reader);
  return status;
}
