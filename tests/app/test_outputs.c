// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_outputs.c
   What is written is whole or not there, and nothing that is read is written over.

   usage: test_outputs STEADYREED EXERCISES
*/

#include "run_program.h"

#include <steadyreed/output.h>
#include <steadyreed/phrase.h>

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static const char* program;
static const char* exercises;
static char folder[] = "/tmp/steadyreed-outputs-XXXXXX";

static const char older[] = "what was there before\n";

/// A path in the folder; of the last eight that were asked for.
static const char*
at(const char* const name)
{
  static char paths[8][PATH_MAX];
  static unsigned next;
  char* const path = paths[next++ % 8];
  snprintf(path, PATH_MAX, "%s/%s", folder, name);
  return path;
}

static void
assert_holds(const char* const path, const char* const text)
{
  char read[4096] = "";
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  read[fread(read, 1, sizeof(read) - 1, file)] = '\0';
  fclose(file);
  assert_string_equal(read, text);
}

static size_t
count_files(void)
{
  size_t count = 0;
  DIR* const directory = opendir(folder);
  assert_non_null(directory);
  for (struct dirent* entry; (entry = readdir(directory));) {
    count += strcmp(entry->d_name, ".") && strcmp(entry->d_name, "..");
  }
  closedir(directory);
  return count;
}

static int
empty(void** const state)
{
  (void)state;
  DIR* const directory = opendir(folder);
  for (struct dirent* entry; directory && (entry = readdir(directory));) {
    if (strcmp(entry->d_name, ".") && strcmp(entry->d_name, "..")) {
      unlink(at(entry->d_name));
    }
  }
  return directory ? closedir(directory) : 1;
}

static void
a_new_file(void** const state)
{
  (void)state;
  SrOutput* output = NULL;
  assert_int_equal(sr_output_new(at("a"), &output, NULL), SR_OK);
  fputs("new\n", sr_output_stream(output));
  assert_int_equal(access(at("a"), F_OK), -1);
  assert_int_equal(sr_output_finish(output, NULL), SR_OK);
  sr_output_del(output);
  assert_holds(at("a"), "new\n");
  assert_int_equal(count_files(), 1);
  const mode_t mask = umask(0);
  umask(mask);
  struct stat status;
  assert_int_equal(stat(at("a"), &status), 0);
  assert_int_equal(status.st_mode & 07777, 0666 & ~mask);
}

static void
an_older_one_is_replaced(void** const state)
{
  (void)state;
  file_put(at("a"), older);
  assert_int_equal(chmod(at("a"), 0640), 0);
  assert_int_equal(symlink(at("a"), at("link")), 0);
  assert_int_equal(sr_output_write(at("link"), "new\n", 4, NULL), SR_OK);
  assert_holds(at("a"), "new\n");
  struct stat status;
  assert_int_equal(stat(at("a"), &status), 0);
  assert_int_equal(status.st_mode & 07777, 0640);
  assert_int_equal(lstat(at("link"), &status), 0);
  assert_true(S_ISLNK(status.st_mode));
  assert_int_equal(count_files(), 2);
}

static void
what_is_not_finished_is_not_there(void** const state)
{
  (void)state;
  file_put(at("a"), older);
  for (int i = 0; i < 2; ++i) {
    SrOutput* output = NULL;
    assert_int_equal(sr_output_new(at(i ? "b" : "a"), &output, NULL), SR_OK);
    fputs("half", sr_output_stream(output));
    sr_output_del(output);
  }
  assert_holds(at("a"), older);
  assert_int_equal(count_files(), 1);
}

/// In a child: begin to write, and be killed; 0 if that came so.
static int
killed_while_writing(const char* const path)
{
  const pid_t child = fork();
  if (child == 0) {
    SrOutput* output = NULL;
    if (sr_output_new(path, &output, NULL) != SR_OK ||
        write(sr_output_descriptor(output), "half", 4) != 4) {
      _exit(1);
    }
    raise(SIGKILL);
  }
  int status = 0;
  return waitpid(child, &status, 0) == child && WIFSIGNALED(status) ? 0 : 1;
}

