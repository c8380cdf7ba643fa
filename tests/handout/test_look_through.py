"""The facts of the look-through page, against the composed studies, hand-made bars, and another reader of the same files."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from marked_pages import meeting_texts
from scores_at_hand import CORPUS, EXAMPLES, LOCAL_SCORES, NO_LOCAL_SCORES, local_scores

from annotator.marks.finding import find_figures
from annotator.marks.report import Report
from annotator.music.names import Scale, name_of
from annotator.music.score import Clef, Pitch
from annotator.options.settings import Options
from annotator.pages.paper import paper_of
from annotator.pages.svg import SVG
from annotator.products.handout.facts import LookThrough, Road, Tempo, look_through
from annotator.products.handout.look_through import look_through_page
from annotator.products.handout.sheet import Heading
from annotator.products.survey.measuring import measures_of
from annotator.reading import load, read_document

STUDIES = sorted(EXAMPLES.glob("*.musicxml"))
PIECES = [*STUDIES, CORPUS / "bach" / "bwv846.mxl", CORPUS / "joplin" / "maple_leaf_rag.mxl", CORPUS / "schubert" / "Lindenbaum.xml"]


@cache
def facts_of(path: Path) -> tuple[LookThrough, Report]:
    score = read_document(load(path))
    report = find_figures(score)
    return look_through(score, report), report


def of_xml(bars: list[str], attributes: str = "", after: str = "") -> LookThrough:
    """Return the facts of one part of one staff; each bar is the text of its elements, in quarters."""
    opening = f"<attributes><divisions>1</divisions>{attributes}</attributes>"
    measures = "".join(f'<measure number="{n}">{opening if n == 1 else ""}{bar}</measure>' for n, bar in enumerate(bars, 1))
    parts = '<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
    score = read_document(load(f"<score-partwise>{parts}<part id='P1'>{measures}</part></score-partwise>".encode()))
    return look_through(score, find_figures(score, Options()))


def note(step: str, octave: int, duration: int = 4, alter: int = 0) -> str:
    pitch = f"<pitch><step>{step}</step><alter>{alter}</alter><octave>{octave}</octave></pitch>"
    return f"<note>{pitch}<duration>{duration}</duration><voice>1</voice></note>"


def barline(content: str, location: str = "right") -> str:
    return f'<barline location="{location}">{content}</barline>'


def test_the_sonatina_says_what_was_composed() -> None:
    """Composed so: F major, 4/4, bars 9 to 12 in C, the first twelve bars twice, hands in octaves, then in contrary motion."""
    facts, _ = facts_of(EXAMPLES / "sonatina-at-the-open-gate.musicxml")
    assert [(time.beats, time.beat_type, bar) for time, bar in facts.times if time] == [((4,), 4, "1")]
    assert facts.tempos == (Tempo("Allegretto", ""),)
    assert [key.fifths for key, _ in facts.signatures] == [-1]
    assert facts.home == Scale("F", "major")
    assert [(key.what, key.bars) for key in facts.keys] == [(Scale("C", "major"), (("9", "12"),))]
    assert facts.roads == (Road("again", ("1", "12")),)
    assert [(found.what, found.bars) for found in facts.together] == [
        ("hands-in-octaves", (("1", "4"), ("21", "22"))),
        ("contrary-motion", (("23", "23"),)),
    ]
    assert [accidental.what for accidental in facts.accidentals] == ["B"]
    kinds = {found.what for found in (*facts.copies, *facts.others)} | {found.kind for found in facts.accompaniments}
    assert kinds == {
        *("parallel-thirds", "sequence", "broken-thirds", "trill", "broken-chord", "bass-and-chord", "alberti-bass"),
        "repeated-group",  # bars 2 and 3 come again before the end
    }


@pytest.mark.parametrize("path", PIECES, ids=lambda path: path.stem)
def test_the_chart_adds_up_to_the_report(path: Path) -> None:
    facts, report = facts_of(path)
    assert sum(count.notes for count in facts.counts) == report.notes
    assert sum(count.to_read for count in facts.counts) == report.to_read
    assert all(0 <= count.to_read <= count.notes for count in facts.counts)


@pytest.mark.parametrize("path", [*STUDIES, CORPUS / "bach" / "bwv846.mxl"], ids=lambda path: path.stem)
def test_the_outer_notes_are_those_another_reader_finds(path: Path) -> None:
    """Source of the reference: music21's own reading of the same file, staff by staff."""
    from music21 import converter

    facts, _ = facts_of(path)
    staves = converter.parse(path, forceSource=True).parts
    for hand, staff in zip(("right", "left"), staves, strict=True):
        heard = [pitch.midi for element in staff.recurse().notes for pitch in element.pitches if not element.duration.isGrace]
        ours = [extreme.pitch.semitone for extreme in facts.extremes if extreme.hand == hand]
        assert ours == [min(heard), max(heard)]


