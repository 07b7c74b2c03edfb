// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/folded.h>

#include <steadyreed/planned_note.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A phrase while it is being folded.
typedef struct {
  const SrPhrase* phrase;
  const SrPlan* plan;
  size_t bar_count;
  size_t* first_notes; ///< Of each played bar, and the note count
  int* places;         ///< Twice the number of each bar; a pickup has the odd number before its bar
  SrFolded* folded;
} Fold;

static double
end_of(const SrPhraseNote* const note)
{
  return sr_fraction_value(note->start) + sr_fraction_value(note->length);
}

size_t
sr_folded_first_note(const SrPhrase* const phrase, const size_t bar)
{
  const size_t count = sr_phrase_note_count(phrase);
  if (bar >= sr_phrase_bar_count(phrase)) {
    return count;
  }
  const double start = sr_fraction_value(sr_phrase_bar(phrase, bar)->start);
  size_t low = 0;
  size_t high = count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (sr_fraction_value(sr_phrase_note(phrase, middle)->start) < start - 1e-9) {
      low = middle + 1;
    } else {
      high = middle;
    }
  }
  return low;
}

/// Time for which the note before a bar is held into it, whole notes.
static double
held_into(const Fold* const fold, const size_t bar)
{
  const size_t first = fold->first_notes[bar];
  if (!first || bar >= fold->bar_count) {
    return 0.0;
  }
  const double over = end_of(sr_phrase_note(fold->phrase, first - 1)) -
                      sr_fraction_value(sr_phrase_bar(fold->phrase, bar)->start);
  return over > 1e-9 ? over : 0.0;
}

static bool
close_to(const double one, const double other)
{
  return one - other < 1e-9 && other - one < 1e-9;
}

static bool
same_note(const Fold* const fold, const size_t one, const size_t other)
{
  const SrPhraseNote* const a = sr_phrase_note(fold->phrase, one);
  const SrPhraseNote* const b = sr_phrase_note(fold->phrase, other);
  return a->midi == b->midi && !strcmp(a->name, b->name) && a->ornament == b->ornament &&
         a->cut_midi == b->cut_midi && a->chord_count == b->chord_count &&
         !memcmp(a->chord_midi, b->chord_midi, (size_t)a->chord_count * sizeof(int)) &&
         close_to(sr_fraction_value(a->length), sr_fraction_value(b->length)) &&
         sr_planned_same(&fold->plan->notes[one], &fold->plan->notes[other]);
}

/// Whether two played bars have the same notes in the same fingering, wherever air is taken.
static bool
same_bar(const Fold* const fold, const size_t one, const size_t other)
{
  const SrPhraseBar* const a = sr_phrase_bar(fold->phrase, one);
  const SrPhraseBar* const b = sr_phrase_bar(fold->phrase, other);
  const size_t first_a = fold->first_notes[one];
  const size_t first_b = fold->first_notes[other];
  const size_t count = fold->first_notes[one + 1] - first_a;
  if (count != fold->first_notes[other + 1] - first_b || (a->number > 0) != (b->number > 0) ||
      !close_to(sr_fraction_value(a->length), sr_fraction_value(b->length)) ||
      !close_to(sr_fraction_value(a->pulse), sr_fraction_value(b->pulse)) ||
      !close_to(held_into(fold, one), held_into(fold, other)) ||
      (held_into(fold, one) > 0.0 && !same_note(fold, first_a - 1, first_b - 1))) {
    return false;
  }
  for (size_t i = 0; i < count; ++i) {
    const double at_a = sr_fraction_value(sr_phrase_note(fold->phrase, first_a + i)->start) -
                        sr_fraction_value(a->start);
    const double at_b = sr_fraction_value(sr_phrase_note(fold->phrase, first_b + i)->start) -
                        sr_fraction_value(b->start);
    if (!close_to(at_a, at_b) || !same_note(fold, first_a + i, first_b + i)) {
      return false;
    }
  }
  return true;
}

static bool
same_bars(const Fold* const fold, const size_t one, const size_t other, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    if (!same_bar(fold, one + i, other + i)) {
      return false;
    }
  }
  return true;
}

