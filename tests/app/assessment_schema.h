// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_ASSESSMENT_SCHEMA_H
#define SR_TESTS_ASSESSMENT_SCHEMA_H

#include <jansson.h>

/// Check that a value is an assessment of version 1, key by key; ends the test with cmocka if not.
void schema_check_assessment(const json_t* root);

/// Check that a value tells of a take that could not be judged.
void schema_check_refusal(const json_t* root);

#endif // SR_TESTS_ASSESSMENT_SCHEMA_H
