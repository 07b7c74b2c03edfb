// SPDX-License-Identifier: GPL-3.0-or-later

// The search against plain enumeration of every way to play a phrase, and what must hold of any
// plan.

#include "random.h"

#include <steadyreed/plan.h>

#include <dirent.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define PHRASES 200

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
  // A third of the phrases are a bar of two notes, and the same bar again
  const bool twice = random_between(random, 0.0, 1.0) < 0.33;
  const int count = twice ? 2 : 2 + (int)random_between(random, 0.0, 2.99);
  const size_t head = strlen(text);
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
  if (twice) {
    char bar[256];
    snprintf(bar, sizeof(bar), "%s", text + head);
    strcat(text, "|");
    strcat(text, bar);
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

/// The neighbour that can take a button instead of its finger: common practice, no source.
static SrFinger
next_finger(const SrFinger finger)
{
  static const SrFinger next[] = {SR_FINGER_THUMB, SR_FINGER_MIDDLE, SR_FINGER_INDEX,
                                  SR_FINGER_MIDDLE, SR_FINGER_RING};
  return next[finger];
}

/// One way to play each note, while all are tried.
typedef struct {
  const SrPhrase* phrase;
  const SrInstrument* instrument;
  const SrPlanSettings* settings;
  size_t buttons[16];
  SrDirection directions[16];
  SrFinger fingers[16];
  int airs[16];
} Attempt;

/// The least cost over every button, direction, finger and air, by plain enumeration; -1 if nothing
/// works.
static long
enumerate(Attempt* const a, const size_t note)
{
  if (note == sr_phrase_note_count(a->phrase)) {
    return sr_plan_cost(a->phrase, a->instrument, a->settings, a->buttons, a->directions,
                        a->fingers, a->airs);
  }
  const int midi = sr_phrase_note(a->phrase, note)->midi;
  const SrDirection asked = sr_phrase_note(a->phrase, note)->direction;
  long best = -1;
  static const SrDirection both[] = {SR_DIRECTION_PRESS, SR_DIRECTION_DRAW};
  for (size_t b = 0; b < sr_instrument_button_count(a->instrument); ++b) {
    for (size_t d = 0; d < 4; ++d) {
      if (sr_instrument_midi(a->instrument, b, both[d % 2]) != midi ||
          (asked != SR_DIRECTION_FREE && asked != both[d % 2])) {
        continue;
      }
      const SrFinger own = sr_instrument_button(a->instrument, b)->finger;
      for (int air = 0; air <= 20; air += 20) {
        a->buttons[note] = b;
        a->directions[note] = both[d % 2];
        a->fingers[note] = d < 2 ? own : next_finger(own);
        a->airs[note] = air;
        const long cost = enumerate(a, note + 1);
        best = cost >= 0 && (best < 0 || cost < best) ? cost : best;
      }
    }
  }
  return best;
}

/// What must hold of the button of a cut or strike.
static void
check_cut(const SrInstrument* const instrument, const SrPhraseNote* const written,
          const SrPlannedNote* const before, const SrPlannedNote* const note)
{
  if (note->cut_button < 0) {
    assert_int_equal(note->cut_midi, -1);
    return;
  }
  const SrButton* const cut = sr_instrument_button(instrument, (size_t)note->cut_button);
  const SrButton* const own = sr_instrument_button(instrument, note->button);
  const int midi = sr_instrument_midi(instrument, (size_t)note->cut_button, note->direction);
  const int step = written->cut_midi > written->midi ? midi - written->midi : written->midi - midi;
  assert_true(written->cut_midi >= 0);
  assert_int_equal(midi, note->cut_midi);
  assert_in_range(step, 1, SR_GRACE_MOST_STEP);
  assert_int_equal(note->cut_finger, cut->finger);
  assert_true(cut->hand != own->hand || cut->finger != note->finger);
  assert_true(!before || note->cut_button != (long)before->button);
}

/// What must hold of any plan.
static void
check_plan(const SrPhrase* const phrase, const SrInstrument* const instrument,
           const SrPlanSettings* const settings, const SrPlan* const plan)
{
  long cost = plan->unlike_cost;
  int opening = -1;
  size_t* const buttons = (size_t*)calloc(plan->note_count, sizeof(size_t));
  SrDirection* const directions = (SrDirection*)calloc(plan->note_count, sizeof(SrDirection));
  SrFinger* const fingers = (SrFinger*)calloc(plan->note_count, sizeof(SrFinger));
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
    check_cut(instrument, written, i > 0 ? &plan->notes[i - 1] : NULL, note);
    assert_true(note->hand_cost >= 0 && note->hand_cost <= note->cost);
    opening = note->after;
    cost += note->cost;
    buttons[i] = note->button;
    directions[i] = note->direction;
    fingers[i] = note->finger;
    airs[i] = note->air;
  }
  assert_int_equal(cost, plan->cost);
  assert_int_equal(sr_plan_cost(phrase, instrument, settings, buttons, directions, fingers, airs),
                   cost);
  free(buttons);
  free(directions);
  free(fingers);
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
    Attempt attempt = {.phrase = phrase, .instrument = instrument, .settings = &settings};
    assert_true(count <= 16);
    SrPlans* plans = NULL;
    const SrStatus status = sr_plan(phrase, instrument, &settings, &plans, NULL);
    const long best = enumerate(&attempt, 0);
    if (status == SR_OK) {
      const SrPlan* const plan = sr_plans_get(plans, 0);
      check_plan(phrase, instrument, &settings, plan);
      // Enumeration takes air of 20 or none, so that it ends; the search in steps of 10
      assert_true(best < 0 || plan->cost <= best);
      bool coarse = true;
      for (size_t n = 0; n < count; ++n) {
        coarse = coarse && plan->notes[n].air % 20 == 0 && plan->notes[n].air <= 20;
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

static const char* layouts_folder;
static const char* exercises_folder;

static SrInstrument*
shipped(const char* const name)
{
  char path[1024];
  SrInstrument* instrument = NULL;
  snprintf(path, sizeof(path), "%s/%s.json", layouts_folder, name);
  assert_int_equal(sr_instrument_read_file(path, &instrument, NULL), SR_OK);
  return instrument;
}

/// A tune of the inner row and some neighbours, in C; five semitones lower it lies alike on G and
/// D.
static const char tune_c[] = "X:1\nM:4/4\nL:1/8\nQ:1/4=100\nK:C\n"
                             "CDEF GABc|c2 BA GFED|E{G}EGE F{A}FAF|G4 \"^air\"A4|"
                             "cBcd edcB|A{c}AGF E2 D2|CEGc BGFD|E2 D2 C4|]\n";
static const char tune_g[] = "X:1\nM:4/4\nL:1/8\nQ:1/4=100\nK:G\n"
                             "G,A,B,C DEFG|G2 FE DCB,A,|B,{D}B,DB, C{E}CEC|D4 \"^air\"E4|"
                             "GFGA BAGF|E{G}EDC B,2 A,2|G,B,DG FDCA,|B,2 A,2 G,4|]\n";

static SrPlanSettings
usual_settings(const size_t plans)
{
  const SrPlanSettings settings = {.bpm = 100.0,
                                   .bellows = sr_bellows_default(),
                                   .style = sr_plan_style(SR_STYLE_ACROSS),
                                   .plans = plans};
  return settings;
}

/// Random bars in the order a b a b a, so that each stands there twice at least.
static SrPhrase*
random_bars(Random* const random)
{
  static const char* const letters[] = {"G,", "A,", "B,", "C", "D", "E", "F", "G",
                                        "A",  "B",  "c",  "d", "e", "f", "g"};
  char bars[2][64] = {"", ""};
  for (int bar = 0; bar < 2; ++bar) {
    for (int i = 0; i < 4; ++i) {
      strcat(bars[bar], letters[(int)random_between(random, 0.0, 14.99)]);
      strcat(bars[bar], random_between(random, 0.0, 1.0) < 0.1 ? "\"^air\"" : "");
    }
  }
  char text[512];
  snprintf(text, sizeof(text), "X:1\nM:2/4\nL:1/8\nK:C\n%s|%s|%s|%s|%s|]\n", bars[0], bars[1],
           bars[0], bars[1], bars[0]);
  return phrase_of(text);
}

/// How many of the notes are played otherwise than in the bar of the first two that is like theirs.
static size_t
count_unlike(const SrPlan* const plan)
{
  size_t unlike = 0;
  for (size_t i = 8; i < plan->note_count; ++i) {
    const SrPlannedNote* const a = &plan->notes[i % 8];
    const SrPlannedNote* const b = &plan->notes[i];
    unlike += a->button != b->button || a->direction != b->direction ? 1 : 0;
  }
  return unlike;
}

static void
equal_bars_are_played_alike_for_little_more(void** const state)
{
  (void)state;
  Random random = {7u};
  size_t were_unlike = 0;
  size_t made_alike = 0;
  SrInstrument* const instrument = shipped("30-c-g");
  for (int i = 0; i < PHRASES; ++i) {
    SrPhrase* const phrase = random_bars(&random);
    SrPlanSettings settings = usual_settings(1);
    settings.style = sr_plan_style((size_t)(i % 2));
    settings.bpm = random_between(&random, 60.0, 140.0);
    const int unlike[] = {0, settings.style.unlike, 10000};
    long costs[3];
    size_t notes[3];
    for (size_t k = 0; k < 3; ++k) {
      settings.style.unlike = unlike[k];
      SrPlans* plans = NULL;
      assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, NULL), SR_OK);
      const SrPlan* const plan = sr_plans_get(plans, 0);
      check_plan(phrase, instrument, &settings, plan);
      costs[k] = plan->cost - plan->unlike_cost;
      notes[k] = count_unlike(plan);
      assert_true((plan->unlike_cost > 0) == (notes[k] && unlike[k]));
      sr_plans_del(plans);
    }
    were_unlike += notes[0] ? 1 : 0;
    made_alike += notes[0] && !notes[1] ? 1 : 0;
    // Three bars at most are changed
    assert_true(costs[1] >= costs[0] && costs[1] <= costs[0] + 3L * unlike[1]);
    assert_true(costs[2] >= costs[0]);
    // At any price; these five bars never run out of bellows
    assert_int_equal(notes[2], 0);
    sr_phrase_del(phrase);
  }
  sr_instrument_del(instrument);
  print_message("of %d, %zu have unlike bars at the least cost; %zu of these are made alike\n",
                PHRASES, were_unlike, made_alike);
  assert_true(were_unlike > 20 && made_alike > were_unlike / 2);
}

/// Read a layout's text with every word given exchanged for the other.
static SrInstrument*
exchanged(const char* const name, const char* const one, const char* const other)
{
  char path[1024];
  snprintf(path, sizeof(path), "%s/%s.json", layouts_folder, name);
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  static char text[32768];
  static char out[32768];
  const size_t size = fread(text, 1, sizeof(text) - 1, file);
  text[size] = '\0';
  fclose(file);
  size_t at = 0;
  for (const char* c = text; *c;) {
    const char* const to = !strncmp(c, one, strlen(one))       ? other
                           : !strncmp(c, other, strlen(other)) ? one
                                                               : NULL;
    if (to) {
      at += (size_t)snprintf(out + at, sizeof(out) - at, "%s", to);
      c += to == other ? strlen(one) : strlen(other);
    } else {
      out[at++] = *c++;
    }
  }
  out[at] = '\0';
  return instrument_of(out);
}

/// Play a plan on another instrument: the buttons of other names, or the other direction. Its cost.
static long
cost_of_mirrored(const SrPhrase* const phrase, const SrInstrument* const from,
                 const SrInstrument* const to, const SrPlanSettings* const settings,
                 const SrPlan* const plan, const bool hands)
{
  size_t* const buttons = (size_t*)calloc(plan->note_count, sizeof(size_t));
  SrDirection* const directions = (SrDirection*)calloc(plan->note_count, sizeof(SrDirection));
  SrFinger* const fingers = (SrFinger*)calloc(plan->note_count, sizeof(SrFinger));
  int* const airs = (int*)calloc(plan->note_count, sizeof(int));
  for (size_t i = 0; i < plan->note_count; ++i) {
    char name[16];
    snprintf(name, sizeof(name), "%s", sr_instrument_button(from, plan->notes[i].button)->name);
    name[0] = !hands ? name[0] : name[0] == 'L' ? 'R' : 'L';
    buttons[i] = sr_instrument_find(to, name);
    const bool press = (plan->notes[i].direction == SR_DIRECTION_PRESS) == hands;
    directions[i] = press ? SR_DIRECTION_PRESS : SR_DIRECTION_DRAW;
    fingers[i] = plan->notes[i].finger;
    airs[i] = plan->notes[i].air;
  }
  const long cost = sr_plan_cost(phrase, to, settings, buttons, directions, fingers, airs);
  free(buttons);
  free(directions);
  free(fingers);
  free(airs);
  return cost;
}

/// Left for right, or press for draw: the plan is the mirrored plan.
static void
mirrored_layouts_have_mirrored_plans(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(tune_c);
  SrInstrument* const plain = shipped("30-c-g");
  for (int hands = 0; hands < 2; ++hands) {
    SrInstrument* const mirror = hands ? exchanged("30-c-g", "\"left\"", "\"right\"")
                                       : exchanged("30-c-g", "\"press\"", "\"draw\"");
    SrPlanSettings settings = usual_settings(1);
    settings.style.pitch_count = 0; // homes are no mirror's matter
    settings.bellows.start = 0.4;
    SrPlans* plans = NULL;
    assert_int_equal(sr_plan(phrase, plain, &settings, &plans, NULL), SR_OK);
    SrPlanSettings other = settings;
    other.bellows.start = hands ? 0.4 : 0.6;
    SrPlans* mirrored = NULL;
    assert_int_equal(sr_plan(phrase, mirror, &other, &mirrored, NULL), SR_OK);
    const SrPlan* const plan = sr_plans_get(plans, 0);
    assert_int_equal(sr_plans_get(mirrored, 0)->cost, plan->cost);
    assert_int_equal(cost_of_mirrored(phrase, plain, mirror, &other, plan, hands), plan->cost);
    sr_plans_del(plans);
    sr_plans_del(mirrored);
    sr_instrument_del(mirror);
  }
  sr_instrument_del(plain);
  sr_phrase_del(phrase);
}

/// The same tune a fourth lower on the box a fourth lower lies under the same buttons.
static void
transposed_boxes_play_transposed_tunes_alike(void** const state)
{
  (void)state;
  SrPhrase* const high = phrase_of(tune_c);
  SrPhrase* const low = phrase_of(tune_g);
  SrInstrument* const c_g = shipped("30-c-g");
  SrInstrument* const g_d = shipped("30-g-d");
  SrPlanSettings settings = usual_settings(1);
  settings.bellows.octave_power = 0.0;
  SrPlans* one = NULL;
  SrPlans* two = NULL;
  assert_int_equal(sr_plan(high, c_g, &settings, &one, NULL), SR_OK);
  assert_int_equal(sr_plan(low, g_d, &settings, &two, NULL), SR_OK);
  const SrPlan* const a = sr_plans_get(one, 0);
  const SrPlan* const b = sr_plans_get(two, 0);
  assert_int_equal(a->note_count, b->note_count);
  assert_int_equal(a->cost, b->cost);
  for (size_t i = 0; i < a->note_count; ++i) {
    assert_string_equal(sr_instrument_button(c_g, a->notes[i].button)->name,
                        sr_instrument_button(g_d, b->notes[i].button)->name);
    assert_int_equal(a->notes[i].direction, b->notes[i].direction);
  }
  sr_plans_del(one);
  sr_plans_del(two);
  sr_instrument_del(c_g);
  sr_instrument_del(g_d);
  sr_phrase_del(high);
  sr_phrase_del(low);
}

/// On a C/G box the scale of the C row lies in alternate press and draw, from its C up to its A
/// (common practice, no source).
static void
the_scale_along_the_row_alternates(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of("X:1\nM:4/4\nL:1/4\nQ:1/4=80\nK:C\nCDEF|GA|]\n");
  SrInstrument* const instrument = shipped("20-c-g");
  SrPlanSettings settings = usual_settings(1);
  settings.style = sr_plan_style(SR_STYLE_ALONG);
  settings.style.row = 1000;
  settings.style.turn = settings.style.turn_held = 0;
  SrPin pin = {0, sr_instrument_find(instrument, "L2-3"), SR_PIN_NOTE};
  settings.pins = &pin;
  settings.pin_count = 1;
  SrPlans* plans = NULL;
  assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, NULL), SR_OK);
  const SrPlan* const plan = sr_plans_get(plans, 0);
  for (size_t i = 0; i < plan->note_count; ++i) {
    assert_int_equal(sr_instrument_button(instrument, plan->notes[i].button)->row, 2);
    assert_int_equal(plan->notes[i].direction, i % 2 ? SR_DIRECTION_DRAW : SR_DIRECTION_PRESS);
  }
  sr_plans_del(plans);
  sr_instrument_del(instrument);
  sr_phrase_del(phrase);
}

