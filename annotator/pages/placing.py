"""A place for every bracket: near its notes, touching nothing, level with its neighbours.

Conventions
-----------
A *piece* is one figure's bracket within one system. Its boxes are relative to the height of its line; ``wanted`` is where the line would
best be. ``outward`` is -1 above a staff and +1 below it: the direction away from the staff.

Rule
----
1. Every box of a piece forbids a stretch of heights for each obstacle in its way. The place is the nearest height to the wanted one that is
   not forbidden; going inward counts double. First with wide padding, then with tight.
2. Then of two neighbours in one system, staff and side that are nearly level the inner moves to the level of the outer, if that is free:
   from the left to the right, and back.
3. A piece that finds no place within reach stands where it was wanted, and is counted.

The order is by system and side, what lies nearest to the staff first, then by x; so the result is always the same.

Source: padding and reach were tried out on pages; the method is our own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import inf

from annotator.pages.boxes import Box

CELL = 400.0
"""Edge of a cell of the grid that obstacles are looked up in."""

WIDE, TIGHT = 4.0, 1.4
SEARCHES = ((WIDE, 120.0), (TIGHT, 120.0), (TIGHT, 240.0), (TIGHT, 720.0))
"""How much room is kept around a piece, and how far from the wanted height it may stand, one after the other, in engraver's units."""

LEVEL, BESIDE = 28.0, 1100.0
"""How unequal neighbours may be to be made level , and how far apart, in the same units."""


@dataclass(slots=True)
class Piece:
    """One bracket to place.

    ``group`` is its system, side and staff. ``at_least`` are the boxes it takes where there is no place for all. ``inner`` is the height
    nearest to the staff that is allowed; ``y`` is the answer, ``free`` whether it touches nothing.
    """

    group: tuple[int, int, int]
    boxes: tuple[Box, ...]
    at_least: tuple[Box, ...]
    wanted: float
    inner: float
    outward: int
    y: float = 0.0
    free: bool = False

    @property
    def left(self) -> float:
        """Left end of its line."""
        return min(box.left for box in self.boxes)

    @property
    def right(self) -> float:
        """Right end of its line."""
        return max(box.right for box in self.boxes)

    def placed(self) -> list[Box]:
        """Return its boxes on the page."""
        return [box.moved(0.0, self.y) for box in self.boxes]


@dataclass(slots=True)
class Field:
    """All obstacles of a page, by cell; ``top`` and ``bottom`` bound the page."""

    top: float
    bottom: float
    cells: dict[tuple[int, int], list[Box]] = field(default_factory=lambda: defaultdict(list))

    def add(self, boxes: Iterable[Box]) -> None:
        """Add obstacles."""
        cells = self.cells
        for box in boxes:
            for key in _keys(box):
                cells[key].append(box)

    def remove(self, boxes: Iterable[Box]) -> None:
        """Take obstacles out again."""
        for box in boxes:
            for key in _keys(box):
                self.cells[key].remove(box)

    def near(self, region: Box) -> Iterator[Box]:
        """Yield the obstacles that may reach into a region (some more than once)."""
        for key in _keys(region):
            yield from self.cells.get(key, ())


def _keys(box: Box) -> list[tuple[int, int]]:
    rows = range(int(box.top // CELL), int(box.bottom // CELL) + 1)
    return [(column, row) for column in range(int(box.left // CELL), int(box.right // CELL) + 1) for row in rows]


def place(pieces: Sequence[Piece], obstacles: Field, unit: float) -> int:
    """Set ``y`` and ``free`` of every piece; return how many found no free place. ``unit`` is half a staff space in tenths of a mm."""
    ordered = sorted(pieces, key=lambda piece: (piece.group, round(piece.wanted * piece.outward), piece.left, piece.right))
    for piece in ordered:
        piece.y, piece.free = _search(piece, obstacles, unit)
        obstacles.add(piece.placed())
    rows: dict[tuple[int, int, int], list[Piece]] = defaultdict(list)
    for piece in sorted(ordered, key=lambda piece: (piece.left, piece.right)):
        rows[piece.group].append(piece)
    for row in rows.values():
        pairs = list(pairwise(row))
        for one, other in (*pairs, *reversed(pairs)):
            if abs(one.y - other.y) <= LEVEL * unit and -1.0 < other.left - one.right <= BESIDE * unit:
                outer, inner = sorted((one, other), key=lambda piece: piece.y * piece.outward, reverse=True)
                _raise(inner, outer.y, obstacles, unit)
    return sum(not piece.free for piece in ordered)


def _search(piece: Piece, obstacles: Field, unit: float) -> tuple[float, bool]:
    for padding, far in SEARCHES:
        y = _nearest(piece, obstacles, padding * unit, far * unit)
        if y is not None:
            return y, True
    if piece.at_least != piece.boxes:
        piece.boxes = piece.at_least
        return _search(piece, obstacles, unit)
    return piece.wanted, False


def _nearest(piece: Piece, obstacles: Field, padding: float, far: float) -> float | None:
    """Return the free height nearest to the wanted one and no further away; inwards counts double."""
    taken: list[tuple[float, float]] = []
    for start, end in sorted(_forbidden(piece, obstacles, padding, piece.wanted - far, piece.wanted + far)):
        if taken and start < taken[-1][1]:
            taken[-1] = (taken[-1][0], max(taken[-1][1], end))
        else:
            taken.append((start, end))
    if not any(start < piece.wanted < end for start, end in taken):
        return piece.wanted

    def effort(y: float) -> float:
        """Return how far a height is from the one wanted."""
        return abs(y - piece.wanted) * (1.0 if (y - piece.wanted) * piece.outward >= 0 else 2.0)

    ends = (y for stretch in taken for y in stretch if abs(y - piece.wanted) <= far)
    return min(ends, key=lambda y: (effort(y), y), default=None)


def _forbidden(piece: Piece, obstacles: Field, padding: float, low: float, high: float) -> Iterator[tuple[float, float]]:
    """Yield the stretches of heights where a piece cannot stand, as far as they are between two."""
    yield -inf, obstacles.top - min(box.top for box in piece.boxes)
    yield obstacles.bottom - max(box.bottom for box in piece.boxes), inf
    yield (piece.inner, inf) if piece.outward < 0 else (-inf, piece.inner)
    for box in piece.boxes:
        region = Box(box.left, low + box.top, box.right, high + box.bottom).wider(padding)
        for other in obstacles.near(region):
            if other.left < region.right and region.left < other.right:
                yield other.top - box.bottom - padding, other.bottom - box.top + padding


def _raise(piece: Piece, y: float, obstacles: Field, unit: float) -> None:
    """Move a piece to a height, if that is free."""
    if piece.free and piece.y != y:
        obstacles.remove(piece.placed())
        if not any(start < y < end for start, end in _forbidden(piece, obstacles, TIGHT * unit, y, y)):
            piece.y = y
        obstacles.add(piece.placed())
