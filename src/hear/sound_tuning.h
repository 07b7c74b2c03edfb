// SPDX-License-Identifier: GPL-3.0-or-later

// Tuned numbers for finding sounds in activations.

#ifndef SR_HEAR_SOUND_TUNING_H
#define SR_HEAR_SOUND_TUNING_H

/// Padding of each pitch's history, floats, so that the amounts of a frame do not share cache
/// lines.
#define MEMORY_APART 16u
/// An attack is measured this many frames after its detection.
#define ATTACK 26
/// It is complete this many frames after it was half way up.
#define AFTER_HALF 18
/// It is not waited for longer than this many frames.
#define MOST_ATTACK 46
/// The certain start of a sound, half way up, is limited to this many frames from its detection,
/// which depends on what else sounds.
#define MOST_APART 8
/// Updates that suffice to see how far a rise goes.
#define ROUGH_UPDATES 1
/// Frames before a sound's certain start in which its onset is searched.
#define LOOK_BACK 40
/// Most frames of a cut.
#define MOST_CUT ((int64_t)(SR_GRACE_MOST_S / SR_FRAME_HOP_S + 0.5))
/// The note under a cut is checked this many frames after the cut's end: 30 ms.
#define CHECK_AFTER 15
/// A written cut is assumed while its note is silent if its reed grows by this share of the note's
/// level. In over 600 gaps between two notes of the takes with known truth it grew by at least
/// 0.24, and by at most 0.05 where none was played.
#define BETWEEN_SHARE 0.15f
/// That level must be this share of the recent maximum loudness.
#define LOUD_SHARE 0.3f
/// A cut that was not detected is traced back to this share of its maximum.
#define LEAST_SHOWN 0.25f
/// Its growth counts above its activation from this many to BETWEEN_FROM frames before the note's
/// release.
#define BETWEEN_BEFORE 10
/// Its growth is searched from this many frames before the release on.
#define BETWEEN_FROM 3
/// A cut that leads into a note that did not sound before starts at most this many frames before
/// it.
#define LED_IN 30
/// It is searched for once the note has this fit, which speech does not reach.
#define LED_IN_FIT 0.6
/// A note is split under a cut if its phases across it agree by less than this.
#define CUT_BROKEN 0.6
/// A written sound below this share of the loudest reed around it is the shadow of something else.
#define WRITTEN_SHARE 0.16f
/// The same for one that is not written.
#define OTHER_SHARE 0.22f
/// Least fit of a written sound, 0 to 1: a lower one is speech, or something else that moves.
#define WRITTEN_FIT 0.62
/// The same for one that is not written.
#define OTHER_FIT 0.76
/// Factor on that fit where notes are doubled: two reeds beat, and fit their common template less.
#define DOUBLED_FIT 0.8
/// Factor on that fit for a reed not learnt yet where others were; where none was, a fitting sound
/// may be noise.
#define UNKNOWN_FIT 0.7
/// The same for an unwritten sound without a phrase.
#define FREE_UNKNOWN_FIT 0.85
/// A sound shorter than this, s, is mostly attack.
#define SHORT_S 0.1
/// Least fit of such a sound.
#define SHORT_FIT 0.57
/// A live sound detected for less than this, s, needs only STARTING_FIT.
#define STARTING_S 0.05
/// Least fit of such a sound.
#define STARTING_FIT 0.50
/// A live sound detected for less than this, s, is reported as doubtful from DOUBTFUL_FIT on:
/// recorded low reeds are bent and hardly more than their fundamental for a tenth of a second.
#define DOUBTFUL_S 0.12
/// Least fit of such a sound.
#define DOUBTFUL_FIT 0.20
/// A reed under this share of the recent maximum loudness is left out of an attack fit.
#define LEAST_OTHER 0.02f
/// The same for an unwritten one: most often a shadow, present in one frame and gone in the next.
#define UNWRITTEN_OTHER 0.10f
/// Its weight in the fit rises from 0 at this multiple of these shares.
#define HARDLY_OTHER 0.7f
/// It has full weight from this multiple on.
#define SURE_OTHER 1.4f
/// A reed deviates from its learnt pitch by at most this, cents.
#define MOST_CENTS 60.0
/// The loudest reed around a sound is searched from this many frames before it.
#define ABOUT 25
/// A start at less than this share of its level is a start out of silence.
#define CLEAN_BASE 0.06
/// From this share on above CLEAN_BASE, the foot of the rise cannot be seen.
#define HIDDEN_BASE 0.12
/// Most starts averaged into a reed's time from onset to half level.
#define MOST_LAGS 8.0
/// Limits of a sound's own time from onset to half level, relative to the reed's usual one.
#define LAG_LEAST 0.5
#define LAG_MOST 2.0
/// A note is not split at a dip shallower than this as seen, dB.
#define LEAST_SEEN_DB 2.5
/// The same with the room's tail subtracted, dB.
#define LEAST_SPLIT_DB 6.3
/// A sound that jumps to this multiple of its level starts only there.
#define LEAP 1.7f
/// A neighbouring template is all pitch bend if it has at most this share of its activation before
/// and after the rise.
#define BEND_ALL 0.2f
/// It is no bend from this share on; linear in between.
#define BEND_NONE 0.6f
/// A neighbour under this share of the reed says nothing about bend.
#define FAINT_BEND 0.04f
/// A neighbour that starts up to this many frames before a reed may be its bend: 30 ms.
#define WITH_IT 15
/// A doubled note takes back what its upper octave has if it has at least this share of that
/// itself.
#define BESIDE_SHARE 0.3f
/// A doubled octave is assumed if the upper reed has at least this share of the lower.
#define BOTH_SHARE 0.2f
/// Least share of an octave below that is noted.
#define LEAST_BELOW 0.1f
/// The recent maximum loudness is taken as at least this multiple of the noise.
#define LOUD_OVER_FLOOR 10.0f
/// A dip of fewer frames is beating with another sound.
#define LEAST_SPLIT_FRAMES 7
/// In a dip of fewer frames only the window's smear is corrected, not the room's tail.
#define LEAST_DIP 8
/// In a dip of fewer frames the fall is at least SMEARED times the one seen.
#define SHORT_DIP 20
/// The fall in a short dip over the one that the window shows, both in dB.
#define SMEARED 1.8
/// A reed played softer keeps this share of its level.
#define SOFTER_SHARE 0.25f
/// It also keeps this share of its level over SOFTER_FRAMES.
#define SOFTER_STEADY 0.85f
/// Frames over which that is tested: 60 ms.
#define SOFTER_FRAMES 30
/// Least fall that a full release would show, dB, for a share of it to be meaningful.
#define LEAST_FULL_DB 2.0
/// Most that a released reed is assumed to show, as power relative to its level.
#define MOST_SHOWN 0.6
/// A reed that ended recently re-attacks at this multiple of its minimum since.
#define RISEN 1.6f
/// It must also reach this share of its last level.
#define RISEN_SHARE 0.5f
/// From this multiple of its minimum on, MUCH_RISEN_SHARE is enough.
#define MUCH_RISEN 6.0f
/// The share of its last level that is enough then.
#define MUCH_RISEN_SHARE 0.25f
/// A note returns from under its cut at this multiple of its minimum.
#define RETURN_RISEN 1.5f
/// It must also reach this share of its level before.
#define RETURN_SHARE 0.25f
/// The fall before a sound is measured if the reed ended at most this many frames before: 0.4 s.
#define RECENT 200
/// Frequencies are measured from block to block.
#define LAG SR_BLOCK_FRAMES
/// Harmonics that are measured.
#define MEASURED 3u
/// Frames at the start of a sound that count little in its pitch, since reeds start flat: 80 ms.
#define BENT_FRAMES 40.0
/// Their weight.
#define BENT_WEIGHT 0.05
/// Harmonics whose phase is compared across a dip.
#define PHASES 6u
/// Phase marks kept, one per block, so that one from before a dip is available.
#define MARKS 4u
/// Phase marks kept to detect a re-attack that the level hardly shows, one per block.
#define TRAIL 20u
/// Least and most frames between two compared marks.
#define TRAIL_LEAST 20
#define TRAIL_MOST 75
/// No such mark is taken for this many frames, while the reed and the room settle: 50 ms.
#define TRAIL_FROM 25
/// A mark is clear if the reed has this share of everything that sounds.
#define CLEAR_SHARE 0.55f
/// Phases that agree by less than this are broken.
#define BROKEN 0.4
/// A note is split after this many broken comparisons in a row.
#define BREAKS 3
/// Its level must also have fallen by this, dB.
#define LEAST_BREAK_DB 2.2
/// A harmonic is compared if its product has this share of the strongest one's.
#define PHASE_SHARE 0.01
/// Largest bend of pitch allowed between two marks, cents.
#define PHASE_CENTS 1.5
/// A mark is taken while the reed has this share of its level.
#define STEADY_MARK 0.8f
/// The mark after a dip is the last one within this many frames of the new start: 60 ms.
#define MARK_AFTER 30
/// An activation is above the noise from this share of the floor's sum on.
#define OVER_FLOOR 0.4f

#endif // SR_HEAR_SOUND_TUNING_H
