"""A page of a chord figure that is spoilt spells out other notes, or says that it cannot: nothing else is raised."""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from figures.chord_figures import Detect, SpellOut
from figures.lines_from_text import line_of

from annotator.figures.alberti import detect_alberti_bass, spell_out_alberti_bass
from annotator.figures.arpeggios import detect_arpeggios, spell_out_arpeggio
from annotator.figures.bass_and_chord import detect_bass_and_chord, spell_out_bass_and_chord
from annotator.figures.block_chords import detect_block_chords, spell_out_block_chord
from annotator.figures.broken_chords import detect_broken_chords, spell_out_broken_chord
from annotator.figures.figure import CannotSpellOut, Covered
from annotator.figures.law import cover_up
from annotator.settings import Options
from annotator.theory.chords import Chord

FIGURES = [
    (detect_arpeggios, spell_out_arpeggio, "C4 E4 G4 C5 E5 C5 G4"),
    (detect_alberti_bass, spell_out_alberti_bass, "C3 G3 E3 G3 B2 G3 D3 G3 C3 G3 E3 A3"),
    (detect_broken_chords, spell_out_broken_chord, "C3 E4 G3 E4 B2 D4 G3 D4 C3 E4 G3 E4"),
    (detect_bass_and_chord, spell_out_bass_and_chord, "C3 E4/G4 E4/G4 B2 F4/G4 F4/G4 C3 E4/G4 E4/G4"),
    (detect_block_chords, spell_out_block_chord, "E3/G3/C4"),
]


def spoilt(page: Covered) -> Iterator[Covered]:
    """Yield the page without one of its dark notes, its last or first moment, its chords, its group; and with other chords."""
    for place, slot in enumerate(page.slots):
        hidden = replace(slot, known=(None,) * len(slot.known))
        yield replace(page, slots=(*page.slots[:place], hidden, *page.slots[place + 1 :]))
    if len(page.slots) > 1:
        yield replace(page, slots=page.slots[:-1])
        yield replace(page, slots=page.slots[1:])
    yield replace(page, chord=None, changes=())
    yield replace(page, group=None)
    for chord in (Chord("F#", "major", 0, "F#"), Chord("G", "dominant-seventh", 1, "B")):
        yield replace(page, chord=chord, changes=tuple((moment, chord) for moment, _ in page.changes))


@pytest.mark.parametrize(("detect", "spell_out", "notes"), FIGURES)
def test_a_spoilt_page_gives_other_notes_or_says_that_it_cannot(detect: Detect, spell_out: SpellOut, notes: str) -> None:
    line = line_of(notes, "left")
    (figure,) = detect(line, Options())
    page = cover_up(figure, line.bars)
    refused = 0
    for other in spoilt(page):
        try:
            spell_out(other)
        except CannotSpellOut:
            refused += 1
    assert refused > 0
