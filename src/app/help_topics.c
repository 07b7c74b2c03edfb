// SPDX-License-Identifier: GPL-3.0-or-later

#include "help.h"

static const char window[] =
    "`practise` opens a window where there is a display and the program was built with one. With "
    "--plain, --all, --json or --devices it writes lines to the terminal instead; without PHRASE "
    "these tell what it hears, of any tune, and record nothing. The window "
    "begins with the phrase named, else the one practised last, else that of the demo. In it 10 "
    "minutes without a note end a sitting, not 20 seconds; Begin starts another.\n"
    "\n"
    "After a round it shows what to do better in a few large words, the bar in question, and the "
    "whole round. A line rises and falls with the bellows: blue and up is draw, yellow and down is "
    "press. Without buttons and bellows the line follows the pitch.\n"
    "\n"
    "Keys, or a page-turner pedal:\n"
    "  Space, Page Down, Right  \tcount in; stop what is played; begin again after a rest\n"
    "  Page Up, Left            \thear the phrase\n"
    "  Up, Down                 \t4 percent faster, slower\n"
    "  Escape, q                \trest; the take is saved\n"
    "  Ctrl+O                   \tchoose the phrase, its bars, its buttons, the tempo and the "
    "click. A file can also be dropped on the window, and bars dragged over in the picture\n"
    "  Ctrl+Left, Ctrl+Right    \tthe round before, the round after\n"
    "  Ctrl+R                   \thear the round shown\n"
    "  Ctrl+B                   \thear the bar shown at half speed, as you played it\n"
    "  Ctrl+Shift+B             \thear it at half speed as written\n"
    "  Ctrl+D                   \ttwo rounds side by side, seen and heard\n"
    "  Ctrl+K                   \tthe click on or off\n"
    "  Ctrl+L                   \tclimb the tempo ladder, or leave it\n"
    "  Ctrl+D                   \ta quarter of an hour for today, as `steadyreed today` chooses "
    "it\n"
    "  N, Return                \tgo on to the next of its items\n"
    "  Ctrl+Shift+T             \tthe kept takes\n"
    "  Ctrl+T, Ctrl+U           \tthe tuner; setup, step by step\n"
    "  Ctrl+P                   \thow each phrase has gone from day to day\n"
    "  F11, Ctrl+W              \tfull screen; close\n"
    "  Ctrl+?                   \tthese keys\n"
    "\n"
    "A quarter of an hour for today: untick what you do not want, and begin. Each item waits while "
    "your hands rest, says what it is, and counts in; it ends when its time is over, when you have "
    "held the low note for four seconds, or with N. After Escape the item goes on where it was; "
    "End "
    "sums up. What is done is known in a terminal too.\n"
    "\n"
    "The kept takes are listed by phrase. Each can be heard, seen as it is judged, and kept for "
    "good; practising pauses meanwhile.\n"
    "\n"
    "The tempo ladder:\n"
    "It begins with two bars at the tempo of your last clean round; without one, at 80 percent of "
    "the tempo you chose, or where you left off if that is slower. Three clean rounds in a row are "
    "a step up, two poor ones a step down; a step is 4 percent. At the top the next two bars are "
    "taken, then the four are joined two steps under the top, and so on until the whole phrase "
    "sticks. What goes poorly at the bottom, two thirds of the top or where it began, is taken "
    "apart again. A round "
    "is clean if every note is right, nothing broke the flow, and no score is under 90. It is poor "
    "if fewer than nine notes in ten are right, the flow broke, or a score is under 70. These "
    "numbers are common practice, no source.\n";

static const char phrases[] =
    "A phrase is ABC notation 2.1. Where M: is missing, the dance in R: tells the meter. Voices "
    "behind the first are passed over. Both are said. Chords may be written: each of their notes "
    "is allowed, and the top one is the melody.\n"
    "\n"
    "Graces and ornaments:\n"
    "  {c}A, {G}A  \ta cut, and a strike (a tap) from below, between two notes of one pitch or "
    "onto one from another: judged, and part of the score\n"
    "  ~A3, !roll!A3  \ta roll: note, cut, note, strike, note\n"
    "  {cAd}A3     \ta cran: several cuts on one held note\n"
    "  {gfg}f      \tany other group of graces\n"
    "  Rolls, crans and groups are listened for and listed, and cost nothing: their graces are no "
    "notes too many, the beat may lie anywhere in them, and a plain long note is right as well. A "
    "long note that is written plain may be rolled.\n"
    "\n"
    "Annotations:\n"
    "  \"^air\"      \tair is to be taken under this note, unheard\n"
    "  \"_press\", \"_draw\"  \tbellows directions, which plans keep\n"
    "\n"
    "Sixteen exercises, from the first day to fast, come with the program.\n";

