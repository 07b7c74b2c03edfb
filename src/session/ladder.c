// SPDX-License-Identifier: GPL-3.0-or-later

// The stretches of a phrase form a tree: pairs of bars, joined two by two. It is walked in the
// order in which they are practised: first half, second half, then both joined.

#include <steadyreed/ladder.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Whole bars of the shortest stretch.
#define LEAST_BARS 2u
/// Scores of a clean round, and of a poor one (common practice, no source).
#define CLEAN_SCORE 90.0
#define POOR_SCORE 70.0
/// Share of notes right under which a round is poor.
#define POOR_NOTES 0.9
/// A joined stretch begins this many steps under the top.
#define JOINED_STEPS 2
/// Range of tempos, pulses a minute.
#define LEAST_BPM 10.0
#define MOST_BPM 400.0
#define USUAL_LEAST (2.0 / 3.0)

/// A stretch of bars. The halves of one with halves lie next to each other, see `halves`.
typedef struct {
  size_t first;
  size_t count;
  size_t parent; ///< Itself for the whole
  size_t halves; ///< Index of its first half; 0 for none: the second follows
  bool sticks;
} Stretch;

struct SrLadderImpl {
  Stretch* stretches; ///< The whole is the first
  size_t stretch_count;
  size_t now;
  SrLadderTempo tempo;
  double bpm;
  unsigned clean;
  unsigned poor;
  SrLadderMove moved;
};

static bool
is_under(const double score, const double limit)
{
  return isfinite(score) && score < limit;
}

SrRoundGrade
sr_ladder_grade(const SrRound* const round)
{
  size_t right = 0;
  size_t asked = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const bool heard = round->notes[i].status != SR_NOTE_UNHEARD;
    asked += heard ? 1 : 0;
    right += round->notes[i].status == SR_NOTE_PLAYED ? 1 : 0;
  }
  const SrScores* const scores = &round->scores;
  const double worst = fmin(isfinite(scores->cuts) ? scores->cuts : 100.0,
                            fmin(isfinite(scores->evenness) ? scores->evenness : 100.0,
                                 isfinite(scores->air) ? scores->air : 100.0));
  if (round->slip_count || (double)right < POOR_NOTES * (double)asked ||
      is_under(worst, POOR_SCORE)) {
    return SR_ROUND_POOR;
  }
  const bool clean = right == asked && round->insertion_count == 0 &&
                     !is_under(worst, CLEAN_SCORE) && !sr_round_is_off_click(round);
  return clean ? SR_ROUND_CLEAN : SR_ROUND_FAIR;
}

static size_t
whole_bars(const SrPhrase* const phrase, const size_t first, const size_t count)
{
  size_t whole = 0;
  for (size_t i = first; i < first + count; ++i) {
    whole += sr_phrase_bar(phrase, i)->number > 0 ? 1 : 0;
  }
  return whole;
}

/// Bars of the first half of a stretch, a power of two of whole bars and what pickups they have; 0
/// if it is too short to be halved.
static size_t
half_of(const SrPhrase* const phrase, const Stretch* const stretch)
{
  const size_t whole = whole_bars(phrase, stretch->first, stretch->count);
  size_t half = LEAST_BARS;
  while (2 * half < whole) {
    half *= 2;
  }
  if (whole <= LEAST_BARS) {
    return 0;
  }
  size_t bars = 0;
  for (size_t counted = 0; counted < half; ++bars) {
    counted += sr_phrase_bar(phrase, stretch->first + bars)->number > 0 ? 1 : 0;
  }
  return bars;
}

/// Halve all stretches that can be. There are fewer stretches than twice the bars.
static void
halve(const SrPhrase* const phrase, SrLadder* const ladder)
{
  for (size_t i = 0; i < ladder->stretch_count; ++i) {
    Stretch* const stretch = &ladder->stretches[i];
    const size_t half = half_of(phrase, stretch);
    if (half > 0 && half < stretch->count) {
      stretch->halves = ladder->stretch_count;
      ladder->stretches[ladder->stretch_count++] =
          (Stretch){.first = stretch->first, .count = half, .parent = i};
      ladder->stretches[ladder->stretch_count++] =
          (Stretch){.first = stretch->first + half, .count = stretch->count - half, .parent = i};
    }
  }
}

