// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file bars.c
   Of each meter with that kind of pulse, and each place where its bars may begin, the one is kept
   that explains the notes best: they begin with a bar or a pickup, end with one, cross no bar line,
   and long ones begin on it.
*/

#include "bars.h"

#include "tuning.h"

#include <math.h>

/// The meters that are known.
static const struct {
  int beats;
  int unit;
  int quavers;
  int pulse_quavers;
  SrPulseKind kind;
  double nats;    ///< How usual it is
  double least_s; ///< Shortest crotchet for which it is guessed
  double most_s;  ///< Longest
} meters[] = {
    {6, 8, 6, 3, SR_PULSE_OF_THREE, 0.0, 0.0, 9.0},
    {9, 8, 9, 3, SR_PULSE_OF_THREE, -3.0, 0.0, 9.0},
    {12, 8, 12, 3, SR_PULSE_OF_THREE, -6.0, 0.0, 9.0},
    {4, 4, 8, 2, SR_PULSE_OF_TWO, 0.0, LEAST_CROTCHET_S, 9.0},
    {2, 2, 8, 4, SR_PULSE_OF_TWO, 0.0, 0.0, LEAST_CROTCHET_S},
    {2, 4, 4, 2, SR_PULSE_OF_TWO, -2.5, 0.0, 9.0},
    {3, 4, 6, 2, SR_PULSE_OF_TWO, -3.0, 0.0, 9.0},
};
#define METER_COUNT (sizeof(meters) / sizeof(meters[0]))

bool
sr_bars_kind(const int beats, const int unit, SrPulseKind* const kind)
{
  for (size_t m = 0; m < METER_COUNT; ++m) {
    if (meters[m].beats == beats && meters[m].unit == unit) {
      *kind = meters[m].kind;
      return true;
    }
  }
  return false;
}

typedef struct {
  const SrGridNote* notes;
  const long* lengths;
  size_t count;
} Stretch;

/// How well bars of a length explain a stretch, if they begin at a place of it.
static double
explain(const Stretch* const s, const long bar, const long pulse, const long from)
{
  double nats = 0.0;
  size_t counted = 0;
  for (size_t i = 0; i < s->count; ++i) {
    if (s->notes[i].is_grace) {
      continue;
    }
    const long within = ((s->notes[i].place - from) % bar + bar) % bar;
    nats += within + s->lengths[i] > bar && within > 0 ? CROSSING_NATS : 0.0;
    nats += within == 0 && s->lengths[i] >= pulse ? LONG_NATS : 0.0;
    ++counted;
  }
  // However many notes there are, they agree much
  nats *= fmin(1.0, MOST_BAR_NOTES / (double)(counted ? counted : 1));
  const long first = ((s->notes[0].place - from) % bar + bar) % bar;
  const SrGridNote* const last = &s->notes[s->count - 1];
  const long end = ((last->place + s->lengths[s->count - 1] - from) % bar + bar) % bar;
  nats += first == 0 ? FIRST_NATS : bar - first <= pulse ? PICKUP_NATS : 0.0;
  nats += end == 0 || (first > 0 && end == first) ? END_NATS : 0.0;
  return nats;
}

long
sr_bars_step(const SrBars* const bars)
{
  // A pulse of two was counted in fours, of which each half may begin a bar
  return (bars->pulse_quavers == 3 ? 3L : 2L) * SR_PLACES;
}

/// The best place for the bars of a stretch to begin, and how well they explain it.
static double
best_start(const Stretch* const s, const size_t meter, long* const from)
{
  const long bar = (long)meters[meter].quavers * SR_PLACES;
  const long pulse = (long)meters[meter].pulse_quavers * SR_PLACES;
  // A pulse of two was counted in fours, of which each half may begin a bar
  const long step = meters[meter].kind == SR_PULSE_OF_TWO ? 2L * SR_PLACES : pulse;
  double best = (double)-INFINITY;
  for (long at = 0; at < bar; at += step) {
    const double nats = explain(s, bar, pulse, at);
    if (nats > best) {
      best = nats;
      *from = at;
    }
  }
  return best;
}

/// The stretch that begins at a note.
static Stretch
stretch_from(const SrGridNote* const notes, const size_t count, const long* const lengths,
             const size_t first)
{
  size_t end = first + 1;
  while (end < count && (!notes[end].breaks || notes[end - 1].is_grace)) {
    ++end;
  }
  return (Stretch){notes + first, lengths + first, end - first};
}

