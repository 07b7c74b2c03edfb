# SPDX-License-Identifier: GPL-3.0-or-later

"""The README's pictures: the window after the demo's take was played to it, and the page of that take.

    readme_pictures.py STEADYREED SOURCE_ROOT FOLDER

Nothing compares them; a change that shows in them is a reason to make them again.
"""

import os
import subprocess
import sys
import tempfile

import test_demo_round as demo_round
from window_test import Desktop, skip_without_desktop

SIZE = "1280x800"
PAGE_WIDTH = 827  # 100 pixels an inch
MOST_BYTES = 80000


def make_smaller(picture, path, width):
    """A picture of its own 256 colours, which is a third of the size."""
    filters = f"scale={width}:-1:flags=area,split[a][b];[a]palettegen=reserve_transparent=0[p];[b][p]paletteuse=dither=none"
    subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-i", picture, "-vf", filters, "-frames:v", "1",
                    "-fflags", "+bitexact", path], check=True)
    size = os.path.getsize(path)
    print(f"{path}: {size} bytes")
    assert size <= MOST_BYTES, "too large to be carried along"


def draw_window(steadyreed, phrase, take, folder):
    with Desktop(SIZE) as desktop:
        # As if setup had been offered before: the offer would cover the buttons
        settings = os.path.join(os.environ["XDG_CONFIG_HOME"], "steadyreed")
        os.mkdir(settings, 0o700)
        with open(os.path.join(settings, "window.ini"), "w") as file:
            file.write("[window]\nsetup-offered=true\n")
        program = desktop.run([steadyreed, "practise", phrase])
        kept = demo_round.Pictures(folder, SIZE)
        demo_round.first_start(program, kept)
        demo_round.play(take).wait(60)
        demo_round.verdict(program, kept)
        program.close()


def main():
    steadyreed, source, folder = sys.argv[1:4]
    skip_without_desktop()
    phrase = os.path.join(source, "exercises", "three-as.abc")
    take = os.path.join(source, "testdata", "takes", "demo.flac")
    with tempfile.TemporaryDirectory() as drawn:
        draw_window(steadyreed, phrase, take, drawn)
        page = os.path.join(drawn, "page.png")
        subprocess.run([steadyreed, "assess", phrase, take, "--page", page], check=True, stdout=subprocess.DEVNULL,
                       cwd=source, env={**os.environ, "XDG_CONFIG_HOME": drawn})
        make_smaller(os.path.join(drawn, "verdict.png"), os.path.join(folder, "readme-window.png"), 1280)
        make_smaller(page, os.path.join(folder, "readme-page.png"), PAGE_WIDTH)


main()
