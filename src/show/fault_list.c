// SPDX-License-Identifier: GPL-3.0-or-later

#include "fault_list.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

/// Notes missed in a row from which they are reported as one stretch.
#define STRETCH 4u
/// Most notes reported as off the pulse, furthest first.
#define MOST_OFF_PULSE 3u

static void
say(const SrFaultList* const list, const int bar, const char* const name, const char* const words)
{
  const SrFaultLine line = {bar, name, words};
  list->line(list->context, &line);
}

/// Say something at a note, and which time of a repeated bar it was if no other was like it.
static void
say_at(const SrFaultList* const list, const size_t note, const char* const name,
       const char* const words)
{
  const char* const time = sr_round_time_of(list->naming->phrase, list->round, note);
  char all[SR_WORDS_SIZE] = "";
  sr_words_add(all, "%s%s%s", time, *time ? ", " : "", words);
  say(list, list->round->notes[note].bar, name, all);
}

/// Say something about the whole round.
static void say_whole(const SrFaultList* list, const char* format, ...) SR_PRINTF(2, 3);

static void
say_whole(const SrFaultList* const list, const char* const format, ...)
{
  char words[SR_WORDS_SIZE];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(words, sizeof(words), format, arguments);
  va_end(arguments);
  say(list, 0, NULL, words);
}

static void
write_slip(const SrFaultList* const list, const SrSlip* const slip)
{
  char name[SR_NOTE_NAME_SIZE];
  char words[SR_WORDS_SIZE] = "";
  const char* const note =
      slip->note_index < list->round->note_count
          ? sr_words_note_name(list->naming, list->round, slip->note_index, name)
          : "";
  sr_words_slip(list->naming, list->round, slip, words);
  if (slip->note_index < list->round->note_count &&
      slip->bar == list->round->notes[slip->note_index].bar) {
    say_at(list, slip->note_index, note, words);
  } else {
    say(list, slip->bar, note, words);
  }
}

void
sr_faults_slips(const SrFaultList* const list)
{
  for (size_t i = 0; i < list->round->slip_count; ++i) {
    write_slip(list, &list->round->slips[i]);
  }
}

/// Write the slips at one note: those reported before it, or those after it.
static void
write_slips(const SrFaultList* const list, const size_t index, const bool before)
{
  for (size_t i = 0; i < list->round->slip_count; ++i) {
    const SrSlip* const slip = &list->round->slips[i];
    const bool ahead = slip->kind != SR_SLIP_STOPPED;
    if (slip->note_index == index && ahead == before) {
      write_slip(list, slip);
    }
  }
}

/// Write the insertions that belong to a note.
static void
write_extra(const SrFaultList* const list, const size_t index)
{
  for (size_t i = 0; i < list->round->insertion_count; ++i) {
    char words[SR_WORDS_SIZE] = "";
    if (sr_words_extra(list->naming, list->round, i, index, words)) {
      char name[SR_NOTE_NAME_SIZE];
      say_at(list, index, sr_words_note_name(list->naming, list->round, index, name), words);
    }
  }
}

void
sr_faults_extras(const SrFaultList* const list)
{
  for (size_t i = 0; i < list->round->note_count; ++i) {
    write_extra(list, i);
  }
}

/// Choose the notes furthest off the pulse: marks `off`, returns how many are off in all.
static size_t
find_off_pulse(const SrRound* const round, bool* const off)
{
  size_t total = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    total += sr_words_is_off_pulse(round, i) ? 1 : 0;
  }
  for (size_t chosen = 0; chosen < MOST_OFF_PULSE && chosen < total; ++chosen) {
    size_t worst = round->note_count;
    for (size_t i = 0; i < round->note_count; ++i) {
      if (!off[i] && sr_words_is_off_pulse(round, i) &&
          (worst == round->note_count ||
           fabs(round->notes[i].offset_ms) > fabs(round->notes[worst].offset_ms))) {
        worst = i;
      }
    }
    if (worst < round->note_count) {
      off[worst] = true;
    }
  }
  return total;
}

/// Length of the run of notes from `from` with the status `status`.
static size_t
stretch_of(const SrRound* const round, const size_t from, const SrNoteStatus status)
{
  size_t count = 0;
  while (from + count < round->note_count && round->notes[from + count].status == status &&
         !round->notes[from + count].left_out) {
    ++count;
  }
  return count;
}

