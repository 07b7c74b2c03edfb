// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_voice.c
   Verdicts for the ears: `steadyreed practise --speak` and `--tones` on a sound server and a speech
   server of our own. What is said is heard on the monitor of the sink.

   usage: test_voice PROGRAM MAKE_TAKE SOURCE_TREE [PART OF A SCENE'S NAME]
*/

#include "course.h"
#include "lanes.h"
#include "speech_server.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define RATE_HZ 44100
#define PI 3.14159265358979323846
/// Level of a voice, and of nothing, in blocks of BLOCK_S, RMS.
#define LOUD 0.004
#define QUIET 0.0015 // the takes have a floor of 0.001
#define BLOCK_S 0.05
/// Pauses within what is said are shorter, s.
#define MOST_PAUSE_S 0.6
/// From the end of a take's last note to that of its sound, s.
#define RINGS_S 0.3
/// It ends within, s.
#define END_S 30.0

/// A faulty take and a clean one, and the tape of both.
typedef struct {
  char* phrase;
  char* path;
  char* takes[2]; ///< Faulty, clean
  Tape tape;
  double from_s[2]; ///< Where each begins on the tape
} Pair;

/// Make them, `gap_s` apart.
static Pair
make_pair(const Sitting* const s, const double gap_s)
{
  Short tune = short_tune(s, 1);
  Pair pair = {.phrase = tune.phrase, .tape = {.rate_hz = RATE_HZ}};
  static const char* const common[] = {"reeds=made", "bpm=100", "rt60_s=0.25", "direct_db=12",
                                       "floor_db=-60"};
  const char* values[] = {common[0], common[1], common[2], common[3], common[4], "p_bare=1", NULL};
  pair.takes[0] = course_make_take(s, pair.phrase, "faulty", values);
  values[5] = NULL;
  pair.takes[1] = course_make_take(s, pair.phrase, "clean", values);
  const double silences_s[] = {1.0, gap_s};
  for (size_t i = 0; i < 2; ++i) {
    tape_silence(&pair.tape, silences_s[i]);
    pair.from_s[i] = (double)pair.tape.count / RATE_HZ;
    tape_file(&pair.tape, pair.takes[i], 0.0, INFINITY);
  }
  tape_silence(&pair.tape, 1.5);
  pair.path = sitting_path(s, "pair.wav");
  tape_write(&pair.tape, pair.path);
  tune.phrase = NULL;
  short_clear(&tune);
  return pair;
}

static void
pair_clear(Pair* const pair)
{
  tape_clear(&pair->tape);
  free(pair->phrase);
  free(pair->path);
  free(pair->takes[0]);
  free(pair->takes[1]);
}

/// Processes of a scene besides those of its sitting.
static pid_t speech;

static void
begin_speech(Sitting* const s)
{
  sitting_begin(s, RATE_HZ);
  speech = speech_server_begin(s->folder);
  if (!speech) {
    fail_msg("no speech server came up");
  }
}

/// RMS of part of what was heard, s.
static double
level_of(const Tape* const heard, const double from_s, const double to_s)
{
  const size_t from = (size_t)(fmax(0.0, from_s) * heard->rate_hz);
  const size_t to = (size_t)(fmax(0.0, to_s) * heard->rate_hz);
  double sum = 0.0;
  for (size_t i = from; i < to && i < heard->count; ++i) {
    sum += (double)heard->samples[i] * (double)heard->samples[i];
  }
  return to > from ? sqrt(sum / (double)(to - from)) : 0.0;
}

/// When something first sounds in a range and when that ends; NAN if nothing does.
typedef struct {
  double from_s;
  double to_s;
} Stretch;

static Stretch
find_sound(const Tape* const heard, const double from_s, const double to_s)
{
  Stretch found = {(double)NAN, (double)NAN};
  for (double at_s = from_s; at_s < to_s; at_s += BLOCK_S) {
    const bool loud = level_of(heard, at_s, at_s + BLOCK_S) > LOUD;
    found.from_s = loud && isnan(found.from_s) ? at_s : found.from_s;
    found.to_s = loud ? at_s + BLOCK_S : found.to_s;
    if (!isnan(found.to_s) && at_s > found.to_s + MOST_PAUSE_S) {
      break;
    }
  }
  return found;
}

/// The events of a kind that were written, in order.
static json_t*
events_of(const char* const said, const char* const kind)
{
  json_t* const events = json_array();
  for (const char* at = said; at && *at; at = strchr(at, '\n') ? strchr(at, '\n') + 1 : NULL) {
    json_t* const event = json_loads(at, JSON_DISABLE_EOF_CHECK, NULL);
    const char* const name = json_string_value(json_object_get(event, "event"));
    if (name && !strcmp(name, kind)) {
      json_array_append(events, event);
    }
    json_decref(event);
  }
  return events;
}

static double
number_of(const json_t* const events, const size_t index, const char* const key)
{
  return json_number_value(json_object_get(json_array_get(events, index), key));
}

/// Both rounds are judged as their files are, at once and in the kept take.
static void
check_verdicts(const Pair* const pair, const char* const said)
{
  json_t* const all = verdicts_read(said);
  assert_int_equal(json_array_size(all), 3);
  for (size_t r = 0; r < 2; ++r) {
    json_t* const file = verdicts_assess(pair->phrase, pair->takes[r], NULL);
    const json_t* const wanted = verdicts_round(file, 0);
    const json_t* const judged[] = {verdicts_round(json_array_get(all, r), 0),
                                    verdicts_round(json_array_get(all, 2), r)};
    for (size_t k = 0; k < 2; ++k) {
      const Difference d = verdicts_compare(k ? "at the end" : "at once", wanted, judged[k]);
      assert_int_equal(d.different, 0);
      assert_int_equal(d.other_extra, 0);
      assert_true(d.worst_ms <= 5.0);
    }
    json_decref(file);
  }
  json_decref(all);
}

static bool
is_granted(const json_t* const hushes, const size_t index)
{
  return json_is_true(json_object_get(json_array_get(hushes, index), "granted"));
}

/// Each verdict is said after its round, and the next round is judged as if nothing had been said.
static void
verdicts_are_spoken(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  begin_speech(s);
  Pair pair = make_pair(s, 9.0);
  char* const witness = sitting_path(s, "witness.wav");
  const char* const options[] = {"--silent", "--speak", "--json", "--rounds", "2", NULL};
  sitting_witness(s, witness, RATE_HZ);
  sitting_practise(s, pair.phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, pair.path);
  assert_int_equal(sitting_end(s, (double)pair.tape.count / RATE_HZ + END_S), 0);
  test_nap(0.3);
  sitting_witness_end(s);
  char* const said = sitting_said(s);
  check_verdicts(&pair, said);

  // Where the tape lies in what was heard
  Tape heard = tape_read(witness);
  const size_t mark = (size_t)((pair.from_s[0] + 1.3) * RATE_HZ);
  long shift = 0;
  assert_true(tape_find(&pair.tape, mark, mark + 8192, &heard, &shift));
  json_t* const file = verdicts_assess(pair.phrase, pair.takes[0], NULL);
  const double shift_s = (double)shift / RATE_HZ;
  const double end_s = shift_s + pair.from_s[0] + verdicts_number(verdicts_round(file, 0), "end_s");
  const double next_s = shift_s + pair.from_s[1];
  // Words begin after the round, in a silence, and are over well before the next
  assert_true(level_of(&heard, end_s + RINGS_S, end_s + RINGS_S + 0.02) < QUIET);
  const Stretch first = find_sound(&heard, end_s + RINGS_S, next_s);
  print_message("  the first word %.2f s after the end of the round, %.2f s of speech\n",
                first.from_s - end_s, first.to_s - first.from_s);
  assert_true(first.from_s - end_s > RINGS_S && first.from_s - end_s < 1.6);
  assert_true(first.to_s - first.from_s > 2.5 && first.to_s < next_s);
  assert_true(level_of(&heard, first.from_s, first.to_s) > 0.02);
  // The last verdict, of one word, is said before the program ends
  json_t* const clean = verdicts_assess(pair.phrase, pair.takes[1], NULL);
  const double last_s = next_s + verdicts_number(verdicts_round(clean, 0), "end_s");
  const Stretch last =
      find_sound(&heard, last_s + RINGS_S, (double)heard.count / (double)heard.rate_hz);
  assert_true(last.to_s - last.from_s > 0.2 && last.to_s - last.from_s < 1.5);

  json_t* const rounds = events_of(said, "round");
  json_t* const hushes = events_of(said, "hush");
  assert_int_equal(json_array_size(hushes), 1);
  assert_true(is_granted(hushes, 0));
  assert_true(number_of(hushes, 0, "at_s") > number_of(rounds, 0, "at_s"));
  // Nothing of it is in what was kept
  char* const kept_path = sitting_kept(s);
  Tape kept = tape_read(kept_path);
  json_t* const all = verdicts_read(said);
  const double kept_s =
      verdicts_number(verdicts_round(json_array_get(all, 2), 0), "end_s") + (first.from_s - end_s);
  assert_true(level_of(&kept, kept_s, kept_s + 1.0) < QUIET);
  json_decref(all);
  json_decref(rounds);
  json_decref(hushes);
  json_decref(file);
  json_decref(clean);
  tape_clear(&heard);
  tape_clear(&kept);
  free(kept_path);
  free(said);
  free(witness);
  pair_clear(&pair);
  speech_server_end(speech);
}

/// The microphone hears only the player: a sink of its own.
static void
separate_the_microphone(void)
{
  static const char* const commands[][5] = {
      {"pactl", "load-module", "module-null-sink", "sink_name=mic", NULL},
      {"pactl", "set-default-sink", "quiet", NULL},
      {"pactl", "set-default-source", "mic.monitor", NULL},
  };
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    ProgramRun run = run_program(commands[i]);
    assert_int_equal(run.status, 0);
    run_clear(&run);
  }
}

