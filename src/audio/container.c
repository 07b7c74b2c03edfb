// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file container.c
   libsndfile takes a truncated file for a whole one, and one whose sizes are zeros, as an
   interrupted recorder leaves it, for an empty one; so it is given the size that is there.
*/

#include "container.h"

#include <math.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Most chunks or pages examined.
#define MOST_CHUNKS 1000
/// Longest chunk header, bytes: a GUID and a size.
#define MOST_HEAD 24
/// Header of an Ogg page without its segment table, and the most with it, bytes.
#define PAGE_HEAD 27
#define MOST_PAGE_HEAD (PAGE_HEAD + 255)
// Flags of an Ogg page (RFC 3533, 6)
#define BEGINS_STREAM 2u
#define ENDS_STREAM 4u

/// A chunked format: each chunk has a name, a size and that many bytes.
typedef struct {
  const char* name; ///< The first four bytes
  const char* kind; ///< The four bytes at 8; NULL for any
  const char* data; ///< Name of the chunk that holds the sound
  off_t whole;      ///< Offset of the size of the whole file; 0 if there is none
  off_t first;      ///< Offset of the first chunk
  size_t name_size;
  size_t size_size; ///< Size of a size field, 4 or 8 bytes
  bool big_endian;
  bool counts_head; ///< Sizes include the chunk's own header
  unsigned align;   ///< Chunks are aligned to multiples of this number of bytes
} Form;

static const Form forms[] = {
    {"RIFF", "WAVE", "data", 4, 12, 4, 4, false, false, 2},
    {"RF64", "WAVE", "data", 4, 12, 4, 4, false, false, 2},
    {"BW64", "WAVE", "data", 4, 12, 4, 4, false, false, 2},
    {"FORM", "AIFF", "SSND", 4, 12, 4, 4, true, false, 2},
    {"FORM", "AIFC", "SSND", 4, 12, 4, 4, true, false, 2},
    {"riff", NULL, "data", 16, 40, 16, 8, false, true, 8},
    {"caff", NULL, "data", 0, 8, 4, 8, true, false, 1},
};

/// A size field of a file.
typedef struct {
  off_t at;
  size_t bytes;
  uint64_t value;
} Size;

static uint64_t
read_number(const unsigned char* const bytes, const size_t count, const bool big_endian)
{
  uint64_t number = 0;
  for (size_t i = 0; i < count; ++i) {
    number = number << 8u | bytes[big_endian ? i : count - 1 - i];
  }
  return number;
}

static SrByteFix
fix_size(const Form* const form, const Size* const size, const uint64_t value)
{
  SrByteFix fix = {.at = size->at, .count = size->bytes};
  const uint64_t most = size->bytes < 8 ? UINT32_MAX : UINT64_MAX;
  const uint64_t reported = value < most ? value : most;
  for (size_t i = 0; i < size->bytes; ++i) {
    const size_t place = form->big_endian ? size->bytes - 1 - i : i;
    fix.bytes[place] = (unsigned char)(reported >> (8 * i));
  }
  return fix;
}

/// Streaming writers put a size near the top of 31, 32 or more bits for "not known".
static bool
is_unknown(const Size* const size)
{
  return size->value >= (size->bytes < 8 ? UINT64_C(0x7FFF0000) : UINT64_C(1) << 56u);
}

/// Whether the file's own size ends where its sound begins, or is not known: then what follows is
/// sound, otherwise it is other chunks.
static bool
is_open_ended(const int descriptor, const Form* const form, const off_t start)
{
  Size whole = {form->whole, form->size_size, 0};
  unsigned char bytes[8];
  if (!whole.at || pread(descriptor, bytes, whole.bytes, whole.at) != (ssize_t)whole.bytes) {
    return true;
  }
  whole.value = read_number(bytes, whole.bytes, form->big_endian);
  return is_unknown(&whole) || (off_t)whole.value + (form->counts_head ? 0 : 8) <= start;
}

/// End of the sound, which begins at `start`.
static SrContainerEnd
data_end(const int descriptor, const Form* const form, const Size* const size, const off_t start,
         const off_t there)
{
  SrContainerEnd end = {.promised_share = (double)NAN};
  const uint64_t head = form->counts_head ? form->name_size + form->size_size : 0;
  const uint64_t promised = size->value > head ? size->value - head : 0;
  end.unfinished = promised == 0 && there > 0 && is_open_ended(descriptor, form, start);
  if (end.unfinished || is_unknown(size)) {
    end.fix = fix_size(form, size, (uint64_t)there + head);
  } else if (promised > (uint64_t)there) {
    end.breaks_off = true;
    end.promised_share = there > 0 ? (double)promised / (double)there : (double)NAN;
  }
  return end;
}

