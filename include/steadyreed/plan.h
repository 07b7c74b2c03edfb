// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plan.h
   A phrase laid out for an instrument: a button and a bellows direction for each note, a button for
   each cut, and where to take air, so that the bellows never run out.

   The bellows are counted in units, SR_BELLOWS_UNITS from shut to full; each note uses a whole
   number of them. So the search is exact: no plan costs less under the same weights, or
   sr_plans_proven() reports that this could not be proven.
*/

#ifndef STEADYREED_PLAN_H
#define STEADYREED_PLAN_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

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

/// Most pitches for which a style names homes, and most homes of one pitch.
#define SR_MOST_HOMES 64
#define SR_HOMES_EACH 3

/// A button in one direction, by name.
typedef struct {
  char button[8];        ///< Such as "L2-5"; "" for none
  SrDirection direction; ///< Press or draw
} SrHome;

/// Where a player usually plays a pitch.
typedef struct {
  int midi; ///< On a C and G instrument; see SrPlanStyle
  SrHome homes[SR_HOMES_EACH];
} SrPitchHomes;

/**
   Cost weights and homes. Weights are whole numbers from 0 to 1000, so that equal costs compare
   equal.

   A weight marked (time) is for a move within 0.2 s, a quaver at a usual tempo; with more time it
   costs less in inverse proportion, and nothing from 0.8 s on; with less time up to 1.5 times as
   much.

   Homes are written for a C and G instrument and carried over to others by the note that the middle
   button of the left second row, L2-3, sounds on press, C4 there. The first home of a pitch that
   the instrument has is its home; the others are its second homes. A home whose button sounds
   something else on this instrument is skipped. A pitch without any home is at home everywhere.
*/
typedef struct {
  char name[32];
  int second;        ///< A note on a second home
  int away;          ///< A note on a button that is no home of its pitch
  int jump;          ///< (time) A finger leaves one button for another
  int row;           ///< (time) For each row a hand moves between two successive notes of its own
  int ring;          ///< A note under the ring finger
  int little;        ///< A note under the little finger
  int other_finger;  ///< A button is played by the next finger instead of its own
  int far_row;       ///< A note outside the two rows nearest to the palm
  int turn;          ///< (time) The bellows turn while the fingers change
  int turn_held;     ///< (time) The bellows turn on a button that stays down
  int flat;          ///< Two whole bars are played without a turn of the bellows
  int apart;         ///< A repeated note changes button or direction; three times as much if a cut
                     ///< separates the notes, since either change would do so without the cut
  int again;         ///< (time) A repeated note stays on its button
  int low_room;      ///< For each tenth by which the bellows left in this direction fall below a
                     ///< fifth
  int air;           ///< Air is taken where the phrase asks for it
  int air_unasked;   ///< Air is taken where the phrase does not ask for it
  int air_short;     ///< Extra for each 0.1 s by which the note is shorter than 0.6 s
  int air_not_taken; ///< Where the phrase asks for air: 12 times if none is taken, and once for
                     ///< each twentieth by which the bellows are then away from half open
  int unlike;        ///< For each bar after the first of those written alike, if they are not all
                     ///< played alike
  int cut_ring;      ///< A cut or strike by the ring finger
  int cut_little;    ///< ... by the little finger
  int cut_row;       ///< ... in another row than its note
  int cut_hand;      ///< ... by the other hand
  int cut_step;      ///< ... for each semitone between it and its note over 4
  int cut_left;      ///< ... by a finger that has just left another button
  size_t pitch_count;
  SrPitchHomes pitches[SR_MOST_HOMES];
} SrPlanStyle;

/// The shipped styles: across the rows, which is the default, and along them.
typedef enum { SR_STYLE_ACROSS, SR_STYLE_ALONG } SrStyleName;
/// Number of shipped styles.
#define SR_PLAN_STYLES 2
/// A shipped style, `index` an SrStyleName.
SrPlanStyle sr_plan_style(size_t index);
/**
   Read a style from JSON: {"format": "steadyreed-style", "version": 2, "name": ..., "jump": ...,
   "homes": {"A4": ["L2-5 draw", "L1-3 draw"], ...}}; missing values are taken from the first
   shipped style; "homes" replaces all of its homes; unknown keys are refused.
*/
SrStatus sr_plan_style_read(const char* path, SrPlanStyle* style, SrError* error);

/// What a pin fixes.
typedef enum {
  SR_PIN_NOTE, ///< The note's button
  SR_PIN_CUT,  ///< The button of its cut or strike
} SrPinKind;

/// As a pin's button: the cut or strike sounds as written, on whatever button.
#define SR_PIN_AS_WRITTEN SIZE_MAX

