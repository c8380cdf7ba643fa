"""The look of a page as data, and the loading of looks from TOML files.

Conventions
-----------
* Lengths (``line_width``, ``label_size``) are hundredths of a millimetre on paper, which is the unit of the
  page's SVG. ``unit`` is the engraver's: half a staff space in tenths of a millimetre; the staff is 0.8 mm x
  ``unit`` high.
* Colours are ``#RRGGBB``. Where ``family_colours`` has no colour for a family, its brackets take
  ``bracket_colour``.
* A key that a file leaves out has the value of the class below. A file of one's own works from any folder.

Every key is one entry of ``RULES``: what values it takes, said in words, and how one is checked.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from types import MappingProxyType
from typing import Any

from annotator.errors import MissingError, SettingsError
from annotator.options.shipped import folder

FAMILIES = ("run", "chord", "double", "ornament", "repeat", "hands")
"""The families of figure kinds that can have a colour of their own."""

LABELS = ("fit", "long", "medium", "short", "blank", "none")
"""How much a label says: the longest that fits; one length throughout; room to write in; nothing."""

WORDLESS = ("blank", "none")
"""The labels without words; no note may be grey with them."""

FONTS = ("serif", "sans")


@dataclass(frozen=True, slots=True)
class Style:
    """One look.

    ``grey``, ``ink`` (anchors and everything else), ``bracket_colour``, ``label_colour`` and
    ``family_colours`` are the colours. ``line_width`` and ``label_size`` are those of brackets and labels.
    ``spacing_linear`` and ``spacing_nonlinear`` (0 to 1) say how wide the notes stand. ``greying`` and
    ``grey_fingerings`` say what is greyed, ``covered`` takes the heads and accidentals off grey notes, to
    play them from label and black notes. ``labels`` is one of ``LABELS``, ``font`` of ``FONTS``.
    ``note_names_on_anchors`` writes its name beside each note that must be read.
    ``kinds`` are the figure kinds shown, ``saves`` the fewest notes that a label must save (None: as the run's options say).
    """

    name: str = "default"
    description: str = ""
    grey: str = "#909090"
    ink: str = "#000000"
    bracket_colour: str = "#303030"
    label_colour: str = "#000000"
    family_colours: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), hash=False)
    line_width: float = 20.0
    label_size: float = 285.0
    unit: float = 8.5
    spacing_linear: float = 0.25
    spacing_nonlinear: float = 0.6
    greying: bool = True
    covered: bool = False
    labels: str = "fit"
    grey_fingerings: bool = True
    note_names_on_anchors: bool = False
    font: str = "serif"
    kinds: tuple[str, ...] | None = None
    saves: int | None = None

    def bracket(self, family: str) -> str:
        """Return the colour of the brackets of a family."""
        return self.family_colours.get(family, self.bracket_colour)

    @property
    def staff_height(self) -> float:
        """Height of a five-line staff, in millimetres."""
        return 0.8 * self.unit


@dataclass(frozen=True, slots=True)
class Rule:
    """What one key takes: in words for messages, and as a reader of its TOML value (ValueError if wrong)."""

    allowed: str
    read: Callable[[object], object]


def _text(value: object) -> str:
    if not isinstance(value, str) or "\n" in value:
        raise ValueError
    return value


def _colour(value: object) -> str:
    if not isinstance(value, str) or not re.fullmatch(r"#[0-9A-Fa-f]{6}", value):
        raise ValueError
    return value.upper()


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError
    return value


def _colours(value: object) -> Mapping[str, str]:
    if not isinstance(value, dict) or not set(value) <= set(FAMILIES):
        raise ValueError
    return MappingProxyType({family: _colour(value[family]) for family in FAMILIES if family in value})


def _kinds(value: object) -> tuple[str, ...]:
    from annotator.figures.registry import KINDS_BY_NAME

    if not isinstance(value, list) or not value or not all(isinstance(each, str) for each in value):
        raise ValueError
    if not set(value) <= set(KINDS_BY_NAME):
        raise ValueError
    return tuple(value)


def _count(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise ValueError
    return value


def _number(low: float, high: float) -> Rule:
    def read(value: object) -> float:
        """Read a number between the two."""
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise ValueError
        return float(value)

    return Rule(f"a number from {low:g} to {high:g}", read)


def _one_of(words: tuple[str, ...]) -> Rule:
    def read(value: object) -> str:
        """Read one of the words."""
        if not isinstance(value, str) or value not in words:
            raise ValueError
        return value

    return Rule("one of " + ", ".join(f'"{word}"' for word in words), read)


_COLOUR = Rule('a colour such as "#909090"', _colour)
_FLAG = Rule("true or false", _flag)

RULES: dict[str, Rule] = {
    "name": Rule("a text of one line", _text),
    "description": Rule("a text of one line", _text),
    "grey": _COLOUR,
    "ink": _COLOUR,
    "bracket_colour": _COLOUR,
    "label_colour": _COLOUR,
    "family_colours": Rule(f'a table from a family ({", ".join(FAMILIES)}) to a colour such as "#0072B2"', _colours),
    "line_width": _number(5, 100),
    "label_size": _number(100, 800),
    "unit": _number(4.5, 12),
    "spacing_linear": _number(0, 1),
    "spacing_nonlinear": _number(0, 1),
    "greying": _FLAG,
    "covered": _FLAG,
    "labels": _one_of(LABELS),
    "grey_fingerings": _FLAG,
    "note_names_on_anchors": _FLAG,
    "font": _one_of(FONTS),
    "kinds": Rule("a list of figure kinds", _kinds),
    "saves": Rule("a whole number from 1 on", _count),
}
"""Every key of a style file. The limits of ``unit`` and the two spacings are the engraver's (Verovio 6)."""


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
    return read_style(_read(path), path.stem, str(path))


def style_text(name: str) -> str:
    """Return the TOML text of a style, to copy and change."""
    return _read(_path(name))


def read_style(text: str, name: str, place: str) -> Style:
    """Return the style a TOML text describes, ``name`` if it gives none; ``place`` names the file in messages."""
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError(f"{place}: no valid TOML: {error}") from error
    values: dict[str, Any] = {"name": name}
    for key, value in table.items():
        values[key] = _checked(key, value, place)
    style = Style(**values)
    if style.greying and style.labels in WORDLESS:
        raise SettingsError(f'{place}: labels = "{style.labels}" takes away the words that grey notes follow from: add greying = false')
    if style.covered and not style.greying:
        raise SettingsError(f"{place}: covered = true covers grey notes, and greying = false leaves none: drop one of them")
    return style


def _checked(key: str, value: object, place: str) -> object:
    rule = RULES.get(key)
    if rule is None:
        raise SettingsError(f"{place}: no key '{key}' in a style{_meant(key, RULES)}; the keys are {', '.join(RULES)}")
    try:
        return rule.read(value)
    except ValueError:
        raise SettingsError(f"{place}: {key} = {_shown(value)} is wrong: it takes {rule.allowed}{_hint(key, value)}") from None


def _hint(key: str, value: object) -> str:
    """Say which word of a list or table is the unknown one, and which was probably meant."""
    if key == "family_colours" and isinstance(value, dict):
        known: tuple[str, ...] = FAMILIES
    elif key == "kinds" and isinstance(value, list):
        from annotator.figures.registry import KINDS_BY_NAME

        known = tuple(KINDS_BY_NAME)
    elif key in ("labels", "font"):
        return _meant(str(value), LABELS if key == "labels" else FONTS)
    else:
        return ""
    wrong = [str(each) for each in value if each not in known]
    return f"; '{wrong[0]}' is none{_meant(wrong[0], known)}" if wrong else ""


def _meant(word: str, known: Mapping[str, object] | tuple[str, ...]) -> str:
    close = get_close_matches(word, list(known), n=1)
    return f" (did you mean '{close[0]}'?)" if close else ""


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _path(name: str) -> Path:
    if name in names():
        return folder("styles") / f"{name}.toml"
    path = Path(name)
    if path.suffix.lower() == ".toml" or path.name != name:
        return path
    raise SettingsError(f"no style '{name}'{_meant(name, names())}; the styles are {', '.join(names())}, or name a .toml file")


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise SettingsError(f"{path}: no UTF-8 text; save the style file as UTF-8") from error
    except OSError as error:
        raise MissingError(f"{path}: cannot read this style file ({error.strerror})") from error
