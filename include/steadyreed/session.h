// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session.h
   One practice session, for any front end: commands in, events out.

   A session opens the devices, listens on a thread of its own, plays the click and the phrase,
   answers the low-note signal and keeps the take. It writes to no terminal, handles no system
   signals and knows no exit status. Everything is reported as events in one queue, with a
   descriptor that a main loop can poll.

   What the front end speaks must not be judged: it asks before it does, see SR_COMMAND_HUSH_BEGIN.
   A reed is looked for all the while, and what is played is judged from its first note, though the
   voice may still sound.

   No hand is needed: the click may wait for a ready note or a delay, the low note commands, a pedal
   sends SR_COMMAND_COUNT_IN.

   The ready note is `ready_midi` in any octave, alone, held steadily for 0.5 s but not as long as
   the low-note signal (2 s), then released, with silence after it. Any octave, since whichever is
   under a finger will do and an octave cannot be heard wrongly. The length tells it from the
   low-note signal, which may be the same note. The silence, 0.4 s, tells it from the first note of
   the phrase, which the next note follows; if a rest is written there, the silence must be longer
   than that rest.

   A player who just begins to play does not wait: that round is played without the click, which
   does not begin in the middle of it, and is judged by its own tempo. Afterwards the click waits
   again.

   Threads: sr_session_send(), sr_session_play(), sr_session_copy() and sr_session_copy_round() may
   be called from any thread, but not during or after sr_session_finish(). No two of the other
   functions may run at the same time. All signals but faults are blocked on the session's own
   thread. PortAudio's devices are global to the program: until SR_SESSION_SAVED or SR_SESSION_END
   has been taken, do not run a second session or list devices.
*/

#ifndef STEADYREED_SESSION_H
#define STEADYREED_SESSION_H

#include <steadyreed/declarations.h>
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

SR_BEGIN_DECLARATIONS

/// An input whose samples stay below this is dead: one step at 16 bits is 3e-5 (common practice, no
/// source).
#define SR_DEAD_LEVEL 4e-5f

/// A round that the end of the session breaks off after this many notes, or more, is kept with the
/// take as an unfinished one; fewer may be a note tried.
#define SR_UNFINISHED_NOTES 4u

/// Which part of the recording to keep.
typedef enum {
  SR_KEEP_ROUNDS,  ///< The rounds and two seconds around them, an unfinished last one too
  SR_KEEP_ALL,     ///< All of it
  SR_KEEP_NOTHING, ///< Nothing is ever written
} SrKeeping;

/// Practice settings; fill with sr_session_settings_default().
typedef struct {
  SrStreamSettings stream; ///< Devices; `with_output` is set by the session
  SrJudgeSettings judge;   ///< Its target is the tempo of the click; NAN for the phrase's own
  const SrSetup* setup;    ///< Measurements made by `setup`, copied; NULL if there are none
  bool silent;             ///< No click, no output at all
  bool click_bars;         ///< Click on the first pulse of a bar only
  double click_volume;     ///< 0 to 1, of the click and the tones: 0.15
  bool tones;              ///< A tone after each round, see sr_sound_verdict(); not with `silent`
  unsigned on_bars;        ///< Bars with the click,
  unsigned off_bars;       ///< then bars without, and so on; 0 in either for a click in every bar
  unsigned rounds;         ///< Rounds until it ends; 0 for no limit
  double silence_s;    ///< A silence of this length after a round (without a phrase: after a note)
                       ///< ends the session, s: 20
  double first_wait_s; ///< … and before anything was played, s: 300
  int signal_midi;     ///< Signal note, see SrLiveSettings; -1 for none: C3
  SrKeeping keeping;   ///< Ignored without a phrase: nothing is kept
  int ready_midi;      ///< The click waits for this note, in any octave; -1 for none: -1
  double start_wait_s; ///< The click waits until nothing was played for this long, or for the ready
                       ///< note if that comes first, s; 0 for no delay: 0. Silence does not end the
                       ///< session meanwhile
  bool count_in_each;  ///< After each round the click stops, waits as at the start, and counts in
                       ///< again; with neither ready note nor delay it waits for 2 s
  bool pitch;          ///< Report SR_SESSION_PITCH; only without a phrase: false
} SrSessionSettings;

/// The settings with their defaults.
SrSessionSettings sr_session_settings_default(void);

