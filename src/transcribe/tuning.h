// SPDX-License-Identifier: GPL-3.0-or-later

// Tuned numbers of transcribing.

#ifndef SR_TRANSCRIBE_TUNING_H
#define SR_TRANSCRIBE_TUNING_H

// roles.c

/// Two sounds of a pitch are one if there is at most this between them, s, and it fell by less than
/// this, dB, where the first is shorter than this, s; otherwise by less than this, dB.
#define HELD_GAP_S 0.05
#define HELD_FALL_DB 11.0
#define WAVER_PART_S 0.1
#define SURE_FALL_DB 5.0
/// In octaves, a sound of which this share lies over longer ones an octave away is part of them.
#define SHADOW_SHARE 0.5
/// What a room keeps of a note is heard for this long after it, s, and in a sound shorter than
/// this, s.
#define REFLECTED_S 0.1
#define REFLECTION_S 0.08
/// A sound of this length is a note when the usual step is looked for, s.
#define SURE_NOTE_S 0.1
/// Steps from note to note that count for it, s.
#define SHORTEST_STEP_S 0.1
#define LONGEST_STEP_S 0.7
/// The usual step if there are none, s.
#define USUAL_STEP_S 0.2
/// Most sounds between a grace and its note.
#define REACH 4u
/// A note is at least this share as long as its grace.
#define LEAST_OWNER 0.3
/// A note starts within this of the end of its grace, s.
#define GAP_S 0.03
/// The note before ended within this of the start of the grace, s.
#define NEAR_GRACE_S 0.06
/// A shorter sound that leads into a note is its grace, s,
#define BRIEF_S 0.062
/// or at most this share of the usual step.
#define BRIEF_SHARE 0.55
/// A shorter sound just below a note is its flat start, s.
#define FLAT_START_S 0.06
/// A strike at most this far below its note, semitones, is at most so much softer, dB; else it is
/// the note's flat start.
#define FLAT_STEP 3
#define STRIKE_DB 6.0
/// Log odds that a longer sound above a note is its grace, before its place in time is known: one
/// that parts two notes of one pitch, and another one. The log density of its length is in them.
#define PARTING_NATS 2.0
#define LEADING_NATS (-0.5)
/// They hold for this length, s, and fall by the second number for each factor e of more.
#define USUAL_GRACE_S 0.08
#define LENGTH_NATS 3.0
/// Share of a player's graces at each of the pitches that are at most this far above their note,
/// semitones, before any was heard.
#define NEXT_STEP 2
#define NEXT_SHARE 0.006
/// Least part of a note before a grace that lies over it, s.
#define LEAST_PART_S 0.06
/// Shortest note, s.
#define LEAST_NOTE_S 0.05
/// The same of what is left behind its own cut, s.
#define LEAST_CUT_NOTE_S 0.03
/// Faintest note, dBFS.
#define LEAST_LEVEL_DB (-65.0)

/// A note shorter than this, s, must fit its reed by BRIEF_FIT and be at most BRIEF_DB softer than
/// usual; a longer one, by LEAST_FIT and FAINT_DB.
#define CLEAR_NOTE_S 0.15
#define BRIEF_FIT 0.76
#define BRIEF_DB 14.0
#define LEAST_FIT 0.6
#define FAINT_DB 24.0

/// A note shorter than this, s, has another within this of it, s; else it is a syllable.
#define ALONE_NOTE_S 0.22
#define ALONE_S 0.35

// played_notes.c

/// A short sound, s, counts as a grace when it is asked whether notes are doubled.
#define SHORT_S 0.07
/// Mean pitch under which a melody is taken for one doubled an octave below, as a MIDI note; and
/// the same where most graces lie in the octave above.
#define LOW_MELODY 60.0
#define LOW_WITH_GRACES 64.0

/// A pitch is listened for again if it sounded this long, s, or was this often a grace.
#define RARE_S 0.15
#define RARE_GRACES 2u

// key_guess.c

/// No note counts for longer than this in the choice of a key, s.
#define MOST_KEY_NOTE_S 1.0
/// Sharps of the usual key, and the share of playing time that one sign more is worth.
#define USUAL_SIGNS 1.5
#define PER_SIGN 0.004
/// What it is worth that the last note is the first of the key, as a correlation; what all time
/// outside of it costs, and each sign more than usual.
#define LAST_IS_TONIC 0.25
#define OUTSIDE_FIT 6.0
#define SIGN_FIT 0.02

