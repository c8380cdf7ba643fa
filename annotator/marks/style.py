"""The look of a page as data, and the loading of looks from TOML files.

Conventions
-----------
* Lengths (``line_width``, ``label_size``) are hundredths of a millimetre on paper, which is the unit of the
  page's SVG. ``unit`` is the engraver's: half a staff space in tenths of a millimetre; the staff is 0.8 mm x
  ``unit`` high.
* Colours are ``#RRGGBB``. Where ``family_colours`` has no colour for a family, its brackets take
  ``bracket_colour``.
* A key that a file leaves out has the value of the class below. A file of one's own works from any folder.

Every key is one entry of ``RULES``: what values it takes, said in words, and how one is checked and read.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from annotator.errors import MissingError, SettingsError
from annotator.figures.registry import KINDS_BY_NAME
from annotator.options.option import nearest
from annotator.options.shipped import folder

FAMILIES = ("run", "chord", "double", "ornament", "repeat", "hands")
"""The families of figure kinds that can have a colour of their own."""

LABELS = ("fit", "long", "medium", "short", "blank", "none")
"""How much a label says: the longest that fits; one length throughout; room to write in; nothing."""

WORDLESS = ("blank", "none")
"""The labels without words; no note may be grey with them."""

FONTS = ("serif", "sans")
NAMES = tuple(KINDS_BY_NAME)
SHOWN = 60  # characters of a wrong value


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


class Rule(NamedTuple):
    """What one key takes: in words for messages; whether a TOML value is ``sound``, and what is made of it. ``words``: those it takes."""

    allowed: str
    sound: Callable[[Any], bool]
    made: Callable[[Any], object] = lambda value: value
    words: tuple[str, ...] = ()


def _is_colour(value: object) -> bool:
    return isinstance(value, str) and re.fullmatch(r"#[0-9A-Fa-f]{6}", value) is not None


def _are_colours(value: object) -> bool:
    return isinstance(value, dict) and set(value) <= set(FAMILIES) and all(map(_is_colour, value.values()))


def _number(low: float, high: float) -> Rule:
    limits = f"a number from {low:g} to {high:g}"
    return Rule(limits, lambda value: isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high, float)


def _one_of(words: tuple[str, ...]) -> Rule:
    return Rule("one of " + ", ".join(f'"{word}"' for word in words), lambda value: value in words, words=words)


_TEXT = Rule("a text of one line", lambda value: isinstance(value, str) and "\n" not in value)
_COLOUR = Rule('a colour such as "#909090"', _is_colour, str.upper)
_FLAG = Rule("true or false", lambda value: isinstance(value, bool))

RULES: dict[str, Rule] = {
    "name": _TEXT,
    "description": _TEXT,
    "grey": _COLOUR,
    "ink": _COLOUR,
    "bracket_colour": _COLOUR,
    "label_colour": _COLOUR,
    "family_colours": Rule(
        f'a table from a family ({", ".join(FAMILIES)}) to a colour such as "#0072B2"', _are_colours,
        lambda value: MappingProxyType({family: value[family].upper() for family in FAMILIES if family in value}), FAMILIES,
    ),
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
    "kinds": Rule(
        "a list of figure kinds", lambda value: isinstance(value, list) and bool(value) and all(each in NAMES for each in value),
        tuple, NAMES,
    ),
    "saves": Rule("a whole number from 1 on", lambda value: isinstance(value, int) and not isinstance(value, bool) and value >= 1),
}  # fmt: skip
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
    values: dict[str, Any] = {"name": name, **{key: _checked(key, value, place) for key, value in table.items()}}
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
    if rule.sound(value):
        return rule.made(value)
    among = value if isinstance(value, list | dict) else [value]
    wrong = next((str(each) for each in among if each not in rule.words), "") if rule.words else ""
    hint = f"; '{wrong}' is none{_meant(wrong, rule.words)}" if wrong else ""
    raise SettingsError(f"{place}: {key} = {repr(value)[:SHOWN]} is wrong: it takes {rule.allowed}{hint}")


def _meant(word: str, known: Iterable[str]) -> str:
    meant = nearest(word, known)
    return f" ({meant})" if meant else ""


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
