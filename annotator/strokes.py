"""Strokes: what each voice of a part strikes, moment by moment, and which voices pass from hand to hand.

Conventions: times are ticks of the score. A tied-on note is not struck; it makes the note it continues sound longer. The notes of a chord
go from low to high.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from annotator.score import Note, Part

Moment = tuple[tuple[Note, ...], int]
"""Notes struck at one moment, from low to high, and when the last of them stops sounding."""


@dataclass(slots=True, eq=False)
class Strokes:
    """What is struck in a line: its ``moments`` by tick, and the ticks at which notes of it are held over by a tie."""

    moments: dict[int, Moment] = field(default_factory=dict)
    held: set[int] = field(default_factory=set)


def hand_of(part: Part, note: Note) -> str:
    """Return the hand whose staff a note stands on."""
    return "left" if note.staff in part.left_staves else "right"


def strokes_of(part: Part, notes: Iterable[Note], ties: Mapping[int, tuple[Note, ...]]) -> dict[tuple[str, str], Strokes]:
    """Return what each voice strikes in each hand: every line is one of these, or some of them together."""
    found: dict[tuple[str, int], Strokes] = defaultdict(Strokes)
    several: list[tuple[dict[int, Moment], int]] = []
    for note in notes:
        if note.continues is not None:
            continue
        strokes = found[(note.voice, note.staff)]
        tick = note.tick
        end = tick + note.ticks
        if note.number in ties:
            tied = ties[note.number]
            strokes.held.update([held.tick for held in tied])
            end = max(end, *[held.tick + held.ticks for held in tied])
        moments = strokes.moments
        before = moments.get(tick)
        if before is None:
            moments[tick] = (note,), end
        else:
            moments[tick] = (*before[0], note), max(before[1], end)
            several.append((moments, tick))
    for moments, tick in several:
        struck, end = moments[tick]
        moments[tick] = tuple(sorted(struck, key=_height)), end
    by_hand: dict[tuple[str, str], list[Strokes]] = defaultdict(list)
    for (voice, staff), strokes in found.items():
        by_hand[(voice, "left" if staff in part.left_staves else "right")].append(strokes)
    return {key: together(those) for key, those in by_hand.items()}


def together(those: Sequence[Strokes]) -> Strokes:
    """Return several voices' or hands' strokes as those of one line; those of one alone as they are."""
    if len(those) == 1:
        return those[0]
    moments: dict[int, Moment] = {}
    for strokes in those:
        met = {tick: _both(moments[tick], strokes.moments[tick]) for tick in moments.keys() & strokes.moments.keys()}
        moments = {**moments, **strokes.moments, **met}
    return Strokes(moments, {tick for strokes in those for tick in strokes.held})


def _both(one: Moment, other: Moment) -> Moment:
    """Return what is struck at one moment by two."""
    return tuple(sorted(one[0] + other[0], key=_height)), max(one[1], other[1])


def ties_of(notes: Iterable[Note]) -> dict[int, tuple[Note, ...]]:
    """Map the number of each struck note to the tied-on notes that continue it, in time order."""
    first: dict[int, int] = {}
    held: dict[int, list[Note]] = defaultdict(list)
    tied_on = [(note.continues, note) for note in notes if note.continues is not None]
    for before, note in sorted(tied_on, key=lambda tied: (tied[1].tick, tied[1].number)):
        root = first.get(before, before)
        first[note.number] = root
        held[root].append(note)
    return {number: tuple(tied) for number, tied in held.items()}


def crossing_voices(part: Part, notes: Iterable[Note]) -> frozenset[str]:
    """Return the voices that pass from one hand's staff to the other without ever sounding on both in two rows at once.

    Some programs number voices anew on each staff: then voice 1 of either staff are two lines. A voice whose notes on the two staves
    never overlap, but for chords struck together, and that share a beam group is one line that crosses.
    """
    places: dict[str, set[str]] = defaultdict(set)
    for voice, staff in {(note.voice, note.staff) for note in notes}:
        places[voice].add("left" if staff in part.left_staves else "right")
    spans: dict[str, dict[str, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
    beamed: dict[tuple[str, int], set[str]] = defaultdict(set)
    for note in notes:
        if len(places[note.voice]) < 2:
            continue
        hand = hand_of(part, note)
        spans[note.voice][hand].append((note.tick, note.tick + note.ticks))
        if note.beam is not None:
            beamed[(note.voice, note.beam)].add(hand)
    shared_beams = {voice for (voice, _), hands in beamed.items() if len(hands) > 1}
    return frozenset(
        voice
        for voice, hands in spans.items()
        if (voice in shared_beams or _alternate(hands["right"], hands["left"]))
    )


def _alternate(right: list[tuple[int, int]], left: list[tuple[int, int]]) -> bool:
    """Return whether no span of one list overlaps one of the other."""
    latest = {"r": -1, "l": -1}
    for tick, end, side in sorted([(t, e, "r") for t, e in right] + [(t, e, "l") for t, e in left]):
        if tick < latest["l" if side == "r" else "r"]:
            return False
        latest[side] = max(latest[side], end)
    return True


def _height(note: Note) -> tuple[Any, int, int]:
    """Return a key that puts the notes of a chord in order from low to high."""
    return note.pitch.semitone, note.pitch.diatonic, note.number