static void
who_is_killed_leaves_nothing(void** const state)
{
  (void)state;
  // Some file systems know no file without a name
  const int nameless = open(folder, O_TMPFILE | O_RDWR, 0600);
  if (nameless < 0) {
    skip();
  }
  close(nameless);
  file_put(at("a"), older);
  assert_int_equal(killed_while_writing(at("a")), 0);
  assert_int_equal(killed_while_writing(at("b")), 0);
  assert_holds(at("a"), older);
  assert_int_equal(count_files(), 1);
}

/// In a child that may write 1000 bytes to a file: write 5000. Its status.
static SrStatus
write_too_much(const char* const path)
{
  const pid_t child = fork();
  if (child == 0) {
    const struct rlimit most = {1000, 1000};
    signal(SIGXFSZ, SIG_IGN);
    static char bytes[5000];
    const bool limited = !setrlimit(RLIMIT_FSIZE, &most);
    _exit(limited ? (int)sr_output_write(path, bytes, sizeof(bytes), NULL) : 99);
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFEXITED(status));
  return (SrStatus)WEXITSTATUS(status);
}

static void
a_full_disk_changes_nothing(void** const state)
{
  (void)state;
  file_put(at("a"), older);
  assert_int_equal(write_too_much(at("a")), SR_WRITE_FAILED);
  assert_int_equal(write_too_much(at("b")), SR_WRITE_FAILED);
  assert_holds(at("a"), older);
  assert_int_equal(count_files(), 1);
  SrError error;
  assert_int_equal(sr_output_write("/dev/full", "x", 1, &error), SR_WRITE_FAILED);
  assert_string_equal(error.file, "/dev/full");
}

static void
refusals(void** const state)
{
  (void)state;
  SrError error;
  assert_int_equal(sr_output_write(at("none/a"), "x", 1, &error), SR_NOT_FOUND);
  assert_int_equal(sr_output_write(folder, "x", 1, &error), SR_WRITE_FAILED);
  file_put(at("a"), older);
  assert_int_equal(chmod(at("a"), 0444), 0);
  if (geteuid() != 0) {
    assert_int_equal(sr_output_write(at("a"), "x", 1, &error), SR_NO_PERMISSION);
  }
  assert_int_equal(symlink(at("a"), at("link")), 0);
  const char* const read[] = {NULL, at("none"), at("a")};
  assert_int_equal(sr_output_check(at("link"), read, 3, &error), SR_BAD_ARGUMENT);
  assert_int_equal(sr_output_check(at("link"), read, 2, &error), SR_OK);
  assert_int_equal(sr_output_check(at("b"), read, 3, &error), SR_OK);
  assert_int_equal(symlink(at("none"), at("nowhere")), 0);
  assert_int_equal(sr_output_write(at("nowhere"), "x", 1, &error), SR_NOT_FOUND);
  assert_holds(at("a"), older);
}

