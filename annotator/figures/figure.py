"""A figure as data, made of the events of a line, what stays on the page when its grey notes are covered, and what its label says.

Conventions
-----------
* ``notes`` holds every note of the figure in time order, a chord from low to high, tied-on notes right after the note they continue
  or where they stand in time; ``anchors`` (odd notes among them) are the struck notes that stay dark. Tied-on notes follow the note
  they continue.
* ``moments`` are the struck notes of the figure moment by moment, each from low to high; their union is the struck part of ``notes``.
* Words are no part of a figure, nor of what its label says (``LabelData``, made by ``label`` of its kind): a template is named by its key
  in the kind's group of ``annotator/words/*.toml``, and ``annotator.words`` fills it in, in three lengths and any language.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Any, NamedTuple

from annotator.figures.lines import Event, Line
from annotator.music.chords import Chord, over_bass
from annotator.music.intervals import unmarked
from annotator.music.names import Scale
from annotator.music.scales import alter_in
from annotator.music.score import Bar, Key, Note, Pitch, pitch_at

Spelling = tuple[tuple[int, ...], ...]
"""The keys to strike, in MIDI numbers, moment by moment, each moment from low to high."""


class CannotSpellOut(Exception):
    """What stays on the page does not give the grey notes of a figure: its label makes no sense there. The figure is not shown.

    Raised by ``spell_out`` functions, and no other exception is: whatever else they raise is a fault of theirs.
    """


class Change(NamedTuple):
    """A chord that begins at a moment of the figure; the first chord is a change too. ``note`` is the first note of its group."""

    moment: int
    note: Note
    chord: Chord


@dataclass(frozen=True, repr=False)
class Figure:
    """One figure of one hand.

    ``kind`` is the machine name of the vocabulary. ``part``, ``staff`` and ``voice`` are where it is marked (staff and voice of its
    first note); ``hand`` is ``right`` or ``left``.
    ``scale``, ``chord``, ``interval``, ``direction`` (``up``, ``down``, ``turning``), ``form`` and ``changes`` are the label's data as
    the report prints them. The rest is label data of some kinds only: ``times`` (struck ×8; again ×3; down a step ×4: how many
    copies), ``steps`` (how many letters a copy is moved, negative down, 7 an octave), ``semitones`` (how many keys a real sequence is
    moved), ``group`` (moments in one group of a pattern, or in the model of a copy), ``model_bars`` (printed numbers of the first and last
    bar a copy points to, None when the model is directly before), ``exact`` (a row of double notes that keeps its size in semitones),
    ``both_hands`` (a copy by both hands under one label).
    ``own_words`` is a label in three lengths that an editor has given in place of the program's.
    ``model`` are notes outside the figure that the label points to: what is copied, or the other hand's notes.

    A figure has no words; ``annotator.Report`` shows one at work and makes them (``rows``, ``to_dict``).
    """

    kind: str
    part: str
    staff: int
    voice: str
    hand: str
    moments: tuple[tuple[Note, ...], ...]
    anchors: tuple[Note, ...]
    odd: tuple[Note, ...] = ()
    direction: str | None = None
    scale: Scale | None = None
    chord: Chord | None = None
    interval: str | None = None
    form: str | None = None
    changes: tuple[Change, ...] = ()
    times: int | None = None
    steps: int | None = None
    group: int | None = None
    semitones: int | None = None
    exact: bool = False
    model_bars: tuple[str, str] | None = None
    both_hands: bool = False
    model: tuple[tuple[Note, ...], ...] = ()
    own_words: tuple[str, str, str] | None = None
    tied: tuple[Note, ...] = field(default=(), compare=False)

    def __repr__(self) -> str:
        """Return it in one line."""
        return f"<Figure {self.kind}, {self.hand} hand: {len(self.struck)} notes, {len(self.anchors)} to read>"

    def _repr_html_(self) -> str:
        """Show its notes in a notebook, the dark ones bold."""
        dark = {note.number for note in self.anchors}
        spelled = [(note.number in dark, spelled_out(note.pitch)) for note in self.struck]
        notes = " ".join(f"<b>{name}</b>" if bold else f'<span style="color:#767676">{name}</span>' for bold, name in spelled)
        return f"<p>{self.kind}, {self.hand} hand: {notes}</p>"

    @cached_property
    def struck(self) -> tuple[Note, ...]:
        """All struck notes, in time order, chords from low to high."""
        return tuple([note for moment in self.moments for note in moment])

    @cached_property
    def grey(self) -> tuple[Note, ...]:
        """The struck notes that need not be read."""
        dark = {note.number for note in self.anchors}
        return tuple([note for note in self.struck if note.number not in dark])

    @property
    def staves(self) -> tuple[int, ...]:
        """The staves on which the figure has notes, that of its mark among them."""
        return tuple(sorted({note.staff for note in self.struck}))

    @property
    def notes(self) -> tuple[Note, ...]:
        """All notes of the figure in time order, tied-on notes included."""
        if not self.tied:
            return self.struck
        return tuple(sorted(self.struck + self.tied, key=lambda note: (note.tick, note.pitch.semitone, note.number)))


def spelled_out(pitch: Pitch) -> str:
    """Return a pitch with its octave, as people read it.

    >>> spelled_out(Pitch("B", -1, 4))
    'B♭4'
    """
    sign = "♯" * int(pitch.alter) if pitch.alter > 0 else "♭" * -int(pitch.alter)
    return f"{pitch.step}{sign}{pitch.octave}"


class Slot(NamedTuple):
    """One moment of a figure as it can be read when the grey notes are covered.

    ``known`` has one place for each struck note from low to high: the pitch of a dark note, None for a grey one. ``odd`` says place by
    place whether the dark note breaks the figure's rule. ``bar``, ``staff`` (of each place) and ``key`` tell what an unmarked note would
    be here (``unmarked``).
    """

    tick: int
    known: tuple[Pitch | None, ...]
    odd: tuple[bool, ...]
    staff: tuple[int, ...]
    bar: Bar
    key: Key

    def dark(self, place: int = 0) -> Pitch:
        """Return the pitch of a note that must be dark. Raises ``CannotSpellOut`` where it is grey."""
        pitch = self.known[place]
        if pitch is None:
            raise CannotSpellOut(f"the note at tick {self.tick} must be dark")
        return pitch

    def unmarked(self, diatonic: int, place: int = 0) -> Pitch:
        """Return the pitch of an unmarked note on a diatonic number: accidentals in force in the bar before it, else the signature."""
        return unmarked(self.bar, self.staff[place], self.tick, self.key, diatonic)

    def by_letter(self, diatonic: int, scale: Scale | None, ascending: bool, place: int = 0) -> Pitch:
        """Return the note of a scale on a diatonic number, without one an unmarked note. Raises ``CannotSpellOut`` where it has none."""
        if scale is None:
            return self.unmarked(diatonic, place)
        alter = alter_in(scale, diatonic % 7, ascending)
        if alter is None:
            raise CannotSpellOut("the scale has not one note on each letter")
        return pitch_at(diatonic, alter)


class Covered(NamedTuple):
    """All that may be used to rebuild a figure: its label data, its dark notes, its rhythm and the model that its label points to.

    ``changes`` gives (moment, chord). ``model`` is fully known. There is no way from here to a grey note's pitch.
    """

    kind: str
    hand: str
    slots: tuple[Slot, ...]
    scale: Scale | None
    chord: Chord | None
    interval: str | None
    direction: str | None
    form: str | None
    changes: tuple[tuple[int, Chord], ...]
    times: int | None
    steps: int | None
    group: int | None
    semitones: int | None
    exact: bool
    model: tuple[tuple[Pitch, ...], ...]


class LabelData(NamedTuple):
    """A label before it is put into words.

    ``template`` is its key among the kind's labels; a kind with one label calls it ``label``. Each field fills the blanks named behind it:
    ``scale`` {scale}; ``chord`` {chord} {name} {inversion} {symbol} {root}; ``path`` the notes where a line starts, turns and ends, {path};
    ``notes`` one by one, {notes}; ``strokes`` stroke by stroke, {strokes}; ``distance`` in steps, 0 a semitone, {distance} {near};
    ``times`` {times}; ``repeats`` {repeats}, nothing where it is 1, and ``both_hands`` {hands}; ``bars`` the printed numbers of the first
    and last of some bars, {bar} {last}; ``follows`` the hand that is followed, {hand} {h}. {double} and {interval} are the interval of
    the kind.
    """

    template: str = "label"
    scale: Scale | None = None
    chord: Chord | None = None
    path: tuple[Note, ...] = ()
    notes: tuple[Note, ...] = ()
    strokes: tuple[tuple[Note, ...], ...] = ()
    distance: int | None = None
    times: int | None = None
    repeats: int | None = None
    both_hands: bool = False
    bars: tuple[str, str] | None = None
    follows: str | None = None


def first_chord(figure: Figure) -> Chord:
    """Return the chord of a whole figure, or the one that an accompaniment begins with; ValueError where there is none."""
    chord = figure.chord or (figure.changes[0].chord if figure.changes else None)
    if chord is None:
        raise ValueError(f"a figure of kind {figure.kind} without a chord")
    return chord


def stations(figure: Figure, every: int = 1) -> tuple[Note, ...]:
    """Return the line notes where a figure starts, turns and ends; of groups of ``every`` moments the first is looked at.

    A moment of several notes is read by its line note, the top one in the right hand and the bottom one in the left. An odd note is never
    a turning note.
    """
    line = [moment[-1 if figure.hand == "right" else 0] for moment in figure.moments[::every]]
    if figure.direction != "turning":
        return (line[0], line[-1]) if len(line) > 1 else (line[0],)
    odd = {note.number for note in figure.odd}
    kept = [note for place, note in enumerate(line) if note.number not in odd or place in (0, len(line) - 1)]
    found = [kept[0]]
    heading: int = 0
    for before, note in pairwise(kept):
        move = int(note.pitch.semitone - before.pitch.semitone)
        if move * heading < 0:
            found.append(before)
        heading = move or heading
    return (*found, kept[-1])


def main_notes(figure: Figure) -> tuple[Note, ...]:
    """Return the notes that ornaments stand on: the anchors, odd notes left out."""
    odd = {note.number for note in figure.odd}
    return tuple(note for note in figure.anchors if note.number not in odd) or figure.anchors


def kept(notes: int, odd: int) -> bool:
    """Return whether so many odd notes among all notes of a figure still leave it its rule: at most one in four.

    >>> kept(notes=4, odd=1), kept(notes=3, odd=1)
    (True, False)
    """
    return 4 * odd <= notes


def figure_of(
    line: Line,
    kind: str,
    events: Sequence[Event],
    anchors: Iterable[Note],
    odd: Iterable[Note] = (),
    bounded: bool = False,
    chord: Chord | None = None,
    changes: Sequence[Change] = (),
    group: int | None = None,
    **label: Any,
) -> Figure | None:
    """Return a figure over some events of a line, or None where it would not save at least one note or too many are odd.

    ``bounded``: the kind itself has seen to it that not too many are odd. ``label`` is label data by the names of ``Figure``'s fields.
    Anchors and odd notes are put in the order of the figure's notes. Chords get the bass that the hand really has (``_over_the_hand``).
    """
    moments = tuple([event.notes for event in events])
    struck = [note for moment in moments for note in moment]
    strange = {note.number for note in odd}
    dark = {note.number for note in anchors} | strange
    if len(struck) - len(dark) < 2 or not (bounded or kept(len(struck), len(strange))):
        return None
    named = [
        each._replace(chord=_over_the_hand(line, each.chord, events[each.moment : each.moment + (group or 1)])) for each in changes
    ]
    over = None if chord is None else _over_the_hand(line, chord, events[:group])
    return made(line, kind, moments, dark, strange, chord=over, changes=tuple(named), group=group, **label)


def made(
    line: Line, kind: str, moments: Sequence[tuple[Note, ...]], dark: Container[int], odd: Container[int] = (), **label: Any
) -> Figure:
    """Return a figure of a hand whose line it is. ``dark`` and ``odd`` are numbers of notes; ``label`` as in ``figure_of``."""
    first = moments[0][0]
    struck = [note for moment in moments for note in moment]
    return Figure(
        kind,
        first.part,
        first.staff,
        first.voice,
        line.hand,
        tuple(moments),
        tuple([note for note in struck if note.number in dark]) if dark else (),
        tuple([note for note in struck if note.number in odd]) if odd else (),
        tied=line.tied_to(struck),
        **label,
    )


def _over_the_hand(line: Line, chord: Chord, events: Sequence[Event]) -> Chord:
    """Return the chord of a group with the lowest note of the hand that sounds where it begins, or is struck in it, as its bass."""
    bass = line.basses.get(events[0].tick)
    lower = bass is not None and all(bass.semitone < note.pitch.semitone for event in events for note in event.notes)
    return over_bass(chord, bass) if bass is not None and lower else chord


def lawful_spans(sizes: Sequence[int], odd: Sequence[int], part: int = 4) -> Iterator[tuple[int, int]]:
    """Yield disjoint index ranges (first, stop), in order, in which at most one note in ``part`` is odd.

    ``sizes`` and ``odd`` count the notes and the odd notes moment by moment. A range neither begins nor ends with an odd moment.

    >>> list(lawful_spans([2, 2, 2, 2, 2], [0, 1, 0, 0, 0])), list(lawful_spans([1, 1, 1, 1, 1], [1, 1, 1, 0, 0]))
    ([(0, 5)], [(3, 5)])
    """
    if not any(odd):
        if sizes:
            yield 0, len(sizes)
        return
    first, best, total = 0, 0, 0
    for place, (size, strange) in enumerate(zip(sizes, odd, strict=True)):
        total += size - part * strange
        if total < 0:
            if best > first:
                yield first, best
            first = best = place + 1
            total = 0
        elif not strange and (best > first or place == first):
            best = place + 1
        elif best <= first:
            first = best = place + 1
            total = 0
    if best > first:
        yield first, best
