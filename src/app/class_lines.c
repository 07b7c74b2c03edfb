// SPDX-License-Identifier: GPL-3.0-or-later

#include "class_lines.h"

#include "say.h"

#include <math.h>
#include <stdio.h>

#define SCORE_SIZE 32

/// "cuts 92"; "cuts -" if there is no such score.
static const char*
score_words(const char* const name, const double score, char words[SCORE_SIZE])
{
  if (isfinite(score)) {
    snprintf(words, SCORE_SIZE, "%s %.0f", name, score);
  } else {
    snprintf(words, SCORE_SIZE, "%s -", name);
  }
  return words;
}

void
sr_class_say_pupils(const SrClassList* const list, const SrTakeFigures* const figures)
{
  char cuts[SCORE_SIZE];
  char evenness[SCORE_SIZE];
  sr_say_text(stdout, "Best rounds, out of 100:\n");
  for (size_t i = 0; i < list->pupil_count; ++i) {
    const SrPupil* const pupil = &list->pupils[i];
    const SrTakeFigures* const own = figures + pupil->first;
    const SrPupilTakes chosen = sr_pupil_takes(own, pupil->count);
    if (chosen.judged) {
      sr_say_indented(stdout, 4, "  %s: %s, %s", pupil->name,
                      score_words("cuts", own[chosen.best].cuts, cuts),
                      score_words("evenness", own[chosen.best].evenness, evenness));
    } else {
      sr_say_indented(stdout, 4, "  %s: not judged", pupil->name);
    }
  }
}