static void
pins_hold_and_plans_are_other(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(tune_c);
  SrInstrument* const instrument = shipped("30-c-g");
  SrPlanSettings settings = usual_settings(3);
  SrPin pins[] = {{5, sr_instrument_find(instrument, "L1-3"), SR_PIN_NOTE},
                  {0, sr_instrument_find(instrument, "L2-3"), SR_PIN_NOTE}};
  settings.pins = pins;
  settings.pin_count = 2;
  SrPlans* plans = NULL;
  assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, NULL), SR_OK);
  assert_int_equal(sr_plans_count(plans), 3);
  for (size_t p = 0; p < 3; ++p) {
    const SrPlan* const plan = sr_plans_get(plans, p);
    check_plan(phrase, instrument, &settings, plan);
    assert_int_equal(plan->notes[5].button, pins[0].button);
    assert_int_equal(plan->notes[0].button, pins[1].button);
    assert_true(plan->cost >= sr_plans_get(plans, 0)->cost);
    for (size_t q = 0; q < p; ++q) {
      size_t others = 0;
      for (size_t i = 0; i < plan->note_count; ++i) {
        others += plan->notes[i].button != sr_plans_get(plans, q)->notes[i].button;
      }
      assert_true(6 * others >= plan->note_count);
    }
  }
  sr_plans_del(plans);
  // A button that does not sound the note
  pins[0].button = sr_instrument_find(instrument, "R1-5");
  SrError error;
  assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "R1-5"));
  assert_null(plans);
  // Two that contradict each other
  pins[0] = (SrPin){0, sr_instrument_find(instrument, "L3-3"), SR_PIN_NOTE};
  assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, &error), SR_BAD_ARGUMENT);
  assert_non_null(strstr(error.message, "L3-3"));
  assert_non_null(strstr(error.message, "L2-3"));
  sr_instrument_del(instrument);
  sr_phrase_del(phrase);
}

