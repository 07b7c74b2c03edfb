// SPDX-License-Identifier: GPL-3.0-or-later

// Classification of insertions.
//
// What lies beside an insertion shows what it was: another pitch before a note that it made late is
// a correction, a neighbour's pitch is that note played twice, and anything else is an extra note.

#include "align.h"

#include "tuning.h"

#include <steadyreed/judge.h>

#include <math.h>

/// The first note after a time, and the last one before it; `note_count` if none.
static void
find_neighbours(const SrRound* const round, const double at_s, size_t* const before,
                size_t* const behind)
{
  *before = round->note_count;
  *behind = round->note_count;
  for (size_t i = 0; i < round->note_count && *behind == round->note_count; ++i) {
    const double onset_s = round->notes[i].onset_s;
    if (isfinite(onset_s) && onset_s > at_s) {
      *behind = i;
    } else if (isfinite(onset_s)) {
      *before = i;
    }
  }
}

/// The end of a chain of insertions, each close to the one before, from `extra` until a time.
static double
end_of_tries(const SrRound* const round, const size_t extra, const double until_s)
{
  double end_s = round->insertions[extra].end_s;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    const SrInsertion* const next = &round->insertions[i];
    if (next->onset_s > round->insertions[extra].onset_s && next->onset_s < until_s &&
        next->onset_s < end_s + SR_CORRECTED_S) {
      end_s = fmax(end_s, next->end_s);
    }
  }
  return end_s;
}

/// How late a note came, its wait included, s.
static double
late_by(const SrRound* const round, const size_t note)
{
  const SrNoteVerdict* const verdict = &round->notes[note];
  double late_s = isfinite(verdict->due_s) ? verdict->onset_s - verdict->due_s : 0.0;
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    const bool waited = slip->kind == SR_SLIP_HESITATION && slip->note_index == note;
    late_s += waited && isfinite(slip->wait_s) ? slip->wait_s : 0.0;
  }
  return late_s;
}

SrInsertionKind
sr_round_insertion_kind(const SrRound* const round, const size_t extra, size_t* const note)
{
  const SrInsertion* const played = &round->insertions[extra];
  size_t before = 0;
  size_t behind = 0;
  find_neighbours(round, played->onset_s, &before, &behind);
  *note = behind < round->note_count ? behind : before;
  if (before < round->note_count && round->notes[before].heard_midi == played->midi &&
      behind < round->note_count) {
    *note = before;
    return SR_INSERTION_AGAIN;
  }
  if (behind == round->note_count || round->notes[behind].status != SR_NOTE_PLAYED) {
    return SR_INSERTION_OTHER;
  }
  // A wrong note in its place delays the note; a button brushed by accident does not
  const double onset_s = round->notes[behind].onset_s;
  const double end_s = end_of_tries(round, extra, onset_s);
  if (fabs(onset_s - end_s) > SR_CORRECTED_S ||
      late_by(round, behind) < LATE_SHARE * (onset_s - played->onset_s)) {
    return SR_INSERTION_OTHER;
  }
  return round->notes[behind].heard_midi == played->midi ? SR_INSERTION_AGAIN
                                                         : SR_INSERTION_CORRECTED;
}

bool
sr_round_is_same_slip(const SrRound* const round, const SrSlip* const slip, const size_t extra)
{
  if (slip->kind != SR_SLIP_HESITATION || slip->note_index >= round->note_count) {
    return false;
  }
  size_t before = 0;
  size_t behind = 0;
  size_t note = 0;
  find_neighbours(round, round->insertions[extra].onset_s, &before, &behind);
  return behind == slip->note_index &&
         sr_round_insertion_kind(round, extra, &note) != SR_INSERTION_OTHER;
}

bool
sr_round_insertion_has_slip(const SrRound* const round, const size_t extra)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (sr_round_is_same_slip(round, &round->slips[i], extra)) {
      return true;
    }
  }
  return false;
}
