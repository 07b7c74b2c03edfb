# SPDX-License-Identifier: GPL-3.0-or-later

"""A player who does what the program says: reads its lines, counts in with its click, plays the bars
it asks for at the tempo it asks for, waits for the verdict, and goes on to the next when enough was
played."""

import concurrent.futures
import dataclasses
import glob
import math
import os
import re
import time

import takes

ITEM = re.compile(r"^(\d+) of (\d+): (.*?)(?:, bars (\d+) to (\d+)|, bar (\d+))?, (\d+) minutes?: (.*)\.$")
RUNG = re.compile(r"^(?:A tempo ladder|That sticks|Too much at once).*(?:[Bb]ars? (\d+)(?: to (\d+))?|[Aa]ll of it)(?:, at| sticks at) (\d+)")
TEMPO = re.compile(r"^(?:Up|Down) a step, to (\d+)\.$|^(?:Faster|Slower): (\d+) pulses a minute\.$|"
                   r"^At (\d+), |^The click plays on .*, (\d+) pulses a minute")
NEW_COUNT_IN = re.compile(r"^(?:Up|Down) a step|^That sticks|^Too much at once")
ROUND = re.compile(r"^Round (\d+): ")
REST_S = 0.7  # Between a verdict and the next round, at least
AHEAD_S = 0.45  # A take is laid into the stream so long before it sounds, at least
VERDICT_S = 12.0  # The verdict comes within


def titles(folder):
    """The files of exercises by their titles."""
    found = {}
    for path in glob.glob(os.path.join(folder, "*.abc")):
        with open(path, encoding="utf-8") as file:
            found[re.search(r"^T:(.*)$", file.read(), re.MULTILINE)[1].strip()] = path
    return found


@dataclasses.dataclass
class Habits:
    """What the player does whatever the day."""

    maker: takes.Maker
    stream: object  # sound_room.Stream
    delay_s: float  # From writing a sample to when it is heard, against the count-in as it is told


class Player:
    """One sitting of the player."""

    def __init__(self, habits, day, skill, sitting):
        self.habits, self.day, self.skill, self.sitting = habits, day, skill, sitting
        self.workshop = concurrent.futures.ThreadPoolExecutor(1)
        self.asked = None
        self.all_bars = (0, 0)  # "all of it"
        self.counts = []  # When the clicks of the count-in were told
        self.beat_s = math.nan  # The first pulse after it
        self.next_take = None  # What is being made
        self.played = []
        self.unjudged = 0
        self.lines = []

    def ask(self, **changes):
        """What is asked for has changed; begin to make it."""
        before = self.asked
        self.asked = dataclasses.replace(before, **changes) if before else takes.Asked(**changes)
        if self.asked != before and not math.isnan(self.asked.bpm):
            self.next_take = self.workshop.submit(self.habits.maker.make, self.asked, self.skill, self.day)
        return self.asked != before

    def follow(self, event):
        """Follow an event. The kind of what happened: "ready", "round", "item", "stop", "again", or
        None."""
        kind, what, now_s = event
        if kind == "end":
            return "stop"
        if kind == "count":
            return self.count(what, now_s)
        line = " ".join(what.split())
        self.lines.append(line)
        rung, tempo, item = RUNG.search(line), TEMPO.match(line), ITEM.match(line)
        if item:
            return "item"
        if ROUND.match(line):
            return "round"
        if rung and self.asked:
            first, last = (int(rung[1]), int(rung[2] or rung[1])) if rung[1] else self.all_bars
            self.ask(first_bar=first, last_bar=last, bpm=float(rung[3]))
        elif tempo and self.asked:
            self.ask(bpm=float(next(number for number in tempo.groups() if number)))
        return "again" if NEW_COUNT_IN.match(line) else None

    def count(self, click, now_s):
        """A click of the count-in. They come late by this or that, so their mean place counts."""
        number, last = click
        if number == 1:
            self.counts = []
            self.beat_s = math.nan
        self.counts.append((number, now_s))
        if not last or math.isnan(self.asked.bpm):
            return None
        pulse_s = 60.0 / self.asked.bpm
        places = sorted(at_s - (at - 1) * pulse_s for at, at_s in self.counts)
        self.beat_s = places[len(places) // 2] + number * pulse_s
        return "ready"

    def wait_for(self, kinds, most_s):
        """Follow what comes until something of a kind does. That kind, or None."""
        until_s = time.monotonic() + most_s
        while True:
            event = self.sitting.next(until_s)
            if event is None:
                return None
            found = self.follow(event)
            if found in kinds:
                return found, event

    def start_of_round(self, earliest_s):
        """The next moment from which a round may begin: a bar of the click, and where bars are silent,
        the first of those that sound."""
        period_s = 60.0 / self.asked.bpm * self.asked.pulses_a_bar()
        period_s *= max(1, self.asked.on_bars + self.asked.off_bars)
        return self.beat_s + period_s * max(0, math.ceil((earliest_s - self.beat_s) / period_s))

    def play(self):
        """Play one round. Its truth and its end on the clock."""
        samples, lead_s, length_s, truth = self.next_take.result()
        self.next_take = self.workshop.submit(self.habits.maker.make, self.asked, self.skill, self.day)
        while True:
            at_s = self.start_of_round(time.monotonic() + AHEAD_S + self.habits.delay_s + lead_s)
            # The sound of the take begins before its first note
            if self.habits.stream.play(samples, at_s - lead_s - self.habits.delay_s):
                return truth, at_s + length_s

    def play_item(self, rounds):
        """Play rounds of what is asked for now. The event that ended it early, or None."""
        count = 0
        ready = False
        while count < rounds:
            if not ready:
                found = self.wait_for(("ready", "item", "stop"), 60.0)
                if not found or found[0] != "ready":
                    return found
            truth, end_s = self.play()
            found = self.wait_for(("round", "item", "stop"), end_s - time.monotonic() + VERDICT_S)
            if not found:
                self.unjudged += 1
            elif found[0] != "round":
                return found
            else:
                self.played.append(truth)
            count += 1
            found = self.wait_for(("again", "item", "stop"), REST_S)
            if found and found[0] != "again":
                return found
            ready = not found
        return None

    def close(self):
        self.workshop.shutdown()


def play_today(player, files, rounds):
    """Play a whole `steadyreed today`: of each kind of item its number of rounds."""
    found = player.wait_for(("item", "stop"), 60.0)
    while found and found[0] == "item":
        item = ITEM.match(" ".join(found[1][1].split()))
        first = int(item[4] or item[6] or 0)
        steady = "without" in item[8]
        kind = "steady" if steady else "cuts" if "cuts" in item[8] else "air" if "air" in item[8] else "bars"
        player.asked = None
        player.all_bars = (first, int(item[5] or first))
        player.ask(path=files[item[3]], title=item[3], first_bar=first, last_bar=int(item[5] or first),
                   on_bars=4 if steady else 0, off_bars=4 if steady else 0)
        found = player.play_item(rounds[kind])
        if not found:
            player.sitting.press("n")
            found = player.wait_for(("item", "stop"), 60.0)
    return found


def play_phrase(player, path, title, rounds):
    """Play a `steadyreed practise PHRASE --ladder`, until it ends by itself."""
    player.ask(path=path, title=title)
    found = player.play_item(rounds)
    return found or player.wait_for(("stop",), 60.0)
