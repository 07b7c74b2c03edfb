// SPDX-License-Identifier: GPL-3.0-or-later

#include "tape.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"
#include "sitting.h"

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CHUNK 65536u
/// One step and a half of 16 bits.
#define SAME (1.5f / 32768.0f)

/// Room for more; where it begins.
static float*
more_room(Tape* const tape, const size_t count)
{
  float* const more = (float*)realloc(tape->samples, (tape->count + count + 1) * sizeof(float));
  assert_non_null(more);
  tape->samples = more;
  return more + tape->count;
}

void
tape_silence(Tape* const tape, const double seconds)
{
  const size_t count = (size_t)lround(seconds * tape->rate_hz);
  memset(more_room(tape, count), 0, count * sizeof(float));
  tape->count += count;
}

Tape
tape_read(const char* const path)
{
  Tape tape = {0};
  SF_INFO info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  if (!file) {
    fail_msg("%s does not open", path);
  }
  assert_int_equal(info.channels, 1);
  tape.rate_hz = info.samplerate;
  sf_count_t got;
  while ((got = sf_readf_float(file, more_room(&tape, CHUNK), CHUNK)) > 0) {
    tape.count += (size_t)got;
  }
  sf_close(file);
  return tape;
}

void
tape_clear(Tape* const tape)
{
  free(tape->samples);
  tape->samples = NULL;
  tape->count = 0;
}

void
tape_file(Tape* const tape, const char* const path, const double from_s, const double to_s)
{
  Tape part = tape_read(path);
  assert_int_equal(part.rate_hz, tape->rate_hz);
  const size_t from = (size_t)(from_s * part.rate_hz);
  const size_t to =
      to_s * part.rate_hz < (double)part.count ? (size_t)(to_s * part.rate_hz) : part.count;
  assert_true(from < to);
  memcpy(more_room(tape, to - from), part.samples + from, (to - from) * sizeof(float));
  tape->count += to - from;
  tape_clear(&part);
}

void
tape_note(Tape* const tape, const char* const folder, const char* const abc_note,
          const double seconds)
{
  char* const phrase = folder_path(folder, "note.abc");
  char* const sound = folder_path(folder, "note.wav");
  FILE* const file = fopen(phrase, "w");
  assert_non_null(file);
  // A quarter lasts a second
  fprintf(file, "%%abc-2.1\nX:1\nT:Note\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\n%s%ld/10|]\n", abc_note,
          lround(10.0 * seconds));
  fclose(file);
  char* const rate = test_text("%d", tape->rate_hz);
  const char* const arguments[] = {test_program, "sound",  phrase, "-o",
                                   sound,        "--rate", rate,   NULL};
  ProgramRun run = run_program(arguments);
  if (run.status) {
    fail_msg("%s", run.trouble);
  }
  run_clear(&run);
  tape_file(tape, sound, 0.0, INFINITY);
  remove(phrase);
  remove(sound);
  free(phrase);
  free(sound);
  free(rate);
}

void
tape_write(const Tape* const tape, const char* const path)
{
  SF_INFO info = {
      .samplerate = tape->rate_hz, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  assert_non_null(file);
  assert_int_equal(sf_writef_float(file, tape->samples, (sf_count_t)tape->count), tape->count);
  assert_int_equal(sf_close(file), 0);
}

static bool
is_same(const float* const one, const float* const two, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    if (!(fabsf(one[i] - two[i]) <= SAME)) {
      return false;
    }
  }
  return true;
}

bool
tape_find(const Tape* const tape, const size_t from, const size_t to, const Tape* const heard,
          long* const shift)
{
  const size_t count = to - from;
  for (size_t at = 0; at + count <= heard->count; ++at) {
    if (is_same(tape->samples + from, heard->samples + at, count)) {
      *shift = (long)at - (long)from;
      return true;
    }
  }
  return false;
}
