"""The typefaces of the page: where they are, how wide a text is in them, how the PDF library finds them; and the engraver's music font.

Conventions
-----------
* Two families, ``serif`` and ``sans``. Sizes, widths and boxes are all in one unit, whichever the caller uses for ``size``.
* A box is (left, top, right, bottom) with y growing downwards and the baseline at 0, as in SVG.
* Not every face has every sign: the italic of the serif has no sharps, flats or arrows. A text is therefore cut in *runs*, each in the
  first face of a fixed chain that has its characters: the face asked for, its upright form, the sans of the same weight, the plain sans.
* Music characters are the private-use code points U+E000 to U+F8FF, as SMuFL numbers them. Their face is no file: those in a text (the
  note of a metronome mark) are drawn from the engraver's own outlines.

Source: the font files that matplotlib ships (music21, a dependency, requires it): STIXGeneral 1.1, with the widths of Times, and DejaVu
Sans 2.37. Advances and boxes are read from the files' own tables, without kerning, because the PDF is written without kerning too. The
music font is the one the engraver ships: ``data/Leipzig.xml`` (boxes and advances), ``data/Leipzig/XXXX.xml`` (outlines), 1000 units an em.

>>> text_width("C major run", 270) < text_width("C major run", 270, bold=True)
True
"""

from __future__ import annotations

import ctypes
import importlib.util
import os
import sys
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from io import BytesIO
from pathlib import Path

from lxml import etree

from annotator.errors import EngraverError

EM = 1000.0
"""Units of one em in the outlines of music characters."""

Box = tuple[float, float, float, float]

SERIF = "STIXGeneral"
SANS = "DejaVu Sans"
FAMILIES: dict[str, str] = {"serif": SERIF, "sans": SANS}
"""From the name a style uses to the family name a page uses."""

FAMILY = SERIF
"""The family of a page that asks for nothing else."""

MUSIC = "Leipzig"
"""The family that the engraver names for music characters in text."""

_FILES: dict[tuple[str, bool, bool], str] = {
    (SERIF, False, False): "STIXGeneral.ttf",
    (SERIF, True, False): "STIXGeneralBol.ttf",
    (SERIF, False, True): "STIXGeneralItalic.ttf",
    (SERIF, True, True): "STIXGeneralBolIta.ttf",
    (SANS, False, False): "DejaVuSans.ttf",
    (SANS, True, False): "DejaVuSans-Bold.ttf",
    (SANS, False, True): "DejaVuSans-Oblique.ttf",
    (SANS, True, True): "DejaVuSans-BoldOblique.ttf",
}

_WIDE_GUESS, _NARROW_GUESS = 1.0, 0.6
"""Advance, in em, of a character no face here has (wide: East Asian). A guess, good enough to keep room for a title."""


@dataclass(frozen=True, slots=True)
class Face:
    """One font file of a family."""

    family: str
    bold: bool
    italic: bool


MUSIC_FACE = Face(MUSIC, False, False)


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of text in one face; ``face`` is None where no face here has its characters."""

    face: Face | None
    text: str


@cache
def _package(name: str, missing: str) -> Path:
    """Return the folder of a package, found without importing it; ``missing`` is said where it is not installed."""
    spec = importlib.util.find_spec(name)
    if spec is None or spec.origin is None:
        raise EngraverError(f"{missing}: pip install {name}")
    return Path(spec.origin).parent


def folder() -> Path:
    """Return the folder of the font files."""
    place = _package("matplotlib", "the fonts are missing, which matplotlib ships") / "mpl-data" / "fonts" / "ttf"
    if not place.is_dir():
        raise EngraverError(f"the fonts are missing: no folder {place}; install matplotlib anew")
    return place


def file_of(face: Face) -> Path:
    """Return the font file of a face."""
    return folder() / _FILES[(face.family, face.bold, face.italic)]


@cache
def register() -> bool:
    """Make the faces known to the PDF library; call it before its first text, later it has no effect.

    True when the system took every file. Where that cannot be done (macOS, or no fontconfig) the PDF shows what the system has under the
    family's name; widths given here stay those of the files, and the painter stretches a text to its stated length. Linux is tested; the
    Windows call follows the documentation of ``AddFontResourceExW`` and is not.
    """
    paths = [folder() / name for name in _FILES.values()]
    if sys.platform == "win32":
        add = ctypes.windll.gdi32.AddFontResourceExW
        return all(bool(add(str(path), 0x10, None)) for path in paths)
    try:
        add = ctypes.CDLL("libfontconfig.so.1").FcConfigAppFontAddFile
    except OSError:
        return False
    return all(bool(add(None, os.fsencode(path))) for path in paths)


def resolve(family: str) -> str:
    """Return which of the two families stands for an SVG ``font-family`` list (``Times, serif``)."""
    for name in family.split(","):
        plain = name.strip(" '\"").lower()
        if plain in ("sans", "sans-serif", "dejavu sans", "helvetica", "arial"):
            return SANS
        if plain in ("serif", "stixgeneral", "times", "times new roman"):
            return SERIF
    return FAMILY


class _Typeface:
    """A font file: which characters it has, how far they move the pen, how far their ink reaches, in em."""

    def __init__(self, path: Path) -> None:
        from fontTools.ttLib import TTFont

        font = TTFont(BytesIO(path.read_bytes()), lazy=True)  # of bytes: a file would stay open
        self._em = font["head"].unitsPerEm
        self.names, self._metrics, self._outlines = font.getBestCmap(), font["hmtx"], font["glyf"]

    def advance(self, character: str) -> float:
        """Return how far a character moves on, in ems."""
        return float(self._metrics[self.names[ord(character)]][0] / self._em)

    def ink(self, character: str) -> Box | None:
        """Return left, top, right and bottom of a character's ink, None where it has none."""
        glyph = self._outlines[self.names[ord(character)]]
        if not glyph.numberOfContours:
            return None
        return glyph.xMin / self._em, -glyph.yMax / self._em, glyph.xMax / self._em, -glyph.yMin / self._em


