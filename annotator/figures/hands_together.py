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
    copied: list[int] = []
    below: list[int | None] = []
    sums: list[int | None] = []
    for right, left in pairs:
        high, low = right.notes[0].pitch, left.notes[0].pitch
        octaves, rest = divmod(high.semitone - low.semitone, 12)
        single = len(right.notes) == len(left.notes) == 1
        copied.append(-1 if rest or octaves < 0 or not (single or _same_shape(right, left)) else octaves)
        below.append(high.diatonic - low.diatonic if single else None)
        sums.append(high.diatonic + low.diatonic if single else None)
    return Together(pairs, line, tuple(copied), tuple(below), tuple(sums))


def _same_shape(right: Event, left: Event) -> bool:
    """Return whether two chords stand on the same semitones above their lowest notes."""
    shift = right.notes[0].pitch.semitone - left.notes[0].pitch.semitone
    return len(right.notes) == len(left.notes) and all(
        high.pitch.semitone - low.pitch.semitone == shift for high, low in zip(right.notes, left.notes, strict=True)
    )


def _stretches(texture: Texture) -> Iterator[tuple[Pair, ...]]:
    """Yield the pairs of events of each stretch of at least four."""
    lefts = texture.hands["left"].events
    struck = {event.tick: lower for lower, event in enumerate(lefts)}
    pairs: list[Pair] = []
    upper_before = lower_before = -1
    together = False  # whether what was struck together last ends together
    for upper, right in enumerate(texture.hands["right"].events):
        lower = struck.get(right.tick)
        if lower is None:
            continue
        left = lefts[lower]
        following = upper - upper_before == lower - lower_before == 1
        if not (following and together and right.joined and left.joined):
            if len(pairs) >= FEWEST:
                yield tuple(pairs)
            pairs = []
        pairs.append((right, left))
        upper_before, lower_before, together = upper, lower, right.end == left.end
    if len(pairs) >= FEWEST:
        yield tuple(pairs)
