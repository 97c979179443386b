#!/usr/bin/env python3
"""Turns a tune of tests/reference/tunes/tunes.json into a MIDI file "played by two human hands".

The right hand plays the tune, the left holds each chord symbol as a beginner does: close, near C3, below middle C, the
next shape where it is nearest (C-E-G, C-F-A, B-F-G: a dominant seventh goes without its fifth). How far the fingers of a
chord land apart, how much the tune leads, how early the keys are let go: drawn from the measured playing of 22 pianists in
tests/reference/touch/vienna4x22_touch.json. Velocities: common practice, no source. Same words, same bytes, everywhere.

    make_performance.py 13_clementine -o clementine.mid      one tune
    make_performance.py --demo FOLDER                        the committed demos
    make_performance.py --demo FOLDER --check                do the files in FOLDER still say the same? (exit 1: no)
"""
import argparse
import json
import pathlib
import re
import sys
from fractions import Fraction

ROOT = pathlib.Path(__file__).resolve().parents[2]
# name of file, tune, seed: two in three with a pickup, one in four, a blues, and one with a chord on each beat
DEMOS = [("clementine", "13_clementine", 13), ("amazing-grace", "02_amazing_grace", 2),
         ("long-long-ago", "07_long_long_ago", 7), ("twelve-bars", "26_twelve_bars", 26),
         ("old-hundredth", "18_old_hundredth", 18)]
CHORDS = {"": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 10), "m7": (0, 3, 7, 10), "maj7": (0, 4, 7, 11), "6": (0, 4, 7, 9),
          "m6": (0, 3, 7, 9), "m7b5": (0, 3, 6, 10), "dim": (0, 3, 6)}  # 7: without its fifth, a beginner's shape
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SHARPS = {"C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F#": 6, "F": -1, "Bb": -2, "Eb": -3, "Ab": -4, "Db": -5}
LOWEST, SPLIT, CENTRE = 45, 60, Fraction(155, 3)  # A2, C4, the middle of C3-E3-G3


class Draws:
    """splitmix64: Steele, Lea & Flood, OOPSLA 2014; the constants are those of the paper."""

    def __init__(self, seed):
        self.state = seed

    def next(self):
        mask = (1 << 64) - 1
        self.state = (self.state + 0x9E3779B97F4A7C15) & mask
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & mask
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & mask
        return z ^ (z >> 31)

    def upTo(self, most):
        """0..most, whole."""
        return self.next() % (most + 1)

    def around(self, most):
        """-most..most, whole, the middle likelier: the sum of two even draws."""
        return (self.upTo(2 * most) + self.upTo(2 * most)) // 2 - most

    def measured(self, facts):
        """Milliseconds, by straight lines between the published percentiles; the outer 5 % and 1 % are left out."""
        points = [(Fraction(at, 100), Fraction(str(facts[name]))) for at, name in
                  ((5, "p05"), (25, "p25"), (50, "median"), (75, "p75"), (90, "p90"), (95, "p95"), (99, "p99"))]
        where = Fraction(5, 100) + Fraction(94, 100) * Fraction(self.upTo(9999), 10000)
        for (a, low), (b, high) in zip(points, points[1:]):
            if where <= b:
                return low + (high - low) * (where - a) / (b - a)
        return points[-1][1]


def quartersPerMinute(tempo):
    """'3/8=52' is 52 dotted quarters, 78 quarters a minute."""
    length, count = tempo.split("=")
    return Fraction(length) * 4 * int(count)


def shapes(symbol):
    """All close positions of a chord symbol within A2..B3, lowest key first."""
    root, alteration, kind = re.fullmatch(r"([A-G])([#b]?)(.*)", symbol).groups()
    low = STEPS[root] + {"#": 1, "b": -1, "": 0}[alteration]
    found = []
    for key in range(LOWEST, SPLIT):
        classes = sorted((low + tone - key) % 12 for tone in CHORDS[kind])
        if classes[0] == 0 and key + classes[-1] < SPLIT:
            found.append(tuple(key + c for c in classes))
    return found


def farFrom(shape, last):
    """How far a hand moves, each finger to the nearest; the middle of the range breaks ties."""
    middle = abs(Fraction(sum(shape), len(shape)) - CENTRE)
    if last is None:
        return middle
    move = sum(min(abs(a - b) for b in last) for a in shape) + sum(min(abs(a - b) for a in shape) for b in last)
    return move + middle / 2


