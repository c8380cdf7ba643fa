"""The cover: which of the figures found are shown, so that the least is left to read.

Rule
----
Every dark note costs 1 and every label costs 1; a note is in at most one figure. So a figure saves its grey notes less one, and the
cover is the set of figures without a common note that saves most. Ties: the longer figure, then the order of the vocabulary.
What does not obey the law (``annotator.figures.law``) is never chosen.
A named harmony beats a mere repeat: where an accompaniment figure stands, or an arpeggio that passes from hand to hand, repeats and
sequences do not compete for its notes.

Method
------
All notes are put in order of time, and a figure claims some of them: bits, counted from its first note. Figures that share notes, directly
or through others, form a component; components are solved apart. Within one, the figures are taken up one by one, by their first notes;
what matters of the figures taken so far is only which of the coming notes they hold (bits again) and what they save. States with the same
bits keep the better one, and a state that holds more and saves less than another is dropped. On a single line this is weighted interval
scheduling; figures that pass between voices or hands are met exactly too. The result is the true optimum and does not depend on the order
in which figures were found. A component that is met again, as most are when repeats join the harmonies, is not solved again.

The law is asked only of what would be chosen, for it takes longer than the choice: where a figure fails, its component is chosen from anew
without it. That is the optimum of the lawful ones, as the best of all is also the best of those among which it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from operator import attrgetter, itemgetter
from typing import Any, NamedTuple

from annotator.figures.figure import Figure
from annotator.figures.registry import KINDS, KINDS_BY_NAME

Worth = tuple[int, int, int]
"""What a set of figures is worth: notes saved, then length (sum of squares), then place in the vocabulary (higher is better)."""

Numbers = tuple[int, ...]
"""The numbers of a figure's notes, in their order."""

Picks = tuple[Any, ...]
"""A chain of picks: the last claim and the chain before it, or nothing."""

State = tuple[Worth, Picks]

Law = Callable[[Figure], bool]
"""Says of a figure whether every grey note of it follows from what stays on the page."""

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


class Best:
    """The best sets of the claims of one part: what was found of a component, and what the law said of a figure, is remembered."""

    def __init__(self, holds: Law | None) -> None:
        self._holds = holds
        self._said: dict[int, bool] = {}
        self._solved: dict[tuple[int, ...], list[Claim]] = {}

    def of(self, claims: Iterable[Claim]) -> list[Claim]:
        """Return the disjoint subset of lawful claims that is worth most. Their order breaks what ties remain."""
        return [claim for component in components(claims) for claim in self.of_component(component)]

    def of_component(self, component: list[Claim]) -> list[Claim]:
        """Return the best subset of claims that hang together."""
        places = tuple([claim.place for claim in component])
        best = self._solved.get(places)
        if best is None:
            best = _solve(component)
            failing = {claim.place for claim in best if not self._lawful(claim)}
            if failing:
                best = self.of([claim for claim in component if claim.place not in failing])
            self._solved[places] = best
        return best

    def _lawful(self, claim: Claim) -> bool:
        """Return whether a figure obeys."""
        said = self._said.get(claim.place)
        if said is None:
            said = self._said[claim.place] = self._holds is None or self._holds(claim.figure)
        return said


_worth = attrgetter("worth")


def saving(figure: Figure) -> int:
    """Return how many notes fewer are left to read when the figure is shown: its grey notes less one for the label."""
    return len(figure.grey) - 1


def worth(figure: Figure) -> Worth:
    """Return what one figure adds to the worth of a cover."""
    return saving(figure), len(figure.struck) ** 2, -ORDER.get(figure.kind, 0)


def choose(candidates: Iterable[Figure], holds: Law | None = None, saves: int = 2) -> tuple[Figure, ...]:
    """Return the figures to show, in order of time. ``holds`` is the law: without it, all are taken to obey.

    ``saves`` is the fewest grey notes that a figure must have.

    Named harmonies are settled first, among all figures but repeats; then everything else, on the notes these leave free.
    """
    claims = claim_notes(_in_order(figure for figure in candidates if len(figure.grey) >= saves))
    best = Best(holds)
    harmonies = list(_harmonies(claims, best))
    taken = {number for claim in harmonies for number in claim.numbers}
    free = [claim for claim in claims if taken.isdisjoint(claim.numbers)] if taken else claims
    while True:
        chosen = tuple([claim.figure for claim in sorted([*harmonies, *best.of(free)], key=itemgetter(1))])
        stranded = {id(figure) for figure in _stranded(chosen)}
        if not stranded:
            return chosen
        free = [claim for claim in free if id(claim.figure) not in stranded]


def _harmonies(claims: Iterable[Claim], best: Best) -> Iterator[Claim]:
    """Yield the named harmonies that are chosen where no repeat competes; only where there is one is it asked what is best."""
    for component in components([claim for claim in claims if not KINDS_BY_NAME[claim.figure.kind].repeat]):
        if any(_names_a_harmony(claim.figure) for claim in component):
            yield from (claim for claim in best.of_component(component) if _names_a_harmony(claim.figure))


