// SPDX-License-Identifier: GPL-3.0-or-later

// What is chosen for a day: each rule, and a month of a player of our own invention. The numbers
// that are expected follow from the rule as today.h tells it, counted by hand.

#include <steadyreed/today.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define TODAY 20000
#define MOST_DAYS 64u
#define MOST_SOURCES 12u

/// A source that can be filled.
typedef struct {
  SrPracticeDay days[MOST_DAYS];
  size_t day_count;
  SrBarFigures bars[16];
  size_t bar_count;
} Book;

typedef struct {
  Book books[MOST_SOURCES];
  SrTodaySource sources[MOST_SOURCES];
  size_t count;
} Shelf;

static Book*
add(Shelf* const shelf, const SrTodayKind kind, const char* const tune)
{
  const size_t index = shelf->count++;
  assert_true(index < MOST_SOURCES);
  Book* const book = &shelf->books[index];
  shelf->sources[index] = (SrTodaySource){.kind = kind,
                                          .tune = tune,
                                          .first_bar = 1,
                                          .last_bar = 16,
                                          .days = book->days,
                                          .bars = book->bars};
  return book;
}

/// Play it on a day.
static void
play(Book* const book, const int day, const unsigned rounds, const unsigned clean)
{
  assert_true(book->day_count < MOST_DAYS);
  book->days[book->day_count++] =
      (SrPracticeDay){.day = day, .rounds = rounds, .clean_rounds = clean};
}

/// Bars with faults, of ten rounds.
static void
fault(Book* const book, const int bar, const unsigned faults)
{
  book->bars[book->bar_count++] = (SrBarFigures){.bar = bar, .rounds = 10, .faults = faults};
}

static size_t
choose(Shelf* const shelf, const int day, SrTodayItem items[SR_TODAY_MOST])
{
  size_t count = 0;
  for (size_t i = 0; i < shelf->count; ++i) {
    shelf->sources[i].day_count = shelf->books[i].day_count;
    shelf->sources[i].bar_count = shelf->books[i].bar_count;
  }
  assert_int_equal(sr_today_choose(shelf->sources, shelf->count, day, items, &count, NULL), SR_OK);
  return count;
}

/// The one drill that is chosen.
static SrTodayItem
choose_one(Shelf* const shelf, const int day)
{
  SrTodayItem items[SR_TODAY_MOST];
  assert_int_equal(choose(shelf, day, items), 1);
  return items[0];
}

static void
test_nothing(void** const state)
{
  (void)state;
  Shelf shelf = {.count = 0};
  SrTodayItem items[SR_TODAY_MOST];
  assert_int_equal(choose(&shelf, TODAY, items), 0);
}

/// Clean days that were due double the interval, up to a month; another makes it a day.
static void
test_intervals(void** const state)
{
  (void)state;
  static const struct {
    const char* days; ///< From TODAY - 40 on: c clean, p poor, . not played
    int interval;
    int rested;
  } cases[] = {
      {"p", 1, 40},
      {"c", 2, 40},
      {"c.c", 4, 38},
      {"c.c...c", 8, 34},
      {"c.c...p", 1, 34},
      {"c.p.c", 2, 36},
      {"c.c...c.......c", 16, 26},
      // A clean day before it was due changes nothing
      {"cccc", 2, 37},
      {"c.cc", 4, 37},
      // Every other day a longer one
      {"c.c...c.......c...............c", 32, 10},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Shelf shelf = {.count = 0};
    Book* const book = add(&shelf, SR_TODAY_CUTS, "drill");
    for (int d = 0; cases[i].days[d]; ++d) {
      if (cases[i].days[d] != '.') {
        play(book, TODAY - 40 + d, 6, cases[i].days[d] == 'c' ? 3 : 2);
      }
    }
    const SrTodayItem item = choose_one(&shelf, TODAY);
    if (item.interval != cases[i].interval || item.rested != cases[i].rested) {
      fail_msg("%s: interval %d, rested %d", cases[i].days, item.interval, item.rested);
    }
  }
}

/// No interval is longer than a month.
static void
test_longest_interval(void** const state)
{
  (void)state;
  Shelf shelf = {.count = 0};
  Book* const book = add(&shelf, SR_TODAY_CUTS, "drill");
  for (int i = 0, day = TODAY - 500; i < 9; ++i, day += 50) {
    play(book, day, 4, 4);
  }
  assert_int_equal(choose_one(&shelf, TODAY).interval, SR_TODAY_MOST_DAYS);
}

