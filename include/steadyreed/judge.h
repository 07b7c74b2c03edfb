// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file judge.h
   Events and a phrase in, an assessment out. Units are in the names: _s seconds from the start of
   the take, _ms milliseconds, _db decibels. NAN means "not known" in every double, -1 in every MIDI
   number.
*/

#ifndef STEADYREED_JUDGE_H
#define STEADYREED_JUDGE_H

#include <steadyreed/declarations.h>
#include <steadyreed/hear.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Outcome of a written note.
typedef enum {
  SR_NOTE_PLAYED,
  SR_NOTE_MISSED,
  SR_NOTE_WRONG,   ///< Another pitch was played instead
  SR_NOTE_UNHEARD, ///< Lost by the microphone; not the player's fault
} SrNoteStatus;

/// Outcome of a cut or a strike; what is said of cuts here holds for strikes as well.
typedef enum {
  SR_CUT_CLEAN,
  SR_CUT_LONG,   ///< Heard as a note
  SR_CUT_JOINED, ///< The note before never stopped
  SR_CUT_ABSENT, ///< Separated, but no cut heard; or, if its pitch is known, a strike instead of a
                 ///< cut or the reverse
  SR_CUT_STRAY,  ///< A cut where none is written
} SrCutVerdict;

/// "No", "yes" and "does not apply".
typedef enum { SR_NO, SR_YES, SR_NOT_ASKED } SrAnswer;

/// A cut, written or stray.
typedef struct {
  SrCutVerdict verdict;
  double onset_s;   ///< Start of the cut's own sound; NAN if not heard
  double length_ms; ///< From there to the main note, judged by the end of the cut and the onset of
                    ///< the note; NAN if not heard
  int midi;         ///< Pitch heard; -1 if not heard
  double fall_db;   ///< How far the main note had fallen; NAN if it did not sound before
} SrCut;

/// One written note in one round.
typedef struct {
  size_t index; ///< Index in the phrase, from 0
  int bar;      ///< Written bar number
  int midi;     ///< As written
  SrNoteStatus status;
  bool left_out;  ///< Missed because the player skipped ahead, leaving no time for it
  int heard_midi; ///< Pitch played instead; -1 if none was
  double due_s; ///< Due time by the fitted (or clicked) pulse; NAN without a fitted pulse, and for
                ///< notes left out
  double onset_s;   ///< Start, including its cut; NAN if missed or joined
  double end_s;     ///< End of the sound
  double offset_ms; ///< onset_s - due_s; positive is late
  double cents;     ///< From equal temperament on the take's reference
  double level_db;  ///< dBFS, RMS
  SrAnswer joined;  ///< For a note that repeats the pitch before it; otherwise SR_NOT_ASKED
  bool air_asked;   ///< Whether the phrase asks for air here and air can be detected
  bool has_cut;     ///< Whether `cut` is filled
  SrCut cut;
  SrOrnament ornament; ///< As written; ornament.h tells which are judged
  size_t graces;   ///< For an ornament that is not judged: graces heard before or on the note, at
                   ///< other pitches than its own
  double speaks_s; ///< Start of the note itself, after its graces; NAN if it does not sound. With
                   ///< several graces its beat may lie anywhere from `onset_s` to here
} SrNoteVerdict;

/**
   An insertion: a sound that is no written note, cut, ornament, chord note or octave below the
   melody.
*/
typedef struct {
  double onset_s;
  double end_s;
  int midi;
} SrInsertion;

/// A detected air release. Ones hidden too well to be detected are not listed.
typedef struct {
  double start_s;
  double end_s;
  double level_db;        ///< RMS of the hiss, 0.5 to 10 kHz, relative to the note's
  double over_mask_db;    ///< Above the masking threshold of note and room; see mask.h
  bool audible;           ///< `over_mask_db` is over 0
  size_t note_index;      ///< The note it lies under, or after
  bool between;           ///< No note sounded during it: air taken between two notes
  bool asked;             ///< The phrase asks for air at that note
  double note_dip_db;     ///< Largest dip of the note during it; NAN if unknown
  double note_bend_cents; ///< Pitch bend of the note, negative is flat; NAN if unknown
  double late_ms;         ///< Lateness of a note due during it; NAN if there was none
  bool failed;            ///< A note due during it did not sound
} SrAirRelease;

