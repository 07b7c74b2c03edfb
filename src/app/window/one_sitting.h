// SPDX-License-Identifier: GPL-3.0-or-later

// One sitting after another in the main loop: runs a practice session, keeps what it reported, and
// tells whoever shows it. It draws nothing.

#ifndef SR_WINDOW_ONE_SITTING_H
#define SR_WINDOW_ONE_SITTING_H

#include "painter.h"

#include <steadyreed/session.h>

#include <glib-object.h>

G_BEGIN_DECLS

#define SR_TYPE_SITTING (sr_sitting_get_type())
G_DECLARE_FINAL_TYPE(SrSitting, sr_sitting, SR, SITTING, GObject)

typedef enum {
  SR_SITTING_RESTING, ///< Nothing is judged or kept
  SR_SITTING_OPENING, ///< The devices are being opened
  SR_SITTING_READY,   ///< It listens, and nobody plays
  SR_SITTING_COUNTING,
  SR_SITTING_PLAYING, ///< A round goes on
  SR_SITTING_SHOWING, ///< Something is played to the player
  SR_SITTING_ENDING,  ///< The take is being saved
} SrSittingPhase;

/**
   Signals: "changed" when its phase or anything else but a note did; "note" (guint index, gboolean
   amended); "round" (SrHeldRound*); "heard" (SrSessionEvent*) for every event as it comes; "said"
   (char*), a sentence for the player; "woken" when the player plays during sr_sitting_rest().
*/

SrSitting* sr_sitting_new(void);
/**
   Listen to a phrase, after ending what went on before.

   @param chosen   NULL to listen without a phrase: nothing is judged or kept.
   @param settings Copied, but for its names of devices, which are copied too; its setup and places
                   are set here.
*/
void sr_sitting_begin(SrSitting* sitting, SrChosen* chosen, const SrSessionSettings* settings);
void sr_sitting_end(SrSitting* sitting);
/**
   End it and wait. While a session runs, this lasts until the round that goes on is judged, a
   second at most for devices that do not answer, and then as long as the disk takes to save the
   take; then for what goes into the history, five seconds for each round that another program holds
   up. The window ends its sitting first and closes it when it rests, so that only the last is
   waited for.
*/
void sr_sitting_close(SrSitting* sitting);
/**
   While the player rests, listen for playing, by which he goes on: "woken" then. Once for each time
   he rests; nothing is judged or kept. The devices are open meanwhile, so whoever wants them ends
   it first. Does nothing while something is open.
*/
void sr_sitting_rest(SrSitting* sitting);
/// Whether devices are open, or being opened or closed.
bool sr_sitting_is_open(SrSitting* sitting);
/// Do nothing while no session runs.
void sr_sitting_send(SrSitting* sitting, SrCommand command);

SrSittingPhase sr_sitting_phase(SrSitting* sitting);
/// Number of the session that runs or ran last, from 1.
unsigned sr_sitting_session_number(SrSitting* sitting);
/// The session that runs; NULL if none does, or the player rests.
SrSession* sr_sitting_session(SrSitting* sitting);
/// NULL before the first.
SrChosen* sr_sitting_chosen(SrSitting* sitting);
/// Notes of the round that goes on, one for each of the phrase, and how many are reached.
const SrNoteVerdict* sr_sitting_notes(SrSitting* sitting, size_t* reached);
/// All rounds so far, SrHeldRound, oldest first.
const GPtrArray* sr_sitting_rounds(SrSitting* sitting);
/// Where the player is now, whole notes from the start of the phrase; NAN if nobody plays.
double sr_sitting_position(SrSitting* sitting);
/// Clicks of the count-in that have sounded, and all.
void sr_sitting_count_in(SrSitting* sitting, unsigned* number, unsigned* total);
/// Tempo of the click or the phrase, pulses a minute; NAN if unknown.
double sr_sitting_bpm(SrSitting* sitting);
/// What the click waits for.
typedef struct {
  bool waits;
  int midi;      ///< The ready note; -1 for none
  double left_s; ///< Until it begins by itself; NAN if it does not
} SrSittingWait;

SrSittingWait sr_sitting_wait(SrSitting* sitting);
/// For how long the low note has been held, s, 0 if it is not; and what letting go would do.
double sr_sitting_held_s(SrSitting* sitting, SrSignalMeaning* meaning);
/// What is played to the player, if anything is.
SrPlayingKind sr_sitting_plays(SrSitting* sitting);
/// Name of the microphone; "" if unknown.
const char* sr_sitting_input(SrSitting* sitting);
/// Loudspeaker that was chosen for the last session; NULL for the usual one.
const char* sr_sitting_output(SrSitting* sitting);
/// What went wrong with the session that runs or ran last, in words; "" if nothing did.
const char* sr_sitting_trouble(SrSitting* sitting);
double sr_sitting_rate_hz(SrSitting* sitting);

G_END_DECLS

#endif // SR_WINDOW_ONE_SITTING_H
