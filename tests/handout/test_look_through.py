"""The facts of the look-through page, against the composed studies, hand-made bars, and another reader of the same files."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from marked_pages import meeting_texts
from scores_at_hand import CORPUS, EXAMPLES, LOCAL_SCORES, NO_LOCAL_SCORES, local_scores

from annotator.marks.finding import find_figures
from annotator.marks.report import Report
from annotator.music.names import name_of
from annotator.music.score import Clef, Pitch
from annotator.options.settings import Options
from annotator.pages.svg import SVG
from annotator.products.handout.hands import moments_of, widest
from annotator.products.handout.lesson import prepare
from annotator.products.handout.look_through import Facts, look_through_page
from annotator.products.survey.measuring import measures_of
from annotator.reading import load, read_document

STUDIES = sorted(EXAMPLES.glob("*.musicxml"))
PIECES = [*STUDIES, CORPUS / "bach" / "bwv846.mxl", CORPUS / "joplin" / "maple_leaf_rag.mxl", CORPUS / "schubert" / "Lindenbaum.xml"]


@cache
def facts_of(path: Path) -> tuple[Facts, Report]:
    report = find_figures(read_document(load(path)))
    return Facts(report, "en"), report


def told(facts: Facts, section: str) -> list[tuple[str, str]]:
    """Return the rows of a section as (what, where)."""
    return [(row.what, row.where) for row in facts.rows()[section]]


def of_xml(bars: list[str], attributes: str = "", after: str = "") -> Facts:
    """Return the facts of one part of one staff; each bar is the text of its elements, in quarters."""
    opening = f"<attributes><divisions>1</divisions>{attributes}</attributes>"
    measures = "".join(f'<measure number="{n}">{opening if n == 1 else ""}{bar}</measure>' for n, bar in enumerate(bars, 1))
    parts = '<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
    score = read_document(load(f"<score-partwise>{parts}<part id='P1'>{measures}</part></score-partwise>".encode()))
    return Facts(find_figures(score, Options()), "en")


def note(step: str, octave: int, duration: int = 4, alter: int = 0) -> str:
    pitch = f"<pitch><step>{step}</step><alter>{alter}</alter><octave>{octave}</octave></pitch>"
    return f"<note>{pitch}<duration>{duration}</duration><voice>1</voice></note>"


def barline(content: str, location: str = "right") -> str:
    return f'<barline location="{location}">{content}</barline>'


def test_the_sonatina_says_what_was_composed() -> None:
    """Composed so: F major, 4/4, bars 9 to 12 in C, the first twelve bars twice, hands in octaves, then in contrary motion."""
    facts, _ = facts_of(EXAMPLES / "sonatina-at-the-open-gate.musicxml")
    assert told(facts, "time")[:-1] == [("4/4", ""), ("Allegretto", "")]
    assert told(facts, "key") == [("F major", ""), ("1 flat: B♭", ""), ("C major", "bars 9–12")]
    assert told(facts, "course") == [("play twice", "bars 1–12")]
    assert told(facts, "together") == [("hands in octaves", "bars 1–4, 21–22"), ("contrary motion", "bar 23")]
    assert [what for what, _ in told(facts, "signs")] == ["B ♮"]
    assert {what.partition(",")[0] for section in ("chords", "copies", "others") for what, _ in told(facts, section)} == {
        *("in thirds", "sequence", "broken thirds", "trill", "broken chord", "bass and chord", "Alberti bass"),
        "same again",  # bars 2 and 3 come again before the end
    }


@pytest.mark.parametrize("path", PIECES, ids=lambda path: path.stem)
def test_the_chart_adds_up_to_the_report(path: Path) -> None:
    facts, report = facts_of(path)
    assert sum(count.notes for count in facts.counts()) == report.notes
    assert sum(count.to_read for count in facts.counts()) == report.to_read
    assert all(0 <= count.to_read <= count.notes for count in facts.counts())


@pytest.mark.parametrize("path", [*STUDIES, CORPUS / "bach" / "bwv846.mxl"], ids=lambda path: path.stem)
def test_the_outer_notes_are_those_another_reader_finds(path: Path) -> None:
    """Source of the reference: music21's own reading of the same file, staff by staff."""
    from music21 import converter

    facts, _ = facts_of(path)
    staves = converter.parse(path, forceSource=True).parts
    for hand, staff in zip(("right", "left"), staves, strict=True):
        heard = [pitch.midi for element in staff.recurse().notes for pitch in element.pitches if not element.duration.isGrace]
        ours = [extreme.pitch.semitone for extreme in facts.extremes() if extreme.hand == hand]
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
    assert told(facts, "course") == [
        ("play twice", "bars 2–3"),
        ("endings 1, 2", "bars 3, 4"),
        ("play 3 times", "bar 5"),
        ("the end (Fine)", "bar 6"),
        ("D.C. al Fine", "bar 7"),
    ]


