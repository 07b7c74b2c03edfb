// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_no_air.c
   How often air is heard that nobody took: recorders, reeds and rooms that make noise of their
   own, on made reeds and on recorded ones. And that air is reported where it was taken, unless the
   recording cannot carry it.

   usage: test_no_air plain|voice|step|gate|hiss|breath|narrow|taken|carried ACCURACY.abc MINUTES
   [FIRST]

   With FIRST, such as 100, other takes of the same kind; then only the figures count.
   With STEADYREED_TAKES set, every take is reported.
*/

#include "heard.h"
#include "plans.h"

#include "recorder.h"

#include <steadyreed/live.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Audible releases in ten minutes, at most.
#define MOST_AUDIBLE 1.0
/// Rounds reported of those that were played, %.
#define LEAST_ROUNDS 95.0
/// Releases found of those that were taken, %, where the recording carries them: as many as without
/// coding, but for three.
#define LEAST_FOUND 80.0
/// Evenness of takes coded for voices, mean, at least: what the worst two reach. Without gain
/// control and coding it is over 90.
#define LEAST_EVENNESS 50.0
/// Share of a true release that what is found must cover.
#define COVER 0.4

typedef enum { PLAIN, VOICE, STEP, GATE, HISS, BREATH, NARROW, TAKEN, CARRIED, KINDS } Kind;

static const char* const names[KINDS] = {"plain",  "voice",  "step",  "gate",   "hiss",
                                         "breath", "narrow", "taken", "carried"};

typedef struct {
  size_t takes;
  double minutes;
  size_t audible;
  size_t withheld;      ///< Takes of which air is not reported
  size_t live_rounds;   ///< As they are reported while they are played, where that is looked at
  size_t live_withheld; ///< … without air
  size_t releases;      ///< Taken, in the others
  size_t found;
  double evenness;
  size_t rounds;
  size_t true_rounds;
  size_t notes;
  size_t played;
} Sums;

static TakePlan
plan_for(const Kind kind, const size_t index, int* const tune)
{
  TakePlan plan = plan_of(index, index % 2 ? TAKES_RECORDED : TAKES_MADE, tune);
  plan.p_long = plan.p_on_top = plan.p_bare = plan.p_absent = 0.0;
  plan.p_missed = plan.p_wrong = plan.p_extra = 0.0;
  plan.octave = plan.speech = plan.false_start = plan.stop_early = plan.hesitate = false;
  plan.metronome_db = 0.0;
  plan.rounds = 3;
  plan.jitter_ms = 5.0;
  plan.floor_db = -65.0 + 0.75 * (double)(index % 20);
  if (kind == TAKEN || kind == CARRIED) {
    plan.p_air = 0.25;
    plan.air_least_db = -26.0;
    plan.air_most_db = -12.0;
    plan.air_most_s = 0.6;
  }
  return plan;
}

/// What the kind does to a take; false if a tool is missing.
static bool
treat(const Kind kind, const size_t index, Take* const take)
{
  static const unsigned voice_kbit[] = {16, 24, 32, 20};
  static const unsigned music_kbit[] = {96, 128};
  Random random = {index * 6364136u + 5u};
  switch (kind) {
  case VOICE:
    recorder_gain_control(take);
    return recorder_opus(take, voice_kbit[index / 2 % 4], index / 8 % 2 == 0);
  case STEP:
    recorder_step(take, random_between(&random, -52.0, -40.0), index / 2 % 2, &random);
    return true;
  case GATE:
    if (index / 2 % 2) {
      recorder_mute(take);
    } else {
      recorder_gate(take, random_between(&random, -50.0, -40.0));
    }
    return true;
  case HISS:
    recorder_hiss(take, -30.0, &random);
    return true;
  case BREATH:
    recorder_breath(take, -34.0, &random);
    return true;
  case NARROW:
    recorder_narrow(take, index % 4 < 2 ? 3600.0 : 4000.0, &random);
    return true;
  case CARRIED:
    return recorder_opus(take, music_kbit[index / 2 % 2], false);
  case PLAIN:
  case TAKEN:
  case KINDS:
  default:
    return true;
  }
}

static void
add_heard(Sums* const sums, const Take* const take, const HeardTake* const heard)
{
  const bool withheld = heard->assessment && heard->assessment->air_carriage != SR_AIR_CARRIED;
  for (size_t i = 0; !withheld && i < take->air_count; ++i) {
    const TruthAir* const truth = &take->air[i];
    bool found = false;
    for (size_t j = 0; j < heard->air_count; ++j) {
      const double shared =
          fmin(truth->end_s, heard->airs[j].end_s) - fmax(truth->start_s, heard->airs[j].start_s);
      found = found || shared > COVER * (truth->end_s - truth->start_s);
    }
    ++sums->releases;
    sums->found += found;
    if (!found && getenv("STEADYREED_TAKES")) {
      printf("    missed: %.3f to %.3f, MIDI %d, %.1f dB\n", truth->start_s, truth->end_s,
             truth->midi, truth->level_db);
    }
  }
  sums->withheld += withheld;
  sums->notes += take->round_count * take->note_count;
  sums->true_rounds += take->round_count;
  for (size_t r = 0; heard->assessment && r < heard->assessment->round_count; ++r) {
    const SrRound* const round = &heard->assessment->rounds[r];
    for (size_t i = 0; i < round->air_count; ++i) {
      sums->audible += round->air[i].audible;
    }
    for (size_t i = 0; i < round->note_count; ++i) {
      sums->played += round->notes[i].status == SR_NOTE_PLAYED;
    }
    sums->evenness += isfinite(round->scores.evenness) ? round->scores.evenness : 0.0;
    ++sums->rounds;
  }
}

