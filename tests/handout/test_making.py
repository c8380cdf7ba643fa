"""``annotator handout`` as a teacher meets it: three files, their pages, options, excerpts, messages."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from handout.pdf_text import STUDY, lines_of, made, pieces_of
from pypdf import PdfReader
from the_program import inside

from annotator.errors import UsageError
from annotator.marks.style import load_style
from annotator.musicxml.seal import made_by_us
from annotator.options.settings import Options
from annotator.products.handout.lesson import prepare
from annotator.products.handout.making import FILES, covered_style
from annotator.words.labels import rule_words
from annotator.words.phrases import heading, title_words


def test_the_handout_is_looked_through_marked_and_explained_in_this_order() -> None:
    handout, files = made(STUDY)
    pieces = pieces_of(files["handout"])
    pages = {piece.page for piece in pieces}
    first = " ".join(piece.text for piece in pieces if piece.page == 1)
    last = " ".join(piece.text for piece in pieces if piece.page == max(pages))
    for title in ("look-through", "key", "chords", "compass", "together", "signs", "course", "chart"):
        assert title_words(title) in first
    assert "Grade 3, week 2" in first and "Copying printed music may need permission" in first
    assert "Black notes are to be read" in " ".join(piece.text for piece in pieces if piece.page == 2)
    assert rule_words("contrary-motion")[:40] in last
    text = "\n".join(lines_of(files["handout"]))
    assert [f"{n} / {len(pages)}" in text for n in range(1, len(pages) + 1)] == [True] * len(pages), "numbered through"
    assert handout.report.headline in first


def test_the_permission_is_on_the_first_page_of_each_file() -> None:
    for data in made(STUDY)[1].values():
        assert "Copying printed music may need permission" in " ".join(p.text for p in pieces_of(data) if p.page == 1)


def test_an_excerpt_is_a_piece_of_its_own() -> None:
    handout, files = made(STUDY, bars=(("9", "16"),), hand="right", language="de")
    text = "\n".join(lines_of(files["handout"]))
    assert "Takte 9–16 · rechte Hand" in text and "linke Hand" not in text
    assert [bar.number for bar in handout.report.score.parts[0].bars] == [str(n) for n in range(9, 17)]
    assert handout.report.score.parts[0].staves == 1
    assert all(figure.hand == "right" for _, figure in handout.report.figures)


def test_several_stretches_of_bars_are_one_excerpt() -> None:
    handout, files = made(STUDY, bars=(("1", "4"), ("17", "20")))
    text = "\n".join(lines_of(files["handout"]))
    assert "bars 1–4, 17–20" in text and "bars 1–20" not in text
    assert [bar.number for bar in handout.report.score.parts[0].bars] == ["1", "2", "3", "4", "17", "18", "19", "20"]


def test_a_title_takes_the_place_of_the_scores_and_may_hold_anything() -> None:
    lesson = prepare(STUDY, Options(title="Rock & <Roll>", class_="3b"))
    assert (lesson.score.title, lesson.group) == ("Rock & <Roll>", "3b")


def test_a_style_that_shows_some_kinds_only_is_heeded(tmp_path: Path) -> None:
    style = tmp_path / "runs.toml"
    style.write_text('kinds = ["scale-run"]')
    assert {figure.kind for _, figure in prepare(STUDY, Options(style=str(style))).report.figures} == {"scale-run"}


@pytest.mark.parametrize("options", [Options(bars=(("5", "99"),)), Options(bars=(("9", "5"),))])
def test_bars_that_are_not_there_are_refused(options: Options) -> None:
    with pytest.raises(UsageError):
        prepare(STUDY, options)


def test_the_command_writes_three_files_that_are_ours(tmp_path: Path) -> None:
    words = (STUDY, "--out", tmp_path, "--bars", "25-28", "--paper", "letter", "--language", "fr", "--class", "CM2", "--title", "Essai")
    code, _, said = inside("handout", *words)
    assert code == 0, said
    paths = [tmp_path / f"{STUDY.stem}-{name}.pdf" for name in FILES]
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    assert "copying printed music may need permission" in said and "to read" in said
    assert all(made_by_us(path) for path in paths)
    page = PdfReader(paths[0]).pages[0]
    assert (round(page.mediabox.width), round(page.mediabox.height)) == (612, 792)
    text = page.extract_text()
    assert "Essai" in text and "CM2 · mesures 25–28" in text
    before = [path.read_bytes() for path in paths]
    assert inside("handout", *words, "-q") == (0, b"", "")
    assert [path.read_bytes() for path in paths] == before, "the same again"
    paths[1].write_bytes(b"mine")
    code, _, said = inside("handout", *words)
    assert code == 73 and "--force" in said and paths[1].read_bytes() == b"mine"


def test_the_help_speaks_of_permission_and_standard_input_is_refused() -> None:
    help = inside("handout", "-h").out
    assert "may need permission" in re.sub(r"\s+", " ", help) and "--class" in help
    code, _, said = inside("handout", "-", stdin=b"<x/>")
    assert code == 2 and "named after its score" in said


def test_a_covered_copy_is_one_file_more_with_the_head_of_a_sheet(tmp_path: Path) -> None:
    code, _, said = inside("handout", STUDY, "--covered", "--out", tmp_path, "--language", "de")
    assert code == 0 and f"{STUDY.stem}-covered.pdf" in said
    assert {path.stem.rpartition("-")[2] for path in tmp_path.iterdir()} == {*FILES, "covered"}
    text = " ".join(lines_of((tmp_path / f"{STUDY.stem}-covered.pdf").read_bytes()))
    assert title_words("covered", "de") in text and title_words("name", "de") in text
    assert heading("foot-covered", "de") in text


@pytest.mark.parametrize("name", ["light", "large-print"])
def test_a_covered_copy_has_the_size_of_the_style_asked_for(name: str) -> None:
    style = load_style(name)
    look = covered_style(style)
    assert look.covered and look.greying and look.unit >= style.unit