def octaveUp(melody):
    """Semitones to raise a tune by, so that no note of it lies below the split."""
    lowest = min(note[2] for note in melody)
    return 0 if lowest >= SPLIT else 12 * (-((lowest - SPLIT) // 12))


class Playing:
    """Notes as (tick, order, bytes): at one tick the offs come first."""

    def __init__(self, tune, options):
        self.tune, self.human, self.resolution = tune, not options.grid, options.resolution
        self.draws = Draws(options.seed)
        touch = json.loads((ROOT / "tests/reference/touch/vienna4x22_touch.json").read_text())
        self.touch = touch["all four"]
        self.perMillisecond = quartersPerMinute(tune["tempo"]) / 60000  # quarters
        self.right, self.left = [], []
        channels = [int(c) - 1 for c in options.channels.split(",")]
        self.rightChannel, self.leftChannel = channels[0], channels[-1]

    def draw(self, name):
        return self.draws.measured(self.touch[name]) * self.perMillisecond if self.human else Fraction(0)

    def jitter(self, most):
        return self.draws.around(most) if self.human else 0

    def tick(self, quarters):
        return max(0, int(quarters * self.resolution + Fraction(1, 2)))

    def accent(self, at):
        fromBar = (at - Fraction(self.tune["pickup_quarters"])) % Fraction(self.tune["bar_quarters"])
        return 8 if fromBar == 0 else 3 if fromBar.denominator == 1 else 0

    def note(self, track, channel, key, velocity, start, end):
        on = self.tick(start)
        off = max(on + 1, self.tick(end))
        track.append((on, 1, bytes((0x90 | channel, key, max(1, min(127, velocity))))))
        track.append((off, 0, bytes((0x80 | channel, key, 64 + self.jitter(12)))))

    def leads(self):
        """How far the tune leads at each onset, half of it before the beat and half behind."""
        onsets = {Fraction(n[0]) for n in self.tune["melody"]} | {Fraction(c[0]) for c in self.tune["chords"]}
        return {at: self.draw("melody lead over left hand") / 2 for at in sorted(onsets)}

    def play(self):
        lead = self.leads()
        self.playTune(lead)
        self.playChords(lead)

    def playTune(self, lead):
        shift = octaveUp(self.tune["melody"])
        notes = [(Fraction(a), Fraction(b), key + shift) for a, b, key in self.tune["melody"]]
        starts = [max(Fraction(0), at - lead[at]) for at, _, _ in notes]
        for i, (at, length, key) in enumerate(notes):
            end = at + length
            if i + 1 < len(notes) and notes[i + 1][0] == end:
                gap = self.draw("R hand, last key up to next chord down")
                least = 20 * self.perMillisecond if notes[i + 1][2] == key else -30 * self.perMillisecond
                gap = max(least, min(gap, length * Fraction(7, 20))) if self.human else Fraction(0)
                end = max(starts[i] + length / 4, starts[i + 1] - gap)
                if notes[i + 1][2] == key:  # a key must rise before it is struck again
                    end = min(end, starts[i + 1] - Fraction(1, self.resolution))
            self.note(self.right, self.rightChannel, key, 72 + self.accent(at) + self.jitter(6), starts[i], end)

    def playChords(self, lead):
        last = None
        chords = [(Fraction(a), Fraction(b), symbol) for a, b, symbol in self.tune["chords"]]
        for i, (at, length, symbol) in enumerate(chords):
            last = min(shapes(symbol), key=lambda s: (farFrom(s, last), s))
            spread = self.draw("L hand spread, 3+ notes")
            first = max(Fraction(0), at + lead[at] - spread / 2)
            last_up = at + length
            if i + 1 < len(chords) and self.human:
                gap = self.draw("L hand, last key up to next chord down")
                gap = max(-40 * self.perMillisecond, min(gap, length * Fraction(2, 5)))
                last_up = chords[i + 1][0] - gap
            parting = min(self.draw("L hand, first key up to last key up"), length * Fraction(2, 5))
            self.chord(last, at, first, spread, last_up, parting, length)

    def chord(self, keys, at, first, spread, last_up, parting, length):
        order = list(range(len(keys)))
        if self.human:  # any finger may be first
            order.sort(key=lambda _: self.draws.next())
        for finger, key in enumerate(keys):
            start = first + spread * order[finger] / (len(keys) - 1)
            fraction = Fraction(self.draws.upTo(100), 100) if self.human and finger else Fraction(0)
            end = max(start + length / 4, last_up - parting * fraction)
            self.freeKey(key, start)
            self.note(self.left, self.leftChannel, key, 60 + self.accent(at) + self.jitter(4), start, end)

    def freeKey(self, key, start):
        """A key that still lies down when it is struck again is let go 20 ms before."""
        on = self.tick(start)
        free = max(0, on - self.tick(20 * self.perMillisecond))
        struck = max((t for t, kind, b in self.left if kind == 1 and b[1] == key), default=None)
        for i, (when, kind, message) in enumerate(self.left):
            if kind == 0 and message[1] == key and when >= on and struck is not None:
                self.left[i] = (max(struck + 1, free), 0, message)


def variableLength(value):
    out = [value & 0x7F]
    while value > 0x7F:
        value >>= 7
        out.insert(0, 0x80 | (value & 0x7F))
    return bytes(out)


def meta(kind, data):
    return b"\xff" + bytes((kind,)) + variableLength(len(data)) + data


def track(events, end):
    out, now = b"", 0
    for tick, _, message in sorted(events):
        out += variableLength(tick - now) + message
        now = tick
    out += variableLength(max(0, end - now)) + meta(0x2F, b"")
    return b"MTrk" + len(out).to_bytes(4, "big") + out


def midiFile(tune, options):
    playing = Playing(tune, options)
    playing.play()
    top, bottom = (int(x) for x in tune["meter"].split("/"))
    tempo = int(60000000 / quartersPerMinute(tune["tempo"]) + Fraction(1, 2))
    how = "on the grid" if options.grid else "as two human hands would, seed %d" % options.seed
    words = "Generated by presets/demo/make_performance.py: %s (%s), %s" % (tune["title"], tune["composer"], how)
    tonic = tune["tonic"].capitalize() if len(tune["tonic"]) == 1 else tune["tonic"]
    minor = tune["mode"] != "major"
    fifths = SHARPS[tonic] - (3 if tune["mode"] == "minor" else 2 if tune["mode"] == "dorian" else 0)
    end = playing.tick(Fraction(tune["total_quarters"]))
    heads = [(0, 0, meta(0x03, ("generated: " + tune["title"]).encode())), (0, 1, meta(0x01, words.encode())),
             (0, 2, meta(0x51, tempo.to_bytes(3, "big"))),
             (0, 3, meta(0x58, bytes((top, bottom.bit_length() - 1, 24 * 4 // bottom, 8)))),
             (0, 4, meta(0x59, bytes((fifths & 0xFF, 1 if minor else 0))))]
    right = [(0, -1, meta(0x03, b"right hand (generated)"))] + playing.right
    left = [(0, -1, meta(0x03, b"left hand (generated)"))] + playing.left
    header = b"MThd" + (6).to_bytes(4, "big") + b"".join(n.to_bytes(2, "big") for n in (1, 3, options.resolution))
    return header + track(heads, end) + track(right, end) + track(left, end)


def find(name):
    tunes = json.loads((ROOT / "tests/reference/tunes/tunes.json").read_text())
    for tune in tunes:
        if tune["file"].removesuffix(".abc") == name or tune["file"] == name:
            return tune
    sys.exit("no tune %s; there are: %s" % (name, ", ".join(t["file"].removesuffix(".abc") for t in tunes)))


def repeated(tune, times):
    """The tune round and round; a pickup and the last bar make up one bar."""
    length = Fraction(tune["total_quarters"])

    def again(rows):
        return [[str(Fraction(row[0]) + n * length)] + row[1:] for n in range(times) for row in rows]

    return dict(tune, melody=again(tune["melody"]), chords=again(tune["chords"]), total_quarters=str(times * length))


def demos(folder, check):
    same = True
    for name, tuneName, seed in DEMOS:
        options = argparse.Namespace(seed=seed, grid=False, resolution=960, channels="1")
        made, path = midiFile(find(tuneName), options), folder / (name + ".mid")
        if not check:
            path.write_bytes(made)
        elif path.read_bytes() != made:
            print("%s differs from what make_performance.py makes" % path)
            same = False
    return same


def main():
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("tune", nargs="?", help="a tune of tests/reference/tunes, e.g. 13_clementine")
    reader.add_argument("-o", "--output", type=pathlib.Path, help="the MIDI file to write")
    reader.add_argument("--seed", type=int, default=1, help="another playing of the same tune")
    reader.add_argument("--grid", action="store_true", help="exactly as printed")
    reader.add_argument("--resolution", type=int, default=960, help="ticks a quarter note")
    reader.add_argument("--channels", default="1", help="1: both hands on channel 1; 1,2: right on 1, left on 2")
    reader.add_argument("--repeat", type=int, default=1, help="how many times round")
    reader.add_argument("--demo", type=pathlib.Path, help="write the committed demos into this folder")
    reader.add_argument("--check", action="store_true", help="with --demo: compare instead of writing")
    options = reader.parse_args()
    if options.demo:
        sys.exit(0 if demos(options.demo, options.check) else 1)
    if not options.tune or not options.output:
        reader.error("a tune and -o FILE are needed")
    tune = repeated(find(options.tune), options.repeat)
    options.output.write_bytes(midiFile(tune, options))
    raised = octaveUp(tune["melody"])
    note = "; the tune is raised by an octave to lie above C4" if raised else ""
    print("%s: --pickup %s (quarters), meter %s%s" % (options.output, tune["pickup_quarters"], tune["meter"], note))


if __name__ == "__main__":
    main()
