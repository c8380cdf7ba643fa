"""Where notes stand in time, how long bars are, and what is repaired."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest

from annotator.music.score import Score, Time

Make = Callable[..., str]
Reader = Callable[..., Score]
BACK_4 = "<backup><duration>4</duration></backup>"


def onsets(score: Score) -> list[Fraction]:
    return [note.onset for note in score.parts[0].notes]


def repair(score: Score, words: str) -> bool:
    return any(words in line for line in score.repairs)


def test_voices_chords_and_moves(score_of: Reader, make_note: Make) -> None:
    bar = make_note("C4", 2) + make_note("E4", 2, before="<chord/>") + make_note("G4", 2) + BACK_4
    bar += "<forward><duration>1</duration></forward>" + make_note("C3", 3)
    score = score_of(bar, bar)
    assert onsets(score) == [0, 0, 2, 1, 4, 4, 6, 5]
    assert [note.chord for note in score.parts[0].notes[:3]] == [False, True, False]
    assert [(bar.onset, bar.ticks) for bar in score.parts[0].bars] == [(0, 4), (4, 4)]
    assert score.repairs == ()


def test_one_resolution_for_changing_divisions(score_of: Reader, make_note: Make) -> None:
    change = "<attributes><divisions>6</divisions></attributes>"
    score = score_of(make_note("C4", 4) * 4, change + make_note("D4", 2) * 12, divisions=4)
    assert score.resolution == 12
    assert [note.ticks for note in score.parts[0].notes] == [12] * 4 + [4] * 12
    assert all(note.onset == Fraction(note.tick, 12) and note.duration == Fraction(note.ticks, 12) for note in score.parts[0].notes)


def test_grace_notes_lean_on_what_follows(score_of: Reader, make_note: Make) -> None:
    grace = make_note("D4", None, before="<grace/>")
    score = score_of(make_note("C4", 3) + grace + grace + make_note("C4", 1) + grace, make_note("E4", 4))
    notes = score.parts[0].notes
    assert [(note.onset, note.duration, note.grace) for note in notes if note.grace] == [(3, 0, True)] * 2 + [(4, 0, True)]
    assert [note.bar for note in notes] == [0, 0, 0, 0, 0, 1]


def test_rounded_tuplets_meet_again(score_of: Reader, make_note: Make) -> None:
    third = make_note("C5", 85, after="<type>eighth</type><time-modification><actual-notes>3</actual-notes>"
                      "<normal-notes>2</normal-notes></time-modification>")  # fmt: skip
    bar = third * 12 + "<backup><duration>1020</duration></backup>" + make_note("C3", 256) * 4
    score = score_of(bar, bar, divisions=256)
    by_time = sorted({note.onset for note in score.parts[0].notes})
    assert by_time == [Fraction(index, 3) for index in range(24)]
    assert repair(score, "rounded")
    assert not any(bar.cut for bar in score.parts[0].bars)


def test_upbeat_counts_from_the_end(score_of: Reader, make_note: Make) -> None:
    score = score_of('<measure number="0" implicit="yes">' + make_note() + "</measure>", make_note("D4", 4), make_note("E4", 3))
    first, second, last = score.parts[0].bars
    assert (first.number, first.ticks, first.offset) == ("0", 1, 3)
    assert (second.tick, second.ticks, second.offset) == (1, 4, 0)
    assert (last.ticks, last.offset, score.repairs) == (3, 0, ())


def test_a_bar_split_at_a_repeat_is_one_bar(score_of: Reader, make_note: Make) -> None:
    repeat = '<barline location="right"><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline>'
    score = score_of(
        make_note("C4", 4), make_note("C4", 3) + repeat, '<measure number="X1" implicit="yes">' + make_note() + "</measure>",
        make_note("C4", 4),
    )  # fmt: skip
    assert [(bar.ticks, bar.offset, bar.cut) for bar in score.parts[0].bars] == [
        (4, 0, False), (3, 0, False), (1, 3, True), (4, 0, False),
    ]  # fmt: skip
    assert score.repairs == ()


@pytest.mark.parametrize(("length", "words"), [(3, "shorter"), (5, "longer")])
def test_faulty_bars_stay_as_written_and_cut(score_of: Reader, make_note: Make, length: int, words: str) -> None:
    score = score_of(make_note("C4", 4), make_note() * length, make_note("C4", 4), make_note("C4", 4))
    assert [bar.ticks for bar in score.parts[0].bars] == [4, length, 4, 4]
    assert [bar.cut for bar in score.parts[0].bars] == [False, False, True, False]
    assert repair(score, words) and repair(score, "1, the first in part 'Piano', bar 2")


def test_a_whole_bar_rest_fits_any_bar(score_of: Reader, make_note: Make) -> None:
    rest = make_note("rest", 8).replace("<rest/>", '<rest measure="yes"/>')
    score = score_of(rest, make_note("C4", 4), "")
    assert [bar.ticks for bar in score.parts[0].bars] == [4, 4, 4]
    assert score.repairs == ()


def test_free_time(score_of: Reader, make_note: Make) -> None:
    score = score_of("<attributes><time><senza-misura/></time></attributes>" + make_note() * 11, make_note())
    assert [(bar.time, bar.ticks, bar.cut) for bar in score.parts[0].bars] == [(None, 11, False), (None, 1, False)]


def test_composite_time(score_of: Reader, make_note: Make) -> None:
    time = "<attributes><time><beats>3+2</beats><beat-type>8</beat-type></time></attributes>"
    (bar,) = score_of(time + make_note() * 5, divisions=2).parts[0].bars
    assert (bar.time, bar.ticks, bar.offset) == (Time((3, 2), 8), 5, 0)


@pytest.mark.parametrize(
    ("bar", "words", "expected"),
    [
        ("<backup><duration>9</duration></backup>", "back beyond", [0, 0]),
        ("<backup><duration>400000000000</duration></backup>", "back beyond", [0, 0]),
        ("<backup><duration>-1</duration></backup>", "make no sense", [0, 1]),
        ("<forward><duration>1e9</duration></forward>", "make no sense", [0, 1]),
        ("<attributes><divisions>0</divisions></attributes>", "divisions", [0, 1]),
        ("<attributes><divisions>999999999</divisions></attributes>", "divisions", [0, 1]),
        ("<attributes><time><beats>4</beats><beat-type>0</beat-type></time></attributes>", "time signatures", [0, 1]),
        ("<attributes><key><fifths>x</fifths></key></attributes>", "key signatures", [0, 1]),
        ("<attributes><staves>99999999</staves></attributes>", "staves", [0, 1]),
    ],
)
def test_nonsense_is_repaired_and_named(score_of: Reader, make_note: Make, bar: str, words: str, expected: list[int]) -> None:
    score = score_of(make_note("C4", 1) + bar + make_note("C4", 1) + make_note("rest", 2))
    assert onsets(score) == expected
    assert repair(score, words)


@pytest.mark.parametrize("duration", [None, "", "-4", "x", "1e400", "400000000000", "9" * 5000])
def test_impossible_durations_come_from_the_shape(score_of: Reader, make_note: Make, duration: str | None) -> None:
    score = score_of(make_note("C4", duration, after="<type>half</type><dot/>") + make_note("D4", 1))
    assert onsets(score) == [0, 3]
    assert repair(score, "taken from the note's shape")


def test_missing_divisions_are_implied(score_of: Reader, make_note: Make, make_text: Make) -> None:
    from annotator.reading import read

    text = make_text(make_note("C4", 12, after="<type>half</type>") * 2).replace("<divisions>1</divisions>", "")
    score = read(text.encode())
    assert [note.duration for note in score.parts[0].notes] == [2, 2]
    assert repair(score, "divisions missing")


def test_unreadable_pitches_take_time_but_are_left_out(score_of: Reader, make_note: Make) -> None:
    bad = make_note("H4"), make_note("C4").replace(">4<", ">99<"), make_note("C#4").replace(">1</alter>", ">7</alter>")
    score = score_of("".join(bad) + make_note("D4"))
    assert [(note.pitch.step, note.onset, note.number) for note in score.parts[0].notes] == [("D", 3, 4)]
    assert repair(score, "notes without a pitch that makes sense, left out: 3")
