// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file class_page.h
   A pupil's pages: of the best take, and of the latest if that is another.
*/

#ifndef SR_APP_CLASS_PAGE_H
#define SR_APP_CLASS_PAGE_H

#include "assess_page.h"

#include <steadyreed/audio.h>

/// What decides which take is the best, and which the latest.
typedef struct {
  bool judged;
  SrRecordedDate date; ///< When it was recorded, or else when its file was last changed
  double quality;      ///< Of its best round, 0 to 100: the mean of its scores, times the share of
                       ///< notes played; see kept_takes.h
  double bpm;          ///< Of that round, pulses a minute; NAN if unknown
  double cuts;         ///< Its score for cuts, 0 to 100; NAN if there is none
  double evenness;     ///< Its score for evenness
} SrTakeFigures;

/// Figures of a judged take, without the date.
SrTakeFigures sr_take_figures(const SrAssessment* assessment);

/// Which takes of a pupil have a page.
typedef struct {
  size_t best;   ///< Index among the pupil's takes
  size_t latest; ///< … may be the same
  size_t judged; ///< How many were judged; 0 for no page at all
} SrPupilTakes;

/// Choose them among the takes of one pupil.
SrPupilTakes sr_pupil_takes(const SrTakeFigures* takes, size_t count);

/// The takes of a pages file.
typedef struct {
  const char* player;
  const char* paths[2]; ///< The best and the latest; the second is NULL if that is the same
  SrRecordedDate dates[2];
  size_t judged; ///< Takes of this pupil that were judged
} SrPupilPages;

/**
   Write a pupil's pages.

   @param planned Pages of sr_assess_pages_begin(), of which nothing is changed.
   @param out     The file to write; .pdf.
   @param takes   Judged, one for each path; they are empty afterwards.
   @return SR_OK, or what sr_page_takes() returns.
*/
SrStatus sr_pupil_pages_write(const SrAssessPages* planned, const SrPhrase* phrase, const char* out,
                              const SrPupilPages* pages, SrJudgedTake takes[2], SrError* error);

#endif // SR_APP_CLASS_PAGE_H
