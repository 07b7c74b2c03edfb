// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file setup.h
   Measurements by `setup`, kept in $XDG_CONFIG_HOME/steadyreed/setup.json (or ~/.config), readable
   by its owner only.
*/

#ifndef STEADYREED_SETUP_H
#define STEADYREED_SETUP_H

#include <steadyreed/declarations.h>
#include <steadyreed/hear.h>
#include <steadyreed/status.h>

#include <stdbool.h>

SR_BEGIN_DECLARATIONS

/**
   Folder of the player's settings and layouts: $XDG_CONFIG_HOME/steadyreed, or
   ~/.config/steadyreed. Relative or empty variables count as unset.

   @param make Create it if missing, readable by its owner only.
   @return Its path, whether it exists or not; free() it. NULL without a home or memory.
*/
char* sr_config_folder(bool make);

/// Size of a device name, bytes.
#define SR_DEVICE_NAME_SIZE 128

/// What was measured.
typedef struct {
  char input[SR_DEVICE_NAME_SIZE]; ///< Devices the round trip was measured with; "" if it was not
  char output[SR_DEVICE_NAME_SIZE];
  double round_trip_s;        ///< From output to input; NAN if it was not measured
  double round_trip_spread_s; ///< Range of three measurements
  double floor_dbfs;          ///< Noise floor of the room; NAN if it was not measured
  double bellows_at_a4;       ///< See SrBellows; NAN if it was not measured
  double bellows_power;
  double bellows_uncertainty; ///< As a share; NAN if it cannot be determined
  SrProfile* profile;         ///< Of the instrument; NULL if unknown
} SrSetup;

/**
   Read the measurements. Clear the result afterwards, even on error.

   @param setup Unmeasured if there is no file, or on error.
   @param error Names the faulty key or line of a damaged file, which is renamed to
                setup.json.damaged-1 (or -2 …): the error says so.
   @return SR_OK, also without a file; SR_BAD_SYNTAX, SR_TOO_LARGE, SR_UNSUPPORTED (a pipe or the
           like), SR_NO_PERMISSION or SR_NO_MEMORY.
*/
SrStatus sr_setup_read(SrSetup* setup, SrError* error);
/// Write the measurements. SR_OK, SR_NOT_FOUND (no home), SR_WRITE_FAILED or SR_NO_MEMORY.
SrStatus sr_setup_write(const SrSetup* setup, SrError* error);
/// Free what it holds.
void sr_setup_clear(SrSetup* setup);
/// Round trip for two devices, s; NAN if it was not measured with this pair.
double sr_setup_round_trip_s(const SrSetup* setup, const char* input, const char* output);

SR_END_DECLARATIONS

#endif // STEADYREED_SETUP_H
