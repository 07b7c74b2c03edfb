// SPDX-License-Identifier: GPL-3.0-or-later

#include "stretch_player.h"

#include <steadyreed/audio.h>
#include <steadyreed/sound.h>

#include <gio/gio.h>
#include <math.h>

/// What one thread plays.
typedef struct {
  SrStretchPlayer* player;
  SrStretchOrder order;
  char* path;
  SrStretchSound* sound;
  int stop; ///< Atomic
  SrError error;
} Playing;

struct _SrStretchPlayer {
  GObject parent_instance;
  char* output;
  SrPlayer* device; ///< Open from the first time on; used by one thread at a time
  Playing* playing; ///< NULL if nothing is
  Playing* next;    ///< Waits for the end of that; NULL without
  gboolean closing; ///< The device is to be closed
  gboolean closes;  ///< … and is being closed

  GMutex lock;     ///< Of what follows, which the playing thread writes
  gint64 begun_us; ///< 0 until samples are asked for
  SrStretchTurn turn;
};

G_DEFINE_FINAL_TYPE(SrStretchPlayer, sr_stretch_player, G_TYPE_OBJECT)

enum { CHANGED, SAID, SIGNALS };
static guint signals[SIGNALS];

static void begin_next(SrStretchPlayer* player);

static void
free_playing(void* const data)
{
  Playing* const playing = (Playing*)data;
  sr_stretch_sound_free(playing->sound);
  sr_chosen_unref(playing->order.written);
  g_free(playing->path);
  g_free(playing);
}

static size_t
give(void* const context, float* const samples, const size_t count)
{
  Playing* const playing = (Playing*)context;
  SrStretchPlayer* const player = playing->player;
  if (g_atomic_int_get(&playing->stop)) {
    return 0;
  }
  g_mutex_lock(&player->lock);
  if (!player->begun_us) {
    player->begun_us = g_get_monotonic_time();
    player->turn = sr_stretch_sound_turn(playing->sound);
  }
  g_mutex_unlock(&player->lock);
  return sr_stretch_sound_read(playing->sound, samples, count);
}

static void
play(GTask* const task, void* const source, void* const data, GCancellable* const cancellable)
{
  (void)cancellable;
  SrStretchPlayer* const player = SR_STRETCH_PLAYER(source);
  Playing* const playing = (Playing*)data;
  SrStatus status = SR_OK;
  if (!player->device) {
    status = sr_player_new(player->output, &player->device, &playing->error);
  }
  if (status == SR_OK) {
    playing->sound =
        sr_stretch_sound_new(&playing->order, sr_player_rate_hz(player->device), &playing->error);
    status = playing->sound ? sr_player_play(player->device, give, playing, &playing->error)
                            : SR_BAD_AUDIO;
  }
  if (status == SR_DEVICE_TROUBLE) {
    // It may have been unplugged; the next time it is looked for again
    sr_player_del(player->device);
    player->device = NULL;
  }
  g_task_return_boolean(task, status == SR_OK);
}

static void
take_end(GObject* const source, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrStretchPlayer* const player = SR_STRETCH_PLAYER(source);
  Playing* const playing = (Playing*)g_task_get_task_data(G_TASK(result));
  const gboolean good = g_task_propagate_boolean(G_TASK(result), NULL);
  player->playing = NULL;
  if (!good && !player->closing) {
    g_signal_emit(player, signals[SAID], 0, playing->error.message);
  }
  begin_next(player);
  g_signal_emit(player, signals[CHANGED], 0);
}

static void
close_device(GTask* const task, void* const source, void* const data,
             GCancellable* const cancellable)
{
  (void)data;
  (void)cancellable;
  SrStretchPlayer* const player = SR_STRETCH_PLAYER(source);
  sr_player_del(player->device);
  player->device = NULL;
  g_task_return_boolean(task, TRUE);
}

static void
take_closed(GObject* const source, GAsyncResult* const result, void* const unused)
{
  (void)result;
  (void)unused;
  SR_STRETCH_PLAYER(source)->closes = FALSE;
  g_signal_emit(source, signals[CHANGED], 0);
}

