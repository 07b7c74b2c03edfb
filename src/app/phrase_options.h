// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file phrase_options.h
   The options that say what of a tune is meant, how fast and how high: --bars, --part, --tune,
   --transpose, --tempo and --reference.
*/

#ifndef SR_APP_PHRASE_OPTIONS_H
#define SR_APP_PHRASE_OPTIONS_H

#include <steadyreed/phrase.h>

#include <stdbool.h>

/// Values of these options for getopt_long(), apart from those of any command.
enum {
  SR_OPTION_BARS = 512,
  SR_OPTION_PART,
  SR_OPTION_TUNE,
  SR_OPTION_TRANSPOSE,
  SR_OPTION_TEMPO,
  SR_OPTION_REFERENCE,
};

/// Where to put what was named.
typedef struct {
  SrPhraseChoice* choice;
  double* bpm;          ///< Pulses a minute
  double* reference_hz; ///< A4; NULL if the command has no --reference
} SrPhraseOptions;

/**
   Read one option.

   @param command Name of the command, for errors.
   @param text    Its value, which must live as long as the choice.
   @param trouble Receives 0, or an exit status of an error, which was reported; unchanged if this
                  is none of these options.
   @return False if it is none of these options.
*/
bool sr_phrase_option(const char* command, int option, const char* text,
                      const SrPhraseOptions* options, int* trouble);
/// Whether an option chooses bars of the tune.
bool sr_phrase_option_is_place(int option);

#endif // SR_APP_PHRASE_OPTIONS_H
