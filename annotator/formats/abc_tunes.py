"""An ABC file made ready for the converter: one tune, its voices one after the other, nothing in the lines that it would misread.

Conventions
-----------
* Of a file with several tunes the first is taken. The header of the file holds for it too.
* Voices may change from line to line (``V:``) or inside a line (``[V:1]``); here each voice's lines are brought together.
* ``%%score {1 2}`` or ``%%staves {1 2}``: what stands in braces is one keyboard instrument, a staff for each voice or for each group in
  round brackets.
* Left out, because only notes, rests, bars, keys and meters are needed: decorations, annotations, chord names, lyrics, spacers.

Source: the ABC standard 2.1, sections 3 (fields), 4 (music, ties and slurs), 7 (voices), 11 (formatting directives).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction

from annotator.errors import ScoreError
from annotator.formats import Source

CLEFS = {"treble": "G2", "bass": "F4", "alto": "C3", "tenor": "C4"}

_FIELD = re.compile(r"^([A-Za-z+]):(.*)$")
_INLINE = re.compile(r"\[([A-Za-z]):([^\]]*)\]")
_ASIDE = re.compile(r'"[^"]*"|![^!|\s]*!|\+[a-z]+\+')
_ORNAMENTS = re.compile(r"[~HLMOPSTuv](?=[\^_=\[{(~HLMOPSTuv.]*[A-Ga-gzx\[])|[yJR](?=\d*)|\\\s*$|`|\$|\*")
_CLEF = re.compile(r"(?:clef=)?[\"']?\b(treble|bass|alto|tenor)\b", re.IGNORECASE)
_NAME = re.compile(r"\b(?:name|nm)=(?:\"([^\"]*)\"|(\S+))")
_KEY = re.compile(r"^(HP|Hp|none|[A-G][#b]?)\s*((?:maj|min|mix|dor|phr|lyd|loc|aeo|ion|m)[a-z]*)?", re.IGNORECASE)
_ABC_TOKEN = re.compile(r"\[(?=[\^_=A-Ga-g])|\]|[\^_=]*[A-Ga-g][,']*|-")
_RESTS = re.compile(r"([ZX])(\d*)")
LONGEST = 4
"""Digits of a note's length: beyond them no music is meant, and the converter would write bars for hours."""


class _Voices:
    """The lines of each voice, gathered; what is said of each; and what the tune's own key (K:) says."""

    def __init__(self) -> None:
        self.lines: dict[str, list[str]] = {}
        self.said: dict[str, str] = {}
        self.key = ""
        self.current = ""

    def turn_to(self, words: str) -> None:
        """Go on with the voice that a ``V:`` field names."""
        name, _, rest = words.strip().partition(" ")
        self.current = name
        self.lines.setdefault(name, [])
        self.said[name] = f"{self.said.get(name, '')} {rest}".strip()

    def add(self, line: str) -> None:
        """Give a line to the voice at hand."""
        self.lines.setdefault(self.current, []).append(line)


def first_tune(text: str) -> Source:
    """Return the first tune of an ABC file, ready for the converter. Raises ``ScoreError`` for what it could only misread."""
    pieces = re.split(r"^(?=X:)", text.replace("\r\n", "\n").replace("\r", "\n"), flags=re.MULTILINE)
    head, tunes = pieces[0], [piece for piece in pieces[1:] if re.search(r"^K:", piece, re.MULTILINE)]
    if not tunes:
        raise ScoreError("no tune with a key (K:) in this ABC file")
    header, voices = _sorted_out(head, tunes[0])
    used = {name: lines for name, lines in voices.lines.items() if any(not _FIELD.match(line) for line in lines)}
    if not used:
        raise ScoreError("no music below the key (K:) of this ABC tune")
    music = [line for lines in used.values() for line in lines if not _FIELD.match(line)]
    _refuse_what_is_misread(music)
    body = [line for name, lines in used.items() for line in ([f"V:{name}"] if len(used) > 1 else []) + lines]
    places = {name: place for place, name in enumerate(used)}
    said = {name: voices.said.get(name, "") for name in used}
    more = f"{len(tunes)} tunes in it, only the first is taken: put the others into files of their own"
    return Source(
        ("\n".join([*header, *body]) + "\n").encode(),
        struck_in_abc(music),
        [[places[name] for name in staff if name in places] for staff in _staves(tunes[0])],
        [_clef(f"{words} {voices.key}") for words in said.values()],
        [_name(words) for words in said.values()],
        (more,) if len(tunes) > 1 else (),
    )


def bare_music(line: str) -> str:
    """Return a line of music without what is said beside the notes.

    >>> bare_music('"Am"A2 !p!Tc>d % end')
    'A2 c>d '
    """
    return _ORNAMENTS.sub("", _ASIDE.sub("", line.partition("%")[0]))


