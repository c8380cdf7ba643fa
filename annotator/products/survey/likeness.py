"""How alike two scores are in what they drill and how hard they are to read.

Conventions
-----------
* *Alike* are two scores as far as they spend their notes on the same figures: the notes of each are split by kind of figure, with those
  of no figure as one more kind, into shares that add up to 1; the likeness is the sum of the smaller share of each kind. It is 1 for the
  same mix, 0 for nothing in common. How long a piece is does not come into it.
* How hard it is does: ten points of reading effort between two scores take a fifth of their likeness away.

Source: the sum of the smaller shares is known as the overlap of two histograms (Swain and Ballard, 1991).

>>> round(likeness({"scale-run": 0.5, "": 0.5}, {"scale-run": 0.25, "trill": 0.25, "": 0.5}), 2)
0.75
"""

from __future__ import annotations

from collections.abc import Mapping

from annotator.products.survey.measures import Measured, Measures

NO_FIGURE = ""
NOTHING_ALIKE = 50  # points of effort between two scores that have nothing in common for a player; common practice, no source


def mix(measures: Measures) -> dict[str, float]:
    """Return which part of the notes each kind of figure has; ``NO_FIGURE`` stands for the notes of none."""
    parts = {one.kind: measures.share_of(one.kind) for one in measures.kinds}
    whole = max(1.0, sum(parts.values()))  # a note of two figures counts for both
    mixed = {kind: part / whole for kind, part in parts.items()}
    mixed[NO_FIGURE] = max(0.0, 1 - sum(mixed.values()))  # a sum of shares may pass 1 by a hair
    return mixed


def likeness(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """Return how alike two mixes are, from 0 to 1."""
    return sum(min(part, other.get(kind, 0.0)) for kind, part in one.items())


def alike(score: Measured, like: Measured) -> float:
    """Return how alike two scores are in mix and effort, from 0 to 1."""
    return likeness(mix(score.measures), mix(like.measures)) * max(0.0, 1 - abs(score.effort - like.effort) / NOTHING_ALIKE)
