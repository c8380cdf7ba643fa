"""Every case of ``tests/cases/*.txt``: a few bars as text, and under each note whether it is read. How: ``tests/cases/README.md``.

A case goes the whole way: lines, figures, cover, law, marks. One that fails prints its score as text with what is grey now, in the
notation of the files.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import groupby
from pathlib import Path

import pytest
from figures.lines_from_text import part_of

from annotator.marks.finding import find_figures
from annotator.marks.marking import Mark, markings
from annotator.music.score import Score, Time

FILES = sorted((Path(__file__).parent / "cases").glob("*.txt"))
LENGTHS = {"half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2), "16th": Fraction(1, 4), "32nd": Fraction(1, 8)}
ROW = re.compile(r"(right|left)( [2-4])?:")
BAR_LINES = ("|", "||")


@dataclass
class Row:
    """Notes of one voice, as written, what stands under each of them, and the labels of the brackets that begin here."""

    voice: str
    notes: list[str]
    marks: list[str] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)


@dataclass
class Case:
    """A few bars: key, time, the length of a note that says none, and rows from top to bottom."""

    title: str
    key: str = "C major"
    time: str = "4/4"
    note: str = "eighth"
    rows: list[Row] = field(default_factory=list)

    @property
    def unit(self) -> Fraction:
        """The length of a note in quarters."""
        name, _, triplet = self.note.partition(" ")
        return LENGTHS[name] * (Fraction(2, 3) if triplet else 1)

    @property
    def fifths(self) -> int:
        """The key signature."""
        tonic, mode = self.key.split()
        return "FCGDAEB".index(tonic[0]) - 1 + 7 * (tonic.count("#") - tonic.count("b")) - 3 * (mode == "minor")

    def text(self) -> str:
        """Return the case as it is written in a file, the marks under their notes."""
        rows = "\n".join(_text_of(row) for row in self.rows)
        return f"== {self.title}\nkey: {self.key}\ntime: {self.time}\nnote: {self.note}\n{rows}\n"


def _text_of(row: Row) -> str:
    widths = [max(len(note), len(mark)) for note, mark in zip(row.notes, row.marks, strict=True)]
    lines = [
        head.ljust(9) + " ".join(word.ljust(width) for word, width in zip(words, widths, strict=True)).rstrip()
        for head, words in ((f"{row.voice}:", row.notes), ("", row.marks))
    ]
    return "\n".join([*lines, *(" " * 9 + label for label in row.labels)])


def read_cases(text: str) -> Iterator[Case]:
    """Yield the cases of a file."""
    for part in text.split("\n== ")[1:]:
        title, *lines = [line.rstrip() for line in part.splitlines() if line.strip() and not line.startswith("#")]
        case = Case(title)
        for line in lines:
            head, _, rest = line.partition(":")
            if ROW.match(line):
                case.rows.append(Row(head, rest.split()))
            elif head in ("key", "time", "note"):
                setattr(case, head, rest.strip())
            elif not case.rows[-1].marks:
                case.rows[-1].marks = line.split()
            else:
                case.rows[-1].labels.append(line.strip())
        for row in case.rows:
            if not row.marks:  # nothing under the notes: all are read
                row.marks = [_all_black(word) for word in row.notes]
        yield case


def _all_black(word: str) -> str:
    return word if word in BAR_LINES else "r" if word[0] == "r" else "x"


def check_bars(case: Case, voice: str, words: list[str]) -> None:
    """See that every bar but the last is as long as the time says."""
    whole = Fraction(case.time) * 4
    bars = [list(group) for line, group in groupby(words, key=lambda word: word in BAR_LINES) if not line]
    for number, bar in enumerate(bars, 1):
        length = sum(case.unit * Fraction(word.rstrip("~").partition("*")[2] or 1) for word in bar)
        assert length == whole or (number == len(bars) and length < whole), f"{case.title}: {voice}, bar {number} lasts {length} quarters"


def score_of(case: Case) -> tuple[Score, dict[int, tuple[Row, int]]]:
    """Return the score of a case, and for the number of each note its row and its place there."""
    hands: dict[str, dict[str, list[Row]]] = {"right": {}, "left": {}}
    for row in case.rows:
        hands[row.voice.split()[0]].setdefault(row.voice, []).append(row)
    places: dict[int, tuple[Row, int]] = {}
    cuts: set[int] = set()
    for voices in hands.values():
        for voice, rows in voices.items():
            words = [word for row in rows for word in row.notes]
            check_bars(case, voice, words)
            lines = [word for word in words if word in BAR_LINES]
            cuts |= {number for number, line in enumerate(lines, 1) if line == "||"}
            for row in rows:
                for place, word in enumerate(row.notes):
                    for _ in () if word in BAR_LINES else word.split("/"):
                        places[len(places) + 1] = row, place
    texts = [tuple(" ".join(word for row in rows for word in row.notes).replace("||", "|") for rows in v.values()) for v in hands.values()]
    mode = case.key.split()[1]
    part, resolution = part_of(*texts, unit=case.unit, bar=Fraction(case.time) * 4, fifths=case.fifths, mode=mode, cuts=frozenset(cuts))
    beats, beat_type = (int(each) for each in case.time.split("/"))
    part = replace(part, bars=tuple(replace(bar, time=Time((beats,), beat_type)) for bar in part.bars))
    return Score(case.title, "", (part,), resolution), places


def as_it_is(case: Case) -> Case:
    """Return the case with the marks that the program makes."""
    score, places = score_of(case)
    marked = markings(find_figures(score))
    shown = replace(case, rows=[Row(row.voice, row.notes) for row in case.rows])
    signs = {number: "-" if number in marked.grey else "x" for number in places}
    for old, row in zip(case.rows, shown.rows, strict=True):
        for place, word in enumerate(row.notes):
            told = [signs[number] for number, at in places.items() if at[0] is old and at[1] == place]
            row.marks.append(word if word in BAR_LINES else "r" if word[0] == "r" else told[0] if len({*told}) == 1 else "/".join(told))
    index = {id(old): row for old, row in zip(case.rows, shown.rows, strict=True)}
    for mark in sorted(marked.marks, key=lambda mark: mark.first.tick):
        (first, start), (last, end) = places[mark.first.number], places[mark.last.number]
        index[id(first)].marks[start] = "[" + index[id(first)].marks[start]
        index[id(last)].marks[end] += "]"
        index[id(first)].labels.append(_words(mark))
    return shown


def _words(mark: Mark) -> str:
    return " · ".join((mark.labels[0] or "(both hands)", *(text for _, text in mark.changes)))


CASES = [pytest.param(case, id=f"{path.stem}: {case.title}") for path in FILES for case in read_cases(path.read_text(encoding="utf-8"))]


@pytest.mark.fast
@pytest.mark.parametrize("case", CASES)
def test_case(case: Case) -> None:
    now = as_it_is(case)
    if [(row.marks, row.labels) for row in now.rows] != [(row.marks, row.labels) for row in case.rows]:
        pytest.fail(f"What is grey now:\n\n{now.text()}\nWhat the case says:\n\n{case.text()}", pytrace=False)
