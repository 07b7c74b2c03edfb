// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/show.h>

#include "tally.h"
#include "text.h"

#include <jansson.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

// All makers below return a new reference, or NULL without memory. json_object_set_new() and
// json_array_append_new() fail on NULL, and the Maker records that.

/// Whether all allocations so far succeeded.
typedef struct {
  bool ok;
} Maker;

/// Digits that survive a double, so that 0.1 stays 0.1.
#define DIGITS JSON_REAL_PRECISION(15)

static void
put(Maker* const maker, json_t* const object, const char* const key, json_t* const value)
{
  if (json_object_set_new(object, key, value)) {
    maker->ok = false;
  }
}

static void
append(Maker* const maker, json_t* const array, json_t* const value)
{
  if (json_array_append_new(array, value)) {
    maker->ok = false;
  }
}

/// A number rounded to `decimals`; null if it is not finite.
static json_t*
number(const double value, const int decimals)
{
  if (!isfinite(value)) {
    return json_null();
  }
  const double scale = pow(10.0, decimals);
  const double rounded = round(value * scale) / scale;
  // Adding 0 turns -0 into 0
  return json_real(rounded + 0.0);
}

static json_t*
seconds(const double value)
{
  return number(value, 4);
}

static json_t*
fine(const double value)
{
  return number(value, 2);
}

static json_t*
count_of(const size_t count)
{
  return json_integer((json_int_t)count);
}

static json_t*
midi_or_null(const int midi)
{
  return midi < 0 ? json_null() : json_integer(midi);
}

/// A string; invalid UTF-8 becomes U+FFFD.
static json_t*
text(const char* const bytes)
{
  char* const clean = sr_text_valid(bytes ? bytes : "");
  json_t* const string = clean ? json_string(clean) : NULL;
  free(clean);
  return string;
}

static const char*
note_status_word(const SrNoteStatus status)
{
  switch (status) {
  case SR_NOTE_PLAYED:
    return "played";
  case SR_NOTE_MISSED:
    return "missed";
  case SR_NOTE_WRONG:
    return "wrong";
  case SR_NOTE_UNHEARD:
    return "unheard";
  }
  return "unheard";
}

static const char*
slip_word(const SrSlipKind kind)
{
  switch (kind) {
  case SR_SLIP_FALSE_START:
    return "false start";
  case SR_SLIP_RESTART:
    return "restart";
  case SR_SLIP_HESITATION:
    return "hesitation";
  case SR_SLIP_HURRIED:
    return "hurried";
  case SR_SLIP_LEFT_OUT:
    return "left out";
  case SR_SLIP_OTHER_TEMPO:
    return "other tempo";
  case SR_SLIP_STOPPED:
    return "stopped";
  }
  return "stopped";
}

static json_t*
word_or_null(const char* const word)
{
  return word ? json_string(word) : json_null();
}

static json_t*
cut_object(Maker* const maker, const SrCut* const cut)
{
  json_t* const object = json_object();
  put(maker, object, "verdict", json_string(sr_cut_word(cut->verdict)));
  put(maker, object, "onset_s", seconds(cut->onset_s));
  put(maker, object, "length_ms", fine(cut->length_ms));
  put(maker, object, "midi", midi_or_null(cut->midi));
  put(maker, object, "fall_db", fine(cut->fall_db));
  return object;
}

static json_t*
note_object(Maker* const maker, const SrNoteVerdict* const note)
{
  json_t* const object = json_object();
  put(maker, object, "index", count_of(note->index));
  put(maker, object, "bar", json_integer(note->bar));
  put(maker, object, "midi", midi_or_null(note->midi));
  put(maker, object, "status", json_string(note_status_word(note->status)));
  put(maker, object, "left_out", json_boolean(note->left_out));
  put(maker, object, "heard_midi", midi_or_null(note->heard_midi));
  put(maker, object, "due_s", seconds(note->due_s));
  put(maker, object, "onset_s", seconds(note->onset_s));
  put(maker, object, "end_s", seconds(note->end_s));
  put(maker, object, "offset_ms", fine(note->offset_ms));
  put(maker, object, "cents", fine(note->cents));
  put(maker, object, "level_db", fine(note->level_db));
  put(maker, object, "joined",
      note->joined == SR_NOT_ASKED ? json_null() : json_boolean(note->joined == SR_YES));
  put(maker, object, "air_asked", json_boolean(note->air_asked));
  put(maker, object, "cut", note->has_cut ? cut_object(maker, &note->cut) : json_null());
  put(maker, object, "ornament", word_or_null(sr_ornament_word(note->ornament)));
  put(maker, object, "graces", count_of(note->graces));
  return object;
}

