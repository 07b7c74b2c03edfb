# SPDX-License-Identifier: GPL-3.0-or-later

"""A week of practice: a player of our own invention, who practises on some days and not on others, on
a sound server of the test's own; then `progress` is read and held against what was played.

usage: test_week.py STEADYREED MAKE_TAKE SOURCE_TREE OUT [--days N] [--rounds N] [--number N]
       [--phrase-only] [--keep]

OUT receives what was said on each day, the truth, and what `progress` said. Cuts get cleaner and the
beat steadier over the days; the air that is taken stays as loud as it was.
"""

import argparse
import dataclasses
import datetime
import json
import os
import shutil
import subprocess
import sys
import time

import figures
import player
import sitting
import sound_room
import takes

SKIPPED = 77
MONDAY = datetime.date(2026, 11, 2)
SKIPPED_DAYS = (2, 5)  # Of each week: Wednesday, Saturday
ROUNDS = {"steady": 2, "cuts": 4, "bars": 4, "air": 1}
LOST = "could not keep up"

# For the month's session; bars with cuts, and a long note over which air can be taken
TUNE = ("%abc-2.1\nX:1\nT:The Ferry Rope\nR:jig\nM:6/8\nL:1/8\nQ:3/8=90\nK:G\n"
        "D{F}DG A{c}AB|c{e}cA \"^air\"G3|B{d}BG A{c}AF|D{F}DF \"^air\"G3|]\n")
# Only to find how late the player's sound is against the click
EVEN = "%abc-2.1\nX:1\nT:Even\nM:2/4\nL:1/8\nQ:1/4=90\nK:D\nDEFG|AGF2|]\n"


class Week:
    """The program, the player, and what became of them."""

    def __init__(self, request, room, log):
        self.request, self.room, self.log = request, room, log
        self.files = player.titles(os.path.join(request.source, "exercises"))
        self.tune = self.file("ferry-rope.abc", TUNE)
        self.files["The Ferry Rope"] = self.tune  # `today` knows it from the second day on
        maker = takes.Maker(request.make_take, room.folder, 1000 * request.number)
        self.habits = player.Habits(maker, room.stream, sound_room.USUAL_DELAY_S)
        self.played = []
        self.disturbed = set()
        self.unjudged = 0
        self.minute = 0  # Of the day, so that one sitting comes after another

    def file(self, name, text):
        path = os.path.join(self.room.folder, name)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        return path

    def moment(self, date):
        self.minute += 10
        return f"{date.isoformat()} {18 + self.minute // 60}:{self.minute % 60:02d}:00"

    def ask(self, date, *arguments, status=0):
        """Run the program to its end on a day. What it says."""
        run = subprocess.run([self.request.steadyreed, *arguments], check=False, capture_output=True, text=True,
                             env=sitting.at(self.moment(date), self.room.environment))
        self.log.write(f"$ steadyreed {' '.join(arguments)}\n{run.stdout}{run.stderr}\n")
        if run.returncode != status:
            raise RuntimeError(f"`steadyreed {' '.join(arguments)}`: status {run.returncode}\n{run.stdout}{run.stderr}")
        return run.stdout

    def sit(self, date, skill, arguments, play):
        """One sitting; `play` makes the player play. The player, who knows what happened."""
        self.log.write(f"$ steadyreed {' '.join(arguments)}\n")
        environment = sitting.at(self.moment(date), self.room.environment)
        one = sitting.Sitting([self.request.steadyreed, *arguments], environment, self.log)
        day = (date - datetime.date(1970, 1, 1)).days
        underruns = self.room.underruns()
        who = player.Player(self.habits, day, skill, one)
        try:
            end = play(who)
        finally:
            one.close()
            who.close()
            self.log.write("\n")
        if not end or end[0] != "stop" or end[1][1] != 0:
            raise RuntimeError(f"it did not end as it should: {end}; its last words:\n" + "\n".join(who.lines[-20:]))
        self.played += who.played
        self.unjudged += who.unjudged
        if any(LOST in line for line in who.lines) or self.room.underruns() > underruns:
            self.disturbed.add(day)
        return who

    def find_delay(self):
        """How late the player is who plays with the click, in a history that is thrown away."""
        usual = self.room.environment
        self.room.environment = dict(usual, XDG_DATA_HOME=os.path.join(self.room.folder, "first"))
        even = self.file("even.abc", EVEN)
        skill = takes.Skill(0.0, 0.0, 0.0, 0.0, takes.AUDIBLE_DB)
        self.sit(MONDAY, skill, ["practise", even, "--plain", "--rounds", "2"],
                 lambda who: player.play_phrase(who, even, "Even", 2))
        export = os.path.join(self.room.folder, "first.json")
        self.ask(MONDAY, "progress", "--export", export)
        late = [one["offset_ms"] for one in figures.read_export(export)]
        self.room.environment = usual
        self.played = []
        self.log.write(f"Behind the click by {late} ms with a delay of {self.habits.delay_s} s\n")
        self.habits.delay_s += late[-1] / 1000.0

    def practise(self, date, share):
        """A day's practice."""
        self.minute = 0
        skill = takes.skill_on(share)
        self.log.write(f"===== {date:%A %d %B}, {skill}\n")
        if not self.request.phrase_only:
            self.ask(date, "today", "--list")
            self.sit(date, skill, ["today", "--wait", "3"],
                     lambda who: player.play_today(who, self.files, ROUNDS))
        rounds = self.request.rounds
        self.sit(date, skill, ["practise", self.tune, "--plain", "--ladder", "--rounds", str(rounds)],
                 lambda who: player.play_phrase(who, self.tune, "The Ferry Rope", rounds))
        self.ask(date, "progress")

    def read(self, date, checks):
        """What `progress` says at the end, and whether it is what was played."""
        self.minute = 0
        self.log.write(f"===== Afterwards, {date:%A %d %B}\n")
        export = os.path.join(self.request.out, "week.json")
        self.ask(date, "progress", "--export", export)
        told = figures.read_export(export)
        checks.hold(self.unjudged == 0, f"{self.unjudged} rounds were played and not judged")
        checks.hold(len(told) == len(self.played), f"{len(told)} rounds are told, {len(self.played)} were played")
        figures.check_days(checks, told, self.played, self.disturbed)
        figures.check_progress(checks, self.ask(date, "progress", "--days", "30"), told)
        figures.check_takes(checks, self.ask(date, "progress", "--takes"), told)
        self.ask(date, "progress", "--page", os.path.join(self.request.out, "week.png"))


