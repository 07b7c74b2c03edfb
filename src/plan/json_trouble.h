// SPDX-License-Identifier: GPL-3.0-or-later

// JSON syntax errors in words for the author of the file.

#ifndef SR_PLAN_JSON_TROUBLE_H
#define SR_PLAN_JSON_TROUBLE_H

#include <steadyreed/status.h>

#include <jansson.h>

/// Set an error with the place in the file `name`. SR_BAD_SYNTAX or SR_NO_MEMORY.
SrStatus sr_json_refuse(const json_error_t* trouble, const char* name, SrError* error);

#endif // SR_PLAN_JSON_TROUBLE_H
