// SPDX-License-Identifier: GPL-3.0-or-later

// Reading layouts from JSON. The format is described in instruments/README.md.

#include "instrument_parts.h"
#include "json_trouble.h"
#include "pitch_name.h"

#include "../utf8.h"

#include <steadyreed/input.h>

#include <jansson.h>

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define FORMAT "steadyreed-instrument"
#define VERSION 1

/**
   Size of a place in words, such as "right extra button 12", and of a word quoted from the file,
   bytes.
*/
#define PLACE_SIZE 64
#define WORD_SIZE 48

static const char* const hand_names[] = {"left", "right"};
static const char* const finger_names[] = {"thumb", "index", "middle", "ring", "little"};

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

typedef struct {
  SrInstrument* instrument;
  SrError* error;
} Reader;

/// The fingers of a side by column, and the number of columns given.
typedef struct {
  SrFinger by_column[SR_MOST_COLUMNS];
  size_t count;
} Fingers;

/// Refuse the layout: "place: message", or only the message if the place is "".
static SrStatus refuse(const Reader* reader, SrStatus status, const char* place, const char* format,
                       ...) SR_PRINTF(4, 5);

static SrStatus
refuse(const Reader* const reader, const SrStatus status, const char* const place,
       const char* const format, ...)
{
  char sentence[SR_ERROR_MESSAGE_SIZE];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(sentence, sizeof(sentence), format, arguments);
  va_end(arguments);
  return sr_error_set(reader->error, status, "%s%s%s", place, place[0] ? ": " : "", sentence);
}

/// Set the short name: the file name without folder and ".json".
static void
set_name(SrInstrument* const instrument, const char* const path)
{
  const char* const slash = strrchr(path, '/');
  const char* const start = slash ? slash + 1 : path;
  const size_t length = strlen(start);
  const bool ending = length > 5 && !strcasecmp(start + length - 5, ".json");
  char* const stem = strndup(start, ending ? length - 5 : length);
  // A file name may be any bytes; only UTF-8 is used
  json_t* const text = stem ? json_string(stem) : NULL;
  sr_utf8_copy_clean(instrument->name, sizeof(instrument->name),
                     text ? json_string_value(text) : "layout");
  json_decref(text);
  free(stem);
}

/// Refuse keys that are not in `keys`, except "remark", which is allowed anywhere.
static SrStatus
check_keys(const Reader* const reader, const char* const place, json_t* const object,
           const char* const* const keys, const size_t count)
{
  const char* key;
  json_t* value;
  json_object_foreach(object, key, value)
  {
    if (!strcmp(key, "remark")) {
      if (!json_is_string(value)) {
        return refuse(reader, SR_BAD_SYNTAX, place, "\"remark\" takes a text in quotes.");
      }
      continue;
    }
    size_t i = 0;
    while (i < count && strcmp(key, keys[i]) != 0) {
      ++i;
    }
    if (i == count) {
      char word[WORD_SIZE];
      char known[256] = "";
      sr_utf8_copy_clean(word, sizeof(word), key);
      size_t fill = 0;
      for (size_t k = 0; k < count && fill < sizeof(known); ++k) {
        fill += (size_t)snprintf(known + fill, sizeof(known) - fill, "%s\"%s\"", k ? ", " : "",
                                 keys[k]);
      }
      return refuse(reader, SR_BAD_SYNTAX, place,
                    "there is no key \"%s\" here; there are %s and \"remark\".", word, known);
    }
  }
  return SR_OK;
}

/// Index of a text in `words`; `count` if it is not there.
static size_t
which(const json_t* const value, const char* const* const words, const size_t count)
{
  const char* const text = json_string_value(value);
  size_t i = 0;
  while (i < count && (!text || strcmp(text, words[i]) != 0)) {
    ++i;
  }
  return i;
}

