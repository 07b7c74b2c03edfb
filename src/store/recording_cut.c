// SPDX-License-Identifier: GPL-3.0-or-later

// The old file is read twice from start to end: an unfinished one has no known length and is not
// seekable, and damage must be found before anything is written.

#include <steadyreed/recording.h>

#include "flac_file.h"
#include "open_recording.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FADE_S 0.005
#define HALF_PI 1.57079632679489661923
#define CHUNK_FRAMES 4096u

/// The stretches to keep, with gaps between them.
typedef struct {
  SrStretch* stretches;
  size_t count;
  uint64_t total; ///< Frames of the old take
  uint64_t fade;  ///< Frames of a fade
  double rate_hz;
} Kept;

static SrStatus
check_parts(const SrStretch* const parts, const size_t count, SrError* const error)
{
  bool good = count > 0;
  for (size_t i = 0; good && i < count; ++i) {
    good = parts[i].start < parts[i].end && (i == 0 || parts[i - 1].end <= parts[i].start);
  }
  return good ? SR_OK
              : sr_error_set(error, SR_BAD_ARGUMENT,
                             "The parts to keep must be in order, not empty and not overlapping.");
}

/// Clip the parts to the take and merge adjacent ones, which have no joint.
static SrStatus
plan_kept(const SrStretch* const parts, const size_t count, Kept* const kept, SrError* const error)
{
  kept->stretches = calloc(count, sizeof(SrStretch));
  kept->count = 0;
  if (!kept->stretches) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to cut the take.");
  }
  for (size_t i = 0; i < count && parts[i].start < kept->total; ++i) {
    const uint64_t end = parts[i].end < kept->total ? parts[i].end : kept->total;
    if (kept->count > 0 && kept->stretches[kept->count - 1].end == parts[i].start) {
      kept->stretches[kept->count - 1].end = end;
    } else {
      kept->stretches[kept->count].start = parts[i].start;
      kept->stretches[kept->count].end = end;
      ++kept->count;
    }
  }
  return kept->count > 0 ? SR_OK
                         : sr_error_set(error, SR_BAD_ARGUMENT,
                                        "Nothing of the take would be left: it is only %.1f s long "
                                        "and all the parts to keep come after its end.",
                                        (double)kept->total / kept->rate_hz);
}

/// Read everything to find the length. SR_BAD_AUDIO if it is damaged.
static SrStatus
measure(SrKeptTake* const take, uint64_t* const total, SrError* const error)
{
  static const char damaged[] =
      "The recording is damaged after %.1f s, so it is not cut and stays as it is.";
  if (take->info.channels != 1 || take->info.format != (SF_FORMAT_FLAC | SF_FORMAT_PCM_24)) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "Only takes that Steadyreed recorded can be cut: FLAC, mono, 24 bits.");
  }
  int chunk[CHUNK_FRAMES];
  sf_count_t count;
  *total = 0;
  // An error at the end is a frame cut off by a kill; an earlier one is damage
  bool damaged_within = false;
  while ((count = sf_readf_int(take->file, chunk, CHUNK_FRAMES)) > 0) {
    damaged_within =
        damaged_within || (count == CHUNK_FRAMES && sf_error(take->file) != SF_ERR_NO_ERROR);
    *total += (uint64_t)count;
  }
  const bool whole = sr_kept_take_knows_length(take) ? *total == (uint64_t)take->info.frames
                                                     : sr_kept_take_is_read(take);
  if (!whole || damaged_within) {
    return sr_error_set(error, SR_BAD_AUDIO, damaged,
                        (double)*total / (double)take->info.samplerate);
  }
  return SR_OK;
}

/// Half-cosine fade, 0 to 1; `frame` from its outer end.
static double
fade_gain(const uint64_t frame, const uint64_t fade)
{
  if (frame >= fade) {
    return 1.0;
  }
  const double root = sin(HALF_PI * ((double)frame + 0.5) / (double)fade);
  return root * root;
}

/// Fade those of `count` samples from `start` that are near an end of their stretch, except an end
/// of the old take.
static void
fade_samples(const Kept* const kept, const SrStretch* const stretch, const uint64_t start,
             int* const samples, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    const uint64_t at = start + i;
    const uint64_t after = at - stretch->start;
    const uint64_t before = stretch->end - 1 - at;
    const bool fades_in = stretch->start > 0 && after < kept->fade;
    const bool fades_out = stretch->end < kept->total && before < kept->fade;
    if (fades_in || fades_out) {
      const double gain = (fades_in ? fade_gain(after, kept->fade) : 1.0) *
                          (fades_out ? fade_gain(before, kept->fade) : 1.0);
      samples[i] = (int)lrint((double)samples[i] / 256.0 * gain) * 256;
    }
  }
}

static SrStatus
say_uncut(const SrFlacFile* const file, SrError* const error)
{
  return sr_error_set(error, SR_WRITE_FAILED, "%s The take is not cut; it is unchanged.",
                      sr_flac_file_trouble(file));
}

