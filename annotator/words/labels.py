"""What is said of a figure, and which kinds are meant by a word: names and rules of kinds, labels in three lengths.

Conventions: which template a label takes and what fills it is the kind's own affair (``Kind.label``, as ``LabelData``); here names of
notes, chords and scales are put in, in the words of a language. The words of a kind stand in the group of its name, and in a group that it
shares with others (``Kind.words``); what its own group says goes before. The octaves of a way are counted from two up.

A kind is meant by its own name, a name that the tables print (whatever the case), its family in the plural (``runs``), or a pattern. A
family and a pattern mean the kinds that are looked for unasked; one that is only looked for where it is asked for must be named.

>>> kind_name("parallel-thirds"), kind_name("alberti-bass", "de"), rule_words("parallel-thirds")[:45]
('in thirds', 'Alberti-Bass', 'The other note of each pair lies a third away')
>>> kinds_meant("scale-run"), kinds_meant("Run"), kinds_meant("in Terzen")
(('scale-run',), ('scale-run',), ('parallel-thirds',))
>>> kinds_meant("runs"), kinds_meant("hands-in-*s")[-1], kinds_meant("block-chord"), kinds_meant("noise")
(('scale-run', 'chromatic-run'), 'hands-in-tenths', ('block-chord',), ())
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fnmatch import fnmatchcase
from itertools import pairwise
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from annotator.figures.figure import Figure, LabelData, first_chord
from annotator.music.chords import Chord
from annotator.music.intervals import LETTERS
from annotator.music.names import name_of
from annotator.music.score import Note
from annotator.options.option import value_of
from annotator.options.settings import LANGUAGES, row_of
from annotator.words.language import Language, Template, language_of
from annotator.words.phrases import OCTAVE, chord_name, chord_symbol, interval_name, note_name, scale_names

if TYPE_CHECKING:
    from annotator.figures.registry import Kind

LISTED = 8  # the most notes that a label names one by one; then the first and the last
MANY = 6  # from so many stations of a way on, the shorter lengths name the first and the last only


def labels(figure: Figure, language: str = "en") -> Template:
    """Return the label of a figure in three lengths: long, medium, short."""
    if figure.own_words is not None:
        return figure.own_words
    kind = _kinds()[figure.kind]
    said = kind.label(figure)
    template = _said(kind, said.template, language)
    long, medium, short = (_filled(kind, text, language, _of_label(said, language, length)) for length, text in enumerate(template))
    return long, medium, short


def unnamed(figure: Figure, language: str = "en") -> tuple[str, ...]:
    """Return those labels of a scale run, of its three, that name no scale: where one stands, the key signature is meant."""
    if figure.kind != "scale-run":
        return ()
    kind = _kinds()[figure.kind]
    template = _said(kind, kind.label(figure).template, language)
    return tuple(label for label, text in zip(labels(figure, language), template, strict=True) if "{scale}" not in text)


def change_words(figure: Figure, language: str = "en") -> tuple[tuple[Note, str], ...]:
    """Return the chord names that stand at the later changes of an accompaniment, each with the first note of its group."""
    found: list[tuple[Note, str]] = []
    before = first_chord(figure) if figure.changes else None
    for change in figure.changes:
        if change.moment > 0 and change.chord != before:
            found.append((change.note, chord_symbol(change.chord, language)))
        before = change.chord
    return tuple(found)


def kind_name(kind: str, language: str = "en") -> str:
    """Return the name of a kind of figure for people; a kind that is none (of another version) keeps its machine name."""
    return _words(kind, "name", language) if kind in _kinds() else kind


def rule_words(kind: str, language: str = "en") -> str:
    """Return the rule of a kind of figure, as a pupil is told it: one sentence, from which every grey note follows."""
    return _words(kind, "rule", language)


def dark_words(kind: str, language: str = "en") -> str:
    """Return what stays black in a kind of figure."""
    return _words(kind, "dark", language)


def kinds_meant(word: str) -> tuple[str, ...]:
    """Return the kinds that a word means, in the order of the vocabulary; none: it means nothing."""
    from annotator.figures.registry import KINDS

    said = word.strip().casefold()
    usual = [kind for kind in KINDS if kind.default]
    return (
        tuple(kind.name for kind in KINDS if said == kind.name)
        or tuple(kind.name for kind in KINDS if any(said == kind_name(kind.name, language).casefold() for language in LANGUAGES))
        or tuple(kind.name for kind in usual if said == f"{kind.family.removesuffix('s')}s")
        or tuple(kind.name for kind in usual if {"*", "?"} & set(said) and fnmatchcase(kind.name, said))
    )


def kinds_taken(option: str, given: object, typed: bool = False) -> Any:
    """Return the words for kinds that were given for an option. Raises the ``UsageError`` that says what it takes (see ``value_of``)."""
    from annotator.figures.registry import KINDS_BY_NAME

    row = row_of(option)
    return value_of(row._replace(takes=row.takes._replace(words=tuple(KINDS_BY_NAME), knows=kinds_meant)), given, typed)


def all_meant(words: Iterable[str]) -> tuple[str, ...]:
    """Return the kinds that several words mean, each once."""
    return tuple(dict.fromkeys(kind for word in words for kind in kinds_meant(word)))


def _kinds() -> Mapping[str, Kind]:
    """Return the kinds by name: loaded only where one is spoken of, since a survey of scores that are known needs no figures."""
    from annotator.figures.registry import KINDS_BY_NAME, OWN

    return {**KINDS_BY_NAME, OWN.name: OWN}


def _words(kind: str, key: str, language: str) -> str:
    return _filled(_kinds()[kind], _said(_kinds()[kind], key, language), language)


def _said(kind: Kind, key: str, language: str) -> Any:
    """Return what is said of a kind under a key, a text or the three of a label: in its own group, or in the one it shares."""
    groups = language_of(language).figures
    return {**groups.get(kind.words, {}), **groups.get(kind.name, {})}[key]


def _filled(kind: Kind, text: str, language: str, blanks: Mapping[str, str] = MappingProxyType({})) -> str:
    """Return a text with its blanks filled, those of the kind's interval too."""
    own = {} if kind.interval is None else {
        "double": language_of(language).doubles[kind.interval], "interval": interval_name(LETTERS[kind.interval], language)
    }  # fmt: skip
    return text.format(**{**own, **blanks})


