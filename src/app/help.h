// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_HELP_H
#define SR_APP_HELP_H

extern const char sr_help_program[];
extern const char sr_help_assess[];
extern const char sr_help_practise[];
extern const char sr_help_plan[];
extern const char sr_help_setup[];
extern const char sr_help_sound[];
extern const char sr_help_demo[];
extern const char sr_help_drill[];

#endif // SR_APP_HELP_H
