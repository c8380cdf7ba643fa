"""Runs: successive steps of a scale, or successive semitones.

Conventions
-----------
* A run is a row of single notes of equal value, each joined to the one before; the first and the last may be longer. It may cross bars.
* Four notes at least; how many a reader wants is an option, and asked where figures are gathered (``annotator.figures.candidates``).
* A leg is what of it goes one way. Legs of at least ``JOINED_LEG`` notes join at their turning notes into one figure (a chain), where
  their notes are as long and the turning note at most twice as long, but no more than ``MOST_LEGS``; the next chain then begins on the note
  where the one before ends.
* Anchors are the first note, the turning notes, the last, and each odd note: one whose alteration is not that of the scale the run is
  named by. Odd notes are at most one in four, and never first, last or turning.
* A line of both hands only gives runs that pass from staff to staff in blocks of at least ``BLOCK`` notes.

Rule
----
Scale run: letter to next letter, one to three semitones; three stand in harmonic minor or beside an odd note. Whole-tone, octatonic and
pentatonic runs go from each note of the scale to the next, whatever the letters. Chromatic run: semitone by semitone, however spelled.
The inverse counts the moments from anchor to anchor in letters of the scale (in notes of it, in semitones) and refuses where the
count does not lead from the one to the other.

Source
------
Common practice, no source; the scales: ``annotator.music.scales``.

>>> list(_chains([(0, 4, 1), (4, 7, -1), (9, 13, 1)], [1] * 14))
[[(0, 4, 1), (4, 7, -1)], [(9, 13, 1)]]
>>> _between(Scale("F", "major"), pitch_at(29), pitch_at(33), 4)  # from D to A: E F G
[64, 65, 67]
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Spelling, made, stations
from annotator.figures.lines import Event, Line
from annotator.music.intervals import BY_SEMITONE, CONJUNCT, DOWN, SMALL, UP, steps_of
from annotator.music.keys import signature_scale
from annotator.music.names import Scale
from annotator.music.scales import (
    COLLECTIONS,
    ODD_SHARE,
    SCALES,
    alter_in,
    alters_of,
    classes_in,
    collection_of,
    name_run,
    scales_of_notes,
)
from annotator.music.score import STEPS, Note, Pitch, pitch_at
from annotator.options.settings import FEWEST_OF_A_RUN

JOINED_LEG = 4  # fewest notes of a leg that joins others, both its ends counted
MOST_LEGS = 8  # of one chain: a study that goes up and down for pages is no one thing to read
FEW_ODD, SELDOM = 2, 8  # so many odd notes, or one in so many, and a run stays whole; with more its parts are looked at
BLOCK = 2  # fewest notes in a row on one staff where both hands share a run
NAMED = 4  # fewest grey notes of a run with signs that the key has not, where it is slow or of a harmonic or melodic minor scale
COLLECTION = 6  # fewest notes of a run that skips letters: below that nothing tells it from a broken chord
CHROMATIC = Scale(None, "chromatic")

Leg = tuple[int, int, int]
"""First and last event, and 1 or -1 for up or down."""


def detect_scale_runs(line: Line, fewest: int = FEWEST_OF_A_RUN) -> Iterator[Figure]:
    """Yield the runs of scales in a line, ``fewest`` notes at least: each row of legs whole, or what of it has a name."""
    return (run for run in _really_shared(line, every_scale_run(line, fewest)) if len(run.grey) >= NAMED or _at_a_glance(line, run))


def _at_a_glance(line: Line, run: Figure) -> bool:
    """Return whether a short run is read as one: as the key has it, or by the scale of another key in notes quicker than the beat."""
    note = run.moments[1][0]
    quick = note.ticks < line.bars[note.bar].beat_ticks(line.resolution)
    return not _is_altered(run) or (quick and run.scale is not None and run.scale.type in ("major", "natural minor"))


def every_scale_run(line: Line, fewest: int) -> Iterator[Figure]:
    """Yield the runs of scales in a line, whichever staff they are on and however short for their names."""
    letters, small = steps_of(line.moves, CONJUNCT), steps_of(line.moves, SMALL)
    for chain in _chains(legs(line, letters, JOINED_LEG), line.ticks):
        if chain[-1][1] - chain[0][0] + 1 >= fewest:
            yield from _scale_runs(line, chain, fewest)
    for chain in _chains(legs(line, small, COLLECTION), line.ticks):
        first, last = chain[0][0], chain[-1][1]
        if letters[first:last] == small[first:last]:
            continue  # by letters throughout: named above
        scale = collection_of([event.notes[0].pitch for event in line.events[first : last + 1]])
        if scale:
            yield _figure(line, "scale-run", chain, scale, ())


def detect_chromatic_runs(line: Line, fewest: int = FEWEST_OF_A_RUN) -> Iterator[Figure]:
    """Yield the runs in semitones, ``fewest`` notes at least, each row of legs whole."""
    return _really_shared(line, _all_chromatic_runs(line, fewest))


def _all_chromatic_runs(line: Line, fewest: int) -> Iterator[Figure]:
    """Yield the runs in semitones, whichever staff they are on."""
    for chain in _chains(legs(line, steps_of(line.moves, BY_SEMITONE), JOINED_LEG), line.ticks):
        if chain[-1][1] - chain[0][0] + 1 >= fewest:
            yield _figure(line, "chromatic-run", chain, CHROMATIC, ())


def spell_out_scale_run(covered: Covered) -> Spelling:
    """Return the keys of a scale run from its scale, its anchors and the number of notes between them.

    Rule: Step by step along the scale that is named (none named: as the key signature says) from one black note to the next.
    """
    if covered.scale is None:
        raise CannotSpellOut("a scale run needs its scale")
    return _spell_out(covered, covered.scale)


def spell_out_chromatic_run(covered: Covered) -> Spelling:
    """Return the keys of a chromatic run from its anchors and the number of notes between them.

    Rule: Every key in turn, none left out, from one black note to the next.
    """
    return _spell_out(covered, CHROMATIC)


def legs(line: Line, steps: str, fewest: int) -> Iterator[Leg]:
    """Yield the longest legs of a line, ``fewest`` notes at least; ``steps`` are its steps (``steps_of``)."""
    for one_way in re.finditer(f"{UP}{{{fewest - 1},}}|{DOWN}{{{fewest - 1},}}", steps):
        way = 1 if one_way[0][0] == UP else -1
        for first, last in _even(line.ticks, *one_way.span()):
            if last - first + 1 >= fewest:
                yield first, last, way


def _even(ticks: Sequence[int], first: int, last: int) -> Iterator[tuple[int, int]]:
    """Yield the stretches of equal notes between two events, the first and the last of a stretch equal to the others or longer."""
    start = first
    for here in range(first + 1, last + 2):
        if here <= last and ticks[here] == ticks[start]:
            continue
        end = here if here <= last and ticks[here] > ticks[start] else here - 1
        yield start - 1 if start > first and ticks[start - 1] > ticks[start] else start, end
        start = here


def _chains(legs: Iterable[Leg], ticks: Sequence[int]) -> Iterator[list[Leg]]:
    """Gather legs into rows in which each turns on the last note of the one before, which is not held, and goes on in notes as long."""
    chain: list[Leg] = []
    for leg in legs:
        turns = bool(chain) and chain[-1][1] == leg[0] and chain[-1][2] != leg[2]
        if turns:
            before, turning, after = ticks[leg[0] - 1 : leg[0] + 2]
            turns = before == after and turning <= 2 * before
        if chain and not (turns and _may_join(chain[-1]) and _may_join(leg) and len(chain) < MOST_LEGS):
            yield chain
            chain = []
        chain.append(leg)
    if chain:
        yield chain


def _may_join(leg: Leg) -> bool:
    """Return whether a leg is long enough to join others."""
    return leg[1] - leg[0] + 1 >= JOINED_LEG


def _scale_runs(line: Line, chain: list[Leg], fewest: int) -> Iterator[Figure]:
    """Yield the figures of a row of legs: whole where it keeps to one scale, else as many legs together as do, one after another.

    Where there are odd notes, the longest stretches without any stand for choice as well, over turning notes and all.
    """
    figure = _named(line, chain)
    if figure is None or figure.odd:
        yield from _lawful_stretches(line, chain, fewest)
    while chain:
        count = len(chain)
        if not _clean(figure):
            count, figure = 0, None
            for longer in range(1, len(chain)):
                extended = _named(line, chain[:longer])
                if not _clean(extended):
                    break
                count, figure = longer, extended
        if count == 0:
            count, figure = 1, _named(line, chain[:1])
            yield from _lawful_stretches(line, chain[:1], fewest)
        if figure and len(figure.moments) >= fewest:
            yield figure
        chain = chain[count:]
        figure = _named(line, chain) if chain else None


def _lawful_stretches(line: Line, chain: list[Leg], fewest: int) -> Iterator[Figure]:
    """Yield the longest stretches of a row of legs that fit some scale exactly, less what is too short for a leg at either end."""
    base = chain[0][0]
    pitches = [event.notes[0].pitch for event in line.events[base : chain[-1][1] + 1]]
    for start, end in _fitting(pitches, fewest):
        row = [(max(leg[0], base + start), min(leg[1], base + end), leg[2]) for leg in chain]
        row = [leg for leg in row if leg[1] > leg[0]]
        while row and not _may_join(row[0]):
            row = row[1:]
        while row and not _may_join(row[-1]):
            row = row[:-1]
        figure = _named(line, row) if row and row[-1][1] - row[0][0] + 1 >= fewest else None
        if figure:
            yield figure


def _clean(figure: Figure | None) -> bool:
    """Return whether a run has a name that it hardly ever breaks."""
    return figure is not None and (len(figure.odd) <= FEW_ODD or len(figure.odd) * SELDOM <= len(figure.moments))


def _named(line: Line, row: list[Leg]) -> Figure | None:
    """Return the figure of a row of legs if it has a name and few enough odd notes."""
    opening, closing = line.events[row[0][0]], line.events[row[-1][1]]
    pitches = [event.notes[0].pitch for event in line.events[row[0][0] : row[-1][1] + 1]]
    note = opening.notes[0]
    local = line.keys[opening.bar] if line.keys else signature_scale(note.key.fifths, note.key.mode == "minor")
    scale = name_run(pitches, note.key, _in_force(line, opening, closing), local)
    if scale is None:
        return None
    odd = () if scale.type in COLLECTIONS else _odd(line.events, row, scale)
    return _figure(line, "scale-run", row, scale, odd) if len(odd) * ODD_SHARE <= len(pitches) else None


def _in_force(line: Line, opening: Event, closing: Event) -> list[int]:
    """Return the alterations of the letters C..B by the accidentals in the run's bars on its staff, else the signature."""
    note, until = opening.notes[0], closing.tick
    alters = [int(alter) for alter in note.key.alters]
    for bar in line.bars[opening.bar : closing.bar + 1]:
        for sign in bar.signs:
            if sign.staff == note.staff and sign.tick <= until:
                alters[STEPS.index(sign.step)] = int(sign.alter)
    return alters


