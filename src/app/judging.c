// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file judging.c
   Whether a click that was found is only the player's notes (BY_NOTES): in even playing without a
   metronome all clicks lay near the beginning or end of a note, in recordings with one at most
   half.
*/

#include "judging.h"

#include "other_key.h"

#include <steadyreed/audio.h>
#include <steadyreed/click.h>
#include <steadyreed/hear.h>
#include <steadyreed/listen.h>
#include <steadyreed/losses.h>
#include <steadyreed/take_note.h>

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// Samples read at once.
#define CHUNK_SAMPLES 65536u
/// No phrase can be recognised in less than this.
#define SHORTEST_TAKE_S 1.0
/// A recording with a lower peak is only converter noise: one step at 16 bits is -90 dBFS (common
/// practice, no source).
#define SILENCE_DBFS (-80.0)
/// A lower peak deserves a remark (common practice, no source).
#define QUIET_DBFS (-40.0)
/// A float recording with a higher peak has the wrong scale, such as that of 16 bits, at +90 dBFS.
#define HIGHEST_DBFS 60.0
/// DC offset that deserves a remark, full scale 1 (common practice, no source).
#define OFFSET_WORTH_SAYING 0.02
/// Mixing loss that deserves a remark, dB: uncorrelated channels lose 3, these cancel each other.
#define MIX_LOSS_DB 10.0
/// A round was meant to go with a click if its tempo is one of a few multiples of it within this
/// share; the round's own verdict says whether it stayed with it.
#define SAME_TEMPO 0.15
/// If a note begins or ends within this, s, of more than this share of the clicks, the clicks are
/// sounds of the notes: among many notes some recur with a period. A metronome is also heard in
/// rests and during long notes. Tuned on groups of takes: even playing without a click, and
/// recordings with one.
#define BY_NOTES_S 0.03
#define BY_NOTES 0.9
/// … or if that share has the same distance from an onset within this, s: no player is so exact.
#define EXACTLY_S 0.003
/// The click's sound is looked for from this long before its found start, s.
#define CLICK_EARLY_S 0.02

/// If a smaller share was played as written, the take may be in another key.
#define LEAST_PLAYED 0.5

// Checked here because audio and hear do not know each other.
// NOLINTBEGIN(misc-redundant-expression): the bounds are equal today, and need not stay so
static_assert((int)SR_TAKE_LOWEST_RATE_HZ >= (int)SR_LOWEST_RATE_HZ &&
                  (int)SR_TAKE_HIGHEST_RATE_HZ <= (int)SR_HIGHEST_RATE_HZ,
              "every rate that is read can be heard");
// NOLINTEND(misc-redundant-expression)

/// Add a remark about the recording; dropped without memory.
static void remark(SrJudgedTake* take, const char* format, ...) SR_PRINTF(2, 3);

static void
remark(SrJudgedTake* const take, const char* const format, ...)
{
  char* text = NULL;
  va_list arguments;
  va_start(arguments, format);
  const int length = vasprintf(&text, format, arguments);
  va_end(arguments);
  if (length < 0) {
    return;
  }
  if (take->remark_count >= SR_MOST_REMARKS) {
    free(text);
    return;
  }
  take->remarks[take->remark_count++] = text;
}

/// Add remarks about the end of the recording.
static void
remark_end(SrJudgedTake* const take, const SrTakeReading* const reading)
{
  if (reading->truncated && isfinite(reading->promised_seconds)) {
    remark(
        take,
        "the recording ends after %.1f s of %.1f s, as if cut off; it is judged as far as it goes.",
        reading->seconds, reading->promised_seconds);
  } else if (reading->truncated) {
    remark(take,
           "the recording breaks off or is damaged after %.1f s; it is judged as far as it goes.",
           reading->seconds);
  }
  if (reading->unfinished) {
    remark(take,
           "the recording does not say how long it is, as if the recorder was cut off; all %.1f s "
           "of it are judged.",
           reading->seconds);
  }
  if (reading->chained) {
    remark(take,
           "there is more than one recording in this file; only the first, %.1f s long, is judged. "
           "Save each one as its own file.",
           reading->seconds);
  }
}

