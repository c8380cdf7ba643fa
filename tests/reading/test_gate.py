"""What the gate lets in and what it turns away: form, encodings, entities, limits, missing files."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from annotator.errors import MissingError, ScoreError
from annotator.reading import load, read, read_document
from annotator.reading.document import LIMITS, Limits

Make = Callable[..., str]
TITLE = "Études ß"
HEADS = {False: "", True: '<?xml version="1.0" encoding="{}"?>\n'}
MARKS = {"utf-8": b"\xef\xbb\xbf", "utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}


@pytest.fixture
def text(make_text: Make, make_note: Make) -> str:
    return make_text(make_note("C4", 4), make_note("D4", 4), name=TITLE)


@pytest.mark.parametrize("coding", ["utf-8", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("marked", [False, True])
@pytest.mark.parametrize("declared", [False, True])
def test_unicode_encodings_read(text: str, coding: str, marked: bool, declared: bool) -> None:
    head = HEADS[declared].format("UTF-8" if coding == "utf-8" else "UTF-16")
    document = load((MARKS[coding] if marked else b"") + (head + text.replace("ß", "ß 日")).encode(coding), "x")
    assert document.tree.findtext("part-list/score-part/part-name") == TITLE + " 日"
    assert document.bom is marked and document.text.startswith(head)
    assert document.encoding.upper().replace("-", "") == coding.upper().replace("-", "")


@pytest.mark.parametrize(("coding", "declared"), [("latin-1", "ISO-8859-1"), ("cp1252", "windows-1252")])
def test_bytes_of_other_encodings_need_a_declaration(text: str, coding: str, declared: str) -> None:
    document = load((HEADS[True].format(declared) + text).encode(coding))
    assert document.tree.findtext("part-list/score-part/part-name") == TITLE
    assert document.encoding == declared
    with pytest.raises(ScoreError, match=r"line 1, column \d+"):
        load(text.encode(coding))


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_head_and_tail_are_kept_word_for_word(text: str, line_end: str) -> None:
    head = "<?xml version='1.0' standalone=\"no\"  ?>"
    document = load((head + line_end + text + line_end + "<!-- end -->" + line_end).encode())
    assert document.newline == line_end
    assert document.text.startswith(head) and document.text.endswith(f"{line_end}<!-- end -->{line_end}")


def test_a_score_cut_anywhere_is_refused_with_its_place(text: str) -> None:
    data = text.encode()
    for end in range(0, len(data) - 1, 10):
        with pytest.raises(ScoreError, match=r"^score: (.*line \d+, column \d+|nothing in it)") as caught:
            read(data[:end], "score")
        assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf \n", "empty"),
        (b"Andante, and so on", "line 1, column 1"),
        (b"X:1\nK:C\n", "no music"),
        (b"<!DOCTYPE html><html><body/></html>", "a web page"),
        (b"<opus/>", "opus"),
        (b'<score-partwise xmlns="http://example.org/a"/>', "namespace 'http://example.org/a'"),
        (b'<s:score-timewise xmlns:s="urn:b"/>', "namespace 'urn:b'"),
        (b"<score-partwise/><score-partwise/>", "column 18"),
        (b"<score-partwise>\0</score-partwise>", "column 17"),
        (b"<score-partwise><part></score-partwise>", "mismatch"),
        (b'<?xml version="1.0" encoding="klingon"?><score-partwise/>', "klingon"),
        (b"<score-partwise>" + b"<a>" * 300 + b"</a>" * 300 + b"</score-partwise>", "depth"),
        (b"<score-partwise/>", "no part"),
    ],
)
def test_what_is_no_score_is_refused(data: bytes, words: str) -> None:
    with pytest.raises(ScoreError, match=words) as caught:
        read(data, "score")
    assert str(caught.value).startswith("score: ")


LAUGHS = "".join(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefghi", "bcdefghij", strict=True))
ENTITIES = {
    "file": '[<!ENTITY x SYSTEM "file://{secret}">]',
    "http": '[<!ENTITY x SYSTEM "http://127.0.0.1:9/x">]',
    "parameter": '[<!ENTITY % p SYSTEM "file://{secret}"> %p; <!ENTITY x "a">]',
    "internal": '[<!ENTITY x "a">]',
    "laughs": f'[<!ENTITY a "{"ha" * 500}">{LAUGHS}<!ENTITY x "&j;">]',
    "quadratic": f'[<!ENTITY x "{"a" * 50_000}">]',
    "remote type": 'SYSTEM "http://127.0.0.1:9/score.dtd"',
    "undeclared": "",
}


@pytest.mark.parametrize("kind", ENTITIES)
@pytest.mark.parametrize("place", ["text", "attribute"])
def test_entities_are_refused_and_nothing_is_fetched(
    make_text: Make, make_note: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str, place: str
) -> None:
    secret = tmp_path / "secret"
    secret.write_text("the secret")

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", refuse)
    declared = ENTITIES[kind].replace("{secret}", str(secret))
    prolog = f"<!DOCTYPE score-partwise {declared}>" if declared else ""
    text = make_text(make_note("C4", 4), name="&x;" * (1000 if kind == "quadratic" else 1) if place == "text" else "Piano", prolog=prolog)
    if place == "attribute":
        text = text.replace('number="1"', 'number="&x;"')
    begun = time.perf_counter()
    with pytest.raises(ScoreError) as caught:
        read(text.encode())
    assert time.perf_counter() - begun < 1
    assert "the secret" not in str(caught.value)


@pytest.mark.parametrize("version", ["1.0", "1.1", "2.0", "3.0", "3.1", "4.0"])
def test_a_document_type_is_no_harm_and_never_fetched(make_text: Make, make_note: Make, version: str) -> None:
    kind = f'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML {version} Partwise//EN" "http://127.0.0.1:9/partwise.dtd">'
    assert len(read(make_text(make_note("C4", 4), prolog=kind).encode()).parts[0].notes) == 1


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (LIMITS._replace(notes=1), "2 notes, more than the limit of 1"),
        (LIMITS._replace(bars=1), "2 bars"),
        (LIMITS._replace(parts=0), "1 parts"),
    ],
)
def test_limits(text: str, limits: Limits, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ScoreError, match="limit of 100 bytes"):
        load(text.encode(), limits=LIMITS._replace(file=100))
    for module in ("reader", "parts"):
        monkeypatch.setattr(f"annotator.reading.{module}.LIMITS", limits)
    with pytest.raises(ScoreError, match=words):
        read(text.encode())


def test_what_is_not_there(tmp_path: Path, text: str) -> None:
    with pytest.raises(MissingError, match="no such file"):
        load(tmp_path / "none.musicxml")
    with pytest.raises(MissingError, match="folder"):
        load(str(tmp_path))
    with pytest.raises(MissingError, match="cannot be read"):
        load("a\0b")
    there = tmp_path / "é x.xml"
    there.write_bytes(text.encode())
    assert load(there).name == str(there)
    assert len(read(str(there)).parts[0].bars) == 2


def test_comments_and_cdata_do_not_disturb(make_text: Make, make_note: Make) -> None:
    text = make_text("<!-- a -->" + make_note("C4", 4, after="<!-- b --><?c d?>") + "<?e?>").replace("Piano", "<![CDATA[A & B]]>")
    score = read(text.encode())
    assert (score.parts[0].name, len(score.parts[0].notes), score.repairs) == ("A & B", 1, ())


def test_time_grows_with_the_notes(make_text: Make, make_note: Make) -> None:
    """Ten times the notes take less than fifteen times as long, and any reading far less than 100 microseconds a note."""

    def seconds(bars: int) -> float:
        document = load(make_text(*[make_note("C4") * 4] * bars).encode())
        from annotator.reading import read_document

        best = float("inf")
        for _ in range(3):
            begun = time.process_time()
            read_document(document)
            best = min(best, time.process_time() - begun)
        return best

    small, large = seconds(250), seconds(2500)
    assert large < 15 * small
    assert large < 10_000 * 100e-6


def test_elements_are_counted_before_they_are_parsed() -> None:
    """What is parsed takes up to 200 bytes for each: 600 kB of archive would take 3 GB."""
    few = LIMITS._replace(elements=1000)
    with pytest.raises(ScoreError, match="more than the limit of 1000 elements"):
        load(b"<score-partwise>" + b"<a/>" * 1001 + b"</score-partwise>", limits=few)


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"%PDF-1.7\n", "a PDF"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"\xff\xd8\xff\xe0", "a picture"),
        (b"<museScore>", "a MuseScore file"),
    ],
)
def test_other_files_are_told_by_name(data: bytes, what: str) -> None:
    with pytest.raises(ScoreError, match=f"this is {what}: MusicXML is needed; export it"):
        load(data + b" " * 20)


def test_two_parts_of_one_id_cannot_be_told_apart() -> None:
    part = b"<part id='P1'><measure number='1'/></part>"
    with pytest.raises(ScoreError, match="the same id 'P1'"):
        read_document(load(b"<score-partwise>" + 2 * part + b"</score-partwise>"))