def test_repeats_endings_and_jumps_are_told_in_order() -> None:
    words = "<direction><direction-type><words>{}</words></direction-type></direction>"
    facts = of_xml([
        note("C", 4),
        barline('<repeat direction="forward"/>', "left") + note("D", 4),
        barline('<ending number="1" type="start"/>', "left")
        + note("E", 4)
        + barline('<ending number="1" type="stop"/><repeat direction="backward"/>'),
        barline('<ending number="2" type="start"/>', "left") + note("F", 4) + barline('<ending number="2" type="discontinue"/>'),
        note("G", 4) + barline('<repeat direction="backward" times="3"/>'),
        words.format("Fine") + note("A", 4),
        note("B", 4) + words.format("D.C. al Fine"),
    ])
    assert facts.roads == (
        Road("again", ("2", "3")),
        Road("ending", ("3", "3"), "1"),
        Road("ending", ("4", "4"), "2"),
        Road("again", ("5", "5"), times=3),
        Road("fine", ("6", "6"), "Fine"),
        Road("jump", ("7", "7"), "D.C. al Fine"),
    )


def test_a_tempo_needs_words_with_a_tempo_or_a_metronome_that_says_something_new() -> None:
    mark = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>66</per-minute></metronome>"
        "</direction-type></direction>"
    )
    sung = '<direction placement="above"><direction-type><words>dolce</words></direction-type></direction>'
    slow = '<direction><direction-type><words>Meno mosso</words></direction-type><sound tempo="50"/></direction>'
    facts = of_xml([mark + note("C", 4), sung + mark + note("D", 4), slow + note("E", 4)])
    assert facts.tempos == (Tempo("", "", Fraction(3, 2), "66"), Tempo("Meno mosso", "3"))


def test_outer_notes_know_their_clef_and_ottava_line() -> None:
    line = '<direction><direction-type><octave-shift type="{}" size="8"/></direction-type></direction>'
    clef = "<clef><sign>{}</sign><line>{}</line></clef>"
    facts = of_xml(
        [
            note("C", 3) + f"<attributes>{clef.format('G', 2)}</attributes>",
            line.format("down") + note("G", 6) + line.format("stop"),
            note("C", 5),
        ],
        clef.format("F", 4),
    )
    low, high = facts.extremes
    assert (low.clef, low.ottava, low.bar) == (Clef("F", 4), 0, "1")
    assert (high.clef, high.ottava, high.bar) == (Clef("G", 2), 1, "2")


def test_an_accidental_is_what_the_signature_does_not_give() -> None:
    facts = of_xml(
        [note("F", 4, 2, 1) + note("B", 4, 2, -1), note("F", 4), note("B", 4, 4, -1)], "<key><fifths>1</fifths></key>"
    )
    assert [(each.what, each.bars) for each in facts.accidentals] == [("Bb", (("1", "1"), ("3", "3"))), ("F", (("2", "2"),))]


def test_keys_held_for_a_moment_are_not_told() -> None:
    for path in PIECES:
        facts, _ = facts_of(path)
        numbers = [count.number for count in facts.counts]
        for key in facts.keys:
            assert key.what != facts.home
            assert min(numbers.index(last) - numbers.index(first) + 1 for first, last in key.bars) >= 4


