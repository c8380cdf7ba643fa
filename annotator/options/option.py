"""One option, or one key of a file: what it takes and is for, how its value is read, and the one line that is said to a wrong one."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import inf
from pathlib import Path
from typing import Any, NamedTuple

from annotator.errors import MissingError, SettingsError, UsageError


class Takes(NamedTuple):
    """What an option takes: one of ``words`` (none: any), or a number from ``least`` to ``most`` (None: no limit).

    ``shape`` is the type of a value, tuple for a list with commas, or whatever makes one of what is given, or raises an error of the
    language's; ``metavar`` is its name in a line of help. ``of`` names the words of an option that are known only further up in the house
    (``words_of`` of the project file). ``offered`` are words that completion offers where any will do. ``besides`` tells in words what an
    option takes, of its words what else; ``knows`` tells whether a word that is none of them is taken all the same.
    """

    shape: Any
    metavar: str = ""
    words: tuple[str, ...] = ()
    of: str = ""
    least: float | None = None
    most: float | None = None
    offered: tuple[str, ...] = ()
    besides: str = ""
    knows: Callable[[str], object] = lambda _word: False


def line(given: Any) -> str:
    """Return a text of one line without the blanks around it; ``ValueError`` for what is none, or is blank."""
    if not isinstance(given, str) or not given.strip() or not given.isprintable():
        raise ValueError
    return given.strip()


LINE = Takes(line, besides="a text of one line in quotes")

Bars = tuple[tuple[str, str], ...]
"""Stretches of bars, each by its first and last printed number; an empty one is the score's own first or last."""


class Between(NamedTuple):
    """The numbers from one to another, both among them; written ``20-35``, or with one end open ``20-`` and ``-35``.

    >>> str(Between(20, 35)), str(Between(20, inf)), 35 in Between(20, 35), 36 in Between(20, 35)
    ('20-35', '20-', True, False)
    """

    least: float
    most: float

    def __contains__(self, number: object) -> bool:
        """Return whether a number lies between."""
        return isinstance(number, int | float) and self.least <= number <= self.most

    def __str__(self) -> str:
        """Return it as it is typed."""
        return "-".join("" if abs(end) == inf else f"{end:g}" for end in (self.least, self.most))


class Row(NamedTuple):
    """One option. ``key`` is its name in a project file and, after two dashes, on the command line; ``name`` that of the field.

    ``in_file`` and ``in_python`` say whether a project file and a function take it. ``unset`` says what holds where nothing is said and
    the default is no word of its own. ``of_survey`` is the help where the command is ``survey``, if that says another. ``first`` puts a
    row before those that many commands share.
    """

    name: str
    default: Any
    takes: Takes
    help: str
    commands: tuple[str, ...]
    in_file: bool = True
    in_python: bool = True
    unset: str = ""
    short: str = ""
    of_survey: str = ""
    first: bool = False

    @property
    def key(self) -> str:
        """Its name where a hyphen or a word of Python may stand in a name."""
        return self.name.strip("_").replace("_", "-")

    @property
    def by_default(self) -> str:
        """What holds where nothing is said, in words; empty for a flag, and where that is nothing."""
        return self.unset or ("" if self.default in (None, False) else str(self.default))

    def text(self, options: object) -> str:
        """Return what options say of it, as one would type it; where they say nothing, what holds then."""
        value = getattr(options, self.name)
        if value == self.default:
            return self.by_default or ("no" if value is False else "none")
        if self.takes.shape is range:
            return ",".join(first if first == last else f"{first}-{last}" for first, last in value)
        if self.takes.shape is tuple:
            return ",".join(value)
        return "yes" if value is True else str(value)

    def helps(self, command: str = "") -> str:
        """Return its line of help in a command; the words and limits it takes, and its default, are filled in."""
        if command == "survey" and self.of_survey:
            return self.of_survey
        *others, last = self.takes.words or ("",)
        values = f"{', '.join(others)} or {last}" if others else last
        text = self.help.format(values=values, least=self.takes.least, most=self.takes.most)
        return f"{text} Default: {self.by_default}." if self.by_default else text


def value_of(row: Row, given: object, typed: bool = False) -> Any:
    """Return what was given for an option as the value that its field holds; the rest as for ``taken``."""
    return taken(row.takes, given, f"--{row.key}" if typed else row.key, typed)


def taken(takes: Takes, given: object, key: str, typed: bool = False) -> Any:
    """Return what was given for a key as a value of the shape it takes; raise the one ``UsageError`` that says what that is.

    ``typed``: it is text from a command line, which numbers are read from.

    >>> steps = Row("steps", None, Takes(int, least=1, most=4), "How many copies.", ("mark",))
    >>> value_of(steps, "2", typed=True)
    2
    >>> value_of(steps, "many", typed=True)
    Traceback (most recent call last):
    annotator.errors.UsageError: --steps many is wrong: it takes a whole number from 1 to 4
    >>> bars = Row("bars", None, Takes(range), "Only these bars.", ("mark",))
    >>> value_of(bars, "5-12"), value_of(bars, "7"), value_of(bars, ("5", "12"))
    ((('5', '12'),), (('7', '7'),), (('5', '12'),))
    >>> value_of(bars, "-4,9-12,20-")
    (('', '4'), ('9', '12'), ('20', ''))
    """
    choices, wrong = takes.words, given
    try:
        value = _shaped(takes, given, typed)
        among = value if isinstance(value, tuple) else (value,)
        strangers = [each for each in among if choices and each not in choices and not takes.knows(each)]
        if not strangers:
            return value
        wrong = strangers[0]
    except (TypeError, ValueError, LookupError):
        pass
    said = f"{key} {wrong}" if typed else f"{key} = {wrong!r}"
    meant = nearest(wrong, choices) if isinstance(wrong, str) else ""
    raise UsageError(f"{said} is wrong{f' ({meant})' if meant else ''}: it takes {_allowed(takes)}")


