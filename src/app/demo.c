// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "help.h"
#include "say.h"

#include <steadyreed/data_place.h>
#include <steadyreed/judged_take.h>
#include <steadyreed/show.h>

#include <getopt.h>
#include <stdlib.h>
#include <string.h>

static const char name[] = "demo";

enum { ALL = 256 };

static const struct option options[] = {
    {"all", no_argument, NULL, ALL},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/// Print the music lines of an ABC file: those that are neither fields nor comments.
static void
print_music(const char* const path)
{
  FILE* const file = fopen(path, "r");
  if (!file) {
    return;
  }
  char line[256];
  while (fgets(line, sizeof(line), file)) {
    const bool field = line[0] && line[1] == ':' && line[0] != '|';
    if (!field && line[0] != '%' && line[0] != '\n') {
      sr_say_abc(stdout, line, 4);
    }
  }
  fclose(file);
}

/// Quotation mark for a path that needs quoting in a shell.
static const char*
quote_of(const char* const path)
{
  return strpbrk(path, " \t\"'$&;()*?[]\\`!<>|") ? (strchr(path, '\'') ? "\"" : "'") : "";
}

static void
print_introduction(const char* const phrase_path, const char* const take_path)
{
  sr_say_text(stdout,
              "The phrase is a drill for cuts, in ABC notation; {c} before a note is a cut:\n\n");
  print_music(phrase_path);
  sr_say_text(
      stdout,
      "\nThe take is made from recorded free reeds, with faults put in. This judges it:\n\n");
  sr_say_command(stdout, "    steadyreed assess %s%s%s %s%s%s", quote_of(phrase_path), phrase_path,
                 quote_of(phrase_path), quote_of(take_path), take_path, quote_of(take_path));
  fputc('\n', stdout);
}

static void
print_what_next(const char* const phrase_path)
{
  const char* const quote = quote_of(phrase_path);
  sr_say_text(stdout, "\nWhat to try next\n  Hear how the drill goes (volume low at first):\n");
  sr_say_command(stdout, "    steadyreed sound %s%s%s", quote, phrase_path, quote);
  sr_say_text(stdout, "  Record yourself playing it a few times over, say as mine.wav, then:\n");
  sr_say_command(stdout, "    steadyreed assess %s%s%s mine.wav", quote, phrase_path, quote);
  sr_say_text(stdout, "  Do the same with two bars of the jig you are learning:\n"
                      "    steadyreed assess --help\n");
}

/// Judge the shipped take and show it. Returns an exit status.
static int
show_take(const char* const phrase_path, const char* const take_path, const bool all_notes)
{
  SrError error = {0};
  SrPhrase* phrase = NULL;
  if (sr_phrase_read_file(phrase_path, NULL, &phrase, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  int status = SR_EXIT_DONE;
  SrJudgedTake take;
  if (sr_judged_take_make(phrase, take_path, NULL, false, &take) == SR_OK) {
    const SrShownTake shown = {
        take_path,        phrase, take.assessment, &take.error, (const char* const*)take.remarks,
        take.remark_count};
    SrShowStyle style = sr_say_style(stdout);
    style.all_notes = all_notes;
    print_introduction(phrase_path, take_path);
    sr_show_text(stdout, &shown, &style);
    print_what_next(phrase_path);
  } else {
    sr_say_error(&take.error);
    status = SR_EXIT_NOT_JUDGED;
  }
  sr_judged_take_clear(&take);
  sr_phrase_del(phrase);
  return status;
}

int
sr_command_demo(const int count, char** const arguments)
{
  bool all_notes = false;
  opterr = 0;
  optind = 1;
  int option;
  while ((option = getopt_long(count, arguments, ":h", options, NULL)) != -1) {
    switch (option) {
    case ALL:
      all_notes = true;
      break;
    case 'h':
      sr_say_help(stdout, sr_help_demo);
      return sr_say_flush(stdout, "standard output");
    default:
      return sr_say_bad_option(name, option, optopt, arguments[optind - 1]);
    }
  }
  if (optind < count) {
    return sr_say_usage(name, "this command takes no files; to judge a take of your own use "
                              "`steadyreed assess PHRASE TAKE`.");
  }
  SrError error = {0};
  char* phrase_path = NULL;
  char* take_path = NULL;
  int status = SR_EXIT_NOT_JUDGED;
  if (sr_data_place("exercises/three-as.abc", &phrase_path, &error) == SR_OK &&
      sr_data_place("takes/demo.flac", &take_path, &error) == SR_OK && phrase_path && take_path) {
    status = show_take(phrase_path, take_path, all_notes);
  } else {
    sr_say_error(&error);
  }
  free(phrase_path);
  free(take_path);
  const int written = sr_say_flush(stdout, "standard output");
  return status ? status : written;
}
