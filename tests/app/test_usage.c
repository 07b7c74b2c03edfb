// SPDX-License-Identifier: GPL-3.0-or-later

// Options, help and exit statuses, as documented: 0 done, 1 not judged, 2 wrong
// usage, 3 audio device trouble. The program is the first argument.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/slow.h>

#include "clean_text.h"
#include "extent.h"
#include "made_take.h"
#include "run_program.h"

#include <jansson.h>
#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static const char* program;
static char* folder;
static char* phrase_path;
static char* take_path;

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  phrase_path = folder_path(folder, "jig.abc");
  take_path = folder_path(folder, "take.wav");
  file_write(phrase_path, made_phrase, strlen(made_phrase));
  MadeTake take = made_take(made_phrase, 44100.0, 1);
  made_take_write(&take, take_path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1);
  made_take_clear(&take);
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  free(phrase_path);
  free(take_path);
  return 0;
}

#define RUN(...) run_program((const char* const[]){program, __VA_ARGS__, NULL})

static void
check_wrong(ProgramRun run, const char* const words)
{
  assert_int_equal(run.status, 2);
  assert_string_equal(run.output, "");
  if (!strstr(run.trouble, words)) {
    print_error("expected \"%s\" in: %s", words, run.trouble);
  }
  assert_non_null(strstr(run.trouble, words));
  assert_non_null(strstr(run.trouble, "--help"));
  run_clear(&run);
}

static void
long_wrong_usage_says_what_is_wrong(void** const state)
{
  (void)state;
  const char* const bare[] = {program, NULL};
  check_wrong(run_program(bare), "name a command");
  check_wrong(RUN("asess"), "no command \"asess\"");
  check_wrong(RUN("--json"), "no option --json");
  check_wrong(RUN("assess"), "name the phrase");
  check_wrong(RUN("assess", phrase_path), "name a take");
  check_wrong(RUN("assess", take_path, phrase_path), "the phrase comes first");
  check_wrong(RUN("assess", phrase_path, take_path, "--jsno"), "no option --jsno");
  check_wrong(RUN("assess", phrase_path, take_path, "-x"), "no option -x");
  check_wrong(RUN("assess", phrase_path, take_path, "--bars"), "--bars needs a value");
  check_wrong(RUN("assess", phrase_path, take_path, "--json", "--csv"), "choose one");
  check_wrong(RUN("assess", phrase_path, phrase_path), "is a phrase too");
  check_wrong(RUN("assess", phrase_path, take_path, "-o", "other.wav"), "looks like a take");
  check_wrong(RUN("class"), "name the phrase and the folder");
  check_wrong(RUN("class", phrase_path, "."), "name a new folder for the results");
  check_wrong(RUN("class", phrase_path, ".", ".", "-o", "new"), "one folder");
  check_wrong(RUN("class", take_path, ".", "-o", "new"), "the phrase comes first");
  check_wrong(RUN("class", phrase_path, ".", "-o", "new", "--workers", "0"), "from 1 to 64");
  check_wrong(RUN("class", phrase_path, ".", "-o", "new", "--json"), "no option --json");
  check_wrong(RUN("sound"), "name the phrase");
  check_wrong(RUN("sound", phrase_path, phrase_path), "one phrase only");
  check_wrong(RUN("sound", phrase_path, "--rate", "44100"), "Add -o");
  check_wrong(RUN("sound", phrase_path, "--speed", "50", "--tempo", "60"), "not both");
  check_wrong(RUN("sound", phrase_path, "--from", "0:01"), "choose --bars");
  check_wrong(RUN("sound", take_path, "--rounds", "2"), "--rounds is for a phrase");
  check_wrong(RUN("sound", take_path, "--from", "0:02", "--to", "0:01"), "must come after");
  check_wrong(RUN("demo", phrase_path), "takes no files");
  check_wrong(RUN("demo", "--loud"), "no option --loud");
}

