"""Lines: the notes a hand plays one after another.

Conventions
-----------
* A line is a row of events; an event is what is struck at one moment, a note or a chord from low to high. Only visible notes take part
  (``Note.visible``); a grace note neither ends a line nor stands in it. Times are ticks of the score.
* A tied-on note is not struck: it lengthens the event it continues. Where only some notes of a chord are struck anew, the event holds
  those.
* ``joined`` is False where an event does not follow its forerunner directly: after a rest or gap, at a bar marked ``cut``, at a change
  of key signature. No figure crosses such a place.
* An even run is four single notes or more of equal length, one joined to the other. The note after the last equal one belongs to it too
  where it is longer; the next run may begin with it. Most chord figures, and broken intervals, are looked for in them.
* In a *voice* line ``ticks`` is the sounding length of the event, ties included. In the lines that merge voices (*hand*: all voices of
  one hand; *shared*: both hands) it is the time to the next event, as the ear hears it, or before a rest to where the sound ends. A hand
  of one voice has that voice's events. A merged line repeats what its voices hold; there a figure counts only where the voices, or the
  hands, really share it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import groupby, pairwise, zip_longest
from operator import attrgetter
from typing import NamedTuple

from annotator.music.chords import Chord, believed, incomplete, name_chord
from annotator.music.intervals import Move
from annotator.music.keys import local_keys
from annotator.music.names import Scale
from annotator.music.score import Bar, Note, Part, Pitch

Ties = Mapping[int, tuple[Note, ...]]
"""The tied-on notes that continue a struck one, in time order, by its number."""

Basses = Mapping[int, Pitch]
"""The lowest pitch of a hand that sounds, struck or held, in whatever voice, at each tick at which the hand strikes something."""

IN_TIME = attrgetter("tick", "pitch.semitone", "pitch.diatonic", "number")
"""A key that puts notes in order of time, and those of a chord from low to high."""

FEWEST = 4  # notes of an even run: with fewer there is no figure
AHEAD = 8  # how many groups ahead the one is looked for that tells what a doubtful chord is
CHORD = -1  # stands for the length of what is no single note


class Event(NamedTuple):
    """What is struck at one moment of a line.

    ``notes`` from low to high; ``tick`` and ``ticks`` in ticks of the score; ``end`` is when the last of them stops sounding.
    ``whole`` is False where another note of the same chord is held over by a tie.
    """

    notes: tuple[Note, ...]
    tick: int
    ticks: int
    end: int
    bar: int
    joined: bool
    whole: bool = True

    @property
    def single(self) -> bool:
        """Whether exactly one note is struck here."""
        return len(self.notes) == 1


@dataclass(frozen=True, slots=True)
class Run:
    """Notes one after another: their ``events``, ``notes``, ``pitches`` and ``keys`` (MIDI numbers); the ``place`` where it begins."""

    events: tuple[Event, ...]
    notes: tuple[Note, ...]
    pitches: tuple[Pitch, ...]
    keys: tuple[int, ...]
    place: int

    def __len__(self) -> int:
        return len(self.events)

    def chord(self, first: int, size: int) -> Chord | None:
        """Return the chord of ``size`` notes from ``first`` on; None where there is none, or the run has not so many."""
        return name_chord(self.pitches[first : first + size]) if first + size <= len(self.notes) else None

    def believed(self, first: int, size: int, before: Chord | None = None) -> Chord | None:
        """Return the chord of a group, but a doubtful one only where the harmony ``before`` it or the next other group confirms it.

        A doubtful chord with a neighbour note in it (A♭ G A♭) is none, in a group of more than four: that note is no tone of it.
        """
        pitches, keys = self.pitches[first : first + size], self.keys[first : first + size]
        if len(keys) < size:
            return None
        if size > FEWEST and _with_neighbour(keys):
            chord = name_chord(pitches)
            if chord is None or incomplete(chord, keys):
                return None
        return believed(pitches, self._beside(first, size, before))

    def _beside(self, first: int, size: int, before: Chord | None) -> Iterator[Chord]:
        """Yield the chords beside a group: the harmony before it, that of the next group, and of the next other one."""
        keys = self.keys[first : first + size]
        ahead = range(first + size, min(len(self) - size, first + AHEAD * size) + 1, size)
        after = next((place for place in ahead if self.keys[place : place + size] != keys), len(self))
        for chord in (before, self.chord(first + size, size), self.chord(after, size)):
            if chord is not None:
                yield chord


def _with_neighbour(keys: Sequence[int]) -> bool:
    """Return whether some key is left by one or two semitones and at once come back to."""
    return any(before == after and 0 < abs(key - before) <= 2 for before, key, after in zip(keys, keys[1:], keys[2:], strict=False))


@dataclass(frozen=True)
class Line:
    """One line. ``scope`` is ``voice``, ``hand`` or ``shared``; ``hand`` is ``right`` or ``left`` (a shared line: where it starts).

    ``bars`` are those of the part, ``keys`` the key the music is in there (a major or natural minor scale), bar by bar. ``basses`` are
    those of the whole hand, also in the line of one voice; a shared line has none.
    """

    part: str
    hand: str
    scope: str
    events: tuple[Event, ...]
    bars: tuple[Bar, ...] = field(repr=False, compare=False)
    resolution: int = 1
    ties: Ties = field(default_factory=dict, repr=False, compare=False)
    keys: tuple[Scale, ...] = field(default=(), repr=False, compare=False)
    basses: Basses = field(default_factory=dict, repr=False, compare=False)

    def __len__(self) -> int:
        return len(self.events)

    def slice(self, first: int, stop: int) -> Line:
        """Return the part of the line from event ``first`` up to, not including, ``stop``, as a line of its own."""
        return replace(self, events=self.events[first:stop])

    @cached_property
    def stretches(self) -> tuple[tuple[int, int], ...]:
        """The (first, stop) index pairs between which every event is joined to the one before."""
        starts = [i for i, event in enumerate(self.events) if i == 0 or not event.joined]
        return tuple(zip(starts, [*starts[1:], len(self.events)], strict=True))

    def without(self, others: Iterable[Line]) -> Line:
        """Return the line less the stretches that are one of the others' as well, note for note and tick for tick."""
        told = {other.events[first].notes[0].number: other.events[first:stop] for other in others for first, stop in other.stretches}
        own: list[Event] = []
        for first, stop in self.stretches:
            events = self.events[first:stop]
            if not _equal(events, told.get(events[0].notes[0].number, ())):
                own.extend(events)
        return self if len(own) == len(self) else replace(self, events=tuple(own))

    def near(self, place: int) -> bool:
        """Return whether an event follows the one before it, joined or after a rest no longer than that one.

        A change of key or a double bar parts them.
        """
        before, event = self.events[place - 1], self.events[place]
        if event.joined or not 0 < event.tick - before.tick - before.ticks <= before.ticks:
            return event.joined
        cut = any(bar.cut for bar in self.bars[before.bar + 1 : event.bar + 1])
        return not cut and before.notes[0].key == event.notes[0].key

    @cached_property
    def ticks(self) -> list[int]:
        """The length of each event."""
        return [event.ticks for event in self.events]

    @cached_property
    def lowest(self) -> list[Pitch]:
        """The lowest pitch of each event."""
        return [event.notes[0].pitch for event in self.events]

    @cached_property
    def strokes(self) -> list[tuple[int, ...]]:
        """What each event strikes, from low to high: numbers that are equal for equal pitches."""
        return [tuple([256 * note.pitch.diatonic + int(note.pitch.semitone) for note in event.notes]) for event in self.events]

    @cached_property
    def moves(self) -> list[Move | None]:
        """How each event but the first is reached: the way from a single note to a single note joined to it, else None."""
        moves: list[Move | None] = []
        for before, event in pairwise(self.events):
            if event.joined and len(event.notes) == len(before.notes) == 1:
                low, high = before.notes[0].pitch, event.notes[0].pitch
                moves.append((high.diatonic - low.diatonic, int(high.semitone - low.semitone)))
            else:
                moves.append(None)
        return moves

    @cached_property
    def runs(self) -> list[Run]:
        """The even runs."""
        lengths = [event.ticks if len(event.notes) == 1 else CHORD for event in self.events]
        found = []
        for begins, ends in self.stretches:
            after = begins
            for length, equal in groupby(lengths[begins:ends]):
                first, after = after, after + len(list(equal))
                stop = after + 1 if after < ends and lengths[after] > length else after
                if length != CHORD and stop - first >= FEWEST:
                    found.append(self.run(first, stop))
        return found

    @cached_property
    def own_runs(self) -> list[Run]:
        """The even runs in which a figure can be the line's own: in a merged line those that its voices, or hands, share."""
        return [run for run in self.runs if self.shares(run.events)]

    def run(self, first: int, stop: int) -> Run:
        """Return the notes between two events one by one, a chord from low to high, each with its event."""
        events = tuple([event for event in self.events[first:stop] for _ in event.notes])
        notes = tuple([note for event in self.events[first:stop] for note in event.notes])
        pitches = tuple([note.pitch for note in notes])
        return Run(events, notes, pitches, tuple([int(pitch.semitone) for pitch in pitches]), first)

    def shares(self, events: Iterable[Event]) -> bool:
        """Return whether a figure belongs to this line and is not the affair of one voice (or one hand) within it."""
        if self.scope == "voice":
            return True
        players = {note.staff if self.scope == "shared" else (note.staff, note.voice) for event in events for note in event.notes}
        return len(players) > 1

    def tied_to(self, notes: Iterable[Note]) -> tuple[Note, ...]:
        """Return the tied-on notes that continue any of these."""
        return tuple([tied for note in notes for tied in self.ties.get(note.number, ())]) if self.ties else ()

    def bar_numbers(self, strokes: Sequence[Sequence[Note]]) -> tuple[str, str]:
        """Return the printed numbers of the first and the last bar of some strokes."""
        return self.bars[strokes[0][0].bar].number, self.bars[strokes[-1][0].bar].number


