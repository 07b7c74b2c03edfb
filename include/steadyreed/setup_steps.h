// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file setup_steps.h
   The steps of `setup` for any front end. Each opens the devices, measures one thing, reports how
   it goes, and closes them. It writes nothing, neither to a terminal nor to a file.

   sr_setup_measure() blocks its thread for as long as the player takes; progress is reported on the
   same thread. PortAudio's devices are global to the program: no other session, measurement or list
   of devices at the same time.
*/

#ifndef STEADYREED_SETUP_STEPS_H
#define STEADYREED_SETUP_STEPS_H

#include <steadyreed/declarations.h>
#include <steadyreed/free.h>
#include <steadyreed/plan.h>
#include <steadyreed/setup.h>
#include <steadyreed/status.h>
#include <steadyreed/stream.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// What a step measures, in the order in which a player does them.
typedef enum {
  SR_SETUP_ROOM,       ///< The noise of the room, then the loudest playing
  SR_SETUP_ROUND_TRIP, ///< From output to microphone; ticks are played, which may be loud
  SR_SETUP_REEDS,      ///< The pitch and sound of each reed
  SR_SETUP_BELLOWS,    ///< Whole strokes of the bellows
} SrSetupStep;
#define SR_SETUP_STEPS 4u

/// Time for listening to the room, and then to the player, s.
#define SR_SETUP_ROOM_S 3.0
#define SR_SETUP_LOUD_S 5.0
/// Number of round-trip measurements.
#define SR_SETUP_TIMES 3u
/// A silence of this length ends listening to the reeds or the bellows, s; before the first note,
/// SR_SETUP_FIRST_S.
#define SR_SETUP_SILENCE_S 12.0
#define SR_SETUP_FIRST_S 60.0
/// A shorter note, s, is not a whole stroke of the bellows.
#define SR_SETUP_STROKE_S 3.0
/// After this many strokes the bellows are measured.
#define SR_SETUP_STROKES 12u

/// How loud the loudest playing is.
typedef enum {
  SR_SETUP_LOUD_GOOD,
  SR_SETUP_OVERDRIVEN,
  SR_SETUP_NOT_HEARD, ///< Hardly louder than the room: perhaps another microphone
  SR_SETUP_SOFT,
} SrSetupLoudness;

typedef enum {
  SR_SETUP_OPENED,  ///< It listens; not reported by SR_SETUP_ROUND_TRIP
  SR_SETUP_LEVEL,   ///< Ten times a second; not reported by SR_SETUP_ROUND_TRIP
  SR_SETUP_DEAD,    ///< Room: the microphone gives nothing at all; this ends the step
  SR_SETUP_FLOOR,   ///< Room: the noise is known, now the player is to play loudly
  SR_SETUP_LOUDEST, ///< Room: the loudest playing is known
  SR_SETUP_TIMED,   ///< Round trip: one of the measurements
  SR_SETUP_REED,    ///< Reeds: `note`
  SR_SETUP_STROKE,  ///< Bellows: `note`, long enough for a whole stroke
} SrSetupProgressKind;

/// How a step goes.
typedef struct {
  SrSetupProgressKind kind;
  union {
    const char* input; ///< OPENED, DEAD: name of the microphone
    struct {
      double at_s;     ///< Since listening began
      float peak;      ///< Largest absolute sample since the last report, full scale 1
      bool overdriven; ///< At least three samples in a row were at full scale
    } level;
    struct {
      double dbfs; ///< RMS of the room's noise
      bool high;   ///< Too noisy
    } floor;
    struct {
      double dbfs; ///< Largest absolute sample
      SrSetupLoudness loudness;
    } loudest;
    struct {
      size_t number;  ///< From 1
      double seconds; ///< NAN if it was not heard
    } timed;
    SrFreeNote note;
  };
} SrSetupProgress;

/// What the front end wants of a step that goes on.
typedef enum {
  SR_SETUP_GO_ON,
  SR_SETUP_ENOUGH, ///< End it with what was heard: reeds and bellows; the others are cancelled
  SR_SETUP_CANCEL, ///< End it without a result
} SrSetupWish;

/// Who watches a step.
typedef struct {
  void (*progress)(void* context, const SrSetupProgress* progress);
  SrSetupWish (*wish)(void* context); ///< Asked at least ten times a second
  void* context;
} SrSetupWatch;

typedef enum {
  SR_SETUP_MEASURED,
  SR_SETUP_NOTHING,   ///< Nothing was heard that could be measured
  SR_SETUP_CANCELLED, ///< As wished; nothing of it counts
} SrSetupOutcome;

/// What a step found. Clear it with sr_setup_found_clear().
typedef struct {
  SrSetupStep step;
  SrSetupOutcome outcome;
  double floor_dbfs; ///< Room; NAN if it was not measured
  bool floor_high;
  double loudest_dbfs; ///< Room; NAN if it was not measured
  SrSetupLoudness loudness;
  char input[SR_DEVICE_NAME_SIZE]; ///< Round trip: with these devices
  char output[SR_DEVICE_NAME_SIZE];
  double round_trip_s;        ///< Median of all; NAN if one was not heard
  double round_trip_spread_s; ///< Range of all; NAN if one was not heard
  bool round_trip_steady;     ///< It differs so little that ahead and behind can be judged
  SrProfile* profile;         ///< Reeds; NULL without any
  size_t notes;               ///< Reeds: notes heard; bellows: strokes
  SrBellows bellows;          ///< Bellows
  double bellows_uncertainty; ///< As in SrSetup
} SrSetupFound;

/**
   Measure one thing.

   @param step   What.
   @param stream Devices; `with_output` is ignored.
   @param known  What is known already; only SR_SETUP_BELLOWS uses it, and its profile. NULL for
                 nothing.
   @param watch  Its functions are called on this thread.
   @param found  Receives what was found; empty on error.
   @return SR_OK, also if it found nothing or was cancelled; as sr_session_new() without a phrase or
           sr_round_trip_time(), where SR_NOT_FOUND is a device; SR_DEVICE_TROUBLE (the device is
           gone) or SR_NO_MEMORY.
*/
SrStatus sr_setup_measure(SrSetupStep step, const SrStreamSettings* stream, const SrSetup* known,
                          const SrSetupWatch* watch, SrSetupFound* found, SrError* error);
/**
   Take over what was found, if it counts. A round trip that was not heard, or not steady, replaces
   an earlier one: it is then unknown. Otherwise what was not found stays as it was.

   @param found Its profile is moved to `setup`.
   @return Whether anything was changed.
*/
bool sr_setup_take_over(SrSetup* setup, SrSetupFound* found);
/// Free what it holds.
void sr_setup_found_clear(SrSetupFound* found);

SR_END_DECLARATIONS

#endif // STEADYREED_SETUP_STEPS_H