/// Kinds of slip in the flow of a round.
typedef enum {
  SR_SLIP_FALSE_START, ///< Started, broke off within the first notes, started again
  SR_SLIP_RESTART,     ///< Went back to an earlier note and went on from there
  SR_SLIP_HESITATION,  ///< Waited before a note
  SR_SLIP_STOPPED,     ///< Broke off and did not finish
  SR_SLIP_HURRIED,     ///< Came in early, and the following notes with it
  SR_SLIP_LEFT_OUT,    ///< Skipped to a later note, with no time for those between
  SR_SLIP_OTHER_TEMPO, ///< Played a stretch slower or faster than before and after it
} SrSlipKind;

/// A slip.
typedef struct {
  SrSlipKind kind;
  double at_s;       ///< When
  size_t note_index; ///< FALSE_START, STOPPED: last note played; RESTART: note gone back to;
                     ///< HESITATION: note waited for; HURRIED: note that came early; LEFT_OUT: note
                     ///< skipped to; OTHER_TEMPO: first note of the stretch
  int bar;           ///< Bar of that note
  double wait_s;     ///< HESITATION, HURRIED: onset minus due time, negative if early; OTHER_TEMPO:
                     ///< extra time the stretch took, negative if less; otherwise NAN
  size_t left_out;   ///< LEFT_OUT: number of notes skipped before `note_index`; otherwise 0
  size_t until;      ///< OTHER_TEMPO: first note back in the old tempo, the round's `note_count` if
                     ///< there is none; otherwise 0
  double longer_percent; ///< OTHER_TEMPO: how much longer each pulse took; otherwise 0
} SrSlip;

/// Most positions within a pulse for which lilt is given.
#define SR_LILT_SIZE 12

/// Tempo and rhythm of one round.
typedef struct {
  SrFraction unit;       ///< One pulse, in whole notes
  double target_bpm;     ///< Pulses a minute requested; NAN if free
  double played_bpm;     ///< Pulses a minute at the middle of the round
  double drift_percent;  ///< Change of tempo from the first to the last note; positive is faster
  double first_bpm;      ///< Pulses a minute at the first note; NAN if drift is unknown
  double last_bpm;       ///< At the last note
  double change_percent; ///< How much faster the fastest tempo of the round is than the slowest;
                         ///< NAN if drift is unknown. All these tempo figures exclude stretches at
                         ///< another tempo, which are slips
  size_t turns;          ///< Number of points where the tempo jumps or starts to change
  size_t jump_note; ///< First note after a tempo jump; the round's `note_count` if there is none
  double mean_offset_ms; ///< Ahead (negative) or behind; NAN without a click, or if the player did
                         ///< not stay with it
  double left_pulses;    ///< Pulses by which the player ran ahead of a click not stayed with
                      ///< (negative: fell behind) by the end of an unbroken stretch; more than half
                      ///< a click or half the phrase's shortest common step. NAN if the player
                      ///< stayed with the click, or without one
  double left_percent; ///< How much faster than the click that stretch was; NAN likewise
  double spread_ms;    ///< Standard deviation of the offsets after removing pulse, drift and lilt
  double npvi;         ///< Normalised pairwise variability index of the inter-onset intervals
  size_t lilt_count;   ///< Entries in `lilt`, 0 if the phrase has no even division
  double lilt[SR_LILT_SIZE]; ///< Length of each position in the pulse relative to an even one: 1 is
                             ///< even
} SrPulse;

/**
   Scores 0 to 100; NAN where nothing was asked or heard.

   cuts     = 100 * clean cuts / cuts asked. A cut whose note was missed is not clean; one lost by
              the recording is not asked.
   evenness = 100 * even * steady * unbroken, from four onsets on:
              even     = 1 - (unevenness - noticeable) / (quarter - noticeable), where `unevenness`
                         is the larger of the spread and the root mean square of all offsets,
                         `noticeable` the just noticeable displacement for the phrase's shortest
                         common step, and `quarter` a quarter of that step, at which a note's
                         position in the rhythm is lost;
              steady   = sr_round_steadiness();
              unbroken = the product, over all hesitations, restarts and early notes, of
                         1 - 0.2 * the time lost or gained in pulses (at most 1; 1 for a restart):
                         a break of a pulse or more takes off a fifth. In a stretch at another
                         tempo each pulse lost or gained takes off a fifth.
   air      = 100 * (1 - sum over audible releases of cost / places), where `places` are the
              releases heard plus the played notes that ask for air and had none; `cost` rises
              from a third just above the masking threshold to 1 at 12 dB or more above it.

   Each factor and each result is clamped to its range. The just noticeable values are from Friberg
   and Sundberg (1995), the rest is common practice, no source.
*/
typedef struct {
  double cuts;
  double evenness;
  double air;
} SrScores;

