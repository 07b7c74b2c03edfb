// SPDX-License-Identifier: GPL-3.0-or-later

#include "series.h"

#include "tuning.h"

#include <math.h>
#include <string.h>

typedef struct {
  double frequency;
  double amplitude;
} Peak;

/// The strongest peaks of the long spectrum, by frequency; Gaussian interpolation (Gasior and
/// Gonzalez 2004).
static size_t
find_peaks(const float* const m, const double bin_hz, Peak* const peaks)
{
  const size_t low = (size_t)(80.0 / bin_hz);
  const size_t high = (size_t)(SR_FRAME_HIGH_HZ / bin_hz);
  float top = 0.0f;
  for (size_t b = low; b < high; ++b) {
    top = m[b] > top ? m[b] : top;
  }
  size_t count = 0;
  for (size_t b = low; b < high; ++b) {
    if (m[b] > m[b - 1] && m[b] >= m[b + 1] && m[b] > 0.004f * top && m[b] > 2e-5f) {
      const double l = log((double)m[b - 1] + 1e-12);
      const double c = log((double)m[b] + 1e-12);
      const double r = log((double)m[b + 1] + 1e-12);
      const double bend = l - 2.0 * c + r;
      const double delta = bend < 0.0 ? 0.5 * (l - r) / bend : 0.0;
      const Peak peak = {((double)b + delta) * bin_hz, exp(c - 0.25 * (l - r) * delta)};
      if (count < PEAKS) {
        peaks[count++] = peak;
      } else {
        size_t weakest = 0;
        for (size_t i = 1; i < PEAKS; ++i) {
          weakest = peaks[i].amplitude < peaks[weakest].amplitude ? i : weakest;
        }
        if (peak.amplitude > peaks[weakest].amplitude) {
          for (size_t i = weakest; i + 1 < PEAKS; ++i) {
            peaks[i] = peaks[i + 1];
          }
          peaks[PEAKS - 1] = peak;
        }
      }
    }
  }
  return count;
}

/// How well a fundamental explains the peaks; also refines it and collects its harmonics.
static double
explain(const Peak* const peaks, const size_t count, const double f0, SrSeries* const series)
{
  double total = 0.0;
  double matched = 0.0;
  double frequency_sum = 0.0;
  double weight_sum = 0.0;
  double strongest = 0.0;
  memset(series, 0, sizeof(*series));
  for (size_t i = 0; i < count; ++i) {
    total += peaks[i].amplitude;
    const double number = peaks[i].frequency / f0;
    const double k = round(number);
    if (k < 1.0 || k > (double)SR_HARMONICS || fabs(number - k) > 0.012 * k + 0.01 ||
        fabs(number - k) > 0.15) {
      continue;
    }
    const size_t index = (size_t)k - 1;
    if (peaks[i].amplitude > (double)series->amplitude[index]) {
      series->amplitude[index] = (float)peaks[i].amplitude;
    }
    matched += peaks[i].amplitude;
    frequency_sum += peaks[i].amplitude * peaks[i].frequency;
    weight_sum += peaks[i].amplitude * k;
    strongest = fmax(strongest, peaks[i].amplitude);
  }
  if (!(matched > 0.0)) {
    return 0.0;
  }
  series->frequency = frequency_sum / weight_sum;
  series->share = matched / total;
  size_t present = 0;
  size_t wanted = 0;
  for (size_t k = 0; k < 6 && f0 * (double)(k + 1) < SR_FRAME_HIGH_HZ - 100.0; ++k) {
    ++wanted;
    present += (double)series->amplitude[k] > 0.008 * strongest;
  }
  return wanted ? series->share * (0.4 + 0.6 * (double)present / (double)wanted) : 0.0;
}

bool
sr_series_find(const float* const magnitude, const double bin_hz, SrSeries* const best)
{
  Peak peaks[PEAKS];
  const size_t count = find_peaks(magnitude, bin_hz, peaks);
  double top = 0.0;
  for (size_t i = 0; i < count; ++i) {
    top = fmax(top, peaks[i].amplitude);
  }
  double most = 0.0;
  for (size_t i = 0; i < count; ++i) {
    if (peaks[i].amplitude < 0.45 * top) {
      continue;
    }
    for (int divisor = 1; divisor <= 6; ++divisor) {
      const double f0 = peaks[i].frequency / divisor;
      if (f0 < 90.0 || f0 > 2200.0) {
        continue;
      }
      SrSeries series;
      const double score = explain(peaks, count, f0, &series);
      if (score > most + 1e-9) {
        most = score;
        *best = series;
      }
    }
  }
  return most > 0.0;
}

double
sr_series_upper_share(const SrSeries* const series)
{
  double upper = 0.0;
  double sum = 0.0;
  for (size_t k = 1; k < SR_HARMONICS; k += 2) {
    const double before = (double)series->amplitude[k - 1];
    const double behind = k + 1 < SR_HARMONICS ? (double)series->amplitude[k + 1] : 0.0;
    const double both = (double)series->amplitude[k];
    upper += sqrt(fmax(0.0, both * both - before * behind));
    sum += both;
  }
  return sum > 0.0 ? upper / sum : 0.0;
}
