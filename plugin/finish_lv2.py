#!/usr/bin/env python3
"""Mends the turtle files that the framework writes into the LV2 bundle, and adds the presets.

    finish_lv2.py BUNDLE DESCRIPTION.json

DESCRIPTION is what seguente_describe prints. Every edit finds what it edits or stops the build with one line that says
what was not found: another version of the framework writes other files, and somebody has to look at them. Known:
JUCE 7.0.5 (Debian 12), 8.0.6 (Debian 13). Run twice, it does the same to the same files: it starts from the copies
that the framework wrote, which are told by the mark that finished files bear.
"""

import json
import re
import sys
from pathlib import Path

MARK = "# Mended by finish_lv2.py.\n"

# One block may bring a note-off for every key on every channel (16 x 128), and every parameter at once. An event of
# three bytes takes 24, a patch:Set of a float 72; 128 KiB leaves as much again for the notes themselves.
PORT_BYTES = 131072

# The trade's unit for each word in the table of parameters; a new word has to be given one, or None.
UNITS = {
    "": None,
    "%": "units:pc",
    "octaves": "units:oct",
    "semitones": "units:semitone12TET",
    "quarters a minute": "units:bpm",
}

# What the framework calls a plugin in dsp.ttl, and what we do; what each says of itself.
KINDS = {"lv2:Plugin": "lv2:MIDIPlugin", "lv2:InstrumentPlugin": "lv2:InstrumentPlugin"}
DESCRIPTIONS = {
    "lv2:MIDIPlugin":
        "Hears the chords that one hand holds and plays them as an accompaniment, while the melody passes.",
    "lv2:InstrumentPlugin":
        "Hears the chords that one hand holds and plays them as an accompaniment to the melody, with a sound of its own.",
}
LICENSE = "http://spdx.org/licenses/GPL-3.0-or-later"


def stop(what):
    sys.exit(f"finish_lv2.py: {what}: the turtle files are not as this script knows them (JUCE 7.0.5 and 8.0.6)")


def once(text, old, new, what):
    """Replaces what stands exactly once."""
    if text.count(old) != 1:
        stop(f"{what} found {text.count(old)} times instead of once")
    return text.replace(old, new)


def literal(text):
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def number(value):
    return repr(int(value)) if value == int(value) else repr(round(value, 6))


ALPHABET = ".ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+"


def framework_base64(data):
    """MemoryBlock::toBase64Encoding: the length, a point, then six bits a letter from the lowest bit up."""
    bits = int.from_bytes(data, "little")
    letters = (len(data) * 8 + 5) // 6
    return f"{len(data)}." + "".join(ALPHABET[bits >> (6 * i) & 63] for i in range(letters))


def mended_parameter(block, row):
    """One `plug:… a lv2:Parameter` block: scale points at their values, unit, what it is for."""
    low, high = row["low"], row["high"]
    for key, value in (("minimum", low), ("maximum", high), ("default", row["standard"])):
        found = re.search(rf"\tlv2:{key} ([-+.\deE]+)", block)
        if not found or abs(float(found[1]) - value) > 1e-4 * max(1, abs(value)):
            stop(f"lv2:{key} {value} of {row['id']} not found")
    points = re.findall(r"\t\trdf:value ([-+.\deE]+) ;\n", block)
    if points:
        steps = len(points) - 1
        if abs(low + steps * row["step"] - high) > 1e-4:
            stop(f"a scale point for every step of {row['id']} not found")
        right = [low + i * row["step"] for i in range(steps + 1)]
        written = [float(v) for v in points]
        as_fraction = all(abs(w - i / steps) < 1e-4 for i, w in enumerate(written))
        if not as_fraction and any(abs(w - r) > 1e-3 for w, r in zip(written, right)):
            stop(f"scale points of {row['id']} from 0 to 1, or at their values, not found")
        values = iter(right)
        block = re.sub(r"(\t\trdf:value )[-+.\deE]+( ;\n)", lambda m: m[1] + number(next(values)) + m[2], block)
    if row["unit"] not in UNITS:
        sys.exit(f"finish_lv2.py: give the unit \"{row['unit']}\" of {row['id']} its LV2 unit in UNITS")
    unit = "units:midiNote" if row["kind"] == "key" else UNITS[row["unit"]]
    extra = f"\trdfs:comment {literal(row['about'])} ;\n"
    if unit:
        extra += f"\tunits:unit {unit} ;\n"
    if row["kind"] == "number" and row["step"] == 1:
        extra += "\tlv2:portProperty lv2:integer ;\n"
    return once(block, "\trdfs:range atom:Float ;\n", "\trdfs:range atom:Float ;\n" + extra, f"range of {row['id']}")


