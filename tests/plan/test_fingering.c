// SPDX-License-Identifier: GPL-3.0-or-later

// Plans against the fingering that a good player would use, on the usual box of 30 buttons across
// the rows. All of it is common practice, no source: written down before the planner was asked,
// from what the hand can do. Where two ways are equally good both stand, with a slash between.

#include <steadyreed/plan.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static SrInstrument* instrument;

static SrPhrase*
phrase_of(const char* const music)
{
  char text[512];
  SrPhrase* phrase = NULL;
  SrError error;
  snprintf(text, sizeof(text), "X:1\nM:4/4\nL:1/8\nQ:1/4=150\n%s\n", music);
  if (sr_phrase_read_text(text, strlen(text), "phrase", NULL, &phrase, &error) != SR_OK) {
    print_error("%s\n%s\n", error.message, text);
    fail();
  }
  return phrase;
}

static SrPlanSettings
usual_settings(void)
{
  const SrPlanSettings settings = {.bpm = 150.0,
                                   .bellows = sr_bellows_default(),
                                   .style = sr_plan_style(SR_STYLE_ACROSS),
                                   .plans = 1};
  return settings;
}

static SrPlans*
plans_of(const SrPhrase* const phrase, const SrPlanSettings* const settings)
{
  SrPlans* plans = NULL;
  SrError error = {0};
  if (sr_plan(phrase, instrument, settings, &plans, &error) != SR_OK) {
    print_error("%s\n", error.message);
    fail();
  }
  return plans;
}

static const char*
button_name(const long button)
{
  return button < 0 ? "-" : sr_instrument_button(instrument, (size_t)button)->name;
}

/// Each phrase, and for each of its notes the buttons a player would choose, p for press, d for
/// draw.
static const struct {
  const char* music;
  const char* buttons;
} phrases[] = {
    {"K:D\nFAAd AAFA|]", "L1-2d L2-5d L2-5d R2-2d L2-5d L2-5d L1-2d L2-5d"},
    {"K:D\nDFAF DFAd|]", "L2-3d L1-2d L2-5d L1-2d L2-3d L1-2d L2-5d R2-2d"},
    {"K:G\nGBdB gdBG|]",
     "L2-5p R2-1d/L1-4p R2-2d/L1-5p R2-1d/L1-4p R1-1p R2-2d/L1-5p R2-1d/L1-4p L2-5p"},
    {"K:D\ndefg agfe|defg b2a2|]",
     "R2-2d R2-2p R1-1d R1-1p R1-2d R1-1p R1-1d R2-2p R2-2d R2-2p R1-1d R1-1p R1-2p R1-2d"},
    {"K:D\nABcd cBAB|]", "L2-5d L1-4p R3-1p R2-2d/L1-5p R3-1p L1-4p L2-5d L1-4p/R2-1d"},
    {"K:G\ncBAB AGAB|]", "L1-4d R2-1d L2-5d R2-1d L2-5d L2-5p L2-5d R2-1d"},
    {"K:G\nEFGF EFGA|]", "L2-4p L1-2d L2-5p L1-2d L2-4p L1-2d L2-5p L2-5d"},
    {"K:G\nDEGA BAdB|]", "L2-3d/L1-2p L2-4p L2-5p L2-5d R2-1d L2-5d R2-2d R2-1d"},
    {"K:G\nedBA GABd|]", "R2-2p R2-2d R2-1d L2-5d L2-5p L2-5d R2-1d R2-2d"},
    {"K:G\ngfed BdBG|]", "R1-1p R1-1d R2-2p R2-2d R2-1d R2-2d R2-1d L2-5p"},
    {"K:A\nA2B2 c2d2|]", "L2-5d L1-4p R3-1p R2-2d/L1-5p"},
    {"K:D\nfedc BAFA|]", "R1-1d R2-2p R2-2d/L1-5p R3-1p L1-4p L2-5d L1-2d L2-5d"},
    {"K:G\nB2A2 G2E2|]", "R2-1d L2-5d L2-5p L2-4p"},
    {"K:C\nABcA BGED|]", "L2-5d R2-1d L1-4d L2-5d R2-1d/L1-4p L2-5p L2-4p L2-3d/L1-2p"},
    {"K:G\nG,B,DG BGDB,|]",
     "L2-2p L1-1p/L2-2d L2-3d/L1-2p L2-5p R2-1d/L1-4p L2-5p L2-3d/L1-2p L1-1p/L2-2d"},
    {"K:D\nagfg afge|]", "R1-2d R1-1p R1-1d R1-1p R1-2d R1-1d R1-1p R2-2p"},
    {"K:D\nb2ag fgaf|]", "R1-2p R1-2d R1-1p R1-1d R1-1p R1-2d R1-1d"},
    {"K:G\nABcd cBAG|]", "L2-5d R2-1d L1-4d R2-2d L1-4d R2-1d L2-5d L2-5p"},
    {"K:G\nFGAB cdcA|]", "L1-2d L2-5p L2-5d R2-1d L1-4d R2-2d L1-4d L2-5d"},
    {"K:Em\nEBBE e2dB|]", "L2-4p R2-1d R2-1d L2-4p R2-2p R2-2d R2-1d"},
};

