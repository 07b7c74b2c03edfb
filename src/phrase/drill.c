// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/drill.h>

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LOWEST 48
#define HIGHEST 84
#define MOST_BARS 32

typedef struct {
  const char* name;
  int tonic; ///< Pitch class
  bool flats;
} Key;

static const Key KEYS[] = {{"C", 0, false}, {"G", 7, false}, {"D", 2, false},
                           {"A", 9, false}, {"F", 5, true},  {"Bb", 10, true}};
static const int MAJOR[] = {0, 2, 4, 5, 7, 9, 11};

static const Key*
find_key(const char* const name)
{
  for (size_t i = 0; i < sizeof(KEYS) / sizeof(KEYS[0]); ++i) {
    if (!strcmp(KEYS[i].name, name)) {
      return &KEYS[i];
    }
  }
  return NULL;
}

/// Scale step of a pitch in a key, -1 if it is not in the scale.
static int
step_of(const Key* const key, const int midi)
{
  const int above = (midi - key->tonic + 120) % 12;
  for (int i = 0; i < 7; ++i) {
    if (MAJOR[i] == above) {
      return i;
    }
  }
  return -1;
}

bool
sr_drill_in_key(const char* const name, const int midi)
{
  const Key* const key = find_key(name);
  return key && step_of(key, midi) >= 0;
}

int
sr_drill_scale_above(const char* const name, const int midi, const int steps)
{
  const Key* const key = find_key(name);
  if (!key) {
    return -1;
  }
  int at = midi;
  int left = abs(steps);
  // From a pitch outside the scale the first step is to the next scale note
  while (left > 0) {
    at += steps > 0 ? 1 : -1;
    left -= step_of(key, at) >= 0;
  }
  return at;
}

/// A pitch as ABC, with its accidental if the key does not imply it, or `always`.
static void
pitch_text(const Key* const key, const int midi, const bool always, char* const text)
{
  static const char sharp_letters[] = "CCDDEFFGGAAB";
  static const char flat_letters[] = "CDDEEFGGAABB";
  static const bool black[] = {false, true,  false, true,  false, false,
                               true,  false, true,  false, true,  false};
  const int pitch_class = (midi % 12 + 12) % 12;
  const char letter = key->flats ? flat_letters[pitch_class] : sharp_letters[pitch_class];
  size_t at = 0;
  if (always || step_of(key, midi) < 0) {
    text[at++] = !black[pitch_class] ? '=' : key->flats ? '_' : '^';
  }
  const int octave = midi / 12 - 1;
  text[at++] = octave >= 5 ? (char)(letter + 32) : letter;
  for (int i = 5; i < octave; ++i) {
    text[at++] = '\'';
  }
  for (int i = octave; i < 4; ++i) {
    text[at++] = ',';
  }
  text[at] = '\0';
}

/// Text under construction.
typedef struct {
  FILE* stream;
  const SrDrillPlan* plan;
  const Key* key;
} Writer;

static void
write_head(const Writer* const w, const char* const title, const char* const meter,
           const char* const unit, const char* const pulse, const char* const what,
           const char* const count)
{
  fprintf(w->stream, "%%abc-2.1\nX:1\nT:%s\nR:drill\nN:%s\nN:%s\nM:%s\nL:%s\nQ:%s=%.0f\n", title,
          what, count, meter, unit, pulse, w->plan->bpm);
  if (w->plan->kind == SR_DRILL_STEADY && w->plan->without_click > 0) {
    fprintf(w->stream, "%%%%steadyreed:silent-bars %d:%d\n", w->plan->with_click,
            w->plan->without_click);
  }
  fprintf(w->stream, "K:%s\n", w->plan->key);
}

static void
end_bar(const Writer* const w, const int bar)
{
  const bool last = bar + 1 == w->plan->bars;
  fputs(last ? "|]\n" : bar % 4 == 3 ? "|\n" : "|", w->stream);
}

