// SPDX-License-Identifier: GPL-3.0-or-later

#include "workers.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <sched.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/// Longest time between two looks at whether to stop, ms.
#define LOOK_MS 200
/// Pause before another try if the system has no process to give, ms.
#define RETRY_MS 100

/// A process at work.
typedef struct {
  size_t job;
  char* output;
  size_t size;
  size_t room;
  pid_t process;
  int from;       ///< What it writes is read here
  bool lost;      ///< There was no memory for all of what it wrote
  bool late;      ///< It took too long, and was killed
  double until_s; ///< On the clock; INFINITY for no limit
} Worker;

typedef struct {
  const SrWork* work;
  Worker* workers;
  size_t running;
  size_t next; ///< Job to begin next
} Run;

size_t
sr_work_cores(void)
{
  cpu_set_t set;
  CPU_ZERO(&set);
  long count = sched_getaffinity(0, sizeof(set), &set) == 0 ? CPU_COUNT(&set)
                                                            : sysconf(_SC_NPROCESSORS_ONLN);
  count = count < 1 ? 1 : count > SR_MOST_WORKERS ? SR_MOST_WORKERS : count;
  return (size_t)count;
}

static double
now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/// The process of a job; does not return.
static void
be_worker(const SrWork* const work, const size_t job, const int to, const pid_t parent)
{
  static const int signals[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT};
  // Ctrl-C goes to the group of the terminal; the parent decides what ends
  setpgid(0, 0);
  for (size_t i = 0; i < sizeof(signals) / sizeof(signals[0]); ++i) {
    signal(signals[i], SIG_DFL);
  }
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (getppid() != parent) {
    _exit(1);
  }
  FILE* const out = fdopen(to, "wb");
  if (!out) {
    _exit(1);
  }
  work->job(work->context, job, out);
  _exit(fclose(out) == 0 ? 0 : 1);
}

/// Begin the next job. False if the system has no process or pipe for it.
static bool
begin(Run* const run)
{
  const pid_t parent = getpid();
  int ends[2];
  if (pipe2(ends, O_CLOEXEC) != 0) {
    return false;
  }
  // What is not yet written would be written twice
  fflush(NULL);
  const pid_t process = fork();
  if (process == 0) {
    close(ends[0]);
    be_worker(run->work, run->next, ends[1], parent);
  }
  close(ends[1]);
  if (process < 0) {
    close(ends[0]);
    return false;
  }
  const SrWork* const work = run->work;
  const size_t job = run->next++;
  run->workers[run->running++] = (Worker){
      .process = process,
      .job = job,
      .from = ends[0],
      .until_s = work->most_s ? now_s() + work->most_s(work->context, job) : (double)INFINITY};
  return true;
}

/// Read what a worker has written. False at its end.
static bool
read_output(Worker* const worker)
{
  char bytes[16384];
  const ssize_t count = read(worker->from, bytes, sizeof(bytes));
  if (count < 0) {
    return errno == EINTR || errno == EAGAIN;
  }
  if (count == 0) {
    return false;
  }
  if (worker->size + (size_t)count > worker->room) {
    const size_t room = 2 * worker->room + sizeof(bytes);
    char* const more = (char*)realloc(worker->output, room);
    if (!more) {
      worker->lost = true;
      return true;
    }
    worker->output = more;
    worker->room = room;
  }
  if (!worker->lost) {
    memcpy(worker->output + worker->size, bytes, (size_t)count);
    worker->size += (size_t)count;
  }
  return true;
}

static int
wait_for(const pid_t process)
{
  int status = 0;
  while (waitpid(process, &status, 0) < 0 && errno == EINTR) {
  }
  return status;
}

/// A worker has closed its pipe: report its job and remove it.
static void
end(Run* const run, const size_t index)
{
  Worker* const worker = &run->workers[index];
  close(worker->from);
  const int status = wait_for(worker->process);
  const SrJobEnd ended = {.output = worker->output ? worker->output : "",
                          .size = worker->size,
                          .started = true,
                          .late = worker->late,
                          .signal = WIFSIGNALED(status) ? WTERMSIG(status) : 0,
                          .status = WIFEXITED(status) && !worker->lost ? WEXITSTATUS(status) : 1};
  run->work->ended(run->work->context, worker->job, &ended);
  free(worker->output);
  *worker = run->workers[--run->running];
}

/// Kill those that took too long; they then end like others.
static void
kill_late(Run* const run)
{
  const double now = now_s();
  for (size_t i = 0; i < run->running; ++i) {
    Worker* const worker = &run->workers[i];
    if (!worker->late && now >= worker->until_s) {
      worker->late = true;
      kill(worker->process, SIGKILL);
    }
  }
}

/// Wait until a worker has written something or has ended.
static void
look(Run* const run)
{
  struct pollfd inputs[SR_MOST_WORKERS];
  for (size_t i = 0; i < run->running; ++i) {
    inputs[i] = (struct pollfd){run->workers[i].from, POLLIN, 0};
  }
  if (poll(inputs, (nfds_t)run->running, LOOK_MS) <= 0) {
    return;
  }
  // From the last one down, since the last takes the place of one that ended
  for (size_t i = run->running; i-- > 0;) {
    if (inputs[i].revents && !read_output(&run->workers[i])) {
      end(run, i);
    }
  }
}

static void
kill_all(Run* const run)
{
  for (size_t i = 0; i < run->running; ++i) {
    kill(run->workers[i].process, SIGKILL);
  }
  for (size_t i = 0; i < run->running; ++i) {
    close(run->workers[i].from);
    (void)wait_for(run->workers[i].process);
    free(run->workers[i].output);
  }
  run->running = 0;
}

bool
sr_work(const SrWork* const work)
{
  Worker workers[SR_MOST_WORKERS];
  Run run = {.work = work, .workers = workers};
  while (run.running > 0 || run.next < work->count) {
    if (work->stop(work->context)) {
      kill_all(&run);
      return false;
    }
    bool more = true;
    while (more && run.running < work->workers && run.running < SR_MOST_WORKERS &&
           run.next < work->count) {
      more = begin(&run);
    }
    if (run.running > 0) {
      kill_late(&run);
      look(&run);
    } else if (!more) {
      const SrJobEnd ended = {.output = "", .started = false};
      (void)poll(NULL, 0, RETRY_MS);
      if (!begin(&run)) {
        work->ended(work->context, run.next++, &ended);
      }
    }
  }
  return true;
}
