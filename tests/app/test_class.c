// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_class.c
   `class`: a folder of takes with faults, as WAV, FLAC and, where that can be made, m4a and MP3;
   two that are no recordings, and one of another tune. The table has what `assess --csv` tells of
   each.

   usage: test_class STEADYREED MAKE_TAKE PHRASE OTHER [PDFTOTEXT|"" [FFMPEG]]
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static const char* program;
static const char* make_take;
static const char* phrase;
static const char* other;
static const char* pdf_to_text = "";
static const char* ffmpeg = "";
static char* folder;

/// A path in the folder; of the last sixteen that were asked for.
static const char*
at(const char* const name)
{
  static char paths[16][1024];
  static size_t next;
  char* const path = paths[next++ % 16];
  snprintf(path, sizeof(paths[0]), "%s/%s", folder, name);
  return path;
}

#define RUN(...) run_program((const char* const[]){program, __VA_ARGS__, NULL})

static void
make(const char* const tune, const char* const name, const char* const first,
     const char* const second)
{
  ProgramRun run = run_program(
      (const char* const[]){make_take, tune, at(name), at("truth.json"), first, second, NULL});
  if (run.status != 0) {
    fail_msg("%s: %s", name, run.trouble);
  }
  run_clear(&run);
}

/// Code a take as phones do, and remove it; or just leave it.
static const char*
convert(const char* const from, const char* const to)
{
  if (!*ffmpeg) {
    return from;
  }
  ProgramRun run = run_program(
      (const char* const[]){ffmpeg, "-loglevel", "error", "-i", at(from), at(to), NULL});
  assert_int_equal(run.status, 0);
  run_clear(&run);
  assert_int_equal(unlink(at(from)), 0);
  return to;
}

/// Say when a file was last changed, s after 1 March 2026, noon, UTC.
static void
set_time(const char* const name, const int seconds)
{
  const struct timespec then = {INT64_C(1772366400) + seconds, 0};
  const struct timespec both[] = {then, then};
  assert_int_equal(utimensat(AT_FDCWD, at(name), both, 0), 0);
}

/// Take off the folder's own files and those inside it.
static void
remove_all(void)
{
  static const char* const inside[] = {"class/dora", "class/eve", "class",  "class/.hidden",
                                       "one",        "two",       "stopped"};
  for (size_t i = 0; i < sizeof(inside) / sizeof(inside[0]); ++i) {
    struct stat status;
    if (stat(at(inside[i]), &status) == 0) {
      folder_remove(at(inside[i]));
    }
  }
  folder_remove(folder);
}

// The takes in the order of the table
static const char* takes[10];
static const char* const pupils[10] = {"ann",  "ben", "cy",  "dora", "dora",
                                       "dora", "eve", "fay", "gus",  "hal O'Neat, 2nd"};
static const bool judged[10] = {true, true, true, true, true, true, true, false, false, false};

