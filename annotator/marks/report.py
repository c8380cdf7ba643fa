"""The report: what was found in a score, counted, as data, as a table and as lines for other programs.

Conventions: figures come in time order and are called f1, f2 … A *dark* note must be read: an anchor, or a note of no figure; a grey one
follows. Only struck, visible notes are counted (``Note.counted``), chord members singly. Beats are counted from 1 in the unit of the time
signature's lower number, an upbeat as a player counts it.
"""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple

from annotator.figures.copies import KINDS as COPIES
from annotator.figures.figure import Figure
from annotator.music.score import Bar, Note, Score, table
from annotator.words.labels import kind_name, labels
from annotator.words.phrases import heading

FORMAT = 1
COLUMNS = ("id", "kind", "part", "hand", "from_bar", "from_beat", "to_bar", "to_beat", "label", "notes", "to_read")


class Row(NamedTuple):
    """One line of the table: the printed bars (``5`` or ``5–7``), the hand, the label, the struck notes and those of them left to read."""

    bar: str
    hand: str
    label: str
    notes: int
    to_read: int


class KindCount(NamedTuple):
    """What the figures of one kind came to: how many figures, their struck notes, those of them left to read."""

    kind: str
    figures: int
    notes: int
    to_read: int


@dataclass(frozen=True, repr=False)
class Report:
    """The figures of a score, in time order, each with its id (``f1`` …).

    ``counted`` are the numbers of the notes that were looked at and count; ``language`` is that of labels and tables.

    >>> import annotator
    >>> report = annotator.find_figures(annotator.read(annotator.example("letter-by-the-window")))
    >>> report.notes, report.to_read, report.by_kind()[0].kind
    (263, 120, 'alberti-bass')
    >>> name, figure = report.figures[0]
    >>> name, figure.kind, figure.chord.root, len(figure.notes), len(figure.anchors)
    ('f1', 'alberti-bass', 'G', 60, 14)
    """

    score: Score
    counted: frozenset[int]
    figures: tuple[tuple[str, Figure], ...]
    language: str = "en"

    def __repr__(self) -> str:
        """Return it in one line."""
        return f"<Report {self.score.title!r}: {self.notes} notes, {self.to_read} to read, {len(self.figures)} figures>"

    def _repr_html_(self) -> str:
        """Show the table in a notebook."""
        return table(" – ".join(filter(None, (self.score.title, self.headline))), *self._figures())

    @property
    def notes(self) -> int:
        """How many notes there are to play in what was looked at."""
        return len(self.counted)

    @cached_property
    def grey_numbers(self) -> frozenset[int]:
        """The ``number`` of every struck note that need not be read."""
        grey = {note.number for _, figure in self.figures for note in figure.grey}
        return self.counted & frozenset(grey - self.anchor_numbers)

    @cached_property
    def anchor_numbers(self) -> frozenset[int]:
        """The ``number`` of every anchor."""
        return frozenset(note.number for _, figure in self.figures for note in figure.anchors)

    @property
    def grey(self) -> int:
        """How many notes follow from labels and anchors."""
        return len(self.grey_numbers)

    @property
    def to_read(self) -> int:
        """How many notes are left to read: anchors and the notes of no figure."""
        return self.notes - self.grey

    @property
    def headline(self) -> str:
        """The one line that sums it up: ``352 notes, 121 to read``."""
        return heading("count", self.language, notes=self.notes, to_read=self.to_read)

    @cached_property
    def _bars(self) -> Mapping[str, tuple[Bar, ...]]:
        return {part.id: part.bars for part in self.score.parts}

    def place(self, note: Note) -> tuple[str, float]:
        """Return where a note stands: its printed bar, and its beat in units of the signature's lower number (free time: quarters)."""
        bar = self._bars[note.part][note.bar]
        unit = Fraction(4 * self.score.resolution, bar.time.beat_type if bar.time else 4)
        return bar.number, round(float(1 + (note.tick - bar.tick + bar.offset) / unit), 6)

    def rows(self) -> tuple[Row, ...]:
        """Return one row a figure, in time order."""
        return tuple(self._row(figure) for _, figure in self.figures)

    def by_kind(self) -> tuple[KindCount, ...]:
        """Return the counts of each kind found, the kind that greys the most notes first."""
        found: dict[str, list[Figure]] = defaultdict(list)
        for _, figure in self.figures:
            found[figure.kind].append(figure)
        counts = [
            KindCount(kind, len(own), sum(len(each.struck) for each in own), sum(len(each.anchors) for each in own))
            for kind, own in found.items()
        ]
        return tuple(sorted(counts, key=lambda count: (count.to_read - count.notes, count.kind)))

    def to_dict(self) -> dict[str, Any]:
        """Return the report as plain data, ready for JSON."""
        bars = max((len(part.bars) for part in self.score.parts), default=0)
        return {
            "format": FORMAT,
            "score": {"title": self.score.title, "bars": bars, "notes": self.notes, "to_read": self.to_read, "grey": self.grey},
            "figures": [self._figure(name, figure) for name, figure in self.figures],
        }

    def to_json(self) -> str:
        """Return ``to_dict`` as JSON text with a line end; the same report gives the same bytes."""
        import json

        return json.dumps(self.to_dict(), ensure_ascii=False, indent=2) + "\n"

    def to_csv(self) -> str:
        """Return one line a figure under a line of column names (English, for programs), comma separated."""
        import csv

        text = io.StringIO()
        lines = csv.writer(text, lineterminator="\n")
        lines.writerow(COLUMNS)
        for name, figure in self.figures:
            where = (*self.place(figure.moments[0][0]), *self.place(figure.moments[-1][0]))
            row = self._row(figure)
            cells = (name, figure.kind, figure.part, figure.hand, *where, row.label, row.notes, row.to_read)
            lines.writerow([harmless(cell) for cell in cells])
        return text.getvalue()

    def to_table(self) -> str:
        """Return the table for people: a row a figure, a summary by kind, and the headline."""
        heads, rows = self._figures()
        summary = [heading(key, self.language) for key in ("kind", "figures", "notes", "to-read")]
        kinds = [(kind_name(c.kind, self.language), str(c.figures), str(c.notes), str(c.to_read)) for c in self.by_kind()]
        tables = [columns(heads, rows, right=2), columns(summary, kinds, right=3)] if rows else []
        return "\n\n".join([*tables, self.headline]) + "\n"

    def _figures(self) -> tuple[list[str], list[tuple[str, ...]]]:
        """Return the headings and the rows of the table of figures."""
        heads = [heading(key, self.language) for key in ("bar", "hand", "label", "notes", "to-read")]
        return heads, [(r.bar, heading(r.hand, self.language), r.label, str(r.notes), str(r.to_read)) for r in self.rows()]

    def _row(self, figure: Figure) -> Row:
        first, last = self.place(figure.moments[0][0])[0], self.place(figure.moments[-1][0])[0]
        bar = first if first == last else f"{first}–{last}"
        return Row(bar, figure.hand, labels(figure, self.language)[0], len(figure.struck), len(figure.anchors))

    def _place(self, note: Note) -> dict[str, Any]:
        return dict(zip(("bar", "beat"), self.place(note), strict=True))

    def _figure(self, name: str, figure: Figure) -> dict[str, Any]:
        """Return a figure as plain data; what says how a copy follows from its model is null where it does not apply."""
        words, copy = labels(figure, self.language), figure.kind in COPIES
        return {
            "id": name,
            "kind": figure.kind,
            "label": words[0],
            "labels": list(words),
            "part": figure.part,
            "staff": figure.staff,
            "voice": figure.voice,
            "from": self._place(figure.moments[0][0]),
            "to": self._place(figure.moments[-1][0]),
            "notes": [note.id for note in figure.notes],
            "anchors": [note.id for note in in_time(figure.anchors)],
            "odd": [note.id for note in in_time(figure.odd)],
            "direction": figure.direction,
            "scale": figure.scale and figure.scale._asdict(),
            "chord": figure.chord and figure.chord._asdict(),
            "interval": figure.interval,
            "form": figure.form,
            "changes": [{"note": each.note.id, **self._place(each.note), "chord": each.chord._asdict()} for each in figure.changes],
            "group": figure.group if copy else None,
            "times": figure.times if copy else None,
            "steps": figure.steps if copy else None,
            "semitones": figure.semitones,
            "model": self._model(figure.model[0][0], figure.model[-1][0]) if copy else None,
            "staves": list(figure.staves),
        }

    def _model(self, first: Note, last: Note) -> dict[str, Any]:
        return {"part": first.part, "staff": first.staff, "from": self._place(first), "to": self._place(last)}


