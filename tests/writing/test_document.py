"""A document written as it came."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace

import pytest
from writing.invented import STYLE, canonical, mark_over, note, score_of

from annotator.marks.marking import Markings
from annotator.musicxml.files import serialise
from annotator.musicxml.marks import write_marks
from annotator.musicxml.record import take_out
from annotator.reading import load, read_document

DATA = score_of(note("C") + note("D"), head="  <movement-title>Étude – 日</movement-title>\n")
DECLARATION = '<?xml version="1.0" encoding="UTF-8"?>'
DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 3.1 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)


def with_head(head: str, tail: str = "\n", text: bytes = DATA) -> str:
    return text.decode().replace(DECLARATION + "\n", head).rstrip("\n") + tail


LATIN = with_head("<?xml version='1.0' encoding='ISO-8859-1'?>\n").replace("日", "&#26085;").replace("–", "&#8211;")
CASES = {
    "as it is": DATA,
    "no line end at the end": DATA.rstrip(b"\n"),
    "blank lines at the end": DATA + b"\n\n  \n",
    "single quotes, standalone": with_head("<?xml version='1.0' encoding='utf-8' standalone='no'?>\n").encode(),
    "no declaration": with_head("").encode(),
    "doctype": with_head(f"{DECLARATION}\n{DOCTYPE}\n").encode(),
    "comments around": with_head(f"{DECLARATION}\n{DOCTYPE}\n<!-- a -->\n<?b c?>\n", "\n<!-- d -->\n\n<?e f?>").encode(),
    "the same comment twice": with_head(f"{DECLARATION}\n<!-- a -->\n<!-- a -->\n", "\n<!-- a -->").encode(),
    "carriage returns": DATA.replace(b"\n", b"\r\n"),
    "old line ends": DATA.replace(b"\n", b"\r"),
    "mark": b"\xef\xbb\xbf" + DATA,
    "utf-16 little": ("\ufeff" + with_head('<?xml version="1.0" encoding="UTF-16"?>\n')).encode("utf-16-le"),
    "utf-16 big": ("\ufeff" + with_head('<?xml version="1.0" encoding="UTF-16"?>\n')).encode("utf-16-be"),
    "latin-1": LATIN.encode("latin-1"),
    "cp1252": LATIN.replace("ISO-8859-1", "windows-1252").replace("&#8211;", "–").encode("cp1252"),
    "blanks and quotes in tags": DATA.replace(b"<note>", b"<note  default-x = '1' >").replace(b"</note>", b"</note\n>"),
    "empty elements written long": DATA.replace(b"<step>", b"<?x y?><!-- > --><step>").replace(b"</note>", b"<dot></dot><dot/></note>"),
    "signs in attributes": DATA.replace(b"<note>", b"<note id='a>b' color=\"#000000\" dynamics='&lt;/>'>", 1),
    "an empty encoding": DATA.replace(b"<part-list>", b"<identification><encoding /></identification><part-list>"),
    "mixed line ends": DATA.replace(b"\n", b"\r\n", 4).replace(b"<note>\n", b"<note>\r"),
    "another document type": DATA.replace(b"?>\n", b"?>\n<!DOCTYPE other [<!ELEMENT other (#PCDATA)> <!-- ] > -->]>\n", 1),
    "utf-32": with_head('<?xml version="1.0" encoding="UTF-32"?>\n').encode("utf-32"),
    "cdata": DATA.replace("Étude".encode(), b"<![CDATA[A & B <C>]]>"),
}


@pytest.mark.parametrize("data", CASES.values(), ids=CASES)
def test_the_bytes_are_the_user_s(data: bytes) -> None:
    assert serialise(load(data)) == data


@pytest.mark.parametrize("data", CASES.values(), ids=CASES)
def test_they_are_so_again_after_marks_came_and_went(data: bytes) -> None:
    document = load(data)
    marked, _ = write_marks(document, read_document(document), Markings((), frozenset({1}), frozenset()), STYLE)
    assert marked.data != data
    plain = take_out(load(marked.data))
    assert plain.data == data and canonical(plain) == canonical(document)


def test_a_character_that_the_encoding_lacks_becomes_a_reference() -> None:
    document = load(CASES["latin-1"])
    score = read_document(document)
    mark = mark_over(score.parts[0], list(score.parts[0].notes), "f1")
    marks = (replace(mark, labels=("F♯", "F♯", "F♯")),)
    assert b">F&#9839;</words>" in write_marks(document, score, Markings(marks, frozenset(), frozenset()), STYLE)[0].data


CONTAINER = b'<container><rootfiles><rootfile full-path="music/a.xml"/></rootfiles></container>'
ENTRIES = {"META-INF/container.xml": CONTAINER, "music/a.xml": DATA, "cover.png": b"\x89PNG\0\1", "é.txt": b"text"}


def archive(*, mimetype: bool, late: bool = False) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as written:
        if mimetype and not late:
            written.writestr("mimetype", "application/vnd.recordare.musicxml")
        for name, data in ENTRIES.items():
            written.writestr(name, data)
        if mimetype and late:
            written.writestr("mimetype", "application/vnd.recordare.musicxml")
    return buffer.getvalue()


@pytest.mark.parametrize(("mimetype", "late"), [(True, False), (True, True), (False, False)])
def test_an_archive_is_written_with_all_it_held(mimetype: bool, late: bool) -> None:
    data = serialise(load(archive(mimetype=mimetype, late=late)))
    with zipfile.ZipFile(io.BytesIO(data)) as written:
        infos = written.infolist()
        assert [info.filename for info in infos] == ["mimetype", *ENTRIES]
        assert {name: written.read(name) for name in ENTRIES} == ENTRIES
        assert {info.date_time for info in infos} == {(1980, 1, 1, 0, 0, 0)}
    first = infos[0]
    assert first.compress_type == zipfile.ZIP_STORED and not first.extra
    # MusicXML 4.0: the media type stands at a fixed place, byte 38 of the file, so that it can be told without unpacking.
    assert data[38:].startswith(b"application/vnd.recordare.musicxmlPK")
    assert serialise(load(data)) == data
