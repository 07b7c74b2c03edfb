# SPDX-License-Identifier: GPL-3.0-or-later

"""A PulseAudio of our own, whose only device is a null sink, and a player's sound in it.

The sink is what the program plays its click to, its monitor is the microphone. What the player
plays goes through one stream that never stops, so that a take begins where it should to a few
milliseconds, whatever the machine is doing.
"""

import array
import ctypes
import fcntl
import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
import wave

RATE_HZ = 44100
BLOCK = 441  # Samples written at once
PIPE_BYTES = 16384  # What waits in front of the stream: 186 ms
STREAM_MS = 400  # A busy machine may be late
USUAL_DELAY_S = 0.5  # From writing a sample to when it is heard, about
QUIET = array.array("h", (1 - (i * 7 % 3) for i in range(BLOCK)))
NEEDED = ("pulseaudio", "pactl", "pacat", "parec")


def missing():
    """The first program that is not installed; None if all are."""
    return next((name for name in NEEDED if not shutil.which(name)), None)


def die_with_parent():
    prctl, pdeathsig = ctypes.CDLL(None).prctl, 1
    prctl(pdeathsig, signal.SIGKILL)


def hurry():
    """Sound goes before what else the machine does, if that may be asked for."""
    try:
        os.setpriority(os.PRIO_PROCESS, 0, -10)
    except OSError:
        pass


def read_samples(path):
    with wave.open(path) as file:
        if (file.getframerate(), file.getnchannels(), file.getsampwidth()) != (RATE_HZ, 1, 2):
            raise ValueError(f"{path}: not as make_take writes")
        return array.array("h", file.readframes(file.getnframes()))


class Stream(threading.Thread):
    """What the player plays: silence, and takes that are laid into it."""

    def __init__(self, log):
        super().__init__(daemon=True)
        self.pacat = subprocess.Popen(
            ["pacat", "--playback", "--raw", "--format=s16le", "--channels=1", f"--rate={RATE_HZ}",
             f"--latency-msec={STREAM_MS}", "--device=quiet", "--verbose"],
            stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=log, preexec_fn=die_with_parent)
        fcntl.fcntl(self.pacat.stdin.fileno(), 1031, PIPE_BYTES)  # F_SETPIPE_SZ
        self.lock = threading.Lock()
        self.written = 0
        self.starts = []  # When each block was written, less its place in the stream
        self.laid = []  # Takes that sound, as (first sample, samples)
        self.over = False
        self.start()

    def block(self):
        """The next samples. Where no take sounds they are nearly silent, since exact zeros are a dead
        microphone."""
        first = self.written
        samples = QUIET[:]
        for at, take in self.laid:
            begin, end = max(0, at - first), min(BLOCK, at + len(take) - first)
            if begin < end:
                samples[begin:end] = take[first + begin - at:first + end - at]
        self.laid = [(at, take) for at, take in self.laid if at + len(take) > first + BLOCK]
        return samples

    def run(self):
        while not self.over:
            with self.lock:
                samples = self.block()
            try:
                os.write(self.pacat.stdin.fileno(), samples.tobytes())
            except OSError:
                return
            with self.lock:
                self.written += BLOCK
                self.starts = self.starts[-200:] + [time.monotonic() - self.written / RATE_HZ]

    def play(self, samples, at_s):
        """Lay a take into the stream, to be written at a moment of the monotonic clock. False if it
        is too late for that."""
        with self.lock:
            if not self.starts:
                return False
            first = round((at_s - min(self.starts)) * RATE_HZ)
            if first < self.written + BLOCK:
                return False
            self.laid.append((first, samples))
            return True

    def stop(self):
        self.over = True
        self.pacat.kill()
        self.pacat.wait()
        self.join(2.0)


class SoundRoom:
    """The server and the player's stream; as a context."""

    def __enter__(self):
        self.folder = tempfile.mkdtemp(prefix="steadyreed-week-")
        runtime = os.path.join(self.folder, "runtime")
        os.mkdir(runtime, 0o700)
        # Its own places, so that neither a server that runs nor the player's settings are touched
        self.environment = dict(os.environ, XDG_RUNTIME_DIR=runtime, HOME=self.folder,
                                XDG_CONFIG_HOME=os.path.join(self.folder, "config"),
                                XDG_DATA_HOME=os.path.join(self.folder, "data"),
                                PULSE_SERVER=f"unix:{runtime}/pulse.socket", LC_ALL="C.UTF-8", TZ="UTC")
        self.environment.pop("DISPLAY", None)
        os.environ.update(self.environment)
        self.log = open(os.path.join(self.folder, "sound.log"), "wb")
        self.server = subprocess.Popen(
            ["pulseaudio", "--daemonize=no", "--exit-idle-time=-1", "--disallow-exit", "-n",
             "--use-pid-file=no",
             f"--load=module-native-protocol-unix socket={runtime}/pulse.socket auth-anonymous=1",
             f"--load=module-null-sink sink_name=quiet rate={RATE_HZ}"],
            stdin=subprocess.DEVNULL, stdout=self.log, stderr=self.log, preexec_fn=die_with_parent)
        for _ in range(100):
            if subprocess.run(["pactl", "info"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                              check=False).returncode == 0:
                break
            time.sleep(0.1)
        else:
            raise RuntimeError("no sound server came up")
        # Whoever listens with little latency keeps the sink's small; it would change with each sitting
        self.keeper = subprocess.Popen(["parec", "--device=quiet.monitor", "--latency-msec=10"],
                                       stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL, preexec_fn=die_with_parent)
        time.sleep(0.5)
        self.stream = Stream(self.log)
        return self

    def __exit__(self, *unused):
        self.stream.stop()
        self.keeper.kill()
        self.keeper.wait()
        self.server.terminate()
        self.server.wait()
        self.log.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def underruns(self):
        """How often the player's stream ran dry."""
        with open(self.log.name, "rb") as log:
            return log.read().count(b"nderrun")
