"""Reads the files of a package as other programs would and computes its fit again.

    python3 tests/tools/check_package.py FOLDER CURVE.csv FLATSPIRE

CURVE.csv is the target (deflection in mm first, force in N second), FLATSPIRE the program.
"""

import csv
import json
import math
import re
import struct
import subprocess
import sys
import xml.etree.ElementTree as xml
import zlib
from pathlib import Path

import ezdxf

FINDINGS = []


def unless(sound, text):
    if not sound:
        FINDINGS.append(text)


def table(path):
    """Columns of a CSV file by name, as numbers."""
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.reader(line for line in file if not line.startswith("#")))
    return {name: [float(row[k]) for row in rows[1:]] for k, name in enumerate(rows[0])}


def check_fit(folder, target, summary):
    """The errors as the README defines them, from the tables alone."""
    curve = table(folder / "curve.csv")
    deflection, force = list(target.values())[:2]
    unless(curve["deflection_mm"] == deflection, "deflections differ from the target's")
    unless(curve["target_n"] == force, "target forces differ")
    largest = max(force)
    errors = [
        100.0 * (found - wanted) / max(wanted, 0.1 * largest) for found, wanted in zip(curve["force_n"], force)
    ]
    rms = math.sqrt(sum(e * e for e in errors) / len(errors))
    worst = max(map(abs, errors))
    fit = summary["fit"]
    # two more roundings and straight lines between the predicted points lie between the two
    unless(abs(rms - fit["rms_percent"]) < 0.02, f"rms {rms:.4f} %, said {fit['rms_percent']} %")
    unless(abs(worst - fit["max_percent"]) < 0.05, f"worst {worst:.4f} %, said {fit['max_percent']} %")
    unless(all(b > a for a, b in zip(curve["force_n"], curve["force_n"][1:])), "force does not rise")
    return rms


def check_prediction(folder, program):
    """The spring file alone gives the curve of the package, and the text of the table is the same."""
    run = subprocess.run(
        [program, "predict", str(folder / "spring.toml"), "--at", str(folder / "curve.csv")],
        capture_output=True,
        text=True,
        check=True,
    )
    rows = [row.split(",") for row in run.stdout.splitlines()]
    kept = [row.split(",") for row in (folder / "curve.csv").read_text().splitlines()]
    unless([row[1] for row in rows] == [row[2] for row in kept], "predict differs from curve.csv")


def check_png(path):
    """Signature, checksums of every chunk, and as many bytes of pixels as the header says."""
    data = path.read_bytes()
    unless(data[:8] == b"\x89PNG\r\n\x1a\n", "no PNG")
    at, pixels, header = 8, b"", None
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        (crc,) = struct.unpack(">I", data[at + 8 + length : at + 12 + length])
        unless(zlib.crc32(kind + body) == crc, f"checksum of {kind}")
        header = struct.unpack(">IIBBBBB", body) if kind == b"IHDR" else header
        pixels += body if kind == b"IDAT" else b""
        at += 12 + length
    width, height, depth, colour = header[:4]
    samples = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[colour]
    row = 1 + (width * depth * samples + 7) // 8
    raw = zlib.decompress(pixels)
    unless(len(raw) == row * height, f"{len(raw)} bytes of pixels, {row * height} expected")
    unless(len(set(raw)) > 8, "the picture is blank")


def check_drawing(folder, spring):
    drawing = ezdxf.readfile(folder / "outline_mm.dxf")
    audit = drawing.audit()
    unless(not audit.errors and not audit.fixes, f"audit: {audit.errors} {audit.fixes}")
    cut = [entity for entity in drawing.modelspace() if entity.dxf.layer not in ("notes", "tabs", "engraving")]
    outside = [entity.dxf.radius for entity in cut if entity.dxf.layer == "outside"]
    unless(outside == [spring["disc"]["outer_diameter"] / 2], f"outside {outside}")
    slots = [entity for entity in cut if entity.dxf.layer in ("slots", "cut_on_line")]
    unless(len(slots) == spring["disc"]["arms"], f"{len(slots)} slots")


def check_toml(folder, spring):
    """The two writings of the spring agree; older Pythons have no reader for TOML."""
    try:
        import tomllib
    except ImportError:
        return
    unless(tomllib.loads((folder / "spring.toml").read_text()) == spring, "spring.toml differs from summary.json")


def main():
    folder, target, program = Path(sys.argv[1]), table(sys.argv[2]), sys.argv[3]
    summary = json.loads((folder / "summary.json").read_text())
    rms = check_fit(folder, target, summary)
    check_prediction(folder, program)
    check_toml(folder, summary["spring"])
    check_drawing(folder, summary["spring"])
    check_png(folder / "curve.png")
    for name in ("curve.svg", "outline.svg"):
        xml.parse(folder / name)
    stations = table(folder / "stations.csv")
    heights = stations["free_height_mm"]
    unless(all(b >= a for a, b in zip(heights, heights[1:])), "heights fall from rim to hub")
    unless(min(stations["width_mm"]) > 0, "an arm without width")
    unless(not re.search(r"\d{4}-\d{2}-\d{2}|\d{2}:\d{2}:\d{2}", json.dumps(summary)), "a date in the summary")
    hidden = [p.name for p in folder.iterdir() if p.name.startswith(".")]
    unless(hidden == [".flatspire.json"], f"hidden files beside the manifest: {hidden}")
    for text in FINDINGS:
        print(f"{folder.name}: {text}")
    print(f"{folder.name}: fit {rms:.3f} % rms computed again, {len(FINDINGS)} findings")
    return 1 if FINDINGS else 0


sys.exit(main())
