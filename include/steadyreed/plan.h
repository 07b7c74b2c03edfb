// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plan.h
   A phrase laid out for an instrument: a button and a bellows direction for each note, a button for
   each cut, and where to take air, so that the bellows never run out.

   The bellows are counted in units, SR_BELLOWS_UNITS from shut to full; each note uses a whole
   number of them. So the search is exact: no plan costs less under the same weights, except for
   what is given up to play equal bars alike.
*/

#ifndef STEADYREED_PLAN_H
#define STEADYREED_PLAN_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Units from shut to full.
#define SR_BELLOWS_UNITS 120

/**
   The bellows and how much of them a note uses. The air flow through a reed is proportional to the
   area of its slot, which goes roughly with the length of the tongue times its width, so low reeds
   use more: use per second = at_a4 * 2^((69 - midi) / 12 * octave_power), units per second (plain
   physical reasoning; `setup` measures an instrument's own).
*/
typedef struct {
  double at_a4;        ///< Units a second at A4: 8, which is 15 s for the whole bellows
  double octave_power; ///< Exponent per octave down: 0.5, that is 1.41 times the use
  double air_most;     ///< Units a second with the air button barely open: 40
  double start;        ///< Opening at the start of the phrase, share of full: 0.5
} SrBellows;
/// The defaults above.
SrBellows sr_bellows_default(void);
/// One held note, played as usual, for a whole stroke of the bellows, shut to full or back.
typedef struct {
  int midi;
  double seconds;
} SrStroke;
/**
   Fit the bellows to strokes: log2(use) = log2(at_a4) + octave_power * octaves under A4, by least
   squares. If all strokes are on one pitch or within a third, `octave_power` is left unchanged.

   @param strokes     At least one, seconds over 0.
   @param bellows     Its `at_a4` and `octave_power` are changed.
   @param uncertainty Receives the standard deviation of single strokes about the fit, as a share of
                      them; NAN with fewer than three.
   @return SR_OK or SR_BAD_ARGUMENT.
*/
SrStatus sr_bellows_fit(const SrStroke* strokes, size_t count, SrBellows* bellows,
                        double* uncertainty);
/// Units used by a note, rounded to the nearest, at least 1.
int sr_bellows_use(const SrBellows* bellows, int midi, double seconds);

/// Cost weights. Whole numbers, so that equal costs compare equal. All 0 or more.
typedef struct {
  char name[32];
  int jump;        ///< A finger moves from one button to another for the next note
  int row;         ///< For each row a hand moves between two successive notes of its own
  int stretch;     ///< A note under the little finger
  int far_row;     ///< A note outside the two rows nearest to the palm
  int turn;        ///< The bellows turn at the start of a pulse
  int turn_inside; ///< The bellows turn inside a pulse
  int flat;        ///< A pulse starts in the same direction as the one before
  int low_room; ///< For each tenth by which the bellows left in this direction fall below a fifth
  int air;      ///< Air is taken where the phrase asks for it
  int air_unasked; ///< Air is taken where the phrase does not ask for it
  int air_short;   ///< Extra for each 0.1 s by which the note is shorter than 0.6 s
  int hand; ///< A right-hand note below the C an octave above middle C, or a left-hand one above it
  int apart;         ///< A repeated note changes button or direction; three times as much if a cut
                     ///< separates the notes, since either change would do so without the cut
  int air_not_taken; ///< Where the phrase asks for air: 12 times if none is taken, and once for
                     ///< each twentieth by which the bellows are then away from half open
  int other_cut;     ///< A cut is not at the written pitch
  int no_cut;        ///< A cut cannot be played at all
  int unlike;        ///< The most extra cost of a bar that is accepted to play it like the same bar
                     ///< elsewhere
} SrPlanStyle;

/// Number of shipped styles: along the rows, and across the rows.
#define SR_PLAN_STYLES 2
/// A shipped style, `index` under SR_PLAN_STYLES.
SrPlanStyle sr_plan_style(size_t index);
/**
   Read a style from JSON: {"format": "steadyreed-style", "version": 1, "name": …, "jump": …, …};
   missing values are taken from the first shipped style; unknown keys are refused.
*/
SrStatus sr_plan_style_read(const char* path, SrPlanStyle* style, SrError* error);

/// A note whose button or direction is fixed.
typedef struct {
  size_t note;   ///< Index in the phrase
  size_t button; ///< Of the instrument
} SrPin;

/// Planning options.
typedef struct {
  double bpm; ///< Pulses a minute, SR_SLOWEST_PLAN_BPM to 400
  SrBellows bellows;
  SrPlanStyle style;
  const SrPin* pins; ///< In addition to "_press" and "_draw" in the phrase
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
  int cut_midi;          ///< What that button sounds; -1 without one
  int before;            ///< Opening of the bellows when the note begins, units
  int after;             ///< Opening of the bellows when it ends, units
  int air;               ///< Units of the difference that went through the air button
  bool turns;            ///< The bellows turn before it
  int cost;              ///< Cost of this note and the transition to it
  char* reason;          ///< Why this way was chosen, a sentence; NULL if there was no choice
} SrPlannedNote;

/// One plan.
typedef struct {
  SrPlannedNote* notes; ///< One for each note of the phrase
  size_t note_count;
  long cost;
  size_t turns;
  size_t airs;
  char** reasons; ///< What distinguishes it from the others, sentences
  size_t reason_count;
} SrPlan;

/// The result of planning.
typedef struct SrPlansImpl SrPlans;

/**
   Plan a phrase. The cheapest plan comes first, with equal bars played alike where the style's
   `unlike` allows it (with 0 it is exactly the cheapest of all). Others follow, cheapest first,
   each with another button than every plan before it for at least a sixth of the notes (and at
   least two).

   @param plans Receives them; free them with sr_plans_del(). NULL on error.
   @return SR_OK; SR_NOT_FOUND if a note cannot be played at all (the message names it, its bar, and
           what is near), or a pin cannot be met; SR_UNSUPPORTED if the bellows run out however it
           is played (the message says where, and what would help); SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_plan(const SrPhrase* phrase, const SrInstrument* instrument,
                 const SrPlanSettings* settings, SrPlans** plans, SrError* error);
/**
   A button for a cut or a strike on a note: higher or lower as wanted, by at most
   SR_GRACE_MOST_STEP semitones, in the same direction, under a finger that does not hold the note,
   and nearest to the wanted pitch.

   @param button, direction How the note is played.
   @param midi     The note.
   @param wanted   The wanted pitch of the cut or strike.
   @param cut_midi Receives what the button sounds; -1 if there is none.
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
   Cost of a given way of playing under some settings, calculated note by note without a search; -1
   if it breaks a limit or a pin. For tests, and to compare with one's own fingering.

   @param buttons, directions, airs One for each note.
*/
long sr_plan_cost(const SrPhrase* phrase, const SrInstrument* instrument,
                  const SrPlanSettings* settings, const size_t* buttons,
                  const SrDirection* directions, const int* airs);

SR_END_DECLARATIONS

#endif // STEADYREED_PLAN_H
