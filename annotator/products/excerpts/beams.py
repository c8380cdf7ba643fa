"""Beams at the cut: one whose first or last notes are missing begins or ends with the notes that are there; a single note has none.

Conventions: a beam belongs to one voice; grace notes have their own. Only what the cut has torn is mended, at the edges of the excerpt, or
anywhere where a hand was taken away.
"""

from __future__ import annotations

from typing import Any

from annotator.products.excerpts.moments import voice_of
from annotator.products.excerpts.section import Section

Run = list[tuple[int, Any]]
"""The beam elements of one beam so far, each with its bar, counted in the excerpt."""


def mend_beams(section: Section) -> None:
    """Make every beam begin and end."""
    anywhere = not section.taken.whole
    last = len(section.measures) - 1
    runs: dict[tuple[str, str, bool], Run] = {}
    for place, measure in enumerate(section.measures):
        for note in measure.iterchildren("note"):
            if note.find("chord") is None and note.find("rest") is None:
                _note(note, place, runs, anywhere, last)
    for run in runs.values():
        _close(run, anywhere or run[-1][0] == last)


def _note(note: Any, place: int, runs: dict[tuple[str, str, bool], Run], anywhere: bool, last: int) -> None:
    """Go on with the beams of one note."""
    voice, grace = voice_of(note), note.find("grace") is not None
    beams = {beam.get("number", "1"): beam for beam in note.findall("beam")}
    for key in [key for key in runs if key[0] == voice and key[2] == grace and key[1] not in beams]:
        _close(runs.pop(key), anywhere)
    for number, beam in beams.items():
        key, kind = (voice, number, grace), (beam.text or "").strip()
        if kind == "begin":
            _close(runs.pop(key, []), anywhere)
            runs[key] = [(place, beam)]
        elif kind in ("continue", "end") and key in runs:
            runs[key].append((place, beam))
            if kind == "end":
                del runs[key]
        elif kind == "continue" and (anywhere or place == 0):
            beam.text = "begin"
            runs[key] = [(place, beam)]
        elif kind == "end" and (anywhere or place == 0):
            note.remove(beam)


def _close(run: Run, mend: bool) -> None:
    """End a beam with the last note it has."""
    if not run or not mend:
        return
    beam = run[-1][1]
    if len(run) > 1:
        beam.text = "end"
    else:
        beam.getparent().remove(beam)
