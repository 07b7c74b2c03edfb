// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file assignment_directive.h
   Directives that say how a tune is to be practised, inside this room; see assignment.h.
*/

#ifndef SR_PHRASE_ASSIGNMENT_DIRECTIVE_H
#define SR_PHRASE_ASSIGNMENT_DIRECTIVE_H

#include "tune.h"

/// Whether a directive, without its %% or I:, is one of ours.
bool sr_assignment_is_directive(const char* text, size_t size);
/// Use such a directive.
SrStatus sr_assignment_directive_use(SrTuneReader* reader, const SrLine* line, const char* text,
                                     size_t size);

#endif // SR_PHRASE_ASSIGNMENT_DIRECTIVE_H
