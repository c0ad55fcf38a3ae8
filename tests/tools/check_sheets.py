"""Reads the drawing and inspection sheets of packages with pypdf: sizes, texts and numbers, against summary.json.

    python3 tests/tools/check_sheets.py FOLDER...

No text stands on another or outside its frame, views are at a standard scale, and every number is that of the package.
"""

import json
import math
import pathlib
import re
import sys

from pypdf import PdfReader
from pypdf.generic import ContentStream

MM = 25.4 / 72
# ISO 5455:1979, table 1
SCALES = {"50:1", "20:1", "10:1", "5:1", "2:1", "1:1", "1:2", "1:5", "1:10", "1:20", "1:50"}
# ISO 216; ASME Y14.1
PAPERS = {"a3": ([420, 297], [210, 297]), "tabloid": ([431.8, 279.4], [215.9, 279.4])}
# of the font's em: capitals of DejaVu Sans
CAPITAL = 0.73


def advance_widths(font):
    """Widths of glyphs (thousandths of an em) from the array of the PDF's own font."""
    widths, given = {}, font["/DescendantFonts"][0].get_object()["/W"]
    k = 0
    while k < len(given):
        if isinstance(given[k + 1], list):
            for i, width in enumerate(given[k + 1]):
                widths[int(given[k]) + i] = float(width)
            k += 2
        else:
            for glyph in range(int(given[k]), int(given[k + 1]) + 1):
                widths[glyph] = float(given[k + 2])
            k += 3
    return widths


def text_boxes(reader, page):
    """Left, right, lower, upper edge (mm) of every piece of text, and the piece."""
    fonts = {name: font.get_object() for name, font in page["/Resources"]["/Font"].items()}
    widths = {name: advance_widths(font) for name, font in fonts.items()}
    boxes, size, name, at = [], 0.0, "", [0.0, 0.0]
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        if operator == b"BT":
            at = [0.0, 0.0]
        elif operator == b"Tf":
            name, size = operands[0], float(operands[1])
        elif operator == b"Td":
            at = [at[0] + float(operands[0]), at[1] + float(operands[1])]
        elif operator == b"Tj":
            raw = operands[0].original_bytes
            glyphs = [raw[k] * 256 + raw[k + 1] for k in range(0, len(raw), 2)]
            width = sum(widths[name][glyph] for glyph in glyphs) / 1000 * size
            if glyphs:
                boxes.append((at[0] * MM, (at[0] + width) * MM, at[1] * MM, (at[1] + CAPITAL * size) * MM, glyphs))
        assert operator not in (b"cm", b"Tm", b"TJ"), f"{operator}: not expected by this check"
    return boxes


def page(folder, name, size, margins):
    reader = PdfReader(folder / name, strict=True)
    where = f"{folder.name}/{name}"
    assert len(reader.pages) == 1, f"{where}: {len(reader.pages)} pages, expected 1"
    sheet = reader.pages[0]
    box = sheet.mediabox
    found = [float(box.width) * MM, float(box.height) * MM]
    assert all(abs(a - b) < 0.1 for a, b in zip(found, size)), f"{where}: {found} mm, expected {size}"
    for font in sheet["/Resources"]["/Font"].values():
        descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert "/FontFile2" in descriptor, f"{where}: font not embedded"
    boxes = text_boxes(reader, sheet)
    assert len(boxes) > 40, f"{where}: {len(boxes)} texts"
    left, rest = margins
    for k, a in enumerate(boxes):
        inside = left <= a[0] and a[1] <= size[0] - rest and rest <= a[2] and a[3] <= size[1] - rest
        assert inside, f"{where}: a text outside the frame, {a[:4]}"
        for b in boxes[k + 1 :]:
            apart = a[1] <= b[0] or b[1] <= a[0] or a[3] <= b[2] or b[3] <= a[2]
            assert apart, f"{where}: a text at {a[:4]} on another at {b[:4]}"
    return sheet.extract_text()


def check(folder):
    summary = json.loads((folder / "summary.json").read_text())
    spring = summary["spring"]
    shop = spring.get("shop") or {}
    sizes = PAPERS[shop.get("paper", "a3")]
    unit = 25.4 if shop.get("units") == "in-lbf" else 1.0
    drawing = page(folder, "drawing.pdf", sizes[0], (20, 10))  # ISO 5457: frame
    inspection = page(folder, "inspection.pdf", sizes[1], (5, 5))
    outside = spring["disc"]["outer_diameter"]
    height = spring["former"]["free_height"] + spring["sheet"]["thickness"]
    places = 4 if unit > 1 else 2
    step = 10**places
    solid = math.ceil(summary["flat"]["solid_height_mm"] / unit * step - 1e-9) / step
    assert f"{solid:.{places}f} max." in drawing, f"{folder.name}: solid height {solid} is not in drawing.pdf"
    material = spring["sheet"].get("material")
    assert material is None or material in drawing, f"{folder.name}: material is not in drawing.pdf"
    toleranced = [float(value) * unit for value in re.findall(r"(\d+\.\d+) ± ", drawing)]
    for name, wanted in (("free height", height), ("outside", outside)):
        found = any(abs(value - wanted) < 0.006 for value in toleranced)
        assert found, f"{folder.name}: {name} {wanted} with its tolerance is not in drawing.pdf"
    limits = [float(value) for value in re.findall(r"\d+\.\d+", inspection)]
    assert any(abs(value - solid) < 1e-9 for value in limits), f"{folder.name}: solid height is not in inspection.pdf"
    for heading in ["Blank, flat", "Section, free", "Section, closed", "Spring data", "Notes", "Revision"]:
        assert heading in drawing, f"{folder.name}: {heading!r} is not in drawing.pdf"
    scales = re.findall(r"(?:flat|free|closed), (\d+:\d+)", drawing)
    assert len(scales) == 3 and set(scales) <= SCALES, f"{folder.name}: scales {scales}"
    assert "?" not in drawing + inspection, f"{folder.name}: a letter that the font does not hold"


folders = [pathlib.Path(name) for name in sys.argv[1:]]
assert folders, "name a package's folder"
for one in folders:
    check(one)
print(f"sheets of {len(folders)} packages: papers, fonts, texts apart, scales and numbers as they should be")
