// SPDX-License-Identifier: GPL-3.0-or-later

// Whatever happens about rounds while a phrase is practised.

#include "extent.h"
#include "reported.h"

#include "played.h"
#include "random.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char jig[] = "X:1\nT:Before the Session\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";
static const char rests[] = "X:1\nT:With Rests\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                            "A{c}Az d2z|z6|BGE z3|z6|F{A}FD E2z|D3 z3|]\n";
#define NOTES 22u
#define CHUNK 240u
/// RMS of the hiss of a cheap microphone
#define HISS 0.012f
/// Words taken for a note, in somewhat over two minutes of talk.
#define MOST_TOLD_IN_TALK 24u
/// … and for new beginnings.
#define MOST_BEGUN_IN_TALK 2u

static SrPhrase* phrase;
static TakePlan plan;

static int
begin(void** const state)
{
  (void)state;
  phrase = played_phrase(jig);
  plan = take_plan_default();
  plan.seed = 3;
  plan.bpm = 100.0;
  plan.floor_db = -60.0;
  plan.rt60_s = 0.3;
  plan.direct_db = 11.0;
  return 0;
}

static int
end(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  return 0;
}

static Reported
listen(const Scene* const scene)
{
  SrLiveSettings settings = sr_live_settings_default();
  settings.rate_hz = scene->rate_hz;
  return reported_of(phrase, &settings, scene, CHUNK);
}

/// A scene of one take, reported.
static Reported
listen_to_plan(void)
{
  Take* const take = take_make(phrase, &plan);
  assert_non_null(take);
  Scene scene = scene_of_take(take);
  Reported reported = listen(&scene);
  scene_free(&scene);
  take_del(take);
  return reported;
}

/// All notes of a round were reported while it went on, once each, and last as they came out.
static void
assert_reported(const Reported* const reported, const unsigned round_number,
                const SrRound* const round)
{
  SrNoteStatus last[64];
  bool any[64] = {false};
  for (size_t i = 0; i < reported->count; ++i) {
    const SrNews* const news = &reported->news[i];
    if (news->round == round_number &&
        (news->kind == SR_NEWS_NOTE || news->kind == SR_NEWS_AMENDED)) {
      // Amended is what was reported before
      assert_int_equal(news->kind == SR_NEWS_AMENDED, any[news->note.index]);
      any[news->note.index] = true;
      last[news->note.index] = news->note.status;
    } else if (news->round == round_number && news->kind == SR_NEWS_AGAIN) {
      for (size_t n = 0; n < 64; ++n) {
        any[n] = false;
      }
    }
  }
  for (size_t i = 0; i < round->note_count; ++i) {
    assert_true(any[i]);
    assert_int_equal(last[i], round->notes[i].status);
  }
}

static void
one_round(void** const state)
{
  (void)state;
  Reported reported = listen_to_plan();
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  assert_int_equal(reported_count(&reported, SR_NEWS_AGAIN), 0);
  assert_int_equal(reported_count(&reported, SR_NEWS_NOTHING), 0);
  const SrRound* const round = reported_round(&reported, 0);
  assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), NOTES);
  assert_int_equal(round->slip_count, 0);
  assert_reported(&reported, 1, round);
  reported_free(&reported);
}

static void
false_start(void** const state)
{
  (void)state;
  plan.false_start = true;
  Reported reported = listen_to_plan();
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  assert_true(
      reported_count(&reported, SR_NEWS_AGAIN) + reported_count(&reported, SR_NEWS_NOTHING) > 0);
  const SrRound* const round = reported_round(&reported, 0);
  assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), NOTES);
  assert_false(reported_slip(round, SR_SLIP_STOPPED));
  assert_int_equal(round->insertion_count, 0);
  reported_free(&reported);
}

static void
speech_between(void** const state)
{
  (void)state;
  plan.rounds = 2;
  plan.speech = true;
  plan.pause_s = 1.0;
  Reported reported = listen_to_plan();
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
  for (size_t r = 0; r < 2; ++r) {
    assert_int_equal(reported_notes(reported_round(&reported, r), SR_NOTE_PLAYED), NOTES);
  }
  assert_true(reported_round(&reported, 1)->start_s > reported_round(&reported, 0)->end_s + 4.0);
  reported_free(&reported);
}

