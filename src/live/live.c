// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file live.c
   Follows a phrase while it is played. After each few milliseconds it looks at what sounds;
   if that has changed, all sounds of the round so far are judged anew, and what is new in it
   is told.
*/

#include "past.h"
#include "relisten.h"
#include "window.h"

#include <steadyreed/listen.h>
#include <steadyreed/live.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// Samples are listened to in steps of this, s, whatever the chunks they come in.
#define STEP_S 0.002
/// So much of the stream is kept, s: the longest round that is heard a second time.
#define PAST_S 150.0
/// A round is heard again from so long before it, s, so that the room and the reeds' own noise are
/// known when it begins,
#define RUN_UP_S 8.0
/// and the ear that goes on from so long before.
#define SHORT_RUN_UP_S 1.0
/// A round that has gone on for so long, s, begins to be heard again when so few notes are left,
#define LONG_ROUND_S 10.0
#define LAST_NOTES 16u
/// … and one more for so many that have been played,
#define NOTES_A_NOTE 16u
/// so many times as fast as it is played, so that little is left to do at its end.
#define AHEAD 25u
/// It is the same round as long as its beginning moves by less than this, s.
#define SAME_ROUND_S 0.1
/// A sound is the same one as long as its beginning moves by less than this, s.
#define SAME_SOUND_S 0.03
/// Scatter is far less under this share of it, and some ms.
#define LESS_SCATTER 1.3
#define LESS_SCATTER_MS 3.0
/// So long before its first note, s, a round begins.
#define BEFORE_IT_S 0.25
/// A next round may be heard to begin so much earlier the second time, s.
#define NEXT_ROUND_S 0.02
/// A new round's sounds may begin so long before the last one's end, s.
#define OVERLAP_S 0.03
/// So few notes and then so long a silence, s, are no beginning yet: a word, a knock, a note tried.
/// When the round is judged again they are weighed with all the rest.
#define TRIED_NOTES 2
#define TRIED_S 0.4
/// So many notes of a new round make sure that it is one: after a whole one, or after a silence of
/// so many seconds if the phrase begins like no other place in it; and else.
#define SURE_NOTES 3
#define PAUSE_S 0.8
#define SURER_NOTES 6
/// The first note of a round is told once it has sounded for so long, s, or fits its reed so well,
/// the better the less has been heard of it,
#define HELD_S 0.024
#define CLEAR_S 0.016
#define CLEAR_FIT 0.62
#define CLEARER_FIT 0.78
/// and is no further over the pitch of its reed than this, cents: reeds start flat, syllables do
/// not.
#define MOST_SHARP_CENTS 15.0
/// A low one that takes its time may fit so little by then, s.
#define SLOW_S 0.032
#define SLOW_FIT 0.40
/// Of so few first notes two must go together, or they may be words.
#define FEW_NOTES 5
/// So many times slower or faster than the likely tempo they do not: syllables are quick. Three
/// that go together may be slower and faster.
typedef struct {
  double slower;
  double faster;
} TempoRange;
static const TempoRange TWO_GO = {3.0, 1.8};
static const TempoRange THREE_GO = {5.0, 2.5};
/// What has been noticed for so long, s, is hardly a cut.
#define NO_CUT_S 0.08
/// A reed that starts flat looks like the one below for so long, s.
#define FLAT_S 0.030
/// The last note is over when it has fallen for so long, s, and by so much, dB.
#define OVER_S 0.05
#define OVER_DB 6.0
/// … and all that is heard by so many times in power: 6.8 dB, more than under any air that is
/// taken. Else it is over after so long without it, s.
#define ALL_OVER 4.8f
#define MOST_AIR_S 0.8
/// How much power is smoothed, and its most forgotten (11 dB in a second), in a step.
#define POWER_SHARE 0.3f
#define FORGET_POWER 0.995f
/// What the room makes by itself is followed so long after the last sound, s: quickly down, slowly
/// up, for there is talk; and it wavers by so much.
#define ROOM_AFTER_S 0.3
#define ROOM_DOWN 0.2f
#define ROOM_UP 0.004f
#define ROOM_WAVERS 1.15f
/// What is so much softer than the loudest of a round, dB, is not played any more.
#define FAINT_DB 30.0
/// A sound that falls for so long, s, and by so much, dB, looks different from one that does not.
#define FALLS_S 0.016
#define FALLS_DB 6.0
/// An instrument is learnt when so much of its reeds has been heard, s, and again each time it has
/// grown by this factor, by the second one from so much on, up to so much.
#define LEARN_FIRST_S 0.03
#define LEARN_FACTOR 1.2
#define LEARN_MORE_FACTOR 1.5
#define LEARN_MORE_S 8.0
#define LEARN_LAST_S 20.0
/// … and when a round ends, by this one.
#define LEARN_ROUND_FACTOR 1.1
/// A new reed that fits badly for so long, s, is learnt at once.
#define STRANGE_S 0.05
/// Whether notes are doubled is looked at again when so much more has been heard, s: a note.
#define READ_AGAIN_S 0.25
/// Nothing is learnt in a round that has gone on for so long, s: the ear that knew it would have to
/// hear all of it again, some 3 ms for each of these seconds, and could not once its beginning is
/// forgotten.
#define MOST_AGAIN_S 40.0
/// So many notes that came to nothing make doubt whether the instrument is the one that was learnt.
#define DOUBT_NOTES 4
/// One low reed that sounds alone, whichever it is, is the signal's within this, cents.
#define SIGNAL_CENTS 60.0
/// The signal note goes on after a pause of this, s.
#define SIGNAL_GAP_S 0.15
/// News that can wait at first.
#define FIRST_NEWS 32u

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
  float most_power;  ///< … and of late
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

SrLiveSettings
sr_live_settings_default(void)
{
  const SrLiveSettings settings = {.rate_hz = 48000.0,
                                   .profile = NULL,
                                   .judge = sr_judge_settings_default(),
                                   .least_seen_s = 0.004,
                                   .broken_off_s = 2.5,
                                   .signal_midi = 48,
                                   .signal_held_s = 2.0};
  return settings;
}

void
sr_live_del(SrLive* const l)
{
  if (!l) {
    return;
  }
  SrNews news;
  while (sr_live_pull(l, &news)) {
    sr_assessment_del(news.assessment);
  }
  sr_window_del(l->window);
  sr_relisten_clear(&l->again);
  sr_past_del(l->past);
  sr_follower_del(l->follower);
  sr_survey_del(l->survey);
  sr_profile_del(l->profile);
  sr_profile_del(l->known);
  free(l->step);
  free(l->told);
  free(l->news);
  free(l);
}

/// A survey of what is heard, which watches for the signal if there is one.
static SrStatus
new_survey(const SrLive* const l, SrSurvey** const survey, SrError* const error)
{
  const SrStatus status = sr_survey_new(l->settings.rate_hz, &l->expected, survey, error);
  if (status == SR_OK && l->settings.signal_midi >= 0) {
    sr_survey_watch(*survey);
  }
  return status;
}

/// The longest rest between two notes of a phrase, pulses.
static double
longest_rest_of(const SrPhrase* const phrase)
{
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  double longest = 0.0;
  for (size_t i = 0; i + 1 < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const double end = sr_fraction_value(note->start) + sr_fraction_value(note->length);
    longest = fmax(longest, sr_fraction_value(sr_phrase_note(phrase, i + 1)->start) - end);
  }
  return longest / pulse;
}

