// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file flac_file.h
   FLAC written so that the file is readable at any moment: mono, 24 bits, frame by frame.
   libsndfile encodes; its output goes to the system at once, each FLAC frame in one write(). A
   frame that is not written completely is removed again, so that the file always ends with a whole
   one. libsndfile 1.2.0 buffers one block of at most 4096 samples.
*/

#ifndef SR_STORE_FLAC_FILE_H
#define SR_STORE_FLAC_FILE_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A FLAC file being written.
typedef struct SrFlacFileImpl SrFlacFile;

/// Whether FLAC supports a rate: a whole number, and above 65535 a multiple of ten.
bool sr_flac_file_takes_rate(double rate_hz);

/**
   Create an encoder without a file, with its header in memory.

   @param rate_hz Accepted by sr_flac_file_takes_rate().
   @param note    Comment, UTF-8; NULL or "" for none.
   @param file    Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT (note) or SR_NO_MEMORY.
*/
SrStatus sr_flac_file_new(double rate_hz, const char* note, SrFlacFile** file, SrError* error);

/// Set the empty file to write, whose descriptor it then owns, and write the header. False on
/// failure.
bool sr_flac_file_begin(SrFlacFile* file, int descriptor);

/// Write 24-bit samples in the upper bits of 32. False on failure, and ever after.
bool sr_flac_file_write(SrFlacFile* file, const int32_t* samples, size_t count);

/// Overwrite the note given at first, padded with spaces to its length. False if the new one is
/// longer, or on failure, which does not count as a failure of the file.
bool sr_flac_file_set_note(SrFlacFile* file, const char* note);

/// Frames taken; after a failure those that are in the file.
uint64_t sr_flac_file_frames(const SrFlacFile* file);

/// The descriptor, -1 if there is none.
int sr_flac_file_descriptor(const SrFlacFile* file);

/// Write the buffered samples and the length, and flush to disk. False on failure.
bool sr_flac_file_finish(SrFlacFile* file);

/// What failed and what to do, whole sentences; call it only after a failure.
const char* sr_flac_file_trouble(const SrFlacFile* file);

/// Stop writing, close the descriptor and free; NULL does nothing.
void sr_flac_file_del(SrFlacFile* file);

#endif // SR_STORE_FLAC_FILE_H
