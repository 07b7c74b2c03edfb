// SPDX-License-Identifier: GPL-3.0-or-later

// What a player reads while practising, for news that are put in by hand.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "app/terminal_view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char tune[] = "X:1\nT:Eight\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|]\n";

typedef struct {
  SrPhrase* phrase;
  FILE* stream;
  char* text;
  size_t size;
  SrTerminalView view;
} Screen;

static int
begin(void** const state)
{
  Screen* const screen = (Screen*)calloc(1, sizeof(Screen));
  assert_non_null(screen);
  assert_int_equal(
      sr_phrase_read_text(tune, strlen(tune), "eight.abc", NULL, &screen->phrase, NULL), SR_OK);
  screen->stream = open_memstream(&screen->text, &screen->size);
  screen->view = sr_terminal_view(screen->stream, screen->phrase, false, false);
  *state = screen;
  return 0;
}

static int
end(void** const state)
{
  Screen* const screen = (Screen*)*state;
  sr_view_clear(&screen->view);
  fclose(screen->stream);
  free(screen->text);
  sr_phrase_del(screen->phrase);
  free(screen);
  return 0;
}

static void
note(Screen* const screen, const SrSessionEventKind kind, const size_t index,
     const SrNoteStatus status)
{
  const SrPhraseNote* const written = sr_phrase_note(screen->phrase, index);
  const SrSessionEvent event = {
      .kind = kind,
      .note.verdict = {.index = index,
                       .bar = written->bar,
                       .midi = written->midi,
                       .heard_midi = status == SR_NOTE_WRONG ? 40 : written->midi,
                       .joined = SR_NOT_ASKED,
                       .status = status}};
  sr_view_heard(&screen->view, &event);
}

/// Lines so far.
static size_t
lines(const Screen* const screen)
{
  fflush(screen->stream);
  size_t count = 0;
  for (const char* at = screen->text; at && (at = strchr(at, '\n')); ++at) {
    ++count;
  }
  return count;
}

/// Notes reported, reported otherwise and begun again without an end, as when another tune is
/// played, do not fill the screen; once the phrase is played they are reported again.
static void
another_tune(void** const state)
{
  Screen* const screen = (Screen*)*state;
  for (size_t i = 0; i < 200; ++i) {
    note(screen, SR_SESSION_NOTE, i % 3, SR_NOTE_PLAYED);
    note(screen, SR_SESSION_AMENDED, i % 3, SR_NOTE_WRONG);
    note(screen, SR_SESSION_AMENDED, i % 3, SR_NOTE_MISSED);
    if (i % 3 == 2) {
      sr_view_heard(&screen->view, &(SrSessionEvent){.kind = SR_SESSION_AGAIN});
    }
  }
  assert_in_range(lines(screen), 5, 25);
  assert_non_null(strstr(screen->text, "not the phrase; notes show again"));
  const size_t before = lines(screen);
  for (size_t i = 0; i < 8; ++i) {
    note(screen, SR_SESSION_NOTE, i, SR_NOTE_PLAYED);
  }
  assert_int_equal(lines(screen), before + 3);
}

/// A player with more faults than not is reported all of them, as long as the notes go on.
static void
many_faults(void** const state)
{
  Screen* const screen = (Screen*)*state;
  for (size_t i = 0; i < 8; ++i) {
    note(screen, SR_SESSION_NOTE, i, i % 3 ? SR_NOTE_WRONG : SR_NOTE_PLAYED);
  }
  assert_int_equal(lines(screen), 8);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(another_tune, begin, end),
      cmocka_unit_test_setup_teardown(many_faults, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
