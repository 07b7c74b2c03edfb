# SPDX-License-Identifier: GPL-3.0-or-later

"""The window as a screen reader finds it, on a display, a session bus and a sound server of its own.

    with Desktop() as desktop:
        program = desktop.run([steadyreed, "practise", phrase])
        program.press("button", "Phrase")
        program.find("label", "bars 1 to 4")

A name is a whole name, or a compiled pattern that is searched for in it. What is looked for is
waited for; what does not come in time is a Missing, whose text shows the whole tree.

Only what was found can be gone: `wait_gone` takes a role and name that were found before. GTK 4.8 now
and then gives a window another role, or its name late, so a label or button in it is what to wait for.

Keys need the X server's focus, which no window manager gives here: `keys` gives it first.
"""

import ctypes
import os
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import time

SKIPPED = 77  # As Meson knows it
WAIT_S = 20.0
NEEDED = ("Xvfb", "dbus-daemon", "pulseaudio")
BUS_LAUNCHERS = ("/usr/libexec/at-spi-bus-launcher", "/usr/lib/at-spi2-core/at-spi-bus-launcher")


class Missing(AssertionError):
    """Something did not appear in time."""


def skip(reason):
    print("Skipped:", reason)
    sys.exit(SKIPPED)


def skip_without_desktop():
    """End the test as skipped where something is missing that it needs."""
    for name in NEEDED:
        if not shutil.which(name):
            skip(f"{name} is not installed")
    if not any(os.path.exists(path) for path in BUS_LAUNCHERS):
        skip("at-spi2-core is not installed")
    try:
        import gi

        gi.require_version("Atspi", "2.0")
        import pyatspi  # noqa: F401
    except (ImportError, ValueError) as error:
        skip(f"python3-pyatspi is not installed ({error})")


def die_with_parent():
    prctl, pdeathsig = ctypes.CDLL(None).prctl, 1
    prctl(pdeathsig, signal.SIGKILL)


def wait_for(condition, what, seconds=WAIT_S):
    """The first true value of a condition."""
    end = time.monotonic() + seconds
    while True:
        value = condition()
        if value:
            return value
        if time.monotonic() > end:
            raise Missing(what() if callable(what) else what)
        time.sleep(0.1)