/// Counts of notes, cuts and air.
typedef struct {
  size_t notes;
  size_t cuts; ///< Written ones
  size_t air;  ///< Notes that ask for air
} SrAmounts;

/// A stretch in which the click was silent.
typedef struct {
  double start_s; ///< When the first silent click was due
  double end_s;   ///< When the click came back
  unsigned bars;  ///< Number of silent bars
} SrSilence;

/// How the player kept the beat while the click was silent.
typedef struct {
  SrSilence silence;
  double offset_ms; ///< Offset from the click when it came back, by a line fitted to all notes of
                    ///< the stretch; positive is late; NAN if it is not known when the player heard
                    ///< the click
  double change_ms; ///< Change of the offset since just before the stretch
  double tempo_percent; ///< How much faster than the click the stretch was
} SrAlone;

/// One playing of the phrase.
typedef struct {
  double start_s;
  double end_s;
  SrPulse pulse;
  SrNoteVerdict* notes; ///< One for each note of the phrase
  size_t note_count;
  SrInsertion* insertions;
  size_t insertion_count;
  SrAirRelease* air;
  size_t air_count;
  SrSlip* slips;
  size_t slip_count;
  SrAmounts asked;  ///< The whole phrase, except for what the recording lost and what comes before
                    ///< the bar the round began with
  SrAmounts judged; ///< The part of these that was played and judged
  SrAlone* alone;   ///< Each silent stretch within the round
  size_t alone_count;
  SrScores scores;
  char** advice;        ///< "PLACE[, FAULT]: WHAT; REMEDY", UTF-8, most serious first
  size_t* advice_notes; ///< For each, the note it is about; `note_count` if it is the whole round
  size_t advice_count;
  bool clean; ///< Nothing was found to advise on: `advice` is praise and a next step
} SrRound;

/**
   Whether a round was ahead of the click, or behind it, by more than is usual of people who play
   with one: over 100 ms on average. Such a round is not clean, however even it is.

   @param round Any; false unless its `mean_offset_ms` is known.
*/
bool sr_round_is_off_click(const SrRound* round);

/// Facts about the recording.
typedef struct {
  const char* path; ///< As given, copied; "" for a live take
  double seconds;
  double rate_hz;
  double peak_dbfs;       ///< Largest absolute sample; -INFINITY for silence
  size_t clipped_samples; ///< Samples at full scale in runs of three or more
} SrTakeFacts;

/// The assessment of a take. Free it with sr_assessment_del().
typedef struct {
  char* title;
  int first_bar;
  int last_bar;
  size_t phrase_notes;
  char* path;
  SrTakeFacts take;      ///< Its path points to `path`
  double reference_hz;   ///< A4 at which the reeds heard are in tune on average, pitches equally
                         ///< weighted
  bool doubled;          ///< Read as notes doubled an octave below; see listen.h
  bool accompanied;      ///< Read as a melody with accompaniment below it; see listen.h
  double click_s;        ///< When any one click was heard; NAN if it was judged without a click
  double click_period_s; ///< From click to click; NAN without
  double click_pulses;   ///< Pulses from click to click; 0 without
  SrAirCarriage air_carriage; ///< If not SR_AIR_CARRIED, no air is reported and none is scored
  SrRound* rounds;
  size_t round_count;
} SrAssessment;

/// Why air is not reported for a take, as a sentence; NULL if it is.
const char* sr_judge_air_unreported(SrAirCarriage carriage);

