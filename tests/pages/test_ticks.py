"""The ticks on a bracket, where copies begin: none is drawn through a word."""

from __future__ import annotations

import re

import pytest
from lxml import etree
from marked_pages import SVG, engraving
from scores_at_hand import LOCAL_SCORES, NO_LOCAL_SCORES

from annotator.marks.style import load_style
from annotator.pages.brackets import TICK, pen_of


@pytest.mark.parametrize("style", ["default", "large-print"])
def test_no_tick_stands_in_a_word(style: str) -> None:
    score = LOCAL_SCORES / "chopin-op25-12.musicxml"
    if not score.exists():
        pytest.skip(NO_LOCAL_SCORES)
    length = TICK * pen_of(load_style(style)).hook
    ticks, struck = 0, []
    for page in engraving(score, style).pages:
        for group in etree.fromstring(page.encode()).iter(SVG + "g"):
            if "figure" not in group.get("class", "").split():
                continue
            words = [_box(text) for text in group.iter(SVG + "text")]
            for path in group.iter(SVG + "path"):
                for x1, y1, x2, y2 in re.findall(r"M(-?\d+) (-?\d+) L(-?\d+) (-?\d+)", path.get("d")):
                    if x1 == x2 and abs(abs(int(y1) - int(y2)) - length) <= 1:
                        ticks += 1
                        struck += [x1 for left, top, right, bottom in words if left <= int(x1) <= right and top <= int(y1) <= bottom]
    assert ticks > 0
    assert struck == []


def _box(text: etree._Element) -> tuple[float, float, float, float]:
    """Return about the room that a word takes: left, top, right, bottom."""
    x, y, width, size = (float(text.get(name, "").removesuffix("px")) for name in ("x", "y", "textLength", "font-size"))
    return x, y - 0.6 * size, x + width, y