def mended_dsp(text, uri, description):
    """The kind of plugin, and the file."""
    rows = {row["id"]: row for row in description["parameters"]}
    blocks = re.split(r"(?m)^(?=plug:|<)", text)
    seen = []
    for i, block in enumerate(blocks):
        head = re.match(r"plug:([\w-]+)\n\ta lv2:Parameter ;\n", block)
        if head:
            if head[1] not in rows:
                stop(f"parameter {head[1]}, which is not in the table,")
            seen.append(head[1])
            blocks[i] = mended_parameter(block, rows[head[1]])
    if seen != list(rows):
        stop(f"parameters {sorted(set(rows) - set(seen))} in the table's order not found")
    text = "".join(blocks)

    # It is a MIDI effect, or an instrument, and what a lv2:Plugin says of itself by doap is said of a doap:Project.
    found = re.findall(r"(?m)^\ta (lv2:Plugin|lv2:InstrumentPlugin) ;\n", text)
    if len(found) != 1:
        stop("the class")
    kind = KINDS[found[0]]
    text = once(text, f"\ta {found[0]} ;\n", f"\ta lv2:Plugin , {kind} , doap:Project ;\n", "the class")
    told = DESCRIPTIONS[kind]
    text, n = re.subn(r"\tdoap:description \"[^\"]*\" ;\n",
                      f"\tdoap:shortdesc {literal(told)} ;\n\tdoap:description {literal(told)} ;\n"
                      f"\tdoap:license <{LICENSE}> ;\n", text)
    if n != 1:
        stop("doap:description not found once")
    # A host may set a state while the plugin runs: it takes one from any thread.
    text = once(text, "\tlv2:optionalFeature\n\t\tlv2:hardRTCapable ;\n",
                "\tlv2:optionalFeature\n\t\tlv2:hardRTCapable ,\n\t\tstate:threadSafeRestore ;\n", "lv2:hardRTCapable")
    text, n = re.subn(r"\t\trsz:minimumSize \d+ ;\n", f"\t\trsz:minimumSize {PORT_BYTES} ;\n", text)
    if n != 2:
        stop("the minimum sizes of two ports not found")
    # What the framework keeps its state under is not declared anywhere.
    return kind, text + (f"\n<{uri}:StateString>\n\ta rdf:Property , owl:DatatypeProperty ;\n"
                   "\trdfs:label \"state\" ;\n"
                   "\trdfs:comment \"A session of Seguente as text, in the framework's own letters.\" ;\n"
                   "\trdfs:domain state:State ;\n\trdfs:range xsd:string .\n")


def preset_uri(uri, preset):
    return f"{uri}:preset:{preset['id']}"


def mended_manifest(text, uri, description, kind):
    text = once(text, "\ta lv2:Plugin ;\n", f"\ta lv2:Plugin , {kind} ;\n", "the class in manifest.ttl")
    # The framework makes an empty preset of the one program that every plugin must have.
    text, n = re.subn(rf"<{re.escape(uri)}:preset1>\n\ta pset:Preset ;\n(\t.*\n)*?\tstate:state \[.*\] \.\n\n?", "", text)
    if n != 1 or "pset:Preset" in text:
        stop("the one empty preset in manifest.ttl not found")
    for preset in description["presets"]:
        text = text.rstrip("\n") + (f"\n\n<{preset_uri(uri, preset)}>\n\ta pset:Preset ;\n\tlv2:appliesTo <{uri}> ;\n"
                                    f"\trdfs:label {literal(preset['title'])} ;\n\trdfs:seeAlso <presets.ttl> .\n")
    return text


def presets_file(uri, description):
    text = ("@prefix lv2:   <http://lv2plug.in/ns/lv2core#> .\n"
            "@prefix pset:  <http://lv2plug.in/ns/ext/presets#> .\n"
            "@prefix rdfs:  <http://www.w3.org/2000/01/rdf-schema#> .\n"
            "@prefix state: <http://lv2plug.in/ns/ext/state#> .\n")
    for preset in description["presets"]:
        state = framework_base64(preset["state"].encode())
        text += (f"\n<{preset_uri(uri, preset)}>\n\ta pset:Preset ;\n\tlv2:appliesTo <{uri}> ;\n"
                 f"\trdfs:label {literal(preset['title'])} ;\n\trdfs:comment {literal(preset['about'])} ;\n"
                 f"\tstate:state [\n\t\t<{uri}:StateString> \"{state}\"\n\t] .\n")
    return text


def mended_ui(text):
    # Features, not extension data; and an interface, not a feature.
    text = once(text, "\t\tui:noUserResize ,\n", "", "ui:noUserResize in the extension data of ui.ttl")
    return once(text, "\t\topts:interface ,\n\t\topts:options ;\n", "\t\topts:options ;\n",
                "opts:interface among the features of ui.ttl")


def main():
    bundle = Path(sys.argv[1])
    description = json.loads(Path(sys.argv[2]).read_text(encoding="utf-8"))
    kept_folder = Path(sys.argv[2]).parent  # not beside the bundle: LV2 hosts look into every entry there
    texts = {}
    for name in ("manifest.ttl", "dsp.ttl", "ui.ttl"):
        path = bundle / name
        if not path.exists():
            stop(f"{name} not found")
        texts[name] = path.read_text(encoding="utf-8")
        kept = kept_folder / f"{bundle.stem}.{name}.as-written"
        if texts[name].startswith(MARK):
            texts[name] = kept.read_text(encoding="utf-8")
        else:
            kept.write_text(texts[name], encoding="utf-8")
    found = re.search(r"(?m)^<([^>]+)>\n\ta lv2:Plugin ;\n", texts["manifest.ttl"])
    if not found:
        stop("the plugin in manifest.ttl not found")
    uri = found[1]
    if "@prefix xsd:" not in texts["dsp.ttl"] or "@prefix owl:" in texts["dsp.ttl"]:
        stop("the prefixes of dsp.ttl not found")
    owl = "@prefix owl:   <http://www.w3.org/2002/07/owl#> .\n"
    kind, dsp = mended_dsp(texts["dsp.ttl"], uri, description)
    made = {
        "manifest.ttl": mended_manifest(texts["manifest.ttl"], uri, description, kind),
        "dsp.ttl": owl + dsp,
        "ui.ttl": mended_ui(texts["ui.ttl"]),
        "presets.ttl": presets_file(uri, description),
    }
    for name, text in made.items():
        (bundle / name).write_text(MARK + text, encoding="utf-8")


if __name__ == "__main__":
    main()
