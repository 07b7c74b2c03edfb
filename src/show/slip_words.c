// SPDX-License-Identifier: GPL-3.0-or-later

#include "verdict_words.h"

#include "text.h"

#include <math.h>

/// Name the notes left out before the one played next.
static void
say_left_out(const SrNaming* const naming, const SrRound* const round, const SrSlip* const slip,
             char* const words)
{
  if (slip->left_out == 0 || slip->left_out > slip->note_index) {
    return;
  }
  char first[SR_NOTE_NAME_SIZE];
  char last[SR_NOTE_NAME_SIZE];
  char clock[32];
  const size_t from = slip->note_index - slip->left_out;
  sr_words_add(words,
               from == 0 ? "started here at %s; you left out %s in bar %d"
                         : "jumped to here at %s; you left out %s in bar %d",
               sr_text_clock(slip->at_s, clock), sr_words_note_name(naming, round, from, first),
               round->notes[from].bar);
  if (slip->left_out > 1) {
    sr_words_add(words, " to %s in bar %d, %zu notes",
                 sr_words_note_name(naming, round, slip->note_index - 1, last),
                 round->notes[slip->note_index - 1].bar, slip->left_out);
  }
}

/// Name the insertions before a note; false if there are none.
static bool
say_tries(const SrNaming* const naming, const SrRound* const round, const SrSlip* const slip,
          char* const words)
{
  bool corrected = false;
  bool again = false;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t note = 0;
    if (!sr_round_is_same_slip(round, slip, i)) {
      continue;
    }
    char name[12];
    if (sr_round_insertion_kind(round, i, &note) == SR_INSERTION_CORRECTED) {
      sr_words_add(words, "%s%s", corrected ? ", " : "",
                   sr_text_midi_name(round->insertions[i].midi, naming->flats, name));
      corrected = true;
    } else {
      again = true;
    }
  }
  if (corrected) {
    sr_words_add(words, " first, then corrected; the beat waited");
  } else if (again) {
    sr_words_add(words, "you played a note twice here; the beat waited");
  }
  return corrected || again;
}

/// Describe how far a stretch at another tempo went, and how much slower or faster it was.
static void
say_stretch(const SrNaming* const naming, const SrRound* const round, const SrSlip* const slip,
            char* const words)
{
  sr_words_add(words, "took %.0f %% %s from here, %.1f s in all", fabs(slip->longer_percent),
               slip->wait_s > 0.0 ? "longer" : "less time", fabs(slip->wait_s));
  if (slip->until < round->note_count) {
    char name[SR_NOTE_NAME_SIZE];
    sr_words_add(words, "; back to tempo at the %s in bar %d",
                 sr_words_note_name(naming, round, slip->until, name),
                 round->notes[slip->until].bar);
  }
}

void
sr_words_slip(const SrNaming* const naming, const SrRound* const round, const SrSlip* const slip,
              char* const words)
{
  char clock[32];
  sr_text_clock(slip->at_s, clock);
  switch (slip->kind) {
  case SR_SLIP_FALSE_START:
    sr_words_add(words, "false start at %s: you got this far and started again", clock);
    break;
  case SR_SLIP_RESTART:
    sr_words_add(words, "went back to here at %s and carried on", clock);
    break;
  case SR_SLIP_HESITATION:
    if (!say_tries(naming, round, slip, words)) {
      sr_words_add(words, "hesitation before this note:");
    }
    if (isfinite(slip->wait_s)) {
      sr_words_add(words, " %.1f s", slip->wait_s);
    }
    break;
  case SR_SLIP_HURRIED:
    if (isfinite(slip->wait_s)) {
      sr_words_add(words, "%.1f s too soon, and so is everything after it", -slip->wait_s);
    } else {
      sr_words_add(words, "too soon");
    }
    break;
  case SR_SLIP_STOPPED:
    sr_words_add(words, "stopped here at %s", clock);
    break;
  case SR_SLIP_LEFT_OUT:
    say_left_out(naming, round, slip, words);
    break;
  case SR_SLIP_OTHER_TEMPO:
    say_stretch(naming, round, slip, words);
    break;
  }
}

bool
sr_words_extra(const SrNaming* const naming, const SrRound* const round, const size_t extra,
               const size_t note, char* const words)
{
  const SrInsertion* const inserted = &round->insertions[extra];
  size_t about = 0;
  const SrInsertionKind kind = sr_round_insertion_kind(round, extra, &about);
  if (about != note || note >= round->note_count || sr_round_insertion_has_slip(round, extra)) {
    return false;
  }
  char name[12];
  char clock[32];
  sr_text_midi_name(inserted->midi, naming->flats, name);
  if (kind == SR_INSERTION_CORRECTED) {
    sr_words_add(words, "%s first, then corrected", name);
  } else if (kind == SR_INSERTION_AGAIN) {
    sr_words_add(words, "played twice");
  } else {
    sr_words_add(words, "extra note: %s %s it, at %s", name,
                 round->notes[note].onset_s > inserted->onset_s ? "before" : "after",
                 sr_text_clock(inserted->onset_s, clock));
  }
  return true;
}
