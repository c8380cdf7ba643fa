"""A generated case: a figure planted between neutral material, and all that must be found about it.

Conventions
-----------
* ``tokens`` are the figure's moments in its hand; ``before`` stands directly before them (a model), ``other`` is what the other hand
  plays meanwhile. ``anchors`` are (moment, place from below).
* A layout is one way to plant: the value of a note, the bar, whether the figure starts a bar or crosses a bar line, and what stands around
  it: rests, or long notes a leap away.
* A figure across a bar line has half its moments in the bar before, its first group where the moments come in groups.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby

from figures.lines_from_text import part_of, pitch
from generated.pitches import tonic, word

from annotator.figures.candidates import find_candidates
from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.figures.lines import read_lines
from annotator.figures.registry import KINDS
from annotator.marks.finding import find_figures
from annotator.music.score import Note, Part, Score
from annotator.options.settings import Options
from annotator.words.labels import labels

EIGHTHS, SIXTEENTHS, TRIPLETS = Fraction(1, 2), Fraction(1, 4), Fraction(1, 3)
THIRTY_SECONDS = Fraction(1, 8)
COMMON = Fraction(4)
THREE_FOUR = Fraction(3)

Rhythm = tuple[Fraction, Fraction]
"""Value of a note and length of a bar, in quarters."""
USUAL: tuple[Rhythm, ...] = ((EIGHTHS, COMMON), (SIXTEENTHS, COMMON), (TRIPLETS, COMMON))
BY_TWOS: tuple[Rhythm, ...] = ((EIGHTHS, COMMON), (SIXTEENTHS, COMMON), (THIRTY_SECONDS, COMMON))
BY_THREES: tuple[Rhythm, ...] = ((EIGHTHS, THREE_FOUR), (SIXTEENTHS, THREE_FOUR), (TRIPLETS, COMMON))
LONG = 8  # quarters that a long note after the figure lasts

Place = tuple[int, int]


@dataclass(frozen=True)
class Case:
    """One figure to plant and what is to be found: kind, anchors, label in full length, and ``data`` by field of the figure.

    ``minimal`` says that it has the fewest notes of its kind, ``clear`` that no other kind may say as much about the same notes, so that
    this very figure must be shown.
    """

    kind: str
    hand: str
    fifths: int
    tokens: tuple[str, ...]
    anchors: frozenset[Place]
    label: str
    data: Mapping[str, object] = field(default_factory=dict)
    mode: str | None = None
    before: tuple[str, ...] = ()
    other: tuple[str, ...] = ()
    rhythms: tuple[Rhythm, ...] = USUAL
    group: int | None = None
    minimal: bool = False
    clear: bool = True


@dataclass(frozen=True)
class Layout:
    """One way to plant a case."""

    unit: Fraction
    bar: Fraction
    across: bool
    among_notes: bool


@dataclass(frozen=True)
class Planted:
    """A case in a part: its resolution and the first and last tick (not included) of the figure."""

    part: Part
    resolution: int
    start: int
    stop: int

    def is_inside(self, note: Note, staff: int) -> bool:
        """Whether a note belongs to the planted figure."""
        return note.staff == staff and self.start <= note.tick < self.stop


def whole(*moments: int, notes: int = 1) -> frozenset[Place]:
    """Return the places of whole moments of so many notes each."""
    return frozenset((moment, place) for moment in moments for place in range(notes))


def layouts(case: Case, turn: int) -> Iterator[Layout]:
    """Yield each rhythm of a case, in one of the four ways to start and to surround it; ``turn`` counts the cases."""
    for number, (unit, bar) in enumerate(case.rhythms):
        way = turn + number
        yield Layout(unit, bar, way % 2 == 0, way // 2 % 2 == 0)


def one_layout(case: Case, turn: int) -> Layout:
    """Return one of a case's layouts, another with each ``turn``."""
    return list(layouts(case, turn))[turn % len(case.rhythms)]


def in_each_key(cases: Iterable[Case], count: int) -> list[Case]:
    """Return so many cases for each signature and hand, other shapes in each, so that over all keys every shape comes."""
    chosen: list[Case] = []
    for number, (_, group) in enumerate(groupby(cases, key=lambda case: (case.fifths, case.hand))):
        choice = list(group)
        first = number * count + number // len(choice)
        chosen += [choice[(first + place) % len(choice)] for place in range(min(count, len(choice)))]
    return chosen


def length(tokens: Sequence[str]) -> Fraction:
    """Return how long tokens last, in units."""
    return sum((Fraction(token.partition("*")[2] or 1) for token in tokens), Fraction(0))


