"""The shapes a survey is given out in: JSON, CSV, the plain table, the table on a terminal."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import pytest
from rich.cells import cell_len
from survey.invented_measures import library, piece

from annotator.options.settings import LANGUAGES
from annotator.products.survey.choosing import Wish
from annotator.products.survey.measures import Failed, LeftOut, Survey
from annotator.products.survey.tables import COLUMNS, print_pieces, print_table, to_csv, to_json
from annotator.words.phrases import column_heading

ODD = Survey(
    (piece("a.xml", title="=Ünlucky, \"quoted\"", scale_run=40), piece("\x1b[31mb.xml", title="鱒 the Trout", trill=10)),
    (Failed("bad.xml", "not well-formed", 65),),
    (LeftOut("c.xml", "no part for keyboard"),),
)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def printed(survey: Survey, language: str) -> str:
    stream = io.StringIO()
    print_table(survey, COLUMNS, language, stream)
    return stream.getvalue()


def drawn(survey: Survey, width: int, monkeypatch, language: str = "en", colour: bool = True) -> str:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    if not colour:
        monkeypatch.setenv("NO_COLOR", "1")
    stream = Terminal()
    print_table(survey, COLUMNS, language, stream)
    return stream.getvalue()


def test_json():
    told = json.loads(to_json(ODD, Wish(kinds=("trill",), like=ODD.scores[0]).columns()))
    assert json.loads(to_json(Survey(()), COLUMNS)) == {"format": 1, "scores": [], "failed": [], "left_out": []}
    assert told["format"] == 1
    assert set(told["scores"][0]) >= {"path", "title", "bars", "notes", "to_read", "effort", "kinds", "likeness", "drilled"}
    assert told["scores"][0]["kinds"] == {"scale-run": 1} and told["scores"][0]["kind_notes"] == {"scale-run": 40}
    assert told["scores"][0]["keys"] == ["Bb major"]
    assert told["failed"] == [{"path": "bad.xml", "message": "not well-formed"}]
    assert told["left_out"] == [{"path": "c.xml", "reason": "no part for keyboard"}]


def test_csv_can_be_read_back():
    rows = list(csv.DictReader(io.StringIO(to_csv(ODD, COLUMNS))))
    assert [row["file"] for row in rows] == ["a.xml", "\x1b[31mb.xml"]
    assert rows[0]["title"] == "'=Ünlucky, \"quoted\"", "no formula for a spreadsheet"
    assert set(rows[0]) == {column.key.replace("-", "_") for column in COLUMNS}
    assert float(rows[0]["share"]) == 0.4


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_plain_table_is_whole(language):
    lines = printed(ODD, language).splitlines()
    for column in COLUMNS:
        assert column_heading(column.key, language) in lines[0]
    assert len({cell_len(line.rpartition("  ")[0]) for line in lines[:2]}) == 1
    assert "\x1b" not in "".join(lines) and "?[31mb.xml" in lines[2]
    assert "1" in lines[-1] and len(lines) == 5
    assert printed(Survey(()), language).count("\n") == 1


@pytest.mark.parametrize("width", [40, 60, 80, 100, 140, 200, 300])
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_table_fits_the_terminal(width, language, monkeypatch):
    text = drawn(library(), width, monkeypatch, language, colour=False)
    assert "\x1b" not in text, "NO_COLOR"
    lines = text.splitlines()
    table = lines[: 1 + len(library().scores)]
    assert max(map(cell_len, table)) <= width
    heading = lines[0].split("  ")[0].strip()
    assert heading == column_heading("title", language)
    assert "…" not in lines[0], "every heading in full"
    shown = sum(column_heading(column.key, language) in lines[0] for column in COLUMNS)
    assert column_heading("file", language) in lines[0] and all(".xml" in line for line in table[1:])
    assert shown >= (2 if width < 60 else 4)
    if width == 300:
        assert shown == len(COLUMNS)


def test_files_are_told_from_the_folder_that_all_lie_in(monkeypatch):
    scores = tuple(replace(score, path=f"/home/me/Music/Burgmüller/op100-{place:02}-arabesque.musicxml")
                   for place, score in enumerate(library(3).scores))
    lines = drawn(Survey(scores), 80, monkeypatch, colour=False).splitlines()
    assert all("op10" in line and "…" in line and line.rstrip().endswith("musicxml") for line in lines[1:4])
    assert lines[-1].endswith("Files: in /home/me/Music/Burgmüller")
    assert "Files" not in drawn(Survey(scores), 300, monkeypatch, colour=False), "where there is room the paths are whole"


def test_bold_headings_on_a_terminal(monkeypatch):
    assert "\x1b[1m" in drawn(library(3), 80, monkeypatch)


def test_pieces_to_play(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    stream = Terminal()
    print_pieces(ODD, "en", stream)
    assert "鱒 the Trout" in stream.getvalue() and "?[31mb.xml" in stream.getvalue() and "\x1b" not in stream.getvalue()
    assert "effort 30, 40 % grey · run" in stream.getvalue()
    empty = Terminal()
    print_pieces(Survey(()), "de", empty)
    assert empty.getvalue() == "Kein Stück gefunden.\n"
