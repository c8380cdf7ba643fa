"""Small scores written by hand to be cut, and what the tests ask of an excerpt."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import Any

from lxml import etree

from annotator.marks.finding import stretches
from annotator.music.score import Note, Part, Score
from annotator.options.settings import Options
from annotator.pages.engraver import ask
from annotator.pages.render_copy import render_copy
from annotator.products.excerpts import Excerpt, excerpt_of
from annotator.reading import load, read_document

ATTRIBUTES = (
    "<attributes><divisions>2</divisions><key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"
    "<staves>2</staves><clef number='1'><sign>G</sign><line>2</line></clef>"
    "<clef number='2'><sign>F</sign><line>4</line></clef></attributes>"
)


def note(
    pitch: str = "C5", halves: int = 8, staff: int = 1, voice: int = 0, inside: str = "", tie: str = "", chord: bool = False
) -> str:
    """Return a note of so many eighths; ``pitch`` like ``F#4``. ``inside`` are its beams and notations, ``tie`` the words of its ties."""
    alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
    kind = {1: "eighth", 2: "quarter", 4: "half", 8: "whole"}.get(halves, "quarter")
    ties = "".join(f"<tie type='{each}'/>" for each in tie.split())
    tied = "".join(f"<tied type='{each}'/>" for each in tie.split())
    return (
        f"<note>{'<chord/>' if chord else ''}<pitch><step>{pitch[0]}</step>{alter}<octave>{pitch[-1]}</octave></pitch>"
        f"<duration>{halves}</duration>{ties}<voice>{voice or 4 * staff - 3}</voice><type>{kind}</type><staff>{staff}</staff>{inside}"
        f"{f'<notations>{tied}</notations>' if tied else ''}</note>"
    )


def mark(inside: str, staff: int = 1, placement: str = "below") -> str:
    """Return a direction."""
    return f"<direction placement='{placement}'><direction-type>{inside}</direction-type><staff>{staff}</staff></direction>"


def slur(kind: str, number: int = 1) -> str:
    """Return the notations of a slur's end."""
    return f"<notations><slur type='{kind}' number='{number}'/></notations>"


BACK = "<backup><duration>8</duration></backup>"
LOW = BACK + note("C3", staff=2)


def score_of(*bars: str, numbers: tuple[str, ...] = (), timewise: bool = False, implicit: tuple[str, ...] = ()) -> bytes:
    """Return a piano score; the first bar gets the attributes."""
    names = numbers or tuple(str(number) for number in range(1, len(bars) + 1))
    upbeats = dict.fromkeys(implicit, " implicit='yes'")
    heads = [f"<measure number='{name}'{upbeats.get(name, '')}>" for name in names]
    contents = [(ATTRIBUTES if place == 0 else "") + bar for place, bar in enumerate(bars)]
    kind = "timewise" if timewise else "partwise"
    if timewise:
        music = "".join(f"{head}<part id='P1'>{content}</part></measure>" for head, content in zip(heads, contents, strict=True))
    else:
        music = "<part id='P1'>" + "".join(f"{h}{c}</measure>" for h, c in zip(heads, contents, strict=True)) + "</part>"
    names_of_parts = "<part-list><score-part id='P1'><part-name>Piano</part-name></score-part></part-list>"
    return f"<score-{kind} version='4.0'>{names_of_parts}{music}</score-{kind}>".encode()


def cut(data: bytes, first: str, last: str, hand: str = "both", *more: tuple[str, str]) -> Excerpt:
    """Return an excerpt of a score given as bytes, and be sure that the score stays as it is."""
    document = load(data)
    before = etree.tostring(document.tree)
    made = excerpt_of(document, read_document(document), Options(bars=((first, last), *more), hand=hand))
    assert etree.tostring(document.tree) == before
    return made


def drawn(made: Excerpt) -> Any:
    """Return what the engraver makes of an excerpt, as a tree without namespaces."""
    root = etree.fromstring(ask("import", render_copy(made.document).text, {"breaks": "none", "xmlIdSeed": 1}, 0)["mei"].encode())
    for element in root.iter(etree.Element):
        element.tag = etree.QName(element).localname
    return root


def values(root: Any, tag: str, *names: str) -> list[tuple[str | None, ...]]:
    """Return these attributes of all elements of a kind, in document order."""
    return [tuple(element.get(name) for name in names) for element in root.iter(tag)]


Sound = tuple[str, Any, int, Fraction, Fraction, bool]


def sound(note: Note, start: int, resolution: int) -> Sound:
    """Return pitch, onset from a tick on, and duration in quarters, and whether it is a grace note."""
    pitch = note.pitch
    onset, length = Fraction(note.tick - start, resolution), Fraction(note.ticks, resolution)
    return pitch.step, pitch.alter, pitch.octave, onset, length, note.grace


def staves_of(part: Part, hand: str) -> set[int]:
    """Return the staves of a hand."""
    return {staff for staff in range(1, part.staves + 1) if hand == "both" or (staff in part.left_staves) == (hand == "left")}


def wanted(score: Score, part: Part, first: str, last: str, hand: str) -> Counter[Sound]:
    """Return what sounds in bars of a whole score."""
    (bars,) = stretches(part, ((first, last),))
    start = part.bars[bars.start].tick
    staves = staves_of(part, hand)
    return Counter(sound(note, start, score.resolution) for note in part.notes if note.bar in bars and note.staff in staves)


def found(made: Excerpt, part: Part) -> Counter[Sound]:
    """Return what sounds in an excerpt."""
    return Counter(sound(note, 0, made.score.resolution) for note in part.notes)
