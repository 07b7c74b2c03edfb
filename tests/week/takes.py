# SPDX-License-Identifier: GPL-3.0-or-later

"""Rounds with faults made on purpose, by tests/support/make_take, and what was played in them."""

import dataclasses
import json
import math
import os
import re
import subprocess

import sound_room

AUDIBLE_DB = -13.0  # Air under a note at this level is far over what the note can hide


@dataclasses.dataclass
class Skill:
    """How somebody plays on a day."""

    on_top: float  # Chances of a cut's outcomes; clean is the rest
    long: float
    absent: float
    jitter_ms: float
    air_db: float

    def faulty_cuts(self):
        return self.on_top + self.long + self.absent


def skill_on(share):
    """The skill after a share of the days, 0 to 1: cuts and evenness get better, air does not."""
    left = 1.0 - share
    return Skill(0.24 * left, 0.10 * left, 0.10 * left, 8.0 + 16.0 * left, AUDIBLE_DB)


@dataclasses.dataclass
class Asked:
    """What the program asks for."""

    path: str
    title: str
    first_bar: int = 0  # 0 for all bars
    last_bar: int = 0
    bpm: float = math.nan
    on_bars: int = 0  # Bars with the click, and then without
    off_bars: int = 0

    def pulses_a_bar(self):
        """By the meter and the tempo's unit, of which the exercises have one each."""
        with open(self.path, encoding="utf-8") as file:
            text = file.read()
        meter = re.search(r"^M:(\d+)/(\d+)", text, re.MULTILINE)
        pulse = re.search(r"^Q:(\d+)/(\d+)", text, re.MULTILINE)
        return round(int(meter[1]) / int(meter[2]) / (int(pulse[1]) / int(pulse[2])))


@dataclasses.dataclass
class Played:
    """The truth about one round that was played."""

    day: int
    title: str
    bars: str
    bpm: float
    notes: int
    cuts: int
    cuts_clean: int
    spread_ms: float
    air: int
    seconds: float
    values: list  # For make_take, with which it can be made again


def solve(rows, values):
    """Least squares by the normal equations, with Gauss' elimination."""
    count = len(rows[0])
    a = [[sum(row[i] * row[j] for row in rows) for j in range(count)] +
         [sum(row[i] * value for row, value in zip(rows, values))] for i in range(count)]
    for i in range(count):
        best = max(range(i, count), key=lambda row: abs(a[row][i]))
        a[i], a[best] = a[best], a[i]
        if abs(a[i][i]) < 1e-9:
            continue
        for k in range(count):
            if k != i:
                factor = a[k][i] / a[i][i]
                a[k] = [x - factor * y for x, y in zip(a[k], a[i])]
    return [a[i][count] / a[i][i] if abs(a[i][i]) > 1e-9 else 0.0 for i in range(count)]


def spread_ms(notes):
    """Standard deviation of what is played about a steady or drifting tempo, places in the pulse
    apart, as judge.h defines it; over the degrees of freedom, which two bars have few of."""
    there = [note for note in notes if note["onset_s"] is not None]
    places = sorted({round(note["pulses"] % 1.0, 3) for note in there})
    rows = [[1.0, note["pulses"], note["pulses"] ** 2] +
            [float(round(note["pulses"] % 1.0, 3) == place) for place in places[1:]] for note in there]
    values = [1000.0 * note["onset_s"] for note in there]
    fit = solve(rows, values)
    rest = [value - sum(x * y for x, y in zip(row, fit)) for row, value in zip(rows, values)]
    return math.sqrt(sum(x * x for x in rest) / max(1, len(rest) - len(fit)))


class Maker:
    """Makes rounds in a folder."""

    def __init__(self, make_take, folder, first_number):
        self.make_take = make_take
        self.folder = folder
        self.number = first_number

    def make(self, asked, skill, day):
        """A round as (samples, where its first note begins in s, its length in s, Played)."""
        self.number += 1
        sound = os.path.join(self.folder, f"round-{self.number}.wav")
        truth = os.path.join(self.folder, f"round-{self.number}.json")
        values = ["reeds=made", f"seed={self.number}", f"bpm={asked.bpm}", "rt60_s=0.25", "direct_db=12",
                  "floor_db=-62", f"jitter_ms={skill.jitter_ms}", f"p_on_top={skill.on_top}",
                  f"p_long={skill.long}", f"p_absent={skill.absent}",
                  f"air_asked=180:300:{skill.air_db}:1"]
        if asked.last_bar:
            values.append(f"bars={asked.first_bar}-{asked.last_bar}")
        subprocess.run(["nice", "-n", "19", self.make_take, asked.path, sound, truth, *values], check=True)
        with open(truth, encoding="utf-8") as file:
            made = json.load(file)
        played = made["rounds"][0]
        cuts = [note["cut"] for note in played["notes"] if "cut" in note]
        bars = f"{asked.first_bar} to {asked.last_bar}" if asked.last_bar else ""
        samples = sound_room.read_samples(sound)
        os.remove(sound)
        return samples, played["start_s"], played["end_s"] - played["start_s"], Played(
            day, asked.title, bars, asked.bpm, len(played["notes"]), len(cuts), cuts.count("clean"),
            spread_ms(played["notes"]), len(made["air"]), played["end_s"] - played["start_s"], values)
