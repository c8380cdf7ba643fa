"""Words around the figures: names of the kinds, headings of tables, the line that counts.

>>> kind_name("parallel-thirds"), kind_name("alberti-bass", "de"), count_words(352, 121)
('in thirds', 'Alberti-Bass', '352 notes, 121 to read')
"""

from __future__ import annotations

from annotator.words.language import language_of


def kind_name(kind: str, language: str = "en") -> str:
    """Return the name of a kind of figure for people; a kind that the table does not know keeps its machine name."""
    words = language_of(language)
    if kind in words.kinds:
        return words.kinds[kind]
    family, _, interval = kind.replace("-in-", "-").partition("-")
    if family in words.kinds and interval in words.doubles:
        return words.kinds[family].format(double=words.doubles[interval])
    return kind


def heading(key: str, language: str = "en") -> str:
    """Return a word of tables: ``bar``, ``hand``, ``label``, ``notes``, ``to-read``, ``kind``, ``figures``, ``right``, ``left``."""
    return language_of(language).headings[key]


def foot_words(greying: bool, blank: bool, language: str = "en") -> str:
    """Return the line at the foot of a page that says what its marks mean; ``blank`` brackets are to be written on."""
    return heading("foot-blank" if blank else "foot-grey" if greying else "foot-dark", language)


def count_words(notes: int, to_read: int, language: str = "en") -> str:
    """Return the line that says how many notes there are and how many must still be read."""
    return heading("count", language).format(notes=notes, to_read=to_read)


def step_words(step: int, steps: int, language: str = "en") -> str:
    """Return the line that says which copy of a practice series this is."""
    return heading("step", language).format(step=step, steps=steps)
