// SPDX-License-Identifier: GPL-3.0-or-later

#include "air_queue.h"

#include "tuning.h"

#include <stdlib.h>
#include <string.h>

/// Room for one more release; false if out of memory, it is then dropped.
static bool
make_room(SrAirQueue* const q)
{
  if (q->count == q->room) {
    const size_t room = 2 * q->room + 16;
    SrAirRelease* const releases = (SrAirRelease*)realloc(q->releases, room * sizeof(SrAirRelease));
    if (!releases) {
      return false;
    }
    q->releases = releases;
    q->room = room;
  }
  return true;
}

void
sr_air_queue_put(SrAirQueue* const q, const SrAirRelease* const release)
{
  if (make_room(q)) {
    q->releases[q->count++] = *release;
  }
}

void
sr_air_queue_spoil(SrAirQueue* const q, const double time_s)
{
  while (q->count > 0 && !q->releases[q->count - 1].sure &&
         q->releases[q->count - 1].heard.end_s > time_s - SPOILT_S) {
    --q->count;
  }
}

bool
sr_air_queue_pull(SrAirQueue* const q, const double done_s, SrAirHeard* const heard)
{
  if (q->count == 0) {
    return false;
  }
  // An uncertain release waits until the sounds after it are known
  const SrAirRelease* const first = &q->releases[0];
  if (!first->sure && first->heard.end_s > done_s - SPOILT_S) {
    return false;
  }
  *heard = first->heard;
  --q->count;
  memmove(q->releases, q->releases + 1, q->count * sizeof(SrAirRelease));
  return true;
}
