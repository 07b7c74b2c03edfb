// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file lanes.h
   Sittings take as long as the music in them, so two run at the same time, each in a process of its
   own.
*/

#ifndef SR_TESTS_LANES_H
#define SR_TESTS_LANES_H

#include <stdbool.h>
#include <stddef.h>

/// One thing to be tested.
typedef struct {
  const char* name;
  void (*test)(void** state); ///< As for cmocka
  bool alone;                 ///< Nothing else may run meanwhile
} Scene;

/**
   Run scenes, two at a time, and print what each said when it is over.

   @param wanted Part of the name of those to run; NULL for all.
   @return How many failed.
*/
size_t lanes_run(const Scene* scenes, size_t count, const char* wanted);

#endif // SR_TESTS_LANES_H
