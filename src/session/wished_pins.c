// SPDX-License-Identifier: GPL-3.0-or-later

#include "wished_pins.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// As a button: the cut sounds as written.
static const char as_written[] = "written";

/// One pin as read.
typedef struct {
  const char* word; ///< "pin" or "cut"
  const char* text; ///< As the player wrote it
  size_t note;      ///< Its first playing
  size_t button;    ///< Of the instrument; or SR_PIN_AS_WRITTEN
} Pin;

/// What the pins are read for.
typedef struct {
  const SrPhrase* phrase;
  const SrInstrument* instrument;
  Pin* pins; ///< Those of notes, then those of cuts
  size_t pin_count;
  size_t cut_count;
} Pins;

/// Whether two notes are one and the same in the music.
static bool
is_same_written(const SrPhraseNote* const a, const SrPhraseNote* const b)
{
  return a->line == b->line && a->column == b->column;
}

/// Whether a note was played before, in an earlier playing of its bar.
static bool
is_played_again(const SrPhrase* const phrase, const size_t note)
{
  for (size_t i = 0; i < note; ++i) {
    if (is_same_written(sr_phrase_note(phrase, i), sr_phrase_note(phrase, note))) {
      return true;
    }
  }
  return false;
}

/// Note `number` from 1 of a bar as written; the note count if there is none.
static size_t
note_in_bar(const SrPhrase* const phrase, const int bar, const int number)
{
  int seen = 0;
  const size_t count = sr_phrase_note_count(phrase);
  for (size_t i = 0; i < count; ++i) {
    if (sr_phrase_note(phrase, i)->bar == bar && !is_played_again(phrase, i) && ++seen == number) {
      return i;
    }
  }
  return count;
}

int
sr_plan_wish_note_number(const SrPhrase* const phrase, const size_t note)
{
  const SrPhraseNote* const wanted = sr_phrase_note(phrase, note);
  int number = 0;
  for (size_t i = 0; i <= note; ++i) {
    const SrPhraseNote* const other = sr_phrase_note(phrase, i);
    if (other->bar == wanted->bar && !is_played_again(phrase, i)) {
      ++number;
      if (is_same_written(other, wanted)) {
        break;
      }
    }
  }
  return number;
}

/// Read a whole number up to 100000 that ends at `end`.
static bool
read_number(const char* const text, const char* const end, int* const value)
{
  *value = 0;
  for (const char* c = text; c < end; ++c) {
    if (!isdigit((unsigned char)*c) || *value > 10000) {
      return false;
    }
    *value = 10 * *value + (*c - '0');
  }
  return end > text;
}

/// Read "BAR:NOTE=BUTTON".
static SrStatus
read_pin(const Pins* const all, const char* const word, const char* const text, Pin* const pin,
         SrError* const error)
{
  const bool cut = !strcmp(word, "cut");
  const char* const colon = strchr(text, ':');
  const char* const equals = colon ? strchr(colon, '=') : NULL;
  int bar;
  int number;
  if (!equals || !read_number(text, colon, &bar) || !read_number(colon + 1, equals, &number) ||
      !equals[1]) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "a %s takes a bar, a note of it and a button%s, such as 2:3=L1-4%s, not "
                        "\"%.60s\".",
                        word, cut ? " or \"written\"" : "", cut ? " or 2:3=written" : "", text);
  }
  const char* const button = equals + 1;
  *pin = (Pin){word, text, note_in_bar(all->phrase, bar, number), SR_PIN_AS_WRITTEN};
  if (pin->note == sr_phrase_note_count(all->phrase)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "%s %.60s: bar %d has no note %d here.", word, text,
                        bar, number);
  }
  if (cut && sr_phrase_note(all->phrase, pin->note)->cut_midi < 0) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "cut %.60s: note %d of bar %d has no cut or strike before it. Write one as "
                        "a grace, such as {c}A.",
                        text, number, bar);
  }
  if (cut && !strcmp(button, as_written)) {
    return SR_OK;
  }
  pin->button = sr_instrument_find(all->instrument, button);
  if (pin->button == sr_instrument_button_count(all->instrument)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "%s %.60s: %s has no button %.16s.", word, text,
                        sr_instrument_title(all->instrument), button);
  }
  return SR_OK;
}