static void
long_numbers_are_read_strictly(void** const state)
{
  (void)state;
  static const char* const tempos[] = {"",    "0",   "19.9", "300.1", "90x", " 90",
                                       "nan", "inf", "0x50", "9e1",   "-90", "1.2.3"};
  for (size_t i = 0; i < sizeof(tempos) / sizeof(tempos[0]); ++i) {
    check_wrong(RUN("assess", phrase_path, take_path, "--tempo", tempos[i]), "from 20 to 300");
  }
  static const char* const bars[] = {
      "", "4-1", "a", "1-", "-2", "1-2-3", "1 -2", "0-0", "99999999999999999999"};
  for (size_t i = 0; i < sizeof(bars) / sizeof(bars[0]); ++i) {
    check_wrong(RUN("assess", phrase_path, take_path, "--bars", bars[i]), "--bars takes");
  }
  check_wrong(RUN("assess", phrase_path, take_path, "--tune", "0"), "--tune takes");
  check_wrong(RUN("assess", phrase_path, take_path, "--part", "AB"), "--part takes");
  check_wrong(RUN("assess", phrase_path, take_path, "--long-cut", "500"), "from 20 to 200");
  check_wrong(RUN("assess", phrase_path, take_path, "--reference", "44"), "from 400 to 480");
  check_wrong(RUN("sound", phrase_path, "-o", "x.wav", "--rate", "8000"), "from 16000 to 192000");
  check_wrong(RUN("sound", phrase_path, "-o", "x.wav", "--rounds", "1.5"), "--rounds takes");
  static const char* const speeds[] = {"", "%", "24", "101", "50x", "-50", "50%%", "0x50"};
  for (size_t i = 0; i < sizeof(speeds) / sizeof(speeds[0]); ++i) {
    check_wrong(RUN("sound", take_path, "--speed", speeds[i]), "percent from 25 to 100");
  }
  static const char* const times[] = {"",        ":",       "1:", ":10", "0:60",
                                      "1:60:00", "1:2:3:4", "a",  "-1"};
  for (size_t i = 0; i < sizeof(times) / sizeof(times[0]); ++i) {
    check_wrong(RUN("sound", take_path, "--from", times[i]), "--from takes");
  }
}

