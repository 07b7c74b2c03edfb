// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_sheet.h"

#include "draw_level.h"
#include "draw_small_rounds.h"
#include "pen_wrap.h"
#include "picture_file.h"
#include "round_layout.h"
#include "take_sheet_texts.h"
#include "tally.h"
#include "verdict_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MARGIN 30.0 ///< Above and below
#define SIDE 30.0   ///< Left and right
#define WIDTH (SR_A4_SHORT - 2.0 * SIDE)
#define BETWEEN 9.0

#define TITLE_SIZE 19.0
#define FACTS_SIZE 11.0
#define HEADING_SIZE 11.5
#define SUMMARY_SIZE 10.0
#define KEY_SIZE 8.5
#define FAULT_SIZE 10.0
#define NOTE_SIZE 8.0
#define FOOT_SIZE 7.5

/// The advice is as large as this allows.
#define ADVICE_LARGEST 34.0
#define ADVICE_SMALLEST 21.0
#define ADVICE_HEIGHT 106.0

/// Largest letters in the picture.
#define PICTURE_MOST 17.0
/// Below this size of its letters, the picture takes height from what is under it.
#define PICTURE_LEAST 11.0
/// Height kept for what is under the picture.
#define LEAST_BOTTOM 150.0
#define MOST_BOTTOM 265.0
#define BOTTOM_STEP 20.0

/// The two columns at the bottom.
#define COLUMNS 18.0
#define RIGHT_WIDTH 224.0
#define LEFT_WIDTH (WIDTH - RIGHT_WIDTH - COLUMNS)
#define PLACE_WIDTH 40.0
#define NAME_WIDTH 46.0

#define SCORE_SIZE 27.0
#define SCORES_HEIGHT 62.0
#define CURVE_LEAST 58.0
#define CURVE_MOST 92.0

struct SrTakeSheetImpl {
  const SrTakePage* page;
  const SrRound* round;
  size_t index; ///< Of the round
  SrTheme theme;
  SrTakeTexts texts;
  SrRoundPicture* picture;
  double advice_size;
  double advice_top;
  double heading_top;
  double picture_top;
  double key_top;
  double rounds_top;
  double bottom_top;
  double notes_top;
  double foot_top;
};

size_t
sr_page_faulty_cuts(const SrRound* const round, size_t notes[SR_PAGE_MOST_CURVES])
{
  size_t count = 0;
  for (size_t i = 0; i < round->note_count && count < SR_PAGE_MOST_CURVES; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    if (note->status == SR_NOTE_PLAYED && note->has_cut && note->cut.verdict != SR_CUT_CLEAN &&
        isfinite(sr_page_curve_middle_s(note))) {
      notes[count++] = i;
    }
  }
  return count;
}

double
sr_page_curve_middle_s(const SrNoteVerdict* const note)
{
  return isfinite(note->cut.onset_s) ? note->cut.onset_s
         : isfinite(note->onset_s)   ? note->onset_s
                                     : note->due_s;
}

static SrWrap
wrap_of(const SrTakeSheet* const sheet, const double size, const double width, const bool strong)
{
  const SrWrap wrap = {.font = {.size = size,
                                .bold = strong,
                                .colour = strong ? sheet->theme.ink : sheet->theme.soft},
                       .width = width};
  return wrap;
}

static SrWrap
advice_wrap(const SrTakeSheet* const sheet, const double size)
{
  SrWrap wrap = wrap_of(sheet, size, WIDTH, true);
  wrap.leading = 1.12;
  wrap.most = (size_t)fmax(1.0, ADVICE_HEIGHT / (1.12 * size));
  return wrap;
}

