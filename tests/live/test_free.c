// SPDX-License-Identifier: GPL-3.0-or-later

// Listening without a phrase, against the truth of made takes.

#include "bits.h"
#include "scene.h"

#include <steadyreed/free.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TAKES 12u
/// … and of recorded reeds.
#define RECORDED 12u
#define SOME 2u
/// A note is found if one of its pitch begins within this, s.
#define NEAR_S 0.05
/// What twos.json tells of twos.flac: notes with a sound of their own, and clean cuts.

static const char* abc_path;
static const char* takes_path;
static bool only_some; ///< Under sanitizers: a few takes, of which no share can be reported

typedef struct {
  SrFreeNote* notes;
  size_t count;
  SrFreeAir* air;
  size_t air_count;
} Played;

static void
pull(SrFree* const listener, Played* const played)
{
  SrFreeNote note;
  while (sr_free_pull(listener, &note)) {
    played->notes = (SrFreeNote*)realloc(played->notes, (played->count + 1) * sizeof(note));
    assert_non_null(played->notes);
    played->notes[played->count++] = note;
  }
  SrFreeAir air;
  while (sr_free_pull_air(listener, &air)) {
    played->air = (SrFreeAir*)realloc(played->air, (played->air_count + 1) * sizeof(air));
    assert_non_null(played->air);
    played->air[played->air_count++] = air;
  }
}

static Played
listen_with(const SrProfile* const profile, const float* const samples, const size_t count,
            const double rate_hz, const size_t chunk)
{
  Played played = {0};
  SrFree* listener = NULL;
  assert_int_equal(sr_free_new(rate_hz, profile, &listener, NULL), SR_OK);
  for (size_t at = 0; at < count; at += chunk) {
    const size_t step = count - at < chunk ? count - at : chunk;
    assert_int_equal(sr_free_push(listener, samples + at, step, NULL), SR_OK);
    pull(listener, &played);
  }
  assert_int_equal(sr_free_finish(listener, NULL), SR_OK);
  pull(listener, &played);
  sr_free_del(listener);
  return played;
}

static Played
listen(const float* const samples, const size_t count, const double rate_hz, const size_t chunk)
{
  return listen_with(NULL, samples, count, rate_hz, chunk);
}

static void
played_free(Played* const played)
{
  free(played->notes);
  free(played->air);
}

static SrPhrase*
read_phrase(const int tune)
{
  SrPhraseChoice choice = {0};
  choice.tune = tune;
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_file(abc_path, &choice, &phrase, NULL), SR_OK);
  return phrase;
}

static Take*
make(const SrPhrase* const phrase, const unsigned index, const ReedKind kind)
{
  TakePlan plan = take_plan_default();
  plan.seed = 300 + index;
  plan.kind = kind;
  plan.bpm = 65.0 + 4.0 * index;
  plan.reference_hz = 434.0 + 1.5 * index;
  plan.detune_cents = 4.0;
  plan.rt60_s = 0.2 + 0.03 * index;
  plan.direct_db = 14.0 - 10.0 * plan.rt60_s;
  plan.floor_db = -65.0 + index;
  plan.attack_ms = 8.0 + index;
  plan.jitter_ms = 10.0;
  plan.overlap_ms = index;
  plan.p_on_top = 0.12;
  plan.p_bare = 0.05;
  plan.p_absent = 0.1;
  plan.p_missed = 0.03;
  plan.p_wrong = 0.03;
  plan.key_clicks = index % 4 == 1;
  Take* const take = take_make(phrase, &plan);
  assert_non_null(take);
  return take;
}

/// What is counted over all takes.
typedef struct {
  size_t sounded; ///< Notes of the truth that have a sound of their own
  size_t reported;
  size_t matched;
  size_t cuts; ///< Cuts on them that sounded for no longer than a cut
  size_t cuts_found;
  size_t held; ///< Cuts on top
  size_t held_found;
  size_t uncut; ///< Matched notes without a cut, and those of them that were reported to have one
  size_t uncut_wrong;
} Count;

