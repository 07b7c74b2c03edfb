// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/show.h>

#include "tally.h"
#include "text.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define NOTED_DIP_DB 1.5
#define NOTED_BEND_CENTS 5.0
/// A fall that is told, dB.
#define LEAST_FALL_DB 1.0
#define LINE_SIZE 2048u
/// Bytes for the name of a note with its place in the bar.
#define NAME_SIZE 48u
/// Column where the words about a note begin.
#define WORDS_COLUMN 18u
/// The same in the table of all notes; on a terminal with less room for words they stand below.
#define TABLE_COLUMN 46u
#define LEAST_BESIDE 24u
/// Notes missed in a row from which they are told as one stretch.
#define STRETCH 4u
/// Most notes told as off the pulse, furthest first.
#define MOST_OFF_PULSE 3u
/// Most rounds of which each fault is told; over that, what went wrong most often.
#define MOST_ROUNDS 6u
/// Lines of what went wrong most often.
#define MOST_OFTEN 8u
/// A note is told as off the pulse from three times the just noticeable displacement on (common
/// practice, no source).
#define OFF_PULSE_FACTOR 3.0
/// A round less steady than this did not keep its tempo (common practice, no source).
#define STEADY 0.9

// Colours of ECMA-48, only beside a word that says the same.
#define BOLD "\033[1m"
#define YELLOW "\033[33m"
#define CYAN "\033[36m"
#define PLAIN "\033[0m"

typedef struct {
  FILE* stream;
  const SrShownTake* take;
  const SrShowStyle* style;
  bool flats; ///< The phrase is written with flats, so what was heard is named with flats too
} Screen;

static const char*
colour(const Screen* const screen, const char* const sequence)
{
  return screen->style->colour ? sequence : "";
}

/// Write a line, broken if it must be; further lines are indented by `indent`.
static void write_line(const Screen* screen, size_t column, size_t indent, const char* format, ...)
    SR_PRINTF(4, 5);

static void
write_line(const Screen* const screen, const size_t column, const size_t indent,
           const char* const format, ...)
{
  char line[LINE_SIZE];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line, sizeof(line), format, arguments);
  va_end(arguments);
  char* const clean = sr_text_terminal(line, screen->style->unicode);
  sr_show_words(screen->stream, clean ? clean : "",
                &(SrShowLine){column, indent, screen->style->columns, NULL});
  fputc('\n', screen->stream);
  free(clean);
}

/// Append to a line being put together.
static void append_words(char* line, const char* format, ...) SR_PRINTF(2, 3);

static void
append_words(char* const line, const char* const format, ...)
{
  const size_t length = strlen(line);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line + length, LINE_SIZE - length, format, arguments);
  va_end(arguments);
}

static const char*
plural(const size_t count)
{
  return count == 1 ? "" : "s";
}

/// Name of a written note as the player would say it, without its octave if the phrase is known.
static const char*
plain_name(const Screen* const screen, const SrNoteVerdict* const note, char* const name)
{
  const SrPhrase* const phrase = screen->take->phrase;
  if (phrase && note->index < sr_phrase_note_count(phrase)) {
    return sr_phrase_note(phrase, note->index)->name;
  }
  return sr_text_midi_name(note->midi, screen->flats, name);
}

/**
   Name of note `index`, with its place among those of one name if its bar has
   more: "3rd A".

   @param name Receives it, NAME_SIZE bytes.
*/
static const char*
note_name(const Screen* const screen, const SrRound* const round, const size_t index,
          char* const name)
{
  char own[12];
  const char* const plain = plain_name(screen, &round->notes[index], own);
  // Notes of one bar as played stand side by side; a repeated bar may follow at once, but then the
  // first note of the bar comes again, and counting begins anew at the bar line.
  const SrPhrase* const phrase = screen->take->phrase;
  size_t place = 1;
  size_t total = 1;
  for (int step = -1; step <= 1; step += 2) {
    for (size_t at = index; step < 0 ? at > 0 : at + 1 < round->note_count;) {
      const size_t next = step < 0 ? at - 1 : at + 1;
      const size_t early = step < 0 ? next : at;
      if (round->notes[next].bar != round->notes[index].bar ||
          (phrase && sr_fraction_value(sr_phrase_note(phrase, early + 1)->in_bar) <=
                         sr_fraction_value(sr_phrase_note(phrase, early)->in_bar))) {
        break;
      }
      char other[12];
      if (!strcmp(plain_name(screen, &round->notes[next], other), plain)) {
        ++total;
        place += step < 0 ? 1 : 0;
      }
      at = next;
    }
  }
  static const char* const ends[] = {"th", "st", "nd", "rd"};
  const size_t digit = place % 100 >= 11 && place % 100 <= 13 ? 0 : place % 10;
  if (total > 1) {
    snprintf(name, NAME_SIZE, "%zu%s %s", place, digit <= 3 ? ends[digit] : "th", plain);
  } else {
    snprintf(name, NAME_SIZE, "%s", plain);
  }
  return name;
}

