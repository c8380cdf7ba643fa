"""The typefaces a page carries with it: only the characters it uses, as ``@font-face`` rules with the fonts in them.

Conventions: every text falls into the same pieces of one face each as in the PDF (``fonts.runs``), so a browser and the PDF show the same
letters. Music characters in text (the note of a metronome mark) get a small font of their own, made from the engraver's outlines.

Rule: a family takes its characters from several files, told apart by ``unicode-range``. Nothing in the fonts depends on the day.
Source: CSS Fonts Level 4 (W3C); the WOFF file format 1.0 (W3C).
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from annotator.pages import fonts
from annotator.pages.fonts import Face

MUSIC = "Leipzig"
"""The family that the engraver names for music characters in text."""

_MOMENT = 3_600_000_000
"""When the fonts say they were made, in seconds since 1904: a fixed moment, so that the same page has the same bytes."""


@dataclass(frozen=True, slots=True)
class Lettering:
    """Some text as it stands on a page; ``bold`` and ``italic`` are its style."""

    text: str
    bold: bool = False
    italic: bool = False
    family: str = fonts.FAMILY


def faces(texts: Iterable[Lettering]) -> str:
    """Return the ``@font-face`` rules for some texts, music characters among them."""
    wanted: dict[tuple[Face, Face], set[str]] = {}
    music: set[str] = set()
    for each in texts:
        own = Face(fonts.resolve(each.family), each.bold, each.italic)
        music.update(filter(fonts.is_music, each.text))
        for run in fonts.runs(each.text, each.bold, each.italic, each.family):
            if run.face is not None:
                wanted.setdefault((own, run.face), set()).update(run.text)
    ordered = sorted(wanted, key=repr)
    rules = [_rule(own, "".join(sorted(wanted[own, source])), _subset(source, wanted[own, source])) for own, source in ordered]
    if music:
        rules.append(_rule(Face(MUSIC, False, False), "".join(sorted(music)), _music_font(sorted(music))))
    return "\n".join(rules)


def _rule(face: Face, characters: str, data: bytes) -> str:
    source = base64.b64encode(data).decode("ascii")
    ranges = ",".join(f"U+{ord(each):X}" for each in characters)
    weight, style = ("bold" if face.bold else "normal"), ("italic" if face.italic else "normal")
    return (
        f'@font-face{{font-family:"{face.family}";font-weight:{weight};font-style:{style};'
        f"src:url(data:font/woff;base64,{source}) format(\"woff\");unicode-range:{ranges}}}"
    )


def _subset(face: Face, characters: Iterable[str]) -> bytes:
    """Return a font file with these characters of a face only."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(BytesIO(fonts.file_of(face).read_bytes()), recalcTimestamp=False)
    options = Options(hinting=False, layout_features=[], name_IDs=[1, 2], notdef_outline=True, glyph_names=False, legacy_cmap=False)
    options.drop_tables += ["FFTM", "BASE", "MATH", "GDEF", "GPOS", "GSUB"]
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=[ord(each) for each in characters])
    subsetter.subset(font)
    return _woff(font)


def _music_font(characters: list[str]) -> bytes:
    """Return a font of music characters, drawn from the engraver's outlines."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.t2CharStringPen import T2CharStringPen
    from fontTools.svgLib.path import parse_path

    drawn = {f"uni{ord(each):04X}": fonts.glyph(each) for each in characters}
    builder = FontBuilder(round(fonts.EM), isTTF=False)
    builder.setupGlyphOrder([".notdef", *drawn])
    builder.setupCharacterMap({ord(each): f"uni{ord(each):04X}" for each in characters})
    strings = {".notdef": T2CharStringPen(0, None).getCharString()}
    widths = {".notdef": 0}
    for name, glyph in drawn.items():
        widths[name] = round(glyph.advance * fonts.EM)
        pen = T2CharStringPen(widths[name], None)
        parse_path(" ".join(kind + " ".join(map(str, values)) for kind, *values in glyph.outline), pen)
        strings[name] = pen.getCharString()
    builder.setupCFF(MUSIC, {"FullName": MUSIC}, strings, {})
    builder.setupHorizontalMetrics({name: (width, 0) for name, width in widths.items()})
    builder.setupHorizontalHeader(ascent=round(fonts.EM), descent=-round(fonts.EM / 2))
    builder.setupNameTable({"familyName": MUSIC, "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=round(fonts.EM), sTypoDescender=-round(fonts.EM / 2), usWinAscent=1000, usWinDescent=500)
    builder.setupPost()
    builder.updateHead(created=_MOMENT, modified=_MOMENT)
    builder.font.recalcTimestamp = False
    return _woff(builder.font)


def _woff(font: Any) -> bytes:
    font.flavor = "woff"
    target = BytesIO()
    font.save(target, reorderTables=True)
    return target.getvalue()
