"""``annotator compare`` as a user meets it: two files under their names, messages, exit codes."""

from __future__ import annotations

from pathlib import Path

import pytest
from marked_pages import corpus
from scores_at_hand import EXAMPLES
from the_program import inside

from annotator.marks.finding import find_figures
from annotator.options.settings import Options
from annotator.products.compare.comparison import plan_comparison
from annotator.reading import read

STUDY = EXAMPLES / "letter-by-the-window.musicxml"
EMPTY = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note></measure></part></score-partwise>"""


def test_two_files_are_written_beside_the_source_and_replaced_the_next_time(tmp_path: Path) -> None:
    (tmp_path / "piece.musicxml").write_bytes(STUDY.read_bytes())
    for _ in range(2):
        code, _, said = inside("compare", "piece.musicxml", folder=tmp_path)
        assert code == 0
        headline = find_figures(read(STUDY)).headline
        assert said == f"annotator: piece.musicxml: {headline}: wrote piece-compare.pdf, piece-compare.html\n"
    assert {path.name for path in tmp_path.iterdir()} == {"piece.musicxml", "piece-compare.pdf", "piece-compare.html"}
    assert (tmp_path / "piece.musicxml").read_bytes() == STUDY.read_bytes()
    before = (tmp_path / "piece-compare.pdf").read_bytes()
    assert inside("compare", "piece.musicxml", "--facing", folder=tmp_path).code == 0
    assert (tmp_path / "piece-compare.pdf").read_bytes() != before


def test_a_strangers_page_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "piece.musicxml").write_bytes(STUDY.read_bytes())
    (tmp_path / "piece-compare.html").write_text("<!doctype html><title>mine</title>", encoding="utf-8")
    said = inside("compare", "piece.musicxml", folder=tmp_path)
    assert said.code == 73 and len(said.lines) == 1 and "--force" in said.err
    assert "mine" in (tmp_path / "piece-compare.html").read_text(encoding="utf-8")
    assert not (tmp_path / "piece-compare.pdf").exists()


def test_standard_input_is_refused_in_one_line(tmp_path: Path) -> None:
    said = inside("compare", "-", folder=tmp_path)
    assert said.code == 2 and len(said.lines) == 1 and "save the score" in said.err


def test_help_says_how_to_print_facing_pages() -> None:
    text = inside("compare", "-h", COLUMNS="200").out
    assert "--facing" in text and "both sides" in text and "permission" in text


def test_a_score_without_figures_is_compared_all_the_same(tmp_path: Path) -> None:
    source = tmp_path / "one-note.musicxml"
    source.write_text(EMPTY, encoding="utf-8")
    copy = plan_comparison(source, Options()).write()
    assert copy.report.figures == ()
    assert "No figures were found." in (tmp_path / "one-note-compare.html").read_text(encoding="utf-8")
    assert (tmp_path / "one-note-compare.pdf").read_bytes().startswith(b"%PDF")


def test_a_marked_copy_gives_the_comparison_of_its_source(tmp_path: Path) -> None:
    import annotator as library

    library.mark(STUDY, tmp_path)
    marked = tmp_path / f"{STUDY.stem}-marked.musicxml"
    plan_comparison(STUDY, Options(out=tmp_path / "source")).write()
    plan_comparison(marked, Options(out=tmp_path / "marked")).write()
    page = (tmp_path / "source" / f"{STUDY.stem}-compare.html").read_bytes()
    names = {path.name for path in (tmp_path / "marked").iterdir()}
    assert any((tmp_path / "marked" / name).read_bytes() == page for name in names)


@pytest.mark.parametrize("name", ["bach/bwv846", pytest.param("joplin/maple_leaf_rag", marks=pytest.mark.slow)])
def test_real_scores_are_compared(name: str, tmp_path: Path) -> None:
    source = corpus(name)
    copy = plan_comparison(source, Options(out=tmp_path)).write()
    assert [path.suffix for path in copy.files] == [".pdf", ".html"]
    text = copy.files[1].read_text(encoding="utf-8")
    assert text.count('class="light"') >= len(copy.report.figures) > 3