/// A round nearly as long as what is kept of the stream: it begins to be heard again while its
/// beginning is on the point of being forgotten.
static void
long_round(void** const state)
{
  (void)state;
  if (SLOW) {
    skip();
  }
  char abc[4096] = "X:1\nT:Long Way Home\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n";
  for (int i = 0; i < 16; ++i) {
    strcat(abc, "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|\n");
  }
  strcat(abc, "]\n");
  sr_phrase_del(phrase);
  phrase = played_phrase(abc);
  plan.bpm = 50.2; // 128 pulses take 153 s, and the last 16 notes 7 s of these
  Scene scene = scene_make(178.0);
  scene_play(&scene, phrase, &plan, 20.0);
  Reported reported = listen(&scene);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  const SrRound* const round = reported_round(&reported, 0);
  assert_int_equal(round->note_count, 16 * NOTES);
  assert_true(reported_notes(round, SR_NOTE_PLAYED) >= 16 * NOTES - 2);
  reported_free(&reported);
  scene_free(&scene);
}

/// Talk between rounds, the instrument known by then: of all that is said, hardly a word may be
/// reported as the first note of a round.
static void
long_words_are_no_notes(void** const state)
{
  (void)state;
  if (SLOW) {
    skip();
  }
  size_t reported_in_talk = 0;
  size_t begun_in_talk = 0;
  double talk_s = 0.0;
  for (unsigned seed = 1; seed <= 12; ++seed) {
    plan.seed = seed;
    plan.kind = seed % 2 ? REEDS_MADE : REEDS_HARMONICA;
    Scene scene = scene_make(22.0);
    const double from_s = scene_play(&scene, phrase, &plan, 0.5) + 1.0;
    const double to_s = from_s + 12.0;
    if (!scene_add_speech(&scene, from_s, to_s)) {
      scene_free(&scene);
      skip();
    }
    Reported reported = listen(&scene);
    assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
    for (size_t i = 0; i < reported.count; ++i) {
      const SrNews* const news = &reported.news[i];
      reported_in_talk += news->kind == SR_NEWS_NOTE && news->note.onset_s > from_s;
      begun_in_talk += news->kind == SR_NEWS_AGAIN && news->at_s > from_s;
    }
    talk_s += to_s - from_s;
    reported_free(&reported);
    scene_free(&scene);
  }
  print_message("%zu notes and %zu new beginnings told in %.0f s of talk\n", reported_in_talk,
                begun_in_talk, talk_s);
  assert_true(reported_in_talk <= MOST_TOLD_IN_TALK);
  assert_true(begun_in_talk <= MOST_BEGUN_IN_TALK);
}

/// A word is reported as the first note, and then that is played with no pause between: it is
/// reported again, and nothing else is reported twice.
static void
long_begins_behind_a_word(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Round the Stove\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                         "FAd f{a}fd|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n");
  for (unsigned seed = 1; seed <= (SLOW ? 1u : 4u); ++seed) {
    plan.seed = seed;
    Scene scene = scene_make(18.0);
    const double from_s = scene_play(&scene, phrase, &plan, 0.5) + 1.0;
    Take* const take = take_make(phrase, &plan);
    assert_non_null(take);
    const double word_s = from_s + take->rounds[0].notes[0].onset_s - 0.4;
    take_del(take);
    scene_add_note(&scene, sr_phrase_note(phrase, 0)->midi, word_s, word_s + 0.15);
    scene_play(&scene, phrase, &plan, from_s);
    Reported reported = listen(&scene);
    assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
    assert_int_equal(reported_notes(reported_round(&reported, 1), SR_NOTE_PLAYED), NOTES);
    size_t times[NOTES] = {0};
    double onset_s = 0.0;
    for (size_t i = 0; i < reported.count; ++i) {
      const SrNews* const news = &reported.news[i];
      if (news->round == 2 && news->kind == SR_NEWS_NOTE) {
        ++times[news->note.index];
        onset_s = news->note.index == 0 ? news->note.onset_s : onset_s;
      }
    }
    assert_int_equal(times[0], 2);
    assert_true(fabs(onset_s - reported_round(&reported, 1)->notes[0].onset_s) < 0.03);
    for (size_t i = 1; i < NOTES; ++i) {
      assert_int_equal(times[i], 1);
    }
    reported_free(&reported);
    scene_free(&scene);
  }
}

static void
stops_half_way(void** const state)
{
  (void)state;
  plan.stop_early = true;
  // In the middle of practice, so that the silence ends it, and not the end of the samples
  Scene scene = scene_make(14.0);
  const double end_s = scene_play(&scene, phrase, &plan, 1.0);
  Reported reported = listen(&scene);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  const SrRound* const round = reported_round(&reported, 0);
  assert_true(reported_slip(round, SR_SLIP_STOPPED));
  assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), NOTES / 2);
  const double at_s = reported_nth(&reported, SR_NEWS_ROUND, 0)->at_s;
  assert_true(at_s > end_s + 2.4 && at_s < end_s + 3.2);
  reported_free(&reported);
  scene_free(&scene);
}

