"""Equal stretches: where a row of things repeats itself, thing after thing or every other.

>>> list(equal_stretches("abbbcdcdcd", 1, 3)), list(equal_stretches("abbbcdcdcd", 2, 4))
([(1, 4)], [(4, 10)])
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import eq


def equal_stretches(row: Sequence[object], apart: int, fewest: int) -> Iterator[tuple[int, int]]:
    """Yield the longest ranges (first, stop), ``fewest`` things at least, in which each equals the one so many places before it."""
    if len(row) < fewest:
        return
    same = bytes(map(eq, row, row[apart:]))
    enough = b"\1" * (fewest - apart)
    first = same.find(enough)
    while first >= 0:
        stop = same.find(0, first)
        if stop < 0:
            stop = len(same)
        yield first, stop + apart
        first = same.find(enough, stop)
