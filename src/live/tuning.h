// SPDX-License-Identifier: GPL-3.0-or-later

// The numbers that were tuned of following a phrase while it is played.

#ifndef SR_LIVE_TUNING_H
#define SR_LIVE_TUNING_H

/// Samples are listened to in steps of this, s, whatever the chunks they come in.
#define STEP_S 0.002
/// So much of the stream is kept, s: the longest round that is heard a second time.
#define PAST_S 150.0
/// A round is heard again from so long before it, s, so that the room and the reeds' own noise are
/// known when it begins,
#define RUN_UP_S 8.0
/// and the ear that goes on from so long before.
#define SHORT_RUN_UP_S 1.0
/// A round that has gone on for so long, s, begins to be heard again when so few notes are left,
#define LONG_ROUND_S 10.0
#define LAST_NOTES 16u
/// … and one more for so many that have been played,
#define NOTES_A_NOTE 16u
/// so many times as fast as it is played, so that little is left to do at its end.
#define AHEAD 25u
/// It is the same round as long as its beginning moves by less than this, s.
#define SAME_ROUND_S 0.1
/// A sound is the same one as long as its beginning moves by less than this, s.
#define SAME_SOUND_S 0.03
/// Scatter is far less under this share of it, and some ms.
#define LESS_SCATTER 1.3
#define LESS_SCATTER_MS 3.0
/// So long before its first note, s, a round begins.
#define BEFORE_IT_S 0.25
/// A next round may be heard to begin so much earlier the second time, s.
#define NEXT_ROUND_S 0.02
/// A new round's sounds may begin so long before the last one's end, s.
#define OVERLAP_S 0.03
/// So few notes and then so long a silence, s, are no beginning yet: a word, a knock, a note tried.
/// When the round is judged again they are weighed with all the rest.
#define TRIED_NOTES 2
#define TRIED_S 0.4
/// So many notes of a new round make sure that it is one: after a whole one, or after a silence of
/// so many seconds if the phrase begins like no other place in it; and else.
#define SURE_NOTES 3
#define PAUSE_S 0.8
#define SURER_NOTES 6
/// The first note of a round is told once it has sounded for so long, s, or fits its reed so well,
/// the better the less has been heard of it,
#define HELD_S 0.024
#define CLEAR_S 0.016
#define CLEAR_FIT 0.62
#define CLEARER_FIT 0.78
/// and is no further over the pitch of its reed than this, cents: reeds start flat, syllables do
/// not.
#define MOST_SHARP_CENTS 15.0
/// A low one that takes its time may fit so little by then, s.
#define SLOW_S 0.032
#define SLOW_FIT 0.40
/// Of so few first notes two must go together, or they may be words.
#define FEW_NOTES 5
/// So many times slower or faster than the likely tempo they do not: syllables are quick. Three
/// that go together may be slower and faster.
typedef struct {
  double slower;
  double faster;
} TempoRange;
#define TWO_GO ((TempoRange){3.0, 1.8})
#define THREE_GO ((TempoRange){5.0, 2.5})
/// What has been noticed for so long, s, is hardly a cut.
#define NO_CUT_S 0.08
/// A reed that starts flat looks like the one below for so long, s.
#define FLAT_S 0.030
/// The last note is over when it has fallen for so long, s, and by so much, dB.
#define OVER_S 0.05
#define OVER_DB 6.0
/// … and all that is heard by so many times in power: 6.8 dB, more than under any air that is
/// taken. Else it is over after so long without it, s.
#define ALL_OVER 4.8f
#define MOST_AIR_S 0.8
/// How much power is smoothed, and its most forgotten (11 dB in a second), in a step.
#define POWER_SHARE 0.3f
#define FORGET_POWER 0.995f
/// What the room makes by itself is followed so long after the last sound, s: quickly down, slowly
/// up, for there is talk; and it wavers by so much.
#define ROOM_AFTER_S 0.3
#define ROOM_DOWN 0.2f
#define ROOM_UP 0.004f
#define ROOM_WAVERS 1.15f
/// What is so much softer than the loudest of a round, dB, is not played any more.
#define FAINT_DB 30.0
/// A sound that falls for so long, s, and by so much, dB, looks different from one that does not.
#define FALLS_S 0.016
#define FALLS_DB 6.0
/// An instrument is learnt when so much of its reeds has been heard, s, and again each time it has
/// grown by this factor, by the second one from so much on, up to so much.
#define LEARN_FIRST_S 0.03
#define LEARN_FACTOR 1.2
#define LEARN_MORE_FACTOR 1.5
#define LEARN_MORE_S 8.0
#define LEARN_LAST_S 20.0
/// … and when a round ends, by this one.
#define LEARN_ROUND_FACTOR 1.1
/// A new reed that fits badly for so long, s, is learnt at once.
#define STRANGE_S 0.05
/// Whether notes are doubled is looked at again when so much more has been heard, s: a note.
#define READ_AGAIN_S 0.25
/// Nothing is learnt in a round that has gone on for so long, s: the ear that knew it would have to
/// hear all of it again, some 3 ms for each of these seconds, and could not once its beginning is
/// forgotten.
#define MOST_AGAIN_S 40.0
/// So many notes that came to nothing make doubt whether the instrument is the one that was learnt.
#define DOUBT_NOTES 4
/// One low reed that sounds alone, whichever it is, is the signal's within this, cents.
#define SIGNAL_CENTS 60.0
/// The signal note goes on after a pause of this, s.
#define SIGNAL_GAP_S 0.15

#endif // SR_LIVE_TUNING_H
