"""The words of every kind, in three lengths and four languages."""

from __future__ import annotations

from dataclasses import replace

import pytest
from figures.lines_from_text import texture_of

from annotator.errors import UsageError
from annotator.figures.figure import Change, Figure
from annotator.music.chords import Chord
from annotator.music.names import Scale
from annotator.music.score import Note
from annotator.options.settings import LANGUAGES
from annotator.words.labels import change_words, kind_name, labels
from annotator.words.phrases import chord_name, chord_symbol, heading, note_name, scale_names

C = Chord("C", "major", 0, "C")
C_OVER_E = Chord("C", "major", 1, "E")


def moments_of(text: str) -> tuple[tuple[Note, ...], ...]:
    return tuple(event.notes for event in texture_of(text, "").hands["right"].events)


def figure(kind: str, text: str, **data: object) -> Figure:
    """Return a figure over a line of text; its first and last notes are dark unless told."""
    moments = moments_of(text)
    anchors = data.pop("anchors", (moments[0][0], moments[-1][0]))
    hand = data.pop("hand", "right")
    return Figure(kind, "P1", 1, "1", hand, moments, anchors, **data)  # type: ignore[arg-type]


def run(text: str, tonic: str | None, of: str = "major", direction: str = "up") -> Figure:
    return figure("scale-run" if tonic else "chromatic-run", text, scale=Scale(tonic, of), direction=direction)


UP, DOWN = "C4 D4 E4 F4 G4 A4 B4 ", "B5 A5 G5 F5 E5 D5 C5 "
TWO_DOWN = "C6 " + DOWN + "B4 A4 G4 F4 E4 D4 C4"