/// What a front end may ask for while the session runs.
typedef enum {
  SR_COMMAND_END,         ///< End it
  SR_COMMAND_PLAY_PHRASE, ///< Play the phrase to the player; does nothing while it is played
  SR_COMMAND_TEMPO,       ///< Continue at `value` pulses a minute, with a new count-in
  SR_COMMAND_HUSH_BEGIN,  ///< The front end wants to speak. Answered by SR_SESSION_HUSH within two
                          ///< seconds: if it may, the microphone is ignored from then on
  SR_COMMAND_HUSH_END,    ///< It has spoken: the microphone counts again after 0.4 s. A hush ends
                          ///< by itself after 30 s
  SR_COMMAND_PLAY_STOP,   ///< Stop what is played to the player
  SR_COMMAND_COUNT_IN,    ///< Count in now, waiting for nothing: stops what is played, and a click
                          ///< that is past its count-in. Does nothing while the click is off
  SR_COMMAND_CLICK,       ///< `value` 0: no click from now on; else the click again, counted in.
                          ///< Does nothing with `silent`
  SR_COMMAND_VOLUME,      ///< The volume of click and tones is `value`, 0 to 1, from the next on
} SrCommandKind;

typedef struct {
  SrCommandKind kind;
  double value;
} SrCommand;

/// Events in order: first READY, then any number of the others, then STOPPED, SAVED if a take is
/// kept, and END. TROUBLE comes at most once before STOPPED, and once after it if the take could
/// not be saved properly. LEVEL, PITCH, SIGNAL_HELD and WAITING are merged with the next of their
/// kind if nobody took them and nothing but these came between.
typedef enum {
  SR_SESSION_READY,    ///< Listening has begun
  SR_SESSION_LEVEL,    ///< Ten times a second
  SR_SESSION_COUNT_IN, ///< A click of the count-in sounds now
  SR_SESSION_NOTE,     ///< `note`: see SR_NEWS_NOTE
  SR_SESSION_AMENDED,  ///< `note`: see SR_NEWS_AMENDED
  SR_SESSION_AGAIN,    ///< See SR_NEWS_AGAIN
  SR_SESSION_ROUND,    ///< A round is over and judged
  SR_SESSION_NOTHING,  ///< The playing that had begun is over and was not a round
  SR_SESSION_SIGNAL,   ///< The low note was held, with its effect; if it plays the phrase, PLAYING
                       ///< follows some seconds later
  SR_SESSION_PLAYING,  ///< Playing the phrase, or samples, to the player begins
  SR_SESSION_TEMPO,    ///< The tempo has changed
  SR_SESSION_HUSH,     ///< Whether the front end may sound now; if it sounds and may not any more,
                       ///< since the player plays, or a count-in or the phrase begins, it must stop
                       ///< at once
  SR_SESSION_DROPOUT,  ///< Samples were lost
  SR_SESSION_HEARD,    ///< A note; only without a phrase
  SR_SESSION_AIR,      ///< An air release; only without a phrase
  SR_SESSION_STOPPED,  ///< Listening is over; the take is being saved
  SR_SESSION_SAVED,    ///< A take was kept
  SR_SESSION_TROUBLE,  ///< Something failed; listening or saving has ended
  SR_SESSION_END,      ///< The last event
  SR_SESSION_PLAYED,   ///< What was played to the player is over; or, without PLAYING before it,
                       ///< what was asked for cannot be played
  SR_SESSION_WAITING,  ///< The click waits: at the beginning, each second while a delay runs, and
                       ///< once more when it waits no longer
  SR_SESSION_SIGNAL_HELD, ///< The low note is being held: ten times a second, and once when it is
                          ///< released
  SR_SESSION_PITCH, ///< A note sounds: 20 times a second; only with `pitch` and without a phrase
} SrSessionEventKind;

/// Effect of a held low note.
typedef enum {
  SR_SIGNAL_NONE,   ///< None, since there is no output to play on
  SR_SIGNAL_SLOWER, ///< The click continues at a slower tempo
  SR_SIGNAL_END,    ///< The session ends
  // Only in SR_SESSION_SIGNAL_HELD
  SR_SIGNAL_SHORT, ///< None: it was not held for long enough
  SR_SIGNAL_PLAY,  ///< The phrase is played, unless another signal or a round follows
} SrSignalMeaning;

/// What is played to the player.
typedef enum {
  SR_PLAYING_PHRASE,
  SR_PLAYING_SAMPLES, ///< Those of sr_session_play()
} SrPlayingKind;