static void
write_cuts(const Writer* const w)
{
  const SrDrillPlan* const plan = w->plan;
  char note[8];
  char cut[8];
  char above[8];
  char below[8];
  const int cut_midi =
      plan->cut_midi ? plan->cut_midi : sr_drill_scale_above(plan->key, plan->midi, 2);
  // An accidental lasts for its bar, so if one is needed all are written
  const bool reported = step_of(w->key, plan->midi) < 0 || step_of(w->key, cut_midi) < 0;
  pitch_text(w->key, plan->midi, reported, note);
  pitch_text(w->key, cut_midi, reported, cut);
  pitch_text(w->key, sr_drill_scale_above(plan->key, plan->midi, 1), reported, above);
  pitch_text(w->key, sr_drill_scale_above(plan->key, plan->midi, -1), reported, below);
  const bool threes = plan->count == 3;
  char what[200];
  snprintf(what, sizeof(what),
           "For cuts: %s notes of one pitch that stay %s. Each lets go before the cut, and the cut "
           "is only a flick.",
           threes ? "three" : "two", threes ? "three" : "two");
  write_head(w, threes ? "Cuts in Threes" : "Cuts in Twos", threes ? "6/8" : "2/4", "1/8",
             threes ? "3/8" : "1/4", what,
             threes ? (plan->between ? "Count one-two-three, and a long one for the moving note."
                                     : "Count one-two-three, then rest as long and listen back.")
                    : (plan->between ? "Count one-and, and a long one for the moving note."
                                     : "Count one-and, then rest as long and listen back."));
  for (int bar = 0; bar < plan->bars; ++bar) {
    for (int i = 0; i < plan->count; ++i) {
      fprintf(w->stream, i ? "{%s}%s" : "%.0s%s", i ? cut : "", note);
    }
    fprintf(w->stream, " %s%d", plan->between ? (bar % 2 ? below : above) : "z", plan->count);
    end_bar(w, bar);
  }
}

static void
write_steady(const Writer* const w)
{
  const SrDrillPlan* const plan = w->plan;
  char count[160];
  if (plan->without_click > 0) {
    snprintf(count, sizeof(count),
             "Count two to a bar. %d bar%s with the click, then %d with the click silent; it must "
             "meet you again.",
             plan->with_click, plan->with_click == 1 ? "" : "s", plan->without_click);
  } else {
    snprintf(count, sizeof(count), "Count two to a bar, with the click all the way.");
  }
  write_head(w, "Even Quavers", "2/4", "1/8", "1/4",
             "For an even beat: no cut, no leap, only the same time between all notes.", count);
  // Up four scale steps and down again, so that no two adjacent notes are the same
  const bool reported = step_of(w->key, plan->midi) < 0;
  static const int steps[] = {0, 1, 2, 3, 4, 3, 2, 1};
  for (int bar = 0; bar < plan->bars; ++bar) {
    for (int i = 0; i < 4; ++i) {
      const int step = steps[(bar * 4 + i) % 8];
      char note[8];
      pitch_text(w->key, step ? sr_drill_scale_above(plan->key, plan->midi, step) : plan->midi,
                 reported, note);
      fputs(note, w->stream);
    }
    end_bar(w, bar);
  }
}

static void
write_directed(const Writer* const w, const int midi, const bool marked, const bool press)
{
  char note[8];
  pitch_text(w->key, midi, false, note);
  fprintf(w->stream, "%s%s", !marked ? "" : press ? "\"_press\"" : "\"_draw\"", note);
}

