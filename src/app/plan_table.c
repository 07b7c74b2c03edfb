// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_table.h"

#include "say.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/// Largest and smallest width of the bellows, columns.
#define BELLOWS 20
#define LEAST_BELLOWS 9
/// Columns beside the bellows, including their brackets, and columns needed for words after them;
/// on a narrower terminal the words go below.
#define BESIDE_BELLOWS 31
/// Columns of a button's name.
#define NAME_COLUMNS 6
#define LEAST_BESIDE 22

/// A name with sharps and flats in ASCII if the terminal does not take UTF-8.
static void
plain_name(const char* const name, const bool unicode, char* const plain, const size_t size)
{
  size_t at = 0;
  for (const char* c = name; *c && at + 4 < size; ++c) {
    if (!unicode && !strncmp(c, "♯", 3)) {
      plain[at++] = '#';
      c += 2;
    } else if (!unicode && !strncmp(c, "♭", 3)) {
      plain[at++] = 'b';
      c += 2;
    } else {
      plain[at++] = *c;
    }
  }
  plain[at] = '\0';
}

/// Write a name padded to a width in columns.
static void
write_padded(FILE* const stream, const char* const text, const size_t width)
{
  const size_t columns = sr_show_columns(text);
  fprintf(stream, "%s%*s", text, columns < width ? (int)(width - columns) : 0, "");
}

static const char*
finger_name(const SrFinger finger)
{
  static const char* const names[] = {"thumb", "index", "middle", "ring", "little"};
  return names[finger];
}

/// Draw the opening of the bellows: how far open, and where it moves.
static void
write_bellows(FILE* const stream, const SrPlannedNote* const note, const int columns)
{
  char line[BELLOWS + 1] = "";
  const int from = note->before * columns / SR_BELLOWS_UNITS;
  const int to = note->after * columns / SR_BELLOWS_UNITS;
  const int low = from < to ? from : to;
  const int high = from < to ? to : from;
  for (int i = 0; i < columns; ++i) {
    line[i] = i < low ? '=' : i < high ? note->direction == SR_DIRECTION_PRESS ? '<' : '>' : ' ';
  }
  if (low == high && low < columns) {
    line[low] = note->direction == SR_DIRECTION_PRESS ? '<' : '>';
  }
  fprintf(stream, "[%s]", line);
}

/// Width of the bellows for a terminal's columns, 0 without one.
static int
bellows_columns(const size_t columns)
{
  if (columns == 0 || columns >= BESIDE_BELLOWS + BELLOWS) {
    return BELLOWS;
  }
  return columns < BESIDE_BELLOWS + LEAST_BELLOWS ? LEAST_BELLOWS : (int)columns - BESIDE_BELLOWS;
}

/// Words after a note's bellows, each beginning with two spaces.
static void
say_note(const SrPhraseNote* const written, const SrPlannedNote* const note,
         const SrInstrument* const instrument, char* const words, const size_t size)
{
  const char* const ornament = written->ornament == SR_ORNAMENT_STRIKE ? "strike" : "cut";
  char cut[64] = "";
  if (note->cut_button >= 0) {
    snprintf(cut, sizeof(cut), "  %s %s%s", ornament,
             sr_instrument_button(instrument, (size_t)note->cut_button)->name,
             note->cut_midi == written->cut_midi ? "" : " (not the written note)");
  } else if (written->cut_midi >= 0) {
    snprintf(cut, sizeof(cut), "  no %s here", ornament);
  }
  const char* const air = note->air > 0  ? (written->air ? "  air" : "  take air")
                          : written->air ? "  air not needed"
                                         : "";
  snprintf(words, size, "%s%s%s", note->turns ? "  turn" : "", cut, air);
}

static void
write_note(FILE* const stream, const SrPhrase* const phrase, const SrInstrument* const instrument,
           const SrPlan* const plan, const size_t index, const SrShowStyle* const style)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, index);
  const SrPlannedNote* const note = &plan->notes[index];
  const SrButton* const button = sr_instrument_button(instrument, note->button);
  const int before = index > 0 ? sr_phrase_note(phrase, index - 1)->bar : -1;
  char name[16];
  char bar[16] = "";
  plain_name(written->name, style->unicode, name, sizeof(name));
  if (written->bar != before) {
    snprintf(bar, sizeof(bar), "%d", written->bar);
  }
  fprintf(stream, "%4s  ", bar);
  write_padded(stream, name, 4);
  write_padded(stream, button->name, NAME_COLUMNS);
  fprintf(stream, "%-6s%-7s", note->direction == SR_DIRECTION_PRESS ? "press" : "draw",
          finger_name(button->finger));
  // In a player's own layout a button may have a long name
  const size_t taken = sr_show_columns(button->name);
  const size_t over = taken > NAME_COLUMNS ? taken - NAME_COLUMNS : 0;
  const int bellows = bellows_columns(style->columns);
  if (style->columns && BESIDE_BELLOWS + over + (size_t)bellows > style->columns) {
    fputs("\n      ", stream);
  }
  write_bellows(stream, note, bellows);
  char words[128] = "";
  say_note(written, note, instrument, words, sizeof(words));
  const bool below = style->columns && style->columns < BESIDE_BELLOWS + BELLOWS + LEAST_BESIDE;
  if (below && words[0]) {
    fputs("\n    ", stream);
    sr_show_words(stream, words, &(SrShowLine){4, 6, style->columns, NULL});
  } else if (style->columns) {
    sr_show_words(stream, words, &(SrShowLine){51 + over, 53, style->columns, NULL});
  } else {
    fputs(words, stream);
  }
  fputc('\n', stream);
}