static SrStatus
read_finger(const Reader* const reader, const char* const place, const json_t* const value,
            SrFinger* const finger)
{
  const size_t found = which(value, finger_names, COUNT(finger_names));
  if (found == COUNT(finger_names)) {
    return refuse(reader, SR_BAD_SYNTAX, place,
                  "a finger is \"thumb\", \"index\", \"middle\", \"ring\" or \"little\".");
  }
  *finger = (SrFinger)found;
  return SR_OK;
}

/// Read the note of a button in one direction; -1 if it is missing or null.
static SrStatus
read_pitch(const Reader* const reader, const char* const place, const json_t* const button,
           const char* const direction, int* const midi)
{
  *midi = -1;
  const json_t* const value = json_object_get(button, direction);
  if (!value || json_is_null(value)) {
    return SR_OK;
  }
  if (!json_is_string(value)) {
    return refuse(reader, SR_BAD_SYNTAX, place,
                  "%s takes a note in quotes, such as \"C4\", or null for none.", direction);
  }
  char word[WORD_SIZE];
  sr_utf8_copy_clean(word, sizeof(word), json_string_value(value));
  if (!sr_pitch_name_midi(json_string_value(value), midi)) {
    return refuse(reader, SR_BAD_SYNTAX, place,
                  "%s \"%s\" is not a note; write C4, F#4 or Bb4, where C4 is middle C.", direction,
                  word);
  }
  if (*midi < SR_LOWEST_REED || *midi > SR_HIGHEST_REED) {
    return refuse(reader, SR_BAD_SYNTAX, place,
                  "%s \"%s\" is out of range, C1 to C9. C4 is middle C.", direction, word);
  }
  return SR_OK;
}

/**
   Read the notes, the finger and the name of a button, and add it.

   @param extra  Outside the rows: it may have a "name", and must have a "finger".
   @param usual  Finger of its column; NULL if there is none.
   @param button With its position and default name.
*/
static SrStatus
read_button(const Reader* const reader, const char* const place, json_t* const value,
            const bool extra, const SrFinger* const usual, SrButton button)
{
  static const char* const keys[] = {"press", "draw", "finger", "name"};
  if (!json_is_object(value)) {
    return refuse(reader, SR_BAD_SYNTAX, place,
                  extra ? "write it as {\"press\": \"C4\", \"draw\": \"D4\", \"finger\": "
                          "\"thumb\"}."
                        : "write it as {\"press\": \"C4\", \"draw\": \"D4\"}, or null where there "
                          "is no button.");
  }
  SrStatus status = check_keys(reader, place, value, keys, extra ? 4 : 3);
  if (status == SR_OK) {
    status = read_pitch(reader, place, value, "press", &button.press_midi);
  }
  if (status == SR_OK) {
    status = read_pitch(reader, place, value, "draw", &button.draw_midi);
  }
  if (status != SR_OK) {
    return status;
  }
  if (button.press_midi < 0 && button.draw_midi < 0) {
    return refuse(reader, SR_BAD_SYNTAX, place, "it has no note; give it \"press\" or \"draw\".");
  }
  const json_t* const own = json_object_get(value, "finger");
  if (own) {
    status = read_finger(reader, place, own, &button.finger);
  } else if (usual) {
    button.finger = *usual;
  } else {
    status = refuse(reader, SR_BAD_SYNTAX, place,
                    extra ? "it has no finger; give it \"finger\"."
                          : "this column has no finger; make the list \"fingers\" of this side "
                            "longer, or give the button its own \"finger\".");
  }
  if (status != SR_OK) {
    return status;
  }
  SrInstrument* const instrument = reader->instrument;
  if (instrument->button_count == SR_MOST_BUTTONS) {
    return refuse(reader, SR_TOO_LARGE, place, "a layout has %d buttons at most.", SR_MOST_BUTTONS);
  }
  instrument->buttons[instrument->button_count++] = button;
  return SR_OK;
}

