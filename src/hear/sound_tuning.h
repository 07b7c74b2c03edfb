// SPDX-License-Identifier: GPL-3.0-or-later

// The numbers that were tuned of finding sounds in activations.

#ifndef SR_HEAR_SOUND_TUNING_H
#define SR_HEAR_SOUND_TUNING_H

/// Between one pitch's and the next, so that a frame's amounts do not fall on the same cache lines.
#define MEMORY_APART 16u
/// Frames after which an attack is looked at; it is complete so many after it was half way up, and
/// not waited for longer than that.
#define ATTACK 26
#define AFTER_HALF 18
#define MOST_ATTACK 46
/// There it had certainly begun; when it was noticed depends on what else sounds. Where the two are
/// further apart than so many frames, it is taken to be so far from where it was noticed.
#define MOST_APART 8
/// Updates that do to see how far a rise goes.
#define ROUGH_UPDATES 1
/// Frames that are looked back over for its start.
#define LOOK_BACK 40
/// Most frames of a cut.
#define MOST_CUT ((int64_t)(SR_GRACE_MOST_S / SR_FRAME_HOP_S + 0.5))
/// How long after a cut's end the note under it is looked at: 30 ms.
#define CHECK_AFTER 15
/// What sounds of a written cut while its note is silent is that cut, if it grows by this share of
/// the note's level. In over 600 gaps between two notes of the takes with known truth it grew by at
/// least 0.24, and at most 0.05 where none was played.
#define BETWEEN_SHARE 0.15f
/// … and if that level is this share of the loudest recent one.
#define LOUD_SHARE 0.3f
/// A cut that was not noticed is followed back to this share of its most.
#define LEAST_SHOWN 0.25f
/// Frames before the note let go that tell what was there before.
#define BETWEEN_BEFORE 10
#define BETWEEN_FROM 3
/// A cut that leads into a note which did not sound before begins at most this many frames before
/// it. It is looked for when the note has proven to be one by this fit: words are none.
#define LED_IN 30
#define LED_IN_FIT 0.6
/// Phases over a cut that agree by less than this part the note.
#define CUT_BROKEN 0.6
/// What is quieter than this share of the loudest about it is the shadow of something else.
#define WRITTEN_SHARE 0.16f
#define OTHER_SHARE 0.22f
/// What a reed and its neighbours explain less of is speech, or something else that moves.
#define WRITTEN_FIT 0.62
#define OTHER_FIT 0.76
/// Two reeds at once beat, and fit their common template less.
#define DOUBLED_FIT 0.8
/// Where other reeds were learnt, one that was not yet may fit less; where none was, what fits may
/// be but noise.
#define UNKNOWN_FIT 0.7
/// … and so much less without a phrase.
#define FREE_UNKNOWN_FIT 0.85
/// A cut is mostly attack, which fits its template less.
#define SHORT_S 0.1
#define SHORT_FIT 0.57
/// … and so is what has been noticed for less than this, s, and may be told live.
#define STARTING_S 0.05
#define STARTING_FIT 0.50
/// … and less, for so long, s, where it may be told with a doubt: recorded low reeds are bent and
/// hardly more than their fundamental for a tenth of a second.
#define DOUBTFUL_S 0.12
#define DOUBTFUL_FIT 0.20
/// A reed under this share of the loudest recent one is left out when a rise is looked at again.
#define LEAST_OTHER 0.02f
/// … and under this one if it is not written: most often a shadow, there in one frame and not in
/// the next.
#define UNWRITTEN_OTHER 0.10f
/// … but not all at once: from this part of it on to this one it counts more and more.
#define HARDLY_OTHER 0.7f
#define SURE_OTHER 1.4f
/// A reed's pitch does not stray further than this from where it was learnt.
#define MOST_CENTS 60.0
/// "About it" reaches so many frames back.
#define ABOUT 25
/// A start out of less than this share of its level is out of silence.
#define CLEAN_BASE 0.06
/// … and over so much more than that, its foot cannot be seen.
#define HIDDEN_BASE 0.12
/// Starts that are remembered of a reed's time from onset to half level.
#define MOST_LAGS 8.0
/// How far its own time from onset to half level may be from what is usual for the reed.
#define LAG_LEAST 0.5
#define LAG_MOST 2.0
/// A note whose fall is less than this is not split in two: seen, and with the room's tail taken
/// off, dB.
#define LEAST_SEEN_DB 2.5
#define LEAST_SPLIT_DB 6.3
/// A sound that leaps to so many times its level begins only there.
#define LEAP 1.7f
/// What is beside a reed is all its bend if before and after there is no more than this share of
/// it, and not at all from the second on.
#define BEND_ALL 0.2f
#define BEND_NONE 0.6f
/// What is under this share of the reed tells nothing of what is beside it.
#define FAINT_BEND 0.04f
/// What begins within this many frames before a reed may be its bend: 30 ms.
#define WITH_IT 15
/// A doubled note has at least this share of what an octave above it takes up of its own.
#define BESIDE_SHARE 0.3f
/// Of a doubled octave, the upper reed has at least this share of the lower.
#define BOTH_SHARE 0.2f
/// An octave below is told where it has this share.
#define LEAST_BELOW 0.1f
/// Loud is at least so many times what is no noise.
#define LOUD_OVER_FLOOR 10.0f
/// A shorter dip, frames, is a beat with what sounds beside it.
#define LEAST_SPLIT_FRAMES 7
/// A dip of fewer frames than this is no release.
#define LEAST_DIP 8
/// A short dip, frames, is deeper by this factor, dB for dB, than the window shows it.
#define SHORT_DIP 20
#define SMEARED 1.8
/// A reed that is softer but sounds on has this share of its level, and this of what it had so many
/// frames ago, 60 ms.
#define SOFTER_SHARE 0.25f
#define SOFTER_STEADY 0.85f
#define SOFTER_FRAMES 30
/// What a full release must show at least, dB, for a share of it to mean something.
#define LEAST_FULL_DB 2.0
/// Most that a reed that has let go can be taken to show, as power against its level.
#define MOST_SHOWN 0.6
/// A reed that ended recently speaks again at so many times what it fell to and this share of its
/// last level; at less of that if it rose by more.
#define RISEN 1.6f
#define RISEN_SHARE 0.5f
#define MUCH_RISEN 6.0f
#define MUCH_RISEN_SHARE 0.25f
/// A note returns from under its cut at so many times the least it fell to and this share of the
/// level it had.
#define RETURN_RISEN 1.5f
#define RETURN_SHARE 0.25f
/// How long a reed may be silent and its fall still be told, frames: 0.4 s.
#define RECENT 200
/// Frequencies are measured from one stride to the next.
#define LAG SR_STRIDE_FRAMES
/// Harmonics that are measured.
#define MEASURED 3u
/// Reeds start flat: the first frames of a sound, 80 ms, count for little in its pitch.
#define BENT_FRAMES 40.0
#define BENT_WEIGHT 0.05
/// Harmonics whose phase is compared over a dip.
#define PHASES 6u
/// Marks of the phase that are kept, one a stride, so that one before the dip is at hand.
#define MARKS 4u
/// Marks that are kept to see a reed speak again while its level hardly tells, one a stride.
#define TRAIL 20u
/// Least and most frames over which they are compared.
#define TRAIL_LEAST 20
#define TRAIL_MOST 75
/// None is taken while the reed and the room about it still settle: 50 ms.
#define TRAIL_FROM 25
/// A mark is clear where the reed has this share of all that sounds.
#define CLEAR_SHARE 0.55f
/// Phases agree by less than this, so many times in a row, and the level fell by this, dB.
#define BROKEN 0.4
#define BREAKS 3
#define LEAST_BREAK_DB 2.2
/// A harmonic is compared if its product is this share of the strongest one's.
#define PHASE_SHARE 0.01
/// The pitch may have bent by so much meanwhile, cents.
#define PHASE_CENTS 1.5
/// A mark is taken while the reed is at this share of its level.
#define STEADY_MARK 0.8f
/// The mark after a dip is the last one up to so many frames behind it: 60 ms.
#define MARK_AFTER 30
/// Against the sum of the room's noise, a sound must have this.
#define OVER_FLOOR 0.4f

#endif // SR_HEAR_SOUND_TUNING_H
