// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tuning.h
   The numbers of hearing that were tuned on takes with known truth, by the file that uses
   them. tests/accuracy/what_moves.py shows which figures move with each.
*/

#ifndef SR_HEAR_TUNING_H
#define SR_HEAR_TUNING_H

// sound_finder.c and its parts: onset_refinement.c, between_notes.c, ended_sound.c, open_sound.c,
// phase.c, release.c

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

// activation.c

/// Updates before a reed is added, and after.
#define FIRST_UPDATES 3
#define MORE_UPDATES SR_REFINE_UPDATES
/// Most reeds added in one frame.
#define MOST_NEW 3
/// An activation under this share of the frame is dropped.
#define ACTIVATION_LEAST_SHARE 2e-3f
/// Initial activation of a reed added by a restart, as a share of its later one.
#define ACTIVATION_TRACE 0.3f

/// Gradient that adds an upper reed alone: slightly more than for a written pair
#define UPPER_ENTRY 1.12f

// air.c

/// Hops per window length.
#define AIR_OVERLAP 3u
/// Length of the sample history, s.
#define AIR_KEPT_S 0.5
/// A window is measured this long after its end, s, so that starting notes are known.
#define LATER_S 0.07
/// Air between notes is looked for this long after the last note, s.
#define MOST_GAP_S 1.0
/// Any other sound rules out air within this before and after it, s.
#define SPOILT_S 0.17
/// A release may continue across an unmeasurable stretch of this length, s.
#define BRIDGE_S 0.30
/// A release ends after windows without air of this total weight.
#define MOST_MISSED 3.0
/// Longest run, s.
#define LONGEST_S 1.9
/// Tones other than the reeds' rule out air from this power on, relative to the note.
#define AIR_LEAST_OTHER 4e-4
/// They do not while they sink to this share from window to window since the last change of note:
/// that is a note dying away in the room.
#define SINKING 0.75
/// A release is over when this share of its maximum is left.
#define DEAD 0.12
/// The same before windows that cannot be measured, such as at a change of note.
#define DYING 0.3
/// After one, another starts at this multiple of what is left.
#define NEW_RELEASE 1.6
/// Excess noise at low frequencies rules out air under a note only if it grows by this factor from
/// window to window.
#define RISING 2.0

// air_lens.c

/// A window is only used for a note that has sounded this long before it, s.
#define SETTLE_S 0.045
/// Lowest pitch for which short windows are used, for notes not doubled: there must be room between
/// its harmonics.
#define BRIEF_LOWEST (60u - SR_LOWEST_MIDI)
/// Noise with a larger peak ratio contains other tones: talk, a creak.
#define PEAKY 2.5

// air_excess.c

/// Two of the three groups of bands must exceed the expected noise by this, dB.
#define LEAST_EXCESS_DB 2.2f
/// The second largest ratio of noise to expected noise must have this share of the largest.
#define AIR_ALIKE 0.13f
/// Least excess noise in a window relative to the note, as power.
#define LEAST_ADDED 2.5e-4
/// Excess noise from 200 to 500 Hz rules out air from this power on, relative to the note.
#define LEAST_LOW 2e-4
/// It must also be this many times as dense as from 1 to 2.3 kHz.
#define LOW_OVER_MIDDLE 8.0

// air_note.c

/// A note's level and pitch outside a release are taken within this of it, s.
#define ABOUT_S 0.4
/// A reed that still speaks is within this of its pitch, cents.
#define MOST_BENT_CENTS 100.0

// air_carriage.c

/// Most own noise of a reed, as power relative to its tone: -26 dB. Hissing reeds have -30 dB,
/// voice codecs at 16 kbit/s write -23 dB and more.
#define MOST_OWN 2.5e-3
/// The band is missing if the density per Hz from 4.4 to 9.5 kHz is below this share of that from 1
/// to 2.3 kHz.
#define MISSING 1e-3

// steady_pitches.c

