// SPDX-License-Identifier: GPL-3.0-or-later

// Facts of a recording that can be worked out by hand.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_take.h"
#include "run_program.h"

#include <steadyreed/audio.h>

#include "audio/spool.h"

#include <sndfile.h>

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define RATE_HZ 16000

static char* folder;
static char* path;

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  path = folder_path(folder, "take.wav");
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  free(path);
  return 0;
}

/// Write interleaved float frames.
static void
write_frames(const float* const frames, const size_t count, const int channels, const int format)
{
  SF_INFO info = {0};
  info.samplerate = RATE_HZ;
  info.channels = channels;
  info.format = format;
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  assert_non_null(file);
  sf_command(file, SFC_SET_CLIPPING, NULL, SF_TRUE);
  assert_int_equal(sf_writef_float(file, frames, (sf_count_t)count), count);
  sf_close(file);
}

/// Read all in chunks of `chunk` into `samples`; returns how many there were.
static size_t
read_all(SrTakeReader* const reader, float* const samples, const size_t chunk)
{
  size_t total = 0;
  size_t count;
  while ((count = sr_take_reader_read(reader, samples + total, chunk)) > 0) {
    total += count;
  }
  return total;
}

static SrTakeReading
reading_of(const size_t count)
{
  SrTakeReader* reader = NULL;
  SrError error;
  assert_int_equal(sr_take_reader_new(path, &reader, &error), SR_OK);
  float* const samples = malloc((count + 1000) * sizeof(float));
  assert_int_equal(read_all(reader, samples, 1000), count);
  const SrTakeReading reading = sr_take_reader_reading(reader);
  sr_take_reader_del(reader);
  free(samples);
  return reading;
}

/// Samples, and facts, are the same on the second pass and for chunks of any size.
static void
second_pass_is_the_first(void** const state)
{
  (void)state;
  enum { COUNT = 20000, SAMPLES = 3 * COUNT };
  static float frames[SAMPLES];
  for (size_t i = 0; i < SAMPLES; ++i) {
    frames[i] = (float)((i * 7919u) % 2001u) / 1000.0f - 1.0f;
  }
  static const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_FLOAT, SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
                                SF_FORMAT_OGG | SF_FORMAT_VORBIS};
  static float first[COUNT + 70000];
  static float second[COUNT + 70000];
  for (size_t f = 0; f < sizeof(formats) / sizeof(formats[0]); ++f) {
    write_frames(frames, COUNT, 3, formats[f]);
    SrTakeReader* reader = NULL;
    assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
    assert_int_equal(read_all(reader, first, 65536), COUNT);
    const SrTakeReading one = sr_take_reader_reading(reader);
    assert_int_equal(sr_take_reader_rewind(reader, NULL), SR_OK);
    assert_int_equal(read_all(reader, second, 1 + 63 * f), COUNT);
    const SrTakeReading two = sr_take_reader_reading(reader);
    assert_memory_equal(first, second, COUNT * sizeof(float));
    assert_true(one.peak_dbfs <= two.peak_dbfs && one.peak_dbfs >= two.peak_dbfs);
    assert_int_equal(one.clipped_samples, two.clipped_samples);
    assert_int_equal(one.channels, 3);
    sr_take_reader_del(reader);
  }
}