def harmless(value: float | str) -> float | str:
    """Return a cell of a CSV: a text that a spreadsheet would take for a formula gets an apostrophe.

    >>> harmless("=1+1"), harmless("5"), harmless(-1)
    ("'=1+1", '5', -1)
    """
    return f"'{value}" if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")) else value


def named(score: Score, figures: Iterable[Figure]) -> tuple[tuple[str, Figure], ...]:
    """Return figures in time order, each with its name."""
    place = {part.id: number for number, part in enumerate(score.parts)}
    ordered = sorted(figures, key=lambda f: (f.moments[0][0].tick, place[f.part], f.staff, f.moments[0][0].number, f.kind))
    return tuple((f"f{number}", figure) for number, figure in enumerate(ordered, 1))


def in_time(notes: Iterable[Note]) -> list[Note]:
    """Return notes in time order, those struck together from low to high."""
    return sorted(notes, key=lambda note: (note.tick, note.pitch.semitone, note.number))


def columns(words: list[str], rows: Sequence[tuple[str, ...]], right: int) -> str:
    """Return rows as text under headings, in columns; the last ``right`` columns are numbers and stand to the right."""
    table = [tuple(words), *rows]
    sides = "<" * (len(words) - right) + ">" * right
    shapes = [f"{side}{max(map(len, cells))}" for side, cells in zip(sides, zip(*table, strict=True), strict=True)]
    return "\n".join("  ".join(map(format, row, shapes)).rstrip() for row in table)