static SrFreeNote*
nearest(const Played* const played, const bool* const used, const int midi, const double onset_s)
{
  SrFreeNote* best = NULL;
  for (size_t i = 0; i < played->count; ++i) {
    SrFreeNote* const note = &played->notes[i];
    const double off_s = fabs(note->onset_s - onset_s);
    if (!used[i] && note->midi == midi && off_s < NEAR_S &&
        (!best || off_s < fabs(best->onset_s - onset_s))) {
      best = note;
    }
  }
  return best;
}

/// The cut on top that belongs to note `index` of a round lies on the last note that began before.
static const TruthNote*
carrier_of(const TruthRound* const round, const size_t index)
{
  for (size_t i = index; i-- > 0;) {
    if (isfinite(round->notes[i].onset_s)) {
      return &round->notes[i];
    }
  }
  return NULL;
}

static void
count_take(Count* const count, const SrPhrase* const phrase, const Take* const take,
           const Played* const played)
{
  bool* const used = (bool*)calloc(played->count + 1, sizeof(bool));
  assert_non_null(used);
  count->reported += played->count;
  for (size_t r = 0; r < take->round_count; ++r) {
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const truth = &take->rounds[r].notes[i];
      if (!isfinite(truth->onset_s)) {
        continue;
      }
      ++count->sounded;
      SrFreeNote* const note = nearest(played, used, truth->heard_midi, truth->onset_s);
      count->matched += note != NULL;
      if (note) {
        used[note - played->notes] = true;
      }
      const int cut_midi = sr_phrase_note(phrase, i)->cut_midi;
      if (truth->has_cut && truth->verdict == SR_CUT_CLEAN) {
        ++count->cuts;
        count->cuts_found += note && note->cut_midi == cut_midi && !note->held;
      } else if (note && !isfinite(truth->cut_length_ms)) {
        const bool carries = i + 1 < take->note_count &&
                             isfinite(take->rounds[r].notes[i + 1].cut_length_ms) &&
                             take->rounds[r].notes[i + 1].joined == SR_YES;
        count->uncut += !carries;
        count->uncut_wrong += !carries && note->cut_midi >= 0;
      }
    }
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const truth = &take->rounds[r].notes[i];
      const TruthNote* const carrier = carrier_of(&take->rounds[r], i);
      if (truth->joined != SR_YES || !isfinite(truth->cut_length_ms) || !carrier ||
          isfinite(carrier->cut_length_ms)) {
        continue;
      }
      ++count->held;
      for (size_t n = 0; n < played->count; ++n) {
        const SrFreeNote* const note = &played->notes[n];
        if (note->midi == truth->midi && fabs(note->onset_s - carrier->onset_s) < NEAR_S) {
          count->held_found += note->held && note->cut_midi == sr_phrase_note(phrase, i)->cut_midi;
          break;
        }
      }
    }
  }
  free(used);
}

static double
percent(const size_t part, const size_t whole)
{
  return 100.0 * (double)part / (double)whole;
}

/// What must be reached, %.
typedef struct {
  double f;
  double cuts;
  double held;
} Limits;

static void
hear_takes(const ReedKind kind, const unsigned takes, const Limits* const limits)
{
  Count count = {0};
  for (unsigned i = 0; i < (only_some ? SOME : takes); ++i) {
    SrPhrase* const phrase = read_phrase(1 + (int)(i % 4));
    Take* const take = make(phrase, i, kind);
    Played played = listen(take->samples, take->count, take->rate_hz, 4800);
    count_take(&count, phrase, take, &played);
    // In order, and whole
    for (size_t n = 0; n < played.count; ++n) {
      const SrFreeNote* const note = &played.notes[n];
      assert_true(note->end_s > note->onset_s);
      assert_true((note->cut_midi >= 0) == isfinite(note->cut_ms));
      assert_true(note->cut_midi >= 0 || !note->held);
    }
    played_free(&played);
    take_del(take);
    sr_phrase_del(phrase);
  }
  const double f = 200.0 * (double)count.matched / (double)(count.sounded + count.reported);
  print_message("%zu notes sounded, %zu told, %zu matched: F %.2f %%\n", count.sounded,
                count.reported, count.matched, f);
  print_message("%zu cuts between notes, %.2f %% found with the right note; %zu on top, %.2f %% "
                "found as held; of %zu notes without a cut %zu were told with one\n",
                count.cuts, percent(count.cuts_found, count.cuts), count.held,
                percent(count.held_found, count.held), count.uncut, count.uncut_wrong);
  if (only_some) {
    assert_true(f > 90.0);
    return;
  }
  assert_true(count.cuts > 80 && count.held > 10);
  assert_true(f >= limits->f);
  assert_true(percent(count.cuts_found, count.cuts) >= limits->cuts);
  assert_true(percent(count.held_found, count.held) >= limits->held);
  assert_true(percent(count.uncut_wrong, count.uncut) <= 3.0);
}