/// A take broken off at a time of its own, and after a gap gone on with from another, s.
static void
play_broken(Scene* const scene, const Take* const take, const double break_s, const double back_s,
            const double gap_s)
{
  const size_t break_at = (size_t)(break_s * take->rate_hz);
  const size_t back_to = (size_t)(back_s * take->rate_hz);
  const size_t gap = (size_t)(gap_s * take->rate_hz);
  memcpy(scene->samples, take->samples, break_at * sizeof(float));
  memcpy(scene->samples + break_at + gap, take->samples + back_to,
         (take->count - back_to) * sizeof(float));
}

/// Broken off and begun again before the silence that ends a round: three notes of the new one tell
/// so, and are reported with it.
static void
stops_and_begins_again(void** const state)
{
  (void)state;
  enum { BROKE_AT = 9 };
  plan.jitter_ms = 0.0;
  Take* const take = take_make(phrase, &plan);
  assert_non_null(take);
  const TruthNote* const notes = take->rounds[0].notes;
  Scene scene = scene_make(20.0);
  play_broken(&scene, take, notes[BROKE_AT].onset_s - 0.02, notes[0].onset_s - 0.01, 1.2);
  Reported reported = listen(&scene);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
  const SrRound* const broken = reported_round(&reported, 0);
  assert_true(reported_slip(broken, SR_SLIP_STOPPED));
  assert_int_equal(reported_notes(broken, SR_NOTE_PLAYED), BROKE_AT);
  const SrRound* const whole = reported_round(&reported, 1);
  assert_int_equal(reported_notes(whole, SR_NOTE_PLAYED), NOTES);
  assert_reported(&reported, 2, whole);
  const double third_s = whole->notes[2].onset_s;
  assert_true(reported_nth(&reported, SR_NEWS_ROUND, 0)->at_s < third_s + 0.1);
  reported_free(&reported);
  take_del(take);
  scene_free(&scene);
}

/// Notes played one after another from a time on; gives when they end.
static double
play_notes(Scene* const scene, const SrPhrase* const tune, const size_t from, const size_t to,
           const double from_s, const double quaver_s)
{
  double at_s = from_s;
  for (size_t i = from; i < to; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(tune, i);
    const double length_s = 8.0 * sr_fraction_value(note->length) * quaver_s;
    scene_add_note(scene, note->midi, at_s, at_s + 0.9 * length_s);
    at_s += length_s;
  }
  return at_s;
}

/// Waiting before a bar that begins like the first one is no new round.
static void
hesitates_before_a_likeness(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Twice to the Well\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                         "FAd fed|BGB dcB|FAd fga|gec d3|]\n");
  const size_t notes = sr_phrase_note_count(phrase);
  for (size_t p = 0; p < (SLOW ? 1u : 3u); ++p) {
    Scene scene = scene_make(12.0);
    const double pause_s[] = {0.9, 1.2, 1.8};
    const double at_s = play_notes(&scene, phrase, 0, 12, 1.0, 0.22) + pause_s[p];
    play_notes(&scene, phrase, 12, notes, at_s, 0.22);
    Reported reported = listen(&scene);
    assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
    assert_int_equal(reported_count(&reported, SR_NEWS_NOTHING), 0);
    const SrRound* const round = reported_round(&reported, 0);
    assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), notes);
    assert_true(reported_slip(round, SR_SLIP_HESITATION));
    reported_free(&reported);
    scene_free(&scene);
  }
}

/// Three times slower than written and more, as a tune is learnt: reported as it goes.
static void
far_slower(void** const state)
{
  (void)state;
  const double quaver_s = 3.3 * 0.25;
  Scene scene = scene_make(9.0);
  play_notes(&scene, phrase, 3, 9, 1.0, quaver_s);
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Slowly Home\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\ndd AB B G|]\n");
  Reported reported = listen(&scene);
  for (size_t i = 0; i < reported.count; ++i) {
    const SrNews* const news = &reported.news[i];
    if (news->kind == SR_NEWS_NOTE && news->note.index >= 2) {
      assert_true(news->at_s < news->note.onset_s + 0.1);
    }
  }
  assert_true(reported_count(&reported, SR_NEWS_NOTE) >= 6);
  reported_free(&reported);
  scene_free(&scene);
}

