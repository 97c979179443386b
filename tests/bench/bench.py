#!/usr/bin/env python3
"""What Seguente costs, as a table: instructions counted by callgrind, against the project's bars.

    bench.py BUILD/tests/seguente_bench [--program BUILD/seguente] [--quick]

Exit 1 when a bar is missed. Instructions do not depend on what else the machine does; the one figure in seconds (render) does,
and is the best of five. Needs valgrind; python3 standard library only.
"""
import argparse
import pathlib
import re
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]


def scenario(bench, name):
    """Runs one scenario; a list of (label, {key: number}, instructions), in order."""
    with tempfile.TemporaryDirectory() as folder:
        out = pathlib.Path(folder) / "dump"
        ran = subprocess.run(["valgrind", "--tool=callgrind", "--collect-atstart=no", "--combine-dumps=yes",
                              "--callgrind-out-file=%s" % out, bench, name], capture_output=True, text=True)
        if ran.returncode != 0:
            sys.exit("bench: %s failed\n%s" % (name, ran.stderr[-2000:]))
        totals = []
        with open(out, errors="replace") as file:
            named = False
            for line in file:
                if line.startswith("desc: Trigger: Client Request"):
                    named = True
                elif line.startswith("part:"):
                    named = False
                elif named and line.startswith("totals:"):
                    totals.append(int(line.split()[1]))
        lines = [line for line in ran.stdout.splitlines() if line]
        if len(lines) != len(totals):
            sys.exit("bench: %s has %d lines and %d dumps" % (name, len(lines), len(totals)))
        found = []
        for line, total in zip(lines, totals):
            facts = {k: int(v) for k, v in re.findall(r"(\w+)=(\d+)", line)}
            facts["notes"] = line.split("notes:")[1].split() if "notes:" in line else []
            found.append((line.split(" notesIn")[0], facts, total))
        return found


class Table:
    def __init__(self):
        self.missed = 0
        print("%-74s %14s %14s" % ("", "measured", "bar"))

    def row(self, what, value, bar, most=True, unit=""):
        good = bar is None or (value <= bar if most else value >= bar)
        self.missed += not good
        text = "{:,.2f}".format(value) if isinstance(value, float) and value < 100 else "{:,.0f}".format(value)
        limit = "" if bar is None else ("<= " if most else ">= ") + "{:,}".format(bar)
        print("%-74s %14s %14s %s" % (what, text + unit, limit, "" if good else "MISSED"), flush=True)


def perNote(calls):
    """What one note costs, its end included, on average and at most. A call is shared evenly by the notes that begin or end
    in it, whatever else it does; a note costs its share of the call that begins it and of the call that ends it."""
    begun, whole = {}, []
    for notes, total in calls:
        for note in notes:
            share = total / len(notes)
            if note in begun:
                whole.append(begun.pop(note) + share)
            else:
                begun[note] = share
    return sum(whole) / len(whole), max(whole)


def perCall(table, bench):
    empty = scenario(bench, "nothing")[0][2]
    idle = [total - empty for _, _, total in scenario(bench, "idle")]
    table.row("process with nothing to do, any block size, most", max(idle), 250)

    held = {}
    for name, facts, total in scenario(bench, "held"):
        held.setdefault(name, []).append((facts["notes"], total - empty))
    quiet = [t for calls in held.values() for notes, t in calls if not notes]
    table.row("chord held and no step due, most of %d calls" % len(quiet), max(quiet), 400)
    average, dearest = perNote(held.pop("held"))
    table.row("a note-on and its note-off of ours, everything that the call does counted:", dearest, 600)
    table.row("  rocking bass, two keys a step: the dearest note, above; average", average, 600)
    for name, calls in held.items():
        average, dearest = perNote(calls)
        idiom = name.split()[1]
        table.row("  %s: the dearest note (average %s)" % (idiom, "{:,.0f}".format(average)), dearest, 600)

    changes = {}
    for name, facts, total in scenario(bench, "changes"):
        changes.setdefault(name.split()[1], []).append((total - empty) / max(1, facts["chords"]))
    for idiom, costs in changes.items():
        table.row("a chord change, 3 to 6 keys down, named, keyed, voiced, struck: %s, most of 200" % idiom, max(costs),
                  20000)
        table.row("  average", sum(costs) / len(costs), None)

    worst, over = 0, 0
    calls = scenario(bench, "hostile")
    for _, f, total in calls:
        bound = 20000 + 1800 * f["notesIn"] + 150 * f["otherIn"] + 600 * (f["noteOns"] + f["noteOffs"])
        worst = max(worst, (total - empty) / bound)
        over += total - empty > bound
    table.row("%d hostile blocks: the worst call as a share of its bound" % len(calls), float(worst), 1)
    if over:
        print("  %d calls over their bound" % over)


