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

#define LANES 3u
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

/// Wait until a scene is over; 1 if it failed.
static size_t
wait_for_one(Lane* const lanes, size_t* const busy)
{
  int status = 0;
  const pid_t process = wait(&status);
  for (size_t i = 0; process > 0 && i < LANES; ++i) {
    if (lanes[i].scene && lanes[i].process == process) {
      --*busy;
      return finish(&lanes[i], status) ? 0 : 1;
    }
  }
  return 0;
}

static void
start_in_free_lane(Lane* const lanes, const Scene* const scene)
{
  for (size_t i = 0; i < LANES; ++i) {
    if (!lanes[i].scene) {
      start(&lanes[i], scene);
      return;
    }
  }
}

size_t
lanes_run(const Scene* const scenes, const size_t count, const char* const wanted)
{
  Lane lanes[LANES] = {{0}};
  size_t busy = 0;
  size_t failed = 0;
  for (size_t i = 0; i < count; ++i) {
    if (wanted && !strstr(scenes[i].name, wanted)) {
      continue;
    }
    while (busy >= (scenes[i].alone ? 1 : LANES)) {
      failed += wait_for_one(lanes, &busy);
    }
    start_in_free_lane(lanes, &scenes[i]);
    ++busy;
    while (scenes[i].alone && busy > 0) {
      failed += wait_for_one(lanes, &busy);
    }
  }
  while (busy > 0) {
    failed += wait_for_one(lanes, &busy);
  }
  return failed;
}
