// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file make_progress.c
   Draws invented days of practice, to be looked at.

   usage: make_progress OUT.pdf|svg|png TIME [WIDTH [dark]]

   TIME is month, day, plain, years or decade. With a width, the picture alone, in pixels, as a PNG;
   without, a page.
*/

#include "made_progress.h"

#include <steadyreed/round_picture.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PAD 12.0

static int
draw_picture(const char* const path, const MadeProgress* const made, const double width,
             const bool dark)
{
  const SrPicturedProgress pictured = made_progress_pictured(made);
  const SrProgressStyle style = {.dark = dark};
  SrProgressPicture* picture = NULL;
  SrError error = {0};
  double red;
  double green;
  double blue;
  if (sr_progress_picture_new(&pictured, &style, width - 2.0 * PAD, (double)INFINITY, &picture,
                              &error) != SR_OK) {
    fprintf(stderr, "%s\n", error.message);
    return 1;
  }
  const double height = sr_progress_picture_height(picture) + 2.0 * PAD;
  cairo_surface_t* const surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)width, (int)ceil(height));
  cairo_t* const cairo = cairo_create(surface);
  sr_round_paper(dark, &red, &green, &blue);
  cairo_set_source_rgb(cairo, red, green, blue);
  cairo_paint(cairo);
  const bool drawn = sr_progress_picture_draw(picture, cairo, PAD, PAD) == SR_OK &&
                     cairo_surface_write_to_png(surface, path) == CAIRO_STATUS_SUCCESS;
  char words[SR_PROGRESS_WORDS_SIZE];
  puts(sr_progress_picture_words(picture, words));
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
  sr_progress_picture_del(picture);
  return drawn ? 0 : 1;
}

static int
draw_page(const char* const path, const MadeProgress* const made)
{
  char title[] = "The Lamp in the Porch";
  const SrPhraseProgress phrase = made_progress_phrase(made, title);
  const SrProgressPages pages = {&phrase, 1, made->every, made->every_count, MADE_TODAY};
  SrError error = {0};
  if (sr_page_progress(path, &pages, &error) != SR_OK) {
    fprintf(stderr, "%s\n", error.message);
    return 1;
  }
  return 0;
}

int
main(const int argc, char** const argv)
{
  static const char* const TIMES[] = {"month", "day", "plain", "years", "decade"};
  for (size_t i = 0; argc >= 3 && i < sizeof(TIMES) / sizeof(TIMES[0]); ++i) {
    if (!strcmp(argv[2], TIMES[i])) {
      MadeProgress made;
      made_progress_make((MadeTime)i, &made);
      const int status = argc > 3 ? draw_picture(argv[1], &made, atof(argv[3]), argc > 4)
                                  : draw_page(argv[1], &made);
      made_progress_clear(&made);
      return status;
    }
  }
  fputs("usage: make_progress OUT.pdf|svg|png month|day|plain|years|decade [WIDTH [dark]]\n",
        stderr);
  return 2;
}
