// SPDX-License-Identifier: GPL-3.0-or-later

// The page of two takes: title, what differs, both rounds, what went wrong beside the figures, and
// how it was told.

#include <steadyreed/two_takes_page.h>

#include "page_words.h"
#include "pen_wrap.h"
#include "picture_file.h"
#include "two_rounds_layout.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MARGIN 30.0 ///< Above and below
#define SIDE 30.0   ///< Left and right
#define WIDTH (SR_A4_SHORT - 2.0 * SIDE)
#define BETWEEN 9.0

#define TITLE_SIZE 19.0
#define FACTS_SIZE 11.0
#define HEADING_SIZE 11.5
#define KEY_SIZE 8.5
#define CELL_SIZE 10.0
#define WORDS_SIZE 9.0
#define FOOT_SIZE 7.5

/// The sentence is as large as this allows.
#define SENTENCE_LARGEST 25.0
#define SENTENCE_SMALLEST 14.0
#define SENTENCE_HEIGHT 92.0
/// … where the picture needs the room.
#define SENTENCE_LOW 46.0

/// Largest letters in the picture.
#define PICTURE_MOST 17.0
/// Below this size of its letters, it takes height from all else, and its notes stand close.
#define PICTURE_LEAST 9.0
/// Height kept for what is under it.
#define LEAST_BOTTOM 165.0
#define MOST_BOTTOM 250.0

/// The two columns at the bottom: the words of two takes, and the figures.
#define TABLE_WIDTH 206.0
#define LEFT_WIDTH (WIDTH - TABLE_WIDTH - 18.0)
#define PLACE_WIDTH 36.0
#define WORDS_GAP 8.0
#define WORDS_WIDTH ((LEFT_WIDTH - PLACE_WIDTH - WORDS_GAP) / 2.0)
/// Where the cells of the table end, from its left.
#define FIRST_END 122.0
#define SECOND_END 162.0
#define DIFFERENCE_END 198.0
#define ROW 1.45

/// A page being laid out.
typedef struct {
  const SrTwoTakesPage* page;
  SrTheme theme;
  SrPageWords kept;
  const char* title;
  const char* facts[2];
  const char* sentence;
  SrTwoBar* bars;
  size_t bar_count;
  SrTwoRow rows[SR_TWO_FIGURES];
  size_t row_count;
  SrTwoRounds* rounds;
  double sentence_size;
  double sentence_top;
  double heading_top;
  double picture_top;
  double key_top;
  double bottom_top;
  double foot_top;
} Sheet;

static SrWrap
wrap_of(const Sheet* const sheet, const double size, const double width, const bool strong)
{
  return (SrWrap){.font = {.size = size,
                           .bold = strong,
                           .colour = strong ? sheet->theme.ink : sheet->theme.soft},
                  .width = width};
}

static double
wrapped_height(const SrPen* const pen, const SrWrap* const wrap, const char* const words)
{
  return sr_pen_wrap_height(wrap, sr_pen_wrap_lines(pen, wrap, words));
}

static SrStatus
write_words(Sheet* const sheet, SrError* const error)
{
  const SrShownTwo* const shown = &sheet->page->shown;
  char words[SR_TWO_SENTENCE_SIZE];
  char line[SR_TWO_SENTENCE_SIZE + 8];
  const char* const title = sr_phrase_title(shown->phrases[0]);
  sheet->title = sr_page_words_keep(&sheet->kept, *title ? title : "Untitled phrase");
  for (size_t t = 0; t < 2; ++t) {
    snprintf(line, sizeof(line), "%s  %s", t ? "2nd" : "1st", sr_two_name_line(shown, t, words));
    sheet->facts[t] = sr_page_words_keep(&sheet->kept, line);
  }
  sheet->sentence = sr_page_words_keep(&sheet->kept, sr_two_sentence(shown->two, words));
  sheet->row_count = sr_two_rows(shown->two, sheet->rows);
  const SrStatus status = sr_two_bars(shown, &sheet->bars, &sheet->bar_count, error);
  return status == SR_OK && !(sheet->title && sheet->facts[0] && sheet->facts[1] && sheet->sentence)
             ? SR_NO_MEMORY
             : status;
}

