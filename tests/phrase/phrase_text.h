// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file phrase_text.h
   Phrases as short texts that tests can compare.
*/

#ifndef SR_TESTS_PHRASE_TEXT_H
#define SR_TESTS_PHRASE_TEXT_H

#include <steadyreed/phrase.h>

/// Read ABC; a failure to read fails the test that runs, with the error's text.
SrPhrase* sr_test_phrase(const char* abc, const SrPhraseChoice* choice);

/**
   Each note as `MIDI*length`, each silence before a note as `z*length`, lengths in
   eighths of a whole note; `*1` is left out. "62 64*3/2 z 66*2", for example.

   @return A text to be freed.
*/
char* sr_test_notes(const SrPhrase* phrase);

/// The notes of a tune with `head` (fields, may be "") and `body`, as sr_test_notes().
char* sr_test_tune_notes(const char* head, const char* body);

/// Assert the notes of a tune.
void sr_test_assert_notes(const char* head, const char* body, const char* expected);

/// Assert that two bodies under one head have the same notes.
void sr_test_assert_same(const char* head, const char* body, const char* other_body);

#endif // SR_TESTS_PHRASE_TEXT_H
