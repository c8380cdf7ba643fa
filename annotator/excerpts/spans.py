"""Slurs, hairpins, pedals, octave lines across the cut."""

from __future__ import annotations

from annotator.excerpts.section import Section


def mend_spans(section: Section) -> None:
    """Do it."""