/// Write text from outside, broken if needed; further lines are indented.
static void
write_words(FILE* const stream, const SrShowStyle* const style, const char* const text)
{
  char* const safe = sr_show_safe(text, style->unicode);
  sr_show_words(stream, safe ? safe : "", &(SrShowLine){0, 4, style->columns, NULL});
  fputc('\n', stream);
  free(safe);
}

/// … with a printf() format.
static void write_wrapped(FILE* stream, const SrShowStyle* style, const char* format, ...)
    SR_PRINTF(3, 4);

static void
write_wrapped(FILE* const stream, const SrShowStyle* const style, const char* const format, ...)
{
  char text[512];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text, sizeof(text), format, arguments);
  va_end(arguments);
  write_words(stream, style, text);
}

/// Most reasons for single notes that are written.
#define MOST_REASONS 4u

static void
write_reasons(FILE* const stream, const SrPhrase* const phrase, const SrPlan* const plan,
              const SrShowStyle* const style)
{
  size_t reported = 0;
  for (size_t i = 0; i < plan->note_count && reported < MOST_REASONS; ++i) {
    const char* const reason = plan->notes[i].reason;
    bool again = !reason || strstr(reason, "either way");
    for (size_t j = 0; !again && j < i; ++j) {
      again = plan->notes[j].reason && !strcmp(plan->notes[j].reason, reason);
    }
    if (!again) {
      char plain[256];
      plain_name(reason, style->unicode, plain, sizeof(plain));
      write_wrapped(stream, style, "  bar %d, %s", sr_phrase_note(phrase, i)->bar, plain);
      ++reported;
    }
  }
}

/// Most changed notes that are named, and most of them on a line.
#define MOST_OTHER 24u

/// Write where another plan differs from the first, bar by bar.
static void
write_other(FILE* const stream, const SrPhrase* const phrase, const SrInstrument* const instrument,
            const SrPlan* const plan, const SrPlan* const first, const SrShowStyle* const style)
{
  char line[512] = "";
  int bar = -1;
  size_t others = 0;
  size_t reported = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    if (plan->notes[i].button == first->notes[i].button) {
      continue;
    }
    ++others;
    if (reported == MOST_OTHER) {
      continue;
    }
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    char name[16];
    plain_name(written->name, style->unicode, name, sizeof(name));
    if (written->bar != bar && line[0]) {
      write_wrapped(stream, style, "%s", line);
      line[0] = '\0';
    }
    const size_t at = strlen(line);
    const char* const button = sr_instrument_button(instrument, plan->notes[i].button)->name;
    if (!line[0]) {
      snprintf(line, sizeof(line), "  bar %d: %s on %s", written->bar, name, button);
    } else {
      snprintf(line + at, sizeof(line) - at, ", %s on %s", name, button);
    }
    bar = written->bar;
    ++reported;
  }
  if (line[0]) {
    write_wrapped(stream, style, "%s", line);
  }
  if (others > reported) {
    write_wrapped(stream, style, "  and %zu more; --json lists them all", others - reported);
  }
}

/// Report the parts of the phrase that were not planned.
static void
write_left_out(FILE* const stream, const SrPhrase* const phrase, const SrShowStyle* const style)
{
  size_t ornaments = 0;
  size_t chords = 0;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    ornaments += sr_phrase_note(phrase, i)->ornament_count > 0 ? 1 : 0;
    chords += sr_phrase_note(phrase, i)->chord_count > 0 ? 1 : 0;
  }
  if (ornaments) {
    write_wrapped(stream, style,
                  "Not planned: %zu roll%s or grace%s of more than one note; find the buttons for "
                  "%s yourself.",
                  ornaments, ornaments == 1 ? "" : "s", ornaments == 1 ? "" : "s",
                  ornaments == 1 ? "it" : "them");
  }
  if (chords) {
    write_wrapped(
        stream, style,
        "Not planned: the lower notes of %zu chord%s; only the top note has a button here.", chords,
        chords == 1 ? "" : "s");
  }
}

void
sr_plan_write_table(FILE* const stream, const SrPhrase* const phrase,
                    const SrInstrument* const instrument, const SrPlanSettings* const settings,
                    const SrPlans* const plans, const SrShowStyle* const style)
{
  write_wrapped(stream, style, "%s", sr_instrument_title(instrument));
  write_wrapped(stream, style, "Played %s, at %.0f pulses a minute", settings->style.name,
                settings->bpm);
  write_left_out(stream, phrase, style);
  for (size_t p = 0; p < sr_plans_count(plans); ++p) {
    const SrPlan* const plan = sr_plans_get(plans, p);
    fprintf(stream, "\nPlan %zu of %zu, cost %ld\n", p + 1, sr_plans_count(plans), plan->cost);
    for (size_t i = 0; i < plan->reason_count; ++i) {
      write_wrapped(stream, style, "  %s", plan->reasons[i]);
    }
    if (p == 0) {
      fprintf(stream, "\n bar  note button      finger  shut%*s\n",
              bellows_columns(style->columns) - 4, "full");
      for (size_t i = 0; i < plan->note_count; ++i) {
        write_note(stream, phrase, instrument, plan, i, style);
      }
      fputc('\n', stream);
      write_reasons(stream, phrase, plan, style);
    } else {
      write_other(stream, phrase, instrument, plan, sr_plans_get(plans, 0), style);
    }
  }
}