/// Write the stretches of an open take.
static SrStatus
write_kept(SrKeptTake* const take, const Kept* const kept, SrFlacFile* const file,
           SrError* const error)
{
  int chunk[CHUNK_FRAMES];
  uint64_t at = 0;
  size_t next = 0;
  while (next < kept->count) {
    const sf_count_t got = sf_readf_int(take->file, chunk, CHUNK_FRAMES);
    if (got <= 0) {
      return sr_error_set(error, SR_BAD_AUDIO, "The recording changed while it was being cut.");
    }
    const uint64_t end = at + (uint64_t)got;
    while (next < kept->count && kept->stretches[next].start < end) {
      const SrStretch* const stretch = &kept->stretches[next];
      const uint64_t from = stretch->start > at ? stretch->start : at;
      const uint64_t to = stretch->end < end ? stretch->end : end;
      int* const samples = chunk + (from - at);
      fade_samples(kept, stretch, from, samples, (size_t)(to - from));
      if (!sr_flac_file_write(file, samples, (size_t)(to - from))) {
        return say_uncut(file, error);
      }
      if (stretch->end > end) {
        break;
      }
      ++next;
    }
    at = end;
  }
  return SR_OK;
}

/// Create a new file beside `path`; free() its name.
static SrStatus
open_beside(const char* const path, char** const name, int* const descriptor, SrError* const error)
{
  *descriptor = -1;
  if (asprintf(name, "%s.cut-XXXXXX", path) < 0) {
    *name = NULL;
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to cut the take.");
  }
  *descriptor = mkostemp(*name, O_CLOEXEC);
  if (*descriptor < 0) {
    const int reason = errno;
    free(*name);
    *name = NULL;
    return reason == EACCES || reason == EPERM || reason == EROFS
               ? sr_error_set(
                     error, SR_NO_PERMISSION,
                     "You are not allowed to write into the folder of this take, so it is not cut.")
               : sr_error_set(error, SR_WRITE_FAILED,
                              "The shorter take could not be written beside this one (%s), so it "
                              "is not cut.",
                              strerror(reason));
  }
  (void)fchmod(*descriptor, 0600);
  return SR_OK;
}

/// Flush the new name to disk; if that fails, one of the two files is still whole.
static void
sync_folder(const char* const path)
{
  char* const folder = strdup(path);
  if (!folder) {
    return;
  }
  char* const slash = strrchr(folder, '/');
  if (slash) {
    slash[slash == folder ? 1 : 0] = '\0';
  }
  const int descriptor = open(slash ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  free(folder);
  if (descriptor >= 0) {
    (void)fsync(descriptor);
    close(descriptor);
  }
}

/// Write the kept parts to a new file and replace the old one with it.
static SrStatus
replace(const char* const path, const Kept* const kept, const char* const note,
        SrError* const error)
{
  SrKeptTake take;
  SrStatus outcome = sr_kept_take_open(path, false, &take, error);
  if (outcome != SR_OK) {
    return outcome;
  }
  SrFlacFile* file = NULL;
  char* name = NULL;
  int descriptor = -1;
  outcome = sr_flac_file_new((double)take.info.samplerate, note, &file, error);
  if (outcome == SR_OK) {
    outcome = open_beside(path, &name, &descriptor, error);
  }
  if (outcome == SR_OK && !sr_flac_file_begin(file, descriptor)) {
    outcome = say_uncut(file, error);
  }
  if (outcome == SR_OK) {
    outcome = write_kept(&take, kept, file, error);
  }
  if (outcome == SR_OK && !sr_flac_file_finish(file)) {
    outcome = say_uncut(file, error);
  }
  if (outcome == SR_OK && rename(name, path)) {
    outcome = sr_error_set(
        error, SR_WRITE_FAILED,
        "The shorter take could not replace the old one: %s. The old one is unchanged.",
        strerror(errno));
  }
  if (outcome == SR_OK) {
    sync_folder(path);
  } else if (name) {
    unlink(name);
  }
  free(name);
  sr_flac_file_del(file);
  sr_kept_take_close(&take);
  return outcome;
}

SrStatus
sr_recording_cut(const char* const path, const SrStretch* const parts, const size_t count,
                 const char* const note, SrError* const error)
{
  Kept kept = {0};
  char old_note[SR_TAKE_NOTE_SIZE];
  SrStatus outcome = check_parts(parts, count, error);
  if (outcome == SR_OK && note && strnlen(note, SR_TAKE_NOTE_SIZE) >= SR_TAKE_NOTE_SIZE) {
    outcome = sr_error_set(error, SR_BAD_ARGUMENT, "The note about the take is longer than 4 kB.");
  }
  if (outcome == SR_OK && !note) {
    outcome = sr_recording_note(path, old_note, error);
  }
  if (outcome == SR_OK) {
    SrKeptTake take;
    outcome = sr_kept_take_open(path, false, &take, error);
    if (outcome == SR_OK) {
      outcome = measure(&take, &kept.total, error);
      kept.rate_hz = (double)take.info.samplerate;
      kept.fade = (uint64_t)lrint(FADE_S * kept.rate_hz);
      sr_kept_take_close(&take);
    }
  }
  if (outcome == SR_OK) {
    outcome = plan_kept(parts, count, &kept, error);
  }
  if (outcome == SR_OK) {
    outcome = replace(path, &kept, note ? note : old_note, error);
  }
  free(kept.stretches);
  if (outcome != SR_OK) {
    sr_error_place(error, path, 0, 0);
  }
  return outcome;
}