/// The next bar from which the numbers go back; the bar count if there is none.
static size_t
next_jump(const Fold* const fold, const size_t from)
{
  size_t bar = from + 1;
  while (bar < fold->bar_count && fold->places[bar] > fold->places[bar - 1]) {
    ++bar;
  }
  return bar < fold->bar_count ? bar : fold->bar_count;
}

static int
number_of(const Fold* const fold, const size_t bar)
{
  return sr_phrase_bar(fold->phrase, bar)->number;
}

/// "Bars 1 to 8", "Bar 3", of played bars.
static void
name_bars(const Fold* const fold, const size_t first, const size_t count, const char* const bar,
          const char* const bars, char* const words, const size_t size)
{
  const int low = number_of(fold, first) ? number_of(fold, first) : fold->places[first] / 2 + 1;
  const int high = number_of(fold, first + count - 1);
  if (high <= low) {
    snprintf(words, size, "%s %d", bar, low);
  } else {
    snprintf(words, size, "%s %d %s %d", bars, low, high == low + 1 ? "and" : "to", high);
  }
}

static void
name_times(const size_t times, char words[32])
{
  if (times == 2) {
    snprintf(words, 32, "twice");
  } else {
    snprintf(words, 32, "%zu times", times);
  }
}

/// Add a part whose bars are played one after the other. Its words are written by the caller.
static SrFoldedPart*
add_part(const Fold* const fold, const size_t first, const size_t count, const size_t times)
{
  SrFolded* const folded = fold->folded;
  SrFoldedPart* const part = &folded->parts[folded->part_count++];
  part->first_bar = folded->bar_count;
  part->bar_count = count;
  part->stride = count;
  part->times = times;
  for (size_t i = 0; i < count; ++i) {
    const SrFoldedBar bar = {.bar = first + i, .like = SR_LIKE_NONE};
    folded->bars[folded->bar_count++] = bar;
  }
  return part;
}

/// The smallest number of bars of which a stretch consists, again and again.
static size_t
unit_of(const Fold* const fold, const size_t first, const size_t count)
{
  for (size_t unit = 1; unit < count; ++unit) {
    if (count % unit == 0 && same_bars(fold, first, first + unit, count - unit)) {
      return unit;
    }
  }
  return count;
}

/// A later playing may have another bar number in the same place: an ending that is the same.
static void
name_other_numbers(const Fold* const fold, const size_t first, const size_t count,
                   char* const words, const size_t size)
{
  for (size_t i = 0; i < count; ++i) {
    const int one = number_of(fold, first + i);
    const int other = number_of(fold, first + count + i);
    if (one != other) {
      const size_t at = strlen(words);
      snprintf(words + at, size - at, " (bar %d is as bar %d)", other, one);
      return;
    }
  }
}

/// Whether a bar with the same place in the tune was played before.
static bool
was_listed(const Fold* const fold, const size_t bar)
{
  for (size_t i = 0; i < bar; ++i) {
    if (fold->places[i] == fold->places[bar]) {
      return true;
    }
  }
  return false;
}

/// A stretch played `times` times in a row.
static void
add_stretch(const Fold* const fold, const size_t first, const size_t count, const size_t times)
{
  const bool crossed = held_into(fold, first) > 0.0 || held_into(fold, first + count * times) > 0.0;
  const size_t unit = crossed ? count : unit_of(fold, first, count);
  SrFoldedPart* const part = add_part(fold, first, unit, times * (count / unit));
  char many[32];
  name_bars(fold, first, count, "Bar", "Bars", part->words, sizeof(part->words));
  if (was_listed(fold, first)) {
    const size_t at = strlen(part->words);
    snprintf(part->words + at, sizeof(part->words) - at, " again");
  }
  if (times > 1) {
    name_times(times, many);
    const size_t at = strlen(part->words);
    snprintf(part->words + at, sizeof(part->words) - at, ", %s", many);
    name_other_numbers(fold, first, count, part->words, sizeof(part->words));
  }
  if (unit < count) {
    char units[48];
    name_bars(fold, first, unit, "bar", "bars", units, sizeof(units));
    name_times(part->times, many);
    const size_t at = strlen(part->words);
    snprintf(part->words + at, sizeof(part->words) - at, ": %s, %s", units, many);
  }
}

