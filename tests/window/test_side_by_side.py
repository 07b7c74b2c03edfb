# SPDX-License-Identifier: GPL-3.0-or-later

"""Two rounds side by side in the window: what a screen reader says of them, and that a bar of the first
and then of the second is heard. The demo's take is played for it, which takes its time.

    test_side_by_side.py STEADYREED SOURCE_ROOT PICTURES
"""

import array
import os
import re
import subprocess
import sys
import time

import sounds
import window_test
from window_test import Desktop

SIDE_BY_SIDE = re.compile("^Round [0-9]+ over Round [0-9]+, ")
RATE_HZ = 16000
BLOCK_S = 0.05
LOUD = 300  # Of 32768


def record(seconds):
    """What the room hears, 16 bits, mono."""
    parec = subprocess.Popen(["parec", "--device=room.monitor", f"--rate={RATE_HZ}", "--channels=1", "--format=s16le"],
                             stdout=subprocess.PIPE)
    return parec, time.monotonic() + seconds


def stretches(recording):
    """Lengths of what sounds and of the silences between, s; short ones, as a busy computer leaves, are joined."""
    parec, until = recording
    data = b""
    while time.monotonic() < until:
        data += os.read(parec.stdout.fileno(), 65536)
    parec.terminate()
    parec.wait()
    samples = array.array("h", data[: len(data) // 2 * 2])
    size = int(BLOCK_S * RATE_HZ)
    loud = [max(map(abs, samples[i:i + size])) > LOUD for i in range(0, len(samples) - size, size)]
    found = []
    for state in loud:
        if found and found[-1][0] == state:
            found[-1][1] += BLOCK_S
        else:
            found.append([state, BLOCK_S])
    joined = []
    for state, length in found:
        if joined and (length < 0.3 or joined[-1][0] == state):
            joined[-1][1] += length
        else:
            joined.append([state, length])
    return [(state, round(length, 2)) for state, length in joined]


def choose(program, name, downs):
    """Choose in a drop-down by keyboard."""
    program.tab_to("push button", name)
    program.keys("space")
    time.sleep(0.5)
    program.keys(*["Down"] * downs, "Return")
    time.sleep(0.3)


def figures(program, name):
    """Of the first, of the second, and how they differ."""
    cells = [program.spoken(node) for node in program.look("label")]
    at = cells.index(name)
    return cells[at + 1:at + 4]


def what_differs(program):
    program.find("status bar", "The two rounds differ by no more than chance.")
    program.find("image", "Round 1 over Round 2, bars 1 to 4, beat under beat")
    # 11 and 12 of 14, as the verdicts say
    assert figures(program, "clean cuts, %") == ["79", "86", "+7"], program.describe()
    assert figures(program, "tempo, /min") == ["66", "66", "0"], program.describe()
    program.find("label", re.compile("Fisher's exact test"))
    program.find("label", re.compile("^3rd F♯: cut long: 14[0-9] ms"))
    print("What differs is said")


def heard_in_turn(program):
    choose(program, "What you hear", 2)
    recording = record(9.0)
    time.sleep(0.5)
    program.press("push button", "One after the other")
    heard = stretches(recording)
    print("Heard (sounds, s):", heard)
    lengths = [length for state, length in heard if state]
    # A bar of two pulses at 66 a minute
    bar_s = 120.0 / 66.0
    assert len(lengths) == 2, heard
    assert all(-0.25 < length - bar_s < 0.5 for length in lengths), heard
    between = [length for state, length in heard[2:3]]
    assert not heard[2][0] and 0.3 <= between[0] <= 0.7, heard


def other_rounds(program):
    """The same round twice differs in nothing, and is named so."""
    choose(program, "First", 1)
    program.find("image", re.compile("^Round 2 over Round 2, "))
    assert figures(program, "clean cuts, %") == ["86", "86", "0"], program.describe()
    program.find("status bar", "The two rounds differ by no more than chance.")


def kept_take(program):
    """Once the take is saved, it is offered, and heard from its file though nothing listens."""
    program.keys("Escape")
    program.wait_sensitive(program.find("push button", "Begin"))
    program.keys("Control_L+d")
    program.find("image", SIDE_BY_SIDE)
    # It is read in its own time, and comes third
    name = re.compile("^[0-9]+ [A-Z][a-z]+ [0-9]{4}, best, latest over Round 2, ")
    window_test.wait_for(lambda: choose(program, "First", 2) or program.look("image", name), program.describe, 60)
    # Both rounds of it: 23 of 28
    assert figures(program, "clean cuts, %") == ["82", "86", "+4"], program.describe()
    program.find("status bar", "The two takes differ by no more than chance.")
    choose(program, "What you hear", 2)
    recording = record(5.0)
    program.press("push button", "Hear the first")
    heard = stretches(recording)
    print("From the file (sounds, s):", heard)
    lengths = [length for state, length in heard if state]
    assert len(lengths) == 1 and -0.25 < lengths[0] - 120.0 / 66.0 < 0.5, heard
    program.press("push button", "Hear the second")
    program.find(None, re.compile("^Round 2 was played before the last break"))
    program.keys("Escape")
    program.wait_gone("push button", "Hear the second")


def play(root):
    subprocess.run(["paplay", "--device=room", os.path.join(root, "testdata", "takes", "demo.flac")], check=True)


def two_kept(desktop, steadyreed, root):
    """Before a round is played, and from the list: the best and the latest, the older one first."""
    command = [steadyreed, "practise", os.path.join(root, "exercises", "three-as.abc")]
    program = desktop.run(command)
    program.find("status bar", "Play when you like")
    program.keys("Control_L+d")
    play(root)
    program.find("push button", re.compile("^Round 2: "))
    # One take was kept until then
    assert not program.look("push button", "One after the other"), "one take alone was compared"
    program.close()
    program = desktop.run(command)
    program.find("status bar", "Play when you like")
    # Both were played alike, and either may be the best
    over = re.compile("^[0-9]+ [A-Z][a-z]+ [0-9]{4}(, best)? over [0-9]+ [A-Z][a-z]+ [0-9]{4}(, best)?, latest, ")
    window_test.wait_for(lambda: program.keys("Control_L+d") or program.look("push button", "One after the other"),
                         program.describe)
    program.find("image", over)
    program.find("status bar", "The two takes differ by no more than chance.")
    program.find("label", "tempo, /min")
    assert figures(program, "tempo, /min") == ["66", "66", "0"], program.describe()
    program.keys("Escape")
    program.wait_gone("push button", "One after the other")
    program.keys("Control_L+Shift_L+t")
    program.press("push button", "Best and latest side by side")
    program.find("image", over)
    # It ends when it is asked to, with both views open
    program.process.terminate()
    status = program.process.wait(window_test.WAIT_S)
    assert status == 0, (status, desktop.log(program.name))
    print("Two kept takes stand side by side")


def main():
    window_test.skip_without_desktop()
    sounds.skip_without_player()
    steadyreed, root = sys.argv[1:3]
    with Desktop() as desktop:
        program = desktop.run([steadyreed, "practise", os.path.join(root, "exercises", "three-as.abc")])
        program.find("status bar", "Play when you like")
        program.keys("Control_L+d")
        play(root)
        program.find("push button", re.compile("^Round 2: "))
        # By now it would have come
        assert not program.look("push button", "One after the other"), "there was nothing to compare"
        program.keys("Control_L+d")
        program.find("image", SIDE_BY_SIDE)
        what_differs(program)
        heard_in_turn(program)
        other_rounds(program)
        program.keys("Escape")
        program.wait_gone("push button", "One after the other")
        program.find("push button", re.compile("^Round 2: "))
        kept_take(program)
        program.close()
        two_kept(desktop, steadyreed, root)
    print("Two rounds stand side by side")


if __name__ == "__main__":
    main()