static SrStatus
read_all(Pins* const all, const SrPlanWish* const wish, SrError* const error)
{
  all->pins = (Pin*)calloc(wish->pin_count + wish->cut_count + 1, sizeof(Pin));
  if (!all->pins) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for that many pins.");
  }
  all->pin_count = wish->pin_count;
  all->cut_count = wish->cut_count;
  SrStatus status = SR_OK;
  for (size_t i = 0; status == SR_OK && i < wish->pin_count; ++i) {
    status = read_pin(all, "pin", wish->pins[i], &all->pins[i], error);
  }
  for (size_t i = 0; status == SR_OK && i < wish->cut_count; ++i) {
    status = read_pin(all, "cut", wish->cuts[i], &all->pins[wish->pin_count + i], error);
  }
  return status;
}

// Contradictions --------------------------------------------------------------------------------

/// Refuse two pins that do not go together.
static SrStatus
refuse_two(const Pin* const a, const Pin* const b, const char* const why, SrError* const error)
{
  return sr_error_set(error, SR_BAD_ARGUMENT, "%s %.60s and %s %.60s %s. Keep one of them.",
                      a->word, a->text, b->word, b->text, why);
}

/// Refuse two pins of one note to two buttons, and one button for a note and its cut.
static SrStatus
check_pairs(const Pins* const all, SrError* const error)
{
  const size_t count = all->pin_count + all->cut_count;
  for (size_t i = 0; i < count; ++i) {
    for (size_t j = i + 1; j < count; ++j) {
      const Pin* const a = &all->pins[i];
      const Pin* const b = &all->pins[j];
      const bool alike = (i < all->pin_count) == (j < all->pin_count);
      if (a->note != b->note) {
        continue;
      }
      if (alike && a->button != b->button) {
        return refuse_two(a, b,
                          i < all->pin_count ? "put one note on two buttons"
                                             : "ask for two cuts before one note",
                          error);
      }
      if (!alike && a->button == b->button) {
        return refuse_two(a, b, "put a note and its cut on one button", error);
      }
    }
  }
  return SR_OK;
}

/// Whether a button sounds a note in a direction.
static bool
sounds(const Pins* const all, const Pin* const pin, const SrDirection direction)
{
  return sr_instrument_midi(all->instrument, pin->button, direction) ==
         sr_phrase_note(all->phrase, pin->note)->midi;
}

static SrDirection
other_direction(const SrDirection direction)
{
  return direction == SR_DIRECTION_PRESS ? SR_DIRECTION_DRAW : SR_DIRECTION_PRESS;
}

/// Refuse a pin of a note whose button sounds it only against "_press" or "_draw".
static SrStatus
check_direction(const Pins* const all, const Pin* const pin, SrError* const error)
{
  const SrPhraseNote* const note = sr_phrase_note(all->phrase, pin->note);
  if (note->direction == SR_DIRECTION_FREE || sounds(all, pin, note->direction) ||
      !sounds(all, pin, other_direction(note->direction))) {
    return SR_OK; // That a button does not sound it at all, the plan says
  }
  const bool press = note->direction == SR_DIRECTION_PRESS;
  return sr_error_set(error, SR_BAD_ARGUMENT,
                      "pin %.60s is against \"%s\" in the phrase, line %u: that button sounds this "
                      "note on the %s only. Take one of them out.",
                      pin->text, press ? "_press" : "_draw", note->line, press ? "draw" : "press");
}

/// The pin of the note that a cut belongs to; NULL without one.
static const Pin*
pin_of_note(const Pins* const all, const Pin* const cut)
{
  for (size_t i = 0; i < all->pin_count; ++i) {
    if (all->pins[i].note == cut->note) {
      return &all->pins[i];
    }
  }
  return NULL;
}

/// Whether a button can cut (or strike) its note in a direction.
static bool
cuts(const Pins* const all, const Pin* const cut, const SrDirection direction)
{
  const SrPhraseNote* const note = sr_phrase_note(all->phrase, cut->note);
  const int midi = sr_instrument_midi(all->instrument, cut->button, direction);
  const int above = note->ornament == SR_ORNAMENT_STRIKE ? note->midi - midi : midi - note->midi;
  return midi >= 0 && above > 0 && above <= SR_GRACE_MOST_STEP;
}

