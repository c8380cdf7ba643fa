"""Path data, transforms, looks, texts and colours read as SVG and CSS say."""

from __future__ import annotations

import pytest
from lxml import etree

from annotator.pages import fonts
from annotator.pages.svg import UnknownDrawing, chunks_of, colour, look_of, outline, transform_of


@pytest.mark.parametrize(
    ("relative", "absolute"),
    [
        ("m1 2 l3 4 h5 v-1 z", "M1 2 L4 6 H9 V5 Z"),
        ("M0 0c1 1 2 2 3 3s1 1 2 2", "M0,0 C1,1,2,2,3,3 S4,4,5,5"),
        ("m1 1 2 2 2 2", "M1 1 L3 3 L5 5"),
        ("M.5.5l-1-1e1", "M0.5 0.5 L-0.5 -9.5"),
    ],
)
def test_relative_and_absolute_commands_agree(relative: str, absolute: str) -> None:
    assert outline(relative) == outline(absolute)
    assert len(outline(relative)) > 1


def test_smooth_curves_mirror_the_control_point_before() -> None:
    assert outline("M0 0C0 1 2 3 4 4S6 5 8 4")[2] == ("curveTo", 6.0, 5.0, 6.0, 5.0, 8.0, 4.0)
    assert outline("M4 4S6 5 8 4")[1] == ("curveTo", 4.0, 4.0, 6.0, 5.0, 8.0, 4.0)


@pytest.mark.parametrize("data", ["M0 0 L1", "M"])
def test_path_data_cut_short_is_unknown_not_guessed(data: str) -> None:
    with pytest.raises(UnknownDrawing):
        outline(data)


@pytest.mark.parametrize(
    ("said", "matrix"),
    [
        ("translate(3, 4) scale(2,-1)", (2, 0, 0, -1, 3, 4)),
        ("scale(2)", (2, 0, 0, 2, 0, 0)),
        ("rotate(90)", (0, 1, -1, 0, 0, 0)),
        ("rotate(180 5,1)", (-1, 0, 0, -1, 10, 2)),
    ],
)
def test_transforms(said: str, matrix: tuple[float, ...]) -> None:
    assert tuple(transform_of(etree.Element("g", transform=said))) == pytest.approx(matrix)
    with pytest.raises(UnknownDrawing):
        transform_of(etree.Element("g", transform="skewX(3)"))


def test_what_an_element_looks_like_goes_down_to_those_in_it() -> None:
    assert look_of(etree.Element("g", {"class": "tempo", "fill": "#123456", "x": "1"}), {"fill": "none", "color": "#000000"}) == {
        "font-weight": "bold", "fill": "#123456", "color": "#000000",
    }


def test_blanks_are_one_across_the_pieces_of_a_text_and_a_place_begins_a_chunk() -> None:
    svg = "http://www.w3.org/2000/svg"
    text = etree.fromstring(
        f'<g xmlns="{svg}" class="dir"><text x="1" y="2" font-size="9px"> a  <tspan> b</tspan>c <tspan y="5">d </tspan> </text></g>'
    )[0]
    first, second = chunks_of(text)
    assert [piece.text for piece in first.pieces] == ["a ", "b", "c "]
    assert ((first.x, first.y), (second.x, second.y)) == ((1, 2), (1, 5))
    assert second.pieces[0].letters == ("d", 9, False, True, fonts.FAMILY)


def test_colours() -> None:
    assert colour("#FF0000") == (1, 0, 0)
    assert colour("none") is None
    assert colour("url(#gradient)") == (0, 0, 0)


def test_a_quarter_note_has_its_outline_and_advance() -> None:
    # U+E1D5 is "metNoteQuarterUp"'s neighbour in SMuFL 1.4: noteQuarterUp, a black head with a stem of about 3.5 spaces.
    note = fonts.glyph(chr(0xE1D5))
    heights = [step[-1] for step in outline(note.path) if len(step) > 1]
    assert 0.2 < note.advance < 0.5
    assert 700 < max(heights) - min(heights) < 1100
    assert fonts.glyph(chr(0xF8FF)) == fonts.Glyph("", 0.0)
