#!/usr/bin/env python3
"""Drives the built program as a person with a laptop and no sound card would: starts it, presses keys, records, ends.

usage: driven.py PROGRAM [PICTURES]
What is played is judged by the written files: the letters' keys by what Help says, the waltz by its textbook figure
(a low note on one, the others on two and three). Needs Xvfb, xdotool; with PICTURES also imagemagick's import.
"""
import os
import pathlib
import signal
import struct
import subprocess
import sys
import tempfile
import time

PROGRAM = sys.argv[1]
PICTURES = sys.argv[2] if len(sys.argv) > 2 else None
failures = []


def check(good, said):
    print(("ok    " if good else "FAILED ") + said, flush=True)
    if not good:
        failures.append(said)


def until(seen, seconds):
    """Waits for something to become true; what it was then."""
    end = time.monotonic() + seconds
    while True:
        value = seen()
        if value or time.monotonic() > end:
            return value
        time.sleep(0.05)


def notes(path):
    """Note-ons of a MIDI file: [(seconds, channel, key)]."""
    data = path.read_bytes()
    division = struct.unpack(">H", data[12:14])[0]
    at, events = 14, []
    while at < len(data):
        size = struct.unpack(">I", data[at + 4:at + 8])[0]
        i, end, tick, status = at + 8, at + 8 + size, 0, 0

        def length():
            nonlocal i
            value = 0
            while True:
                byte = data[i]
                i += 1
                value = value << 7 | byte & 0x7F
                if byte < 0x80:
                    return value

        while i < end:
            tick += length()
            if data[i] >= 0x80:
                status = data[i]
                i += 1
            if status == 0xFF:
                kind = data[i]
                i += 1
                size = length()
                if kind == 0x51:
                    events.append((tick, 0, "tempo", int.from_bytes(data[i:i + size], "big")))
                i += size
            elif status in (0xF0, 0xF7):
                i += length()
            else:
                two = 1 if status & 0xF0 in (0xC0, 0xD0) else 2
                if status & 0xF0 == 0x90 and data[i + 1] > 0:
                    events.append((tick, 1, "on", status & 15, data[i]))
                i += two
        at = end
    seconds, last, tempo, found = 0.0, 0, 500000, []
    for event in sorted(events, key=lambda e: e[:2]):
        seconds += (event[0] - last) * tempo / division / 1e6
        last = event[0]
        if event[2] == "tempo":
            tempo = event[3]
        else:
            found.append((seconds, event[3], event[4]))
    return found


class Desk:
    """A display, a home of its own, and the program on it."""

    def __init__(self, home):
        self.home = pathlib.Path(home)
        read, write = os.pipe()
        self.server = subprocess.Popen(
            ["Xvfb", "-displayfd", str(write), "-screen", "0", "1280x800x24", "-nolisten", "tcp"], pass_fds=[write],
            stdout=subprocess.DEVNULL)
        os.close(write)
        number = b""
        while not number.endswith(b"\n"):
            number += os.read(read, 16) or b"0\n"
        self.env = dict(os.environ, DISPLAY=":" + number.decode().strip(), HOME=home, LC_ALL="C.UTF-8")
        for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_MUSIC_DIR"):
            self.env.pop(name, None)
        self.env["XDG_CONFIG_HOME"] = str(self.home / "config")
        self.program = None

    def do(self, *words):
        return subprocess.run(["xdotool", *words], env=self.env, capture_output=True, text=True).stdout.strip()

    def title(self):
        self.window = self.do("search", "--onlyvisible", "--name", "Seguente").split("\n")[0]
        return self.do("getwindowname", self.window) if self.window else ""

    def start(self):
        begun = time.monotonic()
        self.program = subprocess.Popen([PROGRAM], env=self.env, stdout=subprocess.DEVNULL)
        until(lambda: ":" in self.title(), 30)
        print(f"      ready after {time.monotonic() - begun:.1f} s", flush=True)

    def end(self, how=signal.SIGTERM):
        self.program.send_signal(how)
        try:
            return self.program.wait(20)
        except subprocess.TimeoutExpired:
            self.program.kill()
            return None

    def hold(self, key, seconds):
        self.do("keydown", key)
        time.sleep(seconds)
        self.do("keyup", key)

    def picture(self, name):
        if PICTURES:
            subprocess.run(["import", "-window", "root", f"{PICTURES}/{name}.png"], env=self.env)


