"""Reads drawing.pdf and inspection.pdf with pypdf and holds their sizes and numbers against summary.json."""

import json
import math
import pathlib
import re
import sys

from pypdf import PdfReader

folder = pathlib.Path(sys.argv[1])
summary = json.loads((folder / "summary.json").read_text())
spring = summary["spring"]


def page(name, size):
    reader = PdfReader(folder / name, strict=True)
    assert len(reader.pages) == 1, f"{name}: {len(reader.pages)} pages, expected 1"
    box = reader.pages[0].mediabox
    found = [float(box.width) * 25.4 / 72, float(box.height) * 25.4 / 72]
    assert all(abs(a - b) < 0.1 for a, b in zip(found, size)), f"{name}: {found} mm, expected {size}"
    for font in reader.pages[0]["/Resources"]["/Font"].values():
        descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert "/FontFile2" in descriptor, f"{name}: font not embedded"
    return reader.pages[0].extract_text()


drawing = page("drawing.pdf", [420, 297])  # ISO 216: A3
inspection = page("inspection.pdf", [210, 297])  # ISO 216: A4
outside = spring["disc"]["outer_diameter"]
height = spring["former"]["free_height"] + spring["sheet"]["thickness"]
solid = math.ceil(summary["flat"]["solid_height_mm"] * 100 - 1e-9) / 100
assert f"{solid:.2f} max." in drawing, f"drawing.pdf: solid height {solid} is not there"
assert spring["sheet"]["material"] in drawing, "drawing.pdf: material is not there"
sizes = [float(value) for value in re.findall(r"(\d+\.\d+) ± ", drawing)]
assert any(abs(value - height) < 0.006 for value in sizes), f"drawing.pdf: free height {height} is not there"
assert any(abs(value - outside) < 0.006 for value in sizes), f"drawing.pdf: outside {outside} is not there"
limits = [float(value) for value in re.findall(r"\d+\.\d{3}", inspection)]
assert any(abs(value - solid) < 1e-9 for value in limits), "inspection.pdf: solid height is not there"
for heading in ["Blank, flat", "Section, free", "Section, closed", "Spring data", "Notes", "Revision"]:
    assert heading in drawing, f"drawing.pdf: {heading!r} is not there"
assert "?" not in drawing + inspection, "a letter that the font does not hold"
print("sheets: pages, fonts and numbers as they should be")
