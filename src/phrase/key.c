// SPDX-License-Identifier: GPL-3.0-or-later

#include "key.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/// Letters in the order of sharps, F C G D A E B, as indices from C.
static const size_t SHARP_ORDER[7] = {3, 0, 4, 1, 5, 2, 6};
/// Sharps of the major keys on C D E F G A B.
static const int MAJOR_SHARPS[7] = {0, 2, 4, -1, 1, 3, 5};

/// First three letters of a mode, and its sharps relative to major.
static const struct {
  const char* name;
  int sharps;
} MODES[] = {{"maj", 0},  {"ion", 0},  {"min", -3}, {"aeo", -3}, {"mix", -1},
             {"dor", -2}, {"phr", -4}, {"lyd", 1},  {"loc", -5}};

static size_t
skip_space(const char* const text, const size_t size, size_t at)
{
  while (at < size && isspace((unsigned char)text[at])) {
    ++at;
  }
  return at;
}

static size_t
word_end(const char* const text, const size_t size, size_t at)
{
  while (at < size && !isspace((unsigned char)text[at])) {
    ++at;
  }
  return at;
}

static int
letter_index(const char letter)
{
  const char* const letters = "CDEFGAB";
  const char* const found = letter ? strchr(letters, toupper((unsigned char)letter)) : NULL;
  return found ? (int)(found - letters) : -1;
}

static void
set_signature(SrKey* const key, const int sharps)
{
  memset(key->accidental, 0, sizeof(key->accidental));
  for (int i = 0; i < 7; ++i) {
    if (i < sharps) {
      key->accidental[SHARP_ORDER[i]] = 1;
    }
    if (i < -sharps) {
      key->accidental[SHARP_ORDER[6 - i]] = -1;
    }
  }
}

/// Parse a mode at the start of a word; false if it is not one.
static bool
read_mode(const char* const word, const size_t length, int* const sharps)
{
  if (length == 1 && (word[0] == 'm' || word[0] == 'M')) {
    *sharps = -3;
    return true;
  }
  for (size_t i = 0; length >= 3 && i < sizeof(MODES) / sizeof(MODES[0]); ++i) {
    if (!strncasecmp(word, MODES[i].name, 3)) {
      *sharps = MODES[i].sharps;
      return true;
    }
  }
  return false;
}

/// Parse an explicit accidental such as ^f or __b; returns its length, 0 if it is not one.
static size_t
read_accidental(const char* const text, const size_t size, SrKey* const key)
{
  size_t at = 0;
  int value = 0;
  if (at < size && text[at] == '=') {
    ++at;
  } else {
    while (at < size && at < 2 && text[at] == '^') {
      ++value;
      ++at;
    }
    while (value <= 0 && at < size && at < 2 && text[at] == '_') {
      --value;
      ++at;
    }
  }
  const int letter = at > 0 && at < size ? letter_index(text[at]) : -1;
  if (letter < 0) {
    return 0;
  }
  key->accidental[letter] = value;
  return at + 1;
}

/// Parse a parameter (ABC 2.1, section 4.6); those that affect the sound are used.
static bool
read_parameter(const char* const word, const size_t length, SrKey* const key)
{
  char copy[64];
  if (length == 0 || length >= sizeof(copy)) {
    return length != 0;
  }
  memcpy(copy, word, length);
  copy[length] = '\0';
  const char* const value = strchr(copy, '=');
  const bool is_clef = !strncmp(copy, "clef=", 5);
  if (value && !is_clef) {
    const bool octave = !strncmp(copy, "octave=", 7);
    if (octave || !strncmp(copy, "transpose=", 10) || !strncmp(copy, "t=", 2)) {
      char* end = NULL;
      const long number = strtol(value + 1, &end, 10);
      if (end == value + 1 || *end || number < -60 || number > 60 ||
          (octave && (number < -5 || number > 5))) {
        return false;
      }
      *(octave ? &key->octave : &key->transpose) = (int)number;
    }
    return true;
  }
  // After clef= any word may be a clef; otherwise only a known one
  static const char* const clefs[] = {"treble", "bass", "alto", "tenor", "perc", "clef", "none"};
  bool known = is_clef;
  for (size_t i = 0; !known && i < sizeof(clefs) / sizeof(clefs[0]); ++i) {
    known = !strncmp(copy, clefs[i], strlen(clefs[i]));
  }
  if (known) {
    const char sign = length > 2 && copy[length - 1] == '8' ? copy[length - 2] : '\0';
    key->clef = (sign == '+') - (sign == '-');
  }
  return known;
}

/// Parse the tonic with its mode, if the text starts with one.
static bool
read_tonic(const char* const text, const size_t size, size_t* const at, SrKey* const key)
{
  const size_t start = *at;
  const char first = text[start];
  const size_t end = word_end(text, size, start);
  if (end - start == 2 && first == 'H' && (text[start + 1] == 'P' || text[start + 1] == 'p')) {
    // Highland pipes: only Hp prints the two sharps, but the scale has them in either case
    set_signature(key, 2);
    *at = end;
    return true;
  }
  if (end - start == 4 && !strncasecmp(text + start, "none", 4)) {
    set_signature(key, 0);
    *at = end;
    return true;
  }
  const int letter = first >= 'A' && first <= 'G' ? letter_index(first) : -1;
  if (letter < 0) {
    return true; // parameters only
  }
  int sharps = MAJOR_SHARPS[letter];
  size_t next = start + 1;
  if (next < size && text[next] == '#') {
    sharps += 7;
    ++next;
  } else if (next < size && text[next] == 'b') {
    sharps -= 7;
    ++next;
  }
  const size_t word = skip_space(text, size, next);
  const size_t word_stop = word_end(text, size, word);
  int more = 0;
  if (word < word_stop && read_mode(text + word, word_stop - word, &more)) {
    sharps += more;
    next = word_stop;
  }
  if (sharps < -7 || sharps > 7) {
    return false;
  }
  set_signature(key, sharps);
  *at = next;
  return true;
}

bool
sr_key_read(const char* const text, const size_t size, SrKey* const key, size_t* const wrong)
{
  size_t at = skip_space(text, size, 0);
  *wrong = at;
  if (at == size) {
    // An empty K: is C major
    set_signature(key, 0);
    return true;
  }
  if (!read_tonic(text, size, &at, key)) {
    return false;
  }
  for (at = skip_space(text, size, at); at < size; at = skip_space(text, size, at)) {
    *wrong = at;
    const size_t end = word_end(text, size, at);
    if (end - at == 3 && !strncasecmp(text + at, "exp", 3)) {
      set_signature(key, 0);
      at = end;
      continue;
    }
    const size_t accidental = read_accidental(text + at, end - at, key);
    if (accidental) {
      at += accidental;
      continue;
    }
    if (!read_parameter(text + at, end - at, key)) {
      return false;
    }
    at = end;
  }
  return true;
}

void
sr_key_read_voice(const char* const text, const size_t size, SrKey* const key)
{
  for (size_t at = skip_space(text, size, 0); at < size; at = skip_space(text, size, at)) {
    const size_t end = word_end(text, size, at);
    read_parameter(text + at, end - at, key);
    at = end;
  }
}

int
sr_key_shift(const SrKey* const key)
{
  return 12 * (key->octave + key->clef) + key->transpose;
}
