// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file assigned.h
   What a phrase's file asks for (assignment.h), joined with what was named on the command line,
   which wins.
*/

#ifndef SR_APP_ASSIGNED_H
#define SR_APP_ASSIGNED_H

#include <steadyreed/assignment.h>
#include <steadyreed/session.h>

#include <stdbool.h>

/// What was named on the command line.
typedef struct {
  bool place; ///< Bars or a part
  bool click_on;
  bool silent_bars;
  SrAssignedLadder ladder;
} SrNamed;

/**
   Read what a file asks for, without what was named. All zero if the file cannot be read: that is
   reported where the phrase is read.

   @param choice Which tune; receives the file's bars or part, unless these were named.
*/
SrAssignment sr_assigned_read(const char* path, const SrNamed* named, SrPhraseChoice* choice);

/**
   Put what a file asks for into settings. A file that wants no click does not silence what needs
   one and was named.

   @param assignment Of sr_assigned_read().
*/
void sr_assigned_use(const SrAssignment* assignment, const SrNamed* named,
                     SrSessionSettings* settings);

/// Say what the file asks for, unless that is nothing.
void sr_assigned_say(const SrAssignment* assignment);

/**
   Write a drill for pupils: the tune, with what was chosen as what its file asks for. What was not
   named stays as the file had it.

   @param path   The phrase.
   @param choice, settings, named What was chosen, with what the file asked for already.
   @param out    The file to write.
   @param force  Replace one of that name.
   @return An exit status.
*/
int sr_assigned_write(const char* path, const SrPhraseChoice* choice,
                      const SrSessionSettings* settings, const SrNamed* named, const char* out,
                      bool force);

#endif // SR_APP_ASSIGNED_H
