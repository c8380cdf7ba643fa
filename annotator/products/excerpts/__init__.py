"""Excerpts: some bars of a score as a correct little score of its own, engraved small, its figures marked."""

from annotator.products.excerpts.carrying import carried
from annotator.products.excerpts.cutting import Excerpt, excerpt, excerpt_of
from annotator.products.excerpts.snippet import Snippet, engrave_snippet

__all__ = ["Excerpt", "Snippet", "carried", "engrave_snippet", "excerpt", "excerpt_of"]
