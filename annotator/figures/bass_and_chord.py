"""Bass and chord: a bass note, then one chord or more above it (oom-pah, waltz bass).

Conventions
-----------
* A group is a bass (one note, or one note and its octaves struck together) and the chords of two notes or more above it (of octaves, above
  the lowest, and their highest note above the highest), up to the next bass and no longer than a bar. Two groups or more.
* Groups alike in number and rhythm make a row; its very last chord may be longer. A last group after two others may
  break off before a rest, and ends where they end if another chord follows.
* Groups that stand in no such row, one after another, make a row too (``group`` is None) where each strikes one chord again and again,
  and half of them strike it twice or more. There a bass of more than one note stays dark: a single note, or dark octaves, begin a group.
* So does a row that is alike but for a bass without a chord between two groups, which leads to the next: bass, chord, chord, bass.
* A rest no longer than the stroke before it parts nothing.
* Each group takes the chord of all its notes; a doubtful one only where the groups beside it confirm it (``chords.believed``). The
  same harmony over another bass is no change, but that bass is dark; nor is the same chord over another tone of the harmony, where the
  root is in the bass alone: F♯, then A♯ C♯ E, then C♯ and the same.
* A group that no chord holds stays under the harmony before it, if at most a quarter of its notes differ from what would be expected.

Rule
----
Anchors are the bass and the first chord wherever the harmony changes, each bass that differs from the bass before, and every note of a
chord that differs from the chord struck before it (odd). All else is struck as before.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, groupby, islice

from annotator.figures.figure import CannotSpellOut, Change, Covered, Figure, LabelData, Spelling, figure_of, first_chord
from annotator.figures.lines import AHEAD, Event, Line
from annotator.music.chords import Chord, believed, classes_of, name_chord, same_harmony
from annotator.music.score import Note, Pitch

KIND = "bass-and-chord"
MOST_OF_A_BASS = 3
"""Most notes of a bass: a note and its octaves."""

Keys = tuple[int, ...]
"""What is struck at one moment, as MIDI numbers, from low to high."""


@dataclass(frozen=True, slots=True)
class Group:
    """A bass and its chords: some ``events`` of a line and the ``keys`` of each."""

    events: Sequence[Event]
    keys: Sequence[Keys]

    def __len__(self) -> int:
        return len(self.events)

    @property
    def ticks(self) -> list[int]:
        """The length of each event."""
        return [event.ticks for event in self.events]

    @property
    def pitches(self) -> list[Pitch]:
        """The pitches of all its notes."""
        return [note.pitch for event in self.events for note in event.notes]

    @property
    def size(self) -> int:
        """How many notes there are."""
        return sum(map(len, self.keys))

    def cut(self, stop: int) -> Group:
        """Return the group without its events from ``stop`` on."""
        return Group(self.events[:stop], self.keys[:stop])


def detect_bass_and_chord(line: Line) -> Iterator[Figure]:
    """Yield the longest stretches of bass and chord in a voice or a hand."""
    if line.scope == "shared" or all(event.single for event in line.events):
        return
    for groups, silent in _neighbours(line):
        parts = [list(part) for single, part in groupby(groups, key=_alone) if not single]
        for place, part in enumerate(parts, start=1):
            for row, alike in _rows(part, silent and place == len(parts)) if len(part) > 1 else ():
                yield from _figures(line, row, alike)
        if len(parts) > 1 and (len({len(group) for part in parts for group in part}) == 1 or _telling(list(chain(*parts)))):
            yield from _figures(line, groups, False)


def _neighbours(line: Line) -> Iterator[tuple[list[Group], bool]]:
    """Yield the groups that follow one another directly, two or more at a time; and whether all is silent after the last of them."""
    for first, stop in _stretches(line):
        events = line.events[first:stop]
        if all(event.single for event in events):
            continue
        keys = [tuple([int(note.pitch.semitone) for note in event.notes]) for event in events]
        groups: list[Group] = []
        place = 0
        while place < len(events):
            end = _end_of_group(line, events, keys, place)
            leading = end - place == 1 and _leads_on(line, events, keys, place)
            if end - place > 1 or (leading and groups and not _alone(groups[-1])):
                groups.append(Group(events[place:end], keys[place:end]))
            if (end - place == 1 and not (groups and groups[-1].events[-1] is events[place])) or end == len(events):
                if len(groups) > 1:
                    yield groups, end == len(events) and end - place > 1
                groups = []
            place = end


def _stretches(line: Line) -> Iterator[tuple[int, int]]:
    """Yield the longest ranges of events that are parted by no more than short rests."""
    starts = [place for place in range(len(line)) if place == 0 or not line.near(place)]
    yield from zip(starts, [*starts[1:], len(line)], strict=True)


def _alone(group: Group) -> bool:
    """Return whether a group is a bass without a chord."""
    return len(group) == 1


def _leads_on(line: Line, events: Sequence[Event], keys: Sequence[Keys], place: int) -> bool:
    """Return whether an event is a bass without a chord, after which a group follows."""
    return _octaves(keys[place]) and len(keys[place]) <= MOST_OF_A_BASS and _end_of_group(line, events, keys, place + 1) - place > 2


def _end_of_group(line: Line, events: Sequence[Event], keys: Sequence[Keys], place: int) -> int:
    """Return where the group ends that begins at a place; right after it if there is none."""
    end = place + 1
    if place >= len(keys):
        return place
    bass = keys[place]
    if not _octaves(bass) or len(bass) > MOST_OF_A_BASS:
        return end
    over = events[place].tick + line.bars[events[place].bar].ticks
    while end < len(events) and keys[end][0] > bass[0] and keys[end][-1] > bass[-1] and not _octaves(keys[end]) and events[end].tick < over:
        end += 1
    return end


def _octaves(keys: Sequence[int]) -> bool:
    """Return whether some keys are one note, perhaps with its octaves: a bass. A chord never is."""
    return len(keys) == 1 or len({key % 12 for key in keys}) == 1


def _rows(groups: Sequence[Group], silent: bool) -> Iterator[tuple[list[Group], bool]]:
    """Yield rows of groups and whether they are alike in number and rhythm; ``silent`` tells whether all is so after the last group."""
    rest: list[Group] = []
    place = 0
    while place < len(groups):
        row = _alike(groups, place, silent)
        if len(row) == 1:
            rest += row
        else:
            yield from _unlike(rest)
            rest = []
            yield row, True
        place += len(row)
    yield from _unlike(rest)


def _alike(groups: Sequence[Group], place: int, silent: bool) -> list[Group]:
    """Return the group at a place and those after it that are like it."""
    row = [groups[place]]
    rhythm = row[0].ticks
    size = len(rhythm)
    for group in islice(groups, place + 1, None):
        own = group.ticks[:size]
        if own == rhythm and len(group) == size:
            row.append(group)
            continue
        cut = len(row) > 1 and len(group) > size and group.keys[size] != group.keys[size - 1]
        if own[:-1] == rhythm[:-1] and own[-1] >= rhythm[-1] and (len(group) == size or cut):
            row.append(group.cut(size))
        elif len(row) > 1 and len(group) < size and own[:-1] == rhythm[: len(own) - 1] and silent and group is groups[-1]:
            row.append(group)
        break
    return row


def _unlike(groups: Sequence[Group]) -> Iterator[tuple[list[Group], bool]]:
    """Yield the rows of groups that differ in number or rhythm, each of one chord struck again and again."""
    row: list[Group] = []
    for group in groups:
        same = next((place for place, keys in enumerate(group.keys) if place and keys != group.keys[1]), len(group))
        row.append(group.cut(same))
        if same < len(group):
            if _telling(row):
                yield row, False
            row = []
    if _telling(row):
        yield row, False


def _telling(row: Sequence[Group]) -> bool:
    """Return whether enough of some unlike groups strike their chord more than once."""
    return len(row) > 1 and 2 * sum(len(group) > 2 for group in row) >= len(row)


def _figures(line: Line, groups: Sequence[Group], alike: bool) -> Iterator[Figure]:
    """Yield the figures of a row of groups: it is broken where no chord is to be named."""
    row: list[tuple[Group, Chord]] = []
    for place, group in enumerate(groups):
        if _alone(group):
            row += [(group, row[-1][1])] if row else []
            continue
        coming = [other for other in islice(groups, place + 1, place + 1 + AHEAD) if not _alone(other)]
        after = [*coming[:1], *[other for other in coming if other.keys != group.keys][:1]]
        chord = _chord_in_force(group, [each for each in row[-2:] if not _alone(each[0])], after)
        if chord is None:
            yield from _made(line, row, alike)
            row = []
        else:
            row.append((group, chord))
    yield from _made(line, row, alike)


def _chord_in_force(group: Group, row: list[tuple[Group, Chord]], after: Sequence[Group]) -> Chord | None:
    """Return the chord a group stands under, or None where the figure cannot go on; some of those ``after`` it may confirm it."""
    before, old = row[-1] if row else (None, None)
    if before is not None and old is not None and group.keys[1:] == before.keys[1:] and group.keys[0][0] % 12 in classes_of(old):
        return old  # the bass alternates
    chord = believed(group.pitches, [each for each in (old, *(name_chord(other.pitches) for other in after)) if each])
    if chord is not None and of_two_triads(chord, [event.notes for event in group.events]):
        return None
    if chord is not None:
        return chord if 4 * _strange(group.keys[1], group.keys[2:]) <= group.size else None
    return old if before is not None and 4 * _strange(before.keys[-1], group.keys[1:]) <= group.size else None


def of_two_triads(chord: Chord, strokes: Sequence[Sequence[Note]]) -> bool:
    """Return whether a major or minor seventh is only what two triads over one bass add up to: Gm, then E♭, are not E♭maj7/G."""
    if chord.quality not in ("major-seventh", "minor-seventh"):
        return False
    bass = strokes[0][0].pitch
    over = [name_chord([bass, *[note.pitch for note in stroke]]) for stroke in strokes[1:] if len(stroke) > 1]
    return len({(each.root, each.quality) for each in over if each is not None and each.quality in ("major", "minor")}) > 1


def _strange(before: Keys, chords: Sequence[Keys]) -> int:
    """Return how many notes of some chords differ from the chord struck before each."""
    return sum(sum(_dark_notes(keys, old)) for old, keys in zip((before, *chords), chords, strict=False))


def _dark_notes(keys: Keys, before: Keys) -> list[bool]:
    """Return which notes do not follow from the chord before: all of them where it had another number of notes."""
    if len(keys) != len(before):
        return [True] * len(keys)
    return [key != old for key, old in zip(keys, before, strict=True)]


def _trimmed(row: list[tuple[Group, Chord]]) -> list[tuple[Group, Chord]]:
    """Drop groups at either end in which no chord would be grey: a bass and one chord, and another harmony or number of notes beside it."""
    first, stop = 0, len(row)
    while stop - first > 1 and len(row[first][0]) < 3 and (_alone(row[first][0]) or not same_harmony(row[first][1], row[first + 1][1])):
        first += 1
    while stop - first > 1 and len(row[stop - 1][0]) < 3:
        (before, old), (group, new) = row[stop - 2 : stop]
        if not _alone(group) and not _alone(before) and same_harmony(old, new) and len(group.keys[1]) == len(before.keys[-1]):
            break
        stop -= 1
    return row[first:stop]


def _made(line: Line, row: list[tuple[Group, Chord]], alike: bool) -> Iterator[Figure]:
    """Yield the figure of a row of named groups, if there is one."""
    row = _trimmed(row)
    if len(row) < 2 or not line.shares(row[0][0].events):
        return
    anchors: list[Note] = []
    odd: list[Note] = []
    changes: list[Change] = []
    moment = 0
    bass: Keys = ()
    before: Keys = ()
    for number, (group, chord) in enumerate(row):
        changed = number == 0 or not same_harmony(chord, row[number - 1][1])
        if changed:
            changes.append(Change(moment, group.events[0].notes[0], chord))
            anchors += [*group.events[0].notes, *group.events[1].notes]
        elif group.keys[0] != bass or (not alike and len(group.keys[0]) > 1):
            anchors += group.events[0].notes
        bass = group.keys[0]
        if changed:
            before = group.keys[1]
        for event, keys in zip(group.events[1:], group.keys[1:], strict=True):
            odd += [note for note, dark in zip(event.notes, _dark_notes(keys, before), strict=True) if dark]
            before = keys
        moment += len(group)
    events = list(chain.from_iterable([group.events for group, _ in row]))
    size = len(row[0][0]) if alike else None
    figure = figure_of(line, KIND, events, anchors, odd, bounded=True, chord=row[0][1], changes=changes, group=size)
    if figure is not None:
        yield figure


def spell_out_bass_and_chord(covered: Covered) -> Spelling:
    """Rebuild bass and chords from what is dark and what was struck before.

    Rule: Bass and chord as they were last seen black.
    """
    changes = {moment for moment, _ in covered.changes}
    bass: Keys = ()
    before: Keys = ()
    rebuilt: list[Keys] = []
    begins = 0
    for moment, slot in enumerate(covered.slots):
        known = [None if pitch is None else int(pitch.semitone) for pitch in slot.known]
        if moment % covered.group == 0 if covered.group else _begins(known):
            begins = moment
        place = moment - begins
        model = bass if place == 0 else before
        if begins in changes and place < 2:
            model = ()
        keys = _read(known, model)
        if place == 0:
            bass = keys
        else:
            before = keys
        rebuilt.append(keys)
    return tuple(rebuilt)


def _begins(known: Sequence[int | None]) -> bool:
    """Return whether a group of an unlike row begins here, as the page shows it: a single note, or dark octaves."""
    keys = [key for key in known if key is not None]
    return len(known) == 1 or (len(keys) == len(known) and _octaves(keys))


def _read(known: Sequence[int | None], model: Keys) -> Keys:
    """Return the keys of one moment: the dark ones as they are, the others as in the model, which then has as many notes."""
    if None in known and len(known) != len(model):
        raise CannotSpellOut("nothing says what is struck here")
    return tuple([model[i] if key is None else key for i, key in enumerate(known)])


def label(figure: Figure) -> LabelData:
    """Name the chord it begins with; in groups of three it is a waltz bass."""
    return LabelData("waltz" if figure.group == 3 else "label", chord=first_chord(figure))
