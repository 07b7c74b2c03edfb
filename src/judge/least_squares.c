// SPDX-License-Identifier: GPL-3.0-or-later

#include "rhythm.h"

#include "tuning.h"

#include <math.h>
#include <string.h>

#define MOST_COLUMNS 40u

size_t
sr_least_squares(const size_t rows, const size_t columns, const double* const matrix,
                 const double* const values, double* const solution)
{
  double normal[MOST_COLUMNS][MOST_COLUMNS + 1];
  double square[MOST_COLUMNS];
  bool used[MOST_COLUMNS] = {false};
  memset(normal, 0, sizeof(normal));
  memset(solution, 0, columns * sizeof(double));
  if (columns > MOST_COLUMNS) {
    return 0;
  }
  for (size_t r = 0; r < rows; ++r) {
    const double* const row = matrix + r * columns;
    for (size_t i = 0; i < columns; ++i) {
      if (!(fabs(row[i]) > 0.0)) {
        continue; // most of a row is zero
      }
      for (size_t j = 0; j < columns; ++j) {
        normal[i][j] += row[i] * row[j];
      }
      normal[i][columns] += row[i] * values[r];
    }
  }
  for (size_t i = 0; i < columns; ++i) {
    square[i] = normal[i][i];
  }
  // Gauss-Jordan elimination; the best-conditioned column first
  size_t reported = 0;
  for (size_t step = 0; step < columns; ++step) {
    size_t best = columns;
    double most = LEAST_PIVOT;
    for (size_t i = 0; i < columns; ++i) {
      const double share = square[i] > 0.0 ? normal[i][i] / square[i] : 0.0;
      if (!used[i] && share > most) {
        most = share;
        best = i;
      }
    }
    if (best == columns) {
      break;
    }
    used[best] = true;
    ++reported;
    const double pivot = normal[best][best];
    for (size_t j = 0; j <= columns; ++j) {
      normal[best][j] /= pivot;
    }
    for (size_t i = 0; i < columns; ++i) {
      const double factor = normal[i][best];
      if (i != best && fabs(factor) > 0.0) {
        for (size_t j = 0; j <= columns; ++j) {
          normal[i][j] -= factor * normal[best][j];
        }
      }
    }
  }
  for (size_t i = 0; i < columns; ++i) {
    solution[i] = used[i] ? normal[i][columns] : 0.0;
  }
  return reported;
}
