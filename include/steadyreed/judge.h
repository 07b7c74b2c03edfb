// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file judge.h
   Events and a phrase in, an assessment out. Units are in the names: _s seconds
   from the start of the take, _ms milliseconds, _db decibels. NAN stands for
   "not known" in every double, -1 in every MIDI number.
*/

#ifndef STEADYREED_JUDGE_H
#define STEADYREED_JUDGE_H

#include <steadyreed/hear.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/// What became of a written note.
typedef enum {
  SR_NOTE_PLAYED,
  SR_NOTE_MISSED,
  SR_NOTE_WRONG,   ///< Another pitch stood in its place
  SR_NOTE_UNHEARD, ///< The microphone did not deliver; nobody's fault
} SrNoteStatus;

/// How a cut or a strike came out; what is said of a cut here holds for a strike as well.
typedef enum {
  SR_CUT_CLEAN,
  SR_CUT_LONG,   ///< Heard as a note
  SR_CUT_JOINED, ///< The note before never let go
  SR_CUT_ABSENT, ///< Separated, but no cut heard; or, if its pitch is known, a strike in its place,
                 ///< or a cut in the place of a strike
  SR_CUT_STRAY,  ///< A cut where none is written
} SrCutVerdict;

/// "No", "yes" and "does not apply".
typedef enum { SR_NO, SR_YES, SR_NOT_ASKED } SrAnswer;

/// A cut, written or stray.
typedef struct {
  SrCutVerdict verdict;
  double onset_s;   ///< Start of the cut's own sound; NAN if none was heard
  double length_ms; ///< From there to where the main note takes over, as the end of the one and the
                    ///< onset of the other tell it; NAN if none was heard
  int midi;         ///< Pitch heard; -1 if none was heard
  double fall_db;   ///< How far the main note had fallen; NAN if that note did not sound before
} SrCut;

/// One written note in one round.
typedef struct {
  size_t index; ///< Index in the phrase, from 0
  int bar;      ///< Bar number as written
  int midi;     ///< As written
  SrNoteStatus status;
  bool left_out;  ///< Missed, and no time was left for it: the player went on further ahead
  int heard_midi; ///< What stood there; -1 if nothing did
  double due_s; ///< When the fitted (or clicked) pulse wanted it; NAN if no pulse could be fitted,
                ///< and for what was left out
  double onset_s;   ///< First sound, its cut included; NAN if missed or joined
  double end_s;     ///< End of the sound
  double offset_ms; ///< onset_s - due_s; positive is late
  double cents;     ///< From equal temperament on the take's reference
  double level_db;  ///< dBFS, RMS
  SrAnswer joined;  ///< For a note that repeats the pitch before it; else SR_NOT_ASKED
  bool air_asked;   ///< Whether the phrase asks for air here, where air can be told
  bool has_cut;     ///< Whether `cut` is filled
  SrCut cut;
  SrOrnament ornament; ///< As written; ornament.h says which are judged
  size_t graces;       ///< Of one that is not judged: graces of another pitch than the note's that
                       ///< were heard, before it or on it
  double speaks_s; ///< Where the note itself speaks, behind its graces; NAN if it does not. With
                   ///< several graces its beat may lie anywhere from `onset_s` to there
} SrNoteVerdict;

/// A sound that is no written note, nor cut, ornament, chord sound or octave under the melody.
typedef struct {
  double onset_s;
  double end_s;
  int midi;
} SrExtraNote;

/// An air release that left a trace. One that is so well hidden that none is found is not here.
typedef struct {
  double start_s;
  double end_s;
  double level_db;        ///< RMS of the hiss, 0.5 to 10 kHz, against that of the note
  double over_mask_db;    ///< Over what the note and the room hide of it; see mask.h
  bool audible;           ///< `over_mask_db` is over 0
  size_t note_index;      ///< The note it lies under, or after
  bool between;           ///< No note sounded meanwhile: a gulp between two
  bool asked;             ///< The phrase asks for air at that note
  double note_dip_db;     ///< How far the note fell meanwhile; NAN if not known
  double note_bend_cents; ///< How far it bent, negative is flat; NAN if not known
  double late_ms;         ///< How late a note came that was due under it; NAN if none did
  bool failed;            ///< A note that was due under it did not come
} SrAirRelease;

