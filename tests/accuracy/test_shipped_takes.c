// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_shipped_takes.c
   The takes in testdata against the truth beside them: statuses and cut verdicts all
   alike, no extra notes, onsets within 25 ms.

   usage: test_shipped_takes PHRASE.abc TAKE.flac TRUTH.json
*/

#include "heard.h"
#include "score.h"

#include <jansson.h>
#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* const STATUSES[] = {"played", "missed", "wrong", "unheard"};
static const char* const VERDICTS[] = {"clean", "long", "joined", "absent", "stray"};

static size_t
compare_note(const json_t* const truth, const SrNoteVerdict* const heard, const size_t round)
{
  size_t different = 0;
  const char* const status = json_string_value(json_object_get(truth, "status"));
  const json_t* const cut = json_object_get(truth, "cut");
  const json_t* const onset = json_object_get(truth, "onset_s");
  if (strcmp(status, STATUSES[heard->status]) != 0) {
    printf("round %zu note %zu is %s, heard %s\n", round + 1, heard->index + 1, status,
           STATUSES[heard->status]);
    ++different;
  }
  const char* const verdict = heard->has_cut ? VERDICTS[heard->cut.verdict] : "none";
  if (cut && strcmp(json_string_value(cut), verdict) != 0) {
    printf("round %zu note %zu: the cut is %s, heard %s\n", round + 1, heard->index + 1,
           json_string_value(cut), verdict);
    ++different;
  }
  if (json_is_number(onset) && !(fabs(json_number_value(onset) - heard->onset_s) <= TOLERANCE_S)) {
    printf("round %zu note %zu is at %.3f s, heard at %.3f s\n", round + 1, heard->index + 1,
           json_number_value(onset), heard->onset_s);
    ++different;
  }
  return different;
}

static size_t
compare(const json_t* const truth, const SrAssessment* const assessment)
{
  const json_t* const rounds = json_object_get(truth, "rounds");
  size_t different = 0;
  if (!assessment || assessment->round_count != json_array_size(rounds)) {
    printf("%zu rounds, heard %zu\n", json_array_size(rounds),
           assessment ? assessment->round_count : 0);
    return 1;
  }
  for (size_t r = 0; r < assessment->round_count; ++r) {
    const json_t* const notes = json_object_get(json_array_get(rounds, r), "notes");
    for (size_t i = 0; i < json_array_size(notes); ++i) {
      different += compare_note(json_array_get(notes, i), &assessment->rounds[r].notes[i], r);
    }
    different += assessment->rounds[r].insertion_count;
    printf("round %zu: %zu notes compared, %zu extra notes heard\n", r + 1, json_array_size(notes),
           assessment->rounds[r].insertion_count);
  }
  return different;
}

/// Releases of air: those over -30 dB of their note are audible in these takes, those under -35
/// dB are not; and nothing else is.
static size_t
compare_air(const json_t* const truth, const SrAssessment* const assessment)
{
  const json_t* const releases = json_object_get(truth, "air");
  size_t different = 0;
  size_t wanted = 0;
  size_t audible = 0;
  for (size_t i = 0; i < json_array_size(releases); ++i) {
    const json_t* const one = json_array_get(releases, i);
    const double start_s = json_number_value(json_object_get(one, "start_s"));
    const double end_s = json_number_value(json_object_get(one, "end_s"));
    const bool loud = json_number_value(json_object_get(one, "level_db")) > -30.0;
    bool heard = false;
    for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
      for (size_t a = 0; a < assessment->rounds[r].air_count; ++a) {
        const SrAirRelease* const air = &assessment->rounds[r].air[a];
        const bool same = air->start_s < end_s && air->end_s > start_s;
        heard = heard || (same && air->audible);
      }
    }
    if (heard != loud) {
      printf("the air at %.3f s is %s, and %s\n", start_s, loud ? "audible" : "hidden",
             heard ? "was heard" : "was not");
      ++different;
    }
    wanted += loud;
  }
  for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
    for (size_t a = 0; a < assessment->rounds[r].air_count; ++a) {
      audible += assessment->rounds[r].air[a].audible;
    }
  }
  printf("air: %zu releases, %zu audible, %zu heard\n", json_array_size(releases), wanted, audible);
  return different + (audible != wanted);
}

int
main(const int argc, char** const argv)
{
  SrPhrase* phrase = NULL;
  SF_INFO info = {0};
  if (argc != 4 || sr_phrase_read_file(argv[1], NULL, &phrase, NULL) != SR_OK) {
    return 2;
  }
  SNDFILE* const file = sf_open(argv[2], SFM_READ, &info);
  json_t* const truth = json_load_file(argv[3], 0, NULL);
  if (!file || info.channels != 1 || !truth) {
    return 2;
  }
  Take take = {.count = (size_t)info.frames, .rate_hz = info.samplerate};
  take.samples = (float*)malloc((take.count + 1) * sizeof(float));
  take.count = (size_t)sf_readf_float(file, take.samples, info.frames);
  sf_close(file);
  HeardTake heard = heard_take(phrase, &take);
  const size_t different = compare(truth, heard.assessment) + compare_air(truth, heard.assessment);
  printf("%zu differences\n", different);
  heard_free(&heard);
  free(take.samples);
  json_decref(truth);
  sr_phrase_del(phrase);
  return different ? 1 : 0;
}
