"""Copies: what follows, stroke by stroke and in the same rhythm, from a model that the player has just read.

Conventions
-----------
* A copy has its model, how it is moved, and its odd notes. ``moments`` are the copies' own strokes; ``model`` are the strokes of the model,
  outside the figure. What lies directly before is copied ``times`` times, each time from the one before; a model that the label names by
  its bars (``model_bars``) is copied once.
* The move is none, whole octaves, letters (``steps``, 7 an octave), or keys (``semitones`` of a real sequence). A retrograde goes back from
  the turning stroke, which is neither in the model nor in the copy.
* Odd notes are dark. Dark too is the note by which a player finds where a moved copy begins: the outer note of its first stroke, and of its
  first stroke in each further bar. A stroke that has other notes, in number, than its model is dark as a whole.

Rule, as a pupil hears it: as the model, moved as the label says; what is dark is new, and stays so for the next copy.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from annotator.figures.figure import Covered, Figure, Slot, Spelling
from annotator.score import Bar, Note, Pitch, pitch_at
from annotator.theory.intervals import unmarked

AGAIN, OCTAVE, SEQUENCE, RETROGRADE, IMITATION = KINDS = (
    "repeated-group",
    "octave-copy",
    "sequence",
    "retrograde",
    "imitation",
)
OCTAVES = 7  # letters of one

Stroke = tuple[Note, ...]
"""Notes struck at one moment, from low to high."""


@dataclass(frozen=True, slots=True)
class Move:
    """How a copy is moved: ``steps`` letters, by octaves exactly, else altered as unmarked; or by ``semitones``, whatever the letters.

    >>> Move(7).exact, Move(1).exact, Move(1, 2).exact
    (True, False, True)
    """

    steps: int = 0
    semitones: int | None = None

    @property
    def keys(self) -> int | None:
        """How many keys every note moves, None where that is for the key signature to say."""
        if self.semitones is not None:
            return self.semitones
        octaves, letters = divmod(self.steps, OCTAVES)
        return None if letters else 12 * octaves

    @property
    def exact(self) -> bool:
        """Whether every note moves by the same number of keys."""
        return self.keys is not None


def spell_out(covered: Covered) -> Spelling:
    """Return every stroke as its model, moved: the model's strokes first, then those of the copy before."""
    move = Move(covered.steps or 0, covered.semitones)
    earlier = list(reversed(covered.model)) if covered.kind == RETROGRADE else list(covered.model)
    spelled = []
    for place, slot in enumerate(covered.slots):
        stroke = _copied(slot, earlier[place], move)
        earlier.append(stroke)
        spelled.append(tuple(int(pitch.semitone) for pitch in stroke))
    return tuple(spelled)


def _copied(slot: Slot, model: Sequence[Pitch], move: Move) -> tuple[Pitch, ...]:
    """Return a stroke: what is dark of it, and the notes of its model moved."""
    if None not in slot.known:
        return tuple(pitch for pitch in slot.known if pitch is not None)
    return tuple(
        moved(pitch, move, slot.bar, slot.staff[place], slot) if known is None else known
        for place, (pitch, known) in enumerate(zip(model, slot.known, strict=True))
    )


def moved(pitch: Pitch, move: Move, bar: Bar, staff: int, where: Slot | Note) -> Pitch:
    """Return a pitch moved, as it is read in a bar, on a staff, at the moment and in the key of a slot or note."""
    letter = pitch.diatonic + move.steps
    if move.keys is None:
        return unmarked(bar, staff, where.tick, where.key, letter)
    return _at_key(letter, int(pitch.semitone) + move.keys)


def _at_key(letter: int, key: int) -> Pitch:
    """Return the pitch of a key, on a letter."""
    return pitch_at(letter, key - int(pitch_at(letter).semitone))


@dataclass(frozen=True, slots=True)
class Copy:
    """What a copy is made of: its kind and move, the strokes and, one for each of them, those they follow from; and what the label says.

    ``model`` are the strokes of the model in time order, ``group`` how many those of one copy are. ``bars`` are those of the part,
    ``ties`` what continues each note.
    """

    kind: str
    hand: str
    move: Move
    strokes: Sequence[Stroke]
    sources: Sequence[Stroke]
    model: Sequence[Stroke]
    bars: Sequence[Bar]
    ties: Mapping[int, tuple[Note, ...]]
    named: bool = False

    @property
    def group(self) -> int:
        """How many strokes the model has."""
        return len(self.model)