/// Two notes tried, and then the phrase: they are reported again.
static void
two_notes_tried(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Try the Latch\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                         "FAd fed|BGB dcB|GBe gfe|gec d3|]\n");
  Scene scene = scene_make(9.0);
  const double at_s = play_notes(&scene, phrase, 0, 2, 1.0, 0.22) + 0.3;
  play_notes(&scene, phrase, 0, sr_phrase_note_count(phrase), at_s, 0.22);
  Reported reported = listen(&scene);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  double onset_s[2] = {0.0, 0.0};
  for (size_t i = 0; i < reported.count; ++i) {
    const SrNews* const news = &reported.news[i];
    if (news->kind == SR_NEWS_NOTE && news->note.index < 2) {
      onset_s[news->note.index] = news->note.onset_s;
    }
  }
  for (size_t i = 0; i < 2; ++i) {
    assert_true(fabs(onset_s[i] - reported_round(&reported, 0)->notes[i].onset_s) < 0.03);
  }
  reported_free(&reported);
  scene_free(&scene);
}

static void
stops_at_once(void** const state)
{
  (void)state;
  // Two notes of 22 and nothing more
  Scene scene = scene_make(8.0);
  scene_add_note(&scene, 69, 2.0, 2.3);
  scene_add_note(&scene, 74, 2.3, 2.6);
  Reported reported = listen(&scene);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 0);
  assert_true(reported_count(&reported, SR_NEWS_NOTE) > 0);
  assert_int_equal(reported_count(&reported, SR_NEWS_NOTHING), 1);
  reported_free(&reported);
  scene_free(&scene);
}

/// At a slow tempo one note that does not speak leaves a long silence: what was before it is no
/// note tried and given up.
static void
third_note_does_not_speak(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Slow Steps\nM:4/4\nL:1/4\nQ:1/4=60\nK:D\nAdBd|AGFD|]\n");
  static const int pitches[] = {69, 74, 71, 74, 69, 67, 66, 62};
  const size_t notes = sizeof(pitches) / sizeof(pitches[0]);
  const size_t silent = 2;
  Scene scene = scene_make(14.0);
  for (size_t i = 0; i < notes; ++i) {
    if (i != silent) {
      scene_add_note(&scene, pitches[i], 1.0 + (double)i, 1.95 + (double)i);
    }
  }
  Reported reported = listen(&scene);
  assert_int_equal(reported_count(&reported, SR_NEWS_NOTHING), 0);
  assert_int_equal(reported_count(&reported, SR_NEWS_AGAIN), 0);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  const SrRound* const round = reported_round(&reported, 0);
  assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), notes - 1);
  assert_int_equal(round->notes[silent].status, SR_NOTE_MISSED);
  reported_free(&reported);
  scene_free(&scene);
}

static void
goes_back(void** const state)
{
  (void)state;
  // Two bars and more, then from the second pulse on to the end
  enum { BROKE_AT = 15, BACK_TO = 3 };
  plan.jitter_ms = 0.0;
  Scene scene = scene_make(20.0);
  Take* const take = take_make(phrase, &plan);
  assert_non_null(take);
  const TruthNote* const notes = take->rounds[0].notes;
  play_broken(&scene, take, notes[BROKE_AT].onset_s, notes[BACK_TO].onset_s - 0.005, 0.6);
  Reported reported = listen(&scene);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  const SrRound* const round = reported_round(&reported, 0);
  assert_true(reported_slip(round, SR_SLIP_RESTART));
  assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), NOTES);
  assert_false(reported_slip(round, SR_SLIP_STOPPED));
  // What was played again is reported again
  size_t times[NOTES] = {0};
  for (size_t i = 0; i < reported.count; ++i) {
    if (reported.news[i].kind == SR_NEWS_NOTE) {
      ++times[reported.news[i].note.index];
    }
  }
  for (size_t i = 0; i < NOTES; ++i) {
    // The note to come may have been reported already, as a wrong one
    assert_true(times[i] == (i >= BACK_TO && i < BROKE_AT ? 2u : 1u) || i == BROKE_AT);
  }
  reported_free(&reported);
  take_del(take);
  scene_free(&scene);
}