/// Begin a line about a note: bar and name, then `words` from WORDS_COLUMN on.
static void
write_about(const Screen* const screen, const int bar, const char* const name,
            const char* const words)
{
  char* const clean = sr_text_terminal(name, screen->style->unicode);
  char place[32];
  if (bar > 0) {
    snprintf(place, sizeof(place), "bar %d", bar);
  } else {
    snprintf(place, sizeof(place), "pickup");
  }
  fprintf(screen->stream, "  %-8s%s", place, clean ? clean : "");
  for (size_t at = 10 + (clean ? sr_show_columns(clean) : 0); at < WORDS_COLUMN; ++at) {
    fputc(' ', screen->stream);
  }
  free(clean);
  fputs(colour(screen, YELLOW), screen->stream);
  char* const said = sr_text_terminal(words, screen->style->unicode);
  sr_show_words(screen->stream, said ? said : "",
                &(SrShowLine){WORDS_COLUMN, WORDS_COLUMN, screen->style->columns, NULL});
  free(said);
  fputs(colour(screen, PLAIN), screen->stream);
  fputc('\n', screen->stream);
}

// What is said of one note -------------------------------------------------------------------

static void
say_wrong(const Screen* const screen, const SrNoteVerdict* const note, char* const words)
{
  char name[12];
  const int distance = abs(note->heard_midi - note->midi);
  if (note->heard_midi < 0) {
    append_words(words, "wrong note");
    return;
  }
  sr_text_midi_name(note->heard_midi, screen->flats, name);
  if (distance > 0 && distance % 12 == 0) {
    append_words(words, "wrong octave: %s was heard", name);
    return;
  }
  if (distance < 12) {
    // Near by, the octave is clear.
    name[strcspn(name, "-0123456789")] = '\0';
  }
  append_words(words, "wrong note: %s was heard", name);
}

/// What is said of the cut or the strike before a note.
static void
say_cut(const SrNoteVerdict* const note, char* const words)
{
  const SrCut* const cut = &note->cut;
  const char* const name = note->ornament == SR_ORNAMENT_STRIKE ? "strike" : "cut";
  switch (cut->verdict) {
  case SR_CUT_CLEAN:
    append_words(words, "%s clean", name);
    if (isfinite(cut->length_ms)) {
      append_words(words, ", %.0f ms", cut->length_ms);
    }
    break;
  case SR_CUT_LONG:
    append_words(words, "%s long", name);
    if (isfinite(cut->length_ms)) {
      append_words(words, ": %.0f ms, so it sounds like a note of its own", cut->length_ms);
    }
    break;
  case SR_CUT_JOINED:
    append_words(words, "%s joined: the note before never let go", name);
    if (cut->fall_db >= LEAST_FALL_DB) {
      append_words(words, " (fell by %.0f dB)", cut->fall_db);
    }
    break;
  case SR_CUT_ABSENT:
    if (cut->midi >= 0) {
      append_words(words, "%s absent: a %s was heard in its place", name,
                   cut->midi < note->midi ? "strike" : "cut");
    } else {
      append_words(words, "%s absent: the notes were apart, but none was heard", name);
    }
    break;
  case SR_CUT_STRAY:
    append_words(words, "stray cut: none is written here");
    break;
  }
}

/// Whether a note has an ornament that is listed and not judged.
static bool
is_listed(const SrNoteVerdict* const note)
{
  return note->ornament != SR_ORNAMENT_NONE && !sr_ornament_is_judged(note->ornament);
}

/// Words for the ornament of a note that was played.
static void
say_ornament(const SrNoteVerdict* const note, char* const words)
{
  if (note->has_cut) {
    say_cut(note, words);
  } else if (is_listed(note)) {
    const bool heard = sr_ornament_is_heard(note->graces);
    const bool group = note->ornament == SR_ORNAMENT_GROUP;
    append_words(words, "%s%s heard%s", heard ? "" : "no ",
                 group ? "graces" : sr_ornament_word(note->ornament),
                 heard && !sr_ornament_is_whole(note->ornament, note->graces) ? " in part" : "");
  }
}

/// Words for what went wrong with a note, its place in time apart; empty if nothing did.
static void
say_fault(const Screen* const screen, const SrNoteVerdict* const note, char* const words)
{
  words[0] = '\0';
  switch (note->status) {
  case SR_NOTE_MISSED:
    append_words(words, note->left_out ? "missed: left out" : "missed");
    return;
  case SR_NOTE_UNHEARD:
    append_words(words, "unheard: the recording has a gap here");
    return;
  case SR_NOTE_WRONG:
    say_wrong(screen, note, words);
    break;
  case SR_NOTE_PLAYED:
    break;
  }
  if (note->has_cut && note->cut.verdict != SR_CUT_CLEAN) {
    append_words(words, "%s", words[0] ? "; " : "");
    say_cut(note, words);
  } else if (note->joined == SR_YES && !note->has_cut) {
    append_words(words, "%sjoined: it ran into the note before", words[0] ? "; " : "");
  }
}

/// Words for the releases of air at a note: the audible ones, or with `all` also what hid.
static void
say_air(const SrRound* const round, const size_t index, const bool all, char* const words)
{
  bool any = false;
  for (size_t i = 0; i < round->air_count; ++i) {
    const SrAirRelease* const air = &round->air[i];
    if (air->note_index != index || !(air->audible || all)) {
      continue;
    }
    any = true;
    append_words(words, "%s", words[0] ? "; " : "");
    if (!air->audible) {
      append_words(words, "air hidden, %.0f dB under what can be heard", -air->over_mask_db);
    } else if (air->between) {
      append_words(words, "air heard after it, with no note to hide it");
    } else {
      append_words(words, "air heard, %.0f dB over what the note hides", air->over_mask_db);
    }
    if (air->note_dip_db >= NOTED_DIP_DB) {
      append_words(words, ", the note dipped by %.0f dB", air->note_dip_db);
    }
    if (fabs(air->note_bend_cents) >= NOTED_BEND_CENTS) {
      append_words(words, ", bent %.0f cents %s", fabs(air->note_bend_cents),
                   air->note_bend_cents < 0.0 ? "flat" : "sharp");
    }
    if (air->failed) {
      append_words(words, ", the next note did not speak");
    } else if (isfinite(air->late_ms)) {
      append_words(words, ", the next note spoke %.0f ms late", air->late_ms);
    }
  }
  const SrNoteVerdict* const note = &round->notes[index];
  if (all && !any && note->air_asked && note->status == SR_NOTE_PLAYED) {
    append_words(words, "%sair asked, none heard", words[0] ? "; " : "");
  }
}

