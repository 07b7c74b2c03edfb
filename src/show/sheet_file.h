// SPDX-License-Identifier: GPL-3.0-or-later

// Writing a sheet to a file.

#ifndef SR_SHOW_SHEET_FILE_H
#define SR_SHOW_SHEET_FILE_H

#include "sheet.h"

/// Lay out and write, in the format of the file extension. Errors as for sr_page_plan().
SrStatus sr_sheet_write(const char* path, const SrSheetContent* content, SrError* error);

#endif // SR_SHOW_SHEET_FILE_H
