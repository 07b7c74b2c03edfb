// SPDX-License-Identifier: GPL-3.0-or-later

// A program of somebody else's, built against the installed library: judge_a_take PHRASE TAKE

#include <steadyreed/audio.h>
#include <steadyreed/listen.h>

#include <math.h>
#include <stdio.h>

static size_t
read_on(void* const from, float* const samples, const size_t count)
{
  return sr_take_reader_read((SrTakeReader*)from, samples, count);
}

static SrStatus
go_back(void* const from, SrError* const error)
{
  return sr_take_reader_rewind((SrTakeReader*)from, error);
}

int
main(const int argc, char** const argv)
{
  SrError error = {SR_OK};
  SrPhrase* phrase = NULL;
  SrTakeReader* reader = NULL;
  if (argc < 3 || sr_phrase_read_file(argv[1], NULL, &phrase, &error) != SR_OK ||
      sr_take_reader_new(argv[2], &reader, &error) != SR_OK) {
    return 1;
  }
  float samples[4096];
  float peak = 0.0f;
  int64_t loudest = 0;
  int64_t at = 0;
  for (size_t count; (count = read_on(reader, samples, 4096)) > 0; at += (int64_t)count) {
    for (size_t i = 0; i < count; ++i) {
      if (fabsf(samples[i]) > peak) {
        peak = fabsf(samples[i]);
        loudest = at + (int64_t)i;
      }
    }
  }
  const SrTakeReading reading = sr_take_reader_reading(reader);
  const SrTakeFacts facts = {argv[2], reading.seconds, reading.rate_hz, reading.peak_dbfs,
                             reading.clipped_samples};
  const SrTakeSource source = {read_on, go_back, reader};
  SrListened listened;
  SrStatus status = go_back(reader, &error);
  if (status == SR_OK) {
    status = sr_listen(phrase, &source, loudest, &facts, NULL, &listened, &error);
    for (size_t r = 0; status == SR_OK && r < listened.assessment->round_count; ++r) {
      printf("%s\n", listened.assessment->rounds[r].advice[0]);
    }
    sr_listened_clear(&listened);
  }
  sr_take_reader_del(reader);
  sr_phrase_del(phrase);
  return status == SR_OK ? 0 : 1;
}
