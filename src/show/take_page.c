// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/take_page.h>

#include "picture_file.h"
#include "take_sheet.h"
#include "tally.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

size_t
sr_page_round(const SrAssessment* const assessment)
{
  size_t number = 0;
  return sr_worst_advice(assessment, &number) ? number - 1 : 0;
}

char*
sr_page_take_path(const char* const path, const size_t number)
{
  const char* const dot = strrchr(path, '.');
  char* made = NULL;
  if (!number || !dot || sr_picture_form(path) == SR_PICTURE_PDF) {
    return strdup(path);
  }
  return asprintf(&made, "%.*s-%zu%s", (int)(dot - path), path, number, dot) < 0 ? NULL : made;
}

SrStatus
sr_page_check(const char* const path, SrError* const error)
{
  return sr_picture_check(path, error);
}

/// All pages of one writing.
typedef struct {
  SrTakeSheet** sheets;
  char** paths; ///< One for all pages of a PDF, otherwise one for each
  SrPicture* pictures;
  size_t count;
} Pages;

static SrStatus
draw_sheet(const SrTakeSheet* const sheet, cairo_t* const cairo)
{
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  sr_take_sheet_draw(sheet, &pen);
  sr_pen_end(&pen);
  return SR_OK;
}

/// Draw a page of a PDF.
static SrStatus
draw_page(void* const context, cairo_t* const cairo, const size_t page)
{
  const Pages* const pages = context;
  return draw_sheet(pages->sheets[page], cairo);
}

/// Draw the only page of a file.
static SrStatus
draw_only(void* const context, cairo_t* const cairo, const size_t page)
{
  (void)page;
  return draw_sheet(context, cairo);
}

/// Name the files and what is in them. Returns their number, 0 without memory.
static size_t
list_files(const char* const path, const SrTakePage* const takes, Pages* const pages)
{
  const bool together = sr_picture_form(path) == SR_PICTURE_PDF;
  const size_t files = together ? 1 : pages->count;
  for (size_t i = 0; i < files; ++i) {
    const SrPicture picture = {.title = sr_take_sheet_title(pages->sheets[i]),
                               .width = SR_A4_SHORT,
                               .height = SR_A4_LONG,
                               .pages = together ? pages->count : 1,
                               .draw = together ? draw_page : draw_only,
                               .context = together ? (void*)pages : (void*)pages->sheets[i]};
    pages->pictures[i] = picture;
    pages->paths[i] = sr_page_take_path(path, takes[i].number);
    if (!pages->paths[i]) {
      return 0;
    }
  }
  return files;
}

static SrStatus
write_pages(const char* const path, const SrTakePage* const takes, Pages* const pages,
            SrError* const error)
{
  for (size_t i = 0; i < pages->count; ++i) {
    const SrStatus status = sr_take_sheet_new(&takes[i], &pages->sheets[i], error);
    if (status != SR_OK) {
      sr_error_place(error, path, 0, 0);
      return status;
    }
  }
  const size_t files = list_files(path, takes, pages);
  return files
             ? sr_picture_write_all(pages->paths, pages->pictures, files, error)
             : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
}

SrStatus
sr_page_takes(const char* const path, const SrTakePage* const takes, const size_t count,
              SrError* const error)
{
  if (!count) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "There is no take to make a page of.");
  }
  Pages pages = {(SrTakeSheet**)calloc(count, sizeof(SrTakeSheet*)),
                 (char**)calloc(count, sizeof(char*)), calloc(count, sizeof(SrPicture)), count};
  const SrStatus status =
      pages.sheets && pages.paths && pages.pictures
          ? write_pages(path, takes, &pages, error)
          : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
  for (size_t i = 0; i < count; ++i) {
    if (pages.sheets) {
      sr_take_sheet_del(pages.sheets[i]);
    }
    if (pages.paths) {
      free(pages.paths[i]);
    }
  }
  free((void*)pages.sheets);
  free((void*)pages.paths);
  free(pages.pictures);
  return status;
}
