"""Trills and tremolos: six strokes of two notes or chords in turn."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of, names

from annotator.figures.alternations import detect_tremolos, detect_trills, spell_out_alternation
from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.lines import Line
from annotator.settings import Options


def found(line: Line) -> list[Figure]:
    figures = [*detect_trills(line, Options()), *detect_tremolos(line, Options())]
    for figure in figures:
        assert spell_out_alternation(cover_up(figure, line.bars)) == written(figure)
    return figures


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("strokes", [6, 7, 24])
@pytest.mark.parametrize(
    ("kind", "one", "other"),
    [
        ("trill", "C4", "D4"),
        ("trill", "Eb4", "D4"),
        ("trill", "C4", "C#4"),
        ("tremolo", "C4", "E4"),
        ("tremolo", "F#3", "F#4"),
        ("tremolo", "C4/E4", "G4/C5"),
        ("tremolo", "C4/D4", "E4/F4"),
    ],
)
def test_the_two_sides_and_the_last_are_dark(kind: str, one: str, other: str, strokes: int, hand: str) -> None:
    sides = [one, other]
    line = line_of(" ".join(["A5", *(sides[i % 2] for i in range(strokes)), "B5"]), hand)
    (figure,) = found(line)
    assert (figure.kind, figure.times) == (kind, strokes)
    assert names(figure.anchors) == " ".join([one, other, sides[(strokes - 1) % 2]]).replace("/", " ")


def test_the_last_may_be_longer() -> None:
    (figure,) = found(line_of("C4 D4 C4 D4 C4 D4*4 E4"))
    assert figure.times == 6


def test_an_alternation_may_follow_another() -> None:
    first, second = found(line_of("C4 D4 C4 D4 C4 D4 E4 D4 E4 D4 E4"))
    assert (first.times, second.times) == (6, 6)


@pytest.mark.parametrize(
    "text",
    [
        "C4 D4 C4 D4 C4 E4",
        "C4 D4 C4 D4 C4",
        "C4 D4 C4 D4 C4 D#4 C4 D4",
        "C4 C4 C4 C4 C4 C4 C4",
        "C4 D4*2 C4 D4*2 C4 D4*2",
        "C4 D4 C4 r C4 D4 C4 D4",
        "C4 E4/G4 C4 E4/G4 C4 E4/G4",
        "C4 D4 C4 D4 C4*2 D4",
    ],
)
def test_near_misses_are_no_figure(text: str) -> None:
    assert found(line_of(text)) == []
