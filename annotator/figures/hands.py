"""Both hands the same: the left hand doubles the right, at the unison, an octave or more below, in thirds, sixths or tenths, or mirrors it.

Convention: a figure holds the left hand's notes only; the right hand's, moment by moment, are its ``model``. Both hands strike at the same
moments and their notes last equally long (the last ones may differ). ``steps`` tells how many letters the left hand lies below the right:
0, -7 for each octave, -2, -5 or -9; nothing for mirrored hands. The left hand's first moment is dark.

Rule: unisons and octaves are copies, key by key, of single notes or of whole chords. In thirds, sixths and tenths, and where the hands
mirror each other letter by letter from a common letter, an unmarked note is meant: altered as by the key signature and the accidentals in
force. One moment may break the rule where at least three on either side keep it, so at most one note in four is odd.

Source: doubling of hands as taught at the keyboard (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby, pairwise

from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Slot, Spelling, kept, made
from annotator.figures.lines import Event, Texture
from annotator.music.intervals import marked
from annotator.music.score import Pitch

FEWEST = 4  # moments
FEWEST_MIRRORED = 5
FEWEST_MOVES = 4  # of mirrored hands, so that a repeated note mirrors nothing
BESIDE_ODD = 3  # moments on either side of an odd one that must keep the rule
STEPS_BELOW = {"third": 2, "sixth": 5, "tenth": 9}

Pair = tuple[Event, Event]
"""What the right hand and the left strike at one moment."""

Range = tuple[int, int]
"""First moment, and the one after the last."""


def detect_hands(texture: Texture) -> Iterator[Figure]:
    """Yield where the left hand doubles the right: strikes the very keys, or octaves, thirds, sixths or tenths below, or mirrors it."""
    for pairs in struck_together(texture):
        yield from _copies(texture, pairs)
        below = [_below(right, left) for right, left in pairs]
        for interval in STEPS_BELOW:
            yield from _parallels(texture, pairs, below, interval)
        yield from _mirrors(texture, pairs)


def struck_together(texture: Texture) -> Iterator[list[Pair]]:
    """Yield the longest stretches in which the hands strike at the same moments and hold their notes equally long, none after a gap.

    What is struck together ends together; the last pair may end as it likes.
    """
    rights, lefts = texture.hands["right"].events, texture.hands["left"].events
    struck = {event.tick: place for place, event in enumerate(lefts)}
    pairs: list[Pair] = []
    before = (-1, -1)
    for upper, right in enumerate(rights):
        lower = struck.get(right.tick)
        if lower is None:
            continue
        left = lefts[lower]
        ended = bool(pairs) and pairs[-1][0].end == pairs[-1][1].end
        if not (ended and before == (upper - 1, lower - 1) and right.joined and left.joined):
            if len(pairs) >= FEWEST:
                yield pairs
            pairs = []
        pairs.append((right, left))
        before = upper, lower
    if len(pairs) >= FEWEST:
        yield pairs


def spell_out_hands(covered: Covered) -> Spelling:
    """Rebuild the left hand from the right: copy it, follow it at its interval, or mirror it.

    Rule:

    * ``hands-in-unison``: The left hand plays the very keys of the right.
    * ``hands-in-octaves``: The left hand plays the right hand's line, as many octaves below as are named.
    * ``hands-in-…``: The left hand plays the right hand's line, as far below as is named, in the key.
    * ``contrary-motion``: The left hand goes the right hand's way upside down, step for step in the key, from its black first note.
    """
    if len(covered.model) != len(covered.slots):
        raise CannotSpellOut("the right hand and the left strike together")
    follow = _mirrored(covered) if covered.kind == "contrary-motion" else _followed(covered)
    return tuple(
        tuple(int(p.semitone) for p in slot.known if p is not None) if None not in slot.known else follow(slot, model)
        for slot, model in zip(covered.slots, covered.model, strict=True)
    )


def _followed(covered: Covered) -> Callable[[Slot, tuple[Pitch, ...]], tuple[int, ...]]:
    """Return how a covered moment follows from the right hand's at the figure's interval."""
    steps = covered.steps
    if steps is None:
        raise CannotSpellOut("hands without a distance")
    if steps % 7 == 0:
        return lambda slot, model: tuple(int(pitch.semitone) + 12 * (steps // 7) for pitch in model)
    return lambda slot, model: (int(slot.unmarked(_only(model).diatonic + steps).semitone),)


def _mirrored(covered: Covered) -> Callable[[Slot, tuple[Pitch, ...]], tuple[int, ...]]:
    """Return how a covered moment mirrors the right hand's."""
    axis = covered.slots[0].dark().diatonic + _only(covered.model[0]).diatonic
    return lambda slot, model: (int(slot.unmarked(axis - _only(model).diatonic).semitone),)


def _only(model: tuple[Pitch, ...]) -> Pitch:
    """Return the pitch of a model of one note."""
    if len(model) != 1:
        raise CannotSpellOut("a chord is neither followed at an interval nor mirrored")
    return model[0]


def _copies(texture: Texture, pairs: Sequence[Pair]) -> Iterator[Figure]:
    """Yield where the left hand copies the right a fixed number of octaves below."""
    octaves = [_octaves_below(right, left) for right, left in pairs]
    for count in sorted({below for below in octaves if below is not None}):
        good = [below == count for below in octaves]
        kind, interval = ("hands-in-octaves", "octave") if count else ("hands-in-unison", "unison")
        for first, stop in _shared_ends(pairs, _bridged(good, FEWEST)):
            yield from _figure(texture, pairs[first:stop], good[first:stop], kind, interval, -7 * count)


