// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_sounded.c
   What `sound` plays is a perfect take: `assess` must find each note and each ornament right,
   nothing besides, and an even beat.

   usage: test_sounded FEW|ALL ABC…

   FEW tries one tempo and reference a tune, another one each time, ALL every one of both. Tunes
   with pitches out of hearing, or with chords, are left out. With STEADYREED_TAKES set, what was
   heard of each faulty take is printed.
*/

#include "heard.h"

#include <steadyreed/sound.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Scores from which on a beat is even, of 100.
#define EVEN 98.0

static const double TEMPI[] = {60.0, 90.0, 120.0};
static const double REFERENCES[] = {432.0, 440.0, 456.0};

/// What is tried, for messages.
typedef struct {
  const char* path;
  int tune;
  double bpm;
  double reference_hz;
  size_t faults;
} Trial;

static void complain(Trial* trial, const char* format, ...) SR_PRINTF(2, 3);

static void
complain(Trial* const trial, const char* const format, ...)
{
  va_list arguments;
  const char* const name = strrchr(trial->path, '/');
  printf("%s X:%d at %.0f, A %.0f: ", name ? name + 1 : trial->path, trial->tune, trial->bpm,
         trial->reference_hz);
  va_start(arguments, format);
  vprintf(format, arguments);
  va_end(arguments);
  putchar('\n');
  ++trial->faults;
}

static bool
is_heard(const int midi)
{
  return midi >= SR_LOWEST_MIDI && midi <= SR_HIGHEST_MIDI;
}

/// Whether every pitch of a phrase is one that is listened for. Chords are the left hand's matter.
static bool
is_in_hearing(const SrPhrase* const phrase)
{
  bool all = true;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    all = all && is_heard(note->midi) && (note->cut_midi < 0 || is_heard(note->cut_midi));
    for (int k = 0; k < note->ornament_count; ++k) {
      all = all && is_heard(note->ornament_midi[k]);
    }
    all = all && note->chord_count == 0;
  }
  return all;
}

/// What `sound` plays, as a take; free its samples.
static Take
play(const SrPhrase* const phrase, const Trial* const trial)
{
  SrSoundSettings settings = sr_sound_settings_default();
  settings.tempo_bpm = trial->bpm;
  settings.reference_hz = trial->reference_hz;
  SrSound* sound = NULL;
  Take take = {.rate_hz = settings.rate_hz};
  if (sr_sound_new(phrase, &settings, &sound, NULL) == SR_OK) {
    take.count = (size_t)sr_sound_length(sound);
    take.samples = (float*)malloc((take.count + 1) * sizeof(float));
    take.count = take.samples ? sr_sound_read(sound, take.samples, take.count) : 0;
  }
  sr_sound_del(sound);
  return take;
}

/// How many graces of an ornament that is not judged are played at another pitch than its note's.
static size_t
graces_played(const SrPhraseNote* const written)
{
  size_t count = 0;
  for (int i = 0; i < written->ornament_count; ++i) {
    count += written->ornament_midi[i] != written->midi;
  }
  return written->ornament == SR_ORNAMENT_ROLL ? 2 : count;
}

static void
check_note(Trial* const trial, const SrPhrase* const phrase, const SrNoteVerdict* const note)
{
  static const char* const verdicts[] = {"clean", "long", "joined", "absent", "stray"};
  const SrPhraseNote* const written = sr_phrase_note(phrase, note->index);
  const bool asked = written->cut_midi >= 0;
  if (note->status != SR_NOTE_PLAYED || note->heard_midi != written->midi) {
    complain(trial, "note %zu, line %u column %u (MIDI %d) has status %d, heard %d", note->index,
             written->line, written->column, written->midi, (int)note->status, note->heard_midi);
  } else if (note->joined == SR_YES || note->has_cut != asked ||
             (asked && note->cut.verdict != SR_CUT_CLEAN)) {
    complain(trial, "note %zu, line %u column %u (MIDI %d, grace %d): %s, cut %s of %.0f ms",
             note->index, written->line, written->column, written->midi, written->cut_midi,
             note->joined == SR_YES ? "joined" : "apart",
             note->has_cut ? verdicts[note->cut.verdict] : "none",
             note->has_cut ? note->cut.length_ms : (double)NAN);
  } else if (note->ornament != written->ornament || note->graces != graces_played(written)) {
    complain(trial, "note %zu, line %u column %u (MIDI %d): %zu graces heard, not %zu", note->index,
             written->line, written->column, written->midi, note->graces, graces_played(written));
  }
}

