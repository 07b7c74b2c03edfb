// SPDX-License-Identifier: GPL-3.0-or-later

#include "keys.h"

#include <steadyreed/sound.h>

#include <string.h>

SrJob
sr_key_job(const SrKey key)
{
  static const SrJob jobs[] = {
      [SR_KEY_NONE] = SR_JOB_NONE,       [SR_KEY_SPACE] = SR_JOB_BEGIN,
      [SR_KEY_PAGE_DOWN] = SR_JOB_BEGIN, [SR_KEY_RIGHT] = SR_JOB_BEGIN,
      [SR_KEY_PAGE_UP] = SR_JOB_HEAR,    [SR_KEY_LEFT] = SR_JOB_HEAR,
      [SR_KEY_UP] = SR_JOB_FASTER,       [SR_KEY_DOWN] = SR_JOB_SLOWER,
      [SR_KEY_Q] = SR_JOB_END,           [SR_KEY_ESCAPE] = SR_JOB_END,
      [SR_KEY_N] = SR_JOB_NEXT,          [SR_KEY_RETURN] = SR_JOB_NEXT,
  };
  return jobs[key];
}

SrKey
sr_key_of_bytes(const char* const bytes, const size_t count)
{
  static const struct {
    const char* bytes;
    SrKey key;
  } sequences[] = {
      {" ", SR_KEY_SPACE},
      {"q", SR_KEY_Q},
      {"Q", SR_KEY_Q},
      {"\033", SR_KEY_ESCAPE},
      {"n", SR_KEY_N},
      {"N", SR_KEY_N},
      {"\n", SR_KEY_RETURN},
      {"\r", SR_KEY_RETURN},
      {"\033[A", SR_KEY_UP},
      {"\033OA", SR_KEY_UP},
      {"\033[B", SR_KEY_DOWN},
      {"\033OB", SR_KEY_DOWN},
      {"\033[C", SR_KEY_RIGHT},
      {"\033OC", SR_KEY_RIGHT},
      {"\033[D", SR_KEY_LEFT},
      {"\033OD", SR_KEY_LEFT},
      {"\033[5~", SR_KEY_PAGE_UP},
      {"\033[6~", SR_KEY_PAGE_DOWN},
  };
  for (size_t i = 0; i < sizeof(sequences) / sizeof(sequences[0]); ++i) {
    if (strlen(sequences[i].bytes) == count && !memcmp(sequences[i].bytes, bytes, count)) {
      return sequences[i].key;
    }
  }
  return SR_KEY_NONE;
}

void
sr_job_hear(SrJobState* const state, const SrSessionEvent* const event)
{
  if (event->kind == SR_SESSION_READY) {
    state->bpm = event->ready.bpm;
  } else if (event->kind == SR_SESSION_TEMPO) {
    state->bpm = event->bpm;
  } else if (event->kind == SR_SESSION_PLAYING) {
    state->playing = true;
  } else if (event->kind == SR_SESSION_PLAYED) {
    state->playing = false;
  }
}

/// Change the tempo. The new one counts at once, since the key may be pressed again before it is
/// reported.
static void
change_tempo(const double factor, SrJobState* const state, SrSession* const session)
{
  const double bpm = factor * state->bpm;
  if (bpm >= SR_SLOWEST_BPM && bpm <= SR_FASTEST_BPM) {
    state->bpm = bpm;
    sr_session_send(session, (SrCommand){SR_COMMAND_TEMPO, bpm});
  }
}

void
sr_job_do(const SrJob job, SrJobState* const state, SrSession* const session)
{
  switch (job) {
  case SR_JOB_BEGIN:
    sr_session_send(
        session, (SrCommand){.kind = state->playing ? SR_COMMAND_PLAY_STOP : SR_COMMAND_COUNT_IN});
    break;
  case SR_JOB_HEAR:
    sr_session_send(session, (SrCommand){.kind = SR_COMMAND_PLAY_PHRASE});
    break;
  case SR_JOB_FASTER:
    change_tempo(SR_TEMPO_STEP, state, session);
    break;
  case SR_JOB_SLOWER:
    change_tempo(1.0 / SR_TEMPO_STEP, state, session);
    break;
  case SR_JOB_END:
    sr_session_send(session, (SrCommand){.kind = SR_COMMAND_END});
    break;
  case SR_JOB_NEXT: // by whoever has several
  case SR_JOB_NONE:
    break;
  }
}
