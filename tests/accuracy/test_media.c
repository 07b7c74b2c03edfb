// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_media.c
   Takes as phones, browsers and editors keep them, against the same takes as WAV.

   usage: test_media FFMPEG made|recorded TUNES.abc FIRST LAST

   With STEADYREED_TAKES set, every note judged otherwise has its line.

   Each take goes through a lossy codec of FFMPEG and back through the reader. All notes and cuts
   should be judged as they are from the WAV, and the onsets lie where they lay. Takes by the range
   are what the limits were not set by.
*/

#include "heard.h"
#include "plans.h"
#include "run_program.h"
#include "score.h"

#include <steadyreed/audio.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Notes with their cuts that must be judged as from the WAV, percent; the aim is all. What differs
/// are notes that the room makes doubtful: about as many are then judged better as worse.
#define LEAST_SAME 98.5
/// Points of percent by which fewer notes and cuts may be judged right than from the WAV.
#define MOST_LOSS 1.0
/// … or as many of them, since of a few takes each weighs much, and codecs calculate otherwise on
/// other processors.
#define MOST_LOST 2.5
/// Most that the onsets may lie elsewhere on the mean, and each, ms.
#define MOST_SHIFT_MS 0.3
#define MOST_DEVIATION_MS 1.5

typedef struct {
  const char* name;
  const char* file;
  const char* codec;
  const char* rate;
} Form;

static const Form forms[] = {
    {"AAC, 64 kbit/s, m4a", "take.m4a", "aac", "64k"},
    {"AAC, 128 kbit/s, mp4", "take.mp4", "aac", "128k"},
    {"MP3, 128 kbit/s", "take.mp3", "libmp3lame", "128k"},
    {"Opus, 64 kbit/s, webm", "take.webm", "libopus", "64k"},
};
enum { FORMS = sizeof(forms) / sizeof(forms[0]) };

typedef struct {
  Figures* figures; ///< Against the truth
  size_t notes;
  size_t same;
  size_t onsets;
  double shift_ms;
  double deviation_ms;
} Counts;

/// Read a file whole as a take of its own; no samples if it cannot be read.
static Take
read_take(const char* const path)
{
  Take take = {0};
  SrError error = {0};
  SrTakeReader* reader = NULL;
  if (sr_take_reader_new(path, &reader, &error) != SR_OK) {
    printf("%s: %s\n", path, error.message);
    return take;
  }
  take.rate_hz = sr_take_reader_rate_hz(reader);
  size_t room = 0;
  size_t count = 0;
  do {
    take.count += count;
    if (take.count == room) {
      room += 1u << 20u;
      take.samples = realloc(take.samples, room * sizeof(float));
    }
    count = sr_take_reader_read(reader, take.samples + take.count, room - take.count);
  } while (count > 0);
  if (sr_take_reader_reading(reader).truncated) {
    printf("%s is called broken off\n", path);
    take.count = 0;
  }
  sr_take_reader_del(reader);
  return take;
}

static bool
judged_alike(const SrNoteVerdict* const a, const SrNoteVerdict* const b)
{
  return a->status == b->status && a->joined == b->joined && a->has_cut == b->has_cut &&
         (!a->has_cut || a->cut.verdict == b->cut.verdict);
}

static void
compare(const char* const name, const SrAssessment* const wav, const SrAssessment* const other,
        Counts* const counts)
{
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  for (size_t r = 0; r < wav->round_count; ++r) {
    for (size_t i = 0; i < wav->rounds[r].note_count; ++i) {
      const SrNoteVerdict* const a = &wav->rounds[r].notes[i];
      ++counts->notes;
      if (!other || other->round_count != wav->round_count) {
        continue;
      }
      const SrNoteVerdict* const b = &other->rounds[r].notes[i];
      const bool alike = judged_alike(a, b);
      counts->same += alike;
      if (verbose && !alike) {
        printf("  %s: round %zu note %zu: status %d, joined %d, cut %d; as WAV %d, %d, %d\n", name,
               r, i, (int)b->status, (int)b->joined, b->has_cut ? (int)b->cut.verdict : -1,
               (int)a->status, (int)a->joined, a->has_cut ? (int)a->cut.verdict : -1);
      }
      if (isfinite(a->onset_s) && isfinite(b->onset_s)) {
        const double shift_ms = 1000.0 * (b->onset_s - a->onset_s);
        counts->shift_ms += shift_ms;
        counts->deviation_ms += fabs(shift_ms);
        ++counts->onsets;
      }
    }
  }
}

