#!/usr/bin/env python3
"""./run install and uninstall in a home of this test alone: exactly what was put there goes, and nobody else's file."""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

ARGS = None


class Install(unittest.TestCase):
    def setUp(self):
        self.home = Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.home)
        self.env = {**os.environ, "HOME": str(self.home)}
        self.env.pop("XDG_DATA_HOME", None)
        # Small stand-ins with the layout of the built ones.
        self.built = self.home / "built"
        for name in ("lv2/Seguente.lv2/manifest.ttl", "lv2/Seguente.lv2/libSeguente.so",
                     "vst3/Seguente.vst3/Contents/x86_64-linux/Seguente.so", "vst3/presets/Seguente/Seguente/Hymn.vstpreset"):
            self.write(self.built / name, name)
        self.before = self.everything()

    @staticmethod
    def write(path, text):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)

    def everything(self):
        return {p: p.read_text() if p.is_file() else None for p in self.home.rglob("*")}

    def run_word(self, word):
        sources = ["--lv2", self.built / "lv2/Seguente.lv2", "--vst3", self.built / "vst3/Seguente.vst3",
                   "--presets", self.built / "vst3/presets/Seguente/Seguente"] if word == "install" else []
        return subprocess.run([sys.executable, ARGS.install, word, *sources], env=self.env, capture_output=True, text=True)

    def good(self, word):
        done = self.run_word(word)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return done.stdout

    def test_both_bundles_and_the_presets_come_and_go_and_it_says_where(self):
        said = self.good("install")
        for name, source in ((".lv2/Seguente.lv2/manifest.ttl", "lv2/Seguente.lv2/manifest.ttl"),
                             (".vst3/Seguente.vst3/Contents/x86_64-linux/Seguente.so",
                              "vst3/Seguente.vst3/Contents/x86_64-linux/Seguente.so"),
                             (".vst3/presets/Seguente/Seguente/Hymn.vstpreset", "vst3/presets/Seguente/Seguente/Hymn.vstpreset")):
            self.assertEqual((self.home / name).read_text(), source)
        for folder in (".lv2/Seguente.lv2", ".vst3/Seguente.vst3", ".vst3/presets/Seguente/Seguente"):
            self.assertIn(str(self.home / folder), said)
        self.good("uninstall")
        self.assertEqual(self.everything(), self.before)  # no empty folder either

    def test_both_words_work_twice(self):
        self.good("install")
        once = self.everything()
        self.good("install")
        self.assertEqual(self.everything(), once)
        self.good("uninstall")
        self.assertIn("Nothing is installed", self.good("uninstall"))

    def test_a_newer_build_replaces_the_older_and_what_it_no_longer_has_goes(self):
        self.good("install")
        self.write(self.built / "lv2/Seguente.lv2/manifest.ttl", "newer")
        (self.built / "vst3/presets/Seguente/Seguente/Hymn.vstpreset").rename(
            self.built / "vst3/presets/Seguente/Seguente/Psalm.vstpreset")
        self.good("install")
        self.assertEqual((self.home / ".lv2/Seguente.lv2/manifest.ttl").read_text(), "newer")
        self.assertEqual([p.name for p in (self.home / ".vst3/presets/Seguente/Seguente").iterdir()], ["Psalm.vstpreset"])

    def test_what_it_did_not_put_there_is_in_the_way_and_nothing_is_done(self):
        for name in (".lv2/Seguente.lv2/manifest.ttl", ".vst3/presets/Seguente/Seguente/Hymn.vstpreset"):
            with self.subTest(name):
                self.setUp()
                self.write(self.home / name, "mine")
                before = self.everything()
                done = self.run_word("install")
                self.assertEqual(done.returncode, 1)
                self.assertIn(name, done.stderr)
                self.assertEqual(self.everything(), before)
                self.good("uninstall")
                self.assertEqual(self.everything(), before)

    def test_a_link_of_the_user_is_not_followed(self):
        (self.home / ".lv2").mkdir()
        (self.home / "elsewhere").mkdir()
        (self.home / ".lv2/Seguente.lv2").symlink_to(self.home / "elsewhere")
        self.assertEqual(self.run_word("install").returncode, 1)
        self.assertEqual(list((self.home / "elsewhere").iterdir()), [])

    def test_the_users_own_files_stay_also_inside_our_folders(self):
        self.write(self.home / ".lv2/Other.lv2/manifest.ttl", "other")
        self.good("install")
        self.write(self.home / ".vst3/presets/Seguente/Seguente/Mine.vstpreset", "mine")
        self.write(self.home / ".lv2/Seguente.lv2/manifest.ttl", "changed by me")
        said = self.good("uninstall")
        self.assertIn("manifest.ttl", said)
        self.assertEqual((self.home / ".lv2/Other.lv2/manifest.ttl").read_text(), "other")
        self.assertEqual((self.home / ".vst3/presets/Seguente/Seguente/Mine.vstpreset").read_text(), "mine")
        self.assertEqual((self.home / ".lv2/Seguente.lv2/manifest.ttl").read_text(), "changed by me")
        self.assertFalse((self.home / ".lv2/Seguente.lv2/libSeguente.so").exists())
        self.assertFalse((self.home / ".vst3/Seguente.vst3").exists())
        self.assertFalse((self.home / ".local").exists())

    def test_the_folder_of_the_users_own_idioms_stays_with_them(self):
        self.good("install")
        self.write(self.home / ".local/share/seguente/idioms/mine.toml", "mine")
        self.good("uninstall")
        self.assertEqual([p.name for p in self.home.rglob("*") if p.is_file() and p not in self.before], ["mine.toml"])


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--install", type=Path, required=True)
    ARGS, rest = parser.parse_known_args()
    unittest.main(argv=[sys.argv[0], *rest])