static SrStatus
read_fingers(const Reader* const reader, const char* const side, const json_t* const list,
             Fingers* const fingers)
{
  char place[PLACE_SIZE];
  snprintf(place, sizeof(place), "%s fingers", side);
  if (!json_is_array(list)) {
    return refuse(reader, SR_BAD_SYNTAX, place,
                  "write them as a list, one for each column: [\"ring\", \"middle\", \"index\"].");
  }
  fingers->count = json_array_size(list);
  if (fingers->count > SR_MOST_COLUMNS) {
    return refuse(reader, SR_TOO_LARGE, place, "a row has %d columns at most.", SR_MOST_COLUMNS);
  }
  for (size_t i = 0; i < fingers->count; ++i) {
    snprintf(place, sizeof(place), "%s fingers, column %zu", side, i + 1);
    const SrStatus status =
        read_finger(reader, place, json_array_get(list, i), &fingers->by_column[i]);
    if (status != SR_OK) {
      return status;
    }
  }
  return SR_OK;
}

static SrStatus
read_row(const Reader* const reader, const SrHand hand, const int row, const json_t* const list,
         const Fingers* const fingers)
{
  char place[PLACE_SIZE];
  snprintf(place, sizeof(place), "%s row %d", hand_names[hand], row);
  if (!json_is_array(list)) {
    return refuse(reader, SR_BAD_SYNTAX, place, "write it as a list of buttons in [ ].");
  }
  if (json_array_size(list) > SR_MOST_COLUMNS) {
    return refuse(reader, SR_TOO_LARGE, place, "a row has %d columns at most.", SR_MOST_COLUMNS);
  }
  const size_t before = reader->instrument->button_count;
  for (size_t i = 0; i < json_array_size(list); ++i) {
    json_t* const value = json_array_get(list, i);
    if (json_is_null(value)) {
      continue;
    }
    SrButton button = {.hand = hand, .row = row, .column = (int)i + 1};
    snprintf(button.name, sizeof(button.name), "%c%d-%d", hand == SR_HAND_LEFT ? 'L' : 'R', row,
             button.column);
    snprintf(place, sizeof(place), "%s row %d, button %zu", hand_names[hand], row, i + 1);
    const SrStatus status = read_button(reader, place, value, false,
                                        i < fingers->count ? &fingers->by_column[i] : NULL, button);
    if (status != SR_OK) {
      return status;
    }
  }
  if (reader->instrument->button_count == before) {
    snprintf(place, sizeof(place), "%s row %d", hand_names[hand], row);
    return refuse(reader, SR_BAD_SYNTAX, place, "it has no buttons; leave the row out.");
  }
  return SR_OK;
}

