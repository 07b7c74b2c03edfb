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

SrFinger
sr_planned_finger(const SrInstrument* const instrument, const SrPlannedNote* const note)
{
  return sr_instrument_button(instrument, note->button)->finger;
}

SrFinger
sr_planned_cut_finger(const SrInstrument* const instrument, const SrPlannedNote* const note)
{
  return sr_instrument_button(instrument, (size_t)note->cut_button)->finger;
}

size_t
sr_planned_further(const SrInstrument* const instrument, const SrPlannedNote* const note,
                   SrFurtherSound sounds[SR_CHORD_SIZE])
{
  // A plan has no buttons for the lower notes of a chord
  (void)instrument;
  (void)note;
  (void)sounds;
  return 0;
}

bool
sr_planned_same(const SrInstrument* const instrument, const SrPlannedNote* const one,
                const SrPlannedNote* const other)
{
  if (one->button != other->button || one->direction != other->direction ||
      one->cut_button != other->cut_button ||
      sr_planned_finger(instrument, one) != sr_planned_finger(instrument, other)) {
    return false;
  }
  SrFurtherSound a[SR_CHORD_SIZE];
  SrFurtherSound b[SR_CHORD_SIZE];
  const size_t count = sr_planned_further(instrument, one, a);
  bool same = count == sr_planned_further(instrument, other, b);
  for (size_t i = 0; same && i < count; ++i) {
    same = a[i].midi == b[i].midi && a[i].button == b[i].button && a[i].finger == b[i].finger;
  }
  return same && (one->cut_button < 0 || sr_planned_cut_finger(instrument, one) ==
                                             sr_planned_cut_finger(instrument, other));
}