double
sr_bars_explain(const SrBars* const bars, const SrGridNote* const notes, const long* const lengths,
                const size_t count, const long from)
{
  const Stretch s = stretch_from(notes, count, lengths, 0);
  return explain(&s, (long)bars->quavers * SR_PLACES, (long)bars->pulse_quavers * SR_PLACES, from);
}

/// Move the notes of all stretches.
static void
lay_bars(SrGrid* const grid, const size_t count, const long* const lengths, const size_t meter,
         const double upbeat_quavers)
{
  const long bar = (long)meters[meter].quavers * SR_PLACES;
  long next = 0;
  for (size_t i = 0; i < count;) {
    const Stretch s = stretch_from(grid->notes, count, lengths, i);
    long from = 0;
    best_start(&s, meter, &from);
    if (i == 0 && isfinite(upbeat_quavers)) {
      from = s.notes[0].place + lround(upbeat_quavers * SR_PLACES);
    }
    const long before = ((s.notes[0].place - from) % bar + bar) % bar;
    const long shift = next + before - s.notes[0].place;
    long end = next;
    for (size_t k = 0; k < s.count; ++k) {
      grid->notes[i + k].place += shift;
      end = s.notes[k].place + lengths[i + k] > end ? s.notes[k].place + lengths[i + k] : end;
    }
    next = (end + bar - 1) / bar * bar;
    i += s.count;
  }
}

/// Find a place among those of the notes, which ascend; `count` if no note begins there.
static size_t
note_at(const SrGrid* const grid, const size_t count, const long place)
{
  size_t low = 0;
  size_t high = count;
  while (low < high) {
    const size_t middle = (low + high) / 2;
    if (grid->notes[middle].place < place) {
      low = middle + 1;
    } else {
      high = middle;
    }
  }
  while (low < count && grid->notes[low].is_grace && grid->notes[low].place == place) {
    ++low;
  }
  return low < count && grid->notes[low].place == place ? low : count;
}

/// Share of the notes that come again a number of bars later, by pitch; tunes repeat themselves
/// after two, four and eight bars.
static double
repeats(const SrPlayedNotes* const played, const SrGrid* const grid, const long quavers)
{
  double most = 0.0;
  for (long bars = 2; bars <= 8; bars *= 2) {
    const long lag = bars * quavers * SR_PLACES;
    size_t alike = 0;
    size_t all = 0;
    for (size_t i = 0; i < played->count; ++i) {
      if (grid->notes[i].is_grace ||
          grid->notes[i].place + lag > grid->notes[played->count - 1].place) {
        continue;
      }
      const size_t other = note_at(grid, played->count, grid->notes[i].place + lag);
      alike += other < played->count && played->notes[other].midi == played->notes[i].midi;
      ++all;
    }
    if (all >= LEAST_REPEATED) {
      most = fmax(most, (double)alike / (double)all);
    }
  }
  return most;
}

SrBars
sr_bars_find(const SrPlayedNotes* const played, SrGrid* const grid, const long* const lengths,
             const int beats, const int unit, const double upbeat_quavers)
{
  const size_t count = played->count;
  size_t best = METER_COUNT;
  double all = 0.0;
  double nats[METER_COUNT];
  const double crotchet_s = 2.0 * grid->quaver_s;
  for (size_t m = 0; m < METER_COUNT; ++m) {
    const bool asked = meters[m].beats == beats && meters[m].unit == unit;
    const bool usual = beats == 0 && meters[m].kind == grid->kind &&
                       crotchet_s >= meters[m].least_s && crotchet_s < meters[m].most_s;
    nats[m] = asked || usual
                  ? meters[m].nats + REPEAT_NATS * repeats(played, grid, meters[m].quavers)
                  : (double)-INFINITY;
    for (size_t i = 0; i < count && isfinite(nats[m]);) {
      const Stretch s = stretch_from(grid->notes, count, lengths, i);
      long from = 0;
      nats[m] += best_start(&s, m, &from);
      i += s.count;
    }
    best = best == METER_COUNT || nats[m] > nats[best] ? m : best;
  }
  for (size_t m = 0; m < METER_COUNT; ++m) {
    all += exp(nats[m] - nats[best]);
  }
  lay_bars(grid, count, lengths, best, upbeat_quavers);
  return (SrBars){meters[best].beats,         meters[best].unit, meters[best].quavers,
                  meters[best].pulse_quavers, 1.0 / all,         nats[best]};
}
