"""The report: its data word for word, its counts, its tables; and the marks made from it."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import pytest
from figures.lines_from_text import name, part_of

from annotator.figures.figure import Change, Figure
from annotator.figures.hands import detect_hands
from annotator.figures.lines import read_lines
from annotator.marks.marking import markings
from annotator.marks.report import Report, named
from annotator.music.chords import Chord
from annotator.music.names import Scale
from annotator.music.score import Bar, Note, Score, Time, key_of

KEYS = ["format", "score", "figures"]
SCORE_KEYS = ["title", "bars", "notes", "to_read", "grey"]
FIGURE_KEYS = [
    "id",
    "kind",
    "label",
    "labels",
    "part",
    "staff",
    "voice",
    "from",
    "to",
    "notes",
    "anchors",
    "odd",
    "direction",
    "scale",
    "chord",
    "interval",
    "form",
    "changes",
    *("group", "times", "steps", "semitones", "model", "staves"),
]


def score_of(right: str, left: str, **how: object) -> Score:
    part, resolution = part_of(right, left, **how)  # type: ignore[arg-type]
    return Score("A study", "", (part,), resolution)


def moments(score: Score, staff: int, first: int = 0, stop: int | None = None) -> tuple[tuple[Note, ...], ...]:
    hand = read_lines(score.parts[0], score.resolution).hands["right" if staff == 1 else "left"]
    return tuple(event.notes for event in hand.events[first:stop])


def run_over(score: Score, first: int, stop: int) -> Figure:
    found = moments(score, 1, first, stop)
    ends = (found[0][0], found[-1][0])
    return Figure("scale-run", "P1", 1, "1", "right", found, ends, direction="up", scale=Scale("F", "major"))


def report_of(score: Score, notes: Iterable[Note], figures: Iterable[Figure], language: str = "en") -> Report:
    return Report(score, frozenset(note.number for note in notes if note.counted), named(score, figures), language)


@pytest.fixture
def both() -> tuple[Score, Report]:
    """Return a run in the right hand that the left hand doubles, then notes of no figure."""
    score = score_of("D5 E5 F5 G5 A5~ A5 | r C5/E5 F5", "D4 E4 F4 G4 A4~ A4 | r G3 F3", unit=Fraction(1), bar=Fraction(3), fifths=-1)
    doubled = next(figure for figure in detect_hands(read_lines(score.parts[0], score.resolution)) if figure.kind == "hands-in-octaves")
    return score, report_of(score, score.parts[0].notes, [doubled, run_over(score, 0, 5)])


def test_the_data_word_for_word(both: tuple[Score, Report]) -> None:
    data = both[1].to_dict()
    assert list(data) == KEYS and list(data["score"]) == SCORE_KEYS
    assert data["format"] == 1
    assert data["score"] == {"title": "A study", "bars": 3, "notes": 15, "to_read": 8, "grey": 7}
    run, doubled = data["figures"]
    assert list(run) == FIGURE_KEYS == list(doubled)
    assert run == {
        "id": "f1",
        "kind": "scale-run",
        "label": "F major run D→A",
        "labels": ["F major run D→A", "F run D→A", "D→A"],
        "part": "P1",
        "staff": 1,
        "voice": "1",
        "from": {"bar": "1", "beat": 1.0},
        "to": {"bar": "2", "beat": 2.0},
        "notes": ["n1", "n2", "n3", "n4", "n5"],
        "anchors": ["n1", "n5"],
        "odd": [],
        "direction": "up",
        "scale": {"tonic": "F", "type": "major"},
        "chord": None,
        "interval": None,
        "form": None,
        "changes": [],
        "group": None,
        "times": None,
        "steps": None,
        "semitones": None,
        "model": None,
        "staves": [1],
    }
    assert doubled["id"] == "f2" and doubled["staff"] == 2 and doubled["interval"] == "octave" and doubled["scale"] is None
    assert doubled["label"] == "left hand an octave below" and len(doubled["notes"]) == 6  # the tied-on note is listed, not counted


def test_counts_add_up(both: tuple[Score, Report]) -> None:
    report = both[1]
    assert (report.notes, report.grey, report.to_read) == (15, 7, 8)
    assert report.headline == "15 notes, 8 to read"
    assert [(c.kind, c.figures, c.notes, c.to_read) for c in report.by_kind()] == [
        ("hands-in-octaves", 1, 5, 1),
        ("scale-run", 1, 5, 2),
    ]


def test_what_is_not_counted() -> None:
    score = score_of("C5 D5 E5 F5~ F5", "")
    grace, cue, hidden, plain, tied = score.parts[0].notes
    notes = (replace(grace, grace=True), replace(cue, cue=True), replace(hidden, hidden=True), plain, tied)
    assert report_of(score, notes, []).notes == 1


def test_json_is_the_data_and_the_same_twice(both: tuple[Score, Report]) -> None:
    text = both[1].to_json()
    assert json.loads(text) == both[1].to_dict() and text.endswith("}\n") and "→" in text
    again = report_of(both[0], both[0].parts[0].notes, [f for _, f in reversed(both[1].figures)])
    assert again.to_json() == text


def test_rows_and_tables(both: tuple[Score, Report]) -> None:
    report = both[1]
    assert [(row.bar, row.hand, row.notes, row.to_read) for row in report.rows()] == [("1–2", "right", 5, 2), ("1–2", "left", 5, 1)]
    lines = report.to_table().splitlines()
    assert lines[0].split() == ["bar", "hand", "label", "notes", "to", "read"]
    assert lines[1].split() == ["1–2", "right", "F", "major", "run", "D→A", "5", "2"]
    assert lines[-1] == report.headline
    ends = {len(line) for line in lines[:3]}
    assert len(ends) == 1  # numbers stand below each other


def test_csv_is_read_back(both: tuple[Score, Report]) -> None:
    rows = list(csv.DictReader(io.StringIO(both[1].to_csv())))
    assert [row["id"] for row in rows] == ["f1", "f2"]
    assert rows[0]["label"] == "F major run D→A" and rows[0]["from_bar"] == "1" and float(rows[0]["to_beat"]) == 2.0
    assert sum(int(row["notes"]) - int(row["to_read"]) for row in rows) == both[1].grey


def test_a_score_without_figures() -> None:
    score = score_of("C5 D5", "")
    report = report_of(score, score.parts[0].notes, [], "de")
    assert report.to_table() == "2 Noten, 2 zu lesen\n"
    assert report.to_csv().count("\n") == 1


def test_labels_follow_the_language(both: tuple[Score, Report]) -> None:
    german = replace(both[1], language="de")
    assert german.to_dict()["figures"][0]["label"] == "Lauf F-Dur, D→A"
    assert "rechts" in german.to_table() and german.to_table().endswith("15 Noten, 8 zu lesen\n")


def test_changes_hold_the_first_chord_too() -> None:
    score = score_of("", "C3 G3 E3 G3 B2 G3 D3 G3", unit=Fraction(1, 2))
    found = moments(score, 2)
    c, g7 = Chord("C", "major", 0, "C"), Chord("G", "dominant-seventh", 1, "B")
    changes = (Change(0, found[0][0], c), Change(4, found[4][0], g7))
    given = Figure("alberti-bass", "P1", 2, "2", "left", found, (found[0][0], found[4][0]), chord=c, changes=changes)
    (data,) = report_of(score, score.parts[0].notes, [given]).to_dict()["figures"]
    assert data["chord"] == {"root": "C", "quality": "major", "inversion": 0, "bass": "C"}
    assert data["changes"][1] == {
        "note": "n5",
        "bar": "1",
        "beat": 3.0,
        "chord": {"root": "G", "quality": "dominant-seventh", "inversion": 1, "bass": "B"},
    }


@pytest.mark.parametrize(
    ("time", "offset", "tick", "beat"),
    [
        (Time((4,), 4), 0, 0, 1.0),
        (Time((4,), 4), 0, 33, 3.75),
        (Time((6,), 8), 0, 18, 4.0),  # eighths are counted
        (Time((2,), 2), 0, 24, 2.0),
        (Time((4,), 4), 36, 0, 4.0),  # an upbeat of one quarter
        (Time((4,), 4), 0, 4, 1.333333),  # a triplet
        (None, 0, 12, 2.0),
    ],
)
def test_beats_are_counted_as_a_player_counts_them(time: Time | None, offset: int, tick: int, beat: float) -> None:
    score = score_of("C5", "")
    bar = Bar(3, "4", Fraction(12), 144, 48, key_of(0), time, offset=offset)
    report = Report(replace(score, resolution=12, parts=(replace(score.parts[0], bars=(bar,)),)), frozenset(), ())
    assert report.place(replace(score.parts[0].notes[0], tick=144 + tick)) == ("4", beat)


def test_marks_stand_above_the_right_hand_and_below_the_left(both: tuple[Score, Report]) -> None:
    _score, report = both
    marks = markings(report)
    assert [(mark.id, mark.family, mark.side, mark.staff) for mark in marks.marks] == [
        ("f1", "run", "above", 1),
        ("f2", "hands", "below", 2),
    ]
    assert (name(marks.marks[1].first), name(marks.marks[1].last)) == ("D4", "A4")
    assert marks.marks[0].labels == ("F major run D→A", "F run D→A", "D→A")


def test_a_tied_on_note_is_grey_with_the_note_it_continues(both: tuple[Score, Report]) -> None:
    score, report = both
    grey = markings(report).grey
    notes = score.parts[0].notes
    tied = {note.staff: note for note in notes if note.continues is not None}
    assert tied[2].number in grey  # the left hand's A is grey
    assert tied[1].number not in grey  # the right hand's A ends its run
    assert len(grey) == report.grey + 1
    assert not grey & markings(report).anchors
