// SPDX-License-Identifier: GPL-3.0-or-later

#include "bars.h"
#include "key_guess.h"
#include "naming.h"
#include "tuning.h"

#include "phrase/key.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

SrScoreWish
sr_score_wish_none(void)
{
  return (SrScoreWish){.tempo_bpm = (double)NAN,
                       .reference_hz = (double)NAN,
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
  return SR_OK;
}

/// How long each note is written, in places: until it ends, or until the next begins where the
/// silence between is none to speak of.
static void
write_lengths(const SrPlayedNotes* const played, const SrGridNote* const grid, long* const lengths)
{
  for (size_t i = 0; i < played->count; ++i) {
    const SrPlayedNote* const note = &played->notes[i];
    const double onset_s =
        i > 0 && grid[i - 1].is_grace ? played->notes[i - 1].onset_s : note->onset_s;
    const double quavers = (note->end_s - onset_s) / grid[i].quaver_s;
    // Notes are let go a little early
    const long own = SR_PLACES * (long)fmax(1.0, floor(quavers + LET_GO_QUAVERS));
    size_t next = i + 1;
    while (next < played->count && grid[next].is_grace) {
      ++next;
    }
    const bool last = next >= played->count || grid[next].breaks;
    const long until = last ? own : grid[next].place - grid[i].place;
    const bool rests = !last && until - own >= SR_PLACES &&
                       quavers < (double)until / SR_PLACES - LEAST_REST_QUAVERS;
    lengths[i] = rests ? own : until;
  }
}

/// Put the notes of a score together.
static SrStatus
fill_notes(const SrPlayedNotes* const played, const SrGrid* const grid, const long* const lengths,
           SrScore* const score)
{
  score->notes = (SrScoreNote*)calloc(played->count + 1, sizeof(SrScoreNote));
  if (!score->notes) {
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
                          grid->notes[i].breaks && score->count > 1};
    if (grace) {
      note->played.onset_s = grace->onset_s;
      note->played.air = note->played.air || grace->air;
      if (note->played.grace_count < SR_PLAYED_GRACES) {
        memmove(note->played.grace_midi + 1, note->played.grace_midi,
                (size_t)note->played.grace_count * sizeof(int));
        note->played.grace_midi[0] = grace->grace_pitch;
        ++note->played.grace_count;
      }
      grace = NULL;
    }
  }
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
  const SrGridKnown known = {60.0 / wish->tempo_bpm, wish->meter_unit == 2 ? 4 : 0, wish->click_s,
                             wish->click_period_s};
  memset(layout, 0, sizeof(*layout));
  layout->lengths = (long*)calloc(played->count + 1, sizeof(long));
  if (!layout->lengths || sr_grid_make(played, &known, kind, &layout->grid) != SR_OK) {
    clear_layout(layout);
    return SR_NO_MEMORY;
  }
  write_lengths(played, layout->grid.notes, layout->lengths);
  layout->bars =
      sr_bars_find(played, &layout->grid, layout->lengths, wish->meter_beats, wish->meter_unit);
  layout->nats = layout->grid.nats + layout->bars.nats;
  return SR_OK;
}

/// Lay the notes in bars, with the likelier kind of pulse. `sure` receives how sure it is.
static SrStatus
choose_layout(const SrPlayedNotes* const played, const SrScoreWish* const wish,
              Layout* const layout, double* const sure)
{
  SrPulseKind kind = SR_PULSE_OF_TWO;
  const bool known = wish->meter_beats && sr_bars_kind(wish->meter_beats, wish->meter_unit, &kind);
  *sure = 1.0;
  SrStatus status = lay_out(played, wish, kind, layout);
  if (known || status != SR_OK) {
    return status;
  }
  Layout other;
  status = lay_out(played, wish, SR_PULSE_OF_THREE, &other);
  if (status == SR_OK && other.nats > layout->nats) {
    const Layout swap = other;
    other = *layout;
    *layout = swap;
  }
  *sure = 1.0 / (1.0 + exp(other.nats - layout->nats));
  clear_layout(&other);
  if (status != SR_OK) {
    clear_layout(layout);
  }
  return status;
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
  double sure_kind = 1.0;
  status = choose_layout(played, &wish, &layout, &sure_kind);
  if (status == SR_OK) {
    const SrGrid* const grid = &layout.grid;
    status = fill_notes(played, grid, layout.lengths, score);
    score->meter_beats = layout.bars.beats;
    score->meter_unit = layout.bars.unit;
    score->pulse_quavers = layout.bars.pulse_quavers;
    score->sure_meter = wish.meter_beats ? 1.0 : sure_kind * layout.bars.sure;
    score->tempo_bpm = 60.0 / (grid->quaver_s * layout.bars.pulse_quavers);
    score->sure_tempo = isnan(wish.tempo_bpm) ? grid->sure_quaver : 1.0;
    score->off_s = grid->onset_s;
    score->reference_hz = played->reference_hz;
    score->clicked = isfinite(wish.click_s);
    score->doubled = played->doubled;
    choose_key(played, &wish, score);
    clear_layout(&layout);
  }
  if (status != SR_OK) {
    sr_score_clear(score);
    return no_memory(error);
  }
  return SR_OK;
}