/// The mix is the mean: channels of 0.5, 0.25 and 0 make 0.25.
static void
channels_are_mixed_by_their_mean(void** const state)
{
  (void)state;
  static float frames[3000];
  for (size_t i = 0; i < 1000; ++i) {
    frames[3 * i] = 0.5f;
    frames[3 * i + 1] = 0.25f;
  }
  write_frames(frames, 1000, 3, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
  SrTakeReader* reader = NULL;
  float samples[1000];
  assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
  assert_int_equal(sr_take_reader_read(reader, samples, 1000), 1000);
  for (size_t i = 0; i < 1000; ++i) {
    assert_true(fabsf(samples[i] - 0.25f) < 1e-7f);
  }
  const SrTakeReading reading = sr_take_reader_reading(reader);
  // The peak is that of the loudest channel: 0.5 is -6.02 dBFS.
  assert_true(fabs(reading.peak_dbfs + 6.0206) < 1e-3);
  assert_true(fabs(reading.offset - 0.25) < 1e-6);
  sr_take_reader_del(reader);
}

static void
clipping_is_runs_of_three(void** const state)
{
  (void)state;
  static float samples[40000];
  memset(samples, 0, sizeof(samples));
  // Runs of one and two do not count; of three and five do; one lies over the edge of two looks.
  samples[10] = 1.0f;
  samples[20] = samples[21] = -1.0f;
  samples[30] = samples[31] = samples[32] = 1.0f;
  for (size_t i = 40; i < 45; ++i) {
    samples[i] = -1.0f;
  }
  samples[4095] = samples[4096] = samples[4097] = 1.0f;
  write_frames(samples, 40000, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
  assert_int_equal(reading_of(40000).clipped_samples, 11);
  write_frames(samples, 40000, 1, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
  assert_int_equal(reading_of(40000).clipped_samples, 11);
  // Floats may go beyond full scale without being clipped.
  for (size_t i = 0; i < 40000; ++i) {
    samples[i] *= 1.5f;
  }
  write_frames(samples, 40000, 1, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
  assert_int_equal(reading_of(40000).clipped_samples, 0);
  // Three quarters as loud is not clipped in whole numbers either.
  for (size_t i = 0; i < 40000; ++i) {
    samples[i] *= 0.5f;
  }
  write_frames(samples, 40000, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
  assert_int_equal(reading_of(40000).clipped_samples, 0);
}

static void
silence_and_not_finite(void** const state)
{
  (void)state;
  static float samples[16000];
  memset(samples, 0, sizeof(samples));
  write_frames(samples, 16000, 1, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
  SrTakeReading reading = reading_of(16000);
  assert_true(isinf(reading.peak_dbfs) && reading.peak_dbfs < 0.0);
  assert_true(fabs(reading.seconds - 1.0) < 1e-12);
  assert_int_equal(reading.not_finite, 0);
  assert_false(reading.truncated);

  samples[5] = NAN;
  samples[7000] = -INFINITY;
  samples[7001] = INFINITY;
  samples[9000] = 0.1f;
  write_frames(samples, 16000, 1, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
  reading = reading_of(16000);
  assert_int_equal(reading.not_finite, 3);
  // Neither peak nor offset is spoilt: 0.1 is -20 dBFS.
  assert_true(fabs(reading.peak_dbfs + 20.0) < 1e-3);
  assert_true(isfinite(reading.offset));
}

/// A WAV written to a pipe has no length in its header; that is no truncation.
static void
unknown_length_is_whole(void** const state)
{
  (void)state;
  static const uint32_t sizes[] = {0xFFFFFFFFu, 0x7FFFF000u};
  for (size_t i = 0; i < 2; ++i) {
    unsigned char bytes[44 + 2 * RATE_HZ] = {0};
    memcpy(bytes,
           "RIFF\xFF\xFF\xFF\xFFWAVEfmt \x10\0\0\0\1\0\1\0\x80\x3E\0\0\0\x7D\0\0\2\0\x10\0data",
           40);
    for (size_t b = 0; b < 4; ++b) {
      bytes[40 + b] = (unsigned char)(sizes[i] >> (8 * b));
    }
    file_write(path, bytes, sizeof(bytes));
    const SrTakeReading reading = reading_of(RATE_HZ);
    assert_false(reading.truncated);
    // The same with a length that is not there is one.
    bytes[40] = bytes[43] = 0;
    bytes[41] = 0;
    bytes[42] = 2; // 131072 bytes promised, 32000 there
    file_write(path, bytes, sizeof(bytes));
    const SrTakeReading cut = reading_of(RATE_HZ);
    assert_true(cut.truncated);
    assert_true(fabs(cut.promised_seconds - 4.096) < 1e-9);
  }
}

/// Read a whole small file.
static size_t
file_read(unsigned char* const bytes, const size_t room)
{
  FILE* const file = fopen(path, "rb");
  assert_non_null(file);
  const size_t size = fread(bytes, 1, room, file);
  fclose(file);
  return size;
}

/// Sizes that are zeros, as a recorder leaves that was cut off, or all ones, as one that writes to
/// a pipe: all is read. Sizes of more than is there: that is reported. libsndfile made the files.
static void
sizes_in_each_container(void** const state)
{
  (void)state;
  // Where the sizes stand: of the whole, of the sound; how many bytes each
  static const struct {
    int format;
    size_t whole;
    const char* name;
    size_t behind;
    size_t bytes;
  } forms[] = {
      {SF_FORMAT_WAV, 4, "data", 4, 4},    {SF_FORMAT_AIFF, 4, "SSND", 4, 4},
      {SF_FORMAT_RF64, 20, "ds64", 16, 8}, {SF_FORMAT_W64, 16, "data", 16, 8},
      {SF_FORMAT_CAF, 0, "data", 4, 8},
  };
  enum { COUNT = 2 * RATE_HZ, ROOM = 3 * COUNT };
  static float frames[COUNT];
  static unsigned char bytes[ROOM];
  for (size_t i = 0; i < COUNT; ++i) {
    frames[i] = 0.25f;
  }
  for (size_t f = 0; f < sizeof(forms) / sizeof(forms[0]); ++f) {
    write_frames(frames, COUNT, 1, forms[f].format | SF_FORMAT_PCM_16);
    assert_false(reading_of(COUNT).unfinished);
    const size_t size = file_read(bytes, sizeof(bytes));
    const unsigned char* const chunk = memmem(bytes, size, forms[f].name, 4);
    assert_non_null(chunk);
    const size_t sound = (size_t)(chunk - bytes) + forms[f].behind;

    const size_t half = size - COUNT;
    file_write(path, bytes, half);
    SrTakeReading reading = reading_of(COUNT / 2);
    assert_true(reading.truncated && !reading.unfinished);
    assert_true(fabs(reading.promised_seconds - 2.0) < 0.001);

    static const int fills[] = {0x00, 0xFF};
    for (size_t i = 0; i < 2; ++i) {
      if (forms[f].whole) {
        memset(bytes + forms[f].whole, fills[i], forms[f].bytes);
      }
      memset(bytes + sound, fills[i], forms[f].bytes);
      file_write(path, bytes, size);
      reading = reading_of(COUNT);
      assert_false(reading.truncated);
      assert_int_equal(reading.unfinished, fills[i] == 0x00);
      assert_true(fabs(reading.offset - 0.25) < 1e-4);
    }
  }
}

/// What stands behind an empty chunk of sound, within the file's own size, is no sound.
static void
empty_sound_is_empty(void** const state)
{
  (void)state;
  write_frames(NULL, 0, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
  unsigned char bytes[44 + 8 + 64] = {0};
  assert_int_equal(file_read(bytes, sizeof(bytes)), 44);
  assert_false(reading_of(0).unfinished);
  memcpy(bytes + 44, "junk\x40\0\0\0", 8);
  bytes[4] = sizeof(bytes) - 8;
  file_write(path, bytes, sizeof(bytes));
  assert_false(reading_of(0).unfinished);
}

/// Two Ogg files one behind the other are a valid stream (RFC 3533, 4): the first is read, and
/// that more follows is reported.
static void
chained_ogg(void** const state)
{
  (void)state;
  enum { COUNT = RATE_HZ, ROOM = 4 * COUNT };
  static float frames[COUNT];
  static unsigned char bytes[ROOM];
  for (size_t i = 0; i < COUNT; ++i) {
    frames[i] = (float)((i * 7919u) % 2001u) / 1000.0f - 1.0f;
  }
  write_frames(frames, COUNT, 1, SF_FORMAT_OGG | SF_FORMAT_VORBIS);
  assert_false(reading_of(COUNT).chained);
  const size_t size = file_read(bytes, ROOM / 2);
  memcpy(bytes + size, bytes, size);
  file_write(path, bytes, 2 * size);
  const SrTakeReading reading = reading_of(COUNT);
  assert_true(reading.chained);
  assert_false(reading.truncated);
}

/// What has no end is not waited for.
static void
endless_input_is_refused(void** const state)
{
  (void)state;
  SrTakeReader* reader = NULL;
  SrError error;
  assert_int_equal(sr_take_reader_new("/dev/zero", &reader, &error), SR_BAD_AUDIO);
  assert_non_null(strstr(error.message, "device"));
  const int zeros = open("/dev/zero", O_RDONLY);
  int copy = -1;
  assert_int_equal(sr_spool_pipe(zeros, INT64_C(3) << 20, &copy, &error), SR_TOO_LARGE);
  assert_int_equal(copy, -1);
  assert_non_null(strstr(error.message, "3 MiB"));
  close(zeros);
}

/// A FLAC file that tells no length, as one written to a pipe or left by a killed recorder (RFC
/// 9639, 8.2: 0 samples, 36 bits at 21 in the file), is whole; unless a frame of it is damaged.
static void
unknown_length_of_flac(void** const state)
{
  (void)state;
  enum { COUNT = 20 * 4096 };
  static float frames[COUNT];
  for (size_t i = 0; i < COUNT; ++i) {
    frames[i] = (float)((i * 7919u) % 2001u) / 1000.0f - 1.0f;
  }
  write_frames(frames, COUNT, 1, SF_FORMAT_FLAC | SF_FORMAT_PCM_24);
  static unsigned char bytes[4 * COUNT];
  const size_t size = file_read(bytes, sizeof(bytes));
  bytes[21] &= 0xF0u;
  memset(bytes + 22, 0, 4);
  file_write(path, bytes, size);
  SrTakeReading reading = reading_of(COUNT);
  assert_false(reading.truncated);
  assert_true(isnan(reading.promised_seconds));

  // Broken off within its last frame: the whole ones are read, and that it breaks off is true.
  file_write(path, bytes, size - 100);
  reading = reading_of(COUNT - 4096);
  assert_true(reading.truncated);
  assert_true(isnan(reading.promised_seconds));

  // What comes after damage is not read, and that is reported.
  for (size_t i = size / 2; i < size / 2 + 100; ++i) {
    bytes[i] ^= 0x5Au;
  }
  file_write(path, bytes, size);
  SrTakeReader* reader = NULL;
  static float samples[COUNT + 1000];
  assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
  assert_true(read_all(reader, samples, 1000) < COUNT);
  reading = sr_take_reader_reading(reader);
  assert_true(reading.truncated);
  assert_true(isnan(reading.promised_seconds));
  sr_take_reader_del(reader);
}

typedef struct {
  size_t left;
  float value;
} Source;

static size_t
read_source(void* const context, float* const samples, const size_t count)
{
  Source* const source = context;
  const size_t given = source->left < count ? source->left : count;
  for (size_t i = 0; i < given; ++i) {
    samples[i] = source->value;
  }
  source->left -= given;
  return given;
}

static void
what_is_written_is_read(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    SrSampleFormat format;
    double error;
  } forms[] = {
      {"a.wav", SR_SAMPLES_16_BIT, 1.0 / 65536.0},
      {"a.wav", SR_SAMPLES_24_BIT, 1.0 / 16777216.0},
      {"a.wav", SR_SAMPLES_FLOAT, 1e-7},
      {"a.flac", SR_SAMPLES_16_BIT, 1.0 / 32768.0},
      {"a.flac", SR_SAMPLES_24_BIT, 1.0 / 8388608.0},
  };
  for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); ++i) {
    char* const name = folder_path(folder, forms[i].name);
    Source source = {200000, 0.3f};
    assert_int_equal(sr_audio_write(name, 44100.0, forms[i].format, read_source, &source, NULL),
                     SR_OK);
    SrTakeReader* reader = NULL;
    assert_int_equal(sr_take_reader_new(name, &reader, NULL), SR_OK);
    static float samples[200001];
    assert_int_equal(sr_take_reader_read(reader, samples, 200001), 200000);
    assert_true(fabs((double)samples[199999] - 0.3) <= forms[i].error + 1e-7);
    sr_take_reader_del(reader);
    free(name);
  }
  // Over full scale is clipped, not wrapped around.
  Source loud = {1000, 1.5f};
  assert_int_equal(sr_audio_write(path, 44100.0, SR_SAMPLES_16_BIT, read_source, &loud, NULL),
                   SR_OK);
  SrTakeReader* reader = NULL;
  float samples[1000];
  assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
  assert_int_equal(sr_take_reader_read(reader, samples, 1000), 1000);
  assert_true(samples[0] > 0.99f);
  sr_take_reader_del(reader);

  SrError error;
  Source some = {10, 0.1f};
  assert_int_equal(sr_audio_write("x.aiff", 44100.0, SR_SAMPLES_16_BIT, read_source, &some, &error),
                   SR_UNSUPPORTED);
  assert_int_equal(sr_audio_write("x.flac", 44100.0, SR_SAMPLES_FLOAT, read_source, &some, &error),
                   SR_UNSUPPORTED);
  assert_int_equal(sr_audio_write(path, 44100.5, SR_SAMPLES_16_BIT, read_source, &some, &error),
                   SR_BAD_ARGUMENT);
}

/// Files by the hundred that cannot be opened leave no descriptor behind, nor close one of others.
static void
refused_files_leave_no_descriptor(void** const state)
{
  (void)state;
  file_write(path, "RIFF\x24\x10\0\0WAVEfmt \x10\0\0\0\1\0", 22);
  for (int i = 0; i < 3000; ++i) {
    SrTakeReader* reader = NULL;
    SrError error;
    assert_int_equal(sr_take_reader_new(path, &reader, &error), SR_BAD_AUDIO);
    assert_null(reader);
    assert_string_equal(error.file, path);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(second_pass_is_the_first),
      cmocka_unit_test(channels_are_mixed_by_their_mean),
      cmocka_unit_test(clipping_is_runs_of_three),
      cmocka_unit_test(silence_and_not_finite),
      cmocka_unit_test(unknown_length_is_whole),
      cmocka_unit_test(sizes_in_each_container),
      cmocka_unit_test(empty_sound_is_empty),
      cmocka_unit_test(chained_ogg),
      cmocka_unit_test(endless_input_is_refused),
      cmocka_unit_test(unknown_length_of_flac),
      cmocka_unit_test(what_is_written_is_read),
      cmocka_unit_test(refused_files_leave_no_descriptor),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
