// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file beam.c
   Tempo tracking and quantisation in one: a switching Kalman filter whose hidden state is the time
   of the last note's place on the grid and the length of a quaver, for each hypothesis of the steps
   so far (Cemgil and Kappen, "Monte Carlo Methods for Tempo Tracking and Rhythm Quantization", JAIR
   2003). Of hypotheses at the same place of the pulse the likelier few are kept.
*/

#include "beam.h"

#include "tuning.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// A hypothesis: one way in which all notes so far may lie.
typedef struct {
  size_t parent; ///< Of the note before; SIZE_MAX for none
  size_t note;
  long place;
  bool after_grace; ///< The note before this one is its grace
  bool breaks;
  double nats;
  // The filter's state: time of the place and length of a quaver, and their covariances
  double at_s;
  double quaver_s;
  double at_at;
  double at_quaver;
  double quaver_quaver;
  double late_s;
  double variance;
} Node;

typedef struct {
  const SrPlayedNotes* played;
  const SrGridWish* wish;
  Node* nodes;
  size_t count;
  size_t room;
  size_t* first; ///< For each note its first node; one more
  Node* next;    ///< Hypotheses for the notes after, BEAM_ROOM for each of two notes
  size_t next_count[2];
} Search;

/// Most hypotheses of a note before the likelier are chosen.
#define BEAM_ROOM 4096u

static double
square(const double x)
{
  return x * x;
}

/// Log density of a normal distribution.
static double
normal_nats(const double off, const double variance)
{
  return -0.5 * (square(off) / variance + log(2.0 * M_PI * variance));
}

/// Place of the pulse.
static int
in_round(const Search* const s, const long place)
{
  const int round = sr_steps_round(s->wish->kind);
  return (int)((place % round + round) % round);
}

/// How much later than the grid notes at a place are.
static double
lilt_s(const Search* const s, const long place, const double quaver_s)
{
  const int within = in_round(s, place);
  return within % SR_PLACES ? 0.0 : s->wish->lilt[within / SR_PLACES] * quaver_s;
}

static double
onset_of(const Search* const s, const size_t note, const bool after_grace)
{
  return s->played->notes[after_grace ? note - 1 : note].onset_s;
}

/// Take an onset into account.
static void
observe(const Search* const s, Node* const node, const double onset_s)
{
  const double off = onset_s - node->at_s - lilt_s(s, node->place, node->quaver_s);
  const double variance = node->at_at + square(s->wish->onset_s);
  node->nats += normal_nats(off, variance);
  node->late_s = off;
  node->variance = node->at_at;
  const double gain = node->at_at / variance;
  const double quaver_gain = node->at_quaver / variance;
  node->at_s += gain * off;
  node->quaver_s += quaver_gain * off;
  node->quaver_quaver -= quaver_gain * node->at_quaver;
  node->at_quaver *= 1.0 - gain;
  node->at_at *= 1.0 - gain;
}

/// Move to a later place.
static void
advance(Node* const node, const int places)
{
  const double quavers = (double)places / SR_PLACES;
  node->place += places;
  node->at_s += quavers * node->quaver_s;
  node->at_at += 2.0 * quavers * node->at_quaver + square(quavers) * node->quaver_quaver +
                 quavers * square(WANDER * node->quaver_s);
  node->at_quaver += quavers * node->quaver_quaver;
  node->quaver_quaver += quavers * square(TEMPO_WANDER * node->quaver_s);
}

/// Propose a hypothesis for the first or second note after the current one.
static void
propose(Search* const s, const Node* const node, const size_t ahead)
{
  if (s->next_count[ahead] < BEAM_ROOM) {
    s->next[ahead * BEAM_ROOM + s->next_count[ahead]++] = *node;
  }
}

/// Begin the grid at a note, at each place of the pulse.
static void
begin(Search* const s, const Node* const from, const size_t parent, const size_t note,
      const size_t ahead, const bool after_grace)
{
  const SrGridWish* const wish = s->wish;
  const int span = sr_steps_round(wish->kind);
  const double onset_s = onset_of(s, note, after_grace);
  const bool known = !from && wish->begin != SR_ANY_PLACE;
  const int last = known ? wish->begin : span - 1;
  for (int place = known ? wish->begin : 0; place <= last; place += SR_PLACES) {
    const long base = from ? (from->place / span + 2) * span : 0;
    Node node = {.parent = parent,
                 .note = note,
                 .place = base + place,
                 .after_grace = after_grace,
                 .breaks = true,
                 .nats = (from ? from->nats : 0.0) +
                         (known ? 0.0 : sr_steps_begin_nats(wish->kind, place)),
                 .at_s = onset_s - lilt_s(s, base + place, wish->quaver_s),
                 .quaver_s = wish->quaver_s,
                 .at_at = square(wish->onset_s),
                 .quaver_quaver = square(wish->quaver_share * wish->quaver_s)};
    if (from) {
      node.quaver_quaver = square(NEW_TEMPO * wish->quaver_s);
    }
    if (isfinite(wish->click_s)) {
      const double clicks = (node.at_s - wish->click_s) / wish->click_period_s;
      const double quavers = (double)place / SR_PLACES - clicks * wish->click_quavers;
      const double off = quavers / wish->click_quavers;
      node.nats += normal_nats((off - round(off)) * wish->click_quavers, square(CLICK_SHARE));
    }
    propose(s, &node, ahead);
  }
}