static void
write_air(const Writer* const w)
{
  const SrDrillPlan* const plan = w->plan;
  const bool press = plan->direction == SR_DIRECTION_PRESS;
  char what[240];
  snprintf(what, sizeof(what),
           "For air: %zu notes on the %s and one on the %s. While that one sounds, take back the "
           "room you used, and let nobody hear it.",
           plan->run_count, press ? "press" : "draw", press ? "draw" : "press");
  // A bar is the run in quavers and the answer, extended to the next whole crotchet
  const size_t run_quavers = plan->run_count;
  const size_t answer_quavers = 4 + run_quavers % 2;
  char meter[32];
  snprintf(meter, sizeof(meter), "%zu/4", (run_quavers + answer_quavers) / 2);
  write_head(
      w, press ? "Air after the Press" : "Air after the Draw", meter, "1/8", "1/4", what,
      "Count crotchets; the air button goes down after the long note has spoken and comes up "
      "before it ends.");
  for (int bar = 0; bar < plan->bars; ++bar) {
    for (size_t i = 0; i < run_quavers; ++i) {
      write_directed(w, plan->run[i], plan->both[i], press);
    }
    fputs(" \"^air\"", w->stream);
    write_directed(w, plan->answer, plan->answer_both, !press);
    fprintf(w->stream, "%zu", answer_quavers);
    fputs(bar + 1 == plan->bars ? "|]\n" : "|\n", w->stream);
  }
}

SrDrillPlan
sr_drill_plan_default(const SrDrillKind kind)
{
  SrDrillPlan plan = {.kind = kind,
                      .key = "D",
                      .midi = kind == SR_DRILL_STEADY ? 62 : 69,
                      .count = 3,
                      .bars = kind == SR_DRILL_STEADY ? 16 : 8,
                      .bpm = 60.0,
                      .direction = SR_DIRECTION_PRESS,
                      .with_click = 4,
                      .without_click = 4};
  if (kind == SR_DRILL_AIR) {
    memcpy(plan.key, "C", 2);
    plan.bars = 4;
  }
  return plan;
}

static SrStatus
check(const SrDrillPlan* const plan, SrError* const error)
{
  if (!find_key(plan->key)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "There is no drill in the key \"%s\"; there are C, G, D, A, F and Bb.",
                        plan->key);
  }
  if (plan->kind != SR_DRILL_AIR && (plan->midi < LOWEST || plan->midi > HIGHEST)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The note is out of range; a drill's note can be from C, to c'.");
  }
  if (plan->kind == SR_DRILL_CUTS && plan->cut_midi && plan->cut_midi <= plan->midi) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "The cut must be higher than its note.");
  }
  if (plan->bars < 1 || plan->bars > MOST_BARS) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "A drill has 1 to %d bars.", MOST_BARS);
  }
  if (!(plan->bpm >= 20.0 && plan->bpm <= 300.0)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "The tempo must be 20 to 300 pulses a minute.");
  }
  if (plan->kind == SR_DRILL_CUTS && plan->count != 2 && plan->count != 3) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "Cuts are counted in twos or in threes.");
  }
  if (plan->kind == SR_DRILL_AIR && (plan->run_count < 3 || plan->run_count > SR_DRILL_RUN ||
                                     plan->direction == SR_DIRECTION_FREE)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "A run for air has 3 to %d notes on the press or on the draw.",
                        SR_DRILL_RUN);
  }
  return SR_OK;
}

SrStatus
sr_drill_write(const SrDrillPlan* const plan, char** const text, SrError* const error)
{
  *text = NULL;
  const SrStatus status = check(plan, error);
  if (status != SR_OK) {
    return status;
  }
  size_t size = 0;
  const Writer writer = {open_memstream(text, &size), plan, find_key(plan->key)};
  if (!writer.stream) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for a drill.");
  }
  switch (plan->kind) {
  case SR_DRILL_CUTS:
    write_cuts(&writer);
    break;
  case SR_DRILL_AIR:
    write_air(&writer);
    break;
  case SR_DRILL_STEADY:
    write_steady(&writer);
    break;
  }
  if (fclose(writer.stream) != 0 || !*text) {
    free(*text);
    *text = NULL;
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for a drill.");
  }
  return SR_OK;
}
