// SPDX-License-Identifier: GPL-3.0-or-later

// How different two colours look: to most eyes, and to those that lack one kind of cone.

#ifndef COLOUR_DIFFERENCE_H
#define COLOUR_DIFFERENCE_H

/// Linear light of sRGB: red, green, blue, each 0 to 1.
typedef struct {
  double red;
  double green;
  double blue;
} LinearColour;

/// CIELAB, D65.
typedef struct {
  double light; ///< L*
  double a;
  double b;
} LabColour;

/// Whose eyes.
typedef enum { EYES_USUAL, EYES_DEUTERANOPIA, EYES_PROTANOPIA, EYES_COUNT } Eyes;
extern const char* const eyes_names[EYES_COUNT];

/// Linear light of one part of an sRGB colour, 0 to 1.
double colour_linear(double encoded);
LabColour colour_lab(const LinearColour* linear);
/// As other eyes see it, for usual eyes to look at; each part clamped to 0 to 1.
LinearColour colour_seen(const LinearColour* linear, Eyes eyes);
/// CIEDE2000 with all weights 1; about 1 is just noticeable side by side, black and white are 100.
double colour_difference(const LabColour* one, const LabColour* other);
/// Contrast ratio, 1 to 21: relative luminances with 0.05 added to each (WCAG 2.1).
double colour_contrast(const LinearColour* one, const LinearColour* other);

#endif // COLOUR_DIFFERENCE_H
