// SPDX-License-Identifier: GPL-3.0-or-later

// The sentence and the table about two takes.

#include <steadyreed/show_two_takes.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void add(char* words, const char* format, ...) SR_PRINTF(2, 3);

static void
add(char* const words, const char* const format, ...)
{
  const size_t length = strlen(words);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(words + length, SR_TWO_SENTENCE_SIZE - length, format, arguments);
  va_end(arguments);
}

/// "12 ms behind".
static const char*
click_words(const double offset_ms, char words[32])
{
  snprintf(words, 32, "%.0f ms %s", fabs(offset_ms), offset_ms < 0.0 ? "ahead" : "behind");
  return words;
}

/// "(11 of 12, not 4 of 12)".
static void
add_shares(const SrTwoFound* const found, char* const words)
{
  add(words, " (%u of %u, not %u of %u)", found->some[1], found->of[1], found->some[0],
      found->of[0]);
}

/// What the second take does otherwise.
static void
add_claim(const SrTwoFigure figure, const SrTwoFound* const found, char* const words)
{
  const bool more = found->value[1] > found->value[0];
  char first[32];
  char second[32];
  switch (figure) {
  case SR_TWO_TEMPO:
    add(words, "is %s (%.0f pulses a minute, not %.0f)", more ? "faster" : "slower",
        found->value[1], found->value[0]);
    break;
  case SR_TWO_NOTES:
    add(words, "has %s notes right", more ? "more" : "fewer");
    add_shares(found, words);
    break;
  case SR_TWO_CUTS:
    add(words, "has %s clean cuts", more ? "more" : "fewer");
    add_shares(found, words);
    break;
  case SR_TWO_SPREAD:
    add(words, "is %s even (spread %.0f ms, not %.0f ms)", more ? "less" : "more", found->value[1],
        found->value[0]);
    break;
  case SR_TWO_OFFSET:
    add(words, "comes %s against the click (%s, not %s)", more ? "later" : "earlier",
        click_words(found->value[1], second), click_words(found->value[0], first));
    break;
  case SR_TWO_AIR:
    add(words, "lets air be heard at %s places", more ? "more" : "fewer");
    add_shares(found, words);
    break;
  case SR_TWO_CLEAN_BPM:
  case SR_TWO_SCORE_CUTS:
  case SR_TWO_SCORE_EVENNESS:
  case SR_TWO_SCORE_AIR:
  case SR_TWO_FIGURES:
    break;
  }
}

const char*
sr_two_sentence(const SrTwoTakes* const two, char sentence[SR_TWO_SENTENCE_SIZE])
{
  size_t told = 0;
  size_t said = 0;
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    told += two->figures[i].told;
  }
  snprintf(sentence, SR_TWO_SENTENCE_SIZE, "%s",
           told ? "The second take " : "The two takes differ by no more than chance.");
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    if (two->figures[i].told) {
      add(sentence, "%s", said == 0 ? "" : said + 1 == told ? " and " : ", ");
      add_claim((SrTwoFigure)i, &two->figures[i], sentence);
      ++said;
    }
  }
  if (told) {
    add(sentence, "; nothing else differs by more than chance.");
  }
  return sentence;
}

/// Names of the rows, with their unit.
static const char* const NAMES[SR_TWO_FIGURES] = {
    [SR_TWO_TEMPO] = "tempo, /min",
    [SR_TWO_CLEAN_BPM] = "clean tempo, /min",
    [SR_TWO_NOTES] = "notes right, %",
    [SR_TWO_CUTS] = "clean cuts, %",
    [SR_TWO_SPREAD] = "spread, ms",
    [SR_TWO_OFFSET] = "behind, ms",
    [SR_TWO_AIR] = "air heard, %",
    [SR_TWO_SCORE_CUTS] = "score, cuts",
    [SR_TWO_SCORE_EVENNESS] = "score, evenness",
    [SR_TWO_SCORE_AIR] = "score, air",
};

size_t
sr_two_rows(const SrTwoTakes* const two, SrTwoRow rows[SR_TWO_FIGURES])
{
  size_t count = 0;
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    const SrTwoFound* const found = &two->figures[i];
    const bool known[] = {isfinite(found->value[0]), isfinite(found->value[1])};
    if (!known[0] && !known[1]) {
      continue;
    }
    SrTwoRow* const row = &rows[count++];
    *row = (SrTwoRow){.name = NAMES[i], .told = found->told};
    for (size_t t = 0; t < 2; ++t) {
      snprintf(row->value[t], SR_TWO_CELL_SIZE, known[t] ? "%.0f" : "-", found->value[t] + 0.0);
    }
    if (known[0] && known[1]) {
      // Of what is shown, so that the row adds up
      const double difference = rint(found->value[1]) - rint(found->value[0]);
      snprintf(row->difference, SR_TWO_CELL_SIZE, difference == 0.0 ? "0" : "%+.0f", difference);
    }
  }
  return count;
}

const char*
sr_two_name_line(const SrShownTwo* const shown, const size_t take, char* const line)
{
  const size_t rounds = shown->two->rounds[take];
  snprintf(line, SR_TWO_SENTENCE_SIZE, "%.200s: %zu round%s", shown->names[take], rounds,
           rounds == 1 ? "" : "s");
  return line;
}
