"""What the directions of a part say of tempo, octave lines and the way through the piece, each with its place.

Conventions
-----------
* A direction holds from the time it is meant for: where it stands, its ``<offset>`` counted in. An octave line begins and stops where it
  stands among the notes; its ``<offset>`` only moves the sign (test suite of MusicXML, 33d).
* A tempo is a visible metronome mark (also one set as text: ♩ = 60; ``= 60`` as it stands, where the note was lost), words that name one
  (``music.tempo``), or a sound with a tempo to play. Other words (Legato) belong to it only where they stand beside a metronome mark.
  Words that send the player elsewhere (D.C. al Fine) are a jump and no tempo.
* An octave line holds on its staff until the next one or its stop; one that is never stopped, to the end of the part.

Source: MusicXML 4.0, elements ``direction``, ``metronome``, ``sound``, ``segno``, ``coda``, ``octave-shift`` (type ``down``: shown lower
than it sounds, that is 8va). The words of jumps: common practice, no source. Notes in a text: SMuFL 1.4, metronome marks and individual
notes.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import Any

from lxml.etree import ProcessingInstruction

from annotator.music.score import Jump, OctaveLine, Tempo
from annotator.music.tempo import joined, tempo_words, without_section
from annotator.reading.document import PROGRAM
from annotator.reading.notes import TYPES, decimal, staff_from, whole

_JUMP = re.compile(r"\b(d\. ?[cs]\.|dc|ds|da capo|dal segno)(?![a-z])", re.IGNORECASE)
_FINE = re.compile(r"fine\.?", re.IGNORECASE)
"""What an instruction of ours in a direction is for: the labels of a marked copy are no words of the source."""
_TOLD = frozenset({"words", "metronome", "octave-shift", "segno", "coda"})
_NOTES = {
    note: length
    for notes, length in (
        ("\ueca2\ue1d2", Fraction(4)),
        ("\ueca3\ueca4\ue1d3\ue1d4", Fraction(2)),
        ("\ueca5\ueca6\ue1d5\ue1d6♩", Fraction(1)),
        ("\ueca7\ueca8\ue1d7\ue1d8♪", Fraction(1, 2)),
        ("\ueca9\uecaa\ue1d9\ue1da", Fraction(1, 4)),
    )
    for note in notes
}
"""Notes in a text by their length in quarters."""
_SET_AS_TEXT = re.compile(rf"([{''.join(_NOTES)}])\s*([\uecb7\ue1e7.])?\s*=\s*(\d+)\.?")
_WITHOUT_NOTE = re.compile(r"= \d+\.?")
_OCTAVES = {15: 2, 22: 3}  # by the size of an octave line; any other is one octave


class Directions:
    """Gathers what the directions of one part say, in document order."""

    def __init__(self) -> None:
        self.tempos: list[Tempo] = []
        self.jumps: list[Jump] = []
        self._octave_lines: list[OctaveLine] = []  # as they begin; where one stops, a line of no octaves

    def read(self, element: Any, bar: int, stands: int, tick: int) -> None:
        """Take in a ``<direction>`` of the bar with this index, that ``stands`` at one tick and is meant for another; none of our own."""
        if any(record.target == PROGRAM for record in element.iterchildren(ProcessingInstruction)):
            return
        marks = {mark.tag for kind in element.iterchildren("direction-type") for mark in kind[:]}
        speed = _speed(element.find("sound"))
        if speed is None and marks.isdisjoint(_TOLD):
            return
        staff = staff_from(element.findtext("staff")) or 1
        words = " ".join(" ".join(each.text or "" for each in element.iterfind("direction-type/words")).split())
        for shift in element.iterfind("direction-type/octave-shift"):
            self._octave_shift(shift, staff, bar, stands)
        if _JUMP.search(words):
            self.jumps.append(Jump(bar, tick, "jump", words))
            words = ""
        elif _FINE.fullmatch(words):
            self.jumps.append(Jump(bar, tick, "fine", words))
        self.jumps += [Jump(bar, tick, sign) for sign in ("segno", "coda") if sign in marks]
        named, beat, per_minute = _tempo(element, words)
        if beat is not None or speed is not None or named:
            self.tempos.append(Tempo(bar, tick, staff, named, beat, per_minute, speed))

    def sound(self, element: Any, bar: int, tick: int) -> None:
        """Take in a ``<sound>`` that stands in a bar by itself."""
        speed = _speed(element)
        if speed is not None:
            self.tempos.append(Tempo(bar, tick, 1, "", speed=speed))

    def octave_lines(self, end: int) -> tuple[OctaveLine, ...]:
        """Return the octave lines of the part, staff by staff; ``end`` is the tick at which it ends."""
        ended: list[OctaveLine] = []
        begun: dict[int, OctaveLine] = {}
        for line in sorted(self._octave_lines, key=lambda line: line.tick):
            if line.staff in begun:
                ended.append(replace(begun.pop(line.staff), until=line.tick))
            if line.octaves:
                begun[line.staff] = replace(line, until=end)
        return tuple(sorted((*ended, *begun.values()), key=lambda line: (line.staff, line.tick)))

    def _octave_shift(self, mark: Any, staff: int, bar: int, tick: int) -> None:
        kind, octaves = mark.get("type"), _OCTAVES.get(whole(mark.get("size")) or 8, 1)
        if kind in ("down", "up", "stop"):
            self._octave_lines.append(OctaveLine(staff, bar, tick, tick, {"down": octaves, "up": -octaves}.get(kind, 0)))


def _tempo(element: Any, words: str) -> tuple[str, Fraction | None, str]:
    """Return the tempo words of a direction and its metronome mark; ``words`` are all its words but for a jump."""
    beat, per_minute = _metronome(element.find("direction-type/metronome"))
    if not words:
        return "", beat, per_minute
    pieces = [each.text or "" for each in element.iterfind("direction-type/words")]
    set_as_text = _SET_AS_TEXT.search(words)
    if set_as_text and beat is None:
        beat = _NOTES[set_as_text[1]] * (Fraction(3, 2) if set_as_text[2] else 1)
        per_minute = set_as_text[3]
        pieces = [words[: set_as_text.start()]]
    elif _WITHOUT_NOTE.fullmatch(words):
        return words, beat, per_minute
    return tempo_words(pieces) or (without_section(joined(pieces)) if beat is not None else ""), beat, per_minute


def _metronome(mark: Any) -> tuple[Fraction | None, str]:
    """Return the counted note of a visible metronome mark, in quarter notes, and the text of how many there are in a minute."""
    if mark is None or mark.get("print-object") == "no":
        return None, ""
    per_minute = " ".join((mark.findtext("per-minute") or "").split())
    beat = TYPES.get((mark.findtext("beat-unit") or "").strip())
    if beat is None or not per_minute:
        return None, ""
    return beat * (Fraction(3, 2) if mark.find("beat-unit-dot") is not None else 1), per_minute


def _speed(sound: Any) -> Fraction | None:
    """Return the quarter notes a minute that a ``<sound>`` names; none where it is no tempo that can be played."""
    speed = None if sound is None else decimal(sound.get("tempo"))
    return speed if speed is not None and speed > 0 else None
