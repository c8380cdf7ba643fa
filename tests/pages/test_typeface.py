"""What is read of a font file is what fontTools reads in it."""

from __future__ import annotations

import pytest
from fontTools.ttLib import TTFont

from annotator.pages import fonts
from annotator.pages.typeface import Typeface

FACES = [fonts.Face(family, bold, italic) for family in (fonts.SERIF, fonts.SANS) for bold in (False, True) for italic in (False, True)]


@pytest.mark.parametrize("face", FACES, ids=lambda face: f"{face.family}{'-bold' * face.bold}{'-italic' * face.italic}")
def test_glyphs_advances_and_ink_of_the_first_characters(face: fonts.Face) -> None:
    ours, theirs = Typeface(fonts.file_of(face)), TTFont(fonts.file_of(face))
    names, numbers, metrics, outlines = theirs.getBestCmap(), theirs.getReverseGlyphMap(), theirs["hmtx"], theirs["glyf"]
    em = theirs["head"].unitsPerEm
    for code in (*range(0x20, 0x590), *range(0x2000, 0x2800), 0x1D12A, 0x1F600):
        character = chr(code)
        assert ours.glyph(character) == (numbers[names[code]] if code in names else 0), hex(code)
        if code in names:
            glyph = outlines[names[code]]
            drawn = bool(glyph.numberOfContours)
            box = (glyph.xMin / em, -glyph.yMax / em, glyph.xMax / em, -glyph.yMin / em) if drawn else None
            assert (ours.advance(character), ours.ink(character)) == (metrics[names[code]][0] / em, box), hex(code)
