// SPDX-License-Identifier: GPL-3.0-or-later

// What a session is made of. All but the queues belongs to the session's own thread while it runs.

#ifndef SR_SESSION_SITTING_H
#define SR_SESSION_SITTING_H

#include "event_queue.h"

#include <steadyreed/click.h>
#include <steadyreed/losses.h>
#include <steadyreed/recording.h>
#include <steadyreed/session.h>
#include <steadyreed/sound.h>
#include <steadyreed/take_note.h>

#include <pthread.h>

/// Samples taken from the stream at once.
#define SR_SESSION_CHUNK 1024u
/// Samples of a click's sound at most.
#define SR_CLICK_SAMPLES 12000u
/// Commands that are not done yet, at most; more are dropped.
#define SR_MOST_COMMANDS 16u

/// The click: what was asked for, what was sent, and what of it was heard.
typedef struct {
  float sound[2][SR_CLICK_SAMPLES]; ///< Plain, accented
  size_t sound_count[2];
  double bpm;
  double pulses;  ///< From click to click
  double period;  ///< Samples from click to click
  bool running;   ///< Sent
  bool began;     ///< … and its first one has left
  uint64_t frame; ///< … then
  unsigned count_in;
  unsigned counted;          ///< Clicks of the count-in that were reported
  unsigned silences_counted; ///< Of this click
  bool tempo_changed;        ///< Since the session began
  bool moved;                ///< It began again, elsewhere
  double round_trip_s;       ///< As heard last; NAN if it never was
  SrLosses silences;         ///< When it was silent while it went on
  SrClickRemover* remover; ///< Takes it out of what comes in; NULL while there is none to take out
} SrClickTrack;

/// When a round was played, s.
typedef struct {
  double start_s;
  double end_s;
} SrPlayedRound;

/// The take being written.
typedef struct {
  SrRecording* recording; ///< NULL if there is none
  char* path;
  char note[SR_TAKE_NOTE_SIZE]; ///< In the file by now
  double note_s;                ///< When it was looked at last
  SrPlayedRound* rounds;
  bool forgot_round; ///< There was no memory to remember one
} SrTake;

/// The level since it was reported last.
typedef struct {
  float peak;
  double energy;
  uint64_t samples;
  unsigned full; ///< Samples at full scale up to now, in a row
  bool overdriven;
  double reported_s;
} SrLevel;

struct SrSessionImpl {
  const SrPhrase* phrase;
  SrSessionSettings settings;
  SrSetup setup; ///< Without its profile
  SrStream* stream;
  char input[SR_DEVICE_NAME_SIZE]; ///< Names of its devices
  char output[SR_DEVICE_NAME_SIZE];
  double rate_hz;
  SrLive* live;
  SrFree* listener; ///< Without a phrase
  uint64_t read;    ///< Samples from the stream
  SrLosses losses;  ///< What of them was lost
  SrClickTrack click;
  SrTake take;
  SrLevel level;
  SrSound* phrase_sound; ///< Being played to the player
  double deaf_until_s;
  double signal_s;      ///< When the last signal was given; NAN if it was answered
  size_t signal_rounds; ///< Rounds played by then
  size_t rounds;        ///< Played
  double last_note_s;   ///< Without a phrase: when a reed sounded last
  bool any_note;
  uint64_t overruns; ///< Reported so far
  bool over;
  SrEndReason reason;
  bool out_of_memory; ///< An event could not be reported
  SrStatus trouble;
  SrError error;

  SrEventQueue events;
  pthread_mutex_t command_lock;
  SrCommand commands[SR_MOST_COMMANDS];
  size_t command_count;
  pthread_t thread;
  bool started;
  bool ended; ///< SR_SESSION_END was taken
};

/// Seconds of samples taken in.
double sr_session_now_s(const SrSession* session);
/// Report an event; its time is set.
void sr_session_report(SrSession* session, SrSessionEvent event);
/// The session is over, for a reason, if it was not before.
void sr_session_end(SrSession* session, SrEndReason reason);

// click_track.c

/// Whether a tempo can be clicked, pulses a minute.
bool sr_click_tempo_fits(double bpm);
/// Make the sounds of the click.
void sr_click_prepare(SrSession* session);
/// Begin to click. Where too many that were stopped still sound it does not, and may later.
void sr_click_start(SrSession* session);
/// No more clicks, and nothing more to take out.
void sr_click_stop(SrSession* session);
/// Go on at another tempo, with a count-in if there is a click.
void sr_click_change_tempo(SrSession* session, double bpm);
/// Once the first click has left: take its like out of what comes in from here on.
SrStatus sr_click_begin_removing(SrSession* session);
/// When the player heard the first click, s; NAN if that is not known.
double sr_click_heard_s(const SrSession* session);
/// Report the count-in, and tell the judge what is known of the click.
void sr_click_follow(SrSession* session);

// low_note.c

/// The low note was held.
void sr_low_note_take(SrSession* session, const SrNews* news);
/// Do what it asks for, once it is clear that no second one follows.
void sr_low_note_answer(SrSession* session);
/// Play the phrase to the player.
void sr_phrase_play(SrSession* session);
/// … as far as there is room now.
void sr_phrase_feed(SrSession* session);

// keeping.c

/// Begin the take.
SrStatus sr_keeping_begin(SrSession* session);
/// Remember when a round was played.
void sr_keeping_round(SrSession* session, const SrRound* round);
/// Have the take's note say by now what it would at the end, in case there is none.
void sr_keeping_renew_note(SrSession* session);
/// Whether the take stays.
bool sr_keeping_stays(const SrSession* session);
/// Finish the take, cut it to its rounds, and report what became of it.
void sr_keeping_finish(SrSession* session);

// listening.c

/// One turn: take what has come in, report what is new.
SrStatus sr_listening_turn(SrSession* session);
/// What sounds ends here; report the rest.
void sr_listening_finish(SrSession* session);

#endif // SR_SESSION_SITTING_H