@dataclass(frozen=True)
class Texture:
    """All lines of one part.

    ``voices`` are the voice lines; ``hands`` gives each hand's merged line (``right``, ``left``; empty lines where a hand is silent);
    ``shared`` is the line of both hands together. ``lines`` are those that line detectors look at.
    """

    part: Part
    bars: tuple[Bar, ...]
    resolution: int
    voices: tuple[Line, ...]
    hands: Mapping[str, Line]
    shared: Line | None
    ties: Ties = field(default_factory=dict, repr=False)
    keys: tuple[Scale, ...] = field(default=(), repr=False)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Voice lines, then what is a hand's own of its merged line, then the shared line but for what one hand plays alone."""
        found = list(self.voices)
        for hand, line in self.hands.items():
            players = [voice for voice in self.voices if voice.hand == hand]
            if len(players) > 1:
                found.append(line.without(players))
        if self.shared:
            found.append(self.shared.without(self.hands.values()))
        return tuple(line for line in found if len(line))


def _equal(some: Sequence[Event], others: Sequence[Event]) -> bool:
    """Return whether two stretches strike the same notes, equally long."""
    return len(some) == len(others) and all(
        one.notes == other.notes and one.ticks == other.ticks and one.whole == other.whole for one, other in zip(some, others, strict=True)
    )


