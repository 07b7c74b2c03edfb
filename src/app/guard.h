// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_GUARD_H
#define SR_APP_GUARD_H

/**
   Until sr_guard_end(), an abort() inside a library ends the program with a message and an exit
   status instead of a crash. PortAudio 19.6 aborts with an assertion if ALSA's configuration names
   no device at all.

   @param words  A whole line for standard error, with its line feed; must stay valid until
                 sr_guard_end().
   @param status Exit status to use.
*/
void sr_guard_begin(const char* words, int status);

void sr_guard_end(void);

#endif // SR_APP_GUARD_H
