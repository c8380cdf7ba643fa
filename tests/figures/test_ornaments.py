"""Turns and mordents. The order of a turn's notes is that of the MEI 5.0 guidelines: upper, main, lower, main."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of, names

from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Line
from annotator.figures.ornaments import (
    detect_mordents,
    detect_turns,
    spell_out_mordent,
    spell_out_turn,
)
from annotator.music.score import key_of, pitch_at

FORMS = {
    "upper-first": (1, 0, -1, 0),
    "lower-first": (-1, 0, 1, 0),
    "main-first-upper": (0, 1, 0, -1, 0),
    "main-first-lower": (0, -1, 0, 1, 0),
}


def turns(line: Line) -> list[Figure]:
    figures = list(detect_turns(line))
    for figure in figures:
        assert spell_out_turn(cover_up(figure, line.bars)) == written(figure)
    return figures


def mordents(line: Line) -> list[Figure]:
    figures = list(detect_mordents(line))
    for figure in figures:
        assert spell_out_mordent(cover_up(figure, line.bars)) == written(figure)
    return figures


def word(diatonic: int, fifths: int) -> str:
    pitch = pitch_at(diatonic, key_of(fifths).alters[diatonic % 7])
    return f"{pitch.step}{'#' * int(pitch.alter) if pitch.alter > 0 else 'b' * -int(pitch.alter)}{pitch.octave}"


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("fifths", [0, 3, -4])
@pytest.mark.parametrize("mains", [(32,), (28, 34, 30), (33, 33, 33, 33)])
@pytest.mark.parametrize("form", FORMS)
def test_only_the_main_notes_of_turns_are_dark(form: str, mains: tuple[int, ...], fifths: int, hand: str) -> None:
    text = " ".join(word(main + letters, fifths) for main in mains for letters in FORMS[form]) + "*3"
    found = [figure for figure in turns(line_of(text, hand, fifths=fifths)) if figure.form == form]
    figure = max(found, key=lambda figure: len(figure.struck))
    assert names(figure.anchors) == " ".join(word(main, fifths) for main in mains)
    assert len(figure.struck) == len(mains) * len(FORMS[form])
    assert figure.anchors[0] == figure.struck[FORMS[form].index(0)]


def test_a_raised_neighbour_is_odd_and_dark() -> None:
    (figure,) = turns(line_of("A4 G4 F#4 G4*2"))
    assert (names(figure.anchors), names(figure.odd)) == ("G4 F#4", "F#4")


def test_a_neighbour_raised_before_in_the_bar_follows() -> None:
    (figure,) = turns(line_of("F#4*4 A4 G4 F#4 G4*2"))
    assert figure.odd == ()


def test_the_last_note_and_the_main_note_before_a_turn_may_be_longer() -> None:
    assert [figure.form for figure in turns(line_of("A4 G4 F4 G4*3"))] == ["upper-first"]
    assert [figure.form for figure in turns(line_of("G4*4 A4 G4 F4 G4*3"))] == ["main-first-upper", "upper-first"][::-1]


@pytest.mark.parametrize(
    "text",
    [
        "A4 G4 F4 E4*2",
        "A4 G4 F4 G#4*2",
        "A4 G4 E4 G4*2",
        "B4 G4 F4 G4*2",
        "A4 G4*2 F4 G4*2",
        "A4 G4 r F4 G4*2",
        "A4 G4 F4 G4/B4*2",
        "Ab4 G4 F#4 G4*2",
        "A4 G4 F4 G4",  # no quicker than anything
        "E4 A4 G4 F4 G4 C5",
    ],
)
def test_near_misses_are_no_turn(text: str) -> None:
    assert turns(line_of(text)) == []


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("A4 G4 F4 G4*4 A4*4", [1]),  # goes on, but after the main note was held
        ("B4*4 A4 G4 F4 G4*4", [1]),  # comes from a longer note
        ("B4 A4 G4 F4 G4*4", []),  # a scale down to F that turns back
        ("G4*4 A4 G4 F4 G4 C5*4", [1]),
        ("G4*4 A4 G4 F4 G4 A4 B4 C5", [1]),  # out of a held note, and then a scale
        ("G4*4 A4 G4 F4 G4 A4*4", [1]),
        ("D5 A4 G4 F4 G4 G4*4", [1]),  # the main note once more, held
        ("D5 A4 G4 F4 G4 G4", []),
        ("C5 A4 G4 F4 G4 A4*4", []),
        ("C5 B4 A4 B4 E5 D5 C5 D5 E4*4", [2]),  # a chain, in equal notes
        ("D5 C5 B4 A4 B4 E5 D5 C5 D5 E5 F5", []),
        ("C5 B4 A4 B4 E5 D5 C5 D5 F5 E5 D5 E5 F5 G5", [2]),  # the last of three runs on
    ],
)
def test_a_scale_that_wavers_has_no_turn(text: str, found: list[int]) -> None:
    assert [figure.times for figure in turns(line_of(text)) if figure.form in ("upper-first", "main-first-upper")][:1] == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("C4 B3 C4 E4 D4 E4 G4*2", [2]),
        ("C4 B3 C4 E4 D4 E4 F4 G4", []),  # out of the second a scale goes on
        ("D4 C4 B3 C4 E4 D4 E4*2", []),
        ("D4*2 C4 B3 C4 E4 D4 E4*2", [2]),
    ],
)
def test_a_scale_that_wavers_has_no_mordents(text: str, found: list[int]) -> None:
    assert [figure.times for figure in mordents(line_of(text))] == found


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("fifths", [0, 4, -3])
@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("mains", [(28, 32), (28, 29, 30, 35), (33, 33)])
def test_only_the_main_notes_of_mordents_are_dark(mains: tuple[int, ...], side: int, fifths: int, hand: str) -> None:
    text = " ".join(f"{word(m, fifths)} {word(m + side, fifths)} {word(m, fifths)}*2" for m in mains)
    (figure,) = mordents(line_of(text, hand, fifths=fifths))
    assert names(figure.anchors) == " ".join(word(main, fifths) for main in mains)
    assert (figure.times, figure.direction) == (len(mains), "up" if side > 0 else None)


@pytest.mark.parametrize(
    "text",
    [
        "C4 B3 C4*2 D4*4",
        "C4 B3 C4*2 D4 E4 D4*2",
        "C4*2 B3*2 C4*2 D4*2 C4*2 D4*2",
        "C4 B3 C#4*2 D4 C4 D4*2",
        "C4 B3 C4*2 r D4 C4 D4*2",
        "C4 A3 C4*2 D4 B3 D4*2",
        "C4 Bb3 C4*2 D4 C#4 D4*2",
    ],
)
def test_near_misses_are_no_mordents(text: str) -> None:
    assert mordents(line_of(text)) == []
