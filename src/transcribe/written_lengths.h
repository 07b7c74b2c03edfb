// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_WRITTEN_LENGTHS_H
#define SR_TRANSCRIBE_WRITTEN_LENGTHS_H

#include "beam.h"

/// How long each note is written, in places: until it ends, or until the next begins where the
/// silence between is none to speak of. `lengths` has room for each note played.
void sr_written_lengths(const SrPlayedNotes* played, const SrGridNote* grid, long* lengths);

#endif // SR_TRANSCRIBE_WRITTEN_LENGTHS_H
