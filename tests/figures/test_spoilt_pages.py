"""Pages that are not as they should be: every inverse spells out other notes or says that it cannot, and never fails in any other way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress

import pytest
from figures.lines_from_text import line_of, texture_of

from annotator.figures.copy_rows import rows_of
from annotator.figures.copy_search import find_copies
from annotator.figures.figure import CannotSpellOut, Covered, Figure
from annotator.figures.law import cover_up, written
from annotator.figures.registry import KINDS, KINDS_BY_NAME
from annotator.music.chords import Chord
from annotator.music.names import Scale
from annotator.music.score import Bar

RIGHT_HAND = {
    "scale-run": "C4 D4 E4 F4 G4 A4 B4 A4 G4 F4",
    "chromatic-run": "C4 C#4 D4 D#4 E4 F4 F#4",
    "arpeggio": "C4 E4 G4 C5 E5 C5 G4",
    "parallel-thirds": "C4/E4 D4/F4 E4/G4 F4/A4 G4/B4 A4/C5",
    "parallel-octaves": "C4/C5 E4/E5 D4/D5 F4/F5",
    "broken-thirds": "C4 E4 D4 F4 E4 G4 F4 A4 G4 B4",
    "broken-octaves": "C4 C5 E4 E5 G4 G5 C5 C6",
    "turn": "D4 C4 B3 C4*2 r E4 D4 C4 D4*2",
    "mordent": "E4 D4 E4 D4 C4 D4",
    "trill": "C4 D4 C4 D4 C4 D4 C4",
    "tremolo": "C4 G4 C4 G4 C4 G4 C4",
    "repeated-notes": "C4 C4 C4 C4 C4",
    "repeated-group": "C4 E4 D4 G4 C4 E4 D4 G4",
    "octave-copy": "C4 E4 D4 G4 C5 E5 D5 G5 C6 E6 D6 G6",
    "sequence": "C4 E4 D4 G4 D4 F4 E4 A4 E4 G4 F4 B4 F4 A4 G4 C5",
    "retrograde": "C4 G3 E4 B4 F4 D5 F4 B4 E4 G3 C4 D3",
}
LEFT_HAND = {
    "alberti-bass": "C3 G3 E3 G3 B2 G3 D3 G3 C3 G3 E3 A3",
    "broken-chord": "C3 E4 G3 E4 B2 D4 G3 D4 C3 E4 G3 E4",
    "bass-and-chord": "C3 E4/G4 E4/G4 B2 F4/G4 F4/G4 C3 E4/G4 E4/G4",
    "block-chord": "E3/G3/C4",
}
BOTH_HANDS = {
    "hands-in-octaves": ("C5 E5 D5 F5 G5", "C4 E4 D4 F4 G4"),
    "hands-in-sixths": ("C5 E5 D5 F5 G5", "E4 G4 F4 A4 B4"),
    "contrary-motion": ("C5 D5 E5 F5 G5 A5", "C4 B3 A3 G3 F3 E3"),
}


def found(kind: str) -> tuple[list[Figure], tuple[Bar, ...]]:
    """Return what is found of a kind in its notes, and the bars these stand in."""
    entry = KINDS_BY_NAME[kind]
    figures: Iterable[Figure] = ()
    if entry.repeat:
        texture = texture_of(RIGHT_HAND[kind])
        figures, bars = find_copies(texture, (kind,), rows_of(texture)), texture.bars
    elif kind in BOTH_HANDS:
        texture = texture_of(*BOTH_HANDS[kind])
        figures, bars = entry.detect_part(texture) if entry.detect_part else (), texture.bars
    else:
        line = line_of(RIGHT_HAND[kind]) if kind in RIGHT_HAND else line_of(LEFT_HAND[kind], "left")
        figures, bars = entry.detect(line) if entry.detect else (), line.bars
    return [figure for figure in figures if figure.kind == kind], bars


def spoilt(page: Covered) -> Iterator[Covered]:
    """Yield the page without one of its dark notes, its last or first moment, or what its label says; and with other words."""
    for place, slot in enumerate(page.slots):
        hidden = slot._replace(known=(None,) * len(slot.known))
        yield page._replace(slots=(*page.slots[:place], hidden, *page.slots[place + 1 :]))
    if len(page.slots) > 1:
        yield page._replace(slots=page.slots[:-1])
        yield page._replace(slots=page.slots[1:])
    yield page._replace(chord=None, changes=())
    yield page._replace(scale=None)
    yield page._replace(model=())
    for name in ("group", "interval", "form", "direction", "steps", "times"):
        yield page._replace(**{name: None})
    for chord in (Chord("F#", "major", 0, "F#"), Chord("G", "dominant-seventh", 1, "B")):
        yield page._replace(chord=chord, changes=tuple((moment, chord) for moment, _ in page.changes))
    for scale in (Scale("F#", "harmonic minor"), Scale("C", "whole-tone"), Scale(None, "chromatic")):
        yield page._replace(scale=scale)


@pytest.mark.parametrize("kind", [*RIGHT_HAND, *LEFT_HAND, *BOTH_HANDS])
def test_a_spoilt_page_gives_other_notes_or_the_inverse_says_that_it_cannot(kind: str) -> None:
    figures, bars = found(kind)
    assert figures
    for figure in figures:
        page = cover_up(figure, bars)
        assert KINDS_BY_NAME[kind].spell_out(page) == written(figure)
        for other in spoilt(page):
            with suppress(CannotSpellOut):
                KINDS_BY_NAME[kind].spell_out(other)


def test_every_family_is_among_them() -> None:
    assert {KINDS_BY_NAME[kind].family for kind in (*RIGHT_HAND, *LEFT_HAND, *BOTH_HANDS)} == {kind.family for kind in KINDS}
