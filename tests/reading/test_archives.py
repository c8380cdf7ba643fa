"""Compressed scores: what is read, what is refused, and that nothing is unpacked that should not be."""

from __future__ import annotations

import io
import time
import zipfile
from collections.abc import Callable, Mapping

import pytest

from annotator.errors import ScoreError
from annotator.reading import load, read

Make = Callable[..., str]
MEDIA = "application/vnd.recordare.musicxml+xml"


def container(*files: tuple[str, str]) -> str:
    listed = "".join(f'<rootfile full-path="{path}"{f" media-type={chr(34)}{kind}{chr(34)}" if kind else ""}/>' for path, kind in files)
    return f"<container><rootfiles>{listed}</rootfiles></container>"


def packed(entries: Mapping[str, bytes | str], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return stream.getvalue()


@pytest.fixture
def text(make_text: Make, make_note: Make) -> str:
    return make_text(make_note("C4", 4))


@pytest.mark.parametrize("mimetype", [True, False])
@pytest.mark.parametrize("name", ["score.musicxml", "a/b/score.xml", "Étude 日.xml"])
@pytest.mark.parametrize("kind", ["", MEDIA])
def test_ordinary_archives(text: str, mimetype: bool, name: str, kind: str) -> None:
    entries = {"mimetype": "application/vnd.recordare.musicxml"} if mimetype else {}
    entries |= {"META-INF/container.xml": container((name, kind)), "cover.png": "png", name: text}
    document = load(packed(entries))
    assert document.entry == name
    assert document.archive is not None
    assert list(document.archive.items()) == [(key, value.encode()) for key, value in entries.items()]


def test_the_first_musicxml_root_file_counts(text: str) -> None:
    listed = container(("score.pdf", "application/pdf"), ("a.xml", ""), ("b.xml", MEDIA))
    document = load(packed({"META-INF/container.xml": listed, "score.pdf": "%PDF", "b.xml": "<x/>", "a.xml": text}))
    assert document.entry == "a.xml"


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ({"score.xml": "TEXT"}, "no META-INF/container.xml"),
        ({"META-INF/container.xml": "<container>", "score.xml": "TEXT"}, "not well-formed"),
        ({"META-INF/container.xml": "<container/>", "score.xml": "TEXT"}, "names no MusicXML score"),
        ({"META-INF/container.xml": container(("other.xml", "")), "score.xml": "TEXT"}, "'other.xml', which is not in the archive"),
        ({"META-INF/container.xml": container(("../score.xml", "")), "../score.xml": "TEXT"}, "unsafe name"),
        ({"META-INF/container.xml": container(("/score.xml", "")), "/score.xml": "TEXT"}, "unsafe name"),
        ({"META-INF/container.xml": container(("a\\score.xml", "")), "a\\score.xml": "TEXT"}, "unsafe name"),
        ({"META-INF/container.xml": container(("all.xml", MEDIA)), "all.xml": "<opus/>"}, "opus in 'all.xml'"),
        ({"META-INF/container.xml": container(("score.xml", "")), "score.xml": "<score-partwise>"}, "in 'score.xml', line 1"),
        ({"META-INF/container.xml": container(("score.xml", "")), "score.xml": ""}, "nothing in 'score.xml'"),
    ],
)
def test_refused_archives(text: str, entries: dict[str, str], words: str) -> None:
    data = packed({name: text if content == "TEXT" else content for name, content in entries.items()})
    with pytest.raises(ScoreError, match=words) as caught:
        read(data, "x.mxl")
    assert str(caught.value).startswith("x.mxl: ")


def test_an_archive_in_an_archive_is_no_score(text: str) -> None:
    inner = packed({"META-INF/container.xml": container(("score.xml", "")), "score.xml": text})
    with pytest.raises(ScoreError, match="not well-formed"):
        load(packed({"META-INF/container.xml": container(("inner.mxl", "")), "inner.mxl": inner}))


def test_damaged_archives(text: str) -> None:
    data = packed({"META-INF/container.xml": container(("score.xml", "")), "score.xml": text})
    for bad in (b"PK\x03\x04 and no more", data[: len(data) // 2], data.replace(b"score", b"scorf", 1)):
        with pytest.raises(ScoreError):
            load(bad)


def test_every_broken_byte_reads_or_is_refused(text: str) -> None:
    """Whatever byte of an archive is flipped: it reads, or it is a ``ScoreError``."""
    data = packed({"META-INF/container.xml": container(("score.xml", "")), "score.xml": text})
    outcomes = {"read": 0, "refused": 0}
    for place in range(0, len(data), 3):
        try:
            read(data[:place] + bytes([data[place] ^ 0xFF]) + data[place + 1 :])
            outcomes["read"] += 1
        except ScoreError:
            outcomes["refused"] += 1
    assert outcomes["refused"] > outcomes["read"] > 0


def test_encrypted(text: str) -> None:
    data = bytearray(packed({"META-INF/container.xml": container(("score.xml", "")), "score.xml": text}))
    central = data.find(b"PK\x01\x02")
    data[central + 8] |= 1
    with pytest.raises(ScoreError, match="encrypted"):
        load(bytes(data))


def test_double_names(text: str) -> None:
    data = packed({"META-INF/container.xml": container(("a.xml", "")), "a.xml": text, "b.xml": text}).replace(b"b.xml", b"a.xml")
    with pytest.raises(ScoreError, match=r"two entries named 'a\.xml'"):
        load(data)


def test_bombs_are_refused_at_once() -> None:
    bomb = packed({"META-INF/container.xml": container(("score.xml", "")), "score.xml": b" " * 4_000_000})
    crowd = packed({f"{number}": b"" for number in range(1_100)}, zipfile.ZIP_STORED)
    large = packed({f"{number}": bytes(range(256)) * 200_000 for number in range(3)})
    for data, words in ((bomb, "200:1"), (crowd, "1100 entries"), (large, "archive unpacks to more|packed more")):
        begun = time.perf_counter()
        with pytest.raises(ScoreError, match=words):
            load(data)
        assert time.perf_counter() - begun < 0.2


def test_a_lying_size_is_found_out() -> None:
    """The table says 10 bytes, the entry unpacks to 4 MB: no more than the table's size is taken in."""
    data = bytearray(packed({"META-INF/container.xml": container(("score.xml", "")), "score.xml": b" " * 4_000_000}))
    central = data.rfind(b"PK\x01\x02")
    data[central + 24 : central + 28] = (10).to_bytes(4, "little")
    with pytest.raises(ScoreError):
        load(bytes(data))
