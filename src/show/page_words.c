// SPDX-License-Identifier: GPL-3.0-or-later

#include "page_words.h"

#include "text.h"

#include "../utf8.h"

#include <steadyreed/show.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void
sr_page_words_clear(SrPageWords* const words)
{
  for (size_t i = 0; i < words->count; ++i) {
    free(words->texts[i]);
  }
  free((void*)words->texts);
  memset(words, 0, sizeof(*words));
}

static char*
drawable(const char* const text)
{
  char* const clean = sr_text_valid(text);
  if (!clean) {
    return NULL;
  }
  size_t size = strlen(clean);
  if (size > SR_PAGE_LONGEST) {
    size = sr_utf8_whole(clean, SR_PAGE_LONGEST);
    clean[size] = '\0';
  }
  for (size_t i = 0; i < size; ++i) {
    if ((unsigned char)clean[i] < 0x20u || clean[i] == 0x7F) {
      clean[i] = ' ';
    }
  }
  return clean;
}

const char*
sr_page_words_keep(SrPageWords* const words, const char* const text)
{
  if (words->count == words->room) {
    const size_t room = words->room ? 2 * words->room : 256;
    char** const larger = (char**)realloc((void*)words->texts, room * sizeof(char*));
    if (!larger) {
      return NULL;
    }
    words->texts = larger;
    words->room = room;
  }
  char* const clean = drawable(text);
  if (clean) {
    words->texts[words->count++] = clean;
  }
  return clean;
}

SrSpelling
sr_spelling_of(const SrPhrase* const phrase)
{
  SrSpelling spelling = {{false}};
  spelling.flat[3] = true;
  spelling.flat[10] = true;
  for (size_t i = phrase ? sr_phrase_note_count(phrase) : 0; i-- > 0;) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    if (strstr(note->name, "♭")) {
      spelling.flat[note->midi % 12] = true;
    } else if (strstr(note->name, "♯")) {
      spelling.flat[note->midi % 12] = false;
    }
  }
  return spelling;
}

const char*
sr_page_words_note(SrPageWords* const words, const int midi, const SrSpelling* const spelling,
                   const bool octave)
{
  char name[32] = "";
  if (midi >= 0) {
    sr_text_midi_name(midi, spelling->flat[midi % 12], name);
  }
  if (!octave) {
    sr_show_drop_octave(name);
  }
  return sr_page_words_keep(words, name);
}