static void
long_practice_is_asked_for_rightly(void** const state)
{
  (void)state;
  check_wrong(RUN("practise", phrase_path, phrase_path), "one phrase only");
  check_wrong(RUN("practise", phrase_path, "--loud"), "no option --loud");
  check_wrong(RUN("practise", phrase_path, "--rounds", "0"), "from 1 to 10000");
  check_wrong(RUN("practise", phrase_path, "--tempo", "1000"), "from 20 to 300");
  check_wrong(RUN("practise", phrase_path, "--click-volume", "101"), "from 0 to 100");
  check_wrong(RUN("practise", phrase_path, "--click-on", "beats"), "pulses or bars");
  check_wrong(RUN("practise", phrase_path, "--until-silence", "1"), "from 3 to 3600");
  check_wrong(RUN("practise", phrase_path, "--channel", "0"), "from 1 to 256");
  check_wrong(RUN("practise", phrase_path, "--signal", "H3"), "MIDI number");
  check_wrong(RUN("practise", phrase_path, "--signal", "C"), "MIDI number");
  check_wrong(RUN("practise", phrase_path, "--signal", "C33"), "MIDI number");
  check_wrong(RUN("practise", phrase_path, "--signal", "C1"), "MIDI number");
  check_wrong(RUN("practise", phrase_path, "--signal", "C3 "), "MIDI number");
  check_wrong(RUN("practise", "--silent", "--rounds", "3"), "without a phrase --rounds");
  check_wrong(RUN("practise", "--bars", "1-2"), "without a phrase --bars");
  check_wrong(RUN("practice", phrase_path), "practise");
  check_wrong(RUN("practise", phrase_path, "--no-keep", "--keep-all"), "choose one");
  check_wrong(RUN("practise", phrase_path, "--silent", "--silent-bars", "1:1"), "has no click");
  check_wrong(RUN("practise", phrase_path, "--silent", "--tones"), "--tones does nothing");
  check_wrong(RUN("practise", "--ladder"), "without a phrase --ladder");
  check_wrong(RUN("practise", phrase_path, "--ladder-from", "60"), "without --ladder");
  check_wrong(RUN("practise", phrase_path, "--ladder", "--ladder-from", "10"), "from 20 to 300");
  check_wrong(RUN("practise", phrase_path, "--ladder", "--ladder-from", "299"),
              "is over the tempo");
  check_wrong(RUN("practise", phrase_path, "--ladder", "--pin", "1:1=L1-1"), "--pin does nothing");
  check_wrong(RUN("today", phrase_path), "takes no files");
  check_wrong(RUN("today", "--only", "6"), "from 1 to 5");
  check_wrong(RUN("practise", "--tones"), "without a phrase --tones");
  check_wrong(RUN("practise", "--write-drill", "new.abc"), "without a phrase --write-drill");
  check_wrong(RUN("practise", phrase_path, "--write-drill", "new.abc", "--rounds", "3"),
              "--rounds is for each player");
  check_wrong(RUN("practise", phrase_path, "--write-drill", "new.abc", "--tempo", "60.5"),
              "a whole number");
  check_wrong(RUN("practise", phrase_path, "--force"), "--force goes with --write-drill");
  ProgramRun own = RUN("practise", phrase_path, "--write-drill", phrase_path);
  assert_int_equal(own.status, 2);
  assert_non_null(strstr(own.trouble, phrase_path));
  run_clear(&own);
  check_wrong(RUN("practise", phrase_path, "--ladder", "--no-ladder"), "choose one");
  check_wrong(RUN("practise", "--speak"),
              SR_HAS_VOICE ? "without a phrase --speak" : "Install libspeechd-dev");
  static const char* const bars[] = {"", "4", "4:", ":4", "0:4", "4:0", "65:1", "4:4:4", "a:b"};
  for (size_t i = 0; i < sizeof(bars) / sizeof(bars[0]); ++i) {
    check_wrong(RUN("practise", phrase_path, "--silent-bars", bars[i]), "--silent-bars takes");
  }
  check_wrong(RUN("plan"), "name the phrase");
  check_wrong(RUN("plan", phrase_path, "--json", "--abc"), "choose one");
  check_wrong(RUN("plan", phrase_path, "--plans", "4"), "from 1 to 3");
  check_wrong(RUN("plan", phrase_path, "--after", "x.json"), "with --joins");
  check_wrong(RUN("setup", phrase_path), "takes no files");
  check_wrong(RUN("transcribe"), "name the recording");
  check_wrong(RUN("transcribe", take_path, take_path), "one recording only");
  check_wrong(RUN("transcribe", take_path, "--meter", "7/8"), "--meter takes");
  check_wrong(RUN("transcribe", take_path, "--key", "H"), "no key \"H\"");
  check_wrong(RUN("transcribe", take_path, "--tempo", "10"), "from 20 to 300");
  check_wrong(RUN("transcribe", take_path, "--upbeat", "0.3"), "whole and half quavers");
  check_wrong(RUN("transcribe", take_path, "--upbeat", "12"), "--upbeat");
  check_wrong(RUN("transcribe", take_path, "--to", "x"), "--to takes");
  check_wrong(RUN("transcribe", take_path, "--from", "9", "--to", "8"), "must come after");
  check_wrong(RUN("setup", "--only", "box"), "room, latency, reeds or bellows");
}

/// `help` shows what --help does, and the topics of the manual page.
static void
help_is_a_command(void** const state)
{
  (void)state;
  static const char* const commands[] = {"today", "practise", "beside", "drill"};
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    ProgramRun said = RUN("help", commands[i]);
    ProgramRun same = RUN(commands[i], "--help");
    assert_int_equal(said.status, 0);
    assert_string_equal(said.output, same.output);
    run_clear(&said);
    run_clear(&same);
  }
  ProgramRun run = RUN("help");
  text_squeeze(run.output);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "the window, phrases, plans, verdicts, scores, air"));
  run_clear(&run);
  run = RUN("help", "window");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "Page Down"));
  run_clear(&run);
  run = RUN("help", "what", "was", "measured");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "A left hand below the melody"));
  run_clear(&run);
  check_wrong(RUN("help", "practice"), "spelt \"practise\"");
  check_wrong(RUN("help", "nothing"), "no help on \"nothing\"");
}

