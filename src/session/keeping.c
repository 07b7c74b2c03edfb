// SPDX-License-Identifier: GPL-3.0-or-later

// The take of a session: written while it is played, cut to its rounds at the end.
//
// The click is removed before the take is written; the take's note says when the clicks were heard,
// and which stretches were lost, for the file holds silence there. So a kept take is judged as it
// was during play.

#include "session_state.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Interval between updates of the take's note, s.
#define NOTE_EVERY_S 1.0
/// Kept before and after each round, s.
#define KEEP_AROUND_S 2.0

static void
note_of(const SrSession* const session, SrTakeNote* const note)
{
  const SrClickTrack* const click = &session->click;
  memset(note, 0, sizeof(*note));
  sr_take_note_title(note, sr_phrase_title(session->phrase));
  // After a tempo change there is no one tempo for the whole take
  const double clicked_bpm = click->tempo_changed ? (double)NAN : click->bpm;
  note->target_bpm = session->settings.silent ? session->settings.judge.target_bpm : clicked_bpm;
  const bool steady = click->began && !click->tempo_changed && !click->moved;
  note->click_s = steady ? sr_click_heard_s(session) : (double)NAN;
  note->click_period_s = steady ? click->period / session->rate_hz : (double)NAN;
  note->click_pulses = steady ? click->pulses : (double)NAN;
  note->losses = session->losses;
  note->silences = click->silences;
  note->silent_bars = session->settings.off_bars;
}

SrStatus
sr_keeping_begin(SrSession* const session)
{
  SrTake* const take = &session->take;
  char* folder = NULL;
  SrStatus status = sr_takes_folder(&folder, &session->error);
  SrTakeNote note;
  char text[SR_TAKE_NOTE_SIZE];
  note_of(session, &note);
  const bool noted = sr_take_note_write(&note, text);
  bool taken = status == SR_OK;
  while (taken) {
    free(take->path);
    take->path = NULL;
    status = sr_take_name(folder, sr_phrase_title(session->phrase), &take->path, &session->error);
    if (status == SR_OK) {
      status = sr_recording_new(take->path, session->rate_hz, noted ? text : NULL, &take->recording,
                                &session->error);
    }
    // Another session started in the same second took the name
    taken = status == SR_EXISTS;
  }
  free(folder);
  return status;
}

/// Start of a round including any false start, s. Only the end of a false start is known, so its
/// start is estimated from the length of its notes.
static double
began_s(const SrSession* const session, const SrRound* const round)
{
  double start_s = round->start_s;
  const double pulse = sr_fraction_value(sr_phrase_bar(session->phrase, 0)->pulse);
  const bool known = isfinite(round->pulse.played_bpm) && round->pulse.played_bpm > 0.0;
  const double whole_s = 60.0 / (known ? round->pulse.played_bpm : session->click.bpm) / pulse;
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    if (slip->kind == SR_SLIP_FALSE_START) {
      const SrPhraseNote* const last = sr_phrase_note(session->phrase, slip->note_index);
      const double length = sr_fraction_value(last->start) + sr_fraction_value(last->length);
      start_s = fmin(start_s, slip->at_s - length * whole_s);
    }
  }
  return start_s;
}

static void
store(SrTake* const take, const SrPlayedRound* const round)
{
  if (!take->recording || take->forgot_round) {
    return;
  }
  SrPlayedRound* const more =
      (SrPlayedRound*)realloc(take->rounds, (take->round_count + 1) * sizeof(SrPlayedRound));
  take->forgot_round = !more;
  if (more) {
    take->rounds = more;
    take->rounds[take->round_count++] = *round;
  }
}

void
sr_keeping_round(SrSession* const session, const SrRound* const round)
{
  store(&session->take, &(SrPlayedRound){began_s(session, round), round->end_s});
}

void
sr_keeping_unfinished(SrSession* const session, const double start_s, const double end_s)
{
  store(&session->take, &(SrPlayedRound){start_s, end_s});
}