def _odd(events: Sequence[Event], row: list[Leg], scale: Scale) -> tuple[Note, ...]:
    """Return the notes inside the legs that the scale would not give."""
    odd: list[Note] = []
    for first, last, way in row:
        alters = alters_of(scale, way > 0)
        inner = [event.notes[0] for event in events[first + 1 : last]]
        odd.extend(note for note in inner if note.pitch.alter != alters[note.pitch.diatonic % 7])
    return tuple(odd)


def _fitting(pitches: Sequence[Pitch], fewest: int) -> Iterator[tuple[int, int]]:
    """Yield the longest spans, first and last note, that some scale fits exactly."""
    fitting = scales_of_notes(pitches)
    start, shared = 0, frozenset(SCALES)
    for place, scales in enumerate(fitting):
        if shared & scales:
            shared &= scales
            continue
        if place - start >= fewest:
            yield start, place - 1
        start, shared = place, scales
        while start and shared & fitting[start - 1]:
            start -= 1
            shared &= fitting[start]
    if len(fitting) - start >= fewest:
        yield start, len(fitting) - 1


def _figure(line: Line, kind: str, row: list[Leg], scale: Scale, odd: Sequence[Note]) -> Figure:
    """Return the figure of a row of legs."""
    first = row[0][0]
    moments = [event.notes for event in line.events[first : row[-1][1] + 1]]
    strange = {note.number for note in odd}
    dark = {moments[place - first][0].number for place in (first, *(leg[1] for leg in row))} | strange
    direction = "turning" if len(row) > 1 else "up" if row[0][2] > 0 else "down"
    return made(line, kind, moments, dark, strange, direction=direction, scale=scale)


