// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tuning.h
   The numbers of judging that were tuned on takes with known truth, by the file that uses
   them. tests/accuracy/what_moves.py shows which figures move with each.
*/

#ifndef SR_JUDGE_TUNING_H
#define SR_JUDGE_TUNING_H

// advice.c

/// Most lines of advice.
#define MOST_LINES 5u

// advice_air.c

/// The remark on an air release mentions a dip in level over this, dB, or a bend over this, cents:
/// just over what is audible (common practice, no source).
#define NOTED_DIP_DB 1.5
#define NOTED_BEND_CENTS 5.0

// advice_flow.c

/// Weight of a break, and of each pulse it lasted up to MOST_BREAK_PULSES.
#define BREAK_WEIGHT 1.3
#define MOST_BREAK_PULSES 3.0
/// Weight of each note left unplayed by a stop or a skip.
#define UNPLAYED_WEIGHT 0.25
/// Weight of beginning with a later bar: next to nothing.
#define LATE_BEGINNING_WEIGHT 0.2

// advice_notes.c

/// From this many stray cuts on, they are taken to be intended.
#define MANY_CUTS 4u

// advice_tempo.c

/// A change of tempo over this is mentioned, percent: just over what is noticeable (common
/// practice, no source).
#define ADVISED_CHANGE 4.0
/// Weight of a complete change of tempo.
#define TEMPO_WEIGHT 10.0
/// Weight per pulse by which the click was missed after a silent stretch.
#define ALONE_WEIGHT 20.0
/// A round that is ahead of the click or behind it by more than this on average, ms, is not with
/// it. People who tap with a click are normally 20 to 80 ms ahead of it (Repp 2005, "Sensorimotor
/// synchronization: a review of the tapping literature", from memory); what lies outside of that by
/// a margin is no one's habit (the margin is common practice, no source).
#define OFF_CLICK_MS 100.0
/// Weight per pulse of that.
#define OFF_CLICK_WEIGHT 8.0

// air.c

/// A release belongs to a round if it lies at most this far outside it, s.
#define ABOUT_S 0.15
/// A note that starts at most this long after a release started under it, s.
#define JUST_AFTER_S 0.05
/// A note that starts under a release spoke late if it is behind by more than this, ms.
#define LATE_MS 25.0

// align.c, align_moves.c, align_memory.c