static void
what_cannot_be_played_is_named(void** const state)
{
  (void)state;
  SrInstrument* const instrument = shipped("20-c-g");
  SrPhrase* const flat = phrase_of("X:1\nM:4/4\nL:1/4\nK:C\nCDEF|G_AGF|]\n");
  SrPlanSettings settings = usual_settings(1);
  SrPlans* plans = NULL;
  SrError error;
  assert_int_equal(sr_plan(flat, instrument, &settings, &plans, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "Bar 2"));
  assert_non_null(strstr(error.message, "A♭4"));
  assert_non_null(strstr(error.message, "G4 and A4"));
  // Forty seconds on the press without a note that could be drawn
  SrPhrase* const pressed = phrase_of(
      "X:1\nM:4/4\nL:1/1\nQ:1/4=24\nK:C\n\"_press\"C\"_press\"C|\"_press\"C\"_press\"C|]\n");
  settings.bpm = 24.0;
  assert_int_equal(sr_plan(pressed, instrument, &settings, &plans, &error), SR_UNSUPPORTED);
  assert_non_null(strstr(error.message, "run out"));
  sr_phrase_del(pressed);
  sr_phrase_del(flat);
  sr_instrument_del(instrument);
}

/// Slower, the same phrase needs air where it needed none.
static void
tempo_changes_the_plan(void** const state)
{
  (void)state;
  SrInstrument* const instrument = shipped("30-c-g");
  SrPhrase* const phrase = phrase_of(
      "X:1\nM:4/4\nL:1/4\nK:C\n\"_press\"C\"_press\"E\"_press\"G\"_press\"c|\"_press\"G\"_press\"E"
      "\"_press\"C\"_press\"E|\"_draw\"A4|\"_press\"C\"_press\"E\"_press\"G\"_press\"c|\"_"
      "press\"G\"_press\"E"
      "\"_press\"C\"_press\"E|\"_draw\"A4|]\n");
  SrPlanSettings settings = usual_settings(1);
  settings.bellows.start = 0.9;
  size_t airs[2];
  for (int slow = 0; slow < 2; ++slow) {
    settings.bpm = slow ? 70.0 : 200.0;
    SrPlans* plans = NULL;
    assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, NULL), SR_OK);
    check_plan(phrase, instrument, &settings, sr_plans_get(plans, 0));
    airs[slow] = sr_plans_get(plans, 0)->airs;
    sr_plans_del(plans);
  }
  assert_int_equal(airs[0], 0);
  assert_true(airs[1] > 0);
  sr_phrase_del(phrase);
  sr_instrument_del(instrument);
}