/// Propose all steps from a hypothesis to a later note.
static void
step_to(Search* const s, const size_t index, const size_t note, const bool after_grace)
{
  const Node from = s->nodes[index];
  const SrPlayedNote* const last = &s->played->notes[from.note];
  const size_t ahead = after_grace ? 1 : 0;
  const double onset_s = onset_of(s, note, after_grace);
  double nats = from.nats;
  if (after_grace) {
    const SrPlayedNote* const grace = &s->played->notes[note - 1];
    const double share = (s->played->notes[note].onset_s - grace->onset_s) / from.quaver_s;
    nats += grace->grace_nats - SHARE_NATS * fmax(0.0, share - USUAL_GRACE);
  }
  Node start = from;
  start.nats = nats;
  start.parent = index;
  start.note = note;
  start.after_grace = after_grace;
  start.breaks = false;
  const double step_s = onset_s - onset_of(s, from.note, from.after_grace);
  if (onset_s - last->end_s > fmax(BREAK_S, BREAK_QUAVERS * from.quaver_s) || step_s > LONGEST_S) {
    begin(s, &start, index, note, ahead, after_grace);
    return;
  }
  SrStep steps[SR_MOST_STEPS];
  const size_t count = sr_steps_from(s->wish->kind, in_round(s, from.place), steps);
  for (size_t k = 0; k < count; ++k) {
    Node node = start;
    node.nats += steps[k].nats;
    advance(&node, steps[k].places);
    // Far from it, and so never the best
    if (fabs(onset_s - node.at_s) < FAR_QUAVERS * node.quaver_s) {
      Node seen = node;
      observe(s, &seen, onset_s);
      propose(s, &seen, ahead);
    }
    // The player waited
    if (onset_s > node.at_s + fmin(LEAST_WAIT_S, FAR_QUAVERS * node.quaver_s)) {
      node.nats += WAIT_NATS;
      node.at_s = onset_s - lilt_s(s, node.place, node.quaver_s);
      node.at_at = square(s->wish->onset_s);
      node.at_quaver = 0.0;
      node.late_s = 0.0;
      node.variance = 0.0;
      propose(s, &node, ahead);
    }
  }
}

static int
likelier(const void* const a, const void* const b)
{
  const Node* const x = (const Node*)a;
  const Node* const y = (const Node*)b;
  return (x->nats < y->nats) - (x->nats > y->nats);
}

/// Keep the likelier hypotheses of the next note, a few for each place of the pulse.
static SrStatus
keep_best(Search* const s)
{
  if (s->count + BEAM_KEPT > s->room) {
    const size_t room = 2 * s->room + BEAM_KEPT;
    Node* const more = (Node*)realloc(s->nodes, room * sizeof(Node));
    if (!more) {
      return SR_NO_MEMORY;
    }
    s->nodes = more;
    s->room = room;
  }
  qsort(s->next, s->next_count[0], sizeof(Node), likelier);
  unsigned char kept_at[4 * SR_PLACES] = {0};
  size_t kept = 0;
  for (size_t i = 0; i < s->next_count[0] && kept < BEAM_KEPT; ++i) {
    unsigned char* const here = &kept_at[in_round(s, s->next[i].place)];
    if (*here < BEAM_EACH && s->next[i].nats > s->next[0].nats - BEAM_NATS) {
      ++*here;
      ++kept;
      s->nodes[s->count++] = s->next[i];
    }
  }
  memcpy(s->next, s->next + BEAM_ROOM, s->next_count[1] * sizeof(Node));
  s->next_count[0] = s->next_count[1];
  s->next_count[1] = 0;
  return SR_OK;
}

/// Fill in the notes of the likeliest hypothesis.
static void
trace(const Search* const s, SrGridNote* const notes, double* const nats)
{
  const size_t count = s->played->count;
  size_t best = SIZE_MAX;
  *nats = (double)-INFINITY;
  for (size_t i = s->first[count - 1]; i < s->count; ++i) {
    if (s->nodes[i].nats > *nats) {
      best = i;
      *nats = s->nodes[i].nats;
    }
  }
  for (size_t at = best; at != SIZE_MAX; at = s->nodes[at].parent) {
    const Node* const node = &s->nodes[at];
    notes[node->note] = (SrGridNote){node->place,    node->late_s, node->variance,
                                     node->quaver_s, false,        node->breaks};
    if (node->after_grace) {
      notes[node->note - 1] = notes[node->note];
      notes[node->note - 1].is_grace = true;
    }
  }
}

SrStatus
sr_beam_search(const SrPlayedNotes* const played, const SrGridWish* const wish,
               SrGridNote* const notes, double* const nats)
{
  *nats = 0.0;
  if (played->count == 0) {
    return SR_OK;
  }
  Search s = {.played = played,
              .wish = wish,
              .first = (size_t*)calloc(played->count + 1, sizeof(size_t)),
              .next = (Node*)calloc((size_t)2 * BEAM_ROOM, sizeof(Node))};
  SrStatus status = s.first && s.next ? SR_OK : SR_NO_MEMORY;
  if (status == SR_OK) {
    begin(&s, NULL, SIZE_MAX, 0, 0, false);
    if (played->count > 1 && isfinite(played->notes[0].grace_nats)) {
      begin(&s, NULL, SIZE_MAX, 1, 1, true);
    }
  }
  for (size_t i = 0; status == SR_OK && i < played->count; ++i) {
    s.first[i] = s.count;
    status = keep_best(&s);
    for (size_t n = s.first[i]; status == SR_OK && n < s.count && i + 1 < played->count; ++n) {
      step_to(&s, n, i + 1, false);
      if (i + 2 < played->count && isfinite(played->notes[i + 1].grace_nats)) {
        step_to(&s, n, i + 2, true);
      }
    }
    s.first[i + 1] = s.count;
  }
  if (status == SR_OK) {
    trace(&s, notes, nats);
  }
  free(s.nodes);
  free(s.first);
  free(s.next);
  return status;
}