/// A written note that was not played.
#define COST_MISSED 1.0f
/// Another pitch in a note's place: cheaper than one missed note and one insertion.
#define COST_WRONG 0.9f
/// The right note just after another one in its place: self-corrected.
#define COST_CORRECTED 0.85f
/// An insertion: the cost of the shortest sound, and of one of SLOW_CUT_S or more.
#define COST_EXTRA_SHORT 0.25f
#define COST_EXTRA_LONG 1.1f
/// Added if an insertion has the pitch of the cut that is due, or of the note that is due and lasts
/// over DUE_S, s.
#define COST_DUE 0.8f
#define DUE_S 0.03
/// An unwritten cut.
#define COST_STRAY 0.3f
/// A written cut that was not heard.
#define COST_ABSENT 0.15f
/// Added if a stray cut has the pitch of the cut written before the next note, which repeats this
/// one.
#define COST_OTHERS_CUT 0.15f
/// A longer sound is hardly a cut, s. Added for each second that a stray cut is longer.
#define SLOW_CUT_S 0.12
#define COST_SLOW_STRAY 20.0f
/// Added if a stray cut is the last sound heard.
#define COST_STRAY_END 0.6f
/// The same for a stray cut longer than NO_STRAY_S, s, or longer than SURE_NOTE_S and at most
/// NEXT_STEP semitones up: it is hardly a cut. A cut needs the bellows direction of its note, which
/// the next note of the scale mostly does not have (common practice, no source). Without this the
/// last word on a note comes up to 5 ms later.
#define COST_NO_STRAY_END 1.2f
#define NO_STRAY_S 0.13
#define NEXT_STEP 2
/// Added while the phrase is being played if the last sound is an insertion longer than
/// SURE_NOTE_S, s: it is more likely a wrong note in place of the next one.
#define COST_EXTRA_END 0.6f
#define SURE_NOTE_S 0.115
/// A repeated note that the previous one sounded through.
#define COST_JOINED 0.25f
/// A note that seems to restart while it sounds: with the phase kept.
#define COST_HELD 0.1f
/// The same with a new phase.
#define COST_REATTACK 0.35f
/// Back to the first note after the last one.
#define COST_NEXT_ROUND 0.1f
/// Back to the first note from anywhere else.
#define COST_FIRST_AGAIN 1.8f
/// Back to the first note after a pause longer than PAUSE_S, s.
#define COST_AFTER_PAUSE 0.7f
#define PAUSE_S 0.6
/// A leap back to any other note, or ahead.
#define COST_LEAP 3.2f
/// A leap ahead to the first note of a bar.
#define COST_LEAP_TO_BAR 2.6f
/// Taken off if the skip leaves out a repeat.
#define COST_UNREPEATED 0.6f
/// Added if the skip lands on the second time of a bar past its first.
#define COST_SECOND_TIME 0.6f
/// Wrong time: the cost per square of the log ratio of played to due length, and its maximum.
#define COST_TIME 2.5f
#define MOST_TIME 1.3f
/// A first step costs this times the square of the octaves between its tempo and the likely one.
#define COST_UNLIKELY 0.15f
/// A step off by more than this log ratio does not update the tempo, unless OTHER_TEMPO_STEPS such
/// steps in a row agree.
#define ALIGN_SAME_TEMPO 0.4f
#define OTHER_TEMPO_STEPS 3
/// Steps after which the tempo is certain.
#define SURE_STEPS 3
/// A sound shorter than this, s, is hardly a note; this is added if it is taken for one.
#define FLICKER_S 0.035
#define COST_FLICKER 0.6f
/// Most notes missed in a row inside a round.
#define MOST_SKIP 6
/// Most that an unplayed end of the phrase costs.
#define COST_UNFINISHED 1.5f
/// The same while it is still being played: less than COST_SECOND_TIME, so that the end of a part
/// played once is not taken for that of its repeat.
#define COST_NOT_FINISHED_YET 0.4f
/// Beam width: states this much dearer than the best are pruned, since nearly every note is reached
/// from there for less. 4 changed nothing yet in any take or phrase tried.
#define HOPELESS 5.0f
/// Most notes missed between a cut and the note it is assigned to.
#define MOST_CUT_SKIP 2
/// Added for a cut of a later note, from the first missed note on, as wrong time is: mostly it is
/// the next note's.
#define COST_LATER_CUT 0.6f
/// One of several written graces; an unwritten one costs as much as a stray cut.
#define COST_GRACE 0.05f
/// Largest gap between the parts of a roll, or of a note that seems to restart, s.
#define ROLL_GAP_S 0.1
/// A plain note this long, in usual steps, may be played as a roll or as several notes.
#define LONG_STEPS 2.0
/// A sound within this share of the note's length still belongs to it.
#define MOST_GONE 0.85
/// A cut that ends this long before a note, s, hardly led into it, which costs COST_LOOSE.
#define LOOSE_CUT_S 0.05
#define COST_LOOSE 0.4f
/// A cut that ends this long before a note, s, did not lead into it at all.
#define FAR_CUT_S 0.2
/// Such a note is at most this much softer than the softer of its neighbours, dB.
#define STANDS_DB 9.0
/// A sound that overlaps a note by this much, s, sounds through it.
#define COVERS_S 0.06

/// Accompaniment lies at least a third below the melody, semitones; anything nearer is a grace.
#define THIRD 3
/// Sounds that start within this of each other start together, s.
#define WITH_S 0.04
/// A sound covered by higher ones for this share of its time lies under them.
#define UNDER_SHARE 0.5
/// Number of sounds on either side that may lie over one.
#define NEIGHBOURS 12u

// silent_click.c

/// Fewest notes in a silent stretch for a line fit.
#define ALONE_LEAST_NOTES 4u
/// Least share of the stretch that these notes must span.
#define LEAST_SPAN 0.5
/// The last of them must lie within this share of the stretch from its end.
#define LAST_SHARE 0.3
/// Fewest notes before the stretch that show how the player was with the click.
#define LEAST_BEFORE 3u

// main_tempo.c

/// The main tempo holds for at least this share of a round; if none does, the round has no main
/// tempo.
#define LEAST_OWN_SHARE 0.6
/// Tempos that differ by less than this share of a pulse are the same.
#define COURSE_SAME_TEMPO 0.05

// cut.c

/// A phase agreement below this means that the reed re-attacked.
#define NEW_PHASE 0.75
/// A released reed has decayed halfway after this, s (measured on recorded and modelled reeds: 3 to
/// 5 ms).
#define RELEASE_S 0.004
/// Weight of a cut's own end against its note's onset when its length is measured.
#define OWN_SHARE 0.6

