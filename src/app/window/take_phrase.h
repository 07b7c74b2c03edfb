// SPDX-License-Identifier: GPL-3.0-or-later

// The phrase of a kept take, as the history knows it, read again from its file.

#ifndef SR_WINDOW_TAKE_PHRASE_H
#define SR_WINDOW_TAKE_PHRASE_H

#include "chosen.h"

#include <steadyreed/history.h>

typedef struct {
  SrChoice choice;
  char identity[SR_IDENTITY_SIZE];
} SrTakePhrase;

/// A copy of what the history knows; clear it with sr_take_phrase_clear().
SrTakePhrase sr_take_phrase_of(const SrHistoryPhrase* phrase);
void sr_take_phrase_clear(SrTakePhrase* phrase);
/// Read it, with the buttons that are usual now. It takes its time: call it on another thread. NULL
/// on error, also if its file holds another phrase by now.
SrChosen* sr_take_phrase_read(SrTakePhrase* phrase, SrError* error);

#endif // SR_WINDOW_TAKE_PHRASE_H
