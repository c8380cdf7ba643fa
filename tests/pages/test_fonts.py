"""The widths are those of the files the PDF uses, and every sign of a label is there."""

from __future__ import annotations

import subprocess
import sys

import pytest

from annotator.pages import fonts

SIGNS = "♯♭♮°ø→×△–"
LABELS = ("C major arpeggio, 1st inversion, E→C", "B♭ run F→C", "Cø7/E♭", "trill C–D ×8")


def test_advances_are_those_printed_in_the_fonts_metrics() -> None:
    # Times metrics (Adobe Core 14 font metrics, Times-Roman.afm, from memory): A 722, a 444, space 250,
    # digits 500 of 1000.
    assert fonts.text_width("A", 1000) == pytest.approx(722)
    assert fonts.text_width("a a1", 1000) == pytest.approx(444 + 250 + 444 + 500)


def test_width_grows_with_size_and_adds_up() -> None:
    for text in LABELS:
        width = fonts.text_width(text, 270)
        assert width > 0
        assert fonts.text_width(text, 540) == pytest.approx(2 * width)
        assert sum(fonts.text_width(each, 270) for each in text) == pytest.approx(width)
        assert fonts.text_width(text, 270, family=fonts.SANS) > width


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("italic", [False, True])
@pytest.mark.parametrize("family", [fonts.SERIF, fonts.SANS])
def test_every_sign_of_a_label_has_a_face(bold: bool, italic: bool, family: str) -> None:
    pieces = fonts.runs(SIGNS, bold, italic, family)
    assert "".join(piece.text for piece in pieces) == SIGNS
    assert all(piece.face is not None for piece in pieces)


def test_italic_without_a_sharp_borrows_the_upright_one() -> None:
    pieces = fonts.runs("F♯", italic=True)
    assert [(piece.text, piece.face and piece.face.italic) for piece in pieces] == [("F", True), ("♯", False)]


def test_a_character_no_face_has_keeps_some_room() -> None:
    assert fonts.runs("𝄪")[0].face is None
    assert fonts.text_width("琴", 100) == pytest.approx(100)
    assert fonts.text_width("𝄪", 100) == pytest.approx(60)


def test_box_counts_a_descender_only_where_there_is_one() -> None:
    flat, deep = fonts.text_box("CEH", 1000), fonts.text_box("Cgy", 1000)
    assert flat[3] < 30 < 200 < deep[3]
    assert -730 < flat[1] < -600
    assert fonts.text_box("  ", 1000) == (0, 0, 0, 0)


def test_box_lies_about_within_the_advance() -> None:
    for text in LABELS:
        left, _, right, _ = fonts.text_box(text, 270)
        assert -20 < left < right < fonts.text_width(text, 270) + 20


@pytest.mark.parametrize(
    ("asked", "given"),
    [("Times, serif", fonts.SERIF), ("'DejaVu Sans', sans-serif", fonts.SANS), ("Leipzig", fonts.FAMILY)],
)
def test_families_of_a_page_resolve(asked: str, given: str) -> None:
    assert fonts.resolve(asked) == given


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="fontconfig is asked on Linux only")
def test_cairo_agrees_about_the_width() -> None:
    code = """
import cairocffi
from annotator.pages import fonts
assert fonts.register()
context = cairocffi.Context(cairocffi.PDFSurface(None, 100, 100))
for name in (fonts.SERIF, fonts.SANS):
    for bold in (False, True):
        context.select_font_face(name, cairocffi.FONT_SLANT_NORMAL, cairocffi.FONT_WEIGHT_BOLD if bold else 0)
        context.set_font_size(1000)
        for text in ("C major arpeggio, 1st inversion", "B♭ run F→C"):
            seen = context.text_extents(text)[4]
            said = fonts.text_width(text, 1000, bold=bold, family=name)
            assert abs(seen - said) < 2 * len(text), (name, bold, text, seen, said)
"""
    subprocess.run([sys.executable, "-c", code], check=True)
