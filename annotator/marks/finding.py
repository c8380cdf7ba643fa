"""The whole way, from a file to what is shown and written. Each step is a call into one room of the house.

bytes → document → score → lines → candidate figures → cover → report → marks in the same text → marked MusicXML;
and document + marks → engraver → pages → PDF.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from annotator.errors import ScoreError, UsageError
from annotator.figures.candidates import find_candidates
from annotator.figures.cover import FEWEST, choose
from annotator.figures.figure import Figure
from annotator.figures.joining import join
from annotator.figures.law import holds, proved
from annotator.figures.lines import hand_of, read_lines
from annotator.marks.report import Report, named
from annotator.music.score import Note, Part, Score
from annotator.options.option import Bars
from annotator.options.settings import Options
from annotator.reading import read
from annotator.reading.bars import bars_without
from annotator.words.labels import all_meant, kinds_taken


def find_figures(score: Score | Path | str | bytes, options: Options | None = None) -> Report:
    """Find the figures of a score and choose those that leave the least to read. A path or bytes are read first, as by ``read``.

    >>> import annotator
    >>> report = annotator.find_figures(annotator.example("letter-by-the-window"), annotator.Options(kinds="alberti-bass", language="de"))
    >>> [(row.bar, row.label) for row in report.rows()][:1]
    [('1–8', 'Alberti-Bass: G')]

    Raises a ``ScoreError`` where there is no note to look at: it names the parts.
    """
    score = score if isinstance(score, Score) else read(score)
    options = options or Options()
    report = figures_of(score, options)
    if not report.notes:
        raise nothing_to_read(score, options)
    return report


def figures_of(score: Score, options: Options) -> Report:
    """Return what ``find_figures`` finds, of a score without a note to look at too."""
    options = _with_kinds(options)
    figures: list[Figure] = []
    counted: set[int] = set()
    for part in parts_looked_at(score, options):
        notes = notes_looked_at(part, options)
        counted.update(note.number for note in notes if note.counted)
        candidates: list[Figure] = []
        for bars in stretches(part, options.bars):  # each by itself: no figure goes on behind bars that are left out
            within = None if len(bars) == len(part.bars) else [note for note in part.notes if note.bar in bars]
            candidates += find_candidates(read_lines(part, score.resolution, within), options)
        if options.hand != "both":  # the lines are those of both hands, for a figure may pass from one to the other
            numbers = {note.number for note in notes}
            candidates = [figure for figure in candidates if all(note.number in numbers for note in figure.struck)]
        figures.extend(join(_chosen(candidates, part, options.saves or FEWEST), part.bars))
    return Report(score, frozenset(counted), named(score, figures), options.language)


def _with_kinds(options: Options) -> Options:
    """Return options in which kinds stand under their own names. Raises a ``UsageError`` for a word that means none."""
    for name in ("kinds", "without"):
        kinds_taken(name, getattr(options, name) or ())
    return replace(options, kinds=options.kinds and all_meant(options.kinds), without=all_meant(options.without))


def _chosen(candidates: list[Figure], part: Part, saves: int) -> tuple[Figure, ...]:
    """Return the best figures of a part that follow all together.

    Each copy follows from its model as that follows itself, and no note from a sign that stands on a grey one.
    """

    def together(figures: Sequence[Figure]) -> list[Figure]:
        """Return those of some figures that follow where all of them are shown."""
        grey = {note.number for figure in figures for note in figure.grey}
        return proved(figures, bars_without(part, grey), held=part.bars)

    return choose(candidates, partial(holds, bars=part.bars), saves, together)


def nothing_to_read(score: Score, options: Options) -> ScoreError:
    """Return the error of a score in which no note is looked at: why that is, its parts, and how others are named."""
    if not parts_looked_at(score, options):
        why = "no part is a keyboard's"
    elif options.bars is not None or options.hand != "both":
        why = "no note stands in what is to be looked at (--bars, --hand)"
    elif options.parts == ("all",):
        why = "no part has a note with a pitch"
    else:
        why = "the part that is looked at has no notes" if options.parts is None else "the parts that are named have no notes"
    others = "" if options.parts == ("all",) else "; --parts NAME or --parts all looks at others"
    error = ScoreError(f"{why}: this score has {_part_names(score)}{others}")
    return error if score.document is None else ScoreError(str(error.at(score.document.name)))


def parts_looked_at(score: Score, options: Options) -> tuple[Part, ...]:
    """Return the keyboard parts, or those that the options name."""
    if options.parts is None:
        return tuple(part for part in score.parts if part.keyboard)
    if options.parts == ("all",):
        return score.parts
    wanted = {name.casefold() for name in options.parts}
    chosen = tuple(part for part in (_named(part, wanted) for part in score.parts) if part is not None)
    if not chosen:
        raise UsageError(f"no part is called {', '.join(options.parts)}: this score has {_part_names(score)}")
    return chosen


def _named(part: Part, wanted: set[str]) -> Part | None:
    """Return a part that is called so; of a piano in two parts, where only one of them is, with that one's notes alone."""
    staves = {staff for staff, half in enumerate(part.halves or ((part.id, part.name),), 1) if {name.casefold() for name in half} & wanted}
    if not staves:
        return None
    if len(staves) == len(part.halves) or not part.halves:
        return part
    return replace(part, notes=tuple(note for note in part.notes if note.staff in staves))


def _part_names(score: Score) -> str:
    return ", ".join(name for part in score.parts for name in part.names)


def notes_looked_at(part: Part, options: Options) -> list[Note]:
    """Return the notes of a part that stand in the bars and the hand asked for, in document order."""
    within = frozenset(bar for bars in stretches(part, options.bars) for bar in bars)
    notes = [note for note in part.notes if note.bar in within]
    return notes if options.hand == "both" else [note for note in notes if hand_of(part, note) == options.hand]


def stretches(part: Part, asked: Bars | None) -> list[range]:
    """Return the indices of the bars asked for, in order; stretches that meet are one. A ``UsageError`` says what is not there."""
    if asked is None:
        return [range(len(part.bars))]
    numbers = [bar.number for bar in part.bars]
    found: list[range] = []
    for bars in sorted((_stretch(numbers, *ends) for ends in asked), key=lambda bars: bars.start):
        if found and bars.start <= found[-1].stop:
            found[-1] = range(found[-1].start, max(found[-1].stop, bars.stop))
        else:
            found.append(bars)
    return found


def _stretch(numbers: Sequence[str], first: str, last: str) -> range:
    """Return the indices of the bars from one printed number to another; an empty one is an open end.

    They go from the first bar so numbered to the next one, from there on, that bears the last number, and to those right behind it that
    bear it too (a bar split at a repeat).

    >>> _stretch(["0", "1", "2", "2", "3", "1", "2"], "1", "2")
    range(1, 4)
    """
    for number in (first, last):
        if number and number not in numbers:
            raise UsageError(f"there is no bar {number}: the bars go from {numbers[0]} to {numbers[-1]}")
    start = numbers.index(first) if first else 0
    if not last:
        return range(start, len(numbers))
    if last not in numbers[start:]:
        raise UsageError(f"bars {first}-{last} run backwards: give the first bar first")
    stop = numbers.index(last, start) + 1
    while stop < len(numbers) and numbers[stop] == last:
        stop += 1
    return range(start, stop)
