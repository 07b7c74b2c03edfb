// SPDX-License-Identifier: GPL-3.0-or-later

#include "reported.h"

#include <steadyreed/live.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

size_t
reported_follow(const SrPhrase* const phrase, const Take* const take, ReportedRound** const rounds)
{
  SrLiveSettings settings = sr_live_settings_default();
  settings.rate_hz = take->rate_hz;
  SrLive* live = NULL;
  size_t count = 0;
  bool open = false;
  if (sr_live_new(phrase, &settings, &live, NULL) != SR_OK) {
    return 0;
  }
  for (size_t at = 0; at <= take->count; at += 1024) {
    if (at + 1024 <= take->count) {
      sr_live_push(live, take->samples + at, 1024, NULL);
    } else {
      sr_live_push(live, take->samples + at, take->count - at, NULL);
      sr_live_finish(live, NULL);
    }
    SrNews news;
    while (sr_live_pull(live, &news)) {
      if (!open) {
        *rounds = (ReportedRound*)realloc(*rounds, (count + 1) * sizeof(ReportedRound));
        (*rounds)[count++] =
            (ReportedRound){(ReportedNote*)calloc(take->note_count, sizeof(ReportedNote)), NULL};
        open = true;
      }
      ReportedNote* const notes = (*rounds)[count - 1].notes;
      if (news.kind == SR_NEWS_NOTE) {
        notes[news.note.index] = (ReportedNote){news.note, news.note, true};
      } else if (news.kind == SR_NEWS_AMENDED) {
        notes[news.note.index].last = news.note;
      } else if (news.kind == SR_NEWS_AGAIN || news.kind == SR_NEWS_NOTHING) {
        memset(notes, 0, take->note_count * sizeof(ReportedNote));
      } else if (news.kind == SR_NEWS_ROUND) {
        (*rounds)[count - 1].assessment = news.assessment;
        open = false;
      }
    }
  }
  sr_live_del(live);
  return count;
}

void
reported_del(ReportedRound* const rounds, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    free(rounds[i].notes);
    sr_assessment_del(rounds[i].assessment);
  }
  free(rounds);
}

const SrRound*
reported_round_on(const SrAssessment* const assessment, const TruthRound* const truth)
{
  const SrRound* best = NULL;
  double most = 0.5 * (truth->end_s - truth->start_s);
  for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
    const SrRound* const round = &assessment->rounds[r];
    const double overlap = fmin(round->end_s, truth->end_s) - fmax(round->start_s, truth->start_s);
    if (overlap > most) {
      most = overlap;
      best = round;
    }
  }
  return best;
}
