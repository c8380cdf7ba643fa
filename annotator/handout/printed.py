"""What is printed beside the notes: tempo words, repeats and endings, jumps, clefs and ottava lines.

Conventions
-----------
* One part is walked through in time; a place is the index of its bar and quarter notes from the bar's start.
* What stands there counts, not what a player program is told: a jump needs its words, a tempo its words or its metronome mark.

Source: MusicXML 4.0, elements ``direction``, ``metronome``, ``barline``, ``repeat``, ``ending``, ``sound``, ``clef``, ``octave-shift``
(type ``down``: what is written is to be played higher, that is 8va).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from annotator.excerpts.moments import Clock, Moment, staff_of
from annotator.handout.facts import Clef, Road, Tempo
from annotator.reading.document import Document
from annotator.reading.layout import lay_out
from annotator.reading.limits import LIMITS
from annotator.score import Bar, Note, Part

_READ = frozenset({"attributes", "direction", "barline"})
_JUMP = re.compile(r"\b(d\. ?[cs]\.|dc|ds|da capo|dal segno)(?![a-z])", re.IGNORECASE)
_FINE = re.compile(r"fine\.?", re.IGNORECASE)
_BEATS: dict[str, int | Fraction] = {"whole": 4, "half": 2, "quarter": 1, "eighth": Fraction(1, 2), "16th": Fraction(1, 4)}
_HOME = {"G": Clef("G", 2), "F": Clef("F", 4), "C": Clef("C", 3)}


def walk(document: Document, part: Part) -> tuple[Moment, ...]:
    """Return everything that stands in the bars of a part, in document order, each with its place in time."""
    layout = next((each for each in lay_out(document, LIMITS) if each.id == part.id), None)
    clock = Clock()
    measures = enumerate(layout.measures if layout else ())
    return tuple(
        moment
        for index, measure in measures
        if measure.content is not None
        for moment in clock.bar(index, measure.content)
        if moment.tag in _READ
    )


def tempos(placed: Sequence[Moment], bars: Sequence[Bar]) -> tuple[Tempo, ...]:
    """Return tempo words and metronome marks: what a tempo goes with, and what stands over the very first note."""
    found: list[Tempo] = []
    speed: tuple[Fraction | None, str] = (None, "")
    for each in placed:
        if each.tag != "direction":
            continue
        words = _words(each.element)
        told = each.element.find("sound[@tempo]") is not None
        first = each.bar == 0 and each.at == 0 and each.element.get("placement") == "above" and staff_of(each.element) == "1"
        mark = _metronome(each.element.find("direction-type/metronome"))
        again = mark[0] is None or mark == speed
        if not again or (words and (told or first) and not _JUMP.search(words)):
            found.append(Tempo(words, bars[each.bar].number, *((None, "") if again else mark)))
        speed = speed if mark[0] is None else mark
    return tuple(dict.fromkeys(found))


def _metronome(mark: Any) -> tuple[Fraction | None, str]:
    if mark is None or mark.get("print-object") == "no":
        return None, ""
    per_minute = " ".join((mark.findtext("per-minute") or "").split())
    beat = _BEATS.get((mark.findtext("beat-unit") or "").strip())
    if beat is None or not per_minute:
        return None, ""
    return beat * (Fraction(3, 2) if mark.find("beat-unit-dot") is not None else Fraction(1)), per_minute


def _words(direction: Any) -> str:
    return " ".join(" ".join(each.text or "" for each in direction.iterfind("direction-type/words")).split())


def roads(placed: Sequence[Moment], bars: Sequence[Bar]) -> tuple[Road, ...]:
    """Return repeats, endings and jumps in the order in which they are met."""
    reader = _Roads(bars)
    for each in placed:
        if each.tag == "barline":
            reader.barline(each)
        elif each.tag == "direction":
            for sign, words in _signs(each.element):
                reader.add(sign, each.bar, each.bar, words)
    reader.close_ending()
    return tuple(road for *_, road in sorted(reader.found, key=lambda entry: entry[:3]))


class _Roads:
    """Repeats and endings while they are read. ``start`` is the bar that a repeat goes back to, ``ending`` the one still open."""

    def __init__(self, bars: Sequence[Bar]) -> None:
        self.found: list[tuple[int, bool, int, Road]] = []
        self._bars, self._start = bars, 0
        self._ending: tuple[int, str] | None = None

    def add(self, sign: str, first: int, last: int, words: str = "", times: int = 2) -> None:
        """Add a sign with the bars it stands over."""
        span = self._bars[first].number, self._bars[last].number
        self.found.append((first, sign != "again", len(self.found), Road(sign, span, words, times)))

    def close_ending(self, last: int | None = None) -> None:
        """End the ending that is open, in the bar it began in if none is given."""
        if self._ending is not None:
            first, number = self._ending
            self.add("ending", first, first if last is None else last, number)
        self._ending = None

    def barline(self, here: Moment) -> None:
        """Take in what a bar line says."""
        repeat, ending = here.element.find("repeat"), here.element.find("ending")
        if ending is not None and ending.get("type") == "start":
            self.close_ending()
            self._ending = here.bar, (ending.get("number") or "").strip()
        elif ending is not None:
            self.close_ending(here.bar)
        if repeat is not None and repeat.get("direction") == "forward":
            self._start = here.bar
        elif repeat is not None:
            self.add("again", min(self._start, here.bar), here.bar, "", max(2, _whole(repeat.get("times"))))
            self._start = here.bar + 1
        elif ending is not None and ending.get("type") != "start":
            self._start = here.bar + 1


def _signs(direction: Any) -> Iterator[tuple[str, str]]:
    words = _words(direction)
    if _JUMP.search(words):
        yield "jump", words
    elif _FINE.fullmatch(words):
        yield "fine", words
    for sign in ("segno", "coda"):
        if direction.find(f"direction-type/{sign}") is not None:
            yield sign, ""


def clef_at(placed: Sequence[Moment], note: Note, bars: Sequence[Bar], default: Clef) -> Clef:
    """Return the clef that a note stands in."""
    here = (note.bar, note.onset - bars[note.bar].onset)
    clef = default
    for each in placed:
        if each.tag == "attributes" and (each.bar, each.at) <= here:
            for element in each.element.iterfind("clef"):
                if (_whole(element.get("number")) or 1) == note.staff:
                    clef = _clef(element) or clef
    return clef


def _clef(element: Any) -> Clef | None:
    home = _HOME.get((element.findtext("sign") or "").strip())
    if home is None:
        return None
    line = _whole(element.findtext("line")) or home.line
    return Clef(home.sign, line, _signed(element.findtext("clef-octave-change")))


def ottava_at(placed: Sequence[Moment], note: Note, bars: Sequence[Bar]) -> int:
    """Return by how many octaves a note sounds higher than it is written, because of an ottava line over it (negative: lower)."""
    here = (note.bar, note.onset - bars[note.bar].onset)
    shift = 0
    for each in placed:
        line = each.element.find("direction-type/octave-shift") if each.tag == "direction" else None
        if line is None or staff_of(each.element) != str(note.staff):
            continue
        kind = line.get("type")
        octaves = {15: 2, 22: 3}.get(_whole(line.get("size")), 1)
        if kind in ("up", "down") and (each.bar, each.at) <= here:
            shift = octaves if kind == "down" else -octaves
        elif kind == "stop" and (each.bar, each.at) <= here:
            shift = 0
    return shift


def _whole(text: str | None) -> int:
    """Return a whole number that stands in a text, 0 where none does."""
    text = (text or "").strip()
    return int(text) if text.isdecimal() and len(text) < 10 else 0


def _signed(text: str | None) -> int:
    text = (text or "").strip()
    return -_whole(text[1:]) if text.startswith("-") else _whole(text)