/// Choose the size of the advice; returns its height.
static double
size_advice(SrTakeSheet* const sheet, const SrPen* const pen)
{
  double size = ADVICE_LARGEST;
  double height = 0.0;
  for (;;) {
    SrWrap wrap = advice_wrap(sheet, size);
    wrap.most = 0;
    height = sr_pen_wrap_height(&wrap, sr_pen_wrap_lines(pen, &wrap, sheet->texts.advice));
    if (height <= ADVICE_HEIGHT || size <= ADVICE_SMALLEST) {
      break;
    }
    size -= 1.0;
  }
  sheet->advice_size = size;
  return fmin(height, ADVICE_HEIGHT);
}

static double
notes_height(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  SrWrap wrap = wrap_of(sheet, NOTE_SIZE, WIDTH, false);
  wrap.most = 2;
  double height = 0.0;
  for (size_t i = 0; i < sheet->texts.note_count; ++i) {
    const size_t lines = sr_pen_wrap_lines(pen, &wrap, sheet->texts.notes[i]);
    height += sr_pen_wrap_height(&wrap, lines < wrap.most ? lines : wrap.most);
  }
  return height;
}

static SrWrap
fault_wrap(const SrTakeSheet* const sheet, const SrPageFault* const fault)
{
  const bool whole = !*fault->name;
  SrWrap wrap =
      wrap_of(sheet, FAULT_SIZE, whole ? LEFT_WIDTH : LEFT_WIDTH - PLACE_WIDTH - NAME_WIDTH, false);
  wrap.font.colour = sheet->theme.ink;
  wrap.most = 3;
  return wrap;
}

static double
fault_height(const SrTakeSheet* const sheet, const SrPen* const pen, const SrPageFault* const fault)
{
  const SrWrap wrap = fault_wrap(sheet, fault);
  const size_t lines = sr_pen_wrap_lines(pen, &wrap, fault->words);
  return sr_pen_wrap_height(&wrap, lines < wrap.most ? lines : wrap.most) + 2.0;
}

/// Height that all of the bottom would need.
static double
bottom_wish(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  double left = HEADING_SIZE * 1.7;
  for (size_t i = 0; i < sheet->texts.fault_count; ++i) {
    left += fault_height(sheet, pen, &sheet->texts.faults[i]);
  }
  const size_t rows = (sheet->page->curve_count + 1) / 2;
  const double right = SCORES_HEIGHT + (double)rows * (CURVE_MOST + BETWEEN);
  return fmax(left, right);
}

static SrStatus
make_picture(SrTakeSheet* const sheet, const double height, SrError* const error)
{
  const SrTakePage* const page = sheet->page;
  const SrRoundStyle style = {.most_size = PICTURE_MOST};
  const SrPicturedRound pictured = {.phrase = page->take.phrase,
                                    .round = sheet->round,
                                    .reached = SR_REACHED_ALL,
                                    .plan = page->plan,
                                    .instrument = page->instrument};
  return sr_round_picture_new(&pictured, &style, WIDTH, height, &sheet->picture, error);
}

/// Height of the key. A picture is needed for it, of any size.
static double
key_height(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  const SrArea area = {SIDE, 0.0, WIDTH, 0.0};
  return sr_draw_round_key(sheet->picture, NULL, pen, &area, KEY_SIZE, false);
}

