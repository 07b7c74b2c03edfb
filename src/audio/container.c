// SPDX-License-Identifier: GPL-3.0-or-later

#include "container.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

// Writers that cannot go back put a size near the top of 31 or 32 bits, or 0,
// for "not known".
#define UNKNOWN_SIZE_FROM UINT32_C(0x7FFF0000)

static uint32_t
read_u32(const unsigned char* const bytes, const bool big_endian)
{
  return big_endian ? ((uint32_t)bytes[0] << 24) | ((uint32_t)bytes[1] << 16) |
                          ((uint32_t)bytes[2] << 8) | bytes[3]
                    : ((uint32_t)bytes[3] << 24) | ((uint32_t)bytes[2] << 16) |
                          ((uint32_t)bytes[1] << 8) | bytes[0];
}

/// RIFF and FORM are a row of chunks: four letters, a size, that many bytes, padded to even.
static SrContainerEnd
chunks_end(const int descriptor, const off_t file_size, const bool big_endian)
{
  const char* const wanted = big_endian ? "SSND" : "data";
  SrContainerEnd end = {false, (double)NAN};
  off_t at = 12;
  for (int chunk = 0; chunk < 1000; ++chunk) {
    unsigned char head[8];
    if (pread(descriptor, head, sizeof(head), at) != (ssize_t)sizeof(head)) {
      return end;
    }
    const uint32_t size = read_u32(head + 4, big_endian);
    const off_t start = at + 8;
    if (!memcmp(head, wanted, 4)) {
      const off_t there = file_size - start;
      if (size != 0 && size < UNKNOWN_SIZE_FROM && (off_t)size > there) {
        end.breaks_off = true;
        end.promised_share = there > 0 ? (double)size / (double)there : (double)NAN;
      }
      return end;
    }
    at = start + (off_t)size + (off_t)(size & 1u);
  }
  return end;
}

/// The last page of an Ogg stream bears a mark (RFC 3533, header type flag 4).
static SrContainerEnd
ogg_end(const int descriptor, const off_t file_size)
{
  SrContainerEnd end = {false, (double)NAN};
  // A page is at most 65307 bytes.
  static const size_t most = 65307;
  unsigned char tail[65307];
  const off_t from = file_size > (off_t)most ? file_size - (off_t)most : 0;
  const ssize_t size = pread(descriptor, tail, most, from);
  for (ssize_t i = size - 27; i >= 0; --i) {
    if (!memcmp(tail + i, "OggS", 4)) {
      const ssize_t segments = tail[i + 26];
      ssize_t page = 27 + segments;
      for (ssize_t s = 0; s < segments && i + 27 + s < size; ++s) {
        page += tail[i + 27 + s];
      }
      end.breaks_off = !(tail[i + 5] & 4u) || i + page > size;
      return end;
    }
  }
  end.breaks_off = true;
  return end;
}

SrContainerEnd
sr_container_end(const int descriptor)
{
  const SrContainerEnd whole = {false, (double)NAN};
  struct stat status;
  unsigned char head[12];
  if (fstat(descriptor, &status) ||
      pread(descriptor, head, sizeof(head), 0) != (ssize_t)sizeof(head)) {
    return whole;
  }
  if (!memcmp(head, "RIFF", 4) && !memcmp(head + 8, "WAVE", 4)) {
    return chunks_end(descriptor, status.st_size, false);
  }
  if (!memcmp(head, "FORM", 4) && !memcmp(head + 8, "AIF", 3)) {
    return chunks_end(descriptor, status.st_size, true);
  }
  if (!memcmp(head, "OggS", 4)) {
    return ogg_end(descriptor, status.st_size);
  }
  return whole;
}
