"""Bar lines at the cut: repeats and endings only where both their ends are in the excerpt."""

from __future__ import annotations

from annotator.excerpts.section import Section


def mend_barlines(section: Section) -> None:
    """Do it."""
