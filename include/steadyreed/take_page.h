// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file take_page.h
   One A4 page of an assessed take, to pin up or to send back to a pupil: the advice as its largest
   words, the picture of the round that the advice is from, the other rounds small, what went wrong,
   the scores, and how the level of the notes fell at cuts that were not clean.

   The file extension selects the format, as for sr_page_plan(): `.pdf` has a page for each take,
   `.svg` and `.png` a file for each. Words can be selected in a PDF, and its fonts are embedded.
*/

#ifndef STEADYREED_TAKE_PAGE_H
#define STEADYREED_TAKE_PAGE_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/level_curve.h>
#include <steadyreed/plan.h>
#include <steadyreed/show.h>
#include <steadyreed/status.h>

#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Most level curves on one page.
#define SR_PAGE_MOST_CURVES 4u

/// What a page shows. Nothing of it is needed after sr_page_takes().
typedef struct {
  SrShownTake take;               ///< Judged, with its phrase
  const SrPlan* plan;             ///< Of its phrase; NULL without
  const SrInstrument* instrument; ///< Whose buttons the plan names; NULL without a plan
  const char* date;               ///< Of the recording, such as "29 November 2026"; "" if unknown
  const char* remark;             ///< Such as "part A" or "across the rows"; "" for none
  const SrLevelCurve* curves;     ///< For the first of sr_page_faulty_cuts(), in that order
  size_t curve_count;             ///< 0 to SR_PAGE_MOST_CURVES
  size_t number; ///< Of the take, from 1, where each has a file of its own; 0 for a single take
  const char* player; ///< Who played it, large; NULL or "" if that is not said
} SrTakePage;

/// Index of the round that a page shows large: the one its advice is from.
size_t sr_page_round(const SrAssessment* assessment);

/**
   The cuts of a round that were not clean, for level curves: those whose sound is there.

   @param notes Receives the indices of their notes, the first SR_PAGE_MOST_CURVES.
   @return Their number, at most SR_PAGE_MOST_CURVES.
*/
size_t sr_page_faulty_cuts(const SrRound* round, size_t notes[SR_PAGE_MOST_CURVES]);
/// The time about which the level curve of a note is drawn, s from the start of the take.
double sr_page_curve_middle_s(const SrNoteVerdict* note);
/// Seconds before and after that time.
#define SR_PAGE_CURVE_BEFORE_S 0.13
#define SR_PAGE_CURVE_AFTER_S 0.17

/**
   Name of the file of one take.

   @param path   As given, with an extension.
   @param number Of the take, from 1; 0 for a single take.
   @return "OUT-2.png" for "OUT.png" and 2; the path itself for 0 and for a PDF. Free it; NULL
           without memory.
*/
char* sr_page_take_path(const char* path, size_t number);

/// Whether a name has one of the extensions, before any work: SR_OK or SR_UNSUPPORTED.
SrStatus sr_page_check(const char* path, SrError* error);

/**
   Write the pages. Everything is drawn before anything is written, and if a file cannot be written,
   those written before it are removed.

   @param path  Ends in .pdf, .svg or .png, in any case.
   @param count At least 1.
   @return As sr_page_plan(); SR_BAD_ARGUMENT also for a take that was not judged.
*/
SrStatus sr_page_takes(const char* path, const SrTakePage* takes, size_t count, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_TAKE_PAGE_H
