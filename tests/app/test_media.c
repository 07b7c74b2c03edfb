// SPDX-License-Identifier: GPL-3.0-or-later

// Recordings as phones, cameras and browsers write them, whole and broken. Arguments: the program,
// the folder of kept files, a phrase and a take of it, and FFmpeg's program or "".

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "extent.h"
#include "made_take.h"
#include "run_program.h"

#include <steadyreed/audio.h>

#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* program;
static const char* kept;
static const char* ffmpeg;
static const char* phrase_path;
static const char* take_path;
static char* folder;

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  return 0;
}

/// Run FFmpeg on the take; the caller frees the path. Skips the test where it is missing.
static char*
encode(const char* const name, const char* const* const options)
{
  if (!*ffmpeg) {
    skip();
  }
  char* const path = folder_path(folder, name);
  const char* arguments[40] = {ffmpeg, "-v", "error", "-y", "-i", take_path};
  size_t count = 6;
  for (size_t i = 0; options[i]; ++i) {
    arguments[count++] = options[i];
  }
  arguments[count++] = path;
  ProgramRun run = run_program(arguments);
  if (run.status != 0) {
    fail_msg("%s: %s", name, run.trouble);
  }
  run_clear(&run);
  return path;
}

static char*
kept_path(const char* const name)
{
  return folder_path(kept, name);
}

static json_t*
assess_json(const char* const path)
{
  const char* const arguments[] = {program, "assess", phrase_path, path, "--json", NULL};
  ProgramRun run = run_program(arguments);
  if (run.status != 0) {
    fail_msg("%s", run.trouble);
  }
  assert_string_equal(run.trouble, "");
  json_t* const root = json_loads(run.output, JSON_REJECT_DUPLICATES, NULL);
  assert_non_null(root);
  run_clear(&run);
  return root;
}

static const json_t*
note_of(const json_t* const root, const size_t index)
{
  const json_t* const round = json_array_get(json_object_get(root, "rounds"), 0);
  return json_array_get(json_object_get(round, "notes"), index);
}

static const char*
cut_of(const json_t* const note)
{
  const char* const verdict =
      json_string_value(json_object_get(json_object_get(note, "cut"), "verdict"));
  return verdict ? verdict : "none";
}

/// The same statuses and cuts, and onsets that lie where they lay but for a common shift.
static void
check_same(const char* const path, const double most_shift_ms)
{
  // The same for all
  static json_t* wav = NULL;
  wav = wav ? wav : assess_json(take_path);
  json_t* const other = assess_json(path);
  double shift_ms = 0.0;
  size_t onsets = 0;
  for (size_t i = 0; note_of(wav, i); ++i) {
    const json_t* const a = note_of(wav, i);
    const json_t* const b = note_of(other, i);
    assert_string_equal(json_string_value(json_object_get(b, "status")),
                        json_string_value(json_object_get(a, "status")));
    if (strcmp(cut_of(b), cut_of(a)) != 0) {
      fail_msg("%s: note %zu has a cut %s, not %s", path, i, cut_of(b), cut_of(a));
    }
    if (!json_is_number(json_object_get(a, "onset_s"))) {
      continue;
    }
    const double one_ms = 1000.0 * (json_number_value(json_object_get(b, "onset_s")) -
                                    json_number_value(json_object_get(a, "onset_s")));
    shift_ms = onsets ? shift_ms : one_ms;
    if (fabs(one_ms - shift_ms) > 5.0 || fabs(one_ms) > most_shift_ms) {
      fail_msg("%s: note %zu is %.1f ms off, the first one %.1f ms", path, i, one_ms, shift_ms);
    }
    ++onsets;
  }
  json_decref(other);
}

/// Every container; those that tell what their codec put before the start lose nothing of it.
static void
long_containers(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    double most_shift_ms;
    const char* options[8];
  } forms[] = {
      {"take.m4a", 5.0, {"-c:a", "aac", "-b:a", "64k", NULL}},
      {"first.m4a", 5.0, {"-c:a", "aac", "-b:a", "64k", "-movflags", "+faststart", NULL}},
      {"take.mp4", 5.0, {"-c:a", "aac", "-b:a", "128k", "-ac", "2", NULL}},
      {"take.3gp", 5.0, {"-c:a", "aac", "-b:a", "64k", "-ar", "48000", NULL}},
      {"alac.m4a", 0.1, {"-c:a", "alac", NULL}},
      {"take.mov", 0.1, {"-c:a", "pcm_s16le", NULL}},
      {"take.webm", 5.0, {"-c:a", "libopus", "-b:a", "64k", NULL}},
      {"take.mka", 5.0, {"-c:a", "libvorbis", "-q:a", "4", NULL}},
      {"take.mp3", 5.0, {"-c:a", "libmp3lame", "-b:a", "96k", NULL}},
      {"take.caf", 0.1, {"-c:a", "alac", NULL}},
      {"take.opus", 5.0, {"-c:a", "libopus", "-b:a", "64k", NULL}},
      // A frame of AAC has 1024 samples, one of MP3 1152; the coders put one or two before the
      // start
      {"take.aac", 50.0, {"-c:a", "aac", "-b:a", "64k", NULL}},
      {"take.ts", 50.0, {"-c:a", "aac", "-b:a", "64k", NULL}},
      {"take.avi", 60.0, {"-c:a", "libmp3lame", "-b:a", "128k", NULL}},
      {"take.wma", 60.0, {"-c:a", "wmav2", "-b:a", "128k", NULL}},
  };
  for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); ++i) {
    char* const path = encode(forms[i].name, forms[i].options);
    check_same(path, forms[i].most_shift_ms);
    free(path);
  }
}

