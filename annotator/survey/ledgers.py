"""Ledger lines: how many a note has, by the clef and the octave line in force where it stands.

Conventions
-----------
* A clef or octave line stands in the document before the notes it is for. It holds from the moment of the next note of its bar; where a
  ``<backup>`` or the bar's end comes first, from the end of the note before it.
* Under an octave line the page shows the note an octave (or two) away from where it sounds. The score's pitch is the sounding one.
* Staves without a clef of their own are read in the treble clef.

Source: MusicXML 4.0, elements ``clef`` and ``octave-shift`` (type ``down``: shown lower than it sounds). A staff has five lines, the
clef's sign names one of them: G4, F3 or C4 (any primer of notation).

>>> ledger_lines(28, TREBLE), ledger_lines(26, TREBLE), ledger_lines(40, TREBLE), ledger_lines(30, TREBLE)
(1, 2, 1, 0)
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from annotator.reading.document import Document
from annotator.reading.notes import whole
from annotator.score import Note, Part, Score

LETTERS_AT = {"G": 32, "F": 24, "C": 28}
"""The diatonic number (C0 = 0) on the line that each sign names."""
USUAL_LINE = {"G": 2, "F": 4, "C": 3}
TREBLE = 30
"""The diatonic number of the lowest line in the treble clef: E4."""
HIGHEST = 1_000
"""More than any diatonic number."""
STANDING = [(0, TREBLE)]
"""What holds on a staff without a clef."""

Changes = dict[int, list[tuple[int, int]]]
"""For each staff, from which tick on the lowest line stands for which diatonic number."""


def ledger_lines(diatonic: int, lowest_line: int) -> int:
    """Return the ledger lines of a note by the diatonic numbers of it and of the staff's lowest line."""
    height = diatonic - lowest_line  # the lowest line is 0, the highest 8
    return -height // 2 if height < 0 else max(0, height - 8) // 2


class Ledgers:
    """The lowest lines in force in a score's parts."""

    def __init__(self, score: Score) -> None:
        bars = {} if score.document is None else _bars_with_changes(score.document)
        self._changes = {part.id: _changes(part, bars[part.id]) for part in score.parts if part.id in bars}

    def most(self, part: str, notes: Iterable[Note]) -> int:
        """Return the most ledger lines that one of the notes of a part has."""
        changes = self._changes.get(part, {})
        heights: dict[int, list[int]] = defaultdict(list)
        most = 0
        for note in notes:
            rows = changes.get(note.staff, STANDING)
            if len(rows) == 1:
                heights[rows[0][1]].append(note.pitch.diatonic)
            else:
                place = bisect_right(rows, (note.tick, HIGHEST)) - 1
                most = max(most, ledger_lines(note.pitch.diatonic, rows[max(place, 0)][1]))
        extremes = [(edge, line) for line, found in heights.items() for edge in (min(found), max(found))]
        return max([most, *(ledger_lines(edge, line) for edge, line in extremes)])


def _bars_with_changes(document: Document) -> dict[str, dict[int, Any]]:
    """Return by part and by the bar's place the elements that hold the bars with a clef or an octave line."""
    root = document.tree.getroot()
    contents: dict[Any, None] = {}
    for element in root.iter("clef", "octave-shift"):
        for above in element.iterancestors("part" if document.timewise else "measure"):
            contents[above] = None
            break
    places: dict[Any, dict[Any, int]] = {}
    found: dict[str, dict[int, Any]] = defaultdict(dict)
    for content in contents:
        bar, part = (content.getparent(), content) if document.timewise else (content, content.getparent())
        whole_row = bar.getparent()
        if whole_row not in places:
            places[whole_row] = {measure: place for place, measure in enumerate(whole_row.iterchildren("measure"))}
        if bar in places[whole_row]:
            found[part.get("id", "")][places[whole_row][bar]] = content
    return found


def _changes(part: Part, bars: Mapping[int, Any]) -> Changes:
    """Return the changes of the lowest line in a part, from those of its bars that have any."""
    by_element = {note.element: note for note in part.notes if note.bar in bars}
    state: dict[int, list[int]] = defaultdict(lambda: [TREBLE, 0])  # staff: lowest line, letters that an octave line adds
    changes: Changes = defaultdict(list)
    for index in sorted(bars):
        waiting: set[int] = set()
        now = part.bars[index].tick if index < len(part.bars) else 0
        for child in bars[index].iterchildren("note", "attributes", "direction", "backup"):
            tag = child.tag
            if tag == "note":
                note = by_element.get(child)
                if note is not None:
                    _settle(changes, state, waiting, note.tick)
                    now = note.tick + note.ticks
            elif tag == "attributes":
                waiting |= {_clef(clef, state) for clef in child.iterchildren("clef")}
            elif tag == "direction":
                waiting |= {_octave_line(child, line, state) for line in child.iterfind("direction-type/octave-shift")}
            else:
                _settle(changes, state, waiting, now)
        _settle(changes, state, waiting, now)
    return {staff: sorted(rows, key=lambda row: row[0]) for staff, rows in changes.items()}


def _settle(changes: Changes, state: Mapping[int, list[int]], waiting: set[int], tick: int) -> None:
    """Let what is waiting hold from a tick on."""
    for staff in sorted(waiting):
        changes[staff].append((tick, sum(state[staff])))
    waiting.clear()


def _clef(clef: Any, state: Mapping[int, list[int]]) -> int:
    """Take note of a clef and return its staff."""
    staff = whole(clef.get("number")) or 1
    sign = (clef.findtext("sign") or "").strip()
    if sign in LETTERS_AT:
        line = whole(clef.findtext("line")) or USUAL_LINE[sign]
        octaves = whole(clef.findtext("clef-octave-change")) or 0
        state[staff][0] = LETTERS_AT[sign] - 2 * (line - 1) + 7 * octaves
    return staff


def _octave_line(direction: Any, line: Any, state: Mapping[int, list[int]]) -> int:
    """Take note of the start or end of an octave line and return its staff."""
    staff = whole(direction.findtext("staff")) or 1
    kind = line.get("type")
    letters = (whole(line.get("size")) or 8) - 1
    if kind in ("down", "up"):
        state[staff][1] = letters if kind == "down" else -letters
    elif kind == "stop":
        state[staff][1] = 0
    return staff