/// Kinds of slip in the flow of a round.
typedef enum {
  SR_SLIP_FALSE_START, ///< Began, broke off within the first notes, began again
  SR_SLIP_RESTART,     ///< Went back to an earlier note and went on from there
  SR_SLIP_HESITATION,  ///< Waited before a note
  SR_SLIP_STOPPED,     ///< Broke off and did not finish
  SR_SLIP_HURRIED,     ///< Came in before its time, and what follows with it
  SR_SLIP_LEFT_OUT,    ///< Went straight on to a later note, with no time for those between
  SR_SLIP_OTHER_TEMPO, ///< Was slower or faster for a stretch than before and behind it
} SrSlipKind;

/// A slip.
typedef struct {
  SrSlipKind kind;
  double at_s;       ///< When
  size_t note_index; ///< FALSE_START, STOPPED: last note played; RESTART: note gone back to;
                     ///< HESITATION: note waited for; HURRIED: note that came in; LEFT_OUT: note
                     ///< gone on with; OTHER_TEMPO: note with which it began
  int bar;           ///< Bar of that note
  double wait_s;     ///< HESITATION, HURRIED: after its due time, negative before it; OTHER_TEMPO:
                     ///< how much longer the stretch took, negative if less; else NAN
  size_t left_out;   ///< LEFT_OUT: how many notes before `note_index`; else 0
  size_t until;      ///< OTHER_TEMPO: note with which the tempo was the old one again, the round's
                     ///< `note_count` if it never was; else 0
  double longer_percent; ///< OTHER_TEMPO: how much longer each pulse took; else 0
} SrSlip;

/// Most places inside one pulse for which lilt is told.
#define SR_LILT_SIZE 12

/// The beat of one round.
typedef struct {
  SrFraction unit;       ///< What one pulse is, in whole notes
  double target_bpm;     ///< Pulses a minute asked for; NAN if free
  double played_bpm;     ///< Pulses a minute played, at the middle of the round
  double drift_percent;  ///< Change of tempo from the first to the last note; positive is faster
  double first_bpm;      ///< At the first note, pulses a minute; NAN if drift is not known
  double last_bpm;       ///< At the last note
  double change_percent; ///< The fastest tempo of the round over its slowest, in percent more;
                         ///< NAN likewise. Of all these stretches at another tempo, which are
                         ///< slips, are left out
  size_t turns;          ///< Places where the tempo became another or began to change
  size_t jump_note;      ///< Note from which on the tempo was another one at once; the round's
                         ///< `note_count` if it never was
  double mean_offset_ms; ///< Ahead (negative) or behind; NAN without a click to compare with, and
                         ///< if the player did not stay with it
  double left_pulses;    ///< By how many pulses the player ran ahead of a click that was not stayed
                      ///< with, negative is behind: by the end of a stretch without a break, more
                      ///< than half a click or half the phrase's shortest common step. NAN if the
                      ///< player stayed with it, or there was none
  double left_percent; ///< By how much that stretch was faster than the click; NAN likewise
  double spread_ms; ///< Standard deviation of the offsets after pulse, drift and lilt are taken off
  double npvi;      ///< Normalised pairwise variability index of the times between onsets
  size_t lilt_count;         ///< Places of `lilt`, 0 if the phrase has no even division
  double lilt[SR_LILT_SIZE]; ///< Length of each place of the pulse against an even one: 1 is even
} SrPulse;

