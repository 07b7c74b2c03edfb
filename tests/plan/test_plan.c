// SPDX-License-Identifier: GPL-3.0-or-later

// The search against plain enumeration of every way to play a phrase, and what must hold of any
// plan.

#include "random.h"

#include <steadyreed/plan.h>

#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define PHRASES 300

static char layout_text[8192];

static void
pitch_name(const int midi, char name[16])
{
  static const char* const names[] = {"C",  "C#", "D",  "D#", "E",  "F",
                                      "F#", "G",  "G#", "A",  "A#", "B"};
  snprintf(name, 16, "%s%d", names[midi % 12], midi / 12 - 1);
}

static SrPhrase*
phrase_of(const char* const text)
{
  SrPhrase* phrase = NULL;
  SrError error;
  if (sr_phrase_read_text(text, strlen(text), "phrase", NULL, &phrase, &error) != SR_OK) {
    print_error("%s\n%s\n", error.message, text);
    fail();
  }
  return phrase;
}

static SrInstrument*
instrument_of(const char* const text)
{
  SrInstrument* instrument = NULL;
  SrError error;
  if (sr_instrument_read_text(text, strlen(text), "layout", &instrument, &error) != SR_OK) {
    print_error("%s\n%s\n", error.message, text);
    fail();
  }
  return instrument;
}

/// A small layout of random notes between C4 and G4, two rows a side.
static SrInstrument*
random_instrument(Random* const random)
{
  size_t at = (size_t)snprintf(layout_text, sizeof(layout_text),
                               "{\"format\": \"steadyreed-instrument\", \"version\": 1, "
                               "\"title\": \"Random\", \"air\": {\"hand\": \"right\", "
                               "\"finger\": \"thumb\"}");
  for (int side = 0; side < 2; ++side) {
    at += (size_t)snprintf(layout_text + at, sizeof(layout_text) - at,
                           ", \"%s\": {\"fingers\": [\"little\", \"ring\", \"middle\"]",
                           side ? "right" : "left");
    for (int row = 1; row <= 2; ++row) {
      at += (size_t)snprintf(layout_text + at, sizeof(layout_text) - at, ", \"row %d\": [", row);
      for (int column = 0; column < 3; ++column) {
        char press[16];
        char draw[16];
        pitch_name(60 + (int)random_between(random, 0.0, 7.99), press);
        pitch_name(60 + (int)random_between(random, 0.0, 7.99), draw);
        at += (size_t)snprintf(layout_text + at, sizeof(layout_text) - at,
                               "%s{\"press\": \"%s\", \"draw\": \"%s\"}", column ? ", " : "", press,
                               draw);
      }
      at += (size_t)snprintf(layout_text + at, sizeof(layout_text) - at, "]");
    }
    at += (size_t)snprintf(layout_text + at, sizeof(layout_text) - at, "}");
  }
  snprintf(layout_text + at, sizeof(layout_text) - at, "}");
  return instrument_of(layout_text);
}

/// A phrase of a few notes that the layout has.
static SrPhrase*
random_phrase(const SrInstrument* const instrument, Random* const random)
{
  static const char* const letters[] = {"C", "^C", "D", "^D", "E", "F", "^F", "G"};
  static const char* const lengths[] = {"", "2", "3", "4", "/2", "8"};
  char text[512] = "X:1\nM:2/4\nL:1/8\nK:C\n";
  const int count = 2 + (int)random_between(random, 0.0, 4.99);
  for (int i = 0; i < count;) {
    const int pitch = (int)random_between(random, 0.0, 7.99);
    if (!sr_instrument_has(instrument, 60 + pitch, SR_DIRECTION_FREE)) {
      continue;
    }
    const bool pinned = random_between(random, 0.0, 1.0) < 0.1;
    const bool press = sr_instrument_has(instrument, 60 + pitch, SR_DIRECTION_PRESS);
    strcat(text, !pinned ? "" : press ? "\"_press\"" : "\"_draw\"");
    strcat(text, random_between(random, 0.0, 1.0) < 0.2 ? "\"^air\"" : "");
    strcat(text, random_between(random, 0.0, 1.0) < 0.2 ? "{A}" : "");
    strcat(text, pitch == 1 || pitch == 3 || pitch == 6 ? letters[pitch] : "");
    if (pitch != 1 && pitch != 3 && pitch != 6) {
      strcat(text, "=");
      strcat(text, letters[pitch]);
    }
    strcat(text, lengths[(int)random_between(random, 0.0, 5.99)]);
    strcat(text, i % 4 == 3 ? "|" : " ");
    ++i;
  }
  strcat(text, "|]\n");
  return phrase_of(text);
}

static SrPlanSettings
random_settings(Random* const random)
{
  SrPlanSettings settings = {.bpm = random_between(random, 30.0, 200.0),
                             .bellows = sr_bellows_default(),
                             .style = sr_plan_style(random_between(random, 0.0, 1.0) < 0.5),
                             .plans = 1};
  settings.bellows.start = random_between(random, 0.0, 1.0);
  settings.bellows.at_a4 = random_between(random, 4.0, 40.0);
  return settings;
}

