// SPDX-License-Identifier: GPL-3.0-or-later

#include "option_values.h"

#include "say.h"
#include "speaker.h"

#include <steadyreed/hear.h>

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

bool
sr_value_number(const char* const text, const double least, const double most, double* const value)
{
  // strtod() would also accept spaces, hexadecimal, "inf" and "nan"
  if (!*text || strspn(text, "0123456789.") != strlen(text)) {
    return false;
  }
  char* end = NULL;
  const double read = strtod(text, &end);
  if (*end || end == text || !(read >= least && read <= most)) {
    return false;
  }
  *value = read;
  return true;
}

/// Read digits at `*text` and move it past them.
static bool
read_digits(const char** const text, int* const value)
{
  if (!isdigit((unsigned char)**text)) {
    return false;
  }
  errno = 0;
  char* end = NULL;
  const long read = strtol(*text, &end, 10);
  if (errno || read > 1000000) {
    return false;
  }
  *text = end;
  *value = (int)read;
  return true;
}

bool
sr_value_integer(const char* const text, const int least, const int most, int* const value)
{
  const char* at = text;
  int read = 0;
  if (!read_digits(&at, &read) || *at || read < least || read > most) {
    return false;
  }
  *value = read;
  return true;
}

/// Move past a sharp or a flat, if any; returns its semitones.
static int
read_accidental(const char** const text)
{
  static const struct {
    const char* sign;
    int semitones;
  } signs[] = {{"#", 1}, {"♯", 1}, {"b", -1}, {"♭", -1}};
  for (size_t i = 0; i < sizeof(signs) / sizeof(signs[0]); ++i) {
    const size_t length = strlen(signs[i].sign);
    if (!strncmp(*text, signs[i].sign, length)) {
      *text += length;
      return signs[i].semitones;
    }
  }
  return 0;
}

bool
sr_value_note(const char* const text, const int least, const int most, int* const midi)
{
  static const int pitches[] = {9, 11, 0, 2, 4, 5, 7}; // A to G
  const char* at = text;
  const int letter = toupper((unsigned char)*at);
  if (letter < 'A' || letter > 'G') {
    return sr_value_integer(text, least, most, midi);
  }
  ++at;
  const int pitch = pitches[letter - 'A'] + read_accidental(&at);
  int octave = 0;
  const int read = read_digits(&at, &octave) && octave < 10 ? 12 * (octave + 1) + pitch : -1;
  if (*at || read < least || read > most) {
    return false;
  }
  *midi = read;
  return true;
}

bool
sr_value_bars(const char* const text, int* const first, int* const last)
{
  const char* at = text;
  int from = 0;
  if (!read_digits(&at, &from)) {
    return false;
  }
  int to = from;
  if (*at == '-') {
    ++at;
    if (!read_digits(&at, &to)) {
      return false;
    }
  }
  if (*at || to < from || to == 0) {
    return false;
  }
  *first = from;
  *last = to;
  return true;
}

bool
sr_value_time(const char* const text, double* const seconds)
{
  const char* at = text;
  double sum = 0.0;
  for (int part = 0; part < 3; ++part) {
    const char* const colon = strchr(at, ':');
    double value = 0.0;
    if (!colon) {
      if (!sr_value_number(at, 0.0, part ? 60.0 : 1e6, &value) || (part && value >= 60.0)) {
        return false;
      }
      *seconds = 60.0 * sum + value;
      return true;
    }
    int whole = 0;
    if (!read_digits(&at, &whole) || at != colon || (part && whole > 59)) {
      return false;
    }
    sum = 60.0 * sum + whole;
    ++at;
  }
  return false;
}

int
sr_option_time(const char* const command, const bool last, const char* const text,
               SrTimes* const times)
{
  const char* const option = last ? "--to" : "--from";
  if (!sr_value_time(text, last ? &times->to_s : &times->from_s)) {
    return sr_say_usage(
        command, "%s takes minutes and seconds, such as 0:12 or 1:05.5, not \"%s\".", option, text);
  }
  return 0;
}

