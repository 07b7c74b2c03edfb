// SPDX-License-Identifier: GPL-3.0-or-later

#include "sheet_file.h"

#include "picture_file.h"

static SrStatus
draw_page(void* const context, cairo_t* const cairo, const size_t page)
{
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  sr_sheet_draw(context, &pen, page);
  sr_pen_end(&pen);
  return SR_OK;
}

SrStatus
sr_sheet_write(const char* const path, const SrSheetContent* const content, SrError* const error)
{
  SrSheet* sheet = NULL;
  SrStatus status = sr_sheet_new(content, sr_picture_form(path) == SR_PICTURE_PDF, &sheet);
  if (status != SR_OK) {
    return status == SR_NOT_FOUND
               ? sr_error_set(error, status, SR_PEN_NO_LETTERS)
               : sr_error_set(error, status, "There is not enough memory to draw the picture.");
  }
  const SrPicture picture = {.title = content->title,
                             .width = sr_sheet_width(sheet),
                             .height = sr_sheet_height(sheet),
                             .pages = sr_sheet_pages(sheet),
                             .draw = draw_page,
                             .context = sheet};
  status = sr_picture_write(path, &picture, error);
  sr_sheet_del(sheet);
  return status;
}
