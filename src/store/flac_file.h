// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file flac_file.h
   FLAC written so that it can be read at any moment: mono, 24 bits, frame by frame.

   libsndfile encodes; what it gives goes to the system at once, each FLAC frame in one write(). A
   frame that does not go in whole is taken out again, so that the file always ends with a whole
   one. libsndfile 1.2.0 holds back one block, which is at most 4096 samples.
*/

#ifndef SR_STORE_FLAC_FILE_H
#define SR_STORE_FLAC_FILE_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A FLAC file being written.
typedef struct SrFlacFileImpl SrFlacFile;

/// Whether FLAC can hold this rate: a whole number, and over 65535 a multiple of ten.
bool sr_flac_file_takes_rate(double rate_hz);

/**
   Encoder without a file, its header ready in memory.

   @param rate_hz One that sr_flac_file_takes_rate() takes.
   @param note    Comment, UTF-8; NULL or "" for none.
   @param file    Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT (note) or SR_NO_MEMORY.
*/
SrStatus sr_flac_file_new(double rate_hz, const char* note, SrFlacFile** file, SrError* error);

/// Give it the empty file it shall write, whose descriptor it then owns, and write the header.
/// False on failure.
bool sr_flac_file_begin(SrFlacFile* file, int descriptor);

/// Write samples of 24 bits in the upper bits of 32. False on failure, and ever after.
bool sr_flac_file_write(SrFlacFile* file, const int32_t* samples, size_t count);

/// Write another note over the one given at first, filled up with blanks to its length; false if it
/// is longer, or on failure, which is no failure of the file.
bool sr_flac_file_set_note(SrFlacFile* file, const char* note);

/// Frames taken; after a failure those that are in the file.
uint64_t sr_flac_file_frames(const SrFlacFile* file);

/// Descriptor as given, -1 if none was.
int sr_flac_file_descriptor(const SrFlacFile* file);

/// Write what was held back and the length, and have the disk take it. False on failure.
bool sr_flac_file_finish(SrFlacFile* file);

/// What failed and what to do, whole sentences; to be called after a failure.
const char* sr_flac_file_trouble(const SrFlacFile* file);

/// Write nothing more, close the descriptor and free; NULL does nothing.
void sr_flac_file_del(SrFlacFile* file);

#endif // SR_STORE_FLAC_FILE_H
