"""Copies: what follows, stroke by stroke and in the same rhythm, from a model that the player has just read.

Conventions
-----------
* A copy has its model, how it is moved, and its odd notes. ``moments`` are the copies' own strokes; ``model`` are the strokes of the model,
  outside the figure. What lies directly before is copied ``times`` times, each time from the one before; a model that the label names by
  its bars (``model_bars``) is copied once.
* The move is none, whole octaves, letters (``steps``, 7 an octave), or keys (``semitones`` of a real sequence). A retrograde goes back from
  the turning stroke, which is neither in the model nor in the copy.
* Whole copies by octaves may turn on their last stroke and go the same way back (``direction`` is ``turning``): then ``times`` counts the
  copies before the turn, and what comes after it is struck as it was on the way there.
* Odd notes are dark, and at most one in three of each copy, or one stroke in three; none in fewer than six notes. Signs that a move by
  letters does not give are not counted, up to half of a copy. Dark too is the note by which a player finds where a moved copy begins: the
  outer note of its first stroke, and of its first stroke in each further bar; and the first stroke in a new clef or octave line, unless the
  model has the same change there. A stroke that has other notes, in number, than its model is dark as a whole.

Rule, as a pupil hears it: as the model, moved as the label says; what is dark is new, and stays so for the next copy.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import NamedTuple

from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Slot, Spelling, made
from annotator.figures.lines import Line
from annotator.music.score import Bar, Note, Pitch, pitch_at

AGAIN, OCTAVE, SEQUENCE, RETROGRADE, IMITATION = KINDS = (
    "repeated-group",
    "octave-copy",
    "sequence",
    "retrograde",
    "imitation",
)
OCTAVES = 7  # letters of one
FEWEST_WITH_ODD = 6  # notes of a copy in which some may be odd
PART_ODD = 3  # at most one note in so many of each copy
PART_SIGNED = 2  # or in so many, where signs make them so
TURNING = "turning"
LABEL_COST = {AGAIN: 1, OCTAVE: 1, SEQUENCE: 2, RETROGRADE: 2, IMITATION: 2}  # what reading a label takes, in notes

Stroke = tuple[Note, ...]
"""Notes struck at one moment, from low to high."""


class Move(NamedTuple):
    """How a copy is moved: ``steps`` letters, by octaves exactly, else altered as unmarked; or by ``semitones``, whatever the letters.

    >>> Move(7).keys, Move(1).keys, Move(1, 2).keys
    (12, None, 2)
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


UNMOVED = Move()


def spell_out(covered: Covered) -> Spelling:
    """Return every stroke as its model, moved: the model's strokes first, then those of the copy before.

    Rule:

    * ``repeated-group``: As just before, or as in the bars that are named; ×3 counts the copies, not what they copy; what is black is new
      and stays so.
    * ``octave-copy``: As just before, or as the bars named, the named octaves away; ×3 counts the copies; and back: from the last note,
      struck once, the same way back; what is black is new and stays so.
    * ``sequence``: As just before, each time as far up or down in the key as is named (real: with exactly the same intervals); ×3 counts
      the copies; what is black is new and stays so.
    * ``retrograde``: From the turning note, which is struck once, the same way back; what is black is new.
    * ``imitation``: As the other hand has just played, as far above or below as is named, in the key; what is black is new.
    """
    move = Move(covered.steps or 0, covered.semitones)
    earlier = list(reversed(covered.model)) if covered.kind == RETROGRADE else list(covered.model)
    there = len(covered.slots) if covered.direction != TURNING else len(earlier) * (covered.times or 1)
    turn = len(earlier) + there - 1
    for place, slot in enumerate(covered.slots):
        source = place if place < there else turn - (place - there + 1)
        if not 0 <= source < len(earlier):
            raise CannotSpellOut("there is no stroke in the model to follow")
        earlier.append(_copied(slot, earlier[source], move if place < there else UNMOVED))
    return tuple([tuple([int(pitch.semitone) for pitch in stroke]) for stroke in earlier[len(covered.model) :]])


def _copied(slot: Slot, model: Sequence[Pitch], move: Move) -> tuple[Pitch, ...]:
    """Return a stroke: what is dark of it, and the notes of its model moved."""
    if len(model) != len(slot.known) and None in slot.known:
        raise CannotSpellOut("a stroke with other notes than its model must be dark")
    return tuple([known or moved(model[place], move, slot, place) for place, known in enumerate(slot.known)])


def moved(pitch: Pitch, move: Move, slot: Slot, place: int) -> Pitch:
    """Return a pitch moved, as it is read at a place of a slot."""
    if move == UNMOVED:
        return pitch
    letter, keys = pitch.diatonic + move.steps, move.keys
    return slot.unmarked(letter, place) if keys is None else _at_key(letter, int(pitch.semitone) + keys)


def _at_key(letter: int, key: int) -> Pitch:
    """Return the pitch of a key, on a letter."""
    return pitch_at(letter, key - int(pitch_at(letter).semitone))