static double
step_of(const double bpm)
{
  return fmax(1.0, round(SR_LADDER_STEP * bpm));
}

static double
within(const SrLadder* const ladder, const double bpm)
{
  return fmin(ladder->tempo.most_bpm, fmax(ladder->tempo.least_bpm, bpm));
}

/// The first stretch under one that does not stick and has no halves, or whose halves stick.
static size_t
first_under(const SrLadder* const ladder, size_t stretch)
{
  while (ladder->stretches[stretch].halves) {
    const size_t half = ladder->stretches[stretch].halves;
    if (ladder->stretches[half].sticks && ladder->stretches[half + 1].sticks) {
      break;
    }
    stretch = ladder->stretches[half].sticks ? half + 1 : half;
  }
  return stretch;
}

SrStatus
sr_ladder_new(const SrPhrase* const phrase, const SrLadderTempo* const tempo, const bool whole,
              SrLadder** const ladder, SrError* const error)
{
  *ladder = NULL;
  SrLadderTempo limits = *tempo;
  limits.least_bpm =
      isnan(limits.least_bpm) ? round(USUAL_LEAST * limits.most_bpm) : round(limits.least_bpm);
  limits.most_bpm = round(limits.most_bpm);
  if (!(limits.least_bpm >= LEAST_BPM && limits.least_bpm < limits.most_bpm &&
        limits.most_bpm <= MOST_BPM && isfinite(limits.start_bpm))) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "A ladder goes from a slow tempo up to a fast one, both from %.0f to %.0f "
                        "pulses a minute.",
                        LEAST_BPM, MOST_BPM);
  }
  const size_t bars = sr_phrase_bar_count(phrase);
  SrLadder* const made = (SrLadder*)calloc(1, sizeof(SrLadder));
  Stretch* const stretches = (Stretch*)calloc(2 * bars + 1, sizeof(Stretch));
  if (!made || !stretches) {
    free(made);
    free(stretches);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for a tempo ladder.");
  }
  made->stretches = stretches;
  made->stretches[0] = (Stretch){.first = 0, .count = bars};
  made->stretch_count = 1;
  halve(phrase, made);
  made->now = whole ? 0 : first_under(made, 0);
  made->tempo = limits;
  made->bpm = round(within(made, limits.start_bpm));
  *ladder = made;
  return SR_OK;
}

void
sr_ladder_del(SrLadder* const ladder)
{
  if (ladder) {
    free(ladder->stretches);
    free(ladder);
  }
}

void
sr_ladder_keep_together(SrLadder* const ladder)
{
  ladder->stretches[ladder->now].halves = 0;
}

SrLadderRung
sr_ladder_now(const SrLadder* const ladder)
{
  const Stretch* const stretch = &ladder->stretches[ladder->now];
  return (SrLadderRung){.first_bar = stretch->first,
                        .bar_count = stretch->count,
                        .bpm = ladder->bpm,
                        .clean = ladder->clean,
                        .moved = ladder->moved};
}

/// The stretch sticks: take the next one, or join it with its other half.
static SrLadderMove
go_on(SrLadder* const ladder)
{
  Stretch* const stretch = &ladder->stretches[ladder->now];
  stretch->sticks = true;
  if (ladder->now == 0) {
    return SR_LADDER_DONE;
  }
  ladder->now = first_under(ladder, stretch->parent);
  const bool joined = ladder->now == stretch->parent;
  double bpm = ladder->tempo.most_bpm;
  for (int i = 0; i < JOINED_STEPS && joined; ++i) {
    bpm -= step_of(bpm);
  }
  ladder->bpm = round(within(ladder, joined ? bpm : ladder->tempo.start_bpm));
  return joined ? SR_LADDER_JOINED : SR_LADDER_NEXT;
}

static SrLadderMove
go_up(SrLadder* const ladder)
{
  if (ladder->bpm >= ladder->tempo.most_bpm) {
    return go_on(ladder);
  }
  ladder->bpm = within(ladder, ladder->bpm + step_of(ladder->bpm));
  return SR_LADDER_UP;
}

