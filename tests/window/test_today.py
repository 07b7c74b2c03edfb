# SPDX-License-Identifier: GPL-3.0-or-later

"""Today's items in the window: the list, what is left out of it, one item played, the next reached by
a key, the end; and what is remembered of it, here and in a terminal.

    test_today.py STEADYREED SOURCE_ROOT
"""

import os
import re
import subprocess
import sys

import sounds
import speech
import window_test
from window_test import Desktop

STATUS = "status bar"
PAUSE_S = 6
LOW_MIDI = 48
HUSH_S = 90.0
SPOKEN = 0.02  # A voice is louder, what is played to it meanwhile softer


def is_ticked(program, name):
    box = program.find("check box", name)
    return program.has_state(box, program.atspi.STATE_CHECKED)


def untick(program, name):
    program.tab_to("check box", name)
    program.keys("space")
    window_test.wait_for(lambda: not is_ticked(program, name), f"{name!r} stays ticked")


def first_list(program):
    """A first day: the drills that come with the program, all of them wanted."""
    program.press("push button", "A quarter of an hour for today")
    program.find("frame", "For today")
    program.find("label", "14 minutes with the pauses")
    program.find("label", re.compile("^2 minutes: your own beat.*New for you", re.DOTALL))
    program.find("label", "Next")
    for name in ("Six in a Row", "First Cuts", "The Lamp in the Porch, bars 1 to 2", "First Sip"):
        assert is_ticked(program, name), name
        program.find("push button", "Only this: " + name)


def leave_out(program):
    """What is left takes less time."""
    untick(program, "The Lamp in the Porch, bars 1 to 2")
    program.find("push button", "Begin: 8 minutes")
    program.find("label", "Left out")


def announced(program, spoken):
    """The first item is shown, and spoken, in the pause before it."""
    program.press("push button", "Begin: 8 minutes")
    if spoken:
        window_test.wait_for(lambda: sounds.loudest(0.5) > SPOKEN, "nothing is spoken")
    program.find(STATUS, "First: Six in a Row")
    program.find(STATUS, re.compile("^2 minutes: your own beat"))
    if spoken:
        window_test.wait_for(lambda: sounds.loudest(0.5) < SPOKEN, "it speaks on and on")


def low_note(program, desktop):
    """Held for four seconds it ends an item, and the next begins by itself."""
    sounds.play(desktop, sounds.tone(sounds.equal_hz(LOW_MIDI, 440.0), 4.5))
    program.find(STATUS, "Next: First Cuts")


def one_item(program, steadyreed, source, desktop):
    """It waits, counts in, and is played; what is said between is on the stage."""
    program.find(STATUS, re.compile(r"^3 minutes: cuts on repeated notes, from \d+, towards \d+\nRest your hands: the click begins in \d s$"))
    program.find("label", "2 of 3 · 3 min left · First Cuts")
    phrase = os.path.join(source, "exercises", "first-cuts.abc")
    path = os.path.join(desktop.folder, "first-cuts.wav")
    subprocess.run([steadyreed, "sound", phrase, "--tempo", "100", "-o", path], check=True, stdout=subprocess.DEVNULL,
                   stderr=subprocess.DEVNULL)
    head = program.look(STATUS)[0]
    program.wait_text(head, re.compile("^[1-4](, play)?$"))
    program.wait_text(head, re.compile(", play$"))
    subprocess.run(["paplay", "--device=room", path], check=True, timeout=60)
    program.find("push button", re.compile("^Round 1: Notes 12 of 12 right"))


def next_and_end(program):
    program.keys("n")
    program.find(STATUS, "Next: First Sip")
    program.find(STATUS, re.compile("^2 minutes: air that nobody hears"))
    program.find("label", re.compile("^3 of 3 · 2 min left"))
    program.press("push button", "End")
    program.find(STATUS, "Done: 1 of 3")
    program.find(STATUS, re.compile("^1 round, with(out a fault| faults), less than a minute of playing"))
    # What was chosen before is chosen again
    program.find("label", "Three of Each")
    program.find("push button", "Begin")


def remembered(program, steadyreed):
    """The list is the same; one round is a beginning, which stays wanted; the terminal says so too."""
    program.keys("Control_L+Shift_L+d")
    program.find("frame", "For today")
    program.find("label", re.compile("Begun today, 1 round$"))
    assert is_ticked(program, "First Cuts")
    assert is_ticked(program, "Six in a Row")
    program.keys("Escape")
    program.wait_gone("check box", "Six in a Row")
    told = subprocess.run([steadyreed, "today", "--list"], check=True, capture_output=True, text=True).stdout
    assert "14 minutes with the pauses" in told and "begun today, 1 round" in told, told


def only_one(program):
    """One alone, and nobody plays; it is left for another choice, and its click and pause with it."""
    program.keys("Control_L+Shift_L+d")
    program.press("push button", "Only this: The Lamp in the Porch, bars 1 to 2")
    program.find(STATUS, "First: The Lamp in the Porch, bars 1 to 2")
    program.find("label", re.compile("^1 of 1 · 6 min left"))
    program.find("label", re.compile("^bars 1 to 2 · "))
    program.keys("Escape")
    program.find(STATUS, "Resting")
    program.wait_sensitive(program.find("push button", "Begin"))
    program.keys("space")
    program.find(STATUS, "First: The Lamp in the Porch, bars 1 to 2")
    program.press("push button", "Phrase")
    program.find("frame", "What to practise")
    program.find("label", re.compile("^1 of 1 · "))
    program.press("push button", "Practise this")
    program.wait_gone("label", re.compile("^1 of 1 · "))


def close_meanwhile(program, desktop):
    """What is otherwise while it runs is not remembered."""
    program.keys("Control_L+Shift_L+d")
    program.press("push button", "Only this: First Sip")
    program.find(STATUS, "First: First Sip")
    program.keys("Control_L+w")
    status = program.process.wait(window_test.WAIT_S)
    assert status == 0, (status, desktop.log(program.name))
    with open(os.path.join(os.environ["XDG_CONFIG_HOME"], "steadyreed", "window.ini")) as file:
        settings = file.read()
    assert "click=false" in settings and f"wait={PAUSE_S}" in settings, settings
    assert re.search("path=.*session-jig.abc", settings), settings


def main():
    steadyreed, source = sys.argv[1:3]
    window_test.skip_without_desktop()
    sounds.skip_without_player()
    os.environ["G_DEBUG"] = "fatal-criticals"
    with Desktop() as desktop:
        phrase = os.path.join(source, "exercises", "three-as.abc")
        spoken = speech.begin(desktop, steadyreed)
        print("with a voice:", spoken)
        options = ["--wait", str(PAUSE_S)] + (["--speak"] if spoken else [])
        program = desktop.run([steadyreed, "practise", phrase] + options)
        # A room is never quite silent
        sounds.play(desktop, sounds.hush(HUSH_S))
        first_list(program)
        leave_out(program)
        announced(program, spoken)
        low_note(program, desktop)
        one_item(program, steadyreed, source, desktop)
        next_and_end(program)
        remembered(program, steadyreed)
        only_one(program)
        close_meanwhile(program, desktop)


main()
