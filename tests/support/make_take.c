// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file make_take.c
   Makes a take with known truth: sound and JSON.

   usage: make_take TUNE.abc OUT.flac|wav TRUTH.json [NAME=VALUE…]
*/

#include "take_maker.h"

#include <jansson.h>
#include <sndfile.h>

#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Most releases of air.
#define MOST_AIR 32u

/// A number of the plan that can be set.
static const struct {
  const char* name;
  size_t offset;
  const char* what;
} NUMBERS[] = {
    {"attack_ms", offsetof(TakePlan, attack_ms), "rise of E5 on made reeds"},
    {"even_db", offsetof(TakePlan, even_db), "even harmonics raised by so much"},
    {"octave_db", offsetof(TakePlan, octave_db), "an octave under the notes, against them"},
    {"coupled_db", offsetof(TakePlan, coupled_db), "a coupled reed, against its tone"},
    {"rt60_s", offsetof(TakePlan, rt60_s), "reverberation time, 0 for none"},
    {"direct_db", offsetof(TakePlan, direct_db), "direct over reflected sound"},
    {"floor_db", offsetof(TakePlan, floor_db), "noise, dBFS"},
    {"peak_dbfs", offsetof(TakePlan, peak_dbfs), "largest sample; over 0 the take is clipped"},
    {"reference_hz", offsetof(TakePlan, reference_hz), "A4"},
    {"detune_cents", offsetof(TakePlan, detune_cents), "deviation of single reeds"},
    {"bpm", offsetof(TakePlan, bpm), "pulses a minute"},
    {"pause_s", offsetof(TakePlan, pause_s), "between rounds"},
    {"jitter_ms", offsetof(TakePlan, jitter_ms), "deviation of onsets"},
    {"drift_percent", offsetof(TakePlan, drift_percent), "change of tempo"},
    {"faster", offsetof(TakePlan, faster), "so many times as fast from the middle on, 0 for not"},
    {"break_s", offsetof(TakePlan, break_s), "a wait in the middle, 0 for none"},
    {"lilt", offsetof(TakePlan, lilt), "first place of a pulse longer by this share"},
    {"p_long", offsetof(TakePlan, p_long), "chance of a long cut"},
    {"p_on_top", offsetof(TakePlan, p_on_top), "chance of a joined note with its cut on top"},
    {"p_bare", offsetof(TakePlan, p_bare), "chance of a joined note without a cut"},
    {"p_absent", offsetof(TakePlan, p_absent), "chance of an absent cut"},
    {"p_missed", offsetof(TakePlan, p_missed), "chance of a missed note"},
    {"p_wrong", offsetof(TakePlan, p_wrong), "chance of a wrong note"},
    {"p_extra", offsetof(TakePlan, p_extra), "chance of an extra note"},
    {"metronome_db", offsetof(TakePlan, metronome_db), "a click against the notes, 0 for none"},
    {"overlap_ms", offsetof(TakePlan, overlap_ms), "most that different notes overlap"},
};

static const struct {
  const char* name;
  size_t offset;
  const char* what;
} SWITCHES[] = {
    {"octave", offsetof(TakePlan, octave), "an octave under each note"},
    {"key_clicks", offsetof(TakePlan, key_clicks), "knocks of the buttons"},
    {"speech", offsetof(TakePlan, speech), "talk in the pauses"},
    {"false_start", offsetof(TakePlan, false_start), "begin, break off, begin again"},
    {"stop_early", offsetof(TakePlan, stop_early), "break the last round off"},
    {"hesitate", offsetof(TakePlan, hesitate), "wait once in each round"},
    {"joined_rows", offsetof(TakePlan, joined_rows), "join two repeats, the second's cut on top"},
};

static void
print_help(void)
{
  printf("usage: make_take TUNE.abc OUT.flac|wav TRUTH.json [NAME=VALUE...]\n");
  printf("  air=ROUND:NOTE:AFTER_MS:LENGTH_MS:LEVEL_DB:DIP_DB  a release of air, many times\n");
  printf("  air_asked=AFTER_MS:LENGTH_MS:LEVEL_DB:DIP_DB  one under each note that asks for air\n");
  printf("  accompaniment=bass|fifth|vamp|offbeat|octave:UNDER_DB  what the left hand adds\n");
  printf("  reeds=");
  for (int k = 0; k < REED_KINDS; ++k) {
    printf("%s%s", k ? "|" : "", REED_NAMES[k]);
  }
  printf("\n  tune=X, bars=A-B, seed=N, rounds=N, coupled=SEMITONES (12, -12), and:\n");
  for (size_t i = 0; i < sizeof(NUMBERS) / sizeof(NUMBERS[0]); ++i) {
    printf("  %-14s %s\n", NUMBERS[i].name, NUMBERS[i].what);
  }
  for (size_t i = 0; i < sizeof(SWITCHES) / sizeof(SWITCHES[0]); ++i) {
    printf("  %-14s %s (0 or 1)\n", SWITCHES[i].name, SWITCHES[i].what);
  }
}

