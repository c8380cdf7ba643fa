"""The cover: which of the figures found are shown, so that the least is left to read.

Rule
----
Each note is in at most one figure, and the cover is the set of figures that is worth most. A figure is worth its grey notes, less what its
label costs to read (1; 2 for the copies that are moved, turned round or taken from the other hand), and 1 more for each chord that an
accompaniment names, or an arpeggio that both hands share. One that saves fewer than ``saves`` notes is not shown: a label that saves two
notes is clutter. Ties: a named pattern before a copy, then the longer figure, then the order of the vocabulary. What does not obey the law
(``annotator.figures.law``) is never chosen. Source: common practice, no source; the numbers were measured against readers.

Method
------
All notes are put in order of time, and a figure claims some of them: bits, counted from its first note. Figures that share notes, directly
or through others, form a component; components are solved apart. Within one, the figures are taken up one by one, by their first notes;
what matters of the figures taken so far is only which of the coming notes they hold (bits again) and what they are worth. States with the
same bits keep the better one, and a state that holds more and is worth less than another is dropped. On a single line this is weighted
interval scheduling; figures that pass between voices or hands are met exactly too. The result is the true optimum and does not depend on
the order in which figures were found.

The bound: where many voices hang together the states multiply. Of more than ``MOST_STATES`` those worth most are kept, of equals those that
hold the earlier notes; what is chosen then is still a cover without a shared note, but may be short of the best.

The law is asked only of what would be chosen, for it takes longer than the choice: where a figure fails, its component is chosen from anew
without it. That is the optimum of the lawful ones, as the best of all is also the best of those among which it stands. The same is done
where a figure does not follow once all the others are shown: a model is grey itself, or a sign that altered a note.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Sequence
from operator import itemgetter
from typing import Any, NamedTuple

from annotator.figures.figure import Figure
from annotator.figures.registry import KINDS, KINDS_BY_NAME

FEWEST = 3  # notes that a label must save, unless asked otherwise
MOST_STATES = 256  # of 46 real scores none needs more than 55

Worth = tuple[int, int, int, int]
"""What a set of figures is worth: points, notes in named patterns, length (sum of squares), place in the vocabulary (higher is better)."""

Numbers = tuple[int, ...]
"""The numbers of a figure's notes, in their order."""

Picks = tuple[Any, ...]
"""A chain of picks: the last claim and the chain before it, or nothing."""

State = tuple[Worth, Picks]

Law = Callable[[Figure], bool]
"""Says of a figure whether every grey note of it follows from what stays on the page."""

Together = Callable[[Sequence[Figure]], Iterable[Figure]]
"""Returns those of some figures whose grey notes follow where all of them are shown."""

Solved = tuple[list["Claim"], list["Claim"]]
"""The claims of a component, and the best of them."""

NOTHING: Worth = (0, 0, 0, 0)
ORDER = {kind.name: place for place, kind in enumerate(KINDS)}


class Claim(NamedTuple):
    """A figure that stands for choice, and the notes it claims. Claims are in order of their first notes, then of the figures.

    ``first`` is the place of its first note among the notes of all figures, ``place`` its own among the figures. ``bits`` are its notes,
    the first of them the lowest bit; ``numbers`` are theirs in the document.
    """

    first: int
    place: int
    bits: int
    worth: Worth
    numbers: Numbers
    figure: Figure


def worth(figure: Figure) -> Worth:
    """Return what one figure adds to the worth of a cover."""
    kind = KINDS_BY_NAME[figure.kind]
    points = len(figure.grey) - kind.label_cost + _chords_named(figure)
    return points, 0 if kind.repeat else len(figure.struck), len(figure.struck) ** 2, -ORDER[figure.kind]


def _chords_named(figure: Figure) -> int:
    """Return how many chords a figure names as an accompaniment; an arpeggio that passes between the hands is one line with one name."""
    if KINDS_BY_NAME[figure.kind].harmony:
        return len(figure.changes)
    return int(figure.kind == "arpeggio" and len({note.staff for note in figure.struck}) > 1)