static void
made_reeds(void** const state)
{
  (void)state;
  hear_takes(REEDS_MADE, TAKES, &(Limits){99.0, 97.0, 95.0});
}

static void
recorded_reeds(void** const state)
{
  (void)state;
  hear_takes(REEDS_HARMONICA, RECORDED, &(Limits){99.0, 93.0, 70.0});
}

/// A shipped take after a number of samples of silence: all its cuts are reported wherever
/// its frames lie, and nothing else is. Truth is what the JSON beside each take says.
static void
wherever_it_begins(void** const state)
{
  (void)state;
  static const size_t leads[] = {0, 100, 333, 512, 700, 5000, 20000, 44100, 50001};
  static const struct {
    const char* name;
    size_t notes; // one that never let go is one with the one before
    size_t cuts;
    size_t held;
  } shipped[] = {{"twos", 29, 13, 0}, {"first-cuts", 11, 6, 1}};
  for (size_t s = 0; s < sizeof(shipped) / sizeof(shipped[0]); ++s) {
    char path[1024];
    snprintf(path, sizeof(path), "%s/%s.flac", takes_path, shipped[s].name);
    Scene scene = scene_read(path);
    for (size_t i = 0; i < sizeof(leads) / sizeof(leads[0]); i += only_some ? 8 : 1) {
      const size_t count = leads[i] + scene.count;
      float* const samples = (float*)calloc(count, sizeof(float));
      assert_non_null(samples);
      memcpy(samples + leads[i], scene.samples, scene.count * sizeof(float));
      Played played = listen(samples, count, scene.rate_hz, 4800);
      size_t cuts = 0;
      size_t held = 0;
      for (size_t n = 0; n < played.count; ++n) {
        cuts += played.notes[n].cut_midi >= 0;
        held += played.notes[n].held;
      }
      print_message("%s, %zu samples later: %zu notes, %zu cuts, %zu of them held\n",
                    shipped[s].name, leads[i], played.count, cuts, held);
      assert_int_equal(played.count, shipped[s].notes);
      assert_int_equal(cuts, shipped[s].cuts);
      assert_int_equal(held, shipped[s].held);
      played_free(&played);
      free(samples);
    }
    scene_free(&scene);
  }
}

