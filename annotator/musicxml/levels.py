"""The numbers of brackets: which level each bracket of a part gets.

Conventions
-----------
* MusicXML has the levels 1 to 16. They keep apart what overlaps *in document order*, in which a whole bar of one staff stands before
  the other staff: so each staff has its own, of two staves the upper from 1 on, the lower from 9 back, of more the sixteen in equal
  shares. Not every program takes numbers above 9 (MuseScore 3 drops such brackets): these come last.
* Places are whole numbers in document order: ``2 n`` is right before the note with the number n, ``2 n + 1`` right after it.
* A bracket of the source keeps its number; ours go round it. Within a bar its stop may come before its start in document order, as
  one voice is written after another: other programs take such a bracket to stay open to the next stop, so its number is left alone
  altogether. One that is never closed is taken to stay open to the end.

Rule: in document order each bracket takes the first level of its staff that is free from its start to its stop.
Source: MusicXML 4.0 (W3C), ``number-level``.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

LEVELS = 16
TWO_STAVES = {1: (1, 2, 3, 4, 10, 11, 12, 13), 2: (9, 8, 7, 6, 5, 14, 15, 16)}
OLD_LEVELS = 6  # of MusicXML 3.1 and before
NEVER = 1 << 60

Span = tuple[int, int]
_Level = tuple[str, int]


def levels_of(staff: int, staves: int) -> Sequence[int]:
    """Return the numbers that brackets of a staff may take, in the order in which they are taken; none where the staves are too many.

    >>> levels_of(1, 2), levels_of(2, 2), levels_of(3, 3)
    ((1, 2, 3, 4, 10, 11, 12, 13), (9, 8, 7, 6, 5, 14, 15, 16), range(11, 16))
    """
    if staves <= 2:
        return TWO_STAVES.get(max(staff, 1), ())
    share = max(1, LEVELS // staves)
    first = share * (max(staff, 1) - 1) + 1
    return range(first, first + share) if first + share <= LEVELS + 1 else range(0)


def source_brackets(root: Any) -> dict[str, dict[int, list[Span]]]:
    """Return where brackets of the source are open: by part id and number, as separate spans in order."""
    spans: dict[str, dict[int, list[Span]]] = defaultdict(lambda: defaultdict(list))
    if next(root.iter("bracket"), None) is None:
        return spans
    waiting: dict[_Level, tuple[str, int, Any]] = {}
    disordered: set[_Level] = set()
    for level, kind, place, bar in _ends(root):
        earlier = waiting.get(level)
        if earlier is None:
            waiting[level] = (kind, place, bar)
        elif kind == "start" and earlier[0] == "stop":
            disordered.add(level)
            waiting[level] = (kind, place, bar)
        elif kind == "stop" and earlier[0] == "start":
            spans[level[0]][level[1]].append((earlier[1], place + 1))
            del waiting[level]
    for part, number in disordered:
        spans[part][number] = [(0, NEVER)]
        waiting.pop((part, number), None)
    for (part, number), (kind, place, _) in waiting.items():
        if kind == "start":
            spans[part][number].append((place, NEVER))
    return spans


def _ends(root: Any) -> Iterator[tuple[_Level, str, int, Any]]:
    """Yield the ends of the source's brackets: level, ``start`` or ``stop``, place, and the bar or part around it."""
    notes = 0
    for element in root.iter("note", "bracket"):
        if element.tag == "note":
            notes += 1
        elif element.get("type") in ("start", "stop"):
            part = next((ancestor.get("id", "") for ancestor in element.iterancestors("part")), "")
            bar = next(element.iterancestors("measure", "part"), None)
            yield (part, _number(element.get("number"))), element.get("type"), 2 * notes + 1, bar


def number_brackets(wanted: Iterable[tuple[Span, Sequence[int]]], taken: dict[int, list[Span]]) -> list[int | None]:
    """Return the number of each bracket of one part, in the order given; None where no level of its range is free.

    ``wanted`` gives the span and the levels of each, ``taken`` the spans of the source's brackets by number.
    """
    brackets = list(wanted)
    numbers: list[int | None] = [None] * len(brackets)
    free_after: dict[int, int] = defaultdict(lambda: -1)
    for place in sorted(range(len(brackets)), key=lambda place: (brackets[place][0][0], place)):
        span, levels = brackets[place]
        for number in levels:
            if free_after[number] < span[0] and not _meets(span, taken.get(number, ())):
                numbers[place] = number
                free_after[number] = span[1]
                break
    return numbers


def _meets(span: Span, others: Any) -> bool:
    """Return whether a span overlaps one of some separate spans in order."""
    place = bisect_right(others, (span[1], NEVER)) - 1
    return place >= 0 and others[place][1] >= span[0]


def _number(text: str | None) -> int:
    """Return the number of a bracket, 1 where none or nonsense is given."""
    return int(text) if text and re.fullmatch(r"[0-9]{1,4}", text) else 1