static SrStatus
lay_out(SrTakeSheet* const sheet, const SrPen* const pen, SrError* const error)
{
  const SrTakeTexts* const texts = &sheet->texts;
  const bool several = sheet->page->take.assessment->round_count > 1;
  SrWrap facts = wrap_of(sheet, FACTS_SIZE, WIDTH, false);
  const SrWrap summary = wrap_of(sheet, SUMMARY_SIZE, WIDTH, false);
  sheet->foot_top = SR_A4_LONG - MARGIN - FOOT_SIZE;
  sheet->notes_top = sheet->foot_top - 5.0 - notes_height(sheet, pen);
  sheet->advice_top = MARGIN + 1.25 * TITLE_SIZE +
                      sr_pen_wrap_height(&facts, sr_pen_wrap_lines(pen, &facts, texts->facts)) +
                      BETWEEN;
  sheet->heading_top = sheet->advice_top + size_advice(sheet, pen) + BETWEEN;
  sheet->picture_top =
      sheet->heading_top + 1.35 * HEADING_SIZE +
      sr_pen_wrap_height(&summary, sr_pen_wrap_lines(pen, &summary, texts->summary)) + 4.0;
  const double rounds = several ? SR_SMALL_ROUNDS_HEIGHT + BETWEEN : 0.0;
  const double rest = sheet->notes_top - sheet->picture_top - rounds - 3.0 * BETWEEN;
  double bottom = fmin(MOST_BOTTOM, fmax(LEAST_BOTTOM, bottom_wish(sheet, pen)));
  // The key is as tall whatever size the picture has
  SrStatus status = make_picture(sheet, rest, error);
  if (status != SR_OK) {
    return status;
  }
  const double key = key_height(sheet, pen);
  for (;;) {
    sr_round_picture_del(sheet->picture);
    sheet->picture = NULL;
    status = make_picture(sheet, rest - bottom - key, error);
    if (status != SR_OK) {
      return status;
    }
    if (sheet->picture->rows.size >= PICTURE_LEAST || bottom <= LEAST_BOTTOM) {
      break;
    }
    bottom = fmax(LEAST_BOTTOM, bottom - BOTTOM_STEP);
  }
  sheet->key_top = sheet->picture_top + sr_round_picture_height(sheet->picture) + 0.6 * BETWEEN;
  sheet->rounds_top = sheet->key_top + key + BETWEEN;
  sheet->bottom_top = sheet->rounds_top + rounds + 0.5 * BETWEEN;
  return SR_OK;
}

// Drawing ---------------------------------------------------------------------------------------

static void
draw_head(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  const SrFont title = {.size = TITLE_SIZE,
                        .bold = true,
                        .colour = sheet->theme.soft,
                        .most_width = WIDTH,
                        .smallest = 0.65};
  const SrWrap facts = wrap_of(sheet, FACTS_SIZE, WIDTH, false);
  const SrWrap advice = advice_wrap(sheet, sheet->advice_size);
  sr_pen_say(pen, &title, sheet->texts.title, SIDE, MARGIN);
  (void)sr_pen_wrap_say(pen, &facts, sheet->texts.facts, SIDE, MARGIN + 1.25 * TITLE_SIZE);
  (void)sr_pen_wrap_say(pen, &advice, sheet->texts.advice, SIDE, sheet->advice_top);
}

static void
draw_round(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  const SrFont heading = {.size = HEADING_SIZE, .bold = true, .colour = sheet->theme.ink};
  const SrWrap summary = wrap_of(sheet, SUMMARY_SIZE, WIDTH, false);
  const SrArea key = {SIDE, sheet->key_top, WIDTH, 0.0};
  sr_pen_say(pen, &heading, sheet->texts.heading, SIDE, sheet->heading_top);
  (void)sr_pen_wrap_say(pen, &summary, sheet->texts.summary, SIDE,
                        sheet->heading_top + 1.35 * HEADING_SIZE);
  sr_round_draw(sheet->picture, pen, SIDE, sheet->picture_top);
  (void)sr_draw_round_key(sheet->picture, NULL, pen, &key, KEY_SIZE, true);
  if (sheet->page->take.assessment->round_count > 1) {
    const SrArea rounds = {SIDE, sheet->rounds_top, WIDTH, SR_SMALL_ROUNDS_HEIGHT};
    sr_draw_small_rounds(pen, &sheet->theme, sheet->page->take.assessment, sheet->index, &rounds);
  }
}