/// Settings a player may change; fill with sr_judge_settings_default().
typedef struct {
  double long_cut_ms;    ///< A cut over this is heard as a note: 70 (common practice, no source)
  double long_cut_share; ///< … or over this share of cut and note together: 0.4 (common practice,
                         ///< no source)
  double joined_fall_db; ///< A note that fell by less than this did not stop: 10 (design, from
                         ///< measurements)
  double target_bpm;     ///< Pulses a minute requested; NAN for free tempo
  double reference_hz;   ///< A4 to compare with; NAN to estimate it from the take
  double click_s; ///< When the player heard any one click, in the take's time; NAN if unknown, and
                  ///< then nothing is said of ahead and behind
  double click_period_s;     ///< From click to click, s; NAN without
  double click_pulses;       ///< Pulses from click to click: 1, or the pulses in a bar; 0 without
  const SrSilence* silences; ///< When the click was silent, in order; not copied
  size_t silence_count;
  bool accompanied; ///< Not a player's setting: the take was read as accompanied. Then no cut is
                    ///< judged absent or joined, no note joined, and no air is reported.
                    ///< sr_listen() and sr_live_new() overwrite it
  const char* const* places; ///< For each note where to play it, such as "L1-3, draw", for the
                             ///< advice; NULL if unknown. Not copied
} SrJudgeSettings;

/// The settings above with their defaults.
SrJudgeSettings sr_judge_settings_default(void);
/// The tempo a player is likely to take, pulses a minute: the requested one, otherwise the phrase's
/// own, otherwise 85.
double sr_judge_likely_bpm(const SrPhrase* phrase, const SrJudgeSettings* settings);

/**
   Judge a take.

   @param phrase   What was to be played.
   @param heard    What was heard.
   @param facts    About the recording.
   @param settings NULL for the defaults.
   @param assessment Receives it; NULL on error.
   @return SR_OK; SR_NOTHING_HEARD if no event sounds; SR_NO_MATCH if what
   sounds is not this phrase; SR_NO_MEMORY.
*/
SrStatus sr_judge_take(const SrPhrase* phrase, const SrHeard* heard, const SrTakeFacts* facts,
                       const SrJudgeSettings* settings, SrAssessment** assessment, SrError* error);

/// A playing in progress. Free it with sr_so_far_clear().
typedef struct {
  size_t rounds_before; ///< Rounds in the same sounds that ended before it began
  size_t reached;       ///< Number of notes reached; `notes` is meaningless beyond it
  double start_s;       ///< When it began; NAN if it has not
  double played_bpm;    ///< Pulses a minute so far; NAN if not known yet
  SrNoteVerdict* notes; ///< One for each note of the phrase; NULL if `reached` is 0
  size_t note_count;
} SrSoFar;

/// State kept from one look at a playing to the next, so that only the new part costs time.
typedef struct SrFollowerImpl SrFollower;

/// Create one for playings of one phrase, which must outlive it; NULL without memory.
SrFollower* sr_follower_new(void);
/// Free; NULL does nothing.
void sr_follower_del(SrFollower* follower);

/**
   Judge a playing in progress.

   @param phrase   What is being played.
   @param heard    What was heard; unfinished sounds count in their current state.
   @param settings NULL for the defaults.
   @param follower Of the earlier looks; NULL for none. It does not affect the result.
   @param so_far   Receives the state; clear it also on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_judge_so_far(const SrPhrase* phrase, const SrHeard* heard,
                         const SrJudgeSettings* settings, SrFollower* follower, SrSoFar* so_far);
/// Free what it holds.
void sr_so_far_clear(SrSoFar* so_far);

/**
   How much of the take a reading explains: notes played as written, minus wrong notes and half of
   the insertions. For comparing readings of one take.

   @param assessment NULL for a take that was refused: 0.
*/
double sr_assessment_explained(const SrAssessment* assessment);
/// Notes the rounds of an assessment ask for, up to where the player stopped; 0 for NULL.
size_t sr_assessment_asked(const SrAssessment* assessment);
/// Share of these that were played as written, without those lost by the microphone, 0 to 1; 0 for
/// NULL.
double sr_assessment_played(const SrAssessment* assessment);

/// Free an assessment; NULL does nothing.
void sr_assessment_del(SrAssessment* assessment);

/**
   Whether a note comes after the point where the player stopped for good. It counts as missed but
   is not listed as a mistake.

   @param round As judged.
   @param note  Index of the note, from 0.
*/
bool sr_round_is_behind_stop(const SrRound* round, size_t note);

