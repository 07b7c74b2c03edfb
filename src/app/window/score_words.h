// SPDX-License-Identifier: GPL-3.0-or-later

// Keys and meters by name, and how sure a guess is, for a player who may correct them.

#ifndef SR_WINDOW_SCORE_WORDS_H
#define SR_WINDOW_SCORE_WORDS_H

#include <steadyreed/transcribe.h>

/// Number of keys that are offered.
size_t sr_key_choices(void);
/// A key as K: has it, such as "Ador".
const char* sr_key_choice(size_t index);
/// A key as a player says it, such as "A Dorian"; as it is written if it is not one of these.
const char* sr_key_words(const char* key);
/// Number of meters that are offered.
size_t sr_meter_choices(void);
/// A meter's figures; its words, such as "6/8".
const char* sr_meter_choice(size_t index, int* beats, int* unit);
/// "sure", "likely" or "unsure", from a share of 0 to 1.
const char* sr_sure_words(double sure);
/// How many notes, how many of them with graces, and how even they are; g_free() it.
char* sr_score_words(const SrScore* score);

#endif // SR_WINDOW_SCORE_WORDS_H
