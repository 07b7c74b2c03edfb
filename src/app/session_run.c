// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_run.h"

#include "command.h"
#include "device_names.h"
#include "guard.h"
#include "hands_free.h"
#include "keys.h"
#include "quiet.h"
#include "say.h"

#include <math.h>

/// Interval between checks of the keys, s.
#define KEYS_EVERY_S 0.05

/// Open the devices and start listening; errors are reported.
static SrStatus
begin(const SrPhrase* const phrase, const SrSessionSettings* const settings,
      SrSession** const session)
{
  SrError error = {0};
  sr_guard_begin(
      "steadyreed: The sound system of this computer is not set up (ALSA lists no device).\n",
      SR_EXIT_DEVICE);
  SrStatus status = sr_session_new(phrase, settings, session, &error);
  sr_guard_end();
  if (status == SR_NOT_FOUND) {
    sr_name_devices(&error);
  }
  if (status == SR_OK) {
    status = sr_session_start(*session, &error);
  }
  if (status != SR_OK) {
    sr_say_error(&error);
  }
  return status;
}

static int
exit_status(const SrStatus status)
{
  return status == SR_OK                                       ? SR_EXIT_DONE
         : status == SR_NO_MEMORY || status == SR_BAD_ARGUMENT ? SR_EXIT_NOT_JUDGED
                                                               : SR_EXIT_DEVICE;
}

int
sr_session_run(const SrPhrase* const phrase, const SrSessionSettings* const settings,
               const bool keys, SrEventView* const show, void* const view,
               SrProfile** const profile)
{
  SrSession* session = NULL;
  if (keys) {
    sr_signals_begin();
  }
  int status = exit_status(begin(phrase, settings, &session));
  bool over = status != SR_EXIT_DONE;
  bool asked = false;
  SrJobState jobs = {.bpm = (double)NAN};
  if (!over && keys) {
    sr_hands_free_begin();
  }
  while (!over) {
    SrSessionEvent event;
    while (!over && sr_session_next(session, &event)) {
      over = event.kind == SR_SESSION_END;
      if (over || event.kind == SR_SESSION_SAVED || event.kind == SR_SESSION_TROUBLE) {
        sr_quiet_end();
      }
      if (event.kind == SR_SESSION_TROUBLE && status == SR_EXIT_DONE) {
        status = event.trouble.saving ? SR_EXIT_DEVICE : exit_status(event.trouble.error.status);
      }
      sr_job_hear(&jobs, &event);
      const bool shown = show(view, session, &event);
      if (event.kind == SR_SESSION_READY) {
        sr_quiet_begin();
      }
      sr_session_event_clear(&event);
      if ((!shown || sr_hands_free_asked()) && !asked) {
        asked = true;
        sr_session_send(session, (SrCommand){.kind = SR_COMMAND_END});
      }
    }
    if (!over) {
      sr_session_wait(session, KEYS_EVERY_S);
    }
    for (SrJob job; !over && keys && (job = sr_hands_free_job()) != SR_JOB_NONE;) {
      sr_job_do(job, &jobs, session);
    }
    if (!asked && sr_hands_free_asked()) {
      asked = true;
      sr_session_send(session, (SrCommand){.kind = SR_COMMAND_END});
    }
  }
  sr_quiet_end();
  if (profile) {
    *profile = session ? sr_session_profile(session, true) : NULL;
  }
  sr_session_finish(session);
  if (keys) {
    sr_hands_free_end();
  }
  return status;
}
