"""Which bars are too short for the words on them is told from the strip as it is told from the drawn page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from marked_pages import corpus, prepared
from scores_at_hand import keyboard_corpus, local_scores

from annotator.marks.style import load_style
from annotator.pages import engraving
from annotator.pages.boxes import Box
from annotator.pages.finishing import Job, Laid, lay
from annotator.pages.mei import Stretch
from annotator.pages.systems import Strip, foreseen

HEADS = {number: Box(x, 0.0, x + 10.0, 10.0) for number, x in ((1, 200.0), (2, 300.0), (3, 450.0), (4, 550.0))}
STRIP = Strip(HEADS, {1: 0, 2: 0, 3: 1, 4: 1}, (100.0, 400.0, 600.0), 50.0)
"""Two bars: the first has the clef (50 wide) and 250 of music, the second 200."""


def _lefts(first_bars: tuple[int, ...], width: float, *known: Stretch) -> list[dict[int, float]]:
    return [{number: box.left for number, box in system.heads.items()} for system in foreseen(STRIP, first_bars, width, known)]


def test_one_system_is_made_as_wide_as_the_page() -> None:
    assert _lefts((), 590.0) == [{1: 110.0, 2: 230.0, 3: 410.0, 4: 530.0}]
    (system,) = foreseen(STRIP, (), 590.0, ())
    assert (system.right, system.heads[1].right - system.heads[1].left) == (590.0, 10.0)


def test_a_short_last_system_stays_as_it_is_behind_its_clef() -> None:
    assert _lefts((1,), 550.0) == [{1: 150.0, 2: 350.0}, {3: 100.0, 4: 200.0}]


def test_a_stretch_made_wider_moves_what_is_in_it_apart_and_what_follows_on() -> None:
    assert _lefts((), 600.0, Stretch(1, 2, 1, "above", 200.0, 0.0)) == [{1: 100.0, 2: 300.0, 3: 450.0, 4: 550.0}]
    assert _lefts((), 700.0, Stretch(3, 0, 1, "above", 350.0, 0.0)) == [{1: 100.0, 2: 200.0, 3: 350.0, 4: pytest.approx(583.333, abs=0.01)}]
    assert _lefts((), 500.0, Stretch(1, 2, 1, "above", 80.0, 0.0)) == _lefts((), 500.0)


def _narrow(path: Path, style: str, monkeypatch: pytest.MonkeyPatch, blind: bool = False) -> list[int]:
    """Return how many brackets were too short in each drawing of a score, with foresight or without."""
    narrow: list[int] = []

    def counted(job: Job, drawn: list[Any], last_room: bool) -> Laid:
        """Lay brackets as ever, and count."""
        laid = lay(job, drawn, last_room)
        narrow.append(laid.narrow)
        return laid

    with monkeypatch.context() as changed:
        changed.setattr(engraving, "lay", counted)
        if blind:
            changed.setattr(engraving.Drawing, "foreseen", lambda *_: {})
        engraving.engrave(*prepared(path), load_style(style), "a4")
    return narrow


def test_what_is_too_short_is_foreseen(monkeypatch: pytest.MonkeyPatch) -> None:
    path = corpus("schumann_clara/polonaise_op1n1")
    assert _narrow(path, "default", monkeypatch, blind=True)[:2] == [1, 0]
    assert _narrow(path, "default", monkeypatch) == [0]


@pytest.mark.slow
@pytest.mark.parametrize("style", ["default", "large-print"])
def test_nearly_all_that_is_too_short_is_foreseen(style: str, monkeypatch: pytest.MonkeyPatch) -> None:
    first = [_narrow(path, style, monkeypatch)[0] for path in (*keyboard_corpus(), *local_scores())]
    assert sum(map(bool, first)) <= 0.03 * len(first), first
