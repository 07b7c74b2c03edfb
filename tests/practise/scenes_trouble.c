// SPDX-License-Identifier: GPL-3.0-or-later

#include "scenes.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "course.h"

#include <fcntl.h>
#include <math.h>
#include <sched.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/// What a kill may lose at most, with what the sound server holds, s.
#define MOST_LOST_S 1.5

/// Begin with the demo's take, without a sound of our own; the tape must be cleared.
static char*
begin_demo(Sitting* const s, Tape* const tape, char** const phrase)
{
  sitting_begin(s, 44100);
  *phrase = test_phrase("three-as");
  char* const take = test_take("demo");
  tape->rate_hz = 44100;
  char* const path = course_tape(s, take, 1.0, tape);
  free(take);
  return path;
}

/// Whether a file is part of a tape from some place on; until when of the tape it goes, s. NAN if
/// it is not.
static double
goes_until_s(const char* const path, const Tape* const tape)
{
  Tape kept = tape_read(path);
  size_t mark = 0;
  while (mark + 8192 < tape->count && fabsf(tape->samples[mark]) < 0.1f) {
    ++mark;
  }
  long shift = 0;
  double until_s = (double)NAN;
  if (tape_find(tape, mark, mark + 8192, &kept, &shift)) {
    size_t end = kept.count;
    // What a server gives in its last moment may be silence
    while (end > 0 && fabsf(kept.samples[end - 1]) < 1e-4f) {
      --end;
    }
    size_t wrong = 0;
    // The last 5 ms may fade
    for (size_t i = mark + (size_t)shift; i + 256 < end; ++i) {
      const size_t at = i - (size_t)shift;
      const float played = at < tape->count ? tape->samples[at] : 0.0f;
      wrong += fabsf(kept.samples[i] - played) < 2.0f / 32768.0f ? 0 : 1;
    }
    print_message("  %.2f s kept, %zu samples other than they were played\n",
                  (double)kept.count / kept.rate_hz, wrong);
    until_s = wrong ? (double)NAN : (double)((long)end - shift) / kept.rate_hz;
  }
  tape_clear(&kept);
  return until_s;
}

/// A sentence of the program's, for players.
static void
assert_plain(const char* const trouble)
{
  print_message("  %s", trouble);
  assert_int_equal(strncmp(trouble, "steadyreed: ", 12), 0);
  assert_non_null(strchr(trouble, '.'));
  static const char* const signs[] = {"Sanitizer", "errno", "PaError", "Assertion", "0x"};
  for (size_t i = 0; i < sizeof(signs) / sizeof(signs[0]); ++i) {
    assert_null(strstr(trouble, signs[i]));
  }
}

static void
the_server_is_killed(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  Tape tape = {0};
  char* phrase;
  char* const path = begin_demo(s, &tape, &phrase);
  const char* const options[] = {"--silent", NULL};
  sitting_practise(s, phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, path);
  const double played_s = test_now_s();
  sitting_wait_for(s, "bar 4   1st D", 30.0);
  const double killed_s = test_now_s();
  kill(s->server.process, SIGKILL);
  assert_int_equal(sitting_end(s, 15.0), 3);
  print_message("  it ended %.1f s after the server\n", test_now_s() - killed_s);
  char* const trouble = sitting_trouble(s);
  assert_plain(trouble);
  assert_int_equal(sitting_kept_count(s), 1);
  char* const kept = sitting_kept(s);
  const double until_s = goes_until_s(kept, &tape);
  print_message("  kept until %.2f s of the tape, of %.2f s at most\n", until_s,
                killed_s - played_s);
  assert_true(until_s > killed_s - played_s - MOST_LOST_S);
  json_t* const again = verdicts_assess(phrase, kept, NULL);
  assert_true(verdicts_count(verdicts_round(again, 0), "played") >= 17);
  json_decref(again);
  free(trouble);
  free(kept);
  free(path);
  free(phrase);
  tape_clear(&tape);
}