static void
read_as(SrLive* const l, const SrReading reading)
{
  l->reading = reading;
  l->learnt_s = 0.0; // what was learnt has the reading of before
  l->settings.judge.accompanied = reading == SR_READ_ACCOMPANIED;
}

SrStatus
sr_live_new(const SrPhrase* const phrase, const SrLiveSettings* const settings, SrLive** const live,
            SrError* const error)
{
  *live = NULL;
  SrLive* const l = (SrLive*)calloc(1, sizeof(SrLive));
  if (!l) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  l->phrase = phrase;
  l->settings = settings ? *settings : sr_live_settings_default();
  l->expected = sr_live_expected(phrase);
  l->longest_rest = longest_rest_of(phrase);
  const bool given = l->settings.profile != NULL;
  l->known = given ? sr_profile_copy(l->settings.profile) : NULL;
  l->profile = given ? sr_profile_copy(l->settings.profile) : sr_profile_new(440.0);
  read_as(l, given ? sr_profile_reading(l->settings.profile) : SR_READ_SINGLE);
  l->settings.profile = NULL;
  const double rate_hz = l->settings.rate_hz;
  SrStatus status = new_survey(l, &l->survey, error);
  if (status == SR_OK) {
    status = sr_window_new(rate_hz, l->profile, &l->expected, 0, 0.0, &l->window, error);
  }
  if (status != SR_OK) {
    sr_live_del(l);
    return status;
  }
  sr_window_at_once(l->window);
  l->past = sr_past_new((size_t)(PAST_S * rate_hz));
  l->follower = sr_follower_new();
  l->step_size = (size_t)lround(STEP_S * rate_hz);
  l->step = (float*)malloc(l->step_size * sizeof(float));
  l->told = (Told*)calloc(sr_phrase_note_count(phrase), sizeof(Told));
  l->round = 1;
  l->learn_at_s = LEARN_FIRST_S;
  l->round_start_s = (double)NAN;
  l->signal_onset_s = (double)NAN;
  if (!l->profile || (given && !l->known) || !l->past || !l->follower || !l->step || !l->told) {
    sr_live_del(l);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  *live = l;
  return SR_OK;
}

static double
now_s(const SrLive* const l)
{
  return (double)l->pushed / l->settings.rate_hz;
}

static SrNews*
tell(SrLive* const l, const SrNewsKind kind)
{
  if (l->news_count == l->news_room) {
    const size_t room = l->news_room ? 2 * l->news_room : FIRST_NEWS;
    SrNews* const more = (SrNews*)realloc(l->news, room * sizeof(SrNews));
    if (!more) {
      l->lost = true;
      return NULL;
    }
    l->news = more;
    l->news_room = room;
  }
  SrNews* const news = &l->news[l->news_count++];
  memset(news, 0, sizeof(*news));
  news->kind = kind;
  news->at_s = now_s(l);
  news->round = l->round;
  return news;
}

bool
sr_live_pull(SrLive* const l, SrNews* const news)
{
  if (l->news_count == 0) {
    return false;
  }
  *news = l->news[0];
  --l->news_count;
  memmove(l->news, l->news + 1, l->news_count * sizeof(SrNews));
  return true;
}

/// Begin with an ear that has a profile, listens from `run_up_s` before the round on, and tells
/// what began at `since_s` or later.
static SrStatus
begin_again(const SrLive* const l, const SrProfile* const profile, const double since_s,
            const double run_up_s, SrRelisten* const again, SrError* const error)
{
  const double from_s = isfinite(l->round_start_s) ? l->round_start_s : since_s;
  return sr_relisten_begin(again, l->past, l->settings.rate_hz, profile, &l->expected,
                           from_s - run_up_s, since_s, error);
}

/// The instrument as all that has been heard tells it, in a reading.
static SrStatus
profile_as(const SrLive* const l, const SrReading reading, SrProfile** const profile,
           SrError* const error)
{
  const SrStatus status = sr_survey_finish(l->survey, reading, profile, error);
  if (status == SR_OK && l->known) {
    sr_profile_complete(*profile, l->known);
  }
  return status;
}

/// Doubled or not, as the pitches tell.
static SrReading
likely_reading(const SrLive* const l)
{
  return sr_survey_doubled_nats(l->survey) > 0.0 ? SR_READ_DOUBLED : SR_READ_SINGLE;
}

/// Read what is heard in the other way if that is beyond doubt the right one.
static bool
change_reading(SrLive* const l)
{
  const double nats = sr_survey_doubled_nats(l->survey);
  const SrReading likely = likely_reading(l);
  // Whether others sound below is decided when a round is over
  const bool changes = l->reading != SR_READ_ACCOMPANIED && !l->decided && likely != l->reading &&
                       !sr_listen_is_unsure(nats);
  if (changes) {
    read_as(l, likely);
  }
  l->read_s = sr_survey_heard_s(l->survey);
  return changes;
}

/// Learn the instrument from all that has been heard.
static SrStatus
learn(SrLive* const l, SrError* const error)
{
  change_reading(l);
  SrProfile* profile = NULL;
  const SrStatus status = profile_as(l, l->reading, &profile, error);
  if (status == SR_OK) {
    sr_profile_del(l->profile);
    l->profile = profile;
    l->learnt_s = sr_survey_heard_s(l->survey);
    l->relisten = true;
  }
  return status;
}

/// … if so much more has been heard of it that it may make a difference.
static SrStatus
learn_more(SrLive* const l, SrError* const error)
{
  const bool more = sr_survey_heard_s(l->survey) >= LEARN_ROUND_FACTOR * l->learnt_s;
  return more ? learn(l, error) : SR_OK;
}

/// Go on with an ear that knows the instrument better.
static SrStatus
change_ear(SrLive* const l, SrError* const error)
{
  SrRelisten again = {0};
  SrStatus status = begin_again(l, l->profile, l->follow_s, SHORT_RUN_UP_S, &again, error);
  if (status == SR_OK) {
    sr_window_at_once(again.window);
    status = sr_relisten_do(&again, l->past, UINT64_MAX);
  }
  if (status != SR_OK) {
    sr_relisten_clear(&again);
    return status;
  }
  sr_window_del(l->window);
  l->window = again.window;
  l->relisten = false;
  l->judge_anyway = true;
  return SR_OK;
}

static void
forget_told(SrLive* const l)
{
  memset(l->told, 0, sr_phrase_note_count(l->phrase) * sizeof(Told));
  l->reached = 0;
  l->waits = false;
  l->round_start_s = (double)NAN;
  l->loudest_db = (double)-INFINITY;
}

/// Leave out what began before a time.
static void
follow_from(SrLive* const l, const double since_s)
{
  l->follow_s = since_s;
  sr_window_drop(l->window, since_s);
}

/// Judge what a second hearing in a reading heard; `assessment` stays NULL if that is no round.
static SrStatus
judge_again(const SrLive* const l, const SrReading reading, const SrHeard* const heard,
            SrAssessment** const assessment)
{
  SrJudgeSettings settings = l->settings.judge;
  settings.accompanied = reading == SR_READ_ACCOMPANIED;
  const SrTakeFacts facts = {
      .path = "", .seconds = now_s(l), .rate_hz = l->settings.rate_hz, .peak_dbfs = (double)NAN};
  const SrStatus status = sr_judge_take(l->phrase, heard, &facts, &settings, assessment, NULL);
  return status == SR_NO_MEMORY ? status : SR_OK;
}

/// Notes played in the last round of an assessment, 0 for NULL.
static size_t
played_notes(const SrAssessment* const assessment)
{
  const SrRound* const round = assessment ? &assessment->rounds[assessment->round_count - 1] : NULL;
  size_t played = 0;
  for (size_t i = 0; round && i < round->note_count; ++i) {
    played += round->notes[i].status == SR_NOTE_PLAYED;
  }
  return played;
}

/// Whether a judgement without what came before fits clearly better: more notes played, or as many
/// and far less scatter.
static bool
is_better(const SrAssessment* const narrow, const SrAssessment* const whole)
{
  const size_t with = played_notes(whole);
  const size_t without = played_notes(narrow);
  if (!narrow || !whole || with != without) {
    return without > with;
  }
  const double scatter = whole->rounds[whole->round_count - 1].pulse.spread_ms;
  const double less = narrow->rounds[narrow->round_count - 1].pulse.spread_ms;
  return isfinite(less) && !(scatter < LESS_SCATTER * less + LESS_SCATTER_MS);
}

/**
   What was played could not be followed: perhaps by another instrument than was learnt. Begin to
   learn anew, from what is kept of the stream.
*/
static void
doubt_instrument(SrLive* const l)
{
  SrSurvey* survey = NULL;
  if (new_survey(l, &survey, NULL) != SR_OK) {
    return; // the one there is will do
  }
  uint64_t at = sr_past_start(l->past);
  while (at < sr_past_end(l->past)) {
    size_t count;
    const float* const samples = sr_past_at(l->past, at, &count);
    sr_survey_push(survey, samples, count);
    at += count;
  }
  sr_survey_del(l->survey);
  l->survey = survey;
  l->learn_at_s = LEARN_FIRST_S;
  l->read_s = 0.0;
  l->decided = false;
  read_as(l, l->known ? sr_profile_reading(l->known) : SR_READ_SINGLE);
}

/// Remember the loudest of some samples; what is no number is not loud.
static void
note_loudest(SrLive* const l, const float* const samples, const size_t count, const uint64_t first)
{
  for (size_t i = 0; i < count; ++i) {
    if (fabsf(samples[i]) > l->loudest) {
      l->loudest = fabsf(samples[i]);
      l->loudest_at = first + i;
    }
  }
}

/// The next round's loudest sample may have been heard before this one was over.
static void
note_loudest_since(SrLive* const l, const double since_s)
{
  const double start = (double)sr_past_start(l->past);
  const double end = (double)sr_past_end(l->past);
  uint64_t at = (uint64_t)fmin(end, fmax(start, since_s * l->settings.rate_hz));
  l->loudest = 0.0f;
  while (at < sr_past_end(l->past)) {
    size_t count;
    const float* const samples = sr_past_at(l->past, at, &count);
    note_loudest(l, samples, count, at);
    at += count;
  }
}

/// A last note that ran in has no sound of its own to be told by: that it was played, only the end
/// of the one before shows.
static void
tell_joined_end(SrLive* const l, const SrAssessment* const assessment)
{
  const SrRound* const round = &assessment->rounds[assessment->round_count - 1];
  for (size_t i = l->reached; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    SrNews* const news =
        note->status == SR_NOTE_PLAYED && note->joined == SR_YES ? tell(l, SR_NEWS_NOTE) : NULL;
    if (news) {
      news->note = *note;
    }
  }
}

/// Tell what came of a round, and wait for the next.
static void
go_on_to_next(SrLive* const l, SrAssessment* const assessment, const double until_s)
{
  if (assessment) {
    assessment->doubled = l->reading == SR_READ_DOUBLED;
    tell_joined_end(l, assessment);
  } else if (l->reached >= DOUBT_NOTES) {
    doubt_instrument(l);
  }
  SrNews* const news = tell(l, assessment ? SR_NEWS_ROUND : SR_NEWS_NOTHING);
  if (news) {
    news->assessment = assessment;
  } else {
    sr_assessment_del(assessment);
  }
  l->round += assessment != NULL;
  sr_relisten_clear(&l->again);
  forget_told(l);
  l->since_s = until_s;
  note_loudest_since(l, until_s);
  follow_from(l, until_s);
  l->round_over = true;
  l->judge_anyway = true;
}

/// Judge a round as it was followed.
static SrStatus
end_long_round(SrLive* const l, const double until_s, SrError* const error)
{
  SrAssessment* assessment = NULL;
  SrHeard heard;
  SrStatus status = sr_window_heard(l->window, l->open, l->open_count, until_s, &heard);
  if (status == SR_OK) {
    status = judge_again(l, l->reading, &heard, &assessment);
  }
  if (status != SR_OK) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge this round.");
  }
  go_on_to_next(l, assessment, until_s);
  if (l->reading == SR_READ_ACCOMPANIED) {
    // No other reading can be tried of such a round, so that this one might stay for good
    read_as(l, likely_reading(l));
  }
  return SR_OK;
}

