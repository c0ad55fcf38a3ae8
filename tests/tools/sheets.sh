#!/usr/bin/env bash
# The drawing sheet and the inspection sheet read by another program (pypdf): page sizes of ISO 216 or ANSI, and the words
# that a shop looks for.
set -euo pipefail
python3 - "$PACKAGE" <<'PYTHON'
import sys
from pypdf import PdfReader

# width and height in millimetres: A4 to A1 (ISO 216), letter and tabloid (ANSI/ASME Y14.1)
SIZES = [(210, 297), (297, 420), (420, 594), (594, 841), (215.9, 279.4), (279.4, 431.8)]
WANTED = {
    "drawing.pdf": ["Blank, flat", "Section, free", "Section, closed", "Sheet thickness", "Free height", "Solid height",
                    "Rolling direction", "Before the test", "Caution"],
    "inspection.pdf": ["Inspection sheet", "Sheet thickness", "Slot width", "Force F1", "Measured by"],
}
for name, words in WANTED.items():
    reader = PdfReader(f"{sys.argv[1]}/{name}")
    assert len(reader.pages) == 1, f"{name}: {len(reader.pages)} pages"
    page = reader.pages[0]
    size = sorted(float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height))
    assert any(abs(size[0] - a) < 0.6 and abs(size[1] - b) < 0.6 for a, b in SIZES), f"{name}: {size} mm"
    text = page.extract_text()
    for word in words:
        assert word in text, f"{name}: {word!r} is not in its text"
    print(f"{name}: {size[0]:.0f} x {size[1]:.0f} mm, {len(text)} characters")
PYTHON
# the springs of the tests of the sheets: 5 to 200 mm, every process, both papers, both units
mkdir -p "$WORK"
for spring in tests/data/shop/*.toml; do
    # exit code 3: drawn, though a check of the spring fails
    "$FLATSPIRE" flat "$spring" --out "$WORK/$(basename "$spring" .toml)" --package > /dev/null 2>&1 || [ $? = 3 ]
done
python3 tests/tools/check_sheets.py "$PACKAGE" "$WORK"/*/