/// Strokes of a box that uses exactly so much are fitted exactly, and those that scatter nearly.
static void
bellows_are_fitted(void** const state)
{
  (void)state;
  static const int midis[] = {55, 67, 79, 62};
  SrStroke strokes[4];
  for (size_t i = 0; i < 4; ++i) {
    strokes[i] =
        (SrStroke){midis[i], SR_BELLOWS_UNITS / (9.5 * pow(2.0, 0.7 * (69.0 - midis[i]) / 12.0))};
  }
  SrBellows bellows = sr_bellows_default();
  double uncertainty;
  assert_int_equal(sr_bellows_fit(strokes, 4, &bellows, &uncertainty), SR_OK);
  assert_true(fabs(bellows.at_a4 - 9.5) < 1e-6);
  assert_true(fabs(bellows.octave_power - 0.7) < 1e-6);
  assert_true(uncertainty < 1e-6);
  strokes[1].seconds *= 1.1;
  assert_int_equal(sr_bellows_fit(strokes, 4, &bellows, &uncertainty), SR_OK);
  assert_true(fabs(bellows.at_a4 - 9.5) < 0.5);
  assert_true(uncertainty > 0.02 && uncertainty < 0.2);
  // On one pitch, nothing is said of others
  bellows = sr_bellows_default();
  assert_int_equal(sr_bellows_fit(strokes, 1, &bellows, &uncertainty), SR_OK);
  assert_true(fabs(bellows.octave_power - sr_bellows_default().octave_power) < 1e-12);
  assert_true(isnan(uncertainty));
  assert_int_equal(sr_bellows_fit(strokes, 0, &bellows, &uncertainty), SR_BAD_ARGUMENT);
}

