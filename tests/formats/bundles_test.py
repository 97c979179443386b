#!/usr/bin/env python3
"""The built bundles, looked at from outside: what the turtle files say, what is exported, what is needed, and that the
script which mends the turtle files says so when it does not know them. What needs a tool that is not installed
(sordi, lv2_validate, lv2ls, lv2info) is left out with a word; ./run deps installs them all."""

import argparse
import ctypes
import json
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

LV2 = "http://lv2plug.in/ns/lv2core#"
UNITS = "http://lv2plug.in/ns/extensions/units#"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
LABEL = "http://www.w3.org/2000/01/rdf-schema#label"

# On every system with a desktop: the C and C++ runtimes, and what draws letters and pictures. X11 is looked for at run
# time, when a window opens.
NEEDED = {"libc.so.6", "libm.so.6", "libgcc_s.so.1", "libstdc++.so.6", "ld-linux-x86-64.so.2", "libz.so.1",
          "libfreetype.so.6", "libpng16.so.16", "libjpeg.so.62", "libfontconfig.so.1", "libdl.so.2", "libpthread.so.0",
          "librt.so.1"}


def run(*command, **more):
    return subprocess.run([str(c) for c in command], capture_output=True, text=True, check=True, **more).stdout


def triples(path):
    """(subject, predicate, object) by sordi; literals without their types."""
    made = []
    for line in run("sordi", "-o", "ntriples", path).splitlines():
        subject, predicate, rest = line.split(" ", 2)
        rest = rest.rstrip(" .")
        literal = re.match(r'"(.*)"(?:\^\^<[^>]*>)?$', rest)
        made.append((subject.strip("<>"), predicate.strip("<>"), literal[1] if literal else rest.strip("<>")))
    return made


