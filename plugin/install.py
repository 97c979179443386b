#!/usr/bin/env python3
"""Puts the built bundles and presets into the user's own plugin folders, and takes exactly them away again.

    install.py install --lv2 BUNDLE... --vst3 BUNDLE... --presets FOLDER...
    install.py uninstall

LV2: ~/.lv2. VST3: ~/.vst3, and its presets where the VST3 specification has them on Linux, ~/.vst3/presets/MAKER/NAME.
What was put there, with its checksum, is kept in $XDG_DATA_HOME/seguente/installed.json (~/.local/share). Only a file
that stands in that list, and is still as it was put there, is ever replaced or removed; where there is another one in
the way, nothing is done at all.
"""

import argparse
import hashlib
import json
import os
import shutil
import sys
from pathlib import Path


def home():
    return Path(os.environ["HOME"])


def record_file():
    data = os.environ.get("XDG_DATA_HOME")
    return (Path(data) if data and Path(data).is_absolute() else home() / ".local/share") / "seguente/installed.json"


def checksum(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def read_record():
    """Files with their checksums, and the folders that were made for them."""
    path = record_file()
    if not path.exists():
        return {"files": {}, "folders": []}
    return json.loads(path.read_text(encoding="utf-8"))


def write_record(record):
    path = record_file()
    if not record["files"]:
        path.unlink(missing_ok=True)
        remove_empty_folders(record)  # the record's own among them; the others hold somebody else's things now
        return
    make_folder(path.parent, record)
    temporary = path.with_suffix(".new")
    temporary.write_text(json.dumps(record, indent=1), encoding="utf-8")
    temporary.replace(path)


def is_ours(path, record):
    return path.is_file() and not path.is_symlink() and checksum(path) in record["files"].get(str(path), "").split()


def wanted(args):
    """What goes where: {destination: source}."""
    roots = [(source, home() / ".lv2" / source.name) for source in args.lv2]
    roots += [(source, home() / ".vst3" / source.name) for source in args.vst3]
    roots += [(source, home() / ".vst3/presets" / source.parent.name / source.name) for source in args.presets]
    files = {}
    for source, root in roots:
        found = [p for p in sorted(source.rglob("*")) if p.is_file()]
        if not found:
            sys.exit(f"install: nothing in {source}: build it first")
        files.update({root / p.relative_to(source): p for p in found})
    return files, [root for _, root in roots]


def make_folder(folder, record):
    """With its parents; those that were not there are ours to remove."""
    if folder.is_dir():
        return
    make_folder(folder.parent, record)
    folder.mkdir()
    record["folders"].append(str(folder))


def remove(path, record):
    path.unlink()
    del record["files"][str(path)]


def remove_empty_folders(record):
    for folder in sorted(record["folders"], key=len, reverse=True):
        path = Path(folder)
        if path.is_dir() and not path.is_symlink():
            if any(path.iterdir()):
                continue  # somebody else's things are in it: asked again the next time
            path.rmdir()
        record["folders"].remove(folder)


def install(args):
    record = read_record()
    files, roots = wanted(args)
    # Whatever lies on the way to a file, down from home, must be a folder, and no link that leads elsewhere in a bundle.
    for root in roots:
        if root.is_symlink() or (root.exists() and not root.is_dir()):
            sys.exit(f"install: {root} is not a folder that ./run install made; move it away first")
    foreign = [p for p in files if (p.exists() or p.is_symlink()) and not is_ours(p, record)]
    if foreign:
        sys.exit(f"install: {foreign[0]} was not put there by ./run install, or was changed since; move it away first")
    for path in [Path(p) for p in record["files"]]:
        if path not in files and is_ours(path, record):
            remove(path, record)
    for path, source in files.items():
        make_folder(path.parent, record)
        # Noted before it is there, beside what is there now: a run that is cut off leaves nothing that we do not know.
        before, after = record["files"].get(str(path), ""), checksum(source)
        record["files"][str(path)] = f"{before} {after}".strip()
        write_record(record)
        temporary = path.with_name(path.name + ".new")
        shutil.copy(source, temporary)
        temporary.replace(path)
        record["files"][str(path)] = after
    remove_empty_folders(record)
    write_record(record)
    print("Installed, for you alone:")
    for root in roots:
        print(f"  {root}")
    print("Hosts find them when they look for plugins again. ./run uninstall takes exactly these away.")


def uninstall():
    record = read_record()
    if not record["files"]:
        print("Nothing is installed by ./run install.")
    count, kept = 0, []
    for name in list(record["files"]):
        path = Path(name)
        if is_ours(path, record):
            remove(path, record)
            count += 1
        else:
            if path.exists() or path.is_symlink():
                kept.append(path)
            del record["files"][name]
    remove_empty_folders(record)
    write_record(record)
    if count:
        print(f"Removed {count} files.")
    for path in kept:
        print(f"Left alone, because it was changed since: {path}")


def main():
    parser = argparse.ArgumentParser()
    words = parser.add_subparsers(dest="word", required=True)
    installing = words.add_parser("install")
    for name in ("lv2", "vst3", "presets"):
        installing.add_argument(f"--{name}", type=lambda text: Path(text).resolve(), nargs="+", required=True)
    words.add_parser("uninstall")
    args = parser.parse_args()
    if args.word == "install":
        install(args)
    else:
        uninstall()


if __name__ == "__main__":
    main()