CASES = [
    (run("D4 E4 F4 G4 A4", "F"), ("F major run D→A", "F run D→A", "D→A")),
    (
        run("A4 B4 C5 D5 E5 D5 C5 B4 A4", "A", "harmonic minor", "turning"),
        ("A harmonic minor run A→E→A", "A harm. minor run A→E→A", "A→E→A"),
    ),
    (run(TWO_DOWN, "C", direction="down"), ("C major run C→C, 2 octaves down", "C run C→C, 2 oct. down", "C→C")),
    (run(TWO_DOWN + " B3", "C", direction="down"), ("C major run C→B, over 2 octaves down", "C run C→B, over 2 oct. down", "C→B")),
    (run(UP + "C5", "C"), ("C major run C→C", "C run C→C", "C→C")),
    (
        run(UP + "C5 D5 E5 F5 G5 A5 B5 C6 " + DOWN + "B4 A4 G4 F4 E4 D4 C4", "C", direction="turning"),
        ("C major run C→C→C, 2 octaves each way", "C run C→C→C, 2 oct. each way", "C→C→C"),
    ),
    (
        run("C4 D4 E4 F4 G4 " + "F4 E4 D4 C4 D4 E4 F4 G4 " * 3, "C", direction="turning"),
        ("C major run C→G→C→G→C→G→C→G", "C run C→…→G", "C→…→G"),
    ),
    (run("C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4", None, "chromatic"), ("chromatic run C→G♯", "chromatic C→G♯", "chromatic C→G♯")),
    (
        run("F##4 G#4 A#4 B4 C#5", "G#", "natural minor"),
        ("G♯ natural minor run F♯♯→C♯", "G♯ nat. minor run F♯♯→C♯", "G♯ nat. minor run F♯♯→C♯"),
    ),
    (run("D4 E4 F4 G4 A4", "D", "dorian"), ("D Dorian run D→A", "D Dorian run D→A", "D→A")),
    (
        figure("arpeggio", "E4 G4 C5", chord=C_OVER_E, direction="up"),
        ("C major arpeggio, 1st inversion, E→C", "C arp., 1st inv., E→C", "C/E"),
    ),
    (figure("arpeggio", "C4 E4 G4 C5", chord=C, direction="up"), ("C major arpeggio, C→C", "C arp., C→C", "C")),
    (figure("alberti-bass", "C4 G4 E4 G4", chord=C), ("Alberti bass: C", "Alberti: C", "C")),
    (figure("broken-chord", "A3 C4 F4", chord=Chord("F", "major", 1, "A")), ("broken chord: F/A", "broken: F/A", "F/A")),
    (
        figure("broken-chord", "A3 C4 F4", chord=Chord("F", "major", 1, "A"), model=moments_of("C4 E4 G4")),
        ("broken chord as before: F/A", "as before: F/A", "F/A"),
    ),
    (
        figure(
            "bass-and-chord",
            "D3 F#4/A4/C5 F#4/A4/C5",
            group=3,
            changes=(Change(0, moments_of("D3")[0][0], Chord("D", "dominant-seventh", 0, "D")),),
        ),
        ("waltz bass: D7", "waltz: D7", "D7"),
    ),
    (figure("bass-and-chord", "C3 E4/G4", group=2, chord=C), ("bass and chord: C", "bass+chord: C", "C")),
    (
        figure("parallel-thirds", "C4/E4 B3/D4 A3/C4", scale=Scale("C", "major"), direction="down", interval="third"),
        ("run in thirds, C major, E→C", "thirds, C, E→C", "thirds E→C"),
    ),
    (figure("parallel-sixths", "E4/C5 A4/F5", interval="sixth"), ("in sixths", "in sixths", "sixths")),
    (
        figure("parallel-octaves", "C4/C5 E4/E5 G4/G5", chord=C, direction="up"),
        ("arpeggio in octaves, C major, C→G", "octaves, C, C→G", "octaves C→G"),
    ),
    (
        figure("parallel-octaves", "C4/C5 C#4/C#5 D4/D5", scale=Scale(None, "chromatic"), direction="up"),
        ("chromatic run in octaves, C→D", "chromatic octaves, C→D", "chromatic octaves, C→D"),
    ),
    (
        figure("broken-thirds", "C4 E4 D4 F4 E4 G4 F4 A4 G4 B4", scale=Scale("C", "major"), direction="up"),
        ("broken thirds, C major, C→G", "broken thirds C→G", "broken thirds"),
    ),
    (figure("broken-octaves", "C3 C4 F3 F4"), ("broken octaves, C→F", "broken octaves C→F", "broken octaves")),
    (figure("turn", "D5 C5 B4 C5", form="upper-first", anchors=moments_of("C5")[0]), ("turn on C", "turn on C", "turn")),
    (
        figure("turn", "F5 G5 A5 G5", form="lower-first", anchors=moments_of("G5")[0]),
        ("inverted turn on G", "inv. turn on G", "inv. turn"),
    ),
    (
        figure("turn", "D5 C5 B4 C5 E5 D5 C5 D5", form="upper-first", anchors=moments_of("C5")[0] + moments_of("D5")[0]),
        ("turns: C, D", "turns: C, D", "turns"),
    ),
    (
        figure("mordent", "C5 B4 C5 D5 C5 D5 E5 D5 E5", anchors=tuple(m[0] for m in moments_of("C5 D5 E5"))),
        ("lower mordents: C, D, E", "lower mordents: C, D, E", "lower mordents"),
    ),
    (
        figure("mordent", "C5 D5 C5 D5 E5 D5", direction="up", anchors=tuple(m[0] for m in moments_of("C5 D5"))),
        ("upper mordents: C, D", "upper mordents: C, D", "upper mordents"),
    ),
    (
        figure("mordent", "C5", anchors=tuple(m[0] for m in moments_of("C5 D5 E5 F5 G5 A5 B5 C6 D6"))),
        ("lower mordents: C … D", "lower mordents: C … D", "lower mordents"),
    ),
    (figure("trill", "D5 C5 D5 C5 D5 C5"), ("trill D–C", "trill D–C", "trill")),
    (figure("tremolo", "C4 E4 C4 E4 C4 E4"), ("tremolo C–E", "trem. C–E", "trem.")),
    (figure("tremolo", "D4/F4 C#4/E4 D4/F4 C#4/E4 D4/F4 C#4/E4"), ("tremolo: D+F / C♯+E", "trem.: D+F / C♯+E", "trem.")),
    (figure("tremolo", "C4 E4 C4 E4 D4 F4 D4 F4", group=4), ("pair by pair, in turn", "pair by pair", "pairs")),
    (figure("repeated-notes", "C4 C4 C4 A4 D4 D4 D4"), ("repeated notes", "repeated", "repeated")),
    (figure("repeated-notes", "C4 " * 8, times=8), ("C ×8", "C ×8", "×8")),
    (figure("repeated-notes", "C4/C5 " * 4, times=4), ("C ×4", "C ×4", "×4")),
    (figure("repeated-notes", "C4/E4/G4 " * 4, times=4), ("chord ×4", "chord ×4", "×4")),
    (figure("repeated-notes", "E4/G4/C5 " * 4, chord=C_OVER_E, times=4), ("C/E ×4", "C/E ×4", "×4")),
    (figure("repeated-group", "C4 E4 G4", times=3), ("same again ×3", "again ×3", "again ×3")),
    (figure("repeated-group", "C4 E4 G4", times=1), ("same again", "again", "again")),
    (figure("repeated-group", "C4 E4 G4", times=1, model_bars=("12", "12")), ("= bar 12", "= bar 12", "= 12")),
    (
        figure("repeated-group", "C4 E4 G4", times=1, model_bars=("3", "6"), both_hands=True),
        ("= bars 3–6, both hands", "= bars 3–6, both hands", "= 3–6"),
    ),
    (figure("octave-copy", "C5 E5 G5", times=2, steps=7), ("an octave higher ×2", "oct. higher ×2", "oct. up ×2")),
    (figure("sequence", "C4 D4 E4", times=4, steps=-1), ("sequence: down a step ×4", "down a step ×4", "↓ step ×4")),
    (figure("sequence", "C4 D4 E4", times=1, steps=-1, semitones=-3), ("real sequence: down a third", "real: down a third", "↓ 3rd")),
    (figure("sequence", "C4 D4 E4", times=1, steps=3, semitones=5), ("real sequence: up a fourth", "real: up a fourth", "↑ 4th")),
    (
        figure("sequence", "C4 D4 C#4 D#4", times=2, steps=0, semitones=1),
        ("real sequence: up a semitone ×2", "real: up a semitone ×2", "↑ semitone ×2"),
    ),
    (figure("retrograde", "G4 E4 C4", times=1), ("back down the same way", "back down again", "and back")),
    (
        figure("imitation", "C4 E4 G4", steps=-7),
        ("follows the left hand, an octave below", "follows l. h., oct. below", "l. h., oct. below"),
    ),
    (
        figure("imitation", "C4 E4 G4", steps=-17),
        ("follows the left hand, two octaves and a fourth below", "follows l. h., 2 oct. + 4th below", "l. h., 2 oct. + 4th below"),
    ),
    (figure("imitation", "C4 E4 G4", steps=-8), ("follows the left hand, a ninth below", "follows l. h., 9th below", "l. h., 9th below")),
    (figure("pedal-note", "D#4 D#4 D#4"), ("D♯ in between", "D♯ in between", "D♯ between")),
    (figure("hands-in-octaves", "C4", steps=-7), ("left hand an octave below", "l.h. an octave below", "an octave below")),
    (figure("hands-in-octaves", "C4", steps=-14), ("left hand two octaves below", "l.h. two octaves below", "two octaves below")),
    (figure("hands-in-unison", "C4", steps=0), ("left hand in unison", "l.h. in unison", "unison")),
    (figure("hands-in-thirds", "C4", steps=-2), ("left hand a third below", "l.h. a third below", "a third below")),
    (figure("hands-in-sixths", "C4", steps=-5), ("left hand a sixth below", "l.h. a sixth below", "a sixth below")),
    (figure("hands-in-tenths", "C4", steps=-9), ("left hand a tenth below", "l.h. a tenth below", "a tenth below")),
    (figure("contrary-motion", "C4"), ("left hand mirrors", "l.h. mirrors", "mirrors")),
    (figure("block-chord", "E4/G4/C5", chord=C_OVER_E), ("C major, 1st inversion", "C, 1st inv.", "C/E")),
    (figure("block-chord", "C4/E4/G4", chord=C), ("C major", "C", "C")),
]
VOCABULARY = [
    *("scale-run", "chromatic-run", "arpeggio", "alberti-bass", "broken-chord", "bass-and-chord", "turn", "mordent", "trill"),
    *(
        "tremolo",
        "repeated-notes",
        "repeated-group",
        "octave-copy",
        "sequence",
        "retrograde",
        "imitation",
        "pedal-note",
        "contrary-motion",
        "block-chord",
        "hands-in-unison",
    ),
    *(f"hands-in-{word}" for word in ("octaves", "thirds", "sixths", "tenths")),
    *(f"parallel-{word}" for word in ("thirds", "fourths", "sixths", "octaves", "tenths")),
    *(f"broken-{word}" for word in ("thirds", "fourths", "fifths", "sixths", "sevenths", "octaves")),
]