class Desktop:
    """A display, a session bus with accessibility, and a sound server; one for each process."""

    def __init__(self, size="1280x800"):
        self.size = size
        self.children = []

    def __enter__(self):
        self.folder = tempfile.mkdtemp(prefix="steadyreed-window-")
        runtime = os.path.join(self.folder, "run")
        os.mkdir(runtime, 0o700)
        for variable, name in (("HOME", "home"), ("XDG_CONFIG_HOME", "config"), ("XDG_DATA_HOME", "data")):
            os.mkdir(os.path.join(self.folder, name))
            os.environ[variable] = os.path.join(self.folder, name)
        os.environ.update(XDG_RUNTIME_DIR=runtime, GSK_RENDERER="cairo", GDK_BACKEND="x11", NO_AT_BRIDGE="0",
                          GSETTINGS_BACKEND="memory", PULSE_SERVER=f"unix:{runtime}/pulse.socket")
        # The desktop's libraries keep memory until the end
        os.environ["ASAN_OPTIONS"] = os.environ.get("ASAN_OPTIONS", "") + ":detect_leaks=0"
        for variable in ("AT_SPI_BUS_ADDRESS", "WAYLAND_DISPLAY", "GTK_A11Y"):
            os.environ.pop(variable, None)
        try:
            self.begin_display()
            self.begin_bus(runtime)
            self.begin_sound(runtime)
        except BaseException:
            self.__exit__(None, None, None)
            raise
        return self

    def __exit__(self, *unused):
        for child in reversed(self.children):
            if child.poll() is None:
                child.terminate()
        for child in reversed(self.children):
            try:
                child.wait(10)
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
        shutil.rmtree(self.folder, ignore_errors=True)

    def begin(self, arguments, **more):
        log = open(os.path.join(self.folder, os.path.basename(arguments[0]) + ".log"), "ab")
        settings = {"stdin": subprocess.DEVNULL, "stdout": log, "stderr": log, "preexec_fn": die_with_parent}
        child = subprocess.Popen(arguments, **{**settings, **more})
        log.close()
        self.children.append(child)
        return child

    def begin_display(self):
        reader, writer = os.pipe()
        self.begin(["Xvfb", "-displayfd", str(writer), "-screen", "0", self.size + "x24", "-nolisten", "tcp", "-noreset"],
                   pass_fds=[writer])
        os.close(writer)
        with os.fdopen(reader) as answer:
            number = answer.readline().strip()
        if not number:
            raise Missing("Xvfb did not start: " + self.log("Xvfb"))
        os.environ["DISPLAY"] = ":" + number

    def begin_bus(self, runtime):
        address = f"unix:path={runtime}/bus"
        os.environ["DBUS_SESSION_BUS_ADDRESS"] = address
        self.begin(["dbus-daemon", "--session", "--nofork", "--nopidfile", "--address=" + address])
        wait_for(lambda: os.path.exists(f"{runtime}/bus"), "dbus-daemon did not start")
        launcher = next(path for path in BUS_LAUNCHERS if os.path.exists(path))
        self.begin([launcher, "--launch-immediately"])

    def begin_sound(self, runtime):
        self.begin(["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
                    f"--load=module-native-protocol-unix socket={runtime}/pulse.socket auth-anonymous=1",
                    "--load=module-null-sink sink_name=room"])
        wait_for(lambda: os.path.exists(f"{runtime}/pulse.socket"), "pulseaudio did not start")

    def log(self, name):
        try:
            with open(os.path.join(self.folder, name + ".log"), errors="replace") as file:
                return file.read()
        except OSError:
            return ""

    def run(self, arguments):
        """Start a program, and wait until its window can be read."""
        child = self.begin([str(argument) for argument in arguments])
        return Program(self, child, os.path.basename(str(arguments[0])))