/// Just noticeable displacement at a note, ms; NAN if no pulse was found.
static double
noticeable_ms(const SrRound* const round, const size_t index)
{
  const size_t from = index > 0 ? index - 1 : index;
  if (from + 1 >= round->note_count) {
    return (double)NAN;
  }
  const double interval_ms = 1000.0 * (round->notes[from + 1].due_s - round->notes[from].due_s);
  return isfinite(interval_ms) ? sr_judge_just_noticeable_ms(interval_ms) : (double)NAN;
}

/// Choose the notes furthest off the pulse: marks `off`, returns how many there are in all.
static size_t
find_off_pulse(const SrRound* const round, bool* const off)
{
  size_t total = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const double offset_ms = round->notes[i].offset_ms;
    total +=
        isfinite(offset_ms) && fabs(offset_ms) > OFF_PULSE_FACTOR * noticeable_ms(round, i) ? 1 : 0;
  }
  for (size_t chosen = 0; chosen < MOST_OFF_PULSE && chosen < total; ++chosen) {
    size_t worst = round->note_count;
    for (size_t i = 0; i < round->note_count; ++i) {
      const double offset_ms = round->notes[i].offset_ms;
      if (!off[i] && isfinite(offset_ms) &&
          fabs(offset_ms) > OFF_PULSE_FACTOR * noticeable_ms(round, i) &&
          (worst == round->note_count || fabs(offset_ms) > fabs(round->notes[worst].offset_ms))) {
        worst = i;
      }
    }
    if (worst < round->note_count) {
      off[worst] = true;
    }
  }
  return total;
}

static void
say_offset(const double offset_ms, char* const words)
{
  append_words(words, "%.0f ms %s", fabs(offset_ms), offset_ms > 0.0 ? "late" : "early");
}

// Slips and extra notes ----------------------------------------------------------------------

/// Say which notes were left out before the one that was gone on with.
static void
say_left_out(const Screen* const screen, const SrRound* const round, const SrSlip* const slip,
             char* const words)
{
  if (slip->left_out == 0 || slip->left_out > slip->note_index) {
    return;
  }
  char first[NAME_SIZE];
  char last[NAME_SIZE];
  char clock[32];
  const size_t from = slip->note_index - slip->left_out;
  append_words(words,
               from == 0 ? "began with this at %s; left out: %s in bar %d"
                         : "went straight on with this at %s; left out: %s in bar %d",
               sr_text_clock(slip->at_s, clock), note_name(screen, round, from, first),
               round->notes[from].bar);
  if (slip->left_out > 1) {
    append_words(words, " to %s in bar %d, %zu notes",
                 note_name(screen, round, slip->note_index - 1, last),
                 round->notes[slip->note_index - 1].bar, slip->left_out);
  }
}

/// Say which notes that are not written took the time before a note; false if none did.
static bool
say_tries(const Screen* const screen, const SrRound* const round, const SrSlip* const slip,
          char* const words)
{
  bool mended = false;
  bool again = false;
  for (size_t i = 0; i < round->extra_count; ++i) {
    size_t note = 0;
    if (!sr_round_is_same_slip(round, slip, i)) {
      continue;
    }
    char name[12];
    if (sr_round_extra_kind(round, i, &note) == SR_EXTRA_MENDED) {
      append_words(words, "%s%s", mended ? ", " : "",
                   sr_text_midi_name(round->extra[i].midi, screen->flats, name));
      mended = true;
    } else {
      again = true;
    }
  }
  if (mended) {
    append_words(words, " first, then put right; the beat waited");
  } else if (again) {
    append_words(words, "a note came twice here, and the beat waited");
  }
  return mended || again;
}

/// Say how far a stretch at another tempo went, and how much slower or faster it was.
static void
say_stretch(const Screen* const screen, const SrRound* const round, const SrSlip* const slip,
            char* const words)
{
  append_words(words, "took %.0f %% %s from here on, %.1f s in all", fabs(slip->longer_percent),
               slip->wait_s > 0.0 ? "longer" : "less time", fabs(slip->wait_s));
  if (slip->until < round->note_count) {
    char name[NAME_SIZE];
    append_words(words, "; as before from the %s in bar %d",
                 note_name(screen, round, slip->until, name), round->notes[slip->until].bar);
  }
}