/// Record the sink soon after it sounds: one that nobody is in a hurry for works two seconds ahead.
static void
witness_closely(Sitting* const s, const char* const path)
{
  const char* const arguments[] = {"parec",
                                   "--device=quiet.monitor",
                                   "--latency-msec=20",
                                   "--rate=44100",
                                   "--channels=1",
                                   "--format=s16le",
                                   "--file-format=wav",
                                   path,
                                   NULL};
  s->witness = program_begin(arguments);
  assert_true(s->witness > 0);
}

/// Who plays on while the voice speaks silences it, and is judged from the first note.
static void
playing_silences_it(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  begin_speech(s);
  separate_the_microphone();
  Pair pair = make_pair(s, 0.5);
  char* const witness = sitting_path(s, "witness.wav");
  const char* const options[] = {"--silent", "--speak", "--json", "--rounds", "2", NULL};
  sitting_practise(s, pair.phrase, options);
  sitting_wait_until_ready(s);
  witness_closely(s, witness);
  const char* const play[] = {"paplay", "--device=mic", pair.path, NULL};
  s->player = program_begin(play);
  assert_int_equal(sitting_end(s, (double)pair.tape.count / RATE_HZ + END_S), 0);
  test_nap(0.3);
  sitting_witness_end(s);
  char* const said = sitting_said(s);
  check_verdicts(&pair, said);
  json_t* const all = verdicts_read(said);
  json_t* const hushes = events_of(said, "hush");
  assert_true(is_granted(hushes, 0) && !is_granted(hushes, 1));
  // What is left of the words: from when they were allowed to soon after the first note
  const double began_s = verdicts_number(verdicts_round(json_array_get(all, 1), 0), "start_s");
  const double allowed_s = began_s - number_of(hushes, 0, "at_s");
  Tape heard = tape_read(witness);
  const Stretch words = find_sound(&heard, 0.0, (double)heard.count / RATE_HZ);
  const double lasted_s = words.to_s - words.from_s;
  print_message("  %.2f s of words; %.2f s after they were allowed the player began\n", lasted_s,
                allowed_s);
  assert_true(allowed_s > 2.0 && lasted_s > allowed_s - 1.0);
  assert_true(lasted_s < allowed_s + 0.6);
  json_decref(all);
  json_decref(hushes);
  tape_clear(&heard);
  free(said);
  free(witness);
  pair_clear(&pair);
  speech_server_end(speech);
}