static int
make_class(void** const state)
{
  (void)state;
  folder = folder_make();
  assert_int_equal(mkdir(at("class"), 0777), 0);
  assert_int_equal(mkdir(at("class/dora"), 0777), 0);
  assert_int_equal(mkdir(at("class/eve"), 0777), 0);
  make(phrase, "class/ann.wav", "reeds=made", "bpm=70");
  make(phrase, "class/ben.flac", "p_long=0.5", "rounds=3");
  make(phrase, "class/cy.wav", "p_missed=0.1", "speech=1");
  // Clean first, then worse, then in between
  make(phrase, "class/dora/1.wav", "bpm=75", "jitter_ms=2");
  make(phrase, "class/dora/2.wav", "p_on_top=0.5", "p_wrong=0.1");
  make(phrase, "class/dora/3.flac", "p_long=0.3", "bpm=75");
  make(phrase, "class/eve/take.wav", "rt60_s=0.4", "bpm=90");
  make(other, "class/fay.flac", "bpm=80", "jitter_ms=5");
  takes[0] = "class/ann.wav";
  takes[1] = "class/ben.flac";
  takes[2] = convert("class/cy.wav", "class/cy.m4a");
  takes[3] = "class/dora/1.wav";
  takes[4] = convert("class/dora/2.wav", "class/dora/2.mp3");
  takes[5] = "class/dora/3.flac";
  takes[6] = "class/eve/take.wav";
  takes[7] = "class/fay.flac";
  takes[8] = "class/gus.m4a";
  takes[9] = "class/hal O'Neat, 2nd.wav";
  file_put(at("class/gus.m4a"), "This was to be a recording.\n");
  file_put(at("class/hal O'Neat, 2nd.wav"), "RIFF");
  // Neither a recording nor anybody's
  file_put(at("class/readme.txt"), "Week 3\n");
  file_put(at("class/.ann.wav"), "hidden");
  // Reading it would wait for ever
  assert_int_equal(mkfifo(at("class/ivy.wav"), 0600), 0);
  for (int i = 0; i < 10; ++i) {
    set_time(takes[i], 60 * i);
  }
  return 0;
}

static int
remove_class(void** const state)
{
  (void)state;
  remove_all();
  free(folder);
  return 0;
}

static char*
read_text(const char* const path)
{
  FILE* const file = fopen(path, "rb");
  if (!file) {
    fail_msg("%s: %s", path, strerror(errno));
    return NULL;
  }
  fseek(file, 0, SEEK_END);
  const size_t size = (size_t)ftell(file);
  rewind(file);
  char* const text = calloc(1, size + 1);
  assert_non_null(text);
  assert_int_equal(fread(text, 1, size, file), size);
  fclose(file);
  return text;
}

#define MOST_CELLS 64

/// A line of CSV (RFC 4180), taken apart.
typedef struct {
  char* cells[MOST_CELLS];
  size_t count;
} Line;

/// Take the next line apart, in place; false at the end.
static bool
next_line(char** const rest, Line* const line)
{
  char* from = *rest;
  line->count = 0;
  if (!*from) {
    return false;
  }
  for (;;) {
    assert_true(line->count < MOST_CELLS);
    char* to = from;
    line->cells[line->count++] = to;
    const bool quoted = *from == '"';
    for (from += quoted;
         quoted ? *from && (*from != '"' || from[1] == '"') : *from && !strchr(",\r\n", *from);) {
      from += quoted && *from == '"';
      *to++ = *from++;
    }
    from += quoted && *from == '"';
    const char end = *from;
    *to = '\0';
    from += end == '\r' ? 2 : end != '\0';
    if (end != ',') {
      *rest = from;
      return true;
    }
  }
}

