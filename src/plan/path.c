// SPDX-License-Identifier: GPL-3.0-or-later

#include "path.h"

static const SrWay*
way_at(const SrMoves* const moves, const SrChosen* const chosen, const size_t note)
{
  return &moves->choices[note].ways[chosen[note].way];
}

int
sr_path_after(const SrMoves* const moves, const SrChosen* const chosen, const size_t note)
{
  const int moved = moves->choices[note].use + chosen[note].air * SR_AIR_STEP;
  const bool press = way_at(moves, chosen, note)->direction == SR_DIRECTION_PRESS;
  return chosen[note].before + (press ? -moved : moved);
}

SrLast
sr_path_last(const SrMoves* const moves, const SrChosen* const chosen, const size_t note,
             const SrHand hand)
{
  for (size_t i = note; i-- > 0 && (i + 1 == note || sr_moves_remembers(moves, i, note));) {
    const SrWay* const way = way_at(moves, chosen, i);
    if (way->hand == hand) {
      return (SrLast){i, way};
    }
  }
  return (SrLast){0, NULL};
}

void
sr_path_costs(const SrMoves* const moves, const SrChosen* const chosen, SrNoteCost* const costs)
{
  bool turned = false;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrWay* const way = way_at(moves, chosen, i);
    const int after = sr_path_after(moves, chosen, i);
    SrNoteCost* const cost = &costs[i];
    *cost = (SrNoteCost){.room = sr_moves_room_cost(moves, way->direction, after),
                         .air = sr_moves_air_cost(moves, i, chosen[i].air, after),
                         .own = way->own_cost,
                         .finger = way->finger_cost};
    if (i > 0) {
      const SrWay* const from = way_at(moves, chosen, i - 1);
      cost->step = sr_moves_step(moves, i, from, sr_path_last(moves, chosen, i, way->hand), way);
      turned = turned || from->direction != way->direction;
    }
    if (moves->choices[i].closes_pair) {
      cost->flat = turned ? 0 : moves->settings->style.flat;
      turned = false;
    }
  }
}

int
sr_path_sum(const SrNoteCost* const cost)
{
  return sr_moves_step_sum(cost->step) + cost->flat + cost->room + cost->air + cost->own;
}

int
sr_path_hand(const SrNoteCost* const cost)
{
  return cost->step.turn + cost->step.jump + cost->step.row + cost->finger;
}
