// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file advice_cuts.c
   Advice on written cuts and strikes.
*/

#include "adviser.h"

#include <math.h>

/// Words for a cut or a strike.
typedef struct {
  const char* name;
  const char* doing; ///< Before "finger"
  const char* move;
} GraceWords;

static const GraceWords*
words_for(const SrNoteVerdict* const note)
{
  static const GraceWords cut = {"cut", "cutting", "flick"};
  static const GraceWords strike = {"strike", "striking", "tap"};
  return note->ornament == SR_ORNAMENT_STRIKE ? &strike : &cut;
}

/// A cut or strike that was not heard, or one heard in place of the other.
static void
advise_on_absent(SrAdviser* const a, const size_t index, const size_t count)
{
  char name[NAME_SIZE];
  sr_adviser_name_note(a, index, name, sizeof(name));
  const SrNoteVerdict* const note = &a->round->notes[index];
  const GraceWords* const words = words_for(note);
  if (note->cut.midi >= 0) {
    const bool strike = note->cut.midi < note->midi;
    sr_adviser_say(a, 0.8 * (double)count,
                   "%s, %s absent%s: you played a %s instead before %s; %s a %s button",
                   sr_adviser_place(a, index), words->name, sr_adviser_again(a, count),
                   strike ? "strike" : "cut", name, words->move, strike ? "higher" : "lower");
  } else {
    sr_adviser_say(
        a, 0.8 * (double)count,
        "%s, %s absent%s: no %s was heard before %s; the notes are already separate, so just add "
        "the %s",
        sr_adviser_place(a, index), words->name, sr_adviser_again(a, count), words->name, name,
        words->move);
  }
}

void
sr_advise_on_cuts(SrAdviser* const a)
{
  size_t counts[4] = {0, 0, 0, 0};
  size_t worst[4] = {0, 0, 0, 0};
  double longest = 0.0;
  for (size_t i = 0; i < a->round->note_count; ++i) {
    const SrNoteVerdict* const note = &a->round->notes[i];
    if (!note->has_cut || note->cut.verdict == SR_CUT_STRAY || note->cut.verdict == SR_CUT_CLEAN) {
      continue;
    }
    const size_t kind = (size_t)note->cut.verdict;
    const bool longer = kind == SR_CUT_LONG && note->cut.length_ms > longest;
    if (counts[kind] == 0 || longer) {
      worst[kind] = i;
      longest = longer ? note->cut.length_ms : longest;
    }
    ++counts[kind];
  }
  char name[NAME_SIZE];
  if (counts[SR_CUT_JOINED]) {
    const size_t i = worst[SR_CUT_JOINED];
    const SrNoteVerdict* const note = &a->round->notes[i];
    sr_adviser_name_note(a, i - 1, name, sizeof(name));
    const GraceWords* const words = words_for(note);
    if (isfinite(note->cut.onset_s)) {
      // The remedy may be read first, so it names the note itself
      char plain[NAME_SIZE];
      sr_adviser_name_plainly(a, i - 1, plain, sizeof(plain));
      sr_adviser_say(a, 1.2 * (double)counts[SR_CUT_JOINED],
                     "%s, %s joined%s: you held on to %s; lift %s as the %s finger %ss",
                     sr_adviser_place(a, i), words->name,
                     sr_adviser_again(a, counts[SR_CUT_JOINED]), name, plain, words->doing,
                     words->move);
    } else {
      sr_adviser_say(
          a, 1.2 * (double)counts[SR_CUT_JOINED],
          "%s, %s joined%s: %s ran into the next one and no %s was heard; lift the finger and %s "
          "the %s",
          sr_adviser_place(a, i), words->name, sr_adviser_again(a, counts[SR_CUT_JOINED]), name,
          words->name, words->move, words->name);
    }
  }
  if (counts[SR_CUT_LONG]) {
    const size_t i = worst[SR_CUT_LONG];
    sr_adviser_name_note(a, i, name, sizeof(name));
    const GraceWords* const words = words_for(&a->round->notes[i]);
    sr_adviser_say(
        a, 1.0 * (double)counts[SR_CUT_LONG],
        "%s, %s long%s: the %s on %s lasted %.0f ms and sounds like a note; just %s the button",
        sr_adviser_place(a, i), words->name, sr_adviser_again(a, counts[SR_CUT_LONG]), words->name,
        name, a->round->notes[i].cut.length_ms, words->move);
  }
  if (counts[SR_CUT_ABSENT]) {
    advise_on_absent(a, worst[SR_CUT_ABSENT], counts[SR_CUT_ABSENT]);
  }
  // Repeated notes that ran together where no cut is written
  for (size_t i = 1; i < a->round->note_count; ++i) {
    const SrNoteVerdict* const note = &a->round->notes[i];
    if (note->joined == SR_YES && !note->has_cut) {
      sr_adviser_name_note(a, i - 1, name, sizeof(name));
      sr_adviser_say(
          a, 1.0,
          "%s, notes joined: %s ran into the next; lift between them, or separate them with a cut",
          sr_adviser_place(a, i), name);
      break;
    }
  }
}
