// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session.h
   One sitting of practice, for any front end: commands in, events out.

   A session opens the devices, listens on a thread of its own, plays the click and the phrase,
   answers the low-note signal and keeps the take. It writes to no terminal, handles no signal of
   the system and knows no exit status. What happens is reported as events in one queue, with a
   descriptor that a main loop can watch.

   Threads: sr_session_send() may be called from any thread, but not beside or behind
   sr_session_finish(). No two of the other functions may run at the same time. Signals of the
   system are blocked on the session's own thread, faults apart. The plans of FFTW and PortAudio's
   devices are the whole program's: until SR_SESSION_SAVED or SR_SESSION_END was taken, have no
   second session, judge no recording, and list no devices elsewhere.
*/

#ifndef STEADYREED_SESSION_H
#define STEADYREED_SESSION_H

#include <steadyreed/free.h>
#include <steadyreed/judge.h>
#include <steadyreed/live.h>
#include <steadyreed/phrase.h>
#include <steadyreed/setup.h>
#include <steadyreed/status.h>
#include <steadyreed/stream.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/// What becomes of the recording.
typedef enum {
  SR_KEEP_ROUNDS,  ///< The rounds and two seconds around them
  SR_KEEP_ALL,     ///< All of it
  SR_KEEP_NOTHING, ///< Nothing is ever written
} SrKeeping;

/// How to practise; fill with sr_session_settings_default().
typedef struct {
  SrStreamSettings stream; ///< Devices; `with_output` is set by the session
  SrJudgeSettings judge;   ///< Its target is the tempo of the click, NAN for the phrase's own
  const SrSetup* setup;    ///< What `setup` measured, copied; NULL if nothing was measured
  bool silent;             ///< No click, no output at all
  bool click_bars;         ///< Click on the first pulse of a bar only
  double click_volume;     ///< 0 to 1: 0.15
  unsigned on_bars;        ///< Bars with the click, then bars without, and so on; 0 in either for
  unsigned off_bars;       ///< always with it
  unsigned rounds;         ///< Rounds until it ends; 0 for no end
  double silence_s;        ///< A silence of this length after a round (without a phrase: after a
                           ///< note) ends it, s: 20
  double first_wait_s;     ///< … and before anything was played one of this length, s: 300
  int signal_midi;         ///< Note that is a signal, see SrLiveSettings; -1 for none: C3
  SrKeeping keeping;       ///< Without a phrase nothing is kept, whatever this says
} SrSessionSettings;

/// The settings with their defaults.
SrSessionSettings sr_session_settings_default(void);

/// What a front end may ask for while the session runs.
typedef enum {
  SR_COMMAND_END,         ///< End it
  SR_COMMAND_PLAY_PHRASE, ///< Play the phrase to the player; not without output or phrase
  SR_COMMAND_TEMPO,       ///< Go on at `value` pulses a minute, with a new count-in
} SrCommandKind;

typedef struct {
  SrCommandKind kind;
  double value;
} SrCommand;

/// What is reported: first READY, then any number of the others, then STOPPED, SAVED if a take is
/// kept, and END. TROUBLE comes at most once before STOPPED, and once behind it if the take could
/// not be saved as it should.
typedef enum {
  SR_SESSION_READY,    ///< Listening has begun
  SR_SESSION_LEVEL,    ///< Ten times a second; one that nobody took is merged with the next
  SR_SESSION_COUNT_IN, ///< A click of the count-in is heard now
  SR_SESSION_NOTE,     ///< `note`: see SR_NEWS_NOTE
  SR_SESSION_AMENDED,  ///< `note`: see SR_NEWS_AMENDED
  SR_SESSION_AGAIN,    ///< See SR_NEWS_AGAIN
  SR_SESSION_ROUND,    ///< A round is over and judged
  SR_SESSION_NOTHING,  ///< What was begun is over, and was no round
  SR_SESSION_SIGNAL,   ///< The low note was held, and what it does; that it plays the phrase
                       ///< is PLAYING, some seconds later
  SR_SESSION_PLAYING,  ///< The phrase is played to the player from now on
  SR_SESSION_TEMPO,    ///< The tempo has changed
  SR_SESSION_DROPOUT,  ///< Samples were lost
  SR_SESSION_HEARD,    ///< A note, without a phrase
  SR_SESSION_AIR,      ///< A release of air, without a phrase
  SR_SESSION_STOPPED,  ///< Listening is over; now the take is saved
  SR_SESSION_SAVED,    ///< A take was kept
  SR_SESSION_TROUBLE,  ///< Something failed; listening, or the saving, is over
  SR_SESSION_END,      ///< The last event
} SrSessionEventKind;

/// What a held low note does.
typedef enum {
  SR_SIGNAL_NONE,   ///< Nothing, since there is no output to play on
  SR_SIGNAL_SLOWER, ///< The click goes on slower
  SR_SIGNAL_END,    ///< The session ends
} SrSignalMeaning;

/// Why a session ended: the first reason, even if trouble came behind it.
typedef enum {
  SR_END_COMMAND, ///< A front end asked for it
  SR_END_SIGNAL,  ///< The player did, by the low note
  SR_END_ROUNDS,  ///< All rounds were played
  SR_END_SILENCE, ///< Nothing was played for long
  SR_END_TROUBLE,
} SrEndReason;