@pytest.mark.parametrize(("given", "expected"), CASES, ids=[f"{f.kind}: {words[0]}" for f, words in CASES])
def test_english_labels(given: Figure, expected: tuple[str, str, str]) -> None:
    assert labels(given) == expected


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_case_has_three_lengths_in_every_language(language: str) -> None:
    for given, _ in CASES:
        long, medium, short = labels(given, language)
        assert len(long) >= len(medium) >= len(short) > 0, (long, medium, short)
        for text in (long, medium, short):
            assert text == text.strip() and "{" not in text and "#" not in text
            assert language == "de" or "None" not in text  # in German a ninth is a None


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_kind_of_the_vocabulary_can_be_named(language: str) -> None:
    names = [kind_name(kind, language) for kind in VOCABULARY]
    assert len(set(names)) == len(VOCABULARY) and not set(names) & {k for k in VOCABULARY if "-" in k}
    for kind in VOCABULARY:
        given = figure(kind, "C4/E4 D4/F4 E4/G4 F4/A4", scale=Scale("C", "major"), chord=C, steps=-2, direction="up")
        assert all(labels(given, language))


def test_german_names() -> None:
    # From memory, as taught in German-speaking countries: B natural is H, B flat is B; as, es lose a letter.
    names = "C C# Db D D# Eb E E# Fb F F# Gb G G# Ab A A# Bb B B# Cb F## Bbb Abb"
    german = "C Cis Des D Dis Es E Eis Fes F Fis Ges G Gis As A Ais B H His Ces Fisis Heses Asas"
    assert [note_name(name, "de") for name in names.split()] == german.split()
    assert scale_names(Scale("F#", "harmonic minor"), "de")[0] == "fis-Moll harmonisch"
    assert chord_name(Chord("B", "minor", 0, "B"), "de") == "h-Moll"
    assert chord_symbol(Chord("Bb", "major", 1, "D"), "de") == "B/D"


