"""The law: nothing is greyed that does not follow from label, anchors and rhythm.

``cover_up`` makes the page a reader would have with the grey notes hidden; ``holds`` asks the figure's own inverse to rebuild it and
compares. It is asked of every figure at run time, and what fails is not shown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from annotator.figures.figure import CannotSpellOut, Covered, Figure, Slot, Spelling
from annotator.figures.registry import KINDS_BY_NAME, kind_of
from annotator.music.score import Bar, Key, Note, Pitch, pitch_at

NO_KEY = -1  # of a note that does not follow


def cover_up(figure: Figure, bars: tuple[Bar, ...], model: tuple[tuple[Pitch, ...], ...] | None = None) -> Covered:
    """Return the figure with the pitches of its grey notes removed, the model as written, or another ``model``; ``bars`` are the part's."""
    return Covered(
        kind=figure.kind,
        hand=figure.hand,
        slots=_slots(figure, bars),
        scale=figure.scale,
        chord=figure.chord,
        interval=figure.interval,
        direction=figure.direction,
        form=figure.form,
        changes=tuple((change.moment, change.chord) for change in figure.changes),
        times=figure.times,
        steps=figure.steps,
        group=figure.group,
        semitones=figure.semitones,
        exact=figure.exact,
        model=tuple([tuple([note.pitch for note in moment]) for moment in figure.model]) if model is None else model,
    )


def _slots(figure: Figure, bars: tuple[Bar, ...]) -> tuple[Slot, ...]:
    """Return the moments of a figure as they can be read. Most are of one note, and are not gone through as chords."""
    dark = {note.number for note in figure.anchors}
    odd = {note.number for note in figure.odd}
    slots = []
    for moment in figure.moments:
        note = moment[0]
        if len(moment) == 1:
            known: tuple[Pitch | None, ...] = (note.pitch if note.number in dark else None,)
            strange: tuple[bool, ...] = (note.number in odd,)
            staves: tuple[int, ...] = (note.staff,)
        else:
            known = tuple([each.pitch if each.number in dark else None for each in moment])
            strange = tuple([each.number in odd for each in moment]) if odd else (False,) * len(moment)
            staves = tuple([each.staff for each in moment])
        slots.append(Slot(note.tick, known, strange, staves, bars[note.bar], note.key))
    return tuple(slots)


def written(figure: Figure) -> Spelling:
    """Return the keys the score asks for, in MIDI numbers, moment by moment."""
    return tuple([tuple([int(note.pitch.semitone) for note in moment]) for moment in figure.moments])


def rebuilt(figure: Figure, bars: tuple[Bar, ...], model: tuple[tuple[Pitch, ...], ...] | None = None) -> Spelling | None:
    """Return what the figure's kind spells out from the covered page (``cover_up``), or None where it cannot."""
    try:
        return kind_of(figure.kind).spell_out(cover_up(figure, bars, model))
    except CannotSpellOut:
        return None


def holds(figure: Figure, bars: tuple[Bar, ...]) -> bool:
    """Return whether every grey note of the figure follows from what stays on the page."""
    return rebuilt(figure, bars) == written(figure)


def rebuild_all(figures: Iterable[Figure], bars: tuple[Bar, ...], held: tuple[Bar, ...] = ()) -> dict[int, int]:
    """Return the keys to strike that follow for the grey notes of some figures of a part, by the notes' numbers.

    A figure gets its model as it has been rebuilt so far, never from the score. In the bars ``held``, where they are given, each is known
    to hold by itself: where its bars are the same and its model was found as written, it is not asked once more.
    """
    found: dict[int, int] = {}
    changed = {
        (bar.index, sign.staff)
        for bar, before in zip(bars, held, strict=False)
        for sign in (set(bar.signs) ^ set(before.signs) if bar.signs != before.signs else ())
    }
    for figure in _as_they_follow(figures):
        if held and not any((note.bar, note.staff) in changed for note in figure.grey) and _as_written(figure.model, found):
            found.update({note.number: int(note.pitch.semitone) for note in figure.grey})
        else:
            keys = _keys_of(figure, bars, found)
            found.update({note.number: keys.get(note.number, NO_KEY) for note in figure.grey})
    return found


