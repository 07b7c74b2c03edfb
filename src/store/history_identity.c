// SPDX-License-Identifier: GPL-3.0-or-later

// What a phrase is known by: its notes.

#include <steadyreed/history.h>

#include <glib.h>

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

static void
write_fraction(FILE* const stream, const SrFraction fraction)
{
  fprintf(stream, "%" PRId64 "/%" PRId64 " ", fraction.numerator, fraction.denominator);
}

/// The text of which the identity is a digest; free() it. NULL without memory.
static char*
written_out(const SrPhrase* const phrase, size_t* const size)
{
  char* text = NULL;
  FILE* const stream = open_memstream(&text, size);
  if (!stream) {
    return NULL;
  }
  fputs("1\n", stream);
  for (size_t i = 0; i < sr_phrase_bar_count(phrase); ++i) {
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, i);
    fputs("| ", stream);
    write_fraction(stream, bar->start);
    fprintf(stream, "%" PRId64 "/%" PRId64 "\n", bar->pulse.numerator, bar->pulse.denominator);
  }
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    write_fraction(stream, note->start);
    write_fraction(stream, note->length);
    fprintf(stream, "%d %d %d\n", note->midi, (int)note->ornament, note->cut_midi);
  }
  if (fclose(stream)) {
    free(text);
    text = NULL;
  }
  return text;
}

void
sr_phrase_identity(const SrPhrase* const phrase, char identity[SR_IDENTITY_SIZE])
{
  size_t size = 0;
  char* const text = written_out(phrase, &size);
  char* const digest =
      text ? g_compute_checksum_for_data(G_CHECKSUM_SHA256, (const guchar*)text, size) : NULL;
  snprintf(identity, SR_IDENTITY_SIZE, "%.32s", digest ? digest : "");
  g_free(digest);
  free(text);
}