class Program:
    """A program with a window, and what a screen reader sees of it."""

    def __init__(self, desktop, process, name):
        import pyatspi

        self.atspi = pyatspi
        self.desktop = desktop
        self.process = process
        self.name = name
        self.found = set()  # Roles and names that were found, and have not gone since
        self.application = wait_for(self.find_application, self.describe)

    def find_application(self):
        if self.process.poll() is not None:
            raise Missing(f"{self.name} ended with {self.process.returncode}: {self.desktop.log(self.name)}")
        for application in self.children_of(self.atspi.Registry.getDesktop(0)):
            try:
                if application.get_process_id() == self.process.pid and application.childCount:
                    return application
            except Exception:  # It has gone meanwhile
                continue
        return None

    @staticmethod
    def children_of(node):
        # A node may go while it is looked at
        try:
            return [child for child in (node.getChildAtIndex(i) for i in range(node.childCount)) if child]
        except Exception:
            return []

    def nodes(self, within=None):
        """Everything that is shown, from top to bottom."""
        waiting = [within or self.application]
        while waiting:
            node = waiting.pop()
            try:
                # GTK 4.8 says of windows alone whether they are showing
                shown = node is self.application or node.getState().contains(self.atspi.STATE_VISIBLE)
            except Exception:
                continue
            if shown:
                yield node
                waiting.extend(reversed(self.children_of(node)))

    @staticmethod
    def spoken(node):
        """The name of a node. GTK 4.8 gives a button with a mnemonic its label twice, "_Open Open"."""
        name = node.name or ""
        half = len(name) // 2
        twice = name[:half].replace("_", "", 1).strip(), name[half:].strip()
        return twice[1] if " " in name and twice[0] == twice[1] else name

    def is_named(self, node, name):
        try:
            own = self.spoken(node)
        except Exception:
            return False
        return name is None or (name.search(own) is not None if isinstance(name, re.Pattern) else own == name)

    def is_such(self, node, role, name):
        try:
            return (role is None or node.getRoleName() == role) and self.is_named(node, name)
        except Exception:  # It has gone meanwhile
            return False

    def look(self, role, name=None, within=None):
        """All nodes of a role and name that are shown now. Role None for any."""
        found = [node for node in self.nodes(within) if self.is_such(node, role, name)]
        if found:
            self.found.add((role, name))
        return found

    def describe(self):
        lines = []
        for node in self.nodes() if getattr(self, "application", None) else []:
            try:
                lines.append(f"{node.getRoleName()} | {self.spoken(node)}")
            except Exception:
                continue
        return "Not in time. The window shows:\n" + "\n".join(lines) + "\n" + self.desktop.log(self.name)

    def find(self, role, name=None, within=None, seconds=WAIT_S):
        """The first node of a role and name."""
        found = wait_for(lambda: self.look(role, name, within),
                         lambda: f"no {role or 'node'} {name!r}. {self.describe()}", seconds)
        return found[0]

    def wait_text(self, node, name, seconds=WAIT_S):
        """Wait until a node that stays has a name, looking at it alone and often."""
        end = time.monotonic() + seconds
        while not self.is_named(node, name):
            if time.monotonic() > end:
                raise Missing(f"{self.spoken(node)!r} does not become {name!r}. {self.describe()}")
            time.sleep(0.02)
            node.clear_cache()

    def wait_gone(self, role, name=None, seconds=WAIT_S):
        """Wait until what was found is gone, while something else is shown."""
        if (role, name) not in self.found:
            raise Missing(f"{role} {name!r} was never there. {self.describe()}")

        def gone():
            if self.process.poll() is not None:
                raise Missing(f"{self.name} ended with {self.process.returncode}: {self.desktop.log(self.name)}")
            # A busy program may not answer, and then there is nothing but the program itself
            shown = list(self.nodes())
            return len(shown) > 1 and not any(self.is_such(node, role, name) for node in shown)

        wait_for(gone, lambda: f"{role} {name!r} is still there. {self.describe()}", seconds)
        self.found.discard((role, name))

    def has_place(self, node):
        """Whether it takes up room: the pages of a stack are all shown, says GTK 4.8, but one alone has a place."""
        return node.queryComponent().getExtents(self.atspi.WINDOW_COORDS).width > 1

    def wait_place(self, node):
        wait_for(lambda: self.has_place(node), lambda: f"{node.name!r} has no place. {self.describe()}")
        return node

    def has_state(self, node, state):
        return node.getState().contains(state)

    def wait_sensitive(self, node):
        wait_for(lambda: self.has_state(node, self.atspi.STATE_SENSITIVE),
                 lambda: f"{node.name!r} stays insensitive. {self.describe()}")
        return node

    def press(self, role, name=None, within=None):
        """Do the first action of a node, as a click would."""
        node = self.wait_sensitive(self.find(role, name, within))
        if not node.queryAction().doAction(0):
            raise Missing(f"{role} {name!r} cannot be pressed")
        return node

    def set_value(self, role, name, value):
        node = self.wait_sensitive(self.find(role, name))
        node.queryValue().currentValue = value
        wait_for(lambda: node.queryValue().currentValue == value, lambda: f"{name!r} does not become {value}")

    def tab_to(self, role, name=None, within=None, most=150):
        """Press Tab until a node has the focus: GTK 4.8 lets nobody but the user move it."""
        node = self.wait_sensitive(self.find(role, name, within))
        for _ in range(most):
            if self.has_state(node, self.atspi.STATE_FOCUSED):
                return node
            self.keys("Tab")
        raise Missing(f"{role} {name!r} is not reached by Tab. {self.describe()}")

    def keys(self, *names):
        """Press keys one after another, by their X names; "Control_L+o" for several at a time."""
        display = Display()
        display.focus_window_of(self.process.pid)
        for name in names:
            display.press(name.split("+"))
            time.sleep(0.1)
        display.close()

    def drag(self, node, first, last):
        """Drag the pointer over a node from one share of its width to another, at half its height."""
        place = node.queryComponent().getExtents(self.atspi.WINDOW_COORDS)
        if place.width < 2:
            raise Missing(f"{node.name!r} has no place. {self.describe()}")
        display = Display()
        left, top = display.focus_window_of(self.process.pid)
        y = top + place.y + place.height // 2
        steps = [left + place.x + round(place.width * (first + (last - first) * i / 8)) for i in range(9)]
        display.drag([(x, y) for x in steps])
        display.close()

    def close(self):
        """End it as a session's end would, and return its exit status."""
        self.process.terminate()
        return self.process.wait(WAIT_S)


