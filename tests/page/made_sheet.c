// SPDX-License-Identifier: GPL-3.0-or-later

#include "made_sheet.h"

#include "show/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define UNITS 120.0

// Press and draw of ten columns, left hand first; from memory, and only to have something to draw.
static const int ROWS[3][10][2] = {
    {{59, 57},
     {62, 66},
     {67, 69},
     {71, 72},
     {74, 76},
     {79, 78},
     {83, 81},
     {86, 84},
     {91, 88},
     {95, 90}},
    {{48, 55},
     {55, 59},
     {60, 62},
     {64, 65},
     {67, 69},
     {72, 71},
     {76, 74},
     {79, 77},
     {84, 81},
     {88, 83}},
    {{52, 53},
     {57, 58},
     {61, 63},
     {69, 67},
     {68, 70},
     {73, 75},
     {81, 79},
     {80, 82},
     {85, 87},
     {93, 89}},
};

/// Add a button.
static void
add_button(MadeSheet* const made, const SrHand hand, const int row, const int column,
           const SrFinger finger, const int press, const int draw, const char* const name)
{
  const size_t index = made->content.layout.count++;
  char(*const names)[32] = made->names[index];
  if (name) {
    snprintf(names[0], sizeof(names[0]), "%s", name);
  } else {
    snprintf(names[0], sizeof(names[0]), "%c%d-%d", hand == SR_HAND_LEFT ? 'L' : 'R', row, column);
  }
  if (press >= 0) {
    sr_text_midi_name(press, false, names[1]);
  }
  if (draw >= 0) {
    sr_text_midi_name(draw, false, names[2]);
  }
  made->midis[index][0] = press;
  made->midis[index][1] = draw;
  const SrDrawnButton button = {.hand = hand,
                                .row = row,
                                .column = column,
                                .finger = finger,
                                .name = names[0],
                                .press = names[1],
                                .draw = names[2]};
  made->buttons[index] = button;
}

static SrFinger
usual_finger(const int from_index)
{
  static const SrFinger FINGERS[] = {SR_FINGER_INDEX, SR_FINGER_INDEX, SR_FINGER_MIDDLE,
                                     SR_FINGER_RING};
  return from_index < 4 ? FINGERS[from_index] : SR_FINGER_LITTLE;
}

static void
make_buttons(const SheetOrder* const order, MadeSheet* const made)
{
  const int rows = order->buttons == 20 ? 2 : 3;
  const int columns = order->buttons == 96 ? 16 : 5;
  for (int hand = 0; hand < 2; ++hand) {
    for (int row = 1; row <= rows; ++row) {
      for (int column = 1; column <= columns; ++column) {
        const int from_index = hand == SR_HAND_LEFT ? columns - column : column - 1;
        const int place = (5 * hand + column - 1) % 10;
        add_button(made, (SrHand)hand, row, column, usual_finger(from_index),
                   ROWS[row - 1][place][0], ROWS[row - 1][place][1], NULL);
      }
    }
    if (order->buttons == 38) {
      // A sixth column under another finger in one row, and buttons outside of the rows.
      add_button(made, (SrHand)hand, 3, 6, SR_FINGER_RING, 61, -1, NULL);
      add_button(made, (SrHand)hand, 0, 1, SR_FINGER_THUMB, 36, 36,
                 hand == SR_HAND_LEFT ? order->extra_name ? order->extra_name : "drone" : "high");
      add_button(made, (SrHand)hand, 0, 2, SR_FINGER_THUMB, 48, 50, hand ? "x4" : "x2");
      add_button(made, (SrHand)hand, 0, 3, SR_FINGER_LITTLE, -1, 45, hand ? "x5" : "x3");
    }
  }
  made->content.layout.buttons = made->buttons;
  made->content.layout.air_hand = SR_HAND_RIGHT;
  made->content.layout.air_finger = SR_FINGER_THUMB;
  made->content.layout.straight = order->straight;
}

/// A button that sounds a pitch in a direction; the count if there is none.
static size_t
find_button(const MadeSheet* const made, const int midi, const bool draw)
{
  size_t i = 0;
  while (i < made->content.layout.count && made->midis[i][draw] != midi) {
    ++i;
  }
  return i;
}

/// How the bellows stand while a phrase is laid out.
typedef struct {
  double opening;
  bool draw;
  bool first;
} Bellows;

