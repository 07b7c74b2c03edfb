# SPDX-License-Identifier: GPL-3.0-or-later

"""Practice without a hand: the ladder that sets bars and tempo, the ready note, the low note.

    test_no_hands.py STEADYREED SOURCE_ROOT
"""

import os
import re
import subprocess
import sys
import time

import sounds
import window_test
from window_test import Desktop

STATUS = "status bar"
READY_MIDI, LOW_MIDI = 62, 48


def render(steadyreed, phrase, bars, tempo, desktop):
    path = os.path.join(desktop.folder, f"bars-{bars}-{tempo}.wav")
    subprocess.run([steadyreed, "sound", phrase, "--bars", bars, "--tempo", str(tempo), "-o", path], check=True,
                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return path


def play_file(path):
    subprocess.run(["paplay", "--device=room", path], check=True, timeout=60)


def ladder(steadyreed, source, desktop):
    """Three clean rounds in a row are a step up; leaving the ladder brings all bars back."""
    phrase = os.path.join(source, "exercises", "three-as.abc")
    program = desktop.run([steadyreed, "practise", phrase, "--tempo", "70"])
    program.find(STATUS, "Play when you like")
    program.keys("Control_L+l")
    program.find("label", re.compile("^bars 1 to 2 · 56 pulses a minute"))
    program.find(STATUS, "Play when you like")
    take = render(steadyreed, phrase, "1-2", 56, desktop)
    # A sound server that is just beginning may stutter, and then a round does not count as clean
    for number in range(1, 7):
        play_file(take)
        program.find("push button", re.compile(f"^Round {number}: Notes 12 of 12 right, Cuts 8 of 8 clean"))
        if program.look("label", "Up a step, to 58."):
            break
    assert number >= 3, "a step up takes three rounds"
    program.find("label", "Up a step, to 58.")
    program.find("label", re.compile("^bars 1 to 2 · 58 pulses a minute"))
    program.find(STATUS, "Clean")
    program.keys("Control_L+l")
    program.find("label", re.compile("^bars 1 to 4 · 70 pulses a minute"))
    program.close()
    # These bars begin where they were clean last, not at 80 % of 66
    program = desktop.run([steadyreed, "practise", phrase, "--bars", "1-2", "--tempo", "66"])
    program.find(STATUS, "Play when you like")
    program.keys("Control_L+l")
    program.find("label", re.compile("^bars 1 to 2 · 56 pulses a minute"))
    program.close()


def notes(source, steadyreed, desktop):
    """The click waits for the ready note, and counts in; a low note held is answered."""
    phrase = os.path.join(source, "exercises", "three-as.abc")
    program = desktop.run([steadyreed, "practise", phrase, "--ready", "D4"])
    program.keys("Control_L+k")
    head, under = program.look(STATUS)[:2]
    program.wait_text(head, "Hold a D and let go")
    time.sleep(1.5)
    sounds.play(desktop, sounds.tone(sounds.equal_hz(READY_MIDI, 440.0), 0.8) + sounds.hush(1.5))
    program.wait_text(head, re.compile("^[12](, play)?$"))
    program.wait_text(head, "2, play")
    # Nobody plays: it says again what can be done
    program.wait_text(under, re.compile("hold the low C"))
    sounds.play(desktop, sounds.tone(sounds.equal_hz(LOW_MIDI, 440.0), 2.6) + sounds.hush(6.0))
    program.wait_text(head, "Let go: you hear it")
    program.wait_text(head, "Listen: this is how it goes", 30.0)
    program.close()


def rest(source, steadyreed, desktop):
    """Who rests goes on by playing; what was played to go on is no round."""
    phrase = os.path.join(source, "exercises", "three-as.abc")
    program = desktop.run([steadyreed, "practise", phrase, "--tempo", "100"])
    program.find(STATUS, "Play when you like")
    program.keys("Control_L+k")
    program.press("push button", "Rest")
    program.find(STATUS, "Play, or press space, to go on")
    # Until the microphone is open again; a knock is no playing
    time.sleep(3)
    sounds.play(desktop, sounds.tone(sounds.equal_hz(READY_MIDI, 440.0), 0.5) + sounds.hush(1.0))
    time.sleep(1)
    assert program.look("push button", "Begin"), "one note ends the rest"
    play_file(render(steadyreed, phrase, "1", 100, desktop))
    program.find("push button", "Rest")
    program.find(STATUS, "Play when you like")
    # The tuner has the devices to itself, though the player rests
    program.press("push button", "Rest")
    program.find(STATUS, "Play, or press space, to go on")
    program.keys("Control_L+t")
    program.find(STATUS, "Hold a note")
    program.find("spin button", "A4 in Hz")
    program.keys("Escape")
    program.wait_gone("spin button", "A4 in Hz")
    time.sleep(1)
    program.find(STATUS, "Play, or press space, to go on")
    assert program.look("push button", "Begin")
    program.close()


def main():
    steadyreed, source = sys.argv[1:3]
    window_test.skip_without_desktop()
    sounds.skip_without_player()
    with Desktop() as desktop:
        ladder(steadyreed, source, desktop)
        notes(source, steadyreed, desktop)
        rest(source, steadyreed, desktop)


main()