/// Choose the size of the sentence; returns its height.
static double
size_sentence(Sheet* const sheet, const SrPen* const pen, const double most)
{
  sheet->sentence_size = SENTENCE_LARGEST;
  for (;;) {
    const SrWrap wrap = wrap_of(sheet, sheet->sentence_size, WIDTH, true);
    const double height = wrapped_height(pen, &wrap, sheet->sentence);
    if (height <= most || sheet->sentence_size <= SENTENCE_SMALLEST) {
      return height;
    }
    sheet->sentence_size -= 1.0;
  }
}

static SrWrap
words_wrap(const Sheet* const sheet)
{
  SrWrap wrap = wrap_of(sheet, WORDS_SIZE, WORDS_WIDTH, false);
  wrap.font.colour = sheet->theme.ink;
  return wrap;
}

/// Height of what went wrong in a bar.
static double
bar_height(const Sheet* const sheet, const SrPen* const pen, const SrTwoBar* const bar)
{
  const SrWrap wrap = words_wrap(sheet);
  return fmax(WORDS_SIZE * 1.25, fmax(wrapped_height(pen, &wrap, bar->words[0]),
                                      wrapped_height(pen, &wrap, bar->words[1]))) +
         3.0;
}

/// Height that all of the bottom would need.
static double
bottom_wish(const Sheet* const sheet, const SrPen* const pen)
{
  double left = 3.2 * HEADING_SIZE;
  for (size_t i = 0; i < sheet->bar_count; ++i) {
    left += bar_height(sheet, pen, &sheet->bars[i]);
  }
  return fmax(left, 3.4 * HEADING_SIZE + (double)sheet->row_count * ROW * CELL_SIZE);
}

static SrStatus
make_picture(Sheet* const sheet, const double height, const bool close, SrError* const error)
{
  const SrTwoTakesPage* const page = sheet->page;
  const SrRoundStyle style = {.most_size = PICTURE_MOST, .close = close};
  SrPicturedRound pictured[2];
  for (size_t t = 0; t < 2; ++t) {
    pictured[t] =
        (SrPicturedRound){.phrase = page->shown.phrases[t],
                          .round = &page->shown.played[t].rounds[page->shown.two->best[t]],
                          .reached = SR_REACHED_ALL,
                          .plan = page->plan,
                          .instrument = page->instrument};
  }
  sr_two_rounds_del(sheet->rounds);
  return sr_two_rounds_new(pictured, &style, WIDTH, height, &sheet->rounds, error);
}

static double
draw_key(const Sheet* const sheet, const SrPen* const pen, const double top, const bool draw)
{
  const SrArea area = {SIDE, top, WIDTH, 0.0};
  return sr_draw_round_key(sheet->rounds->pictures[0], sheet->rounds->pictures[1], pen, &area,
                           KEY_SIZE, draw);
}

/// Lay everything out, with the room for the picture or for all else.
static SrStatus
lay_out_for(Sheet* const sheet, const SrPen* const pen, const bool long_phrase,
            SrError* const error)
{
  const double bottom =
      long_phrase ? LEAST_BOTTOM : fmin(MOST_BOTTOM, fmax(LEAST_BOTTOM, bottom_wish(sheet, pen)));
  sheet->heading_top = sheet->sentence_top + BETWEEN +
                       size_sentence(sheet, pen, long_phrase ? SENTENCE_LOW : SENTENCE_HEIGHT);
  sheet->picture_top = sheet->heading_top + 1.7 * HEADING_SIZE;
  const double rest = sheet->foot_top - sheet->picture_top - 3.0 * BETWEEN;
  // The key is as tall whatever size the picture has
  SrStatus status = make_picture(sheet, rest, long_phrase, error);
  if (status != SR_OK) {
    return status;
  }
  const double key = draw_key(sheet, pen, 0.0, false);
  status = make_picture(sheet, rest - bottom - key, long_phrase, error);
  if (status == SR_OK) {
    sheet->key_top = sheet->picture_top + sr_two_rounds_height(sheet->rounds) + 0.6 * BETWEEN;
    sheet->bottom_top = sheet->key_top + key + BETWEEN;
  }
  return status;
}