// insertion.c

/// A correction makes its note late by at least this share of the time the wrong sound took.
#define LATE_SHARE 0.5

// inter_onset_intervals.c

/// Most units in a step.
#define MOST_UNITS 4
/// A step fits a number of units if it is off by less than this share of a unit.
#define FITS 0.25
/// Number of steps on either side that give the local unit.
#define BESIDE 4u
/// Only this many of the last steps are used.
#define MOST_STEPS 512u

// judge.c

/// A usual tempo, pulses per minute.
#define LIKELY_BPM 85.0
/// A round is kept if this share of its notes up to the last one reached is right and on time.
#define LEAST_RIGHT 0.65
/// This share of the whole phrase must be right too.
#define LEAST_WHOLE 0.3
/// A note is on time within this share of the phrase's shortest common step.
#define IN_TIME_STEP 0.3
/// A left-out stretch counts as at most this many wrong notes, a turn of the tempo as exactly as
/// many.
#define LEFT_OUT_COUNTS 3
/// Most insertions per right note, plus two.
#define MOST_EXTRA 0.6
/// A take is certainly the phrase if a round has this share of the phrase right.
#define WELL_RIGHT 0.7
/// So it is if a round has this many notes right that are the share WELL_PLAYED of those counted.
#define WELL_NOTES 12
#define WELL_PLAYED 0.85
/// Otherwise this share of all notes of the take must be right.
#define JUDGE_LEAST_NOTES 0.3

// least_squares.c

/// A pivot below this share of its column's own square is singular.
#define LEAST_PIVOT 1e-10

// mask.c

/// Integration time of the ear, s.
#define INTEGRATED_S 0.2

// rhythm.c, beat_model.c, beat_waits.c, beat_turns.c, beat_report.c

/// Most waits that have a column in the model.
#define MOST_WAITS 12u
/// Fewest onsets for any fit.
#define LEAST_FITTED 3u
/// Fewest onsets for which a drift is fitted.
#define DRIFT_ONSETS 8u
/// A step is a wait if it is longer than due by this, s, and by this share of the step or, if
/// shorter, the pulse.
#define SURE_WAIT_S 0.15
#define SURE_WAIT_SHARE 0.5
/// A smaller wait must exceed this, s, and this many times the scatter of the steps.
#define LEAST_WAIT_S 0.06
#define SMALL_WAIT_SCATTER 6.0
/// The same where an insertion took the time.
#define LEAST_CORRECTED_WAIT_S 0.04
#define CORRECTED_WAIT_SCATTER 3.0
/// Notes without an onset were left out if this share of their time is missing too.
#define LEAST_LEFT_OUT_SHARE 0.45
/// The same if the previous note may have sounded through one of them.
#define LEAST_JOINED_SHARE 0.8
/// An onset early by SURE_WAIT_S and this share of the phrase's shortest common step shifts
/// all that follows.
#define LEAST_HURRY_SHARE 0.6
/// It must also be early by this share of its own step, since the tempo may be changing.
#define LEAST_HURRY_STEP 0.2
/// One stray note shifts nothing: the next step makes up for it, except for less than this share.
#define MADE_UP 0.4
/// The local pulse is the median over this many onsets on either side.
#define ABOUT_ONSETS 12u
/// Fewest whole pulses for it; otherwise the median step of the round is used.
#define LEAST_WHOLE_PULSES 4u
/// Onsets off by more than this many robust deviations, and 20 ms, are left out of the fit.
#define FAR_OUT 4.0
/// Largest share of the onsets that may be left out.
#define MOST_LEFT_OUT 0.1
/// Most passes in which turns found earlier are searched again with all others in place.
#define MOST_LOOKS 3

/// Fewest missing notes at the start that make a round begin with a later bar.
#define LEAST_UNBEGUN 3u

/// Beats of notes with several graces are placed until none moves by more than this, s.
#define PLACED_S 1e-4
/// Most such iterations.
#define MOST_PLACINGS 20

/// A mean direction shorter than this means that the onsets are unrelated to the click.
#define LEAST_RELATION 0.7

// round_finish.c

/// A sound is a shadow if this share of it lies under a sound louder by this, dB.
#define SHADOW_SHARE 0.7
#define SHADOW_DB 4.0
/// A note that starts within this of another's end follows it at once, s.
#define ROUNDS_AT_ONCE_S 0.15
/// Least time that a note sounds before the first grace of its roll, s.
#define LEAST_ON_NOTE_S 0.06

