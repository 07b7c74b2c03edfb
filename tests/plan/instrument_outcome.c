// SPDX-License-Identifier: GPL-3.0-or-later

#include "instrument_outcome.h"

#include "../support/clean_text.h"

#include <string.h>

static bool
is_reed(const int midi)
{
  return midi == -1 || (midi >= SR_LOWEST_REED && midi <= SR_HIGHEST_REED);
}

static bool
is_finger(const SrFinger finger)
{
  return (unsigned)finger <= SR_FINGER_LITTLE;
}

static const char*
look_at_button(const SrInstrument* const instrument, const size_t index)
{
  const SrButton* const button = sr_instrument_button(instrument, index);
  if ((unsigned)button->hand > SR_HAND_RIGHT || !is_finger(button->finger)) {
    return "a button has no hand or finger";
  }
  if (button->row < 0 || button->row > SR_MOST_ROWS || button->column < 1 ||
      button->column > SR_MOST_COLUMNS) {
    return "a button is over the limits of its row";
  }
  if (!is_reed(button->press_midi) || !is_reed(button->draw_midi) ||
      (button->press_midi < 0 && button->draw_midi < 0)) {
    return "a button has no note, or one out of range";
  }
  if (!button->name[0] || !memchr(button->name, '\0', sizeof(button->name)) ||
      !sr_test_is_clean_text(button->name)) {
    return "a button has no name";
  }
  if (sr_instrument_find(instrument, button->name) != index) {
    return "a button is not found by its name";
  }
  for (size_t i = 0; i < index; ++i) {
    const SrButton* const other = sr_instrument_button(instrument, i);
    if (other->hand == button->hand && other->row == button->row &&
        other->column == button->column) {
      return "two buttons are in one place";
    }
  }
  return NULL;
}

static const char*
look_at_instrument(const SrInstrument* const instrument)
{
  const size_t count = sr_instrument_button_count(instrument);
  if (count < 1 || count > SR_MOST_BUTTONS) {
    return "a layout is over its limits";
  }
  if (!sr_instrument_title(instrument)[0] ||
      !sr_test_is_clean_text(sr_instrument_title(instrument))) {
    return "a title is empty or not clean UTF-8";
  }
  if (strcmp(sr_instrument_name(instrument), "name") != 0) {
    return "a layout is not called by its file";
  }
  if ((unsigned)sr_instrument_air_hand(instrument) > SR_HAND_RIGHT ||
      !is_finger(sr_instrument_air_finger(instrument))) {
    return "the air button has no hand or finger";
  }
  for (size_t i = 0; i < count; ++i) {
    const char* const wrong = look_at_button(instrument, i);
    if (wrong) {
      return wrong;
    }
  }
  return NULL;
}

static const char*
look_at_error(const SrStatus status, const SrError* const error)
{
  if (error->status != status || !error->message[0] || !sr_test_is_clean_text(error->message)) {
    return "an error has no message, or one that is not clean UTF-8";
  }
  if (strcmp(error->file, "name.json") != 0) {
    return "an error does not name its file";
  }
  if (error->column && !error->line) {
    return "an error has a column without a line";
  }
  const bool possible =
      status == SR_BAD_SYNTAX || status == SR_UNSUPPORTED || status == SR_TOO_LARGE;
  return possible ? NULL : "an error has a status that no text can have";
}

const char*
sr_test_instrument_outcome(const char* const text, const size_t size)
{
  SrInstrument* instrument = NULL;
  SrError error = {0};
  const SrStatus status = sr_instrument_read_text(text, size, "name.json", &instrument, &error);
  if ((status == SR_OK) != (instrument != NULL)) {
    sr_instrument_del(instrument);
    return "a layout and its status do not agree";
  }
  const char* const wrong =
      instrument ? look_at_instrument(instrument) : look_at_error(status, &error);
  sr_instrument_del(instrument);
  return wrong;
}
