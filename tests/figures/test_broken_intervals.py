"""Broken intervals: thirds to octaves in several keys, both hands and directions, and pairs that only look like them."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of, names

from annotator.figures.broken_intervals import detect_broken_intervals, spell_out_broken_interval
from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Line
from annotator.music.intervals import LETTERS
from annotator.music.names import Scale
from annotator.music.score import key_of, pitch_at

INTERVALS = ("third", "fourth", "fifth", "sixth", "seventh", "octave")


def found(line: Line) -> list[Figure]:
    figures = list(detect_broken_intervals(line))
    for figure in figures:
        assert figure.kind == f"broken-{figure.interval}s"
        assert spell_out_broken_interval(cover_up(figure, line.bars)) == written(figure)
    return figures


def best(line: Line) -> Figure:
    return max(found(line), key=lambda figure: (len(figure.struck), len(figure.grey)))


def broken(firsts: tuple[int, ...], width: int, fifths: int = 0) -> str:
    alters = key_of(fifths).alters

    def word(at: int) -> str:
        pitch = pitch_at(at, alters[at % 7])
        return f"{pitch.step}{'#' * pitch.alter if pitch.alter > 0 else 'b' * -pitch.alter}{pitch.octave}"

    return " ".join(word(at) for first in firsts for at in (first, first + width))


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("fifths", [0, 3, -4])
@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("up", [1, -1])
@pytest.mark.parametrize("interval", INTERVALS)
def test_pairs_by_step_keep_their_first_and_last_pair_dark(interval: str, up: int, way: int, fifths: int, hand: str) -> None:
    firsts = tuple(35 + way * step for step in range(8))
    line = line_of(broken(firsts, up * LETTERS[interval], fifths), hand, fifths=fifths)
    figure = best(line)
    assert figure.interval == interval
    assert figure.anchors == tuple(event.notes[0] for event in (*line.events[:2], *line.events[-2:]))
    assert figure.direction == ("up" if way > 0 else "down")
    assert figure.scale is not None
    assert figure.odd == ()


def test_three_pairs_are_enough() -> None:
    assert len(best(line_of("C4 E4 D4 F4 E4 G4")).grey) == 2


def test_the_turning_pair_is_dark() -> None:
    figure = best(line_of(broken((28, 29, 30, 31, 32, 31, 30, 29, 28), 2)))
    assert names(figure.anchors) == "C4 E4 G4 B4 C4 E4"
    assert (figure.direction, figure.scale) == ("turning", Scale("C", "major"))


def test_the_notes_of_both_lines_name_the_scale() -> None:
    figure = best(line_of("D4 F#4 E4 G4 F#4 A4 G4 B4 A4 C#5 B4 D5"))
    assert (figure.scale, figure.odd) == (Scale("D", "major"), ())


def test_a_note_outside_the_scale_is_odd_and_dark() -> None:
    figure = best(line_of("C4 E4 D4 F4 E4 G#4 F4 A4 G4 B4 A4 C5 B4 D5"))
    assert names(figure.odd) == "G#4"


def test_pairs_begin_where_the_bar_counts_them() -> None:
    assert best(line_of("C4 A4 D4 B4 E4 C5 F4 D5 G4 E5")).interval == "sixth"
    assert best(line_of("r A4 D4 B4 E4 C5 F4 D5 G4 E5 A4 F5")).interval == "sixth"
    assert best(line_of("r C4 E4 D4 F4 E4 G4 F4 A4 C5")).interval == "third"


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("width", [7, -7])
def test_octaves_may_move_any_way(width: int, hand: str) -> None:
    figure = best(line_of(broken((28, 32, 30, 31, 31, 26), width), hand))
    assert (figure.kind, figure.scale, figure.direction) == ("broken-octaves", None, None)
    assert len(figure.grey) == 5


@pytest.mark.parametrize(
    "text",
    [
        "C4 E4 D4 F4",
        "C4 E4 D4 F4 F4 A4 G4 B4",
        "C4 E4 D4 G4 E4 G4",
        "C4 E4 D4 F4*2 E4 G4",
        "C4 E4 D4 F4 r E4 G4",
        "C4 C5 C4 C5 C4 C5 C4 C5",
        "C4 C5 F4 F#5 D4 D5 E4",
        "C4 D4 D4 E4 E4 F4",
        "C4 E4 D4/F4 F4 E4 G4",
    ],
)
def test_near_misses_are_no_figure(text: str) -> None:
    assert found(line_of(text)) == []