/// So much of the time on the note that parts it from its neighbours makes a signature sure.
#define SURE_SHARE 0.04

// naming.c

/// Cost of all notes lying outside of the key, of each sign it has more than usual, and of this
/// many cents from 440 Hz.
#define OUTSIDE_COST 20.0
#define SIGN_COST 0.5
#define CENTS_A_COST 30.0
/// Furthest from 440 Hz, cents.
#define MOST_OFF_CENTS 80.0

// beam.c

/// Hypotheses kept of a note, and of each place of the pulse.
#define BEAM_KEPT 48u
#define BEAM_EACH 4u
/// A hypothesis less likely than the best by this is given up, nats.
#define BEAM_NATS 18.0
/// How far the beat wanders in each quaver, and the tempo, as shares of a quaver.
#define WANDER 0.02
#define TEMPO_WANDER 0.012
/// How far the tempo after a break may be from the usual one, as a share.
#define NEW_TEMPO 0.08
/// After a silence of this, s, and of as many quavers, or a note of this, s, the grid begins again.
#define BREAK_S 1.6
#define BREAK_QUAVERS 4.5
#define LONGEST_S 4.0
/// No onset is further from its place than this, quavers.
#define FAR_QUAVERS 1.2
/// A wait of the player: the least that is one, s, and its log likelihood.
#define LEAST_WAIT_S 0.25
#define WAIT_NATS (-9.0)
/// How far from a click its pulse begins, quavers.
#define CLICK_SHARE 0.3

// bars.c

/// From here on a pulse of two is a crotchet, s; under it, a minim.
#define LEAST_CROTCHET_S 0.38
/// Log likelihoods: of a note across a bar line, and of a long one on it,
#define CROSSING_NATS (-1.5)
#define LONG_NATS 0.15
/// of which the sum counts for this many notes;
#define MOST_BAR_NOTES 16.0
/// of a stretch that begins with a bar, or a pulse or less before one, and ends with one.
#define FIRST_NATS 1.5
#define PICKUP_NATS 0.2
#define END_NATS 1.5
/// Log likelihood that all notes come again some bars later, and fewest notes that may.
#define REPEAT_NATS 12.0
#define LEAST_REPEATED 12u

// doubtful.c

/// Notes before and after a grace that tell whether it is one, and the log odds under which it is
/// doubtful.
#define DOUBT_AROUND 8u
#define DOUBT_NATS 2.5

// score.c and written_lengths.c

/// A note is let go at most this early, quavers, and a shorter silence is no rest.
#define LET_GO_QUAVERS 0.4
#define LEAST_REST_QUAVERS 0.6

/// A long grace is at most this share of a quaver, and loses this likelihood for all of a quaver
/// more.
#define USUAL_GRACE 0.6
#define SHARE_NATS 10.0

// rounds.c

/// Two stretches hold the same if this share of the longer one's notes is in both, in order, and
/// fewest notes for that.
#define ROUND_SHARE 0.75
#define LEAST_ROUND 6u
/// Least silence before one, s.
#define PAUSE_S 0.7

// quantise.c

/// Quavers that are tried, s, and the share from one to the next.
#define SHORTEST_QUAVER_S 0.09
#define LONGEST_QUAVER_S 0.56
#define QUAVER_STEP 1.06
/// Standard deviation of a quaver's length at the beginning, as a share.
#define QUAVER_SHARE 0.05
/// … and where a metronome tells it.
#define CLICKED_SHARE 0.01
/// Another length of a quaver differs by more than this, as a logarithm.
#define OTHER_QUAVER 0.25
/// Share of what the notes tell that counts for how sure a length is: they repeat themselves.
#define TEMPO_EVIDENCE 0.25
/// The usual quaver, s, and how far others are from it, as the standard deviation of the logarithm.
#define USUAL_QUAVER_S 0.2
#define QUAVER_SPREAD 0.45
/// Standard deviation of an onset from the grid: to begin with, at least and at most, s.
#define ONSET_S 0.018
#define LEAST_ONSET_S 0.01
#define MOST_ONSET_S 0.035
/// How often the lilt and the standard deviation are learnt.
#define LEARNT_TIMES 2
/// Most lilt, quavers, and fewest notes on a place to learn it from.
#define MOST_LILT 0.4
#define LEAST_NOTES 4u

#endif // SR_TRANSCRIBE_TUNING_H
