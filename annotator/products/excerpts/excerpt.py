"""Some bars of a score, of both hands or one, as a little score of its own: cut out of a copy of its document, and read from that.

Conventions: bars are told by their indices in the whole. Printed bar numbers and the ids of notes stay; the notes are numbered anew.
"""

from __future__ import annotations

import copy
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lxml import etree

from annotator.errors import UsageError
from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.marks.finding import parts_looked_at, stretches
from annotator.marks.report import Report
from annotator.music.score import Note, Part, Score
from annotator.options.settings import Options
from annotator.products.excerpts.cutting import cut_bars, drop_half_slurs, keep_staves, remove, untie
from annotator.reading import Document, read_document
from annotator.reading.parts import as_partwise


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Some bars of a score: a document of their own, and the little ``score`` that is read from it.

    ``origins`` is the number in the whole of each of its notes, by its own number; ``spans`` are the printed numbers of the first and the
    last bar of each stretch.
    """

    document: Document
    score: Score
    origins: Mapping[int, int]
    spans: tuple[tuple[str, str], ...]

    @property
    def twins(self) -> dict[int, Note]:
        """Its notes by the numbers that they have in the whole."""
        return {self.origins[note.number]: note for part in self.score.parts for note in part.notes}


def excerpt_of(document: Document, score: Score, options: Options) -> Excerpt:
    """Return the bars and the hand that the options ask for, of the parts looked at. A ``UsageError`` says what is not there."""
    chosen = parts_looked_at(score, options)
    if not any(part.bars for part in chosen):
        names = ", ".join(name for part in score.parts for name in part.names)
        raise UsageError(f"no keyboard part to cut an excerpt from: name one with --parts; this score has {names}")
    longest = max(chosen, key=lambda part: len(part.bars))
    return cut_out(document, score, stretches(longest, options.bars), options.hand, [part.id for part in chosen])


def cut_out(
    document: Document, score: Score, bars: Sequence[range], hand: str, parts: Collection[str], directions: bool = True
) -> Excerpt:
    """Return the bars with these indices, of ``hand`` (``both``: all staves) and of the parts with these ids.

    Without ``directions`` only those are left that are needed to read the notes: octave lines. The document stays as it is.
    """
    root = copy.deepcopy(document.tree.getroot())
    numbers = {note: number for number, note in enumerate(root.iter("note"), 1)}
    for note, number in numbers.items():
        note.set("id", note.get("id") or f"n{number}")
    root = as_partwise(root) if document.timewise else root
    chosen = [part for part in score.parts if part.id in parts and any(stretch.start < len(part.bars) for stretch in bars)]
    kept = {name: (part, staves) for part in chosen for name, staves in _shares(part, hand)}
    if not kept:
        raise UsageError(f"no staff of this score is the {hand} hand's: leave --hand out")
    remove(each for each in [*root.iterfind("part"), *root.iterfind("part-list/score-part")] if each.get("id", "") not in kept)
    for element in root.iterchildren("part"):
        part, staves = kept[element.get("id", "")]
        cut_bars(element, part.bars, bars)
        if staves is not None:
            keep_staves(element, {str(staff): str(place) for place, staff in enumerate(staves, 1)}, part, numbers)
        drop_half_slurs(element)
    untie(chosen, bars, {numbers[note]: note for note in root.iter("note") if note.find("rest") is None})
    if not directions:
        remove(each for each in root.iter("direction") if each.find("direction-type/octave-shift") is None)
    made = Document(etree.ElementTree(root), document.name)
    origins = {own: numbers[note] for own, note in enumerate(root.iter("note"), 1) if note in numbers}
    little = read_document(made)
    hands = [_with_hands(each, *kept[each.id], hand) for each in little.parts]
    longest = max(chosen, key=lambda part: len(part.bars)).bars
    found = [longest[stretch.start : stretch.stop] for stretch in bars]
    spans = tuple((each[0].number, each[-1].number) for each in found if each)
    return Excerpt(made, replace(little, parts=tuple(hands), repairs=score.repairs), origins, spans)


def _shares(part: Part, hand: str) -> Iterator[tuple[str, list[int] | None]]:
    """Yield the parts of the document that a hand plays of a part, and which of its staves (None: all)."""
    own = [staff for staff in range(1, part.staves + 1) if hand in ("both", "left" if staff in part.left_staves else "right")]
    if part.halves:
        yield from ((part.halves[staff - 1][0], None) for staff in own)
    elif own:
        yield part.id, own if len(own) < part.staves else None


def _with_hands(little: Part, part: Part, staves: list[int] | None, hand: str) -> Part:
    """Return a part that was read from an excerpt with the hands, and the name for a keyboard, that it has in the whole."""
    left = range(1, little.staves + 1) if hand == "left" else part.left_staves if hand == "both" else ()
    return replace(little, keyboard=part.keyboard, left_staves=frozenset(left))


def carried(report: Report, excerpt: Excerpt) -> Report:
    """Return the figures of the whole piece's report that lie wholly in an excerpt, under their own names.

    A figure is carried over if every note it strikes and every note its label points to (the model of a copy, the other hand) is in the
    excerpt, and if it still can be spelled out from what is there. All others are left out, and their notes stay dark.
    """
    twins = excerpt.twins
    bars = {part.id: part.bars for part in excerpt.score.parts}
    moved = ((name, _told_of(figure, twins)) for name, figure in report.figures)
    figures = tuple((name, figure) for name, figure in moved if figure is not None and holds(figure, bars[figure.part]))
    origins = {note.number: note.continues for part in report.score.parts for note in part.notes}

    def is_counted(number: int | None) -> bool:
        """Return whether a note counts in the whole, or one that it is tied from."""
        return number is not None and (number in report.counted or is_counted(origins[number]))

    counted = frozenset(note.number for number, note in twins.items() if note.counted and is_counted(number))
    return Report(excerpt.score, counted, figures, report.language)


def _told_of(figure: Figure, twins: Mapping[int, Note]) -> Figure | None:
    """Return a figure told of an excerpt's notes; None where some are missing, or are struck on one page and tied on in the other."""
    needed = (*figure.struck, *figure.anchors, *(note for moment in figure.model for note in moment))
    if any(note.number not in twins for note in needed) or any(twins[note.number].continues is not None for note in figure.struck):
        return None

    def row(notes: Iterable[Note]) -> tuple[Note, ...]:
        """Return the same notes of the excerpt."""
        return tuple([twins[note.number] for note in notes])

    first = twins[figure.moments[0][0].number]
    return replace(
        figure,
        part=first.part,
        staff=first.staff,
        voice=first.voice,
        moments=tuple([row(moment) for moment in figure.moments]),
        anchors=row(figure.anchors),
        odd=row(figure.odd),
        changes=tuple([change._replace(note=twins[change.note.number]) for change in figure.changes]),
        model=tuple([row(moment) for moment in figure.model]),
        tied=row(note for note in figure.tied if note.number in twins),
    )