/// Each help fits 80 columns, has examples and names every option that the command takes.
static void
help_tells_all_options(void** const state)
{
  (void)state;
  static const struct {
    const char* command;
    const char* words[32];
  } commands[] = {
      {"--help",
       {"demo", "sound PHRASE", "practise [PHRASE]", "assess PHRASE TAKE", "setup", "Exit status"}},
      {"practise",
       {"--bars",
        "--part",
        "--tune",
        "--tempo",
        "--silent",
        "--click-on",
        "--click-volume",
        "--silent-bars",
        "--rounds",
        "--signal",
        "--keep-all",
        "--no-keep",
        "--until-silence",
        "--reference",
        "--long-cut",
        "--all",
        "--json",
        "--plain",
        "--instrument",
        "--style",
        "--open",
        "--pin",
        "--devices",
        "--input",
        "--output",
        "--channel",
        "--write-drill",
        "Examples",
        "volume low",
        "physiotherapist",
        "%%steadyreed:bars 1-2"}},
      {"practise", {"--force", "--ladder ", "--ladder-from"}},
      {"setup",
       {"--only", "--show", "--forget", "--input", "--output", "--channel", "Your ears",
        "Exit status"}},
      {"assess",
       {"--bars", "--part", "--tune", "--tempo", "--reference", "--long-cut", "--instrument",
        "--style", "--open", "--pin", "--all", "--json", "--csv", "--page", "--output", "Examples",
        "Exit status", "20 to 300"}},
      {"class",
       {"--bars", "--part", "--tune", "--tempo", "--workers", "--output", "class.csv", "NAME.pdf",
        "Ctrl-C", "Examples", "Exit status"}},
      {"sound",
       {"--bars", "--part", "--tune", "--tempo", "--click", "--rounds", "--reference", "--output",
        "--rate", "--speed", "--from", "--to", "Examples", "volume low", "Exit status"}},
      {"plan",
       {"--instrument", "--list", "--style", "--open", "--pin", "--cut", "--plans", "--page",
        "--abc", "--in-place", "--joins", "last chose, or across", "--forget"}},
      {"progress",
       {"--all", "--days", "--takes", "--mark", "--unmark", "--limit", "--let-go", "--export",
        "--import", "Examples", "Exit status"}},
      {"today",
       {"--list", "--without", "--only", "--ready", "--wait", "--signal", "--speak", "--tones",
        "--click-volume", "--input", "--output", "--channel", "--no-keep", "Return", "Examples",
        "physiotherapist", "Exit status"}},
      {"transcribe",
       {"--from", "--to", "--meter", "--key", "--tempo", "--upbeat", "--reference", "--no-click",
        "--title", "--force", "--output", "Examples", "Exit status"}},
      {"demo", {"--all", "STEADYREED_DATA"}},
      {"drill",
       {"--force", "cuts", "air", "steady", "--instrument", "Examples", "Your hands",
        "Exit status"}},
  };
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    ProgramRun run = i ? RUN(commands[i].command, "--help") : RUN(commands[i].command);
    assert_int_equal(run.status, 0);
    assert_string_equal(run.trouble, "");
    for (size_t w = 0; w < 32 && commands[i].words[w]; ++w) {
      assert_non_null(strstr(run.output, commands[i].words[w]));
    }
    for (const char* line = run.output; *line;) {
      const size_t length = strcspn(line, "\n");
      assert_true(length <= 80);
      line += length + 1;
    }
    run_clear(&run);
  }
  ProgramRun run = RUN("--version");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "steadyreed "));
  run_clear(&run);
}

static void
phrase_trouble_is_reported(void** const state)
{
  (void)state;
  ProgramRun run = RUN("assess", "nowhere.abc", take_path);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "nowhere.abc"));
  run_clear(&run);
  run = RUN("assess", phrase_path, take_path, "--bars", "40-44");
  assert_int_equal(run.status, 1);
  run_clear(&run);
  run = RUN("assess", phrase_path, take_path, "--tune", "7");
  assert_int_equal(run.status, 1);
  run_clear(&run);
  char* const broken = folder_path(folder, "broken.abc");
  file_write(broken, "X:1\nK:D\nA{cAA\n", 15);
  run = RUN("sound", broken, "-o", "x.wav");
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "broken.abc:3"));
  run_clear(&run);
  free(broken);
}

