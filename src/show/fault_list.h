// SPDX-License-Identifier: GPL-3.0-or-later

// What went wrong in a round, line by line, for a terminal or a page.

#ifndef SR_SHOW_FAULT_LIST_H
#define SR_SHOW_FAULT_LIST_H

#include "verdict_words.h"

/// A line of the list; its texts live only as long as the call.
typedef struct {
  int bar;          ///< Of the note; 0 for a pickup
  const char* name; ///< Of the note, such as "3rd A"; NULL if the line is about the whole round
  const char* words;
} SrFaultLine;

/// A list to be made.
typedef struct {
  const SrNaming* naming;
  const SrRound* round;
  void (*line)(void* context, const SrFaultLine* line); ///< Receives each line, in order
  void* context;
} SrFaultList;

/// List what went wrong; returns whether anything did.
bool sr_faults(const SrFaultList* list);
/// List that the player did not stay with the click, or was off it all along, if so; returns
/// whether it was listed.
bool sr_faults_left(const SrFaultList* list);
/// List all slips.
void sr_faults_slips(const SrFaultList* list);
/// List all insertions that are no slips.
void sr_faults_extras(const SrFaultList* list);

#endif // SR_SHOW_FAULT_LIST_H
