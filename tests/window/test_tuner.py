# SPDX-License-Identifier: GPL-3.0-or-later

"""The tuner in the window: what a screen reader says of notes that are held.

    test_tuner.py STEADYREED SOURCE_ROOT
"""

import os
import re
import sys
import time

import sounds
import window_test
from window_test import Desktop

READY = re.compile("^Play when you like")


def reads(program, desktop, hz, words):
    """A note is named within its length, and gone after it."""
    sound = sounds.play(desktop, sounds.hush(0.2) + sounds.tone(hz, 3.0))
    program.find("status bar", words, seconds=6)
    sound.wait(20)
    program.find("status bar", "Hold a note", seconds=6)
    print(f"{hz:.2f} Hz: {words}")


def words_stand(program, desktop):
    """However the pitch swings, the words change at most once a second."""
    sounds.play(desktop, sounds.swing(440.0, 40.0, 6.0))
    label = program.find("status bar", re.compile("^A4, "), seconds=6)
    begin, changes, last = time.monotonic(), 0, program.spoken(label)
    while time.monotonic() - begin < 4.0:
        now = program.spoken(label)
        changes += now != last
        last = now
    print(f"{changes} changes of words in 4 s (limits 2 and 5)")
    assert 2 <= changes <= 5
    program.find("status bar", "Hold a note")


def main():
    window_test.skip_without_desktop()
    sounds.skip_without_player()
    steadyreed, root = sys.argv[1:3]
    with Desktop() as desktop:
        program = desktop.run([steadyreed, "practise", os.path.join(root, "exercises", "three-as.abc")])
        program.find("status bar", READY)
        program.keys("Control_L+t")
        program.find("status bar", "Hold a note")
        program.find("image", re.compile("^The note, and a scale"))
        reads(program, desktop, sounds.cents_over(440.0, 3), "A4, 3 cents sharp")
        reads(program, desktop, sounds.cents_over(sounds.equal_hz(64, 440.0), -12), "E4, 12 cents flat")
        reads(program, desktop, 440.0, "A4, in tune")
        # From 442 Hz, 440 Hz is 1200 log2(440 / 442) = -7.9 cents
        program.set_value("spin button", "A4 in Hz", 442.0)
        reads(program, desktop, 440.0, "A4, 8 cents flat")
        program.press("push button", "Back to 440.0 Hz")
        reads(program, desktop, 440.0, "A4, in tune")
        words_stand(program, desktop)
        program.keys("Escape")
        program.wait_gone("spin button", "A4 in Hz")
        program.find("status bar", READY)
        program.close()
    print("The tuner reads as it should")


if __name__ == "__main__":
    main()