/// The most due of a kind: days rested as a share of the interval.
static void
test_most_due(void** const state)
{
  (void)state;
  Shelf shelf = {.count = 0};
  Book* const often = add(&shelf, SR_TODAY_CUTS, "often");
  Book* const rarely = add(&shelf, SR_TODAY_CUTS, "rarely");
  // 2 days of 1, against 3 of 2
  play(often, TODAY - 2, 4, 0);
  play(rarely, TODAY - 3, 4, 4);
  SrTodayItem item = choose_one(&shelf, TODAY);
  assert_int_equal(item.source, 0);
  assert_int_equal(item.reason, SR_TODAY_RESTED);
  // 1 day of 1, against 3 of 2
  often->days[0].day = TODAY - 1;
  item = choose_one(&shelf, TODAY);
  assert_int_equal(item.source, 1);
  // Neither is due, 1 of 2 and 1 of 4: there is a drill of each kind all the same
  often->days[0] = (SrPracticeDay){.day = TODAY - 1, .rounds = 4, .clean_rounds = 4};
  rarely->day_count = 0;
  play(rarely, TODAY - 3, 4, 4);
  play(rarely, TODAY - 1, 4, 4);
  item = choose_one(&shelf, TODAY);
  assert_int_equal(item.source, 0);
  assert_int_equal(item.reason, SR_TODAY_TURN);
}

/// A harder drill opens once the one before it had a clean day.
static void
test_harder_drills_open(void** const state)
{
  (void)state;
  Shelf shelf = {.count = 0};
  Book* const easy = add(&shelf, SR_TODAY_AIR, "easy");
  add(&shelf, SR_TODAY_AIR, "harder");
  add(&shelf, SR_TODAY_AIR, "hardest");
  for (int day = TODAY; day < TODAY + 30; ++day) {
    const SrTodayItem first = choose_one(&shelf, day);
    assert_int_equal(first.source, 0);
    assert_int_equal(first.reason, SR_TODAY_NEW);
  }
  play(easy, TODAY - 1, 4, 0); // due today, and still alone
  assert_int_equal(choose_one(&shelf, TODAY).source, 0);
  easy->days[0].clean_rounds = 2; // not due before tomorrow
  const SrTodayItem item = choose_one(&shelf, TODAY);
  assert_int_equal(item.source, 1);
  assert_int_equal(item.reason, SR_TODAY_NEW);
}

/// One that was not clean yesterday comes before one that was never played, whatever the day.
static void
test_unclean_before_new(void** const state)
{
  (void)state;
  for (int day = TODAY; day < TODAY + 30; ++day) {
    Shelf shelf = {.count = 0};
    Book* const easy = add(&shelf, SR_TODAY_CUTS, "easy");
    Book* const harder = add(&shelf, SR_TODAY_CUTS, "harder");
    add(&shelf, SR_TODAY_CUTS, "hardest");
    play(easy, day - 1, 4, 4);
    play(harder, day - 9, 4, 4); // opened the hardest
    play(harder, day - 1, 4, 0);
    assert_int_equal(choose_one(&shelf, day).source, 1);
  }
}

/// Bars are weighed by their faults, two pairs a day.
static void
test_worst_bars(void** const state)
{
  (void)state;
  Shelf shelf = {.count = 0};
  Book* const jig = add(&shelf, SR_TODAY_BARS, "jig");
  play(jig, TODAY - 3, 8, 0);
  static const unsigned faults[8] = {0, 1, 12, 3, 0, 0, 0, 20};
  for (int bar = 1; bar <= 8; ++bar) {
    fault(jig, bar, faults[bar - 1]);
  }
  SrTodayItem items[SR_TODAY_MOST];
  assert_int_equal(choose(&shelf, TODAY, items), 2);
  assert_int_equal(items[0].first_bar, 7);
  assert_int_equal(items[0].last_bar, 8);
  assert_true(fabs(items[0].faults - 2.0) < 1e-9);
  assert_int_equal(items[0].reason, SR_TODAY_FAULTS);
  assert_int_equal(items[0].worst.bar, 8);
  assert_int_equal(items[1].worst.bar, 3);
  assert_int_equal(items[1].first_bar, 3);
  assert_true(fabs(items[1].faults - 1.5) < 1e-9);
}

