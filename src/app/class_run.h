// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file class_run.h
   The recordings of a class judged, side by side, into one table and a file of pages for each
   pupil.
*/

#ifndef SR_APP_CLASS_RUN_H
#define SR_APP_CLASS_RUN_H

#include "assess_page.h"
#include "class_list.h"

#include <steadyreed/judge.h>

#include <stdbool.h>

/// What is judged, and how.
typedef struct {
  const SrClassList* list;
  const SrPhrase* phrase;
  const SrJudgeSettings* settings;
  bool find_click;
  const SrAssessPages* pages; ///< Of sr_assess_pages_begin()
  const char* results;        ///< An empty folder
  size_t workers;
} SrClassRun;

/**
   Judge the class, and say what came of it: how far it is on standard error; then a summary on
   standard output, with each take that could not be judged and why. Ctrl-C and the like end it, and
   keep what is finished.

   The table is `class.csv`, a row for each take: the pupil, the date, then the columns of
   sr_show_csv_header(). The pages are `NAME.pdf`.

   @return An exit status.
*/
int sr_class_run(const SrClassRun* run);

#endif // SR_APP_CLASS_RUN_H
