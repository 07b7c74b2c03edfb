// SPDX-License-Identifier: GPL-3.0-or-later

#include "advice.h"

#include "score.h"
#include "tuning.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Most candidates kept before the worst are chosen.
#define MOST_CANDIDATES 16u

/// Room for the name of a note and where it is played.
#define NAME_SIZE 64u

#define LINE_SIZE 240u

/// One possible remark; `weight` in notes gone wrong.
typedef struct {
  double weight;
  char text[LINE_SIZE];
} Candidate;

typedef struct {
  const SrTake* take;
  const SrRound* round;
  Candidate candidates[MOST_CANDIDATES];
  size_t count;
  char place[24]; ///< Result of place()
  char again[32]; ///< Result of again()
} Adviser;

static void say(Adviser* a, double weight, const char* format, ...) SR_PRINTF(3, 4);

static void
say(Adviser* const a, const double weight, const char* const format, ...)
{
  if (a->count == MOST_CANDIDATES || !(weight > 0.0)) {
    return;
  }
  Candidate* const candidate = &a->candidates[a->count++];
  candidate->weight = weight;
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(candidate->text, sizeof(candidate->text), format, arguments);
  va_end(arguments);
}

/// Where a line is about; valid until the next call.
static const char*
place(Adviser* const a, const int bar)
{
  if (bar > 0) {
    snprintf(a->place, sizeof(a->place), "bar %d", bar);
  } else {
    snprintf(a->place, sizeof(a->place), "pickup");
  }
  return a->place;
}

static const char*
ordinal(const size_t number)
{
  static const char* const words[] = {"first", "second", "third",   "fourth",
                                      "fifth", "sixth",  "seventh", "eighth"};
  return number >= 1 && number <= 8 ? words[number - 1] : "last";
}

/// "the second A", counted among the notes of that name in this playing of the bar.
static void
name_note(const Adviser* const a, const size_t index, char* const text, const size_t size)
{
  const SrPhrase* const phrase = a->take->phrase;
  const SrPhraseNote* const note = sr_phrase_note(phrase, index);
  size_t number = 1;
  size_t of_name = 1;
  for (size_t i = index; i-- > 0 && sr_phrase_note(phrase, i)->bar == note->bar;) {
    const bool same = !strcmp(sr_phrase_note(phrase, i)->name, note->name);
    number += same;
    of_name += same;
  }
  for (size_t i = index + 1;
       i < sr_phrase_note_count(phrase) && sr_phrase_note(phrase, i)->bar == note->bar; ++i) {
    of_name += !strcmp(sr_phrase_note(phrase, i)->name, note->name);
  }
  const char* const* const places = a->take->settings->places;
  const char* const where = places && places[index] ? places[index] : "";
  snprintf(text, size, "the %s%s%s%s%s%s", of_name > 1 ? ordinal(number) : "",
           of_name > 1 ? " " : "", note->name, *where ? " (" : "", where, *where ? ")" : "");
}

/// " (one of 3)", or nothing if there is only one.
static const char*
again(Adviser* const a, const size_t count)
{
  a->again[0] = '\0';
  if (count > 1) {
    snprintf(a->again, sizeof(a->again), " (one of %zu)", count);
  }
  return a->again;
}

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
advise_on_absent(Adviser* const a, const size_t index, const size_t count)
{
  char name[NAME_SIZE];
  name_note(a, index, name, sizeof(name));
  const SrNoteVerdict* const note = &a->round->notes[index];
  const GraceWords* const words = words_for(note);
  if (note->cut.midi >= 0) {
    const bool strike = note->cut.midi < note->midi;
    say(a, 0.8 * (double)count,
        "%s, %s absent%s: you played a %s instead before %s; %s a %s button", place(a, note->bar),
        words->name, again(a, count), strike ? "strike" : "cut", name, words->move,
        strike ? "higher" : "lower");
  } else {
    say(a, 0.8 * (double)count,
        "%s, %s absent%s: none was heard before %s; the notes are already separate, so just add "
        "the %s",
        place(a, note->bar), words->name, again(a, count), name, words->move);
  }
}

