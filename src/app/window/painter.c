// SPDX-License-Identifier: GPL-3.0-or-later

#include "painter.h"

#include <string.h>

SrHeldRound*
sr_held_round_new(SrChosen* const chosen, SrAssessment* const assessment)
{
  SrHeldRound* const held = g_new0(SrHeldRound, 1);
  g_atomic_ref_count_init(&held->references);
  held->assessment = assessment;
  held->round = &assessment->rounds[assessment->round_count - 1];
  held->chosen = sr_chosen_ref(chosen);
  return held;
}

SrHeldRound*
sr_held_round_of(SrHeldRound* const held, const size_t index)
{
  SrHeldRound* const other = sr_held_round_new(held->chosen, held->assessment);
  other->holder = sr_held_round_ref(held);
  other->round = &held->assessment->rounds[index];
  other->number = (unsigned)index + 1;
  return other;
}

SrHeldRound*
sr_held_round_ref(SrHeldRound* const held)
{
  g_atomic_ref_count_inc(&held->references);
  return held;
}

void
sr_held_round_unref(SrHeldRound* const held)
{
  if (held && g_atomic_ref_count_dec(&held->references)) {
    if (held->holder) {
      sr_held_round_unref(held->holder);
    } else {
      sr_assessment_del(held->assessment);
    }
    sr_chosen_unref(held->chosen);
    g_free(held);
  }
}

SrPainting
sr_painting_copy(const SrPainting* const painting)
{
  SrPainting copy = *painting;
  const size_t count = sr_phrase_note_count(painting->chosen->phrase);
  copy.chosen = sr_chosen_ref(painting->chosen);
  copy.held = painting->held ? sr_held_round_ref(painting->held) : NULL;
  copy.notes = painting->notes ? g_memdup2(painting->notes, count * sizeof(SrNoteVerdict)) : NULL;
  return copy;
}

void
sr_painting_clear(SrPainting* const painting)
{
  g_clear_pointer(&painting->chosen, sr_chosen_unref);
  g_clear_pointer(&painting->held, sr_held_round_unref);
  g_clear_pointer(&painting->notes, g_free);
}

void
sr_painted_free(SrPainted* const painted)
{
  if (painted) {
    g_clear_object(&painted->texture);
    sr_round_picture_del(painted->picture);
    g_free(painted);
  }
}

/// One order.
typedef struct {
  SrPainting painting;
  SrPaintedTake take;
  void* context;
  SrPainted* painted;
} Order;

static gboolean
deliver(void* const data)
{
  Order* const order = (Order*)data;
  order->take(order->context, order->painted);
  sr_painting_clear(&order->painting);
  g_free(order);
  return G_SOURCE_REMOVE;
}

static void
unmap_surface(void* const surface)
{
  cairo_surface_destroy((cairo_surface_t*)surface);
}

/// The picture's pixels as a texture, which keeps the surface; NULL without memory.
static GdkTexture*
make_texture(const SrPainting* const painting, const SrRoundPicture* const picture)
{
  const int width = painting->width * painting->scale;
  const int height = painting->height * painting->scale;
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
  cairo_t* const cairo = cairo_create(surface);
  cairo_scale(cairo, painting->scale, painting->scale);
  const bool drawn = sr_round_picture_draw(picture, cairo, 0.0, 0.0) == SR_OK &&
                     cairo_status(cairo) == CAIRO_STATUS_SUCCESS;
  cairo_destroy(cairo);
  if (!drawn) {
    cairo_surface_destroy(surface);
    return NULL;
  }
  cairo_surface_flush(surface);
  const size_t stride = (size_t)cairo_image_surface_get_stride(surface);
  GBytes* const bytes = g_bytes_new_with_free_func(cairo_image_surface_get_data(surface),
                                                   stride * (size_t)height, unmap_surface, surface);
  // GDK_MEMORY_DEFAULT is cairo's format on either byte order
  GdkTexture* const texture =
      gdk_memory_texture_new(width, height, GDK_MEMORY_DEFAULT, bytes, stride);
  g_bytes_unref(bytes);
  return texture;
}

static SrPainted*
paint(const SrPainting* const painting)
{
  SrRound going = {0};
  const SrChosen* const chosen = painting->chosen;
  going.notes = painting->notes;
  going.note_count = sr_phrase_note_count(chosen->phrase);
  const SrPicturedRound pictured = {.phrase = chosen->phrase,
                                    .round = painting->held ? painting->held->round : &going,
                                    .reached = painting->held ? SR_REACHED_ALL : painting->reached,
                                    .plan = chosen->plan,
                                    .instrument = sr_chosen_instrument(chosen),
                                    .first_bar = painting->first_bar,
                                    .bar_count = painting->bar_count};
  SrPainted* const painted = g_new0(SrPainted, 1);
  if (sr_round_picture_new(&pictured, &painting->style, painting->width, painting->height,
                           &painted->picture, NULL) == SR_OK) {
    painted->texture = make_texture(painting, painted->picture);
  }
  if (!painted->texture) {
    sr_painted_free(painted);
    return NULL;
  }
  return painted;
}

static void
work(void* const data, void* const unused)
{
  (void)unused;
  Order* const order = (Order*)data;
  order->painted = paint(&order->painting);
  g_idle_add_full(G_PRIORITY_HIGH_IDLE, deliver, order, NULL);
}

void
sr_painter_draw(SrPainting* const painting, const SrPaintedTake take, void* const context)
{
  // One thread of its own, since fonts are looked up again in each thread
  static GThreadPool* pool;
  if (!pool) {
    pool = g_thread_pool_new(work, NULL, 1, TRUE, NULL);
  }
  Order* const order = g_new0(Order, 1);
  order->painting = *painting;
  order->take = take;
  order->context = context;
  g_thread_pool_push(pool, order, NULL);
}
