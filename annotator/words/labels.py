"""The labels of all kinds of figures, made from the figure's data by the templates of a language.

Conventions: a function of each family chooses the template and the pieces that fill it. A piece is one string, or three for the three
lengths. Pieces: ``scale`` ``path`` ``chord`` (in words) ``name`` (in words, with inversion) ``root`` (symbol without bass)
``symbol`` (with bass) ``inversion`` ``double`` (thirds) ``notes`` ``what`` ``times`` ``bar`` ``interval`` (a third).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from annotator.figures.figure import Figure
from annotator.score import Note
from annotator.theory.names import Chord, Scale, name_of
from annotator.words.language import Language, Template, language_of
from annotator.words.names import chord_name, chord_symbol, full_name, inversion_names, note_name, scale_name
from annotator.words.paths import path_words

Pieces = Mapping[str, str | Template]
Choice = tuple[str, Pieces]

LISTED = 8  # the most notes that a label names one by one; then the first and the last
INVERTED_TURNS = ("lower-first", "main-first-lower")


def labels(figure: Figure, language: str = "en") -> Template:
    """Return the label of a figure in three lengths: long, medium, short."""
    words = language_of(language)
    family, _, rest = figure.kind.partition("-")
    build = _BUILDERS.get(figure.kind) or _BUILDERS[family]
    name, pieces = build(figure, words, rest)
    long, medium, short = (
        template.format(**{key: piece if isinstance(piece, str) else piece[length] for key, piece in pieces.items()})
        for length, template in enumerate(words.templates[name])
    )
    return long, medium, short


def change_words(figure: Figure, language: str = "en") -> tuple[tuple[Note, str], ...]:
    """Return the chord names that stand at the later changes of an accompaniment, each with the first note of its group."""
    found: list[tuple[Note, str]] = []
    before = figure.chord or (figure.changes[0].chord if figure.changes else None)
    for change in figure.changes:
        if change.moment > 0 and change.chord != before:
            found.append((change.note, chord_symbol(change.chord, language)))
        before = change.chord
    return tuple(found)


def _scale(scale: Scale, words: Language) -> Template:
    medium = scale_name(scale, words.code, medium=True)
    return scale_name(scale, words.code), medium, medium


def _chord(chord: Chord, words: Language) -> dict[str, str | Template]:
    long, medium = inversion_names(chord, words.code)
    return {
        "chord": full_name(chord, words),
        "name": chord_name(chord, words.code, short=False),
        "root": chord_symbol(chord, words.code, bass=False),
        "symbol": chord_symbol(chord, words.code),
        "inversion": (long, medium, medium),
    }


def _first_chord(figure: Figure) -> Chord:
    chord = figure.chord or (figure.changes[0].chord if figure.changes else None)
    if chord is None:
        raise ValueError(f"a figure of kind {figure.kind} without a chord")
    return chord


def _name(note: Note, words: Language) -> str:
    return note_name(name_of(note.pitch), words.code)


def _run(figure: Figure, words: Language, _: str) -> Choice:
    path = path_words(figure, words)
    if figure.kind == "chromatic-run" or (figure.scale and figure.scale.type == "chromatic"):
        return "chromatic-run", {"path": path}
    if figure.scale is None:
        return "plain-run", {"path": path}
    altered = any(note.pitch.alter != note.key.alters[note.pitch.diatonic % 7] for note in figure.grey)
    # however short the label, a grey note with an accidental follows from the scale alone
    return "altered-run" if altered else "run", {"scale": _scale(figure.scale, words), "path": path}


def _arpeggio(figure: Figure, words: Language, _: str) -> Choice:
    chord = _first_chord(figure)
    pieces = _chord(chord, words) | {"path": path_words(figure, words)}
    return "arpeggio-inverted" if chord.inversion else "arpeggio", pieces


def _accompaniment(figure: Figure, words: Language, _: str) -> Choice:
    return figure.kind, _chord(_first_chord(figure), words)


def _bass(figure: Figure, words: Language, _: str) -> Choice:
    return "waltz" if figure.group == 3 else "bass-and-chord", _chord(_first_chord(figure), words)


def _double(figure: Figure, words: Language, interval: str) -> Choice:
    double = words.doubles[interval]
    if figure.scale is None and figure.chord is None:
        return "double", {"double": double}
    pieces: dict[str, str | Template] = {"double": double, "path": path_words(figure, words)}
    if figure.scale is None:
        return "double-arpeggio", pieces | _chord(_first_chord(figure), words)
    if figure.scale.type == "chromatic":
        return "double-chromatic", pieces
    return "double-run", pieces | {"scale": _scale(figure.scale, words)}


def _broken(figure: Figure, words: Language, interval: str) -> Choice:
    pieces: dict[str, str | Template] = {"double": words.doubles[interval], "path": path_words(figure, words, every=2)}
    if figure.scale is None:
        return "broken", pieces
    return "broken-run", pieces | {"scale": _scale(figure.scale, words)}


def _listed(notes: tuple[Note, ...], words: Language) -> str:
    names = [_name(note, words) for note in notes]
    return ", ".join(names) if len(names) <= LISTED else f"{names[0]} … {names[-1]}"


def _mains(figure: Figure) -> tuple[Note, ...]:
    odd = {note.number for note in figure.odd}
    return tuple(note for note in figure.anchors if note.number not in odd) or figure.anchors


def _turn(figure: Figure, words: Language, _: str) -> Choice:
    mains = _mains(figure)
    name = ("inverted-turn" if figure.form in INVERTED_TURNS else "turn") + ("s" if len(mains) > 1 else "")
    return name, {"notes": _listed(mains, words)}


def _mordent(figure: Figure, words: Language, _: str) -> Choice:
    return "upper-mordents" if figure.direction == "up" else "mordents", {"notes": _listed(_mains(figure), words)}


def _alternation(figure: Figure, words: Language, _: str) -> Choice:
    sides = sorted(figure.moments[:2], key=lambda moment: moment[0].pitch.semitone)
    return figure.kind, {"notes": "–".join("+".join(_name(note, words) for note in side) for side in sides)}


def _struck(figure: Figure, words: Language, _: str) -> Choice:
    times = str(figure.times or len(figure.moments))
    names = list(dict.fromkeys(_name(note, words) for note in figure.moments[0]))
    if figure.chord is not None:
        return "struck", {"what": chord_symbol(figure.chord, words.code), "times": times}
    if len(names) > 2:
        return "chord-struck", {"times": times}
    return "struck", {"what": "+".join(names), "times": times}


def _again(figure: Figure, words: Language, _: str) -> Choice:
    if figure.model_bars is None:
        return "again", _copied(figure, words)
    first, last = figure.model_bars
    return "as-bars" if first != last else "as-bar", _copied(figure, words) | {"bar": first, "last": last}


def _copied(figure: Figure, words: Language) -> dict[str, str | Template]:
    """Return the pieces that all copies have: how often, in both hands, how far."""
    times = figure.times or 1
    steps = abs(figure.steps or 0)
    semitone = figure.semitones is not None and abs(figure.semitones) == 1
    octaves, letters = divmod(steps, 7)
    name = "semitone" if semitone else str(steps) if steps <= 7 else "steps" if letters else "octaves"
    return {
        "times": f" ×{times}" if times > 1 else "",
        "hands": words.templates["both-hands"] if figure.both_hands else "",
        "interval": words.templates["semitone"][0] if semitone else _interval(steps, words),
        "near": words.templates[f"near-{name}"][0].format(n=steps if letters else octaves) if steps or semitone else "",
    }


def _octave(figure: Figure, words: Language, _: str) -> Choice:
    return "octave-up" if (figure.steps or 0) > 0 else "octave-down", _copied(figure, words)


def _retrograde(figure: Figure, words: Language, _: str) -> Choice:
    first, last = figure.moments[0][-1].pitch, figure.moments[-1][-1].pitch
    return "back-down" if last.semitone < first.semitone else "back-up", _copied(figure, words)


def _imitation(figure: Figure, words: Language, _: str) -> Choice:
    hand = words.templates["left" if figure.hand == "right" else "right"]
    steps = figure.steps or 0
    name = "follows" + ("-above" if steps > 0 else "-below" if steps else "")
    return name, _copied(figure, words) | {"hand": hand, "h": hand[1]}


def _pedal(figure: Figure, words: Language, _: str) -> Choice:
    return "pedal-note", {"notes": _name(figure.moments[0][0], words)}


def _interval(steps: int, words: Language) -> str:
    return words.intervals.get(steps) or words.templates["steps"][0].format(n=steps)


def _sequence(figure: Figure, words: Language, _: str) -> Choice:
    steps, semitones = figure.steps or 0, figure.semitones
    if semitones is None:
        return "sequence-down" if steps < 0 else "sequence-up", _copied(figure, words)
    return "real-down" if semitones < 0 else "real-up", _copied(figure, words)


def _hands(figure: Figure, words: Language, _: str) -> Choice:
    steps = abs(figure.steps or 0)
    return ("below", {"interval": _interval(steps, words)}) if steps else ("unison", {})


def _mirror(figure: Figure, words: Language, _: str) -> Choice:
    return "mirrors", {}


def _block(figure: Figure, words: Language, _: str) -> Choice:
    chord = _first_chord(figure)
    return "block-inverted" if chord.inversion else "block", _chord(chord, words)


_BUILDERS: dict[str, Callable[[Figure, Language, str], Choice]] = {
    "scale-run": _run,
    "chromatic-run": _run,
    "arpeggio": _arpeggio,
    "alberti-bass": _accompaniment,
    "broken-chord": _accompaniment,
    "bass-and-chord": _bass,
    "parallel": _double,
    "broken": _broken,
    "turn": _turn,
    "mordent": _mordent,
    "trill": _alternation,
    "tremolo": _alternation,
    "repeated-notes": _struck,
    "repeated-group": _again,
    "octave-copy": _octave,
    "sequence": _sequence,
    "retrograde": _retrograde,
    "imitation": _imitation,
    "pedal-note": _pedal,
    "hands": _hands,
    "contrary-motion": _mirror,
    "block-chord": _block,
}