static void
sound_writes_what_it_is_asked_for(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    const char* rate;
    int format;
    int samplerate;
  } forms[] = {
      {"x.wav", "48000", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 48000},
      {"X.FLAC", "16000", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 16000},
      {"y.wav", "192000", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 192000},
  };
  for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); ++i) {
    char* const path = folder_path(folder, forms[i].name);
    ProgramRun run =
        RUN("sound", phrase_path, "-o", path, "--rate", forms[i].rate, "--bars", "1-2");
    assert_int_equal(run.status, 0);
    run_clear(&run);
    SF_INFO info = {0};
    SNDFILE* const file = sf_open(path, SFM_READ, &info);
    assert_non_null(file);
    assert_int_equal(info.samplerate, forms[i].samplerate);
    assert_int_equal(info.channels, 1);
    assert_int_equal(info.format & (SF_FORMAT_TYPEMASK | SF_FORMAT_SUBMASK), forms[i].format);
    sf_close(file);
    // Two bars of 6/8 at 80: four pulses, 3 s, and what rings on.
    const double seconds = (double)info.frames / (double)info.samplerate;
    assert_true(seconds > 3.0 && seconds < 4.0);
    free(path);
  }
  char* const odd = folder_path(folder, "x.mid");
  ProgramRun run = RUN("sound", phrase_path, "-o", odd);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, ".wav or .flac"));
  run_clear(&run);
  free(odd);
  run = RUN("sound", phrase_path, "-o", "/nowhere/at/all.wav");
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "folder"));
  run_clear(&run);
}

/// A second of a recording at half its speed takes two, and at its own speed one.
static void
sound_slows_a_recording_down(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "slow.wav");
  for (int slowly = 0; slowly < (sr_slow_is_built() ? 2 : 1); ++slowly) {
    ProgramRun run = RUN("sound", take_path, "--from", "0:00.5", "--to", "1.5", "--speed",
                         slowly ? "50%" : "100", "-o", path);
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.trouble, slowly ? "at 50 % of its speed, 2.0 s" : "100 %"));
    run_clear(&run);
    SF_INFO info = {0};
    SNDFILE* const file = sf_open(path, SFM_READ, &info);
    assert_non_null(file);
    assert_int_equal(info.samplerate, 44100);
    assert_int_equal(info.frames, slowly ? 88200 : 44100);
    sf_close(file);
  }
  free(path);
  ProgramRun run = RUN("sound", take_path, "--from", "10:00");
  assert_int_equal(run.status == 1 || run.status == 3, 1);
  run_clear(&run);
  run = RUN("sound", take_path, "-o", take_path);
  assert_int_equal(run.status, 2);
  run_clear(&run);
}

/// Nothing of what the sound libraries mutter.
static void
check_quiet(const ProgramRun* const run)
{
  assert_null(strstr(run->trouble, "ALSA lib"));
  assert_null(strstr(run->trouble, "jack"));
  assert_null(strstr(run->trouble, "JACK"));
  assert_null(strstr(run->trouble, "Cannot"));
}

/// Let ALSA know only what `text` says.
static char*
use_sound_system(const char* const text)
{
  char* const path = folder_path(folder, "asound.conf");
  file_write(path, text, strlen(text));
  setenv("ALSA_CONFIG_PATH", path, 1);
  // Where a sound server runs, Debian's ALSA makes it the default over what is said here
  setenv("PULSE_SERVER", "unix:/nonexistent/steadyreed-test", 1);
  setenv("JACK_NO_START_SERVER", "1", 1);
  setenv("JACK_DEFAULT_SERVER", "steadyreed-test-none", 1);
  return path;
}