static json_t*
alone_object(Maker* const maker, const SrAlone* const alone)
{
  json_t* const object = json_object();
  put(maker, object, "start_s", seconds(alone->silence.start_s));
  put(maker, object, "end_s", seconds(alone->silence.end_s));
  put(maker, object, "bars", count_of(alone->silence.bars));
  put(maker, object, "offset_ms", fine(alone->offset_ms));
  put(maker, object, "change_ms", fine(alone->change_ms));
  put(maker, object, "tempo_percent", fine(alone->tempo_percent));
  return object;
}

static json_t*
amounts_object(Maker* const maker, const SrAmounts* const amounts)
{
  json_t* const object = json_object();
  put(maker, object, "notes", count_of(amounts->notes));
  put(maker, object, "cuts", count_of(amounts->cuts));
  put(maker, object, "air", count_of(amounts->air));
  return object;
}

/// `notes` is the round's number of notes.
static json_t*
pulse_object(Maker* const maker, const SrPulse* const pulse, const size_t notes)
{
  json_t* const object = json_object();
  put(maker, object, "unit",
      pulse->unit.denominator > 0
          ? json_sprintf("%" JSON_INTEGER_FORMAT "/%" JSON_INTEGER_FORMAT,
                         (json_int_t)pulse->unit.numerator, (json_int_t)pulse->unit.denominator)
          : json_null());
  put(maker, object, "target_bpm", fine(pulse->target_bpm));
  put(maker, object, "played_bpm", fine(pulse->played_bpm));
  put(maker, object, "drift_percent", fine(pulse->drift_percent));
  put(maker, object, "first_bpm", fine(pulse->first_bpm));
  put(maker, object, "last_bpm", fine(pulse->last_bpm));
  put(maker, object, "change_percent", fine(pulse->change_percent));
  put(maker, object, "jump_note",
      pulse->jump_note < notes ? count_of(pulse->jump_note) : json_null());
  put(maker, object, "mean_offset_ms", fine(pulse->mean_offset_ms));
  put(maker, object, "left_pulses", fine(pulse->left_pulses));
  put(maker, object, "left_percent", fine(pulse->left_percent));
  put(maker, object, "spread_ms", fine(pulse->spread_ms));
  put(maker, object, "npvi", fine(pulse->npvi));
  json_t* const lilt = json_array();
  for (size_t i = 0; i < pulse->lilt_count; ++i) {
    append(maker, lilt, number(pulse->lilt[i], 4));
  }
  put(maker, object, "lilt", lilt);
  return object;
}

static json_t*
extra_object(Maker* const maker, const SrInsertion* const extra)
{
  json_t* const object = json_object();
  put(maker, object, "onset_s", seconds(extra->onset_s));
  put(maker, object, "end_s", seconds(extra->end_s));
  put(maker, object, "midi", midi_or_null(extra->midi));
  return object;
}

static json_t*
air_object(Maker* const maker, const SrAirRelease* const air)
{
  json_t* const object = json_object();
  put(maker, object, "start_s", seconds(air->start_s));
  put(maker, object, "end_s", seconds(air->end_s));
  put(maker, object, "level_db", fine(air->level_db));
  put(maker, object, "over_mask_db", fine(air->over_mask_db));
  put(maker, object, "audible", json_boolean(air->audible));
  put(maker, object, "note_index", count_of(air->note_index));
  put(maker, object, "note_dip_db", fine(air->note_dip_db));
  put(maker, object, "note_bend_cents", fine(air->note_bend_cents));
  put(maker, object, "between", json_boolean(air->between));
  put(maker, object, "asked", json_boolean(air->asked));
  put(maker, object, "late_ms", fine(air->late_ms));
  put(maker, object, "failed", json_boolean(air->failed));
  return object;
}

