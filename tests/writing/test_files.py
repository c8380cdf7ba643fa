"""Files: complete or absent, never over the source, never over what is not ours."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Any

import pytest
from writing.invented import STYLE, note, score_of

from annotator.errors import OutputError, TransferError
from annotator.marks.marking import Markings
from annotator.musicxml.files import output_path, serialise, write_file
from annotator.musicxml.marks import write_marks
from annotator.musicxml.seal import made_by_us
from annotator.reading import load, read_document

PLAIN = score_of(note("C"))


def marked_bytes(data: bytes = PLAIN) -> bytes:
    document = load(data)
    return serialise(write_marks(document, read_document(document), Markings((), frozenset({1}), frozenset()), STYLE)[0])


MARKED = marked_bytes()


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_new_file_is_written(tmp_path: Path) -> None:
    write_file(tmp_path / "x.pdf", b"data")
    assert (tmp_path / "x.pdf").read_bytes() == b"data" and names(tmp_path) == ["x.pdf"]
    umask = os.umask(0)
    os.umask(umask)
    assert stat.S_IMODE((tmp_path / "x.pdf").stat().st_mode) == 0o666 & ~umask


def test_a_stranger_s_file_needs_force(tmp_path: Path) -> None:
    place = tmp_path / "x-marked.musicxml"
    place.write_bytes(PLAIN)
    with pytest.raises(OutputError, match="--force") as caught:
        write_file(place, MARKED)
    assert caught.value.exit_code == 73 and place.read_bytes() == PLAIN and names(tmp_path) == [place.name]
    write_file(place, MARKED, force=True)
    assert place.read_bytes() == MARKED


def test_our_own_file_is_replaced(tmp_path: Path) -> None:
    place = tmp_path / "x-marked.musicxml"
    place.write_bytes(MARKED)
    write_file(place, b"new")
    assert place.read_bytes() == b"new"


def test_a_file_that_holds_it_already_is_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "x-plain.musicxml"
    place.write_bytes(PLAIN)
    before = place.stat()
    write_file(place, PLAIN, sources=(place,))
    assert (place.stat().st_mtime_ns, place.stat().st_ino) == (before.st_mtime_ns, before.st_ino)


def link(source: Path, place: Path) -> None:
    place.hardlink_to(source)


def symlink(source: Path, place: Path) -> None:
    place.symlink_to(source)


@pytest.mark.parametrize("make", [link, symlink])
@pytest.mark.parametrize("force", [False, True])
def test_the_source_is_never_written_to(tmp_path: Path, make: Any, force: bool) -> None:
    source, place = tmp_path / "x.musicxml", tmp_path / "x-marked.musicxml"
    source.write_bytes(PLAIN)
    make(source, place)
    for path in (place, source, tmp_path / "." / ".." / tmp_path.name / "x.musicxml"):
        with pytest.raises(OutputError, match="source itself"):
            write_file(path, MARKED, sources=(source,), force=force)
    assert source.read_bytes() == PLAIN and len(names(tmp_path)) == 2


def test_a_marked_source_may_become_its_own_new_marked_copy(tmp_path: Path) -> None:
    source = tmp_path / "x-marked.musicxml"
    source.write_bytes(MARKED)
    write_file(source, b"marked anew", sources=(source,))
    assert source.read_bytes() == b"marked anew"


def test_a_link_to_elsewhere_is_replaced_and_its_target_stays(tmp_path: Path) -> None:
    elsewhere, place = tmp_path / "mine.pdf", tmp_path / "x-marked.pdf"
    elsewhere.write_bytes(b"mine")
    place.symlink_to(elsewhere)
    with pytest.raises(OutputError):
        write_file(place, b"new")
    write_file(place, b"new", force=True)
    assert elsewhere.read_bytes() == b"mine" and place.read_bytes() == b"new" and not place.is_symlink()


@pytest.mark.parametrize("missing", [True, False])
def test_what_cannot_be_made_is_said(tmp_path: Path, missing: bool) -> None:
    place = tmp_path / "folder" / "x.pdf" if missing else tmp_path / "x.pdf"
    if not missing:
        place.mkdir()
    with pytest.raises(OutputError) as caught:
        write_file(place, b"data", force=True)
    assert caught.value.exit_code == 73 and "\n" not in str(caught.value)


@pytest.mark.parametrize("error", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()])
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_what_breaks_off_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, error: BaseException
) -> None:
    def breaks(*_: object) -> None:
        raise error

    if step == "fsync":
        monkeypatch.setattr(os, "fsync", breaks)
    else:
        monkeypatch.setattr(Path, "replace", breaks)
    place = tmp_path / "x-marked.musicxml"
    place.write_bytes(MARKED)
    with pytest.raises(KeyboardInterrupt if isinstance(error, KeyboardInterrupt) else TransferError) as caught:
        write_file(place, b"half")
    assert names(tmp_path) == [place.name] and place.read_bytes() == MARKED
    assert getattr(caught.value, "exit_code", 74) == 74


@pytest.mark.parametrize(
    ("data", "ours"),
    [
        (MARKED, True),
        (PLAIN, False),
        (marked_bytes(PLAIN.decode().replace("UTF-8", "UTF-16").encode("utf-16")), True),
        (PLAIN.replace(b"<part-list>", b"<identification><encoding><software>annotator</software></encoding>"
                       b"</identification><part-list>"), False),
        (b"%PDF-1.5\n1 0 obj <</Producer (cairo)/Creator (annotator)>> endobj", True),
        (b"%PDF-1.5\n1 0 obj <</Creator <feff0061006e006e006f007400610074006f0072>>> endobj", True),
        (b"%PDF-1.5\n1 0 obj <</Creator (\xfe\xff\0a\0n\0n\0o\0t\0a\0t\0o\0r)>> endobj", True),
        (b"%PDF-1.5\n1 0 obj <</Creator (another)/Title (annotator)>> endobj", False),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><g class="figure turn" data-figure="f1"/></svg>', True),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><!-- annotator --></svg>', True),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><desc>Marked by annotator. Engraved by another</desc></svg>', True),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><desc>Drawn by another</desc><g/></svg>', False),
        (b'<!doctype html><html><head><meta name="generator" content="annotator"></head></html>', True),
        (b"<!doctype html><html><head><title>annotator</title></head></html>", False),
        (b"\x89PNG\r\n\x1a\n....tEXtSoftware\0annotator", True),
        (b"\x89PNG\r\n\x1a\n....tEXtSoftware\0another", False),
        (b"PK\x03\x04 and no archive", False),
        (b"", False),
    ],
)
def test_what_is_ours_is_told_by_what_is_in_it(tmp_path: Path, data: bytes, ours: bool) -> None:
    (tmp_path / "x").write_bytes(data)
    assert made_by_us(tmp_path / "x") is ours


def test_what_is_not_there_is_not_ours(tmp_path: Path) -> None:
    assert not made_by_us(tmp_path / "x") and not made_by_us(tmp_path)


@pytest.mark.parametrize(
    ("name", "word", "expected"),
    [
        ("x.musicxml", "marked", "x-marked"),
        ("x.v2.xml", "marked", "x.v2-marked"),
        ("x-marked.musicxml", "marked", "x-marked"),
        ("x-marked.mxl", "plain", "x-plain"),
        ("x-plain.mxl", "plain", "x-plain"),
        ("x-plain.mxl", "marked", "x-plain-marked"),
        ("x-plain-marked.mxl", "plain", "x-plain"),
        ("x-marked.mxl", "compare", "x-marked-compare"),
        ("-marked.xml", "marked", "-marked-marked"),
    ],
)
def test_names(name: str, word: str, expected: str) -> None:
    assert output_path(Path("here") / name, word, ".mxl", None) == Path("here") / f"{expected}.mxl"
    assert output_path(Path("here") / name, word, ".pdf", Path("there")) == Path("there") / f"{expected}.pdf"


@pytest.mark.parametrize(("data", "expected"), [(MARKED, "x-marked.musicxml"), (PLAIN, "x-marked-marked.musicxml")])
def test_a_name_is_not_believed_where_the_file_tells_otherwise(tmp_path: Path, data: bytes, expected: str) -> None:
    source = tmp_path / "x-marked.xml"
    source.write_bytes(data)
    assert output_path(source, "marked", ".musicxml", None) == tmp_path / expected
