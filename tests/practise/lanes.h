// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file lanes.h
   Sittings take as long as the music in them, so some run at the same time, each in a process of
   its own. A machine that others use may then be too busy for one of them: what fails beside others
   is tried once more, alone.
*/

#ifndef SR_TESTS_LANES_H
#define SR_TESTS_LANES_H

#include <stdbool.h>
#include <stddef.h>

/// Most scenes of one run.
#define MOST_SCENES 64u

/// One thing to be tested.
typedef struct {
  const char* name;
  void (*test)(void** state); ///< As for cmocka
  bool alone;                 ///< Nothing else may run meanwhile
  bool core;                  ///< One of the few that are also run where everything is slower
} Scene;

/**
   Run scenes, some at a time, and print what each said when it is over.

   @param count  Number of scenes, at most MOST_SCENES.
   @param lanes  How many at a time, 1 to 4.
   @return How many failed, those aside that went well alone; more than three of these are a
   failure.
*/
size_t lanes_run(const Scene* scenes, size_t count, size_t lanes);

#endif // SR_TESTS_LANES_H
