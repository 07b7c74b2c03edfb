// SPDX-License-Identifier: GPL-3.0-or-later

// What a round was like, in one sentence.

#include "verdict_words.h"

#include "tally.h"
#include "text.h"

#include <math.h>
#include <stdio.h>

/// Its tempo, with the comma after it.
static void
say_tempo(const SrPulse* const pulse, char* const words)
{
  if (isfinite(pulse->played_bpm)) {
    sr_words_add(words, "%.0f pulses a minute", pulse->played_bpm);
    if (isfinite(pulse->target_bpm)) {
      sr_words_add(words, " (asked: %.0f)", pulse->target_bpm);
    }
    sr_words_add(words, ", ");
  }
}

/// How many notes there were.
static void
say_notes(const SrTally* const tally, char* const words)
{
  sr_words_add(words, "%zu of %zu notes played", tally->played, tally->notes);
  if (tally->missed) {
    sr_words_add(words, ", %zu missed", tally->missed);
  }
  if (tally->left_out == tally->missed && tally->missed) {
    sr_words_add(words, " (left out)");
  } else if (tally->left_out) {
    sr_words_add(words, " (%zu of them left out)", tally->left_out);
  }
  if (tally->wrong) {
    sr_words_add(words, ", %zu wrong", tally->wrong);
  }
  if (tally->unheard) {
    sr_words_add(words, ", %zu unheard", tally->unheard);
  }
  if (tally->insertions) {
    sr_words_add(words, ", %zu extra", tally->insertions);
  }
}

/// How many cuts were clean.
static void
say_cuts(const SrTally* const tally, char* const words)
{
  if (tally->cuts_asked) {
    sr_words_add(words, ", %zu of %zu %s clean", tally->cuts[SR_CUT_CLEAN], tally->cuts_asked,
                 tally->strikes == 0                    ? "cuts"
                 : tally->strikes == tally->cuts_judged ? "strikes"
                                                        : "cuts and strikes");
  }
  if (tally->cuts_asked > tally->cuts_judged) {
    sr_words_add(words, ", %zu not played", tally->cuts_asked - tally->cuts_judged);
  }
  if (tally->cuts[SR_CUT_STRAY]) {
    sr_words_add(words, ", %zu stray cut%s", tally->cuts[SR_CUT_STRAY],
                 sr_words_plural(tally->cuts[SR_CUT_STRAY]));
  }
}

/// How often air was heard.
static void
say_air(const SrTally* const tally, char* const words)
{
  if (tally->air_asked) {
    sr_words_add(words, ", air asked for %zu time%s and heard ", tally->air_asked,
                 tally->air_asked == 1 ? "" : "s");
    if (tally->air_heard) {
      sr_words_add(words, "%zu", tally->air_heard);
    } else {
      sr_words_add(words, "never");
    }
  }
  if (tally->air_elsewhere) {
    sr_words_add(words, ", air heard %zu time%s%s", tally->air_elsewhere,
                 tally->air_elsewhere == 1 ? "" : "s", tally->air_asked ? " elsewhere" : "");
  }
}

/// How even it was.
static void
say_spread(const SrPulse* const pulse, char* const words)
{
  if (isfinite(pulse->spread_ms)) {
    sr_words_add(words, ", spread %.0f ms", pulse->spread_ms);
  }
  if (isfinite(pulse->mean_offset_ms) && fabs(pulse->mean_offset_ms) >= 1.0) {
    sr_words_add(words, ", %.0f ms %s the click on average", fabs(pulse->mean_offset_ms),
                 pulse->mean_offset_ms > 0.0 ? "behind" : "ahead of");
  }
  if (isfinite(pulse->drift_percent) && fabs(pulse->drift_percent) >= 2.0) {
    sr_words_add(words, ", %.0f %% %s by the end", fabs(pulse->drift_percent),
                 pulse->drift_percent > 0.0 ? "faster" : "slower");
  }
}

/// How it was swung, unless hardly.
static void
say_lilt(const SrPulse* const pulse, char* const words)
{
  double most_lilt = 0.0;
  for (size_t i = 0; i < pulse->lilt_count && i < SR_LILT_SIZE; ++i) {
    most_lilt = fmax(most_lilt, fabs(pulse->lilt[i] - 1.0));
  }
  if (most_lilt >= 0.03) {
    sr_words_add(words, ", lilt");
    for (size_t i = 0; i < pulse->lilt_count && i < SR_LILT_SIZE; ++i) {
      sr_words_add(words, "%s%.2f", i ? ":" : " ", pulse->lilt[i]);
    }
  }
}

void
sr_words_round(const SrRound* const round, char* const words)
{
  SrTally tally = {0};
  sr_tally_add(&tally, round);
  say_tempo(&round->pulse, words);
  say_notes(&tally, words);
  say_cuts(&tally, words);
  say_air(&tally, words);
  say_spread(&round->pulse, words);
  say_lilt(&round->pulse, words);
}

const char*
sr_words_round_head(const SrRound* const round, const size_t number, const size_t total,
                    char* const head)
{
  char clock[32];
  sr_text_clock(round->start_s, clock);
  if (total > 1) {
    snprintf(head, SR_ROUND_HEAD_SIZE, "Round %zu of %zu, from %s", number, total, clock);
  } else if (total == 0) {
    snprintf(head, SR_ROUND_HEAD_SIZE, "Round %zu", number);
  } else {
    snprintf(head, SR_ROUND_HEAD_SIZE, "One round, from %s", clock);
  }
  return head;
}
