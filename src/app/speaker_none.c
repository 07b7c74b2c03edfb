// SPDX-License-Identifier: GPL-3.0-or-later

// A build without speech-dispatcher's library.

#include "speaker.h"

#include <stddef.h>

bool
sr_speaker_is_built(void)
{
  return false;
}

SrSpeaker*
sr_speaker_new(void)
{
  return NULL;
}

void
sr_speaker_del(SrSpeaker* const speaker)
{
  (void)speaker;
}

void
sr_speaker_say(SrSpeaker* const speaker, const char* const words)
{
  (void)speaker;
  (void)words;
}

void
sr_speaker_stop(SrSpeaker* const speaker)
{
  (void)speaker;
}

SrSpeakerState
sr_speaker_state(SrSpeaker* const speaker)
{
  (void)speaker;
  return SR_SPEAKER_SILENT;
}

double
sr_speaker_waited_s(SrSpeaker* const speaker)
{
  (void)speaker;
  return 0.0;
}
