// SPDX-License-Identifier: GPL-3.0-or-later

#include "hands_free.h"

#include <poll.h>
#include <signal.h>
#include <stddef.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

// Global, because signal and exit handlers take no argument.
static volatile sig_atomic_t asked;
static bool next;
static struct termios before;
static bool changed;
/// Jobs asked for by keys and not yet taken; further ones are dropped.
static SrJob jobs[16];
static size_t job_count;

/// Signals of fatal errors.
static const int dying[] = {SIGSEGV, SIGABRT, SIGBUS, SIGFPE, SIGILL};
#define DYING_COUNT (sizeof(dying) / sizeof(dying[0]))

static const int ending[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT};
/// Longest wait for the rest of a key sequence, ms (common practice, no source).
#define ESCAPE_MS 50
#define ENDING_COUNT (sizeof(ending) / sizeof(ending[0]))

static void
ask_for_end(const int signal_number)
{
  (void)signal_number;
  asked = 1;
}

static void
handle(void (*const handler)(int))
{
  struct sigaction action = {0};
  action.sa_handler = handler;
  sigemptyset(&action.sa_mask);
  for (size_t i = 0; i < ENDING_COUNT; ++i) {
    sigaction(ending[i], &action, NULL);
  }
}

/// Use an alternate stack for the handler, since the normal one may have overflowed.
static void
have_another_stack(void)
{
  static char room[16384];
  stack_t stack;
  if (sigaltstack(NULL, &stack) == 0 && (stack.ss_flags & SS_DISABLE)) {
    stack = (stack_t){.ss_sp = room, .ss_size = sizeof(room)};
    sigaltstack(&stack, NULL);
  }
}

/// On a fatal error restore the terminal, then die. All calls are async-signal-safe.
static void
leave_terminal(const int signal_number)
{
  tcsetattr(STDIN_FILENO, TCSANOW, &before);
  signal(signal_number, SIG_DFL);
  raise(signal_number);
}

/// Set or reset the handlers of fatal signals, unless somebody else, such as a sanitizer, has
/// installed its own.
static void
handle_dying(void (*const from)(int), void (*const to)(int))
{
  for (size_t i = 0; i < DYING_COUNT; ++i) {
    struct sigaction action;
    if (sigaction(dying[i], NULL, &action) == 0 && !(action.sa_flags & SA_SIGINFO) &&
        action.sa_handler == from) {
      action = (struct sigaction){0};
      action.sa_handler = to;
      action.sa_flags = SA_ONSTACK;
      sigemptyset(&action.sa_mask);
      // Otherwise setting the terminal would stop a background process
      sigaddset(&action.sa_mask, SIGTTOU);
      sigaction(dying[i], &action, NULL);
    }
  }
}

void
sr_signals_begin(void)
{
  asked = 0;
  handle(ask_for_end);
}

void
sr_hands_free_begin(void)
{
  handle(ask_for_end);
  job_count = 0;
  next = false;
  if (isatty(STDIN_FILENO) && tcgetpgrp(STDIN_FILENO) == getpgrp() &&
      tcgetattr(STDIN_FILENO, &before) == 0) {
    struct termios raw = before;
    raw.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
    raw.c_cc[VMIN] = 0;
    raw.c_cc[VTIME] = 0;
    changed = tcsetattr(STDIN_FILENO, TCSANOW, &raw) == 0;
    if (changed) {
      have_another_stack();
      handle_dying(SIG_DFL, leave_terminal);
    }
  }
}

void
sr_hands_free_end(void)
{
  if (changed) {
    tcsetattr(STDIN_FILENO, TCSANOW, &before);
    changed = false;
    handle_dying(leave_terminal, SIG_DFL);
  }
  handle(SIG_DFL);
}

/// Read the keys that arrive within a time, ms; returns how many.
static ssize_t
wait_for_keys(char* const keys, const size_t room, const int most_ms)
{
  struct pollfd input = {STDIN_FILENO, POLLIN, 0};
  return room > 0 && poll(&input, 1, most_ms) > 0 ? read(STDIN_FILENO, keys, room) : 0;
}

/// End of the key that begins at `at`: ESC begins a sequence of several bytes, such as an arrow key
/// (ECMA-48: CSI or SS3, parameters, one final byte of 0x40 to 0x7E), or a key held with Alt. Over
/// `count` if it may continue.
static ssize_t
end_of_key(const char* const keys, const ssize_t count, const ssize_t at)
{
  ssize_t last = at + 1;
  if (keys[at] != '\033' || (last < count && keys[last] == '\033')) {
    return at + 1;
  }
  if (last < count && (keys[last] == '[' || keys[last] == 'O')) {
    do {
      ++last;
    } while (last < count && !(keys[last] >= 0x40 && keys[last] <= 0x7E));
  }
  return last + 1;
}

/// Whether the last key is an unfinished escape sequence.
static bool
is_unfinished(const char* const keys, const ssize_t count)
{
  ssize_t end = 0;
  while (end < count) {
    end = end_of_key(keys, count, end);
  }
  return end > count;
}

/// The key between two bytes. An Escape that others follow is none, and alone it is the last byte.
static SrKey
key_at(const char* const keys, const ssize_t count, const ssize_t at, const ssize_t end)
{
  if (keys[at] == '\033' && at + 1 == count) {
    return SR_KEY_ESCAPE;
  }
  const SrKey key = end <= count ? sr_key_of_bytes(keys + at, (size_t)(end - at)) : SR_KEY_NONE;
  return key == SR_KEY_ESCAPE ? SR_KEY_NONE : key;
}

/// Read the keys pressed. Escape counts only if nothing follows it, since the rest of an arrow key
/// may come late over a slow line.
static void
read_keys(void)
{
  char keys[32];
  ssize_t count = changed ? wait_for_keys(keys, sizeof(keys), 0) : 0;
  for (ssize_t more = 1; more > 0 && count > 0 && is_unfinished(keys, count);) {
    more = wait_for_keys(keys + count, sizeof(keys) - (size_t)count, ESCAPE_MS);
    count += more > 0 ? more : 0;
  }
  for (ssize_t at = 0, end = 0; at < count; at = end) {
    end = end_of_key(keys, count, at);
    const SrJob job = sr_key_job(key_at(keys, count, at, end));
    if (job == SR_JOB_END) {
      asked = 1;
    } else if (job == SR_JOB_NEXT) {
      next = true;
    } else if (job != SR_JOB_NONE && job_count < sizeof(jobs) / sizeof(jobs[0])) {
      jobs[job_count++] = job;
    }
  }
}

bool
sr_hands_free_next(void)
{
  read_keys();
  const bool wanted = next;
  next = false;
  return wanted;
}

SrJob
sr_hands_free_job(void)
{
  read_keys();
  if (job_count == 0) {
    return SR_JOB_NONE;
  }
  const SrJob job = jobs[0];
  --job_count;
  memmove(jobs, jobs + 1, job_count * sizeof(SrJob));
  return job;
}

void
sr_hands_free_ask(void)
{
  asked = 1;
}

bool
sr_hands_free_asked(void)
{
  read_keys();
  return asked != 0;
}
