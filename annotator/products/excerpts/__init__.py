"""Excerpts: some bars of a score as a little score of its own, engraved small, its figures marked."""

from annotator.products.excerpts.cutting import copies_of
from annotator.products.excerpts.excerpt import Excerpt, carried, cut_out, excerpt_of, whole_of
from annotator.products.excerpts.snippet import Snippet, engrave_snippets

__all__ = ["Excerpt", "Snippet", "carried", "copies_of", "cut_out", "engrave_snippets", "excerpt_of", "whole_of"]
