# SPDX-License-Identifier: GPL-3.0-or-later

"""The sheet where a player chooses what to practise, as a screen reader finds it.

    test_phrase_sheet.py STEADYREED SOURCE_ROOT
"""

import json
import os
import re
import sys

import window_test
from window_test import Desktop, wait_for


def title_of(program):
    """Title and subtitle of the main window."""
    header = program.find("filler", "AdwWindowTitle", within=program.find("frame", "Steadyreed"))
    return [program.spoken(label) for label in program.look("label", within=header)]


def expect_title(program, title, *parts):
    def fits():
        shown = title_of(program)
        return len(shown) == 2 and shown[0] == title and all(part in shown[1] for part in parts)

    wait_for(fits, lambda: f"{title_of(program)} is not {title!r} with {parts}")


def value_of(program, name):
    return program.find("spin button", name).queryValue().currentValue


def open_sheet(program):
    program.press("push button", "Phrase")
    sheet = program.find("frame", "What to practise")
    program.wait_sensitive(program.find("push button", "Practise this"))
    return sheet


def exercise_and_bars(program):
    open_sheet(program)
    program.press("list item", "First Cuts")
    program.find("status bar", re.compile("^Bars 1 to 6 "))
    program.set_value("spin button", "To bar", 2)
    program.find("status bar", re.compile("^Bars 1 to 2 "))
    program.find("image", "Bellows line, bars 1 to 2")
    program.press("push button", "Practise this")
    program.wait_gone("push button", "Practise this")
    expect_title(program, "First Cuts", "bars 1 to 2", "60 pulses a minute")


def cancel_changes_nothing(program):
    open_sheet(program)
    assert value_of(program, "To bar") == 2
    program.press("list item", "Turning the Key")
    program.find("status bar", re.compile("^Bars 1 to 8 "))
    program.set_value("spin button", "Tempo", 120)
    program.keys("Escape")
    program.wait_gone("push button", "Practise this")
    expect_title(program, "First Cuts", "bars 1 to 2", "60 pulses a minute")


def tempo_and_pitches_only(program):
    open_sheet(program)
    program.set_value("spin button", "Tempo", 72)
    program.press("check box", "Buttons and bellows")
    program.find("image", "Line of pitches, bars 1 to 2")
    program.press("push button", "Practise this")
    expect_title(program, "First Cuts", "bars 1 to 2", "72 pulses a minute")
    assert "rows" not in title_of(program)[1], title_of(program)
    open_sheet(program)
    assert value_of(program, "Tempo") == 72
    program.press("push button", "Back to the tempo of the phrase itself")
    program.press("check box", "Buttons and bellows")
    program.find("image", "Bellows line, bars 1 to 2")
    program.press("push button", "Practise this")
    expect_title(program, "First Cuts", "60 pulses a minute", "across the rows")


def the_range_keeps_its_order(program):
    open_sheet(program)
    program.press("list item", "First Cuts")
    program.find("status bar", re.compile("^Bars 1 to 6 "))
    program.set_value("spin button", "To bar", 3)
    program.set_value("spin button", "From bar", 5)
    program.find("status bar", re.compile("^Bar 5 "))
    assert value_of(program, "To bar") == 5
    program.press("push button", "All bars")
    program.find("status bar", re.compile("^Bars 1 to 6 "))
    program.keys("Escape")
    program.wait_gone("push button", "Practise this")


def style_by_keyboard(program):
    """Without a pointer: all by Tab; the style is kept as the commands keep it."""
    open_sheet(program)
    program.tab_to("combo box", "Way of playing")
    program.keys("space", "Down", "Return")
    program.find("label", "Along the rows", within=program.find("combo box", "Way of playing"))
    program.tab_to("push button", "Practise this")
    program.keys("Return")
    program.wait_gone("push button", "Practise this")
    expect_title(program, "First Cuts", "along the rows")
    with open(os.path.join(os.environ["XDG_CONFIG_HOME"], "steadyreed", "preferences.json")) as file:
        assert json.load(file)["style"] == "along"


def scenes_on_exercises(desktop, steadyreed, root):
    program = desktop.run([steadyreed, "practise", os.path.join(root, "exercises", "three-as.abc")])
    expect_title(program, "Three of Each")
    exercise_and_bars(program)
    cancel_changes_nothing(program)
    tempo_and_pitches_only(program)
    the_range_keeps_its_order(program)
    style_by_keyboard(program)
    program.close()


def write_many(path, count):
    """Tunes of two parts; the third cannot be read, and the last has the number of the first."""
    with open(path, "w") as file:
        file.write("%abc-2.1\n")
        for number in range(1, count + 1):
            music = "DEF GAB|cBA GF&E|" if number == 3 else "|:DEF GAB|cBA GFE:|\n|:FED EFG|AGF D3:|"
            x = 1 if number == count else number
            file.write(f"\nX:{x}\nT:Gate and Yard No. {number}\nR:jig\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n{music}\n")
    return path


def search_tune(program, words, title):
    entry = program.find("entry", "Search by title or number")
    entry.queryEditableText().setTextContents(words)
    program.find("label", title, within=program.find("list", "Tunes of the file"))


def scenes_on_many_tunes(desktop, steadyreed, count=3000):
    path = write_many(os.path.join(desktop.folder, "many.abc"), count)
    program = desktop.run([steadyreed, "practise", path])
    expect_title(program, "Gate and Yard No. 1")
    open_sheet(program)
    program.find("label", f"Gate and Yard No. 1 (X:1, one of {count})")
    program.press("push button", "Tune")
    search_tune(program, "yard no. 2345", "Gate and Yard No. 2345")
    program.keys("Return")
    program.find("label", f"Gate and Yard No. 2345 (X:2345, one of {count})")

    # An error is told in place, with file and line, and another tune can still be chosen
    program.press("push button", "Tune")
    search_tune(program, "no. 3", "Gate and Yard No. 3")
    program.keys("Return")
    # Ten lines a tune with the empty one before it, after the line of the version; music is the ninth
    program.find("alert", re.compile(r"many\.abc, line 30\b"))
    practise = program.find("push button", "Practise this")
    assert not program.has_state(practise, program.atspi.STATE_SENSITIVE)

    # The number of the last is that of the first, so its title chooses it
    program.press("push button", "Tune")
    search_tune(program, f"no. {count}", f"Gate and Yard No. {count}")
    program.keys("Return")
    program.find("label", f"Gate and Yard No. {count} (X:1, one of {count})")
    program.press("push button", "Practise this")
    program.wait_gone("push button", "Practise this")
    expect_title(program, f"Gate and Yard No. {count}", "bars 1 to 4")
    program.close()


def main():
    window_test.skip_without_desktop()
    steadyreed, root = sys.argv[1:3]
    with Desktop() as desktop:
        scenes_on_exercises(desktop, steadyreed, root)
        scenes_on_many_tunes(desktop, steadyreed)
    print("The sheet chooses as it should")


if __name__ == "__main__":
    main()