static void
say_fault(const SrTakeSheet* const sheet, const SrPen* const pen, const SrPageFault* const fault,
          const double top)
{
  const SrFont place = {
      .size = FAULT_SIZE, .colour = sheet->theme.soft, .most_width = PLACE_WIDTH - 4.0};
  const SrFont name = {
      .size = FAULT_SIZE, .bold = true, .colour = sheet->theme.ink, .most_width = NAME_WIDTH - 4.0};
  const SrWrap wrap = fault_wrap(sheet, fault);
  const double left = *fault->name ? SIDE + PLACE_WIDTH + NAME_WIDTH : SIDE;
  if (*fault->name) {
    sr_pen_say(pen, &place, fault->place, SIDE, top);
    sr_pen_say(pen, &name, fault->name, SIDE + PLACE_WIDTH, top);
  }
  (void)sr_pen_wrap_say(pen, &wrap, fault->words, left, top);
}

/// Say what went wrong as far as it fits, and how much more there is.
static void
draw_faults(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  const SrTakeTexts* const texts = &sheet->texts;
  const SrFont heading = {.size = HEADING_SIZE, .bold = true, .colour = sheet->theme.ink};
  const SrFont font = {.size = FAULT_SIZE, .colour = sheet->theme.soft};
  const double bottom = sheet->notes_top - 3.0;
  double y = sheet->bottom_top + 1.7 * HEADING_SIZE;
  sr_pen_say(pen, &heading, texts->fault_count ? "What went wrong" : "Nothing went wrong", SIDE,
             sheet->bottom_top);
  for (size_t i = 0; i < texts->fault_count; ++i) {
    const double height = fault_height(sheet, pen, &texts->faults[i]);
    const double more = i + 1 < texts->fault_count ? 1.3 * FAULT_SIZE : 0.0;
    if (y + height + more > bottom) {
      char words[64];
      snprintf(words, sizeof(words), "and %zu more", texts->fault_count - i);
      sr_pen_say(pen, &font, words, SIDE, y);
      return;
    }
    say_fault(sheet, pen, &texts->faults[i], y);
    y += height;
  }
}

static void
draw_scores(const SrTakeSheet* const sheet, const SrPen* const pen, const double left)
{
  const SrScores* const scores = &sheet->round->scores;
  const struct {
    const char* name;
    double score;
  } each[] = {{"cuts", scores->cuts}, {"evenness", scores->evenness}, {"air", scores->air}};
  const SrFont heading = {.size = HEADING_SIZE, .bold = true, .colour = sheet->theme.ink};
  const SrFont number = {.size = SCORE_SIZE, .bold = true, .colour = sheet->theme.ink};
  const SrFont name = {.size = 9.5, .colour = sheet->theme.soft};
  const double top = sheet->bottom_top + 1.6 * HEADING_SIZE;
  double x = left;
  sr_pen_say(pen, &heading, "Scores out of 100", left, sheet->bottom_top);
  for (size_t i = 0; i < sizeof(each) / sizeof(each[0]); ++i) {
    if (isfinite(each[i].score)) {
      char words[16];
      snprintf(words, sizeof(words), "%.0f", each[i].score);
      sr_pen_say(pen, &number, words, x, top);
      sr_pen_say(pen, &name, each[i].name, x, top + SCORE_SIZE);
      x += RIGHT_WIDTH / 3.0;
    }
  }
}