static void
advise_on_cuts(Adviser* const a)
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
    name_note(a, i - 1, name, sizeof(name));
    const GraceWords* const words = words_for(note);
    if (isfinite(note->cut.onset_s)) {
      say(a, 1.2 * (double)counts[SR_CUT_JOINED],
          "%s, %s joined%s: you held on to %s; lift it as the %s finger %ss", place(a, note->bar),
          words->name, again(a, counts[SR_CUT_JOINED]), name, words->doing, words->move);
    } else {
      say(a, 1.2 * (double)counts[SR_CUT_JOINED],
          "%s, %s joined%s: %s ran into the next one and no %s was heard; lift the finger and %s "
          "the %s",
          place(a, note->bar), words->name, again(a, counts[SR_CUT_JOINED]), name, words->name,
          words->move, words->name);
    }
  }
  if (counts[SR_CUT_LONG]) {
    const size_t i = worst[SR_CUT_LONG];
    name_note(a, i, name, sizeof(name));
    const GraceWords* const words = words_for(&a->round->notes[i]);
    say(a, 1.0 * (double)counts[SR_CUT_LONG],
        "%s, %s long%s: the one on %s lasted %.0f ms and sounds like a note; just %s the button",
        place(a, a->round->notes[i].bar), words->name, again(a, counts[SR_CUT_LONG]), name,
        a->round->notes[i].cut.length_ms, words->move);
  }
  if (counts[SR_CUT_ABSENT]) {
    advise_on_absent(a, worst[SR_CUT_ABSENT], counts[SR_CUT_ABSENT]);
  }
  // Repeated notes that ran together where no cut is written
  for (size_t i = 1; i < a->round->note_count; ++i) {
    const SrNoteVerdict* const note = &a->round->notes[i];
    if (note->joined == SR_YES && !note->has_cut) {
      name_note(a, i - 1, name, sizeof(name));
      say(a, 1.0,
          "%s, notes joined: %s ran into the next; lift between them, or separate them with a cut",
          place(a, note->bar), name);
      break;
    }
  }
}

/// Unwritten cuts and notes.
static void
advise_on_more(Adviser* const a)
{
  const SrRound* const round = a->round;
  char name[NAME_SIZE];
  size_t stray = 0;
  size_t first = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    if (round->notes[i].has_cut && round->notes[i].cut.verdict == SR_CUT_STRAY) {
      first = stray++ ? first : i;
    }
  }
  if (stray) {
    name_note(a, first, name, sizeof(name));
    say(a, 0.5 * (double)stray,
        stray < MANY_CUTS
            ? "%s, stray cut%s: none is written before %s; keep that finger still, or write the "
              "cut into the tune"
            : "%s, stray cut%s: none is written before %s; if you mean them, write them into the "
              "tune and they will be judged",
        place(a, round->notes[first].bar), again(a, stray), name);
  }
  size_t others = 0;
  size_t first_other = 0;
  size_t corrected = 0;
  size_t first_corrected = 0;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t note = 0;
    const SrInsertionKind kind = sr_round_insertion_kind(round, i, &note);
    if (sr_round_insertion_has_slip(round, i) || note == round->note_count) {
      continue;
    }
    if (kind == SR_INSERTION_CORRECTED) {
      first_corrected = corrected++ ? first_corrected : note;
    } else {
      first_other = others++ ? first_other : i;
    }
  }
  if (others) {
    size_t note = 0;
    const bool twice = sr_round_insertion_kind(round, first_other, &note) == SR_INSERTION_AGAIN;
    const bool before = round->notes[note].onset_s > round->insertions[first_other].onset_s;
    name_note(a, note, name, sizeof(name));
    say(a, 1.0 * (double)others,
        twice ? "%s: you played %s%s twice%s; play that bar slowly and count its notes"
              : "%s: there was an extra note %s %s%s; play that bar slowly and see which finger "
                "catches it",
        place(a, round->notes[note].bar),
        twice    ? ""
        : before ? "before"
                 : "after",
        name, again(a, others));
  }
  if (corrected) {
    name_note(a, first_corrected, name, sizeof(name));
    say(a, 1.0 * (double)corrected,
        "%s: you hit another note first, then %s, and kept the beat%s; well saved, now find its "
        "button slowly",
        place(a, round->notes[first_corrected].bar), name, again(a, corrected));
  }
}

