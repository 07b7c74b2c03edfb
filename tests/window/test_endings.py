# SPDX-License-Identifier: GPL-3.0-or-later

"""What may happen at any moment: the window is closed, or something else is chosen, while the devices
are opened, while a round is played, and without a phrase.

    test_endings.py STEADYREED SOURCE_ROOT
"""

import os
import re
import signal
import subprocess
import sys
import time

import sounds
import window_test
from window_test import Desktop

STATUS = "status bar"
DONE = 0


def takes():
    folder = os.path.join(os.environ["XDG_DATA_HOME"], "steadyreed", "takes")
    return os.listdir(folder) if os.path.isdir(folder) else []


def history(steadyreed):
    return subprocess.run([steadyreed, "progress"], check=True, capture_output=True, text=True).stdout


def play_demo(desktop, program, root):
    """Play the demo's take, until the program follows its first round."""
    player = desktop.begin(["paplay", "--device=room", os.path.join(root, "testdata", "takes", "demo.flac")])
    head = program.look(STATUS)[0]
    program.wait_text(head, re.compile("^Cut too long"))
    return player


def stop(player):
    player.terminate()
    player.wait(window_test.WAIT_S)


def expect_done(program):
    status = program.process.wait(window_test.WAIT_S)
    assert status == DONE, (status, program.desktop.log(program.name))
    log = program.desktop.log(program.name)
    assert "CRITICAL" not in log, log


def close_while_opening(desktop, steadyreed, phrase):
    """The program does not end under the thread that opens the devices; nothing stays of a take that has not begun."""
    server = next(child for child in desktop.children if child.args[0] == "pulseaudio")
    server.send_signal(signal.SIGSTOP)
    try:
        program = desktop.run([steadyreed, "practise", phrase])
        program.find(STATUS, "Opening the microphone")
        program.press("push button", "Close")
        time.sleep(1)
        assert program.process.poll() is None, "it ends while its devices are being opened"
    finally:
        server.send_signal(signal.SIGCONT)
    expect_done(program)
    assert takes() == [], takes()


def give_up_opening(desktop, steadyreed, phrase):
    """A sound server that never answers does not keep it for ever."""
    server = next(child for child in desktop.children if child.args[0] == "pulseaudio")
    server.send_signal(signal.SIGSTOP)
    try:
        program = desktop.run([steadyreed, "practise", phrase])
        program.find(STATUS, "Opening the microphone")
        program.press("push button", "Close")
        program.process.wait(window_test.WAIT_S)
    finally:
        server.send_signal(signal.SIGCONT)


def close_without_phrase(desktop, steadyreed):
    """No key does anything without a phrase."""
    program = desktop.run([steadyreed, "practise", os.path.join(desktop.folder, "missing.abc")])
    program.find("label", re.compile(r"^missing\.abc: The tune file cannot be opened"))
    program.keys("space", "Up", "Page_Up", "Control_L+b", "Control_L+l")
    program.find(STATUS, "Choose a phrase")
    program.keys("Control_L+w")
    expect_done(program)


def choose_while_playing(desktop, steadyreed, root, phrase):
    """The round that goes on is of the phrase before; more notes are in the one that is chosen."""
    program = desktop.run([steadyreed, "practise", phrase])
    program.find(STATUS, "Play when you like")
    player = play_demo(desktop, program, root)
    program.press("push button", "Phrase")
    program.find("frame", "What to practise")
    program.press("list item", "The Long Lane Home")
    program.find(STATUS, re.compile("^Bars 1 to 8 "))
    program.press("push button", "Practise this")
    program.wait_gone("push button", "Practise this")
    stop(player)
    program.find(STATUS, "Play when you like")
    program.find("image", "Bellows line, bars 1 to 8")
    assert not program.look("image", "Bellows line, bars 1 to 4")
    program.keys("Control_L+w")
    expect_done(program)


def close_while_playing(desktop, steadyreed, root, phrase):
    """The take is saved before the program ends."""
    before, told_before = set(takes()), history(steadyreed)
    program = desktop.run([steadyreed, "practise", phrase])
    program.find(STATUS, "Play when you like")
    player = play_demo(desktop, program, root)
    program.find("push button", re.compile("^Round 1: "))
    program.keys("Control_L+w")
    expect_done(program)
    stop(player)
    kept = set(takes()) - before
    assert len(kept) == 1, kept
    told = history(steadyreed)
    assert "Three of Each" in told and told != told_before, (told_before, told)


def end_while_playing(desktop, steadyreed, root, phrase):
    """So it is when the desktop session ends."""
    before = set(takes())
    program = desktop.run([steadyreed, "practise", phrase])
    program.find(STATUS, "Play when you like")
    player = play_demo(desktop, program, root)
    program.find("push button", re.compile("^Round 1: "))
    program.process.send_signal(signal.SIGTERM)
    expect_done(program)
    stop(player)
    assert len(set(takes()) - before) == 1, takes()


def without_sound(desktop, steadyreed, phrase):
    """What is wrong stays on the screen, and with the sound it goes on."""
    server = next(child for child in desktop.children if child.args[0] == "pulseaudio")
    server.terminate()
    server.wait(window_test.WAIT_S)
    program = desktop.run([steadyreed, "practise", phrase])
    program.find(STATUS, "Nothing listens")
    desktop.begin_sound(os.environ["XDG_RUNTIME_DIR"])
    program.keys("space")
    program.find(STATUS, "Play when you like")
    program.keys("Control_L+w")
    expect_done(program)


def lose_sound(desktop, steadyreed, root, phrase):
    """The sound server goes in the middle of a round: what was played is kept."""
    before = set(takes())
    program = desktop.run([steadyreed, "practise", phrase])
    program.find(STATUS, "Play when you like")
    play_demo(desktop, program, root)
    program.find("push button", re.compile("^Round 1: "))
    server = [child for child in desktop.children if child.args[0] == "pulseaudio"][-1]
    server.terminate()
    program.find("label", "Nothing listens: space tries again")
    program.keys("Control_L+w")
    expect_done(program)
    assert len(set(takes()) - before) == 1, takes()


def main():
    steadyreed, root = sys.argv[1:3]
    window_test.skip_without_desktop()
    sounds.skip_without_player()
    phrase = os.path.join(root, "exercises", "three-as.abc")
    os.environ["G_DEBUG"] = "fatal-criticals"
    with Desktop() as desktop:
        close_while_opening(desktop, steadyreed, phrase)
        give_up_opening(desktop, steadyreed, phrase)
        close_without_phrase(desktop, steadyreed)
        choose_while_playing(desktop, steadyreed, root, phrase)
        close_while_playing(desktop, steadyreed, root, phrase)
        end_while_playing(desktop, steadyreed, root, phrase)
        without_sound(desktop, steadyreed, phrase)
        lose_sound(desktop, steadyreed, root, phrase)


main()
