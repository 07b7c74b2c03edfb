// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_DRAFT_H
#define SR_TRANSCRIBE_DRAFT_H

#include <steadyreed/phrase.h>
#include <steadyreed/transcribe.h>

/// A draft of what was played as a phrase, for the rules that need one: each note with its length
/// in hundredths of a whole note for each tenth of a second. NULL for none.
SrPhrase* sr_draft_make(const SrPlayedNotes* played);

#endif // SR_TRANSCRIBE_DRAFT_H