/// The shipped style files are what the program holds.
static void
styles_are_what_their_files_say(void** const state)
{
  (void)state;
  static const char* const names[SR_PLAN_STYLES] = {"across", "along"};
  for (size_t i = 0; i < SR_PLAN_STYLES; ++i) {
    char path[1024];
    snprintf(path, sizeof(path), "%s/../styles/%s.json", layouts_folder, names[i]);
    SrPlanStyle read;
    assert_int_equal(sr_plan_style_read(path, &read, NULL), SR_OK);
    const SrPlanStyle own = sr_plan_style(i);
    assert_string_equal(read.name, own.name);
    assert_memory_equal(&read.second, &own.second,
                        offsetof(SrPlanStyle, pitch_count) - offsetof(SrPlanStyle, second));
    assert_int_equal(read.pitch_count, own.pitch_count);
    for (size_t p = 0; p < own.pitch_count; ++p) {
      assert_int_equal(read.pitches[p].midi, own.pitches[p].midi);
      for (size_t h = 0; h < SR_HOMES_EACH; ++h) {
        assert_string_equal(read.pitches[p].homes[h].button, own.pitches[p].homes[h].button);
        assert_int_equal(read.pitches[p].homes[h].direction, own.pitches[p].homes[h].direction);
      }
    }
  }
  // What is wrong is refused by name
  static const struct {
    const char* text;
    SrStatus status;
    const char* named;
  } wrong[] = {
      {"\"version\": 2, \"leap\": 3", SR_BAD_SYNTAX, "leap"},
      {"\"version\": 2, \"jump\": -3", SR_BAD_SYNTAX, "jump"},
      {"\"version\": 2, \"homes\": {\"H4\": [\"L2-5 draw\"]}", SR_BAD_SYNTAX, "H4"},
      {"\"version\": 2, \"homes\": {\"A4\": [\"L2-5 pull\"]}", SR_BAD_SYNTAX, "A4"},
      {"\"version\": 2, \"homes\": {\"A4\": []}", SR_BAD_SYNTAX, "A4"},
      {"\"version\": 2, \"homes\": 3", SR_BAD_SYNTAX, "homes"},
      {"\"version\": 1, \"jump\": 3", SR_UNSUPPORTED, "version 1"},
      {"\"version\": 3", SR_BAD_SYNTAX, "version"},
  };
  for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); ++i) {
    char path[] = "/tmp/style-XXXXXX";
    const int descriptor = mkstemp(path);
    FILE* const file = fdopen(descriptor, "w");
    fprintf(file, "{\"format\": \"steadyreed-style\", %s}", wrong[i].text);
    fclose(file);
    SrPlanStyle style;
    SrError error;
    assert_int_equal(sr_plan_style_read(path, &style, &error), wrong[i].status);
    assert_non_null(strstr(error.message, wrong[i].named));
    remove(path);
  }
}

