// SPDX-License-Identifier: GPL-3.0-or-later

// What follows a phrase while it is played: its state, and what its parts do for one another. All
// of it belongs to the thread that pushes samples.

#ifndef SR_LIVE_FOLLOWING_H
#define SR_LIVE_FOLLOWING_H

#include "past.h"
#include "relisten.h"
#include "window.h"

#include <steadyreed/listen.h>
#include <steadyreed/live.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// What was told of a note.
typedef struct {
  bool told;
  bool left; ///< The player has gone back since, here or further on
  bool left_out;
  double at_s;    ///< When
  double sound_s; ///< When its own sound began
  SrNoteStatus status;
  int heard_midi;
  SrAnswer joined;
  bool has_cut;
  SrCutVerdict cut;
} Told;

struct SrLiveImpl {
  const SrPhrase* phrase;
  SrLiveSettings settings;
  SrSilence silences[SR_LIVE_SILENCES]; ///< Of the click
  SrExpected expected;
  double longest_rest; ///< Between two notes, pulses
  SrProfile* profile;
  SrProfile* known; ///< The one given; NULL if none was
  double read_s;    ///< Of reeds heard, when that was last decided
  SrSurvey* survey;
  SrPast* past;
  SrWindow* window;
  SrFollower* follower;
  float* step; ///< Samples of the step that is not full
  size_t step_size;
  size_t step_fill;
  uint64_t pushed;
  // What was seen at the last look
  double looked_s; ///< So far had been heard
  SrOpenSound open[SR_MOST_OPEN];
  size_t open_count;
  uint64_t ended;
  double last_sound_s;
  double last_note_s; ///< When something sounded that is a note beyond doubt
  double learn_at_s;  ///< Of reeds heard, when to learn the instrument next
  double learnt_s;    ///< … when that was done last
  bool relisten;      ///< The ear is older than the profile
  bool round_over;    ///< A round is just over
  bool judge_anyway;  ///< The ear was exchanged, or a round has ended, since the last look
  bool waits;         ///< Something is not told yet since it has only begun
  double since_s;     ///< Where the round may begin
  double follow_s;    ///< … as far as it is followed: what was tried before is left out
  // The round
  unsigned round;
  SrReading reading;
  bool decided;         ///< A round explained more in a reading that is not the likelier one
  double round_start_s; ///< NAN if none has begun
  size_t reached;
  double played_bpm;
  double last_end_s; ///< Of its last note, as far as known
  double loudest_db; ///< Of what sounded since it began
  float sample;      ///< The last one
  float power;       ///< Of all that is heard now, rumble left out
  float most_power;  ///< … and its recent most
  float room_power;  ///< … and of the room while nothing sounds; 0 while that is not known
  float loudest;     ///< Largest sample since the last one ended
  uint64_t loudest_at;
  Told* told;
  SrRelisten again; ///< Hears it a second time
  SrReading again_reading;
  double again_start_s;
  double again_since_s;
  // The signal
  uint64_t windows;      ///< In which it was looked for
  double signal_onset_s; ///< Of the one that sounds; NAN if none does
  double signal_last_s;  ///< When it was last heard alone
  SrNews* news;
  size_t news_count;
  size_t news_room;
  bool lost;
  bool signal_in_round; ///< The signal began as a note of a round
};

// live.c

double sr_follow_now_s(const SrLive* l);
// learning.c

/// A survey of what is heard, which watches for the signal if there is one.
SrStatus sr_follow_new_survey(const SrLive* l, SrSurvey** survey, SrError* error);
void sr_follow_read_as(SrLive* l, SrReading reading);
/// Begin with an ear that has a profile, listens from `run_up_s` before the round on, and tells
/// what began at `since_s` or later.
SrStatus sr_follow_begin_again(const SrLive* l, const SrProfile* profile, double since_s,
                               double run_up_s, SrRelisten* again, SrError* error);
/// The instrument as all that has been heard tells it, in a reading.
SrStatus sr_follow_profile_as(const SrLive* l, SrReading reading, SrProfile** profile,
                              SrError* error);
/// Doubled or not, as the pitches tell.
SrReading sr_follow_likely_reading(const SrLive* l);
/// Learn the instrument from all that has been heard.
SrStatus sr_follow_learn(SrLive* l, SrError* error);
/// … if so much more has been heard of it that it may make a difference.
SrStatus sr_follow_learn_more(SrLive* l, SrError* error);
/// Go on with an ear that knows the instrument better.
SrStatus sr_follow_change_ear(SrLive* l, SrError* error);
/// Learn an instrument that was not known before, while the first round goes on.
SrStatus sr_follow_learn_early(SrLive* l, SrError* error);
// looking.c

