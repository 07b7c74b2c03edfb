// SPDX-License-Identifier: GPL-3.0-or-later

#include "class_page.h"

#include <steadyreed/take_page.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

/// Mean of the scores there are; 0 if there are none.
static double
mean_score(const SrScores* const scores)
{
  const double all[] = {scores->cuts, scores->evenness, scores->air};
  double sum = 0.0;
  int count = 0;
  for (size_t i = 0; i < 3; ++i) {
    if (isfinite(all[i])) {
      sum += all[i];
      ++count;
    }
  }
  return count ? sum / count : 0.0;
}

/// The one of two tempos that counts as faster; any is faster than none.
static int
compare_tempo(const double one, const double other)
{
  const double a = isfinite(one) ? one : 0.0;
  const double b = isfinite(other) ? other : 0.0;
  return (a > b) - (a < b);
}

/// Figures of a take, and which of its rounds is the best.
static SrTakeFigures
find_best(const SrAssessment* const assessment, size_t* const best)
{
  SrTakeFigures figures = {
      .judged = true, .bpm = (double)NAN, .cuts = (double)NAN, .evenness = (double)NAN};
  *best = 0;
  for (size_t i = 0; i < assessment->round_count; ++i) {
    const SrRound* const round = &assessment->rounds[i];
    size_t played = 0;
    for (size_t n = 0; n < round->note_count; ++n) {
      played += round->notes[n].status == SR_NOTE_PLAYED;
    }
    const double share = round->note_count ? (double)played / (double)round->note_count : 0.0;
    const double quality = mean_score(&round->scores) * share;
    const double bpm = round->pulse.played_bpm;
    if (i == 0 || quality > figures.quality ||
        (quality == figures.quality && compare_tempo(bpm, figures.bpm) > 0)) {
      figures.quality = quality;
      figures.bpm = bpm;
      figures.cuts = round->scores.cuts;
      figures.evenness = round->scores.evenness;
      *best = i;
    }
  }
  return figures;
}

SrTakeFigures
sr_take_figures(const SrAssessment* const assessment)
{
  size_t best = 0;
  return find_best(assessment, &best);
}

/// Add to a remark which of several rounds the advice is from, and which was the best.
static void
add_rounds(char* const remark, const size_t size, const SrAssessment* const assessment)
{
  const size_t length = strlen(remark);
  size_t best = 0;
  if (assessment && assessment->round_count > 1) {
    (void)find_best(assessment, &best);
    snprintf(remark + length, size - length, "%sadvice from round %zu, best round %zu",
             length ? ", " : "", sr_page_round(assessment) + 1, best + 1);
  }
}

static bool
is_later(const SrTakeFigures* const one, const SrTakeFigures* const other)
{
  // Of the same time, the one whose name comes last
  return one->date.utc_s >= other->date.utc_s;
}

static bool
is_better(const SrTakeFigures* const one, const SrTakeFigures* const other)
{
  if (one->quality != other->quality) {
    return one->quality > other->quality;
  }
  const int faster = compare_tempo(one->bpm, other->bpm);
  return faster ? faster > 0 : is_later(one, other);
}

SrPupilTakes
sr_pupil_takes(const SrTakeFigures* const takes, const size_t count)
{
  SrPupilTakes chosen = {.judged = 0};
  for (size_t i = 0; i < count; ++i) {
    if (!takes[i].judged) {
      continue;
    }
    const bool first = chosen.judged++ == 0;
    chosen.best = first || is_better(&takes[i], &takes[chosen.best]) ? i : chosen.best;
    chosen.latest = first || is_later(&takes[i], &takes[chosen.latest]) ? i : chosen.latest;
  }
  return chosen;
}

SrStatus
sr_pupil_pages_write(const SrAssessPages* const planned, const SrPhrase* const phrase,
                     const char* const out, const SrPupilPages* const pages, SrJudgedTake takes[2],
                     SrError* const error)
{
  SrKeptTake kept[2];
  char dates[2][SR_PAGE_DATE_SIZE];
  char remarks[2][112] = {"", ""};
  SrAssessPages own = *planned;
  own.path = out;
  own.kept = kept;
  own.count = 0;
  own.named = 2;
  const bool both = !pages->paths[1];
  if (pages->judged > 1) {
    snprintf(remarks[0], sizeof(remarks[0]), "the best%s of %zu takes", both ? " and latest" : "",
             pages->judged);
    snprintf(remarks[1], sizeof(remarks[1]), "the latest of %zu takes", pages->judged);
  }
  for (size_t i = 0; i < (both ? 1u : 2u); ++i) {
    sr_page_date((time_t)pages->dates[i].utc_s, dates[i]);
    add_rounds(remarks[i], sizeof(remarks[i]), takes[i].assessment);
    kept[own.count] = (SrKeptTake){.take = takes[i],
                                   .path = pages->paths[i],
                                   .number = i + 1,
                                   .player = pages->player,
                                   .date = dates[i],
                                   .remark = remarks[i]};
    ++own.count;
  }
  const SrStatus status = sr_assess_pages_draw(&own, phrase, error);
  for (size_t i = 0; i < own.count; ++i) {
    sr_judged_take_clear(&kept[i].take);
    memset(&takes[i], 0, sizeof(takes[i]));
  }
  return status;
}