def _of_label(said: LabelData, language: str, length: int) -> dict[str, str]:
    """Return the blanks that a label's data fill; ``length`` is 0 for the long label, 1 for the medium, 2 for the short."""
    words = language_of(language)
    found: dict[str, str] = {}
    if said.scale:
        found["scale"] = scale_names(said.scale, language)[min(length, 1)]
    if said.chord:
        found |= _of_chord(said.chord, language, length)
    if said.path:
        found["path"] = _path(said.path, language, length)
    if said.notes:
        names = _names(said.notes, language)
        found["notes"] = ", ".join(names) if len(names) <= LISTED else f"{names[0]} … {names[-1]}"
    if said.strokes:
        between = " / " if any(len(stroke) > 1 for stroke in said.strokes) else "–"
        found["strokes"] = between.join("+".join(_names(stroke, language)) for stroke in said.strokes)
    if said.distance is not None:
        found["distance"] = words.distances.get(str(said.distance)) or words.distances["steps"].format(n=said.distance)
        found["interval"] = interval_name(said.distance, language)
        found["near"] = _near(said.distance, words)
    if said.times is not None:
        found["times"] = str(said.times)
    if said.repeats is not None:
        found["repeats"] = f" ×{said.repeats}" if said.repeats > 1 else ""
        found["hands"] = words.copies["both-hands"][length] if said.both_hands else ""
    if said.bars is not None:
        found["bar"], found["last"] = said.bars
    if said.follows is not None:
        found["hand"] = words.copies[said.follows][length]
        found["h"] = words.copies[said.follows][1]
    return found


def _of_chord(chord: Chord, language: str, length: int) -> dict[str, str]:
    return {
        "chord": chord_name(chord, language, inverted=False),
        "name": chord_name(chord, language),
        "root": chord_symbol(chord, language, bass=False),
        "symbol": chord_symbol(chord, language),
        "inversion": language_of(language).inversions[str(chord.inversion)][min(length, 1)] if chord.inversion else "",
    }


def _names(notes: Iterable[Note], language: str) -> list[str]:
    return [note_name(name_of(note.pitch), language) for note in notes]


def _near(steps: int, words: Language) -> str:
    """Return a distance as the shortest labels say it."""
    if str(steps) in words.near:
        return words.near[str(steps)]
    octaves, rest = divmod(steps, OCTAVE)
    several = words.near["octaves"].format(n=octaves) if octaves > 1 else words.near[str(OCTAVE)]
    return words.near["octave-and"].format(octaves=several, rest=_near(rest, words)) if rest else several


def _path(stations: tuple[Note, ...], language: str, length: int) -> str:
    """Return the way: ``C→C, 2 octaves down``, ``C→C, 2 oct. down``, ``C→C``."""
    names = _names(stations, language)
    told = names if length == 0 or len(names) < MANY else [names[0], "…", names[-1]]
    count = _octaves(stations, language, length)
    return "→".join(told) + (f", {count}" if count else "")


def _octaves(notes: tuple[Note, ...], language: str, length: int) -> str:
    """Return the count of octaves, empty below two octaves."""
    legs = [int(b.pitch.semitone - a.pitch.semitone) for a, b in pairwise(notes)]
    count, rest = divmod(min(map(abs, legs), default=0), 12)
    if count < 2 or (len(legs) > 1 and any(abs(leg) != 12 * count for leg in legs)):
        return ""
    key = "turning" if len(legs) > 1 else ("over-" if rest else "") + ("up" if legs[0] > 0 else "down")
    return language_of(language).octaves[key][length].format(n=count)
