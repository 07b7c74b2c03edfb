// SPDX-License-Identifier: GPL-3.0-or-later

#include "json_trouble.h"

SrStatus
sr_json_refuse(const json_error_t* const trouble, const char* const name, SrError* const error)
{
  const char* words = "This cannot be read as JSON. A comma, quote or bracket is missing, or there "
                      "is one too many, here or just before.";
  SrStatus status = SR_BAD_SYNTAX;
  const enum json_error_code code = json_error_code(trouble);
  if (code == json_error_out_of_memory) {
    status = SR_NO_MEMORY;
    words = "There is not enough memory.";
  } else if (code == json_error_premature_end_of_input) {
    words = "The text ends too early: a quote, } or ] is missing.";
  } else if (code == json_error_end_of_input_expected) {
    words = "There is something after the last }.";
  } else if (code == json_error_duplicate_key) {
    words = "The same key appears twice in one pair of { }. Take one out.";
  } else if (code == json_error_invalid_utf8) {
    words = "This is not UTF-8 text.";
  } else if (code == json_error_null_character || code == json_error_null_byte_in_key) {
    words = "There is a NUL character in the text.";
  } else if (code == json_error_stack_overflow) {
    words = "There are too many brackets inside one another.";
  }
  sr_error_set(error, status, "%s", words);
  sr_error_place(error, name, trouble->line > 0 ? (unsigned)trouble->line : 0,
                 trouble->line > 0 && trouble->column > 0 ? (unsigned)trouble->column : 0);
  return status;
}
