// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plan.h
   A phrase laid out for an instrument: a button and a direction of the bellows for each note, a
   button for each cut, and where to take air, so that the bellows never run out.

   The bellows are counted in units, SR_BELLOWS_UNITS from shut to full; each note uses a whole
   number of them. So the cheapest plan is exact: no other costs less under the same weights, but
   for what is given up so that equal bars are played alike.
*/

#ifndef STEADYREED_PLAN_H
#define STEADYREED_PLAN_H

#include <steadyreed/instrument.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/// From shut to full.
#define SR_BELLOWS_UNITS 120

/**
   The bellows: what a note uses of them. A reed lets through air in proportion to the area of its
   slot, which from reed to reed goes roughly with the length of the tongue times its width, so
   that low reeds use more: use per second = at_a4 * 2^((69 - midi) / 12 * octave_power), units
   per second (plain physical reasoning; `setup` measures an instrument's own).
*/
typedef struct {
  double at_a4;        ///< Units a second at A4: 8, so that the bellows last 15 s
  double octave_power; ///< How much more an octave lower uses: 0.5, that is 1.41 times
  double air_most;     ///< Units a second through the air button barely opened: 40
  double start;        ///< Where the phrase begins, share of full: 0.5
} SrBellows;
/// The defaults above.
SrBellows sr_bellows_default(void);
/// One stroke of the bellows from shut to full, or back, on one note held as it is played.
typedef struct {
  int midi;
  double seconds;
} SrStroke;
/**
   Fit the bellows to strokes: log2(use) = log2(at_a4) + octave_power * octaves under A4, by least
   squares. With strokes on one pitch only, or all within a third, `octave_power` stays as it is.

   @param strokes     At least one, seconds over 0.
   @param bellows     Its `at_a4` and `octave_power` are changed.
   @param uncertainty Receives the standard deviation of single strokes about the fit, as a share
                      of them; NAN with fewer than three.
   @return SR_OK or SR_BAD_ARGUMENT.
*/
SrStatus sr_bellows_fit(const SrStroke* strokes, size_t count, SrBellows* bellows,
                        double* uncertainty);
/// Units that a note uses, rounded to the nearest, at least 1.
int sr_bellows_use(const SrBellows* bellows, int midi, double seconds);

/// What each thing costs. Whole numbers, so that equal costs are equal. All 0 or more.
typedef struct {
  char name[32];
  int jump;        ///< A finger leaves one button for another for the next note
  int row;         ///< Each row that a hand changes by from one note of its own to the next
  int stretch;     ///< A note under the little finger
  int far_row;     ///< A note outside of the two rows nearest to the palm
  int turn;        ///< The bellows turn at the start of a pulse
  int turn_inside; ///< … inside of one
  int flat;        ///< A pulse begins in the direction of the one before
  int low_room;    ///< For each tenth that less than a fifth of the bellows is left to go on
  int air;         ///< Air is taken where the phrase asks for it
  int air_unasked; ///< … and where it does not
  int air_short;   ///< More for each tenth of a second that the note is shorter than 0.6 s
  int hand;        ///< A note of the right hand under the C an octave over middle C, or of the left
                   ///< over it
  int apart; ///< A note repeats the one before on another button; three times as much if a cut
             ///< parts them, which a turn or another button would do instead
  int air_not_taken; ///< No air is taken where the phrase asks for it; and there, for each
                     ///< twentieth that the bellows are then away from half open
  int other_cut;     ///< A cut cannot be the written note
  int no_cut;        ///< A cut cannot be played at all
  int unlike;        ///< Most that a bar may cost more to be played as the same bar elsewhere is
} SrPlanStyle;