/// The table's rows are those of `assess --csv`, behind the name and the date.
static void
the_table_is_what_assess_tells(void** const state)
{
  (void)state;
  setenv("TZ", "UTC", 1);
  ProgramRun run = RUN("class", phrase, at("class"), "-o", at("one"), "--workers", "1");
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.output, "7 of 10 takes judged, of 8 pupils."));
  assert_non_null(strstr(run.output, "the pages of 5 pupils"));
  assert_non_null(strstr(run.output, "\n  ann: cuts "));
  assert_non_null(strstr(run.output, ", evenness "));
  assert_non_null(strstr(run.output, "\n  gus: not judged\n"));
  for (size_t i = 0; i < 10; ++i) {
    // Told why at the end, and once as it went
    assert_int_equal(strstr(run.output, takes[i]) != NULL, !judged[i]);
    assert_non_null(strstr(run.trouble, takes[i]));
  }
  assert_non_null(strstr(run.trouble, "1 of 10  "));
  assert_non_null(strstr(run.trouble, "10 of 10  "));
  assert_null(strchr(run.trouble, '\r'));
  run_clear(&run);
  char* const table = read_text(at("one/class.csv"));
  char* rest = table;
  Line line;
  assert_true(next_line(&rest, &line));
  assert_string_equal(line.cells[0], "pupil");
  assert_string_equal(line.cells[1], "date");
  const size_t columns = line.count;
  for (size_t i = 0; i < 10; ++i) {
    assert_true(next_line(&rest, &line));
    assert_int_equal(line.count, columns);
    assert_string_equal(line.cells[0], pupils[i]);
    char date[24];
    snprintf(date, sizeof(date), "2026-03-01 12:%02zu", i);
    assert_string_equal(line.cells[1], date);
    ProgramRun alone = RUN("assess", phrase, at(takes[i]), "--csv");
    assert_int_equal(alone.status, judged[i] ? 0 : 1);
    char* alone_rest = alone.output;
    Line names;
    Line wanted;
    assert_true(next_line(&alone_rest, &names));
    assert_true(next_line(&alone_rest, &wanted));
    assert_int_equal(wanted.count + 2, columns);
    assert_string_equal(wanted.cells[1], judged[i] ? "yes" : "no");
    for (size_t c = 0; c < wanted.count; ++c) {
      if (strcmp(line.cells[c + 2], wanted.cells[c]) != 0) {
        fail_msg("%s, %s: \"%s\", not \"%s\"", takes[i], names.cells[c], line.cells[c + 2],
                 wanted.cells[c]);
      }
    }
    run_clear(&alone);
  }
  assert_false(next_line(&rest, &line));
  free(table);
}

/// The words on a pupil's pages; free() them.
static char*
page_words(const char* const results, const char* const pupil)
{
  char name[256];
  snprintf(name, sizeof(name), "%s/%s.pdf", results, pupil);
  char* words = NULL;
  if (*pdf_to_text) {
    ProgramRun run = run_program((const char* const[]){pdf_to_text, "-raw", at(name), "-", NULL});
    assert_int_equal(run.status, 0);
    text_squeeze(run.output);
    words = strdup(run.output);
    run_clear(&run);
  } else {
    words = read_text(at(name));
  }
  assert_non_null(words);
  return words;
}

static void
each_pupil_has_a_page(void** const state)
{
  (void)state;
  static const char* const with[] = {"ann", "ben", "cy", "dora", "eve"};
  for (size_t i = 0; i < 5; ++i) {
    char* const words = page_words("one", with[i]);
    if (*pdf_to_text) {
      assert_non_null(strstr(words, with[i]));
      assert_non_null(strstr(words, "1 March 2026"));
      // Only one take has several rounds
      assert_int_equal(strstr(words, "advice from round ") != NULL, i == 1);
      assert_int_equal(strstr(words, ", best round ") != NULL, i == 1);
      // The name stands above all else
      assert_int_equal(strncmp(words, with[i], strlen(with[i])), 0);
      assert_int_equal(strstr(words, "the best of 3 takes") != NULL, i == 3);
      assert_int_equal(strstr(words, "the latest of 3 takes") != NULL, i == 3);
      if (i == 3) {
        // The best is the clean one, which comes first
        assert_true(strstr(words, "1.wav") < strstr(words, "3.flac"));
        assert_null(strstr(words, takes[4] + strlen("class/dora/")));
      }
    } else {
      assert_memory_equal(words, "%PDF-", 5);
    }
    free(words);
  }
  static const char* const without[] = {"one/fay.pdf", "one/gus.pdf", "one/readme.pdf"};
  for (size_t i = 0; i < 3; ++i) {
    assert_int_equal(access(at(without[i]), F_OK), -1);
  }
}

/// However many takes a pupil has.
static void
each_pupil_has_one_file(void** const state)
{
  (void)state;
  DIR* const results = opendir(at("one"));
  assert_non_null(results);
  size_t pages = 0;
  size_t others = 0;
  for (const struct dirent* entry = readdir(results); entry; entry = readdir(results)) {
    const char* const dot = strrchr(entry->d_name, '.');
    if (entry->d_name[0] != '.') {
      *(dot && !strcmp(dot, ".pdf") ? &pages : &others) += 1;
    }
  }
  closedir(results);
  assert_int_equal(pages, 5);
  assert_int_equal(others, 1);
}

