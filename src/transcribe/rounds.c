// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rounds.c
   The same notes twice, with a break between.
*/

#include "tuning.h"

#include <steadyreed/transcribe.h>

#include <stdlib.h>

/// Whether the player paused before a note; the end of the score counts as well.
static bool
pauses(const SrScore* const score, const size_t index)
{
  if (index >= score->count || score->notes[index].breaks) {
    return true;
  }
  const SrPlayedNote* const last = &score->notes[index - 1].played;
  return score->notes[index].played.onset_s - last->end_s > PAUSE_S;
}

/// How many notes two stretches have in common, in order: the longest common subsequence of their
/// pitches. `row` has room for one more than the second stretch has.
static size_t
in_common(const SrScoreNote* const one, const size_t one_count, const SrScoreNote* const other,
          const size_t other_count, size_t* const row)
{
  for (size_t j = 0; j <= other_count; ++j) {
    row[j] = 0;
  }
  for (size_t i = 0; i < one_count; ++i) {
    size_t diagonal = 0;
    for (size_t j = 1; j <= other_count; ++j) {
      const size_t above = row[j];
      const size_t most = above > row[j - 1] ? above : row[j - 1];
      row[j] = one[i].played.midi == other[j - 1].played.midi ? diagonal + 1 : most;
      diagonal = above;
    }
  }
  return row[other_count];
}

/// Where the first `length` notes come again from a note on; that note if they do not.
static size_t
again_until(const SrScore* const score, const size_t length, const size_t from, size_t* const row)
{
  const size_t most = length + length / 4;
  for (size_t end = from + length - length / 4; end <= from + most && end <= score->count; ++end) {
    const size_t count = end - from;
    const size_t longer = count > length ? count : length;
    if (pauses(score, end) && (double)in_common(score->notes, length, score->notes + from, count,
                                                row) >= ROUND_SHARE * (double)longer) {
      return end;
    }
  }
  return from;
}

size_t
sr_score_rounds(const SrScore* const score, double* const starts_s, const size_t most)
{
  size_t* const row = (size_t*)calloc(score->count + 1, sizeof(size_t));
  if (score->count == 0 || most == 0 || !row) {
    free(row);
    return 0;
  }
  size_t count = 1;
  starts_s[0] = score->notes[0].played.onset_s;
  for (size_t length = LEAST_ROUND; 2 * length <= score->count + length / 4 && count == 1;
       ++length) {
    if (!pauses(score, length)) {
      continue;
    }
    size_t from = length;
    size_t end;
    while (from < score->count && count < most &&
           (end = again_until(score, length, from, row)) > from) {
      starts_s[count++] = score->notes[from].played.onset_s;
      from = end;
    }
  }
  free(row);
  return count;
}
