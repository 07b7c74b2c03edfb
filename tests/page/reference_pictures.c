// SPDX-License-Identifier: GPL-3.0-or-later

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "reference_pictures.h"

#include "made_progress.h"
#include "made_sheet.h"
#include "reference_round.h"

#include "show/draw_bellows.h"
#include "show/draw_layout.h"
#include "show/draw_level.h"
#include "show/picture_file.h"
#include "show/progress_sheet.h"
#include "show/round_layout.h"
#include "show/take_sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Scales, pixels a point, with which the files stay small.
#define PLAN_SCALE 0.48
#define TAKE_SCALE 0.48
#define BUTTONS_SCALE 0.65
/// Width of the bellows of a plan, and of its buttons, points.
#define PLAN_WIDTH 588.0

void
reference_begin(ReferenceCanvas* const canvas, const double width, const double height,
                const bool dark)
{
  double red;
  double green;
  double blue;
  canvas->surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(width), (int)ceil(height));
  canvas->cairo = cairo_create(canvas->surface);
  sr_round_paper(dark, &red, &green, &blue);
  cairo_set_source_rgb(canvas->cairo, red, green, blue);
  cairo_paint(canvas->cairo);
  cairo_translate(canvas->cairo, canvas->how.right, canvas->how.down);
  cairo_set_antialias(canvas->cairo, canvas->how.antialias);
}

cairo_surface_t*
reference_end(ReferenceCanvas* const canvas)
{
  cairo_surface_t* const surface = canvas->surface;
  assert_int_equal(cairo_status(canvas->cairo), CAIRO_STATUS_SUCCESS);
  cairo_destroy(canvas->cairo);
  canvas->surface = NULL;
  canvas->cairo = NULL;
  cairo_surface_flush(surface);
  return surface;
}

void
reference_begin_round(ReferenceCanvas* const canvas, const double height, const bool dark)
{
  reference_begin(canvas, REFERENCE_SCALE * (REFERENCE_ROUND_WIDTH + 2.0 * REFERENCE_PAD),
                  REFERENCE_SCALE * (height + 2.0 * REFERENCE_PAD), dark);
  cairo_scale(canvas->cairo, REFERENCE_SCALE, REFERENCE_SCALE);
}

static SrPen
begin_pen(const ReferenceCanvas* const canvas)
{
  SrPen pen;
  assert_true(sr_pen_begin(&pen, canvas->cairo));
  return pen;
}

static SrPen
begin_scaled(ReferenceCanvas* const canvas, const double scale, const double width,
             const double height)
{
  reference_begin(canvas, scale * width, scale * height, false);
  cairo_scale(canvas->cairo, scale, scale);
  return begin_pen(canvas);
}

// Rounds -----------------------------------------------------------------------------------------

static void
draw_round(ReferenceCanvas* const canvas, SrRoundPicture* const picture, const bool dark)
{
  reference_begin_round(canvas, sr_round_picture_height(picture), dark);
  assert_int_equal(sr_round_picture_draw(picture, canvas->cairo, REFERENCE_PAD, REFERENCE_PAD),
                   SR_OK);
  sr_round_picture_del(picture);
}

static void
draw_whole(ReferenceCanvas* const canvas, const bool planned, const bool dark)
{
  const SrRoundStyle style = {.dark = dark};
  ReferenceRound* const round = reference_round_new();
  draw_round(canvas, reference_round_picture(round, planned, &style, SR_REACHED_ALL, 0, 0), dark);
  reference_round_del(round);
}

static void
draw_planned_light(ReferenceCanvas* const canvas)
{
  draw_whole(canvas, true, false);
}

static void
draw_planned_dark(ReferenceCanvas* const canvas)
{
  draw_whole(canvas, true, true);
}

static void
draw_pitch_light(ReferenceCanvas* const canvas)
{
  draw_whole(canvas, false, false);
}

static void
draw_pitch_dark(ReferenceCanvas* const canvas)
{
  draw_whole(canvas, false, true);
}

/// Half played: what follows is outlined.
static void
draw_half(ReferenceCanvas* const canvas)
{
  const SrRoundStyle style = {.no_offsets = true};
  ReferenceRound* const round = reference_round_new();
  draw_round(canvas, reference_round_picture(round, true, &style, 12, 0, 0), false);
  reference_round_del(round);
}

/// Two bars, close together, with the other breaks in the flow.
static void
draw_part(ReferenceCanvas* const canvas)
{
  const SrRoundStyle style = {.close = true};
  ReferenceRound* const round = reference_round_new();
  round->made.rounds[0].slip_count = 0;
  made_round_slip(&round->made, 0, SR_SLIP_RESTART, 6);
  made_round_slip(&round->made, 0, SR_SLIP_HURRIED, 9);
  made_round_slip(&round->made, 0, SR_SLIP_LEFT_OUT, 12);
  made_round_slip(&round->made, 0, SR_SLIP_OTHER_TEMPO, 15);
  draw_round(canvas, reference_round_picture(round, true, &style, SR_REACHED_ALL, 1, 2), false);
  reference_round_del(round);
}