static void
make_remarks(SrJudgedTake* const take, const SrTakeReading* const reading)
{
  remark_end(take, reading);
  if (reading->not_finite) {
    remark(take,
           "%zu sample%s in the recording held no number and counted as silence, not against you.",
           reading->not_finite, reading->not_finite == 1 ? "" : "s");
  }
  if (reading->clipped_samples) {
    remark(take,
           "the recording is overdriven in %zu samples, so the verdicts there may be wrong; turn "
           "the input down.",
           reading->clipped_samples);
  }
  if (reading->peak_dbfs < QUIET_DBFS && reading->peak_dbfs >= SILENCE_DBFS) {
    remark(take,
           "the recording is quiet (its loudest moment is %.0f dB below full scale); turn the "
           "input up or move closer to the microphone.",
           -reading->peak_dbfs);
  }
  if (reading->recorded_hz < reading->rate_hz) {
    remark(take,
           "the recording has only %.0f samples a second, like a telephone, so some cuts may be "
           "misjudged; choose a better quality in the recorder.",
           reading->recorded_hz);
  }
  if (fabs(reading->offset) > OFFSET_WORTH_SAYING && reading->peak_dbfs <= HIGHEST_DBFS) {
    remark(take,
           "the recording has a DC offset of %.0f %% of full scale; you cannot hear it, but it "
           "leaves less room for the sound. Check the sound card.",
           100.0 * fabs(reading->offset));
  }
  if (reading->mix_loss_db > MIX_LOSS_DB) {
    remark(take, "the channels of the recording cancel each other (is one upside down?), so little "
                 "is left to listen to; save just one channel.");
  }
}

static void
remark_losses(SrJudgedTake* const take, const SrLosses* const losses, const double rate_hz)
{
  uint64_t lost = 0;
  for (size_t i = 0; i < losses->count; ++i) {
    lost += losses->lost[i].end - losses->lost[i].start;
  }
  if (lost && rate_hz > 0.0) {
    remark(take, "%.2f s were lost during recording; what was played there is not judged.",
           (double)lost / rate_hz);
  }
}

/// Refuse a recording with nothing to judge before spending time on it.
static SrStatus
check_reading(const SrTakeReading* const reading, SrError* const error)
{
  const size_t samples = (size_t)(reading->seconds * reading->rate_hz + 0.5);
  if (samples == 0) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The recording holds no sound at all (0 samples). Record the take again.");
  }
  if (reading->not_finite >= samples) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "No sample of the recording is a number, so there is nothing to hear. Save "
                        "it again from the recorder, as 16 or 24 bits.");
  }
  if (reading->seconds < SHORTEST_TAKE_S) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The recording is only %.2f s long%s. A take needs at least a second.",
                        reading->seconds, reading->truncated ? " and breaks off" : "");
  }
  if (reading->peak_dbfs > HIGHEST_DBFS) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The samples of the recording go %.0f dB beyond full scale, so it was not "
                        "saved on the usual scale. Save it again as 16 or 24 bits.",
                        reading->peak_dbfs);
  }
  if (reading->peak_dbfs < SILENCE_DBFS) {
    return sr_error_set(error, SR_NOTHING_HEARD,
                        "The recording is silent from end to end. Was the microphone muted, or the "
                        "wrong input chosen?");
  }
  return SR_OK;
}

/// No match in a truncated recording: report the truncation first.
static void
refuse_remains(const SrPhrase* const phrase, const double seconds, SrError* const error)
{
  sr_error_set(
      error, SR_NO_MATCH,
      "The recording breaks off after %.1f s, and \"%.100s\" was not heard in it. Copy it from the "
      "recorder again; if that is all there is, check the tune, the bars chosen and the key.",
      seconds, sr_phrase_title(phrase));
}

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge the take.");
}

/// A take as the listening engine gets it: with any click removed and lost stretches as NaN.
typedef struct {
  SrTakeReader* reader;
  const SrLosses* losses;
  SrClickRemover* remover; ///< NULL without a click to remove
  uint64_t at;
} Source;