/// Sounds are sampled every this many of their frames.
#define STEP INT64_C(4)
/// A pitch is a note of a window if it has this share of the loudest there and never less than
/// GONE_SHARE of its own maximum.
#define NOTE_SHARE 0.3f
/// A pitch with a step of STEP_SHARE starts or ends if it falls below this share of its maximum.
#define AIR_STEADY_SHARE 0.45f
/// A pitch starts or ends if it is below this share of its maximum at either end of the window.
#define GONE_SHARE 0.15f
/// A step between two samples, as a share of the maximum.
#define STEP_SHARE 0.2f
/// A pitch with this share of the loudest that is not a note makes a window unsteady.
#define CHANGE_SHARE 0.45f
/// A window whose loudest pitch is below this share of the recent maximum loudness has no note.
#define GAP_SHARE 0.10f
/// A pitch has harmonics in a window if it is over this share of the recent maximum there or in the
/// TAIL_FRAMES frames before.
#define TAIL_SHARE 0.15f
#define TAIL_FRAMES 175
/// A pitch that steps by this share of the loudest may start or end.
#define LEAP_SHARE 0.08f
/// It must reach NOTE_LEVEL at most this many frames before the window.
#define BEFORE_FRAMES 75
/// Or it must do so at most this many frames after the window.
#define BEHIND_FRAMES 30
/// Share of the loudest that a note reaches near its start or end.
#define NOTE_LEVEL 0.5f
/// Where notes are doubled, the lowest octave of a pitch that has this share of all its octaves is
/// the one that sounds.
#define LOWEST_SHARE 0.08f
/// Samples averaged at each end of a window.
#define ENDS 3
/// A pitch within this many semitones of a stronger one is its shadow.
#define NEAR 2u

// air_run.c

/// A release begins and ends at this share of its usual power.
#define EDGE_SHARE 0.35f
/// After an unmeasurable stretch, noise that differs by this factor is another release.
#define UNLIKE 3.0
/// Shortest release, s.
#define LEAST_S 0.060
/// The same for a loud and clear one in short windows, s.
#define CLEAR_LEAST_S 0.035
/// Longest release, s.
#define MOST_S 1.6
/// Least share of a release that its windows must cover.
#define LEAST_COVER 0.35
/// Least noise of a release relative to the note, as power.
#define LEAST_LEVEL 3.2e-4
/// The same for one in fewer than FEW windows.
#define FEW_LEVEL 5e-4
/// The same for one in a single window.
#define ALONE_LEVEL 1e-2
/// Most noise of one in a single window relative to the note, as power.
#define MOST_ALONE_LEVEL 0.1
/// Most noise of any relative to the note, as power: air under a note is softer.
#define MOST_LEVEL 0.4
/// Fewer windows than this are weak evidence.
#define FEW 4.6
/// If so few windows cover less than this share, the release needs SPARSE_LEVEL or SPARSE_EVIDENCE.
#define AIR_RUN_SPARSE 0.85
/// Noise that is enough then, relative to the note, as power.
#define SPARSE_LEVEL 4e-3
/// Evidence that is enough then: excess over expected noise.
#define SPARSE_EVIDENCE 5.0
/// Below this share of cover, SPARSER_EVIDENCE is needed instead.
#define SPARSER 0.7
/// Evidence that is enough then.
#define SPARSER_EVIDENCE 8.0
/// Evidence of a clear release.
#define CLEAR_EVIDENCE 20.0
/// Air between notes needs windows of this total weight.
#define GAP_WINDOWS 3.0
/// It also needs this evidence.
#define GAP_EVIDENCE 4.0
/// The kurtosis of the noise is measured in pieces of this length, s.
#define AIR_RUN_SMOOTH_S 0.008
/// Largest kurtosis of air: smooth noise has 3, crackling more.
#define CRACKLING 3.05
/// Tolerance of that, divided by the square root of the number of windows.
#define CRACKLING_SPREAD 0.33
/// With this evidence in enough windows, PLAIN_CRACKLING is allowed.
#define PLAIN_EVIDENCE 8.0
/// Largest kurtosis of such a release.
#define PLAIN_CRACKLING 3.15
/// Least share of a release's noise above 4.4 kHz.
#define LEAST_HIGH 0.065
/// The same in fewer than FEW windows.
#define FEW_HIGH 0.08
/// Largest deviation of the envelope, as a share of its mean.
#define ROUGH 0.55
/// Least weight of windows that make a release certain, whatever else sounds.
#define SURE_WINDOWS 6.0
/// Least evidence of a certain release.
#define SURE_EVIDENCE 5.0
/// Largest kurtosis of a certain release.
#define SURE_KURTOSIS 3.05

// attack_fit.c

/// Frames kept.
#define KEPT 128u
/// Least activation of a reed at the start of a frame, as a share of its sum, so that it can grow.
#define ATTACK_FIT_TRACE 0.002f
/// Activation of each noise template at the start of the last frame, as a share of its sum.
#define FIRST_NOISE 0.02f
/// Before a rise, a reed is silent once it was under this share of its maximum for SILENT_FRAMES.
#define SILENT_SHARE 0.01f
/// Frames of that.
#define SILENT_FRAMES 6u