/// One event. Give it back to sr_session_event_clear().
typedef struct {
  SrSessionEventKind kind;
  double at_s; ///< On the session's clock: seconds of samples taken in
  union {
    struct {
      const char* input;  ///< Names of the devices; "" without an output. Valid as long as the
      const char* output; ///< session
      double rate_hz;
      double bpm; ///< Of the click, or of the phrase where there is none; NAN without a phrase
      const char* path; ///< File the take is written to; NULL if nothing is. Valid as long as the
                        ///< session
    } ready;
    struct {
      float peak;       ///< Greatest sample since the last one, full scale 1
      double energy;    ///< Sum of the squares of all samples since the last one
      uint64_t samples; ///< How many these were
      bool overdriven;  ///< At least three of them in a row were at full scale
      bool idle;        ///< Nothing sounds, and no count-in is under way
    } level;
    struct {
      unsigned number; ///< From 1
      unsigned total;
    } count_in;
    struct {
      SrNoteVerdict verdict; ///< Times in s on the session's clock
      unsigned round;        ///< From 1
    } note;
    struct {
      SrAssessment* assessment; ///< Of this round alone
      unsigned number;          ///< From 1
      bool click_unknown; ///< The click sounds, but when it is heard is not known: nothing is said
                          ///< of ahead and behind
    } round;
    struct {
      SrSignalMeaning meaning;
      double held_s;
    } signal;
    double bpm; ///< PLAYING, TEMPO
    struct {
      uint64_t samples; ///< Lost so far, as far as known
    } dropout;
    SrFreeNote heard;
    SrFreeAir air;
    struct {
      const char* path; ///< Valid as long as the session
    } saved;
    struct {
      SrError error;
      bool saving; ///< Not listening failed, but the saving of the take
    } trouble;
    struct {
      SrEndReason reason;
      size_t rounds;       ///< Rounds played
      double reference_hz; ///< A4 of the instrument; NAN if it is not known
    } stopped;
  };
} SrSessionEvent;

/// Free what an event holds.
void sr_session_event_clear(SrSessionEvent* event);

typedef struct SrSessionImpl SrSession;

/**
   Open the devices.

   @param phrase   What is practised; must outlive the session, as all that `settings->judge` points
                   to. NULL to listen freely: every note
                   and its cuts are reported, nothing is judged, played or kept.
   @param settings NULL for the defaults.
   @param session  Receives it; NULL on error.
   @return SR_OK; SR_BAD_ARGUMENT (a tempo out of range); as sr_stream_new(), where SR_NOT_FOUND is
   a device; as sr_recording_new(), where there is no folder for takes SR_WRITE_FAILED; or
   SR_NO_MEMORY.
*/
SrStatus sr_session_new(const SrPhrase* phrase, const SrSessionSettings* settings,
                        SrSession** session, SrError* error);
/// Begin to listen. SR_OK, SR_DEVICE_TROUBLE or SR_NO_MEMORY. Once only.
SrStatus sr_session_start(SrSession* session, SrError* error);
/// Ask for something. It is done between two looks at the microphone, within 50 ms but while a
/// round is being judged; of several tempi at once the last counts. Does nothing once the session
/// is over.
void sr_session_send(SrSession* session, SrCommand command);
/// Take the next event; false if there is none now.
bool sr_session_next(SrSession* session, SrSessionEvent* event);
/// Wait for an event, at most `most_s` seconds (INFINITY for no end), less if a signal of the
/// system comes; whether there is one.
bool sr_session_wait(SrSession* session, double most_s);
/// Readable while there are events; for poll() and main loops, not to be read or closed.
int sr_session_descriptor(const SrSession* session);
/**
   What is known of the instrument; a copy, NULL if nothing is or without memory. Only once
   SR_SESSION_END was taken.

   @param whole Learn it from all that was heard without a phrase, see sr_free_learn().
*/
SrProfile* sr_session_profile(const SrSession* session, bool whole);
/// End it if it goes on, wait until its take is saved, and free it with the events not taken. NULL
/// does nothing.
void sr_session_finish(SrSession* session);

/// How long sound takes from the output to the microphone.
typedef struct {
  double seconds; ///< NAN if it was not measured
  char input[SR_DEVICE_NAME_SIZE];
  char output[SR_DEVICE_NAME_SIZE];
} SrRoundTrip;

/**
   Measure once how long sound takes from the output to the microphone: the devices are opened, four
   ticks are played and looked for.

   @param stream    Devices; an output is opened whatever they say.
   @param stop      Asked ten times a second; true gives up. NULL for never.
   @param context   Given to `stop`.
   @param round_trip Receives the time and the names of the devices; its `seconds` is NAN if the
                    ticks were not found beyond doubt.
   @return SR_OK, also if they were not found or it was given up; as sr_stream_new(); SR_NO_MEMORY.
*/
SrStatus sr_round_trip_time(const SrStreamSettings* stream, bool (*stop)(void*), void* context,
                            SrRoundTrip* round_trip, SrError* error);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_SESSION_H