static size_t
read_source(void* const from, float* const samples, const size_t count)
{
  Source* const source = (Source*)from;
  const SrLosses* const losses = source->losses;
  size_t done = sr_take_reader_read(source->reader, samples, count);
  if (source->remover) {
    sr_click_remover_do(source->remover, samples, done);
  }
  const uint64_t lost_until = losses->count ? losses->lost[losses->count - 1].end : 0;
  if (done == 0 && lost_until > source->at) {
    // The device was lost before the player had finished
    const uint64_t more = lost_until - source->at;
    done = more < count ? (size_t)more : count;
    memset(samples, 0, done * sizeof(float));
  }
  sr_losses_apply(losses, source->at, samples, done);
  source->at += done;
  return done;
}

static SrStatus
rewind_source(void* const from, SrError* const error)
{
  Source* const source = (Source*)from;
  source->at = 0;
  if (source->remover) {
    sr_click_remover_rewind(source->remover);
  }
  return sr_take_reader_rewind(source->reader, error);
}

/// Find the loudest sample, with which windows are aligned so that the same playing is heard alike
/// wherever the recording begins. Reads to the end; `finder` is NULL if no click is looked for.
static SrStatus
find_loudest(SrTakeReader* const reader, float* const chunk, SrClickFinder* const finder,
             int64_t* const loudest, SrError* const error)
{
  assert(chunk);
  float most = -1.0f;
  int64_t at = 0;
  size_t count;
  *loudest = 0;
  while ((count = sr_take_reader_read(reader, chunk, CHUNK_SAMPLES)) > 0) {
    if (finder && sr_click_finder_push(finder, chunk, count) != SR_OK) {
      return no_memory(error);
    }
    for (size_t i = 0; i < count; ++i) {
      if (fabsf(chunk[i]) > most) {
        most = fabsf(chunk[i]);
        *loudest = at + (int64_t)i;
      }
    }
    at += (int64_t)count;
  }
  return SR_OK;
}

/// Whether a take can be reopened. A pipe cannot: its writer would get SIGPIPE.
static bool
is_file(const char* const path)
{
  struct stat status;
  return strcmp(path, "-") != 0 && stat(path, &status) == 0 && S_ISREG(status.st_mode);
}

/// Read the note in a take of ours; false if it is not one.
static bool
note_of(const char* const path, SrTakeNote* const note)
{
  char text[SR_TAKE_NOTE_SIZE];
  return is_file(path) && sr_recording_note(path, text, NULL) == SR_OK &&
         sr_take_note_read(text, note);
}

/// The complete silences of the click, as far as the take goes.
static size_t
silences_of(const SrTakeNote* const note, const double rate_hz, SrSilence* const silences)
{
  uint64_t whole = 0;
  for (size_t i = 0; i < note->silences.count; ++i) {
    const SrStretch* const silence = &note->silences.lost[i];
    const uint64_t length = silence->end - silence->start;
    whole = length > whole ? length : whole;
  }
  size_t count = 0;
  for (size_t i = 0; i < note->silences.count && note->silent_bars > 0; ++i) {
    const SrStretch* const silence = &note->silences.lost[i];
    // Where part of the take was cut out, the return of the click may be missing
    if (silence->end - silence->start + 1 >= whole) {
      silences[count++] = (SrSilence){(double)silence->start / rate_hz,
                                      (double)silence->end / rate_hz, note->silent_bars};
    }
  }
  return count;
}

/// Settings for the click a take was played to, unless other settings are given. `silences` has
/// room for all of the note's.
static SrJudgeSettings
settings_of(const SrTakeNote* const note, const SrJudgeSettings* const asked, const double rate_hz,
            SrSilence* const silences)
{
  SrJudgeSettings settings = asked ? *asked : sr_judge_settings_default();
  if (note) {
    settings.target_bpm = isfinite(settings.target_bpm) ? settings.target_bpm : note->target_bpm;
    settings.click_s = note->click_s;
    settings.click_period_s = note->click_period_s;
    settings.click_pulses = note->click_pulses;
    settings.silences = silences;
    settings.silence_count = silences_of(note, rate_hz, silences);
  }
  return settings;
}