static json_t*
slip_object(Maker* const maker, const SrSlip* const slip, const size_t notes)
{
  const bool stretch = slip->kind == SR_SLIP_OTHER_TEMPO;
  json_t* const object = json_object();
  put(maker, object, "kind", json_string(slip_word(slip->kind)));
  put(maker, object, "at_s", seconds(slip->at_s));
  put(maker, object, "note_index", count_of(slip->note_index));
  put(maker, object, "bar", json_integer(slip->bar));
  put(maker, object, "wait_s", seconds(slip->wait_s));
  put(maker, object, "left_out", count_of(slip->left_out));
  put(maker, object, "until", stretch && slip->until < notes ? count_of(slip->until) : json_null());
  put(maker, object, "longer_percent", fine(stretch ? slip->longer_percent : (double)NAN));
  return object;
}

static json_t*
round_object(Maker* const maker, const SrRound* const round)
{
  json_t* const object = json_object();
  put(maker, object, "start_s", seconds(round->start_s));
  put(maker, object, "end_s", seconds(round->end_s));
  put(maker, object, "pulse", pulse_object(maker, &round->pulse, round->note_count));

  json_t* const notes = json_array();
  for (size_t i = 0; i < round->note_count; ++i) {
    append(maker, notes, note_object(maker, &round->notes[i]));
  }
  put(maker, object, "notes", notes);

  json_t* const extra = json_array();
  for (size_t i = 0; i < round->insertion_count; ++i) {
    append(maker, extra, extra_object(maker, &round->insertions[i]));
  }
  put(maker, object, "extra", extra);

  json_t* const air = json_array();
  for (size_t i = 0; i < round->air_count; ++i) {
    append(maker, air, air_object(maker, &round->air[i]));
  }
  put(maker, object, "air", air);

  json_t* const slips = json_array();
  for (size_t i = 0; i < round->slip_count; ++i) {
    append(maker, slips, slip_object(maker, &round->slips[i], round->note_count));
  }
  put(maker, object, "slips", slips);

  json_t* const not_judged = json_array();
  SrTally tally = {0};
  sr_tally_add(&tally, round);
  for (int o = SR_ORNAMENT_ROLL; o < SR_ORNAMENTS; ++o) {
    if (tally.written[o]) {
      json_t* const ornament = json_object();
      put(maker, ornament, "ornament", json_string(sr_ornament_word((SrOrnament)o)));
      put(maker, ornament, "written", count_of(tally.written[o]));
      put(maker, ornament, "heard", count_of(tally.heard[o]));
      put(maker, ornament, "in_part", count_of(tally.in_part[o]));
      append(maker, not_judged, ornament);
    }
  }
  put(maker, object, "not_judged", not_judged);
  json_t* const alone = json_array();
  for (size_t i = 0; i < round->alone_count; ++i) {
    append(maker, alone, alone_object(maker, &round->alone[i]));
  }
  put(maker, object, "alone", alone);
  put(maker, object, "asked", amounts_object(maker, &round->asked));
  put(maker, object, "judged", amounts_object(maker, &round->judged));

  json_t* const scores = json_object();
  put(maker, scores, "cuts", number(round->scores.cuts, 1));
  put(maker, scores, "evenness", number(round->scores.evenness, 1));
  put(maker, scores, "air", number(round->scores.air, 1));
  put(maker, object, "scores", scores);

  json_t* const advice = json_array();
  for (size_t i = 0; i < round->advice_count; ++i) {
    append(maker, advice, text(round->advice[i]));
  }
  put(maker, object, "advice", advice);
  return object;
}