def odd_in(stroke: Stroke, source: Stroke, move: Move, bars: Sequence[Bar]) -> tuple[Note, ...]:
    """Return the notes of a stroke that are not those of its model, moved; all of them where the two are not alike."""
    if len(stroke) != len(source):
        return stroke
    keys = move.keys
    if keys is not None:
        return tuple([note for note, model in zip(stroke, source, strict=True) if note.pitch.semitone != model.pitch.semitone + keys])
    return tuple(
        [
            note
            for note, model in zip(stroke, source, strict=True)
            if note.pitch.semitone != moved(model.pitch, move, bars[note.bar], note.staff, note).semitone
        ]
    )


def figure_of(copy: Copy) -> Figure | None:
    """Return the figure of a copy; None where it would grey nothing."""
    odd = [
        note
        for stroke, source in zip(copy.strokes, copy.sources, strict=True)
        for note in odd_in(stroke, source, copy.move, copy.bars)
    ]
    dark = {note.number for note in [*odd, *_found_by(copy)]}
    strange = {note.number for note in odd}
    struck = [note for stroke in copy.strokes for note in stroke]
    if len(dark) >= len(struck):
        return None
    first = copy.strokes[0][0]
    last = copy.model[-1][0]
    return Figure(
        kind=copy.kind,
        part=first.part,
        staff=first.staff,
        voice=first.voice,
        hand=copy.hand,
        moments=tuple(copy.strokes),
        anchors=tuple([note for note in struck if note.number in dark]),
        odd=tuple([note for note in struck if note.number in strange]),
        times=-(-len(copy.strokes) // copy.group),
        steps=copy.move.steps,
        semitones=copy.move.semitones,
        group=copy.group,
        model=tuple(copy.model),
        model_bars=(copy.bars[copy.model[0][0].bar].number, copy.bars[last.bar].number) if copy.named else None,
        tied=tuple([tied for note in struck for tied in copy.ties.get(note.number, ())]),
    )


def _found_by(copy: Copy) -> list[Note]:
    """Return the notes that stay dark for a player to find where a moved copy begins."""
    if copy.kind == SEQUENCE:
        firsts = [
            stroke
            for place, stroke in enumerate(copy.strokes)
            if place % copy.group == 0 or stroke[0].bar != copy.strokes[place - 1][0].bar
        ]
    elif copy.kind == IMITATION and not copy.move.exact:
        firsts = [copy.strokes[0]]
    else:
        firsts = []
    outer = -1 if copy.hand == "right" else 0
    return [stroke[outer] for stroke in firsts]


def cut(figure: Figure, first: int, stop: int, bars: Sequence[Bar], ties: Mapping[int, tuple[Note, ...]]) -> Figure | None:
    """Return a copy less some strokes at its ends, those from ``first`` up to ``stop`` kept; None where none would be left of worth."""
    group = len(figure.model)
    named = figure.model_bars is not None
    model: Sequence[Stroke]
    if figure.kind == RETROGRADE:
        if first:
            return None
        model = figure.model[group - stop :]
        sources: Sequence[Stroke] = model[::-1]
    elif named or figure.kind == IMITATION:
        sources = model = figure.model[first:stop]
    else:
        trimmed = fitted(first, stop, group)
        if trimmed is None:
            return None
        stop = trimmed
        sources = [*figure.model, *figure.moments][first:stop]
        model = [*figure.model, *figure.moments][first : first + group]
    strokes = figure.moments[first:stop]
    odd = {note.number for note in figure.odd}
    if not strokes or all(note.number in odd for note in strokes[0]) or all(note.number in odd for note in strokes[-1]):
        return None
    move = Move(figure.steps or 0, figure.semitones)
    return figure_of(Copy(figure.kind, figure.hand, move, strokes, sources, model, bars, ties, named))


def fitted(first: int, stop: int, group: int) -> int | None:
    """Return where copies of a group end: the last of several is half a group or more, a single one three quarters; None: there is none.

    >>> fitted(0, 9, 4), fitted(0, 10, 4), fitted(0, 3, 4), fitted(0, 2, 4)
    (8, 10, 3, None)
    """
    length = stop - first
    if length < group:
        return stop if 4 * length >= 3 * group else None
    left = length % group
    return stop - left if 2 * left < group else stop
