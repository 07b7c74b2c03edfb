// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/two_takes.h>

#include <math.h>

/// Times closer than this are the same, whole notes.
#define SAME 1e-9

/// A written time, and when it was due in a round.
typedef struct {
  double time; ///< Whole notes; NAN for none
  double due_s;
} Anchor;

static double
written(const SrPhrase* const phrase, const size_t note)
{
  return sr_fraction_value(sr_phrase_note(phrase, note)->start);
}

/// When a note was due, or else when it came.
static Anchor
anchor_of(const SrPhrase* const phrase, const SrRound* const round, const size_t note)
{
  const SrNoteVerdict* const verdict = &round->notes[note];
  const double due_s = isfinite(verdict->due_s) ? verdict->due_s : verdict->onset_s;
  return (Anchor){isfinite(due_s) ? written(phrase, note) : (double)NAN, due_s};
}

/// Seconds of a whole note at the tempo of a round; NAN if that is not known.
static double
whole_note_s(const SrRound* const round)
{
  const double unit = sr_fraction_value(round->pulse.unit);
  return round->pulse.played_bpm > 0.0 && unit > 0.0 ? 60.0 / (round->pulse.played_bpm * unit)
                                                     : (double)NAN;
}

/// When a written time was due: between the notes around it, or beyond the outermost by the tempo.
static double
due_at(const SrPhrase* const phrase, const SrRound* const round, const double time)
{
  Anchor before = {(double)NAN, (double)NAN};
  Anchor after = before;
  for (size_t i = 0; i < round->note_count; ++i) {
    const Anchor anchor = anchor_of(phrase, round, i);
    if (isnan(anchor.time)) {
      continue;
    }
    if (anchor.time <= time + SAME) {
      before = anchor;
    } else if (isnan(after.time)) {
      after = anchor;
    }
  }
  if (isnan(before.time)) {
    return after.due_s - (after.time - time) * whole_note_s(round);
  }
  if (time - before.time <= SAME) {
    return before.due_s;
  }
  if (isnan(after.time)) {
    return before.due_s + (time - before.time) * whole_note_s(round);
  }
  const double share = (time - before.time) / (after.time - before.time);
  return before.due_s + share * (after.due_s - before.due_s);
}

/// When the note on the first beat of a bar came, or else when that beat was due.
static double
begin_of(const SrPhrase* const phrase, const SrRound* const round, const double time)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    if (fabs(written(phrase, i) - time) <= SAME && isfinite(round->notes[i].onset_s)) {
      return round->notes[i].onset_s;
    }
  }
  return due_at(phrase, round, time);
}

/// When the last note of a bar ends; -INFINITY if none of its notes was heard.
static double
end_of(const SrPhrase* const phrase, const SrRound* const round, const double from, const double to)
{
  double end_s = (double)-INFINITY;
  for (size_t i = 0; i < round->note_count; ++i) {
    const double time = written(phrase, i);
    if (time >= from - SAME && time < to - SAME && isfinite(round->notes[i].end_s)) {
      end_s = fmax(end_s, round->notes[i].end_s);
    }
  }
  return end_s;
}

bool
sr_round_bar_times(const SrPhrase* const phrase, const SrRound* const round, const size_t bar,
                   double* const from_s, double* const to_s)
{
  const SrPhraseBar* const at = sr_phrase_bar(phrase, bar);
  const double from = sr_fraction_value(at->start);
  const double to = from + sr_fraction_value(at->length);
  const bool last = bar + 1 >= sr_phrase_bar_count(phrase);
  const double begins_s = begin_of(phrase, round, from);
  const double end_s = end_of(phrase, round, from, to);
  const double ends_s = last ? end_s : begin_of(phrase, round, to);
  if (!isfinite(begins_s) || !isfinite(ends_s) || ends_s <= begins_s || end_s <= begins_s) {
    return false;
  }
  *from_s = begins_s;
  *to_s = ends_s;
  return true;
}
