// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file assess_page.h
   The pages that `assess --page` writes once all takes are judged.
*/

#ifndef SR_APP_ASSESS_PAGE_H
#define SR_APP_ASSESS_PAGE_H

#include "plan_options.h"

#include <steadyreed/judged_take.h>
#include <steadyreed/show.h>

#include <stdbool.h>
#include <time.h>

/// Size of a date in words, bytes.
#define SR_PAGE_DATE_SIZE 48

/// A take whose page will be written.
typedef struct {
  SrJudgedTake take;
  const char* path;
  size_t number;      ///< On the command line, from 1
  const char* player; ///< Who played it; NULL if that is not said
  const char* date;   ///< When; NULL for the time of its file
  const char* remark; ///< Which take it is; NULL for nothing
} SrKeptTake;

/// The pages; all zero for none.
typedef struct {
  const char* path; ///< OUT; NULL for no pages
  SrKeptTake* kept;
  size_t count;
  size_t named; ///< Takes on the command line
  SrWishedPlan wished;
  SrPlans* plans; ///< NULL without a plan
  char part[16];  ///< Such as "part A"; "" for all
} SrAssessPages;

/// A judged take with what is shown of it.
SrShownTake sr_assess_shown(const SrPhrase* phrase, const char* path, const SrJudgedTake* take);

/**
   Check that pages can be written without writing over anything that is read or written otherwise.

   @param out    OUT; NULL for no pages.
   @param output Where the report goes; NULL for the screen.
   @param read   What is read besides the takes; NULLs are ignored.
   @param count  Number of these.
   @return 0, or an exit status of an error, which was reported.
*/
int sr_assess_pages_check(const char* out, const char* output, const char* layout,
                          const char* const* read, size_t count, char* const* takes,
                          size_t take_count);
/**
   Begin the pages of a phrase; plan it if a plan is wished. The phrase must not yet ask for air
   where the plan takes it.

   @param pages Its `path` is set; clear it also on error.
   @return 0, or an exit status of an error, which was reported.
*/
int sr_assess_pages_begin(SrAssessPages* pages, const SrPlanOptions* options,
                          const SrPhraseChoice* choice, double bpm, const SrPhrase* phrase,
                          size_t take_count);
/// Keep a take for its page, if pages are wanted and it was judged; `take` is then empty.
void sr_assess_pages_keep(SrAssessPages* pages, const char* path, size_t number,
                          SrJudgedTake* take);
/// Draw and write the pages of the takes that were kept, at least one. As sr_page_takes().
SrStatus sr_assess_pages_draw(const SrAssessPages* pages, const SrPhrase* phrase, SrError* error);
/// A day in words, such as "29 November 2026"; "" if it is none. Local time.
void sr_page_date(time_t at, char date[SR_PAGE_DATE_SIZE]);
/// Write the pages of the takes that were kept, if any. Returns an exit status.
int sr_assess_pages_write(const SrAssessPages* pages, const SrPhrase* phrase);
/// Free what they hold.
void sr_assess_pages_clear(SrAssessPages* pages);

#endif // SR_APP_ASSESS_PAGE_H
