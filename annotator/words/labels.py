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
from typing import TYPE_CHECKING

from annotator.errors import SettingsError
from annotator.figures.figure import Figure, LabelData, first_chord
from annotator.music.intervals import LETTERS
from annotator.music.names import Chord, name_of
from annotator.music.score import Note
from annotator.options.settings import LANGUAGES
from annotator.words.language import FigureWords, Language, Template, filled, language_of
from annotator.words.names import OCTAVE, chord_symbol, full_name, interval_name, inverted_name, named, scale_names

if TYPE_CHECKING:
    from annotator.figures.registry import Kind

Blanks = Mapping[str, str | Template]

LISTED = 8  # the most notes that a label names one by one; then the first and the last
MANY = 6  # from so many stations of a way on, the shorter lengths name the first and the last only


def labels(figure: Figure, language: str = "en") -> Template:
    """Return the label of a figure in three lengths: long, medium, short."""
    if figure.own_words is not None:
        return figure.own_words
    words, kind = language_of(language), _kinds()[figure.kind]
    said = kind.label(figure)
    template = _template(kind, said, words)
    blanks = {**_of_kind(kind, words), **_of_label(said, words)}
    long, medium, short = (
        filled(text, {key: blank if isinstance(blank, str) else blank[length] for key, blank in blanks.items()}, _place(kind, words))
        for length, text in enumerate(template)
    )
    return long, medium, short


def unnamed(figure: Figure, language: str = "en") -> tuple[str, ...]:
    """Return those labels of a scale run, of its three, that name no scale: where one stands, the key signature is meant."""
    if figure.kind != "scale-run":
        return ()
    kind = _kinds()[figure.kind]
    template = _template(kind, kind.label(figure), language_of(language))
    return tuple(label for label, text in zip(labels(figure, language), template, strict=True) if "{scale}" not in text)


def change_words(figure: Figure, language: str = "en") -> tuple[tuple[Note, str], ...]:
    """Return the chord names that stand at the later changes of an accompaniment, each with the first note of its group."""
    words = language_of(language)
    found: list[tuple[Note, str]] = []
    before = first_chord(figure) if figure.changes else None
    for change in figure.changes:
        if change.moment > 0 and change.chord != before:
            found.append((change.note, chord_symbol(change.chord, words)))
        before = change.chord
    return tuple(found)


def kind_name(kind: str, language: str = "en") -> str:
    """Return the name of a kind of figure for people; a kind that is none (of another version) keeps its machine name."""
    return _said(_kinds()[kind], "name", language_of(language)) if kind in _kinds() else kind


def rule_words(kind: str, language: str = "en") -> str:
    """Return the rule of a kind of figure, as a pupil is told it: one sentence, from which every grey note follows."""
    return _said(_kinds()[kind], "rule", language_of(language))


def dark_words(kind: str, language: str = "en") -> str:
    """Return what stays black in a kind of figure."""
    return _said(_kinds()[kind], "dark", language_of(language))


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


def all_meant(words: Iterable[str]) -> tuple[str, ...]:
    """Return the kinds that several words mean, each once."""
    return tuple(dict.fromkeys(kind for word in words for kind in kinds_meant(word)))


def _kinds() -> Mapping[str, Kind]:
    """Return the kinds by name: loaded only where one is spoken of, since a survey of scores that are known needs no figures."""
    from annotator.figures.registry import KINDS_BY_NAME, OWN

    return {**KINDS_BY_NAME, OWN.name: OWN}


def _template(kind: Kind, said: LabelData, words: Language) -> Template:
    """Return the label of a kind in three lengths, its blanks not yet filled."""
    template = _words_of(kind, words).labels.get(said.template)
    if template is None:
        raise SettingsError(f"{_place(kind, words)} has no {said.template!r}: write it as in en.toml")
    return template


def _said(kind: Kind, what: str, words: Language) -> str:
    text = getattr(_words_of(kind, words), what)
    if not text:
        raise SettingsError(f"{_place(kind, words)} has no {what!r}: write it as in en.toml")
    return filled(text, _of_kind(kind, words), _place(kind, words))


def _place(kind: Kind, words: Language) -> str:
    return f"{words.code}.toml: [figures.{kind.name}]"


