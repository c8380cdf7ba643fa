"""Trills and tremolos: six strokes of two notes or chords in turn."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of, names
from figures.random_lines import random_lines

from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Line
from annotator.figures.repetitions import detect_alternations, spell_out_alternation


def found(line: Line) -> list[Figure]:
    figures = list(detect_alternations(line))
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
    ("text", "dark"),
    [
        ("C4 G4 C4 G4 B3 G4 B3 G4", "C4 G4 B3"),
        ("C4 E4 C4 E4 F4 A4 F4 A4 G4 B4 G4 B4", "C4 E4 F4 A4 G4 B4"),
        ("C4/E4 G4/B4 C4/E4 G4/B4 D4/F4 G4/B4 D4/F4 G4/B4", "C4 E4 G4 B4 D4 F4"),
    ],
)
def test_of_pairs_in_fours_what_is_new_is_dark(text: str, dark: str) -> None:
    (figure,) = found(line_of(text))
    assert (figure.kind, figure.group, figure.times, names(figure.anchors)) == ("tremolo", 4, None, dark)


@pytest.mark.parametrize(
    "text",
    [
        "r*2 C4 G4 C4 G4 B3 G4 B3 G4",
        "C4 G4 C4 G4 B3*2 G4*2 B3*2 G4*2",
        "C4 G4 C4 G4 r*4 B3 G4 B3 G4",
        "C4 G4 C4 G4 B3 D4 B3 G4",
        "C4 E4/G4 C4 E4/G4 B3 D4/G4 B3 D4/G4",
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


def alternates(line: Line, first: int, stop: int) -> bool:
    """Return whether some events alternate, by the rules alone."""
    events = line.events[first:stop]
    pitches = [[note.pitch for note in event.notes] for event in events]
    ticks = [event.ticks for event in events]
    return (
        all(event.joined for event in events[1:])
        and set(ticks[:-1]) == {ticks[0]}
        and ticks[-1] >= ticks[0]
        and len(pitches[0]) == len(pitches[1])
        and pitches[0] != pitches[1]
        and all(one == again for one, again in zip(pitches, pitches[2:], strict=False))
    )


def test_they_are_the_longest_there_are() -> None:
    count = 0
    for line in random_lines(60, seed=4):
        size = len(line)
        lawful = [(a, b) for a in range(size) for b in range(a + 6, size + 1) if alternates(line, a, b)]
        longest = [one for one in lawful if not any(other != one and other[0] <= one[0] and one[1] <= other[1] for other in lawful)]
        figures = [figure for figure in found(line) if figure.times]
        assert sorted(figure.moments[0][0].tick for figure in figures) == [line.events[first].tick for first, _ in longest]
        assert sorted(figure.moments[-1][0].tick for figure in figures) == [line.events[stop - 1].tick for _, stop in longest]
        count += len(longest)
    assert count > 10