static json_t*
assessment_object(Maker* const maker, const SrShownTake* const shown)
{
  const SrAssessment* const assessment = shown->assessment;
  json_t* const object = json_object();
  put(maker, object, "format", json_string("steadyreed-assessment"));
  put(maker, object, "version", json_integer(1));

  json_t* const phrase = json_object();
  put(maker, phrase, "title", text(assessment->title));
  put(maker, phrase, "first_bar", json_integer(assessment->first_bar));
  put(maker, phrase, "last_bar", json_integer(assessment->last_bar));
  put(maker, phrase, "notes", count_of(assessment->phrase_notes));
  // Semitones up from the written pitch, as for all pitches here
  put(maker, phrase, "transposed",
      json_integer(shown->phrase ? sr_phrase_transposed(shown->phrase) : 0));
  put(maker, object, "phrase", phrase);

  const SrTakeFacts* const facts = &assessment->take;
  json_t* const take = json_object();
  put(maker, take, "path", text(assessment->path));
  put(maker, take, "seconds", seconds(facts->seconds));
  put(maker, take, "rate_hz", fine(facts->rate_hz));
  put(maker, take, "peak_dbfs", fine(facts->peak_dbfs));
  put(maker, take, "clipped_samples", count_of(facts->clipped_samples));
  put(maker, object, "take", take);

  put(maker, object, "reference_hz", fine(assessment->reference_hz));
  put(maker, object, "doubled", json_boolean(assessment->doubled));
  put(maker, object, "accompanied", json_boolean(assessment->accompanied));

  json_t* const click = isfinite(assessment->click_s) ? json_object() : json_null();
  if (isfinite(assessment->click_s)) {
    put(maker, click, "at_s", seconds(assessment->click_s));
    put(maker, click, "period_s", number(assessment->click_period_s, 6));
    put(maker, click, "pulses", number(assessment->click_pulses, 4));
  }
  put(maker, object, "click", click);

  json_t* const remarks = json_array();
  for (size_t i = 0; i < shown->remark_count; ++i) {
    append(maker, remarks, text(shown->remarks[i]));
  }
  put(maker, object, "remarks", remarks);

  const char* const unreported = sr_judge_air_unreported(assessment->air_carriage);
  put(maker, object, "air_untold", unreported ? text(unreported) : json_null());

  json_t* const rounds = json_array();
  for (size_t i = 0; i < assessment->round_count; ++i) {
    append(maker, rounds, round_object(maker, &assessment->rounds[i]));
  }
  put(maker, object, "rounds", rounds);
  return object;
}

static json_t*
refusal_object(Maker* const maker, const SrShownTake* const shown)
{
  json_t* const object = json_object();
  put(maker, object, "format", json_string("steadyreed-refusal"));
  put(maker, object, "version", json_integer(1));
  json_t* const take = json_object();
  put(maker, take, "path", text(shown->path));
  put(maker, object, "take", take);
  put(maker, object, "error", text(shown->error ? shown->error->message : ""));
  return object;
}

SrStatus
sr_show_json(FILE* const stream, const SrShownTake* const takes, const size_t count,
             SrError* const error)
{
  Maker maker = {true};
  json_t* const all = json_array();
  for (size_t i = 0; i < count; ++i) {
    append(&maker, all,
           takes[i].assessment ? assessment_object(&maker, &takes[i])
                               : refusal_object(&maker, &takes[i]));
  }
  SrStatus outcome = SR_OK;
  if (!all || !maker.ok || json_array_size(all) != count) {
    outcome = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the JSON.");
  } else {
    json_dumpf(count == 1 ? json_array_get(all, 0) : all, stream, JSON_INDENT(2) | DIGITS);
    fputc('\n', stream);
  }
  json_decref(all);
  return outcome;
}

/// Print an object on one line and free it; NULL without memory.
static char*
line_of(const Maker* const maker, json_t* const object)
{
  char* const line = maker->ok ? json_dumps(object, JSON_COMPACT | DIGITS) : NULL;
  json_decref(object);
  return line;
}

char*
sr_show_take_json(const SrShownTake* const take)
{
  Maker maker = {true};
  json_t* const object = assessment_object(&maker, take);
  return line_of(&maker, object);
}

char*
sr_show_note_json(const SrNoteVerdict* const note)
{
  Maker maker = {true};
  json_t* const object = note_object(&maker, note);
  return line_of(&maker, object);
}
