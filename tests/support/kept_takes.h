// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file kept_takes.h
   Takes kept in files, for a program that is run over and over on the same ones.

   The files are named after the value of STEADYREED_KEPT_TAKES, such as /tmp/takes/air-, and the
   number of the take within the run. Without that variable nothing is kept.
*/

#ifndef TEST_KEPT_TAKES_H
#define TEST_KEPT_TAKES_H

#include "take_maker.h"

/// The next take of this run if it was kept and is of this phrase and plan, else NULL.
Take* kept_take_read(const SrPhrase* phrase, const TakePlan* plan);
/// Keep the take that kept_take_read() did not have.
void kept_take_write(const SrPhrase* phrase, const TakePlan* plan, const Take* take);

#endif // TEST_KEPT_TAKES_H
