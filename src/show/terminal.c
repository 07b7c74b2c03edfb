// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/show.h>

#include "fault_list.h"
#include "screen.h"
#include "tally.h"
#include "text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Most rounds for which each fault is listed; above that, only the most frequent faults.
#define MOST_ROUNDS 6u

// What went wrong ----------------------------------------------------------------------------

/// Write what went wrong at a note, or with the whole round.
static void
write_fault(void* const context, const SrFaultLine* const line)
{
  const SrScreen* const screen = *(const SrScreen**)context;
  if (line->name) {
    sr_screen_about(screen, line->bar, line->name, line->words);
  } else {
    sr_screen_line(screen, 0, 4, "  %s", line->words);
  }
}

/// Where the faults of a round go; `screen` must outlive the list.
static SrFaultList
fault_list(const SrScreen** const screen, const SrRound* const round)
{
  const SrFaultList list = {&(*screen)->naming, round, write_fault, (void*)screen};
  return list;
}

/// Write every note of a round, then its slips and insertions.
static void
write_all(const SrScreen* screen, const SrRound* const round)
{
  const SrFaultList list = fault_list(&screen, round);
  (void)sr_faults_left(&list);
  sr_screen_all_notes(screen, round);
  sr_faults_slips(&list);
  sr_faults_extras(&list);
}

/// Write only what went wrong.
static void
write_faults(const SrScreen* screen, const SrRound* const round)
{
  const SrFaultList list = fault_list(&screen, round);
  if (!sr_faults(&list)) {
    sr_screen_line(screen, 0, 2, "  Nothing went wrong.");
  }
}

/// `total` is 0 during practice.
static void
write_round_line(const SrScreen* const screen, const SrRound* const round, const size_t number,
                 const size_t total)
{
  char line[SR_WORDS_SIZE] = "";
  char head[SR_ROUND_HEAD_SIZE];
  sr_words_round(round, line);
  sr_words_round_head(round, number, total, head);
  fputc('\n', screen->stream);
  fprintf(screen->stream, "%s%s: %s", sr_screen_colour(screen, SR_BOLD), head,
          sr_screen_colour(screen, SR_PLAIN));
  sr_screen_line(screen, strlen(head) + 2, 2, "%s", line);
}

/// Name once the ornaments written that are not judged; nothing if there are none.
static void
write_not_judged(const SrScreen* const screen, const SrTally* const tally)
{
  static const char* const names[SR_ORNAMENTS] = {
      [SR_ORNAMENT_ROLL] = "rolls", [SR_ORNAMENT_CRAN] = "crans", [SR_ORNAMENT_GROUP] = "groups"};
  char line[SR_WORDS_SIZE] = "";
  for (int o = SR_ORNAMENT_ROLL; o < SR_ORNAMENTS; ++o) {
    if (tally->written[o]) {
      sr_words_add(line, "%s%zu of %zu %s", line[0] ? ", " : "", tally->heard[o], tally->written[o],
                   names[o]);
      if (tally->in_part[o]) {
        sr_words_add(line, " and %zu in part", tally->in_part[o]);
      }
    }
  }
  if (line[0]) {
    sr_screen_line(screen, 0, 4, "  Heard, but not judged: %s%s", line,
                   tally->written[SR_ORNAMENT_ROLL] > tally->heard[SR_ORNAMENT_ROLL]
                       ? "; a plain note is fine where a roll is written"
                       : "");
  }
}

/// Write how the player kept the beat while the click was silent.
static void
write_alone(const SrScreen* const screen, const SrRound* const round)
{
  for (size_t i = 0; i < round->alone_count; ++i) {
    const SrAlone* const alone = &round->alone[i];
    const bool known = isfinite(alone->offset_ms);
    const double off_ms = known ? alone->offset_ms : alone->change_ms;
    const double faster = alone->tempo_percent;
    char line[SR_WORDS_SIZE] = "";
    sr_words_add(line, "%u bar%s on your own: ", alone->silence.bars,
                 alone->silence.bars == 1 ? "" : "s");
    if (fabs(off_ms) < 0.5) {
      sr_words_add(line, "back with the click%s", known ? "" : " as before");
    } else {
      sr_words_add(line, "%.0f ms %s%s", fabs(off_ms), off_ms > 0.0 ? "late" : "early",
                   known ? "" : " compared with before");
    }
    if (fabs(faster) >= 0.05) {
      sr_words_add(line, ", %.1f %% %s", fabs(faster), faster > 0.0 ? "fast" : "slow");
    }
    sr_screen_line(screen, 0, 4, "  %s", line);
  }
}

static void
write_scores(const SrScreen* const screen, const SrRound* const round)
{
  char line[SR_WORDS_SIZE] = "";
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
      sr_words_add(line, "%s%s %.0f", line[0] ? ", " : "", scores[i].name, scores[i].score);
    }
  }
  if (line[0]) {
    sr_screen_line(screen, 0, 4, "  Scores out of 100: %s", line);
  }
}

// The whole take -----------------------------------------------------------------------------

