// SPDX-License-Identifier: GPL-3.0-or-later

// Writes the completion of bash from the options that `--help` tells.

#include "../help.h"
#include "../help_line.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/// What may stand for the value of an option, by its name in the help, as words of bash.
static const struct {
  const char* name;
  const char* words;
} values[] = {
    {"FILE", "files"},
    {"OUT", "files"},
    {"RESULTS", "files"},
    {"TAKE.json", "files"},
    {"L", "layouts"},
    {"LAYOUT", "layouts"},
    {"STYLE", "words across along"},
    {"WHAT", "words pulses bars"},
    {"STEP", "words room latency reeds bellows"},
    {"K", "words C G D A F Bb"},
};

/// The next word of a term; false at its end.
static bool
next_word(const char** const at, const char* const end, size_t* const size)
{
  while (*at < end && **at == ' ') {
    ++*at;
  }
  *size = 0;
  while (*at + *size < end && (*at)[*size] != ' ') {
    ++*size;
  }
  return *size > 0;
}

/// Write what begins a case for the option at `word`, without a comma at its end.
static void
write_option(const char* const word, const size_t size)
{
  printf("%.*s", (int)(word[size - 1] == ',' ? size - 1 : size), word);
}

/// Write the options of a term or, with `names`, the word that it is.
static void
write_names(const SrHelpLine* const line, const bool names)
{
  const char* at = line->text;
  size_t size;
  for (; next_word(&at, line->text + line->size, &size) && *at == '-'; at += size) {
    if (!names) {
      putchar(' ');
      write_option(at, size);
    }
  }
  if (names && at == line->text + strspn(line->text, " ") && islower((unsigned char)*at)) {
    putchar(' ');
    write_option(at, size);
  }
}

/// What completes the value of a term's options; NULL if they take none, "" if nothing does.
static const char*
value_of(const SrHelpLine* const line)
{
  const char* const end = line->text + line->size;
  const char* at = line->text;
  size_t size;
  if (!next_word(&at, end, &size) || *at != '-') {
    return NULL;
  }
  while (next_word(&at, end, &size) && *at == '-') {
    at += size;
  }
  if (size == 0) {
    return NULL;
  }
  for (size_t i = 0; i < sizeof(values) / sizeof(values[0]); ++i) {
    if (strlen(values[i].name) == size && !strncmp(values[i].name, at, size)) {
      return values[i].words;
    }
  }
  return "";
}

/// Write "|command:--option" for each option of a term, the first without its bar if `first`.
static void
write_patterns(const char* const command, const SrHelpLine* const line, bool first)
{
  const char* at = line->text;
  size_t size;
  for (; next_word(&at, line->text + line->size, &size) && *at == '-'; at += size) {
    printf("%s%s:", first ? "" : "|", command);
    write_option(at, size);
    first = false;
  }
}

/// Write a case for each option of a command whose value can be completed, and one for the others.
static void
write_values_of(const SrHelp* const help)
{
  bool first = true;
  for (int known = 1; known >= 0; --known) {
    const char* rest = help->text;
    for (SrHelpLine line; sr_help_next_line(help, &rest, &line);) {
      const char* const words = line.kind == SR_HELP_TERM ? value_of(&line) : NULL;
      if (!words || (*words != '\0') != known) {
        continue;
      }
      fputs(first ? "    " : "", stdout);
      write_patterns(help->command, &line, first);
      first = false;
      if (known) {
        printf(") _steadyreed_%s; return ;;\n", words);
        first = true;
      }
    }
  }
  fputs(first ? "" : ") return ;;\n", stdout);
}

static void
write_words_of(const SrHelp* const help)
{
  printf("    %s)", *help->command ? help->command : "''");
  for (int names = 0; names <= 1; ++names) {
    printf(names ? "\" words=\"" : " options=\"");
    const char* rest = help->text;
    for (SrHelpLine line; sr_help_next_line(help, &rest, &line);) {
      if (line.kind == SR_HELP_TERM) {
        write_names(&line, names);
      }
    }
  }
  fputs("\" ;;\n", stdout);
}

int
main(void)
{
  fputs(
      "# Completion of steadyreed for bash; made from its help.\n"
      "\n"
      "_steadyreed_nothing() { :; }\n"
      "_steadyreed_words() { mapfile -t COMPREPLY < <(compgen -W \"$*\" -- \"$word\"); }\n"
      "_steadyreed_files() { compopt -o filenames 2>/dev/null; mapfile -t COMPREPLY < <(compgen -f "
      "-- "
      "\"$word\"); }\n"
      "_steadyreed_layouts() {\n"
      "  compopt -o filenames 2>/dev/null\n"
      "  mapfile -t COMPREPLY < <(compgen -f -- \"$word\"\n"
      "    compgen -W \"$(\"$program\" plan --list 2>/dev/null | cut -d ' ' -f 1)\" -- \"$word\")\n"
      "}\n"
      "\n"
      "_steadyreed() {\n"
      "  local program=$1 word=$2 before=$3 command='' options='' words=''\n"
      "  ((COMP_CWORD > 1)) && command=${COMP_WORDS[1]}\n"
      "  COMPREPLY=()\n"
      "  case $command:$before in\n",
      stdout);
  for (size_t i = 1; i < SR_HELP_COUNT; ++i) {
    write_values_of(&sr_helps[i]);
  }
  fputs("  esac\n"
        "  case $command in\n",
        stdout);
  for (size_t i = 0; i < SR_HELP_COUNT; ++i) {
    write_words_of(&sr_helps[i]);
  }
  fputs("    *) return ;;\n"
        "  esac\n"
        "  if [[ $word == -* ]]; then\n"
        "    _steadyreed_words \"$options\"\n"
        "  elif [[ -z $command || ($words && $COMP_CWORD -eq 2) ]]; then\n"
        "    _steadyreed_words \"$words\"\n"
        "  else\n"
        "    _steadyreed_files\n"
        "  fi\n"
        "}\n"
        "complete -F _steadyreed steadyreed\n",
        stdout);
  return fflush(stdout) || ferror(stdout);
}
