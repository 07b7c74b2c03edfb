// SPDX-License-Identifier: GPL-3.0-or-later

#include "made_take.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/sound.h>

#include <sndfile.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char made_phrase[] = "X:1\n"
                           "T:The Lamp in the Porch, slowly\n"
                           "M:6/8\n"
                           "L:1/8\n"
                           "Q:3/8=80\n"
                           "K:D\n"
                           "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";

const char other_phrase[] = "X:1\n"
                            "T:Quite Another\n"
                            "M:4/4\n"
                            "L:1/8\n"
                            "Q:1/4=120\n"
                            "K:C\n"
                            "cGEC eGcG|fAcA gBdB|cegc' bgec|dBGF E2C2|]\n";

MadeTake
made_take(const char* const abc, const double rate_hz, const unsigned rounds)
{
  SrError error = {0};
  SrPhrase* phrase = NULL;
  SrSound* sound = NULL;
  SrSoundSettings settings = sr_sound_settings_default();
  settings.rate_hz = rate_hz;
  settings.rounds = rounds;
  assert_int_equal(sr_phrase_read_text(abc, strlen(abc), "test", NULL, &phrase, &error), SR_OK);
  assert_int_equal(sr_sound_new(phrase, &settings, &sound, &error), SR_OK);
  MadeTake take = {NULL, (size_t)sr_sound_length(sound), (int)rate_hz};
  take.samples = malloc(take.count * sizeof(float));
  assert_non_null(take.samples);
  assert_int_equal(sr_sound_read(sound, take.samples, take.count), take.count);
  sr_sound_del(sound);
  sr_phrase_del(phrase);
  return take;
}

void
made_take_write(const MadeTake* const take, const char* const path, const int format,
                const int channels)
{
  SF_INFO info = {0};
  info.samplerate = take->rate_hz;
  info.channels = channels;
  info.format = format;
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  assert_non_null(file);
  const bool whole = (format & SF_FORMAT_SUBMASK) == SF_FORMAT_PCM_16;
  float frame[8];
  short whole_frame[8];
  for (size_t i = 0; i < take->count; ++i) {
    // Rounded here, since libsndfile scales floats to 16 bits in another way for each format.
    const float held = fminf(fmaxf(take->samples[i], -1.0f), 32767.0f / 32768.0f);
    for (int channel = 0; channel < channels; ++channel) {
      frame[channel] = take->samples[i];
      whole_frame[channel] = (short)lrintf(32768.0f * held);
    }
    const sf_count_t written =
        whole ? sf_writef_short(file, whole_frame, 1) : sf_writef_float(file, frame, 1);
    assert_int_equal(written, 1);
  }
  assert_int_equal(sf_close(file), 0);
}

void
made_take_clear(MadeTake* const take)
{
  free(take->samples);
  take->samples = NULL;
}

void
file_write(const char* const path, const void* const bytes, const size_t size)
{
  FILE* const file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, size, file), size);
  assert_int_equal(fclose(file), 0);
}

void
file_cut_off(const char* const from, const char* const to, const double share)
{
  FILE* const file = fopen(from, "rb");
  assert_non_null(file);
  fseek(file, 0, SEEK_END);
  const size_t size = (size_t)((double)ftell(file) * share);
  rewind(file);
  char* const bytes = malloc(size + 1);
  assert_non_null(bytes);
  assert_int_equal(fread(bytes, 1, size, file), size);
  fclose(file);
  file_write(to, bytes, size);
  free(bytes);
}
