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

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from annotator.figures.assembly import kept
from annotator.figures.figure import Covered, Figure, Slot, Spelling, make_figure
from annotator.figures.hands_together import FEWEST, Pair, Together, struck_together
from annotator.figures.label_data import LabelData
from annotator.lines import Event, Texture
from annotator.score import Note, Pitch, pitch_at
from annotator.settings import Options

FEWEST_MIRRORED = 5
FEWEST_MOVES = 4  # of mirrored hands, so that a repeated note mirrors nothing
BESIDE_ODD = 3  # moments on either side of an odd one that must keep the rule
STEPS_BELOW = {"third": 2, "sixth": 5, "tenth": 9}
KIND_OF = {"third": "hands-in-thirds", "sixth": "hands-in-sixths", "tenth": "hands-in-tenths"}

Run = tuple[int, int]


def detect_unison(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield where the left hand strikes the very keys of the right."""
    return _copies(texture, "hands-in-unison", "unison", range(0, 1))


def detect_octaves(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield where the left hand copies the right one or more octaves below."""
    return _copies(texture, "hands-in-octaves", "octave", range(1, 7))


def detect_thirds(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield where the left hand goes a third below the right."""
    return _parallels(texture, "third")


def detect_sixths(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield where the left hand goes a sixth below the right."""
    return _parallels(texture, "sixth")


def detect_tenths(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield where the left hand goes a tenth below the right."""
    return _parallels(texture, "tenth")


def detect_contrary(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield where the left hand mirrors the right, letter by letter, from a common letter."""
    for together in struck_together(texture):
        pairs = together.pairs
        for start, stop in _equal_runs(together.sums):
            if stop - start < FEWEST_MIRRORED or together.sums[start] is None:
                continue
            good = [_unmarked(left.notes[0], texture) for _, left in pairs[start:stop]]
            for first, end in _mirrored_runs(pairs[start : stop + FEWEST], good):
                yield from _figure(together, start + first, good[first:end], "contrary-motion", None, None)


def _mirrored_runs(pairs: tuple[Pair, ...], good: list[bool]) -> Iterator[Run]:
    """Yield the runs of mirrored pairs from the first common letter on, and again without a last moment that others share."""
    for first, end in _bridged(good, FEWEST_MIRRORED):
        common = next((place for place in range(first, end) if good[place] and _common_letter(pairs[place])), end)
        shared = _goes_parallel(pairs[end - 1 : end - 1 + FEWEST])
        for stop in (end, end - 1) if shared else (end,):
            if _mirrors(pairs[common:stop]):
                yield common, stop


def spell_out(covered: Covered) -> Spelling:
    """Rebuild the left hand from the right: copy it, follow it at its interval, or mirror it."""
    if len(covered.model) != len(covered.slots):
        raise ValueError("the right hand and the left strike together")
    follow = _mirrored(covered) if covered.kind == "contrary-motion" else _followed(covered)
    return tuple(
        tuple(int(p.semitone) for p in slot.known if p is not None) if None not in slot.known else follow(slot, model)
        for slot, model in zip(covered.slots, covered.model, strict=True)
    )


def _followed(covered: Covered) -> Callable[[Slot, tuple[Pitch, ...]], tuple[int, ...]]:
    """Return how a covered moment follows from the right hand's at the figure's interval."""
    steps = covered.steps
    if steps is None:
        raise ValueError("hands without a distance")
    if steps % 7 == 0:
        return lambda slot, model: tuple(int(pitch.semitone) + 12 * (steps // 7) for pitch in model)
    return lambda slot, model: (_default(slot, _only(model).diatonic + steps),)


def _mirrored(covered: Covered) -> Callable[[Slot, tuple[Pitch, ...]], tuple[int, ...]]:
    """Return how a covered moment mirrors the right hand's."""
    start = covered.slots[0].known[0]
    if start is None:
        raise ValueError("the first note of a mirror is dark")
    axis = start.diatonic + _only(covered.model[0]).diatonic
    return lambda slot, model: (_default(slot, axis - _only(model).diatonic),)


def _only(model: tuple[Pitch, ...]) -> Pitch:
    (pitch,) = model
    return pitch


def _default(slot: Slot, diatonic: int) -> int:
    """Return the key of an unmarked note on a diatonic number."""
    plain = pitch_at(diatonic)
    return int(plain.semitone) + slot.default(0, plain.step, plain.octave)


def _copies(texture: Texture, kind: str, interval: str, octaves: range) -> Iterator[Figure]:
    """Yield the stretches in which the left hand copies the right a fixed number of octaves below."""
    for together in struck_together(texture):
        for count in sorted(octave for octave in set(together.copied) if octave in octaves):
            good = [shift == count for shift in together.copied]
            for first, stop in _shared_ends(together.pairs, _bridged(good, FEWEST)):
                yield from _figure(together, first, good[first:stop], kind, interval, -7 * count)


def _parallels(texture: Texture, interval: str) -> Iterator[Figure]:
    """Yield the stretches in which the left hand goes a generic interval below the right, as an unmarked note would."""
    steps = STEPS_BELOW[interval]
    for together in struck_together(texture):
        if together.below.count(steps) < FEWEST:
            continue
        good = [distance == steps for distance in together.below]
        for first, stop in _runs(good):  # those too short to stand beside an odd moment are in no figure, and are not looked at
            if stop - first >= BESIDE_ODD:
                good[first:stop] = [_unmarked(left.notes[0], texture) for _, left in together.pairs[first:stop]]
        for first, stop in _shared_ends(together.pairs, _bridged(good, FEWEST)):
            yield from _figure(together, first, good[first:stop], KIND_OF[interval], interval, -steps)


def _letter(event: Event) -> int:
    """Return the diatonic number of a single note."""
    return event.notes[0].pitch.diatonic


def _common_letter(pair: Pair) -> bool:
    """Return whether both hands strike the same letter."""
    return (_letter(pair[0]) - _letter(pair[1])) % 7 == 0


def _mirrors(pairs: tuple[Pair, ...]) -> bool:
    """Return whether mirrored moments are enough, and move enough, to be called contrary motion."""
    moves = sum(_letter(one[1]) != _letter(two[1]) for one, two in pairwise(pairs))
    return len(pairs) >= FEWEST_MIRRORED and moves >= FEWEST_MOVES


def _shared_ends(pairs: tuple[Pair, ...], runs: Iterable[Run]) -> Iterator[Run]:
    """Yield each run, and once more without its last moment where the hands begin to mirror each other there."""
    for first, stop in runs:
        yield first, stop
        if stop - first > FEWEST and _goes_apart(pairs[stop - 1 : stop - 1 + FEWEST_MIRRORED]):
            yield first, stop - 1


def _goes_apart(pairs: tuple[Pair, ...]) -> bool:
    """Return whether single notes mirror each other from a common letter here."""
    if len(pairs) < FEWEST_MIRRORED or not all(high.single and low.single for high, low in pairs):
        return False
    return _common_letter(pairs[0]) and len({_letter(high) + _letter(low) for high, low in pairs}) == 1


def _goes_parallel(pairs: tuple[Pair, ...]) -> bool:
    """Return whether single notes keep their distance here."""
    if len(pairs) < FEWEST or not all(high.single and low.single for high, low in pairs):
        return False
    return len({_letter(high) - _letter(low) for high, low in pairs}) == 1


def _unmarked(note: Note, texture: Texture) -> bool:
    """Return whether a note is altered as it would be without an accidental of its own."""
    pitch = note.pitch
    return texture.bars[note.bar].alter(note.staff, pitch.step, pitch.octave, note.tick, note.key) == pitch.alter


def _equal_runs(values: Sequence[int | None]) -> Iterator[Run]:
    """Yield the (first, stop) ranges over which the values are equal."""
    start = 0
    for place in range(1, len(values) + 1):
        if place == len(values) or values[place] != values[start]:
            yield start, place
            start = place


def _runs(good: Sequence[bool]) -> list[Run]:
    """Return the (first, stop) ranges of moments that keep a rule."""
    return [run.span() for run in re.finditer(b"\x01+", bytes(good))]


def _bridged(good: list[bool], fewest: int) -> Iterator[Run]:
    """Yield the ranges of moments that keep a rule, joined over single odd ones, that are at least ``fewest`` long.

    They begin and end with a moment that keeps the rule.
    """
    joined: list[Run] = []
    last_length = 0
    for first, stop in _runs(good):
        near = bool(joined) and first - joined[-1][1] == 1
        if near and last_length >= BESIDE_ODD and stop - first >= BESIDE_ODD:
            joined[-1] = (joined[-1][0], stop)
        else:
            joined.append((first, stop))
        last_length = stop - first
    return (run for run in joined if run[1] - run[0] >= fewest)


def _figure(together: Together, first: int, good: list[bool], kind: str, interval: str | None, steps: int | None) -> Iterator[Figure]:
    """Yield the figure of the moments from ``first`` on, ``good`` says which keep the rule; none if too many notes do not."""
    pairs = together.pairs[first : first + len(good)]
    moments = tuple([left.notes for _, left in pairs])
    odd = tuple([note for moment, ok in zip(moments, good, strict=True) if not ok for note in moment])
    if not kept(sum(map(len, moments)), len(odd)):
        return
    start = moments[0][0]
    yield make_figure(
        kind=kind,
        part=start.part,
        staff=start.staff,
        voice=start.voice,
        hand="left",
        moments=moments,
        anchors=_ordered((*moments[0], *odd)),
        odd=odd,
        interval=interval,
        steps=steps,
        model=tuple([right.notes for right, _ in pairs]),
        tied=together.line.tied_to(note for moment in moments for note in moment),
    )


def _ordered(notes: Iterable[Note]) -> tuple[Note, ...]:
    """Return the notes in their order, each once."""
    return tuple({note.number: note for note in notes}.values())


def label(figure: Figure) -> LabelData:
    """Say how far below the right hand the left one plays."""
    return LabelData("below", distance=abs(figure.steps)) if figure.steps else LabelData("unison")


def mirror_label(figure: Figure) -> LabelData:
    """Say that the left hand mirrors the right; there is nothing to name."""
    return LabelData()
