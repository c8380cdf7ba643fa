"""Kinds and notes explained: every kind is found in its own example, and what is said of a note is what the report says."""

from __future__ import annotations

import inspect
import json
import sys
from pathlib import Path

import blind
import pytest
from the_program import inside

import annotator
from annotator.errors import UsageError
from annotator.figures.registry import KINDS
from annotator.figures.small_scores import EXAMPLES, small_score
from annotator.marks.explaining import explained, reasons_in_bar
from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.marks.style import load_style
from annotator.options.settings import LANGUAGES, Options
from annotator.pages.engraving import engrave
from annotator.reading import load, read, read_document
from annotator.words.labels import dark_words, rule_words, unnamed
from annotator.words.phrases import heading

NAMES = [kind.name for kind in KINDS]


def test_every_kind_has_an_example() -> None:
    assert list(EXAMPLES) == NAMES, "the order of the vocabulary"


@pytest.mark.parametrize("kind", NAMES)
def test_a_kind_is_found_in_its_example_once_and_greys_something(kind: str) -> None:
    report = find_figures(read(small_score(EXAMPLES[kind])), Options(kinds=(kind,), saves=1, shortest=4))
    assert [figure.kind for _, figure in report.figures] == [kind]
    assert report.grey >= 2


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_explanation_has_rule_what_is_black_and_the_example(language: str) -> None:
    for kind in NAMES:
        text = explained(kind, language)
        assert rule_words(kind, language) in text
        assert dark_words(kind, language) in text
        assert text.splitlines()[-1].count("(") >= 2, text


def test_a_broken_chord_explained() -> None:
    last = explained("broken-chord").splitlines()[-1]
    assert last == (
        "left: [broken chord: C] C3 E3 G3 E3 (C3) (E3) (G3) (E3) | [G/B] B2 (D3) (G3) (D3) [C] C3 (E3) (G3) (E3)"
    )


@pytest.mark.parametrize("kind", NAMES)
def test_the_rule_stands_in_the_docstring_of_what_does_it(kind: str) -> None:
    function = next(each for each in KINDS if each.name == kind).spell_out
    module = sys.modules[function.__module__]
    told = " ".join(f"{inspect.getdoc(module)} {inspect.getdoc(function)}".split())
    assert " ".join(_plain(kind).split()) in told, f"write it into {module.__name__}: {_plain(kind)}"


def _plain(kind: str) -> str:
    """Return a rule as a docstring has it: with its blank for the interval, and a typewriter's apostrophe."""
    own = next(each for each in KINDS if each.name == kind)
    text = rule_words(kind).replace("’", "'")
    if own.words != "parallel" or own.interval == "octave":
        return text
    return text.replace(f"a {own.interval} away", "{interval} away").replace(f"an {own.interval} away", "{interval} away")


def test_why_says_of_each_note_of_a_bar_what_the_report_says() -> None:
    score = annotator.read(annotator.example("letter-by-the-window"))
    report = annotator.find_figures(score)
    rows = reasons_in_bar(report, "5").split("\n\n")[0].splitlines()[1:]
    notes = [note for note in score.parts[0].notes if note.bar == 4]
    assert len(rows) == len(notes)
    assert sum("grey" in row for row in rows) == sum(note.number in report.grey_numbers for note in notes)
    assert rule_words("alberti-bass") in reasons_in_bar(report, "5")
    with pytest.raises(UsageError, match="bar '99'"):
        reasons_in_bar(report, "99")


def test_the_command_line() -> None:
    assert explained("turn", "de") == inside("figures", "--explain", "turn", "--language", "de").out
    piece = str(annotator.example("letter-by-the-window"))
    assert "follows: Alberti bass: G" in inside("figures", piece, "--why", "5").out
    assert inside("figures", "--explain", "trills").code == 2
    assert inside("figures").code == 2




def test_the_foot_says_what_a_run_without_a_scale_means_where_one_stands() -> None:
    document = load(annotator.example("revolving-doors"))
    score = read_document(document)
    report = find_figures(score)
    pages = engrave(document, score, markings(report), load_style("large-print"), "a4").pages
    said = [heading("foot-unnamed") in page for page in pages]
    paths = {label for _, figure in report.figures for label in unnamed(figure)}
    shown = [any(f">{path}<" in page or f">({path})<" in page for path in paths) for page in pages]
    assert said == shown
    assert any(said)
    assert not all(said)


def test_a_run_without_a_scale_is_one_that_shows_its_way_alone() -> None:
    report = find_figures(read(small_score(EXAMPLES["scale-run"])))
    assert [unnamed(figure) for _, figure in report.figures] == [("C→C",)]
    assert not unnamed(find_figures(read(small_score(EXAMPLES["turn"]))).figures[0][1])


def test_blind_sheets_show_no_grey_note_and_are_marked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scores = [str(annotator.example(name)) for name in ("sonatina-at-the-open-gate", "revolving-doors")]
    blind.make(tmp_path, 1, 2, scores)
    key = json.loads((tmp_path / "key.json").read_text(encoding="utf-8"))
    questions = (tmp_path / "questions.md").read_text(encoding="utf-8").split("### ")[1:]
    for asked, text in zip(key.values(), questions, strict=True):
        assert text.count("?") == len(asked["answer"])
        assert rule_words(asked["kind"]) in text
    answers = tmp_path / "answers.json"
    answers.write_text(json.dumps({number: asked["answer"] for number, asked in key.items()}), encoding="utf-8")
    capsys.readouterr()
    blind.mark(tmp_path, answers)
    assert capsys.readouterr().out.splitlines()[-1].endswith("1.000")
