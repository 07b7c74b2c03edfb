// SPDX-License-Identifier: GPL-3.0-or-later

#include "bars.h"
#include "doubtful.h"
#include "first_bar.h"
#include "key_guess.h"
#include "naming.h"
#include "tuning.h"
#include "written_lengths.h"

#include "phrase/key.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

SrScoreWish
sr_score_wish_none(void)
{
  return (SrScoreWish){.tempo_bpm = (double)NAN,
                       .reference_hz = (double)NAN,
                       .upbeat_quavers = (double)NAN,
                       .click_s = (double)NAN,
                       .click_period_s = (double)NAN};
}

void
sr_score_clear(SrScore* const score)
{
  free(score->notes);
  memset(score, 0, sizeof(*score));
}

/// Whether what is known is possible.
static SrStatus
check_wish(const SrScoreWish* const wish, SrError* const error)
{
  SrKey key;
  size_t wrong = 0;
  if (wish->key && (strlen(wish->key) >= sizeof(((SrScore*)NULL)->key) ||
                    !sr_key_read(wish->key, strlen(wish->key), &key, &wrong))) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "There is no key \"%s\"; one is D, Amix or Em.",
                        wish->key);
  }
  SrPulseKind kind;
  if (wish->meter_beats && !sr_bars_kind(wish->meter_beats, wish->meter_unit, &kind)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The meter is one of 6/8, 9/8, 12/8, 2/4, 3/4, 4/4 and 2/2, not %d/%d.",
                        wish->meter_beats, wish->meter_unit);
  }
  const double halves = 2.0 * wish->upbeat_quavers;
  if (isfinite(halves) &&
      (halves < 0.0 || halves > SR_MOST_UPBEAT * 2.0 || fabs(halves - round(halves)) > 1e-9)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "An upbeat has 0 to %g quavers, in halves, not %g.",
                        SR_MOST_UPBEAT, wish->upbeat_quavers);
  }
  return SR_OK;
}

/// Put the notes of a score together.
static SrStatus
fill_notes(const SrPlayedNotes* const played, const SrGrid* const grid, const long* const lengths,
           SrScore* const score)
{
  score->notes = (SrScoreNote*)calloc(played->count + 1, sizeof(SrScoreNote));
  bool* const doubtful = (bool*)calloc(played->count + 1, sizeof(bool));
  if (!score->notes || !doubtful || sr_doubtful_find(played, grid, doubtful) != SR_OK) {
    free(doubtful);
    return SR_NO_MEMORY;
  }
  const SrPlayedNote* grace = NULL;
  for (size_t i = 0; i < played->count; ++i) {
    if (grid->notes[i].is_grace) {
      grace = &played->notes[i];
      continue;
    }
    SrScoreNote* const note = &score->notes[score->count++];
    *note = (SrScoreNote){played->notes[i], grid->notes[i].place, lengths[i],
                          grid->notes[i].breaks && score->count > 1, false};
    if (grace) {
      note->played.onset_s = grace->onset_s;
      note->played.air = note->played.air || grace->air;
      note->doubtful = doubtful[grace - played->notes];
      if (note->played.grace_count < SR_PLAYED_GRACES) {
        memmove(note->played.grace_midi + 1, note->played.grace_midi,
                (size_t)note->played.grace_count * sizeof(int));
        note->played.grace_midi[0] = grace->grace_pitch;
        ++note->played.grace_count;
      }
      grace = NULL;
    }
  }
  free(doubtful);
  return SR_OK;
}

/// Choose the key, or take the one that is known.
static void
choose_key(const SrPlayedNotes* const played, const SrScoreWish* const wish, SrScore* const score)
{
  const SrKeyGuess key = sr_key_guess(played);
  memcpy(score->key, key.name, sizeof(score->key));
  score->sure_key = key.sure;
  if (wish->key) {
    memset(score->key, 0, sizeof(score->key));
    memcpy(score->key, wish->key, strlen(wish->key));
    score->sure_key = 1.0;
  }
}

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the notes.");
}

/// Notes laid in bars.
typedef struct {
  SrGrid grid;
  SrBars bars;
  long* lengths;
  double nats;
} Layout;

static void
clear_layout(Layout* const layout)
{
  sr_grid_clear(&layout->grid);
  free(layout->lengths);
  memset(layout, 0, sizeof(*layout));
}

