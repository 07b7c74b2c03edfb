# SPDX-License-Identifier: GPL-3.0-or-later

"""Learning by ear in the window: a stretch of a recording is marked, heard, written down and practised.

    test_by_ear.py STEADYREED SOURCE_ROOT
"""

import array
import os
import re
import subprocess
import sys
import wave

import sounds
import window_test
from window_test import Desktop, wait_for

READY = re.compile("^(Play when you like|The microphone)")
MARK = "Mark what you want to learn, and hear it"
# Of the view, once a recording is open and before
OTHER = ("push button", "Recording…")
FIRST = ("push button", re.compile("Open a recording"))


def peak_in_room(seconds):
    """Largest sample that is played in some seconds, full scale 1."""
    arguments = ["parec", "--device=room.monitor", "--format=s16le", "--channels=1", "--rate=44100", "--latency-msec=50"]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE) as recorder:
        samples = array.array("h", recorder.stdout.read(int(seconds * 44100) * 2))
        recorder.terminate()
        recorder.stdout.close()
    return max(map(abs, samples)) / 32768


def mark(program, from_s, to_s):
    program.set_value("spin button", "From", from_s)
    program.set_value("spin button", "To", to_s)


def hear_buttons(program, count):
    """The window under the view has one of that name too, before it."""
    wait_for(lambda: len(program.look("push button", "Hear it")) == count,
             lambda: f"not {count} buttons to hear it. {program.describe()}")
    return program.look("push button", "Hear it")


def stretch_of(program):
    return [program.find("spin button", name).queryValue().currentValue for name in ("From", "To")]


def drag(program):
    """A new stretch, and then one of its ends; an end goes to a pause that is close by."""
    strip = program.find("image", re.compile("^The recording, 0:18 long"))
    seconds = 17.96
    program.drag(strip, 10 / seconds, 14 / seconds)
    wait_for(lambda: abs(stretch_of(program)[1] - 14) < 0.2, lambda: f"{stretch_of(program)} is not 10 to 14")
    assert abs(stretch_of(program)[0] - 10) < 0.2, stretch_of(program)
    program.drag(strip, 14 / seconds, 12 / seconds)
    wait_for(lambda: abs(stretch_of(program)[1] - 12) < 0.2, lambda: f"{stretch_of(program)} is not 10 to 12")
    assert abs(stretch_of(program)[0] - 10) < 0.2, stretch_of(program)


def hear(program):
    """The recording itself, and silence once it is stopped."""
    hear_buttons(program, 2)[-1].queryAction().doAction(0)
    program.find("push button", "Stop")
    wait_for(lambda: peak_in_room(0.5) > 0.05, "nothing is heard")
    # The line moves: an end can be put there
    program.press("push button", "To here")
    to_s = program.find("spin button", "To").queryValue().currentValue
    assert 0.4 < to_s < 8.4, to_s
    program.press("push button", "Stop")
    hear_buttons(program, 2)
    wait_for(lambda: peak_in_room(0.5) < 0.001, "it does not stop")


def write_and_correct(program):
    program.press("push button", "Write it down")
    program.find("image", "Bellows line, bars 1 to 4")
    words = program.find("status bar", re.compile(r"^2[012] notes, 1\d with a cut or a strike, within \d+ ms of the beat"))
    print(program.spoken(words))
    program.find("label", re.compile(r"^6/8 \("))
    # As guessed, C, G, D
    program.tab_to("combo box", "Key")
    program.keys("space", "Down", "Down", "Down", "Return")
    program.find("label", "D major", within=program.find("combo box", "Key"))
    program.find("status bar", "Hear whether it is right, then practise it")
    program.press("push button", "Hear both in turn")
    program.find("push button", "Stop")
    program.press("push button", "Stop")