/// In the first notes of a box never heard before, a cut is not reported as a note while the note
/// that it parts is still missed, nor is a flicker of the room.
static void
nothing_before_the_first_note(void** const state)
{
  (void)state;
  static const unsigned takes[] = {16, 23, 53};
  char path[1024];
  snprintf(path, sizeof(path), "%s/../../exercises/session-jig.abc", takes_path);
  const SrPhraseChoice choice = {.first_bar = 1, .last_bar = 4};
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_file(path, &choice, &phrase, NULL), SR_OK);
  for (size_t i = 0; i < sizeof(takes) / sizeof(takes[0]); ++i) {
    const unsigned index = takes[i];
    TakePlan plan = take_plan_default();
    plan.seed = 900 + index;
    plan.bpm = 60.0 + 3.0 * index;
    plan.reference_hz = 432.0 + 1.7 * (index % 15);
    plan.detune_cents = 4.0;
    plan.rt60_s = 0.02 * (index % 30);
    plan.direct_db = 14.0 - 10.0 * plan.rt60_s;
    plan.floor_db = -65.0 + index % 20;
    plan.attack_ms = 8.0 + index % 18;
    plan.jitter_ms = 10.0;
    plan.overlap_ms = index % 10;
    Take* const take = take_make(phrase, &plan);
    assert_non_null(take);
    Played played = listen(take->samples, take->count, take->rate_hz, 441);
    assert_true(played.count > 10);
    for (size_t n = 0; n < 3; ++n) {
      const SrFreeNote* const note = &played.notes[n];
      bool was = false;
      for (size_t t = 0; t < take->note_count; ++t) {
        const TruthNote* const truth = &take->rounds[0].notes[t];
        was = was || (truth->midi == note->midi && fabs(truth->onset_s - note->onset_s) < NEAR_S);
      }
      if (!was) {
        fail_msg("take %u: MIDI %d at %.3f s was told, which nobody played", index, note->midi,
                 note->onset_s);
      }
    }
    played_free(&played);
    take_del(take);
  }
  sr_phrase_del(phrase);
}

static void
same(const double one, const double other)
{
  assert_true(same_bits(one, other));
}

static void
chunks(void** const state)
{
  (void)state;
  static const size_t sizes[] = {64, 1000, 65536};
  SrPhrase* const phrase = read_phrase(2);
  Take* const take = make(phrase, 5, REEDS_MADE);
  for (int turn = 0; turn < 2; ++turn) {
    Scene scene = scene_of_take(take);
    if (turn) {
      const Scene other = scene_at_rate(&scene, 48000.0);
      scene_free(&scene);
      scene = other;
    }
    Played one = listen(scene.samples, scene.count, scene.rate_hz, 1);
    assert_true(one.count > 20);
    for (size_t s = 0; s < sizeof(sizes) / sizeof(sizes[0]); ++s) {
      Played other = listen(scene.samples, scene.count, scene.rate_hz, sizes[s]);
      assert_int_equal(other.count, one.count);
      assert_int_equal(other.air_count, one.air_count);
      for (size_t i = 0; i < one.count; ++i) {
        same(one.notes[i].onset_s, other.notes[i].onset_s);
        same(one.notes[i].end_s, other.notes[i].end_s);
        same(one.notes[i].cents, other.notes[i].cents);
        same(one.notes[i].level_db, other.notes[i].level_db);
        same(one.notes[i].cut_ms, other.notes[i].cut_ms);
        assert_int_equal(one.notes[i].midi, other.notes[i].midi);
        assert_int_equal(one.notes[i].cut_midi, other.notes[i].cut_midi);
        assert_int_equal(one.notes[i].held, other.notes[i].held);
      }
      played_free(&other);
    }
    played_free(&one);
    scene_free(&scene);
  }
  take_del(take);
  sr_phrase_del(phrase);
}

static void
nothing_played(void** const state)
{
  (void)state;
  Scene scene = {SOURCE_RATE_HZ, (size_t)(20.0 * SOURCE_RATE_HZ), NULL, NULL};
  scene.samples = (float*)calloc(scene.count, sizeof(float));
  assert_non_null(scene.samples);
  for (int turn = 0; turn < 3; ++turn) {
    Played played = listen(scene.samples, scene.count, scene.rate_hz, 4800);
    assert_int_equal(played.count, 0);
    assert_int_equal(played.air_count, 0);
    played_free(&played);
    // A quiet room, then samples that were lost
    if (turn == 0) {
      scene_add_noise(&scene, -55.0);
    } else {
      scene_lose(&scene, 2.0, 18.0);
    }
  }
  scene_free(&scene);
}