/// A speech server that hangs costs nothing but one line.
static void
no_answer(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  begin_speech(s);
  Pair pair = make_pair(s, 2.0);
  const char* const options[] = {"--silent", "--speak", "--rounds", "2", NULL};
  sitting_practise(s, pair.phrase, options);
  sitting_wait_until_ready(s);
  kill(speech, SIGSTOP);
  sitting_play(s, pair.path);
  sitting_wait_for(s, "The voice does not answer", 20.0);
  assert_int_equal(sitting_end(s, (double)pair.tape.count / RATE_HZ + END_S), 0);
  char* const said = sitting_said(s);
  const char* const first = strstr(said, "The voice does not answer");
  if (!first || strstr(first + 1, "The voice") || !strstr(said, "Round 2:") ||
      !strstr(said, "10 of 10 notes played, 6 of 6 cuts clean")) {
    fail_msg("%s", said);
  }
  free(said);
  pair_clear(&pair);
  speech_server_end(speech);
}

/// Amplitude of a sine in part of what was heard.
static double
sine_in(const Tape* const heard, const double from_s, const double to_s, const double hz)
{
  const size_t from = (size_t)(from_s * heard->rate_hz);
  const size_t to = (size_t)(to_s * heard->rate_hz);
  double re = 0.0;
  double im = 0.0;
  for (size_t i = from; i < to && i < heard->count; ++i) {
    const double phase = 2.0 * PI * hz * (double)i / heard->rate_hz;
    const double window = 1.0 - cos(2.0 * PI * (double)(i - from) / (double)(to - from));
    re += window * (double)heard->samples[i] * cos(phase);
    im += window * (double)heard->samples[i] * sin(phase);
  }
  return 2.0 * hypot(re, im) / (double)(to - from);
}

