// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_options.h"

#include "command.h"
#include "option_values.h"
#include "say.h"

#include <steadyreed/layout.h>
#include <steadyreed/planned_places.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

SrPlanOptions
sr_plan_options_none(void)
{
  return (SrPlanOptions){.wish = sr_plan_wish_default()};
}

/// Add a text to a list. 0, or an exit status.
static int
add(const char*** const list, const char* const** const seen, size_t* const count,
    const char* const text)
{
  const char** const more = (const char**)realloc(*list, (*count + 1) * sizeof(*more));
  if (!more) {
    sr_say_line("steadyreed: There is not enough memory for that many pins.");
    return SR_EXIT_NOT_JUDGED;
  }
  more[(*count)++] = text;
  *list = more;
  *seen = more;
  return 0;
}

int
sr_plan_option(const char* const command, const int option, const char* const text,
               SrPlanOptions* const options)
{
  SrPlanWish* const wish = &options->wish;
  double percent = 0.0;
  int trouble = 0;
  options->named = true;
  switch (option) {
  case SR_OPTION_INSTRUMENT:
    wish->layout = options->named_layout = text;
    break;
  case SR_OPTION_STYLE:
    wish->style = options->named_style = text;
    break;
  case SR_OPTION_OPEN:
    trouble = sr_option_number(command, "--open", "percent", text, 0.0, 100.0, &percent);
    wish->open = percent / 100.0;
    break;
  case SR_OPTION_PIN:
    trouble = add(&options->pins, &wish->pins, &wish->pin_count, text);
    break;
  case SR_OPTION_CUT:
    trouble = add(&options->cuts, &wish->cuts, &wish->cut_count, text);
    break;
  default:
    break;
  }
  return trouble;
}

void
sr_plan_options_recall(SrPlanOptions* const options)
{
  SrError error = {0};
  if (sr_preferences_read(&options->remembered, &error) != SR_OK) {
    sr_say_error(&error);
  }
  if (!options->wish.layout) {
    options->wish.layout = options->remembered.layout;
  }
  if (!options->wish.style) {
    options->wish.style = options->remembered.style;
  }
}

/// Whether a style is a shipped one.
static bool
is_shipped(const char* const style)
{
  for (size_t i = 0; i < SR_PLAN_STYLES; ++i) {
    if (!strcmp(style, sr_plan_wish_style_name(i))) {
      return true;
    }
  }
  return false;
}

const char*
sr_plan_options_style_file(const SrPlanOptions* const options)
{
  const char* const style = options->wish.style;
  return style && !is_shipped(style) ? style : NULL;
}

/// A style in words, such as "along the rows".
static void
style_words(const char* const style, char* const words, const size_t size)
{
  if (is_shipped(style)) {
    snprintf(words, size, "%s the rows", style);
  } else {
    snprintf(words, size, "as in %s", style);
  }
}

void
sr_plan_options_words(const char* const layout, const char* const style, char* const words,
                      const size_t size)
{
  char played[SR_PREFERENCE_MOST_BYTES + 16] = "";
  if (style) {
    style_words(style, played, sizeof(played));
  }
  snprintf(words, size, "%s%s%s%s", layout ? "for " : "", layout ? layout : "",
           layout && style ? ", " : "", played);
}

/// Say what was chosen before; either may be NULL.
static void
say_before(const char* const layout, const char* const style)
{
  if (!layout && !style) {
    return;
  }
  char words[SR_CHOICE_WORDS_SIZE];
  sr_plan_options_words(layout, style, words, sizeof(words));
  fflush(stdout);
  sr_say_indented(stderr, 2, "Note: planned %s, as you chose before; %s it.", words,
                  layout && style ? "--instrument and --style change"
                  : layout        ? "--instrument changes"
                                  : "--style changes");
}

void
sr_plan_options_say(const SrPlanOptions* const options, const bool usual)
{
  const char* layout = options->named_layout ? NULL : options->remembered.layout;
  const char* style = options->named_style ? NULL : options->remembered.style;
  if (!usual && layout && !strcmp(layout, SR_USUAL_LAYOUT)) {
    layout = NULL;
  }
  if (!usual && style && !strcmp(style, sr_plan_wish_style_name(0))) {
    style = NULL;
  }
  say_before(layout, style);
}