/// Whether the round's samples are all kept: one that was longer before it began to be heard again
/// is judged as it was followed.
static bool
is_kept(const SrLive* const l)
{
  const double kept_from_s = (double)sr_past_start(l->past) / l->settings.rate_hz;
  return !isfinite(l->round_start_s) || kept_from_s < l->round_start_s - BEFORE_IT_S ||
         sr_past_start(l->past) == 0;
}

/// Whether a second hearing is under way, is of this round, and has what it hears next.
static bool
is_under_way(const SrLive* const l)
{
  return l->again.window && l->again_reading == l->reading &&
         l->again.at >= sr_past_start(l->past) &&
         fabs(l->round_start_s - l->again_start_s) < SAME_ROUND_S &&
         fabs(l->since_s - l->again_since_s) < SAME_ROUND_S;
}

/// Begin to hear a round a second time, with what is known by now.
static SrStatus
hear_again(SrLive* const l, SrError* const error)
{
  sr_relisten_clear(&l->again);
  l->again_start_s = l->round_start_s;
  l->again_since_s = l->since_s;
  SrStatus status = learn_more(l, error);
  if (status == SR_OK) {
    l->again_reading = sr_profile_reading(l->profile);
    status = begin_again(l, l->profile, l->since_s, RUN_UP_S, &l->again, error);
  }
  if (status == SR_OK) {
    // As the recording is heard, as long as its loudest sample is not still to come
    sr_window_place(l->again.window, l->loudest_at);
    status = sr_window_air_later(l->again.window);
  }
  return status;
}

/// Towards the end of a long round, hear it a second time a little ahead, step by step.
static SrStatus
hear_ahead(SrLive* const l, SrError* const error)
{
  SrStatus status = SR_OK;
  if (!is_under_way(l)) {
    const size_t last = LAST_NOTES + l->reached / NOTES_A_NOTE;
    const bool ends = l->reached + last >= sr_phrase_note_count(l->phrase);
    const bool is_long = now_s(l) - l->round_start_s > LONG_ROUND_S; // false if none has begun
    if (!(ends && is_long && is_kept(l))) {
      return SR_OK;
    }
    status = hear_again(l, error);
  }
  // At once, for the oldest samples may be gone with the next step
  if (status == SR_OK &&
      sr_relisten_do(&l->again, l->past, AHEAD * (uint64_t)l->step_size) != SR_OK) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to hear this round.");
  }
  return status;
}

