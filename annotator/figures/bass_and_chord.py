"""Bass and chord: a bass note, then one chord or more above it (oom-pah, waltz bass).

Conventions
-----------
* A group is a bass (one note, or one note and its octaves struck together) and the one to five chords of two notes or more above it,
  up to the next bass. Groups are alike in number and rhythm; the very last chord may be longer. Two groups or more.
* Each group takes the chord of all its notes. The same harmony over another bass is no change, but that bass is dark.
* A group that no chord holds stays under the harmony before it, if at most a quarter of its notes differ from what would be expected.

Rule
----
Anchors are the bass and the first chord wherever the harmony changes, each bass that differs from the bass before, and every note of a
chord that differs from the chord struck before it (odd). All else is struck as before.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Change, Covered, Figure, Spelling
from annotator.figures.harmony import bits_of, chord_over, shared_by_voices
from annotator.lines import Event, Line
from annotator.score import Note
from annotator.settings import Options
from annotator.theory.chords import Chord, same_harmony

KIND = "bass-and-chord"
MOST_CHORDS = 5
"""Chords after one bass note."""


def detect_bass_and_chord(line: Line, options: Options) -> list[Figure]:
    """Return the longest stretches of bass and chord in a voice or a hand."""
    found: list[Figure] = []
    if line.scope == "shared":
        return found
    for first, stop in line.stretches:
        if stop - first < 4:
            continue
        events = line.events[first:stop]
        sizes = [len(event.notes) for event in events]
        if max(sizes) > 1:
            for chain in _chains(events, sizes):
                found.extend(_figures(line, chain))
    return found


def _is_bass(event: Event) -> bool:
    """Return whether an event is one note, perhaps with its octaves."""
    low = event.notes[0].pitch.semitone
    return all((note.pitch.semitone - low) % 12 == 0 for note in event.notes[1:])


def _chains(events: Sequence[Event], sizes: Sequence[int]) -> Iterator[list[tuple[Event, ...]]]:
    """Yield rows of groups that are alike in number and rhythm."""
    chain: list[tuple[Event, ...]] = []
    place, total = 0, len(events)
    while place + 1 < total:
        group = _group(events, sizes, place)
        if group is None:
            if len(chain) > 1:
                yield chain
            chain = []
            place += 1
            continue
        rhythm = [event.ticks for event in group]
        if chain:
            model = [event.ticks for event in chain[-1]]
            same_start = len(model) == len(rhythm) and model[:-1] == rhythm[:-1]
            if same_start and rhythm[-1] > model[-1]:
                yield [*chain, group]
                chain = []
            elif not same_start or rhythm[-1] < model[-1]:
                if len(chain) > 1:
                    yield chain
                chain = [group]
            else:
                chain.append(group)
        else:
            chain = [group]
        place += len(group)
    if len(chain) > 1:
        yield chain


def _group(events: Sequence[Event], sizes: Sequence[int], place: int) -> tuple[Event, ...] | None:
    """Return the bass at ``place`` with the chords above it, or None."""
    if sizes[place + 1] < 2 or sizes[place] > 3 or not _is_bass(events[place]):
        return None
    top = events[place].notes[-1].pitch.semitone
    stop = place + 1
    while stop < len(events) and sizes[stop] > 1 and not _is_bass(events[stop]):
        if events[stop].notes[0].pitch.semitone <= top:
            return None
        stop += 1
    return tuple(events[place:stop]) if 1 < stop - place <= MOST_CHORDS + 1 else None


def _keys(event: Event) -> tuple[int, ...]:
    """Return the keys struck, from low to high."""
    return tuple(int(note.pitch.semitone) for note in event.notes)


def _figures(line: Line, chain: list[tuple[Event, ...]]) -> Iterator[Figure]:
    """Yield the figures of a row of groups: it is broken where no chord is to be named."""
    row: list[tuple[tuple[Event, ...], Chord]] = []
    for group in chain:
        mask = 0
        for bits in bits_of(group):
            mask |= bits
        named = chord_over((note for event in group for note in event.notes), mask) if mask.bit_count() <= 5 else None
        chord = _chord_in_force(group, named, row)
        if chord is None:
            yield from _made(line, row)
            row = []
        else:
            row.append((group, chord))
    yield from _made(line, row)


def _chord_in_force(
    group: tuple[Event, ...], named: Chord | None, row: list[tuple[tuple[Event, ...], Chord]]
) -> Chord | None:
    """Return the chord a group stands under, or None where the figure cannot go on."""
    notes = sum(len(event.notes) for event in group)
    if named is not None:
        return named if 4 * _strange(group[2:], _keys(group[1])) <= notes else None
    if not row:
        return None
    before = _keys(row[-1][0][-1])
    return row[-1][1] if 4 * _strange(group[1:], before) <= notes else None


def _strange(chords: Sequence[Event], before: tuple[int, ...]) -> int:
    """Return how many notes of some chords differ from the chord struck before each."""
    total = 0
    for event in chords:
        keys = _keys(event)
        total += sum(dark_notes(keys, before))
        before = keys
    return total


def dark_notes(keys: Sequence[int], before: Sequence[int]) -> list[bool]:
    """Return which notes do not follow from the chord before: all of them where it had another number of notes."""
    if len(keys) != len(before):
        return [True] * len(keys)
    return [key != old for key, old in zip(keys, before, strict=True)]


def _trimmed(row: list[tuple[tuple[Event, ...], Chord]]) -> list[tuple[tuple[Event, ...], Chord]]:
    """Drop groups at either end in which nothing would be grey: a bass and one chord, and a new harmony before and after."""
    first, stop = 0, len(row)
    while stop - first > 1 and len(row[first][0]) == 2 and not same_harmony(row[first][1], row[first + 1][1]):
        first += 1
    while stop - first > 1 and len(row[stop - 1][0]) == 2 and not same_harmony(row[stop - 2][1], row[stop - 1][1]):
        stop -= 1
    return row[first:stop]


def _made(line: Line, row: list[tuple[tuple[Event, ...], Chord]]) -> Iterator[Figure]:
    """Yield the figure of a row of named groups, if there is one."""
    row = _trimmed(row)
    if len(row) < 2 or not shared_by_voices(line, row[0][0]):
        return
    anchors: list[Note] = []
    odd: list[Note] = []
    changes: list[Change] = []
    moment = 0
    bass: tuple[int, ...] = ()
    before: tuple[int, ...] = ()
    for number, (group, chord) in enumerate(row):
        changed = number == 0 or not same_harmony(chord, row[number - 1][1])
        if changed:
            changes.append(Change(moment, group[0].notes[0], chord))
        for place, event in enumerate(group):
            keys = _keys(event)
            if place == 0:
                anchors += event.notes if changed or keys != bass else ()
                bass = keys
                continue
            if changed and place == 1:
                anchors += event.notes
            else:
                odd += [note for note, dark in zip(event.notes, dark_notes(keys, before), strict=True) if dark]
            before = keys
        moment += len(group)
    figure = figure_of(
        line,
        KIND,
        [event for group, _ in row for event in group],
        [*anchors, *odd],
        chord=row[0][1],
        changes=tuple(changes),
        group=len(row[0][0]),
    )
    if figure is not None:
        strange = {note.number for note in odd}
        yield replace(figure, odd=tuple(note for note in figure.struck if note.number in strange))


def spell_out_bass_and_chord(covered: Covered) -> Spelling:
    """Rebuild bass and chords from what is dark and what was struck before."""
    if not covered.group:
        raise ValueError("bass and chord come in groups")
    changes = {moment for moment, _ in covered.changes}
    bass: tuple[int, ...] = ()
    before: tuple[int, ...] = ()
    rebuilt: list[tuple[int, ...]] = []
    for moment, slot in enumerate(covered.slots):
        place = moment % covered.group
        model = bass if place == 0 else before
        if moment - place in changes and place < 2:
            model = ()
        keys = _read([None if pitch is None else int(pitch.semitone) for pitch in slot.known], model)
        if place == 0:
            bass = keys
        else:
            before = keys
        rebuilt.append(keys)
    return tuple(rebuilt)


def _read(known: Sequence[int | None], model: Sequence[int]) -> tuple[int, ...]:
    """Return the keys of one moment: the dark ones as they are, the others as in the model, which then has as many notes."""
    if None in known and len(known) != len(model):
        raise ValueError("nothing says what is struck here")
    return tuple(model[i] if key is None else key for i, key in enumerate(known))