/// A metronome's click found in a recording.
typedef struct {
  SrClickFinder* finder;   ///< NULL if none was looked for
  SrClickFound found;      ///< Its count is 0 if there is none
  SrClickRemover* remover; ///< NULL without a click
} FoundClick;

static void
clear_click(FoundClick* const click)
{
  sr_click_remover_del(click->remover);
  sr_click_finder_del(click->finder);
  *click = (FoundClick){.finder = NULL};
}

/**
   After the first pass over the recording: finish the search for a click, and create its remover if
   there is one.
*/
static SrStatus
settle_click(FoundClick* const click, const double rate_hz, SrError* const error)
{
  if (!click->finder) {
    return SR_OK;
  }
  if (sr_click_finder_finish(click->finder, &click->found) != SR_OK) {
    return no_memory(error);
  }
  if (click->found.count == 0) {
    return SR_OK;
  }
  const SrClickSetting setting = {.rate_hz = rate_hz,
                                  .plain = click->found.plain,
                                  .plain_count = click->found.sound_count,
                                  .accent = click->found.accent,
                                  .accent_count = click->found.sound_count,
                                  .period = click->found.period,
                                  .bar_clicks = click->found.bar_clicks,
                                  .began = click->found.first - click->found.lead -
                                           CLICK_EARLY_S * rate_hz};
  return sr_click_remover_new(&setting, &click->remover, error);
}

/// Pulses from click to click at the tempo of the take; NAN if the tempo does not fit the click.
static double
pulses_of(const SrAssessment* const assessment, const double period_s)
{
  static const double usual[] = {1.0, 2.0, 1.0 / 2.0, 1.0 / 3.0, 3.0, 4.0, 1.0 / 4.0, 1.0 / 6.0};
  for (size_t r = 0; r < assessment->round_count; ++r) {
    const double pulses = period_s * assessment->rounds[r].pulse.played_bpm / 60.0;
    for (size_t i = 0; i < sizeof(usual) / sizeof(usual[0]); ++i) {
      if (fabs(pulses / usual[i] - 1.0) < SAME_TEMPO) {
        return usual[i];
      }
    }
  }
  return (double)NAN;
}

/// Distance from the nearest onset, s.
static double
from_onset_s(const SrListened* const heard, const double at_s)
{
  double nearest_s = (double)INFINITY;
  for (size_t i = 0; i < heard->event_count; ++i) {
    const double from_s = at_s - heard->events[i].onset_s;
    nearest_s = fabs(from_s) < fabs(nearest_s) ? from_s : nearest_s;
  }
  return nearest_s;
}

static bool
is_by_note(const SrListened* const heard, const double at_s)
{
  bool near = fabs(from_onset_s(heard, at_s)) < BY_NOTES_S;
  for (size_t i = 0; !near && i < heard->event_count; ++i) {
    near = fabs(heard->events[i].end_s - at_s) < BY_NOTES_S;
  }
  return near;
}

