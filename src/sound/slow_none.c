// SPDX-License-Identifier: GPL-3.0-or-later

// A build without the Rubber Band library.

#include <steadyreed/slow.h>

bool
sr_slow_is_built(void)
{
  return false;
}

SrStatus
sr_slow_new(const double in_rate_hz, const double out_rate_hz, const double speed,
            const size_t length, const SrSlowSource source, void* const context,
            SrSlow** const slow, SrError* const error)
{
  (void)in_rate_hz;
  (void)out_rate_hz;
  (void)speed;
  (void)length;
  (void)source;
  (void)context;
  *slow = NULL;
  return sr_error_set(error, SR_UNSUPPORTED,
                      "This build cannot slow a recording down. Install librubberband-dev and "
                      "build again.");
}

size_t
sr_slow_length(const SrSlow* const slow)
{
  (void)slow;
  return 0;
}

size_t
sr_slow_read(SrSlow* const slow, float* const samples, const size_t count)
{
  (void)slow;
  (void)samples;
  (void)count;
  return 0;
}

void
sr_slow_del(SrSlow* const slow)
{
  (void)slow;
}
