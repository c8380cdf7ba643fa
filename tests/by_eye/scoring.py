"""What a program greys against what readers skip: recall and precision, and how far two readings agree.

Conventions
-----------
* Everything is counted in strokes. A stroke is grey if one of its notes is grey.
* The measure is what *both* readings skip. Recall: the share of it that is grey. Precision: the share of the grey strokes that both skip;
  ``precision_either`` lets one reading be enough.
* Agreement is the share of all strokes that both readings judge alike, and Cohen's kappa: (p − e) / (1 − e), with e the agreement that two
  readers would reach by chance who skip as much as these. Source: J. Cohen, A coefficient of agreement for nominal scales, Educational
  and Psychological Measurement 20 (1960), from memory.

>>> both = frozenset({("right", 2), ("right", 3)})
>>> tally = Tally.of({"right": 4, "left": 0}, (both, both | {("right", 4)}), frozenset({("right", 3), ("right", 4)}))
>>> tally.recall, tally.precision, tally.precision_either, tally.agreement, tally.kappa
(0.5, 0.5, 1.0, 0.75, 0.5)
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from by_eye.excerpt import Place


@dataclass(frozen=True)
class Tally:
    """Strokes counted: all, skipped by the first and the second reading, by both, by either, grey, grey and skipped by both, by either."""

    strokes: int = 0
    first: int = 0
    second: int = 0
    both: int = 0
    either: int = 0
    grey: int = 0
    grey_both: int = 0
    grey_either: int = 0

    @classmethod
    def of(cls, strokes: dict[str, int], skipped: tuple[frozenset[Place], ...], grey: Collection[Place]) -> Tally:
        """Return the tally of one excerpt."""
        first, second = skipped
        found = frozenset(grey)
        both, either = first & second, first | second
        counts = (first, second, both, either, found, found & both, found & either)
        return cls(sum(strokes.values()), *map(len, counts))

    def __add__(self, other: Tally) -> Tally:
        """Return two tallies together."""
        return Tally(*(getattr(self, name) + getattr(other, name) for name in self.__dataclass_fields__))

    @property
    def recall(self) -> float:
        """The share of what both skip that is grey."""
        return _share(self.grey_both, self.both)

    @property
    def precision(self) -> float:
        """The share of what is grey that both skip."""
        return _share(self.grey_both, self.grey)

    @property
    def precision_either(self) -> float:
        """The share of what is grey that one reading at least skips."""
        return _share(self.grey_either, self.grey)

    @property
    def agreement(self) -> float:
        """The share of strokes that both readings judge alike."""
        return _share(self.strokes - self.either + self.both, self.strokes)

    @property
    def kappa(self) -> float:
        """Cohen's kappa of the two readings; 1 where there is nothing to agree by chance about."""
        one, other = _share(self.first, self.strokes), _share(self.second, self.strokes)
        chance = one * other + (1 - one) * (1 - other)
        return 1.0 if chance == 1 else (self.agreement - chance) / (1 - chance)


def _share(part: int, whole: int) -> float:
    return part / whole if whole else 1.0