/// With no time allowed, each take is given up, named, and in the table.
static void
one_that_takes_too_long_is_given_up(void** const state)
{
  (void)state;
  setenv("STEADYREED_TAKE_LIMIT", "0", 1);
  ProgramRun run = RUN("class", phrase, at("class"), "-o", at("stopped"), "--workers", "2");
  unsetenv("STEADYREED_TAKE_LIMIT");
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.output, "0 of 10 takes judged"));
  assert_non_null(strstr(run.output, "took too long"));
  run_clear(&run);
  char* const table = read_text(at("stopped/class.csv"));
  char* rest = table;
  Line csv;
  size_t rows = 0;
  assert_true(next_line(&rest, &csv));
  while (next_line(&rest, &csv)) {
    assert_string_equal(csv.cells[3], "no");
    assert_true(!judged[rows] || strstr(csv.cells[csv.count - 1], "took too long"));
    ++rows;
  }
  assert_int_equal(rows, 10);
  free(table);
  folder_remove(at("stopped"));
}

static void
more_workers_change_nothing(void** const state)
{
  (void)state;
  // What is no number is no limit
  setenv("STEADYREED_TAKE_LIMIT", "", 1);
  ProgramRun run = RUN("class", phrase, at("class"), "-o", at("two"), "--workers", "4");
  unsetenv("STEADYREED_TAKE_LIMIT");
  assert_int_equal(run.status, 1);
  run_clear(&run);
  char* const one = read_text(at("one/class.csv"));
  char* const two = read_text(at("two/class.csv"));
  assert_string_equal(one, two);
  free(one);
  free(two);
  for (size_t i = 0; i < 7 && *pdf_to_text; ++i) {
    char* const first = page_words("one", pupils[i]);
    char* const second = page_words("two", pupils[i]);
    assert_string_equal(first, second);
    free(first);
    free(second);
  }
}

static void
nothing_is_written_over(void** const state)
{
  (void)state;
  char* const before = read_text(at("one/class.csv"));
  static const char* const there[] = {"one", "class", "class/readme.txt"};
  for (size_t i = 0; i < 3; ++i) {
    ProgramRun run = RUN("class", phrase, at("class"), "-o", at(there[i]));
    assert_int_equal(run.status, 2);
    assert_non_null(strstr(run.trouble, "nothing is written over"));
    assert_string_equal(run.output, "");
    run_clear(&run);
  }
  char* const after = read_text(at("one/class.csv"));
  assert_string_equal(before, after);
  free(before);
  free(after);
}

/// The program at work, with what it writes read from a pipe.
typedef struct {
  pid_t process;
  FILE* trouble;
} AtWork;

static AtWork
begin(const char* const results)
{
  int ends[2];
  assert_int_equal(pipe(ends), 0);
  const pid_t process = fork();
  if (process == 0) {
    dup2(ends[1], STDERR_FILENO);
    const int out = open(at("said.txt"), O_WRONLY | O_CREAT | O_TRUNC, 0666);
    dup2(out, STDOUT_FILENO);
    close(ends[0]);
    close(ends[1]);
    execl(program, program, "class", phrase, at("class"), "-o", at(results), "--workers", "1",
          (char*)NULL);
    _exit(127);
  }
  close(ends[1]);
  return (AtWork){process, fdopen(ends[0], "r")};
}

static int
finish(AtWork* const work)
{
  int status = 0;
  char line[1024];
  while (fgets(line, sizeof(line), work->trouble)) {
  }
  fclose(work->trouble);
  assert_int_equal(waitpid(work->process, &status, 0), work->process);
  assert_true(WIFEXITED(status));
  return WEXITSTATUS(status);
}

