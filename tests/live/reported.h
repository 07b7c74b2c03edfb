// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reported.h
   All news of a stream, kept to be looked at.
*/

#ifndef TEST_TOLD_H
#define TEST_TOLD_H

#include "scene.h"

#include <steadyreed/live.h>

/// Whether all takes ten times as long, so that less must do.
#ifdef __SANITIZE_ADDRESS__
#define SLOW 1
#else
#define SLOW 0
#endif

/// All that was reported.
typedef struct {
  SrNews* news;
  size_t count;
} Reported;

/// Pull all news and keep them.
void reported_pull(Reported* reported, SrLive* live);
/// Listen to a scene, in chunks of `chunk` samples. The test fails on any error.
Reported reported_of(const SrPhrase* phrase, const SrLiveSettings* settings, const Scene* scene,
                     size_t chunk);
/// Free what it holds.
void reported_free(Reported* reported);
/// How many of a kind.
size_t reported_count(const Reported* reported, SrNewsKind kind);
/// The `index`th of a kind; the test fails if there is none.
const SrNews* reported_nth(const Reported* reported, SrNewsKind kind, size_t index);
/// The round that the `index`th verdict is about, its last if there are several.
const SrRound* reported_round(const Reported* reported, size_t index);
/// Notes of a round with a status.
size_t reported_notes(const SrRound* round, SrNoteStatus status);
/// Whether a round has a slip of a kind.
bool reported_slip(const SrRound* round, SrSlipKind kind);
/// The test fails where two differ in anything.
void reported_assert_same(const Reported* one, const Reported* other);
/// Print what was reported, to find out about a failure.
void reported_print(const Reported* reported);

/// The default settings at the rate of a scene.
SrLiveSettings reported_settings(const Scene* scene);

#endif // TEST_TOLD_H