static void
practise_is_killed(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  Tape tape = {0};
  char* phrase;
  char* const path = begin_demo(s, &tape, &phrase);
  const char* const options[] = {"--silent", NULL};
  sitting_practise(s, phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, path);
  const double played_s = test_now_s();
  sitting_wait_for(s, "bar 4   1st D", 30.0);
  const double killed_s = test_now_s();
  kill(s->program, SIGKILL);
  assert_int_equal(sitting_end(s, 5.0), -SIGKILL);
  assert_int_equal(sitting_kept_count(s), 1);
  char* const kept = sitting_kept(s);
  const double until_s = goes_until_s(kept, &tape);
  print_message("  kept until %.2f s of the tape, of %.2f s at most\n", until_s,
                killed_s - played_s);
  assert_true(until_s > killed_s - played_s - MOST_LOST_S);
  json_t* const again = verdicts_assess(phrase, kept, NULL);
  assert_true(verdicts_count(verdicts_round(again, 0), "played") >= 17);
  json_decref(again);
  free(kept);
  free(path);
  free(phrase);
  tape_clear(&tape);
}

/// A process that does nothing as fast as it can.
static pid_t
spin(void)
{
  const pid_t child = fork();
  if (child == 0) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    for (volatile unsigned i = 0;; ++i) {
    }
  }
  return child;
}

static void
stop_spinning(const pid_t process)
{
  kill(process, SIGKILL);
  waitpid(process, NULL, 0);
}

static void
under_load(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  Tape tape = {0};
  char* phrase;
  char* const path = begin_demo(s, &tape, &phrase);
  json_t* const file = verdicts_assess(phrase, path, NULL);
  const char* const options[] = {"--silent", "--json", NULL};
  sitting_practise(s, phrase, options);
  sitting_wait_until_ready(s);
  const pid_t busy[] = {spin(), spin()};
  sitting_play(s, path);
  sitting_wait_played(s);
  test_nap(3.0);
  kill(s->program, SIGINT);
  const int status = sitting_end(s, 30.0);
  stop_spinning(busy[0]);
  stop_spinning(busy[1]);
  assert_int_equal(status, 0);
  const bool lost = course_has_lost(s);
  char* const kept = sitting_kept(s);
  const bool whole = isfinite(goes_until_s(kept, &tape));
  print_message("  samples lost: %s; all arrived as it was played: %s\n", lost ? "yes" : "no",
                whole ? "yes" : "no");
  char* const said = sitting_said(s);
  json_t* const all = verdicts_read(said);
  const size_t count = json_array_size(all);
  assert_true(count >= 1);
  for (size_t i = 0; i + 1 < count; ++i) {
    assert_int_equal(verdicts_count(verdicts_round(json_array_get(all, i), 0), "missed"), 0);
  }
  if (!lost && whole) {
    assert_int_equal(count, 3);
    for (size_t r = 0; r < 2; ++r) {
      const json_t* const at_once = verdicts_round(json_array_get(all, r), 0);
      const Difference d = verdicts_compare("told at once", verdicts_round(file, r), at_once);
      assert_int_equal(d.different, 0);
    }
  }
  json_decref(all);
  json_decref(file);
  free(kept);
  free(said);
  free(path);
  free(phrase);
  tape_clear(&tape);
}

