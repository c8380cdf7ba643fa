"""Headings of the survey's table on a terminal: short ones, in each language.

English is our own; German, French and Italian were written down from memory, common practice, no source.

>>> column_heading("right-compass", "de"), column_heading("to-read")
('Umfang re.', 'to read')
"""

from __future__ import annotations

from collections.abc import Mapping

from annotator.words.language import language_of

_KEYS = (
    "title", "composer", "effort", "share", "drills", "bars", "notes", "to-read", "density", "odd", "signs", "keys",
    "right-compass", "left-compass", "right-reach", "left-reach", "right-ledger", "left-ledger", "drilled", "likeness", "file",
)  # fmt: skip
_TABLES: Mapping[str, tuple[str, ...]] = {
    "en": (
        "title", "composer", "effort", "grey %", "drills most", "bars", "notes", "to read", "notes/beat", "odd %", "signs %", "keys",
        "compass r.", "compass l.", "stretch r.", "stretch l.", "ledger r.", "ledger l.", "drilled %", "alike %", "file",
    ),
    "de": (
        "Titel", "Komponist", "Aufwand", "grau %", "übt vor allem", "Takte", "Noten", "zu lesen", "Noten/Schlag", "fremd %", "Vorz. %",
        "Tonarten", "Umfang re.", "Umfang li.", "Griff re.", "Griff li.", "Hilfsl. re.", "Hilfsl. li.", "geübt %", "ähnlich %", "Datei",
    ),
    "fr": (
        "titre", "compositeur", "effort", "gris %", "travaille surtout", "mesures", "notes", "à lire", "notes/temps", "étrang. %",
        "altér. %", "tonalités", "étendue d.", "étendue g.", "écart d.", "écart g.", "l. suppl. d.", "l. suppl. g.", "travaillé %",
        "semblable %", "fichier",
    ),
    "it": (
        "titolo", "compositore", "sforzo", "grigio %", "allena soprattutto", "battute", "note", "da leggere", "note/tempo", "estr. %",
        "alter. %", "tonalità", "estens. d.", "estens. s.", "apert. d.", "apert. s.", "tagli d.", "tagli s.", "allenato %", "simile %",
        "file",
    ),
}  # fmt: skip


def column_heading(key: str, language: str = "en") -> str:
    """Return the heading of a column of the table."""
    return _TABLES[language_of(language).code][_KEYS.index(key)]
