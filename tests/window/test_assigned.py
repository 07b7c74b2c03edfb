# SPDX-License-Identifier: GPL-3.0-or-later

"""A drill whose file asks for bars, a tempo and the ladder, opened in the window.

    test_assigned.py STEADYREED SOURCE_ROOT
"""

import os
import re
import subprocess
import sys

import window_test
from window_test import Desktop, wait_for


def title_of(program):
    """Title and subtitle of the main window."""
    header = program.find("filler", "AdwWindowTitle", within=program.find("frame", "Steadyreed"))
    return [program.spoken(label) for label in program.look("label", within=header)]


def main():
    window_test.skip_without_desktop()
    steadyreed, source = sys.argv[1:3]
    with Desktop() as desktop:
        drill = os.path.join(desktop.folder, "drill.abc")
        tune = os.path.join(source, "exercises", "session-jig.abc")
        subprocess.run(
            [steadyreed, "practise", tune, "--bars", "1-4", "--tempo", "100", "--ladder"]
            + ["--write-drill", drill],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        # The ladder begins with two bars, at four fifths of the tempo
        program = desktop.run([steadyreed, "practise", drill])

        def climbs():
            shown = " ".join(title_of(program))
            return "bars 1 to 2" in shown and "80 pulses a minute" in shown

        wait_for(climbs, lambda: f"{title_of(program)} is not the foot of the ladder")
        program.close()
        # Options win over the file
        options = ["--no-ladder", "--bars", "3", "--tempo", "90"]
        program = desktop.run([steadyreed, "practise", drill, *options])

        def as_named():
            shown = " ".join(title_of(program))
            return re.search("bars? 3", shown) and "90 pulses a minute" in shown

        wait_for(as_named, lambda: f"{title_of(program)} is not what was named")
        program.close()
        # Chosen in the sheet, it brings the same
        subprocess.run(
            [steadyreed, "practise", tune, "--bars", "1-4", "--tempo", "100", "--ladder"]
            + ["--click-on", "bars", "--silent-bars", "2:3", "--force", "--write-drill", drill],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        others = os.path.join(source, "exercises", "three-as.abc")
        program = desktop.run([steadyreed, "practise", others])
        wait_for(lambda: title_of(program)[:1] == ["Three of Each"], lambda: title_of(program))
        program.press("push button", "Phrase")
        program.find("frame", "What to practise")
        program.press("list item", "The Lamp in the Porch")
        program.find("status bar", re.compile("^Bars 1 to 4 "))
        program.find("label", "First of each bar", within=program.find("combo box", "Click"))
        assert program.find("spin button", "Bars with the click").queryValue().currentValue == 2
        assert program.find("spin button", "Bars without the click").queryValue().currentValue == 3
        program.press("push button", "Practise this")
        program.wait_gone("push button", "Practise this")
        wait_for(climbs, lambda: f"{title_of(program)} is not the foot of the ladder")
        program.close()
    print("The window begins as the file asks")


if __name__ == "__main__":
    main()