/// Stop the program inside of the first of two rounds, for a while. Whether it told a loss.
static bool
stop_for(Sitting* const s, const double seconds)
{
  Tape tape = {0};
  char* phrase;
  char* const path = begin_demo(s, &tape, &phrase);
  const char* const options[] = {"--silent", "--keep-all", "--json", NULL};
  sitting_practise(s, phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, path);
  const double played_s = test_now_s();
  test_nap(5.0);
  kill(s->program, SIGSTOP);
  test_nap(seconds);
  kill(s->program, SIGCONT);
  const double left_s = (double)tape.count / tape.rate_hz - (test_now_s() - played_s);
  test_nap(fmax(left_s, 0.0) + 5.0);
  kill(s->program, SIGINT);
  assert_int_equal(sitting_end(s, 20.0), 0);
  char* const said = sitting_said(s);
  json_t* const all = verdicts_read(said);
  const size_t last = json_array_size(all) - 1;
  size_t played = 0;
  size_t unheard = 0;
  for (size_t i = 0; i <= last; ++i) {
    const json_t* const told = json_array_get(all, i);
    for (size_t r = 0; r < verdicts_rounds(told); ++r) {
      const json_t* const round = verdicts_round(told, r);
      assert_int_equal(verdicts_count(round, "missed"), 0);
      assert_int_equal(verdicts_count(round, "wrong"), 0);
      played += i == last ? verdicts_count(round, "played") : 0;
      unheard += i == last ? verdicts_count(round, "unheard") : 0;
    }
  }
  const bool lost = course_has_lost(s);
  print_message("  samples lost: %s; in %zu rounds %zu notes played, %zu unheard\n",
                lost ? "told" : "not told", last, played, unheard);
  if (lost) {
    // What is lost may lie in the pause or behind the last note; then all of them were heard
    assert_true(played >= 22 && (unheard > 0 || played == 44));
    assert_true(played + unheard == 22 * verdicts_rounds(json_array_get(all, last)));
  } else {
    assert_int_equal(played, 44);
  }
  // A file holds no lost samples, only a note of them
  course_check_kept(s, phrase, json_array_get(all, last));
  json_decref(all);
  free(said);
  free(path);
  free(phrase);
  tape_clear(&tape);
  return lost;
}

/// The server keeps what comes meanwhile; if it is told that something was lost all the same, that
/// is nobody's fault.
static void
stopped_for_a_while(void** const state)
{
  (void)stop_for((Sitting*)*state, 3.0);
}

/// More comes meanwhile than anybody keeps.
static void
stopped_for_long(void** const state)
{
  assert_true(stop_for((Sitting*)*state, 45.0));
}

/// Play until the disk is full.
static void
play_until_full(Sitting* const s, const char* const words)
{
  Short tune = short_tune(s, 6);
  const char* const options[] = {"--silent", NULL};
  sitting_practise(s, tune.phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, tune.path);
  assert_int_equal(sitting_end(s, 40.0), 3);
  char* const said = sitting_said(s);
  char* const trouble = sitting_trouble(s);
  assert_plain(trouble);
  if (!strstr(trouble, words) || !strstr(said, "in all") || !strstr(said, "Round 1:")) {
    fail_msg("%s\n%s", said, trouble);
  }
  char* const kept = sitting_kept(s);
  assert_non_null(kept);
  json_t* const again = verdicts_assess(tune.phrase, kept, NULL);
  assert_int_equal(verdicts_count(verdicts_round(again, 0), "played"), SHORT_NOTES);
  json_decref(again);
  free(said);
  free(trouble);
  free(kept);
  short_clear(&tune);
}

/// No room even for one round: nothing is kept, and no file is named that is gone.
static void
full_before_a_round(Sitting* const s)
{
  Short tune = short_tune(s, 1);
  const char* const options[] = {"--silent", NULL};
  sitting_practise(s, tune.phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, tune.path);
  assert_int_equal(sitting_end(s, 20.0), 3);
  char* const trouble = sitting_trouble(s);
  assert_plain(trouble);
  char* const said = sitting_said(s);
  if (strstr(trouble, ".flac") || !strstr(trouble, s->takes) || !strstr(said, "nothing is kept")) {
    fail_msg("%s\n%s", said, trouble);
  }
  assert_int_equal(sitting_kept_count(s), 0);
  sitting_wait_played(s);
  free(said);
  free(trouble);
  short_clear(&tune);
}

