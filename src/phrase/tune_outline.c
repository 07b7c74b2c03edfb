// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tune_outline.c
   The bars and parts of a tune as written, from which a player chooses.
*/

#include "tune_file.h"

#include <stdlib.h>

/// Widen the range of a part by a written bar.
static void
widen(SrTunePart* const part, const int number)
{
  if (number > 0) {
    part->first_bar = part->first_bar && part->first_bar < number ? part->first_bar : number;
    part->last_bar = part->last_bar > number ? part->last_bar : number;
  }
}

static void
outline(const SrTune* const tune, SrTuneOutline* const result)
{
  SrTunePart whole = {0};
  for (size_t i = 0; i < tune->bar_count; ++i) {
    widen(&whole, tune->bars[i].number);
  }
  const bool pickup = tune->bar_count > 0 && tune->bars[0].number == 0;
  result->first_bar = pickup ? 0 : whole.first_bar;
  result->last_bar = whole.last_bar;
  for (int i = 'A'; i <= 'Z'; ++i) {
    const char letter = (char)i;
    SrTunePart part = {.letter = letter};
    size_t first = 0;
    size_t end = 0;
    if (sr_tune_find_part(tune, letter, &first, &end)) {
      for (size_t bar = first; bar < end; ++bar) {
        widen(&part, tune->bars[bar].number);
      }
      result->parts[result->part_count++] = part;
    }
  }
}

SrStatus
sr_tune_outline_read(const char* const path, const SrPhraseChoice* const choice,
                     SrTuneOutline* const result, SrError* const error)
{
  char* text = NULL;
  size_t size = 0;
  *result = (SrTuneOutline){0};
  SrStatus status = sr_tune_file_read(path, &text, &size, error);
  if (status == SR_OK) {
    SrTune tune = {0};
    status = sr_tune_from_text(text, size, path, choice, &tune, error);
    if (status == SR_OK) {
      outline(&tune, result);
    }
    free(tune.notes);
    free(tune.bars);
    free(text);
  }
  return status;
}
