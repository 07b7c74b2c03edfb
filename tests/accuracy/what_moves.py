#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which figures of the accuracy tests move with a tuned number, or without a rule.

    usage: what_moves.py [--all] [--extremes] [--rules] [--jobs N] [--table FILE] SOURCE...

Each number of the given sources (a #define of a plain number) is multiplied by 1.4 and by 0.7, one
at a time, and the accuracy tests are run. With --extremes it is multiplied by 10 and by 0, both in
any case: a number that can be both is not needed, and one that can be one of them may stand for a
rule that is never or always used. With --rules each static function is switched off
instead: one that returns a bool returns false, then true; one that returns nothing does nothing.
A line of the table says which number or rule, what was done to it, and the figures that moved.
"nothing" means that no figure of any program moved. The programs are run in the order below until
one shows a difference; with --all, all of them, the slow ones too.

The sources here are not touched: each job works on a copy with a build of its own. Takes are
rendered once and kept, so a number of the test's own rendering cannot be tried. Numbers are changed
without compiling where the compiler allows it (run_time_numbers.py). With --judging, for numbers of
src/judge only, what was heard is kept as well, and the programs that listen live are left out:
some twenty times as fast.
"""

import argparse
import concurrent.futures
import os
import queue
import re
import shutil
import subprocess
import sys
import tempfile

import run_time_numbers
from run_time_numbers import NUMBER

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
ABC = "testdata/abc/"
# Those that judge whole takes and do nothing live
LISTENING = ["accuracy/test_" + name for name in (
    "accuracy", "strict_takes", "air_accuracy", "moving_cuts", "rooms", "levels", "found_click",
    "accompaniment",
)]
FACTORS = (1.4, 0.7)
EXTREMES = (10.0, 0.0)

# The most telling for their time first
PROGRAMS = [
    ("accuracy/test_accuracy", "made", ABC + "accuracy.abc", "0", "9"),
    ("accuracy/test_accuracy", "recorded", ABC + "accuracy.abc", "0", "3"),
    ("accuracy/test_ornament_takes", "made", ABC + "ornaments.abc", "0", "2"),
    ("accuracy/test_strict_takes", "made", ABC + "strict.abc"),
    ("accuracy/test_air_accuracy", "tunes", ABC + "accuracy.abc"),
    ("accuracy/test_live_accuracy", "made", ABC + "accuracy.abc", "5", "5"),
    ("accuracy/test_found_click", "there", ABC + "accuracy.abc", "0", "1"),
    ("accuracy/test_moving_cuts", "recorded", ABC + "moving-cuts.abc"),
    ("accuracy/test_rooms", "made", "0.45", ABC + "accuracy.abc", ABC + "whole-tunes.abc"),
    ("accuracy/test_no_air", "step", ABC + "accuracy.abc", "1"),
    ("accuracy/test_accuracy", "doubled", ABC + "accuracy.abc", "0", "1"),
    ("accuracy/test_levels", "recorded", ABC + "accuracy.abc", "0", "0"),
    ("accuracy/test_ornament_takes", "recorded", ABC + "ornaments.abc", "3", "5"),
    ("accuracy/test_whole_tunes", "all", "exercises", ABC + "whole-tunes.abc", "0", "0"),
]
SLOW = [
    ("accuracy/test_no_air", "carried", ABC + "accuracy.abc", "1"),
    ("accuracy/test_live_accuracy", "both", ABC + "accuracy.abc", "0", "1"),
    ("accuracy/test_found_click", "none", ABC + "accuracy.abc", "0", "5"),
    ("click/test_with_engine", ABC + "accuracy.abc", "0", "0"),
    ("accuracy/test_accompaniment", "made", "quick", ABC + "accuracy.abc", ABC + "chords.abc"),
    ("accuracy/test_air_accuracy", "none", ABC + "accuracy.abc"),
    ("accuracy/test_no_air", "voice", ABC + "accuracy.abc", "1"),
    ("live/test_live_rounds",),
    ("live/test_live_free",),
    ("live/test_live_signal",),
    ("live/test_live_open",),
    ("live/test_live_profile",),
    ("judge/test_faults",),
    ("judge/test_advice",),
]

RULE = re.compile(r"^static (bool|void)\n([a-z][a-z0-9_]*)\([^;{]*\)\n\{\n", re.M)
FIGURE = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
# Programs' own clocks say nothing about what was heard
TIMED = re.compile(r"\d+\.\d+ s\b.*(?:took|CPU)|Run 'perf|\[ *(?:RUN|OK|PASSED|FAILED) *\].*\d+ ms")


def scaled(value, suffix, factor):
    """A number in C, times a factor; None if that changes nothing."""
    if suffix == "u" or re.fullmatch(r"-?\d+", value):
        new = round(int(value) * factor)
        if new == int(value):
            new += 1 if factor > 1 else -1
        return None if new == int(value) or new < 0 <= int(value) else f"{new}{suffix}"
    return None if float(value) == 0.0 else f"{float(value) * factor!r}{suffix}"


def changes(text, asked):
    """All changes of one source: name, what is done, new text."""
    if asked.rules:
        for match in RULE.finditer(text):
            kind, name = match.groups()
            for gives in ("false", "true") if kind == "bool" else ("",):
                after = f"  return {gives};\n".replace(" ;", ";")
                done = f"returns {gives}" if gives else "does nothing"
                yield name, done, text[: match.end()] + after + text[match.end() :]
        return
    for match in NUMBER.finditer(text):
        name, opening, value, suffix, closing = match.groups()
        for factor in EXTREMES if asked.extremes else FACTORS:
            new = scaled(value, suffix, factor)
            if new is not None:
                line = f"#define {name} {opening}{new}{closing}"
                changed = text[: match.start()] + line + text[match.end() :]
                yield name, f"{value} -> {new}", changed


def copy_tracked(folder):
    """Copy what Git tracks, as it is now."""
    names = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True)
    for name in names.stdout.decode().split("\0"):
        if name and os.path.isfile(os.path.join(ROOT, name)):
            os.makedirs(os.path.dirname(os.path.join(folder, name)), exist_ok=True)
            shutil.copy2(os.path.join(ROOT, name), os.path.join(folder, name))


class Copy:
    """The sources, with a build of their own."""

    def __init__(self, sources, folder, takes, asked):
        self.root = folder
        self.takes = takes
        self.keeps_hearing = asked.judging
        self.numbers = {}
        shutil.copytree(sources, folder)
        self.build_folder = os.path.join(folder, "build")
        subprocess.run(
            ["meson", "setup", self.build_folder, folder],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        if asked.judging:
            run_time_numbers.keep_hearing(self)
        self.originals = {path: self.read(path) for path in asked.sources}
        if not asked.rules:
            programs = {"tests/" + program[0] for program in PROGRAMS}
            self.numbers = run_time_numbers.make(self, asked.sources, sorted(programs))

    def build(self, program):
        done = subprocess.run(
            ["ninja", "-C", self.build_folder, "tests/" + program], capture_output=True, check=False
        )
        return done.returncode == 0

    def read(self, path):
        with open(os.path.join(self.root, path), encoding="utf-8") as file:
            return file.read()

    def write(self, path, text):
        with open(os.path.join(self.root, path), "w", encoding="utf-8") as file:
            file.write(text)

    def lines(self, number, tuned=""):
        """What a program prints, as lines."""
        program = PROGRAMS[number]
        if not tuned and not self.build(program[0]):
            return ["does not compile"]
        environment = dict(
            os.environ,
            STEADYREED_NO_PEERS="1",
            STEADYREED_KEPT_TAKES=os.path.join(self.takes, f"{number}-"),
            STEADYREED_TUNED=tuned,
        )
        if self.keeps_hearing:
            environment["STEADYREED_KEPT_HEARING"] = os.path.join(self.takes, f"{number}-heard-")
        try:
            done = subprocess.run(
                [os.path.join(self.build_folder, "tests", program[0]), *program[1:]],
                cwd=self.root,
                env=environment,
                capture_output=True,
                timeout=600,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return ["does not end"]
        if done.returncode < 0:
            return [f"ends by signal {-done.returncode}"]
        text = done.stdout.decode(errors="replace")
        return [line for line in text.splitlines() if not TIMED.search(line)]


def moved(before, after):
    """How the lines of a program differ, in a few words."""
    if before == after:
        return ""
    said = []
    for old, new in zip(before, after):
        if old != new and len(said) < 3:
            label = FIGURE.sub("#", old).strip()[:60]
            pairs = zip(FIGURE.findall(old), FIGURE.findall(new))
            said.append(label + " " + ", ".join(f"{a}->{b}" for a, b in pairs if a != b)[:60])
    return "; ".join(said) or f"{len(before)} lines -> {len(after)}"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--all", action="store_true", help="run all programs for each change")
    parser.add_argument("--judging", action="store_true", help="keep what was heard too")
    parser.add_argument("--extremes", action="store_true", help="10 times as much, and none")
    parser.add_argument("--rules", action="store_true", help="switch functions off")
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="changes tried at once")
    parser.add_argument("--table", default="-", help="where the table goes; - for here")
    parser.add_argument("sources", nargs="+", help="such as src/judge/align.c")
    asked = parser.parse_args()
    if asked.all:
        PROGRAMS.extend(SLOW)
    if asked.judging:
        PROGRAMS[:] = [program for program in PROGRAMS if program[0] in LISTENING]
    out = sys.stdout if asked.table == "-" else open(asked.table, "a", encoding="utf-8")
    memory = "/dev/shm" if os.path.isdir("/dev/shm") else None

    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory(dir=memory) as takes:
        free = queue.Queue()
        sources = os.path.join(folder, "sources")
        copy_tracked(sources)
        first = Copy(sources, os.path.join(folder, "0"), takes, asked)
        before = [first.lines(i) for i in range(len(PROGRAMS))]
        print("what does not change is known", file=sys.stderr)
        if ["does not compile"] in before:
            sys.exit("The sources do not compile.")
        broken = (["does not end"], ["ends by signal 6"], ["ends by signal 11"])
        unsteady = [
            i
            for i in range(len(PROGRAMS))
            if before[i] in broken or first.lines(i) != before[i]
        ]
        for i in unsteady:
            print(f"left out, breaks or differs from run to run: {' '.join(PROGRAMS[i])}", file=sys.stderr)
        free.put(first)
        for i in range(1, asked.jobs):
            free.put(Copy(sources, os.path.join(folder, str(i)), takes, asked))

        def figures(copy, tuned):
            """What moved, by program."""
            found = []
            for i, lines in enumerate(before):
                now = lines if i in unsteady else copy.lines(i, tuned)
                if now == ["does not compile"]:
                    return now
                difference = moved(lines, now)
                if difference:
                    found.append(f"{' '.join(PROGRAMS[i][:2])}: {difference}")
                    if not asked.all:
                        break
            return found

        def attempt(path, name, done, text):
            copy = free.get()
            try:
                if name in copy.numbers:
                    return figures(copy, f"{name}={done.rsplit(' ', 1)[1]}")
                unchanged = copy.read(path)
                try:
                    copy.write(path, text)
                    return figures(copy, "")
                finally:
                    copy.write(path, unchanged)
                    for program in PROGRAMS:
                        copy.build(program[0])
            finally:
                free.put(copy)

        def attempts(path, name, tries):
            """All that is tried of one number or rule; once a figure moved the rest is left out,
            but for extremes, which mean different things."""
            for done, text in tries:
                found = attempt(path, name, done, text)
                row = [path, name, done, " | ".join(found) or "nothing"]
                out.write("\t".join(row) + "\n")
                out.flush()
                if found and not asked.all and not asked.extremes:
                    break

        with concurrent.futures.ThreadPoolExecutor(asked.jobs) as workers:
            waiting = []
            for path in asked.sources:
                tries = {}
                for name, done, text in changes(first.originals[path], asked):
                    tries.setdefault(name, []).append((done, text))
                waiting += [
                    workers.submit(attempts, path, name, each) for name, each in tries.items()
                ]
            for each in waiting:
                each.result()


if __name__ == "__main__":
    main()