/// The key of all signs.
static void
draw_key(ReferenceCanvas* const canvas)
{
  ReferenceRound* const round = reference_round_new();
  SrRoundPicture* const picture = reference_round_picture(round, true, NULL, SR_REACHED_ALL, 0, 0);
  const SrArea area = {REFERENCE_PAD, REFERENCE_PAD, REFERENCE_ROUND_WIDTH, 0.0};
  cairo_t* const measuring = sr_pen_measuring();
  SrPen pen;
  assert_true(sr_pen_begin(&pen, measuring));
  const double height = sr_draw_round_key(picture, NULL, &pen, &area, 12.0, false);
  sr_pen_end(&pen);
  cairo_destroy(measuring);
  reference_begin_round(canvas, height, false);
  pen = begin_pen(canvas);
  (void)sr_draw_round_key(picture, NULL, &pen, &area, 12.0, true);
  sr_pen_end(&pen);
  sr_round_picture_del(picture);
  reference_round_del(round);
}

/// Small rounds: on the left light, on the right dark.
static void
draw_marks(ReferenceCanvas* const canvas)
{
  const double width = 120.0;
  const double height = 28.0;
  const double across = width + 2.0 * REFERENCE_PAD;
  const double down = height + 2.0 * REFERENCE_PAD;
  ReferenceRound* const round = reference_round_new();
  reference_begin(canvas, 2.0 * across, 3.0 * down, false);
  double red;
  double green;
  double blue;
  sr_round_paper(true, &red, &green, &blue);
  cairo_set_source_rgb(canvas->cairo, red, green, blue);
  cairo_rectangle(canvas->cairo, across, -down, 2.0 * across, 5.0 * down);
  cairo_fill(canvas->cairo);
  for (int i = 0; i < 6; ++i) {
    const int row = i / 2;
    const bool dark = i % 2;
    // The last as narrow as on a phone: one mark for several notes
    assert_int_equal(sr_round_marks_draw(&round->made.rounds[row < 2 ? row : 0], dark,
                                         canvas->cairo, REFERENCE_PAD + (dark ? across : 0.0),
                                         REFERENCE_PAD + row * down, row < 2 ? width : 20.0,
                                         height),
                     SR_OK);
  }
  reference_round_del(round);
}

// Levels -----------------------------------------------------------------------------------------

/// Level of a note that falls by 30 dB at a cut, rises to it for its length, and goes on.
static double
level_at(const double from_cut_s, const double length_s)
{
  const double fall = from_cut_s < 0.0 ? 0.0 : fmin(30.0, 2500.0 * from_cut_s);
  const double rise = from_cut_s < length_s ? 0.0 : fmin(fall, 1500.0 * (from_cut_s - length_s));
  return -12.0 - fall + rise + 0.6 * sin(160.0 * from_cut_s);
}

static void
draw_level(ReferenceCanvas* const canvas)
{
  enum { COUNT = 60 };
  const double due_s = 1.0;
  double levels[COUNT];
  SrLevelCurve curve = {due_s - 0.13, levels, COUNT};
  const SrTheme theme = sr_theme(false);
  const SrNoteVerdict notes[] = {
      {.due_s = due_s, .cut = {SR_CUT_LONG, due_s, 90.0, 73, 30.0}},
      {.due_s = due_s, .cut = {SR_CUT_JOINED, (double)NAN, (double)NAN, -1, 2.0}},
  };
  const char* const titles[] = {"bar 1, note 5: the cut was long", "bar 2, note 2: joined"};
  reference_begin(canvas, 560.0, 110.0, false);
  SrPen pen = begin_pen(canvas);
  for (int i = 0; i < 2; ++i) {
    for (int k = 0; k < COUNT; ++k) {
      const double time_s = curve.start_s + (k + 0.5) * SR_LEVEL_STEP_S - due_s;
      levels[k] = i ? -14.0 - fabs(sin(40.0 * time_s)) : level_at(time_s, 0.09);
    }
    const SrArea area = {8.0 + 276.0 * i, 8.0, 264.0, 94.0};
    sr_draw_level(&pen, &theme, &curve, &notes[i], titles[i], &area);
  }
  sr_pen_end(&pen);
}

// Plans ------------------------------------------------------------------------------------------