static void
write_slip(const Screen* const screen, const SrRound* const round, const SrSlip* const slip)
{
  char clock[32];
  char name[NAME_SIZE];
  char words[LINE_SIZE] = "";
  const char* const note =
      slip->note_index < round->note_count ? note_name(screen, round, slip->note_index, name) : "";
  sr_text_clock(slip->at_s, clock);
  switch (slip->kind) {
  case SR_SLIP_FALSE_START:
    append_words(words, "false start at %s: you got as far as this and began again", clock);
    break;
  case SR_SLIP_RESTART:
    append_words(words, "went back to here at %s and went on", clock);
    break;
  case SR_SLIP_HESITATION:
    if (!say_tries(screen, round, slip, words)) {
      append_words(words, "hesitation before this note:");
    }
    if (isfinite(slip->wait_s)) {
      append_words(words, " %.1f s", slip->wait_s);
    }
    break;
  case SR_SLIP_HURRIED:
    append_words(words, "came in too soon");
    if (isfinite(slip->wait_s)) {
      append_words(words, ", by %.1f s, and what follows with it", -slip->wait_s);
    }
    break;
  case SR_SLIP_STOPPED:
    append_words(words, "stopped here at %s", clock);
    break;
  case SR_SLIP_LEFT_OUT:
    say_left_out(screen, round, slip, words);
    break;
  case SR_SLIP_OTHER_TEMPO:
    say_stretch(screen, round, slip, words);
    break;
  }
  write_about(screen, slip->bar, note, words);
}

/// Write the slips of one place: those told before its note, or those after it.
static void
write_slips(const Screen* const screen, const SrRound* const round, const size_t index,
            const bool before)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    const bool ahead = slip->kind != SR_SLIP_STOPPED;
    if (slip->note_index == index && ahead == before) {
      write_slip(screen, round, slip);
    }
  }
}

/// Write of the notes that are not written those that belong to a note.
static void
write_extra(const Screen* const screen, const SrRound* const round, const size_t index)
{
  for (size_t i = 0; i < round->extra_count; ++i) {
    const SrExtraNote* const extra = &round->extra[i];
    size_t note = 0;
    const SrExtraKind kind = sr_round_extra_kind(round, i, &note);
    if (note != index || note >= round->note_count || sr_round_extra_has_slip(round, i)) {
      continue;
    }
    char about[NAME_SIZE];
    char name[12];
    char clock[32];
    char words[LINE_SIZE] = "";
    note_name(screen, round, note, about);
    sr_text_midi_name(extra->midi, screen->flats, name);
    if (kind == SR_EXTRA_MENDED) {
      append_words(words, "%s first, then put right", name);
    } else if (kind == SR_EXTRA_AGAIN) {
      append_words(words, "came twice");
    } else {
      append_words(words, "extra note: %s came %s it, at %s", name,
                   round->notes[note].onset_s > extra->onset_s ? "before" : "after",
                   sr_text_clock(extra->onset_s, clock));
    }
    write_about(screen, round->notes[note].bar, about, words);
  }
}

static void
write_extras(const Screen* const screen, const SrRound* const round)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    write_extra(screen, round, i);
  }
}

// One round ----------------------------------------------------------------------------------

/// Notes from `from` on that share the status `status`.
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
write_stretch(const Screen* const screen, const SrRound* const round, const size_t from,
              const size_t count)
{
  char first[NAME_SIZE];
  char last[NAME_SIZE];
  const SrNoteVerdict* const begin = &round->notes[from];
  const SrNoteVerdict* const end = &round->notes[from + count - 1];
  char words[LINE_SIZE] = "";
  append_words(words, "%s: %zu notes, from this %s to the %s of bar %d",
               begin->status == SR_NOTE_MISSED ? "missed" : "unheard, a gap in the recording",
               count, note_name(screen, round, from, first),
               note_name(screen, round, from + count - 1, last), end->bar);
  write_about(screen, begin->bar, note_name(screen, round, from, first), words);
}

/// Whether a round's tempo changed by more than a little.
static bool
has_other_tempo(const SrRound* const round)
{
  return sr_round_steadiness(round) < STEADY;
}

/// Write how the tempo changed, if it did by more than a little; returns whether it did.
static bool
write_tempo(const Screen* const screen, const SrRound* const round)
{
  const SrPulse* const pulse = &round->pulse;
  if (!has_other_tempo(round)) {
    return false;
  }
  if (pulse->jump_note < round->note_count) {
    char name[NAME_SIZE];
    char words[LINE_SIZE] = "";
    append_words(words,
                 "another tempo from here on: %.0f pulses a minute at the beginning, %.0f at the "
                 "end",
                 pulse->first_bpm, pulse->last_bpm);
    write_about(screen, round->notes[pulse->jump_note].bar,
                note_name(screen, round, pulse->jump_note, name), words);
  } else {
    write_line(screen, 0, 4,
               "  The tempo changed by %.0f %%: %.0f pulses a minute at the beginning, %.0f at the "
               "end.",
               pulse->change_percent, pulse->first_bpm, pulse->last_bpm);
  }
  return true;
}

/// Write that the click was left behind, if it was; returns whether it was.
static bool
write_left(const Screen* const screen, const SrRound* const round)
{
  const SrPulse* const pulse = &round->pulse;
  if (!isfinite(pulse->left_pulses)) {
    return false;
  }
  write_line(screen, 0, 4, "  You did not stay with the click: %.1f beats %s it (%.1f %% %s).",
             fabs(pulse->left_pulses), pulse->left_pulses > 0.0 ? "ahead of" : "behind",
             fabs(pulse->left_percent), pulse->left_percent > 0.0 ? "faster" : "slower");
  return true;
}