int
sr_option_bars(const char* const command, const char* const text, SrPhraseChoice* const choice)
{
  if (!strcmp(text, "all")) {
    choice->first_bar = 0;
    choice->last_bar = 0;
    return 0;
  }
  if (!sr_value_bars(text, &choice->first_bar, &choice->last_bar)) {
    return sr_say_usage(command,
                        "--bars takes one bar or a first and a last one, such as --bars 3 or "
                        "--bars 1-4, or all, not \"%s\".",
                        text);
  }
  return 0;
}

int
sr_option_part(const char* const command, const char* const text, SrPhraseChoice* const choice)
{
  if (!text[0] || text[1] || !isalpha((unsigned char)text[0])) {
    return sr_say_usage(command, "--part takes one letter from A to Z, not \"%s\".", text);
  }
  choice->part = (char)toupper((unsigned char)text[0]);
  return 0;
}

int
sr_option_tune(const char* const command, const char* const text, SrPhraseChoice* const choice)
{
  choice->tune = 0;
  choice->title = NULL;
  if (sr_value_integer(text, 1, 1000000, &choice->tune)) {
    return 0;
  }
  if (!text[0] || strspn(text, "-0123456789. ") == strlen(text)) {
    return sr_say_usage(command,
                        "--tune takes the X: number of a tune in the file, 1 or more, or part of "
                        "its title, not \"%s\".",
                        text);
  }
  choice->title = text;
  return 0;
}

int
sr_option_transpose(const char* const command, const char* const text, SrPhraseChoice* const choice)
{
  const bool down = text[0] == '-';
  int semitones = 0;
  if (!sr_value_integer(text + (down || text[0] == '+'), 0, SR_MOST_TRANSPOSED, &semitones)) {
    return sr_say_usage(command,
                        "--transpose takes a whole number of semitones from -%d to %d, such as 5 "
                        "for a fourth higher, not \"%s\".",
                        SR_MOST_TRANSPOSED, SR_MOST_TRANSPOSED, text);
  }
  choice->transpose = down ? -semitones : semitones;
  return 0;
}

int
sr_option_number(const char* const command, const char* const option, const char* const unit,
                 const char* const text, const double least, const double most, double* const value)
{
  if (!sr_value_number(text, least, most, value)) {
    return sr_say_usage(command, "%s takes %s from %g to %g, not \"%s\".", option, unit, least,
                        most, text);
  }
  return 0;
}

int
sr_option_count(const char* const command, const char* const option, const int least,
                const int most, const char* const text, unsigned* const count)
{
  int value = 0;
  if (!sr_value_integer(text, least, most, &value)) {
    return sr_say_usage(command, "%s takes a whole number from %d to %d, not \"%s\".", option,
                        least, most, text);
  }
  *count = (unsigned)value;
  return 0;
}

int
sr_option_note(const char* const command, const char* const option, const char* const text,
               int* const midi)
{
  if (!strcmp(text, "none")) {
    *midi = -1;
    return 0;
  }
  int value = 0;
  if (!sr_value_note(text, SR_LOWEST_MIDI, SR_HIGHEST_MIDI, &value)) {
    return sr_say_usage(command,
                        "%s takes a note such as C3 or F#3, or its MIDI number from %d to "
                        "%d, or none, not \"%s\". C4 is middle C.",
                        option, SR_LOWEST_MIDI, SR_HIGHEST_MIDI, text);
  }
  *midi = value;
  return 0;
}

int
sr_option_click_volume(const char* const command, const char* const text, double* const share)
{
  double percent = 0.0;
  const int trouble =
      sr_option_number(command, "--click-volume", "a percentage", text, 0.0, 100.0, &percent);
  *share = trouble ? *share : percent / 100.0;
  return trouble;
}

int
sr_option_speak(const char* const command, bool* const speak)
{
  if (!sr_speaker_is_built()) {
    return sr_say_usage(command, "--speak: this build cannot speak. Install libspeechd-dev and "
                                 "speech-dispatcher, then `meson setup --reconfigure build` and "
                                 "build it again; --tones needs neither.");
  }
  *speak = true;
  return 0;
}
