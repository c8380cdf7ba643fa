"""A piano that is written as two parts is read, marked and engraved as the same piano in one part."""

from __future__ import annotations

import copy
from collections import Counter
from pathlib import Path

import pytest
from lxml import etree
from scores_at_hand import CORPUS, EXAMPLES, keyboard_corpus, local_scores

from annotator.errors import AnnotatorError, ScoreError
from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import load_style
from annotator.music.score import Part, Score
from annotator.musicxml.marks import write_marks
from annotator.musicxml.record import take_out
from annotator.options.settings import Options
from annotator.pages.render_copy import render_copy
from annotator.reading import load, read_document

PIANOS = (("", ""), ("Piano", "Piano"), ("MusicXML Part", "MusicXML Part"), ("Right Hand", "Left Hand"), ("Treble", "Bass"))
OTHERS = (("Flute", "Violin"), ("Violin", "Violin"), ("Violin", "Violoncello"))
QUICK = sorted(EXAMPLES.glob("*.musicxml"))[:3]
MORE = ("cpebach/h186.mxl", "mozart/k545/movement1_exposition.mxl", "schumann_robert/opus48no2.mxl", "verdi/laDonnaEMobile.mxl")


def grand(score: Score) -> Part | None:
    """Return the one part of two staves of a score, if it has one whose voices stay on their staff."""
    found = [part for part in score.parts if part.keyboard and part.staves == 2 and not part.halves]
    if len(found) != 1 or any(len({n.staff for n in found[0].notes if n.voice == v}) > 1 for v in {n.voice for n in found[0].notes}):
        return None
    return found[0]


def halves(path: Path) -> tuple[list[etree._Element], Score, Part] | None:
    """Return each hand of a score as a part of its own, and the score."""
    document = load(path)
    score = read_document(document)
    part = grand(score)
    if part is None:
        return None
    written = next(each for each in document.tree.getroot().iterchildren("part") if each.get("id") == part.id)
    return [one_staff(written, staff) for staff in "12"], score, part


def one_staff(part: etree._Element, staff: str) -> etree._Element:
    """Return one staff of a part of two as a part of its own: time goes on where the notes of the other stood."""
    made = copy.deepcopy(part)
    for element in list(made.iter("note", "direction", "clef", "key", "time", "staves", "part-symbol")):
        other = {"clef", "key", "time"} & {element.tag} and element.get("number", staff) != staff
        other = other or (element.tag in ("note", "direction") and element.findtext("staff", "1") != staff)
        if element.tag == "note" and other and element.find("chord") is None and element.find("grace") is None:
            forward = etree.Element("forward")
            forward.append(element.find("duration"))
            element.addprevious(forward)
        if other or element.tag in ("staves", "part-symbol"):
            element.getparent().remove(element)
    for element in [*made.iter("staff")]:
        element.getparent().remove(element)
    for element in made.iter("clef", "key", "time"):
        element.attrib.pop("number", None)
    return made


def two_parts(cut: list[etree._Element], names: tuple[str, str]) -> bytes:
    """Return a score of two parts with these names."""
    root = etree.Element("score-partwise", version="4.0")
    listed = etree.SubElement(root, "part-list")
    for number, (part, name) in enumerate(zip(cut, names, strict=True), 1):
        part.set("id", f"P{number}")
        etree.SubElement(etree.SubElement(listed, "score-part", id=f"P{number}"), "part-name").text = name
        root.append(part)
    return bytes(etree.tostring(root))


def told(report: Report) -> Counter[tuple[object, ...]]:
    """Return the figures of a report without the names of part, voice and notes."""
    figures = report.to_dict()["figures"]
    return Counter((f["kind"], *f["labels"], str(f["from"]), str(f["to"]), len(f["notes"]), len(f["anchors"])) for f in figures)


def check(path: Path) -> bool:
    """Hold the two-part versions of a score against it; return whether it has any."""
    found = halves(path)
    if found is None:
        return False
    cut, score, part = found
    whole = find_figures(score, Options(parts=(part.id,)))
    for names in PIANOS:
        read = read_document(load(two_parts(cut, names)))
        report = find_figures(read)
        assert [len(one.halves) for one in read.parts] == [2]
        assert (report.notes, report.grey, told(report)) == (whole.notes, whole.grey, told(whole)), (path.name, names)
    for names in OTHERS:
        with pytest.raises(ScoreError, match="--parts"):
            find_figures(read_document(load(two_parts(cut, names))))
    return True


@pytest.mark.parametrize("path", QUICK, ids=lambda path: path.stem)
def test_two_parts_read_as_one(path: Path) -> None:
    assert check(path)


@pytest.mark.slow
def test_two_parts_of_real_scores_read_as_one() -> None:
    done = 0
    for path in [*local_scores(), *keyboard_corpus(), *(CORPUS / name for name in MORE), *EXAMPLES.glob("*.musicxml")]:
        try:
            done += check(path)
        except AnnotatorError:
            continue
    assert done >= 40 or not local_scores()


def test_the_marks_stand_in_the_parts_and_stops_in_the_part_of_their_starts() -> None:
    for path in QUICK:
        found = halves(path)
        assert found is not None
        data = two_parts(found[0], PIANOS[0])
        document = load(data)
        score = read_document(document)
        report = find_figures(score)
        marked, _ = write_marks(document, score, markings(report), load_style("default"))
        for part in marked.tree.getroot().iterchildren("part"):
            assert {staff.text for staff in part.iterfind("measure/direction/staff")} <= {"1"}
            kinds = [(bracket.get("number"), bracket.get("type")) for bracket in part.iter("bracket")]
            assert kinds and all(kinds.count((number, "start")) == kinds.count((number, "stop")) for number, _ in kinds)
        assert take_out(load(marked.data)).data == data


def test_the_engraver_gets_one_brace() -> None:
    found = halves(QUICK[0])
    assert found is not None
    listed = etree.fromstring(render_copy(load(two_parts(found[0], PIANOS[1]))).text).find("part-list")
    assert listed is not None
    assert [child.tag for child in listed] == ["part-group", "score-part", "score-part", "part-group"]
    assert listed.findtext("part-group/group-symbol") == "brace"


def test_one_half_can_be_named() -> None:
    found = halves(QUICK[0])
    assert found is not None
    score = read_document(load(two_parts(found[0], ("Upper", "Lower"))))
    both = find_figures(score)
    one, other = (find_figures(score, Options(parts=(name,))) for name in ("upper", "P2"))
    assert 0 < one.notes < both.notes and one.notes + other.notes == both.notes
