"""The bracket of an editor's own: any notes, under words of the editor's. Its black notes say what they are; nothing follows from it."""

from __future__ import annotations

from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData


def spell_out(covered: Covered) -> Spelling:
    """Return the keys of a bracket that greys nothing. Raises ``CannotSpellOut`` where it has grey notes."""
    return tuple([tuple([int(slot.dark(place).semitone) for place in range(len(slot.known))]) for slot in covered.slots])


def label(figure: Figure) -> LabelData:
    """Return what its label says where the editor's words are not asked for: that it is one of the editor's own."""
    return LabelData("label")
