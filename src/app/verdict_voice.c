// SPDX-License-Identifier: GPL-3.0-or-later

#include "verdict_voice.h"

#include "hands_free.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

/// How long the speech server may take to begin, s.
#define ANSWER_S 1.0
/// Pause between looks at the end, and how long the last words may take, s.
#define NAP_S 0.02
#define LAST_WORDS_S 30.0

bool
sr_verdict_voice_begin(SrVerdictVoice* const voice)
{
  *voice = (SrVerdictVoice){.speaker = sr_speaker_new()};
  return voice->speaker != NULL;
}

void
sr_verdict_voice_end(SrVerdictVoice* const voice)
{
  sr_speaker_del(voice->speaker);
  *voice = (SrVerdictVoice){.speaker = NULL};
}

static void
speak(SrVerdictVoice* const voice)
{
  sr_speaker_say(voice->speaker, voice->words);
  voice->words[0] = '\0';
  voice->sounds = true;
}

static void
stop(SrVerdictVoice* const voice)
{
  sr_speaker_stop(voice->speaker);
  voice->words[0] = '\0';
  voice->sounds = false;
}

void
sr_verdict_voice_announce(SrVerdictVoice* const voice, SrSession* const session,
                          const char* const words)
{
  if (voice->speaker) {
    snprintf(voice->words, sizeof(voice->words), "%s", words);
    sr_session_send(session, (SrCommand){.kind = SR_COMMAND_HUSH_BEGIN});
  }
}

void
sr_verdict_voice_add(SrVerdictVoice* const voice, const char* const words)
{
  const size_t size = strlen(voice->words);
  if (voice->speaker && size > 0) {
    snprintf(voice->words + size, sizeof(voice->words) - size, " %s", words);
  }
}

bool
sr_verdict_voice_sounds(const SrVerdictVoice* const voice)
{
  return voice->speaker && (voice->sounds || voice->words[0]);
}

/// See whether it has spoken; whether to report that it does not.
static bool
follow(SrVerdictVoice* const voice, SrSession* const session)
{
  const bool unanswered = voice->sounds && sr_speaker_waited_s(voice->speaker) > ANSWER_S;
  if (unanswered) {
    stop(voice);
  }
  if (unanswered || (voice->sounds && sr_speaker_state(voice->speaker) == SR_SPEAKER_SILENT)) {
    voice->sounds = false;
    sr_session_send(session, (SrCommand){.kind = SR_COMMAND_HUSH_END});
  }
  const bool complain = unanswered && !voice->complained;
  voice->complained = voice->complained || unanswered;
  return complain;
}

/// Nobody listens any more: what is left to say can be said, unless the player wants to go.
static void
finish_practice(SrVerdictVoice* const voice, const SrEndReason reason)
{
  if (reason == SR_END_COMMAND || reason == SR_END_TROUBLE) {
    stop(voice);
  } else if (voice->words[0]) {
    speak(voice);
  }
}

static bool
wait_for_end(SrVerdictVoice* const voice, SrSession* const session)
{
  bool complain = false;
  for (int naps = 0; voice->sounds && naps < (int)(LAST_WORDS_S / NAP_S); ++naps) {
    if (sr_hands_free_asked()) {
      stop(voice);
    }
    complain = follow(voice, session) || complain;
    const struct timespec nap = {0, (long)(1e9 * NAP_S)};
    nanosleep(&nap, NULL);
  }
  return complain;
}

bool
sr_verdict_voice_hear(SrVerdictVoice* const voice, SrSession* const session,
                      const SrSessionEvent* const event)
{
  if (!voice->speaker) {
    return false;
  }
  if (event->kind == SR_SESSION_ROUND) {
    const SrAssessment* const assessment = event->round.assessment;
    sr_show_spoken(&assessment->rounds[assessment->round_count - 1], voice->words);
    sr_session_send(session, (SrCommand){.kind = SR_COMMAND_HUSH_BEGIN});
  } else if (event->kind == SR_SESSION_HUSH && !event->hush.granted) {
    stop(voice);
  } else if (event->kind == SR_SESSION_HUSH && voice->words[0]) {
    speak(voice);
  } else if (event->kind == SR_SESSION_STOPPED) {
    finish_practice(voice, event->stopped.reason);
  } else if (event->kind == SR_SESSION_END) {
    return wait_for_end(voice, session);
  }
  return follow(voice, session);
}
