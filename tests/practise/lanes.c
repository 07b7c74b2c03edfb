// SPDX-License-Identifier: GPL-3.0-or-later

#include "lanes.h"

#include "sitting.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define LANES 4u
/// So many may need a second try, alone.
#define MOST_AGAIN 3u
/// No scene takes so long, s; one that does is ended by a signal and so has failed.
#define MOST_S 150u

/// One that runs.
typedef struct {
  const Scene* scene; ///< NULL if the lane is free
  pid_t process;
  FILE* said;
  double begun_s;
} Lane;

static int
begin(void** const state)
{
  *state = calloc(1, sizeof(Sitting));
  return *state ? 0 : -1;
}

static int
end(void** const state)
{
  sitting_clear((Sitting*)*state);
  free(*state);
  return 0;
}

static _Noreturn void
be_scene(const Scene* const scene, FILE* const said)
{
  // Do not outlive a test that crashed.
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  alarm(MOST_S);
  dup2(fileno(said), STDOUT_FILENO);
  dup2(fileno(said), STDERR_FILENO);
  const struct CMUnitTest tests[] = {
      {scene->name, scene->test, begin, end, NULL},
  };
  const int failed = cmocka_run_group_tests_name(scene->name, tests, NULL, NULL);
  fflush(NULL);
  _exit(failed ? 1 : 0);
}

static void
start(Lane* const lane, const Scene* const scene)
{
  lane->scene = scene;
  lane->said = tmpfile();
  lane->begun_s = test_now_s();
  if (!lane->said) {
    perror("tmpfile");
    exit(99);
  }
  fflush(NULL);
  lane->process = fork();
  if (lane->process == 0) {
    be_scene(scene, lane->said);
  }
}

/// Print what a scene said that is over; whether it went well.
static bool
finish(Lane* const lane, const int status)
{
  const bool good = WIFEXITED(status) && WEXITSTATUS(status) == 0;
  printf("---- %s, %.0f s: %s\n", lane->scene->name, test_now_s() - lane->begun_s,
         good ? "good" : "FAILED");
  rewind(lane->said);
  char line[1024];
  while (fgets(line, sizeof(line), lane->said)) {
    // What cmocka says of each group of one test tells nothing new.
    if (!good || line[0] != '[') {
      fputs(line, stdout);
    }
  }
  if (WIFSIGNALED(status)) {
    printf("     ended by signal %d\n", WTERMSIG(status));
  }
  fflush(stdout);
  fclose(lane->said);
  lane->scene = NULL;
  return good;
}

/// Scenes under way, and those that did not go well.
typedef struct {
  Lane lanes[LANES];
  size_t busy;
  const Scene* failed[MOST_SCENES];
  size_t failed_count;
} Run;

/// Wait until a scene is over.
static void
wait_for_one(Run* const run)
{
  int status = 0;
  const pid_t process = wait(&status);
  for (size_t i = 0; process > 0 && i < LANES; ++i) {
    Lane* const lane = &run->lanes[i];
    if (lane->scene && lane->process == process) {
      const Scene* const scene = lane->scene;
      --run->busy;
      if (!finish(lane, status)) {
        run->failed[run->failed_count++] = scene;
      }
      return;
    }
  }
}

static void
start_in_free_lane(Run* const run, const Scene* const scene)
{
  for (size_t i = 0; i < LANES; ++i) {
    if (!run->lanes[i].scene) {
      start(&run->lanes[i], scene);
      ++run->busy;
      return;
    }
  }
}

/// Run a scene with nothing beside it; whether it went well.
static bool
run_alone(const Scene* const scene)
{
  // A list of its own, since what failed before is still to be gone through
  Run one = {.busy = 0};
  start_in_free_lane(&one, scene);
  wait_for_one(&one);
  return one.failed_count == 0;
}

size_t
lanes_run(const Scene* const scenes, const size_t count, const size_t lanes)
{
  Run run = {.busy = 0};
  for (size_t i = 0; i < count && i < MOST_SCENES; ++i) {
    if (!scenes[i].alone) {
      while (run.busy >= lanes) {
        wait_for_one(&run);
      }
      start_in_free_lane(&run, &scenes[i]);
    }
  }
  while (run.busy > 0) {
    wait_for_one(&run);
  }
  const size_t again = lanes > 1 ? run.failed_count : 0;
  size_t failed = lanes > 1 ? 0 : run.failed_count;
  for (size_t i = 0; i < again; ++i) {
    printf("once more, alone: %s\n", run.failed[i]->name);
    failed += run_alone(run.failed[i]) ? 0 : 1;
  }
  for (size_t i = 0; i < count && i < MOST_SCENES; ++i) {
    if (scenes[i].alone) {
      failed += run_alone(&scenes[i]) ? 0 : 1;
    }
  }
  printf("%zu of %zu scenes needed a second try, alone\n", again, count);
  return failed + (again > MOST_AGAIN ? again : 0);
}
