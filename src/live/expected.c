// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/live.h>

SrExpected
sr_live_expected(const SrPhrase* const phrase)
{
  SrExpected expected = {.any = true};
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    expected.expected[note->midi & 127] = 1;
    if (note->cut_midi >= 0) {
      expected.expected[note->cut_midi & 127] = 1;
      const int step = note->cut_midi - note->midi;
      expected.cuts[note->midi & 127] |= step > 0 && step < 16 ? 1u << (unsigned)step : 0u;
    }
    for (int k = 0; k < note->ornament_count; ++k) {
      expected.expected[note->ornament_midi[k] & 127] = 1;
    }
    for (int k = 0; k < note->chord_count; ++k) {
      expected.expected[note->chord_midi[k] & 127] = 1;
    }
  }
  return expected;
}
