// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_KEPT_H
#define SR_TESTS_KEPT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Samples of a file as whole numbers of 24 bits, read by libsndfile.
typedef struct {
  int32_t* samples;
  size_t count;
  int rate_hz;
  int64_t promised; ///< Frames by the header; that of an unknown length is very large or 0
} Kept;

/// Sample `i` of a noise that anybody can make again: a whole number of 24 bits.
int32_t noise_at(uint64_t i);
/// The same as float, which holds it without loss.
float noise_float(uint64_t i);

/// Read a FLAC file of 24 bits; ends the test with cmocka if it does not open.
Kept kept_read(const char* path);
/// Free what it holds.
void kept_clear(Kept* kept);

/// Samples as Debian's flac program decodes them, going on after damage; false if there is no flac.
/// Ends the test if it decodes nothing at all.
bool kept_read_by_flac(const char* path, Kept* kept);

/// Whether `flac -t` finds no fault; true also if there is no flac.
bool flac_finds_no_fault(const char* path);
/// Whether the flac program is there.
bool flac_is_there(void);

/// Permissions of a file or folder, such as 0600.
unsigned mode_of(const char* path);
/// Whether anything has this name.
bool exists(const char* path);
/// Files in a folder.
size_t count_files(const char* folder);

#endif // SR_TESTS_KEPT_H