/// Bars without a fault that have rested for long come before faulty ones of yesterday: 10 of 2
/// days are more than 1 of 1 with three faults a round, and less than with five.
static void
test_rested_bars(void** const state)
{
  (void)state;
  for (unsigned faults = 30; faults <= 50; faults += 20) {
    Shelf shelf = {.count = 0};
    Book* const reel = add(&shelf, SR_TODAY_BARS, "reel");
    Book* const jig = add(&shelf, SR_TODAY_BARS, "jig");
    play(reel, TODAY - 10, 6, 6);
    fault(reel, 5, 0);
    play(jig, TODAY - 1, 6, 0);
    fault(jig, 2, faults);
    SrTodayItem items[SR_TODAY_MOST];
    assert_int_equal(choose(&shelf, TODAY, items), 2);
    const size_t first = items[0].source;
    assert_int_equal(first, faults == 30 ? 0 : 1);
    assert_int_equal(items[first == 0 ? 0 : 1].reason, SR_TODAY_RESTED);
    assert_int_equal(items[first == 0 ? 0 : 1].first_bar, 5);
  }
}

/// A tune and its bars that were practised apart count together, and are chosen once.
static void
test_tune_and_its_bars(void** const state)
{
  (void)state;
  Shelf shelf = {.count = 0};
  Book* const whole = add(&shelf, SR_TODAY_BARS, "jig");
  Book* const apart = add(&shelf, SR_TODAY_BARS, "jig");
  play(whole, TODAY - 9, 4, 0);
  fault(whole, 1, 20);
  fault(whole, 3, 1);
  play(apart, TODAY - 2, 4, 4);
  fault(apart, 1, 0);
  SrTodayItem items[SR_TODAY_MOST];
  assert_int_equal(choose(&shelf, TODAY, items), 2);
  // Bars 3 and 4: 9 days of 1, times 1.1; bars 1 and 2: 2 days of 2, times 2
  assert_int_equal(items[0].first_bar, 3);
  assert_int_equal(items[0].rested, 9);
  assert_int_equal(items[0].source, 0);
  assert_int_equal(items[1].first_bar, 1);
  assert_int_equal(items[1].rested, 2);
  assert_int_equal(items[1].interval, 2);
  assert_int_equal(items[1].source, 1);
  assert_true(fabs(items[1].faults - 1.0) < 1e-9);
}

/// A pickup goes with bars 1 and 2, and the last pair may be one bar.
static void
test_odd_bars(void** const state)
{
  (void)state;
  Shelf shelf = {.count = 0};
  Book* const jig = add(&shelf, SR_TODAY_BARS, "jig");
  shelf.sources[0].first_bar = 0;
  shelf.sources[0].last_bar = 5;
  play(jig, TODAY - 3, 8, 0);
  fault(jig, 0, 30);
  fault(jig, 5, 20);
  SrTodayItem items[SR_TODAY_MOST];
  assert_int_equal(choose(&shelf, TODAY, items), 2);
  assert_int_equal(items[0].first_bar, 1);
  assert_int_equal(items[0].last_bar, 2);
  assert_int_equal(items[1].first_bar, 5);
  assert_int_equal(items[1].last_bar, 5);
}

/// A shelf as on a first day: what comes with the program.
static void
shelf_of_drills(Shelf* const shelf)
{
  *shelf = (Shelf){.count = 0};
  add(shelf, SR_TODAY_STEADY, "six in a row");
  add(shelf, SR_TODAY_STEADY, "the click");
  add(shelf, SR_TODAY_CUTS, "first cuts");
  add(shelf, SR_TODAY_CUTS, "threes");
  add(shelf, SR_TODAY_AIR, "first sip");
  add(shelf, SR_TODAY_AIR, "eight");
  add(shelf, SR_TODAY_BARS, "lamp");
}

static void
assert_kinds(const SrTodayItem* const items, const size_t count, const SrTodayKind* const kinds)
{
  for (size_t i = 0; i < count; ++i) {
    assert_int_equal(items[i].kind, kinds[i]);
  }
}