/// How often a stretch is played in the same way, one time after the other.
static size_t
times_played(const Fold* const fold, const size_t first, const size_t count)
{
  size_t times = 1;
  while (first + (times + 1) * count <= fold->bar_count &&
         fold->places[first + times * count] == fold->places[first] &&
         held_into(fold, first + times * count) == 0.0 &&
         held_into(fold, first + (times + 1) * count) == 0.0 &&
         same_bars(fold, first, first + times * count, count)) {
    ++times;
  }
  return times;
}

/**
   Fold a repeat with two endings, `count` bars with the first of them. Returns the number of bars
   played; 0 if it is none.
*/
static size_t
add_endings(const Fold* const fold, const size_t first, const size_t count)
{
  const size_t again = first + count;
  size_t shared = 0;
  while (shared < count && again + shared < fold->bar_count &&
         fold->places[first + shared] == fold->places[again + shared] &&
         same_bar(fold, first + shared, again + shared)) {
    ++shared;
  }
  if (2 * shared < count || shared == count || again + shared >= fold->bar_count ||
      fold->places[first + shared] == fold->places[again + shared] ||
      held_into(fold, first + shared) > 0.0 || held_into(fold, again + shared) > 0.0 ||
      held_into(fold, again) > 0.0) {
    return 0;
  }
  size_t second = 1;
  while (second < count - shared && again + shared + second < fold->bar_count &&
         fold->places[again + shared + second] == fold->places[again + shared + second - 1] + 2) {
    ++second;
  }
  SrFolded* const folded = fold->folded;
  SrFoldedPart* const part = add_part(fold, first, count, 2);
  for (size_t i = shared; i < count; ++i) {
    folded->bars[part->first_bar + i].ending = 1;
  }
  for (size_t i = 0; i < second; ++i) {
    const SrFoldedBar bar = {again + shared + i, SR_LIKE_NONE, 2};
    folded->bars[folded->bar_count++] = bar;
  }
  part->bar_count += second;
  char whole[48];
  char one[48];
  char two[48];
  name_bars(fold, first, shared, "Bar", "Bars", whole, sizeof(whole));
  name_bars(fold, first + shared, count - shared, "bar", "bars", one, sizeof(one));
  name_bars(fold, again + shared, second, "bar", "bars", two, sizeof(two));
  snprintf(part->words, sizeof(part->words), "%s, twice: first with %s, then with %s", whole, one,
           two);
  return count + shared + second;
}

/// Fold what begins at a bar. Returns where the rest begins.
static size_t
fold_from(const Fold* const fold, const size_t from)
{
  const size_t jump = next_jump(fold, from);
  if (jump == fold->bar_count) {
    add_stretch(fold, from, jump - from, 1);
    return jump;
  }
  size_t start = jump;
  while (start > from && fold->places[start - 1] >= fold->places[jump]) {
    --start;
  }
  if (start > from) {
    add_stretch(fold, from, start - from, 1);
    return start;
  }
  const size_t count = jump - from;
  const size_t times = held_into(fold, from) > 0.0 ? 1 : times_played(fold, from, count);
  const size_t played = times == 1 ? add_endings(fold, from, count) : 0;
  if (!played) {
    add_stretch(fold, from, count, times);
  }
  return from + (played ? played : count * times);
}

static const SrFoldedPart*
part_of(const SrFolded* const folded, const size_t bar)
{
  const SrFoldedPart* part = folded->parts;
  while (bar >= part->first_bar + part->bar_count) {
    ++part;
  }
  return part;
}