/// Each shipped exercise can be played on the usual box, in both styles, at its own tempo.
static void
every_exercise_has_a_plan(void** const state)
{
  (void)state;
  SrInstrument* const instrument = shipped("30-c-g");
  DIR* const folder = opendir(exercises_folder);
  assert_non_null(folder);
  size_t seen = 0;
  for (const struct dirent* entry; (entry = readdir(folder));) {
    const char* const dot = strrchr(entry->d_name, '.');
    if (!dot || strcmp(dot, ".abc")) {
      continue;
    }
    char path[1024];
    snprintf(path, sizeof(path), "%s/%s", exercises_folder, entry->d_name);
    SrPhrase* phrase = NULL;
    assert_int_equal(sr_phrase_read_file(path, NULL, &phrase, NULL), SR_OK);
    for (size_t style = 0; style < SR_PLAN_STYLES; ++style) {
      SrPlanSettings settings = usual_settings(3);
      settings.style = sr_plan_style(style);
      settings.bpm = sr_phrase_tempo(phrase) > 0.0 ? sr_phrase_tempo(phrase) : 90.0;
      SrPlans* plans = NULL;
      SrError error = {0};
      if (sr_plan(phrase, instrument, &settings, &plans, &error) != SR_OK) {
        print_error("%s: %s\n", entry->d_name, error.message);
        fail();
      }
      for (size_t p = 0; p < sr_plans_count(plans); ++p) {
        check_plan(phrase, instrument, &settings, sr_plans_get(plans, p));
        assert_true(p == 0 || sr_plans_get(plans, p - 1)->cost <= sr_plans_get(plans, p)->cost);
      }
      assert_true((sr_plans_count(plans) < 3) == (sr_plans_fewer(plans) != NULL));
      if (sr_plans_fewer(plans)) {
        print_message("%s: %s\n", entry->d_name, sr_plans_fewer(plans));
      }
      sr_plans_del(plans);
    }
    sr_phrase_del(phrase);
    ++seen;
  }
  closedir(folder);
  assert_true(seen >= 12);
  sr_instrument_del(instrument);
}

int
main(const int argc, char** const argv)
{
  if (argc < 3) {
    return 2;
  }
  layouts_folder = argv[1];
  exercises_folder = argv[2];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_is_cheaper_than_the_first_plan),
      cmocka_unit_test(equal_bars_are_played_alike_for_little_more),
      cmocka_unit_test(mirrored_layouts_have_mirrored_plans),
      cmocka_unit_test(transposed_boxes_play_transposed_tunes_alike),
      cmocka_unit_test(the_scale_along_the_row_alternates),
      cmocka_unit_test(pins_hold_and_plans_are_other),
      cmocka_unit_test(what_cannot_be_played_is_named),
      cmocka_unit_test(tempo_changes_the_plan),
      cmocka_unit_test(bellows_are_fitted),
      cmocka_unit_test(styles_are_what_their_files_say),
      cmocka_unit_test(every_exercise_has_a_plan),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
