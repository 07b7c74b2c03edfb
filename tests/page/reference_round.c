// SPDX-License-Identifier: GPL-3.0-or-later

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "reference_round.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Four bars of 6/8, with air asked for at the end of the second.
static const char TUNE[] = "X:1\nT:Four bars to draw\nM:6/8\nL:1/8\nK:D\n"
                           "F{A}FA d{f}dA|B{d}BG A{c}A\"^air\"F|G{B}GE F{A}FD|E{G}EF GFE|]\n";

/// What each note uses of the bellows, units.
#define USE 6

/// One button for each pitch of the tune, in one direction only.
static const char LAYOUT[] =
    "{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"One button a note\",\n"
    "\"left\": {\"fingers\": [\"little\", \"ring\", \"middle\", \"index\", \"index\"],\n"
    "\"row 1\": [{\"press\": \"D4\"}, {\"press\": \"E4\"}, {\"draw\": \"F#4\"}, {\"press\": "
    "\"G4\"},\n"
    "{\"draw\": \"A4\"}]},\n"
    "\"right\": {\"fingers\": [\"index\", \"middle\", \"ring\", \"little\"],\n"
    "\"row 1\": [{\"press\": \"B4\"}, {\"draw\": \"C#5\"}, {\"press\": \"D5\"}, {\"press\": "
    "\"F#5\"}]},\n"
    "\"air\": {\"hand\": \"right\", \"finger\": \"thumb\"}}\n";

static void
put_faults(MadeRound* const made)
{
  static const struct {
    size_t note;
    Outcome outcome;
  } FAULTS[] = {
      {REFERENCE_LONG, OUTCOME_LONG},     {REFERENCE_JOINED, OUTCOME_JOINED},
      {REFERENCE_AIR, OUTCOME_AIR},       {REFERENCE_ABSENT, OUTCOME_ABSENT},
      {REFERENCE_MISSED, OUTCOME_MISSED}, {REFERENCE_WRONG, OUTCOME_WRONG},
      {REFERENCE_EXTRA, OUTCOME_EXTRA},   {REFERENCE_LATE, OUTCOME_LATE},
      {REFERENCE_STRAY, OUTCOME_STRAY},   {REFERENCE_UNHEARD, OUTCOME_UNHEARD},
  };
  for (size_t i = 0; i < sizeof(FAULTS) / sizeof(FAULTS[0]); ++i) {
    made_round_put(made, 0, FAULTS[i].note, FAULTS[i].outcome);
  }
  made_round_slip(made, 0, SR_SLIP_HESITATION, REFERENCE_WAIT);
  made_round_put(made, 1, REFERENCE_JOINED, OUTCOME_JOINED);
  // The worst, so that a page shows it large
  made->rounds[0].scores.cuts = 43.0;
  made->rounds[0].scores.evenness = 71.0;
}

/// The only button for a pitch.
static size_t
button_for(const SrInstrument* const instrument, const int midi, SrDirection* const direction)
{
  for (size_t i = 0; i < sr_instrument_button_count(instrument); ++i) {
    const SrButton* const button = sr_instrument_button(instrument, i);
    if (button->press_midi == midi || button->draw_midi == midi) {
      *direction = button->draw_midi == midi ? SR_DIRECTION_DRAW : SR_DIRECTION_PRESS;
      return i;
    }
  }
  fail_msg("no button for %d", midi);
  return 0;
}

/// Play each note on its button, with the same share of the bellows.
static void
fill_plan(ReferenceRound* const round)
{
  const size_t count = sr_phrase_note_count(round->made.phrase);
  int opening = SR_BELLOWS_UNITS / 2;
  for (size_t i = 0; i < count; ++i) {
    const SrPhraseNote* const written = sr_phrase_note(round->made.phrase, i);
    SrPlannedNote* const note = &round->planned[i];
    SrDirection cut_direction = SR_DIRECTION_FREE;
    note->button = button_for(round->instrument, written->midi, &note->direction);
    note->finger = sr_instrument_button(round->instrument, note->button)->finger;
    note->cut_midi = written->cut_midi;
    note->cut_button = written->cut_midi < 0
                           ? -1
                           : (long)button_for(round->instrument, written->cut_midi, &cut_direction);
    note->turns = i > 0 && note->direction != round->planned[i - 1].direction;
    note->before = opening;
    note->air = written->air ? 10 : 0;
    opening += (note->direction == SR_DIRECTION_DRAW ? 1 : -1) * (USE + note->air);
    note->after = opening;
  }
  round->plan = (SrPlan){.notes = round->planned, .note_count = count};
}

ReferenceRound*
reference_round_new(void)
{
  ReferenceRound* const round = calloc(1, sizeof(ReferenceRound));
  assert_non_null(round);
  made_round_make(&round->made, TUNE, 3);
  put_faults(&round->made);
  assert_int_equal(
      sr_instrument_read_text(LAYOUT, strlen(LAYOUT), "layout", &round->instrument, NULL), SR_OK);
  fill_plan(round);
  return round;
}

void
reference_round_del(ReferenceRound* const round)
{
  sr_instrument_del(round->instrument);
  made_round_clear(&round->made);
  free(round);
}

SrRoundPicture*
reference_round_picture(const ReferenceRound* const round, const bool planned,
                        const SrRoundStyle* const style, const size_t reached,
                        const size_t first_bar, const size_t bar_count)
{
  const SrPicturedRound pictured = {.phrase = round->made.phrase,
                                    .round = &round->made.rounds[0],
                                    .reached = reached,
                                    .plan = planned ? &round->plan : NULL,
                                    .instrument = planned ? round->instrument : NULL,
                                    .first_bar = first_bar,
                                    .bar_count = bar_count};
  SrRoundPicture* picture = NULL;
  assert_int_equal(sr_round_picture_new(&pictured, style, REFERENCE_ROUND_WIDTH, (double)INFINITY,
                                        &picture, NULL),
                   SR_OK);
  return picture;
}
