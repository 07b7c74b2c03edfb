// SPDX-License-Identifier: GPL-3.0-or-later

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_round.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define UNKNOWN ((double)NAN)
/// Pulses a minute, of three quavers.
#define BPM 90.0

const char made_jig[] = "X:1\nT:Four bars to try\nM:6/8\nL:1/8\nK:D\n"
                        "F{A}FA d{f}dA|B{d}BG A{c}AF|G{B}GE F{A}FD|E{G}EF GFE|]\n";
const char made_runs[] = "X:1\nT:A few short notes\nM:6/8\nL:1/8\nK:E\n"
                         "F{A}FA d{f}dA|B{d}BG A{c}AF|F/4G/4F/4G/4GE F{A}FD|E{G}EF GFE|\n"
                         "F{A}FA d{f}dA|B{d}BG A{c}AF|G{B}GE F{A}FD|E{G}EF GFE|]\n";
const char made_tune[] = "X:1\nT:A whole tune\nM:6/8\nL:1/8\nK:D\n"
                         "|:F{A}FA d{f}dA|B{d}BG A{c}AF|G{B}GE F{A}FD|E{G}EF GFE|\n"
                         "F{A}FA d{f}dA|B{d}BG A{c}AF|GFE A{c}AG|FDD D3:|\n"
                         "|:f{a}fd e{g}ec|d{f}dB A{c}AF|G{B}GB A{c}Ad|c{e}cA Bcd|\n"
                         "f{a}fd e{g}ec|d{f}dB A{c}AF|GFE A{c}AG|FDD D3:|\n";

static void
fill_note(MadeRound* const made, const size_t round, const size_t index)
{
  const SrPhraseNote* const written = sr_phrase_note(made->phrase, index);
  const double per_second = BPM / 60.0 * 3.0 / 8.0;
  const double due_s = 0.5 + 60.0 * (double)round + sr_fraction_value(written->start) / per_second;
  const SrNoteVerdict note = {
      .index = index,
      .bar = written->bar,
      .midi = written->midi,
      .status = SR_NOTE_PLAYED,
      .heard_midi = written->midi,
      .due_s = due_s,
      .onset_s = due_s + 0.002,
      .end_s = due_s + sr_fraction_value(written->length) / per_second,
      .offset_ms = 2.0,
      .joined = SR_NOT_ASKED,
      .has_cut = written->cut_midi >= 0,
      .cut = {SR_CUT_CLEAN, due_s + 0.002, 35.0, written->cut_midi, 30.0},
      .ornament = written->ornament,
      .speaks_s = due_s + 0.04,
  };
  made->notes[round][index] = note;
}

static void
fill_round(MadeRound* const made, const size_t index)
{
  const size_t count = sr_phrase_note_count(made->phrase);
  for (size_t i = 0; i < count; ++i) {
    fill_note(made, index, i);
  }
  const SrRound round = {
      .start_s = made->notes[index][0].due_s,
      .end_s = made->notes[index][count - 1].end_s,
      .pulse = {.unit = {3, 8},
                .target_bpm = UNKNOWN,
                .played_bpm = BPM,
                .drift_percent = UNKNOWN,
                .first_bpm = UNKNOWN,
                .last_bpm = UNKNOWN,
                .change_percent = UNKNOWN,
                .jump_note = count,
                .mean_offset_ms = UNKNOWN,
                .left_pulses = UNKNOWN,
                .left_percent = UNKNOWN,
                .spread_ms = 7.0,
                .npvi = UNKNOWN},
      .notes = made->notes[index],
      .note_count = count,
      .insertions = made->insertions[index],
      .air = made->air[index],
      .slips = made->slips[index],
      .asked = {count, 7, 0},
      .judged = {count, 7, 0},
      .scores = {83.0 - (double)index, 91.0, UNKNOWN},
      .advice = made->advices,
      .advice_count = 1,
  };
  made->rounds[index] = round;
}

void
made_round_make(MadeRound* const made, const char* const abc, const size_t rounds)
{
  memset(made, 0, sizeof(*made));
  assert_int_equal(sr_phrase_read_text(abc, strlen(abc), "made", NULL, &made->phrase, NULL), SR_OK);
  assert_true(rounds <= MADE_MOST_ROUNDS);
  assert_true(sr_phrase_note_count(made->phrase) <= MADE_MOST_NOTES);
  snprintf(made->title, sizeof(made->title), "%s", sr_phrase_title(made->phrase));
  snprintf(made->path, sizeof(made->path), "takes/tuesday.wav");
  snprintf(made->advice, sizeof(made->advice),
           "bar 2, cut joined: you held on to the first B; lift it as the cutting finger flicks");
  made->advices[0] = made->advice;
  for (size_t i = 0; i < rounds; ++i) {
    fill_round(made, i);
  }
  const SrAssessment assessment = {
      .title = made->title,
      .first_bar = 1,
      .last_bar = sr_phrase_bar(made->phrase, sr_phrase_bar_count(made->phrase) - 1)->number,
      .phrase_notes = sr_phrase_note_count(made->phrase),
      .path = made->path,
      .take = {made->path, 61.0, 48000.0, -3.0, 0},
      .reference_hz = 441.25,
      .click_s = UNKNOWN,
      .click_period_s = UNKNOWN,
      .rounds = made->rounds,
      .round_count = rounds,
  };
  made->assessment = assessment;
}

