"""Runs: found, named, their anchors, their inverse, and what is none.

The rules are common practice, no source; every expectation here was written down from them before the program was asked.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from figures.lines_from_text import line_of, names, texture_of
from figures.random_lines import random_lines

from annotator.figures.candidates import find_candidates
from annotator.figures.figure import CannotSpellOut, Figure, Spelling
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Line
from annotator.figures.runs import (
    Leg,
    detect_chromatic_runs,
    detect_scale_runs,
    legs,
    spell_out_chromatic_run,
    spell_out_scale_run,
)
from annotator.music.intervals import BY_SEMITONE, CONJUNCT, SMALL, steps_of
from annotator.music.keys import signature_scale
from annotator.music.names import Scale, spelled
from annotator.music.scales import alter_in, fifths_of
from annotator.music.score import STEPS, pitch_at
from annotator.options.settings import Options

SHORTEST = Options().shortest


def spelt(figure: Figure, line: Line) -> Spelling:
    inverse: Callable[..., Spelling] = {
        "scale-run": spell_out_scale_run,
        "chromatic-run": spell_out_chromatic_run,
    }[figure.kind]
    return inverse(cover_up(figure, line.bars))


def runs(line: Line, fewest: int = SHORTEST) -> list[Figure]:
    """Return all runs of a line, each proved by its inverse."""
    found = [*detect_scale_runs(line, fewest), *detect_chromatic_runs(line, fewest)]
    for figure in found:
        assert spelt(figure, line) == written(figure), names(figure.struck)
        assert {note.number for note in figure.odd} <= {note.number for note in figure.anchors}
    return found


def longest(text: str, **how: Any) -> Figure:
    found = runs(line_of(text, **how))
    assert found, text
    return max(found, key=lambda figure: len(figure.moments))


def octaves(scale: Scale, count: int, turning: bool = False, down: bool = False) -> str:
    """Return a scale from its tonic as text."""
    tonic = STEPS.index((scale.tonic or "C")[0]) + 28
    rising = [
        spelled(at, alter_in(scale, at % 7, True) or 0) + str(at // 7)
        for at in range(tonic, tonic + 7 * count + 1)
    ]
    falling = [
        spelled(at, alter_in(scale, at % 7, False) or 0) + str(at // 7)
        for at in range(tonic + 7 * count, tonic - 1, -1)
    ]
    return " ".join(falling if down else rising + falling[1:] if turning else rising)


def test_two_octaves_leave_two_notes_to_read() -> None:
    figure = longest(octaves(Scale("C", "major"), 2, down=True))
    assert (figure.kind, figure.scale, figure.direction) == ("scale-run", Scale("C", "major"), "down")
    assert names(figure.anchors) == "C6 C4"
    assert len(figure.grey) == 13
    assert figure.odd == ()


def test_five_notes_leave_two_to_read() -> None:
    found = runs(line_of("D4 E4 F4 G4 A4", fifths=-1))
    assert [(names(f.struck), names(f.anchors), f.scale) for f in found] == [
        ("D4 E4 F4 G4 A4", "D4 A4", Scale("F", "major"))
    ]


def test_legs_join_at_turning_notes() -> None:
    figure = longest("A4 B4 C5 D5 E5 F#5 G#5 A5 G5 F5 E5 D5 C5 B4 A4")
    assert (figure.scale, figure.direction) == (Scale("A", "melodic minor"), "turning")
    assert names(figure.anchors) == "A4 A5 A4"
    found = {names(f.anchors) for f in runs(line_of("C4 D4 E4 F4 G4 A4 G4 F4 E4 F4 G4 A4 B4 C5"))}
    assert "C4 A4 E4 C5" in found


def test_a_study_that_goes_up_and_down_for_ever_is_cut_at_turning_notes() -> None:
    found = runs(line_of("C4 D4 E4 F4 G4 F4 E4 D4 " * 10))
    assert [len(figure.anchors) for figure in found] == [9, 9, 5]  # eight legs, eight, and four, the last of four notes
    assert [figure.struck[0].number for figure in found] == [1, 33, 65]
    assert found[0].struck[-1] == found[1].struck[0]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("C4 D4 E4 F4 G4*2 F4 E4 D4 C4", ["C4 D4 E4 F4 G4 F4 E4 D4 C4"]),
        ("C4 D4 E4 F4 G4*3 F4 E4 D4 C4", ["C4 D4 E4 F4 G4", "G4 F4 E4 D4 C4"]),
        ("C4 D4 E4 F4 G4*2 F4*2 E4*2 D4*2 C4*2", ["C4 D4 E4 F4 G4", "G4 F4 E4 D4 C4"]),
    ],
)
def test_legs_join_in_notes_as_long_where_the_turning_note_is_not_held(text: str, found: list[str]) -> None:
    assert [names(figure.struck) for figure in runs(line_of(text))] == found


@pytest.mark.parametrize(
    ("text", "unit", "found"),
    [
        ("D4 E4 F#4 G4 A4", Fraction(1, 2), 1),  # another key, quicker than the beat
        ("D4 E4 F#4 G4 A4", Fraction(1), 0),
        ("D4 E4 F#4 G4 A4 B4", Fraction(1), 1),
        ("E4 F4 G#4 A4 B4", Fraction(1, 2), 0),  # harmonic minor
        ("E4 F4 G#4 A4 B4 C5", Fraction(1, 2), 1),
    ],
)
def test_five_notes_with_foreign_signs_are_a_run_where_they_are_read_as_one(text: str, unit: Fraction, found: int) -> None:
    assert len(runs(line_of(text, unit=unit))) == found


def test_short_legs_do_not_join() -> None:
    found = {names(f.struck) for f in runs(line_of("C4 D4 E4 F4 G4 F4 E4 F4 G4 A4 B4"))}
    assert found == {"C4 D4 E4 F4 G4", "E4 F4 G4 A4 B4"}


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("kind", ["major", "natural minor", "harmonic minor", "melodic minor"])
def test_every_scale_is_found_in_its_own_key(fifths: int, kind: str) -> None:
    scale = Scale(signature_scale(fifths, minor=kind != "major").tonic, kind)
    mode = "major" if kind == "major" else "minor"
    for turning, down in ((False, False), (False, True), (True, False)):
        for unit in (Fraction(1, 4), Fraction(1, 3), Fraction(1, 2)):
            figure = longest(octaves(scale, 2, turning, down), fifths=fifths, mode=mode, unit=unit)
            downwards = kind == "melodic minor" and down
            assert figure.scale == (Scale(scale.tonic, "natural minor") if downwards else scale)
            assert figure.direction == ("turning" if turning else "down" if down else "up")
            assert len(figure.moments) == (29 if turning else 15)
            assert len(figure.anchors) == (3 if turning else 2)


def test_it_names_foreign_keys() -> None:
    assert longest("G4 A4 Bb4 C5 D5 E5").scale == Scale("F", "major")
    assert longest("B4 C#5 D5 E5 F#5 G#5 A5").scale == Scale("A", "major")
    assert longest("A4 B4 C5 D5 E5 F5 G#5 A5").scale == Scale("A", "harmonic minor")
    assert longest("Db4 Eb4 F4 Gb4 Ab4 Bb4 C5 Db5", fifths=3).scale == Scale("Db", "major")


@pytest.mark.parametrize("kind", ["major", "natural minor", "harmonic minor", "melodic minor"])
def test_every_scale_is_named_right_under_foreign_signatures(kind: str) -> None:
    """Natural minor is then called by its relative major, as nothing tells that the minor key is in force."""
    for fifths in range(-7, 8):
        scale = Scale(signature_scale(fifths, minor=kind != "major").tonic, kind)
        for signature in (-5, -1, 0, 2, 4):
            if signature != fifths:
                for turning, count in ((True, 1), (False, 1), (True, 2)):
                    figure = longest(octaves(scale, count, turning), fifths=signature)
                    assert figure.scale == (signature_scale(fifths) if kind == "natural minor" else scale), (
                        signature
                    )
                    assert figure.odd == ()


def test_accidentals_in_force_in_the_bar_name_missing_letters() -> None:
    assert longest("F#4 r C4 D4 E4 r G4 A4 B4 C5 D5").scale == Scale("G", "major")
    assert longest("F#4*15 r | G4 A4 B4 C5 D5").scale == Scale(
        "C", "major"
    )  # a bar later the signature holds again


def test_runs_cross_bar_lines_and_ties_lengthen() -> None:
    figure = longest("r*12 C4 D4 E4 F4 | G4 A4 B4 C5*4")
    assert names(figure.struck) == "C4 D4 E4 F4 G4 A4 B4 C5"
    figure = longest("r*12 C4 D4 E4 F4 | G4 A4 B4 C5~ C5*8")
    assert len(figure.tied) == 1
    assert len(figure.notes) == 9
    assert len(figure.struck) == 8


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("C4*4 D4 E4 F4 G4", ["C4 G4"]),  # the first note is longer
        ("C4*4 D4 E4 F4 G4*4", ["C4 G4"]),
        ("C4*4 D4 E4 F4", []),  # four notes
        ("C4*4 D4*2 E4 F4 G4 A4 B4", ["D4 B4"]),  # and shorter ones before it are another's
        ("C4 D4*2 E4*2 F4*2 G4*2", []),  # a shorter one
        ("C4*4 r D4 E4 F4 G4", []),
        ("C4 D4 E4 F4 G4*4 A4 B4 C5 D5", ["C4 G4", "G4 D5"]),  # goes on after a longer note: two runs, one note for both
        ("C4 D4 E4 F4 G4*2 F4 E4 D4 C4", ["C4 G4 C4"]),  # turns on it
        ("C4*4 E4 F4 G4 A4", []),  # a leap is no step
    ],
)
def test_a_run_may_begin_with_a_longer_note(text: str, found: list[str]) -> None:
    anchors = [names(figure.anchors) for figure in runs(line_of(text))]
    assert sorted(anchors) == found


def test_chromatic_runs() -> None:
    figure = longest("C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4")
    assert (figure.kind, figure.scale, figure.direction) == ("chromatic-run", Scale(None, "chromatic"), "up")
    assert names(figure.anchors) == "C4 G#4"
    figure = longest("E5 Eb5 D5 Db5 C5 Db5 D5 Eb5 E5 E#5")
    assert (figure.kind, figure.direction) == ("chromatic-run", "turning")
    assert names(figure.anchors) == "E5 C5 E#5"
    assert {f.kind for f in runs(line_of("C4 C#4 D4 D#4"))} == set()


def test_collections_without_seven_letters() -> None:
    figure = longest("Gb4 Ab4 Bb4 Db5 Eb5 Gb5 Ab5", fifths=-6)
    assert (figure.scale, names(figure.anchors)) == (Scale("Gb", "pentatonic"), "Gb4 Ab5")
    figure = longest("C4 D4 E4 F#4 G#4 A#4 C5 D5")
    assert figure.scale == Scale("C", "whole-tone")
    assert len(figure.grey) == 6


@pytest.mark.parametrize(
    "text",
    [
        "C4 D4 E4 F4",  # four
        "C4 D4 E4 r F4 G4 A4",  # a rest
        "C4 D4 E4 E4 F4 G4 A4",  # a note struck again
        "C4 D4 E4 G4 A4 B4",  # a skip
        "C4 D4 E4*2 F4 G4 A4",  # a longer note amid
        "C4 D4 E4 F4 G4*1/2",  # the last is shorter
        "C4 D4 E4 F4/A4 G4 A4 B4",  # a chord
        "C4 D#4 E4 F#4 Gb4 A4",  # two foreign notes in five
        "C4 D4 E4 D4 C4 D4 E4 D4",  # to and fro
        "C4 E4 G4 C5 E5 G5",  # an arpeggio
        "C4 D4 E4 D4 E4 F4 E4 F4 G4",  # a sequence
    ],
)
def test_near_misses_are_none(text: str) -> None:
    assert runs(line_of(text)) == []


def test_no_run_over_a_cut_bar_line_or_a_change_of_key() -> None:
    text = "r*13 C4 D4 E4 | F4 G4 A4 B4"
    assert len(longest(text).struck) == 7
    assert runs(line_of(text, cuts=frozenset({1}))) == []
    line = line_of(text)
    changed = tuple(event._replace(joined=event.joined and event.tick != 48) for event in line.events)
    assert runs(replace(line, events=changed)) == []


def test_the_odd_note_is_never_first_turning_or_last() -> None:
    for text in ("C4 D4 E4 F4 G4 A4 B4 C#5", "C#4 D4 E4 F4 G4 A4 B4 C5", "C4 D4 E4 F4 G4 A4 G4 F4 E4 D4 C4"):
        for figure in runs(line_of(text)):
            edges = {figure.struck[0].number, figure.struck[-1].number}
            assert not edges & {note.number for note in figure.odd}


def test_too_many_odd_notes_leave_only_what_fits() -> None:
    text = "C4 D4 E4 F4 G4 A4 B4 C5 Db5 Eb5 F5 Gb5 Ab5 Bb5 C6 Db6"
    found = {names(f.struck): f.scale for f in runs(line_of(text))}
    assert text not in found
    assert found["C4 D4 E4 F4 G4 A4 B4 C5"] == Scale("C", "major")
    assert any(
        scale == Scale("Db", "major") and struck.endswith("Bb5 C6 Db6") for struck, scale in found.items()
    )


def test_a_figure_is_no_run_if_it_is_shorter_than_is_asked_for() -> None:
    texture = texture_of("C4 D4 E4 F4 G4 A4 B4 C5 r*8")
    for shortest, longest_found in ((4, 8), (8, 8), (9, 0)):
        found = [figure for figure in find_candidates(texture, Options(shortest=shortest)) if figure.kind == "scale-run"]
        assert max((len(figure.moments) for figure in found), default=0) == longest_found


def test_shortest_is_an_option() -> None:
    line = line_of("C4 D4 E4 F4 r C4 D4 E4 F4 G4 A4 B4 C5")
    assert {len(f.struck) for f in runs(line)} == {8}
    assert {len(f.struck) for f in runs(line, 4)} == {4, 8}
    assert runs(line, 9) == []
    assert runs(line_of("C4 D4 E4 r C4"), 4) == []


def test_slices_give_the_shortened_run() -> None:
    line = line_of("C4 D4 E4 F4 G4 A4 B4 C5")
    (figure,) = runs(line.slice(2, 8))
    assert names(figure.anchors) == "E4 C5"
    assert runs(line.slice(0, 4)) == []


def test_a_run_shared_by_the_hands_passes_over_in_blocks() -> None:
    texture = texture_of("r*4 G4 A4 B4 C5", "C4 D4 E4 F4 r*4")
    assert texture.shared is not None
    (figure,) = runs(texture.shared)
    assert names(figure.struck) == "C4 D4 E4 F4 G4 A4 B4 C5"
    assert figure.hand == "left"
    to_and_fro = texture_of("C4 r E4 r G4 r B4 r", "r D4 r F4 r A4 r C5")
    assert to_and_fro.shared is not None
    assert runs(to_and_fro.shared) == []
    one_hand = texture_of("C4 D4 E4 F4 G4 A4 B4 C5", "r*8 C3*8")
    assert one_hand.shared is not None
    assert runs(one_hand.shared) == []


def test_a_run_goes_from_voice_to_voice_of_one_hand() -> None:
    texture = texture_of(("C4 D4 E4 F4 r*4", "r*4 G4 A4 B4 C5"))
    assert all(runs(voice) == [] for voice in texture.voices)
    (figure,) = runs(texture.hands["right"])
    assert names(figure.anchors) == "C4 C5"


def test_the_inverse_refuses_what_does_not_follow() -> None:
    line = line_of("C4 D4 E4 F4 G4 A4")
    (figure,) = runs(line)
    without_end = cover_up(replace(figure, anchors=figure.anchors[:1]), line.bars)
    with pytest.raises(CannotSpellOut, match="first and the last"):
        spell_out_scale_run(without_end)
    shorter = cover_up(figure, line.bars)
    with pytest.raises(CannotSpellOut, match="letters apart"):
        spell_out_scale_run(shorter._replace(slots=shorter.slots[:2] + shorter.slots[3:]))
    with pytest.raises(CannotSpellOut, match="its scale"):
        spell_out_scale_run(shorter._replace(scale=None))
    with pytest.raises(CannotSpellOut, match="notes of its scale apart"):
        spell_out_chromatic_run(shorter._replace(kind="chromatic-run"))


def test_a_wrong_label_does_not_rebuild_the_run() -> None:
    line = line_of("G4 A4 B4 C5 D5 E5 F#5 G5")
    figure = longest("G4 A4 B4 C5 D5 E5 F#5 G5")
    assert spelt(replace(figure, scale=Scale("C", "major")), line) != written(figure)


def test_thousands_of_random_lines_obey_the_law() -> None:
    """Random walks by step with random accidentals: whatever is found can be rebuilt, and its odd notes are few and inside."""
    chance, checked = random.Random(4), 0
    for _ in range(400):
        fifths = chance.randrange(-7, 8)
        scale = signature_scale(fifths, minor=chance.random() < 0.5)
        at, way, words = chance.randrange(24, 40), 1, []
        for _ in range(60):
            if chance.random() < 0.12 or not 14 < at < 50:
                way = 1 if at < 20 else -1 if at > 44 else -way
            at += way
            alter = alter_in(scale, at % 7, True) or 0
            if chance.random() < 0.08:
                alter = max(-2, min(2, alter + chance.choice((-1, 1))))
            pitch = pitch_at(at, alter)
            words.append(spelled(at, int(pitch.alter)) + str(at // 7))
        found = runs(line_of(" ".join(words), fifths=chance.choice((fifths, 0))))
        assert len(found) <= 60
        for figure in found:
            checked += len(figure.grey)
            assert 4 * len(figure.odd) <= len(figure.struck)
            if figure.scale is not None and figure.scale.type == "major":
                assert abs(fifths_of(figure.scale)) <= 9
    assert checked > 5000


def test_the_work_grows_with_the_line_only() -> None:
    """Twice the notes give about twice the candidates, in the worst line too: up and down for ever with a change of key on the way."""
    once = "C4 D4 E4 F4 G4 A4 B4 C5 Db5 Eb5 F5 Gb5 Ab5 Bb5 C6 Bb5 Ab5 G5 F5 E5 D5 C5 B4 A4 G4 F4 E4 D4 "
    few, many = (len(list(detect_scale_runs(line_of(once * times)))) for times in (20, 40))
    assert 0 < many <= 2 * few + 4


def longest_legs(line: Line, steps: str, fewest: int) -> Iterator[Leg]:
    """Yield the legs that no longer one holds: every pair of events is tried."""
    found = []
    for first in range(len(line)):
        for last in range(first + fewest - 1, len(line)):
            inner = [event.ticks for event in line.events[first + 1 : last]]
            one_way = set(steps[first:last]) in ({"u"}, {"d"})
            ends = min(line.events[first].ticks, line.events[last].ticks)
            if one_way and len(set(inner)) == 1 and ends >= inner[0]:
                found.append((first, last, 1 if steps[first] == "u" else -1))
    for one in found:
        if not any(other != one and other[0] <= one[0] and one[1] <= other[1] for other in found):
            yield one


@pytest.mark.parametrize("fewest", [4, 6])
def test_legs_are_the_longest(fewest: int) -> None:
    count = 0
    for line in random_lines(60):
        for reading in (CONJUNCT, SMALL, BY_SEMITONE):
            steps = steps_of(line.moves, reading)
            found = list(legs(line, steps, fewest))
            assert found == list(longest_legs(line, steps, fewest))
            count += len(found)
    assert count > 20
