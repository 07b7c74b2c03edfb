// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/take_note.h>

#include "../utf8.h"

#include <jansson.h>

#include <math.h>
#include <string.h>

#define FORMAT "steadyreed-take"
/// More silent bars than this are an error.
#define MOST_BARS 1000

/// A number, or null for NAN. A new reference, or NULL without memory.
static json_t*
number_or_null(const double value)
{
  return isfinite(value) ? json_real(value) : json_null();
}

void
sr_take_note_title(SrTakeNote* const note, const char* const title)
{
  sr_utf8_copy(note->phrase, sizeof(note->phrase), title);
}

/// Lost stretches as pairs of frames. A new reference, or NULL without memory.
static json_t*
losses_to_json(const SrLosses* const losses)
{
  json_t* const list = json_array();
  for (size_t i = 0; i < losses->count; ++i) {
    json_array_append_new(list, json_pack("[I, I]", (json_int_t)losses->lost[i].start,
                                          (json_int_t)losses->lost[i].end));
  }
  return list;
}

/// Invalid entries are ignored.
static SrLosses
losses_from_json(const json_t* const list)
{
  SrLosses losses = {.count = 0};
  size_t i;
  const json_t* pair;
  json_array_foreach(list, i, pair)
  {
    const json_int_t start = json_integer_value(json_array_get(pair, 0));
    const json_int_t end = json_integer_value(json_array_get(pair, 1));
    const uint64_t before = losses.count ? losses.lost[losses.count - 1].end : 0;
    if (start >= 0 && end > start && (uint64_t)start >= before) {
      sr_losses_add(&losses, (uint64_t)start, (uint64_t)end);
    }
  }
  return losses;
}

/// As sr_take_note_write(), with or without the silences.
static bool
write_note(const SrTakeNote* const note, const bool silences, char text[SR_TAKE_NOTE_SIZE])
{
  char title[sizeof(note->phrase)];
  sr_utf8_copy(title, sizeof(title), note->phrase);
  json_t* const name = json_string(title);
  json_t* const json = json_pack(
      "{s:s, s:i, s:o, s:o, s:o, s:o, s:o, s:o}", "format", FORMAT, "version", 1, "phrase",
      name ? name : json_null(), "target_bpm", number_or_null(note->target_bpm), "click_s",
      number_or_null(note->click_s), "click_period_s", number_or_null(note->click_period_s),
      "click_pulses", number_or_null(note->click_pulses), "lost", losses_to_json(&note->losses));
  if (!json) {
    return false;
  }
  if (silences) {
    json_object_set_new(json, "silent", losses_to_json(&note->silences));
    json_object_set_new(json, "silent_bars", json_integer((json_int_t)note->silent_bars));
  }
  const size_t length =
      json_dumpb(json, text, SR_TAKE_NOTE_SIZE - 1, JSON_COMPACT | JSON_REAL_PRECISION(12));
  json_decref(json);
  if (length == 0 || length >= SR_TAKE_NOTE_SIZE) {
    return false;
  }
  text[length] = '\0';
  return true;
}

bool
sr_take_note_write(const SrTakeNote* const note, char text[SR_TAKE_NOTE_SIZE])
{
  // There is room for some dozens; without them all else is judged the same
  return (note->silences.count > 0 && write_note(note, true, text)) ||
         write_note(note, false, text);
}

static double
number_of(const json_t* const json, const char* const key)
{
  const json_t* const value = json_object_get(json, key);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

bool
sr_take_note_read(const char* const text, SrTakeNote* const note)
{
  *note = (SrTakeNote){.target_bpm = (double)NAN,
                       .click_s = (double)NAN,
                       .click_period_s = (double)NAN,
                       .click_pulses = (double)NAN};
  json_t* const json = json_loads(text, 0, NULL);
  const char* const format = json_string_value(json_object_get(json, "format"));
  const bool ours = format && !strcmp(format, FORMAT);
  if (ours) {
    const char* const phrase = json_string_value(json_object_get(json, "phrase"));
    sr_utf8_copy(note->phrase, sizeof(note->phrase), phrase);
    note->target_bpm = number_of(json, "target_bpm");
    note->click_s = number_of(json, "click_s");
    note->click_period_s = number_of(json, "click_period_s");
    note->click_pulses = number_of(json, "click_pulses");
    note->losses = losses_from_json(json_object_get(json, "lost"));
    note->silences = losses_from_json(json_object_get(json, "silent"));
    const json_int_t bars = json_integer_value(json_object_get(json, "silent_bars"));
    note->silent_bars = bars > 0 && bars < MOST_BARS ? (unsigned)bars : 0;
  }
  json_decref(json);
  return ours;
}