/// Number of shipped styles: along the rows, and across the rows.
#define SR_PLAN_STYLES 2
/// A shipped style, `index` under SR_PLAN_STYLES.
SrPlanStyle sr_plan_style(size_t index);
/**
   Read a style from JSON: {"format": "steadyreed-style", "version": 1, "name": …, "jump": …, …};
   what is missing is as in the first shipped one; unknown keys are refused.
*/
SrStatus sr_plan_style_read(const char* path, SrPlanStyle* style, SrError* error);

/// A note that must be played so.
typedef struct {
  size_t note;   ///< Index in the phrase
  size_t button; ///< Of the instrument
} SrPin;

/// What to plan for.
typedef struct {
  double bpm; ///< Pulses a minute, SR_SLOWEST_PLAN_BPM to 400
  SrBellows bellows;
  SrPlanStyle style;
  const SrPin* pins; ///< Beside the "_press" and "_draw" of the phrase
  size_t pin_count;
  size_t plans; ///< Most plans wanted, 1 to SR_MOST_PLANS
} SrPlanSettings;

#define SR_SLOWEST_PLAN_BPM 10.0
#define SR_MOST_PLANS 3

/// How one note is played.
typedef struct {
  size_t button;
  SrDirection direction; ///< Press or draw
  long cut_button;       ///< -1 without a cut, or if none can be played
  int cut_midi;          ///< What that button sounds; -1 without
  int before;            ///< Opening of the bellows when it begins, units
  int after;             ///< … and when it ends
  int air;               ///< Units of that which went through the air button
  bool turns;            ///< The bellows turn before it
  int cost;              ///< Of this note and the way to it
  char* reason;          ///< Why so and not another way, a sentence; NULL if there was no choice
} SrPlannedNote;

/// One plan.
typedef struct {
  SrPlannedNote* notes; ///< One for each note of the phrase
  size_t note_count;
  long cost;
  size_t turns;
  size_t airs;
  char** reasons; ///< What sets it apart, sentences
  size_t reason_count;
} SrPlan;

/// All that came out.
typedef struct SrPlansImpl SrPlans;

/**
   Plan a phrase: the cheapest plan first, its equal bars made alike where the style's `unlike`
   allows it (with 0 it is the cheapest of all, exactly), then others that give at least a sixth of
   the notes (and at least two) another button than each plan before, cheapest first.

   @param plans Receives them; free them with sr_plans_del(). NULL on error.
   @return SR_OK; SR_NOT_FOUND if a note cannot be played at all (the sentence names it, its bar,
   and what is near), or a pin cannot hold; SR_UNSUPPORTED if the bellows run out however it is
   played (the sentence says where, and what would help); SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_plan(const SrPhrase* phrase, const SrInstrument* instrument,
                 const SrPlanSettings* settings, SrPlans** plans, SrError* error);
/**
   A button for a cut or a strike onto a note: a higher or a lower one, whichever is wanted, by at
   most SR_GRACE_MOST_STEP semitones, in the same direction, under a finger that does not hold the
   note; the one nearest to the pitch wanted.

   @param button, direction How the note is played.
   @param midi     The note.
   @param wanted   The pitch wanted of it.
   @param cut_midi Receives what it sounds; -1 if there is none.
   @return The button; -1 if there is none.
*/
long sr_plan_cut(const SrInstrument* instrument, size_t button, SrDirection direction, int midi,
                 int wanted, int* cut_midi);
/// Number of plans, at least 1.
size_t sr_plans_count(const SrPlans* plans);
/// Plan `index` from 0.
const SrPlan* sr_plans_get(const SrPlans* plans, size_t index);
/// Free; NULL does nothing.
void sr_plans_del(SrPlans* plans);

/**
   What a given way of playing costs under some settings, worked out note by note without any
   search; -1 if it breaks a limit or a pin. For tests, and to compare with one's own fingering.

   @param buttons, directions, airs One for each note.
*/
long sr_plan_cost(const SrPhrase* phrase, const SrInstrument* instrument,
                  const SrPlanSettings* settings, const size_t* buttons,
                  const SrDirection* directions, const int* airs);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_PLAN_H
