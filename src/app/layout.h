// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file layout.h
   The layouts of instruments that can be named on the command line.
*/

#ifndef SR_APP_LAYOUT_H
#define SR_APP_LAYOUT_H

#include <steadyreed/instrument.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

/// What is taken where none is named.
#define SR_USUAL_LAYOUT "30-c-g"

/**
   Read the layout that a player named.

   A name with a slash in it, or with ".json" at its end, is the path of a file. Any other is
   looked for in the player's own folder, `~/.config/steadyreed/instruments`, and then among the
   shipped ones; so a copy under the same name counts more.

   @param asked      What was named; NULL for the usual one.
   @param instrument Receives it; free it with sr_instrument_del(). NULL on error.
   @return As sr_instrument_read_file(); SR_NOT_FOUND tells which names there are.
*/
SrStatus sr_layout_read(const char* asked, SrInstrument** instrument, SrError* error);

/// Path of the file in which a layout is looked for that was named as for sr_layout_read(); free
/// it. NULL if there is none of that name, or without memory.
char* sr_layout_place(const char* asked);

/// A layout that can be named.
typedef struct {
  char* name;
  char* path;
  bool own; ///< In the player's own folder
} SrLayoutEntry;

/**
   All that can be named, in the order of their names; of two of one name only the player's own.

   @param entries Receives them, free them with sr_layout_list_del(); NULL if there are none.
   @param count   Receives how many there are.
   @return SR_OK, SR_NOT_FOUND if the shipped ones are missing, or SR_NO_MEMORY.
*/
SrStatus sr_layout_list(SrLayoutEntry** entries, size_t* count, SrError* error);

/// Free what sr_layout_list() gave.
void sr_layout_list_del(SrLayoutEntry* entries, size_t count);

#endif // SR_APP_LAYOUT_H
