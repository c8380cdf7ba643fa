"""The law of copies runs in time: one wrong grey note in a model makes all that rests on it fail, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from figures.lines_from_text import texture_of
from scores_at_hand import EXAMPLES

import annotator
from annotator.figures import law
from annotator.figures.copies import KINDS
from annotator.figures.copy_rows import rows_of
from annotator.figures.copy_search import find_copies
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.joining import join
from annotator.figures.law import proved, rebuild_all
from annotator.figures.registry import KINDS_BY_NAME

BAR = "C4 F4 D4 A4 E4 B4 G4 C5 G4 E4 B4 D4 A4 F4 C4 G4"
GROUP = "C3 G3 E3 A3"


def resting_on(figures: list[Figure], number: int) -> set[int]:
    """Return the places of the figures that follow from a note, directly or through others."""
    notes, places = {number}, set[int]()
    while True:
        more = {
            place
            for place, figure in enumerate(figures)
            if any(note.number in notes for stroke in figure.model for note in stroke) and place not in places
        }
        if not more:
            return places
        places |= more
        notes |= {note.number for place in more for note in figures[place].grey}


def chosen() -> tuple[list[Figure], tuple[annotator.music.score.Bar, ...]]:
    higher = [GROUP.replace("3", str(octave)) for octave in (3, 4, 5, 6)]
    texture = texture_of(" ".join([*higher, *higher, BAR]))
    found = list(find_copies(texture, KINDS, rows_of(texture)))
    up = next(f for f in found if f.kind == "octave-copy" and f.moments[0][0].bar == 0)
    again = next(f for f in found if f.kind == "repeated-group" and f.moments[0][0].bar == 1 and len(f.moments) == 16)
    return [up, again], texture.bars


def test_a_wrong_grey_note_of_a_model_makes_what_rests_on_it_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    figures, bars = chosen()
    assert proved(figures, bars) == figures
    up, again = figures
    assert resting_on(figures, up.grey[3].number) == {1}
    kind = KINDS_BY_NAME[up.kind]

    def wrong(covered: Covered) -> Spelling:
        """Spell one note of the model a third too high."""
        spelled = list(kind.spell_out(covered))
        return (*spelled[:3], tuple(key + 4 for key in spelled[3]), *spelled[4:])

    monkeypatch.setitem(law.KINDS_BY_NAME, up.kind, kind._replace(spell_out=wrong))
    assert proved(figures, bars) == []
    found = rebuild_all(figures, bars)
    assert sum(found[note.number] != note.pitch.semitone for note in again.grey) == 1


def test_figures_that_follow_from_each_other_in_a_circle_are_not_both_shown() -> None:
    figures, bars = chosen()
    up, again = figures
    circle = [replace(up, model=again.moments[:4]), again]
    assert proved(circle, bars) != circle
    assert len(proved(circle, bars)) <= 1


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.musicxml")), ids=lambda path: path.stem)
def test_what_is_shown_follows_all_together(path: object) -> None:
    score = annotator.read(path)  # type: ignore[arg-type]
    report = annotator.find_figures(score)
    by_part: Mapping[str, list[Figure]] = {
        part.id: [figure for _, figure in report.figures if figure.part == part.id] for part in score.parts
    }
    for part in score.parts:
        assert proved(by_part[part.id], part.bars) == by_part[part.id]


def test_both_hands_are_one_figure_and_neighbours_are_one() -> None:
    low = BAR.replace("4", "3").replace("5", "4")
    texture = texture_of(f"{BAR} {BAR} {BAR}", f"{low} {low} {low}")
    found = [f for f in find_copies(texture, ("repeated-group",), rows_of(texture)) if f.model_bars is None]
    assert len(found) == 2
    (figure,) = join(found, texture.bars)
    assert (figure.both_hands, figure.times, figure.group, len(figure.grey)) == (True, 2, 16, 64)