static SrStatus
lay_out(Sheet* const sheet, const SrPen* const pen, SrError* const error)
{
  const SrWrap facts = wrap_of(sheet, FACTS_SIZE, WIDTH, false);
  const SrWrap foot = wrap_of(sheet, FOOT_SIZE, WIDTH, false);
  sheet->foot_top = SR_A4_LONG - MARGIN - wrapped_height(pen, &foot, SR_TWO_TEST_WORDS);
  sheet->sentence_top = MARGIN + 1.25 * TITLE_SIZE + wrapped_height(pen, &facts, sheet->facts[0]) +
                        wrapped_height(pen, &facts, sheet->facts[1]) + BETWEEN;
  const SrStatus status = lay_out_for(sheet, pen, false, error);
  return status == SR_OK && sheet->rounds->pictures[0]->rows.size < PICTURE_LEAST
             ? lay_out_for(sheet, pen, true, error)
             : status;
}

static void
draw_head(const Sheet* const sheet, const SrPen* const pen)
{
  const SrFont title = {.size = TITLE_SIZE,
                        .bold = true,
                        .colour = sheet->theme.soft,
                        .most_width = WIDTH,
                        .smallest = 0.65};
  const SrFont heading = {.size = HEADING_SIZE, .bold = true, .colour = sheet->theme.ink};
  const SrWrap facts = wrap_of(sheet, FACTS_SIZE, WIDTH, false);
  const SrWrap sentence = wrap_of(sheet, sheet->sentence_size, WIDTH, true);
  double y = MARGIN + 1.25 * TITLE_SIZE;
  sr_pen_say(pen, &title, sheet->title, SIDE, MARGIN);
  for (size_t t = 0; t < 2; ++t) {
    y += sr_pen_wrap_say(pen, &facts, sheet->facts[t], SIDE, y);
  }
  (void)sr_pen_wrap_say(pen, &sentence, sheet->sentence, SIDE, sheet->sentence_top);
  sr_pen_say(pen, &heading, "The best round of each, beat under beat", SIDE, sheet->heading_top);
}

/// Say what went wrong as far as it fits, and in how many more bars.
static void
draw_bars(const Sheet* const sheet, const SrPen* const pen)
{
  const SrFont heading = {.size = HEADING_SIZE, .bold = true, .colour = sheet->theme.ink};
  const SrFont column = {.size = WORDS_SIZE, .bold = true, .colour = sheet->theme.soft};
  const SrFont place = {
      .size = WORDS_SIZE, .colour = sheet->theme.soft, .most_width = PLACE_WIDTH - 4.0};
  const SrWrap wrap = words_wrap(sheet);
  const double left[] = {SIDE + PLACE_WIDTH, SIDE + PLACE_WIDTH + WORDS_WIDTH + WORDS_GAP};
  const double bottom = sheet->foot_top - 3.0;
  double y = sheet->bottom_top + 3.1 * HEADING_SIZE;
  sr_pen_say(pen, &heading, sheet->bar_count ? "What went wrong" : "Nothing went wrong", SIDE,
             sheet->bottom_top);
  for (size_t t = 0; t < 2 && sheet->bar_count; ++t) {
    sr_pen_say(pen, &column, t ? "2nd" : "1st", left[t], sheet->bottom_top + 1.7 * HEADING_SIZE);
  }
  for (size_t i = 0; i < sheet->bar_count; ++i) {
    const SrTwoBar* const bar = &sheet->bars[i];
    const double height = bar_height(sheet, pen, bar);
    const double more = i + 1 < sheet->bar_count ? 1.3 * WORDS_SIZE : 0.0;
    char words[64];
    if (y + height + more > bottom) {
      const size_t count = sheet->bar_count - i;
      snprintf(words, sizeof(words), "and in %zu more bar%s", count, count == 1 ? "" : "s");
      sr_pen_say(pen, &column, words, SIDE, y);
      return;
    }
    snprintf(words, sizeof(words),
             bar->bar > 0    ? "bar %d"
             : bar->bar == 0 ? "pickup"
                             : "all",
             bar->bar);
    sr_pen_say(pen, &place, words, SIDE, y);
    for (size_t t = 0; t < 2; ++t) {
      const char* const said = *bar->words[t] ? bar->words[t] : "–";
      (void)sr_pen_wrap_say(pen, &wrap, said, left[t], y);
    }
    y += height;
  }
}