static const char verdicts[] =
    "The screen, the CSV and the JSON use the same names. A note is played, missed (left out where "
    "no time was left for it), wrong, or unheard where the recording has a gap.\n"
    "\n"
    "A cut or a strike:\n"
    "  clean   \tthe note before let go, a short flick, then the note\n"
    "  long    \ta flick of over 70 ms (--long-cut; common practice, no source), or most of the "
    "note: the ear takes it for a note\n"
    "  joined  \tthe finger never lifted: the cut lies on top, and three notes are one drone\n"
    "  absent  \tthe notes were apart, but nothing was flicked between\n"
    "  stray   \ta cut where none is written; it costs nothing\n"
    "\n"
    "Off the path:\n"
    "Go back, wait, come in too soon, or go on to a later bar because a repeat was forgotten: it "
    "follows, says where it was, and judges what comes behind as if nothing had been. You may "
    "begin with a later bar; it says with which, and does not ask for what comes before. A third "
    "of the whole must be played. A bar slower or faster than the rest is told with its place and "
    "size, and what comes behind is measured from the tempo you took up again. A take in another "
    "key is judged in that, with the --transpose to type.\n";

static const char scores[] =
    "  cuts      \thow many of the cuts asked for were clean, in percent. A cut whose note never "
    "came was asked for all the same\n"
    "  evenness  \t100 as long as nobody could notice the unevenness, 0 where notes stray by a "
    "quarter of the shortest common note. Of that, a tempo that changes by more than 2.5 percent, "
    "which can be noticed, takes its share: all of it when the tempo becomes half as fast again. "
    "Each break takes a fifth of what is left: a wait or a leap of a pulse or more, or going back; "
    "a shorter one takes less. A stretch that is slower or faster than the rest takes as much for "
    "each pulse it loses or gains\n"
    "  air       \t100 if none was heard; each release that was heard costs a third of its place "
    "up to all of it, the louder the more\n"
    "\n"
    "What cannot be noticed is from Friberg and Sundberg (1995); the rest is common practice, no "
    "source. A score is missing where nothing was asked for. `--json` tells for each round what "
    "was `asked` and what of it could be `judged`. The exact formulas are in "
    "steadyreed/judge.h.\n";

static const char air[] =
    "A concertina takes its air back through the air button while a note sounds. It is heard where "
    "its hiss is louder, band by band, than the note and the room hide, by the masking model of "
    "ISO/IEC 11172-3 (annex D.1). What is shorter than a fifth of a second must be louder to be "
    "heard, as it must for the ear.\n"
    "\n"
    "What else a room does is not air: a fan, hum, a creaking chair, clothes, keys, a knock, talk, "
    "the bellows at a turn. Nor is what your reeds hiss by themselves, which is learnt from the "
    "whole recording. A recording made for voices, as messengers send them, has noise of its own "
    "in the place of air. Then there is no air score: it is `null` in the JSON, with the reason in "
    "`air_untold`, and a note says why.\n";

static const char recordings[] =
    "From 64 kbit/s on, a coded take is judged nearly as the WAV is: over 1398 notes in rooms of "
    "all kinds, 99.5 percent were as AAC at 64 kbit/s, 99.9 at 128, 99.9 as MP3 at 128 and 99.4 as "
    "Opus at 64. Telephone quality (amr, 8000 samples a second) costs one verdict in forty. A "
    "build without FFmpeg's libraries (-Dmedia=disabled) reads WAV, FLAC, Ogg, MP3 and CAF, and "
    "says which command makes a WAV of the others.\n";

static const char voice[] =
    "--speak says each verdict in a sentence or two when the round is over; a clean round is "
    "\"Clean.\" It is never said while you play: begin again, and it stops within half a second. "
    "The microphone does not count what it says, and it is not recorded. Your first note is judged "
    "all the same, best on headphones or with the voice softer than the box.\n"
    "\n"
    "The voice is that of speech-dispatcher (Debian's `speech-dispatcher` and "
    "`speech-dispatcher-espeak-ng`), with the rate and volume set there: try `spd-say hello` "
    "before you put headphones on. A build without its library (-Dvoice=disabled) says what to "
    "install. --tones are as loud as the click: at most 7.5 percent of full scale, unless "
    "--click-volume asks for more.\n";

static const char files[] =
    "  ~/.config/steadyreed         \tinstrument and style chosen last, what setup measured, what "
    "the window remembers\n"
    "  ~/.config/steadyreed/instruments  \tlayouts of your own: copy the nearest that came with "
    "the program, and change what is otherwise on your box\n"
    "  ~/.local/share/steadyreed    \tkept takes, and the history\n"
    "\n"
    "Environment:\n"
    "  XDG_CONFIG_HOME, XDG_DATA_HOME  \tother folders than ~/.config and ~/.local/share\n"
    "  STEADYREED_DATA  \tfolder of the exercises, layouts and the demo's take\n"
    "  NO_COLOR         \tno colours in the terminal\n"
    "\n"
    "For programs:\n"
    "With --json, `assess` writes objects, and `practise` a line for each event; "
    "src/app/event_lines.h lists them. Keys may be added, never changed.\n";