void
sr_plan_options_say_layout(const SrPlanOptions* const options)
{
  const char* const layout = options->named_layout ? NULL : options->remembered.layout;
  say_before(layout && strcmp(layout, SR_USUAL_LAYOUT) != 0 ? layout : NULL, NULL);
}

/// Path of a file that can be found from any folder; a copy of a name. NULL without memory.
static char*
lasting(const char* const value, const bool file)
{
  char* const whole = file ? realpath(value, NULL) : NULL;
  return whole ? whole : strdup(value);
}

/// A layout as it will be found from any folder; NULL if none is named, or without memory.
static char*
lasting_layout(const SrPlanOptions* const options)
{
  if (!options->named_layout) {
    return NULL;
  }
  // A layout that is named by its path is found at that path
  char* const place = sr_layout_place(options->named_layout);
  const bool file = place && !strcmp(place, options->named_layout);
  free(place);
  return lasting(options->named_layout, file);
}

void
sr_plan_options_remember(const SrPlanOptions* const options)
{
  if (!options->named_layout && !options->named_style) {
    return;
  }
  SrError error = {0};
  bool changed = false;
  char* const layout = lasting_layout(options);
  char* const style = options->named_style
                          ? lasting(options->named_style, !is_shipped(options->named_style))
                          : NULL;
  if (sr_preferences_keep(layout, style, &changed, &error) != SR_OK) {
    sr_say_error(&error);
  } else if (changed) {
    char words[SR_CHOICE_WORDS_SIZE];
    sr_plan_options_words(layout, style, words, sizeof(words));
    fflush(stdout);
    sr_say_indented(stderr, 2,
                    "Note: from now on, plans are %s, until you choose again; `steadyreed setup "
                    "--forget` forgets it.",
                    words);
  }
  free(layout);
  free(style);
}

int
sr_plan_options_refuse(const SrPlanOptions* const options, const char* const command,
                       const SrError* const error)
{
  if (error->status == SR_BAD_ARGUMENT) {
    return sr_say_usage(command, "%s", error->message);
  }
  sr_say_error(error);
  sr_plan_options_say(options, true);
  return SR_EXIT_NOT_JUDGED;
}

/// Report why there is no plan. Returns an exit status, 0 if nothing was named that asks for one.
static int
refuse(const SrPlanOptions* const options, const char* const command, const SrError* const error)
{
  if (!options->named && error->status != SR_NO_MEMORY) {
    char text[SR_ERROR_MESSAGE_SIZE + SR_ERROR_FILE_SIZE + 64];
    sr_say_indented(stderr, 2,
                    "Note: judged without a plan, so no buttons are named: %s `steadyreed setup "
                    "--forget` forgets what you chose before.",
                    sr_error_print(error, text, sizeof(text)));
    return 0;
  }
  return sr_plan_options_refuse(options, command, error);
}

int
sr_plan_options_places(const SrPlanOptions* const options, const char* const command,
                       const bool remember, const double bpm, SrPhrase* const phrase,
                       char*** const places)
{
  *places = NULL;
  if (!options->named && !options->wish.layout && !options->wish.style) {
    return 0;
  }
  SrSetup setup;
  SrError error = {0};
  sr_setup_read_or_say(&setup);
  const SrStatus status = sr_plan_places(&options->wish, &setup, bpm, phrase, places, &error);
  sr_setup_clear(&setup);
  if (status != SR_OK) {
    return refuse(options, command, &error);
  }
  sr_plan_options_say(options, true);
  if (remember) {
    sr_plan_options_remember(options);
  }
  return 0;
}

void
sr_plan_options_clear(SrPlanOptions* const options)
{
  free(options->pins);
  free(options->cuts);
  sr_preferences_clear(&options->remembered);
  *options = sr_plan_options_none();
}