static SrContainerEnd
chunks_end(const int descriptor, const Form* const form, const off_t file_size)
{
  const SrContainerEnd whole = {.promised_share = (double)NAN};
  const ssize_t head_size = (ssize_t)(form->name_size + form->size_size);
  Size long_size = {0, 0, 0}; // of the sound, if 32 bits are not enough
  off_t at = form->first;
  for (int chunk = 0; chunk < MOST_CHUNKS; ++chunk) {
    unsigned char head[MOST_HEAD];
    if (pread(descriptor, head, (size_t)head_size, at) != head_size) {
      return whole;
    }
    const off_t start = at + head_size;
    Size size = {at + (off_t)form->name_size, form->size_size, 0};
    size.value = read_number(head + form->name_size, form->size_size, form->big_endian);
    if (!memcmp(head, form->data, 4)) {
      const bool is_long = long_size.bytes && size.value == UINT32_MAX;
      return data_end(descriptor, form, is_long ? &long_size : &size, start, file_size - start);
    }
    // Sizes of the file and the sound and the number of frames, 64 bits each
    unsigned char sizes[16];
    if (!memcmp(head, "ds64", 4) && pread(descriptor, sizes, 16, start) == 16) {
      long_size = (Size){start + 8, 8, read_number(sizes + 8, 8, false)};
    }
    const uint64_t length = size.value + (form->counts_head ? 0 : (uint64_t)head_size);
    if (length < (uint64_t)head_size || length > (uint64_t)(file_size - at)) {
      return whole;
    }
    at += (off_t)((length + form->align - 1) / form->align * form->align);
  }
  return whole;
}

/**
   Whether another recording follows: all streams of one recording begin before any continues (RFC
   3533, 4).
*/
static bool
is_chained(const int descriptor, const off_t file_size)
{
  bool went_on = false;
  unsigned char head[MOST_PAGE_HEAD];
  for (off_t at = 0; at < file_size;) {
    const ssize_t got = pread(descriptor, head, sizeof(head), at);
    const ssize_t head_size = got < PAGE_HEAD ? PAGE_HEAD : PAGE_HEAD + head[PAGE_HEAD - 1];
    if (got < head_size || memcmp(head, "OggS", 4) != 0) {
      return false;
    }
    const bool begins = head[5] & BEGINS_STREAM;
    if (begins && went_on) {
      return true;
    }
    went_on = went_on || !begins;
    at += head_size;
    for (ssize_t i = PAGE_HEAD; i < head_size; ++i) {
      at += head[i];
    }
  }
  return false;
}

/// The last page of an Ogg stream is flagged (RFC 3533, header type flag 4).
static SrContainerEnd
ogg_end(const int descriptor, const off_t file_size)
{
  SrContainerEnd end = {.promised_share = (double)NAN};
  end.chained = is_chained(descriptor, file_size);
  if (end.chained) {
    return end; // the first recording is complete
  }
  // A page has at most 65307 bytes
  static const size_t most = 65307;
  unsigned char tail[65307];
  const off_t from = file_size > (off_t)most ? file_size - (off_t)most : 0;
  const ssize_t size = pread(descriptor, tail, most, from);
  for (ssize_t i = size - PAGE_HEAD; i >= 0; --i) {
    if (!memcmp(tail + i, "OggS", 4)) {
      const ssize_t segments = tail[i + PAGE_HEAD - 1];
      ssize_t page = PAGE_HEAD + segments;
      for (ssize_t s = 0; s < segments && i + PAGE_HEAD + s < size; ++s) {
        page += tail[i + PAGE_HEAD + s];
      }
      end.breaks_off = !(tail[i + 5] & ENDS_STREAM) || i + page > size;
      return end;
    }
  }
  end.breaks_off = true;
  return end;
}

SrContainerEnd
sr_container_end(const int descriptor)
{
  const SrContainerEnd whole = {.promised_share = (double)NAN};
  struct stat status;
  unsigned char head[12];
  if (fstat(descriptor, &status) ||
      pread(descriptor, head, sizeof(head), 0) != (ssize_t)sizeof(head)) {
    return whole;
  }
  for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); ++i) {
    const Form* const form = &forms[i];
    if (!memcmp(head, form->name, 4) && (!form->kind || !memcmp(head + 8, form->kind, 4))) {
      return chunks_end(descriptor, form, status.st_size);
    }
  }
  return memcmp(head, "OggS", 4) != 0 ? whole : ogg_end(descriptor, status.st_size);
}
