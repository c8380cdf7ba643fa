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
Figures that share notes, directly or through others, form a component; components are solved apart. Within one, the notes are put in
order of time and the figures are taken up one by one; what matters of the figures taken so far is only which of the coming notes they
hold (a bit mask) and what they save. States with the same mask keep the better one, and a state that holds more and saves less than
another is dropped. On a single line this is weighted interval scheduling; figures that pass between voices or hands are met exactly
too. The result is the true optimum and does not depend on the order in which figures were found.

The law is asked only of what would be chosen, for it takes longer than the choice: where a figure fails, its component is chosen from anew
without it. That is the optimum of the lawful ones, as the best of all is also the best of those among which it stands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from annotator.figures.figure import Figure
from annotator.figures.registry import KINDS, KINDS_BY_NAME

Worth = tuple[int, int, int]
"""What a set of figures is worth: notes saved, then length (sum of squares), then place in the vocabulary (higher is better)."""

Picks = tuple[Any, ...]
"""A chain of picks: the last figure's place and the chain before it, or nothing."""

State = tuple[Worth, Picks]

Law = Callable[[Figure], bool]
"""Says of a figure whether every grey note of it follows from what stays on the page."""

ORDER = {kind.name: place for place, kind in enumerate(KINDS)}


def saving(figure: Figure) -> int:
    """Return how many notes fewer are left to read when the figure is shown: its grey notes less one for the label."""
    return len(figure.grey) - 1


def worth(figure: Figure) -> Worth:
    """Return what one figure adds to the worth of a cover."""
    return saving(figure), len(figure.struck) ** 2, -ORDER.get(figure.kind, 0)


def choose(candidates: Iterable[Figure], holds: Law | None = None) -> tuple[Figure, ...]:
    """Return the figures to show, in order of time. ``holds`` is the law: without it, all are taken to obey.

    Named harmonies are settled first, among all figures but repeats; then everything else, on the notes these leave free.
    """
    ordered = _in_order(figure for figure in candidates if saving(figure) > 0)
    place = {id(figure): number for number, figure in enumerate(ordered)}
    lawful = _asked_once(holds) if holds else None
    harmonies = [f for f in best_set([f for f in ordered if not KINDS_BY_NAME[f.kind].repeat], lawful) if _names_a_harmony(f)]
    taken = {note.number for figure in harmonies for note in figure.struck}
    free = [figure for figure in ordered if not any(note.number in taken for note in figure.struck)]
    while True:
        chosen = tuple(sorted([*harmonies, *best_set(free, lawful)], key=lambda figure: place[id(figure)]))
        stranded = {id(figure) for figure in _stranded(chosen)}
        if not stranded:
            return chosen
        free = [figure for figure in free if id(figure) not in stranded]


def _names_a_harmony(figure: Figure) -> bool:
    """Return whether a figure is a named harmony that repeats leave alone: an accompaniment, or an arpeggio that both hands share.

    The arpeggio is one line for the eye; a repeat of each hand's share of it would be two labels that tear it apart.
    """
    across = figure.kind == "arpeggio" and len({note.staff for note in figure.struck}) > 1
    return KINDS_BY_NAME[figure.kind].harmony or across


def _asked_once(holds: Law) -> Law:
    """Return a law that remembers what it said of a figure."""
    said: dict[int, bool] = {}

    def lawful(figure: Figure) -> bool:
        """Return whether a figure obeys."""
        known = said.get(id(figure))
        if known is None:
            known = said[id(figure)] = holds(figure)
        return known

    return lawful


def best_set(figures: Sequence[Figure], lawful: Law | None = None) -> list[Figure]:
    """Return the disjoint subset of lawful figures that is worth most. The order of ``figures`` breaks what ties remain."""
    chosen: list[Figure] = []
    for component in _components(figures):
        best = component if len(component) == 1 else _solve(component)
        failing = {id(figure) for figure in best if not lawful(figure)} if lawful else None
        if failing:
            best = best_set([figure for figure in component if id(figure) not in failing], lawful)
        chosen.extend(best)
    return chosen


def _in_order(figures: Iterable[Figure]) -> tuple[Figure, ...]:
    """Return figures without doubles in an order that depends on nothing but themselves."""
    unique: dict[tuple[str, tuple[int, ...], tuple[int, ...]], Figure] = {}
    for figure in figures:
        dark = tuple(sorted([note.number for note in figure.anchors]))
        unique.setdefault((figure.kind, tuple([note.number for note in figure.struck]), dark), figure)
    return tuple([figure for _, figure in sorted(unique.items(), key=lambda item: _sort_key(item[1], item[0][1]))])


def _sort_key(figure: Figure, numbers: tuple[int, ...]) -> tuple[object, ...]:
    """Return a key by time, then length, kind and notes, whose numbers are given."""
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


def _components(figures: Sequence[Figure]) -> list[list[Figure]]:
    """Split figures into groups that share no note with each other, keeping their order."""
    parent = list(range(len(figures)))

    def root(i: int) -> int:
        """Return the figure that stands for the group of another."""
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    holder: dict[int, int] = {}
    for i, figure in enumerate(figures):
        for note in figure.struck:
            other = holder.setdefault(note.number, i)
            if other != i:
                parent[root(i)] = root(other)
    groups: dict[int, list[Figure]] = defaultdict(list)
    for i, figure in enumerate(figures):
        groups[root(i)].append(figure)
    return list(groups.values())


def _solve(figures: list[Figure]) -> list[Figure]:
    """Return the best disjoint subset of one component, by dynamic programming over the notes still to come."""
    notes = sorted({(note.tick, note.number) for figure in figures for note in figure.struck})
    place = {number: i for i, (_, number) in enumerate(notes)}
    masked = []
    for i, figure in enumerate(figures):
        mask = 0
        for note in figure.struck:
            mask |= 1 << place[note.number]
        masked.append(((mask & -mask).bit_length() - 1, i, mask, worth(figure)))
    masked.sort(key=lambda item: (item[0], item[1]))
    states: dict[int, State] = {0: ((0, 0, 0), ())}
    for first, i, mask, gain in masked:
        states = _forget(states, first)
        for held, (value, picked) in list(states.items()):
            if held & mask:
                continue
            total = (value[0] + gain[0], value[1] + gain[1], value[2] + gain[2])
            known = states.get(held | mask)
            if known is None or total > known[0]:
                states[held | mask] = (total, (i, picked))
    _, best = max(states.values(), key=lambda state: state[0])
    return [figures[i] for i in _unlink(best)]


def _unlink(picked: Picks) -> list[int]:
    """Flatten a chain of picks (last, (one before, …)) into a list in order."""
    chain: list[int] = []
    link = picked
    while link:
        chain.append(link[0])
        link = link[1]
    return chain[::-1]


def _forget(states: dict[int, State], first: int) -> dict[int, State]:
    """Drop the notes before place ``first`` from every state, merge what has become equal, and drop what is beaten outright."""
    keep = -1 << first
    merged: dict[int, State] = {}
    for held, state in states.items():
        known = merged.get(held & keep)
        if known is None or state[0] > known[0]:
            merged[held & keep] = state
    if len(merged) < 2:
        return merged
    best: list[tuple[int, State]] = []
    for held, state in sorted(merged.items(), key=lambda item: item[1][0], reverse=True):
        if not any(other & held == other for other, _ in best):
            best.append((held, state))
    return dict(best)
