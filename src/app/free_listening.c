// SPDX-License-Identifier: GPL-3.0-or-later

#include "free_listening.h"

#include "command.h"
#include "device_names.h"
#include "guard.h"
#include "hands_free.h"
#include "practice_view.h"
#include "quiet.h"
#include "say.h"
#include "setup_store.h"

#include <steadyreed/free.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CHUNK 1024u
#define WAIT_S 0.05
#define LEVEL_EVERY_S 0.1
/// A pause longer than this, s, is no step of the beat.
#define MOST_STEP_S 2.0

/// What the end will tell.
typedef struct {
  size_t notes;
  size_t cuts;
  size_t long_cuts;
  size_t held;
  double cut_ms; ///< Sum
  size_t air;
  size_t air_audible;
  double last_onset_s;
  double* steps; ///< Between onsets, s
  size_t step_count;
} Told;

/// A note's name filled up to five columns; a sharp sign is one of them.
static const char*
note_column(const int midi, const SrShowStyle* const style, char column[24])
{
  char name[SR_MIDI_NAME_SIZE];
  sr_show_midi_name(midi, style, name);
  const int bytes = strstr(name, "♯") ? 5 + (int)strlen("♯") - 1 : 5;
  snprintf(column, 24, "%-*s", bytes, name);
  return column;
}

static void
tell_note(SrPracticeView* const view, const SrFreeNote* const note, Told* const told,
          const double long_cut_ms)
{
  char name[24];
  char cents[24] = "";
  char cut[96] = "";
  if (isfinite(note->cents)) {
    const long whole = lround(note->cents);
    snprintf(cents, sizeof(cents), whole ? "%+4ld cents" : "%4ld cents", whole);
  }
  if (note->cut_midi >= 0) {
    char cut_name[SR_MIDI_NAME_SIZE];
    const bool is_long = !note->held && note->cut_ms > long_cut_ms;
    snprintf(cut, sizeof(cut), ", cut by %s: %.0f ms%s",
             sr_show_midi_name(note->cut_midi, &view->style, cut_name), note->cut_ms,
             note->held ? ", joined: the note never let go"
             : is_long  ? ", long: it sounds like a note"
                        : "");
    ++told->cuts;
    told->long_cuts += is_long;
    told->held += note->held;
    told->cut_ms += note->cut_ms;
  }
  if (note->goes_on) {
    sr_view_say(view, "  %s %5.2f s  goes on", note_column(note->midi, &view->style, name),
                note->end_s - note->onset_s);
    return;
  }
  sr_view_say(view, "  %s %5.2f s  %s%s", note_column(note->midi, &view->style, name),
              note->end_s - note->onset_s, cents, cut);
  const double step_s = note->onset_s - told->last_onset_s;
  if (told->notes > 0 && step_s > 0.0 && step_s < MOST_STEP_S) {
    double* const more = (double*)realloc(told->steps, (told->step_count + 1) * sizeof(double));
    if (more) {
      told->steps = more;
      told->steps[told->step_count++] = step_s;
    }
  }
  told->last_onset_s = note->onset_s;
  ++told->notes;
}

static void
tell_air(SrPracticeView* const view, const SrFreeAir* const air, Told* const told)
{
  ++told->air;
  if (air->over_mask_db > 0.0) {
    ++told->air_audible;
    sr_view_say(view, "  air   %5.2f s  heard, %.0f dB over what hides it",
                air->end_s - air->start_s, air->over_mask_db);
  } else {
    sr_view_say(view, "  air   %5.2f s  hidden, by %.0f dB", air->end_s - air->start_s,
                -air->over_mask_db);
  }
}

static void
sum_up(SrPracticeView* const view, const Told* const told, const SrFree* const listener)
{
  SrProfile* const profile = sr_free_profile(listener);
  if (told->notes == 0) {
    sr_view_say(view, "\nNo note was heard.");
  } else if (profile) {
    sr_view_say(view, "\n%zu note%s heard; the box's A is %.1f Hz.", told->notes,
                told->notes == 1 ? "" : "s", sr_profile_reference_hz(profile));
  }
  sr_profile_del(profile);
  if (told->cuts) {
    sr_view_say(view, "%zu cut%s, %.0f ms on the mean; %zu long, %zu joined.", told->cuts,
                told->cuts == 1 ? "" : "s", told->cut_ms / (double)told->cuts, told->long_cuts,
                told->held);
  }
  const SrSteps steps = sr_judge_steps(told->steps, told->step_count);
  if (isfinite(steps.unit_s)) {
    sr_view_say(view,
                "From note to note %.2f s or a multiple of it; on the mean %.0f ms beside that.",
                steps.unit_s, steps.stray_ms);
  }
  if (told->air) {
    sr_view_say(view, "Air %zu time%s, %zu of them heard.", told->air, told->air == 1 ? "" : "s",
                told->air_audible);
  }
}

