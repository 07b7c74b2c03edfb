// SPDX-License-Identifier: GPL-3.0-or-later

// Tuned numbers of live following.

#ifndef SR_LIVE_TUNING_H
#define SR_LIVE_TUNING_H

/// Processing step, whatever the chunk size, s.
#define STEP_S 0.002
/// Length of the history, s: the longest round that gets a second hearing.
#define PAST_S 150.0
/// The second hearing starts this long before the round, s, so that the room's and the reeds' own
/// noise are known by then.
#define RUN_UP_S 8.0
/// The same for a listener that replaces the live one, s.
#define SHORT_RUN_UP_S 1.0
/// A round longer than this, s, starts its second hearing before it is over.
#define LONG_ROUND_S 10.0
/// It starts when at most this many notes are left.
#define LAST_NOTES 16u
/// One more note may be left per this many played.
#define NOTES_A_NOTE 16u
/// Speed of that second hearing as a multiple of real time, so that little is left to do at the end
/// of the round.
#define AHEAD 25u
/// A round is the same one while its start moves by less than this, s.
#define SAME_ROUND_S 0.1
/// A sound is the same one while its onset moves by less than this, s.
#define SAME_SOUND_S 0.03
/// Of two readings of a round, the one with the smaller scatter is better if the larger exceeds
/// this multiple of it
#define LESS_SCATTER 1.3
/// by this much, ms.
#define LESS_SCATTER_MS 3.0
/// A round begins this long before its first note, s.
#define BEFORE_IT_S 0.25
/// The second hearing may find the next round to start this much earlier, s.
#define NEXT_ROUND_S 0.02
/// Sounds of a new round may start this long before the end of the last one, s.
#define OVERLAP_S 0.03
/// At most this many notes followed by a silence are not a round yet: a word, a knock, a note
/// tried. When the round is judged again they are considered with the rest.
#define TRIED_NOTES 2
/// Length of that silence, s, beyond the longest rest of the phrase and its next note.
#define TRIED_S 0.4
/// This many notes confirm a new round after a complete one, or after PAUSE_S if the phrase begins
/// like no other place in it.
#define SURE_NOTES 3
/// Silence that makes SURE_NOTES enough, s.
#define PAUSE_S 0.8
/// This many notes confirm a new round in any other case.
#define SURER_NOTES 6
/// The first note of a round is reported once it has sounded this long, s, or earlier if it fits
/// its reed well.
#define HELD_S 0.024
/// From this length on, s, a fit of CLEAR_FIT is enough.
#define CLEAR_S 0.016
/// Fit that is enough from CLEAR_S on, 0 to 1.
#define CLEAR_FIT 0.62
/// Fit that is enough before CLEAR_S, 0 to 1.
#define CLEARER_FIT 0.78
/// A first note is at most this sharp of its reed, cents: reeds start flat, syllables do not.
#define MOST_SHARP_CENTS 15.0
/// A slow low reed may start a round from this length on, s, with a fit of SLOW_FIT.
#define SLOW_S 0.032
#define SLOW_FIT 0.40
/// Up to this many first notes must agree in tempo to be reported; otherwise they may be words.
#define FEW_NOTES 5
/// Range of tempos, as factors slower and faster than the likely one.
typedef struct {
  double slower;
  double faster;
} TempoRange;
/// Range in which two notes agree: syllables are quick.
#define TWO_GO ((TempoRange){3.0, 1.8})
/// Range in which three notes agree.
#define THREE_GO ((TempoRange){5.0, 2.5})
/// A sound detected for this long, s, is hardly a cut; an open sound is taken to last as long.
#define NO_CUT_S 0.08
/// A reed that starts flat looks like its lower neighbour for this long, s.
#define FLAT_S 0.030
/// A sound is released once it has fallen for this long, s, and by OVER_DB, dB.
#define OVER_S 0.05
#define OVER_DB 6.0
/// The last note is over when the power has also fallen by this factor: 6.8 dB, more than under any
/// air.
#define ALL_OVER 4.8f
/// Otherwise it is over this long after the last sound, s.
#define MOST_AIR_S 0.8
/// Smoothing of the power: the share of the new value in each step.
#define POWER_SHARE 0.3f
/// Decay of its recent maximum in each step: 11 dB per second.
#define FORGET_POWER 0.995f
/// The room's power is tracked from this long after the last sound on, s.
#define ROOM_AFTER_S 0.3
/// Share of a fall of the room's power that is followed in each step.
#define ROOM_DOWN 0.2f
/// Share of a rise: small, because people talk.
#define ROOM_UP 0.004f
/// Factor by which the room's power fluctuates.
#define ROOM_WAVERS 1.15f
/// A sound this far below the loudest of its round, dB, is no longer being played.
#define FAINT_DB 30.0
/// A sound that has fallen for this long, s, and by FALLS_DB, dB, counts as changed and is judged
/// again.
#define FALLS_S 0.016
#define FALLS_DB 6.0
/// The instrument is first estimated after this much reed sound, s.
#define LEARN_FIRST_S 0.03
/// It is estimated again each time the reed sound has grown by this factor.
#define LEARN_FACTOR 1.2
/// The factor from LEARN_MORE_S on.
#define LEARN_MORE_FACTOR 1.5
/// Reed sound from which LEARN_MORE_FACTOR applies, s.
#define LEARN_MORE_S 8.0
/// After this much reed sound it is not estimated again during a round, s.
#define LEARN_LAST_S 20.0
/// It is estimated again at the end of a round if the reed sound has grown by this factor.
#define LEARN_ROUND_FACTOR 1.1
/// A new reed that fits badly for this long, s, is learnt at once.
#define STRANGE_S 0.05
/// Doubling is decided again after this much more reed sound, s: one note.
#define READ_AGAIN_S 0.25
/// Nothing is learnt in a round longer than this, s: a new listener would have to hear all of it
/// again, which takes some 3 ms per second, and could not once its start is forgotten.
#define MOST_AGAIN_S 40.0
/// This many notes reached without making a round cast doubt on the profile, which is then learnt
/// again.
#define DOUBT_NOTES 4
/// A low reed sounding alone is the signal if it is within this of the signal's pitch, cents.
#define SIGNAL_CENTS 60.0
/// The signal continues across a pause shorter than this, s.
#define SIGNAL_GAP_S 0.15
/// It is heard again within this after something else was played to the player, s: a low reed is
/// certain only then.
#define SIGNAL_BACK_S 0.35
/// It is told as held for at most so much longer than it was heard, s, while something else covers
/// it.
#define SIGNAL_COVERED_S 1.2