def listening(table, bench):
    (_, facts, fixed), (_, _, heard) = scenario(bench, "hands")
    table.row("hands told apart by listening, a note, looking again included", (heard - fixed) / facts["struck"], 25000)


def wholeSessions(table, bench):
    for name, _, total in scenario(bench, "tenMinutes"):
        table.row("ten minutes of playing, 48 kHz in 512s: %s" % name.split()[1], total, 45000000)
    for name, what in (("session", "minute %s of a long session"), ("hold", "ten seconds of a chord held for %s minutes"),
                       ("shelf", "four minutes, %s idioms taking turns")):
        points = [(label.split()[1], total) for label, _, total in scenario(bench, name)]
        for label, total in points:
            table.row(what % label, total, None)
        # flat: the dearest point is within a quarter of the cheapest; other music or other figures explain that much
        if name != "shelf":
            table.row("  the last against the first", points[-1][1] / points[0][1], 1.25)


def memory(table, bench):
    said = subprocess.run([bench, "memory"], capture_output=True, text=True, check=True).stdout
    table.row("memory of one engine, bytes", int(re.search(r"bytes=(\d+)", said).group(1)), 256 * 1024)


def render(table, program):
    with tempfile.TemporaryDirectory() as folder:
        tune = pathlib.Path(folder) / "ten-minutes.mid"
        subprocess.run([sys.executable, ROOT / "presets/demo/make_performance.py", "07_long_long_ago", "-o", tune,
                        "--repeat", "17"], check=True, capture_output=True)
        seconds = 17 * 64 * 60 / 104
        best = None
        for _ in range(5):
            start = time.perf_counter()
            subprocess.run([program, "render", tune, "--idiom", "rocking-bass", "-o", pathlib.Path(folder) / "out.mid"],
                           check=True, capture_output=True)
            took = time.perf_counter() - start
            best = took if best is None else min(best, took)
        table.row("seguente render of %.1f minutes without WAV, times real time" % (seconds / 60), seconds / best, 10000,
                  most=False)


def wave(table, program):
    """The share that FluidSynth itself has in a render with a WAV: its calls, all they cost, against the whole process."""
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        ran = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=%s" % (folder / "dump"), program, "render",
                              ROOT / "presets/demo/clementine.mid", "--idiom", "waltz", "--pickup", "1", "-o",
                              folder / "out.mid", "--wav", folder / "out.wav"], capture_output=True, text=True)
        if ran.returncode != 0:
            sys.exit("bench: render --wav failed\n" + ran.stderr[-2000:])
        said = subprocess.run(["callgrind_annotate", "--inclusive=yes", "--threshold=100", folder / "dump"],
                              capture_output=True, text=True, check=True).stdout
        total = int(re.search(r"Collected : (\d+)", ran.stderr).group(1))
        alone = 0
        for line in said.splitlines():
            if re.search(r":seguente::Synthesiser::(open|send|sound|~Synthesiser)\(", line):
                alone += int(line.split()[0].replace(",", ""))
        table.row("a render with WAV, instructions against FluidSynth's own calls", total / max(1, alone), 1.05)


def main():
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("bench")
    reader.add_argument("--program", help="the seguente program, for the figures of a whole process")
    reader.add_argument("--quick", action="store_true", help="single calls and memory only")
    options = reader.parse_args()
    table = Table()
    memory(table, options.bench)
    perCall(table, options.bench)
    listening(table, options.bench)
    if not options.quick:
        wholeSessions(table, options.bench)
    if options.program:
        render(table, options.program)
        wave(table, options.program)
    sys.exit(1 if table.missed else 0)


if __name__ == "__main__":
    main()
