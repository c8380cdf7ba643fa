"""One hand of a keyboard part."""

from __future__ import annotations

from annotator.excerpts.section import Section


def keep_staves(section: Section) -> None:
    """Do it."""
