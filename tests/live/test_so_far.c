// SPDX-License-Identifier: GPL-3.0-or-later

// A playing that goes on, judged as far as it has got, on events as a perfect ear would give them.

#include "played.h"

#include "bits.h"
#include "random.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

/// At 80 pulses a minute.
#define SPW 2.0
#define QUAVER_S 0.25
#define CUT_S 0.03

static const char jig[] = "X:1\nT:Before the Session\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";
#define NOTES 22u

static SrPhrase* phrase;
static Played played;
static Played heard;
static SrSoFar so_far;
static SrFollower* follower;

static int
begin(void** const state)
{
  (void)state;
  phrase = played_phrase(jig);
  follower = sr_follower_new();
  assert_non_null(follower);
  memset(&played, 0, sizeof(played));
  return 0;
}

static int
end(void** const state)
{
  (void)state;
  sr_so_far_clear(&so_far);
  sr_follower_del(follower);
  sr_phrase_del(phrase);
  return 0;
}

static void
assert_bits(const double one, const double other)
{
  assert_true(same_bits(one, other));
}

/// What is kept from the looks before changes nothing.
static void
assert_same(const SrSoFar* const one, const SrSoFar* const other)
{
  assert_int_equal(one->rounds_before, other->rounds_before);
  assert_int_equal(one->reached, other->reached);
  assert_bits(one->start_s, other->start_s);
  assert_bits(one->played_bpm, other->played_bpm);
  for (size_t i = 0; i < one->reached; ++i) {
    const SrNoteVerdict* const a = &one->notes[i];
    const SrNoteVerdict* const b = &other->notes[i];
    assert_int_equal(a->status, b->status);
    assert_int_equal(a->heard_midi, b->heard_midi);
    assert_int_equal(a->joined, b->joined);
    assert_int_equal(a->has_cut, b->has_cut);
    assert_int_equal(a->cut.verdict, b->cut.verdict);
    assert_bits(a->onset_s, b->onset_s);
    assert_bits(a->end_s, b->end_s);
    assert_bits(a->due_s, b->due_s);
  }
}

/// Judge all that began before a time, as it stands then.
static void
judge_at(const double now_s)
{
  heard.count = 0;
  for (size_t i = 0; i < played.count; ++i) {
    if (played.events[i].onset_s < now_s) {
      heard.events[heard.count] = played.events[i];
      heard.events[heard.count].end_s = fmin(played.events[i].end_s, now_s);
      ++heard.count;
    }
  }
  sr_so_far_clear(&so_far);
  const SrHeard all = {.events = heard.events, .event_count = heard.count};
  SrSoFar alone = {0};
  assert_int_equal(sr_judge_so_far(phrase, &all, NULL, NULL, &alone), SR_OK);
  assert_int_equal(sr_judge_so_far(phrase, &all, NULL, follower, &so_far), SR_OK);
  assert_same(&so_far, &alone);
  sr_so_far_clear(&alone);
}

static void
nothing_yet(void** const state)
{
  (void)state;
  judge_at(1.0);
  assert_int_equal(so_far.reached, 0);
  assert_int_equal(so_far.rounds_before, 0);
  assert_true(isnan(so_far.start_s));
  assert_null(so_far.notes);
}

static void
note_by_note(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  for (size_t i = 0; i < NOTES; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const double onset_s = 1.0 + sr_fraction_value(note->start) * SPW;
    // As soon as its own sound has been there for the shortest note
    judge_at(onset_s + (note->cut_midi >= 0 ? CUT_S : 0.0) + 0.08);
    assert_int_equal(so_far.reached, i + 1);
    assert_int_equal(so_far.note_count, NOTES);
    assert_int_equal(so_far.rounds_before, 0);
    assert_true(fabs(so_far.start_s - 1.0) < 1e-9);
    for (size_t k = 0; k <= i; ++k) {
      assert_int_equal(so_far.notes[k].status, SR_NOTE_PLAYED);
      const bool cut = sr_phrase_note(phrase, k)->cut_midi >= 0;
      assert_int_equal(so_far.notes[k].has_cut, cut);
      assert_true(!cut || so_far.notes[k].cut.verdict == SR_CUT_CLEAN);
    }
    assert_true(fabs(so_far.notes[i].onset_s - onset_s) < 1e-9);
    if (i >= 6) {
      assert_true(fabs(so_far.played_bpm - 80.0) < 0.5);
    }
  }
}

