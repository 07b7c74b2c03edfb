// SPDX-License-Identifier: GPL-3.0-or-later

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "talk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void
talk_hear(void* const context, const char* const text, const SrArea* const letters)
{
  Talk* const talk = context;
  if (talk->count == talk->room) {
    talk->room = 2 * talk->room + 256;
    talk->said = realloc(talk->said, talk->room * sizeof(Said));
    assert_non_null(talk->said);
  }
  Said* const said = &talk->said[talk->count++];
  strncpy(said->text, text, sizeof(said->text) - 1);
  said->text[sizeof(said->text) - 1] = '\0';
  said->letters = *letters;
  said->page = talk->page;
}

void
talk_draw(const SrSheet* const sheet, Talk* const talk)
{
  memset(talk, 0, sizeof(*talk));
  for (size_t page = 0; page < sr_sheet_pages(sheet); ++page) {
    cairo_surface_t* const surface =
        cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
    cairo_t* const cairo = cairo_create(surface);
    SrPen pen;
    assert_true(sr_pen_begin(&pen, cairo));
    pen.said = talk_hear;
    pen.said_context = talk;
    talk->page = page;
    sr_sheet_draw(sheet, &pen, page);
    assert_int_equal(cairo_status(cairo), CAIRO_STATUS_SUCCESS);
    sr_pen_end(&pen);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
  }
}

void
talk_clear(Talk* const talk)
{
  free(talk->said);
  memset(talk, 0, sizeof(*talk));
}

bool
talk_is_note(const Talk* const talk, const size_t index, const SrDrawnStroke* const stroke)
{
  char name[32];
  char finger[16];
  snprintf(name, sizeof(name), "%s%s", stroke->name, stroke->octave);
  snprintf(finger, sizeof(finger), stroke->finger == SR_FINGER_THUMB ? "(T)" : "(%d)",
           (int)stroke->finger);
  return index + 2 < talk->count && !strcmp(talk->said[index].text, name) &&
         !strcmp(talk->said[index + 1].text, stroke->button) &&
         !strcmp(talk->said[index + 2].text, finger);
}

size_t
talk_notes(const Talk* const talk, const SrDrawnStroke* const stroke)
{
  size_t times = 0;
  for (size_t i = 0; i < talk->count; ++i) {
    times += talk_is_note(talk, i, stroke);
  }
  return times;
}
