// SPDX-License-Identifier: GPL-3.0-or-later

#include "setup_steps.h"

#include <math.h>
#include <string.h>

/// Interval between questions to who watches, s.
#define ASK_EVERY_S 0.05

static SrSetupWish
wish(const SrSetupWatch* const watch)
{
  return watch->wish(watch->context);
}

static bool
ends(void* const context)
{
  return wish((const SrSetupWatch*)context) != SR_SETUP_GO_ON;
}

/// Take events until the session is over. `wished` receives what was wished of it.
static SrStatus
run(SrSession* const session, SrSetupListening* const listening, SrSetupWish* const wished,
    SrError* const error)
{
  SrStatus status = SR_OK;
  bool over = false;
  bool asked = false;
  while (!over) {
    SrSessionEvent event;
    while (!over && sr_session_next(session, &event)) {
      over = event.kind == SR_SESSION_END;
      if (event.kind == SR_SESSION_TROUBLE) {
        status = event.trouble.error.status;
        *error = event.trouble.error;
      }
      sr_setup_listening_take(listening, &event);
      sr_session_event_clear(&event);
    }
    *wished = *wished == SR_SETUP_CANCEL ? *wished : wish(listening->watch);
    if (!asked && !over && (listening->done || *wished != SR_SETUP_GO_ON)) {
      asked = true;
      sr_session_send(session, (SrCommand){.kind = SR_COMMAND_END});
    }
    if (!over) {
      sr_session_wait(session, ASK_EVERY_S);
    }
  }
  return status;
}

/// Take what was learnt of the reeds.
static SrStatus
learn(const SrSession* const session, SrSetupFound* const found, SrError* const error)
{
  if (found->notes == 0) {
    return SR_OK;
  }
  found->profile = sr_session_profile(session, true);
  if (!found->profile) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to learn the reeds.");
  }
  found->outcome = SR_SETUP_MEASURED;
  return SR_OK;
}

static SrStatus
listen(const SrStreamSettings* const stream, const SrSetup* const known,
       const SrSetupWatch* const watch, SrSetupFound* const found, SrError* const error)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.stream = *stream;
  // The stored profile of the reeds is not used to measure them
  settings.setup = found->step == SR_SETUP_BELLOWS ? known : NULL;
  settings.silence_s = SR_SETUP_SILENCE_S;
  settings.first_wait_s = SR_SETUP_FIRST_S;
  SrSetupListening listening = {.watch = watch, .found = found};
  SrSetupWish wished = SR_SETUP_GO_ON;
  SrSession* session = NULL;
  SrStatus status = sr_session_new(NULL, &settings, &session, error);
  if (status == SR_OK) {
    status = sr_session_start(session, error);
  }
  if (status == SR_OK) {
    status = run(session, &listening, &wished, error);
  }
  const bool cancelled =
      wished == SR_SETUP_CANCEL ||
      (wished == SR_SETUP_ENOUGH && found->step == SR_SETUP_ROOM && !listening.done);
  if (status == SR_OK && cancelled) {
    found->outcome = SR_SETUP_CANCELLED;
  } else if (status == SR_OK && found->step == SR_SETUP_REEDS) {
    status = learn(session, found, error);
  } else if (status == SR_OK) {
    sr_setup_listening_finish(&listening);
  }
  sr_session_finish(session);
  return status;
}

static SrStatus
time_round_trip(const SrStreamSettings* const stream, const SrSetupWatch* const watch,
                SrSetupFound* const found, SrError* const error)
{
  double times_s[SR_SETUP_TIMES];
  SrSetupWatch asked = *watch;
  for (size_t i = 0; i < SR_SETUP_TIMES; ++i) {
    SrRoundTrip trip = {0};
    const SrStatus status = sr_round_trip_time(stream, ends, &asked, &trip, error);
    if (status != SR_OK) {
      return status;
    }
    const bool cancelled = ends(&asked);
    if (isfinite(trip.seconds) || !cancelled) {
      watch->progress(watch->context,
                      &(SrSetupProgress){.kind = SR_SETUP_TIMED, .timed = {i + 1, trip.seconds}});
    }
    if (cancelled) {
      found->outcome = SR_SETUP_CANCELLED;
      return SR_OK;
    }
    times_s[i] = trip.seconds;
    memcpy(found->input, trip.input, sizeof(found->input));
    memcpy(found->output, trip.output, sizeof(found->output));
  }
  sr_setup_round_trip_find(times_s, found);
  return SR_OK;
}

static SrSetupFound
nothing(const SrSetupStep step)
{
  return (SrSetupFound){.step = step,
                        .outcome = SR_SETUP_NOTHING,
                        .floor_dbfs = (double)NAN,
                        .loudest_dbfs = (double)NAN,
                        .round_trip_s = (double)NAN,
                        .round_trip_spread_s = (double)NAN,
                        .bellows = sr_bellows_default(),
                        .bellows_uncertainty = (double)NAN};
}

SrStatus
sr_setup_measure(const SrSetupStep step, const SrStreamSettings* const stream,
                 const SrSetup* const known, const SrSetupWatch* const watch,
                 SrSetupFound* const found, SrError* const error)
{
  SrError own = {0};
  *found = nothing(step);
  const SrStatus status = step == SR_SETUP_ROUND_TRIP ? time_round_trip(stream, watch, found, &own)
                                                      : listen(stream, known, watch, found, &own);
  if (status != SR_OK) {
    sr_setup_found_clear(found);
    *found = nothing(step);
    if (error) {
      *error = own;
    }
  }
  return status;
}

static void
take_over_round_trip(SrSetup* const setup, const SrSetupFound* const found)
{
  memcpy(setup->input, found->input, sizeof(setup->input));
  memcpy(setup->output, found->output, sizeof(setup->output));
  setup->round_trip_s = found->round_trip_steady ? found->round_trip_s : (double)NAN;
  setup->round_trip_spread_s = found->round_trip_spread_s;
}

bool
sr_setup_take_over(SrSetup* const setup, SrSetupFound* const found)
{
  const bool measured = found->outcome == SR_SETUP_MEASURED;
  if (found->outcome == SR_SETUP_CANCELLED || (!measured && found->step != SR_SETUP_ROUND_TRIP)) {
    return false;
  }
  switch (found->step) {
  case SR_SETUP_ROOM:
    setup->floor_dbfs = found->floor_dbfs;
    break;
  case SR_SETUP_ROUND_TRIP:
    take_over_round_trip(setup, found);
    break;
  case SR_SETUP_REEDS:
    sr_profile_del(setup->profile);
    setup->profile = found->profile;
    found->profile = NULL;
    break;
  case SR_SETUP_BELLOWS:
    setup->bellows_at_a4 = found->bellows.at_a4;
    setup->bellows_power = found->bellows.octave_power;
    setup->bellows_uncertainty = found->bellows_uncertainty;
    break;
  }
  return true;
}

void
sr_setup_found_clear(SrSetupFound* const found)
{
  sr_profile_del(found->profile);
  found->profile = NULL;
}
