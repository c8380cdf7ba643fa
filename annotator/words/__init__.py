"""The words: the one place where labels and the names of notes, chords and scales are made for people.

Conventions: every label has three lengths (long, medium, short), because a bar may be narrow; none is another with letters cut off.
Real characters: ♯ ♭ ° ø → × – …; a double sharp is ``♯♯``, because text fonts lack its sign. What a language says stands in one file,
``en.toml`` and its sisters, which a musician can edit; which label a figure gets, in the module of its kind (``annotator.figures``).
"""

from __future__ import annotations

from annotator.words.labels import change_words, dark_words, kind_name, labels, rule_words, unnamed
from annotator.words.names import chord_name, note_name, scale_name
from annotator.words.phrases import count_words, foot_words, heading, in_the_key, legend_words, step_words

__all__ = [
    "change_words",
    "chord_name",
    "count_words",
    "dark_words",
    "foot_words",
    "heading",
    "in_the_key",
    "kind_name",
    "labels",
    "legend_words",
    "note_name",
    "rule_words",
    "scale_name",
    "step_words",
    "unnamed",
]