/// What can be chosen, beside the numbers and switches.
typedef struct {
  SrPhraseChoice phrase;
  bool air_asked; ///< One release, as `air`, under each note that asks for it
  AirPlan air;
} Choice;

static AirPlan releases[MOST_AIR];

/// One more release; false if there is no room.
static bool
add_air(TakePlan* const plan, const AirPlan* const one)
{
  if (plan->air_count == MOST_AIR) {
    return false;
  }
  AirPlan* const added = &releases[plan->air_count++];
  *added = *one;
  added->colour = HISS_PINK;
  added->course = HISS_EVEN;
  added->bend_cents = -2.0 * one->dip_db;
  plan->air = releases;
  return true;
}

/// Take air where the phrase asks for it, in all rounds.
static bool
take_asked_air(TakePlan* const plan, const SrPhrase* const phrase, const AirPlan* const air)
{
  bool room = true;
  for (unsigned r = 0; r < plan->rounds; ++r) {
    for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
      AirPlan one = *air;
      one.round = r;
      one.note = i;
      room = room && (!sr_phrase_note(phrase, i)->air || add_air(plan, &one));
    }
  }
  return room;
}

static bool
set(TakePlan* const plan, Choice* const choice, const char* const name, const char* const value)
{
  if (!strcmp(name, "reeds")) {
    for (int k = 0; k < REED_KINDS; ++k) {
      if (!strcmp(value, REED_NAMES[k])) {
        plan->kind = (ReedKind)k;
        return true;
      }
    }
    return false;
  }
  if (!strcmp(name, "accompaniment")) {
    static const char* const hands[] = {"none", "bass", "fifth", "vamp", "offbeat", "octave"};
    AccompanimentPlan* const hand = &plan->accompaniment;
    char kind[16] = "";
    *hand = (AccompanimentPlan){ACCOMPANY_NONE, 0.0, 0.7, 5.0, 1.0};
    const bool read = sscanf(value, "%15[a-z]:%lf", kind, &hand->under_db) == 2;
    for (int k = 0; read && k < ACCOMPANY_KINDS; ++k) {
      hand->kind = strcmp(kind, hands[k]) ? hand->kind : (AccompanimentKind)k;
    }
    return hand->kind != ACCOMPANY_NONE;
  }
  if (!strcmp(name, "air") || !strcmp(name, "air_asked")) {
    AirPlan one = {0};
    unsigned long note = 0;
    double after_ms = 0.0;
    double length_ms = 0.0;
    choice->air_asked = choice->air_asked || name[3];
    if (name[3] ? sscanf(value, "%lf:%lf:%lf:%lf", &after_ms, &length_ms, &one.level_db,
                         &one.dip_db) != 4
                : sscanf(value, "%u:%lu:%lf:%lf:%lf:%lf", &one.round, &note, &after_ms, &length_ms,
                         &one.level_db, &one.dip_db) != 6) {
      return false;
    }
    one.note = note;
    one.after_s = after_ms / 1000.0;
    one.length_s = length_ms / 1000.0;
    choice->air = name[3] ? one : choice->air;
    return name[3] || add_air(plan, &one);
  }
  if (!strcmp(name, "tune")) {
    choice->phrase.tune = (int)strtol(value, NULL, 10);
    return true;
  }
  if (!strcmp(name, "bars")) {
    return sscanf(value, "%d-%d", &choice->phrase.first_bar, &choice->phrase.last_bar) == 2;
  }
  if (!strcmp(name, "seed")) {
    plan->seed = strtoul(value, NULL, 10);
    return true;
  }
  if (!strcmp(name, "coupled")) {
    plan->coupled = (int)strtol(value, NULL, 10);
    return true;
  }
  if (!strcmp(name, "rounds")) {
    plan->rounds = (unsigned)strtoul(value, NULL, 10);
    return plan->rounds > 0;
  }
  for (size_t i = 0; i < sizeof(NUMBERS) / sizeof(NUMBERS[0]); ++i) {
    if (!strcmp(name, NUMBERS[i].name)) {
      const double number = strtod(value, NULL);
      memcpy((char*)plan + NUMBERS[i].offset, &number, sizeof(number));
      return true;
    }
  }
  for (size_t i = 0; i < sizeof(SWITCHES) / sizeof(SWITCHES[0]); ++i) {
    if (!strcmp(name, SWITCHES[i].name)) {
      const bool on = value[0] == '1';
      memcpy((char*)plan + SWITCHES[i].offset, &on, sizeof(on));
      return true;
    }
  }
  return false;
}