static void
without_a_pause(void** const state)
{
  (void)state;
  plan.rounds = 3;
  // The last note is held for 92 % of its three quavers: on the beat again
  plan.pause_s = 0.08 * 60.0 / plan.bpm;
  Reported reported = listen_to_plan();
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 3);
  for (size_t r = 0; r < 3; ++r) {
    const SrNews* const news = reported_nth(&reported, SR_NEWS_ROUND, r);
    assert_int_equal(news->round, r + 1);
    assert_int_equal(news->assessment->round_count, 1);
    const SrRound* const round = reported_round(&reported, r);
    assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), NOTES);
    assert_int_equal(round->slip_count, 0);
    assert_reported(&reported, (unsigned)r + 1, round);
    // Not only when it is sure by several notes that the next one has begun
    assert_true(news->at_s < round->end_s + 0.15);
    assert_true(r == 0 || round->start_s > reported_round(&reported, r - 1)->start_s + 4.0);
  }
  reported_free(&reported);
}

/// Loud air, under which the last note sags, does not end the round before that note is over.
static void
air_on_the_last_note(void** const state)
{
  (void)state;
  plan.bpm = 60.0;
  for (unsigned seed = 1; seed <= (SLOW ? 1u : 4u); ++seed) {
    const AirPlan air = {
        .note = NOTES - 1, .after_s = 0.2, .length_s = 0.5, .level_db = -10.0, .dip_db = 6.0};
    plan.seed = seed;
    plan.kind = seed % 2 ? REEDS_HARMONICA : REEDS_MADE;
    plan.air = &air;
    plan.air_count = 1;
    Take* const take = take_make(phrase, &plan);
    assert_non_null(take);
    Scene scene = scene_of_take(take);
    Reported reported = listen(&scene);
    const SrNews* const news = reported_nth(&reported, SR_NEWS_ROUND, 0);
    const SrRound* const round = reported_round(&reported, 0);
    const double end_s = take->rounds[0].end_s;
    if (news->at_s < end_s || news->at_s > end_s + 0.15 || round->air_count != 1 ||
        reported_count(&reported, SR_NEWS_ROUND) != 1) {
      reported_print(&reported);
      fail_msg("seed %u: the round ends at %.2f s and is told at %.2f, with %zu of one air", seed,
               end_s, news->at_s, round->air_count);
    }
    reported_free(&reported);
    scene_free(&scene);
    take_del(take);
  }
}

/// Air that ends with the last note, which sags and so seems over when it begins, is reported with
/// the round.
static void
air_that_ends_with_the_round(void** const state)
{
  (void)state;
  // The last note sounds for 0.92 s
  static const struct {
    unsigned seed;
    double after_s;
    double length_s;
  } takes[] = {{2, 0.76, 0.15}, {1, 0.80, 0.12}, {5, 0.80, 0.12}, {8, 0.76, 0.15}, {9, 0.80, 0.12}};
  plan.bpm = 60.0;
  for (size_t i = 0; i < (SLOW ? 1u : 5u); ++i) {
    const AirPlan air = {.note = NOTES - 1,
                         .after_s = takes[i].after_s,
                         .length_s = takes[i].length_s,
                         .level_db = -12.0,
                         .dip_db = 3.0};
    plan.air = &air;
    plan.air_count = 1;
    plan.seed = takes[i].seed;
    plan.kind = plan.seed % 2 ? REEDS_HARMONICA : REEDS_MADE;
    Reported reported = listen_to_plan();
    const SrRound* const round = reported_round(&reported, 0);
    if (round->air_count != 1 || round->air[0].note_index != NOTES - 1 || !round->air[0].audible) {
      fail_msg("seed %u: %zu of one air", takes[i].seed, round->air_count);
    }
    reported_free(&reported);
  }
}

/// Air from the last note into the next round's first, which it hides, is reported of each once.
static void
air_across_two_rounds(void** const state)
{
  (void)state;
  const AirPlan air = {.note = NOTES - 1, .after_s = 0.8, .length_s = 0.3, .level_db = -10.0};
  plan.bpm = 60.0;
  plan.seed = 2;
  plan.kind = REEDS_MADE;
  plan.rounds = 2;
  plan.pause_s = 0.05;
  plan.air = &air;
  plan.air_count = 1;
  Reported reported = listen_to_plan();
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
  const SrRound* const one = reported_round(&reported, 0);
  const SrRound* const two = reported_round(&reported, 1);
  for (size_t i = 0; i < one->air_count; ++i) {
    assert_true(one->air[i].start_s < two->start_s);
  }
  assert_true(one->air_count + two->air_count > 0);
  reported_free(&reported);
}

