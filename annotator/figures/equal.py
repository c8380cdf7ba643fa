"""Equal stretches: where a row of things repeats itself, thing after thing or every other.

>>> list(equal_stretches("abbbcdcdcd", 1, 3)), list(equal_stretches("abbbcdcdcd", 2, 4))
([(1, 4)], [(4, 10)])
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from operator import eq


def equal_stretches(row: Sequence[object], apart: int, fewest: int) -> Iterator[tuple[int, int]]:
    """Yield the longest ranges (first, stop), ``fewest`` things at least, in which each equals the one so many places before it."""
    if len(row) < fewest:
        return
    same = bytes(map(eq, row, row[apart:]))
    for found in _ones(fewest - apart).finditer(same):
        yield found.start(), found.end() + apart


@cache
def _ones(fewest: int) -> re.Pattern[bytes]:
    """Return the pattern of so many bytes 1 in a row, or more."""
    return re.compile(rb"\x01{%d,}" % fewest)
