// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_table.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/// Columns of the bellows.
#define BELLOWS 20

/// A name for the terminal: sharps and flats in ASCII where it does not take UTF-8.
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

/// Write a name and spaces up to a width, in characters.
static void
write_padded(FILE* const stream, const char* const text, const int width)
{
  int columns = 0;
  for (const char* c = text; *c; ++c) {
    columns += ((unsigned char)*c & 0xC0u) != 0x80u;
  }
  fprintf(stream, "%s%*s", text, columns < width ? width - columns : 0, "");
}

static const char*
finger_name(const SrFinger finger)
{
  static const char* const names[] = {"thumb", "index", "middle", "ring", "little"};
  return names[finger];
}

/// The opening as a line: what lies open, and where it moves.
static void
write_bellows(FILE* const stream, const SrPlannedNote* const note)
{
  char line[BELLOWS + 1];
  const int from = note->before * BELLOWS / SR_BELLOWS_UNITS;
  const int to = note->after * BELLOWS / SR_BELLOWS_UNITS;
  const int low = from < to ? from : to;
  const int high = from < to ? to : from;
  for (int i = 0; i < BELLOWS; ++i) {
    line[i] = i < low ? '=' : i < high ? note->direction == SR_DIRECTION_PRESS ? '<' : '>' : ' ';
  }
  if (low == high && low < BELLOWS) {
    line[low] = note->direction == SR_DIRECTION_PRESS ? '<' : '>';
  }
  line[BELLOWS] = '\0';
  fprintf(stream, "[%s]", line);
}

static void
write_note(FILE* const stream, const SrPhrase* const phrase, const SrInstrument* const instrument,
           const SrPlan* const plan, const size_t index, const bool unicode)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, index);
  const SrPlannedNote* const note = &plan->notes[index];
  const SrButton* const button = sr_instrument_button(instrument, note->button);
  const int before = index > 0 ? sr_phrase_note(phrase, index - 1)->bar : -1;
  char name[16];
  char bar[16] = "";
  plain_name(written->name, unicode, name, sizeof(name));
  if (written->bar != before) {
    snprintf(bar, sizeof(bar), "%d", written->bar);
  }
  fprintf(stream, "%4s  ", bar);
  write_padded(stream, name, 4);
  write_padded(stream, button->name, 6);
  fprintf(stream, "%-6s%-7s", note->direction == SR_DIRECTION_PRESS ? "press" : "draw",
          finger_name(button->finger));
  write_bellows(stream, note);
  if (note->turns) {
    fputs("  turn", stream);
  }
  if (note->cut_button >= 0) {
    fprintf(stream, "  cut %s%s", sr_instrument_button(instrument, (size_t)note->cut_button)->name,
            note->cut_midi == written->cut_midi ? "" : " (not the note written)");
  } else if (written->cut_midi >= 0) {
    fputs("  no cut here", stream);
  }
  if (note->air > 0) {
    fputs(written->air ? "  air" : "  take air", stream);
  } else if (written->air) {
    fputs("  air not needed", stream);
  }
  fputc('\n', stream);
}

/// Write a line of at most 80 columns; what goes beyond is indented on the next.
static void write_wrapped(FILE* stream, const char* format, ...) SR_PRINTF(2, 3);

static void
write_wrapped(FILE* const stream, const char* const format, ...)
{
  char text[512];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text, sizeof(text), format, arguments);
  va_end(arguments);
  int column = 0;
  int space_at = -1;
  int at = 0;
  int from = 0;
  for (; text[at]; ++at) {
    column += ((unsigned char)text[at] & 0xC0u) != 0x80u;
    space_at = text[at] == ' ' && column > 8 ? at : space_at;
    if (column > 80 && space_at > from) {
      fprintf(stream, "%.*s\n    ", space_at - from, text + from);
      from = space_at + 1;
      column = 4;
      for (int i = from; i <= at; ++i) {
        column += ((unsigned char)text[i] & 0xC0u) != 0x80u;
      }
    }
  }
  fprintf(stream, "%s\n", text + from);
}

