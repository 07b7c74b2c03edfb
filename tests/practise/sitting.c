// SPDX-License-Identifier: GPL-3.0-or-later

#include "sitting.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define MOST_OPTIONS 24u
/// How long the program may take to listen, s; much more than it needs, on a busy machine.
#define READY_S 20.0

const char* test_program;
const char* test_make_take;
const char* test_source;

double
test_now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void
test_nap(const double seconds)
{
  struct timespec left = {(time_t)seconds, (long)(1e9 * (seconds - (double)(time_t)seconds))};
  while (nanosleep(&left, &left) && errno == EINTR) {
  }
}

char*
test_text(const char* const format, ...)
{
  char* text = NULL;
  va_list arguments;
  va_start(arguments, format);
  const int length = vasprintf(&text, format, arguments);
  va_end(arguments);
  assert_true(length >= 0);
  return text;
}

char*
test_phrase(const char* const name)
{
  return test_text("%s/exercises/%s.abc", test_source, name);
}

char*
test_take(const char* const name)
{
  return test_text("%s/testdata/takes/%s.flac", test_source, name);
}

/// Put more behind the options of a sanitizer.
static void
add_option(const char* const variable, const char* const option)
{
  const char* const before = getenv(variable);
  char* const all = test_text("%s%s%s", before ? before : "", before ? ":" : "", option);
  setenv(variable, all, 1);
  free(all);
}

/// Have sanitizers write to files, for the program lets PortAudio's words on standard error go
/// nowhere. Libraries that load and unload plugins of their own lose memory, and fontconfig, which
/// looking for a display begins, seems to (tests/support/fonts.supp); of ours nothing may be lost.
static void
prepare_sanitizers(const Sitting* const s)
{
  char* const path = sitting_path(s, "leaks");
  FILE* const file = fopen(path, "w");
  assert_non_null(file);
  fputs("leak:libasound\nleak:libfontconfig\nleak:libportaudio\nleak:libpulse\n", file);
  fclose(file);
  char* const leaks = test_text("suppressions=%s:print_suppressions=0", path);
  char* const reports = test_text("log_path=%s/sanitizer", s->folder);
  add_option("LSAN_OPTIONS", leaks);
  add_option("ASAN_OPTIONS", "fast_unwind_on_malloc=0");
  add_option("ASAN_OPTIONS", reports);
  add_option("UBSAN_OPTIONS", reports);
  add_option("TSAN_OPTIONS", reports);
  free(path);
  free(leaks);
  free(reports);
}

void
sitting_begin(Sitting* const s, const int rate_hz)
{
  memset(s, 0, sizeof(*s));
  s->folder = folder_make();
  s->data = sitting_path(s, "data");
  s->takes = sitting_path(s, "data/steadyreed/takes");
  s->said_path = sitting_path(s, "said");
  s->trouble_path = sitting_path(s, "trouble");
  if (!server_begin_at(&s->server, rate_hz)) {
    fail_msg("no sound server came up");
  }
  setenv("XDG_DATA_HOME", s->data, 1);
  setenv("XDG_CONFIG_HOME", s->folder, 1);
  setenv("HOME", s->folder, 1);
  setenv("LC_ALL", "C.UTF-8", 1);
  prepare_sanitizers(s);
}

static int
remove_one(const char* const path, const struct stat* const status, const int kind,
           struct FTW* const place)
{
  (void)status;
  (void)kind;
  (void)place;
  return remove(path);
}

static void
end_process(pid_t* const process, const int signal_number)
{
  if (*process > 0) {
    kill(*process, signal_number);
    waitpid(*process, NULL, 0);
    *process = 0;
  }
}

