// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file recording.h
   A take written to FLAC while it is played, so that a crash, a kill or a full disk loses at
   most its last second.
*/

#ifndef STEADYREED_RECORDING_H
#define STEADYREED_RECORDING_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Longest note about a take, bytes with its NUL.
#define SR_TAKE_NOTE_SIZE 4096

/**
   Folder of the kept takes: $XDG_DATA_HOME/steadyreed/takes, or ~/.local/share/steadyreed/takes;
   made if it is not there, with those it lies in, readable by its owner only (mode 0700). One that
   is there keeps its mode. Relative or empty variables count as unset.

   @param folder Receives its path; free() it. NULL on error.
   @return SR_OK, SR_NOT_FOUND (no home), SR_NO_PERMISSION, SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_takes_folder(char** folder, SrError* error);

/**
   A name for a new take in a folder: the local date and time, then the first 60 letters or so of
   the title, small, with one '-' for whatever is no letter or digit of ASCII, such as
   "2026-11-25-213105-the-wet-gate.flac"; numbered ("-2") if there is one already.

   @param path Receives it; free() it. NULL on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_take_name(const char* folder, const char* title, char** path, SrError* error);

/// A recording being written.
typedef struct SrRecordingImpl SrRecording;

/**
   Begin a recording: FLAC, mono, 24 bits, mode 0600. A file that is already there is never
   touched.

   @param path      File to write.
   @param rate_hz   16000 to 192000, a whole number; over 65535 a multiple of ten, for the frames
                    of a FLAC stream cannot tell others.
   @param note      Kept in the file as its comment (a Vorbis comment), so that what the take was
                    made for can be told later; UTF-8, shorter than SR_TAKE_NOTE_SIZE; NULL or ""
                    for none. Filled up with blanks to 3584 bytes, so that another can take its
                    place and a kill never leaves a part of the header.
   @param recording Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT, SR_NOT_FOUND, SR_NO_PERMISSION, SR_EXISTS (and that
   file stays as it is), SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_recording_new(const char* path, double rate_hz, const char* note,
                          SrRecording** recording, SrError* error);
/**
   Write samples, clipped at full scale; those that are no number are written as zeros. All but
   the last 4096 (a quarter of a second at 16 kHz) are handed to the system before it returns; a
   kill loses these, what the call under way brought, and at worst one block of 4096 more, if it
   comes within a write. Power that fails may lose what the system had not yet put on the disk.
   Between calls nothing is written, however long they are apart.

   A file so left does not tell its length, but is a FLAC stream as good as one written to a pipe.
   sr_recording_cut() with one part from 0 to UINT64_MAX gives it one.

   @return SR_OK or SR_WRITE_FAILED (disk full, file removed); then nothing more is written, what is
   on disk can be read, and further calls return the same.
*/
SrStatus sr_recording_write(SrRecording* recording, const float* samples, size_t count,
                            SrError* error);
/**
   Write another note over the first one while the take is being recorded, so that a take that is
   broken off tells what is known by then. Blanks at its end are lost.

   @param note UTF-8, not looked at any closer; no longer than the larger of 3584 bytes and the
               note given to sr_recording_new(), which must not have been "".
   @return False if it was not written; the recording goes on all the same. If it failed on a disk
   that breaks off within a page, the note may be a part of each.
*/
bool sr_recording_set_note(SrRecording* recording, const char* note);
/// Frames written so far, with those held back; after SR_WRITE_FAILED those that can be read.
uint64_t sr_recording_frames(const SrRecording* recording);
/// Path as given.
const char* sr_recording_path(const SrRecording* recording);
/// End it, so that its header tells its length. SR_OK or SR_WRITE_FAILED. Frees the recording.
SrStatus sr_recording_finish(SrRecording* recording, SrError* error);
/// End it and remove the file, unless another has taken its place. Frees the recording; NULL does
/// nothing.
void sr_recording_discard(SrRecording* recording);

/// A part of a take, in frames; `end` is the first that is not part of it.
typedef struct {
  uint64_t start;
  uint64_t end;
} SrStretch;

/**
   Keep only some parts of a finished recording, one behind the other, with 5 ms of fade out and in
   at each joint so that no joint clicks, and where the start or the end was cut away. Parts that
   touch have no joint. The new file takes the place of the old in one step (rename()), so that
   whenever it is broken off one of them is whole; broken off by a kill it leaves a file "….cut-"
   and six letters beside the take. Samples outside the fades keep their 24 bits.

   @param path  FLAC of sr_recording_new(), not a link to it.
   @param parts In order, not overlapping, none empty; what is beyond the end is left out, but some
                must remain.
   @param count At least 1.
   @param note  The new comment; NULL keeps the old one, without blanks at its end.
   @return SR_OK, SR_BAD_ARGUMENT, SR_NOT_FOUND, SR_NO_PERMISSION, SR_BAD_AUDIO (also if it is
   damaged somewhere), SR_WRITE_FAILED or SR_NO_MEMORY; if not SR_OK the old file is as it was.
*/
SrStatus sr_recording_cut(const char* path, const SrStretch* parts, size_t count, const char* note,
                          SrError* error);

/**
   The comment of a recording.

   @param note Receives it without blanks at its end, "" if it has none or on error; cut at
               SR_TAKE_NOTE_SIZE.
   @return SR_OK, SR_NOT_FOUND, SR_NO_PERMISSION or SR_BAD_AUDIO.
*/
SrStatus sr_recording_note(const char* path, char note[SR_TAKE_NOTE_SIZE], SrError* error);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_RECORDING_H