/// A drill is written, read back by `sound`, and wrong options are reported.
static void
drills_are_written(void** const state)
{
  (void)state;
  static const char* const kinds[] = {"cuts", "air", "steady"};
  char* const drill = folder_path(folder, "drill.abc");
  char* const out = folder_path(folder, "drill.wav");
  for (size_t i = 0; i < 3; ++i) {
    ProgramRun run = RUN("drill", kinds[i], "-o", drill, i ? "--force" : NULL);
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.output, "Wrote "));
    run_clear(&run);
    // What was written is not written over by a slip
    run = RUN("drill", "cuts", "-o", drill);
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.trouble, "--force writes over it"));
    run_clear(&run);
    run = RUN("practise", phrase_path, "--write-drill", drill);
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.trouble, "--force writes over it"));
    run_clear(&run);
    run = RUN("drill", kinds[i]);
    assert_int_equal(run.status, 0);
    assert_int_equal(strncmp(run.output, "%abc-2.1\nX:1\n", 13), 0);
    run_clear(&run);
    run = RUN("sound", drill, "-o", out);
    assert_int_equal(run.status, 0);
    run_clear(&run);
  }
  ProgramRun run = RUN("drill", "cuts", "--note", "^f", "--cut", "a", "--twos", "--bars", "2");
  assert_non_null(strstr(run.output, "f{a}f"));
  run_clear(&run);
  check_wrong(RUN("drill", "cuts", "--force"), "--force goes with -o");
  check_wrong(RUN("drill"), "name a drill first");
  check_wrong(RUN("drill", "scales"), "there is no drill \"scales\"");
  check_wrong(RUN("drill", "air", "--note", "A"), "--note does not go with `drill air`");
  check_wrong(RUN("drill", "cuts", "--note", "H"), "not \"H\"");
  check_wrong(RUN("drill", "cuts", "--key", "Q"), "not \"Q\"");
  check_wrong(RUN("drill", "steady", "--silent-bars", "4"), "not \"4\"");
  check_wrong(RUN("drill", "cuts", "--bars", "0"), "not \"0\"");
  check_wrong(RUN("drill", "cuts", "A"), "one word too many");
  run = RUN("drill", "cuts", "-o", "/nowhere/at/all.abc");
  assert_int_equal(run.status, 1);
  run_clear(&run);
  run = RUN("drill", "cuts", "--note", "A", "--cut", "G");
  assert_int_equal(run.status, 2);
  assert_non_null(strstr(run.trouble, "higher"));
  run_clear(&run);
  free(drill);
  free(out);
}

/// With no sound device to be had, `sound` says so and ends with 3.
static void
no_loudspeaker(void** const state)
{
  (void)state;
  static const char* const systems[] = {
      "pcm.!default { type hw card 99 }\n", // a card that is not there
      "# nothing\n",                        // PortAudio 19.6 aborts by an assertion here
  };
  for (size_t i = 0; i < sizeof(systems) / sizeof(systems[0]); ++i) {
    char* const path = use_sound_system(systems[i]);
    ProgramRun run = RUN("sound", phrase_path);
    assert_int_equal(run.status, 3);
    assert_int_equal(strncmp(run.trouble, "steadyreed: ", 12), 0);
    assert_non_null(strstr(run.trouble, "-o FILE.wav"));
    check_quiet(&run);
    run_clear(&run);
    run = RUN("practise", phrase_path, "--no-keep");
    assert_int_equal(run.status, 3);
    assert_int_equal(strncmp(run.trouble, "steadyreed: ", 12), 0);
    check_quiet(&run);
    run_clear(&run);
    free(path);
  }
}

/// With a loudspeaker that is a file, all of the phrase comes out, to its last sample.
static void
loudspeaker_that_is_a_file(void** const state)
{
  (void)state;
  static const char system_file[] = "/usr/share/alsa/alsa.conf";
  FILE* const file = fopen(system_file, "r");
  if (!file) {
    skip();
  }
  fclose(file);
  char* const out = folder_path(folder, "played.raw");
  char* config = NULL;
  assert_true(asprintf(&config,
                       "<%s>\npcm.!default { type file slave.pcm \"null\" file \"%s\" format "
                       "\"raw\" }\n",
                       system_file, out) > 0);
  char* const path = use_sound_system(config);
  // ALSA's plugins leak, and are unloaded before LeakSanitizer could know them by name
  setenv("ASAN_OPTIONS", "detect_leaks=0", 1);
  ProgramRun run = RUN("sound", phrase_path, "--bars", "1-2");
  if (run.status != 0) {
    print_error("%s", run.trouble);
  }
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.trouble, "Playing 12 notes at 80 pulses a minute"));
  check_quiet(&run);
  run_clear(&run);
  // Two bars of 6/8 at 80 are 3 s; at the least rate and the narrowest samples that is:
  FILE* const played = fopen(out, "rb");
  assert_non_null(played);
  fseek(played, 0, SEEK_END);
  assert_true(ftell(played) > 3L * 16000L * 2L);
  fclose(played);
  free(path);
  free(config);
  free(out);
}

