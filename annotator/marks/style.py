"""The look of a page as data, and the loading of looks from TOML files.

Conventions
-----------
* Lengths (``line_width``, ``label_size``) are hundredths of a millimetre on paper, which is the unit of the
  page's SVG. ``unit`` is the engraver's: half a staff space in tenths of a millimetre; the staff is 0.8 mm x
  ``unit`` high.
* Colours are ``#RRGGBB``. Where ``family_colours`` has no colour for a family, its brackets take
  ``bracket_colour``.
* A key that a file leaves out has the value of the class below. A file of one's own works from any folder.

Every key is one field of ``Style``, with its default and what it takes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from annotator.errors import SettingsError, UsageError
from annotator.figures.registry import KINDS_BY_NAME
from annotator.options import folder
from annotator.options.option import LINE, Takes, known, nearest, taken, text_in, toml_of
from annotator.options.settings import FLAG

FAMILIES = ("run", "chord", "double", "ornament", "repeat", "hands")
"""The families of figure kinds that can have a colour of their own."""

LABELS = ("fit", "long", "medium", "short", "blank", "none")
"""How much a label says: the longest that fits; one length throughout; room to write in; nothing."""

WORDLESS = ("blank", "none")
"""The labels without words; no note may be grey with them."""

T = TypeVar("T")


def _key(default: T, takes: Takes) -> T:
    """Return the field of a key. To a type checker it is its default; ``TAKES`` has what it takes."""
    return field(default=default, metadata={"takes": takes})


def _colour(given: Any) -> str:
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", given):
        raise ValueError
    return str(given).upper()


def _colours(given: Any) -> Mapping[str, str]:
    if not set(given) <= set(FAMILIES):
        raise ValueError
    return MappingProxyType({family: _colour(given[family]) for family in FAMILIES if family in given})


COLOUR = Takes(_colour, besides='a colour such as "#909090"')
COLOURS = Takes(_colours, besides=f'a table from a family ({", ".join(FAMILIES)}) to a colour such as "#0072B2"')
SHARE = Takes(float, least=0, most=1)


@dataclass(frozen=True, slots=True)
class Style:
    """One look.

    ``grey``, ``ink`` (anchors and everything else), ``bracket_colour``, ``label_colour`` and
    ``family_colours`` are the colours. ``line_width`` and ``label_size`` are those of brackets and labels.
    ``spacing_linear`` and ``spacing_nonlinear`` (0 to 1) say how wide the notes stand. ``greying`` and
    ``grey_fingerings`` say what is greyed, ``covered`` takes the heads and accidentals off grey notes, to
    play them from label and black notes. ``labels`` is one of ``LABELS``.
    ``note_names_on_anchors`` writes its name beside each note that must be read.
    ``kinds`` are the figure kinds shown, ``saves`` the fewest notes that a label must save (None: as the run's options say).

    The limits of ``unit`` and the two spacings are the engraver's (Verovio 6).
    """

    name: str = _key("default", LINE)
    description: str = _key("", LINE)
    grey: str = _key("#909090", COLOUR)
    ink: str = _key("#000000", COLOUR)
    bracket_colour: str = _key("#303030", COLOUR)
    label_colour: str = _key("#000000", COLOUR)
    family_colours: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), hash=False, metadata={"takes": COLOURS})
    line_width: float = _key(20.0, Takes(float, least=5, most=100))
    label_size: float = _key(285.0, Takes(float, least=100, most=800))
    unit: float = _key(8.5, Takes(float, least=4.5, most=12))
    spacing_linear: float = _key(0.25, SHARE)
    spacing_nonlinear: float = _key(0.6, SHARE)
    greying: bool = _key(True, FLAG)
    covered: bool = _key(False, FLAG)
    labels: str = _key("fit", Takes(str, words=LABELS))
    grey_fingerings: bool = _key(True, FLAG)
    note_names_on_anchors: bool = _key(False, FLAG)
    font: str = _key("serif", Takes(str, words=("serif", "sans")))
    kinds: tuple[str, ...] | None = _key(None, Takes(tuple, words=tuple(KINDS_BY_NAME), least=1))
    saves: int | None = _key(None, Takes(int, least=1))

    def bracket(self, family: str) -> str:
        """Return the colour of the brackets of a family."""
        return self.family_colours.get(family, self.bracket_colour)

    @property
    def staff_height(self) -> float:
        """Height of a five-line staff, in millimetres."""
        return 0.8 * self.unit


TAKES: dict[str, Takes] = {each.name: each.metadata["takes"] for each in fields(Style)}
"""What each key of a style file takes."""


def names() -> tuple[str, ...]:
    """Return the names of the styles that come with the program, ``default`` first."""
    found = sorted(path.stem for path in folder("styles").glob("*.toml"))
    return tuple(sorted(found, key=lambda name: name != "default"))


def available() -> tuple[Style, ...]:
    """Return the styles that come with the program, ``default`` first."""
    return tuple(load_style(name) for name in names())


def load_style(name_or_path: str) -> Style:
    """Return a style by its name, or from a TOML file of one's own.

    >>> load_style("large-print").staff_height
    9.0
    """
    path = _path(name_or_path)
    return read_style(text_in(path, "style file"), path.stem, str(path))


def style_text(name: str) -> str:
    """Return the TOML text of a style, to copy and change."""
    return text_in(_path(name), "style file")


def read_style(text: str, name: str, place: str) -> Style:
    """Return the style a TOML text describes, ``name`` if it gives none; ``place`` names the file in messages."""
    table = toml_of(text, place)
    try:
        known(table, TAKES, "key of a style")
        style = Style(**{"name": name, **{key: taken(TAKES[key], value, key) for key, value in table.items()}})
    except UsageError as error:
        raise SettingsError(f"{place}: {error}") from error
    if style.greying and style.labels in WORDLESS:
        raise SettingsError(f'{place}: labels = "{style.labels}" takes away the words that grey notes follow from: add greying = false')
    if style.covered and not style.greying:
        raise SettingsError(f"{place}: covered = true covers grey notes, and greying = false leaves none: drop one of them")
    return style


def _path(name: str) -> Path:
    if name in names():
        return folder("styles") / f"{name}.toml"
    path = Path(name)
    if path.suffix.lower() == ".toml" or path.name != name:
        return path
    meant = nearest(name, names())
    there = ", ".join(names())
    raise SettingsError(f"no style '{name}'{f' ({meant})' if meant else ''}; the styles are {there}, or name a .toml file")
