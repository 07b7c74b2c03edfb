// SPDX-License-Identifier: GPL-3.0-or-later

// The colours of pictures: what must be told apart can be, also without one kind of cone, and all
// that must be seen stands out from the paper.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "colour_difference.h"

#include "show/theme.h"

#include <math.h>
#include <stdbool.h>

/// Aim for the CIEDE2000 of two colours that mean different things. Thin lines and small signs need
/// more than the 1 that is just noticeable side by side (common practice, no source).
#define APART 10.0

static LinearColour
linear_of(const SrColour colour)
{
  return (LinearColour){colour_linear(colour.red), colour_linear(colour.green),
                        colour_linear(colour.blue)};
}

static double
contrast_of(const SrColour one, const SrColour other)
{
  const LinearColour first = linear_of(one);
  const LinearColour second = linear_of(other);
  return colour_contrast(&first, &second);
}

static double
difference_of(const SrColour one, const SrColour other, const Eyes eyes)
{
  const LinearColour plain[2] = {linear_of(one), linear_of(other)};
  LabColour labs[2];
  for (int i = 0; i < 2; ++i) {
    const LinearColour seen = colour_seen(&plain[i], eyes);
    labs[i] = colour_lab(&seen);
  }
  return colour_difference(&labs[0], &labs[1]);
}

// The measures themselves ------------------------------------------------------------------------

/// All 34 pairs of Sharma, Wu and Dalal (2005), Table 1.
static void
difference_is_as_published(void** const state)
{
  (void)state;
  static const double PAIRS[][7] = {
      {50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425},
      {50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615},
      {50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412},
      {50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000},
      {50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000},
      {50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000},
      {50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669},
      {50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669},
      {50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792},
      {50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792},
      {50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195},
      {50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195},
      {50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045},
      {50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045},
      {50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461},
      {50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065},
      {50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492},
      {50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977},
      {50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030},
      {50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535},
      {50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000},
      {50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000},
      {50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000},
      {50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000},
      {60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644},
      {63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630},
      {61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731},
      {35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645},
      {22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373},
      {36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146},
      {90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441},
      {90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381},
      {6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377},
      {2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082},
  };
  assert_int_equal(sizeof(PAIRS) / sizeof(PAIRS[0]), 34);
  double worst = 0.0;
  for (size_t i = 0; i < sizeof(PAIRS) / sizeof(PAIRS[0]); ++i) {
    const double* const p = PAIRS[i];
    const LabColour one = {p[0], p[1], p[2]};
    const LabColour other = {p[3], p[4], p[5]};
    const double wrong = fabs(colour_difference(&one, &other) - p[6]);
    if (wrong > 0.00006) {
      print_error("pair %zu: %.4f, published %.4f\n", i + 1, colour_difference(&one, &other), p[6]);
    }
    worst = fmax(worst, wrong);
    assert_true(fabs(colour_difference(&other, &one) - colour_difference(&one, &other)) < 1e-9);
  }
  print_message("CIEDE2000 against the 34 published pairs: at most %.5f off, limit 0.00006\n",
                worst);
  assert_true(worst < 0.00006);
}

/// White is 100, 0, 0 and sRGB's red is 53.24, 80.09, 67.20 (from memory); grey is grey to all
/// eyes, and black on white is 21 to 1.
static void
colours_are_converted(void** const state)
{
  (void)state;
  const LinearColour white = {1.0, 1.0, 1.0};
  const LinearColour black = {0.0, 0.0, 0.0};
  const LinearColour red = {1.0, 0.0, 0.0};
  const LabColour white_lab = colour_lab(&white);
  const LabColour red_lab = colour_lab(&red);
  assert_true(fabs(white_lab.light - 100.0) < 1e-9);
  assert_true(hypot(white_lab.a, white_lab.b) < 1e-9);
  assert_true(fabs(red_lab.light - 53.24) < 0.05 && fabs(red_lab.a - 80.09) < 0.05 &&
              fabs(red_lab.b - 67.20) < 0.05);
  assert_true(fabs(colour_contrast(&white, &black) - 21.0) < 1e-9);
  for (int eyes = 0; eyes < EYES_COUNT; ++eyes) {
    const LinearColour grey = {0.4, 0.4, 0.4};
    const LinearColour seen = colour_seen(&grey, (Eyes)eyes);
    assert_true(fabs(seen.red - 0.4) < 1e-5 && fabs(seen.green - 0.4) < 1e-5 &&
                fabs(seen.blue - 0.4) < 1e-5);
  }
  // Red and a dark green that only usual eyes tell apart well
  const SrColour one = {0.8, 0.2, 0.2};
  const SrColour other = {0.45, 0.45, 0.15};
  assert_true(difference_of(one, other, EYES_DEUTERANOPIA) <
              0.4 * difference_of(one, other, EYES_USUAL));
}

