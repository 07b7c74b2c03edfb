// SPDX-License-Identifier: GPL-3.0-or-later

#include "sitting_voice.h"

#include "../verdict_voice.h"

struct SrSittingVoiceImpl {
  SrSitting* sitting;
  SrVerdictVoice voice;
  gulong handler;
};

static void
hear(SrSitting* const sitting, const SrSessionEvent* const event, SrSittingVoice* const voice)
{
  SrSession* const session = sr_sitting_session(sitting);
  // At the end there is nothing to wait for: the window stays, and so does the voice
  if (!session || !voice->voice.speaker || event->kind == SR_SESSION_END) {
    return;
  }
  if (event->kind == SR_SESSION_READY) {
    voice->voice.sounds = false;
    voice->voice.words[0] = '\0';
  }
  if (sr_verdict_voice_hear(&voice->voice, session, event)) {
    g_signal_emit_by_name(sitting, "said",
                          "The voice does not answer; verdicts are only shown. Does "
                          "speech-dispatcher run?");
  }
}

SrSittingVoice*
sr_sitting_voice_new(SrSitting* const sitting)
{
  SrSittingVoice* const voice = g_new0(SrSittingVoice, 1);
  voice->sitting = sitting;
  voice->handler = g_signal_connect(sitting, "heard", G_CALLBACK(hear), voice);
  return voice;
}

bool
sr_sitting_voice_switch(SrSittingVoice* const voice, const bool on)
{
  if (on == sr_sitting_voice_is_on(voice)) {
    return true;
  }
  if (on) {
    return sr_speaker_is_built() && sr_verdict_voice_begin(&voice->voice);
  }
  const bool hushed = voice->voice.sounds;
  sr_verdict_voice_end(&voice->voice);
  if (hushed) {
    sr_sitting_send(voice->sitting, (SrCommand){.kind = SR_COMMAND_HUSH_END});
  }
  return true;
}

bool
sr_sitting_voice_is_on(const SrSittingVoice* const voice)
{
  return voice->voice.speaker != NULL;
}

void
sr_sitting_voice_announce(SrSittingVoice* const voice, const char* const words)
{
  SrSession* const session = sr_sitting_session(voice->sitting);
  if (session) {
    sr_verdict_voice_announce(&voice->voice, session, words);
  }
}

void
sr_sitting_voice_add(SrSittingVoice* const voice, const char* const words)
{
  sr_verdict_voice_add(&voice->voice, words);
}

bool
sr_sitting_voice_sounds(const SrSittingVoice* const voice)
{
  return sr_verdict_voice_sounds(&voice->voice);
}

void
sr_sitting_voice_free(SrSittingVoice* const voice)
{
  if (voice) {
    g_signal_handler_disconnect(voice->sitting, voice->handler);
    sr_verdict_voice_end(&voice->voice);
    g_free(voice);
  }
}
