"""Beams at the cut."""

from __future__ import annotations

from annotator.excerpts.section import Section


def mend_beams(section: Section) -> None:
    """Do it."""