/// Beside pictures, and among many streams, the sound is found.
static void
sound_among_others(void** const state)
{
  (void)state;
  char* const picture =
      encode("camera.mp4", (const char* const[]){"-f", "lavfi", "-i", "testsrc=s=32x32:r=5", "-c:a",
                                                 "aac", "-b:a", "96k", "-shortest", NULL});
  check_same(picture, 5.0);
  free(picture);
  char* const many =
      encode("many.mka", (const char* const[]){"-map", "0", "-map", "0", "-map", "0", "-map", "0",
                                               "-map", "0", "-map", "0", "-map", "0", "-map", "0",
                                               "-c:a", "libvorbis", NULL});
  check_same(many, 5.0);
  free(many);
}

static void
check_refused(const char* const path, const char* const words)
{
  const char* const arguments[] = {program, "assess", phrase_path, path, NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 1);
  assert_string_equal(run.output, "");
  if (!strstr(run.trouble, words)) {
    fail_msg("%s: \"%s\" does not say \"%s\"", path, run.trouble, words);
  }
  run_clear(&run);
}

static void
refused_in_words(void** const state)
{
  (void)state;
  char* const picture = kept_path("picture-only.mp4");
  check_refused(picture, "there is no sound in it");
  free(picture);
  char* const path = folder_path(folder, "some.m4a");
  // A head, and a list of chunks that stops
  file_write(path,
             "\0\0\0\x18"
             "ftypM4A \0\0\0\0M4A isom\0\0\1\0moov\0\0\0\x6Cmvhd",
             36);
  check_refused(path, "MPEG-4");
  check_refused(path, "breaks off before its first sample");
  // Lists that name other files are no recordings
  static const char playlist[] = "#EXTM3U\n#EXTINF:10,\ntake.wav\n#EXT-X-ENDLIST\n";
  file_write(path, playlist, sizeof(playlist) - 1);
  check_refused(path, "not a recording");
  static const char concat[] = "ffconcat version 1.0\nfile take.wav\n";
  file_write(path, concat, sizeof(concat) - 1);
  check_refused(path, "not a recording");
  free(path);
  char* const lossless = encode("lossless.mka", (const char* const[]){"-c:a", "tta", NULL});
  check_refused(lossless, "(tta) cannot be decoded. Convert it: ffmpeg -i '");
  check_refused(lossless, "lossless.wav'");
  free(lossless);
}

/// Samples of a file, read in chunks; returns how many.
static size_t
read_file(const char* const path, float* const samples, const size_t room, const size_t chunk,
          SrTakeReading* const reading)
{
  SrTakeReader* reader = NULL;
  SrError error = {0};
  if (sr_take_reader_new(path, &reader, &error) != SR_OK) {
    fail_msg("%s: %s", path, error.message);
  }
  size_t count = 0;
  for (int pass = 0; pass < 2; ++pass) {
    size_t got = 0;
    count = 0;
    do {
      const size_t left = room - count;
      got = sr_take_reader_read(reader, samples + count, left < chunk ? left : chunk);
      count += got;
    } while (got > 0 && count < room);
    *reading = sr_take_reader_reading(reader);
    if (pass == 0) {
      assert_int_equal(sr_take_reader_rewind(reader, NULL), SR_OK);
    }
  }
  sr_take_reader_del(reader);
  return count;
}

#define ROOM 2000000u
static float one[ROOM];
static float two[ROOM];

/// Frequency of a steady tone, by its upward crossings of zero.
static double
tone_hz(const float* const samples, const size_t count, const double rate_hz)
{
  size_t first = 0;
  size_t last = 0;
  size_t crossings = 0;
  for (size_t i = 1; i < count; ++i) {
    if (samples[i - 1] < 0.0f && samples[i] >= 0.0f) {
      first = crossings ? first : i;
      last = i;
      ++crossings;
    }
  }
  return (double)(crossings - 1) * rate_hz / (double)(last - first);
}