static json_t*
number_or_null(const double value)
{
  return isfinite(value) ? json_real(value) : json_null();
}

static bool
write_truth(const char* const path, const SrPhrase* const phrase, const Take* const take)
{
  static const char* const statuses[] = {"played", "missed", "wrong", "unheard"};
  static const char* const verdicts[] = {"clean", "long", "joined", "absent", "stray"};
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  json_t* const rounds = json_array();
  for (size_t r = 0; r < take->round_count; ++r) {
    json_t* const notes = json_array();
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const note = &take->rounds[r].notes[i];
      json_t* const item =
          json_pack("{s:f, s:i, s:s, s:i, s:o, s:o}", "pulses",
                    sr_fraction_value(sr_phrase_note(phrase, i)->start) / pulse, "midi", note->midi,
                    "status", statuses[note->status], "heard_midi", note->heard_midi, "onset_s",
                    number_or_null(note->onset_s), "speaks_s", number_or_null(note->respeak_s));
      if (note->has_cut) {
        json_object_set_new(item, "cut", json_string(verdicts[note->verdict]));
        json_object_set_new(item, "cut_length_ms", number_or_null(note->cut_length_ms));
      }
      json_array_append_new(notes, item);
    }
    json_array_append_new(rounds, json_pack("{s:f, s:f, s:o}", "start_s", take->rounds[r].start_s,
                                            "end_s", take->rounds[r].end_s, "notes", notes));
  }
  json_t* const air = json_array();
  for (size_t i = 0; i < take->air_count; ++i) {
    const TruthAir* const one = &take->air[i];
    json_array_append_new(air, json_pack("{s:f, s:f, s:f, s:i}", "start_s", one->start_s, "end_s",
                                         one->end_s, "level_db", one->level_db, "midi", one->midi));
  }
  json_t* const root = json_pack("{s:f, s:o, s:o}", "reference_hz", take->reference_hz, "rounds",
                                 rounds, "air", air);
  const bool written = json_dump_file(root, path, JSON_INDENT(1) | JSON_REAL_PRECISION(7)) == 0;
  json_decref(root);
  return written;
}

static bool
write_sound(const char* const path, const Take* const take)
{
  const char* const dot = strrchr(path, '.');
  const bool flac = dot && !strcmp(dot, ".flac");
  SF_INFO info = {.samplerate = (int)take->rate_hz,
                  .channels = 1,
                  .format = (flac ? SF_FORMAT_FLAC : SF_FORMAT_WAV) | SF_FORMAT_PCM_16};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  if (!file) {
    return false;
  }
  const sf_count_t count = (sf_count_t)take->count;
  const bool written = sf_writef_float(file, take->samples, count) == count;
  return sf_close(file) == 0 && written;
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    print_help();
    return argc == 2 && !strcmp(argv[1], "--help") ? 0 : 2;
  }
  TakePlan plan = take_plan_default();
  Choice choice = {0};
  for (int i = 4; i < argc; ++i) {
    char* const value = strchr(argv[i], '=');
    if (value) {
      *value = '\0';
    }
    if (!value || !set(&plan, &choice, argv[i], value + 1)) {
      fprintf(stderr, "make_take: not understood: %s\n", argv[i]);
      return 2;
    }
  }
  SrPhrase* phrase = NULL;
  SrError error = {0};
  if (sr_phrase_read_file(argv[1], &choice.phrase, &phrase, &error) != SR_OK) {
    char text[1200];
    fprintf(stderr, "%s\n", sr_error_print(&error, text, sizeof(text)));
    return 1;
  }
  if (choice.air_asked && !take_asked_air(&plan, phrase, &choice.air)) {
    fprintf(stderr, "make_take: more than %u releases of air\n", MOST_AIR);
    return 2;
  }
  Take* const take = take_make(phrase, &plan);
  const bool done = take && write_sound(argv[2], take) && write_truth(argv[3], phrase, take);
  take_del(take);
  sr_phrase_del(phrase);
  return done ? 0 : 1;
}
