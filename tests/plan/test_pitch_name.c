// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_pitch_name.c
   Scientific pitch names against a peer: the opcode ntom of Csound 6 (Debian's csound), which
   turns "4F#" into a MIDI note number. Skipped where it is not installed.
*/

#include "plan/pitch_name.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char* const signs[] = {"", "#", "b"};
enum { LETTERS = 7, SIGNS = 3, OCTAVES = 10, NAMES = LETTERS * SIGNS * OCTAVES, NAME_SIZE = 16 };

static void
spell(const int index, char name[NAME_SIZE], char peer_name[NAME_SIZE])
{
  const char letter = (char)('A' + index % LETTERS);
  const char* const sign = signs[index / LETTERS % SIGNS];
  const int octave = index / LETTERS / SIGNS;
  snprintf(name, NAME_SIZE, "%c%s%d", letter, sign, octave);
  snprintf(peer_name, NAME_SIZE, "%d%c%s", octave, letter, sign);
}

/// An orchestra that prints the number of every name.
static void
write_orchestra(FILE* const file)
{
  fputs("<CsoundSynthesizer>\n<CsOptions>\n-n -m0 -d\n</CsOptions>\n<CsInstruments>\ninstr 1\n",
        file);
  for (int i = 0; i < NAMES; ++i) {
    char name[NAME_SIZE];
    char peer_name[NAME_SIZE];
    spell(i, name, peer_name);
    fprintf(file, "iN ntom \"%s\"\nprints \"= %d %%d\\n\", iN\n", peer_name, i);
  }
  fputs("endin\n</CsInstruments>\n<CsScore>\ni1 0 0.1\n</CsScore>\n</CsoundSynthesizer>\n", file);
}

int
main(void)
{
  // NOLINTNEXTLINE(cert-env33-c): commands without anything from outside
  if (system("command -v csound >/dev/null 2>&1") != 0) {
    printf("csound is not installed (Debian's csound)\n");
    return 77;
  }
  char path[] = "/tmp/steadyreed-ntom-XXXXXX.csd";
  const int descriptor = mkstemps(path, 4);
  FILE* const orchestra = descriptor < 0 ? NULL : fdopen(descriptor, "w");
  if (!orchestra) {
    perror(path);
    return 1;
  }
  write_orchestra(orchestra);
  fclose(orchestra);
  char command[64];
  snprintf(command, sizeof(command), "csound %s 2>&1", path);
  // NOLINTNEXTLINE(cert-env33-c)
  FILE* const peer = popen(command, "r");
  char line[256];
  int reported = 0;
  int apart = 0;
  while (peer && fgets(line, sizeof(line), peer)) {
    int index;
    int wanted;
    const char* const number = strstr(line, "= ");
    // NOLINTNEXTLINE(cert-err34-c): what does not fit is reported below, as a name without a number
    if (number && sscanf(number, "= %d %d", &index, &wanted) == 2 && index >= 0 && index < NAMES) {
      char name[NAME_SIZE];
      char peer_name[NAME_SIZE];
      int midi = -99;
      spell(index, name, peer_name);
      if (!sr_pitch_name_midi(name, &midi) || midi != wanted) {
        printf("%s is %d, not %d\n", name, wanted, midi);
        ++apart;
      }
      ++reported;
    }
  }
  if (peer) {
    pclose(peer);
  }
  unlink(path);
  printf("%d of %d names told by csound, %d of them differ\n", reported, NAMES, apart);
  return reported != NAMES || apart != 0;
}
