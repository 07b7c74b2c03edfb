// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_with_engine.c
   Does the engine judge a take with clicks, taken out, as it judges the take without clicks?

   usage: test_with_engine ACCURACY.abc [FIRST LAST]

   With STEADYREED_TAKES set, every take has its lines.
*/

#include "clicks.h"

#include "../accuracy/heard.h"
#include "../accuracy/plans.h"
#include "room.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TAKES 12u
/// Of fewer no share can be reported.
#define LEAST_TAKES 3u
#define DELAY_S 0.083

/// How two assessments of the same playing agree.
typedef struct {
  size_t notes;
  size_t same_notes;
  size_t cuts;
  size_t same_cuts;
  size_t onsets;
  double difference_ms;
  size_t joined;
  size_t same_joined;
  size_t insertions; ///< Extra notes more, or fewer
  size_t air;        ///< Audible releases of air that the take without clicks has not
} Agreement;

/// What must hold, in percent and ms; what is aimed at stands beside it in the print.
typedef struct {
  double notes;
  double cuts;
  double onset_ms;
  size_t air; ///< Releases that only the click made
} Limits;

static const Limits AIM = {100.0, 100.0, 1.0, 0};

/// By level of the click's largest sample against that of the notes; what is reached, as it came
/// and once more.
#define LEVELS 4u
/// One in this many of them, under sanitizers.
#ifdef __SANITIZE_ADDRESS__
#define LEVEL_STEP 3u
#else
#define LEVEL_STEP 1u
#endif
static const double LEVELS_DB[LEVELS] = {-20.0, -10.0, 0.0, 10.0};
static const Limits LIMITS[LEVELS][2] = {{{99.8, 99.2, 0.4, 0}, {99.8, 99.2, 0.4, 0}},
                                         {{99.8, 99.2, 0.4, 0}, {99.8, 99.2, 0.4, 0}},
                                         {{99.8, 99.2, 0.4, 0}, {99.8, 99.2, 0.4, 0}},
                                         {{99.8, 99.2, 0.4, 2}, {99.8, 99.2, 0.4, 1}}};

/// Tell what differs.
static void
report(const size_t round, const SrNoteVerdict* const n, const SrNoteVerdict* const m)
{
  const bool far =
      isfinite(n->onset_s) && isfinite(m->onset_s) && fabs(n->onset_s - m->onset_s) > 0.01;
  if (n->status != m->status || n->heard_midi != m->heard_midi || n->joined != m->joined ||
      isfinite(n->onset_s) != isfinite(m->onset_s) || far ||
      (n->has_cut && (!m->has_cut || n->cut.verdict != m->cut.verdict))) {
    printf("    round %zu note %zu: status %d %d, heard %d %d, joined %d %d, cut %d %d, onset %.3f "
           "%.3f\n",
           round, n->index, (int)n->status, (int)m->status, n->heard_midi, m->heard_midi,
           (int)n->joined, (int)m->joined, n->has_cut ? (int)n->cut.verdict : -1,
           m->has_cut ? (int)m->cut.verdict : -1, n->onset_s, m->onset_s);
  }
}

static size_t
audible_air(const SrRound* const round)
{
  size_t count = 0;
  for (size_t i = 0; i < round->air_count; ++i) {
    count += round->air[i].audible;
  }
  return count;
}

static void
compare(const SrAssessment* const plain, const SrAssessment* const other, const bool verbose,
        Agreement* const a)
{
  for (size_t r = 0; plain && r < plain->round_count; ++r) {
    const SrRound* const one = &plain->rounds[r];
    const SrRound* const two = other && r < other->round_count ? &other->rounds[r] : NULL;
    if (two) {
      a->insertions += one->insertion_count > two->insertion_count
                           ? one->insertion_count - two->insertion_count
                           : two->insertion_count - one->insertion_count;
      const size_t before = audible_air(one);
      const size_t after = audible_air(two);
      a->air += after > before ? after - before : 0;
    }
    for (size_t i = 0; i < one->note_count; ++i) {
      const SrNoteVerdict* const n = &one->notes[i];
      const SrNoteVerdict* const m = two ? &two->notes[i] : NULL;
      if (verbose && m) {
        report(r, n, m);
      }
      ++a->notes;
      a->same_notes += m && n->status == m->status && n->heard_midi == m->heard_midi ? 1 : 0;
      a->joined += n->joined != SR_NOT_ASKED ? 1 : 0;
      a->same_joined += m && n->joined != SR_NOT_ASKED && n->joined == m->joined ? 1 : 0;
      a->cuts += n->has_cut ? 1 : 0;
      a->same_cuts += n->has_cut && m && m->has_cut && n->cut.verdict == m->cut.verdict ? 1 : 0;
      if (m && isfinite(n->onset_s) && isfinite(m->onset_s)) {
        ++a->onsets;
        a->difference_ms += 1e3 * fabs(n->onset_s - m->onset_s);
      }
    }
  }
}

