// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hot.h
   Marks for hot loops.
*/

#ifndef SR_HOT_H
#define SR_HOT_H

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define SR_SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define SR_SANITIZED 1
#endif
#endif

/**
   For hot loops: also compiled for processors with vectors of this width, selected when the program
   starts. Contraction is off in C11 mode, so both versions give the same numbers. Not under
   sanitizers, whose start-up code cannot handle it.
*/
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(SR_SANITIZED)
#define SR_HOT __attribute__((target_clones("avx2", "default")))
#else
#define SR_HOT
#endif

/// Part of a hot loop: always inlined.
#define SR_PART static inline __attribute__((always_inline))

#endif // SR_HOT_H
