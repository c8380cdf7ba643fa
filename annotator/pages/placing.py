"""A place for every bracket: near its notes, touching nothing, level with its neighbours.

Conventions
-----------
A *piece* is one figure's bracket within one system. Its boxes are relative to the height of its line; ``wanted`` is where the line would
best be. ``outward`` is -1 above a staff and +1 below it: the direction away from the staff.

Rule
----
1. Every box of a piece forbids a stretch of heights for each obstacle in its way. The place is the nearest height to the wanted one that is
   not forbidden; going inward counts double. First with wide padding, then with tight.
2. Then neighbours of one system, staff and side that are nearly level move to the outermost of them, if that stays free.
3. A piece that finds no place within reach stands where it was wanted, and is counted.

The order is by system and side, what lies nearest to the staff first, then by x; so the result is always the same.

Source: padding and reach were tried out on pages; the method is our own.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from annotator.pages.boxes import Box

CELL = 400.0
"""Edge of a cell of the grid that obstacles are looked up in."""


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

    def placed(self, y: float | None = None) -> list[Box]:
        """Return its boxes on the page, at its own height or another."""
        height = self.y if y is None else y
        return [box.moved(0.0, height) for box in self.boxes]


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

    def is_free(self, boxes: Iterable[Box], padding: float) -> bool:
        """Whether none of these boxes comes nearer to an obstacle than the padding."""
        for box in boxes:
            if box.top < self.top or box.bottom > self.bottom:
                return False
            if any(box.meets(other, padding) for other in self.near(box.wider(padding))):
                return False
        return True


def _keys(box: Box) -> list[tuple[int, int]]:
    rows = range(int(box.top // CELL), int(box.bottom // CELL) + 1)
    return [(column, row) for column in range(int(box.left // CELL), int(box.right // CELL) + 1) for row in rows]


@dataclass(frozen=True, slots=True)
class Reach:
    """How near and how far.

    ``wide`` and ``tight`` are paddings, ``far`` is the furthest a piece moves, ``level`` how unequal neighbours may be to be made level,
    ``beside`` how far apart neighbours may be.
    """

    wide: float
    tight: float
    far: float
    level: float
    beside: float


def place(pieces: Sequence[Piece], obstacles: Field, reach: Reach) -> int:
    """Set ``y`` and ``free`` of every piece; return how many found no free place."""
    ordered = sorted(pieces, key=lambda piece: (piece.group, round(piece.wanted * piece.outward), piece.left, piece.right))
    for piece in ordered:
        piece.y, piece.free = _search(piece, obstacles, reach)
        obstacles.add(piece.placed())
    _make_level(ordered, obstacles, reach)
    return sum(not piece.free for piece in ordered)


def _search(piece: Piece, obstacles: Field, reach: Reach) -> tuple[float, bool]:
    half = reach.far / 2
    for padding, far in ((reach.wide, half), (reach.tight, half), (reach.tight, reach.far), (reach.tight, 3 * reach.far)):
        y = _nearest(piece, obstacles, padding, far)
        if y is not None:
            return y, True
    if piece.at_least != piece.boxes:
        piece.boxes = piece.at_least
        return _search(piece, obstacles, reach)
    return piece.wanted, False


def _nearest(piece: Piece, obstacles: Field, padding: float, far: float) -> float | None:
    """Return the free height nearest to the wanted one, not further inward than the piece's inner bound."""
    low, high = piece.wanted - far, piece.wanted + far
    if piece.outward < 0:
        high = min(high, piece.inner)
    else:
        low = max(low, piece.inner)
    low = max(low, obstacles.top - min(box.top for box in piece.boxes))
    high = min(high, obstacles.bottom - max(box.bottom for box in piece.boxes))
    if low > high:
        return None
    taken = _merged(sorted(_forbidden(piece, obstacles, padding, low, high)))
    starts = [start for start, _ in taken]

    def free(y: float) -> bool:
        """Return whether nothing stands at a height."""
        before = bisect_left(starts, y) - 1
        return before < 0 or y >= taken[before][1]

    def effort(y: float) -> float:
        """Return how far a height is from the one wanted; inwards counts double."""
        return abs(y - piece.wanted) * (1.0 if (y - piece.wanted) * piece.outward >= 0 else 2.0)

    candidates = (low, high, min(max(piece.wanted, low), high), *(y for ends in taken for y in ends if low <= y <= high))
    return min(filter(free, candidates), key=lambda y: (effort(y), y), default=None)


def _forbidden(piece: Piece, obstacles: Field, padding: float, low: float, high: float) -> Iterator[tuple[float, float]]:
    for box in piece.boxes:
        region = Box(box.left, low + box.top, box.right, high + box.bottom).wider(padding)
        for other in obstacles.near(region):
            if other.left < region.right and region.left < other.right:
                yield other.top - box.bottom - padding, other.bottom - box.top + padding


def _merged(intervals: list[tuple[float, float]]) -> list[tuple[float, float]]:
    merged: list[tuple[float, float]] = []
    for start, end in intervals:
        if merged and start < merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged


def _make_level(ordered: Sequence[Piece], obstacles: Field, reach: Reach) -> None:
    rows: dict[tuple[int, int, int], list[Piece]] = defaultdict(list)
    for piece in ordered:
        rows[piece.group].append(piece)
    for row in rows.values():
        row.sort(key=lambda piece: (piece.left, piece.right))
        for run in _runs(row, reach):
            _raise(run, obstacles, reach)
        for _ in range(2):
            for one, other in pairwise(row):
                if _alike(one, other, reach):
                    _raise([one, other], obstacles, reach)


def _alike(one: Piece, other: Piece, reach: Reach) -> bool:
    return abs(one.y - other.y) <= reach.level and -1.0 < other.left - one.right <= reach.beside


def _runs(row: Sequence[Piece], reach: Reach) -> Iterator[list[Piece]]:
    run: list[Piece] = []
    for piece in row:
        if run and not _alike(run[-1], piece, reach):
            yield run
            run = []
        run.append(piece)
    if run:
        yield run


def _raise(run: list[Piece], obstacles: Field, reach: Reach) -> None:
    """Move the pieces of a run to the height of the outermost, each if that is free."""
    target = max((piece.y for piece in run), key=lambda y: y * run[0].outward)
    for piece in run:
        if piece.y == target or not piece.free:
            continue
        obstacles.remove(piece.placed())
        if obstacles.is_free(piece.placed(target), reach.tight):
            piece.y = target
        obstacles.add(piece.placed())
