"""Hands together: found where both hands do the same, rebuilt from the right hand, and not found in near misses."""

from __future__ import annotations

import random
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from figures.lines_from_text import name, names, pitch, texture_of

from annotator.figures import hands
from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Texture
from annotator.music.score import Pitch, key_of, pitch_at

SCORES = Path(__file__).resolve().parents[2].parent / "shared" / "scores"
LINES = ("C5 E5 D5 F5 G5 A5 B5 G5", "G5 G5 A5 F5 E5 D5 E5", "C5 D5 E5 F5 | G5 A5 B5 C6 | D6*2 C6*2")


def found(texture: Texture) -> list[Figure]:
    """Return what all six kinds find, each figure rebuilt on the way."""
    figures = list(hands.detect_hands(texture))
    for figure in figures:
        assert hands.spell_out_hands(cover_up(figure, texture.bars)) == written(figure), figure.kind
        assert figure.hand == "left" and all(note.staff == 2 for note in figure.struck)
    return figures


def of_kind(texture: Texture, kind: str) -> list[Figure]:
    return [figure for figure in found(texture) if figure.kind == kind]


def spelled(at: Pitch) -> str:
    """Return a pitch as the text spells it."""
    alter = int(at.alter)
    return at.step + ("#" * alter if alter > 0 else "b" * -alter) + str(at.octave)


def moved(text: str, steps: int, fifths: int) -> str:
    """Return a line moved by letters, altered as in a key signature."""

    def one(word: str) -> str:
        head, star, times = word.partition("*")
        diatonic = pitch(head).diatonic + steps
        return spelled(pitch_at(diatonic, key_of(fifths).alters[diatonic % 7])) + star + times

    return " ".join(word if word == "|" else one(word) for word in text.split())


def cases() -> Iterator[tuple[str, str, int, int]]:
    for kind, steps in (("hands-in-octaves", -7), ("hands-in-octaves", -14), ("hands-in-thirds", -2)):
        yield from ((kind, line, steps, fifths) for line in LINES for fifths in range(-7, 8))
    for kind, steps in (("hands-in-sixths", -5), ("hands-in-tenths", -9), ("hands-in-unison", 0)):
        yield from ((kind, line, steps, fifths) for line in LINES for fifths in range(-7, 8))


@pytest.mark.parametrize(("kind", "line", "steps", "fifths"), list(cases()))
def test_every_distance_in_every_key(kind: str, line: str, steps: int, fifths: int) -> None:
    right, left = moved(line, 0, fifths), moved(line, steps, fifths)
    (figure,) = of_kind(texture_of(right, left, unit=Fraction(1, 4), bar=Fraction(1), fifths=fifths), kind)
    count = len([word for word in line.split() if word != "|"])
    assert len(figure.moments) == count and figure.steps == steps
    assert figure.anchors == figure.moments[0] and not figure.odd
    assert figure.interval == kind.removeprefix("hands-in-").removesuffix("s")
    assert len(figure.model) == count and all(note.staff == 1 for moment in figure.model for note in moment)


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_contrary_motion_mirrors_by_letters(fifths: int) -> None:
    right, left = moved("C5 D5 E5 F5 G5 F5 D5", 0, fifths), moved("C4 B3 A3 G3 F3 G3 B3", 0, fifths)
    (figure,) = of_kind(texture_of(right, left, fifths=fifths), "contrary-motion")
    assert len(figure.moments) == 7 and figure.anchors == figure.moments[0]


def test_contrary_motion_starts_at_a_common_letter() -> None:
    texture = texture_of("E5 F5 E5 D5 C5 B4 A4 G4", "F3 G3 A3 B3 C4 D4 E4 F4")
    assert of_kind(texture_of("E5 F5 G5 A5 B5", "F3 E3 D3 C3 B2"), "contrary-motion") == []
    (figure,) = of_kind(texture_of("E5 D5 C5 B4 A4 G4 F4", "A3 B3 C4 D4 E4 F4 G4"), "contrary-motion")
    assert names(figure.moments[0]) == "C4" and len(figure.moments) == 5
    assert of_kind(texture, "contrary-motion") == []


