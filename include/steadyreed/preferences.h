// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file preferences.h
   The instrument and the style of playing that the player last named, and how much room the kept
   takes may have, kept in $XDG_CONFIG_HOME/steadyreed/preferences.json (or ~/.config), readable by
   its owner only. They are apart from what `setup` measured, so that planning a phrase never
   rewrites a measurement.
*/

#ifndef STEADYREED_PREFERENCES_H
#define STEADYREED_PREFERENCES_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Longest value, bytes without its NUL.
#define SR_PREFERENCE_MOST_BYTES 4096u

/// Largest limit for takes, bytes: 2^53.
#define SR_MOST_TAKES_LIMIT UINT64_C(9007199254740992)

/// What the player last named.
typedef struct {
  char* layout; ///< As for sr_layout_read(), a file by its whole path; NULL if none was named
  char* style;  ///< A shipped style, or a file by its whole path; NULL if none was named
  uint64_t takes_limit; ///< Bytes that kept takes may have, see kept_takes.h; 0 if none was set
} SrPreferences;

/**
   Read the preferences. Clear the result afterwards, even on error.

   @param preferences Receives them; empty if there is no file, or on error.
   @param error       Names the faulty key or line of a damaged file, which is renamed to
                      preferences.json.damaged-1 (or -2 ...): the error says so.
   @return SR_OK, also without a file; SR_BAD_SYNTAX, SR_TOO_LARGE, SR_UNSUPPORTED (a pipe or the
           like), SR_NO_PERMISSION or SR_NO_MEMORY.
*/
SrStatus sr_preferences_read(SrPreferences* preferences, SrError* error);
/**
   Keep what the player has named now; the other value stays as it was. A file that cannot be read
   is not replaced, and nothing is written if nothing changes.

   @param layout, style As in SrPreferences, 1 to SR_PREFERENCE_MOST_BYTES bytes of UTF-8; NULL to
                        keep what is known. Give a file by its whole path.
   @param changed       Receives whether a file was written; NULL if it is of no interest.
   @return SR_OK; SR_BAD_ARGUMENT (too long, or not UTF-8); as sr_preferences_read(), except that a
           damaged file is set aside and replaced; SR_NOT_FOUND (no home); SR_NO_PERMISSION,
           SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_preferences_keep(const char* layout, const char* style, bool* changed, SrError* error);
/**
   Keep how much room takes may have. All else as sr_preferences_keep().

   @param bytes 1 to SR_MOST_TAKES_LIMIT.
*/
SrStatus sr_preferences_keep_takes_limit(uint64_t bytes, SrError* error);
/**
   Forget the instrument and the style; the room for takes stays. A file that cannot be read is left
   where it is.

   @return SR_OK, also if there was none; SR_NO_PERMISSION or SR_WRITE_FAILED.
*/
SrStatus sr_preferences_forget(SrError* error);
/// Free what they hold.
void sr_preferences_clear(SrPreferences* preferences);

SR_END_DECLARATIONS

#endif // STEADYREED_PREFERENCES_H
