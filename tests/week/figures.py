# SPDX-License-Identifier: GPL-3.0-or-later

"""What `progress` tells of a week, held against what was played in it."""

import collections
import json
import math
import re
import statistics

DAY_S = 86400
LEAST_DAYS = 8  # With a value, for a trend: progress.h
MEASURES = ("the tempo of clean rounds", "clean cuts", "spread", "distance from the click",
            "keeping time alone", "air heard")


class Checks:
    """What does not hold, in words."""

    def __init__(self, out):
        self.out = out
        self.failed = []

    def say(self, words):
        print(words, file=self.out, flush=True)

    def hold(self, good, words):
        if not good:
            self.failed.append(words)
            self.say("  NOT AS PLAYED: " + words)

    def near(self, told, played, most, words):
        self.hold(told is not None and abs(told - played) <= most,
                  f"{words}: told {told}, played {played:.3g}, may differ by {most:.3g}")


def read_export(path):
    with open(path, encoding="utf-8") as file:
        rounds = json.load(file)["rounds"]
    for one in rounds:
        one["day"] = one["utc_ms"] // 1000 // DAY_S  # In UTC, as the program is started
        one["name"] = f"{one['title']}, bars {one['first_bar']} to {one['last_bar']}"
    return rounds


def by_day_and_phrase(told, played):
    """Pairs of a round as told and as played, in groups."""
    groups = collections.OrderedDict()
    for one, truth in zip(told, played):
        groups.setdefault((truth.day, one["name"]), []).append((one, truth))
    return groups


def check_group(checks, name, pairs):
    """The figures of a phrase on a day."""
    told = {key: sum(one[key] for one, _ in pairs) for key in ("cuts", "cuts_clean", "air", "air_heard", "seconds")}
    cuts = sum(truth.cuts for _, truth in pairs)
    clean = sum(truth.cuts_clean for _, truth in pairs)
    air = sum(truth.air for _, truth in pairs)
    seconds = sum(truth.seconds for _, truth in pairs)
    spread = statistics.mean(truth.spread_ms for _, truth in pairs)
    told_spread = statistics.mean(one["spread_ms"] or math.nan for one, _ in pairs)
    told_bpm = statistics.mean(one["played_bpm"] or math.nan for one, _ in pairs)
    bpm = statistics.mean(truth.bpm for _, truth in pairs)
    checks.say(f"  {name}: {len(pairs)} rounds; played and told: cuts clean {clean} of {cuts}, "
               f"{told['cuts_clean']} of {told['cuts']}; spread {spread:.1f} ms, {told_spread:.1f} ms; "
               f"tempo {bpm:.1f}, {told_bpm:.1f}; air heard {air}, {told['air_heard']} of {told['air']}; "
               f"{seconds:.1f} s, {told['seconds']:.1f} s")
    checks.hold(told["cuts"] == cuts, f"{name}: {told['cuts']} cuts asked for, {cuts} written")
    checks.near(told["cuts_clean"], clean, max(1.0, 0.06 * cuts), f"{name}: clean cuts")
    checks.near(told_spread, spread, max(3.0, 0.25 * spread), f"{name}: spread, ms")
    checks.near(told_bpm, bpm, 0.015 * bpm, f"{name}: tempo")
    checks.near(told["air_heard"], air, 1.0 if air else 0.0, f"{name}: air heard")
    checks.near(told["seconds"], seconds, 0.05 * seconds + 0.2, f"{name}: seconds played")


def check_days(checks, told, played, disturbed):
    """All rounds, day by day; those of days on which sound was lost are only shown."""
    for day in sorted({truth.day for truth in played} | {one["day"] for one in told}):
        here = [one for one in told if one["day"] == day]
        truth = [one for one in played if one.day == day]
        checks.say(f"Day {day}: {len(truth)} rounds played, {len(here)} told"
                   f"{', sound was lost' if day in disturbed else ''}")
        held = checks if day not in disturbed else Checks(checks.out)
        held.hold([one["title"] for one in here] == [one.title for one in truth], f"day {day}: which rounds")
        for (_, name), pairs in by_day_and_phrase(here, truth).items():
            check_group(held, f"day {day}, {name}", pairs)