/// The reasons of single notes that say something, at most so many.
#define MOST_REASONS 4u

static void
write_reasons(FILE* const stream, const SrPhrase* const phrase, const SrPlan* const plan,
              const bool unicode)
{
  size_t told = 0;
  for (size_t i = 0; i < plan->note_count && told < MOST_REASONS; ++i) {
    const char* const reason = plan->notes[i].reason;
    bool again = !reason || strstr(reason, "either way");
    for (size_t j = 0; !again && j < i; ++j) {
      again = plan->notes[j].reason && !strcmp(plan->notes[j].reason, reason);
    }
    if (!again) {
      char plain[256];
      plain_name(reason, unicode, plain, sizeof(plain));
      write_wrapped(stream, "  bar %d, %s", sr_phrase_note(phrase, i)->bar, plain);
      ++told;
    }
  }
}

/// Most changed notes that are named, and most of them on one line.
#define MOST_OTHER 24u

/// Where another plan differs from the first, bar by bar.
static void
write_other(FILE* const stream, const SrPhrase* const phrase, const SrInstrument* const instrument,
            const SrPlan* const plan, const SrPlan* const first, const bool unicode)
{
  char line[512] = "";
  int bar = -1;
  size_t others = 0;
  size_t told = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    if (plan->notes[i].button == first->notes[i].button) {
      continue;
    }
    ++others;
    if (told == MOST_OTHER) {
      continue;
    }
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    char name[16];
    plain_name(written->name, unicode, name, sizeof(name));
    if (written->bar != bar && line[0]) {
      write_wrapped(stream, "%s", line);
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
    ++told;
  }
  if (line[0]) {
    write_wrapped(stream, "%s", line);
  }
  if (others > told) {
    fprintf(stream, "  and %zu more; --json tells them all\n", others - told);
  }
}

/// Say what of the phrase no button was sought for.
static void
write_left_out(FILE* const stream, const SrPhrase* const phrase)
{
  size_t ornaments = 0;
  size_t chords = 0;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    ornaments += sr_phrase_note(phrase, i)->ornament_count > 0 ? 1 : 0;
    chords += sr_phrase_note(phrase, i)->chord_count > 0 ? 1 : 0;
  }
  if (ornaments) {
    write_wrapped(stream,
                  "Not planned: %zu grace%s of more than one note; find the buttons for "
                  "%s yourself.",
                  ornaments, ornaments == 1 ? "" : "s", ornaments == 1 ? "it" : "them");
  }
  if (chords) {
    write_wrapped(stream,
                  "Not planned: what lies under the tune in %zu chord%s; only the top note "
                  "has a button here.",
                  chords, chords == 1 ? "" : "s");
  }
}

void
sr_plan_write_table(FILE* const stream, const SrPhrase* const phrase,
                    const SrInstrument* const instrument, const SrPlanSettings* const settings,
                    const SrPlans* const plans, const SrShowStyle* const style)
{
  const bool unicode = style->unicode;
  fprintf(stream, "%s\nPlayed %s, at %.0f pulses a minute\n", sr_instrument_title(instrument),
          settings->style.name, settings->bpm);
  write_left_out(stream, phrase);
  for (size_t p = 0; p < sr_plans_count(plans); ++p) {
    const SrPlan* const plan = sr_plans_get(plans, p);
    fprintf(stream, "\nPlan %zu of %zu, cost %ld\n", p + 1, sr_plans_count(plans), plan->cost);
    for (size_t i = 0; i < plan->reason_count; ++i) {
      fprintf(stream, "  %s\n", plan->reasons[i]);
    }
    if (p == 0) {
      fputs("\n bar  note button      finger  shut            full\n", stream);
      for (size_t i = 0; i < plan->note_count; ++i) {
        write_note(stream, phrase, instrument, plan, i, unicode);
      }
      fputc('\n', stream);
      write_reasons(stream, phrase, plan, unicode);
    } else {
      write_other(stream, phrase, instrument, plan, sr_plans_get(plans, 0), unicode);
    }
  }
}