def saves_enough(figure: Figure, saves: int) -> bool:
    """Return whether a figure may be shown: it is worth something and saves so many notes, a chord that is asked for at least one."""
    if not KINDS_BY_NAME[figure.kind].default:
        return len(figure.grey) > 0
    return len(figure.grey) >= saves and worth(figure)[0] > 0


def choose(
    candidates: Iterable[Figure], holds: Law | None = None, saves: int = FEWEST, together: Together | None = None
) -> tuple[Figure, ...]:
    """Return the figures to show, in order of time. ``holds`` is the law of one, ``together`` that of all: without them, all obey.

    No copy is shown whose named model is itself such a copy, of what lies before it: the reader would be sent from bar to bar.
    """
    claims = claim_notes(_in_order(figure for figure in candidates if saves_enough(figure, saves)))
    law = holds or _anything
    solved = _best(claims, law)
    while True:
        chosen = sorted(_chosen(solved), key=itemgetter(1))
        lost = _stranded(chosen)
        if not lost:
            figures = tuple(claim.figure for claim in chosen)
            kept = {id(figure) for figure in (together(figures) if together else figures)}
            lost = {claim.place for claim in chosen if id(claim.figure) not in kept}
        if not lost:
            return figures
        solved = _without(solved, lost, law)


def _chosen(solved: Iterable[Solved]) -> list[Claim]:
    """Return the claims that are best in some components."""
    return [claim for _, best in solved for claim in best]


def _without(solved: Iterable[Solved], lost: Container[int], law: Law) -> list[Solved]:
    """Return components without the claims of some places; those that had any of them are chosen from anew."""
    again: list[Solved] = []
    for component, best in solved:
        left = [claim for claim in component if claim.place not in lost]
        again += [(component, best)] if len(left) == len(component) else _best(left, law)
    return again


def _anything(figure: Figure) -> bool:
    return True


def _best(component: list[Claim], law: Law) -> list[Solved]:
    """Return a component, or what it falls into without the figures that break the law, each with its best lawful claims."""
    found: list[Solved] = []
    for part in components(component):
        best = _solve(part)
        failing = {claim.place for claim in best if not law(claim.figure)}
        found += _best([claim for claim in part if claim.place not in failing], law) if failing else [(part, best)]
    return found


def _in_order(figures: Iterable[Figure]) -> list[tuple[Numbers, Figure]]:
    """Return figures without doubles, each with its notes, in an order that depends on nothing but themselves."""
    unique: dict[tuple[object, ...], tuple[Numbers, Figure]] = {}
    for figure in figures:
        numbers = tuple([note.number for note in figure.struck])
        dark = frozenset([note.number for note in figure.anchors])
        unique.setdefault((figure.kind, numbers, dark, _model(figure)), (numbers, figure))
    return sorted(unique.values(), key=_sort_key)


def _model(figure: Figure) -> tuple[object, ...]:
    """Return where a figure's model is, if it has one: how far it reaches, and by which bars it is named."""
    return (figure.model[0][0].number, len(figure.model), figure.model_bars or ()) if figure.model else ()


def _sort_key(numbered: tuple[Numbers, Figure]) -> tuple[object, ...]:
    """Return a key by time, then length, kind and notes."""
    numbers, figure = numbered
    first = figure.struck[0]
    nameless = figure.scale is None and figure.chord is None  # of two that say the same, the one with a name goes first
    named = ORDER[figure.kind], numbers, len(figure.anchors), nameless, repr(figure.scale), _model(figure)
    return first.part, first.tick, -len(numbers), *named


