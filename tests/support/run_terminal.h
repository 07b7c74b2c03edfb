// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_RUN_TERMINAL_H
#define SR_TESTS_RUN_TERMINAL_H

#include "run_program.h"

#include <stddef.h>

/**
   Run a program to its end on a terminal of its own, without colours and with UTF-8.

   @param columns Of the terminal.
   @return What it wrote to it stands in `output`, with plain line feeds.
*/
ProgramRun run_on_terminal(const char* const* arguments, unsigned short columns);

/// Columns of the widest line of a text, whose lines end in line feeds or carriage returns. The
/// locale must be set.
size_t widest_line(const char* text);

#endif // SR_TESTS_RUN_TERMINAL_H
