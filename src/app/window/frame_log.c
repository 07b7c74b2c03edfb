// SPDX-License-Identifier: GPL-3.0-or-later

#include "frame_log.h"

#include <stdio.h>

typedef struct {
  FILE* file;
  gint64 second;
  unsigned frames;
  gint64 last_us;
  gint64 longest_us;
} FrameLog;

static void
write_second(FrameLog* const log)
{
  if (log->frames) {
    fprintf(log->file, "%lld %u %.1f\n", (long long)log->second, log->frames,
            (double)log->longest_us / 1000.0);
    fflush(log->file);
  }
  log->frames = 0;
  log->longest_us = 0;
}

static void
count(GdkFrameClock* const clock, FrameLog* const log)
{
  (void)clock;
  const gint64 now_us = g_get_monotonic_time();
  const gint64 second = g_get_real_time() / G_USEC_PER_SEC;
  if (second != log->second) {
    write_second(log);
    log->second = second;
  }
  log->longest_us = log->last_us ? MAX(log->longest_us, now_us - log->last_us) : 0;
  log->last_us = now_us;
  ++log->frames;
}

static void
end(void* const data)
{
  FrameLog* const log = (FrameLog*)data;
  write_second(log);
  fclose(log->file);
  g_free(log);
}

static void
begin(GtkWidget* const window, FILE* const file)
{
  FrameLog* const log = g_new0(FrameLog, 1);
  log->file = file;
  g_signal_connect_data(gtk_widget_get_frame_clock(window), "after-paint", G_CALLBACK(count), log,
                        NULL, 0);
  g_object_set_data_full(G_OBJECT(gtk_widget_get_frame_clock(window)), "frame-log", log, end);
}

void
sr_frame_log_begin(GtkWidget* const window)
{
  const char* const path = g_getenv("STEADYREED_FRAMES");
  FILE* const file = path ? fopen(path, "ae") : NULL;
  if (file) {
    begin(window, file);
  }
}
