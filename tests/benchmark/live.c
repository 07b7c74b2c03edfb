// SPDX-License-Identifier: GPL-3.0-or-later

/*
  Ten minutes of practice in chunks of 5 ms, as fast as they can be taken: the share of one core
  that listening takes (target: 2 %), beside `steadyreed assess` and `aubionotes` of the same
  samples as whole processes; how soon notes and rounds are reported, the computing of the push that
  reported them included (targets, 95th percentile: 45 and 150 ms); the longest push.

  A note could be reported from its own sound on, or from where it takes over from its cut; a round,
  from its end. Only notes that came out as they were first reported are counted.
*/

#include "bench.h"
#include "evening.h"

#include "run_program.h"

#include <steadyreed/audio.h>
#include <steadyreed/live.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define RATE_HZ 48000.0
#define SECONDS 600.0
#define CHUNK 240u
#define MOST_NOTES 1024u

typedef struct {
  double* values;
  size_t count;
} Values;

/// What was reported of a note first.
typedef struct {
  bool reported;
  SrNoteVerdict note;
  double known_s; ///< Samples and computing
} ReportedNote;

static double
cpu_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void
add(Values* const values, const double value)
{
  values->values = (double*)realloc(values->values, (values->count + 1) * sizeof(double));
  if (!values->values) {
    bench_give_up("no memory");
    return;
  }
  values->values[values->count++] = value;
}

static int
compare(const void* const left, const void* const right)
{
  const double one = *(const double*)left;
  const double two = *(const double*)right;
  return (one > two) - (one < two);
}

static double
quantile(const Values* const values, const double share)
{
  if (values->count == 0) {
    return (double)NAN;
  }
  qsort(values->values, values->count, sizeof(double), compare);
  return values->values[(size_t)(share * (double)(values->count - 1) + 0.5)];
}

static bool
came_out(const SrNoteVerdict* const reported, const SrNoteVerdict* const judged)
{
  return reported->status == judged->status && reported->joined == judged->joined &&
         reported->has_cut == judged->has_cut &&
         (!reported->has_cut || reported->cut.verdict == judged->cut.verdict);
}

static double
due_to_tell(const SrNoteVerdict* const note)
{
  if (note->has_cut && isfinite(note->cut.onset_s) && isfinite(note->cut.length_ms)) {
    return note->cut.onset_s + 1e-3 * note->cut.length_ms;
  }
  return note->onset_s;
}

static void
count_round(const SrRound* const round, const ReportedNote* const reported, Values* const latencies,
            size_t* const otherwise)
{
  for (size_t i = 0; i < round->note_count && i < MOST_NOTES; ++i) {
    const double due_s = due_to_tell(&round->notes[i]);
    if (!reported[i].reported || !isfinite(due_s) || round->notes[i].status != SR_NOTE_PLAYED) {
      continue;
    }
    if (came_out(&reported[i].note, &round->notes[i])) {
      add(latencies, 1e3 * (reported[i].known_s - due_s));
    } else {
      ++*otherwise;
    }
  }
}

typedef struct {
  Evening* evening;
  uint64_t left;
} Source;

static size_t
read_source(void* const context, float* const samples, const size_t count)
{
  Source* const source = (Source*)context;
  const size_t given = source->left < count ? (size_t)source->left : count;
  evening_read(source->evening, samples, given);
  source->left -= given;
  return given;
}

/// CPU time of a program over the same samples, s.
static double
peer_s(const char* const* const arguments)
{
  ProgramRun run = run_program(arguments);
  if (run.status != 0) {
    bench_give_up(run.trouble);
  }
  const struct rusage* const usage = &run.usage;
  const double seconds = (double)(usage->ru_utime.tv_sec + usage->ru_stime.tv_sec) +
                         1e-6 * (double)(usage->ru_utime.tv_usec + usage->ru_stime.tv_usec);
  run_clear(&run);
  return seconds;
}

static void
run_peers(const SrPhrase* const phrase, const char* const path, const char* const program,
          const char* const aubionotes)
{
  char* const folder = folder_make();
  char* const take = folder_path(folder, "ten.wav");
  Source source = {evening_new(phrase, RATE_HZ), (uint64_t)(SECONDS * RATE_HZ)};
  SrError error = {0};
  if (sr_audio_write(take, RATE_HZ, SR_SAMPLES_16_BIT, read_source, &source, &error) != SR_OK) {
    bench_give_up(error.message);
  }
  evening_del(source.evening);
  const char* const ours[] = {program, "assess", path, take, NULL};
  printf("  beside it: `steadyreed assess` %.2f %%", 100.0 * peer_s(ours) / SECONDS);
  if (aubionotes) {
    const char* const theirs[] = {aubionotes, "-i", take, NULL};
    printf(", aubionotes %.2f %%", 100.0 * peer_s(theirs) / SECONDS);
  }
  printf("\n");
  folder_remove(folder);
  free(take);
  free(folder);
}