/// Whether a note of two listed bars takes air in the same times.
static bool
same_air(const Fold* const fold, const size_t earlier, const size_t later, const size_t note)
{
  char words[2][SR_FOLDED_AIR_SIZE];
  const size_t bars[2] = {earlier, later};
  const SrFolded* const folded = fold->folded;
  for (int i = 0; i < 2; ++i) {
    const size_t part = (size_t)(part_of(folded, bars[i]) - folded->parts);
    (void)sr_folded_air(fold->phrase, fold->plan, folded, part, bars[i],
                        fold->first_notes[folded->bars[bars[i]].bar] + note, words[i]);
  }
  return !strcmp(words[0], words[1]);
}

/// Whether an earlier listed bar can stand for a later one.
static bool
can_stand_for(const Fold* const fold, const size_t earlier, const size_t later)
{
  const SrFolded* const folded = fold->folded;
  const SrFoldedBar* const a = &folded->bars[earlier];
  const SrFoldedBar* const b = &folded->bars[later];
  if (number_of(fold, a->bar) < 1 || held_into(fold, b->bar) > 0.0 ||
      held_into(fold, b->bar + 1) > 0.0 || held_into(fold, a->bar) > 0.0 ||
      held_into(fold, a->bar + 1) > 0.0 || !same_bar(fold, a->bar, b->bar)) {
    return false;
  }
  const size_t notes = fold->first_notes[a->bar + 1] - fold->first_notes[a->bar];
  for (size_t i = 0; i < notes; ++i) {
    if (!same_air(fold, earlier, later, i)) {
      return false;
    }
  }
  return notes > 0;
}

/// The earlier bar for a later one: if possible the next after the one for the bar before it.
static size_t
find_like(const Fold* const fold, const size_t later)
{
  const SrFoldedBar* const bars = fold->folded->bars;
  const size_t next = bars[later - 1].like == SR_LIKE_NONE ? later : bars[later - 1].like + 1;
  if (next < later && can_stand_for(fold, next, later)) {
    return next;
  }
  for (size_t earlier = 0; earlier < later; ++earlier) {
    if (bars[earlier].like == SR_LIKE_NONE && can_stand_for(fold, earlier, later)) {
      return earlier;
    }
  }
  return SR_LIKE_NONE;
}

static void
find_likes(const Fold* const fold)
{
  for (size_t later = 1; later < fold->folded->bar_count; ++later) {
    fold->folded->bars[later].like = find_like(fold, later);
  }
}

static void
find_places(const Fold* const fold)
{
  for (size_t i = 0; i < fold->bar_count; ++i) {
    fold->first_notes[i] = sr_folded_first_note(fold->phrase, i);
    const int next = i + 1 < fold->bar_count ? number_of(fold, i + 1) : 0;
    fold->places[i] = number_of(fold, i) > 0 ? 2 * number_of(fold, i) : 2 * next - 1;
  }
  fold->first_notes[fold->bar_count] = sr_phrase_note_count(fold->phrase);
}

SrStatus
sr_fold(const SrPhrase* const phrase, const SrPlan* const plan, SrFolded* const folded)
{
  memset(folded, 0, sizeof(*folded));
  const size_t count = sr_phrase_bar_count(phrase);
  folded->bars = calloc(count + 1, sizeof(SrFoldedBar));
  folded->parts = calloc(count + 1, sizeof(SrFoldedPart));
  const Fold fold = {.phrase = phrase,
                     .plan = plan,
                     .bar_count = count,
                     .first_notes = calloc(count + 1, sizeof(size_t)),
                     .places = calloc(count + 1, sizeof(int)),
                     .folded = folded};
  const bool room = folded->bars && folded->parts && fold.first_notes && fold.places;
  if (room) {
    find_places(&fold);
    for (size_t bar = 0; bar < count;) {
      bar = fold_from(&fold, bar);
    }
    find_likes(&fold);
    if (folded->part_count == 1 && folded->parts[0].times == 1) {
      folded->parts[0].words[0] = '\0';
    }
  }
  free(fold.first_notes);
  free(fold.places);
  return room ? SR_OK : SR_NO_MEMORY;
}

void
sr_folded_clear(SrFolded* const folded)
{
  free(folded->bars);
  free(folded->parts);
  memset(folded, 0, sizeof(*folded));
}