/// Say a cell of the table that ends at a position.
static void
say_cell(const SrPen* const pen, const SrFont* const font, const char* const words,
         const double end, const double top)
{
  sr_pen_say(pen, font, words, end - sr_pen_width(pen, font, words), top);
}

static void
draw_table(const Sheet* const sheet, const SrPen* const pen)
{
  const double left = SIDE + WIDTH - TABLE_WIDTH;
  const SrFont heading = {.size = HEADING_SIZE, .bold = true, .colour = sheet->theme.ink};
  const SrFont soft = {.size = CELL_SIZE, .colour = sheet->theme.soft};
  double y = sheet->bottom_top + 1.7 * HEADING_SIZE;
  sr_pen_say(pen, &heading, "Figures", left, sheet->bottom_top);
  say_cell(pen, &soft, "1st", left + FIRST_END, y);
  say_cell(pen, &soft, "2nd", left + SECOND_END, y);
  say_cell(pen, &soft, "differs", left + DIFFERENCE_END, y);
  for (size_t i = 0; i < sheet->row_count; ++i) {
    const SrTwoRow* const row = &sheet->rows[i];
    const SrFont font = {.size = CELL_SIZE, .bold = row->told, .colour = sheet->theme.ink};
    y += ROW * CELL_SIZE;
    sr_pen_say(pen, &font, row->name, left, y);
    say_cell(pen, &font, row->value[0], left + FIRST_END, y);
    say_cell(pen, &font, row->value[1], left + SECOND_END, y);
    say_cell(pen, &font, row->difference, left + DIFFERENCE_END, y);
    if (row->told) {
      sr_pen_say(pen, &font, "*", left + DIFFERENCE_END + 2.0, y);
    }
  }
}

static void
draw(const Sheet* const sheet, const SrPen* const pen)
{
  const SrWrap foot = wrap_of(sheet, FOOT_SIZE, WIDTH, false);
  draw_head(sheet, pen);
  sr_two_rounds_draw_with(sheet->rounds, pen, SIDE, sheet->picture_top);
  (void)draw_key(sheet, pen, sheet->key_top, true);
  draw_bars(sheet, pen);
  draw_table(sheet, pen);
  (void)sr_pen_wrap_say(pen, &foot, "* " SR_TWO_TEST_WORDS, SIDE, sheet->foot_top);
}

static SrStatus
draw_page(void* const context, cairo_t* const cairo, const size_t index)
{
  (void)index;
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  draw((const Sheet*)context, &pen);
  sr_pen_end(&pen);
  return SR_OK;
}

static SrStatus
prepare(Sheet* const sheet, SrError* const error)
{
  SrStatus status = write_words(sheet, error);
  cairo_t* const cairo = sr_pen_measuring();
  SrPen pen;
  if (status == SR_OK) {
    status = SR_NO_MEMORY;
    if (sr_pen_begin(&pen, cairo)) {
      status = lay_out(sheet, &pen, error);
      sr_pen_end(&pen);
    }
  }
  cairo_destroy(cairo);
  return status == SR_NO_MEMORY
             ? sr_error_set(error, status, "There is not enough memory to draw the picture.")
             : status;
}

SrStatus
sr_page_two_takes(const char* const path, const SrTwoTakesPage* const page, SrError* const error)
{
  Sheet sheet = {.page = page, .theme = sr_theme(false)};
  SrStatus status = sr_picture_check(path, error);
  if (status == SR_OK) {
    status = prepare(&sheet, error);
  }
  if (status == SR_OK) {
    const SrPicture picture = {.title = sheet.title,
                               .width = SR_A4_SHORT,
                               .height = SR_A4_LONG,
                               .pages = 1,
                               .draw = draw_page,
                               .context = &sheet};
    status = sr_picture_write(path, &picture, error);
  }
  sr_two_rounds_del(sheet.rounds);
  sr_two_bars_del(sheet.bars, sheet.bar_count);
  sr_page_words_clear(&sheet.kept);
  return status;
}