/// Hear the rest of a round a second time and judge it, in the reading of that ear.
static SrStatus
finish_again(const SrLive* const l, const SrReading reading, const SrRelisten* const relisten,
             const double until_s, SrAssessment** const assessment)
{
  SrHeard heard;
  SrWindow* const again = relisten->window;
  SrStatus status = sr_window_finish(again);
  if (status == SR_OK) {
    status = sr_window_heard(again, NULL, 0, until_s, &heard);
  }
  if (status == SR_OK) {
    status = judge_again(l, reading, &heard, assessment);
  }
  // Where much was said before it, what belongs to it may not be clear; what was followed is
  const bool later = isfinite(l->round_start_s) && l->round_start_s > l->since_s + BEFORE_IT_S;
  if (status == SR_OK && later) {
    SrAssessment* narrow = NULL;
    sr_window_drop(again, l->round_start_s - BEFORE_IT_S);
    status = sr_window_heard(again, NULL, 0, until_s, &heard);
    status = status == SR_OK ? judge_again(l, reading, &heard, &narrow) : status;
    if (is_better(narrow, *assessment)) {
      sr_assessment_del(*assessment);
      *assessment = narrow;
    } else {
      sr_assessment_del(narrow);
    }
  }
  return status;
}

/// Hear and judge a round in a reading.
static SrStatus
judge_as(const SrLive* const l, const SrReading reading, const double until_s,
         SrAssessment** const assessment, SrError* const error)
{
  SrProfile* profile = NULL;
  SrRelisten again = {0};
  SrStatus status = profile_as(l, reading, &profile, error);
  if (status == SR_OK) {
    status = begin_again(l, profile, l->since_s, RUN_UP_S, &again, error);
  }
  if (status == SR_OK) {
    sr_window_place(again.window, l->loudest_at);
    status = sr_window_air_later(again.window);
  }
  if (status == SR_OK) {
    status = sr_relisten_do(&again, l->past, UINT64_MAX);
  }
  if (status == SR_OK) {
    status = finish_again(l, reading, &again, until_s, assessment);
  }
  sr_relisten_clear(&again);
  sr_profile_del(profile);
  return status;
}

/// Keep the better of two verdicts on a round.
static void
keep_better(SrLive* const l, const bool better, const SrReading reading, SrAssessment* const other,
            SrAssessment** const assessment)
{
  sr_assessment_del(better ? *assessment : other);
  if (better) {
    *assessment = other;
    l->decided = reading != SR_READ_ACCOMPANIED && reading != likely_reading(l);
    read_as(l, reading);
  }
}

/// Hear and judge a round in the other readings that are in question, and keep the best, as a
/// recording is listened to.
static SrStatus
try_other_readings(SrLive* const l, const double until_s, SrAssessment** const assessment,
                   SrError* const error)
{
  const double nats = sr_survey_doubled_nats(l->survey);
  SrStatus status = SR_OK;
  SrAssessment* other = NULL;
  if (l->reading == SR_READ_ACCOMPANIED) {
    // Nobody may sound below the melody any more
    const SrReading likely = likely_reading(l);
    status = judge_as(l, likely, until_s, &other, error);
    const bool better = other && (!*assessment || !sr_listen_may_be_accompanied(other) ||
                                  !sr_listen_is_accompanied(other, *assessment));
    keep_better(l, better, likely, other, assessment);
    return status;
  }
  if (sr_listen_is_doubtful(nats, l->reading, *assessment)) {
    const SrReading reading = (SrReading)!l->reading;
    status = judge_as(l, reading, until_s, &other, error);
    const bool better = other && sr_listen_is_better(other, *assessment, nats);
    keep_better(l, better, reading, other, assessment);
  }
  if (status == SR_OK && sr_listen_may_be_accompanied(*assessment)) {
    other = NULL;
    status = judge_as(l, SR_READ_ACCOMPANIED, until_s, &other, error);
    const bool better = other && sr_listen_is_accompanied(*assessment, other);
    keep_better(l, better, SR_READ_ACCOMPANIED, other, assessment);
  }
  return status;
}

/**
   The round is over: judge it again from its samples, with what was known when that second
   hearing began.

   @param until_s What began at this time or later belongs to the next round.
*/
static SrStatus
end_round(SrLive* const l, const double until_s, SrError* const error)
{
  SrAssessment* assessment = NULL;
  // What the last notes teach is for the next round if this one is heard again already
  const bool under_way = is_under_way(l);
  const bool kept = is_kept(l);
  if (!under_way && !kept) {
    return end_long_round(l, until_s, error);
  }
  SrStatus status = under_way ? SR_OK : hear_again(l, error);
  if (status == SR_OK) {
    status = sr_relisten_do(&l->again, l->past, UINT64_MAX);
  }
  if (status == SR_OK) {
    status = finish_again(l, l->again_reading, &l->again, until_s, &assessment);
  }
  if (status == SR_OK && kept && l->reached > TRIED_NOTES) {
    status = try_other_readings(l, until_s, &assessment, error);
  }
  if (status != SR_OK) {
    sr_assessment_del(assessment);
    sr_relisten_clear(&l->again);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge this round.");
  }
  go_on_to_next(l, assessment, until_s);
  return SR_OK;
}

/// Whether a note came out otherwise than was told.
static bool
differs(const Told* const told, const SrNoteVerdict* const note)
{
  return told->status != note->status || told->left_out != note->left_out ||
         told->heard_midi != note->heard_midi || told->joined != note->joined ||
         told->has_cut != note->has_cut || (note->has_cut && told->cut != note->cut.verdict);
}

/// How far a frequency is over that of a reed, as far as that is known, cents.
static double
cents_over_reed(const SrLive* const l, const int midi, const double frequency_hz)
{
  double cents = 0.0;
  sr_profile_reed(l->profile, midi, &cents);
  const double a4 = sr_profile_reference_hz(l->profile);
  return 1200.0 * log2(frequency_hz / a4) - 100.0 * (midi - 69) - cents;
}

/// Whether a sound is over the pitch of its reed, if that is known.
static bool
is_sharp(const SrLive* const l, const SrEvent* const event)
{
  return isfinite(event->frequency_hz) && sr_profile_reed(l->profile, event->midi, NULL) &&
         cents_over_reed(l, event->midi, event->frequency_hz) > MOST_SHARP_CENTS;
}

/// Whether a note still sounds, so clear or for so long that it is hardly a word.
static bool
is_sure(const SrLive* const l, const SrNoteVerdict* const note)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    const double lasted_s = open->seen_s - open->falling_s;
    const double clear = lasted_s < CLEAR_S ? CLEARER_FIT : CLEAR_FIT;
    if (open->event.midi == note->heard_midi && !is_sharp(l, &open->event) &&
        (lasted_s >= HELD_S || open->event.fit >= clear)) {
      return true;
    }
  }
  return false;
}

/// When a note was heard to begin: a joined one with the cut on top of it; NAN if nothing was.
static double
heard_from(const SrNoteVerdict* const note)
{
  return isfinite(note->onset_s) || !note->has_cut ? note->onset_s : note->cut.onset_s;
}

/// When a note's own sound began, behind its cut.
static double
sound_from(const SrNoteVerdict* const note)
{
  const double cut_s = note->has_cut ? note->cut.onset_s + 1e-3 * note->cut.length_ms : (double)NAN;
  return isfinite(cut_s) ? cut_s : note->onset_s;
}

static double
in_pulses(const SrLive* const l, const SrFraction length)
{
  return sr_fraction_value(length) / sr_fraction_value(sr_phrase_bar(l->phrase, 0)->pulse);
}

