// SPDX-License-Identifier: GPL-3.0-or-later

// Invented days of practice, of which all figures are known: a jig got ready for a monthly session.

#ifndef MADE_PROGRESS_H
#define MADE_PROGRESS_H

#include <steadyreed/progress_page.h>
#include <steadyreed/progress_picture.h>

/// 29 November 2026.
#define MADE_TODAY 20786

typedef enum {
  MADE_MONTH,       ///< Thirty days, of which some were skipped; a week without any
  MADE_ONE_DAY,     ///< Today alone
  MADE_PLAIN,       ///< A month without click, silent bars or places for air
  MADE_THREE_YEARS, ///< With a summer off
  MADE_TEN_YEARS,
} MadeTime;

/// Days of practice.
typedef struct {
  SrPracticeDay* days;
  size_t day_count;
  SrPracticeDay* every; ///< With other phrases
  size_t every_count;
} MadeProgress;

/// Make them; made_progress_clear() them. The same each time.
void made_progress_make(MadeTime time, MadeProgress* made);
void made_progress_clear(MadeProgress* made);

/// The same as a phrase's progress, with its trends; it points into `made`.
SrPhraseProgress made_progress_phrase(const MadeProgress* made, char* title);
/// The same as what is drawn.
SrPicturedProgress made_progress_pictured(const MadeProgress* made);

#endif // MADE_PROGRESS_H
