"""Marked copies in other programs: every bracket and every label arrives. Counted in the engraver's own document, and in MuseScore's."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from marked_bytes import mark_bytes
from scores_at_hand import EXAMPLES, NO_LOCAL_SCORES, keyboard_corpus, local_scores

from annotator.marks.style import load_style
from annotator.options.settings import Options
from annotator.reading import load

MUSESCORE = shutil.which("musescore3") or shutil.which("mscore3")
QUICK = sorted(EXAMPLES.glob("*.musicxml"))[:4]
IN_THE_ENGRAVER = """
import json, sys, verovio
verovio.enableLog(verovio.LOG_OFF)
toolkit = verovio.toolkit()
assert toolkit.loadData(sys.stdin.read())
print(toolkit.getMEI())
"""
MEI = "{http://www.music-encoding.org/ns/mei}"
Counts = tuple[int, Counter[str]]


def written(path: Path) -> tuple[bytes, Counts, int]:
    """Return the marked MusicXML of a score, what was written into it, and how many brackets are the source's own."""
    data = load(mark_bytes(path.read_bytes(), Options(), load_style("default"))).data
    root = etree.fromstring(data)
    ours = root.xpath("//direction[processing-instruction('annotator')]")
    starts = [bracket for bracket in root.iter("bracket") if bracket.get("type") == "start"]
    own = [start for start in starts if not any(start in each.iter() for each in ours)]
    words = Counter(words.text for direction in ours for words in direction.iter("words"))
    return data, (len(starts) - len(own), words), len(own)


def missing(wanted: Counter[str], found: Counter[str]) -> Counter[str]:
    return wanted - Counter({text.strip(): count for text, count in found.items()})


def in_the_engraver(data: bytes) -> Counts:
    """Return the brackets and words of the engraver's document, made in a process of its own."""
    text = etree.tostring(etree.fromstring(data), encoding="unicode")
    done = subprocess.run([sys.executable, "-c", IN_THE_ENGRAVER], input=text, capture_output=True, text=True, check=True)
    mei = etree.fromstring(done.stdout.encode())
    words = Counter("".join(each.itertext()) for tag in ("dir", "tempo", "dynam") for each in mei.iter(MEI + tag))
    return sum(1 for _ in mei.iter(MEI + "bracketSpan")), words


def in_musescore(data: bytes, folder: Path) -> Counts:
    """Return the brackets on MuseScore's pages, each with two upright ends, and the texts of its document.

    Its document lacks lines that begin where the first voice of the staff has no note; its pages have them.
    """
    (folder / "x.musicxml").write_bytes(data)
    for name in ("x.mscx", "x.svg"):
        command: list[Any] = [MUSESCORE, "-o", folder / name, folder / "x.musicxml"]
        subprocess.run(command, env=os.environ | {"QT_QPA_PLATFORM": "offscreen"}, capture_output=True, check=True, timeout=120)
    pages = [etree.parse(page) for page in folder.glob("x-*.svg")]
    lines = [line for page in pages for line in page.iter("{*}polyline") if line.get("class") == "TextLineSegment"]
    ends = sum(1 for line in lines if len({point.split(",")[0] for point in line.get("points", "").split()}) == 1)
    return ends // 2, Counter("".join(each.itertext()) for each in etree.parse(folder / "x.mscx").getroot().iter("text"))


def check(path: Path, arrived: Counts, wanted: Counts, own: int) -> None:
    """Of what arrives, ``own`` are the source's brackets: where these are out of order, they may be missing."""
    assert wanted[0] <= arrived[0], (path.name, own)
    assert not missing(wanted[1], arrived[1]), path.name


@pytest.mark.parametrize("path", QUICK, ids=lambda path: path.stem)
def test_all_arrives_in_the_engraver(path: Path) -> None:
    data, wanted, own = written(path)
    assert wanted[0] and wanted[1]
    check(path, in_the_engraver(data), wanted, own)


@pytest.mark.skipif(MUSESCORE is None, reason="MuseScore is not there")
def test_all_arrives_in_musescore(tmp_path: Path) -> None:
    data, wanted, own = written(QUICK[0])
    check(QUICK[0], in_musescore(data, tmp_path), wanted, own)


@pytest.mark.slow
@pytest.mark.parametrize("path", [*keyboard_corpus(), *local_scores()] or [pytest.param(None, marks=pytest.mark.skip(NO_LOCAL_SCORES))])
def test_all_of_real_scores_arrives(path: Path, tmp_path: Path) -> None:
    data, wanted, own = written(path)
    check(path, in_the_engraver(data), wanted, own)
    if MUSESCORE is not None:
        check(path, in_musescore(data, tmp_path), wanted, own)