def test_syllables() -> None:
    given = run("D4 E4 F4 G4 A4", "F")
    assert labels(given, "fr")[0] == "gamme de fa majeur, ré→la"
    assert labels(given, "it")[0] == "scala di fa maggiore, re→la"
    assert labels(given, "de")[0] == "Lauf F-Dur, D→A"
    assert chord_symbol(Chord("A", "minor", 1, "C"), "fr") == "Lam/Do"
    assert note_name("Bb", "it") == "si♭"


@pytest.mark.parametrize(
    ("chord", "symbol", "name"),
    [
        (Chord("G", "dominant-seventh", 3, "F"), "G7/F", "G dominant seventh, 3rd inversion"),
        (Chord("C", "augmented", 0, "C"), "C+", "C augmented"),
        (Chord("B", "diminished", 2, "F"), "B°/F", "B diminished, 2nd inversion"),
        (Chord("B", "half-diminished-seventh", 0, "B"), "Bø7", "B half-diminished seventh"),
        (Chord("C#", "diminished-seventh", 1, "E"), "C♯°7/E", "C♯ diminished seventh, 1st inversion"),
        (Chord("Bb", "major-seventh", 0, "Bb"), "B♭maj7", "B♭ major seventh"),
        (Chord("E", "minor-seventh", 2, "B"), "Em7/B", "E minor seventh, 2nd inversion"),
    ],
)
def test_chord_names(chord: Chord, symbol: str, name: str) -> None:
    assert (chord_symbol(chord), chord_name(chord)) == (symbol, name)


def test_later_chords_are_named_where_they_change() -> None:
    notes = [moment[0] for moment in moments_of("C4 D4 E4 F4")]
    g7 = Chord("G", "dominant-seventh", 1, "B")
    given = figure(
        "alberti-bass",
        "C4 G4",
        chord=C,
        changes=(Change(0, notes[0], C), Change(4, notes[1], g7), Change(8, notes[2], g7), Change(12, notes[3], C)),
    )
    assert change_words(given) == ((notes[1], "G7/B"), (notes[3], "C"))
    assert change_words(given, "de") == ((notes[1], "G7/H"), (notes[3], "C"))


def test_an_odd_note_is_no_turning_note() -> None:
    given = run("C4 D4 E4 D#4 F4 G4 F4 E4 D4 C4", "C", direction="turning")
    odd = given.moments[3]
    assert labels(replace(given, odd=odd, anchors=(*given.anchors, *odd)))[2] == "C→G→C"


def test_a_grey_accidental_is_never_left_without_its_scale() -> None:
    altered = run("B4 C5 D#5 E5 F#5", "E", "harmonic minor")
    assert "E harm. minor" in labels(altered)[2] and labels(altered)[2] == labels(altered)[1]
    assert labels(run("B4 C5 D5 E5 F5", "C"))[2] == "B→F"


def test_lines_around_the_figures() -> None:
    assert heading("count", notes=352, to_read=121) == "352 notes, 121 to read"
    assert heading("bar", "de") == "Takt"
    assert kind_name("unheard-of") == "unheard-of"
    with pytest.raises(UsageError, match="no words for the language 'la'"):
        note_name("C", "la")
