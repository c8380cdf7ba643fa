"""A small score of our own for each kind of figure, to be shown where the kind is explained.

Conventions: a hand is one text. Tokens are separated by blanks: ``C4``, ``F#5``; a chord ``C4+E4``; a rest ``r``; ``C4*3`` lasts three
times the ``unit``. Bars have four quarters; no token goes over a bar line. There are no sharps or flats in the signature.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

BAR = 4  # quarters
UNITS = 4
"""Ticks of a quarter note: the shortest token is a sixteenth."""
START = (
    f"<attributes><divisions>{UNITS}</divisions><key><fifths>0</fifths></key>"
    f"<time><beats>{BAR}</beats><beat-type>4</beat-type></time><staves>2</staves></attributes>"
)
BACK = f"<backup><duration>{BAR * UNITS}</duration></backup>"
UP = "C4 D4 F4 E4 G4 F4 A4 G4"


class Small(NamedTuple):
    """What the hands play, in ticks of ``unit`` (2 is an eighth note)."""

    right: str = ""
    left: str = ""
    unit: int = 2


EXAMPLES: dict[str, Small] = {
    "scale-run": Small("C5 D5 E5 F5 G5 A5 B5 C6"),
    "chromatic-run": Small("C5 C#5 D5 D#5 E5 F5 F#5 G5"),
    "arpeggio": Small("C4 E4 G4 C5 E5 G5 C6*2"),
    "alberti-bass": Small(left="C3 G3 E3 G3 C3 G3 E3 G3 B2 G3 D3 G3 C3 G3 E3 G3"),
    "broken-chord": Small(left="C3 E3 G3 E3 C3 E3 G3 E3 B2 D3 G3 D3 C3 E3 G3 E3"),
    "bass-and-chord": Small(left="C3 E3+G3+C4 C3 E3+G3+C4 G2 D3+G3+B3 G2 D3+G3+B3", unit=4),
    "parallel-thirds": Small("C5+E5 D5+F5 E5+G5 F5+A5 G5+B5 A5+C6 B5+D6 C6+E6"),
    "parallel-fourths": Small("D5+G5 A4+D5 C5+F5 B4+E5 G4+C5 A4+D5"),
    "parallel-sixths": Small("E4+C5 G4+E5 F4+D5 D4+B4 E4+C5 A4+F5"),
    "parallel-octaves": Small(left="C2+C3 G2+G3 E2+E3 A2+A3 F2+F3 D2+D3"),
    "parallel-tenths": Small(left="C2+E3 F2+A3 D2+F3 G2+B3 E2+G3 A2+C4"),
    "broken-thirds": Small("C5 E5 D5 F5 E5 G5 F5 A5"),
    "broken-fourths": Small("C5 F5 D5 G5 E5 A5 F5 B5"),
    "broken-fifths": Small("C5 G5 D5 A5 E5 B5 F5 C6"),
    "broken-sixths": Small("C5 A5 D5 B5 E5 C6 F5 D6"),
    "broken-sevenths": Small("C5 B5 D5 C6 E5 D6 F5 E6"),
    "broken-octaves": Small(left="C2 C3 G2 G3 E2 E3 A2 A3"),
    "turn": Small("D5 C5 B4 C5*5", unit=1),
    "mordent": Small("C5 B4 C5*2 D5 C5 D5*2 E5 D5 E5*2", unit=1),
    "trill": Small("C5 D5 C5 D5 C5 D5 C5 D5", unit=1),
    "tremolo": Small(left="D3+F3 A3+D4 D3+F3 A3+D4 D3+F3 A3+D4 D3+F3 A3+D4", unit=1),
    "repeated-notes": Small("G4 G4 G4 G4 G4 G4 G4 G4"),
    "repeated-group": Small("E5 C5 D5 G4 E5 C5 D5 G4 E5 C5 D5 G4"),
    "octave-copy": Small("E4 C4 D4 G4 F4 A4 D4 B3 E5 C5 D5 G5 F5 A5 D5 B4"),
    "sequence": Small("G5 E5 F5 D5 F5 D5 E5 C5 E5 C5 D5 B4"),
    "retrograde": Small("C5 E5 D5 F5 A5 F5 D5 E5 C5", unit=1),
    "imitation": Small("C5 E5 D5 G5 F5 A5 E5 C5 D5*8", "r*8 C4 E4 D4 G4 F4 A4 E4 C4"),
    "pedal-note": Small("E5 G4 F5 G4 D5 G4 C5 G4"),
    "hands-in-unison": Small(UP, UP),
    "hands-in-octaves": Small(UP, UP.replace("4", "3")),
    "hands-in-thirds": Small("E4 F4 A4 G4 B4 A4 C5 B4", UP),
    "hands-in-sixths": Small("A4 B4 D5 C5 E5 D5 F5 E5", UP),
    "hands-in-tenths": Small("E5 F5 A5 G5 B5 A5 C6 B5", UP),
    "contrary-motion": Small(UP, "C4 B3 G3 A3 F3 G3 E3 F3"),
    "block-chord": Small("E4+G4+C5*8"),
}
"""Each kind that can be explained; the tests see to it that it is found in its score."""


def small_score(small: Small) -> bytes:
    """Return a small score as MusicXML: one part of two staves."""
    hands = [_bars(text, small.unit) for text in (small.right, small.left)]
    bars = max(map(len, hands))
    written = []
    for number in range(bars):
        staves = ["".join(_notes(hand[number] if number < len(hand) else [], staff)) for staff, hand in enumerate(hands, 1)]
        written.append(f'<measure number="{number + 1}">{"" if number else START}{BACK.join(staves)}</measure>')
    head = '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
    return f'{head}<part id="P1">{"".join(written)}</part></score-partwise>'.encode()


def _bars(text: str, unit: int) -> list[list[tuple[str, int]]]:
    """Return the tokens of a hand bar by bar, each with its ticks."""
    bars: list[list[tuple[str, int]]] = []
    room = 0
    for token in text.split():
        word, _, times = token.partition("*")
        ticks = unit * int(times or 1)
        if not room:
            bars.append([])
            room = BAR * UNITS
        bars[-1].append((word, ticks))
        room -= ticks
    return bars


def _notes(tokens: list[tuple[str, int]], staff: int) -> Iterator[str]:
    """Yield the notes and rests of a bar; what is left of it is a rest."""
    left = BAR * UNITS - sum(ticks for _, ticks in tokens)
    for word, ticks in [*tokens, *([("r", left)] if left else [])]:
        for place, one in enumerate(word.split("+")):
            name = "<rest/>" if one == "r" else _pitch(one)
            chord = "<chord/>" if place else ""
            yield f"<note>{chord}{name}<duration>{ticks}</duration><voice>{staff}</voice><staff>{staff}</staff></note>"


def _pitch(word: str) -> str:
    alter = f"<alter>{word.count('#')}</alter>" if "#" in word else ""
    return f"<pitch><step>{word[0]}</step>{alter}<octave>{word[-1]}</octave></pitch>"