/// A microphone that hisses, flat to the top: a round is reported as soon as in a quiet room.
static void
beside_hiss(void** const state)
{
  (void)state;
  Take* const take = take_make(phrase, &plan);
  assert_non_null(take);
  Scene scene = scene_of_take(take);
  Random random = {.state = 5};
  for (size_t i = 0; i < scene.count; ++i) {
    scene.samples[i] += HISS * (float)random_normal(&random);
  }
  Reported reported = listen(&scene);
  const double late_s = reported_nth(&reported, SR_NEWS_ROUND, 0)->at_s - take->rounds[0].end_s;
  print_message("a round beside hiss is told after %.0f ms\n", 1e3 * late_s);
  assert_true(late_s > 0.0 && late_s < 0.15);
  reported_free(&reported);
  scene_free(&scene);
  take_del(take);
}

/// A tune that begins with a cut: the next round's is not lost with the end of the one before.
static void
begins_with_a_cut(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Tapped In\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                         "{c}AFA {f}dAB|{d}BGB A2F|{B}GFE FAd|EFE D3|]\n");
  plan.rounds = 3;
  plan.pause_s = 0.08 * 60.0 / plan.bpm;
  Reported reported = listen_to_plan();
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 3);
  for (size_t r = 0; r < 3; ++r) {
    const SrRound* const round = reported_round(&reported, r);
    assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), round->note_count);
    assert_true(round->notes[0].has_cut);
    assert_int_equal(round->notes[0].cut.verdict, SR_CUT_CLEAN);
    assert_reported(&reported, (unsigned)r + 1, round);
  }
  reported_free(&reported);
}

/// A repeat that was forgotten: the notes behind it are reported where they are, once and for all.
static void
forgets_a_repeat(void** const state)
{
  (void)state;
#define HEAD "X:1\nT:Half the Chairs\nM:6/8\nL:1/8\nQ:3/8=80\nK:G\n"
#define PART_A "G{B}GD GBd|e{f}ed BAG|A{c}AE Ace|dBG G3"
#define PART_B "|:g{a}gd Bdg|f{a}fd Adf|e{f}ec Gce|dBG G3:|\n"
  sr_phrase_del(phrase);
  phrase = played_phrase(HEAD "|:" PART_A ":|\n" PART_B);
  SrPhrase* const once = played_phrase(HEAD PART_A "|\n" PART_B);
  Scene scene = scene_make(28.0);
  scene_play(&scene, once, &plan, 0.5);
  Reported reported = listen(&scene);
  const size_t notes = sr_phrase_note_count(once);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  assert_int_equal(reported_count(&reported, SR_NEWS_NOTE), notes);
  const SrRound* const round = reported_round(&reported, 0);
  assert_int_equal(reported_notes(round, SR_NOTE_PLAYED), notes);
  assert_int_equal(round->slip_count, 1);
  assert_int_equal(round->slips[0].kind, SR_SLIP_LEFT_OUT);
  assert_int_equal(round->slips[0].left_out, round->note_count - notes);
  reported_free(&reported);
  scene_free(&scene);
  sr_phrase_del(once);
}

static void
with_rests(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase(rests);
  plan.rounds = 2;
  plan.pause_s = 3.2;
  plan.bpm = 60.0;
  Reported reported = listen_to_plan();
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
  for (size_t r = 0; r < 2; ++r) {
    assert_int_equal(reported_notes(reported_round(&reported, r), SR_NOTE_PLAYED),
                     sr_phrase_note_count(phrase));
    assert_false(reported_slip(reported_round(&reported, r), SR_SLIP_STOPPED));
  }
  reported_free(&reported);
}

static void
finished_in_the_middle(void** const state)
{
  (void)state;
  Scene scene = scene_make(12.0);
  scene_play(&scene, phrase, &plan, 1.0);
  scene.count = (size_t)(5.0 * scene.rate_hz);
  SrLiveSettings settings = reported_settings(&scene);
  SrLive* live = NULL;
  Reported reported = {0};
  assert_int_equal(sr_live_new(phrase, &settings, &live, NULL), SR_OK);
  assert_false(sr_live_in_round(live));
  assert_int_equal(sr_live_push(live, scene.samples, scene.count, NULL), SR_OK);
  assert_true(sr_live_in_round(live));
  assert_true(sr_live_round_start_s(live) > 1.4 && sr_live_round_start_s(live) < 2.1);
  assert_true(sr_live_last_note_s(live) > 4.8);
  reported_pull(&reported, live);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 0);
  assert_int_equal(sr_live_finish(live, NULL), SR_OK);
  assert_false(sr_live_in_round(live));
  reported_pull(&reported, live);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  assert_true(reported_slip(reported_round(&reported, 0), SR_SLIP_STOPPED));
  // Once more tells nothing more
  const size_t before = reported.count;
  assert_int_equal(sr_live_finish(live, NULL), SR_OK);
  reported_pull(&reported, live);
  assert_int_equal(reported.count, before);
  sr_live_del(live);
  reported_free(&reported);
  scene_free(&scene);
}

