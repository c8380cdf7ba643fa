"""A generated score of any size: bars of runs, arpeggios, broken chords, repeats and chance, 48 notes a bar.

The same seed gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

NOTES_A_BAR = 48
_STEPS = "CDEFGAB"
_FIFTHS = (0, 1, -1, 2, -2, 3)
_MAJOR = (0, 2, 4)


def varied_score(notes: int, seed: int = 1) -> str:
    """Return MusicXML with about so many notes on two staves."""
    random = Random(seed)
    bars: list[str] = []
    right, left = _right(random), _left(random)
    for number in range(1, notes // NOTES_A_BAR + 1):
        if random.random() > 0.15:
            right = _right(random)
        if random.random() > 0.3:
            left = _left(random)
        head = _attributes(number, random)
        music = _voice(right, 1, 1, "32nd", 1) + "<backup><duration>32</duration></backup>" + _voice(left, 2, 5, "16th", 2)
        bars.append(f'<measure number="{number}">{head}{music}</measure>\n')
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0"><part-list><score-part id="P1">'
        '<part-name>Piano</part-name></score-part></part-list><part id="P1">\n' + "".join(bars) + "</part></score-partwise>\n"
    )


def _attributes(number: int, random: Random) -> str:
    if number == 1:
        return (
            "<attributes><divisions>8</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"
            '<staves>2</staves><clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef>'
            "</attributes>"
        )
    if number % 16 == 0:
        return f"<attributes><key><fifths>{random.choice(_FIFTHS)}</fifths></key></attributes>"
    return ""


def _right(random: Random) -> list[int]:
    """Return the 32 places (steps above C0) of a right hand bar: half a bar of one kind, half of another."""
    kinds: tuple[Callable[[Random], list[int]], ...] = (_run, _arpeggio, _thirds, _walk, _trill)
    return [place for _ in range(2) for place in random.choice(kinds)(random)]


def _run(random: Random) -> list[int]:
    start, way = random.randint(33, 38), random.choice((1, -1))
    return [start + way * (i if i < 8 else 15 - i) for i in range(16)]


def _arpeggio(random: Random) -> list[int]:
    start = random.randint(30, 36)
    return [start + 7 * (i // 3) + _MAJOR[i % 3] for i in (0, 1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1, 0, 1, 2, 3)]


def _thirds(random: Random) -> list[int]:
    start = random.randint(32, 38)
    return [start + i // 2 + 2 * (i % 2) for i in range(16)]


def _walk(random: Random) -> list[int]:
    places = [random.randint(33, 40)]
    while len(places) < 16:
        places.append(min(46, max(28, places[-1] + random.choice((-4, -3, -2, -1, 1, 2, 3, 4)))))
    return places


def _trill(random: Random) -> list[int]:
    low = random.randint(33, 40)
    return [low + i % 2 for i in range(16)]


def _left(random: Random) -> list[int]:
    """Return the 16 places of a left hand bar."""
    root = random.randint(17, 23)
    shape = random.choice(((0, 4, 2, 4), (0, 2, 4, 7), (0, 2, 4, 2), None))
    if shape is None:
        return [root + random.randint(0, 8) for _ in range(16)]
    return [root + step for _ in range(4) for step in shape]


def _voice(places: list[int], duration: int, voice: int, value: str, staff: int) -> str:
    tail = f"</octave></pitch><duration>{duration}</duration><voice>{voice}</voice><type>{value}</type><staff>{staff}</staff></note>"
    return "".join(f"<note><pitch><step>{_STEPS[place % 7]}</step><octave>{place // 7}{tail}" for place in places)
