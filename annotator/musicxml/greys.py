"""The colours of grey notes, covered notes, and courtesy signs.

Conventions
-----------
* Note, notehead, accidental and dots take the grey; stem and beams only if all notes of the chord are grey.
* A colour that the user gave stays, but for black, which many programs write on everything. What is changed is recorded in the note.
* A covered note's head is ``none``. That is what the format has for it; heads of the source's own, and the accidental, turn white instead,
  for they can be changed back, and not be taken out. Stem, flag and beam stay, in grey. A note that says it has no stem keeps its head.
* A courtesy sign is a plain ``<accidental>``: what it stands for is not on the page, so it is no reminder in parentheses.

Rule
----
Programs differ. Verovio 6 leaves a head of ``none`` out and keeps the stem; of a note with ``print-object="no"`` it drops stem and beams,
too. MuseScore 3.2 has that the other way round, and takes a head's colour. So a white head of ``none`` is what covers in both. Ledger lines
stay in both, whatever ``print-leger`` says; a white accidental is unseen in Verovio, and MuseScore draws accidentals from the pitch
whatever is said of them. On the pages all of it is gone.

Source: MusicXML 4.0 (W3C), ``notehead-value`` and the order of a note's elements; nothing there says that a note's colour reaches its stem
or beams, so each gets its own. What programs do was measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from annotator.musicxml.places import Places
from annotator.musicxml.record import BLACK, added, coloured_parts, grey_record, insert_after, insert_before, insert_first

WHITE = "#FFFFFF"
SIGNS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

_OF_THE_CHORD = frozenset({"stem", "beam"})
_AFTER_HEAD = ("notehead-text", "staff", "beam", "notations", "lyric", "play", "listen")
_AFTER_SIGN = ("time-modification", "stem", "notehead", *_AFTER_HEAD)


def write_greys(places: Places, numbers: Iterable[int], grey: str) -> None:
    """Colour the notes with these numbers; ``grey`` is ``#RRGGBB`` or ``#AARRGGBB`` in upper case."""
    chosen = frozenset(numbers)
    dark_chords = {lead for number, lead in enumerate(places.leads, 1) if number not in chosen}
    for number in sorted(chosen):
        _write_grey(places.element(number), grey, places.leads[number - 1] in dark_chords)


def write_covers(places: Places, covered: Iterable[int], signs: Mapping[int, int]) -> None:
    """Cover the notes with these numbers, and give others their courtesy signs; ``signs`` has the alteration of each by its number."""
    for number in sorted(covered):
        note = places.element(number)
        if note.findtext("stem") != "none":
            _cover(note)
    for number, alter in sorted(signs.items()):
        if alter in SIGNS:
            _put_in(places.element(number), "accidental", SIGNS[alter], _AFTER_SIGN)


def _write_grey(note: Any, grey: str, in_dark_chord: bool) -> None:
    """Colour one note and record the colours it had."""
    before: dict[str, str] = {}
    for name, part in coloured_parts(note):
        was = part.get("color")
        if was == grey:
            before[name] = was  # the user's own, which happens to be ours: it must not go with ours
        elif not (in_dark_chord and part.tag in _OF_THE_CHORD) and (was is None or was.upper() in BLACK):
            before |= {} if was is None else {name: was}
            part.set("color", grey)
    insert_first(note, grey_record(grey, before))


def _cover(note: Any) -> None:
    """Whiten the accidental and the head of a note; one that has no head of its own gets one that is none."""
    before: dict[str, str] = {}
    for name, part in coloured_parts(note):
        if part.tag in ("notehead", "accidental"):
            was = part.get("color")
            before |= {} if was is None else {name: was}
            part.set("color", WHITE)
    if note.find("notehead") is None:
        _put_in(note, "notehead", "none", _AFTER_HEAD).set("color", WHITE)
    insert_first(note, grey_record(WHITE, before))


def _put_in(note: Any, tag: str, text: str, later: tuple[str, ...]) -> Any:
    """Put an element of ours into a note, in front of those that come later."""
    made = added(tag, text)
    behind = next(note.iterchildren(*later), None)
    if behind is not None:
        insert_before(behind, made)
    else:
        insert_after(note[-1], made)
    return made
