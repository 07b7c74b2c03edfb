// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file kept_files.h
   The same entries as those of a fuzzer, over files that are kept.
*/

#ifndef SR_TESTS_KEPT_FILES_H
#define SR_TESTS_KEPT_FILES_H

#include <stddef.h>
#include <stdint.h>

/// Entry of the fuzzer (libFuzzer's name for it): aborts, with a sentence, where something is
/// wrong.
int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size);

/// Largest file that is read, bytes.
#define KEPT_FILE_SIZE (1u << 20u)

/// What is done with one file besides reading it whole; the bytes may be changed.
typedef void KeptFileUse(uint8_t* data, size_t size);

/// Cut the bytes off before every `block`th of them, and change that one, each time giving them to
/// the entry.
void sr_test_break_and_change(uint8_t* data, size_t size, size_t block);

/// Read each file that the arguments name, give it to the entry, then to `use` unless it is NULL.
/// Returns the exit status of the test.
int sr_test_kept_files(int argc, char** argv, KeptFileUse* use);

#endif // SR_TESTS_KEPT_FILES_H
