"""Small scores for the survey, written as text: bars of notes for the right and the left hand.

A note is ``C4``, ``F#5``, ``Bb3`` with its length in quarters behind a colon (``C4:1/2``), chord members joined by ``/``; ``r`` is a rest.
What stands in angle brackets goes into the bar as MusicXML.
"""

from __future__ import annotations

import re
from fractions import Fraction
from html import escape

DIVISIONS = 12
CLEFS = (
    '<clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef>'
)
NOTE = re.compile(r"([A-G])([#b]*)(\d)")


def score(
    right: str, left: str = "", *, title: str = "A Tune", composer: str = "Somebody", fifths: int = 0, beats: int = 4, clefs: str = CLEFS
) -> str:
    """Return MusicXML with two staves; bars are parted by ``|``."""
    rights = right.split("|")
    lefts = left.split("|") if left else [""] * len(rights)
    bars = []
    for number, (upper, lower) in enumerate(zip(rights, lefts, strict=True), 1):
        head = (
            f"<attributes><divisions>{DIVISIONS}</divisions><key><fifths>{fifths}</fifths></key><time><beats>{beats}</beats>"
            f"<beat-type>4</beat-type></time><staves>2</staves>{clefs}</attributes>"
        )
        back = f"<backup><duration>{_length(upper)}</duration></backup>" if lower.strip() else ""
        bars.append(f'<measure number="{number}">{head if number == 1 else ""}{_notes(upper, 1)}{back}{_notes(lower, 2)}</measure>')
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">'
        f"<work><work-title>{escape(title)}</work-title></work>"
        f'<identification><creator type="composer">{composer}</creator></identification>'
        '<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(bars)}</part></score-partwise>\n'
    )


def choir() -> str:
    """Return a score for two singers."""
    names = "".join(f'<score-part id="P{i}"><part-name>{name}</part-name></score-part>' for i, name in enumerate(("Soprano", "Tenor")))
    bar = f'<measure number="1"><attributes><divisions>{DIVISIONS}</divisions></attributes>{_notes("C5:4", 0)}</measure>'
    parts = "".join(f'<part id="P{i}">{bar}</part>' for i in range(2))
    return f'<score-partwise version="4.0"><part-list>{names}</part-list>{parts}</score-partwise>'


def _words(bar: str) -> list[str]:
    return re.findall(r"<.*>|\S+", bar)


def _ticks(word: str) -> int:
    return int(Fraction(word.partition(":")[2] or "1") * DIVISIONS)


def _length(bar: str) -> int:
    return sum(_ticks(word) for word in _words(bar) if not word.startswith("<"))


def _notes(bar: str, staff: int) -> str:
    return "".join(word if word.startswith("<") else _chord(word, staff) for word in _words(bar))


def _chord(word: str, staff: int) -> str:
    names, _, _ = word.partition(":")
    where = f"<voice>{staff or 1}</voice>" + (f"<staff>{staff}</staff>" if staff else "")
    tail = f"<duration>{_ticks(word)}</duration>{where}</note>"
    if names == "r":
        return f"<note><rest/>{tail}"
    found = []
    for place, name in enumerate(names.split("/")):
        step, signs, octave = NOTE.fullmatch(name).groups()  # type: ignore[union-attr]
        alter = signs.count("#") - signs.count("b")
        change = f"<alter>{alter}</alter>" if alter else ""
        found.append(f"<note>{'<chord/>' if place else ''}<pitch><step>{step}</step>{change}<octave>{octave}</octave></pitch>{tail}")
    return "".join(found)
