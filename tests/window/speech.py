# SPDX-License-Identifier: GPL-3.0-or-later

"""A speech server of the test's own, which speaks into its sound server."""

import os
import shutil
import subprocess

import window_test

# Where Debian puts what speaks
MODULE = "/usr/lib/speech-dispatcher-modules/sd_espeak-ng"
SETTINGS = f"""LogLevel 0
AudioOutputMethod "pulse"
DefaultLanguage "en"
AddModule "espeak-ng" "{MODULE}" "espeak-ng.conf"
DefaultModule espeak-ng
"""


def begin(desktop, steadyreed):
    """Start one; False where it, or a program that speaks, is missing."""
    speaks = subprocess.run([steadyreed, "today", "--list", "--speak"], stdout=subprocess.DEVNULL,
                            stderr=subprocess.DEVNULL).returncode == 0
    if not speaks or not shutil.which("speech-dispatcher") or not os.access(MODULE, os.X_OK):
        return False
    folder = os.path.join(desktop.folder, "speech")
    socket = os.path.join(desktop.folder, "speech.socket")
    os.makedirs(os.path.join(folder, "modules"))
    with open(os.path.join(folder, "modules", "espeak-ng.conf"), "w"):
        pass
    with open(os.path.join(folder, "speechd.conf"), "w") as file:
        file.write(SETTINGS)
    desktop.begin(["speech-dispatcher", "--run-single", "-c", "unix_socket", "-S", socket, "-C", folder,
                   "-P", os.path.join(desktop.folder, "speech.pid"), "-L", folder, "-t", "0"])
    window_test.wait_for(lambda: os.path.exists(socket), "speech-dispatcher did not start")
    os.environ["SPEECHD_ADDRESS"] = "unix_socket:" + socket
    return True