/// How many notes at a round's beginning came as written, in a tempo that somebody might play.
static size_t
right_notes(const SrLive* const l, const SrSoFar* const so_far, const TempoRange range)
{
  const double likely = sr_judge_likely_bpm(l->phrase, &l->settings.judge);
  const SrNoteVerdict* before = NULL;
  size_t right = 0;
  for (size_t i = 0; i < so_far->reached; ++i) {
    const SrNoteVerdict* const note = &so_far->notes[i];
    const bool stray = note->has_cut && note->cut.verdict == SR_CUT_STRAY;
    const double from_s = heard_from(note);
    const bool sounds = isfinite(from_s);
    bool fits = note->status == SR_NOTE_PLAYED && sounds && !(i == 0 && stray);
    if (before && sounds) {
      const double pulses = in_pulses(l, sr_phrase_note(l->phrase, note->index)->start) -
                            in_pulses(l, sr_phrase_note(l->phrase, before->index)->start);
      const double bpm = 60.0 * pulses / (from_s - heard_from(before));
      fits = fits && bpm > likely / range.slower && bpm < likely * range.faster;
    }
    before = sounds ? note : before;
    right += fits;
  }
  return right;
}

/// Whether what there is of a round may be but a word: one sound that is not its first note or has
/// only begun, or a few that do not go together. They are told when more follows.
static bool
is_doubtful(const SrLive* const l, const SrSoFar* const so_far)
{
  size_t sounds = 0;
  for (size_t i = 0; i < so_far->reached; ++i) {
    sounds += isfinite(heard_from(&so_far->notes[i])) ? 1 : 0;
  }
  if (sounds < 2) {
    return !(right_notes(l, so_far, TWO_GO) == 1 && so_far->reached == 1 &&
             is_sure(l, so_far->notes));
  }
  return sounds <= FEW_NOTES && right_notes(l, so_far, TWO_GO) < 2 &&
         right_notes(l, so_far, THREE_GO) < 3;
}

/// Whether a pitch is a grace of a written note, or looks like one for a moment: as its octave, or
/// as the one below it, since reeds start flat.
static bool
is_like_grace(const SrPhraseNote* const written, const int midi)
{
  for (int k = -1; k < written->ornament_count; ++k) {
    const int grace = k < 0 ? written->cut_midi : written->ornament_midi[k];
    const int apart = midi - grace;
    if (grace >= 0 && (apart == 0 || apart == -1 || abs(apart) == 12)) {
      return true;
    }
  }
  return false;
}

/// How long a wrong note that has only begun is waited for, s. A doubled note's octave speaks
/// first, the note before may seem to begin anew, a reed that starts flat looks like the one
/// below it, and so do graces. Behind the last note nothing more is expected, so that any flicker
/// would be taken for it.
static double
wait_for_wrong_s(const SrLive* const l, const SrNoteVerdict* const note)
{
  const size_t next = note->index + 1;
  const int apart = note->heard_midi - note->midi;
  const bool before = note->index > 0 && note->heard_midi == l->told[note->index - 1].heard_midi;
  if (next == sr_phrase_note_count(l->phrase) || abs(apart) == 12 || before ||
      is_like_grace(sr_phrase_note(l->phrase, note->index), note->heard_midi)) {
    return NO_CUT_S;
  }
  return apart == -1 ? FLAT_S : 0.0;
}

/// Whether a wrong note at the end of what has been played has only begun.
static bool
is_young_wrong(const SrLive* const l, const SrNoteVerdict* const note)
{
  if (note->status != SR_NOTE_WRONG) {
    return false;
  }
  const double wait_s = wait_for_wrong_s(l, note);
  bool young = false;
  for (size_t i = 0; i < l->open_count; ++i) {
    young |= sr_event_own_midi(&l->open[i].event) == note->heard_midi && l->open[i].seen_s < wait_s;
  }
  return young;
}

static void
tell_notes(SrLive* const l, const SrSoFar* const so_far)
{
  if (so_far->reached > 0 && so_far->reached < sr_phrase_note_count(l->phrase) &&
      is_doubtful(l, so_far)) {
    return;
  }
  double onset_s = 0.0;
  const bool goes_on = sr_phrase_note_count(l->phrase) > TRIED_NOTES && l->told[TRIED_NOTES].told;
  for (size_t i = 0; i < so_far->reached; ++i) {
    const SrNoteVerdict* const note = &so_far->notes[i];
    Told* const told = &l->told[i];
    // What began after it was told was played again; a joined note began with the one before
    onset_s = isfinite(note->onset_s) ? note->onset_s : onset_s;
    // What was told as the first may have been words, or notes tried; that the round began later
    // the next one shows
    const bool later = i < TRIED_NOTES && so_far->reached > i + 1 && !goes_on &&
                       onset_s > told->at_s + SAME_ROUND_S;
    const bool again = later || (told->left && onset_s > told->at_s);
    if (note->left_out && !told->told) {
      continue;
    }
    if (i + 1 == so_far->reached && is_young_wrong(l, note)) {
      l->waits = true;
      continue;
    }
    if (!told->told || again || differs(told, note)) {
      SrNews* const news = tell(l, told->told && !again ? SR_NEWS_AMENDED : SR_NEWS_NOTE);
      if (news) {
        news->note = *note;
      }
      *told = (Told){.told = true,
                     .left_out = note->left_out,
                     .at_s = now_s(l),
                     .sound_s = sound_from(note),
                     .status = note->status,
                     .heard_midi = note->heard_midi,
                     .joined = note->joined,
                     .has_cut = note->has_cut,
                     .cut = note->cut.verdict};
    }
    told->left = false;
    if (note->end_s > l->last_end_s) {
      l->last_end_s = note->end_s;
    }
  }
}

/// How long a pulse takes at the tempo played, s; at another as long as that is not known.
static double
pulse_s(const SrLive* const l, const double else_bpm)
{
  return 60.0 / (isfinite(l->played_bpm) && l->played_bpm > 20.0 ? l->played_bpm : else_bpm);
}

/// The longest rest between two notes of the phrase, s.
static double
longest_rest_s(const SrLive* const l)
{
  return l->longest_rest * pulse_s(l, 60.0);
}

/// How long the note that is due next lasts, s.
static double
next_note_s(const SrLive* const l)
{
  if (l->reached >= sr_phrase_note_count(l->phrase)) {
    return 0.0;
  }
  return in_pulses(l, sr_phrase_note(l->phrase, l->reached)->length) *
         pulse_s(l, sr_judge_likely_bpm(l->phrase, &l->settings.judge));
}

/// Notes that have been told of what is going on.
static size_t
count_told(const SrLive* const l)
{
  size_t count = 0;
  for (size_t i = 0; i < l->reached; ++i) {
    count += l->told[i].told;
  }
  return count;
}

/// How long nothing was heard before a time, s.
static double
silence_before_s(const SrHeard* const heard, const double time_s)
{
  double end_s = 0.0;
  for (size_t i = 0; i < heard->event_count; ++i) {
    const SrEvent* const sound = &heard->events[i];
    if (sound->kind == SR_EVENT_SOUND && sound->onset_s < time_s - SAME_SOUND_S) {
      end_s = fmax(end_s, fmin(sound->end_s, time_s));
    }
  }
  return time_s - end_s;
}

