"""Pedal notes: one note between those of a line."""

from __future__ import annotations

from fractions import Fraction

import pytest
from figures.lines_from_text import names, texture_of

from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.figures.repetitions import detect_pedal_notes


def found(text: str) -> list[Figure]:
    texture = texture_of(text)
    figures = sorted(detect_pedal_notes(texture), key=lambda figure: -len(figure.struck))
    assert all(holds(figure, texture.bars) for figure in figures)
    return figures


@pytest.mark.parametrize("text", ["D#4 G4 D#4 A4 D#4 B4 D#4 C5", "G4 D#4 A4 D#4 B4 D#4 C5 D#4"])
def test_the_note_between_is_read_once(text: str) -> None:
    figure = found(text)[0]
    assert (names(figure.struck), names(figure.anchors)) == ("D#4 D#4 D#4 D#4", "D#4")


@pytest.mark.parametrize("text", ["C4 E4 C4 E4 C4 E4 C4 E4", "C4 E4 C4 G4", "C4 E4*2 C4 F4 C4*2 G4 C4"])
def test_two_notes_in_turn_few_strokes_and_uneven_ones_are_none(text: str) -> None:
    assert not found(text)


def test_it_begins_where_the_note_is_no_longer_repeated() -> None:
    assert names(found("C3 C4 C4 C4 C4 C4 E3 C4 B3 C4 F3 C4 G3 C4")[0].struck) == "C4 C4 C4 C4 C4"


def test_strokes_parted_by_rests_may_come_in_an_uneven_rhythm() -> None:
    (figure,) = detect_pedal_notes(texture_of("r F5 A4 r G5 A4 r E5 A4 r F5 A4", unit=Fraction(1, 3)))
    assert (names(figure.struck), figure.times) == ("A4 A4 A4 A4", 4)
    assert not list(detect_pedal_notes(texture_of("F5*2 A4 G5*2 A4 E5*2 A4 F5*2 A4")))
