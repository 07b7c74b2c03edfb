# SPDX-License-Identifier: GPL-3.0-or-later

"""The program on a day of our choice, with a terminal for its keys, and what it says as it says it.

The day is made by Debian's faketime, which leaves the monotonic clock alone: that is the one by
which sound is played and recorded.
"""

import fcntl
import glob
import os
import pty
import re
import select
import signal
import subprocess
import sys
import termios
import time

from sound_room import die_with_parent

LIBRARY = "/usr/lib/*/faketime/libfaketimeMT.so.1"
COUNT_IN = re.compile(r"^ *Count-in:((?: \d+)+)( - play)?$")


def library():
    """libfaketime for programs with threads; None without it."""
    return next(iter(glob.glob(LIBRARY)), None)


def at(moment, environment):
    """The environment of a program that believes in a moment, as "2026-11-02 18:00:00" in UTC."""
    return dict(environment, LD_PRELOAD=library(), FAKETIME="@" + moment, TZ="UTC",
                FAKETIME_DONT_FAKE_MONOTONIC="1", DONT_FAKE_MONOTONIC="1")


def clocks(environment):
    """What a program there reads from the wall clock and the monotonic clock."""
    code = "import time; print(time.time(), time.monotonic())"
    said = subprocess.run([sys.executable, "-c", code], env=environment, check=True,
                          capture_output=True, text=True).stdout
    return [float(word) for word in said.split()]


class Sitting:
    """One run of the program."""

    def __init__(self, arguments, environment, log):
        self.log = log
        self.keys, terminal = pty.openpty()
        name = os.ttyname(terminal)

        def take_terminal():
            die_with_parent()
            os.setsid()
            ours = os.open(name, os.O_RDWR)
            fcntl.ioctl(ours, termios.TIOCSCTTY, 0)
            os.dup2(ours, 0)

        self.program = subprocess.Popen(arguments, env=environment, stdout=subprocess.PIPE,
                                        stderr=subprocess.STDOUT, preexec_fn=take_terminal)
        os.close(terminal)
        self.rest = ""  # The line that is being written
        self.counted = 0
        self.events = []

    def read(self, most_s):
        """Read what comes, for a while."""
        if not select.select([self.program.stdout], [], [], max(0.0, most_s))[0]:
            return True
        now_s = time.monotonic()
        text = os.read(self.program.stdout.fileno(), 65536).decode(errors="replace")
        self.log.write(text)
        self.log.flush()
        self.rest += text
        while "\n" in self.rest:
            line, self.rest = self.rest.split("\n", 1)
            self.look(line, now_s)
            self.counted = 0
            if not COUNT_IN.match(line):
                self.events.append(("line", line, now_s))
        self.look(self.rest, now_s)
        return bool(text)

    def look(self, line, now_s):
        """Clicks of the count-in, as they are told."""
        match = COUNT_IN.match(line)
        numbers = match[1].split() if match else []
        for number in numbers[self.counted:]:
            last = match[2] is not None and number == numbers[-1]
            self.events.append(("count", (int(number), last), now_s))
        self.counted = max(self.counted, len(numbers))

    def next(self, until_s):
        """The next event; None if none came until then, or ("end", status, ...) once it is over."""
        while not self.events:
            left_s = until_s - time.monotonic()
            if left_s <= 0.0:
                return None
            if not self.read(left_s):
                return ("end", self.program.wait(), time.monotonic())
        return self.events.pop(0)

    def press(self, key):
        os.write(self.keys, key.encode())

    def close(self):
        if self.program.poll() is None:
            self.program.send_signal(signal.SIGINT)
            try:
                self.program.wait(20.0)
            except subprocess.TimeoutExpired:
                self.program.kill()
                self.program.wait()
        self.program.stdout.close()
        os.close(self.keys)