def without_display():
    env = {k: v for k, v in os.environ.items() if k != "DISPLAY"}
    run = subprocess.run([PROGRAM], env=env, capture_output=True, text=True, timeout=30)
    check(run.returncode == 1, f"with no display it ends with 1 ({run.returncode})")
    check(run.stderr.count("\n") == 1 and "display" in run.stderr, f"and says so in one line: {run.stderr.strip()}")


def play(desk):
    desk.start()
    check(bool(desk.window), "a window opens")
    check("no sound output" in desk.title(), f"it says that there is no sound: {desk.title()}")
    check("No piano keyboard" in desk.title(), "and that no keyboard is there")
    time.sleep(0.5)
    desk.picture("first")
    settings = desk.home / "config" / "seguente" / "home.settings"
    check(not settings.exists(), "nothing is written before there is something to remember")

    desk.do("key", "r")
    check(until(lambda: "take is being written" in desk.title(), 5), f"R begins a take: {desk.title()}")
    desk.do("keydown", "c")
    time.sleep(2.2)
    desk.picture("chord")
    desk.do("keydown", "3")
    time.sleep(0.4)
    desk.do("keyup", "3")
    time.sleep(1.2)
    desk.do("keyup", "c")
    desk.hold("g", 2.0)
    desk.picture("page")
    desk.do("key", "r")
    check(until(lambda: "take is being written" not in desk.title(), 5), "R again takes it away")

    takes = sorted((desk.home / "Music" / "Seguente").glob("*"))
    print("      " + ", ".join(f"{t.name} ({t.stat().st_size})" for t in takes))
    midi = [t for t in takes if t.suffix == ".mid"]
    check(len(midi) == 2 and any(t.suffix == ".wav" for t in takes), "performance, arrangement and sound are written")
    if len(midi) != 2:
        return
    played, heard = sorted((notes(t) for t in midi), key=len)
    keys = [key for _, _, key in played]
    check(keys == [48, 52, 55, 64, 47, 53, 55] or keys == [48, 52, 55, 64, 47, 55, 53],
          f"the performance is C, its E, and G7, each struck once: {keys}")
    waltz(heard, played)
    check(settings.exists() and "first page seen" in settings.read_text(), "the first page will not come again")


def waltz(heard, played):
    tune = 64
    ours = [(at, key) for at, _, key in heard if key != tune]
    check(any(key == tune for _, _, key in heard), "the tune is in the arrangement")
    if len(ours) < 6:
        check(False, f"a waltz sounds: {ours}")
        return
    first, last = ours[0][0], played[-1][0]
    beats = {}
    for at, key in ours:
        if at < last - 0.1:
            beats.setdefault(round((at - first) / 0.6), []).append(key)  # own tempo: 100 quarters a minute
    check(abs(ours[0][0] - played[0][0]) < 0.06, "its first note falls on the first finger")
    off = max(abs((at - first) / 0.6 - round((at - first) / 0.6)) for at, _ in ours if at < last - 0.1)
    check(off < 0.02, f"all of it lies on the beats ({off:.3f} beats off at most)")
    low = {beat: min(keys) for beat, keys in beats.items()}
    check(low[0] % 12 == 0, f"C is the first bass: {low}")
    check(all(min(low.get(b + 1, 127), low.get(b + 2, 127)) > low[b] for b in (0, 3) if b in low),
          "low on one, the others on two and three")


def second_start(desk):
    code = desk.end()
    check(code == 0, f"asked to end, it ends well ({code})")
    desk.start()
    time.sleep(0.7)
    desk.picture("second")
    desk.hold("c", 0.4)
    check(desk.end(signal.SIGINT) == 0, "and again")


without_display()
with tempfile.TemporaryDirectory() as home:
    desk = Desk(home)
    try:
        play(desk)
        second_start(desk)
    finally:
        if desk.program and desk.program.poll() is None:
            desk.program.kill()
        desk.server.terminate()
        desk.server.wait()
print(f"{len(failures)} failed" if failures else "all good")
sys.exit(1 if failures else 0)