/// One low note after a faulty round, two rising ones after a clean one, as loud as a click.
static void
tones_are_played(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, RATE_HZ);
  separate_the_microphone();
  Pair pair = make_pair(s, 1.5);
  char* const witness = sitting_path(s, "witness.wav");
  const char* const options[] = {"--tones", "--json", "--rounds", "2", NULL};
  sitting_practise(s, pair.phrase, options);
  sitting_wait_until_ready(s);
  sitting_witness(s, witness, RATE_HZ);
  const char* const play[] = {"paplay", "--device=mic", pair.path, NULL};
  s->player = program_begin(play);
  assert_int_equal(sitting_end(s, (double)pair.tape.count / RATE_HZ + END_S), 0);
  sitting_witness_end(s);
  Tape heard = tape_read(witness);
  size_t low = 0;
  size_t high = 0;
  double low_s = 0.0;
  double first_s = 0.0;
  double second_s = 0.0;
  float peak = 0.0f;
  for (size_t i = 0; i < heard.count; ++i) {
    peak = fmaxf(peak, fabsf(heard.samples[i]));
  }
  const double end_s = (double)heard.count / RATE_HZ - 0.1;
  double loudest = 0.0;
  for (double at_s = 0.0; at_s < end_s; at_s += BLOCK_S) {
    const double level_low = sine_in(&heard, at_s, at_s + 0.1, 246.9);
    const double level_first = sine_in(&heard, at_s, at_s + 0.1, 659.3);
    const double level_second = sine_in(&heard, at_s, at_s + 0.1, 987.8);
    const bool is_low = level_low > 0.03;
    const bool is_first = level_first > 0.03;
    const bool is_second = level_second > 0.03;
    loudest = fmax(fmax(loudest, level_low), fmax(level_first, level_second));
    low_s = is_low && low == 0 ? at_s : low_s;
    first_s = is_first && high == 0 ? at_s : first_s;
    second_s = is_second ? at_s : second_s;
    low += is_low;
    high += is_first;
  }
  print_message("  low at %.2f s, rising at %.2f and %.2f s, amplitude %.3f, peak %.3f\n", low_s,
                first_s, second_s, loudest, (double)peak);
  assert_true(low >= 2 && low <= 6 && high >= 1 && high <= 4);
  assert_true(first_s > low_s + SHORT_S && second_s > first_s && second_s < first_s + 0.4);
  // Half of full scale at 15 %, and a click may fall into it
  assert_true(loudest > 0.05 && loudest < 0.076 && peak < 0.151f);
  char* const said = sitting_said(s);
  json_t* const all = verdicts_read(said);
  assert_int_equal(verdicts_count(verdicts_round(json_array_get(all, 1), 0), "played"),
                   SHORT_NOTES);
  json_decref(all);
  free(said);
  tape_clear(&heard);
  free(witness);
  pair_clear(&pair);
}