/// Write only what went wrong; returns whether anything did.
static bool
write_faults(const Screen* const screen, const SrRound* const round)
{
  bool* const off = calloc(round->note_count + 1, sizeof(bool));
  const size_t off_total = off ? find_off_pulse(round, off) : 0;
  const bool left = write_left(screen, round);
  bool any = write_tempo(screen, round) || left || round->slip_count > 0 || round->extra_count > 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    write_extra(screen, round, i);
    write_slips(screen, round, i, true);
    if (note->left_out) {
      continue; // told with the slip
    }
    const bool absent = note->status == SR_NOTE_MISSED || note->status == SR_NOTE_UNHEARD;
    const size_t stretch = absent ? stretch_of(round, i, note->status) : 0;
    if (stretch >= STRETCH) {
      write_stretch(screen, round, i, stretch);
      any = true;
      for (size_t n = i; n < i + stretch; ++n) {
        write_slips(screen, round, n, n > i);
      }
      i += stretch - 1;
      continue;
    }
    char words[LINE_SIZE];
    char name[NAME_SIZE];
    say_fault(screen, note, words);
    if (off && off[i]) {
      append_words(words, "%s", words[0] ? "; " : "");
      say_offset(note->offset_ms, words);
    }
    say_air(round, i, false, words);
    if (words[0]) {
      write_about(screen, note->bar, note_name(screen, round, i, name), words);
      any = true;
    }
    write_slips(screen, round, i, false);
  }
  if (off_total > MOST_OFF_PULSE) {
    write_line(screen, 0, 2,
               "  %zu notes in all stood clearly off the pulse; the furthest %u are "
               "above.",
               off_total, MOST_OFF_PULSE);
  }
  free(off);
  return any;
}

/// A number with its sign, rounded; no sign for nought.
static void
signed_number(const double value, char* const text, const size_t size)
{
  text[0] = '\0';
  if (isfinite(value)) {
    const long rounded = lround(value);
    snprintf(text, size, rounded ? "%+ld" : "%ld", rounded);
  }
}

/// Words for the last column of the table of all notes.
static void
say_all(const Screen* const screen, const SrRound* const round, const size_t index,
        char* const words)
{
  const SrNoteVerdict* const note = &round->notes[index];
  say_fault(screen, note, words);
  if (!words[0]) {
    append_words(words, "played");
    if (note->has_cut || is_listed(note)) {
      append_words(words, ", ");
    }
    say_ornament(note, words);
  }
  say_air(round, index, true, words);
}

/// Write a table of all notes.
static void
write_all_notes(const Screen* const screen, const SrRound* const round)
{
  const size_t columns = screen->style->columns;
  const bool narrow = columns && columns < TABLE_COLUMN + LEAST_BESIDE;
  fputs(narrow ? "  bar  note     heard    off  tuning\n"
                 "                  at s  pulse   cents\n"
                 "       what               ms\n"
               : "  bar  note    heard at  off pulse  tuning   what\n"
                 "                       s         ms   cents\n",
        screen->stream);
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    char name[NAME_SIZE];
    char* const clean = sr_text_terminal(note_name(screen, round, i, name), screen->style->unicode);
    fprintf(screen->stream, "  %3d  %s", note->bar, clean ? clean : "");
    for (size_t at = 7 + (clean ? sr_show_columns(clean) : 0); at < 15; ++at) {
      fputc(' ', screen->stream);
    }
    free(clean);
    char onset[32] = "";
    char offset[32];
    char cents[32];
    if (isfinite(note->onset_s)) {
      snprintf(onset, sizeof(onset), "%.3f", note->onset_s);
    }
    signed_number(note->offset_ms, offset, sizeof(offset));
    signed_number(note->cents, cents, sizeof(cents));
    fprintf(screen->stream, narrow ? "%7s  %5s  %6s\n       " : "%9s  %9s  %6s   ", onset, offset,
            cents);
    char words[LINE_SIZE];
    say_all(screen, round, i, words);
    write_line(screen, narrow ? 7 : TABLE_COLUMN, narrow ? 9 : TABLE_COLUMN, "%s", words);
  }
}

