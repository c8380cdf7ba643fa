"""The marks a page gets, as plain data: what both the MusicXML writer and the engraver draw.

Nothing here knows how a mark is written or drawn, and neither writer nor engraver knows how a figure was found.
"""

from __future__ import annotations

from dataclasses import dataclass

from annotator.score import Note


@dataclass(frozen=True, slots=True)
class Mark:
    """One figure to be drawn: a bracket with its label.

    ``id`` is the figure's id in the report (``f1``), ``kind`` and ``family`` its vocabulary names, ``staff`` and ``side`` (``above`` or
    ``below``) where it stands, ``first`` and ``last`` the struck notes it spans (in time), ``notes`` all its notes in time order, tied-on
    notes included. ``labels`` are the long, medium and short wording; ``changes`` the chord names that stand at later notes of an
    accompaniment, as (note, text).
    """

    id: str
    kind: str
    family: str
    part: str
    staff: int
    side: str
    voice: str
    first: Note
    last: Note
    notes: tuple[Note, ...]
    labels: tuple[str, str, str]
    changes: tuple[tuple[Note, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Markings:
    """All marks of a score, and the ``number`` of every note to be greyed (tied-on notes included) and of every anchor."""

    marks: tuple[Mark, ...]
    grey: frozenset[int]
    anchors: frozenset[int]
