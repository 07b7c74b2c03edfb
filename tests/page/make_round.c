// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file make_round.c
   Draws the worst round of a take as a PNG, to look at it.

   usage: make_round PHRASE TAKE OUT.png WIDTH HEIGHT|0 [dark] [plan]
*/

#include <steadyreed/judged_take.h>
#include <steadyreed/plan_wish.h>
#include <steadyreed/round_picture.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int
refuse(const SrError* const error)
{
  char words[1024];
  fprintf(stderr, "%s\n", sr_error_print(error, words, sizeof(words)));
  return 1;
}

static bool
is_named(const int argc, char** const argv, const char* const word)
{
  for (int i = 6; i < argc; ++i) {
    if (!strcmp(argv[i], word)) {
      return true;
    }
  }
  return false;
}

int
main(const int argc, char** const argv)
{
  SrError error = {0};
  SrPhrase* phrase = NULL;
  SrJudgedTake take;
  SrWishedPlan wished = {0};
  SrPlans* plans = NULL;
  if (argc < 6 || sr_phrase_read_file(argv[1], NULL, &phrase, &error)) {
    return refuse(&error);
  }
  if (is_named(argc, argv, "plan") &&
      (sr_plan_wish_read(NULL, NULL, (double)NAN, phrase, &wished, &error) ||
       sr_plan(phrase, wished.instrument, &wished.settings, &plans, &error))) {
    return refuse(&error);
  }
  if (sr_judged_take_make(phrase, argv[2], NULL, true, &take)) {
    return refuse(&take.error);
  }
  const double width = strtod(argv[4], NULL);
  const double room = strtod(argv[5], NULL);
  const SrRoundStyle style = {.dark = is_named(argc, argv, "dark")};
  const SrPicturedRound pictured = {.phrase = take.phrase ? take.phrase : phrase,
                                    .round = &take.assessment->rounds[0],
                                    .reached = SR_REACHED_ALL,
                                    .plan = plans ? sr_plans_get(plans, 0) : NULL,
                                    .instrument = wished.instrument};
  SrRoundPicture* picture = NULL;
  const double pad = 6.0;
  if (sr_round_picture_new(&pictured, &style, width - 2.0 * pad,
                           room > 0.0 ? room - 2.0 * pad : (double)INFINITY, &picture, &error)) {
    return refuse(&error);
  }
  const double height = room > 0.0 ? room : sr_round_picture_height(picture) + 2.0 * pad;
  cairo_surface_t* const surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)width, (int)ceil(height));
  cairo_t* const cairo = cairo_create(surface);
  double red;
  double green;
  double blue;
  sr_round_paper(style.dark, &red, &green, &blue);
  cairo_set_source_rgb(cairo, red, green, blue);
  cairo_paint(cairo);
  const SrStatus status = sr_round_picture_draw(picture, cairo, pad, pad);
  const bool written = cairo_surface_write_to_png(surface, argv[3]) == CAIRO_STATUS_SUCCESS;
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
  sr_round_picture_del(picture);
  sr_judged_take_clear(&take);
  sr_plans_del(plans);
  sr_wished_plan_clear(&wished);
  sr_phrase_del(phrase);
  return status == SR_OK && written ? 0 : 1;
}
