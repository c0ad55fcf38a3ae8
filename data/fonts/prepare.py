"""Makes DejaVuSans-pictures.ttf from DejaVuSans.ttf 2.37 (needs fonttools).

    python3 prepare.py DejaVuSans.ttf DejaVuSans-pictures.ttf

Keeps the letters pictures need and drops the rest. Each glyph gets a contour without area at x = 0: the drawing
library sets a glyph's ink flush with the pen and so would lose the space to its left.
"""

import sys

from fontTools import subset
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

RANGES = [
    (0x20, 0x7E), (0xA0, 0x17F),        # Latin
    (0x384, 0x3CE),                     # Greek
    (0x400, 0x45F),                     # Cyrillic
    (0x2010, 0x2026), (0x2030, 0x2033), # punctuation
    (0x2070, 0x208E), (0x2190, 0x2193), # superscripts, arrows
    (0x20AC, 0x20AC), (0x2205, 0x2205), (0x2212, 0x2212), (0x221A, 0x221E), (0x2248, 0x2248), (0x2260, 0x2265),
]

source, target = sys.argv[1:3]
font = TTFont(source, recalcTimestamp=False)
options = subset.Options(hinting=False, layout_features=[], notdef_outline=True, name_IDs=[0, 1, 2, 4, 5, 6, 13, 14])
options.drop_tables += ["GSUB", "GPOS", "GDEF", "FFTM", "DSIG", "MATH", "gasp"]
subsetter = subset.Subsetter(options)
subsetter.populate(unicodes=[code for first, last in RANGES for code in range(first, last + 1)])
subsetter.subset(font)

glyphs = font.getGlyphSet()
rebuilt = {}
for name in font.getGlyphOrder():
    recording = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(recording)
    pen = TTGlyphPen(None)
    recording.replay(pen)
    left = font["glyf"][name].xMin if recording.value else 0
    if left > 0:
        pen.moveTo((0, 0))
        pen.lineTo((0, 1))
        pen.lineTo((0, 0))
        pen.closePath()
    rebuilt[name] = pen.glyph()
for name, glyph in rebuilt.items():
    font["glyf"][name] = glyph
    glyph.recalcBounds(font["glyf"])
    font["hmtx"][name] = (font["hmtx"][name][0], getattr(glyph, "xMin", 0))
font.save(target)
