"""The inverse of broken intervals: every pair from the dark ones, the interval and the scale."""

from __future__ import annotations

from itertools import pairwise

from annotator.figures.figure import CannotSpellOut, Covered, Spelling
from annotator.score import Bar, Key, Pitch
from annotator.theory.intervals import in_scale, unmarked
from annotator.theory.names import Scale


def followed(bar: Bar, staff: int, tick: int, key: Key, diatonic: int, scale: Scale | None, ascending: bool) -> Pitch:
    """Return the note on a diatonic number as the scale has it, without a scale as an unmarked note would be."""
    return in_scale(scale, diatonic, ascending) if scale else unmarked(bar, staff, tick, key, diatonic)


def spell_out_broken_interval(covered: Covered) -> Spelling:
    """Rebuild broken intervals: octaves any way from the first notes, all others from pair to pair."""
    if covered.direction is None:
        return _octaves(covered)
    slots = covered.slots
    pillars = [
        place
        for place in range(0, len(slots), 2)
        if all(slots[i].known[0] is not None and not slots[i].odd[0] for i in (place, place + 1))
    ]
    if not pillars or pillars[0] != 0 or pillars[-1] != len(slots) - 2:
        raise CannotSpellOut("the first and the last pair must be dark")
    keys = [0] * len(slots)
    for before, after in pairwise(pillars):
        _fill(covered, before, after, keys)
    return tuple((key,) for key in keys)


def _fill(covered: Covered, before: int, after: int, keys: list[int]) -> None:
    """Write the keys from one dark pair to the next."""
    slots = covered.slots
    begin, second, end = slots[before].dark(), slots[before + 1].dark(), slots[after].dark()
    rise, width = end.diatonic - begin.diatonic, second.diatonic - begin.diatonic
    if abs(rise) != (after - before) // 2:
        raise CannotSpellOut("the dark pairs are not as many steps apart as there are pairs")
    way = 1 if rise > 0 else -1
    for place in range(before, after + 2):
        slot, half = slots[place], place % 2
        known = slot.known[0]
        if known is not None:
            keys[place] = int(known.semitone)
        elif half and covered.interval == "octave":
            keys[place] = keys[place - 1] + (12 if width > 0 else -12)
        else:
            letter = begin.diatonic + way * ((place - before) // 2) + half * width
            pitch = followed(slot.bar, slot.staff[0], slot.tick, slot.key, letter, covered.scale, way > 0)
            keys[place] = int(pitch.semitone)


def _octaves(covered: Covered) -> Spelling:
    """Return octaves from the first note of each pair; the first pair, dark as a whole, tells which way they go."""
    size = int(covered.slots[1].dark().semitone - covered.slots[0].dark().semitone)
    spelled = []
    for slot in covered.slots[::2]:
        key = int(slot.dark().semitone)
        spelled += [(key,), (key + size,)]
    return tuple(spelled)