/// The kept files hold tones of 440 Hz, 0.25 s or less. Chunks do not matter.
static void
kept_tones(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    double rate_hz;
    double recorded_hz;
    double least_s;
  } tones[] = {
      {"tone.m4a", 22050.0, 22050.0, 0.25},      {"tone.3gp", 22050.0, 22050.0, 0.25},
      {"tone.webm", 48000.0, 48000.0, 0.25},     {"tone.mka", 22050.0, 22050.0, 0.25},
      {"tone.aac", 22050.0, 22050.0, 0.25},      {"tone.ts", 22050.0, 22050.0, 0.25},
      {"tone.wma", 22050.0, 22050.0, 0.22},      {"tone.amr", 16000.0, 8000.0, 0.24},
      {"wide.amr", 16000.0, 16000.0, 0.24},      {"tone-amr.3gp", 16000.0, 8000.0, 0.24},
      {"tone-alac.m4a", 22050.0, 22050.0, 0.06},
  };
  for (size_t i = 0; i < sizeof(tones) / sizeof(tones[0]); ++i) {
    char* const path = kept_path(tones[i].name);
    SrTakeReading reading;
    const size_t count = read_file(path, one, ROOM, 65536, &reading);
    assert_int_equal(read_file(path, two, ROOM, 1 + 63 * i, &reading), count);
    assert_memory_equal(one, two, count * sizeof(float));
    assert_true(fabs(reading.rate_hz - tones[i].rate_hz) < 0.5);
    assert_true(fabs(reading.recorded_hz - tones[i].recorded_hz) < 0.5);
    assert_false(reading.truncated);
    if (reading.seconds < tones[i].least_s - 1e-3 || reading.seconds > tones[i].least_s + 0.11) {
      fail_msg("%s is %.3f s long", tones[i].name, reading.seconds);
    }
    const double hz = tone_hz(one + count / 4, count / 2, reading.rate_hz);
    if (fabs(hz - 440.0) > 15.0) {
      fail_msg("%s sounds at %.1f Hz", tones[i].name, hz);
    }
    free(path);
  }
}

/// A stream that goes on at another rate keeps its pitch.
static void
rate_changes(void** const state)
{
  (void)state;
  char* const path = kept_path("rate-changes.aac");
  SrTakeReading reading;
  const size_t count = read_file(path, one, ROOM, 4096, &reading);
  assert_true(fabs(reading.rate_hz - 22050.0) < 0.5);
  assert_true(reading.seconds > 0.5 && reading.seconds < 0.7);
  assert_true(fabs(tone_hz(one + count / 10, count / 4, 22050.0) - 440.0) < 15.0);
  assert_true(fabs(tone_hz(one + count * 6 / 10, count / 4, 22050.0) - 440.0) < 15.0);
  free(path);
}

static char*
bytes_of(const char* const path, size_t* const size)
{
  FILE* const file = fopen(path, "rb");
  assert_non_null(file);
  fseek(file, 0, SEEK_END);
  *size = (size_t)ftell(file);
  rewind(file);
  char* const bytes = malloc(*size + 1);
  assert_int_equal(fread(bytes, 1, *size, file), *size);
  fclose(file);
  return bytes;
}

/// What is damaged is silence that counts as not heard; all else keeps its time.
static void
damage_keeps_the_time(void** const state)
{
  (void)state;
  char* const path =
      encode("damaged.webm", (const char* const[]){"-c:a", "libvorbis", "-q:a", "5", NULL});
  SrTakeReading reading;
  const size_t count = read_file(path, one, ROOM, 4096, &reading);
  assert_false(reading.truncated);
  size_t size = 0;
  char* const bytes = bytes_of(path, &size);
  memset(bytes + size / 2, 0, size / 20);
  file_write(path, bytes, size);
  const size_t damaged = read_file(path, two, ROOM, 4096, &reading);
  assert_true(reading.not_finite > 1000);
  assert_true(damaged + 5000 > count && damaged < count + 5000);
  // The last eighth is where it was, but for the millisecond in which a webm file counts
  double best = 0.0;
  for (size_t lag = 0; lag < 100; ++lag) {
    double same = 0.0;
    double all = 0.0;
    for (size_t i = count * 7 / 8; i + 100 < count; ++i) {
      same += (double)one[i] * (double)two[i + lag - 50];
      all += (double)one[i] * (double)one[i];
    }
    best = fmax(best, same / all);
  }
  if (!(best > 0.97 && best < 1.03)) {
    fail_msg("%zu samples, %zu with damage; alike by %.3f", count, damaged, best);
  }
  free(bytes);
  free(path);
}