/**
   Scores 0 to 100; NAN where nothing was asked or heard.

   cuts     = 100 * clean cuts / cuts asked. A cut whose note never came counts as not clean; one
              that the recording lost is not asked.
   evenness = 100 * even * steady * unbroken, from four onsets on:
              even     = 1 - (unevenness - noticeable) / (quarter - noticeable), where `unevenness`
                         is the spread or, if that is more, the root mean square of all offsets,
                         `noticeable` the just noticeable displacement for the phrase's shortest
                         common step, and `quarter` a quarter of that step: so far off, a note has
                         no longer a place of its own;
              steady   = sr_round_steadiness();
              unbroken = the product, over all hesitations, restarts and notes that came too soon,
                         of 1 - 0.2 * the time lost or gained in pulses, at most 1 and for a
                         restart 1: a break of a pulse or more takes a fifth of what is left. Of a
                         stretch at another tempo each pulse that was lost or gained does.
   air      = 100 * (1 - sum over audible releases of cost / places), where `places` are the
              releases heard and, of the notes that ask for air and were played, those
              where none was; `cost` is a third for one that is just over what the note
              hides, rising to 1 for one that is 12 dB over it or more.

   Each factor and each result is kept within its range. What noticeable is comes from Friberg and
   Sundberg (1995), the rest is common practice, no source.
*/
typedef struct {
  double cuts;
  double evenness;
  double air;
} SrScores;

/// How much of something there was.
typedef struct {
  size_t notes;
  size_t cuts; ///< Written ones
  size_t air;  ///< Notes that ask for air
} SrAmounts;

/// A stretch in which the click was silent.
typedef struct {
  double start_s; ///< When the first click was due that did not come
  double end_s;   ///< When the click came back
  unsigned bars;  ///< How many that was
} SrSilence;

/// How a player kept the beat alone, while the click was silent.
typedef struct {
  SrSilence silence;
  double offset_ms;     ///< By how much the player met the click when it came back, by a line
                        ///< through all notes of the stretch; positive is late; NAN if it is not
                        ///< known when the player heard it
  double change_ms;     ///< The same against how the player had been with the click just before
  double tempo_percent; ///< By how much the stretch was faster than the click
} SrAlone;

/// One playing of the phrase.
typedef struct {
  double start_s;
  double end_s;
  SrPulse pulse;
  SrNoteVerdict* notes; ///< One for each note of the phrase
  size_t note_count;
  SrExtraNote* extra;
  size_t extra_count;
  SrAirRelease* air;
  size_t air_count;
  SrSlip* slips;
  size_t slip_count;
  SrAmounts asked; ///< All of the phrase, but for what the recording lost and what comes before the
                   ///< bar with which the round began
  SrAmounts judged; ///< Of these, what came: there is a verdict on it
  SrAlone* alone;   ///< Each silent stretch that the round went through
  size_t alone_count;
  SrScores scores;
  char** advice; ///< Lines, UTF-8, worst thing first
  size_t advice_count;
} SrRound;

/// Facts about the recording.
typedef struct {
  const char* path; ///< As given; copied; "" for a live take
  double seconds;
  double rate_hz;
  double peak_dbfs;       ///< Largest absolute sample; -INFINITY for silence
  size_t clipped_samples; ///< Samples at full scale in runs of three or more
} SrTakeFacts;

/// All that is said of a take. Free it with sr_assessment_del().
typedef struct {
  char* title;
  int first_bar;
  int last_bar;
  size_t phrase_notes;
  char* path;
  SrTakeFacts take;    ///< Its path points to `path`
  double reference_hz; ///< A4 for which the reeds heard are in tune on the mean, each pitch counted
                       ///< once
  bool doubled;        ///< Read as one whose notes are doubled an octave below; see listen.h
  bool accompanied;    ///< Read as a melody with others below it; see listen.h
  double click_s;      ///< When a click of the metronome was heard; NAN if it was judged without
  double click_period_s;      ///< From click to click; NAN without
  double click_pulses;        ///< Pulses from click to click; 0 without
  SrAirCarriage air_carriage; ///< If not SR_AIR_CARRIED, no air is told and none is scored
  SrRound* rounds;
  size_t round_count;
} SrAssessment;

