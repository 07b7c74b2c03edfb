// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_CLASS_LINES_H
#define SR_APP_CLASS_LINES_H

#include "class_list.h"
#include "class_page.h"

/**
   Say a line of each pupil: cuts and evenness in the best round of the best take.

   @param figures Of each take of the list.
*/
void sr_class_say_pupils(const SrClassList* list, const SrTakeFigures* figures);

#endif // SR_APP_CLASS_LINES_H
