// SPDX-License-Identifier: GPL-3.0-or-later

// Rounds out of JSON, one at a time, since ten years of them are larger than memory may be. What
// stands before and behind the rounds is read token by token, in the order in which it was written;
// white space may be as anybody likes it.

#include "history_text.h"

#include <stdlib.h>
#include <string.h>

/// Largest round, bytes.
#define MOST_ROUND ((size_t)64 << 20)

struct SrJsonRoundsImpl {
  FILE* stream;
  unsigned line;
  size_t taken; ///< Bytes of this round so far
  bool begun;   ///< A round was read
  bool over;
};

static int
take_byte(SrJsonRounds* const rounds)
{
  const int c = getc(rounds->stream);
  rounds->line += c == '\n';
  return c;
}

/// The next byte that is no white space.
static int
take_token(SrJsonRounds* const rounds)
{
  int c;
  do {
    c = take_byte(rounds);
  } while (c == ' ' || c == '\t' || c == '\r' || c == '\n');
  return c;
}

/// Whether the stream goes on with a text, with white space anywhere outside its strings.
static bool
follows(SrJsonRounds* const rounds, const char* const text)
{
  bool string = false;
  for (const char* c = text; *c; ++c) {
    const int next = string ? take_byte(rounds) : take_token(rounds);
    if (next != (unsigned char)*c) {
      return false;
    }
    string = *c == '"' ? !string : string;
  }
  return true;
}

static SrStatus
refuse(const SrJsonRounds* const rounds, SrError* const error)
{
  sr_error_set(error, SR_BAD_SYNTAX,
               "This is no history as `steadyreed progress --export` writes it.");
  sr_error_place(error, NULL, rounds->line, 0);
  return SR_BAD_SYNTAX;
}

SrJsonRounds*
sr_json_rounds_new(FILE* const stream, SrError* const error)
{
  SrJsonRounds* const rounds = (SrJsonRounds*)calloc(1, sizeof(SrJsonRounds));
  if (!rounds) {
    sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
    return NULL;
  }
  rounds->stream = stream;
  rounds->line = 1;
  if (!follows(rounds, SR_HISTORY_JSON_HEAD)) {
    (void)refuse(rounds, error);
    sr_json_rounds_del(rounds);
    return NULL;
  }
  return rounds;
}

void
sr_json_rounds_del(SrJsonRounds* const rounds)
{
  free(rounds);
}

/// Feed the parser byte by byte, so that it takes none behind the object.
static size_t
feed(void* const buffer, const size_t size, void* const data)
{
  SrJsonRounds* const rounds = (SrJsonRounds*)data;
  if (size == 0 || rounds->taken++ >= MOST_ROUND) {
    return 0;
  }
  const int c = take_byte(rounds);
  if (c == EOF) {
    return 0;
  }
  *(char*)buffer = (char)c;
  return 1;
}

/// What stands before the next round. SR_OK if there is one, SR_NOT_FOUND if there is none.
static SrStatus
step_to_round(SrJsonRounds* const rounds, SrError* const error)
{
  const int c = take_token(rounds);
  if (c == ']') {
    rounds->over = true;
    return follows(rounds, "}") && take_token(rounds) == EOF ? SR_NOT_FOUND : refuse(rounds, error);
  }
  if (rounds->begun) {
    return c == ',' ? SR_OK : refuse(rounds, error);
  }
  ungetc(c, rounds->stream);
  rounds->line -= c == '\n';
  return c == EOF ? refuse(rounds, error) : SR_OK;
}

SrStatus
sr_json_rounds_next(void* const source, SrHistoryRecord* const record, SrError* const error)
{
  SrJsonRounds* const rounds = (SrJsonRounds*)source;
  SrStatus status = step_to_round(rounds, error);
  if (status != SR_OK) {
    return status;
  }
  rounds->begun = true;
  rounds->taken = 0;
  json_error_t trouble;
  json_t* const round =
      json_load_callback(feed, rounds, JSON_DISABLE_EOF_CHECK | JSON_REJECT_DUPLICATES, &trouble);
  const unsigned line = rounds->line;
  if (rounds->taken > MOST_ROUND) {
    status = sr_error_set(error, SR_TOO_LARGE, "This round is larger than 64 MiB.");
  } else if (!round) {
    status = sr_error_set(error, SR_BAD_SYNTAX, "This is not JSON: %s.", trouble.text);
  } else if (!json_is_object(round)) {
    status = sr_error_set(error, SR_BAD_SYNTAX, "A round must be an object.");
  }
  for (size_t i = 0; status == SR_OK && i < sr_field_count; ++i) {
    status = sr_field_set(&sr_fields[i], json_object_get(round, sr_fields[i].name), record, error);
  }
  json_decref(round);
  status = status == SR_OK ? sr_record_check(record, error) : status;
  if (status != SR_OK) {
    sr_error_place(error, NULL, line, 0);
  }
  return status;
}