def _stranded(chosen: Iterable[Claim]) -> set[int]:
    """Return the places of copies of earlier bars whose model itself points to an earlier one, or of those pointers: what greys less.

    A model may point to what lies within it, or after its beginning: who reads the model has been there.
    """
    named = [claim for claim in chosen if claim.figure.model_bars is not None]
    pointers = {number: claim for claim in named for number in claim.numbers}
    stranded: set[int] = set()
    for claim in named:
        model = [note.number for moment in claim.figure.model for note in moment]
        start = claim.figure.model[0][0].tick
        met = [pointers[number] for number in model if number in pointers]
        found = {pointer.place: pointer for pointer in met if pointer.figure.model[0][0].tick < start}
        if found:
            less = sum(len(pointer.figure.grey) for pointer in found.values()) < len(claim.figure.grey)
            stranded |= set(found) if less else {claim.place}
    return stranded


def claim_notes(figures: Sequence[tuple[Numbers, Figure]]) -> list[Claim]:
    """Return the claims of figures, in order of their first notes, then of the figures themselves."""
    ticks = {note.number: note.tick for _, figure in figures for note in figure.struck}
    place = {number: i for i, number in enumerate(sorted(sorted(ticks), key=ticks.__getitem__))}
    claims = []
    for i, (numbers, figure) in enumerate(figures):
        places = [place[number] for number in numbers]
        first = min(places)
        bits = 0
        for each in places:
            bits |= 1 << each - first
        claims.append(Claim(first, i, bits, worth(figure), numbers, figure))
    return sorted(claims)


def components(claims: Iterable[Claim]) -> list[list[Claim]]:
    """Split claims, in order of their first notes, into groups that share no note with each other, keeping their order."""
    done: list[list[Claim]] = []
    groups: list[tuple[int, int, list[Claim]]] = []  # a place, the notes held from there on as bits, the claims so far
    for claim in claims:
        held, own = claim.bits, [claim]
        others = []
        for place, bits, members in groups:
            coming = bits >> claim.first - place
            if coming & claim.bits:
                held |= coming
                own += members
            elif coming:
                others.append((claim.first, coming, members))
            else:
                done.append(members)
        groups = [*others, (claim.first, held, own)]
    return [sorted(members) for members in [*done, *[members for _, _, members in groups]]]


def _solve(component: list[Claim]) -> list[Claim]:
    """Return the best disjoint subset of one component, by dynamic programming over the notes still to come."""
    if len(component) == 1 and component[0].worth > NOTHING:
        return component
    states: dict[int, State] = {0: (NOTHING, ())}
    before = component[0].first
    for claim in component:
        if claim.first > before:
            states = _forget(states, claim.first - before)
            before = claim.first
        for held, (value, picked) in list(states.items()):
            if held & claim.bits:
                continue
            total = _plus(value, claim.worth)
            known = states.get(held | claim.bits)
            if known is None or total > known[0]:
                states[held | claim.bits] = (total, (claim, picked))
    _, best = max(states.values(), key=itemgetter(0))
    return _unlink(best)


def _plus(one: Worth, other: Worth) -> Worth:
    """Return what two sets without a common note are worth together."""
    return one[0] + other[0], one[1] + other[1], one[2] + other[2], one[3] + other[3]


def _unlink(picked: Picks) -> list[Claim]:
    """Flatten a chain of picks (last, (one before, …)) into a list in order."""
    chain: list[Claim] = []
    link = picked
    while link:
        chain.append(link[0])
        link = link[1]
    return chain[::-1]


def _forget(states: dict[int, State], past: int) -> dict[int, State]:
    """Drop the notes that are past from every state, merge what has become equal, and drop what is beaten or beyond the bound."""
    merged: dict[int, State] = {}
    for held, state in states.items():
        coming = held >> past
        known = merged.get(coming)
        if known is None or state[0] > known[0]:
            merged[coming] = state
    best: dict[int, State] = {}
    for held, state in sorted(merged.items(), key=_value, reverse=True)[:MOST_STATES]:
        if not any(other & held == other for other in best):
            best[held] = state
            if not held:  # what is worth less than to hold nothing is beaten
                break
    return best


def _value(item: tuple[int, State]) -> tuple[Worth, int]:
    """Return what a state is worth; of equals, the one that holds the earlier notes counts more."""
    return item[1][0], -item[0]
