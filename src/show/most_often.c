// SPDX-License-Identifier: GPL-3.0-or-later

#include "screen.h"

#include <math.h>
#include <stdlib.h>

/// Most lines listed.
#define MOST_OFTEN 8u

/// Faults of a note that are counted over rounds.
typedef enum {
  FAULT_MISSED,
  FAULT_LEFT_OUT,
  FAULT_WRONG,
  FAULT_CUT_LONG,
  FAULT_CUT_JOINED,
  FAULT_CUT_ABSENT,
  FAULT_CUT_STRAY,
  FAULT_JOINED,
  FAULT_LATE,
  FAULT_EARLY,
  FAULT_WAIT,
  FAULT_HURRIED,
  FAULT_OTHER_TEMPO,
  FAULT_KINDS,
} FaultKind;

static const char* const fault_words[FAULT_KINDS] = {
    "missed",
    "missed: left out",
    "wrong note",
    "cut long",
    "cut joined: you held on to the note before",
    "cut absent: the notes were separate, but none was heard",
    "stray cut: none is written here",
    "joined: it ran together with the note before",
    "clearly late",
    "clearly early",
    "waited before it",
    "too soon",
    "slower or faster from here for a while",
};

/// Words for a written strike where they differ.
static const char* const strike_words[FAULT_KINDS] = {
    [FAULT_CUT_LONG] = "strike long",
    [FAULT_CUT_JOINED] = "strike joined: you held on to the note before",
    [FAULT_CUT_ABSENT] = "strike absent: the notes were separate, but none was heard",
};

static void
count_faults(const SrRound* const round, const size_t index, size_t* const counts)
{
  const SrNoteVerdict* const note = &round->notes[index];
  const bool missed = note->status == SR_NOTE_MISSED && !note->left_out;
  counts[FAULT_MISSED] += missed && !sr_round_is_behind_stop(round, index) ? 1 : 0;
  counts[FAULT_LEFT_OUT] += note->left_out ? 1 : 0;
  counts[FAULT_WRONG] += note->status == SR_NOTE_WRONG ? 1 : 0;
  if (note->has_cut) {
    counts[FAULT_CUT_LONG] += note->cut.verdict == SR_CUT_LONG ? 1 : 0;
    counts[FAULT_CUT_JOINED] += note->cut.verdict == SR_CUT_JOINED ? 1 : 0;
    counts[FAULT_CUT_ABSENT] += note->cut.verdict == SR_CUT_ABSENT ? 1 : 0;
    counts[FAULT_CUT_STRAY] += note->cut.verdict == SR_CUT_STRAY ? 1 : 0;
  } else if (note->joined == SR_YES) {
    ++counts[FAULT_JOINED];
  }
  if (sr_words_is_off_pulse(round, index)) {
    ++counts[note->offset_ms > 0.0 ? FAULT_LATE : FAULT_EARLY];
  }
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    const bool here = slip->note_index == index;
    counts[FAULT_WAIT] += here && slip->kind == SR_SLIP_HESITATION ? 1 : 0;
    counts[FAULT_HURRIED] += here && slip->kind == SR_SLIP_HURRIED ? 1 : 0;
    counts[FAULT_OTHER_TEMPO] += here && slip->kind == SR_SLIP_OTHER_TEMPO ? 1 : 0;
  }
}

void
sr_screen_most_often(const SrScreen* const screen, const SrAssessment* const assessment)
{
  size_t notes = assessment->rounds[0].note_count;
  for (size_t r = 1; r < assessment->round_count; ++r) {
    notes = assessment->rounds[r].note_count < notes ? assessment->rounds[r].note_count : notes;
  }
  size_t* const counts = calloc(notes * FAULT_KINDS + 1, sizeof(size_t));
  if (!counts) {
    return;
  }
  for (size_t r = 0; r < assessment->round_count; ++r) {
    for (size_t i = 0; i < notes; ++i) {
      count_faults(&assessment->rounds[r], i, counts + i * FAULT_KINDS);
    }
  }
  fputc('\n', screen->stream);
  sr_screen_line(screen, 0, 2, "What went wrong most often:");
  size_t other_tempo = 0;
  size_t left = 0;
  for (size_t r = 0; r < assessment->round_count; ++r) {
    other_tempo += sr_words_is_other_tempo(&assessment->rounds[r]);
    left += isfinite(assessment->rounds[r].pulse.left_pulses) ? 1 : 0;
  }
  if (left) {
    sr_screen_line(screen, 0, 4, "  You did not stay with the click, in %zu of %zu rounds.", left,
                   assessment->round_count);
  }
  if (other_tempo) {
    sr_screen_line(screen, 0, 4, "  The tempo was not steady, in %zu of %zu rounds.", other_tempo,
                   assessment->round_count);
  }
  bool any = other_tempo + left > 0;
  for (size_t line = 0; line < MOST_OFTEN; ++line) {
    size_t most = 0;
    for (size_t i = 1; i < notes * FAULT_KINDS; ++i) {
      most = counts[i] > counts[most] ? i : most;
    }
    if (counts[most] == 0) {
      break;
    }
    const SrRound* const round = &assessment->rounds[0];
    const size_t index = most / FAULT_KINDS;
    char name[SR_NOTE_NAME_SIZE];
    char words[SR_WORDS_SIZE] = "";
    const size_t kind = most % FAULT_KINDS;
    const bool strike = round->notes[index].ornament == SR_ORNAMENT_STRIKE && strike_words[kind];
    sr_words_add(words, "%s", strike ? strike_words[kind] : fault_words[kind]);
    sr_words_add(words, ", %zu of %zu times", counts[most], assessment->round_count);
    sr_screen_about(screen, round->notes[index].bar,
                    sr_words_note_name(&screen->naming, round, index, name), words);
    counts[most] = 0;
    any = true;
  }
  if (!any) {
    sr_screen_line(screen, 0, 2, "  Nothing: every note and cut was in its place.");
  }
  sr_screen_line(screen, 0, 2, "Use --all to see every note of every round.");
  free(counts);
}