/// Whether a player's choices for a note hold a plan's.
static bool
accepts(const char* const choices, const size_t size, const char* const button)
{
  char all[64];
  snprintf(all, sizeof(all), "/%.*s/", (int)size, choices);
  char one[32];
  snprintf(one, sizeof(one), "/%s/", button);
  return strstr(all, one);
}

/// Notes of a plan that a player would play so; prints the others.
static size_t
count_accepted(const SrPhrase* const phrase, const SrPlan* const plan, const char* wanted)
{
  size_t accepted = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    char own[24];
    const SrPlannedNote* const note = &plan->notes[i];
    snprintf(own, sizeof(own), "%s%c", button_name((long)note->button),
             note->direction == SR_DIRECTION_PRESS ? 'p' : 'd');
    const size_t size = strcspn(wanted, " ");
    assert_true(size > 0);
    if (accepts(wanted, size, own)) {
      ++accepted;
    } else {
      print_message("  note %zu, %s: planned %s, played %.*s\n", i + 1,
                    sr_phrase_note(phrase, i)->name, own, (int)size, wanted);
    }
    wanted += size + (wanted[size] == ' ');
  }
  assert_int_equal(*wanted, '\0');
  return accepted;
}

static void
notes_lie_where_a_player_has_them(void** const state)
{
  (void)state;
  size_t notes = 0;
  size_t accepted = 0;
  for (size_t i = 0; i < sizeof(phrases) / sizeof(phrases[0]); ++i) {
    SrPhrase* const phrase = phrase_of(phrases[i].music);
    const SrPlanSettings settings = usual_settings();
    SrPlans* const plans = plans_of(phrase, &settings);
    const SrPlan* const plan = sr_plans_get(plans, 0);
    const size_t good = count_accepted(phrase, plan, phrases[i].buttons);
    if (good < plan->note_count) {
      print_message("%s: %zu of %zu\n", phrases[i].music, good, plan->note_count);
    }
    notes += plan->note_count;
    accepted += good;
    sr_plans_del(plans);
    sr_phrase_del(phrase);
  }
  print_message("%zu of %zu notes as a player would, %.1f percent; aim 90\n", accepted, notes,
                100.0 * (double)accepted / (double)notes);
  assert_true(10 * accepted >= 9 * notes);
}

/// Cuts as a player would take them: the note, how it must be cut.
static void
cuts_have_strong_free_fingers(void** const state)
{
  (void)state;
  static const struct {
    const char* music;
    size_t note;
    const char* cut;
  } cuts[] = {
      {"K:D\nE{G}E E2|]", 1, "L2-5"}, // the index, in the same row
      {"K:D\nF{A}F F2|]", 1, "L2-5"}, // the index, not the ring beside it
      {"K:D\nF{G}F F2|]", 1, "L2-5"}, // which note is written matters little
      {"K:G\nc2 {c}B2|]", 1, "R2-2"}, // not the button that just sounded
      {"K:D\nA{B}A A2|]", 1, "L1-4"}, // not the other hand
      {"K:D\ne{g}e e2|]", 1, "R1-1"}, {"K:D\nd{f}d d2|]", 1, "R1-1"},
      {"K:D\nf{a}f f2|]", 1, "R1-2"}, {"K:G\nB{d}B B2|]", 1, "R2-2"},
  };
  for (size_t i = 0; i < sizeof(cuts) / sizeof(cuts[0]); ++i) {
    SrPhrase* const phrase = phrase_of(cuts[i].music);
    const SrPlanSettings settings = usual_settings();
    SrPlans* const plans = plans_of(phrase, &settings);
    const SrPlannedNote* const note = &sr_plans_get(plans, 0)->notes[cuts[i].note];
    assert_string_equal(button_name(note->cut_button), cuts[i].cut);
    sr_plans_del(plans);
    sr_phrase_del(phrase);
  }
}