/// `total` is 0 while practice goes on.
static void
write_round_line(const Screen* const screen, const SrRound* const round, const size_t number,
                 const size_t total)
{
  char line[LINE_SIZE] = "";
  char clock[32];
  SrTally tally = {0};
  sr_tally_add(&tally, round);
  const SrPulse* const pulse = &round->pulse;

  if (isfinite(pulse->played_bpm)) {
    append_words(line, "%.0f pulses a minute", pulse->played_bpm);
    if (isfinite(pulse->target_bpm)) {
      append_words(line, " (asked: %.0f)", pulse->target_bpm);
    }
    append_words(line, ", ");
  }
  append_words(line, "%zu of %zu notes played", tally.played, tally.notes);
  if (tally.missed) {
    append_words(line, ", %zu missed", tally.missed);
  }
  if (tally.left_out == tally.missed && tally.missed) {
    append_words(line, " (left out)");
  } else if (tally.left_out) {
    append_words(line, " (%zu of them left out)", tally.left_out);
  }
  if (tally.wrong) {
    append_words(line, ", %zu wrong", tally.wrong);
  }
  if (tally.unheard) {
    append_words(line, ", %zu unheard", tally.unheard);
  }
  if (tally.extra) {
    append_words(line, ", %zu extra", tally.extra);
  }
  if (tally.cuts_asked) {
    append_words(line, ", %zu of %zu %s clean", tally.cuts[SR_CUT_CLEAN], tally.cuts_asked,
                 tally.strikes == 0                   ? "cuts"
                 : tally.strikes == tally.cuts_judged ? "strikes"
                                                      : "cuts and strikes");
  }
  if (tally.cuts_asked > tally.cuts_judged) {
    append_words(line, ", %zu not played", tally.cuts_asked - tally.cuts_judged);
  }
  if (tally.cuts[SR_CUT_STRAY]) {
    append_words(line, ", %zu stray cut%s", tally.cuts[SR_CUT_STRAY],
                 plural(tally.cuts[SR_CUT_STRAY]));
  }
  if (tally.air_asked) {
    append_words(line, ", air asked %zu time%s and heard ", tally.air_asked,
                 tally.air_asked == 1 ? "" : "s");
    if (tally.air_heard) {
      append_words(line, "%zu", tally.air_heard);
    } else {
      append_words(line, "never");
    }
  }
  if (tally.air_elsewhere) {
    append_words(line, ", air heard %zu time%s%s", tally.air_elsewhere,
                 tally.air_elsewhere == 1 ? "" : "s", tally.air_asked ? " elsewhere" : "");
  }
  if (isfinite(pulse->spread_ms)) {
    append_words(line, ", spread %.0f ms", pulse->spread_ms);
  }
  if (isfinite(pulse->mean_offset_ms) && fabs(pulse->mean_offset_ms) >= 1.0) {
    append_words(line, ", %.0f ms %s the click on the mean", fabs(pulse->mean_offset_ms),
                 pulse->mean_offset_ms > 0.0 ? "behind" : "ahead of");
  }
  if (isfinite(pulse->drift_percent) && fabs(pulse->drift_percent) >= 2.0) {
    append_words(line, ", %.0f %% %s by the end", fabs(pulse->drift_percent),
                 pulse->drift_percent > 0.0 ? "faster" : "slower");
  }
  double most_lilt = 0.0;
  for (size_t i = 0; i < pulse->lilt_count && i < SR_LILT_SIZE; ++i) {
    most_lilt = fmax(most_lilt, fabs(pulse->lilt[i] - 1.0));
  }
  if (most_lilt >= 0.03) {
    append_words(line, ", lilt");
    for (size_t i = 0; i < pulse->lilt_count && i < SR_LILT_SIZE; ++i) {
      append_words(line, "%s%.2f", i ? ":" : " ", pulse->lilt[i]);
    }
  }

  fputc('\n', screen->stream);
  fputs(colour(screen, BOLD), screen->stream);
  char head[96];
  if (total > 1) {
    snprintf(head, sizeof(head), "Round %zu of %zu, from %s: ", number, total,
             sr_text_clock(round->start_s, clock));
  } else if (total == 0) {
    snprintf(head, sizeof(head), "Round %zu: ", number);
  } else {
    snprintf(head, sizeof(head), "One round, from %s: ", sr_text_clock(round->start_s, clock));
  }
  fputs(head, screen->stream);
  fputs(colour(screen, PLAIN), screen->stream);
  write_line(screen, strlen(head), 2, "%s", line);
}

/// Say once what is written and not judged; nothing if all is.
static void
write_not_judged(const Screen* const screen, const SrTally* const tally)
{
  static const char* const names[SR_ORNAMENTS] = {
      [SR_ORNAMENT_ROLL] = "rolls", [SR_ORNAMENT_CRAN] = "crans", [SR_ORNAMENT_GROUP] = "groups"};
  char line[LINE_SIZE] = "";
  for (int o = SR_ORNAMENT_ROLL; o < SR_ORNAMENTS; ++o) {
    if (tally->written[o]) {
      append_words(line, "%s%zu of %zu %s", line[0] ? ", " : "", tally->heard[o], tally->written[o],
                   names[o]);
      if (tally->in_part[o]) {
        append_words(line, " and %zu in part", tally->in_part[o]);
      }
    }
  }
  if (line[0]) {
    write_line(screen, 0, 4, "  Heard, but not judged: %s%s", line,
               tally->written[SR_ORNAMENT_ROLL] > tally->heard[SR_ORNAMENT_ROLL]
                   ? "; a plain note is right where a roll is written"
                   : "");
  }
}

/// Write how the beat was kept while the click was silent.
static void
write_alone(const Screen* const screen, const SrRound* const round)
{
  for (size_t i = 0; i < round->alone_count; ++i) {
    const SrAlone* const alone = &round->alone[i];
    const bool known = isfinite(alone->offset_ms);
    const double off_ms = known ? alone->offset_ms : alone->change_ms;
    const double faster = alone->tempo_percent;
    char line[LINE_SIZE] = "";
    append_words(line, "%u bar%s alone: ", alone->silence.bars,
                 alone->silence.bars == 1 ? "" : "s");
    if (fabs(off_ms) < 0.5) {
      append_words(line, "met the click%s", known ? "" : " as before");
    } else {
      append_words(line, "%.0f ms %s%s", fabs(off_ms), off_ms > 0.0 ? "late" : "early",
                   known ? "" : " against before");
    }
    if (fabs(faster) >= 0.05) {
      append_words(line, ", %.1f %% %s", fabs(faster), faster > 0.0 ? "fast" : "slow");
    }
    write_line(screen, 0, 4, "  %s", line);
  }
}

static void
write_scores(const Screen* const screen, const SrRound* const round)
{
  char line[LINE_SIZE] = "";
  const struct {
    const char* name;
    double score;
  } scores[] = {
      {"cuts", round->scores.cuts},
      {"evenness", round->scores.evenness},
      {"air", round->scores.air},
  };
  for (size_t i = 0; i < sizeof(scores) / sizeof(scores[0]); ++i) {
    if (isfinite(scores[i].score)) {
      append_words(line, "%s%s %.0f", line[0] ? ", " : "", scores[i].name, scores[i].score);
    }
  }
  if (line[0]) {
    write_line(screen, 0, 4, "  Scores of 100: %s", line);
  }
}