static void
advise_on_notes(Adviser* const a)
{
  size_t missed = 0;
  size_t wrong = 0;
  size_t first_missed = 0;
  size_t first_wrong = 0;
  for (size_t i = 0; i < a->round->note_count; ++i) {
    const SrNoteVerdict* const note = &a->round->notes[i];
    if (note->status == SR_NOTE_MISSED && !note->left_out &&
        !sr_round_is_behind_stop(a->round, i)) {
      first_missed = missed++ ? first_missed : i;
    }
    if (note->status == SR_NOTE_WRONG) {
      first_wrong = wrong++ ? first_wrong : i;
    }
  }
  char name[NAME_SIZE];
  if (wrong) {
    const SrNoteVerdict* const note = &a->round->notes[first_wrong];
    const int step = note->heard_midi - note->midi;
    name_note(a, first_wrong, name, sizeof(name));
    say(a, 1.5 * (double)wrong,
        "%s, wrong note%s: %s came out %d semitone%s %s; find its button slowly, then carry on",
        place(a, note->bar), again(a, wrong), name, abs(step), abs(step) == 1 ? "" : "s",
        step > 0 ? "higher" : "lower");
  }
  if (missed) {
    name_note(a, first_missed, name, sizeof(name));
    say(a, 1.4 * (double)missed,
        "%s: you missed %s%s; play that bar on its own until it speaks every time",
        place(a, a->round->notes[first_missed].bar), name, again(a, missed));
  }
}

/// Weight of a hesitation or a hurried note.
static double
break_weight(const Adviser* const a, const SrSlip* const slip)
{
  const double pulses = fabs(slip->wait_s) * a->round->pulse.played_bpm / 60.0;
  return BREAK_WEIGHT * (1.0 + (isfinite(pulses) ? fmin(MOST_BREAK_PULSES, pulses) : 0.0));
}

/// A hesitation, with its reason if insertions explain it.
static void
advise_on_wait(Adviser* const a, const SrSlip* const slip, const char* const name)
{
  const SrRound* const round = a->round;
  bool corrected = false;
  bool again_played = false;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t note = 0;
    if (sr_round_is_same_slip(round, slip, i)) {
      const bool is_corrected = sr_round_insertion_kind(round, i, &note) == SR_INSERTION_CORRECTED;
      corrected = corrected || is_corrected;
      again_played = again_played || !is_corrected;
    }
  }
  const double weight = break_weight(a, slip);
  if (corrected) {
    say(a, weight,
        "%s: you hit another note first, then %s, and held up the beat for %.1f s; let a slip go "
        "while you play, and find its button slowly afterwards",
        place(a, slip->bar), name, slip->wait_s);
  } else if (again_played) {
    say(a, weight,
        "%s: you played a note twice before %s and held up the beat for %.1f s; play the bar "
        "before and this one together at half speed",
        place(a, slip->bar), name, slip->wait_s);
  } else {
    say(a, weight,
        "%s: you waited %.1f s before %s; play the bar before and this one together at half speed",
        place(a, slip->bar), slip->wait_s, name);
  }
}

/// A stretch slower or faster than the rest of the round.
static void
advise_on_stretch(Adviser* const a, const SrSlip* const slip)
{
  int first;
  int last;
  char until[16] = "";
  sr_round_stretch_bars(a->round, slip, &first, &last);
  if (last > first) {
    snprintf(until, sizeof(until), " to %d", last);
  }
  say(a, break_weight(a, slip),
      slip->wait_s > 0.0 ? "%s%s: this took you %.0f %% longer than the rest (%.1f s in all); play "
                           "it on its own until it is up to speed, then with the bar before"
                         : "%s%s: this took you %.0f %% less time than the rest (%.1f s in all); "
                           "tap the pulse through it and through the bar before",
      place(a, first), until, fabs(slip->longer_percent), fabs(slip->wait_s));
}

static void
advise_on_flow(Adviser* const a)
{
  char name[NAME_SIZE];
  for (size_t s = 0; s < a->round->slip_count; ++s) {
    const SrSlip* const slip = &a->round->slips[s];
    name_note(a, slip->note_index, name, sizeof(name));
    switch (slip->kind) {
    case SR_SLIP_HESITATION:
      advise_on_wait(a, slip, name);
      break;
    case SR_SLIP_HURRIED:
      say(a, break_weight(a, slip),
          "%s: %s came %.1f s too soon; tap the pulse through the note before it",
          place(a, slip->bar), name, -slip->wait_s);
      break;
    case SR_SLIP_OTHER_TEMPO:
      advise_on_stretch(a, slip);
      break;
    case SR_SLIP_RESTART:
      say(a, 1.1,
          "%s: you went back to %s; play from the bar before it to the bar after it a few times",
          place(a, slip->bar), name);
      break;
    case SR_SLIP_STOPPED:
      say(a, BREAK_WEIGHT + UNPLAYED_WEIGHT * (double)(a->round->note_count - 1 - slip->note_index),
          "%s: you stopped after %s; pick the tune up again a bar before that", place(a, slip->bar),
          name);
      break;
    case SR_SLIP_LEFT_OUT:
      if (slip->note_index == sr_round_beginning(a->round)) {
        say(a, LATE_BEGINNING_WEIGHT, "%s: you started at this bar; play what comes before it too",
            place(a, slip->bar));
        break;
      }
      say(a, BREAK_WEIGHT + UNPLAYED_WEIGHT * (double)slip->left_out,
          "%s: you jumped to %s and left out %zu note%s before it; play slowly from a bar before "
          "the gap to a bar after it",
          place(a, slip->bar), name, slip->left_out, slip->left_out == 1 ? "" : "s");
      break;
    case SR_SLIP_FALSE_START:
      say(a, 0.6,
          "%s: you stopped after %s and started again; hear a bar in your head before you start",
          place(a, slip->bar), name);
      break;
    }
  }
}

