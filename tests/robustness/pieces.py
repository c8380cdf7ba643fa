"""Small piano pieces as text: two hands full of figures, to which one odd thing at a time is done.

A bar of 4/4 at two divisions a quarter: the right hand runs from C5 to C6, the left hand plays an Alberti bass on C.
"""

from __future__ import annotations

from dataclasses import dataclass

RUN = ("C5", "D5", "E5", "F5", "G5", "A5", "B5", "C6")
ALBERTI = ("C3", "G3", "E3", "G3") * 2
KEY = "<key><fifths>0</fifths></key>"
TIME = "<time><beats>4</beats><beat-type>4</beat-type></time>"
CLEFS = '<clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef>'
GRAND = f"<divisions>2</divisions>{KEY}{TIME}<staves>2</staves>{CLEFS}"
SINGLE = f"<divisions>2</divisions>{KEY}{TIME}<clef><sign>G</sign><line>2</line></clef>"


@dataclass(frozen=True)
class Case:
    """A file, and how the program must end on it.

    ``code`` is the exit code; ``says`` stands somewhere in what is said. A case of ``music`` leaves a marked MusicXML behind; ``silent``
    are the parts in which nothing may be marked, ``figures`` whether any figure is to be found.
    """

    name: str
    data: bytes
    code: int
    says: str = ""
    suffix: str = ".musicxml"
    music: bool = False
    silent: tuple[str, ...] = ()
    figures: bool | None = None


def note(name: str, duration: object = 1, *, voice: str = "1", staff: str = "1", kind: str = "eighth", **more: str) -> str:
    """Return a ``<note>``; ``more``: ``first`` stands before the pitch, ``after`` the type, ``last`` at the end, ``attributes``."""
    alter = name.count("#") - name.count("b")
    sign = f"<alter>{alter}</alter>" if alter else ""
    what = "<rest/>" if name == "rest" else f"<pitch><step>{name[0]}</step>{sign}<octave>{name[-1]}</octave></pitch>"
    lasting = "" if duration is None else f"<duration>{duration}</duration>"
    return (
        f"<note{more.get('attributes', '')}>{more.get('first', '')}{what}{lasting}<voice>{voice}</voice><type>{kind}</type>"
        f"{more.get('after', '')}<staff>{staff}</staff>{more.get('last', '')}</note>"
    )


def notes(names: tuple[str, ...], **how: str) -> str:
    """Return notes one after another."""
    return "".join(note(name, **how) for name in names)  # type: ignore[arg-type]


def back(duration: object = 8) -> str:
    """Return a ``<backup>``."""
    return f"<backup><duration>{duration}</duration></backup>"


RIGHT = notes(RUN)
LEFT = notes(ALBERTI, voice="5", staff="2")
BOTH = RIGHT + back() + LEFT


def bar(inside: str = BOTH, attributes: str = "", number: str | None = "2", more: str = "") -> str:
    """Return a ``<measure>``; ``attributes`` without their frame."""
    frame = f"<attributes>{attributes}</attributes>" if attributes else ""
    named = "" if number is None else f' number="{number}"'
    return f"<measure{named}{more}>{frame}{inside}</measure>"


def first(inside: str = BOTH, attributes: str = GRAND) -> str:
    """Return the first bar of a piano part."""
    return bar(inside, attributes, "1")


def score(*parts: tuple[str, str], root: str = "score-partwise", version: str = "4.0", prolog: str = "", head: str = "") -> bytes:
    """Return a score of parts, each given as its name and its bars. Their ids count: P1, P2."""
    listed = "".join(
        f'<score-part id="P{number}"><part-name>{name}</part-name></score-part>' for number, (name, _) in enumerate(parts, 1)
    )
    played = "".join(f'<part id="P{number}">{bars}</part>' for number, (_, bars) in enumerate(parts, 1))
    declared = prolog or '<?xml version="1.0" encoding="UTF-8"?>'
    return f'{declared}<{root} version="{version}">{head}<part-list>{listed}</part-list>{played}</{root}>\n'.encode()


def piano(*bars: str) -> bytes:
    """Return a score of one piano part; a bar as it should be stands before and after those given."""
    return score(("Piano", "".join((first(), *bars, bar(number="99")))))


PLAIN = piano()
