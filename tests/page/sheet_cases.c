// SPDX-License-Identifier: GPL-3.0-or-later

#include "made_sheet.h"

// Scales and patterns made for this test.
static const char JIG[] = "X:1\nT:Eight bars to try\nM:6/8\nL:1/8\nK:G\n"
                          "GAB d2B|c{e}cc A2\"^air\"F|G{B}GA B{d}Bd|e3 d3|\n"
                          "f{a}fd e{g}ec|d{f}dB A{c}AF|GFE A{c}AG|FDD \"^air\"D3|\n";
static const char REEL[] = "X:1\nT:Reel with a pickup\nM:4/4\nL:1/8\nK:D\n"
                           "AG|FDFA d2fd|e{g}ee^g a2\"^air\"ag|fdAF G2BG|E2 D4 z2|\n";
static const char ONE_BAR[] = "X:1\nT:One bar\nM:3/4\nL:1/4\nK:C\nC E {a}G|\n";
static const char FAST[] = "X:1\nT:Semiquavers\nM:4/4\nL:1/16\nK:A\n"
                           "CDEF GABc defg abag|fedc BAGF E{g}EF{a}F G{b}GA{c}A|\n"
                           "CEGE FAcA Bdfd c2c2|\"^air\"e4f4\"^air\"g8|\n";
static const char FASTER[] = "X:1\nT:Demisemiquavers\nM:4/4\nL:1/32\nK:C\n"
                             "CDEFGABcdefgabag^fedcBAGFE{g}EF{a}FG{b}GA{c}A|\n"
                             "c8\"^air\"d8e16|\n";
static const char SLOW[] = "X:1\nT:Slow\nM:4/4\nL:1/1\nK:F\nF-|F|B,|_e|\"^air\"C|\n";
static const char CUTS[] = "X:1\nT:Cuts everywhere\nM:6/8\nL:1/8\nK:D\n"
                           "{g}A{g}A{g}A {b}d{b}d{b}d|{f}e{f}e{f}e {a}f{a}f{a}f|"
                           "{A}F{A}F{A}F {B}G{B}G{B}G|{f}d{f}d{f}d {e}c{e}c\"^air\"{e}c|\n";
static const char NO_BARS[] = "X:1\nT:No bar lines\nM:none\nL:1/8\nK:C\n"
                              "CDEFGABc cBAGFEDC CEGc ecGE CDEFGABc cBAGFEDC C8 E8 G8 c8\n";
static const char METERS[] = "X:1\nT:Changing meters\nM:6/8\nL:1/8\nK:G\n"
                             "GAB cde|[M:9/8]GAB cde dcB|[M:2/4]G2 A2|[M:4/4]c2d2e2d2|"
                             "[M:12/8]gfe dcB ABc def|z6|g6|\n";

#define LONG_TITLE                                                                                 \
  "The Very Long Way Round by the Upper Bridge, the Lower Bridge and the Old Mill, as It Was "     \
  "Played When the River Was High and Nobody Could Get Home before the Morning, with All Its "     \
  "Turns, and Once More from the Beginning"

const SheetCase sheet_cases[] = {
    {"jig", {.abc = JIG, .times = 1, .buttons = 30, .seconds_a_bar = 1.8}},
    {"reel", {.abc = REEL, .times = 1, .buttons = 30, .seconds_a_bar = 2.2}},
    {"one-bar",
     {.abc = ONE_BAR, .times = 1, .buttons = 20, .seconds_a_bar = 3.0, .straight = true}},
    {"long", {.abc = JIG, .times = 8, .buttons = 30, .seconds_a_bar = 1.6, .title = LONG_TITLE}},
    {"fast", {.abc = FAST, .times = 1, .buttons = 30, .seconds_a_bar = 2.5}},
    {"faster", {.abc = FASTER, .times = 1, .buttons = 38, .seconds_a_bar = 3.0}},
    {"slow", {.abc = SLOW, .times = 2, .buttons = 30, .seconds_a_bar = 5.0}},
    {"cuts", {.abc = CUTS, .times = 2, .buttons = 38, .seconds_a_bar = 1.6}},
    {"steep", {.abc = JIG, .times = 1, .buttons = 30, .seconds_a_bar = 20.0}},
    {"no-bars", {.abc = NO_BARS, .times = 3, .buttons = 30, .seconds_a_bar = 2.0}},
    {"meters", {.abc = METERS, .times = 1, .buttons = 96, .seconds_a_bar = 2.0}},
    {"wish-eight", {.abc = JIG, .times = 1, .buttons = 30, .seconds_a_bar = 2.0, .bars_a_line = 8}},
    {"wish-one", {.abc = REEL, .times = 1, .buttons = 30, .seconds_a_bar = 2.0, .bars_a_line = 1}},
    {"foreign",
     {.abc = JIG,
      .times = 1,
      .buttons = 30,
      .seconds_a_bar = 2.0,
      .title = "Ὀρφεύς · Ћирилица · café <&>\"' ♯♭"}},
    {"no-title", {.abc = JIG, .times = 1, .buttons = 30, .seconds_a_bar = 2.0, .title = ""}},
    {"alone-20", {.abc = JIG, .times = 1, .buttons = 20, .alone = true}},
    {"alone-30", {.abc = JIG, .times = 1, .buttons = 30, .alone = true, .straight = true}},
    {"alone-38",
     {.abc = JIG, .times = 1, .buttons = 38, .alone = true, .extra_name = "low drone left"}},
    {"alone-96", {.abc = JIG, .times = 1, .buttons = 96, .alone = true}},
};

const size_t sheet_case_count = sizeof(sheet_cases) / sizeof(sheet_cases[0]);