def decoded(text):
    """The framework's letters back into bytes, written anew here: six bits a letter, lowest first."""
    size, letters = text.split(".", 1)
    alphabet = ".ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+"
    bits = 0
    for i, letter in enumerate(letters):
        bits |= alphabet.index(letter) << (6 * i)
    return bits.to_bytes((len(letters) * 6 + 7) // 8 + 1, "little")[: int(size)]


class Bundles(unittest.TestCase):
    args = None

    @classmethod
    def setUpClass(cls):
        cls.lv2, cls.vst3, cls.presets = cls.args.lv2.resolve(), cls.args.vst3.resolve(), cls.args.presets.resolve()
        cls.description = json.loads(cls.args.description.read_text(encoding="utf-8"))
        cls.uri = re.search(r"(?m)^<([^>]+)>\n\ta lv2:Plugin", (cls.lv2 / "manifest.ttl").read_text())[1]
        cls.name = cls.lv2.stem
        cls.binary = cls.lv2 / f"lib{cls.name}.so"

    def need(self, *tools):
        for tool in tools:
            if not shutil.which(tool):
                self.skipTest(f"no {tool} here")

    def facts(self, name="dsp.ttl"):
        self.need("sordi")
        return triples(self.lv2 / name)

    def test_lv2_names_it_what_it_is_with_a_license(self):
        for name in ("manifest.ttl", "dsp.ttl"):
            kinds = {o for s, p, o in self.facts(name) if s == self.uri and p == RDF + "type"}
            self.assertIn(LV2 + self.args.kind + "Plugin", kinds)
            self.assertIn(LV2 + "Plugin", kinds)
        licenses = [o for s, p, o in self.facts() if s == self.uri and p.endswith("doap#license")]
        self.assertEqual(licenses, ["http://spdx.org/licenses/GPL-3.0-or-later"])

    def test_lv2_parameters_have_range_default_unit_and_every_word_at_its_value(self):
        facts = self.facts()
        units = {"%": "pc", "octaves": "oct", "semitones": "semitone12TET", "quarters a minute": "bpm"}
        for row in self.description["parameters"]:
            with self.subTest(row["id"]):
                of = {}
                for s, p, o in facts:
                    if s == f"{self.uri}:{row['id']}":
                        of.setdefault(p, []).append(o)
                self.assertEqual(of[LABEL], [row["name"]])
                for key, value in (("minimum", "low"), ("maximum", "high"), ("default", "standard")):
                    self.assertAlmostEqual(float(of[LV2 + key][0]), row[value], 3)
                unit = "midiNote" if row["kind"] == "key" else units.get(row["unit"])
                self.assertEqual(of.get(UNITS + "unit", []), [UNITS + unit] if unit else [])
                points = of.get(LV2 + "scalePoint", [])
                values = sorted(float(o) for s, p, o in facts if s in points and p == RDF + "value")
                if row["kind"] == "number":
                    self.assertEqual(values, [])
                    continue
                steps = round((row["high"] - row["low"]) / row["step"])
                self.assertEqual(len(values), steps + 1)
                for i, value in enumerate(values):
                    self.assertAlmostEqual(value, row["low"] + i * row["step"], 4)

    def test_lv2_ports_hold_every_note_off_that_can_be_owed(self):
        sizes = [int(o) for s, p, o in self.facts() if p.endswith("resize-port#minimumSize")]
        self.assertEqual(len(sizes), 2)
        # 16 channels x 128 keys x 24 bytes, and a patch:Set of 72 for every parameter.
        owed = 16 * 128 * 24 + len(self.description["parameters"]) * 72
        self.assertTrue(all(size >= owed for size in sizes))

    def test_lv2_validate_has_one_thing_to_say_and_that_is_not_ours(self):
        """lv2:portProperty on a parameter is out of its domain, but hosts (two were read) look for it there."""
        self.need("lv2_validate", "sord_validate")
        done = subprocess.run(["lv2_validate", *map(str, sorted(self.lv2.glob("*.ttl")))], capture_output=True, text=True)
        said = (done.stdout + done.stderr).split("error: ")[1:]
        parameters = {f"{self.uri}:{row['id']}" for row in self.description["parameters"]}
        for message in said:
            lines = [line.strip() for line in message.splitlines() if line.strip()]
            with self.subTest(message):
                self.assertEqual(lines[0], f"Subject not in domain <{LV2}Port>")
                self.assertIn(lines[1], parameters)
                self.assertEqual(lines[2], LV2 + "portProperty")
                self.assertIn(lines[3], {LV2 + "enumeration", LV2 + "toggled", LV2 + "integer"})

    def test_lilv_finds_plugin_ports_and_presets(self):
        self.need("lv2ls", "lv2info")
        env = dict(os.environ, LV2_PATH=f"{self.lv2.parent}:/usr/lib/lv2")
        self.assertIn(self.uri, run("lv2ls", env=env).split())
        done = subprocess.run(["lv2info", self.uri], capture_output=True, text=True, check=True, env=env)
        self.assertEqual(done.stderr, "")
        self.assertIn(f"{self.args.kind} Plugin", done.stdout)
        self.assertIn("Has latency:       yes", done.stdout)
        for preset in self.description["presets"]:
            self.assertIn(preset["title"], done.stdout)
        for name in ("In", "Out", "Enabled"):
            self.assertRegex(done.stdout, rf"Name:\s+{name}\n")

    def test_lv2_presets_are_the_states_of_their_files(self):
        facts = self.facts("presets.ttl")
        for preset in self.description["presets"]:
            uri = f"{self.uri}:preset:{preset['id']}"
            state = [o for s, p, o in facts if s == uri and p.endswith("state#state")]
            self.assertEqual(len(state), 1, preset["id"])
            text = [o for s, p, o in facts if s == state[0] and p == self.uri + ":StateString"]
            self.assertEqual(decoded(text[0]).decode(), preset["state"])
        listed = {s for s, p, o in self.facts("manifest.ttl") if o.endswith("presets#Preset")}
        self.assertEqual(listed, {f"{self.uri}:preset:{p['id']}" for p in self.description["presets"]})

    def test_vst3_presets_are_laid_out_as_the_sdk_has_it_for_this_very_class(self):
        cid = self.component_class()
        files = sorted(self.presets.iterdir())
        self.assertEqual({f.name for f in files}, {p["title"] + ".vstpreset" for p in self.description["presets"]})
        for preset in self.description["presets"]:
            data = (self.presets / (preset["title"] + ".vstpreset")).read_bytes()
            self.assertEqual(data[:8], b"VST3" + struct.pack("<i", 1))
            self.assertEqual(data[8:40].decode(), cid)
            (at,) = struct.unpack_from("<q", data, 40)
            self.assertEqual(data[at:at + 12], b"List" + struct.pack("<i", 1) + b"Comp")
            begin, size = struct.unpack_from("<qq", data, at + 12)
            self.assertEqual(at + 28, len(data))
            self.assertEqual(begin + size, at)
            state = preset["state"].encode()
            self.assertEqual(data[begin:begin + size], state + bytes(16) + b"JUCEPrivateData")

    def component_class(self):
        """The class id of the audio effect, asked of the module's own factory (ipluginbase.h, Linux layout)."""
        library = ctypes.CDLL(str(self.vst3))
        factory = ctypes.CFUNCTYPE(ctypes.c_void_p)(("GetPluginFactory", library))()
        table = ctypes.cast(factory, ctypes.POINTER(ctypes.POINTER(ctypes.c_void_p)))[0]
        count = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p)(table[4])(factory)
        info = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p, ctypes.c_int32, ctypes.c_void_p)(table[5])
        for i in range(count):
            raw = ctypes.create_string_buffer(16 + 4 + 32 + 64)
            self.assertEqual(info(factory, i, raw), 0)
            if raw.raw[20:52].split(b"\0")[0] == b"Audio Module Class":
                self.assertEqual(raw.raw[52:].split(b"\0")[0], self.name.encode())
                return raw.raw[:16].hex().upper()
        self.fail("no audio module in the factory")

    def test_a_bundle_needs_nothing_that_is_not_everywhere(self):
        self.need("readelf")
        for binary in (self.binary, self.vst3):
            needed = set(re.findall(r"\(NEEDED\).*\[(.*)\]", run("readelf", "-d", binary)))
            self.assertTrue(needed)
            self.assertEqual(needed - NEEDED, set(), binary.name)

    def test_a_bundle_shows_its_entry_points_and_nothing_else(self):
        self.need("nm")
        for binary, entries in ((self.binary, {"lv2_descriptor", "lv2ui_descriptor"}),
                                (self.vst3, {"GetPluginFactory", "ModuleEntry", "ModuleExit"})):
            shown = {line.split()[-1] for line in run("nm", "-D", "--defined-only", binary).splitlines()}
            self.assertEqual(shown, entries)

    def test_a_bundle_names_no_folder_of_the_machine_that_built_it(self):
        for path in sorted(self.lv2.glob("*.ttl")):
            self.assertNotRegex(path.read_text(), "file:|/(home|tmp|root)" + "/")