def _octaves_below(right: Event, left: Event) -> int | None:
    """Return how many octaves below the right hand the left copies it, None where it does not."""
    if len(right.notes) != len(left.notes):
        return None
    ways = {high.pitch.semitone - low.pitch.semitone for high, low in zip(right.notes, left.notes, strict=True)}
    way = int(ways.pop())
    return None if ways or way < 0 or way % 12 else way // 12


def _parallels(texture: Texture, pairs: Sequence[Pair], below: Sequence[int | None], interval: str) -> Iterator[Figure]:
    """Yield where the left hand goes a generic interval below the right, as an unmarked note would; ``below`` are letters, pair by pair."""
    steps = STEPS_BELOW[interval]
    if below.count(steps) < FEWEST:
        return
    good = [letters == steps and not marked(left.notes[0], texture.bars) for letters, (_, left) in zip(below, pairs, strict=True)]
    for first, stop in _shared_ends(pairs, _bridged(good, FEWEST)):
        yield from _figure(texture, pairs[first:stop], good[first:stop], f"hands-in-{interval}s", interval, -steps)


def _below(right: Event, left: Event) -> int | None:
    """Return how many letters the left hand's single note lies below the right's; None where a hand strikes a chord."""
    return _letter(right) - _letter(left) if right.single and left.single else None


def _sum(right: Event, left: Event) -> int | None:
    """Return the sum of the letters of two single notes, which stays the same where they mirror each other."""
    return _letter(right) + _letter(left) if right.single and left.single else None


def _letter(event: Event) -> int:
    """Return the diatonic number of a single note."""
    return event.notes[0].pitch.diatonic


def _mirrors(texture: Texture, pairs: Sequence[Pair]) -> Iterator[Figure]:
    """Yield where the hands mirror each other, from the first common letter on, and again without a last moment that others share."""
    start = 0
    for total, mirrored in groupby(_sum(right, left) for right, left in pairs):
        first, start = start, start + len(list(mirrored))
        if total is None or start - first < FEWEST_MIRRORED:
            continue
        good = [not marked(left.notes[0], texture.bars) for _, left in pairs[first:start]]
        for begin, end in _bridged(good, FEWEST_MIRRORED):
            common = next((place for place in range(begin, end) if good[place] and _common_letter(pairs[first + place])), end)
            shared = _goes_parallel(pairs[first + end - 1 :])
            for stop in (end, end - 1) if shared else (end,):
                mirror = pairs[first + common : first + stop]
                if _moves_enough(mirror):
                    yield from _figure(texture, mirror, good[common:stop], "contrary-motion", None, None)


def _common_letter(pair: Pair) -> bool:
    """Return whether both hands strike the same letter."""
    return (_letter(pair[0]) - _letter(pair[1])) % 7 == 0


def _moves_enough(pairs: Sequence[Pair]) -> bool:
    """Return whether mirrored moments are enough, and move enough, to be called contrary motion."""
    moves = sum(_letter(one[1]) != _letter(two[1]) for one, two in pairwise(pairs))
    return len(pairs) >= FEWEST_MIRRORED and moves >= FEWEST_MOVES


def _shared_ends(pairs: Sequence[Pair], ranges: Iterable[Range]) -> Iterator[Range]:
    """Yield each range, and once more without its last moment where the hands begin to mirror each other there."""
    for first, stop in ranges:
        yield first, stop
        if stop - first > FEWEST and _goes_apart(pairs[stop - 1 :]):
            yield first, stop - 1


def _goes_apart(pairs: Sequence[Pair]) -> bool:
    """Return whether single notes mirror each other from a common letter at the beginning of some pairs."""
    sums = {_sum(right, left) for right, left in pairs[:FEWEST_MIRRORED]}
    return len(pairs) >= FEWEST_MIRRORED and len(sums) == 1 and None not in sums and _common_letter(pairs[0])


def _goes_parallel(pairs: Sequence[Pair]) -> bool:
    """Return whether single notes keep their distance at the beginning of some pairs."""
    distances = {_below(right, left) for right, left in pairs[:FEWEST]}
    return len(pairs) >= FEWEST and len(distances) == 1 and None not in distances


def _bridged(good: Sequence[bool], fewest: int) -> Iterator[Range]:
    """Yield the ranges of moments that keep a rule, joined over single odd ones, that are at least ``fewest`` long.

    They begin and end with a moment that keeps the rule.
    """
    joined: list[Range] = []
    last_length = stop = 0
    for keeps, moments in groupby(good):
        first, stop = stop, stop + len(list(moments))
        if not keeps:
            continue
        near = bool(joined) and first - joined[-1][1] == 1
        if near and last_length >= BESIDE_ODD and stop - first >= BESIDE_ODD:
            joined[-1] = (joined[-1][0], stop)
        else:
            joined.append((first, stop))
        last_length = stop - first
    return (each for each in joined if each[1] - each[0] >= fewest)


def _figure(
    texture: Texture, pairs: Sequence[Pair], good: Sequence[bool], kind: str, interval: str | None, steps: int | None
) -> Iterator[Figure]:
    """Yield the figure of some pairs, ``good`` says which keep the rule; none if too many notes do not."""
    moments = [left.notes for _, left in pairs]
    odd = {note.number for moment, ok in zip(moments, good, strict=True) if not ok for note in moment}
    if kept(sum(map(len, moments)), len(odd)):
        dark = {note.number for note in moments[0]} | odd
        model = tuple([right.notes for right, _ in pairs])
        yield made(texture.hands["left"], kind, moments, dark, odd, interval=interval, steps=steps, model=model)


def label(figure: Figure) -> LabelData:
    """Say how far below the right hand the left one plays."""
    return LabelData("below", distance=abs(figure.steps)) if figure.steps else LabelData("unison")


def mirror_label(figure: Figure) -> LabelData:
    """Say that the left hand mirrors the right; there is nothing to name."""
    return LabelData()
