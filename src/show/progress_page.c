// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/progress_page.h>

#include "picture_file.h"
#include "progress_sheet.h"

#include <steadyreed/take_page.h>

#include <stdlib.h>

/// All pages of one writing.
typedef struct {
  SrProgressSheet** sheets;
  char** paths; ///< One for all pages of a PDF, otherwise one for each
  SrPicture* pictures;
  size_t count;
} Sheets;

static SrStatus
draw_sheet(const SrProgressSheet* const sheet, cairo_t* const cairo)
{
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  sr_progress_sheet_draw(sheet, &pen);
  sr_pen_end(&pen);
  return SR_OK;
}

/// Draw a page of a PDF.
static SrStatus
draw_page(void* const context, cairo_t* const cairo, const size_t page)
{
  const Sheets* const sheets = (const Sheets*)context;
  return draw_sheet(sheets->sheets[page], cairo);
}

/// Draw the only page of a file.
static SrStatus
draw_only(void* const context, cairo_t* const cairo, const size_t page)
{
  (void)page;
  return draw_sheet((const SrProgressSheet*)context, cairo);
}

/// Name the files and what is in them. Returns their number, 0 without memory.
static size_t
list_files(const char* const path, Sheets* const sheets)
{
  const bool together = sr_picture_form(path) == SR_PICTURE_PDF;
  const size_t files = together ? 1 : sheets->count;
  for (size_t i = 0; i < files; ++i) {
    const SrPicture picture = {.title = together && sheets->count > 1
                                            ? "Progress"
                                            : sr_progress_sheet_title(sheets->sheets[i]),
                               .width = SR_A4_SHORT,
                               .height = SR_A4_LONG,
                               .pages = together ? sheets->count : 1,
                               .draw = together ? draw_page : draw_only,
                               .context = together ? (void*)sheets : (void*)sheets->sheets[i]};
    sheets->pictures[i] = picture;
    sheets->paths[i] = sr_page_take_path(path, files > 1 ? i + 1 : 0);
    if (!sheets->paths[i]) {
      return 0;
    }
  }
  return files;
}

static SrStatus
write_sheets(const char* const path, const SrProgressPages* const pages, Sheets* const sheets,
             SrError* const error)
{
  for (size_t i = 0; i < sheets->count; ++i) {
    const SrStatus status = sr_progress_sheet_new(pages, i, &sheets->sheets[i], error);
    if (status != SR_OK) {
      sr_error_place(error, path, 0, 0);
      return status;
    }
  }
  const size_t files = list_files(path, sheets);
  return files
             ? sr_picture_write_all(sheets->paths, sheets->pictures, files, error)
             : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
}

SrStatus
sr_page_progress(const char* const path, const SrProgressPages* const pages, SrError* const error)
{
  const size_t count = pages->phrase_count;
  if (!count) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "There is no phrase to make a page of.");
  }
  Sheets sheets = {(SrProgressSheet**)calloc(count, sizeof(SrProgressSheet*)),
                   (char**)calloc(count, sizeof(char*)),
                   (SrPicture*)calloc(count, sizeof(SrPicture)), count};
  const SrStatus status =
      sheets.sheets && sheets.paths && sheets.pictures
          ? write_sheets(path, pages, &sheets, error)
          : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
  for (size_t i = 0; i < count; ++i) {
    if (sheets.sheets) {
      sr_progress_sheet_del(sheets.sheets[i]);
    }
    if (sheets.paths) {
      free(sheets.paths[i]);
    }
  }
  free((void*)sheets.sheets);
  free((void*)sheets.paths);
  free(sheets.pictures);
  return status;
}