// block.c

/// A reed that changes by less than this share of itself over a block is steady.
#define STEADY_SELF 0.12f
/// So is one that changes by less than this share of the frame.
#define BLOCK_STEADY_SHARE 0.025f
/// The frame is taken as at least this share of the loudest recent one.
#define QUIET_SHARE 0.1f
/// A frame that differs from the one before its block by more than this share is solved at once.
#define MOVED_SHARE 0.08f

// calibration.c

/// Hop of the long windows, s.
#define HOP_S 0.035
/// After this much of the take, s, every fourth window is used.
#define DENSE_S 30.0
/// A steady reed must first have been heard alone for this long, s: a player may tune up, or talk,
/// before the first note.
#define ENOUGH_S 8.0
/// IN_A_ROW of this many windows are then used; two in a row, so that steadiness can still be seen.
#define CALIBRATION_SPARSE 8u
#define IN_A_ROW 2u
/// Least share of the peaks' amplitude in a series that is alone.
#define ALONE_SHARE 0.88
/// A series may be an octave from this share of the upper reed in its even harmonics on.
#define LIKE_OCTAVE 0.5
/// From this share on it is hardly a single reed (single reeds have at most 0.76 in nine windows of
/// ten, octaves at least 0.75, modelled and recorded).
#define SURELY_OCTAVE 0.75
/// YIN's period is that of the series within this, cents.
#define SAME_PERIOD_CENTS 50.0
/// Two windows in a row must agree within this, cents.
#define STEADY_CENTS 25.0
/// Length kept for the second pass, from the first steady note on, s.
#define SECOND_PASS_S 12.0

// series.c

/// Most spectral peaks of a window that are used.
#define PEAKS 28u

// heard_pitches.c

/// Resolution of pitch, cents.
#define STEP_CENTS 10.0
/// Lowest pitch, MIDI.
#define FIRST_MIDI (SR_LOWEST_MIDI - 2)
/// Evidence of a single reed's spectrum against an octave, nats: one octave in ten has it.
#define SINGLE_NATS 2.3
/// Largest deviation of the reference from 440 Hz, cents.
#define MOST_SHIFT 100

// learnt_reeds.c

/// Fewest windows in which a reed is heard.
#define LEAST_WEIGHT 1.5
/// The same alone, for one that may also be the lower one of a pair.
#define ALONE_WEIGHT 3.0
/// The same for one that is not in the phrase.
#define UNWRITTEN_WEIGHT 6.0
/// A step belongs to a pitch within this, cents.
#define NEAR_CENTS 42.0

// click_arrival.c

/// A sound's bins under this share of its strongest bin's power are not used.
#define CLICK_ARRIVAL_BAND_SHARE 0.01f
/// Probability that noise alone is taken for clicks, per click added.
#define CHANCE 1e-6
/// Decay of the evidence from click to click.
#define KEEP 0.9
/// Largest clock drift, relative.
#define DRIFT 100e-6
/// Fade at the window's ends, s.
#define FADE_S 0.03
/// A delay one period shorter is preferred if it has this share of the evidence.
#define EARLIER_SHARE 0.75f

// click_finder.c, click_grid.c, recurrence.c

/// Length of recording that is searched, s.
#define SEARCHED_S 240.0
/// It is searched in blocks of this length, s.
#define BLOCK_S 60.0
/// Shortest and longest period, s.
#define CLICK_FINDER_LEAST_PERIOD_S 0.2
#define MOST_PERIOD_S 3.0
/// A period is scored with up to this many multiples.
#define MOST_TIMES 8u
/// Longest lag of these multiples, s.
#define MOST_LAG_S 12.0
/// Periods are tried in this many steps per sample.
#define CLICK_FINDER_STEPS 8u
/// A period must stand out by this many standard deviations.
#define LEAST_HEIGHT 6.0
/// Most periods that are tried.
#define CLICK_FINDER_MOST_LAGS 16u
/// Periods within this of one tried are the same, s.
#define BESIDE_LAG_S 0.02
/// Most phases tried in a period.
#define CLICK_FINDER_PHASES 4u
/// Resolution of the phases, s.
#define BIN_S 0.001
/// Phases within this of one found are the same, s.
#define BESIDE_PHASE_S 0.008
/// Part of a click's sound before its strongest moment, s.
#define CLICK_FINDER_BEFORE_S 0.004