// The palette ------------------------------------------------------------------------------------

static void
meanings_stay_apart_for_all_eyes(void** const state)
{
  (void)state;
  size_t close = 0;
  for (int dark = 0; dark < 2; ++dark) {
    const SrTheme theme = sr_theme(dark);
    const struct {
      const char* name;
      SrColour colour;
    } colours[] = {{"draw", theme.draw},
                   {"press", theme.press},
                   {"fault", theme.fault},
                   {"plain", theme.plain}};
    for (int eyes = 0; eyes < EYES_COUNT; ++eyes) {
      for (size_t i = 0; i < 4; ++i) {
        for (size_t k = 0; k < i; ++k) {
          const double apart = difference_of(colours[k].colour, colours[i].colour, (Eyes)eyes);
          const double limit = APART;
          print_message("%-5s %-12s %-5s and %-5s %5.1f apart, aim %.0f, limit %.1f%s\n",
                        dark ? "dark" : "light", eyes_names[eyes], colours[k].name, colours[i].name,
                        apart, APART, limit, apart < APART ? ": misses its aim" : "");
          close += apart < limit;
        }
      }
    }
  }
  assert_int_equal(close, 0);
}

/// WCAG 2.1: 3 to 1 for what must be seen to understand a picture (1.4.11), 4.5 to 1 for words
/// (1.4.3); 7 to 1 where theme.h says so (1.4.6).
static void
all_stands_out_from_the_paper(void** const state)
{
  (void)state;
  size_t weak = 0;
  for (int dark = 0; dark < 2; ++dark) {
    const SrTheme theme = sr_theme(dark);
    const struct {
      const char* name;
      SrColour colour;
      SrColour ground;
      double least;
    } pairs[] = {
        {"draw on paper", theme.draw, theme.paper, 3.0},
        // A pressed note is seen by its edge
        {"edge of press on paper", theme.press_edge, theme.paper, 3.0},
        {"fault on paper", theme.fault, theme.paper, 3.0},
        {"plain on paper", theme.plain, theme.paper, 3.0},
        {"ink on paper", theme.ink, theme.paper, 7.0},
        {"soft words on paper", theme.soft, theme.paper, 7.0},
        {"names on the draw lane", theme.ink, theme.draw_lane, 7.0},
        {"names on the press lane", theme.ink, theme.press_lane, 7.0},
        {"buttons on the draw lane", theme.soft, theme.draw_lane, 4.5},
        {"buttons on the press lane", theme.soft, theme.press_lane, 4.5},
        {"a sign on a drawn note", theme.on_draw, theme.draw, 3.0},
        {"a sign on a pressed note", SR_COLOUR_INK, theme.press, 3.0},
    };
    for (size_t i = 0; i < sizeof(pairs) / sizeof(pairs[0]); ++i) {
      const double contrast = contrast_of(pairs[i].colour, pairs[i].ground);
      print_message("%-5s %-26s %5.2f : 1, limit %.1f\n", dark ? "dark" : "light", pairs[i].name,
                    contrast, pairs[i].least);
      weak += contrast < pairs[i].least;
    }
  }
  assert_int_equal(weak, 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(difference_is_as_published),
      cmocka_unit_test(colours_are_converted),
      cmocka_unit_test(meanings_stay_apart_for_all_eyes),
      cmocka_unit_test(all_stands_out_from_the_paper),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
