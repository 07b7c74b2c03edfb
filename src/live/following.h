// SPDX-License-Identifier: GPL-3.0-or-later

// State and parts of live following. All of it belongs to the thread that pushes samples.

#ifndef SR_LIVE_FOLLOWING_H
#define SR_LIVE_FOLLOWING_H

#include "history.h"
#include "relisten.h"
#include "window.h"

#include <steadyreed/listen.h>
#include <steadyreed/live.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// What was reported of a note.
typedef struct {
  bool reported;
  bool left; ///< The player has since gone back to it or past it
  bool left_out;
  double at_s;    ///< Time of the report
  double sound_s; ///< Start of its own sound
  SrNoteStatus status;
  int heard_midi;
  SrAnswer joined;
  bool has_cut;
  SrCutVerdict cut;
} Reported;

struct SrLiveImpl {
  const SrPhrase* phrase;
  SrLiveSettings settings;
  SrSilence silences[SR_LIVE_SILENCES]; ///< Of the click
  SrExpected expected;
  double longest_rest; ///< Between two notes, pulses
  SrProfile* profile;
  SrProfile* known; ///< The profile given; NULL if none
  double read_s;    ///< Reed sound heard when the reading was last decided
  SrCalibration* calibration;
  SrHistoryRing* history;
  SrWindow* window;
  SrFollower* follower;
  float* step; ///< Samples of the incomplete step
  size_t step_size;
  size_t step_fill;
  uint64_t pushed;
  // At the last look
  double looked_s; ///< Time processed
  SrOpenSound open[SR_MOST_OPEN];
  size_t open_count;
  uint64_t ended;
  double last_sound_s;
  double last_note_s; ///< When a certain note last sounded
  double learn_at_s;  ///< Reed sound at which the instrument is estimated next
  double learnt_s;    ///< Reed sound at the last estimate
  bool relisten;      ///< The listener is older than the profile
  bool round_over;    ///< A round has just ended
  bool judge_anyway;  ///< The listener was replaced, or a round ended, since the last look
  bool waits;         ///< A note is not reported yet because it has only just begun
  double since_s;     ///< Earliest start of the round
  double follow_s;    ///< The same for live following: later, if notes were only tried
  // The round
  unsigned round;
  SrReading reading;
  bool decided;         ///< A round came out better in a reading other than the likelier one
  double round_start_s; ///< NAN if none has begun
  size_t reached;
  double played_bpm;
  double last_end_s; ///< Of its last note, as far as known
  double loudest_db; ///< Of the sounds since it began
  float sample;      ///< The last one
  float power;       ///< Current power of the signal, without rumble
  float most_power;  ///< Its recent maximum
  float room_power;  ///< That of the room while nothing sounds; 0 if unknown
  float loudest;     ///< Largest sample since the last round ended
  uint64_t loudest_at;
  Reported* reported;
  SrRelisten again; ///< Its second hearing
  SrReading again_reading;
  double again_start_s;
  double again_since_s;
  // The signal
  uint64_t windows;      ///< Survey windows already searched for it
  double signal_onset_s; ///< Of the one sounding; NAN if none
  double signal_last_s;  ///< When it was last heard alone
  double covered_from_s; ///< Something else was played to the player; INFINITY if never
  double covered_until_s;
  SrNews* news;
  size_t news_count;
  size_t news_room;
  bool lost;
  bool signal_in_round; ///< The signal began as a note of a round
};

// live.c

double sr_follow_now_s(const SrLive* l);
// learning.c

/// A new calibration, which watches for the signal if there is one.
SrStatus sr_follow_new_calibration(const SrLive* l, SrCalibration** calibration, SrError* error);
void sr_follow_read_as(SrLive* l, SrReading reading);
/// Start a listener with a profile, `run_up_s` before the round, for sounds that start at `since_s`
/// or later.
SrStatus sr_follow_begin_again(const SrLive* l, const SrProfile* profile, double since_s,
                               double run_up_s, SrRelisten* again, SrError* error);
/// The instrument in a reading, estimated from everything heard.
SrStatus sr_follow_profile_as(const SrLive* l, SrReading reading, SrProfile** profile,
                              SrError* error);
/// Doubled or single, by the pitches.
SrReading sr_follow_likely_reading(const SrLive* l);
/// Estimate the instrument from everything heard.
SrStatus sr_follow_learn(SrLive* l, SrError* error);
/// The same, if enough more has been heard to make a difference.
SrStatus sr_follow_learn_more(SrLive* l, SrError* error);
/// Replace the listener by one with the current profile.
SrStatus sr_follow_change_ear(SrLive* l, SrError* error);
/// Estimate an unknown instrument during the first round.
SrStatus sr_follow_learn_early(SrLive* l, SrError* error);
// look_for_change.c