/// Whether a sound has let go beyond doubt.
bool sr_follow_has_let_go(const SrOpenSound* open);
/// The note, of the last two, that a sound was told as; the count of notes if it was not.
size_t sr_follow_told_as(const SrLive* l, const SrEvent* sound);
/// Look at what sounds, after each step.
SrStatus sr_follow_look(SrLive* l, SrError* error);
// so_far.c

/// The longest rest between two notes of the phrase, s.
double sr_follow_longest_rest_s(const SrLive* l);
/// How long the note that is due next lasts, s.
double sr_follow_next_note_s(const SrLive* l);
/// Judge what has been played of this round.
SrStatus sr_follow_judge_so_far(SrLive* l, SrError* error);
// reporting.c

SrNews* sr_follow_tell(SrLive* l, SrNewsKind kind);
/// How far a frequency is over that of a reed, as far as that is known, cents.
double sr_follow_cents_over_reed(const SrLive* l, int midi, double frequency_hz);
/// Whether a sound is over the pitch of its reed, if that is known.
bool sr_follow_is_sharp(const SrLive* l, const SrEvent* event);
double sr_follow_in_pulses(const SrLive* l, SrFraction length);
void sr_follow_tell_notes(SrLive* l, const SrSoFar* so_far);
/// Notes that have been told of what is going on.
size_t sr_follow_count_told(const SrLive* l);
// round.c

void sr_follow_forget_told(SrLive* l);
/// Leave out what began before a time.
void sr_follow_follow_from(SrLive* l, double since_s);
/// Judge what a second hearing in a reading heard; `assessment` stays NULL if that is no round.
SrStatus sr_follow_judge_again(const SrLive* l, SrReading reading, const SrHeard* heard,
                               SrAssessment** assessment);
/// Whether a judgement without what came before fits clearly better: more notes played, or as many
/// and far less scatter.
bool sr_follow_is_better(const SrAssessment* narrow, const SrAssessment* whole);
/// Remember the loudest of some samples; what is no number is not loud.
void sr_follow_note_loudest(SrLive* l, const float* samples, size_t count, uint64_t first);
SrStatus sr_follow_end_round(SrLive* l, double until_s, SrError* error);
// hearing_again.c

/// Whether the round's samples are all kept: one that was longer before it began to be heard again
/// is judged as it was followed.
bool sr_follow_is_kept(const SrLive* l);
/// Whether a second hearing is under way, is of this round, and has what it hears next.
bool sr_follow_is_under_way(const SrLive* l);
/// Begin to hear a round a second time, with what is known by now.
SrStatus sr_follow_hear_again(SrLive* l, SrError* error);
/// Towards the end of a long round, hear it a second time a little ahead, step by step.
SrStatus sr_follow_hear_ahead(SrLive* l, SrError* error);
/// Hear the rest of a round a second time and judge it, in the reading of that ear.
SrStatus sr_follow_finish_again(const SrLive* l, SrReading reading, const SrRelisten* relisten,
                                double until_s, SrAssessment** assessment);
/// Hear and judge a round in the other readings that are in question, and keep the best, as a
/// recording is listened to.
SrStatus sr_follow_try_other_readings(SrLive* l, double until_s, SrAssessment** assessment,
                                      SrError* error);
// last_note.c

/// Follow the power of what is heard, by differences of samples, so that rumble hardly counts.
void sr_follow_follow_power(SrLive* l);
/// Whether the round's last note is over, though the next round may sound already. A note that sags
/// under loud air looks as if it let go.
bool sr_follow_last_note_is_over(const SrLive* l);
/// Whether a pitch is what the player is at, or may come to next: the last note, the two behind it,
/// or their graces.
bool sr_follow_is_due(const SrLive* l, int midi);
/// Whether a doubtful sound may be the first note of a round: on its way to the pitch of its reed,
/// and there for long enough.
bool sr_follow_may_be_first(const SrLive* l, const SrOpenSound* open);
/// A note that has been told sounds on.
void sr_follow_note_last_end(SrLive* l);
/// Remember when a note sounded. Of a round that has gone on for a while all its notes count.
void sr_follow_note_last_note(SrLive* l);
// signal_note.c

/// See whether the signal note is held, alone and outside of a round. What the click leaves, or a
/// wavering hand, may part it or sound beside it for a moment.
SrStatus sr_follow_watch_signal(SrLive* l, SrError* error);

#endif // SR_LIVE_FOLLOWING_H