def _really_shared(line: Line, figures: Iterator[Figure]) -> Iterator[Figure]:
    """Leave out, in a line of both hands, the runs that do not pass from hand to hand."""
    return figures if line.scope != "shared" else (figure for figure in figures if _passes_over(figure.struck))


def _passes_over(notes: Sequence[Note]) -> bool:
    """Return whether a run goes from staff to staff, some notes in a row on each."""
    edges = [0, *(place for place, (a, b) in enumerate(pairwise(notes), 1) if a.staff != b.staff), len(notes)]
    return len(edges) > 2 and all(stop - start >= BLOCK for start, stop in pairwise(edges))


def _spell_out(covered: Covered, scale: Scale) -> Spelling:
    """Return a run's keys: from each anchor to the next by the scale, the odd notes as they stand."""
    slots = covered.slots
    dark = [place for place, slot in enumerate(slots) if slot.known[0] is not None and not slot.odd[0]]
    if not dark or dark[0] != 0 or dark[-1] != len(slots) - 1:
        raise CannotSpellOut("the first and the last note of a run must be known")
    keys: list[int] = []
    for before, after in pairwise(dark):
        opening, closing = slots[before].dark(), slots[after].dark()
        keys.append(int(opening.semitone))
        inner = _between(scale, opening, closing, after - before)
        for slot, key in zip(slots[before + 1 : after], inner, strict=True):
            known = slot.known[0]
            keys.append(key if known is None else int(known.semitone))
    return tuple((key,) for key in (*keys, int(slots[-1].dark().semitone)))