/// A note whose button, or whose cut, is fixed.
typedef struct {
  size_t note;   ///< Index in the phrase
  size_t button; ///< Of the instrument; for a cut also SR_PIN_AS_WRITTEN
  SrPinKind kind;
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

/// A further sound of a chord.
typedef struct {
  int midi;
  long button;     ///< -1 if no free finger reaches one in this direction
  SrFinger finger; ///< The finger that plays it
} SrPlannedSound;

/// How one note is played.
typedef struct {
  size_t button;
  SrDirection direction;                ///< Press or draw
  SrFinger finger;                      ///< The button's own, or the next one
  long cut_button;                      ///< -1 without a cut or strike, or if none can be played
  int cut_midi;                         ///< What that button sounds; -1 without one
  SrFinger cut_finger;                  ///< The finger that plays it
  SrPlannedSound sounds[SR_CHORD_SIZE]; ///< The chord's notes below it, as in the phrase
  size_t sound_count;                   ///< As many as the phrase has
  int before;                           ///< Opening of the bellows when the note begins, units
  int after;                            ///< Opening of the bellows when it ends, units
  int air;       ///< Units of the difference that went through the air button
  bool turns;    ///< The bellows turn before it
  int cost;      ///< Cost of this note and the transition to it
  int hand_cost; ///< What of it is hard for hand and bellows: jumps, rows, fingers, turns
  char* reason;  ///< What the other way would cost, a sentence; NULL if nobody would ask
} SrPlannedNote;

/// One plan.
typedef struct {
  SrPlannedNote* notes; ///< One for each note of the phrase
  size_t note_count;
  long cost;        ///< Of all notes, and of bars not played alike
  long unlike_cost; ///< The latter alone
  size_t turns;
  size_t airs;
  char** reasons; ///< What distinguishes it from the others, sentences
  size_t reason_count;
} SrPlan;

/// The result of planning.
typedef struct SrPlansImpl SrPlans;

/**
   Plan a phrase. The cheapest plan comes first. Others follow, cheapest first, each with another
   button than every plan before it for at least a sixth of the notes (and at least two).

   Bars written alike are played alike, or cost `unlike` of the style. Cuts, strikes and the lower
   notes of chords get their buttons when the melody has its own, and never move it.

   @param plans Receives them; free them with sr_plans_del(). NULL on error.
   @return SR_OK; SR_NOT_FOUND if a note cannot be played at all (the message names it, its bar, and
           what is near), or a pin cannot be met; SR_UNSUPPORTED if the bellows run out however it
           is played (the message says where, and what would help); SR_BAD_ARGUMENT (also two pins
           that contradict each other) or SR_NO_MEMORY.
*/
SrStatus sr_plan(const SrPhrase* phrase, const SrInstrument* instrument,
                 const SrPlanSettings* settings, SrPlans** plans, SrError* error);
/**
   A button for a cut or strike on a note that stands alone: higher or lower by at most
   SR_GRACE_MOST_STEP semitones, in the same direction, under the best finger that does not hold the
   note.

   @param button, direction How the note is played.
   @param midi     The note.
   @param strike   Below the note instead of above it.
   @param cut_midi Receives what the button sounds; -1 if there is none.
   @return The button; -1 if there is none.
*/
long sr_plan_cut(const SrInstrument* instrument, const SrPlanStyle* style, size_t button,
                 SrDirection direction, int midi, bool strike, int* cut_midi);
/// Number of plans, at least 1.
size_t sr_plans_count(const SrPlans* plans);
/// Plan `index` from 0.
const SrPlan* sr_plans_get(const SrPlans* plans, size_t index);
/// Whether it is proven that no plan costs less than the first. Where very many bars are written
/// alike, the search for their best common way may be ended before; the first plan is then the best
/// one found.
bool sr_plans_proven(const SrPlans* plans);
/// Why there are fewer plans than wanted, a sentence; NULL if there are not.
const char* sr_plans_fewer(const SrPlans* plans);
/// Free; NULL does nothing.
void sr_plans_del(SrPlans* plans);

/**
   Cost of a given way of playing under some settings, calculated note by note without a search; -1
   if it breaks a limit or a pin. For tests, and to compare with one's own fingering.

   @param buttons, directions, fingers, airs One for each note.
*/
long sr_plan_cost(const SrPhrase* phrase, const SrInstrument* instrument,
                  const SrPlanSettings* settings, const size_t* buttons,
                  const SrDirection* directions, const SrFinger* fingers, const int* airs);

SR_END_DECLARATIONS

#endif // STEADYREED_PLAN_H