static void
put_cut(SrNoteVerdict* const note, const SrCutVerdict verdict, const double length_ms)
{
  const bool heard = isfinite(length_ms);
  note->has_cut = true;
  note->cut = (SrCut){verdict, heard ? note->onset_s : UNKNOWN, length_ms, heard ? 73 : -1, 25.0};
}

void
made_round_put(MadeRound* const made, const size_t round, const size_t index, const Outcome outcome)
{
  SrNoteVerdict* const note = &made->notes[round][index];
  SrRound* const all = &made->rounds[round];
  switch (outcome) {
  case OUTCOME_MISSED:
  case OUTCOME_UNHEARD:
    note->status = outcome == OUTCOME_MISSED ? SR_NOTE_MISSED : SR_NOTE_UNHEARD;
    note->heard_midi = -1;
    note->onset_s = note->end_s = note->offset_ms = UNKNOWN;
    note->has_cut = false;
    break;
  case OUTCOME_WRONG:
    note->status = SR_NOTE_WRONG;
    note->heard_midi = note->midi + 2;
    break;
  case OUTCOME_LONG:
    put_cut(note, SR_CUT_LONG, 90.0);
    break;
  case OUTCOME_JOINED:
    put_cut(note, SR_CUT_JOINED, UNKNOWN);
    note->cut.fall_db = 2.0;
    note->joined = SR_YES;
    note->onset_s = note->offset_ms = UNKNOWN;
    break;
  case OUTCOME_ABSENT:
    put_cut(note, SR_CUT_ABSENT, UNKNOWN);
    break;
  case OUTCOME_STRAY:
    put_cut(note, SR_CUT_STRAY, 40.0);
    break;
  case OUTCOME_LATE:
    note->offset_ms = 45.0;
    note->onset_s = note->due_s + 0.045;
    break;
  case OUTCOME_EXTRA:
    if (all->insertion_count < MADE_MOST_OTHERS) {
      all->insertions[all->insertion_count++] =
          (SrInsertion){note->due_s - 0.08, note->due_s - 0.02, note->midi + 5};
    }
    break;
  case OUTCOME_AIR:
    if (all->air_count < MADE_MOST_OTHERS) {
      all->air[all->air_count++] = (SrAirRelease){.start_s = note->due_s,
                                                  .end_s = note->end_s,
                                                  .over_mask_db = 12.0,
                                                  .audible = true,
                                                  .note_index = index,
                                                  .note_dip_db = 3.0,
                                                  .note_bend_cents = -7.0,
                                                  .late_ms = UNKNOWN};
    }
    break;
  case OUTCOME_CLEAN:
  case OUTCOME_COUNT:
    break;
  }
}

void
made_round_slip(MadeRound* const made, const size_t round, const SrSlipKind kind, const size_t note)
{
  SrRound* const all = &made->rounds[round];
  const SrNoteVerdict* const at = &all->notes[note];
  assert_true(all->slip_count < MADE_MOST_OTHERS);
  all->slips[all->slip_count++] =
      (SrSlip){.kind = kind,
               .at_s = at->due_s,
               .note_index = note,
               .bar = at->bar,
               .wait_s = kind == SR_SLIP_HURRIED ? -0.3 : 0.4,
               .left_out = kind == SR_SLIP_LEFT_OUT ? 2 : 0,
               .until = note + 4 < all->note_count ? note + 4 : all->note_count,
               .longer_percent = 20.0};
}

void
made_round_spoil(MadeRound* const made, const size_t round)
{
  const size_t count = made->rounds[round].note_count;
  for (size_t i = 0; i < count; ++i) {
    made_round_put(made, round, i, (Outcome)(1 + (i + round) % (OUTCOME_COUNT - 1)));
  }
  static const SrSlipKind KINDS[] = {SR_SLIP_FALSE_START, SR_SLIP_RESTART,  SR_SLIP_HESITATION,
                                     SR_SLIP_HURRIED,     SR_SLIP_LEFT_OUT, SR_SLIP_OTHER_TEMPO};
  for (size_t i = 0; i < sizeof(KINDS) / sizeof(KINDS[0]); ++i) {
    made_round_slip(made, round, KINDS[i], 2 + i * (count - 4) / 6);
  }
}

void
made_round_clear(MadeRound* const made)
{
  sr_phrase_del(made->phrase);
  made->phrase = NULL;
}