/// Broken off anywhere, a file is refused in words, or read as far as it goes and called broken
/// off.
static void
broken_off(void** const state)
{
  (void)state;
  char* const path =
      encode("first.m4a", (const char* const[]){"-c:a", "aac", "-movflags", "+faststart", NULL});
  char* const cut = folder_path(folder, "cut.m4a");
  size_t read = 0;
  for (int i = 1; i < 20; ++i) {
    file_cut_off(path, cut, 0.05 * i);
    SrTakeReader* reader = NULL;
    SrError error = {0};
    if (sr_take_reader_new(cut, &reader, &error) != SR_OK) {
      assert_int_equal(error.status, SR_BAD_AUDIO);
      continue;
    }
    while (sr_take_reader_read(reader, one, 65536) > 0) {
    }
    const SrTakeReading reading = sr_take_reader_reading(reader);
    assert_true(reading.truncated && reading.promised_seconds > reading.seconds);
    sr_take_reader_del(reader);
    ++read;
  }
  assert_true(read > 10);
  free(cut);
  free(path);
}

/// Where two bytes of a file are found; they are written over.
static void
patch(char* const bytes, const size_t size, const char* const word, const size_t offset,
      const char* const with, const size_t with_size)
{
  for (size_t i = 0; i + 4 < size; ++i) {
    if (!memcmp(bytes + i, word, 4)) {
      memcpy(bytes + i + offset, with, with_size);
      return;
    }
  }
  fail_msg("no %s in it", word);
}

/// What a head claims need not be true.
static void
wild_claims(void** const state)
{
  (void)state;
  char* const path = kept_path("tone.mov");
  char* const wild = folder_path(folder, "wild.mov");
  size_t size = 0;
  char* const bytes = bytes_of(path, &size);
  SrTakeReader* reader = NULL;
  SrError error = {0};
  // Channels stand 20 bytes behind the name of the coding, `sowt` (QuickTime File Format, sound
  // sample description; from memory)
  patch(bytes, size, "sowt", 20, "\xEA\x60", 2);
  file_write(wild, bytes, size);
  assert_int_not_equal(sr_take_reader_new(wild, &reader, &error), SR_OK);
  assert_true(strlen(error.message) > 20);
  free(bytes);
  free(path);
  // The length of all, 16 bytes behind `mvhd`, and of the track, behind `mdhd` (ISO/IEC 14496-12,
  // 8.2.2 and 8.4.2)
  char* const tone = kept_path("tone.m4a");
  char* const claims = bytes_of(tone, &size);
  patch(claims, size, "mvhd", 20, "\x7F\xFF\xFF\xFF", 4);
  patch(claims, size, "mdhd", 20, "\x7F\xFF\xFF\xFF", 4);
  file_write(wild, claims, size);
  SrTakeReading reading;
  const size_t count = read_file(wild, one, ROOM, 4096, &reading);
  assert_true(count > 5000 && count < 10000);
  free(claims);
  free(tone);
  free(wild);
}

/// Where Steadyreed was built without FFmpeg, the command is reported.
static void
without_the_libraries(void** const state)
{
  (void)state;
  size_t size = 0;
  char* const tone = kept_path("tone.m4a");
  char* const bytes = bytes_of(tone, &size);
  char* const path = folder_path(folder, "it's mine.m4a");
  file_write(path, bytes, size);
  char command[512];
  snprintf(command, sizeof(command),
           "built without FFmpeg, which is needed to read it. Convert it: ffmpeg -i '%s/it'\\''s "
           "mine.m4a' '%s/it'\\''s mine.wav'",
           folder, folder);
  check_refused(path, command);
  free(path);
  free(bytes);
  free(tone);
}

int
main(const int argc, char** const argv)
{
  if (argc < 6) {
    return 2;
  }
  program = argv[1];
  kept = argv[2];
  phrase_path = argv[3];
  take_path = argv[4];
  ffmpeg = argv[5];
  const struct CMUnitTest with[] = {
      cmocka_unit_test(long_containers), cmocka_unit_test(sound_among_others),
      cmocka_unit_test(kept_tones),      cmocka_unit_test(refused_in_words),
      cmocka_unit_test(rate_changes),    cmocka_unit_test(damage_keeps_the_time),
      cmocka_unit_test(broken_off),      cmocka_unit_test(wild_claims),
  };
  const struct CMUnitTest without[] = {cmocka_unit_test(without_the_libraries)};
  sr_test_extent(argc, argv);
  return SR_HAS_MEDIA ? cmocka_run_group_tests(with, prepare, clean_up)
                      : cmocka_run_group_tests(without, prepare, clean_up);
}
