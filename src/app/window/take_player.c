// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_player.h"

#include <steadyreed/audio.h>
#include <steadyreed/slow.h>

#include <gio/gio.h>
#include <math.h>

#define BLOCK 65536u

struct _SrTakePlayer {
  GObject parent_instance;
  char* output;
  char* path;
  bool busy;
  int stop;    ///< Atomic
  size_t left; ///< Samples still to be read
  SrTakeReader* reader;
  SrError error;
};

G_DEFINE_FINAL_TYPE(SrTakePlayer, sr_take_player, G_TYPE_OBJECT)

enum { OVER, SAID, SIGNALS };
static guint signals[SIGNALS];

static size_t
read_samples(void* const context, float* const samples, const size_t count)
{
  SrTakePlayer* const player = SR_TAKE_PLAYER(context);
  const size_t wanted = g_atomic_int_get(&player->stop) ? 0 : MIN(count, player->left);
  const size_t got = wanted ? sr_take_reader_read(player->reader, samples, wanted) : 0;
  player->left -= got;
  for (size_t i = 0; i < got; ++i) {
    samples[i] = isfinite(samples[i]) ? samples[i] : 0.0f;
  }
  return got;
}

static size_t
read_resampled(void* const context, float* const samples, const size_t count)
{
  return sr_slow_read((SrSlow*)context, samples, count);
}

/// Samples in the take, which is read to its end for it.
static SrStatus
count_samples(SrTakePlayer* const player)
{
  float* const samples = g_new(float, BLOCK);
  for (size_t got = 1; got > 0; player->left += got) {
    got = sr_take_reader_read(player->reader, samples, BLOCK);
  }
  g_free(samples);
  return sr_take_reader_rewind(player->reader, &player->error);
}

static SrStatus
play_on(SrTakePlayer* const player, SrPlayer* const device)
{
  const double recorded_hz = sr_take_reader_rate_hz(player->reader);
  const double rate_hz = sr_player_rate_hz(device);
  SrError* const error = &player->error;
  SrSlow* slow = NULL;
  if (fabs(recorded_hz - rate_hz) < 0.5) {
    return sr_player_play(device, read_samples, player, error);
  }
  SrStatus status =
      sr_slow_new(recorded_hz, rate_hz, 1.0, player->left, read_samples, player, &slow, error);
  if (status == SR_OK) {
    status = sr_player_play(device, read_resampled, slow, error);
  }
  sr_slow_del(slow);
  return status;
}

static void
play(GTask* const task, void* const source, void* const data, GCancellable* const cancellable)
{
  (void)data;
  (void)cancellable;
  SrTakePlayer* const player = SR_TAKE_PLAYER(source);
  SrPlayer* device = NULL;
  player->left = 0;
  SrStatus status = sr_take_reader_new(player->path, &player->reader, &player->error);
  status = status == SR_OK ? count_samples(player) : status;
  status = status == SR_OK ? sr_player_new(player->output, &device, &player->error) : status;
  status = status == SR_OK ? play_on(player, device) : status;
  sr_player_del(device);
  sr_take_reader_del(player->reader);
  player->reader = NULL;
  g_task_return_boolean(task, status == SR_OK);
}

static void
finish(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrTakePlayer* const player = SR_TAKE_PLAYER(object);
  player->busy = false;
  if (!g_task_propagate_boolean(G_TASK(result), NULL)) {
    g_signal_emit(player, signals[SAID], 0, player->error.message);
  }
  g_signal_emit(player, signals[OVER], 0);
}

void
sr_take_player_play(SrTakePlayer* const player, const char* const path)
{
  if (player->busy) {
    return;
  }
  g_free(player->path);
  player->path = g_strdup(path);
  player->error = (SrError){0};
  player->busy = true;
  g_atomic_int_set(&player->stop, 0);
  GTask* const task = g_task_new(player, NULL, finish, NULL);
  g_task_run_in_thread(task, play);
  g_object_unref(task);
}

void
sr_take_player_stop(SrTakePlayer* const player)
{
  g_atomic_int_set(&player->stop, 1);
}

bool
sr_take_player_is_busy(const SrTakePlayer* const player)
{
  return player->busy;
}

static void
player_finalize(GObject* const object)
{
  g_free(SR_TAKE_PLAYER(object)->output);
  g_free(SR_TAKE_PLAYER(object)->path);
  G_OBJECT_CLASS(sr_take_player_parent_class)->finalize(object);
}

static void
sr_take_player_class_init(SrTakePlayerClass* const class)
{
  const GType type = SR_TYPE_TAKE_PLAYER;
  G_OBJECT_CLASS(class)->finalize = player_finalize;
  signals[OVER] =
      g_signal_new("over", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[SAID] = g_signal_new("said", type, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1,
                               G_TYPE_STRING);
}

static void
sr_take_player_init(SrTakePlayer* const player)
{
  (void)player;
}

SrTakePlayer*
sr_take_player_new(const char* const output)
{
  SrTakePlayer* const player = SR_TAKE_PLAYER(g_object_new(SR_TYPE_TAKE_PLAYER, NULL));
  player->output = g_strdup(output);
  return player;
}
