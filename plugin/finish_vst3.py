#!/usr/bin/env python3
"""Writes the presets as .vstpreset files.

    finish_vst3.py FOLDER DESCRIPTION.json MAKER PLUGIN

FOLDER gets one file a preset, and nothing else may stand in it. MAKER and PLUGIN: the two codes of four letters. The
layout is the VST3 SDK's (public.sdk/source/vst/vstpresetfile.h): header, the component's state as one chunk, the list
of chunks; all numbers little-endian.
"""

import json
import struct
import sys
from pathlib import Path


def class_id(maker, plugin):
    """The framework's component class: two constants of its own, then the two codes."""
    if len(maker) != 4 or len(plugin) != 4:
        sys.exit("finish_vst3.py: a code is four letters")
    return "ABCDEF019182FAEB" + maker.encode("ascii").hex().upper() + plugin.encode("ascii").hex().upper()


def component_state(state):
    """As the framework's wrapper writes and reads it: the state, a zero, the size of its own data (none: the bypass is
    a parameter of ours), and its magic word."""
    return state + struct.pack("<qq", 0, 0) + b"JUCEPrivateData"


def preset_file(state, cid):
    component = component_state(state)
    header = b"VST3" + struct.pack("<i", 1) + cid.encode("ascii")
    begin = len(header) + 8
    chunks = struct.pack("<4sqq", b"Comp", begin, len(component))
    return header + struct.pack("<q", begin + len(component)) + component + b"List" + struct.pack("<i", 1) + chunks


def main():
    folder, description, maker, plugin = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3], sys.argv[4]
    presets = json.loads(description.read_text(encoding="utf-8"))["presets"]
    folder.mkdir(parents=True, exist_ok=True)
    names = {f"{preset['title']}.vstpreset": preset for preset in presets}
    if len(names) != len(presets):
        sys.exit("finish_vst3.py: two presets have one title")
    for old in folder.glob("*.vstpreset"):
        if old.name not in names:
            old.unlink()
    for name, preset in names.items():
        (folder / name).write_bytes(preset_file(preset["state"].encode(), class_id(maker, plugin)))


if __name__ == "__main__":
    main()