static void
print_agreement(const char* const what, const Agreement* const a)
{
  printf(
      "%-46s notes %6.2f %%  cuts %6.2f %%  joined %6.2f %%  onsets %5.2f ms  extra %zu  air %zu\n",
      what, 100.0 * (double)a->same_notes / (double)a->notes,
      100.0 * (double)a->same_cuts / (double)(a->cuts ? a->cuts : 1),
      100.0 * (double)a->same_joined / (double)(a->joined ? a->joined : 1),
      a->difference_ms / (double)(a->onsets ? a->onsets : 1), a->insertions, a->air);
}

static void
add(Agreement* const sum, const Agreement* const a)
{
  sum->notes += a->notes;
  sum->same_notes += a->same_notes;
  sum->cuts += a->cuts;
  sum->same_cuts += a->same_cuts;
  sum->onsets += a->onsets;
  sum->difference_ms += a->difference_ms;
  sum->joined += a->joined;
  sum->same_joined += a->same_joined;
  sum->insertions += a->insertions;
  sum->air += a->air;
}

/// A take behind a bar in which nobody plays.
static Take
behind_count_in(const Take* const take, const TakePlan* const plan, const double seconds)
{
  Take longer = {.rate_hz = take->rate_hz};
  const size_t more = (size_t)(seconds * take->rate_hz);
  Random random = {plan->seed + 99u};
  longer.count = take->count + more;
  longer.samples = (float*)calloc(longer.count, sizeof(float));
  room_noise(longer.samples, more, take->rate_hz, plan->floor_db, &random);
  memcpy(longer.samples + more, take->samples, take->count * sizeof(float));
  return longer;
}

static double
rms(const float* const samples, const size_t from, const size_t to)
{
  double square = 0.0;
  for (size_t i = from; i < to; ++i) {
    square += (double)(samples[i] * samples[i]);
  }
  return sqrt(square / (double)(to - from));
}

/// What is compared with the take without clicks.
typedef enum {
  ONCE,  ///< Clicks taken out as they came
  AGAIN, ///< … and once more from the start, with what was learnt
  LEFT,  ///< Clicks left in
  KINDS
} Kind;

/// A take without clicks.
typedef struct {
  const SrAssessment* assessment;
  int64_t laid_by; ///< The sample by which its windows are laid, and those of all others
} Plain;

/// Hear a take and compare; frees its samples.
static void
judge(const SrPhrase* const phrase, Take* const take, const Plain* const plain,
      const char* const what, Agreement* const sum)
{
  Agreement a = {0};
  HeardTake heard = heard_take_laid(phrase, take, plain->laid_by);
  compare(plain->assessment, heard.assessment, what != NULL, &a);
  if (what) {
    print_agreement(what, &a);
  }
  add(sum, &a);
  heard_free(&heard);
  free(take->samples);
}

static Take
copy_of(const Take* const take)
{
  Take copy = *take;
  copy.samples = (float*)malloc(take->count * sizeof(float));
  memcpy(copy.samples, take->samples, take->count * sizeof(float));
  return copy;
}

/// One take with clicks, in three ways.
static void
try_way(const SrPhrase* const phrase, const Take* const take, const Plain* const plain,
        const SrClickSetting* const setting, const ClickWay* const way, const char* const what,
        Agreement sums[KINDS])
{
  Take clicked = copy_of(take);
  clicks_add(setting, way, clicked.samples, clicked.count, NULL);
  Take once = copy_of(&clicked);
  Take again = copy_of(&clicked);
  SrClickRemover* remover = NULL;
  sr_click_remover_new(setting, &remover, NULL);
  sr_click_remover_do(remover, once.samples, once.count);
  const SrClickHeard known = sr_click_remover_heard(remover);
  sr_click_remover_rewind(remover);
  sr_click_remover_do(remover, again.samples, again.count);
  sr_click_remover_del(remover);
  if (!known.heard || fabs(known.round_trip - way->delay) > 0.0005 * take->rate_hz) {
    printf("  round trip %.1f for %.1f, room %.1f s\n", known.round_trip, way->delay, way->rt60_s);
  }
  judge(phrase, &once, plain, what, &sums[ONCE]);
  judge(phrase, &again, plain, what, &sums[AGAIN]);
  if (way->rt60_s > 0.3) {
    judge(phrase, &clicked, plain, NULL, &sums[LEFT]);
  } else {
    free(clicked.samples);
  }
}

/// How much the engine's verdicts change if there is hardly more noise than there was.
static void
try_noise(const SrPhrase* const phrase, const Take* const take, const Plain* const plain,
          const TakePlan* const plan, Agreement* const sum)
{
  Take noisy = copy_of(take);
  Random random = {plan->seed + 7u};
  room_noise(noisy.samples, noisy.count, noisy.rate_hz, plan->floor_db - 20.0, &random);
  judge(phrase, &noisy, plain, NULL, sum);
}

