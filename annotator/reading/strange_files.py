"""Files that are no score to read but are often taken for one, told by their first bytes: pages, pictures, other programs' own formats.

Source: PDF 1.7, PNG, JPEG, GIF, TIFF and RIFF for their first bytes; those of notation programs from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from annotator.errors import ScoreError

_BEGINNINGS = (
    (rb"%PDF", "a PDF"),
    (rb"\x89PNG|\xff\xd8\xff|GIF8|II\*\0|MM\0\*|BM.{4}\0\0\0\0|RIFF.{4}WEBP", "a picture"),
    (rb"RIFF.{4}WAVE|ID3|OggS|fLaC|\xff[\xfb\xf3\xf2]", "a recording"),
    (rb"\x0fSIBELIUS", "a Sibelius file"),
    (rb"ENIGMA BINARY FILE", "a Finale file"),
    (rb"SCO[WE0-9]", "an Encore file"),
    (rb"\x18FICHIER GUITAR PRO|.FICHIER GUITAR PRO", "a Guitar Pro file"),
    (rb"\[NoteWorthy ArtWare\]|!NoteWorthyComposer", "a NoteWorthy file"),
    (rb"\s*(?:%.*\n\s*)*\\version", "a LilyPond file"),
    (rb"\s*(?:<\?xml[^>]*>\s*)?<museScore", "a MuseScore file"),
    (rb"\s*(?:<!--.*?-->\s*)?<(?:!doctype\s+)?html", "a web page"),
    (rb"\{\\rtf|\xd0\xcf\x11\xe0", "a text document"),
)
_KINDS = [(re.compile(pattern, re.IGNORECASE | re.DOTALL), name) for pattern, name in _BEGINNINGS]
_ENTRIES = ((".mscx", "a MuseScore file"), ("word/document.xml", "a text document"), (".gpif", "a Guitar Pro file"))


def refuse_strange(data: bytes) -> None:
    """Raise a ``ScoreError`` that says what the bytes are, if it is known and no score."""
    for pattern, name in _KINDS:
        if pattern.match(data[:1024]):
            raise _refusal(name)


def refuse_strange_archive(names: Iterable[str]) -> None:
    """Do so for an archive with entries of these names."""
    for name in names:
        for end, kind in _ENTRIES:
            if name.lower().endswith(end):
                raise _refusal(kind)


def _refusal(name: str) -> ScoreError:
    return ScoreError(f"this is {name}: MusicXML is needed; export it from your notation program")