/// The exercises' own cuts: none by the little finger where another can, none by a finger that has
/// just left a button, and the tune's notes lie as they do without cuts.
static void
cuts_never_move_the_tune(void** const state)
{
  (void)state;
  static const char with[] = "K:D\nF{A}FAd {f}dAB{d}B|G{B}GA{c}A F{A}FDE|{G}EFGF E{G}EF{A}F|]";
  static const char without[] = "K:D\nFFAd dABB|GGAA FFDE|EFGF EEFF|]";
  SrPhrase* const one = phrase_of(with);
  SrPhrase* const other = phrase_of(without);
  SrPlanSettings settings = usual_settings();
  settings.style.apart = 0; // it prices what a cut is for
  SrPlans* const a = plans_of(one, &settings);
  SrPlans* const b = plans_of(other, &settings);
  const SrPlan* const cut = sr_plans_get(a, 0);
  const SrPlan* const plain = sr_plans_get(b, 0);
  assert_int_equal(cut->note_count, plain->note_count);
  assert_int_equal(cut->cost, plain->cost);
  size_t cuts = 0;
  for (size_t i = 0; i < cut->note_count; ++i) {
    assert_int_equal(cut->notes[i].button, plain->notes[i].button);
    assert_int_equal(cut->notes[i].direction, plain->notes[i].direction);
    cuts += cut->notes[i].cut_button >= 0;
    assert_true(cut->notes[i].cut_button < 0 || cut->notes[i].cut_finger != SR_FINGER_LITTLE);
  }
  assert_int_equal(cuts, 9);
  sr_plans_del(a);
  sr_plans_del(b);
  sr_phrase_del(one);
  sr_phrase_del(other);
}

static void
a_cut_can_be_pinned(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of("K:D\nA{B}A A2|]");
  SrPlanSettings settings = usual_settings();
  SrPin pin = {1, SR_PIN_AS_WRITTEN, SR_PIN_CUT};
  settings.pins = &pin;
  settings.pin_count = 1;
  SrPlans* plans = plans_of(phrase, &settings);
  assert_int_equal(sr_plans_get(plans, 0)->notes[1].cut_midi, 71);
  sr_plans_del(plans);
  pin.button = sr_instrument_find(instrument, "R2-2");
  plans = plans_of(phrase, &settings);
  assert_string_equal(button_name(sr_plans_get(plans, 0)->notes[1].cut_button), "R2-2");
  sr_plans_del(plans);
  // The low C cannot cut it; nor can a note without a cut have one
  SrError error;
  pin.button = sr_instrument_find(instrument, "L2-1");
  assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "L2-1"));
  pin.note = 0;
  assert_int_equal(sr_plan(phrase, instrument, &settings, &plans, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "no cut"));
  sr_phrase_del(phrase);
}

/// A cut pinned to the button that the first plan gives it can be played, whatever other plans do.
static void
each_cut_can_be_pinned_where_it_is(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of("K:D\nF{A}FAd {f}dAB{d}B|G{B}GA{c}A F{A}FDE|]");
  SrPlanSettings settings = usual_settings();
  settings.plans = SR_MOST_PLANS;
  SrPlans* const plans = plans_of(phrase, &settings);
  const SrPlan* const plan = sr_plans_get(plans, 0);
  size_t cuts = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    if (plan->notes[i].cut_button >= 0) {
      SrPin pin = {i, (size_t)plan->notes[i].cut_button, SR_PIN_CUT};
      settings.pins = &pin;
      settings.pin_count = 1;
      SrPlans* const pinned = plans_of(phrase, &settings);
      assert_int_equal(sr_plans_get(pinned, 0)->notes[i].cut_button, plan->notes[i].cut_button);
      sr_plans_del(pinned);
      ++cuts;
    }
  }
  assert_int_equal(cuts, 6);
  sr_plans_del(plans);
  sr_phrase_del(phrase);
}

/// A finger that must come back across the other hand's note is seen: with the same finger on B and
/// C sharp, one D between them on the left does not make the jump free.
static void
a_hand_remembers_its_last_button(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of("K:D\nB\"_press\"dc|]");
  SrPlanSettings settings = usual_settings();
  const char* const right[] = {"R2-1", "L1-5", "R3-1"};
  const char* const left[] = {"L1-4", "L1-5", "R3-1"};
  const SrDirection draw[] = {SR_DIRECTION_DRAW, SR_DIRECTION_PRESS, SR_DIRECTION_PRESS};
  const SrDirection press[] = {SR_DIRECTION_PRESS, SR_DIRECTION_PRESS, SR_DIRECTION_PRESS};
  const SrFinger index[] = {SR_FINGER_INDEX, SR_FINGER_INDEX, SR_FINGER_INDEX};
  const SrFinger middle[] = {SR_FINGER_MIDDLE, SR_FINGER_INDEX, SR_FINGER_INDEX};
  const int airs[] = {0, 0, 0};
  size_t a[3];
  size_t b[3];
  for (size_t i = 0; i < 3; ++i) {
    a[i] = sr_instrument_find(instrument, right[i]);
    b[i] = sr_instrument_find(instrument, left[i]);
  }
  long costs[2][2];
  for (size_t jump = 0; jump < 2; ++jump) {
    settings.style.jump = jump ? 24 : 0;
    costs[jump][0] = sr_plan_cost(phrase, instrument, &settings, a, draw, index, airs);
    costs[jump][1] = sr_plan_cost(phrase, instrument, &settings, b, press, middle, airs);
  }
  // Two quavers of 0.2 s: half the weight
  assert_int_equal(costs[1][0] - costs[0][0], 12);
  assert_int_equal(costs[1][1] - costs[0][1], 0);
  sr_phrase_del(phrase);
}

