"""For each kind of figure in a piece one example from the piece itself, engraved small.

Rule
----
* The example is the first figure of its kind that lies, with the model it points to, in two bars; it is shown as it stands in the score.
* Where none does, the first figure's beginning is shown: its first two bars are looked at as a piece of their own.
* Where that is no figure by itself, up to four bars are shown whole.
* Where its model is farther away than that (= bar 3), the bracket stands over the notes of its first two bars and nothing is grey: what
  is not on the page cannot be read off it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.registry import KINDS
from annotator.marks.finding import find_figures
from annotator.marks.marking import Markings, markings
from annotator.marks.report import Report
from annotator.marks.style import Style
from annotator.music.score import Bar, Note, Part, Score
from annotator.options.settings import Options
from annotator.products.excerpts import Excerpt, Snippet, carried, engrave_snippet, excerpt
from annotator.products.handout.facts import Spans
from annotator.products.handout.look_through import bars_of, spans_of
from annotator.reading.document import Document

FEW, MANY = 2, 4  # bars of an example, and at most
SMALL_UNIT = 7.5


@dataclass(frozen=True, slots=True)
class Example:
    """One kind of figure: how often and in which bars it stands, and the picture of one of them."""

    kind: str
    times: int
    bars: Spans
    picture: Snippet


@dataclass(frozen=True, slots=True)
class Source:
    """What examples are taken from: the piece, what was found in it and how, the look of the pictures and their greatest width in mm."""

    document: Document
    score: Score
    report: Report
    options: Options
    style: Style
    width: float


def examples(source: Source) -> tuple[Example, ...]:
    """Return an example of each kind found, in the order of the vocabulary."""
    by_kind: dict[str, list[tuple[str, Figure]]] = {}
    for name, figure in source.report.figures:
        by_kind.setdefault(figure.kind, []).append((name, figure))
    found = []
    for kind in KINDS:
        figures = by_kind.get(kind.name)
        if figures:
            bars = _part(source.score, figures[0][1]).bars
            where = spans_of((index for _, figure in figures for index in bars_of(figure)), bars)
            found.append(Example(kind.name, len(figures), where, picture_of(source, figures, f"{kind.name}-")))
    return tuple(found)


def picture_of(source: Source, figures: list[tuple[str, Figure]], prefix: str) -> Snippet:
    """Return the picture of the first of some figures of one kind that can be shown well. Ids in it begin with a prefix."""
    little, marked = _chosen(source, figures)
    _strip(little.document)
    labels = "fit" if source.style.labels in ("blank", "none") else source.style.labels
    style = replace(source.style, unit=min(source.style.unit, SMALL_UNIT), labels=labels)
    return engrave_snippet(little.document, little.score, marked, style, source.width, source.options.language, prefix)


def _strip(document: Document) -> None:
    """Take tempo, loudness and all other directions off an example, but for ottava lines, which say where its notes are."""
    for direction in list(document.tree.getroot().iter("direction")):
        if direction.find("direction-type/octave-shift") is None:
            direction.getparent().remove(direction)


def _chosen(source: Source, figures: list[tuple[str, Figure]]) -> tuple[Excerpt, Markings]:
    """Return the bars to show and the one mark on them (see the module's rule)."""
    for most in (FEW, MANY):
        for name, figure in figures:
            found = _whole(source, name, figure, most)
            if found:
                return found
        found = _beginning(source, figures[0][1]) if most == FEW else None
        if found:
            return found
    return _dark(source, *figures[0])


def _whole(source: Source, name: str, figure: Figure, most: int) -> tuple[Excerpt, Markings] | None:
    """Show a figure with its model, if they stand in so few bars."""
    notes = [*figure.struck, *(note for moment in figure.model for note in moment)]
    first, last = min(note.bar for note in notes), max(note.bar for note in notes)
    if last - first >= most:
        return None
    little = _cut(source, figure, first, last, notes)
    report = carried(source.report, little)
    own = tuple(each for each in report.figures if each[0] == name)
    return (little, markings(replace(report, figures=own), little.score)) if own else None


def _beginning(source: Source, figure: Figure) -> tuple[Excerpt, Markings] | None:
    """Show the beginning of a long figure as the figure that it is by itself."""
    first = figure.moments[0][0].bar
    last = min(first + FEW - 1, len(_part(source.score, figure).bars) - 1)
    little = _cut(source, figure, first, last, [note for note in figure.struck if note.bar <= last])
    options = replace(source.options, kinds=(figure.kind,), without=(), hand="both", bars=None)
    report = find_figures(little.score, options)
    own = next((each for each in report.figures if each[1].hand == figure.hand), None)
    return (little, markings(replace(report, figures=(own,)), little.score)) if own else None


def _dark(source: Source, name: str, figure: Figure) -> tuple[Excerpt, Markings]:
    """Show the first bars of a figure under its bracket, nothing grey."""
    first = figure.moments[0][0].bar
    last = min(first + FEW - 1, bars_of(figure)[-1])
    little = _cut(source, figure, first, last, [note for note in figure.struck if note.bar <= last])
    own = {note.number: note for part in little.score.parts for note in part.notes}
    twins = {number: own[place] for number, place in little.notes.items()}
    only = replace(source.report, figures=((name, figure),))
    mark = markings(only, source.score).marks[0]
    notes = tuple(twins[note.number] for note in mark.notes if note.number in twins)
    changes = tuple((twins[note.number], text) for note, text in mark.changes if note.number in twins)
    ends = notes[0], twins.get(mark.last.number, notes[-1])
    moved = replace(mark, first=ends[0], last=ends[1], notes=notes, changes=changes, staff=ends[0].staff)
    return little, Markings((moved,), frozenset(), frozenset(note.number for note in notes))


def _cut(source: Source, figure: Figure, first: int, last: int, notes: Iterable[Note]) -> Excerpt:
    """Return the bars from one index to another, of one hand where all that is to be seen is that hand's."""
    part = _part(source.score, figure)
    bars: tuple[Bar, ...] = part.bars
    hands = {hand_of(part, note) for note in notes}
    hand = hands.pop() if len(hands) == 1 and part.staves > 1 else "both"
    return excerpt(source.document, source.score, bars[first].number, bars[last].number, hand, (part.name or part.id,))


def _part(score: Score, figure: Figure) -> Part:
    return next(part for part in score.parts if part.id == figure.part)