/// The note with the largest offset, if that or the spread is well above just noticeable.
static void
advise_on_rhythm(Adviser* const a)
{
  const SrPulse* const pulse = &a->round->pulse;
  if (!isfinite(pulse->spread_ms) || !isfinite(pulse->played_bpm)) {
    return;
  }
  const double step_ms = sr_score_step(a->take->phrase) * 60e3 / pulse->played_bpm;
  const double noticeable = sr_judge_just_noticeable_ms(step_ms);
  size_t worst = 0;
  double most = 0.0;
  for (size_t i = 0; i < a->round->note_count; ++i) {
    const double off = fabs(a->round->notes[i].offset_ms);
    if (off > most) {
      most = off;
      worst = i;
    }
  }
  if (pulse->spread_ms > 1.5 * noticeable || most > 4.0 * noticeable) {
    char name[NAME_SIZE];
    name_note(a, worst, name, sizeof(name));
    const double offset = a->round->notes[worst].offset_ms;
    say(a, (100.0 - a->round->scores.evenness) / 25.0,
        "%s: %s was %.0f ms %s, the furthest off in this round; tap the pulse through that bar",
        place(a, a->round->notes[worst].bar), name, fabs(offset), offset > 0.0 ? "late" : "early");
  }
}

/// A tempo that changed during the round.
static void
advise_on_tempo(Adviser* const a)
{
  const SrPulse* const pulse = &a->round->pulse;
  const double weight = TEMPO_WEIGHT * (1.0 - sr_round_steadiness(a->round));
  const double drift = pulse->drift_percent;
  if (!(pulse->change_percent > ADVISED_CHANGE)) {
    return;
  }
  if (pulse->jump_note < a->round->note_count) {
    char name[NAME_SIZE];
    name_note(a, pulse->jump_note, name, sizeof(name));
    say(a, weight,
        "%s: your tempo changed at %s, from %.0f to %.0f pulses a minute; practise that join with "
        "a click",
        place(a, a->round->notes[pulse->jump_note].bar), name, pulse->first_bpm, pulse->last_bpm);
  } else if (2.0 * fabs(drift) > pulse->change_percent) {
    say(a, weight, "you %s by %.0f %% from start to finish; practise it with a click",
        drift > 0.0 ? "sped up" : "slowed down", fabs(drift));
  } else {
    say(a, weight, "your tempo went up and down by %.0f %%; practise it with a click",
        pulse->change_percent);
  }
}

/// A player who left the click: every other remark on the beat is then about the player's own
/// tempo.
static void
advise_on_click(Adviser* const a)
{
  const SrPulse* const pulse = &a->round->pulse;
  if (isfinite(pulse->left_pulses)) {
    say(a, (double)INFINITY,
        "you did not stay with the click: you got %.1f beats %s it, %.1f %% %s; listen to it for a "
        "bar, tap it with your foot, and only then play",
        fabs(pulse->left_pulses), pulse->left_pulses > 0.0 ? "ahead of" : "behind",
        fabs(pulse->left_percent), pulse->left_percent > 0.0 ? "faster" : "slower");
  }
}

/// The silent stretch after which the click was missed most.
static void
advise_on_alone(Adviser* const a)
{
  const SrAlone* worst = NULL;
  double most = 0.0;
  for (size_t i = 0; i < a->round->alone_count; ++i) {
    const SrAlone* const alone = &a->round->alone[i];
    const double off_ms = isfinite(alone->offset_ms) ? alone->offset_ms : alone->change_ms;
    worst = fabs(off_ms) > fabs(most) ? alone : worst;
    most = fabs(off_ms) > fabs(most) ? off_ms : most;
  }
  const double pulse_ms = 60e3 / a->round->pulse.played_bpm;
  if (!worst || !(fabs(most) > 2.0 * sr_judge_just_noticeable_ms(pulse_ms))) {
    return;
  }
  say(a, ALONE_WEIGHT * fabs(most) / pulse_ms,
      "after %u bar%s on your own you were %.0f ms %s for the click, %.1f %% too %s; play them "
      "again and keep the click going in your head",
      worst->silence.bars, worst->silence.bars == 1 ? "" : "s", fabs(most),
      most > 0.0 ? "late" : "early", fabs(worst->tempo_percent),
      worst->tempo_percent > 0.0 ? "fast" : "slow");
}

