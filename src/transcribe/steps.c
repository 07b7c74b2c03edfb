// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file steps.c
   The shares are those of the writer's idea of a jig and a reel: mostly quavers, crotchets and
   longer notes on the strong places, few notes across them; common practice, no source.
*/

#include "steps.h"

#include <math.h>

/// A share of the steps from a place.
typedef struct {
  int places;
  double share;
} Share;

#define QUAVER SR_PLACES

/// From the first, second and third quaver of three.
static const Share of_three[3][SR_MOST_STEPS] = {
    {{QUAVER, 0.53},
     {2 * QUAVER, 0.14},
     {3 * QUAVER, 0.19},
     {6 * QUAVER, 0.05},
     {9, 0.015},
     {3, 0.006},
     {9 * QUAVER, 0.01},
     {12 * QUAVER, 0.01},
     {4 * QUAVER, 0.01},
     {5 * QUAVER, 0.01},
     {18 * QUAVER, 0.003}},
    {{QUAVER, 0.88},
     {2 * QUAVER, 0.06},
     {3, 0.005},
     {3 * QUAVER, 0.005},
     {5 * QUAVER, 0.01},
     {6 * QUAVER, 0.003},
     {8 * QUAVER, 0.003},
     {9, 0.003}},
    {{QUAVER, 0.94},
     {3, 0.005},
     {4 * QUAVER, 0.015},
     {2 * QUAVER, 0.005},
     {7 * QUAVER, 0.005},
     {3 * QUAVER, 0.003},
     {6 * QUAVER, 0.003}},
};

/// From the first to the fourth quaver of four.
static const Share of_two[4][SR_MOST_STEPS] = {
    {{QUAVER, 0.53},
     {2 * QUAVER, 0.24},
     {4 * QUAVER, 0.09},
     {3 * QUAVER, 0.05},
     {8 * QUAVER, 0.02},
     {6 * QUAVER, 0.01},
     {3, 0.006},
     {9, 0.01},
     {4, 0.01},
     {12 * QUAVER, 0.005},
     {16 * QUAVER, 0.005}},
    {{QUAVER, 0.88},
     {2 * QUAVER, 0.04},
     {3 * QUAVER, 0.03},
     {3, 0.005},
     {4 * QUAVER, 0.004},
     {5 * QUAVER, 0.004},
     {7 * QUAVER, 0.008},
     {8 * QUAVER, 0.002},
     {9, 0.003}},
    {{QUAVER, 0.56},
     {2 * QUAVER, 0.28},
     {6 * QUAVER, 0.015},
     {4 * QUAVER, 0.04},
     {3 * QUAVER, 0.02},
     {3, 0.005},
     {4, 0.01},
     {8 * QUAVER, 0.01},
     {9, 0.01},
     {10 * QUAVER, 0.005}},
    {{QUAVER, 0.93},
     {3, 0.005},
     {2 * QUAVER, 0.01},
     {5 * QUAVER, 0.01},
     {3 * QUAVER, 0.003},
     {4 * QUAVER, 0.004},
     {8 * QUAVER, 0.002}},
};

/// From between quavers: the rest of one, of a dotted one, of three in the time of two.
static const Share from_half[] = {{3, 0.93}, {9, 0.04}, {QUAVER, 0.01}};
static const Share from_third[] = {{4, 0.98}};

int
sr_steps_round(const SrPulseKind kind)
{
  return kind == SR_PULSE_OF_THREE ? 3 * SR_PLACES : 4 * SR_PLACES;
}

static size_t
keep(const Share* const shares, const size_t room, SrStep* const steps)
{
  size_t count = 0;
  while (count < room && shares[count].places > 0) {
    steps[count] = (SrStep){shares[count].places, log(shares[count].share)};
    ++count;
  }
  return count;
}

size_t
sr_steps_from(const SrPulseKind kind, const int place, SrStep* const steps)
{
  if (place % SR_PLACES == 0) {
    const Share* const shares =
        kind == SR_PULSE_OF_THREE ? of_three[place / SR_PLACES] : of_two[place / SR_PLACES];
    return keep(shares, SR_MOST_STEPS, steps);
  }
  if (place % SR_PLACES == SR_PLACES / 2) {
    return keep(from_half, sizeof(from_half) / sizeof(from_half[0]), steps);
  }
  return keep(from_third, 1, steps);
}

double
sr_steps_begin_nats(const SrPulseKind kind, const int place)
{
  if (place % SR_PLACES) {
    return (double)-INFINITY;
  }
  if (place == 0) {
    return log(0.75);
  }
  // A pickup, mostly of one quaver
  return log(place == sr_steps_round(kind) - SR_PLACES ? 0.12 : 0.05);
}
