"""Steps: how each event of a line is reached from the one before, as a text in which patterns can be looked for.

Conventions
-----------
* One sign for each event but the first. ``BREAK``: it does not follow a single note as a single note. Every other sign stands for what
  any kind calls a step (``_rising``), a capital where the keys go up, the small letter of it where they go down.
* Each line is read once; a slice knows the text of its whole line. A reading turns the signs into ``UP``, ``DOWN`` and ``OTHER`` by what
  one kind calls a step: ``BY_LETTER`` is a neighbouring letter, whatever the keys; ``CONJUNCT`` that and one to three semitones;
  ``SMALL`` one to three semitones, to the same letter, the next or the one after; ``BY_SEMITONE`` one semitone, however spelled.

Source: common practice, no source.

>>> "".join(_sign(letters, keys) for letters, keys in ((1, 2), (-1, -1), (0, 1), (2, 3), (4, 7))).translate(_READINGS[CONJUNCT])
'ud...'
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from annotator.lines import Event, Line
from annotator.score import Pitch

BREAK, UP, DOWN, OTHER = "-", "u", "d", "."

BY_LETTER, CONJUNCT, SMALL, BY_SEMITONE = "steps by letter", "conjunct steps", "small steps", "steps by semitone"


def _reading(up: str) -> dict[int, str]:
    """Return the reading in which these signs are steps up, and the same signs the other way round steps down."""
    others = {ord(sign): OTHER for sign in "ABCDEFabcdef"}
    return others | dict.fromkeys(map(ord, up), UP) | dict.fromkeys(map(ord, up.swapcase()), DOWN)


_READINGS = {BY_LETTER: _reading("ABFe"), CONJUNCT: _reading("AB"), SMALL: _reading("ABCD"), BY_SEMITONE: _reading("ACE")}


def steps_of(line: Line, reading: str) -> str:
    """Return, in one of the readings, how each event of a line but the first is reached: one sign each."""
    if line.whole is not None:
        return steps_of(line.whole, reading)[line.first : line.first + max(0, len(line) - 1)]
    kept: str | None = line.__dict__.get(reading)
    if kept is None:
        signs: str | None = line.__dict__.get("steps")
        if signs is None:
            signs = line.__dict__["steps"] = "".join(_signs(line.events)[1:])
        kept = line.__dict__[reading] = signs.translate(_READINGS[reading])
    return kept


def _signs(events: Iterable[Event]) -> list[str]:
    """Return how each event is reached; the first of all is not."""
    signs = []
    before: Pitch | None = None
    for event in events:
        notes = event.notes
        if len(notes) != 1:
            before = None
            signs.append(BREAK)
            continue
        pitch = notes[0].pitch
        if before is None or not event.joined:
            signs.append(BREAK)
        else:
            signs.append(_sign(pitch.diatonic - before.diatonic, pitch.semitone - before.semitone))
        before = pitch
    return signs


@lru_cache(maxsize=4096)
def _sign(letters: int, semitones: int) -> str:
    """Return the sign for the way from one note to the next, in letters and in semitones."""
    falling = (semitones, letters) < (0, 0)
    return _rising(-letters, -semitones).swapcase() if falling else _rising(letters, semitones)


def _rising(letters: int, semitones: int) -> str:
    """Return the sign for a way that does not go down by keys."""
    if letters == 1:
        return "A" if semitones == 1 else "B" if semitones in (2, 3) else "F"
    if letters == -1:
        return "E" if semitones == 1 else "f"
    if letters in (0, 2) and semitones in (1, 2, 3):
        return "C" if (letters, semitones) == (0, 1) else "D"
    return OTHER