/// A note left out is missed once the next one has sounded for long enough to be no slip, and not
/// before.
static void
left_out(void** const state)
{
  (void)state;
  enum { MISSED = 8 }; // G, B on one side and A on the other
  played_round(&played, phrase, 1.0, SPW);
  const double due_s = 1.0 + MISSED * QUAVER_S;
  for (size_t i = 0; i < played.count; ++i) {
    if (fabs(played.events[i].onset_s - due_s) < 1e-9) {
      played.events[i] = played.events[--played.count];
    }
  }
  judge_at(due_s + 0.2);
  assert_int_equal(so_far.reached, MISSED);
  judge_at(due_s + QUAVER_S + 0.12);
  assert_int_equal(so_far.reached, MISSED + 2);
  assert_int_equal(so_far.notes[MISSED].status, SR_NOTE_MISSED);
  assert_int_equal(so_far.notes[MISSED + 1].status, SR_NOTE_PLAYED);
}

/// A cut over, and the note before it sounds on.
static void
joined(void** const state)
{
  (void)state;
  played_add(&played, 69, 1.0, 1.6, (double)NAN);
  played_add(&played, 73, 1.25, 1.29, (double)NAN);
  judge_at(1.24);
  assert_int_equal(so_far.reached, 1);
  // While the cut still sounds nothing is known
  judge_at(1.28);
  assert_int_equal(so_far.reached, 1);
  judge_at(1.34);
  assert_int_equal(so_far.reached, 2);
  assert_int_equal(so_far.notes[1].joined, SR_YES);
  assert_true(so_far.notes[1].has_cut);
  assert_int_equal(so_far.notes[1].cut.verdict, SR_CUT_JOINED);
  assert_true(isnan(so_far.notes[1].onset_s));
}

/// The last note's cut, which looks like two reeds for a moment, is no other note in its place.
static void
last_cut(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Two and a Rest\nM:4/4\nL:1/4\nQ:1/4=60\nK:D\n"
                         "A{d}A z2|B{d}B z2|D{F}D z2|]\n");
  const size_t notes = sr_phrase_note_count(phrase);
  const double due_s = 1.0 + sr_fraction_value(sr_phrase_note(phrase, notes - 1)->start) * 4.0;
  played_round(&played, phrase, 1.0, 4.0);
  for (size_t i = 0; i < played.count; ++i) {
    SrEvent* const event = &played.events[i];
    event->end_s = event->midi == 66 ? due_s + 0.08 : event->end_s;
    event->onset_s = event->midi == 62 && event->onset_s > due_s ? due_s + 0.08 : event->onset_s;
  }
  played_add(&played, 67, due_s - 0.002, due_s + 0.08, (double)NAN);
  for (int ms = 10; ms < 80; ms += 10) {
    judge_at(due_s + 1e-3 * ms);
    assert_int_equal(so_far.reached, notes - 1);
  }
  judge_at(due_s + 0.16);
  assert_int_equal(so_far.reached, notes);
  assert_int_equal(so_far.notes[notes - 1].status, SR_NOTE_PLAYED);
}

/// Whether a cut is over its share of a note is known when the note is; that it is too long for
/// any note, at once.
static void
weighed_later(void** const state)
{
  (void)state;
  played_add(&played, 69, 1.0, 1.25, (double)NAN);
  played_add(&played, 73, 1.25, 1.316, (double)NAN); // 61 ms
  played_add(&played, 69, 1.31, 1.37, 30.0);         // … before as much: over two fifths of it
  played_add(&played, 69, 1.40, 1.75, 30.0);
  played_add(&played, 74, 1.75, 2.10, (double)NAN);
  judge_at(1.34);
  assert_int_equal(so_far.reached, 2);
  assert_int_equal(so_far.notes[1].cut.verdict, SR_CUT_CLEAN);
  judge_at(1.5);
  assert_int_equal(so_far.reached, 3);
  assert_int_equal(so_far.notes[1].cut.verdict, SR_CUT_LONG);

  memset(&played, 0, sizeof(played));
  played_add(&played, 69, 1.0, 1.25, (double)NAN);
  played_add(&played, 73, 1.25, 1.34, (double)NAN); // 90 ms
  played_add(&played, 69, 1.34, 1.75, 30.0);
  judge_at(1.42);
  assert_int_equal(so_far.reached, 2);
  assert_int_equal(so_far.notes[1].cut.verdict, SR_CUT_LONG);
}