/// A letter, then letters, digits, '-' and '_', so that it can be typed on a command line.
static bool
is_button_name(const char* const name)
{
  static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
  static const char others[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
  return name[0] && strchr(letters, name[0]) && strspn(name, others) == strlen(name) &&
         strlen(name) < sizeof(((SrButton*)NULL)->name);
}

static SrStatus
read_extra(const Reader* const reader, const SrHand hand, const json_t* const list)
{
  char place[PLACE_SIZE];
  snprintf(place, sizeof(place), "%s extra", hand_names[hand]);
  if (!json_is_array(list)) {
    return refuse(reader, SR_BAD_SYNTAX, place, "write it as a list of buttons in [ ].");
  }
  if (json_array_size(list) > SR_MOST_COLUMNS) {
    return refuse(reader, SR_TOO_LARGE, place, "a side has %d extra buttons at most.",
                  SR_MOST_COLUMNS);
  }
  for (size_t i = 0; i < json_array_size(list); ++i) {
    json_t* const value = json_array_get(list, i);
    const json_t* const name = json_object_get(value, "name");
    SrButton button = {.hand = hand, .row = 0, .column = (int)i + 1};
    snprintf(button.name, sizeof(button.name), "%c0-%d", hand == SR_HAND_LEFT ? 'L' : 'R',
             button.column);
    snprintf(place, sizeof(place), "%s extra button %zu", hand_names[hand], i + 1);
    if (name) {
      const char* const text = json_string_value(name);
      if (!text || !is_button_name(text)) {
        return refuse(reader, SR_BAD_SYNTAX, place,
                      "a name begins with a letter and has up to 15 letters, digits, - and _.");
      }
      sr_utf8_copy_clean(button.name, sizeof(button.name), text);
    }
    const SrStatus status = read_button(reader, place, value, true, NULL, button);
    if (status != SR_OK) {
      return status;
    }
  }
  return SR_OK;
}

static SrStatus
read_side(const Reader* const reader, const SrHand hand, json_t* const side)
{
  static const char* const keys[] = {"fingers", "row 1", "row 2", "row 3",
                                     "row 4",   "row 5", "row 6", "extra"};
  _Static_assert(COUNT(keys) == SR_MOST_ROWS + 2, "a key for each row");
  const char* const place = hand_names[hand];
  if (!json_is_object(side)) {
    return refuse(reader, SR_BAD_SYNTAX, place,
                  "write the side as {\"fingers\": […], \"row 1\": […], …}.");
  }
  SrStatus status = check_keys(reader, place, side, keys, COUNT(keys));
  Fingers fingers = {.count = 0};
  const json_t* const list = json_object_get(side, "fingers");
  if (status == SR_OK && list) {
    status = read_fingers(reader, place, list, &fingers);
  }
  const size_t before = reader->instrument->button_count;
  int missing = 0;
  for (int row = 1; status == SR_OK && row <= SR_MOST_ROWS; ++row) {
    const json_t* const buttons = json_object_get(side, keys[row]);
    if (!buttons) {
      missing = missing ? missing : row;
    } else if (missing) {
      status = refuse(reader, SR_BAD_SYNTAX, place,
                      "there is a row %d but no row %d; rows are counted from the palm, from 1.",
                      row, missing);
    } else {
      status = read_row(reader, hand, row, buttons, &fingers);
    }
  }
  const json_t* const extra = json_object_get(side, "extra");
  if (status == SR_OK && extra) {
    status = read_extra(reader, hand, extra);
  }
  if (status == SR_OK && reader->instrument->button_count == before) {
    status = refuse(reader, SR_BAD_SYNTAX, place, "there are no buttons; leave the side out.");
  }
  return status;
}

static SrStatus
read_air(const Reader* const reader, json_t* const air)
{
  static const char* const keys[] = {"hand", "finger"};
  if (!json_is_object(air)) {
    return refuse(reader, SR_BAD_SYNTAX, "air",
                  "say where the air button is: \"air\": {\"hand\": \"right\", \"finger\": "
                  "\"thumb\"}.");
  }
  const SrStatus status = check_keys(reader, "air", air, keys, COUNT(keys));
  if (status != SR_OK) {
    return status;
  }
  const size_t hand = which(json_object_get(air, "hand"), hand_names, COUNT(hand_names));
  if (hand == COUNT(hand_names)) {
    return refuse(reader, SR_BAD_SYNTAX, "air", "its hand is \"left\" or \"right\".");
  }
  reader->instrument->air_hand = (SrHand)hand;
  return read_finger(reader, "air", json_object_get(air, "finger"),
                     &reader->instrument->air_finger);
}

/// Check that names are unique, ignoring case.
static SrStatus
check_names(const Reader* const reader)
{
  const SrInstrument* const instrument = reader->instrument;
  for (size_t i = 0; i < instrument->button_count; ++i) {
    const char* const name = instrument->buttons[i].name;
    // sr_instrument_find() returns the first match
    if (sr_instrument_find(instrument, name) != i) {
      return refuse(reader, SR_BAD_SYNTAX, "",
                    "Two buttons are called \"%s\". Give the extra one another name.", name);
    }
  }
  return SR_OK;
}

static SrStatus
read_title(const Reader* const reader, const json_t* const title)
{
  const char* const text = json_string_value(title);
  if (!text || !text[0] ||
      !sr_utf8_copy_clean(reader->instrument->title, SR_INSTRUMENT_TITLE_SIZE, text)) {
    return refuse(reader, SR_BAD_SYNTAX, "title",
                  "give the layout a title of one line, up to %d bytes, such as \"30 buttons, C "
                  "and G\".",
                  SR_INSTRUMENT_TITLE_SIZE - 1);
  }
  return SR_OK;
}

static SrStatus
read_layout(const Reader* const reader, json_t* const root)
{
  static const char* const keys[] = {"format", "version", "title", "left", "right", "air"};
  const char* const format = json_string_value(json_object_get(root, "format"));
  if (!format || strcmp(format, FORMAT) != 0) {
    return refuse(reader, SR_BAD_SYNTAX, "",
                  "This is not an instrument layout: it does not start with {\"format\": \"" FORMAT
                  "\", \"version\": 1, …}.");
  }
  const json_t* const version = json_object_get(root, "version");
  if (!json_is_integer(version) || json_integer_value(version) < 1) {
    return refuse(reader, SR_BAD_SYNTAX, "", "The layout needs \"version\": 1.");
  }
  if (json_integer_value(version) > VERSION) {
    return refuse(reader, SR_UNSUPPORTED, "",
                  "The layout has version %lld, newer than this program, which reads version %d.",
                  (long long)json_integer_value(version), VERSION);
  }
  SrStatus status = check_keys(reader, "", root, keys, COUNT(keys));
  if (status == SR_OK) {
    status = read_title(reader, json_object_get(root, "title"));
  }
  for (size_t hand = 0; status == SR_OK && hand < COUNT(hand_names); ++hand) {
    json_t* const side = json_object_get(root, hand_names[hand]);
    if (side) {
      status = read_side(reader, (SrHand)hand, side);
    }
  }
  if (status == SR_OK && reader->instrument->button_count == 0) {
    status = refuse(reader, SR_BAD_SYNTAX, "",
                    "The layout has no buttons; it needs \"left\", \"right\" or both.");
  }
  if (status == SR_OK) {
    status = read_air(reader, json_object_get(root, "air"));
  }
  return status == SR_OK ? check_names(reader) : status;
}

SrStatus
sr_instrument_read_text(const char* const text, const size_t size, const char* const name,
                        SrInstrument** const instrument, SrError* const error)
{
  *instrument = NULL;
  SrStatus status = SR_OK;
  if (size > SR_INSTRUMENT_MOST_BYTES) {
    status = sr_error_set(error, SR_TOO_LARGE, "A layout may be at most %u bytes.",
                          SR_INSTRUMENT_MOST_BYTES);
    sr_error_place(error, name, 0, 0);
    return status;
  }
  // Skip the byte order mark some editors write, which is not JSON (RFC 8259, section 8.1)
  const size_t mark = size >= 3 && !memcmp(text, "\xEF\xBB\xBF", 3) ? 3 : 0;
  json_error_t trouble;
  json_t* const root = json_loadb(text + mark, size - mark, JSON_REJECT_DUPLICATES, &trouble);
  if (!root) {
    return sr_json_refuse(&trouble, name, error);
  }
  const Reader reader = {(SrInstrument*)calloc(1, sizeof(SrInstrument)), error};
  if (!reader.instrument) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  } else {
    set_name(reader.instrument, name);
    status = read_layout(&reader, root);
  }
  json_decref(root);
  if (status != SR_OK) {
    sr_error_place(error, name, 0, 0);
    sr_instrument_del(reader.instrument);
    return status;
  }
  *instrument = reader.instrument;
  return SR_OK;
}

SrStatus
sr_instrument_read_file(const char* const path, SrInstrument** const instrument,
                        SrError* const error)
{
  *instrument = NULL;
  static const SrInputKind kind = {"layout", SR_INSTRUMENT_MOST_BYTES, false};
  char* text = NULL;
  size_t size = 0;
  SrStatus status = sr_input_read(path, &kind, &text, &size, error);
  if (status == SR_OK) {
    status = sr_instrument_read_text(text, size, path, instrument, error);
  }
  free(text);
  return status;
}
