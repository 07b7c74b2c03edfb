# SPDX-License-Identifier: GPL-3.0-or-later

"""Sounds for the window to hear, made here, and played into the sound server of its own."""

import array
import math
import os
import shutil
import subprocess
import wave

import window_test

RATE_HZ = 44100


def skip_without_player():
    if not shutil.which("paplay"):
        window_test.skip("paplay is not installed")


def equal_hz(midi, reference_hz):
    """Equal temperament."""
    return reference_hz * 2 ** ((midi - 69) / 12)


def cents_over(hz, cents):
    return hz * 2 ** (cents / 1200)


def tone(hz, seconds, level=0.1):
    """Like a reed: a periodic sound of several partials, with soft ends."""
    count = int(seconds * RATE_HZ)
    partials = [(2 * math.pi * hz * k / RATE_HZ, level / k) for k in range(1, 8)]
    ramp = 0.02 * RATE_HZ
    return [min(1, i / ramp, (count - i) / ramp) * sum(a * math.sin(w * i) for w, a in partials)
            for i in range(count)]


def swing(hz, cents, seconds, level=0.1):
    """A tone whose pitch swings to both sides twice a second."""
    phase, samples = 0.0, []
    for i in range(int(seconds * RATE_HZ)):
        phase += 2 * math.pi * cents_over(hz, cents * math.sin(4 * math.pi * i / RATE_HZ)) / RATE_HZ
        samples.append(sum(level / k * math.sin(k * phase) for k in range(1, 8)))
    return samples


def hush(seconds):
    """Nearly silent; exact zeros are a dead microphone."""
    return [1e-4 * math.sin(1.7 * i) for i in range(int(seconds * RATE_HZ))]


def loudest(seconds):
    """The largest sample that sounds within some time, full scale 1."""
    recorder = subprocess.Popen(["parec", "--device=room.monitor", f"--rate={RATE_HZ}", "--channels=1",
                                 "--format=s16le"], stdout=subprocess.PIPE)
    samples = array.array("h", recorder.stdout.read(2 * int(seconds * RATE_HZ)))
    # Asked to end, it would first write what nobody reads any more
    recorder.kill()
    recorder.wait(window_test.WAIT_S)
    return max(abs(sample) for sample in samples) / 32768


def play(desktop, samples):
    """Begin to play; its process, which ends when all is played."""
    path = os.path.join(desktop.folder, f"sound-{len(desktop.children)}.wav")
    with wave.open(path, "wb") as file:
        file.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        file.writeframes(array.array("h", (round(32767 * sample) for sample in samples)).tobytes())
    return desktop.begin(["paplay", "--device=room", path])