/// What is not pulled must be freed too; the sanitizer tells.
static void
unpulled(void** const state)
{
  (void)state;
  Scene scene = scene_make(20.0);
  const double end_s = scene_play(&scene, phrase, &plan, 0.5);
  scene_play(&scene, phrase, &plan, end_s + 1.0);
  SrLiveSettings settings = reported_settings(&scene);
  SrLive* live = NULL;
  assert_int_equal(sr_live_new(phrase, &settings, &live, NULL), SR_OK);
  assert_int_equal(sr_live_push(live, scene.samples, scene.count, NULL), SR_OK);
  SrNews news;
  assert_true(sr_live_pull(live, &news));
  assert_null(news.assessment);
  sr_live_del(live);
  sr_live_del(NULL);
  scene_free(&scene);
}

/// Samples lost over some notes, in the first round and in the second: nobody's fault, and said so
/// at once.
static void
lost_samples(void** const state)
{
  (void)state;
  plan.rounds = 2;
  plan.pause_s = 1.0;
  for (size_t first = 3; first < 16; first += SLOW ? 12 : 4) {
    Take* const take = take_make(phrase, &plan);
    assert_non_null(take);
    Scene scene = scene_of_take(take);
    for (size_t r = 0; r < 2; ++r) {
      const TruthNote* const notes = take->rounds[r].notes;
      scene_lose(&scene, notes[first].onset_s - 0.03, notes[first + 2].onset_s - 0.02);
    }
    Reported reported = listen(&scene);
    size_t unheard = 0;
    for (size_t i = 0; i < reported.count; ++i) {
      const SrNews* const news = &reported.news[i];
      if (news->kind == SR_NEWS_NOTE || news->kind == SR_NEWS_AMENDED) {
        if (news->note.status == SR_NOTE_MISSED) {
          reported_print(&reported);
          fail_msg("note %zu is told as missed, first %zu", news->note.index, first);
        }
        unheard += news->note.status == SR_NOTE_UNHEARD;
      }
    }
    assert_true(unheard > 0);
    assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
    for (size_t r = 0; r < 2; ++r) {
      const SrRound* const round = reported_round(&reported, r);
      assert_int_equal(reported_notes(round, SR_NOTE_MISSED), 0);
      assert_int_equal(reported_notes(round, SR_NOTE_WRONG), 0);
      assert_true(reported_notes(round, SR_NOTE_UNHEARD) > 0);
      assert_true(reported_notes(round, SR_NOTE_PLAYED) >= NOTES - 3);
    }
    reported_free(&reported);
    scene_free(&scene);
    take_del(take);
  }
}

static void
assert_no_round(const Scene* const scene)
{
  Reported reported = listen(scene);
  if (reported_count(&reported, SR_NEWS_ROUND) > 0 ||
      reported_count(&reported, SR_NEWS_SIGNAL) > 0) {
    reported_print(&reported);
    fail_msg("a round or a signal of nothing");
  }
  reported_free(&reported);
}

static void
long_nothing_played(void** const state)
{
  (void)state;
  const double seconds = SLOW ? 5.0 : 60.0;
  Scene scene = {SOURCE_RATE_HZ, (size_t)(seconds * SOURCE_RATE_HZ), NULL, NULL};
  scene.samples = (float*)calloc(scene.count, sizeof(float));
  assert_non_null(scene.samples);
  assert_no_round(&scene);
  scene_add_noise(&scene, -45.0);
  assert_no_round(&scene);
  scene_add_noise(&scene, -20.0);
  assert_no_round(&scene);
  scene_lose(&scene, 0.0, seconds);
  assert_no_round(&scene);
  scene_free(&scene);
}

/// A microphone is switched on: what was nothing is a room's noise from one sample to the next,
/// however loud, and wherever the frames lie.
static void
the_room_begins(void** const state)
{
  (void)state;
  for (size_t shift = 0; shift < 32; shift += SLOW ? 9 : 1) {
    Scene scene = scene_make(2.5);
    scene_add_noise(&scene, -60.0 + 10.0 * (double)(shift % 4));
    memset(scene.samples, 0, (44100 + 29 * shift) * sizeof(float));
    Reported reported = listen(&scene);
    assert_int_equal(reported_count(&reported, SR_NEWS_NOTE), 0);
    reported_free(&reported);
    scene_free(&scene);
  }
}

