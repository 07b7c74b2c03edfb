// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/today.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// Bars of a pair.
#define PAIR 2
/// Pairs of bars that are chosen.
#define MOST_PAIRS 2u
/// How due something new is: just under what was played the day before and was not clean.
#define NEW_DUE 0.99
/// Minutes of each drill; the bars have the rest.
#define STEADY_MIN 2.0
#define CUTS_MIN 3.0
#define AIR_MIN 2.0

/// How something has gone until yesterday.
typedef struct {
  int last; ///< Day; INT_MIN for never
  int interval;
  bool clean; ///< Some day was
} Past;

/// Something that may be chosen.
typedef struct {
  SrTodayItem item;
  double weight;
  uint64_t lot; ///< Decides between equals
} Candidate;

/// A list of days that grows.
typedef struct {
  SrPracticeDay* days;
  size_t count;
} Days;

/// A number that depends on all of its parts alike: splitmix64 (Steele, Lea and Flood, 2014).
static uint64_t
mix(const uint64_t value, const uint64_t part)
{
  uint64_t z = (value ^ part) + UINT64_C(0x9e3779b97f4a7c15);
  z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
  z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
  return z ^ (z >> 31);
}

/// What decides between equals on a day.
static uint64_t
lot_of(const SrTodaySource* const source, const int bar, const int day)
{
  uint64_t lot = mix((uint64_t)(int64_t)day, (uint64_t)bar);
  for (const char* at = source->tune ? source->tune : ""; *at; ++at) {
    lot = mix(lot, (uint64_t)(unsigned char)*at);
  }
  return lot;
}

/// Walk through days in order, up to today.
static Past
past_of(const SrPracticeDay* const days, const size_t count, const int today)
{
  Past past = {.last = -1, .interval = 1};
  bool any = false;
  for (size_t i = 0; i < count && days[i].day < today; ++i) {
    const bool clean = days[i].clean_rounds > 0 && 2 * days[i].clean_rounds >= days[i].rounds;
    const bool due = !any || days[i].day - past.last >= past.interval;
    if (!clean) {
      past.interval = 1;
    } else if (due && past.interval < SR_TODAY_MOST_DAYS) {
      past.interval *= 2;
    }
    past.clean = past.clean || clean;
    past.last = days[i].day;
    any = true;
  }
  past.last = any ? past.last : INT32_MIN;
  return past;
}

static bool
is_new(const Past* const past)
{
  return past->last == INT32_MIN;
}

/// How due it is; what is new is due, but less than anything that was not clean.
static double
due_of(const Past* const past, const int today)
{
  return is_new(past) ? NEW_DUE : (double)(today - past->last) / past->interval;
}

static Candidate
candidate_of(const SrTodaySource* const sources, const size_t source, const Past* const past,
             const double faults, const int day)
{
  const double due = due_of(past, day);
  Candidate candidate = {
      .item = {.kind = sources[source].kind,
               .source = source,
               .rested = is_new(past) ? -1 : day - past->last,
               .interval = past->interval,
               .faults = faults},
      .weight = due * (1.0 + faults),
  };
  candidate.item.reason = is_new(past)                ? SR_TODAY_NEW
                          : faults >= SR_TODAY_FAULTY ? SR_TODAY_FAULTS
                          : due >= 1.0                ? SR_TODAY_RESTED
                                                      : SR_TODAY_TURN;
  return candidate;
}

static bool
is_better(const Candidate* const one, const Candidate* const other)
{
  return one->weight > other->weight || (one->weight == other->weight && one->lot > other->lot);
}

/// The most due drill of a kind; false if there is none.
static bool
choose_drill(const SrTodaySource* const sources, const size_t count, const SrTodayKind kind,
             const int day, SrTodayItem* const item)
{
  Candidate best = {.weight = -1.0};
  bool open = true; // The first is
  for (size_t i = 0; i < count; ++i) {
    if (sources[i].kind != kind) {
      continue;
    }
    const Past past = past_of(sources[i].days, sources[i].day_count, day);
    if (open || !is_new(&past)) {
      Candidate candidate = candidate_of(sources, i, &past, 0.0, day);
      candidate.lot = lot_of(&sources[i], 0, day);
      best = is_better(&candidate, &best) ? candidate : best;
    }
    open = past.clean;
  }
  *item = best.item;
  return best.weight >= 0.0;
}

static int
compare_days(const void* const one, const void* const other)
{
  const int a = ((const SrPracticeDay*)one)->day;
  const int b = ((const SrPracticeDay*)other)->day;
  return (a > b) - (a < b);
}

/// Add the days of a source.
static bool
add_days(Days* const all, const SrTodaySource* const source)
{
  if (source->day_count == 0) {
    return true;
  }
  SrPracticeDay* const more =
      (SrPracticeDay*)realloc(all->days, (all->count + source->day_count) * sizeof(SrPracticeDay));
  if (!more) {
    return false;
  }
  all->days = more;
  memcpy(more + all->count, source->days, source->day_count * sizeof(SrPracticeDay));
  all->count += source->day_count;
  return true;
}

