// SPDX-License-Identifier: GPL-3.0-or-later

// An invented month before a session: a jig whose cuts get better, a reel that does not, a drill of
// two days, and a tune of long ago.

#ifndef INVENTED_MONTH_H
#define INVENTED_MONTH_H

/// Days of the jig, the last of them today.
#define INVENTED_DAYS 20

/**
   Put it into the usual history; cmocka fails if that cannot be.

   @param takes The takes folder, which is made, with a file for each day.
*/
void invented_month(const char* takes);

#endif // INVENTED_MONTH_H
