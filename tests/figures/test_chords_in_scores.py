"""The chord figures on real music: named as published analyses name them, and every grey note follows."""

from pathlib import Path

import pytest
from figures.chord_figures import follows, harmonies, shown

from annotator.figures.alberti import detect_alberti_bass, spell_out_alberti_bass
from annotator.figures.arpeggios import detect_arpeggios, detect_block_chords, spell_out_arpeggio, spell_out_block_chord
from annotator.figures.bass_and_chord import detect_bass_and_chord, spell_out_bass_and_chord
from annotator.figures.broken_chords import detect_broken_chords, spell_out_broken_chord
from annotator.figures.lines import Line, Texture, read_lines
from annotator.music.chords import Chord
from annotator.reading import read

SCORES = Path(__file__).resolve().parents[2].parent / "shared" / "scores"
"""A local folder of scores that is no part of the project."""

QUARTET = "beethoven/opus59no1/movement3"

PAIRS = (
    (detect_arpeggios, spell_out_arpeggio),
    (detect_alberti_bass, spell_out_alberti_bass),
    (detect_broken_chords, spell_out_broken_chord),
    (detect_bass_and_chord, spell_out_bass_and_chord),
    (detect_block_chords, spell_out_block_chord),
)

MUSIC21_QUALITIES = {
    "major triad": "major",
    "minor triad": "minor",
    "dominant seventh chord": "dominant-seventh",
    "major seventh chord": "major-seventh",
    "minor seventh chord": "minor-seventh",
    "diminished seventh chord": "diminished-seventh",
}

C_MAJOR_PRELUDE = {  # bars 1–11; the harmonies are common knowledge, written from memory
    "1": "C major C",
    "2": "D minor-seventh C",
    "3": "G dominant-seventh B",
    "4": "C major C",
    "5": "A minor C",
    "6": "D dominant-seventh C",
    "7": "G major B",
    "8": "C major-seventh B",
    "9": "A minor-seventh A",
    "10": "D dominant-seventh D",
    "11": "G major G",
}


def corpus(work: str) -> list[Texture]:
    """Read the parts of a work of music21's corpus."""
    path = pytest.importorskip("music21").corpus.getWork(work)
    return textures(Path(str(path)))


def textures(path: Path) -> list[Texture]:
    """Read the parts of a score."""
    score = read(path)
    return [read_lines(part, score.resolution) for part in score.parts]


def harmonies_by_bar(line: Line) -> dict[str, set[str]]:
    """Return what the broken chords in eights of a line say of each bar."""
    said: dict[str, set[str]] = {}
    for figure in detect_broken_chords(line):
        if figure.group != 8:
            continue
        begins = {change.moment: change.chord for change in figure.changes}
        chord: Chord | None = None
        for moment in range(0, len(figure.moments), 8):
            chord = begins.get(moment, chord)
            assert chord is not None
            bar = line.bars[figure.moments[moment][0].bar].number
            said.setdefault(bar, set()).add(f"{chord.root} {chord.quality} {chord.bass}")
    return said


def test_the_c_major_prelude_is_a_broken_chord_in_eights_shared_by_the_hands() -> None:
    (texture,) = corpus("bach/bwv846")[:1]
    assert texture.shared is not None
    said = harmonies_by_bar(texture.shared)
    assert {bar: said.get(bar) for bar in C_MAJOR_PRELUDE} == {bar: {chord} for bar, chord in C_MAJOR_PRELUDE.items()}


def test_every_bar_of_the_prelude_is_named_as_a_published_analysis_names_it() -> None:
    """Source: the roman-numeral analysis (RomanText, Mark Gotham) that stands beside the score in the local folder."""
    music21 = pytest.importorskip("music21")
    score, analysis = SCORES / "bach-wtc1-prelude-01.musicxml", SCORES / "bach-wtc1-prelude-01.rntxt"
    if not (score.exists() and analysis.exists()):
        pytest.skip("the local folder of scores is not there")
    published: dict[str, str] = {}
    for numeral in music21.converter.parse(analysis, format="romanText").recurse().getElementsByClass("RomanNumeral"):
        quality = MUSIC21_QUALITIES[numeral.commonName]
        published[str(numeral.measureNumber)] = f"{numeral.root().name} {quality} {numeral.bass().name}".replace("-", "b")
    published = {bar: name.replace("bseventh", "-seventh") for bar, name in published.items()}
    shared = textures(score)[0].shared
    assert shared is not None
    said = harmonies_by_bar(shared)
    assert said == {bar: {published[bar]} for bar in said}
    unnamed = {str(bar) for bar in range(1, 36)} - set(said)
    assert unnamed == {"28", "33", "34", "35"}  # five names at once; then the pattern is given up


def test_the_alberti_figure_of_a_quartet() -> None:
    """Beethoven, op. 59 no. 1, III, bars 58 and 59, first violin; the harmonies were read by eye from all four instruments."""
    figures = [f for line in corpus(QUARTET)[0].voices for f in detect_alberti_bass(line)]
    (bars,) = [figure for figure in figures if len(figure.moments) > 20]
    assert harmonies(bars) == [
        "0: G minor/G",
        "4: D dominant-seventh/A",
        "12: G minor/G",
        "16: D dominant-seventh/A",
        "20: G minor/G",
        "24: G major/G",
    ]
    assert len(bars.grey) == 28 - 6  # all but the lowest note at each change


def test_ragtime_has_octave_basses_and_chords() -> None:
    pages = [shown(f) for t in corpus("joplin/maple_leaf_rag") for line in t.voices for f in detect_bass_and_chord(line)]
    start = "Bb1/Bb2 Bb3/D4/Ab4 D2/D3 bb3/d4/ab4 F2/F3 bb3/d4/ab4 Bb1/Bb2 bb3/d4/ab4"
    assert any(page.startswith(start) for page in pages)


def law_holds(parts: list[Texture]) -> int:
    """Assert that all chord figures can be rebuilt from the covered page; return how many notes that makes grey."""
    grey = 0
    for texture in parts:
        for line in texture.lines:
            for detect, spell_out in PAIRS:
                for figure in detect(line):
                    assert len(figure.grey) >= 2
                    assert follows(figure, line, spell_out), shown(figure)
                    grey += len(figure.grey)
    return grey


@pytest.mark.parametrize("work", ["bach/bwv846", QUARTET, "joplin/maple_leaf_rag", "schumann_clara/polonaise_op1n1"])
def test_every_grey_note_follows(work: str) -> None:
    assert law_holds(corpus(work)) > 20


@pytest.mark.parametrize("folder", ["bach*", "burgmuller*", "chopin*", "hanon*"])
def test_every_grey_note_follows_in_the_local_scores(folder: str) -> None:
    paths = sorted(SCORES.glob(folder + ".musicxml"))
    if not paths:
        pytest.skip("the local folder of scores is not there")
    grey = sum(law_holds(textures(path)) for path in paths)
    assert grey == 0 if folder == "hanon*" else grey > 100  # finger exercises in steps and thirds: no chord in them