/// Put the days in order, and make one of those that are the same.
static void
merge_days(Days* const all)
{
  size_t kept = 0;
  if (all->count == 0) {
    return;
  }
  qsort(all->days, all->count, sizeof(SrPracticeDay), compare_days);
  for (size_t i = 1; i < all->count; ++i) {
    SrPracticeDay* const last = &all->days[kept];
    if (all->days[i].day == last->day) {
      last->rounds += all->days[i].rounds;
      last->clean_rounds += all->days[i].clean_rounds;
    } else {
      all->days[++kept] = all->days[i];
    }
  }
  all->count = kept + 1;
}

/// The first bar of the pair that a bar belongs to; a pickup belongs to the first.
static int
pair_of(const int bar)
{
  return bar < 1 ? 1 : 1 + PAIR * ((bar - 1) / PAIR);
}

static bool
is_same_tune(const SrTodaySource* const one, const SrTodaySource* const other)
{
  return one->kind == SR_TODAY_BARS && other->kind == SR_TODAY_BARS &&
         !strcmp(one->tune, other->tune);
}

/// Faults a round of a source in a pair of bars; whether the pair was played in it.
static bool
faults_in(const SrTodaySource* const source, const int pair, double* const faults)
{
  bool played = false;
  for (size_t i = 0; i < source->bar_count; ++i) {
    const SrBarFigures* const bar = &source->bars[i];
    if (pair_of(bar->bar) == pair && bar->rounds > 0) {
      played = true;
      *faults += (double)bar->faults / bar->rounds;
    }
  }
  return played;
}

static void
add_figures(SrBarFigures* const sum, const SrBarFigures* const bar)
{
  sum->bar = bar->bar;
  sum->rounds += bar->rounds;
  sum->notes += bar->notes;
  sum->wrong += bar->wrong;
  sum->joined += bar->joined;
  sum->cuts += bar->cuts;
  sum->cuts_faulty += bar->cuts_faulty;
  sum->inserted += bar->inserted;
  sum->slips += bar->slips;
  sum->air_heard += bar->air_heard;
  sum->faults += bar->faults;
}

/// The bar of a pair with the most faults a round, over all sources of the tune.
static SrBarFigures
worst_of(const SrTodaySource* const sources, const size_t count, const size_t source,
         const int pair)
{
  SrBarFigures worst = {.rounds = 0};
  for (int number = pair == 1 ? 0 : pair; number < pair + PAIR; ++number) {
    SrBarFigures sum = {.rounds = 0};
    for (size_t i = 0; i < count; ++i) {
      for (size_t k = 0; is_same_tune(&sources[i], &sources[source]) && k < sources[i].bar_count;
           ++k) {
        if (sources[i].bars[k].bar == number) {
          add_figures(&sum, &sources[i].bars[k]);
        }
      }
    }
    if (sum.faults > 0 && sum.rounds > 0 &&
        (worst.rounds == 0 ||
         (double)sum.faults / sum.rounds > (double)worst.faults / worst.rounds)) {
      worst = sum;
    }
  }
  return worst;
}

/// A pair of bars of the tune of a source, from all sources of that tune. False without memory.
static bool
weigh_pair(const SrTodaySource* const sources, const size_t count, const size_t source,
           const int pair, const int day, Candidate* const candidate)
{
  Days all = {0};
  double faults = 0.0;
  unsigned played = 0;
  size_t latest = source;
  int latest_day = INT32_MIN;
  bool enough = true;
  for (size_t i = 0; i < count; ++i) {
    double own = 0.0;
    if (!is_same_tune(&sources[i], &sources[source]) || !faults_in(&sources[i], pair, &own)) {
      continue;
    }
    const Past past = past_of(sources[i].days, sources[i].day_count, day);
    faults += own;
    ++played;
    if (past.last > latest_day) {
      latest = i;
      latest_day = past.last;
    }
    enough = enough && add_days(&all, &sources[i]);
  }
  merge_days(&all);
  const Past past = past_of(all.days, all.count, day);
  free(all.days);
  *candidate =
      candidate_of(sources, latest, &past, played > 0 ? faults / (double)played : 0.0, day);
  candidate->lot = lot_of(&sources[source], pair, day);
  candidate->item.worst = worst_of(sources, count, source, pair);
  candidate->item.first_bar = pair;
  candidate->item.last_bar = pair + PAIR - 1;
  if (candidate->item.last_bar > sources[source].last_bar) {
    candidate->item.last_bar = sources[source].last_bar;
  }
  return enough;
}

/// The best pairs so far.
typedef struct {
  Candidate pairs[MOST_PAIRS];
  size_t count;
} Best;

