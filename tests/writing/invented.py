"""Invented marks over any score, and small scores written by hand: what the tests of writing need and no detector is asked for."""

from __future__ import annotations

import random
from collections.abc import Callable

from lxml import etree

from annotator.marks.marking import Mark, Markings
from annotator.marks.style import Style
from annotator.music.score import Note, Part, Score
from annotator.musicxml.marks import write_marks
from annotator.reading import Document, read_document

STYLE = Style(grey="#9A9A9A", label_colour="#203040", bracket_colour="#405060")
LABELS = ("C major arpeggio, 1st inversion, E→C♯", "C arp., 1st inv., E→C♯", "C/E")


def mark_over(part: Part, notes: list[Note], name: str, side: str = "above", changes: bool = False) -> Mark:
    """Return a mark over some notes in time order."""
    first, last = notes[0], notes[-1]
    named = tuple((note, "G7/B♭") for note in notes[2::3]) if changes else ()
    return Mark(
        name, "arpeggio", "arpeggios", part.id, first.staff, side, first, last, tuple(notes), LABELS, named
    )


def invented(score: Score, seed: int) -> Markings:
    """Return marks over random stretches of each part's notes, of one staff or across staves, and a random half of all notes grey."""
    chance = random.Random(seed)
    marks: list[Mark] = []
    grey: set[int] = set()
    for part in score.parts:
        notes = sorted((note for note in part.notes if note.visible), key=lambda note: (note.tick, note.number))
        grey |= {note.number for note in part.notes if chance.random() < 0.5}
        place = 0
        while place < len(notes):
            stretch = notes[place : place + chance.randint(1, 12)]
            if chance.random() < 0.7:
                stretch = [note for note in stretch if note.staff == stretch[0].staff]
            side = "below" if stretch[0].staff > 1 else "above"
            marks.append(mark_over(part, stretch, f"f{len(marks) + 1}", side, chance.random() < 0.3))
            place += chance.randint(1, 14)
    return Markings(tuple(marks), frozenset(grey), frozenset())


def marked(document: Document, choose: Callable[[Score], Markings]) -> tuple[Document, Score, Markings, tuple[str, ...]]:
    """Return a document marked, what was read, the marks, and what could not be written."""
    score = read_document(document)
    markings = choose(score)
    copy, notices = write_marks(document, score, markings, STYLE)
    return copy, score, markings, notices


def canonical(document: Document) -> bytes:
    """Return the canonical XML of a document, comments and all."""
    return bytes(etree.tostring(document.tree, method="c14n", with_comments=True))


def note(step: str, *, voice: str = "1", staff: str = "1", chord: bool = False, extra: str = "") -> str:
    """Return a quarter note of octave 4, four divisions long, in a row of lines."""
    return (
        f"      <note>\n{'        <chord/>' + chr(10) if chord else ''}"
        f"        <pitch>\n          <step>{step}</step>\n          <octave>4</octave>\n        </pitch>\n"
        f"        <duration>4</duration>\n        <voice>{voice}</voice>\n        <type>quarter</type>\n"
        f"        {extra}<staff>{staff}</staff>\n      </note>\n"
    )


def score_of(*bars: str, head: str = "", version: str = ' version="3.1"', staves: int = 2) -> bytes:
    """Return a score of one part with these bars, indented by two blanks."""
    first = (
        f"      <attributes>\n        <divisions>4</divisions>\n        <staves>{staves}</staves>\n      </attributes>\n"
    )
    written = "".join(
        f'    <measure number="{number}">\n{first if number == 1 else ""}{bar}    </measure>\n'
        for number, bar in enumerate(bars, 1)
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise{version}>\n{head}  <part-list>\n'
        '    <score-part id="P1">\n      <part-name>Piano</part-name>\n    </score-part>\n  </part-list>\n'
        f'  <part id="P1">\n{written}  </part>\n</score-partwise>\n'
    ).encode()
