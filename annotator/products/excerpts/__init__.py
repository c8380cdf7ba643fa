"""Excerpts: some bars of a score as a little score of its own, engraved small, its figures marked."""

from annotator.products.excerpts.excerpt import Excerpt, Snippet, carried, cut_out, engrave_snippet, excerpt_of

__all__ = ["Excerpt", "Snippet", "carried", "cut_out", "engrave_snippet", "excerpt_of"]