/// Refuse a cut's button that cannot cut its note in any direction in which the note can be played.
static SrStatus
check_cut(const Pins* const all, const Pin* const cut, SrError* const error)
{
  if (cut->button == SR_PIN_AS_WRITTEN) {
    return SR_OK;
  }
  const SrPhraseNote* const note = sr_phrase_note(all->phrase, cut->note);
  const Pin* const pin = pin_of_note(all, cut);
  for (int d = SR_DIRECTION_PRESS; d <= SR_DIRECTION_DRAW; ++d) {
    const SrDirection direction = (SrDirection)d;
    const bool asked = note->direction == SR_DIRECTION_FREE || note->direction == direction;
    const bool played = pin ? sounds(all, pin, direction)
                            : sr_instrument_has(all->instrument, note->midi, direction);
    if (asked && played && cuts(all, cut, direction)) {
      return SR_OK;
    }
  }
  return sr_error_set(error, SR_BAD_ARGUMENT,
                      "cut %.60s%s%.60s: %s does not sound 1 to %d semitones %s that note in a "
                      "direction in which it is played%s. Choose another button.",
                      cut->text, pin ? " with pin " : "", pin ? pin->text : "",
                      sr_instrument_button(all->instrument, cut->button)->name, SR_GRACE_MOST_STEP,
                      note->ornament == SR_ORNAMENT_STRIKE ? "below" : "above",
                      note->direction == SR_DIRECTION_PRESS  ? " (\"_press\")"
                      : note->direction == SR_DIRECTION_DRAW ? " (\"_draw\")"
                                                             : "");
}

static SrStatus
check_all(const Pins* const all, SrError* const error)
{
  SrStatus status = check_pairs(all, error);
  for (size_t i = 0; status == SR_OK && i < all->pin_count; ++i) {
    status = check_direction(all, &all->pins[i], error);
  }
  for (size_t i = 0; status == SR_OK && i < all->cut_count; ++i) {
    status = check_cut(all, &all->pins[all->pin_count + i], error);
  }
  return status;
}

// Every playing ---------------------------------------------------------------------------------

/// The pin of a note, of those from `first` on; NULL without one.
static const Pin*
pin_at(const Pins* const all, const size_t first, const size_t count, const SrPhraseNote* const at)
{
  for (size_t i = first; i < first + count; ++i) {
    if (is_same_written(sr_phrase_note(all->phrase, all->pins[i].note), at)) {
      return &all->pins[i];
    }
  }
  return NULL;
}

/// Pin each playing of each note and cut. False without memory.
static bool
spread(const Pins* const all, SrWishedPlan* const wished)
{
  const size_t count = sr_phrase_note_count(all->phrase);
  size_t pins = 0;
  wished->pins = (SrPin*)calloc(2 * count + 1, sizeof(SrPin));
  for (size_t i = 0; wished->pins && i < count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(all->phrase, i);
    const Pin* const pin = pin_at(all, 0, all->pin_count, note);
    const Pin* const cut = pin_at(all, all->pin_count, all->cut_count, note);
    if (pin) {
      wished->pins[pins++] = (SrPin){.note = i, .button = pin->button, .kind = SR_PIN_NOTE};
    }
    if (cut) {
      wished->pins[pins++] = (SrPin){.note = i, .button = cut->button, .kind = SR_PIN_CUT};
    }
  }
  wished->settings.pins = wished->pins;
  wished->settings.pin_count = pins;
  return wished->pins != NULL;
}

SrStatus
sr_wished_pins_read(const SrPlanWish* const wish, const SrPhrase* const phrase,
                    SrWishedPlan* const wished, SrError* const error)
{
  Pins all = {.phrase = phrase, .instrument = wished->instrument};
  if (wish->pin_count > SR_MOST_WISHED || wish->cut_count > SR_MOST_WISHED) {
    return sr_error_set(error, SR_TOO_LARGE, "More than %u pins are not read.", SR_MOST_WISHED);
  }
  SrStatus status = read_all(&all, wish, error);
  status = status == SR_OK ? check_all(&all, error) : status;
  if (status == SR_OK && !spread(&all, wished)) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for that many pins.");
  }
  free(all.pins);
  return status;
}