/// Lay the notes in bars with one kind of pulse.
static SrStatus
lay_out(const SrPlayedNotes* const played, const SrScoreWish* const wish, const SrPulseKind kind,
        Layout* const layout)
{
  const SrGridKnown known = {60.0 / wish->tempo_bpm, wish->meter_unit == 2 ? 4 : 0,
                             wish->upbeat_quavers, wish->click_s, wish->click_period_s};
  memset(layout, 0, sizeof(*layout));
  layout->lengths = (long*)calloc(played->count + 1, sizeof(long));
  if (!layout->lengths || sr_grid_make(played, &known, kind, &layout->grid) != SR_OK) {
    clear_layout(layout);
    return SR_NO_MEMORY;
  }
  sr_written_lengths(played, layout->grid.notes, layout->lengths);
  layout->bars = sr_bars_find(played, &layout->grid, layout->lengths, wish->meter_beats,
                              wish->meter_unit, wish->upbeat_quavers);
  layout->nats = layout->grid.nats + layout->bars.nats;
  return SR_OK;
}

/// Lay the notes in bars, with the likelier kind of pulse. `other` receives the layout with the
/// other kind, without notes where the kind is known; clear both.
static SrStatus
choose_layout(const SrPlayedNotes* const played, const SrScoreWish* const wish,
              Layout* const layout, Layout* const other)
{
  memset(other, 0, sizeof(*other));
  SrPulseKind kind = SR_PULSE_OF_TWO;
  const bool known = wish->meter_beats && sr_bars_kind(wish->meter_beats, wish->meter_unit, &kind);
  SrStatus status = lay_out(played, wish, kind, layout);
  if (known || status != SR_OK) {
    return status;
  }
  status = lay_out(played, wish, SR_PULSE_OF_THREE, other);
  if (status == SR_OK && other->nats > layout->nats) {
    const Layout swap = *other;
    *other = *layout;
    *layout = swap;
  }
  return status;
}

/// Tell the tempo, how sure it is, and the next likely one.
static void
tell_tempo(const Layout* const layout, const Layout* const other, const double sure_kind,
           const bool known, SrScore* const score)
{
  const SrGrid* const grid = &layout->grid;
  const double quavers = layout->bars.pulse_quavers;
  score->tempo_bpm = 60.0 / (grid->quaver_s * quavers);
  score->sure_tempo = 1.0;
  score->other_bpm = (double)NAN;
  if (known) {
    return;
  }
  score->other_bpm = 60.0 / (grid->other_quaver_s * quavers);
  score->sure_tempo = grid->sure_quaver;
  if (other->grid.notes) {
    const double bpm = 60.0 / (other->grid.quaver_s * other->bars.pulse_quavers);
    if (fabs(log(bpm / score->tempo_bpm)) > OTHER_QUAVER) {
      score->other_meter = sure_kind < grid->sure_quaver;
      score->other_bpm = sure_kind < grid->sure_quaver ? bpm : score->other_bpm;
      score->sure_tempo *= sure_kind;
    }
  }
}

SrStatus
sr_score_make(SrPlayedNotes* const played, const SrScoreWish* const asked, SrScore* const score,
              SrError* const error)
{
  memset(score, 0, sizeof(*score));
  const SrScoreWish wish = asked ? *asked : sr_score_wish_none();
  SrStatus status = check_wish(&wish, error);
  if (status != SR_OK) {
    return status;
  }
  if (played->count == 0) {
    return sr_error_set(
        error, SR_NOTHING_HEARD,
        "No note was heard in it. If music is in it, it is too soft, or under talk or "
        "noise; choose a stretch with --from and --to.");
  }
  score->renamed = sr_naming_settle(played, wish.reference_hz);
  Layout layout;
  Layout other;
  status = choose_layout(played, &wish, &layout, &other);
  if (status == SR_OK) {
    const SrGrid* const grid = &layout.grid;
    const double sure_kind =
        other.grid.notes ? 1.0 / (1.0 + exp(fmin(50.0, other.nats - layout.nats))) : 1.0;
    status = fill_notes(played, grid, layout.lengths, score);
    score->meter_beats = layout.bars.beats;
    score->meter_unit = layout.bars.unit;
    score->pulse_quavers = layout.bars.pulse_quavers;
    score->sure_meter = wish.meter_beats ? 1.0 : sure_kind * layout.bars.sure;
    tell_tempo(&layout, &other, sure_kind, isfinite(wish.tempo_bpm) || isfinite(wish.click_s),
               score);
    const long bar = (long)layout.bars.quavers * SR_PLACES;
    score->upbeat = (bar - grid->notes[0].place % bar) % bar;
    score->sure_upbeat = 1.0;
    if (status == SR_OK && isnan(wish.upbeat_quavers)) {
      status = sr_first_bar_sure(played, grid, &layout.bars, &score->sure_upbeat);
    }
    score->off_s = grid->onset_s;
    score->reference_hz = played->reference_hz;
    score->clicked = isfinite(wish.click_s);
    score->doubled = played->doubled;
    choose_key(played, &wish, score);
  }
  clear_layout(&layout);
  clear_layout(&other);
  if (status != SR_OK) {
    sr_score_clear(score);
    return no_memory(error);
  }
  return SR_OK;
}