/// Notes held for long are reported, and what is played over them meanwhile is reported before.
static void
held_long(void** const state)
{
  (void)state;
  Scene scene = scene_make(24.0);
  scene_add_note(&scene, 62, 1.0, 8.5);
  scene_add_note(&scene, 57, 10.0, 20.0);
  for (int i = 0; i < 8; ++i) {
    scene_add_note(&scene, 70 + i % 3, 11.0 + i, 11.7 + i);
  }
  SrFree* listener = NULL;
  Played played = {0};
  size_t before = 0; // The low one ends
  assert_int_equal(sr_free_new(scene.rate_hz, NULL, &listener, NULL), SR_OK);
  for (size_t at = 0; at < scene.count; at += 4410) {
    const double now_s = (double)at / scene.rate_hz;
    assert_int_equal(sr_free_push(listener, scene.samples + at, 4410, NULL), SR_OK);
    assert_true(now_s < 1.1 || now_s > 8.3 || sr_free_sounds(listener));
    pull(listener, &played);
    if (now_s > 18.95 && before == 0) {
      before = played.count;
    }
  }
  assert_int_equal(sr_free_finish(listener, NULL), SR_OK);
  pull(listener, &played);
  sr_free_del(listener);
  assert_true(before > 0 && before < played.count);
  assert_int_equal(played.notes[0].midi, 62);
  assert_true(fabs(played.notes[0].end_s - played.notes[0].onset_s - 7.5) < 0.1);
  size_t over = 0;
  for (size_t i = 0; i < before; ++i) {
    const double place = played.notes[i].onset_s - 11.0;
    over +=
        played.notes[i].midi == 70 + (int)lround(place) % 3 && fabs(place - round(place)) < NEAR_S;
  }
  // Under the melody the low one may fall to pieces
  assert_true(over >= 7);
  played_free(&played);
  scene_free(&scene);
}

/// A profile learnt by listening freely knows the reeds; and news that nobody pulls are freed.
static void
learns(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase(1);
  Take* const take = make(phrase, 3, REEDS_MADE);
  SrFree* listener = NULL;
  assert_int_equal(sr_free_new(take->rate_hz, NULL, &listener, NULL), SR_OK);
  assert_false(sr_free_sounds(listener));
  const size_t half = (size_t)((take->rounds[0].notes[0].onset_s + 0.12) * take->rate_hz);
  assert_int_equal(sr_free_push(listener, take->samples, half, NULL), SR_OK);
  assert_true(sr_free_sounds(listener));
  assert_int_equal(sr_free_push(listener, take->samples + half, take->count - half, NULL), SR_OK);
  SrProfile* const profile = sr_free_profile(listener);
  assert_non_null(profile);
  const double apart = 1200.0 * log2(sr_profile_reference_hz(profile) / take->reference_hz);
  print_message("reference %.2f cents off\n", apart);
  assert_true(fabs(apart) < 5.0);
  sr_profile_del(profile);
  sr_free_del(listener);
  sr_free_del(NULL);
  take_del(take);
  sr_phrase_del(phrase);
}

/// Many notes without a gap, before the instrument is known: none is reported twice.
static void
one_long_run(void** const state)
{
  (void)state;
  static const int scale[] = {69, 71, 73, 74, 76, 78, 80, 81};
  static const size_t notes = 92;
  static const double note_s = 0.13;
  Scene scene = scene_make(16.0);
  size_t degree = 0;
  for (size_t i = 0; i < notes; ++i) {
    degree = (degree + 1 + i * i % 7) % 8; // never the same twice in a row
    const double from_s = 0.5 + note_s * (double)i;
    scene_add_note(&scene, scale[degree], from_s, from_s + note_s + 0.01);
  }
  Played played = listen(scene.samples, scene.count, scene.rate_hz, 4800);
  print_message("%zu notes told of %zu\n", played.count, notes);
  assert_in_range(played.count, notes - 4, notes + 4);
  for (size_t i = 1; i < played.count; ++i) {
    assert_true(played.notes[i].onset_s > played.notes[i - 1].onset_s + NEAR_S);
  }
  played_free(&played);
  scene_free(&scene);
}