class Copy(NamedTuple):
    """What a copy is made of: its kind, line and move, its strokes, the strokes of its model in time order, and its odd notes' numbers.

    ``fresh`` are the numbers of the part's notes that are read in a new clef or octave line, and are dark; ``named`` says that its label
    names bars; ``back`` is how many of its strokes, the last ones, go back after whole copies.
    """

    kind: str
    line: Line
    move: Move
    strokes: Sequence[Stroke]
    model: Sequence[Stroke]
    odd: Container[int]
    fresh: frozenset[int]
    named: bool = False
    back: int = 0

    @property
    def group(self) -> int:
        """How many strokes the model has."""
        return len(self.model)


def figure_of(copy: Copy) -> Figure | None:
    """Return the figure of a copy; None where it would grey nothing, or too much of it is odd."""
    if _is_strange(copy):
        return None
    struck = [note for stroke in copy.strokes for note in stroke]
    odd = {note.number for note in struck if note.number in copy.odd}
    fresh = [] if copy.fresh.isdisjoint([note.number for note in struck]) else _read_anew(copy)
    dark = odd | {note.number for note in [*fresh, *_found_by(copy)]}
    if len(dark) >= len(struck):
        return None
    return made(
        copy.line,
        copy.kind,
        copy.strokes,
        dark,
        odd,
        direction=TURNING if copy.back else None,
        times=-(-(len(copy.strokes) - copy.back) // copy.group),
        steps=copy.move.steps,
        semitones=copy.move.semitones,
        group=copy.group,
        model=tuple(copy.model),
        model_bars=copy.line.bar_numbers(copy.model) if copy.named else None,
    )


def _is_strange(copy: Copy) -> bool:
    """Return whether more notes are odd than may be in one of the copies, or in what there is of it."""
    there = copy.strokes[: len(copy.strokes) - copy.back]
    part = PART_SIGNED if copy.move.steps and copy.move.keys is None else PART_ODD
    if part == PART_ODD and len(there) <= copy.group and sum(map(len, there)) < FEWEST_WITH_ODD:
        return any(note.number in copy.odd for stroke in there for note in stroke)
    return any(too_odd(there[start : start + copy.group], copy.odd, part) for start in range(0, len(there), copy.group))


def too_odd(strokes: Sequence[Stroke], odd: Container[int], part: int) -> bool:
    """Return whether more than one note in ``part`` is odd, in more than one stroke in ``part``."""
    there = [sum(note.number in odd for note in stroke) for stroke in strokes]
    return part * sum(there) > sum(map(len, strokes)) and part * sum(map(bool, there)) > len(strokes)


def _read_anew(copy: Copy) -> list[Note]:
    """Return the notes that stand first in a new clef or octave line, unless those of their model do, too."""
    model = list(copy.model)
    sources = [*(model[::-1] if copy.kind == RETROGRADE else model), *copy.strokes[: len(copy.strokes) - copy.back]]
    sources += sources[-2 : -2 - copy.back : -1]
    return [
        note
        for stroke, source in zip(copy.strokes, sources, strict=False)
        if stroke[0].number in copy.fresh or len(stroke) > 1
        for note in stroke
        if note.number in copy.fresh and not all(model.number in copy.fresh for model in source)
    ]


def _found_by(copy: Copy) -> list[Note]:
    """Return the notes that stay dark for a player to find where a moved copy begins."""
    if copy.kind == SEQUENCE:
        firsts = [
            stroke
            for place, stroke in enumerate(copy.strokes)
            if place % copy.group == 0 or stroke[0].bar != copy.strokes[place - 1][0].bar
        ]
    elif copy.kind == IMITATION and copy.move.keys is None:
        firsts = [copy.strokes[0]]
    else:
        firsts = []
    outer = -1 if copy.line.hand == "right" else 0
    return [stroke[outer] for stroke in firsts]


def cut(figure: Figure, first: int, stop: int, odd: Container[int], line: Line, fresh: frozenset[int] = frozenset()) -> Figure | None:
    """Return a copy less some strokes at its ends, those from ``first`` up to ``stop`` kept; None where no copy is left.

    ``odd`` are the numbers of its odd notes, ``line`` that of its hand, ``fresh`` the notes read in a new clef or octave line.
    """
    group = len(figure.model)
    if figure.direction == TURNING:
        return _cut_with_its_way_back(figure, first, stop, odd, line, fresh)
    model: Sequence[Stroke]
    if figure.kind == RETROGRADE:
        if first:
            return None
        model = figure.model[group - stop :]
    elif figure.model_bars is not None or figure.kind == IMITATION:
        model = figure.model[first:stop]
    else:
        trimmed = fitted(first, stop, group)
        if trimmed is None:
            return None
        stop = trimmed
        model = figure.model[first:] + figure.moments[max(0, first - group) : first]
    strokes = figure.moments[first:stop]
    if not strokes or any(all(note.number in odd for note in strokes[end]) for end in _ends(strokes, line.bars)):
        return None
    move = Move(figure.steps or 0, figure.semitones)
    return figure_of(Copy(figure.kind, line, move, strokes, model, odd, fresh, figure.model_bars is not None))


def _cut_with_its_way_back(
    figure: Figure, first: int, stop: int, odd: Container[int], line: Line, fresh: frozenset[int]
) -> Figure | None:
    """Return what is left of copies that turn back: their way back shorter, or alone."""
    there = len(figure.model) * (figure.times or 1)
    back = stop - there
    if back < 1 or first not in (0, there):
        return None
    strokes = figure.moments[first:stop]
    if first == 0:
        move = Move(figure.steps or 0)
        return figure_of(Copy(OCTAVE, line, move, strokes, figure.model, odd, fresh, back=back))
    before = [*figure.model, *figure.moments[: there - 1]]
    return figure_of(Copy(RETROGRADE, line, UNMOVED, strokes, before[-back:], (), fresh))


def _ends(strokes: Sequence[Stroke], bars: Sequence[Bar]) -> tuple[int, ...]:
    """Return which ends of some strokes may not be odd: the last one, and the first where it is not on a bar line."""
    first = strokes[0][0]
    return (-1,) if first.tick == bars[first.bar].tick else (0, -1)


def fitted(first: int, stop: int, group: int) -> int | None:
    """Return where copies of a group end: the last of several is half a group or more, a single one three quarters; None: there is none.

    >>> fitted(0, 9, 4), fitted(0, 10, 4), fitted(0, 3, 4), fitted(0, 2, 4)
    (8, 10, 3, None)
    """
    length = stop - first
    if length < group:
        return stop if length >= fewest_of_one(group) else None
    left = length % group
    return stop - left if 2 * left < group else stop


def fewest_of_one(group: int) -> int:
    """Return how many strokes a single copy of a group has at least: three quarters."""
    return -(-3 * group // 4)


def again_label(figure: Figure) -> LabelData:
    """Say that it is the same again, or as in which bars."""
    bars = figure.model_bars
    return _filled(LabelData("again" if bars is None else "as-bar" if bars[0] == bars[1] else "as-bars"), figure)


def octave_label(figure: Figure) -> LabelData:
    """Say how many octaves away each copy is, and which way; from which bars; or that the way leads back."""
    steps, bars = figure.steps or 0, figure.model_bars
    if bars is not None and bars[0] == bars[1]:
        return _filled(LabelData("bar-up" if steps > 0 else "bar-down"), figure, abs(steps))
    if bars is not None:
        return _filled(LabelData("bars-up" if steps > 0 else "bars-down"), figure, abs(steps))
    if figure.direction == TURNING:
        return _filled(LabelData("up-back" if steps > 0 else "down-back"), figure, abs(steps))
    return _filled(LabelData("up" if steps > 0 else "down"), figure, abs(steps))


HEARD = {1: 0, 2: 1, 3: 2, 4: 2, 5: 3, 7: 4, 8: 5, 9: 5, 10: 6, 11: 6, 12: 7}
"""The interval, in letters, that so many semitones sound like, however they are spelled: three are a third; one is a semitone (0)."""


def sequence_label(figure: Figure) -> LabelData:
    """Say how far each copy moves, and which way: by steps of the key, or real, and then by what sounds; or from which bars."""
    steps, keys, bars = figure.steps or 0, figure.semitones, figure.model_bars
    if bars is not None and bars[0] == bars[1]:
        return _filled(LabelData("bar-up" if steps > 0 else "bar-down"), figure, abs(steps))
    if bars is not None:
        return _filled(LabelData("bars-up" if steps > 0 else "bars-down"), figure, abs(steps))
    if keys is None:
        return _filled(LabelData("up" if steps > 0 else "down"), figure, abs(steps))
    return _filled(LabelData("real-up" if keys > 0 else "real-down"), figure, HEARD.get(abs(keys), abs(steps)))


def retrograde_label(figure: Figure) -> LabelData:
    """Say whether the way back leads up or down."""
    up = figure.moments[-1][-1].pitch.semitone > figure.moments[0][-1].pitch.semitone
    return _filled(LabelData("up" if up else "down"), figure)


def _filled(label: LabelData, figure: Figure, distance: int | None = None) -> LabelData:
    """Return a label of a copy with how far it is moved, how often it is struck, from which bars, and by which hands."""
    return label._replace(distance=distance, repeats=figure.times or 1, both_hands=figure.both_hands, bars=figure.model_bars)


def imitation_label(figure: Figure) -> LabelData:
    """Say which hand it follows, and how far above or below."""
    steps, other = figure.steps or 0, "left" if figure.hand == "right" else "right"
    return LabelData("up" if steps > 0 else "down" if steps else "same", distance=abs(steps), follows=other)


LABELS = {
    AGAIN: again_label,
    OCTAVE: octave_label,
    SEQUENCE: sequence_label,
    RETROGRADE: retrograde_label,
    IMITATION: imitation_label,
}
"""What the label of each kind of copy says."""
