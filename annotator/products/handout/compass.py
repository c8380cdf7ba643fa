"""The lowest and highest note of each hand, drawn as small notes on staves of their own.

Conventions: a note stands on a staff with the clef that is in force where it is met, an ottava sign over or under it where the score has
one, with its ledger lines; under it stand its name and its bar. The accidental is always drawn, also one of the key signature.

Source: SMuFL 1.4 (W3C) for the characters; heights of the clefs' lines: MusicXML 4.0, ``clef``.
"""

from __future__ import annotations

from dataclasses import dataclass

from annotator.music.names import name_of
from annotator.music.score import ledger_lines
from annotator.pages import fonts
from annotator.products.handout.blocks import INDENT, draw_heading, heading_height
from annotator.products.handout.facts import Extreme
from annotator.products.handout.sheet import BODY, SMALL_ITALIC, Sheet
from annotator.words.handout import bars_words, title_words
from annotator.words.names import note_name

SPACE = 150.0  # between two staff lines: a staff 6 mm high
CLEFS = {"G": 0xE050, "F": 0xE062, "C": 0xE05C}
CLEFS_SHIFTED = {("G", -1): 0xE052, ("G", 1): 0xE053, ("F", -1): 0xE064, ("F", 1): 0xE065}
SIGNS = {-2: 0xE264, -1: 0xE260, 0: 0xE261, 1: 0xE262, 2: 0xE263}
WHOLE = 0xE0A2
OTTAVA = {1: 0xE511, 2: 0xE515, -1: 0xE51C, -2: 0xE51D}
THIN = 14.0


def place_on_staff(extreme: Extreme) -> int:
    """Return how many half spaces a note stands above the lowest line of its staff."""
    return extreme.pitch.diatonic - 7 * extreme.ottava - extreme.clef.lowest


@dataclass(frozen=True, slots=True)
class Compass:
    """The block: a heading, and for each hand its lowest and its highest note."""

    heading: str
    extremes: tuple[Extreme, ...]
    language: str

    def height(self, width: float) -> float:
        """Return its height."""
        above, below = self._reach()
        return heading_height() + BODY.line + (above + below) * SPACE / 2 + SMALL_ITALIC.line * 2

    def _reach(self) -> tuple[int, int]:
        """Return the half spaces needed above and below the lowest staff line, signs included."""
        places = [place_on_staff(extreme) for extreme in self.extremes]
        above = max([12, *(place + (5 if e.ottava > 0 else 4) for place, e in zip(places, self.extremes, strict=True))])
        below = max([4, *(-place + (5 if e.ottava < 0 else 2) for place, e in zip(places, self.extremes, strict=True))])
        return above, below

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> None:
        """Draw it."""
        draw_heading(sheet, x, y, self.heading)
        above, below = self._reach()
        left, room = x + INDENT, width - INDENT
        wide = room / max(2, len(self.extremes))
        names = y + heading_height() + BODY.size
        lowest = names + 0.4 * BODY.size + above * SPACE / 2
        for number, extreme in enumerate(self.extremes):
            start = left + number * wide
            if number == 0 or self.extremes[number - 1].hand != extreme.hand:
                sheet.text(start, names, title_words(extreme.hand, self.language))
            self._note(sheet, start, lowest, wide - 250.0, extreme)
            text = note_name(name_of(extreme.pitch), self.language) + ", " + bars_words(((extreme.bar, extreme.bar),), self.language)
            base = lowest + below * SPACE / 2 + SMALL_ITALIC.size
            for line in SMALL_ITALIC.wrapped(text, wide - 100.0):
                sheet.text(start, base, line, SMALL_ITALIC)
                base += SMALL_ITALIC.line

    def _note(self, sheet: Sheet, x: float, lowest: float, width: float, extreme: Extreme) -> None:
        for line in range(5):
            sheet.line(x, lowest - line * SPACE, x + width, lowest - line * SPACE, THIN)
        clef = extreme.clef
        code = CLEFS_SHIFTED.get((clef.sign, clef.octaves), CLEFS[clef.sign])
        sheet.music(x + 0.4 * SPACE, lowest - (clef.line - 1) * SPACE, code, SPACE)
        place = place_on_staff(extreme)
        y = lowest - place * SPACE / 2
        head = 4 * SPACE * fonts.glyph(chr(WHOLE)).advance
        start = x + max(0.62 * width, 5.2 * SPACE)
        for ledger in ledger_lines(place):
            height = lowest - ledger * SPACE / 2
            sheet.line(start - 0.35 * SPACE, height, start + head + 0.35 * SPACE, height, 1.4 * THIN)
        sheet.music(start, y, WHOLE, SPACE)
        alter = int(extreme.pitch.alter)
        if alter in SIGNS and alter:
            sheet.music(start - 4 * SPACE * fonts.glyph(chr(SIGNS[alter])).advance - 0.3 * SPACE, y, SIGNS[alter], SPACE)
        if extreme.ottava in OTTAVA:
            away = min(y, lowest - 4 * SPACE) - 1.0 * SPACE if extreme.ottava > 0 else max(y, lowest) + 2.4 * SPACE
            sheet.music(start - 0.3 * SPACE, away, OTTAVA[extreme.ottava], 0.8 * SPACE)