/// The least cost over every button, direction and air, by plain enumeration; -1 if nothing works.
static long
enumerate(const SrPhrase* const phrase, const SrInstrument* const instrument,
          const SrPlanSettings* const settings, size_t* const buttons,
          SrDirection* const directions, int* const airs, const size_t note)
{
  if (note == sr_phrase_note_count(phrase)) {
    return sr_plan_cost(phrase, instrument, settings, buttons, directions, airs);
  }
  const int midi = sr_phrase_note(phrase, note)->midi;
  const SrDirection asked = sr_phrase_note(phrase, note)->direction;
  long best = -1;
  static const SrDirection both[] = {SR_DIRECTION_PRESS, SR_DIRECTION_DRAW};
  for (size_t b = 0; b < sr_instrument_button_count(instrument); ++b) {
    for (size_t d = 0; d < 2; ++d) {
      if (sr_instrument_midi(instrument, b, both[d]) != midi ||
          (asked != SR_DIRECTION_FREE && asked != both[d])) {
        continue;
      }
      for (int air = 0; air <= 60; air += 20) {
        buttons[note] = b;
        directions[note] = both[d];
        airs[note] = air;
        const long cost =
            enumerate(phrase, instrument, settings, buttons, directions, airs, note + 1);
        best = cost >= 0 && (best < 0 || cost < best) ? cost : best;
      }
    }
  }
  return best;
}

/// What must hold of any plan.
static void
check_plan(const SrPhrase* const phrase, const SrInstrument* const instrument,
           const SrPlanSettings* const settings, const SrPlan* const plan)
{
  long cost = 0;
  int opening = -1;
  size_t* const buttons = (size_t*)calloc(plan->note_count, sizeof(size_t));
  SrDirection* const directions = (SrDirection*)calloc(plan->note_count, sizeof(SrDirection));
  int* const airs = (int*)calloc(plan->note_count, sizeof(int));
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    assert_int_equal(sr_instrument_midi(instrument, note->button, note->direction), written->midi);
    assert_true(written->direction == SR_DIRECTION_FREE || written->direction == note->direction);
    assert_in_range(note->before, 0, SR_BELLOWS_UNITS);
    assert_in_range(note->after, 0, SR_BELLOWS_UNITS);
    assert_true(opening < 0 || note->before == opening);
    assert_true(note->direction == SR_DIRECTION_PRESS ? note->after < note->before
                                                      : note->after > note->before);
    assert_true(note->cut_button < 0 || sr_instrument_midi(instrument, (size_t)note->cut_button,
                                                           note->direction) == note->cut_midi);
    assert_true(note->cut_button != (long)note->button);
    opening = note->after;
    cost += note->cost;
    buttons[i] = note->button;
    directions[i] = note->direction;
    airs[i] = note->air;
  }
  assert_int_equal(cost, plan->cost);
  assert_int_equal(sr_plan_cost(phrase, instrument, settings, buttons, directions, airs), cost);
  free(buttons);
  free(directions);
  free(airs);
}

static void
nothing_is_cheaper_than_the_first_plan(void** const state)
{
  (void)state;
  Random random = {20261125u};
  size_t planned = 0;
  for (int i = 0; i < PHRASES; ++i) {
    SrInstrument* const instrument = random_instrument(&random);
    SrPhrase* const phrase = random_phrase(instrument, &random);
    SrPlanSettings settings = random_settings(&random);
    const size_t count = sr_phrase_note_count(phrase);
    size_t buttons[16];
    SrDirection directions[16];
    int airs[16];
    assert_true(count <= 16);
    SrPlans* plans = NULL;
    const SrStatus status = sr_plan(phrase, instrument, &settings, &plans, NULL);
    const long best = enumerate(phrase, instrument, &settings, buttons, directions, airs, 0);
    if (status == SR_OK) {
      const SrPlan* const plan = sr_plans_get(plans, 0);
      check_plan(phrase, instrument, &settings, plan);
      // Enumeration takes air in steps of 20 only, so that it ends; the search in steps of 10
      assert_true(best < 0 || plan->cost <= best);
      bool coarse = true;
      for (size_t n = 0; n < count; ++n) {
        coarse = coarse && plan->notes[n].air % 20 == 0;
      }
      if (coarse) {
        assert_int_equal(plan->cost, best);
        ++planned;
      }
    } else {
      assert_true(status == SR_UNSUPPORTED);
      assert_int_equal(best, -1);
    }
    sr_plans_del(plans);
    sr_phrase_del(phrase);
    sr_instrument_del(instrument);
  }
  print_message("%zu of %d phrases compared to the last unit of cost\n", planned, PHRASES);
  assert_true(planned > PHRASES / 2);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_is_cheaper_than_the_first_plan),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