class Display:
    """Keys pressed on the X server by its XTest extension."""

    def __init__(self):
        self.x, self.test = ctypes.CDLL("libX11.so.6"), ctypes.CDLL("libXtst.so.6")
        self.x.XOpenDisplay.restype = ctypes.c_void_p
        self.x.XDefaultRootWindow.restype = ctypes.c_ulong
        self.x.XDefaultRootWindow.argtypes = [ctypes.c_void_p]
        self.x.XStringToKeysym.restype = ctypes.c_ulong
        self.x.XKeysymToKeycode.argtypes = [ctypes.c_void_p, ctypes.c_ulong]
        self.display = ctypes.c_void_p(self.x.XOpenDisplay(None))

    def focus_window_of(self, process):
        """Give the keyboard to the newest window that is shown, and tell where that is; there is one program only."""
        root, parent, count = ctypes.c_ulong(), ctypes.c_ulong(), ctypes.c_uint()
        children = ctypes.POINTER(ctypes.c_ulong)()
        self.x.XQueryTree(self.display, ctypes.c_ulong(self.x.XDefaultRootWindow(self.display)), ctypes.byref(root),
                          ctypes.byref(parent), ctypes.byref(children), ctypes.byref(count))
        attributes = ctypes.create_string_buffer(256)  # XWindowAttributes
        for i in reversed(range(count.value)):
            window = ctypes.c_ulong(children[i])
            self.x.XGetWindowAttributes(self.display, window, attributes)
            map_state = ctypes.cast(attributes, ctypes.POINTER(ctypes.c_int))[23]
            if map_state == 2:  # IsViewable
                self.x.XSetInputFocus(self.display, window, 1, ctypes.c_ulong(0))
                self.x.XSync(self.display, 0)
                time.sleep(0.2)
                return struct.unpack_from("ii", attributes)
        raise Missing("no window is shown")

    def press(self, names):
        codes = [self.x.XKeysymToKeycode(self.display, self.x.XStringToKeysym(name.encode())) for name in names]
        for code in codes:
            self.test.XTestFakeKeyEvent(self.display, code, 1, ctypes.c_ulong(0))
        for code in reversed(codes):
            self.test.XTestFakeKeyEvent(self.display, code, 0, ctypes.c_ulong(0))
        self.x.XFlush(self.display)

    def drag(self, places):
        for i, (x, y) in enumerate(places):
            self.test.XTestFakeMotionEvent(self.display, -1, x, y, ctypes.c_ulong(0))
            if i == 0:
                self.test.XTestFakeButtonEvent(self.display, 1, 1, ctypes.c_ulong(0))
            self.x.XSync(self.display, 0)
            time.sleep(0.05)
        self.test.XTestFakeButtonEvent(self.display, 1, 0, ctypes.c_ulong(0))
        self.x.XSync(self.display, 0)
        time.sleep(0.1)

    def close(self):
        self.x.XCloseDisplay(self.display)