/// Whether so many notes of the phrase have the pitches of its first ones, from another place on.
static bool
begins_elsewhere(const SrPhrase* const phrase, const size_t count)
{
  const size_t notes = sr_phrase_note_count(phrase);
  for (size_t from = 1; from + count <= notes; ++from) {
    size_t same = 0;
    while (same < count &&
           sr_phrase_note(phrase, from + same)->midi == sr_phrase_note(phrase, same)->midi) {
      ++same;
    }
    if (same == count) {
      return true;
    }
  }
  return false;
}

/// Whether notes that seem to be those of a new round may yet belong to the one that goes on.
static bool
may_go_on(const SrLive* const l, const SrHeard* const heard, const SrSoFar* const so_far)
{
  const bool was_whole = l->reached + 3 >= sr_phrase_note_count(l->phrase);
  if (so_far->reached >= SURER_NOTES || (was_whole && so_far->reached >= SURE_NOTES)) {
    return false;
  }
  return so_far->reached < SURE_NOTES || silence_before_s(heard, so_far->start_s) < PAUSE_S ||
         begins_elsewhere(l->phrase, so_far->reached);
}

/// Judge what has been played of this round.
static SrStatus
judge_so_far(SrLive* const l, SrError* const error)
{
  SrHeard heard;
  SrSoFar so_far = {0};
  l->waits = false;
  SrStatus status = sr_window_heard(l->window, l->open, l->open_count, INFINITY, &heard);
  if (status == SR_OK) {
    status = sr_judge_so_far(l->phrase, &heard, &l->settings.judge, l->follower, &so_far);
  }
  if (status != SR_OK) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge this round.");
  }
  if (so_far.rounds_before > 0 && may_go_on(l, &heard, &so_far)) {
    // Perhaps the next one begins, perhaps a note went wrong
    sr_so_far_clear(&so_far);
    return SR_OK;
  }
  if (so_far.rounds_before > 0) {
    // The next one has begun before this one looked over. A second hearing may hear it a little
    // earlier; no note is so short that the last one's beginning is not before that
    const double until_s = so_far.start_s - NEXT_ROUND_S;
    sr_so_far_clear(&so_far);
    return end_round(l, until_s, error);
  }
  if (so_far.reached == 0 && l->reached <= TRIED_NOTES && count_told(l) > 0) {
    // A note tried, a word: it is not begun again, and what comes of it will be seen
    sr_so_far_clear(&so_far);
    return SR_OK;
  }
  const bool went_back = so_far.reached + 1 < l->reached;
  const bool moved = fabs(so_far.start_s - l->round_start_s) > SAME_ROUND_S;
  const bool again = l->reached > 0 && (so_far.reached == 0 || (went_back && moved));
  const size_t told = count_told(l);
  const bool first_only = told == 0 || (told == 1 && l->told[0].told);
  if (again && (!first_only || so_far.reached == 0)) {
    if (!first_only) {
      tell(l, SR_NEWS_AGAIN);
    }
    forget_told(l);
  } else if (again) {
    memset(l->told + 1, 0, (sr_phrase_note_count(l->phrase) - 1) * sizeof(Told));
  } else if (went_back) {
    // The player went back, or it only looks so for a moment
    for (size_t i = 0; i < l->reached; ++i) {
      l->told[i].left = true;
    }
  }
  l->reached = so_far.reached;
  l->round_start_s = so_far.start_s;
  l->played_bpm = so_far.played_bpm;
  l->last_end_s = 0.0;
  tell_notes(l, &so_far);
  sr_so_far_clear(&so_far);
  return SR_OK;
}

/// Whether a sound has let go beyond doubt.
static bool
has_let_go(const SrOpenSound* const open)
{
  return open->falling_s > OVER_S && open->fallen_db > OVER_DB;
}

/// The note, of the last two, that a sound was told as; the count of notes if it was not.
static size_t
told_as(const SrLive* const l, const SrEvent* const sound)
{
  for (size_t n = l->reached > 1 ? l->reached - 2 : 0; n < l->reached; ++n) {
    const Told* const told = &l->told[n];
    if (told->told && told->status == SR_NOTE_PLAYED && told->heard_midi == sound->midi &&
        fabs(told->sound_s - sound->onset_s) < SAME_SOUND_S) {
      return n;
    }
  }
  return sr_phrase_note_count(l->phrase);
}

/// Whether how a sound goes on and ends makes no difference to what is told: it was told as a note,
/// and neither is that repeated nor the phrase's last.
static bool
is_settled(const SrLive* const l, const SrEvent* const sound)
{
  const size_t next = told_as(l, sound) + 1;
  return next < sr_phrase_note_count(l->phrase) && l->reached < sr_phrase_note_count(l->phrase) &&
         sr_phrase_note(l->phrase, next)->midi != sound->midi;
}

/// Whether one sound looks otherwise than at the last look.
static bool
looks_different(const SrLive* const l, const SrOpenSound* const open, const SrOpenSound* const was)
{
  const bool falls = open->falling_s > FALLS_S && open->fallen_db > FALLS_DB;
  const bool fell = was->falling_s > FALLS_S && was->fallen_db > FALLS_DB;
  const bool sure = open->seen_s > SR_SURE_SEEN_S;
  const bool no_cut = open->seen_s >= NO_CUT_S;
  const bool older = sure != (was->seen_s > SR_SURE_SEEN_S) || no_cut != (was->seen_s >= NO_CUT_S);
  return fabs(open->event.onset_s - was->event.onset_s) >= SAME_SOUND_S ||
         (older && told_as(l, &open->event) == sr_phrase_note_count(l->phrase)) ||
         (falls != fell && !is_settled(l, &open->event));
}

/// Whether anything of what sounds has changed since the last look that may be told otherwise.
static bool
has_changed(SrLive* const l, const SrOpenSound* const open, const size_t count)
{
  size_t over = 0;
  size_t i = 0;
  for (size_t w = 0; w < l->open_count; ++w) {
    const SrOpenSound* const was = &l->open[w];
    if (i < count && open[i].event.midi == was->event.midi) {
      if (looks_different(l, &open[i++], was)) {
        return true;
      }
    } else if (is_settled(l, &was->event)) {
      ++over;
    } else {
      return true;
    }
  }
  return l->judge_anyway || i < count || sr_window_ended(l->window) != l->ended + over;
}

/// Whether anything is played: what is left in the noise, once the ear has got used to the silence,
/// is not.
static bool
is_played(SrLive* const l)
{
  if (l->reached == 0) {
    l->loudest_db = (double)-INFINITY;
  }
  for (size_t i = 0; i < l->open_count; ++i) {
    l->loudest_db = fmax(l->loudest_db, l->open[i].event.level_db);
  }
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    if (!has_let_go(open) && open->event.level_db > l->loudest_db - FAINT_DB) {
      return true;
    }
  }
  return false;
}

/// Whether a sound is the first note of the next round, which has begun without a pause: no cut.
static bool
is_next_first(const SrLive* const l, const SrOpenSound* const open)
{
  return open->event.midi == sr_phrase_note(l->phrase, 0)->midi && open->seen_s >= NO_CUT_S &&
         !open->doubtful && open->event.onset_s > l->last_end_s - OVERLAP_S;
}

