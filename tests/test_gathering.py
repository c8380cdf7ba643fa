"""Which files are found below folders: links, circles of links, copies, hidden files, what cannot be read."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

import annotator
from annotator.errors import MissingError
from annotator.products.gathering import PLAIN_COPY, Found, scores_below, shown, walk
from annotator.products.survey.measures import Failed, LeftOut


def names(folder: Path, *sources: str) -> tuple[list[str], list[Failed | LeftOut]]:
    there = list(walk([str(folder / source) for source in sources or ("",)]))
    found = [os.path.relpath(file.path, folder) for file in there if isinstance(file, Found)]
    return [name.replace(os.sep, "/") for name in found], [one for one in there if not isinstance(one, Found)]


def put(folder: Path, *paths: str) -> None:
    for path in paths:
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(path, encoding="utf-8")


def test_every_score_below_in_the_order_of_names(tmp_path):
    put(tmp_path, "b.xml", "a.MXL", "z/y/x.musicxml", "m/n.xml", "k.krn", "p.xml.gz")
    put(tmp_path, "notes.txt", "notes.gz", "a.pdf", ".hidden.xml", ".trash/c.xml")
    assert names(tmp_path)[0] == ["a.MXL", "b.xml", "k.krn", "p.xml.gz", "m/n.xml", "z/y/x.musicxml"]
    assert names(tmp_path, "z", "b.xml", "z/y")[0] == ["z/y/x.musicxml", "b.xml"], "each once, whatever is named twice"


def test_circles_of_links_end_and_a_file_counts_once(tmp_path):
    put(tmp_path, "a/one.xml", "b/two.xml")
    (tmp_path / "a" / "up").symlink_to(tmp_path)
    (tmp_path / "b" / "self").symlink_to(".")
    (tmp_path / "b" / "again.xml").symlink_to("../a/one.xml")
    (tmp_path / "b" / "nowhere.xml").symlink_to("nothing")
    os.link(tmp_path / "b" / "two.xml", tmp_path / "b" / "twin.xml")
    found, passed = names(tmp_path)
    assert found == ["a/one.xml", "b/twin.xml"]
    assert [one.path.rpartition("/")[2] for one in passed] == ["nowhere.xml"]


def test_a_folder_outside_is_followed(tmp_path):
    put(tmp_path, "here/a.xml", "there/b.xml")
    (tmp_path / "here" / "link").symlink_to(tmp_path / "there")
    assert names(tmp_path, "here")[0] == ["here/a.xml", "here/link/b.xml"]


def test_plain_copies_are_told_by_name(tmp_path):
    put(tmp_path, "a.mxl", "a-plain.mxl", "b-plain.xml", "c-marked.xml", "c-plain.xml")
    found, passed = names(tmp_path)
    assert found == ["a.mxl", "b-plain.xml", "c-marked.xml"], "without its source it is a score like any other"
    assert passed == [LeftOut(str(tmp_path / name), PLAIN_COPY) for name in ("a-plain.mxl", "c-plain.xml")]


def test_what_is_no_file_or_not_there(tmp_path):
    os.mkfifo(tmp_path / "pipe.xml")
    (tmp_path / "folder.xml").mkdir()
    found, passed = names(tmp_path, "", "missing")
    assert found == []
    assert passed == [Failed(str(tmp_path / "missing"), "no such folder", 66)]


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may read everything")
def test_a_folder_that_may_not_be_entered_costs_one_line(tmp_path):
    put(tmp_path, "a/one.xml", "b/two.xml")
    (tmp_path / "a").chmod(0)
    try:
        found, passed = names(tmp_path)
    finally:
        (tmp_path / "a").chmod(0o700)
    assert found == ["b/two.xml"] and len(passed) == 1


def test_many_folders_deep(tmp_path):
    place = tmp_path
    for _ in range(150):
        place = place / "d"
        place.mkdir()
    (place / "a.xml").write_text("x")
    assert len(names(tmp_path)[0]) == 1


@pytest.mark.skipif(sys.platform != "linux", reason="names are bytes on Linux alone")
def test_a_name_that_is_no_text_is_shown_as_one(tmp_path):
    odd = os.fsdecode(b"\xff.xml")
    assert shown(odd) == "?.xml"
    (tmp_path / odd).symlink_to("nothing")
    assert [Path(one.path).name for one in names(tmp_path)[1]] == ["?.xml"]


def test_commands_take_what_holds_a_score_and_is_not_our_own(tmp_path):
    (tmp_path / "a.xml").write_text("<score-partwise/>")
    (tmp_path / "list.xml").write_text("<shopping/>")
    annotator.mark(annotator.example("letter-by-the-window"), tmp_path, formats="musicxml")
    assert [Path(path).name for path in scores_below(tmp_path)] == ["a.xml"]
    assert [Path(path).name for path in scores_below(tmp_path, marked=True)] == ["letter-by-the-window-marked.musicxml"]
    (tmp_path / "a.xml").unlink()
    with pytest.raises(MissingError, match="no score in this folder"):
        scores_below(tmp_path)
