// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file workers.h
   Jobs done side by side, each in a process of its own: the libraries that decode recordings need
   not be safe for threads, and a crash over one job stops no other.
*/

#ifndef SR_APP_WORKERS_H
#define SR_APP_WORKERS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/// Most workers at once.
#define SR_MOST_WORKERS 64

/// How the process of a job ended.
typedef struct {
  const char* output; ///< What it wrote, also if it was cut short; not NULL
  size_t size;        ///< Bytes of it
  bool started;       ///< False if the system could make no process for it
  int signal;         ///< That ended it; 0 if none did
  bool late;          ///< It was killed, since it took longer than it may
  int status;         ///< Its exit status otherwise; 0 is well
} SrJobEnd;

/// What is to be done.
typedef struct {
  void* context;
  size_t count;   ///< Jobs
  size_t workers; ///< At once, 1 to SR_MOST_WORKERS
  /// Do a job, in a process of its own that sees the memory as it is now; what is written goes to
  /// sr_work.ended.
  void (*job)(void* context, size_t index, FILE* out);
  /// A job is over. In any order, from the process that called sr_work().
  void (*ended)(void* context, size_t index, const SrJobEnd* end);
  /// Whether to stop: asked at least five times a second.
  bool (*stop)(void* context);
  /// How long a job may take, s; asked once it has begun. NULL for no limit.
  double (*most_s)(void* context, size_t index);
} SrWork;

/**
   Do all jobs. No other thread may run meanwhile.

   @return False if it was stopped: jobs in work were killed, and `ended` was not called for them.
*/
bool sr_work(const SrWork* work);

/// Cores that this process may use, 1 to SR_MOST_WORKERS.
size_t sr_work_cores(void);

#endif // SR_APP_WORKERS_H