/// A last note that ran into the one before has no sound of its own, and is reported all the same.
static void
last_note_joined(void** const state)
{
  (void)state;
  static const char abc[] = "X:1\nT:Run In\nM:4/4\nL:1/4\nQ:1/4=100\nK:D\nDEFG|ABAA|]\n";
  sr_phrase_del(phrase);
  phrase = played_phrase(abc);
  Scene scene = scene_make(11.0);
  static const int midi[] = {62, 64, 66, 67, 69, 71};
  for (size_t i = 0; i < 6; ++i) {
    scene_add_note(&scene, midi[i], 1.0 + 0.6 * (double)i, 1.58 + 0.6 * (double)i);
  }
  scene_add_note(&scene, 69, 4.6, 5.8);
  Reported reported = listen(&scene);
  const SrRound* const round = reported_round(&reported, 0);
  assert_int_equal(round->notes[7].joined, SR_YES);
  size_t last = 0;
  for (size_t i = 0; i < reported.count; ++i) {
    last += reported.news[i].kind == SR_NEWS_NOTE && reported.news[i].note.index == 7 &&
            reported.news[i].note.joined == SR_YES;
  }
  assert_int_equal(last, 1);
  reported_free(&reported);
  scene_free(&scene);
}

/// However long it is talked behind a round, the last note was the round's.
static void
talk_is_no_note(void** const state)
{
  (void)state;
  Scene scene = scene_make(SLOW ? 20.0 : 32.0);
  const double end_s = scene_play(&scene, phrase, &plan, 0.5);
  if (!scene_add_speech(&scene, end_s + 1.0, 32.0)) {
    scene_free(&scene);
    skip();
  }
  SrLiveSettings settings = reported_settings(&scene);
  SrLive* live = NULL;
  assert_int_equal(sr_live_new(phrase, &settings, &live, NULL), SR_OK);
  assert_int_equal(sr_live_push(live, scene.samples, scene.count, NULL), SR_OK);
  const double last_s = sr_live_last_note_s(live);
  print_message("the round ended at %.2f s, the last note at %.2f s\n", end_s, last_s);
  assert_true(fabs(last_s - end_s) < 0.5);
  sr_live_del(live);
  scene_free(&scene);
}

static void
only_talk(void** const state)
{
  (void)state;
  const double seconds = SLOW ? 15.0 : 60.0;
  Scene scene = scene_make(seconds);
  if (!scene_add_speech(&scene, 0.5, seconds)) {
    scene_free(&scene);
    skip();
  }
  assert_no_round(&scene);
  scene_free(&scene);
}

#define ROUND_TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int
main(const int argc, char** const argv)
{
  const struct CMUnitTest tests[] = {ROUND_TEST(one_round),
                                     ROUND_TEST(false_start),
                                     ROUND_TEST(speech_between),
                                     ROUND_TEST(long_words_are_no_notes),
                                     ROUND_TEST(long_begins_behind_a_word),
                                     ROUND_TEST(talk_is_no_note),
                                     ROUND_TEST(last_note_joined),
                                     ROUND_TEST(long_round),
                                     ROUND_TEST(stops_half_way),
                                     ROUND_TEST(stops_and_begins_again),
                                     ROUND_TEST(hesitates_before_a_likeness),
                                     ROUND_TEST(far_slower),
                                     ROUND_TEST(two_notes_tried),
                                     ROUND_TEST(stops_at_once),
                                     ROUND_TEST(third_note_does_not_speak),
                                     ROUND_TEST(goes_back),
                                     ROUND_TEST(without_a_pause),
                                     ROUND_TEST(air_on_the_last_note),
                                     ROUND_TEST(air_that_ends_with_the_round),
                                     ROUND_TEST(air_across_two_rounds),
                                     ROUND_TEST(beside_hiss),
                                     ROUND_TEST(begins_with_a_cut),
                                     ROUND_TEST(forgets_a_repeat),
                                     ROUND_TEST(with_rests),
                                     ROUND_TEST(finished_in_the_middle),
                                     ROUND_TEST(unpulled),
                                     ROUND_TEST(lost_samples),
                                     ROUND_TEST(long_nothing_played),
                                     ROUND_TEST(the_room_begins),
                                     ROUND_TEST(only_talk)};
  sr_test_extent(argc, argv);
  return cmocka_run_group_tests(tests, NULL, NULL);
}