/// How playing to the player came out.
typedef enum {
  SR_PLAYED_WHOLE,   ///< It was played to its end
  SR_PLAYED_STOPPED, ///< A command, other playing, or the end of the session stopped it
  SR_PLAYED_NOTHING, ///< It never began: there is no output or no phrase, or not enough memory
} SrPlayedOutcome;

/// Why a session ended: the first reason, even if trouble followed.
typedef enum {
  SR_END_COMMAND, ///< A front end asked for it
  SR_END_SIGNAL,  ///< The player held the low note
  SR_END_ROUNDS,  ///< All rounds were played
  SR_END_SILENCE, ///< Nothing was played for too long
  SR_END_TROUBLE,
} SrEndReason;

/// One event. Pass it to sr_session_event_clear() afterwards.
typedef struct {
  SrSessionEventKind kind;
  double at_s; ///< On the session's clock: seconds of input samples
  union {
    struct {
      const char* input;  ///< Names of the devices; "" without an output. Valid as long as
      const char* output; ///< the session
      double rate_hz;
      double bpm; ///< Of the click, or of the phrase if there is no click; NAN without a phrase
      const char* path; ///< File of the take; NULL for none. Valid as long as the session
    } ready;
    struct {
      float peak;       ///< Largest absolute sample since the last event, full scale 1
      double energy;    ///< Sum of squared samples since the last event
      uint64_t samples; ///< Number of these samples
      bool overdriven;  ///< At least three samples in a row were at full scale
      bool idle;        ///< Nothing sounds, and no count-in is in progress
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
      bool click_unknown; ///< The click sounds, but when the player hears it is unknown: nothing is
                          ///< said of ahead and behind
    } round;
    struct {
      unsigned notes; ///< The end of the session broke off an unfinished round, which the take
                      ///< keeps, after this many notes of the phrase; 0 if nothing is kept of it
      double start_s; ///< Of its first note; NAN if nothing is kept
      double end_s;   ///< When its last note still sounded
    } nothing;
    struct {
      SrSignalMeaning meaning;
      double held_s;
    } signal;
    double bpm; ///< TEMPO
    struct {
      double bpm; ///< Of the phrase; NAN for samples
      SrPlayingKind kind;
      double length_s; ///< All of it
    } playing;
    struct {
      SrPlayingKind kind;
      SrPlayedOutcome outcome;
    } played;
    struct {
      bool over;     ///< It waits no longer: the count-in begins, or there will be none
      int midi;      ///< The ready note; -1 for none
      double left_s; ///< The count-in begins after this; NAN if only on a ready note. It grows
                     ///< again when something is played
    } waiting;
    struct {
      double held_s;           ///< So far; 0 once it is released, or no longer alone
      SrSignalMeaning meaning; ///< … if it were released now
    } signal_held;
    struct {
      double frequency_hz; ///< Of the last 72 ms; median of three
      int midi;            ///< The nearest note,
      double cents;        ///< and how far it is over it, -50 to 50
      double reference_hz; ///< A4 of the equal temperament in which that is: of the profile of
                           ///< `setup`, or 440
      double level_db;     ///< dBFS, RMS
    } pitch;
    struct {
      bool granted; ///< It may sound
    } hush;
    struct {
      uint64_t samples; ///< Lost since the session began, with rests, as far as known
      double seconds;   ///< The same
    } dropout;
    SrFreeNote heard;
    SrFreeAir air;
    struct {
      const char* path; ///< Valid as long as the session
    } saved;
    struct {
      SrError error;
      bool saving; ///< Saving the take failed, not listening
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

   @param phrase   The phrase to practise; it and everything `settings->judge` points to must
                   outlive the session. NULL to listen freely: every note and its cuts are reported,
                   nothing is judged, played or kept.
   @param settings NULL for the defaults.
   @param session  Receives it; NULL on error.
   @return SR_OK; SR_BAD_ARGUMENT (a tempo out of range); as sr_stream_new(), where SR_NOT_FOUND is
           a device; as sr_recording_new(), with SR_WRITE_FAILED if there is no folder for takes; or
           SR_NO_MEMORY.
*/
SrStatus sr_session_new(const SrPhrase* phrase, const SrSessionSettings* settings,
                        SrSession** session, SrError* error);
/// Start listening. SR_OK, SR_DEVICE_TROUBLE or SR_NO_MEMORY. Only once.
SrStatus sr_session_start(SrSession* session, SrError* error);
/// Send a command. It is carried out between two chunks of input, within 50 ms unless a round is
/// being judged; of several tempo changes only the last counts. Does nothing once the session is
/// over.
void sr_session_send(SrSession* session, SrCommand command);
/**
   Play samples to the player, in turn with the commands sent. The click stops, the input is not
   judged, and when they are over the click is counted in again, unless it waits.
   Reported by SR_SESSION_PLAYING and, in every case, SR_SESSION_PLAYED. Does nothing once the
   session is over.

   @param samples From malloc(), mono, full scale 1, at the rate of `ready.rate_hz`; not finite ones
                  are silence. Freed by the session, also on error.
   @param count   Number of samples, at least 1.
   @return SR_OK; SR_BAD_ARGUMENT (no samples); SR_UNSUPPORTED (without an output: with `silent`, or
           without a phrase; `ready.output` is "" then); SR_TOO_LARGE (too many commands are
   waiting). On an error nothing is reported.
*/
SrStatus sr_session_play(SrSession* session, float* samples, size_t count, SrError* error);

/// Most memory for the sound of rounds, bytes of two for each sample: 11 minutes at 48 kHz.
#define SR_SESSION_SOUND_BYTES 67108864u

/**
   Copy what was heard between two times. The rounds of the session are in memory with 1.5 s around
   them, whatever `keeping` is, and the last 10 s; beyond SR_SESSION_SOUND_BYTES the oldest are
   dropped first. It is what the judge heard: the microphone with the click removed and, where the
   session itself sounded, silence; 16 bits; what was lost is silence too. May be called until
   sr_session_finish(), also after SR_SESSION_END.

   @param from_s, to_s On the session's clock; a later end than what was heard is cut to that.
   @param samples Receives an array at `ready.rate_hz`, full scale 1; free() it. NULL on error.
   @param count   Receives its size, over 0.
   @return SR_OK; SR_BAD_ARGUMENT (no such stretch); SR_NOT_FOUND (not, or no longer, in memory;
   nothing is without a phrase); SR_NO_MEMORY.
*/
SrStatus sr_session_copy(const SrSession* session, double from_s, double to_s, float** samples,
                         size_t* count, SrError* error);
/**
   Copy a round, with 0.3 s before it and 0.7 s after it.

   @param round   As in SR_SESSION_ROUND, from 1.
   @param start_s Receives the time of the first sample on the session's clock; may be NULL.
   @return As sr_session_copy(); SR_NOT_FOUND also for a round that was not played.
*/
SrStatus sr_session_copy_round(const SrSession* session, unsigned round, float** samples,
                               size_t* count, double* start_s, SrError* error);

/// Take the next event; false if there is none now.
bool sr_session_next(SrSession* session, SrSessionEvent* event);
/// Wait for an event, at most `most_s` seconds (INFINITY for no limit), less if a system signal
/// arrives; whether there is one.
bool sr_session_wait(SrSession* session, double most_s);
/**
   Descriptor that is readable while there are events, for poll() and main loops; do not read or
   close it.
*/
int sr_session_descriptor(const SrSession* session);
/**
   Copy of what is known of the instrument; NULL if nothing is, or without memory. Only once
   SR_SESSION_END has been taken.

   @param whole Learn it from everything heard without a phrase, see sr_free_learn().
*/
SrProfile* sr_session_profile(const SrSession* session, bool whole);
/**
   End the session if it is running, wait until its take is saved, and free it with any events not
   taken. NULL does nothing.

   The wait has no limit of its own: a round that goes on is judged first, devices that do not close
   are left after a second, and the take takes as long as the disk. A front end that must not wait
   sends SR_COMMAND_END and calls this once SR_SESSION_END has been taken, which every session
   reports, even without memory.
*/
void sr_session_finish(SrSession* session);

/// Round trip from output to microphone.
typedef struct {
  double seconds; ///< NAN if it was not measured
  char input[SR_DEVICE_NAME_SIZE];
  char output[SR_DEVICE_NAME_SIZE];
} SrRoundTrip;

/**
   Measure the round trip from output to microphone once: open the devices, play four ticks and look
   for them.

   @param stream    Devices; an output is opened in any case.
   @param stop      Called ten times a second; true cancels. NULL for never.
   @param context   Passed to `stop`.
   @param round_trip Receives the time and the names of the devices; its `seconds` is NAN if the
                     ticks were not found with certainty.
   @return SR_OK, also if they were not found or it was cancelled; as sr_stream_new(); SR_NO_MEMORY.
*/
SrStatus sr_round_trip_time(const SrStreamSettings* stream, bool (*stop)(void*), void* context,
                            SrRoundTrip* round_trip, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_SESSION_H
