// SPDX-License-Identifier: GPL-3.0-or-later

// Advice is written as "bar 2, cut joined (one of 3): you held on to the A; lift the A ...": a
// place, a fault and a remedy. A voice gets the place and the fault as one sentence, the remedy as
// another.

#include <steadyreed/show.h>

#include "tally.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/// Longest line of advice that is read, bytes as spoken.
#define MOST_BYTES 512u

/// Words under construction.
typedef struct {
  char text[MOST_BYTES];
  size_t size;
} Words;

/// Add words, without a second space in a row.
static void
add(Words* const words, const char* text)
{
  for (; *text && words->size + 1 < MOST_BYTES; ++text) {
    const bool bare = words->size == 0 || words->text[words->size - 1] == ' ';
    if (*text != ' ' || !bare) {
      words->text[words->size++] = *text;
    }
  }
  words->text[words->size] = '\0';
}

static void
drop_spaces(Words* const words)
{
  while (words->size > 0 && words->text[words->size - 1] == ' ') {
    --words->size;
  }
  words->text[words->size] = '\0';
}

/// A sign at the start of a text that is said in words; NULL if there is none.
typedef struct {
  const char* sign;
  const char* word;
} Sign;

static const Sign*
sign_at(const char* const text)
{
  static const Sign signs[] = {
      {"♯♯", " double sharp"}, {"♭♭", " double flat"}, {"♯", " sharp"}, {"♭", " flat"},
      {"♮", " natural"},       {"%", "percent"},       {":", ","}};
  for (size_t i = 0; i < sizeof(signs) / sizeof(signs[0]); ++i) {
    if (!strncmp(text, signs[i].sign, strlen(signs[i].sign))) {
      return &signs[i];
    }
  }
  return NULL;
}

/// Whether `text` ends in the number 1.
static bool
ends_in_one(const Words* const words)
{
  const size_t size = words->size;
  return size >= 2 && words->text[size - 1] == ' ' && words->text[size - 2] == '1' &&
         (size == 2 || words->text[size - 3] == ' ');
}

/// The unit after a number, in full; the size of its abbreviation, 0 if there is none.
static size_t
add_unit(Words* const words, const char* const text)
{
  static const Sign units[] = {
      {"ms", "millisecond"}, {"s", "second"}, {"dB", "decibel"}, {"Hz", "hertz"}};
  const bool number = words->size >= 2 && words->text[words->size - 1] == ' ' &&
                      isdigit((unsigned char)words->text[words->size - 2]);
  for (size_t i = 0; number && i < sizeof(units) / sizeof(units[0]); ++i) {
    const size_t size = strlen(units[i].sign);
    if (!strncmp(text, units[i].sign, size) && !isalnum((unsigned char)text[size])) {
      const bool plural = !ends_in_one(words) && units[i].word[strlen(units[i].word) - 1] != 'z';
      add(words, units[i].word);
      add(words, plural ? "s" : "");
      return size;
    }
  }
  return 0;
}

/// Put one character of a text behind the words, or what stands for it; how many bytes it was.
static size_t
add_next(Words* const words, const char* const text)
{
  const Sign* const sign = sign_at(text);
  if (sign) {
    if (sign->word[0] == ',') {
      drop_spaces(words);
    }
    add(words, sign->word);
    return strlen(sign->sign);
  }
  const size_t unit = add_unit(words, text);
  if (unit) {
    return unit;
  }
  // "1.0" is one
  if (!strncmp(text, ".0", 2) && !isdigit((unsigned char)text[2]) && words->size > 0 &&
      isdigit((unsigned char)words->text[words->size - 1])) {
    return 2;
  }
  const char one[2] = {text[0], '\0'};
  const bool said =
      isalnum((unsigned char)one[0]) || one[0] == ',' || one[0] == '.' || one[0] == '\'';
  if (one[0] == ',' || one[0] == '.') {
    drop_spaces(words);
  }
  add(words, said ? one : " ");
  return 1;
}

/// A part of a line of advice as a sentence.
static void
make_sentence(const char* const text, const size_t size, Words* const words)
{
  words->size = 0;
  words->text[0] = '\0';
  unsigned depth = 0;
  for (size_t i = 0; i < size;) {
    if (text[i] == '(') {
      ++depth;
    }
    const bool aside = depth > 0;
    if (text[i] == ')' && depth > 0) {
      --depth;
    }
    i += aside ? 1 : add_next(words, text + i);
  }
  while (words->size > 0 && strchr(" ,.", words->text[words->size - 1])) {
    --words->size;
  }
  words->text[words->size] = '\0';
  words->text[0] = (char)toupper((unsigned char)words->text[0]);
}

/// End a sentence, within a room; what does not fit is left out from a comma or a space on.
static void
end_sentence(Words* const words, const size_t room)
{
  while (words->size + 2 > room) {
    char* const comma = strrchr(words->text, ',');
    char* const space = strrchr(words->text, ' ');
    char* const at = comma ? comma : space;
    words->size = at ? (size_t)(at - words->text) : room - 2;
    words->text[words->size] = '\0';
  }
  add(words, ".");
}

const char*
sr_show_spoken(const SrRound* const round, char spoken[SR_SPOKEN_SIZE])
{
  const char* const advice = round->advice_count ? round->advice[0] : "";
  const char* const remedy = strchr(advice, ';');
  Words fault;
  Words next = {.size = 0};
  make_sentence(advice, remedy ? (size_t)(remedy - advice) : strlen(advice), &fault);
  if (round->clean || fault.size == 0) {
    snprintf(spoken, SR_SPOKEN_SIZE, "%s", sr_is_incomplete(round) ? "No faults heard." : "Clean.");
    return spoken;
  }
  end_sentence(&fault, SR_SPOKEN_SIZE);
  if (remedy) {
    make_sentence(remedy + 1, strlen(remedy + 1), &next);
  }
  // Both full stops, the space between and the NUL
  if (next.size > 0 && fault.size + 1 + next.size + 2 <= SR_SPOKEN_SIZE) {
    add(&fault, " ");
    add(&fault, next.text);
    add(&fault, ".");
  }
  memcpy(spoken, fault.text, fault.size + 1);
  return spoken;
}