// round_notes.c

/// Number of preceding notes from which the pace is estimated.
#define PACE_NOTES 6u

// rounds.c

/// A note that outlasts a cut by this, s, sounds through it.
#define THROUGH_S 0.015
/// A signal loss within this after the last note, s, explains why no more came.
#define BROKEN_OFF_S 0.4
/// A loss detected only by the clocks is stamped up to this much too late, s.
#define FOUND_LATE_S 2.0
/// Only losses at least this long, s, can be of that kind.
#define LONG_LOSS_S 0.29
/// A false start breaks off within this many notes, or this share of the phrase.
#define FALSE_START_NOTES 4
/// Least share of the phrase's notes in a round, which also needs two.
#define LEAST_SHARE 0.2

// score.c

/// Fewest onsets for which evenness is scored.
#define LEAST_ONSETS 4u
/// Cost of a release that is only just audible, as a share of its place in the score.
#define JUST_OVER_COST (1.0 / 3.0)
/// A release this far over the masked threshold, dB, costs its whole place.
#define FAR_OVER_DB 12.0
/// Change of tempo that is just noticed, percent.
#define NOTICEABLE_CHANGE 2.5
/// Change of tempo that takes the whole score, percent.
#define OTHER_TEMPO 50.0
/// Share of the remaining score that a break of one pulse takes.
#define BREAK_COST 0.2

// tidy_sounds.c

/// Shortest sound that stands by itself, s.
#define LONG_SOUND_S 0.07
/// A sound shorter than SR_OWN_NOTE_S stands if it is within this of a longer one, s.
#define BY_S 0.12
/// A run of short sounds stands if it leads to standing ones on both sides; this many neighbours
/// are searched for each link.
#define FLICKER_REACH 4u
/// A sound this far below the median level of the long ones is dropped, dB.
#define FAINT_DB 20.0
/// Integration time, s: a sound shorter than this counts as proportionally softer.
#define EAR_S 0.06

/// Longest stray octave, or flat start, at the start of a note, s.
#define HEAD_S 0.1
/// Largest gap between two sounds that count as adjacent, s.
#define HEAD_GAP_S 0.02
/// A fragment before a stray octave, if shorter than this, s, is the start of its note.
#define FIRST_PART_S 0.06
/// A later fragment continues the earlier one if at least this much of the phase is kept.
#define SAME_PHASE 0.85

/// Two sounds have the written ratio of lengths within this factor.
#define ALIKE_LENGTHS 1.5

/// Longest wavering start of a note, s.
#define WAVER_S 0.08
/// Largest gap between a wavering start and the rest of its note, s.
#define WAVER_GAP_S 0.025
/// Largest fall of level in that gap, dB; a larger one may be the end of an earlier sound of that
/// reed.
#define WAVER_DB 12.0

/// Beating with lower sounds interrupts a note for less than this, s.
#define BEAT_S 0.06
/// A pitch that returns sooner than this, s, was not released.
#define SOUNDS_AT_ONCE_S 0.01

/// A note whose first part ended within this of the start of its cut, s, was released for it.
#define LET_GO_S 0.03
/// A reed at most this many semitones away picks up part of the cut's start.
#define NEAR_STEP 2
/// Its re-attack may seem to come up to this before the cut, s, or in the cut's first half.
#define EARLY_S 0.008
/// A reed that starts flat briefly looks like its lower neighbour, softer by at least this, dB.
/// Over all takes with ornaments, no strike from another note was both as soft and simultaneous
/// with its note.
#define FLAT_DB 10.0

/// A note that sagged under air fell by less than this, dB, if its fall is known: loud air may hide
/// it completely for a moment.
#define SAG_DB 25.0

/// A note written over this many times shorter than the next one is like a grace.
#define GRACE_SHARE 8.0

// turns.c

/// Fewest steps that a tempo holds for; the old one before and after a stretch may hold for fewer.
#define TURN_STEPS 3u
/// Smallest jump of the tempo, as a share of a pulse.
#define LEAST_JUMP 0.1
/// Places tried per step in a round of at most ONSETS_ALL onsets; one in a longer round.
#define STEP_PARTS 4u
#define ONSETS_ALL 64u
/// A column with less than this share of its square independent of the earlier ones is not fitted.
#define LEAST_OWN 1e-9

#endif // SR_JUDGE_TUNING_H