static void
check(Trial* const trial, const SrPhrase* const phrase, const HeardTake* const heard)
{
  const SrAssessment* const assessment = heard->assessment;
  if (!assessment || assessment->round_count != 1) {
    complain(trial, "%zu rounds: %s", assessment ? assessment->round_count : 0,
             heard->error.message);
    return;
  }
  const SrRound* const round = &assessment->rounds[0];
  for (size_t i = 0; i < round->note_count; ++i) {
    check_note(trial, phrase, &round->notes[i]);
  }
  for (size_t i = 0; i < round->insertion_count; ++i) {
    complain(trial, "MIDI %d at %.3f s is not written", round->insertions[i].midi,
             round->insertions[i].onset_s);
  }
  for (size_t i = 0; i < round->slip_count; ++i) {
    complain(trial, "slip %d at %.3f s", (int)round->slips[i].kind, round->slips[i].at_s);
  }
  if (round->scores.evenness < EVEN) {
    size_t worst = 0;
    for (size_t i = 0; i < round->note_count; ++i) {
      worst = fabs(round->notes[i].offset_ms) > fabs(round->notes[worst].offset_ms) ? i : worst;
    }
    complain(trial, "evenness %.1f, spread %.1f ms; note %zu is %.0f ms off",
             round->scores.evenness, round->pulse.spread_ms, worst, round->notes[worst].offset_ms);
  }
  if (fabs(1200.0 * log2(assessment->reference_hz / trial->reference_hz)) > 3.0) {
    complain(trial, "the box's A is told as %.1f Hz", assessment->reference_hz);
  }
}

static size_t
try_one(Trial* const trial, const SrPhrase* const phrase)
{
  trial->faults = 0;
  Take take = play(phrase, trial);
  HeardTake heard = heard_take(phrase, &take);
  check(trial, phrase, &heard);
  for (size_t i = 0; trial->faults && getenv("STEADYREED_TAKES") && i < heard.event_count; ++i) {
    const SrEvent* const event = &heard.events[i];
    printf("  %8.3f to %8.3f s, MIDI %d, %.1f dB, fell %.1f, phase %.2f, fit %.2f\n",
           event->onset_s, event->end_s, event->midi, event->level_db, event->fall_db,
           event->phase_kept, event->fit);
  }
  heard_free(&heard);
  free(take.samples);
  return trial->faults > 0;
}

int
main(const int argc, char** const argv)
{
  if (argc < 3) {
    return 2;
  }
  const bool all = !strcmp(argv[1], "ALL");
  const char* const only = getenv("STEADYREED_TUNE");
  size_t takes = 0;
  size_t faulty = 0;
  size_t unheard = 0;
  size_t turn = 0;
  for (int a = 2; a < argc; ++a) {
    SrTuneList* list = NULL;
    if (sr_tune_list_read(argv[a], &list, NULL) != SR_OK) {
      printf("%s cannot be read\n", argv[a]);
      return 1;
    }
    for (size_t t = 0; t < sr_tune_list_count(list); ++t) {
      const SrPhraseChoice choice = {.tune = sr_tune_list_entry(list, t)->number};
      if (only && choice.tune != (int)strtol(only, NULL, 10)) {
        continue;
      }
      SrPhrase* phrase = NULL;
      SrError error = {0};
      if (sr_phrase_read_file(argv[a], &choice, &phrase, &error) != SR_OK) {
        printf("%s, tune %d cannot be read: %s\n", argv[a], choice.tune, error.message);
        return 1;
      }
      const bool in_hearing = is_in_hearing(phrase);
      unheard += !in_hearing;
      for (size_t i = 0; in_hearing && i < 9; ++i) {
        if (all || i == turn % 9) {
          Trial trial = {argv[a], choice.tune, TEMPI[i % 3], REFERENCES[i / 3], 0};
          faulty += try_one(&trial, phrase);
          ++takes;
        }
      }
      // 4 and 9 have no common part: all nine are met
      turn += 4;
      sr_phrase_del(phrase);
    }
    sr_tune_list_del(list);
  }
  printf("%zu of %zu takes perfect; %zu tunes left out\n", takes - faulty, takes, unheard);
  return faulty > 0;
}
