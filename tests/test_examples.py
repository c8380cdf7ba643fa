"""The studies shipped with the program: valid, readable elsewhere, properly written, and made by the script beside them."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import warnings
from pathlib import Path

import pytest
from lxml import etree

import annotator
from annotator.options.settings import Options

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
PATHS = sorted(EXAMPLES.glob("*.musicxml"))
LEVELS = {"eighth": 1, "16th": 2}

# The two schemas that the MusicXML schema imports, reduced to the attributes it uses (W3C, XLink 1.1 and the xml namespace).
XLINK = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="http://www.w3.org/1999/xlink">
<xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:string" fixed="simple"/>
<xs:attribute name="role" type="xs:token"/><xs:attribute name="title" type="xs:token"/>
<xs:attribute name="show" type="xs:NMTOKEN"/><xs:attribute name="actuate" type="xs:NMTOKEN"/></xs:schema>"""
XML = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="http://www.w3.org/XML/1998/namespace">
<xs:attribute name="lang" type="xs:language"/><xs:attribute name="space" type="xs:NCName"/></xs:schema>"""


class _Stubs(etree.Resolver):
    def resolve(self, url: str, public_id: str, context: object) -> object:
        text = XLINK if url.endswith("xlink.xsd") else XML if url.endswith("xml.xsd") else None
        return text and self.resolve_string(text, context)


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    """Return the W3C schema of MusicXML 4.0 that the package ``musicxml`` carries."""
    found = importlib.util.find_spec("musicxml")
    assert found is not None and found.origin is not None
    path = Path(found.origin).parent / "generate_classes" / "musicxml_4_0.xsd"
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Stubs())
    return etree.XMLSchema(etree.parse(path, parser))


def test_there_are_at_least_four() -> None:
    assert len(PATHS) >= 4


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_valid_against_the_schema(path: Path, schema: etree.XMLSchema) -> None:
    schema.assertValid(etree.parse(path))


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_opens_in_music21_without_a_warning(path: Path) -> None:
    import music21

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        score = music21.converter.parse(path, forceSource=True)
    ours = annotator.read(path)
    struck = sorted((float(n.onset), int(n.pitch.semitone)) for part in ours.parts for n in part.notes)
    theirs = sorted((float(n.getOffsetInHierarchy(score)), p.midi) for n in score.recurse().notes for p in n.pitches)
    assert struck == theirs


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_engraved_as_a_pianist_expects(path: Path) -> None:
    root = etree.parse(path).getroot()
    assert 16 <= len(root.findall("part/measure")) <= 32
    assert root.findtext("work/work-title") and root.findtext("identification/creator") == "annotator project"
    for sign in ("slur", "dynamics", "fingering", "wedge", "words"):
        assert root.find(f".//{sign}") is not None, sign
    for number in "12":
        kinds = [slur.get("type") for slur in root.iter("slur") if slur.get("number") == number]
        assert kinds == ["start", "stop"] * (len(kinds) // 2)
    hairpins = ["stop" if wedge.get("type") == "stop" else "start" for wedge in root.iter("wedge")]
    assert hairpins == ["start", "stop"] * (len(hairpins) // 2)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_beams_open_and_close(path: Path) -> None:
    open_beams: set[tuple[str, str]] = set()
    for note in etree.parse(path).iter("note"):
        beams = {beam.get("number"): beam.text for beam in note.findall("beam")}
        assert len(beams) <= LEVELS.get(note.findtext("type", ""), 0)
        for number, kind in beams.items():
            spot = (note.findtext("staff", ""), str(number))
            assert (spot in open_beams) == (kind in ("continue", "end")), (path.stem, spot, kind)
            if kind == "begin":
                open_beams.add(spot)
            if kind == "end":
                open_beams.remove(spot)
    assert not open_beams


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_every_accidental_is_written(path: Path) -> None:
    (part,) = annotator.read(path).parts
    for note in part.notes:
        bar = part.bars[note.bar]
        unmarked = bar.alter(note.staff, note.pitch.step, note.pitch.octave, note.tick)
        assert note.accidental is not None or unmarked == note.pitch.alter, (path.stem, bar.number, note.id)


def test_made_by_the_script(tmp_path: Path) -> None:
    subprocess.run([sys.executable, EXAMPLES / "compose.py", tmp_path], check=True, timeout=60)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {path.name: path.read_bytes() for path in PATHS}


def test_the_running_study_passes_through_foreign_keys() -> None:
    score = annotator.read(EXAMPLES / "revolving-doors.musicxml")
    report = annotator.find_figures(score, Options(kinds=("scale-run", "chromatic-run")))
    scales = {(f.scale.tonic, f.scale.type) for _, f in report.figures if f.scale}
    assert {("C", "major"), ("F", "major"), ("A", "major"), ("A", "harmonic minor"), (None, "chromatic")} <= scales
    assert {("D", "harmonic minor"), ("E", "harmonic minor"), ("F", "harmonic minor")} <= scales
    assert report.grey > report.notes / 2


def test_the_sonatina_has_hands_together() -> None:
    score = annotator.read(EXAMPLES / "sonatina-at-the-open-gate.musicxml")
    kinds = ("hands-in-octaves", "contrary-motion")
    report = annotator.find_figures(score, Options(kinds=kinds))
    assert {figure.kind for _, figure in report.figures} == set(kinds)
