// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file layout.h
   Instrument layouts by name: the shipped ones and the player's own.
*/

#ifndef STEADYREED_LAYOUT_H
#define STEADYREED_LAYOUT_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Default layout.
#define SR_USUAL_LAYOUT "30-c-g"

/**
   Read the layout a player named. A name that contains a slash or ends in ".json" is the path of a
   file. Any other is searched for in the player's own folder, `~/.config/steadyreed/instruments`,
   and then among the shipped ones; so a player's layout overrides a shipped one of the same name.

   @param asked      The name; NULL for the default.
   @param instrument Receives it; free it with sr_instrument_del(). NULL on error.
   @return As sr_instrument_read_file(); the error of SR_NOT_FOUND lists the names.
*/
SrStatus sr_layout_read(const char* asked, SrInstrument** instrument, SrError* error);

/// Path of the file of a layout named as for sr_layout_read(); free it. NULL if there is none of
/// that name, or without memory.
char* sr_layout_place(const char* asked);

/// A layout that can be named.
typedef struct {
  char* name;
  char* path;
  bool own; ///< In the player's own folder
} SrLayoutEntry;

/**
   All layouts that can be named, sorted by name; the player's own hides a shipped one of the same
   name.

   @param entries Receives them, free them with sr_layout_list_del(); NULL if there are none.
   @param count   Receives their number.
   @return SR_OK, SR_NOT_FOUND if the shipped ones are missing, or SR_NO_MEMORY.
*/
SrStatus sr_layout_list(SrLayoutEntry** entries, size_t* count, SrError* error);

/// Free the result of sr_layout_list().
void sr_layout_list_del(SrLayoutEntry* entries, size_t count);

SR_END_DECLARATIONS

#endif // STEADYREED_LAYOUT_H
