// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file declarations.h
   What stands around the declarations of every public header: C linkage, and visibility outside
   the shared library, whose other symbols are hidden.
*/

#ifndef STEADYREED_DECLARATIONS_H
#define STEADYREED_DECLARATIONS_H

#ifdef __cplusplus
#define SR_BEGIN_C extern "C" {
#define SR_END_C }
#else
#define SR_BEGIN_C
#define SR_END_C
#endif

#if defined(__GNUC__)
#define SR_BEGIN_DECLARATIONS SR_BEGIN_C _Pragma("GCC visibility push(default)")
#define SR_END_DECLARATIONS _Pragma("GCC visibility pop") SR_END_C
#else
#define SR_BEGIN_DECLARATIONS SR_BEGIN_C
#define SR_END_DECLARATIONS SR_END_C
#endif

#endif // STEADYREED_DECLARATIONS_H
