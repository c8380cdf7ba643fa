"""Seeded damage to scores, and what must hold of whatever still reads, the whole way from bytes to marked bytes and back.

Conventions
-----------
* A run is one file, damaged one to four times. Its number and the seed give the same damage on any machine and any day, so that a
  finding is named by (seed, number).
* ``damaged_tree`` changes elements, texts and attributes, half of the time those that make music (pitches, durations, voices);
  ``damaged_bytes`` changes (a third of the time a digit only), drops, doubles and moves bytes, so that much of it is no XML any more.
* The pool is music21's copy of the unofficial MusicXML test suite (every notation there is) and the examples of this project, which
  are full of figures.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable

from lxml import etree
from scores_at_hand import CORPUS, EXAMPLES

from annotator.errors import AnnotatorError
from annotator.figures.law import holds
from annotator.marks.finding import figures_of
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import load_style
from annotator.music.score import Score
from annotator.musicxml.files import serialise
from annotator.musicxml.marks import write_marks
from annotator.musicxml.record import take_out
from annotator.options.settings import Options
from annotator.products.marked_copies import plain_bytes
from annotator.reading import Document, load, read_document

SUITE = sorted(p for p in (CORPUS.parent / "musicxml" / "lilypondTestSuite").iterdir() if p.suffix in (".xml", ".musicxml", ".mxl"))
POOL = [path.read_bytes() for path in SUITE]
STUDIES = [path.read_bytes() for path in sorted(EXAMPLES.glob("*.musicxml")) if path.stat().st_size < 115_000]
TEXTS = ("", "0", "-1", "1", "2", "x", "9" * 30, "1e9", "0.5", "NaN", "16384", "start", "stop", "H", "B", "TAB", "yes", "no", "é日")
MUSIC = {
    "step": "ABCDEFG",
    "octave": ("1", "2", "3", "4", "5", "6"),
    "alter": ("-2", "-1", "0", "0.5", "1", "2"),
    "duration": ("0", "1", "2", "3", "4", "6", "8", "12", "16"),
    "voice": ("1", "2", "3", "5", "x"),
    "staff": ("1", "2", "3", "9"),
    "divisions": ("1", "2", "3", "4", "16", "480"),
    "fifths": ("-7", "-3", "-1", "0", "1", "4", "7", "12"),
    "beats": ("1", "2", "3", "3+2", "4", "5"),
    "beat-type": ("1", "2", "4", "8", "16"),
    "staves": ("1", "2", "3", "4"),
}
STYLE = load_style("default")
OPTIONS = (Options(), Options(parts=("all",)), Options(parts=("all",), kinds=("block-chord", "repeated-group", "sequence")))


def chance_of(seed: int, number: int) -> random.Random:
    """Return the source of chance of one run."""
    return random.Random(f"{seed}/{number}")


def damaged_tree(chance: random.Random) -> bytes:
    """Return a score whose tree was damaged one to four times."""
    data = chance.choice(STUDIES) if chance.random() < 0.03 else chance.choice(POOL)
    try:
        document = load(data)
    except AnnotatorError:
        return data  # one file of the suite is ill-formed on purpose
    root = document.tree.getroot()
    for _ in range(chance.randint(1, 4)):
        (_touch_music if chance.random() < 0.5 else _damage)(root, chance)
    return bytes(etree.tostring(document.tree, encoding="UTF-8", xml_declaration=True))


def damaged_bytes(chance: random.Random) -> bytes:
    """Return a file whose bytes were damaged one to four times."""
    data = bytearray(chance.choice(POOL))
    for _ in range(chance.randint(1, 4)):
        at, length = chance.randrange(len(data)), chance.randint(1, 40)
        kind = chance.randrange(12)
        if kind >= 8:
            digits = [place for place, byte in enumerate(data) if chr(byte).isdecimal()]
            data[chance.choice(digits or [at])] = chance.choice(b"0123456789-")
        elif kind < 4:
            data[at] = chance.choice(b"<>&\"'/ 0123456789\0\xff\r\nAGZ-.")
        elif kind == 4:
            del data[at : at + length]
        elif kind == 5:
            data[at:at] = data[at : at + length]
        elif kind == 6:
            del data[at:]
        else:
            piece = data[at : at + length]
            del data[at : at + length]
            to = chance.randrange(len(data) + 1)
            data[to:to] = piece
        if not data:
            break
    return bytes(data)


def _damage(root: etree._Element, chance: random.Random) -> None:
    """Drop, double or move an element, or change its text, an attribute or its name."""
    elements = [element for element in root.iter(etree.Element) if element is not root]
    if not elements:
        return
    element, other = chance.choice(elements), chance.choice(elements)
    parent = element.getparent()
    kind = chance.randrange(6)
    if kind == 0:
        parent.remove(element)
    elif kind == 1:
        parent.insert(parent.index(element), etree.fromstring(etree.tostring(element, with_tail=False)))
    elif kind == 2:
        if element is not other and element not in other.iterancestors():
            other.append(element)
    elif kind == 3:
        element.text = chance.choice(TEXTS)
    elif kind == 4 and element.attrib:
        element.set(chance.choice(sorted(element.attrib)), chance.choice(TEXTS))
    else:
        element.tag = other.tag


def _touch_music(root: etree._Element, chance: random.Random) -> None:
    """Change one of the numbers and letters that make music into another that could stand there."""
    tags = sorted({str(element.tag) for element in root.iter(*MUSIC)})
    if tags:
        tag = chance.choice(tags)
        chance.choice(list(root.iter(tag))).text = chance.choice(MUSIC[tag])


def canonical(document: Document) -> bytes:
    """Return the canonical XML of a document, comments and all."""
    return bytes(etree.tostring(document.tree, method="c14n", with_comments=True))


def marked(document: Document, options: Options) -> tuple[Document, Score, Report]:
    """Mark a document, as the program does."""
    plain = take_out(document)
    score = read_document(plain)
    report = figures_of(score, options)
    return write_marks(plain, score, markings(report), STYLE, options.language)[0], score, report


def check_whole_way(data: bytes, options: Options) -> Report:
    """Go the whole way with the bytes of a score and check what must hold of every score. Raises what the program raises."""
    document = load(data)
    source = take_out(document)
    written, score, report = marked(document, options)
    bars = {part.id: part.bars for part in score.parts}
    for _, figure in report.figures:
        assert holds(figure, bars[figure.part]), f"the law: {figure.kind}"
        assert len({note.number for note in figure.struck}) == len(figure.struck), f"a note twice: {figure.kind}"
        assert all(note.visible for note in figure.struck), f"a note that is not to be touched: {figure.kind}"
    assert report.to_read + report.grey == report.notes
    once = serialise(written)
    try:
        copy = load(once)
        twice, again, _ = marked(copy, options)
    except AnnotatorError as refusal:
        raise AssertionError(f"our own output is refused: {refusal}") from refusal
    assert serialise(twice) == once, "marking twice is marking once"
    assert [part.notes for part in again.parts] == [part.notes for part in score.parts], "the notes are the same"
    assert load(plain_bytes(once)[0]).data == source.data, "plain is the source, byte for byte"
    return report


def run(make: Callable[[random.Random], bytes], seed: int, number: int) -> str:
    """Do one run and return what came of it: ``figures``, ``no figures`` or ``refused``."""
    chance = chance_of(seed, number)
    data = make(chance)
    try:
        report = check_whole_way(data, chance.choice(OPTIONS))
        report.to_json(), report.to_table(), report.to_csv()
    except AnnotatorError:
        return "refused"
    return "figures" if report.figures else "no figures"


def sweep(make: Callable[[random.Random], bytes], seed: int, numbers: range) -> Counter[str]:
    """Do many runs and count what came of them; a finding names its seed and number."""
    outcomes: Counter[str] = Counter()
    for number in numbers:
        try:
            outcomes[run(make, seed, number)] += 1
        except Exception as error:
            raise AssertionError(f"{make.__name__}, seed {seed}, run {number}: {type(error).__name__}: {error}") from error
    return outcomes
