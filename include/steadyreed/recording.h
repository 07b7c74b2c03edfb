// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file recording.h
   A take written to FLAC while it is played, so that a crash, a kill or a full disk loses no more
   than about its last second.
*/

#ifndef STEADYREED_RECORDING_H
#define STEADYREED_RECORDING_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Size of the longest note about a take, bytes with its NUL.
#define SR_TAKE_NOTE_SIZE 4096

/**
   Folder of the kept takes: $XDG_DATA_HOME/steadyreed/takes, or ~/.local/share/steadyreed/takes. A
   missing folder is created with its parents, readable by its owner only (mode 0700); an existing
   one keeps its mode. Relative or empty variables count as unset.

   @param folder Receives its path; free() it. NULL on error.
   @return SR_OK, SR_NOT_FOUND (no home), SR_NO_PERMISSION, SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_takes_folder(char** folder, SrError* error);

/**
   A file name for a new take in a folder: the local date and time, then about the first 60 letters
   of the title in lower case, with one '-' for anything but ASCII letters and digits, such as
   "2026-11-25-213105-the-wet-gate.flac"; numbered ("-2") if the name exists.

   @param path Receives it; free() it. NULL on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_take_name(const char* folder, const char* title, char** path, SrError* error);

/// A recording being written.
typedef struct SrRecordingImpl SrRecording;

/**
   Begin a recording: FLAC, mono, 24 bits, mode 0600. An existing file is never touched.

   @param path      File to write.
   @param rate_hz   16000 to 192000, a whole number; above 65535 a multiple of ten, since FLAC
                    frames cannot express others.
   @param note      Stored in the file as a Vorbis comment, to record what the take was made for;
                    UTF-8, shorter than SR_TAKE_NOTE_SIZE; NULL or "" for none. Padded with spaces
                    to 3584 bytes, so that it can be replaced in place and a kill never leaves a
                    partial header.
   @param recording Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT, SR_NOT_FOUND, SR_NO_PERMISSION, SR_EXISTS (the file is left as it
           is), SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_recording_new(const char* path, double rate_hz, const char* note,
                          SrRecording** recording, SrError* error);
/**
   Write samples, clipped at full scale; non-finite ones are written as zeros.

   All but the last 4096 samples (a quarter of a second at 16 kHz) are handed to the system before
   the call returns. A kill loses these, those of the call in progress and, during a write, at most
   one more block of 4096. A power failure may also lose what the system had not yet written to the
   disk. Nothing is written between calls.

   A file left that way does not give its length, but is as valid a FLAC stream as one written to a
   pipe. sr_recording_cut() with one part from 0 to UINT64_MAX repairs the header.

   @return SR_OK or SR_WRITE_FAILED (disk full, file removed); then nothing more is written, what is
           on disk can be read, and further calls return the same.
*/
SrStatus sr_recording_write(SrRecording* recording, const float* samples, size_t count,
                            SrError* error);
/**
   Replace the note while the take is being recorded, so that an interrupted take holds what was
   known by then. Trailing spaces are lost.

   @param note UTF-8, not validated; no longer than the larger of 3584 bytes and the note given to
               sr_recording_new(), which must not have been "".
   @return False if it was not written; the recording continues. If a disk fails within a page, the
           note may be part old and part new.
*/
bool sr_recording_set_note(SrRecording* recording, const char* note);
/// Frames written so far, including buffered ones; after SR_WRITE_FAILED the readable ones.
uint64_t sr_recording_frames(const SrRecording* recording);
/// Path as given.
const char* sr_recording_path(const SrRecording* recording);
/// Finish the file, with its length in the header. SR_OK or SR_WRITE_FAILED. Frees the recording.
SrStatus sr_recording_finish(SrRecording* recording, SrError* error);
/// Stop and remove the file, unless another file has replaced it. Frees the recording; NULL does
/// nothing.
void sr_recording_discard(SrRecording* recording);

/// A part of a take, in frames; `end` is the first frame after it.
typedef struct {
  uint64_t start;
  uint64_t end;
} SrStretch;

/**
   Keep only some parts of a finished recording, joined together, with 5 ms of fade out and in at
   each joint against clicks, and at the start and end where something was cut off. Adjacent parts
   have no joint. The new file replaces the old one atomically (rename()), so one of them is always
   whole; a kill leaves a file "….cut-" with six letters beside the take. Samples outside the fades
   keep their 24 bits.

   @param path  FLAC file from sr_recording_new(), not a link to it.
   @param parts In order, not overlapping, none empty; anything beyond the end is ignored, but some
                must remain.
   @param count At least 1.
   @param note  The new comment; NULL keeps the old one, without trailing spaces.
   @return SR_OK, SR_BAD_ARGUMENT, SR_NOT_FOUND, SR_NO_PERMISSION, SR_BAD_AUDIO (also if it is
           damaged somewhere), SR_WRITE_FAILED or SR_NO_MEMORY; if not SR_OK the old file is
           unchanged.
*/
SrStatus sr_recording_cut(const char* path, const SrStretch* parts, size_t count, const char* note,
                          SrError* error);

/**
   Read the comment of a recording.

   @param note Receives it without trailing spaces, "" if there is none or on error; truncated to
               SR_TAKE_NOTE_SIZE.
   @return SR_OK, SR_NOT_FOUND, SR_NO_PERMISSION or SR_BAD_AUDIO.
*/
SrStatus sr_recording_note(const char* path, char note[SR_TAKE_NOTE_SIZE], SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_RECORDING_H
