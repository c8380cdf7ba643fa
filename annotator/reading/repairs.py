"""What had to be repaired while reading: counted, and named once for each kind."""

from __future__ import annotations


class Repairs:
    """A tally of repairs. Each kind is a sentence that stands after its count."""

    def __init__(self) -> None:
        self._tally: dict[str, tuple[int, str]] = {}

    def add(self, kind: str, place: str) -> None:
        """Count one repair of this kind; the first place is kept for the message."""
        count, first = self._tally.get(kind, (0, place))
        self._tally[kind] = (count + 1, first)

    def lines(self) -> tuple[str, ...]:
        """Return one line for each kind, in the order in which they were first met.

        >>> repairs = Repairs()
        >>> repairs.add("bars too long", "part 'Piano', bar 5")
        >>> repairs.lines()
        ("bars too long: 1, the first in part 'Piano', bar 5",)
        """
        return tuple(f"{kind}: {count}, the first in {place}" for kind, (count, place) in self._tally.items())
