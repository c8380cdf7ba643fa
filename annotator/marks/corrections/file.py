"""The file of corrections as data: ``piece.corrections.toml`` beside ``piece.musicxml``, with tables of four sorts.

Conventions: ``[[drop]]`` takes a figure off the page, ``[[label]]`` gives one other words, ``[[read]]`` keeps notes black, ``[[bracket]]``
is a bracket of one's own. Bars are printed numbers, beats are counted from 1 in the unit of the time signature's lower number. A marked or
plain copy (``piece-marked``) has the corrections of its own score.

>>> correct = corrections_in('drop = [{ bar = 5, hand = "right", kind = "scale-run" }]', "piece.corrections.toml")
>>> correct.drops[0].which
Which(bar='5', hand='right', beat=None, kind='scale-run', label=None)
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from annotator.errors import SettingsError
from annotator.figures.registry import KINDS_BY_NAME
from annotator.options.option import nearest

ENDING = ".corrections.toml"
_COPY = re.compile(r"-(marked(-step-\d)?|plain)$")


@dataclass(frozen=True, slots=True)
class Which:
    """A figure by where it begins and what it is: printed bar and hand, and as far as is said beat, kind, label in any length."""

    bar: str
    hand: str
    beat: float | None
    kind: str | None
    label: str | None


@dataclass(frozen=True, slots=True)
class Drop:
    """A figure that is not to be shown. ``entry`` is the table as messages name it."""

    entry: str
    which: Which


@dataclass(frozen=True, slots=True)
class Relabel:
    """A figure whose label is to say something else."""

    entry: str
    which: Which
    text: str
    short: str


@dataclass(frozen=True, slots=True)
class Read:
    """Notes that stay black: those of some bars (first and last printed number) and a hand, or those with these ids."""

    entry: str
    bars: tuple[str, str] | None
    hand: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Own:
    """A bracket of one's own, from one (bar, beat) to another; ``grey``: all but its first notes are grey, on the editor's word."""

    entry: str
    start: tuple[str, float]
    end: tuple[str, float]
    hand: str
    text: str
    short: str
    grey: bool


@dataclass(frozen=True, slots=True)
class Corrections:
    """All that a file says."""

    name: str
    drops: tuple[Drop, ...] = ()
    labels: tuple[Relabel, ...] = ()
    reads: tuple[Read, ...] = ()
    brackets: tuple[Own, ...] = ()


def place_of(source: Path) -> Path:
    """Return where the corrections of a score stand, or would stand.

    >>> place_of(Path("piece.mxl")).name, place_of(Path("a-marked.musicxml")).name
    ('piece.corrections.toml', 'a.corrections.toml')
    """
    stem = (source.with_suffix("") if source.suffix.lower() == ".gz" else source).stem
    own = source.with_name(stem + ENDING)
    bare = _COPY.sub("", stem)
    return own if _there(own) or not bare else source.with_name(bare + ENDING)


def _there(place: Path) -> bool:
    """Return whether a file is there; none can be whose name would be too long."""
    try:
        return place.is_file()
    except OSError:
        return False


def corrections_of(source: Path) -> Corrections | None:
    """Return the corrections that stand beside a score; None where there are none. Raises a ``SettingsError`` for a wrong file."""
    place = place_of(source)
    if not _there(place):
        return None
    try:
        text = place.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{place}: cannot be read as text ({error}): mend or remove it") from error
    return corrections_in(text, str(place))


def corrections_in(text: str, name: str) -> Corrections:
    """Return what the text of a file says. ``name`` stands before messages."""
    try:
        tables = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError(f"{name}: not a readable TOML file ({error}): mend or remove it") from error
    found: dict[str, list[Any]] = {sort: [] for sort in _SORTS}
    for sort, rows in tables.items():
        if sort not in _SORTS:
            raise SettingsError(f"{name}: there is no [[{sort}]]: {nearest(sort, _SORTS) or 'there are ' + _listed(_SORTS)}")
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise SettingsError(f"{name}: {sort} is a list of tables: write [[{sort}]] over each")
        for number, row in enumerate(rows, 1):
            entry = f"[[{sort}]] {number}" if len(rows) > 1 else f"[[{sort}]]"
            found[sort].append(_SORTS[sort](_Table(row, entry, f"{name}: {entry}")))
    return Corrections(name, tuple(found["drop"]), tuple(found["label"]), tuple(found["read"]), tuple(found["bracket"]))


class _Table:
    """One table of a file, asked for its values; what is wrong with one is told with its place."""

    def __init__(self, row: Mapping[str, Any], entry: str, place: str) -> None:
        self.row, self.entry, self.place = row, entry, place

    def takes(self, *keys: str, needs: tuple[str, ...] = ()) -> None:
        """Refuse a key that is none of these, and the lack of one that is needed."""
        for key in self.row:
            if key not in keys:
                raise SettingsError(f"{self.place}: there is no key {key!r}: {nearest(key, keys) or 'there are ' + _listed(keys)}")
        for key in needs:
            if key not in self.row:
                raise SettingsError(f"{self.place}: {key} is missing: the keys are {_listed(keys)}")

    def value(self, key: str, wanted: str, read: Callable[[Any], Any]) -> Any:
        """Return a value as it is read; None where the key is not there. ``wanted`` says what it takes."""
        if key not in self.row:
            return None
        try:
            return read(self.row[key])
        except (TypeError, ValueError, LookupError) as error:
            raise SettingsError(f"{self.place}: {key} = {self.row[key]!r} is wrong: it takes {wanted}") from error

    def text(self, key: str) -> str:
        """Return a text of one line; empty where the key is not there."""
        return self.value(key, "a text of one line in quotes", _line) or ""

    def hand(self, *more: str) -> str:
        """Return a hand: right or left, or some other word that is taken here."""
        hands = ("right", "left", *more)
        return str(self.value("hand", _listed(hands), lambda given: hands[hands.index(given)]) or hands[-1])

    def which(self) -> Which:
        """Return the figure that is meant."""
        bar = self.value("bar", "a printed bar number", _bar)
        beat = self.value("beat", "a number from 1 on", _beat)
        kind = self.value("kind", "a kind of figure, as 'annotator figures -h' lists them", _kind)
        return Which(bar, self.hand(), beat, kind, self.text("label") or None)


def _drop(table: _Table) -> Drop:
    table.takes("bar", "hand", "beat", "kind", "label", needs=("bar", "hand"))
    return Drop(table.entry, table.which())


def _relabel(table: _Table) -> Relabel:
    table.takes("bar", "hand", "beat", "kind", "label", "text", "short", needs=("bar", "hand", "text"))
    text = table.text("text")
    return Relabel(table.entry, table.which(), text, table.text("short") or text)


def _read(table: _Table) -> Read:
    table.takes("bars", "hand", "notes")
    if ("bars" in table.row) == ("notes" in table.row):
        raise SettingsError(f"{table.place}: it takes either bars (and a hand) or notes")
    bars = table.value("bars", 'printed bar numbers: "5-12", or 5', _bars)
    notes = table.value("notes", 'a list of ids of notes: ["n12", "n13"]', _ids)
    return Read(table.entry, bars, table.hand("both"), notes or ())


def _own(table: _Table) -> Own:
    table.takes("from", "to", "hand", "text", "short", "grey", needs=("from", "to", "hand", "text"))
    start, end = (table.value(key, "a bar and a beat: { bar = 5, beat = 1 }", _moment) for key in ("from", "to"))
    grey = table.value("grey", "true or false", _flag)
    text = table.text("text")
    return Own(table.entry, start, end, table.hand(), text, table.text("short") or text, bool(grey))


_SORTS: dict[str, Callable[[_Table], Any]] = {"drop": _drop, "label": _relabel, "read": _read, "bracket": _own}
"""The four sorts of tables."""


def _listed(words: Any) -> str:
    return ", ".join(words)


def _line(given: Any) -> str:
    if not isinstance(given, str) or not given.strip() or not given.isprintable():
        raise ValueError
    return given.strip()


def _bar(given: Any) -> str:
    return str(given) if isinstance(given, int) and not isinstance(given, bool) else _line(given)


def _bars(given: Any) -> tuple[str, str]:
    first, dash, last = _bar(given).replace("–", "-").partition("-")
    if not first.strip() or (dash and not last.strip()):
        raise ValueError
    return first.strip(), last.strip() or first.strip()


def _beat(given: Any) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float) or not given >= 1:
        raise ValueError
    return float(given)


def _kind(given: Any) -> str:
    return KINDS_BY_NAME[given].name


def _ids(given: Any) -> tuple[str, ...]:
    if not isinstance(given, list) or not given:
        raise ValueError
    return tuple(_line(each) for each in given)


def _flag(given: Any) -> bool:
    if not isinstance(given, bool):
        raise ValueError
    return given


def _moment(given: Any) -> tuple[str, float]:
    if not isinstance(given, dict) or not set(given) <= {"bar", "beat"}:
        raise ValueError
    return _bar(given["bar"]), _beat(given.get("beat", 1))
