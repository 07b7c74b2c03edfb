// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_SCENES_H
#define SR_TESTS_SCENES_H

#include "lanes.h"

/// Whatever is played is judged as `assess` judges the file.
extern const Scene scenes_same[];
extern const size_t scenes_same_count;
/// With the click in the microphone.
extern const Scene scenes_click[];
extern const size_t scenes_click_count;
/// How it ends, and what hands without a keyboard can do.
extern const Scene scenes_hands[];
extern const size_t scenes_hands_count;
/// What is remembered of it.
extern const Scene scenes_history[];
extern const size_t scenes_history_count;
/// Sessions in a row: the tempo ladder, and a day's practice.
extern const Scene scenes_series[];
extern const size_t scenes_series_count;
/// What goes wrong around it.
extern const Scene scenes_trouble[];
extern const size_t scenes_trouble_count;

#endif // SR_TESTS_SCENES_H
