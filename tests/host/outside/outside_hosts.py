#!/usr/bin/env python3
"""The built plugin in hosts that are not ours, without a display or a sound card.

    outside_hosts.py ardour-vst3|ardour-lv2|jalv --lv2 FOLDER --vst3 BUNDLE --program SEGUENTE [--keep FOLDER]
                     [--plugin NAME --uri URI]

FOLDER holds the LV2 bundle. NAME and URI are the plugin's, of the plain effect if not said. Exit 0 good, 1 a fault, 77 the host is not installed (./run host installs all, and sets
SEGUENTE_OUTSIDE, with which that is a fault too). Scenarios: tests/host/SCENARIOS.md, OUTSIDE-1 to OUTSIDE-8. Python's
standard library only.
"""
import argparse
import array
import glob
import math
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time
import wave

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
import midi  # noqa: E402

RATE = 48000
TEMPI = ((0, 100), (8, 150))
METERS = ((0, 4, 4), (8, 3, 4))
NAMES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
faults = []


def check(good, what):
    print(("good   " if good else "FAULT  ") + what, flush=True)
    if not good:
        faults.append(what)


def key(name):
    return NAMES[name[0]] + 12 * (int(name[-1]) + 1)


def song():
    """(start, end, key, velocity) in quarters: chords in four and then in three, a tune above."""
    notes = []
    for start, end, names in ((0.05, 3.8, "C3 E3 G3"), (4.05, 7.8, "B2 F3 G3"), (8.05, 10.8, "C3 E3 G3"),
                              (11.05, 13.8, "C3 F3 A3"), (14.05, 16.8, "B2 F3 G3"), (17.05, 19.5, "C3 E3 G3")):
        notes += [(start, end, key(name), 70) for name in names.split()]
    notes += [(start, start + 0.8, key(name), 80) for start, name in
              ((0.5, "E5"), (2, "G5"), (4.5, "D5"), (6, "B4"), (8.5, "C5"), (11.5, "A4"), (14.5, "G4"), (17.5, "E5"))]
    return sorted(notes)


def sampleAt(quarters):
    seconds, last, tempo = 0.0, 0.0, TEMPI[0][1]
    for at, bpm in TEMPI[1:]:
        if quarters > at:
            seconds += (at - last) * 60 / tempo
            last, tempo = at, bpm
    return (seconds + (quarters - last) * 60 / tempo) * RATE


def absent(what):
    print(what + " not installed: ./run host installs it", flush=True)
    sys.exit(1 if os.environ.get("SEGUENTE_OUTSIDE") else 77)


def run(command, log, timeout=120, **env):
    with open(log, "w") as out:
        done = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT, timeout=timeout,
                              env={**os.environ, **{k: str(v) for k, v in env.items()}})
    text = open(log, errors="replace").read()
    if done.returncode != 0:
        print(text[-3000:])
        sys.exit("outside_hosts: %s ended with %d" % (command[0], done.returncode))
    return text


def asPlayed(notes):
    """(sample, length, key, velocity) of notes in quarters."""
    return [(sampleAt(start), sampleAt(end) - sampleAt(start), k, v) for start, end, k, v, *_ in notes]


def far(a, b):
    """What parts two performances: "" when each note has its like within a sample and a half (both count in ticks)."""
    if len(a) != len(b):
        return "%d notes and %d" % (len(a), len(b))
    for x, y in zip(sorted(a, key=lambda n: (round(n[0] / 8), n[2])), sorted(b, key=lambda n: (round(n[0] / 8), n[2]))):
        if x[2:] != y[2:] or abs(x[0] - y[0]) > 1.5 or abs(x[1] - y[1]) > 3:
            return "%s and %s" % (x, y)
    return ""


# ---- Ardour ------------------------------------------------------------------------------------------------------


def ardourProgram():
    """(lua, scanner, library folder, settings folder name) of the newest one installed, or None."""
    for lua in sorted(glob.glob("/usr/bin/ardour[0-9]*-lua"), reverse=True):
        version = re.search(r"ardour(\d+)-lua", lua).group(1)
        folder = "/usr/lib/ardour" + version
        scanner = folder + "/ardour-vst3-scanner"
        if os.path.exists(scanner):
            return lua, scanner, folder, "ardour" + version
    return None


