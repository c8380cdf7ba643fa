"""Arpeggio: the notes of one chord, each the next chord note up or down.

Conventions
-----------
* Notes of equal value, the last may be longer; every note single.
* A leg is counted with both its turning notes. One leg has at least four notes and no leg fewer than three, so that C E G E C E G E
  (a broken chord) and C G E G (Alberti bass) are no arpeggios. Where a leg would be shorter, the figure ends at the turning note before.
* Three of the four notes of a seventh chord count as the whole of it, if they are the three that its name then means.
* In a line that merges voices the figure must be shared; from voice to voice, or hand to hand, it passes in blocks of at least two notes.

Rule
----
Anchors are the first note, each turning note and the last. Between two anchors stand the chord's tones in order, as many as there are
notes; a seventh chord that then has too many tones for its notes is the one with three.

Source: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.harmony import Run, own_runs
from annotator.lines import Event, Line
from annotator.settings import Options
from annotator.theory.chords import QUALITIES, Chord, rungs

KIND = "arpeggio"
LONG_LEG = 4
"""Notes of the leg that makes an arpeggio."""
SHORT_LEG = 3
"""Fewest notes of any other leg."""


def _seeds() -> frozenset[tuple[int, int, int]]:
    """Return the steps in semitones, up and down, between any four neighbouring tones of any chord."""
    found = set()
    for quality in QUALITIES:
        chord = Chord("C", quality, 0, "C")
        for bass in QUALITIES[quality]:
            for sparse in (False, True):
                try:
                    ladder = rungs(chord, bass, sparse)
                except ValueError:
                    continue  # the bass is the very tone that is left out
                size = len(ladder)
                steps = [(ladder[(i + 1) % size] - ladder[i]) % 12 for i in range(size)]
                for i in range(size):
                    up = (steps[i], steps[(i + 1) % size], steps[(i + 2) % size])
                    found |= {up, (-up[2], -up[1], -up[0])}
    return frozenset(found)


SEEDS = _seeds()


def detect_arpeggios(line: Line, options: Options) -> list[Figure]:
    """Return the longest arpeggios of a line."""
    found: list[Figure] = []
    for run, first, stop in own_runs(line):
        seeds = _seeds_of(run)
        if seeds:
            found.extend(_grown(line, run, seeds, first, stop))
    return found


def _seeds_of(run: Run) -> list[int]:
    """Return where four notes of a run may be neighbouring tones of a chord; each run is looked through once."""
    kept: list[int] | None = run.__dict__.get("arpeggio seeds")
    if kept is None:
        steps = run.steps
        kept = [i for i, shape in enumerate(zip(steps, steps[1:], steps[2:], strict=False)) if shape in SEEDS]
        run.__dict__["arpeggio seeds"] = kept
    return kept


def _grown(line: Line, run: Run, seeds: list[int], begin: int, end: int) -> Iterator[Figure]:
    """Yield the figures between ``begin`` and ``end`` that grow from four notes in order, each seed used once."""
    done = -1
    for seed in seeds[bisect_left(seeds, begin) : bisect_right(seeds, end - LONG_LEG)]:
        if seed + LONG_LEG <= done:
            continue
        group = run.group(seed, LONG_LEG)
        if group.chord is None:
            continue
        first, stop = _reach(run.keys[begin:end], tuple(sorted({key % 12 for key in group.keys})), seed - begin)
        if stop - first < LONG_LEG:
            continue
        done = max(done, begin + stop)
        first, stop = begin + first, begin + stop
        if line.scope != "voice":
            first, stop = _in_blocks(line, run.events, first, stop)
        figure = _figure(line, run, first, stop)
        if figure is not None:
            yield figure


def _reach(keys: Sequence[int], classes: tuple[int, ...], seed: int) -> tuple[int, int]:
    """Return how far (first, stop) the leg at ``seed`` and its neighbours go on over the tones ``classes``."""
    stop = seed + _walk(keys[seed:], classes)
    first = seed + LONG_LEG - _walk(keys[seed + LONG_LEG - 1 :: -1], classes)
    return first, stop


def _walk(keys: Sequence[int], classes: tuple[int, ...]) -> int:
    """Return how many keys from the first on form legs over the tones, the first a long one."""
    size = len(classes)
    before = keys[0]
    place = classes.index(before % 12)
    good = turned = heading = 0
    for i, key in enumerate(keys[1:], 1):
        if key - before == (classes[(place + 1) % size] - before) % 12:
            way = 1
        elif before - key == (before - classes[place - 1]) % 12:
            way = -1
        else:
            break
        place = (place + way) % size
        before = key
        if way != heading:
            if heading and i - turned < (SHORT_LEG if turned else LONG_LEG):
                break
            heading, turned = way, i - 1
        if i - turned + 1 >= (SHORT_LEG if turned else LONG_LEG):
            good = i + 1
    return good


def _rank(key: int, classes: tuple[int, ...]) -> int | None:
    """Return the place of a key on the endless ladder of pitch classes ``classes`` (sorted), or None."""
    return key // 12 * len(classes) + classes.index(key % 12) if key % 12 in classes else None


def _in_blocks(line: Line, events: Sequence[Event], first: int, stop: int) -> tuple[int, int]:
    """Return the part that passes from hand to hand or voice to voice in blocks of two notes and more, perhaps none."""
    notes = [event.notes[0] for event in events[first:stop]]
    players = [note.staff for note in notes] if line.scope == "shared" else [note.voice for note in notes]
    blocks = [len(list(block)) for _, block in groupby(players)]
    if len(blocks) > 1 and blocks[0] == 1:
        first += blocks.pop(0)
    if len(blocks) > 1 and blocks[-1] == 1:
        stop -= blocks.pop()
    return (first, stop) if len(blocks) > 1 and min(blocks) > 1 else (first, first)


def _turns(keys: Sequence[int]) -> list[int]:
    """Return the indices of the first note, of each turning note and of the last."""
    inner = range(1, len(keys) - 1)
    return [0, *(i for i in inner if (keys[i] > keys[i - 1]) != (keys[i + 1] > keys[i])), len(keys) - 1]


def _figure(line: Line, run: Run, first: int, stop: int) -> Figure | None:
    """Make the figure, if its legs are long enough and its tones are what its chord's name means."""
    events, keys = run.events[first:stop], run.keys[first:stop]
    if len(events) < LONG_LEG:
        return None
    turns = _turns(keys)
    legs = [b - a + 1 for a, b in pairwise(turns)]
    if max(legs) < LONG_LEG or min(legs) < SHORT_LEG:
        return None
    chord = run.group(first, stop - first).chord
    if chord is None or _fill(chord, {i: keys[i] for i in turns}, len(keys)) != list(keys):
        return None
    direction = ("up" if keys[-1] > keys[0] else "down") if len(legs) == 1 else "turning"
    return figure_of(line, KIND, events, (events[i].notes[0] for i in turns), chord=chord, direction=direction)


