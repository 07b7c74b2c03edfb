// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/planned_note.h>

#include <string.h>

int
sr_planned_octave(const SrPhraseNote* const note)
{
  const int over = note->name[0] == 'C' && strstr(note->name, "♭")   ? 2
                   : note->name[0] == 'B' && strstr(note->name, "♯") ? -2
                                                                     : 0;
  return (note->midi + over + 12) / 12 - 2;
}

bool
sr_planned_same(const SrPlannedNote* const one, const SrPlannedNote* const other)
{
  bool same = one->button == other->button && one->direction == other->direction &&
              one->finger == other->finger && one->cut_button == other->cut_button &&
              one->sound_count == other->sound_count;
  for (size_t i = 0; same && i < one->sound_count; ++i) {
    const SrPlannedSound* const a = &one->sounds[i];
    const SrPlannedSound* const b = &other->sounds[i];
    same = a->midi == b->midi && a->button == b->button && a->finger == b->finger;
  }
  return same;
}
