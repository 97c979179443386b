#!/usr/bin/env python3
"""What the plugin costs, as a table, against the project's bars: instructions counted by callgrind.

    plugin_bench.py BUILD/tests/seguente_plugin_bench

Exit 1 when a bar is missed. The one figure in seconds (a hundred instances) is CPU time against the time of the music.
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
from bench import Table, scenario  # noqa: E402


def counts(bench, name):
    """{label: (facts, instructions)} of one scenario."""
    return {re.sub(r" blocks=.*", "", label): (facts, total) for label, facts, total in scenario(bench, name)}


def perBlock(found, label):
    facts, total = found[label]
    return total / facts["blocks"]


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    bench = sys.argv[1]
    with tempfile.TemporaryDirectory() as home:  # no idioms of whoever runs this
        os.environ.update(HOME=home, XDG_DATA_HOME=home + "/data")
        table = Table()
        idle = counts(bench, "idle")
        table.row("processBlock, nothing played, less the pass-through: instructions",
                  perBlock(idle, "idle seguente") - perBlock(idle, "idle pass-through"), 400)
        table.row("  the pass-through", perBlock(idle, "idle pass-through"), None)
        busy = counts(bench, "busy")
        passing = perBlock(busy, "busy pass-through")
        idioms = {label: perBlock(busy, label) - passing for label in busy if "pass-through" not in label}
        fullest = max(idioms, key=lambda label: busy[label][0]["events"])
        for label, cost in idioms.items():
            bar = 1500 if label == fullest else None
            table.row("a busy minute in blocks of 64, full, %s: mean of a block" % label[5:], cost, bar)
        made = counts(bench, "instantiate")
        table.row("made and thrown away, against the pass-through",
                  made["instantiate seguente"][1] / made["instantiate pass-through"][1], 1.5)
        prepared = counts(bench, "ready")
        table.row("made ready to play, the first of a process: million instructions",
                  perBlock(prepared, "ready first") / 1e6, None)
        table.row("  each further one", perBlock(prepared, "ready further") / 1e6, None)
        said = subprocess.run([bench, "hundred", "latency"], capture_output=True, text=True, check=True).stdout
        spent = int(re.search(r"microseconds=(\d+)", said).group(1))
        table.row("a hundred instances, a busy minute, of one core", spent / 60e6 * 100, 5, unit=" %")
        table.row("latency reported, samples", int(re.search(r"samples=(-?\d+)", said).group(1)), 0)
    sys.exit(1 if table.missed else 0)


if __name__ == "__main__":
    main()