def _fill(chord: Chord, known: dict[int, int], size: int) -> list[int] | None:
    """Return all ``size`` keys from the anchors' keys, on the whole ladder or else the sparse one; None if neither fits."""
    for sparse in (False, True) if len(QUALITIES[chord.quality]) == 4 else (False,):
        bass = min(known.values()) % 12
        try:
            classes = tuple(sorted((bass + step) % 12 for step in rungs(chord, bass, sparse)))
        except ValueError:
            continue
        filled = _filled(classes, known, size)
        if filled is not None:
            return filled
    return None


def _filled(classes: tuple[int, ...], known: dict[int, int], size: int) -> list[int] | None:
    """Fill the keys between anchors with neighbouring tones; None where their number does not fit."""
    places = sorted(known)
    if places[0] != 0 or places[-1] != size - 1:
        return None
    keys = [known[0]]
    for before, after in pairwise(places):
        low, high = _rank(known[before], classes), _rank(known[after], classes)
        if low is None or high is None or abs(high - low) != after - before:
            return None
        way = 1 if high > low else -1
        ranks = range(low + way, high + way, way)
        keys.extend(rank // len(classes) * 12 + classes[rank % len(classes)] for rank in ranks)
    return keys


def spell_out_arpeggio(covered: Covered) -> Spelling:
    """Rebuild an arpeggio from its chord and its anchors."""
    if covered.chord is None:
        raise ValueError("an arpeggio has a chord")
    known = {i: int(slot.known[0].semitone) for i, slot in enumerate(covered.slots) if slot.known[0] is not None}
    keys = _fill(covered.chord, known, len(covered.slots))
    if keys is None:
        raise ValueError("the anchors do not fit the chord")
    return tuple((key,) for key in keys)