/// What is reported of air while a take is played.
static void
add_live(Sums* const sums, const SrPhrase* const phrase, const Take* const take)
{
  SrLiveSettings settings = sr_live_settings_default();
  settings.rate_hz = take->rate_hz;
  SrLive* live = NULL;
  sr_live_new(phrase, &settings, &live, NULL);
  sr_live_push(live, take->samples, take->count, NULL);
  sr_live_finish(live, NULL);
  SrNews news;
  while (sr_live_pull(live, &news)) {
    if (news.kind == SR_NEWS_ROUND) {
      ++sums->live_rounds;
      sums->live_withheld += news.assessment->air_carriage != SR_AIR_CARRIED;
      sr_assessment_del(news.assessment);
    }
  }
  sr_live_del(live);
}

static void
report_take(const size_t index, const TakePlan* const plan, const Sums* const before,
            const Sums* const now)
{
  if (getenv("STEADYREED_TAKES")) {
    printf("  take %zu: kind %d, floor %.0f dBFS, rt %.2f s: %zu audible, %zu found of %zu, "
           "evenness %.0f, notes %zu of %zu%s\n",
           index, (int)plan->kind, plan->floor_db, plan->rt60_s, now->audible - before->audible,
           now->found - before->found, now->releases - before->releases,
           (now->evenness - before->evenness) / (double)(now->rounds - before->rounds),
           now->played - before->played, now->notes - before->notes,
           now->withheld > before->withheld ? ", withheld" : "");
  }
}

static bool
check(const char* const what, const double value, const double limit, const bool most)
{
  const bool held = most ? value <= limit : value >= limit;
  printf("  %-40s %8.2f  %s, limit %g\n", what, value, held ? "holds" : "FAILS", limit);
  return held;
}

static bool
report(const Kind kind, const Sums* const s)
{
  const double per_ten = 10.0 * (double)s->audible / s->minutes;
  printf("%s: %zu takes, %.1f minutes, %zu of %zu rounds\n", names[kind], s->takes, s->minutes,
         s->rounds, s->true_rounds);
  printf("  evenness %.1f, notes right %.1f %%; air not told of %zu takes\n",
         s->evenness / (double)s->rounds, 100.0 * (double)s->played / (double)s->notes,
         s->withheld);
  const double unreported = 100.0 * (double)s->withheld / (double)s->takes;
  if (kind == NARROW) {
    const double live = 100.0 * (double)s->live_withheld / (double)s->live_rounds;
    const bool held = check("takes of which air is not told, %", unreported, 100.0, false);
    return check("live, rounds of which air is not told, %", live, 100.0, false) && held;
  }
  const double evenness = s->evenness / (double)s->rounds;
  const bool reported = kind == VOICE
                            ? check("evenness", evenness, LEAST_EVENNESS, false)
                            : check("takes of which air is not told, %", unreported, 0.0, true);
  if (kind == TAKEN || kind == CARRIED) {
    const double found = 100.0 * (double)s->found / (double)s->releases;
    return check("releases found, %", found, LEAST_FOUND, false) && reported;
  }
  // What breath makes is an aim
  const double most = kind == BREATH ? (double)INFINITY : MOST_AUDIBLE;
  return check("audible in ten minutes", per_ten, most, true) && reported;
}

int
main(const int argc, char** const argv)
{
  int kind = 0;
  while (argc > 3 && kind < KINDS && strcmp(argv[1], names[kind]) != 0) {
    ++kind;
  }
  if (argc < 4 || kind == KINDS) {
    return 2;
  }
  const double minutes = strtod(argv[3], NULL);
  const size_t first = argc > 4 ? strtoul(argv[4], NULL, 10) : 0;
  Sums sums = {0};
  for (size_t i = first; sums.minutes < minutes; ++i) {
    SrPhraseChoice choice = {0};
    const TakePlan plan = plan_for((Kind)kind, i, &choice.tune);
    SrPhrase* phrase = NULL;
    sr_phrase_read_file(argv[2], &choice, &phrase, NULL);
    Take* const take = phrase ? take_make(phrase, &plan) : NULL;
    const bool made = take && treat((Kind)kind, i, take);
    if (made) {
      const Sums before = sums;
      HeardTake heard = heard_take(phrase, take);
      ++sums.takes;
      sums.minutes += (double)take->count / take->rate_hz / 60.0;
      add_heard(&sums, take, &heard);
      if (kind == NARROW) {
        add_live(&sums, phrase, take);
      }
      report_take(i, &plan, &before, &sums);
      heard_free(&heard);
    }
    take_del(take);
    sr_phrase_del(phrase);
    if (!made) {
      printf("recorded reeds need fluidsynth and fluid-soundfont-gm, coding ffmpeg\n");
      return 77;
    }
  }
  // Of a round that is not reported nothing can be wrong
  const bool reported =
      check("rounds told, %", 100.0 * (double)sums.rounds / (double)sums.true_rounds, LEAST_ROUNDS,
            false);
  return report((Kind)kind, &sums) && reported ? 0 : 1;
}