/// Why no air is told of a take, as a sentence; NULL if it is.
const char* sr_judge_air_untold(SrAirCarriage carriage);

/// What a player may change; fill with sr_judge_settings_default().
typedef struct {
  double long_cut_ms;    ///< A cut over this is heard as a note: 70 (common practice, no source)
  double long_cut_share; ///< … or over this share of cut and note together: 0.4 (common practice,
                         ///< no source)
  double joined_fall_db; ///< A note that fell by less never let go: 10 (design, from measurements)
  double target_bpm;     ///< Pulses a minute asked for; NAN for free tempo
  double reference_hz;   ///< A4 to hold against; NAN to take it from the take
  double click_s; ///< When any click of the metronome was heard by the player, in the take's time;
                  ///< NAN if that is not known: then nothing is said of ahead and behind
  double click_period_s;     ///< From click to click, s; NAN without
  double click_pulses;       ///< Pulses from click to click: 1, or as many as a bar has; 0 without
  const SrSilence* silences; ///< When the click was silent, in order; not copied
  size_t silence_count;
  bool accompanied; ///< No wish of a player's, but what was heard was read as with others below the
                    ///< melody: no cut is told as absent or joined, no note as joined, and no air.
                    ///< sr_listen() and sr_live_new() set it themselves, whatever it was
  const char* const* places; ///< For each note where it is to be played, such as "L1-3, draw", for
                             ///< the advice; NULL if that is not known. Not copied
} SrJudgeSettings;

/// The settings above with their defaults.
SrJudgeSettings sr_judge_settings_default(void);
/// The tempo a player is likely to take, pulses a minute: the one asked for, else the phrase's own,
/// else 85.
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

/// A playing that goes on, as far as it has got. Free it with sr_so_far_clear().
typedef struct {
  size_t rounds_before; ///< Rounds among the same sounds that were over before it began
  size_t reached;       ///< Notes that it has got to; what `notes` says of later ones means nothing
  double start_s;       ///< When it began; NAN if it has not
  double played_bpm;    ///< Pulses a minute so far; NAN if not known yet
  SrNoteVerdict* notes; ///< One for each note of the phrase; NULL if `reached` is 0
  size_t note_count;
} SrSoFar;

/// What is kept from one look at a playing to the next, so that only what is new in it costs time.
typedef struct SrFollowerImpl SrFollower;

/// For playings of one phrase, which must outlive it; NULL without memory.
SrFollower* sr_follower_new(void);
/// Free; NULL does nothing.
void sr_follower_del(SrFollower* follower);

/**
   Judge what is still being played.

   @param phrase   What is being played.
   @param heard    What was heard; sounds that are not over count as what they are now.
   @param settings NULL for the defaults.
   @param follower Of the looks before; NULL for none. It changes no result.
   @param so_far   Receives how it stands; clear it also if it was not reached.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_judge_so_far(const SrPhrase* phrase, const SrHeard* heard,
                         const SrJudgeSettings* settings, SrFollower* follower, SrSoFar* so_far);
/// Free what it holds.
void sr_so_far_clear(SrSoFar* so_far);

/**
   How much of what was heard a reading of it explains: notes played as written, less wrong ones and
   half of those too many. For comparing readings of one take.

   @param assessment NULL for a take that was refused: 0.
*/
double sr_assessment_explained(const SrAssessment* assessment);
/// Notes that the rounds of an assessment ask for; 0 for NULL.
size_t sr_assessment_asked(const SrAssessment* assessment);
/// Share of the notes that the microphone delivered which were played as written, 0 to 1; 0 for
/// NULL.
double sr_assessment_played(const SrAssessment* assessment);

/// Free an assessment; NULL does nothing.
void sr_assessment_del(SrAssessment* assessment);

