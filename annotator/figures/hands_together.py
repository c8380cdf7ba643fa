"""Where both hands strike together: the two lines of a part laid side by side, and compared pair by pair.

Convention: a stretch is as long as it can be; in it no note of either hand comes after a gap, and what is struck together ends together
(the last pair may end as it likes).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from annotator.lines import Event, Line, Texture

FEWEST = 4  # pairs that are worth a look

Pair = tuple[Event, Event]
"""What the right hand and the left strike at one moment."""


@dataclass(frozen=True, slots=True)
class Together:
    """A stretch in which both hands strike together, as pairs of right and left events, none after a gap.

    Pair by pair: ``copied`` is how many octaves below the right hand the left copies it (-1: it does not), ``below`` how many letters it
    lies below and ``sums`` the sum of both diatonic numbers (None where a hand strikes a chord).
    """

    pairs: tuple[Pair, ...]
    line: Line
    copied: tuple[int, ...]
    below: tuple[int | None, ...]
    sums: tuple[int | None, ...]


def struck_together(texture: Texture) -> tuple[Together, ...]:
    """Return the longest stretches in which the hands strike at the same moments and hold their notes equally long.

    Six kinds look at one texture: it is gone through once, and keeps what was found.
    """
    kept: tuple[Together, ...] | None = texture.__dict__.get("struck together")
    if kept is None:
        found = tuple([_compared(pairs, texture.hands["left"]) for pairs in _stretches(texture)])
        kept = texture.__dict__["struck together"] = found
    return kept


def _compared(pairs: tuple[Pair, ...], line: Line) -> Together:
    """Return a stretch with all that the kinds compare."""
    letters = [
        (right.notes[0].pitch.diatonic, left.notes[0].pitch.diatonic) if len(right.notes) == len(left.notes) == 1 else None
        for right, left in pairs
    ]
    return Together(
        pairs,
        line,
        tuple(_octaves_below(pair) for pair in pairs),
        tuple(pair and pair[0] - pair[1] for pair in letters),
        tuple(pair and pair[0] + pair[1] for pair in letters),
    )


def _stretches(texture: Texture) -> Iterator[tuple[Pair, ...]]:
    """Yield the pairs of events of each stretch of at least four."""
    rights, lefts = texture.hands["right"].events, texture.hands["left"].events
    pairs: list[Pair] = []
    upper = lower = 0
    before = (-1, -1)
    while upper < len(rights) and lower < len(lefts):
        right, left = rights[upper], lefts[lower]
        if right.tick != left.tick:
            if right.tick < left.tick:
                upper += 1
            else:
                lower += 1
            continue
        alone = before != (upper - 1, lower - 1) or not (right.joined and left.joined)
        if alone or pairs[-1][0].end != pairs[-1][1].end:
            if len(pairs) >= FEWEST:
                yield tuple(pairs)
            pairs = []
        pairs.append((right, left))
        before = (upper, lower)
        upper += 1
        lower += 1
    if len(pairs) >= FEWEST:
        yield tuple(pairs)


def _octaves_below(pair: Pair) -> int:
    """Return how many octaves below the right the left copies it, -1 where it does not."""
    right, left = pair[0].notes, pair[1].notes
    shift = int(right[0].pitch.semitone - left[0].pitch.semitone)
    if shift < 0 or shift % 12 or len(right) != len(left):
        return -1
    if len(right) > 1 and any(high.pitch.semitone - low.pitch.semitone != shift for high, low in zip(right, left, strict=True)):
        return -1
    return shift // 12