/// A click begins at most this long before its strongest moment, s.
#define ONSET_REACH_S 0.070
/// Before that nothing is expected for this long, s.
#define QUIET_S 0.040
/// Smoothing of its envelope, s.
#define CLICK_FINDER_SMOOTH_S 0.004
/// Length of the sound that is reported, s.
#define SOUND_S 0.055
/// It starts this long before the click's onset, s.
#define CLICK_FINDER_LEAD_S 0.002
/// Share of it that is faded out at the end.
#define FADED 0.25
/// The onset is where the envelope has this share of its maximum.
#define ONSET_SHARE 0.32
/// It must also have this multiple of the maximum before it.
#define ONSET_OVER 1.3
/// The onset is refined to where half of the maximum power within this time after it, s, is
/// reached.
#define RISE_S 0.006
/// Half of the power, as an amplitude.
#define HALF_POWER 0.7
/// A click is searched within this of its time, s.
#define SEARCH_S 0.002
/// It counts as present if it is found within this of its time, s.
#define IN_TIME_S 0.0004
/// It must also correlate with the mean of the others by this.
#define LEAST_LIKE 0.2
/// Fewest clicks in a recording.
#define LEAST_CLICKS 8u
/// Least share of the expected clicks, from the first to the last.
#define CLICK_FINDER_LEAST_SHARE 0.2
/// Two moments sound different if the correlation of their spectra is below this.
#define OTHERWISE 0.8
/// Distance from a click at which the sound before and after it is compared, s.
#define BESIDE_S 0.095
/// Clicks among different notes must have at least this mean correlation.
#define LEAST_ALIKE 0.1
/// Fewest pairs of such clicks.
#define LEAST_PAIRS 12u
/// Clicks of a pair are fewer than this many clicks apart.
#define CLICK_FINDER_MOST_APART 40u
/// There are clicks between two others if their correlation a period apart is this share of the
/// others'.
#define PART_ALIKE 0.4

// click_path.c

/// Start of the response before the arrival, s.
#define CLICK_PATH_LEAD_S 0.008
/// Longest response after the arrival, s.
#define MOST_RESPONSE_S 0.3
/// Least time between the end of one click's window and the start of the next, s.
#define CLICK_PATH_APART_S 0.002
/// Length of the input before a click that is used, s.
#define CLICK_PATH_BEFORE_S 0.06
/// A sound's bins under this share of its strongest bin's power are not used.
#define CLICK_PATH_BAND_SHARE 1e-3f
/// A predicted click is removed only where its power exceeds this multiple of its uncertainty.
#define DOUBT 1.0
/// Length of that power average, s.
#define ENVELOPE_S 0.002

// click_path_learn.c

/// Bins on each side over which powers are smoothed.
#define SMOOTH 4u
/// Initial uncertainty of the response, relative to its first mean power.
#define FIRST_UNCERTAINTY 10.0f
/// Growth of the uncertainty with each click, relative to the response's power: people move.
#define MOVES 1e-5f
/// The residuals of two successive clicks may correlate by this many standard deviations before the
/// response is taken to have moved.
#define CLICK_PATH_ALIKE 4.0
/// Number of bins whose median gives the residual.
#define PICKED 255u
/// Least share of the residual attributed to other sounds, in a bin.
#define LEAST_NOISE 0.1f
/// Standard deviation of the level from click to click.
#define GAIN_MOVES 0.005
/// Factor on the variances of delay and level: the disturbances are not white noise.
#define CAUTION 4.0

// click_remover.c

/// Shortest period, s.
#define CLICK_REMOVER_LEAST_PERIOD_S 0.1
/// Length of output kept in addition to the longest round trip, s.
#define CLICK_REMOVER_KEPT_S 1.5
/// Accumulated match, in standard deviations, from which clicks are removed.
#define LEAST_PROOF 8.0
/// Evidence for a delay further away than this, s, is for another one.
#define SAME_PLACE_S 0.0003
/// A delay whose match has not reached half of that after this many clicks is given up.
#define PATIENCE 12u
/// Clicks softer than this share of the first estimate are gone.
#define GONE 0.1
/// Initial standard deviation of the relative clock rate.
#define PACE_FIRST 50e-6
/// Standard deviation of the delay's change from click to click, samples.
#define PLACE_MOVES 0.003
/// Standard deviation of the relative clock rate's change from click to click.
#define PACE_MOVES 1e-7
/// Standard deviation of the matched filter's delay, samples; the response absorbs the rest.
#define PLACE_FIRST 0.02