def mann_kendall(values):
    """Chance of so large a trend of either sign without one, and its sign (Gilbert 1987, 16.4)."""
    count = len(values)
    s = sum((values[k] > values[i]) - (values[k] < values[i]) for i in range(count) for k in range(i + 1, count))
    ties = collections.Counter(values).values()
    variance = (count * (count - 1) * (2 * count + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    if s == 0 or variance <= 0:
        return 1.0, 0
    return math.erfc((abs(s) - 1) / math.sqrt(variance) / math.sqrt(2)), 1 if s > 0 else -1


def value_of(measure, rounds):
    """A measure of the rounds of a phrase on a day; None without one."""
    def mean(values):
        values = [value for value in values if value is not None]
        return statistics.mean(values) if values else None

    def share(part, whole):
        asked = sum(one[whole] for one in rounds)
        return 100.0 * sum(one[part] for one in rounds) / asked if asked else None

    return (lambda: mean([one["played_bpm"] for one in rounds if one["clean"]]),
            lambda: share("cuts_clean", "cuts"),
            lambda: mean([one["spread_ms"] for one in rounds]),
            lambda: mean([None if one["offset_ms"] is None else abs(one["offset_ms"]) for one in rounds]),
            lambda: None,
            lambda: share("air_heard", "air"))[measure]()


def expected_trends(rounds):
    """Which measures are better, worse, or neither, by the test that progress.h states, Holm (1979)."""
    days = sorted({one["day"] for one in rounds})
    found = []
    for measure, name in enumerate(MEASURES):
        values = [value_of(measure, [one for one in rounds if one["day"] == day]) for day in days]
        values = [value for value in values if value is not None]
        if len(values) >= LEAST_DAYS:
            chance, sign = mann_kendall(values)
            found.append((chance, name, sign * (1 if measure in (0, 1) else -1)))
    trends, stands = {}, True
    for rank, (chance, name, sign) in enumerate(sorted(found)):
        stands = stands and chance <= 0.05 / (len(found) - rank)
        trends[name] = ("better" if sign > 0 else "worse") if stands else "no change"
    return trends


def said_trends(sentence):
    """Which measures a sentence of `progress` names, and how."""
    parts = re.split(r"(better in|worse in|no change beyond chance in)", sentence)
    return {name: how.split()[0] if how[0] != "n" else "no change"
            for how, words in zip(parts[1::2], parts[2::2]) for name in MEASURES if name in words}


def check_phrase(checks, name, text, rounds):
    """What `progress` says of a phrase: a table row for each day, and a sentence."""
    lines = text.splitlines()
    rows = [re.split(r"\s{2,}", line.strip()) for line in lines if re.match(r"^  (Mon|Tue|Wed|Thu|Fri|Sat|Sun) ", line)]
    days = sorted({one["day"] for one in rounds})
    checks.hold(len(rows) == len(days), f"{name}: {len(rows)} days in the table, {len(days)} played")
    for row, day in zip(rows, days):
        here = [one for one in rounds if one["day"] == day]
        minutes = sum(one["seconds"] for one in here) / 60.0
        checks.hold(row[1] == str(len(here)), f"{name}, {row[0]}: {row[1]} rounds, {len(here)} played")
        checks.near(float(row[2]), minutes, 0.051, f"{name}, {row[0]}: minutes")
    sentence = " ".join(" ".join(lines[len(rows) + 2:]).split())
    trends = expected_trends(rounds)
    if trends:
        checks.hold(said_trends(sentence) == trends, f"{name}: says \"{sentence}\", the test {trends}")
    else:
        checks.hold(f"Too few days to say what got better: {len(days)} in the last 30" in sentence,
                    f"{name}: \"{sentence}\" after {len(days)} days")
    checks.hold(said_trends(sentence).get("air heard") != "better", f"{name}: air is praised: {sentence}")


def check_progress(checks, text, told):
    """All of what `progress` says."""
    blocks = {block.splitlines()[0].strip(): block for block in text.split("\n\n") if block.strip()}
    names = {one["name"] for one in told}
    checks.hold(set(blocks) == names, f"`progress` names {sorted(blocks)}, played were {sorted(names)}")
    for name in sorted(names & set(blocks)):
        check_phrase(checks, name, blocks[name], [one for one in told if one["name"] == name])


def check_takes(checks, text, told):
    """`progress --takes`: as many rounds as were played."""
    listed = sum(int(count) for count in re.findall(r", (\d+) rounds?, ", text))
    checks.hold(listed == len(told), f"`progress --takes` lists {listed} rounds, {len(told)} were played")