void
sitting_clear(Sitting* const s)
{
  end_process(&s->program, SIGKILL);
  end_process(&s->player, SIGKILL);
  end_process(&s->witness, SIGKILL);
  server_end(&s->server, SIGTERM);
  if (s->terminal > 0) {
    close(s->terminal);
  }
  if (s->folder) {
    nftw(s->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
  }
  free(s->folder);
  free(s->data);
  free(s->takes);
  free(s->said_path);
  free(s->trouble_path);
  memset(s, 0, sizeof(*s));
}

char*
sitting_path(const Sitting* const s, const char* const name)
{
  return folder_path(s->folder, name);
}

/// In the child: a terminal as the controlling one, in place of standard input.
static void
take_terminal(const char* const name)
{
  setsid();
  const int ours = open(name, O_RDWR);
  if (ours < 0 || ioctl(ours, TIOCSCTTY, 0)) {
    _exit(97);
  }
  dup2(ours, STDIN_FILENO);
}

/// Start the program; `arguments` begin with its name.
static void
start(Sitting* const s, const char* const* const arguments, const char* const terminal)
{
  unlink(s->said_path);
  unlink(s->trouble_path);
  s->program = fork();
  assert_true(s->program >= 0);
  if (s->program == 0) {
    // Do not outlive a test that crashed.
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    const int nowhere = open("/dev/null", O_RDONLY);
    const int said = open(s->said_path, O_WRONLY | O_CREAT | O_APPEND, 0600);
    const int trouble = open(s->trouble_path, O_WRONLY | O_CREAT | O_APPEND, 0600);
    dup2(nowhere, STDIN_FILENO);
    if (terminal) {
      take_terminal(terminal);
    }
    dup2(said, STDOUT_FILENO);
    dup2(trouble, STDERR_FILENO);
    close(nowhere);
    close(said);
    close(trouble);
    if (s->file_limit) {
      const struct rlimit limit = {(rlim_t)s->file_limit, (rlim_t)s->file_limit};
      setrlimit(RLIMIT_FSIZE, &limit);
    }
    char* const* copy;
    const char* const* const from = arguments;
    // execv() does not write to its arguments, though its type says so.
    memcpy(&copy, &from, sizeof(copy));
    execv(copy[0], copy);
    _exit(98);
  }
}

static void
start_practise(Sitting* const s, const char* const phrase, const char* const* const options,
               const char* const terminal)
{
  const char* arguments[MOST_OPTIONS] = {test_program, "practise", phrase, "--plain"};
  size_t count = 4;
  for (size_t i = 0; options && options[i]; ++i) {
    assert_true(count + 1 < MOST_OPTIONS);
    arguments[count++] = options[i];
  }
  start(s, arguments, terminal);
}

void
sitting_practise(Sitting* const s, const char* const phrase, const char* const* const options)
{
  start_practise(s, phrase, options, NULL);
}

/// A terminal of its own; its name.
static const char*
open_terminal(Sitting* const s)
{
  s->terminal = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
  assert_true(s->terminal > 0);
  assert_int_equal(grantpt(s->terminal), 0);
  assert_int_equal(unlockpt(s->terminal), 0);
  // Ours is the terminal's own state, whichever side asks
  assert_int_equal(tcgetattr(s->terminal, &s->terminal_before), 0);
  return ptsname(s->terminal);
}

void
sitting_practise_on_terminal(Sitting* const s, const char* const phrase,
                             const char* const* const options)
{
  start_practise(s, phrase, options, open_terminal(s));
}

void
sitting_start_on_terminal(Sitting* const s, const char* const* const arguments)
{
  const char* all[MOST_OPTIONS] = {test_program};
  for (size_t i = 0; arguments[i]; ++i) {
    assert_true(i + 2 < MOST_OPTIONS);
    all[i + 1] = arguments[i];
  }
  start(s, all, open_terminal(s));
}

/// All that is in a file, "" if there is none.
static char*
read_text(const char* const path)
{
  FILE* const file = fopen(path, "r");
  char* text = calloc(1, 1);
  size_t size = 0;
  size_t got = 1;
  while (file && got > 0) {
    char* const more = realloc(text, size + 65537);
    assert_non_null(more);
    text = more;
    got = fread(text + size, 1, 65536, file);
    size += got;
    text[size] = '\0';
  }
  if (file) {
    fclose(file);
  }
  return text;
}

char*
sitting_said(const Sitting* const s)
{
  return read_text(s->said_path);
}

char*
sitting_trouble(const Sitting* const s)
{
  return read_text(s->trouble_path);
}

/// Fail if the program has ended, as it should not have yet.
static void
assert_runs(Sitting* const s, const char* const what)
{
  int status = 0;
  if (waitpid(s->program, &status, WNOHANG) == s->program) {
    s->program = 0;
    char* const said = sitting_said(s);
    char* const trouble = sitting_trouble(s);
    fail_msg("it ended (%d) while it should %s; it said:\n%s%s", WEXITSTATUS(status), what, said,
             trouble);
  }
}

void
sitting_wait_until_ready(Sitting* const s)
{
  const double begun_s = test_now_s();
  char* path = NULL;
  while (!(path = sitting_kept(s))) {
    assert_runs(s, "begin to record");
    assert_true(test_now_s() - begun_s < READY_S);
    test_nap(0.02);
  }
  free(path);
  // The recording comes just before the stream
  test_nap(0.5);
}

/// How often words stand in a text.
static size_t
count_words(const char* const text, const char* const words)
{
  size_t count = 0;
  for (const char* at = strstr(text, words); at; at = strstr(at + 1, words)) {
    ++count;
  }
  return count;
}

void
sitting_wait_for_times(Sitting* const s, const char* const words, const size_t times,
                       const double most_s)
{
  const double begun_s = test_now_s();
  for (;;) {
    char* const said = sitting_said(s);
    const bool found = count_words(said, words) >= times;
    if (!found && test_now_s() - begun_s > most_s) {
      fail_msg("not said %zu times within %.0f s: \"%s\", but:\n%s", times, most_s, words, said);
    }
    free(said);
    if (found) {
      return;
    }
    assert_runs(s, words);
    test_nap(0.02);
  }
}

void
sitting_wait_for(Sitting* const s, const char* const words, const double most_s)
{
  sitting_wait_for_times(s, words, 1, most_s);
}

/// Fail with what a sanitizer wrote.
static void
assert_clean(const Sitting* const s)
{
  DIR* const list = opendir(s->folder);
  const struct dirent* entry;
  while (list && (entry = readdir(list))) {
    if (!strncmp(entry->d_name, "sanitizer", 9)) {
      char* const path = sitting_path(s, entry->d_name);
      char* const report = read_text(path);
      print_error("%s", report);
      free(report);
      free(path);
      fail();
    }
  }
  if (list) {
    closedir(list);
  }
}

int
sitting_end(Sitting* const s, const double most_s)
{
  const double begun_s = test_now_s();
  int status = 0;
  while (waitpid(s->program, &status, WNOHANG) != s->program) {
    if (test_now_s() - begun_s > most_s) {
      char* const said = sitting_said(s);
      print_error("%s", said);
      free(said);
      fail_msg("it did not end within %.0f s", most_s);
    }
    test_nap(0.02);
  }
  s->program = 0;
  assert_clean(s);
  return WIFSIGNALED(status) ? -WTERMSIG(status) : WEXITSTATUS(status);
}

void
sitting_play(Sitting* const s, const char* const path)
{
  assert_int_equal(s->player, 0);
  const char* const arguments[] = {"paplay", path, NULL};
  s->player = program_begin(arguments);
  assert_true(s->player > 0);
}

void
sitting_wait_played(Sitting* const s)
{
  int status = 1;
  assert_int_equal(waitpid(s->player, &status, 0), s->player);
  s->player = 0;
  assert_int_equal(status, 0);
}

void
sitting_witness(Sitting* const s, const char* const path, const int rate_hz)
{
  char* const rate = test_text("--rate=%d", rate_hz);
  const char* const arguments[] = {"parec",
                                   "--device=quiet.monitor",
                                   "--format=s16le",
                                   rate,
                                   "--channels=1",
                                   "--file-format=wav",
                                   path,
                                   NULL};
  s->witness = program_begin(arguments);
  assert_true(s->witness > 0);
  free(rate);
}

void
sitting_witness_end(Sitting* const s)
{
  end_process(&s->witness, SIGTERM);
}

size_t
sitting_kept_count(const Sitting* const s)
{
  DIR* const list = opendir(s->takes);
  const struct dirent* entry;
  size_t count = 0;
  while (list && (entry = readdir(list))) {
    count += entry->d_name[0] != '.' ? 1 : 0;
  }
  if (list) {
    closedir(list);
  }
  return count;
}

char*
sitting_kept(const Sitting* const s)
{
  DIR* const list = opendir(s->takes);
  const struct dirent* entry;
  char* path = NULL;
  while (list && !path && (entry = readdir(list))) {
    if (entry->d_name[0] != '.') {
      path = folder_path(s->takes, entry->d_name);
    }
  }
  if (list) {
    closedir(list);
  }
  return path;
}