static void
make_sheet(const char* const name, MadeSheet* const made)
{
  size_t i = 0;
  while (i < sheet_case_count && strcmp(sheet_cases[i].name, name) != 0) {
    ++i;
  }
  assert_true(i < sheet_case_count);
  assert_true(made_sheet_make(&sheet_cases[i].order, made));
}

/// Two lines of a plan.
static void
draw_bellows(ReferenceCanvas* const canvas)
{
  const double gap = 7.0;
  MadeSheet made;
  make_sheet("jig", &made);
  cairo_t* const measuring = sr_pen_measuring();
  SrPen pen;
  assert_true(sr_pen_begin(&pen, measuring));
  const SrBellowsWish wish = {.width = PLAN_WIDTH,
                              .room = {(double)INFINITY, (double)INFINITY, gap, 0.0},
                              .least = 0.5,
                              .most = 0.75,
                              .fits = 0.97,
                              .bars_a_line = 4};
  SrBellowsWay way;
  bool found = false;
  SrBellowsPicture* picture = NULL;
  const SrDrawnPhrase* const phrase = &made.content.phrase;
  assert_int_equal(sr_bellows_way_find(&pen, phrase, &wish, &way, &found), SR_OK);
  assert_true(found);
  assert_int_equal(sr_bellows_picture_new(&pen, phrase, wish.width, &way, &picture), SR_OK);
  sr_pen_end(&pen);
  cairo_destroy(measuring);
  double height = REFERENCE_PAD;
  for (size_t i = 0; i < sr_bellows_picture_systems(picture); ++i) {
    height += sr_bellows_picture_height(picture, i) + gap;
  }
  reference_begin(canvas, wish.width + 2.0 * REFERENCE_PAD, height, false);
  pen = begin_pen(canvas);
  double y = REFERENCE_PAD;
  for (size_t i = 0; i < sr_bellows_picture_systems(picture); ++i) {
    sr_bellows_picture_draw(picture, &pen, i, REFERENCE_PAD, y);
    y += sr_bellows_picture_height(picture, i) + gap;
  }
  sr_pen_end(&pen);
  sr_bellows_picture_del(picture);
  made_sheet_clear(&made);
}

/// The buttons of a planned phrase, with their key.
static void
draw_buttons(ReferenceCanvas* const canvas)
{
  MadeSheet made;
  SrLayoutPlaces places;
  make_sheet("jig", &made);
  assert_int_equal(sr_layout_places(&made.content.layout, PLAN_WIDTH, 300.0, 48.0, &places), SR_OK);
  const double top = REFERENCE_PAD + places.height + REFERENCE_PAD;
  const double key = sr_draw_layout_key(NULL, true, 0.0, 0.0, PLAN_WIDTH, 1.0);
  SrPen pen = begin_scaled(canvas, BUTTONS_SCALE, PLAN_WIDTH + 2.0 * REFERENCE_PAD,
                           top + key + REFERENCE_PAD);
  sr_draw_layout(&pen, &made.content.layout, &places, REFERENCE_PAD, REFERENCE_PAD);
  (void)sr_draw_layout_key(&pen, true, REFERENCE_PAD, top, PLAN_WIDTH, 1.0);
  sr_pen_end(&pen);
  sr_layout_places_clear(&places);
  made_sheet_clear(&made);
}

// Pages ------------------------------------------------------------------------------------------

static void
draw_plan_page(ReferenceCanvas* const canvas)
{
  MadeSheet made;
  SrSheet* sheet = NULL;
  make_sheet("jig", &made);
  assert_int_equal(sr_sheet_new(&made.content, true, &sheet), SR_OK);
  SrPen pen = begin_scaled(canvas, PLAN_SCALE, sr_sheet_width(sheet), sr_sheet_height(sheet));
  sr_sheet_draw(sheet, &pen, 0);
  sr_pen_end(&pen);
  sr_sheet_del(sheet);
  made_sheet_clear(&made);
}

static void
draw_take_page(ReferenceCanvas* const canvas)
{
  enum { COUNT = 60 };
  double levels[COUNT];
  ReferenceRound* const round = reference_round_new();
  const SrAssessment* const assessment = &round->made.assessment;
  const SrRound* const shown = &assessment->rounds[sr_page_round(assessment)];
  size_t notes[SR_PAGE_MOST_CURVES];
  SrLevelCurve curves[SR_PAGE_MOST_CURVES];
  const size_t curve_count = sr_page_faulty_cuts(shown, notes);
  for (int i = 0; i < COUNT; ++i) {
    levels[i] = level_at((i + 0.5) * SR_LEVEL_STEP_S - SR_PAGE_CURVE_BEFORE_S, 0.06);
  }
  for (size_t i = 0; i < curve_count; ++i) {
    const double middle_s = sr_page_curve_middle_s(&shown->notes[notes[i]]);
    curves[i] = (SrLevelCurve){middle_s - SR_PAGE_CURVE_BEFORE_S, levels, COUNT};
  }
  const SrTakePage page = {
      .take = {.path = round->made.path, .phrase = round->made.phrase, .assessment = assessment},
      .plan = &round->plan,
      .instrument = round->instrument,
      .date = "3 May 2026",
      .remark = "part A",
      .curves = curves,
      .curve_count = curve_count};
  SrTakeSheet* sheet = NULL;
  assert_int_equal(sr_take_sheet_new(&page, &sheet, NULL), SR_OK);
  SrPen pen = begin_scaled(canvas, TAKE_SCALE, SR_A4_SHORT, SR_A4_LONG);
  sr_take_sheet_draw(sheet, &pen);
  sr_pen_end(&pen);
  sr_take_sheet_del(sheet);
  reference_round_del(round);
}

