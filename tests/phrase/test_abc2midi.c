// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_abc2midi.c
   Pitches, starts and lengths against abc2midi (Debian's package abcmidi), whose
   MIDI is read through midicsv (Debian's package midicsv).

   usage: test_abc2midi FILE.abc…
*/

#include <steadyreed/phrase.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Ticks of a whole note in abc2midi's files.
#define WHOLE 1920.0
#define MOST_NOTES 2048u
#define SKIPPED 77

typedef struct {
  long start;
  long end; ///< -1 while it sounds
  int midi;
} Played;

static bool
has(const char* const program)
{
  char command[128];
  snprintf(command, sizeof(command), "command -v %s >/dev/null 2>&1", program);
  return system(command) == 0;
}

/// All notes of a tune as abc2midi plays them; they start one tick late there.
static size_t
play(const char* const path, const int tune, const char* const midi_path, Played* const notes)
{
  char command[1024];
  snprintf(command, sizeof(command),
           "abc2midi '%s' %d -quiet -silent -NGRA -NGUI -NFER -o '%s' >/dev/null && midicsv '%s'",
           path, tune, midi_path, midi_path);
  FILE* const pipe = popen(command, "r");
  if (!pipe) {
    return 0;
  }
  size_t count = 0;
  char line[512];
  while (fgets(line, sizeof(line), pipe)) {
    long tick = 0;
    int midi = 0;
    int velocity = 0;
    char kind[32];
    if (sscanf(line, "%*d, %ld, %31[^,], %*d, %d, %d", &tick, kind, &midi, &velocity) != 4) {
      continue;
    }
    if (!strcmp(kind, "Note_on_c") && velocity > 0 && count < MOST_NOTES) {
      notes[count++] = (Played){tick > 0 ? tick - 1 : 0, -1, midi};
    } else if (!strncmp(kind, "Note_o", 6)) {
      for (size_t i = 0; i < count; ++i) {
        if (notes[i].midi == midi && notes[i].end < 0) {
          notes[i].end = tick;
          break;
        }
      }
    }
  }
  pclose(pipe);
  return count;
}

/// Keep the highest note of those that start together: the melody.
static size_t
keep_tops(Played* const notes, const size_t count)
{
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    if (kept && notes[kept - 1].start == notes[i].start) {
      if (notes[i].midi > notes[kept - 1].midi) {
        notes[kept - 1] = notes[i];
      }
    } else {
      notes[kept++] = notes[i];
    }
  }
  return kept;
}

static bool
compare(const char* const path, const SrTuneEntry* const entry, const char* const midi_path)
{
  static Played played[MOST_NOTES];
  const size_t count = keep_tops(played, play(path, entry->number, midi_path, played));
  const SrPhraseChoice choice = {.tune = entry->number};
  SrPhrase* phrase = NULL;
  SrError error = {0};
  if (sr_phrase_read_file(path, &choice, &phrase, &error) != SR_OK) {
    char text[1200];
    printf("  X:%d %s\n", entry->number, sr_error_print(&error, text, sizeof(text)));
    return false;
  }
  bool same = count == sr_phrase_note_count(phrase) && count > 0;
  if (!same) {
    printf("  X:%d has %zu notes, abc2midi plays %zu\n", entry->number,
           sr_phrase_note_count(phrase), count);
  }
  for (size_t i = 0; same && i < count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const double start = sr_fraction_value(note->start) * WHOLE;
    const double end = start + sr_fraction_value(note->length) * WHOLE;
    // abc2midi rounds to whole ticks
    if (note->midi != played[i].midi || fabs(start - (double)played[i].start) > 2.0 ||
        fabs(end - (double)played[i].end) > 2.0) {
      printf("  X:%d note %zu (line %u): MIDI %d from %.1f to %.1f; abc2midi: %d from %ld to %ld\n",
             entry->number, i + 1, note->line, note->midi, start, end, played[i].midi,
             played[i].start, played[i].end);
      same = false;
    }
  }
  sr_phrase_del(phrase);
  return same;
}

int
main(const int argc, char** const argv)
{
  if (!has("abc2midi") || !has("midicsv")) {
    printf("abc2midi or midicsv is not installed: skipped\n");
    return SKIPPED;
  }
  char midi_path[] = "/tmp/steadyreed-XXXXXX";
  const int descriptor = mkstemp(midi_path);
  if (descriptor < 0) {
    return 1;
  }
  size_t passed = 0;
  size_t failed = 0;
  for (int i = 1; i < argc; ++i) {
    SrTuneList* list = NULL;
    if (sr_tune_list_read(argv[i], &list, NULL) != SR_OK) {
      printf("%s cannot be read\n", argv[i]);
      ++failed;
      continue;
    }
    for (size_t j = 0; j < sr_tune_list_count(list); ++j) {
      const bool same = compare(argv[i], sr_tune_list_entry(list, j), midi_path);
      passed += same;
      failed += !same;
      if (!same) {
        printf("  differs: X:%d %s\n", sr_tune_list_entry(list, j)->number,
               sr_tune_list_entry(list, j)->title);
      }
    }
    sr_tune_list_del(list);
  }
  remove(midi_path);
  printf("%zu passed, %zu failed\n", passed, failed);
  return failed || passed < 40 ? 1 : 0;
}