/// Nothing shorter than the halves of a stretch needs to be practised.
static void
keep_halves(SrLadder* const ladder, const size_t stretch)
{
  for (size_t i = stretch + 1; i < ladder->stretch_count; ++i) {
    // Shorter ones come after longer ones
    const size_t parent = ladder->stretches[i].parent;
    const bool within = parent == stretch || ladder->stretches[parent].sticks;
    ladder->stretches[i].sticks = ladder->stretches[i].sticks || within;
  }
  const size_t half = ladder->stretches[stretch].halves;
  ladder->stretches[half].sticks = false;
  ladder->stretches[half + 1].sticks = false;
}

/// Down a step; at the bottom, half of the bars.
static SrLadderMove
go_down(SrLadder* const ladder)
{
  const size_t half = ladder->stretches[ladder->now].halves;
  if (ladder->bpm > ladder->tempo.least_bpm) {
    ladder->bpm = within(ladder, ladder->bpm - step_of(ladder->bpm));
    return SR_LADDER_DOWN;
  }
  if (half == 0) {
    return SR_LADDER_SAME;
  }
  keep_halves(ladder, ladder->now);
  ladder->now = half;
  return SR_LADDER_APART;
}

SrLadderRung
sr_ladder_round(SrLadder* const ladder, const SrRoundGrade grade)
{
  ladder->clean = grade == SR_ROUND_CLEAN ? ladder->clean + 1 : 0;
  ladder->poor = grade == SR_ROUND_POOR ? ladder->poor + 1 : 0;
  ladder->moved = SR_LADDER_SAME;
  if (ladder->clean >= SR_LADDER_CLEAN_ROUNDS) {
    ladder->moved = go_up(ladder);
  } else if (ladder->poor >= SR_LADDER_POOR_ROUNDS) {
    ladder->moved = go_down(ladder);
  }
  if (ladder->clean >= SR_LADDER_CLEAN_ROUNDS || ladder->poor >= SR_LADDER_POOR_ROUNDS) {
    ladder->clean = 0;
    ladder->poor = 0;
  }
  return sr_ladder_now(ladder);
}

/// "bars 3 to 4", or "the whole of it".
static void
name_bars(const SrPhrase* const phrase, const SrLadderRung* const rung, char* const words,
          const size_t size)
{
  int first = 0;
  int last = 0;
  for (size_t i = rung->first_bar; i < rung->first_bar + rung->bar_count; ++i) {
    const int number = sr_phrase_bar(phrase, i)->number;
    first = first == 0 ? number : first;
    last = number > 0 ? number : last;
  }
  if (rung->bar_count == sr_phrase_bar_count(phrase)) {
    snprintf(words, size, "all of it");
  } else if (first == last) {
    snprintf(words, size, "bar %d", first);
  } else {
    snprintf(words, size, "bars %d to %d", first, last);
  }
}

const char*
sr_ladder_words(const SrPhrase* const phrase, const SrLadderRung* const rung,
                char words[SR_LADDER_WORDS_SIZE])
{
  char bars[48];
  name_bars(phrase, rung, bars, sizeof(bars));
  switch (rung->moved) {
  case SR_LADDER_SAME:
    bars[0] = bars[0] == 'a' ? 'A' : 'B';
    snprintf(words, SR_LADDER_WORDS_SIZE, "%s, at %.0f.", bars, rung->bpm);
    break;
  case SR_LADDER_UP:
    snprintf(words, SR_LADDER_WORDS_SIZE, "Up a step, to %.0f.", rung->bpm);
    break;
  case SR_LADDER_DOWN:
    snprintf(words, SR_LADDER_WORDS_SIZE, "Down a step, to %.0f.", rung->bpm);
    break;
  case SR_LADDER_NEXT:
    snprintf(words, SR_LADDER_WORDS_SIZE, "That sticks. Now %s, at %.0f.", bars, rung->bpm);
    break;
  case SR_LADDER_JOINED:
    snprintf(words, SR_LADDER_WORDS_SIZE, "That sticks. Now join them, %s, at %.0f.", bars,
             rung->bpm);
    break;
  case SR_LADDER_APART:
    snprintf(words, SR_LADDER_WORDS_SIZE, "Too much at once. Only %s, at %.0f.", bars, rung->bpm);
    break;
  case SR_LADDER_DONE:
    snprintf(words, SR_LADDER_WORDS_SIZE, "All of it sticks at %.0f. Well done.", rung->bpm);
    break;
  }
  return words;
}
