"""Path data, transforms, style rules and colours read as SVG and CSS say."""

from __future__ import annotations

import pytest
from lxml import etree

from annotator.pages import fonts
from annotator.pages.svg import Stylesheet, UnknownDrawing, colour, declarations, inherit, matrices, outline, paint_of


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
    assert outline("M0 0C0 1 2 3 4 4S6 5 8 4")[-1] == ("C", 6.0, 5.0, 6.0, 5.0, 8.0, 4.0)
    assert outline("M4 4S6 5 8 4")[-1] == ("C", 4.0, 4.0, 6.0, 5.0, 8.0, 4.0)


@pytest.mark.parametrize("data", ["M0 0A1 1 0 0 1 2 2", "M0 0 L1", "L5 5", "M0 0 Q6 12 12 0", "M"])
def test_other_path_data_is_unknown_not_guessed(data: str) -> None:
    with pytest.raises(UnknownDrawing):
        outline(data)


def test_transforms() -> None:
    assert matrices("translate(3, 4) scale(2,-1)") == ((1, 0, 0, 1, 3, 4), (2, 0, 0, -1, 0, 0))
    assert matrices("scale(2)") == ((2, 0, 0, 2, 0, 0),)
    assert matrices("rotate(90)")[0] == pytest.approx((0, 1, -1, 0, 0, 0))
    for wrong in ("skewX(3)", "translate(a)", "rotate(1 2)"):
        with pytest.raises(UnknownDrawing):
            matrices(wrong)


RULES = """
@font-face { font-family: 'X'; src: url(data:x;y,{) }
#root g.tempo, #root g.reh {font-weight:bold;} /* note */ #root path {stroke:currentColor}
.figure {color:#111111} .figure.run {color:#222222} g {margin: 3px}
"""


def _own(text: str) -> dict[str, str]:
    element = etree.fromstring(text)
    return Stylesheet(RULES.replace(",{)", ",)"), "root").own(element, element.tag)


def test_rules_beat_attributes_and_the_more_special_rule_wins() -> None:
    assert _own('<g class="tempo"/>') == {"font-weight": "bold"}
    assert _own('<path stroke="#123456"/>') == {"stroke": "currentColor"}
    assert _own('<path style="stroke: none"/>') == {"stroke": "none"}
    assert _own('<g class="run figure"/>')["color"] == "#222222"
    assert _own('<rect fill="red" width="3"/>') == {"fill": "red"}


def test_a_rule_too_deep_is_unknown() -> None:
    with pytest.raises(UnknownDrawing):
        Stylesheet("g.a g.b {fill: red}", "root")
    with pytest.raises(UnknownDrawing):
        Stylesheet("#one {fill: red}", "root")


def test_only_inherited_properties_are_handed_down() -> None:
    assert inherit({"fill": "red"}, {"display": "none", "color": "blue"}) == {"fill": "red", "color": "blue"}
    assert inherit({"fill": "red"}, {"fill": "inherit"}) == {"fill": "red"}
    assert declarations("fill : red ; width: 3; stroke:blue!important") == {"fill": "red", "stroke": "blue"}


def test_colours() -> None:
    assert colour("#F00") == colour("#FF0000") == (1, 0, 0)
    assert colour("none") is None
    assert colour("url(#gradient)") == (0, 0, 0)
    assert paint_of({"stroke": "currentColor", "color": "#00F"}, "stroke", "none") == (0, 0, 1, 1)


def test_a_quarter_note_has_its_outline_and_advance() -> None:
    # U+E1D5 is "metNoteQuarterUp"'s neighbour in SMuFL 1.4: noteQuarterUp, a black head with a stem of about 3.5 spaces.
    note = fonts.glyph(chr(0xE1D5))
    heights = [step[-1] for step in note.outline if len(step) > 1]
    assert 0.2 < note.advance < 0.5
    assert 700 < max(heights) - min(heights) < 1100
    assert fonts.glyph(chr(0xF8FF)) == fonts.Glyph((), 0.0)