static void
file_too_large(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  s->file_limit = 30000;
  full_before_a_round(s);
  s->file_limit = 600000;
  play_until_full(s, "larger");
}

/// Write a text to a file of /proc.
static bool
tell_kernel(const char* const file, const char* const text)
{
  const int descriptor = open(file, O_WRONLY | O_CLOEXEC);
  if (descriptor < 0) {
    return false;
  }
  const bool good = write(descriptor, text, strlen(text)) == (ssize_t)strlen(text);
  close(descriptor);
  return good;
}

/// A disk of 600 kB of our own, seen by this process only. False if the system lets us have none.
static bool
mount_small_disk(const char* const folder)
{
  char user[64];
  char group[64];
  snprintf(user, sizeof(user), "0 %u 1", (unsigned)getuid());
  snprintf(group, sizeof(group), "0 %u 1", (unsigned)getgid());
  if (unshare(CLONE_NEWNS)) {
    if (unshare(CLONE_NEWUSER | CLONE_NEWNS) || !tell_kernel("/proc/self/uid_map", user) ||
        !tell_kernel("/proc/self/setgroups", "deny") || !tell_kernel("/proc/self/gid_map", group)) {
      return false;
    }
  }
  return !mkdir(folder, 0700) && !mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) &&
         !mount("small", folder, "tmpfs", MS_NOSUID | MS_NODEV, "size=600k");
}

static void
disk_full(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  if (!mount_small_disk(s->data)) {
    print_message("  skipped: no small disk may be mounted here\n");
    skip();
  }
  play_until_full(s, "disk is full");
  umount2(s->data, MNT_DETACH);
}

/// A device that is not there, and no sound server at all.
static void
no_device(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  char* const phrase = test_phrase("three-as");
  const char* const options[] = {"--silent", "--input", "no such thing", NULL};
  sitting_practise(s, phrase, options);
  assert_int_equal(sitting_end(s, 15.0), 3);
  char* trouble = sitting_trouble(s);
  assert_plain(trouble);
  assert_non_null(strstr(trouble, "no such thing"));
  assert_non_null(strstr(trouble, "pulse"));
  assert_non_null(strstr(trouble, "default"));
  free(trouble);
  const char* const output[] = {"--output", "no such thing", NULL};
  sitting_practise(s, phrase, output);
  assert_int_equal(sitting_end(s, 15.0), 3);
  trouble = sitting_trouble(s);
  assert_plain(trouble);
  assert_non_null(strstr(trouble, "pulse"));
  free(trouble);
  assert_int_equal(sitting_kept_count(s), 0);

  server_end(&s->server, SIGKILL);
  const char* const silent[] = {"--silent", NULL};
  sitting_practise(s, phrase, silent);
  assert_int_equal(sitting_end(s, 15.0), 3);
  trouble = sitting_trouble(s);
  assert_plain(trouble);
  free(trouble);
  setenv("PULSE_SERVER", "unix:/nowhere/pulse.socket", 1);
  sitting_practise(s, phrase, NULL);
  assert_int_equal(sitting_end(s, 15.0), 3);
  trouble = sitting_trouble(s);
  assert_plain(trouble);
  free(trouble);
  assert_int_equal(sitting_kept_count(s), 0);
  free(phrase);
}

const Scene scenes_trouble[] = {
    {"the sound server is killed", the_server_is_killed, false, true},
    {"practise is killed", practise_is_killed, false, false},
    {"stopped so long that samples are lost", stopped_for_long, false, false},
    {"stopped for three seconds", stopped_for_a_while, false, false},
    {"a file that may not grow", file_too_large, false, false},
    {"the disk is full", disk_full, false, true},
    {"no such device, no server", no_device, false, true},
    {"beside two busy programs", under_load, true, false},
};
const size_t scenes_trouble_count = sizeof(scenes_trouble) / sizeof(scenes_trouble[0]);
