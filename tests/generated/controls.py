"""Near misses: the smallest figures of each kind with one thing wrong, so that nothing of that kind is left.

Conventions
-----------
* A flaw takes a case of the fewest notes and returns the part with the flaw, or None where the flaw has no meaning for that kind.
* Every flaw stands in the middle of the figure, so that neither half is a figure by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import combinations, pairwise, product

from figures.lines_from_text import pitch
from generated.cases import Case, Layout, Planted, in_each_key, plant
from generated.pitches import CHORDS, Note, semitone, struck, word

from annotator.music.score import Key, key_of
from annotator.music.score import Note as Written

Flaw = Callable[[Case, Layout], Planted | None]


def smallest(cases: Iterable[Case]) -> list[Case]:
    """Return one case of the fewest notes for each signature and hand, another shape each time."""
    return in_each_key((case for case in cases if case.minimal), 1)


def _with(case: Case, layout: Layout, tokens: Sequence[str]) -> Planted:
    return plant(replace(case, tokens=tuple(tokens)), layout)


def _middle(case: Case) -> int:
    return len(case.tokens) // 2


def one_too_few(case: Case, layout: Layout) -> Planted | None:
    """Leave out the last moment; of a block chord the highest note.

    In an accompaniment any last note may be the odd one, so that a rest must follow there.
    """
    if case.kind == "block-chord":
        return _with(case, layout, ["/".join(case.tokens[0].split("/")[:-1])])
    harmony = case.kind in ("alberti-bass", "broken-chord", "bass-and-chord")
    return _with(case, replace(layout, among_notes=layout.among_notes and not harmony), case.tokens[:-1])


def rest_inside(case: Case, layout: Layout) -> Planted | None:
    """Put a rest in place of the middle moment."""
    if len(case.tokens) < 2:
        return None
    tokens = list(case.tokens)
    _, _, times = tokens[_middle(case)].partition("*")
    tokens[_middle(case)] = "r*" + (times or "1")
    return _with(case, layout, tokens)


def irregular_rhythm(case: Case, layout: Layout) -> Planted | None:
    """Make the middle moment twice as long; repeated and double notes, and hands together, may have any rhythm."""
    if len(case.tokens) < 2 or case.kind.startswith(("repeated-notes", "parallel", "hands", "contrary")):
        return None
    tokens = list(case.tokens)
    tokens[_middle(case)] += "*2"
    return _with(case, layout, tokens)


def wrong_note(case: Case, layout: Layout) -> Planted | None:
    """Move the middle note: by a third, in double notes one of the two by a step; where a chord is meant, out of every chord."""
    tokens = list(case.tokens)
    if case.kind in ("arpeggio", "block-chord", "alberti-bass", "broken-chord", "bass-and-chord"):
        return _with(case, layout, _out_of_chord(tokens))
    notes = _notes(tokens[_middle(case)])
    by = -1 if len(notes) > 1 else 2
    tokens[_middle(case)] = struck((notes[0][0] + by, notes[0][1]), *notes[1:])
    return _with(case, layout, tokens)


def too_many_odd(case: Case, layout: Layout) -> Planted | None:
    """Alter more than a quarter of the notes, letters kept, in the kinds that bear odd notes at all."""
    tokens = list(case.tokens)
    if case.kind == "scale-run":
        for place, by in ((1, 1), (2, -1)):
            (note,) = _notes(tokens[place])
            tokens[place] = word((note[0], note[1] + by if tokens[0] < tokens[-1] else note[1] - by))
        return _with(case, layout, tokens)
    if case.kind.startswith("parallel"):
        for place in (1, 2, 3):
            low, high = _notes(tokens[place])
            low, high = ((low[0], low[1] + 1), high) if case.hand == "right" else (low, (high[0], high[1] + 1))
            tokens[place] = struck(low, high)
        return _with(case, layout, tokens)
    if case.kind == "turn":
        for place, letters in enumerate(_notes(token)[0][0] - _notes(tokens[-1])[0][0] for token in case.tokens):
            if letters:
                (note,) = _notes(tokens[place])
                tokens[place] = word((note[0], note[1] + 1 if letters > 0 else note[1] - 1))
        return _with(case, layout, tokens)
    if case.kind == "sequence":
        for place in range(len(tokens)):
            if place % (case.group or 1):
                (note,) = _notes(tokens[place])
                tokens[place] = word((note[0], note[1] + (1 if place % 2 else -1)))
        return _with(case, layout, tokens)
    return None


def bar_line_cut(case: Case, layout: Layout) -> Planted | None:
    """Let a double bar cut the figure."""
    across = replace(layout, across=True)
    at = _crossing(case, across)
    return None if at is None else plant(case, across, frozenset({at}))


def key_change(case: Case, layout: Layout) -> Planted | None:
    """Let the signature change at a bar line inside the figure."""
    across = replace(layout, across=True)
    at = _crossing(case, across)
    if at is None:
        return None
    planted = plant(case, across)
    other: Key = key_of(case.fifths + (1 if case.fifths < 7 else -1), case.mode)
    bars = tuple(replace(bar, key=other) if bar.index >= at else bar for bar in planted.part.bars)
    notes = tuple(replace(note, key=other) if note.bar >= at else note for note in planted.part.notes)
    return replace(planted, part=replace(planted.part, bars=bars, notes=notes))


def grace_note_instead(case: Case, layout: Layout) -> Planted | None:
    """Make the middle note a grace note: it is no part of any figure."""
    return _marked(case, layout, grace=True)


def cue_note_instead(case: Case, layout: Layout) -> Planted | None:
    """Make the middle note a cue note."""
    return _marked(case, layout, cue=True)


def hidden_note_instead(case: Case, layout: Layout) -> Planted | None:
    """Hide the middle note."""
    return _marked(case, layout, hidden=True)


FLAWS: dict[str, Flaw] = {
    flaw.__name__: flaw
    for flaw in (
        one_too_few,
        rest_inside,
        irregular_rhythm,
        wrong_note,
        too_many_odd,
        bar_line_cut,
        key_change,
        grace_note_instead,
        cue_note_instead,
        hidden_note_instead,
    )
}


def _notes(token: str) -> list[Note]:
    """Return the notes of a token, from low to high."""
    found = [pitch(one) for one in token.partition("*")[0].split("/")]
    return [(one.diatonic, int(one.alter)) for one in found]


def _one_chord(notes: Sequence[Note]) -> bool:
    """Whether notes are all of one triad or seventh chord, by sound."""
    heard = {semitone(note) % 12 for note in notes}
    return any(heard <= {(root + size) % 12 for size in sizes} for sizes in CHORDS.values() for root in range(12))


def _out_of_chord(tokens: Sequence[str]) -> list[str]:
    """Replace as few of the different notes as it takes, wherever they come, so that no chord holds all of them.

    From low to high the notes keep their order, and the lowest stays.
    """
    different = sorted({note for token in tokens for note in _notes(token)}, key=semitone)
    for count in range(1, len(different)):
        for ranks in combinations(range(1, len(different)), count):
            for keys in product(range(semitone(different[0]) + 1, semitone(different[-1]) + 4), repeat=count):
                new = list(different)
                for rank, key in zip(ranks, keys, strict=True):
                    new[rank] = _spelled(different[rank], key)
                if _rising(new) and not _one_chord(new):
                    swap = dict(zip(different, new, strict=True))
                    return [struck(*(swap[note] for note in _notes(token))) for token in tokens]
    raise AssertionError(f"no note falls out of {tokens}")


def _spelled(old: Note, key: int) -> Note:
    """Return a key spelled on the letter nearest to that of a note."""
    choices = [(diatonic, key - semitone((diatonic, 0))) for diatonic in range(old[0] - 7, old[0] + 8)]
    return min(choices, key=lambda note: (abs(note[1]), abs(note[0] - old[0])))


def _rising(notes: Sequence[Note]) -> bool:
    """Whether each note is higher than the one before, in sound and by letters."""
    return all(a[0] < b[0] and semitone(a) < semitone(b) for a, b in pairwise(notes))


def _crossing(case: Case, layout: Layout) -> int | None:
    """Return the index of a bar that begins inside the figure, None where none does (a block chord)."""
    planted = plant(case, layout)
    first = planted.start if not case.before else planted.start - 1
    inside = [bar.index for bar in planted.part.bars if first < bar.tick < planted.stop]
    return inside[0] if inside else None


def _marked(case: Case, layout: Layout, **how: bool) -> Planted:
    """Return the case with the (lowest) note of its middle moment marked as something that is not played from."""
    planted = plant(case, layout)
    staff = 1 if case.hand == "right" else 2
    ticks = sorted({note.tick for note in planted.part.notes if planted.is_inside(note, staff)})
    at = ticks[len(ticks) // 2]

    def changed(note: Written) -> Written:
        here = note.staff == staff and note.tick == at and not note.chord
        return replace(note, **how) if here else note  # type: ignore[arg-type]

    return replace(planted, part=replace(planted.part, notes=tuple(map(changed, planted.part.notes))))