def _as_written(model: Sequence[Sequence[Note]], found: Mapping[int, int]) -> bool:
    """Return whether what was found of a model's notes is what is written."""
    return all(found.get(note.number, note.pitch.semitone) == note.pitch.semitone for stroke in model for note in stroke)


def _as_they_follow(figures: Iterable[Figure]) -> Iterator[Figure]:
    """Yield figures in an order in which they can be read: what a model is part of comes before its copy.

    Where figures follow from each other in a circle, that of them is left out, its notes dark, which comes last in the vocabulary and then
    greys least.
    """
    waiting = dict(enumerate(sorted(figures, key=lambda figure: figure.moments[0][0].tick)))
    holder = {note.number: place for place, figure in waiting.items() for note in figure.grey}
    needs: list[set[int]] = []  # by figure, those that its model is part of
    followers: defaultdict[int, list[int]] = defaultdict(list)
    for place, figure in waiting.items():
        needs.append({holder[note.number] for stroke in figure.model for note in stroke if note.number in holder})
        for other in needs[place]:
            followers[other].append(place)
    ready = [place for place in waiting if not needs[place]]
    while waiting:
        if ready:
            place = ready.pop()
            yield waiting.pop(place)
        else:
            place = max(waiting, key=lambda each: _last_and_least(waiting[each]))
            del waiting[place]
        for follower in followers[place]:
            needs[follower].discard(place)
            if not needs[follower] and follower in waiting:
                ready.append(follower)


def _last_and_least(figure: Figure) -> tuple[int, int, int]:
    order = list(KINDS_BY_NAME).index(figure.kind) if KINDS_BY_NAME[figure.kind].repeat else -1
    return order, -len(figure.grey), figure.moments[0][0].tick


def _keys_of(figure: Figure, bars: tuple[Bar, ...], found: Mapping[int, int]) -> dict[int, int]:
    """Return the keys of a figure's grey notes, its model read as it was found; none where its kind cannot spell it out."""
    if any(found.get(note.number) == NO_KEY for stroke in figure.model for note in stroke):
        return {}
    spelled = rebuilt(figure, bars, tuple([tuple([_as_found(note, found) for note in stroke]) for stroke in figure.model]))
    if spelled is None or [len(stroke) for stroke in spelled] != [len(stroke) for stroke in figure.moments]:
        return {}
    grey = {note.number for note in figure.grey}
    return {
        note.number: key
        for stroke, keys in zip(figure.moments, spelled, strict=True)
        for note, key in zip(stroke, keys, strict=True)
        if note.number in grey
    }


def _as_found(note: Note, found: Mapping[int, int]) -> Pitch:
    """Return the pitch of a model's note: as written if it is dark or was found to be that key, else the key as the signature spells it."""
    key = found.get(note.number, int(note.pitch.semitone))
    return note.pitch if key == note.pitch.semitone else _spelled(key, note.key)


def _spelled(key: int, signature: Key) -> Pitch:
    """Return a pitch that names a key: a letter as the signature alters it, else a natural one, else a sharp one."""
    letters = range(7 * (key // 12 - 1) - 2, 7 * (key // 12 - 1) + 9)
    near = [pitch_at(letter, signature.alters[letter % 7]) for letter in letters]
    near += [pitch_at(letter, alter) for alter in (0, 1) for letter in letters]
    return next(pitch for pitch in near if pitch.semitone == key)


def proved(figures: Iterable[Figure], bars: tuple[Bar, ...], held: tuple[Bar, ...] = ()) -> list[Figure]:
    """Return those of a part's figures whose every grey note follows, each model as it follows itself; ``held`` as in ``rebuild_all``."""
    figures = list(figures)
    found = rebuild_all(figures, bars, held)
    return [figure for figure in figures if all(found.get(note.number) == note.pitch.semitone for note in figure.grey)]