def hand_of(part: Part, note: Note) -> str:
    """Return the hand whose staff a note stands on."""
    return "left" if note.staff in part.left_staves else "right"


def read_lines(part: Part, resolution: int, only: Iterable[Note] | None = None) -> Texture:
    """Return the lines of a part. ``only`` restricts them to some of its notes (a hand, a range of bars)."""
    notes = sorted([note for note in (part.notes if only is None else only) if note.visible], key=IN_TIME)
    both = [note for note in notes if note.continues is None]
    ties = ties_of(notes)
    ends = _ends_of(both, ties)
    crossing = crossing_voices(part, notes)
    keys = local_keys(part)
    of_voices: dict[tuple[str, str], list[Note]] = defaultdict(list)
    of_hands: dict[str, list[Note]] = {"right": [], "left": []}
    for note in both:
        hand = hand_of(part, note)
        of_voices[note.voice, "" if note.voice in crossing else hand].append(note)
        of_hands[hand].append(note)

    basses = {hand: basses_of(struck, ends) for hand, struck in of_hands.items()}

    def line(scope: str, events: tuple[Event, ...], hand: str | None = None) -> Line:
        """Return one line of the part; without a hand, of the one in which it begins."""
        hand = hand or hand_of(part, events[0].notes[0])
        below = basses[hand] if scope != "shared" else {}
        return Line(part.id, hand, scope, events, part.bars, resolution, ties, keys, below)

    played = {voice: _events(part, those, ties, ends, of_voice=True) for voice, those in sorted(of_voices.items())}
    voices = tuple(line("voice", events) for events in played.values())
    hands = {}
    for hand, struck in of_hands.items():
        alone = [voice for voice, those in of_voices.items() if voice[1] == hand and len(those) == len(struck)]
        hands[hand] = line("hand", played[alone[0]] if alone else _events(part, struck, ties, ends, of_voice=False), hand)
    shared = line("shared", _events(part, both, ties, ends, of_voice=False)) if all(of_hands.values()) else None
    return Texture(part, part.bars, resolution, voices, hands, shared, ties, keys)