/// Encode the WAV; false if FFmpeg cannot.
static bool
encode(const char* const ffmpeg, const char* const wav, const Form* const form,
       const char* const path)
{
  const char* const arguments[] = {ffmpeg, "-v",        "error", "-y",       "-i", wav,
                                   "-c:a", form->codec, "-b:a",  form->rate, path, NULL};
  ProgramRun run = run_program(arguments);
  const bool done = run.status == 0;
  if (!done) {
    printf("%s: %s", form->name, run.trouble);
  }
  run_clear(&run);
  return done;
}

/// 0, 1 for an error, 77 if the take cannot be made here.
static int
count_take(const char* const ffmpeg, const char* const folder, const TakeSet set,
           const char* const tunes, const size_t index, Figures* const of_wavs,
           Counts* const counts)
{
  int tune = 0;
  const TakePlan plan = plan_of(index, set, &tune);
  SrPhrase* phrase = NULL;
  Take* take = NULL;
  int status = take_of_plan(tunes, tune, &plan, &phrase, &take);
  if (status != 0) {
    return status;
  }
  char* const wav_path = folder_path(folder, "take.wav");
  TakeReading source = {take, 0};
  sr_audio_write(wav_path, take->rate_hz, SR_SAMPLES_16_BIT, take_read_on, &source, NULL);
  Take wav = read_take(wav_path);
  HeardTake of_wav = heard_take(phrase, &wav);
  figures_add(of_wavs, phrase, &plan, take, &of_wav, false);
  for (size_t f = 0; f < FORMS && of_wav.assessment; ++f) {
    char* const path = folder_path(folder, forms[f].file);
    if (encode(ffmpeg, wav_path, &forms[f], path)) {
      Take coded = read_take(path);
      HeardTake heard = heard_take(phrase, &coded);
      compare(forms[f].name, of_wav.assessment, heard.assessment, &counts[f]);
      figures_add(counts[f].figures, phrase, &plan, take, &heard, false);
      heard_free(&heard);
      free(coded.samples);
    } else {
      status = 1;
    }
    free(path);
  }
  heard_free(&of_wav);
  free(wav.samples);
  free(wav_path);
  take_del(take);
  sr_phrase_del(phrase);
  return status;
}

/// Notes and cuts judged right, percent.
static double
right(const Figures* const figures)
{
  return 100.0 * (double)(figures->notes_right + figures->cuts_right) /
         (double)(figures->notes + figures->cuts);
}

int
main(const int argc, char** const argv)
{
  if (argc < 6) {
    return 2;
  }
  const TakeSet set = !strcmp(argv[2], "recorded") ? TAKES_RECORDED : TAKES_MADE;
  char* const folder = folder_make();
  Counts counts[FORMS] = {0};
  Figures* const of_wavs = figures_new();
  for (size_t f = 0; f < FORMS; ++f) {
    counts[f].figures = figures_new();
  }
  int status = 0;
  for (size_t i = strtoul(argv[4], NULL, 10); i <= strtoul(argv[5], NULL, 10) && !status; ++i) {
    status = count_take(argv[1], folder, set, argv[3], i, of_wavs, counts);
  }
  folder_remove(folder);
  free(folder);
  bool all = true;
  for (size_t f = 0; f < FORMS && !status; ++f) {
    const Counts* const c = &counts[f];
    const double same = 100.0 * (double)c->same / (double)c->notes;
    const double shift_ms = c->shift_ms / (double)c->onsets;
    const double deviation_ms = c->deviation_ms / (double)c->onsets;
    const double loss = right(of_wavs) - right(c->figures);
    const double lost = 0.01 * loss * (double)(of_wavs->notes + of_wavs->cuts);
    const bool kept = loss <= MOST_LOSS || lost <= MOST_LOST;
    const bool held = same >= LEAST_SAME && kept && fabs(shift_ms) <= MOST_SHIFT_MS &&
                      deviation_ms <= MOST_DEVIATION_MS;
    printf("%s reeds, %s: %.2f %% of %zu notes judged as from the WAV (limit %g, aim 100), %.2f %% "
           "right (WAV %.2f %%), onsets %+.2f ms on the mean (limit %g), %.2f ms each (limit %g): "
           "%s\n",
           argv[2], forms[f].name, same, c->notes, LEAST_SAME, right(c->figures), right(of_wavs),
           shift_ms, MOST_SHIFT_MS, deviation_ms, MOST_DEVIATION_MS, held ? "holds" : "BROKEN");
    all = all && held;
  }
  for (size_t f = 0; f < FORMS; ++f) {
    figures_del(counts[f].figures);
  }
  figures_del(of_wavs);
  return status ? status : !all;
}