// free.c

/// Processing step, s.
#define FREE_STEP_S 0.02
/// A note is reported this long after its end, s: by then every sound around it is over too.
#define SETTLE_S 0.25
/// Length of the history that a better listener hears again, s.
#define FREE_PAST_S 4.0
/// The same for the first listener that knows the reeds, s.
#define FIRST_PAST_S 12.0
/// A listener needs this much run-up before a note, s.
#define FREE_RUN_UP_S 0.5
/// The instrument is first estimated after this much reed sound, s.
#define FREE_LEARN_FIRST_S 0.5
/// It is estimated again each time the reed sound has grown by this factor.
#define FREE_LEARN_FACTOR 1.4
/// After this much reed sound it is not estimated again, s.
#define FREE_LEARN_LAST_S 60.0
/// A reference that moves further than this, cents, is half a semitone off the other way: every
/// note would change its name.
#define MOST_MOVED_CENTS 60.0
/// Number of times in a row that such a reference must be found to be accepted: the earlier one was
/// wrong, or the instrument has changed.
#define TIMES_MOVED 3u

// free_reporting.c

/// Shortest note, s.
#define LEAST_NOTE_S 0.05
/// Longest note, s.
#define MOST_HELD_S 60.0
/// Faintest note, dBFS.
#define LEAST_LEVEL_DB (-65.0)
/// A note shorter than this, s, must fit its reed by SHORT_NOTE_FIT.
#define SHORT_NOTE_S 0.1
#define SHORT_NOTE_FIT 0.76
/// Longest gap in a note that air can hide, s.
#define MOST_HIDDEN_S 0.4
/// Two sounds of a pitch are the same if they start within this, s.
#define SAME_ONSET_S 0.05

// free_roles.c

/// Largest length of a cut (see ornament.h) as a share of its note.
#define MOST_CUT_SHARE 0.7
/// A note starts within this of the end of its cut, s.
#define CUT_GAP_S 0.03
/// A longer cut, s, is a note of a fast run unless its note was played just before it.
#define MOST_LONE_CUT_S 0.075
/// "Just before" means that the note ended within this of the start of the cut, s.
#define NEAR_CUT_S 0.06
/// Nor may it be softer than a longer sound over it by this, dB.
#define FLICKER_DB 6.0
/// A sound with this share of its time under another one may be its octave, chord or shadow.
#define UNDER_SHARE 0.6

// history.c

/// Samples of the first allocation.
#define FIRST_ROOM 65536u

// whole_take.c

/// Samples read at once.
#define CHUNK_SAMPLES 65536u
/// Evidence for a reading, nats, that makes a trial of the other unnecessary: odds of 400 to 1.
#define SURE_NATS 6.0
/// A reading is in doubt if a smaller share of notes than this was played as written.
#define GOOD_SHARE 0.9
/// Accompaniment is considered if a smaller share of the notes than this is explained.
#define WELL_SHARE 0.97
/// It is assumed if that reading gains this share of the notes as played.
#define MORE_SHARE 0.025

// relisten.c

/// Most samples pushed at once.
#define MOST_AT_ONCE 65536u

// reporting.c

/// Initial capacity of the news queue.
#define FIRST_NEWS 32u

// window.c

/// An open sound is taken to last this much longer, s, so that a note does not count as a flicker,
/// nor a cut as a note.
#define GOES_ON_S 0.05
/// Least length of an open sound that has been detected for SR_SURE_SEEN_S, s; before that it is
/// NO_CUT_S.
#define SURE_S 0.12

/// A sound that has fallen for FALLS_S, but by less than this, dB, still sounds: a cut lies over
/// it.
#define SAG_DB 4.0

#endif // SR_LIVE_TUNING_H