/// What standard input comes from is read, and what standard output goes to is added to.
static void
standard_streams(void** const state)
{
  (void)state;
  file_put(at("a"), older);
  const pid_t child = fork();
  if (child == 0) {
    const int in = open(at("a"), O_RDONLY);
    const int out = open(at("a"), O_WRONLY | O_APPEND);
    const char* const read[] = {"-"};
    const bool set = dup2(in, STDIN_FILENO) >= 0 && dup2(out, STDOUT_FILENO) >= 0;
    _exit(set && sr_output_check(at("a"), read, 1, NULL) == SR_BAD_ARGUMENT &&
                  sr_output_write("/dev/stdout", "more\n", 5, NULL) == SR_OK
              ? 0
              : 1);
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
  assert_holds(at("a"), "what was there before\nmore\n");
  assert_int_equal(count_files(), 1);
}

static int
run(const char* const* const arguments)
{
  ProgramRun ran = run_program(arguments);
  const int status = ran.status;
  run_clear(&ran);
  return status;
}

/// Copy an exercise into the folder.
static void
copy_exercise(const char* const name, const char* const to)
{
  char path[PATH_MAX];
  char text[65536];
  snprintf(path, sizeof(path), "%s/%s", exercises, name);
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  text[fread(text, 1, sizeof(text) - 1, file)] = '\0';
  fclose(file);
  file_put(to, text);
}

static size_t
size_of(const char* const path)
{
  struct stat status;
  assert_int_equal(stat(path, &status), 0);
  return (size_t)status.st_size;
}

static void
nothing_read_is_written_over(void** const state)
{
  (void)state;
  const char* const phrase = at("a.abc");
  copy_exercise("first-cuts.abc", phrase);
  const size_t size = size_of(phrase);
  const char* const wav = at("a.wav");
  const char* const sound[] = {program, "sound", phrase, "-o", wav, NULL};
  assert_int_equal(run(sound), 0);
  const size_t sound_size = size_of(wav);
  // The phrase's name ends in .wav, so that nothing else can be what is refused
  const char* const named = at("phrase.wav");
  copy_exercise("first-cuts.abc", named);
  const char* const onto_phrase[] = {program, "sound", named, "-o", named, NULL};
  assert_int_equal(run(onto_phrase), 2);
  assert_int_equal(size_of(named), size);
  const char* const plan[] = {program, "plan", phrase, "-o", phrase, NULL};
  assert_int_equal(run(plan), 2);
  const char* const plan_abc[] = {program, "plan", phrase, "--abc", "-o", phrase, NULL};
  assert_int_equal(run(plan_abc), 2);
  assert_int_equal(size_of(phrase), size);
  const char* const assess[] = {program, "assess", phrase, wav, "-o", wav, NULL};
  assert_int_equal(run(assess), 2);
  assert_int_equal(size_of(wav), sound_size);
  const char* const onto_abc[] = {program, "assess", phrase, wav, "-o", phrase, NULL};
  assert_int_equal(run(onto_abc), 2);
  assert_int_equal(size_of(phrase), size);

  const char* const style = at("style.json");
  file_put(style, "{}\n");
  const char* const onto_style[] = {program, "plan", phrase, "--style", style, "-o", style, NULL};
  assert_int_equal(run(onto_style), 2);
  assert_holds(style, "{}\n");
  const char* const after[] = {program, "plan", phrase, "--joins", "--after",
                               style,   "-o",   style,  NULL};
  assert_int_equal(run(after), 2);
  assert_holds(style, "{}\n");
  const char* const layout[] = {program, "drill", "air", "--instrument", style, "-o", style, NULL};
  assert_int_equal(run(layout), 2);
  assert_holds(style, "{}\n");

  const char* const in_place[] = {program, "plan", phrase, "--abc", "--in-place", NULL};
  assert_int_equal(run(in_place), 0);
  const size_t planned = size_of(phrase);
  assert_true(planned > size);
  // The second time nothing is left to do
  assert_int_equal(run(in_place), 0);
  assert_int_equal(size_of(phrase), planned);
}

static SrPhrase*
read_tune(const char* const path)
{
  SrPhrase* phrase = NULL;
  const SrPhraseChoice choice = {0};
  assert_int_equal(sr_phrase_read_file(path, &choice, &phrase, NULL), SR_OK);
  return phrase;
}

static size_t
count_cuts(const SrPhrase* const phrase)
{
  size_t cuts = 0;
  for (size_t n = 0; n < sr_phrase_note_count(phrase); ++n) {
    cuts += sr_phrase_note(phrase, n)->cut_midi >= 0 ? 1 : 0;
  }
  return cuts;
}

/// However its lines end, and with bytes that are no UTF-8: what is written is the same tune, with
/// a button at each note and each cut.
static void
a_plan_in_place_is_the_same_tune(void** const state)
{
  (void)state;
  static const char* const texts[] = {
      "X:1\nT:Lines that End One Way\nM:6/8\nL:1/8\nK:G\nA{c}AF GdB|A3 A3|]\n",
      "X:1\rT:Lines that End Another Way\rM:6/8\rL:1/8\rK:G\rA{c}AF GdB|A3 A3|]\r",
      "X:1\r\nT:Lines that End Both Ways\r\nM:6/8\nL:1/8\rK:G\r\nA{c}AF GdB|\rA3 A3|]",
      "X:1\nT:One Lone End\nC:one\rN:two\nM:6/8\nL:1/8\nK:G\nA{c}AF GdB|A3 A3|]\nw: la la\n",
      "X:1\nT:Not UTF-8\nM:6/8\nL:1/8\nK:G\n\"90\xB0\"A{c}AF GdB|\"\xC3\xA9\"A3 A3|]\n"};
  for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); ++i) {
    const char* const path = at("tune.abc");
    file_put(path, texts[i]);
    SrPhrase* const before = read_tune(path);
    const char* const in_place[] = {program, "plan", path, "--abc", "--in-place", NULL};
    assert_int_equal(run(in_place), 0);
    SrPhrase* const after = read_tune(path);
    const size_t count = sr_phrase_note_count(before);
    assert_int_equal(sr_phrase_note_count(after), count);
    for (size_t n = 0; n < count; ++n) {
      assert_int_equal(sr_phrase_note(after, n)->midi, sr_phrase_note(before, n)->midi);
      assert_int_equal(sr_phrase_note(after, n)->cut_midi, sr_phrase_note(before, n)->cut_midi);
    }
    size_t buttons = 0;
    char text[4096] = "";
    FILE* const file = fopen(path, "r");
    text[fread(text, 1, sizeof(text) - 1, file)] = '\0';
    fclose(file);
    for (const char* c = text; (c = strstr(c, "\"^")); ++c) {
      ++buttons;
    }
    assert_int_equal(buttons, count + count_cuts(before));
    sr_phrase_del(before);
    sr_phrase_del(after);
  }
}