/// Listen until it is over; SR_OK, or what went wrong.
static SrStatus
listen(const SrPracticeRequest* const request, SrStream* const stream, SrFree* const listener,
       SrPracticeView* const view, Told* const told, SrError* const error)
{
  float samples[CHUNK];
  const double rate_hz = sr_stream_rate_hz(stream);
  uint64_t read = 0;
  double last_s = 0.0;
  double level_s = 0.0;
  float peak = 0.0f;
  bool over = false;
  SrStatus status = SR_OK;
  while (status == SR_OK && !over) {
    status = sr_stream_wait(stream, WAIT_S, error);
    size_t count;
    while (status == SR_OK && (count = sr_stream_read(stream, samples, CHUNK)) > 0 &&
           !sr_hands_free_asked()) {
      for (size_t i = 0; i < count; ++i) {
        peak = fmaxf(peak, isfinite(samples[i]) ? fabsf(samples[i]) : 0.0f);
      }
      status = sr_free_push(listener, samples, count, error);
      read += count;
    }
    SrFreeNote note;
    SrFreeAir air;
    while (sr_free_pull(listener, &note)) {
      tell_note(view, &note, told, request->judge.long_cut_ms);
    }
    while (sr_free_pull_air(listener, &air)) {
      tell_air(view, &air, told);
    }
    const double now_s = (double)read / rate_hz;
    last_s = sr_free_sounds(listener) ? now_s : last_s;
    sr_view_watch_input(view, peak, now_s, sr_stream_input_name(stream));
    if (now_s - level_s > LEVEL_EVERY_S) {
      if (!sr_free_sounds(listener)) {
        sr_view_level(view, 20.0 * log10((double)peak + 1e-9));
      }
      level_s = now_s;
      peak = 0.0f;
    }
    over = sr_hands_free_asked() || (told->notes && now_s - last_s > request->silence_s);
  }
  return status;
}

int
sr_listen_freely(const SrPracticeRequest* const request)
{
  SrError error = {0};
  SrStream* stream = NULL;
  SrFree* listener = NULL;
  SrSetup setup;
  Told told = {0};
  SrPracticeView view = sr_practice_view(stdout, NULL, false, false);
  sr_setup_read_or_say(&setup);
  sr_guard_begin("steadyreed: The sound system of this computer is not set up (ALSA names no "
                 "device).\n",
                 SR_EXIT_DEVICE);
  SrStatus status = sr_stream_new(&request->stream, &stream, &error);
  sr_guard_end();
  bool device = status != SR_OK && status != SR_NO_MEMORY;
  if (status == SR_NOT_FOUND) {
    sr_name_devices(&error);
  }
  if (status == SR_OK) {
    status = sr_free_new(sr_stream_rate_hz(stream), setup.profile, &listener, &error);
  }
  if (status == SR_OK) {
    status = sr_stream_start(stream, &error);
    device = status != SR_OK;
  }
  if (status == SR_OK) {
    sr_hands_free_begin();
    sr_view_say(&view, "Listening to %s; nothing is recorded. Ctrl-C, q or Escape ends it.",
                sr_stream_input_name(stream));
    sr_view_say(&view, "So do %.0f s without a note behind what was played, talk or not.",
                request->silence_s);
    sr_quiet_begin();
    status = listen(request, stream, listener, &view, &told, &error);
    sr_quiet_end();
    device = status == SR_DEVICE_TROUBLE;
    sr_hands_free_end();
    sr_free_finish(listener, NULL);
    SrFreeNote note;
    while (sr_free_pull(listener, &note)) {
      tell_note(&view, &note, &told, request->judge.long_cut_ms);
    }
    sum_up(&view, &told, listener);
  }
  if (status != SR_OK) {
    sr_say_error(&error);
  }
  sr_stream_del(stream);
  sr_free_del(listener);
  sr_setup_clear(&setup);
  free(told.steps);
  if (status == SR_OK) {
    return sr_say_flush(stdout, "standard output");
  }
  return device ? SR_EXIT_DEVICE : SR_EXIT_NOT_JUDGED;
}