/// Print what holds and what is aimed at.
static bool
check(const char* const what, const Agreement* const a, const Limits* const l)
{
  const double notes = 100.0 * (double)a->same_notes / (double)a->notes;
  const double cuts = 100.0 * (double)a->same_cuts / (double)a->cuts;
  const double onset_ms = a->difference_ms / (double)a->onsets;
  printf("  %s: notes %.2f %% (limit %g, aim %g), cuts %.2f %% (limit %g, aim %g), onsets %.2f ms "
         "(limit %g, aim %g), air %zu (limit %zu, aim %zu)\n",
         what, notes, l->notes, AIM.notes, cuts, l->cuts, AIM.cuts, onset_ms, l->onset_ms,
         AIM.onset_ms, a->air, l->air, AIM.air);
  return a->air <= l->air && notes >= l->notes && cuts >= l->cuts && onset_ms <= l->onset_ms;
}

int
main(const int argc, char** const argv)
{
  if (argc < 2) {
    return 2;
  }
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  const size_t first = argc > 3 ? strtoul(argv[2], NULL, 10) : 0;
  const size_t last = argc > 3 ? strtoul(argv[3], NULL, 10) : TAKES - 1;
  static const double rooms_s[] = {0.2, 0.5};
  Agreement sums[LEVELS][2][2][KINDS] = {0};
  Agreement noisy = {0};
  for (size_t i = first; i <= last; ++i) {
    SrPhraseChoice choice = {0};
    TakePlan plan = plan_of(i, TAKES_MADE, &choice.tune);
    plan.metronome_db = 0.0;
    plan.drift_percent = 0.0; // so that clicks on the beat stay there
    SrPhrase* phrase = NULL;
    if (sr_phrase_read_file(argv[1], &choice, &phrase, NULL) != SR_OK) {
      printf("%s cannot be read\n", argv[1]);
      return 1;
    }
    Take* const take = take_make(phrase, &plan);
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, 0);
    const double pulse_s = 60.0 / plan.bpm;
    const unsigned pulses = (unsigned)lround((double)bar->meter_beats / (double)bar->meter_unit /
                                             sr_fraction_value(bar->pulse));
    const double more_s = 0.5 + pulses * pulse_s;
    Take longer = behind_count_in(take, &plan, more_s);
    const double start_s = more_s + take->rounds[0].start_s;
    const size_t from = (size_t)(start_s * longer.rate_hz);
    const size_t to = (size_t)((more_s + take->rounds[0].end_s) * longer.rate_hz);
    const double notes = rms(longer.samples, from, to);
    HeardTake without = heard_take(phrase, &longer);
    const Plain plain = {without.assessment, heard_loudest(&longer)};
    try_noise(phrase, &longer, &plain, &plan, &noisy);
    for (size_t beat = 0; beat < 2; ++beat) {
      // On the beat; or 2.3 % slower than it, so that clicks come to stand everywhere
      const double period = pulse_s * longer.rate_hz * (beat ? 1.023 : 1.0);
      const double began = (start_s - DELAY_S) * longer.rate_hz - pulses * period;
      SrClickSetting setting = setting_make(longer.rate_hz, period, pulses, pulses, began);
      for (size_t level = 0; level < LEVELS; level += LEVEL_STEP) {
        for (size_t room = 0; room < 2; ++room) {
          const ClickWay way = {.delay = DELAY_S * longer.rate_hz + 0.4,
                                .level = 1.4 * notes * pow(10.0, LEVELS_DB[level] / 20.0),
                                .rt60_s = rooms_s[room],
                                .direct_db = 14.0 - 20.0 * rooms_s[room],
                                .drive = 0.5,
                                .seed = i + 100 * room};
          char what[64];
          snprintf(what, sizeof(what), "%zu: %3.0f dB, room %.1f s, %s", i, LEVELS_DB[level],
                   rooms_s[room], beat ? "off the beat" : "on the beat");
          try_way(phrase, &longer, &plain, &setting, &way, verbose ? what : NULL,
                  sums[level][room][beat]);
        }
      }
      setting_free(&setting);
    }
    heard_free(&without);
    free(longer.samples);
    take_del(take);
    sr_phrase_del(phrase);
  }
  bool held = true;
  for (size_t level = 0; level < LEVELS; level += LEVEL_STEP) {
    Agreement all[KINDS] = {0};
    for (size_t room = 0; room < 2; ++room) {
      for (size_t beat = 0; beat < 2; ++beat) {
        static const char* const names[KINDS] = {"as it came", "once more", "left in"};
        for (size_t kind = 0; kind < KINDS; ++kind) {
          const Agreement* const a = &sums[level][room][beat][kind];
          char what[64];
          snprintf(what, sizeof(what), "%3.0f dB, room %.1f s, %s the beat, %s", LEVELS_DB[level],
                   rooms_s[room], beat ? "off" : "on", names[kind]);
          if (a->notes > 0) {
            print_agreement(what, a);
            add(&all[kind], a);
          }
        }
      }
    }
    held &= check("as it came", &all[ONCE], &LIMITS[level][ONCE]);
    held &= check("once more", &all[AGAIN], &LIMITS[level][AGAIN]);
  }
  print_agreement("no clicks, noise 20 dB under the room's", &noisy);
  return held || last < first + LEAST_TAKES - 1 ? 0 : 1;
}
