"""The colours of grey notes.

Conventions
-----------
* Note, notehead, accidental and dots take the grey; stem and beams only if all notes of the chord are grey.
* A colour that the user gave stays, but for black, which many programs write on everything. What is changed is recorded in the note.

Source: MusicXML 4.0 (W3C): nothing there says that a note's colour reaches its stem or beams, so each gets its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from annotator.musicxml.layout import insert_first
from annotator.musicxml.places import Places
from annotator.musicxml.record import BLACK, coloured_parts, grey_record

_OF_THE_CHORD = frozenset({"stem", "beam"})


def write_greys(places: Places, numbers: Iterable[int], grey: str) -> None:
    """Colour the notes with these numbers; ``grey`` is ``#RRGGBB`` or ``#AARRGGBB`` in upper case."""
    chosen = frozenset(numbers)
    dark_chords = {lead for number, lead in enumerate(places.leads, 1) if number not in chosen}
    for number in sorted(chosen):
        _write_grey(places.element(number), grey, places.leads[number - 1] in dark_chords)


def _write_grey(note: Any, grey: str, in_dark_chord: bool) -> None:
    """Colour one note and record the colours it had."""
    before: dict[str, str] = {}
    for name, part in coloured_parts(note):
        was = part.get("color")
        if was == grey:
            before[name] = was  # the user's own, which happens to be ours: it must not go with ours
        elif in_dark_chord and part.tag in _OF_THE_CHORD:
            continue
        elif was is None:
            part.set("color", grey)
        elif was.upper() in BLACK:
            before[name] = was
            part.set("color", grey)
    insert_first(note, grey_record(grey, before))
