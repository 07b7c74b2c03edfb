// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_words.h"

#include <math.h>
#include <stdio.h>

#define NAME_SIZE 14.0   ///< Of a note
#define BUTTON_SIZE 8.2  ///< Of its button
#define SMALL_NAME 8.6   ///< Of a cut
#define SMALL_BUTTON 7.0 ///< Of its button
#define AIR_SIZE 10.0
#define GAP 1.2 ///< Between a note and its button

static SrFont
name_font(const double scale)
{
  const SrFont font = {
      .size = NAME_SIZE * scale, .bold = true, .colour = SR_COLOUR_INK, .halo = true};
  return font;
}

static SrFont
button_font(const double scale)
{
  const SrFont font = {.size = BUTTON_SIZE * scale,
                       .colour = SR_COLOUR_INK,
                       .halo = true,
                       .most_width = 60.0 * scale};
  return font;
}

static SrFont
cut_name_font(const double scale)
{
  const SrFont font = {
      .size = SMALL_NAME * scale, .bold = true, .colour = SR_COLOUR_SOFT_INK, .halo = true};
  return font;
}

static SrFont
cut_button_font(const double scale)
{
  const SrFont font = {.size = SMALL_BUTTON * scale,
                       .colour = SR_COLOUR_SOFT_INK,
                       .halo = true,
                       .most_width = 50.0 * scale};
  return font;
}

static SrFont
air_font(const double scale)
{
  const SrFont font = {
      .size = AIR_SIZE * scale, .bold = true, .colour = SR_COLOUR_INK, .halo = true};
  return font;
}

SrFont
sr_shade_font(void)
{
  const SrFont font = {.size = 7.5, .colour = SR_COLOUR_SOFT_INK};
  return font;
}

/// Two lines of words, the upper one larger.
static void
measure_pair(const SrPen* const pen, const SrFont* const upper, const char* const upper_words,
             const SrFont* const lower, const char* const lower_words, SrArea* const area)
{
  area->width = fmax(sr_pen_width(pen, upper, upper_words), sr_pen_width(pen, lower, lower_words));
  area->height = sr_pen_height(upper) + GAP + sr_pen_height(lower);
}

static const char*
cut_word(const SrDrawnStroke* const stroke)
{
  return stroke->cut == SR_DRAWN_CUT_LEFT_OUT ? "skip" : stroke->cut_button;
}

void
sr_bellows_words_measure(const SrPen* const pen, const SrDrawnStroke* const stroke,
                         const SrWordsKind kind, const double scale, SrArea* const area)
{
  switch (kind) {
  case SR_WORDS_NOTE: {
    const SrFont name = name_font(scale);
    const SrFont button = button_font(scale);
    measure_pair(pen, &name, stroke->name, &button, stroke->button, area);
    return;
  }
  case SR_WORDS_GOES_ON: {
    const SrFont font = cut_name_font(scale);
    area->width = sr_pen_width(pen, &font, stroke->name) + sr_pen_width(pen, &font, "()");
    area->height = sr_pen_height(&font);
    return;
  }
  case SR_WORDS_CUT: {
    const SrFont name = cut_name_font(scale);
    const SrFont button = cut_button_font(scale);
    measure_pair(pen, &name, stroke->cut_name, &button, cut_word(stroke), area);
    return;
  }
  case SR_WORDS_AIR: {
    const SrFont font = air_font(scale);
    area->width = sr_pen_width(pen, &font, "air");
    area->height = sr_pen_height(&font);
    return;
  }
  }
}

static void
say_pair(const SrPen* const pen, const SrFont* const upper, const char* const upper_words,
         const SrFont* const lower, const char* const lower_words, const SrArea* const area)
{
  sr_pen_say(pen, upper, upper_words, area->left, area->top);
  sr_pen_say(pen, lower, lower_words, area->left, area->top + sr_pen_height(upper) + GAP);
}

void
sr_bellows_words_say(const SrPen* const pen, const SrDrawnStroke* const stroke,
                     const SrWordsKind kind, const double scale, const SrArea* const area)
{
  switch (kind) {
  case SR_WORDS_NOTE: {
    const SrFont name = name_font(scale);
    const SrFont button = button_font(scale);
    say_pair(pen, &name, stroke->name, &button, stroke->button, area);
    return;
  }
  case SR_WORDS_GOES_ON: {
    const SrFont font = cut_name_font(scale);
    char words[32];
    snprintf(words, sizeof(words), "(%s)", stroke->name);
    sr_pen_say(pen, &font, words, area->left, area->top);
    return;
  }
  case SR_WORDS_CUT: {
    const SrFont name = cut_name_font(scale);
    const SrFont button = cut_button_font(scale);
    say_pair(pen, &name, stroke->cut_name, &button, cut_word(stroke), area);
    return;
  }
  case SR_WORDS_AIR: {
    const SrFont font = air_font(scale);
    sr_pen_say(pen, &font, "air", area->left, area->top);
    return;
  }
  }
}