class Tap:
    """What a tap saw under one label: (clock, place, status, key, velocity)."""

    def __init__(self, text, label):
        self.events = [tuple(int(x, 16 if i == 2 else 10) for i, x in enumerate(m.groups())) for m in
                       re.finditer(r"^%s\s+(-?\d+)\s+(-?\d+)\s+(\w+) (\d+) (\d+)" % label, text, re.M)]

    def strikes(self):
        return [e for e in self.events if e[2] & 0xF0 == 0x90 and e[4] > 0]

    def ours(self):
        return [e for e in self.strikes() if e[3] < 60]

    def open(self):
        down = set()
        for _, _, status, k, v in self.events:
            if status & 0xF0 == 0x90 and v > 0:
                down.add((status & 15, k))
            elif status & 0xF0 in (0x80, 0x90):
                down.discard((status & 15, k))
        return down


def ardour(kind, options, scratch):
    found = ardourProgram()
    if found is None:
        absent("Ardour is")
    lua, scanner, library, settings = found
    home = scratch / "home"
    (home / ".config" / settings / "scripts").mkdir(parents=True)
    shutil.copy(HERE / "midi_tap.lua", home / ".config" / settings / "scripts" / "midi_tap.lua")
    env = {"HOME": home, "XDG_CONFIG_HOME": home / ".config", "XDG_CACHE_HOME": home / ".cache",
           "XDG_DATA_HOME": home / ".data", "LV2_PATH": "%s:/usr/lib/lv2" % options.lv2,
           "VST3_PATH": options.vst3.parent, "DIR": scratch / "session", "SONG": scratch / "song.mid", "KIND": kind,
           "NAME": options.plugin}
    env.pop("DISPLAY", None)
    if kind == "VST3":
        said = run([scanner, "-f", "-v", str(options.vst3)], scratch / "scan.log", **env, LD_LIBRARY_PATH=library)
        check(options.plugin in said, "OUTSIDE-1: Ardour's scanner takes the VST3")

    # As hosts carry it: VST3 from 0 to 1, LV2 as it is.
    full = 1.0 if kind == "VST3" else 2
    program = options.program
    midi.write(scratch / "song.mid", song(), TEMPI, METERS)
    run([program, "render", scratch / "song.mid", "--idiom", "broken-bass", "--density", "full", "-o", scratch / "ours.mid"],
        scratch / "render.log")
    expected = asPlayed(midi.read(scratch / "ours.mid")[0])

    text = run([lua, str(HERE / "ardour_session.lua")], scratch / "make.log", **env, STEP="make", SET="Density=%s" % full)
    take = asPlayed(midi.read(re.findall(r"^TAKE\s+(.*)$", text, re.M)[-1])[0])
    check(len(take) > 30, "OUTSIDE-1: Ardour records %d notes, of song and accompaniment" % len(take))
    # A file ends with its last key; a host rolls on, and for a moment the chord outlives the hand.
    ends = sampleAt(max(end for _, end, _, _ in song()))
    parted = far(expected, [note for note in take if note[0] < ends])
    check(parted == "", "OUTSIDE-2: they are those of seguente render, through a change of tempo and meter " + parted)

    # A loop of three and a half quarters: Lua cannot make one, the session's file can.
    session = next(iter(sorted((scratch / "session").glob("*.ardour"))))
    saved = session.read_text()
    loop = '<Location id="99999" name="Loop" start="b0" end="b6720" flags="IsAutoLoop" locked="0" cue="0"/>'
    session.write_text(re.sub(r'(<Location [^>]*name="session")', loop + r"\n\1", saved, count=1))
    text = run([lua, str(HERE / "ardour_session.lua")], scratch / "play.log", **env, STEP="play", SPEED="5x Speed")
    again = asPlayed(midi.read(re.findall(r"^TAKE\s+(.*)$", text, re.M)[-1])[0])
    parted = far(take, again)
    check(parted == "", "OUTSIDE-3: reopened in a second process, it plays the same notes, without its parameter being set "
          + parted)

    stopped = Tap(text, "stop-out")
    check(len(stopped.ours()) > 2 and not stopped.open(), "OUTSIDE-4: stopped in a note, nothing sounds on")
    on_beats = [e[1] % 28800 for e in stopped.ours() if e[1] > 20000]
    check(on_beats and all(min(o, 28800 - o) <= 1 for o in on_beats), "OUTSIDE-4: until then it was on its beats to the sample")
    jumped = Tap(text, "jump-out")
    there = sampleAt(12)
    after = [e for e in jumped.ours() if e[1] >= there]
    check(len(after) > 2 and not jumped.open(), "OUTSIDE-4: after a jump it plays there, and nothing sounds on")
    # Ardour's VST3 tells bars as if each were of four quarters; so only the beat is asked for, not the place in the bar.
    beat = 60 / 150 * RATE
    off = [(e[1] - there) % beat for e in after if e[1] > there + 3 * beat]
    check(any(min(o, beat - o) <= 1 for o in off), "OUTSIDE-4: and to the sample on the beats of where it jumped to")

    bypass = Tap(text, "bypass-out")
    from_, to = (int(re.search(r"^%s\s+(\d+)" % w, text, re.M).group(1)) for w in ("bypassed-at", "enabled-at"))
    # The host takes the switch some blocks after it is asked for; at 5 times speed a script's moment is some 2000 samples.
    slack = 12000
    ours = [e for e in bypass.ours() if from_ + slack < e[1] < to]
    held = [e for e in Tap(text, "bypass-in").ours() if from_ + slack < e[1] < to]
    check(len(ours) == len(held) > 0, "OUTSIDE-5: bypassed, the chord hand's keys pass and nothing of ours is struck")
    check(any(e[1] > to + slack for e in bypass.ours()) and not bypass.open(),
          "OUTSIDE-5: switched on again it plays, and nothing sounds on")

    looped = Tap(text, "loop-out")
    length = round(sampleAt(3.5))
    passes = {}
    strikes = looped.ours()
    begun = strikes[0][0] - strikes[0][1]
    for e in strikes:
        passes.setdefault((e[0] - begun) // length, []).append(((e[0] - begun) % length, e[3]))
    whole = [passes[p] for p in sorted(passes)][1:-1]
    check(len(whole) >= 2 and all(p == whole[0] for p in whole),
          "OUTSIDE-6: %d passes of a loop are the same to the sample" % len(whole))
    check(not looped.open(), "OUTSIDE-6: when the loop is left nothing sounds on")


def loudness(path):
    """The root mean square of each channel of a file of 16 bits, full scale being 1."""
    with wave.open(str(path)) as file:
        samples = array.array("h", file.readframes(file.getnframes()))
        return [math.sqrt(sum(x * x for x in side) / max(len(side), 1)) / 32768
                for side in (samples[n::file.getnchannels()] for n in range(file.getnchannels()))]


# ---- jalv --------------------------------------------------------------------------------------------------------


def jalv(options, scratch):
    tools = ["jackd", "jalv", "jack_midi_dump", "jack_midiseq", "jack_transport", "jack_connect", "jack_lsp"]
    missing = [t for t in tools if shutil.which(t) is None]
    if missing:
        absent(", ".join(missing) + ":")
    server = "seguente-%d" % os.getpid()
    env = {**os.environ, "LV2_PATH": "%s:/usr/lib/lv2" % options.lv2, "JACK_DEFAULT_SERVER": server,
           "JACK_NO_START_SERVER": "1", "HOME": str(scratch), "XDG_DATA_HOME": str(scratch / "data")}
    env.pop("DISPLAY", None)
    started = []

    def start(command, name, **more):
        process = subprocess.Popen(command, stdout=open(scratch / (name + ".log"), "w"), stderr=subprocess.STDOUT, env=env, **more)
        started.append(process)
        return process

    def ports():
        done = subprocess.run(["jack_lsp"], capture_output=True, text=True, env=env)
        return done.stdout.splitlines() if done.returncode == 0 else []

    def until(what, ready, seconds=20):
        for _ in range(int(seconds * 20)):
            if ready():
                return
            time.sleep(0.05)
        for log in scratch.glob("*.log"):
            print("--", log.name, "\n", log.read_text(errors="replace")[-1500:])
        sys.exit("outside_hosts: %s did not come" % what)

    name, uri = options.plugin, options.uri
    try:
        # Long periods: the server leaves out a client that is late, as on a busy machine, and then the list lacks notes.
        start(["jackd", "-n", server, "--no-realtime", "-d", "dummy", "-r", str(RATE), "-p", "2048"], "jackd",
              stdin=subprocess.DEVNULL)
        until("the JACK server", lambda: any(p.startswith("system:") for p in ports()))
        start(["jalv", "-p", uri], "jalv", stdin=subprocess.PIPE)
        until("the plugin in jalv", lambda: name + ":out" in ports())
        start(["jack_midi_dump"], "dump", stdin=subprocess.DEVNULL)
        # A chord below the split and a note above it, over and over: start, key, length in samples, within 48000.
        start(["jack_midiseq", "hands", "48000", "0", "48", "40000", "0", "52", "40000", "0", "55", "40000", "12000", "76",
               "9000"], "hands", stdin=subprocess.DEVNULL)
        until("the hands and the list", lambda: {"hands:out", "midi-monitor:input"} <= set(ports()))
        transport = start(["jack_transport"], "transport", stdin=subprocess.PIPE, text=True)
        transport.stdin.write("master\ntempo 120\nlocate 0\nplay\n")
        transport.stdin.flush()
        for a, b in (("hands:out", name + ":in"), (name + ":out", "midi-monitor:input")):
            subprocess.run(["jack_connect", a, b], env=env, check=True, capture_output=True)
        listed = scratch / "dump.log"

        def events():
            """(status without its channel, key, velocity), as they came out."""
            return [tuple(int(x, 16) for x in m) for m in re.findall(
                r"^\s*\d+:\s+([89])[0-9a-f] ([0-9a-f]{2}) ([0-9a-f]{2})", listed.read_text(errors="replace"), re.M)]

        def struck():
            return [k for status, k, v in events() if status == 9 and v > 0]

        def sounding(k):
            """Whether the last thing about a key was a strike."""
            of = [status == 9 and v > 0 for status, key_, v in events() if key_ == k]
            return bool(of) and of[-1]

        until("a dozen notes of ours", lambda: sum(k < 48 for k in struck()) >= 12)
        while_ = len(struck())
        check(76 in struck(), "OUTSIDE-7: in jalv the tune passes")
        check(any(k < 48 for k in struck()), "OUTSIDE-7: in jalv the accompaniment plays, its bass below the hand")
        sides = [p for p in ports() if p.startswith(name + ":") and "audio_out" in p]
        if sides:
            heard = run(["jack_rec", "-f", scratch / "heard.wav", "-d", "3", "-b", "16", *sides], scratch / "rec.log", **env)
            levels = [20 * math.log10(max(level, 1e-9)) for level in loudness(scratch / "heard.wav")]
            check(len(levels) == 2 and all(-45 < level < -15 for level in levels),
                  "OUTSIDE-8: in jalv it sounds, on both sides, between -45 and -15 dB: " +
                  " ".join("%.1f" % level for level in levels) + ("" if levels else heard[-300:]))
        transport.stdin.write("locate 480000\n")
        transport.stdin.flush()
        until("notes after a jump", lambda: len(struck()) > while_ + 12)
        transport.stdin.write("stop\n")
        transport.stdin.flush()
        until("the chord as it is held", lambda: sorted([k for k in struck() if k < 60][-6:]) == [48, 48, 52, 52, 55, 55])
        check(True, "OUTSIDE-7: moved and stopped by the JACK transport, it goes on, and then sounds the chord as held")
        check(not [k for k in range(48) if sounding(k)], "OUTSIDE-7: stopped, nothing of the accompaniment sounds on")
    finally:
        for process in reversed(started):
            process.terminate()
            try:
                process.wait(timeout=5)
            except subprocess.TimeoutExpired:
                process.kill()


def main():
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("host", choices=["ardour-vst3", "ardour-lv2", "jalv"])
    reader.add_argument("--lv2", type=pathlib.Path, required=True)
    reader.add_argument("--vst3", type=pathlib.Path, required=True)
    reader.add_argument("--program", type=pathlib.Path, required=True)
    reader.add_argument("--plugin", default="Seguente")
    reader.add_argument("--uri", default="https://seguente.example/seguente")
    reader.add_argument("--keep", type=pathlib.Path, help="leave logs and files here, a folder that does not exist")
    options = reader.parse_args()
    for name in ("lv2", "vst3", "program"):
        setattr(options, name, getattr(options, name).resolve())
    scratch = options.keep or pathlib.Path(tempfile.mkdtemp(prefix="seguente-outside-"))
    scratch.mkdir(parents=True, exist_ok=True)
    scratch = scratch.resolve()
    try:
        if options.host == "jalv":
            jalv(options, scratch)
        else:
            ardour(options.host[7:].upper(), options, scratch)
    finally:
        if not options.keep:
            shutil.rmtree(scratch, ignore_errors=True)
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
