// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_remarks.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

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

void
sr_take_remark(SrJudgedTake* const take, const char* const format, ...)
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
    sr_take_remark(
        take,
        "the recording ends after %.1f s of %.1f s, as if cut off; it is judged as far as it goes.",
        reading->seconds, reading->promised_seconds);
  } else if (reading->truncated) {
    sr_take_remark(
        take,
        "the recording breaks off or is damaged after %.1f s; it is judged as far as it goes.",
        reading->seconds);
  }
  if (reading->unfinished) {
    sr_take_remark(
        take,
        "the recording does not say how long it is, as if the recorder was cut off; all %.1f s "
        "of it are judged.",
        reading->seconds);
  }
  if (reading->chained) {
    sr_take_remark(
        take,
        "there is more than one recording in this file; only the first, %.1f s long, is judged. "
        "Save each one as its own file.",
        reading->seconds);
  }
}

void
sr_take_remark_reading(SrJudgedTake* const take, const SrTakeReading* const reading)
{
  remark_end(take, reading);
  if (reading->not_finite) {
    sr_take_remark(
        take,
        "%zu sample%s in the recording held no number and counted as silence, not against you.",
        reading->not_finite, reading->not_finite == 1 ? "" : "s");
  }
  if (reading->clipped_samples) {
    sr_take_remark(
        take,
        "the recording is overdriven in %zu samples, so the verdicts there may be wrong; turn "
        "the input down.",
        reading->clipped_samples);
  }
  if (reading->peak_dbfs < QUIET_DBFS && reading->peak_dbfs >= SILENCE_DBFS) {
    sr_take_remark(
        take,
        "the recording is quiet (its loudest moment is %.0f dB below full scale); turn the "
        "input up or move closer to the microphone.",
        -reading->peak_dbfs);
  }
  if (reading->recorded_hz < reading->rate_hz) {
    sr_take_remark(
        take,
        "the recording has only %.0f samples a second, like a telephone, so some cuts may be "
        "misjudged; choose a better quality in the recorder.",
        reading->recorded_hz);
  }
  if (fabs(reading->offset) > OFFSET_WORTH_SAYING && reading->peak_dbfs <= HIGHEST_DBFS) {
    sr_take_remark(
        take,
        "the recording has a DC offset of %.0f %% of full scale; you cannot hear it, but it "
        "leaves less room for the sound. Check the sound card.",
        100.0 * fabs(reading->offset));
  }
  if (reading->mix_loss_db > MIX_LOSS_DB) {
    sr_take_remark(
        take, "the channels of the recording cancel each other (is one upside down?), so little "
              "is left to listen to; save just one channel.");
  }
}

void
sr_take_remark_losses(SrJudgedTake* const take, const SrLosses* const losses, const double rate_hz)
{
  uint64_t lost = 0;
  for (size_t i = 0; i < losses->count; ++i) {
    lost += losses->lost[i].end - losses->lost[i].start;
  }
  if (lost && rate_hz > 0.0) {
    sr_take_remark(
        take,
        "%.2f s of this take were lost while it was recorded; what was played there is not judged.",
        (double)lost / rate_hz);
  }
}

SrStatus
sr_take_check(const SrTakeReading* const reading, SrError* const error)
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

void
sr_take_refuse_remains(const SrPhrase* const phrase, const double seconds, SrError* const error)
{
  sr_error_set(
      error, SR_NO_MATCH,
      "The recording breaks off after %.1f s, and \"%.100s\" was not heard in it. Copy it from the "
      "recorder again; if that is all there is, check the tune, the bars chosen and the key.",
      seconds, sr_phrase_title(phrase));
}

SrStatus
sr_take_no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge the take.");
}
