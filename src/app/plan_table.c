// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_table.h"

#include "plan_gauge.h"
#include "say.h"

#include <steadyreed/folded.h>
#include <steadyreed/planned_note.h>

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

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

/// What is written of the first plan.
typedef struct {
  FILE* stream;
  const SrPhrase* phrase;
  const SrInstrument* instrument;
  const SrPlan* plan;
  const SrShowStyle* style;
  SrGauge gauge;
  SrFolded folded;
} Table;

/// Width of the bellows for a terminal's columns, 0 without one.
static int
bellows_columns(const size_t columns)
{
  if (columns == 0 || columns >= BESIDE_BELLOWS + SR_GAUGE_MOST) {
    return SR_GAUGE_MOST;
  }
  return columns < BESIDE_BELLOWS + SR_GAUGE_LEAST ? SR_GAUGE_LEAST : (int)columns - BESIDE_BELLOWS;
}

/// When air is taken at a note of a listed bar, beginning with two spaces; "" for never.
static void
say_air(const Table* const table, const size_t part, const size_t bar, const size_t index,
        char* const words, const size_t size)
{
  char air[SR_FOLDED_AIR_SIZE];
  const bool written = sr_phrase_note(table->phrase, index)->air;
  (void)sr_folded_air(table->phrase, table->plan, &table->folded, part, bar, index, air);
  snprintf(words, size, "%s%s%s", *air || written ? "  " : "", *air && !written ? "take " : "",
           *air      ? air
           : written ? "air not needed"
                     : "");
}

/// Words after a note's bellows, each beginning with two spaces.
static void
say_note(const Table* const table, const size_t index, const char* const air, char* const words,
         const size_t size)
{
  const SrPhraseNote* const written = sr_phrase_note(table->phrase, index);
  const SrPlannedNote* const note = &table->plan->notes[index];
  const char* const ornament = written->ornament == SR_ORNAMENT_STRIKE ? "strike" : "cut";
  char cut[80] = "";
  if (note->cut_button >= 0) {
    const SrButton* const button =
        sr_instrument_button(table->instrument, (size_t)note->cut_button);
    char sounding[SR_MIDI_NAME_SIZE];
    snprintf(cut, sizeof(cut), "  %s %s %s", ornament, button->name,
             sr_show_midi_name(note->cut_midi, table->style, sounding));
  } else if (written->cut_midi >= 0) {
    snprintf(cut, sizeof(cut), "  no %s here", ornament);
  }
  snprintf(words, size, "%s%s%s", note->turns ? "  turn" : "", cut, air);
}

/// Write the columns that each sound has: its bar, name, button, direction and finger.
static void
write_columns(const Table* const table, const char* const bar, const char* const name,
              const char* const button, const char* const direction, const SrFinger finger)
{
  fprintf(table->stream, "%4s  ", bar);
  write_padded(table->stream, name, 4);
  write_padded(table->stream, button, NAME_COLUMNS);
  fprintf(table->stream, "%-6s%-7s", direction, finger_name(finger));
}

/// Write the lower notes of a chord, a line for each.
static void
write_further(const Table* const table, const SrPlannedNote* const note)
{
  const SrPlannedSound* const sounds = note->sounds;
  const size_t count = note->sound_count;
  for (size_t i = 0; i < count; ++i) {
    char name[SR_MIDI_NAME_SIZE];
    (void)sr_show_midi_name(sounds[i].midi, table->style, name);
    if (sounds[i].button < 0) {
      fprintf(table->stream, "      %s  no free finger reaches it\n", name);
      continue;
    }
    write_columns(table, "", name,
                  sr_instrument_button(table->instrument, (size_t)sounds[i].button)->name, "with",
                  sounds[i].finger);
    fputc('\n', table->stream);
  }
}

