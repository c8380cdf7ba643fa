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
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import groupby, pairwise

from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.harmony import Row, row_of
from annotator.figures.label_data import LabelData, first_chord, stations
from annotator.lines import Line
from annotator.score import Note
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
    row = row_of(line)
    seeds = _seeds_of(row)
    if seeds:
        for first, stop, _ in row.own(line):
            found.extend(_grown(line, row, seeds[bisect_left(seeds, first) : bisect_right(seeds, stop - LONG_LEG)], (first, stop)))
    return found


def _seeds_of(row: Row) -> list[int]:
    """Return where four notes of a row may be neighbouring tones of a chord; each row is looked through once."""
    kept: list[int] | None = row.__dict__.get("arpeggio seeds")
    if kept is None:
        steps = row.steps
        kept = [i for i, shape in enumerate(zip(steps, steps[1:], steps[2:], strict=False)) if shape in SEEDS]
        row.__dict__["arpeggio seeds"] = kept
    return kept


def _grown(line: Line, row: Row, seeds: Iterable[int], bounds: tuple[int, int]) -> Iterator[Figure]:
    """Yield the figures within ``bounds`` that grow from four notes in order, each seed used once."""
    done = -1
    for seed in seeds:
        if seed + LONG_LEG <= done:
            continue
        group = row.group(seed, LONG_LEG)
        if group.chord is None:
            continue
        first, stop = _reach(row.keys, group.classes, seed, bounds)
        done = max(done, stop)
        if not row.shared(first, stop):
            continue
        if line.scope != "voice":
            first, stop = _in_blocks(line, row.notes, first, stop)
        figure = _figure(line, row, group.classes, (first, stop))
        if figure is not None:
            yield figure


def _reach(keys: Sequence[int], classes: tuple[int, ...], seed: int, bounds: tuple[int, int]) -> tuple[int, int]:
    """Return how far (first, stop) the leg at ``seed``, four neighbouring tones of ``classes``, and other legs beside it go on."""
    begin, end = bounds
    last = seed + LONG_LEG - 1
    way = 1 if keys[last] > keys[seed] else -1
    before = _further(keys, range(seed, begin - 1, -1), classes, -way)
    return seed - before, last + 1 + _further(keys, range(last, end), classes, way)


def _further(keys: Sequence[int], places: range, classes: tuple[int, ...], way: int) -> int:
    """Return at how many places legs go on after the first of them, with which a long leg ends that came this ``way``."""
    gaps = _gaps(classes)
    before = keys[places[0]]
    tone = classes.index(before % 12)
    good, turned = 0, -LONG_LEG
    for i, place in enumerate(places[1:], 1):
        step = keys[place] - before
        if step == gaps[tone]:
            heading = 1
        elif step == -gaps[tone - 1]:
            heading = -1
        else:
            break
        tone = (tone + heading) % len(gaps)
        before += step
        if heading != way:
            if i - turned < SHORT_LEG:
                break
            way, turned = heading, i - 1
        if i - turned + 1 >= SHORT_LEG:
            good = i
    return good


def _rank(key: int, classes: tuple[int, ...]) -> int | None:
    """Return the place of a key on the endless ladder of pitch classes ``classes`` (sorted), or None."""
    return key // 12 * len(classes) + classes.index(key % 12) if key % 12 in classes else None


@lru_cache(maxsize=1024)
def _gaps(classes: tuple[int, ...]) -> tuple[int, ...]:
    """Return how far it is from each pitch class up to the next, around the octave."""
    return tuple([(after - before) % 12 for before, after in zip(classes, classes[1:] + classes[:1], strict=True)])


def _in_blocks(line: Line, row: Sequence[Note], first: int, stop: int) -> tuple[int, int]:
    """Return the part that passes from hand to hand or voice to voice in blocks of two notes and more, perhaps none."""
    notes = row[first:stop]
    players = [note.staff for note in notes] if line.scope == "shared" else [note.voice for note in notes]
    blocks = [len(list(block)) for _, block in groupby(players)]
    if len(blocks) > 1 and blocks[0] == 1:
        first += blocks.pop(0)
    if len(blocks) > 1 and blocks[-1] == 1:
        stop -= blocks.pop()
    return (first, stop) if len(blocks) > 1 and min(blocks) > 1 else (first, first)


def turning_notes(keys: Sequence[int]) -> list[int]:
    """Return the indices of the first note, of each turning note and of the last."""
    inner = range(1, len(keys) - 1)
    return [0, *(i for i in inner if (keys[i] > keys[i - 1]) != (keys[i + 1] > keys[i])), len(keys) - 1]


def _figure(line: Line, row: Row, classes: tuple[int, ...], span: tuple[int, int]) -> Figure | None:
    """Make the figure of neighbouring tones of ``classes``, if its legs are long enough and these are what its chord's name means.

    A long leg goes through all of them: its anchors give it on a ladder that has the same tones, and on no other.
    """
    first, stop = span
    if stop - first < LONG_LEG:
        return None
    keys = row.keys[first:stop]
    turns = turning_notes(keys)
    legs = [b - a + 1 for a, b in pairwise(turns)]
    if max(legs) < LONG_LEG or min(legs) < SHORT_LEG:
        return None
    chord = row.group(first, stop - first).chord
    if chord is None or classes not in ladders(chord, min(keys) % 12):
        return None
    direction = ("up" if keys[-1] > keys[0] else "down") if len(legs) == 1 else "turning"
    dark = [place in turns for place in range(stop - first)]
    return row.figure(line, KIND, span, dark, chord=chord, direction=direction)


def fill(chord: Chord, known: dict[int, int], size: int) -> list[int] | None:
    """Return all ``size`` keys from the anchors' keys, on the whole ladder or else the sparse one; None if neither fits."""
    for classes in ladders(chord, min(known.values()) % 12):
        filled = _filled(classes, known, size)
        if filled is not None:
            return filled
    return None


@lru_cache(maxsize=4096)
def ladders(chord: Chord, bass: int) -> tuple[tuple[int, ...], ...]:
    """Return the pitch classes, sorted, of a chord's whole ladder and of the sparse one, if they stand on the pitch class ``bass``."""
    found = []
    for sparse in (False, True) if len(QUALITIES[chord.quality]) == 4 else (False,):
        try:
            found.append(tuple(sorted([(bass + step) % 12 for step in rungs(chord, bass, sparse)])))
        except ValueError:
            continue
    return tuple(found)


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
    keys = fill(covered.chord, known, len(covered.slots))
    if keys is None:
        raise ValueError("the anchors do not fit the chord")
    return tuple((key,) for key in keys)


def label(figure: Figure) -> LabelData:
    """Name the chord with its inversion, and the notes where the arpeggio starts, turns and ends."""
    chord = first_chord(figure)
    return LabelData("inverted" if chord.inversion else "root", chord=chord, path=stations(figure))
