#!/usr/bin/env python3
"""The built bundles put into an empty home by plugin/install.py, as ./run install does: hosts find them there, nowhere
else, and after uninstall not at all. lilv speaks for LV2 hosts; a VST3 host looks for modules as its specification has
it (~/.vst3, Contents/x86_64-linux) and asks their factory."""

import argparse
import ctypes
import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

ARGS = None


class Installed(unittest.TestCase):
    def setUp(self):
        self.home = Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.home)
        self.env = {"HOME": str(self.home), "PATH": os.environ["PATH"]}  # no LV2_PATH, no XDG folder: as it is by itself

    def run_word(self, word, *more):
        done = subprocess.run([sys.executable, ARGS.install, word, *map(str, more)], env=self.env, capture_output=True,
                              text=True)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return done.stdout

    def install(self):
        return self.run_word("install", "--lv2", ARGS.lv2, "--vst3", ARGS.vst3, "--presets", ARGS.presets)

    def lilv(self, *command):
        if not shutil.which(command[0]):
            self.skipTest(f"no {command[0]} here")
        return subprocess.run(command, env=self.env, capture_output=True, text=True)

    def test_what_it_says_is_there_and_after_uninstall_nothing_is(self):
        said = self.install()
        places = [Path(line.strip()) for line in said.splitlines() if line.startswith("  ")]
        self.assertEqual(len(places), 3)
        for place, source in zip(places, (ARGS.lv2, ARGS.vst3, ARGS.presets)):
            self.assertTrue(place.is_relative_to(self.home))
            left = {p.relative_to(place): p.read_bytes() for p in place.rglob("*") if p.is_file()}
            built = {p.relative_to(source): p.read_bytes() for p in source.rglob("*") if p.is_file()}
            self.assertTrue(left)
            self.assertEqual(left, built)
        self.run_word("uninstall")
        self.assertEqual([p for p in self.home.rglob("*") if p.is_file()], [])

    def test_an_lv2_host_finds_it_with_its_presets_and_afterwards_no_more(self):
        self.assertNotIn(ARGS.uri, self.lilv("lv2ls").stdout.split())
        self.install()
        self.assertIn(ARGS.uri, self.lilv("lv2ls").stdout.split())
        info = self.lilv("lv2info", ARGS.uri)
        self.assertEqual((info.returncode, info.stderr), (0, ""))
        self.assertIn(f"file://{self.home}/.lv2/Seguente.lv2/", info.stdout)
        presets = list((self.home / ".vst3/presets/Seguente/Seguente").glob("*.vstpreset"))
        self.assertTrue(presets)
        for preset in presets:  # the two formats have the same ones
            self.assertIn(preset.stem, info.stdout)
        self.run_word("uninstall")
        self.assertNotIn(ARGS.uri, self.lilv("lv2ls").stdout.split())

    def test_a_vst3_host_finds_one_effect_in_it(self):
        self.install()
        modules = list((self.home / ".vst3").glob(f"*.vst3/Contents/{platform.machine()}-linux/*.so"))
        self.assertEqual(len(modules), 1)
        self.assertEqual(modules[0].stem, modules[0].parents[2].stem)
        factory = ctypes.CFUNCTYPE(ctypes.c_void_p)(("GetPluginFactory", ctypes.CDLL(str(modules[0]))))()
        # ipluginbase.h: three entries of FUnknown, then getFactoryInfo, countClasses, getClassInfo.
        table = ctypes.cast(factory, ctypes.POINTER(ctypes.POINTER(ctypes.c_void_p)))[0]
        classes = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p)(table[4])(factory)
        told = []
        for i in range(classes):
            raw = ctypes.create_string_buffer(16 + 4 + 32 + 64)
            ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p, ctypes.c_int32, ctypes.c_void_p)(table[5])(factory, i, raw)
            told.append(tuple(raw.raw[a:b].split(b"\0")[0].decode() for a, b in ((20, 52), (52, 116))))
        self.assertIn(("Audio Module Class", "Seguente"), told)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    for name in ("install", "lv2", "vst3", "presets"):
        parser.add_argument(f"--{name}", type=lambda text: Path(text).resolve(), required=True)
    ARGS, rest = parser.parse_known_args()
    ARGS.uri = re.search(r"(?m)^<([^>]+)>\n\ta lv2:Plugin", (ARGS.lv2 / "manifest.ttl").read_text())[1]
    unittest.main(argv=[sys.argv[0], *rest])
