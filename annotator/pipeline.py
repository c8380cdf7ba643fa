"""The whole way, from a file to what is shown and written. Each step is a call into one room of the house.

bytes → document → score → lines → candidate figures → cover → report → marks on the same tree → marked MusicXML;
and document + marks → engraver → pages → PDF.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from annotator.candidates import find_candidates
from annotator.cover import choose
from annotator.errors import UsageError
from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.lines import hand_of, read_lines
from annotator.reading import load, read_document
from annotator.report import Report, make_report
from annotator.score import Note, Part, Score
from annotator.settings import Options
from annotator.words.meaning import with_kinds


def read(source: Path | str | bytes) -> Score:
    """Read a score from a path or from bytes. Raises a ``ScoreError`` or ``MissingError`` that says what is wrong and where.

    >>> import annotator
    >>> score = annotator.read(annotator.example("letter-by-the-window"))
    >>> score.title, len(score.parts[0].bars), score.parts[0].notes[0].pitch
    ('A Letter by the Window', 24, Pitch(step='D', alter=0, octave=5))
    """
    return read_document(load(source))


def find_figures(score: Score | Path | str | bytes, options: Options | None = None) -> Report:
    """Find the figures of a score and choose those that leave the least to read. A path or bytes are read first, as by ``read``.

    >>> import annotator
    >>> report = annotator.find_figures(annotator.example("letter-by-the-window"), annotator.Options(kinds="alberti-bass", language="de"))
    >>> [(row.bar, row.label) for row in report.rows()][:1]
    [('1–8', 'Alberti-Bass: G')]
    """
    score = score if isinstance(score, Score) else read(score)
    options = with_kinds(options or Options())
    figures: list[Figure] = []
    looked_at: list[Note] = []
    for part in parts_looked_at(score, options):
        notes = notes_looked_at(part, options)
        looked_at.extend(notes)
        candidates: list[Figure] = []
        for bars in _stretches(part, options):  # each by itself: no figure goes on behind bars that are left out
            within = None if len(bars) == len(part.bars) else [note for note in part.notes if note.bar in bars]
            candidates += find_candidates(read_lines(part, score.resolution, within), options)
        if options.hand != "both":  # the lines are those of both hands, for a figure may pass from one to the other
            numbers = {note.number for note in notes}
            candidates = [figure for figure in candidates if all(note.number in numbers for note in figure.struck)]
        figures.extend(choose(candidates, partial(holds, bars=part.bars), options.saves))
    return make_report(score, looked_at, figures, options)


def parts_looked_at(score: Score, options: Options) -> tuple[Part, ...]:
    """Return the keyboard parts, or those that the options name."""
    if options.parts is None:
        return tuple(part for part in score.parts if part.keyboard)
    if options.parts == ("all",):
        return score.parts
    wanted = {name.casefold() for name in options.parts}
    chosen = tuple(part for part in score.parts if {part.id.casefold(), part.name.casefold()} & wanted)
    if not chosen:
        names = ", ".join(part.name or part.id for part in score.parts)
        raise UsageError(f"no part is called {', '.join(options.parts)}: this score has {names}")
    return chosen


def notes_looked_at(part: Part, options: Options) -> list[Note]:
    """Return the notes of a part that stand in the bars and the hand asked for, in document order."""
    within = frozenset(bar for bars in _stretches(part, options) for bar in bars)
    notes = [note for note in part.notes if note.bar in within]
    return notes if options.hand == "both" else [note for note in notes if hand_of(part, note) == options.hand]


def _stretches(part: Part, options: Options) -> list[range]:
    """Return the indices of the bars asked for, in order; stretches that meet are one."""
    if options.bars is None:
        return [range(len(part.bars))]
    numbers = [bar.number for bar in part.bars]
    found: list[range] = []
    for bars in sorted((_stretch(numbers, *ends) for ends in options.bars), key=lambda bars: bars.start):
        if found and bars.start <= found[-1].stop:
            found[-1] = range(found[-1].start, max(found[-1].stop, bars.stop))
        else:
            found.append(bars)
    return found


def _stretch(numbers: Sequence[str], first: str, last: str) -> range:
    """Return the indices of the bars from one printed number to the last bar of another; an empty one is an open end."""
    for number in (first, last):
        if number and number not in numbers:
            raise UsageError(f"there is no bar {number}: the bars go from {numbers[0]} to {numbers[-1]}")
    start = numbers.index(first) if first else 0
    stop = len(numbers) - (numbers[::-1].index(last) if last else 0)
    if stop <= start:
        raise UsageError(f"bars {first}-{last} run backwards: give the first bar first")
    return range(start, stop)
