"""Marked and plain again, over whole collections: music21's copy of the unofficial MusicXML test suite and piano scores of its corpus.

The marks are invented, so that every notation of the suite gets some, not only what holds figures. What must hold: the plain score is
the source, in canonical XML and in the bytes that an unmarked document is written in; marking twice is marking once; what was valid
MusicXML 4.0 stays valid; the notes read are the same; every bracket that starts stops.
"""

from __future__ import annotations

import zipfile
from collections import defaultdict
from functools import partial
from pathlib import Path

import pytest
from lxml import etree
from scores_at_hand import CORPUS, LOCAL_SCORES, NO_LOCAL_SCORES, keyboard_corpus, local_scores
from writing.invented import STYLE, canonical, invented, marked, note, score_of
from writing.schema import is_valid

from annotator.errors import ScoreError
from annotator.musicxml.files import serialise
from annotator.musicxml.marks import write_marks
from annotator.musicxml.record import records, take_out
from annotator.reading import Document, load, read_document

SUITE = CORPUS.parent / "musicxml" / "lilypondTestSuite"
SUITE_FILES = sorted(path for path in SUITE.iterdir() if path.suffix in (".xml", ".musicxml", ".mxl"))


def readable(path: Path) -> Document:
    try:
        document = load(path)
        read_document(document)
        return document
    except ScoreError as error:
        pytest.skip(f"not read: {error}")


def check_brackets(document: Document) -> None:
    """Every bracket of ours that starts stops, per part and number, in document order, and none starts twice."""
    open_brackets: dict[tuple[str, str], int] = defaultdict(int)
    for bracket in document.tree.getroot().xpath(".//direction[processing-instruction('annotator')]//bracket"):
        part = next(ancestor.get("id") for ancestor in bracket.iterancestors("part"))
        open_brackets[part, bracket.get("number", "1")] += {"start": 1, "stop": -1}.get(bracket.get("type"), 0)
        assert open_brackets[part, bracket.get("number", "1")] in (0, 1), (part, bracket.get("number"))
    assert set(open_brackets.values()) <= {0}


def check(path: Path, seed: int) -> None:
    document = readable(path)
    source = canonical(document)
    assert not any(True for _ in records(document.tree.getroot()))
    written, score, markings, notices = marked(document, partial(invented, seed=seed))
    assert canonical(document) == source, "the document itself stays as it is"
    assert any(True for _ in records(written.tree.getroot()))
    once = serialise(written)
    assert markings.marks == () or canonical(written) != source
    assert is_valid(written.tree) or not is_valid(document.tree), path.name

    copy = load(once)
    assert read_document(copy).parts == score.parts
    twice, again = write_marks(copy, read_document(copy), invented(read_document(copy), seed), STYLE)
    assert again == notices and serialise(twice) == once

    check_brackets(copy)
    plain = take_out(copy)
    assert canonical(plain) == source and plain.data == document.data and serialise(plain) == serialise(document)
    assert not any(True for _ in records(plain.tree.getroot())) and take_out(plain) is plain


@pytest.mark.parametrize("path", SUITE_FILES, ids=lambda path: path.name)
def test_the_test_suite_comes_back(path: Path) -> None:
    check(path, seed=len(path.name))


@pytest.mark.parametrize("path", keyboard_corpus(), ids=lambda path: path.name)
def test_piano_scores_of_the_corpus_come_back(path: Path) -> None:
    check(path, seed=7)


@pytest.mark.skipif(not LOCAL_SCORES.is_dir(), reason=NO_LOCAL_SCORES)
def test_local_scores_come_back() -> None:
    for path in local_scores()[::6]:
        check(path, seed=3)


@pytest.mark.parametrize("name", ["bach/bwv846.mxl", "schubert/Lindenbaum.xml"])
def test_a_timewise_score_comes_back(name: str) -> None:
    document = timewise(load(CORPUS / name))
    written, score, markings, _ = marked(document, partial(invented, seed=1))
    assert markings.marks and written.timewise
    assert is_valid(written.tree) or not is_valid(document.tree)
    check_brackets(written)
    assert read_document(written).parts == score.parts
    assert take_out(written).data == document.data


def timewise(document: Document) -> Document:
    """Return a document with bars outside and parts inside."""
    root = document.tree.getroot()
    parts = root.findall("part")
    turned = etree.Element("score-timewise", dict(root.attrib))
    turned.extend([child for child in root if child.tag != "part"])
    for bars in zip(*(part.findall("measure") for part in parts), strict=True):
        frame = etree.SubElement(turned, "measure", dict(bars[0].attrib))
        for part, bar in zip(parts, bars, strict=True):
            inner = etree.SubElement(frame, "part", id=part.get("id"))
            inner.text, inner.tail = bar.text, "\n"
            inner.extend(list(bar))
    return load(etree.tostring(turned, encoding="UTF-8", xml_declaration=True))


def test_the_suite_holds_what_it_is_said_to_hold() -> None:
    """144 files in music21's wheel, by count; four polonaises, three other scores."""
    assert len(SUITE_FILES) >= 140
    assert len(keyboard_corpus()) >= 6


def test_the_schema_says_no_as_well() -> None:
    """Each of these is a slip that marks could make: the schema of version 4.0 must find it."""
    good = score_of(note("C") + '      <direction>{}</direction>\n')
    kinds = {
        '<direction-type><bracket type="start" line-end="up" number="16" color="#9A9A9A"/></direction-type>': True,
        '<direction-type><bracket type="start" line-end="up" number="17"/></direction-type>': False,
        '<direction-type><bracket type="start" line-end="up" color="#9a9a9a"/></direction-type>': False,
        '<direction-type><bracket type="start"/></direction-type>': False,
        "<direction-type><words>C</words></direction-type><staff>1</staff><voice>1</voice>": False,
        "<direction-type><words>C</words></direction-type><voice>1</voice><staff>1</staff><?annotator added?>": True,
    }
    for inner, valid in kinds.items():
        assert is_valid(load(good.decode().format(inner).encode()).tree) is valid, inner


def test_an_archive_keeps_its_other_entries() -> None:
    path = CORPUS / "bach" / "bwv846.mxl"
    document = load(path)
    data = serialise(marked(document, partial(invented, seed=5))[0])
    assert serialise(load(data)) == data
    held = load(data).archive or {}
    with zipfile.ZipFile(path) as archive:
        others = {name: archive.read(name) for name in archive.namelist() if not name.endswith("/")}
    assert set(held) - {"mimetype"} == set(others) - {"mimetype"}
    for name, entry in held.items():
        if name not in (document.entry, "mimetype"):
            assert entry == others[name]