def check_clocks(checks, environment):
    """The day is another one, and the clock by which sound goes is not touched."""
    wall, monotonic = sitting.clocks(sitting.at(f"{MONDAY} 18:00:00", environment))
    asked = datetime.datetime.combine(MONDAY, datetime.time(18), datetime.timezone.utc).timestamp()
    checks.near(wall, asked, 60.0, "the wall clock, s")
    checks.near(monotonic, time.monotonic(), 60.0, "the monotonic clock, s")


def run(request, room):
    dates = [MONDAY + datetime.timedelta(days) for days in range(request.days) if days % 7 not in SKIPPED_DAYS]
    with open(os.path.join(request.out, "week.txt"), "w", encoding="utf-8") as log:
        checks = figures.Checks(sys.stdout)
        check_clocks(checks, room.environment)
        week = Week(request, room, log)
        week.find_delay()
        for number, date in enumerate(dates):
            began_s = time.monotonic()
            week.practise(date, number / max(1, len(dates) - 1))
            checks.say(f"{date:%A %d %B}: {len(week.played)} rounds so far, {time.monotonic() - began_s:.0f} s")
        week.read(MONDAY + datetime.timedelta(request.days - 1), checks)
    with open(os.path.join(request.out, "truth.json"), "w", encoding="utf-8") as file:
        json.dump([dataclasses.asdict(one) for one in week.played], file, indent=1)
    checks.say(f"The player's sound ran dry {room.underruns()} times; sound was lost on {len(week.disturbed)} "
               f"of {len(dates)} days. {len(checks.failed)} things are not as they were played.")
    if checks.failed:
        return 1
    return SKIPPED if 2 * len(week.disturbed) > len(dates) else 0


def main():
    words = argparse.ArgumentParser()
    words.add_argument("steadyreed")
    words.add_argument("make_take")
    words.add_argument("source")
    words.add_argument("out")
    words.add_argument("--days", type=int, default=7)
    words.add_argument("--rounds", type=int, default=6, help="of the phrase, on each day")
    words.add_argument("--number", type=int, default=1, help="another number plays other faults")
    words.add_argument("--phrase-only", action="store_true", help="leave out `steadyreed today`")
    words.add_argument("--keep", action="store_true", help="keep the history and the takes in OUT/data")
    request = words.parse_args()
    lacking = sound_room.missing() or (None if sitting.library() else "faketime")
    if lacking:
        print(f"Skipped: {lacking} is not installed")
        return SKIPPED
    shutil.rmtree(request.out, ignore_errors=True)
    os.makedirs(request.out)
    sound_room.hurry()
    with sound_room.SoundRoom() as room:
        try:
            return run(request, room)
        finally:
            if request.keep:
                shutil.copytree(os.path.join(room.folder, "data"), os.path.join(request.out, "data"))


if __name__ == "__main__":
    sys.exit(main())
