// SPDX-License-Identifier: GPL-3.0-or-later

// Options, help and exit statuses, as documented: 0 done, 1 not judged, 2 wrong
// usage, 3 audio device trouble. The program is the first argument.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_take.h"
#include "run_program.h"

#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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
wrong_usage_says_what_is_wrong(void** const state)
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
  check_wrong(RUN("assess", phrase_path, take_path, "-o", take_path), "write over");
  check_wrong(RUN("assess", phrase_path, take_path, "-o", phrase_path), "write over");
  check_wrong(RUN("sound"), "name the phrase");
  check_wrong(RUN("sound", phrase_path, phrase_path), "one phrase only");
  check_wrong(RUN("sound", phrase_path, "--rate", "44100"), "Add -o");
  check_wrong(RUN("demo", phrase_path), "takes no files");
  check_wrong(RUN("demo", "--loud"), "no option --loud");
}

static void
numbers_are_read_strictly(void** const state)
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
}

static void
practice_is_asked_for_rightly(void** const state)
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
  check_wrong(RUN("practise", phrase_path, "--silent", "--mute-bars", "1:1"), "has no click");
  static const char* const bars[] = {"", "4", "4:", ":4", "0:4", "4:0", "65:1", "4:4:4", "a:b"};
  for (size_t i = 0; i < sizeof(bars) / sizeof(bars[0]); ++i) {
    check_wrong(RUN("practise", phrase_path, "--mute-bars", bars[i]), "--mute-bars takes");
  }
  check_wrong(RUN("plan"), "name the phrase");
  check_wrong(RUN("plan", phrase_path, "--json", "--abc"), "choose one");
  check_wrong(RUN("plan", phrase_path, "--plans", "4"), "from 1 to 3");
  check_wrong(RUN("plan", phrase_path, "--after", "x.json"), "for --joins");
  check_wrong(RUN("plan", phrase_path, "--pin", "1:1"), "such as 2:3=L1-4");
  check_wrong(RUN("plan", phrase_path, "--pin", "99:1=L1-1"), "has no note");
  check_wrong(RUN("plan", phrase_path, "--pin", "1:1=Q9-9"), "has no button");
  check_wrong(RUN("setup", phrase_path), "takes no files");
  check_wrong(RUN("setup", "--only", "box"), "room, latency, reeds or bellows");
}

/// Each help fits 80 columns, has examples and names every option that the command takes.
static void
help_tells_all_options(void** const state)
{
  (void)state;
  static const struct {
    const char* command;
    const char* words[28];
  } commands[] = {
      {"--help",
       {"demo", "sound PHRASE", "practise [PHRASE]", "assess PHRASE TAKE", "setup", "Exit status"}},
      {"practise",
       {"--bars",          "--part",      "--tune",     "--tempo",   "--silent",   "--click-on",
        "--click-volume",  "--mute-bars", "--rounds",   "--signal",  "--keep-all", "--no-keep",
        "--until-silence", "--reference", "--long-cut", "--all",     "--json",     "--plain",
        "--devices",       "--input",     "--output",   "--channel", "Examples",   "volume low",
        "physiotherapist", "Exit status"}},
      {"setup",
       {"--only", "--show", "--input", "--output", "--channel", "Your ears", "Exit status"}},
      {"assess",
       {"--bars", "--part", "--tune", "--tempo", "--reference", "--long-cut", "--instrument",
        "--all", "--json", "--csv", "--output", "Examples", "Exit status", "20 to 300"}},
      {"sound",
       {"--bars", "--part", "--tune", "--tempo", "--click", "--rounds", "--reference", "--output",
        "--rate", "Examples", "volume low", "Exit status"}},
      {"demo", {"--all", "STEADYREED_DATA"}},
      {"drill", {"cuts", "air", "steady", "--instrument", "Examples", "Your hands", "Exit status"}},
  };
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    ProgramRun run = i ? RUN(commands[i].command, "--help") : RUN(commands[i].command);
    assert_int_equal(run.status, 0);
    assert_string_equal(run.trouble, "");
    for (size_t w = 0; w < 28 && commands[i].words[w]; ++w) {
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
phrase_trouble_is_told(void** const state)
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

/// A drill is written, read back by `sound`, and wrong options are told.
static void
drills_are_written(void** const state)
{
  (void)state;
  static const char* const kinds[] = {"cuts", "air", "steady"};
  char* const drill = folder_path(folder, "drill.abc");
  char* const out = folder_path(folder, "drill.wav");
  for (size_t i = 0; i < 3; ++i) {
    ProgramRun run = RUN("drill", kinds[i], "-o", drill);
    assert_int_equal(run.status, 0);
    assert_string_equal(run.output, "");
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
  check_wrong(RUN("drill"), "name a drill first");
  check_wrong(RUN("drill", "scales"), "there is no drill \"scales\"");
  check_wrong(RUN("drill", "air", "--note", "A"), "--note is nothing for `drill air`");
  check_wrong(RUN("drill", "cuts", "--note", "H"), "\"H\" is none");
  check_wrong(RUN("drill", "cuts", "--key", "Q"), "\"Q\" is none of them");
  check_wrong(RUN("drill", "steady", "--click-bars", "4"), "\"4\" is not that");
  check_wrong(RUN("drill", "cuts", "--bars", "0"), "\"0\" is none");
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

int
main(const int count, char** const arguments)
{
  if (count < 2) {
    fputs("usage: test_usage PROGRAM\n", stderr);
    return 1;
  }
  program = arguments[1];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(wrong_usage_says_what_is_wrong),
      cmocka_unit_test(numbers_are_read_strictly),
      cmocka_unit_test(practice_is_asked_for_rightly),
      cmocka_unit_test(help_tells_all_options),
      cmocka_unit_test(phrase_trouble_is_told),
      cmocka_unit_test(sound_writes_what_it_is_asked_for),
      cmocka_unit_test(drills_are_written),
      cmocka_unit_test(no_loudspeaker),
      cmocka_unit_test(loudspeaker_that_is_a_file),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