def struck_in_abc(lines: Sequence[str]) -> int:
    """Return the notes struck in the lines of music of a tune.

    >>> struck_in_abc(["C-C [CEG]-[CEG] |", "(3^fga {g}a2 |]"])
    9
    """
    count, inside, size = 0, False, 0
    for match in _ABC_TOKEN.finditer(" ".join(bare_music(line) for line in lines)):
        token = match.group()
        if token == "[":
            inside, size = True, 0
        elif token == "]":
            inside = False
        elif token == "-":
            count -= 1 if inside else size
        else:
            count, size = count + 1, size + 1 if inside else 1
    return count


def _sorted_out(head: str, tune: str) -> tuple[list[str], _Voices]:
    """Return the header lines and the voices."""
    voices, header = _Voices(), list[str]()
    in_header, unit, meter = True, "", ""
    of_the_file = [line for line in head.split("\n") if line[:2] in ("C:", "L:", "M:", "Q:")]
    for line in [*of_the_file, *_lines(tune)]:
        field = _FIELD.match(line)
        kind, words = (field.group(1), field.group(2).strip()) if field else ("", "")
        if kind == "V":
            voices.turn_to(words)
        elif in_header and field:
            in_header = kind != "K"
            unit, meter = (words if kind == "L" else unit), (words if kind == "M" else meter)
            if kind == "K":
                voices.key = words
                voices.current = next(iter(voices.lines), "")
            if kind in "XTCLMQK":
                header.append(f"{kind}:{_key(words) if kind == 'K' else words}")
        elif kind in "KLMQ" and field:
            voices.add(f"{kind}:{_key(words) if kind == 'K' else words}")
        elif not field and not in_header and (music := bare_music(line).strip()):
            voices.add(_with_rests(music, _bar_length(meter, unit)))
    return header, voices


def _lines(tune: str) -> Iterator[str]:
    """Yield the lines of a tune without remarks; a field inside a line of music is a line of its own."""
    for line in tune.split("\n"):
        line, _, _ = line.partition("%")
        yield from [line.rstrip()] if _FIELD.match(line) else _INLINE.sub(r"\n\1:\2\n", line).split("\n")


def _with_rests(music: str, bar: str) -> str:
    """Return a line of music, its rests of whole bars written bar by bar, those unseen as any other."""
    return _RESTS.sub(lambda rest: " | ".join([f"z{bar}"] * min(int(rest[2] or 1), 999)), music).replace("x", "z")


def _bar_length(meter: str, unit: str) -> str:
    """Return how many units a bar lasts, as the length of a rest.

    >>> _bar_length("6/8", "1/8"), _bar_length("C", ""), _bar_length("3/4", "1/16")
    ('6', '8', '12')
    """
    meter = {"C": "4/4", "C|": "2/2"}.get(meter, meter)
    try:
        whole = Fraction(meter) if re.fullmatch(r"\d+/\d+", meter) else Fraction(1)
        step = Fraction(unit) if unit else Fraction(1, 16 if whole < Fraction(3, 4) else 8)
        return str(whole / step)
    except (ValueError, ZeroDivisionError):
        return "8"


def _staves(tune: str) -> list[list[str]]:
    """Return the voices of each staff in the first pair of braces.

    >>> _staves("%%score 5 {(1 2) 3}")
    [['1', '2'], ['3']]
    """
    brace = re.search(r"^%%(?:score|staves)[^{\n]*\{([^}\n]*)\}", tune, re.MULTILINE)
    found = re.findall(r"\(([^)]*)\)|([^\s|()\[\]]+)", brace.group(1)) if brace else []
    return [group.split() if group else [single] for group, single in found]


def _key(words: str) -> str:
    """Return a key without what else a ``K:`` field may say (a clef, a transposition)."""
    match = _KEY.match(words)
    return " ".join(part for part in match.groups() if part) if match else "C"


def _clef(words: str) -> str | None:
    """Return the clef that a voice's words name."""
    match = _CLEF.search(_NAME.sub("", words))
    return CLEFS[match.group(1).lower()] if match else None


def _name(words: str) -> str:
    """Return the name that a voice's words give it."""
    match = _NAME.search(words)
    return (match.group(1) or match.group(2) or "") if match else ""


def _refuse_what_is_misread(music: list[str]) -> None:
    """Refuse music that the converter takes for other music."""
    text = " ".join(music)
    if "&" in text:
        raise ScoreError("two voices on one line (&) in this ABC tune: give each a V: of its own")
    if re.search(rf"\d{{{LONGEST + 1},}}", text) or re.search(r"/{9,}", text):
        raise ScoreError("a note of impossible length in this ABC tune")