/// Write a note of a listed bar; `bar_name` is "" after the first of a bar.
static void
write_note(const Table* const table, const size_t part, const size_t bar, const size_t index,
           const char* const bar_name)
{
  FILE* const stream = table->stream;
  const SrShowStyle* const style = table->style;
  const SrPhraseNote* const written = sr_phrase_note(table->phrase, index);
  const SrPlannedNote* const note = &table->plan->notes[index];
  const SrButton* const button = sr_instrument_button(table->instrument, note->button);
  char name[16];
  plain_name(written->name, style->unicode, name, sizeof(name));
  const size_t letters = strlen(name);
  snprintf(name + letters, sizeof(name) - letters, "%d", sr_planned_octave(written));
  write_columns(table, bar_name, name, button->name,
                note->direction == SR_DIRECTION_PRESS ? "press" : "draw", note->finger);
  // In a player's own layout a button may have a long name
  const size_t taken = sr_show_columns(button->name);
  const size_t over = taken > NAME_COLUMNS ? taken - NAME_COLUMNS : 0;
  if (style->columns && BESIDE_BELLOWS + over + (size_t)table->gauge.columns > style->columns) {
    fputs("\n      ", stream);
  }
  sr_gauge_write(stream, &table->gauge, note);
  char air[SR_FOLDED_AIR_SIZE + 8];
  char words[160] = "";
  say_air(table, part, bar, index, air, sizeof(air));
  say_note(table, index, air, words, sizeof(words));
  const bool below =
      style->columns && style->columns < BESIDE_BELLOWS + SR_GAUGE_MOST + LEAST_BESIDE;
  if (below && words[0]) {
    fputs("\n    ", stream);
    sr_show_words(stream, words, &(SrShowLine){4, 6, style->columns, NULL});
  } else if (style->columns) {
    sr_show_words(stream, words, &(SrShowLine){51 + over, 53, style->columns, NULL});
  } else {
    fputs(words, stream);
  }
  fputc('\n', stream);
  write_further(table, note);
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

/// Number of a listed bar.
static int
bar_number(const Table* const table, const size_t bar)
{
  return sr_phrase_bar(table->phrase, table->folded.bars[bar].bar)->number;
}

/// Write which earlier bars are played again; returns their number.
static size_t
write_like(const Table* const table, const SrFoldedPart* const part, const size_t bar)
{
  const SrFoldedBar* const bars = table->folded.bars;
  size_t count = 1;
  while (bar + count < part->first_bar + part->bar_count &&
         bars[bar + count].like == bars[bar].like + count) {
    ++count;
  }
  const int first = bar_number(table, bars[bar].like);
  if (count == 1) {
    fprintf(table->stream, "%4d  as bar %d\n", bar_number(table, bar), first);
  } else {
    const char* const and_or_to = count == 2 ? "and" : "to";
    fprintf(table->stream, "%4d  %s %d as bars %d %s %d\n", bar_number(table, bar), and_or_to,
            bar_number(table, bar + count - 1), first, and_or_to,
            bar_number(table, bars[bar].like + count - 1));
  }
  return count;
}

/// Write the notes of a listed bar.
static void
write_bar(const Table* const table, const size_t part, const size_t bar)
{
  const SrFoldedBar* const listed = &table->folded.bars[bar];
  const size_t end = sr_folded_first_note(table->phrase, listed->bar + 1);
  char name[16];
  snprintf(name, sizeof(name), "%d", bar_number(table, bar));
  for (size_t i = sr_folded_first_note(table->phrase, listed->bar); i < end; ++i) {
    write_note(table, part, bar, i, name);
    name[0] = '\0';
  }
}

/// Write all bars, those that are played again only once.
static void
write_bars(const Table* const table)
{
  fputs("\n bar  note button     finger ", table->stream);
  sr_gauge_write_ends(table->stream, &table->gauge);
  fputc('\n', table->stream);
  for (size_t p = 0; p < table->folded.part_count; ++p) {
    const SrFoldedPart* const part = &table->folded.parts[p];
    if (*part->words) {
      fputs(p ? "\n" : "", table->stream);
      write_wrapped(table->stream, table->style, "%s", part->words);
    }
    for (size_t i = 0; i < part->bar_count;) {
      const size_t bar = part->first_bar + i;
      if (table->folded.bars[bar].like != SR_LIKE_NONE) {
        i += write_like(table, part, bar);
      } else {
        write_bar(table, p, bar);
        ++i;
      }
    }
  }
}

/// Most reasons for single notes that are written.
#define MOST_REASONS 6u

/// Find the notes in the bars written whose reason is not that of an earlier one.
static size_t
find_reasons(const Table* const table, size_t* const notes)
{
  size_t count = 0;
  for (size_t bar = 0; bar < table->folded.bar_count; ++bar) {
    const SrFoldedBar* const listed = &table->folded.bars[bar];
    const size_t end = sr_folded_first_note(table->phrase, listed->bar + 1);
    for (size_t i = sr_folded_first_note(table->phrase, listed->bar);
         listed->like == SR_LIKE_NONE && i < end; ++i) {
      const char* const reason = table->plan->notes[i].reason;
      bool again = !reason || strstr(reason, "either way");
      for (size_t k = 0; !again && k < count; ++k) {
        again = !strcmp(table->plan->notes[notes[k]].reason, reason);
      }
      if (!again) {
        notes[count++] = i;
      }
    }
  }
  return count;
}

/// Write reasons, spread over the phrase if there are many.
static void
write_reasons(const Table* const table)
{
  size_t* const notes = (size_t*)calloc(table->plan->note_count + 1, sizeof(size_t));
  const size_t count = notes ? find_reasons(table, notes) : 0;
  const size_t written = count < MOST_REASONS ? count : MOST_REASONS;
  for (size_t i = 0; i < written; ++i) {
    const size_t note = notes[count <= MOST_REASONS ? i : i * (count - 1) / (MOST_REASONS - 1)];
    char plain[256];
    plain_name(table->plan->notes[note].reason, table->style->unicode, plain, sizeof(plain));
    write_wrapped(table->stream, table->style, "  bar %d, %s",
                  sr_phrase_note(table->phrase, note)->bar, plain);
  }
  free(notes);
}

/// Write the first plan note by note.
static void
write_first(FILE* const stream, const SrPhrase* const phrase, const SrInstrument* const instrument,
            const SrPlan* const plan, const SrShowStyle* const style)
{
  Table table = {.stream = stream,
                 .phrase = phrase,
                 .instrument = instrument,
                 .plan = plan,
                 .style = style,
                 .gauge = sr_gauge_make(plan, bellows_columns(style->columns))};
  if (sr_fold(phrase, plan, &table.folded) == SR_OK) {
    write_bars(&table);
    fputc('\n', stream);
    write_reasons(&table);
  } else {
    write_wrapped(stream, style, "There is not enough memory to write this plan.");
  }
  sr_folded_clear(&table.folded);
}

/// Most bars of which changed notes are named, and the size of their line.
#define MOST_OTHER_BARS 10u
#define OTHER_LINE 400

/// Write the notes of a played bar that have another button in another plan; returns their number.
static size_t
say_other_bar(const SrPhrase* const phrase, const SrInstrument* const instrument,
              const SrPlan* const plan, const SrPlan* const first, const size_t bar,
              const bool unicode, char line[OTHER_LINE])
{
  const size_t end = sr_folded_first_note(phrase, bar + 1);
  size_t others = 0;
  line[0] = '\0';
  for (size_t i = sr_folded_first_note(phrase, bar); i < end; ++i) {
    if (plan->notes[i].button == first->notes[i].button) {
      continue;
    }
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    char name[16];
    plain_name(written->name, unicode, name, sizeof(name));
    const size_t at = strlen(line);
    const char* const button = sr_instrument_button(instrument, plan->notes[i].button)->name;
    if (!others++) {
      snprintf(line, OTHER_LINE, "  bar %d: %s on %s", written->bar, name, button);
    } else {
      snprintf(line + at, OTHER_LINE - at, ", %s on %s", name, button);
    }
  }
  return others;
}

/// Write where another plan differs from the first, bar by bar; a bar that is played again in the
/// same way is written once.
static void
write_other(FILE* const stream, const SrPhrase* const phrase, const SrInstrument* const instrument,
            const SrPlan* const plan, const SrPlan* const first, const SrShowStyle* const style)
{
  char lines[MOST_OTHER_BARS][OTHER_LINE];
  size_t written = 0;
  size_t left_out = 0;
  for (size_t bar = 0; bar < sr_phrase_bar_count(phrase); ++bar) {
    char line[OTHER_LINE];
    const size_t others = say_other_bar(phrase, instrument, plan, first, bar, style->unicode, line);
    bool again = !others;
    for (size_t i = 0; !again && i < written; ++i) {
      again = !strcmp(lines[i], line);
    }
    if (!again && written < MOST_OTHER_BARS) {
      memcpy(lines[written++], line, sizeof(line));
      write_wrapped(stream, style, "%s", line);
    } else if (!again) {
      left_out += others;
    }
  }
  if (left_out) {
    write_wrapped(stream, style, "  and %zu more; --json lists them all", left_out);
  }
}

/// Report the parts of the phrase that have no buttons in a plan.
static void
write_left_out(FILE* const stream, const SrPhrase* const phrase, const SrPlan* const plan,
               const SrShowStyle* const style)
{
  size_t ornaments = 0;
  size_t sounds = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    ornaments += sr_phrase_note(phrase, i)->ornament_count > 0 ? 1 : 0;
    for (size_t s = 0; s < plan->notes[i].sound_count; ++s) {
      sounds += plan->notes[i].sounds[s].button < 0;
    }
  }
  if (ornaments) {
    write_wrapped(stream, style,
                  "Not planned: %zu roll%s or grace%s of more than one note; find the buttons for "
                  "%s yourself.",
                  ornaments, ornaments == 1 ? "" : "s", ornaments == 1 ? "" : "s",
                  ornaments == 1 ? "it" : "them");
  }
  if (sounds) {
    write_wrapped(stream, style,
                  "Not planned: %zu lower note%s of chords, which no free finger reaches in the "
                  "direction of the melody.",
                  sounds, sounds == 1 ? "" : "s");
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
  write_left_out(stream, phrase, sr_plans_get(plans, 0), style);
  for (size_t p = 0; p < sr_plans_count(plans); ++p) {
    const SrPlan* const plan = sr_plans_get(plans, p);
    fprintf(stream, "\nPlan %zu of %zu, cost %ld\n", p + 1, sr_plans_count(plans), plan->cost);
    for (size_t i = 0; i < plan->reason_count; ++i) {
      write_wrapped(stream, style, "  %s", plan->reasons[i]);
    }
    if (p == 0) {
      write_first(stream, phrase, instrument, plan, style);
    } else {
      write_other(stream, phrase, instrument, plan, sr_plans_get(plans, 0), style);
    }
  }
  if (sr_plans_fewer(plans)) {
    fputc('\n', stream);
    write_wrapped(stream, style, "%s", sr_plans_fewer(plans));
  }
}
