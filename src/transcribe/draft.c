// SPDX-License-Identifier: GPL-3.0-or-later

#include "draft.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Most notes of a draft; what follows is much like it.
#define MOST_NOTES 4000u

static void
write_pitch(FILE* const stream, const int midi)
{
  static const char* const names[] = {"=C", "^C", "=D", "^D", "=E", "=F",
                                      "^F", "=G", "^G", "=A", "^A", "=B"};
  fputs(names[midi % 12], stream);
  for (int octave = midi / 12; octave < 5; ++octave) {
    fputc(',', stream);
  }
  for (int octave = midi / 12; octave > 5; --octave) {
    fputc('\'', stream);
  }
}

SrPhrase*
sr_draft_make(const SrPlayedNotes* const played)
{
  char* text = NULL;
  size_t size = 0;
  FILE* const stream = open_memstream(&text, &size);
  if (!stream) {
    return NULL;
  }
  fputs("X:1\nT:Draft\nM:none\nL:1/100\nK:none\n", stream);
  for (size_t i = 0; i < played->count && i < MOST_NOTES; ++i) {
    const SrPlayedNote* const note = &played->notes[i];
    for (int k = 0; k < note->grace_count; ++k) {
      fputs(k == 0 ? "{" : "", stream);
      write_pitch(stream, note->grace_midi[k]);
      fputs(k + 1 == note->grace_count ? "}" : "", stream);
    }
    write_pitch(stream, note->midi);
    fprintf(stream, "%d%s",
            (int)fmax(1.0, fmin(900.0, round(10.0 * (note->end_s - note->onset_s)))),
            i % 8 == 7 ? "\n" : "");
  }
  fputs("|]\n", stream);
  SrPhrase* phrase = NULL;
  if (!fclose(stream) && sr_phrase_read_text(text, size, "draft", NULL, &phrase, NULL) != SR_OK) {
    phrase = NULL;
  }
  free(text);
  return phrase;
}
