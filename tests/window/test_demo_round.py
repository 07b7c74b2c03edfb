# SPDX-License-Identifier: GPL-3.0-or-later

"""A first start, and the demo's take played to it through the sound server: what a screen reader finds
from the first words to the saved take, by keyboard alone. Pictures of each state are kept.

    test_demo_round.py STEADYREED SOURCE_ROOT PICTURES
"""

import os
import re
import stat
import subprocess
import sys
import time

import window_test
from window_test import Desktop, wait_for

STATUS = "status bar"


class Pictures:
    """Screenshots by ffmpeg, where it is installed."""

    def __init__(self, folder, size):
        self.folder, self.size = folder, size
        os.makedirs(folder, exist_ok=True)

    def take(self, name):
        path = os.path.join(self.folder, name + ".png")
        try:
            subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-f", "x11grab", "-draw_mouse", "0", "-video_size",
                            self.size, "-i", os.environ["DISPLAY"], "-frames:v", "1", path], check=True, timeout=30)
        except (OSError, subprocess.SubprocessError) as error:
            print("no picture of", name, error)


def play(take):
    """Play a file into the room, where the program's microphone hears it."""
    return subprocess.Popen(["paplay", "--device=room", take])


def frames_between(path, begin, end):
    """Frames drawn in the whole seconds between two times, and the longest gap in them, ms."""
    frames, longest = 0, 0.0
    with open(path) as log:
        for line in log:
            second, count, gap = line.split()
            if begin < int(second) and int(second) + 1 < end:
                frames += int(count)
                longest = max(longest, float(gap))
    return frames, longest


def first_start(program, pictures):
    program.find("label", "Three of Each")
    program.find(STATUS, "Play when you like")
    program.find(STATUS, re.compile("hold the low C"))
    program.find("image", "Bellows line, bars 1 to 4")
    assert not program.look("push button", re.compile("^Round ")), "there are no rounds yet"
    pictures.take("ready")


def silent_microphone(program, pictures):
    """The null sink delivers exact zeros: a dead microphone is told in words."""
    program.find(STATUS, "The microphone is silent")
    program.find(STATUS, re.compile("Is it muted"))
    pictures.take("silent")


def idle(frames):
    begin = time.time()
    time.sleep(4.2)
    drawn, _ = frames_between(frames, begin, time.time())
    print(f"frames in three idle seconds: {drawn}")
    assert drawn <= 2, "it draws though nothing changes"


def play_demo(program, pictures, take, frames):
    begin = time.time()
    player = play(take)
    # The first round's faults, as they are heard
    head, under = program.look(STATUS)[:2]
    # They stand for a second only: the whole tree takes longer to read on a busy computer
    program.wait_text(head, re.compile("^Cut too long: 1[0-9]{2} ms$"))
    program.wait_text(under, re.compile("^bar [23]$"))
    pictures.take("playing")
    program.find("push button", re.compile("^Round 1: Notes 22 of 22 right, Cuts 11 of 14 clean"))
    end = time.time()
    player.wait(60)
    program.find("push button", re.compile("^Round 2: Notes 22 of 22 right, Cuts 12 of 14 clean"))
    drawn, longest = frames_between(frames, begin + 3.0, begin + min(8.0, end - begin))
    print(f"frames in some seconds of playing: {drawn}, longest gap {longest} ms")
    assert drawn > 0, "the marker does not move"


def verdict(program, pictures):
    """Somebody who sees only this knows what to do, and where."""
    program.find(STATUS, "Lift the second A as the cutting finger flicks")
    program.find(STATUS, "Bar 3: you held on to the second A")
    program.find("image", "Bar 3, large")
    program.find("label", "12 of 14 clean")
    program.find("label", re.compile("^Bar 2, cut absent"))
    pictures.take("verdict")


def earlier_round(program):
    program.keys("Control_L+Left")
    program.find(STATUS, "Just flick the button")
    program.find(STATUS, re.compile("^Bar 2: the cut on the third F♯ lasted 14[0-9] ms"))
    program.find("label", "11 of 14 clean")
    program.keys("Control_L+Right")
    program.find(STATUS, "Lift the second A as the cutting finger flicks")


def hear_again(program):
    program.keys("Control_L+r")
    program.find("push button", "Stop")
    program.keys("Page_Down")
    program.find("push button", "Hear it")
    # The verdict has stayed
    program.find(STATUS, "Lift the second A as the cutting finger flicks")


def tempo(program):
    program.find("label", "66")
    program.keys("Up")
    program.find("label", "69")
    program.keys("Down")
    program.find("label", "66")


def rest_and_go_on(program, pictures):
    program.keys("Escape")
    # It can be pressed once the take is saved
    program.wait_sensitive(program.find("push button", "Begin"))
    folder = os.path.join(os.environ["XDG_DATA_HOME"], "steadyreed", "takes")
    takes = os.listdir(folder)
    assert len(takes) == 1, takes
    mode = stat.S_IMODE(os.stat(os.path.join(folder, takes[0])).st_mode)
    assert mode == 0o600, oct(mode)
    pictures.take("resting")
    program.keys("space")
    program.find("push button", "Rest")


def close(program):
    program.keys("Control_L+w")
    assert program.process.wait(window_test.WAIT_S) == 0
    with open(os.path.join(os.environ["XDG_CONFIG_HOME"], "steadyreed", "window.ini")) as file:
        assert "three-as.abc" in file.read()


def history(steadyreed):
    told = subprocess.run([steadyreed, "progress"], check=True, capture_output=True, text=True).stdout
    assert "Three of Each" in told, told


def main():
    steadyreed, source, pictures = sys.argv[1:4]
    window_test.skip_without_desktop()
    if not window_test.shutil.which("paplay"):
        window_test.skip("paplay is not installed")
    with Desktop() as desktop:
        frames = os.path.join(desktop.folder, "frames")
        os.environ["STEADYREED_FRAMES"] = frames
        program = desktop.run([steadyreed, "practise"])
        kept = Pictures(pictures, "1280x800")
        first_start(program, kept)
        silent_microphone(program, kept)
        idle(frames)
        play_demo(program, kept, os.path.join(source, "testdata", "takes", "demo.flac"), frames)
        verdict(program, kept)
        earlier_round(program)
        tempo(program)
        hear_again(program)
        rest_and_go_on(program, kept)
        close(program)
        history(steadyreed)


if __name__ == "__main__":
    main()
