// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/page.h>

#include "page_content.h"
#include "sheet_file.h"

static SrStatus
write_page(const char* const path, const SrPhrase* const phrase,
           const SrInstrument* const instrument, const SrPlan* const plan,
           const SrPageStyle* const style, SrError* const error)
{
  const SrPageStyle usual = {0};
  SrPageContent content;
  SrStatus status =
      sr_page_content_make(phrase, instrument, plan, style ? style : &usual, &content, error);
  if (status == SR_OK) {
    status = sr_sheet_write(path, &content.sheet, error);
  }
  sr_page_content_clear(&content);
  return status;
}

SrStatus
sr_page_plan(const char* const path, const SrPhrase* const phrase,
             const SrInstrument* const instrument, const SrPlan* const plan,
             const SrPageStyle* const style, SrError* const error)
{
  return write_page(path, phrase, instrument, plan, style, error);
}

SrStatus
sr_page_layout(const char* const path, const SrInstrument* const instrument,
               const SrPageStyle* const style, SrError* const error)
{
  return write_page(path, NULL, instrument, NULL, style, error);
}