/// Seconds between rounds, for the voice.
#define LADDER_GAP_S 6.0

/// What a tempo ladder says next is spoken after the verdict, and the tempo changes only then,
/// since its count-in would silence the voice.
static void
steps_of_a_ladder_are_spoken(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  begin_speech(s);
  Short tune = short_tune(s, 1);
  char* const path = sitting_path(s, "rounds.wav");
  char* const witness = sitting_path(s, "witness.wav");
  Tape tape = {.rate_hz = RATE_HZ};
  tape_silence(&tape, 1.0);
  for (int i = 0; i < 3; ++i) {
    tape_file(&tape, tune.take, 0.0, INFINITY);
    tape_silence(&tape, LADDER_GAP_S);
  }
  tape_write(&tape, path);
  const char* const options[] = {
      "--silent", "--speak",         "--json", "--ladder", "--ladder-from",
      "97",       "--until-silence", "9",      NULL};
  sitting_witness(s, witness, RATE_HZ);
  sitting_practise(s, tune.phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, path);
  assert_int_equal(sitting_end(s, (double)tape.count / RATE_HZ + END_S), 0);
  sitting_witness_end(s);
  Tape heard = tape_read(witness);
  char* const said = sitting_said(s);
  json_t* const rounds = events_of(said, "round");
  json_t* const tempos = events_of(said, "tempo");
  json_t* const steps = events_of(said, "ladder");
  assert_int_equal(json_array_size(rounds), 3);
  assert_int_equal(json_array_size(tempos), 1);
  assert_int_equal(json_array_size(steps), 4);
  assert_string_equal(json_string_value(json_object_get(json_array_get(steps, 3), "words")),
                      "Up a step, to 100.");
  // The voice after the first round and after the third: "Clean." and that sentence too
  const double begin_s = find_sound(&heard, 0.0, (double)heard.count / RATE_HZ).from_s;
  const double round_s = ((double)tape.count / RATE_HZ - 1.0) / 3.0;
  double voice_s[3];
  for (int i = 0; i < 3; ++i) {
    const double from_s = begin_s + i * round_s;
    const Stretch voice = find_sound(&heard, from_s + SHORT_S + RINGS_S, from_s + round_s - 0.2);
    voice_s[i] = voice.to_s - voice.from_s;
  }
  const double waited_s = number_of(tempos, 0, "at_s") - number_of(rounds, 2, "at_s");
  print_message("  spoken for %.2f, %.2f and %.2f s; the tempo %.2f s after the round\n",
                voice_s[0], voice_s[1], voice_s[2], waited_s);
  assert_true(voice_s[0] > 0.1 && voice_s[1] < 1.5 * voice_s[0]);
  assert_true(voice_s[2] > 2.0 * voice_s[0]);
  assert_true(waited_s > voice_s[2]);
  json_decref(rounds);
  json_decref(tempos);
  json_decref(steps);
  tape_clear(&heard);
  tape_clear(&tape);
  free(said);
  free(witness);
  free(path);
  short_clear(&tune);
  speech_server_end(speech);
}