// decimator.c

/// Lowest analysis rate, Hz: half of it leaves room for a filter above PASS_HZ.
#define LOWEST_ANALYSIS_RATE_HZ 14700.0
/// End of the pass band, Hz.
#define PASS_HZ 6100.0
/// Attenuation of aliases, dB.
#define STOP_DB 65.0
/// Input samples buffered.
#define BLOCK 4096u

// hear.c

/// Exact zeros for longer than this, s, are a muted microphone.
#define MUTED_S 0.25
/// An octave below with more than this share of a sound sounds alone: wrong notes down there have
/// 0.81 and more, notes played alone 0.
#define ALONE_BELOW 0.7

// inter_harmonic_noise.c

/// Reach of a dying harmonic on each side, Hz: the Hann window's main lobe and first side lobes.
#define REACH_HZ 26.0
/// Largest reach of any harmonic, as a share of its fundamental.
#define GUARD_SHARE 0.35
/// Harmonics from this frequency on, Hz, are weaker and reach less far.
#define INTER_HARMONIC_NOISE_HIGH_HZ 2500.0
/// Largest reach of these, as a share of the fundamental.
#define HIGH_SHARE 0.28
/// Largest reach of these, Hz.
#define HIGH_GUARD_HZ 50.0
/// Reach of a note's harmonic on each side, Hz, with further side lobes.
#define GUARD_HZ 77.0
/// Below this frequency, Hz, dying harmonics are strongest and reach GUARD_HZ.
#define INTER_HARMONIC_NOISE_LOW_HZ 750.0
/// Additional reach per Hz of frequency, since pitch is never quite known or steady.
#define STRAY 0.0006
/// Bins over this multiple of a band's mean are tones and left out.
#define CLIP 4.0f
/// Least share of free bins in a window.
#define LEAST_FREE 0.06
/// Dying harmonics must leave this share of the bins free.
#define LEAST_AFTER_TAIL 0.12f
/// Fewest free bins in a measured band.
#define LEAST_BINS 2u
/// Harmonics from which the pitch is measured.
#define INTER_HARMONIC_NOISE_MEASURED 6u
/// Range of sr_inter_harmonic_rest(), Hz.
#define REST_LOW_HZ 1000.0
#define REST_HIGH_HZ 9500.0

// mixture.c

/// Most spectra kept.
#define MOST_SPECTRA 400u
/// Their lowest frequency, Hz.
#define LOWEST_HZ 80.0
/// Passes in which the reeds are updated.
#define PASSES 5
/// Updates of a window's activations, after those in which reeds are added.
#define UPDATES 8
/// A window is used if its sum has this share of the loudest one's.
#define MIXTURE_LOUD_SHARE 0.1f
/// A reed is used in a window in which it has this share.
#define MIXTURE_LEAST_SHARE 0.04f
/// A reed is learnt from this many windows on.
#define MIXTURE_LEAST_WINDOWS 4.0
/// Harmonics from which the pitch is measured.
#define MIXTURE_MEASURED 4u
/// They must have this share of the model at their place.
#define OWN_SHARE 0.7f
/// A reed at a harmonic of another one is part of it if it has less than this share of it.
#define SHADOW_SHARE 0.5f
/// Largest harmonic relative to the geometric mean of its neighbours: otherwise an absent reed
/// would be left with only the harmonics it shares with a sounding one.
#define MOST_OVER 2.0f
/// Largest change of a pitch in a pass, cents.
#define MIXTURE_MOST_CENTS 20.0

// onset.c

/// Frames of that growth.
#define FLAT_FRAMES 4u
/// A plateau has at least this share of the maximum.
#define LEAST_PLATEAU 0.35f
/// The plateau is searched from this many starting points, since it depends on them too.
#define PLACES 4u
/// Frames between these.
#define PLACES_STEP 2u
/// The crossing of a quarter is the mean of the crossings of these shares, since some attacks pause
/// near a quarter. The mean lies later by 3 % of the time from a quarter to a half in a logistic
/// rise, and by 12 % in an exponential one.
#define SHARES 8
#define ONSET_LEAST_SHARE 0.10
#define SHARE_STEP 0.05

// own_noise.c