/// Another box is taken up after a few notes, 80 cents higher: by and by its own names are used.
static void
another_box(void** const state)
{
  (void)state;
  static const double boxes_hz[] = {430.0, 450.3};
  SrPhrase* const phrase = read_phrase(1);
  SrFree* listener = NULL;
  unsigned changes = 0;
  double reference_hz = 440.0;
  for (size_t box = 0; box < 2; ++box) {
    TakePlan plan = take_plan_default();
    plan.seed = 40 + box;
    plan.reference_hz = boxes_hz[box];
    plan.rounds = box ? (only_some ? 2 : 4) : 1;
    plan.pause_s = 1.0;
    Take* const take = take_make(phrase, &plan);
    assert_non_null(take);
    if (!listener) {
      assert_int_equal(sr_free_new(take->rate_hz, NULL, &listener, NULL), SR_OK);
    }
    const size_t count = box ? take->count : (size_t)(5.0 * take->rate_hz);
    for (size_t at = 0; at < count; at += 4410) {
      const size_t step = count - at < 4410 ? count - at : 4410;
      assert_int_equal(sr_free_push(listener, take->samples + at, step, NULL), SR_OK);
      SrProfile* const profile = sr_free_profile(listener);
      assert_non_null(profile);
      const double now_hz = sr_profile_reference_hz(profile);
      changes += fabs(now_hz - reference_hz) > 1e-9;
      reference_hz = now_hz;
      sr_profile_del(profile);
    }
    take_del(take);
  }
  const double apart = 1200.0 * log2(reference_hz / boxes_hz[1]);
  print_message("learnt %u times, at last %.1f cents from the second box\n", changes, apart);
  sr_free_del(listener);
  sr_phrase_del(phrase);
  assert_true(changes <= 24 && (only_some || fabs(apart) < 15.0));
}

/// An instrument that is known from before gives no other notes.
static void
known_before(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase(1);
  Count counts[2] = {{0}, {0}};
  for (unsigned index = 0; index < (only_some ? 1u : 2u); ++index) {
    Take* const other = make(phrase, index + 6, REEDS_MADE);
    SrFree* listener = NULL;
    assert_int_equal(sr_free_new(other->rate_hz, NULL, &listener, NULL), SR_OK);
    assert_int_equal(sr_free_push(listener, other->samples, other->count, NULL), SR_OK);
    SrProfile* const profile = sr_free_profile(listener);
    sr_free_del(listener);
    Played unknown = listen(other->samples, other->count, other->rate_hz, 4800);
    Played known = listen_with(profile, other->samples, other->count, other->rate_hz, 4800);
    count_take(&counts[0], phrase, other, &unknown);
    count_take(&counts[1], phrase, other, &known);
    played_free(&unknown);
    played_free(&known);
    sr_profile_del(profile);
    take_del(other);
  }
  for (size_t i = 0; i < 2; ++i) {
    print_message("%s: %zu of %zu notes, %zu told, %zu of %zu cuts\n", i ? "known" : "unknown",
                  counts[i].matched, counts[i].sounded, counts[i].reported, counts[i].cuts_found,
                  counts[i].cuts);
  }
  assert_true(counts[1].matched + 1 >= counts[0].matched);
  assert_true(counts[1].reported <= counts[0].reported + 1);
  assert_true(counts[1].cuts_found >= counts[0].cuts_found);
  sr_phrase_del(phrase);
}

int
main(const int argc, char** const argv)
{
  if (argc < 3) {
    return 2;
  }
  only_some = argc > 3;
  abc_path = argv[1];
  takes_path = argv[2];
  const struct CMUnitTest tests[] = {cmocka_unit_test(made_reeds),
                                     cmocka_unit_test(recorded_reeds),
                                     cmocka_unit_test(nothing_before_the_first_note),
                                     cmocka_unit_test(wherever_it_begins),
                                     cmocka_unit_test(chunks),
                                     cmocka_unit_test(nothing_played),
                                     cmocka_unit_test(held_long),
                                     cmocka_unit_test(one_long_run),
                                     cmocka_unit_test(another_box),
                                     cmocka_unit_test(known_before),
                                     cmocka_unit_test(learns)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
