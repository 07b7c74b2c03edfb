// SPDX-License-Identifier: GPL-3.0-or-later

#include "media_kind.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

/// Bytes examined.
#define HEAD_SIZE 512

/// A signature at an offset.
typedef struct {
  size_t at;
  size_t size;
  const char* bytes;
  SrMediaKind kind;
} Signature;

static const char mpeg4[] = "an MPEG-4 file (m4a, mp4, 3gp, mov)";
static const SrMediaKind mp3 = {"mp3", "an MP3 file"};
static const SrMediaKind aac = {"aac", "a stream of AAC"};

static const Signature signatures[] = {
    // ISO/IEC 14496-12, 4.3; old QuickTime files begin without it
    {4, 4, "ftyp", {"mov", mpeg4}},
    {4, 4, "moov", {"mov", mpeg4}},
    {4, 4, "mdat", {"mov", mpeg4}},
    {4, 4, "wide", {"mov", mpeg4}},
    // RFC 8794, 11.2.1
    {0, 4, "\x1A\x45\xDF\xA3", {"matroska", "a WebM or Matroska file (webm, mkv, mka)"}},
    // RFC 4867, 5.1 and 5.3
    {0, 6, "#!AMR\n", {"amr", "an AMR file"}},
    {0, 9, "#!AMR-WB\n", {"amr", "an AMR file"}},
    // The GUID of an ASF header object; from memory
    {0, 8, "\x30\x26\xB2\x75\x8E\x66\xCF\x11", {"asf", "a Windows Media file (wma, wmv, asf)"}},
    {0, 4, "caff", {"caf", "a Core Audio file (caf)"}},
    {8, 4, "AVI ", {"avi", "an AVI file"}},
    {8, 4, "WAVE", {"wav", "a WAV file"}},
    {0, 4, "fLaC", {"flac", "a FLAC file"}},
    {0, 4, "OggS", {"ogg", "an Ogg file"}},
    {0, 4, "FORM", {"aiff", "an AIFF file"}},
};

/// MPEG audio streams begin with 11 or 12 bits of a sync word (ISO/IEC 11172-3, 2.4.2.3, and
/// 13818-7, 6.2: layer 0 there).
static const SrMediaKind*
stream_kind(const unsigned char* const head, const size_t size)
{
  if (size < 2 || head[0] != 0xFFu || (head[1] & 0xE0u) != 0xE0u) {
    return NULL;
  }
  const bool layer = (head[1] & 0x06u) != 0;
  return layer ? &mp3 : (head[1] & 0xF0u) == 0xF0u ? &aac : NULL;
}

const SrMediaKind*
sr_media_kind(const int descriptor)
{
  unsigned char head[HEAD_SIZE];
  ssize_t size = pread(descriptor, head, sizeof(head), 0);
  for (size_t i = 0; i < sizeof(signatures) / sizeof(signatures[0]); ++i) {
    const Signature* const s = &signatures[i];
    if (size >= (ssize_t)(s->at + s->size) && !memcmp(head + s->at, s->bytes, s->size)) {
      return &s->kind;
    }
  }
  // Packets of 188 bytes, each with a sync byte (ISO/IEC 13818-1, 2.4.3.2), perhaps each preceded
  // by 4 bytes of time, as cameras write them
  static const SrMediaKind transport = {"mpegts", "an MPEG transport stream (ts, mts)"};
  if (size >= 377 && ((head[0] == 0x47u && head[188] == 0x47u && head[376] == 0x47u) ||
                      (head[4] == 0x47u && head[196] == 0x47u))) {
    return &transport;
  }
  // An ID3 tag may precede a stream: ten bytes, with a size of four times seven bits (from memory)
  if (size >= 10 && !memcmp(head, "ID3", 3)) {
    const off_t tag = 10 + (((off_t)head[6] & 0x7F) << 21) + (((off_t)head[7] & 0x7F) << 14) +
                      (((off_t)head[8] & 0x7F) << 7) + ((off_t)head[9] & 0x7F);
    size = pread(descriptor, head, 4, tag);
    const bool flac = size == 4 && !memcmp(head, "fLaC", 4);
    const SrMediaKind* const kind = size > 0 ? stream_kind(head, (size_t)size) : NULL;
    static const SrMediaKind tagged = {"flac", "a FLAC file"};
    return flac ? &tagged : kind ? kind : &mp3;
  }
  return size > 0 ? stream_kind(head, (size_t)size) : NULL;
}