/// Follow the power of what is heard, by differences of samples, so that rumble hardly counts.
static void
follow_power(SrLive* const l)
{
  float sum = 0.0f;
  for (size_t i = 0; i < l->step_size; ++i) {
    const float sample = isfinite(l->step[i]) ? l->step[i] : 0.0f;
    sum += (sample - l->sample) * (sample - l->sample);
    l->sample = sample;
  }
  l->power += POWER_SHARE * (sum - l->power);
  l->most_power = fmaxf(l->power, FORGET_POWER * l->most_power);
  if (l->open_count == 0 && sr_window_heard_s(l->window) > l->last_sound_s + ROOM_AFTER_S) {
    const bool known = l->room_power > 0.0f;
    const float share = !known ? 1.0f : l->power < l->room_power ? ROOM_DOWN : ROOM_UP;
    l->room_power += share * (l->power - l->room_power);
  }
}

/// Whether all that is heard but the room's own noise is much softer than it was of late.
static bool
is_softer(const SrLive* const l)
{
  const float most = l->most_power - l->room_power;
  return l->power - ROOM_WAVERS * l->room_power < most / ALL_OVER;
}

/// Whether the round's last note is over, though the next round may sound already. A note that sags
/// under loud air looks as if it let go.
static bool
last_note_is_over(const SrLive* const l)
{
  bool goes_on = false;
  const int midi = sr_phrase_note(l->phrase, sr_phrase_note_count(l->phrase) - 1)->midi;
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    const bool sounds = !has_let_go(open);
    if (sounds && (open->event.midi == midi || !is_next_first(l, open))) {
      return false;
    }
    goes_on = goes_on || sounds;
  }
  return goes_on || is_softer(l) || sr_window_heard_s(l->window) > l->last_sound_s + MOST_AIR_S;
}

/// Find the signal note where it sounds alone: the ear hears it, or, since its reed may be unlike
/// those that the ear knows, one harmonic series of its pitch is all that there is.
static bool
find_signal(SrLive* const l, double* const onset_s, double* const last_s)
{
  const uint64_t windows = sr_survey_windows(l->survey);
  const bool is_new = windows != l->windows;
  l->windows = windows;
  const SrOpenSound* held = NULL;
  for (size_t i = 0; i < l->open_count; ++i) {
    held = l->open[i].event.midi == l->settings.signal_midi ? &l->open[i] : held;
  }
  if (held && l->open_count == 1 && !(held->falling_s > OVER_S)) {
    *onset_s = held->event.onset_s;
    *last_s = held->event.end_s;
    return true;
  }
  const double alone_hz = sr_survey_alone_hz(l->survey);
  if (is_new && fabs(cents_over_reed(l, l->settings.signal_midi, alone_hz)) < SIGNAL_CENTS) {
    *onset_s = now_s(l) - SR_SURVEY_WINDOW_S / 2.0;
    *last_s = *onset_s;
    return true;
  }
  return false;
}

/// Whether a round is under way: it has begun, and not been left so long before a time that silence
/// would have ended it. Talk behind a note or two keeps it open.
static bool
is_in_round(const SrLive* const l, const double at_s)
{
  const double left_s = at_s - l->settings.broken_off_s - longest_rest_s(l);
  return l->reached >= 2 && !(l->round_start_s < left_s && l->last_end_s < left_s);
}

/// Tell of the signal. What was left before it is over.
static SrStatus
tell_signal(SrLive* const l, const double held_s, SrError* const error)
{
  SrStatus status = SR_OK;
  if (l->reached > TRIED_NOTES) {
    status = end_round(l, l->signal_onset_s - OVERLAP_S, error);
  } else if (l->reached > 1) {
    tell(l, SR_NEWS_NOTHING);
  }
  SrNews* const news = tell(l, SR_NEWS_SIGNAL);
  if (news) {
    news->held_s = held_s;
  }
  // It is no note of a round
  l->since_s = fmax(l->since_s, l->signal_last_s);
  follow_from(l, l->since_s);
  forget_told(l);
  return status;
}

/// See whether the signal note is held, alone and outside of a round. What the click leaves, or a
/// wavering hand, may part it or sound beside it for a moment.
static SrStatus
watch_signal(SrLive* const l, SrError* const error)
{
  SrStatus status = SR_OK;
  const bool sounds = isfinite(l->signal_onset_s);
  double onset_s;
  double last_s;
  if (find_signal(l, &onset_s, &last_s)) {
    const bool goes_on = sounds && onset_s <= l->signal_last_s + SIGNAL_GAP_S;
    l->signal_onset_s = goes_on ? fmin(l->signal_onset_s, onset_s) : onset_s;
    l->signal_last_s = fmax(last_s, goes_on ? l->signal_last_s : 0.0);
    l->signal_in_round = (goes_on && l->signal_in_round) || is_in_round(l, l->signal_onset_s);
    return status;
  }
  if (!sounds || sr_window_heard_s(l->window) <= l->signal_last_s + SIGNAL_GAP_S) {
    return status;
  }
  const double held_s = l->signal_last_s - l->signal_onset_s;
  if (held_s >= l->settings.signal_held_s && !l->signal_in_round &&
      !is_in_round(l, l->signal_onset_s)) {
    status = tell_signal(l, held_s, error);
  }
  l->signal_onset_s = (double)NAN;
  return status;
}

/// Whether a pitch is what the player is at, or may come to next: the last note, the two behind it,
/// or their graces.
static bool
is_due(const SrLive* const l, const int midi)
{
  const size_t first = l->reached > 0 ? l->reached - 1 : 0;
  for (size_t i = first; i < first + 3 && i < sr_phrase_note_count(l->phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(l->phrase, i);
    bool due = note->midi == midi || note->cut_midi == midi;
    for (int k = 0; k < note->ornament_count; ++k) {
      due = due || note->ornament_midi[k] == midi;
    }
    if (due) {
      return true;
    }
  }
  return false;
}

/// Whether a doubtful sound may be the first note of a round: on its way to the pitch of its reed,
/// and there for long enough.
static bool
may_be_first(const SrLive* const l, const SrOpenSound* const open)
{
  double cents;
  return open->event.midi == sr_phrase_note(l->phrase, 0)->midi && open->seen_s >= SLOW_S &&
         open->event.fit >= SLOW_FIT && isfinite(open->event.frequency_hz) &&
         sr_profile_reed(l->profile, open->event.midi, &cents) && !is_sharp(l, &open->event);
}

/// A note that has been told sounds on.
static void
note_last_end(SrLive* const l)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrEvent* const sound = &l->open[i].event;
    if (told_as(l, sound) < sr_phrase_note_count(l->phrase)) {
      l->last_end_s = fmax(l->last_end_s, sound->end_s);
    }
  }
}

/// Whether a sound is a note beyond doubt: no word fits a reed so well, at its pitch, for so long.
static bool
is_surely_note(const SrLive* const l, const SrOpenSound* const open)
{
  const SrEvent* const event = &open->event;
  return open->seen_s - open->falling_s >= NO_CUT_S && event->fit >= CLEARER_FIT &&
         !(fabs(cents_over_reed(l, event->midi, event->frequency_hz)) > MOST_SHARP_CENTS);
}

/// Remember when a note sounded. Of a round that has gone on for a while all its notes count.
static void
note_last_note(SrLive* const l)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    if (is_surely_note(l, &l->open[i])) {
      l->last_note_s = fmax(l->last_note_s, l->open[i].event.end_s);
    }
  }
  if (l->reached >= SURER_NOTES) {
    l->last_note_s = fmax(l->last_note_s, l->last_end_s);
  }
}