void
sr_keeping_renew_note(SrSession* const session)
{
  SrTake* const take = &session->take;
  const double now_s = sr_session_now_s(session);
  SrTakeNote note;
  char text[SR_TAKE_NOTE_SIZE];
  if (!take->recording || now_s - take->note_s < NOTE_EVERY_S) {
    return;
  }
  take->note_s = now_s;
  note_of(session, &note);
  if (sr_take_note_write(&note, text) && strcmp(text, take->note) != 0 &&
      sr_recording_set_note(take->recording, text)) {
    memcpy(take->note, text, sizeof(text));
  }
}

/// Choose the parts of the take to keep. Returns how many.
static size_t
choose_parts(const SrSession* const session, SrStretch* const parts)
{
  const double period = session->click.period;
  size_t count = 0;
  uint64_t removed = 0;
  for (size_t r = 0; r < session->take.round_count; ++r) {
    const SrPlayedRound* const round = &session->take.rounds[r];
    const double from_s = fmax(0.0, round->start_s - KEEP_AROUND_S);
    uint64_t start = (uint64_t)(from_s * session->rate_hz);
    const uint64_t end = (uint64_t)((round->end_s + KEEP_AROUND_S) * session->rate_hz);
    const uint64_t before = count ? parts[count - 1].end : 0;
    if (count && start <= before + (uint64_t)session->rate_hz) {
      parts[count - 1].end = end > before ? end : before;
      continue;
    }
    if (session->click.began) {
      // Remove whole click periods, so that the click keeps its phase across the joint
      const double out = (double)(removed + start - before);
      const double more = out - floor(out / period) * period;
      start -= (double)(start - before) > more ? (uint64_t)lround(more) : 0;
    }
    removed += start - before;
    parts[count++] = (SrStretch){start, end};
  }
  return count;
}

/// Whether the take is left uncut: on request, or because it is not certain where its rounds are.
static bool
keeps_all(const SrSession* const session)
{
  return session->settings.keeping == SR_KEEP_ALL || session->take.forgot_round;
}

bool
sr_keeping_stays(const SrSession* const session)
{
  return session->take.recording && sr_recording_frames(session->take.recording) > 0 &&
         (session->take.round_count > 0 || keeps_all(session));
}

/// Cut the take to its rounds. SR_OK also if there was nothing to cut.
static SrStatus
cut_take(const SrSession* const session, SrError* const error)
{
  SrTakeNote note;
  char text[SR_TAKE_NOTE_SIZE];
  note_of(session, &note);
  const bool written = sr_take_note_write(&note, text);
  const SrStretch whole = {0, UINT64_MAX};
  const char* const path = session->take.path;
  if (keeps_all(session)) {
    return sr_recording_cut(path, &whole, 1, written ? text : NULL, error);
  }
  SrStretch* const parts = (SrStretch*)calloc(session->take.round_count + 1, sizeof(SrStretch));
  if (!parts) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to cut the take.");
  }
  const size_t count = choose_parts(session, parts);
  note.losses = sr_losses_cut(&session->losses, parts, count);
  note.silences = sr_losses_cut(&session->click.silences, parts, count);
  // Only whole periods were removed between parts, so the click moves only by what was cut before
  // the first
  const double shift_s = (double)parts[0].start / session->rate_hz;
  if (isfinite(note.click_s)) {
    note.click_s -= shift_s;
  }
  const bool again = sr_take_note_write(&note, text);
  const SrStatus status = sr_recording_cut(path, parts, count, again ? text : NULL, error);
  free(parts);
  return status;
}

void
sr_keeping_finish(SrSession* const session)
{
  SrTake* const take = &session->take;
  if (!take->recording) {
    return;
  }
  if (!sr_keeping_stays(session)) {
    sr_recording_discard(take->recording);
    take->recording = NULL;
    return;
  }
  SrSessionEvent trouble = {.kind = SR_SESSION_TROUBLE, .trouble = {.saving = true}};
  SrStatus status = sr_recording_finish(take->recording, &trouble.trouble.error);
  take->recording = NULL;
  if (status == SR_OK) {
    status = cut_take(session, &trouble.trouble.error);
  }
  // A full disk was already reported
  if (status != SR_OK && session->trouble != SR_WRITE_FAILED) {
    sr_session_report(session, trouble);
  }
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_SAVED, .saved = {take->path}});
}