static int
compare_numbers(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// Largest number of values within a window of twice EXACTLY_S; sorts them.
static size_t
most_alike(double* const from_s, const size_t count)
{
  qsort(from_s, count, sizeof(double), compare_numbers);
  size_t most = 0;
  size_t first = 0;
  for (size_t i = 0; i < count; ++i) {
    while (from_s[i] - from_s[first] > 2.0 * EXACTLY_S) {
      ++first;
    }
    most = i + 1 - first > most ? i + 1 - first : most;
  }
  return most;
}

/// Whether the clicks found are sounds of the notes.
static SrStatus
ask_notes(const SrListened* const heard, const SrClickFound* const click, const double rate_hz,
          bool* const are_notes)
{
  double* const from_s = (double*)calloc(click->time_count + 1, sizeof(double));
  if (!from_s) {
    return SR_NO_MEMORY;
  }
  size_t by_notes = 0;
  for (size_t k = 0; k < click->time_count; ++k) {
    const double at_s = click->times[k] / rate_hz;
    by_notes += is_by_note(heard, at_s);
    from_s[k] = from_onset_s(heard, at_s);
  }
  const size_t alike = most_alike(from_s, click->time_count);
  *are_notes = (double)(alike > by_notes ? alike : by_notes) > BY_NOTES * (double)click->time_count;
  free(from_s);
  return SR_OK;
}

/// Judge the events again with the click found, if the take was played to it.
static SrStatus
judge_to_click(const SrPhrase* const phrase, const SrListened* const listened,
               const SrTakeFacts* const facts, const SrJudgeSettings* const asked,
               SrClickFound* const click, SrJudgedTake* const take)
{
  bool are_notes;
  if (ask_notes(listened, click, facts->rate_hz, &are_notes) != SR_OK) {
    return SR_NO_MEMORY;
  }
  if (are_notes) {
    click->count = 0;
    return SR_OK;
  }
  const double period_s = click->period / facts->rate_hz;
  const double pulses = pulses_of(take->assessment, period_s);
  if (!isfinite(pulses)) {
    remark(take,
           "there is a metronome's click in the recording, at %.1f a minute, but the notes do not "
           "fit it, so they are judged by your own tempo.",
           60.0 / period_s);
    return SR_OK;
  }
  SrJudgeSettings settings = *asked;
  // With several pulses to a click it is unknown which of them has it
  settings.click_s = click->first / facts->rate_hz;
  settings.click_period_s = period_s / fmax(1.0, pulses);
  settings.click_pulses = fmin(1.0, pulses);
  settings.target_bpm =
      isfinite(settings.target_bpm) ? settings.target_bpm : 60.0 * pulses / period_s;
  const SrHeard heard = {listened->events, listened->event_count, listened->air,
                         listened->air_count, listened->air_carriage};
  SrAssessment* beaten = NULL;
  SrError ignored;
  const SrStatus outcome = sr_judge_take(phrase, &heard, facts, &settings, &beaten, &ignored);
  if (outcome == SR_OK) {
    beaten->doubled = take->assessment->doubled;
    sr_assessment_del(take->assessment);
    take->assessment = beaten;
    remark(take,
           "there is a metronome's click in the recording, at %.1f a minute; it is used as the "
           "beat and removed before judging. --no-click ignores it.",
           60.0 / period_s);
  }
  return outcome == SR_NO_MEMORY ? outcome : SR_OK;
}

static SrStatus
judge_as_written(const SrPhrase* const phrase, const char* const path,
                 const SrJudgeSettings* const settings, const bool find_click,
                 SrJudgedTake* const take)
{
  memset(take, 0, sizeof(*take));
  SrError* const error = &take->error;
  SrTakeReader* reader = NULL;
  FoundClick click = {.finder = NULL};
  SrTakeNote note;
  const bool ours = note_of(path, &note);
  const SrLosses none = {.count = 0};
  const SrLosses* const losses = ours ? &note.losses : &none;
  int64_t loudest = 0;

  float* const chunk = malloc(CHUNK_SAMPLES * sizeof(float));
  SrStatus outcome = chunk ? sr_take_reader_new(path, &reader, error) : no_memory(error);
  // A take of ours holds its own click, if it can be judged against one
  if (outcome == SR_OK && find_click && !ours) {
    outcome = sr_click_finder_new(sr_take_reader_rate_hz(reader), &click.finder, error);
  }
  if (outcome == SR_OK) {
    outcome = find_loudest(reader, chunk, click.finder, &loudest, error);
  }
  if (outcome == SR_OK) {
    const SrTakeReading reading = sr_take_reader_reading(reader);
    outcome = check_reading(&reading, error);
    make_remarks(take, &reading);
    remark_losses(take, losses, reading.rate_hz);
    outcome = outcome == SR_OK ? settle_click(&click, reading.rate_hz, error) : outcome;
    const SrTakeFacts facts = {path, reading.seconds, reading.rate_hz, reading.peak_dbfs,
                               reading.clipped_samples};
    SrSilence silences[SR_MOST_LOSSES];
    const SrJudgeSettings own =
        settings_of(ours ? &note : NULL, settings, reading.rate_hz, silences);
    Source from = {reader, losses, click.remover, 0};
    const SrTakeSource source = {read_source, rewind_source, &from};
    SrListened listened = {0};
    outcome = outcome == SR_OK ? rewind_source(&from, error) : outcome;
    if (outcome == SR_OK) {
      outcome = sr_listen(phrase, &source, loudest, &facts, &own, &listened, error);
      take->assessment = listened.assessment;
      listened.assessment = NULL;
    }
    if (outcome == SR_OK && click.found.count > 0) {
      outcome = judge_to_click(phrase, &listened, &facts, &own, &click.found, take);
    }
    const char* const unreported = sr_judge_air_unreported(listened.air_carriage);
    if (outcome == SR_OK && unreported) {
      remark(take, "%s", unreported);
    }
    sr_listened_clear(&listened);
    if (outcome == SR_NO_MATCH && reading.truncated) {
      refuse_remains(phrase, reading.seconds, error);
    }
  }
  if (outcome != SR_OK) {
    sr_error_place(error, strcmp(path, "-") ? path : "standard input", 0, 0);
  }
  // Notes mistaken for clicks were removed
  const bool again =
      click.remover && (outcome == SR_NO_MATCH || (outcome == SR_OK && click.found.count == 0));
  clear_click(&click);
  sr_take_reader_del(reader);
  free(chunk);
  if (again && is_file(path)) {
    sr_judged_take_clear(take);
    return judge_as_written(phrase, path, settings, false, take);
  }
  return outcome;
}

/// Judge a take in the key it seems to be played in, and keep that if it explains more of it.
static void
try_other_key(const SrPhrase* const phrase, const char* const path,
              const SrJudgeSettings* const settings, const bool find_click,
              SrJudgedTake* const take)
{
  const int shift = sr_other_key(phrase, path);
  SrPhrase* other = NULL;
  if (shift == 0 || sr_phrase_transpose(phrase, shift, &other, NULL) != SR_OK) {
    return;
  }
  // Button names do not fit another key
  SrJudgeSettings own = settings ? *settings : sr_judge_settings_default();
  own.places = NULL;
  SrJudgedTake second;
  judge_as_written(other, path, &own, find_click, &second);
  if (sr_assessment_explained(second.assessment) <= sr_assessment_explained(take->assessment)) {
    sr_judged_take_clear(&second);
    sr_phrase_del(other);
    return;
  }
  sr_judged_take_clear(take);
  *take = second;
  take->phrase = other;
  const int asked = sr_phrase_transposed(other);
  char name[48];
  char typed[48] = "leave --transpose out";
  if (asked != 0) {
    snprintf(typed, sizeof(typed), "use --transpose %d", asked);
  }
  remark(take,
         "this was played %s than written, and is judged that way. If your box is in that key, %s",
         sr_interval_name(shift, name), typed);
}

SrStatus
sr_judged_take_make(const SrPhrase* const phrase, const char* const path,
                    const SrJudgeSettings* const settings, const bool find_click,
                    SrJudgedTake* const take)
{
  judge_as_written(phrase, path, settings, find_click, take);
  const bool misfits = take->assessment ? sr_assessment_played(take->assessment) < LEAST_PLAYED
                                        : take->error.status == SR_NO_MATCH;
  if (misfits && is_file(path)) {
    try_other_key(phrase, path, settings, find_click, take);
  }
  return take->assessment ? SR_OK : take->error.status;
}

void
sr_judged_take_clear(SrJudgedTake* const take)
{
  sr_phrase_del(take->phrase);
  sr_assessment_del(take->assessment);
  for (size_t i = 0; i < take->remark_count; ++i) {
    free(take->remarks[i]);
  }
  memset(take, 0, sizeof(*take));
}
