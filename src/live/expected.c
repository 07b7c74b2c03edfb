// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/live.h>

/// Allow a grace at a note.
static void
expect_grace(SrExpected* const expected, const int note, const int grace)
{
  const int step = grace - note;
  expected->expected[grace & 127] = 1;
  expected->cuts[note & 127] |= step > 0 && step < 16 ? 1u << (unsigned)step : 0u;
  expected->strikes[note & 127] |= step < 0 && step > -16 ? 1u << (unsigned)-step : 0u;
}

SrExpected
sr_live_expected(const SrPhrase* const phrase)
{
  SrExpected expected = {.any = true};
  double length = 0.0;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    length += sr_fraction_value(sr_phrase_note(phrase, i)->length);
  }
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    expected.expected[note->midi & 127] = 1;
    expected.share[note->midi & 127] += (float)(sr_fraction_value(note->length) / length);
    if (note->cut_midi >= 0) {
      expect_grace(&expected, note->midi, note->cut_midi);
    }
    for (int k = 0; k < note->ornament_count; ++k) {
      expect_grace(&expected, note->midi, note->ornament_midi[k]);
    }
    for (int k = 0; k < note->chord_count; ++k) {
      expected.expected[note->chord_midi[k] & 127] = 1;
    }
  }
  return expected;
}