static void
write_head(const SrScreen* const screen)
{
  const SrAssessment* const assessment = screen->take->assessment;
  char line[SR_WORDS_SIZE] = "";
  char clock[32];
  sr_words_add(line, "%.400s",
               assessment->title && assessment->title[0] ? assessment->title : "Untitled phrase");
  if (assessment->first_bar == assessment->last_bar) {
    sr_words_add(line, ", bar %d", assessment->first_bar);
  } else {
    sr_words_add(line, ", bars %d to %d", assessment->first_bar, assessment->last_bar);
  }
  sr_words_add(line, ", %zu note%s", assessment->phrase_notes,
               sr_words_plural(assessment->phrase_notes));
  fputs(sr_screen_colour(screen, SR_BOLD), screen->stream);
  sr_screen_line(screen, 0, 2, "%s", line);
  fputs(sr_screen_colour(screen, SR_PLAIN), screen->stream);

  line[0] = '\0';
  sr_words_add(line, "Take %.600s, %s long", screen->take->path ? screen->take->path : "",
               sr_text_clock(assessment->take.seconds, clock));
  if (isfinite(assessment->reference_hz) && assessment->reference_hz > 0.0) {
    const double cents = 1200.0 * log2(assessment->reference_hz / 440.0);
    sr_words_add(line, "; the box's A is %.1f Hz", assessment->reference_hz);
    if (fabs(cents) >= 1.0) {
      sr_words_add(line, " (%.0f cent%s %s 440)", fabs(cents), fabs(cents) < 1.5 ? "" : "s",
                   cents > 0.0 ? "over" : "under");
    }
  }
  sr_screen_line(screen, 0, 2, "%s", line);
  if (assessment->doubled) {
    sr_screen_line(screen, 0, 2, "Each note was heard together with the octave below it.");
  }
  if (assessment->accompanied) {
    sr_screen_line(screen, 0, 2,
                   "Other notes were heard below the melody, so nothing is said about absent or "
                   "joined cuts, joined notes or air.");
  }
  for (size_t i = 0; i < screen->take->remark_count; ++i) {
    sr_screen_line(screen, 0, 2, "Note: %s", screen->take->remarks[i]);
  }
}

void
sr_show_text(FILE* const stream, const SrShownTake* const take, const SrShowStyle* const style)
{
  const SrScreen screen = {stream, take, style, sr_naming_of(take->phrase)};
  const SrAssessment* const assessment = take->assessment;
  if (!assessment) {
    sr_screen_line(&screen, 0, 2, "%.600s: not judged. %s", take->path ? take->path : "",
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
      write_all(&screen, round);
    } else if (each) {
      write_faults(&screen, round);
    }
    write_alone(&screen, round);
    write_scores(&screen, round);
  }
  if (!each) {
    sr_screen_most_often(&screen, assessment);
  }
  size_t number = 0;
  const char* const advice = sr_worst_advice(assessment, &number);
  if (advice) {
    char head[64] = "Advice: ";
    if (assessment->round_count > 1) {
      snprintf(head, sizeof(head), "Advice, from round %zu: ", number);
    }
    fprintf(stream, "\n%s%s%s", sr_screen_colour(&screen, SR_CYAN), head,
            sr_screen_colour(&screen, SR_PLAIN));
    sr_screen_line(&screen, strlen(head), 2, "%s", advice);
  }
}

// During practice -----------------------------------------------------------------------------

/// An empty round, for the names of its notes; NULL without memory.
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
  const SrScreen screen = {stream, &none, style, {NULL, false}};
  sr_screen_line(&screen, 0, 2, "  Note: %s", remark);
}

void
sr_show_note(FILE* const stream, const SrPhrase* const phrase, const SrNoteVerdict* const note,
             const bool amended, const SrShowStyle* const style)
{
  const SrShownTake take = {.phrase = phrase};
  const SrScreen screen = {stream, &take, style, sr_naming_of(phrase)};
  SrNoteVerdict* const notes = blank_notes(phrase);
  if (!notes) {
    return;
  }
  const SrRound round = {.notes = notes, .note_count = sr_phrase_note_count(phrase)};
  char name[SR_NOTE_NAME_SIZE];
  char words[SR_WORDS_SIZE];
  sr_words_fault(&screen.naming, note, words);
  const bool fault = words[0] != '\0';
  if (!fault && (note->has_cut || sr_words_is_listed(note))) {
    sr_words_ornament(note, words);
  } else if (!fault) {
    sr_words_add(words, "%s", style->unicode ? "·" : "-");
  }
  if (amended) {
    sr_words_add(words, " (after all)");
  }
  SrShowStyle plain = *style;
  plain.colour = style->colour && fault;
  const SrScreen line = {stream, &take, &plain, screen.naming};
  sr_screen_about(&line, note->bar, sr_words_note_name(&screen.naming, &round, note->index, name),
                  words);
  free(notes);
}

void
sr_show_round(FILE* const stream, const SrPhrase* const phrase, const SrRound* const round,
              const size_t number, const SrShowStyle* const style)
{
  const SrShownTake take = {.phrase = phrase};
  const SrScreen screen = {stream, &take, style, sr_naming_of(phrase)};
  write_round_line(&screen, round, number, 0);
  if (style->all_notes) {
    write_all(&screen, round);
  } else {
    write_faults(&screen, round);
  }
  SrTally tally = {0};
  sr_tally_add(&tally, round);
  if (number == 1) {
    write_not_judged(&screen, &tally);
  }
  write_alone(&screen, round);
  write_scores(&screen, round);
  if (round->advice_count) {
    fprintf(stream, "  %sAdvice: %s", sr_screen_colour(&screen, SR_CYAN),
            sr_screen_colour(&screen, SR_PLAIN));
    const size_t size = round->clean && style->next_said ? strcspn(round->advice[0], ";")
                                                         : strlen(round->advice[0]);
    sr_screen_line(&screen, 10, 4, "%.*s", (int)size, round->advice[0]);
  }
}