def _shaped(takes: Takes, given: Any, typed: bool) -> Any:
    """Return what was given in the shape that is wanted; raise an error of the language's where it has another, or is out of bounds."""
    shape, value = takes.shape, given
    if shape is tuple:
        value = words_of(given) if isinstance(given, str) else tuple(given) if isinstance(given, list | tuple) else ()
        sound = len(value) >= (takes.least or 0) and all(isinstance(word, str) for word in value) and isinstance(given, str | list | tuple)
    elif shape is range:
        value = _bars(given)
        sound = True
    elif shape is Between:
        value = Between(*(_ends(given) if isinstance(given, str) else given))
        written = [end for end in value if abs(end) != inf]
        sound = written != [] and value.least <= value.most and all(_within(takes, end) for end in written)
    elif shape in (int, float):
        value = shape(given) if typed else given
        sound = isinstance(value, (int, shape)) and not isinstance(value, bool) and _within(takes, value)
        value = shape(value) if sound else value
    elif shape is bool:
        sound = isinstance(given, bool)
    else:
        value = shape(given)
        sound = shape not in (str, Path) or isinstance(given, str | Path)
    if not sound:
        raise ValueError
    return value


def _bars(given: Any) -> Bars:
    """Return the stretches of bars that a number, a text with commas, a pair of numbers, or several pairs mean."""
    if isinstance(given, str | int) and not isinstance(given, bool):
        return tuple([_stretch(word) for word in str(given).replace("–", "-").split(",")])
    pairs = [given] if all(isinstance(number, str | int) for number in given) else given
    if not all(isinstance(pair, list | tuple) for pair in (given, *pairs)):
        raise TypeError
    return tuple([(str(first), str(last)) for first, last in pairs])


def _stretch(text: str) -> tuple[str, str]:
    """Return the first and last printed bar number of ``5-12``, or of ``5`` alone; of ``5-`` and ``-12`` one is empty: an open end."""
    first, dash, last = (word.strip() for word in text.partition("-"))
    if not first and not last:
        raise ValueError
    return first, last if dash else first


def _ends(text: str) -> tuple[float, float]:
    """Return the numbers before and after the hyphen; an end that is not there is open."""
    first, last = text.split("-")
    return float(first.strip() or -inf), float(last.strip() or inf)


def _within(takes: Takes, number: Any) -> bool:
    return (takes.least is None or number >= takes.least) and (takes.most is None or number <= takes.most)


def _allowed(takes: Takes) -> str:
    """Return in words what an option takes."""
    if takes.shape in (int, float):
        kind = "a whole number" if takes.shape is int else "a number"
        return f"{kind} from {takes.least} on" if takes.most is None else f"{kind} from {takes.least} to {takes.most}"
    if takes.shape is Between:
        return f"two numbers from {takes.least} to {takes.most}: write them as 20-35, 20- or -35"
    if takes.words:
        return ", ".join(takes.words) + (f"; {takes.besides}" if takes.besides else "")
    return {tuple: "a list of words", range: "printed bar numbers: write them as 5-12, 5-, -12 or 1-4,9-12", bool: "true or false"}.get(
        takes.shape, takes.besides or "text in quotes"
    )


def text_in(path: Path, what: str = "file") -> str:
    """Return the text of a file written by hand, which is called ``what``. A ``MissingError`` or ``SettingsError`` says why not."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise SettingsError(f"{path}: this {what} is no UTF-8 text: save it as UTF-8") from error
    except OSError as error:
        raise MissingError(f"{path}: this {what} cannot be read ({error.strerror})") from error


def toml_of(text: str, place: str) -> dict[str, Any]:
    """Return what the text of a TOML file says. Raises a ``SettingsError``; ``place`` names the file."""
    import tomllib

    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError(f"{place}: not a readable TOML file ({error}): mend or remove it") from error


def known(given: Iterable[str], names: Iterable[str], what: str = "setting") -> None:
    """Raise a ``UsageError`` for a name that is none of those there are, with the one that was probably meant."""
    there = list(names)
    for name in given:
        if name not in there:
            raise UsageError(f"there is no {what} {name!r}: {nearest(name, there) or 'they are ' + ', '.join(there)}")


def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a text with commas.

    >>> words_of("trill, turn")
    ('trill', 'turn')
    """
    return tuple(word.strip() for word in text.split(",") if word.strip())


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the question for the known word that was probably meant, in whatever case it was written; none is near: nothing.

    >>> nearest("Scale-Runs", ("scale-run", "trill")), nearest("x", ("trill",))
    ("did you mean 'scale-run'?", '')
    """
    from difflib import get_close_matches

    near = get_close_matches(word.lower(), list(known), 1)
    return f"did you mean {near[0]!r}?" if near else ""