static void
make_stroke(const SheetOrder* const order, MadeSheet* const made, const size_t index,
            Bellows* const bellows)
{
  const SrPhraseNote* const note = sr_phrase_note(made->phrase, index);
  SrDrawnStroke* const stroke = &made->strokes[index];
  const size_t count = made->content.layout.count;
  stroke->start = sr_fraction_value(note->start);
  stroke->length = sr_fraction_value(note->length);
  stroke->name = note->name;
  snprintf(made->octaves[index], sizeof(made->octaves[index]), "%d", note->midi / 12 - 1);
  stroke->octave = made->octaves[index];
  const double use = fmin(0.7 * UNITS, fmax(1.0, round(8.0 * exp2((69 - note->midi) / 24.0) *
                                                       stroke->length * order->seconds_a_bar)));
  bool draw = bellows->draw;
  if (find_button(made, note->midi, draw) == count &&
      find_button(made, note->midi, !draw) < count) {
    draw = !draw;
  }
  if (draw ? bellows->opening + use > UNITS : bellows->opening - use < 0.0) {
    draw = !draw;
  }
  size_t button = find_button(made, note->midi, draw);
  button = button < count ? button : index % count;
  stroke->draw = draw;
  stroke->turns = !bellows->first && draw != bellows->draw;
  stroke->button = made->buttons[button].name;
  stroke->finger = made->buttons[button].finger;
  stroke->before = bellows->opening / UNITS;
  bellows->opening += draw ? use : -use;
  // Air where the phrase asks for it, as much as there is room for.
  stroke->air = note->air;
  stroke->air_words = note->air ? "air" : "";
  if (note->air) {
    const double room = draw ? UNITS - bellows->opening : bellows->opening;
    bellows->opening += (draw ? 1.0 : -1.0) * fmin(room, 15.0);
    made->content.layout.uses_air = true;
  }
  stroke->after = bellows->opening / UNITS;
  made->buttons[button].uses_draw = made->buttons[button].uses_draw || draw;
  made->buttons[button].uses_press = made->buttons[button].uses_press || !draw;
  stroke->cut_name = "";
  stroke->cut_button = "";
  if (note->cut_midi >= 0) {
    const size_t cut = find_button(made, note->cut_midi, draw);
    sr_text_midi_name(note->cut_midi, false, made->cuts[index]);
    made->cuts[index][strcspn(made->cuts[index], "-0123456789")] = '\0';
    stroke->cut_name = made->cuts[index];
    stroke->cut = cut < count ? SR_DRAWN_CUT : SR_DRAWN_CUT_LEFT_OUT;
    stroke->cut_button = cut < count ? made->buttons[cut].name : "";
    stroke->cut_finger = cut < count ? made->buttons[cut].finger : SR_FINGER_INDEX;
    if (cut < count) {
      made->buttons[cut].cuts_draw = made->buttons[cut].cuts_draw || draw;
      made->buttons[cut].cuts_press = made->buttons[cut].cuts_press || !draw;
    }
  }
  bellows->draw = draw;
  bellows->first = false;
}

/// The head of the ABC once, its music as often as ordered.
static char*
repeat_music(const SheetOrder* const order)
{
  const char* const key = strstr(order->abc, "\nK:");
  const char* const music = key ? strchr(key + 1, '\n') : NULL;
  if (!music) {
    return NULL;
  }
  const size_t head = (size_t)(music + 1 - order->abc);
  const size_t size = strlen(music + 1);
  char* const text = malloc(head + size * order->times + 1);
  if (text) {
    memcpy(text, order->abc, head);
    for (unsigned i = 0; i < order->times; ++i) {
      memcpy(text + head + i * size, music + 1, size);
    }
    text[head + order->times * size] = '\0';
  }
  return text;
}

static bool
make_phrase(const SheetOrder* const order, MadeSheet* const made)
{
  char* const text = repeat_music(order);
  SrError error;
  char words[1024];
  if (!text || sr_phrase_read_text(text, strlen(text), "abc", NULL, &made->phrase, &error)) {
    fprintf(stderr, "%s\n", text ? sr_error_print(&error, words, sizeof(words)) : "no music");
    free(text);
    return false;
  }
  free(text);
  const size_t notes = sr_phrase_note_count(made->phrase);
  const size_t bars = sr_phrase_bar_count(made->phrase);
  made->strokes = calloc(notes, sizeof(SrDrawnStroke));
  made->bars = calloc(bars, sizeof(SrDrawnBar));
  made->cuts = calloc(notes, sizeof(made->cuts[0]));
  made->octaves = calloc(notes, sizeof(made->octaves[0]));
  if (!made->strokes || !made->bars || !made->cuts || !made->octaves) {
    return false;
  }
  Bellows bellows = {UNITS / 2.0, false, true};
  for (size_t i = 0; i < notes; ++i) {
    make_stroke(order, made, i, &bellows);
  }
  for (size_t i = 0; i < bars; ++i) {
    const SrPhraseBar* const bar = sr_phrase_bar(made->phrase, i);
    const SrDrawnBar drawn = {.start = sr_fraction_value(bar->start),
                              .length = sr_fraction_value(bar->length),
                              .pulse = sr_fraction_value(bar->pulse),
                              .number = bar->number,
                              .like = SR_DRAWN_LIKE_NONE};
    made->bars[i] = drawn;
  }
  const SrDrawnPart part = {"", 0, bars};
  made->part = part;
  const SrDrawnPhrase phrase = {made->strokes, notes, made->bars, bars, &made->part, 1};
  made->content.phrase = phrase;
  return true;
}

bool
made_sheet_make(const SheetOrder* const order, MadeSheet* const made)
{
  memset(made, 0, sizeof(*made));
  made->buttons = calloc(SR_MOST_BUTTONS, sizeof(SrDrawnButton));
  made->midis = calloc(SR_MOST_BUTTONS, sizeof(made->midis[0]));
  made->names = calloc(SR_MOST_BUTTONS, sizeof(made->names[0]));
  if (!made->buttons || !made->midis || !made->names) {
    return false;
  }
  make_buttons(order, made);
  made->content.title = "Buttons alone";
  made->content.remark = "key G · along the rows";
  made->content.caption = order->alone ? "" : "30 buttons";
  made->content.bars_a_line = order->bars_a_line;
  if (!order->alone && !make_phrase(order, made)) {
    return false;
  }
  if (made->phrase) {
    made->content.title = sr_phrase_title(made->phrase);
  }
  made->content.title = order->title ? order->title : made->content.title;
  return true;
}

void
made_sheet_clear(MadeSheet* const made)
{
  sr_phrase_del(made->phrase);
  free(made->buttons);
  free(made->midis);
  free(made->names);
  free(made->strokes);
  free(made->bars);
  free(made->cuts);
  free(made->octaves);
  memset(made, 0, sizeof(*made));
}
