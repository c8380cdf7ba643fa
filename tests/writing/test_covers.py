"""Covered notes in MusicXML: what is written, that it comes out again, and what two programs make of it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from marked_bytes import mark_bytes
from scores_at_hand import EXAMPLES, keyboard_corpus, local_scores
from writing.invented import note, score_of
from writing.schema import is_valid

from annotator.marks.covering import Covering
from annotator.marks.style import load_style
from annotator.musicxml.marks import SIGNS, write_covers
from annotator.musicxml.places import Places
from annotator.musicxml.record import take_out
from annotator.musicxml.splicing import Splice, reloaded
from annotator.options.settings import Options
from annotator.products.marked_copies import plain_bytes
from annotator.reading import Document, load, read_document

MUSESCORE = shutil.which("musescore3") or shutil.which("mscore3")
COVERED = load_style("covered")
STUDIES = sorted(EXAMPLES.glob("*.musicxml"))[:4]


def with_covers(data: bytes, covered: set[int], signs: dict[int, int]) -> Document:
    """Cover notes of a score, check that they come out again, and return it."""
    document = load(data)
    splice, places = Splice(document), Places(document.tree.getroot().iter("note"), read_document(document).parts)
    write_covers(splice, places, Covering(frozenset(covered), signs), (), "#909090")
    copy = reloaded(document, splice.made())
    assert is_valid(copy.tree)
    assert take_out(copy).data == data
    return copy


def told(document: Document, tag: str) -> list[tuple[str, str | None]]:
    return [(each.text, each.get("color")) for each in document.tree.getroot().iter(tag)]


def test_a_covered_note_has_a_head_that_is_none_and_a_white_accidental() -> None:
    plain = score_of(note("C") + note("D", extra="<accidental>sharp</accidental><stem>up</stem>") + note("E"))
    document = with_covers(plain, {2}, {})
    assert told(document, "notehead") == [("none", "#FFFFFF")]
    assert told(document, "accidental") == [("sharp", "#FFFFFF")]


def test_a_head_of_its_own_turns_white() -> None:
    own, white = '<notehead color="#000000">normal</notehead>', '<accidental color="#FFFFFF">flat</accidental>'
    document = with_covers(score_of(note("C", extra=own) + note("D", extra=white)), {1, 2}, {})
    assert told(document, "notehead") == [("normal", "#FFFFFF"), ("none", "#FFFFFF")]


def test_a_note_without_a_stem_keeps_its_head() -> None:
    assert told(with_covers(score_of(note("C", extra="<stem>none</stem>")), {1}, {}), "notehead") == []


@pytest.mark.parametrize("alter", SIGNS)
def test_a_courtesy_sign_stands_where_the_schema_wants_it(alter: int) -> None:
    document = with_covers(score_of(note("C", extra="<stem>up</stem>") + note("D")), set(), {1: alter, 2: alter})
    assert told(document, "accidental") == [(SIGNS[alter], None)] * 2


@pytest.mark.parametrize("path", [*STUDIES, *keyboard_corpus()[:2], *local_scores()[3:40:12]], ids=lambda path: path.stem)
def test_plain_gives_the_score_back_byte_for_byte_and_marking_again_changes_nothing(path: Path) -> None:
    data = path.read_bytes()
    marked = mark_bytes(data, Options(), COVERED)
    assert load(plain_bytes(marked)[0]).data == load(data).data
    assert mark_bytes(marked, Options(), COVERED) == marked
    default = load_style("default")
    assert load(mark_bytes(marked, Options(), default)).data == load(mark_bytes(data, Options(), default)).data


IN_THE_ENGRAVER = """
import sys, verovio
verovio.enableLog(verovio.LOG_OFF)
toolkit = verovio.toolkit()
assert toolkit.loadData(sys.stdin.read())
print(toolkit.getMEI())
"""


def white_heads(data: bytes) -> int:
    return sum(each.text == "none" for each in etree.fromstring(data).iter("notehead"))


def test_verovio_leaves_the_heads_out() -> None:
    data = mark_bytes(STUDIES[0].read_bytes(), Options(), COVERED)
    text = etree.tostring(etree.fromstring(data), encoding="unicode")
    done = subprocess.run([sys.executable, "-c", IN_THE_ENGRAVER], input=text, capture_output=True, text=True, check=True)
    unseen = sum(each.get("head.visible") == "false" for each in etree.fromstring(done.stdout.encode()).iter("{*}note"))
    assert unseen == white_heads(data) > 50


@pytest.mark.skipif(MUSESCORE is None, reason="MuseScore is not installed")
def test_musescore_draws_the_heads_white(tmp_path: Path) -> None:
    data = mark_bytes(STUDIES[0].read_bytes(), Options(), COVERED)
    (tmp_path / "x.musicxml").write_bytes(data)
    command: list[Any] = [MUSESCORE, "-o", tmp_path / "x.mscx", tmp_path / "x.musicxml"]
    subprocess.run(command, env=os.environ | {"QT_QPA_PLATFORM": "offscreen"}, capture_output=True, check=True, timeout=120)
    colours = etree.parse(tmp_path / "x.mscx").getroot().xpath("//Note/color[@r='255'][@g='255'][@b='255']")
    assert len(colours) == white_heads(data)
