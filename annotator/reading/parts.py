"""The parts of a score: their measures, what the part list says of them, which are a piano; and what the score is called.

Conventions
-----------
* Partwise or timewise: only this module knows. Note numbers count every ``<note>`` of the user's own tree in document order, from 1,
  rests included.
* A keyboard part has two staves or more, or a name or an instrument that is a keyboard, or is the only part of the score.
* Of two staves the left hand plays the lower one. Of three or more, the lowest ones that begin in the bass clef (else the lowest). A
  single staff is the left hand's where its name says so, else where it begins in the bass clef.
* Two neighbouring parts of one staff each are one piano where they are the score's only parts and nothing says that another instrument
  plays one of them, or where both are named as the same keyboard.
* Title: the work's title, else the movement's, else the credit of type title, else the largest words on the first page. Composer: the
  creator of type composer, else the credit of type composer. Empty where the score says nothing.

Source: MusicXML 4.0, elements ``work``, ``movement-title``, ``identification``, ``credit``, and its "Standard sounds", whose family is
``keyboard.``; the numbers of pianos (1-8), the celesta (9) and organs (17-21) are those of General MIDI, from memory. Names of instruments
in six languages: common practice, no source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from itertools import pairwise
from typing import Any, NamedTuple

from lxml import etree

from annotator.errors import ScoreError
from annotator.reading.beside import PITCHLESS_CLEFS
from annotator.reading.document import LIMITS, Document
from annotator.reading.notes import decimal

KEYBOARD = (
    r"\b(e-?)?(pian|fortepian|pno\b|klavier|clavier|clavicembal|clavichord|clavicord|clavecin|harpsichord|cembal|keyb|kbd\b|"
    r"organ\b|organs\b|orgel|orgue|organo|[oó]rgano|harmonium|celest|spinet|virginal|tastiera|teclado|clavinet|hammerklavier)"
)
OTHERS = (
    r"\b(violin|viol[aeo]|violas|violon|viool|vln\b|vla\b|vlc\b|cell[io]|celos?\b|[ck]ontrab|contreb|"
    r"(double|string|electric) bass|bass[- ]?guit|"
    r"basse? [ée]lec|gamb|streich|strings|archi\b|cordes|flute|\w*fl[öû]te|flaut|piccolo|recorder|block|traverso|obo[ei]|hautb|cor anglais|"
    r"english horn|englisch|[ck]larin|bassoon|fagot|basson|sax|trump|tromp|tromb|[ck]ornet|flugel|flügel?h|horns?\b|hörner|"
    r"corn[io]\b|cors?\b|posaun|tuba|euph|bar[iy]ton|timp|pauk|drum|percu|perkus|schlag|batt?er|marimb|vibra|xylo|glock|campan|harp\b|harps\b|"
    r"harfe|arpa|harpe|guit|gitar|chitar|lute|laut|liut|luth|mandol|banjo|ukul|zither|accord|akkord|fisarm|bandon|voice|voix|voc[ei]|voz|"
    r"stimm|gesang|cant[oa]\b|chant|vocal|singst|soprano?\b|mezzo|alt[oi]?\b|t[eé]nor|choir|chor\b|coro\b|ch(oe|œ)ur|bagpipe|whistle|ocarin)"
)
LEFT = r"\b(left|links?|linke|gauche|sinistra|izquierda|l\.? ?h|m\.? ?s|m\.? ?g|bass( (clef|staff))?|lower)\b"
RIGHT = r"\b(right|rechts?|rechte|droite|destra|derecha|r\.? ?h|m\.? ?d|treble|upper)\b"
KEYBOARD_PROGRAMS = frozenset((*range(1, 10), *range(17, 22)))


class Measure(NamedTuple):
    """One measure of one part: its printed ``number``, whether it is ``implicit``, and the element that holds its notes.

    ``content`` is empty where a timewise score leaves the part out of a measure.
    """

    number: str
    implicit: bool
    content: Any


class PartLayout(NamedTuple):
    """One part: its id and its measures in order."""

    id: str
    measures: tuple[Measure, ...]


def lay_out(document: Document) -> tuple[PartLayout, ...]:
    """Return the parts of a document, measure by measure, refusing a score beyond the limits."""
    root = document.tree.getroot()
    parts = _timewise(root) if document.timewise else _partwise(root)
    if not parts:
        raise ScoreError("no part: there is nothing to read")
    twice = [name for name, count in Counter(part.id for part in parts).items() if count > 1]
    if twice:
        raise ScoreError(f"two parts have the same id {twice[0]!r}, so that nobody can tell them apart: export the score again")
    bars = max(len(part.measures) for part in parts)
    for count, what, most in ((len(parts), "parts", LIMITS.parts), (bars, "bars", LIMITS.bars)):
        if count > most:
            raise ScoreError(f"{count} {what}, more than the limit of {most}")
    return parts


def _measure(frame: Any, content: Any, index: int) -> Measure:
    number = frame.get("number")
    return Measure(str(index + 1) if number is None else number, frame.get("implicit") == "yes", content)


def _partwise(root: Any) -> tuple[PartLayout, ...]:
    return tuple(
        PartLayout(part.get("id", ""), tuple(_measure(bar, bar, index) for index, bar in enumerate(part.iterchildren("measure"))))
        for part in root.iterchildren("part")
    )


def _timewise(root: Any) -> tuple[PartLayout, ...]:
    frames = [(frame, {part.get("id", ""): part for part in frame.iterchildren("part")}) for frame in root.iterchildren("measure")]
    return tuple(
        PartLayout(name, tuple(_measure(frame, parts.get(name, ()), index) for index, (frame, parts) in enumerate(frames)))
        for name in dict.fromkeys(name for _, parts in frames for name in parts)
    )


def as_partwise(root: Any) -> Any:
    """Return a timewise score as a partwise one; its measures and notes are moved."""
    made = etree.Element("score-partwise", root.attrib)
    parts: dict[str, Any] = {}
    for child in list(root):
        if child.tag != "measure":
            made.append(child)
            continue
        for piece in child.iterchildren("part"):
            part = parts.setdefault(piece.get("id", ""), etree.Element("part", {"id": piece.get("id", "")}))
            measure = etree.SubElement(part, "measure", child.attrib)
            measure.extend(list(piece))
    made.extend(parts.values())
    return made


class PartHeader(NamedTuple):
    """A part as the part list gives it: printed name, and whether name or instrument is a keyboard's.

    ``hand`` is ``right`` or ``left`` where the name says so, else empty; it counts for one staff only. ``instrument`` is the beginning of
    the word that names the keyboard, ``other`` says that name, sound or program is another instrument's.
    """

    name: str = ""
    keyboard: bool = False
    hand: str = ""
    instrument: str = ""
    other: bool = False


def clean(text: str | None) -> str:
    """Return a text in one line, single blanks."""
    return " ".join((text or "").split())


def part_headers(root: Any) -> dict[str, PartHeader]:
    """Return what the part list says, by part id."""
    headers: dict[str, PartHeader] = {}
    groups: dict[str, str] = {}  # by number: the keyboard that the name of an open group names
    for element in root.iterfind("part-list/*"):
        number = element.get("number", "1")
        if element.tag == "score-part":
            header = _header(element)
            for named in filter(None, reversed(groups.values())):
                header = header._replace(keyboard=True, instrument=header.instrument or named)
            headers.setdefault(element.get("id", ""), header)
        elif element.tag == "part-group" and element.get("type") == "start":
            groups[number] = _keyboard_word([clean(element.findtext("group-name"))])
        elif element.tag == "part-group":
            groups.pop(number, None)
    return headers


def _header(element: Any) -> PartHeader:
    name = clean(element.findtext("part-name"))
    texts = [name, clean(element.findtext("part-abbreviation"))]
    texts += [clean(child.text) for child in element.iterfind("score-instrument/instrument-name")]
    sounds = [clean(child.text) for child in element.iterfind("score-instrument/instrument-sound")]
    programs = {clean(child.text) for child in element.iterfind("midi-instrument/midi-program")}
    word = _keyboard_word(texts)
    keyboard = bool(word) or any(sound.startswith("keyboard.") for sound in sounds)
    strange = bool(sounds) or not programs <= {str(number) for number in KEYBOARD_PROGRAMS}
    named_so = not _says(KEYBOARD, name) and _says(OTHERS, name)  # whatever sound the program that wrote it has set
    other = named_so or (not keyboard and (strange or any(_says(OTHERS, text) for text in texts)))
    return PartHeader(name, keyboard, "left" if _says(LEFT, name) else "right" if _says(RIGHT, name) else "", word, other)


def _says(words: str, text: str) -> bool:
    return re.search(words, text, re.IGNORECASE) is not None


def _keyboard_word(texts: list[str]) -> str:
    """Return what the first keyboard that is named in some texts begins with, in small letters; empty where none is."""
    return next((found.group().lower() for text in texts if (found := re.search(KEYBOARD, text, re.IGNORECASE))), "")


def piano_pairs(root: Any, headers: Mapping[str, PartHeader]) -> dict[str, str]:
    """Return the neighbouring parts of one staff each that are one piano: the id of the lower by that of the upper."""
    single = _single_staves(root)
    names = list(single)
    pairs: dict[str, str] = {}
    for upper, lower in pairwise(names):
        above, below = headers.get(upper, PartHeader()), headers.get(lower, PartHeader())
        alone = len(names) == 2
        same = above.keyboard and below.keyboard and (above.instrument == below.instrument or not (above.instrument and below.instrument))
        fits = single[upper] and single[lower] and not (above.other or below.other)
        if fits and (alone or same) and upper not in pairs.values():
            pairs[upper] = lower
    return pairs


def _single_staves(root: Any) -> dict[str, bool]:
    """Return of each part, by id in order, whether it has one staff only, on which pitches stand."""
    single: dict[str, bool] = {}
    for part in root.xpath("part|measure/part"):
        name = part.get("id", "")
        staves = all((child.text or "").strip() in ("", "0", "1") for child in part.iter("staff", "staves"))
        pitched = next((clean(clef.text) for clef in part.iter("sign")), "") not in PITCHLESS_CLEFS
        single[name] = single.get(name, True) and staves and pitched
    return single


def left_staves(hand: str, staves: int, first_clefs: Mapping[int, str]) -> frozenset[int]:
    """Return the staves that the left hand plays. ``hand`` is that of a header.

    >>> sorted(left_staves("", 3, {1: "G", 2: "F", 3: "F"})), sorted(left_staves("left", 1, {1: "G"}))
    ([2, 3], [1])
    """
    if staves == 1:
        left = hand == "left" if hand else first_clefs.get(1) == "F"
        return frozenset({1} if left else ())
    if staves == 2:
        return frozenset({2})
    lowest = staves
    while lowest > 2 and first_clefs.get(lowest) == "F" and first_clefs.get(lowest - 1) == "F":
        lowest -= 1
    return frozenset(range(lowest, staves + 1))


def title_of(root: Any) -> str:
    """Return the title of a score, or the empty text."""
    named = clean(root.findtext("work/work-title")) or clean(root.findtext("movement-title"))
    return named or _credit(root, "title") or _largest_credit(root)


def composer_of(root: Any) -> str:
    """Return the composer named in a score, or the empty text."""
    named = (clean(creator.text) for creator in root.iterfind("identification/creator") if creator.get("type") == "composer")
    return next(filter(None, named), "") or _credit(root, "composer")


def _credit(root: Any, kind: str) -> str:
    """Return the words of the first credit of a type that has any."""
    credits = (each for each in root.iterchildren("credit") if any(clean(child.text) == kind for child in each.iterchildren("credit-type")))
    words = (clean(" ".join(words.text or "" for words in each.iterchildren("credit-words"))) for each in credits)
    return next(filter(None, words), "")


def _largest_credit(root: Any) -> str:
    """Return the first page's words of largest type, if any gives its size."""
    free = (each for each in root.iterchildren("credit") if each.get("page", "1") == "1" and each.find("credit-type") is None)
    sizes = [(decimal(words.get("font-size")) or 0, clean(words.text)) for each in free for words in each.iterchildren("credit-words")]
    return max((each for each in sizes if each[0] > 0 and each[1]), key=lambda each: each[0], default=(0, ""))[1]
