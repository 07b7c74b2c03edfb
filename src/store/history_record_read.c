// SPDX-License-Identifier: GPL-3.0-or-later

// A round with everything that is kept of it, out of the database.

#include "history_record.h"

#include <math.h>

sqlite3_stmt*
sr_record_reader(SrHistory* const history, SrError* const error)
{
  // In the order of sr_fields
  return sr_history_query(
      history,
      "SELECT uid, utc_ms, utc_offset_s,"
      " identity, title, file, tune, first_bar, last_bar, chosen_bars, part, transposed,"
      " phrase_notes,"
      " asked_bpm, played_bpm, click, on_bars, off_bars, layout, style,"
      " score_cuts, score_evenness, score_air, clean,"
      " notes, notes_right, cuts, cuts_clean, air, air_heard, spread_ms, offset_ms, alone,"
      " alone_ms, seconds,"
      " take.take, take_bytes, take_changed_ms, take_marked,"
      " (SELECT json_group_array(json_object('bar', bar, 'notes', b.notes, 'wrong', wrong,"
      "   'joined', joined, 'cuts', b.cuts, 'cuts_faulty', cuts_faulty, 'inserted', inserted,"
      "   'slips', slips, 'air_heard', b.air_heard))"
      "  FROM (SELECT * FROM bar WHERE bar.round = round.id ORDER BY bar) AS b),"
      " json"
      " FROM round JOIN phrase ON phrase.id = round.phrase"
      " LEFT JOIN take ON take.id = round.take"
      " LEFT JOIN assessment ON assessment.round = round.id"
      " WHERE round.id = ?",
      error);
}

int
sr_record_read(sqlite3_stmt* const reader, const int64_t row, SrHistoryRecord* const record)
{
  *record = sr_record_none();
  int code = sqlite3_bind_int64(reader, 1, row);
  if (code == SQLITE_OK) {
    code = sqlite3_step(reader);
  }
  for (size_t i = 0; code == SQLITE_ROW && i < sr_field_count; ++i) {
    const SrField* const field = &sr_fields[i];
    const int column = (int)i;
    const bool absent = sqlite3_column_type(reader, column) == SQLITE_NULL;
    switch (field->kind) {
    case SR_FIELD_COUNT:
      *sr_field_integer(field, record) = sqlite3_column_int64(reader, column);
      break;
    case SR_FIELD_REAL:
    case SR_FIELD_WHOLE:
      *sr_field_real(field, record) = sr_history_real(reader, column);
      break;
    case SR_FIELD_TEXT:
    case SR_FIELD_JSON: {
      char** const text = sr_field_text(field, record);
      *text = sr_history_text(reader, column);
      code = !absent && !*text ? SQLITE_NOMEM : code;
      break;
    }
    }
  }
  const int end = sqlite3_reset(reader);
  if (code != SQLITE_ROW) {
    sr_record_clear(record);
    code = code == SQLITE_DONE ? SQLITE_CORRUPT : code == SQLITE_NOMEM ? code : end;
  }
  return code;
}