/// A remedy for what went wrong with a release.
static const char*
air_remedy(const SrAirRelease* const air)
{
  if (air->between) {
    return "take it under a note, where it can hide";
  }
  if (air->failed || isfinite(air->late_ms)) {
    return "let go of the air button before the next note";
  }
  if (air->note_dip_db > NOTED_DIP_DB) {
    return "press the button less, and sooner";
  }
  return "press the button less, for longer";
}

static void
advise_on_air(Adviser* const a)
{
  size_t audible = 0;
  const SrAirRelease* worst = NULL;
  for (size_t i = 0; i < a->round->air_count; ++i) {
    const SrAirRelease* const air = &a->round->air[i];
    audible += air->audible;
    if (air->audible && (!worst || air->over_mask_db > worst->over_mask_db)) {
      worst = air;
    }
  }
  if (!worst) {
    return;
  }
  char name[NAME_SIZE];
  name_note(a, worst->note_index, name, sizeof(name));
  const char* const did = worst->failed                       ? ", and the next note did not speak"
                          : isfinite(worst->late_ms)          ? ", and the next note spoke late"
                          : worst->note_dip_db > NOTED_DIP_DB ? ", and the note dipped"
                          : fabs(worst->note_bend_cents) > NOTED_BEND_CENTS ? ", and the note bent"
                                                                            : "";
  // If it also spoiled the next note's start, that comes first
  const double spoilt = worst->failed || isfinite(worst->late_ms) ? 3.0 : 0.0;
  const double weight = (double)audible * (0.6 + fmin(worst->over_mask_db, 12.0) / 20.0) + spoilt;
  const int bar = a->round->notes[worst->note_index].bar;
  if (worst->between) {
    say(a, weight, "%s: air was heard after %s, with no note to hide it%s%s; %s", place(a, bar),
        name, did, again(a, audible), air_remedy(worst));
  } else {
    say(a, weight, "%s, %s: air heard, %.0f dB louder than the note can hide%s%s; %s",
        place(a, bar), name, worst->over_mask_db, did, again(a, audible), air_remedy(worst));
  }
}

static int
by_weight(const void* const a, const void* const b)
{
  const double x = ((const Candidate*)a)->weight;
  const double y = ((const Candidate*)b)->weight;
  return (x < y) - (x > y);
}

static char*
copy_of(const char* const text)
{
  char* const copy = (char*)malloc(strlen(text) + 1);
  if (copy) {
    memcpy(copy, text, strlen(text) + 1);
  }
  return copy;
}

SrStatus
sr_advise(const SrTake* const take, SrRound* const round)
{
  Adviser* const a = (Adviser*)calloc(1, sizeof(Adviser));
  round->advice = (char**)calloc(MOST_LINES, sizeof(char*));
  bool enough = a && round->advice;
  if (enough) {
    a->take = take;
    a->round = round;
    advise_on_click(a);
    advise_on_cuts(a);
    advise_on_notes(a);
    advise_on_more(a);
    advise_on_flow(a);
    advise_on_rhythm(a);
    advise_on_tempo(a);
    advise_on_alone(a);
    advise_on_air(a);
    round->clean = a->count == 0;
    if (round->clean) {
      const double bpm = round->pulse.played_bpm;
      if (isfinite(bpm)) {
        say(a, 1.0, "no faults heard; play it again, then a little faster (%.0f)",
            ceil(bpm * 1.03));
      } else {
        say(a, 1.0, "no faults heard; play a longer stretch of it next");
      }
    }
    qsort(a->candidates, a->count, sizeof(Candidate), by_weight);
  }
  for (size_t i = 0; enough && i < a->count && i < MOST_LINES; ++i) {
    round->advice[i] = copy_of(a->candidates[i].text);
    enough = round->advice[i] != NULL;
    round->advice_count += enough;
  }
  free(a);
  return enough ? SR_OK : SR_NO_MEMORY;
}
