"""Reading effort: from 0 to 100, how much a score gives the eye to take in, beat by beat.

Conventions
-----------
* It is about reading, not playing: the black notes count, the grey ones do not; tempo, fingering and length are left out.
* Five factors, each an amount that can be counted. An amount earns ``weight · amount / (amount + half)`` points: none where there is
  nothing, half its weight at ``half``, never all of it. So more of anything is always more effort, and no factor can run away.
* The weights add up to 100.

A longer piece is more to read: ``Measured.effort_in_all`` counts its notes to read, each weighed by this effort; nothing is fitted there.

Source: common practice, no source, for what makes a page hard to read. ``half`` is a middling amount in the graded scores that chose the
weights, rounded; the weights were chosen on one half of those scores in steps of ten, the most even ones within 0.02 of the best rank
correlation, and tried on the other half (``tests/benchmarks/effort.py``, which also says where the figure fails). No more than those 41
scores, graded by one musician from memory, could be had: neither music21's corpus nor a package that carries scores has grades. Other
weights, less for accidentals too, agree with them less, so these stand; the effort in all agrees better with the grades (Kendall's tau
0.78) than this (0.66) or the mere number of notes (0.73).

>>> [factor.word for factor in FACTORS], sum(factor.weight for factor in FACTORS)
(['black', 'accidentals', 'range', 'rhythm', 'texture'], 100)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from annotator.products.survey.measures import Measures

SIGNATURE = 2
"""Accidentals in 100 notes that each sharp or flat of the key signature is worth: it must be kept in mind, but stands there only once."""


@dataclass(frozen=True, slots=True)
class Factor:
    """One thing that makes reading hard: its ``word``, how much of it a score has, the amount that earns half of ``weight`` points."""

    word: str
    amount: Callable[[Measures], float]
    half: float
    weight: int

    def points(self, measures: Measures) -> float:
        """Return the points a score gets for it, from 0 to ``weight``."""
        amount = self.amount(measures)
        return self.weight * amount / (amount + self.half)


def _black_notes(measures: Measures) -> float:
    """Return how many notes there are to read a beat."""
    return measures.to_read / measures.beats if measures.beats else 0.0


def _accidentals(measures: Measures) -> float:
    """Return the accidentals in 100 notes, and ``SIGNATURE`` more for each sharp or flat of the fullest key signature."""
    return measures.in_100(measures.signs) + SIGNATURE * measures.signature


def _compass(measures: Measures) -> float:
    """Return the compass of the hands in semitones, the mean of both; a hand that is silent has none."""
    return (measures.right.compass + measures.left.compass) / 2


def _texture(measures: Measures) -> float:
    """Return how many notes beyond the first a hand strikes at once on average, and the part of the bars in which it has several voices."""
    return max(measures.thickness - 1, 0.0) + measures.voices / 100


FACTORS = (
    Factor("black", _black_notes, half=3, weight=20),
    Factor("accidentals", _accidentals, half=12, weight=30),
    Factor("range", _compass, half=36, weight=30),
    Factor("rhythm", lambda measures: measures.rhythm, half=1, weight=10),
    Factor("texture", _texture, half=0.3, weight=10),
)
"""What the effort is made of, in the order it is told."""


def effort(measures: Measures) -> float:
    """Return the reading effort of a score, from 0 to 100; 0 where there is nothing to read."""
    return sum(factor.points(measures) for factor in FACTORS) if measures.notes else 0.0
