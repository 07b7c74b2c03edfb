// SPDX-License-Identifier: GPL-3.0-or-later

#include "colour_difference.h"

#include <math.h>

const char* const eyes_names[EYES_COUNT] = {"usual", "deuteranopia", "protanopia"};

double
colour_linear(const double encoded)
{
  // IEC 61966-2-1
  return encoded <= 0.04045 ? encoded / 12.92 : pow((encoded + 0.055) / 1.055, 2.4);
}

/// CIELAB's compression of a share of white (CIE 15).
static double
compress(const double share)
{
  const double bend = 6.0 / 29.0;
  return share > bend * bend * bend ? cbrt(share) : share / (3.0 * bend * bend) + 4.0 / 29.0;
}

static double
luminance(const LinearColour* const linear)
{
  return 0.2126 * linear->red + 0.7152 * linear->green + 0.0722 * linear->blue;
}

LabColour
colour_lab(const LinearColour* const linear)
{
  // IEC 61966-2-1; divided by the white that these rows add up to, so that grey has no colour
  const double x = 0.4124 * linear->red + 0.3576 * linear->green + 0.1805 * linear->blue;
  const double z = 0.0193 * linear->red + 0.1192 * linear->green + 0.9505 * linear->blue;
  const double fx = compress(x / 0.9505);
  const double fy = compress(luminance(linear));
  const double fz = compress(z / 1.0890);
  return (LabColour){116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)};
}

static double
clamp(const double part)
{
  return fmin(1.0, fmax(0.0, part));
}

LinearColour
colour_seen(const LinearColour* const linear, const Eyes eyes)
{
  // Machado, Oliveira and Fernandes (2009), "A Physiologically-based Model for Simulation of Color
  // Vision Deficiency", IEEE Transactions on Visualization and Computer Graphics 15(6): the
  // supplementary tables, severity 1.0, for linear RGB
  static const double SEEN[EYES_COUNT][3][3] = {
      [EYES_USUAL] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}},
      [EYES_DEUTERANOPIA] = {{0.367322, 0.860646, -0.227968},
                             {0.280085, 0.672501, 0.047413},
                             {-0.011820, 0.042940, 0.968881}},
      [EYES_PROTANOPIA] = {{0.152286, 1.052583, -0.204868},
                           {0.114503, 0.786281, 0.099216},
                           {-0.003882, -0.048116, 1.051998}},
  };
  double seen[3];
  for (int i = 0; i < 3; ++i) {
    const double* const row = SEEN[eyes][i];
    seen[i] = clamp(row[0] * linear->red + row[1] * linear->green + row[2] * linear->blue);
  }
  return (LinearColour){seen[0], seen[1], seen[2]};
}

static double
radians(const double degrees)
{
  return degrees * M_PI / 180.0;
}

/// Hue of a colour, degrees, 0 to 360; 0 for grey.
static double
hue_of(const double a, const double b)
{
  const double hue = a == 0.0 && b == 0.0 ? 0.0 : atan2(b, a) * 180.0 / M_PI;
  return hue < 0.0 ? hue + 360.0 : hue;
}

static double
power7(const double chroma)
{
  // Of the chroma: C^7 / (C^7 + 25^7)
  return pow(chroma, 7.0) / (pow(chroma, 7.0) + pow(25.0, 7.0));
}

// The steps of Sharma, Wu and Dalal (2005), "The CIEDE2000 Color-Difference Formula: Implementation
// Notes, Supplementary Test Data, and Mathematical Observations", Color Research and Application
// 30(1).
double
colour_difference(const LabColour* const one, const LabColour* const other)
{
  const double mean_chroma = (hypot(one->a, one->b) + hypot(other->a, other->b)) / 2.0;
  const double stretch = 1.0 + 0.5 * (1.0 - sqrt(power7(mean_chroma)));
  const double chroma1 = hypot(stretch * one->a, one->b);
  const double chroma2 = hypot(stretch * other->a, other->b);
  const double hue1 = hue_of(stretch * one->a, one->b);
  const double hue2 = hue_of(stretch * other->a, other->b);
  const int grey = chroma1 * chroma2 == 0.0;
  double turn = grey ? 0.0 : hue2 - hue1;
  turn += turn > 180.0 ? -360.0 : turn < -180.0 ? 360.0 : 0.0;
  const double hue_step = 2.0 * sqrt(chroma1 * chroma2) * sin(radians(turn / 2.0));
  double hue = hue1 + hue2;
  if (!grey) {
    const double wrap = fabs(hue1 - hue2) <= 180.0 ? 0.0 : hue < 360.0 ? 360.0 : -360.0;
    hue = (hue + wrap) / 2.0;
  }
  const double light = (one->light + other->light) / 2.0;
  const double chroma = (chroma1 + chroma2) / 2.0;
  const double weight = 1.0 - 0.17 * cos(radians(hue - 30.0)) + 0.24 * cos(radians(2.0 * hue)) +
                        0.32 * cos(radians(3.0 * hue + 6.0)) -
                        0.20 * cos(radians(4.0 * hue - 63.0));
  const double from_50 = (light - 50.0) * (light - 50.0);
  const double in_light =
      (other->light - one->light) / (1.0 + 0.015 * from_50 / sqrt(20.0 + from_50));
  const double in_chroma = (chroma2 - chroma1) / (1.0 + 0.045 * chroma);
  const double in_hue = hue_step / (1.0 + 0.015 * chroma * weight);
  const double from_blue = (hue - 275.0) / 25.0;
  const double rotation =
      -sin(radians(60.0 * exp(-from_blue * from_blue))) * 2.0 * sqrt(power7(chroma));
  return sqrt(fmax(0.0, in_light * in_light + in_chroma * in_chroma + in_hue * in_hue +
                            rotation * in_chroma * in_hue));
}

double
colour_contrast(const LinearColour* const one, const LinearColour* const other)
{
  const double first = luminance(one) + 0.05;
  const double second = luminance(other) + 0.05;
  return fmax(first, second) / fmin(first, second);
}
