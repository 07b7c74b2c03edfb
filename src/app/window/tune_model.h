// SPDX-License-Identifier: GPL-3.0-or-later

// The tunes of a file as a list model. A file may hold thousands: an item is made when it is asked
// for.

#ifndef SR_WINDOW_TUNE_MODEL_H
#define SR_WINDOW_TUNE_MODEL_H

#include <steadyreed/phrase.h>

#include <gio/gio.h>

G_BEGIN_DECLS

#define SR_TYPE_TUNE_ITEM (sr_tune_item_get_type())
G_DECLARE_FINAL_TYPE(SrTuneItem, sr_tune_item, SR, TUNE_ITEM, GObject)

#define SR_TYPE_TUNE_MODEL (sr_tune_model_get_type())
G_DECLARE_FINAL_TYPE(SrTuneModel, sr_tune_model, SR, TUNE_MODEL, GObject)

/// @param list Taken.
SrTuneModel* sr_tune_model_new(SrTuneList* list);

const SrTuneEntry* sr_tune_item_entry(SrTuneItem* item);
/// Whether a tune before it in the file has the same X:, so that only its title names it.
gboolean sr_tune_item_is_repeated(SrTuneItem* item);
/// Whether its title holds the words, in any case, or its X: begins with them. Folded words, as by
/// g_utf8_casefold().
gboolean sr_tune_item_matches(SrTuneItem* item, const char* words);

G_END_DECLS

#endif // SR_WINDOW_TUNE_MODEL_H