/**
   Whether a note comes behind the place where the player stopped for good. It counts as missed, but
   is no place where something went wrong.

   @param round As judged.
   @param note  Index of the note, from 0.
*/
bool sr_round_is_behind_stop(const SrRound* round, size_t note);

/// What a note that is not written was.
typedef enum {
  SR_EXTRA_OTHER,  ///< A note too many
  SR_EXTRA_MENDED, ///< Another pitch in a note's place, which was put right at once
  SR_EXTRA_AGAIN   ///< A note that came twice
} SrExtraKind;

/**
   What a note that is not written was, and which note it belongs to.

   @param round As judged.
   @param extra Index among its `extra`, less than `extra_count`.
   @param note  Receives an index: of the note that was put right, or that came twice; else of the
                first note heard behind it, or of the last one heard; `note_count` if none was.
   @return What it was.
*/
SrExtraKind sr_round_extra_kind(const SrRound* round, size_t extra, size_t* note);

/**
   Whether a hesitation is no more than the time that a mended or a repeated note took.

   @param round As judged.
   @param slip  One of its slips, of any kind.
   @param extra Index among its `extra`, less than `extra_count`.
   @return Whether the two are one thing.
*/
bool sr_round_is_same_slip(const SrRound* round, const SrSlip* slip, size_t extra);

/**
   Whether any slip of a round is one thing with a note that is not written.

   @param round As judged.
   @param extra Index among its `extra`, less than `extra_count`.
*/
bool sr_round_extra_has_slip(const SrRound* round, size_t extra);

/**
   The note with which a round began: those before it were left out, and are not asked for.

   @param round As judged.
   @return Its index; 0 unless the round began with a later bar.
*/
size_t sr_round_beginning(const SrRound* round);

/**
   The bars of a stretch at another tempo: those of which at least half of the notes lie in it, or
   the one in which it began.

   @param round As judged.
   @param slip  One of its slips, of kind SR_SLIP_OTHER_TEMPO.
   @param first Receives the number of the first bar.
   @param last  Receives the number of the last one.
*/
void sr_round_stretch_bars(const SrRound* round, const SrSlip* slip, int* first, int* last);

/**
   How steady the tempo of a round was: 1 if it changed by no more than is noticeable, 0 if it
   became half as fast again or more, and in proportion between. Noticeable is a change of 2.5 %
   (Friberg and Sundberg 1995) or, if that is more, twice the standard deviation that the round's
   own spread gives to a change of tempo.

   @param round As judged.
   @return 0 to 1; 1 if its tempo is not known.
*/
double sr_round_steadiness(const SrRound* round);

/**
   Normalised pairwise variability index (Grabe and Low 2002):
   100 / (m - 1) * sum over k of |d[k] - d[k+1]| / ((d[k] + d[k+1]) / 2).

   @param durations Positive, any one unit.
   @param count     At least 2, else the result is NAN.
*/
double sr_judge_npvi(const double* durations, size_t count);

/// How even the steps from note to note are where nothing is written.
typedef struct {
  double unit_s;   ///< The step that the others are one to four times as long as; NAN if unknown
  double stray_ms; ///< Mean distance from that, by the unit of the moment: the tempo may change
  size_t others;   ///< Steps that are no multiple of it, such as after a hesitation
} SrSteps;

/**
   Find the unit of steps and how far they stray from it. A method of our own.

   @param steps Between onsets, positive, s, in their order; of more than 512 the last ones count.
   @param count Fewer than 3 tell nothing.
*/
SrSteps sr_judge_steps(const double* steps, size_t count);

/// Just noticeable displacement (Friberg and Sundberg 1995): 6 ms for intervals under 240 ms, 2.5 %
/// from there on.
double sr_judge_just_noticeable_ms(double interval_ms);

/// Frequency of a MIDI note in equal temperament: reference_hz * 2^((midi - 69) / 12).
double sr_judge_frequency_hz(double midi, double reference_hz);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_JUDGE_H