def test_chords_are_copied_key_by_key() -> None:
    texture = texture_of("C5/E5/G5 D5/F5/A5 B4/D5/G5 C5/E5/G5", "C4/E4/G4 D4/F4/A4 B3/D4/G4 C4/E4/G4")
    (figure,) = of_kind(texture, "hands-in-octaves")
    assert names(figure.anchors) == "C4 E4 G4" and len(figure.grey) == 9


def test_an_octave_spelled_otherwise_is_the_same_keys() -> None:
    (figure,) = of_kind(texture_of("F#5 G#5 A#5 B5", "Gb4 Ab4 Bb4 Cb5"), "hands-in-octaves")
    assert len(figure.moments) == 4


def test_a_stretch_goes_over_bar_lines_and_starts_and_ends_anywhere() -> None:
    texture = texture_of("E5 D5 C5 D5 | E5 F5 G5 E5", "C3 G3 C4 D4 | E4 F4 G4 C3", bar=Fraction(1))
    (figure,) = of_kind(texture, "hands-in-octaves")
    assert names(figure.struck) == "C4 D4 E4 F4 G4"


def test_one_odd_note_is_dark_and_the_figure_goes_on() -> None:
    (figure,) = of_kind(texture_of("C5 D5 E5 F5 G5 A5 B5", "C4 D4 E4 F3 G4 A4 B4"), "hands-in-octaves")
    assert names(figure.odd) == "F3" and names(figure.anchors) == "C4 F3"


def test_an_accidental_off_the_signature_is_odd_in_thirds() -> None:
    (figure,) = of_kind(texture_of("E5 F5 G5 A5 B5 C6 B5", "C5 D5 E5 F#5 G5 A5 G5"), "hands-in-thirds")
    assert names(figure.odd) == "F#5"


def test_an_accidental_in_force_counts() -> None:
    right, left = "A5 G5 A5 B5 C6 B5 A5 B5", "F#5 E5 F#5 G5 A5 G5 F#5 G5"
    (figure,) = of_kind(texture_of(right, left, bar=Fraction(2)), "hands-in-thirds")
    assert figure.odd == () and names(figure.moments[0]) == "E5"  # the first F♯ bears the sign, the later ones follow


def test_tied_notes_go_with_the_figure() -> None:
    (figure,) = of_kind(texture_of("C5 D5 E5~ E5 F5", "C4 D4 E4~ E4 F4"), "hands-in-octaves")
    assert [name(note) for note in figure.tied] == ["E4"] and len(figure.notes) == 5


@pytest.mark.parametrize(
    ("right", "left"),
    [
        ("C5 D5 E5", "C4 D4 E4"),  # three where four are needed
        ("C5 D5 r E5 F5", "C4 D4 r E4 F4"),  # a rest inside
        ("C5 D5 E5 F5", "C4 D4 E4 F3"),  # the last is wrong, three are left
        ("C5 D5 E5 F5 G5", "C4 D4 E4*2 G4"),  # another rhythm
        ("C5 D5 E5 F5 G5 A5", "C4 D4 F4 E4 G4 A4"),  # two wrong in the middle
        ("C5/E5 D5/F5 E5/G5 F5/A5", "C4 D4 E4 F4"),  # double notes over a single line
        ("E5 F5 G5 A5", "C#5 D#5 E#5 F#5"),  # thirds by letter, but nothing follows
        ("C5 D5 E5 F5 G5 A5 B5", "C4 D4 E4 C4/D4/F4/G4 G4 A4 B4"),  # four odd notes among ten
        ("C5 C5 C5 C5 C5", "C4/E4 C4/E4 C4/E4 C4/E4 C4/E4"),
        ("C5 D5 E5 F5", "C4 B3 A3 G3"),  # mirrored, one too few
        ("C4 D4 E4 F4", "C5 D5 E5 F5"),  # the left hand above the right
    ],
)
def test_near_misses(right: str, left: str) -> None:
    assert found(texture_of(right, left)) == []