def _between(scale: Scale, opening: Pitch, closing: Pitch, count: int) -> list[int]:
    """Return the keys between two anchors that are ``count`` notes of the scale apart."""
    if scale.type == "chromatic" or scale.type in COLLECTIONS:
        return _by_semitones(scale, int(opening.semitone), int(closing.semitone), count)
    way = 1 if closing.diatonic > opening.diatonic else -1
    if (closing.diatonic - opening.diatonic) * way != count:
        raise CannotSpellOut("the anchors of a run are not as many letters apart as it has notes")
    found = []
    for place in range(opening.diatonic + way, closing.diatonic, way):
        alter = alter_in(scale, place % 7, way > 0)
        if alter is None:
            raise CannotSpellOut("the scale of a run lacks a letter")
        found.append(int(pitch_at(place, alter).semitone))
    return found


def _by_semitones(scale: Scale, low: int, high: int, count: int) -> list[int]:
    """Return the keys between two anchors where the scale goes by pitch classes."""
    classes = frozenset(range(12)) if scale.type == "chromatic" else classes_in(scale)
    way = 1 if high > low else -1
    inner = [key for key in range(low + way, high, way) if key % 12 in classes]
    if len(inner) != count - 1:
        raise CannotSpellOut("the anchors of a run are not as many notes of its scale apart as it has notes")
    return inner


def label(figure: Figure) -> LabelData:
    """Name the scale, and the notes where the run starts, turns and ends."""
    path = stations(figure)
    if figure.kind == "chromatic-run" or (figure.scale and figure.scale.type == "chromatic"):
        return LabelData("chromatic", path=path)
    if figure.scale is None:
        return LabelData("plain", path=path)
    # however short the label, a grey note with an accidental follows from the scale alone
    return LabelData("altered" if _is_altered(figure) else "scale", scale=figure.scale, path=path)


def _is_altered(figure: Figure) -> bool:
    """Return whether some grey note of a run is not as the key signature has it."""
    return any(note.pitch.alter != note.key.alters[note.pitch.diatonic % 7] for note in figure.grey)