// Many rounds ------------------------------------------------------------------------------

/// What may go wrong with a note, for counting over rounds.
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
    "cut joined: the note before never let go",
    "cut absent: the notes were apart, but none was heard",
    "stray cut: none is written here",
    "joined: it ran into the note before",
    "clearly late",
    "clearly early",
    "waited before it",
    "came in too soon",
    "slower or faster from here on for a while",
};

/// The same where a strike is written, if that is another word.
static const char* const strike_words[FAULT_KINDS] = {
    [FAULT_CUT_LONG] = "strike long",
    [FAULT_CUT_JOINED] = "strike joined: the note before never let go",
    [FAULT_CUT_ABSENT] = "strike absent: the notes were apart, but none was heard",
};

/// Count the faults of one note.
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
  const double offset_ms = note->offset_ms;
  if (isfinite(offset_ms) && fabs(offset_ms) > OFF_PULSE_FACTOR * noticeable_ms(round, index)) {
    ++counts[offset_ms > 0.0 ? FAULT_LATE : FAULT_EARLY];
  }
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    const bool here = slip->note_index == index;
    counts[FAULT_WAIT] += here && slip->kind == SR_SLIP_HESITATION ? 1 : 0;
    counts[FAULT_HURRIED] += here && slip->kind == SR_SLIP_HURRIED ? 1 : 0;
    counts[FAULT_OTHER_TEMPO] += here && slip->kind == SR_SLIP_OTHER_TEMPO ? 1 : 0;
  }
}

/// Write what went wrong most often, note by note, over all rounds.
static void
write_most_often(const Screen* const screen, const SrAssessment* const assessment)
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
  write_line(screen, 0, 2, "What went wrong most often:");
  size_t other_tempo = 0;
  size_t left = 0;
  for (size_t r = 0; r < assessment->round_count; ++r) {
    other_tempo += has_other_tempo(&assessment->rounds[r]);
    left += isfinite(assessment->rounds[r].pulse.left_pulses) ? 1 : 0;
  }
  if (left) {
    write_line(screen, 0, 4, "  You did not stay with the click, in %zu of %zu rounds.", left,
               assessment->round_count);
  }
  if (other_tempo) {
    write_line(screen, 0, 4, "  The tempo did not stay, in %zu of %zu rounds.", other_tempo,
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
    char name[NAME_SIZE];
    char words[LINE_SIZE] = "";
    const size_t kind = most % FAULT_KINDS;
    const bool strike = round->notes[index].ornament == SR_ORNAMENT_STRIKE && strike_words[kind];
    append_words(words, "%s", strike ? strike_words[kind] : fault_words[kind]);
    append_words(words, ", %zu of %zu times", counts[most], assessment->round_count);
    write_about(screen, round->notes[index].bar, note_name(screen, round, index, name), words);
    counts[most] = 0;
    any = true;
  }
  if (!any) {
    write_line(screen, 0, 2, "  Nothing; all notes and cuts were in their places.");
  }
  write_line(screen, 0, 2, "With --all each note of each round is told.");
  free(counts);
}

// The whole take -----------------------------------------------------------------------------

static void
write_head(const Screen* const screen)
{
  const SrAssessment* const assessment = screen->take->assessment;
  char line[LINE_SIZE] = "";
  char clock[32];
  append_words(line, "%.400s",
               assessment->title && assessment->title[0] ? assessment->title
                                                         : "A phrase without title");
  if (assessment->first_bar == assessment->last_bar) {
    append_words(line, ", bar %d", assessment->first_bar);
  } else {
    append_words(line, ", bars %d to %d", assessment->first_bar, assessment->last_bar);
  }
  append_words(line, ", %zu note%s", assessment->phrase_notes, plural(assessment->phrase_notes));
  fputs(colour(screen, BOLD), screen->stream);
  write_line(screen, 0, 2, "%s", line);
  fputs(colour(screen, PLAIN), screen->stream);

  line[0] = '\0';
  append_words(line, "Take %.600s, %s long", screen->take->path ? screen->take->path : "",
               sr_text_clock(assessment->take.seconds, clock));
  if (isfinite(assessment->reference_hz) && assessment->reference_hz > 0.0) {
    const double cents = 1200.0 * log2(assessment->reference_hz / 440.0);
    append_words(line, "; the box's A is %.1f Hz", assessment->reference_hz);
    if (fabs(cents) >= 1.0) {
      append_words(line, " (%.0f cent%s %s 440)", fabs(cents), fabs(cents) < 1.5 ? "" : "s",
                   cents > 0.0 ? "over" : "under");
    }
  }
  write_line(screen, 0, 2, "%s", line);
  if (assessment->doubled) {
    write_line(screen, 0, 2, "Heard with the octave below each note.");
  }
  if (assessment->accompanied) {
    write_line(screen, 0, 2,
               "Heard with others below the melody: no cut is told as absent or joined, no note as "
               "joined, and no air.");
  }
  for (size_t i = 0; i < screen->take->remark_count; ++i) {
    write_line(screen, 0, 2, "Note: %s", screen->take->remarks[i]);
  }
}

static bool
uses_flats(const SrPhrase* const phrase)
{
  for (size_t i = 0; phrase && i < sr_phrase_note_count(phrase); ++i) {
    if (strstr(sr_phrase_note(phrase, i)->name, "♭")) {
      return true;
    }
  }
  return false;
}

