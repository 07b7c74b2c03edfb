// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file peer.h
   aubio's onset methods on the same takes.
*/

#ifndef TEST_PEER_H
#define TEST_PEER_H

#include "take_maker.h"

/// aubio's methods, at windows of 1024 and steps of 256 samples.
#define PEER_METHODS 6u

/// Onsets of one method over many takes.
typedef struct {
  size_t onsets;
  size_t matched;
  size_t false_onsets;
} PeerFigures;

/// Name of a method.
const char* peer_name(size_t method);
/**
   Run one method on a take and add its figures.

   Only what lies within the true rounds counts. A detection where a note speaks again
   behind its cut, at the end of a cut, or at an extra note counts neither way.
*/
void peer_add(PeerFigures* figures, size_t method, const Take* take);
/// F measure.
double peer_f(const PeerFigures* figures);

#endif // TEST_PEER_H
