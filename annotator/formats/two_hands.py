"""Which hand plays which note, where a piano stands on one track: the upper notes of each moment for the right, the lower for the left.

Rule
----
At each onset the notes are cut in two by height. The way through all cuts with the least cost is taken (Viterbi, exact for the cost): a
hand that stretches over more than an octave, that jumps, that leaves its half of the keyboard, or that rests while the other plays several
notes, costs. The costs were set by trying; seven notes of eight come to their hand.

Source: common practice, no source. What part of the notes it gets right is measured in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from annotator.formats.midi_events import Stroke

OCTAVE = 12
MIDDLE = 60.0
MOST_AT_ONCE = 24  # notes of a moment that are cut; a cluster beyond is cut in the middle
_STRETCH, _JUMP, _AWAY, _IDLE = 2.0, 0.1, 0.05, 0.5


@dataclass(frozen=True, slots=True)
class _State:
    """The best way to a cut: its cost, where each hand is (the middle of what it played last), and the cuts before it."""

    cost: float
    left: float
    right: float
    before: _State | None
    cut: int


def in_two_hands(strokes: Sequence[Stroke]) -> tuple[list[Stroke], list[Stroke]]:
    """Return the strokes of the right and of the left hand. ``strokes`` are sorted by onset and key."""
    moments = [list(group) for _, group in groupby(strokes, key=lambda stroke: stroke.onset)]
    states = [_State(0.0, MIDDLE - OCTAVE, MIDDLE + OCTAVE, None, 0)]
    for moment in moments:
        keys = [stroke.key for stroke in moment]
        cuts = range(len(keys) + 1) if len(keys) <= MOST_AT_ONCE else [len(keys) // 2]
        states = [min((_step(state, keys, cut) for state in states), key=lambda state: state.cost) for cut in cuts]
    right: list[Stroke] = []
    left: list[Stroke] = []
    last: _State | None = min(states, key=lambda state: state.cost)
    for moment in reversed(moments):
        assert last is not None
        left.extend(reversed(moment[: last.cut]))
        right.extend(reversed(moment[last.cut :]))
        last = last.before
    return right[::-1], left[::-1]


def _step(state: _State, keys: Sequence[int], cut: int) -> _State:
    """Return the state after a moment whose ``cut`` lowest keys are played by the left hand."""
    low, high = keys[:cut], keys[cut:]
    left = (low[0] + low[-1]) / 2 if low else state.left
    right = (high[0] + high[-1]) / 2 if high else state.right
    cost = state.cost + _JUMP * (abs(left - state.left) + abs(right - state.right))
    cost += _AWAY * sum(max(0.0, key - MIDDLE) for key in low) + _AWAY * sum(max(0.0, MIDDLE - key) for key in high)
    cost += _STRETCH * sum(max(0, hand[-1] - hand[0] - OCTAVE) for hand in (low, high) if hand)
    cost += _IDLE * (not low or not high) * (len(keys) > 1)
    return _State(cost, left, right, state, cut)
