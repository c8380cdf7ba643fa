"""Legs: the stretches of a line that go one way by small steps in notes of equal value.

Conventions
-----------
* A leg is its first event, its last event and its way (1 up, -1 down). Its notes are single, each joined to the one before, of equal
  value but for the last, which may be longer.
* Legs that share a turning note are a chain; only legs of at least ``JOINED_LEG`` notes, both ends counted, are joined so, and no
  more than ``MOST_LEGS``; the next chain then begins on the note where the one before ends.

Source
------
Common practice, no source.

>>> list(chains(iter([(0, 4, 1), (4, 7, -1), (9, 13, 1)])))
[[(0, 4, 1), (4, 7, -1)], [(9, 13, 1)]]
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.lines import Event
from annotator.score import Pitch

JOINED_LEG = 4  # fewest notes of a leg that joins others, both its ends counted
MOST_LEGS = 8  # of one chain: a study that goes up and down for pages is no one thing to read

Leg = tuple[int, int, int]
"""First and last event, and 1 or -1 for up or down."""


def conjunct_steps(events: Sequence[Event]) -> tuple[list[int], list[int]]:
    """Return event by event how it is reached: 1 up or -1 down, by a step of letters, and by at most three semitones; else 0."""
    letters, small = [0] * len(events), [0] * len(events)
    before: Pitch | None = None
    for place, event in enumerate(events):
        if len(event.notes) != 1:
            before = None
            continue
        pitch = event.notes[0].pitch
        if before is not None and event.joined:
            rise = pitch.semitone - before.semitone
            if rise and -4 < rise < 4:
                up = 1 if rise > 0 else -1
                step = (pitch.diatonic - before.diatonic) * up
                if step == 1:
                    letters[place] = small[place] = up
                elif step == 0 or step == 2:
                    small[place] = up
        before = pitch
    return letters, small


def semitone_steps(events: Sequence[Event]) -> list[int]:
    """Return event by event whether it is reached by a semitone up (1) or down (-1); else 0."""
    steps = [0] * len(events)
    before: Pitch | None = None
    for place, event in enumerate(events):
        if len(event.notes) != 1:
            before = None
            continue
        pitch = event.notes[0].pitch
        if before is not None and event.joined:
            rise = pitch.semitone - before.semitone
            if (rise == 1 or rise == -1) and -2 < pitch.diatonic - before.diatonic < 2:
                steps[place] = int(rise)
        before = pitch
    return steps


def legs(steps: Sequence[int], events: Sequence[Event], fewest: int) -> Iterator[Leg]:
    """Yield the longest legs of equal notes, the last of a leg equal or longer."""
    place, count = 1, len(steps)
    while place < count:
        way, first = steps[place], place - 1
        place += 1
        if not way:
            continue
        while place < count and steps[place] == way:
            place += 1
        if place - first < fewest:
            continue
        length = events[first].ticks
        for here in range(first + 1, place):
            ticks = events[here].ticks
            if ticks == length:
                continue
            last = here if ticks > length else here - 1
            if last - first + 1 >= fewest:
                yield first, last, way
            first, length = here, ticks
        if place - first >= fewest:
            yield first, place - 1, way


def chains(legs: Iterator[Leg]) -> Iterator[list[Leg]]:
    """Gather legs into rows in which each begins on the last note of the one before."""
    chain: list[Leg] = []
    for leg in legs:
        if chain and not (
            joins(chain[-1]) and joins(leg) and chain[-1][1] == leg[0] and len(chain) < MOST_LEGS
        ):
            yield chain
            chain = []
        chain.append(leg)
    if chain:
        yield chain


def joins(leg: Leg) -> bool:
    """Return whether a leg is long enough to join others."""
    return leg[1] - leg[0] + 1 >= JOINED_LEG
