"""What Python shows: every object in one line, more of it where HTML is taken; the commands as functions; the example runs."""

from __future__ import annotations

import inspect
import os
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import html
from scores_at_hand import EXAMPLES

import annotator
from annotator.errors import MissingError, UsageError
from annotator.options.settings import rows_of

NAME = "letter-by-the-window"
STUDY = EXAMPLES / f"{NAME}.musicxml"


def test_every_object_is_told_in_one_short_line() -> None:
    score, report = annotator.read(STUDY), annotator.find_figures(STUDY)
    part, figure = score.parts[0], report.figures[0][1]
    told = [repr(each) for each in (score, part, report, figure, annotator.excerpt(STUDY, bars="1-2"), part.notes[0])]
    assert told[:4] == [
        "<Score 'A Letter by the Window': 1 part, 24 bars, 263 notes>",
        "Part(id='P1', name='Piano', staves=2, keyboard=True, left_staves=frozenset({2}), halves=())",
        f"<Report 'A Letter by the Window': 263 notes, {report.to_read} to read, {len(report.figures)} figures>",
        f"<Figure {figure.kind}, left hand: {len(figure.struck)} notes, {len(figure.anchors)} to read>",
    ]
    assert all("\n" not in line and len(line) < (120 if line.startswith("<") else 800) for line in told)


def test_what_a_notebook_shows_is_sound_html() -> None:
    score, report = annotator.read(STUDY), annotator.find_figures(STUDY)
    figure = report.figures[0][1]
    for shown in (score, report, figure, annotator.excerpt(STUDY, bars="1-2")):
        assert "<" in shown._repr_html_() and html.fromstring(shown._repr_html_()) is not None
    table = html.fromstring(report._repr_html_())
    assert [row[2].text for row in table.iter("tr") if row[0].tag == "td"] == [row.label for row in report.rows()]
    bold = html.fromstring(figure._repr_html_()).findall(".//b")
    assert len(bold) == len(figure.anchors)


@pytest.mark.parametrize("name", ["mark", "plain", "compare", "handout"])
def test_a_function_takes_the_options_of_its_command(name: str) -> None:
    names = list(inspect.signature(getattr(annotator, name)).parameters)
    assert names[0] == "path" and names[-1] == "options" and set(names[1:-1]) <= {row.name for row in rows_of(name)}
    for wrong, said in (("forec", "did you mean 'force'"), ("quiet", "they are"), ("jobs", "they are")):
        with pytest.raises(UsageError, match=said):
            getattr(annotator, name)(STUDY, **{wrong: True})
    every = {row.name: row.default for row in rows_of(name) if row.in_python}
    with pytest.raises(MissingError, match="no such file"):
        getattr(annotator, name)("gone.musicxml", **every)


def test_compare_handout_and_survey_do_what_the_commands_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ANNOTATOR_CACHE", str(tmp_path / "cache"))
    annotator.compare(STUDY, tmp_path / "o", bars="1-4")
    annotator.handout(STUDY, tmp_path / "o", bars="1-4", title="Four bars")
    assert len(list((tmp_path / "o").iterdir())) == 5
    found = annotator.survey(EXAMPLES, effort=(10, 40), sort="effort")
    assert [score.effort for score in found.scores] == sorted(score.effort for score in found.scores)
    assert all(10 <= score.effort <= 40 for score in found.scores)
    for wrong, said in (({"kind": "trils"}, "trill"), ({"html": True}, "no setting 'html'"), ({"rising": True}, "give both")):
        with pytest.raises(UsageError, match=said):
            annotator.survey(EXAMPLES, **wrong)


def test_the_example_runs_as_it_stands(tmp_path: Path) -> None:
    env = {**os.environ, "ANNOTATOR_CACHE": str(tmp_path / "cache")}
    command = [sys.executable, "-W", "error", str(EXAMPLES / "notebook.py")]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False, env=env)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) == 4 and (tmp_path / "copies").is_dir()