static void
write_stretch(const SrFaultList* const list, const size_t from, const size_t count)
{
  char first[SR_NOTE_NAME_SIZE];
  char last[SR_NOTE_NAME_SIZE];
  const SrNoteVerdict* const begin = &list->round->notes[from];
  const SrNoteVerdict* const end = &list->round->notes[from + count - 1];
  char words[SR_WORDS_SIZE] = "";
  sr_words_add(words, "%s: %zu notes, from this %s to the %s in bar %d",
               begin->status == SR_NOTE_MISSED ? "missed" : "unheard, a gap in the recording",
               count, sr_words_note_name(list->naming, list->round, from, first),
               sr_words_note_name(list->naming, list->round, from + count - 1, last), end->bar);
  say_at(list, from, sr_words_note_name(list->naming, list->round, from, first), words);
}

/// Write the change of tempo unless it is small; returns whether it was written.
static bool
write_tempo(const SrFaultList* const list)
{
  const SrPulse* const pulse = &list->round->pulse;
  if (!sr_words_is_other_tempo(list->round)) {
    return false;
  }
  if (pulse->jump_note < list->round->note_count) {
    char name[SR_NOTE_NAME_SIZE];
    char words[SR_WORDS_SIZE] = "";
    sr_words_add(words,
                 "the tempo changed here: %.0f pulses a minute at the start, %.0f at the end",
                 pulse->first_bpm, pulse->last_bpm);
    say(list, list->round->notes[pulse->jump_note].bar,
        sr_words_note_name(list->naming, list->round, pulse->jump_note, name), words);
  } else {
    say_whole(list,
              "The tempo changed by %.0f %%: %.0f pulses a minute at the start, %.0f at the end.",
              pulse->change_percent, pulse->first_bpm, pulse->last_bpm);
  }
  return true;
}

bool
sr_faults_left(const SrFaultList* const list)
{
  const SrPulse* const pulse = &list->round->pulse;
  if (sr_round_is_off_click(list->round)) {
    say_whole(list, "You were %.0f ms %s the click on average.", fabs(pulse->mean_offset_ms),
              pulse->mean_offset_ms > 0.0 ? "behind" : "ahead of");
    return true;
  }
  if (!isfinite(pulse->left_pulses)) {
    return false;
  }
  say_whole(list, "You did not stay with the click: %.1f beats %s it (%.1f %% %s).",
            fabs(pulse->left_pulses), pulse->left_pulses > 0.0 ? "ahead of" : "behind",
            fabs(pulse->left_percent), pulse->left_percent > 0.0 ? "faster" : "slower");
  return true;
}

bool
sr_faults(const SrFaultList* const list)
{
  bool* const off = calloc(list->round->note_count + 1, sizeof(bool));
  const size_t off_total = off ? find_off_pulse(list->round, off) : 0;
  const bool left = sr_faults_left(list);
  bool any =
      write_tempo(list) || left || list->round->slip_count > 0 || list->round->insertion_count > 0;
  for (size_t i = 0; i < list->round->note_count; ++i) {
    const SrNoteVerdict* const note = &list->round->notes[i];
    write_extra(list, i);
    write_slips(list, i, true);
    if (note->left_out) {
      continue; // reported with the slip
    }
    const bool absent = note->status == SR_NOTE_MISSED || note->status == SR_NOTE_UNHEARD;
    const size_t stretch = absent ? stretch_of(list->round, i, note->status) : 0;
    if (stretch >= STRETCH) {
      write_stretch(list, i, stretch);
      any = true;
      for (size_t n = i; n < i + stretch; ++n) {
        write_slips(list, n, n > i);
      }
      i += stretch - 1;
      continue;
    }
    char words[SR_WORDS_SIZE];
    char name[SR_NOTE_NAME_SIZE];
    sr_words_fault(list->naming, note, words);
    if (off && off[i]) {
      sr_words_add(words, "%s", words[0] ? "; " : "");
      sr_words_offset(note->offset_ms, words);
    }
    sr_words_air(list->round, i, false, words);
    if (words[0]) {
      say_at(list, i, sr_words_note_name(list->naming, list->round, i, name), words);
      any = true;
    }
    write_slips(list, i, false);
  }
  if (off_total > MOST_OFF_PULSE) {
    say_whole(list, "%zu notes in all were clearly off the pulse; the worst %u are above.",
              off_total, MOST_OFF_PULSE);
  }
  free(off);
  return any;
}
