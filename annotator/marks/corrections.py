"""The user's last word: ``piece.corrections.toml`` beside ``piece.musicxml``, read, put in force on a report, and begun for the user.

Conventions
-----------
* There are tables of four sorts. ``[[drop]]`` takes a figure off the page, ``[[label]]`` gives one other words, ``[[read]]`` keeps notes
  black, ``[[bracket]]`` is a bracket of one's own. Bars are printed numbers, beats are counted from 1 in the unit of the time signature's
  lower number. A marked or plain copy (``piece-marked``) has the corrections of its own score.
* What is dropped is not replaced by the next best figure: its notes are simply black.
* More black notes take nothing away from the law: what follows from labels and black notes still does.
* A bracket of one's own is a figure of the kind ``own-bracket``. It greys nothing unless it says so; then the first notes are black, the
  others the editor's word, and the page's foot says so.
* Corrections that fit no figure because it was not looked for (``--bars``, ``--hand``, ``--kinds`` …) are no news; all others are told.

>>> corrections_in('drop = [{ bar = 5, hand = "right", kind = "scale-run" }]', "piece.corrections.toml")[0].bar
'5'
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

from annotator.errors import SettingsError
from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.registry import KINDS_BY_NAME, OWN
from annotator.marks.finding import figures_of, find_figures
from annotator.marks.report import Report, beat_of, in_time, named
from annotator.music.score import Note, Part, Score
from annotator.options.option import nearest
from annotator.options.settings import Options
from annotator.words import labels

ENDING = ".corrections.toml"
_COPY = re.compile(r"-(marked(-step-\d)?|plain)$")


class Correction(NamedTuple):
    """One table of a file. ``entry`` is what messages call it; of the rest, each sort has what it takes.

    ``bar``, ``hand`` and as far as is said ``beat``, ``kind``, ``label`` (in any length) say which figure is meant, ``text`` and ``short``
    what it is to be called. ``bars`` (first and last printed number) or ``notes`` (ids) are to be read. A bracket goes from ``start`` to
    ``end`` (bar, beat); ``grey``: all but its first notes are grey, on the editor's word.
    """

    sort: str
    entry: str
    hand: str = "both"
    bar: str = ""
    beat: float | None = None
    kind: str | None = None
    label: str | None = None
    text: str = ""
    short: str = ""
    bars: tuple[str, str] = ("", "")
    notes: tuple[str, ...] = ()
    start: tuple[str, float] = ("", 1)
    end: tuple[str, float] = ("", 1)
    grey: bool = False


# The file.


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


def corrections_of(source: Path) -> tuple[Correction, ...] | None:
    """Return the corrections that stand beside a score; None where there are none. Raises a ``SettingsError`` for a wrong file."""
    place = place_of(source)
    if not _there(place):
        return None
    try:
        return corrections_in(place.read_text(encoding="utf-8"), str(place))
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{place}: cannot be read as text ({error}): mend or remove it") from error


def corrections_in(text: str, name: str) -> tuple[Correction, ...]:
    """Return what the text of a file says. ``name`` stands before messages."""
    import tomllib

    try:
        tables = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError(f"{name}: not a readable TOML file ({error}): mend or remove it") from error
    found = []
    for sort, rows in tables.items():
        if sort not in _SORTS:
            raise SettingsError(f"{name}: there is no [[{sort}]]: {nearest(sort, _SORTS) or 'there are ' + ', '.join(_SORTS)}")
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise SettingsError(f"{name}: {sort} is a list of tables: write [[{sort}]] over each")
        for number, row in enumerate(rows, 1):
            found.append(_correction(sort, f"[[{sort}]] {number}" if len(rows) > 1 else f"[[{sort}]]", row, name))
    return tuple(found)


def _correction(sort: str, entry: str, row: dict[str, Any], name: str) -> Correction:
    """Return what one table says, its keys and values checked."""
    needed, others = _SORTS[sort]
    keys = (*needed, *others)
    for key in row:
        if key not in keys:
            raise SettingsError(f"{name}: {entry}: there is no key {key!r}: {nearest(key, keys) or 'there are ' + ', '.join(keys)}")
    for key in needed:
        if key not in row:
            raise SettingsError(f"{name}: {entry}: {key} is missing: the keys are {', '.join(keys)}")
    if sort == "read" and ("bars" in row) == ("notes" in row):
        raise SettingsError(f"{name}: {entry}: it takes either bars (and a hand) or notes")
    values = {}
    for key, given in row.items():
        wanted, read = _BOTH if (sort, key) == ("read", "hand") else _KEYS[key]
        try:
            values[{"from": "start", "to": "end"}.get(key, key)] = read(given)
        except (TypeError, ValueError, LookupError) as error:
            raise SettingsError(f"{name}: {entry}: {key} = {given!r} is wrong: it takes {wanted}") from error
    return Correction(sort, entry, **{"short": values.get("text", ""), **values})


def _wanted(sound: bool, value: Any) -> Any:
    """Return a value that is as it is wanted."""
    if not sound:
        raise ValueError
    return value


def _line(given: Any) -> str:
    return str(_wanted(isinstance(given, str) and given.strip() != "" and given.isprintable(), given)).strip()


def _bar(given: Any) -> str:
    return str(given) if isinstance(given, int) and not isinstance(given, bool) else _line(given)


def _bars(given: Any) -> tuple[str, str]:
    first, dash, last = (word.strip() for word in _bar(given).replace("–", "-").partition("-"))
    return _wanted(first != "" and (not dash or last != ""), (first, last or first))  # type: ignore[no-any-return]


def _beat(given: Any) -> float:
    return float(_wanted(isinstance(given, int | float) and not isinstance(given, bool) and given >= 1, given))


def _ids(given: Any) -> tuple[str, ...]:
    return tuple([_line(each) for each in _wanted(isinstance(given, list) and given != [], given)])


def _moment(given: Any) -> tuple[str, float]:
    return _bar(given["bar"]), _beat(_wanted(set(given) <= {"bar", "beat"}, given).get("beat", 1))


_KEYS: dict[str, tuple[str, Callable[[Any], Any]]] = {
    "bar": ("a printed bar number", _bar),
    "hand": ("right, left", lambda given: _wanted(given in ("right", "left"), given)),
    "beat": ("a number from 1 on", _beat),
    "kind": ("a kind of figure, as 'annotator figures -h' lists them", lambda given: KINDS_BY_NAME[given].name),
    "label": ("a text of one line in quotes", _line),
    "text": ("a text of one line in quotes", _line),
    "short": ("a text of one line in quotes", _line),
    "bars": ('printed bar numbers: "5-12", or 5', _bars),
    "notes": ('a list of ids of notes: ["n12", "n13"]', _ids),
    "from": ("a bar and a beat: { bar = 5, beat = 1 }", _moment),
    "to": ("a bar and a beat: { bar = 5, beat = 1 }", _moment),
    "grey": ("true or false", lambda given: _wanted(isinstance(given, bool), given)),
}
"""What each key takes, in words and as a reader of its value."""
_BOTH: tuple[str, Callable[[Any], Any]] = ("right, left, both", lambda given: _wanted(given in ("right", "left", "both"), given))
_SORTS = {
    "drop": (("bar", "hand"), ("beat", "kind", "label")),
    "label": (("bar", "hand", "text"), ("beat", "kind", "label", "short")),
    "read": ((), ("bars", "hand", "notes")),
    "bracket": (("from", "to", "hand", "text"), ("short", "grey")),
}
"""The keys that a table of each sort needs, and those that it may have."""


# In force on a report.


def find_corrected(score: Score, options: Options, whole: Score | None = None) -> tuple[Report, tuple[str, ...]]:
    """Return the figures of a score as its file of corrections would have them, and what there is to tell of that file.

    ``whole`` is the score that corrections are held against where this is an excerpt of it. Raises what ``find_figures``
    does, and a ``SettingsError`` for a wrong file.
    """
    report = find_figures(score, options)
    source = Path(score.document.name) if score.document is not None else None
    given = None if source is None else corrections_of(source)
    if source is None or given is None:
        return report, ()
    made, strangers = corrected(report, given)
    if strangers:
        everything = Options(language=options.language, parts=options.parts)
        strangers = corrected(figures_of(whole or score, everything), given)[1]
    counts = ((word, len(_of_sort(given, sort))) for sort, word in _ORDER.items())
    said = ", ".join(f"{word} {count}" for word, count in counts if count) or "none in force"
    return made, (f"corrections from {place_of(source)}: {said}", *(f"{place_of(source)}: {each}" for each in strangers))


_ORDER = {"drop": "dropped", "label": "renamed", "bracket": "brackets added", "read": "kept black"}
"""In which order corrections are made, and what is said of their number."""


def corrected(report: Report, given: Iterable[Correction]) -> tuple[Report, tuple[str, ...]]:
    """Return a report with corrections in force, and a line for each of them that does not fit the score."""
    figures = [figure for _, figure in report.figures]
    strangers: list[str] = []
    made = {"drop": _dropped, "label": _renamed, "bracket": _bracketed, "read": _kept_black}
    for each in (each for sort in _ORDER for each in _of_sort(given, sort)):
        figures, said = made[each.sort](report, figures, each)
        strangers += [f"{each.entry}{line}" for line in said]
    return replace(report, figures=named(report.score, figures)), tuple(strangers)


def _of_sort(given: Iterable[Correction], sort: str) -> list[Correction]:
    return [each for each in given if each.sort == sort]


Made = tuple[list[Figure], list[str]]
"""The figures once a correction has been made, and what there is to say where it fits none."""


def _dropped(report: Report, figures: list[Figure], drop: Correction) -> Made:
    meant = _meant(report, figures, drop)
    return [figure for figure in figures if figure not in meant], [] if meant else [_nothing(drop)]


def _renamed(report: Report, figures: list[Figure], label: Correction) -> Made:
    meant = _meant(report, figures, label)
    if len(meant) != 1:
        several = f" fits {len(meant)} figures (bar {label.bar}, {label.hand} hand): say which by beat, kind or label"
        return figures, [several if meant else _nothing(label)]
    words = (label.text, label.text, label.short)
    return [replace(figure, own_words=words) if figure is meant[0] else figure for figure in figures], []


def _bracketed(report: Report, figures: list[Figure], own: Correction) -> Made:
    for part in report.score.parts:
        first, last = (_tick(part, *end, report.score.resolution) for end in (own.start, own.end))
        notes = [note for note in part.notes if note.number in report.counted and hand_of(part, note) == own.hand]
        within = [note for note in notes if note.visible and first <= note.tick <= last]
        if within:
            return [*figures, _bracket(own, part, within)], []
    start, end = (f"bar {bar}, beat {beat:g}" for bar, beat in (own.start, own.end))
    return figures, [f" ({own.text!r}): no note of the {own.hand} hand from {start} to {end}"]


def _kept_black(report: Report, figures: list[Figure], read: Correction) -> Made:
    notes = [note for part in report.score.parts for note in part.notes]
    if read.notes:
        numbers = {note.number for note in notes if note.id in read.notes}
        there = {note.id for note in notes}
        said = [f": there is no note {each}" for each in read.notes if each not in there]
    else:
        numbers = {note.number for part in report.score.parts for note in _in_bars(part, read)}
        said = [] if numbers else [f": no note stands in bars {'–'.join(dict.fromkeys(read.bars))}"]
    return [_blackened(figure, numbers) for figure in figures], said


def _meant(report: Report, figures: list[Figure], which: Correction) -> list[Figure]:
    """Return the figures that a correction means."""
    found = []
    for figure in figures:
        first = figure.moments[0][0]
        bar = report.bars[first.part][first.bar]
        place = bar.number == which.bar and which.beat in (None, beat_of(first, bar, report.score.resolution))
        hand = which.hand == figure.hand or figure.both_hands
        names = (*labels(figure, report.language), *labels(figure)) if which.label else (None,)
        if place and hand and which.kind in (None, figure.kind) and which.label in names:
            found.append(figure)
    return found


def _nothing(which: Correction) -> str:
    beat = "" if which.beat is None else f", beat {which.beat:g}"
    return f": no {which.label or which.kind or 'figure'} begins in bar {which.bar}{beat}, {which.hand} hand"


def _bracket(own: Correction, part: Part, notes: list[Note]) -> Figure:
    struck = in_time(note for note in notes if note.continues is None)
    moments = tuple(tuple(moment) for _, moment in groupby(struck, key=lambda note: note.tick))
    numbers = {note.number for note in struck}
    return Figure(
        kind=OWN.name,
        part=part.id,
        staff=moments[0][0].staff,
        voice=moments[0][0].voice,
        hand=own.hand,
        moments=moments,
        anchors=moments[0] if own.grey else tuple(struck),
        own_words=(own.text, own.text, own.short),
        tied=tuple(note for note in part.notes if note.continues in numbers),
    )


def _blackened(figure: Figure, numbers: set[int]) -> Figure:
    more = [note for note in figure.grey if note.number in numbers]
    return replace(figure, anchors=tuple(in_time([*figure.anchors, *more]))) if more else figure


def _tick(part: Part, number: str, beat: float, resolution: int) -> int:
    """Return the tick of a beat of the first bar that is printed with a number; before all others where there is none."""
    bar = next((bar for bar in part.bars if bar.number == number), None)
    if bar is None:
        return -1
    unit = Fraction(4 * resolution, bar.time.beat_type if bar.time else 4)
    return bar.tick - bar.offset + round((Fraction(beat) - 1) * unit)


def _in_bars(part: Part, read: Correction) -> Iterator[Note]:
    """Yield the notes of a part in the bars and the hand that are to be read."""
    numbers = [bar.number for bar in part.bars]
    first, last = read.bars
    if first in numbers and last in numbers:
        within = range(numbers.index(first), len(numbers) - numbers[::-1].index(last))
        yield from (note for note in part.notes if note.bar in within and read.hand in ("both", hand_of(part, note)))


# A file to begin with.

HEAD = """\
# Corrections to {name}. Nothing is in force while a # stands before it.
# Every figure found stands below as a [[drop]]: take the # off its lines, and it is gone from all copies.
# Write [[label]] in place of [[drop]], and text = "…" below it, and it stays under another label.
#
# Notes that stay black, by bars and hand, or by their ids (annotator figures --json tells them):
#   [[read]]
#   bars = "3-4"
#   hand = "left"
#
# A bracket of your own. It greys nothing, unless grey = true; then the page's foot says that these notes are yours:
#   [[bracket]]
#   from = {{ bar = "5", beat = 1 }}
#   to = {{ bar = "6", beat = 3 }}
#   hand = "right"
#   text = "like the bells"
"""


def listing(report: Report, name: str) -> str:
    """Return the text of a file with every figure of a report as a comment. ``name`` is that of the score."""
    from json import dumps

    blocks = [HEAD.format(name=" ".join(name.split()))]
    for (_, figure), row in zip(report.figures, report.rows(), strict=True):
        first = figure.moments[0][0]
        bar = report.bars[first.part][first.bar]
        beat = float(beat_of(first, bar, report.score.resolution))
        beat = int(beat) if beat.is_integer() else beat
        says = {"bar": bar.number, "beat": beat, "hand": figure.hand, "kind": figure.kind, "label": row.label}
        lines = [f"#{key} = {dumps(value, ensure_ascii=False)}" for key, value in says.items()]
        blocks.append("\n".join([f"# {row.notes} notes, {row.to_read} to read", "#[[drop]]", *lines]) + "\n")
    return "\n".join(blocks)