static void
listen(const char* const path, const char* const program, const char* const aubionotes)
{
  SrPhrase* phrase = NULL;
  SrLive* live = NULL;
  SrError error = {0};
  SrLiveSettings settings = sr_live_settings_default();
  settings.rate_hz = RATE_HZ;
  if (sr_phrase_read_file(path, NULL, &phrase, &error) != SR_OK ||
      sr_live_new(phrase, &settings, &live, &error) != SR_OK) {
    bench_give_up(error.message);
  }
  Evening* const evening = evening_new(phrase, RATE_HZ);
  ReportedNote* const reported = (ReportedNote*)calloc(MOST_NOTES, sizeof(ReportedNote));
  if (!reported) {
    bench_give_up("no memory");
    return;
  }
  Values latencies = {0};
  Values round_ms = {0};
  size_t otherwise = 0;
  double all_s = 0.0;
  double worst_s = 0.0;
  for (size_t at = 0; at < (size_t)(SECONDS * RATE_HZ); at += CHUNK) {
    float samples[CHUNK];
    evening_read(evening, samples, CHUNK);
    const double begun_s = cpu_s();
    if (sr_live_push(live, samples, CHUNK, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    const double push_s = cpu_s() - begun_s;
    all_s += push_s;
    worst_s = fmax(worst_s, push_s);
    SrNews news;
    while (sr_live_pull(live, &news)) {
      if (news.kind == SR_NEWS_NOTE && news.note.index < MOST_NOTES) {
        reported[news.note.index] = (ReportedNote){true, news.note, news.at_s + push_s};
      } else if (news.kind == SR_NEWS_AGAIN || news.kind == SR_NEWS_NOTHING) {
        memset(reported, 0, MOST_NOTES * sizeof(ReportedNote));
      } else if (news.kind == SR_NEWS_ROUND) {
        const SrAssessment* const a = news.assessment;
        const SrRound* const round = &a->rounds[a->round_count - 1];
        bool stopped = false;
        for (size_t s = 0; s < round->slip_count; ++s) {
          stopped = stopped || round->slips[s].kind == SR_SLIP_STOPPED;
        }
        count_round(round, reported, &latencies, &otherwise);
        if (!stopped) {
          // That it was broken off is known after a silence only
          add(&round_ms, 1e3 * (news.at_s + push_s - round->end_s));
        }
        memset(reported, 0, MOST_NOTES * sizeof(ReportedNote));
      }
      sr_assessment_del(news.assessment);
    }
  }
  const double share = 100.0 * all_s / SECONDS;
  const double note_ms = quantile(&latencies, 0.95);
  const double verdict_ms = quantile(&round_ms, 0.95);
  printf("%.0f minutes of \"%s\", %zu notes a round, at 48 kHz\n", SECONDS / 60.0,
         sr_phrase_title(phrase), sr_phrase_note_count(phrase));
  printf("  share of one core       %.2f %% (at most 2): %s\n", share, bench_verdict(share <= 2.0));
  run_peers(phrase, path, program, aubionotes);
  printf("  a note is told after    %.1f ms (median of %zu), %.1f ms (95 %% of them; at most 45): "
         "%s; %zu came out otherwise\n",
         quantile(&latencies, 0.5), latencies.count, note_ms, bench_verdict(note_ms <= 45.0),
         otherwise);
  printf("  a round is told after   %.1f ms (median of %zu), %.1f ms (95 %% of them; at most 150): "
         "%s\n",
         quantile(&round_ms, 0.5), round_ms.count, verdict_ms, bench_verdict(verdict_ms <= 150.0));
  printf("  the longest push took   %.1f ms\n", 1e3 * worst_s);
  free(latencies.values);
  free(round_ms.values);
  free(reported);
  evening_del(evening);
  sr_live_del(live);
  sr_phrase_del(phrase);
}

int
main(const int count, char** const arguments)
{
  if (count < 4) {
    bench_give_up("usage: live STEADYREED SHORT-PHRASE LONG-PHRASE [AUBIONOTES]");
  }
  listen(arguments[2], arguments[1], count > 4 ? arguments[4] : NULL);
  listen(arguments[3], arguments[1], count > 4 ? arguments[4] : NULL);
  return 0;
}