/// Whether a sound is certainly released.
bool sr_follow_has_let_go(const SrOpenSound* open);
/// Which of the last two notes a sound was reported as; the note count if neither.
size_t sr_follow_reported_as(const SrLive* l, const SrEvent* sound);
/// Check what sounds, after each step.
SrStatus sr_follow_look(SrLive* l, SrError* error);
// round_so_far.c

/// The longest rest between two notes of the phrase, s.
double sr_follow_longest_rest_s(const SrLive* l);
/// Length of the note that is due next, s.
double sr_follow_next_note_s(const SrLive* l);
/// Judge the round so far.
SrStatus sr_follow_judge_so_far(SrLive* l, SrError* error);
// reporting.c

SrNews* sr_follow_report(SrLive* l, SrNewsKind kind);
/// Deviation of a frequency from a reed's, as far as known, cents.
double sr_follow_cents_over_reed(const SrLive* l, int midi, double frequency_hz);
/// Whether a sound is sharp of its reed, if that is known.
bool sr_follow_is_sharp(const SrLive* l, const SrEvent* event);
double sr_follow_in_pulses(const SrLive* l, SrFraction length);
void sr_follow_report_notes(SrLive* l, const SrSoFar* so_far);
/// Number of notes of this round reported.
size_t sr_follow_count_reported(const SrLive* l);
// round_end.c

void sr_follow_forget_reported(SrLive* l);
/// Leave out sounds that started before a time.
void sr_follow_follow_from(SrLive* l, double since_s);
/// Judge the result of a second hearing in a reading; `assessment` stays NULL if there is no round.
SrStatus sr_follow_judge_again(const SrLive* l, SrReading reading, const SrHeard* heard,
                               SrAssessment** assessment);
/// Whether an assessment without earlier sounds is clearly better: more notes played, or as many
/// with far less scatter.
bool sr_follow_is_better(const SrAssessment* narrow, const SrAssessment* whole);
/// Remember the loudest of some samples; NAN is ignored.
void sr_follow_note_loudest(SrLive* l, const float* samples, size_t count, uint64_t first);
SrStatus sr_follow_end_round(SrLive* l, double until_s, SrError* error);
// second_hearing.c

/// Whether all samples of the round are kept. A round that outgrew the history before its second
/// hearing began is judged as it was followed.
bool sr_follow_is_kept(const SrLive* l);
/// Whether a second hearing of this round is in progress and its next samples are still kept.
bool sr_follow_is_under_way(const SrLive* l);
/// Start the second hearing of a round with the current profile.
SrStatus sr_follow_hear_again(SrLive* l, SrError* error);
/// Near the end of a long round, run its second hearing in parallel, step by step.
SrStatus sr_follow_hear_ahead(SrLive* l, SrError* error);
/// Finish the second hearing of a round and judge it, in that listener's reading.
SrStatus sr_follow_finish_again(const SrLive* l, SrReading reading, const SrRelisten* relisten,
                                double until_s, SrAssessment** assessment);
/// Hear and judge a round in the other plausible readings, as for a recording, and keep the best.
SrStatus sr_follow_try_other_readings(SrLive* l, double until_s, SrAssessment** assessment,
                                      SrError* error);
// last_note.c

/// Track the signal power, by sample differences to suppress rumble.
void sr_follow_follow_power(SrLive* l);
/// Whether the round's last note is over, even if the next round sounds already. A note that sags
/// under loud air looks released.
bool sr_follow_last_note_is_over(const SrLive* l);
/// Whether a pitch may come now: that of the last note, of the next two, or of their graces.
bool sr_follow_is_due(const SrLive* l, int midi);
/// Whether a doubtful sound may be the first note of a round: long enough, and approaching the
/// pitch of its reed.
bool sr_follow_may_be_first(const SrLive* l, const SrOpenSound* open);
/// Extend the last note reported while it sounds.
void sr_follow_note_last_end(SrLive* l);
/// Remember when a note last sounded; once a round is well under way all its notes count.
void sr_follow_note_last_note(SrLive* l);
// signal_note.c

/// Check whether the signal note is held, alone and outside a round. Remains of the click, or an
/// unsteady hand, may interrupt it or sound beside it briefly.
SrStatus sr_follow_watch_signal(SrLive* l, SrError* error);

#endif // SR_LIVE_FOLLOWING_H
