// SPDX-License-Identifier: GPL-3.0-or-later

// Options of `steadyreed practise`.

#ifndef SR_APP_PRACTISE_OPTIONS_H
#define SR_APP_PRACTISE_OPTIONS_H

#include "assigned.h"
#include "chosen_phrase.h"
#include "plan_options.h"

#include <steadyreed/session.h>

#include <stdbool.h>

typedef struct {
  SrPhraseChoice choice;
  SrSessionSettings session;
  bool json;
  bool all_notes;
  bool list_devices;
  bool plain;
  bool until_silence; ///< It was given
  bool speak;
  double ladder_from_bpm; ///< NAN if it was not given
  SrPlanOptions plan;
  SrNamed named;
  const char* write_drill; ///< File to write instead of practising; NULL for none
  bool force;              ///< Write over it
  const char* not_in_file; ///< An option given that no file holds; NULL without
  const char* phrase_path; ///< NULL to listen freely
  const char* of_phrase;   ///< An option given that needs a phrase; NULL without
} SrPractiseRequest;

/// Read options and operands. 0 to continue, -1 if help was shown, otherwise an exit status.
int sr_practise_options_read(int count, char** arguments, SrPractiseRequest* request);
bool sr_practise_has_ladder(const SrPractiseRequest* request);

#endif // SR_APP_PRACTISE_OPTIONS_H