def test_a_tempo_needs_words_with_a_tempo_or_a_metronome_that_says_something_new() -> None:
    mark = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>66</per-minute></metronome>"
        "</direction-type></direction>"
    )
    sung = '<direction placement="above"><direction-type><words>dolce</words></direction-type></direction>'
    slow = '<direction><direction-type><words>Meno mosso</words></direction-type><sound tempo="50"/></direction>'
    facts = of_xml([mark + note("C", 4), sung + mark + note("D", 4), slow + note("E", 4)])
    assert told(facts, "time")[1:-1] == [("\ue1d5\ue1e7 = 66", ""), ("Meno mosso", "from bar 3")]


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
    low, high = facts.extremes()
    assert (low.clef, low.ottava, low.bar) == (Clef("F", 4), 0, "1")
    assert (high.clef, high.ottava, high.bar) == (Clef("G", 2), 1, "2")


def test_an_accidental_is_what_the_signature_does_not_give() -> None:
    facts = of_xml(
        [note("F", 4, 2, 1) + note("B", 4, 2, -1), note("F", 4), note("B", 4, 4, -1)], "<key><fifths>1</fifths></key>"
    )
    assert told(facts, "signs") == [("B♭", "bars 1, 3"), ("F ♮", "bar 2")]


def test_keys_held_for_a_moment_are_not_told() -> None:
    for path in PIECES:
        facts, _ = facts_of(path)
        home, *others = told(facts, "key")
        numbers = [count.number for count in facts.counts()]
        for what, where in others:
            if where.startswith("bar"):
                assert what != home[0]
                spans = [span.split("–") for span in where.split(" ", 1)[1].removesuffix(" …").split(", ")]
                assert min(numbers.index(span[-1]) - numbers.index(span[0]) + 1 for span in spans) >= 4


@pytest.mark.parametrize("paper", ["a4", "letter", "a4-landscape", "tablet"])
@pytest.mark.parametrize("path", [*PIECES, *local_scores()[-16:]], ids=lambda path: path.stem)
def test_the_page_is_one_side_and_no_texts_meet(path: Path, paper: str) -> None:
    report = facts_of(path)[1]
    lesson = prepare(path, Options(title=report.score.title * 3 or "x", class_="Grade 3", language="fr", paper=paper))
    page = look_through_page(lesson)
    texts = [text for text in page.group.iter(SVG + "text") if text.text != " "]
    assert max(float(text.get("y")) for text in texts) <= page.bottom
    assert meeting_texts(page.to_svg()) == []


def test_a_tempo_in_mid_piece_is_told_with_its_bar() -> None:
    said = '<direction placement="above"><direction-type>{}</direction-type><sound tempo="50"/></direction>'
    presto = said.format("<words> P</words><words>(</words><words>resto</words><words>)</words>")
    facts = of_xml([note("C", 4), presto + note("D", 4), said.format("<words>TRIO</words>") + note("E", 4)])
    assert told(facts, "time")[1:-1] == [("Presto", "from bar 2")]


def test_the_hard_bars_have_the_most_to_read_in_a_beat() -> None:
    """Bars 2 and 4 have eight notes to read that nothing names; the others one."""
    names = [("C", 4), ("G", 5), ("D", 4), ("B", 5), ("A", 3), ("F", 5), ("E", 4), ("C", 6)]
    quick = "".join(note(step, octave, 1) for step, octave in names[:4])
    facts = of_xml([note("C", 4), quick, note("D", 4), "".join(note(step, octave, 1) for step, octave in names[4:]), note("E", 4)])
    assert told(facts, "hard") == [("most to read in a beat", "bars 2, 4")]


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

    facts, report = facts_of(path)
    right, left = facts.by_hand.values()
    grips = [("right", widest(moments_of(right), left, True)), ("left", widest(moments_of(left), right, False))]
    found = {hand: (grip.notes[0].pitch, grip.notes[-1].pitch, facts.bars[grip.bar].number) for hand, grip in grips if grip}
    assert [f"{name(low)}–{name(high)}, {bar}" for low, high, bar in found.values()] == stretches
    assert [where for _, where in told(facts, "stretch")] == [f"bar {bar}" for *_, bar in found.values()]
    measures = measures_of(report.score, report)
    widths = {hand: int(high.semitone - low.semitone) for hand, (low, high, _) in found.items()}
    assert [measures.right.reach, measures.left.reach] == [widths.get(hand, 0) for hand in ("right", "left")]
