"""Double notes, ornaments, repeats and sequences on real music: every grey note follows, whole lines and pieces of lines alike."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from scores_at_hand import NO_LOCAL_SCORES, keyboard_corpus, local_scores

from annotator.figures.copy_rows import rows_of
from annotator.figures.copy_search import find_copies
from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Texture, read_lines
from annotator.figures.registry import KINDS
from annotator.reading import read

FAMILIES = ("double", "ornament", "repeat")
MINE = {kind.name: kind for kind in KINDS if kind.family in FAMILIES}
PIECE = 23  # events of a piece of a line: no multiple of any group


@cache
def textures(path: Path) -> tuple[Texture, ...]:
    """Read the keyboard parts of a score once."""
    score = read(path)
    return tuple(read_lines(part, score.resolution) for part in score.parts if part.keyboard)


def figures_in(texture: Texture) -> Iterator[Figure]:
    """Yield what these kinds find in a part, and in its lines cut into pieces."""
    yield from find_copies(texture, [kind.name for kind in MINE.values() if kind.repeat], rows_of(texture))
    for detect_part in {kind.detect_part for kind in MINE.values() if kind.detect_part}:
        yield from detect_part(texture)
    for detect in {kind.detect for kind in MINE.values() if kind.detect}:
        for line in texture.lines:
            yield from detect(line)
            for first in range(0, len(line), PIECE):
                yield from detect(line.slice(first, first + PIECE))


def check(path: Path) -> int:
    """Rebuild every figure of a score; return the number of grey notes."""
    grey = 0
    for texture in textures(path):
        for figure in figures_in(texture):
            where = (path.name, figure.kind, figure.struck[0].id)
            assert MINE[figure.kind].spell_out(cover_up(figure, texture.bars)) == written(figure), where
            assert len(figure.grey) >= 2, where
            assert (2 if MINE[figure.kind].repeat else 4) * len(figure.odd) <= len(figure.struck), where
            assert {n.number for n in figure.odd} <= {n.number for n in figure.anchors}, where
            assert len({note.number for note in figure.struck}) == len(figure.struck), where
            grey += len(figure.grey)
    return grey


def test_every_kind_of_these_families_is_registered() -> None:
    assert {"repeated-notes", "parallel-thirds", "trill"} <= set(MINE)


@pytest.mark.parametrize("path", keyboard_corpus(), ids=lambda path: path.stem)
def test_every_grey_note_of_the_corpus_follows(path: Path) -> None:
    check(path)


@pytest.mark.skipif(not local_scores(), reason=NO_LOCAL_SCORES)
@pytest.mark.parametrize("path", local_scores(), ids=lambda path: path.stem)
def test_every_grey_note_of_the_local_scores_follows(path: Path) -> None:
    check(path)


@pytest.mark.skipif(not local_scores(), reason=NO_LOCAL_SCORES)
@pytest.mark.parametrize(
    ("study", "kind", "share"),
    [("chopin-op25-06", "parallel-thirds", 0.15), ("chopin-op25-10", "parallel-octaves", 0.3), ("chopin-op25-08", "parallel-sixths", 0.1)],
)
def test_studies_in_double_notes_are_found_to_be_such(study: str, kind: str, share: float) -> None:
    path = next((path for path in local_scores() if path.stem == study), None)
    if path is None:
        pytest.skip(f"{study} is not among the local scores")
    covered, notes = set(), 0
    for texture in textures(path):
        notes += sum(note.counted for note in texture.part.notes)
        covered |= {note.number for figure in figures_in(texture) if figure.kind == kind for note in figure.struck}
    assert len(covered) > share * notes
