# SPDX-License-Identifier: GPL-3.0-or-later

"""The kept takes in the window: listed, marked, heard, and seen as they were judged.

    test_kept_takes.py STEADYREED SOURCE_ROOT
"""

import os
import re
import subprocess
import sys

import sounds
import window_test
from window_test import Desktop

STATUS = "status bar"
HEARD_S = 1.5


def play_a_take(program, source):
    """The demo's take, kept."""
    program.find(STATUS, "Play when you like")
    subprocess.run(["paplay", "--device=room", os.path.join(source, "testdata", "takes", "demo.flac")], check=True,
                   timeout=60)
    program.find("push button", re.compile("^Round 2: Notes 22 of 22 right, Cuts 12 of 14 clean"))
    program.keys("Control_L+Shift_L+t")


def listed(program):
    program.find("frame", "Kept takes")
    program.find(STATUS, re.compile(r"^1 take, \d+ kB of 10 GB$"))
    program.find("label", re.compile("^Three of Each, bars 1 to 4$"))
    program.find("label", re.compile("^2 rounds · 66 pulses a minute\nNotes 44 of 44 right, cuts 23 of 28 clean\nBest, latest$"))
    assert not program.look("label", re.compile("marked")), "nothing was marked"


def takes_in_terminal(steadyreed):
    return subprocess.run([steadyreed, "progress", "--takes"], check=True, capture_output=True, text=True).stdout


def mark(program, steadyreed):
    """By keyboard; the terminal sees the mark, and that it is taken away."""
    assert "marked" not in takes_in_terminal(steadyreed)
    program.tab_to(None, re.compile("^Keep for good: "))
    program.keys("space")
    program.find("label", re.compile("Best, latest, marked$"))
    window_test.wait_for(lambda: "latest, marked" in takes_in_terminal(steadyreed), "it is not marked")
    program.keys("space")
    window_test.wait_for(lambda: "marked" not in takes_in_terminal(steadyreed), "it stays marked")


def hear(program):
    quiet = sounds.loudest(HEARD_S)
    program.press(None, re.compile("^Hear it: "))
    program.find("push button", re.compile("^Stop: "))
    window_test.wait_for(lambda: sounds.loudest(HEARD_S) > 0.05, "nothing is heard")
    print(f"loudest sample before: {quiet:.4f}")
    assert quiet < 0.01, quiet
    program.press("push button", re.compile("^Stop: "))
    program.find("push button", re.compile("^Hear it: "))


def see(program):
    """As the window showed it when it was played, round by round."""
    program.press("push button", re.compile("^See how it was judged: "))
    # The window under it shows the same rounds
    view = program.find("frame", "Kept takes")
    program.find(STATUS, "Just flick the button", view)
    program.find("label", "11 of 14 clean", view)
    program.press(None, re.compile("^Round 2: Notes 22 of 22 right, Cuts 12 of 14 clean"), view)
    program.find(STATUS, re.compile("^Lift .* as the cutting finger flicks$"), view)
    program.find("image", "Bar 3, large", view)
    program.find("push button", "All takes")
    program.keys("Escape")
    program.wait_gone("push button", "All takes")
    program.find(STATUS, re.compile("^1 take, "))


def room(program, steadyreed):
    program.set_value("spin button", "Room for takes, GB", 20.0)
    program.find(STATUS, re.compile(r"^1 take, \d+ kB of 20 GB$"))
    assert " of 20 GB;" in " ".join(takes_in_terminal(steadyreed).split())


def lost_phrase(desktop, steadyreed, source):
    """Its file now holds another phrase: that is said, and no picture of it is shown."""
    path = os.path.join(desktop.folder, "own.abc")
    with open(os.path.join(source, "exercises", "three-as.abc")) as file:
        text = file.read()
    with open(path, "w") as file:
        file.write(text)
    return path, text.replace("K:", "M:6/8\nK:").replace("|]", "A3 A3|]")


def main():
    steadyreed, source = sys.argv[1:3]
    window_test.skip_without_desktop()
    sounds.skip_without_player()
    os.environ["G_DEBUG"] = "fatal-criticals"
    with Desktop() as desktop:
        # A copy, which is changed at the end
        phrase, other = lost_phrase(desktop, steadyreed, source)
        program = desktop.run([steadyreed, "practise", phrase])
        play_a_take(program, source)
        listed(program)
        mark(program, steadyreed)
        hear(program)
        see(program)
        room(program, steadyreed)
        with open(phrase, "w") as file:
            file.write(other)
        program.press("push button", re.compile("^See how it was judged: "))
        program.find(STATUS, "It cannot be judged now")
        program.find(STATUS, "Its phrase has been changed since it was played.")
        program.find("push button", "All takes")
        # Practising goes on where it was
        program.keys("Escape")
        program.wait_gone("push button", "All takes")
        program.keys("Escape")
        program.wait_gone("spin button", "Room for takes, GB")
        program.find("push button", "Rest")
        # It ends when it is asked to, whatever is open
        program.keys("Control_L+Shift_L+t")
        program.find(STATUS, re.compile("^1 take, "))
        program.process.terminate()
        status = program.process.wait(window_test.WAIT_S)
        assert status == 0, (status, desktop.log(program.name))


main()
