"""Scores a handout must not stumble over: without figures, without notes, without a keyboard, timewise, of several parts."""

from __future__ import annotations

from pathlib import Path

import pytest
from handout.pdf_text import lines_of
from pypdf import PdfReader
from scores_at_hand import NO_LOCAL_SCORES, keyboard_corpus, local_scores

from annotator.errors import ScoreError, UsageError
from annotator.options.settings import LANGUAGES, Options
from annotator.products.handout.making import plan_handout

PARTS = '<part-list><score-part id="P1"><part-name>{}</part-name></score-part></part-list>'
NOTE = "<note><pitch><step>{}</step><octave>4</octave></pitch><duration>{}</duration><voice>1</voice></note>"
REST = '<note><rest measure="yes"/><duration>4</duration><voice>1</voice></note>'
TIME = "<time><beats>4</beats><beat-type>4</beat-type></time>"
SIGNATURES = f"<attributes><divisions>1</divisions><key><fifths>0</fifths></key>{TIME}</attributes>"


def partwise(*bars: str, name: str = "Piano") -> str:
    measures = "".join(f'<measure number="{n}">{SIGNATURES if n == 1 else ""}{bar}</measure>' for n, bar in enumerate(bars, 1))
    return f'<score-partwise version="4.0">{PARTS.format(name)}<part id="P1">{measures}</part></score-partwise>'


def of(text: str, folder: Path, options: Options | None = None) -> dict[str, bytes]:
    """Write a score into a folder, hand it out, and return its files."""
    source = folder / "piece.musicxml"
    source.write_text(text, encoding="utf-8")
    made = plan_handout(source, options or Options()).write()
    return {path.stem.removeprefix("piece-"): path.read_bytes() for path in made.files}


def test_without_figures_there_is_no_legend(tmp_path: Path) -> None:
    files = of(partwise(NOTE.format("C", 4), NOTE.format("A", 4)), tmp_path)
    assert len(PdfReader(tmp_path / "piece-handout.pdf").pages) == 2
    assert "What the brackets say" not in "\n".join(lines_of(files["handout"]))
    assert "2 notes, 2 to read" in "\n".join(lines_of(files["handout"]))


def test_without_notes_there_is_nothing_to_hand_out(tmp_path: Path) -> None:
    with pytest.raises(ScoreError, match="has no notes"):
        of(partwise(REST, REST), tmp_path)
    with pytest.raises(ScoreError, match=r"no part has a note with a pitch: this score has Piano$"):
        of(partwise(REST, REST), tmp_path, Options(parts="all"))


def test_a_timewise_score_is_handed_out_like_a_partwise_one(tmp_path: Path) -> None:
    bars = (SIGNATURES + "".join(NOTE.format(step, 1) for step in "CDEF"), "".join(NOTE.format(step, 1) for step in "GABC"))
    measures = "".join(f'<measure number="{n}"><part id="P1">{bar}</part></measure>' for n, bar in enumerate(bars, 1))
    files = of(f'<score-timewise version="4.0">{PARTS.format("Piano")}{measures}</score-timewise>', tmp_path)
    assert "8 notes, " in "\n".join(lines_of(files["handout"]))


def test_what_a_score_says_cannot_break_the_page(tmp_path: Path) -> None:
    words = '<direction placement="above"><direction-type><words>&lt;b&gt; ]]&gt; &amp;amp; "</words></direction-type></direction>'
    long = "A very long title that goes on and on " * 6
    options = Options(title=f"<svg onload='x'>{long}", class_="Grade <3> & " + "wide " * 60)
    text = "\n".join(lines_of(of(partwise(words + NOTE.format("C", 4)), tmp_path, options)["handout"]))
    assert "<svg onload='x'>" in text and "<b> ]]> &amp; \"" in text and "Grade <3> &" in text


def test_a_hand_of_a_score_without_keyboard_is_refused(tmp_path: Path) -> None:
    two = PARTS.format("Violin").replace("</part-list>", '<score-part id="P2"><part-name>Viola</part-name></score-part></part-list>')
    measure = f'<measure number="1">{SIGNATURES}{NOTE.format("C", 4)}</measure>'
    text = f'<score-partwise version="4.0">{two}<part id="P1">{measure}</part><part id="P2">{measure}</part></score-partwise>'
    with pytest.raises(UsageError, match="keyboard"):
        of(text, tmp_path, Options(hand="left"))


@pytest.mark.slow
@pytest.mark.parametrize("source", [*keyboard_corpus(), *local_scores()], ids=lambda path: path.stem)
def test_every_score_at_hand_can_be_handed_out(source: Path, tmp_path: Path) -> None:
    language = LANGUAGES[len(source.stem) % len(LANGUAGES)]
    made = plan_handout(source, Options(language=language, class_="x", out=tmp_path)).write()
    pages = [len(PdfReader(path).pages) for path in made.files]
    assert pages[1] == pages[2], "worksheet and answers have one layout"


@pytest.mark.slow
def test_the_local_scores_were_there() -> None:
    if not local_scores():
        pytest.skip(NO_LOCAL_SCORES)
    assert len(local_scores()) > 10