static void
draw_curves(const SrTakeSheet* const sheet, const SrPen* const pen, const double left)
{
  size_t notes[SR_PAGE_MOST_CURVES];
  const SrNaming naming = sr_naming_of(sheet->page->take.phrase);
  const size_t faulty = sr_page_faulty_cuts(sheet->round, notes);
  const size_t count = sheet->page->curve_count < faulty ? sheet->page->curve_count : faulty;
  const double top = sheet->bottom_top + SCORES_HEIGHT;
  const double room = sheet->notes_top - 4.0 - top;
  const size_t rows = (count + 1) / 2;
  const double each = rows ? fmin(CURVE_MOST, (room + BETWEEN) / (double)rows - BETWEEN) : 0.0;
  const size_t shown = each >= CURVE_LEAST ? count : count < 2 ? count : 2;
  const double height = each >= CURVE_LEAST ? each : fmin(CURVE_MOST, room);
  for (size_t i = 0; i < shown && height >= CURVE_LEAST; ++i) {
    const SrNoteVerdict* const note = &sheet->round->notes[notes[i]];
    const size_t row = i / 2;
    const double width = shown == 1 ? RIGHT_WIDTH : (RIGHT_WIDTH - BETWEEN) / 2.0;
    const SrArea area = {left + (double)(i % 2) * (width + BETWEEN),
                         top + (double)row * (height + BETWEEN), width, height};
    char name[SR_NOTE_NAME_SIZE];
    char title[SR_NOTE_NAME_SIZE + 48];
    snprintf(title, sizeof(title), "bar %d, %s: %s", note->bar,
             sr_words_note_name(&naming, sheet->round, notes[i], name),
             sr_cut_word(note->cut.verdict));
    sr_draw_level(pen, &sheet->theme, &sheet->page->curves[i], note, title, &area);
  }
}

static void
draw_foot(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  SrWrap wrap = wrap_of(sheet, NOTE_SIZE, WIDTH, false);
  wrap.most = 2;
  double y = sheet->notes_top;
  for (size_t i = 0; i < sheet->texts.note_count; ++i) {
    y += sr_pen_wrap_say(pen, &wrap, sheet->texts.notes[i], SIDE, y);
  }
  const SrFont foot = {.size = FOOT_SIZE, .colour = sheet->theme.soft, .most_width = WIDTH};
  sr_pen_say(pen, &foot, sheet->texts.foot, SIDE, sheet->foot_top);
}

void
sr_take_sheet_draw(const SrTakeSheet* const sheet, const SrPen* const pen)
{
  const double right = SIDE + LEFT_WIDTH + COLUMNS;
  draw_head(sheet, pen);
  draw_round(sheet, pen);
  draw_faults(sheet, pen);
  draw_scores(sheet, pen, right);
  draw_curves(sheet, pen, right);
  draw_foot(sheet, pen);
}

// Making ----------------------------------------------------------------------------------------

static SrStatus
measure(SrTakeSheet* const sheet, SrError* const error)
{
  cairo_t* const cairo = sr_pen_measuring();
  SrPen pen;
  SrStatus status = SR_NO_MEMORY;
  if (sr_pen_begin(&pen, cairo)) {
    status = lay_out(sheet, &pen, error);
    sr_pen_end(&pen);
  }
  cairo_destroy(cairo);
  return status;
}

SrStatus
sr_take_sheet_new(const SrTakePage* const page, SrTakeSheet** const sheet, SrError* const error)
{
  const SrAssessment* const assessment = page->take.assessment;
  *sheet = NULL;
  if (!assessment || !assessment->round_count || !page->take.phrase ||
      page->curve_count > SR_PAGE_MOST_CURVES) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "There is no page of a take that was not judged.");
  }
  SrTakeSheet* const made = calloc(1, sizeof(SrTakeSheet));
  SrStatus status = SR_NO_MEMORY;
  if (made) {
    made->page = page;
    made->index = sr_page_round(assessment);
    made->round = &assessment->rounds[made->index];
    made->theme = sr_theme(false);
    status = sr_take_texts_make(page, made->index, &made->texts);
  }
  if (status == SR_OK) {
    status = measure(made, error);
  }
  if (status != SR_OK) {
    sr_take_sheet_del(made);
    return status == SR_NO_MEMORY
               ? sr_error_set(error, status, "There is not enough memory to draw the picture.")
               : status;
  }
  *sheet = made;
  return SR_OK;
}

const char*
sr_take_sheet_title(const SrTakeSheet* const sheet)
{
  return sheet->texts.title;
}

void
sr_take_sheet_del(SrTakeSheet* const sheet)
{
  if (sheet) {
    sr_round_picture_del(sheet->picture);
    sr_take_texts_clear(&sheet->texts);
    free(sheet);
  }
}