static void
begin_next(SrStretchPlayer* const player)
{
  GTask* task = NULL;
  if (player->playing || player->closes) {
    return;
  }
  if (player->closing) {
    g_clear_pointer(&player->next, free_playing);
    if (player->device) {
      player->closes = TRUE;
      task = g_task_new(player, NULL, take_closed, NULL);
      g_task_run_in_thread(task, close_device);
      g_object_unref(task);
    }
    return;
  }
  if (player->next) {
    player->playing = (Playing*)g_steal_pointer(&player->next);
    player->begun_us = 0;
    task = g_task_new(player, NULL, take_end, NULL);
    g_task_set_task_data(task, player->playing, free_playing);
    g_task_run_in_thread(task, play);
    g_object_unref(task);
  }
}

void
sr_stretch_player_begin(SrStretchPlayer* const player, const SrStretchOrder* const order)
{
  sr_stretch_player_stop(player);
  Playing* const playing = g_new0(Playing, 1);
  playing->player = player;
  playing->path = g_strdup(order->path);
  playing->order = *order;
  playing->order.path = playing->path;
  playing->order.written = order->written ? sr_chosen_ref(order->written) : NULL;
  player->next = playing;
  begin_next(player);
  g_signal_emit(player, signals[CHANGED], 0);
}

void
sr_stretch_player_stop(SrStretchPlayer* const player)
{
  g_clear_pointer(&player->next, free_playing);
  if (player->playing) {
    g_atomic_int_set(&player->playing->stop, 1);
  }
}

gboolean
sr_stretch_player_plays(SrStretchPlayer* const player)
{
  return player->next || (player->playing && !g_atomic_int_get(&player->playing->stop));
}

gboolean
sr_stretch_player_busy(SrStretchPlayer* const player)
{
  return player->playing || player->next || player->closes || player->device;
}

void
sr_stretch_player_close(SrStretchPlayer* const player)
{
  sr_stretch_player_stop(player);
  player->closing = TRUE;
  begin_next(player);
}

SrStretchPlace
sr_stretch_player_place(SrStretchPlayer* const player)
{
  const SrStretchPlace nowhere = {false, (double)NAN, (double)NAN};
  if (!player->playing || !sr_stretch_player_plays(player)) {
    return nowhere;
  }
  g_mutex_lock(&player->lock);
  const gint64 begun_us = player->begun_us;
  const SrStretchTurn turn = player->turn;
  g_mutex_unlock(&player->lock);
  if (!begun_us) {
    return nowhere;
  }
  const SrStretchOrder* const order = &player->playing->order;
  const SrPhrase* const phrase = order->written ? order->written->phrase : NULL;
  const double bpm = phrase ? sr_sound_tempo(phrase) : 0.0;
  const double pulse = phrase ? sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse) : 0.0;
  const double at_s = (double)(g_get_monotonic_time() - begun_us) / G_USEC_PER_SEC;
  return sr_stretch_turn_place(&turn, at_s, order, bpm, pulse);
}

static void
player_finalize(GObject* const object)
{
  SrStretchPlayer* const player = SR_STRETCH_PLAYER(object);
  // Threads hold a reference, so none is left
  sr_player_del(player->device);
  g_clear_pointer(&player->next, free_playing);
  g_free(player->output);
  g_mutex_clear(&player->lock);
  G_OBJECT_CLASS(sr_stretch_player_parent_class)->finalize(object);
}

static void
sr_stretch_player_class_init(SrStretchPlayerClass* const class)
{
  G_OBJECT_CLASS(class)->finalize = player_finalize;
  signals[CHANGED] = g_signal_new("changed", SR_TYPE_STRETCH_PLAYER, G_SIGNAL_RUN_LAST, 0, NULL,
                                  NULL, NULL, G_TYPE_NONE, 0);
  signals[SAID] = g_signal_new("said", SR_TYPE_STRETCH_PLAYER, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                               NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
}

static void
sr_stretch_player_init(SrStretchPlayer* const player)
{
  g_mutex_init(&player->lock);
}

SrStretchPlayer*
sr_stretch_player_new(const char* const output)
{
  SrStretchPlayer* const player = SR_STRETCH_PLAYER(g_object_new(SR_TYPE_STRETCH_PLAYER, NULL));
  player->output = g_strdup(output);
  return player;
}