/// Without a past: the first drill of each kind, and the first bars of a tune.
static void
test_first_day(void** const state)
{
  (void)state;
  static const SrTodayKind kinds[] = {SR_TODAY_STEADY, SR_TODAY_CUTS, SR_TODAY_BARS, SR_TODAY_AIR};
  static const size_t sources[] = {0, 2, 6, 4};
  Shelf shelf;
  shelf_of_drills(&shelf);
  for (int day = TODAY; day < TODAY + 30; ++day) {
    SrTodayItem items[SR_TODAY_MOST];
    assert_int_equal(choose(&shelf, day, items), 4);
    assert_kinds(items, 4, kinds);
    for (size_t i = 0; i < 4; ++i) {
      assert_int_equal(items[i].source, sources[i]);
      assert_int_equal(items[i].reason, SR_TODAY_NEW);
      assert_int_equal(items[i].rested, -1);
    }
    assert_int_equal(items[2].first_bar, 1);
    assert_int_equal(items[2].last_bar, 2);
  }
}

/// Twelve to fifteen minutes with the pauses, whatever there is.
static void
test_time(void** const state)
{
  (void)state;
  for (unsigned there = 1; there < 16; ++there) {
    Shelf shelf = {.count = 0};
    for (int kind = 0; kind < 4; ++kind) {
      if (there >> kind & 1u) {
        Book* const book = add(&shelf, (SrTodayKind)kind, "any");
        play(book, TODAY - 1, 2, 1);
        fault(book, 1, 3);
        fault(book, 4, 3);
      }
    }
    SrTodayItem items[SR_TODAY_MOST];
    const size_t count = choose(&shelf, TODAY, items);
    const double minutes = sr_today_minutes(items, count);
    assert_true(minutes >= 12.0 && minutes <= 15.0);
    for (size_t i = 0; i < count; ++i) {
      assert_true(items[i].minutes >= 2.0);
    }
  }
}

static bool
is_same(const SrTodayItem* const one, const SrTodayItem* const other)
{
  return one->kind == other->kind && one->source == other->source &&
         one->first_bar == other->first_bar && one->last_bar == other->last_bar &&
         one->minutes == other->minutes && one->reason == other->reason &&
         one->rested == other->rested && one->interval == other->interval &&
         one->faults == other->faults;
}

/// What is played today changes nothing until tomorrow.
static void
test_the_same_all_day(void** const state)
{
  (void)state;
  Shelf shelf;
  SrTodayItem morning[SR_TODAY_MOST];
  SrTodayItem evening[SR_TODAY_MOST];
  shelf_of_drills(&shelf);
  play(&shelf.books[6], TODAY - 4, 5, 1);
  for (int bar = 1; bar <= 8; ++bar) {
    fault(&shelf.books[6], bar, 2);
  }
  play(&shelf.books[2], TODAY - 2, 5, 3);
  const size_t count = choose(&shelf, TODAY, morning);
  assert_int_equal(count, 5);
  for (size_t i = 0; i < count; ++i) {
    play(&shelf.books[morning[i].source], TODAY, 6, 5);
  }
  assert_int_equal(choose(&shelf, TODAY, evening), count);
  for (size_t i = 0; i < count; ++i) {
    assert_true(is_same(&morning[i], &evening[i]));
  }
  // The next day it counts
  assert_int_equal(choose(&shelf, TODAY + 1, evening), count);
  bool same = true;
  for (size_t i = 0; i < count; ++i) {
    same = same && is_same(&morning[i], &evening[i]);
  }
  assert_false(same);
}

/// What is equal is decided by the day: over a month each comes, and none more than it should by
/// far. Four pairs, of which two a day: 15 of 30 each; with fair lots under 5 or over 25 comes
/// less than once in a thousand.
static void
test_equals(void** const state)
{
  (void)state;
  unsigned often[4] = {0};
  Shelf shelf = {.count = 0};
  Book* const jig = add(&shelf, SR_TODAY_BARS, "jig");
  play(jig, TODAY - 1, 8, 0);
  for (int bar = 1; bar <= 8; ++bar) {
    fault(jig, bar, 2);
  }
  for (int day = TODAY; day < TODAY + 30; ++day) {
    SrTodayItem items[SR_TODAY_MOST];
    assert_int_equal(choose(&shelf, day, items), 2);
    ++often[items[0].first_bar / 2];
    ++often[items[1].first_bar / 2];
  }
  for (size_t i = 0; i < 4; ++i) {
    assert_in_range(often[i], 5, 25);
  }
}