// Progress ---------------------------------------------------------------------------------------

static void
draw_progress(ReferenceCanvas* const canvas, const double width, const double scale,
              const bool dark)
{
  MadeProgress made;
  made_progress_make(MADE_MONTH, &made);
  const SrPicturedProgress pictured = made_progress_pictured(&made);
  const SrProgressStyle style = {.dark = dark};
  SrProgressPicture* picture = NULL;
  assert_int_equal(
      sr_progress_picture_new(&pictured, &style, width, (double)INFINITY, &picture, NULL), SR_OK);
  reference_begin(canvas, scale * (width + 2.0 * REFERENCE_PAD),
                  scale * (sr_progress_picture_height(picture) + 2.0 * REFERENCE_PAD), dark);
  cairo_scale(canvas->cairo, scale, scale);
  assert_int_equal(sr_progress_picture_draw(picture, canvas->cairo, REFERENCE_PAD, REFERENCE_PAD),
                   SR_OK);
  sr_progress_picture_del(picture);
  made_progress_clear(&made);
}

static void
draw_progress_narrow(ReferenceCanvas* const canvas)
{
  draw_progress(canvas, 336.0, 0.7, false);
}

static void
draw_progress_dark(ReferenceCanvas* const canvas)
{
  draw_progress(canvas, 588.0, 0.5, true);
}

static void
draw_progress_page(ReferenceCanvas* const canvas)
{
  char title[] = "The Lamp in the Porch";
  MadeProgress made;
  made_progress_make(MADE_THREE_YEARS, &made);
  const SrPhraseProgress phrase = made_progress_phrase(&made, title);
  const SrProgressPages pages = {&phrase, 1, made.every, made.every_count, MADE_TODAY};
  SrProgressSheet* sheet = NULL;
  assert_int_equal(sr_progress_sheet_new(&pages, 0, &sheet, NULL), SR_OK);
  SrPen pen = begin_scaled(canvas, TAKE_SCALE, SR_A4_SHORT, SR_A4_LONG);
  sr_progress_sheet_draw(sheet, &pen);
  sr_pen_end(&pen);
  sr_progress_sheet_del(sheet);
  made_progress_clear(&made);
}

// All --------------------------------------------------------------------------------------------

const ReferencePicture reference_pictures[] = {
    {"round-planned-light", draw_planned_light},
    {"round-planned-dark", draw_planned_dark},
    {"round-pitch-light", draw_pitch_light},
    {"round-pitch-dark", draw_pitch_dark},
    {"round-half-played", draw_half},
    {"round-two-bars-close", draw_part},
    {"round-key", draw_key},
    {"round-marks", draw_marks},
    {"level-curves", draw_level},
    {"plan-bellows", draw_bellows},
    {"plan-buttons", draw_buttons},
    {"page-of-a-plan", draw_plan_page},
    {"page-of-a-take", draw_take_page},
    {"progress-narrow", draw_progress_narrow},
    {"progress-dark", draw_progress_dark},
    {"page-of-progress", draw_progress_page},
};
const size_t reference_picture_count = sizeof(reference_pictures) / sizeof(reference_pictures[0]);

cairo_surface_t*
reference_draw(const size_t index, const DrawnHow* const how)
{
  ReferenceCanvas canvas = {.how = *how};
  reference_pictures[index].draw(&canvas);
  return reference_end(&canvas);
}

bool
reference_fonts(const char* const config)
{
  static const char* const FONTS[] = {"/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf",
                                      "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"};
  // Fontconfig would look for another path in its own folder, and quietly take the machine's fonts
  char* const path = realpath(config, NULL);
  if (!path) {
    perror(config);
    exit(2);
  }
  setenv("FONTCONFIG_FILE", path, 1);
  free(path);
  return access(FONTS[0], R_OK) == 0 && access(FONTS[1], R_OK) == 0;
}
