"""Scales and the naming of runs against a reference library and against what players call them.

Source of the expectations: scale spellings from music21's ``scale`` classes; the names of runs are common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from figures.lines_from_text import pitches
from music21 import pitch as m21_pitch
from music21 import scale as m21_scale

from annotator.music.keys import signature_scale
from annotator.music.names import Scale, name_of
from annotator.music.scales import (
    MODES,
    SCALES,
    TYPES,
    alter_in,
    classes_in,
    collection_of,
    fifths_of,
    name_run,
    scales_of_notes,
)
from annotator.music.score import STEPS, Pitch, key_of, pitch_at

SIGNATURES = range(-7, 8)
REFERENCE = {
    "major": m21_scale.MajorScale,
    "natural minor": m21_scale.MinorScale,
    "harmonic minor": m21_scale.HarmonicMinorScale,
    "melodic minor": m21_scale.MelodicMinorScale,
    "dorian": m21_scale.DorianScale,
    "phrygian": m21_scale.PhrygianScale,
    "lydian": m21_scale.LydianScale,
    "mixolydian": m21_scale.MixolydianScale,
    "locrian": m21_scale.LocrianScale,
}


def octave(scale: Scale, ascending: bool, octaves: int = 1, start: int = 28) -> list[Pitch]:
    """Return a scale of so many octaves from its tonic, spelled by ``alter_in``."""
    assert scale.tonic is not None
    tonic = start + STEPS.index(scale.tonic[0])
    places = range(tonic, tonic + 7 * octaves + 1)
    found = []
    for place in places if ascending else reversed(places):
        alter = alter_in(scale, place % 7, ascending)
        assert alter is not None
        found.append(pitch_at(place, alter))
    return found


def there_and_back(scale: Scale) -> list[Pitch]:
    return octave(scale, True) + octave(scale, False)[1:]


def fits(scale: Scale, run: list[Pitch]) -> tuple[bool, ...]:
    return tuple(scale in scales for scales in scales_of_notes(run))


def named(run: list[Pitch], fifths: int = 0, local: Scale | None = None) -> Scale | None:
    key = key_of(fifths)
    return name_run(run, key, key.alters, local or signature_scale(fifths))


def tonics(kind: str) -> list[str]:
    return [signature_scale(fifths, minor=kind != "major").tonic or "" for fifths in SIGNATURES]


EVERY = [(tonic, kind) for kind in TYPES for tonic in tonics(kind)]


def test_there_are_fifteen_major_and_forty_five_minor_scales() -> None:
    assert len(EVERY) == 60
    assert all(Scale(*one) in SCALES for one in EVERY)


@pytest.mark.parametrize("kind", REFERENCE)
@pytest.mark.parametrize("ascending", [True, False])
def test_spelling_agrees_with_music21(kind: str, ascending: bool) -> None:
    way = m21_scale.Direction.ASCENDING if ascending else m21_scale.Direction.DESCENDING
    for tonic in tonics("major" if kind in MODES else kind):
        low = m21_pitch.Pitch(tonic.replace("b", "-") + "4")
        reference = REFERENCE[kind](low)
        high = low.transpose("P8")
        there = reference.getPitches(low, high, direction=way)
        want = {p.step: int(p.alter) for p in there}
        assert len(want) == 7
        got = {step: alter_in(Scale(tonic, kind), letter, ascending) for letter, step in enumerate(STEPS)}
        assert got == want, (tonic, kind)


def test_collections_agree_with_music21() -> None:
    for tonic in ("C", "Gb", "F#", "B"):
        low = m21_pitch.Pitch(tonic.replace("b", "-") + "4")
        whole = m21_scale.WholeToneScale(low).getPitches(low, low.transpose("P8"))
        assert classes_in(Scale(tonic, "whole-tone")) == {p.pitchClass for p in whole}
        eight = m21_scale.OctatonicScale(low, "M2").getPitches(low, low.transpose("P8"))
        assert classes_in(Scale(tonic, "octatonic")) == {p.pitchClass for p in eight}
        five = {low.transpose(name).pitchClass for name in ("P1", "M2", "M3", "P5", "M6")}
        assert classes_in(Scale(tonic, "pentatonic")) == five


def test_signature_of_a_scale() -> None:
    for fifths in SIGNATURES:
        assert fifths_of(signature_scale(fifths)) == fifths
        assert fifths_of(signature_scale(fifths, minor=True)) == fifths
    with pytest.raises(ValueError, match="chromatic"):
        fifths_of(Scale(None, "chromatic"))


def test_letters_a_scale_lacks() -> None:
    assert alter_in(Scale("C", "pentatonic"), 3, ascending=True) is None
    assert alter_in(Scale("C", "pentatonic"), 4, ascending=True) == 0
    assert alter_in(Scale("C", "whole-tone"), 6, ascending=True) is None
    assert [alter_in(Scale("C", "whole-tone"), letter, ascending=True) for letter in range(6)] == [
        0,
        0,
        0,
        1,
        1,
        1,
    ]
    assert alter_in(Scale(None, "chromatic"), 0, ascending=True) is None


@pytest.mark.parametrize(("tonic", "kind"), EVERY)
@pytest.mark.parametrize("shape", ["up", "down", "turning"])
def test_every_scale_in_its_own_signature(tonic: str, kind: str, shape: str) -> None:
    """In its own minor key every scale gets its own name; melodic minor downwards is natural minor, as it sounds."""
    scale = Scale(tonic, kind)
    run = there_and_back(scale) if shape == "turning" else octave(scale, shape == "up")
    fifths = fifths_of(scale)
    local = signature_scale(fifths, minor=kind != "major")
    downwards = kind == "melodic minor" and shape == "down"
    assert named(run, fifths, local) == (Scale(tonic, "natural minor") if downwards else scale)


@pytest.mark.parametrize(("tonic", "kind"), EVERY)
@pytest.mark.parametrize("shape", ["up", "down", "turning"])
def test_every_scale_in_every_foreign_signature(tonic: str, kind: str, shape: str) -> None:
    """A whole octave names itself anywhere. Natural minor, and melodic minor downwards, is then called by its relative major."""
    scale = Scale(tonic, kind)
    run = there_and_back(scale) if shape == "turning" else octave(scale, shape == "up")
    relative = kind == "natural minor" or (kind == "melodic minor" and shape == "down")
    want = signature_scale(fifths_of(scale)) if relative else scale
    for fifths in SIGNATURES:
        assert named(run, fifths) == want, fifths


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("G4 A4 Bb4 C5 D5", ("F", "major")),
        ("A4 B4 C#5 D5 E5 F#5 G#5 A5", ("A", "major")),
        ("C#5 D5 E5 F#5 G#5", ("A", "major")),
        ("E4 F4 G#4 A4 B4", ("A", "harmonic minor")),
        ("F4 G#4 A4 B4 C5 D5 E5", ("A", "harmonic minor")),
        ("B4 A4 G#4 F4 E4", ("A", "harmonic minor")),
        ("E4 F#4 G#4 A4 B4", ("A", "melodic minor")),
        ("E4 F#4 G#4 A4 G4 F4 E4 D4", ("A", "melodic minor")),
        ("C4 D4 E4 F4 G4", ("C", "major")),
    ],
)
def test_accidentals_name_the_scale_without_signature(text: str, want: tuple[str, str]) -> None:
    assert named(pitches(text)) == Scale(*want)


def test_letters_that_do_not_occur_take_the_accidentals_in_force() -> None:
    key, run = key_of(0), pitches("C4 D4 E4 F4 G4")
    assert name_run(run, key, (0, 0, 0, 0, 0, 0, -1), Scale("C", "major")) == Scale(
        "F", "major"
    )
    sharps = [0, 0, 0, 1, 0, 0, 0]
    assert name_run(pitches("G4 A4 B4 C5 D5"), key, sharps, Scale("C", "major")) == Scale("G", "major")


def test_relative_keys_are_major_unless_the_minor_is_in_force() -> None:
    run = pitches("D4 E4 F4 G4 A4")
    assert named(run, -1) == Scale("F", "major")
    assert named(run, -1, Scale("D", "natural minor")) == Scale("D", "natural minor")
    assert named(run, -1, Scale("Bb", "major")) == Scale("F", "major")


def test_missing_letters_are_freed_only_where_nothing_fits() -> None:
    assert named(pitches("B4 A4 G#4 F#4 E4")) == Scale(
        "A", "major"
    )  # with C and D natural no scale goes so downwards
    assert named(pitches("E4 F#4 G#4 A4 B4"), 5) == Scale("E", "major")
    assert named(pitches("D4 Eb4 F4 G4 Ab4 Bb4"), 0) == Scale("Eb", "major")


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("C4 D4 E4 F#4 G#4 A#4", ("C", "whole-tone")),
        ("Bb4 Ab4 Gb4 Fb4 Ebb4 Dbb4", ("Bb", "whole-tone")),
        ("C4 D4 Eb4 F4 Gb4 Ab4 A4 B4 C5", ("C", "octatonic")),
        ("Gb4 Ab4 Bb4 Db5 Eb5 Gb5", ("Gb", "pentatonic")),
        ("Gb5 Eb5 Db5 Bb4 Ab4 Gb4", ("Gb", "pentatonic")),
    ],
)
def test_known_collections_by_their_steps(text: str, want: tuple[str, str]) -> None:
    assert collection_of(pitches(text)) == Scale(*want)


@pytest.mark.parametrize(
    "text", ["C4 D4 E4 G4 A4 B4", "C4 D4 E4 F4 G4 A4", "C4 D4 E4 F#4 G#4", "C4 E4 G4 C5 E5 G5"]
)
def test_what_is_no_collection(text: str) -> None:
    assert collection_of(pitches(text)) is None


def test_a_foreign_note_leaves_the_scale_of_the_key() -> None:
    run = pitches("C4 D#4 E4 F4 G4 A4 B4 C5")
    assert named(run) == Scale("C", "major")
    assert fits(Scale("C", "major"), run) == (True, False, *[True] * 6)


@pytest.mark.parametrize(
    "text",
    [
        "C#4 D#4 Eb4 F4 G4",  # the first is foreign
        "C4 D#4 E4 F4 G##4",  # the last is foreign
        "C4 D#4 E4 Fb4 G#4 A4 B4 C5",  # three in eight
        "C4",
        "",
    ],
)
def test_what_has_no_name(text: str) -> None:
    assert named(pitches(text)) is None


def test_a_minor_key_keeps_its_form_around_a_foreign_note() -> None:
    run = pitches("A4 G#4 F#4 E4 D4 C4 B3 A3")  # raised downwards too
    local = Scale("A", "natural minor")
    assert named(run, 0, local) == Scale("A", "harmonic minor")
    assert fits(Scale("A", "harmonic minor"), run).count(False) == 1


def test_every_name_holds_at_least_three_quarters_of_the_run() -> None:
    """A name never stands over a run that mostly breaks it: all runs of five letters with up to two random-looking alterations."""
    checked = 0
    for start in range(28, 35):
        for first in (-1, 0, 1):
            for second in (-1, 0, 1):
                run = [pitch_at(start + k, {1: first, 3: second}.get(k, 0)) for k in range(5)]
                if any(after.semitone <= before.semitone for before, after in pairwise(run)):
                    continue
                scale = named(run)
                checked += 1
                if scale is not None and scale.type in TYPES:
                    assert 4 * fits(scale, run).count(False) <= len(run), (name_of(run[0]), first, second)
    assert checked == 40