@cache
def _typeface(face: Face) -> _Typeface:
    return _Typeface(file_of(face))


def _chain(face: Face) -> tuple[Face, ...]:
    upright = Face(face.family, face.bold, False)
    return tuple(dict.fromkeys((face, upright, Face(SANS, face.bold, False), Face(SANS, False, False))))


@lru_cache(maxsize=8192)
def _face_for(character: str, face: Face) -> Face | None:
    if is_music(character):
        return MUSIC_FACE
    return next((each for each in _chain(face) if ord(character) in _typeface(each).names), None)


@lru_cache(maxsize=4096)
def runs(text: str, bold: bool = False, italic: bool = False, family: str = FAMILY) -> tuple[Run, ...]:
    """Cut a text in pieces of one face each."""
    wanted = Face(resolve(family), bold, italic)
    pieces: list[Run] = []
    for character in text:
        face = _face_for(character, wanted)
        if pieces and pieces[-1].face == face:
            pieces[-1] = Run(face, pieces[-1].text + character)
        else:
            pieces.append(Run(face, character))
    return tuple(pieces)


def _advance(character: str, face: Face | None) -> float:
    if face is None:
        if unicodedata.combining(character):
            return 0.0
        return _WIDE_GUESS if unicodedata.east_asian_width(character) in "WF" else _NARROW_GUESS
    return glyph(character).advance if face == MUSIC_FACE else _typeface(face).advance(character)


def _ink(character: str, face: Face | None) -> Box | None:
    if face is None:
        return 0.0, -0.8, _advance(character, None), 0.2
    if face != MUSIC_FACE:
        return _typeface(face).ink(character)
    left, top, right, bottom = music_box(f"{ord(character):X}") or (0.0, 0.0, 0.0, 0.0)
    return left / EM, top / EM, right / EM, bottom / EM


@lru_cache(maxsize=16384)
def _ems(text: str, bold: bool, italic: bool, family: str) -> float:
    return sum(_advance(each, run.face) for run in runs(text, bold, italic, family) for each in run.text)


def text_width(text: str, size: float, bold: bool = False, italic: bool = False, family: str = FAMILY) -> float:
    """Return the advance of a text, in the unit of ``size``, spaces at its ends included."""
    return size * _ems(text, bold, italic, family)


def text_box(text: str, size: float, bold: bool = False, italic: bool = False, family: str = FAMILY) -> Box:
    """Return the box of a text's ink, its pen starting at (0, 0) on the baseline.

    Only what is there counts: (0, 0, 0, 0) for blank text, and no descender where no letter has one.
    """
    boxes: list[Box] = []
    pen = 0.0
    for run in runs(text, bold, italic, family):
        for character in run.text:
            if (box := _ink(character, run.face)) is not None:
                boxes.append((pen + box[0], box[1], pen + box[2], box[3]))
            pen += _advance(character, run.face)
    if not boxes:
        return 0.0, 0.0, 0.0, 0.0
    left, top, right, bottom = zip(*boxes, strict=True)
    return size * min(left), size * min(top), size * max(right), size * max(bottom)


@dataclass(frozen=True, slots=True)
class Glyph:
    """One music character: its outline as path data in units of ``EM`` with y growing upwards, and its advance in em."""

    path: str
    advance: float


def is_music(character: str) -> bool:
    """Tell whether a character is a music character.

    >>> is_music(chr(0xE1D5)), is_music("C")
    (True, False)
    """
    return 0xE000 <= ord(character) <= 0xF8FF


def _music_folder() -> Path:
    return _package("verovio", "the engraver is not installed") / "data"


@cache
def _music_table() -> dict[str, etree._Element]:
    """Return what the music font's table says of each character, by code point (``E0A4``)."""
    return {each.get("c", ""): each for each in etree.parse(str(_music_folder() / "Leipzig.xml")).getroot().iter("g")}


@cache
def music_box(code: str) -> Box | None:
    """Return left, top, right and bottom of a music character by code point, in units of ``EM``, y downwards; None if there is none."""
    told = _music_table().get(code)
    if told is None or not all(name in told.attrib for name in ("x", "y", "w", "h")):
        return None
    x, y, width, height = (float(told.get(name, "")) for name in ("x", "y", "w", "h"))
    return x, -(y + height), x + width, -y


@cache
def glyph(character: str) -> Glyph:
    """Return a music character's outline and advance, an empty one where the font has none."""
    code = f"{ord(character):04X}"
    file, told = _music_folder() / "Leipzig" / f"{code}.xml", _music_table().get(code)
    if told is None or not file.is_file():
        return Glyph("", 0.0)
    drawn = etree.parse(str(file)).getroot().iter("{*}path")
    return Glyph(" ".join(each.get("d", "") for each in drawn), float(told.get("h-a-x", "0")) / EM)