static const char plans[] =
    "Most notes lie on two or three buttons, on the press and on the draw. In a plan each note has "
    "a usual button, and another for a reason; bars that are written alike are played alike, and "
    "are printed once; cuts get a strong, free finger; and the bellows fill and empty beside it. "
    "A page holds up to eight bars on one A4 side, with note names 8 mm high; a whole tune takes "
    "two. The page of `assess --page` shows the bellows line where buttons are chosen, and follows "
    "the pitch otherwise.\n"
    "\n"
    "The layouts that come with the program have 20, 30 and 38 buttons, in C/G, G/D and B "
    "flat/F. They are common practice, no source; copy the nearest and change the buttons that "
    "are otherwise on yours.\n";

static const char measured[] =
    "The README's tables, and what stands here, are measured on takes of which the truth is known "
    "to the sample, on modelled reeds and on recorded ones of a harmonica; `meson test` prints "
    "them. Whole tunes, AABB, three times with talk between, were on five kinds of reeds, as they "
    "are or with strong even harmonics, single or coupled with the octave above or below.\n"
    "\n"
    "Where an ornament is missed, it is mostly the quick first graces of a low reed that speaks "
    "slowly. Live, 99.8 percent of the notes with ornaments are told with the round as from the "
    "recording; of 3528 notes 16 flashed as wrong or missed, some of them words behind the "
    "tune.\n"
    "\n"
    "While you play:\n"
    "95 of 100 notes are told within 38 ms (37 on modelled reeds, 42 on recorded ones) if the "
    "instrument is known from `setup` or an earlier round; within 38 ms (38 and 39) in the very "
    "first round of a box never heard before. With wrong notes, and those that are told again a "
    "moment later, it is 40 and 42 ms. This is on one half of the takes each.\n"
    "\n"
    "A click in the microphone:\n"
    "A metronome of six sounds was found in all of 48 recordings, as loud as the notes or up to 15 "
    "dB softer, and how late the notes were was told within 5 ms; at 20 dB softer one in four was "
    "not found or told wrong. One with which the player does not play was found in all of 48, "
    "too, and at 20 dB softer in 10 of 12; in 6 of these 60 it was told as every second or third "
    "of its clicks. In 33 minutes without one, with all that a microphone hears otherwise, none "
    "was found. With the click from a loudspeaker, all cuts and notes come out as without it when "
    "the recording is heard again.\n"
    "\n"
    "A bar slower or faster:\n"
    "A bar of eight that takes a quarter longer leaves an evenness of 89. Of otherwise even rounds "
    "with one such bar 97 of 100 are told so, with notes up to 12 ms off; with two, 86. At the "
    "very end it may be told as slowing down.\n";

static const char measured_more[] =
    "Air:\n"
    "In half an hour without air, of everything else a microphone hears, nothing was called "
    "audible; in an hour and a half of other takes of that kind, ten things were.\n"
    "\n"
    "Eleven minutes of each of these, no air in them: reeds that hiss by themselves at -30 dB and "
    "a fan switched on, between rounds or in the midst of one: nothing called audible; a recorder "
    "that writes zeros where it is quiet, and voice coding (Opus at 16 to 32 kbit/s with gain "
    "control): one thing each. Breath that swells with each note at -34 dB: eleven things. Gain "
    "control that pulls a note down by 15 dB while it sounds, and coding at 16 and 20 kbit/s, "
    "break up notes as well: evenness and notes may be told worse than they were (on the two worst "
    "takes evenness 58 and 43, not 84 and 91).\n"
    "\n"
    "A left hand below the melody:\n"
    "Bass notes, fifths, octaves or vamping, 6 to 10 dB softer than the melody: a cut that was not "
    "heard is then no fault, and nothing is told of notes that were joined nor of air. Of 100 "
    "notes up to 8 low sounds are still called notes too many, and half of your wrong notes are "
    "not told. While you play it is known from the end of the first round on: 75 to 98 of 100 "
    "notes. Of another sound above the melody, a round that begins with a later bar may be told "
    "wrong at first; when it is over it is told right.\n";

const SrHelp sr_help_topics[SR_HELP_TOPIC_COUNT] = {
    {"the window", window, ""},
    {"phrases", phrases, ""},
    {"plans", plans, ""},
    {"verdicts", verdicts, ""},
    {"scores", scores, ""},
    {"air", air, ""},
    {"voice and tones", voice, ""},
    {"recordings", recordings, ""},
    {"what was measured", measured, measured_more},
    {"files", files, ""},
};