void
sr_show_text(FILE* const stream, const SrShownTake* const take, const SrShowStyle* const style)
{
  const Screen screen = {stream, take, style, uses_flats(take->phrase)};
  const SrAssessment* const assessment = take->assessment;
  if (!assessment) {
    write_line(&screen, 0, 2, "%.600s: not judged. %s", take->path ? take->path : "",
               take->error ? take->error->message : "");
    return;
  }
  write_head(&screen);
  SrTally all = {0};
  for (size_t i = 0; i < assessment->round_count; ++i) {
    sr_tally_add(&all, &assessment->rounds[i]);
  }
  write_not_judged(&screen, &all);
  const bool each = style->all_notes || assessment->round_count <= MOST_ROUNDS;
  for (size_t i = 0; i < assessment->round_count; ++i) {
    const SrRound* const round = &assessment->rounds[i];
    write_round_line(&screen, round, i + 1, assessment->round_count);
    if (style->all_notes) {
      write_left(&screen, round);
      write_all_notes(&screen, round);
      for (size_t s = 0; s < round->slip_count; ++s) {
        write_slip(&screen, round, &round->slips[s]);
      }
      write_extras(&screen, round);
    } else if (each && !write_faults(&screen, round)) {
      write_line(&screen, 0, 2, "  Nothing went wrong.");
    }
    write_alone(&screen, round);
    write_scores(&screen, round);
  }
  if (!each) {
    write_most_often(&screen, assessment);
  }
  size_t number = 0;
  const char* const advice = sr_worst_advice(assessment, &number);
  if (advice) {
    char head[64] = "Advice: ";
    if (assessment->round_count > 1) {
      snprintf(head, sizeof(head), "Advice, from round %zu: ", number);
    }
    fprintf(stream, "\n%s%s%s", colour(&screen, CYAN), head, colour(&screen, PLAIN));
    write_line(&screen, strlen(head), 2, "%s", advice);
  }
}

// While it is played -------------------------------------------------------------------------

/// A round in which nothing is told yet, for the names of its notes; NULL without memory.
static SrNoteVerdict*
blank_notes(const SrPhrase* const phrase)
{
  const size_t count = sr_phrase_note_count(phrase);
  SrNoteVerdict* const notes = calloc(count, sizeof(SrNoteVerdict));
  for (size_t i = 0; notes && i < count; ++i) {
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    notes[i] = (SrNoteVerdict){.index = i, .bar = written->bar, .midi = written->midi};
  }
  return notes;
}

const char*
sr_show_midi_name(const int midi, const SrShowStyle* const style, char name[SR_MIDI_NAME_SIZE])
{
  sr_text_midi_name(midi, false, name);
  char* const sharp = style->unicode ? NULL : strstr(name, "♯");
  if (sharp) {
    *sharp = '#';
    memmove(sharp + 1, sharp + strlen("♯"), strlen(sharp + strlen("♯")) + 1);
  }
  return name;
}

void
sr_show_remark(FILE* const stream, const char* const remark, const SrShowStyle* const style)
{
  const SrShownTake none = {.path = ""};
  const Screen screen = {stream, &none, style, false};
  write_line(&screen, 0, 2, "  Note: %s", remark);
}

void
sr_show_note(FILE* const stream, const SrPhrase* const phrase, const SrNoteVerdict* const note,
             const bool amended, const SrShowStyle* const style)
{
  const SrShownTake take = {.phrase = phrase};
  const Screen screen = {stream, &take, style, uses_flats(phrase)};
  SrNoteVerdict* const notes = blank_notes(phrase);
  if (!notes) {
    return;
  }
  const SrRound round = {.notes = notes, .note_count = sr_phrase_note_count(phrase)};
  char name[NAME_SIZE];
  char words[LINE_SIZE];
  say_fault(&screen, note, words);
  const bool fault = words[0] != '\0';
  if (!fault && (note->has_cut || is_listed(note))) {
    say_ornament(note, words);
  } else if (!fault) {
    append_words(words, "%s", style->unicode ? "·" : "-");
  }
  if (amended) {
    append_words(words, " (after all)");
  }
  SrShowStyle plain = *style;
  plain.colour = style->colour && fault;
  const Screen line = {stream, &take, &plain, screen.flats};
  write_about(&line, note->bar, note_name(&screen, &round, note->index, name), words);
  free(notes);
}

void
sr_show_round(FILE* const stream, const SrPhrase* const phrase, const SrRound* const round,
              const size_t number, const SrShowStyle* const style)
{
  const SrShownTake take = {.phrase = phrase};
  const Screen screen = {stream, &take, style, uses_flats(phrase)};
  write_round_line(&screen, round, number, 0);
  if (style->all_notes) {
    write_left(&screen, round);
    write_all_notes(&screen, round);
    for (size_t s = 0; s < round->slip_count; ++s) {
      write_slip(&screen, round, &round->slips[s]);
    }
    write_extras(&screen, round);
  } else if (!write_faults(&screen, round)) {
    write_line(&screen, 0, 2, "  Nothing went wrong.");
  }
  SrTally tally = {0};
  sr_tally_add(&tally, round);
  if (number == 1) {
    write_not_judged(&screen, &tally);
  }
  write_alone(&screen, round);
  write_scores(&screen, round);
  if (round->advice_count) {
    fprintf(stream, "  %sAdvice: %s", colour(&screen, CYAN), colour(&screen, PLAIN));
    write_line(&screen, 10, 4, "%s", round->advice[0]);
  }
}