def _ends_of(struck: Iterable[Note], ties: Ties) -> dict[int, int]:
    """Return when each struck note stops sounding, ties included, by its number."""
    ends = {note.number: note.tick + note.ticks for note in struck}
    for number, tied in ties.items():
        ends[number] = max([ends.get(number, 0), *[note.tick + note.ticks for note in tied]])
    return ends


def _events(part: Part, struck: Sequence[Note], ties: Ties, ends: Mapping[int, int], of_voice: bool) -> tuple[Event, ...]:
    """Return the events of one line, from its struck notes in time: how long each lasts, and whether it follows the one before."""
    chords = [tuple(those) for _, those in groupby(struck, key=attrgetter("tick"))]
    held = {tied.tick for note in struck if note.number in ties for tied in ties[note.number]}
    events: list[Event] = []
    bar, key = -1, None
    sounding_until = -1
    for chord, following in zip_longest(chords, chords[1:]):
        note = chord[0]
        tick = note.tick
        end = ends[note.number] if len(chord) == 1 else max([ends[each.number] for each in chord])
        joined = sounding_until >= tick and (note.key is key or note.key == key)
        if note.bar != bar:
            joined = joined and not any(between.cut for between in part.bars[bar + 1 : note.bar + 1])
        bar, key = note.bar, note.key
        if of_voice or end > sounding_until:
            sounding_until = end
        until = end if of_voice or following is None else min(following[0].tick, sounding_until)
        events.append(Event(chord, tick, until - tick, end, bar, joined, tick not in held))
    return tuple(events)


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


def basses_of(struck: Iterable[Note], ends: Mapping[int, int]) -> dict[int, Pitch]:
    """Return the lowest pitch that sounds at each tick at which something is struck, from the struck notes of a hand in time.

    ``ends`` says when each note stops sounding, by its number.
    """
    lowest: dict[int, Pitch] = {}
    sounding: list[Note] = []
    for tick, notes in groupby(struck, key=attrgetter("tick")):
        sounding = [*notes, *[note for note in sounding if ends[note.number] > tick]]
        lowest[tick] = min(sounding, key=attrgetter("pitch.semitone", "number")).pitch if len(sounding) > 1 else sounding[0].pitch
    return lowest


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