/// Run with a standard output that nobody reads; its exit status. What it says is in `trouble`.
static int
run_unread(const char* const* const arguments, char* const trouble, const size_t size)
{
  int output[2];
  int words[2];
  assert_int_equal(pipe(output), 0);
  assert_int_equal(pipe(words), 0);
  close(output[0]);
  fflush(NULL);
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    dup2(output[1], STDOUT_FILENO);
    dup2(words[1], STDERR_FILENO);
    close(words[0]);
    char* const* copy;
    // execv() does not write to its arguments, though its type says so.
    memcpy(&copy, &arguments, sizeof(copy));
    execv(program, copy);
    _exit(98);
  }
  close(output[1]);
  close(words[1]);
  ssize_t count = 0;
  size_t at = 0;
  while (at + 1 < size && (count = read(words[0], trouble + at, size - at - 1)) > 0) {
    at += (size_t)count;
  }
  trouble[at] = '\0';
  close(words[0]);
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

/// Who reads the output may go, as `head -1` does: that is no error, and no word about it.
static void
a_closed_pipe_is_no_error(void** const state)
{
  (void)state;
  const char* const commands[][7] = {
      {program, "--help", NULL},
      {program, "--version", NULL},
      {program, "assess", "--help", NULL},
      {program, "assess", phrase_path, take_path, NULL},
      {program, "assess", phrase_path, take_path, take_path, "--json", NULL},
      {program, "assess", phrase_path, take_path, take_path, "--csv", NULL},
      {program, "plan", phrase_path, NULL},
      {program, "plan", phrase_path, "--abc", NULL},
      {program, "drill", "cuts", NULL},
      {program, "demo", NULL},
  };
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    char trouble[4096];
    const int status = run_unread(commands[i], trouble, sizeof(trouble));
    if (status != 0 || trouble[0]) {
      fail_msg("%s %s: status %d, \"%s\"", commands[i][1], commands[i][2], status, trouble);
    }
  }
}

/// Tunes are named by number or title; where one is not there, what is there is listed.
static void
tunes_are_named(void** const state)
{
  (void)state;
  static const char tunes[] =
      "X:4\nT:The Gate\nR:jig\nK:G\nGAB cBA|\n\nX:9\nT:The Long Gate\nR:reel\n"
      "M:4/4\nK:G\nGABc dedB|\n";
  char* const path = folder_path(folder, "tunes.abc");
  char* const out = folder_path(folder, "tune.wav");
  file_write(path, tunes, strlen(tunes));
  ProgramRun run = RUN("sound", path, "--tune", "long", "-o", out);
  assert_int_equal(run.status, 0);
  assert_null(strstr(run.trouble, "Note:"));
  run_clear(&run);
  run = RUN("sound", path, "--tune", "the gate", "--transpose", "-3", "-o", out);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.trouble, "this jig is taken to be in 6/8"));
  run_clear(&run);
  static const struct {
    const char* asked;
    const char* title;
  } named[] = {{"long", "The Long Gate"}, {"the gate", "The Gate"}, {"9", "The Long Gate"}};
  for (size_t i = 0; i < sizeof(named) / sizeof(named[0]); ++i) {
    run = RUN("plan", path, "--tune", named[i].asked, "--json");
    assert_int_equal(run.status, 0);
    json_t* const plan = json_loads(run.output, 0, NULL);
    assert_string_equal(json_string_value(json_object_get(plan, "phrase")), named[i].title);
    json_decref(plan);
    run_clear(&run);
  }
  static const char* const wrong[] = {"5", "mill", "gat"};
  for (size_t i = 0; i < 3; ++i) {
    run = RUN("sound", path, "--tune", wrong[i], "-o", out);
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.trouble, "   4  The Gate (jig)\n"));
    assert_non_null(strstr(run.trouble, "   9  The Long Gate (reel)\n"));
    run_clear(&run);
  }
  check_wrong(RUN("sound", path, "--tune", "0"), "--tune");
  check_wrong(RUN("sound", path, "--transpose", "25"), "--transpose");
  check_wrong(RUN("assess", path, out, "--transpose", "up"), "--transpose");
  check_wrong(RUN("plan", path, "--transpose", "2", "--abc"), "--transpose");
  free(path);
  free(out);
}

