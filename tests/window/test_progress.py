# SPDX-License-Identifier: GPL-3.0-or-later

"""Progress in the window, over an invented month: the phrases, what got better in words, the picture as a screen
reader finds it, and its page.

    test_progress.py STEADYREED SOURCE_ROOT FOLDER MAKE_HISTORY
"""

import os
import re
import subprocess
import sys

import window_test
from window_test import Desktop

SAVE = ("push button", re.compile("^Save as page"))
PICTURE = re.compile("^Progress from ")
SAVED = ("label", "Saved as The Long Way to the Session, progress.pdf")


def run(desktop, steadyreed, root):
    """The window, with its progress opened by key."""
    program = desktop.run([steadyreed, "practise", os.path.join(root, "exercises", "three-as.abc")])
    program.find("label", re.compile("pulses a minute"))
    program.keys("Control_L+p")
    return program


def nothing_kept(desktop, steadyreed, root):
    program = run(desktop, steadyreed, root)
    program.find("label", "Nothing has been kept yet")
    program.find("label", re.compile("^Play a phrase: each round is kept"))
    assert not program.has_place(program.find(*SAVE)), "there is nothing to save"
    program.keys("Escape")
    program.wait_gone("label", "Nothing has been kept yet")
    # It does not keep the window from closing
    program.keys("Control_L+p")
    program.find("label", "Nothing has been kept yet")
    assert program.close() == 0


def phrases(program):
    program.find("label", "5 phrases practised")
    rows = [program.spoken(row) for row in program.look("list item")]
    print(rows)
    assert len(rows) == 5
    program.find("label", re.compile(r"^20 days, last on \d+ \w+ \d{4}$"))


def first_phrase(program):
    """The last one practised is shown first: too little of it to tell."""
    program.find("status bar", re.compile("^Too few days to say what got better: 2 in the last 30"))
    words = program.spoken(program.find("image", PICTURE))
    print(words)
    assert ", 2 days practised." in words and "Clean cuts: " in words and "click" not in words
    assert not program.look(None, re.compile("^Days that are shown"))


def by_keys(program):
    """Down to the jig, whose cuts got better."""
    program.keys("Down", "Down")
    program.find("status bar", re.compile(r"better in clean cuts \(from 43 to 90 percent\)"))
    words = program.spoken(program.find("image", re.compile("20 days practised")))
    print(words)
    for name in ("Clean tempo: ", "Clean cuts: ", "Spread: ", "ahead of the click", "Time alone: ", "Audible air: ",
                 "Minutes: "):
        assert name in words, name
    # A reel of three years: a month of it at first, then all
    program.keys("Down")
    program.find("image", re.compile("Progress from .* 1[5-9] days practised"))
    program.tab_to(None, "Days that are shown: Last 30 days", most=3)
    program.keys("Return", "Down", "Down", "Return")
    words = program.spoken(program.find("image", re.compile(r"Progress from .* \d{3} days practised")))
    print(words)
    program.find(None, "Days that are shown: All days")


def save(program, folder):
    """Save as page, under the name that is offered, in the folder it was started in."""
    program.wait_place(program.tab_to(*SAVE, most=3))
    program.keys("Return")
    program.press("push button", "Save")
    program.find(*SAVED)
    path = os.path.join(folder, "The Long Way to the Session, progress.pdf")
    with open(path, "rb") as file:
        assert file.read(5) == b"%PDF-"
    os.unlink(path)


def main():
    # It changes its folder
    steadyreed, root, _, make_history = (os.path.abspath(path) for path in sys.argv[1:5])
    window_test.skip_without_desktop()
    with Desktop() as desktop:
        os.chdir(desktop.folder)
        nothing_kept(desktop, steadyreed, root)
        subprocess.run([make_history, "1100"], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        program = run(desktop, steadyreed, root)
        phrases(program)
        first_phrase(program)
        by_keys(program)
        save(program, desktop.folder)
        # The first Escape is the toast's
        program.keys("Escape")
        program.wait_gone(*SAVED)
        program.find(*SAVE)
        program.keys("Escape")
        program.wait_gone(*SAVE)
        program.close()
    print("Progress is shown and saved as it should")


if __name__ == "__main__":
    main()