/// Ctrl-C: what is over by then is in the table, the rest is not, and both are counted.
static void
what_is_finished_is_kept(void** const state)
{
  (void)state;
  AtWork work = begin("stopped");
  char line[1024];
  assert_non_null(fgets(line, sizeof(line), work.trouble));
  assert_memory_equal(line, "1 of 10", 7);
  kill(work.process, SIGINT);
  assert_int_equal(finish(&work), 1);
  char* const table = read_text(at("stopped/class.csv"));
  char* const said = read_text(at("said.txt"));
  char* rest = table;
  Line csv;
  size_t rows = 0;
  assert_true(next_line(&rest, &csv));
  while (next_line(&rest, &csv)) {
    assert_string_equal(csv.cells[0], pupils[rows]);
    ++rows;
  }
  assert_in_range(rows, 1, 10);
  char words[64];
  snprintf(words, sizeof(words), "%zu take%s not in the table", 10 - rows,
           rows == 9 ? " is" : "s are");
  assert_int_equal(strstr(said, words) != NULL, strstr(said, "It was stopped") != NULL);
  assert_true(rows == 10 || strstr(said, words));
  free(table);
  free(said);
  folder_remove(at("stopped"));
}

/// A process of the program's, as soon as there is one; 0 if there is none any more.
static pid_t
find_worker(const pid_t process)
{
  char path[64];
  snprintf(path, sizeof(path), "/proc/%d/task/%d/children", (int)process, (int)process);
  FILE* const file = fopen(path, "r");
  int worker = 0;
  if (!file || fscanf(file, "%d", &worker) != 1) {
    worker = 0;
  }
  if (file) {
    fclose(file);
  }
  return worker;
}

/// A worker that is killed costs its take, with the reason, and no other. It may have told all just
/// before it is killed, so this is tried several times.
static void
a_killed_worker_stops_nothing(void** const state)
{
  (void)state;
  bool seen = false;
  for (int i = 0; i < 5 && !seen; ++i) {
    AtWork work = begin("stopped");
    pid_t worker = 0;
    for (int look = 0; look < 5000 && !worker; ++look) {
      worker = find_worker(work.process);
      usleep(1000);
    }
    assert_int_not_equal(worker, 0);
    kill(worker, SIGKILL);
    assert_int_equal(finish(&work), 1);
    char* const table = read_text(at("stopped/class.csv"));
    char* rest = table;
    Line csv;
    size_t rows = 0;
    assert_true(next_line(&rest, &csv));
    while (next_line(&rest, &csv)) {
      assert_string_equal(csv.cells[0], pupils[rows]);
      const bool killed = strstr(csv.cells[csv.count - 1], "ended by signal 9") != NULL;
      assert_string_equal(csv.cells[3], judged[rows] && !killed ? "yes" : "no");
      seen = seen || killed;
      ++rows;
    }
    assert_int_equal(rows, 10);
    free(table);
    folder_remove(at("stopped"));
  }
  assert_true(seen);
}

int
main(const int argc, char** const argv)
{
  if (argc < 5) {
    fprintf(stderr, "usage: %s STEADYREED MAKE_TAKE PHRASE OTHER [PDFTOTEXT|\"\" [FFMPEG]]\n",
            argv[0]);
    return 2;
  }
  program = argv[1];
  make_take = argv[2];
  phrase = argv[3];
  other = argv[4];
  pdf_to_text = argc > 5 ? argv[5] : "";
  ffmpeg = argc > 6 ? argv[6] : "";
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_table_is_what_assess_tells),
      cmocka_unit_test(each_pupil_has_a_page),
      cmocka_unit_test(each_pupil_has_one_file),
      cmocka_unit_test(one_that_takes_too_long_is_given_up),
      cmocka_unit_test(more_workers_change_nothing),
      cmocka_unit_test(nothing_is_written_over),
      cmocka_unit_test(what_is_finished_is_kept),
      cmocka_unit_test(a_killed_worker_stops_nothing),
  };
  return cmocka_run_group_tests(tests, make_class, remove_class);
}