class Mending(unittest.TestCase):
    """finish_lv2.py on copies: twice is once, the other framework's files, and files that nobody knows."""
    args = None

    def setUp(self):
        self.folder = Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.folder)
        self.bundle = self.folder / "lv2" / self.args.lv2.name
        self.bundle.mkdir(parents=True)
        shutil.copy(self.args.description, self.folder / "description.json")
        for name in ("manifest.ttl", "dsp.ttl", "ui.ttl"):
            shutil.copy(self.args.description.parent / f"{self.args.lv2.stem}.{name}.as-written", self.bundle / name)

    def finish(self):
        return subprocess.run([sys.executable, self.args.plugin_folder / "finish_lv2.py", self.bundle,
                               self.folder / "description.json"], capture_output=True, text=True)

    def texts(self):
        return {p.name: p.read_text() for p in self.bundle.iterdir()}

    def test_it_makes_what_stands_in_the_bundle_and_twice_is_once(self):
        for _ in range(2):
            done = self.finish()
            self.assertEqual((done.returncode, done.stderr), (0, ""))
            for name, text in self.texts().items():
                self.assertEqual(text, (self.args.lv2 / name).read_text(), name)

    def test_scale_points_that_are_right_already_stay_right(self):
        """As JUCE 8 writes them: minimum + i * (maximum - minimum) / steps, in short floats."""
        path = self.bundle / "dsp.ttl"
        before = path.read_text()
        rows = json.loads((self.folder / "description.json").read_text())["parameters"]
        ranges = {row["id"]: (row["low"], row["high"]) for row in rows}

        def block(match):
            low, high = ranges[match[1]]
            return re.sub(r"rdf:value (\S+)", lambda m: f"rdf:value {low + float(m[1]) * (high - low):.6g}", match[0])

        path.write_text(re.sub(r"(?ms)^plug:([\w-]+)\n\ta lv2:Parameter.*? \.\n\n", block, before))
        self.assertNotEqual(path.read_text(), before)
        done = self.finish()
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(path.read_text(), (self.args.lv2 / "dsp.ttl").read_text())

    def test_files_that_it_does_not_know_stop_the_build_with_one_line(self):
        changes = [("manifest.ttl", "a lv2:Plugin ;", "a lv2:Plugin, lv2:X ;"),
                   ("manifest.ttl", "a pset:Preset", "a pset:Bank"),
                   ("dsp.ttl", "a lv2:Plugin ;", "a lv2:GeneratorPlugin ;"),
                   ("dsp.ttl", "rsz:minimumSize", "rsz:asLargeAs"),
                   ("dsp.ttl", "doap:description", "doap:about"),
                   ("dsp.ttl", "lv2:hardRTCapable ;", "lv2:hardRTCapable, lv2:isLive ;"),
                   ("dsp.ttl", "plug:density\n\ta", "plug:busyness\n\ta"),
                   ("dsp.ttl", "lv2:maximum 150", "lv2:maximum 200"),
                   ("dsp.ttl", "rdf:value 0.00787402", "rdf:value 0.5"),
                   ("dsp.ttl", "rdfs:range atom:Float", "rdfs:range atom:Int"),
                   ("dsp.ttl", "@prefix xsd:", "@prefix xs:"),
                   ("ui.ttl", "ui:noUserResize ,", "ui:noUserResize;"),
                   ("ui.ttl", "opts:interface ,\n\t\topts:options", "opts:options")]
        for name, old, new in changes:
            with self.subTest(old):
                self.setUp()
                path = self.bundle / name
                self.assertIn(old, path.read_text())
                path.write_text(path.read_text().replace(old, new))
                before = self.texts()
                done = self.finish()
                self.assertEqual(done.returncode, 1)
                self.assertRegex(done.stderr, r"\Afinish_lv2.py: [^\n]+\n\Z")
                self.assertEqual(self.texts(), before)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    for name in ("lv2", "vst3", "presets", "description", "plugin-folder"):
        parser.add_argument(f"--{name}", type=Path, required=True)
    parser.add_argument("--kind", choices=("MIDI", "Instrument"), default="MIDI")
    Bundles.args, rest = parser.parse_known_args()
    Mending.args = Bundles.args
    unittest.main(argv=[sys.argv[0], *rest])