/// Another note in a note's place is reported as soon as it is no flicker, also off the beat,
/// though it may be one too many, and behind its cut; and once it is no cut if it may be one that
/// nobody wrote.
static void
another_note(void** const state)
{
  (void)state;
  static const size_t notes[] = {8, 10};
  const int others[] = {-3, -2, 1, 3, 5}; // not the first note, which may begin it all again
  const double early_s[] = {0.0, 0.03, 0.06};
  for (size_t n = 0; n < sizeof(notes) / sizeof(*notes); ++n) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, notes[n]);
    const double due_s = 1.0 + (double)notes[n] * QUAVER_S;
    const double cut_s = note->cut_midi >= 0 ? CUT_S : 0.0;
    // Under a repeated note lies the next one
    for (size_t k = note->cut_midi >= 0 ? 2 : 0; k < sizeof(others) / sizeof(*others); ++k) {
      // An early cut would lie on the note before
      const size_t times = note->cut_midi >= 0 ? 1 : sizeof(early_s) / sizeof(*early_s);
      for (size_t t = 0; t < times; ++t) {
        memset(&played, 0, sizeof(played));
        played_round(&played, phrase, 1.0, SPW);
        const double onset_s = due_s - early_s[t] + cut_s;
        size_t sounds = 0;
        while (played.events[sounds].onset_s < due_s - 1e-9) {
          ++sounds;
        }
        played.count = sounds;
        if (note->cut_midi >= 0) {
          played_add(&played, note->cut_midi, onset_s - cut_s, onset_s, (double)NAN);
        }
        played_add(&played, note->midi + others[k], onset_s, onset_s + 0.08, (double)NAN);
        SrEvent* const other = &played.events[played.count - 1];
        // Just noticed, as what sounds is taken to last at least
        other->sounding = true;
        judge_at(onset_s + 0.08);
        assert_true(so_far.reached == notes[n] || note->cut_midi >= 0);
        // … and a little later
        const bool may_be_cut = others[k] > 2 && note->cut_midi < 0;
        const double least_s = may_be_cut ? 0.132 : 0.12;
        other->end_s = onset_s + least_s;
        judge_at(onset_s + least_s);
        assert_int_equal(so_far.reached, notes[n] + 1);
        assert_int_equal(so_far.notes[notes[n]].status, SR_NOTE_WRONG);
        assert_int_equal(so_far.notes[notes[n]].heard_midi, note->midi + others[k]);
      }
    }
  }
}

/// A cut where none is written is one, however it looked for a moment.
static void
stray_cut_in_the_end(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  const double due_s = 1.0 + 8 * QUAVER_S;
  for (size_t i = 0; i < played.count; ++i) {
    if (fabs(played.events[i].onset_s - due_s) < 1e-9) {
      played.events[i].onset_s += 0.06;
    }
  }
  played_add(&played, sr_phrase_note(phrase, 8)->midi + 4, due_s, due_s + 0.06, (double)NAN);
  judge_at(due_s + 0.16);
  assert_int_equal(so_far.reached, 9);
  assert_int_equal(so_far.notes[8].status, SR_NOTE_PLAYED);
  assert_true(so_far.notes[8].has_cut);
  assert_int_equal(so_far.notes[8].cut.verdict, SR_CUT_STRAY);
}

static void
rounds_before(void** const state)
{
  (void)state;
  double now_s = 1.0;
  for (size_t r = 0; r < 3; ++r) {
    const double start_s = now_s;
    now_s = played_round(&played, phrase, start_s, SPW) + 0.5;
    judge_at(start_s + 2.1);
    assert_int_equal(so_far.rounds_before, r);
    assert_int_equal(so_far.reached, 9);
    assert_true(fabs(so_far.start_s - start_s) < 1e-9);
  }
}

/// Looks at a playing full of faults, each a few milliseconds after the last, and some far back;
/// the follower keeps up with any of them.
static void
looking_often(void** const state)
{
  (void)state;
  Random random = {5};
  double end_s = 1.0;
  for (size_t r = 0; r < 3; ++r) {
    end_s = played_round(&played, phrase, end_s, SPW) + 0.3;
  }
  for (size_t i = 0; i < played.count; ++i) {
    SrEvent* const event = &played.events[i];
    event->onset_s += 0.02 * random_normal(&random);
    event->end_s = fmax(event->onset_s + 0.02, event->end_s + 0.02 * random_normal(&random));
    const double chance = random_unit(&random);
    event->midi += chance < 0.05 ? 2 : 0;
    event->end_s += chance > 0.9 ? 1.0 : 0.0;
    event->fall_db = chance > 0.4 && chance < 0.5 ? 4.0 : event->fall_db;
  }
  for (size_t look = 0; look < (size_t)((end_s - 0.5) / 0.013); ++look) {
    const double now_s = 1.0 + 0.013 * (double)look;
    judge_at(now_s);
    if (random_unit(&random) < 0.02) {
      judge_at(random_between(&random, 1.0, now_s));
    }
  }
}

#define SO_FAR_TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int
main(void)
{
  const struct CMUnitTest tests[] = {SO_FAR_TEST(nothing_yet),   SO_FAR_TEST(note_by_note),
                                     SO_FAR_TEST(left_out),      SO_FAR_TEST(joined),
                                     SO_FAR_TEST(last_cut),      SO_FAR_TEST(weighed_later),
                                     SO_FAR_TEST(another_note),  SO_FAR_TEST(stray_cut_in_the_end),
                                     SO_FAR_TEST(rounds_before), SO_FAR_TEST(looking_often)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