def test_no_figure_crosses_a_cut_bar() -> None:
    texture = texture_of("C5 D5 E5 F5 | G5 A5 B5 C6", "C4 D4 E4 F4 | G4 A4 B4 C5", bar=Fraction(1), cuts=frozenset({1}))
    assert [len(figure.moments) for figure in of_kind(texture, "hands-in-octaves")] == [4, 4]


def test_where_octaves_and_a_mirror_share_a_moment_each_stands_for_choice_without_it() -> None:
    octaves_first = texture_of("G5 E5 D5 E5 C5 D5 E5 F5 G5", "G4 E4 D4 E4 C4 B3 A3 G3 F3")
    assert [len(f.moments) for f in of_kind(octaves_first, "hands-in-octaves")] == [5, 4]
    assert [len(f.moments) for f in of_kind(octaves_first, "contrary-motion")] == [5]
    mirror_first = texture_of("C5 D5 E5 F5 E5 C5 E5 F5 G5", "C4 B3 A3 G3 A3 C4 E4 F4 G4")
    assert [len(f.moments) for f in of_kind(mirror_first, "contrary-motion")] == [6, 5]
    assert [len(f.moments) for f in of_kind(mirror_first, "hands-in-octaves")] == [4]


def test_a_covered_page_does_not_tell_the_grey_notes() -> None:
    texture = texture_of("C5 D5 E5 F5", "C4 D4 E4 F4")
    (figure,) = of_kind(texture, "hands-in-octaves")
    covered = cover_up(figure, texture.bars)
    assert [slot.known for slot in covered.slots[1:]] == [(None,)] * 3


@pytest.mark.skipif(not SCORES.is_dir(), reason="a local folder of scores is not there")
def test_exercises_for_both_hands_are_grey_to_the_last_bar() -> None:
    from annotator import read
    from annotator.figures.lines import read_lines

    paths = sorted(SCORES.glob("hanon-*.musicxml"))
    assert paths
    for path in paths:
        score = read(path)
        texture = read_lines(score.parts[0], score.resolution)
        figures = [f for f in found(texture) if f.kind == "hands-in-octaves"]
        left = [note for note in score.parts[0].notes if note.staff == 2 and note.counted]
        covered = {note.number for figure in figures for note in figure.struck}
        assert len(covered) >= 0.9 * len(left), path.name
        assert max(note.bar for note in left) == max(figure.struck[-1].bar for figure in figures), path.name


def random_hand(chance: random.Random, octave: int) -> str:
    """Return a hand of random notes, chords and rests, most of them equally long."""
    words = []
    for _ in range(chance.randrange(4, 40)):
        word = f"{chance.choice('CDEFG')}{octave}"
        word = chance.choice([word] * 12 + ["r", f"{word}/C{octave + 1}"])
        words.append(word + chance.choice([""] * 20 + ["*2"]))
    return " ".join(words)


@pytest.mark.parametrize("seed", range(60))
def test_hands_strike_together_where_every_event_of_both_has_its_fellow(seed: int) -> None:
    chance = random.Random(seed)
    upper = random_hand(chance, 5)
    texture = texture_of(upper, upper.replace("5", "4").replace("6", "5") if chance.random() < 0.5 else random_hand(chance, 4))
    rights, lefts = texture.hands["right"].events, texture.hands["left"].events
    stretches: list[list[tuple[int, int]]] = [[]]
    for i, right in enumerate(rights):
        for j, left in enumerate(lefts):
            if right.tick == left.tick:
                before = stretches[-1][-1] if stretches[-1] else (-2, -2)
                ended = before == (i - 1, j - 1) and rights[i - 1].end == lefts[j - 1].end
                if not (ended and right.joined and left.joined):
                    stretches.append([])
                stretches[-1].append((i, j))
    assert list(hands.struck_together(texture)) == [
        [(rights[i], lefts[j]) for i, j in stretch] for stretch in stretches if len(stretch) >= 4
    ]
