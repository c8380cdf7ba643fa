"""What is covered and what is not, on parts from lines of text, and on every score at hand: all of it follows, and signs are given back."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from figures.lines_from_text import names, part_of
from scores_at_hand import EXAMPLES, NO_LOCAL_SCORES, keyboard_corpus, local_scores

import annotator
from annotator.figures.figure import Figure
from annotator.marks.covering import Covering, covering, near
from annotator.marks.marking import markings
from annotator.music.names import Scale
from annotator.music.score import Note, Part, Score

BAR = 8
EIGHTH = Fraction(1, 2)
RISING = "C5 D5 E5 F5 G5 A5 B5 C6"


def part(*bars: str, unit: Fraction = EIGHTH) -> Part:
    return part_of(" ".join(bars), unit=unit)[0]


def figure(kind: str, struck: tuple[Note, ...], dark: tuple[int, ...] = (), model: tuple[Note, ...] = (), **data: object) -> Figure:
    """Return a figure of single notes; ``dark`` are the places of its anchors."""
    first = struck[0]
    moments, anchors = tuple((note,) for note in struck), tuple(struck[place] for place in dark)
    told = {"steps": 0, "group": len(model), "times": 1} | data if model else data
    pointed = tuple((note,) for note in model)
    return Figure(kind, first.part, first.staff, first.voice, "right", moments, anchors, model=pointed, **told)  # type: ignore[arg-type]


def run(struck: tuple[Note, ...], tonic: str = "C", kind: str = "major") -> Figure:
    return figure("scale-run", struck, (0, len(struck) - 1), scale=Scale(tonic, kind), direction="up")


def bar(whole: Part, number: int) -> tuple[Note, ...]:
    return whole.notes[BAR * (number - 1) : BAR * number]


def cover(whole: Part, *figures: Figure, together: object = near) -> Covering:
    grey = frozenset(note.number for each in figures for note in each.grey)
    return covering(figures, grey, Score("", "", (whole,), 12), together)  # type: ignore[arg-type]


def covered(whole: Part, *figures: Figure, together: object = near) -> str:
    """Return the part as text, with ``.`` for what is covered."""
    hidden = cover(whole, *figures, together=together).notes
    return " ".join("." if note.number in hidden else names((note,)) for note in whole.notes)


def test_what_is_grey_is_covered_and_what_is_dark_is_not() -> None:
    whole = part(RISING)
    assert covered(whole, run(whole.notes)) == "C5 . . . . . . C6"


def test_a_note_whose_head_tells_its_length_keeps_it() -> None:
    """Half notes have open heads; a dotted quarter and a quarter of a triplet have not (any primer of notation)."""
    whole = part(RISING, unit=Fraction(2))
    assert covered(whole, run(whole.notes)) == RISING
    whole = part(RISING, unit=Fraction(3, 2))
    assert covered(whole, run(whole.notes)) == "C5 . . . . . . C6"


def test_a_copy_of_a_copy_is_covered_and_a_copy_of_that_is_not() -> None:
    whole = part(*[RISING] * 4)
    copies = [figure("repeated-group", bar(whole, n), model=bar(whole, n - 1)) for n in (2, 3, 4)]
    hidden = " ".join("." * BAR)
    assert covered(whole, *copies) == f"{RISING} {hidden} {hidden} {RISING}"


def test_a_copy_of_the_run_that_is_covered_itself_is_one_deep() -> None:
    whole = part(*[RISING] * 3)
    copies = [figure("repeated-group", bar(whole, n), model=bar(whole, n - 1)) for n in (2, 3)]
    hidden = " ".join("." * BAR)
    assert covered(whole, run(bar(whole, 1)), *copies) == f"C5 . . . . . . C6 {hidden} {hidden}"


def test_a_copy_whose_model_is_out_of_sight_is_not_covered() -> None:
    whole = part(*[RISING] * 2)
    again = figure("repeated-group", bar(whole, 2), model=bar(whole, 1))
    assert covered(whole, again, together=lambda notes: False) == f"{RISING} {RISING}"
    assert covered(whole, run(bar(whole, 1)), together=lambda notes: False) == f"C5 . . . . . . C6 {RISING}"


def test_copies_of_each_other_are_not_covered() -> None:
    whole = part(*[RISING] * 2)
    circle = [figure("repeated-group", bar(whole, a), model=bar(whole, b)) for a, b in ((1, 2), (2, 1))]
    assert covered(whole, *circle) == f"{RISING} {RISING}"


def test_what_does_not_follow_is_not_covered() -> None:
    """As a C major run it would have an F: the law is asked of what is left to be seen."""
    whole = part("C5 D5 E5 F#5 G5 A5 B5 C6")
    assert covered(whole, run(whole.notes)) == "C5 D5 E5 F#5 G5 A5 B5 C6"


def test_a_dark_note_gets_the_sign_that_is_covered() -> None:
    """The second G♯ of a bar has no sign of its own: a sign holds to the end of its bar (any primer of notation)."""
    whole = part("A4 B4 C5 D5 E5 F5 G#5 A5 G#5 G5 G#5 r r r r r | G#5", unit=Fraction(1, 4))
    harmonic = run(whole.notes[:8], "A", "harmonic minor")
    signs = cover(whole, harmonic).signs
    assert [(names((note,)), signs[note.number]) for note in whole.notes if note.number in signs] == [("G#5", 1)]
    assert list(signs) == [whole.notes[8].number], "those after it have signs of their own"


def test_a_natural_that_is_covered_is_given_back_too() -> None:
    whole = part("G#5 A4 B4 C5 D5 E5 F5 G5 A5 G5 r r r r r r", unit=Fraction(1, 4))
    signs = cover(whole, run(whole.notes[1:9], "A", "natural minor")).signs
    assert signs == {whole.notes[9].number: 0}


def test_nothing_is_covered_without_figures() -> None:
    assert cover(part(RISING)) == Covering()


PATHS = [*sorted(EXAMPLES.glob("*.musicxml"))[:4], *keyboard_corpus()[:3], *local_scores()[::6]]


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_every_covered_note_is_grey_and_of_a_figure(path: Path) -> None:
    score = annotator.read(path)
    report = annotator.find_figures(score)
    marked = markings(report)
    done = covering(marked.figures, marked.grey, score, near)
    of_figures = {note.number for each in marked.figures for note in each.notes}
    assert done.notes <= marked.grey and done.notes <= of_figures
    assert not done.notes & (marked.anchors | set(done.signs))


def test_most_of_what_is_grey_is_covered() -> None:
    if not local_scores():
        pytest.skip(NO_LOCAL_SCORES)
    grey = hidden = 0
    for path in local_scores()[::6]:
        score = annotator.read(path)
        marked = markings(annotator.find_figures(score))
        grey += len(marked.grey)
        hidden += len(covering(marked.figures, marked.grey, score, near).notes)
    assert 0.7 * grey < hidden < grey
