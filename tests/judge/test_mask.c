// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_mask.c
   The masking model against its standard, and the critical bands against what is published
   of them.
*/

#include <steadyreed/mask.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/// Line of a transform of 1024 at 44.1 kHz, critical-band rate, threshold in quiet: ISO/IEC
/// 11172-3:1993, table D.1b, as open encoders carry it (read there).
static const struct {
  int line;
  double bark;
  double quiet_db;
} TABLE_D1B[] = {
    {1, 0.425, 45.05},    {2, 0.850, 25.87},   {5, 2.112, 12.41},    {10, 4.124, 7.10},
    {12, 4.882, 6.11},    {17, 6.634, 4.55},   {24, 8.723, 3.25},    {30, 10.195, 2.39},
    {40, 12.125, 0.90},   {48, 13.317, -0.56}, {60, 14.711, -3.03},  {70, 15.631, -4.60},
    {78, 16.260, -4.98},  {90, 17.079, -3.87}, {104, 17.905, -1.32}, {120, 18.731, 0.89},
    {152, 20.120, 2.63},  {192, 21.457, 5.35}, {232, 22.420, 10.54}, {296, 23.415, 26.88},
    {360, 24.013, 58.18},
};

static void
has_the_standards_table(void** const state)
{
  (void)state;
  for (size_t i = 0; i < sizeof(TABLE_D1B) / sizeof(TABLE_D1B[0]); ++i) {
    const double hz = TABLE_D1B[i].line * 44100.0 / 1024.0;
    assert_true(fabs(sr_mask_bark(hz) - TABLE_D1B[i].bark) < 0.0011);
    assert_true(fabs(sr_mask_quiet_db(hz) - TABLE_D1B[i].quiet_db) < 0.011);
  }
}

/// Traunmüller (1990): z = 26.81 / (1 + 1960 / f) - 0.53, within 0.05 Bark of Zwicker's own
/// table from 0.2 to 6.7 kHz (from memory).
static void
has_edges_a_bark_apart(void** const state)
{
  (void)state;
  for (int z = 2; z <= 20; ++z) {
    const double hz = SR_BAND_EDGES_HZ[z];
    assert_true(fabs(26.81 / (1.0 + 1960.0 / hz) - 0.53 - z) < 0.06);
  }
  // Zwicker and Terhardt (1980): their formula is within 0.2 Bark of the table
  for (int z = 1; z <= 24; ++z) {
    assert_true(fabs(sr_mask_bark(SR_BAND_EDGES_HZ[z]) - z) < 0.2);
  }
}

/// Widths of critical bands: 25 + 75 (1 + 1.4 k^2)^0.69, k in kHz, within 10 % (Zwicker and
/// Terhardt 1980).
static void
has_bands_of_their_width(void** const state)
{
  (void)state;
  for (int z = 0; z < 23; ++z) {
    const double low = SR_BAND_EDGES_HZ[z];
    const double high = SR_BAND_EDGES_HZ[z + 1];
    const double k = 0.5 * (low + high) / 1000.0;
    const double width = 25.0 + 75.0 * pow(1.0 + 1.4 * k * k, 0.69);
    assert_true(fabs((high - low) / width - 1.0) < 0.12);
  }
}

/// Worked by hand from ISO/IEC 11172-3:1993, D.1, step 6, a masker of 60 dB:
/// 0.4 * 60 + 6 = 30 dB a Bark downwards, 17 upwards, then 17 - 0.15 * 60 = 8.
static void
spreads_as_in_the_standard(void** const state)
{
  (void)state;
  static const double worked[][2] = {{-3.0, -64.0}, {-2.0, -47.0}, {-1.0, -30.0}, {-0.5, -15.0},
                                     {0.0, 0.0},    {0.5, -8.5},   {1.0, -17.0},  {2.0, -25.0},
                                     {5.0, -49.0},  {7.9, -72.2}};
  for (size_t i = 0; i < sizeof(worked) / sizeof(worked[0]); ++i) {
    assert_true(fabs(sr_mask_spread_db(60.0, worked[i][0]) - worked[i][1]) < 1e-9);
  }
  assert_true(isinf(sr_mask_spread_db(60.0, -3.1)));
  assert_true(isinf(sr_mask_spread_db(60.0, 8.0)));
  // The louder, the flatter upwards: at 80 dB 5 dB a Bark
  assert_true(fabs(sr_mask_spread_db(80.0, 2.0) + 22.0) < 1e-9);
}