/// Kinds of insertion.
typedef enum {
  SR_INSERTION_OTHER,     ///< An extra note
  SR_INSERTION_CORRECTED, ///< A wrong pitch that was self-corrected at once
  SR_INSERTION_AGAIN      ///< A note played twice
} SrInsertionKind;

/**
   The kind of an insertion and the note it belongs to.

   @param round As judged.
   @param insertion Index in its `insertions`, less than `insertion_count`.
   @param note  Receives an index: of the note that was self-corrected or played twice; otherwise of
                the first note heard after the insertion, or of the last one heard; `note_count` if
                none was.
   @return The kind.
*/
SrInsertionKind sr_round_insertion_kind(const SrRound* round, size_t insertion, size_t* note);

/**
   Whether a hesitation is only the time that a self-correction or a repeated note took.

   @param round As judged.
   @param slip  One of its slips, of any kind.
   @param insertion Index in its `insertions`, less than `insertion_count`.
   @return Whether the two are one mistake.
*/
bool sr_round_is_same_slip(const SrRound* round, const SrSlip* slip, size_t insertion);

/**
   Whether any slip of a round is the same mistake as an insertion.

   @param round As judged.
   @param insertion Index in its `insertions`, less than `insertion_count`.
*/
bool sr_round_insertion_has_slip(const SrRound* round, size_t insertion);

/**
   The note a round began with; those before it were left out and are not asked for.

   @param round As judged.
   @return Its index; 0 unless the round began with a later bar.
*/
size_t sr_round_beginning(const SrRound* round);

/**
   The bars of a stretch at another tempo: those with at least half of their notes in it, otherwise
   the one in which it began.

   @param round As judged.
   @param slip  One of its slips, of kind SR_SLIP_OTHER_TEMPO.
   @param first Receives the number of the first bar.
   @param last  Receives the number of the last one.
*/
void sr_round_stretch_bars(const SrRound* round, const SrSlip* slip, int* first, int* last);

/**
   Which time of a repeated bar a note is in: "first time" to "eighth time", or "last time" beyond.
   Only where that helps to find what went wrong: "" if the phrase has the note once, or if the same
   note went wrong another time too.

   @param phrase What was played; NULL for "".
   @param note   Index of the note, less than `note_count`.
   @return A text that lives as long as the program.
*/
const char* sr_round_time_of(const SrPhrase* phrase, const SrRound* round, size_t note);

/**
   Steadiness of a round's tempo: 1 if the change is not noticeable, 0 if the tempo became half as
   fast again or more, linear in between. Noticeable is the larger of 2.5 % (Friberg and Sundberg
   1995) and twice the standard deviation of the tempo change that follows from the round's spread.

   @param round As judged.
   @return 0 to 1; 1 if its tempo is not known.
*/
double sr_round_steadiness(const SrRound* round);

/**
   Normalised pairwise variability index (Grabe and Low 2002):
   100 / (m - 1) * sum over k of |d[k] - d[k+1]| / ((d[k] + d[k+1]) / 2).

   @param durations Positive, in any unit.
   @param count     At least 2, otherwise the result is NAN.
*/
double sr_judge_npvi(const double* durations, size_t count);

/// Evenness of the inter-onset intervals in playing without a phrase.
typedef struct {
  double unit_s;   ///< The unit interval, of which the others are one to four times; NAN if unknown
  double stray_ms; ///< Mean deviation from a multiple of the unit, which follows tempo changes
  size_t others;   ///< Intervals that are no multiple of the unit, such as after a hesitation
} SrIntervals;

/**
   Find the unit of inter-onset intervals and the deviation from it. Our own method.

   @param steps Inter-onset intervals in order, positive, s; only the last 512 are used.
   @param count Fewer than 3 give no result.
*/
SrIntervals sr_judge_intervals(const double* steps, size_t count);

/// Just noticeable displacement (Friberg and Sundberg 1995): 6 ms for intervals under 240 ms, 2.5 %
/// from there on.
double sr_judge_just_noticeable_ms(double interval_ms);

/// Frequency of a MIDI note in equal temperament: reference_hz * 2^((midi - 69) / 12).
double sr_judge_frequency_hz(double midi, double reference_hz);

SR_END_DECLARATIONS

#endif // STEADYREED_JUDGE_H