/// Pause before an item of a day, s, and when in it a key is pressed.
#define DAY_WAIT "9"
#define DAY_KEY_S 5.5

/// What comes next of a day is spoken in the pause before it, before the click counts in.
static void
items_of_today_are_spoken(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  begin_speech(s);
  char* const witness = sitting_path(s, "witness.wav");
  const char* const arguments[] = {"today",  "--only", "2",       "--only", "4",
                                   "--wait", DAY_WAIT, "--speak", NULL};
  sitting_witness(s, witness, RATE_HZ);
  sitting_start_on_terminal(s, arguments);
  double key_s[2];
  static const char* const keys[] = {"n", "q"};
  for (int i = 0; i < 2; ++i) {
    sitting_wait_for_times(s, "The count-in begins in", (size_t)i + 1, END_S);
    test_nap(DAY_KEY_S);
    key_s[i] = test_now_s();
    assert_int_equal(write(s->terminal, keys[i], 1), 1);
  }
  assert_int_equal(sitting_end(s, END_S), 0);
  sitting_witness_end(s);
  char* const said = sitting_said(s);
  if (strstr(said, "Count-in") || !strstr(said, "1 of 2: First Cuts, 3 minutes") ||
      !strstr(said, "2 of 2: First Sip, 2 minutes")) {
    fail_msg("%s", said);
  }
  // "First: First Cuts, 3 minutes." and "Next: First Sip, 2 minutes."
  Tape heard = tape_read(witness);
  const double end_s = (double)heard.count / RATE_HZ;
  const Stretch first = find_sound(&heard, 0.0, end_s);
  const Stretch second = find_sound(&heard, first.to_s + MOST_PAUSE_S, end_s);
  const Stretch more = find_sound(&heard, second.to_s + MOST_PAUSE_S, end_s);
  print_message("  spoken for %.2f s, and %.2f s later for %.2f s; between the keys %.2f s\n",
                first.to_s - first.from_s, second.from_s - first.to_s, second.to_s - second.from_s,
                key_s[1] - key_s[0]);
  assert_true(first.to_s - first.from_s > 1.0 && first.to_s - first.from_s < DAY_KEY_S);
  assert_true(second.to_s - second.from_s > 1.0 && second.to_s - second.from_s < DAY_KEY_S);
  assert_true(isnan(more.from_s));
  // One after each pause has begun
  const double apart_s = second.from_s - first.from_s;
  assert_true(fabs(apart_s - (key_s[1] - key_s[0])) < 2.0);
  tape_clear(&heard);
  free(said);
  free(witness);
  speech_server_end(speech);
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    fputs("usage: test_voice PROGRAM MAKE_TAKE SOURCE_TREE [PART OF A SCENE'S NAME]\n", stderr);
    return 2;
  }
  if (!has_program("pulseaudio") || !has_program("paplay") || !has_program("parec") ||
      !has_program("pactl")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  if (!has_speech_server()) {
    printf("skipped: needs Debian's speech-dispatcher and speech-dispatcher-espeak-ng\n");
    return 77;
  }
  test_program = argv[1];
  test_make_take = argv[2];
  test_source = argv[3];
  static const Scene scenes[] = {
      {"verdicts are spoken", verdicts_are_spoken, false, false},
      {"playing silences the voice", playing_silences_it, false, false},
      {"tones are played", tones_are_played, false, false},
      {"steps of a ladder are spoken", steps_of_a_ladder_are_spoken, false, false},
      {"items of today are spoken", items_of_today_are_spoken, false, false},
      {"the speech server hangs", no_answer, false, false},
  };
  size_t failed = 0;
  size_t run = 0;
  for (size_t i = 0; i < sizeof(scenes) / sizeof(scenes[0]); ++i) {
    if (argc < 5 || strstr(scenes[i].name, argv[4])) {
      failed += lanes_run(&scenes[i], 1, 1);
      ++run;
    }
  }
  printf("%zu of %zu failed\n", failed, run);
  return failed || !run ? 1 : 0;
}