/// Each line is strict UTF-8 without controls, and nothing turns the direction of writing.
static void
assert_clean(const char* const printed)
{
  char* const copy = strdup(printed);
  assert_non_null(copy);
  char* rest = copy;
  for (const char* line; (line = strsep(&rest, "\n"));) {
    assert_true(sr_test_is_clean_text(line));
  }
  free(copy);
  static const char* const turning[] = {"\u061C", "\u200E", "\u200F", "\u202E", "\u2066", "\u2069"};
  for (size_t i = 0; i < sizeof(turning) / sizeof(turning[0]); ++i) {
    assert_null(strstr(printed, turning[i]));
  }
}

#define EVIL                                                                                       \
  "\033[2J\xC2\x9B"                                                                                \
  "31m\u202Egone\u2066\u061C\x07"

/// Titles, file names and layouts may hold what drives a terminal; nothing of it is sent there.
static void
text_from_outside_is_shown_not_sent(void** const state)
{
  (void)state;
  static const char phrase[] = "X:1\nT:A " EVIL "\nM:6/8\nL:1/8\nK:D\nABA ABA|]\n";
  char* const evil = folder_path(folder, EVIL ".abc");
  char* const titled = folder_path(folder, "titled.abc");
  char* const sound = folder_path(folder, "titled" EVIL ".wav");
  file_write(evil, phrase, strlen(phrase));
  file_write(titled, phrase, strlen(phrase));
  const char* const runs[][6] = {{"sound", evil, "-o", sound, NULL},
                                 {"assess", titled, sound, NULL},
                                 {"assess", evil, sound, "--all", NULL},
                                 {"assess", titled, EVIL ".wav", NULL},
                                 {"assess", EVIL ".abc", sound, NULL},
                                 {"sound", titled, "--tune", EVIL, NULL},
                                 {"plan", titled, "--instrument", EVIL, NULL},
                                 {"plan", titled, "--style", EVIL, NULL},
                                 {"plan", evil, NULL},
                                 {"drill", EVIL, NULL},
                                 {EVIL, NULL}};
  for (size_t i = 0; i < sizeof(runs) / sizeof(runs[0]); ++i) {
    const char* arguments[8] = {program};
    for (size_t a = 0; runs[i][a]; ++a) {
      arguments[a + 1] = runs[i][a];
    }
    ProgramRun run = run_program(arguments);
    assert_true(run.status >= 0);
    assert_true(strlen(run.output) + strlen(run.trouble) > 0);
    assert_clean(run.output);
    assert_clean(run.trouble);
    run_clear(&run);
  }
  free(evil);
  free(titled);
  free(sound);
}

int
main(const int count, char** const arguments)
{
  if (count < 2) {
    fputs("usage: test_usage PROGRAM\n", stderr);
    return 1;
  }
  program = arguments[1];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(long_wrong_usage_says_what_is_wrong),
      cmocka_unit_test(long_numbers_are_read_strictly),
      cmocka_unit_test(long_practice_is_asked_for_rightly),
      cmocka_unit_test(help_is_a_command),
      cmocka_unit_test(help_tells_all_options),
      cmocka_unit_test(a_closed_pipe_is_no_error),
      cmocka_unit_test(tunes_are_named),
      cmocka_unit_test(phrase_trouble_is_reported),
      cmocka_unit_test(text_from_outside_is_shown_not_sent),
      cmocka_unit_test(sound_writes_what_it_is_asked_for),
      cmocka_unit_test(sound_slows_a_recording_down),
      cmocka_unit_test(drills_are_written),
      cmocka_unit_test(no_loudspeaker),
      cmocka_unit_test(loudspeaker_that_is_a_file),
  };
  sr_test_extent(count, arguments);
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