def _words_of(kind: Kind, words: Language) -> FigureWords:
    """Return what is said of a kind: its own group, and the group it shares."""
    own, shared = words.figures.get(kind.name), words.figures.get(kind.words)
    if own is None or shared is None:
        return own or shared or FigureWords("", "", "", {})
    labels = {**shared.labels, **own.labels}
    return FigureWords(own.name or shared.name, own.rule or shared.rule, own.dark or shared.dark, labels)


def _of_kind(kind: Kind, words: Language) -> dict[str, str]:
    """Return the blanks that a kind fills itself, those of its interval."""
    if kind.interval is None:
        return {}
    return {"double": words.doubles[kind.interval], "interval": interval_name(LETTERS[kind.interval], words)}


def _of_label(said: LabelData, words: Language) -> Blanks:
    """Return the blanks that a label's data fill."""
    found: dict[str, str | Template] = {}
    if said.scale:
        long, medium = scale_names(said.scale, words)
        found["scale"] = (long, medium, medium)
    if said.chord:
        found |= _of_chord(said.chord, words)
    if said.path:
        found["path"] = _path(said.path, words)
    if said.notes:
        found["notes"] = _listed(said.notes, words)
    if said.strokes:
        between = " / " if any(len(stroke) > 1 for stroke in said.strokes) else "–"
        found["strokes"] = between.join("+".join(_names(stroke, words)) for stroke in said.strokes)
    if said.distance is not None:
        found["distance"] = _distance(said.distance, words)
        found["interval"] = interval_name(said.distance, words)
        found["near"] = _near(said.distance, words)
    if said.times is not None:
        found["times"] = str(said.times)
    if said.repeats is not None:
        found["repeats"] = f" ×{said.repeats}" if said.repeats > 1 else ""
        found["hands"] = words.copies["both-hands"] if said.both_hands else ""
    if said.bars is not None:
        found["bar"], found["last"] = said.bars
    if said.follows is not None:
        found["hand"] = words.copies[said.follows]
        found["h"] = words.copies[said.follows][1]
    return found


def _of_chord(chord: Chord, words: Language) -> dict[str, str | Template]:
    long, medium = words.inversions[str(chord.inversion)] if chord.inversion else ("", "")
    return {
        "chord": full_name(chord, words),
        "name": inverted_name(chord, words),
        "root": chord_symbol(chord, words, bass=False),
        "symbol": chord_symbol(chord, words),
        "inversion": (long, medium, medium),
    }


def _names(notes: Iterable[Note], words: Language) -> list[str]:
    return [named(name_of(note.pitch), words.notes) for note in notes]


def _listed(notes: tuple[Note, ...], words: Language) -> str:
    names = _names(notes, words)
    return ", ".join(names) if len(names) <= LISTED else f"{names[0]} … {names[-1]}"


def _distance(steps: int, words: Language) -> str:
    return words.distances.get(str(steps)) or words.distances.fill("steps", n=steps)


def _near(steps: int, words: Language) -> str:
    """Return a distance as the shortest labels say it."""
    if str(steps) in words.near:
        return words.near[str(steps)]
    octaves, rest = divmod(steps, OCTAVE)
    several = words.near.fill("octaves", n=octaves) if octaves > 1 else words.near[str(OCTAVE)]
    return words.near.fill("octave-and", octaves=several, rest=_near(rest, words)) if rest else several


def _path(stations: tuple[Note, ...], words: Language) -> Template:
    """Return the way in three lengths: ``C→C, 2 octaves down``, ``C→C, 2 oct. down``, ``C→C``."""
    names = [named(name_of(note.pitch), words.notes) for note in stations]
    full = "→".join(names)
    brief = full if len(names) < MANY else f"{names[0]}→…→{names[-1]}"
    counted = [text and f", {text}" for text in _octaves(stations, words)]
    return full + counted[0], brief + counted[1], brief + counted[2]


def _octaves(notes: tuple[Note, ...], words: Language) -> Template:
    """Return the count of octaves in three lengths, empty below two octaves."""
    legs = [int(b.pitch.semitone - a.pitch.semitone) for a, b in pairwise(notes)]
    if not legs or min(abs(leg) for leg in legs) < 24:
        return "", "", ""
    count, rest = divmod(abs(legs[0]), 12)
    if len(legs) > 1:
        if any(abs(leg) != 12 * count for leg in legs):
            return "", "", ""
        key = "turning"
    else:
        key = ("over-" if rest else "") + ("up" if legs[0] > 0 else "down")
    long, medium, short = words.octaves[key]
    return long.format(n=count), medium.format(n=count), short.format(n=count)
