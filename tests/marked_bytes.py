"""The marked MusicXML of a score given as bytes, in a look that need be no style of the program."""

from __future__ import annotations

from annotator.marks.marking import markings
from annotator.marks.style import Style
from annotator.musicxml.files import serialise
from annotator.musicxml.marks import write_marks
from annotator.options.settings import Options
from annotator.products.marked_copies import found, unmarked


def mark_bytes(data: bytes, options: Options, style: Style) -> bytes:
    """Return the marked copy."""
    document, score = unmarked(data)
    report, _ = found(score, options, style)
    return serialise(write_marks(document, score, markings(report), style, options.language)[0])