/// A reed's own noise relative to its tone before any is measured, dB over all bands (measured on
/// recorded free reeds).
#define USUAL_DB (-40.0f)
/// Quantile that is estimated.
#define QUANTILE 0.45f
/// Mean of the noise above that quantile, dB: windows differ by about 1 dB.
#define OVER_QUANTILE_DB 0.15f
/// The quantile for windows with notes, many of which may contain air.
#define NOTES_QUANTILE 0.2f
/// Mean of the noise above that quantile, dB.
#define OVER_NOTES_DB 0.85f
/// Fewest windows of a known floor.
#define OWN_NOISE_LEAST_WINDOWS 3u
/// The same for windows with notes: more than a release has.
#define LEAST_NOTE_WINDOWS (SR_FLOOR_WINDOWS / 2)
/// Levels relative to the tone are counted in steps of 1 dB from this on, dB.
#define LOWEST_DB (-100)
#define OWN_NOISE_STEPS 110u
/// After this many notes a reed's own measurement has half of the weight, the common one the other.
#define KNOWN 2.0f
/// Fewest notes for a statement on all reeds together.
#define LEAST_NOTES 8.0f
/// Windows further apart than this, s, belong to two notes.
#define OWN_NOISE_APART_S 0.15

// period.c

/// Below any recording with notes, dB.
#define PERIOD_SILENCE_DB (-150.0f)

// pitch.c

/// Least window length, s.
#define PITCH_WINDOW_S 0.046
/// Hops per window.
#define PITCH_STEPS 4u
/// Quieter input is silence, dBFS.
#define PITCH_SILENCE_DB (-60.0f)
/// Points with less confidence have no pitch.
#define LEAST_CONFIDENCE 0.5

// profile.c

/// A reed heard for this long, s, is known well enough.
#define SURE_WEIGHT_S 0.5f
/// Profiles that differ by more than this, cents, are of two instruments.
#define SAME_INSTRUMENT_CENTS 20.0

/// Least floor, which prevents a division by zero: -120 dBFS.
#define LEAST_FLOOR 1e-6f

// profile_text.c

#define FORMAT "steadyreed-profile"

// reading_evidence.c

/// Standard deviation of a reed around its pitch, semitones.
#define REED_SPREAD 0.2
/// Share of notes that are doubled, or not, against the rule of the take.
#define OTHERWISE_SHARE 0.1
/// Share of sounds that are anything else, spread over the pitches listened for.
#define STRAY_SHARE 0.02

// round_trip.c

/// The correlation this close to the peak belongs to it, as a share of the sound's length.
#define ROUND_TRIP_BESIDE_SHARE 0.5
/// The same at most, samples.
#define BESIDE_MOST 4096u
/// A peak is this multiple of the correlation's RMS value.
#define LEAST_OVER_MEAN 6.0
/// It is also this multiple of the second highest.
#define LEAST_SURENESS 1.2
/// Steps per sample at which the correlation is evaluated.
#define ROUND_TRIP_STEPS 16
/// Samples on each side of the band-limited interpolation.
#define ROUND_TRIP_REACH 24

// second_pass.c

/// A reed is learnt from frames in which it has this share.
#define LEADING_SHARE 0.35f
/// Reeds other than its own harmonics must have less than this share of them.
#define OTHERS_SHARE 0.3f
/// Fewest such frames, counted at the end of a block.
#define LEAST_FRAMES 3.0
/// Harmonics from which the pitch is measured.
#define SECOND_PASS_MEASURED 3u

// transients.c

/// Least window length, s.
#define TRANSIENTS_WINDOW_S 0.016
/// Hops per window.
#define TRANSIENTS_OVERLAP 4u
/// Least output rate, Hz.
#define LEAST_RATE_HZ 16000.0
/// Limits of the output band, Hz.
#define TRANSIENTS_LOW_HZ 300.0
#define TRANSIENTS_HIGH_HZ 16000.0
/// Frames on either side that show what is sustained.
#define BESIDE 4u

#define TRANSIENTS_REACH 16u
/// A bin counts from this multiple of the sustained level on.
#define STANDS_OUT 2.5f
/// It counts at most this much.
#define MOST 8.0f
/// Added to a frame's energy before it is normalised, in the same units, so that weak frames stay
/// weak.
#define NO_ENERGY 100.0f
/// Least sustained level, full scale 1: about one step of 16 bits.
#define FLOOR 3e-5f
/// Every this many frames the plain spectrum is kept.
#define KEPT_EVERY 4u

#endif // SR_HEAR_TUNING_H
