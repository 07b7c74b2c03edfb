# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes tuned numbers of a copy of the sources changeable without compiling, for what_moves.py.

A number becomes a variable that the environment can set: STEADYREED_TUNED=NAME=VALUE. Those that the
compiler needs as constants stay as they are. For numbers of judging, what was heard of each take
can be kept too, since it does not depend on them: STEADYREED_KEPT_HEARING is the prefix of the files.
"""

import glob
import os
import re
import subprocess

NUMBER = re.compile(r"^#define ([A-Z][A-Z0-9_]*) (\(?)(-?[0-9.]+(?:e-?[0-9]+)?)([uf]?)(\)?)$", re.M)
VALUES = "src/judge/tuned_values.c"

KEEPING = """
#include <stdio.h>

/// Of the take that is listened to: its samples and the phrase.
static uint64_t take_key;

static void
find_key(const Listening* const l)
{
  take_key = 14695981039346656037u; // FNV-1a
  size_t count;
  while ((count = l->source->read(l->source->from, l->chunk, CHUNK_SAMPLES)) > 0) {
    for (size_t i = 0; i < count; ++i) {
      uint32_t bits;
      memcpy(&bits, &l->chunk[i], sizeof(bits));
      take_key = (take_key ^ bits) * 1099511628211u;
    }
  }
  take_key = (take_key ^ (uint64_t)l->loudest) * 1099511628211u;
  for (size_t i = 0; i < sr_phrase_note_count(l->phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(l->phrase, i);
    take_key = (take_key ^ (uint64_t)(note->midi + 256 * (note->cut_midi + 1))) * 1099511628211u;
  }
  SrError ignored;
  (void)l->source->rewind(l->source->from, &ignored);
}

static FILE*
kept_file(const char* const what, const int reading, const char* const mode)
{
  const char* const prefix = getenv("STEADYREED_KEPT_HEARING");
  // Only what is heard without a change is kept
  if (!prefix || (*mode == 'w' && *getenv("STEADYREED_TUNED"))) {
    return NULL;
  }
  char path[512];
  snprintf(path, sizeof(path), "%s%016llx-%s-%d", prefix, (unsigned long long)take_key, what,
           reading);
  return fopen(path, mode);
}

static bool
read_hearing(const SrReading reading, SrListened* const listened)
{
  FILE* const file = kept_file("heard", (int)reading, "rb");
  size_t counts[3] = {0, 0, 0};
  bool good = file && fread(counts, sizeof(counts), 1, file) == 1;
  if (good) {
    listened->event_count = counts[0];
    listened->air_count = counts[1];
    listened->air_carriage = (SrAirCarriage)counts[2];
    listened->events = (SrEvent*)calloc(counts[0] + 1, sizeof(SrEvent));
    listened->air = (SrAirHeard*)calloc(counts[1] + 1, sizeof(SrAirHeard));
    good = fread(listened->events, sizeof(SrEvent), counts[0], file) == counts[0] &&
           fread(listened->air, sizeof(SrAirHeard), counts[1], file) == counts[1];
  }
  if (file) {
    fclose(file);
  }
  return good;
}

static void
write_hearing(const SrReading reading, const SrListened* const listened)
{
  FILE* const file = kept_file("heard", (int)reading, "wb");
  const size_t counts[3] = {listened->event_count, listened->air_count,
                            (size_t)listened->air_carriage};
  if (file) {
    fwrite(counts, sizeof(counts), 1, file);
    fwrite(listened->events, sizeof(SrEvent), counts[0], file);
    fwrite(listened->air, sizeof(SrAirHeard), counts[1], file);
    fclose(file);
  }
}

static bool
kept_nats(double* const nats, const bool write)
{
  FILE* const file = kept_file("nats", 0, write ? "wb" : "rb");
  const bool good = file && (write ? fwrite(nats, sizeof(*nats), 1, file)
                                   : fread(nats, sizeof(*nats), 1, file)) == 1;
  if (file) {
    fclose(file);
  }
  return good;
}

"""

# What is exchanged in src/live/whole_take.c, each once
EXCHANGED = [
    ("/// First pass: what instrument is it?", KEEPING + "/// First pass: what instrument is it?"),
    (
        "  SrStatus status = sr_calibration_finish(l->calibration, reading, &profile, error);\n"
        "  if (status == SR_OK) {\n"
        "    status = hear(l, profile, listened, error);\n"
        "  }\n",
        "  SrStatus status = SR_OK;\n"
        "  if (!read_hearing(reading, listened)) {\n"
        "    if (!l->calibration) {\n"
        "      (void)l->source->rewind(l->source->from, error);\n"
        "      status = calibration((Listening*)l, error);\n"
        "    }\n"
        "    status = status == SR_OK\n"
        "                 ? sr_calibration_finish(l->calibration, reading, &profile, error)\n"
        "                 : status;\n"
        "    if (status == SR_OK) {\n"
        "      status = hear(l, profile, listened, error);\n"
        "    }\n"
        "    if (status == SR_OK) {\n"
        "      write_hearing(reading, listened);\n"
        "    }\n"
        "  }\n",
    ),
    (
        "  const double nats = sr_calibration_doubled_nats(l->calibration);\n",
        "  double nats;\n"
        "  if (!kept_nats(&nats, false)) {\n"
        "    nats = sr_calibration_doubled_nats(l->calibration);\n"
        "    (void)kept_nats(&nats, true);\n"
        "  }\n",
    ),
    (
        "  SrStatus status = l.chunk ? calibration(&l, error) : no_memory(error);\n",
        "  find_key(&l);\n"
        "  double nats;\n"
        "  SrStatus status = kept_nats(&nats, false) ? SR_OK : calibration(&l, error);\n",
    ),
]


def keep_hearing(copy):
    """Let a copy keep what it hears."""
    path = "src/live/whole_take.c"
    text = copy.read(path)
    for old, new in EXCHANGED:
        if text.count(old) != 1:
            raise SystemExit(f"{path} has changed: what_moves.py does not find {old!r}.")
        text = text.replace(old, new)
    copy.write(path, text)


def kind_of(value, suffix):
    if suffix == "f":
        return "float"
    if suffix == "u":
        return "unsigned"
    return "int" if re.fullmatch(r"-?\d+", value) else "double"


def write_values(copy, numbers):
    """The variables, and what sets them."""
    lines = ["#include <stdlib.h>", "#include <string.h>"]
    for name, (kind, value) in numbers.items():
        lines.append(f"{kind} sr_tuned_{name} = {value};")
    lines.append("__attribute__((constructor)) static void read_tuned(void) {")
    lines.append('  const char* t = getenv("STEADYREED_TUNED");')
    for name, (kind, _) in numbers.items():
        size = len(name) + 1
        lines.append(
            f'  if (t && !strncmp(t, "{name}=", {size}u)) sr_tuned_{name} = ({kind})atof(t + {size});'
        )
    lines.append("}")
    copy.write(VALUES, "\n".join(lines) + "\n")


def within(copy, words):
    """Words, and those in the macros that they name."""
    macros = {}
    for header in glob.glob(os.path.join(copy.root, "src", "*", "*.[ch]")):
        with open(header, encoding="utf-8") as file:
            for name, text in re.findall(r"^#define ([A-Z][A-Z0-9_]+) (.*)$", file.read(), re.M):
                macros.setdefault(name, set()).update(re.findall(r"\b[A-Z][A-Z0-9_]+\b", text))
    waiting = set(words)
    while waiting:
        waiting = set().union(*(macros.get(word, set()) for word in waiting)) - words
        words |= waiting
    return words


def make(copy, sources, programs):
    """Make the numbers of some sources variables, and build; returns their names and values."""
    originals = {path: copy.read(path) for path in sources}
    constants = set()
    meson = "src/judge/meson.build"
    copy.write(meson, copy.read(meson) + "library_sources += files('tuned_values.c')\n")
    while True:
        numbers = {}
        for path, text in originals.items():

            def exchange(match):
                name, _, value, suffix, _ = match.groups()
                if name in constants:
                    return match.group(0)
                kind = kind_of(value, suffix)
                numbers[name] = (kind, value + suffix)
                return f"extern {kind} sr_tuned_{name};\n#define {name} sr_tuned_{name}"

            copy.write(path, NUMBER.sub(exchange, text))
        write_values(copy, numbers)
        done = subprocess.run(
            ["ninja", "-C", copy.build_folder, "-k", "0", *programs], capture_output=True, text=True, check=False
        )
        if done.returncode == 0:
            return numbers
        words = set(re.findall(r"\b(?:sr_tuned_)?([A-Z][A-Z0-9_]+)\b", done.stdout + done.stderr))
        needed = within(copy, words) & set(numbers)
        if not needed:
            raise SystemExit("The copy does not compile:\n" + done.stdout[-3000:])
        constants |= needed