def practise(program, title):
    program.find("text", "Title").queryEditableText().setTextContents(title)
    program.wait_sensitive(program.find("push button", "Practise it"))
    program.press("push button", "Practise it")
    program.wait_gone(*OTHER)
    program.find("status bar", READY)
    header = program.find("filler", "AdwWindowTitle", within=program.find("frame", "Steadyreed"))
    shown = [program.spoken(label) for label in program.look("label", within=header)]
    assert shown[0] == title and shown[1].startswith("bars 1 to 4 · 66 pulses a minute"), shown
    path = os.path.join(os.environ["XDG_DATA_HOME"], "steadyreed", "learnt", "by-the-gate.abc")
    with open(path, encoding="utf-8") as file:
        lines = file.read().splitlines()
    assert f"T:{title}" in lines and "K:D" in lines and "M:6/8" in lines, lines
    program.press("push button", "Phrase")
    program.find("frame", "What to practise")
    program.find("list item", title)
    program.find("push button", "Practise this")
    program.keys("Escape")
    program.wait_gone("push button", "Practise this")


def learn(desktop, steadyreed, root):
    program = desktop.run([steadyreed, "practise", os.path.join(root, "testdata", "takes", "demo.flac")])
    program.find("status bar", MARK)
    program.find(*OTHER)
    mark(program, 0.3, 8.4)
    program.find("image", "The recording, 0:18 long; marked from 0:00.3 to 0:08.4")
    drag(program)
    mark(program, 0.3, 8.4)
    hear(program)
    mark(program, 0.3, 8.4)
    write_and_correct(program)
    practise(program, "By the Gate")
    assert program.close() == 0


def write_wave(path, samples):
    with wave.open(path, "wb") as file:
        file.setparams((1, 2, 44100, 0, "NONE", ""))
        file.writeframes(array.array("h", (round(32767 * sample) for sample in samples)).tobytes())
    return path


def what_cannot_be_written(desktop, steadyreed):
    """Words, and never the end of the program."""
    path = write_wave(os.path.join(desktop.folder, "tone.wav"),
                      sounds.hush(1.5) + sounds.tone(440, 1.5) + sounds.hush(2.0) + [0.0] * (44100 * 130))
    program = desktop.run([steadyreed, "practise", path])
    program.find("status bar", MARK)
    mark(program, 1.0, 1.5)
    program.press("push button", "Write it down")
    program.find("status bar", "That is too short: mark at least a second")
    mark(program, 0.0, 125.0)
    program.press("push button", "Write it down")
    program.find("status bar", re.compile("^That is too long to be learnt at once"))
    program.set_value("spin button", "To", 100.0)
    program.set_value("spin button", "From", 20.0)
    program.press("push button", "Write it down")
    program.find("status bar", re.compile("^There is no sound in this stretch"))
    # Closed while it works
    program.find(*OTHER)
    mark(program, 0.0, 100.0)
    program.press("push button", "Write it down")
    program.keys("Escape")
    program.wait_gone(*OTHER)
    program.find("status bar", READY)
    # Again by key, with nothing open
    program.keys("Control_L+e")
    program.wait_place(program.find(*FIRST))
    program.keys("Escape")
    program.wait_gone(*FIRST)
    assert program.close() == 0


def no_recording(desktop, steadyreed):
    path = os.path.join(desktop.folder, "broken.wav")
    with open(path, "wb") as file:
        file.write(b"RIFF\0\0\0\0WAVEfmt ")
    program = desktop.run([steadyreed, "practise", path])
    program.find("status bar", re.compile(r"^broken\.wav: The recording is damaged"))
    program.wait_place(program.find(*FIRST))
    assert program.close() == 0


def closed_while_it_sounds(desktop, steadyreed, root):
    program = desktop.run([steadyreed, "practise", os.path.join(root, "testdata", "takes", "demo.flac")])
    program.find("status bar", MARK)
    program.press("push button", "Hear on to the end")
    program.find("push button", "Stop")
    assert program.close() == 0


def main():
    window_test.skip_without_desktop()
    sounds.skip_without_player()
    steadyreed, root = sys.argv[1:3]
    with Desktop() as desktop:
        learn(desktop, steadyreed, root)
        what_cannot_be_written(desktop, steadyreed)
        no_recording(desktop, steadyreed)
        closed_while_it_sounds(desktop, steadyreed, root)
    print("A phrase is learnt by ear as it should be")


if __name__ == "__main__":
    main()
