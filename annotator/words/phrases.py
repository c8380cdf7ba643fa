"""Words around the figures: tables, the page's foot, the comparison, what is explained, the handout, the survey.

A phrase stands under its key in the group of its language's file; some have places in braces to be filled.

>>> count_words(352, 121), comparing("plain", "de")
('352 notes, 121 to read', 'ohne')
>>> bars_words((("5", "7"), ("9", "9"))), bars_words((("5", "5"),), "de")
('bars 5–7, 9', 'Takt 5')
>>> survey_word("to-read", "de"), survey_word("summary").format(scores="3", notes="1,204", grey="58")
('zu lesen', 'Scores: 3 · notes: 1,204 · grey: 58 %')
>>> number(1204.5, 1), number(1204.5, 1, "de"), number(12.0, 0, "fr"), key_words("A", True, "de")
('1,204.5', '1.204,5', '12', 'a-Moll')
>>> column_heading("right-compass", "de"), column_heading("to-read")
('Umfang re.', 'to read')
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from annotator.music.names import Chord
from annotator.music.score import SIGNATURE_ORDER, Key
from annotator.words.language import language_of
from annotator.words.names import chord_name, interval_name, note_name

MOST_SPANS = 12
"""How many stretches of bars are told before ``…``: more are no help before the first note."""


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


# The handout.


def title_words(key: str, language: str = "en") -> str:
    """Return a section title or a label, such as ``key`` or ``name``."""
    return language_of(language).titles[key]


def line_words(key: str, language: str = "en", **places: object) -> str:
    """Return a short line with its places filled."""
    return language_of(language).lines.fill(key, **places)


def bars_words(spans: Sequence[tuple[str, str]], language: str = "en") -> str:
    """Return stretches of bars in words: ``bars 5–7, 9``."""
    one = len(spans) == 1 and spans[0][0] == spans[0][1]
    told = [first if first == last else f"{first}–{last}" for first, last in spans[:MOST_SPANS]]
    more = " …" if len(spans) > MOST_SPANS else ""
    return line_words("bar" if one else "bars", language, bars=", ".join(told) + more)


def times_words(times: int, language: str = "en") -> str:
    """Return how many times: ``once``, ``twice``, ``5 times``."""
    return line_words({1: "once", 2: "twice"}.get(times, "times"), language, times=times)


def ordinal_words(number: str, language: str = "en") -> str:
    """Return the number of an ending as it is said: ``1``; in French ``1re``, ``2e``; what is more than a number stays as it is."""
    number = number.strip(" .")
    if not number.isdecimal():
        return number
    return line_words("first" if number == "1" else "later", language, number=number)


def signature_words(key: Key, language: str = "en") -> str:
    """Return a key signature in words: ``2 sharps: F♯ C♯``."""
    count = abs(key.fifths)
    if not count:
        return line_words("no-signs", language)
    letters = SIGNATURE_ORDER[:count] if key.fifths > 0 else SIGNATURE_ORDER[::-1][:count]
    names = " ".join(note_name(letter + ("#" if key.fifths > 0 else "b"), language) for letter in letters)
    one, several = ("sharp", "sharps") if key.fifths > 0 else ("flat", "flats")
    return line_words(several if count > 1 else one, language, count=count, names=names)


def interval_words(steps: int, language: str = "en") -> str:
    """Return an interval of so many steps (2 is a third) with its article."""
    return interval_name(steps, language_of(language))


# The survey.


def survey_word(key: str, language: str = "en") -> str:
    """Return a word or sentence of the page; some have places in braces to be filled."""
    return language_of(language).survey[key]


def column_heading(key: str, language: str = "en") -> str:
    """Return the heading of a column of the table on a terminal."""
    return language_of(language).columns[key]


def number(value: float, places: int, language: str = "en") -> str:
    """Return a number as it is written in a language, rounded to so many decimals."""
    signs = language_of(language).numbers
    return f"{value:,.{places}f}".translate(str.maketrans(",.", signs["thousands"] + signs["decimals"]))


def effort_words(weights: Iterable[tuple[str, int]], language: str = "en") -> str:
    """Return what the effort figure means, in three sentences; ``weights`` are its factors and the most points each can earn."""
    factors = ", ".join(f"{survey_word(word, language)} ({weight})" for word, weight in weights)
    return language_of(language).survey.fill("effort-notes", factors=factors)


def key_words(tonic: str, minor: bool, language: str = "en") -> str:
    """Return the name of a key: ``B♭ major``, ``a-Moll``; ``tonic`` is spelled in ASCII."""
    return chord_name(Chord(tonic, "minor" if minor else "major", 0, tonic), language, short=False)
