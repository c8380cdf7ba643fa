"""The words: the one place where labels and the names of notes, chords and scales are made for people.

Conventions: every label has three lengths (long, medium, short), because a bar may be narrow; none is another with letters cut off.
Real characters: ♯ ♭ ° ø → × – …; a double sharp is ``♯♯``, because text fonts lack its sign. What a language says stands in one file,
``en.toml`` and its sisters, which a musician can edit; which label a figure gets, in the module of its kind (``annotator.figures``).
"""
