// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/take_outline.h>

#include <steadyreed/audio.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

/// Pieces of one level that are one of the next.
#define FAN 8u
/// Enough levels for any recording: 8^21 = 2^63.
#define MOST_LEVELS 21u
/// Samples read at once.
#define CHUNK 65536u
/// A quiet place is softer than what is around it by this, as a ratio: 12 dB.
#define QUIETER 0.25
/// The first sound is at least this share of the loudest: -30 dB.
#define FIRST_SHARE 0.0316

/// Peaks at one scale.
typedef struct {
  float* peaks;
  size_t count;
  size_t room;
} Level;

struct SrTakeOutlineImpl {
  Level levels[MOST_LEVELS];
  size_t level_count;
  double piece_s;
  double seconds;
};

static bool
append(Level* const level, const float peak)
{
  if (level->count == level->room) {
    const size_t room = level->room ? 2 * level->room : 1024;
    float* const peaks = realloc(level->peaks, room * sizeof(float));
    if (!peaks) {
      return false;
    }
    level->peaks = peaks;
    level->room = room;
  }
  level->peaks[level->count++] = peak;
  return true;
}

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to show the recording.");
}

/// Peaks of pieces, read to the end or until it is told to stop.
static SrStatus
read_pieces(SrTakeReader* const reader, const size_t piece, bool (*const stop)(void*),
            void* const context, Level* const level, SrError* const error)
{
  float* const chunk = malloc(CHUNK * sizeof(float));
  bool good = chunk != NULL;
  size_t in_piece = 0;
  float peak = 0.0f;
  size_t count = 0;
  while (good && !(stop && stop(context)) &&
         (count = sr_take_reader_read(reader, chunk, CHUNK)) > 0) {
    for (size_t i = 0; i < count && good; ++i) {
      const float size = fabsf(chunk[i]);
      peak = isfinite(size) && size > peak ? size : peak;
      if (++in_piece == piece) {
        good = append(level, peak);
        in_piece = 0;
        peak = 0.0f;
      }
    }
  }
  if (good && in_piece > 0) {
    good = append(level, peak);
  }
  free(chunk);
  return good ? SR_OK : no_memory(error);
}

/// The levels above the first one.
static SrStatus
build_levels(SrTakeOutline* const outline, SrError* const error)
{
  outline->level_count = 1;
  while (outline->levels[outline->level_count - 1].count > 1) {
    const Level* const below = &outline->levels[outline->level_count - 1];
    Level* const above = &outline->levels[outline->level_count++];
    for (size_t i = 0; i < below->count; i += FAN) {
      float peak = 0.0f;
      for (size_t k = i; k < i + FAN && k < below->count; ++k) {
        peak = below->peaks[k] > peak ? below->peaks[k] : peak;
      }
      if (!append(above, peak)) {
        return no_memory(error);
      }
    }
  }
  return SR_OK;
}

SrStatus
sr_take_outline_new(const char* const path, bool (*const stop)(void*), void* const context,
                    SrTakeOutline** const outline, SrError* const error)
{
  *outline = NULL;
  SrTakeReader* reader = NULL;
  SrStatus status = sr_take_reader_new(path, &reader, error);
  if (status != SR_OK) {
    return status;
  }
  SrTakeOutline* const made = calloc(1, sizeof(SrTakeOutline));
  if (!made) {
    sr_take_reader_del(reader);
    return no_memory(error);
  }
  const double rate_hz = sr_take_reader_rate_hz(reader);
  const size_t piece = (size_t)lround(rate_hz / SR_TAKE_OUTLINE_PER_S);
  status = read_pieces(reader, piece, stop, context, &made->levels[0], error);
  if (status == SR_OK && made->levels[0].count == 0) {
    status = sr_error_set(error, SR_BAD_AUDIO, "The recording holds no sound at all (0 samples).");
    sr_error_place(error, path, 0, 0);
  }
  if (status == SR_OK) {
    made->piece_s = (double)piece / rate_hz;
    made->seconds = sr_take_reader_reading(reader).seconds;
    status = build_levels(made, error);
  }
  sr_take_reader_del(reader);
  if (status != SR_OK) {
    sr_take_outline_del(made);
    return status;
  }
  *outline = made;
  return SR_OK;
}

void
sr_take_outline_del(SrTakeOutline* const outline)
{
  if (outline) {
    for (size_t i = 0; i < MOST_LEVELS; ++i) {
      free(outline->levels[i].peaks);
    }
    free(outline);
  }
}

double
sr_take_outline_seconds(const SrTakeOutline* const outline)
{
  return outline->seconds;
}

/// Index of the piece that holds a time, 0 to the number of pieces.
static size_t
piece_at(const SrTakeOutline* const outline, const double at_s)
{
  const double index = at_s / outline->piece_s;
  const size_t count = outline->levels[0].count;
  return !(index > 0.0) ? 0 : index >= (double)count ? count : (size_t)index;
}

double
sr_take_outline_peak(const SrTakeOutline* const outline, const double from_s, const double to_s)
{
  if (!(to_s > from_s) || to_s <= 0.0) {
    return 0.0;
  }
  size_t from = piece_at(outline, from_s);
  size_t to = piece_at(outline, to_s);
  // The piece in which it ends counts too
  to += to < outline->levels[0].count && (double)to * outline->piece_s < to_s;
  float peak = 0.0f;
  // Coarse pieces in the middle, and fine ones at both ends: a few at each level
  for (size_t l = 0; from < to; ++l) {
    const Level* const level = &outline->levels[l];
    const bool last = l + 1 == outline->level_count;
    while (from < to && (last || from % FAN != 0)) {
      peak = fmaxf(peak, level->peaks[from++]);
    }
    while (from < to && to % FAN != 0) {
      peak = fmaxf(peak, level->peaks[--to]);
    }
    from /= FAN;
    to /= FAN;
  }
  return (double)peak;
}

double
sr_take_outline_quiet(const SrTakeOutline* const outline, const double at_s, const double within_s)
{
  const double around = sr_take_outline_peak(outline, at_s - within_s, at_s + within_s);
  const size_t count = outline->levels[0].count;
  const size_t from = piece_at(outline, at_s - within_s);
  const size_t to = piece_at(outline, at_s + within_s);
  double best = around;
  double place = at_s;
  for (size_t i = from; i < to && i < count; ++i) {
    // Three pieces together: a wave's passing through zero is no pause
    const size_t before = i > 0 ? i - 1 : i;
    const size_t after = i + 1 < count ? i + 1 : i;
    const double peak =
        (double)fmaxf(outline->levels[0].peaks[i],
                      fmaxf(outline->levels[0].peaks[before], outline->levels[0].peaks[after]));
    const double middle = ((double)i + 0.5) * outline->piece_s;
    const bool nearer = fabs(middle - at_s) < fabs(place - at_s);
    if (peak < best || (peak <= best && nearer && best < around)) {
      best = peak;
      place = middle;
    }
  }
  return best < QUIETER * around && place < outline->seconds ? place : at_s;
}

double
sr_take_outline_first_sound(const SrTakeOutline* const outline)
{
  const Level* const level = &outline->levels[0];
  const float least = (float)FIRST_SHARE * outline->levels[outline->level_count - 1].peaks[0];
  size_t i = 0;
  while (i < level->count && !(level->peaks[i] > 0.0f && level->peaks[i] >= least)) {
    ++i;
  }
  return i < level->count ? (double)i * outline->piece_s : 0.0;
}