@pytest.mark.parametrize("paper", ["a4", "letter", "a4-landscape", "tablet"])
@pytest.mark.parametrize("path", [*PIECES, *local_scores()[-16:]], ids=lambda path: path.stem)
def test_the_page_is_one_side_and_no_texts_meet(path: Path, paper: str) -> None:
    score = read_document(load(path))
    page = look_through_page(facts_of(path)[0], Heading(score.title * 3, score.composer, "Grade 3", "fr"), paper_of(paper))
    texts = [text for text in page.group.iter(SVG + "text") if text.text != " "]
    assert max(float(text.get("y")) for text in texts) <= page.bottom
    assert meeting_texts(page.to_svg()) == []


def test_a_tempo_in_mid_piece_is_told_with_its_bar() -> None:
    said = '<direction placement="above"><direction-type>{}</direction-type><sound tempo="50"/></direction>'
    presto = said.format("<words> P</words><words>(</words><words>resto</words><words>)</words>")
    facts = of_xml([note("C", 4), presto + note("D", 4), said.format("<words>TRIO</words>") + note("E", 4)])
    assert facts.tempos == (Tempo("Presto", "2"),)


def test_the_hard_bars_have_the_most_to_read_in_a_beat() -> None:
    """Bars 2 and 4 have eight notes to read that nothing names; the others one."""
    names = [("C", 4), ("G", 5), ("D", 4), ("B", 5), ("A", 3), ("F", 5), ("E", 4), ("C", 6)]
    quick = "".join(note(step, octave, 1) for step, octave in names[:4])
    facts = of_xml([note("C", 4), quick, note("D", 4), "".join(note(step, octave, 1) for step, octave in names[4:]), note("E", 4)])
    assert facts.hard == (("2", "2"), ("4", "4"))


@pytest.mark.parametrize(
    ("score", "stretches"),
    [
        ("bach-wtc1-prelude-04", ["G#4–G#5, 4", "C#3–C#4, 3"]),  # bar 3 is rolled; in bar 37 the left hand is free for F#4
        ("bach-wtc1-prelude-07", ["Eb4–Eb5, 20", "Bb2–Bb3, 10"]),  # bars 39, 40, 59: the left hand has the inner note within an octave
        ("bach-wtc1-prelude-08", ["C4–C5, 15", "Ab2–Bb3, 27"]),  # the octaves before bar 15 are rolled
        ("bach-wtc1-prelude-12", ["Db4–Bb4, 4", "Ab2–Ab3, 9"]),
        ("burgmuller-op100-02", ["C5–A5, 33", "G3–F4, 8"]),
        ("burgmuller-op100-09", ["Eb5–G5, 15", "E3–D4, 35"]),
        ("burgmuller-op100-15", ["G4–F5, 22", "G3–F4, 44"]),
        ("burgmuller-op100-18", ["F#3–E4, 7"]),
        ("chopin-op10-12", ["F5–G6, 45", "G1–G2, 41"]),  # bar 55 is rolled
        ("chopin-op25-10", ["A#3–C#5, 96", "F#2–B3, 82"]),
    ],
)
def test_the_widest_stretch_of_ten_scores(score: str, stretches: list[str]) -> None:
    """Read by hand before the program was asked, from the widest chords of each staff with their signs and voices. The survey agrees."""
    path = LOCAL_SCORES / f"{score}.musicxml"
    if not path.exists():
        pytest.skip(NO_LOCAL_SCORES)

    def name(pitch: Pitch) -> str:
        """Return a pitch with its octave."""
        return name_of(pitch) + str(pitch.octave)

    found = facts_of(path)[0].stretches
    assert [f"{name(each.low)}–{name(each.high)}, {each.bar}" for each in found] == stretches
    measures = measures_of(read_document(load(path)), facts_of(path)[1])
    widths = {each.hand: int(each.high.semitone - each.low.semitone) for each in found}
    assert [measures.right.reach, measures.left.reach] == [widths.get(hand, 0) for hand in ("right", "left")]