static void
a_failed_run_leaves_the_older_report(void** const state)
{
  (void)state;
  const char* const phrase = at("a.abc");
  copy_exercise("first-cuts.abc", phrase);
  const char* const report = at("report.txt");
  file_put(report, older);
  const char* const forms[] = {"--json", "--csv", "--all"};
  for (size_t i = 0; i < 3; ++i) {
    const char* const assess[] = {program,  "assess", phrase, at("none.wav"),
                                  forms[i], "-o",     report, NULL};
    assert_int_equal(run(assess), 1);
    assert_holds(report, older);
  }
  const char* const plan[] = {program, "plan", at("none.abc"), "-o", report, NULL};
  assert_int_equal(run(plan), 1);
  assert_holds(report, older);
}

int
main(const int argc, char** const argv)
{
  if (argc != 3 || !mkdtemp(folder)) {
    return 2;
  }
  program = argv[1];
  exercises = argv[2];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_teardown(a_new_file, empty),
      cmocka_unit_test_teardown(an_older_one_is_replaced, empty),
      cmocka_unit_test_teardown(what_is_not_finished_is_not_there, empty),
      cmocka_unit_test_teardown(who_is_killed_leaves_nothing, empty),
      cmocka_unit_test_teardown(a_full_disk_changes_nothing, empty),
      cmocka_unit_test_teardown(refusals, empty),
      cmocka_unit_test_teardown(standard_streams, empty),
      cmocka_unit_test_teardown(nothing_read_is_written_over, empty),
      cmocka_unit_test_teardown(a_plan_in_place_is_the_same_tune, empty),
      cmocka_unit_test_teardown(a_failed_run_leaves_the_older_report, empty),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  rmdir(folder);
  return failed;
}
