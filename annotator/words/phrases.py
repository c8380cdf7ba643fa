"""Words around the figures: headings of tables, the line that counts, the page's foot, the comparison of plain and marked.

>>> count_words(352, 121), comparing("plain", "de")
('352 notes, 121 to read', 'ohne')
"""

from __future__ import annotations

from annotator.words.language import language_of


def heading(key: str, language: str = "en") -> str:
    """Return a word of tables: ``bar``, ``hand``, ``label``, ``notes``, ``to-read``, ``kind``, ``figures``, ``right``, ``left``."""
    return language_of(language).headings[key]


def foot_words(greying: bool, blank: bool, language: str = "en", covered: bool = False, editors: bool = False) -> str:
    """Return the line at the foot of a page that says what its marks mean.

    ``blank`` brackets are to be written on; ``editors``: some grey notes are grey by an editor's word.
    """
    if greying and editors and not blank:
        return heading("foot-editor", language)
    return heading("foot-blank" if blank else "foot-covered" if covered else "foot-grey" if greying else "foot-dark", language)


def legend_words(legend: str, unnamed: bool, language: str = "en") -> str:
    """Return the line of a page's foot, with what is meant by a run that names no scale, where one stands (``unnamed``)."""
    return f"{legend} {heading('foot-unnamed', language)}" if unnamed else legend


def count_words(notes: int, to_read: int, language: str = "en") -> str:
    """Return the line that says how many notes there are and how many must still be read."""
    return language_of(language).headings.fill("count", notes=notes, to_read=to_read)


def step_words(step: int, steps: int, language: str = "en") -> str:
    """Return the line that says which copy of a practice series this is."""
    return language_of(language).headings.fill("step", step=step, steps=steps)


def comparing(key: str, language: str = "en") -> str:
    """Return a word or sentence of the comparison; some have places in braces to be filled."""
    return language_of(language).comparing[key]


def in_the_key(language: str = "en") -> str:
    """Return the sentence that says what "in the key" means in the rules of all kinds."""
    return explaining("in-the-key", language)


def explaining(key: str, language: str = "en") -> str:
    """Return a word or sentence of what is explained on the screen; some have places in braces to be filled."""
    return language_of(language).explaining[key]