def _names_a_harmony(figure: Figure) -> bool:
    """Return whether a figure is a named harmony that repeats leave alone: an accompaniment, or an arpeggio that both hands share.

    The arpeggio is one line for the eye; a repeat of each hand's share of it would be two labels that tear it apart.
    """
    across = figure.kind == "arpeggio" and len({note.staff for note in figure.struck}) > 1
    return KINDS_BY_NAME[figure.kind].harmony or across


def _in_order(figures: Iterable[Figure]) -> list[tuple[Numbers, Figure]]:
    """Return figures without doubles, each with its notes, in an order that depends on nothing but themselves."""
    unique: dict[tuple[str, Numbers, Numbers], Figure] = {}
    for figure in figures:
        dark = tuple(sorted([note.number for note in figure.anchors]))
        unique.setdefault((figure.kind, tuple([note.number for note in figure.struck]), dark), figure)
    return sorted([(numbers, figure) for (_, numbers, _), figure in unique.items()], key=_sort_key)


def _sort_key(numbered: tuple[Numbers, Figure]) -> tuple[object, ...]:
    """Return a key by time, then length, kind and notes."""
    numbers, figure = numbered
    first = figure.struck[0]
    nameless = figure.scale is None and figure.chord is None  # of two that say the same, the one with a name goes first
    order = ORDER.get(figure.kind, 0)
    return first.part, first.tick, -len(numbers), order, numbers, len(figure.anchors), nameless, repr(figure.scale)


def _stranded(chosen: Sequence[Figure]) -> list[Figure]:
    """Return repeats of an earlier bar whose model is itself no more than a pointer to a still earlier one."""
    pointers: set[int] = set()
    for figure in chosen:
        if KINDS_BY_NAME[figure.kind].repeat and figure.model_bar is not None:
            pointers.update(note.number for note in figure.struck)
    return [
        figure
        for figure in chosen
        if figure.model_bar is not None and any(note.number in pointers for moment in figure.model for note in moment)
    ]


def claim_notes(figures: Sequence[tuple[Numbers, Figure]]) -> list[Claim]:
    """Return the claims of figures, in order of their first notes, then of the figures themselves."""
    ticks = {note.number: note.tick for _, figure in figures for note in figure.struck}
    place = {number: i for i, number in enumerate(sorted(sorted(ticks), key=ticks.__getitem__))}
    claims = []
    for i, (numbers, figure) in enumerate(figures):
        places = tuple(map(place.__getitem__, numbers))
        first = min(places)
        bits = 0
        for each in places:
            bits |= 1 << each - first
        claims.append(Claim(first, i, bits, worth(figure), numbers, figure))
    return sorted(claims)


def components(claims: Iterable[Claim]) -> list[list[Claim]]:
    """Split claims, which are in order, into groups that share no note with each other, keeping their order.

    ``near`` are the groups with notes still to come, each with those notes as bits.
    """
    apart: list[list[Claim]] = []
    near: list[tuple[int, list[Claim]]] = []
    before = 0
    for claim in claims:
        bits, group, still = claim.bits, [claim], []
        for held, others in near:
            coming = held >> claim.first - before
            if coming & bits:
                bits |= coming
                group += others
            elif coming:
                still.append((coming, others))
            else:
                apart.append(others)
        near = [*still, (bits, group)]
        before = claim.first
    apart.extend(group for _, group in near)
    return [sorted(group) for group in apart]


def _solve(component: list[Claim]) -> list[Claim]:
    """Return the best disjoint subset of one component, by dynamic programming over the notes still to come."""
    if len(component) < 3:  # of two that share a note
        return [max(component, key=_worth)]
    states: dict[int, State] = {0: ((0, 0, 0), ())}
    before = component[0].first
    for claim in component:
        states = _forget(states, claim.first - before)
        before, bits, gain = claim.first, claim.bits, claim.worth
        for held, (value, picked) in list(states.items()):
            if held & bits:
                continue
            total = (value[0] + gain[0], value[1] + gain[1], value[2] + gain[2])
            known = states.get(held | bits)
            if known is None or total > known[0]:
                states[held | bits] = (total, (claim, picked))
    _, best = max(states.values(), key=itemgetter(0))
    return _unlink(best)


def _unlink(picked: Picks) -> list[Claim]:
    """Flatten a chain of picks (last, (one before, …)) into a list in order."""
    chain: list[Claim] = []
    link = picked
    while link:
        chain.append(link[0])
        link = link[1]
    return chain[::-1]


def _forget(states: dict[int, State], past: int) -> dict[int, State]:
    """Drop the notes that are past from every state, merge what has become equal, and drop what is beaten outright."""
    merged: dict[int, State] = {}
    for held, state in states.items():
        coming = held >> past
        known = merged.get(coming)
        if known is None or state[0] > known[0]:
            merged[coming] = state
    if len(merged) < 2:
        return merged
    best: dict[int, State] = {}
    for held, state in sorted(merged.items(), key=_value, reverse=True):
        for other in best:
            if other & held == other:
                break
        else:
            best[held] = state
            if not held:  # what is worth less than to hold nothing is beaten
                break
    return best


def _value(item: tuple[int, State]) -> Worth:
    """Return what a state is worth."""
    return item[1][0]