/// A month: whoever plays all well comes to harder drills, and each thing comes more rarely.
static void
test_a_month(void** const state)
{
  (void)state;
  Shelf shelf;
  shelf_of_drills(&shelf);
  Book* const jig = &shelf.books[6];
  unsigned times[MOST_SOURCES] = {0};
  unsigned pairs[8] = {0};
  size_t items_played = 0;
  for (int day = TODAY; day < TODAY + 30; ++day) {
    SrTodayItem items[SR_TODAY_MOST];
    const size_t count = choose(&shelf, day, items);
    bool played[MOST_SOURCES] = {false};
    assert_in_range(count, 4, 5);
    for (size_t i = 0; i < count; ++i) {
      ++times[items[i].source];
      ++items_played;
      if (items[i].kind == SR_TODAY_BARS) {
        ++pairs[items[i].first_bar / 2];
      }
      if (!played[items[i].source]) {
        // Cuts in threes never go well; all else does
        play(&shelf.books[items[i].source], day, 6, items[i].source == 3 ? 1 : 5);
        played[items[i].source] = true;
      }
    }
    if (day == TODAY) {
      for (int bar = 1; bar <= 8; ++bar) {
        fault(jig, bar, bar == 5 ? 15 : 0); // bar 5 goes wrong all the month
      }
    }
  }
  assert_true(items_played >= 30 * 4);
  // All of it came; what goes wrong, most
  for (size_t i = 0; i < shelf.count; ++i) {
    assert_true(times[i] > 0);
  }
  assert_true(times[3] > 2 * times[2]);
  for (size_t i = 0; i < 4; ++i) {
    assert_true(pairs[i] > 0);
    assert_true(i == 2 || pairs[2] > pairs[i]);
  }
}

static void
test_why(void** const state)
{
  (void)state;
  static const struct {
    SrTodayItem item;
    const char* words;
  } cases[] = {
      {{.reason = SR_TODAY_NEW, .rested = -1}, "new for you"},
      {{.kind = SR_TODAY_BARS,
        .reason = SR_TODAY_FAULTS,
        .rested = 1,
        .faults = 1.5,
        .worst = {.bar = 3, .rounds = 4, .cuts = 8, .cuts_faulty = 4, .wrong = 1, .faults = 5}},
       "bar 3: about one cut in two not clean"},
      {{.kind = SR_TODAY_BARS,
        .reason = SR_TODAY_FAULTS,
        .rested = 1,
        .worst = {.bar = 0, .rounds = 6, .notes = 24, .wrong = 5, .slips = 1, .faults = 6}},
       "pickup: about one note in five missed or wrong"},
      {{.kind = SR_TODAY_BARS,
        .reason = SR_TODAY_FAULTS,
        .rested = 1,
        .worst = {.bar = 12, .rounds = 3, .slips = 3, .faults = 3}},
       "bar 12: nearly every round with a break in the flow"},
      {{.kind = SR_TODAY_BARS, .reason = SR_TODAY_RESTED, .rested = 6, .interval = 2},
       "longest rested: 6 days"},
      {{.kind = SR_TODAY_BARS, .reason = SR_TODAY_RESTED, .rested = 1, .interval = 1},
       "its turn; last played yesterday"},
      {{.kind = SR_TODAY_BARS,
        .reason = SR_TODAY_RESTED,
        .rested = 1,
        .interval = 1,
        .today = true},
       "played today, as part of a longer stretch"},
      {{.kind = SR_TODAY_CUTS, .reason = SR_TODAY_RESTED, .rested = 3, .interval = 1},
       "not clean yet, 3 days ago"},
      {{.kind = SR_TODAY_CUTS, .reason = SR_TODAY_TURN, .rested = 2, .interval = 8},
       "its turn; last played 2 days ago"},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char words[SR_TODAY_WHY_SIZE];
    assert_string_equal(sr_today_why(&cases[i].item, words), cases[i].words);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_nothing),
      cmocka_unit_test(test_intervals),
      cmocka_unit_test(test_longest_interval),
      cmocka_unit_test(test_most_due),
      cmocka_unit_test(test_harder_drills_open),
      cmocka_unit_test(test_unclean_before_new),
      cmocka_unit_test(test_worst_bars),
      cmocka_unit_test(test_rested_bars),
      cmocka_unit_test(test_tune_and_its_bars),
      cmocka_unit_test(test_odd_bars),
      cmocka_unit_test(test_first_day),
      cmocka_unit_test(test_time),
      cmocka_unit_test(test_the_same_all_day),
      cmocka_unit_test(test_equals),
      cmocka_unit_test(test_a_month),
      cmocka_unit_test(test_why),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
