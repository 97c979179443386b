#!/usr/bin/env python3
"""Every scenario of SCENARIOS.md has its test, and every numbered test stands in SCENARIOS.md. Exit 1 and a line when not."""
import pathlib
import re
import sys

here = pathlib.Path(__file__).resolve().parent
listed = re.findall(r"^\| ([A-Z]+-\d+) \|", (here / "SCENARIOS.md").read_text(), re.M)
tested = set()
for source in [*here.glob("*.cpp"), *here.glob("outside/outside_hosts.py")]:
    tested |= set(re.findall(r'"([A-Z]+-\d+):', source.read_text()))
wrong = sorted(set(listed) ^ tested) + sorted({name for name in listed if listed.count(name) > 1})
if wrong:
    print("in SCENARIOS.md or in a test, but not in both once: " + " ".join(wrong))
sys.exit(1 if wrong else 0)