def lead(case: Case, layout: Layout) -> Fraction:
    """Return how long it is, in quarters, to where the figure (or what stands before it) begins."""
    if not layout.across:
        return layout.bar
    before_the_line = case.group or max(1, len(case.tokens) // 2)
    start = 2 * layout.bar - before_the_line * layout.unit
    while start <= 0:
        start += layout.bar
    return start


def plant(case: Case, layout: Layout, cuts: frozenset[int] = frozenset()) -> Planted:
    """Return the part in which a case is planted."""
    first = lead(case, layout)
    inside = [*case.before, *case.tokens]
    opening, closing = f"r*{first / layout.unit}", f"r*{LONG / layout.unit}"
    if layout.among_notes:
        low, high = _far_notes(case, inside)
        opening, closing = low + opening[1:], high + closing[1:]
    own = " ".join([opening, *inside, closing])
    other = " ".join([f"r*{first / layout.unit}", *case.other]) if case.other else ""
    hands = (own, other) if case.hand == "right" else (other, own)
    part, resolution = part_of(*hands, unit=layout.unit, bar=layout.bar, fifths=case.fifths, mode=case.mode, cuts=cuts)
    start = first + length(case.before) * layout.unit
    stop = start + length(case.tokens) * layout.unit
    return Planted(part, resolution, int(start * resolution), int(stop * resolution))


def _far_notes(case: Case, inside: Sequence[str]) -> tuple[str, str]:
    """Return the raised tonic more than an octave below, and more than an octave above, all notes of the figure: no note of its chord."""
    numbers = [pitch(one).diatonic for token in inside for one in token.partition("*")[0].rstrip("~").split("/") if one != "r"]
    one = tonic(case.fifths, case.mode == "minor", 0)
    low = max(d for d in range(one[0] - 70, min(numbers) - 8, 7))
    high = next(d for d in range(one[0], 140, 7) if d > max(numbers) + 8)
    return word((low, one[1] + 1)), word((high, one[1] + 1))


def candidates(planted: Planted, kind: str) -> list[Figure]:
    """Return the lawful figures of one kind, all kinds that are on by default being looked for."""
    options = Options(kinds=(kind,) if kind == "block-chord" else None)
    found = find_candidates(read_lines(planted.part, planted.resolution), options)
    return [figure for figure in found if figure.kind == kind and holds(figure, planted.part.bars)]


def places(figure: Figure, notes: Sequence[Note]) -> frozenset[Place]:
    """Return where in a figure some of its notes are."""
    numbers = {note.number for note in notes}
    return frozenset(
        (moment, place)
        for moment, struck in enumerate(figure.moments)
        for place, note in enumerate(struck)
        if note.number in numbers
    )


def faults(case: Case, planted: Planted, figure: Figure) -> list[str]:
    """Return what is wrong about a figure that was found, in words; nothing where all is right."""
    staff = 1 if case.hand == "right" else 2
    expected = [note.number for note in planted.part.notes if planted.is_inside(note, staff) and note.continues is None]
    wrong = []
    if sorted(note.number for note in figure.struck) != expected:
        wrong.append(f"notes {[note.number for note in figure.struck]} for {expected}")
    if places(figure, figure.anchors) != case.anchors:
        wrong.append(f"anchors {sorted(places(figure, figure.anchors))} for {sorted(case.anchors)}")
    if labels(figure)[0] != case.label:
        wrong.append(f"label {labels(figure)[0]!r} for {case.label!r}")
    if figure.hand != case.hand:
        wrong.append(f"hand {figure.hand}")
    for name, value in case.data.items():
        found = tuple(change.chord for change in figure.changes) if name == "chords" else getattr(figure, name)
        if found != value:
            wrong.append(f"{name} {found!r} for {value!r}")
    return wrong


def complaint(case: Case, layout: Layout) -> str | None:
    """Return why a planted case is not among the lawful figures as it should be, or None."""
    planted = plant(case, layout)
    found = candidates(planted, case.kind)
    judged = [faults(case, planted, figure) for figure in found]
    if [] not in judged:
        return f"{told(case, layout)}: {min(judged, key=len, default=['nothing of this kind found'])}"
    staff = 1 if case.hand == "right" else 2
    if any(not planted.is_inside(note, staff) for figure in found for note in figure.struck) and not case.before:
        return f"{told(case, layout)}: goes beyond what was planted"
    return None


def complaint_about_page(case: Case, layout: Layout) -> str | None:
    """Return why a planted case is not the one figure shown on its notes, or None."""
    planted = plant(case, layout)
    copies = tuple(kind.name for kind in KINDS if kind.repeat and kind.name != case.kind)  # they may say a part of it more shortly
    options = Options(kinds=(case.kind,) if case.kind == "block-chord" else None, without=copies, saves=2)
    report = find_figures(Score("", "", (planted.part,), planted.resolution), options)
    staff = 1 if case.hand == "right" else 2
    shown = [figure for _, figure in report.figures if any(planted.is_inside(note, staff) for note in figure.struck)]
    if [figure.kind for figure in shown] != [case.kind]:
        return f"{told(case, layout)}: shown {[(figure.kind, len(figure.struck)) for figure in shown]}"
    wrong = faults(case, planted, shown[0])
    return f"{told(case, layout)}: {wrong}" if wrong else None


def told(case: Case, layout: Layout) -> str:
    """Return a case and its layout in words, for a message."""
    where = "across a bar line" if layout.across else "from a bar line"
    around = "among long notes" if layout.among_notes else "among rests"
    tokens = " ".join([*case.before, *([">"] if case.before else []), *case.tokens])
    return f"{case.kind}, {case.hand} hand, {case.fifths} sharps, notes of {layout.unit}, {where}, {around}: {tokens}"