/// With a price on the same button, repeated notes alternate where two buttons are near.
static void
repeated_notes_alternate_where_a_style_wants_it(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of("K:G\nGGGG GGGG|]");
  SrPlanSettings settings = usual_settings();
  for (size_t wanted = 0; wanted < 2; ++wanted) {
    settings.style.again = wanted ? 60 : 0;
    settings.style.apart = wanted ? 0 : 20;
    SrPlans* const plans = plans_of(phrase, &settings);
    const SrPlan* const plan = sr_plans_get(plans, 0);
    for (size_t i = 1; i < plan->note_count; ++i) {
      const bool stays = plan->notes[i].button == plan->notes[i - 1].button &&
                         plan->notes[i].finger == plan->notes[i - 1].finger &&
                         plan->notes[i].direction == plan->notes[i - 1].direction;
      assert_true(stays != wanted);
    }
    sr_plans_del(plans);
  }
  sr_phrase_del(phrase);
}

static bool
has_reason(const SrPlan* const plan, const char* const words)
{
  for (size_t i = 0; i < plan->note_count; ++i) {
    if (plan->notes[i].reason && strstr(plan->notes[i].reason, words)) {
      return true;
    }
  }
  return false;
}

static void
reasons_say_what_the_other_way_would_cost(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of("K:D\nABcd cBAB|]");
  SrPlanSettings settings = usual_settings();
  SrPlans* const plans = plans_of(phrase, &settings);
  assert_true(has_reason(sr_plans_get(plans, 0),
                         "B on L1-4: on R2-1 the index would have to jump to the C♯"));
  sr_plans_del(plans);
  sr_phrase_del(phrase);
  // A note with one button only has none, and no reason is given twice
  SrPhrase* const plain = phrase_of("K:D\nEFEF EFEF|EFEF EFEF|]");
  SrPlans* const none = plans_of(plain, &settings);
  for (size_t i = 0; i < sr_plans_get(none, 0)->note_count; ++i) {
    assert_null(sr_plans_get(none, 0)->notes[i].reason);
  }
  sr_plans_del(none);
  sr_phrase_del(plain);
}

/// Octaves and thirds get free fingers in the same direction; what no finger reaches is said.
static void
chords_have_fingers_of_their_own(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of("K:G\n[Gg]2 [Aa]2|[Bd]2 [GBd]2|[G,G]2 [^C,G]2|]");
  const SrPlanSettings settings = usual_settings();
  SrPlans* const plans = plans_of(phrase, &settings);
  const SrPlan* const plan = sr_plans_get(plans, 0);
  size_t without = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    assert_int_equal(note->sound_count, written->chord_count);
    bool taken[2][5] = {{false}};
    taken[sr_instrument_button(instrument, note->button)->hand][note->finger] = true;
    for (size_t s = 0; s < note->sound_count; ++s) {
      const SrPlannedSound* const sound = &note->sounds[s];
      assert_int_equal(sound->midi, written->chord_midi[s]);
      if (sound->button < 0) {
        ++without;
        continue;
      }
      const SrButton* const button = sr_instrument_button(instrument, (size_t)sound->button);
      assert_int_equal(sr_instrument_midi(instrument, (size_t)sound->button, note->direction),
                       sound->midi);
      assert_false(taken[button->hand][sound->finger]);
      taken[button->hand][sound->finger] = true;
    }
  }
  // A low C sharp is on no button of this box
  assert_int_equal(without, 1);
  sr_plans_del(plans);
  sr_phrase_del(phrase);
}

int
main(const int argc, char** const argv)
{
  char path[1024];
  if (argc < 2) {
    return 2;
  }
  snprintf(path, sizeof(path), "%s/30-c-g.json", argv[1]);
  if (sr_instrument_read_file(path, &instrument, NULL) != SR_OK) {
    return 2;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(notes_lie_where_a_player_has_them),
      cmocka_unit_test(cuts_have_strong_free_fingers),
      cmocka_unit_test(cuts_never_move_the_tune),
      cmocka_unit_test(a_cut_can_be_pinned),
      cmocka_unit_test(each_cut_can_be_pinned_where_it_is),
      cmocka_unit_test(a_hand_remembers_its_last_button),
      cmocka_unit_test(repeated_notes_alternate_where_a_style_wants_it),
      cmocka_unit_test(reasons_say_what_the_other_way_would_cost),
      cmocka_unit_test(chords_have_fingers_of_their_own),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  sr_instrument_del(instrument);
  return failed;
}
