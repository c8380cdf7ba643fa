"""Where real scores are found at test time: music21's corpus (always there) and a local folder of scores (perhaps not).

Import it by ``from scores_at_hand import …`` (``tests`` is on pytest's ``pythonpath``).
"""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from pathlib import Path

from annotator.music.score import Part

CORPUS = Path(next(iter(importlib.util.find_spec("music21").submodule_search_locations))) / "corpus"  # type: ignore[union-attr,arg-type]
"""music21's corpus, found without importing the library."""

LOCAL_SCORES = Path(__file__).resolve().parents[2] / "shared" / "scores"
"""A local folder of piano scores that is no part of the project."""

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"

NO_LOCAL_SCORES = f"the local folder of scores is not there: {LOCAL_SCORES.parent.name}/{LOCAL_SCORES.name}"


def keyboard_corpus() -> list[Path]:
    """Return the piano scores of music21's corpus that the whole way is tried on, sorted."""
    wanted = ("bach/bwv846.mxl", "joplin/maple_leaf_rag.mxl", "schubert/Lindenbaum.xml")
    found = {CORPUS / name for name in wanted} | set((CORPUS / "schumann_clara").glob("polonaise*.mxl"))
    return sorted(found)


def local_scores() -> list[Path]:
    """Return the scores of the local folder, sorted; none where there is no such folder."""
    return sorted(LOCAL_SCORES.glob("*.musicxml"))


def written(part: Part) -> list[Part]:
    """Return a part as the document has it: itself, or its two halves as parts of one staff."""
    return [
        replace(
            part,
            id=half,
            name=name,
            staves=1,
            halves=(),
            notes=tuple(replace(note, part=half, staff=1) for note in part.notes if note.staff == staff),
            left_staves=frozenset({1} if staff in part.left_staves else ()),
            clefs=tuple(change._replace(staff=1) for change in part.clefs if change.staff == staff),
            octave_lines=tuple(line._replace(staff=1) for line in part.octave_lines if line.staff == staff),
        )
        for staff, (half, name) in enumerate(part.halves, 1)
    ] or [part]
