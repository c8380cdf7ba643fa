"""Broken chord: any repeated pattern of a chord's notes one after another, in threes, fours, sixes or eights.

Conventions
-----------
* Notes of equal value (the last may be longer). Groups begin on a beat where a figure can be found so, else where the row of notes
  begins. Two groups or more. Two groups under two harmonies are no pattern yet where they are threes, or fours with an odd note. At least
  three different notes in a group (two are a tremolo). The pattern of Alberti bass is left to it, and a group that runs on into the
  next in one direction to the arpeggio.
* A stroke of the pattern may be two or three notes at once (rocking: two lower notes, then the upper one), the others single notes. All
  said here of notes is said of theirs one by one. A low note and then chords above it are bass and chord, and left to that.
* The pattern is the first group: which of its notes is the lowest, the next higher … (``order``), and for each of these which chord tone
  it is above the lowest. It stays, while the chord may change from group to group.
* The voicing is what is in force for each note of the pattern. A change of harmony, or another lowest note that is a tone of the chord,
  sets it anew: the pattern's chord tones above that lowest note, or, of a chord with more tones than the pattern has places, the whole
  dark group. A dark note that is a tone of the chord takes its place in the voicing until the next change; a passing or neighbour note
  does not. Of these there is at most one in four notes (one in a group of three).
* A minor seventh over the tonic or the dominant of a major key (C E G A in C) is a triad with a sixth, which no chord name says.
* Three notes of a seventh chord are believed only where the chords beside them confirm it (``lines.Run.believed``).
* The name of a chord is worth reading for two grey notes, one that is not familiar (``chords.is_familiar``) for three; the pattern goes as
  far as its names save more than they cost.
* A group that no chord holds stands under the harmony in force, or, a suspension, under the one it falls to in the next two groups;
  else under the chord that its other notes name, if one passing or neighbour note is all that is too much. The first note of a group is
  always a tone of its chord.
* One group by itself will do, no more than a bar after a broken chord whose first group shows its pattern (``model``), where the voicing
  gives all but its lowest note.
* In a merged line voices, or hands, share the figure, and share it alike in every group.

Rule
----
Anchors are the whole first group, then the lowest note wherever harmony or lowest note change, and each note that the voicing does not
give (odd). Everything else is the voicing.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, compress, groupby, pairwise
from operator import ne

from annotator.figures.arpeggios import FIFTH
from annotator.figures.bass_and_chord import of_two_triads
from annotator.figures.figure import CannotSpellOut, Change, Covered, Figure, LabelData, Spelling, figure_of, first_chord
from annotator.figures.lines import FEWEST, Event, Line, Run
from annotator.figures.voicing import Voicing, order_of, voicing_of
from annotator.music.chords import QUALITIES, Chord, classes_of, incomplete, is_familiar, name_chord, same_harmony
from annotator.music.names import class_of
from annotator.music.score import Pitch

KIND = "broken-chord"
SIZES = (3, 4, 6, 8)
"""Notes of a group."""
ALBERTI = (0, 2, 1, 2), (0, 1, 2)
"""Order and steps of an Alberti bass."""
ROCKING = (2, 3, 4)
"""Strokes of a group in which single notes and chords take turns."""
FAMILIAR, UNFAMILIAR = 2, 3
"""Grey notes that it costs to read the name of a chord: a familiar one, any other (measured on pages, read by eye)."""
LOSING = 6
"""Where names have cost so many more than their notes saved since it was worth most, the pattern is followed no further."""
SKIP = 8
"""Semitones from which on a step between two notes breaks a leg."""


def detect_broken_chords(line: Line) -> Iterator[Figure]:
    """Yield the longest broken chords of a line, for each size of group."""
    for group, run in _rocking_runs(line) if line.scope != "shared" else ():
        yield from _rocking(line, run, group)
    before: Figure | None = None
    for run in line.own_runs:
        starts = [(size, _first_on_beat(line, run, size)) for size in SIZES if 2 * size <= len(run)]
        found = list(_of_sizes(line, run, starts))
        if not found:
            found = list(_of_sizes(line, run, [(size, 0) for size, start in starts if start]))
        figures = [figure for figure in [chain.figure() for chain in _telling(found)] if figure is not None]
        yield from figures
        alone = _as_before(line, run, before) if before is not None and not figures else None
        if alone is not None:
            yield alone
        before = figures[-1] if figures else before


def _as_before(line: Line, run: Run, before: Figure) -> Figure | None:
    """Return the first group of a run, if it has the pattern of a broken chord no more than a bar before and its lowest note tells all."""
    model, last = before.moments[: before.group], before.moments[-1][0]
    size, voicing = len(model), _voicing_of([note.pitch for stroke in model for note in stroke])
    place = _first_on_beat(line, run, size)
    events, keys = run.events[place : place + size], run.keys[place : place + size]
    chord = run.chord(place, size)
    if voicing is None or chord is None or order_of(keys) != voicing.pattern.order:
        return None
    if events[0].tick - last.tick - last.ticks > line.bars[last.bar].ticks:
        return None
    try:
        dark, _ = voicing.cover(keys, chord)
    except CannotSpellOut:
        return None
    if dark.count(True) > 1:
        return None
    changes = [Change(0, events[0].notes[0], chord)]
    return figure_of(line, KIND, events, compress(run.notes[place:], dark), chord=chord, changes=changes, group=size, model=model)


def _voicing_of(pitches: Sequence[Pitch]) -> Voicing | None:
    """Return the voicing that the first group of another broken chord shows."""
    return voicing_of([int(pitch.semitone) for pitch in pitches], name_chord(pitches))


def _rocking_runs(line: Line) -> Iterator[tuple[int, Run]]:
    """Yield the runs in which strokes of one and of several notes take turns in a fixed way, and after how many strokes it comes again.

    Strokes are of equal length. Their notes stand one by one in the run, each with its stroke as its event, a chord from low to high.
    """
    for begins, ends in line.stretches:
        after = begins
        for _, equal in groupby(line.ticks[begins:ends]):
            first, after = after, after + len(list(equal))
            sizes = [len(event.notes) for event in line.events[first:after]] if after - first >= FEWEST else [1]
            for group in ROCKING if max(sizes) > 1 else ():
                same = [place >= group and sizes[place] == sizes[place - group] for place in range(len(sizes))]
                for alike, places in groupby(range(group, len(sizes)), key=same.__getitem__):
                    run = list(places)
                    if alike and len(run) >= group and len(set(sizes[run[0] - group : run[0]])) > 1:
                        yield group, line.run(first + run[0] - group, first + run[-1] + 1)


def _rocking(line: Line, run: Run, group: int) -> Iterator[Figure]:
    """Yield the patterns of a run of single notes and chords, from the first group on that begins on a beat; ``group`` is in strokes."""
    ticks = list(dict.fromkeys([note.tick for note in run.notes]))
    bar, length = line.bars[run.notes[0].bar], run.events[0].ticks
    beats = [place for place in range(group) if place < len(ticks) and (ticks[place] - bar.tick + bar.offset) % (group * length) == 0]
    begins = [note.tick for note in run.notes].index(ticks[beats[0] if beats else 0])
    size = sum(note.tick - run.notes[begins].tick < group * length for note in run.notes[begins:])
    for chain in _of_sizes(line, run, [(size, begins)]) if len(run) - begins >= 2 * size else ():
        strokes = [event.notes for event in dict.fromkeys(run.events[chain.start : chain.start + size])]
        two = of_two_triads(chain.voicing.chord, strokes)
        figure = None if two or _bass_and_chords(run, chain.start, size) else chain.figure()
        if figure is not None:
            yield figure


def _bass_and_chords(run: Run, first: int, size: int) -> bool:
    """Return whether a group is single notes, its lowest, the first of them before all else, and chords above them."""
    keys, events = run.keys[first : first + size], run.events[first : first + size]
    single = [key for key, event in zip(keys, events, strict=True) if event.single]
    chords = [key for key, event in zip(keys, events, strict=True) if not event.single]
    return events[0].single and bool(chords) and max(single) < min(chords)


def _first_on_beat(line: Line, run: Run, size: int) -> int:
    """Return the first note of a run that stands on a beat of groups of a size; the first of all where the bar does not tell."""
    head = run.events[0]
    bar, span = line.bars[head.bar], size * head.ticks
    missing = (bar.tick - head.tick - bar.offset) % span if (bar.ticks + bar.offset) % span == 0 else 0
    return 0 if missing % head.ticks else missing // head.ticks


def _of_sizes(line: Line, run: Run, starts: Iterable[tuple[int, int]]) -> Iterator[Chain]:
    """Yield the patterns of a run, for each (size, first note) of groups, but none that smaller ones make up."""
    told: set[int] = set()
    steps = [after - before for before, after in pairwise(run.keys)]
    ways = [(step > 0) - (step < 0) for step in steps]
    for size, start in starts:
        done = start
        for place in _coming_again(steps, ways, start, size):
            chain = _chain(line, run, place, size) if place >= done else None
            if chain is None:
                continue
            done = chain.stop if chain.dark else chain.followed
            notes = range(place, chain.stop)
            if not told.issuperset(notes) and chain.is_pattern():
                told.update(notes)
                yield chain


def _coming_again(steps: Sequence[int], ways: Sequence[int], start: int, size: int) -> Iterator[int]:
    """Yield the places, counted in groups from ``start``, of groups after which another goes up and down in the same way.

    ``ways`` tells of each of the ``steps`` whether it goes up (1), down (-1) or nowhere (0). A group that runs on into the next in one
    direction without a skip is an arpeggio, and no pattern.
    """
    inside = size - 1  # steps
    for place in range(start, len(steps) - size - inside + 1, size):
        if ways[place : place + inside] != ways[place + size : place + size + inside]:
            continue
        if abs(sum(ways[place : place + size])) < size or max(map(abs, steps[place : place + size])) >= SKIP:
            yield place


def _telling(found: list[Chain]) -> Iterator[Chain]:
    """Yield patterns, but none that lies within another which leaves no more to read there."""
    outer: Chain | None = None
    for chain in sorted(found, key=lambda chain: (chain.start, -chain.stop)):
        if outer and chain.stop <= outer.stop and outer.grey(chain.start, chain.stop) >= chain.grey(chain.start, chain.stop):
            continue
        yield chain
        if outer is None or chain.stop > outer.stop:
            outer = chain


def _chain(line: Line, run: Run, start: int, size: int) -> Chain | None:
    """Return the broken chord whose first group stands at ``start``, if there is one and it goes on."""
    keys = run.keys[start : start + size]
    if not _telling_order(order_of(keys)) or not line.shares(run.events[start : start + size]):
        return None
    voicing = voicing_of(keys, _with_no_sixth(line, run.events[start], run.believed(start, size)))
    if voicing is None or (voicing.pattern.order, voicing.pattern.steps) == ALBERTI:
        return None
    chain = Chain(line, run, start, voicing)
    return chain if chain.followed > start + size else None


def _with_no_sixth(line: Line, event: Event, chord: Chord | None) -> Chord | None:
    """Return a chord, but no minor seventh over the tonic or dominant of a major key: that is a triad with a sixth, and has no name."""
    if chord is None or chord.quality != "minor-seventh" or chord.inversion != 1 or not line.keys:
        return chord
    home = line.keys[event.bar]
    above = (class_of(chord.bass) - class_of(home.tonic or chord.bass)) % 12
    return None if home.type == "major" and above in (0, FIFTH) else chord


def _telling_order(order: tuple[int, ...]) -> bool:
    """Return whether a first group of such an order shows a pattern: no tremolo, and no shorter pattern twice or more."""
    size = len(order)
    shorter = (size % part == 0 and order == order[:part] * (size // part) for part in range(1, size // 2 + 1))
    return max(order) > 1 and not any(shorter)


class Chain:
    """A broken chord of a run, followed group by group from its first on: ``dark`` and ``odd`` say of each note so far what it is."""

    def __init__(self, line: Line, run: Run, start: int, voicing: Voicing) -> None:
        self.line, self.run, self.start, self.voicing = line, run, start, voicing
        self.size = len(voicing.pattern.order)
        self.players = self._players(start)
        self.changes = [Change(0, run.notes[start], voicing.chord)]
        self.dark, self.odd = [True] * self.size, [False] * self.size
        self.foreign = 0  # notes that are no tones of their chord
        self.followed = self._follow()

    @property
    def stop(self) -> int:
        """The place after the last note."""
        return self.start + len(self.dark)

    def _follow(self) -> int:
        """Take up groups until the pattern ends, and keep those up to where it saves most; return the place where it was followed to."""
        kept = most = 0
        saves = -_cost(self.voicing.chord)
        while saves > most - LOSING and self.stop + self.size <= len(self.run) and self._take():
            grey = self.dark[-self.size :].count(False)
            saves += grey - (_cost(self.voicing.chord) if self.changes[-1].moment == len(self.dark) - self.size else 0)
            if grey and saves >= most:
                kept, most = len(self.dark), saves
        followed = self.stop
        del self.dark[kept:], self.odd[kept:]
        self.changes = [change for change in self.changes if change.moment < kept]
        return followed

    def _take(self) -> bool:
        """Add the next group if the pattern goes on in it: its first note and enough others are tones of the chord it stands under."""
        place, size = self.stop, self.size
        keys = self.run.keys[place : place + size]
        chord = self._chord_at(place) if self._players(place) == self.players else None
        if chord is None:
            return False
        foreign = self.foreign + _foreign(keys, chord)
        if keys[0] % 12 not in classes_of(chord) or 4 * foreign > place + size - self.start:
            return False
        changed = None if same_harmony(chord, self.voicing.chord) else chord
        try:
            dark, odd = self.voicing.cover(keys, changed)
        except CannotSpellOut:
            return False
        if changed is not None:
            self.changes.append(Change(len(self.dark), self.run.notes[place], changed))
        self.foreign = foreign
        self.dark += dark
        self.odd += odd
        return True

    def _players(self, place: int) -> list[int]:
        """Return what must be alike in every group of a shared line: which hand plays which note."""
        return [note.staff for note in self.run.notes[place : place + self.size]] if self.line.scope == "shared" else []

    def _chord_at(self, place: int) -> Chord | None:
        """Return the chord under which the group at a place stands: that of its notes, the one in force, or one that comes soon."""
        size, pitches = self.size, self.run.pitches[place : place + self.size]
        if pitches == self.run.pitches[place - size : place]:
            return self.voicing.chord  # struck again
        keys = self.run.keys[place : place + size]
        alike = order_of(keys) == self.voicing.pattern.order
        chord = self.run.believed(place, size, self.voicing.chord) if alike else None
        chord, most = _with_no_sixth(self.line, self.run.events[place], chord), max(1, size // 4)
        if chord is not None:
            return chord
        if sum(map(ne, keys, self.voicing.group)) <= most:
            return self.voicing.chord
        if not alike:
            return None
        coming = self.run.chord(place + size, size) or self.run.chord(place + 2 * size, size)
        if coming is not None and _foreign(keys, coming) <= most and min(keys) % 12 in classes_of(coming):
            return coming
        return _chord_of_the_rest(pitches)

    def grey(self, first: int, stop: int) -> int:
        """Return how many notes from ``first`` up to ``stop`` are grey."""
        return self.dark[first - self.start : stop - self.start].count(False)

    def is_pattern(self) -> bool:
        """Return whether the groups are a figure; two under two harmonies are none where they are threes or a note is odd."""
        return bool(self.dark) and (len(self.dark) > 8 or len(self.changes) == 1 or (self.size > 3 and not any(self.odd)))

    def figure(self) -> Figure | None:
        """Return the figure of the groups. What is counted in notes here is counted in strokes there."""
        notes = self.run.notes[self.start : self.stop]
        strokes = {event.tick: event for event in self.run.events[self.start : self.stop]}
        events = list(strokes.values())
        moments = {tick: moment for moment, tick in enumerate(strokes)}
        changes = [change._replace(moment=moments[notes[change.moment].tick]) for change in self.changes]
        return figure_of(
            self.line,
            KIND,
            events,
            compress(notes, self.dark),
            compress(notes, self.odd),
            bounded=True,
            chord=changes[0].chord,
            changes=changes,
            group=len({note.tick for note in notes[: self.size]}),
        )


def _cost(chord: Chord) -> int:
    """Return how many grey notes the name of a chord must save."""
    return FAMILIAR if is_familiar(chord) else UNFAMILIAR


def _foreign(keys: Sequence[int], chord: Chord) -> int:
    """Return how many keys are no tones of a chord."""
    classes = classes_of(chord)
    return sum([key % 12 not in classes for key in keys])


def _chord_of_the_rest(pitches: Sequence[Pitch]) -> Chord | None:
    """Return the smallest whole chord of a group but for one passing or neighbour note, struck at most once in four notes."""
    keys = [int(pitch.semitone) for pitch in pitches]
    names = [pitch.fifths for pitch in pitches]
    found: set[tuple[int, Chord]] = set()
    for odd in set(names) - {names[0], names[keys.index(min(keys))]}:
        places = [place for place, name in enumerate(names) if name == odd]
        if 4 * len(places) > len(names) or not all(_by_step(keys, place) for place in places):
            continue
        rest = [pitch for pitch, name in zip(pitches, names, strict=True) if name != odd]
        chord = name_chord(rest)
        if chord is not None and not incomplete(chord, [int(pitch.semitone) for pitch in rest]):
            found.add((len(QUALITIES[chord.quality]), chord))
    smallest = [chord for size, chord in found if size == min(size for size, _ in found)]
    return smallest[0] if len(smallest) == 1 else None


def _by_step(keys: Sequence[int], at: int) -> bool:
    """Return whether a note of a group is a step from the notes before and after it."""
    return all(0 < abs(keys[at] - beside) <= 2 for beside in (*keys[at - 1 : at], *keys[at + 1 : at + 2]))


def spell_out_broken_chord(covered: Covered) -> Spelling:
    """Rebuild a broken chord from its first group, its harmonies and its dark notes.

    Rule: The first group's pattern goes on, and a black chord tone in its place; a new name or lowest note sets the places anew, counted up
    the chord's tones from that black note.
    """
    strokes = [len(slot.known) for slot in covered.slots]
    starts = list(accumulate(strokes, initial=0))
    size = sum(strokes[: covered.group or 0])
    chords = {starts[moment]: chord for moment, chord in covered.changes}
    known = [None if pitch is None else int(pitch.semitone) for slot in covered.slots for pitch in slot.known]
    if covered.model:
        keys, voicing = [], _voicing_of([pitch for stroke in covered.model for pitch in stroke])
    else:
        keys = [key for key in known[:size] if key is not None]
        voicing = voicing_of(keys, chords.get(0)) if len(keys) == size else None
    if voicing is None or len(known) % size:
        raise CannotSpellOut("the first group is dark and of one chord, and the others are as long")
    for at in range(len(keys), len(known), size):
        keys += voicing.read(known[at : at + size], chords.get(at))
    return tuple([tuple(keys[first:stop]) for first, stop in pairwise(starts)])


def label(figure: Figure) -> LabelData:
    """Name the chord it begins with; a group by itself goes as the broken chord before."""
    return LabelData("before" if figure.model else "label", chord=first_chord(figure))
