"""Repeats: a group just played, an earlier bar, rows of bars; what only nearly equals is not found."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of, names, texture_of

from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.repeats import detect_repeated_bars, detect_repeated_groups, spell_out_repeated_group
from annotator.lines import Line, Texture

BEAT = "C4 G4 E4 A4"
OTHER = "D4 B4 F4 C5"


def checked(figures: list[Figure], bars: object) -> list[Figure]:
    for figure in figures:
        assert figure.kind == "repeated-group"
        assert figure.anchors == ()
        assert spell_out_repeated_group(cover_up(figure, bars)) == written(figure)  # type: ignore[arg-type]
        model = {note.number for moment in figure.model for note in moment}
        assert not model & {note.number for note in figure.struck}
    return figures


def again(line: Line) -> list[Figure]:
    return checked(list(detect_repeated_groups(line)), line.bars)


def before(texture: Texture) -> list[Figure]:
    return checked(list(detect_repeated_bars(texture)), texture.bars)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("times", [1, 2, 5])
@pytest.mark.parametrize("group", [BEAT, "C4/E4 G4*2 C4", "F#3 A3 C#4 F#4 E4 D4 C#4 A3"])
def test_what_was_just_played_is_grey_when_it_comes_again(group: str, times: int, hand: str) -> None:
    beats = 2 if len(group) > 20 else 1
    line = line_of(" ".join([*[group] * (times + 1), OTHER]), hand, fifths=3)
    figures = again(line)
    assert max(figure.times or 0 for figure in figures) == times
    (figure,) = [figure for figure in figures if figure.times == times][:1]
    assert figure.model_bar is None
    assert figure.moments[0][0].onset == beats
    assert len(figure.grey) == len(figure.struck)
    assert figure.group == len(group.split())


def test_a_bar_with_long_notes_repeats_as_a_bar() -> None:
    line = line_of("C4*6 D4*6 E4*4 | C4*6 D4*6 E4*4 | F4*16")
    (figure,) = again(line)
    assert (names(figure.struck), figure.times) == ("C4 D4 E4", 1)


def test_two_bars_repeat_as_two_bars() -> None:
    first, second = "C4*4 E4*4 G4*8", "D4*4 F4*4 A4*8"
    line = line_of(" ".join([first, second, first, second]))
    (figure,) = again(line)
    assert len(figure.struck) == 6


def test_a_repeat_of_a_beat_is_not_told_again_as_a_repeat_of_a_bar() -> None:
    (figure,) = again(line_of(" ".join([BEAT] * 12)))
    assert (figure.times, figure.group) == (11, 4)


@pytest.mark.parametrize(
    "text",
    [
        f"{BEAT} {OTHER}",
        f"{BEAT} C4 G4 E4 G#4",
        f"{BEAT} C4*2 G4 E4",
        f"{BEAT} r*4 {BEAT} {OTHER}",
        f"r {BEAT} {BEAT} {OTHER}",
        "C4*2 D4*2 C4*2 D4*2",
        f"E4 {BEAT} {BEAT} F4 F#4",
        "C4 G4 E4 A#4 C4 G4 E4 Bb4",
    ],
)
def test_near_misses_are_no_repeat(text: str) -> None:
    assert again(line_of(text)) == []


def test_no_repeat_follows_a_cut_bar_line() -> None:
    text = f"{BEAT} {BEAT}"
    assert len(again(line_of(text, bar=1))) == 1
    assert again(line_of(text, bar=1, cuts=frozenset({1}))) == []


ONE, TWO, THREE = "C4*4 E4*4 G4*8", "D4*4 F4*4 A4*8", "E4*4 G4*4 B4*8"
FOUR = "F4*8 D4*4 C4*4"


@pytest.mark.parametrize("hand", ["right", "left"])
def test_an_earlier_bar_is_named_by_its_number(hand: str) -> None:
    text = " | ".join([ONE, TWO, THREE, TWO, FOUR])
    texture = texture_of(text, "") if hand == "right" else texture_of("", text)
    (figure,) = before(texture)
    assert (figure.model_bar, figure.hand, figure.times) == ("2", hand, 1)
    assert figure.moments[0][0].bar == 3


def test_the_model_is_the_first_statement() -> None:
    figures = before(texture_of(" | ".join([ONE, TWO, ONE, THREE, ONE, FOUR])))
    assert [(figure.moments[0][0].bar, figure.model_bar) for figure in figures] == [(2, "1"), (4, "1")]


def test_bars_in_a_row_are_one_figure() -> None:
    figures = before(texture_of(" | ".join([ONE, ONE, TWO, THREE, FOUR, ONE, TWO, THREE, "B3*16"])))
    longest = max(figures, key=lambda figure: len(figure.struck))
    assert len(longest.struck) == 9
    assert longest.model_bar == "2"


def test_all_voices_of_the_hand_count() -> None:
    lower = ["A3*16", "B3*16", "C4*16", "B3*16"]
    upper = [ONE, TWO, THREE, TWO]
    (figure,) = before(texture_of((" ".join(upper), " ".join(lower))))
    assert len(figure.struck) == 4
    lower[3] = "G3*16"
    assert before(texture_of((" ".join(upper), " ".join(lower)))) == []


def test_what_is_tied_into_a_bar_counts() -> None:
    into = "C5*4~ F4*4 A4*8"
    upper = ["C4*8 C5*8~", into.replace("~", ""), THREE, "E4*8 C5*8", into.replace("~", ""), FOUR]
    assert before(texture_of(" ".join(upper))) == []


def test_a_rest_in_the_bar_keeps_it_from_being_a_figure() -> None:
    bar = "C4*4 E4*4 r*4 G4*4"
    assert before(texture_of(" ".join([bar, TWO, THREE, bar]))) == []


def test_a_long_row_of_equal_bars_takes_time_in_proportion() -> None:
    text = " ".join(["C4*4 E4*4 G4*4 B4*4", "D4*4 F4*4 A4*4 C5*4", "E4*4 G4*8 B4*4"] * 200)
    assert len(before(texture_of(text))) < 1300