/// What sounds now, without what is doubtful and not due.
static size_t
look_at_open(const SrLive* const l, SrOpenSound* const open)
{
  const size_t all = sr_window_open(l->window, l->settings.least_seen_s, open);
  size_t count = 0;
  for (size_t i = 0; i < all; ++i) {
    const bool waited_for =
        l->reached >= 1 ? is_due(l, open[i].event.midi) : may_be_first(l, &open[i]);
    if (!open[i].doubtful || waited_for) {
      open[count++] = open[i];
    }
  }
  return count;
}

/// Look at what sounds, after each step.
static SrStatus
look(SrLive* const l, SrError* const error)
{
  SrOpenSound open[SR_MOST_OPEN];
  const size_t count = look_at_open(l, open);
  const bool changed = has_changed(l, open, count);
  const double heard_s = sr_window_heard_s(l->window);
  const bool more = heard_s > l->looked_s;
  memcpy(l->open, open, count * sizeof(SrOpenSound));
  l->open_count = count;
  l->ended = sr_window_ended(l->window);
  l->judge_anyway = false;
  l->looked_s = heard_s;
  note_last_end(l);
  const bool sounds = is_played(l);
  if (sounds) {
    l->last_sound_s = heard_s;
  }
  note_last_note(l);
  SrStatus status = SR_OK;
  // A first note, and one that was waited for, are told as soon as they are sure, though nothing
  // else changes
  if (changed || (more && (l->waits || (l->reached > 0 && count_told(l) == 0)))) {
    status = judge_so_far(l, error);
  }
  if (l->settings.signal_midi >= 0) {
    status = status == SR_OK ? watch_signal(l, error) : status;
  }
  if (status != SR_OK || l->reached == 0) {
    return status;
  }
  const bool whole = l->reached == sr_phrase_note_count(l->phrase);
  if (whole && last_note_is_over(l)) {
    return end_round(l, fmax(l->last_end_s - OVERLAP_S, l->round_start_s + OVERLAP_S), error);
  }
  const double silent_s = heard_s - l->last_sound_s;
  if (!sounds && silent_s > l->settings.broken_off_s + longest_rest_s(l)) {
    return end_round(l, heard_s, error);
  }
  // They are a beginning if one note behind them did not speak
  const double tried_s = TRIED_S + longest_rest_s(l) + next_note_s(l);
  if (!sounds && l->reached <= TRIED_NOTES && silent_s > tried_s) {
    tell(l, SR_NEWS_NOTHING);
    forget_told(l);
    follow_from(l, heard_s);
  }
  return SR_OK;
}

/// Whether a reed sounds that was not heard before, and fits badly what it was taken to be like.
static bool
is_strange(const SrLive* const l)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    if (open->doubtful && open->seen_s > STRANGE_S &&
        !sr_profile_reed(l->profile, open->event.midi, NULL)) {
      return true;
    }
  }
  return false;
}

/// Learn an instrument that was not known before, while the first round goes on.
static SrStatus
learn_early(SrLive* const l, SrError* const error)
{
  if (now_s(l) - l->round_start_s > MOST_AGAIN_S) { // false if none has begun
    return SR_OK;
  }
  const double heard_s = sr_survey_heard_s(l->survey);
  const bool grown = l->learn_at_s <= LEARN_LAST_S && heard_s >= l->learn_at_s;
  const bool strange = heard_s >= l->learnt_s + STRANGE_S && is_strange(l);
  const bool misread = heard_s >= l->read_s + READ_AGAIN_S && change_reading(l);
  if (!grown && !strange && !misread) {
    return SR_OK;
  }
  while (l->learn_at_s <= heard_s && l->learn_at_s <= LEARN_LAST_S) {
    l->learn_at_s *= l->learn_at_s < LEARN_MORE_S ? LEARN_FACTOR : LEARN_MORE_FACTOR;
  }
  const SrStatus status = learn(l, error);
  return status == SR_OK ? change_ear(l, error) : status;
}

static SrStatus
do_step(SrLive* const l, SrError* const error)
{
  if (!sr_past_add(l->past, l->step, l->step_size)) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  note_loudest(l, l->step, l->step_size, l->pushed);
  follow_power(l);
  l->pushed += l->step_size;
  l->step_fill = 0;
  sr_survey_push(l->survey, l->step, l->step_size);
  SrStatus status = sr_window_push(l->window, l->step, l->step_size);
  if (status != SR_OK) {
    return sr_error_set(error, status, "There is not enough memory to listen.");
  }
  status = look(l, error);
  if (status == SR_OK && l->round_over) {
    l->round_over = false;
    status = learn_more(l, error);
    status = status == SR_OK && l->relisten ? change_ear(l, error) : status;
  } else if (status == SR_OK) {
    status = learn_early(l, error);
  }
  if (status == SR_OK) {
    status = hear_ahead(l, error);
  }
  if (!isfinite(l->round_start_s)) {
    // Nothing of this will be a round: it need not be heard again, but for the run-up
    const double keep_s = now_s(l) - RUN_UP_S - 2.0;
    sr_past_forget(l->past, (uint64_t)(fmax(0.0, keep_s) * l->settings.rate_hz));
  }
  return status;
}

SrStatus
sr_live_push(SrLive* const l, const float* const samples, const size_t count, SrError* const error)
{
  SrStatus status = SR_OK;
  for (size_t done = 0; status == SR_OK && done < count;) {
    const size_t room = l->step_size - l->step_fill;
    const size_t part = count - done < room ? count - done : room;
    memcpy(l->step + l->step_fill, samples + done, part * sizeof(float));
    l->step_fill += part;
    done += part;
    if (l->step_fill == l->step_size) {
      status = do_step(l, error);
    }
  }
  if (status == SR_OK && l->lost) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to tell the news.");
  }
  return status;
}

SrStatus
sr_live_finish(SrLive* const l, SrError* const error)
{
  SrStatus status = l->reached > 0 ? end_round(l, INFINITY, error) : SR_OK;
  return status == SR_OK && sr_survey_heard_s(l->survey) > l->learnt_s ? learn(l, error) : status;
}

void
sr_live_set_click(SrLive* const l, const double target_bpm, const double click_s,
                  const double click_period_s, const double click_pulses)
{
  l->settings.judge.target_bpm = target_bpm;
  l->settings.judge.click_s = click_s;
  l->settings.judge.click_period_s = click_period_s;
  l->settings.judge.click_pulses = click_pulses;
}

void
sr_live_set_silences(SrLive* const l, const SrSilence* const silences, const size_t count)
{
  const size_t kept = count < SR_LIVE_SILENCES ? count : SR_LIVE_SILENCES;
  if (kept > 0) {
    memcpy(l->silences, silences + (count - kept), kept * sizeof(SrSilence));
  }
  l->settings.judge.silences = l->silences;
  l->settings.judge.silence_count = kept;
}

bool
sr_live_in_round(const SrLive* const l)
{
  return l->reached > 0;
}

double
sr_live_round_start_s(const SrLive* const l)
{
  return isfinite(l->round_start_s) ? l->round_start_s : sr_window_heard_s(l->window);
}

double
sr_live_last_note_s(const SrLive* const l)
{
  // A rest that is written is no silence
  const double waits_s = l->settings.broken_off_s + longest_rest_s(l);
  const bool rests = l->reached > 0 && l->looked_s - l->last_note_s < waits_s;
  return rests ? l->looked_s : l->last_note_s;
}

bool
sr_live_signal_sounds(const SrLive* const l)
{
  return isfinite(l->signal_onset_s);
}

SrProfile*
sr_live_profile(const SrLive* const l)
{
  return sr_profile_copy(l->profile);
}
