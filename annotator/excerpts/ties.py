"""Ties across the cut."""

from __future__ import annotations

from annotator.excerpts.section import Section


def mend_ties(section: Section) -> None:
    """Do it."""