static void
offer(Best* const best, const Candidate* const candidate)
{
  size_t at = best->count;
  while (at > 0 && is_better(candidate, &best->pairs[at - 1])) {
    --at;
  }
  if (at == MOST_PAIRS) {
    return;
  }
  best->count += best->count < MOST_PAIRS ? 1 : 0;
  for (size_t i = best->count - 1; i > at; --i) {
    best->pairs[i] = best->pairs[i - 1];
  }
  best->pairs[at] = *candidate;
}

/// Whether an earlier source of the same tune has the pair too, which was weighed then.
static bool
is_weighed(const SrTodaySource* const sources, const size_t source, const int pair)
{
  double faults = 0.0;
  for (size_t i = 0; i < source; ++i) {
    if (is_same_tune(&sources[i], &sources[source]) && faults_in(&sources[i], pair, &faults)) {
      return true;
    }
  }
  return false;
}

/// Weigh all pairs that were practised in a source. False without memory.
static bool
weigh_source(const SrTodaySource* const sources, const size_t count, const size_t source,
             const int day, Best* const best)
{
  const SrTodaySource* const own = &sources[source];
  for (int pair = 1; pair <= own->last_bar; pair += PAIR) {
    double faults = 0.0;
    Candidate candidate;
    if (!faults_in(own, pair, &faults) || is_weighed(sources, source, pair)) {
      continue;
    }
    if (!weigh_pair(sources, count, source, pair, day, &candidate)) {
      return false;
    }
    if (candidate.item.rested >= 0) {
      offer(best, &candidate);
    }
  }
  return true;
}

/// For those who have practised no bars yet: the first two of a tune.
static void
offer_first(const SrTodaySource* const sources, const size_t count, const int day, Best* const best)
{
  for (size_t i = 0; i < count && best->count == 0; ++i) {
    if (sources[i].kind == SR_TODAY_BARS && sources[i].day_count == 0) {
      const Past past = {.last = INT32_MIN, .interval = 1};
      Candidate candidate = candidate_of(sources, i, &past, 0.0, day);
      candidate.item.first_bar = sources[i].first_bar;
      candidate.item.last_bar = pair_of(sources[i].first_bar) + PAIR - 1;
      if (candidate.item.last_bar > sources[i].last_bar) {
        candidate.item.last_bar = sources[i].last_bar;
      }
      offer(best, &candidate);
    }
  }
}

static double
least_minutes(const SrTodayKind kind)
{
  return kind == SR_TODAY_STEADY ? STEADY_MIN
         : kind == SR_TODAY_CUTS ? CUTS_MIN
         : kind == SR_TODAY_AIR  ? AIR_MIN
                                 : 0.0;
}

/// Share out the time: what the drills leave is for the bars; without bars the drills have all.
static void
share_time(SrTodayItem* const items, const size_t count)
{
  size_t bars = 0;
  double drills = 0.0;
  for (size_t i = 0; i < count; ++i) {
    bars += items[i].kind == SR_TODAY_BARS ? 1 : 0;
    drills += least_minutes(items[i].kind);
  }
  for (size_t i = 0; i < count; ++i) {
    items[i].minutes = items[i].kind == SR_TODAY_BARS ? (SR_TODAY_MINUTES - drills) / (double)bars
                       : bars > 0                     ? least_minutes(items[i].kind)
                                  : SR_TODAY_MINUTES * least_minutes(items[i].kind) / drills;
  }
}

SrStatus
sr_today_choose(const SrTodaySource* const sources, const size_t count, const int day,
                SrTodayItem items[SR_TODAY_MOST], size_t* const item_count, SrError* const error)
{
  // Bars between the drills, so that the hands do something else each time
  static const SrTodayKind order[SR_TODAY_MOST] = {SR_TODAY_STEADY, SR_TODAY_CUTS, SR_TODAY_BARS,
                                                   SR_TODAY_AIR, SR_TODAY_BARS};
  Best best = {.count = 0};
  size_t taken = 0;
  *item_count = 0;
  for (size_t i = 0; i < count; ++i) {
    if (sources[i].kind == SR_TODAY_BARS && !weigh_source(sources, count, i, day, &best)) {
      return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to choose.");
    }
  }
  offer_first(sources, count, day, &best);
  for (size_t i = 0; i < SR_TODAY_MOST; ++i) {
    SrTodayItem* const item = &items[*item_count];
    if (order[i] != SR_TODAY_BARS) {
      *item_count += choose_drill(sources, count, order[i], day, item) ? 1 : 0;
    } else if (taken < best.count) {
      *item = best.pairs[taken++].item;
      ++*item_count;
    }
  }
  share_time(items, *item_count);
  return SR_OK;
}

double
sr_today_minutes(const SrTodayItem* const items, const size_t count)
{
  double minutes = 0.0;
  for (size_t i = 0; i < count; ++i) {
    minutes += items[i].minutes + SR_TODAY_PAUSE_S / 60.0;
  }
  return minutes;
}