/// The offsets at 10 Bark, worked by hand from the same step.
static void
masks_less_by_tones_than_by_noise(void** const state)
{
  (void)state;
  assert_true(fabs(sr_mask_tone_db(10.0) + 8.775) < 1e-9);
  assert_true(fabs(sr_mask_noise_db(10.0) + 3.775) < 1e-9);
}

/// A release in a band, with a tone in that band.
static SrAirHeard
release_in(const size_t band, const double tone, const double hiss)
{
  SrAirHeard air = {.start_s = 1.0, .end_s = 1.2, .midi = 69, .note_power = tone};
  air.tone[band] = tone;
  air.place_hz[band] = sqrt(SR_BAND_EDGES_HZ[band] * SR_BAND_EDGES_HZ[band + 1]);
  air.hiss[band] = hiss;
  air.hiss_power = hiss;
  return air;
}

/// A tone alone, at its own place: its level less the offset, and nothing else.
static void
masks_at_its_own_place(void** const state)
{
  (void)state;
  const size_t band = 12; // 1.72 to 2 kHz
  const SrAirHeard air = release_in(band, 0.005, 1e-6);
  const double bark = sr_mask_bark(air.place_hz[band]);
  // 0.005 is a sine of 0.1, 20 dB under full scale: 76 dB
  assert_true(fabs(sr_mask_level_db(0.005) - 76.0) < 1e-9);
  assert_true(fabs(sr_mask_threshold_db(&air, band) - (76.0 - 6.025 - 0.275 * bark)) < 0.01);
}

/// Over what masks it by the same number of dB that the hiss is raised by, and through 0 once.
static void
rises_with_the_hiss(void** const state)
{
  (void)state;
  double before = -INFINITY;
  int flips = 0;
  for (int db = -90; db <= -20; ++db) {
    const SrAirHeard air = release_in(12, 0.005, pow(10.0, db / 10.0));
    const double over_db = sr_mask_over_db(&air);
    assert_true(over_db >= before);
    if (isfinite(before) && before > -60.0) {
      assert_true(fabs(over_db - before - 1.0) < 0.02);
    }
    flips += before <= 0.0 && over_db > 0.0;
    before = over_db;
  }
  assert_int_equal(flips, 1);
}

/// What is short needs more level: 10 dB for each tenth of 200 ms, 3 dB for each half (Fastl and
/// Zwicker, Psychoacoustics, 4.4, from memory).
static void
needs_more_if_short(void** const state)
{
  (void)state;
  assert_true(fabs(sr_mask_brief_db(2.0)) < 1e-9);
  assert_true(fabs(sr_mask_brief_db(0.2)) < 1e-9);
  assert_true(fabs(sr_mask_brief_db(0.1) - 3.01) < 0.01);
  assert_true(fabs(sr_mask_brief_db(0.02) - 10.0) < 1e-9);
  SrAirHeard air = release_in(12, 0.005, 1e-4);
  air.start_s = 1.0;
  air.end_s = 1.5;
  const double long_db = sr_mask_over_db(&air);
  air.end_s = 1.1;
  assert_true(fabs(long_db - sr_mask_over_db(&air) - 3.01) < 0.01);
}

/// In silence only the threshold in quiet hides anything.
static void
is_bare_without_a_note(void** const state)
{
  (void)state;
  SrAirHeard air = release_in(12, 0.0, 1e-8);
  air.tone[12] = 0.0;
  // 1e-8 is 96 - 77 = 19 dB; two bands share it: 3 dB less; quiet there is near 0
  const double quiet_db = sr_mask_quiet_db(sqrt(1720.0 * 2000.0));
  assert_true(fabs(sr_mask_over_db(&air) - (19.01 - quiet_db - 3.01)) < 0.02);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(has_the_standards_table),
      cmocka_unit_test(needs_more_if_short),
      cmocka_unit_test(has_edges_a_bark_apart),
      cmocka_unit_test(has_bands_of_their_width),
      cmocka_unit_test(spreads_as_in_the_standard),
      cmocka_unit_test(masks_less_by_tones_than_by_noise),
      cmocka_unit_test(masks_at_its_own_place),
      cmocka_unit_test(rises_with_the_hiss),
      cmocka_unit_test(is_bare_without_a_note),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
