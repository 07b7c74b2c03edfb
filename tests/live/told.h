// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file told.h
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

/// All that was told.
typedef struct {
  SrNews* news;
  size_t count;
} Told;

/// Pull all news and keep them.
void told_pull(Told* told, SrLive* live);
/// Listen to a scene, in chunks of `chunk` samples. The test fails on any error.
Told told_of(const SrPhrase* phrase, const SrLiveSettings* settings, const Scene* scene,
             size_t chunk);
/// Free what it holds.
void told_free(Told* told);
/// How many of a kind.
size_t told_count(const Told* told, SrNewsKind kind);
/// The `index`th of a kind; the test fails if there is none.
const SrNews* told_nth(const Told* told, SrNewsKind kind, size_t index);
/// The round that the `index`th verdict is about, its last if there are several.
const SrRound* told_round(const Told* told, size_t index);
/// Notes of a round with a status.
size_t told_notes(const SrRound* round, SrNoteStatus status);
/// Whether a round has a slip of a kind.
bool told_slip(const SrRound* round, SrSlipKind kind);
/// The test fails where two differ in anything.
void told_assert_same(const Told* one, const Told* other);
/// Print what was told, to find out about a failure.
void told_print(const Told* told);

/// The default settings at the rate of a scene.
SrLiveSettings told_settings(const Scene* scene);

#endif // TEST_TOLD_H
